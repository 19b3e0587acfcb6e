import math
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.caution import Caution
from gen.chip import Cut, mean_chip_mm
from gen.cutting import (
    FEED_SHARE,
    MATERIALS,
    RADIAL_SHARE,
    Load,
    Material,
    load,
    main_force_n,
    power_caution,
    radial_share,
    specific_force_n_per_mm2,
    torque_caution,
)
from post.units import MM_PER, Units

PLAIN = Material(kc11_n_per_mm2=1000, mc=0.25, standing="for tests")
CUT = Cut(feed_mm=0.1, depth_mm=0.25, nose_mm=0.4, setting_deg=90)

CUTS = st.builds(
    lambda nose_mm, feed, depth, setting_deg: Cut(feed * nose_mm, depth * nose_mm, nose_mm, setting_deg),
    st.floats(min_value=0.2, max_value=2),
    st.floats(min_value=0.05, max_value=1),
    st.floats(min_value=0.05, max_value=10),
    st.floats(min_value=45, max_value=120),
)
EACH = st.sampled_from(sorted(MATERIALS))
UNITS: st.SearchStrategy[Units] = st.sampled_from(["mm", "inch"])


def test_specific_force_by_hand() -> None:
    assert specific_force_n_per_mm2(PLAIN, 1) == 1000
    assert specific_force_n_per_mm2(PLAIN, 1 / 16) == pytest.approx(2000, rel=1e-12)


def test_the_main_force_is_that_of_the_mean_chip_on_feed_times_depth() -> None:
    assert main_force_n(PLAIN, CUT) == pytest.approx(1000 * mean_chip_mm(CUT) ** -0.25 * 0.025, rel=1e-12)


def test_a_load_by_hand() -> None:
    """100 N on 84 mm: 4.2 N m; at 380 rev/min 4.2 x 39.7935 = 167.13 W; through 2:1 at 0.8, 2.625 N m and 208.9 W."""
    assert load(100, 84, 380, 2, 0.8) == pytest.approx(Load(4.2, 0.16713, 2.625, 0.20892), rel=1e-4)


@pytest.mark.parametrize("efficiency", [0, -0.8, 1.01, 80, math.nan])
def test_an_efficiency_no_head_has_is_refused(efficiency: float) -> None:
    says = f"^efficiency is {efficiency:g}; it must be above 0 and at most 1, e.g. 0.8$"
    with pytest.raises(ValueError, match=says):
        load(100, 84, 380, 2, efficiency)


def test_a_light_cut_pushes_the_bar_with_all_its_thrust_and_a_deep_one_with_its_radial_share() -> None:
    assert radial_share(Cut(0.001, 0.00001, 0.8, 90)) == pytest.approx(math.hypot(RADIAL_SHARE, FEED_SHARE), rel=1e-4)
    assert radial_share(Cut(0.1, 5, 0.4, 90)) == RADIAL_SHARE


@given(CUTS)
def test_the_radial_share_stays_between_its_bounds(cut: Cut) -> None:
    assert RADIAL_SHARE <= radial_share(cut) <= math.hypot(RADIAL_SHARE, FEED_SHARE)


@given(EACH, CUTS, st.floats(min_value=1, max_value=5))
def test_more_depth_or_feed_takes_more_force_but_no_more_than_in_proportion(name: str, cut: Cut, times: float) -> None:
    force_n = main_force_n(MATERIALS[name], cut)
    for more in (replace(cut, depth_mm=times * cut.depth_mm), replace(cut, feed_mm=times * cut.feed_mm)):
        assert force_n * (1 - 1e-9) <= main_force_n(MATERIALS[name], more) <= times * force_n * (1 + 1e-3)


@given(st.floats(min_value=0.1, max_value=10), st.floats(min_value=0.1, max_value=1))
def test_spindle_power_times_efficiency_is_the_cutter_s_whatever_the_ratio(ratio: float, efficiency: float) -> None:
    one = load(100, 84, 380, ratio, efficiency)
    assert one.spindle_kw * efficiency == pytest.approx(one.cutter_kw, rel=1e-12)
    spindle_w = one.spindle_nm * 2 * math.pi * 380 * ratio / 60
    assert spindle_w == pytest.approx(1000 * one.spindle_kw, rel=1e-12)


def test_a_load_within_the_limit_is_not_spoken_of() -> None:
    assert torque_caution("cutter", 4.2, 4.2, CUT, PLAIN, "mm") is None
    assert power_caution("spindle", 0.2, 0.2, 380, CUT, PLAIN, "mm") is None


def test_a_torque_above_the_limit() -> None:
    # Down to a half: 0.5^(1/0.75) = 0.39685 of 0.25 and of 0.1.
    assert torque_caution("spindle", 8.401, 4.2005, CUT, PLAIN, "mm") == Caution(
        "the cut asks 8.41 N m at the spindle, above its 4.2",
        "cut at most 0.099 mm deep on the radius, or feed at most 0.039 mm a turn",
    )


def test_a_way_that_rounds_to_nothing_is_not_told() -> None:
    """A feed of 0.0000x in a turn, and then a depth of that, too."""
    fine = Cut(0.05, 0.25, 0.4, 90)
    for limit_nm, remedy in (
        (0.1, "cut at most 0.0004 in deep on the radius"),
        (0.01, "check the limit that is told: no cut is light enough for it"),
    ):
        caution = torque_caution("cutter", 1.0, limit_nm, fine, PLAIN, "inch")
        assert caution is not None
        assert caution.remedy == remedy


def test_a_power_above_the_limit() -> None:
    assert power_caution("cutter", 0.8004, 0.4002, 380.5, CUT, PLAIN, "inch") == Caution(
        "the cut asks 0.801 kW at the cutter, above its 0.4",
        "turn the cutter at most at 190.2 rpm, or cut at most 0.0039 in deep on the radius, or feed at most 0.0015 in a"
        " turn",
    )


@given(EACH, CUTS, st.floats(min_value=0.2, max_value=0.99), UNITS)
def test_a_torque_s_remedies_as_told_are_enough(name: str, cut: Cut, share: float, units: Units) -> None:
    material = MATERIALS[name]
    asked_nm = load(main_force_n(material, cut), 84, 380, 2, 0.8).spindle_nm
    caution = torque_caution("spindle", asked_nm, share * asked_nm, cut, material, units)
    assert caution is not None
    told = {way: float(most) * MM_PER[units] for way, most in re.findall(r"(cut|feed) at most (\S+) ", caution.remedy)}
    assert 0 not in told.values()
    depth_mm, feed_mm = told.get("cut", 1e-9), told.get("feed", 1e-9)
    for changed in (replace(cut, depth_mm=depth_mm), replace(cut, feed_mm=feed_mm)):
        less_nm = load(main_force_n(material, changed), 84, 380, 2, 0.8).spindle_nm
        assert less_nm <= share * asked_nm * (1 + 1e-9)


@given(CUTS, st.floats(min_value=0.2, max_value=0.99))
def test_a_power_s_speed_as_told_is_enough(cut: Cut, share: float) -> None:
    force_n = main_force_n(PLAIN, cut)
    asked_kw = load(force_n, 84, 380, 2, 0.8).spindle_kw
    caution = power_caution("spindle", asked_kw, share * asked_kw, 380, cut, PLAIN, "mm")
    assert caution is not None
    (rpm,) = (float(number) for number in re.findall(r"at most at ([0-9.]+) rpm", caution.remedy))
    assert load(force_n, 84, rpm, 2, 0.8).spindle_kw <= share * asked_kw * (1 + 1e-9)
