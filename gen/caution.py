"""Cautions: what is likely to go wrong in a cut, and what to change and by how much."""

from collections.abc import Mapping
from typing import Final, NamedTuple

from post.steps import upward
from post.units import MM_PER, UNIT_WORD, Units, plain

STEP: Final[Mapping[Units, float]] = {"mm": 0.001, "inch": 0.0001}
"""What lengths are told to in a remedy, in the unit; chosen by us."""
FINE_STEP: Final[Mapping[Units, float]] = {"mm": 0.0001, "inch": 0.00001}
"""The same for thicknesses of chip and errors of size."""
COARSE_STEP: Final[Mapping[Units, float]] = {"mm": 0.1, "inch": 0.01}
"""The same for bars."""


class Caution(NamedTuple):
    """What is likely to go wrong, and what to change and by how much; each a phrase without a full stop."""

    problem: str
    remedy: str


def at_least(length_mm: float, units: Units, steps: Mapping[Units, float] = STEP) -> str:
    """A length rounded up, with its unit: to do as told is enough."""
    return _told(upward(length_mm / MM_PER[units], steps[units]), units)


def at_most(length_mm: float, units: Units, steps: Mapping[Units, float] = STEP) -> str:
    """A length rounded down, with its unit: to do as told is not too much."""
    return _told(downward(length_mm / MM_PER[units], steps[units]), units)


def downward(value: float, step: float) -> float:
    """The greatest multiple of ``step`` that is not above a value, but for the last bits of a float."""
    return -upward(-value, step)


def _told(length: float, units: Units) -> str:
    return f"{plain(length, 5)} {UNIT_WORD[units]}"
