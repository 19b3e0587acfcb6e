"""Job into plan: where the head goes, in which order, and what the spindle does there."""

import math
from collections.abc import Iterator

from gen.job import Job
from gen.row import Housing, housings
from gen.speeds import setting
from post.dialect import Dialect
from post.motion import BoreAlongX, Lift, Pause, Plan, Rapid, Remark, Spindle, SpindleStop, Step
from post.units import MM_PER, UNIT_WORD, plain, show_length
from post.userfile import InputError


def plan(job: Job, dialect: Dialect) -> Plan:
    """The program that bores the row, every number on the control's grid.

    Bores are cut in the job's order; where the diameter changes the program pauses for the cutter to be set anew.
    Raises InputError when a speed or a feed is outside what spindle, head or machine allow.
    """
    return Plan(tuple(_boring(job, dialect)), job.units, job.machine.work_offset)


def plan_walk(job: Job, dialect: Dialect) -> Plan:
    """The walk-through: every start visited by the same way in and out, a pause at each, the spindle never turning."""
    return Plan(tuple(_walking(job, dialect)), job.units, job.machine.work_offset)


def way_top(job: Job, dialect: Dialect) -> tuple[float, float]:
    """Y and Z at the clearance height of the slanted way in and out, which meets the bore line at its foot; mm."""
    z = dialect.round_length(job.path.clearance_height, job.units)
    return dialect.round_length(z * math.tan(job.leave_angle_rad), job.units), z


def _opening(job: Job, dialect: Dialect) -> Iterator[Step]:
    yield SpindleStop("nothing turns yet")
    yield Rapid((None, None, way_top(job, dialect)[1]), "to the clearance height")


def _boring(job: Job, dialect: Dialect) -> Iterator[Step]:
    y, z = way_top(job, dialect)
    yield from _opening(job, dialect)
    set_for: float | None = None
    for index, housing in enumerate(housings(job)):
        bore = housing.bore
        start_x = dialect.round_length(housing.start_x, job.units)
        if set_for is not None and bore.diameter != set_for:
            message = f"set the cutter for diameter {show_length(bore.diameter, job.units)}, bore {bore.name}"
            yield Pause(dialect.comment(message), message)
        set_for = bore.diameter
        yield Remark(_title(job, housing))
        yield Rapid((start_x, y, z), f"over bore {bore.name}")
        yield Rapid((start_x, 0.0, 0.0), f"down to bore {bore.name}")
        yield from _cut(job, index, housing, dialect)
        yield Rapid((start_x, y, z), f"up from bore {bore.name}")


def _cut(job: Job, index: int, housing: Housing, dialect: Dialect) -> Iterator[Step]:
    bore, speeds = housing.bore, setting(job, index, housing, dialect)
    start_x = dialect.round_length(housing.start_x, job.units)
    end_x = dialect.round_length(housing.end_x, job.units)
    yield Spindle(speeds.spindle_rpm, speeds.sense, f"cutter {speeds.cutter_rpm:.1f} rpm")
    yield BoreAlongX(
        start_x,
        end_x,
        0.0,
        0.0,
        speeds.mm_per_min,
        speeds.dwell_s,
        job.path.withdraw,
        f"bore {bore.name}",
        _lift(job, dialect),
    )
    yield SpindleStop(f"spindle off before leaving bore {bore.name}")


def _lift(job: Job, dialect: Dialect) -> Lift | None:
    if job.path.lift is None:
        return None
    dy, dz = (dialect.round_length(shift, job.units) for shift in job.path.lift.shift_mm)
    if not dy and not dz:
        least = show_length(dialect.length_step(job.units), job.units)
        amount = plain(job.path.lift.amount / MM_PER[job.units], 7)
        raise InputError(
            f"{amount} {UNIT_WORD[job.units]} is less than the control can be told; lift by {least} or more",
            key=("path", "lift", "amount"),
        )
    return Lift(dialect.round_angle(job.path.lift.angle), dy, dz)


def _walking(job: Job, dialect: Dialect) -> Iterator[Step]:
    y, z = way_top(job, dialect)
    yield from _opening(job, dialect)
    for housing in housings(job):
        name = housing.bore.name
        start_x = dialect.round_length(housing.start_x, job.units)
        message = f"bore {name}: turn the bar by hand and sweep the housing"
        yield Remark(_title(job, housing))
        yield Rapid((start_x, y, z), f"over bore {name}")
        yield Rapid((start_x, 0.0, 0.0), f"down to bore {name}")
        yield Pause(dialect.comment(message), message)
        yield Rapid((start_x, y, z), f"up from bore {name}")


def _title(job: Job, housing: Housing) -> str:
    units = job.units
    low, high = (show_length(x, units) for x in housing.metal)
    return f"bore {housing.bore.name}: diameter {show_length(housing.bore.diameter, units)}, metal X {low} to {high}"
