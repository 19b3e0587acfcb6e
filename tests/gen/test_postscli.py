"""The commands about posts: what they list, copy, try and explain, and what they leave on disk."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any, Final

import pytest

from gen.battery import trials
from gen.pipeline import plans_of, texts_of
from post.posts import FILES, LIBRARY, find, shipped
from tests.commands import Run, put, refused
from tests.jobs import make_job
from tests.programs import ROOT, change, own_post, posted

SHIPPED: Final = ("cycles", "longhand", "one-pass", "oriented", "per-turn", "tape")
DWELL: Final = "G4 {{ dwell_word }}{{ step.dwell | dwell }} {{ step.why | comment }}\n"
"""The line of longhand's template that a shop leaves out by mistake."""
MILLISECONDS: Final = (
    ('unit = "seconds"', 'unit = "milliseconds"'),
    ("step = 0.01 ", "step = 1    "),
    ('form = "brackets"', 'form = "semicolon"'),
)


def tree(folder: str = ".") -> list[str]:
    return sorted(str(path) for path in Path(folder).rglob("*"))


# list


def test_posts_lists_every_post_with_one_line(run: Run) -> None:
    outcome = run("posts")
    assert (outcome.code, outcome.err) == (0, "")
    lines = outcome.out.splitlines()
    assert [line.split()[0] for line in lines] == list(SHIPPED) == list(shipped())
    assert all(line == f"{name:<8}  {find(name).dialect.about}" for name, line in zip(SHIPPED, lines, strict=True))
    assert all(len(line) <= 100 for line in lines)
    assert tree() == ["job.toml"]


# copy


@pytest.mark.parametrize("name", SHIPPED)
def test_a_copy_is_the_post_itself_and_says_what_to_do_next(run: Run, name: str) -> None:
    outcome = run("posts", "copy", name, "ours")
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out == "ours: change dialect.toml and program.j2 there, then: borewright posts try ours\n"
    assert tree("ours") == ["ours/dialect.toml", "ours/program.j2"]
    for file in FILES:
        assert Path("ours", file).read_bytes() == (LIBRARY / name / file).read_bytes()
    assert find("ours").dialect == find(name).dialect


def test_a_copy_may_be_written_to(run: Run) -> None:
    run("posts", "copy", "longhand", "ours")
    assert all(os.stat(Path("ours", file)).st_mode & 0o600 == 0o600 for file in FILES)


def test_a_copy_goes_into_a_folder_that_is_there(run: Run) -> None:
    Path("posts").mkdir()
    assert run("posts", "copy", "tape", "posts/ours").code == 0
    assert tree("posts") == ["posts/ours", "posts/ours/dialect.toml", "posts/ours/program.j2"]


@pytest.mark.parametrize("there", ["empty folder", "folder", "file", "link", "link to nowhere"])
def test_a_copy_replaces_nothing(run: Run, there: str) -> None:
    match there:
        case "empty folder":
            Path("ours").mkdir()
        case "folder":
            Path("ours").mkdir()
            put("ours/program.j2", "M30")
        case "file":
            put("ours", "mine")
        case "link":
            Path("theirs").mkdir()
            Path("ours").symlink_to("theirs")
        case _:
            Path("ours").symlink_to("nowhere")
    before = tree()
    refused(
        run("posts", "copy", "longhand", "ours"), "ours: this exists already; give the name of a new folder, e.g. ours"
    )
    assert tree() == before


@pytest.mark.parametrize(
    "name", ["fast", "", "Longhand", "longhand/", "../library/longhand", "job.toml", ".", "long\nhand"]
)
def test_only_a_post_that_ships_is_copied(run: Run, name: str) -> None:
    outcome = run("posts", "copy", name, "ours")
    assert outcome.code == 2
    assert "is no post that ships; there are cycles, longhand, one-pass, " in outcome.err
    assert "e.g. posts copy longhand ours" in outcome.err
    assert tree() == ["job.toml"]


@pytest.mark.parametrize(
    ("folder", "says"),
    [
        ("none/ours", "none/ours: this folder cannot be made (No such file or directory)"),
        ("job.toml/ours", "job.toml/ours: this folder cannot be made (Not a directory)"),
        ("", "this exists already"),
        (".", "this exists already"),
        ("..", "this exists already"),
        ("/", "this exists already"),
        ("a" * 300, "this folder cannot be made (File name too long)"),
    ],
    ids=["no parent", "below a file", "empty", "here", "above", "root", "too long"],
)
def test_a_folder_that_cannot_be_made_is_told(run: Run, folder: str, says: str) -> None:
    outcome = run("posts", "copy", "longhand", folder)
    assert (outcome.code, outcome.out) == (2, "")
    assert says in outcome.err
    assert "mistake of its own" not in outcome.err
    assert tree() == ["job.toml"]


