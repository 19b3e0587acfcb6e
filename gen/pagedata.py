"""What the page of a program shows, as data: the replay behind a verdict in columns, and the words of every block.

Everything comes from the timeline that was judged, read back from the text, never from the plan. Lengths are mm, feeds
mm/min, times s, speeds rev/min. Lines count from 1 through all programs; ``starts`` tells what each counts from.
"""

import math
import re
from collections.abc import Iterator, Sequence
from typing import Any, Final, NamedTuple

from gen.header import fingerprint
from gen.job import Job
from gen.packed import Column, integers, numbers, texts
from gen.passes import SAME_MM, aim_mm, pass_plan, wall_mm
from gen.physics import Stroke, Strokes
from gen.pipeline import Task
from gen.proof import Verdict
from gen.row import housings
from gen.settingwords import setting_message
from gen.summary import move_s
from post.dialect import Dialect
from post.motion import Sense
from post.reader import read
from post.replay import replay
from post.telling import tell
from post.timeline import STOPPED, End, Event, Halt, Move, OffsetChange, Point, Spin, SpinChange, Wait

RAPID, FEED, WAIT, HALT, TURN, OFFSET, END = range(7)
"""Kinds of event."""
KINDS: Final = {Wait: WAIT, Halt: HALT, SpinChange: TURN, OffsetChange: OFFSET, End: END}
AIR, BEGUN, DONE = range(3)
"""What a pass makes of a bore."""
MOST_FINDINGS: Final = 5000
"""Findings the replay knows; a program that is wrong all through has one a block."""
NOWHERE: Final[Point] = (math.nan, math.nan, math.nan)
NUMBER: Final = re.compile(r"(-?\d+(?:\.\d+)?)")


def page_data(task: Task, programs: Sequence[str], verdict: Verdict, *, physics_only: bool = False) -> dict[str, Any]:
    """Everything the script of a page needs, ready for JSON. ``programs`` are the texts the verdict is about."""
    job, joined = task.job, verdict.joined
    return {
        "job": job.name,
        "units": job.units,
        "post": task.post.name,
        "fingerprint": fingerprint(job, task.post, walk=task.walk),
        "walk": task.walk,
        "proved": verdict.proved,
        "physicsOnly": physics_only,
        "understood": bool(verdict.travel),
        "zero": [job.machine.zero.x, job.machine.zero.y, job.machine.zero.z],
        "rapid": [job.machine.rapid.x, job.machine.rapid.y, job.machine.rapid.z],
        "workOffset": job.machine.work_offset,
        "way": job.direction,
        "ratio": job.head.ratio,
        "reverses": job.head.reverses,
        "starts": list(joined.starts),
        "lines": texts(joined.lines),
        "lineCount": len(joined.lines),
        "words": _words(task, programs, joined.starts, len(joined.lines)),
        "events": _events(job, joined.continued.events),
        "halts": list(_halts(task, verdict)),
        "near": _near(job, verdict),
        "strokes": _strokes(job, verdict.strokes),
        "bores": _bores(job, verdict),
        "findings": [
            {
                "rule": finding.rule,
                "program": finding.program,
                "line": finding.line,
                "at": joined.starts[finding.program - 1] + finding.line if finding.line else 0,
                "message": finding.message,
            }
            for finding in verdict.findings[:MOST_FINDINGS]
        ],
    }


def _words(task: Task, programs: Sequence[str], starts: Sequence[int], lines: int) -> dict[str, Any]:
    """What the control does at every line: a sentence without its numbers, and the numbers, which makes it short."""
    job = task.job
    zero = (job.machine.zero.x, job.machine.zero.y, job.machine.zero.z)
    told = [""] * lines
    for text, start in zip(programs, starts, strict=True):
        for line, words in _told(text, task.post.dialect, zero, job.machine.work_offset):
            told[start + line - 1] = words
    pieces = [NUMBER.split(words) for words in told]
    return {
        "pattern": texts([tuple(parts[::2]) for parts in pieces]),
        "numbers": texts([" ".join(parts[1::2]) for parts in pieces]),
    }


def _told(text: str, dialect: Dialect, zero: Point, work_offset: str) -> Iterator[tuple[int, str]]:
    blocks = list(read(text, dialect))
    timeline = replay(iter(blocks), dialect, zero=zero, work_offset=work_offset)
    return ((told.line, told.words) for told in tell(blocks, timeline, dialect))


class _Row(NamedTuple):
    """One event as the page has it: where it ends, and the spindle while it lasts; an end stops it."""

    line: int
    kind: int
    seconds: float
    end: Point
    feed: float
    spin: Spin


def _events(job: Job, events: Sequence[Event]) -> dict[str, Any]:
    """The events as columns. An event begins where the one before ends, but for those in ``breaks``."""
    rows = list(_rows(job, events))
    return {
        "line": integers([row.line for row in rows]),
        "kind": integers([row.kind for row in rows]),
        "seconds": numbers((row.seconds for row in rows), 9),
        **{axis: numbers(row.end[index] for row in rows) for index, axis in enumerate("xyz")},
        "feed": numbers(row.feed for row in rows),
        "rpm": numbers(row.spin.rpm for row in rows),
        "sense": integers([_sense(row.spin) for row in rows]),
        "breaks": [[number, *map(_known, start)] for number, start in _breaks(events)],
    }


