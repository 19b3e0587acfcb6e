"""Least costs worked by hand, and the proofs that come with them taken at their word on random problems."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.cones import GAP, Cones, NotSolved, Rows, Solution, minimise
from gen.sections import Floats

NO_ROWS = Rows(np.empty((0, 2)), np.empty(0))
NO_CONES = Cones(np.empty((0, 2, 2)), np.empty((0, 2)), np.empty((0, 2)), np.empty(0))
seeds = st.integers(0, 2**32 - 1)


def discs(centres: list[tuple[float, float]], radii: list[float]) -> Cones:
    """v within discs of the plane."""
    count = len(radii)
    return Cones(np.tile(np.eye(2), (count, 1, 1)), -np.array(centres), np.zeros((count, 2)), np.array(radii))


def slacks(cones: Cones, rows: Rows, v: Floats) -> Floats:
    return np.concatenate([cones.c @ v + cones.d - np.hypot(*(cones.a @ v + cones.b).T), rows.h - rows.g @ v])


def random_problem(seed: int) -> tuple[Floats, Cones, Rows, Floats]:
    """Some cones and rows about a start that is within them, and a box, so that there is a least cost."""
    rng = np.random.default_rng(seed)
    count, many = int(rng.integers(2, 7)), int(rng.integers(1, 12))
    start = rng.normal(size=count)
    a, b, c = rng.normal(size=(many, 2, count)), rng.normal(size=(many, 2)), rng.normal(size=(many, count)) * 0.5
    d = np.hypot(*(a @ start + b).T) - c @ start + 10.0 ** rng.uniform(-3, 1, many)
    box = np.concatenate([np.eye(count), -np.eye(count)])
    g = np.concatenate([box, rng.normal(size=(3, count))])
    return rng.normal(size=count), Cones(a, b, c, d), Rows(g, g @ start + 10.0 ** rng.uniform(-3, 1, len(g))), start


def test_the_corner_of_linear_limits() -> None:
    """x + y least with x >= 1, y >= 2 and x + y >= 2, which holds nothing."""
    rows = Rows(np.array([[-1.0, 0], [0, -1], [-1, -1]]), np.array([-1.0, -2, -2]))
    found = minimise(np.array([1.0, 1]), NO_CONES, rows, np.array([5.0, 9]))
    np.testing.assert_allclose(found.v, [1, 2], atol=2e-9)
    np.testing.assert_allclose(found.rows, [1, 1, 0], atol=1e-6)
    assert found.cones.shape == (0,)
    assert 0 < found.gap <= GAP


def test_the_side_of_a_disc() -> None:
    found = minimise(np.array([-3.0, -4]), discs([(1, 2)], [10]), NO_ROWS, np.array([1.0, 2]))
    np.testing.assert_allclose(found.v, [7, 10], atol=1e-4)
    assert found.v @ [-3, -4] == pytest.approx(-61, abs=1.1e-9)
    assert found.cones == pytest.approx([5], rel=1e-6), "a larger radius by 1 lowers the cost by |cost|"


def test_where_two_discs_meet() -> None:
    """They share (0, +-3): the least y is not at the side of either."""
    found = minimise(np.array([0.0, 1]), discs([(-4, 0), (4, 0)], [5, 5]), NO_ROWS, np.array([0.1, 0.5]))
    np.testing.assert_allclose(found.v, [0, -3], atol=2e-9)
    np.testing.assert_allclose(found.cones, [5 / 6, 5 / 6], rtol=1e-6)


def test_the_point_of_a_cone() -> None:
    """The least size of v: 0, where the cone has no slope."""
    cone = Cones(np.eye(2, 3)[None], np.zeros((1, 2)), np.eye(3)[2:], np.zeros(1))
    found = minimise(np.array([0.0, 0, 1]), cone, Rows(np.empty((0, 3)), np.empty(0)), np.array([3.0, 4, 6]))
    np.testing.assert_allclose(found.v, 0, atol=2e-9)


def test_discs_that_share_next_to_nothing() -> None:
    """Two that overlap by 2e-8, so that all they share is as high as 2 * sqrt(2e-8 * 10 / 2) or so."""
    cones = discs([(-10 + 1e-8, 0), (10 - 1e-8, 0)], [10, 10])
    found = minimise(np.array([0.0, -1]), cones, NO_ROWS, np.zeros(2))
    assert found.v[1] == pytest.approx(math.sqrt(100 - (10 - 1e-8) ** 2), abs=1.1e-9)


def test_of_many_that_cost_the_least_the_same_from_anywhere() -> None:
    """Any x from 0 to 4 does; the barrier's middle is x = 2."""
    rows = Rows(np.array([[1.0, 0], [-1, 0], [0, -1], [0, 1]]), np.array([4.0, 0, 0, 9]))
    for start in ([0.001, 0.002], [3.9, 8.9], [1.0, 4]):
        found = minimise(np.array([0.0, 1]), NO_CONES, rows, np.array(start))
        np.testing.assert_allclose(found.v, [2, 0], atol=1e-6)


