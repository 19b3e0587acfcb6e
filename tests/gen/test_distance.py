"""Least distances over moves: worked by hand, and held to plain arithmetic at many moments of any move."""

import math
import tracemalloc
from typing import Final

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from gen import distance
from gen.distance import CUTS, beyond, least
from gen.sections import Disc, Floats, Obstacle, ObstacleSection, Part, PartSection, Plate, Rectangle, Turned
from tests.prisms import Place, distance_at, farthest, moves, obstacles, parts, point_on

ROUNDING_MM: Final = 1e-9
"""Positions here stay below 100 mm, endless sides of the plain arithmetic at 1e5; hits within this are the same."""
SQUARE_ON_CORNER: Final = Turned(Rectangle(-math.sqrt(50), math.sqrt(50), -math.sqrt(50), math.sqrt(50)), math.pi / 4)
"""Corners at (+-10, 0) and (0, +-10)."""
HEAD: Final = Part(0, 10, Rectangle(-5, 5, -5, 5))
BLOCK: Final = Obstacle(20, 30, Rectangle(-50, 50, -50, -10))
BAR: Final = Part(0, 100, Disc(25))
CUTTER: Final = Part(0, 0, Disc(4))
POINT: Final = Part(0, 0, Rectangle(0, 0, 0, 0))
BULKHEAD: Final = Obstacle(-32, 0, Plate(Rectangle(-150, 150, -200, 80), 42))
THIN_PLATE: Final = Obstacle(-5, 5, Plate(Rectangle(-20, 20, -20, 20), 10))
POST: Final = Obstacle(0, 10, Rectangle(0, 10, -100, 100))


def one(a: Place, b: Place, part: Part, obstacle: Obstacle) -> tuple[float, float]:
    found = least(a, b, part, obstacle)
    assert found.distance.shape == found.at.shape == (1,)
    return float(found.distance[0]), float(found.at[0])


