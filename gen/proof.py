"""The proof of a program: read, read again, replayed, held against plan, machine and row.

Two halves, both always run. *Agreement* (``gen.agreement``) asks whether the replayed timeline is the plan; it needs a
plan, which a program edited by hand may do without. *Physics* (``gen.physics`` or ``gen.walk``, ``gen.travel``,
``gen.clearance``) asks whether what the program does is safe and whole, from the timeline and the job alone. A program
that cannot be read without question is judged no further.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Final, NamedTuple

from gen import agreement, physics, second, walk
from gen.job import Job
from gen.travel import AxisTravel, over_travel, travel
from gen.unchecked import takes_room
from post.dialect import Dialect
from post.finding import Finding
from post.motion import Plan
from post.reader import Block, read
from post.replay import replay
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
    then, and where the job tells of nothing that takes room.
    """

    findings: tuple[Finding, ...]
    timeline: Timeline
    travel: Mapping[str, AxisTravel]
    read_twice: int
    read_once: Mapping[str, int]
    clearance: "Clearance | None" = None

    @property
    def proved(self) -> bool:
        """Whether nothing was found."""
        return not self.findings


def prove(
    text: str,
    job: Job,
    dialect: Dialect,
    *,
    plan: Plan | None,
    walk_through: bool = False,
    read_twice: bool = False,
    advance: Callable[[int], None] | None = None,
) -> Verdict:
    """Prove a program for a job under a dialect.

    ``plan`` is what it should do, or None to judge physics alone. ``read_twice`` asks for the second reading whatever
    the program's length; ``advance`` is called with the number of blocks read again.
    """
    lines = text.replace("\r\n", "\n").removesuffix("\n").split("\n")
    zero = (job.machine.zero.x, job.machine.zero.y, job.machine.zero.z)
    kept: list[Block] = []
    blocks = _keeping(read(text, dialect), kept, None if read_twice else READ_TWICE_UP_TO)
    timeline = replay(blocks, dialect, zero=zero, work_offset=job.machine.work_offset)
    if timeline.findings:
        return Verdict(tuple(timeline.findings), timeline, {}, 0, {})
    if timeline.blocks > READ_TWICE_UP_TO and not read_twice:
        again = second.SecondReading((), 0, {TOO_LONG: timeline.blocks})
    else:
        again = second.read_again(kept, timeline, advance=advance)
    differing = [*again.findings, *(agreement.agree(plan, timeline, dialect, lines) if plan is not None else ())]
    differing += _left_over(timeline, lines)
    judged, strokes = _judge(job, timeline, dialect, lines, walk_through)
    near, crowded = _room(job, timeline, strokes, lines)
    told = {(finding.rule, finding.line) for finding in differing}
    unsafe = [
        finding
        for finding in (*judged, *over_travel(job, timeline, lines), *crowded)
        if (finding.rule, finding.line) not in told
    ]
    findings = tuple(sorted(differing + unsafe, key=lambda finding: finding.line))
    return Verdict(findings, timeline, travel(job, timeline), again.read_twice, again.read_once, near)


_STATED_FIRST: Final = (
    (frozenset({"G40"}), "cutter compensation", "G40"),
    (frozenset({"G49"}), "tool length offset", "G49"),
    (frozenset({"G61", "G61.1"}), "path control that keeps corners", "G61 or G61.1"),
    (frozenset({"M3", "M4", "M5", "M19"}), "state of the spindle", "M5"),
)
"""What the program before may have left in the control, and the codes that state it anew."""


def _left_over(timeline: Timeline, lines: list[str]) -> list[Finding]:
    """A finding at the first move for each thing that is left to what the control has kept."""
    line = next((event.line for event in timeline.events if isinstance(event, Move)), None)
    return [
        Finding("state-assumed", line, lines[line - 1], f"the first move with no {what} stated", f"{codes} before it")
        for any_of, what, codes in _STATED_FIRST
        if line is not None and not any_of & timeline.stated_first
    ]


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


def _keeping(blocks: Iterator[Block], kept: list[Block], most: int | None) -> Iterator[Block]:
    """Pass blocks on, keeping those with words until there are more than ``most``; None keeps all."""
    for block in blocks:
        if block.words and (most is None or len(kept) <= most):
            kept.append(block)
        yield block
