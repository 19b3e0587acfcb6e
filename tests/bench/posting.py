"""Posting 5,000 bores against plain joining of the same text.

The plain way is what a script written for this one post would do: it walks the plan and joins formatted strings, with
no template, no dialect, no bounds and no checks. ``python -m tests.bench.posting`` prints both.
"""

import gc
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from gen.header import header
from gen.pipeline import Task, begin, program_texts
from post.motion import Dwell, Feed, Pause, Rapid, Remark, Spindle, SpindleStop
from tests.bench.rows import row_of

BORES = 5_000


def main() -> None:
    """Print the ratio, once the start is paid, and the start."""
    with tempfile.TemporaryDirectory() as folder:
        few, many = (begin(row_of(bores, Path(folder)), "longhand", walk=False) for bores in (1, BORES))
    start = _once(lambda: program_texts(few))
    assert program_texts(many) == [plainly(many)], "not the same text"
    ours, plain = _best(lambda: program_texts(many)), _best(lambda: plainly(many))
    blocks = program_texts(many)[0].count("\n")
    print(
        f"posting {BORES} bores       {ours * 1e3:7.0f} ms   {ours / plain:5.2f} of plain joining"
        f" ({plain * 1e3:.0f} ms), {ours / blocks * 1e6:.1f} us a block; first start {start * 1e3:.0f} ms"
    )


def plainly(task: Task) -> str:
    """The same program by formatting and joining."""
    return "".join(_lines(task))


def _lines(task: Task) -> Iterator[str]:
    (plan,) = task.plans
    for text in header(task.job, task.post, walk=False):
        yield f"({text})\n"
    yield "G21 G17 G40 G49 G61 G80\nG90 G94 G54\n"
    for step in plan.simple():
        match step:
            case Rapid((x, y, z), why):
                words = (f"{axis}{at:.3f}" for axis, at in (("X", x), ("Y", y), ("Z", z)) if at is not None)
                yield f"G0 {' '.join(words)} ({why})\n"
            case Feed((x, y, z), mm_per_min, why):
                words = (f"{axis}{at:.3f}" for axis, at in (("X", x), ("Y", y), ("Z", z)) if at is not None)
                yield f"G1 {' '.join(words)} F{mm_per_min:.3f} ({why})\n"
            case Spindle(rpm, sense, why):
                yield f"S{rpm:.0f} {sense.value} ({why})\n"
            case SpindleStop(why):
                yield f"M5 ({why})\n"
            case Dwell(seconds, why):
                yield f"G4 P{seconds:.2f} ({why})\n"
            case Pause(message):
                yield f"M0 (MSG, {message})\n"
            case Remark(text):
                yield f"({text})\n"
    yield "M30\n"


def _once(action: Callable[[], object]) -> float:
    started = time.perf_counter()
    action()
    return time.perf_counter() - started


def _best(action: Callable[[], object]) -> float:
    gc.collect()
    return min(_once(action) for _ in range(5))


if __name__ == "__main__":
    main()
