"""Holes measured at one section: walls drawn point by point, read the three ways, and told back."""

import math
from typing import Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.roundness import Gauged, Oval, Probed, Swept, gauged, probed, swept
from gen.sections import Floats

FOUR: Floats = np.arange(0.0, 360, 90)
EIGHT: Floats = np.arange(0.0, 360, 45)
TWELVE: Floats = np.arange(0.0, 360, 30)

offsets = st.tuples(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3))
radii = st.floats(5, 200)
clocks = st.floats(0, 180, exclude_max=True)
ovals = st.floats(0, 0.1)

TOO_FEW_PLACES = "a circle takes points at three places or more"
TOO_FEW_ANGLES = "an offset takes readings at three clock angles or more, not 2; e.g. 0, 90, 180, 270"


def way(clock_deg: Floats) -> Floats:
    """Y and Z of the unit vector at clock angles; shape (n, 2)."""
    angles = np.radians(clock_deg)
    return np.stack([np.sin(angles), np.cos(angles)], axis=1)


def wall(clock_deg: Floats, radius: float, oval: float = 0, oval_deg: float = 0, lobes: float = 0) -> Floats:
    """Radius of a hole at clock angles: an oval, and three lobes of ``lobes`` from lowest to highest."""
    second, third = np.radians(2 * (clock_deg - oval_deg)), np.radians(3 * clock_deg)
    walls: Floats = radius + oval / 4 * np.cos(second) + lobes / 2 * np.cos(third)
    return walls


def points_of(clock_deg: Floats, walls: Floats, centre: tuple[float, float] = (0, 0)) -> Floats:
    points: Floats = np.array(centre) + walls[:, None] * way(clock_deg)
    return points


def read(clock_deg: Floats, offset: tuple[float, float], radius: float) -> Floats:
    """How far the wall of a round hole is from an axis its centre is off from, at clock angles about that axis."""
    along = way(clock_deg) @ np.array(offset)
    wall: Floats = along + np.sqrt(radius**2 - (offset[0] ** 2 + offset[1] ** 2 - along**2))
    return wall


def same_way(one_deg: float, other_deg: float, within: float) -> bool:
    """Whether two directions of an oval are the same, either way round."""
    return abs((one_deg - other_deg + 90) % 180 - 90) <= within


# Probed points.


def test_three_points_have_their_circle() -> None:
    """3, 4, 5: the circle about (1, 2) of radius 5."""
    found = probed([(4, 6), (-2, 6), (6, 2)])
    assert found[:3] == pytest.approx((1, 2, 5), abs=1e-12)
    assert np.abs(found.deviations).max() < 1e-12
    assert found.roundness < 1e-12
    assert found.oval is None


def test_an_oval_and_its_lobes() -> None:
    """2a = 60.04 upright at 30 degrees, 59.96 across; three lobes of 0.01 on top."""
    found = probed(points_of(TWELVE, wall(TWELVE, 30, 0.08, 30, 0.01), (0.1, -0.2)))
    assert found[:3] == pytest.approx((0.1, -0.2, 30), abs=1e-5)
    assert found.oval is not None
    assert found.oval.size == pytest.approx(0.08, abs=1e-6)
    assert found.oval.clock_deg == pytest.approx(30, abs=0.01)
    assert found.oval.left_over == pytest.approx(0.01, abs=1e-5)
    assert found.roundness == pytest.approx(float(np.ptp(wall(TWELVE, 30, 0.08, 30, 0.01))), abs=1e-5)
    assert found.deviations.shape == (12,)


def test_deviations_are_positive_outside() -> None:
    points = points_of(EIGHT, wall(EIGHT, 30))
    points[2] *= 1.001
    found = probed(points)
    assert found.deviations.argmax() == 2
    assert found.deviations[2] > 0


@settings(max_examples=30)
@given(centre=st.tuples(st.floats(-500, 500), st.floats(-500, 500)), radius=radii, turn=clocks)
def test_a_circle_is_told_exactly(centre: tuple[float, float], radius: float, turn: float) -> None:
    found = probed(points_of(EIGHT + turn, wall(EIGHT, radius), centre))
    assert found[:3] == pytest.approx((*centre, radius), abs=1e-11)
    assert found.roundness < 1e-11


