"""A setting as the shop measures it, and the messages that tell it."""

from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.job import Job
from gen.passes import pass_plan
from gen.settingwords import (
    SETTING_STEP,
    diameter_set,
    setting_message,
    setting_messages,
    setting_of,
    show_setting,
    told_setting,
)
from post.units import MM_PER, Units
from tests.gen.test_passes import PASSES, inch_job_of, job_of
from tests.jobs import Data
from tests.shop import sized_job


@pytest.mark.parametrize(
    ("form", "at_84_011", "inside_mm", "shown"),
    [
        ("bore", 84.011, 84.011, "diameter 84.011 mm"),
        ("over", 67.005, 67.0055, "67.005 mm over bar and tip"),
        ("tip", 17.005, 17.0055, "tip 17.005 mm out of the bar"),
    ],
)
def test_a_setting_as_the_shop_measures_it(form: str, at_84_011: float, inside_mm: float, shown: str) -> None:
    """Bar 50: (84.011 + 50)/2 and (84.011 - 50)/2, told to a micrometre and never larger."""
    job = job_of({"measured": [83.0, 83.0]}, size={"setting": form})
    assert setting_of(job, 84.011) == pytest.approx(inside_mm, abs=1e-12)
    assert diameter_set(job, inside_mm) == pytest.approx(84.011, abs=1e-12)
    assert told_setting(job, 84.011) == at_84_011
    assert show_setting(job, 84.011) == shown


@pytest.mark.parametrize(
    ("form", "told_in", "shown"),
    [
        ("bore", 3.2565, "diameter 3.2565 in"),
        ("over", 2.6282, "2.6282 in over bar and tip"),
        ("tip", 0.6282, "tip 0.6282 in out of the bar"),
    ],
)
def test_a_setting_in_inches(form: str, told_in: float, shown: str) -> None:
    """Bar 2: (3.2565 + 2)/2 = 2.62825 and (3.2565 - 2)/2 = 0.62825, told to 0.0001 in and never larger."""
    job = inch_job_of([3.2525, 3.2535], size={"setting": form})
    assert told_setting(job, 3.2565 * 25.4) == told_in
    assert show_setting(job, 3.2565 * 25.4) == shown


def test_a_setting_on_the_grid_is_told_as_it_is_and_one_below_it_is_not() -> None:
    job = job_of({"measured": [83.0, 83.0]})
    assert told_setting(job, 83.3) == 83.3  # 83299.99999999999 micrometres to a float
    assert told_setting(job, 83.29999) == 83.299
    inch = inch_job_of([3.25, 3.25])
    assert told_setting(inch, 3.2805 * 25.4) == 3.2805
    assert told_setting(inch, 3.28049 * 25.4) == 3.2804


@given(st.sampled_from(("bore", "over", "tip")), st.sampled_from(("mm", "inch")), st.floats(60, 250))
def test_a_setting_and_the_diameter_it_cuts_are_each_other_s_inverse(form: str, units: Units, diameter: float) -> None:
    made = SETTING_JOBS[units, form]
    assert diameter_set(made, setting_of(made, diameter)) == pytest.approx(diameter, abs=1e-9)
    cut_mm = diameter_set(made, told_setting(made, diameter) * MM_PER[units])
    step_mm = SETTING_STEP[units] * MM_PER[units] * (1 if form == "bore" else 2)
    assert diameter - step_mm < cut_mm <= diameter + step_mm * 1e-8


SETTING_JOBS: Final[dict[tuple[Units, str], Job]] = {}
for _form in ("bore", "over", "tip"):
    SETTING_JOBS["mm", _form] = job_of({"measured": [83.0, 83.0]}, size={"setting": _form})
    SETTING_JOBS["inch", _form] = inch_job_of([3.25, 3.25], size={"setting": _form})


def messages(job: Job) -> list[str]:
    return [setting_message(job, setting) for setting in pass_plan(job)]


def test_what_size_may_tell_anew_is_told_as_planned_and_gauging_comes_before_another_kind_of_pass() -> None:
    """A skim cuts first, so that nothing can have been learnt before it; the second roughing pass needs gauging for
    another setting than planned only.
    """
    job = sized_job(passes={**PASSES, "air": True, "skim": 0.05, "depth": 0.25})
    told = "as planned, or as size tells, 3 bores from 1"
    assert messages(job) == [
        "air pass: set the cutter clear of every bore, diameter 81.980 mm or less",
        "skim pass: set the cutter to diameter 83.080 mm, 3 bores from 1",
        f"rough pass: gauge every bore first; set the cutter to diameter 83.445 mm {told}",
        "rough pass: set the cutter to diameter 83.811 mm as planned, or gauge every bore first and set as size tells,"
        " 3 bores from 1",
        f"finish pass: gauge every bore first; set the cutter to diameter 84.011 mm {told}",
    ]


