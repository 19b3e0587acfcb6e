"""The files that stand beside a program: the setup sheet, and the page that replays it."""

from collections.abc import Sequence
from pathlib import Path

from gen.pipeline import Task
from gen.proof import Verdict

KINDS = ("sheet", "page")


def beside(program: Path) -> dict[str, Path]:
    """Where sheet and page of a program go; of several programs, ``program`` is what they are numbered from."""
    return {kind: program.parent / f"{program.stem}-{kind}.html" for kind in KINDS}


def texts(task: Task, programs: Sequence[str], verdict: Verdict, files: Sequence[Path]) -> dict[str, str]:
    """Sheet and page of a task's programs, whose files they name; all bear the same fingerprint."""
    from gen.page import page
    from gen.sheet import sheet

    return {"sheet": sheet(task, verdict, files), "page": page(task, programs, verdict)}
