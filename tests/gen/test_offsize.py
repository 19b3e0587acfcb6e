import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.caution import Caution
from gen.offsize import (
    BAR_MATERIALS,
    EXPANSION_PER_K,
    at_20_degrees,
    deflection_mm,
    diameter_error_mm,
    slender_caution,
    spring_caution,
    warm_caution,
)
from post.units import MM_PER, Units

STEEL = BAR_MATERIALS["steel"]
IRON_PER_K = EXPANSION_PER_K["grey iron"]

FORCES = st.floats(min_value=1, max_value=1000)
OVERHANGS = st.floats(min_value=20, max_value=400)
THICK = st.floats(min_value=10, max_value=100)
UNITS: st.SearchStrategy[Units] = st.sampled_from(["mm", "inch"])


@given(FORCES, OVERHANGS, THICK, st.floats(min_value=1.1, max_value=3))
def test_deflection_goes_as_force_and_overhang_cubed_over_thickness_to_the_fourth(
    force_n: float, overhang_mm: float, thick_mm: float, times: float
) -> None:
    modulus = STEEL.modulus_n_per_mm2
    one_mm = deflection_mm(force_n, overhang_mm, thick_mm, modulus)
    assert deflection_mm(times * force_n, overhang_mm, thick_mm, modulus) == pytest.approx(times * one_mm)
    assert deflection_mm(force_n, times * overhang_mm, thick_mm, modulus) == pytest.approx(times**3 * one_mm)
    assert deflection_mm(force_n, overhang_mm, times * thick_mm, modulus) == pytest.approx(one_mm / times**4)
    assert deflection_mm(force_n, overhang_mm, thick_mm, times * modulus) == pytest.approx(one_mm / times)


def test_the_diameter_errs_by_twice_the_deflection() -> None:
    assert diameter_error_mm(30, 150, 40, 207_000) == 2 * deflection_mm(30, 150, 40, 207_000)


def test_a_bar_stiff_enough_is_not_spoken_of() -> None:
    assert spring_caution(0.005, 0.005, 150, 40, "mm") is None
    assert slender_caution(200, 50, STEEL, "mm") is None


def test_a_bar_that_bends_too_far() -> None:
    # 150 x (5.09 / 12.52)^(1/3) = 111.12; 40 x (12.52 / 5.09)^(1/4) = 50.09.
    assert spring_caution(0.01252, 0.00509, 150, 40, "mm") == Caution(
        "the bar bends so that bores come out 0.0126 mm small, more than 0.005 mm",
        "shorten its overhang to 111.1 mm, or take a bar 50.1 mm thick, or set the cutter by what bores measure",
    )


@given(FORCES, OVERHANGS, THICK, st.floats(min_value=0.05, max_value=0.99), UNITS)
def test_either_bar_as_told_is_stiff_enough(
    force_n: float, overhang_mm: float, thick_mm: float, share: float, units: Units
) -> None:
    error_mm = diameter_error_mm(force_n, overhang_mm, thick_mm, 207_000)
    caution = spring_caution(error_mm, share * error_mm, overhang_mm, thick_mm, units)
    assert caution is not None
    shorter_mm, thicker_mm = (float(number) * MM_PER[units] for number in re.findall(r"[0-9.]+", caution.remedy))
    assert diameter_error_mm(force_n, shorter_mm, thick_mm, 207_000) <= share * error_mm * (1 + 1e-9)
    assert diameter_error_mm(force_n, overhang_mm, thicker_mm, 207_000) <= share * error_mm * (1 + 1e-9)


def test_a_slender_bar() -> None:
    assert slender_caution(250, 50, STEEL, "mm") == Caution(
        "the bar reaches out 5 times its diameter and may chatter beyond 4",
        "shorten it to 200 mm, or take a bar 62.5 mm thick, or of heavy metal, or of carbide",
    )
    assert slender_caution(250, 25, STEEL, "inch") == Caution(
        "the bar reaches out 10 times its diameter and may chatter beyond 4",
        "shorten it to 3.93 in, or take a bar 2.47 in thick",
    )
    assert slender_caution(300, 50, BAR_MATERIALS["heavy metal"], "mm") == Caution(
        "the bar reaches out 6 times its diameter and may chatter beyond 5",
        "shorten it to 250 mm, or take a bar 60 mm thick, or of carbide",
    )