def _breaks(events: Sequence[Event]) -> Iterator[tuple[int, Point]]:
    """Moves that do not begin where the move before ended, and where they do."""
    here = NOWHERE
    for number, event in enumerate(events):
        if isinstance(event, Move):
            if not _alike(event.start, here):
                yield number, event.start
            here = event.end


def _rows(job: Job, events: Sequence[Event]) -> Iterator[_Row]:
    rates = (job.machine.rapid.x, job.machine.rapid.y, job.machine.rapid.z)
    here, spin = NOWHERE, STOPPED
    for event in events:
        feed, seconds, kind = math.nan, 0.0, KINDS.get(type(event), RAPID)
        if not isinstance(event, OffsetChange):
            spin = event.spin
        if isinstance(event, Move):
            here, seconds = event.end, move_s(event, rates)
            if event.feed is not None:
                kind, feed = FEED, event.feed
        elif isinstance(event, Wait):
            seconds = event.seconds
        elif isinstance(event, End):
            spin = STOPPED
        yield _Row(event.line, kind, seconds, here, feed, spin)


def _alike(one: Point, other: Point) -> bool:
    return all(a == b or (math.isnan(a) and math.isnan(b)) for a, b in zip(one, other, strict=True))


def _known(value: float) -> float | None:
    return None if math.isnan(value) else round(value, 6)


def _sense(spin: Spin) -> int:
    """0 standing, 1 clockwise, -1 counterclockwise."""
    return 0 if spin.sense is None else 1 if spin.sense is Sense.CLOCKWISE else -1


def _halts(task: Task, verdict: Verdict) -> Iterator[list[Any]]:
    """Event, message and "optional" of every stop; between programs, which comes next and what to do before it."""
    starts = verdict.joined.starts
    settings = pass_plan(task.job) if len(task.plans) == len(starts) > 1 else []
    program = 1
    for number, event in enumerate(verdict.joined.continued.events):
        if not isinstance(event, Halt):
            continue
        message = event.message
        if not message and program < len(starts) and event.line == starts[program] and not event.optional:
            program += 1
            message = f"program {program - 1} is over; next is program {program} of {len(starts)}"
            if settings:
                message += f": {setting_message(task.job, settings[program - 1])}"
        yield [number, message, event.optional]


def _near(job: Job, verdict: Verdict) -> dict[str, Any] | None:
    """The nearest approach of every move that was judged; None where the job tells of nothing to be near to."""
    found = verdict.clearance
    if found is None:
        return None
    events = verdict.joined.continued.events
    # As gen.clearance counts the moves it judges.
    judged = [
        number
        for number, event in enumerate(events)
        if isinstance(event, Move) and not any(map(math.isnan, event.start + event.end))
    ]
    near = [found.nearest[move] for move in sorted(found.nearest)]
    return {
        "limit": job.path.clearance,
        "event": integers([judged[one.move] for one in near]),
        "distance": numbers(one.distance for one in near),
        "pair": texts([(one.part, one.obstacle) for one in near]),
    }


def _strokes(job: Job, strokes: Strokes) -> dict[str, Column]:
    """Which moves work in which bore, the diameter the cutter is set to, and the stage a pass at that brings it to."""
    numbered = sorted(strokes.items())
    return {
        "event": integers([number for number, _ in numbered]),
        "bore": integers([stroke.bore for _, stroke in numbered]),
        "diameter": numbers(stroke.diameter_mm for _, stroke in numbered),
        "stage": integers([_stage(job, stroke) for _, stroke in numbered]),
    }


def _stage(job: Job, stroke: Stroke) -> int:
    """What a pass makes of its bore: AIR cuts nothing, BEGUN cuts it, DONE is its last."""
    bore = job.bore[stroke.bore]
    if abs(stroke.diameter_mm - aim_mm(job, bore)) < SAME_MM:
        return DONE
    wall = wall_mm(job, bore) if job.passes is not None else None
    return AIR if wall is not None and stroke.diameter_mm <= wall[0] else BEGUN


def _bores(job: Job, verdict: Verdict) -> list[dict[str, Any]]:
    """The bores with the event of their first cut; None where there is none."""
    events = verdict.joined.continued.events
    first: dict[int, int] = {}
    for number, stroke in sorted(verdict.strokes.items()):
        move = events[number]
        forward = isinstance(move, Move) and move.feed is not None and (move.end[0] - move.start[0]) * job.direction > 0
        if forward and _stage(job, stroke) != AIR:
            first.setdefault(stroke.bore, number)
    return [
        {
            "name": housing.bore.name,
            "start": round(housing.start_x, 6),
            "near": round(housing.near_x, 6),
            "far": round(housing.far_x, 6),
            "end": round(housing.end_x, 6),
            "diameter": round(housing.bore.diameter, 6),
            "first": first.get(index),
        }
        for index, housing in enumerate(housings(job))
    ]
