"""The command line where a post writes several programs for one job: all of them or none, told apart everywhere."""

import json
import os
from pathlib import Path
from typing import Final

import pytest

from tests.commands import Run, put, refused
from tests.jobs import JOB_TEXT, edited, make_job
from tests.programs import all_posted, change, delete, own_post

SETTINGS_TEXT: Final = edited(JOB_TEXT, ("width = 28\ndiameter = 84.0", "width = 28\ndiameter = 90.0"))
"""The cutter is set anew before the second bore and before the third."""
PROGRAMS: Final = all_posted(make_job(SETTINGS_TEXT), "one-pass")
NAMES: Final = ("job-1.nc", "job-2.nc", "job-3.nc")
UNPROVED: Final = ("x = [-900, 100]", "x = [-430, 100]")


@pytest.fixture(autouse=True)
def three_settings(run: Run) -> None:
    put("job.toml", SETTINGS_TEXT)


def put_programs(*texts: str) -> None:
    for name, text in zip(NAMES, texts, strict=True):
        put(name, text)


def standing() -> dict[str, str]:
    return {name: Path(name).read_text() for name in sorted(os.listdir()) if not name.endswith((".toml", ".html"))}


ALL: Final = dict(zip(NAMES, PROGRAMS, strict=True))
ONE_PASS: Final = ("--post", "one-pass")


def test_write_puts_every_program_beside_the_job_and_says_so(run: Run) -> None:
    outcome = run("write", "job.toml", *ONE_PASS)
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out.endswith("  verdict     PROVED: job-1.nc, job-2.nc, job-3.nc\n")
    assert "  program     1 of 3: before it, set the cutter for diameter 84 mm, bore 1\n" in outcome.out
    assert "              2 of 3: before it, set the cutter for diameter 90 mm, bore 2\n" in outcome.out
    assert "              3 of 3: before it, set the cutter for diameter 84 mm, bore 3\n" in outcome.out
    assert standing() == ALL


def test_write_json_names_every_program(run: Run) -> None:
    facts = json.loads(run("write", "job.toml", *ONE_PASS, "--json").out)
    assert facts["ok"] is True
    assert (facts["program"], facts["programs"], facts["parts"]) == ("job-1.nc", list(NAMES), 3)
    assert facts["settings"] == [
        "set the cutter for diameter 84 mm, bore 1",
        "set the cutter for diameter 90 mm, bore 2",
        "set the cutter for diameter 84 mm, bore 3",
    ]
    assert facts["blocks"] == 37


def test_write_under_a_name_of_one_s_own(run: Run) -> None:
    Path("out").mkdir()
    assert run("write", "job.toml", *ONE_PASS, "--out", "out/row.tap").code == 0
    assert sorted(os.listdir("out")) == ["row-1.tap", "row-2.tap", "row-3.tap", "row-page.html", "row-sheet.html"]


def test_a_walk_is_one_program(run: Run) -> None:
    assert run("write", "job.toml", *ONE_PASS, "--walk").out.endswith("PROVED: job-walk.nc\n")
    assert list(standing()) == ["job-walk.nc"]


def test_a_post_that_stops_writes_one(run: Run) -> None:
    facts = json.loads(run("write", "job.toml", "--json").out)
    assert (facts["programs"], facts["parts"], facts["settings"]) == (["job.nc"], 1, [])


@pytest.mark.parametrize("name", NAMES)
def test_one_file_that_stands_there_keeps_all_from_being_written(run: Run, name: str) -> None:
    put(name, "old")
    refused(run("write", "job.toml", *ONE_PASS), f"{name}: this file exists already; give --force to replace it")
    assert standing() == {name: "old"}
    assert run("write", "job.toml", *ONE_PASS, "--force").code == 0
    assert standing() == ALL


def test_the_job_s_own_name_is_free_for_something_else(run: Run) -> None:
    put("job.nc", "old")
    assert run("write", "job.toml", *ONE_PASS).code == 0
    assert standing() == {"job.nc": "old", **ALL}


