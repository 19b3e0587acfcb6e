"""Least distances in the plane against shapely (BSD-3, on GEOS), an independent library, on thousands of random moves.

A section swept over a whole move is drawn as a polygon, of a disc as the segment of its centre; where X changes too,
sections at one moment are drawn in a golden-section search. Both sides work in floats on coordinates up to 400 mm, so
the same distance means to 1e-9 of it, or of 1 mm below that. The library has no circles: a plate with a round hole is
also held between one with a polygon inside the circle for its hole and one with a polygon round it.
"""

import math
from collections.abc import Callable
from typing import Final

import numpy as np
import pytest
import shapely  # type: ignore[import-untyped]
from numpy.typing import NDArray
from shapely import affinity

from gen.distance import least
from gen.sections import (
    Disc,
    Floats,
    Obstacle,
    ObstacleSection,
    Part,
    PartSection,
    Plate,
    Rectangle,
    Turned,
)

Geometries = NDArray[np.object_]
MOVES: Final = 60
"""Moves of each pair of prisms."""
PAIRS: Final = 50
"""Pairs of prisms of each pair of kinds: 3,000 moves each."""
GOLDEN: Final = (math.sqrt(5) - 1) / 2


def same(found: Floats, expected: Floats) -> None:
    np.testing.assert_allclose(found, expected, rtol=1e-9, atol=1e-9)


def extent(rng: np.random.Generator, size: float = 120) -> tuple[float, float]:
    low = float(rng.uniform(-150, 150))
    return low, low + float(rng.uniform(1, size))


def rectangle(rng: np.random.Generator) -> Rectangle:
    return Rectangle(*extent(rng), *extent(rng))


def small_rectangle(rng: np.random.Generator) -> Rectangle:
    y, z = rng.uniform(1, 25, 2), rng.uniform(1, 25, 2)
    return Rectangle(-float(y[0]), float(y[1]), -float(z[0]), float(z[1]))


def disc(rng: np.random.Generator) -> Disc:
    return Disc(float(rng.uniform(0, 40)))


def turned(rng: np.random.Generator) -> Turned:
    return Turned(rectangle(rng), float(rng.uniform(-math.pi, math.pi)))


def plate(rng: np.random.Generator) -> Plate:
    hole = float(rng.uniform(30, 60))
    low_y, high_y, low_z, high_z = hole + rng.uniform(0, 80, 4)
    return Plate(Rectangle(-float(low_y), float(high_y), -float(low_z), float(high_z)), hole)


def random_moves(rng: np.random.Generator, kind: str, count: int = MOVES) -> tuple[Floats, Floats]:
    """Half of them short and near the middle, so that holes are met."""
    a, b = rng.uniform(-200, 200, (count, 3)), rng.uniform(-200, 200, (count, 3))
    near = rng.random(count) < 0.5
    a[near], b[near] = a[near] * 0.15, b[near] * 0.15
    match kind:
        case "along":
            b[:, 1:] = a[:, 1:]
        case "across":
            b[:, 0] = a[:, 0]
    return a, b


def gap(x: Floats, part: Part, obstacle: Obstacle) -> Floats:
    return np.maximum(np.maximum(obstacle.low_x - x - part.high_x, x + part.low_x - obstacle.high_x), 0)


def drawn(section: Rectangle | Turned) -> shapely.Polygon:
    if isinstance(section, Turned):
        return affinity.rotate(drawn(section.rectangle), section.angle, origin="centroid", use_radians=True)
    return shapely.box(section.low_y, section.low_z, section.high_y, section.high_z)


def swept(section: PartSection, a: Floats, b: Floats) -> Geometries:
    """What a section covers over moves (N, 2), less the radius of a disc."""
    points: Floats = np.zeros((1, 2)) if isinstance(section, Disc) else shapely.get_coordinates(drawn(section))[:4]
    ends = np.concatenate([a[:, None] + points, b[:, None] + points], axis=1)
    hulls: Geometries = shapely.convex_hull(shapely.multipoints(ends))
    return hulls


def clear_of(cover: Geometries, figure: shapely.Geometry, radius: float) -> Floats:
    apart: Floats = shapely.distance(cover, figure)
    return np.maximum(apart - radius, 0)


def plane_least(section: PartSection, a: Floats, b: Floats, obstacle: ObstacleSection) -> Floats:
    """Least distance of a section from an obstacle over moves (N, 2)."""
    cover, radius = swept(section, a, b), section.radius if isinstance(section, Disc) else 0.0
    if not isinstance(obstacle, Plate):
        return clear_of(cover, drawn(obstacle), radius)
    farthest: Floats = shapely.hausdorff_distance(cover, shapely.Point(0, 0)) + radius
    outside = clear_of(cover, drawn(obstacle.rectangle), radius)
    return np.where(farthest <= obstacle.hole_radius, obstacle.hole_radius - farthest, outside)


def polygon(radius: float, count: int) -> shapely.Polygon:
    angles = np.arange(count) * (math.tau / count)
    return shapely.Polygon(radius * np.column_stack([np.cos(angles), np.sin(angles)]))


PART_SECTIONS: Final[list[Callable[[np.random.Generator], PartSection]]] = [rectangle, small_rectangle, disc]
OBSTACLE_SECTIONS: Final[list[Callable[[np.random.Generator], ObstacleSection]]] = [rectangle, turned, plate]
EACH_PART: Final = pytest.mark.parametrize("part_section", PART_SECTIONS)
EACH_OBSTACLE: Final = pytest.mark.parametrize("obstacle_section", OBSTACLE_SECTIONS)


