"""What would make it fit: worked by hand, and what is suggested fits when it is done."""

from typing import Any, Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.angle import with_angle
from gen.dryplan import DryRun
from gen.job import Job
from gen.remedy import (
    Remedy,
    fit_turned_round,
    remedies,
    row_remedies,
    turned_round,
    with_approach,
    with_reach,
)
from gen.row import housings
from post.posts import find
from tests.spaces import BORES, JOB, RAIL, with_space

DIALECT: Final = find("longhand").dialect
BUMP: Final = {"name": "union", "behind": [70, 90], "y": [40, 60], "z": [-10, 10]}


def found(job: Job, bore: int, change: str) -> list[Remedy]:
    turned = fit_turned_round(job, DIALECT)[bore]
    return [remedy for remedy in remedies(job, DIALECT, bore, other_side=turned) if remedy.change == change]


def applied(job: Job, bore: int, remedy: Remedy) -> Job:
    """The job with a remedy done."""
    if remedy.change == "other_side":
        return turned_round(job)
    assert remedy.to is not None
    if remedy.change == "approach":
        return with_approach(job, bore, remedy.to)
    return with_reach(job, remedy.to) if remedy.change == "reach" else with_angle(job, remedy.to)


def test_a_reach_too_short_is_made_longer_by_what_lacks_in_front() -> None:
    # The stroke goes 34 + 2.5 = 36.5 past the near face; with 2 mm left in front of the head the reach is 38.5.
    job = with_space(head={"reach": 37})
    assert not DryRun(job, DIALECT).fits(0)
    assert found(job, 0, "reach") == [Remedy("reach", 38.5)]


def test_a_reach_too_long_is_made_shorter_by_what_lacks_behind() -> None:
    # Bay 2 is 190 - 34 = 156 long; less approach 3, limit 2 and body 70 the reach is 81.
    job = with_space(head={"reach": 90})
    assert found(job, 1, "reach") == [Remedy("reach", 81.0)]
    # Bay 3 is 190 - 28 = 162.
    assert found(job, 2, "reach") == [Remedy("reach", 87.0)]


def test_a_bump_goes_back_with_the_head_when_the_reach_grows() -> None:
    # It ends 90 behind the edge, 30 behind the head's face.
    assert with_reach(with_space(head={"bump": [BUMP]}), 65.0).head.bump[0].behind == (75.0, 95.0)


def test_an_approach_too_large_is_made_smaller_by_what_lacks_behind() -> None:
    # Bay 2: 156 - limit 2 - reach 60 - body 70 leaves an approach of 24; at 30 the body meets bulkhead 1 by 4.
    bores = [BORES[0], {**BORES[1], "approach": 30}, BORES[2]]
    job = with_space(bore=bores)
    assert found(job, 1, "approach") == [Remedy("approach", 24.0)]


def test_an_approach_is_changed_with_the_metal_left_where_it_is() -> None:
    bores = [BORES[0], {"name": "2", "x": -160, "length": -60.5, "diameter": 84.0, "approach": 30}, BORES[2]]
    job = with_space(bore=bores)
    before, after = housings(job)[1], housings(with_approach(job, 1, 24.0))[1]
    assert after.start_x == pytest.approx(-166)
    assert (after.near_x, after.far_x, after.end_x) == pytest.approx((before.near_x, before.far_x, before.end_x))
    assert found(job, 1, "approach") == [Remedy("approach", 24.0)]


def test_turned_round_every_bore_is_fed_from_its_other_face() -> None:
    turned = turned_round(JOB)
    assert turned.direction == 1
    for one, other in zip(housings(JOB), housings(turned), strict=True):
        assert (other.near_x, other.far_x) == (one.far_x, one.near_x)
        assert (other.start_x, other.end_x) == (one.far_x - 3, one.near_x + 2.5)
    assert housings(turned_round(turned)) == tuple(
        housing._replace(bore=bore) for housing, bore in zip(housings(JOB), turned_round(turned).bore, strict=True)
    )


def test_bores_that_fit_from_the_other_side() -> None:
    # With a reach of 90 the head takes 3 + 90 + 70 = 163 and 2 more of limit. From the other side bay 1 is 156 long,
    # bay 2 is 162, and bay 3 is open.
    assert fit_turned_round(with_space(head={"reach": 90}), DIALECT) == [False, False, True]
    assert fit_turned_round(with_space(head={"reach": 88}), DIALECT) == [False, False, True]
    assert fit_turned_round(with_space(head={"reach": 87}), DIALECT) == [False, True, True]
    assert fit_turned_round(with_space(head={"reach": 81}), DIALECT) == [True, True, True]