@pytest.mark.parametrize(
    "error", [OSError(28, "No space left on device"), KeyboardInterrupt()], ids=["full", "interrupt"]
)
@pytest.mark.parametrize(("call", "nth"), [("fsync", 1), ("fsync", 2), ("link", 1), ("link", 2)])
def test_a_copy_that_fails_leaves_nothing_half_made(
    run: Run, monkeypatch: pytest.MonkeyPatch, call: str, nth: int, error: BaseException
) -> None:
    whole, made = getattr(os, call), list[object]()

    def fails(*arguments: Any, **named: Any) -> Any:
        made.append(arguments)
        if len(made) == nth:
            raise error
        return whole(*arguments, **named)

    monkeypatch.setattr(os, call, fails)
    outcome = run("posts", "copy", "longhand", "ours")
    assert outcome.code == (2 if isinstance(error, OSError) else 130)
    assert "mistake of its own" not in outcome.err
    assert tree() == ["job.toml"]


# try


def test_try_tells_of_every_job_and_that_the_post_may_be_used(run: Run) -> None:
    outcome = run("posts", "try", "longhand")
    assert outcome.code == 0
    names = [trial.name for trial in trials()]
    lines = outcome.out.splitlines()
    assert len(names) >= 40
    assert [line[: len(name)] for line, name in zip(lines, names, strict=False)] == names
    lifted = sum(trial.job.path.withdraw == "lift" and not trial.walk for trial in trials())
    assert lines[-1] == (
        f"longhand: {len(names) - lifted} passed, {lifted} refused, 0 failed:"
        " the post may be used for what it does not refuse"
    )
    assert "first failure" not in outcome.out
    assert outcome.err.startswith("trying longhand")
    assert tree() == ["job.toml"]


@pytest.mark.parametrize("name", SHIPPED)
def test_every_post_that_ships_passes(run: Run, name: str) -> None:
    outcome = run("posts", "try", name, "--json")
    assert outcome.code == 0
    told = json.loads(outcome.out)
    assert (told["ok"], told["post"], told["failed"]) == (True, name, 0)
    assert told["passed"] + told["refused"] == len(told["jobs"]) == len(trials())
    assert told["passed"] >= 40
    assert all(set(job) == {"name", "result", "programs", "blocks", "why", "findings"} for job in told["jobs"])
    assert all(bool(job["why"]) is (job["result"] == "refused") for job in told["jobs"])
    assert all((job["blocks"] > 0) is (job["result"] == "passed") for job in told["jobs"])
    assert outcome.err.startswith(f"trying {name}")


def test_a_shop_s_mistake_is_named_beside_what_was_expected(run: Run) -> None:
    """Longhand with dwells in milliseconds and comments behind semicolons, and no G4 on its one step by mistake."""
    name = own_post(Path("ours"), "longhand", *MILLISECONDS, template=((DWELL, ""),))
    outcome = run("posts", "try", name)
    assert outcome.code == 1
    table, told = outcome.out.split("\nfirst failure: ")
    trial = next(trial for trial in trials() if trial.name == "one spot face")
    (text,) = texts_of(trial.job, find(name), plans_of(trial.job, find(name), walk=False), walk=False)
    line = change("G1 X3.000 Y0.000 Z0.000 F38.000 ; withdraw from bore 1", "")(text).line
    assert told.splitlines()[:5] == [
        "one spot face",
        f"  line {line}: dwell-short",
        "  block     G1 X3.000 Y0.000 Z0.000 F38.000 ; withdraw from bore 1",
        "  found     a step is missing before this line",
        "  expected  a dwell of 0.632 s",
    ]
    rows = [line for line in table.splitlines() if line.startswith("one spot face")]
    assert rows == [rows[0]]
    assert rows[0].split(None, 3)[3].startswith("failed")
    assert "dwell-short, and 1 more" in rows[0]
    assert outcome.out.splitlines()[-1].startswith("ours: ")
    assert outcome.out.endswith(" failed: NOT to be used: mend its dialect.toml or its program.j2, and try again\n")
    facts = json.loads(run("posts", "try", name, "--json").out)
    assert facts["ok"] is False
    failed = [job for job in facts["jobs"] if job["result"] == "failed"]
    spotted = {trial.name for trial in trials() if not trial.walk and any(bore.face_turns for bore in trial.job.bore)}
    refused_ones = {job["name"] for job in facts["jobs"] if job["result"] == "refused"}
    assert {job["name"] for job in failed} == spotted - refused_ones
    assert {finding["rule"] for job in failed for finding in job["findings"]} == {"dwell-short"}
    assert all(job["blocks"] > 0 for job in failed)


