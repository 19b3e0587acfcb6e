"""The proof of a program: read, read again, replayed, held against plan, machine and row.

Two halves, both always run. *Agreement* (``gen.agreement``) asks whether the replayed timeline is the plan; it needs a
plan, which a program edited by hand may do without. *Physics* (``gen.physics`` or ``gen.walk``, ``gen.travel``,
``gen.clearance``) asks whether what the program does is safe and whole, from the timeline and the job alone. A program
that cannot be read without question is judged no further.
"""

import math
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import repeat
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, NamedTuple

from gen import agreement, physics, second, walk
from gen.job import Job
from gen.joined import Joined, join
from gen.remarks import remarks
from gen.travel import AxisTravel, over_travel, travel
from gen.unchecked import takes_room
from post.dialect import Dialect
from post.finding import Finding
from post.motion import Plan
from post.reader import Block, read
from post.replay import replay
from post.standard import GROUP_OF
from post.timeline import Move, Timeline

if TYPE_CHECKING:
    from gen.clearance import Clearance

READ_TWICE_UP_TO: Final = 20_000
"""Blocks up to which the second reading is made unasked; it takes about a tenth of a millisecond a block."""
TOO_LONG: Final = f"the program has more than {READ_TWICE_UP_TO} blocks; ask for it with --read-twice"


class Verdict(NamedTuple):
    """What a proof found.

    ``read_twice`` counts the blocks that a second, independent reader read the same; ``read_once`` gives the reasons
    why others were not, and how many. ``travel`` is empty when the program could not be read. ``clearance`` is None
    then, and where the job tells of nothing that takes room. ``strokes`` are the moves of the timeline that work in a
    bore, by the number of their event; none of a walk-through.
    """

    findings: tuple[Finding, ...]
    joined: Joined
    travel: Mapping[str, AxisTravel]
    read_twice: int
    read_once: Mapping[str, int]
    clearance: "Clearance | None" = None
    strokes: physics.Strokes = MappingProxyType({})

    @property
    def timeline(self) -> Timeline:
        """What the machine does, all programs run one after the other."""
        return self.joined.timeline

    @property
    def proved(self) -> bool:
        """Whether nothing was found."""
        return not self.findings


def prove(
    programs: Sequence[str],
    job: Job,
    dialect: Dialect,
    *,
    plans: Sequence[Plan] | None,
    walk_through: bool = False,
    read_twice: bool = False,
    advance: Callable[[int], None] | None = None,
) -> Verdict:
    """Prove the program of a job under a dialect, or the programs that are run for it one after the other.

    ``plans`` are what each should do, or None to judge physics alone. ``read_twice`` asks for the second reading
    whatever the length; ``advance`` is called with the number of blocks read again.
    """
    readings = [_read(text, job, dialect, read_twice) for text in programs]
    joined = join([(reading.lines, reading.timeline) for reading in readings])
    refused = [
        finding._replace(program=number)
        for number, reading in enumerate(readings, 1)
        for finding in reading.timeline.findings
    ]
    if refused:
        return Verdict(tuple(refused), joined, {}, 0, {})
    differing: list[Finding] = []
    twice, once = 0, Counter[str]()
    for number, (reading, plan) in enumerate(zip(readings, plans or repeat(None, len(readings)), strict=True), 1):
        again = _again(reading, dialect, read_twice, advance)
        twice += again.read_twice
        once.update(again.read_once)
        found = [*again.findings, *_left_over(reading.timeline, dialect, reading.lines)]
        found += _let_go(reading.timeline, dialect, reading.lines)
        found += _unshifted(reading.timeline, reading.lines, None if plan is not None else job.path.clearance_height)
        if plan is not None:
            found += agreement.agree(plan, reading.timeline, dialect, reading.lines)
            found += remarks(
                reading.remarked, job, dialect, walk_through=walk_through, part=number, parts=len(programs)
            )
        differing += (finding._replace(program=number) for finding in found)
    judged, strokes = _judge(job, joined.timeline, dialect, joined.lines, walk_through)
    near, crowded = _room(job, joined.continued, strokes, joined.lines)
    unsafe = map(joined.placed, (*judged, *over_travel(job, joined.continued, joined.lines), *crowded))
    told = {(finding.rule, finding.program, finding.line) for finding in differing}
    differing += (finding for finding in unsafe if (finding.rule, finding.program, finding.line) not in told)
    findings = tuple(sorted(differing, key=lambda finding: (finding.program, finding.line)))
    return Verdict(findings, joined, travel(job, joined.continued), twice, dict(once), near, strokes)


