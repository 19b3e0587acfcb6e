"""The data of a page against the timeline that was judged."""

import json
import math
from pathlib import Path
from typing import Any, Final

import pytest
from hypothesis import given, settings

from gen.job import Job
from gen.pagedata import AIR, BEGUN, DONE
from gen.pipeline import begin
from gen.summary import times
from post.posts import find
from post.reader import read
from post.replay import replay
from post.telling import tell
from post.timeline import End, Halt, Move, OffsetChange, SpinChange, Wait
from tests.jobs import INCH_TEXT, make_job, valid_jobs
from tests.pages import Judged, judged, judged_job, values, words
from tests.programs import DROPPED, NOT_FITTING, SAMPLES, SETTINGS, STILL, delete, posted, task_of
from tests.shop import PASSES, sized_job
from tests.test_samples import POST_OF

KIND: Final = {Wait: 2, Halt: 3, SpinChange: 4, OffsetChange: 5, End: 6}
JOBS: Final = {
    "plain": make_job(),
    "still": STILL,
    "lifted": DROPPED,
    "settings": SETTINGS,
    "inch": make_job(INCH_TEXT),
}


def sample(path: Path) -> Judged:
    return judged(begin(path, POST_OF.get(path.stem, "longhand"), walk=False))


def same(one: float, other: float) -> bool:
    return math.isnan(one) if math.isnan(other) else one == pytest.approx(other, abs=1e-6)


def holds_the_timeline(found: Judged) -> None:
    """Every event of the timeline stands in the columns: where it is, how long it takes, and the spindle."""
    data, events = found.data(), found.verdict.joined.continued.events
    columns = {name: values(column) for name, column in data["events"].items() if name != "breaks"}
    breaks = {number: [math.nan if at is None else at for at in place] for number, *place in data["events"]["breaks"]}
    here = [math.nan, math.nan, math.nan]
    for number, event in enumerate(events):
        now = {name: column[number] for name, column in columns.items()}
        assert now["line"] == event.line
        if isinstance(event, Move):
            here = breaks.get(number, here)
            assert all(map(same, here, event.start))
            assert now["kind"] == (0 if event.feed is None else 1)
            assert same(now["feed"], math.nan if event.feed is None else event.feed)
            here = list(event.end)
        else:
            assert now["kind"] == KIND[type(event)]
            assert now["seconds"] == (round(event.seconds, 9) if isinstance(event, Wait) else 0)
        assert all(map(same, (now["x"], now["y"], now["z"]), here))
        if isinstance(event, End):
            assert (now["rpm"], now["sense"]) == (0, 0)
        elif not isinstance(event, OffsetChange):
            assert spun(now) == (round(event.spin.rpm, 6), event.spin.turning)
    assert {len(column) for column in columns.values()} == {len(events)}
    assert sum(columns["seconds"]) == pytest.approx(times(found.task.job, found.verdict.joined.continued)[0], abs=1e-5)


def spun(now: dict[str, Any]) -> tuple[float, bool]:
    return now["rpm"], now["sense"] != 0


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_columns_of_a_sample_are_its_timeline(path: Path) -> None:
    holds_the_timeline(sample(path))


@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize("walk", [False, True], ids=["bore", "walk"])
def test_the_columns_of_a_job_are_its_timeline(name: str, walk: bool) -> None:
    post = "oriented" if JOBS[name].path.withdraw == "lift" else "longhand"
    holds_the_timeline(judged_job(JOBS[name], post, walk=walk))


@given(valid_jobs(most_bores=3))
@settings(max_examples=20)
def test_the_columns_of_any_job_are_its_timeline(job: Job) -> None:
    holds_the_timeline(judged_job(job, "oriented"))


def test_both_senses_are_told_apart() -> None:
    senses = {head: values(judged_job(turning(head)).data()["events"]["sense"]) for head in (False, True)}
    assert {1} == {sense for sense in senses[False] if sense}
    assert {-1} == {sense for sense in senses[True] if sense}


def turning(reverses: bool) -> Job:
    return make_job(head={"reverses": reverses})


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_words_of_a_sample_are_those_of_the_telling(path: Path) -> None:
    found = sample(path)
    (text,) = found.texts
    blocks = list(read(text, found.task.post.dialect))
    zero = found.task.job.machine.zero
    timeline = replay(
        iter(blocks),
        found.task.post.dialect,
        zero=(zero.x, zero.y, zero.z),
        work_offset=found.task.job.machine.work_offset,
    )
    told = {one.line: one.words for one in tell(blocks, timeline, found.task.post.dialect)}
    data = found.data()
    lines = values(data["lines"])
    assert lines == text.removesuffix("\n").split("\n")
    assert data["lineCount"] == len(lines)
    assert words(data) == [told.get(line, "") for line in range(1, len(lines) + 1)]
    assert any(told.values())


