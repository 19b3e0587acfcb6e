"""Clearance: how near bar, head and cutter come to block and fixtures over every move of a timeline.

Distances are exact over whole moves (``gen.distance``). A bulkhead has the hole that is there at that moment: what
earlier moves cut is gone. While a bore is cut, the metal between its near face and the cutting edge has the new
diameter, the rest still the old.

The cutter is a disc, for it may stand at any angle; stopped at a known angle and lifted it is a point. Along its own
stroke it may touch the wall of its own bore: whether it may there is for ``gen.physics`` to say. Everything else keeps
the job's ``path.clearance``. A move from a place not known is not judged: it can only be the first.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from gen.distance import beyond, least
from gen.job import Job
from gen.passes import pass_plan
from gen.physics import Strokes
from gen.room import NamedObstacle, NamedPart, bulkhead_name, bulkhead_section, cutter, cutter_tip, obstacles, tool
from gen.row import housings
from gen.sections import Floats, Obstacle, Part, Plate
from post.finding import Finding
from post.timeline import Halt, Move, Timeline
from post.units import show_length

Ints = NDArray[np.int64]

FIRST_LOOK_MM: Final = 50.0
"""How far around a part is looked at first; where nothing is nearer, twice as far, and so on."""
FARTHEST_LOOK_MM: Final = 100_000.0
SLACK_MM: Final = 1e-6
"""How far below the limit still counts as at it: below any control's step."""


class Near(NamedTuple):
    """How near a part comes to an obstacle over one move; ``move`` counts the judged moves of the timeline."""

    distance: float
    part: str
    obstacle: str
    move: int


class Clearance(NamedTuple):
    """The judged moves, for each that comes near anything its nearest approach, and in which bore which works."""

    moves: Sequence[Move]
    nearest: Mapping[int, Near]
    works_in: Mapping[int, int]

    @property
    def closest(self) -> Near | None:
        """The nearest approach of all."""
        return min(self.nearest.values(), default=None)

    def why(self, job: Job, near: Near) -> str:
        """What the machine does on the move of an approach, in a few words."""
        move, owner = self.moves[near.move], self.works_in.get(near.move)
        if owner is not None:
            return f"{'feeds' if move.feed is not None else 'goes'} through bore {job.bore[owner].name}"
        if move.start[0] != move.end[0]:
            return "goes along the row"
        nearest = min(housings(job), key=lambda housing: abs(housing.start_x - move.end[0]))
        return f"goes {'down to' if move.end[2] < move.start[2] else 'up from'} bore {nearest.bore.name}"


def clearance(job: Job, timeline: Timeline, strokes: Strokes) -> Clearance:
    """Nearest approaches over a timeline, exact at least as far out as the nearest of them all and the limit.

    ``strokes`` tells which events cut or pass through which bore, as ``gen.physics`` saw it.
    """
    scene = _Scene(job, timeline, strokes)
    look = max(FIRST_LOOK_MM, job.path.clearance)
    while True:
        found = scene.look(look)
        closest = found.closest
        if look >= FARTHEST_LOOK_MM or (closest is not None and closest.distance <= look):
            return found
        look *= 2


def too_near(near: Near, limit_mm: float) -> bool:
    """Whether an approach is nearer than a limit; what meets is, whatever the limit."""
    return near.distance <= 0 or near.distance < limit_mm - SLACK_MM


def too_close(job: Job, found: Clearance, lines: Sequence[str]) -> list[Finding]:
    """A finding for each line on which something comes nearer than the limit, telling its tightest pair."""
    limit = job.path.clearance
    tight = sorted(
        (near for near in found.nearest.values() if too_near(near, limit)),
        key=lambda near: (found.moves[near.move].line, near.distance),
    )
    findings = []
    for line, nears in groupby(tight, key=lambda near: found.moves[near.move].line):
        near = next(nears)
        apart = "meets" if near.distance <= 0 else f"comes within {show_length(near.distance, job.units)} of"
        told = f"{near.part} {apart} {near.obstacle}"
        findings.append(
            Finding("too-close", line, lines[line - 1], told, f"at least {show_length(limit, job.units)} between them")
        )
    return findings


