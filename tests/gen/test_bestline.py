"""Lines through a row of holes that are best: worked by hand, what must hold for any survey, and searched for blindly.

``python -m tests.gen.test_bestline 1000`` searches that many surveys.
"""

import math
import pickle
import sys
from dataclasses import replace
from functools import partial
from typing import Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.bestline import TowardCam, greatest_along_x, greatest_along_x_within, greatest_least_stock, least_moved
from gen.rowline import Line, NoLine, Survey, least_squares, measure, through_ends
from gen.sections import Floats
from tests.surveys import (
    ARCH,
    ROUNDING_MM,
    WITHIN_MM,
    Limits,
    Search,
    campaign,
    ends_of,
    inside,
    largest_shift,
    least_of,
    least_stocks,
    random_limits,
    random_survey,
    searched,
    seeds,
    slice_holds,
    survey_of,
    tried,
    unmoved,
)

# By hand.


def test_an_arch() -> None:
    """Between the ends at 0 and the middle at 0.03, halfway: 0.015 off all three."""
    line = greatest_least_stock(ARCH)
    assert line[:4] == pytest.approx((0, 0, 0.015, 0), abs=1e-9)
    assert line.holds[0].section == 1, "the strongest first"
    assert {hold.limit for hold in line.holds} == {"stock"}
    assert {hold.section: hold.multiplier for hold in line.holds} == pytest.approx({0: 0.25, 1: 0.5, 2: 0.25}, abs=1e-6)
    measures = measure(ARCH, line)
    np.testing.assert_allclose(measures.stock, 0.085, atol=1e-9)
    np.testing.assert_allclose(measures.thinnest_deg, [180, 0, 180], atol=1e-4)
    assert measures.oversize == pytest.approx(-0.085)


def test_one_spun_bearing_in_the_middle() -> None:
    """It has metal only all round its own centre: the line goes through that, and leaves the ends the most it can."""
    survey = survey_of([0.0, 100, 200], [0.0, 0.04, 0], [0.0, -0.03, 0], [29.8, 29.98, 29.8])
    line = greatest_least_stock(survey)
    assert line.at(np.array([100.0]))[:, 0] == pytest.approx([0.04, -0.03], abs=1e-8)
    assert line.y1 == pytest.approx(0, abs=1e-6)
    assert line.z1 == pytest.approx(0, abs=1e-6)
    assert [(hold.section, hold.limit) for hold in line.holds] == [(1, "stock")]
    assert line.holds[0].multiplier == pytest.approx(1)


def test_least_moved_of_an_arch() -> None:
    """0.08 asks the line to rise to 0.01 in the middle; no line rises less at its higher end."""
    line = least_moved(ARCH, 0.08)
    assert line[:4] == pytest.approx((0, 0, 0.01, 0), abs=1e-6)
    assert [(hold.section, hold.limit) for hold in line.holds] == [(1, "stock")]
    assert line.holds[0].multiplier == pytest.approx(1, abs=1e-5)


def test_the_old_line_where_it_will_do() -> None:
    line = least_moved(ARCH, 0.06)
    assert line[:4] == pytest.approx((0, 0, 0, 0), abs=WITHIN_MM)
    assert line.holds == ()


def test_the_other_end_moves_no_more_than_it_must() -> None:
    """The first hole, 0.05 off, takes its end 0.03 that way; the last could stay."""
    survey = survey_of([0.0, 100, 200], [0.05, 0.02, 0], [0.0, 0, 0], [29.9, 29.5, 29.5])
    line = least_moved(survey, 0.08)
    assert line.at(survey.x)[0] == pytest.approx([0.03, 0.015, 0], abs=2 * WITHIN_MM)
    assert line.at(survey.x)[1] == pytest.approx([0, 0, 0], abs=1e-3)


