"""What to check by hand before the first cut, and room to write what was found.

All of it is common practice, no source, but for what the job itself tells.
"""

from collections.abc import Iterator
from typing import NamedTuple

from gen.header import AT_STOPS, BETWEEN, CAUTIONS
from gen.job import Job
from gen.passes import measured_mm, wall_mm
from gen.row import housings
from gen.unchecked import STRAIGHT, unchecked
from post.dialect import Dialect
from post.units import plain, show_length

WHO_DECIDES = (
    "Local rules, the makers' manuals of mill, head and cutter, and a qualified person decide what is done at the"
    " machine; this sheet does not. What is proved is the program against the job as told, not the machine, the setup"
    " or the cut. No warranty."
)


class Check(NamedTuple):
    """Something to check, and the names of what is to be written down."""

    text: str
    blanks: tuple[str, ...] = ()


def mounting(job: Job) -> list[Check]:
    """Checks of how head, bar, cutter and block stand."""
    return list(_mounting(job))


def _mounting(job: Job) -> Iterator[Check]:
    units, head = job.units, job.head
    ends = [x for housing in housings(job) for x in housing.metal]
    yield Check(f"Bore line along X, over {show_length(max(ends) - min(ends), units)}", ("in Y", "in Z"))
    yield Check(f"Bar along X, pointing {head.points}", ("in Y", "in Z"))
    yield Check("Bar's axis at program Y0 Z0", ("in Y", "in Z"))
    told = "not told" if head.reach is None else f"told {show_length(head.reach, units)}"
    yield Check(f"Reach, edge to head's face, {told}", ("measured",))
    yield Check(f"Bar {show_length(job.bar.diameter, units)} clamped, runs true", ("runout",))
    yield Check("Head clamped, held from turning, oiled")
    yield Check(f"By hand: one cutter turn for {head.ratio:g} of the spindle, {_way(job)}")
    holes = [now[0] for now in (measured_mm(job, bore) for bore in job.bore) if now is not None]
    smallest = f", smallest now {show_length(min(holes), units)}" if holes else ""
    nearest = min((wall[0] for wall in (wall_mm(job, bore) for bore in job.bore) if wall is not None), default=0.0)
    if holes and nearest < min(holes):
        smallest = f", nearest wall {show_length(nearest / 2, units)} from the bar's axis"
    yield Check(f"Cutter {job.bar.hand}-hand, sharp, clamped; clear of the bores{smallest}")
    if job.path.lift is not None:
        angle = plain(job.path.lift.angle, 3)
        yield Check(f"Spindle at {angle} degrees: cutter points away from the lift")
    yield Check("Block and fixture clamped; nothing in the way of head and bar")
    yield Check("Coolant reaches the cutter; chips can fall")


def _way(job: Job) -> str:
    return "opposite ways" if job.head.reverses else "the same way"


def first_run(job: Job, dialect: Dialect, *, walk: bool) -> list[Check]:
    """What to do in order when a program is run for the first time."""
    return [Check(text) for text in _first_run(job, dialect, walk)]


def _first_run(job: Job, dialect: Dialect, walk: bool) -> Iterator[str]:
    yield f"{job.machine.work_offset} as above; no G92 offset, no tool length offset"
    yield "The program in the control bears this fingerprint"
    yield CAUTIONS[1].rstrip(".")
    yield "Before reaching in: emergency stop or lock out; mind the edge"
    if STRAIGHT in unchecked(job, dialect, walk=walk):
        yield "Rapids run straight in all axes, tried above the block"
    if walk:
        yield "Indicator on at a stop only; off before cycle start"
        yield "Single block, rapid override low; should the spindle turn, stop"
        yield "At every start: bar turned by hand, clear all round, centred"
        return
    yield "Walk-through first: bar turned by hand at every start"
    yield "Dry run: cutter out or zero raised, single block, rapid low"
    yield "Turns as drawn above: seen at low speed, out of the block"
    yield "Control waits for the spindle to start and stop"
    yield "First bore: single block, hand on feed hold; then measure it"


def reaching_in(*, programs: int) -> str:
    """What holds whenever someone reaches in: at the stops, or between programs where there are several."""
    return AT_STOPS if programs == 1 else BETWEEN
