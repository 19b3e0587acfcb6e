"""Least distance of a program by brute force: own geometry, one position after the other, 0.01 mm apart.

Nothing of the clearance, the rooms or the physics of ``gen`` is used: the tool and what stands around it are built
here from the job's own numbers, sections are drawn with shapely (BSD-3, on GEOS), gaps along X are worked out by hand,
and the metal a bore has lost is followed along the feed. At one moment the distance of two prisms is the root of gap
squared and section distance squared.

Positions that cannot be nearest are left out: while the tool goes through a piece of a move that changes X by L and the
rest by M, its gap is nowhere below that in the middle less L / 2, and its section distance nowhere below the middle's
less M / 2. Pieces that may hold something nearer than was found are halved until they are no longer than ``STEP_MM``.
While a bore is cut the metal can only grow less, so a piece is held to what was there when it began.
"""

import math
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

import numpy as np
import shapely  # type: ignore[import-untyped]
from numpy.typing import NDArray
from shapely import affinity

from gen.job import Bore, Job
from post.timeline import Event, Halt, Move

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Rows = NDArray[np.int64]

STEP_MM: Final = 0.01
HOLE_SEGMENTS: Final = 64
"""Sides of a quarter of a hole; a hole of 80 mm drawn so is nowhere more than 0.003 mm too small."""
ENDLESS_MM: Final = 9000.0


class Tool(NamedTuple):
    """A part of the tool: how far behind the cutting edge it begins and ends, a rectangle, grown by a radius."""

    name: str
    behind: tuple[float, float]
    low: tuple[float, float]
    high: tuple[float, float]
    radius: float = 0.0


class Metal(NamedTuple):
    """A prism that stands still: X from and to, and its section."""

    name: str
    x: tuple[float, float]
    section: object


class Bulkhead(NamedTuple):
    """Metal about a bore, which it counts: faces met first and last, sections before and after the cut."""

    bore: int
    near: float
    far: float
    before: object
    after: object


class Path(NamedTuple):
    """The moves of a program, (N, 3) each, and what is known on each of them.

    ``cuts`` is the bore whose stroke a move is part of, or -1. ``begun`` (N, bores) is how far each bore is cut before
    the move, as X times the way the bar points; ``feeds`` tells whether the move takes more. ``set_for`` is the
    diameter of the cutter, ``lifted`` whether it stands at its known angle.
    """

    start: Floats
    move: Floats
    cuts: Rows
    begun: Floats
    feeds: Bools
    set_for: Floats
    lifted: Bools


def least_distance(job: Job, events: Sequence[Event]) -> tuple[float, str]:
    """The least distance over a program that bores the row in order, and between what; mm."""
    path = follow(job, events)
    search = _Search(job, path)
    pairs = list(_pairs(job, path))
    pieces = [(pair, rows, np.zeros(rows.size), np.ones(rows.size)) for pair, rows in pairs if rows.size]
    while pieces:
        looked = [search.look(*piece) for piece in pieces]
        pieces = [piece for told in looked if (piece := search.halve(told))]
    return search.best, search.between


def stroke_of(job: Job, bore: Bore) -> tuple[float, float, float, float]:
    """X of the start, the near face, the far face and the end of a bore's stroke."""
    way = 1 if job.head.points == "+X" else -1
    approach = bore.approach if bore.approach is not None else job.path.approach
    overrun = bore.overrun if bore.overrun is not None else job.path.overrun
    if bore.face is not None and bore.width is not None:
        near, far = bore.face, bore.face + way * bore.width
        return near - way * approach, near, far, far + way * overrun
    assert bore.x is not None
    assert bore.length is not None
    return bore.x, bore.x + way * approach, bore.x + bore.length - way * overrun, bore.x + bore.length


