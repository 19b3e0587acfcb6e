"""A replay in words: what the control does at each block, for a machinist to read beside it.

Words used here:

setting
    what a block makes hold from now on, told in the order written: "YZ plane".
deed
    what the machine does at a block, told in the order of doing: "rapid to X 3 mm".
"""

import math
from collections import deque
from collections.abc import Mapping, Sequence
from functools import lru_cache, partial
from itertools import groupby
from typing import Final, NamedTuple

from post.codes import AXES, Meaning, codes_among, judge, language
from post.dialect import Dialect
from post.finding import Finding
from post.modal import Modal
from post.motion import Sense
from post.reader import Block
from post.replay import MOST_FINDINGS
from post.standard import GROUP_OF, NOT_INTERPRETED, OFFSET
from post.steps import decimals
from post.timeline import STOPPED, End, Event, Halt, Move, OffsetChange, Spin, SpinChange, Timeline, Wait
from post.units import MM_PER, UNIT_WORD, Units, plain

SENSE_WORD: Final[Mapping[Sense, str]] = {Sense.CLOCKWISE: "clockwise", Sense.COUNTERCLOCKWISE: "counterclockwise"}
"""A sense as a machinist says it."""

_UNIT_SETTING: Final[Mapping[Units, str]] = {"mm": "lengths in millimetres", "inch": "lengths in inches"}
_FEED_MODE_SETTING: Final = {"G94": "feed a minute", "G95": "feed a spindle turn"}

_SETTING: Final[Mapping[str, str]] = {
    "G17": "XY plane",
    "G18": "XZ plane",
    "G19": "YZ plane",
    "G40": "cutter compensation off",
    "G49": "tool length offset off",
    "G53": "counted from machine zero on this line, told from program zero",
    "G61": "corners exactly on the path",
    "G61.1": "exact stop at every corner",
    "G64": "corners rounded to keep the speed",
    "G80": "fixed cycle over",
    "G90": "coordinates from program zero",
    "G91": "coordinates as steps from where the machine stands",
    "G98": "cycles come out to where they began",
    "G99": "cycles come out to R",
    "M7": "mist coolant on",
    "M8": "flood coolant on",
    "M9": "coolant off",
    "M48": "override switches work",
}

_DEED: Final[Mapping[str, str]] = {
    "G0": "rapid",
    "G1": "feed in a straight line",
    "G4": "stand still for a time",
    "M0": "wait for the operator",
    "M1": "wait for the operator if the switch for it is on",
    "M2": "end of the program",
    "M3": "spindle clockwise",
    "M4": "spindle counterclockwise",
    "M5": "stop the spindle",
    "M30": "end of the program",
    **{code: f"work offset {code}" for code, group in GROUP_OF.items() if group == OFFSET},
}

_CYCLE: Final[Mapping[str, str]] = {
    "G81": "cycle: feed in, rapid out",
    "G82": "cycle: feed in, stand, rapid out",
    "G85": "cycle: feed in, feed out",
    "G86": "cycle: feed in, stand, stop the spindle, rapid out, start the spindle",
    "G89": "cycle: feed in, stand, feed out",
}

_BEYOND_FINDINGS: Final = f"not told: {MOST_FINDINGS} findings come before it, and no more are kept"


class Told(NamedTuple):
    """One line of a program, counted from 1, as it stands, and what the control does there in ``words``."""

    line: int
    text: str
    words: str