def test_fewer_words_of_a_message_still_tell_to_gauge_and_only_the_fewest_leave_size_out() -> None:
    rough = setting_messages(sized_job(), pass_plan(sized_job())[1])
    told = "as planned, or as size tells, 3 bores from 1"
    assert rough[1:] == (
        f"rough pass, gauge first: set diameter 83.811 mm {told}",
        "rough pass: set the cutter to diameter 83.811 mm, 3 bores from 1",
    )
    second = sized_job(passes={**PASSES, "skim": 0.05, "depth": 0.25})
    assert setting_messages(second, pass_plan(second)[2])[1:] == (
        "rough pass: set diameter 83.811 mm as planned, or gauge first, as size tells, 3 bores from 1",
        "rough pass: set the cutter to diameter 83.811 mm, 3 bores from 1",
    )


def test_a_skim_of_another_size_tells_to_gauge_before_size_can_tell() -> None:
    """Bores of 70 and 84, both H6: size knows the cutter at the second skim only from bores gauged after the first."""
    sizes = [{"face": -100 * at, "width": 28, "diameter": size} for at, size in enumerate((70.0, 84.0))]
    bores = [{**bore, "measured": [bore["diameter"] - 1, bore["diameter"] - 1]} for bore in sizes]
    job = sized_job(bore=bores)
    skims = [setting for setting in pass_plan(job) if setting.kind == "skim"]
    assert [setting_message(job, setting) for setting in skims] == [
        "skim pass: set the cutter to diameter 69.100 mm, bore 1",
        "skim pass: set the cutter to diameter 83.100 mm as planned, or gauge every bore first and set as size tells,"
        " bore 2",
    ]


@pytest.mark.parametrize("which", [0, 1])
def test_wherever_a_message_says_size_it_says_to_gauge_first(which: int) -> None:
    job = sized_job(passes={**PASSES, "skim": 0.05, "depth": 0.25})
    words = [setting_messages(job, setting)[which:][:1] for setting in pass_plan(job)]
    assert sum("size tells" in told for (told,) in words[1:]) == len(words) - 1
    assert all("gauge" in told and " first" in told for (told,) in words[1:])


def test_size_tells_nothing_where_no_limits_are_told() -> None:
    plainly = sized_job(size={"tolerance": None})
    assert not any("size tells" in message or "gauge" in message for message in messages(plainly))


def test_every_pass_has_its_message() -> None:
    job = job_of(
        {"measured": [83.0, 83.02], "name": "front"},
        {"measured": [83.02, 83.05]},
        passes={**PASSES, "air": True, "skim": 0.05},
        size={"setting": "over"},
    )
    assert messages(job) == [
        "air pass: set the cutter clear of every bore, 66.000 mm over bar and tip or less",
        "skim pass: set the cutter to 66.550 mm over bar and tip, 2 bores from front",
        "rough pass: set the cutter to 66.725 mm over bar and tip, 2 bores from front",
        "rough pass: set the cutter to 66.900 mm over bar and tip, 2 bores from front",
        "finish pass: set the cutter to 67.000 mm over bar and tip, 2 bores from front",
    ]


def test_a_setting_for_one_bore_names_it() -> None:
    told_of = messages(inch_job_of([3.3045, 3.3045], size={"setting": "tip"}))
    assert told_of == ["finish pass: set the cutter to tip 0.6562 in out of the bar, bore 1"]


@pytest.mark.parametrize(
    ("size", "message"),
    [
        (None, "set the cutter for diameter 84 mm, bore 1"),
        ({"setting": "bore"}, "set the cutter for diameter 84 mm, bore 1"),
        ({"setting": "over"}, "set the cutter to 67.000 mm over bar and tip, 2 bores from 1"),
        ({"setting": "tip"}, "set the cutter to tip 17.000 mm out of the bar, 2 bores from 1"),
    ],
)
def test_a_setting_without_passes(size: Data | None, message: str) -> None:
    changes: Data = {} if size is None else {"size": size}
    assert messages(job_of({}, {}, passes=None, **changes)) == [message]
