"""The command line: every command and option, exit codes, what is printed where, and what stands on disk after."""

import json
import os
from importlib.metadata import version
from pathlib import Path
from shutil import copytree
from typing import Any, Final

import pytest
from click.testing import CliRunner

from gen import pipeline
from gen.cli import borewright
from post.posts import LIBRARY
from tests.commands import Run, put, refused
from tests.jobs import JOB_TEXT, edited, make_job
from tests.programs import ROOT, change, own_post, posted

JOB: Final = make_job()
PROGRAM: Final = posted(JOB)
UNPROVED: Final = (("travel      = { x = [-900, 100]", "travel      = { x = [-430, 100]"),)
"""An edit of the job that makes its program leave the travel of X."""


# write


def test_write_puts_the_program_beside_the_job_and_says_so(run: Run) -> None:
    outcome = run("write", "job.toml")
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out.startswith("Harbour pump engine, main housings\n")
    assert outcome.out.endswith("PROVED: job.nc\n")
    assert Path("job.nc").read_bytes() == PROGRAM.encode("ascii")
    assert sorted(os.listdir()) == ["job-page.html", "job-sheet.html", "job.nc", "job.toml"]


def test_sheet_and_page_bear_the_program_s_fingerprint(run: Run) -> None:
    facts = json.loads(run("write", "job.toml", "--json").out)
    assert facts["beside"] == {"sheet": "job-sheet.html", "page": "job-page.html"}
    for name in ("job.nc", "job-sheet.html", "job-page.html"):
        assert facts["fingerprint"] in Path(name).read_text(), name
    assert "job.nc" in Path("job-sheet.html").read_text()


def test_write_leaves_sheet_and_page_out_when_asked(run: Run) -> None:
    assert json.loads(run("write", "job.toml", "--no-pages", "--json").out)["beside"] == {}
    assert sorted(os.listdir()) == ["job.nc", "job.toml"]


@pytest.mark.parametrize("name", ["job-sheet.html", "job-page.html"])
def test_a_sheet_or_page_that_is_there_holds_all_three_back(run: Run, name: str) -> None:
    put(name, "old")
    refused(run("write", "job.toml"), f"{name}: this file exists already", "--force")
    assert sorted(os.listdir()) == sorted([name, "job.toml"])
    assert run("write", "job.toml", "--force").code == 0
    assert "old" not in Path(name).read_text()[:10]


def test_writing_again_gives_the_same_bytes(run: Run) -> None:
    for folder in ("a", "b"):
        Path(folder).mkdir()
        assert run("write", "job.toml", "--out", f"{folder}/job.nc").code == 0
    for path in Path("a").iterdir():
        assert path.read_bytes() == (Path("b") / path.name).read_bytes()


def test_write_into_another_folder(run: Run) -> None:
    Path("out").mkdir()
    assert run("write", "job.toml", "--out", "out/first.tap").out.endswith("PROVED: out/first.tap\n")
    assert sorted(os.listdir("out")) == ["first-page.html", "first-sheet.html", "first.tap"]


def test_write_under_another_post(run: Run) -> None:
    assert run("write", "job.toml", "--post", "cycles").code == 0
    assert "G85" in Path("job.nc").read_text()


def test_write_a_walk_beside_the_program(run: Run) -> None:
    outcome = run("write", "job.toml", "--walk")
    assert outcome.code == 0
    assert "never turns" in outcome.out
    assert Path("job-walk.nc").read_text() == posted(JOB, walk=True)
    assert not Path("job.nc").exists()


def test_write_json_is_one_object_alone_on_stdout(run: Run) -> None:
    outcome = run("write", "job.toml", "--json")
    assert (outcome.code, outcome.err) == (0, "")
    facts = json.loads(outcome.out)
    assert facts["ok"] is True
    assert facts["findings"] == []
    assert facts["program"] == "job.nc"
    assert (facts["cutter_rpm"], facts["spindle_rpm"], facts["sense"], facts["feed"]) == (380, 760, "M4", 38)
    assert facts["cycle_time_s"] > facts["cut_time_s"] > 0
    assert facts["blocks"] == 27
    assert all(set(extent) == {"min", "max", "low_margin", "high_margin"} for extent in facts["travel"].values())