def tell(blocks: Sequence[Block], timeline: Timeline, dialect: Dialect, units: Units | None = None) -> list[Told]:
    """Every line of these blocks, in the order of the program, with what the control does there.

    ``timeline`` is the replay of the same blocks in the same dialect. Lengths are told in ``units``, by default the
    unit the program states first, to 0.0001 or as fine as the control reads. Words are "" where there is nothing to
    do, as on a line of comment. A line with a finding tells that instead; what is told after it is not to be trusted.
    """
    teller = _Teller(dialect, units or timeline.units or "mm")
    events = {line: list(group) for line, group in groupby(timeline.events, key=lambda event: event.line)}
    findings = deque(timeline.findings)
    full = len(findings) >= MOST_FINDINGS
    deeds: list[Told] = []
    problems: list[Told] = []
    # Findings come in the order of the blocks, at most one a block, and "no-end" behind them all.
    for block in blocks:
        line, text = block.line, block.text
        if findings and findings[0].line == line and findings[0].rule != "no-end":
            problems.append(Told(line, text, _problem(findings.popleft())))
        elif full and not findings:
            problems.append(Told(line, text, _BEYOND_FINDINGS))
        else:
            deeds.append(Told(line, text, teller.words(block, events.get(line, []))))
    problems += (Told(finding.line, finding.text, _problem(finding)) for finding in findings if finding.line)
    # The frame's findings may stand on the line of a block that runs.
    by_line = groupby(sorted(deeds + problems, key=lambda told: told.line), key=lambda told: told.line)
    return [_merged(list(group)) for _, group in by_line]


def _merged(told: list[Told]) -> Told:
    return told[0]._replace(words="; ".join(one.words for one in told if one.words))


def _problem(finding: Finding) -> str:
    kind = "no end" if finding.rule == "no-end" else "cannot be interpreted"
    return f"{kind}: {finding.message}"


def in_words(code: str, dialect: Dialect) -> str:
    """What a G or M code, "G59.1", means to a control, or why it means nothing."""
    if code in dialect.refuses:
        return "refused by the control"
    if code in NOT_INTERPRETED:
        return f"not interpreted: {NOT_INTERPRETED[code]}"
    if code in dialect.cycles:
        return _CYCLE[code]
    if dialect.oriented_stop and code == dialect.oriented_stop.code:
        return "stop the spindle at an angle"
    return _settings(dialect).get(code) or _DEED.get(code, "no code of this control, by the dialect")


def _settings(dialect: Dialect) -> Mapping[str, str]:
    return {
        **_SETTING,
        dialect.unit_words.mm: _UNIT_SETTING["mm"],
        dialect.unit_words.inch: _UNIT_SETTING["inch"],
        **{mode: _FEED_MODE_SETTING[mode] for mode in dialect.feed_modes},
        **{code: f"{code}, taken on trust: what it does is not known" for code in dialect.on_trust},
    }


