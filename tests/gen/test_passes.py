"""Passes worked out by hand, and what must hold for every row."""

import math
import re
from itertools import pairwise
from typing import Any, Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.job import Job
from gen.passes import AIR_GAP_MM, LEAST_MM, SAME_MM, Setting, aim_mm, least_depth_mm, limits, measured_mm, pass_plan
from gen.settingwords import setting_message, told_setting
from post.units import MM_PER, Units
from tests.jobs import INCH_TEXT, Data, make_job

PASSES: Final[Data] = {"depth": 0.3, "finish_stock": 0.1}
INCH_PASSES: Final[Data] = {"depth": 0.015, "finish_stock": 0.004}

Told = tuple[str, float, tuple[int, ...], float, float]
"""Kind, diameter, bores, shallowest and deepest of a setting."""


def row(*bores: Data) -> list[Data]:
    """Bores of 30 mm, 84 mm in diameter unless told otherwise, along the row."""
    return [{"face": -130 * at, "width": 30, "diameter": 84.0, **bore} for at, bore in enumerate(bores)]


def job_of(*bores: Data, **changes: Any) -> Job:
    """A row in millimetres, taken in passes of 0.3 with 0.1 for the last."""
    return make_job(bore=row(*bores), **{"passes": PASSES, **changes})


def inch_job_of(*measured: list[float], **changes: Any) -> Job:
    """A row of 3.3125 in inches, bar 2, taken in passes of 0.015 with 0.004 for the last."""
    bores = [{"x": 5.25 * at, "length": 1.35, "diameter": 3.3125, "measured": pair} for at, pair in enumerate(measured)]
    return make_job(INCH_TEXT, bore=bores, **{"passes": INCH_PASSES, **changes})


def plan_of(job: Job) -> list[Told]:
    """The settings in the job's unit, to a millionth of it."""
    per = MM_PER[job.units]

    def shown(length_mm: float) -> float:
        return round(length_mm / per, 6)

    return [
        (one.kind, shown(one.diameter_mm), one.bores, shown(one.shallowest_mm), shown(one.deepest_mm))
        for one in pass_plan(job)
    ]


# Worked by hand. 84 less twice 0.1 is 83.8: what roughing leaves.


def test_roughing_in_even_passes_and_a_finishing_pass() -> None:
    # From 83.0 to 83.8 are 0.4 a side: two passes of 0.2. The largest, 83.02, meets 0.01 less of the first.
    assert plan_of(job_of({"measured": [83.0, 83.02]})) == [
        ("rough", 83.4, (0,), 0.19, 0.2),
        ("rough", 83.8, (0,), 0.2, 0.2),
        ("finish", 84.0, (0,), 0.1, 0.1),
    ]


def test_an_air_pass_and_a_skim_come_first() -> None:
    # Clear by 0.5 a side; a skim of 0.05 a side to 83.1; 0.35 a side left to 83.8 are two of 0.175.
    job = job_of({"measured": [83.0, 83.02]}, passes={**PASSES, "air": True, "skim": 0.05})
    assert plan_of(job) == [
        ("air", 82.0, (0,), 0.0, 0.0),
        ("skim", 83.1, (0,), 0.04, 0.05),
        ("rough", 83.45, (0,), 0.175, 0.175),
        ("rough", 83.8, (0,), 0.175, 0.175),
        ("finish", 84.0, (0,), 0.1, 0.1),
    ]


def test_a_bore_that_no_rough_setting_reaches_gets_what_is_left_and_the_same_finish() -> None:
    job = job_of({"measured": [83.0, 83.02]}, {"measured": [83.02, 83.05]}, {"measured": [83.5, 83.52]})
    assert plan_of(job) == [
        ("rough", 83.4, (0, 1), 0.175, 0.2),
        ("rough", 83.8, (0, 1, 2), 0.14, 0.2),
        ("finish", 84.0, (0, 1, 2), 0.1, 0.1),
    ]


def test_a_bore_as_large_as_a_rough_setting_is_not_cut_with_it() -> None:
    job = job_of({"measured": [83.0, 83.0]}, {"measured": [83.4, 83.42]}, {"measured": [83.3998, 83.42]})
    assert [told[:3] for told in plan_of(job)] == [
        ("rough", 83.4, (0,)),
        ("rough", 83.8, (0, 1, 2)),
        ("finish", 84.0, (0, 1, 2)),
    ]