def follow(job: Job, events: Sequence[Event]) -> Path:
    """The path of a program that goes down to one bore after the other, in the job's order."""
    way = 1 if job.head.points == "+X" else -1
    strokes = [stroke_of(job, bore) for bore in job.bore]
    done = [near * way for _, near, _, _ in strokes]
    sideways = (job.path.lift.amount if job.path.lift else 0) + 0.01
    working, diameter = -1, job.bore[0].diameter
    rows: list[tuple[object, ...]] = []
    for event in events:
        if isinstance(event, Halt):
            diameter = job.bore[working + 1].diameter
        if not isinstance(event, Move) or any(map(math.isnan, event.start + event.end)):
            continue
        low_start, low_end = (math.hypot(*place[1:]) <= sideways for place in (event.start, event.end))
        working += low_end and not low_start
        in_stroke = low_start and low_end
        feeds = in_stroke and event.feed is not None and (event.end[0] - event.start[0]) * way > 0
        cuts, angle = working if in_stroke else -1, event.spin.angle
        rows.append((event.start, event.end, cuts, list(done), feeds, diameter, angle))
        if feeds:
            done[working] = max(done[working], event.end[0] * way)
    start, end, in_bore, begun, taking, set_for, angles = zip(*rows, strict=True)
    return Path(
        np.array(start, dtype=float),
        np.array(end, dtype=float) - np.array(start, dtype=float),
        np.array(in_bore),
        np.array(begun, dtype=float),
        np.array(taking, dtype=bool),
        np.array(set_for, dtype=float),
        np.array([angle is not None for angle in angles], dtype=bool),
    )


def _pairs(job: Job, path: Path) -> Iterator[tuple[tuple[Tool, Metal | Bulkhead], Rows]]:
    """Every part with every thing that stands, and the moves on which the two keep apart."""
    standing: list[Metal | Bulkhead] = [*_obstacles(job), *_bulkheads(job)]
    for tool, rows in _tools(job, path):
        for thing in standing:
            own = isinstance(thing, Bulkhead) and tool.name == "cutter"
            keeps = rows[path.cuts[rows] != thing.bore] if own and isinstance(thing, Bulkhead) else rows
            yield (tool, thing), keeps


def _tools(job: Job, path: Path) -> Iterator[tuple[Tool, Rows]]:
    every, head, origin = np.arange(len(path.start)), job.head, (0.0, 0.0)
    if head.reach is not None:
        yield Tool("bar", (0, head.reach), origin, origin, job.bar.diameter / 2), every
        if head.body:
            half = head.body.width / 2
            behind = (head.reach, head.reach + head.body.length)
            yield Tool("head body", behind, (-half, -head.body.below), (half, head.body.above)), every
        if head.stem:
            half, base = head.stem.width / 2, head.body.above if head.body else 0.0
            first = head.reach + head.stem.back
            yield Tool("stem", (first, first + head.stem.length), (-half, base), (half, ENDLESS_MM)), every
        for bump in head.bump:
            yield Tool(bump.name, bump.behind, (bump.y[0], bump.z[0]), (bump.y[1], bump.z[1])), every
    for diameter in np.unique(path.set_for):
        so = path.set_for == diameter
        yield Tool("cutter", (0, 0), origin, origin, float(diameter) / 2), np.flatnonzero(so & ~path.lifted)
        if job.path.lift:
            angle = math.radians(job.path.lift.toward + 180)
            tip = (float(diameter) / 2 * math.sin(angle), float(diameter) / 2 * math.cos(angle))
            yield Tool("cutter", (0, 0), tip, tip), np.flatnonzero(so & path.lifted)


def _obstacles(job: Job) -> Iterator[Metal]:
    for obstacle in job.obstacle:
        section = shapely.box(obstacle.y[0], obstacle.z[0], obstacle.y[1], obstacle.z[1])
        yield Metal(obstacle.name, obstacle.x, affinity.rotate(section, obstacle.turned, origin="center"))


def _bulkheads(job: Job) -> Iterator[Bulkhead]:
    for index, bore in enumerate(job.bore):
        y, z = bore.bulkhead_y or (job.block and job.block.y), bore.bulkhead_z or (job.block and job.block.z)
        hole = bore.hole or (job.block and job.block.hole)
        if y and z and hole:
            whole = shapely.box(y[0], z[0], y[1], z[1])
            before, after = (
                whole.difference(shapely.Point(0, 0).buffer(width / 2, quad_segs=HOLE_SEGMENTS))
                for width in (hole, bore.diameter)
            )
            _, near, far, _ = stroke_of(job, bore)
            yield Bulkhead(index, near, far, before, after)


Pair = tuple[Tool, Metal | Bulkhead]
Piece = tuple[Pair, Rows, Floats, Floats]
Looked = tuple[Pair, Rows, Floats, Floats, Floats]