def test_a_program_that_does_not_prove_is_not_written(run: Run) -> None:
    put("job.toml", edited(JOB_TEXT, *UNPROVED))
    outcome = run("write", "job.toml")
    assert (outcome.code, outcome.err) == (1, "")
    assert "over-travel: X would go to machine -439.5 mm, 9.5 mm past its limit" in outcome.out
    assert outcome.out.endswith("NOT PROVED, 1 finding\n")
    assert os.listdir() == ["job.toml"]


def test_json_of_a_program_that_does_not_prove(run: Run) -> None:
    put("job.toml", edited(JOB_TEXT, *UNPROVED))
    outcome = run("write", "job.toml", "--json")
    assert outcome.code == 1
    facts = json.loads(outcome.out)
    assert (facts["ok"], facts["program"]) == (False, None)
    (finding,) = facts["findings"]
    assert set(finding) == {"rule", "line", "text", "found", "expected", "program", "message"}
    assert (finding["rule"], finding["line"]) == ("over-travel", change("G1 X-289.5", "")(PROGRAM).line)
    assert finding["text"].startswith("G1 X-289.500")
    assert finding["message"] == f"{finding['found']}; expected {finding['expected']}"
    assert facts["travel"]["x"]["low_margin"] == -9.5


def test_what_does_not_prove_leaves_the_old_file_even_under_force(run: Run) -> None:
    put("job.toml", edited(JOB_TEXT, *UNPROVED))
    put("job.nc", "old")
    assert run("write", "job.toml", "--force").code == 1
    assert Path("job.nc").read_text() == "old"


def test_a_rejected_program_may_be_kept_to_look_at(run: Run) -> None:
    put("job.toml", edited(JOB_TEXT, *UNPROVED))
    outcome = run("write", "job.toml", "--keep-rejected", "look.nc")
    assert outcome.code == 1
    assert outcome.err == "look.nc: kept to look at, not to run: it is not proved\n"
    assert sorted(os.listdir()) == ["job.toml", "look.nc"]
    kept = Path("look.nc").read_text()
    assert kept.startswith("NOT PROVED - DO NOT RUN\n(Post longhand")
    assert kept.endswith("M30\n")
    again = run("prove", "job.toml", "look.nc", "--physics-only")
    assert again.code == 1
    assert "line 1: unreadable" in again.out


def test_a_proved_program_is_not_kept_as_rejected(run: Run) -> None:
    assert run("write", "job.toml", "--keep-rejected", "look.nc", "--no-pages").code == 0
    assert sorted(os.listdir()) == ["job.nc", "job.toml"]


def test_a_file_in_the_way_of_the_rejected_one_is_kept(run: Run) -> None:
    put("job.toml", edited(JOB_TEXT, *UNPROVED))
    put("look.nc", "old")
    refused(run("write", "job.toml", "--keep-rejected", "look.nc"), "look.nc: this file exists already", "--force")
    assert sorted(os.listdir()) == ["job.toml", "look.nc"]
    assert Path("look.nc").read_text() == "old"


def test_a_file_that_stands_there_is_kept_without_force(run: Run) -> None:
    put("job.nc", "old")
    refused(run("write", "job.toml"), "job.nc: this file exists already; give --force to replace it")
    assert Path("job.nc").read_text() == "old"
    assert run("write", "job.toml", "--force").code == 0
    assert Path("job.nc").read_text() == PROGRAM


def test_out_may_not_be_a_folder_nor_in_none(run: Run) -> None:
    Path("folder").mkdir()
    refused(run("write", "job.toml", "--out", "folder"), "folder: this is a folder", "--out program.nc")
    refused(run("write", "."), "this is a folder; give the path of a job file")
    refused(run("write", "job.toml", "--out", "none/job.nc"), "none/job.nc: there is no folder none; make it first")
    refused(run("write", "job.toml", "--out", "job.toml/job.nc"), "job.toml/job.nc: ")
    assert sorted(os.listdir()) == ["folder", "job.toml"]


@pytest.mark.parametrize("out", ["/", ".", ".."])
def test_a_folder_is_no_program(run: Run, out: str) -> None:
    refused(run("write", "job.toml", "--out", out), "folder")


def test_out_may_not_be_a_name_too_long_for_the_system(run: Run) -> None:
    refused(run("write", "job.toml", "--out", "a" * 300), "File name too long")


def test_the_job_itself_is_never_written_over(run: Run) -> None:
    Path("job.toml").rename("job.nc")
    refused(run("write", "job.nc", "--force"), "job.nc: ")
    assert Path("job.nc").read_text() == JOB_TEXT
    refused(run("write", "job.nc", "--out", "./job.nc", "--force"), "job.nc: ")
    assert Path("job.nc").read_text() == JOB_TEXT


