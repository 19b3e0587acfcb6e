"""Agreement: the replayed timeline is the plan, step for step, to half the control's resolution.

Both are brought to the same form, a row of *deeds*: what the machine does, each with the spindle's state while it does
it. A plain spindle stop is no deed of its own (the state of the next deed tells it); a start is, so that the spindle
never turns where it was not planned, and so is a stop at an angle. Only a fixed cycle's own restart, which comes
behind a move on the same line, is left out: RS-274/NGC G86 ends with one (NISTIR 6556, 3.5.16), and what matters is
the state at the next deed.
"""

import math
from collections.abc import Iterator, Sequence
from typing import Final, Literal, NamedTuple

from post.dialect import ANGLE_STEP_DEG, Dialect
from post.finding import Finding
from post.motion import Dwell, Feed, Pause, Place, Plan, Rapid, Spindle, SpindleStop
from post.timeline import STOPPED, Halt, Move, Point, Spin, SpinChange, Timeline, Wait
from post.units import MM_PER, UNIT_WORD, Units, plain

MOST: Final = 100
"""Most differences listed: past that the program is another program."""
LOOK_AHEAD: Final = 12
"""How many deeds are searched, on both sides together, for the place where plan and program meet again."""

_AHEAD: Final = sorted(
    ((k, m) for k in range(LOOK_AHEAD + 1) for m in range(LOOK_AHEAD + 1 - k)),
    key=lambda far: (sum(far), abs(far[1] - far[0])),
)
"""How far to look ahead in plan and program: least first, and of as much in all first what is alike on both sides."""

Kind = Literal["rapid", "feed", "dwell", "pause", "spindle start", "oriented stop"]


class Deed(NamedTuple):
    """One thing the machine does. ``end`` in mm, ``feed`` in mm/min, as far as the kind has them; line 0 in a plan."""

    kind: Kind
    line: int
    end: Point
    feed: float
    seconds: float
    message: str
    spin: Spin


class Tolerance(NamedTuple):
    """Half the control's steps: mm, rev/min, degrees; a hair more, for the rounding of floats.

    ``feed`` and ``dwell`` are in what the program's words count, which depends on the spindle's speed.
    """

    length: float
    feed: float
    speed: float
    dwell: float
    angle: float
    units: Units
    dialect: Dialect

    @classmethod
    def of(cls, dialect: Dialect, units: Units) -> "Tolerance":
        """The tolerance of a dialect in a unit."""
        half = (1 + 1e-9) / 2
        return cls(
            length=half * dialect.length_step(units),
            feed=half * dialect.feed_word_step(units),
            speed=half * dialect.resolution.speed,
            dwell=half * dialect.dwell.step,
            angle=half * ANGLE_STEP_DEG,
            units=units,
            dialect=dialect,
        )

    def feed_mm_per_min(self, spin: Spin) -> float:
        """Half a step of the feed word, mm/min."""
        return self.feed * self.dialect.feed_scale(self.units, spin.rpm)

    def dwell_s(self, spin: Spin) -> float:
        """Half a step of the dwell word, seconds; none where it counts turns of a spindle that stands."""
        turns = self.dialect.dwell.unit == "turns"
        return 0.0 if turns and not spin.turning else self.dwell * self.dialect.dwell_scale_s(spin.rpm)


NOWHERE: Final[Point] = (math.nan, math.nan, math.nan)


def agree(plan: Plan, timeline: Timeline, dialect: Dialect, lines: Sequence[str]) -> list[Finding]:
    """Where a program does not do what was planned. The end of the program is replay's own to judge."""
    half = Tolerance.of(dialect, plan.units)
    end_line = timeline.events[-1].line if timeline.events else len(lines)
    compare = _Compare(list(planned_deeds(plan)), list(done_deeds(timeline)), half, plan, lines, end_line)
    return compare.run()


def planned_deeds(plan: Plan) -> Iterator[Deed]:
    """The deeds of a plan; steps that move nothing are left out."""
    at, spin = NOWHERE, STOPPED
    for step in plan.simple():
        match step:
            case Rapid(to, _):
                end = _go(at, to)
                if end != at:
                    yield Deed("rapid", 0, end, 0.0, 0.0, "", spin)
                at = end
            case Feed(to, mm_per_min, _):
                end = _go(at, to)
                if end != at:
                    yield Deed("feed", 0, end, mm_per_min, 0.0, "", spin)
                at = end
            case Spindle(rpm, sense, _):
                now = Spin(rpm, sense, None)
                if now != spin:
                    yield Deed("spindle start", 0, at, 0.0, 0.0, "", now)
                spin = now
            case SpindleStop(_, angle):
                spin = STOPPED if angle is None else Spin(0.0, None, angle)
                if angle is not None:
                    yield Deed("oriented stop", 0, at, 0.0, 0.0, "", spin)
            case Dwell(seconds, _):
                yield Deed("dwell", 0, at, 0.0, seconds, "", spin)
            case Pause(message, _):
                yield Deed("pause", 0, at, 0.0, 0.0, message, spin)


