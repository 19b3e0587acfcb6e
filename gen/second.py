"""A second reading of a program, by pygcode, which shares nothing with our own reader and replay.

pygcode 0.2.1 reads most of RS-274/NGC as published, some of it differently and a little of it wrongly. Here it is
asked only where the two ought to agree, and nothing it does is trusted: what it cannot read, carry out or survive
counts as read once, with the reason. ``tests/published/test_pygcode.py`` shows each defect that is kept away from here.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from math import isclose, isnan, nan
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from post.dialect import Dialect
from post.finding import Finding
from post.reader import Block
from post.timeline import Move, Point, Timeline
from post.units import MM_PER, UNIT_WORD, Units

Words = tuple[tuple[str, float], ...]

SAME_WORD: Final = 1e-12
"""Largest relative difference of two values read from the same digits."""

SAME_PLACE: Final = 1e-9
"""Largest difference of two coordinates of the same place, in the program's unit."""

BLOCKS_A_REPORT: Final = 250
"""Blocks between two reports of progress."""

_AXES: Final = "XYZ"
_KEPT_IN_CYCLE: Final = "XYZRLP"
_NOWHERE: Final = (nan, nan, nan)

# Blanks between digits, a plus sign, "G1." and "G1.00", "L2.0" and ";" or "%" in a comment are legal in RS-274/NGC, and
# pygcode misreads or refuses them. What is not legal at all, as a stray sign, is outside too: pygcode would skip it.
_CODE: Final = r"[GM][ \t]*[0-9]+(?:\.[0-9])?"
_WHOLE: Final = r"[LNT][ \t]*[0-9]+"
_NUMBER: Final = r"[ABCDFHIJKPQRSXYZ][ \t]*-?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_COMMENT: Final = r"\([^()%;]*\)"
_IN_SUBSET: Final = re.compile(rf"(?:[ \t]*(?:{_CODE}|{_WHOLE}|{_NUMBER}|{_COMMENT}))*[ \t]*", re.IGNORECASE)
_ANY_COMMENT: Final = re.compile(r"\([^)]*\)")
_OUTSIDE: Final = (
    ("a plus sign", re.compile(r"\+")),
    ("blanks inside a number", re.compile(r"[-.0-9][ \t]+[.0-9]")),
    ("a G or M word with idle digits or point", re.compile(r"[GM][ \t]*[0-9]+\.(?:[^0-9]|[0-9]{2}|$)", re.IGNORECASE)),
    ("a whole number written with a point", re.compile(r"[LNT][ \t]*[0-9]*\.", re.IGNORECASE)),
)

# Codes whose effect on the end of a block pygcode has right, or that have none.
_CARRIED_OUT: Final = frozenset(
    [("G", value) for value in (0, 1, 4, 17, 18, 19, 20, 21, 40, 49, 61, 61.1, 64, 80, 81, 82, 85, 89, 90, 91, 94, 95)]
    + [("G", value) for value in (54, 55, 56, 57, 58, 59, 59.1, 59.2, 59.3, 98, 99)]
    + [("M", value) for value in (0, 1, 2, 3, 4, 5, 7, 8, 9, 30, 48, 49)]
)
_MODES: Final = frozenset((0, 1, 17, 18, 19, 20, 21, 90, 91, 98, 99))
_AS_STANDARD: Final[Mapping[float, float]] = {70: 20, 71: 21}
"""Words of ISO 6983-1 for inches and millimetres, and those pygcode has for them."""
_FRAME: Final = frozenset((17, 18, 19, 20, 21, 90, 91))


class SecondReading(NamedTuple):
    """Outcome of a second reading; every block that holds words is either read twice or read once.

    ``findings`` are of the rule "readings-differ", at most one a block: ``found`` is what pygcode read, ``expected``
    what the first reading and its replay say. ``read_twice`` counts the blocks whose words and end position were both
    compared; ``read_once`` the others, by reason. Where pygcode could at least read the words of such a block, these
    were compared too.
    """

    findings: tuple[Finding, ...]
    read_twice: int
    read_once: Mapping[str, int]


def read_again(
    blocks: Sequence[Block], timeline: Timeline, dialect: Dialect, *, advance: Callable[[int], None] | None = None
) -> SecondReading:
    """Read blocks again with pygcode and compare words and end positions.

    ``blocks`` must have been read without findings under the dialect, and ``timeline`` be their replay. Takes about
    0.15 ms a block; ``advance`` is told now and then how many more blocks are done. Raises nothing: whatever pygcode
    raises is a reason why a block is read once.
    """
    second = _Pygcode(dialect)
    ends = {event.line: event.end for event in timeline.events if isinstance(event, Move)}
    findings: list[Finding] = []
    read_once: Counter[str] = Counter()
    read_twice = 0
    place: Point = _NOWHERE
    for count, block in enumerate(blocks, 1):
        end = ends.get(block.line, place)
        finding, reason = second.compare(block, place, end)
        place = end
        if finding is not None:
            findings.append(finding)
        if block.words or finding is not None:
            if reason is None:
                read_twice += 1
            else:
                read_once[reason] += 1
        if advance is not None and count % BLOCKS_A_REPORT == 0:
            advance(BLOCKS_A_REPORT)
    if advance is not None and len(blocks) % BLOCKS_A_REPORT:
        advance(len(blocks) % BLOCKS_A_REPORT)
    return SecondReading(tuple(findings), read_twice, MappingProxyType(dict(read_once)))


