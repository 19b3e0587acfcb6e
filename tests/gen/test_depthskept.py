"""Depths told that the passes do not keep to, worked by hand; and none of it where they do.

Bores of 84 with 0.1 for finishing are roughed to 83.8, bores of 3.3125 in with 0.003 in to 3.3065 in.
"""

from typing import Any, Final

import pytest

from gen.advice import cautions
from gen.caution import Caution
from gen.depthskept import depths_kept
from gen.job import Job
from tests.jobs import INCH_TEXT, Data, make_job

PASSES: Final[Data] = {"depth": 0.3, "finish_stock": 0.1}


def job_of(*measured: tuple[float, float], **passes: Any) -> Job:
    bores = [{"face": -130 * at, "width": 30, "diameter": 84.0, "measured": two} for at, two in enumerate(measured)]
    return make_job(bore=bores, passes={**PASSES, **passes})


def inch_job_of(*measured: tuple[float, float]) -> Job:
    bores = [{"x": 5.25 * at, "length": 1.35, "diameter": 3.3125, "measured": two} for at, two in enumerate(measured)]
    passes = {"depth": 0.015, "finish_stock": 0.003, "skim": 0.002, "least": 0.001}
    return make_job(INCH_TEXT, bore=bores, passes=passes)


def problems(job: Job) -> list[str]:
    return [caution.problem for caution in depths_kept(job)]


@pytest.mark.parametrize(
    "job",
    [
        make_job(),
        job_of((83.0, 83.02)),
        job_of((83.0, 83.02), skim=0.05, least=0.04),
        job_of((83.8, 83.8)),
        # The air pass cuts nothing, and is not to.
        job_of((83.0, 83.02), air=True, least=0.04),
    ],
)
def test_nothing_is_told_where_every_depth_is_kept_to(job: Job) -> None:
    assert problems(job) == []


def test_a_cut_lighter_than_least() -> None:
    # To 83.8 in two of 0.2 a side from 83: the first leaves 0.03 over the larger of 83.34.
    assert list(depths_kept(job_of((83.0, 83.34), least=0.05))) == [
        Caution(
            "pass 1, rough: cuts as little as 0.03 mm deep, less than passes.least, 0.05 mm: it may rub instead of cut"
            " there",
            "change depth, skim or finish_stock, or bore the largest bores in a job of their own",
        )
    ]


def test_a_bore_off_the_line_is_told_as_the_likely_reason_of_a_light_cut() -> None:
    # 83.0 to 83.02, 0.45 off: the far wall is at 83.92 about the line, the near one at 82.1.
    bore = {"face": 0, "width": 30, "diameter": 84.0, "measured": [83.0, 83.02], "centre": [0.0, 0.45]}
    least, finish = depths_kept(make_job(bore=[bore], passes={**PASSES, "least": 0.05}))
    assert "cuts as little as 0 mm deep" in least.problem
    assert least.remedy.endswith(", or find a better line with borewright line")
    assert "cuts as little as 0.04 mm deep" in finish.problem
    assert finish.problem.endswith(": a bore lies off the line or is too large there already")
    assert finish.remedy.endswith("finished alike, or find a better line with borewright line")


def test_a_least_that_is_not_told_is_not_held_against_the_passes() -> None:
    assert problems(job_of((83.0, 83.39))) == []


def test_a_skim_for_which_there_is_no_stock() -> None:
    # 0.15 a side, of which 0.1 is for finishing.
    assert list(depths_kept(job_of((83.7, 83.7), skim=0.06))) == [
        Caution(
            "bore 1: no skim is taken; passes.skim, 0.06 mm, and passes.finish_stock, 0.1 mm, are together no less than"
            " the stock, 0.15 mm at most on the radius",
            "make skim or finish_stock less, or leave skim out",
        )
    ]


