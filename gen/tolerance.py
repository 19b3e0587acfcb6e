"""Limits of a bore's diameter by its tolerance class, as ISO 286-1 has them: H5 to H8 and JS5 to JS8."""

import math
import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final, NamedTuple

STEPS_MM: Final = (18, 30, 50, 80, 120, 180, 250, 315)
"""Ends of the standard's steps of nominal diameter, each over one end up to and including the next.

The steps whose tolerances by the formula were held against the table (tests/published); others are refused.
"""
UNITS_OF_GRADE: Final[Mapping[int, int]] = {5: 7, 6: 10, 7: 16, 8: 25}
"""Tolerance units i in a standard tolerance (ISO 286-1:1988, Annex A.3)."""
MOST_DIGITS: Final = 12
"""Digits behind the point to which limits are told at most: below any gauge, and what a float still holds."""
HAIR: Final = 2e-11
"""What a limit may seem off a digit by the rounding of floats; less, in inches too, than a size is judged to."""
_CLASS: Final = re.compile("(H|JS)([5-8])")


class Limits(NamedTuple):
    """Least and greatest diameter that is in tolerance, mm."""

    smallest_mm: float
    largest_mm: float


def it_mm(grade: int, diameter_mm: float) -> float:
    """The standard tolerance of a grade, IT5 to IT8, at a nominal diameter over 18 up to 315 mm.

    So many units i = 0.45 D^(1/3) + 0.001 D, micrometres with D in mm, where D is the geometric mean of the ends of the
    step the diameter lies in (ISO 286-1:1988, Annex A.3); rounded to whole micrometres, as the table is. Raises
    ValueError for another grade or diameter.
    """
    if grade not in UNITS_OF_GRADE:
        raise ValueError(f"IT{grade}: only the grades IT5 to IT8 are known, e.g. IT6")
    low, high = _step_mm(diameter_mm)
    mean_mm = math.sqrt(low * high)
    unit_um = 0.45 * math.cbrt(mean_mm) + 0.001 * mean_mm
    return round(UNITS_OF_GRADE[grade] * unit_um) / 1000


def limits_of(tolerance_class: str, diameter_mm: float) -> Limits:
    """Limits of a hole of a tolerance class, "H5" to "H8" or "JS5" to "JS8", at its nominal diameter.

    H begins at the nominal size and lies above it, JS lies half above and half below (ISO 286-1). Where the tolerance
    of JS7 or JS8 is an odd number of micrometres the standard lets a table take the even one below; the halves are not
    rounded here. Raises ValueError for another class, or a diameter as ``it_mm`` does.
    """
    match = _CLASS.fullmatch(tolerance_class)
    if match is None:
        raise ValueError(f'"{tolerance_class}" is not a tolerance class known here: {_wanted(tolerance_class)}')
    it = it_mm(int(match[2]), diameter_mm)
    if match[1] == "H":
        return Limits(diameter_mm, diameter_mm + it)
    return Limits(diameter_mm - it / 2, diameter_mm + it / 2)


def inward(limits: Sequence[float], digits: int) -> tuple[str, str]:
    """Limits as they are told, in any unit, so that what reads as told is within: the lower rounded up, the upper down.

    To so many digits behind the point, or more where no number of so many lies between.
    """
    low, high = limits
    for count in range(digits, MOST_DIGITS):
        least, most = math.ceil((low - HAIR) * 10**count), math.floor((high + HAIR) * 10**count)
        if least <= most:
            return f"{least / 10**count:.{count}f}", f"{most / 10**count:.{count}f}"
    return f"{low:.{MOST_DIGITS}f}", f"{high:.{MOST_DIGITS}f}"


def _step_mm(diameter_mm: float) -> tuple[int, int]:
    place = bisect_left(STEPS_MM, diameter_mm)
    if not 0 < place < len(STEPS_MM):
        raise ValueError(
            f"tolerance grades are known for diameters over {STEPS_MM[0]} up to {STEPS_MM[-1]} mm, not for"
            f" {diameter_mm:g} mm; give both limits instead"
        )
    return tuple(pairwise(STEPS_MM))[place - 1]


def _wanted(tolerance_class: str) -> str:
    if _CLASS.fullmatch(tolerance_class.upper()):
        return f'small letters are for shafts, a bore has "{tolerance_class.upper()}"'
    return 'H5 to H8 or JS5 to JS8, e.g. "H6"; for any other give both limits'
