"""The commands page and sheet: what is written, told and refused."""

import webbrowser
from pathlib import Path

import pytest

from tests.commands import Run, put, refused
from tests.gen.test_cli_several import SETTINGS_TEXT
from tests.jobs import JOB_TEXT, edited, make_job
from tests.pages import embedded_data
from tests.programs import all_posted, change, posted

KINDS = pytest.mark.parametrize("kind", ["page", "sheet"])
TOO_SHORT = edited(JOB_TEXT, ("x = [-900, 100]", "x = [-430, 100]"))


def text(name: str) -> str:
    return Path(name).read_text(encoding="utf-8")


@KINDS
def test_what_proves_is_written_beside_the_job(run: Run, kind: str) -> None:
    outcome = run(kind, "job.toml")
    assert outcome == (0, f"job-{kind}.html: PROVED\n", "")
    assert text(f"job-{kind}.html").lower().startswith("<!doctype html>")
    assert "Harbour pump engine, main housings" in text(f"job-{kind}.html")


@KINDS
def test_a_program_that_is_not_there_is_told_though_the_output_is(run: Run, kind: str) -> None:
    put("there.html", "old")
    refused(run(kind, "job.toml", "none.nc", "--out", "there.html", "--force"), "none.nc: there is no such program")
    assert text("there.html") == "old"


@KINDS
def test_a_program_of_a_tape_mark_alone_is_shown(run: Run, kind: str) -> None:
    put("mark.nc", "%")
    outcome = run(kind, "job.toml", "mark.nc", "--post", "tape")
    assert (outcome.code, outcome.err) == (1, "")


@KINDS
@pytest.mark.parametrize("name", [".", "..", "/"])
def test_a_folder_is_no_job(run: Run, kind: str, name: str) -> None:
    refused(run(kind, name), "folder")


@KINDS
def test_what_does_not_prove_is_written_too(run: Run, kind: str) -> None:
    put("job.toml", TOO_SHORT)
    outcome = run(kind, "job.toml")
    assert outcome.code == 1
    assert outcome.out.startswith(f"job-{kind}.html: NOT PROVED, ")
    assert "NOT PROVED" in text(f"job-{kind}.html")


@KINDS
def test_a_walk_through_has_a_file_of_its_own(run: Run, kind: str) -> None:
    assert run(kind, "job.toml", "--walk").out == f"job-walk-{kind}.html: PROVED\n"
    assert "walk-through" in text(f"job-walk-{kind}.html").lower()


@KINDS
def test_a_program_given_is_judged_in_place_of_the_post_s(run: Run, kind: str) -> None:
    put("hand.nc", change("F38.", "F39.")(posted(make_job())).text)
    assert run(kind, "job.toml", "hand.nc", "--out", "hand.html").out == "hand.html: NOT PROVED, 1 finding\n"
    outcome = run(kind, "job.toml", "hand.nc", "--out", "hand.html", "--physics-only", "--force")
    assert outcome == (0, "hand.html: PROVED, physics only, not held to the plan\n", "")
    assert "physics only" in text("hand.html")


def test_the_page_holds_the_program_given(run: Run) -> None:
    put("hand.nc", change("feed through bore 1", "mine")(posted(make_job())).text)
    assert run("page", "job.toml", "hand.nc").code == 0
    assert any("(mine)" in line for line in embedded_data(text("job-page.html"))["lines"]["of"])


def test_several_programs_are_shown_in_order(run: Run) -> None:
    put("job.toml", SETTINGS_TEXT)
    names = ["a.nc", "b.nc", "c.nc"]
    for name, program in zip(names, all_posted(make_job(SETTINGS_TEXT), "one-pass"), strict=True):
        put(name, program)
    assert run("page", "job.toml", "--post", "one-pass").out == "job-page.html: PROVED\n"
    own = text("job-page.html")
    assert run("page", "job.toml", *names, "--post", "one-pass", "--force").code == 0
    assert text("job-page.html") == own
    assert len(embedded_data(own)["starts"]) == 3
    refused(run("page", "job.toml", "a.nc", "--post", "one-pass", "--force"), "writes 3 programs", "1 given")


@KINDS
def test_a_file_that_stands_is_not_replaced_unasked(run: Run, kind: str) -> None:
    put(f"job-{kind}.html", "mine")
    refused(run(kind, "job.toml"), f"job-{kind}.html", "--force")
    assert text(f"job-{kind}.html") == "mine"
    assert run(kind, "job.toml", "--force").code == 0


@KINDS
def test_what_was_read_is_not_written_over(run: Run, kind: str) -> None:
    put("hand.nc", posted(make_job()))
    for name in ("job.toml", "hand.nc"):
        before = text(name)
        refused(run(kind, "job.toml", "hand.nc", "--out", name, "--force"), "would be written over")
        assert text(name) == before


@KINDS
def test_bad_input_writes_nothing(run: Run, kind: str) -> None:
    refused(run(kind, "none.toml"), "none.toml")
    refused(run(kind, "job.toml", "none.nc"), "none.nc")
    refused(run(kind, "job.toml", "--post", "none"), "none")
    refused(run(kind, "job.toml", "--out", "no/folder.html"), "no folder")
    assert not Path(f"job-{kind}.html").exists()


@KINDS
@pytest.mark.parametrize("found", [True, False])
def test_open_shows_the_file_in_a_browser(run: Run, kind: str, found: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[str] = []

    def show(address: str) -> bool:
        opened.append(address)
        return found

    monkeypatch.setattr(webbrowser, "open", show)
    outcome = run(kind, "job.toml", "--open")
    assert opened == [Path(f"job-{kind}.html").resolve().as_uri()]
    assert (outcome.code, "no browser was found" in outcome.err) == (0, not found)
    run(kind, "job.toml", "--force")
    assert len(opened) == 1
