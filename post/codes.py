"""G and M words: what each does here, and what a line of them means.

Rules are those of NISTIR 6556, sections cited, and what the dialect says of its control. Everything on this page can be
judged from the letters and codes of a line and the motion in force, whatever the numbers of the other letters; so it
is judged once for all lines that look alike.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from operator import itemgetter
from typing import Final, NamedTuple

from post.dialect import Dialect
from post.reader import Word
from post.refusal import Refusal, show
from post.standard import (
    AXIS_USERS,
    FEED_MODE,
    GROUP_OF,
    INSTEAD,
    LETTERS_NOT_INTERPRETED,
    MOTION,
    NOT_INTERPRETED,
    NOT_MODAL,
    OFFSET,
    SPINDLE,
    STATES,
    UNITS,
)

Setting = tuple[str, str | int | bool]

SETTINGS: Final[Mapping[str, Setting]] = {
    "G17": ("axis", 2),
    "G18": ("axis", 1),
    "G19": ("axis", 0),
    "G90": ("absolute", True),
    "G91": ("absolute", False),
    "G98": ("retract", "G98"),
    "G99": ("retract", "G99"),
    **{code: ("offset", code) for code, group in GROUP_OF.items() if group == OFFSET},
}
"""Field of the modal state that a code sets, and to what; ``axis`` is the plane's own, X Y Z counted from 0."""

STOPS: Final = frozenset({"M0", "M1", "M2", "M30"})
DWELLING_CYCLES: Final = frozenset({"G82", "G86", "G89"})
CYCLES: Final = frozenset({"G81", "G85"}) | DWELLING_CYCLES
MOVES: Final = frozenset({"G0", "G1"})
AXES: Final = "XYZ"


class Meaning(NamedTuple):
    """What a line does, numbers apart.

    ``changes`` sets fields of the modal state, by name. ``spindle`` and ``stop`` are codes or None. ``dwells`` says
    that G4 is on the line, ``in_machine_coordinates`` that G53 is. ``motion`` is the motion code in force from this
    line on, ``moves`` whether the line's axis words make it move. ``codes`` are all codes of the line, as written,
    ``states`` those of the groups ``STATES``.
    """

    changes: tuple[Setting, ...]
    spindle: str | None
    dwells: bool
    in_machine_coordinates: bool
    motion: str | None
    moves: bool
    stop: str | None
    codes: tuple[str, ...]
    states: tuple[str, ...]


class Language(NamedTuple):
    """The codes of one control: their groups, and what those set that set something."""

    groups: Mapping[str, tuple[str, int]]
    settings: Mapping[str, Setting]


def language(dialect: Dialect) -> Language:
    """The codes a dialect has."""
    units = {dialect.unit_words.mm: "mm", dialect.unit_words.inch: "inch"}
    own: dict[str, tuple[str, int]] = {
        **{code: group for code, group in GROUP_OF.items() if group != UNITS},
        **dict.fromkeys(units, UNITS),
        **dict.fromkeys(dialect.feed_modes, FEED_MODE),
        # A code taken on trust is in a group of its own: nothing is known of what it excludes.
        **{code: (code, 0) for code in dialect.on_trust},
    }
    if dialect.oriented_stop:
        own[dialect.oriented_stop.code] = SPINDLE
    settings: dict[str, Setting] = {
        **SETTINGS,
        **{code: ("units", unit) for code, unit in units.items()},
        **{code: ("feed_mode", code) for code in dialect.feed_modes},
    }
    return Language(own, settings)


@lru_cache(maxsize=1024)
def codes_among(letters: str) -> Callable[[Sequence[Word]], tuple[Word, ...]]:
    """What takes the G and M words out of words that have these letters, in the order written."""
    places = [at for at, letter in enumerate(letters) if letter in "GM"]
    first, behind = (places[0], places[-1] + 1) if places else (0, 0)
    if behind - first == len(places):
        return itemgetter(slice(first, behind))
    return itemgetter(*places)


