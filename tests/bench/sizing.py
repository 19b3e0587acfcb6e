"""The chance's speed, and a hundred simulated shops that size their bores by ``size``.

``python -m tests.bench.sizing`` prints both.
"""

import resource
import tempfile
import time
from pathlib import Path

import numpy as np

from gen import chance, measured, record, sizing
from gen.measured import limits_of_bore
from gen.passes import pass_plan
from gen.settingwords import diameter_set, told_setting
from post.units import MM_PER
from tests.shop import Bench, Hidden, put, sized_job

BORES = 7
RUNS = 100
SHOPS = {
    "the shop as asked": Hidden(),
    "settings off by 2 micrometres too": Hidden(setting=0.002),
    "bias 30 micrometres, spring 12 %": Hidden(bias=0.030, spring=0.12),
    "bias -30 micrometres, spring 1 %": Hidden(bias=-0.030, spring=0.01),
}


def main() -> None:
    """Print how long a million rows take, and how many shops end with every bore in tolerance."""
    seconds, megabytes = speed()
    print(f"chance, {chance.ROWS:,} rows of {BORES} bores: {seconds:.2f} s of one core, {megabytes:.0f} MB in all")
    for name, hidden in SHOPS.items():
        started = time.perf_counter()
        ended = sum(all_in_tolerance(hidden, seed) for seed in range(RUNS))
        print(f"{name}: {ended} of {RUNS} ended with all bores within H6 ({time.perf_counter() - started:.1f} s)")


def speed() -> tuple[float, float]:
    """Seconds of one core for a million rows, best of three, and megabytes of the whole process."""
    room, own = np.full(BORES, 0.008), np.full(BORES, 0.001)
    shared = np.array([np.full(BORES, 0.002), np.linspace(-0.001, 0.001, BORES), np.full(BORES, 0.002)])
    times = []
    for seed in range(3):
        started = time.process_time()
        chance.chances(room, room, shared, own, seed=seed)
        times.append(time.process_time() - started)
    return min(times), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000


def all_in_tolerance(hidden: Hidden, seed: int, *, rows: int = 10_000) -> bool:
    """Whether skim, roughing and finish, each set by ``size`` from what was gauged, leave every diameter in tolerance.

    Three rounds by way of the files: measured after every pass, on record, and read again.
    """
    job = sized_job(BORES)
    bench = Bench(job, hidden, seed)
    first = pass_plan(job)[0].diameter_mm
    setting = told_setting(job, first)
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "job-record.csv"
        for _ in pass_plan(job):
            set_mm = diameter_set(job, setting * MM_PER[job.units])
            bench.cut(set_mm)
            readings = put(Path(folder), bench.gauged(set_mm))
            history = record.load(kept, job)
            now = measured.load(readings, job, history)
            (group,) = sizing.facts(job, now, history, seed, rows=rows)["next"]
            record.append(kept, job, now)
            if group["set"] is None:
                break
            setting = group["set"]
    smallest, largest = bench.extremes_mm()
    limits = [limits_of_bore(job, bore) for bore in range(BORES)]
    return all(
        one.smallest_mm <= low and high <= one.largest_mm
        for one, low, high in zip(limits, smallest, largest, strict=True)
    )


if __name__ == "__main__":
    main()
