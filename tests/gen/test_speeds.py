import math
import re
from typing import Any, Final

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from gen.job import Job
from gen.row import Housing, housings
from gen.speeds import Setting, rpm_of_speed, setting, show_feed, spindle_range, spindle_sense, wanted_cutter_rpm
from post.dialect import Dialect, Resolution, Steps
from post.motion import Sense
from post.posts import find
from post.units import MM_PER
from post.userfile import InputError
from tests.jobs import INCH_TEXT, JOB_TEXT, job_data, job_of, make_job, told, valid_jobs

PLAIN: Final = Dialect(
    about="for tests",
    resolution=Resolution(mm=Steps(length=0.001, feed=0.001), inch=Steps(length=0.0001, feed=0.0001)),
)

PER_TURN: Final = find("per-turn").dialect
"""Feeds a spindle turn in steps of 0.0001 mm and 0.000001 in, dwells in hundredths of a spindle turn."""


def settings_of(job: Job, dialect: Dialect = PLAIN) -> list[Setting]:
    return [setting(job, index, housing, dialect) for index, housing in enumerate(housings(job))]


def asked_feed_mm(job: Job, housing: Housing) -> float:
    """Feed a cutter turn that a job asks for at a bore; mm."""
    feed_mm = job.cut.feed if housing.bore.feed is None else housing.bore.feed
    assert feed_mm is not None
    return feed_mm


def refused(*args: Any, **changes: Any) -> str:
    return told(lambda: settings_of(make_job(*args, **changes)))


def stepped(speed: float) -> Dialect:
    """A dialect whose spindle word goes in steps of ``speed``."""
    return PLAIN.model_copy(update={"resolution": PLAIN.resolution.model_copy(update={"speed": speed})})


def test_the_plain_job() -> None:
    """380 at the cutter through 2:1 is 760 at the spindle; 0.1 x 380 = 38 mm/min; 4 turns take 0.6315 s, so 0.64."""
    first, second, _ = settings_of(make_job())
    assert first == Setting(760.0, 380.0, Sense.COUNTERCLOCKWISE, 38.0, 0.64)
    assert second == first._replace(dwell_s=0.0)


def test_an_inch_job() -> None:
    """0.004 in x 400 = 1.6 in/min."""
    first = settings_of(make_job(INCH_TEXT))[0]
    assert (first.spindle_rpm, first.cutter_rpm, first.sense) == (800.0, 400.0, Sense.CLOCKWISE)
    assert first.mm_per_min == pytest.approx(1.6 * 25.4, rel=1e-12)


@pytest.mark.parametrize(
    ("hand", "reverses", "sense"),
    [
        ("right", False, Sense.CLOCKWISE),
        ("right", True, Sense.COUNTERCLOCKWISE),
        ("left", False, Sense.COUNTERCLOCKWISE),
        ("left", True, Sense.CLOCKWISE),
    ],
)
def test_the_sense_follows_hand_and_head(hand: str, reverses: bool, sense: Sense) -> None:
    job = make_job(bar={"hand": hand}, head={"reverses": reverses})
    assert spindle_sense(job) is sense
    assert settings_of(job)[0].sense is sense


def test_the_sense_does_not_depend_on_which_way_the_bar_points() -> None:
    data = job_data(INCH_TEXT)
    bores = [{**bore, "x": -bore["x"], "length": -bore["length"]} for bore in data["bore"]]
    assert spindle_sense(make_job(INCH_TEXT)) is spindle_sense(make_job(INCH_TEXT, head={"points": "-X"}, bore=bores))


def test_s_is_rounded_first_and_f_follows() -> None:
    """133 x 2.347 = 312.151, so S312: the cutter turns at 132.936 and F follows that."""
    only = settings_of(make_job(head={"ratio": 2.347}, cut={"rpm": 133}))[0]
    assert only.spindle_rpm == 312.0
    assert only.cutter_rpm == pytest.approx(132.9356, abs=1e-4)
    assert only.mm_per_min == 13.294


def test_a_bore_s_own_rpm_and_feed_stand_in_for_the_job_s() -> None:
    bore = {"face": 0, "width": 32, "diameter": 84, "rpm": 200, "feed": 0.25}
    only = settings_of(make_job(bore=[bore]))[0]
    assert (only.spindle_rpm, only.mm_per_min) == (400.0, 50.0)