def _go(at: Point, to: Place) -> Point:
    x, y, z = to
    return at[0] if x is None else x, at[1] if y is None else y, at[2] if z is None else z


def done_deeds(timeline: Timeline) -> Iterator[Deed]:
    """The deeds of a timeline."""
    at, moved_line = NOWHERE, 0
    for event in timeline.events:
        match event:
            case Move(line, _, end, feed, spin):
                at, moved_line = end, line
                yield Deed("rapid" if feed is None else "feed", line, end, feed or 0.0, 0.0, "", spin)
            case Wait(line, seconds, spin):
                yield Deed("dwell", line, at, 0.0, seconds, "", spin)
            case Halt(line, message, optional, spin, shown):
                said = message if shown else f"{message} (a remark, which the control does not show)"
                said = f"{said} (only where optional stop is on)" if optional else said
                yield Deed("pause", line, at, 0.0, 0.0, said, spin)
            case SpinChange(line, spin) if spin.turning and line != moved_line:
                yield Deed("spindle start", line, at, 0.0, 0.0, "", spin)
            case SpinChange(line, spin) if spin.angle is not None:
                yield Deed("oriented stop", line, at, 0.0, 0.0, "", spin)


class _Compare:
    """Two rows of deeds held against each other."""

    def __init__(
        self, planned: list[Deed], done: list[Deed], half: Tolerance, plan: Plan, lines: Sequence[str], end_line: int
    ) -> None:
        self.planned = planned
        self.done = done
        self.half = half
        self.units = plan.units
        self.lines = lines
        self.end_line = end_line
        self.findings: list[Finding] = []

    def run(self) -> list[Finding]:
        i = j = 0
        while (i < len(self.planned) or j < len(self.done)) and len(self.findings) < MOST:
            ahead_planned, ahead_done = self._meet(i, j)
            self._between(self.planned[i : i + ahead_planned], self.done[j : j + ahead_done], j + ahead_done)
            i, j = i + ahead_planned, j + ahead_done
            if i < len(self.planned) and j < len(self.done):
                i, j = i + 1, j + 1
        return self.findings[:MOST]

    def _between(self, planned: list[Deed], done: list[Deed], next_done: int) -> None:
        """Tell what differs in a stretch in which no deed is as planned: like is held against like."""
        p = d = 0
        while p < len(planned) or d < len(done):
            left = len(planned) - p, len(done) - d
            if all(left) and (_alike(planned[p], done[d]) or left[0] == left[1]):
                self._differ(planned[p], done[d])
                p, d = p + 1, d + 1
            elif left[0] > left[1]:
                self._missing(planned[p], done[d].line if d < len(done) else self._line(next_done))
                p += 1
            else:
                self._extra(done[d])
                d += 1

    def _line(self, place: int) -> int:
        return self.done[place].line if place < len(self.done) else self.end_line

    def _meet(self, i: int, j: int) -> tuple[int, int]:
        """How many deeds of each row to pass so that the next two of both are the same, or at least the next one.

        All that are left, or as many as are looked at, where there is no such place.
        """
        left_planned, left_done = len(self.planned) - i, len(self.done) - j
        single = None
        for k, m in _AHEAD:
            if k < left_planned and m < left_done and self._same(self.planned[i + k], self.done[j + m]):
                if k == m == 0 or self._meet_again(i + k + 1, j + m + 1):
                    return k, m
                single = single or (k, m)
        both = min(left_planned, left_done, LOOK_AHEAD)
        return single or ((both, both) if both else (left_planned, left_done))

    def _meet_again(self, i: int, j: int) -> bool:
        """Whether the deeds behind two that are the same are so too; at an end nothing speaks against it."""
        return i >= len(self.planned) or j >= len(self.done) or self._same(self.planned[i], self.done[j])

    def _same(self, want: Deed, got: Deed) -> bool:
        if want.kind != got.kind:
            return False
        # Most deeds are alike to the last digit in all but their line.
        if want[2:] == got[2:]:
            return True
        return _near(want.end, got.end, self.half.length) and not any(True for _ in self._differences(want, got))

    def _differences(self, want: Deed, got: Deed) -> Iterator[tuple[str, str, str]]:
        """Rule, what was found and what was planned, for two deeds of one kind or two moves.

        Where a deed that is no move is done follows from the moves before it, so it is not compared again.
        """
        if want.kind in MOVES and not _near(want.end, got.end, self.half.length):
            yield "path-differs", f"goes to {self._place(got.end)}", self._place(want.end)
        if want.kind != got.kind or abs(want.feed - got.feed) > self.half.feed_mm_per_min(want.spin):
            yield "feed-differs", self._pace(got), self._pace(want)
        if got.seconds < want.seconds - self.half.dwell_s(want.spin):
            yield "dwell-short", f"stands {plain(got.seconds, 6)} s", f"{plain(want.seconds, 6)} s"
        if got.seconds > want.seconds + self.half.dwell_s(want.spin):
            yield "dwell-long", f"stands {plain(got.seconds, 6)} s", f"{plain(want.seconds, 6)} s"
        if want.message != got.message:
            yield "pause-missing", f'stops with "{got.message}"', f'"{want.message}"'
        yield from self._spin_differences(want.spin, got.spin)

    def _spin_differences(self, want: Spin, got: Spin) -> Iterator[tuple[str, str, str]]:
        if want.turning and got.turning and want.sense is not got.sense:
            yield "sense-differs", f"spindle turns {_sense(got)}", _sense(want)
        same_turning = want.turning is got.turning and abs(want.rpm - got.rpm) <= self.half.speed
        if not same_turning or not self._same_angle(want, got):
            yield "speed-differs", f"spindle {_state(got)}", _state(want)

    def _same_angle(self, want: Spin, got: Spin) -> bool:
        if want.angle is None or got.angle is None:
            return want.angle is got.angle
        return abs((want.angle - got.angle + 180) % 360 - 180) <= self.half.angle

    def _differ(self, want: Deed, got: Deed) -> None:
        if not _alike(want, got):
            rule = _MISSING.get(want.kind, "path-differs")
            self._tell(rule, got.line, self._deed(got), self._deed(want))
            return
        for rule, found, expected in self._differences(want, got):
            self._tell(rule, got.line, found, expected)

    def _missing(self, want: Deed, line: int) -> None:
        self._tell(
            _MISSING.get(want.kind, "path-differs"), line, "a step is missing before this line", self._deed(want)
        )

    def _extra(self, got: Deed) -> None:
        rule = "speed-differs" if got.kind in ("spindle start", "oriented stop") else "path-differs"
        self._tell(rule, got.line, self._deed(got), "no such step here")

    def _tell(self, rule: str, line: int, found: str, expected: str) -> None:
        text = self.lines[line - 1] if 0 < line <= len(self.lines) else ""
        self.findings.append(Finding(rule, line, text, found, expected))

    def _deed(self, deed: Deed) -> str:
        match deed.kind:
            case "rapid" | "feed":
                return f"{self._pace(deed)} to {self._place(deed.end)}"
            case "dwell":
                return f"a dwell of {plain(deed.seconds, 6)} s"
            case "pause":
                return f'a stop that says "{deed.message}"'
            case "spindle start":
                return f"a spindle start: {_state(deed.spin)}"
            case "oriented stop":
                return f"a spindle stop: {_state(deed.spin)}"

    def _pace(self, deed: Deed) -> str:
        if deed.kind == "rapid":
            return "rapid"
        return f"feed at {plain(deed.feed / MM_PER[self.units], 4)} {UNIT_WORD[self.units]}/min"

    def _place(self, point: Point) -> str:
        per, digits = MM_PER[self.units], 3 if self.units == "mm" else 4
        return " ".join(
            f"{axis}?" if math.isnan(value) else f"{axis}{plain(value / per, digits)}"
            for axis, value in zip("XYZ", point, strict=True)
        )


MOVES: Final = ("rapid", "feed")
_MISSING: Final = {
    "dwell": "dwell-short",
    "pause": "pause-missing",
    "spindle start": "speed-differs",
    "oriented stop": "speed-differs",
}


def _alike(want: Deed, got: Deed) -> bool:
    return want.kind == got.kind or (want.kind in MOVES and got.kind in MOVES)


def _near(one: Point, other: Point, within: float) -> bool:
    return all(abs(a - b) <= within or (math.isnan(a) and math.isnan(b)) for a, b in zip(one, other, strict=True))


def _sense(spin: Spin) -> str:
    return f"{spin.sense.name.lower()} ({spin.sense.value})" if spin.sense else "not at all"


def _state(spin: Spin) -> str:
    if spin.turning:
        return f"turning at {plain(spin.rpm, 3)} rpm {_sense(spin)}"
    return "stopped" if spin.angle is None else f"stopped at {plain(spin.angle, 3)} degrees"
