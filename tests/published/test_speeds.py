"""Speeds, feeds, dwells and units held against handbooks and published figures."""

import math
from typing import Final

import pytest

from gen.job import Job
from gen.planner import plan
from gen.row import housings
from gen.speeds import rpm_of_speed, setting
from post.motion import BoreAlongX
from post.posts import find
from post.units import MM_PER_FOOT, MM_PER_INCH, show_length
from tests.jobs import INCH_TEXT, make_job

LONGHAND: Final = find("longhand").dialect


def stroke(job: Job) -> BoreAlongX:
    """The one stroke of a job of one bore."""
    (only,) = (step for step in plan(job, LONGHAND).steps if isinstance(step, BoreAlongX))
    return only


def test_speed_of_a_5_inch_diameter_at_60_feet_a_minute() -> None:
    """F. D. Jones, Turning and Boring (1914), p. 40: 60 ft/min on 5 in is 46 rev/min."""
    assert round(rpm_of_speed(60 * MM_PER_FOOT / 1000, 5 * MM_PER_INCH)) == 46
    job = make_job(
        INCH_TEXT,
        head={"ratio": 1},
        cut={"rpm": None, "speed": 60},
        machine={"spindle_rpm": [10, 4000]},
        bore=[{"face": 0, "width": 1, "diameter": 5}],
    )
    assert setting(job, 0, housings(job)[0], LONGHAND).spindle_rpm == 46.0


# Table "Boring" of a 19th-century Pocket-book of Engineering Formulae (believed Molesworth's; title page not seen),
# p. 439: turns a minute at 80 inches a minute, by diameter in inches. Read as printed; some last digits are a hair off.
BORING: Final = {
    1: 25.46, 2: 12.73, 3: 8.48, 4: 6.37, 5: 5.10, 6: 4.24, 7: 3.64, 8: 3.18, 9: 2.83, 10: 2.55, 12: 2.12, 15: 1.70,
    20: 1.27, 25: 1.02, 30: 0.85, 35: 0.73, 40: 0.64, 45: 0.56, 50: 0.51, 60: 0.42, 70: 0.36, 80: 0.32, 90: 0.28,
    100: 0.25,
}  # fmt: skip


@pytest.mark.parametrize(("diameter_in", "turns"), BORING.items())
def test_turns_at_80_inches_a_minute(diameter_in: float, turns: float) -> None:
    assert rpm_of_speed(80 * MM_PER_INCH / 1000, diameter_in * MM_PER_INCH) == pytest.approx(turns, abs=0.0091)


def test_speed_and_feed_of_a_105_mm_diameter_at_200_metres_a_minute() -> None:
    """A student's thesis, republished (weak as an authority, fine as arithmetic): 606.3 rev/min, 90.94 mm/min."""
    turns = rpm_of_speed(200, 105)
    assert turns == pytest.approx(606.3, abs=0.05)
    assert 0.15 * turns == pytest.approx(90.94, abs=0.01)


ONE_HOUSING: Final = {"diameter": 3.3125}


@pytest.mark.parametrize(
    "bore",
    [
        {**ONE_HOUSING, "face": 0, "width": 1.125},
        {**ONE_HOUSING, "x": -0.125, "length": 1.35},
    ],
    ids=["drawn", "as read"],
)
def test_an_eighth_and_a_tenth_make_1_350_of_travel_for_a_1_125_housing(bore: dict[str, float]) -> None:
    """Start gap 1/8 in, 0.100 in past the bore: 1.350 in of travel (common practice, no source)."""
    job = make_job(INCH_TEXT, path={"approach": 0.125, "overrun": 0.1}, bore=[bore])
    cut = stroke(job)
    assert (cut.end_x - cut.start_x) / MM_PER_INCH == pytest.approx(1.35, abs=1e-12)
    assert cut.start_x / MM_PER_INCH == pytest.approx(-0.125, abs=1e-12)
    (housing,) = housings(job)
    assert (housing.far_x - housing.near_x) / MM_PER_INCH == pytest.approx(1.125, abs=1e-12)