@settings(max_examples=30)
@given(seed=st.integers(0, 2**32 - 1), shift=st.tuples(st.floats(-100, 100), st.floats(-100, 100)), turn=clocks)
def test_moved_and_turned_points_move_and_turn_the_circle(seed: int, shift: tuple[float, float], turn: float) -> None:
    rng = np.random.default_rng(seed)
    clock = np.sort(rng.uniform(0, 360, 9))
    walls = 30 + rng.normal(size=9) * 0.02
    one = probed(points_of(clock, walls))
    other = probed(points_of(clock + turn, walls, shift))
    turned = one.y * way(np.array([90 + turn]))[0] + one.z * way(np.array([turn]))[0]
    assert other[:3] == pytest.approx((*(turned + shift), one.radius), abs=1e-10)
    np.testing.assert_allclose(other.deviations, one.deviations, atol=1e-10)


@settings(max_examples=30)
@given(seed=st.integers(0, 2**32 - 1), arc=st.sampled_from([20, 90, 200, 360]))
def test_no_circle_near_it_is_nearer(seed: int, arc: int) -> None:
    rng = np.random.default_rng(seed)
    clock = np.linspace(0, arc, 9) + rng.uniform(-1, 1, 9)
    points = points_of(clock, 30 + rng.normal(size=9) * 0.005)
    found = probed(points)

    def squares(y: float, z: float, radius: float) -> float:
        return float(((np.hypot(points[:, 0] - y, points[:, 1] - z) - radius) ** 2).sum())

    least = squares(*found[:3])
    for size in (1e-5, 1e-3, 0.1):
        for step in rng.normal(size=(20, 3)) * size:
            assert squares(*(np.array(found[:3]) + step)) >= least * (1 - 1e-12)


@settings(max_examples=30)
@given(oval=ovals, oval_deg=clocks, radius=st.floats(20, 60))
def test_unevenly_spread_points_tell_the_same_oval(oval: float, oval_deg: float, radius: float) -> None:
    """From two thirds of the way round, as under a bridge of the block: to a part in a hundred, and 1e-4 mm."""
    clock = np.linspace(60, 300, 17)
    found = probed(points_of(clock, wall(clock, radius, oval, oval_deg)))
    assert found.oval is not None
    assert found.oval.size == pytest.approx(oval, rel=0.01, abs=1e-4)


@pytest.mark.parametrize("clock", [np.linspace(0, 180, 25), np.array([0.0, 90, 180, 270]), np.linspace(0, 90, 5)])
def test_points_that_do_not_tell_an_oval(clock: Floats) -> None:
    assert probed(points_of(clock, wall(clock, 30, 0.02))).oval is None


@pytest.mark.parametrize(
    ("points", "text"),
    [
        ([(0, 0), (1, 1)], f"{TOO_FEW_PLACES}, not 2; spread them round the hole"),
        (
            [(0, 0), (1, 1), (0, 0), (1, 1)],
            f"{TOO_FEW_PLACES}, not 2; spread them round the hole",
        ),
        ([(3, 4)] * 3, f"{TOO_FEW_PLACES}, not 1; spread them round the hole"),
        ([(0, 0), (1, 2), (3, 6)], "points on one straight line: no circle goes through them"),
        ([(5, 0.1), (5, 0.7), (5, 0.3), (5, -9)], "points on one straight line: no circle goes through them"),
        (
            [(0, 0), (1, 0.01), (2, -0.01), (3, 0)],
            "points that a straight line is nearer to than any circle: spread them round the hole",
        ),
        (
            [(-1, 0), (1, 0), (0, 0), (0, 0.001), (0, -0.001)],
            "points too far from round: no circle was found nearest to them",
        ),
        ([(0, 0), (1, 0), (math.nan, 1)], "points that are not finite: every point needs Y and Z"),
        ([(0, 0, 1)] * 3, r"points of shape \(3, 3\): they must be \(n, 2\), Y and Z of each"),
    ],
)
def test_points_refused(points: list[tuple[float, ...]], text: str) -> None:
    with pytest.raises(ValueError, match=f"^{text}$"):
        probed(points)


def test_what_is_told_of_points_is_plain() -> None:
    found = probed(points_of(EIGHT, wall(EIGHT, 30)))
    assert type(found) is Probed
    assert [type(value) for value in found] == [float, float, float, np.ndarray, float, Oval]


# Indicator sweeps.


def test_four_readings() -> None:
    """Top reads 0.03 farther out than bottom, right 0.02 nearer than left: half of each is the offset."""
    found = swept([0, 90, 180, 270], [0.03, -0.005, 0, 0.035], grows="out")
    assert type(found) is Swept
    assert [*found[:5]] == [pytest.approx(-0.02), pytest.approx(0.015), None, pytest.approx(0), None]
    assert found.deviations == pytest.approx([0] * 4, abs=1e-15)