def test_no_more_than_stated_toward_the_cam() -> None:
    """The hole at the end has 0.06 to go sideways or up; the cam, up and to +Y, lets it go 0.02 its way."""
    survey = survey_of([0.0, 100], [0.0, 0], [0.1, 0], [29.9, 29.9])
    free = least_moved(survey, 0.04)
    assert free.at(survey.x)[:, 0] == pytest.approx([0, 0.04], abs=WITHIN_MM)
    kept = least_moved(survey, 0.04, TowardCam(3, 4, 0.02))
    y, z = kept.at(survey.x)[:, 0]
    assert 0.6 * y + 0.8 * z == pytest.approx(0.02, abs=WITHIN_MM)
    assert math.hypot(y, z - 0.1) == pytest.approx(0.06, abs=WITHIN_MM)
    assert {(hold.section, hold.limit) for hold in kept.holds} == {(0, "stock"), (0, "toward cam")}


def test_never_lower() -> None:
    """A middle hole that sags asks the line down; kept up, it leaves 0.07."""
    sagging = replace(ARCH, z=-ARCH.z)
    assert least_moved(sagging, 0.08)[:4] == pytest.approx((0, 0, -0.01, 0), abs=WITHIN_MM)
    assert least_moved(sagging, 0.07, never_lower=True)[:4] == pytest.approx((0, 0, 0, 0), abs=WITHIN_MM)
    with pytest.raises(NoLine, match=r"at best 0\.0700\d\d mm, held down at sections 0, 1, 2$") as refusal:
        least_moved(sagging, 0.08, never_lower=True)
    assert refusal.value.best == pytest.approx(0.07, abs=WITHIN_MM)
    assert {(hold.section, hold.limit) for hold in refusal.value.holds} == {
        (1, "stock"),
        (0, "never lower"),
        (2, "never lower"),
    }


def test_a_stock_that_one_line_alone_keeps() -> None:
    assert least_moved(ARCH, 0.085)[:4] == pytest.approx((0, 0, 0.015, 0), abs=WITHIN_MM)


@pytest.mark.parametrize("seed", [2, 4, 13, 53])
def test_rows_out_of_line_by_millimetres(seed: int) -> None:
    """Some ten mm, and the one line that keeps the stock: floats all but lose the least slacks. Found by trying."""
    survey = random_survey(seed)
    survey = replace(survey, y=30 * survey.y, z=30 * survey.z)
    best = least_of(survey, greatest_least_stock(survey))
    line = least_moved(survey, best)
    assert least_of(survey, line) >= best - 2.1e-8
    assert largest_shift(survey, line) <= largest_shift(survey, greatest_least_stock(survey)) + WITHIN_MM


def test_no_line() -> None:
    with pytest.raises(
        NoLine,
        match=r"^no line keeps 0\.09 mm of stock at every section: at best 0\.085000 mm,"
        r" held down at sections 0, 1, 2$",
    ) as refusal:
        least_moved(ARCH, 0.09)
    again = pickle.loads(pickle.dumps(refusal.value))
    assert str(again) == str(refusal.value)
    assert (again.stock, again.best, again.holds) == (0.09, refusal.value.best, refusal.value.holds)
    assert refusal.value.best == pytest.approx(0.085, abs=2e-9)


def test_along_x_of_an_arch() -> None:
    """No tilt is wanted: halfway between the ends and the middle, as by the greatest of all lines."""
    line = greatest_along_x(ARCH)
    assert line[:4] == pytest.approx((0, 0, 0.015, 0), abs=1e-9)
    assert sum(hold.multiplier for hold in line.holds) == pytest.approx(1, abs=1e-6)
    assert line.holds[0].section == 1
    assert line.holds[0].multiplier == pytest.approx(0.5, abs=1e-6)
    assert {hold.limit for hold in line.holds} == {"stock"}


def test_along_x_of_a_tilted_row() -> None:
    """Centres 0.04 apart in Z and 0.03 in Y from end to end: the line is halfway, 0.025 off both, the middle loose."""
    survey = survey_of([0.0, 100, 200], [0.0, 0.015, 0.03], [0.0, 0.02, 0.04])
    line = greatest_along_x(survey)
    assert line[:4] == pytest.approx((0.015, 0, 0.02, 0), abs=1e-8)
    assert least_of(survey, line) == pytest.approx(0.075, abs=2e-9)
    assert {hold.section: hold.multiplier for hold in line.holds} == pytest.approx({0: 0.5, 2: 0.5}, abs=1e-5)