def test_an_oval_bore_is_cut_only_where_it_is_narrow() -> None:
    assert plan_of(job_of({"measured": [83.0, 83.5]})) == [
        ("rough", 83.4, (0,), 0.0, 0.2),
        ("rough", 83.8, (0,), 0.15, 0.2),
        ("finish", 84.0, (0,), 0.1, 0.1),
    ]


@pytest.mark.parametrize(
    ("smallest", "passes"), [(83.2, 1), (82.6, 2), (82.0, 3), (81.4, 4), (77.8, 10), (83.198, 2), (82.598, 3)]
)
def test_stock_that_divides_evenly_takes_no_pass_more(smallest: float, passes: int) -> None:
    roughs = [one for one in pass_plan(job_of({"measured": [smallest, smallest]})) if one.kind == "rough"]
    assert len(roughs) == passes
    assert [one.deepest_mm for one in roughs] == pytest.approx([(83.8 - smallest) / 2 / passes] * passes)


@pytest.mark.parametrize(
    ("measured", "shallowest", "deepest"),
    [
        ([83.8, 83.8], 0.1, 0.1),
        ([83.9, 83.92], 0.04, 0.05),
        ([83.9, 83.96], 0.02, 0.05),
        ([83.7996, 83.7996], 0.1002, 0.1002),
    ],
)
def test_nothing_to_rough_is_finished_at_once(measured: list[float], shallowest: float, deepest: float) -> None:
    job = job_of({"measured": measured}, passes={**PASSES, "skim": 0.05})
    assert plan_of(job) == [("finish", 84.0, (0,), shallowest, deepest)]


@pytest.mark.parametrize(
    ("smallest", "kinds"),
    [(83.68, ["rough", "finish"]), (83.66, ["skim", "finish"]), (83.6, ["skim", "rough", "finish"])],
)
def test_a_skim_that_would_reach_into_the_finish_is_left_out(smallest: float, kinds: list[str]) -> None:
    job = job_of({"measured": [smallest, smallest]}, passes={**PASSES, "skim": 0.06})
    assert [one.kind for one in pass_plan(job)] == kinds


def test_bores_of_two_sizes_are_grouped_by_setting_and_roughed_before_any_is_finished() -> None:
    # 84: 83.5 to 83.8 in one pass. 90: 88.8 to 89.8 are 0.5 a side, two passes.
    job = job_of({"measured": [83.5, 83.5]}, {"measured": [88.8, 88.9], "diameter": 90.0}, {"measured": [83.52, 83.56]})
    assert plan_of(job) == [
        ("rough", 83.8, (0, 2), 0.12, 0.15),
        ("rough", 89.3, (1,), 0.2, 0.25),
        ("rough", 89.8, (1,), 0.25, 0.25),
        ("finish", 84.0, (0, 2), 0.1, 0.1),
        ("finish", 90.0, (1,), 0.1, 0.1),
    ]


def test_the_air_pass_clears_the_smallest_bore_of_any_size() -> None:
    job = job_of(
        {"measured": [88.8, 88.9], "diameter": 90.0}, {"measured": [83.5, 83.5]}, passes={**PASSES, "air": True}
    )
    assert plan_of(job)[0] == ("air", 82.5, (0, 1), 0.0, 0.0)


def test_an_air_pass_never_draws_the_cutter_into_the_bar() -> None:
    job = job_of({"measured": [83.0, 83.0]}, bar={"diameter": 82.4}, passes={**PASSES, "air": True})
    assert plan_of(job)[0] == ("air", 82.4, (0,), 0.0, 0.0)


def test_sizes_that_no_setting_can_tell_apart_are_one_stop() -> None:
    # Limits of 0.4 and 0.8 micrometres aim at 84.0002 and 84.0004.
    job = job_of(
        {"measured": [83.9, 83.9], "limits": [84, 84.0004]}, {"measured": [83.88, 83.92], "limits": [84, 84.0008]}
    )
    assert plan_of(job) == [("finish", 84.0002, (0, 1), 0.0402, 0.0602)]


def test_sizes_that_a_setting_can_tell_apart_are_two_stops() -> None:
    job = job_of(
        {"measured": [83.9, 83.9], "limits": [84, 84.0004]}, {"measured": [83.9, 83.9], "limits": [84, 84.0016]}
    )
    assert [told[:3] for told in plan_of(job)] == [("finish", 84.0002, (0,)), ("finish", 84.0008, (1,))]


