import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from post.dialect import Comments, Dialect, DwellWord, Lines, OrientedStop
from post.motion import Dwell, Feed, Lift, Pause, Plan, Rapid, Remark, Sense, Spindle, SpindleStop, Step
from post.posts import find, shipped
from post.units import MM_PER, Units
from post.views import CannotExpressError, refusal, written_steps
from post.writer import write
from tests.post.test_writer import PLAIN, PLAN, bore

PER_TURN = PLAIN.model_copy(update={"feed_modes": ("G95", "G94")})
IN_TURNS = PLAIN.model_copy(update={"dwell": DwellWord(unit="turns")})
TURNING = Spindle(500.0, Sense.CLOCKWISE, "on")
STANDING = SpindleStop("off")
NO_M19 = (
    "the job lifts the cutter off the wall, which needs a spindle stop at a known angle, and this post has"
    " no word for one (RS-274/NGC itself has no M19)"
)


def seen(*steps: Step, dialect: Dialect = PLAIN, units: Units = "mm") -> list[dict[str, Any]]:
    """The fields of steps as a template sees them."""
    return [written.fields for written in written_steps(Plan(steps, units, "G54"), dialect)]


def last(*steps: Step, dialect: Dialect = PLAIN, units: Units = "mm") -> dict[str, Any]:
    return seen(*steps, dialect=dialect, units=units)[-1]


@pytest.mark.parametrize(
    ("step", "fields"),
    [
        (Rapid((1.0, None, -2.0), "way"), {"kind": "rapid", "x": 1.0, "y": None, "z": -2.0, "why": "way"}),
        (Rapid((1.0, 3.0, -2.0), "way"), {"kind": "rapid", "x": 1.0, "y": 3.0, "z": -2.0, "why": "way"}),
        (
            Feed((1.0, 3.0, -2.0), 38.0, "cut"),
            {"kind": "feed", "x": 1.0, "y": 3.0, "z": -2.0, "feed": 38.0, "why": "cut"},
        ),
        (
            Feed((None, None, -2.0), 38.0, "cut"),
            {"kind": "feed", "x": None, "y": None, "z": -2.0, "feed": 38.0, "why": "cut"},
        ),
        (Spindle(760.0, Sense.CLOCKWISE, "on"), {"kind": "spindle", "speed": 760.0, "word": "M3", "why": "on"}),
        (Spindle(1.0, Sense.COUNTERCLOCKWISE, "on"), {"kind": "spindle", "speed": 1.0, "word": "M4", "why": "on"}),
        (SpindleStop("off"), {"kind": "stop", "why": "off"}),
        (Dwell(0.64, "stand"), {"kind": "dwell", "dwell": 0.64, "why": "stand"}),
        (Pause("set the cutter", "new"), {"kind": "pause", "message": "set the cutter", "why": "new"}),
        (Remark("bore 1"), {"kind": "remark", "text": "bore 1"}),
    ],
    ids=lambda value: type(value).__name__ if not isinstance(value, dict) else None,
)
def test_a_step_as_a_template_sees_it(step: Step, fields: dict[str, Any]) -> None:
    assert seen(step) == [fields]


def test_lengths_and_feeds_are_in_the_program_s_unit() -> None:
    rapid, feed = seen(Rapid((25.4, None, -254.0), "way"), Feed((12.7, 0.0, 0.0), 50.8, "cut"), units="inch")
    assert rapid == {"kind": "rapid", "x": 1.0, "y": None, "z": -10.0, "why": "way"}
    assert feed == {"kind": "feed", "x": 0.5, "y": 0.0, "z": 0.0, "feed": 2.0, "why": "cut"}


@pytest.mark.parametrize(("letter", "angle"), [("R", 90.0), ("P", 0.0), ("R", 0.0)])
def test_a_stop_at_an_angle_has_the_dialect_s_word_and_letter(letter: Any, angle: float) -> None:
    dialect = PLAIN.model_copy(update={"oriented_stop": OrientedStop(angle=letter)})
    assert last(SpindleStop("still", angle), dialect=dialect) == {
        "kind": "oriented stop",
        "word": "M19",
        "letter": letter,
        "angle": angle,
        "why": "still",
    }