def test_the_same_toward_minus_x() -> None:
    """Common practice, no source."""
    drawn = make_job(INCH_TEXT, head={"points": "-X"}, bore=[{**ONE_HOUSING, "face": 0, "width": 1.125}])
    as_read = make_job(INCH_TEXT, head={"points": "-X"}, bore=[{**ONE_HOUSING, "x": 0.125, "length": -1.35}])
    assert (stroke(drawn).end_x - stroke(drawn).start_x) / MM_PER_INCH == pytest.approx(-1.35, abs=1e-12)
    assert stroke(as_read) == stroke(drawn)


@pytest.mark.parametrize(("cutter_rpm", "spindle_rpm"), [(250, 500), (400, 800), (600, 1200)])
def test_a_two_to_one_head_asks_twice_the_cutter_s_speed_of_the_spindle(cutter_rpm: float, spindle_rpm: float) -> None:
    """250 to 600 rev/min of the cutter through 2:1 is 500 to 1200 (common practice, no source)."""
    job = make_job(INCH_TEXT, head={"ratio": 2}, cut={"rpm": cutter_rpm})
    one = setting(job, 0, housings(job)[0], LONGHAND)
    assert (one.spindle_rpm, one.cutter_rpm) == (spindle_rpm, cutter_rpm)


@pytest.mark.parametrize("cutter_rpm", [250, 400, 600])
@pytest.mark.parametrize("feed_in", [0.002, 0.004, 0.006])
def test_feeds_of_two_to_six_thousandths_a_turn(feed_in: float, cutter_rpm: float) -> None:
    """0.004 in a turn usual, 0.002 to 0.006 used (common practice, no source); F = feed x turns, 0.5 to 3.6 in/min."""
    job = make_job(INCH_TEXT, cut={"rpm": cutter_rpm, "feed": feed_in})
    one = setting(job, 0, housings(job)[0], LONGHAND)
    assert one.mm_per_min / MM_PER_INCH == pytest.approx(feed_in * cutter_rpm, rel=1e-12)


@pytest.mark.parametrize(
    ("turns", "rpm", "seconds"),
    [(1, 60, 1.0), (3, 300, 0.6), (4, 250, 0.96), (4, 380, 0.64), (5, 700, 0.43), (2, 600, 0.2), (1, 7, 8.58)],
)
def test_n_turns_take_60_n_over_rpm_seconds_rounded_up_to_a_hundredth(turns: float, rpm: float, seconds: float) -> None:
    """Arithmetic, no source: at n rev/min a turn takes 60/n s."""
    job = make_job(
        machine={"spindle_rpm": [1, 4000]},
        head={"ratio": 1},
        cut={"rpm": rpm},
        bore=[{"face": 0, "width": 32, "diameter": 84, "face_turns": turns}],
    )
    assert setting(job, 0, housings(job)[0], LONGHAND).dwell_s == seconds
    assert math.ceil(6000 * turns / rpm - 1e-9) == round(seconds * 100)


# Housing bores as printed in US Army technical manuals, public: inches and the millimetres printed beside them.
# TM 5-3805-281-24-2; TM 55-1930-208-24 sec. 4-16 and TM 5-3895-359-14&P; TM 5-4320-300-14 p. 6-45.
PRINTED: Final = [
    (4.0020, "101.651"),
    (4.0030, "101.677"),
    (3.812, "96.825"),
    (3.813, "96.850"),
    (3.251, "82.57"),
    (3.252, "82.601"),
]


def agrees(inches: float, printed_mm: str) -> bool:
    """Whether millimetres as printed are the inches, to one unit of the last digit printed."""
    unit = 10.0 ** -len(printed_mm.partition(".")[2])
    return abs(inches * MM_PER_INCH - float(printed_mm)) <= unit


@pytest.mark.parametrize(("inches", "printed_mm"), PRINTED)
def test_bores_printed_in_both_units_agree(inches: float, printed_mm: str) -> None:
    job = make_job(INCH_TEXT, bore=[{"face": 0, "width": 1, "diameter": inches}])
    assert agrees(job.bore[0].diameter / MM_PER_INCH, printed_mm)
    assert show_length(job.bore[0].diameter, "inch") == f"{inches:g} in"
    assert abs(float(show_length(job.bore[0].diameter, "mm").split()[0]) - float(printed_mm)) < 0.0061


def test_a_conversion_printed_wrong_is_seen_to_be() -> None:
    """TM 5-2815-241-34&P, p. 2-146, prints 4.7505 in as 120.883 mm; it is 120.663."""
    assert not agrees(4.7505, "120.883")
    assert agrees(4.7505, "120.663")