def test_mended_it_passes_and_writes(run: Run) -> None:
    name = own_post(Path("ours"), "longhand", *MILLISECONDS)
    assert run("posts", "try", name).code == 0
    assert run("write", "job.toml", "--post", name).code == 0
    text = Path("job.nc").read_text()
    assert "G4 P632 ; stand at the spot face of bore 1\n" in text
    assert "(" not in text


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ((("G40 ", ""),), "state-assumed"),
        ((("step.word }} {{", "step.word | lower }}5 {{"),), "unknown-word"),
        ((("M30\n", ""),), "no-end"),
        ((("M5 {{ step.why", "M3 {{ step.why"),), "state-assumed"),
        ((("{{ step | place }} F", "{{ step | place }} Z-1 F"),), "group-clash"),
        ((("G0 {{ step | place }}", "G1 {{ step | place }} F5"),), "feed-differs"),
    ],
    ids=["no G40", "no such word", "no end", "turning from the start", "Z twice", "fed where rapid is meant"],
)
def test_what_a_template_does_wrong_is_named_by_its_rule(
    run: Run, changes: tuple[tuple[str, str], ...], rule: str
) -> None:
    name = own_post(Path("ours"), "longhand", template=changes)
    outcome = run("posts", "try", name)
    assert outcome.code == 1
    first = outcome.out.split("\nfirst failure: ")[1].splitlines()
    assert first[0] == trials()[0].name
    assert first[1].endswith(f": {rule}"), first


def test_a_template_that_fails_is_told_with_its_file_line_and_step(run: Run) -> None:
    name = own_post(Path("ours"), "longhand", template=(("{{ step.dwell | dwell }}", "{{ step.time | dwell }}"),))
    at = Path("ours/program.j2").read_text().split("step.time")[0].count("\n") + 1
    outcome = run("posts", "try", name)
    assert outcome.code == 1
    first = outcome.out.split("\nfirst failure: ")[1].splitlines()
    assert first[0] == "one spot face"
    assert first[1].startswith(f"  ours/program.j2:{at}: the template failed while writing step ")
    assert ", dwell (stand at the spot face of bore 1): " in first[1]
    assert "has no time; it has dwell, why" in first[1]


def test_a_post_that_can_express_nothing_has_not_passed(run: Run) -> None:
    refuses = ", ".join(f'"G{code}"' for code in ("54", "55", "59", "59.1", "59.3"))
    name = own_post(Path("ours"), "longhand", ("refuses = []", f"refuses = [{refuses}]"))
    outcome = run("posts", "try", name)
    assert outcome.code == 1
    assert outcome.out.splitlines()[-1] == (
        f"ours: 0 passed, {len(trials())} refused, 0 failed: NOT to be used: it can express none of the jobs"
    )
    assert json.loads(run("posts", "try", name, "--json").out)["ok"] is False


def test_a_file_for_each_setting_is_told_by_program(run: Run) -> None:
    """What is wrong in the second program alone is told as that program's."""
    name = own_post(Path("ours"), "one-pass", template=(("G90 {{", "{% if part == 1 %}G90 {% endif %}{{"),))
    outcome = run("posts", "try", name)
    assert outcome.code == 1
    first = outcome.out.split("\nfirst failure: ")[1].splitlines()
    assert first[0] == "one new setting"
    assert "program 2" in first[1]


def test_a_post_that_cannot_be_read_is_bad_input(run: Run) -> None:
    refused(run("posts", "try", "fast"), '"fast" is neither a post that ships')
    name = own_post(Path("ours"), "longhand", ('word = "P"', 'word = "Q"'))
    refused(run("posts", "try", name), "ours/dialect.toml:", "dwell.word")
    name = own_post(Path("mine"), "longhand", template=(("{% endfor %}\nM30", "M30"),))
    outcome = run("posts", "try", name)
    assert outcome.code == 1
    assert "mine/program.j2:" in outcome.out
    assert "the template cannot be understood" in outcome.out


