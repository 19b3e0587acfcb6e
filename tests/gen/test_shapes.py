import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.shapes import (
    Corners,
    arrow_head,
    box_corners,
    circle,
    hatching,
    n,
    polygon,
    round_below,
    runs,
    shortened,
    zigzag,
)

SQUARE = box_corners((-10.0, 10.0), (-10.0, 10.0))
LINE = re.compile(r"M([-\d.]+),([-\d.]+)L([-\d.]+),([-\d.]+)")


def lines_of(path: str) -> list[tuple[float, float, float, float]]:
    found = [tuple(map(float, one)) for one in LINE.findall(path)]
    return [(a, b, c, d) for a, b, c, d in found]


def test_numbers_are_short_and_never_minus_nothing() -> None:
    assert [n(value) for value in (1.0, -2.5, 0.1234, -0.0004, 1200.0, 0.0)] == ["1", "-2.5", "0.123", "0", "1200", "0"]


def test_a_box_stands_upside_down_since_y_goes_down() -> None:
    assert polygon(box_corners((1, 3), (10, 20))) == "M1,-20L3,-20L3,-10L1,-10Z"


def test_a_circle_goes_through_its_own_two_ends() -> None:
    assert circle(42.0) == "M-42,0A42,42 0 1 0 42,0A42,42 0 1 0 -42,0Z"


def test_an_arrow_s_head_ends_at_its_tip() -> None:
    assert arrow_head(10, 5, 2, 0) == "M8,4.2L10,5L8,5.8"
    assert arrow_head(0, 0, 0, -5) == "M2,5L0,0L-2,5"


def test_a_zigzag_ends_where_it_should_and_goes_both_ways() -> None:
    points = [tuple(map(float, one.split(","))) for one in re.split("[ML]", zigzag(0, 10, 5, 1))[1:]]
    assert points[0] == (0, 5)
    assert points[-1] == (10, 5)
    assert {y for _, y in points[1:-1]} == {4.5, 5.5}
    assert [x for x, _ in points] == sorted(x for x, _ in points)


@pytest.mark.parametrize(("value", "below"), [(1.0, 1.0), (1.99, 1.0), (2.0, 2.0), (499.0, 200.0), (0.06, 0.05)])
def test_round_lengths(value: float, below: float) -> None:
    assert round_below(value) == pytest.approx(below)


def test_long_names_are_cut() -> None:
    assert shortened("centre", 6) == "centre"
    assert shortened("centre main", 6) == "centr\u2026"


def test_numbers_that_follow_each_other_are_told_as_runs() -> None:
    assert runs([1, 2, 3, 5, 7, 8]) == "1-3, 5, 7, 8"
    assert runs([]) == ""
    assert runs([0, 1, 2, 4], "abcde") == "a-c, e"


def test_level_hatching_is_counted_from_zero() -> None:
    lines = lines_of(hatching(SQUARE, SQUARE, slope_deg=0, apart=4, hole=0))
    assert lines == [(-10, y, 10, y) for y in (-8, -4, 0, 4, 8)]


def test_hatching_leaves_out_a_hole() -> None:
    lines = lines_of(hatching(SQUARE, SQUARE, slope_deg=0, apart=4, hole=5))
    assert (-10, 0, -5, 0) in lines
    assert (5, 0, 10, 0) in lines
    assert (-10, 8, 10, 8) in lines
    assert len(lines) == 2 + 3 * 2


def test_hatching_out_of_sight_is_left_out() -> None:
    seen = box_corners((-100.0, 100.0), (-1.0, 1.0))
    assert [line[1] for line in lines_of(hatching(SQUARE, seen, slope_deg=0, apart=1, hole=0))] == [-1, 0, 1]
    far = box_corners((-10.0, 10.0), (500.0, 600.0))
    assert hatching(SQUARE, far, slope_deg=0, apart=1, hole=0) == ""


@given(
    st.floats(-100, 100),
    st.floats(0.5, 80),
    st.floats(-100, 100),
    st.floats(0.5, 80),
    st.floats(-90, 90),
    st.floats(0.7, 9),
    st.floats(0, 60),
)
def test_hatching_stays_in_its_shape_and_out_of_its_hole(
    x: float, wide: float, z: float, high: float, slope_deg: float, apart: float, hole: float
) -> None:
    corners: Corners = box_corners((x, x + wide), (z, z + high))
    near = 0.002
    for x1, y1, x2, y2 in lines_of(hatching(corners, corners, slope_deg=slope_deg, apart=apart, hole=hole)):
        for part in (0.0, 0.3, 0.5, 1.0):
            at_x, at_y = x1 + (x2 - x1) * part, y1 + (y2 - y1) * part
            assert x - near <= at_x <= x + wide + near
            assert -z - high - near <= at_y <= -z + near
            assert math.hypot(at_x, at_y) >= hole - near
        slope = math.radians(slope_deg)
        along = (x2 - x1) * math.sin(slope) - (y2 - y1) * math.cos(slope)
        assert along == pytest.approx(0, abs=near)