@pytest.mark.parametrize(
    ("name", "content", "phrases"),
    [
        ("jop.toml", None, ("jop.toml: there is no such job file; did you mean job.toml?",)),
        ("job.toml/x", None, ("job.toml/x: this job file cannot be read",)),
        (".", None, ("this is a folder; give the path of a job file",)),
        ("x.toml", b"\xff\xfe\x00", ("x.toml:1: this is no text",)),
        ("x.toml", b"name = 'a'\n\x00\x01", ("x.toml:2: this is no text",)),
        ("x.toml", "units = \n", ("x.toml:1: not valid TOML",)),
        ("x.toml", edited(JOB_TEXT, ("face_turns", "face_tuns")), ("x.toml:38: ", "no such key", "mean face_turns?")),
        ("x.toml", edited(JOB_TEXT, ("rpm  = 380", "rpm = 9000")), ("x.toml:23: cut.rpm: ", "nearest workable")),
    ],
    ids=["missing", "below a file", "folder", "binary", "zero byte", "no TOML", "unknown key", "speed"],
)
@pytest.mark.parametrize("command", ["write", "show", "prove"])
def test_a_job_that_cannot_be_used(
    run: Run, command: str, name: str, content: str | bytes | None, phrases: tuple[str, ...]
) -> None:
    if content is not None:
        put(name, content)
    put("p.nc", PROGRAM)
    refused(run(command, name, *(["p.nc"] if command == "prove" else [])), *phrases)
    assert set(os.listdir()) <= {"job.toml", "x.toml", "p.nc"}


# posts


def post_folder(template: str | bytes | None, *, dialect: bool = True) -> str:
    copytree(LIBRARY / "longhand", "ours")
    if template is None:
        Path("ours/program.j2").unlink()
    else:
        put("ours/program.j2", template)
    if not dialect:
        Path("ours/dialect.toml").unlink()
    return "ours"


def test_a_post_that_is_none(run: Run) -> None:
    refused(
        run("write", "job.toml", "--post", "fast"),
        '"fast" is neither a post that ships (cycles, longhand, one-pass, oriented, per-turn, tape) nor a folder',
    )
    Path("empty").mkdir()
    refused(run("write", "job.toml", "--post", "empty"), "empty/program.j2: a post needs a template")


def test_a_folder_without_its_dialect(run: Run) -> None:
    name = post_folder("M30", dialect=False)
    refused(run("write", "job.toml", "--post", name), "ours/dialect.toml: there is no such dialect")


def test_a_dialect_with_a_mistake(run: Run) -> None:
    name = own_post(Path("ours"), "longhand", ('\nunit = "seconds"', '\nunit = "minutes"'))
    line = Path("ours/dialect.toml").read_text().split('unit = "minutes"')[0].count("\n") + 1
    refused(
        run("write", "job.toml", "--post", name), f'ours/dialect.toml:{line}: dwell.unit: "minutes" ', "milliseconds"
    )


def test_a_post_of_one_s_own_writes_and_proves(run: Run) -> None:
    copytree(LIBRARY / "longhand", "ours")
    assert run("write", "job.toml", "--post", "ours").code == 0
    assert run("prove", "job.toml", "job.nc", "--post", "./ours/").code == 0
    assert "Post ours," in Path("job.nc").read_text()


