"""A plan run dry is what its program does when it is read back and replayed."""

import math
from typing import Final

import pytest
from hypothesis import given, settings

from gen.dryplan import DryRun, bore_of_step, timeline_of
from gen.job import Job
from gen.planner import plan
from post.posts import find
from post.reader import read
from post.replay import replay
from post.timeline import Event, Halt, Move, Spin, Wait
from tests.jobs import make_job, valid_jobs
from tests.programs import DROPPED, SETTINGS, STILL, able, posted
from tests.spaces import HEAD, JOB, with_space

LONGHAND: Final = find("longhand").dialect


def figures(event: Event) -> tuple[object, ...]:
    """What an event does, but for the line it is on."""
    match event:
        case Move(_, start, end, feed, spin):
            return ("move", *start, *end, feed, *_spin(spin))
        case Wait(_, seconds, spin):
            return ("wait", seconds, *_spin(spin))
        case Halt(_, _, optional, spin):
            return ("halt", optional, *_spin(spin))
        case _:
            return (type(event).__name__, *(_spin(part) if isinstance(part, Spin) else part for part in event[1:]))


def _spin(spin: Spin) -> tuple[object, ...]:
    return spin.rpm, spin.sense, spin.angle


def same(one: tuple[object, ...], other: tuple[object, ...]) -> bool:
    return len(one) == len(other) and all(
        math.isclose(mine, theirs, rel_tol=1e-12, abs_tol=1e-9) or (math.isnan(mine) and math.isnan(theirs))
        if isinstance(mine, float) and isinstance(theirs, float)
        else mine == theirs
        for mine, theirs in zip(one, other, strict=True)
    )


def check_same(job: Job, post_name: str) -> None:
    dialect = find(post_name).dialect
    replayed = replay(read(posted(job, post_name), dialect), dialect)
    assert not replayed.findings
    dry = timeline_of(plan(job, dialect))
    assert dry.units == replayed.units
    assert len(dry.events) == len(replayed.events)
    for mine, theirs in zip(dry.events, replayed.events, strict=True):
        assert same(figures(mine), figures(theirs)), f"{mine} is not {theirs}"


def longhand_posts(job: Job) -> list[str]:
    """Posts that can express a job in one program and write every move out.

    A cycle may do more than it must with the spindle; what several programs do is not run dry.
    """
    dialects = {name: find(name).dialect for name in able(job)}
    return [name for name, told in dialects.items() if not told.cycles and told.new_setting == "stop"]


@pytest.mark.parametrize("job", [make_job(), SETTINGS, STILL, DROPPED], ids=["plain", "settings", "still", "lift"])
def test_a_dry_run_does_what_the_program_does(job: Job) -> None:
    names = longhand_posts(job)
    assert names
    for name in names:
        check_same(job, name)


@given(job=valid_jobs(most_bores=3))
@settings(max_examples=25)
def test_any_job_is_run_dry_as_its_program_runs(job: Job) -> None:
    for name in longhand_posts(job):
        check_same(job, name)


def test_steps_are_told_by_bore() -> None:
    planned = plan(SETTINGS, LONGHAND)
    bores = bore_of_step(planned)
    assert len(bores) == len(list(planned.simple())) + 1
    assert bores == sorted(bores)
    assert set(bores) == {-1, 0, 1, 2}


def test_a_traverse_belongs_to_the_bore_it_goes_to_and_the_way_out_to_the_one_it_leaves() -> None:
    run = DryRun(JOB, LONGHAND)
    moves = [event for event in run.timeline.events if isinstance(event, Move)]
    starts = {3.0: 0, -187.0: 1, -377.0: 2}
    own = [(run.bore_of_step[move.line], move) for move in moves if not any(map(math.isnan, move.start))]
    assert all(starts.get(move.end[0], bore) == bore for bore, move in own)
    assert [bore for bore, move in own if move.end[2] > move.start[2]] == [0, 1, 2]


def test_what_meets_is_too_near_whatever_the_limit() -> None:
    inside = {"name": "post", "x": [-40, 40], "y": [60, 80], "z": [-200, 20]}
    job = with_space(
        path={"clearance": 0},
        head={**HEAD, "body": {"length": 70, "width": 130, "above": 60, "below": 45}},
        obstacle=[inside],
    )
    run = DryRun(job, LONGHAND)
    assert not run.fits(0)
    assert not run.all_fit()