def test_the_hole_that_is_there_counts_as_measured() -> None:
    block = {"y": [-140, 140], "z": [-110, 95], "hole": 83.0}
    own = job_of({}, {"hole": 83.2}, {"measured": [83.4, 83.42], "hole": 83.4}, block=block)
    assert [measured_mm(own, bore) for bore in own.bore] == [(83.0, 83.0), (83.2, 83.2), (83.4, 83.42)]
    assert measured_mm(make_job(), make_job().bore[0]) is None
    assert plan_of(job_of({}, block=block))[0] == ("rough", 83.4, (0,), 0.2, 0.2)


def test_inches() -> None:
    # 3.3125 less 0.008 is 3.3045. A skim of 0.002 to 3.2565; 0.024 a side left are two of 0.012.
    job = inch_job_of([3.2525, 3.2535], [3.2985, 3.2995], passes={**INCH_PASSES, "skim": 0.002, "air": True})
    assert plan_of(job) == [
        ("air", round(3.2525 - 1 / 25.4, 6), (0, 1), 0.0, 0.0),
        ("skim", 3.2565, (0,), 0.0015, 0.002),
        ("rough", 3.2805, (0,), 0.012, 0.012),
        ("rough", 3.3045, (0, 1), 0.0025, 0.012),
        ("finish", 3.3125, (0, 1), 0.004, 0.004),
    ]


def test_without_passes_every_bore_is_cut_once_in_the_job_s_order() -> None:
    job = job_of({}, {}, {"diameter": 90.0}, {}, passes=None)
    assert plan_of(job) == [
        ("bore", 84.0, (0, 1), 0.0, 0.0),
        ("bore", 90.0, (2,), 0.0, 0.0),
        ("bore", 84.0, (3,), 0.0, 0.0),
    ]


# What is aimed at.


@pytest.mark.parametrize(
    ("bore", "size", "within", "aim"),
    [
        ({}, None, None, 84.0),
        ({}, "H6", (84.0, 84.022), 84.011),
        ({"tolerance": "H7"}, None, (84.0, 84.035), 84.0175),
        ({"tolerance": "JS7"}, "H6", (83.9825, 84.0175), 84.0),
        ({"limits": [83.99, 84.03]}, "H6", (83.99, 84.03), 84.01),
        ({"limits": [84, 84.02222]}, None, (84.0, 84.02222), 84.0111),
        ({"limits": [84.4, 84.5]}, None, (84.4, 84.5), 84.45),
        ({"diameter": 80.0, "tolerance": "H8"}, None, (80.0, 80.046), 80.023),
    ],
)
def test_the_middle_of_the_tolerance_is_aimed_at(
    bore: Data, size: str | None, within: tuple[float, float] | None, aim: float
) -> None:
    changes: Data = {} if size is None else {"size": {"tolerance": size}}
    job = job_of({"measured": [79.0, 79.1], **bore}, **changes)
    found = limits(job, job.bore[0])
    assert found == (None if within is None else pytest.approx(within, abs=1e-12))
    assert aim_mm(job, job.bore[0]) == aim
    assert pass_plan(job)[-1].diameter_mm == aim


def test_without_passes_a_bore_is_cut_to_its_diameter() -> None:
    job = job_of({"tolerance": "H6"}, passes=None)
    assert aim_mm(job, job.bore[0]) == 84.0


def test_limits_in_inches() -> None:
    bore = {"x": 0, "length": 1.35, "diameter": 3.3125, "measured": [3.25, 3.251], "limits": [3.3125, 3.3134]}
    job = make_job(INCH_TEXT, bore=[bore], passes=INCH_PASSES)
    assert limits(job, job.bore[0]) == pytest.approx((3.3125 * 25.4, 3.3134 * 25.4))
    assert aim_mm(job, job.bore[0]) == 84.1489  # 3.31295 in, to 0.0001 mm


# What the operator is told.


# How light a cut may be.


@pytest.mark.parametrize(
    ("changes", "least_mm"),
    [
        ({}, LEAST_MM),
        ({"cutter": {"nose": 0.4}}, LEAST_MM),
        ({"passes": {**PASSES, "least": 0.035}}, 0.035),
        # 0.43 x 0.015: so shallow a cut is not thicker anywhere than it is deep.
        ({"cutter": {"nose": 0.4, "edge": 0.015}}, 0.00645),
        # 0.43 x 0.06 = 0.0258; (0.1^2 + 0.0258 x 0.7742)/0.2 = 0.149871; 0.4 - sqrt(0.16 - 0.149871^2).
        ({"cutter": {"nose": 0.4, "edge": 0.06}}, 0.029138),
        ({"cutter": {"nose": 0.4, "edge": 0.015}, "passes": {**PASSES, "least": 0.035}}, 0.035),
        # 0.43 x 0.03 is more than a feed of 0.01 makes at any depth.
        ({"cutter": {"nose": 0.4, "edge": 0.03}, "cut": {"feed": 0.01}}, LEAST_MM),
    ],
)
def test_the_lightest_cut_is_as_told_or_as_the_edge_allows(changes: Data, least_mm: float) -> None:
    assert least_depth_mm(job_of({"measured": [83.0, 83.0]}, **changes)) == pytest.approx(least_mm, abs=1e-6)