@pytest.mark.parametrize("force", [(), ("--force",)])
def test_a_file_left_from_a_longer_row_is_told(run: Run, force: tuple[str, ...]) -> None:
    put("job-4.nc", "old")
    outcome = run("write", "job.toml", *ONE_PASS, *force)
    refused(
        outcome, "job-4.nc: this file is left from a row of more programs than the 3 of this job; move it away first"
    )
    assert standing() == {"job-4.nc": "old"}


def test_a_full_disk_leaves_all_as_it_was(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    put_programs("old 1", "old 2", "old 3")
    replace, made = os.replace, list[object]()

    def full(source: str, target: str) -> None:
        made.append(target)
        if len(made) == 6:
            raise OSError(28, "No space left on device")
        replace(source, target)

    monkeypatch.setattr(os, "replace", full)
    refused(
        run("write", "job.toml", *ONE_PASS, "--force"), "job-2.nc: ", "No space left on device", "nothing was changed"
    )
    assert list(standing().values()) == ["old 1", "old 2", "old 3"]


def test_one_of_them_that_is_the_job_itself_is_never_written_over(run: Run) -> None:
    Path("job.toml").rename("job-2.nc")
    refused(
        run("write", "job-2.nc", *ONE_PASS, "--out", "job.nc", "--force"), "job-2.nc: this file was read for the job"
    )
    assert standing() == {"job-2.nc": SETTINGS_TEXT}


def test_what_does_not_prove_writes_none(run: Run) -> None:
    put("job.toml", edited(SETTINGS_TEXT, UNPROVED))
    outcome = run("write", "job.toml", *ONE_PASS)
    assert (outcome.code, outcome.err) == (1, "")
    line = change("G1 X-289.5", "")(PROGRAMS[2]).line
    assert f"  program 3, line {line}: over-travel: X would go to machine -439.5 mm" in outcome.out
    assert outcome.out.endswith("NOT PROVED, 1 finding\n")
    assert standing() == {}
    facts = json.loads(run("write", "job.toml", *ONE_PASS, "--json").out)
    assert (facts["program"], facts["programs"], facts["parts"]) == (None, [], 3)
    assert [(finding["program"], finding["line"]) for finding in facts["findings"]] == [(3, line)]


def test_rejected_programs_may_be_kept_to_look_at(run: Run) -> None:
    put("job.toml", edited(SETTINGS_TEXT, UNPROVED))
    outcome = run("write", "job.toml", *ONE_PASS, "--keep-rejected", "look.nc")
    assert outcome.code == 1
    assert outcome.err == "look-1.nc, look-2.nc, look-3.nc: kept to look at, not to run: it is not proved\n"
    kept = standing()
    assert list(kept) == ["look-1.nc", "look-2.nc", "look-3.nc"]
    assert all(text.startswith("NOT PROVED - DO NOT RUN\n") for text in kept.values())
    refused(run("write", "job.toml", *ONE_PASS, "--keep-rejected", "look.nc"), "look-1.nc: this file exists already")


# prove


def test_prove_tells_what_write_told(run: Run) -> None:
    written = run("write", "job.toml", *ONE_PASS, "--no-pages")
    assert run("prove", "job.toml", *NAMES, *ONE_PASS) == written
    assert json.loads(run("prove", "job.toml", *NAMES, *ONE_PASS, "--json").out)["programs"] == list(NAMES)


@pytest.mark.parametrize("given", [NAMES[:1], NAMES[:2], (*NAMES, NAMES[0])])
def test_as_many_are_proved_as_the_post_writes(run: Run, given: tuple[str, ...]) -> None:
    put_programs(*PROGRAMS)
    outcome = run("prove", "job.toml", *given, *ONE_PASS)
    refused(
        outcome,
        f'job.toml: the post "one-pass" writes 3 programs for this job, to be proved together; {len(given)} given',
    )


def test_one_of_them_edited_is_told_as_that(run: Run) -> None:
    edit = change("F38.000", "F39.000")(PROGRAMS[1])
    put_programs(PROGRAMS[0], edit.text, PROGRAMS[2])
    outcome = run("prove", "job.toml", *NAMES, *ONE_PASS)
    assert outcome.code == 1
    assert (
        f"  program 2, line {edit.line}: feed-differs: feed at 39 mm/min; expected feed at 38 mm/min\n" in outcome.out
    )
    assert run("prove", "job.toml", *NAMES, *ONE_PASS, "--physics-only").code == 0


def test_programs_in_another_order_are_not_the_plan(run: Run) -> None:
    put_programs(*PROGRAMS)
    outcome = run("prove", "job.toml", *NAMES[::-1], *ONE_PASS)
    assert outcome.code == 1
    assert "  program 1, line " in outcome.out
    assert "  program 3, line " in outcome.out
    assert "  program 2, line " not in outcome.out


def test_physics_alone_tells_of_several_programs_whatever_the_post_writes(run: Run) -> None:
    """By longhand the job has one program; a shop may still have parted it by hand."""
    edit = change("F38.000", "F5001")(PROGRAMS[1])
    put_programs(PROGRAMS[0], edit.text, PROGRAMS[2])
    outcome = run("prove", "job.toml", *NAMES, "--physics-only")
    assert outcome.code == 1
    assert f"  program 2, line {edit.line}: speed-out-of-range: feed 5001 mm/min" in outcome.out


def test_physics_alone_of_one_program_counts_no_programs(run: Run) -> None:
    put("whole.nc", all_posted(make_job(SETTINGS_TEXT), "longhand")[0])
    outcome = run("prove", "job.toml", "whole.nc", *ONE_PASS, "--physics-only")
    assert outcome.code == 0
    assert "of 3: before it" not in outcome.out


def test_one_of_them_that_is_missing_is_told(run: Run) -> None:
    put_programs(*PROGRAMS)
    refused(
        run("prove", "job.toml", "job-1.nc", "job-5.nc", "job-3.nc", *ONE_PASS), "job-5.nc: there is no such program"
    )


def test_reading_twice_goes_through_all_of_them(run: Run) -> None:
    put_programs(*PROGRAMS)
    outcome = run("prove", "job.toml", *NAMES, *ONE_PASS, "--read-twice", "--json")
    assert outcome.code == 0
    assert "reading twice" in outcome.err
    assert json.loads(outcome.out)["read_twice"] == 37


# show


def test_show_lists_every_program(run: Run) -> None:
    steps = json.loads(run("show", "job.toml", *ONE_PASS, "--json").out)["steps"]
    assert [step["program"] for step in steps] == sorted(step["program"] for step in steps)
    for number in (1, 2, 3):
        own = [step for step in steps if step["program"] == number]
        assert [step["step"] for step in own] == list(range(1, len(own) + 1))
        assert next(step["why"] for step in own if step["what"] == "feed") == f"feed through bore {number}"
    text = run("show", "job.toml", *ONE_PASS).out
    assert text.count("nothing turns yet") == 3
    assert text.count("lengths in mm") == 3
    assert json.loads(run("show", "job.toml", "--json").out)["steps"][-1]["program"] == 1


# a copy of a post that stops, made to write files instead


def test_a_shop_s_own_post_may_write_a_file_for_each_setting(run: Run) -> None:
    name = own_post(Path("ours"), "tape", ('new_setting = "stop"', 'new_setting = "file"'))
    assert run("write", "job.toml", "--post", name).code == 0
    lines = [Path(program).read_bytes().split(b"\r\n")[:2] for program in NAMES]
    assert lines == [[b"%", b"O0001"], [b"%", b"O0002"], [b"%", b"O0003"]]
    assert run("prove", "job.toml", *NAMES, "--post", name).code == 0


def test_one_that_ends_low_is_told_of_that_program(run: Run) -> None:
    edit = delete("(up from bore 2)")(PROGRAMS[1])
    put_programs(PROGRAMS[0], edit.text, PROGRAMS[2])
    outcome = run("prove", "job.toml", *NAMES, *ONE_PASS, "--physics-only")
    assert outcome.code == 1
    assert f"  program 2, line {edit.line}: unsafe-end: the program ends at Z 0 mm" in outcome.out
