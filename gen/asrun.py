"""What a program itself cuts with, bore by bore: speed, feed and standing, from its timeline and never from the plan.

Counted are feed moves through a bore's metal with the cutter turning, there and back, and standing in it, turning.
"""

import math
from collections import defaultdict
from collections.abc import Mapping
from typing import Any, NamedTuple

from gen.job import Job
from gen.proof import Verdict
from gen.row import Housing, housings
from post.dialect import Dialect
from post.timeline import Move, Spin, Wait
from post.units import MM_PER


class Cut(NamedTuple):
    """A feed move in a bore's metal: its line in all programs together, the spindle, and what that is at the cutter."""

    line: int
    spin: Spin
    cutter_rpm: float
    mm_per_min: float

    @property
    def mm_per_turn(self) -> float:
        """Feed a turn of the cutter, mm."""
        return self.mm_per_min / self.cutter_rpm


class Stand(NamedTuple):
    """Standing in a bore's metal or at the end of its stroke: the line, how long, and the spindle."""

    line: int
    seconds: float
    spin: Spin


class Done(NamedTuple):
    """What a program does in one bore: its cuts, one or more, in order; the longest it stands, None where never."""

    cuts: tuple[Cut, ...]
    stand: Stand | None


def done(job: Job, dialect: Dialect, verdict: Verdict) -> Mapping[int, Done]:
    """What is done in each bore, by its index in the row.

    Bores that are never cut turning are left out, as all are where the program could not be read.
    """
    row, near = housings(job), dialect.length_step(job.units) / 2 + 1e-9
    cuts: dict[int, list[Cut]] = defaultdict(list)
    stands: dict[int, list[Stand]] = defaultdict(list)
    bore, x = None, math.nan
    for number, event in enumerate(verdict.joined.continued.events):
        if isinstance(event, Move):
            stroke = verdict.strokes.get(number)
            bore, x = None if stroke is None else stroke.bore, event.end[0]
            cut = _cut(event, job.head.ratio)
            if bore is not None and cut is not None and _in_metal(event, row[bore], near):
                cuts[bore].append(cut)
        elif isinstance(event, Wait) and event.spin.turning and bore is not None and _within(x, row[bore], near):
            stands[bore].append(Stand(event.line, event.seconds, event.spin))
    return {
        index: Done(tuple(found), max(stands[index], key=lambda stand: stand.seconds, default=None))
        for index, found in sorted(cuts.items())
    }


def _in_metal(move: Move, housing: Housing, near: float) -> bool:
    low, high = sorted((move.start[0], move.end[0]))
    return low < housing.metal[1] - near and housing.metal[0] + near < high


def _within(x: float, housing: Housing, near: float) -> bool:
    """Whether X lies behind the near face of a bore, up to where its stroke ends."""
    way = math.copysign(1, housing.end_x - housing.near_x)
    return housing.near_x * way + near < x * way <= housing.end_x * way + near


def _cut(move: Move, ratio: float) -> Cut | None:
    """The move as a cut, where it feeds, turning, at figures that are numbers."""
    if move.feed is None or not move.spin.turning or not move.spin.rpm > 0:
        return None
    cut = Cut(move.line, move.spin, move.spin.rpm / ratio, move.feed)
    return cut if math.isfinite(cut.mm_per_min) and math.isfinite(cut.mm_per_turn) else None


def figures(job: Job, here: Done | None) -> dict[str, Any]:
    """The figures of one bore, ready for JSON, as ``gen.summary`` has those of a plan: feeds in the job's unit.

    None where a figure is not to be had, or is not the same all through; ``ranges`` has the least and the greatest of
    each. ``stand_turns`` are turns of the cutter.
    """
    if here is None:
        nothing = ("cutter_rpm", "spindle_rpm", "sense", "feed", "feed_per_turn", "dwell_s", "stand_turns")
        return {**dict.fromkeys(nothing), "ranges": {}}
    per, stand = MM_PER[job.units], here.stand
    columns = {
        "cutter_rpm": [round(cut.cutter_rpm, 3) for cut in here.cuts],
        "spindle_rpm": [cut.spin.rpm for cut in here.cuts],
        "feed": [round(cut.mm_per_min / per, 6) for cut in here.cuts],
        "feed_per_turn": [round(cut.mm_per_turn / per, 6) for cut in here.cuts],
    }
    senses = {cut.spin.sense.value for cut in here.cuts if cut.spin.sense is not None}
    turns = 0.0 if stand is None else stand.seconds * stand.spin.rpm / job.head.ratio / 60
    return {
        **{key: column[0] if len(set(column)) == 1 else None for key, column in columns.items()},
        "sense": senses.pop() if len(senses) == 1 else None,
        "dwell_s": 0.0 if stand is None else stand.seconds,
        "stand_turns": round(turns, 6),
        "ranges": {key: [min(column), max(column)] for key, column in columns.items()},
    }
