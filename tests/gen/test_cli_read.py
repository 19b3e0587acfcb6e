"""The command that reads any program without a job: exit codes, what is printed where, and that nothing is written."""

import json
import os
from pathlib import Path
from typing import Final

import pytest

from post.posts import shipped
from tests.commands import Run, put, refused
from tests.jobs import make_job
from tests.programs import ROOT, all_posted, change, posted

PROGRAM: Final = posted(make_job())


def test_read_tells_what_a_program_does_and_writes_nothing(run: Run) -> None:
    put("p.nc", PROGRAM)
    outcome = run("read", "p.nc")
    assert (outcome.code, outcome.err) == (0, "")
    assert "by post longhand, lengths in mm" in outcome.out
    assert sorted(os.listdir()) == ["job.toml", "p.nc"]
    assert Path("p.nc").read_text() == PROGRAM


def test_read_json_is_one_object_alone_on_stdout(run: Run) -> None:
    put("p.nc", PROGRAM)
    outcome = run("read", "p.nc", "--json")
    assert (outcome.code, outcome.err) == (0, "")
    told = json.loads(outcome.out)
    assert (told["ok"], told["post"], told["units"], told["findings"]) == (True, "longhand", "mm", [])
    assert told["blocks"] == 27
    assert len(told["moves"]) == 16


@pytest.mark.parametrize("name", list(shipped()))
def test_read_by_every_post_what_it_writes(run: Run, name: str) -> None:
    (text,) = all_posted(make_job(), name)
    put("p.nc", text)
    told = json.loads(run("read", "p.nc", "--post", name, "--json").out)
    assert (told["ok"], told["post"]) == (True, name)


def test_what_cannot_be_interpreted_is_told_and_ends_with_1(run: Run) -> None:
    edit = change("G1 X-34.500", "G2 X-34.500")(PROGRAM)
    put("p.nc", edit.text)
    outcome = run("read", "p.nc")
    assert (outcome.code, outcome.err) == (1, "")
    assert f"line {edit.line}" in outcome.out
    assert "an arc" in outcome.out
    told = json.loads(run("read", "p.nc", "--json").out)
    assert told["ok"] is False
    assert [(finding["rule"], finding["line"]) for finding in told["findings"]] == [("unknown-word", edit.line)]


def test_read_by_another_post_than_its_own(run: Run) -> None:
    put("p.nc", PROGRAM)
    outcome = run("read", "p.nc", "--post", "tape")
    assert outcome.code == 1
    assert "no % that opens the program" in outcome.out


def test_read_what_is_no_program(run: Run) -> None:
    refused(run("read", "none.nc"), "none.nc: there is no such program")
    refused(run("read", "."), "this is a folder; give the path of a program")
    put("p.nc", b"G21\n\x80\x81")
    refused(run("read", "p.nc"), "p.nc:2: this is no text: byte 4 is not UTF-8")
    put("p.nc", PROGRAM)
    refused(run("read", "p.nc", "--post", "fast"), '"fast" is neither a post that ships')


def test_read_tells_bad_input_as_json_too(run: Run) -> None:
    outcome = run("read", "none.nc", "--json")
    assert outcome.code == 2
    told = json.loads(outcome.out)
    assert (told["ok"], told["error"]["file"]) == (False, "none.nc")
    assert "there is no such program" in told["error"]["message"]


def test_a_file_too_large_to_be_a_program(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gen.cli.MOST_PROGRAM_BYTES", 1000)
    put("p.nc", PROGRAM)
    refused(run("read", "p.nc"), "p.nc: this file is larger than 0.001 MB", "a program may be")


@pytest.mark.parametrize("content", ["", "\n\n", "%\n%\n"], ids=["empty", "blank", "tape marks alone"])
def test_a_program_that_holds_nothing(run: Run, content: str) -> None:
    put("p.nc", content)
    outcome = run("read", "p.nc")
    assert (outcome.code, outcome.err) == (1, "")
    assert "a program without M2 or M30" in outcome.out


def test_a_byte_order_mark_is_told(run: Run) -> None:
    put("p.nc", "\ufeff" + PROGRAM)
    outcome = run("read", "p.nc")
    assert outcome.code == 1
    assert "U+FEFF" in outcome.out


@pytest.mark.parametrize("sample", sorted((ROOT / "samples").glob("*.nc")), ids=lambda path: path.stem)
def test_the_samples_programs_are_read_without_question(run: Run, sample: Path) -> None:
    post = "oriented" if "M19" in sample.read_text(encoding="ascii") else "longhand"
    assert run("read", str(sample), "--post", post).code == 0
