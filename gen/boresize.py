"""Size and form of a bore from gauge readings, and what is known of every bore so far.

mean
    the size halfway along the depths that were measured, averaged over the clock.
taper
    the size at the greatest depth less that at the least, by the least squares slope; positive where the bore widens
    inward. None where only one depth was measured.
ovality
    largest less smallest diameter over the clock, by the least squares second harmonic; from two diameters about
    square to each other, their difference. None where the angles do not tell it.
scatter
    standard deviation of what mean, taper and ovality leave over; None where nothing can be left over.

Local diameters are two-point sizes, which is what a diameter's tolerance is on (ISO 14405-1; from memory).
"""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from gen.leastsquares import fit
from gen.passes import aim_mm, least_depth_mm, measured_mm, wall_mm
from gen.sections import Floats

if TYPE_CHECKING:
    from gen.job import Job
    from gen.readings import Measured, Reading

USUAL_GAUGE_MM: Final = 0.002
"""Repeatability of a dial bore gauge of which none is told: common practice, no source."""
LEAST_GAUGE_MM: Final = 0.0005
"""No gauge is believed to repeat better: half of what settings are told to; chosen by us."""
TELLS: Final = 0.2
"""Least singular value of a design, its columns brought to length 1, that tells its terms apart; chosen by us."""
SQUARE_DEG: Final = 15
"""Two diameters are square to each other if no farther from 90 degrees than this; chosen by us."""


class Form(NamedTuple):
    """Size and form of a bore, mm; the module tells what each is.

    ``smallest_mm`` and ``largest_mm`` are as read, ``spread`` of so many ``readings`` is ``scatter_mm`` with ``spare``
    degrees of freedom. An error of one reading comes back ``in_mean``, ``in_taper`` and ``in_ovality`` times.
    """

    mean_mm: float
    smallest_mm: float
    largest_mm: float
    taper_mm: float | None
    ovality_mm: float | None
    scatter_mm: float | None
    readings: int
    spare: int
    in_mean: float
    in_taper: float
    in_ovality: float

    def half_mm(self, error_mm: float) -> float:
        """How far the bore's form takes its diameters from their mean, less what errors of reading make of it.

        Taper and ovality squared are on average too large by the variance of what they were told by.
        """
        taper = _less(self.taper_mm or 0.0, error_mm * self.in_taper)
        return (taper + _less(self.ovality_mm or 0.0, error_mm * self.in_ovality)) / 2


class Known(NamedTuple):
    """What is known of a bore as it is now, mm: mean, its standard error, and the smallest and largest diameter.

    ``half_mm``: how far its form takes its diameters from their mean; None for a bore that the job alone tells of.
    ``old_wall_mm``: diameter about the bore line that its old wall reaches to, as its centre is told; 0 where none is
    left. Until a cut has cleaned it up, smallest and largest are those about the bore line, the largest no more than
    the finish is left to cut: what lies beyond would be taken for a bore over size.
    """

    mean_mm: float
    error_mm: float
    smallest_mm: float
    largest_mm: float
    half_mm: float | None
    old_wall_mm: float = 0.0


def gauge_mm(job: "Job") -> float:
    """Repeatability of the gauge, one standard deviation, as told or as usual."""
    told = job.size.gauge if job.size else 0.0
    return max(told, LEAST_GAUGE_MM) if told else USUAL_GAUGE_MM


def form_of(readings: Sequence["Reading"]) -> Form:
    """Size and form of one bore from its readings, of which there is at least one."""
    diameters = np.array([reading.diameter_mm for reading in readings])
    depth, clock = _along(readings), _round(readings)
    design = np.column_stack([np.ones(len(diameters)), depth, clock])
    if not _tells(design):
        depth, clock = depth[:, :0], clock[:, :0]
        design = np.ones((len(diameters), 1))
    middle = diameters.mean()  # or the rounding of numbers near 84 would cost digits of a micrometre
    found = fit(design, diameters - middle, np.ones(len(diameters)))
    spare = len(diameters) - design.shape[1]
    taper = float(found.terms[1]) if depth.shape[1] else None
    harmonic = slice(1 + depth.shape[1], None)
    variances = np.diag(found.covariance)
    return Form(
        float(middle + found.terms[0]),
        float(diameters.min()),
        float(diameters.max()),
        taper,
        2 * float(np.hypot.reduce(found.terms[harmonic])) if clock.shape[1] else None,
        float(np.sqrt((found.residuals**2).sum() / spare)) if spare else None,
        len(diameters),
        spare,
        float(np.sqrt(variances[0])),
        float(np.sqrt(variances[1])) if depth.shape[1] else 0.0,
        2 * float(np.sqrt(variances[harmonic].sum())),
    )