def test_a_skim_that_goes_by_a_bore_off_the_line() -> None:
    """83.0 and 0.1 off begin at 82.8: skimmed to 82.9, below what bore 2 measures."""
    bores = [
        {"face": -130 * at, "width": 30, "diameter": 84.0, "measured": [83.0, 83.0], "centre": [0, off]}
        for at, off in enumerate((0.1, 0.0))
    ]
    (told,) = problems(make_job(bore=bores, passes={**PASSES, "skim": 0.05}))
    assert told == ("bore 2: passes.skim, 0.05 mm, goes by the nearest wall of all bores and does not reach this far")


def test_a_skim_that_does_not_reach_a_larger_bore() -> None:
    # Skimmed to 83.1; bore 2 measures that everywhere.
    assert problems(job_of((83.0, 83.02), (83.1, 83.2), skim=0.05)) == [
        "bore 2: passes.skim, 0.05 mm, goes by the smallest bore and does not reach this far"
    ]


def test_a_skim_deeper_than_told() -> None:
    # 0.16 a side; a skim of 0.05 would leave 0.01 to 83.8, less than a cut, and takes it too.
    assert list(depths_kept(job_of((83.68, 83.68), skim=0.05))) == [
        Caution(
            "pass 1, skim: cuts 0.06 mm deep, more than passes.skim, 0.05 mm: what would be left between it and the"
            " finishing pass is less than a cut",
            "leave 0.02 mm or more between skim and finish_stock, or nothing",
        )
    ]


def test_depths_that_would_seem_the_same_are_told_finer() -> None:
    # A skim of 0.05 would leave 0.0004 to 83.8.
    (problem,) = problems(job_of((83.6992, 83.6992), skim=0.05))
    assert problem.startswith("pass 1, skim: cuts 0.0504 mm deep, more than passes.skim, 0.05 mm: ")
    (problem,) = problems(job_of((83.0, 83.02), (83.8, 83.8008)))
    assert problem.startswith("pass 3, finish: cuts as little as 0.0996 mm deep, less than passes.finish_stock, 0.1 mm")


def test_a_finishing_cut_lighter_than_told() -> None:
    # Bore 2 measures 83.9 already.
    assert list(depths_kept(job_of((83.0, 83.02), (83.8, 83.9)))) == [
        Caution(
            "pass 3, finish: cuts as little as 0.05 mm deep, less than passes.finish_stock, 0.1 mm: a bore is too large"
            " there already",
            "make finish_stock less, so that all bores are finished alike",
        )
    ]


def test_a_finishing_cut_deeper_than_told() -> None:
    # 0.11 a side: 0.01 is no cut of its own.
    assert list(depths_kept(job_of((83.78, 83.78)))) == [
        Caution(
            "pass 1, finish: cuts up to 0.11 mm deep, more than passes.finish_stock, 0.1 mm: what would be left before"
            " it is less than a cut",
            "leave 0.02 mm or more before finish_stock, or nothing",
        )
    ]


def test_all_of_it_in_inches_among_what_to_beware_of() -> None:
    # 0.0045 a side at most; roughed to 3.3065, which the largest, 3.3099, is past.
    job = inch_job_of((3.3035, 3.3045), (3.3055, 3.3099))
    assert [caution.problem for caution in cautions(job)] == [
        "pass 1, rough: cuts as little as 0 in deep, less than passes.least, 0.001 in: it may rub instead of cut there",
        "bore 1 and 1 more: no skim is taken; passes.skim, 0.002 in, and passes.finish_stock, 0.003 in, are together no"
        " less than the stock, 0.0045 in at most on the radius",
        "pass 2, finish: cuts as little as 0.0013 in deep, less than passes.finish_stock, 0.003 in: a bore is too large"
        " there already",
    ]


def test_several_passes_are_told_by_the_worst() -> None:
    # Two sizes, each finished in a pass of its own: 0.05 and 0.03 a side are left.
    bores = [
        {"face": 0, "width": 30, "diameter": 84.0, "measured": [83.9, 83.9]},
        {"face": -130, "width": 30, "diameter": 90.0, "measured": [89.94, 89.94]},
    ]
    assert problems(make_job(bore=bores, passes=PASSES)) == [
        "pass 2, finish and 1 more: cuts as little as 0.03 mm deep, less than passes.finish_stock, 0.1 mm: a bore is"
        " too large there already"
    ]
