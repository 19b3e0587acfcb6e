"""Least distance between a part of the tool and an obstacle over a whole straight move, without sampling.

Part and obstacle are prisms along X (``gen.sections``). Two points of them differ in X by what their X intervals allow
and, independently, in Y and Z by what their sections allow; so at one moment

    distance = sqrt(gap^2 + d^2)

with the gap between the X intervals, 0 where they overlap, and the distance d of the sections (``gen.keepout``). Over a
move that changes X alone d is constant, over one that leaves X alone the gap is: the least distance is had from the
least of each, in closed form.

Over a move that changes both, gap and d are convex functions of t wherever d is the distance of convex sections: so is
the root of the sum of their squares, being a norm of functions that are convex and not negative. Two rectangles keep
a closed form; else the one valley is enclosed by halving, on the sign of the slope, until the move covers less
than ``NARROW_MM`` between the two ends, and as a distance cannot change by more than the move does, it is known to
that. Only where such a move carries a part through the hole of a plate, in which d is concave, is the answer a
**lower bound**: the move is cut there into ``CUTS`` pieces, and of each the least gap and the least d are taken as had
at once. It is never above the truth, and below it by no more than the length of one piece.

Work is done in chunks of ``CHUNK`` moves: memory beyond arguments and answer does not grow with the number of moves.
"""

import math
from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gen.keepout import BoxKeepout, Keepout, PlateKeepout, PolygonKeepout, keepout, segments_to_box
from gen.sections import Floats, Obstacle, Part, Rectangle, Turned, bounds

CHUNK: Final = 8192
"""Moves worked on at once; chosen by us: the arrays of one step then stay in a core's cache."""
NARROW_MM: Final = 1e-10
"""What is left of a move when the search for its nearest point ends; chosen by us, a tenth of the 1e-9 mm asked for."""
CUTS: Final = 64
"""Pieces of a slanting move through a hole; chosen by us."""
SLACK_MM: Final = 1e-9
"""What ``beyond`` keeps in hand for the rounding of floats; positions of 10 m are known to 2e-12 mm."""


class Nearest(NamedTuple):
    """Least distance in mm of each move, and a t of the move, from 0 to 1, at which it is had; each (N,).

    The distance is 0 where part and obstacle touch or overlap. Where it is a lower bound, t starts the piece it is of.
    """

    distance: Floats
    at: Floats


def least(a: ArrayLike, b: ArrayLike, part: Part, obstacle: Obstacle) -> Nearest:
    """Least distance of a part to an obstacle over straight moves of the programmed point from ``a`` to ``b``.

    ``a`` and ``b`` (N, 3) or (3,), broadcast: X of the cutting edge, Y and Z of the bar's axis, mm. Raises ValueError
    when they are of another shape or not finite.
    """
    starts, ends = _moves(a, b)
    pair = _pair(part, obstacle, starts, ends)
    nearest = Nearest(np.empty(len(starts)), np.empty(len(starts)))
    for rows in _chunks(len(starts)):
        start = np.ascontiguousarray(starts[rows].T)
        move = np.ascontiguousarray(ends[rows].T) - start
        nearest.distance[rows], nearest.at[rows] = _least(pair, start, move)
    return nearest


def beyond(a: ArrayLike, b: ArrayLike, part: Part, obstacle: Obstacle, limit_mm: float) -> NDArray[np.bool_]:
    """Which moves surely keep the part farther than ``limit_mm`` from the obstacle, told from bounding boxes; (N,).

    Cheap and safe: the box of a part over a move and the box of the obstacle hold all their points, so they are no
    farther apart than those come. ``a`` and ``b`` as for ``least``. Raises ValueError as that does, and when the
    limit is negative or not a number.
    """
    if not limit_mm >= 0:
        raise ValueError(f"limit {limit_mm}: it must be 0 or more")
    starts, ends = _moves(a, b)
    part_low, part_high = _box(part)
    low, high = _box(obstacle)
    surely = np.empty(len(starts), dtype=bool)
    for rows in _chunks(len(starts)):
        lowest, highest = (
            np.minimum(starts[rows], ends[rows]) + part_low,
            np.maximum(starts[rows], ends[rows]) + part_high,
        )
        gaps = np.maximum(np.maximum(low - highest, lowest - high), 0)
        surely[rows] = (gaps * gaps).sum(axis=1) > (limit_mm + SLACK_MM) ** 2
    return surely


