"""The proof of short rows and long, and the clearances in it: ``python -m tests.bench.proving``."""

import tempfile
from pathlib import Path

from gen.clearance import clearance
from gen.physics import follow
from gen.pipeline import Task, begin
from gen.room import obstacles, tool
from post.reader import read
from post.replay import replay
from tests.bench.rows import row_of
from tests.bench.timing import best
from tests.programs import program_text, prove_text

FEW, SOME, MANY = 5, 500, 5_000


def main() -> None:
    """Print how cost grows with the row, and how many pairs are judged in a second."""
    with tempfile.TemporaryDirectory() as folder:
        few, some, many = (row_of(bores, Path(folder)) for bores in (FEW, SOME, MANY))
        small = best(lambda: _whole(few), 5)
        large = best(lambda: _whole(many), 1)
        pairs, seconds = _clearance(begin(some, "longhand", walk=False))
    print(
        f"{MANY:,} bores                {large:7.2f} s    {large / small:5.0f} times what {FEW} cost"
        f" ({small * 1e3:.1f} ms), for {MANY // FEW:,} times the bores"
    )
    print(
        f"clearance                  {pairs / seconds / 1e6:7.2f} million pairs a second: a part, an obstacle, a move"
    )


def _whole(path: Path) -> None:
    """Plan, post, read back, replay and prove."""
    task: Task = begin(path, "longhand", walk=False)
    verdict = prove_text(task, program_text(task), physics_only=False, read_twice=False)
    assert verdict.proved, verdict.findings[:3]


def _clearance(task: Task) -> tuple[int, float]:
    """Pairs over moves, those told apart at a glance included, and seconds."""
    text, dialect, job = program_text(task), task.post.dialect, task.job
    timeline = replay(read(text, dialect), dialect)
    _, strokes = follow(job, timeline, dialect, text.split("\n"))
    moves = len(clearance(job, timeline, strokes).moves)
    parts = len(list(tool(job))) + 1
    return moves * parts * (len(list(obstacles(job))) + len(job.bore)), best(
        lambda: clearance(job, timeline, strokes), 3
    )


if __name__ == "__main__":
    main()
