"""For tests of distances: prisms of every kind from hypothesis, and the distance at one moment in plain arithmetic."""

import math
from collections.abc import Iterator
from itertools import product

from hypothesis import strategies as st

from gen.sections import Disc, Obstacle, ObstacleSection, Part, PartSection, Plate, Rectangle, Turned

Place = tuple[float, float, float]
Plane = tuple[float, float]
FAR = 1e5
"""Where the plain arithmetic ends an endless side, mm: far past everything the strategies make."""

lengths = st.integers(-40, 40).map(float) | st.floats(-40, 40)
"""Whole numbers often enough that things touch, line up and stand still."""
places = st.tuples(lengths, lengths, lengths)


@st.composite
def extents(draw: st.DrawFn, least: float = 0) -> tuple[float, float]:
    low = draw(lengths)
    return low, low + draw(st.sampled_from([least, 1, 5, 20]) | st.floats(least, 30))


@st.composite
def rectangles(draw: st.DrawFn, least: float = 0) -> Rectangle:
    return Rectangle(*draw(extents(least)), *draw(extents(least)))


@st.composite
def small_rectangles(draw: st.DrawFn) -> Rectangle:
    """Some that fit a hole."""
    small = st.integers(0, 8).map(float) | st.floats(0, 8)
    return Rectangle(-draw(small), draw(small), -draw(small), draw(small))


@st.composite
def stems(draw: st.DrawFn) -> Rectangle:
    (low_y, high_y), (low_z, _) = draw(extents()), draw(extents())
    return Rectangle(low_y, high_y, low_z, math.inf)


discs = (st.integers(0, 20).map(float) | st.floats(0, 20)).map(Disc)
turned = st.builds(Turned, rectangles(1), st.floats(-4, 4) | st.sampled_from([0.0, math.pi / 4, math.pi / 2, -math.pi]))


@st.composite
def plates(draw: st.DrawFn) -> Plate:
    hole = draw(st.integers(1, 30).map(float) | st.floats(1, 30))
    more = [draw(st.sampled_from([0.0, 5.0]) | st.floats(0, 20)) for _ in range(4)]
    return Plate(Rectangle(-hole - more[0], hole + more[1], -hole - more[2], hole + more[3]), hole)


@st.composite
def parts(draw: st.DrawFn) -> Part:
    return Part(*draw(extents()), draw(rectangles() | small_rectangles() | stems() | discs))


@st.composite
def obstacles(draw: st.DrawFn) -> Obstacle:
    return Obstacle(*draw(extents()), draw(rectangles() | turned | plates()))


@st.composite
def moves(draw: st.DrawFn) -> tuple[Place, Place]:
    """Moves of one place, along X, across it, and slanting."""
    a, b = draw(places), draw(places)
    kept = draw(st.sampled_from([(), (0,), (1, 2), (1,), (2,), (0, 1, 2)]))
    end = tuple(a[axis] if axis in kept else b[axis] for axis in range(3))
    return a, (end[0], end[1], end[2])


def point_on(a: Place, b: Place, t: float) -> Place:
    x, y, z = (start + t * (end - start) for start, end in zip(a, b, strict=True))
    return x, y, z


def distance_at(place: Place, part: Part, obstacle: Obstacle) -> float:
    """Distance of a part at a place from an obstacle, mm."""
    x, y, z = place
    gap = max(obstacle.low_x - (x + part.high_x), x + part.low_x - obstacle.high_x, 0.0)
    return math.hypot(gap, sections_apart(part.section, y, z, obstacle.section))


def sections_apart(part: PartSection, y: float, z: float, obstacle: ObstacleSection) -> float:
    """Distance in the plane of a section carried to y, z from a section that stands."""
    match obstacle:
        case Plate(rectangle, hole_radius):
            inside = hole_radius - farthest(part, y, z)
            return inside if inside >= 0 else sections_apart(part, y, z, rectangle)
        case Rectangle():
            outline = corners(obstacle)
        case Turned():
            outline = turned_corners(obstacle)
    if isinstance(part, Disc):
        return max(polygons_apart([(y, z)], outline) - part.radius, 0.0)
    return polygons_apart([(y + corner[0], z + corner[1]) for corner in corners(part)], outline)


def farthest(part: PartSection, y: float, z: float) -> float:
    """Distance of (0, 0) from the farthest point of a section carried to y, z."""
    if isinstance(part, Disc):
        return math.hypot(y, z) + part.radius
    return max(math.hypot(y + corner[0], z + corner[1]) for corner in corners(part))


def corners(rectangle: Rectangle) -> list[Plane]:
    low_y, high_y, low_z, high_z = (
        max(-FAR, min(FAR, side)) for side in (rectangle.low_y, rectangle.high_y, rectangle.low_z, rectangle.high_z)
    )
    return [(low_y, low_z), (high_y, low_z), (high_y, high_z), (low_y, high_z)]


def turned_corners(section: Turned) -> list[Plane]:
    """The corners as complex numbers turn them."""
    outline = [complex(*corner) for corner in corners(section.rectangle)]
    centre = sum(outline) / 4
    turn = complex(math.cos(section.angle), math.sin(section.angle))
    return [(corner.real, corner.imag) for corner in (centre + (corner - centre) * turn for corner in outline)]


def polygons_apart(one: list[Plane], other: list[Plane]) -> float:
    """Distance of two convex polygons, counterclockwise; a polygon may be a point or a line."""
    if not any(parted(outward, one, other) for outward in (*outwards(one), *outwards(other))):
        return 0.0
    return min(
        point_to_side(corner, side)
        for points, outline in ((one, other), (other, one))
        for corner, side in product(points, sides(outline))
    )


def sides(outline: list[Plane]) -> Iterator[tuple[Plane, Plane]]:
    return zip(outline, [*outline[1:], outline[0]], strict=True)


def outwards(outline: list[Plane]) -> Iterator[Plane]:
    """Directions square to the sides; of a side without length, along Y and Z."""
    for start, end in sides(outline):
        if start == end:
            yield from ((1.0, 0.0), (0.0, 1.0))
        else:
            length = math.dist(start, end)
            yield (end[1] - start[1]) / length, (start[0] - end[0]) / length


def parted(direction: Plane, one: list[Plane], other: list[Plane]) -> bool:
    """Whether a line square to a direction has one polygon on one side and the other on the other."""
    ones = [corner[0] * direction[0] + corner[1] * direction[1] for corner in one]
    others = [corner[0] * direction[0] + corner[1] * direction[1] for corner in other]
    return min(ones) > max(others) or min(others) > max(ones)


def point_to_side(point: Plane, side: tuple[Plane, Plane]) -> float:
    start, end = side
    length = math.dist(start, end)
    if length == 0:
        return math.dist(point, start)
    along = ((point[0] - start[0]) * (end[0] - start[0]) + (point[1] - start[1]) * (end[1] - start[1])) / length
    share = min(max(along / length, 0.0), 1.0)
    return math.dist(point, (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])))
