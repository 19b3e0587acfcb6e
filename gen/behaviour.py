"""How the cutter behaves, learned from what it cut: its bias, and how far the bar springs back.

    diameter after = set + bias - spring * (set - diameter before)

bias
    what a bore comes out larger than the cutter was set to when nothing springs: the error of the setting gauge, and
    the cutter's run.
spring
    part of what is to be taken off the diameter that stays, because bar, head and mill give way. It is the same part of
    the depth on the radius.

Both come from all cuts so far by least squares, each cut weighted by what its size is known to. Every setting of the
cutter has besides an error of its own, shared by the bores that were cut with it, and every bore scatters. What is
chosen by us, from memory of what such bars do, is held against it as weakly as stated: a single pass cannot tell bias
from spring, and two passes of like depth hardly. Lengths are mm, on the diameter.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from gen.boresize import Known, known_before_each, reading_error_mm
from gen.leastsquares import Fit, fit
from gen.passes import least_depth_mm
from gen.sections import Floats

if TYPE_CHECKING:
    from gen.job import Job
    from gen.readings import Measured

BAND: Final = 1.959964
"""Standard deviations either side of the expected value that hold 95 % of a normal distribution."""
BIAS_MM: Final = 0.0
BIAS_ERROR_MM: Final = 0.03
"""Bias before anything is cut: none, as setting gauges are trued, and within some hundredths as they are read in a
shop. From memory, chosen by us."""
SPRING: Final = 0.05
SPRING_ERROR: Final = 0.05
"""Spring before anything is cut: short bars leave a twentieth of the cut, stiff ones nothing, slender ones a tenth or
more. From memory, chosen by us."""
USUAL_SETTING_MM: Final = 0.002
"""Standard deviation to which a setting is repeated, before it is seen: a micrometre on the radius. From memory."""
USUAL_SCATTER_MM: Final = 0.002
"""Scatter of bores cut alike, one standard deviation, before it is seen. From memory, chosen by us."""
USUAL_COUNTS: Final = 4
"""What is usual counts as much as so many settings, or bores, that were seen; chosen by us."""
LEAST_PART: Final = 0.25
"""Part of what it was set to take off that a cutter takes off at least, if it cuts at all; chosen by us."""
MOST_BIAS_MM: Final = 3 * BIAS_ERROR_MM
"""What a bore may come out smaller than set by bias alone; where more is missing, the cutter did not cut."""
MOST_DOUBTFUL: Final = 13.8
"""Squared distance from what was believed that one cutter in a thousand exceeds (chi-squared, 2 degrees of freedom)."""
MOST_SETTING_MM: Final = 0.01
"""Settings that repeat no better do not follow the model at all; chosen by us."""
MOST_SCATTER_MM: Final = 0.02
"""Bores of one setting that scatter more do not follow the model either, ten times what is usual; chosen by us."""
LEAST_SCATTER_MM: Final = 0.001
"""Bores are not believed to come out more alike than this: what settings are told to; chosen by us."""
ROUNDS: Final = 8
"""Times scatter and setting error are found again from what the fit leaves over, and the fit with them."""


class Taken(NamedTuple):
    """One cut of one bore: which setting it was, its round and diameter, and the diameters of the model.

    ``error_mm`` is the standard error of the diameter after.
    """

    setting: tuple[int, float]
    bore: int
    set_mm: float
    before_mm: float
    after_mm: float
    error_mm: float


class NotUsed(NamedTuple):
    """A cut of a round from which nothing is learned, and the diameters of the model.

    ``is_light``: not over all of the old wall, or lighter there than the cutter cuts. Else the cutter took off hardly
    any of what it was set to: it may not have cut at all.
    """

    round: int
    bore: int
    is_light: bool
    set_mm: float
    before_mm: float
    after_mm: float

    @property
    def is_failed(self) -> bool:
        """Whether no bias explains what the cutter left."""
        return not self.is_light and self.set_mm - self.after_mm > MOST_BIAS_MM


class Behaviour(NamedTuple):
    """What was learned: bias and spring, their covariance (2, 2), and from how many cuts.

    ``setting_mm`` and ``scatter_mm`` are the standard deviations of what a setting does to all its bores, and of what
    each bore does for itself.
    """

    bias_mm: float
    spring: float
    covariance: Floats
    setting_mm: float
    scatter_mm: float
    cuts: int

    def after_mm(self, set_mm: float, before_mm: Floats) -> Floats:
        """Diameters expected (n,) of bores of diameters before (n,)."""
        return set_mm + self.bias_mm - self.spring * (set_mm - before_mm)

    def set_for_mm(self, wanted_mm: float, before_mm: float) -> float:
        """The setting from which a bore is expected to come out as wanted."""
        return (wanted_mm - self.bias_mm - self.spring * before_mm) / (1 - self.spring)

    def reach_mm(self, set_mm: float, before_mm: float) -> tuple[float, float]:
        """The diameter that a setting is expected to cut, and the largest it may; nothing springs where nothing is cut.

        Where nothing was learned yet both are the setting: what is believed before is no reason to doubt it.
        """
        if not self.cuts:
            return set_mm, set_mm
        before = np.array([min(set_mm, before_mm)])
        expected = float(self.after_mm(set_mm, before)[0])
        deviation = float(np.hypot(np.linalg.norm(self.shared(set_mm, before)), self.scatter_mm))
        return expected, expected + BAND * deviation

    def shared(self, set_mm: float, before_mm: Floats) -> Floats:
        """What independent standard normal deviates do to all bores together, (3, n): see ``gen.chance``.

        The first two carry the uncertainty of bias and spring, the third that of the setting.
        """
        slopes = np.array([np.ones(len(before_mm)), before_mm - set_mm])
        setting = np.full((1, len(before_mm)), self.setting_mm)
        together: Floats = np.vstack([np.linalg.cholesky(self.covariance).T @ slopes, setting])
        return together

    @property
    def is_credible(self) -> bool:
        """Whether a cutter and its bar may well behave so."""
        bias, spring = (self.bias_mm - BIAS_MM) / BIAS_ERROR_MM, (self.spring - SPRING) / SPRING_ERROR
        is_even = self.setting_mm <= MOST_SETTING_MM and self.scatter_mm <= MOST_SCATTER_MM
        return is_even and bias**2 + spring**2 <= MOST_DOUBTFUL

    def own_mm(self, before_error_mm: Floats) -> Floats:
        """Standard deviation (n,) of each bore for itself, from that of the diameters before (n,)."""
        return np.hypot(self.scatter_mm, self.spring * before_error_mm)


def taken(job: "Job", rounds: Sequence["Measured"]) -> tuple[list[Taken], list[NotUsed]]:
    """Every cut in the rounds, the oldest first, and those from which nothing is learned."""
    cuts: list[Taken] = []
    not_used: list[NotUsed] = []
    for number, (measured, before) in enumerate(zip(rounds, known_before_each(job, rounds), strict=False), 1):
        for one in _taken(job, number, measured, before):
            if isinstance(one, Taken):
                cuts.append(one)
            else:
                not_used.append(one)
    return cuts, not_used


def _taken(job: "Job", number: int, measured: "Measured", before: Sequence[Known | None]) -> Iterator[Taken | NotUsed]:
    error_mm, least_mm = reading_error_mm(job, measured), least_depth_mm(job)
    for bore, form in measured.forms.items():
        was, set_mm, after_mm = before[bore], measured.by_bore[bore][0].set_mm, form.mean_mm
        assert was is not None
        assert set_mm is not None
        is_light = set_mm - max(was.largest_mm, was.old_wall_mm) < 2 * least_mm
        if is_light or after_mm - was.mean_mm < LEAST_PART * (set_mm - was.mean_mm):
            yield NotUsed(number, bore, is_light, set_mm, was.mean_mm, after_mm)
        else:
            yield Taken((number, set_mm), bore, set_mm, was.mean_mm, after_mm, error_mm * form.in_mean)


def learned(cuts: Sequence[Taken]) -> Behaviour:
    """Bias, spring and scatter from cuts, none of which is needed: then it is what is believed before."""
    settings = sorted({cut.setting for cut in cuts})
    column = {setting: index for index, setting in enumerate(settings)}
    count, terms = len(cuts), 2 + len(settings)
    design = np.zeros((count + terms, terms))
    design[:count, 0] = 1
    design[:count, 1] = [cut.before_mm - cut.set_mm for cut in cuts]
    of_setting = np.array([column[cut.setting] for cut in cuts], dtype=np.intp)
    design[np.arange(count), 2 + of_setting] = 1
    design[count:] = np.eye(terms)
    believed = [BIAS_MM, SPRING] + [0.0] * len(settings)
    values = np.array([cut.after_mm - cut.set_mm for cut in cuts] + believed)
    errors = np.array([cut.error_mm for cut in cuts])
    setting_mm, scatter_mm = USUAL_SETTING_MM, USUAL_SCATTER_MM
    for _ in range(ROUNDS):
        doubt = [BIAS_ERROR_MM, SPRING_ERROR] + [setting_mm] * len(settings)
        found = fit(design, values, np.concatenate([np.hypot(scatter_mm, errors), doubt]))
        setting_mm = _setting_mm(found)
        scatter_mm = _scatter_mm(found.residuals[:count], errors, of_setting)
    bias, spring = (float(term) for term in found.terms[:2])
    return Behaviour(bias, spring, found.covariance[:2, :2], setting_mm, scatter_mm, count)


def _setting_mm(found: Fit) -> float:
    """Setting error from the errors that the fit gives to each setting, and from what is not known of them.

    A step of expectation and maximisation (A. P. Dempster, N. M. Laird, D. B. Rubin, 1977; from memory). Settings that
    contradict each other so make what follows from them less certain.
    """
    squares = found.terms[2:] ** 2 + np.diag(found.covariance)[2:]
    return float(np.sqrt((USUAL_COUNTS * USUAL_SETTING_MM**2 + squares.sum()) / (USUAL_COUNTS + len(squares))))


def _scatter_mm(residuals: Floats, errors: Floats, of_setting: "np.ndarray[tuple[int], np.dtype[np.intp]]") -> float:
    """Scatter of bores of one setting about each other, less what the gauge makes of it; all (n,).

    The sum of squares expected is that of scatter and gauge over the degrees of freedom; what is usual counts as so
    many more of them, so that two bores that happen to agree do not make a scatter of nothing.
    """
    if not len(residuals):
        return USUAL_SCATTER_MM
    together = np.bincount(of_setting)
    apart = residuals - (np.bincount(of_setting, residuals) / together)[of_setting]
    by_gauge = (errors**2 * (1 - 1 / together[of_setting])).sum()
    seen = max(0.0, float((apart**2).sum() - by_gauge))
    spare = len(residuals) - len(together)
    return max(LEAST_SCATTER_MM, float(np.sqrt((USUAL_COUNTS * USUAL_SCATTER_MM**2 + seen) / (USUAL_COUNTS + spare))))
