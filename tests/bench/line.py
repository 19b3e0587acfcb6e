"""How long a survey takes from its file to words, and the trials of the simulation: ``python -m tests.bench.line``."""

import math
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from gen.job import Job
from gen.jobfile import load
from gen.linechance import chance
from gen.linefacts import facts
from gen.linereport import words
from gen.lines import lines
from gen.linewanted import LineWanted
from gen.survey import read
from tests.bench.rows import row_of

BORES = 7
TRIALS = 100_000
BOWS_MM = {"that cleans up": 0.02, "that does not, with caps to cut": 0.6}


def main() -> None:
    """Print both, in CPU time."""
    with tempfile.TemporaryDirectory() as folder:
        job = load(row_of(BORES, Path(folder))).job
        job = job.model_copy(update={"line": LineWanted(caps="+Z", supports=(-500, 0))})
        survey = Path(folder) / "survey.csv"
        for name, bow_mm in BOWS_MM.items():
            survey.write_text(_text(job, bow_mm), encoding="utf-8")
            milliseconds = _best(lambda: words(facts(job, read(survey, job))), 10) * 1e3
            print(f"a survey of {BORES} bores {name}, file to words: {milliseconds:.0f} ms")
        surveyed = read(survey, job).survey(job)
        best = lines(surveyed, LineWanted()).best.line
        seconds = _best(lambda: chance(surveyed, best, 0.003, TRIALS, 1), 3)
        print(f"{TRIALS:,} trials of {BORES} bores: {seconds:.2f} s")


def _text(job: Job, bow_mm: float) -> str:
    """A row that bows in the middle, each bore 0.3 mm under its size, and a little aside."""
    told = ["bore,y,z,diameter"]
    for number, bore in enumerate(job.bore):
        z = bow_mm * math.sin(math.pi * number / (len(job.bore) - 1))
        told.append(f"{bore.name},{0.004 * math.cos(7 * number):.4f},{z:.4f},{bore.diameter - 0.3}")
    return "\n".join(told) + "\n"


def _best(run: Callable[[], object], times: int) -> float:
    seconds = []
    for _ in range(times):
        started = time.process_time()
        run()
        seconds.append(time.process_time() - started)
    return min(seconds)


if __name__ == "__main__":
    main()