def test_a_bore_with_just_the_lightest_cut_left_is_taken() -> None:
    assert plan_of(job_of({"measured": [83.9, 83.96]})) == [("finish", 84.0, (0,), 0.02, 0.05)]


# What must hold for all: rows drawn at random, the walls followed pass by pass.

Wall = tuple[float, float]


@st.composite
def sized_jobs(draw: st.DrawFn, *, most_bores: int = 5) -> Job:
    """Rows of bores of up to three sizes, stock of 0.03 to 2 mm a side, in either unit."""
    units: Units = draw(st.sampled_from(("mm", "inch")))
    per = MM_PER[units]
    passes: Data = {
        "depth": draw(st.integers(200, 1000)) / 1000 / per,
        "finish_stock": draw(st.integers(25, 200)) / 1000 / per,
        "air": draw(st.booleans()),
    }
    skim = draw(st.none() | st.integers(20, 200))
    if skim is not None:
        passes["skim"] = skim / 1000 / per
    return make_job(
        units=units,
        machine={"travel": {"x": [-2000 / per, 2000 / per]}, "max_feed": 5000 / per},
        bar={"diameter": 50 / per},
        cut={"feed": 0.1 / per},
        path={"clearance_height": 160 / per, "approach": 3 / per, "overrun": 2 / per},
        bore=[draw(sized_bores(-130 * at, per)) for at in range(draw(st.integers(1, most_bores)))],
        passes=passes,
        size={"setting": draw(st.sampled_from(("bore", "over", "tip")))},
    )


@st.composite
def sized_bores(draw: st.DrawFn, face: float, per: float) -> Data:
    """A bore, round or not, with or without a tolerance."""
    diameter = draw(st.sampled_from((84.0, 84.0, 90.0, 62.0)))
    largest = diameter - draw(st.integers(60, 4000)) / 1000
    smallest = largest - draw(st.sampled_from((0, 0, 1, 20, 100, 500))) / 1000
    tolerance: Data = draw(
        st.sampled_from(
            (
                {},
                {"tolerance": "H6"},
                {"tolerance": "JS7"},
                {"limits": [(diameter + part) / per for part in (0.01, 0.02)]},
            )
        )
    )
    place = {"face": face / per, "width": 30 / per, "diameter": diameter / per}
    return {**place, "measured": [smallest / per, largest / per], **tolerance}


def followed(job: Job) -> list[tuple[Setting, dict[int, Wall]]]:
    """Every setting, and the bores it cuts as they are before it: smallest and largest diameter."""
    walls = {index: now for index, bore in enumerate(job.bore) if (now := bore.measured) is not None}
    assert len(walls) == len(job.bore)
    steps = []
    for setting in pass_plan(job):
        steps.append((setting, {index: walls[index] for index in setting.bores}))
        for index in setting.bores:
            low, high = walls[index]
            walls[index] = max(low, setting.diameter_mm), max(high, setting.diameter_mm)
    return steps


def ends_at_its_aim(job: Job) -> None:
    for index, bore in enumerate(job.bore):
        last, before = [(setting, before[index]) for setting, before in followed(job) if index in setting.bores][-1]
        assert last.kind == "finish"
        assert last.diameter_mm == pytest.approx(aim_mm(job, bore), abs=SAME_MM)
        assert before[1] < last.diameter_mm


def cuts_neither_air_nor_too_deep(job: Job) -> None:
    assert job.passes is not None
    for setting, before in followed(job):
        light = min((setting.diameter_mm - high) / 2 for _, high in before.values())
        deeps = [(setting.diameter_mm - low) / 2 for low, _ in before.values()]
        if setting.kind == "air":
            assert len(deeps) == len(job.bore)
            assert max(deeps) == pytest.approx(-AIR_GAP_MM)
            assert setting.shallowest_mm == setting.deepest_mm == 0
            continue
        assert min(deeps) > 0
        assert setting.deepest_mm == pytest.approx(max(deeps), abs=SAME_MM)
        assert setting.shallowest_mm == pytest.approx(max(0, light), abs=SAME_MM)
        most = {"skim": job.passes.skim, "rough": job.passes.depth, "finish": job.passes.finish_stock}[setting.kind]
        assert most is not None
        # What is less than a cut by itself is taken along by the skim before it or the finish behind it.
        along = 0.0 if setting.kind == "rough" else least_depth_mm(job)
        assert 0 <= setting.shallowest_mm <= setting.deepest_mm <= most + along + SAME_MM


