"""The lines that come into question: on an arch by hand, and what must hold of them for any survey."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.lines import ZERO_LINE, between, breaks, cap_cuts, keeps, lines
from gen.linewanted import LineWanted
from gen.rowline import Line
from tests.surveys import ARCH, random_survey, seeds

NAMES = ["least moved", "most stock", "new zero only", "end bores", "least squares", "as it lies"]


def wanted(**told: Any) -> LineWanted:
    return LineWanted.model_validate(told)


def test_an_arch() -> None:
    """Ends at 0, the middle 0.03 high, 0.1 of room: the least each line leaves."""
    found = lines(ARCH, wanted(stock=0.08))
    assert [one.name for one in found.candidates] == NAMES
    least = {one.name: float(one.measures.stock.min()) for one in found.candidates}
    assert least == pytest.approx(
        {
            "least moved": 0.08,
            "most stock": 0.085,
            "new zero only": 0.085,
            "end bores": 0.07,
            "least squares": 0.08,
            "as it lies": 0.07,
        },
        abs=1e-6,
    )
    assert found.refused is None
    assert found.best is found.named("least moved")
    assert found.best.line[:4] == pytest.approx((0, 0, 0.01, 0), abs=1e-6)
    assert keeps(found.best, 0.08)
    assert not keeps(found.best, 0.0801)
    assert found.named("as it lies").line == ZERO_LINE


def test_where_none_keeps_the_stock_the_most_is_best() -> None:
    found = lines(ARCH, wanted(stock=0.09))
    assert [one.name for one in found.candidates] == NAMES[1:]
    assert found.best.name == "most stock"
    assert found.refused is not None
    assert (found.refused.stock, found.refused.best) == pytest.approx((0.09, 0.085))
    with pytest.raises(KeyError, match="least moved"):
        found.named("least moved")


@pytest.mark.parametrize(("old", "z"), [("ends", 0.2), ("all", 0.21), ("zero", 0.0)])
def test_the_crank_moves_least_from_its_old_line(old: str, z: float) -> None:
    """The arch 0.2 higher: 0.08 asks the line to lie from 0.21 to 0.22, so that it moves as little as that takes."""
    found = lines(replace(ARCH, z=ARCH.z + 0.2), wanted(stock=0.08, old=old))
    assert found.old[:4] == pytest.approx((0, 0, z, 0))
    assert found.best.line[:4] == pytest.approx((0, 0, 0.21, 0), abs=2e-6)
    assert between(found.best.line, found.old)[:4] == pytest.approx((0, 0, 0.21 - z, 0), abs=2e-6)


def test_limits_of_the_crank_count_from_the_old_line() -> None:
    """A cam above lets it rise by 0.005 only; a cam below does not mind; without a most there is no limit."""
    high = replace(ARCH, z=ARCH.z + 0.2)
    cam = {"toward": "+Z", "x": 0, "drive": "chain", "most": 0.005}
    assert lines(high, wanted(stock=0.08, cam=cam)).refused is not None
    assert lines(high, wanted(stock=0.075, cam=cam)).refused is None
    assert lines(high, wanted(stock=0.08, cam=cam | {"toward": "-Z"})).refused is None
    assert lines(high, wanted(stock=0.08, cam=cam | {"most": None})).refused is None
    low = replace(ARCH, z=0.2 - ARCH.z)
    assert lines(low, wanted(stock=0.08)).refused is None
    assert lines(low, wanted(stock=0.08, never_lower=True)).refused is not None
    assert lines(low, wanted(stock=0.07, never_lower=True)).refused is None


def test_a_new_zero_keeps_the_crank_s_limits_from_a_tilted_old_line() -> None:
    """Ends at 0 and 0.02, the middle at 0.03: halfway is 0.015; no lower than the old line's high end is 0.02."""
    survey = replace(ARCH, z=np.array([0, 0.03, 0.02]))
    free = lines(survey, wanted(stock=0.05)).named("new zero only")
    assert free.line[:4] == pytest.approx((0, 0, 0.015, 0), abs=1e-8)
    assert free.breaks == (), "no limit, nothing to break"
    kept = lines(survey, wanted(stock=0.05, never_lower=True)).named("new zero only")
    assert kept.line[:4] == pytest.approx((0, 0, 0.02, 0), abs=3e-8)
    assert kept.breaks == ()
    near = {"toward": "-Z", "x": 0, "drive": "chain", "most": 0.002}
    kept = lines(survey, wanted(stock=0.05, cam=near)).named("new zero only")
    assert kept.line[:4] == pytest.approx((0, 0, 0.018, 0), abs=3e-8)


def test_where_no_new_zero_keeps_the_limits_it_says_what_it_breaks() -> None:
    """An old line that rises by 0.02: no level one is no lower at its end and within 0.01 of its start."""
    survey = replace(ARCH, z=np.array([0, 0.03, 0.02]))
    cam = {"toward": "+Z", "x": 0, "drive": "chain", "most": 0.01}
    one = lines(survey, wanted(stock=0.05, never_lower=True, cam=cam)).named("new zero only")
    assert one.line[:4] == pytest.approx((0, 0, 0.015, 0), abs=1e-8)
    assert [(at.section, at.limit) for at in one.breaks] == [(0, "toward cam"), (2, "never lower")]
    assert [at.by for at in one.breaks] == pytest.approx([0.005, 0.005], abs=1e-7)


