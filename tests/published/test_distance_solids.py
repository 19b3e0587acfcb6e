"""Least distances of solids against python-fcl (BSD-3, Flexible Collision Library), an independent library.

- A box moved straight covers, besides itself at both ends, what its edges sweep: those faces, as triangles, against the
  faces of the obstacle give the least distance over the whole move. Triangles are compared in floats on coordinates up
  to 400 mm: the same distance means to 1e-9 of it, or of 1 mm below that.
- A plate's round hole has triangles only for a polygon: one inside the circle and one round it enclose the truth, also
  of slanting moves in the hole, for which ours is a lower bound.
- Cylinders, at one moment: the library searches them by steps and stops at 1e-6 of the square of the distance or so.
  Half of its answers are within 1e-7 mm and the worst of 3,000 was off by 2.3e-4 mm; held to 1e-3 mm.
"""

import math
from collections.abc import Callable, Iterable
from typing import Any, Final

import fcl  # type: ignore[import-untyped]
import numpy as np
import pytest

from gen.distance import CUTS, least
from gen.sections import Disc, Floats, Obstacle, Part, Plate, Rectangle, Turned, bounds
from tests.published.test_distance import extent, plate, random_moves, rectangle, small_rectangle, turned

CYLINDER_MM: Final = 1e-3
CORNERS: Final = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)])
"""Corners of a box, X slowest: corner 4 i + 2 j + k is the i-th in X, the j-th in Y, the k-th in Z."""
EDGES: Final = [(one, one | bit) for bit in (1, 2, 4) for one in range(8) if not one & bit]
FACES: Final = [(0, 1, 3, 2), (4, 5, 7, 6), (0, 1, 5, 4), (2, 3, 7, 6), (0, 2, 6, 4), (1, 3, 7, 5)]
"""Corners of each face, in a ring."""
RINGS: Final = 128
"""Corners of the polygon in place of a hole."""


def surface(rings: Iterable[Floats]) -> Any:
    """Faces of four corners each, (4, 3), as triangles."""
    corners = np.concatenate(list(rings))
    first = np.arange(0, len(corners), 4)
    triangles = np.concatenate([np.stack([first, first + 1, first + 2], 1), np.stack([first, first + 2, first + 3], 1)])
    model = fcl.BVHModel()
    model.beginModel(len(corners), len(triangles))
    model.addSubModel(corners, triangles)
    model.endModel()
    return fcl.CollisionObject(model)


def upright(prism: Part | Obstacle) -> tuple[Floats, Floats, Floats]:
    """Lowest and highest corner of a box before it is turned about its centre, and its turn; (3,), (3,), (3, 3)."""
    low, high = bounds(prism.section.rectangle if isinstance(prism.section, Turned) else prism.section)
    angle = prism.section.angle if isinstance(prism.section, Turned) else 0.0
    cos, sin = math.cos(angle), math.sin(angle)
    turn = np.array([[1, 0, 0], [0, cos, -sin], [0, sin, cos]])
    return np.array([prism.low_x, *low]), np.array([prism.high_x, *high]), turn


def box(prism: Part | Obstacle, place: Floats) -> Any:
    """The library's own shape, carried to a place."""
    low, high, turn = upright(prism)
    return fcl.CollisionObject(fcl.Box(*(high - low)), fcl.Transform(turn, (low + high) / 2 + place))


def swept(prism: Part | Obstacle, a: Floats, b: Floats) -> Any:
    """What the faces of a box at a and at b, and its edges from a to b, cover."""
    low, high, turn = upright(prism)
    corners = (low + high) / 2 + (CORNERS - 0.5) * (high - low) @ turn.T
    from_a, from_b = corners + a, corners + b
    rings = [place[list(face)] for place in (from_a, from_b) for face in FACES]
    return surface(rings + [np.array([from_a[i], from_a[j], from_b[j], from_b[i]]) for i, j in EDGES])


def plate_with(obstacle: Obstacle, hole_radius: float) -> Any:
    """Faces of a plate whose hole is a polygon: strips from the hole to the outline on both faces, and both walls."""
    assert isinstance(obstacle.section, Plate)
    low, high = bounds(obstacle.section)
    outline = np.array([[y, z] for y in (low[0], high[0]) for z in (low[1], high[1])])
    angles = np.sort(np.concatenate([np.arange(RINGS) * math.tau / RINGS, np.arctan2(*outline.T[::-1]) % math.tau]))
    rays = np.column_stack([np.cos(angles), np.sin(angles)])
    with np.errstate(divide="ignore"):
        to_edge = np.maximum(low / rays, high / rays).min(axis=1)
    inner, outer = rays * hole_radius, rays * to_edge[:, None]
    rings = []
    for here in range(len(angles)):
        ahead = (here + 1) % len(angles)
        strip = (inner[here], outer[here], outer[ahead], inner[ahead])
        rings += [np.array([[x, *point] for point in strip]) for x in (obstacle.low_x, obstacle.high_x)]
        for wall in (inner, outer):
            one, other = wall[here], wall[ahead]
            ends = ((obstacle.low_x, one), (obstacle.high_x, one), (obstacle.high_x, other), (obstacle.low_x, other))
            rings.append(np.array([[x, *point] for x, point in ends]))
    return surface(rings)


