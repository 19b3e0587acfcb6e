"""Passes through bores whose centres are told: worked by hand, and held against walls followed angle by angle."""

import math
from typing import Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from gen.job import Job
from gen.passes import AIR_GAP_MM, SAME_MM, Setting, aim_mm, check_passes, least_depth_mm, pass_plan, wall_mm
from gen.sections import Floats
from post.units import MM_PER_INCH
from tests.gen.test_passes import PASSES, inch_job_of, job_of, plan_of, sized_jobs
from tests.jobs import Data, make_job

ANGLES: Final = np.linspace(0, 2 * math.pi, 3600, endpoint=False)


def test_all_depths_are_counted_from_the_wall_as_it_lies_about_the_bore_line() -> None:
    # 83.0 to 83.02, 0.05 off: from 82.9 to 83.12 about the line. To 83.8 are 0.45: two passes of 0.225.
    job = job_of({"measured": [83.0, 83.02], "centre": [0.03, -0.04]}, passes={**PASSES, "air": True})
    assert plan_of(job) == [
        ("air", 81.9, (0,), 0.0, 0.0),
        ("rough", 83.35, (0,), 0.115, 0.225),
        ("rough", 83.8, (0,), 0.225, 0.225),
        ("finish", 84.0, (0,), 0.1, 0.1),
    ]


def test_a_skim_cuts_on_one_side_only_where_the_bore_lies_off_by_more() -> None:
    # In inches: 0.0057 off, so that 3.2525 begins at 3.2411; 0.002 a side make 3.2451, which the far wall is beyond.
    job = inch_job_of([3.2525, 3.2525], passes={"depth": 0.015, "finish_stock": 0.004, "skim": 0.002})
    off = at_centres(job, [(0.0057 * MM_PER_INCH, 0.0)])
    assert plan_of(off)[0] == ("skim", 3.2451, (0,), 0.0, 0.002)


def test_the_air_pass_keeps_off_the_nearest_wall_of_all_bores() -> None:
    """The first bore is the smaller, but the second comes nearer: 83.2 less twice 0.25 is 82.7."""
    bores: tuple[Data, Data] = {"measured": [83.0, 83.0]}, {"measured": [83.2, 83.2], "centre": [0, 0.25]}
    assert pass_plan(job_of(*bores, passes={**PASSES, "air": True}))[0].diameter_mm == pytest.approx(81.7)


def test_a_centre_on_the_line_changes_nothing() -> None:
    bores: Data = {"measured": [83.0, 83.02]}
    assert pass_plan(job_of({**bores, "centre": [0, 0]})) == pass_plan(job_of(bores))


def test_only_a_centre_makes_a_wall_of_what_is_measured() -> None:
    job = job_of({"measured": [83.0, 83.02]}, {"measured": [83.0, 83.02], "centre": [-0.3, 0.4]})
    assert [wall_mm(job, bore) for bore in job.bore] == [(83.0, 83.02), pytest.approx((82.0, 84.02))]
    assert wall_mm(make_job(), make_job().bore[0]) is None


def test_a_lift_is_held_against_the_nearest_wall() -> None:
    # Bar 50 in 83, 10 off: 6.5 are left.
    bore: Data = {"measured": [83.0, 83.0], "centre": [10, 0]}
    changes: Data = {"head": {"ratio": 1}, "passes": {**PASSES, "depth": 0.5}}
    lifts = [{"withdraw": "lift", "lift": {"amount": amount, "toward": "+Z"}} for amount in (6.5, 6.4)]
    with pytest.raises(ValidationError, match=r"narrowest bore there are 6\.5 mm before the first pass"):
        job_of(bore, path=lifts[0], **changes)
    assert job_of(bore, path=lifts[1], **changes)


# For every row, the walls followed at every angle about the bore line.


def at_centres(job: Job, centres: list[tuple[float, float]]) -> Job:
    """A job with its bores' centres where they are told, mm."""
    bores = zip(job.bore, centres, strict=True)
    made = job.model_copy(update={"bore": tuple(bore.model_copy(update={"centre": at}) for bore, at in bores)})
    check_passes(made)
    return made


@st.composite
def jobs_off_the_line(draw: st.DrawFn) -> Job:
    job = draw(sized_jobs())
    offset = st.integers(-1000, 1000).map(lambda off: off / 1000)
    return at_centres(job, [(draw(offset), draw(offset)) for _ in job.bore])


def seen(diameter_mm: float, centre: tuple[float, float]) -> Floats:
    """Distances from the bore line at which the wall of a round bore is met at ANGLES about its own centre."""
    distances: Floats = np.hypot(
        centre[0] + diameter_mm / 2 * np.sin(ANGLES), centre[1] + diameter_mm / 2 * np.cos(ANGLES)
    )
    return distances


def followed(job: Job) -> list[tuple[Setting, list[tuple[Floats, Floats]]]]:
    """Every setting, and the walls it meets: as near and as far as each bore's sizes have them."""
    walls = []
    for bore in job.bore:
        assert bore.measured is not None
        assert bore.centre is not None
        walls.append(tuple(seen(size, bore.centre) for size in bore.measured))
    steps = []
    for setting in pass_plan(job):
        steps.append((setting, [(walls[index][0], walls[index][1]) for index in setting.bores]))
        for index in setting.bores:
            walls[index] = tuple(np.maximum(wall, setting.diameter_mm / 2) for wall in walls[index])
    return steps


@settings(max_examples=60)
@given(jobs_off_the_line())
def test_every_depth_is_that_of_walls_followed_angle_by_angle(job: Job) -> None:
    assert job.passes is not None
    for setting, walls in followed(job):
        radius = setting.diameter_mm / 2
        deepest = max(float(radius - near.min()) for near, _ in walls)
        lightest = min(float(radius - far.max()) for _, far in walls)
        if setting.kind == "air":
            assert len(walls) == len(job.bore)
            assert deepest == pytest.approx(-AIR_GAP_MM, abs=1e-5)
            continue
        assert setting.deepest_mm == pytest.approx(deepest, abs=SAME_MM)
        assert setting.shallowest_mm == pytest.approx(max(0.0, lightest), abs=SAME_MM)
        most = {"skim": job.passes.skim, "rough": job.passes.depth, "finish": job.passes.finish_stock}[setting.kind]
        assert most is not None
        along = 0.0 if setting.kind == "rough" else least_depth_mm(job)
        assert deepest <= most + along + SAME_MM


@settings(max_examples=30)
@given(jobs_off_the_line())
def test_every_bore_is_finished_at_its_aim(job: Job) -> None:
    for index, bore in enumerate(job.bore):
        last = [setting for setting in pass_plan(job) if index in setting.bores][-1]
        assert last.kind == "finish"
        assert last.diameter_mm == pytest.approx(aim_mm(job, bore), abs=SAME_MM)