class _ReadOnceError(Exception):
    """Why a block is not followed by pygcode, in a few words."""


class _Pygcode:
    """pygcode's reader and its machine, kept in step with our replay from block to block.

    The machine starts with no state stated, as ours does, and keeps its modes from what pygcode itself reads. Its
    position is set to ours after each block, so that each block is judged alone and no error of rounding adds up.
    """

    def __init__(self, dialect: Dialect) -> None:
        self._dialect = dialect
        # Imported here: it costs 10 ms, which only a proof has to spend.
        import pygcode  # type: ignore[import-untyped]  # noqa: PLC0415

        self._read_line: Any = pygcode.Line
        self._cycle: Any = pygcode.GCodeCannedCycle
        self._motion_group: int = pygcode.GCodeRapidMove.modal_group
        self._machine: Any = pygcode.NullMachine()
        self._modes: dict[float, Any] = {
            value: pygcode.words2gcodes([pygcode.Word("G", value)])[0][0] for value in _MODES
        }
        self._units: Units = "mm"  # of the machine's numbers; nothing moves before the program states its own

    def compare(self, block: Block, start: Point, end: Point) -> tuple[Finding | None, str | None]:
        """What differs, and why the end position was not compared; None for nothing.

        ``start`` and ``end`` are our places before and after the block, in mm.
        """
        words, reached, reason = None, None, None
        try:
            text = self._without_comment(block.text)
            _check_subset(text)
            reading = self._read_line(text).block
            words = tuple((word.letter, float(word.value)) for word in reading.words if word.letter != "N")
            self._check_dialect(block.words)
            reached = self._follow(reading, start)
        except _ReadOnceError as refusal:
            reason = str(refusal)
        except Exception as error:
            reason = f"pygcode stops with {type(error).__name__}"
        finding = None if words is None or words == block.words else _words_differ(block, words)
        if finding is None and reached is not None:
            finding = _ends_differ(block, reached, end, self._units)
        if block.words and (finding is not None or reason is not None):
            self._fall_in(block.words)
        self._stand_at(end)
        return finding, reason

    def _without_comment(self, text: str) -> str:
        return text.partition(";")[0] if self._dialect.comments.form == "semicolon" else text

    def _check_dialect(self, words: Words) -> None:
        """Refuse to follow what this control means otherwise than RS-274/NGC does."""
        letters = {letter for letter, _ in words}
        if self._dialect.numbers.point == "none" and letters & set("XYZR"):
            raise _ReadOnceError("lengths count the control's smallest steps")
        if self._dialect.dwell.word == "X" and ("G", 4.0) in words:
            raise _ReadOnceError("a dwell is told by X")

    def _follow(self, reading: Any, start: Point) -> Point:
        """Carry out a block on pygcode's machine; the place reached, in the program's unit."""
        _check_known(reading)
        machine = self._machine
        motion: Any = None
        others: list[Any] = []
        for code in reading.gcodes:
            if code.modal_group == self._motion_group:
                motion = code
            else:
                others.append(code)
        if others:
            machine.process_gcodes(*others)
            self._change_frame(others, start)
        if reading.modal_params:
            motion = self._go_on(reading.modal_params, motion, others)
        if isinstance(motion, self._cycle):
            self._check_cycle(motion)
        if motion is not None:
            machine.process_gcodes(motion)
        place = machine.abs_pos  # its work offsets all stay nought, and .pos would cost 25 microseconds
        return float(place.X), float(place.Y), float(place.Z)

    def _change_frame(self, codes: Iterable[Any], start: Point) -> None:
        """Keep the place when its numbers change with the unit, and let go of a cycle's kept words, which do not."""
        if _FRAME.isdisjoint([code.word.value for code in codes if code.word.letter == "G"]):
            return
        self._note_units()
        self._stand_at(start)
        if isinstance(self._machine.mode.motion, self._cycle):
            self._machine.mode.motion = None

    def _go_on(self, left: Iterable[Any], motion: Any, others: Iterable[Any]) -> Any:
        """The motion still standing from an earlier block, with the words left that belong to no code of this one."""
        standing = self._machine.mode.motion
        dwells = any(code.word == "G4" for code in others)
        may_be_left = _AXES if dwells else _KEPT_IN_CYCLE
        if motion is not None or any(word.letter not in may_be_left for word in left):
            raise _ReadOnceError("pygcode takes a word only after the code it belongs to")
        if standing is None:
            raise _ReadOnceError("pygcode has lost the code that still stands")
        return self._machine.modal_gcode(left)

    def _check_cycle(self, cycle: Any) -> None:
        """Refuse the fixed cycles whose end pygcode has wrong or cannot know (NISTIR 6556 3.5.16, 3.5.20)."""
        mode = self._machine.mode
        if mode.distance.word.value == 91:
            raise _ReadOnceError("pygcode adds up the kept words of a fixed cycle under G91")
        if cycle.R is None:
            raise _ReadOnceError("pygcode does not keep R from one fixed cycle to the next")
        if mode.canned_cycles_return is None or mode.canned_cycles_return.word.value != 99:
            level = getattr(self._machine.abs_pos, mode.plane_selection.normal_axis)
            if level < cycle.R - SAME_PLACE:
                raise _ReadOnceError("pygcode does not lift a fixed cycle under G98 that begins below R")

    def _fall_in(self, words: Words) -> None:
        """Take over the modes of a block as we read it, after one that pygcode did not follow."""
        mode = self._machine.mode
        stated = {_AS_STANDARD.get(round(value, 1), round(value, 1)) for letter, value in words if letter == "G"}
        self._machine.set_mode(*(self._modes[value] for value in stated & _MODES))
        if not stated & {0, 1} and (isinstance(mode.motion, self._cycle) or any(80 <= value < 90 for value in stated)):
            mode.motion = None
        self._note_units()

    def _note_units(self) -> None:
        units = self._machine.mode.units
        self._units = "inch" if units is not None and units.word.value == 20 else "mm"

    def _stand_at(self, place: Point) -> None:
        position, mm_per_unit = self._machine.abs_pos, MM_PER[self._units]
        for axis, value in zip(_AXES, place, strict=True):
            if not isnan(value):
                setattr(position, axis, value / mm_per_unit)


