import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.caution import COARSE_STEP, FINE_STEP, STEP, at_least, at_most, downward
from post.units import MM_PER, Units


@pytest.mark.parametrize(
    ("length_mm", "units", "least", "most"),
    [
        (0.0651, "mm", "0.066 mm", "0.065 mm"),
        (0.065, "mm", "0.065 mm", "0.065 mm"),
        (0.0651, "inch", "0.0026 in", "0.0025 in"),
        (0.0254, "inch", "0.001 in", "0.001 in"),
        (0.0004, "mm", "0.001 mm", "0 mm"),
    ],
)
def test_lengths_are_rounded_to_the_side_that_is_enough(length_mm: float, units: Units, least: str, most: str) -> None:
    assert (at_least(length_mm, units), at_most(length_mm, units)) == (least, most)


def test_finer_and_coarser_steps() -> None:
    assert at_least(0.01231, "mm", FINE_STEP) == "0.0124 mm"
    assert at_least(0.01231, "inch", FINE_STEP) == "0.00049 in"
    assert at_most(111.19, "mm", COARSE_STEP) == "111.1 mm"
    assert at_most(111.19, "inch", COARSE_STEP) == "4.37 in"


def test_a_multiple_stays() -> None:
    assert downward(0.3, 0.1) == 0.3


@given(st.floats(min_value=1e-6, max_value=1000), st.sampled_from(["mm", "inch"]))
def test_what_is_told_encloses_the_length_by_a_step(length_mm: float, units: Units) -> None:
    low = float(at_most(length_mm, units).split()[0]) * MM_PER[units]
    high = float(at_least(length_mm, units).split()[0]) * MM_PER[units]
    step_mm = STEP[units] * MM_PER[units]
    assert low - 1e-9 <= length_mm <= high + 1e-9
    assert high - low <= step_mm + 1e-9
