"""Lines to bore on against outside sources: certified figures, a textbook, and independent solvers.

The solvers: linear programming by scipy (BSD-3, on HiGHS, MIT), and for round stock cutting planes on top of it, which
close in on the answer from the other side; smallest circles by shapely (BSD-3, on GEOS).
"""

from typing import Final

import numpy as np
import pytest
import scipy.optimize  # type: ignore[import-untyped]
import shapely  # type: ignore[import-untyped]

from gen.bestline import TowardCam, greatest_along_x, greatest_along_x_within, greatest_least_stock, least_moved
from gen.rowline import Line, NoLine, Survey, least_squares, measure
from gen.sections import Floats

NORRIS: Final = """
0.2 0.1, 337.4 338.8, 118.2 118.1, 884.6 888, 10.1 9.2, 226.5 228.1, 666.3 668.5, 996.3 998.5, 448.6 449.1,
777 778.9, 558.2 559.2, 0.4 0.3, 0.6 0.1, 775.5 778.1, 666.9 668.8, 338 339.3, 447.5 448.9, 11.6 10.8,
556 557.7, 228.1 228.3, 995.8 998, 887.6 888.8, 120.2 119.6, 0.3 0.3, 0.3 0.6, 556.8 557.6, 339.1 339.3,
887.2 888, 999 998.5, 779 778.9, 11.1 10.2, 118.3 117.6, 229.2 228.9, 669.1 668.4, 448.9 449.2, 0.5 0.2
"""
"""NIST Statistical Reference Datasets, linear regression, Norris: x y, x y, ..."""


def survey_of(x: Floats, y: Floats, z: Floats, room: Floats) -> Survey:
    """Holes with so much all round to their targets, less than 0 too."""
    return Survey(x, y, z, 50 - room, np.full(len(x), 50.0))


def random_survey(rng: np.random.Generator) -> Survey:
    count = int(rng.integers(3, 12))
    x = np.sort(rng.uniform(0, 800, count))
    y, z = rng.normal(size=(2, count)) * 0.05
    return survey_of(x, y, z, rng.uniform(0, 0.2, count))


def least(survey: Survey, line: Line) -> float:
    return float(measure(survey, line).stock.min())


def at_ends(survey: Survey, line: Line) -> Floats:
    """Y and Z at the two ends; shape (2, 2)."""
    return line.at(np.array([survey.x.min(), survey.x.max()]))


def test_least_squares_on_certified_figures() -> None:
    """NIST StRD, Norris, certified: B0 -0.262323073774029, B1 1.00211681802045, residual sum 26.6173985294224."""
    x, y = np.array([pair.split() for pair in NORRIS.split(",")], dtype=np.float64).T
    assert len(x) == 36
    line = least_squares(survey_of(x, y, -y, np.ones(36)))
    assert line.y0 == pytest.approx(-0.262323073774029, rel=1e-12)
    assert line.y1 == pytest.approx(1.00211681802045, rel=1e-13)
    assert (line.z0, line.z1) == (-line.y0, -line.y1)
    assert ((y - line.at(x)[0]) ** 2).sum() == pytest.approx(26.6173985294224, rel=1e-12)


def test_the_best_line_to_a_parabola() -> None:
    """K. R. Davidson, A. P. Donsig, *Real Analysis with Real Applications*, 10.6: to x^2 on [0, 1], x - 1/8."""
    x = np.linspace(0, 1, 101)
    survey = survey_of(x, np.zeros(101), x**2, np.zeros(101))
    line = greatest_least_stock(survey)
    assert line[:4] == pytest.approx((0, 0, -1 / 8, 1), abs=1e-8)
    assert least(survey, line) == pytest.approx(-1 / 8, abs=1e-9)
    held = {hold.section: hold.multiplier for hold in line.holds}
    assert held == pytest.approx({0: 0.25, 50: 0.5, 100: 0.25}, abs=1e-6), "where the error alternates"


def test_flat_surveys_by_linear_programming() -> None:
    """All in the XZ plane: the minimum zone, and the least shift that keeps a stock."""
    rng = np.random.default_rng(40)
    for _ in range(12):
        count = int(rng.integers(3, 12))
        x, z, room = np.sort(rng.uniform(0, 800, count)), rng.normal(size=count) * 0.05, rng.uniform(0, 0.2, count)
        survey = survey_of(x, np.zeros(count), z, room)
        share = (x - x[0]) / (x[-1] - x[0])
        line_at = np.column_stack([1 - share, share])
        one = np.ones((count, 1))
        best = scipy.optimize.linprog(
            [0, 0, -1],
            A_ub=np.concatenate([np.hstack([line_at, one]), np.hstack([-line_at, one])]),
            b_ub=np.concatenate([room + z, room - z]),
            bounds=(None, None),
            method="highs",
        )
        assert least(survey, greatest_least_stock(survey)) == pytest.approx(-best.fun, abs=2e-9)

        stock = -best.fun - 0.01
        ends, shift = np.concatenate([np.eye(2), -np.eye(2)]), -np.ones((4, 1))
        moved = scipy.optimize.linprog(
            [0, 0, 1],
            A_ub=np.concatenate(
                [np.hstack([line_at, 0 * one]), np.hstack([-line_at, 0 * one]), np.hstack([ends, shift])]
            ),
            b_ub=np.concatenate([room - stock + z, room - stock - z, np.zeros(4)]),
            bounds=(None, None),
            method="highs",
        )
        found = at_ends(survey, least_moved(survey, stock))
        assert np.abs(found[1]).max() == pytest.approx(moved.fun, abs=1e-6)