def _check_subset(text: str) -> None:
    """Refuse a line outside the writing that pygcode reads as RS-274/NGC means it."""
    if _IN_SUBSET.fullmatch(text):
        return
    bare = _ANY_COMMENT.sub(" ", text)
    if _IN_SUBSET.fullmatch(bare):
        raise _ReadOnceError("a comment pygcode cannot skip")
    what = next((what for what, pattern in _OUTSIDE if pattern.search(bare)), "a writing")
    raise _ReadOnceError(f"{what} pygcode cannot read")


def _check_known(reading: Any) -> None:
    """Refuse a block with a code that pygcode does not know or does not carry out."""
    for word in reading.modal_params:
        if word.letter in "GM":
            raise _ReadOnceError(f"pygcode does not know {_show(word.letter, float(word.value))}")
    for code in reading.gcodes:
        word = code.word
        if word.letter not in "FSN" and (word.letter, word.value) not in _CARRIED_OUT:
            raise _ReadOnceError(f"pygcode does not carry out {_show(word.letter, float(word.value))}")


def _words_differ(block: Block, theirs: Words) -> Finding | None:
    ours_only: list[tuple[str, float]] = []
    theirs_only = list(theirs)
    for ours in block.words:
        same = next((word for word in theirs_only if _same_word(word, ours)), None)
        if same is None:
            ours_only.append(ours)
        else:
            theirs_only.remove(same)
    if not ours_only and not theirs_only:
        return None
    found, expected = (" ".join(_show(*word) for word in words) or "no more" for words in (theirs_only, ours_only))
    return _finding(block, f"pygcode reads {found}", f"{expected}, as first read")


def _same_word(one: tuple[str, float], other: tuple[str, float]) -> bool:
    return one[0] == other[0] and isclose(one[1], other[1], rel_tol=SAME_WORD)


def _ends_differ(block: Block, reached: Point, end_mm: Point, units: Units) -> Finding | None:
    mm_per_unit = MM_PER[units]
    apart = [
        (axis, there, here / mm_per_unit)
        for axis, there, here in zip(_AXES, reached, end_mm, strict=True)
        if not isnan(here) and not abs(there - here / mm_per_unit) <= SAME_PLACE
    ]
    if not apart:
        return None
    found = " ".join(_show(axis, there) for axis, there, _ in apart)
    expected = " ".join(_show(axis, here) for axis, _, here in apart)
    unit = UNIT_WORD[units]
    return _finding(block, f"pygcode ends the block at {found} {unit}", f"{expected} {unit}, as replayed")


def _finding(block: Block, found: str, expected: str) -> Finding:
    return Finding("readings-differ", block.line, block.text, found, expected)


def _show(letter: str, value: float) -> str:
    return f"{letter}{value:.15g}"
