"""Least squares held against NIST's reference sets, the simulation against normal distributions by scipy."""

import math
from typing import Final

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]

from gen.chance import chances
from gen.leastsquares import Fit, fit
from gen.sections import Floats

# NIST StRD, Norris (calibration of ozone monitors), 36 observations: y, x. As shipped with SciPy.
NORRIS: Final = """
0.1 0.2  338.8 337.4  118.1 118.2  888.0 884.6  9.2 10.1  228.1 226.5  668.5 666.3  998.5 996.3  449.1 448.6
778.9 777.0  559.2 558.2  0.3 0.4  0.1 0.6  778.1 775.5  668.8 666.9  339.3 338.0  448.9 447.5  10.8 11.6
557.7 556.0  228.3 228.1  998.0 995.8  888.8 887.6  119.6 120.2  0.3 0.3  0.6 0.3  557.6 556.8  339.3 339.1
888.0 887.2  998.5 999.0  778.9 779.0  10.2 11.1  117.6 118.3  228.9 229.2  668.4 669.1  449.2 448.9  0.2 0.5
"""
# NIST StRD, Pontius (load cell calibration), 40 observations: y; x is 150000, 300000 ... 3000000, twice.
PONTIUS: Final = """
.11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146 1.20001 1.30822 1.41599 1.52399 1.63194 1.73947
1.84646 1.95392 2.06128 2.16844 .11052 .22018 .32939 .43886 .54798 .65739 .76596 .87474 .98300 1.09150 1.20004 1.30818
1.41613 1.52408 1.63159 1.73965 1.84696 1.95445 2.06177 2.16829
"""


def plainly(design: Floats, y: Floats) -> tuple[Fit, float, Floats]:
    """A fit of equal weights, its residual standard deviation, and the terms' standard deviations by it."""
    found = fit(design, y, np.ones(len(y)))
    left_over = math.sqrt(float((found.residuals**2).sum()) / (len(y) - design.shape[1]))
    return found, left_over, left_over * np.sqrt(np.diag(found.covariance))


def test_norris() -> None:
    """NIST StRD, Norris: certified values."""
    y, x = np.array(NORRIS.split(), dtype=np.float64).reshape(36, 2).T
    found, left_over, deviations = plainly(np.column_stack([np.ones(36), x]), y)
    assert found.terms == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-12)
    assert deviations == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-12)
    assert left_over == pytest.approx(0.884796396144373, rel=1e-12)
    assert float((found.residuals**2).sum()) == pytest.approx(26.6173985294224, rel=1e-12)


def test_pontius() -> None:
    """NIST StRD, Pontius: certified values; the square of x reaches 9e12."""
    y = np.array(PONTIUS.split(), dtype=np.float64)
    x = np.tile(np.arange(1, 21) * 150_000.0, 2)
    found, left_over, deviations = plainly(np.column_stack([np.ones(40), x, x * x]), y)
    certified = [0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14]
    assert found.terms == pytest.approx(certified, rel=1e-10)
    assert deviations == pytest.approx([0.107938612033077e-3, 0.157817399981659e-9, 0.486652849992036e-16], rel=1e-10)
    assert left_over == pytest.approx(0.205177424076185e-3, rel=1e-10)


def test_noint1() -> None:
    """NIST StRD, NoInt1: x 60 to 70, y 130 to 140, no intercept; certified values."""
    found, left_over, deviations = plainly(np.arange(60.0, 71)[:, None], np.arange(130.0, 141))
    assert found.terms == pytest.approx([2.07438016528926], rel=1e-14)
    assert deviations == pytest.approx([0.0165289256198347], rel=1e-12)
    assert left_over == pytest.approx(3.56753034006338, rel=1e-12)


def test_noint2() -> None:
    """NIST StRD, NoInt2: x 4 5 6, y 3 4 4, no intercept; certified value 8 / 11."""
    found, _, _ = plainly(np.array([[4.0], [5.0], [6.0]]), np.array([3.0, 4.0, 4.0]))
    assert found.terms == pytest.approx([8 / 11], rel=1e-14)


def test_the_simulation_against_the_multivariate_normal() -> None:
    """Chances of each and of all bores, against scipy's distribution functions, to four of the simulation's errors."""
    draw = np.random.default_rng(5)
    below, above = draw.uniform(0.002, 0.008, 4), draw.uniform(0.002, 0.008, 4)
    shared, own = draw.normal(0, 0.002, (3, 4)), draw.uniform(0.0005, 0.002, 4)
    found = chances(below, above, shared, own, seed=1)
    covariance = shared.T @ shared + np.diag(own**2)
    deviation = np.sqrt(np.diag(covariance))
    each = stats.norm.cdf(above / deviation) - stats.norm.cdf(-below / deviation)
    together = stats.multivariate_normal(cov=covariance).cdf(above, lower_limit=-below)
    assert 0.2 < together < 0.9
    for told, true in zip([*found.each, found.all], [*each, together], strict=True):
        assert told == pytest.approx(true, abs=4 * math.sqrt(true * (1 - true) / found.rows))
