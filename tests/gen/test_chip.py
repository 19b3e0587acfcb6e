import math
import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.chip import (
    LEAST_CHIP_PER_EDGE,
    Cut,
    chip_mm,
    chord_rad,
    depth_that_cuts_mm,
    feed_that_cuts_mm,
    greatest_chip_mm,
    mean_chip_mm,
    rubbing_caution,
    rubs,
)
from post.units import MM_PER, Units
from tests.cuts import chip_by_counting, ridge_area_mm2

LIGHT = Cut(feed_mm=0.1, depth_mm=0.02, nose_mm=0.4, setting_deg=90)

CUTS = st.builds(
    lambda nose_mm, feed, depth, setting_deg: Cut(feed * nose_mm, depth * nose_mm, nose_mm, setting_deg),
    st.floats(min_value=0.1, max_value=2),
    st.floats(min_value=0.01, max_value=1),
    st.floats(min_value=0.001, max_value=10),
    st.floats(min_value=45, max_value=120),
)
EDGES = st.floats(min_value=0.001, max_value=0.09)


@pytest.mark.parametrize("name", ["feed_mm", "depth_mm", "nose_mm"])
@pytest.mark.parametrize("value", [0, -0.1, math.nan, math.inf])
def test_a_cut_without_feed_depth_or_nose_is_refused(name: str, value: float) -> None:
    changes: dict[str, Any] = {name: value}
    with pytest.raises(ValueError, match=f"^{name} is {value:g}; a cut needs more than 0$"):
        replace(LIGHT, **changes)


@pytest.mark.parametrize("setting_deg", [0, 180, -90, math.nan])
def test_a_setting_angle_no_edge_has_is_refused(setting_deg: float) -> None:
    with pytest.raises(ValueError, match=f"^setting_deg is {setting_deg:g}; it must lie between 0 and 180, e.g. 90$"):
        replace(LIGHT, setting_deg=setting_deg)


@pytest.mark.parametrize("depth_mm", [0.4, 0.5, 3])
@pytest.mark.parametrize("setting_deg", [45, 60, 90, 95])
def test_a_deep_cut_is_as_thick_as_along_the_straight_edge(depth_mm: float, setting_deg: float) -> None:
    cut = Cut(0.1, depth_mm, 0.4, setting_deg)
    assert greatest_chip_mm(cut) == chip_mm(0.1, setting_deg) == 0.1 * math.sin(math.radians(setting_deg))


def test_a_light_cut_by_hand() -> None:
    # s = sqrt(0.02 x 0.78) = 0.1249; 0.4 - hypot(0.38, 0.0249) = 0.4 - 0.380815.
    assert greatest_chip_mm(LIGHT) == pytest.approx(0.019185, abs=1e-6)


def test_the_formula_in_common_use_is_the_limit_of_small_feeds() -> None:
    common = math.sqrt(2 * 0.02 / 0.4 - (0.02 / 0.4) ** 2)
    assert greatest_chip_mm(replace(LIGHT, feed_mm=1e-5)) / 1e-5 == pytest.approx(common, rel=1e-3)
    assert greatest_chip_mm(LIGHT) < 0.62 * 0.1 * common


def test_a_feed_beyond_the_nose_s_reach_is_cut_to_the_whole_depth() -> None:
    assert greatest_chip_mm(replace(LIGHT, feed_mm=0.13)) == 0.02


@pytest.mark.parametrize("depth_mm", [0.01, 0.02, 0.1, 0.3])
@pytest.mark.parametrize("feed_mm", [0.02, 0.07, 0.12])
def test_the_chip_of_the_nose_against_counting(depth_mm: float, feed_mm: float) -> None:
    cut = Cut(feed_mm, depth_mm, 0.4, 90)
    counted = chip_by_counting(cut)
    area_mm2 = feed_mm * depth_mm
    assert greatest_chip_mm(cut) == pytest.approx(counted.greatest_mm, rel=2e-3)
    assert mean_chip_mm(cut) == pytest.approx(area_mm2 / counted.edge_mm, rel=1e-3)
    assert counted.area_mm2 == pytest.approx(area_mm2 - ridge_area_mm2(feed_mm, 0.4), rel=2e-3)


def test_a_feed_beyond_the_groove_of_the_nose_cuts_the_groove() -> None:
    """At 0.002 deep the nose cuts 0.08 wide, a section of 2/3 of 0.08 x 0.002; 0.12 a turn leaves metal between."""
    cut = Cut(0.12, 0.002, 0.4, 90)
    counted = chip_by_counting(cut)
    groove_mm = 2 * math.sqrt(0.002 * 0.798)
    assert mean_chip_mm(cut) == pytest.approx(groove_mm * 0.002 / counted.edge_mm, rel=3e-3)
    assert counted.area_mm2 == pytest.approx(groove_mm * 0.002 * 2 / 3, rel=3e-3)