TEMPLATES: Final = {
    "syntax": ("G21\n{% for %}\n", "ours/program.j2:2: the template cannot be understood: ", "Expected an expression"),
    "undefined": ("\n\n{{ speed }}\n", "ours/program.j2:3: the template failed while writing the opening: ", "'speed'"),
    "of a step": ("{% for s in steps %}\n{{ s.nope }}\n{% endfor %}\n", "ours/program.j2:2: ", "writing step 1, stop"),
    "endless": ("{% for i in range(999999999) %}x{% endfor %}\n", "ours/program.j2:1: ", "a range of more than"),
    "huge": (
        "\n{% for i in range(9999) %}\n" + "x" * 99 + "\n{% endfor %}\n",
        "ours/program.j2: the template failed while writing the opening: it writes more than",
        "does it loop?",
    ),
    "huge at once": ("{{ 'x' * 10**7 }}", "ours/program.j2:1: the template uses **, which posts do not have"),
    "a text many times": ("{{ 'x' * 999 }}", "ours/program.j2:1: ", "*, which joins no text (~ does), takes a number"),
    "non-ASCII": ("(fa\u00e7ade)\nM30\n", "ours/program.j2: line 1 of the program would hold a sign that is not plain"),
    "too long": ("M30\n" + "x" * 257 + "\n", "ours/program.j2: line 2 of the program would be 257", "takes 256"),
    "unsafe": ("{{ steps.__class__ }}\n", "ours/program.j2:1: the template uses the attribute __class__, "),
    "includes": (
        "{% include 'other' %}\n",
        "ours/program.j2:1: the template uses {% include %}, which posts do not have",
    ),
    "no filter": (
        "{{ header|nope }}\n",
        "ours/program.j2:1: the template uses the filter nope, which posts do not have",
    ),
    "arithmetic": ("{{ 1 / 0 }}\n", "ours/program.j2:1: ", "division by zero"),
    "of itself": (
        "{% macro f() %}{{ f() }}{% endmacro %}\n{{ f() }}\n",
        "ours/program.j2:1: the template uses {% macro %}, which posts do not have",
    ),
    "no text": (b"\xff\xfe", "ours/program.j2:1: this is no text: ", "save the template as UTF-8"),
}


@pytest.mark.parametrize("kind", TEMPLATES)
def test_a_template_with_a_mistake_is_told_with_its_file_and_line(run: Run, kind: str) -> None:
    template, *phrases = TEMPLATES[kind]
    assert all(isinstance(phrase, str) for phrase in phrases)
    refused(run("write", "job.toml", "--post", post_folder(template)), *map(str, phrases))
    assert sorted(os.listdir()) == ["job.toml", "ours"]


@pytest.mark.parametrize(
    ("template", "rule"),
    [
        ("", "no-end"),
        ("G21 G17 G90 G94 G54\nM30\n", "path-differs"),
        ("#1=2\nM30\n", "unreadable"),
        ("M3\nM30\n", "state-assumed"),
    ],
)
def test_a_template_that_writes_something_else_does_not_prove(run: Run, template: str, rule: str) -> None:
    outcome = run("write", "job.toml", "--post", post_folder(template))
    assert outcome.code == 1
    assert rule in outcome.out
    assert sorted(os.listdir()) == ["job.toml", "ours"]


def test_what_a_post_cannot_express_is_refused(run: Run) -> None:
    sample = str(ROOT / "samples" / "quarry-compressor.toml")
    outcome = run("write", sample, "--post", "cycles", "--out", "q.nc")
    refused(
        outcome,
        'the post "cycles" cannot express this job',
        "toward -X only",
        "these can: --post longhand, --post one-pass, --post oriented, --post per-turn, --post tape",
    )
    assert os.listdir() == ["job.toml"]


# prove


def test_prove_tells_what_write_told(run: Run) -> None:
    written = run("write", "job.toml", "--no-pages")
    assert run("prove", "job.toml", "job.nc") == written
    assert json.loads(run("prove", "job.toml", "job.nc", "--json").out)["program"] == "job.nc"


def test_prove_a_program_edited_by_hand(run: Run) -> None:
    edit = change("X-160.500", "X-150.500")(PROGRAM)
    put("p.nc", edit.text)
    outcome = run("prove", "job.toml", "p.nc")
    assert (outcome.code, outcome.err) == (1, "")
    assert f"  line {edit.line}: path-differs: goes to X-150.5 Y0 Z0; expected X-160.5 Y0 Z0\n" in outcome.out
    assert "bore-short: bore 2 is cut to X -150.5 mm" in outcome.out
    facts = json.loads(run("prove", "job.toml", "p.nc", "--json").out)
    assert facts["ok"] is False
    assert ("path-differs", edit.line) in {(finding["rule"], finding["line"]) for finding in facts["findings"]}
    assert Path("p.nc").read_text() == edit.text


def test_physics_only_lets_a_safe_edit_pass(run: Run) -> None:
    put("p.nc", change("F38.000", "F30.000")(PROGRAM).text)
    assert run("prove", "job.toml", "p.nc").code == 1
    outcome = run("prove", "job.toml", "p.nc", "--physics-only")
    assert outcome.code == 0
    assert outcome.out.endswith("PROVED, physics only, not held to the plan: p.nc\n")
    put("p.nc", change("G1 X-160.5", "G0 X-160.5")(PROGRAM).text)
    outcome = run("prove", "job.toml", "p.nc", "--physics-only")
    assert outcome.code == 1
    assert "rapid-into-stock" in outcome.out
    assert "differs" not in outcome.out


