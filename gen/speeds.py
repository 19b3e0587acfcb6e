"""Cutter speed and spindle speed, feed and dwell, as the control can carry them out.

Order matters: the spindle word is rounded first and the feed follows the rounded speed, so that the feed per cutter
turn is what was asked for (but for the feed word's own last digit).
"""

import math
from collections.abc import Mapping
from typing import Final, NamedTuple

from gen.job import Job
from gen.row import Housing
from post.dialect import Dialect
from post.motion import Sense
from post.steps import nearest, upward
from post.tomlplaces import Key
from post.units import MM_PER, MM_PER_FOOT, UNIT_WORD, Units, plain
from post.userfile import InputError

MOST_MM_PER_TURN: Final = 1.0
"""Largest feed per cutter turn accepted: ten times the usual (common practice, no source), so that 0.1 in is a slip."""
SLACK_RPM: Final = 1e-6
"""How far past an end of a range still counts as on it: 800 x 1.1 is not 880 to a float."""


class Setting(NamedTuple):
    """Speeds and times for one bore, all as the control will carry them out.

    ``spindle_rpm`` is the S word; ``cutter_rpm`` what it gives at the cutter; ``sense`` is the spindle's;
    ``mm_per_min`` the feed; ``dwell_s`` the time to stand at the end of the stroke.
    """

    spindle_rpm: float
    cutter_rpm: float
    sense: Sense
    mm_per_min: float
    dwell_s: float


def rpm_of_speed(m_per_min: float, diameter_mm: float) -> float:
    """Turns a minute at which a circle of a diameter runs at a cutting speed: n = 1000 v / (pi d).

    Source: F. D. Jones, Turning and Boring (1914), p. 40, there in feet and inches as R = 12 C / (pi d).
    """
    return 1000 * m_per_min / (math.pi * diameter_mm)


def spindle_sense(job: Job) -> Sense:
    """Which way the spindle turns so that the cutter cuts.

    A right-hand cutter cuts turning clockwise seen from behind it (common practice, no source); a head that reverses
    asks the opposite of the spindle.
    """
    cutter = Sense.CLOCKWISE if job.bar.hand == "right" else Sense.COUNTERCLOCKWISE
    return cutter.opposite if job.head.reverses else cutter


def wanted_cutter_rpm(job: Job, index: int, housing: Housing) -> tuple[float, Key]:
    """The cutter speed asked for at a bore, and the key that asks it."""
    if housing.bore.rpm is not None:
        return housing.bore.rpm, ("bore", index, "rpm")
    if job.cut.rpm is not None:
        return job.cut.rpm, ("cut", "rpm")
    assert job.cut.speed is not None
    return rpm_of_speed(job.cut.speed, housing.bore.diameter), ("cut", "speed")


def setting(job: Job, index: int, housing: Housing, dialect: Dialect) -> Setting:
    """Speeds, feed and dwell of one bore.

    Raises InputError when the speed is outside the spindle's or the head's range, or the feed outside the machine's,
    naming the range and the nearest that works.
    """
    asked_rpm, key = wanted_cutter_rpm(job, index, housing)
    spindle_rpm = _spindle_rpm(job, asked_rpm, key, dialect)
    cutter_rpm = spindle_rpm / job.head.ratio
    per_turn_mm = job.cut.feed_mm(job.cutter) if housing.bore.feed is None else housing.bore.feed
    whole: Key = ("cut", "roughness" if job.cut.feed is None else "feed")
    feed_key = whole if housing.bore.feed is None else ("bore", index, "feed")
    mm_per_min = _feed(job, per_turn_mm, cutter_rpm, feed_key, dialect)
    turns = housing.bore.face_turns
    dwell_s = dialect.round_dwell(60 * turns / cutter_rpm, spindle_rpm)
    return Setting(spindle_rpm, cutter_rpm, spindle_sense(job), mm_per_min, dwell_s)


def spindle_range(job: Job) -> tuple[float, float]:
    """Lowest and highest spindle speed that neither the spindle's range nor the head's limit forbids."""
    low, high = job.machine.spindle_rpm
    return low, min(high, job.head.max_rpm * job.head.ratio)


def _spindle_rpm(job: Job, asked_rpm: float, key: Key, dialect: Dialect) -> float:
    low, high = spindle_range(job)
    step = dialect.resolution.speed
    lowest, highest = upward(low, step), -upward(-high, step)
    asked_spindle_rpm = asked_rpm * job.head.ratio
    if lowest > highest or not low - SLACK_RPM <= asked_spindle_rpm <= high + SLACK_RPM:
        raise InputError(_out_of_range(job, asked_rpm, key, lowest <= highest), key=key)
    return min(max(nearest(asked_spindle_rpm, step), lowest), highest)