class _Scene:
    """Moves as arrays, and the state of every bulkhead at every move."""

    def __init__(self, job: Job, timeline: Timeline, strokes: Strokes) -> None:
        self.job = job
        self.row = housings(job)
        judged = [
            (number, event)
            for number, event in enumerate(timeline.events)
            if isinstance(event, Move) and not any(map(math.isnan, event.start + event.end))
        ]
        self.moves = [move for _, move in judged]
        self.a = np.array([move.start for move in self.moves], dtype=float).reshape(-1, 3)
        self.b = np.array([move.end for move in self.moves], dtype=float).reshape(-1, 3)
        place = {number: index for index, (number, _) in enumerate(judged)}
        self.own = np.full(len(self.moves), -1)
        self.works_in: dict[int, int] = {}
        self.reached: dict[int, list[tuple[int, float]]] = {}
        for number, stroke in strokes.items():
            index = place[number]
            self.own[index] = stroke.bore
            self.works_in[index] = stroke.bore
            self.reached.setdefault(stroke.bore, []).append((index, stroke.reached))
        self.settings = _settings(job, timeline, strokes, [number for number, _ in judged])
        lift = job.path.lift
        at_lift = [lift is not None and lift.is_at(move.spin.angle) for move in self.moves]
        self.lifted = np.array(at_lift, dtype=bool)

    def look(self, look_mm: float) -> Clearance:
        """The nearest approach of each move, as far as anything comes nearer than ``look_mm``."""
        tally = _Tally(len(self.moves))
        for named, rows in self._parts():
            for obstacle in obstacles(self.job):
                self._at_obstacle(tally, named, rows, obstacle, look_mm)
            self._at_bulkheads(tally, named, rows, look_mm)
        return Clearance(self.moves, tally.nearest(), self.works_in)

    def _parts(self) -> Iterator[tuple[NamedPart, Ints]]:
        """Every part of the tool, and the moves on which it is that part."""
        every = np.arange(len(self.moves))
        for named in tool(self.job):
            yield named, every
        for diameter in sorted(set(self.settings.tolist())):
            set_so = self.settings == diameter
            yield NamedPart("cutter", cutter(diameter)), np.flatnonzero(set_so & ~self.lifted)
            lift = self.job.path.lift
            if lift is not None:
                yield NamedPart("cutter", cutter_tip(diameter, lift.shift_mm)), np.flatnonzero(set_so & self.lifted)

    def _at_obstacle(
        self, tally: "_Tally", named: NamedPart, rows: Ints, obstacle: NamedObstacle, look_mm: float
    ) -> None:
        near = rows[~beyond(self.a[rows], self.b[rows], named.part, obstacle.obstacle, look_mm)]
        if near.size:
            found = least(self.a[near], self.b[near], named.part, obstacle.obstacle)
            tally.add(named.name, obstacle.name, near, found.distance)

    def _at_bulkheads(self, tally: "_Tally", named: NamedPart, rows: Ints, look_mm: float) -> None:
        """A part against every bulkhead near enough in X: alike slabs are judged at once, their moves shifted in X."""
        alike: dict[tuple[float, Plate], list[_Slab]] = {}
        for index, near in self._near_in_x(named.part, rows, look_mm):
            touching = near if named.name != "cutter" else near[self.own[near] != index]
            for slab in self._slabs(index, touching):
                alike.setdefault((round(slab.high - slab.low, 9), slab.section), []).append(slab)
        for (width, section), slabs in alike.items():
            a = np.concatenate([slab.a - [slab.low, 0, 0] for slab in slabs])
            b = np.concatenate([slab.b - [slab.low, 0, 0] for slab in slabs])
            distance = least(a, b, named.part, Obstacle(0.0, width, section)).distance
            start = 0
            for slab in slabs:
                tally.add(named.name, slab.name, slab.moves, distance[start : start + len(slab.moves)])
                start += len(slab.moves)

    def _near_in_x(self, part: Part, rows: Ints, look_mm: float) -> Iterator[tuple[int, Ints]]:
        """Each bore, and the moves on which a part comes within ``look_mm`` of its bulkhead along X."""
        if not rows.size:
            return
        x = np.stack([self.a[rows, 0], self.b[rows, 0]])
        low, high = x.min(axis=0) + part.low_x, x.max(axis=0) + part.high_x
        order = np.argsort(low, kind="stable")
        sorted_low, longest = low[order], float((high - low).max())
        for index, housing in enumerate(self.row):
            metal_low, metal_high = housing.metal
            first = np.searchsorted(sorted_low, metal_low - look_mm - longest, side="left")
            last = np.searchsorted(sorted_low, metal_high + look_mm, side="right")
            some = order[first:last]
            some = some[high[some] >= metal_low - look_mm]
            if some.size:
                yield index, rows[np.sort(some)]

    def _slabs(self, index: int, moves: Ints) -> Iterator["_Slab"]:
        """A bulkhead as these moves leave it, and as they find it right before the cutting edge.

        While a move cuts, what is not cut yet begins at the edge and only grows shorter, seen from the tool; so it is
        nearest at the moment the cut begins, and that moment is judged by itself, as a move of no length.
        """
        housing, way = self.row[index], self.job.direction
        before, after = (bulkhead_section(self.job, housing, cut=cut) for cut in (False, True))
        if before is None or after is None:
            return
        name, near, far = bulkhead_name(housing), housing.near_x * way, housing.far_x * way
        history = self.reached.get(index, [])
        edges = [near, *(min(max(reached, near), far) for _, reached in history)]
        count = np.searchsorted(np.array([move for move, _ in history], dtype=int), moves, side="right")
        for passed in np.unique(count).tolist():
            those = moves[count == passed]
            a, b = self.a[those], self.b[those]
            yield from _Slab.between(housing.near_x, edges[passed] * way, after, name, those, a, b)
            yield from _Slab.between(edges[passed] * way, housing.far_x, before, name, those, a, b)
        for number, (move, _) in enumerate(history):
            if edges[number] < edges[number + 1] and move in moves:
                edge_x = edges[number] * way
                at_edge = np.array([[edge_x, self.a[move, 1], self.a[move, 2]]])
                yield from _Slab.between(edge_x, housing.far_x, before, name, np.array([move]), at_edge, at_edge)


