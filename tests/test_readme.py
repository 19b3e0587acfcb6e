"""README shows what the commands really print, and CI runs the test command that README gives."""

import re
from pathlib import Path
from typing import Final

from gen import companions, tryout
from gen.fitreport import fit_text
from gen.linefacts import facts
from gen.lineplot import svg
from gen.linereport import words
from gen.linewanted import Cam, Deck, LineWanted, Straight
from gen.pipeline import begin, look_at_fit
from gen.report import report
from gen.summary import summary
from gen.survey import read
from gen.tooling import Cutter, Passes, Size
from post.posts import copy_of, find
from tests.programs import program_text, prove_text

ROOT: Final = Path(__file__).parents[1]
README: Final = (ROOT / "README.md").read_text(encoding="utf-8")
TABLES: Final = ("machine", "head", "bar", "cut", "path")
OPTIONAL: Final = (Cutter, Passes, Size, LineWanted, Cam, Deck, Straight)
SURVEY: Final = ROOT / "samples" / "surveys" / "harbour-pump-spun.csv"
TASK: Final = begin(ROOT / "samples" / "harbour-pump.toml", "longhand", walk=False)


def block(starts: str) -> str:
    """The text of the code block that starts so."""
    found = re.search(rf"```\w+\n({re.escape(starts)}.*?)```", README, re.DOTALL)
    assert found, starts
    return found[1]


def told(text: str) -> str:
    verdict = prove_text(TASK, text, physics_only=False, read_twice=False)
    programs = [Path("harbour-pump.nc")] if verdict.proved else []
    beside = companions.beside(programs[0]) if programs else None
    return report(summary(TASK, verdict, programs, beside=beside)) + "\n"


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


def test_line_prints_and_draws_what_readme_shows() -> None:
    found = facts(TASK.job, read(SURVEY, TASK.job))
    shown = block("$ .venv/bin/borewright line samples/harbour-pump.toml samples/surveys/harbour-pump-spun.csv\n")
    assert shown.split("\n", 1)[1] == words(found) + "\n"
    assert SURVEY.with_suffix(".svg").read_text(encoding="utf-8") == svg(found)
    assert f"]({SURVEY.with_suffix('.svg').relative_to(ROOT)})" in README


def test_a_post_with_a_mistake_is_told_as_readme_shows(tmp_path: Path) -> None:
    """The one that README leads to: dwells in milliseconds, comments behind semicolons, and a G4 lost."""
    ours = tmp_path / "ours"
    for path, text in copy_of("longhand", ours).items():
        path.write_text(text, encoding="utf-8")
    mended = {
        "dialect.toml": [
            ('"seconds" ', '"milliseconds" '),
            ("step = 0.01 ", "step = 1 "),
            ('form = "brackets"', 'form = "semicolon"'),
        ],
        "program.j2": [("G4 {{ dwell_word }}", "{{ dwell_word }}")],
    }
    for name, changes in mended.items():
        text = (ours / name).read_text(encoding="utf-8")
        for old, new in changes:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        (ours / name).write_text(text, encoding="utf-8")
    post = find(str(ours))
    shown = block("$ .venv/bin/borewright posts try ours\n")
    assert tryout.report(tryout.facts(post, list(tryout.outcomes(post)))).endswith(shown.split("...")[1].rstrip("\n"))


def test_the_csv_in_readme_is_the_sample_s() -> None:
    assert block("name,x,length") == (ROOT / "samples" / "quarry-compressor.csv").read_text(encoding="utf-8")


def test_ci_runs_the_test_command_of_readme() -> None:
    assert block("python3 -m venv .venv && .venv/bin/pip install -q -e").strip() in (ROOT / ".ci" / "run").read_text()


def test_readme_names_every_key_of_a_job_and_every_post() -> None:
    names = set(re.findall(r"`([a-z_-]+)`", README))
    job = type(TASK.job)
    tables = [job, *OPTIONAL, *(job.model_fields[name].annotation for name in TABLES)]
    keys = {key for table in tables if table is not None for key in table.model_fields}
    keys |= set(type(TASK.job.bore[0]).model_fields)
    tables_by_name = {"block", "obstacle", "bump", "cutter", "passes", "cam", "deck", "straight"}
    assert keys - names == {*TABLES, *tables_by_name}
    assert {folder.name for folder in (ROOT / "post" / "library").iterdir()} <= names