def _out_of_range(job: Job, asked_rpm: float, key: Key, some: bool) -> str:
    ratio = job.head.ratio
    says = (
        f"a cutter at {plain(asked_rpm, 1)} rpm asks {plain(asked_rpm * ratio, 1)} of the spindle at ratio {ratio:g};"
        f" machine.spindle_rpm allows {' to '.join(plain(rpm, 1) for rpm in job.machine.spindle_rpm)}"
        f" and head.max_rpm {plain(job.head.max_rpm, 1)} at the cutter"
    )
    if not some:
        return f"{says}, so that no speed suits both; check ratio, spindle_rpm and max_rpm"
    low, high = spindle_range(job)
    too_fast = asked_rpm * ratio > high
    workable = -upward(-high / ratio, 0.1) if too_fast else upward(low / ratio, 0.1)
    says = f"{says}; the nearest workable is {plain(workable, 1)} rpm of the cutter"
    return says if key != ("cut", "speed") else f"{says}, {_as_speed(job, workable, too_fast)}"


def _as_speed(job: Job, workable_rpm: float, too_fast: bool) -> str:
    """A cutter speed as the cutting speed that keeps to it in every bore it is meant for, in the job's own unit."""
    diameters = [bore.diameter for bore in job.bore if bore.rpm is None]
    mm_per_min = workable_rpm * math.pi * (min(diameters) if too_fast else max(diameters))
    per, word = (MM_PER_FOOT, "ft/min") if job.units == "inch" else (1000, "m/min")
    speed = -upward(-mm_per_min / per, 0.1) if too_fast else upward(mm_per_min / per, 0.1)
    return f"speed = {plain(speed, 1)} in {word}"


def _feed(job: Job, per_turn_mm: float, cutter_rpm: float, key: Key, dialect: Dialect) -> float:
    units, per = job.units, MM_PER[job.units]
    step, scale = dialect.feed_word_step(units), dialect.feed_scale(units, cutter_rpm * job.head.ratio)
    highest = -upward(-job.machine.max_feed / scale, step) * scale
    asked = per_turn_mm * cutter_rpm
    mm_per_min = min(nearest(asked / scale, step) * scale, highest)
    if asked > job.machine.max_feed * (1 + 1e-9) or highest <= 0:
        most = -upward(-min(highest / cutter_rpm, MOST_MM_PER_TURN) / per, 0.1 ** TURN_DIGITS[units])
        raise InputError(
            f"{show_feed(per_turn_mm, units)} a cutter turn at {plain(cutter_rpm, 1)} rpm is"
            f" {show_feed(asked, units)}/min, above {show_feed(job.machine.max_feed, units)}/min,"
            f" machine.max_feed; the most is {show_feed(most * per, units)} a cutter turn",
            key=key,
        )
    if per_turn_mm > MOST_MM_PER_TURN:
        example = "0.1" if units == "mm" else "0.004"
        raise InputError(
            f"{show_feed(per_turn_mm, units)} a cutter turn is more than a single cutter in a bar takes; at most"
            f" {show_feed(MOST_MM_PER_TURN, units)}, e.g. feed = {example}",
            key=key,
        )
    if mm_per_min <= 0:
        least = upward(step * scale / per / cutter_rpm, 0.1**SMALLEST_DIGITS)
        raise InputError(
            f"{plain(per_turn_mm / per, SMALLEST_DIGITS)} {UNIT_WORD[units]} a cutter turn is less than the control can"
            f" be told at {plain(cutter_rpm, 1)} rpm; the least is {plain(least, SMALLEST_DIGITS)} {UNIT_WORD[units]}",
            key=key,
        )
    return mm_per_min


TURN_DIGITS: Final[Mapping[Units, int]] = {"mm": 4, "inch": 5}
"""Digits behind the point of a feed per turn, as a person reads it."""
SMALLEST_DIGITS: Final = 7
"""The same where the feed is all but nothing."""


def show_feed(mm: float, units: Units) -> str:
    """A feed per turn or per minute as a person reads it, with its unit of length."""
    return f"{plain(mm / MM_PER[units], TURN_DIGITS[units])} {UNIT_WORD[units]}"