class _Search:
    """The least distance found so far, and how to look at pieces of moves."""

    def __init__(self, job: Job, path: Path) -> None:
        self.way = 1 if job.head.points == "+X" else -1
        self.path = path
        self.length = np.sqrt((path.move**2).sum(axis=1))
        self.best, self.between = math.inf, ""

    def look(self, pair: Pair, rows: Rows, first: Floats, last: Floats) -> Looked:
        """See the middle of each piece, and tell what no distance in the piece is below."""
        tool, thing = pair
        middle, half = (first + last) / 2, (last - first) / 2
        place = self.path.start[rows] + middle[:, None] * self.path.move[rows]
        if isinstance(thing, Bulkhead):
            apart = [self.apart(tool, section, place) for section in (thing.after, thing.before)]
            now, then = (self.edge(thing, rows, t) for t in (middle, first))
            near = np.minimum(*map(np.hypot, self.gaps(tool, place, thing, now), apart))
            gaps = self.gaps(tool, place, thing, then)
        else:
            apart, gaps = [self.apart(tool, thing.section, place)], [self.gap(tool, place, *thing.x)]
            near = np.hypot(gaps[0], apart[0])
        if near.min() < self.best:
            name = f"bulkhead {thing.bore + 1}" if isinstance(thing, Bulkhead) else thing.name
            self.best, self.between = float(near.min()), f"{tool.name} and {name}"
        along, across = half * np.abs(self.path.move[rows, 0]), half * np.hypot(*self.path.move[rows, 1:].T)
        bounds = [
            np.hypot(np.maximum(gap - along, 0), np.maximum(off - across, 0))
            for gap, off in zip(gaps, apart, strict=True)
        ]
        return pair, rows, first, last, np.min(bounds, axis=0)

    def halve(self, looked: Looked) -> Piece | None:
        """The halves of the pieces that may still hold something nearer."""
        pair, rows, first, last, bound = looked
        on = (bound < self.best) & (self.length[rows] * (last - first) > STEP_MM)
        if not on.any():
            return None
        rows, first, last = rows[on], first[on], last[on]
        middle = (first + last) / 2
        return pair, np.tile(rows, 2), np.concatenate([first, middle]), np.concatenate([middle, last])

    def edge(self, bulkhead: Bulkhead, rows: Rows, t: Floats) -> Floats:
        """X up to which a bulkhead is cut at a moment of each move."""
        x = self.path.start[rows, 0] + t * self.path.move[rows, 0]
        cutting = self.path.feeds[rows] & (self.path.cuts[rows] == bulkhead.bore)
        done = self.path.begun[rows, bulkhead.bore]
        reached = np.where(cutting, np.maximum(done, x * self.way), done)
        edge: Floats = self.way * np.clip(reached, bulkhead.near * self.way, bulkhead.far * self.way)
        return edge

    def gaps(self, tool: Tool, place: Floats, bulkhead: Bulkhead, edge: Floats) -> list[Floats]:
        """Gaps to what is cut, and to what is not cut yet: endless where all is cut."""
        old = np.where(edge == bulkhead.far, np.inf, self.gap(tool, place, bulkhead.far, edge))
        return [self.gap(tool, place, bulkhead.near, edge), old]

    def gap(self, tool: Tool, place: Floats, one: float, other: float | Floats) -> Floats:
        """How far apart tool and metal are along X."""
        ends = np.stack([place[:, 0] - self.way * behind for behind in tool.behind])
        low, high = np.minimum(one, other), np.maximum(one, other)
        gap: Floats = np.maximum(np.maximum(low - ends.max(axis=0), ends.min(axis=0) - high), 0)
        return gap

    def apart(self, tool: Tool, section: object, place: Floats) -> Floats:
        """Distance of the sections at each place; the same place in Y and Z is drawn once."""
        places, which = np.unique(np.round(place[:, 1:], 9) @ np.array([1, 1j]), return_inverse=True)
        y, z = places.real, places.imag
        if tool.low == tool.high:
            drawn = shapely.points(y + tool.low[0], z + tool.low[1])
        else:
            drawn = shapely.box(y + tool.low[0], z + tool.low[1], y + tool.high[0], z + tool.high[1])
        apart: Floats = np.maximum(shapely.distance(drawn, section) - tool.radius, 0)
        return apart[which]
