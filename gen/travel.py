"""Axis travel: every position of a program in machine coordinates, against the limits."""

import math
from collections.abc import Mapping
from typing import Final, NamedTuple

from gen.job import Job
from post.finding import Finding
from post.timeline import Move, Timeline
from post.units import show_length

AXES: Final = ("x", "y", "z")
SLACK_MM: Final = 1e-6
"""How far past a limit still counts as on it: far below any control's step, far above rounding in inches."""


class AxisTravel(NamedTuple):
    """Machine positions of one axis over a program, mm: extremes reached, and what is left to each limit."""

    lowest: float
    highest: float
    low_margin: float
    high_margin: float


def travel(job: Job, timeline: Timeline) -> Mapping[str, AxisTravel]:
    """Travel of each axis that the program moves. A straight move is furthest out at one of its ends."""
    found = {}
    for number, axis in enumerate(AXES):
        zero, (low, high) = _axis(job, axis)
        places = [
            event.end[number] + zero
            for event in timeline.events
            if isinstance(event, Move) and not math.isnan(event.end[number])
        ]
        if places:
            lowest, highest = min(places), max(places)
            found[axis] = AxisTravel(lowest, highest, lowest - low, high - highest)
    return found


def over_travel(job: Job, timeline: Timeline, lines: list[str]) -> list[Finding]:
    """A finding for each move that ends beyond a limit, naming axis and overshoot."""
    axes = [(number, axis, *_axis(job, axis)) for number, axis in enumerate(AXES)]
    findings = []
    for event in timeline.events:
        if not isinstance(event, Move):
            continue
        for number, axis, zero, (low, high) in axes:
            machine = event.end[number] + zero
            over = max(low - machine, machine - high)
            if over > SLACK_MM:
                findings.append(_finding(job, event, axis, machine, over, lines))
    return findings


def _axis(job: Job, axis: str) -> tuple[float, tuple[float, float]]:
    zero: float = getattr(job.machine.zero, axis)
    limits: tuple[float, float] = getattr(job.machine.travel, axis)
    return zero, limits


def _finding(job: Job, move: Move, axis: str, machine: float, over: float, lines: list[str]) -> Finding:
    units = job.units
    zero, limits = _axis(job, axis)
    low, high = (show_length(limit, units) for limit in limits)
    own_low, own_high = (show_length(limit - zero, units) for limit in limits)
    return Finding(
        "over-travel",
        move.line,
        lines[move.line - 1],
        f"{axis.upper()} would go to machine {show_length(machine, units)}, {show_length(over, units)} past its limit",
        f"{axis.upper()} between {low} and {high}, in the program {own_low} and {own_high}",
    )