def reading_error_mm(job: "Job", measured: "Measured") -> float:
    """Standard deviation of one reading of a round: the gauge's, or of all that the forms leave over if it is more."""
    forms = measured.forms.values()
    spare = sum(form.spare for form in forms)
    if not spare:
        return gauge_mm(job)
    left_over = sum(form.spare * (form.scatter_mm or 0.0) ** 2 for form in forms)
    return max(gauge_mm(job), float(np.sqrt(left_over / spare)))


def known(job: "Job", rounds: Sequence["Measured"]) -> list[Known | None]:
    """What is known of each bore of the job after so many rounds, None where nothing is."""
    return known_before_each(job, rounds)[-1]


def known_before_each(job: "Job", rounds: Sequence["Measured"]) -> list[list[Known | None]]:
    """What was known of each bore before each of the rounds, and after the last."""
    states = [[_told(job, index) for index in range(len(job.bore))]]
    for measured in rounds:
        bores = list(states[-1])
        error_mm = reading_error_mm(job, measured)
        for index, form in measured.forms.items():
            error, half = error_mm * form.in_mean, form.half_mm(error_mm)
            now = Known(form.mean_mm, error, form.smallest_mm, form.largest_mm, half)
            bores[index] = _behind(states[-1][index], measured.by_bore[index][0].set_mm, now)
        states.append(bores)
    return states


def _told(job: "Job", index: int) -> Known | None:
    told = measured_mm(job, job.bore[index])
    if told is None:
        return None
    smallest, largest = told
    # Where the mean lies between them is not told: as a spread of four standard deviations, which is chosen by us.
    error = max(gauge_mm(job), (largest - smallest) / 4)
    known = Known((smallest + largest) / 2, error, smallest, largest, None)
    near, far = wall_mm(job, job.bore[index]) or told
    if job.passes is None or far <= largest:
        return known
    most = aim_mm(job, job.bore[index]) - 2 * least_depth_mm(job)
    return known._replace(smallest_mm=near, largest_mm=max(largest, min(far, most)), old_wall_mm=far)


def _behind(before: Known | None, set_mm: float | None, now: Known) -> Known:
    """A bore as gauged after a cut, with what the cut has left of the old wall, which a gauge may not show."""
    if before is None or set_mm is None or set_mm > before.old_wall_mm:
        return now
    if set_mm > before.largest_mm:
        return now._replace(old_wall_mm=before.old_wall_mm)
    return now._replace(
        smallest_mm=min(now.smallest_mm, max(before.smallest_mm, set_mm)),
        largest_mm=max(now.largest_mm, before.largest_mm),
        old_wall_mm=before.old_wall_mm,
    )


def _less(size_mm: float, error_mm: float) -> float:
    return math.sqrt(max(0.0, size_mm**2 - error_mm**2))


def _along(readings: Sequence["Reading"]) -> Floats:
    """A column, (n, 1), of depths as parts of their range, from its middle; (n, 0) where there is but one depth."""
    depths = np.array([reading.depth_mm or 0.0 for reading in readings])
    reach = np.ptp(depths)
    if reach == 0:
        return np.empty((len(depths), 0))
    column: Floats = (depths - depths.min()) / reach - 0.5
    return column[:, None]


def _round(readings: Sequence["Reading"]) -> Floats:
    """Columns of the second harmonic, (n, 2), or of two diameters' difference, (n, 1), or none, (n, 0)."""
    if readings[0].angle_deg is None:
        return np.empty((len(readings), 0))
    clock = np.array([reading.angle_deg for reading in readings], dtype=np.float64) % 180
    twice = 2 * np.radians(clock)
    harmonic = np.column_stack([np.cos(twice), np.sin(twice)])
    if _tells(np.column_stack([np.ones(len(clock)), harmonic])):
        return harmonic
    angles = np.unique(clock)
    if len(angles) == 2 and abs(angles[1] - angles[0] - 90) <= SQUARE_DEG:
        return np.where(clock == angles[0], -1.0, 1.0)[:, None]
    return np.empty((len(clock), 0))


def _tells(design: Floats) -> bool:
    """Whether readings tell the terms of a design apart."""
    count, terms = design.shape
    if count < terms:
        return False
    lengths = np.sqrt((design * design).sum(axis=0))
    return bool(lengths.all()) and bool(np.linalg.svd(design / lengths, compute_uv=False)[-1] >= TELLS)
