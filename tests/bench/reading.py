"""Reading and replaying a long program, beside two published readers: ``python -m tests.bench.reading``.

pygcode reads and processes the same text, which is what reading and replaying is; gcodeparser does no more than parse
it into words.
"""

import gc
import tracemalloc

from gcodeparser import parse_gcode_lines  # type: ignore[import-untyped]
from pygcode import Line, Machine  # type: ignore[import-untyped]

from post.posts import find
from post.reader import read
from post.replay import replay
from post.timeline import Timeline
from tests.bench.timing import in_turn

BLOCKS = 200_000
PART = 5_000
"""Blocks given to the other readers, which take the same time for each."""
ROUNDS = 9
DIALECT = find("longhand").dialect


def main() -> None:
    """Print both ratios and the memory."""
    text, part, remarked = long_text(BLOCKS), long_text(PART), long_text(PART, " (over bore {0})")
    beside = in_turn(lambda: ours(part), lambda: _pygcode(part), ROUNDS)
    remarks = in_turn(lambda: ours(remarked), lambda: _pygcode(remarked), ROUNDS)
    parsed = in_turn(lambda: ours(part), lambda: list(parse_gcode_lines(part)), ROUNDS)
    long = in_turn(lambda: ours(text), lambda: ours(part), 3, scale=BLOCKS / PART)
    print(f"read + replay              {beside.seconds / PART * 1e6:7.2f} us a block")
    print(f"  pygcode, the same        {beside.times:7.1f} times that")
    print(f"  and with a remark a line {remarks.times:6.1f} times {remarks.seconds / PART * 1e6:.2f} us")
    print(f"  gcodeparser, parse only  {parsed.times:7.1f} times that")
    print(f"  {BLOCKS:,} blocks           {1 / long.times:7.2f} of what they would cost by {PART:,}")
    gc.collect()
    tracemalloc.start()
    timeline = ours(text)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    print(f"  peak memory              {peak / timeline.blocks:7.0f} bytes a block")


def ours(text: str) -> Timeline:
    """What the machine does under a program."""
    return replay(read(text, DIALECT), DIALECT)


def long_text(blocks: int, remark: str = "") -> str:
    """A program of so many blocks, no two of which are the same, perhaps with a remark behind each."""
    lines = ["G21 G17 G40 G49 G61 G80", "G90 G94 G54", "G0 X0.000 Y0.000 Z160.000", "S760 M4"]
    moves = ("G1 X{0:.3f} Y0.000 Z0.000 F38.050", "G0 X{0:.3f} Y0.000 Z160.000")
    lines += [(moves[number % 2] + remark).format(-number * 0.004) for number in range(blocks - len(lines) - 1)]
    return "\n".join([*lines, "M30", ""])


def _pygcode(text: str) -> None:
    machine = Machine()
    for line in text.splitlines()[:-1]:
        machine.process_block(Line(line).block)


if __name__ == "__main__":
    main()
