"""The ways a head may take below the clearance height, and what every program is held to, bore or walk.

Judged from the timeline and the job alone. The block is known here only as the row: each bore is a slab of metal
between two values of X, solid at every Y and Z below the clearance height but for the hole on the bore line. The way
in and out is the slanted line over the start of a bore; what else may be done down there, the two kinds of program
say for themselves (``gen.physics``, ``gen.walk``).
"""

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence

from gen.job import Job
from gen.planner import way_top
from gen.row import Housing, housings
from post.dialect import Dialect
from post.finding import Finding
from post.timeline import End, Halt, Move, OffsetChange, Point, SpinChange, Timeline, Wait
from post.units import show_length


class Judge:
    """What boring and walking have in common: the ways, the heights, the end."""

    def __init__(self, job: Job, dialect: Dialect, lines: Sequence[str]) -> None:
        self.job = job
        self.units = job.units
        self.lines = lines
        self.row = housings(job)
        self.near = dialect.length_step(job.units) / 2 + 1e-9
        self.top_y, self.top_z = way_top(job, dialect)
        by_x = sorted(range(len(self.row)), key=lambda index: self.row[index].metal[0])
        self.by_x = by_x
        self.metal_ends = [self.row[index].metal[1] for index in by_x]
        self.stroke_ends = [self.row[index].stroke[1] for index in by_x]
        self.findings: list[Finding] = []
        self.working: int | None = None
        self.number = 0
        self.at: Point = (math.nan, math.nan, math.nan)

    def run(self, timeline: Timeline) -> list[Finding]:
        """Every finding of a timeline, in its order."""
        for self.number, event in enumerate(timeline.events):
            match event:
                case Move():
                    self.move(event)
                    self.at = event.end
                case SpinChange():
                    self.spin_change(event)
                case Wait():
                    self.wait(event)
                case Halt():
                    self.halt(event)
                case OffsetChange(line, code):
                    if code != self.job.machine.work_offset:
                        self.tell("offset-differs", line, f"{code} is selected", self.job.machine.work_offset)
                case End():
                    self.end(event)
        self.after()
        return self.findings

    def tell(self, rule: str, line: int, found: str, expected: str) -> None:
        """Note a finding."""
        text = self.lines[line - 1] if 0 < line <= len(self.lines) else ""
        self.findings.append(Finding(rule, line, text, found, expected))

    def show(self, length_mm: float) -> str:
        """A length in the job's unit."""
        return show_length(length_mm, self.units)

    def move(self, move: Move) -> None:
        """Judge a move; below the clearance height it must be a known way."""
        z_from, z_to = move.start[2], move.end[2]
        low = (z_to if math.isnan(z_from) else min(z_from, z_to)) < self.top_z - self.near
        if low and any(map(math.isnan, move.start + move.end)):
            self.low(move, "goes below the clearance height from a place not known")
        elif low:
            foot = self.start_at(move.end[0]) if self.on_way(move) else None
            if foot is None:
                self.low_move(move)
            else:
                self.working = foot
        elif math.isnan(z_from) and not (math.isnan(move.end[0]) and math.isnan(move.end[1])):
            self.low(move, "moves in X or Y from a height not known")

    def low(self, move: Move, found: str) -> None:
        """Note a move below the clearance height that is on no known way."""
        self.tell(
            "low-traverse",
            move.line,
            found,
            f"Z at {self.show(self.top_z)} or above, but on a way into a bore or through",
        )

    def on_way(self, move: Move) -> bool:
        """Whether a move runs along the slant, at whatever X."""
        slope = self.top_y / self.top_z
        return abs(move.end[0] - move.start[0]) <= self.near and all(
            abs(y - z * slope) <= self.near and z >= -self.near for _, y, z in (move.start, move.end)
        )

    def into_metal(self, move: Move, housing: Housing) -> None:
        """Note a move through a bulkhead anywhere but along the bore line."""
        low, high = (self.show(x) for x in housing.metal)
        pace = "rapid" if move.feed is None else "feed"
        on_line = all(abs(value) <= self.near for point in (move.start, move.end) for value in point[1:])
        rule = "rapid-into-stock" if move.feed is None else "bore-missed"
        self.tell(
            rule,
            move.line,
            f"{pace} through the metal of bore {housing.bore.name}, X {low} to {high},"
            f" {'past the end of its stroke' if on_line else 'off the bore line'}",
            "only the cutter in this metal, on the bore line, feeding and turning",
        )

    def start_at(self, x: float) -> int | None:
        """Index of the bore whose stroke starts at X."""
        return next((index for index in self.strokes_around(x, x) if self.near_to(self.row[index].start_x, x)), None)

    def near_to(self, one_x: float, other_x: float) -> bool:
        """Whether two values of X are the same to the control."""
        return abs(one_x - other_x) <= self.near

    def strokes_around(self, low: float, high: float) -> Iterator[int]:
        """Indices of the bores within whose strokes an interval of X lies: two where strokes overlap in a gap."""
        for place in self._candidates(self.stroke_ends, low):
            index = self.by_x[place]
            stroke = self.row[index].stroke
            if stroke[0] - self.near <= low and high <= stroke[1] + self.near:
                yield index

    def metal_over(self, low: float, high: float) -> Housing | None:
        """A housing whose metal an interval of X enters."""
        for place in self._candidates(self.metal_ends, low):
            housing = self.row[self.by_x[place]]
            if housing.metal[0] + self.near < high and low < housing.metal[1] - self.near:
                return housing
        return None

    def _candidates(self, ends: list[float], low: float) -> range:
        """Places along the row that an interval starting at ``low`` may reach first: strokes may overlap by a gap."""
        first = bisect_left(ends, low - self.near)
        return range(first, min(first + 2, len(ends)))

    def end(self, event: End) -> None:
        """The program must end at the clearance height with the spindle stopped before the end itself stops it."""
        height = self.at[2]
        if event.spin.turning:
            self.tell(
                "unsafe-end", event.line, "the program ends with the spindle turning", "spindle stopped before the end"
            )
        if not height >= self.top_z - self.near:
            place = "at a height not known" if math.isnan(height) else f"at Z {self.show(height)}"
            self.tell("unsafe-end", event.line, f"the program ends {place}", f"Z {self.show(self.top_z)} or above")

    def low_move(self, move: Move) -> None:
        """Judge a move below the clearance height that is on no slant over the start of a bore."""
        raise NotImplementedError

    def spin_change(self, event: SpinChange) -> None:
        """Judge a change of the spindle's state."""
        raise NotImplementedError

    def wait(self, event: Wait) -> None:
        """Nothing stands in the way of waiting."""

    def halt(self, event: Halt) -> None:
        """The operator may put his hands in when the program stops for him."""
        if event.spin.turning:
            self.tell(
                "halt-turning", event.line, "stops for the operator with the spindle turning", "spindle stopped first"
            )

    def after(self) -> None:
        """Judge what was left undone."""
        raise NotImplementedError
