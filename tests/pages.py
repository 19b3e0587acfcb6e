"""The data of a page, taken out of its columns again by other means than the page's script."""

import json
import math
import re
import struct
from base64 import b64decode
from collections.abc import Sequence
from typing import Any, Final, NamedTuple

from gen.job import Job
from gen.page import page
from gen.pagedata import page_data
from gen.pipeline import Task, program_texts, prove_texts
from gen.proof import Verdict
from post.timeline import STOPPED, End, Move, OffsetChange, Point, Spin
from post.units import MM_PER, Units
from tests.programs import task_of

FORMAT: Final = {"f8": "d", "i4": "i", "u1": "B", "u2": "H"}


def values(column: dict[str, Any]) -> list[Any]:
    """What a column holds."""
    (width,) = column.keys() & FORMAT.keys()
    raw = b64decode(column[width])
    size = struct.calcsize(f"<{FORMAT[width]}")
    found = list(struct.unpack(f"<{len(raw) // size}{FORMAT[width]}", raw))
    if "of" not in column:
        return found
    table = values(column["of"]) if isinstance(column["of"], dict) else column["of"]
    return [table[place] for place in found]


def words(data: dict[str, Any]) -> list[str]:
    """What the control does at every line."""
    told = []
    for pieces, figures in zip(values(data["words"]["pattern"]), values(data["words"]["numbers"]), strict=True):
        numbers = figures.split(" ") if figures else []
        told.append("".join(a + b for a, b in zip(pieces, [*numbers, ""], strict=True)))
    return told


class Judged(NamedTuple):
    """A task, its programs, and what was found."""

    task: Task
    texts: list[str]
    verdict: Verdict

    def data(self, *, physics_only: bool = False) -> dict[str, Any]:
        """What its page is made of."""
        return page_data(self.task, self.texts, self.verdict, physics_only=physics_only)

    def html(self, *, physics_only: bool = False, line: dict[str, Any] | None = None) -> str:
        """Its page."""
        return page(self.task, self.texts, self.verdict, physics_only=physics_only, line=line)


def judged(task: Task, texts: Sequence[str] | None = None, *, physics_only: bool = False) -> Judged:
    """A task with these programs, or with its own."""
    programs = list(texts or program_texts(task))
    return Judged(task, programs, prove_texts(task, programs, physics_only=physics_only, read_twice=False))


def judged_job(job: Job, post_name: str = "longhand", *, walk: bool = False) -> Judged:
    """A job with its own programs."""
    return judged(task_of(job, post_name, walk=walk))


def embedded_data(html: str) -> Any:
    """The data in a page, as a browser would find it."""
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', html, re.DOTALL)
    assert found is not None
    return json.loads(found[1])


class Shown(NamedTuple):
    """What a page must show when a block is done; ``feed`` is None where its last event is no feed move."""

    line: int
    at: Point
    spin: Spin
    feed: float | None


def shown_at_blocks(verdict: Verdict) -> list[Shown]:
    """The machine as each line that does something leaves it."""
    at: Point = (math.nan, math.nan, math.nan)
    spin, found = STOPPED, dict[int, Shown]()
    for event in verdict.joined.continued.events:
        feed = None
        if isinstance(event, Move):
            at, feed = event.end, event.feed
        if isinstance(event, End):
            spin = STOPPED
        elif not isinstance(event, OffsetChange):
            spin = event.spin
        found[event.line] = Shown(event.line, at, spin, feed)
    return list(found.values())


def as_shown(length_mm: float, units: Units) -> str:
    """A coordinate as the readout has it."""
    if math.isnan(length_mm):
        return "not known"
    text = f"{length_mm / MM_PER[units]:.{3 if units == 'mm' else 4}f}"
    return text if float(text) else text.removeprefix("-")
