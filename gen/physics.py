"""Physics of boring: metal goes only where, when and how it may, and all of it goes.

No plan is needed, so this also serves a program edited by hand. Besides the way in and out (``gen.ways``) two ways are
known: the stroke, along X on the bore line between a bore's start and its end; and the lifted stroke, the same shifted
by the job's ``lift``, with the spindle stopped at an angle, inside metal that is already cut.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from gen.job import Job
from gen.passes import SAME_MM, pass_plan
from gen.row import Housing
from gen.speeds import MOST_MM_PER_TURN, show_feed, spindle_range, spindle_sense
from gen.ways import Judge
from post.dialect import Dialect
from post.finding import Finding
from post.timeline import Halt, Move, Point, SpinChange, Timeline, Wait
from post.units import plain

TURNS_SLACK: Final = 1e-6
"""How far a dwell may be short of its turns and still count: rounding of a float, nothing a cutter could show."""


class Stroke(NamedTuple):
    """A move along a bore's stroke: the bore's index in the row, how far it is finished, and the cutter's setting.

    ``reached`` is X times the way the bar points (1 or -1), mm; what earlier passes have taken does not count.
    """

    bore: int
    reached: float
    diameter_mm: float


Strokes = Mapping[int, Stroke]
"""The strokes of a timeline, by the number of their event."""


def follow(job: Job, timeline: Timeline, dialect: Dialect, lines: Sequence[str]) -> tuple[list[Finding], Strokes]:
    """What is wrong with a program that bores the row, and which of its moves work in which bore."""
    boring = _Boring(job, dialect, lines)
    return boring.run(timeline), boring.strokes


class _Boring(Judge):
    """A program that bores: metal goes only where, when and how it may, and all of it goes."""

    def __init__(self, job: Job, dialect: Dialect, lines: Sequence[str]) -> None:
        super().__init__(job, dialect, lines)
        self.dialect = dialect
        self.way = job.direction
        self.settings = pass_plan(job)
        self.passes_of: list[list[int]] = [[] for _ in self.row]
        for number, group in enumerate(self.settings):
            for index in group.bores:
                self.passes_of[index].append(number)
        self.cut_to: dict[tuple[int, int], float] = {}
        self.turns_stood: dict[tuple[int, int], float] = {}
        self.set_for: float | None = None
        self.strokes: dict[int, Stroke] = {}

    def pass_at(self, index: int) -> int | None:
        """The pass, by its setting's number, that a cut in a bore can be now; None where the cutter is set otherwise.

        The first that is still to be done with the cutter as it is set, else one done already.
        """
        fits = [number for number in self.passes_of[index] if self.is_set(self.settings[number].diameter_mm)]
        far = self.row[index].far_x * self.way - self.near
        undone = (number for number in fits if self.cut_to.get((number, index), -math.inf) < far)
        return next(undone, fits[-1] if fits else None)

    def is_set(self, diameter_mm: float) -> bool:
        """Whether the cutter may be set for a diameter, as the last bore cut since a stop tells."""
        return self.set_for is None or abs(self.set_for - diameter_mm) < SAME_MM

    def next_pass(self, index: int) -> int:
        """The pass that is done in a bore now, or should be."""
        number = self.pass_at(index)
        if number is not None:
            return number
        far = self.row[index].far_x * self.way - self.near
        own = self.passes_of[index]
        return next((number for number in own if self.cut_to.get((number, index), -math.inf) < far), own[-1])

    def spin_change(self, event: SpinChange) -> None:
        spin = event.spin
        if not spin.turning:
            return
        low, high = spindle_range(self.job)
        if not low - 1e-9 <= spin.rpm <= high + 1e-9:
            ratio = self.job.head.ratio
            self.tell(
                "speed-out-of-range",
                event.line,
                f"spindle {plain(spin.rpm, 1)} rpm, {plain(spin.rpm / ratio, 1)} at the cutter",
                f"spindle between {plain(low, 1)} and {plain(high, 1)} rpm",
            )

    def wait(self, event: Wait) -> None:
        if not event.spin.turning or math.isnan(self.at[0]):
            return
        x, turns = self.at[0], event.seconds * event.spin.rpm / self.job.head.ratio / 60
        for index in self.strokes_around(x, x):
            if self.near_to(x, self.row[index].end_x) and self.on_line(self.at):
                now = (self.next_pass(index), index)
                self.turns_stood[now] = max(turns, self.turns_stood.get(now, 0.0))

    def halt(self, event: Halt) -> None:
        super().halt(event)
        if not event.optional and not event.spin.turning:
            self.set_for = None

    def on_line(self, point: Point) -> bool:
        return abs(point[1]) <= self.near and abs(point[2]) <= self.near

    def low_move(self, move: Move) -> None:
        low, high = sorted((move.start[0], move.end[0]))
        around = list(self.strokes_around(low, high))
        index = self.working if self.working in around else next(iter(around), None)
        if index is not None and self.on_line(move.start) and self.on_line(move.end):
            self.stroke(move, index)
            self.note(index)
        elif index is not None and self.lifted(move):
            self.lifted_stroke(move, index)
            self.note(index)
        else:
            self.astray(move, low, high)

    def in_stroke(self, move: Move) -> bool:
        """Whether a move was told to be along a bore's stroke, or is along the bore line at all."""
        return self.number in self.strokes or (self.on_line(move.start) and self.on_line(move.end))

    def note(self, index: int) -> None:
        """Keep which bore the event at hand works in, and how far it is cut."""
        near = self.row[index].near_x * self.way
        reached = self.cut_to.get((self.passes_of[index][-1], index), near)
        self.strokes[self.number] = Stroke(index, max(reached, near), self.settings[self.next_pass(index)].diameter_mm)

    def astray(self, move: Move, low: float, high: float) -> None:
        metal = self.metal_over(low, high)
        if metal is not None:
            self.into_metal(move, metal)
        elif self.on_way(move):
            self.low(move, f"goes down at X {self.show(low)}, which is the start of no bore")
        elif abs(move.end[0] - move.start[0]) > self.near or abs(move.end[1] - move.start[1]) > self.near:
            self.low(move, f"moves in X or Y at Z {self.show(min(move.start[2], move.end[2]))}")
        else:
            self.low(move, f"goes to Z {self.show(min(move.start[2], move.end[2]))} beside the way into a bore")

    def move(self, move: Move) -> None:
        super().move(move)
        if move.spin.turning and not self.in_stroke(move):
            self.tell(
                "turning-outside",
                move.line,
                "moves outside a bore with the cutter turning",
                "spindle stopped on the ways in and out and along the row",
            )
        if move.feed is not None and self.above_most(move.feed):
            self.tell(
                "speed-out-of-range",
                move.line,
                f"feed {show_feed(move.feed, self.units)}/min",
                f"at most {show_feed(self.job.machine.max_feed, self.units)}/min",
            )

    def above_most(self, mm_per_min: float) -> bool:
        """Whether a feed is more than the machine has."""
        return mm_per_min > self.job.machine.max_feed * (1 + 1e-9)

    def stroke(self, move: Move, index: int) -> None:
        """Along the bore line inside one stroke: cutting what is not cut yet, or moving where it is."""
        housing = self.row[index]
        near, far = housing.near_x * self.way, housing.far_x * self.way
        now = (self.next_pass(index), index)
        reached = max(self.cut_to.get(now, near), near)
        behind, ahead = sorted((move.start[0] * self.way, move.end[0] * self.way))
        in_metal = self.metal_over(*sorted((move.start[0], move.end[0]))) is not None
        if behind < far - self.near and reached + self.near < ahead and reached < far:
            self.cutting(move, housing)
            self.in_metal(move, index, "cuts")
            if move.start[0] * self.way <= reached + self.near:
                self.cut_to[now] = ahead
            self.set_for = self.settings[now[0]].diameter_mm
        elif in_metal:
            self.passing(move, housing)
            self.in_metal(move, index, "goes through")

    def cutting(self, move: Move, housing: Housing) -> None:
        """Judge a move that takes metal away."""
        name = housing.bore.name
        if (move.end[0] - move.start[0]) * self.way < 0:
            self.tell("bore-missed", move.line, f"enters bore {name} from its far side", "the way the bar points")
        elif move.feed is None:
            self.tell("rapid-into-stock", move.line, f"rapid into the uncut metal of bore {name}", "feed, turning")
        elif not move.spin.turning:
            self.tell(
                "cut-not-turning", move.line, f"feeds into bore {name} with the spindle stopped", "spindle turning"
            )

    def passing(self, move: Move, housing: Housing) -> None:
        """Judge a move through metal that is cut already: what may be done there depends on the cutter."""
        name = housing.bore.name
        if move.feed is None and move.spin.turning:
            found = f"rapid through bore {name} with the cutter turning"
            self.tell("rapid-into-stock", move.line, found, "feed, or the spindle stopped")

    def in_metal(self, move: Move, index: int, does: str) -> None:
        """In a bore the cutter turns the way it cuts, if it turns, and is set for it, as the last bore cut tells."""
        bore = self.row[index].bore
        if move.spin.sense not in (None, spindle_sense(self.job)):
            self.tell(
                "sense-differs",
                move.line,
                f"{does} bore {bore.name} with the spindle turning {move.spin.sense.value if move.spin.sense else ''}",
                f"{spindle_sense(self.job).value} for a {self.job.bar.hand}-hand cutter in this head",
            )
        if self.set_for is not None and self.pass_at(index) is None:
            wanted = self.settings[self.next_pass(index)].diameter_mm
            self.tell(
                "pause-missing",
                move.line,
                f"{does} bore {bore.name} with the cutter still set for {self.show(self.set_for)}",
                f"a stop before it to set the cutter for {self.show(wanted)}",
            )
        self.feed_in_metal(move, bore.name, does)

    def feed_in_metal(self, move: Move, name: str, does: str) -> None:
        """In a bore the cutter feeds no more a turn than a job may ask, as far as the control's words can tell.

        A planned feed is rounded to a step of its word and compared to half a step. A feed above the machine's is told
        as that.
        """
        if move.feed is None or not move.spin.turning or self.above_most(move.feed):
            return
        rpm = move.spin.rpm / self.job.head.ratio
        step = self.dialect.feed_word_step(self.units) * self.dialect.feed_scale(self.units, move.spin.rpm)
        if move.feed > (MOST_MM_PER_TURN * rpm + step) * (1 + 1e-9):
            self.tell(
                "speed-out-of-range",
                move.line,
                f"{does} bore {name} at {show_feed(move.feed / rpm, self.units)} a cutter turn",
                f"at most {show_feed(MOST_MM_PER_TURN, self.units)} a cutter turn",
            )

    def lifted(self, move: Move) -> bool:
        """Whether a move is the lift, the lifted stroke or the way back onto the line."""
        lift = self.job.path.lift
        if lift is None or move.feed is not None or not lift.is_at(move.spin.angle):
            return False
        dy, dz = lift.shift_mm
        square = dy * dy + dz * dz
        for _, y, z in (move.start, move.end):
            along = (y * dy + z * dz) / square
            off = math.hypot(y - along * dy, z - along * dz)
            if off > 2 * self.near or not -self.near <= along * math.sqrt(square) <= math.sqrt(square) + 2 * self.near:
                return False
        return True

    def lifted_stroke(self, move: Move, index: int) -> None:
        housing = self.row[index]
        reached = self.cut_to.get((self.next_pass(index), index), -math.inf)
        ahead = max(move.start[0] * self.way, move.end[0] * self.way)
        if ahead > max(reached, housing.near_x * self.way) + self.near:
            self.tell(
                "rapid-into-stock",
                move.line,
                f"rapid into the uncut metal of bore {housing.bore.name}",
                "feed, turning",
            )

    def after(self) -> None:
        for index, housing in enumerate(self.row):
            passes = self.passes_of[index]
            for number in passes:
                self.after_pass(index, number, "" if len(passes) == 1 else self.said(number))
            self.after_dwell(index, housing, passes[-1])

    def said(self, number: int) -> str:
        """One of several passes, in words."""
        return f" in the pass for {self.show(self.settings[number].diameter_mm)}"

    def after_pass(self, index: int, number: int, said: str) -> None:
        """Judge what was left of a bore in one pass."""
        housing, last = self.row[index], len(self.lines)
        reached = self.cut_to.get((number, index))
        if reached is None:
            found = f"bore {housing.bore.name} is never cut{said}"
            self.tell("bore-missed", last, found, "every bore of the job cut" + (" in every pass" if said else ""))
        elif reached < housing.far_x * self.way - self.near:
            self.tell(
                "bore-short",
                last,
                f"bore {housing.bore.name} is cut to X {self.show(reached * self.way)}{said}",
                f"through to its far face at X {self.show(housing.far_x)}",
            )

    def after_dwell(self, index: int, housing: Housing, number: int) -> None:
        """Judge how long the cutter stood in a bore's last pass, where it was cut through."""
        stood = self.turns_stood.get((number, index), 0.0)
        reached = self.cut_to.get((number, index), -math.inf)
        cut = reached >= housing.far_x * self.way - self.near
        if cut and stood < housing.bore.face_turns - TURNS_SLACK:
            self.tell(
                "dwell-short",
                len(self.lines),
                f"the cutter stands for {plain(stood, 2)} turns at the end of bore {housing.bore.name}",
                f"{plain(housing.bore.face_turns, 2)} turns",
            )
