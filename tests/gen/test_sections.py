"""Sections and prisms: what they refuse, and where their corners are."""

import math

import numpy as np
import pytest

from gen.sections import Disc, Obstacle, Part, Plate, Rectangle, Turned, bounds

SQUARE = Rectangle(-1, 1, -1, 1)


@pytest.mark.parametrize(
    ("low", "high"), [(1, 0), (math.nan, 1), (0, math.nan), (math.inf, math.inf), (-math.inf, -math.inf)]
)
def test_extents_inside_out_are_refused(low: float, high: float) -> None:
    with pytest.raises(ValueError, match=rf"Y from {low} to {high}: there must be two numbers"):
        Rectangle(low, high, 0, 1)
    with pytest.raises(ValueError, match=rf"Z from {low} to {high}: there must be two numbers"):
        Rectangle(0, 1, low, high)
    with pytest.raises(ValueError, match=rf"X from {low} to {high}: there must be two numbers"):
        Part(low, high, SQUARE)
    with pytest.raises(ValueError, match=rf"X from {low} to {high}: there must be two numbers"):
        Obstacle(low, high, SQUARE)


def test_sides_may_be_endless_or_have_no_length() -> None:
    stem = Rectangle(-3, 3, 0, math.inf)
    low, high = bounds(stem)
    assert low.tolist() == [-3, 0]
    assert high.tolist() == [3, math.inf]
    assert bounds(Rectangle(2, 2, 3, 3))[0].tolist() == [2, 3]
    assert Part(0, 0, Disc(42)).high_x == 0


@pytest.mark.parametrize("radius", [-1, math.inf, math.nan])
def test_impossible_radii_are_refused(radius: float) -> None:
    with pytest.raises(ValueError, match=f"radius of a disc: {radius}"):
        Disc(radius)


@pytest.mark.parametrize("hole", [0, -1, 10.001, math.nan])
def test_a_hole_must_lie_inside_its_plate(hole: float) -> None:
    with pytest.raises(ValueError, match=rf"hole of radius {hole} in .* at most 10, to lie inside"):
        Plate(Rectangle(-20, 10, -30, 40), hole)


def test_an_endless_hole_is_refused() -> None:
    endless = Rectangle(-math.inf, math.inf, -math.inf, math.inf)
    with pytest.raises(ValueError, match="hole of radius inf"):
        Plate(endless, math.inf)


@pytest.mark.parametrize("sides", [(0, 0, 0, 1), (0, 1, 2, 2), (0, 1, 0, math.inf), (-math.inf, math.inf, 0, 1)])
def test_only_a_rectangle_with_finite_sides_can_be_turned(sides: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="its sides must be finite and longer than 0"):
        Turned(Rectangle(*sides), 0.1)


@pytest.mark.parametrize("angle", [math.inf, math.nan])
def test_an_angle_must_be_finite(angle: float) -> None:
    with pytest.raises(ValueError, match=f"angle of a turned rectangle: {angle}"):
        Turned(SQUARE, angle)


def test_a_turned_rectangle_turns_from_y_toward_z_about_its_own_centre() -> None:
    """Centre (10, 20), half sides 4 and 3, turned by the angle whose cosine is 0.8 and sine 0.6. By hand."""
    turned = Turned(Rectangle(6, 14, 17, 23), math.atan2(0.6, 0.8))
    expected = [(8.6, 15.2), (15, 20), (11.4, 24.8), (5, 20)]
    assert turned.corners == pytest.approx(np.array(expected), abs=1e-12)
    low, high = bounds(turned)
    assert low == pytest.approx([5, 15.2])
    assert high == pytest.approx([15, 24.8])


def test_bounds_of_disc_and_plate() -> None:
    assert [side.tolist() for side in bounds(Disc(5))] == [[-5, -5], [5, 5]]
    assert [side.tolist() for side in bounds(Plate(Rectangle(-7, 8, -9, 10), 5))] == [[-7, -9], [8, 10]]
