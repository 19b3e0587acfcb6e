"""Old wall that the last cut leaves, worked by hand: bores of 84 of which 83.9 is there have 0.05 a side."""

from typing import Any

import pytest

from gen.advice import cautions
from gen.caution import Caution
from gen.job import Job
from gen.oldwall import left_mm, old_wall_left
from tests.jobs import INCH_TEXT, make_job


def job_of(*centres: Any, **changes: Any) -> Job:
    bores = [
        {"face": -130 * at, "width": 30, "diameter": 84.0, "measured": [83.88, 83.9], "centre": centre}
        for at, centre in enumerate(centres)
    ]
    return make_job(bore=[{key: it for key, it in bore.items() if it is not None} for bore in bores], **changes)


PASSES = {"passes": {"depth": 0.3, "finish_stock": 0.05}}


@pytest.mark.parametrize("changes", [PASSES, {}])
def test_a_line_so_far_off_that_a_side_does_not_clean_up(changes: Any) -> None:
    """0.03 and 0.04 are 0.05 off and clean up; 0.06 and 0.08 are 0.1 off, 0.05 too much."""
    assert list(old_wall_left(job_of([0.03, 0.04], [0.06, -0.08], [0, 0.051], None, **changes))) == [
        Caution(
            "bore 2 and 1 more: the last cut, diameter 84 mm, leaves old wall on the side toward Y0.06 Z-0.08: it lies"
            " 0.05 mm farther out than the cutter, as the centre is 0.1 mm off the bore line",
            "find a line that cleans up every bore with borewright line, move block or zero to it and tell the centres"
            " anew",
        )
    ]


def test_inches_are_told_in_inches() -> None:
    bore = {"x": 0, "length": 1.35, "diameter": 3.3125, "measured": [3.3025, 3.3025], "centre": [0, 0.0075]}
    (caution,) = old_wall_left(make_job(INCH_TEXT, bore=[bore]))
    assert caution.problem.startswith("bore 1: the last cut, diameter 3.3125 in, leaves old wall on the side toward Y0")
    assert "Z0.0075: it lies 0.0025 in farther out" in caution.problem


@pytest.mark.parametrize("centre", [None, [0, 0], [0.03, 0.04], [0, -0.05]])
def test_nothing_is_told_where_all_cleans_up(centre: Any) -> None:
    job = job_of(centre, **PASSES)
    assert list(old_wall_left(job)) == []
    assert left_mm(job, 0) == 0


def test_it_is_the_limits_middle_that_is_cut_last() -> None:
    """84.01 at last, so that 0.055 a side are there."""
    job = job_of([0, 0.06], **PASSES, size={"tolerance": "H6"})
    assert left_mm(job, 0) == pytest.approx(0.06 - (84.011 - 83.9) / 2, abs=1e-6)


def test_nothing_is_known_of_a_bore_that_is_not_measured() -> None:
    assert list(old_wall_left(make_job(bore=[{"face": 0, "width": 30, "diameter": 84.0, "centre": [1, 1]}]))) == []


def test_it_is_among_the_cautions_of_the_job() -> None:
    job = job_of([0, 0.2], **PASSES)
    assert any("leaves old wall" in caution.problem for caution in cautions(job))
