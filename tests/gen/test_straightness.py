"""Straightness of a finished row: reckoned by hand, and against an independent reckoning of the thinnest cylinder."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize  # type: ignore[import-untyped]

from gen import straightness
from gen.job import Job
from gen.linewanted import LineWanted, Straight
from gen.surveyed import Section, Surveyed
from tests.jobs import make_job

JOB = make_job(line={"straight": {"overall": 0.02, "neighbours": 0.03}})


def surveyed(*places: tuple[float, float], job: Job = JOB) -> Surveyed:
    sections = [Section(bore, None, 100.0 * bore, y, z, 84.01, 84.01, "centre") for bore, (y, z) in enumerate(places)]
    assert len(sections) == len(job.bore)
    return Surveyed(tuple(sections))


def limits(overall: float | None, neighbours: float | None) -> Job:
    return JOB.model_copy(update={"line": LineWanted(straight=Straight(overall=overall, neighbours=neighbours))})


def test_an_arch_by_hand() -> None:
    """Three centres 100 mm apart, the middle one 0.03 high: the best line is 0.015 above the outer two."""
    found = straightness.facts(JOB, surveyed((0, 0), (0, 0.03), (0, 0)))
    assert [bore["off"] for bore in found["bores"]] == pytest.approx([0.015] * 3, abs=1e-6)
    assert [bore["z"] for bore in found["bores"]] == pytest.approx([-0.015, 0.015, -0.015], abs=1e-6)
    assert (found["overall"], found["cylinder"], found["neighbours"]) == pytest.approx((0.015, 0.03, 0.03), abs=1e-6)
    assert found["bores"][0]["step"] is None
    assert [bore["step"] for bore in found["bores"][1:]] == pytest.approx([0.03, 0.03], abs=1e-6)
    assert found["ok"]
    assert found["limits"] == {"overall": 0.02, "neighbours": 0.03}


def test_a_tilted_straight_row_is_straight() -> None:
    found = straightness.facts(JOB, surveyed((0.1, 0), (0.2, -0.1), (0.3, -0.2)))
    assert found["cylinder"] == pytest.approx(0, abs=2e-6)


@pytest.mark.parametrize(
    ("overall", "neighbours", "far_off", "apart"),
    [
        (0.0149, None, ["1", "2", "3"], []),
        (0.0151, None, [], []),
        (None, 0.0299, [], [["1", "2"], ["2", "3"]]),
        (None, 0.0301, [], []),
        (None, None, [], []),
    ],
)
def test_limits(overall: float | None, neighbours: float | None, far_off: list[Any], apart: list[Any]) -> None:
    found = straightness.facts(limits(overall, neighbours), surveyed((0, 0), (0, 0.03), (0, 0)))
    assert (found["far_off"], found["apart"]) == (far_off, apart)
    assert found["ok"] is not bool(far_off or apart)


def test_the_farthest_depth_of_a_bore_counts() -> None:
    told = [(0, 0.0, 0.0), (0, 30.0, 0.0), (1, 150.0, 0.0), (2, 300.0, 0.0)]
    level = [Section(bore, x % 100, x, 0, z, 84, 84, "centre") for bore, x, z in told]
    leaning = [level[0]._replace(z=0.02), level[1]._replace(z=-0.02), *level[2:]]
    found = straightness.facts(JOB, Surveyed(tuple(leaning)))
    assert found["bores"][0]["off"] == pytest.approx(found["overall"])
    assert found["overall"] > 0.015
    assert abs(found["bores"][0]["z"]) < 0.005


def test_a_job_without_limits_has_none() -> None:
    found = straightness.facts(make_job(), surveyed((0, 0), (0, 0.3), (0, 0), job=make_job()))
    assert found["ok"]
    assert found["limits"] == {"overall": None, "neighbours": None}


def test_in_words() -> None:
    found = straightness.facts(limits(0.01, 0.02), surveyed((0, 0), (0, 0.03), (0, 0)))
    text = "\n".join(straightness.lines(found, "mm"))
    assert "overall     0.0150 mm, the farthest centre; limit 0.01 mm" in text
    assert "neighbours  0.0300 mm, the largest step; limit 0.02 mm" in text
    assert 'FAIL        bore "1": too far off the line' in text
    assert 'FAIL        bores "2", "3": too far apart' in text
    assert "cylinder    diameter 0.0300 mm about all centres" in text
    unlimited = "\n".join(straightness.lines(straightness.facts(limits(None, None), surveyed(*[(0, 0)] * 3)), "mm"))
    assert unlimited.count("no limit told") == 2


@given(st.lists(st.tuples(*[st.floats(-0.05, 0.05)] * 2), min_size=3, max_size=3))
def test_no_line_is_nearer_to_the_farthest_centre(places: list[tuple[float, float]]) -> None:
    """Minimum zone against scipy's Nelder-Mead, begun at its least squares line."""
    found = straightness.facts(JOB, surveyed(*places))
    x, centres = np.array([0.0, 1.0, 2.0]), np.array(places)

    def farthest(line: Any) -> float:
        return float(np.hypot(*(centres - np.outer(1 - x / 2, line[:2]) - np.outer(x / 2, line[2:])).T).max())

    slopes = np.polynomial.polynomial.polyfit(x, centres, 1)
    start = np.concatenate([slopes[0], slopes[0] + 2 * slopes[1]])
    other = minimize(farthest, start, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-9, "maxiter": 4000})
    assert found["overall"] <= other.fun + 2e-6