def test_the_mean_of_a_deep_cut_nears_the_straight_edge_s() -> None:
    assert mean_chip_mm(Cut(0.1, 500, 0.4, 60)) == pytest.approx(chip_mm(0.1, 60), rel=2e-3)


@given(CUTS)
def test_the_mean_is_no_more_than_the_greatest_and_that_no_more_than_feed_or_depth(cut: Cut) -> None:
    assert 0 < mean_chip_mm(cut) <= greatest_chip_mm(cut) * (1 + 1e-3)
    assert greatest_chip_mm(cut) <= min(cut.feed_mm, cut.depth_mm) * (1 + 1e-12)


@given(CUTS, st.floats(min_value=1, max_value=5))
def test_more_depth_or_feed_never_thins_the_chip(cut: Cut, times: float) -> None:
    for name in ("depth_mm", "feed_mm"):
        changes: dict[str, Any] = {name: times * getattr(cut, name)}
        assert greatest_chip_mm(replace(cut, **changes)) >= greatest_chip_mm(cut) * (1 - 1e-9)


@given(CUTS, st.floats(min_value=1, max_value=5))
def test_the_mean_chip_thins_no_faster_than_depth_or_feed(cut: Cut, times: float) -> None:
    """What the cautions about force take for granted."""
    for name in ("depth_mm", "feed_mm"):
        changes: dict[str, Any] = {name: getattr(cut, name) / times}
        assert mean_chip_mm(replace(cut, **changes)) * times >= mean_chip_mm(cut) * (1 - 1e-9)


def test_the_chord_of_a_light_cut_lies_along_the_axis_and_of_a_deep_one_along_the_edge() -> None:
    assert math.degrees(chord_rad(Cut(0.02, 0.001, 0.8, 90))) < 3
    assert math.degrees(chord_rad(Cut(0.1, 500, 0.4, 75))) == pytest.approx(75, abs=0.1)
    # Half the chord of a full quarter: 45 degrees, but for the ridge.
    assert math.degrees(chord_rad(Cut(0.001, 0.4, 0.4, 90))) == pytest.approx(45, abs=0.1)


def test_a_chord_by_hand() -> None:
    # The ridge is 0.4 - sqrt(0.16 - 0.0025) = 0.003137 high, 0.05 behind.
    # On the nose alone: up 0.02 - 0.003137, ahead 0.1249 + 0.05.
    assert math.degrees(chord_rad(LIGHT)) == pytest.approx(5.507, abs=1e-3)
    # On nose and edge at 60 degrees: up 1 - 0.003137, ahead 0.4 sin 60 + 0.8 / tan 60 + 0.05 = 0.858290.
    assert math.degrees(chord_rad(Cut(0.1, 1, 0.4, 60))) == pytest.approx(49.271, abs=1e-3)


@given(CUTS)
def test_the_chord_is_no_steeper_than_the_edge(cut: Cut) -> None:
    assert -1e-9 <= chord_rad(cut) <= math.radians(cut.setting_deg) + 1e-9


def test_an_edge_rubs_below_its_least_chip() -> None:
    """0.43 x 0.03 = 0.0129."""
    assert rubs(0.0128, 0.03)
    assert not rubs(0.0129, 0.03)


@given(CUTS, EDGES)
def test_the_least_depth_is_just_enough(cut: Cut, edge_mm: float) -> None:
    depth_mm = depth_that_cuts_mm(cut, edge_mm)
    if depth_mm is None:
        assert rubs(greatest_chip_mm(replace(cut, depth_mm=100 * cut.nose_mm)), edge_mm)
    else:
        assert not rubs(greatest_chip_mm(replace(cut, depth_mm=depth_mm)), edge_mm)
        assert rubs(greatest_chip_mm(replace(cut, depth_mm=0.999 * depth_mm)), edge_mm)


@given(CUTS, EDGES)
def test_the_least_feed_is_just_enough(cut: Cut, edge_mm: float) -> None:
    feed_mm = feed_that_cuts_mm(cut, edge_mm)
    if feed_mm is None:
        assert rubs(greatest_chip_mm(replace(cut, feed_mm=100 * cut.nose_mm)), edge_mm)
    else:
        assert not rubs(greatest_chip_mm(replace(cut, feed_mm=feed_mm * (1 + 1e-9))), edge_mm)
        assert rubs(greatest_chip_mm(replace(cut, feed_mm=0.999 * feed_mm)), edge_mm)