@pytest.mark.parametrize(
    ("a", "b", "part", "obstacle", "expected", "at"),
    [
        # A head and a block: faces, edges, corners.
        ((7, 0, -20), (7, 0, -20), HEAD, BLOCK, 3, 0),
        ((0, 0, -20), (7, 0, -20), HEAD, BLOCK, 3, 1),
        ((0, 0, -20), (10, 0, -20), HEAD, BLOCK, 0, 1),
        ((0, 0, -20), (40, 0, -20), HEAD, BLOCK, 0, 0.25),
        ((25, 0, 15), (25, 0, 5), HEAD, BLOCK, 10, 1),
        ((25, 0, 15), (25, 0, -5), HEAD, BLOCK, 0, 1),
        ((6, 0, -2), (7, 0, -2), HEAD, BLOCK, math.hypot(3, 3), 1),
        ((7, 0, 9), (7, 0, -1), HEAD, BLOCK, 5, 1),
        ((8, 58, -2), (8, 58, 1), HEAD, BLOCK, math.sqrt(4 + 9 + 9), 0),
        ((42, 0, 50), (32, 0, 50), HEAD, BLOCK, math.hypot(2, 55), 1),
        # Past an edge on the slant, every axis changing: the edge of a post at X 0, Y 0; and past its face.
        ((-12, 2, 0), (2, -12, 7), POINT, POST, 10 / math.sqrt(2), 0.5),
        ((-12, 2, 0), (2, -12, 0), Part(0, 0, Rectangle(-1, 0, 0, 0)), POST, 10 / math.sqrt(2), 0.5),
        ((-20, -35, 0), (30, 45, 9), POINT, POST, 0, 0.4375),
        # A bar: beside a box, over its edge, level with its face.
        ((0, 60, 0), (-100, 60, 0), Part(0, 100, Disc(10)), Obstacle(0, 10, Rectangle(-40, 40, -5, 5)), 10, 0),
        ((0, 43, 9), (0, 43, 20), Part(0, 9, Disc(2)), Obstacle(0, 10, Rectangle(-40, 40, -5, 5)), 3, 0),
        ((0, 60, 8), (0, -60, 8), Part(0, 9, Disc(2)), Obstacle(0, 10, Rectangle(-40, 40, -5, 5)), 1, None),
        ((0, 60, 8), (0, -60, 8), Part(0, 9, Disc(3)), Obstacle(0, 10, Rectangle(-40, 40, -5, 5)), 0, None),
        # A disc of 1 past the edge of the post on the slant: 12 - u in X and u - 3 in Y are least together at u 7.5.
        ((-12, 2, 0), (2, -12, 0), Part(0, 0, Disc(1)), POST, math.sqrt(40.5), 7.5 / 14),
        ((-12, 2, 0), (4, 2, 0), Part(0, 0, Disc(1)), POST, 0, 12 / 16),
        ((-12, 2, 0), (4, 3, 0), Part(0, 0, Disc(1)), POST, 0, 12 / 16),
        # In a hole of 42: centred; 5 off; a rectangle with corners at (+-3, +-4) in a hole of 10.
        ((3, 0, 0), (-34.5, 0, 0), BAR, BULKHEAD, 17, 0.08),
        ((3, 3, 4), (-34.5, 3, 4), BAR, BULKHEAD, 12, 0.08),
        ((-10, 0, 0), (-10, 3, 4), BAR, BULKHEAD, 12, 1),
        ((-10, -3, 0), (-10, 3, 4), BAR, BULKHEAD, 12, 1),
        ((0, 0, 0), (3, 0, 0), Part(0, 1, Rectangle(-3, 3, -4, 4)), THIN_PLATE, 5, 0),
        ((0, -1, 0), (0, 0, 0), Part(0, 1, Rectangle(-3, 3, -4, 4)), THIN_PLATE, 10 - math.sqrt(32), 0),
        # Before the hole, and on into it: 3-4-5 with 4 to the wall.
        ((-8, 0, 0), (-20, 0, 0), Part(0, 0, Disc(6)), THIN_PLATE, 5, 0),
        ((-20, 0, 0), (50, 0, 0), Part(0, 0, Disc(6)), THIN_PLATE, 4, 15 / 70),
        # Filling the hole.
        ((-20, 0, 0), (50, 0, 0), Part(0, 0, Disc(10)), THIN_PLATE, 0, 15 / 70),
        # Out of the hole through the wall, into it, and across it: touched where 6 is left for the centre.
        ((0, 0, 0), (0, 12, 0), CUTTER, THIN_PLATE, 0, 0.5),
        ((0, 0, 100), (0, 0, 0), CUTTER, THIN_PLATE, 0, 0.94),
        ((0, 0, 0), (0, 0, 6), CUTTER, THIN_PLATE, 0, 1),
        ((0, -50, 0), (0, 50, 0), CUTTER, THIN_PLATE, 0, 0.3),
        ((0, 8, 0), (0, 7, 0), CUTTER, THIN_PLATE, 0, 0),
        # Beside a plate in X while crossing it.
        ((8, 0, 0), (8, 0, 100), CUTTER, THIN_PLATE, 3, 0.06),
        # Outside a plate, and too big for its hole.
        ((0, 50, 0), (0, 30, 0), CUTTER, THIN_PLATE, 6, 1),
        ((0, 0, 0), (0, 0, 0), Part(0, 0, Disc(11)), THIN_PLATE, 0, 0),
        # A square on its corner.
        ((0, 20, 0), (0, 20, 0), POINT, Obstacle(0, 1, SQUARE_ON_CORNER), 10, 0),
        ((0, 10, 10), (5, 10, 10), POINT, Obstacle(0, 1, SQUARE_ON_CORNER), 10 / math.sqrt(2), 0),
        ((0, 20, 20), (0, 20, -20), POINT, Obstacle(0, 1, SQUARE_ON_CORNER), 10, 0.5),
        ((0, 20, 20), (0, 20, -20), Part(0, 0, Disc(4)), Obstacle(0, 1, SQUARE_ON_CORNER), 6, 0.5),
        ((0, 20, 0), (0, 0, 20), POINT, Obstacle(0, 1, SQUARE_ON_CORNER), 10 / math.sqrt(2), None),
        ((0, 20, 0), (0, -20, 0), POINT, Obstacle(0, 1, SQUARE_ON_CORNER), 0, 0.25),
        ((0, 15, 0), (0, 12, 0), Part(0, 0, Rectangle(-2, 0, -1, 1)), Obstacle(0, 1, SQUARE_ON_CORNER), 0, 1),
        ((0, 15, 0), (0, 13, 0), Part(0, 0, Rectangle(-2, 0, -1, 1)), Obstacle(0, 1, SQUARE_ON_CORNER), 1, 1),
        ((-3, 10, 10), (-1, 10, 10), POINT, Obstacle(3, 4, SQUARE_ON_CORNER), math.sqrt(16 + 50), 1),
        # The stem, without end upward: beside, below and above.
        (
            (0, 0, 0),
            (0, 0, -80),
            Part(0, 1, Rectangle(-3, 3, 4, math.inf)),
            Obstacle(0, 1, Rectangle(8, 9, 0, 5)),
            5,
            0,
        ),
        ((0, 0, 6), (0, 0, 4), Part(0, 1, Rectangle(-3, 3, 4, math.inf)), Obstacle(0, 1, Rectangle(-9, 9, 0, 5)), 3, 1),
        (
            (0, 20, 6),
            (0, 20, -90),
            Part(0, 1, Rectangle(-3, 3, 4, math.inf)),
            Obstacle(0, 1, SQUARE_ON_CORNER),
            7,
            None,
        ),
        ((0, 0, 20), (0, 0, 12), Part(0, 1, Rectangle(0, 0, 4, math.inf)), Obstacle(0, 1, SQUARE_ON_CORNER), 6, 1),
        (
            (0, 90, 0),
            (0, 99, 0),
            Part(0, 1, Rectangle(-math.inf, 0, 20, 30)),
            Obstacle(0, 1, SQUARE_ON_CORNER),
            10,
            None,
        ),
        # Past an endless side only as the move ends.
        ((0, 40, 0), (0, 20, -90), Part(0, 1, Rectangle(-3, 3, 4, math.inf)), Obstacle(0, 1, SQUARE_ON_CORNER), 7, 1),
        ((0, 40, 0), (0, 20, 90), Part(0, 1, Rectangle(-3, 3, -math.inf, 4)), Obstacle(0, 1, SQUARE_ON_CORNER), 7, 1),
        # Slanting into a square on its corner; and past it: 5 - u in X, u - 2 above its corner.
        ((-12, 20, 0), (12, -20, 0), POINT, Obstacle(-1, 1, SQUARE_ON_CORNER), 0, 11 / 24),
        ((-12, 20, 0), (12, -20, 0), Part(0, 0, Disc(3)), Obstacle(-1, 1, SQUARE_ON_CORNER), 0, 11 / 24),
        ((-6, 0, 8), (6, 0, 20), POINT, Obstacle(-1, 1, SQUARE_ON_CORNER), 3 / math.sqrt(2), None),
        # Overlapping from the start, the disc's centre outside all the while.
        ((0, 12, 0), (0.5, 11, 0), Part(0, 0, Disc(3)), Obstacle(-1, 1, SQUARE_ON_CORNER), 0, 0),
        ((0, 12, 0), (0.5, 11, 0), Part(0, 0, Disc(3)), Obstacle(-1, 1, Rectangle(-10, 10, -10, 10)), 0, 0),
        # A table without end.
        (
            (0, 0, 50),
            (900, 70, 9),
            Part(0, 1, Disc(4)),
            Obstacle(-math.inf, math.inf, Rectangle(-math.inf, math.inf, -math.inf, 0)),
            5,
            1,
        ),
    ],
)
def test_worked_by_hand(a: Place, b: Place, part: Part, obstacle: Obstacle, expected: float, at: float | None) -> None:
    found, time = one(a, b, part, obstacle)
    assert found == pytest.approx(expected, rel=1e-12, abs=1e-12)
    assert at is None or time == pytest.approx(at, abs=1e-9)
    back, back_time = one(b, a, part, obstacle)
    assert back == pytest.approx(expected, rel=1e-12, abs=1e-12)
    assert distance_at(point_on(b, a, back_time), part, obstacle) == pytest.approx(expected, abs=1e-9)


