"""The proof of several programs that are run one after the other: every finding lands on its program and its line."""

from collections.abc import Sequence
from typing import Final, NamedTuple

import pytest
from hypothesis import given, settings

from gen import proof
from gen.job import Job
from gen.proof import prove
from post.finding import Finding
from post.timeline import Halt
from tests.jobs import job_datas, job_of, make_job
from tests.programs import (
    SETTINGS,
    Editing,
    all_posted,
    change,
    delete,
    insert,
    posted,
    task_of,
    told,
    verdict_of,
    verdict_of_all,
)

POST: Final = "one-pass"
TEXTS: Final = all_posted(SETTINGS, POST)
"""Three programs: bore 1 at 84 mm, bore 2 at 90 mm, bore 3 at 84 mm."""
CROWDED: Final = make_job(
    head={"reach": 40, "body": {"length": 20, "width": 80, "above": 50, "below": 45}},
    block={"y": [-120, 120], "z": [-100, 100], "hole": 83.0},
    bore=[
        {"face": 0, "width": 32, "diameter": 84.0},
        {"face": -130, "width": 28, "diameter": 90.0},
        {"face": -255, "width": 32, "diameter": 84.0},
    ],
)


def found(texts: Sequence[str], *, physics_only: bool = False, job: Job = SETTINGS) -> list[Finding]:
    return list(verdict_of_all(job, texts, POST, physics_only=physics_only).findings)


def test_programs_that_are_as_planned_prove_together() -> None:
    for physics_only in (False, True):
        verdict = verdict_of_all(SETTINGS, TEXTS, POST, physics_only=physics_only)
        assert verdict.proved
        assert (
            verdict.timeline.blocks
            == verdict.read_twice
            == sum(verdict_of(SETTINGS, text, POST, physics_only=True).timeline.blocks for text in TEXTS)
        )
        assert sum(isinstance(event, Halt) for event in verdict.timeline.events) == 2
        assert verdict.travel["x"].lowest == -289.5 - 150
        assert verdict.travel["x"].highest == 3 - 150


class Broken(NamedTuple):
    """An edit of one program: told so many lines behind it in that program, in these phrases."""

    rule: str
    edit: Editing
    found: str
    expected: str
    behind: int = 0
    program: int = 2
    physics_only: bool = False
    job: Job = SETTINGS


TABLE: Final = (
    Broken("path-differs", change("X-160.500", "X-160.400"), "goes to X-160.4", "X-160.5"),
    Broken("path-differs", delete("(over bore 3)"), "a step is missing", "rapid to X-252", program=3),
    Broken("feed-differs", change("F38.000", "F39.000"), "feed at 39 mm/min", "feed at 38 mm/min", program=3),
    Broken("path-differs", insert("M0 (MSG, wait)", "M30"), 'a stop that says "wait"', "no such step here", program=1),
    Broken("unreadable", change("X-160.500", "X-160,500"), 'the character ","', "words and comments only"),
    Broken("no-end", delete("M30"), "without M2 or M30", "M2 or M30", -1),
    Broken("after-end", change("M30", "M30\nG0 Z160"), "words after the end", "nothing after", 1, program=3),
    *(
        Broken(
            "state-assumed", change(code, ""), f"the first move with no {code.strip()}", code.strip(), 3, program, alone
        )
        for code in (" G40", " G49", " G61")
        for program in (1, 2, 3)
        for alone in (False, True)
    ),
    Broken("state-assumed", change("G21 ", ""), "no units", "G20 or G21", 3, 3),
    Broken("state-assumed", change("G94 G54", "G94"), "no work offset", "G54", 2),
    Broken("state-assumed", delete("M5 (nothing turns yet)"), "no M3 or M4 or M5", "M3 or M4 or M5", 0),
    Broken("state-assumed", change(" F38.000", ""), "no F stated", "F on a line after G20 or G21"),
    Broken("state-assumed", change("S760 ", ""), "M4 at no S", "S above 0"),
    Broken(
        "low-traverse",
        change("G0 Z160.000", "G0 Z50"),
        "below the clearance height from a place not known",
        "160 mm",
        0,
        2,
        True,
    ),
    Broken(
        "low-traverse",
        delete("(to the clearance height)"),
        "moves in X or Y from a height not known",
        "160 mm",
        1,
        2,
        True,
    ),
    Broken("unsafe-end", delete("(up from bore 2)"), "ends at Z 0 mm", "Z 160 mm or above", 0, 2, True),
    Broken(
        "unsafe-end", insert("S760 M4", "M30"), "ends with the spindle turning", "stopped before the end", 1, 1, True
    ),
    Broken("over-travel", insert("G0 Y-300.25", "M30"), "Y would go to machine -300.25 mm", "-300 mm", 0, 3, True),
    Broken("offset-differs", change("G94 G54", "G94 G55"), "G55 is selected", "G54", 0, 2, True),
    Broken("sense-differs", change("S760 M4", "S760 M3"), "bore 3 with the spindle turning M3", "M4", 1, 3, True),
    Broken(
        "too-close",
        insert("G0 X-62", "(up from bore 2)"),
        "head body meets bulkhead of bore 1",
        "2 mm",
        0,
        2,
        True,
        CROWDED,
    ),
)