def test_along_x_of_three_centres_on_a_circle() -> None:
    """Centres 0.05 from Y 0.01 Z 0.02, on all sides of it: no smaller circle holds them."""
    survey = survey_of([0.0, 100, 200], [0.06, -0.02, -0.02], [0.02, 0.06, -0.02])
    line = greatest_along_x(survey)
    assert line[:4] == pytest.approx((0.01, 0, 0.02, 0), abs=1e-7)
    assert least_of(survey, line) == pytest.approx(0.1 - 0.05, abs=2e-9)


def test_along_x_leaves_more_where_there_is_less_room() -> None:
    """Two holes 0.06 apart in Y, room 0.1 and 0.08: 0.02 farther from the one with more, 0.06 left at both."""
    survey = survey_of([0.0, 100], [0.0, 0.06], [0.0, 0], [29.9, 29.92])
    line = greatest_along_x(survey)
    assert line[:4] == pytest.approx((0.04, 0, 0, 0), abs=1e-8)
    assert least_of(survey, line) == pytest.approx(0.06, abs=2e-9)


def test_along_x_no_lower_than_the_old_line_at_either_end() -> None:
    """Centres fall by 0.04 and the old line by 0.03: the middle is at -0.02, but the old line's high end is at 0."""
    survey = survey_of([0.0, 100, 200], [0.0, 0, 0], [0.0, -0.02, -0.04])
    old = Line(0, 0, 0, -0.03 / 200)
    line = greatest_along_x_within(survey, old, None, never_lower=True)
    assert line is not None
    assert line[:4] == pytest.approx((0, 0, 0, 0), abs=3e-8)
    assert {(hold.section, hold.limit) for hold in line.holds} == {(2, "stock"), (0, "never lower")}
    assert [hold.multiplier for hold in line.holds] == pytest.approx([1, 1], abs=1e-5)
    free = greatest_along_x_within(survey, old, None, never_lower=False)
    assert free is not None
    assert free[:4] == pytest.approx(greatest_along_x(survey)[:4], abs=1e-8)


def test_along_x_no_nearer_to_the_cam_than_stated() -> None:
    """The middle is at 0.015; an old line 0.2 up at its far end leaves 0.005 at the near one."""
    line = greatest_along_x_within(ARCH, Line(0, 0, 0, 0.001), TowardCam(0, 2, 0.005), never_lower=False)
    assert line is not None
    assert line[:4] == pytest.approx((0, 0, 0.005, 0), abs=3e-8)
    assert ("toward cam", 0) in {(hold.limit, hold.section) for hold in line.holds}


@pytest.mark.parametrize(("most", "keeps"), [(0.0299, False), (0.03, True), (0.0301, True)])
def test_along_x_between_two_limits_there_may_be_none(most: float, keeps: bool) -> None:
    """An old line that rises by 0.03: no lower than its high end, and at the low one no higher by more than most."""
    old = Line(0, 0, 0.4, 0.03 / 200)
    line = greatest_along_x_within(ARCH, old, TowardCam(0, 1, most), never_lower=True)
    assert (line is not None) is keeps
    assert line is None or line.at(ARCH.x)[1] == pytest.approx([0.43] * 3, abs=3e-8)


# What holds for any survey.


@settings(max_examples=10)
@given(seed=seeds, shift=st.tuples(*[st.floats(-0.3, 0.3)] * 2), tilt=st.tuples(*[st.floats(-5e-4, 5e-4)] * 2))
def test_a_shifted_and_tilted_row_shifts_and_tilts_the_line(
    seed: int, shift: tuple[float, float], tilt: tuple[float, float]
) -> None:
    survey = random_survey(seed)
    line = greatest_least_stock(survey)
    moved = replace(survey, y=survey.y + shift[0] + tilt[0] * survey.x, z=survey.z + shift[1] + tilt[1] * survey.x)
    there = greatest_least_stock(moved)
    expected = Line(line.y0 + shift[0], line.y1 + tilt[0], line.z0 + shift[1], line.z1 + tilt[1])
    assert least_of(moved, there) == pytest.approx(least_of(survey, line), abs=3e-9)
    np.testing.assert_allclose(there.at(survey.x), expected.at(survey.x), atol=1e-4)
    for simple in (through_ends, least_squares):
        np.testing.assert_allclose(
            simple(moved).at(survey.x) - simple(survey).at(survey.x),
            [shift[0] + tilt[0] * survey.x, shift[1] + tilt[1] * survey.x],
            atol=1e-12,
        )