class _Slab(NamedTuple):
    """A slice of a bulkhead along X with its section, and the moves (M, 3) to (M, 3) on which it stands so."""

    low: float
    high: float
    section: Plate
    name: str
    moves: Ints
    a: Floats
    b: Floats

    @classmethod
    def between(
        cls, one_x: float, other_x: float, section: Plate, name: str, moves: Ints, a: Floats, b: Floats
    ) -> Iterator["_Slab"]:
        """The slab between two values of X; none where there is nothing between."""
        if one_x != other_x:
            yield cls(min(one_x, other_x), max(one_x, other_x), section, name, moves, a, b)


class _Tally:
    """The nearest approach of each move so far."""

    def __init__(self, moves: int) -> None:
        self.distance = np.full(moves, np.inf)
        self.pair = np.full(moves, -1)
        self.names: list[tuple[str, str]] = []

    def add(self, part: str, obstacle: str, moves: Ints, distance: Floats) -> None:
        """Take note of distances of one pair, one a move."""
        nearer = distance < self.distance[moves]
        self.names.append((part, obstacle))
        self.distance[moves[nearer]] = distance[nearer]
        self.pair[moves[nearer]] = len(self.names) - 1

    def nearest(self) -> dict[int, Near]:
        """What was found, by move."""
        return {
            move: Near(float(self.distance[move]), *self.names[int(self.pair[move])], move)
            for move in np.flatnonzero(self.pair >= 0).tolist()
        }


def _settings(job: Job, timeline: Timeline, strokes: Strokes, judged: Sequence[int]) -> Floats:
    """Diameter the cutter is taken to be set to on each judged move.

    Between two stops it is the largest bore that is cut there, so never too small; where none is cut, the largest of
    the job.
    """
    stretch, largest = 0, dict[int, float]()
    of_event = []
    for number, event in enumerate(timeline.events):
        stretch += isinstance(event, Halt)
        of_event.append(stretch)
        if number in strokes:
            largest[stretch] = max(strokes[number].diameter_mm, largest.get(stretch, 0.0))
    widest = max(group.diameter_mm for group in pass_plan(job))
    return np.array([largest.get(of_event[number], widest) for number in judged], dtype=float)