class _Teller:
    """Follows the state of a program that runs, as far as words need it, and tells one line after the other."""

    def __init__(self, dialect: Dialect, units: Units) -> None:
        self.judge = lru_cache(maxsize=1024)(partial(judge, dialect=dialect, language=language(dialect)))
        self.dialect = dialect
        self.settings = _settings(dialect)
        self.unit = UNIT_WORD[units]
        self.per = MM_PER[units]
        # A control may read lengths in millimetres as fine as those in inches.
        both = (dialect.resolution.mm, dialect.resolution.inch)
        self.length_digits = max(4, *(decimals(steps.length) for steps in both))
        self.feed_digits = max(4, *(decimals(steps.feed) for steps in both))
        self.turn_digits = max(5, *(decimals(steps.feed_per_turn or 1.0) for steps in both))
        self.modal = Modal()
        self.motion: str | None = None
        self.spin = STOPPED
        self.last: Move | None = None

    def words(self, block: Block, events: Sequence[Event]) -> str:
        """What a block does that was run, and did these events."""
        if not block.words:
            return ""
        numbers = dict(block.words)
        meaning = self.judge(codes_among(block.letters)(block.words), block.letters, self.motion)
        before, self.motion = self.modal, meaning.motion
        self.modal = before.after(meaning.changes)
        settings = [self.settings[code] for code in meaning.codes if code in self.settings]
        if "F" in numbers and not any(isinstance(event, Move) and event.feed is not None for event in events):
            settings.append(self._feed_setting(numbers["F"], before))
        turned = next((event.spin for event in events[:1] if isinstance(event, SpinChange)), None)
        if "S" in numbers and not (turned or self.spin).turning:
            settings.append(f"speed {_amount(numbers['S'], 3)} rpm for the next start")
        deeds = [self._deed(event) for event in events]
        self._add_idle_deeds(deeds, meaning, "S" in numbers, turned, events)
        return "; ".join(filter(None, [", ".join(settings), *deeds]))

    def _feed_setting(self, value: float, before: Modal) -> str:
        """An F acts after the line's feed mode and before its units (NISTIR 6556 3.8, Table 8)."""
        units, mode = before.units, self.modal.feed_mode
        if units is None or mode is None or units != self.modal.units:
            return "this F counts for nothing: units, on an earlier line, and feed mode come first"
        value *= MM_PER[units] / self.per
        if self.dialect.numbers.point == "none":
            steps = self.dialect.steps(units)
            value *= steps.feed if mode == "G94" else steps.feed_per_turn or 0.0
        return f"feed {self._a_minute(value)}" if mode == "G94" else f"feed {self._a_turn(value)}"

    def _add_idle_deeds(
        self, deeds: list[str], meaning: Meaning, speed: bool, turned: Spin | None, events: Sequence[Event]
    ) -> None:
        """Tell too, each in its place, what is asked for and is so already, and therefore made no event."""
        if meaning.moves and not any(isinstance(event, Move) for event in events):
            deeds.insert(len(deeds) - (meaning.stop is not None), "already there: no move")
        if meaning.dwells and not any(isinstance(event, Wait) for event in events):
            deeds.insert(turned is not None, "stand for no time")
        if turned is None and self.spin.turning and (meaning.spindle or speed):
            deeds.insert(0, f"spindle goes on {_turning(self.spin)}")
        elif turned is None and meaning.spindle:
            deeds.insert(0, _stopping(self.spin))

    def _deed(self, event: Event) -> str:
        match event:
            case Move():
                return self._move(event)
            case Wait(_, seconds, spin):
                turns = f" ({_amount(seconds * spin.rpm / 60, 1)} turns of the spindle)" if spin.turning else ""
                return f"stand {_amount(seconds, 3)} s{turns}"
            case SpinChange(_, spin):
                self.spin = spin
                return f"spindle {_turning(spin)}" if spin.turning else _stopping(spin)
            case Halt(_, message, optional, spin):
                switch = " if the switch for it is on" if optional else ""
                turning = ", the spindle turning" if spin.turning else ""
                return f"wait for the operator{switch}{turning}" + (f": {message}" if message else "")
            case End(_, spin):
                return "end of the program" + (", which stops the spindle" if spin.turning else "")
            case OffsetChange(_, code):
                self.last = None
                return f"work offset {code}"

    def _move(self, move: Move) -> str:
        back = "back " if self.last is not None and self.last.start == move.end else ""
        # Down again into the same hole is not back once more.
        self.last = None if back else move
        places = ", ".join(
            f"{axis} {_length(end / self.per, self.length_digits)}"
            for axis, start, end in zip(AXES, move.start, move.end, strict=True)
            if start != end and not math.isnan(end)
        )
        if move.feed is None:
            return f"rapid {back}to {places} {self.unit}"
        feed = move.feed / self.per
        turn = f" ({self._a_turn(feed / move.spin.rpm)})" if move.spin.turning else ""
        return f"feed {back}to {places} at {self._a_minute(feed)}{turn}"

    def _a_minute(self, feed: float) -> str:
        return f"{_amount(feed, self.feed_digits)} {self.unit}/min"

    def _a_turn(self, feed: float) -> str:
        return f"{_amount(feed, self.turn_digits)} {self.unit} a spindle turn"


def _turning(spin: Spin) -> str:
    assert spin.sense is not None
    return f"{SENSE_WORD[spin.sense]} at {_amount(spin.rpm, 3)} rpm"


def _stopping(spin: Spin) -> str:
    return "stop the spindle" + ("" if spin.angle is None else f" at {_amount(spin.angle, 3)} degrees")


def _length(value: float, digits: int) -> str:
    """A coordinate; one of more than nine digits before the point, which no machine has, in short."""
    return plain(value, digits) if abs(value) < 1e9 else f"{value:.6g}"


def _amount(value: float, digits: int) -> str:
    """A time, speed or feed; one too small for its digits is not told as 0."""
    text = _length(value, digits)
    return f"{value:.3g}" if text == "0" and value else text
