"""README shows what the commands really print, and CI runs the test command that README gives."""

import re
from pathlib import Path
from typing import Final

from gen.fitreport import fit_text
from gen.pipeline import begin, look_at_fit, program_text, prove_text
from gen.report import report
from gen.summary import summary

ROOT: Final = Path(__file__).parents[1]
README: Final = (ROOT / "README.md").read_text(encoding="utf-8")
TABLES: Final = ("machine", "head", "bar", "cut", "path")
TASK: Final = begin(ROOT / "samples" / "harbour-pump.toml", "longhand", walk=False)


def block(starts: str) -> str:
    """The text of the code block that starts so."""
    found = re.search(rf"```\w+\n({re.escape(starts)}.*?)```", README, re.DOTALL)
    assert found, starts
    return found[1]


def told(text: str) -> str:
    verdict = prove_text(TASK, text, physics_only=False, read_twice=False)
    return report(summary(TASK, verdict, Path("harbour-pump.nc") if verdict.proved else None)) + "\n"


def test_the_main_job_prints_what_readme_shows() -> None:
    shown = block("$ .venv/bin/borewright write samples/harbour-pump.toml --out harbour-pump.nc --force\n")
    assert shown.split("\n", 1)[1] == told(program_text(TASK))


def test_the_program_begins_as_readme_shows() -> None:
    assert program_text(TASK).startswith(block("(Job: Harbour pump engine"))


def test_an_edited_program_is_told_as_readme_shows() -> None:
    shown = block("$ sed 's/G1 X-36.500/G1 X-26.500/' harbour-pump.nc > edited.nc\n")
    said = told(program_text(TASK).replace("G1 X-36.500", "G1 X-26.500"))
    assert said.endswith(shown.split("  ...\n")[1])


def test_fit_prints_what_readme_shows() -> None:
    shown = block("$ .venv/bin/borewright fit samples/dock-crane.toml\n")
    assert shown.split("\n", 1)[1] == fit_text(look_at_fit(ROOT / "samples" / "dock-crane.toml", "longhand")) + "\n"


def test_the_csv_in_readme_is_the_sample_s() -> None:
    assert block("name,x,length") == (ROOT / "samples" / "quarry-compressor.csv").read_text(encoding="utf-8")


def test_ci_runs_the_test_command_of_readme() -> None:
    assert block("python3 -m venv .venv && .venv/bin/pip install -q -e").strip() in (ROOT / ".ci" / "run").read_text()


def test_readme_names_every_key_of_a_job_and_every_post() -> None:
    names = set(re.findall(r"`([a-z_]+)`", README))
    job = type(TASK.job)
    tables = [job, *(job.model_fields[name].annotation for name in TABLES)]
    keys = {key for table in tables if table is not None for key in table.model_fields}
    keys |= set(type(TASK.job.bore[0]).model_fields)
    assert keys - names == {*TABLES, "bore", "block", "obstacle", "bump"}
    assert {folder.name for folder in (ROOT / "post" / "library").iterdir()} <= names