def test_enough_is_enough() -> None:
    disc, cost, start = discs([(0, 0)], [10]), np.array([1.0, 0]), np.array([9.0, 0])
    found = minimise(cost, disc, NO_ROWS, start, enough=-5.0)
    assert -10 < found.v[0] <= -5
    assert found.gap > GAP
    assert found.v[0] - found.gap <= -10, "the proof holds for it, too"
    assert minimise(cost, disc, NO_ROWS, start, enough=-20.0).v[0] == pytest.approx(-10, abs=1.1e-9)


@settings(max_examples=15)
@given(seed=seeds)
def test_the_proof_holds(seed: int) -> None:
    """Inside; and what the multipliers promise for a changed problem is no more than what solving that gives."""
    cost, cones, rows, start = random_problem(seed)
    found = minimise(cost, cones, rows, start)
    assert (slacks(cones, rows, found.v) > 0).all()
    assert 0 <= found.gap <= GAP
    assert (found.cones > 0).all()
    assert (found.rows > 0).all()
    rng = np.random.default_rng(seed)
    more = Cones(cones.a, cones.b, cones.c, cones.d + rng.uniform(0, 0.1, len(cones.d)))
    wider = Rows(rows.g, rows.h + rng.uniform(0, 0.1, len(rows.h)))
    other = minimise(cost, more, wider, start)
    promised = cost @ found.v - found.cones @ (more.d - cones.d) - found.rows @ (wider.h - rows.h)
    assert cost @ other.v >= promised - 3e-9
    assert cost @ other.v <= cost @ found.v + 2e-9


@settings(max_examples=15)
@given(seed=seeds)
def test_nothing_near_costs_less(seed: int) -> None:
    cost, cones, rows, start = random_problem(seed)
    found = minimise(cost, cones, rows, start)
    rng = np.random.default_rng(seed)
    sizes = 10.0 ** rng.uniform(-9, 0, 500)
    steps = rng.normal(size=(500, len(cost))) * sizes[:, None]
    inside = [v for v in found.v + steps if (slacks(cones, rows, v) >= 0).all()]
    assert all(cost @ v >= cost @ found.v - GAP for v in inside)


@settings(max_examples=15)
@given(seed=seeds, factor=st.sampled_from([1e-3, 0.1, 30.0]))
def test_the_unit_of_the_cost_is_free(seed: int, factor: float) -> None:
    cost, cones, rows, start = random_problem(seed)
    one = minimise(cost, cones, rows, start)
    other = minimise(factor * cost, cones, rows, start, gap=GAP * factor)
    assert cost @ one.v == pytest.approx(cost @ other.v, abs=3e-9)


def solved(**changes: Floats) -> Solution:
    """A disc and a row, with something changed."""
    disc = discs([(0, 0)], [1])
    arrays = {"cost": np.array([1.0, 0]), "start": np.zeros(2), "h": np.ones(1), "b": disc.b} | changes
    rows = Rows(np.array([[0.0, 1]]), arrays["h"])
    return minimise(arrays["cost"], disc._replace(b=arrays["b"]), rows, arrays["start"])


def test_refusals() -> None:
    assert solved().v[0] == pytest.approx(-1)
    with pytest.raises(ValueError, match=r"^the start is not strictly within the limits$"):
        solved(start=np.array([1.0, 0]))
    with pytest.raises(ValueError, match=r"^the start is not strictly within the limits$"):
        solved(start=np.array([0.0, 0]), h=np.zeros(1))
    with pytest.raises(ValueError, match=r"^figures that are not finite: there is nothing to solve$"):
        solved(h=np.array([np.inf]))
    with pytest.raises(ValueError, match=r"^a cost of 0 throughout: every v costs the same$"):
        solved(cost=np.zeros(2))
    with pytest.raises(
        ValueError,
        match=r"^arrays of shapes \[\(2,\), \(2,\), \(1, 2, 2\), \(1,\), \(1, 2\), \(1,\), \(1, 2\), \(1,\)\]:"
        r" they must be \[\(2,\), \(2,\), \(1, 2, 2\), \(1, 2\), \(1, 2\), \(1,\), \(1, 2\), \(1,\)\]$",
    ):
        solved(b=np.zeros(1))
    with pytest.raises(ValueError, match=r"^gap 0: it must be more than 0$"):
        minimise(np.array([1.0, 0]), discs([(0, 0)], [1]), NO_ROWS, np.zeros(2), gap=0)


def test_a_direction_left_free() -> None:
    rows = Rows(np.array([[1.0, 0], [-1, 0]]), np.ones(2))
    with pytest.raises(ValueError, match=r"^limits that leave a direction free: v could go there without end$"):
        minimise(np.array([1.0, 0]), NO_CONES, rows, np.zeros(2))


def test_no_least_cost() -> None:
    rows = Rows(-np.eye(2), np.ones(2))
    text = r"^no least cost was found: there is none, or the figures are too unlike for floats to tell it$"
    with pytest.raises(NotSolved, match=text):
        minimise(np.array([-1.0, 0]), NO_CONES, rows, np.zeros(2))


def test_figures_too_unlike_for_floats() -> None:
    """Discs of 1e9 that share a billionth: their sides are told to 1e-7."""
    cones = discs([(-1e9, 0), (1e9, 0)], [1e9 + 1e-7, 1e9 + 1e-7])
    with pytest.raises(NotSolved, match=r"^no least cost was found: there is none"):
        minimise(np.array([1.0, 0]), cones, NO_ROWS, np.zeros(2))