def judge(
    words: Sequence[Word],
    letters: str,
    in_force: str | None,
    dialect: Dialect,
    language: Language,
) -> Meaning:
    """What a line means that has these G and M words and these letters, with a motion code in force before it.

    ``language`` is the dialect's own, made once. Raises Refusal when the line breaks a rule of the standard or is not
    interpreted.
    """
    groups, settings = language
    others = [letter for letter in letters if letter not in "GM"]
    codes = [_code(letter, value, groups) for letter, value in words]
    _check_groups(codes, groups)
    for code in codes:
        _check_interpreted(code, dialect)
    stated = next((code for code in codes if code in MOVES or code in CYCLES or code == "G80"), None)
    motion = stated or in_force
    dwells = "G4" in codes
    axes = [letter for letter in others if letter in AXES]
    if dwells and dialect.dwell.word in axes:
        _check_dwell_by_axis(dialect.dwell.word, axes, stated)
        axes = []
    _check_motion(codes, stated, motion, bool(axes))
    _check_letters(codes, others, motion if axes else None, dialect)
    return Meaning(
        changes=tuple(settings[code] for code in codes if code in settings),
        spindle=next((code for code in codes if groups[code] == SPINDLE), None),
        dwells=dwells,
        in_machine_coordinates="G53" in codes,
        motion=motion,
        moves=bool(axes),
        stop=next((code for code in codes if code in STOPS), None),
        codes=tuple(codes),
        states=tuple(code for code in codes if groups[code] in STATES),
    )


def _code(letter: str, value: float, groups: Mapping[str, tuple[str, int]]) -> str:
    """Name of a code; what is only near one (NISTIR 6556 3.3.2.1) is refused, for controls that cut numbers off."""
    tenths = round(value * 10)
    whole, tenth = divmod(tenths, 10)
    name = f"{letter}{whole}.{tenth}" if tenth else f"{letter}{whole}"
    if name not in groups or value != tenths / 10:
        raise Refusal("unknown-word", show(letter, value), "a code of RS-274/NGC, or one the dialect names")
    return name


def _check_groups(codes: Sequence[str], groups: Mapping[str, tuple[str, int]]) -> None:
    """No two codes of one modal group, and no motion beside other users of axis words (NISTIR 6556 3.3.5, 3.4)."""
    of_group: dict[tuple[str, int], str] = {}
    for code in codes:
        group = groups[code]
        if group in of_group:
            both = f"{of_group[group]} and {code}, both of modal group {group[1]}"
            raise Refusal("group-clash", both, "one code of a modal group on a line")
        of_group[group] = code
    motion, other = of_group.get(MOTION), of_group.get(NOT_MODAL)
    if motion and other in AXIS_USERS:
        raise Refusal("group-clash", f"{motion} and {other}, which both take axis words", "one of them on a line")


def _check_interpreted(code: str, dialect: Dialect) -> None:
    if code in dialect.refuses:
        raise Refusal("unknown-word", f"{code}, which the control refuses", "codes the dialect does not refuse")
    if code in NOT_INTERPRETED:
        instead = INSTEAD.get(code, "codes that are interpreted here")
        raise Refusal("unknown-word", f"{code}, {NOT_INTERPRETED[code]}", instead)
    if code == "G94" and code not in dialect.feed_modes:
        raise Refusal("unknown-word", "G94, a feed mode the control lacks", f"{dialect.feed_modes[0]}, by the dialect")
    if code in CYCLES and code not in dialect.cycles:
        has = ", ".join(sorted(dialect.cycles)) or "no fixed cycles"
        raise Refusal("unknown-word", f"{code}, a fixed cycle the control lacks", f"{has}, by the dialect")


def _check_dwell_by_axis(word: str, axes: Sequence[str], stated: str | None) -> None:
    """Where a dwell is told by an axis letter nothing can move on its line."""
    if stated in MOVES or stated in CYCLES:
        raise Refusal("group-clash", f"G4 {word} and {stated}, which both take {word}", "one of them on a line")
    if len(axes) > 1:
        both = f"G4 {word} and an axis word {next(axis for axis in axes if axis != word)}"
        raise Refusal("group-clash", both, f"{word} alone on the line of a dwell")


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
        yield dialect.dwell.word, "G4", True
    if dialect.oriented_stop and dialect.oriented_stop.code in codes:
        yield dialect.oriented_stop.angle, dialect.oriented_stop.code, True
    if motion in CYCLES:
        yield "R", motion, False
        yield "L", motion, False
    if motion in DWELLING_CYCLES:
        yield "P", motion, True
