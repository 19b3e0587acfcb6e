"""Job into plan: where the head goes, in which order, and what the spindle does there."""

import math
from collections.abc import Iterator, Sequence
from typing import Final

from gen.job import Job
from gen.passes import Setting, pass_plan
from gen.row import Housing, housings
from gen.settingwords import setting_messages
from gen.speeds import setting
from post.dialect import Dialect
from post.motion import BoreAlongX, Lift, Pause, Plan, Rapid, Remark, Spindle, SpindleStop, Step
from post.units import MM_PER, UNIT_WORD, plain, show_length
from post.userfile import InputError

SWEEP: Final = (
    "put the indicator on, turn the bar by hand and sweep the housing; take it off before cycle start",
    "put the indicator on, sweep by hand; off before cycle start",
    "indicator on; sweep; off before cycle start",
)
"""What to do at a stop of a walk-through, in fewer words where the control's line is short.

The head goes down and up at rapid past the bulkhead behind: an indicator that reaches the housing would hit it.
"""


def plan(job: Job, dialect: Dialect) -> Plan:
    """The program that bores the row, every number on the control's grid.

    Bores are cut in the job's order; where the diameter changes the program pauses for the cutter to be set anew.
    Raises InputError when a speed or a feed is outside what spindle, head or machine allow.
    """
    return Plan(tuple(_boring(job, dialect)), job.units, job.machine.work_offset)


def plan_programs(job: Job, dialect: Dialect) -> tuple[Plan, ...]:
    """The same as the programs a post writes: one for each setting of the cutter where its control has no stops."""
    if dialect.new_setting == "stop":
        return (plan(job, dialect),)
    return tuple(
        Plan((*_opening(job, dialect), *_boring_at(job, dialect, group)), job.units, job.machine.work_offset)
        for group in pass_plan(job)
    )


def plan_walk(job: Job, dialect: Dialect) -> Plan:
    """The walk-through: every start visited by the same way in and out, a pause at each, the spindle never turning."""
    return Plan(tuple(_walking(job, dialect)), job.units, job.machine.work_offset)


def way_top(job: Job, dialect: Dialect) -> tuple[float, float]:
    """Y and Z at the clearance height of the slanted way in and out, which meets the bore line at its foot; mm."""
    z = dialect.round_length(job.path.clearance_height, job.units)
    return dialect.round_length(z * math.tan(job.leave_angle_rad), job.units), z


def slanted_way(job: Job, dialect: Dialect) -> bool:
    """Whether the way in and out moves Y and Z at once, so that only straight rapids keep to it."""
    return way_top(job, dialect)[0] != 0


def slanted_lift(job: Job, dialect: Dialect) -> bool:
    """Whether the lift off the wall moves Y and Z at once, likewise."""
    lift = job.path.lift
    return lift is not None and all(dialect.round_length(shift, job.units) for shift in lift.shift_mm)


def _opening(job: Job, dialect: Dialect) -> Iterator[Step]:
    yield SpindleStop("nothing turns yet")
    yield Rapid((None, None, way_top(job, dialect)[1]), "to the clearance height")


def _boring(job: Job, dialect: Dialect) -> Iterator[Step]:
    yield from _opening(job, dialect)
    for number, group in enumerate(pass_plan(job)):
        if number:
            yield _pause(dialect, setting_messages(job, group))
        yield from _boring_at(job, dialect, group)


def _boring_at(job: Job, dialect: Dialect, group: Setting) -> Iterator[Step]:
    """The bores of one setting."""
    y, z = way_top(job, dialect)
    row = housings(job)
    for index in group.bores:
        housing = row[index]
        bore = housing.bore
        start_x = dialect.round_length(housing.start_x, job.units)
        yield Remark(_title(job, housing, None if group.kind == "air" else group.diameter_mm))
        yield Rapid((start_x, y, z), f"over bore {bore.name}")
        yield Rapid((start_x, 0.0, 0.0), f"down to bore {bore.name}")
        yield from _cut(job, index, housing, dialect, ", air" if group.kind == "air" else "")
        yield Rapid((start_x, y, z), f"up from bore {bore.name}")


def _cut(job: Job, index: int, housing: Housing, dialect: Dialect, air: str) -> Iterator[Step]:
    """One bore; ``air`` is what goes behind its name where the pass cuts nothing."""
    bore, speeds = housing.bore, setting(job, index, housing, dialect)
    start_x = dialect.round_length(housing.start_x, job.units)
    end_x = dialect.round_length(housing.end_x, job.units)
    if start_x == end_x:
        step = show_length(dialect.length_step(job.units), job.units)
        raise InputError(
            f"the stroke is shorter than the control's step of {step}; check the numbers",
            key=("bore", index, "width" if bore.width is not None else "length"),
        )
    yield Spindle(speeds.spindle_rpm, speeds.sense, f"cutter {speeds.cutter_rpm:.1f} rpm")
    yield BoreAlongX(
        start_x,
        end_x,
        0.0,
        0.0,
        speeds.mm_per_min,
        speeds.dwell_s,
        job.path.withdraw,
        f"bore {bore.name}{air}",
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
        messages = [f"bore {name}: {told}" for told in SWEEP]
        yield Remark(_title(job, housing, housing.bore.diameter))
        yield Rapid((start_x, y, z), f"over bore {name}")
        yield Rapid((start_x, 0.0, 0.0), f"down to bore {name}")
        yield _pause(dialect, messages)
        yield Rapid((start_x, y, z), f"up from bore {name}")


def _pause(dialect: Dialect, messages: Sequence[str]) -> Pause:
    """A stop that shows the first of the messages, longest first, that the control has room for, or the last of all."""
    room = dialect.message_room
    shown = next((text for text in messages if len(dialect.comment(text)) <= room), messages[-1])
    return Pause(dialect.comment(shown), messages[0])


def _title(job: Job, housing: Housing, diameter_mm: float | None) -> str:
    """What stands before a bore; no diameter where the pass cuts nothing."""
    units = job.units
    what = "air pass, cuts nothing" if diameter_mm is None else f"diameter {show_length(diameter_mm, units)}"
    low, high = (show_length(x, units) for x in housing.metal)
    return f"bore {housing.bore.name}: {what}, metal X {low} to {high}"
