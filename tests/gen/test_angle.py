"""The leave angle: worked by hand, and what holds for every job."""

import math
from typing import Any, Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.angle import clear_angles, nearest_upright, with_angle
from gen.clearance import SLACK_MM
from gen.dryplan import DryRun
from gen.job import Job
from post.posts import find
from post.userfile import InputError
from tests.jobs import make_job
from tests.spaces import JOB, RAIL, mirrored, with_space

DIALECT: Final = find("longhand").dialect
LOW_BODY: Final = {"length": 70, "width": 90, "above": 40, "below": 45}
OVER: Final = {**RAIL, "y": [-160, -42], "z": [75, 140]}
OVERHUNG: Final = with_space(head={"body": LOW_BODY}, obstacle=[OVER])
"""A rail that hangs over the bay up to the bore line's left."""


def ways_clear(job: Job, degrees: float) -> bool:
    """Whether every traverse and way keeps the limit when the job is planned at an angle."""
    found = DryRun(with_angle(job, degrees), DIALECT).found
    return all(
        near.distance >= job.path.clearance - SLACK_MM
        for near in found.nearest.values()
        if near.move not in found.works_in
    )


def test_what_is_clear_straight_up_stays_straight_up() -> None:
    assert nearest_upright(JOB, DIALECT) == 0.0


def test_leaning_toward_a_rail_ends_where_the_body_would_pass_its_corner_by_the_limit() -> None:
    # The body is 45 wide to each side and 45 deep: its axis may not be in y < -135 + 45 = -90 with z < 110 + 45 = 155.
    # A straight way from the bore line passes that corner at 2 mm when it leans atan(90 / 155) - asin(2 / hypot(90,
    # 155)) = 30.141 - 0.639 = 29.502 degrees. The stem and the cutter come no farther: they are less wide.
    assert math.degrees(math.atan(90 / 155) - math.asin(2 / math.hypot(90, 155))) == pytest.approx(29.502, abs=1e-3)
    assert clear_angles(JOB, DIALECT) == [(-29.5, 79.99)]


def test_a_rail_over_the_bay_is_left_by_the_least_lean_that_clears() -> None:
    # The axis may not be in y < -42 + 45 = 3 with z > 75 - 40 = 35. The way passes that corner at 2 mm when it leans
    # atan(3 / 35) + asin(2 / hypot(3, 35)) = 4.899 + 3.264 = 8.163 degrees.
    assert nearest_upright(OVERHUNG, DIALECT) == 8.17
    assert clear_angles(OVERHUNG, DIALECT) == [(8.17, 79.99)]


def test_traverses_count_as_well_as_ways() -> None:
    # A hoist across the row over the bay between bores 1 and 2, where the stem never stands: at their starts it is at X
    # 68 to 128 and -122 to -62. It goes up without end and is 35 wide to each side, so that to pass y = 20 by 2 mm its
    # axis must be at y >= 20 + 35 + 2 = 57 at z = 180, or as far to the other side.
    bar = {"name": "hoist", "x": [-20, 0], "y": [-20, 20], "z": [300, 320]}
    job = with_space(obstacle=[bar])
    least = math.degrees(math.atan(57 / 180))
    assert nearest_upright(job, DIALECT) == pytest.approx(least, abs=0.01)
    assert nearest_upright(job, DIALECT) >= least
    low, high = clear_angles(job, DIALECT)
    assert low == pytest.approx((-79.99, -least), abs=0.01)
    assert high == pytest.approx((least, 79.99), abs=0.01)


def test_ranges_are_those_of_the_bores_asked_for() -> None:
    post = {"name": "post", "x": [-330, -280], "y": [-60, -42], "z": [75, 140]}
    job = with_space(head={"body": LOW_BODY}, obstacle=[post])
    assert clear_angles(job, DIALECT, {0}) == [(-79.99, 79.99)]
    assert clear_angles(job, DIALECT, {2}) != [(-79.99, 79.99)]
    assert clear_angles(job, DIALECT) != [(-79.99, 79.99)]


def test_a_narrow_post_parts_two_ranges() -> None:
    post = {"name": "post", "x": [-40, 120], "y": [60, 65], "z": [150, 155]}
    ranges = clear_angles(with_space(obstacle=[post], bore=[{"face": 0, "width": 34, "diameter": 84.0}]), DIALECT)
    # The body's axis may not be in y 60 - 45 = 15 to 65 + 45 = 110 with z 150 - 60 = 90 to 155 + 45 = 200, nor the
    # stem's in y 25 to 100 with z below 95: of these the way passes (15, 180) above and (110, 90) and (100, 0) below.
    # The first at 2 mm: y = 13 at the top, z = 180. The stem blocks all that goes past y = 25 - 2 = 23 lower than 95.
    assert len(ranges) == 1
    assert ranges[0][0] == -79.99
    assert ranges[0][1] == pytest.approx(math.degrees(math.atan(13 / 180)), abs=0.01)


