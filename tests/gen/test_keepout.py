"""Keep-outs: their outlines, and when a section is in a hole. All by hand."""

import math

import numpy as np
import pytest

from gen.keepout import BoxKeepout, PlateKeepout, PolygonKeepout, keepout, segments_to_box
from gen.sections import Disc, Floats, Plate, Rectangle, Turned


def column(*values: float) -> Floats:
    return np.array(values)[:, None]


def test_two_rectangles_keep_out_a_rectangle() -> None:
    box = keepout(Rectangle(-1, 2, -3, 4), Rectangle(10, 20, 30, 40))
    assert isinstance(box, BoxKeepout)
    assert box.low.tolist() == [8, 26]
    assert box.high.tolist() == [21, 43]
    assert box.radius == 0


def test_a_disc_keeps_its_centre_out_of_the_rectangle_grown_by_its_radius() -> None:
    box = keepout(Disc(5), Rectangle(10, 20, 30, 40))
    assert isinstance(box, BoxKeepout)
    assert (box.low.tolist(), box.high.tolist(), box.radius) == ([10, 30], [20, 40], 5)


def test_a_rectangle_and_a_square_on_its_corner_keep_out_an_octagon() -> None:
    """A square with corners at (+-10, 0), (0, +-10); a part from -1 to 3 in Y and -2 to 5 in Z."""
    half = math.sqrt(50)
    octagon = keepout(Rectangle(-1, 3, -2, 5), Turned(Rectangle(-half, half, -half, half), math.pi / 4))
    assert isinstance(octagon, PolygonKeepout)
    expected = [(-3, -15), (1, -15), (11, -5), (11, 2), (1, 12), (-3, 12), (-13, 2), (-13, -5)]
    found = np.array([side.corner for side in octagon.sides])
    start = int(np.abs(found - np.array(expected[0])).sum(axis=1).argmin())
    assert np.roll(found, -start, axis=0) == pytest.approx(np.array(expected), abs=1e-12)
    assert [side.length for side in octagon.sides] == pytest.approx(
        np.roll([4, 2 * half, 7, 2 * half, 4, 2 * half, 7, 2 * half], start)
    )
    for side in octagon.sides:
        assert side.out @ side.along == pytest.approx(0)
        assert side.out @ (side.corner - np.array([-1, -1.5])) > 0, "outward from the middle of the octagon"


@pytest.mark.parametrize(("part", "count"), [(Rectangle(2, 2, 3, 3), 4), (Rectangle(2, 2, 3, 4), 6), (Disc(1), 4)])
def test_sides_without_length_are_left_out(part: Rectangle | Disc, count: int) -> None:
    polygon = keepout(part, Turned(Rectangle(-1, 1, -1, 1), 0.3))
    assert isinstance(polygon, PolygonKeepout)
    assert len(polygon.sides) == count
    assert all(side.length > 0.9 for side in polygon.sides)


@pytest.mark.parametrize(
    ("part", "fits"),
    [
        (Disc(10), True),
        (Disc(10.001), False),
        (Rectangle(-6, 6, -8, 8), True),
        (Rectangle(0, 12, 100, 116), True),
        (Rectangle(-6, 6.001, -8, 8), False),
        (Rectangle(-1, 1, 0, math.inf), False),
    ],
)
def test_a_plate_has_a_hole_only_for_what_fits(part: Rectangle | Disc, fits: bool) -> None:
    found = keepout(part, Plate(Rectangle(-20, 20, -20, 20), 10))
    assert isinstance(found, PlateKeepout if fits else BoxKeepout)


def test_when_a_disc_is_in_a_hole() -> None:
    """Hole 10, disc 4: its centre may be 6 off. Along Y at Z 0, from -12 to 12; at Z 3.6, where 4.8 is left; at Z 7."""
    plate = keepout(Disc(4), Plate(Rectangle(-20, 20, -20, 20), 10))
    assert isinstance(plate, PlateKeepout)
    start, move = np.array([[-12.0, -12, -12], [0, 3.6, 7]]), np.array([[24.0, 24, 24], [0, 0, 0]])
    enter, leave = plate.in_hole(start, move)
    assert enter[:2] == pytest.approx([0.25, 0.3])
    assert leave[:2] == pytest.approx([0.75, 0.7])
    assert enter[2] > leave[2]


