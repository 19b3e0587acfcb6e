"""The command line as a fixture."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from gen.cli import main
from tests.commands import Outcome, Run
from tests.jobs import JOB_TEXT


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Iterator[Run]:
    """Runs the command in a folder that holds job.toml."""
    monkeypatch.chdir(tmp_path)
    Path("job.toml").write_text(JOB_TEXT, encoding="utf-8")

    def outcome(*arguments: str) -> Outcome:
        monkeypatch.setattr(sys, "argv", ["borewright", *arguments])
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        streams = capsys.readouterr()
        code = ended.value.code
        assert "Traceback" not in streams.out + streams.err
        return Outcome(code if isinstance(code, int) else 0, streams.out, streams.err)

    yield outcome
    left = [path.name for path in tmp_path.rglob("*") if path.name.startswith(".") or path.name.endswith(".tmp")]
    assert left == [], "a temporary file is left behind"
