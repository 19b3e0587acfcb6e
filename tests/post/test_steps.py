from decimal import Decimal
from typing import Final

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from post.steps import decimals, nearest, upward

STEPS: Final = (10.0, 2.5, 1.0, 0.5, 0.1, 0.05, 0.025, 0.01, 0.005, 0.001, 0.0005, 0.0001, 0.00005, 0.000001)
values = st.floats(-1e5, 1e5)
steps = st.sampled_from(STEPS)


@pytest.mark.parametrize(
    ("step", "digits"),
    [(10.0, 0), (2.5, 1), (1.0, 0), (0.1, 1), (0.005, 3), (0.0001, 4), (1e-05, 5), (1e-07, 7), (0.25, 2)],
)
def test_decimals_write_every_multiple(step: float, digits: int) -> None:
    assert decimals(step) == digits


@given(st.integers(-(10**7), 10**7), steps)
def test_decimals_lose_nothing(count: int, step: float) -> None:
    exact = count * Decimal(repr(step))
    assert Decimal(f"{exact:.{decimals(step)}f}") == exact


@given(values, steps)
def test_nearest_is_on_the_grid_and_within_half_a_step(value: float, step: float) -> None:
    rounded = nearest(value, step)
    assert Decimal(repr(rounded)) % Decimal(repr(step)) == 0
    assert abs(rounded - value) <= step / 2 + 1e-9 * max(step, abs(value))


@given(values, steps)
def test_nearest_is_a_mirror_and_stays_where_it_is(value: float, step: float) -> None:
    rounded = nearest(value, step)
    assert nearest(-value, step) == -rounded
    assert nearest(rounded, step) == rounded


@given(values, steps)
@example(3.0, 0.1)
@example(0.1 + 0.2, 0.1)
def test_upward_is_on_the_grid_never_below_and_less_than_a_step_above(value: float, step: float) -> None:
    rounded = upward(value, step)
    slack = 1e-9 * step + 1e-12 * abs(value)
    assert Decimal(repr(rounded)) % Decimal(repr(step)) == 0
    assert rounded >= value - slack
    assert rounded < value + step + slack


def test_upward_takes_a_multiple_of_a_float_as_it_is() -> None:
    assert upward(0.1 + 0.2, 0.1) == 0.3
    assert upward(0.3000001, 0.1) == 0.4
    assert upward(0.0, 0.01) == 0.0
    assert upward(-0.25, 0.1) == -0.2