@given(OVERHANGS, THICK, st.sampled_from(sorted(BAR_MATERIALS)), UNITS)
def test_either_bar_as_told_is_stout_enough(overhang_mm: float, thick_mm: float, name: str, units: Units) -> None:
    bar = BAR_MATERIALS[name]
    caution = slender_caution(overhang_mm, thick_mm, bar, units)
    if caution is None:
        assert overhang_mm <= bar.most_diameters * thick_mm
        return
    shorter_mm, thicker_mm = (float(number) * MM_PER[units] for number in re.findall(r"[0-9.]+", caution.remedy))
    assert shorter_mm <= bar.most_diameters * thick_mm * (1 + 1e-9)
    assert overhang_mm <= bar.most_diameters * thicker_mm * (1 + 1e-9)


def test_a_warm_bore_was_smaller_at_20_degrees() -> None:
    """84 mm of grey iron, 6 K warm: 84 x 11.4e-6 x 6 = 0.005746."""
    assert at_20_degrees(84.005746, 26, IRON_PER_K) == pytest.approx(84, abs=1e-6)
    assert at_20_degrees(84, 20, IRON_PER_K) == 84


@pytest.mark.parametrize(("temperature_c", "shown"), [(68, "68"), (-1, "-1"), (math.nan, "nan"), (math.inf, "inf")])
def test_temperatures_not_believed_are_refused(temperature_c: float, shown: str) -> None:
    with pytest.raises(ValueError, match=f"^a temperature of {shown}: a block is gauged at 0 to 50 C; 68 F is 20 C$"):
        at_20_degrees(84, temperature_c, IRON_PER_K)


@pytest.mark.parametrize(("expansion_per_k", "shown"), [(11.4, "11.4"), (-1e-6, "-1e-06"), (math.nan, "nan")])
def test_expansions_not_believed_are_refused(expansion_per_k: float, shown: str) -> None:
    says = f"^an expansion of {shown}: it must lie between 0 and 0.0001 per K, e.g. 11.4e-6 for grey iron$"
    with pytest.raises(ValueError, match=says):
        warm_caution(84, 26, expansion_per_k, 0.002, "mm")


def test_a_block_near_enough_to_20_degrees_is_not_spoken_of() -> None:
    assert warm_caution(84, 22, IRON_PER_K, 0.002, "mm") is None
    assert warm_caution(84, 26, 0, 0, "mm") is None


def test_the_ends_of_what_is_believed() -> None:
    for temperature_c, expansion_per_k in ((0, 1e-4), (50, 0)):
        assert at_20_degrees(84, temperature_c, expansion_per_k) == 84 / (1 + expansion_per_k * (temperature_c - 20))


def test_a_warm_block() -> None:
    # 0.002 / (84 x 11.4e-6) = 2.089 K, of which 2 is told.
    assert warm_caution(84, 26, IRON_PER_K, 0.002, "mm") == Caution(
        "at 26 C the bore gauges 0.0058 mm large, more than 0.002 mm",
        "let the block come within 2 C (3.6 F) of 20 C (68 F), or take 0.0058 mm off what it gauges",
    )


def test_a_cold_block_in_inches() -> None:
    assert warm_caution(3.25 * 25.4, 14, IRON_PER_K, 0.0001 * 25.4, "inch") == Caution(
        "at 14 C the bore gauges 0.00023 in small, more than 0.0001 in",
        "let the block come within 2.6 C (4.6 F) of 20 C (68 F), or add 0.00023 in to what it gauges",
    )


DIAMETERS = st.floats(min_value=20, max_value=300)
TEMPERATURES = st.floats(min_value=0, max_value=50)
EXPANSIONS = st.sampled_from(sorted(EXPANSION_PER_K.values()))


@given(DIAMETERS, TEMPERATURES, EXPANSIONS)
def test_growth_from_20_degrees_and_back(diameter_mm: float, temperature_c: float, expansion_per_k: float) -> None:
    grown_mm = diameter_mm * (1 + expansion_per_k * (temperature_c - 20))
    assert at_20_degrees(grown_mm, temperature_c, expansion_per_k) == pytest.approx(diameter_mm, rel=1e-14)


@given(DIAMETERS, TEMPERATURES, EXPANSIONS, st.floats(min_value=0.001, max_value=0.01))
def test_a_block_as_near_to_20_degrees_as_told_is_near_enough(
    diameter_mm: float, temperature_c: float, expansion_per_k: float, most_mm: float
) -> None:
    caution = warm_caution(diameter_mm, temperature_c, expansion_per_k, most_mm, "mm")
    if caution is None:
        assert abs(diameter_mm - at_20_degrees(diameter_mm, temperature_c, expansion_per_k)) <= most_mm
        return
    near_k = float(re.findall(r"within ([0-9.]+) C", caution.remedy)[0])
    for nearer_c in (max(0, 20 - near_k), min(50, 20 + near_k)):
        grown_mm = diameter_mm - at_20_degrees(diameter_mm, nearer_c, expansion_per_k)
        assert abs(grown_mm) <= most_mm * 1.001