def apart(one: Any, other: Any) -> float:
    """Distance by the library; below 0 stands for surfaces that cross."""
    return max(float(fcl.distance(one, other, fcl.DistanceRequest(), fcl.DistanceResult())), 0.0)


def least_by_library(part: Part, a: Floats, b: Floats, obstacle: Obstacle) -> float:
    """Least distance of boxes over a move: by what the part sweeps, and by what the obstacle does on going back.

    When they meet, one of the three shows it: one box is inside the other to begin with; or the surface that the part
    sweeps crosses the obstacle; or the obstacle is inside what the part sweeps, and the other way round they cross.
    """
    nowhere = np.zeros(3)
    if fcl.collide(box(part, a), box(obstacle, nowhere), fcl.CollisionRequest(), fcl.CollisionResult()):
        return 0.0
    ahead = apart(swept(part, a, b), swept(obstacle, nowhere, nowhere))
    back = apart(swept(part, a, a), swept(obstacle, nowhere, a - b))
    return min(ahead, back)


@pytest.mark.parametrize("kind", ["along", "across", "slanting"])
@pytest.mark.parametrize("section", [rectangle, turned])
@pytest.mark.long
def test_boxes_over_whole_moves(kind: str, section: Callable[[np.random.Generator], Rectangle | Turned]) -> None:
    rng, met = np.random.default_rng(30), 0
    for _ in range(20):
        part, obstacle = Part(*extent(rng), rectangle(rng)), Obstacle(*extent(rng), section(rng))
        a, b = random_moves(rng, kind, 50)
        expected = [least_by_library(part, start, end, obstacle) for start, end in zip(a, b, strict=True)]
        np.testing.assert_allclose(least(a, b, part, obstacle).distance, expected, rtol=1e-9, atol=1e-9)
        met += expected.count(0.0)
    assert 20 < met < 800, "some meet and some do not"


@pytest.mark.parametrize("kind", ["along", "across", "slanting"])
@pytest.mark.long
def test_boxes_at_a_plate(kind: str) -> None:
    """One corner of the polygon in 128 is off the circle of 60 mm by 0.018 mm."""
    rng, in_hole = np.random.default_rng(31), 0
    for _ in range(20):
        part, obstacle = Part(*extent(rng), small_rectangle(rng)), Obstacle(*extent(rng), plate(rng))
        assert isinstance(obstacle.section, Plate)
        hole = obstacle.section.hole_radius
        smaller = plate_with(obstacle, hole)
        larger = plate_with(obstacle, hole / math.cos(math.pi / RINGS))
        a, b = random_moves(rng, kind, 25)
        covers = [swept(part, start, end) for start, end in zip(a, b, strict=True)]
        low = np.array([apart(cover, smaller) for cover in covers])
        high = np.array([apart(cover, larger) for cover in covers])
        assert (high - low < 0.02).all()
        found = least(a, b, part, obstacle).distance
        assert (found <= high + 1e-9).all()
        piece = np.linalg.norm(b - a, axis=1) / CUTS if kind == "slanting" else 0
        assert (found >= low - piece - 1e-9).all()
        in_hole += int((high > low).sum())
    assert in_hole > 20, "nearest to the wall of the hole, in some"


@pytest.mark.parametrize("section", [rectangle, turned])
def test_cylinders_at_one_moment(section: Callable[[np.random.Generator], Rectangle | Turned]) -> None:
    """At the moment of ours the distance is ours, and at other moments of the move it is not less."""
    rng = np.random.default_rng(32)
    lying = np.array([[0, 0, 1], [0, 1, 0], [-1, 0, 0]])
    for _ in range(40):
        part, obstacle = Part(*extent(rng), Disc(float(rng.uniform(1, 40)))), Obstacle(*extent(rng), section(rng))
        assert isinstance(part.section, Disc)
        shape, still = fcl.Cylinder(part.section.radius, part.high_x - part.low_x), box(obstacle, np.zeros(3))
        middle = np.array([(part.low_x + part.high_x) / 2, 0, 0])
        a, b = random_moves(rng, "slanting", 10)
        for start, end, found, at in zip(a, b, *least(a, b, part, obstacle), strict=True):
            moments = [start + t * (end - start) + middle for t in (at, 0, 0.25, 0.5, 0.75, 1)]
            seen = [apart(fcl.CollisionObject(shape, fcl.Transform(lying, moment)), still) for moment in moments]
            assert seen[0] == pytest.approx(found, abs=CYLINDER_MM)
            assert min(seen) >= found - CYLINDER_MM