def test_a_cutting_speed_becomes_rpm_by_each_bore_s_diameter() -> None:
    """1000 x 100 / (pi x 84) = 378.94; at 100 mm 318.31."""
    bores = [{"face": 0, "width": 32, "diameter": 84}, {"face": -120, "width": 32, "diameter": 100}]
    job = make_job(cut={"rpm": None, "speed": 100}, bore=bores)
    assert [round(one.spindle_rpm) for one in settings_of(job)] == [758, 637]
    rpm, key = wanted_cutter_rpm(job, 1, housings(job)[1])
    assert rpm == pytest.approx(318.3099)
    assert key == ("cut", "speed")


def test_rpm_of_a_cutting_speed() -> None:
    assert rpm_of_speed(math.pi, 1000) == pytest.approx(1.0)


@pytest.mark.parametrize(("turns", "seconds"), [(0, 0.0), (1, 0.16), (4, 0.64), (19, 3.0), (19.01, 3.01), (38, 6.0)])
def test_turns_at_the_face_become_seconds_rounded_up(turns: float, seconds: float) -> None:
    """At 380 rev/min one turn takes 60/380 = 0.15789 s."""
    bore = {"face": 0, "width": 32, "diameter": 84, "face_turns": turns}
    assert settings_of(make_job(bore=[bore]))[0].dwell_s == seconds


def test_the_range_of_the_spindle_or_the_head_s_limit_whichever_is_less() -> None:
    assert spindle_range(make_job()) == (50.0, 1600.0)
    assert spindle_range(make_job(head={"max_rpm": 3000})) == (50.0, 4000.0)


@pytest.mark.parametrize(
    ("cutter_rpm", "says"),
    [
        (
            801,
            "cut.rpm: a cutter at 801 rpm asks 1602 of the spindle at ratio 2; machine.spindle_rpm allows 50 to 4000"
            " and head.max_rpm 800 at the cutter; the nearest workable is 800 rpm of the cutter",
        ),
        (
            24.9,
            "cut.rpm: a cutter at 24.9 rpm asks 49.8 of the spindle at ratio 2; machine.spindle_rpm allows 50 to 4000"
            " and head.max_rpm 800 at the cutter; the nearest workable is 25 rpm of the cutter",
        ),
    ],
)
def test_a_speed_out_of_range_is_told_with_the_range_and_the_nearest(cutter_rpm: float, says: str) -> None:
    assert refused(cut={"rpm": cutter_rpm}) == says


@pytest.mark.parametrize("cutter_rpm", [25, 800])
def test_the_ends_of_the_range_are_in_it(cutter_rpm: float) -> None:
    assert settings_of(make_job(cut={"rpm": cutter_rpm}))[0].cutter_rpm == cutter_rpm


def test_an_end_of_the_range_is_in_it_whatever_a_float_makes_of_the_ratio() -> None:
    """800 x 1.1 is 880.0000000000001 in binary."""
    job = make_job(head={"ratio": 1.1}, cut={"rpm": 800}, machine={"spindle_rpm": [50, 880]})
    assert settings_of(job)[0].spindle_rpm == 880.0


def test_a_bore_s_own_speed_out_of_range_is_told_at_the_bore() -> None:
    bore = {"face": 0, "width": 32, "diameter": 84, "rpm": 900}
    assert refused(bore=[bore]).startswith("bore 1, rpm: a cutter at 900 rpm asks 1800 of the spindle")


def test_a_cutting_speed_out_of_range_is_told_at_the_speed() -> None:
    assert refused(cut={"rpm": None, "speed": 300}).startswith("cut.speed: a cutter at 1136.8 rpm asks 2273.6 of the ")


@pytest.mark.parametrize(
    ("text", "asked", "diameters", "speed", "word"),
    [
        # 800 x pi x 0.084 = 211.115, and 25 x pi x 0.1 = 7.854: the smallest bore is the quickest, the largest the
        # slowest to turn in.
        (JOB_TEXT, 300, (84, 100), 211.1, "m/min"),
        (JOB_TEXT, 5, (84, 100), 7.9, "m/min"),
        # 800 x pi x 3.3125 / 12 = 693.8
        (INCH_TEXT, 33_000, (3.3125, 3.5), 693.7, "ft/min"),
    ],
)
def test_a_cutting_speed_out_of_range_is_told_in_its_own_unit(
    text: str, asked: float, diameters: tuple[float, float], speed: float, word: str
) -> None:
    wide = 120 if text == JOB_TEXT else 5
    way = -1 if text == JOB_TEXT else 1
    bores = [{"face": way * wide * at, "width": wide / 4, "diameter": each} for at, each in enumerate(diameters)]
    changes: Any = {"bore": bores}
    message = told(lambda: settings_of(make_job(text, cut={"rpm": None, "speed": asked}, **changes)))
    assert message.endswith(f" rpm of the cutter, speed = {speed} in {word}")
    assert settings_of(make_job(text, cut={"rpm": None, "speed": speed}, **changes))