class _Pair(NamedTuple):
    """A part and an obstacle as one: where the programmed point may not be, from ``low_x`` to ``high_x``."""

    low_x: float
    high_x: float
    region: Keepout


def _pair(part: Part, obstacle: Obstacle, starts: Floats, ends: Floats) -> _Pair:
    section = part.section
    if isinstance(obstacle.section, Turned) and isinstance(section, Rectangle):
        section = _ending(section, obstacle.section, starts[:, 1:], ends[:, 1:])
    region = keepout(section, obstacle.section)
    return _Pair(obstacle.low_x - part.high_x, obstacle.high_x - part.low_x, region)


def _ending(section: Rectangle, turned: Turned, starts: Floats, ends: Floats) -> Rectangle:
    """The section with its endless sides cut off where what is cut off is never nearest, wherever the moves go.

    A point of the section past the obstacle's bounds is no nearer to it than the one level with those bounds.
    """
    lowest = np.minimum(starts.min(axis=0, initial=0), ends.min(axis=0, initial=0))
    highest = np.maximum(starts.max(axis=0, initial=0), ends.max(axis=0, initial=0))
    (low, high), (turned_low, turned_high) = bounds(section), bounds(turned)
    cut_low = np.where(np.isinf(low), np.minimum(turned_low - highest, high), low)
    cut_high = np.where(np.isinf(high), np.maximum(turned_high - lowest, cut_low), high)
    return Rectangle(cut_low[0], cut_high[0], cut_low[1], cut_high[1])


def _least(pair: _Pair, start: Floats, move: Floats) -> tuple[Floats, Floats]:
    """Least distance and its t of moves (3, N)."""
    gap, at_x = _least_gap(pair, start[0], move[0])
    apart, at = pair.region.least(start[1:], move[1:])
    across = move[1:].any(axis=0)
    at = np.where(across, at, at_x)
    distance: Floats = np.hypot(gap, apart)
    slanting = np.flatnonzero(across & (move[0] != 0))
    if slanting.size:
        distance[slanting], at[slanting] = _slanting(pair, start[:, slanting], move[:, slanting])
    return distance, at


def _least_gap(pair: _Pair, start: Floats, move: Floats) -> tuple[Floats, Floats]:
    """Least gap in X over moves, and the first t at which it is had; arrays of one shape."""
    end = start + move
    nearest = np.clip(start, pair.low_x, pair.high_x)
    reached = np.clip(nearest, np.minimum(start, end), np.maximum(start, end))
    at = np.divide(reached - start, move, out=np.zeros_like(start), where=move != 0)
    return np.abs(nearest - reached), np.clip(at, 0, 1)


def _slanting(pair: _Pair, start: Floats, move: Floats) -> tuple[Floats, Floats]:
    """Least distance and its t of moves (3, N) that change X and also Y or Z."""
    match pair.region:
        case PlateKeepout() as plate:
            return _at_plate(pair, plate, start, move)
        case BoxKeepout(low, high, radius=0):
            return segments_to_box(start, move, np.array([pair.low_x, *low]), np.array([pair.high_x, *high]))
        case region:
            return _enclosed(pair, region, start, move)


