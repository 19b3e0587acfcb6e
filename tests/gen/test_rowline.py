"""What a line through a row of holes means, lines through ends and by least squares, and surveys refused."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from gen.rowline import Line, least_squares, measure, through_ends
from tests.surveys import ARCH, survey_of


def test_what_a_line_means() -> None:
    """Holes on z = 0; a line 0.03 to +Y at x = 100, rising 0.04 over 200 mm from there."""
    survey = survey_of([100.0, 300], [0.0, 0], [0.0, 0], [29.9, 30.1])
    found = measure(survey, Line(0.03, 0.0, -0.02, 0.0002))
    np.testing.assert_allclose(found.stock, [0.07, -0.15])
    np.testing.assert_allclose(found.thinnest_deg, [270, math.degrees(math.atan2(-0.03, -0.04)) % 360])
    assert found.oversize == pytest.approx(0.15)


def test_stock_that_is_the_same_all_round_is_thinnest_nowhere() -> None:
    assert np.isnan(measure(survey_of([0.0, 100], [0.0, 0.1], [0.0, 0]), Line(0, 0, 0, 0)).thinnest_deg).tolist() == [
        True,
        False,
    ]


def test_ends_and_least_squares() -> None:
    """Ends at 0.02 and -0.02; the middle at 0.03 lifts the least squares line by a third of that, and tilts nothing."""
    survey = survey_of([100.0, 200, 300], [0.02, 0.03, -0.02], [0.0, 0, 0.5])
    assert through_ends(survey)[:4] == pytest.approx((0.04, -0.0002, -0.25, 0.0025))
    assert least_squares(survey)[:4] == pytest.approx((0.05, -0.0002, -1 / 3, 0.0025))
    assert through_ends(survey).holds == least_squares(survey).holds == ()


def test_the_end_bores_are_the_means_of_their_sections() -> None:
    """Bores 7 and 3, in no order: middles at x = 10 and 110, heights 0.02 and 0.05."""
    survey = replace(
        survey_of([100.0, 0, 120, 20], [0.0] * 4, [0.06, 0.01, 0.04, 0.03]), bore=np.array([3, 7, 3, 7], dtype=np.intp)
    )
    assert through_ends(survey)[:4] == pytest.approx((0, 0, 0.017, 0.0003))


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"y": np.zeros(2)}, r"arrays of shapes \[\(3,\), \(2,\), \(3,\), \(3,\), \(3,\)\]: all must be \(n,\)"),
        (
            {"bore": np.array([1, 2])},
            r"arrays of shapes \[\(3,\), \(3,\), \(3,\), \(3,\), \(3,\), \(2,\)\]: all must be \(n,\)",
        ),
        (
            {"z": np.array([0, np.nan, 0])},
            "a survey that is not finite: every section needs x, y, z, radius and target",
        ),
        ({"radius": np.array([30.0, 0, 30])}, "radius or target not above 0: every section needs both"),
        ({"target": np.array([30.0, -1, 30])}, "radius or target not above 0: every section needs both"),
        ({"bore": np.array([4, 4, 4])}, "a line takes two bores or more, not 1"),
        ({"x": np.full(3, 7.5)}, "all bores at x = 7.5: a line takes two places along X"),
    ],
)
def test_surveys_refused(changes: dict[str, Any], text: str) -> None:
    with pytest.raises(ValueError, match=f"^{text}$"):
        replace(ARCH, **changes)


def test_an_empty_survey() -> None:
    with pytest.raises(ValueError, match=r"^a line takes two bores or more, not 0$"):
        survey_of([], [], [])
