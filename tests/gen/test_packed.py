"""Columns: what is put in comes out again, short where it can be."""

import math
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from gen.packed import integers, numbers, texts
from tests.pages import values

lengths = st.integers(-20, 20).map(float) | st.floats(-1e6, 1e6) | st.just(math.nan)


@given(st.lists(lengths))
def test_numbers_come_out_rounded(given_numbers: list[float]) -> None:
    found = values(numbers(given_numbers))
    assert len(found) == len(given_numbers)
    for one, other in zip(found, given_numbers, strict=True):
        assert math.isnan(one) if math.isnan(other) else one == round(other, 6)


@given(st.lists(st.integers(-(2**31), 2**31 - 1)))
def test_integers_come_out(given_numbers: list[int]) -> None:
    assert values(integers(given_numbers)) == given_numbers


@given(st.lists(st.text(max_size=3)))
def test_texts_come_out(given_texts: list[str]) -> None:
    assert values(texts(given_texts)) == given_texts


def size(column: dict[str, Any]) -> int:
    return sum(len(part) if isinstance(part, str) else size(part) for part in column.values())


def test_a_value_that_comes_again_takes_a_byte_or_two() -> None:
    assert size(numbers([0.5, 1.5] * 3000)) < 1.4 * 6000
    assert size(numbers([float(value) for value in range(300)] * 20)) < 2.8 * 6000 + 300 * 11
    assert size(integers([7] * 6000)) < 1.4 * 6000


def test_many_different_values_are_kept_as_they_are() -> None:
    many = [value / 8 for value in range(70_000)]
    assert numbers(many).keys() == {"f8"}
    assert values(numbers(many)) == many
    assert integers(range(70_000)).keys() == {"i4"}
    assert values(texts([str(value) for value in range(70_000)]))[-1] == "69999"


def test_there_is_no_minus_nothing() -> None:
    (found,) = values(numbers([-0.0]))
    assert math.copysign(1, found) == 1