def test_flat_surveys_within_limits_by_linear_programming() -> None:
    """All in the XZ plane, from an old line at 0 no lower and no higher than most: any line, and those along X."""
    rng = np.random.default_rng(44)
    for _ in range(12):
        count = int(rng.integers(3, 12))
        x, z, room = np.sort(rng.uniform(0, 800, count)), rng.normal(size=count) * 0.05, rng.uniform(0, 0.2, count)
        survey, most = survey_of(x, np.zeros(count), z, room), float(rng.uniform(0, 0.05))
        share = (x - x[0]) / (x[-1] - x[0])
        cam, one = TowardCam(0, 1, most), np.ones((count, 1))
        stocks = {}
        for name, line_at in (("any", np.column_stack([1 - share, share])), ("along X", one)):
            best = scipy.optimize.linprog(
                [0] * line_at.shape[1] + [-1],
                A_ub=np.concatenate([np.hstack([line_at, one]), np.hstack([-line_at, one])]),
                b_ub=np.concatenate([room + z, room - z]),
                bounds=[(0, most)] * line_at.shape[1] + [(None, None)],
                method="highs",
            )
            stocks[name] = -best.fun
        with pytest.raises(NoLine) as refusal:
            least_moved(survey, 1.0, cam, never_lower=True)
        assert refusal.value.best == pytest.approx(stocks["any"], abs=3e-8)
        level = greatest_along_x_within(survey, Line(0, 0, 0, 0), cam, never_lower=True)
        assert level is not None
        assert least(survey, level) == pytest.approx(stocks["along X"], abs=3e-8)


def test_round_surveys_by_cutting_planes() -> None:
    """Each cut asks for the stock in one direction: the program is never below the best, and ends 1e-8 from it."""
    rng = np.random.default_rng(41)
    for _ in range(5):
        survey = random_survey(rng)
        assert least(survey, greatest_least_stock(survey)) == pytest.approx(by_cutting_planes(survey), abs=1e-7)


def by_cutting_planes(survey: Survey) -> float:
    """The greatest least stock, from above."""
    share = (survey.x - survey.x[0]) / (survey.x[-1] - survey.x[0])
    room = survey.target - survey.radius
    rows: list[Floats] = []
    limits: list[Floats] = []

    def cut(y: Floats, z: Floats) -> None:
        """Ask of every section for the stock toward the unit vector y, z from the line."""
        rows.append(np.column_stack([-y * (1 - share), -z * (1 - share), -y * share, -z * share, np.ones(len(y))]))
        limits.append(room - y * survey.y - z * survey.z)

    for clock in np.linspace(0, 2 * np.pi, 8, endpoint=False):
        cut(np.full(len(room), np.sin(clock)), np.full(len(room), np.cos(clock)))
    for _ in range(40):
        best = scipy.optimize.linprog(
            [0, 0, 0, 0, -1], np.concatenate(rows), np.concatenate(limits), bounds=(None, None), method="highs"
        )
        y = survey.y - best.x[0] * (1 - share) - best.x[2] * share
        z = survey.z - best.x[1] * (1 - share) - best.x[3] * share
        size = np.hypot(y, z)
        if best.x[4] - (room - size).min() < 1e-8:
            break
        cut(y / np.maximum(size, 1e-12), z / np.maximum(size, 1e-12))
    return float(best.x[4])


def test_smallest_circles() -> None:
    """The same points at both ends of a row: at each the line must go through the centre of their smallest circle."""
    rng = np.random.default_rng(42)
    for _ in range(20):
        points = rng.normal(size=(7, 2)) * 0.05
        twice = np.concatenate([points, points])
        survey = survey_of(np.repeat([0.0, 500], 7), twice[:, 0], twice[:, 1], np.zeros(14))
        line = greatest_least_stock(survey)
        assert -least(survey, line) == pytest.approx(
            shapely.minimum_bounding_radius(shapely.MultiPoint(points)), abs=2e-9
        )
        front, rear = at_ends(survey, line).T
        np.testing.assert_allclose(front, rear, atol=1e-4)
        assert np.hypot(*(points - front).T).max() <= shapely.minimum_bounding_radius(shapely.MultiPoint(points)) + 2e-9


def test_smallest_circles_along_x() -> None:
    """A row at any places along X, all with as much room: the line goes through the centre of the smallest circle."""
    rng = np.random.default_rng(43)
    for _ in range(20):
        points = rng.normal(size=(9, 2)) * 0.05
        survey = survey_of(np.sort(rng.uniform(0, 800, 9)), points[:, 0], points[:, 1], np.zeros(9))
        line = greatest_along_x(survey)
        circle = shapely.minimum_bounding_circle(shapely.MultiPoint(points))
        assert -least(survey, line) == pytest.approx(
            shapely.minimum_bounding_radius(shapely.MultiPoint(points)), abs=2e-9
        )
        assert (line.y0, line.z0) == pytest.approx((circle.centroid.x, circle.centroid.y), abs=1e-4)
        assert (line.y1, line.z1) == (0, 0)
