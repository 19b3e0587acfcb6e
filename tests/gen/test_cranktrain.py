"""What follows the crank: signs, exact distances, backlash, chains and decks, by hand."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.cranktrain import at_cam, at_deck
from gen.linewanted import Cam, Deck
from gen.rowline import Line

SMALL = st.floats(-0.5, 0.5)


def cam(**told: Any) -> Cam:
    return Cam.model_validate({"toward": "+Z", "x": 0, "drive": "gears", "pressure_angle": 20} | told)


def up(rise: float, tilt: float = 0.0) -> Line:
    return Line(0.0, 0.0, rise, tilt)


def test_a_crank_that_rises_to_a_cam_above_takes_backlash_away() -> None:
    """0.05 nearer: 2 * 0.05 * tan 20 = 0.0364 of the 0.1 there is."""
    found = at_cam(cam(backlash=0.1), up(0.05))
    assert found.apart == pytest.approx(-0.05)
    assert found.backlash == pytest.approx(-0.036397, abs=1e-6)
    assert found.new_backlash == pytest.approx(0.063603, abs=1e-6)
    assert (found.distance, found.slack) == (None, None)


@pytest.mark.parametrize(
    ("toward", "apart"), [("+Z", -0.03), ("-Z", 0.03), ("+Y", -0.04), ("-Y", 0.04), (45, -0.07 / math.sqrt(2))]
)
def test_apart_counts_away_from_the_cam(toward: str | float, apart: float) -> None:
    """The crank goes 0.04 to +Y and 0.03 up."""
    found = at_cam(cam(toward=toward), Line(0.04, 0.0, 0.03, 0.0))
    assert found.apart == pytest.approx(apart)
    assert found.backlash == pytest.approx(2 * apart * math.tan(math.radians(20)))
    assert found.new_backlash is None


def test_the_shift_is_that_where_the_cam_is_driven() -> None:
    assert at_cam(cam(x=200), up(0.01, 0.0002)).apart == pytest.approx(-0.05)


def test_the_distance_is_exact_where_it_is_told() -> None:
    """3 sideways leaves a cam that was 4 away 5 away, though it is no farther along the way to it."""
    found = at_cam(cam(distance=4), Line(3.0, 0.0, 0.0, 0.0))
    assert (found.distance, found.apart) == pytest.approx((5, 1))
    assert at_cam(cam(), Line(3.0, 0.0, 0.0, 0.0)).apart == pytest.approx(0)
    assert at_cam(cam(distance=126.5), up(0.05)).distance == pytest.approx(126.45)


def test_a_chain_has_two_strands() -> None:
    chain = Cam.model_validate({"toward": "+Z", "x": 0, "drive": "chain", "distance": 300})
    nearer = at_cam(chain, up(0.05))
    assert (nearer.slack, nearer.distance) == pytest.approx((0.1, 299.95))
    assert (nearer.backlash, nearer.new_backlash) == (None, None)
    assert at_cam(chain, up(-0.05)).slack == pytest.approx(-0.1)


@given(y=SMALL, z=SMALL, clock=st.floats(0, 360), distance=st.floats(50, 300))
def test_the_exact_distance_is_near_the_plain_one(y: float, z: float, clock: float, distance: float) -> None:
    """They differ by less than the shift squared over twice the distance, and the exact one is the larger."""
    line = Line(y, 0.0, z, 0.0)
    plain, exact = at_cam(cam(toward=clock), line).apart, at_cam(cam(toward=clock, distance=distance), line).apart
    assert -1e-9 <= exact - plain <= (y * y + z * z) / (2 * (distance - 1)) + 1e-9


def test_a_deck_below_is_farther_from_a_crank_that_rises() -> None:
    deck = Deck.model_validate({"toward": "-Z", "height": 232.5})
    found = at_deck(deck, ((0.0, 0.05), (0.02, -0.01)))
    assert found.grows == pytest.approx((0.05, -0.01))
    assert found.heights == pytest.approx((232.55, 232.49))
    assert at_deck(Deck.model_validate({"toward": "+Z"}), ((0.0, 0.05), (0.0, 0.0))).grows == pytest.approx((-0.05, 0))
    assert at_deck(Deck.model_validate({"toward": "+Z"}), ((0.0, 0.0), (0.0, 0.0))).heights is None


def test_a_deck_aslant() -> None:
    """A bank at 45 degrees to +Y: 0.02 up and 0.02 to +Y are 0.0283 toward it."""
    found = at_deck(Deck.model_validate({"toward": 45}), ((0.02, 0.02), (0.02, -0.02)))
    assert found.grows == pytest.approx((-0.0282843, 0), abs=1e-7)
