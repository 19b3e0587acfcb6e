"""Walk-throughs: nothing turns, nothing enters, every start is stopped at."""

from typing import Final

import pytest
from hypothesis import HealthCheck, given, settings

from gen.job import Job
from gen.walk import judge_walk
from post.finding import Finding
from post.posts import find
from post.reader import read
from post.replay import replay
from post.timeline import Halt, Move, SpinChange
from tests.jobs import make_job, valid_jobs
from tests.programs import Editing, both, change, delete, insert, posted

JOB: Final = make_job()
DIALECT: Final = find("longhand").dialect


def judged(job: Job, program: str) -> list[Finding]:
    timeline = replay(read(program, DIALECT), DIALECT)
    assert timeline.findings == []
    return judge_walk(job, timeline, DIALECT, program.split("\n"))


def edited(edit: Editing) -> list[tuple[str, str]]:
    findings = judged(JOB, edit(posted(JOB, walk=True)).text)
    return [(finding.rule, finding.found) for finding in findings]


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(valid_jobs())
def test_a_walk_stops_once_at_every_start_and_nothing_turns_or_feeds(job: Job) -> None:
    timeline = replay(read(posted(job, walk=True), DIALECT), DIALECT)
    assert not [event for event in timeline.events if isinstance(event, SpinChange)]
    assert all(event.feed is None for event in timeline.events if isinstance(event, Move))
    assert len([event for event in timeline.events if isinstance(event, Halt)]) == len(job.bore)
    assert judged(job, posted(job, walk=True)) == []


def test_stops_in_any_order_and_more_than_asked_are_good() -> None:
    hand = "G21 G17 G90 G94 G54\nG0 Z160\nM0\n" + "".join(
        f"X{x} Y0\nZ0\nM0\nG1 Z20 F1000\nZ0\nM1\nG4 P1\nG0 Z160\n" for x in ("-252", "3", "-127", "3")
    )
    assert judged(JOB, hand + "M30") == []


@pytest.mark.parametrize(
    ("edit", "told"),
    [
        (insert("M3 S1", "(up from bore 1)"), "walk-turns"),
        (insert("G0 X0", "(up from bore 1)"), "low-traverse"),
        (insert("G0 X-0.1", "(up from bore 1)"), "walk-enters"),
        (insert("G1 X-0.1 F1", "(up from bore 1)"), "walk-enters"),
        (insert("G0 Y1", "(up from bore 1)"), "low-traverse"),
        (insert("G0 Z-1", "(up from bore 1)"), "low-traverse"),
        (change("Z160.000 (over bore 2)", "Z159"), "walk-enters"),
        (delete("G0 Z160"), "low-traverse"),
    ],
    ids=["turns", "in the gap", "rapid into", "feed into", "across", "deeper", "through", "first move"],
)
def test_what_a_walk_must_not_do(edit: Editing, told: str) -> None:
    assert edited(edit)[0][0] == told


@pytest.mark.parametrize(
    "edit",
    [
        delete("M0"),
        change("M0", "M1"),
        change("M0", "G4 P5"),
        both(delete("M0"), insert("M0", "(down to bore 1)")),
        both(delete("M0"), insert("G0 Z0.1\nM0", "(up from bore 1)")),
        both(delete("M0"), delete("G0 X3.000 Y0.000 Z0.000")),
    ],
    ids=["gone", "optional", "a dwell", "above", "a little above", "not gone down"],
)
def test_a_start_is_stopped_at_on_the_bore_line_by_a_stop_that_always_stops(edit: Editing) -> None:
    assert edited(edit) == [("walk-missed", "no stop at the start of bore 1")]


def test_a_walk_is_no_boring_program_nor_the_other_way_round() -> None:
    rules = {finding.rule for finding in judged(JOB, posted(JOB))}
    assert rules == {"walk-turns", "walk-enters", "walk-missed"}