@pytest.mark.parametrize(("edge_mm", "shown"), [(0.4, "1"), (1, "2.5"), (0, "0"), (-0.01, "-0.025"), (math.nan, "nan")])
def test_an_edge_no_finer_than_the_nose_is_refused(edge_mm: float, shown: str) -> None:
    says = f"^an edge radius of {shown} times the nose's radius: the edge's own rounding must be above 0 and smaller"
    for asks in (depth_that_cuts_mm, feed_that_cuts_mm):
        with pytest.raises(ValueError, match=says):
            asks(LIGHT, edge_mm)
    with pytest.raises(ValueError, match=says):
        rubbing_caution(LIGHT, edge_mm, "mm")


def test_a_cut_thick_enough_is_not_spoken_of() -> None:
    assert rubbing_caution(LIGHT, 0.03, "mm") is None


def test_a_cut_too_shallow() -> None:
    # 0.43 x 0.0601 = 0.025843; (0.1^2 + 0.025843 x 0.774157) / 0.2 = 0.15003; 0.4 - sqrt(0.16 - 0.02251) = 0.0292.
    assert rubbing_caution(LIGHT, 0.0601, "mm") == (
        "the chip is at most 0.0191 mm thick and an edge of 0.0601 mm radius needs 0.0259 mm: it may rub instead of"
        " cut",
        "cut at least 0.03 mm deep on the radius, or take an edge of at most 0.0446 mm radius",
    )


def test_a_cut_too_shallow_in_inches() -> None:
    cut = Cut(0.004 * 25.4, 0.0003 * 25.4, 25.4 / 64, 90)
    assert rubbing_caution(cut, 0.001 * 25.4, "inch") == (
        "the chip is at most 0.0003 in thick and an edge of 0.001 in radius needs 0.00043 in: it may rub instead of"
        " cut",
        "cut at least 0.0005 in deep on the radius, or take an edge of at most 0.00069 in radius",
    )


def test_a_feed_too_fine_for_any_depth() -> None:
    # 0.01 < 0.0129; at 0.1 deep s = sqrt(0.1 x 0.7) = 0.264575 and 0.264575 - sqrt(0.07 - 0.0129 x 0.7871) = 0.019942.
    caution = rubbing_caution(Cut(0.01, 0.1, 0.4, 90), 0.03, "mm")
    assert caution is not None
    assert caution.remedy == "feed at least 0.02 mm a turn, or take an edge of at most 0.0152 mm radius"


def test_depth_and_feed_both_too_small() -> None:
    # 2 x 0.0258 = 0.0516 a turn; (0.0516^2 + 0.0258 x 0.7742) / 0.1032 = 0.21935 ahead, 0.4 - sqrt(0.16 - 0.048114).
    caution = rubbing_caution(Cut(0.01, 0.001, 0.4, 90), 0.06, "mm")
    assert caution is not None
    assert caution.remedy == "feed at least 0.052 mm a turn and cut at least 0.066 mm deep on the radius"


def numbers_after(text: str, phrase: str, units: Units) -> list[float]:
    """Lengths in mm that follow a phrase in a text."""
    return [float(number) * MM_PER[units] for number in re.findall(rf"{phrase} ([0-9.]+) ", text)]


LIGHT_CUTS = st.builds(
    lambda cut, share: replace(cut, depth_mm=share * cut.nose_mm), CUTS, st.floats(min_value=0.001, max_value=0.2)
)


@given(LIGHT_CUTS, st.floats(min_value=1.001, max_value=2), st.sampled_from(["mm", "inch"]))
def test_each_remedy_as_told_is_enough(cut: Cut, blunter: float, units: Units) -> None:
    edge_mm = blunter * greatest_chip_mm(cut) / LEAST_CHIP_PER_EDGE
    caution = rubbing_caution(cut, edge_mm, units)
    assert caution is not None
    feeds = numbers_after(caution.remedy, "feed at least", units)
    depths = numbers_after(caution.remedy, "cut at least", units)
    if " and " in caution.remedy:
        tries = [replace(cut, feed_mm=feeds[0], depth_mm=depths[0])]
    else:
        tries = [replace(cut, feed_mm=feed) for feed in feeds] + [replace(cut, depth_mm=depth) for depth in depths]
    assert tries
    assert all(not rubs(greatest_chip_mm(one), edge_mm) for one in tries)
    edges = numbers_after(caution.remedy, "edge of at most", units)
    assert all(not rubs(greatest_chip_mm(cut), edge) for edge in edges)
