"""The codes of RS-274/NGC: their modal groups, and those that are not interpreted here, with the reason.

Tables are those of NISTIR 6556, sections cited. ISO 6983-1 shares most of them.
"""

from collections.abc import Mapping
from typing import Final

GROUP_OF: Final[Mapping[str, tuple[str, int]]] = {
    code: (letter, group)
    for letter, group, codes in (
        ("G", 0, "G4 G10 G28 G30 G53 G92 G92.1 G92.2 G92.3"),
        ("G", 1, "G0 G1 G2 G3 G38.2 G80 G81 G82 G83 G84 G85 G86 G87 G88 G89"),
        ("G", 2, "G17 G18 G19"),
        ("G", 3, "G90 G91"),
        ("G", 5, "G93 G94"),
        ("G", 6, "G20 G21"),
        ("G", 7, "G40 G41 G42"),
        ("G", 8, "G43 G49"),
        ("G", 10, "G98 G99"),
        ("G", 12, "G54 G55 G56 G57 G58 G59 G59.1 G59.2 G59.3"),
        ("G", 13, "G61 G61.1 G64"),
        ("M", 4, "M0 M1 M2 M30 M60"),
        ("M", 6, "M6"),
        ("M", 7, "M3 M4 M5"),
        ("M", 8, "M7 M8 M9"),
        ("M", 9, "M48 M49"),
    )
    for code in codes.split()
}
"""Modal group of every code of the standard, G and M apart; 0 are the codes that are not modal (3.4, Table 4)."""

MOTION: Final = ("G", 1)
NOT_MODAL: Final = ("G", 0)
FEED_MODE: Final = ("G", 5)
UNITS: Final = ("G", 6)
OFFSET: Final = ("G", 12)
SPINDLE: Final = ("M", 7)

STATES: Final = frozenset({("G", 7), ("G", 8), ("G", 13)})
"""Groups that change no motion interpreted here: cutter compensation, tool length offset, path control."""

AXIS_USERS: Final = frozenset({"G10", "G28", "G30", "G92"})
"""Codes of group 0 that take axis words, so that no motion can be on their line (NISTIR 6556 3.4)."""

_ARC = "an arc: every move of a boring program is a straight line"
_HOME = "a move home: where home lies is not known here"
_TIP = "cutter radius compensation: the path is not that of the words"
_OFFSETS = "a change of axis offsets: the zero moves by an amount not known here"
_CYCLE = "a fixed cycle that is not interpreted"

NOT_INTERPRETED: Final[Mapping[str, str]] = {
    "G2": _ARC,
    "G3": _ARC,
    "G10": "a setting of a work offset: the zero moves",
    "G28": _HOME,
    "G30": _HOME,
    "G38.2": "probing: where the machine stops is not known here",
    "G41": _TIP,
    "G42": _TIP,
    "G43": "tool length offset: its amount is not known here",
    "G83": _CYCLE,
    "G84": _CYCLE,
    "G87": _CYCLE,
    "G88": _CYCLE,
    "G92": _OFFSETS,
    "G92.1": _OFFSETS,
    "G92.2": _OFFSETS,
    "G92.3": _OFFSETS,
    "G93": "inverse time feed: feeds are interpreted in units a minute only",
    "M6": "a tool change: where the machine goes for it is not known here",
    "M49": "override switches off: the operator could not slow the machine down",
    "M60": "a pallet change: where the machine goes for it is not known here",
}
"""Codes of the standard that are refused, and what they are."""

INSTEAD: Final[Mapping[str, str]] = {
    **dict.fromkeys(("M6", "G43"), "the tool in the spindle, and its length set, before the program is started"),
    **dict.fromkeys(("G28", "G30"), "moves from the work zero; a move home by hand, before the program or behind it"),
}
"""What to do in place of codes that a shop is used to."""

LETTERS_NOT_INTERPRETED: Final[Mapping[str, str]] = {
    **dict.fromkeys("ABC", "a rotary axis"),
    **dict.fromkeys("DH", "a tool offset"),
    **dict.fromkeys("IJK", "a word of arcs and of back boring"),
    "Q": "a word of peck drilling",
    "T": "a tool selection",
}

CALLS: Final = frozenset({"M97", "M98", "M99", "G65", "G66", "G67"})
"""Codes that on many controls lead into other programs or back to the start, whatever else they mean."""

BEYOND_STANDARD: Final = frozenset({"G70", "G71", "G95", "M19"})
"""Codes of ISO 6983-1 that a dialect may name besides."""