def test_when_a_rectangle_is_in_a_hole() -> None:
    """Hole 10, corners at (+-3, +-4), up from the middle: the upper corners meet the wall at Z root 91, 4 above."""
    plate = keepout(Rectangle(-3, 3, -4, 4), Plate(Rectangle(-20, 20, -20, 20), 10))
    assert isinstance(plate, PlateKeepout)
    enter, leave = plate.in_hole(column(0, 0), column(0, 10))
    assert leave == pytest.approx((math.sqrt(91) - 4) / 10)
    assert enter == pytest.approx(-(math.sqrt(91) - 4) / 10)
    assert plate.room(column(1, 2)) == pytest.approx(10 - math.hypot(4, 6))


def test_room_below_0_outside_the_hole() -> None:
    plate = keepout(Disc(4), Plate(Rectangle(-20, 20, -20, 20), 10))
    assert isinstance(plate, PlateKeepout)
    assert plate.room(column(8, 0)) == pytest.approx(-2)


@pytest.mark.parametrize(
    ("start", "end", "distance", "at"),
    [
        ((-4, 1, 1), (-1, 1, 1), 1, 1),  # ends 1 short of a face
        ((-4, 1, 1), (5, 1, 1), 0, 4 / 9),  # goes in: the first touch
        ((1, 1, 1), (9, 1, 1), 0, 0),  # starts inside
        ((2, 1, 1), (2, 9, 1), 0, 0),  # along a face from inside its edges
        ((2, -3, 1), (2, 9, 1), 0, 0.25),  # along a face, touching it
        ((0, 0, 0), (0, 0, 0), 0, 0),  # stands at a corner
        ((-2, -3, -6), (-2, -3, -6), 7, 0),  # stands off a corner
        ((-6, 2, 1), (2, -6, 1), 2 * math.sqrt(2), 0.5),  # past an edge
        ((-10, 5, 1), (10, 5, 1), 3, None),  # past a face: any t over it
        ((6, 3, 1), (-4, -7, 1), math.sqrt(0.5), 0.35),  # past another edge
    ],
)
def test_a_segment_and_a_box(
    start: tuple[float, ...], end: tuple[float, ...], distance: float, at: float | None
) -> None:
    a, move, low, high = column(*start), column(*end) - column(*start), np.zeros(3), np.full(3, 2.0)
    found, time = segments_to_box(a, move, low, high)
    assert found == pytest.approx(distance, abs=1e-15)
    off = a + time * move
    assert np.linalg.norm(off - np.clip(off, 0, 2)) == pytest.approx(distance, abs=1e-15)
    assert at is None or time == pytest.approx(at)


def test_a_segment_and_an_endless_box() -> None:
    found, at = segments_to_box(column(-5, 7), column(3, -400), np.array([0, -math.inf]), np.array([1, math.inf]))
    assert found == pytest.approx(2)
    assert at == pytest.approx(1)


def test_a_move_across_a_hole_meets_the_plate_where_it_first_touches_it() -> None:
    """Rounding must not put that moment in the hole: from anywhere outside to anywhere outside, through the middle."""
    plate = keepout(Rectangle(-3, 3, -4, 4), Plate(Rectangle(-20, 20, -20, 20), 10))
    assert isinstance(plate, PlateKeepout)
    rng = np.random.default_rng(7)
    angles, middle = rng.uniform(0, 2 * math.pi, 5000), rng.uniform(-2, 2, (2, 5000))
    half = 60 * np.stack([np.cos(angles), np.sin(angles)])
    start, move = middle - half, 2 * half
    distance, at = plate.least(start, move)
    assert (distance == 0).all()
    touching = start + at * move
    assert np.abs(np.abs(touching) - [[23], [24]]).min(axis=0).max() < 1e-12
    assert plate.room(touching).max() < 0
