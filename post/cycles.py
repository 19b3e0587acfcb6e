"""Fixed cycles into moves, waits and changes of the spindle (NISTIR 6556 3.5.16).

Words used here:

axis
    the plane's own, along which a cycle bores: 0, 1 or 2 for X, Y or Z.
hole
    where the cycle bores; its coordinate along the axis means nothing.
clear
    where along the axis a cycle ends: at R under G99; under G98 where it began, unless that is lower than R.
"""

from typing import Final, NamedTuple

from post.codes import AXES, DWELLING_CYCLES
from post.refusal import Refusal
from post.timeline import STOPPED, Event, Move, Point, Spin, SpinChange, Wait

_FEEDS_OUT: Final = frozenset({"G85", "G89"})


class Cycle(NamedTuple):
    """One line's cycle, in millimetres and program coordinates.

    ``hole`` is the first hole and ``step`` the way from each to the next. ``r`` and ``depth`` are coordinates along
    ``axis``. ``dwell_s`` counts for G82, G86 and G89 only. ``to_r`` is true under G99.
    """

    code: str
    axis: int
    hole: Point
    step: Point
    r: float
    depth: float
    dwell_s: float
    repeats: int
    to_r: bool
    mm_per_min: float


def expand(cycle: Cycle, line: int, here: Point, spin: Spin) -> tuple[list[Event], Point]:
    """Events of a cycle on a line, from the point where the machine stands, and the point where it then stands.

    Raises Refusal where R is below the depth, or the spindle of a G86 stands still.
    """
    if cycle.r < cycle.depth:
        below = f"R at {cycle.r:g} mm, below the depth at {AXES[cycle.axis]} {cycle.depth:g} mm"
        raise Refusal("unreadable", f"{cycle.code} with {below}", "R at the depth or above it")
    if cycle.code == "G86" and not spin.turning:
        raise Refusal("cut-not-turning", "G86 with the spindle stopped", "the spindle turning before G86")
    run = _Run(line, here, spin, cycle.axis)
    if here[cycle.axis] < cycle.r:
        run.along(cycle.r)
    clear = cycle.r if cycle.to_r else run.here[cycle.axis]
    hole = cycle.hole
    for _ in range(cycle.repeats):
        run.across(hole)
        run.along(cycle.r)
        run.along(cycle.depth, cycle.mm_per_min)
        run.leave(cycle, clear)
        hole = (hole[0] + cycle.step[0], hole[1] + cycle.step[1], hole[2] + cycle.step[2])
    return run.events, run.here


class _Run:
    """The events so far, and where the machine stands."""

    def __init__(self, line: int, here: Point, spin: Spin, axis: int) -> None:
        self.line = line
        self.here = here
        self.spin = spin
        self.axis = axis
        self.events: list[Event] = []

    def along(self, to: float, feed: float | None = None) -> None:
        """Move along the axis."""
        self._move(_with(self.here, self.axis, to), feed)

    def across(self, hole: Point) -> None:
        """Traverse in the plane to a hole."""
        self._move(_with(hole, self.axis, self.here[self.axis]), None)

    def leave(self, cycle: Cycle, clear: float) -> None:
        """Stand at the depth, and come out, as each cycle does it."""
        if cycle.code in DWELLING_CYCLES and cycle.dwell_s > 0:
            self.events.append(Wait(self.line, cycle.dwell_s, self.spin))
        if cycle.code == "G86":
            turning = self.spin
            self._turn(STOPPED)
            self.along(clear)
            self._turn(turning)
        else:
            self.along(clear, cycle.mm_per_min if cycle.code in _FEEDS_OUT else None)

    def _turn(self, spin: Spin) -> None:
        self.spin = spin
        self.events.append(SpinChange(self.line, spin))

    def _move(self, to: Point, feed: float | None) -> None:
        if to != self.here:
            self.events.append(Move(self.line, self.here, to, feed, self.spin))
            self.here = to


def _with(point: Point, axis: int, place: float) -> Point:
    """A point with one of its coordinates replaced."""
    x, y, z = point
    return (place, y, z) if axis == 0 else (x, place, z) if axis == 1 else (x, y, place)