def test_a_turned_rectangle_turns_from_y_toward_z() -> None:
    """A long thin one, turned by 30 degrees: its end is up at +Y, not down."""
    bar = Obstacle(0, 1, Turned(Rectangle(-60, 60, -1, 1), math.pi / 6))
    y, z = 50 * math.cos(math.pi / 6), 50 * math.sin(math.pi / 6)
    assert one((0, y, z), (0, y, z), POINT, bar)[0] == 0
    assert one((0, y, -z), (0, y, -z), POINT, bar)[0] == pytest.approx(50 * math.sin(math.pi / 3) - 1)


def test_a_slanting_move_before_and_after_a_hole_is_exact() -> None:
    """Over the plate's edge toward the middle of its hole, ever farther off in X; and back.

    Before the hole the gap in X is 3 + 12 t and the disc 16 - 40 t from the edge: least as from a straight line.
    """
    least_apart = (3 * 40 + 16 * 12) / math.hypot(12, 40)
    assert one((8, 40, 0), (20, 0, 0), CUTTER, THIN_PLATE) == pytest.approx((least_apart, 604 / 1744), abs=1e-9)
    assert one((20, 0, 0), (8, 40, 0), CUTTER, THIN_PLATE) == pytest.approx((least_apart, 1140 / 1744), abs=1e-9)


