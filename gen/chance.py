"""The chance that bores come out within their limits, by simulation.

A simulated row is every bore of it cut once: what all bores share (how well bias and spring are known, the error of the
setting) is drawn once, what each has for itself once for each. The same seed gives the same chances.
"""

from typing import Final, NamedTuple

import numpy as np

from gen.sections import Floats

ROWS: Final = 1_000_000
"""Rows simulated: a chance is then told to a twentieth of a percent."""
MOST_DRAWS: Final = 40_000_000
"""Bores simulated at most, so that a row of very many does not take minutes; chosen by us."""
CHUNK: Final = 131_072
"""Bores simulated at once; chosen by us: half a megabyte stays in a core's cache."""


class Chances(NamedTuple):
    """Part of the simulated rows in which each bore (n,) is within its limits, in which all are, and how many rows."""

    each: Floats
    all: float
    rows: int


def chances(below: Floats, above: Floats, shared: Floats, own: Floats, *, seed: int, rows: int = ROWS) -> Chances:
    """Chances of bores that may come out so much ``below`` and ``above`` (n,) what is expected, in any unit of length.

    ``shared`` (k, n): what k independent standard normal deviates do to each bore. ``own`` (n,): standard deviation of
    each bore for itself. A bore that may come out less than nothing above or below has little chance, as it should.
    """
    count = len(own)
    rows = max(1, min(rows, MOST_DRAWS // count))
    draw = np.random.default_rng(seed)
    low, high, moves, scale = (
        np.asarray(array, dtype=np.float32) for array in (-below[:, None], above[:, None], shared.T, own[:, None])
    )
    within_each, within_all, done = np.zeros(count, dtype=np.int64), 0, 0
    while done < rows:
        now = min(max(1, CHUNK // count), rows - done)
        sizes = draw.standard_normal((count, now), dtype=np.float32)
        sizes *= scale
        sizes += moves @ draw.standard_normal((len(shared), now), dtype=np.float32)
        within = (sizes >= low) & (sizes <= high)
        within_each += np.count_nonzero(within, axis=1)
        within_all += int(np.count_nonzero(within.all(axis=0)))
        done += now
    return Chances(within_each / rows, within_all / rows, rows)


def percent(part: float) -> str:
    """A chance as a person reads it, never as certain."""
    if part > 0.999:
        return "over 99.9 %"
    return "under 0.1 %" if part < 0.001 else f"{part * 100:.1f} %"