def test_no_speed_suits_spindle_and_head() -> None:
    assert refused(machine={"spindle_rpm": [1700, 4000]}).endswith(
        "and head.max_rpm 800 at the cutter, so that no speed suits both; check ratio, spindle_rpm and max_rpm"
    )


def test_a_range_that_holds_no_speed_the_control_can_be_told() -> None:
    message = told(lambda: settings_of(make_job(machine={"spindle_rpm": [100.2, 100.8]}, cut={"rpm": 50.25})))
    assert "machine.spindle_rpm allows 100.2 to 100.8" in message
    assert "nearest workable" not in message


def test_rounding_never_leaves_the_range() -> None:
    job = make_job(machine={"spindle_rpm": [100.4, 200.6]}, cut={"rpm": 50.21})
    assert settings_of(job)[0].spindle_rpm == 101.0
    job = make_job(machine={"spindle_rpm": [100.4, 200.6]}, cut={"rpm": 100.29})
    assert settings_of(job)[0].spindle_rpm == 200.0


def test_a_feed_above_the_machine_s_is_told_with_the_most() -> None:
    assert refused(cut={"feed": 20}) == (
        "cut.feed: 20 mm a cutter turn at 380 rpm is 7600 mm/min, above 5000 mm/min, machine.max_feed;"
        " the most is 1 mm a cutter turn"
    )


def test_a_feed_below_the_control_s_step_is_told_with_the_least_that_works() -> None:
    message = refused(cut={"feed": 0.000001})
    assert message.startswith("cut.feed: 0.000001 mm a cutter turn is less than the control can be told at 380 rpm; ")
    least = float(message.rpartition("the least is ")[2].removesuffix(" mm"))
    assert settings_of(make_job(cut={"feed": least}))[0].mm_per_min == 0.001


def test_a_bore_s_own_feed_is_told_at_the_bore() -> None:
    bore = {"face": 0, "width": 32, "diameter": 84, "feed": 20}
    assert refused(bore=[bore]).startswith("bore 1, feed: 20 mm a cutter turn")


def test_feeds_are_shown_in_the_unit_of_the_job() -> None:
    assert show_feed(0.1016, "inch") == "0.004 in"
    assert show_feed(0.1, "mm") == "0.1 mm"


def test_a_feed_a_spindle_turn_is_that_of_the_cutter_by_the_ratio_whatever_the_speed() -> None:
    """0.1 mm a cutter turn through 2:1 is 0.05 a spindle turn: 38 mm/min at 760; through 2.347:1 it is 0.0426."""
    assert settings_of(make_job(), PER_TURN)[0].mm_per_min == pytest.approx(38.0, rel=1e-12)
    odd = settings_of(make_job(head={"ratio": 2.347}, cut={"rpm": 133}), PER_TURN)[0]
    assert odd.spindle_rpm == 312.0
    assert odd.mm_per_min == pytest.approx(0.0426 * 312, rel=1e-12)
    inch = settings_of(make_job(INCH_TEXT, cut={"feed": 0.0041235}), PER_TURN)[0]
    assert inch.mm_per_min == pytest.approx(0.002062 * 800 * 25.4, rel=1e-12)


@pytest.mark.parametrize(
    ("turns", "spindle_turns"), [(0, 0), (1, 2), (4, 8), (0.333, 0.67), (0.001, 0.01), (0.005, 0.01), (19.01, 38.02)]
)
def test_turns_at_the_face_become_spindle_turns_rounded_up(turns: float, spindle_turns: float) -> None:
    """Through 2:1, at 760 turns of the spindle a minute."""
    bore = {"face": 0, "width": 32, "diameter": 84, "face_turns": turns}
    dwell_s = settings_of(make_job(bore=[bore]), PER_TURN)[0].dwell_s
    assert dwell_s == pytest.approx(spindle_turns / 760 * 60, rel=1e-12)


def test_a_feed_below_the_step_of_a_spindle_turn_is_told_with_the_least_that_works() -> None:
    message = told(lambda: settings_of(make_job(cut={"feed": 0.00004}), PER_TURN))
    assert message == (
        "cut.feed: 0.00004 mm a cutter turn is less than the control can be told at 380 rpm; the least is 0.0002 mm"
    )
    assert settings_of(make_job(cut={"feed": 0.0002}), PER_TURN)[0].mm_per_min == pytest.approx(0.0001 * 760)