class _Reading(NamedTuple):
    """One program read: its lines, its blocks as far as they are read twice, and what it does.

    ``remarked`` are the blocks with a comment, and the first with words.
    """

    lines: list[str]
    blocks: list[Block]
    remarked: list[Block]
    timeline: Timeline


def _read(text: str, job: Job, dialect: Dialect, read_twice: bool) -> _Reading:
    lines = text.replace("\r\n", "\n").removesuffix("\n").split("\n")
    zero = (job.machine.zero.x, job.machine.zero.y, job.machine.zero.z)
    kept: list[Block] = []
    remarked: list[Block] = []
    blocks = _keeping(read(text, dialect), kept, remarked, None if read_twice else READ_TWICE_UP_TO)
    return _Reading(lines, kept, remarked, replay(blocks, dialect, zero=zero, work_offset=job.machine.work_offset))


def _again(
    reading: _Reading, dialect: Dialect, read_twice: bool, advance: Callable[[int], None] | None
) -> second.SecondReading:
    if reading.timeline.blocks > READ_TWICE_UP_TO and not read_twice:
        return second.SecondReading((), 0, {TOO_LONG: reading.timeline.blocks})
    return second.read_again(reading.blocks, reading.timeline, dialect, advance=advance)


_SPINDLE: Final = "M3 or M4 or M5 or M19"
"""Codes that state what the spindle does, which every program must before it moves."""


def _left_over(timeline: Timeline, dialect: Dialect, lines: list[str]) -> list[Finding]:
    """A finding at the first move for each code that must be stated before it.

    What is not stated anew is as the program before has left it in the control.
    """
    line = next((event.line for event in timeline.events if isinstance(event, Move)), None)
    return [
        Finding("state-assumed", line, lines[line - 1], f"the first move with no {codes} stated", f"{codes} before it")
        for codes in (*dialect.opening, _SPINDLE)
        if line is not None and timeline.stated_first.isdisjoint(codes.split(" or "))
    ]


def _let_go(timeline: Timeline, dialect: Dialect, lines: list[str]) -> Iterator[Finding]:
    """A finding for each code that undoes what the opening must state, as G64 behind G61."""
    for codes in dialect.opening:
        kept, stated = codes.split(" or "), False
        for line, code in timeline.states:
            if code in kept:
                stated = True
            elif stated and GROUP_OF[code] == GROUP_OF.get(kept[0]):
                yield Finding("state-assumed", line, lines[line - 1], f"{code} is stated", f"{codes} all through")


def _unshifted(timeline: Timeline, lines: list[str], above: float | None) -> Iterator[Finding]:
    """A finding for each move in machine coordinates, but for those all above a height, Z in mm.

    A dry run with the work zero raised, and a zero touched off anew, leave it where it was.
    """
    of_machine = set(timeline.by_machine)
    for event in timeline.events if of_machine else ():
        if isinstance(event, Move) and event.line in of_machine:
            of_machine.discard(event.line)
            heights = [z for z in (event.start[2], event.end[2]) if not math.isnan(z)]
            if above is None or min(heights, default=-math.inf) < above:
                found = "a move in machine coordinates, G53, which a raised work zero does not raise"
                expected = "moves from the work zero"
                if above is None:
                    expected += "; put a move home in by hand, and prove with --physics-only"
                yield Finding("offset-differs", event.line, lines[event.line - 1], found, expected)


def _judge(
    job: Job, timeline: Timeline, dialect: Dialect, lines: list[str], walk_through: bool
) -> tuple[list[Finding], physics.Strokes]:
    if walk_through:
        return walk.judge_walk(job, timeline, dialect, lines), {}
    return physics.follow(job, timeline, dialect, lines)


def _room(
    job: Job, timeline: Timeline, strokes: physics.Strokes, lines: list[str]
) -> "tuple[Clearance | None, list[Finding]]":
    if not takes_room(job):
        return None, []
    from gen.clearance import clearance, too_close

    found = clearance(job, timeline, strokes)
    return found, too_close(job, found, lines)


def _keeping(blocks: Iterator[Block], kept: list[Block], remarked: list[Block], most: int | None) -> Iterator[Block]:
    """Pass blocks on, keeping the remarked, and those with words until there are more than ``most``; None keeps all."""
    for block in blocks:
        if block.comment is not None or (block.words and not kept):
            remarked.append(block)
        if block.words and (most is None or len(kept) <= most):
            kept.append(block)
        yield block