def _enclosed(pair: _Pair, region: BoxKeepout | PolygonKeepout, start: Floats, move: Floats) -> tuple[Floats, Floats]:
    """Least distance and its t of moves (3, N), given that it has one valley: the better end of what encloses it."""

    def moment(t: Floats) -> tuple[Floats, Floats]:
        """The distance at one t of each move, and half the slope of its square."""
        place = start + t * move
        off = place[0] - np.clip(place[0], pair.low_x, pair.high_x)
        apart, rate = region.apart(place[1:], move[1:])
        return np.hypot(off, apart), off * move[0] + apart * rate

    low, high = np.zeros(start.shape[1]), np.ones(start.shape[1])
    longest = max(math.sqrt((move * move).sum(axis=0).max()), NARROW_MM)
    for _ in range(math.ceil(math.log2(longest / NARROW_MM))):
        middle = (low + high) / 2
        falls = moment(middle)[1] < 0
        low, high = np.where(falls, middle, low), np.where(falls, high, middle)
    at_low, at_high = moment(low)[0], moment(high)[0]
    return np.minimum(at_low, at_high), np.where(at_low < at_high, low, high)


def _at_plate(pair: _Pair, plate: PlateKeepout, start: Floats, move: Floats) -> tuple[Floats, Floats]:
    """Least distance and its t of moves (3, N) at a plate, the least of three: before, in and after its hole.

    Before and after, the plate is as good as one without a hole, from which the distance has one valley.
    """
    enter, leave = plate.in_hole(start[1:], move[1:])
    enter, leave = np.maximum(enter, 0), np.minimum(leave, 1)
    through = enter <= leave
    enter, leave = np.where(through, enter, 1), np.where(through, leave, 1)
    solid = pair._replace(region=plate.box)
    distance, at = np.full((3, len(enter)), np.inf), np.zeros((3, len(enter)))
    for piece, first, last in ((0, np.zeros_like(enter), enter), (1, leave, np.ones_like(leave))):
        rows = np.flatnonzero(first < last)
        if rows.size:
            begin, share = first[rows], (last - first)[rows]
            distance[piece, rows], time = _slanting(
                solid, start[:, rows] + begin * move[:, rows], share * move[:, rows]
            )
            at[piece, rows] = begin + share * time
    rows = np.flatnonzero(through)
    distance[2, rows], at[2, rows] = _in_hole(pair, plate, start[:, rows], move[:, rows], enter[rows], leave[rows])
    best = distance.argmin(axis=0)[None]
    return np.take_along_axis(distance, best, axis=0)[0], np.take_along_axis(at, best, axis=0)[0]


def _in_hole(
    pair: _Pair, plate: PlateKeepout, start: Floats, move: Floats, enter: Floats, leave: Floats
) -> tuple[Floats, Floats]:
    """Lower bound of the distance, and the t its piece starts at, of moves (3, N) in the hole between two t."""
    times = enter + (leave - enter) * np.linspace(0, 1, CUTS + 1)[:, None]
    x = start[0] + times * move[0]
    gap, _ = _least_gap(pair, x[:-1], np.diff(x, axis=0))
    room = np.maximum(plate.room(start[1:, None] + times * move[1:, None]), 0)
    bound = np.hypot(gap, np.minimum(room[:-1], room[1:]))
    best = bound.argmin(axis=0)[None]
    return np.take_along_axis(bound, best, axis=0)[0], np.take_along_axis(times, best, axis=0)[0]


def _box(prism: Part | Obstacle) -> tuple[Floats, Floats]:
    """Lowest and highest X, Y and Z of a prism; shapes (3,), (3,)."""
    low, high = bounds(prism.section)
    return np.array([prism.low_x, *low]), np.array([prism.high_x, *high])


def _moves(a: ArrayLike, b: ArrayLike) -> tuple[Floats, Floats]:
    """Both ends of the moves as arrays (N, 3)."""
    starts, ends = np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)
    for places in (starts, ends):
        if places.ndim not in (1, 2) or places.shape[-1] != 3:
            raise ValueError(f"moves of shape {places.shape}: they must be (N, 3) or (3,)")
        if not np.isfinite([places.min(initial=0), places.max(initial=0)]).all():
            raise ValueError("moves that are not finite: a distance from a place not known means nothing")
    starts, ends = np.broadcast_arrays(np.atleast_2d(starts), np.atleast_2d(ends))
    return starts, ends


def _chunks(count: int) -> Iterator[slice]:
    for first in range(0, count, CHUNK):
        yield slice(first, first + CHUNK)