def test_progress_goes_to_stderr_only(run: Run) -> None:
    outcome = run("posts", "try", "longhand", "--json")
    assert json.loads(outcome.out)["ok"] is True
    assert outcome.err == "trying longhand\n"


# explain


def test_explain_tells_beside_each_block_what_the_control_will_do(run: Run) -> None:
    outcome = run("posts", "explain", "longhand")
    assert (outcome.code, outcome.err) == (0, "")
    assert "| stop the spindle\n" in outcome.out
    assert (
        "  G4 P0.64 (stand at the spot face of bore 1)     | stand 0.64 s (8.1 turns of the spindle)\n" in outcome.out
    )
    assert outcome.out.splitlines()[-1].endswith("| end of the program")
    assert tree() == ["job.toml"]


def test_explain_a_job_of_one_s_own(run: Run) -> None:
    outcome = run("posts", "explain", "longhand", "--job", "job.toml")
    program = posted(make_job()).splitlines()
    assert [
        line.split("|")[0].split(None, 1)[1].rstrip() for line in outcome.out.splitlines() if line.strip()[0].isdigit()
    ] == program


def test_explain_in_inches_and_the_walk(run: Run) -> None:
    assert "lengths in inches" in run("posts", "explain", "tape", "--units", "inch").out
    walk = run("posts", "explain", "longhand", "--walk").out
    assert (
        "wait for the operator: bore 1: put the indicator on, turn the bar by hand and sweep the housing; take it off"
        in walk
    )
    assert "spindle counterclockwise" not in walk


def test_explain_what_cannot_be_used(run: Run) -> None:
    refused(run("posts", "explain", "fast"), '"fast" is neither a post that ships')
    refused(run("posts", "explain", "longhand", "--job", "jop.toml"), "jop.toml: there is no such job file")
    sample = str(ROOT / "samples" / "quarry-compressor.toml")
    refused(run("posts", "explain", "cycles", "--job", sample), "toward -X only", "these can: --post longhand")
    name = own_post(Path("ours"), "longhand", template=(("step.speed", "step.sped"),))
    refused(run("posts", "explain", name), "ours/program.j2:", "writing step ", "has no sped; it has speed, word, why")


def test_explain_tells_what_cannot_be_interpreted_and_ends_with_1(run: Run) -> None:
    name = own_post(Path("ours"), "longhand", template=(("M30", "G28 Z0\nM30"),))
    outcome = run("posts", "explain", name)
    assert (outcome.code, outcome.err) == (1, "")
    assert "| cannot be interpreted: G28, a move home" in outcome.out


def test_explain_knows_the_zero_of_its_job(run: Run) -> None:
    name = own_post(Path("ours"), "longhand", template=(("M30", "G53 G0 Z0\nM30"),))
    outcome = run("posts", "explain", name)
    assert outcome.code == 0
    assert "rapid to Z 380 mm" in outcome.out


def test_explain_a_template_that_writes_nothing(run: Run) -> None:
    own_post(Path("ours"), "longhand")
    put("ours/program.j2", "")
    outcome = run("posts", "explain", "ours")
    assert "mistake of its own" not in outcome.err
    assert outcome.code in (0, 1, 2)


# as a shop runs it


def test_the_whole_road_in_a_process_of_its_own(tmp_path: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error"}

    def process(*arguments: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-c", "from gen.cli import main; main()", *arguments]
        return subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False)

    assert process("posts", "copy", "longhand", "ours").returncode == 0
    template = tmp_path / "ours" / "program.j2"
    good = template.read_text(encoding="utf-8")
    template.write_text(good.replace(DWELL, ""), encoding="utf-8")
    tried = process("posts", "try", "ours")
    assert tried.returncode == 1
    assert "expected  a dwell of " in tried.stdout
    assert tried.stderr == "trying ours\n"
    template.write_text(good, encoding="utf-8")
    assert process("posts", "try", "ours").returncode == 0
    assert process("new", "row.toml").returncode == 0
    assert process("write", "row.toml", "--post", "ours").returncode == 0
    assert (tmp_path / "row.nc").is_file()
