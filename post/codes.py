"""G and M words: their modal groups, what each does here, and what a line of them means.

Tables and rules are those of NISTIR 6556, sections cited. Everything on this page can be judged from the letters and
codes of a line and the motion in force, whatever the numbers of the other letters; so it is judged once for all
lines that look alike.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final, NamedTuple

from post.dialect import Dialect
from post.refusal import Refusal, show

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

_MOTION: Final = ("G", 1)
_NOT_MODAL: Final = ("G", 0)
_OFFSET: Final = ("G", 12)
_SPINDLE: Final = ("M", 7)

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
    "M60": "a pallet change: where the machine goes for it is not known here",
}
"""Codes of the standard that are refused, and what they are."""

SETTINGS: Final[Mapping[str, tuple[str, str | int | bool]]] = {
    "G17": ("axis", 2),
    "G18": ("axis", 1),
    "G19": ("axis", 0),
    "G20": ("units", "inch"),
    "G21": ("units", "mm"),
    "G90": ("absolute", True),
    "G91": ("absolute", False),
    "G94": ("feed_mode", "G94"),
    "G98": ("retract", "G98"),
    "G99": ("retract", "G99"),
    **{code: ("offset", code) for code, group in GROUP_OF.items() if group == _OFFSET},
}
"""Field of the modal state that a code sets, and to what; ``axis`` is the plane's own, X Y Z counted from 0."""

LETTERS_NOT_INTERPRETED: Final[Mapping[str, str]] = {
    **dict.fromkeys("ABC", "a rotary axis"),
    **dict.fromkeys("DH", "a tool offset"),
    **dict.fromkeys("IJK", "a word of arcs and of back boring"),
    "Q": "a word of peck drilling",
    "T": "a tool selection",
}

STOPS: Final = frozenset({"M0", "M1", "M2", "M30"})
STATES: Final = frozenset({"G40", "G49", "G61", "G61.1", "G64"})
"""Codes that change no motion interpreted here, but that a control may have kept otherwise from the program before."""
DWELLING_CYCLES: Final = frozenset({"G82", "G86", "G89"})
CYCLES: Final = frozenset({"G81", "G85"}) | DWELLING_CYCLES
MOVES: Final = frozenset({"G0", "G1"})
AXES: Final = "XYZ"


class Meaning(NamedTuple):
    """What a line does, numbers apart.

    ``changes`` sets fields of the modal state, by name. ``spindle`` and ``stop`` are codes or None. ``dwells`` says
    that G4 is on the line, ``in_machine_coordinates`` that G53 is. ``motion`` is the motion code in force from this
    line on, ``moves`` whether the line's axis words make it move. ``states`` are codes of ``STATES`` and the spindle's.
    """

    changes: tuple[tuple[str, str | int | bool], ...]
    spindle: str | None
    dwells: bool
    in_machine_coordinates: bool
    motion: str | None
    moves: bool
    stop: str | None
    states: tuple[str, ...]


def judge(
    words: Sequence[tuple[str, float]], letters: Sequence[str], in_force: str | None, dialect: Dialect
) -> Meaning:
    """What a line means that has these G and M words and these other letters, with a motion code in force before it.

    Raises Refusal when the line breaks a rule of the standard or is not interpreted.
    """
    codes = [_code(letter, value, dialect) for letter, value in words]
    _check_groups(codes, dialect)
    for code in codes:
        _check_interpreted(code, dialect)
    stated = next((code for code in codes if code in MOVES or code in CYCLES or code == "G80"), None)
    motion = stated or in_force
    moves = any(letter in AXES for letter in letters)
    _check_motion(codes, stated, motion, moves)
    _check_letters(codes, letters, motion if moves else None, dialect)
    return Meaning(
        changes=tuple(SETTINGS[code] for code in codes if code in SETTINGS),
        spindle=next((code for code in codes if _group(code, dialect) == _SPINDLE), None),
        dwells="G4" in codes,
        in_machine_coordinates="G53" in codes,
        motion=motion,
        moves=moves,
        stop=next((code for code in codes if code in STOPS), None),
        states=tuple(code for code in codes if code in STATES or _group(code, dialect) == _SPINDLE),
    )