@pytest.mark.parametrize("broken", TABLE, ids=lambda broken: f"{broken.rule}, program {broken.program}: {broken.found}")
def test_a_finding_lands_on_its_program_and_line(broken: Broken) -> None:
    texts = list(all_posted(broken.job, POST))
    edited = broken.edit(texts[broken.program - 1])
    texts[broken.program - 1] = edited.text
    findings = found(texts, physics_only=broken.physics_only, job=broken.job)
    own = [finding for finding in findings if finding.program == broken.program]
    at = edited.line + broken.behind
    assert told(own, broken.rule, at, broken.found, broken.expected), findings
    lines = edited.text.split("\n")
    assert all(finding.text == lines[finding.line - 1] for finding in own)
    assert {finding.program for finding in findings} == {broken.program}


def test_what_only_all_programs_together_leave_undone_is_told_at_the_end_of_the_last() -> None:
    texts = [TEXTS[0], delete("(withdraw from bore 2)")(delete("(feed through bore 2)")(TEXTS[1]).text).text, TEXTS[2]]
    (finding,) = found(texts, physics_only=True)
    assert (finding.rule, finding.program, finding.line) == ("bore-missed", 3, TEXTS[2].count("\n"))
    assert (finding.found, finding.text) == ("bore 2 is never cut", "M30")
    short = [TEXTS[0], change("X-160.500", "X-150")(TEXTS[1]).text, TEXTS[2]]
    (finding,) = found(short, physics_only=True)
    assert (finding.rule, finding.program, finding.found) == ("bore-short", 3, "bore 2 is cut to X -150 mm")


@pytest.mark.parametrize("left_out", [0, 1, 2])
def test_a_program_left_out_misses_its_bore(left_out: int) -> None:
    texts = [text for at, text in enumerate(TEXTS) if at != left_out]
    assert [(finding.rule, finding.program, finding.found) for finding in found(texts, physics_only=True)] == [
        ("bore-missed", 2, f"bore {left_out + 1} is never cut")
    ]


@pytest.mark.parametrize("order", [(1, 0, 2), (2, 1, 0), (0, 2, 1), (0, 0, 2), (0, 1, 1)])
def test_programs_out_of_order_or_run_twice_are_not_the_plan(order: tuple[int, ...]) -> None:
    findings = found([TEXTS[at] for at in order])
    wrong = {number for number, at in enumerate(order, 1) if at != number - 1}
    assert {finding.program for finding in findings if finding.rule == "path-differs"} == wrong
    elsewhere = [finding for finding in findings if finding.program not in wrong]
    assert {(finding.rule, finding.program) for finding in elsewhere} <= {("bore-missed", 3)}


def test_a_bore_cut_twice_is_not_the_plan() -> None:
    again = "G0 X-127 Y0 Z0\nS760 M4\nG1 X-160.5 F38\nG1 X-127\nM5\nG0 Z160"
    edit = insert(again, "M30")(TEXTS[1])
    findings = found([TEXTS[0], edit.text, TEXTS[2]])
    assert told(findings, "path-differs", edit.line, "rapid to X-127 Y0 Z0", "no such step here")
    assert {finding.program for finding in findings} == {2}


def test_in_whatever_order_physics_lets_each_setting_be_cut_once() -> None:
    for order in ((2, 1, 0), (1, 0, 2)):
        assert found([TEXTS[at] for at in order], physics_only=True) == []


def test_the_operator_sets_the_cutter_between_programs_and_nowhere_else() -> None:
    """All three in one file, with no stop between them, cut two bores with the cutter set for another."""
    bodies = [text.split("G0 Z160.000 (to the clearance height)\n")[1].removesuffix("M30\n") for text in TEXTS]
    head = TEXTS[0].split("(bore 1:")[0]
    one = head + "".join(bodies) + "M30\n"
    findings = found([one], physics_only=True)
    assert [(finding.rule, finding.program, finding.found) for finding in findings] == [
        ("pause-missing", 1, "cuts bore 2 with the cutter still set for 84 mm"),
        ("pause-missing", 1, "cuts bore 3 with the cutter still set for 90 mm"),
    ]


def test_two_settings_in_one_of_two_files_are_told_in_that_file() -> None:
    body = TEXTS[2].split("G0 Z160.000 (to the clearance height)\n")[1]
    merged = TEXTS[1].removesuffix("M30\n") + body
    findings = found([TEXTS[0], merged], physics_only=True)
    assert {(finding.rule, finding.program) for finding in findings} == {("pause-missing", 2)}
    at = merged[: merged.index("(feed through bore 3)")].count("\n") + 1
    assert findings[0].line == at
    assert "bore 3 with the cutter still set for 90 mm" in findings[0].found