def test_a_bore_is_written_out_where_the_control_has_no_cycles() -> None:
    steps = bore("still").steps
    assert [fields["kind"] for fields in seen(*steps)] == ["feed", "dwell", "stop", "rapid"]
    assert [fields["kind"] for fields in seen(*bore("feed", dwell_s=0.0).steps)] == ["feed", "feed"]


@pytest.mark.parametrize(
    ("plan", "cycle", "dwell"),
    [
        (bore("feed", dwell_s=0.0), "G85", None),
        (bore("feed"), "G89", 0.64),
        (bore("still"), "G86", 0.64),
        (bore("still", dwell_s=0.0), "G86", 0.0),
    ],
)
def test_a_bore_is_the_cycle_that_does_it(plan: Plan, cycle: str, dwell: float | None) -> None:
    assert seen(*plan.steps, dialect=find("cycles").dialect) == [
        {
            "kind": "bore",
            "cycle": cycle,
            "start_x": 3.0,
            "end_x": -34.5,
            "y": 0.0,
            "z": 0.0,
            "dwell": dwell,
            "feed": 38.0,
            "why": "bore 1",
        }
    ]


@pytest.mark.parametrize(("unit", "dwell"), [("seconds", 0.6), ("milliseconds", 600.0), ("turns", 5.0)])
def test_a_dwell_is_in_what_the_dialect_s_word_counts(unit: Any, dwell: float) -> None:
    dialect = PLAIN.model_copy(update={"dwell": DwellWord(unit=unit)})
    assert last(TURNING, Dwell(0.6, "stand"), dialect=dialect)["dwell"] == pytest.approx(dwell, rel=1e-12)


def test_a_dwell_of_a_cycle_is_in_turns_too() -> None:
    dialect = find("cycles").dialect.model_copy(update={"dwell": DwellWord(unit="turns")})
    assert last(TURNING, *bore("feed", dwell_s=1.2).steps, dialect=dialect)["dwell"] == pytest.approx(10.0, rel=1e-12)


def test_a_feed_per_turn_follows_the_spindle() -> None:
    feed = Feed((1.0, 2.0, 3.0), 50.0, "cut")
    slower = Spindle(250.0, Sense.CLOCKWISE, "on")
    fields = seen(TURNING, feed, slower, feed, STANDING, TURNING, feed, dialect=PER_TURN)
    assert [one["feed"] for one in fields if one["kind"] == "feed"] == pytest.approx([0.1, 0.2, 0.1], rel=1e-12)
    in_inches = last(TURNING, Feed((1.0, 2.0, 3.0), 25.4, "cut"), dialect=PER_TURN, units="inch")
    assert in_inches["feed"] == pytest.approx(0.002, rel=1e-12)


places = st.tuples(*[st.none() | st.floats(-1e5, 1e5)] * 3)


@given(places, st.floats(0.001, 1e5), st.sampled_from(("mm", "inch")))
def test_a_move_in_the_program_s_unit_is_the_same_move(
    place: tuple[float | None, float | None, float | None], feed: float, units: Units
) -> None:
    fields = last(Feed(place, feed, "cut"), units=units)
    for axis, length in zip("xyz", place, strict=True):
        assert (fields[axis] is None) == (length is None)
        if length is not None:
            assert math.isclose(fields[axis] * MM_PER[units], length, rel_tol=1e-12, abs_tol=1e-300)
    assert math.isclose(fields["feed"] * MM_PER[units], feed, rel_tol=1e-12)


# what a dialect has no words for

NO_COMMENTS = PLAIN.model_copy(update={"comments": Comments(form="none"), "new_setting": "file"})
REFUSES_G54 = PLAIN.model_copy(update={"refuses": frozenset({"G54"})})
UP = Lift(0.0, 0.0, 0.3)


