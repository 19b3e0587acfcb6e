"""Blocks to a timeline: what a machine does when it runs a program (NISTIR 6556).

Nothing is assumed that the program does not state, not even the state in which a control starts. A line that cannot
be interpreted becomes a finding and is not run; the lines after it are still judged.

The words of one line act in the standard's order (3.8, Table 8), not in that of writing: feed mode, F, S, spindle, G4,
plane, units, work offset, distance and retract mode, motion, stop.
"""

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import lru_cache, partial
from typing import Final, NamedTuple

from post.codes import AXES, CYCLES, Language, Meaning, codes_among, judge, language
from post.collector import no_garbage
from post.cycles import Cycle, expand
from post.dialect import ANGLE_STEP_DEG, Dialect
from post.finding import Finding
from post.modal import Modal
from post.motion import Sense
from post.reader import Block, Word
from post.refusal import Refusal, show
from post.timeline import STOPPED, End, Halt, Move, OffsetChange, Point, Spin, SpinChange, Timeline, Wait
from post.told import feed_told, on_grid, repeats

MOST_FINDINGS: Final = 1000
"""Findings listed of one program; nobody reads more."""

MOST_KEPT: Final = 1024
"""What is kept of lines and words once judged: those near to each other are much the same."""

# One object for every unknown coordinate: tuples compare their items by identity first, and so a point with unknown
# coordinates is equal to itself, though NaN is not.
_NOWHERE: Final[Point] = (math.nan, math.nan, math.nan)

Numbers = Mapping[str, float]
"""The last number behind each letter; those behind G and M mean nothing."""


def replay(
    blocks: Iterable[Block], dialect: Dialect, *, zero: Point | None = None, work_offset: str | None = None
) -> Timeline:
    """What the machine does when it runs these blocks.

    ``zero`` is the machine position in mm of program zero under ``work_offset``, "G54" to "G59.3"; moves in machine
    coordinates (G53) are refused without it and under any other work offset. Nothing is raised: what cannot be
    interpreted is in the timeline's findings, at most 1000 of them.
    """
    timeline = Timeline()
    machine = _Machine(dialect, zero, work_offset, timeline)
    run = machine.run
    line, text = 0, ""
    with no_garbage():
        for line, text, words, letters, comment, deleted, finding in blocks:
            try:
                if words:
                    timeline.blocks += 1
                if finding:
                    _note(timeline, finding)
                elif deleted:
                    raise Refusal(
                        "unknown-word", 'a line that starts with "/"', "lines that run whatever a switch says"
                    )
                elif words:
                    run(line, words, letters, comment)
            except Refusal as refusal:
                _note(timeline, refusal.at(line, text))
    if not machine.ended:
        _note(timeline, Finding("no-end", line, text, "a program without M2 or M30", "M2 or M30 at its end"))
    return timeline


def _note(timeline: Timeline, finding: Finding) -> None:
    if len(timeline.findings) < MOST_FINDINGS:
        timeline.findings.append(finding)


class _Sticky(NamedTuple):
    """R and depth of a cycle, as written, and the modal state they were written under (3.5.16)."""

    r: float
    depth: float
    under: tuple[object, ...]