def test_prove_a_walk(run: Run) -> None:
    put("w.nc", posted(JOB, walk=True))
    assert run("prove", "job.toml", "w.nc", "--walk").code == 0
    assert run("prove", "job.toml", "w.nc", "--walk", "--physics-only").code == 0
    assert run("prove", "job.toml", "w.nc").code == 1
    put("p.nc", PROGRAM)
    outcome = run("prove", "job.toml", "p.nc", "--walk")
    assert outcome.code == 1
    assert "walk-turns" in outcome.out


@pytest.mark.parametrize(
    ("content", "code", "says"),
    [
        (PROGRAM.replace("\n", "\r\n"), 0, "PROVED: p.nc"),
        ("", 1, "no-end: a program without M2 or M30"),
        ("\n\n", 1, "no-end"),
        ("\ufeff" + PROGRAM, 1, "line 1: unreadable: the character U+FEFF in column 1"),
        ("caf\u00e9\n" + PROGRAM, 1, "line 1: unreadable: the character U+00E9 in column 4"),
        ("%\n" + PROGRAM + "%\n", 0, "PROVED: p.nc"),
        ("%\n" + PROGRAM, 1, "unreadable: a % that opens the program and none that closes it"),
        (PROGRAM + "\n \n\t\n", 0, "PROVED: p.nc"),
    ],
    ids=["CRLF", "empty", "blank", "byte order mark", "not ASCII", "tape marks", "one tape mark", "blank tail"],
)
def test_prove_programs_as_editors_leave_them(run: Run, content: str, code: int, says: str) -> None:
    put("p.nc", content)
    outcome = run("prove", "job.toml", "p.nc")
    assert outcome.code == code, outcome
    assert says in outcome.out


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"G21\n\x80\x81", "p.nc:2: this is no text: byte 4 is not UTF-8"),
        (PROGRAM.encode("utf-16"), "p.nc:1: this is no text"),
        (bytes(range(256)), "p.nc:"),
        (b"G21\nG90\x00\n", "p.nc:2: this is no text: it holds a zero byte"),
        (None, "p.nc: there is no such program"),
    ],
    ids=["not UTF-8", "UTF-16", "bytes", "zero byte", "missing"],
)
def test_prove_what_is_no_program(run: Run, content: bytes | None, says: str) -> None:
    if content is not None:
        put("p.nc", content)
    refused(run("prove", "job.toml", "p.nc"), says)


def test_prove_a_folder(run: Run) -> None:
    refused(run("prove", "job.toml", "."), "this is a folder; give the path of a program")