def test_a_move_that_does_not_begin_where_the_last_ended_says_where() -> None:
    found = judged_job(make_job())
    events = found.verdict.joined.continued.events
    number = next(number for number, event in enumerate(events) if isinstance(event, Move) and event.feed)
    move = events[number]
    assert isinstance(move, Move)
    events[number] = move._replace(start=(1.0, math.nan, 3.0))
    assert found.data()["events"]["breaks"] == [[number, 1.0, None, 3.0]]


def test_programs_run_one_after_the_other_and_say_what_comes_between() -> None:
    found = judged_job(SETTINGS, "one-pass")
    data = found.data()
    counts = [text.count("\n") for text in found.texts]
    assert data["starts"] == [0, counts[0], counts[0] + counts[1]]
    assert values(data["lines"]) == [line for text in found.texts for line in text.removesuffix("\n").split("\n")]
    assert [(message, optional) for _, message, optional in data["halts"]] == [
        ("program 1 is over; next is program 2 of 3: set the cutter for diameter 90 mm, bore 2", False),
        ("program 2 is over; next is program 3 of 3: set the cutter for diameter 84 mm, bore 3", False),
    ]
    kinds = values(data["events"]["kind"])
    assert [kinds[event] for event, _, _ in data["halts"]] == [3, 3]
    assert any("counterclockwise" in told for told in words(data)[counts[0] : counts[0] + counts[1]])


def test_programs_that_are_not_those_of_the_plan_say_only_which_is_next() -> None:
    found = judged(task_of(make_job()), [posted(make_job())] * 2, physics_only=True)
    assert [message for _, message, _ in found.data()["halts"]] == ["program 1 is over; next is program 2 of 2"]


def test_a_stop_has_its_message() -> None:
    found = judged_job(SETTINGS)
    halts = [event for event in found.verdict.timeline.events if isinstance(event, Halt)]
    assert halts
    assert [halt[1:] for halt in found.data()["halts"]] == [[halt.message, halt.optional] for halt in halts]


def tug() -> Judged:
    (path,) = (path for path in SAMPLES if path.stem == "tug-auxiliary")
    return sample(path)


def test_clearance_stands_at_the_move_it_was_judged_on() -> None:
    found = tug()
    clearance = found.verdict.clearance
    assert clearance is not None
    near = found.data()["near"]
    events = found.verdict.joined.continued.events
    at = dict(zip(values(near["event"]), zip(values(near["distance"]), values(near["pair"]), strict=True), strict=True))
    assert near["limit"] == found.task.job.path.clearance
    assert len(at) == len(clearance.nearest) > 0
    for one in clearance.nearest.values():
        (event,) = (number for number, event in enumerate(events) if event is clearance.moves[one.move])
        assert at[event] == (round(one.distance, 6), (one.part, one.obstacle))


def test_a_job_with_nothing_to_be_near_to_says_so() -> None:
    assert judged_job(make_job()).data()["near"] is None


def test_findings_have_their_line_in_all_programs() -> None:
    job = SETTINGS
    texts = list(judged_job(job, "one-pass").texts)
    edit = delete("feed through bore")(texts[1])
    texts[1] = edit.text
    found = judged(task_of(job, "one-pass"), texts)
    data = found.data()
    assert data["proved"] is False
    assert len(data["findings"]) == len(found.verdict.findings) > 0
    start = texts[0].count("\n")
    for told, finding in zip(data["findings"], found.verdict.findings, strict=True):
        assert (told["rule"], told["program"], told["line"], told["message"]) == (
            finding.rule,
            finding.program,
            finding.line,
            finding.message,
        )
        assert told["at"] == data["starts"][finding.program - 1] + finding.line
    assert any(told["program"] == 2 and told["at"] > start for told in data["findings"])