def test_lines_tell_what_limits_they_break() -> None:
    """Most stock sags by 0.015, least squares by 0.01, as it lies stays."""
    low = replace(ARCH, z=-ARCH.z)
    found = lines(low, wanted(stock=0.07, never_lower=True))
    broken = {one.name: [(at.section, at.limit) for at in one.breaks] for one in found.candidates if one.breaks}
    ends = [(0, "never lower"), (2, "never lower")]
    assert broken == {"most stock": ends, "least squares": ends}
    assert [at.by for at in found.named("most stock").breaks] == pytest.approx([0.015, 0.015], abs=1e-7)
    assert not any(one.breaks for one in lines(low, wanted(stock=0.07)).candidates)


def test_the_most_within_the_limits_is_best_where_most_stock_breaks_them() -> None:
    """0.005 toward the cam leaves 0.075, and there is but one such line; a most of 0.02 is enough for the most."""
    cam = {"toward": "+Z", "x": 0, "drive": "chain", "most": 0.005}
    found = lines(ARCH, wanted(stock=0.08, cam=cam))
    assert [one.name for one in found.candidates] == ["within limits", *NAMES[1:]]
    assert found.best is found.named("within limits")
    assert found.best.line[:4] == pytest.approx((0, 0, 0.005, 0), abs=1e-6)
    assert found.refused is not None
    assert found.best.line.holds == found.refused.holds
    assert found.best.breaks == ()
    enough = lines(ARCH, wanted(stock=0.09, cam=cam | {"most": 0.02}))
    assert [one.name for one in enough.candidates] == NAMES[1:]
    assert enough.best.name == "most stock"


def test_within_the_limits_the_crank_moves_no_more_than_the_stock_takes() -> None:
    """One spun bore held up by the limit leaves the other end free to stay where it was, or to go far aside."""
    survey = replace(ARCH, y=np.array([0.0, 0.0, 0.04]), radius=np.array([29.9, 29.95, 29.9]))
    found = lines(survey, wanted(stock=0.05, old="zero", cam={"toward": "+Z", "x": 0, "drive": "chain", "most": 0.01}))
    shift = np.hypot(*found.named("within limits").line.at(survey.x)).max()
    assert shift == pytest.approx(0.01, abs=2e-6)
    assert found.refused is not None
    assert found.best.measures.stock.min() == pytest.approx(found.refused.best, abs=2e-8)


def test_caps_are_cut_for_a_line_within_the_limits() -> None:
    """Ends 0.2 and 0.22 high, the old line through them: from it 0.005 toward the cam, so that 0.005 more comes off."""
    tilted = replace(ARCH, z=ARCH.z + np.array([0.2, 0.21, 0.22]))
    free = cap_cuts(tilted, wanted(stock=0.09), lines(tilted, wanted()).old, "+Z")
    assert free.cuts.sum() == pytest.approx(0.01, abs=2e-6)
    want = wanted(stock=0.09, cam={"toward": "+Z", "x": 0, "drive": "chain", "most": 0.005})
    kept = cap_cuts(tilted, want, lines(tilted, want).old, "+Z")
    assert kept.cuts.sum() == pytest.approx(0.015, abs=2e-6)
    np.testing.assert_allclose(kept.line.at(tilted.x)[1], [0.205, 0.215, 0.225], atol=2e-6)
    assert breaks(tilted, kept.line, lines(tilted, want).old, want) == ()
    assert breaks(tilted, free.line, lines(tilted, want).old, want) != ()


@settings(max_examples=8)
@given(seed=seeds, old=st.sampled_from(["ends", "all"]), most=st.floats(0, 0.05), clock=st.floats(-179, 179))
def test_what_is_recommended_breaks_no_limit(seed: int, old: str, most: float, clock: float) -> None:
    """Least moved, within limits, and caps never; a new zero only where no level line keeps them."""
    survey = random_survey(seed)
    cam = {"toward": clock, "x": 0, "drive": "chain", "most": most}
    want = wanted(stock=0.0, old=old, never_lower=True, cam=cam)
    found = lines(survey, want)
    assert not found.best.breaks
    if found.refused is not None:
        assert float(found.best.measures.stock.min()) == pytest.approx(found.refused.best, abs=3e-8)
    free = lines(survey, wanted(stock=0.0, old=old)).named("new zero only")
    zero = found.named("new zero only")
    assert float(zero.measures.stock.min()) <= float(free.measures.stock.min()) + 1e-8
    assert not zero.breaks or zero.line == free.line


def test_between_counts_one_line_from_another() -> None:
    assert between(Line(3, 0.3, 5, 0.5), Line(1, 0.1, 2, 0.2))[:4] == pytest.approx((2, 0.2, 3, 0.3))


@settings(max_examples=8)
@given(seed=seeds, less=st.floats(1e-3, 0.1), old=st.sampled_from(["ends", "all", "zero"]))
def test_each_is_the_best_at_what_it_is_for(seed: int, less: float, old: str) -> None:
    survey = random_survey(seed)
    most = float(lines(survey, wanted(stock=0.0)).named("most stock").measures.stock.min())
    if most <= less:
        survey = replace(survey, target=survey.target + 2 * less - most)
        most = 2 * less
    found = lines(survey, wanted(stock=most - less, old=old))
    assert found.refused is None
    stocks = {one.name: float(one.measures.stock.min()) for one in found.candidates}
    assert all(stock <= stocks["most stock"] + 1e-8 for stock in stocks.values())
    assert stocks["as it lies"] <= stocks["new zero only"] + 1e-8
    assert (found.named("new zero only").line.y1, found.named("new zero only").line.z1) == (0, 0)
    assert keeps(found.best, most - less)
    shifts = {
        one.name: float(np.hypot(*between(one.line, found.old).at(survey.x)).max())
        for one in found.candidates
        if keeps(one, most - less)
    }
    assert shifts["least moved"] <= min(shifts.values()) + 2e-6
