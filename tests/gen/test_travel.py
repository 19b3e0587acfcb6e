"""Axis travel: extremes, margins and overshoots, each axis at each end."""

import math
from itertools import pairwise
from typing import Final

import pytest

from gen.travel import AxisTravel, over_travel, travel
from post.timeline import STOPPED, Move, Point, Timeline, Wait
from tests.jobs import INCH_TEXT, make_job

NAN: Final = math.nan
Y_LIMITS: Final = "Y between -300 mm and 300 mm, in the program -300 mm and 300 mm"
JOB: Final = make_job()
"""Travel X -900..100, Y -300..300, Z -600..0; zero at -150, 0, -380."""


def moving(*places: Point) -> Timeline:
    ends = enumerate(pairwise(((NAN, NAN, NAN), *places)), 1)
    return Timeline([Move(line, start, end, None, STOPPED) for line, (start, end) in ends])


def overshoots(*places: Point) -> list[tuple[int, str, str]]:
    lines = [f"move {number}" for number in range(1, len(places) + 1)]
    findings = over_travel(JOB, moving(*places), lines)
    assert all(finding.rule == "over-travel" for finding in findings)
    assert all(finding.text == f"move {finding.line}" for finding in findings)
    return [(finding.line, finding.found, finding.expected) for finding in findings]


def test_extremes_and_margins_are_in_machine_coordinates() -> None:
    extents = travel(JOB, moving((3.0, 0.0, 160.0), (3.0, 40.0, 0.0), (-289.5, 0.0, -1.0)))
    assert extents == {
        "x": AxisTravel(-439.5, -147.0, 460.5, 247.0),
        "y": AxisTravel(0.0, 40.0, 300.0, 260.0),
        "z": AxisTravel(-381.0, -220.0, 219.0, 220.0),
    }


def test_an_axis_that_never_moves_has_no_travel() -> None:
    assert set(travel(JOB, moving((NAN, NAN, 160.0)))) == {"z"}
    assert travel(JOB, Timeline([Wait(1, 1.0, STOPPED)])) == {}


def test_a_place_not_known_is_over_no_limit() -> None:
    assert overshoots((NAN, NAN, 160.0)) == []


@pytest.mark.parametrize(
    ("place", "found", "expected"),
    [
        (
            (250.5, 0.0, 0.0),
            "X would go to machine 100.5 mm, 0.5 mm past its limit",
            "X between -900 mm and 100 mm, in the program -750 mm and 250 mm",
        ),
        (
            (-751.0, 0.0, 0.0),
            "X would go to machine -901 mm, 1 mm past its limit",
            "X between -900 mm and 100 mm, in the program -750 mm and 250 mm",
        ),
        ((0.0, 300.001, 0.0), "Y would go to machine 300.001 mm, 0.001 mm past its limit", Y_LIMITS),
        ((0.0, -412.0, 0.0), "Y would go to machine -412 mm, 112 mm past its limit", Y_LIMITS),
        (
            (0.0, 0.0, 380.25),
            "Z would go to machine 0.25 mm, 0.25 mm past its limit",
            "Z between -600 mm and 0 mm, in the program -220 mm and 380 mm",
        ),
        (
            (0.0, 0.0, -221.0),
            "Z would go to machine -601 mm, 1 mm past its limit",
            "Z between -600 mm and 0 mm, in the program -220 mm and 380 mm",
        ),
    ],
)
def test_each_end_of_each_axis(place: Point, found: str, expected: str) -> None:
    assert overshoots((0.0, 0.0, 0.0), place) == [(2, found, expected)]


def test_the_limit_itself_is_within() -> None:
    assert overshoots((-750.0, -300.0, -220.0), (250.0, 300.0, 380.0)) == []


def test_every_move_past_a_limit_and_every_axis_of_it_is_told() -> None:
    told = overshoots((251.0, 301.0, 0.0), (0.0, 0.0, 0.0), (0.0, 0.0, 381.0))
    assert [(line, found[0]) for line, found, _ in told] == [(1, "X"), (1, "Y"), (3, "Z")]


def test_figures_are_in_the_job_s_unit() -> None:
    job = make_job(INCH_TEXT)
    (finding,) = over_travel(job, moving((0.0, 0.0, 15.01 * 25.4)), ["G0 Z15.01"])
    assert finding.found == "Z would go to machine 0.01 in, 0.01 in past its limit"
    assert finding.expected == "Z between -24 in and 0 in, in the program -9 in and 15 in"


def test_rounding_of_an_inch_is_no_overshoot() -> None:
    job = make_job(INCH_TEXT)
    assert over_travel(job, moving((0.0, 0.0, 15 * 25.4 + 1e-9)), ["G0 Z15"]) == []