@EACH_PART
@EACH_OBSTACLE
def test_moves_that_leave_x_alone(
    part_section: Callable[[np.random.Generator], PartSection],
    obstacle_section: Callable[[np.random.Generator], ObstacleSection],
) -> None:
    rng = np.random.default_rng(20)
    for _ in range(PAIRS):
        part, obstacle = Part(*extent(rng), part_section(rng)), Obstacle(*extent(rng), obstacle_section(rng))
        a, b = random_moves(rng, "across")
        apart = plane_least(part.section, a[:, 1:], b[:, 1:], obstacle.section)
        same(least(a, b, part, obstacle).distance, np.hypot(gap(a[:, 0], part, obstacle), apart))


@EACH_PART
@EACH_OBSTACLE
def test_moves_along_x(
    part_section: Callable[[np.random.Generator], PartSection],
    obstacle_section: Callable[[np.random.Generator], ObstacleSection],
) -> None:
    """The gap is that of two intervals, by shapely too: the part's swept over X, as segments."""
    rng = np.random.default_rng(21)
    for _ in range(PAIRS):
        part, obstacle = Part(*extent(rng), part_section(rng)), Obstacle(*extent(rng), obstacle_section(rng))
        a, b = random_moves(rng, "along")
        low, high = np.minimum(a, b)[:, 0] + part.low_x, np.maximum(a, b)[:, 0] + part.high_x
        segments = shapely.linestrings(np.stack([np.column_stack([low, high]), np.zeros((MOVES, 2))], axis=-1))
        gaps = shapely.distance(segments, shapely.LineString([(obstacle.low_x, 0), (obstacle.high_x, 0)]))
        apart = plane_least(part.section, a[:, 1:], a[:, 1:], obstacle.section)
        same(least(a, b, part, obstacle).distance, np.hypot(gaps, apart))


@EACH_PART
@pytest.mark.parametrize("obstacle_section", [rectangle, turned])
def test_moves_that_change_x_and_y_and_z(
    part_section: Callable[[np.random.Generator], PartSection],
    obstacle_section: Callable[[np.random.Generator], Rectangle | Turned],
) -> None:
    """1,500 moves each. The distance has one valley: golden section narrows 700 mm to 700 * 0.618^65, below 1e-10."""
    rng = np.random.default_rng(22)
    for _ in range(PAIRS // 10):
        part, obstacle = Part(*extent(rng), part_section(rng)), Obstacle(*extent(rng), obstacle_section(rng))
        a, b = random_moves(rng, "slanting", 5 * MOVES)
        same(least(a, b, part, obstacle).distance, searched(a, b, part, obstacle))


def searched(a: Floats, b: Floats, part: Part, obstacle: Obstacle) -> Floats:
    """Least distance by golden section, from sections at one moment."""

    def at(t: Floats) -> Floats:
        place = a + t[:, None] * (b - a)
        apart = plane_least(part.section, place[:, 1:], place[:, 1:], obstacle.section)
        return np.hypot(gap(place[:, 0], part, obstacle), apart)

    low, high = np.zeros(len(a)), np.ones(len(a))
    best = np.minimum(at(low), at(high))
    one, other = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_one, at_other = at(one), at(other)
    for _ in range(65):
        best = np.minimum(best, np.minimum(at_one, at_other))
        left = at_one < at_other
        low, high = np.where(left, low, one), np.where(left, other, high)
        again = np.where(left, high - GOLDEN * (high - low), low + GOLDEN * (high - low))
        at_again = at(again)
        one, other = np.where(left, again, other), np.where(left, one, again)
        at_one, at_other = np.where(left, at_again, at_other), np.where(left, at_one, at_again)
    return best


@EACH_PART
def test_a_hole_is_between_two_polygons(part_section: Callable[[np.random.Generator], PartSection]) -> None:
    """The plate drawn with its hole, so that nothing is said of in, out or across."""
    rng, corners = np.random.default_rng(23), 512
    in_hole = 0
    for _ in range(PAIRS):
        part, obstacle = Part(0, 0, part_section(rng)), Obstacle(0, 0, plate(rng))
        assert isinstance(obstacle.section, Plate)
        a, b = random_moves(rng, "across")
        a[:, 0] = b[:, 0] = 0
        cover, radius = swept(part.section, a[:, 1:], b[:, 1:]), getattr(part.section, "radius", 0.0)
        metal = drawn(obstacle.section.rectangle)
        hole = obstacle.section.hole_radius
        smaller = clear_of(cover, metal - polygon(hole, corners), radius)
        larger = clear_of(cover, metal - polygon(hole / math.cos(math.pi / corners), corners), radius)
        found = least(a, b, part, obstacle).distance
        assert (found >= smaller - 1e-9).all()
        assert (found <= larger + 1e-9).all()
        assert (larger - smaller <= 0.0012).all(), "a polygon of 512 corners is off a circle of 60 mm by 0.00113 mm"
        in_hole += int(((found > 0) & shapely.covered_by(cover, metal)).sum())
    assert in_hole >= (20 if part_section is not rectangle else 0), "the moves must try the hole"
