"""The lines that come into question: on an arch by hand, and what must hold of them for any survey."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.lines import ZERO_LINE, between, keeps, lines
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
