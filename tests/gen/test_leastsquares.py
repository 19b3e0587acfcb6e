import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.leastsquares import fit
from gen.sections import Floats

SEEDS = st.integers(0, 2**32 - 1)


def drawn(seed: int, count: int = 9, terms: int = 3) -> tuple[Floats, Floats, Floats]:
    draw = np.random.default_rng(seed)
    return draw.normal(size=(count, terms)), draw.normal(size=count), draw.uniform(0.1, 3, count)


@given(SEEDS)
def test_what_is_left_over_has_nothing_of_the_design_in_it(seed: int) -> None:
    design, values, deviations = drawn(seed)
    found = fit(design, values, deviations)
    assert found.residuals == pytest.approx(values - design @ found.terms, abs=1e-12)
    assert design.T @ (found.residuals / deviations**2) == pytest.approx(np.zeros(3), abs=1e-6)


@given(SEEDS)
def test_the_covariance_is_the_inverse_of_the_normal_equations(seed: int) -> None:
    design, values, deviations = drawn(seed)
    weighted = design / deviations[:, None]
    product = fit(design, values, deviations).covariance @ (weighted.T @ weighted)
    assert product == pytest.approx(np.eye(3), abs=1e-7)


def test_a_value_counts_by_the_square_of_its_deviation() -> None:
    found = fit(np.ones((2, 1)), np.array([0.0, 10.0]), np.array([1.0, 2.0]))
    assert found.terms[0] == pytest.approx(2)
    assert found.covariance[0, 0] == pytest.approx(0.8)


def test_terms_of_very_different_size_are_told() -> None:
    x = np.arange(10.0)
    found = fit(np.column_stack([np.ones(10), 1e9 * x, 1e-9 * x**2]), 3 + 2 * x + 5 * x**2, np.ones(10))
    assert found.terms == pytest.approx([3, 2e-9, 5e9], rel=1e-9)


def test_as_many_values_as_terms_leave_nothing_over() -> None:
    found = fit(np.array([[1.0, 1.0], [1.0, 3.0]]), np.array([5.0, 9.0]), np.ones(2))
    assert found.terms == pytest.approx([3, 2])
    assert found.residuals == pytest.approx([0, 0], abs=1e-14)


def test_what_cannot_be_told_is_refused() -> None:
    ones = np.ones((3, 1))
    with pytest.raises(ValueError, match=r"^1 values for 2 terms: there must be at least as many$"):
        fit(np.ones((1, 2)), np.ones(1), np.ones(1))
    with pytest.raises(ValueError, match=r"^a term that no value depends on: leave it out$"):
        fit(np.hstack([ones, 0 * ones]), np.ones(3), np.ones(3))
    with pytest.raises(ValueError, match=r"^terms that the values do not tell apart: leave one out$"):
        fit(np.hstack([ones, 2 * ones]), np.ones(3), np.ones(3))