def _code(letter: str, value: float, dialect: Dialect) -> str:
    """Name of a code; a number within 0.0001 of a code's is that code (as NISTIR 6556 3.3.2.1 has it of integers)."""
    tenths = round(value * 10)
    whole, tenth = divmod(tenths, 10)
    name = f"{letter}{whole}.{tenth}" if tenth else f"{letter}{whole}"
    known = name in GROUP_OF or name == _oriented_stop(dialect)
    if not known or abs(value - tenths / 10) > 0.0001:
        raise Refusal("unknown-word", show(letter, value), "a code of RS-274/NGC, or one the dialect names")
    return name


def _oriented_stop(dialect: Dialect) -> str | None:
    return dialect.oriented_stop.code if dialect.oriented_stop else None


def _group(code: str, dialect: Dialect) -> tuple[str, int]:
    return _SPINDLE if code == _oriented_stop(dialect) else GROUP_OF[code]


def _check_groups(codes: Sequence[str], dialect: Dialect) -> None:
    """No two codes of one modal group, and no motion beside other users of axis words (NISTIR 6556 3.3.5, 3.4)."""
    of_group: dict[tuple[str, int], str] = {}
    for code in codes:
        group = _group(code, dialect)
        if group in of_group:
            both = f"{of_group[group]} and {code}, both of modal group {group[1]}"
            raise Refusal("group-clash", both, "one code of a modal group on a line")
        of_group[group] = code
    motion, other = of_group.get(_MOTION), of_group.get(_NOT_MODAL)
    if motion and other in AXIS_USERS:
        raise Refusal("group-clash", f"{motion} and {other}, which both take axis words", "one of them on a line")


def _check_interpreted(code: str, dialect: Dialect) -> None:
    if code in NOT_INTERPRETED:
        raise Refusal("unknown-word", f"{code}, {NOT_INTERPRETED[code]}", "codes that are interpreted here")
    if code in CYCLES and code not in dialect.cycles:
        has = ", ".join(sorted(dialect.cycles)) or "no fixed cycles"
        raise Refusal("unknown-word", f"{code}, a fixed cycle the control lacks", f"{has}, by the dialect")


def _check_motion(codes: Sequence[str], stated: str | None, motion: str | None, moves: bool) -> None:
    """Axis words and motion belong together (NISTIR 6556 3.5.1, 3.5.2, 3.5.12, 3.5.15, 3.5.16)."""
    if moves and motion is None:
        raise Refusal("state-assumed", "axis words with no motion code stated", "G0 or G1 on the line or before it")
    if moves and motion == "G80":
        raise Refusal("unknown-word", "axis words under G80, which moves nothing", "G0 or G1 on the line")
    if not moves and stated and stated != "G80":
        raise Refusal("unreadable", f"{stated} without X, Y or Z", "at least one of them on its line")
    if "G53" in codes and not moves:
        raise Refusal("unreadable", "G53 without X, Y or Z", "at least one of them on its line")
    if "G53" in codes and motion not in MOVES:
        raise Refusal("unreadable", f"G53 under {motion}", "G0 or G1 with G53")


def _check_letters(codes: Sequence[str], letters: Sequence[str], motion: str | None, dialect: Dialect) -> None:
    """Every letter has one use on the line, and every use that needs a letter has it. ``motion`` is None without."""
    for letter in letters:
        if letter in LETTERS_NOT_INTERPRETED:
            what = f"{letter}, {LETTERS_NOT_INTERPRETED[letter]}"
            raise Refusal("unknown-word", what, "words that are interpreted here")
    uses = list(_uses(codes, motion, dialect))
    for letter, user, needed in uses:
        if needed and letter not in letters:
            raise Refusal("unreadable", f"{user} without {letter}", f"{letter} on the line of every {user}")
    for letter in letters:
        users = [user for used, user, _ in uses if used == letter]
        if len(users) > 1:
            raise Refusal("group-clash", f"{letter} for {users[0]} and for {users[1]}", "one use of a word")
        if not users and letter not in "XYZFS":
            raise Refusal("unknown-word", f"{letter} that nothing on the line uses", "words that have a use")


def _uses(codes: Sequence[str], motion: str | None, dialect: Dialect) -> Iterator[tuple[str, str, bool]]:
    """Letters that the codes of a line use: letter, code, and whether it must be there."""
    if "G4" in codes:
        yield "P", "G4", True
    if dialect.oriented_stop and dialect.oriented_stop.code in codes:
        yield dialect.oriented_stop.angle, dialect.oriented_stop.code, True
    if motion in CYCLES:
        yield "R", motion, False
        yield "L", motion, False
    if motion in DWELLING_CYCLES:
        yield "P", motion, True
