"""The command line in a process of its own, as a shop runs it."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Final

import pytest

from tests.commands import Outcome, refused
from tests.jobs import JOB_TEXT, make_job
from tests.programs import ROOT, change, posted

PROGRAM: Final = posted(make_job())
ENTRY: Final = "from gen.cli import main; main()"


def process(folder: Path, *arguments: str, code: str = ENTRY) -> Outcome:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error"}
    command = [sys.executable, "-c", code, *arguments]
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)
    return Outcome(done.returncode, done.stdout, done.stderr)


def test_a_name_that_cannot_be_printed_is_told_as_far_as_it_can(tmp_path: Path) -> None:
    done = process(tmp_path, "new", "\udcff.toml")
    assert (done.code, done.err) == (0, "")
    assert "\\udcff.toml" in done.out
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize("streams", ["stdout", "stderr", "stdout stderr"])
@pytest.mark.parametrize("arguments", [("write", "job.toml"), ("show", "none.toml", "--json"), ("no",)])
def test_a_stream_that_takes_nothing_is_no_mistake_of_the_tool_s(
    tmp_path: Path, arguments: tuple[str, ...], streams: str
) -> None:
    """Exit code 1 would say that there are findings."""
    (tmp_path / "job.toml").write_text(JOB_TEXT, encoding="utf-8")
    with open("/dev/full", "w", encoding="utf-8") as full:
        taken = {name: full if name in streams else subprocess.PIPE for name in ("stdout", "stderr")}
        done = subprocess.run(
            [sys.executable, "-c", ENTRY, *arguments],
            cwd=tmp_path,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            text=True,
            check=False,
            **taken,  # type: ignore[call-overload]
        )
    good = arguments[0] == "write"
    assert done.returncode == (0 if good and streams == "stderr" else 2)
    if good and streams == "stdout":
        assert done.stderr == (
            "borewright: this cannot be printed (No space left on device); a file that was to be written may stand"
            " there\n"
        )
    assert (tmp_path / "job.nc").exists() == good


def test_write_prove_and_refuse_in_a_process_of_its_own(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(JOB_TEXT)
    assert process(tmp_path, "write", "job.toml").out.endswith("PROVED: job.nc\n")
    (tmp_path / "job.nc").write_text(change("X-34.5", "X-35.5")(PROGRAM).text)
    outcome = process(tmp_path, "prove", "job.toml", "job.nc", "--json")
    assert (outcome.code, outcome.err) == (1, "")
    assert json.loads(outcome.out)["ok"] is False
    refused(process(tmp_path, "write", "job.toml"), "job.nc: this file exists already")


IMPORTED: Final = """
import sys
from gen.cli import main
try:
    main()
finally:
    print(sorted({"numpy", "pygcode", "jinja2", "pydantic"} & set(sys.modules)), file=sys.stderr)
"""


@pytest.mark.parametrize(
    ("arguments", "imported"),
    [
        (("show", "job.toml"), {"jinja2", "pydantic"}),
        (("write", "job.toml", "--no-pages"), {"jinja2", "pydantic", "pygcode"}),
        (("posts",), {"pydantic"}),
        (("posts", "copy", "longhand", "ours"), {"pydantic"}),
        (("new", "mine.toml"), {"pydantic"}),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_a_command_imports_no_more_than_it_needs(
    tmp_path: Path, arguments: tuple[str, ...], imported: set[str]
) -> None:
    (tmp_path / "job.toml").write_text(JOB_TEXT)
    outcome = process(tmp_path, *arguments, code=IMPORTED)
    assert outcome.code == 0
    found = outcome.err.strip().split("\n")[-1]
    assert {name for name in ("numpy", "pygcode", "jinja2", "pydantic") if f"'{name}'" in found} <= imported
