"""Circles and form against outside sources: a published fit, an independent solver, and the standard's definitions."""

import math

import numpy as np
import pytest
import scipy.optimize  # type: ignore[import-untyped]

from gen.roundness import probed, swept
from gen.sections import Floats


def clock_points(clock_deg: Floats, radius: Floats) -> Floats:
    angles = np.radians(clock_deg)
    points: Floats = radius[:, None] * np.stack([np.sin(angles), np.cos(angles)], axis=1)
    return points


def test_a_published_circle() -> None:
    """W. Gander, G. H. Golub, R. Strebel, Least-squares fitting of circles and ellipses, BIT 34 (1994), from memory.

    Six points far from round: the geometric fit has centre (4.7398, 2.9835) and radius 4.7142, where the algebraic one,
    from which ours starts, has (5.3794, 7.2532) and 3.0370.
    """
    found = probed([(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)])
    assert found[:3] == pytest.approx((4.7398, 2.9835, 4.7142), abs=5e-5)


def test_the_circle_of_an_independent_solver() -> None:
    """Levenberg-Marquardt of MINPACK, by scipy (BSD-3), which stops 1e-8 or so short of the bottom of a valley."""
    rng = np.random.default_rng(30)
    for _ in range(60):
        clock = rng.uniform(0, rng.choice([120, 240, 360]), int(rng.integers(4, 20)))
        points = clock_points(clock, 30 + rng.normal(size=len(clock)) * 0.02) + rng.uniform(-50, 50, 2)

        def off(v: Floats, points: Floats = points) -> Floats:
            off: Floats = np.hypot(points[:, 0] - v[0], points[:, 1] - v[1]) - v[2]
            return off

        found = probed(points)
        start = [*points.mean(axis=0), 30]
        best = scipy.optimize.least_squares(off, start, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
        assert found[:3] == pytest.approx(best.x, abs=1e-5)
        assert (found.deviations**2).sum() <= 2 * best.cost * (1 + 1e-12)
        np.testing.assert_allclose(found.deviations, off(np.array(found[:3])), atol=1e-12)


def test_the_centre_of_evenly_spaced_readings() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 2.3.4.4 (the formulas as republished).

    For N radii P at evenly spaced angles R = sum P / N, X = 2 / N * sum P cos, Y = 2 / N * sum P sin, and the rest is
    what is not round. Here cos goes with Z, the clock starting straight up.
    """
    rng = np.random.default_rng(31)
    for count in (3, 4, 8, 36):
        clock = np.arange(count) * 360 / count
        readings = rng.normal(size=count) * 0.02
        angles = np.radians(clock)
        found = swept(clock, readings, grows="out")
        assert found.z == pytest.approx(2 / count * (readings @ np.cos(angles)), abs=1e-15)
        assert found.y == pytest.approx(2 / count * (readings @ np.sin(angles)), abs=1e-15)


def test_roundness_is_peak_to_valley_about_the_least_squares_circle() -> None:
    """ISO 12181-1:2011, RONt of the LSCI, from memory: largest local deviation plus the size of the most negative.

    Undulations of three and more per revolution leave the least squares circle of evenly spaced points where it was,
    to first order, so that RONt is the undulation's own height.
    """
    clock = np.arange(0.0, 360, 1)
    for undulations in (2, 3, 5, 12):
        wave = 0.01 * np.cos(np.radians(undulations * clock))
        found = probed(clock_points(clock, 30 + wave))
        assert found.roundness == pytest.approx(0.02, abs=1e-5)
        assert found.roundness == found.deviations.max() + abs(found.deviations.min())
        assert found.oval is not None
        if undulations == 2:
            assert found.oval.size == pytest.approx(0.04, abs=1e-5), "its diameters differ by four amplitudes"
            assert found.oval.left_over < 1e-5
        else:
            assert found.oval.size < 1e-5
            assert found.oval.left_over == pytest.approx(0.02, abs=1e-5)


def test_three_lobes_have_one_diameter() -> None:
    """Common practice, no source: odd lobes pass a two-point gauge; probing tells them."""
    clock = np.arange(0.0, 360, 30)
    wave = 0.01 * np.cos(np.radians(3 * clock))
    across = wave + np.roll(wave, 6)
    assert np.abs(across).max() < 1e-15
    assert probed(clock_points(clock, 30 + wave)).roundness == pytest.approx(0.02, abs=1e-5)


def test_an_ellipse() -> None:
    """Semi-axes 30.02 and 30: its diameters differ by 0.04, its form next to nothing from two undulations."""
    angles = np.radians(np.arange(0.0, 360, 5))
    found = probed(np.stack([30.02 * np.sin(angles), 30 * np.cos(angles)], axis=1))
    assert found.oval is not None
    assert found.oval.size == pytest.approx(0.04, abs=1e-5)
    assert found.oval.clock_deg == pytest.approx(90, abs=1e-6)
    assert found.oval.left_over < 2e-5
    assert math.hypot(found.y, found.z) < 1e-12
