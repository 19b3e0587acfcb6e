"""For tests of fit and angle: a job whose head and block have dimensions, and the same mirrored."""

from typing import Any, Final

from gen.job import Job
from tests.jobs import JOB_TEXT, job_data, job_of

BODY: Final = {"length": 70, "width": 90, "above": 60, "below": 45}
HEAD: Final = {
    "reach": 60,
    "body": BODY,
    "stem": {"back": 5, "length": 60, "width": 70},
}
BLOCK: Final = {"y": [-130, 130], "z": [-120, 100], "hole": 83.2}
RAIL: Final = {"name": "rail", "x": [-700, 60], "y": [-160, -135], "z": [60, 110]}
BORES: Final = [
    {"name": "1", "face": 0, "width": 34, "diameter": 84.0},
    {"name": "2", "face": -190, "width": 28, "diameter": 84.0},
    {"name": "3", "face": -380, "width": 34, "diameter": 84.0},
]


def space_data(**changes: Any) -> dict[str, Any]:
    """Data of the job, with changes as ``tests.jobs.job_data`` takes them."""
    data = job_data(JOB_TEXT, head=HEAD, block=BLOCK, obstacle=[RAIL], bore=BORES, path={"clearance_height": 180})
    for name, change in changes.items():
        data[name] = {**data[name], **change} if isinstance(change, dict) else change
    return data


def with_space(**changes: Any) -> Job:
    """Head pointing -X, limit 2 mm, approach 3, overrun 2.5; bays: open, 190 - 34 = 156, 190 - 28 = 162 mm."""
    return job_of(space_data(**changes))


JOB: Final = with_space()


def mirrored(job: Job) -> Job:
    """The job with +Y for -Y: obstacles, bulkheads and bumps; turned boxes turn the other way."""

    def swap(extent: tuple[float, float]) -> tuple[float, float]:
        return -extent[1], -extent[0]

    obstacles = tuple(one.model_copy(update={"y": swap(one.y), "turned": -one.turned}) for one in job.obstacle)
    bumps = tuple(bump.model_copy(update={"y": swap(bump.y)}) for bump in job.head.bump)
    block = None if job.block is None else job.block.model_copy(update={"y": swap(job.block.y)})
    head = job.head.model_copy(update={"bump": bumps})
    return job.model_copy(update={"obstacle": obstacles, "head": head, "block": block})