def test_the_jobs_own_angle_is_not_read() -> None:
    for degrees in (-40.0, 33.3):
        assert nearest_upright(with_angle(OVERHUNG, degrees), DIALECT) == 8.17
        assert clear_angles(with_angle(OVERHUNG, degrees), DIALECT) == [(8.17, 79.99)]


def test_a_block_in_the_way_at_every_angle_is_refused_with_the_pair_and_its_distance() -> None:
    # The body, 60 above the bore line, lies 1.5 mm under a beam right across.
    beam = {"name": "beam", "x": [-700, 60], "y": [-500, 500], "z": [61.5, 110]}
    job = with_space(obstacle=[beam], head={"stem": {"back": 5, "length": 60, "width": 70}})
    with pytest.raises(InputError, match=r'"auto" finds no angle that keeps 2 mm clear .* meets beam') as caught:
        nearest_upright(job, DIALECT)
    assert caught.value.key == ("path", "leave_angle")


def test_the_best_there_is_is_told_when_all_are_refused() -> None:
    # Bulkhead 1 ends 1.5 mm behind the body as it goes down to bore 2: 190 - 34 - (3 + 60 + 70) = 23, so 21.5 longer.
    body = {"length": 91.5, "width": 90, "above": 60, "below": 45}
    with pytest.raises(InputError, match=r"head body comes within 1\.5 mm of bulkhead of bore 1"):
        nearest_upright(with_space(head={"body": body}), DIALECT)


def test_nothing_told_to_keep_clear_of_is_refused() -> None:
    with pytest.raises(InputError, match=r"no \[block\] and no \[\[obstacle\]\]"):
        nearest_upright(make_job(), DIALECT)


def test_what_meets_is_not_clear_at_a_limit_of_nothing() -> None:
    job = with_space(head={"body": LOW_BODY}, obstacle=[OVER], path={"clearance": 0})
    # The corner (3, 35) touched: atan(3 / 35) = 4.899 degrees.
    assert nearest_upright(job, DIALECT) == pytest.approx(4.9, abs=0.011)


extents = st.tuples(st.integers(-200, 200), st.integers(5, 120)).map(lambda pair: [pair[0], pair[0] + pair[1]])


@st.composite
def crowded(draw: st.DrawFn) -> Job:
    """The job among a few boxes over the bays."""
    boxes: list[dict[str, Any]] = []
    for number in range(draw(st.integers(1, 3))):
        low_z = draw(st.integers(62, 170))
        box = {"name": f"box {number}", "x": [-700, 60] if draw(st.booleans()) else draw(extents), "y": draw(extents)}
        box |= {"z": [low_z, low_z + draw(st.integers(5, 60))], "turned": draw(st.sampled_from([0.0, 20.0, -35.0]))}
        boxes.append(box)
    job = with_space(obstacle=[{**box, "x": [10_000 + 100 * at, 10_050 + 100 * at]} for at, box in enumerate(boxes)])
    # Boxes that overlap are refused in a job file, but are as good as one body here.
    moved = [one.model_copy(update={"x": tuple(box["x"])}) for one, box in zip(job.obstacle, boxes, strict=True)]
    return job.model_copy(update={"obstacle": tuple(moved)})


def upright_or_none(job: Job) -> float | None:
    try:
        return nearest_upright(job, DIALECT)
    except InputError:
        return None


@given(job=crowded())
@settings(max_examples=6)
def test_the_angle_found_is_clear_and_nearer_to_upright_is_not(job: Job) -> None:
    angle = upright_or_none(job)
    if angle is None:
        assert not any(ways_clear(job, degrees) for degrees in range(-75, 76, 15))
        return
    assert ways_clear(job, angle)
    if angle:
        assert not ways_clear(job, angle - math.copysign(0.02, angle))
        assert not ways_clear(job, 0.0)


@given(job=crowded())
@settings(max_examples=6)
def test_a_mirrored_job_leans_the_other_way(job: Job) -> None:
    angle, other = upright_or_none(job), upright_or_none(mirrored(job))
    if angle is None or other is None:
        assert angle is other
    else:
        assert other == -angle or (other == angle and ways_clear(job, -angle))
    ranges = clear_angles(job, DIALECT)
    assert clear_angles(mirrored(job), DIALECT) == [(-high, -low) for low, high in reversed(ranges)]


@given(job=crowded(), degrees=st.integers(-7999, 7999).map(lambda count: count / 100))
@settings(max_examples=6)
def test_ranges_tell_which_angles_are_clear(job: Job, degrees: float) -> None:
    ranges = clear_angles(job, DIALECT)
    assert ways_clear(job, degrees) == any(low <= degrees <= high for low, high in ranges)
    for low, high in ranges:
        assert ways_clear(job, low)
        assert ways_clear(job, high)
        for past in (low - 0.01, high + 0.01):
            assert abs(past) > 79.99 or not ways_clear(job, past)
