"""A post tried on the battery: what counts as passed, refused and failed, and how it is told."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest

from gen.battery import trials
from gen.tryout import Outcome, facts, how_many, outcomes, report
from post.finding import Finding
from post.posts import Post, find
from post.userfile import InputError
from tests.programs import own_post

SHORT: Final = Finding("dwell-short", 25, "G1 X3.000 ", "a step is missing before this line", "a dwell of 0.64 s")
PASSED: Final = Outcome("one bore", "passed", 19, "", ())
REFUSED: Final = Outcome("lifted", "refused", 0, "no word for one", ())
FAILED: Final = Outcome("one spot face", "failed", 27, "", (SHORT, SHORT._replace(line=33)))
BROKEN: Final = Outcome("two spot faces", "failed", 0, "ours/program.j2:9: the template failed", ())
POST: Final = find("longhand")


def outcome_of(post: Post, name: str) -> Outcome:
    return next(one for one in outcomes(post) if one.name == name)


def test_every_job_of_the_battery_is_tried_in_its_order_one_after_the_other() -> None:
    tried = outcomes(POST)
    assert isinstance(tried, Iterator)
    first = next(tried)
    assert (first.name, first.result, first.why, first.findings) == (trials()[0].name, "passed", "", ())
    assert first.blocks > 10
    assert how_many() == len(trials()) == 1 + sum(1 for _ in tried)


def test_a_job_that_the_post_has_no_words_for_is_refused_with_the_reason() -> None:
    name = "lifted toward +Y"
    assert outcome_of(find("longhand"), name).why.startswith("the job lifts the cutter off the wall, which needs a")
    assert outcome_of(find("cycles"), name) == Outcome(
        name, "refused", 0, "no fixed cycle lifts the cutter off the wall along X", ()
    )
    assert outcome_of(find("oriented"), name).result == "passed"


def test_a_job_that_cannot_be_planned_for_the_control_is_refused_with_the_reason(tmp_path: Path) -> None:
    """Lifted by 0.01 mm, less than half of what a control with steps of 0.1 mm can be told."""
    coarse = "mm    = { length = 0.001, ", "mm    = { length = 0.1, "
    one = outcome_of(find(own_post(tmp_path / "ours", "oriented", coarse)), "lifted by a hair")
    assert (one.result, one.blocks) == ("refused", 0)
    assert one.why == "0.01 mm is less than the control can be told; lift by 0.1 mm or more"


def test_a_template_that_fails_is_no_refusal(tmp_path: Path) -> None:
    name = own_post(tmp_path / "ours", "longhand", template=(("{{ step.dwell | dwell }}", "{{ step.dwell | nope }}"),))
    told = list(outcomes(find(name)))
    lifted = {trial.name for trial in trials() if trial.job.path.withdraw == "lift" and not trial.walk}
    assert {one.name for one in told if one.result == "refused"} == lifted
    assert {one.result for one in told} == {"refused", "failed"}
    failed = next(one for one in told if one.result == "failed")
    at = (tmp_path / "ours" / "program.j2").read_text(encoding="utf-8").split("| nope")[0].count("\n") + 1
    assert failed.why == f"{tmp_path}/ours/program.j2:{at}: the template uses the filter nope, which posts do not have"
    assert (failed.blocks, failed.findings) == (0, ())


def test_a_line_too_long_for_the_control_is_no_refusal(tmp_path: Path) -> None:
    template = (("G0 {{ step | place }}", "G0 {{ step | place }} X1 Y1 Z1 X1 Y1 Z1 X1 Y1 Z1 X1 Y1 Z1 X1 Y1"),)
    one = next(
        outcomes(find(own_post(tmp_path / "ours", "longhand", ("\nlength = 256", "\nlength = 60"), template=template)))
    )
    assert one.result == "failed"
    assert "characters long; the control takes 60" in one.why


def test_a_trial_that_takes_too_long_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gen.tryout.MOST_S", 0.0)
    with pytest.raises(InputError, match=f"the trial takes too long: 0 of {how_many()} jobs in 0 s") as told:
        list(outcomes(POST))
    assert told.value.file == POST.template


def test_a_template_without_a_branch_for_the_cycles_named_is_hinted_at(tmp_path: Path) -> None:
    post = find(own_post(tmp_path / "ours", "longhand", ("cycles = []", 'cycles = ["G85"]')))
    hint = 'dialect.toml names cycles, and program.j2 writes nothing for steps of kind "bore", as cycles does'
    assert f"\n  perhaps   {hint}\n" in report(facts(post, [FAILED]))
    for good in (POST, find("cycles")):
        assert "perhaps" not in report(facts(good, [FAILED]))


def test_blocks_of_several_programs_are_counted_together() -> None:
    parted, whole = (outcome_of(find(name), "two new settings") for name in ("one-pass", "longhand"))
    assert parted.result == whole.result == "passed"
    assert parted.blocks > whole.blocks
    assert (parted.programs, whole.programs) == (3, 1)


@pytest.mark.parametrize(
    ("tried", "ok"),
    [
        ([PASSED], True),
        ([PASSED, REFUSED], True),
        ([REFUSED], False),
        ([], False),
        ([FAILED], False),
        ([PASSED, FAILED, REFUSED], False),
    ],
)
def test_a_post_is_good_that_fails_on_nothing_and_passes_something(tried: list[Outcome], ok: bool) -> None:
    told = facts(POST, tried)
    assert told["ok"] is ok
    assert [told[result] for result in ("passed", "refused", "failed")] == [
        sum(one.result == result for one in tried) for result in ("passed", "refused", "failed")
    ]


def test_facts_are_json_with_every_finding_whole() -> None:
    told = json.loads(json.dumps(facts(POST, [PASSED, FAILED]), allow_nan=False))
    assert told["post"] == "longhand"
    assert told["jobs"][0] == {
        "name": "one bore",
        "result": "passed",
        "programs": 1,
        "blocks": 19,
        "why": "",
        "findings": [],
    }
    assert told["jobs"][1]["findings"][0] == {
        "rule": "dwell-short",
        "line": 25,
        "text": "G1 X3.000 ",
        "found": "a step is missing before this line",
        "expected": "a dwell of 0.64 s",
        "program": 1,
        "message": "a step is missing before this line; expected a dwell of 0.64 s",
    }


def table_of(*tried: Outcome) -> list[str]:
    return report(facts(POST, list(tried))).split("\n")


def test_a_table_and_the_verdict() -> None:
    assert table_of(PASSED, REFUSED) == [
        "one bore  passed     19 blocks",
        "lifted    refused  no word for one",
        "",
        "longhand: 1 passed, 1 refused, 0 failed: the post may be used for what it does not refuse",
    ]


def test_the_first_failing_block_stands_beside_what_was_expected() -> None:
    assert table_of(PASSED, FAILED, BROKEN) == [
        "one bore        passed     19 blocks",
        "one spot face   failed   line 25: dwell-short, and 1 more",
        "two spot faces  failed   ours/program.j2:9: the template failed",
        "",
        "first failure: one spot face",
        "  line 25: dwell-short",
        "  block     G1 X3.000",
        "  found     a step is missing before this line",
        "  expected  a dwell of 0.64 s",
        "",
        "longhand: 1 passed, 0 refused, 2 failed: NOT to be used: mend its dialect.toml or its program.j2, and try"
        " again",
    ]
    assert "one spot face  failed   line 25: dwell-short" in table_of(FAILED._replace(findings=(SHORT,)))


def test_a_failure_of_the_template_is_told_as_that() -> None:
    assert table_of(BROKEN)[2:4] == ["first failure: two spot faces", "  ours/program.j2:9: the template failed"]


def test_a_post_that_refuses_all_is_told_so() -> None:
    assert (
        table_of(REFUSED)[-1]
        == "longhand: 0 passed, 1 refused, 0 failed: NOT to be used: it can express none of the jobs"
    )


def test_a_failure_in_a_later_program_is_told_as_that_program_s() -> None:
    table = table_of(FAILED._replace(findings=(SHORT._replace(program=2),), programs=2))
    assert table[0] == "one spot face  failed   program 2, line 25: dwell-short"
    assert table[3] == "  program 2, line 25: dwell-short"
