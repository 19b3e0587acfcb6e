"""Old wall that a job's last cuts leave, since the bores as they are do not lie about the bore line."""

import math
from collections.abc import Iterator
from typing import Final

from gen.caution import Caution
from gen.job import Job
from gen.passes import aim_mm, wall_mm
from post.units import MM_PER, plain, show_length

SLACK_MM: Final = 1e-6
"""Less than this is the rounding of floats."""


def left_mm(job: Job, index: int) -> float:
    """How far beyond its last cut the farthest wall of a bore lies, on the radius; 0 where no centre is told."""
    bore = job.bore[index]
    wall = wall_mm(job, bore)
    if bore.centre is None or wall is None:
        return 0.0
    left = (wall[1] - aim_mm(job, bore)) / 2
    return left if left > SLACK_MM else 0.0


def old_wall_left(job: Job) -> Iterator[Caution]:
    """A caution where the centres told show the line so far off that a bore does not clean up; the worst is named."""
    left = {index: amount for index in range(len(job.bore)) if (amount := left_mm(job, index))}
    if not left:
        return
    worst = max(left, key=lambda index: left[index])
    bore, units = job.bore[worst], job.units
    assert bore.centre is not None
    more = f" and {len(left) - 1} more" if len(left) > 1 else ""
    side = " ".join(f"{axis}{plain(at / MM_PER[units], 4)}" for axis, at in zip("YZ", bore.centre, strict=True))
    yield Caution(
        f"bore {bore.name}{more}: the last cut, diameter {show_length(aim_mm(job, bore), units)}, leaves old wall on"
        f" the side toward {side}: it lies {show_length(left[worst], units)} farther out than the cutter, as the centre"
        f" is {show_length(math.hypot(*bore.centre), units)} off the bore line",
        "find a line that cleans up every bore with borewright line, move block or zero to it and tell the centres"
        " anew",
    )
