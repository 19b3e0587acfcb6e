"""What a line means at the machine: zero, support moves, and what the indicator then shows. Lengths mm.

The head bores along X at Y0 Z0: a line that is tilted is bored by moving the block until it lies along X.
"""

import math
from collections.abc import Mapping
from typing import Final, NamedTuple

import numpy as np

from gen.roundness import Oval
from gen.rowline import Line
from gen.sections import Floats
from gen.surveyed import Section
from post.steps import nearest
from post.units import MM_PER, Units

CHECKED_AT: Final = (0, 90, 180, 270)
"""Clock angles at which the indicator is read, degrees: top, toward +Y, bottom, toward -Y."""
ZERO_STEP: Final[Mapping[Units, float]] = {"mm": 0.001, "inch": 0.0001}
"""Steps in which a work offset is set, in the job's unit. No post is known here, whose dialect would tell its control's
own: these are the usual ones, and those of every post in the library."""


class Supports(NamedTuple):
    """Two ways to bring a line along X by moving the block at two supports, of which the first is the lower in X.

    ``raise_`` and ``shift`` (2,): how far each goes, in Z and Y, for the line to lie at Y0 Z0 of the zero as it is.
    ``second_raise`` and ``second_shift``: how far the second goes alone, the first left standing; the line then lies
    along X at ``new_y``, ``new_z``, where zero is to be set.
    """

    raise_: Floats
    shift: Floats
    second_raise: float
    second_shift: float
    new_y: float
    new_z: float


def supports(line: Line, at_x: tuple[float, float]) -> Supports:
    """How far the block moves at its two supports, at these X."""
    y, z = line.at(np.array(at_x))
    return Supports(-z, -y, float(z[0] - z[1]), float(y[0] - y[1]), float(y[0]), float(z[0]))


def settable(zero_mm: float, units: Units) -> float:
    """The machine coordinate nearest to one that a control takes for a zero, by ``ZERO_STEP``; mm, as what is given."""
    return nearest(zero_mm / MM_PER[units], ZERO_STEP[units]) * MM_PER[units]


def check_readings(section: Section, line: Line) -> tuple[float, ...]:
    """What an indicator swept round a bore shows at ``CHECKED_AT``, once the bar lies on the line.

    It is set to 0 at the top and its reading grows as the wall presses the plunger in. The wall of a hole of radius r
    is, at the angle a from where its offset e points, e cos a + sqrt(r^2 - e^2 sin^2 a) from the bar's axis; an oval
    told adds a quarter of its size, twice round.
    """
    y, z = line.at(np.array(section.x))
    walls = [
        _wall(section.y - float(y), section.z - float(z), section.diameter / 2, section.oval, angle)
        for angle in CHECKED_AT
    ]
    return tuple(walls[0] - wall for wall in walls)


def _wall(y: float, z: float, radius: float, oval: Oval | None, clock_deg: float) -> float:
    clock = math.radians(clock_deg)
    along = y * math.sin(clock) + z * math.cos(clock)
    aside = y * math.cos(clock) - z * math.sin(clock)
    form = oval.size / 4 * math.cos(2 * math.radians(clock_deg - oval.clock_deg)) if oval else 0.0
    return along + math.sqrt(radius * radius - aside * aside) + form
