"""Where a part's section may not be: the places of the programmed point, in Y and Z, at which it meets an obstacle's.

keep-out
    the set of places (y, z) at which the section of a part, carried there, has a point in common with the section of
    an obstacle. The distance of the two sections is the distance of the place from the keep-out, because carrying the
    part by a vector brings the sections together exactly when it brings the place into the keep-out.
room
    inside a plate's hole: what is left between the section and the wall of the hole.

Where both sections are convex, so is the keep-out: it is the set of all q - s with q in the obstacle and s in the part,
and a point between two such differences is the difference of points between, which convexity keeps inside. The
distance from a convex set is a convex function of the place, and a place on a straight move depends on t linearly: so
along a move the distance of convex sections is convex in t and has one valley. A plate is not convex; it says itself
what holds instead.

Shapes: a place or a move is a (2, N) array, Y in its first row and Z in its second; distances and t are (N,). ``start``
is a place, ``move`` the vector from it to the end, and t runs from 0 to 1 over it. Lengths in mm.
"""

import math
from typing import NamedTuple

import numpy as np

from gen.sections import Disc, Floats, ObstacleSection, PartSection, Plate, Rectangle, Turned, bounds


class BoxKeepout(NamedTuple):
    """A rectangle from ``low`` to ``high``, each (2,), grown all round by ``radius``: rectangle or disc at a rectangle.

    Two rectangles keep each other out of a rectangle; a disc keeps its centre out of the rectangle grown by its radius.
    """

    low: Floats
    high: Floats
    radius: float

    def least(self, start: Floats, move: Floats) -> tuple[Floats, Floats]:
        """Least distance over each move, and a t at which it is had: the first, where the sections meet."""
        distance, at = segments_to_box(start, move, self.low, self.high)
        return np.maximum(distance - self.radius, 0), at

    def apart(self, place: Floats, move: Floats) -> tuple[Floats, Floats]:
        """Distance at each place, and, where it is not 0, how fast it grows with t on going by ``move``."""
        off = place - np.clip(place, self.low[:, None], self.high[:, None])
        distance = np.hypot(*off)
        return np.maximum(distance - self.radius, 0), _share((off * move).sum(axis=0), distance)


class Side(NamedTuple):
    """A side of a polygon: its first corner, unit vectors along it and outward from it, each (2,), and its length."""

    corner: Floats
    along: Floats
    out: Floats
    length: float

    def offsets(self, place: Floats) -> tuple[Floats, Floats]:
        """How far each place is past an end of the side, along it, 0 beside it; and how far out from its line."""
        from_corner = place - self.corner[:, None]
        past = self.along @ from_corner
        past -= np.clip(past, 0, self.length)
        return past, self.out @ from_corner


class PolygonKeepout(NamedTuple):
    """A convex polygon grown all round by ``radius``: rectangle or disc at a turned rectangle.

    The sides go counterclockwise seen from +X.
    """

    sides: tuple[Side, ...]
    radius: float

    def least(self, start: Floats, move: Floats) -> tuple[Floats, Floats]:
        """Least distance over each move, and a t at which it is had: the first, where it crosses the polygon.

        A move that does not cross the polygon is nearest to it at an end of the move or at a corner of the polygon: a
        segment and a polygon that are apart are nearest at a corner of one of the two.
        """
        best, end = self._square(start), self._square(start + move)
        at = np.where(end < best, 1.0, 0.0)
        best = np.minimum(best, end)
        length = (move * move).sum(axis=0)
        for side in self.sides:
            to_corner = side.corner[:, None] - start
            time = np.clip(_share((to_corner * move).sum(axis=0), length), 0, 1)
            to_corner -= time * move
            square = (to_corner * to_corner).sum(axis=0)
            at = np.where(square < best, time, at)
            best = np.minimum(square, best)
        enter, leave = self._crossing(start, move)
        crosses = enter <= leave
        distance = np.where(crosses, 0, np.sqrt(best))
        return np.maximum(distance - self.radius, 0), np.where(crosses, enter, at)

    def apart(self, place: Floats, move: Floats) -> tuple[Floats, Floats]:
        """Distance at each place, and, where it is not 0, how fast it grows with t on going by ``move``.

        Beside a side the rate has its sign from the direction of the side alone, free of rounding in the place.
        """
        best, rate = np.full(place.shape[1], np.inf), np.zeros(place.shape[1])
        outside = np.zeros(place.shape[1], dtype=bool)
        for side in self.sides:
            past, off = side.offsets(place)
            outside |= off > 0
            distance = np.hypot(past, off)
            turning = _share(past * (side.along @ move) + off * (side.out @ move), distance)
            rate = np.where(distance < best, turning, rate)
            best = np.minimum(distance, best)
        return np.where(outside, np.maximum(best - self.radius, 0), 0), rate

    def _square(self, place: Floats) -> Floats:
        """Square of the distance of each place from the outline, the polygon not grown."""
        best = np.full(place.shape[1], np.inf)
        for side in self.sides:
            past, off = side.offsets(place)
            best = np.minimum(past * past + off * off, best)
        return best

    def _crossing(self, start: Floats, move: Floats) -> tuple[Floats, Floats]:
        """The t between which each move is inside the polygon, within 0 to 1; the first is larger where it never is."""
        enter, leave = np.zeros(start.shape[1]), np.ones(start.shape[1])
        for side in self.sides:
            off, speed = side.out @ (start - side.corner[:, None]), side.out @ move
            time = _share(-off, speed)
            enter = np.where(speed < 0, np.maximum(enter, time), enter)
            leave = np.where(speed > 0, np.minimum(leave, time), leave)
            leave = np.where((speed == 0) & (off > 0), -np.inf, leave)
        return enter, leave


