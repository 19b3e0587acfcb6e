from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from post.motion import (
    BoreAlongX,
    Dwell,
    Feed,
    Lift,
    Pause,
    Plan,
    Rapid,
    Remark,
    Sense,
    Simple,
    Spindle,
    SpindleStop,
    Step,
    Withdraw,
)

BORE: Final = BoreAlongX(3.0, -34.5, 0.5, -0.25, 38.0, 0.64, "feed", "bore 1")


def test_the_senses_are_the_words_that_start_them_and_each_other_s_opposite() -> None:
    """RS-274/NGC: M3 turns clockwise, M4 counterclockwise (NISTIR 6556, 3.6.2)."""
    assert Sense.CLOCKWISE.value == "M3"
    assert Sense.COUNTERCLOCKWISE.value == "M4"
    assert [sense.opposite for sense in Sense] == [Sense.COUNTERCLOCKWISE, Sense.CLOCKWISE]


def test_feeding_back_turns_all_the_way() -> None:
    assert list(BORE.expand()) == [
        Feed((-34.5, 0.5, -0.25), 38.0, "feed through bore 1"),
        Dwell(0.64, "stand at the spot face of bore 1"),
        Feed((3.0, 0.5, -0.25), 38.0, "withdraw from bore 1"),
    ]


def test_no_dwell_is_no_step() -> None:
    steps = list(BORE._replace(dwell_s=0.0).expand())
    assert [type(step) for step in steps] == [Feed, Feed]


def test_coming_back_still_stops_first_and_then_is_rapid() -> None:
    assert list(BORE._replace(withdraw="still").expand())[2:] == [
        SpindleStop("stop the cutter in bore 1"),
        Rapid((3.0, 0.5, -0.25), "withdraw from bore 1"),
    ]


def test_lifting_stops_at_the_angle_leaves_the_wall_and_comes_back_onto_the_line() -> None:
    lifted = BORE._replace(withdraw="lift", lift=Lift(90.0, 0.1, 0.3))
    assert list(lifted.expand())[2:] == [
        SpindleStop("stop the cutter at a known angle in bore 1", 90.0),
        Rapid((-34.5, 0.6, pytest.approx(0.05)), "lift the cutter off the wall of bore 1"),  # type: ignore[arg-type]
        Rapid((3.0, 0.6, pytest.approx(0.05)), "withdraw from bore 1"),  # type: ignore[arg-type]
        Rapid((3.0, 0.5, -0.25), "back onto the line in front of bore 1"),
    ]


withdraws: Final[tuple[Withdraw, ...]] = ("feed", "still", "lift")
bores = st.builds(
    BoreAlongX,
    start_x=st.floats(-500, 500),
    end_x=st.floats(-500, 500),
    y=st.floats(-1, 1),
    z=st.floats(-1, 1),
    mm_per_min=st.floats(1, 500),
    dwell_s=st.floats(0, 10),
    withdraw=st.sampled_from(withdraws),
    why=st.just("bore"),
    lift=st.builds(Lift, st.floats(0, 359), st.floats(-2, 2), st.floats(-2, 2)),
)


@given(bores)
def test_a_bore_ends_where_it_began_and_moves_off_the_line_only_when_stopped(bore: BoreAlongX) -> None:
    steps = list(bore.expand())
    moves = [step for step in steps if isinstance(step, Rapid | Feed)]
    assert moves[0].to == (bore.end_x, bore.y, bore.z)
    assert moves[-1].to == (bore.start_x, bore.y, bore.z)
    stopped = False
    for step in steps:
        stopped = stopped or isinstance(step, SpindleStop)
        assert isinstance(step, Rapid) is (stopped and not isinstance(step, SpindleStop))
    assert stopped is (bore.withdraw != "feed")


@given(bores)
def test_every_step_says_why(bore: BoreAlongX) -> None:
    whys = [step.why for step in bore.expand() if not isinstance(step, Remark)]
    assert all("bore" in why for why in whys)
    assert len(set(whys)) == len(whys)


def test_a_plan_is_told_in_simple_steps_in_order() -> None:
    steps: tuple[Step, ...] = (
        SpindleStop("nothing turns yet"),
        Rapid((None, None, 160.0), "up"),
        Remark("bore 1"),
        Spindle(760.0, Sense.CLOCKWISE, "on"),
        BORE,
        Pause("sweep", "look"),
    )
    expected: list[Simple] = [*steps[:4], *BORE.expand(), steps[5]]  # type: ignore[list-item]
    assert list(Plan(steps, "mm", "G54").simple()) == expected


def test_steps_cannot_be_changed_once_made() -> None:
    with pytest.raises(AttributeError, match="set attribute"):
        BORE.mm_per_min = 1.0  # type: ignore[misc]
