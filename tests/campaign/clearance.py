"""Random jobs, written, proved, and held against brute force: ``python -m tests.campaign.clearance [--jobs 2000]``.

No program may be released whose least distance is below the limit or 0, none refused whose distance is above it. Every
third job or so has its limit put within 0.05 mm of its own least distance, above or below. Prints how many were
released, refused, and wrong; exits with 1 when any is wrong.
"""

import argparse
import sys
import time
from collections import Counter
from collections.abc import Callable
from typing import Any, Final, NamedTuple

import numpy as np
from pydantic import ValidationError

from gen.job import Job
from gen.proof import prove
from gen.unchecked import takes_room
from post.posts import find
from post.units import MM_PER
from tests.campaign.brute import STEP_MM, least_distance
from tests.jobs import Data, job_of
from tests.programs import able, all_posted, task_of

TOLERANCE_MM: Final = STEP_MM + 0.005
"""What steps and drawn holes can differ by from the truth."""
TURNED_DOWN: Final = 200
"""Tries at a job before a seed is given up; about one in two is a job that can be."""


class Outcome(NamedTuple):
    """What became of a job: "released", "refused" or "else", and what is wrong with that, "" where nothing is."""

    verdict: str
    wrong: str
    least_mm: float


def check(seed: int) -> Outcome:
    """Make the job of a seed, write and prove its program, and hold the proof against brute force."""
    rng = np.random.default_rng(seed)
    job = random_job(rng)
    post = find(str(rng.choice(able(job))))
    texts = all_posted(job, post.name)
    verdict = prove(texts, job, post.dialect, plans=task_of(job, post.name).plans)
    least, between = least_distance(job, verdict.joined.continued.events)
    if rng.random() < 0.35 and least > 0.1:
        limit = least + float(rng.choice([-1, 1])) * float(rng.uniform(1.5 * TOLERANCE_MM, 0.05))
        job = job.model_copy(update={"path": job.path.model_copy(update={"clearance": limit})})
        verdict = prove(texts, job, post.dialect, plans=task_of(job, post.name).plans)
    rules = {finding.rule for finding in verdict.findings}
    if rules - {"too-close"}:
        return Outcome("else", f"seed {seed}: {sorted(rules)}", least)
    told = verdict.clearance.closest if verdict.clearance else None
    if told is None or abs(told.distance - least) > TOLERANCE_MM:
        return Outcome("else", f"seed {seed}: told {told}, but {least:.4f} between {between}", least)
    limit, name = job.path.clearance, "refused" if rules else "released"
    wrong = least < limit - TOLERANCE_MM if verdict.proved else least > limit + TOLERANCE_MM
    wrong |= verdict.proved and least <= 0 and told.distance <= 0
    told_wrong = f"seed {seed}: {name} at {least:.4f} with limit {limit:.4f}, {between}" if wrong else ""
    return Outcome(name, told_wrong, least)


def random_job(rng: np.random.Generator) -> Job:
    """A job whose head fits its bays by a little, or does not, with things around it; both units, both directions."""
    for _ in range(TURNED_DOWN):
        try:
            job = job_of(_data(_Dice(rng)))
        except ValidationError:
            continue
        if takes_room(job) and able(job):
            return job
    raise AssertionError("no job could be made")


class _Dice:
    """Lengths in the unit of a job, as a person types them."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.units = str(rng.choice(["mm", "mm", "mm", "inch"]))
        self.per = MM_PER["inch" if self.units == "inch" else "mm"]

    def length(self, low_mm: float, high_mm: float) -> float:
        return self.typed(float(self.rng.uniform(low_mm, high_mm)))

    def typed(self, length_mm: float) -> float:
        return round(length_mm / self.per, 2 if self.units == "mm" else 4)

    def extent(self, low: tuple[float, float], long: tuple[float, float]) -> list[float]:
        first = float(self.rng.uniform(*low))
        return [self.typed(first), self.typed(first + float(self.rng.uniform(*long)))]

    def chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)


def _data(dice: _Dice) -> Data:
    rng, typed, length = dice.rng, dice.typed, dice.length
    way, bar = int(rng.choice([1, -1])), float(rng.uniform(30, 60))
    approach, overrun = float(rng.uniform(1, 6)), float(rng.uniform(0, 4))
    widths = [float(rng.uniform(15, 45)) for _ in range(int(rng.integers(1, 4)))]
    reach = approach + overrun + max(widths) + float(rng.uniform(0, 30))
    body = {"length": float(rng.uniform(30, 110)), "width": float(rng.uniform(50, 130))}
    hole = bar + float(rng.uniform(6, 50))
    top, below = hole / 2 + float(rng.uniform(15, 80)), float(rng.uniform(25, 70))
    half = hole / 2 + float(rng.uniform(10, 90))
    diameter, face = hole + float(rng.uniform(0.2, 8)), float(rng.uniform(-100, 100))
    bores: list[Data] = []
    for width in widths:
        diameter = hole + float(rng.uniform(0.2, 8)) if dice.chance(0.4) else diameter
        bores.append({"face": typed(face), "width": typed(width), "diameter": typed(diameter)})
        face += way * (width + reach + body["length"] + approach + float(rng.uniform(-4, 40)))
    for bore in bores:
        _own(dice, bore, hole, half, top)
    withdraw = str(rng.choice(["feed", "still", "lift"]))
    path: Data = {
        "clearance_height": typed(top + below + float(rng.uniform(-1, 60))),
        "leave_angle": 0 if dice.chance(0.5) else round(float(rng.uniform(-40, 40)), 1),
        "approach": typed(approach),
        "overrun": typed(overrun),
        "withdraw": withdraw,
    }
    if withdraw == "lift":
        toward = rng.choice(["+Y", "-Y", "+Z", "-Z"]) if dice.chance(0.7) else None
        way_off = str(toward) if toward is not None else round(float(rng.uniform(-180, 180)), 1)
        path["lift"] = {"amount": length(0.1, 2.5), "toward": way_off, "angle": round(float(rng.uniform(0, 359)), 1)}
    if dice.chance(0.7):
        path["clearance"] = 0 if dice.chance(0.1) else length(0, 4)
    end = typed(3000)
    data: Data = {
        "name": "Any",
        "units": dice.units,
        "machine": {
            "travel": {axis: [-end, end] for axis in "xyz"},
            "zero": {"x": 0, "y": 0, "z": 0},
            "spindle_rpm": [1, 8000],
            "rapid": dict.fromkeys("xyz", typed(9000)),
            "max_feed": typed(9000),
        },
        "head": _head(dice, way, reach, body, below),
        "bar": {"diameter": typed(bar), "hand": "right"},
        "cut": {"rpm": 300, "feed": typed(0.2)},
        "path": path,
        "obstacle": [_obstacle(dice, number, bores, half, top) for number in range(int(rng.integers(0, 4)))],
        "bore": bores,
    }
    if dice.chance(0.9):
        data["block"] = {
            "y": [typed(-half), typed(half + float(rng.uniform(0, 40)))],
            "z": [typed(-half - float(rng.uniform(0, 40))), typed(top)],
            "hole": typed(hole),
        }
    return data


def _own(dice: _Dice, bore: Data, hole: float, half: float, top: float) -> None:
    """What a bore may have in place of the block's."""
    if dice.chance(0.2):
        bore["hole"] = dice.typed(hole - float(dice.rng.uniform(0, 4)))
    if dice.chance(0.2):
        bore["bulkhead_y"] = [dice.typed(-half - 3), dice.typed(half)]
        bore["bulkhead_z"] = [dice.typed(-half), dice.typed(top - float(dice.rng.uniform(0, 10)))]
        bore["hole"] = bore.get("hole", dice.typed(hole))