@pytest.mark.parametrize("back", [False, True])
def test_a_slanting_move_in_a_hole_is_a_bound_no_lower_than_one_piece(back: bool) -> None:
    """Through the hole and on, 2 up over 20: 4.5 is left as the cutter leaves the plate, then 2 less for every 20."""
    a, b = (-10.0, 0.0, 0.0), (10.0, 0.0, 2.0)
    found, _ = one(b, a, CUTTER, THIN_PLATE) if back else one(a, b, CUTTER, THIN_PLATE)
    truth = 4.5 * 20 / math.hypot(20, 2)
    assert truth - math.dist(a, b) / CUTS <= found <= truth
    assert found > truth - 0.1


RECTANGLE_IN_HOLE: Final = Part(0, 1, Rectangle(-3, 3, -4, 4))


@given(moves(), parts(), obstacles())
@example(((0, -50, 0), (0, 50, 0)), RECTANGLE_IN_HOLE, THIN_PLATE)
@example(((-9, -1, 0), (9, 1, 0)), RECTANGLE_IN_HOLE, THIN_PLATE)
@example(((-9, -30, 0), (9, 30, 0)), RECTANGLE_IN_HOLE, THIN_PLATE)
@example(((0, 5e-324, 0), (5e-324, 0, 0)), RECTANGLE_IN_HOLE, THIN_PLATE)
@example(((0, 20, 20), (1e-200, 20 + 1e-200, 0)), HEAD, Obstacle(0, 1, SQUARE_ON_CORNER))
def test_the_least_of_any_move(move: tuple[Place, Place], part: Part, obstacle: Obstacle) -> None:
    """Never above the distance at any moment; had at its own; below the least seen by no more than the move allows."""
    (a, b), count = move, 64
    found, at = one(a, b, part, obstacle)
    assert 0 <= at <= 1
    seen = [distance_at(point_on(a, b, step / count), part, obstacle) for step in range(count + 1)]
    at_own = distance_at(point_on(a, b, at), part, obstacle)
    assert found <= min(*seen, at_own) + ROUNDING_MM
    if bound_only(a, b, part, obstacle):
        assert found >= min(*seen, at_own) - math.dist(a, b) * (1 / CUTS + 1 / 2 / count) - ROUNDING_MM
    else:
        assert found == pytest.approx(at_own, abs=ROUNDING_MM)