def test_prove_a_file_too_large_to_be_a_program(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gen.cli.MOST_PROGRAM_BYTES", 1000)
    put("p.nc", PROGRAM)
    refused(run("prove", "job.toml", "p.nc"), "p.nc: this file is larger than 0.001 MB", "a program may be")


def test_reading_twice_shows_its_progress_on_stderr(run: Run) -> None:
    outcome = run("write", "job.toml", "--read-twice", "--json")
    assert outcome.code == 0
    assert "reading twice" in outcome.err
    assert json.loads(outcome.out)["read_twice"] == 27
    assert json.loads(run("prove", "job.toml", "job.nc", "--read-twice", "--json").out)["ok"] is True


# show, new, schema


def test_show_the_plan_as_a_table(run: Run) -> None:
    outcome = run("show", "job.toml")
    assert (outcome.code, outcome.err) == (0, "")
    assert "feed through bore 2" in outcome.out
    assert "-160.500" in outcome.out
    assert os.listdir() == ["job.toml"]


def test_show_the_plan_as_json(run: Run) -> None:
    shown = json.loads(run("show", "job.toml", "--json").out)
    assert (shown["job"], shown["units"]) == ("Harbour pump engine, main housings", "mm")
    assert [step["step"] for step in shown["steps"]] == list(range(1, len(shown["steps"]) + 1))
    feeds = [(step["x"], step["feed"]) for step in shown["steps"] if step["what"] == "feed"]
    assert feeds[:2] == [(-34.5, 38.0), (3.0, 38.0)]


def test_show_the_walk(run: Run) -> None:
    outcome = run("show", "job.toml", "--walk")
    assert outcome.code == 0
    assert "sweep the housing" in outcome.out
    assert "feed through" not in outcome.out


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_a_new_job_writes_and_proves_as_it_stands(run: Run, units: str) -> None:
    outcome = run("new", "mine.toml", "--units", units)
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out.endswith("borewright write mine.toml\n")
    assert f'units = "{units}"' in Path("mine.toml").read_text()
    assert run("write", "mine.toml").code == 0
    assert run("write", "mine.toml", "--walk").code == 0


def test_a_new_job_writes_over_nothing(run: Run) -> None:
    refused(run("new", "job.toml"), "job.toml: this file exists already")
    assert Path("job.toml").read_text() == JOB_TEXT
    assert run("new", "job.toml", "--force").code == 0
    assert Path("job.toml").read_text() != JOB_TEXT
    Path("folder").mkdir()
    refused(run("new", "folder", "--force"), "folder: this is a folder")


def test_the_schema_is_json_schema_of_a_job(run: Run) -> None:
    outcome = run("schema")
    assert (outcome.code, outcome.err) == (0, "")
    schema = json.loads(outcome.out)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert set(schema["properties"]) >= {"name", "units", "machine", "head", "bar", "cut", "path", "bore", "bores"}


# help, slips of the keyboard, and mistakes of our own


COMMANDS: Final = (
    *("write", "prove", "show", "fit", "new", "schema", "read"),
    *("posts", "posts copy", "posts try", "posts explain"),
)


@pytest.mark.parametrize("command", ["", *COMMANDS])
@pytest.mark.parametrize("flag", ["-h", "--help"])
def test_every_command_helps(command: str, flag: str) -> None:
    result = CliRunner().invoke(borewright, [*command.split(), flag])
    assert result.exit_code == 0
    assert result.output.startswith("Usage: ")


def test_the_help_names_every_command_and_exit_code() -> None:
    text = " ".join(CliRunner().invoke(borewright, ["--help"]).output.split())
    for phrase in (*(f" {name.split()[0]} " for name in COMMANDS), "0: proved", "1: there are", "2: bad input"):
        assert phrase in text
    text = " ".join(CliRunner().invoke(borewright, ["posts", "--help"]).output.split())
    for name in ("copy", "try", "explain"):
        assert f" {name} " in text


def test_the_version(run: Run) -> None:
    assert run("--version") == (0, f"borewright {version('borewright')}\n", "")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("write",), "Missing argument 'JOB'"),
        (("prove", "job.toml"), "Missing argument 'PROGRAM...'"),
        (("rite", "job.toml"), "No such command 'rite'"),
        (("posts", "copi"), "No such command 'copi'"),
        (("posts", "copy", "longhand"), "Missing argument 'FOLDER'"),
        (("posts", "try"), "Missing argument 'NAME|FOLDER'"),
        (("posts", "explain"), "Missing argument 'NAME|FOLDER'"),
        (("posts", "explain", "longhand", "--units", "cm"), "'cm' is not one of 'mm', 'inch'"),
        (("read",), "Missing argument 'PROGRAM'"),
        (("write", "job.toml", "--posst", "x"), "No such option"),
        (("new", "x.toml", "--units", "cm"), "'cm' is not one of 'mm', 'inch'"),
    ],
)
def test_a_slip_on_the_command_line(run: Run, arguments: tuple[str, ...], says: str) -> None:
    outcome = run(*arguments)
    assert (outcome.code, outcome.out) == (2, "")
    assert says in outcome.err
    assert os.listdir() == ["job.toml"]


@pytest.mark.parametrize("error", [ZeroDivisionError("float division by zero"), KeyError("x"), RecursionError("deep")])
def test_a_mistake_of_our_own_ends_in_one_line(run: Run, monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    def broken(*_: Any, **__: Any) -> None:
        raise error

    monkeypatch.setattr(pipeline, "prove", broken)
    outcome = run("write", "job.toml")
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err == f"borewright: a mistake of its own, please report it: {type(error).__name__}: {error}\n"
    assert os.listdir() == ["job.toml"]


def test_a_disk_that_is_full_leaves_all_as_it_was(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    put("job.nc", "old")
    monkeypatch.setattr(os, "fsync", full)
    refused(run("write", "job.toml", "--force"), "job.nc: ", "No space left on device", "nothing was changed")
    assert Path("job.nc").read_text() == "old"
    assert sorted(os.listdir()) == ["job.nc", "job.toml"]