def _head(dice: _Dice, way: int, reach: float, body: dict[str, float], below: float) -> Data:
    typed, length = dice.typed, dice.length
    head: Data = {"points": "+X" if way > 0 else "-X", "ratio": 1.0, "reverses": dice.chance(0.5), "max_rpm": 2000}
    if dice.chance(0.05):
        return head
    head["reach"] = typed(reach)
    if dice.chance(0.95):
        head["body"] = {name: typed(value) for name, value in body.items()}
        head["body"] |= {"above": length(20, 70), "below": typed(below)}
    if dice.chance(0.85):
        back = float(dice.rng.uniform(0, body["length"] / 2))
        head["stem"] = {"back": typed(back), "length": length(20, body["length"]), "width": length(30, 100)}
    if dice.chance(0.4):
        bump = {
            "behind": dice.extent((reach, reach + body["length"]), (3, 40)),
            "y": dice.extent((-body["width"] / 2 - 20, body["width"] / 2), (5, 40)),
            "z": dice.extent((-below - 15, 40), (5, 40)),
        }
        head.setdefault("bump", []).append({"name": "union", **bump})
    if dice.chance(0.4):
        half = float(dice.rng.uniform(10, 25))
        square = [typed(-half), typed(half)]
        behind = dice.extent((0, 10), (2, max(reach - 10, 3)))
        head.setdefault("bump", []).append({"name": "collar", "behind": behind, "y": square, "z": square})
    return head


def _obstacle(dice: _Dice, number: int, bores: list[Data], half: float, top: float) -> Data:
    rng = dice.rng
    faces = [bore["face"] * dice.per for bore in bores]
    along = (min(faces) - 200, max(faces) + 200)
    side = float(rng.choice([1, -1]))
    centre = side * (half + float(rng.uniform(-30, 90)))
    wide, low = float(rng.uniform(5, 40)), float(rng.uniform(-150, top + 60))
    obstacle: Data = {
        "name": f"thing {number + 1}",
        "x": dice.extent(along, (10, 300)),
        "y": [dice.typed(centre - wide / 2), dice.typed(centre + wide / 2)],
        "z": [dice.typed(low), dice.typed(low + float(rng.uniform(5, 120)))],
    }
    if dice.chance(0.4):
        obstacle["turned"] = round(float(rng.uniform(-180, 180)), 1)
    return obstacle


def run(jobs: int, first_seed: int, tell: Callable[[str], Any] = print) -> int:
    """Check so many jobs, tell the figures, and give the number that are wrong."""
    verdicts: Counter[str] = Counter()
    wrong, began = 0, time.perf_counter()
    for seed in range(first_seed, first_seed + jobs):
        outcome = check(seed)
        verdicts[outcome.verdict] += 1
        if outcome.wrong:
            wrong += 1
            tell(outcome.wrong)
    seconds = time.perf_counter() - began
    figures = ", ".join(f"{verdicts[name]} {name}" for name in ("released", "refused"))
    tell(f"{jobs} jobs: {figures}, {wrong} wrong, {seconds:.0f} s")
    return wrong


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description="Hold the proof of random jobs against brute force.")
    parser.add_argument("--jobs", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=0, help="of the first job")
    chosen = parser.parse_args()
    sys.exit(1 if run(chosen.jobs, chosen.seed) else 0)


if __name__ == "__main__":
    main()
