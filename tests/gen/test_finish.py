import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.finish import feed_for_ra_mm, feed_for_rt_mm, ra_mm, rt_mm, rt_mm_approx
from tests.cuts import ra_of_circle_mm

Roughness = Callable[[float, float], float]
TELLS = [rt_mm, rt_mm_approx, ra_mm]
INVERSES = [(rt_mm, feed_for_rt_mm), (ra_mm, feed_for_ra_mm)]

NOSES = st.floats(min_value=0.05, max_value=5)
SHARES = st.floats(min_value=0.001, max_value=1)


def test_a_feed_as_large_as_the_nose_s_radius_leaves_a_ridge_of_the_60_degree_arc() -> None:
    assert rt_mm(1, 1) == pytest.approx(1 - math.cos(math.radians(30)), rel=1e-14)


@pytest.mark.parametrize(
    ("share", "rt_low", "ra_low"), [(0.25, 0.0039, 0.0031), (0.5, 0.0159, 0.0128), (1.0, 0.0670, 0.0557)]
)
def test_how_far_the_parabola_is_from_the_circle_is_as_told(share: float, rt_low: float, ra_low: float) -> None:
    assert 1 - rt_mm_approx(share, 1) / rt_mm(share, 1) == pytest.approx(rt_low, abs=5e-5)
    assert ra_of_circle_mm(share, 1) / ra_mm(share, 1) - 1 == pytest.approx(ra_low, abs=5e-5)


@pytest.mark.parametrize("tells", TELLS)
@pytest.mark.parametrize(
    ("feed_mm", "shown"),
    [(0.41, "1.02"), (0.9, "2.25"), (0, "0"), (-0.1, "-0.25"), (math.nan, "nan"), (math.inf, "inf")],
)
def test_feeds_the_nose_does_not_allow_are_refused(tells: Roughness, feed_mm: float, shown: str) -> None:
    says = f"^a feed of {shown} times the nose's radius: roughness is told for feeds above 0 and up to 1 times it"
    with pytest.raises(ValueError, match=says):
        tells(feed_mm, 0.4)


@pytest.mark.parametrize(("tells", "feed_for"), INVERSES)
@pytest.mark.parametrize(("share", "shown"), [(1.01, "1.01"), (0, "0"), (-1, "-1"), (math.nan, "nan")])
def test_roughness_no_sensible_feed_leaves_is_refused(
    tells: Roughness, feed_for: Roughness, share: float, shown: str
) -> None:
    says = f"^a roughness {shown} times what the nose leaves at a feed of 1 times its radius, the most that is sensible"
    with pytest.raises(ValueError, match=says):
        feed_for(share * tells(0.4, 0.4), 0.4)


@given(NOSES, SHARES)
def test_feed_and_roughness_are_each_other_s_inverse(nose_mm: float, share: float) -> None:
    for tells, feed_for in INVERSES:
        assert feed_for(tells(share * nose_mm, nose_mm), nose_mm) == pytest.approx(share * nose_mm, rel=1e-9)


@given(NOSES, SHARES, SHARES)
def test_more_feed_is_rougher(nose_mm: float, one: float, other: float) -> None:
    less_mm, more_mm = sorted((one * nose_mm, other * nose_mm))
    for tells in TELLS:
        assert tells(less_mm, nose_mm) <= tells(more_mm, nose_mm)


@given(NOSES, SHARES, st.floats(min_value=1.001, max_value=10))
def test_a_larger_nose_is_smoother(nose_mm: float, share: float, larger: float) -> None:
    for tells in TELLS:
        assert tells(share * nose_mm, larger * nose_mm) < tells(share * nose_mm, nose_mm)


@given(NOSES, SHARES)
def test_the_parabola_tells_less_than_the_circle_leaves(nose_mm: float, share: float) -> None:
    feed_mm = share * nose_mm
    assert rt_mm_approx(feed_mm, nose_mm) <= rt_mm(feed_mm, nose_mm) * (1 + 1e-12)
    assert ra_mm(feed_mm, nose_mm) / rt_mm_approx(feed_mm, nose_mm) == pytest.approx(0.25660, abs=1e-5)