class PlateKeepout(NamedTuple):
    """A rectangle with a round hole of ``hole_radius``, against a section that fits the hole.

    ``box`` is the keep-out of the rectangle as if it had no hole. The farthest point of the section at a place is at
    ``reach`` (M, 2), from the place, or ``radius`` beyond it: the corners of a rectangle, or the centre of a disc.

    The distance of the sections is one of three:

    - the section lies in the hole: the radius of the hole less the distance of its centre from the farthest
      point of the section, for the nearest point of the wall is straight out from that;
    - the section is clear of the rectangle: its distance from the rectangle, whose edge is metal all round;
    - anything else: 0. The section has a point in the rectangle. If that point is in the hole then another one is not,
      and the straight line between the two, which is in the section because that is convex, crosses the wall.

    In the hole, the distance of the centre from the farthest point of the section is convex in t, so the room is
    concave and least at an end of the move. And since a change from in the hole to clear of the plate goes through
    the third case, a move with one end in the hole and one out of it meets the plate.
    """

    box: BoxKeepout
    hole_radius: float
    reach: Floats
    radius: float

    def room(self, place: Floats) -> Floats:
        """Room left in the hole at places (2, ...), below 0 where the section is not in the hole; shape (...)."""
        (low_y, low_z), (high_y, high_z) = self.reach.min(axis=0), self.reach.max(axis=0)
        y = np.maximum(np.abs(place[0] + low_y), np.abs(place[0] + high_y))
        z = np.maximum(np.abs(place[1] + low_z), np.abs(place[1] + high_z))
        room: Floats = self.hole_radius - self.radius - np.hypot(y, z)
        return room

    def least(self, start: Floats, move: Floats) -> tuple[Floats, Floats]:
        """Least distance over each move, and a t at which it is had."""
        distance, at = self.box.least(start, move)
        room, room_at_end = self.room(start), self.room(start + move)
        inside, ends_inside = room >= 0, room_at_end >= 0
        both = inside & ends_inside
        distance[both] = np.minimum(room, room_at_end)[both]
        at[both] = room_at_end[both] < room[both]
        through = np.flatnonzero(inside != ends_inside)
        enter, leave = self.in_hole(start[:, through], move[:, through])
        at[through] = np.clip(np.where(inside[through], leave, enter), 0, 1)
        return distance, at

    def in_hole(self, start: Floats, move: Floats) -> tuple[Floats, Floats]:
        """The t between which the section is in the hole, not kept to 0 to 1; the first is larger where it never is.

        Every move must change Y or Z.
        """
        enter, leave = np.full(start.shape[1], -np.inf), np.full(start.shape[1], np.inf)
        length = np.hypot(*move)
        along = move / length
        for point in self.reach:
            at_point = start + point[:, None]
            half = (at_point * along).sum(axis=0)
            excess = (at_point * at_point).sum(axis=0) - (self.hole_radius - self.radius) ** 2
            inner = half * half - excess
            # The root of larger magnitude first, the other from the product of the two: no digits cancel.
            far = -(half + np.copysign(np.sqrt(np.maximum(inner, 0)), half))
            near = _share(excess, far)
            enter = np.where(inner < 0, np.inf, np.maximum(enter, np.minimum(near, far)))
            leave = np.where(inner < 0, -np.inf, np.minimum(leave, np.maximum(near, far)))
        return _share(enter, length), _share(leave, length)


Keepout = BoxKeepout | PolygonKeepout | PlateKeepout


def keepout(part: PartSection, obstacle: ObstacleSection) -> Keepout:
    """The keep-out of two sections. A rectangle against a turned one must not have an endless side."""
    match obstacle:
        case Rectangle():
            return _box(part, obstacle)
        case Turned():
            return _polygon(part, obstacle)
        case Plate(rectangle, hole_radius):
            box, reach = _box(part, rectangle), _corners(part)
            radius = part.radius if isinstance(part, Disc) else 0.0
            fits = np.hypot(*np.ptp(reach, axis=0)) / 2 + radius <= hole_radius
            return PlateKeepout(box, hole_radius, reach, radius) if fits else box