def test_from_the_other_side_the_cutter_must_start_off_its_neighbours_metal() -> None:
    # From the other side bore 1 starts 20 before its far face, in a gap of 12 to bore 2.
    bores = [{**BORES[0], "approach": 20}, {**BORES[1], "face": -46}]
    job = with_space(head={"reach": 60}, bore=bores, path={"clearance": 0})
    assert not fit_turned_round(job, DIALECT)[0]


def test_an_angle_is_told_to_a_tenth_with_the_ranges_that_clear() -> None:
    # 8.163 degrees by hand, see test_angle.
    over = {**RAIL, "y": [-160, -42], "z": [75, 140]}
    job = with_space(head={"body": {"length": 70, "width": 90, "above": 40, "below": 45}}, obstacle=[over])
    assert found(job, 1, "leave_angle") == [Remedy("leave_angle", 8.2, ((8.2, 79.9),))]


def test_no_angle_is_told_where_the_stroke_itself_does_not_clear() -> None:
    job = with_space(head={"reach": 37})
    assert found(job, 0, "leave_angle") == []


def test_the_whole_row_takes_the_reach_that_all_its_bores_do() -> None:
    job = with_space(head={"reach": 90})
    each = [remedies(job, DIALECT, bore, other_side=False) for bore in (1, 2)]
    assert row_remedies(job, DIALECT, each, other_side=False) == [Remedy("reach", 81.0)]
    assert Remedy("other_side", None) in row_remedies(job, DIALECT, each, other_side=True)


def test_the_whole_row_has_no_remedy_where_its_bores_need_different_ones() -> None:
    # Bore 1 is so wide that its head must be longer (94.5), bay 2 so short that it must not (81).
    bores = [{**BORES[0], "face": 56, "width": 90}, BORES[1], BORES[2]]
    job = with_space(head={"reach": 93}, bore=bores, obstacle=[])
    run = DryRun(job, DIALECT)
    misfits = [bore for bore in range(3) if not run.fits(bore)]
    assert misfits == [0, 1, 2]
    each = [remedies(job, DIALECT, bore, other_side=False) for bore in misfits]
    assert each[0] == [Remedy("reach", 94.5)]
    assert row_remedies(job, DIALECT, each, other_side=False) == []


@st.composite
def tight_jobs(draw: st.DrawFn) -> Job:
    """Jobs whose head hardly fits: reach, approach, body and rail all vary."""
    body = {"length": draw(st.integers(50, 110)), "width": 90, "above": draw(st.integers(40, 70)), "below": 45}
    head: dict[str, Any] = {"reach": draw(st.integers(37, 90)) + draw(st.sampled_from([0, 0.25])), "body": body}
    if draw(st.booleans()):
        head["bump"] = [BUMP]
    low_y = draw(st.integers(-200, 40))
    rail = {**RAIL, "y": [low_y, low_y + 60], "z": [72, 120]}
    approach = draw(st.integers(2, 30))
    bores = [{**bore, "approach": approach} for bore in BORES]
    return with_space(head=head, obstacle=[rail], bore=bores)


@given(job=tight_jobs())
@settings(max_examples=8)
def test_what_is_suggested_fits_when_it_is_done(job: Job) -> None:
    run = DryRun(job, DIALECT)
    turned = fit_turned_round(job, DIALECT)
    each = {
        bore: remedies(job, DIALECT, bore, other_side=turned[bore])
        for bore in range(len(job.bore))
        if not run.fits(bore)
    }
    for bore, some in each.items():
        for remedy in some:
            assert DryRun(applied(job, bore, remedy), DIALECT).fits(bore), remedy
    if each:
        for remedy in row_remedies(job, DIALECT, list(each.values()), other_side=all(turned)):
            assert DryRun(applied(job, 0, remedy), DIALECT).all_fit(), remedy


@given(job=tight_jobs())
@settings(max_examples=6)
def test_a_step_less_than_suggested_does_not_fit(job: Job) -> None:
    run = DryRun(job, DIALECT)
    for bore in range(len(job.bore)):
        for remedy in remedies(job, DIALECT, bore, other_side=False) if not run.fits(bore) else ():
            if remedy.change in ("reach", "approach") and remedy.to is not None:
                now = job.head.reach if remedy.change == "reach" else job.bore[bore].approach
                assert now is not None
                less = remedy._replace(to=remedy.to + (0.001 if remedy.to < now else -0.001))
                assert not DryRun(applied(job, bore, less), DIALECT).fits(bore), remedy
