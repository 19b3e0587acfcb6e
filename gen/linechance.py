"""How sure it is that a line leaves stock at every section, readings being as sure as they repeat; by simulation."""

import math
from typing import Final

import numpy as np

from gen.rowline import Line, Survey, off_line
from gen.sections import Floats

CHUNK: Final = 8192
"""Trials worked on at once; chosen by us: their arrays then stay in a core's cache."""


def chance(survey: Survey, line: Line, repeatability_mm: float, trials: int, seed: int) -> float:
    """Share of trials, from 0 to 1, in which a line leaves stock above 0 at every section.

    In each trial every centre, in Y and in Z, and every radius is off what was measured by a normal error of standard
    deviation ``repeatability_mm``, each by its own. Raises ValueError when that is not finite or below 0, or there is
    no trial.
    """
    return float((_least_stocks(survey, line, repeatability_mm, trials, seed) > 0).mean())


def stock_for(survey: Survey, line: Line, repeatability_mm: float, share: float, trials: int, seed: int) -> float:
    """What every target radius must grow by for ``chance`` to come to ``share``, mm; negative: so much may be spared.

    Of the same trials: anything above this does. Raises ValueError as ``chance``, and unless the share is above 0 and
    at most 1.
    """
    if not 0 < share <= 1:
        raise ValueError(f"share {share:g}: it must be more than 0 and at most 1")
    least = np.sort(_least_stocks(survey, line, repeatability_mm, trials, seed))
    return -float(least[trials - math.ceil(share * trials)])


def _least_stocks(survey: Survey, line: Line, repeatability_mm: float, trials: int, seed: int) -> Floats:
    """The least stock of each trial (trials,)."""
    if not 0 <= repeatability_mm < math.inf:
        raise ValueError(f"repeatability {repeatability_mm:g}: it must be a finite number, 0 or more")
    if trials < 1:
        raise ValueError(f"{trials} trials: there must be one or more")
    rng = np.random.default_rng(seed)
    measured = np.array([*off_line(survey, line), survey.room])[:, None]
    least = np.empty(trials)
    for first in range(0, trials, CHUNK):
        some = least[first : first + CHUNK]
        y, z, room = measured + repeatability_mm * rng.standard_normal((3, len(some), len(survey.x)))
        some[:] = (room - np.hypot(y, z)).min(axis=1)
    return least
