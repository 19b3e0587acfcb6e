"""Times what the tool promises, as ratios measured in one run: ``python -m tests.bench``."""

import gc
import os
import statistics
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

from gen.pipeline import Task, begin
from post.posts import find
from post.reader import read
from post.replay import replay
from tests.bench import posting
from tests.bench.rows import SAMPLE, row_of
from tests.programs import program_text, prove_text

IMPORTS = "import click, pydantic, jinja2, numpy"
MAIN = "from gen.cli import main; main()"
BLOCKS = 200_000


def main() -> None:
    """Print every figure; nothing is asserted here."""
    whole_write()
    long_program()
    growth()
    posting.main()


def whole_write() -> None:
    """A whole ``write`` in a fresh process against the bare imports, in pairs."""
    with tempfile.TemporaryDirectory() as folder:
        out = str(Path(folder) / "program.nc")
        command = [sys.executable, "-c", MAIN, "write", str(SAMPLE), "--out", out, "--force"]
        pairs = [(_run(command), _run([sys.executable, "-c", IMPORTS])) for _ in range(12)][2:]
    ratio = statistics.median(ours / bare for ours, bare in pairs)
    ours, bare = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"write of five mains        {ours * 1e3:7.0f} ms   {ratio:5.2f} of the bare imports ({bare * 1e3:.0f} ms)")


def _run(command: list[str]) -> float:
    """Seconds a process takes, with compiled modules kept as an installed program has them."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    started = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=environment)
    return time.perf_counter() - started


def long_program() -> None:
    """Read and replay of a long program against pygcode reading and processing the same text."""
    dialect = find("longhand").dialect
    text = _long_text(BLOCKS)
    ours = _best(lambda: replay(read(text, dialect), dialect), 3)
    part = _long_text(10_000)
    theirs = _best(lambda: _pygcode(part), 2) * BLOCKS / 10_000
    print(
        f"read + replay, {BLOCKS} blocks {ours / BLOCKS * 1e6:5.2f} us a block, pygcode {theirs / ours:5.1f} times that"
    )
    gc.collect()
    tracemalloc.start()
    timeline = replay(read(text, dialect), dialect)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    print(f"  peak memory              {peak / timeline.blocks:7.0f} bytes a block")


def _long_text(blocks: int) -> str:
    lines = ["G21 G17 G40 G49 G61 G80", "G90 G94 G54", "G0 X0.000 Y0.000 Z160.000", "S760 M4"]
    moves = ("G1 X{0:.3f} Y0.000 Z0.000 F38.050", "G0 X{0:.3f} Y0.000 Z160.000")
    lines += [moves[number % 2].format(-number * 0.004) for number in range(blocks - len(lines) - 1)]
    return "\n".join([*lines, "M30", ""])


def _pygcode(text: str) -> None:
    from pygcode import Line, Machine  # type: ignore[import-untyped]

    machine = Machine()
    for line in text.splitlines()[:-1]:
        machine.process_block(Line(line).block)


def growth() -> None:
    """Plan, post, read back, replay and prove 5 bores and 5,000."""
    with tempfile.TemporaryDirectory() as folder:
        few, many = row_of(5, Path(folder)), row_of(5_000, Path(folder))
        small = _best(lambda: _whole(few), 5)
        large = _best(lambda: _whole(many), 1)
    print(f"5,000 bores                {large:7.2f} s    {large / small:5.0f} times what 5 cost ({small * 1e3:.1f} ms)")


def _whole(path: Path) -> None:
    task: Task = begin(path, "longhand", walk=False)
    verdict = prove_text(task, program_text(task), physics_only=False, read_twice=False)
    assert verdict.proved, verdict.findings[:3]


def _best(action: Callable[[], object], rounds: int) -> float:
    times = []
    for _ in range(rounds):
        gc.collect()
        started = time.perf_counter()
        action()
        times.append(time.perf_counter() - started)
    return min(times)


if __name__ == "__main__":
    main()
