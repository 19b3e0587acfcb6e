"""Chances that a line leaves stock everywhere: by quadrature, and what must hold for any of them."""

import math
from dataclasses import replace

import numpy as np
import pytest

from gen.bestline import greatest_least_stock
from gen.linechance import chance, stock_for
from gen.rowline import Line
from tests.surveys import ARCH, random_survey, survey_of


def test_a_chance_by_quadrature() -> None:
    """Two bores on the line, radius and centre each off by normal errors: stock + s n > s * Rayleigh, at both."""
    survey = survey_of([0.0, 100], [0.0, 0], [0.0, 0], 29.99)
    deviation = 0.005
    n = np.linspace(-8, 8, 200_001)
    density = np.exp(-n * n / 2) / math.sqrt(2 * math.pi)
    room = np.maximum(0.01 / deviation + n, 0)
    one = float((density * (1 - np.exp(-room * room / 2))).sum() * (n[1] - n[0]))
    found = chance(survey, Line(0, 0, 0, 0), deviation, 400_000, 5)
    assert found == pytest.approx(one**2, abs=4 * math.sqrt(one**2 * (1 - one**2) / 400_000))
    assert 0.5 < found < 0.95


def test_the_stock_for_a_chance_gives_it() -> None:
    survey, trials = random_survey(4), 20_000
    line = greatest_least_stock(survey)
    for share in (0.5, 0.99, 1.0):
        more = stock_for(survey, line, 0.004, share, trials, 9)
        enough = replace(survey, target=survey.target + more + 1e-9)
        short = replace(survey, target=survey.target + more - 1e-9)
        assert chance(enough, line, 0.004, trials, 9) >= share > chance(short, line, 0.004, trials, 9)


def test_readings_without_error_leave_no_chance() -> None:
    line = greatest_least_stock(ARCH)
    assert chance(ARCH, line, 0, 10, 1) == 1
    assert chance(replace(ARCH, target=ARCH.target - 0.09), line, 0, 10, 1) == 0
    assert stock_for(ARCH, line, 0, 0.99, 10, 1) == pytest.approx(-0.085)


def test_a_seed_tells_the_trials() -> None:
    line = greatest_least_stock(ARCH)
    chances = [chance(ARCH, line, 0.03, 20_000, seed) for seed in (1, 1, 2)]
    assert chances[0] == chances[1] != chances[2]
    assert chance(replace(ARCH, target=ARCH.target + 0.01), line, 0.03, 20_000, 1) >= chances[0]


@pytest.mark.parametrize(
    ("deviation", "share", "trials", "text"),
    [
        (-0.1, 0.9, 10, "repeatability -0.1: it must be a finite number, 0 or more"),
        (math.inf, 0.9, 10, "repeatability inf: it must be a finite number, 0 or more"),
        (math.nan, 0.9, 10, "repeatability nan: it must be a finite number, 0 or more"),
        (0.1, 0.9, 0, "0 trials: there must be one or more"),
        (0.1, 0, 10, "share 0: it must be more than 0 and at most 1"),
        (0.1, 1.5, 10, "share 1.5: it must be more than 0 and at most 1"),
    ],
)
def test_chances_refused(deviation: float, share: float, trials: int, text: str) -> None:
    with pytest.raises(ValueError, match=f"^{text}$"):
        stock_for(ARCH, Line(0, 0, 0, 0), deviation, share, trials, 1)
