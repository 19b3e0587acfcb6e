"""Cuts on caps: worked by hand, drawn point by point, and searched for blindly.

``python -m tests.gen.test_capcuts 1000`` searches that many surveys.
"""

import math
import sys
from dataclasses import replace
from typing import Final, Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.bestline import TowardCam, greatest_least_stock, least_moved
from gen.capcuts import CapCuts, least_cap_cuts
from gen.rowline import NoLine, Survey
from gen.sections import Floats
from tests.surveys import (
    ARCH,
    ROUNDING_MM,
    WITHIN_MM,
    Search,
    campaign,
    ends_of,
    inside,
    least_of,
    random_limits,
    random_survey,
    searched,
    seeds,
    slice_holds,
    survey_of,
    tried,
    uncut,
)


def test_a_cut_on_the_middle_cap() -> None:
    """0.09 keeps the line within 0.01 of the ends; the middle hole's top, 0.03 high, comes down by what that lacks."""
    found = least_cap_cuts(ARCH, 0.09, "+Z")
    np.testing.assert_allclose(found.cuts, [0, 0.01, 0], atol=WITHIN_MM)
    assert found.bores.tolist() == [0, 1, 2]
    assert found.line[:4] == pytest.approx((0, 0, 0.01, 0), abs=WITHIN_MM)
    np.testing.assert_allclose(found.stock, 0.09, atol=2 * WITHIN_MM)
    np.testing.assert_allclose(found.thinnest_deg, [180, 0, 180], atol=0.1)
    assert {hold.section for hold in found.line.holds} == {0, 1, 2}


def test_caps_below() -> None:
    found = least_cap_cuts(replace(ARCH, z=-ARCH.z), 0.09, "-Z")
    np.testing.assert_allclose(found.cuts, [0, 0.01, 0], atol=WITHIN_MM)
    assert found.line[:4] == pytest.approx((0, 0, -0.01, 0), abs=WITHIN_MM)
    np.testing.assert_allclose(found.thinnest_deg, [0, 180, 0], atol=0.1)


def test_within_the_crank_s_limits() -> None:
    """0.005 toward a cam above leaves the line so low that the middle cap comes down by 0.015."""
    kept = least_cap_cuts(ARCH, 0.09, "+Z", TowardCam(0, 3, 0.005))
    assert kept.line.z0 == pytest.approx(0.005, abs=WITHIN_MM)
    np.testing.assert_allclose(kept.cuts, [0, 0.015, 0], atol=WITHIN_MM)
    assert {hold.limit for hold in kept.line.holds} == {"stock", "toward cam"}
    below = least_cap_cuts(replace(ARCH, z=-ARCH.z), 0.09, "-Z", TowardCam(0, -3, 0.005))
    assert below.line.z0 == pytest.approx(-0.005, abs=WITHIN_MM)
    np.testing.assert_allclose(below.cuts, [0, 0.015, 0], atol=WITHIN_MM)


@pytest.mark.parametrize(("side", "sign"), [("+Z", 1.0), ("-Z", -1.0)])
def test_never_lower_is_toward_minus_z_whatever_the_side_of_the_caps(side: Literal["+Z", "-Z"], sign: float) -> None:
    """The middle hole is off to the block's side: a line that may not go down cannot follow it there, one up may."""
    arch = replace(ARCH, z=-sign * ARCH.z)
    assert least_cap_cuts(arch, 0.084, side).cuts.sum() == pytest.approx(0, abs=WITHIN_MM)
    if sign < 0:
        assert least_cap_cuts(arch, 0.084, side, never_lower=True).line.z0 == pytest.approx(0.015, abs=2e-3)
        return
    with pytest.raises(NoLine) as refusal:
        least_cap_cuts(arch, 0.084, side, never_lower=True)
    assert refusal.value.best == pytest.approx(0.07, abs=1e-5)
    assert "never lower" in {hold.limit for hold in refusal.value.holds}


def test_no_cut_where_none_is_needed() -> None:
    found = least_cap_cuts(ARCH, 0.08, "+Z")
    assert found.cuts.tolist() == [0, 0, 0]
    assert found.stock.min() >= 0.08 - 1e-8


def test_no_cut_helps_a_hole_too_wide_or_too_far_aside() -> None:
    with pytest.raises(NoLine, match=r"held down at section 1$"):
        least_cap_cuts(replace(ARCH, radius=np.array([29.9, 29.95, 29.9])), 0.06, "+Z")
    with pytest.raises(NoLine, match=r"held down at sections 0, 1, 2$"):
        least_cap_cuts(replace(ARCH, y=np.array([0, 0.05, 0])), 0.09, "+Z")


