"""A plan run dry: the timeline it would give if posted and replayed, and how near anything comes on it.

For questions asked before a program is written: will it fit, and at which angle. What is released is proved from its
own text all the same.
"""

import math
from collections.abc import Iterator
from functools import cached_property
from typing import Final

from gen.clearance import FIRST_LOOK_MM, Clearance, Near, clearance, too_near
from gen.job import Job
from gen.physics import Strokes, follow
from gen.planner import plan
from post.dialect import Dialect
from post.motion import Dwell, Feed, Pause, Place, Plan, Rapid, Remark, Spindle, SpindleStop
from post.timeline import STOPPED, End, Halt, Move, OffsetChange, Point, Spin, SpinChange, Timeline, Wait

_NOWHERE: Final[Point] = (math.nan, math.nan, math.nan)


def timeline_of(plan: Plan) -> Timeline:
    """The timeline of a plan, as a replay of its program gives it; ``line`` is the number of the simple step."""
    timeline = Timeline([OffsetChange(0, plan.work_offset)], units=plan.units)
    here, spin, number = _NOWHERE, STOPPED, 0
    for number, step in enumerate(plan.simple(), 1):
        match step:
            case Rapid(to) | Feed(to):
                there = _place(to, here)
                if there != here:
                    feed = step.mm_per_min if isinstance(step, Feed) else None
                    timeline.events.append(Move(number, here, there, feed, spin))
                here = there
            case Spindle() | SpindleStop():
                was, spin = spin, _spin(step)
                if spin != was:
                    timeline.events.append(SpinChange(number, spin))
            case Dwell(seconds):
                timeline.events.append(Wait(number, seconds, spin))
            case Pause(message):
                timeline.events.append(Halt(number, message, False, spin))
            case Remark():
                pass
    timeline.events.append(End(number + 1, spin))
    return timeline


def _place(to: Place, here: Point) -> Point:
    x, y, z = (stays if goes is None else goes for goes, stays in zip(to, here, strict=True))
    return x, y, z


def _spin(step: Spindle | SpindleStop) -> Spin:
    if isinstance(step, Spindle):
        return Spin(step.rpm, step.sense, None)
    return STOPPED if step.at_angle is None else Spin(0.0, None, step.at_angle)


def bore_of_step(plan: Plan) -> list[int]:
    """For each step number, from 0, the bore it goes to, works in or leaves; -1 before the first.

    The planner opens every bore with a remark.
    """
    bores = [-1]
    for step in plan.simple():
        bores.append(bores[-1] + isinstance(step, Remark))
    return bores


class DryRun:
    """The boring of a job run dry: its timeline, and the nearest approach of every move, sorted by bore.

    To a bore belong the traverse to it, the way in, the stroke and withdrawal, and the way out. Raises InputError when
    the job cannot be planned.
    """

    def __init__(self, job: Job, dialect: Dialect) -> None:
        self.job = job
        planned = plan(job, dialect)
        self.timeline = timeline_of(planned)
        self.strokes: Strokes = follow(job, self.timeline, dialect, ())[1]
        self.bore_of_step = bore_of_step(planned)

    @cached_property
    def found(self) -> Clearance:
        """The clearance of all moves."""
        return clearance(self.job, self.timeline, self.strokes)

    @cached_property
    def _tightest(self) -> dict[int, Near]:
        tightest: dict[int, Near] = {}
        for near in self.found.nearest.values():
            bore = self._bore_of(near)
            tightest[bore] = min(near, tightest.get(bore, near))
        return tightest

    def tightest(self, bore: int) -> Near | None:
        """The nearest approach of a bore's moves; None where nothing comes as near as was looked."""
        near, closest = self._tightest.get(bore), self.found.closest
        if near is None or closest is None:
            return None
        looked = max(FIRST_LOOK_MM, self.job.path.clearance, closest.distance)
        return near if near.distance <= looked else None

    def fits(self, bore: int) -> bool:
        """Whether all that is known of keeps the limit on a bore's moves."""
        near = self._tightest.get(bore)
        return near is None or not self.is_tight(near)

    def all_fit(self) -> bool:
        """Whether it does on every move."""
        return not any(self.is_tight(near) for near in self.found.nearest.values())

    def works_clear(self, bore: int) -> bool:
        """Whether it does along a bore's stroke and withdrawal, whatever the ways in and out."""
        return not any(
            near.move in self.found.works_in and self._bore_of(near) == bore and self.is_tight(near)
            for near in self.found.nearest.values()
        )

    def tight(self, bore: int) -> Iterator[Near]:
        """The approaches of a bore's moves that are nearer than the limit."""
        return (near for near in self.found.nearest.values() if self._bore_of(near) == bore and self.is_tight(near))

    def is_tight(self, near: Near) -> bool:
        """Whether an approach is nearer than the limit."""
        return too_near(near, self.job.path.clearance)

    def _bore_of(self, near: Near) -> int:
        return self.bore_of_step[self.found.moves[near.move].line]