def test_the_way_from_one_program_to_the_next_is_looked_at_as_within_one() -> None:
    """The head stands where the first program has left it; a lamp on the way rises above the clearance height."""
    job = make_job(
        head={"reach": 40, "body": {"length": 20, "width": 80, "above": 50, "below": 45}},
        obstacle=[{"name": "lamp", "x": [-110, -100], "y": [-20, 20], "z": [100, 200]}],
        bore=[{"face": 0, "width": 32, "diameter": 84.0}, {"face": -260, "width": 28, "diameter": 90.0}],
    )

    def told_of(post_name: str) -> list[tuple[str, str, str]]:
        findings = verdict_of_all(job, all_posted(job, post_name), post_name).findings
        return [(finding.rule, finding.text, finding.found) for finding in findings]

    within_one = [("too-close", "G0 X-257.000 Y0.000 Z160.000 (over bore 2)", "bar meets lamp")]
    assert told_of("longhand") == within_one
    assert told_of("one-pass") == within_one


def test_what_cannot_be_read_in_two_programs_is_told_of_both_and_nothing_is_judged() -> None:
    texts = [change("X3.000", "X3,000")(TEXTS[0]).text, TEXTS[1], delete("M30")(TEXTS[2]).text]
    verdict = verdict_of_all(SETTINGS, texts, POST)
    assert [(finding.rule, finding.program) for finding in verdict.findings] == [("unreadable", 1), ("no-end", 3)]
    assert (verdict.travel, verdict.read_twice, verdict.read_once, verdict.clearance) == ({}, 0, {}, None)


def test_findings_come_by_program_and_line_and_a_rule_once_a_line() -> None:
    texts = [change("S760 M4", "S760 M3")(change("F38.000", "F5001")(text).text).text for text in TEXTS]
    findings = found(texts)
    places = [(finding.program, finding.line) for finding in findings]
    assert places == sorted(places)
    assert {program for program, _ in places} == {1, 2, 3}
    rules = [(finding.rule, *place) for finding, place in zip(findings, places, strict=True)]
    assert len(rules) == len(set(rules))


def test_the_same_rule_on_the_same_line_of_two_programs_is_told_of_both() -> None:
    texts = [change("S760 M4", "S760 M3")(text).text for text in TEXTS]
    line = change("S760 M4", "")(TEXTS[0]).line
    told_of = {(finding.program, finding.line) for finding in found(texts) if finding.rule == "sense-differs"}
    assert {(program, line) for program in (1, 2, 3)} <= told_of


def test_the_same_text_before_and_after_knows_its_own_state() -> None:
    """What the first program states is not stated for the second: the operator may have run another between."""
    bare = TEXTS[1].replace("G21 G17 G40 G49 G61 G80\nG90 G94 G54\nM5 (nothing turns yet)\n", "")
    findings = found([TEXTS[0], bare, TEXTS[2]])
    assert {(finding.rule, finding.program) for finding in findings} == {("state-assumed", 2)}


def test_a_walk_is_one_program_whatever_the_post() -> None:
    assert all_posted(SETTINGS, POST, walk=True)[0].count("M0 ") == 3
    text = posted(SETTINGS, POST, walk=True)
    assert verdict_of_all(SETTINGS, [text], POST, walk=True).proved
    edit = delete("M0", 2)(text)
    findings = verdict_of_all(SETTINGS, [edit.text], POST, walk=True, physics_only=True).findings
    assert [(finding.rule, finding.program) for finding in findings] == [("walk-missed", 1)]


def test_a_walk_in_two_programs_is_judged_as_one() -> None:
    text = posted(SETTINGS, POST, walk=True)
    cut = text.index("(bore 2:")
    head = text[: text.index("(bore 1:")]
    parts = [text[:cut] + "M30\n", head + text[cut:]]
    assert verdict_of_all(SETTINGS, parts, POST, walk=True, physics_only=True).findings == ()
    findings = verdict_of_all(SETTINGS, parts[::-1][:1], POST, walk=True, physics_only=True).findings
    assert [finding.found for finding in findings] == ["no stop at the start of bore 1"]


def test_each_of_several_long_programs_is_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    verdicts = [verdict_of(SETTINGS, text, POST, physics_only=True) for text in TEXTS]
    blocks = [verdict.timeline.blocks for verdict in verdicts]
    monkeypatch.setattr(proof, "READ_TWICE_UP_TO", min(blocks))
    verdict = verdict_of_all(SETTINGS, TEXTS, POST)
    short = sum(count for count in blocks if count == min(blocks))
    assert verdict.proved
    assert verdict.read_twice == short
    assert verdict.read_once == ({proof.TOO_LONG: sum(blocks) - short} if short < sum(blocks) else {})
    monkeypatch.setattr(proof, "READ_TWICE_UP_TO", 1)
    task, progress = task_of(SETTINGS, POST), list[int]()
    asked = prove(TEXTS, SETTINGS, task.post.dialect, plans=task.plans, read_twice=True, advance=progress.append)
    assert asked.read_twice == sum(blocks)
    assert sum(progress) >= sum(blocks)


@settings(max_examples=25, deadline=None)
@given(job_datas(most_bores=4, withdraws=("feed", "still")).map(job_of))
def test_a_program_for_each_setting_proves_for_every_job(job: Job) -> None:
    texts = all_posted(job, POST)
    for physics_only in (False, True):
        assert verdict_of_all(job, texts, POST, physics_only=physics_only).findings == ()
