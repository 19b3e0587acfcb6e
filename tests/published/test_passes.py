"""Passes, settings and sizes held against published figures of the trade and its standards."""

import math
from typing import Any, Final

import pytest
from pydantic import ValidationError

from gen.advice import derived, passes_told
from gen.job import Job
from gen.passes import aim_mm, pass_plan
from gen.settingwords import setting_of, told_setting
from post.units import MM_PER_INCH, Units
from tests.jobs import INCH_TEXT, JOB_TEXT, Data, make_job

# ISO 286-1, table of standard tolerances, as republished: over, up to and including (mm), IT5, IT6, IT7, IT8
# (micrometres).
GRADES: Final = [
    (30, 50, 11, 16, 25, 39),
    (50, 80, 13, 19, 30, 46),
    (80, 120, 15, 22, 35, 54),
    (120, 180, 18, 25, 40, 63),
    (180, 250, 20, 29, 46, 72),
]
CELLS: Final = [(grade, over, to, row[grade - 5]) for over, to, *row in GRADES for grade in (5, 6, 7, 8)]


def bored_to(tolerance: str, diameter: float) -> Job:
    """A bore with 0.3 mm of stock a side."""
    measured = [diameter - 0.6, diameter - 0.58]
    return make_job(
        path={"clearance_height": 200},
        bar={"diameter": 25},
        bore=[{"face": 0, "width": 30, "diameter": diameter, "measured": measured, "tolerance": tolerance}],
        passes={"depth": 0.2, "finish_stock": 0.1},
    )


@pytest.mark.parametrize(("grade", "over_mm", "to_mm", "micrometres"), CELLS)
def test_the_last_setting_is_the_middle_of_the_standard_s_hole(
    grade: int, over_mm: float, to_mm: float, micrometres: int
) -> None:
    """ISO 286-1: H lies from 0 to +IT, JS from -IT/2 to +IT/2."""
    for diameter in (over_mm + 0.01, to_mm):
        hole, middle = (pass_plan(bored_to(f"{letters}{grade}", diameter))[-1] for letters in ("H", "JS"))
        assert hole.diameter_mm == pytest.approx(diameter + micrometres / 2000, abs=1e-9)
        assert middle.diameter_mm == pytest.approx(diameter, abs=1e-9)


def test_60_h7() -> None:
    """60 H7 is +0.030 / 0: a tool maker's technical reference, republished."""
    job = bored_to("H7", 60)
    assert pass_plan(job)[-1].diameter_mm == 60.015
    assert derived(job) == ["finished diameter 60.015 mm, the middle of 60 to 60.03"]


# Housing bores as US Army technical manuals print them: least and greatest, in inches and in millimetres.
HOUSINGS: Final = [
    ("TM 5-3805-281-24-2", (4.0020, 4.0030), (101.651, 101.677), 4.0025),
    ("TM 55-1930-208-24, section 4-16", (3.812, 3.813), (96.825, 96.850), 3.8125),
]


def with_limits(units: Units, limits: tuple[float, float], **changes: Any) -> Job:
    """A housing bore with one per cent of its size as stock; with changes."""
    place: Data = {"x": 0, "length": 1.35} if units == "inch" else {"face": 0, "width": 30}
    depths = {"depth": 0.015, "finish_stock": 0.004} if units == "inch" else {"depth": 0.4, "finish_stock": 0.1}
    measured = changes.pop("measured", [0.989 * limits[0], 0.99 * limits[0]])
    bore = {**place, "diameter": limits[0], "limits": limits, "measured": measured}
    return make_job(INCH_TEXT if units == "inch" else JOB_TEXT, **{"bore": [bore], "passes": depths, **changes})


@pytest.mark.parametrize(("manual", "inches", "millimetres", "middle"), HOUSINGS)
def test_a_housing_is_aimed_at_alike_in_both_units(
    manual: str, inches: tuple[float, float], millimetres: tuple[float, float], middle: float
) -> None:
    """The manuals print whole micrometres, one of them not the nearest: the middles are within one."""
    in_inches, in_mm = with_limits("inch", inches), with_limits("mm", millimetres)
    aims = [aim_mm(job, job.bore[0]) for job in (in_inches, in_mm)]
    assert aims[0] == pytest.approx(middle * MM_PER_INCH, abs=1e-4), manual
    assert aims[0] == pytest.approx(aims[1], abs=0.001), manual
    assert told_setting(in_inches, pass_plan(in_inches)[-1].diameter_mm) == middle