def segments_to_box(start: Floats, move: Floats, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Least distance of moves to a box of K axes, and a t at which it is had: the first, for a move that meets the box.

    ``start`` and ``move`` (K, N); ``low`` and ``high`` (K,), any of which may be infinite.
    """
    low, high, still = low[:, None], high[:, None], move == 0
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        to_low, to_high = (low - start) / move, (high - start) / move
    within = (low <= start) & (start <= high)
    enter = np.where(still, np.where(within, -np.inf, np.inf), np.minimum(to_low, to_high)).max(axis=0)
    leave = np.where(still, np.inf, np.maximum(to_low, to_high)).min(axis=0)
    enter = np.maximum(enter, 0)
    meets = enter <= np.minimum(leave, 1)
    passed = np.fmin(np.fmax(np.concatenate([to_low, to_high]), 0), 1)
    at = np.where(meets, enter, _lowest(start, move, low, high, passed))
    off = start + at * move
    off -= np.clip(off, low, high)
    return np.where(meets, 0, np.sqrt((off * off).sum(axis=0))), at


def _lowest(start: Floats, move: Floats, low: Floats, high: Floats, passed: Floats) -> Floats:
    """The t of the least distance to a box, from the t at which each of its sides is passed, (2K, N) within 0 to 1.

    The square of the distance is a sum of squares, one an axis, each of how far the place is past a side. Its slope
    is a straight line between the t at which sides are passed, and never falls. So the last of these, counting 0 and
    1, at which the slope is below 0 and the first at which it is not enclose the least, and a straight line between
    the two slopes finds it.
    """
    count = start.shape[1]
    times = np.concatenate([np.zeros((1, count)), passed, np.ones((1, count))])
    slopes = np.zeros_like(times)
    for from_side, by, low_side, high_side in zip(start, move, low, high, strict=True):
        off = from_side + times * by
        off -= np.clip(off, low_side, high_side)
        slopes += off * by
    falling = slopes < 0
    before, after = np.where(falling, times, 0).max(axis=0), np.where(falling, 1, times).min(axis=0)
    fall, rise = np.where(falling, slopes, -np.inf).max(axis=0), np.where(falling, np.inf, slopes).min(axis=0)
    never_falls, never_rises = ~falling.any(axis=0), falling.all(axis=0)
    with np.errstate(invalid="ignore"):
        between = before + (after - before) * (fall / (fall - rise))
    return np.where(never_falls, 0, np.where(never_rises, 1, between))


def _share(part: Floats, whole: Floats) -> Floats:
    """The quotient, 0 where ``whole`` is 0; endless where it is too small for a float, as suits a t."""
    with np.errstate(over="ignore"):
        return np.divide(part, whole, out=np.zeros_like(part), where=whole != 0)


def _box(part: PartSection, rectangle: Rectangle) -> BoxKeepout:
    low, high = bounds(rectangle)
    if isinstance(part, Disc):
        return BoxKeepout(low, high, part.radius)
    part_low, part_high = bounds(part)
    return BoxKeepout(low - part_high, high - part_low, 0.0)


def _corners(part: PartSection) -> Floats:
    """Corners of a rectangle (4, 2), counterclockwise seen from +X; the centre of a disc (1, 2)."""
    if isinstance(part, Disc):
        return np.zeros((1, 2))
    (low_y, low_z), (high_y, high_z) = bounds(part)
    return np.array([[low_y, low_z], [high_y, low_z], [high_y, high_z], [low_y, high_z]])


def _polygon(part: PartSection, turned: Turned) -> PolygonKeepout:
    """The polygon of all q - s: its sides are those of both sections, the part's reversed, in order of direction."""
    outlines = [_outline(turned.corners, turned.rectangle, math.cos(turned.angle), math.sin(turned.angle))]
    if isinstance(part, Rectangle):
        outlines.append(_outline(-_corners(part), part, -1.0, 0.0))
    corner = sum((min(outline, key=_direction).corner for outline in outlines), start=np.zeros(2))
    sides = []
    for side in sorted((side for outline in outlines for side in outline), key=_direction):
        if side.length:
            sides.append(side._replace(corner=corner))
            corner = corner + side.length * side.along
    return PolygonKeepout(tuple(sides), part.radius if isinstance(part, Disc) else 0.0)


def _outline(corners: Floats, rectangle: Rectangle, cos: float, sin: float) -> list[Side]:
    """The sides of a rectangle turned by the angle of a cosine and sine: directions good even for the shortest side."""
    lengths = (rectangle.high_y - rectangle.low_y, rectangle.high_z - rectangle.low_z) * 2
    along = np.array([(cos, sin), (-sin, cos), (-cos, -sin), (sin, -cos)])
    out = np.column_stack([along[:, 1], -along[:, 0]])
    return [Side(*side) for side in zip(corners, along, out, lengths, strict=True)]


def _direction(side: Side) -> float:
    """Angle of a side from +Y, above or below."""
    return math.atan2(side.along[1], side.along[0])