@pytest.mark.parametrize(
    ("steps", "dialect", "reason"),
    [
        (bore("lift", lift=UP).steps, PLAIN, NO_M19),
        ((SpindleStop("stop", 12.5),), PLAIN, NO_M19),
        ((SpindleStop("stop", 0.0),), PLAIN, NO_M19),
        (
            bore("lift", lift=UP).steps,
            find("cycles").dialect,
            "no fixed cycle lifts the cutter off the wall along X",
        ),
        (
            bore("feed", end_x=40.0).steps,
            find("cycles").dialect,
            "the fixed cycles bore toward -X only, and this job feeds toward +X",
        ),
        ((TURNING,), REFUSES_G54, "the job's work offset is G54, which this control refuses"),
        ((), REFUSES_G54, "the job's work offset is G54, which this control refuses"),
        (
            (Pause("set the cutter", "new"),),
            NO_COMMENTS,
            "the program stops with a message, and this control takes no comments",
        ),
        ((Feed((1.0, 0.0, 0.0), 38.0, "cut"),), PER_TURN, "cut: a feed a spindle turn needs the spindle turning"),
        (
            (TURNING, STANDING, Feed((1.0, 0.0, 0.0), 38.0, "cut")),
            PER_TURN,
            "cut: a feed a spindle turn needs the spindle turning",
        ),
        (
            bore("feed").steps,
            PER_TURN,
            "feed through bore 1: a feed a spindle turn needs the spindle turning",
        ),
        ((Dwell(1.0, "wait"),), IN_TURNS, "wait: a dwell in spindle turns needs the spindle turning"),
        ((TURNING, STANDING, Dwell(1.0, "wait")), IN_TURNS, "wait: a dwell in spindle turns needs the spindle turning"),
    ],
)
def test_what_a_dialect_has_no_words_for_is_refused_with_the_reason(
    steps: tuple[Step, ...], dialect: Dialect, reason: str
) -> None:
    plan = Plan(steps, "mm", "G54")
    assert refusal(plan, dialect) == reason
    with pytest.raises(CannotExpressError) as caught:
        write(plan, [], dialect, find("longhand").template)
    assert str(caught.value) == reason


def test_a_stop_at_an_angle_is_a_spindle_that_stands() -> None:
    dialect = PER_TURN.model_copy(update={"oriented_stop": OrientedStop()})
    plan = Plan((TURNING, SpindleStop("still", 90.0), Feed((1.0, 0.0, 0.0), 38.0, "cut")), "mm", "G54")
    assert refusal(plan, dialect) == "cut: a feed a spindle turn needs the spindle turning"


def test_a_cycle_the_control_lacks_is_refused_by_name() -> None:
    dialect = find("cycles").dialect.model_copy(update={"cycles": frozenset({"G85"})})
    assert refusal(bore("feed", dwell_s=0.0), dialect) is None
    assert refusal(bore("feed"), dialect) == "bore 1 needs the fixed cycle G89, which this control does not have"
    assert refusal(bore("still"), dialect) == "bore 1 needs the fixed cycle G86, which this control does not have"


def test_an_offset_that_is_not_the_job_s_may_be_refused() -> None:
    assert refusal(PLAN, PLAIN.model_copy(update={"refuses": frozenset({"G55", "M1"})})) is None


@pytest.mark.parametrize("name", list(shipped()))
def test_nothing_is_refused_that_can_be_written(name: str) -> None:
    assert refusal(PLAN, find(name).dialect) is None


@pytest.mark.parametrize(("length", "fits"), [(80, True), (65, True), (64, False), (40, False)])
def test_a_stop_whose_message_no_line_can_hold_is_refused_with_ways_on(length: int, fits: bool) -> None:
    message = "set the cutter for diameter 90.25 mm, bore 2, as planned"
    dialect = PLAIN.model_copy(update={"lines": Lines(length=length)})
    assert len(f"M0(MSG, {message})") == 65
    why = refusal(Plan((Pause(message, "set"),), "mm", "G54"), dialect)
    assert why == (
        None
        if fits
        else f'the stop that says "{message}" takes 65 characters, and lines of this control have {length}; write'
        ' new_setting = "file", or give the bores shorter names'
    )