@settings(max_examples=10)
@given(seed=seeds, more=st.floats(0, 0.5))
def test_larger_targets_leave_more(seed: int, more: float) -> None:
    """All by as much: that much. One: no less, and no more than its multiplier promises."""
    survey = random_survey(seed)
    line = greatest_least_stock(survey)
    least = least_of(survey, line)
    all_more = replace(survey, target=survey.target + more)
    assert least_of(all_more, greatest_least_stock(all_more)) == pytest.approx(least + more, abs=3e-9)
    one = seed % len(survey.x)
    one_more = replace(survey, target=survey.target + more * np.eye(len(survey.x))[one])
    gain = least_of(one_more, greatest_least_stock(one_more)) - least
    promised = sum(hold.multiplier for hold in line.holds if hold.section == one) + 1e-3
    assert -3e-9 <= gain <= promised * more + 3e-9


@settings(max_examples=10)
@given(seed=seeds)
def test_what_holds_a_line_down_alone_does(seed: int) -> None:
    """The multipliers add up to 1, those held have the least stock, and without the others the line is no better."""
    survey = random_survey(seed)
    line = greatest_least_stock(survey)
    stock = measure(survey, line).stock
    assert sum(hold.multiplier for hold in line.holds) == pytest.approx(1, abs=0.02)
    assert all(stock[hold.section] <= stock.min() + 1e-5 for hold in line.holds)
    loose = np.full(len(stock), 10.0)
    loose[[hold.section for hold in line.holds]] = 0
    others = replace(survey, target=survey.target + loose)
    assert least_of(others, greatest_least_stock(others)) == pytest.approx(stock.min(), abs=1e-5)


@settings(max_examples=10)
@given(seed=seeds)
def test_no_line_leaves_more_than_the_greatest(seed: int) -> None:
    survey = random_survey(seed)
    greatest = least_of(survey, greatest_least_stock(survey))
    for line in (through_ends(survey), least_squares(survey)):
        assert least_of(survey, line) <= greatest + 1e-9
    with pytest.raises(NoLine, match=r"^no line keeps"):
        least_moved(survey, greatest + 1e-6)


@settings(max_examples=10)
@given(
    seed=seeds, less=st.floats(1e-4, 0.2), most=st.floats(0, 0.1), clock=st.floats(0, 360), never_lower=st.booleans()
)
def test_limits_are_kept_and_cost_what_they_cost(
    seed: int, less: float, most: float, clock: float, never_lower: bool
) -> None:
    survey = random_survey(seed)
    stock = least_of(survey, greatest_least_stock(survey)) - less
    free = least_moved(survey, stock)
    assert least_of(survey, free) >= stock - 1e-8
    lower = least_moved(survey, stock - 0.01)
    assert largest_shift(survey, lower) <= largest_shift(survey, free) + WITHIN_MM
    way = np.array([math.sin(math.radians(clock)), math.cos(math.radians(clock))])
    cam = TowardCam(2 * way[0], 2 * way[1], most)
    kept = tried(lambda: least_moved(survey, stock, cam, never_lower=never_lower))
    if isinstance(kept, NoLine):
        assert kept.best < stock
        return
    assert least_of(survey, kept) >= stock - 1e-8
    assert (way @ kept.at(survey.x)).max() <= most + 1.1e-8
    assert not never_lower or kept.at(survey.x)[1].min() >= -1.1e-8
    assert largest_shift(survey, kept) >= largest_shift(survey, free) - WITHIN_MM