def leaves_out_only_what_is_as_large_already(job: Job) -> None:
    for setting in pass_plan(job):
        aims = {aim_mm(job, job.bore[index]) for index in setting.bores}
        for index, bore in enumerate(job.bore):
            if aim_mm(job, bore) in aims and index not in setting.bores:
                assert bore.measured is not None
                assert bore.measured[0] >= setting.diameter_mm - SAME_MM


def rises_in_every_bore(job: Job) -> None:
    plan = pass_plan(job)
    for index in range(len(job.bore)):
        own = [setting.diameter_mm for setting in plan if index in setting.bores]
        assert all(one < other for one, other in pairwise(own))
    assert all(list(setting.bores) == sorted(set(setting.bores)) for setting in plan)


def goes_from_air_to_finish(job: Job) -> None:
    order = ["air", "skim", "rough", "finish"]
    ranks = [order.index(setting.kind) for setting in pass_plan(job)]
    assert ranks == sorted(ranks)
    assert ranks.count(0) == bool(job.passes and job.passes.air)


def finishes_what_was_roughed_alike(job: Job) -> None:
    assert job.passes is not None
    roughed = {index for setting in pass_plan(job) if setting.kind == "rough" for index in setting.bores}
    for setting, before in followed(job):
        for index in roughed & before.keys() if setting.kind == "finish" else ():
            stock_mm = (setting.diameter_mm - before[index][0]) / 2
            assert stock_mm == pytest.approx(job.passes.finish_stock, abs=SAME_MM)


def tells_its_setting(job: Job) -> None:
    digits = 3 if job.units == "mm" else 4
    for setting in pass_plan(job):
        message = setting_message(job, setting)
        number = f"{told_setting(job, setting.diameter_mm):.{digits}f}"
        assert re.search(rf"(?<![\d.]){re.escape(number)} (mm|in)\b", message), message
        assert re.match(rf"{setting.kind} pass: (gauge every bore first; )?set the cutter ", message)


@given(sized_jobs())
def test_every_plan(job: Job) -> None:
    ends_at_its_aim(job)
    cuts_neither_air_nor_too_deep(job)
    leaves_out_only_what_is_as_large_already(job)
    rises_in_every_bore(job)
    goes_from_air_to_finish(job)
    finishes_what_was_roughed_alike(job)
    tells_its_setting(job)


@settings(max_examples=50)
@given(sized_jobs(most_bores=1))
def test_the_depths_of_a_bore_alone_come_to_its_stock_in_as_few_even_passes_as_may_be(job: Job) -> None:
    assert job.passes is not None
    (bore,) = job.bore
    assert bore.measured is not None
    stock_mm = [(aim_mm(job, bore) - size) / 2 for size in bore.measured]
    plan = pass_plan(job)
    assert math.fsum(setting.deepest_mm for setting in plan) == pytest.approx(stock_mm[0], abs=1e-9)
    assert math.fsum(setting.shallowest_mm for setting in plan) == pytest.approx(stock_mm[1], abs=1e-9)
    roughs = [setting.deepest_mm for setting in plan if setting.kind == "rough"]
    assert roughs == pytest.approx(roughs[:1] * len(roughs), abs=1e-9)
    assert not roughs or math.fsum(roughs) > (len(roughs) - 1) * job.passes.depth - 1e-9


@pytest.mark.parametrize("order", [(2, 1, 0), (1, 0, 2)])
def test_the_order_of_the_row_does_not_change_the_settings(order: tuple[int, ...]) -> None:
    bores = [{"measured": [83.0, 83.02]}, {"measured": [83.5, 83.52]}, {"measured": [83.02, 83.05]}]
    plain, other = pass_plan(job_of(*bores)), pass_plan(job_of(*(bores[at] for at in order)))
    assert [one[:2] + one[3:] for one in other] == [one[:2] + one[3:] for one in plain]
    assert [{order[at] for at in one.bores} for one in other] == [set(one.bores) for one in plain]
