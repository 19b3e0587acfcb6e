"""What a proof comes to, in figures: one dict, in the job's own unit, that report and JSON both tell."""

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from gen.advice import cautions, derived, passes_told
from gen.header import fingerprint
from gen.job import Job
from gen.passes import pass_plan, setting_message
from gen.pipeline import Task
from gen.proof import Verdict
from gen.row import housings
from gen.speeds import setting
from gen.unchecked import unchecked
from post.timeline import Move, Timeline, Wait
from post.units import MM_PER


def summary(
    task: Task,
    verdict: Verdict,
    programs: Sequence[Path],
    *,
    physics_only: bool = False,
    beside: Mapping[str, Path] | None = None,
) -> dict[str, Any]:
    """The figures of a proof, ready for JSON: lengths and feeds in the job's unit, times in seconds.

    ``programs`` are the files, in the order in which they are run; none where none was put in place. ``beside``: what
    was put beside them, by its kind.

    ``cutter_rpm``, ``spindle_rpm`` and ``feed`` are null where they differ from bore to bore; ``bores`` has them all.
    """
    bores = [] if task.walk else _bores(task)
    cycle_s, cut_s = times(task.job, verdict.joined.continued)
    per = MM_PER[task.job.units]
    return {
        "ok": verdict.proved,
        "physics_only": physics_only,
        "findings": [{**finding._asdict(), "message": finding.message} for finding in verdict.findings],
        "program": str(programs[0]) if programs else None,
        "programs": [str(program) for program in programs],
        "beside": {kind: str(path) for kind, path in (beside or {}).items()},
        "parts": len(verdict.joined.starts),
        "settings": _settings(task, len(verdict.joined.starts)),
        "passes": [] if task.walk or task.job.passes is None else passes_told(task.job),
        "derived": [] if task.walk else derived(task.job),
        "cautions": [] if task.walk else [caution._asdict() for caution in cautions(task.job)],
        "job": task.job.name,
        "post": task.post.name,
        "fingerprint": fingerprint(task.job, task.post, walk=task.walk),
        "walk": task.walk,
        "units": task.job.units,
        "leave_angle": task.job.path.leave_angle,
        "cutter_rpm": _common(bores, "cutter_rpm"),
        "spindle_rpm": _common(bores, "spindle_rpm"),
        "sense": _common(bores, "sense"),
        "feed": _common(bores, "feed"),
        "cycle_time_s": round(cycle_s, 3),
        "cut_time_s": round(cut_s, 3),
        "blocks": verdict.timeline.blocks,
        "travel": {
            axis: {
                "min": round(extent.lowest / per, 6),
                "max": round(extent.highest / per, 6),
                "low_margin": round(extent.low_margin / per, 6),
                "high_margin": round(extent.high_margin / per, 6),
            }
            for axis, extent in verdict.travel.items()
        },
        "bores": bores,
        "read_twice": verdict.read_twice,
        "read_once": dict(verdict.read_once),
        "closest": _closest(task, verdict),
        "unchecked": list(unchecked(task.job, task.post.dialect)),
    }


def _settings(task: Task, programs: int) -> list[str]:
    """What to do before each of several programs, where they are those of the post."""
    if len(task.plans) < 2 or len(task.plans) != programs:
        return []
    return [setting_message(task.job, setting) for setting in pass_plan(task.job)]


def _closest(task: Task, verdict: Verdict) -> dict[str, Any] | None:
    """The nearest approach of all: what to what, how near, on which line and what is done there."""
    near = verdict.clearance.closest if verdict.clearance is not None else None
    if verdict.clearance is None or near is None:
        return None
    program, line = verdict.joined.place(verdict.clearance.moves[near.move].line)
    return {
        "distance": round(near.distance / MM_PER[task.job.units], 6),
        "part": near.part,
        "obstacle": near.obstacle,
        "program": program,
        "line": line,
        "why": verdict.clearance.why(task.job, near),
    }


def times(job: Job, timeline: Timeline) -> tuple[float, float]:
    """Seconds a program takes in all and seconds it cuts.

    A rapid takes as long as its slowest axis at that axis's rate, a feed move its length at its feed; speeding up,
    slowing down and stops for the operator are not counted. Cutting is feeding the way the bar points, and standing.
    """
    rates = (job.machine.rapid.x, job.machine.rapid.y, job.machine.rapid.z)
    total_s = cut_s = 0.0
    for event in timeline.events:
        if isinstance(event, Wait):
            total_s += event.seconds
            cut_s += event.seconds
        elif isinstance(event, Move):
            seconds = move_s(event, rates)
            total_s += seconds
            if event.feed is not None and (event.end[0] - event.start[0]) * job.direction > 0:
                cut_s += seconds
    return total_s, cut_s


def move_s(move: Move, rates: tuple[float, float, float]) -> float:
    """Seconds a move takes as ``times`` counts them; an axis that starts nobody knows where is taken to stand.

    ``rates`` are the rapid rates of X, Y and Z in mm/min.
    """
    gone = [0.0 if math.isnan(a) else abs(b - a) for a, b in zip(move.start, move.end, strict=True)]
    if move.feed is None:
        return 60 * max(way / rate for way, rate in zip(gone, rates, strict=True))
    return 60 * math.hypot(*gone) / move.feed


def _bores(task: Task) -> list[dict[str, Any]]:
    job, dialect, per = task.job, task.post.dialect, MM_PER[task.job.units]
    told = []
    for index, housing in enumerate(housings(job)):
        speeds = setting(job, index, housing, dialect)
        told.append(
            {
                "name": housing.bore.name,
                "diameter": round(housing.bore.diameter / per, 6),
                "start": round(dialect.round_length(housing.start_x, job.units) / per, 6),
                "end": round(dialect.round_length(housing.end_x, job.units) / per, 6),
                "cutter_rpm": round(speeds.cutter_rpm, 3),
                "spindle_rpm": speeds.spindle_rpm,
                "sense": speeds.sense.value,
                "feed": round(speeds.mm_per_min / per, 6),
                "feed_per_turn": round(speeds.mm_per_min / per / speeds.cutter_rpm, 6),
                "dwell_s": speeds.dwell_s,
            }
        )
    return told


def _common(bores: list[dict[str, Any]], key: str) -> Any:
    values = {bore[key] for bore in bores}
    return values.pop() if len(values) == 1 else None
