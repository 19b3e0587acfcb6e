import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.borecells import SLACK_MM
from gen.tolerance import STEPS_MM, UNITS_OF_GRADE, Limits, inward, it_mm, limits_of
from post.units import MM_PER

DIAMETERS = st.floats(min_value=18, max_value=315, exclude_min=True)
GRADES = st.sampled_from(sorted(UNITS_OF_GRADE))


@given(DIAMETERS, st.floats(1e-6, 0.1), st.integers(3, 6), st.sampled_from(list(MM_PER.values())))
def test_limits_are_told_within_themselves(low_mm: float, wide_mm: float, digits: int, per: float) -> None:
    """What reads as the printed limit is judged to be in, and no step more is given away."""
    high_mm = low_mm + wide_mm
    texts = inward((low_mm / per, high_mm / per), digits)
    low, high = (float(text) * per for text in texts)
    assert low_mm - SLACK_MM <= low <= high <= high_mm + SLACK_MM
    step = per / 10 ** len(texts[0].split(".")[1])
    assert low - low_mm < step + SLACK_MM
    assert high_mm - high < step + SLACK_MM


@given(st.sampled_from(["H5", "H6", "H7", "H8"]), st.integers(19, 315))
def test_limits_of_a_class_are_told_as_the_table_has_them(tolerance_class: str, diameter_mm: int) -> None:
    """84 + 0.022 is a hair below 84.022."""
    within = limits_of(tolerance_class, diameter_mm)
    for digits in (3, 4, 6):
        assert inward(within, digits) == tuple(f"{size:.{digits}f}" for size in within)


def test_limits_are_rounded_inward() -> None:
    assert inward((84.00004, 84.02199), 4) == ("84.0001", "84.0219")
    assert inward((3.262, 3.2628740), 4) == ("3.2620", "3.2628")
    assert inward((84.00002, 84.00008), 4) == ("84.00002", "84.00008")
    assert inward((84.1, 84.1), 4) == ("84.1000", "84.1000")


def test_a_step_is_over_its_lower_end_up_to_and_including_its_upper() -> None:
    assert (it_mm(6, 80), it_mm(6, math.nextafter(80, 81)), it_mm(6, 120)) == (0.019, 0.022, 0.022)


def test_h_begins_at_the_nominal_size_and_js_lies_about_it() -> None:
    assert limits_of("H6", 84) == Limits(84, 84.022)
    assert limits_of("JS6", 84) == Limits(83.989, 84.011)


def test_the_halves_of_an_odd_tolerance_are_not_rounded() -> None:
    """IT7 of 84 mm is 35 micrometres."""
    assert limits_of("JS7", 84) == pytest.approx((83.9825, 84.0175), abs=1e-12)


@pytest.mark.parametrize("grade", [-1, 0, 4, 9, 16])
def test_other_grades_are_refused(grade: int) -> None:
    with pytest.raises(ValueError, match=rf"^IT{grade}: only the grades IT5 to IT8 are known, e\.g\. IT6$"):
        it_mm(grade, 84)


@pytest.mark.parametrize(
    ("diameter_mm", "shown"),
    [(18, "18"), (315.1, "315.1"), (0, "0"), (-84, "-84"), (math.inf, "inf"), (math.nan, "nan")],
)
def test_diameters_outside_the_steps_are_refused(diameter_mm: float, shown: str) -> None:
    says = f"for diameters over 18 up to 315 mm, not for {shown} mm; give both limits instead$"
    with pytest.raises(ValueError, match=says):
        limits_of("H7", diameter_mm)


@pytest.mark.parametrize("tolerance_class", ["", "H", "H4", "H9", "H66", "JS9", "J6", "G7", "6H", "84H6", "H6 ", "IT6"])
def test_other_classes_are_refused(tolerance_class: str) -> None:
    says = f'^"{tolerance_class}" is not a tolerance class known here: H5 to H8 or JS5 to JS8, e.g. "H6"; for any other'
    with pytest.raises(ValueError, match=says):
        limits_of(tolerance_class, 84)


@pytest.mark.parametrize(("shaft", "bore"), [("h6", "H6"), ("js7", "JS7"), ("Js7", "JS7")])
def test_a_shaft_s_class_is_not_taken_for_a_bore_s(shaft: str, bore: str) -> None:
    says = f'^"{shaft}" is not a tolerance class known here: small letters are for shafts, a bore has "{bore}"$'
    with pytest.raises(ValueError, match=says):
        limits_of(shaft, 84)


@given(GRADES, DIAMETERS, DIAMETERS)
def test_a_larger_diameter_never_has_a_smaller_tolerance(grade: int, one_mm: float, other_mm: float) -> None:
    small_mm, large_mm = sorted((one_mm, other_mm))
    assert it_mm(grade, small_mm) <= it_mm(grade, large_mm)


@given(DIAMETERS)
def test_a_higher_grade_has_a_larger_tolerance(diameter_mm: float) -> None:
    its = [it_mm(grade, diameter_mm) for grade in (5, 6, 7, 8)]
    assert its == sorted(set(its))


@given(GRADES, DIAMETERS)
def test_both_positions_are_as_wide_as_the_grade_and_hold_the_nominal_size(grade: int, diameter_mm: float) -> None:
    for position in ("H", "JS"):
        smallest_mm, largest_mm = limits_of(f"{position}{grade}", diameter_mm)
        assert largest_mm - smallest_mm == pytest.approx(it_mm(grade, diameter_mm), abs=1e-12)
        assert smallest_mm <= diameter_mm <= largest_mm


@given(GRADES, st.sampled_from(STEPS_MM[1:]))
def test_a_tolerance_is_a_whole_number_of_micrometres(grade: int, diameter_mm: float) -> None:
    micrometres = 1000 * it_mm(grade, diameter_mm)
    assert micrometres == pytest.approx(round(micrometres), abs=1e-9)
