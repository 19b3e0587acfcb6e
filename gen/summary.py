"""What a proof comes to, in figures: one dict, in the job's own unit, that report and JSON both tell."""

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from gen.advice import cautions, derived, passes_told
from gen.asrun import Done, done, figures
from gen.caution import Caution
from gen.departures import Departures, departures
from gen.header import fingerprint
from gen.job import Job
from gen.passes import pass_plan
from gen.pipeline import Task
from gen.proof import Verdict
from gen.row import Housing, housings
from gen.settingwords import setting_message
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

    Where ``physics_only`` was asked all these are the program's own, each bore's as ``gen.asrun`` has them, and what
    departs from the job comes first among ``cautions``.
    """
    own = departed = None
    if physics_only and not task.walk:
        own = done(task.job, task.post.dialect, verdict)
        departed = departures(task, verdict, own)
    as_job = departed is None or departed.cuts_as_job
    bores = [] if task.walk else _bores(task, own)
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
        "passes": [] if task.walk or task.job.passes is None else passes_told(task.job, cuts_as_job=as_job),
        "derived": [] if task.walk else derived(task.job, cuts_as_job=as_job),
        "cautions": [caution._asdict() for caution in _cautions(task, departed)],
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
        "unchecked": list(unchecked(task.job, task.post.dialect, walk=task.walk)),
    }


def _cautions(task: Task, departed: Departures | None) -> list[Caution]:
    if task.walk:
        return []
    if departed is None:
        return cautions(task.job)
    return [*departed.cautions, *cautions(task.job, cuts_as_job=departed.cuts_as_job)]


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


def _bores(task: Task, own: Mapping[int, Done] | None) -> list[dict[str, Any]]:
    """The bores with the figures of the plan, or with the program's own."""
    job, dialect, per = task.job, task.post.dialect, MM_PER[task.job.units]
    told = []
    for index, housing in enumerate(housings(job)):
        told.append(
            {
                "name": housing.bore.name,
                "diameter": round(housing.bore.diameter / per, 6),
                "start": round(dialect.round_length(housing.start_x, job.units) / per, 6),
                "end": round(dialect.round_length(housing.end_x, job.units) / per, 6),
                **(_planned(task, index, housing) if own is None else figures(job, own.get(index))),
            }
        )
    return told


def _planned(task: Task, index: int, housing: Housing) -> dict[str, Any]:
    speeds, per = setting(task.job, index, housing, task.post.dialect), MM_PER[task.job.units]
    return {
        "cutter_rpm": round(speeds.cutter_rpm, 3),
        "spindle_rpm": speeds.spindle_rpm,
        "sense": speeds.sense.value,
        "feed": round(speeds.mm_per_min / per, 6),
        "feed_per_turn": round(speeds.mm_per_min / per / speeds.cutter_rpm, 6),
        "dwell_s": speeds.dwell_s,
    }


def _common(bores: list[dict[str, Any]], key: str) -> Any:
    values = {bore[key] for bore in bores}
    return values.pop() if len(values) == 1 else None
