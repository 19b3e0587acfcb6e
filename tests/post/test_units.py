import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from post.units import MM_PER, MM_PER_FOOT, MM_PER_INCH, UNIT_WORD, Units, plain, show_length


def test_the_inch_is_exact() -> None:
    """25.4 mm by definition (international inch, 1959); a foot is 304.8 mm."""
    assert MM_PER_INCH == 25.4
    assert math.isclose(MM_PER_FOOT, 304.8, rel_tol=1e-15)
    assert MM_PER == {"mm": 1.0, "inch": 25.4}
    assert UNIT_WORD == {"mm": "mm", "inch": "in"}


@pytest.mark.parametrize(
    ("length_mm", "units", "says"),
    [
        (37.5, "mm", "37.5 mm"),
        (0.0, "mm", "0 mm"),
        (-0.0001, "mm", "0 mm"),
        (-37.5, "mm", "-37.5 mm"),
        (1234.5678, "mm", "1234.568 mm"),
        (34.29, "inch", "1.35 in"),
        (25.4, "inch", "1 in"),
        (0.00254, "inch", "0.0001 in"),
        (-96.8248, "inch", "-3.812 in"),
        (2540.0, "inch", "100 in"),
        (25.4 / 3, "inch", "0.3333 in"),
        (1 / 3, "mm", "0.333 mm"),
    ],
)
def test_a_length_is_shown_with_its_unit_and_no_idle_digit(length_mm: float, units: Units, says: str) -> None:
    assert show_length(length_mm, units) == says


@pytest.mark.parametrize(
    ("value", "digits", "says"),
    [
        (100.0, 0, "100"),
        (100.0, 3, "100"),
        (120.5, 0, "120"),
        (0.05, 1, "0.1"),
        (-0.0, 3, "0"),
        (-0.04, 1, "0"),
        (-0.4, 0, "0"),
        (1e-9, 3, "0"),
        (760.0, 1, "760"),
    ],
)
def test_a_plain_number_has_no_idle_zeros_and_no_minus_zero(value: float, digits: int, says: str) -> None:
    assert plain(value, digits) == says


@given(st.floats(-1e9, 1e9), st.integers(0, 6))
def test_a_plain_number_is_the_value_to_its_digits(value: float, digits: int) -> None:
    text = plain(value, digits)
    assert float(text) == float(f"{value:.{digits}f}")
    assert text not in ("-0", "")
    assert len(text.partition(".")[2]) <= digits
    assert not text.endswith(".")
    assert not ("." in text and text.endswith("0"))
