"""What a proof of a job does not look at, in words; told wherever a verdict is told, so that none is implied."""

from collections.abc import Iterator
from typing import Final

from gen.job import Job
from gen.planner import slanted_lift, slanted_way
from post.dialect import Dialect

UNCHECKED: Final = (
    "whether head, bar and cutter clear the block and its fixtures: the job gives no dimensions of them",
    "whether the bores lie on one line, and what size the cutter is set to",
)
"""What is not looked at where a job tells nothing that takes room."""


STRAIGHT: Final = "whether rapids run straight in all axes at once, no dogleg"
"""What is not looked at where rapids below the clearance height move two axes at once.

The replay takes them for straight, as RS-274/NGC has them (NISTIR 6556, 3.5.1); not every control does.
"""

INDICATOR: Final = "an indicator on the bar: it must be off whenever the head moves"
"""What is not looked at in a walk-through."""


BARE: Final = "which program is in the control: none bears a remark, so go by its number or file, and by the sheet"
"""What is not looked at where a control takes no comments."""


def unchecked(job: Job, dialect: Dialect, *, walk: bool = False) -> tuple[str, ...]:
    """The gaps in a proof of this job under a dialect, bored or walked through."""
    gaps = (*_clearance_gaps(job), UNCHECKED[-1]) if takes_room(job) else UNCHECKED
    if slanted_way(job, dialect) or (slanted_lift(job, dialect) and not walk):
        gaps = (*gaps, STRAIGHT)
    if walk:
        gaps = (*gaps, INDICATOR)
    if dialect.comments.form == "none":
        gaps = (*gaps, BARE)
    if not dialect.on_trust:
        return gaps
    return (*gaps, f"what {', '.join(sorted(dialect.on_trust))} does: the post says that it changes no motion")


def takes_room(job: Job) -> bool:
    """Whether the job tells of anything that something could come too close to."""
    has_bulkheads = job.block is not None or any(bore.bulkhead_z for bore in job.bore)
    return has_bulkheads or bool(job.obstacle)


def _clearance_gaps(job: Job) -> Iterator[str]:
    head = job.head
    if head.reach is None:
        yield "whether bar and head clear the block: the job gives no head.reach; only the cutter was looked at"
    elif head.body is None:
        yield "whether the head's body clears the block: the job gives no head.body"
    elif head.stem is None:
        yield "whether the column up to the spindle clears the block: the job gives no head.stem"
    if job.block is None and not all(bore.bulkhead_z for bore in job.bore):
        yield "whether anything clears the bulkheads: the job gives no [block]"
    if not job.obstacle:
        yield "pan rails, skirts, bosses, bolts, fixtures and table: the job names no [[obstacle]]"