def test_a_thousandth_of_stock_is_no_cut_for_a_plain_edge() -> None:
    """TM 55-1905-221-14-4, section 6-29, lets at most 0.001 in of stock be removed from a bore of 3.812 to 3.813 in.

    That is 0.0005 in a side, less than the 0.02 mm (0.0008 in) usually held to cut (common practice, no source).
    """
    with pytest.raises(ValidationError, match=r"only 0\.0005 in a side is left .* the cutter needs 0\.0008 in"):
        with_limits("inch", (3.812, 3.813), measured=[3.8110, 3.8115])
    keen = {"depth": 0.015, "finish_stock": 0.004, "least": 0.0005}
    (only,) = pass_plan(with_limits("inch", (3.812, 3.813), measured=[3.8110, 3.8115], passes=keen))
    assert only.kind == "finish"
    assert only.shallowest_mm == pytest.approx(0.0005 * MM_PER_INCH, abs=1e-4)
    assert only.deepest_mm == pytest.approx(0.00075 * MM_PER_INCH, abs=1e-4)


def test_a_cutter_is_set_by_micrometer_across_bar_and_tool() -> None:
    """A. A. Dowd, Boring, Recessing and Multiple Turning Tools, has it so: the bar is round, the tool stands out of it.

    What the micrometer spans is looked for by turning points of the bar's circle past it.
    """
    job = make_job(
        bore=[{"face": 0, "width": 30, "diameter": 84, "measured": [83, 83]}],
        passes={"depth": 0.3, "finish_stock": 0.1},
        size={"setting": "over"},
    )
    bar = [25 * math.cos(math.radians(angle)) for angle in range(360)]
    for setting in pass_plan(job):
        tip = setting.diameter_mm / 2
        assert setting_of(job, setting.diameter_mm) == pytest.approx(tip - min(bar), abs=1e-12)


def test_a_nose_twice_as_large_at_twice_the_feed_is_told_twice_as_rough() -> None:
    """1/64 in at 0.002 in a turn and 1/32 in at 0.004 are held to finish alike (common practice, no source).

    By the parabola the second is twice as rough; 0.0028 in would match the first.
    """
    small, large = (
        passes_told(with_limits("inch", (3.812, 3.813), cutter={"nose": nose}, cut={"feed": feed}))[-1]["ra"]
        for nose, feed in ((1 / 64, 0.002), (1 / 32, 0.004))
    )
    assert large == pytest.approx(2 * small, abs=0.002)
    like = with_limits("inch", (3.812, 3.813), cutter={"nose": 1 / 32}, cut={"feed": None, "roughness": small})
    assert round(like.cut.feed_mm(like.cutter) / MM_PER_INCH, 4) == 0.0028
    assert derived(like)[0].startswith("feed 0.00283 in a cutter turn, for Ra 8 microinches")


@pytest.mark.parametrize(("micrometres", "microinches"), [(0.8, 32), (1.6, 63)])
def test_a_roughness_grade_asks_the_same_feed_in_both_units(micrometres: float, microinches: float) -> None:
    """ISO 1302, N6 and N7: 0.8 micrometres for 32 microinches, 1.6 for 63; republished tables, rounded to 2 %."""
    metric = with_limits("mm", (84, 84.022), cutter={"nose": 0.4}, cut={"feed": None, "roughness": micrometres})
    inch = with_limits(
        "inch", (3.812, 3.813), cutter={"nose": 0.4 / MM_PER_INCH}, cut={"feed": None, "roughness": microinches}
    )
    feeds = [job.cut.feed_mm(job.cutter) for job in (metric, inch)]
    assert feeds[0] == pytest.approx(feeds[1], rel=0.01)
    for job, told in ((metric, micrometres), (inch, microinches)):
        assert passes_told(job)[-1]["ra"] == pytest.approx(told, rel=1e-3)
