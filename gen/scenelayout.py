"""What the pictures of a job have in common: what is drawn, how far it reaches, and the size of letters.

What a job does not tell is made up here, to be drawn broken: a bulkhead about a bore, a head behind the bar.
"""

import math
from collections.abc import Iterable, Iterator
from typing import Final

from gen import room
from gen.job import Job
from gen.row import Housing, housings
from gen.sections import Disc, ObstacleSection, Part, PartSection, Rectangle, bounds

Extent = tuple[float, float]

WIDE: Final = 145.0
HIGH: Final = 64.0
"""Millimetres of paper that both pictures, side by side, are lettered for."""
FONT: Final = 3.1
"""Height of letters, in millimetres of that paper; so are all sizes below."""
MARGIN: Final = 3.0
SIGN: Final = 8.0
"""Length of the arrows that tell the directions."""
ARROW: Final = 1.4
LEAST_WIDTH: Final[dict[str, float]] = {"side": 74.0, "end": 30.0}
"""Width that what is written below a picture needs."""
SLAB: Final = 1.9
"""Outer size drawn of a bulkhead that the job does not tell, as a part of its bore."""
STUB: Final = 1.5
"""Size drawn of a head that the job does not tell, as a part of the bar."""
BEYOND: Final = 0.35
"""How far obstacles widen a picture at most, as a part of what else is in it."""


class Layout:
    """What both pictures have in common: the things, how far they reach, and the size of letters."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.row = housings(job)
        self.parts = room.tool(job)
        self.obstacles = room.obstacles(job)
        self.stub = self._stub()
        self.x, self.y, self.z = self._reach_x(), self._reach_y(), self._reach_z()
        wide = self.x[1] - self.x[0] + self.y[1] - self.y[0]
        self.unit = max(wide / (WIDE - 4 * MARGIN), (self.z[1] - self.z[0]) / (HIGH - self.foot_rows - SIGN))

    @property
    def foot_rows(self) -> float:
        """Height below the block for strokes, numbers and names of bores, in units."""
        return 3 * ARROW + FONT * (2.6 if self.named else 1.4)

    @property
    def named(self) -> bool:
        """Whether any bore has a name that is not its number."""
        return any(housing.bore.name != str(number) for number, housing in enumerate(self.row, 1))

    def outline(self, housing: Housing) -> Rectangle:
        """Section of a bulkhead, made up where the job does not tell it."""
        half = SLAB * housing.bore.diameter / 2
        return room.bulkhead_extent(self.job, housing) or Rectangle(-half, half, -half, half)

    def _stub(self) -> Part | None:
        """A head that is not told, behind a bar long enough for the widest bore."""
        head, bar = self.job.head, self.job.bar.diameter
        if head.body is not None or head.stem is not None:
            return None
        reach = head.reach or 1.15 * max(high - low for low, high in (housing.stroke for housing in self.row))
        low, high = reach, reach + 1.6 * bar
        half = STUB * bar / 2
        section = Rectangle(-half, half, -half, half)
        return Part(low, high, section) if self.job.direction < 0 else Part(-high, -low, section)

    def tool(self) -> Iterator[tuple[str, str, Part]]:
        """Class, name and prism of every part to draw but the cutter; the bar last, to be seen."""
        bar = [("bar", named.name, named.part) for named in self.parts if named.name == "bar"]
        for named in self.parts:
            if named.name != "bar":
                kind = {"head body": "body", "stem": "stem"}.get(named.name, "bump")
                yield kind, named.name, named.part
        if self.stub is not None:
            yield "stub", "head not told", self.stub
        if not bar:
            assert self.stub is not None, "a head whose reach is not told has no parts"
            low, high = (0.0, self.stub.low_x) if self.job.direction < 0 else (self.stub.high_x, 0.0)
            bar = [("bar", "bar", Part(low, high, Disc(self.job.bar.diameter / 2)))]
        yield from bar

    def _reach_x(self) -> Extent:
        behind = [0.0, *(x for _, _, part in self.tool() for x in (part.low_x, part.high_x))]
        low = min(housing.stroke[0] for housing in self.row) + min(behind)
        high = max(housing.stroke[1] for housing in self.row) + max(behind)
        return _widened((low, high), [(one.obstacle.low_x, one.obstacle.high_x) for one in self.obstacles])

    def _reach_y(self) -> Extent:
        way = self.job.path.clearance_height * math.tan(self.job.leave_angle_rad)
        outlines = [self.outline(housing) for housing in self.row]
        parts = [bounds(part.section) for _, _, part in self.tool()]
        low = min(*(one.low_y for one in outlines), *(float(low[0]) + min(0.0, way) for low, _ in parts))
        high = max(*(one.high_y for one in outlines), *(float(high[0]) + max(0.0, way) for _, high in parts))
        return _widened((low, high), [sides(one.obstacle.section, 0) for one in self.obstacles])

    def _reach_z(self) -> Extent:
        outlines = [self.outline(housing) for housing in self.row]
        heights = [sides(part.section, 1) for kind, _, part in self.tool() if kind != "stem"]
        low = min(*(one.low_z for one in outlines), *(low for low, _ in heights))
        above = max(high for _, high in heights)
        if self.job.head.stem is not None:
            above += (self.job.path.clearance_height + above - low) * 0.06
        reach = (low, max(self.job.path.clearance_height + above, *(one.high_z for one in outlines)))
        return _widened(reach, [sides(one.obstacle.section, 1) for one in self.obstacles])


def sides(section: PartSection | ObstacleSection, axis: int) -> Extent:
    """Lowest and highest Y (axis 0) or Z (axis 1) of a section."""
    low, high = bounds(section)
    return float(low[axis]), float(high[axis])


def _widened(reach: Extent, others: Iterable[Extent]) -> Extent:
    """An extent with others, as far as they do not dwarf it."""
    most = BEYOND * (reach[1] - reach[0])
    low, high = reach
    for one in others:
        low, high = min(low, one[0]), max(high, one[1])
    return max(low, reach[0] - most), min(high, reach[1] + most)