def test_a_plunger_pressed_in_reads_the_other_way() -> None:
    out = swept(EIGHT, read(EIGHT, (0.1, -0.2), 30), grows="out")
    pressed = swept(EIGHT, 5 - read(EIGHT, (0.1, -0.2), 30), grows="in")
    assert out[:2] == pytest.approx((0.1, -0.2), abs=1e-12)
    assert pressed[:2] == pytest.approx(out[:2], abs=1e-12)
    assert out.oval is not None
    assert pressed.oval is not None
    assert pressed.oval == pytest.approx(out.oval, abs=1e-6)
    assert pressed.cross == pytest.approx(out.cross)


def test_the_last_reading_closes_the_round() -> None:
    clock = [*range(0, 360, 60), 360]
    readings = [0.01, 0.01, 0.0, -0.01, -0.01, 0.0, 0.013]
    found = swept(clock, readings, grows="out")
    assert found.closing == pytest.approx(0.003)
    assert swept(clock, readings, grows="in").closing == pytest.approx(-0.003)
    assert found[:2] == pytest.approx(swept(clock[:-1], readings[:-1], grows="out")[:2])
    assert swept(clock[:-1], readings[:-1], grows="out").closing is None


def test_top_and_bottom_against_left_and_right() -> None:
    """Oval by 0.02 upright: the diameters differ by that as read; a slip of the finger on one reading as well."""
    upright = swept(FOUR, wall(FOUR, 30, 0.02), grows="out")
    assert upright.cross == pytest.approx(0.02)
    assert upright.oval is None, "four readings do not tell an oval's direction"
    assert swept(FOUR, wall(FOUR, 30, 0.02, 90), grows="out").cross == pytest.approx(-0.02)
    assert swept(FOUR, [0.0, 0.05, 0, 0], grows="out").cross == pytest.approx(-0.05)
    assert swept(FOUR, [0.0, 0.05, 0, 0], grows="in").cross == pytest.approx(0.05)
    assert swept(FOUR - 90, wall(FOUR - 90, 30, 0.02), grows="out").cross == pytest.approx(0.02)
    assert swept(FOUR + 80, wall(FOUR + 80, 30, 0.02, -10), grows="out").cross == pytest.approx(0.02)


def test_of_several_crosses_the_worst() -> None:
    assert swept(EIGHT, wall(EIGHT, 30, 0.02, 45), grows="out").cross == pytest.approx(0.02)
    assert swept([0, 120, 240], [0.0, 0, 0], grows="out").cross is None


@settings(max_examples=30)
@given(offset=offsets, radius=radii)
def test_a_round_hole_off_the_axis_has_no_cross_to_speak_of(offset: tuple[float, float], radius: float) -> None:
    found = swept(FOUR, read(FOUR, offset, radius), grows="out")
    assert found.cross is not None
    assert abs(found.cross) <= 1.01 * (offset[0] ** 2 + offset[1] ** 2) / radius + 1e-12
    assert found[:2] == pytest.approx(offset, abs=1e-10)


@settings(max_examples=30)
@given(offset=offsets, radius=radii)
def test_a_radius_tells_an_offset_from_an_oval(offset: tuple[float, float], radius: float) -> None:
    """Also where the angles are uneven; without it the oval is the one the docstring states."""
    clock = np.array([0.0, 40, 80, 130, 170, 200, 270, 310])
    told = swept(clock, read(clock, offset, radius) - radius, grows="out", radius=radius)
    assert told[:2] == pytest.approx(offset, abs=1e-9)
    assert told.oval is not None
    assert told.oval.size < 1e-9
    untold = swept(EIGHT, read(EIGHT, offset, radius), grows="out")
    assert untold.oval is not None
    assert untold.oval.size == pytest.approx((offset[0] ** 2 + offset[1] ** 2) / radius, rel=0.01, abs=1e-12)


@settings(max_examples=30)
@given(offset=offsets, oval=ovals, oval_deg=clocks)
def test_an_oval_is_told_with_an_offset(offset: tuple[float, float], oval: float, oval_deg: float) -> None:
    """To first order, as readings that are their sum have it; from uneven angles too."""
    clock = np.array([0.0, 50, 100, 160, 190, 250, 290, 330])
    found = swept(clock, way(clock) @ np.array(offset) + wall(clock, 0, oval, oval_deg), grows="out")
    assert found[:2] == pytest.approx(offset, abs=1e-12)
    assert found.oval is not None
    assert found.oval.size == pytest.approx(oval, abs=1e-12)
    assert found.oval.left_over < 1e-12
    assert oval < 1e-6 or same_way(found.oval.clock_deg, oval_deg, 1e-6)
    assert 0 <= found.oval.clock_deg < 180


