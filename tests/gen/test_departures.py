"""Where a program judged by physics alone departs from its job."""

from pathlib import Path
from typing import Final

import pytest

from gen.asrun import done
from gen.departures import REMEDY, Departures, departures
from gen.job import Job
from gen.pipeline import Task, begin, program_texts, prove_texts
from tests.jobs import INCH_TEXT, make_job
from tests.programs import SAMPLES, SETTINGS, Editing, able, all_posted, both, change, delete, insert, posted, task_of
from tests.shop import sized_job
from tests.test_samples import POST_OF

JOB: Final = make_job()
PASSES: Final = make_job(
    bore=[{"face": 0, "width": 32, "diameter": 84.0, "measured": [83.0, 83.02]}],
    passes={"depth": 0.3, "finish_stock": 0.1, "air": True},
)


def departed(task: Task, texts: list[str]) -> Departures:
    verdict = prove_texts(task, texts, physics_only=True, read_twice=False)
    assert not [finding for finding in verdict.findings if finding.rule == "unreadable"]
    return departures(task, verdict, done(task.job, task.post.dialect, verdict))


def told(job: Job, edit: Editing, post_name: str = "longhand") -> list[str]:
    """The problems of a program as posted, then edited."""
    text = edit(posted(job, post_name)).text
    found = departed(task_of(job, post_name), [text])
    assert {caution.remedy for caution in found.cautions} <= {REMEDY}
    return [caution.problem for caution in found.cautions]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_as_posted_departs_in_nothing(path: Path) -> None:
    task = begin(path, POST_OF.get(path.stem, "longhand"), walk=False)
    assert departed(task, program_texts(task)) == Departures((), cuts_as_job=True)


POSTED: Final = {
    f"{name}, {post_name}": (job, post_name)
    for name, job in {
        "mm": JOB,
        "sizes": SETTINGS,
        "passes": PASSES,
        "inch": make_job(INCH_TEXT),
        "over": sized_job(),
    }.items()
    for post_name in able(job)
}


@pytest.mark.parametrize(("job", "post_name"), POSTED.values(), ids=POSTED)
def test_no_post_departs_from_its_job(job: Job, post_name: str) -> None:
    texts = list(all_posted(job, post_name))
    assert departed(task_of(job, post_name), texts) == Departures((), cuts_as_job=True)


def test_a_speed_is_told_with_the_job_s_and_the_feed_a_turn_that_follows() -> None:
    edit = change("S760", "S400", 2)
    line = edit(posted(JOB)).line + 1
    assert told(JOB, edit) == [
        f"line {line}: spindle 400 rpm (200 at the cutter) in bore 2, where the job has 760 rpm (380 at the cutter)",
        f"line {line}: feed 38 mm/min (0.19 mm a cutter turn) in bore 2, where the job has 38 mm/min"
        " (0.1 mm a cutter turn)",
    ]


def test_a_feed_is_told_where_it_is_furthest_off() -> None:
    edit = both(change("F38.000", "F40"), change("F38.000 (feed through bore 2)", "F9 (feed through bore 2)"))
    line = change("F38.000 (feed through bore 2)", "")(posted(JOB)).line
    (problem,) = told(JOB, change("F38.000 (withdraw from bore 2)", "F60 (withdraw from bore 2)"))
    assert problem.startswith("line ")
    assert ": feed 60 mm/min (0.1579 mm a cutter turn) in bore 2, where" in problem
    assert told(JOB, edit) == [
        f"line {line}: feed 9 mm/min (0.0237 mm a cutter turn) in bore 2, where the job has 38 mm/min"
        " (0.1 mm a cutter turn), and 1 more bore not as in the job"
    ]


def test_speeds_and_feeds_that_are_not_the_job_s_are_known_as_such() -> None:
    for edit, as_job in (
        (change("F38.000", "F39"), False),
        (change("S760", "S761"), False),
        (change("P0.64", "P0.9"), True),
    ):
        text = edit(posted(JOB)).text
        assert departed(task_of(JOB), [text]).cuts_as_job is as_job
    uncut = "\n".join(line for line in posted(JOB).split("\n") if "bore 2)" not in line)
    assert not departed(task_of(JOB), [uncut]).cuts_as_job


def test_a_dwell_is_told_where_it_is_longer_shorter_missing_or_not_planned() -> None:
    line = change("P0.64", "P0.9")(posted(JOB)).line
    assert told(JOB, change("P0.64", "P0.9")) == [f"line {line}: a dwell of 0.9 s in bore 1, where the job has 0.64 s"]
    assert told(JOB, change("P0.64", "P0.1")) == [f"line {line}: a dwell of 0.1 s in bore 1, where the job has 0.64 s"]
    assert told(JOB, delete("G4 P0.64")) == [f"line {line}: no dwell in bore 1, where the job has 0.64 s"]
    late = insert("G4 P2.5", "G1 X-127.000")
    assert told(JOB, late) == [f"line {late(posted(JOB)).line}: a dwell of 2.5 s in bore 2, where the job has none"]


def test_a_stop_that_tells_another_setting_is_told_with_its_line() -> None:
    edit = change("set the cutter for diameter 90 mm, bore 2", "set the cutter for diameter 91 mm, bore 2")
    line = edit(posted(SETTINGS)).line
    assert told(SETTINGS, edit) == [
        f'line {line}: the stop says "set the cutter for diameter 91 mm, bore 2",'
        ' where the job has "set the cutter for diameter 90 mm, bore 2"'
    ]
    assert told(SETTINGS, change("set the cutter for diameter 90 mm, bore 2", "SET 90.0")) == []


def test_a_stop_before_a_new_setting_must_tell_it() -> None:
    text = posted(SETTINGS)
    message = "(MSG, set the cutter for diameter 90 mm, bore 2)"
    for instead, says in (("", "says nothing"), ("(MSG, chips)", 'says "chips"')):
        edit = change(message, instead)
        (problem,) = told(SETTINGS, edit)
        assert problem.startswith(f"line {edit(text).line}: the stop {says}, where the job has")


def test_stops_for_other_things_are_left_alone() -> None:
    text = posted(SETTINGS)
    at = next(line for line in text.split("\n") if line.startswith("M0 "))
    for more in ("M0 (MSG, look at bore 7)", "M0", "M1 (MSG, set 3)"):
        assert told(SETTINGS, insert(more, at)) == []
    assert len(told(SETTINGS, insert("M0 (MSG, set 3)", at))) == 1
    assert len(told(JOB, insert("M0 (MSG, set to 83.2)", "G0 X-127.000"))) == 1
    assert told(JOB, insert("M0 (MSG, measure 83.2)", "G0 X-127.000")) == []


def test_several_passes_have_a_setting_each() -> None:
    text = posted(PASSES)
    stops = [line for line in text.split("\n") if line.startswith("M0 ")]
    assert len(stops) == 3
    for stop in stops:
        (problem,) = told(PASSES, change(stop, "M0 (MSG, rough pass: set the cutter to diameter 85.1 mm)"))
        assert stop.removeprefix("M0 (MSG, ").removesuffix(")") in problem


def test_several_programs_are_told_with_their_lines() -> None:
    task, texts = task_of(SETTINGS, "one-pass"), list(all_posted(SETTINGS, "one-pass"))
    edit = change("F38.000", "F50")(texts[1])
    texts[1] = edit.text
    (caution,) = departed(task, texts).cautions
    assert caution.problem.startswith(f"program 2, line {edit.line}: feed 50 mm/min")