def test_no_more_findings_are_kept_than_anybody_reads(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gen.pagedata.MOST_FINDINGS", 3)
    found = judged(begin(NOT_FITTING, "longhand", walk=False))
    assert len(found.verdict.findings) > 3
    assert [told["line"] for told in found.data()["findings"]] == [one.line for one in found.verdict.findings[:3]]


def test_a_finding_of_the_whole_program_has_no_place() -> None:
    job = make_job()
    found = judged(task_of(job), [delete("M30")(posted(job)).text])
    assert [told["at"] for told in found.data()["findings"] if not told["line"]] in ([], [0])
    assert found.data()["understood"] is False


def test_bores_know_their_first_cut() -> None:
    found = judged_job(make_job())
    events = found.verdict.timeline.events
    data = found.data()
    lines = values(data["lines"])
    assert [bore["name"] for bore in data["bores"]] == ["1", "2", "3"]
    for bore in data["bores"]:
        assert f"feed through bore {bore['name']}" in lines[events[bore["first"]].line - 1]
    first = data["bores"][0]
    assert (first["start"], first["near"], first["far"], first["end"], first["diameter"]) == (3, 0, -32, -34.5, 84)
    assert set(values(data["strokes"]["bore"])) == {0, 1, 2}
    assert set(values(data["strokes"]["diameter"])) == {84}
    assert {bore["first"] for bore in data["bores"]} <= set(values(data["strokes"]["event"]))


def test_each_stroke_knows_whether_it_cuts_and_whether_it_is_a_bore_s_last_pass() -> None:
    """Air at 81.98, a skim at 83.08, a roughing pass at 83.811, the last at 84.011."""
    found = judged_job(sized_job(1, passes={**PASSES, "air": True}))
    strokes = found.data()["strokes"]
    stages = dict(zip(values(strokes["diameter"]), values(strokes["stage"]), strict=True))
    assert stages == {81.98: AIR, 83.08: BEGUN, 83.811: BEGUN, 84.011: DONE}
    (first,) = (bore["first"] for bore in found.data()["bores"])
    assert first == values(strokes["event"])[values(strokes["stage"]).index(BEGUN)]
    assert set(values(judged_job(make_job()).data()["strokes"]["stage"])) == {DONE}


def test_a_pass_that_cuts_one_side_of_a_bore_off_the_line_has_begun_it() -> None:
    """82.98 and 0.1 off: 82.78 about the line, so that the air pass is at 81.78 and the skim at 82.88."""
    bore = {"face": 0, "width": 28, "diameter": 84.0, "measured": [82.98, 82.99], "centre": [0, 0.1]}
    strokes = judged_job(sized_job(bore=[bore], passes={**PASSES, "air": True})).data()["strokes"]
    stages = dict(zip(values(strokes["diameter"]), values(strokes["stage"]), strict=True))
    assert stages[81.78] == AIR
    assert stages[82.88] == BEGUN


def test_a_walk_through_cuts_nothing() -> None:
    data = judged_job(make_job(), walk=True).data()
    assert data["walk"] is True
    assert [bore["first"] for bore in data["bores"]] == [None, None, None]
    assert values(data["strokes"]["event"]) == []
    assert not any(values(data["events"]["rpm"]))


def test_inches_keep_their_unit_and_are_millimetres_inside() -> None:
    job = make_job(INCH_TEXT)
    data = judged_job(job).data()
    assert data["units"] == "inch"
    assert data["zero"] == [pytest.approx(-508), 0, pytest.approx(-381)]
    assert max(values(data["events"]["z"])[5:]) == pytest.approx(6.5 * 25.4)
    assert any("in/min" in told for told in words(data))


@pytest.mark.parametrize("text", ["", "not a program", "G21 G90\nG1 X1 Q9\nM30\n"])
def test_what_cannot_be_read_is_shown_as_far_as_it_goes(text: str) -> None:
    found = judged(task_of(make_job()), [text])
    data = found.data()
    assert data["proved"] is False
    assert data["understood"] is False
    assert values(data["lines"]) == text.removesuffix("\n").split("\n")
    json.dumps(data, allow_nan=False)


def test_the_head_that_does_not_go_in_is_not_proved() -> None:
    found = judged(begin(NOT_FITTING, "longhand", walk=False))
    data = found.data()
    assert data["proved"] is False
    assert any(distance <= 0 for distance in values(data["near"]["distance"]))


def test_job_and_post_are_named_as_in_the_program_s_header() -> None:
    found = judged_job(make_job(), "per-turn")
    data = found.data()
    assert f"Post per-turn, fingerprint of job and post {data['fingerprint']}" in found.texts[0].replace("\n", " ")
    assert (data["post"], data["job"]) == ("per-turn", found.task.job.name)
    assert find("per-turn").name == data["post"]
