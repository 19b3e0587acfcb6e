"""The proof of a program: read, read again, replayed, held against plan, machine and row.

Two halves, both always run. *Agreement* (``gen.agreement``) asks whether the replayed timeline is the plan; it needs a
plan, which a program edited by hand may do without. *Physics* (``gen.physics`` or ``gen.walk``, ``gen.travel``) asks
whether what the program does is safe and whole, from the timeline and the job alone. A program that cannot be read
without question is judged no further.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Final, NamedTuple

from gen import agreement, physics, second, walk
from gen.job import Job
from gen.travel import AxisTravel, over_travel, travel
from post.dialect import Dialect
from post.finding import Finding
from post.motion import Plan
from post.reader import Block, read
from post.replay import replay
from post.timeline import Timeline

READ_TWICE_UP_TO: Final = 20_000
"""Blocks up to which the second reading is made unasked; it takes about a tenth of a millisecond a block."""
TOO_LONG: Final = f"the program has more than {READ_TWICE_UP_TO} blocks; ask for it with --read-twice"


class Verdict(NamedTuple):
    """What a proof found.

    ``read_twice`` counts the blocks that a second, independent reader read the same; ``read_once`` gives the reasons
    why others were not, and how many. ``travel`` is empty when the program could not be read.
    """

    findings: tuple[Finding, ...]
    timeline: Timeline
    travel: Mapping[str, AxisTravel]
    read_twice: int
    read_once: Mapping[str, int]

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
    judge = walk.judge_walk if walk_through else physics.judge
    told = {(finding.rule, finding.line) for finding in differing}
    unsafe = [
        finding
        for finding in (*judge(job, timeline, dialect, lines), *over_travel(job, timeline, lines))
        if (finding.rule, finding.line) not in told
    ]
    findings = tuple(sorted(differing + unsafe, key=lambda finding: finding.line))
    return Verdict(findings, timeline, travel(job, timeline), again.read_twice, again.read_once)


def _keeping(blocks: Iterator[Block], kept: list[Block], most: int | None) -> Iterator[Block]:
    """Pass blocks on, keeping those with words until there are more than ``most``; None keeps all."""
    for block in blocks:
        if block.words and (most is None or len(kept) <= most):
            kept.append(block)
        yield block