def bound_only(a: Place, b: Place, part: Part, obstacle: Obstacle) -> bool:
    """Whether the move changes X and also Y or Z, with the section in a plate's hole at some moment of it."""
    if not isinstance(obstacle.section, Plate) or a[0] == b[0] or a[1:] == b[1:]:
        return False
    reach = min(farthest(part.section, *point_on(a, b, step / 256)[1:]) for step in range(257))
    return reach <= obstacle.section.hole_radius + math.dist(a[1:], b[1:]) / 256


@given(moves(), parts(), obstacles())
def test_the_same_seen_in_a_mirror(move: tuple[Place, Place], part: Part, obstacle: Obstacle) -> None:
    a, b = move
    found = one(a, b, part, obstacle)[0]
    for signs in ((-1, 1, 1), (1, -1, 1), (1, 1, -1)):
        mirrored = Part(*mirror(part.low_x, part.high_x, signs[0]), mirrored_part(part.section, signs))
        other = Obstacle(*mirror(obstacle.low_x, obstacle.high_x, signs[0]), mirrored_obstacle(obstacle.section, signs))
        again = one(mirrored_place(a, signs), mirrored_place(b, signs), mirrored, other)[0]
        assert again == pytest.approx(found, abs=ROUNDING_MM)


@given(moves(), parts(), obstacles())
def test_the_same_there_and_back(move: tuple[Place, Place], part: Part, obstacle: Obstacle) -> None:
    a, b = move
    assume(not bound_only(a, b, part, obstacle))
    assert one(b, a, part, obstacle)[0] == pytest.approx(one(a, b, part, obstacle)[0], abs=ROUNDING_MM)


@given(moves(), parts(), obstacles(), st.floats(0, 60))
def test_what_is_discarded_is_beyond_the_limit(
    move: tuple[Place, Place], part: Part, obstacle: Obstacle, limit: float
) -> None:
    found = one(*move, part, obstacle)[0]
    assert not beyond(*move, part, obstacle, limit)[0] or found > limit
    assert not beyond(*move, part, obstacle, found)[0], "never at the distance itself"


@given(moves(), parts(), obstacles())
def test_two_boxes_apart_along_one_axis_are_discarded(
    move: tuple[Place, Place], part: Part, obstacle: Obstacle
) -> None:
    gap = max(
        obstacle.low_x - part.high_x - max(move[0][0], move[1][0]),
        min(move[0][0], move[1][0]) + part.low_x - obstacle.high_x,
    )
    assume(gap > 1e-6)
    assert beyond(*move, part, obstacle, gap / 2)[0]


def test_discarded_by_the_corner_between_bounding_boxes() -> None:
    """Gaps of 3, 4 and 12 make 13."""
    part, obstacle = Part(0, 1, Rectangle(0, 1, 0, 1)), Obstacle(0, 5, Rectangle(0, 5, 0, 5))
    a, b = (8, 9, 17), (9, 12, 20)
    assert beyond(a, b, part, obstacle, 12.999).tolist() == [True]
    assert beyond(a, b, part, obstacle, 13).tolist() == [False]