def test_one_cut_serves_both_sections_of_a_bore() -> None:
    """Front and rear of the middle bore are 0.03 and 0.02 high: the higher one tells."""
    survey = replace(
        survey_of([0.0, 90, 110, 200], [0.0] * 4, [0.0, 0.03, 0.02, 0]), bore=np.array([1, 2, 2, 5], dtype=np.intp)
    )
    found = least_cap_cuts(survey, 0.09, "+Z")
    assert found.bores.tolist() == [1, 2, 5]
    np.testing.assert_allclose(found.cuts, [0, 0.01, 0], atol=WITHIN_MM)


def walls(survey: Survey, found: CapCuts, section: int) -> Floats:
    """Points of a hole's wall with its cap, above, cut and put back, from the line; shape (2, k)."""
    radius, cut = survey.radius[section], found.cuts[survey.bores[section] == found.bores][0]
    below, above = np.radians(np.linspace(90, 270, 4_001)), np.radians(np.linspace(-90, 90, 4_001))
    block = radius * np.array([np.sin(below), np.cos(below)])
    cap = radius * np.array([np.sin(above), np.cos(above)]) - [[0], [cut]]
    centre = np.array([survey.y, survey.z])[:, [section]] - found.line.at(survey.x[[section]])
    return np.concatenate([block, cap[:, cap[1] >= 0]], axis=1) + centre


@settings(max_examples=12)
@given(seed=seeds, share=st.floats(0.05, 0.6))
def test_the_cut_holes_drawn_point_by_point(seed: int, share: float) -> None:
    survey = random_survey(seed)
    best = least_of(survey, greatest_least_stock(survey))
    stock = best + share * ((survey.target - survey.radius).min() - best)
    found = tried(lambda: least_cap_cuts(survey, stock, "+Z"))
    if isinstance(found, NoLine):
        assert found.best < stock
        return
    assert (found.cuts >= 0).all()
    for section in range(len(survey.x)):
        wall = walls(survey, found, section)
        farthest = np.hypot(*wall).argmax()
        left = survey.target[section] - math.hypot(*wall[:, farthest])
        assert left == pytest.approx(found.stock[section], abs=1e-7)
        assert left >= stock - 2e-8


def test_a_side_that_caps_are_not_on() -> None:
    side: Literal["+Z"] = "Z"  # type: ignore[assignment]
    with pytest.raises(ValueError, match=r'^caps "Z": they are on the side "\+Z" or "-Z"$'):
        least_cap_cuts(ARCH, 0.05, side)


def test_a_way_to_the_cam_refused() -> None:
    with pytest.raises(ValueError, match=r"^TowardCam\(.*\): its direction must have a length"):
        least_cap_cuts(ARCH, 0.05, "+Z", TowardCam(0, 0, 0.1))


@pytest.mark.parametrize("stock", [math.nan, math.inf])
def test_stock_refused(stock: float) -> None:
    with pytest.raises(ValueError, match=rf"^stock {stock}: it must be a finite number$"):
        least_cap_cuts(ARCH, stock, "+Z")


def better_than_least_cuts(seed: int) -> float:
    """By how much a search betters the sum of the least cuts, mm; 0 where no cuts do."""
    survey, rng = random_survey(seed), np.random.default_rng(seed)
    best = least_of(survey, greatest_least_stock(survey))
    stock = best + 0.2 * ((survey.target - survey.radius).min() - best)
    found = tried(lambda: least_cap_cuts(survey, stock, "+Z"))
    if isinstance(found, NoLine):
        assert found.best < stock
        return 0
    keeps = stock - ROUNDING_MM
    fewest = searched(lambda lines: uncut(survey, lines, keeps), ends_of(survey, found.line), rng)
    return fewest + float(found.cuts.sum())


def better_than_least_cuts_within(seed: int) -> float:
    """The same within limits of the crank; 0 where cuts gain nothing there."""
    survey, rng = random_survey(seed), np.random.default_rng(seed)
    limits = random_limits(rng)
    far = float(survey.room.min()) + 1
    uncapped = tried(lambda: least_moved(survey, far, *limits))
    capped = tried(lambda: least_cap_cuts(survey, far, "+Z", *limits))
    assert isinstance(uncapped, NoLine)
    assert isinstance(capped, NoLine)
    if capped.best < uncapped.best + 1e-5:
        return 0
    stock = uncapped.best + 0.3 * (capped.best - uncapped.best)
    found = least_cap_cuts(survey, stock, "+Z", *limits)
    assert found.cuts.any()

    def worth(lines: Floats) -> Floats:
        return np.where(inside(lines, limits), uncut(survey, lines, stock - ROUNDING_MM), -np.inf)

    return searched(worth, ends_of(survey, found.line), rng) + float(found.cuts.sum())


SEARCHES: Final[dict[Search, int]] = {better_than_least_cuts: 10, better_than_least_cuts_within: 5}


@pytest.mark.parametrize("search", SEARCHES)
def test_no_search_finds_less_to_cut(search: Search) -> None:
    slice_holds(search, SEARCHES[search])


if __name__ == "__main__":
    campaign(SEARCHES, int(sys.argv[1]))