@settings(max_examples=50)
@given(valid_jobs())
def test_a_feed_a_spindle_turn_is_what_was_asked_but_for_its_last_digit(job: Job) -> None:
    step_mm = PER_TURN.feed_word_step(job.units) * MM_PER[job.units]
    for one, housing in zip(settings_of(job, PER_TURN), housings(job), strict=True):
        asked = asked_feed_mm(job, housing) / job.head.ratio
        told_mm = one.mm_per_min / one.spindle_rpm
        assert abs(told_mm - asked) <= step_mm / 2 * (1 + 1e-6)
        assert told_mm / step_mm == pytest.approx(round(told_mm / step_mm), abs=1e-6)
        turns = one.dwell_s * one.spindle_rpm / 60
        assert turns >= housing.bore.face_turns * job.head.ratio - 1e-9
        assert turns < housing.bore.face_turns * job.head.ratio + 0.01 + 1e-9


@settings(max_examples=50)
@given(valid_jobs(), st.sampled_from((1.0, 0.1, 5.0, 10.0)))
def test_feed_per_cutter_turn_is_what_was_asked_but_for_the_last_digit_of_f(job: Job, speed_step: float) -> None:
    dialect = stepped(speed_step)
    half_step = dialect.steps(job.units).feed * MM_PER[job.units] / 2
    for one, housing in zip(settings_of(job, dialect), housings(job), strict=True):
        asked = asked_feed_mm(job, housing)
        assert one.cutter_rpm * job.head.ratio == pytest.approx(one.spindle_rpm)
        assert abs(one.mm_per_min - asked * one.cutter_rpm) <= half_step * (1 + 1e-6)


@settings(max_examples=50)
@given(valid_jobs(), st.sampled_from((1.0, 0.1, 5.0)))
def test_s_is_on_the_control_s_grid_in_range_and_nearest(job: Job, speed_step: float) -> None:
    low, high = spindle_range(job)
    for index, housing in enumerate(housings(job)):
        one = setting(job, index, housing, stepped(speed_step))
        asked, _ = wanted_cutter_rpm(job, index, housing)
        assert one.spindle_rpm / speed_step == pytest.approx(round(one.spindle_rpm / speed_step), abs=1e-9)
        assert low <= one.spindle_rpm <= high
        assert abs(one.spindle_rpm - asked * job.head.ratio) <= speed_step / 2 + 1e-6


@settings(max_examples=50)
@given(valid_jobs())
def test_a_dwell_is_never_shorter_than_asked_and_less_than_a_step_longer(job: Job) -> None:
    for one, housing in zip(settings_of(job), housings(job), strict=True):
        asked = 60 * housing.bore.face_turns / one.cutter_rpm
        assert asked - 1e-9 <= one.dwell_s < asked + 0.01 + 1e-9


NEAREST: Final = re.compile(r"nearest workable is ([0-9.]+) rpm of the cutter$")


@given(
    st.floats(1, 5000),
    st.sampled_from((0.5, 1.0, 1.5, 2.0, 2.347, 3.0)),
    st.floats(20, 2000),
    st.floats(20, 2000),
    st.floats(50, 2000),
)
def test_the_nearest_workable_speed_works_and_is_the_nearest(
    rpm: float, ratio: float, low: float, span: float, most: float
) -> None:
    def job_at(cutter_rpm: float) -> Job:
        spindle = [low, low + span]
        return make_job(
            machine={"spindle_rpm": spindle}, head={"ratio": ratio, "max_rpm": most}, cut={"rpm": cutter_rpm}
        )

    assume(low + 2 <= most * ratio)
    try:
        settings_of(job_at(rpm))
    except InputError as error:
        match = NEAREST.search(str(error))
        assert match
        workable = float(match[1])
        assert settings_of(job_at(workable))
        beyond = workable + (0.2 if rpm > workable else -0.2)
        told(lambda: settings_of(job_at(beyond)))


@given(
    st.floats(1, 2000),
    st.sampled_from((40.0, 380.0, 777.0)),
    st.sampled_from(("mm", "inch")),
    st.sampled_from((PLAIN, PER_TURN)),
)
def test_the_most_feed_told_works(max_feed: float, rpm: float, units: str, dialect: Dialect) -> None:
    data = job_data(cut={"rpm": rpm, "feed": 99}, machine={"max_feed": max_feed})
    if units == "inch":
        data = job_data(INCH_TEXT, cut={"rpm": rpm, "feed": 99}, machine={"max_feed": max_feed})
    message = told(lambda: settings_of(job_of(data), dialect))
    match = re.search(r"the most is ([0-9.]+) (?:mm|in) a cutter turn$", message)
    assert match
    assume(float(match[1]) > 0.001)
    data["cut"]["feed"] = float(match[1])
    assert settings_of(job_of(data), dialect)[0].mm_per_min <= job_of(data).machine.max_feed * (1 + 1e-9)