def test_arrays_give_row_by_row_what_single_moves_give(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the length of a chunk: every kind of move in one array, some chunks not full."""
    a = np.array(
        [(-30, 0, 0), (-30, 0, 0), (3, 50, 0), (-10, 0, 60), (5, 5, 5), (0, 0, 0), (0, 0, 90), (9, 1, 1)], float
    )
    b = np.array([(30, 0, 0), (30, 1, 0), (3, -50, 0), (20, 70, 0), (5, 5, 5), (9, 9, 9), (0, 0, 0), (-9, 2, 1)], float)
    sections: list[PartSection] = [Rectangle(-3, 3, -4, 4), Disc(4), Rectangle(-3, 3, 4, math.inf)]
    others: list[ObstacleSection] = [Rectangle(10, 20, -5, 5), THIN_PLATE.section, SQUARE_ON_CORNER]
    for section in sections:
        for other in others:
            part, obstacle = Part(0, 5, section), Obstacle(-5, 5, other)
            alone = [one(tuple(start), tuple(end), part, obstacle) for start, end in zip(a, b, strict=True)]
            monkeypatch.setattr(distance, "CHUNK", 3)
            together = least(a, b, part, obstacle)
            monkeypatch.undo()
            assert np.column_stack(together) == pytest.approx(np.array(alone), abs=ROUNDING_MM)
            discarded = [bool(beyond(start, end, part, obstacle, 7)[0]) for start, end in zip(a, b, strict=True)]
            assert beyond(a, b, part, obstacle, 7).tolist() == discarded


def test_one_place_is_broadcast_against_many() -> None:
    found = least((0, 0, -20), [(7, 0, -20), (5, 0, -20)], HEAD, BLOCK)
    assert found.distance.tolist() == [3, 5]


def test_no_moves() -> None:
    for section in (Rectangle(0, 1, 0, 1), SQUARE_ON_CORNER, THIN_PLATE.section):
        obstacle = Obstacle(0, 1, section)
        assert least(np.empty((0, 3)), np.empty((0, 3)), HEAD, obstacle).distance.shape == (0,)
        assert beyond(np.empty((0, 3)), np.empty((0, 3)), HEAD, obstacle, 2).shape == (0,)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_places_not_known_are_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="moves that are not finite"):
        least((0, bad, 0), (0, 0, 0), HEAD, BLOCK)
    with pytest.raises(ValueError, match="moves that are not finite"):
        beyond((0, 0, 0), [(0, 0, 0), (0, 0, bad)], HEAD, BLOCK, 2)


@pytest.mark.parametrize("shape", [(), (2,), (4, 2), (1, 4, 3)])
def test_moves_of_another_shape_are_refused(shape: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match=r"moves of shape \(.*\): they must be"):
        least(np.zeros(shape), (0, 0, 0), HEAD, BLOCK)


@pytest.mark.parametrize("limit", [-1, math.nan])
def test_a_limit_below_0_is_refused(limit: float) -> None:
    with pytest.raises(ValueError, match=f"limit {limit}"):
        beyond((0, 0, 0), (0, 0, 0), HEAD, BLOCK, limit)


@pytest.mark.parametrize("section", [BLOCK.section, THIN_PLATE.section, SQUARE_ON_CORNER])
def test_memory_does_not_grow_with_the_moves(section: ObstacleSection, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the answer of 16 bytes a move: one array of 8 bytes a move more would be 200 kB more at the end."""
    monkeypatch.setattr(distance, "CHUNK", 1024)
    a = np.random.default_rng(1).uniform(-20, 20, (25 * 1024, 3))
    obstacle = Obstacle(0, 1, section)
    few, many = (peak(a[:rows], CUTTER, obstacle) - 16 * rows for rows in (2 * 1024, 25 * 1024))
    assert many < few + 50_000


def peak(a: Floats, part: Part, obstacle: Obstacle) -> int:
    tracemalloc.start()
    try:
        least(a, a[::-1], part, obstacle)
        beyond(a, a[::-1], part, obstacle, 2)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def mirror(low: float, high: float, sign: int) -> tuple[float, float]:
    return (low, high) if sign > 0 else (-high, -low)


def mirrored_place(place: Place, signs: tuple[int, int, int]) -> Place:
    return place[0] * signs[0], place[1] * signs[1], place[2] * signs[2]


def mirrored_rectangle(section: Rectangle, signs: tuple[int, int, int]) -> Rectangle:
    y, z = mirror(section.low_y, section.high_y, signs[1]), mirror(section.low_z, section.high_z, signs[2])
    return Rectangle(*y, *z)


def mirrored_part(section: PartSection, signs: tuple[int, int, int]) -> PartSection:
    return section if isinstance(section, Disc) else mirrored_rectangle(section, signs)


def mirrored_obstacle(section: ObstacleSection, signs: tuple[int, int, int]) -> ObstacleSection:
    match section:
        case Rectangle():
            return mirrored_rectangle(section, signs)
        case Turned(rectangle, angle):
            return Turned(mirrored_rectangle(rectangle, signs), angle * signs[1] * signs[2])
        case Plate(rectangle, hole_radius):
            return Plate(mirrored_rectangle(rectangle, signs), hole_radius)