@settings(max_examples=10)
@given(seed=seeds)
def test_a_mirrored_row_mirrors_the_line(seed: int) -> None:
    survey = random_survey(seed)
    line, other = greatest_least_stock(survey), greatest_least_stock(replace(survey, y=-survey.y))
    np.testing.assert_allclose(other.at(survey.x), line.at(survey.x) * [[-1], [1]], atol=1e-4)
    one, mirrored = measure(survey, line), measure(replace(survey, y=-survey.y), other)
    np.testing.assert_allclose(mirrored.stock, one.stock, atol=1e-4)


@settings(max_examples=10)
@given(seed=seeds, more=st.floats(1e-3, 0.05))
def test_multipliers_along_x_tell_what_a_larger_target_gains(seed: int, more: float) -> None:
    """Each target may gain no more than its multiplier says, and all of them together just what they grow by."""
    survey = random_survey(seed)
    line = greatest_along_x(survey)
    least = least_of(survey, line)
    assert (line.y1, line.z1) == (0, 0)
    assert least <= least_of(survey, greatest_least_stock(survey)) + 2e-8
    assert sum(hold.multiplier for hold in line.holds) == pytest.approx(1, abs=0.02)
    assert all(measure(survey, line).stock[hold.section] <= least + 1e-5 for hold in line.holds)
    one = seed % len(survey.x)
    one_more = replace(survey, target=survey.target + more * np.eye(len(survey.x))[one])
    promised = sum(hold.multiplier for hold in line.holds if hold.section == one) + 1e-3
    assert -3e-9 <= least_of(one_more, greatest_along_x(one_more)) - least <= promised * more + 3e-9


@settings(max_examples=10)
@given(seed=seeds, more=st.floats(1e-3, 0.05))
def test_multipliers_along_x_tell_what_a_limit_costs(seed: int, more: float) -> None:
    """Looser toward the cam gains no more than its multipliers say, and all that counts is named."""
    survey, old = random_survey(seed), through_ends(random_survey(seed))
    cam = random_limits(np.random.default_rng(seed))[0] or TowardCam(1, 1, 0.0)
    line = greatest_along_x_within(survey, old, cam, never_lower=False)
    looser = greatest_along_x_within(survey, old, cam._replace(most=cam.most + more), never_lower=False)
    assert line is not None
    assert looser is not None
    assert least_of(survey, line) <= least_of(survey, greatest_along_x(survey)) + 2e-8
    promised = sum(hold.multiplier for hold in line.holds if hold.limit == "toward cam") + 2e-3
    assert -3e-9 <= least_of(survey, looser) - least_of(survey, line) <= promised * more + 3e-9
    assert sum(hold.multiplier for hold in line.holds if hold.limit == "stock") == pytest.approx(1, abs=0.02)


# Refusals.


@pytest.mark.parametrize(
    "cam", [TowardCam(0, 0, 0.1), TowardCam(0, 1, -0.1), TowardCam(0, math.inf, 0), TowardCam(0, 1, math.nan)]
)
def test_ways_to_the_cam_refused(cam: TowardCam) -> None:
    with pytest.raises(
        ValueError, match=r"^TowardCam\(.*\): its direction must have a length, and the most toward it be 0 or more$"
    ):
        least_moved(ARCH, 0.05, cam)
    with pytest.raises(ValueError, match=r"^TowardCam\(.*\): its direction must have a length"):
        greatest_along_x_within(ARCH, Line(0, 0, 0, 0), cam, never_lower=False)


@pytest.mark.parametrize("stock", [math.nan, math.inf])
def test_stock_refused(stock: float) -> None:
    with pytest.raises(ValueError, match=rf"^stock {stock}: it must be a finite number$"):
        least_moved(ARCH, stock)


# The search.


def better_than_greatest(seed: int) -> float:
    """By how much a search betters the line of greatest least stock of a random survey, mm."""
    survey, rng = random_survey(seed), np.random.default_rng(seed)
    line = greatest_least_stock(survey)
    return searched(partial(least_stocks, survey), ends_of(survey, line), rng) - least_of(survey, line)


