"""A worked program, with what the control will do beside each block."""

from collections.abc import Iterator, Sequence
from typing import Final

from gen.pipeline import Task, program_texts
from post.reader import read
from post.replay import replay
from post.telling import Told, tell

WIDEST: Final = 46
"""Columns of a program's text; where a block is longer, the words stand on the next line."""


def explain(task: Task) -> tuple[str, bool]:
    """The programs of a task, block by block, each with a replay in words; and whether all could be interpreted.

    Raises InputError as posting does.
    """
    dialect, machine = task.post.dialect, task.job.machine
    zero = (machine.zero.x, machine.zero.y, machine.zero.z)
    parts, understood = [], True
    for text in program_texts(task):
        blocks = list(read(text, dialect))
        timeline = replay(blocks, dialect, zero=zero, work_offset=machine.work_offset)
        understood = understood and not timeline.findings
        parts.append("\n".join(_lines(tell(blocks, timeline, dialect))))
    return "\n\n".join(parts), understood


def _lines(told: Sequence[Told]) -> Iterator[str]:
    width = min(WIDEST, max((len(block.text.strip()) for block in told), default=0))
    digits = max((len(str(block.line)) for block in told), default=0)
    for block in told:
        text, number = block.text.strip(), f"{block.line:>{digits}}"
        if not block.words:
            yield f"{number}  {text}"
        elif len(text) <= width:
            yield f"{number}  {text:<{width}}  | {block.words}"
        else:
            yield f"{number}  {text}"
            yield f"{'':<{digits + width + 4}}| {block.words}"
