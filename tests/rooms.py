"""Jobs with room to be told, and what came near to what on each move: for the tests of clearance."""

from typing import Any, Final

from gen.job import Job
from gen.proof import Verdict
from tests.jobs import Data, make_job
from tests.programs import posted, verdict_of

BORE: Final = {"name": "1", "face": 0, "width": 34, "diameter": 84.0}
"""The cutter goes from X 3 to -36.5; the metal is from 0 to -34."""
BLOCK: Final = {"y": [-130, 130], "z": [-120, 100], "hole": 83.2}
BODY: Final = {"length": 70, "width": 90, "above": 60, "below": 45}
FAR: Final = {"y": [500, 510], "z": [-10, 10], "x": [-10, 10]}
"""Where a box is out of reach."""

Approach = tuple[float, str, str]


def room_job(**changes: Any) -> Job:
    """One bore in a block, bar 50 and cutter 84 without a head, up and down at Z 180; with changes."""
    plain: Data = {
        "path": {"clearance_height": 180},
        "block": BLOCK,
        "bore": [BORE],
    }
    for name, change in changes.items():
        both = isinstance(change, dict) and isinstance(plain.get(name), dict)
        plain[name] = {**plain[name], **change} if both else change
    return make_job(**plain)


def box(name: str, x: list[float], y: list[float], z: list[float], turned: float | None = None) -> Data:
    """An obstacle of a job."""
    return {"name": name, "x": x, "y": y, "z": z, **({} if turned is None else {"turned": turned})}


def proof(job: Job, post: str = "longhand", *, walk: bool = False) -> Verdict:
    """The proof of a job's own program; what comes too close may be found, and nothing else."""
    verdict = verdict_of(job, posted(job, post, walk=walk), post, walk=walk)
    assert {finding.rule for finding in verdict.findings} <= {"too-close"}
    return verdict


def approaches(job: Job, post: str = "longhand", *, walk: bool = False) -> list[Approach | None]:
    """The nearest approach of each judged move, in order; None where nothing is near."""
    found = proof(job, post, walk=walk).clearance
    assert found is not None
    nears = [found.nearest.get(move) for move in range(len(found.moves))]
    return [None if near is None else (round(near.distance, 9), near.part, near.obstacle) for near in nears]


def closest_by_why(job: Job, *, walk: bool = False) -> dict[str, Approach]:
    """The nearest approach of all moves that do the same, by what they do."""
    found = proof(job, walk=walk).clearance
    assert found is not None
    by_why: dict[str, Approach] = {}
    for near in sorted(found.nearest.values()):
        by_why.setdefault(found.why(job, near), (round(near.distance, 9), near.part, near.obstacle))
    return by_why
