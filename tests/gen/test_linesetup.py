"""Support moves and check readings: by hand, and as a block moved rigidly and surveyed again shows them."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.linesetup import CHECKED_AT, check_readings, settable, supports
from gen.roundness import Oval
from gen.rowline import Line
from gen.sections import Floats
from gen.surveyed import Section
from tests.surveys import wall


def section(x: float, y: float, z: float, oval: tuple[float, float] = (0.0, 0.0)) -> Section:
    told = Oval(oval[0], math.degrees(oval[1]), 0.0) if oval[0] else None
    return Section(0, None, x, y, z, 83.0, 83.0, "centre", oval=told)


def test_moves_by_hand() -> None:
    """The line is 0.1 high and 0.02 to +Y at X -400, 0.06 low and 0.04 to -Y at X 0."""
    found = supports(Line(-0.04, -0.00015, -0.06, -0.0004), (-400.0, 0.0))
    assert found.raise_ == pytest.approx([-0.1, 0.06])
    assert found.shift == pytest.approx([-0.02, 0.04])
    assert (found.second_raise, found.second_shift) == pytest.approx((0.16, 0.06))
    assert (found.new_y, found.new_z) == pytest.approx((0.02, 0.1))


def test_a_zero_is_where_the_control_can_set_it() -> None:
    assert settable(-379.95731, "mm") == pytest.approx(-379.957, abs=1e-12)
    assert settable(-15.50077 * 25.4, "inch") == pytest.approx(-15.5008 * 25.4, abs=1e-12)


def test_readings_by_hand() -> None:
    """A hole 0.02 above the bar is 0.04 nearer below than above, and 0.02 less 5e-6 nearer at the sides."""
    found = check_readings(section(-14, 0.0, 0.05), Line(0.0, 0.0, 0.03, 0.0))
    assert CHECKED_AT == (0, 90, 180, 270)
    assert found == pytest.approx((0, 0.02, 0.04, 0.02), abs=1e-5)
    aside = check_readings(section(-14, -0.02, 0.0), Line(0.0, 0.0, 0.0, 0.0))
    assert aside == pytest.approx((0, 0.02, 0, -0.02), abs=1e-5)
    assert aside[0] == 0


def test_an_oval_shows_twice_round() -> None:
    """0.04 larger upright: top and bottom are 0.01 farther than the mean, the sides 0.01 nearer."""
    found = check_readings(section(0, 0.0, 0.0, (0.04, 0.0)), Line(0.0, 0.0, 0.0, 0.0))
    assert found == pytest.approx((0, 0.02, 0, 0.02))


def moved(points: Floats, pivot_x: float, other_x: float, first: Floats, other: Floats) -> Floats:
    """Points (n, 3) of a block whose support at ``pivot_x`` goes by ``first`` in Y and Z, the other by ``other``.

    Exactly: the block turns about the first, the least there is, until the other stands toward where it was moved,
    along which it may slide; and goes with the first.
    """
    pivot = np.array([pivot_x, 0.0, 0.0])
    to = np.array([other_x - pivot_x, *(other - first)])
    to /= np.hypot.reduce(to)
    axis = np.cross([1.0, 0.0, 0.0], to)
    cross = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    turn = np.eye(3) + cross + cross @ cross / (1 + to[0])
    turned: Floats = (points - pivot) @ turn.T + pivot + [0.0, *first]
    return turned


ends = st.tuples(*[st.floats(-0.5, 0.5)] * 4)
"""Y and Z of the line at its two supports: tilts of up to 1 mm."""
offs = st.lists(st.tuples(*[st.floats(-0.12, 0.12)] * 2), min_size=3, max_size=5)
ovals = st.tuples(st.floats(0, 0.02), st.floats(0, math.pi))


@given(ends=ends, offs=offs, oval=ovals, at=st.sampled_from([(-400.0, -10.0), (-620.0, 150.0), (20.0, 300.0)]))
def test_a_block_moved_and_swept_again_shows_the_check_readings(
    ends: tuple[float, float, float, float],
    offs: list[tuple[float, float]],
    oval: tuple[float, float],
    at: tuple[float, float],
) -> None:
    """Both ways of moving it: the line then lies on the bar, which is at the old zero, or at the new one."""
    y1, z1 = (ends[2] - ends[0]) / (at[1] - at[0]), (ends[3] - ends[1]) / (at[1] - at[0])
    line = Line(ends[0] - y1 * at[0], y1, ends[1] - z1 * at[0], z1)
    xs = np.array([-14.0 - 100 * number for number in range(len(offs))])
    holes: Floats = np.column_stack([xs, line.at(xs).T + offs])
    found = supports(line, at)
    both = moved(holes, *at, np.array([found.shift[0], found.raise_[0]]), np.array([found.shift[1], found.raise_[1]]))
    one = moved(holes, *at, np.zeros(2), np.array([found.second_shift, found.second_raise]))
    for places in (both[:, 1:], one[:, 1:] - [found.new_y, found.new_z]):
        np.testing.assert_allclose(places, offs, atol=1e-5)
        for (x, y, z), (there_y, there_z) in zip(holes, places, strict=True):
            walls = [wall((there_y, there_z), 41.5, oval, math.radians(clock)) for clock in CHECKED_AT]
            shown = check_readings(section(x, y, z, oval), line)
            assert shown == pytest.approx([walls[0] - one for one in walls], abs=1e-4)