class _Machine:
    """State of the machine, and one line after the other run on it; what it does goes into a timeline.

    ``feed`` is in mm a minute or a spindle turn, None until an F is stated under the units and feed mode in force;
    ``speed`` is S in rev/min; ``here`` is in mm and program coordinates. ``mm_per_word`` is what 1 in a length word
    means, 0 before units are stated.
    """

    def __init__(self, dialect: Dialect, zero: Point | None, work_offset: str | None, timeline: Timeline) -> None:
        self.look = lru_cache(MOST_KEPT)(partial(_look, dialect=dialect, language=language(dialect)))
        self.feed_told = lru_cache(MOST_KEPT)(partial(feed_told, dialect))
        self.dialect = dialect
        self.angle_letter = dialect.oriented_stop.angle if dialect.oriented_stop else ""
        self.message = re.compile(rf"\A\s*{re.escape(dialect.comments.message)}", re.IGNORECASE)
        self.zero = zero
        self.work_offset = work_offset
        self.timeline = timeline
        self.events = timeline.events
        self.modal = Modal()
        self.mm_per_word = 0.0
        self.motion: str | None = None
        self.feed: float | None = None
        self.speed: float | None = None
        self.spin = STOPPED
        self.here = _NOWHERE
        self.sticky: _Sticky | None = None
        self.moved = False
        self.ended = False
        self.length_step = 1.0

    def run(self, line: int, words: Sequence[Word], letters: str, comment: str | None) -> None:
        """Run one line. Raises Refusal, and then leaves state and events as they were."""
        numbers = dict(words)
        count = len(self.events)
        before = (self.modal, self.mm_per_word, self.motion, self.feed, self.speed, self.spin, self.here, self.sticky)
        length_step = self.length_step
        try:
            if self.ended:
                raise Refusal("after-end", "words after the end of the program", "nothing after M2 or M30")
            meaning, deeds = self.look(letters, codes_among(letters)(words), self.motion)
            for deed in deeds:
                deed(self, line, meaning, numbers)
            if not self.moved:
                self._note_codes(meaning)
            self.motion = meaning.motion
            if meaning.stop:
                self._stop(line, meaning.stop, comment)
        except Refusal:
            del self.events[count:]
            self.modal, self.mm_per_word, self.motion, self.feed, self.speed, self.spin, self.here, self.sticky = before
            self.length_step = length_step
            raise

    def _note_states(self, line: int, meaning: Meaning, _numbers: Numbers) -> None:
        self.timeline.states += ((line, code) for code in meaning.states)

    def _note_codes(self, meaning: Meaning) -> None:
        """Keep what is stated before anything moves; what is on the line of the first move counts."""
        self.timeline.stated_first.update(meaning.codes)
        self.moved = meaning.moves

    def _change_feed_mode(self, _line: int, meaning: Meaning, _numbers: Numbers) -> None:
        """An F stated under another feed mode means nothing under this one."""
        modes = [(name, mode) for name, mode in meaning.changes if name == "feed_mode"]
        if modes and modes != [("feed_mode", self.modal.feed_mode)]:
            self.feed = None
            self.modal = self.modal.after(modes)

    def _set_feed(self, _line: int, _meaning: Meaning, numbers: Numbers) -> None:
        self.feed = self.feed_told(numbers["F"], self.modal.units, self.modal.feed_mode)

    def _set_spin(self, line: int, meaning: Meaning, numbers: Numbers) -> None:
        code = meaning.spindle
        self.speed = numbers.get("S", self.speed)
        if self.speed is not None and self.speed < 0:
            raise Refusal("unreadable", show("S", self.speed), "S above 0")
        if "S" in numbers:
            on_grid("S", numbers["S"], self.dialect.resolution.speed)
        if code == "M5":
            spin = STOPPED
        elif code == "M19":
            angle = numbers[self.angle_letter]
            on_grid(self.angle_letter, angle, ANGLE_STEP_DEG)
            if not 0 <= angle < 360:
                raise Refusal("unreadable", f"M19 at {angle:.10g} degrees", "an angle of 0 or more and less than 360")
            spin = Spin(0.0, None, angle)
        elif code or self.spin.turning:
            spin = self._turning(code)
        else:
            return
        if spin != self.spin:
            self.spin = spin
            self.events.append(SpinChange(line, spin))

    def _turning(self, code: str | None) -> Spin:
        if not self.speed:
            what = code or "a turning spindle"
            raise Refusal("state-assumed", f"{what} at {'no S' if self.speed is None else 'S0'}", "S above 0; M5 stops")
        return Spin(self.speed, Sense(code) if code else self.spin.sense, None)

    def _dwell(self, line: int, _meaning: Meaning, numbers: Numbers) -> None:
        seconds = self._dwell_s("G4", self.dialect.dwell.word, numbers)
        if seconds > 0:
            self.events.append(Wait(line, seconds, self.spin))

    def _change(self, line: int, meaning: Meaning, _numbers: Numbers) -> None:
        before, self.modal = self.modal, self.modal.after(meaning.changes)
        if self.modal.units != before.units:
            self.feed = None
            self.mm_per_word = self._mm_per_word()
            self.timeline.units = self.timeline.units or self.modal.units
        if self.modal.offset != before.offset:
            self.here = _NOWHERE
        for name, value in meaning.changes:
            if name == "offset":
                self.events.append(OffsetChange(line, str(value)))

    def _mm_per_word(self) -> float:
        units = self.modal.units
        assert units is not None
        step = self.dialect.steps(units).length
        counted = self.dialect.numbers.point == "none"
        self.length_step = 1.0 if counted else step
        return step * self.modal.mm_per_unit if counted else self.modal.mm_per_unit

    def _go(self, line: int, meaning: Meaning, numbers: Numbers) -> None:
        """Straight move: G0 or G1 (3.5.1, 3.5.2)."""
        if not self.modal.complete:
            self.modal.check_owed("a move", self.dialect, cycle=False)
        feed = self._stated_feed("a feed move") if meaning.motion == "G1" else None
        if meaning.in_machine_coordinates:
            to = self._in_machine(numbers)
            self.timeline.by_machine.append(line)
        else:
            to = self._place(numbers)
        here = self.here
        if to != here:
            self.events.append(Move(line, here, to, feed, self.spin))
            self.here = to

    def _place(self, numbers: Numbers) -> Point:
        """Where the axis words lead, mm (3.5.17)."""
        x, y, z = self.here
        step, mm = self.length_step, self.mm_per_word
        if self.modal.absolute:
            return (
                on_grid("X", numbers["X"], step) * mm if "X" in numbers else x,
                on_grid("Y", numbers["Y"], step) * mm if "Y" in numbers else y,
                on_grid("Z", numbers["Z"], step) * mm if "Z" in numbers else z,
            )
        dx, dy, dz = self._step(numbers)
        for axis, place in zip(AXES, self.here, strict=True):
            if axis in numbers and math.isnan(place):
                raise Refusal(
                    "state-assumed", f"{axis} by increment from a place not known", f"{axis} under G90 before"
                )
        return x + dx if dx else x, y + dy if dy else y, z + dz if dz else z

    def _step(self, numbers: Numbers) -> Point:
        """The axis words as increments, mm; 0 where there is none."""
        step, mm = self.length_step, self.mm_per_word
        x, y, z = (on_grid(axis, numbers[axis], step) * mm if axis in numbers else 0.0 for axis in AXES)
        return x, y, z

    def _in_machine(self, numbers: Numbers) -> Point:
        """Where the axis words lead when they count from the machine's own zero (3.5.12), mm."""
        if self.zero is None:
            raise Refusal("unknown-word", "G53, with the machine position of program zero not known", "no G53")
        if self.modal.offset != self.work_offset:
            under = f"G53 under {self.modal.offset}"
            raise Refusal("unknown-word", under, f"{self.work_offset}, whose zero is known, before G53")
        if not self.modal.absolute:
            raise Refusal("unknown-word", "G53 under G91", "G90 with G53")
        step, mm = self.length_step, self.mm_per_word
        x, y, z = (
            on_grid(axis, numbers[axis], step) * mm - zero if axis in numbers else place
            for axis, zero, place in zip(AXES, self.zero, self.here, strict=True)
        )
        return x, y, z

    def _stated_feed(self, what: str) -> float:
        if self.feed is None:
            units, modes = self.dialect.unit_words, " or ".join(self.dialect.feed_modes)
            raise Refusal(
                "state-assumed",
                f"{what} with no F stated",
                f"F on a line after {units.inch} or {units.mm}, and with or after {modes}",
            )
        if self.feed <= 0:
            raise Refusal("unreadable", f"{what} at F0", "F above 0")
        if self.modal.feed_mode == "G94":
            return self.feed
        if not self.spin.turning:
            never = f"{what} at a feed a spindle turn with the spindle stopped, which never ends"
            raise Refusal("cut-not-turning", never, "the spindle turning")
        return self.feed * self.spin.rpm

    def _bore(self, line: int, meaning: Meaning, numbers: Numbers) -> None:
        """Fixed cycle (3.5.16)."""
        modal, here, code = self.modal, self.here, meaning.motion
        assert code is not None
        modal.check_owed(code, self.dialect, cycle=True)
        if any(map(math.isnan, here)):
            raise Refusal("state-assumed", f"{code} from a place not known", "X, Y and Z stated before it")
        assert modal.axis is not None
        self.sticky = self._sticky_numbers(code, numbers, modal.axis)
        r, depth = self.sticky.r * self.mm_per_word, self.sticky.depth * self.mm_per_word
        step = (0.0, 0.0, 0.0)
        if not modal.absolute:
            step = self._step(numbers)
            r += here[modal.axis]
            depth += r
        cycle = Cycle(
            code=code,
            axis=modal.axis,
            hole=self._place(numbers),
            step=step,
            r=r,
            depth=depth,
            dwell_s=self._dwell_s(code, "P", numbers),
            repeats=repeats(numbers),
            to_r=modal.retract == "G99",
            mm_per_min=self._stated_feed(code),
        )
        events, self.here = expand(cycle, line, here, self.spin)
        self.events.extend(events)

    def _sticky_numbers(self, code: str, numbers: Numbers, axis: int) -> _Sticky:
        """R and depth of a cycle: this line's, or those of the line before if it was the same cycle's."""
        under = (self.modal.units, self.modal.axis, self.modal.absolute)
        held: Numbers = {}
        if self.motion == code and self.sticky and self.sticky.under == under:
            held = {"R": self.sticky.r, AXES[axis]: self.sticky.depth}
        for letter in ("R", AXES[axis]):
            if letter not in numbers and letter not in held:
                raise Refusal("unreadable", f"{code} without {letter}", f"{letter} on the first line of a cycle")
        if "R" in numbers:
            on_grid("R", numbers["R"], self.length_step)
        either = {**held, **numbers}
        return _Sticky(either["R"], either[AXES[axis]], under)

    def _dwell_s(self, code: str, letter: str, numbers: Numbers) -> float:
        """Seconds to stand still, told by a letter (3.5.4, 3.5.16), in what the dialect says that it counts."""
        told = numbers.get(letter, 0.0)
        if told < 0:
            raise Refusal("unreadable", f"{code} with {show(letter, told)}", f"{letter} of 0 or more")
        on_grid(letter, told, self.dialect.dwell.step)
        match self.dialect.dwell.unit:
            case "seconds":
                return told
            case "milliseconds":
                return told / 1000
        if told > 0 and not self.spin.turning:
            never = f"{code} for {told:g} turns of a spindle that is stopped, which never ends"
            raise Refusal("cut-not-turning", never, "the spindle turning")
        return told / self.spin.rpm * 60 if told else 0.0

    def _stop(self, line: int, code: str, comment: str | None) -> None:
        if code in ("M2", "M30"):
            self.ended = True
            self.events.append(End(line, self.spin))
        else:
            message = self.message.sub("", comment or "").strip()
            shown = not message or self.message.match(comment or "") is not None
            self.events.append(Halt(line, message, code == "M1", self.spin, shown))


_Deed = Callable[[_Machine, int, Meaning, Numbers], None]


def _look(
    letters: str, codes: Sequence[Word], in_force: str | None, dialect: Dialect, language: Language
) -> tuple[Meaning, tuple[_Deed, ...]]:
    """What a line means, and what the machine does for it, in the standard's order. Raises Refusal, as ``judge``."""
    meaning = judge(codes, letters, in_force, dialect, language)
    order: tuple[tuple[object, _Deed], ...] = (
        (meaning.changes, _Machine._change_feed_mode),
        ("F" in letters, _Machine._set_feed),
        (meaning.spindle or "S" in letters, _Machine._set_spin),
        (meaning.dwells, _Machine._dwell),
        (meaning.changes, _Machine._change),
        (meaning.moves, _Machine._bore if meaning.motion in CYCLES else _Machine._go),
        (meaning.states, _Machine._note_states),
    )
    return meaning, tuple(deed for wanted, deed in order if wanted)