@pytest.mark.parametrize(
    ("clock", "readings", "grows", "radius", "text"),
    [
        (
            [0, 90],
            [0, 1],
            "out",
            None,
            TOO_FEW_ANGLES,
        ),
        (
            [0, 90, 360],
            [0, 1, 0],
            "out",
            None,
            TOO_FEW_ANGLES,
        ),
        ([0, 90, 180, 450], [0, 1, 2, 1], "out", None, "clock angles 90 and 450 are the same: read there once"),
        ([0, 90, 0, 180], [0, 1, 0, 2], "out", None, "clock angles 0 and 0 are the same: read there once"),
        (
            [0, 30, 60, 90],
            [0, 1, 2, 3],
            "out",
            None,
            "clock angles 0, 30, 60, 90: too close together to tell an offset; spread them all round",
        ),
        ([0, 90, 180], [0, 0.5, 1], "up", None, 'readings that grow "up": they grow "out" or "in"'),
        ([0, 90, 180, 270], [0.2, 0, 0, 0], "out", 0.05, "radius 0.05: it must be more than the offset of 0.1"),
        ([0, 90, 180, 270], [0.2, 0, 0, 0], "out", math.nan, "radius nan: it must be more than the offset of 0.1"),
        (
            [0, 90, 180],
            [0, 1],
            "out",
            None,
            r"clock angles of shape \(3,\), readings of shape \(2,\): both must be \(n,\)",
        ),
        (
            [0, 90, 180],
            [0, 1, math.inf],
            "out",
            None,
            "clock angles or readings that are not finite: every reading needs both",
        ),
    ],
)
def test_sweeps_refused(
    clock: list[float], readings: list[float], grows: Literal["out", "in"], radius: float | None, text: str
) -> None:
    with pytest.raises(ValueError, match=f"^{text}$"):
        swept(clock, readings, grows=grows, radius=radius)


# Gauged diameters.


def test_two_diameters() -> None:
    assert [*gauged([0, 90], [60.02, 60.0])] == [pytest.approx(60.01), pytest.approx(0.02), None]
    assert gauged([30], [60.0]) == Gauged(60, 0, None)


def test_diameters_round_the_clock() -> None:
    """Oval by 0.02 upright at 45: the one at 45 is largest; a reading 0.004 off shows in what is left over."""
    found = gauged([0, 45, 90, 135], [60.0, 60.01, 60.0, 59.99])
    assert [*found] == [pytest.approx(60), pytest.approx(0.02), pytest.approx(Oval(0.02, 45, 0), abs=1e-9)]
    slip = gauged([0, 45, 90, 135], [60.004, 60.01, 60.0, 59.99]).oval
    assert slip is not None
    assert slip.left_over == pytest.approx(0.002)


@settings(max_examples=30)
@given(diameter=st.floats(10, 300), oval=ovals, oval_deg=clocks, turns=st.lists(st.integers(-3, 3), min_size=5))
def test_an_oval_is_told_from_diameters(diameter: float, oval: float, oval_deg: float, turns: list[int]) -> None:
    """From uneven angles, each from either of its ends."""
    clock = np.array([0.0, 30, 80, 115, 150])
    across = 2 * wall(clock, diameter / 2, oval, oval_deg)
    found = gauged(clock + 180 * np.array(turns[:5]), across)
    assert found.diameter == pytest.approx(diameter, abs=1e-10)
    assert found.oval is not None
    assert found.oval.size == pytest.approx(oval, abs=1e-10)
    assert oval < 1e-3 or same_way(found.oval.clock_deg, oval_deg, 1e-6)


@pytest.mark.parametrize(
    ("clock", "diameters", "text"),
    [
        ([], [], "no diameters: a size takes one or more"),
        ([10, 60, 190], [60, 60, 60], "clock angles 10 and 190 are the same: read there once"),
        ([0, 90], [60, 0], "diameter 0: it must be more than 0"),
        ([0, 90], [60, -60], "diameter -60: it must be more than 0"),
        ([0, math.nan], [60, 60], "clock angles or readings that are not finite: every reading needs both"),
    ],
)
def test_diameters_refused(clock: list[float], diameters: list[float], text: str) -> None:
    with pytest.raises(ValueError, match=f"^{text}$"):
        gauged(clock, diameters)