def better_than_least_moved(seed: int) -> float:
    """By how much a search betters the largest shift of the line that is least moved, mm."""
    survey, rng = random_survey(seed), np.random.default_rng(seed)
    stock = least_of(survey, greatest_least_stock(survey)) - float(rng.choice([1e-4, 1e-2, 0.05]))
    line = least_moved(survey, stock)
    keeps = stock - ROUNDING_MM
    found = searched(lambda lines: unmoved(survey, lines, keeps), ends_of(survey, line), rng)
    return found + largest_shift(survey, line)


def better_than_least_moved_within(seed: int) -> float:
    """The same within limits of the crank."""
    survey, rng = random_survey(seed), np.random.default_rng(seed)
    limits = random_limits(rng)
    stock = most_within(survey, limits) - float(rng.choice([1e-4, 1e-2, 0.05]))
    line = least_moved(survey, stock, *limits)

    def worth(lines: Floats) -> Floats:
        return np.where(inside(lines, limits), unmoved(survey, lines, stock - ROUNDING_MM), -np.inf)

    return searched(worth, ends_of(survey, line), rng) + largest_shift(survey, line)


def better_than_the_most_within(seed: int) -> float:
    """By how much a search betters the least stock that is told as the most within limits of the crank, mm."""
    survey, rng = random_survey(seed), np.random.default_rng(seed)
    limits = random_limits(rng)
    most = most_within(survey, limits)
    line = least_moved(survey, most, *limits)
    assert least_of(survey, line) == pytest.approx(most, abs=3e-8), "the line that alone keeps it"

    def worth(lines: Floats) -> Floats:
        return np.where(inside(lines, limits), least_stocks(survey, lines), -np.inf)

    return searched(worth, ends_of(survey, line), rng) - most


def most_within(survey: Survey, limits: Limits) -> float:
    """The most stock that a line within limits of the crank keeps, as a refusal tells it."""
    refusal = tried(lambda: least_moved(survey, float(survey.room.min()) + 1, *limits))
    assert isinstance(refusal, NoLine)
    return refusal.best


def better_along_x(seed: int) -> float:
    """By how much a search betters the line parallel to X of greatest least stock, mm."""
    survey, rng = random_survey(seed), np.random.default_rng(seed)
    line = greatest_along_x(survey)

    def worth(lines: Floats) -> Floats:
        return least_stocks(survey, lines[:, [0, 1, 0, 1]])

    return searched(worth, ends_of(survey, line), rng) - least_of(survey, line)


def better_along_x_within(seed: int) -> float:
    """The same within limits of the crank from an old line that is tilted; of none, that the search finds none."""
    survey, rng = random_survey(seed), np.random.default_rng(seed)
    limits, old = random_limits(rng), least_squares(survey)
    line = greatest_along_x_within(survey, old, *limits)

    def worth(lines: Floats) -> Floats:
        level = lines[:, [0, 1, 0, 1]]
        return np.where(inside(level, limits, ends_of(survey, old)), least_stocks(survey, level), -np.inf)

    if line is None:
        found = searched(worth, ends_of(survey, greatest_along_x(survey)), rng)
        return 0 if found < 0 else found
    assert (line.y1, line.z1) == (0, 0)
    return searched(worth, ends_of(survey, line), rng) - least_of(survey, line)


SEARCHES: Final[dict[Search, int]] = {
    better_than_greatest: 1,
    better_than_least_moved: 5,
    better_than_least_moved_within: 8,
    better_than_the_most_within: 5,
    better_along_x: 8,
    better_along_x_within: 4,
}
"""Each search, and of how many surveys the suite gives it one: together some hundreds."""


@pytest.mark.parametrize("search", SEARCHES)
def test_no_search_finds_a_better_line(search: Search) -> None:
    slice_holds(search, SEARCHES[search])


def test_the_search_would_find_one() -> None:
    """From the line of least squares it comes near the best line: it is no blind eye that sees nothing better."""
    for seed in range(12):
        survey = random_survey(seed)
        start, best = least_squares(survey), least_of(survey, greatest_least_stock(survey))
        worth = partial(least_stocks, survey)
        found = searched(worth, ends_of(survey, start), np.random.default_rng(seed))
        assert best - found <= max(0.05 * (best - least_of(survey, start)), 1e-4)


if __name__ == "__main__":
    campaign(SEARCHES, int(sys.argv[1]))
