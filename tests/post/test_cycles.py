from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from post.cycles import Cycle, expand
from post.motion import Sense
from post.refusal import Refusal
from post.timeline import STOPPED, Event, Move, Point, Spin, SpinChange, Wait
from tests.post.programs import FIRST, events, moves, refused

TURNING: Final = Spin(760.0, Sense.COUNTERCLOCKWISE, None)

AXES: Final = {"G17": ("X", "Y", "Z"), "G18": ("Z", "X", "Y"), "G19": ("Y", "Z", "X")}
"""By plane: its two axes and its own."""


def through(start: Point, *ways: tuple[Point, float | None]) -> list[Event]:
    """Moves on the first line with the spindle turning: where from, and each end with its feed, None for a rapid."""
    starts = [start, *(end for end, _ in ways)]
    return [Move(1, here, end, feed, TURNING) for here, (end, feed) in zip(starts, ways, strict=False)]


CYCLE: Final = Cycle(
    code="G85",
    axis=0,
    hole=(7.0, 2.0, 3.0),
    step=(0.0, 0.0, 0.0),
    r=3.0,
    depth=-37.0,
    dwell_s=1.5,
    repeats=1,
    to_r=True,
    mm_per_min=38.0,
)


def test_above_r_the_way_to_the_hole_comes_first() -> None:
    found, end = expand(CYCLE, 1, (9.0, 0.0, 0.0), TURNING)
    on_axis = (3.0, 2.0, 3.0)
    path = through(
        (9.0, 0.0, 0.0), ((9.0, 2.0, 3.0), None), (on_axis, None), ((-37.0, 2.0, 3.0), 38.0), (on_axis, 38.0)
    )
    assert (found, end) == (path, on_axis)


def test_below_r_the_way_to_r_comes_first() -> None:
    found, end = expand(CYCLE, 1, (-1.0, 0.0, 0.0), TURNING)
    on_axis = (3.0, 2.0, 3.0)
    path = through(
        (-1.0, 0.0, 0.0), ((3.0, 0.0, 0.0), None), (on_axis, None), ((-37.0, 2.0, 3.0), 38.0), (on_axis, 38.0)
    )
    assert (found, end) == (path, on_axis)


@pytest.mark.parametrize(("start", "clear"), [(9.0, 9.0), (3.0, 3.0), (-1.0, 3.0)])
def test_under_g98_a_cycle_ends_where_it_began_but_never_below_r(start: float, clear: float) -> None:
    found, end = expand(CYCLE._replace(to_r=False), 1, (start, 2.0, 3.0), TURNING)
    assert end == (clear, 2.0, 3.0)
    assert found[-1] == Move(1, (-37.0, 2.0, 3.0), end, 38.0, TURNING)


IN: Final = Move(1, (3.0, 2.0, 3.0), (-37.0, 2.0, 3.0), 38.0, TURNING)
RAPID_OUT: Final = Move(1, IN.end, IN.start, None, TURNING)
FEED_OUT: Final = RAPID_OUT._replace(feed=38.0)
STAND: Final = Wait(1, 1.5, TURNING)


@pytest.mark.parametrize(
    ("code", "expected"),
    [
        ("G81", [IN, RAPID_OUT]),
        ("G82", [IN, STAND, RAPID_OUT]),
        ("G85", [IN, FEED_OUT]),
        ("G86", [IN, STAND, SpinChange(1, STOPPED), RAPID_OUT._replace(spin=STOPPED), SpinChange(1, TURNING)]),
        ("G89", [IN, STAND, FEED_OUT]),
    ],
)
def test_each_cycle(code: str, expected: list[Event]) -> None:
    assert expand(CYCLE._replace(code=code), 1, (3.0, 2.0, 3.0), TURNING)[0] == expected


@pytest.mark.parametrize("code", ["G82", "G86", "G89"])
def test_no_wait_without_a_dwell(code: str) -> None:
    found = expand(CYCLE._replace(code=code, dwell_s=0.0), 1, (3.0, 2.0, 3.0), TURNING)[0]
    assert not any(isinstance(event, Wait) for event in found)


def test_repeats_go_on_from_hole_to_hole() -> None:
    found, end = expand(CYCLE._replace(step=(0.0, 10.0, 0.0), repeats=3), 1, (3.0, 2.0, 3.0), TURNING)
    holes = [event.end[1] for event in found if isinstance(event, Move) and event.end[0] == -37.0]
    assert holes == [2.0, 12.0, 22.0]
    assert end == (3.0, 22.0, 3.0)


def test_r_below_the_depth() -> None:
    with pytest.raises(Refusal, match=r"^G85 with R at 3 mm, below the depth at X 4 mm$"):
        expand(CYCLE._replace(depth=4.0), 1, (9.0, 0.0, 0.0), TURNING)


def test_r_at_the_depth_is_allowed_and_bores_nothing() -> None:
    assert expand(CYCLE._replace(depth=3.0), 1, (3.0, 2.0, 3.0), TURNING) == ([], (3.0, 2.0, 3.0))


def test_g86_needs_the_spindle_turning() -> None:
    expected = ("cut-not-turning", "G86 with the spindle stopped", "the spindle turning before G86")
    assert refused("G0 X0 Y0 Z5\nG86 Z-1 R1 P0") == expected


COORDINATES: Final = st.integers(-50, 50).map(float)


@given(
    st.sampled_from(["G81", "G82", "G85", "G86", "G89"]),
    st.sampled_from([0, 1, 2]),
    st.tuples(COORDINATES, COORDINATES, COORDINATES),
    st.tuples(COORDINATES, COORDINATES, COORDINATES),
    st.tuples(COORDINATES, COORDINATES).map(sorted),
    st.integers(1, 4),
    st.booleans(),
)
def test_what_holds_for_every_cycle(
    code: str, axis: int, here: Point, hole: Point, heights: list[float], repeats: int, to_r: bool
) -> None:
    depth, r = heights
    cycle = Cycle(code, axis, hole, (1.0, 2.0, 3.0), r, depth, 0.5, repeats, to_r, 38.0)
    found, end = expand(cycle, 1, here, TURNING)
    place, spin = here, TURNING
    for event in found:
        if isinstance(event, Move):
            assert event.start == place
            assert event.spin == spin
            along = event.start[axis] != event.end[axis]
            across = any(event.start[other] != event.end[other] for other in {0, 1, 2} - {axis})
            assert along != across
            assert not across or event.start[axis] >= r
            assert event.feed == 38.0 or max(event.start[axis], event.end[axis]) >= r
            assert min(event.end[axis], event.start[axis]) >= min(depth, here[axis])
            place = event.end
        elif isinstance(event, SpinChange):
            spin = event.spin
    assert (place, spin) == (end, TURNING)
    assert end[axis] == (r if to_r else max(here[axis], r))


# --- as written in a program -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("plane", AXES)
def test_every_plane_bores_along_its_own_axis(plane: str) -> None:
    one, two, own = AXES[plane]
    found = moves(f"{plane} G0 {one}0 {two}0 {own}9\nG81 {one}2 {two}3 {own}-7 R5")
    own_index, one_index, two_index = ("XYZ".index(axis) for axis in (own, one, two))
    ends = [(end[one_index], end[two_index], end[own_index], feed) for end, feed in found]
    assert ends == [(0, 0, 9, None), (2, 3, 9, None), (2, 3, 5, None), (2, 3, -7, 100.0), (2, 3, 9, None)]


@pytest.mark.parametrize("code", ["G81", "G82", "G85", "G86", "G89"])
def test_inch_and_increments(code: str) -> None:
    dwell = "" if code in ("G81", "G85") else "P0"
    found = moves(f"M3 S100\nG20\nF2\nG0 X0 Y0 Z1\nG91 G99 {code} X1 Z-2 R-.5 L2 {dwell}")
    holes = [end for end, feed in found if feed == 50.8 and end[2] < 0]
    assert holes == [(25.4, 0.0, -1.5 * 25.4), (50.8, 0.0, -1.5 * 25.4)]


def test_r_and_depth_stay_for_lines_of_the_same_cycle() -> None:
    assert moves("G99 G0 X0 Y0 Z5\nG81 Z-1 R1\nX2\nY2 R2\nG81 X0") == moves(
        "G99 G0 X0 Y0 Z5\nG81 Z-1 R1\nG81 X2 Z-1 R1\nG81 Y2 Z-1 R2\nG81 X0 Z-1 R2"
    )


def test_l_does_not_stay() -> None:
    once = moves("G0 X0 Y0 Z5\nG81 Z-1 R1 L2\nX2")
    assert sum(end == (2.0, 0.0, -1.0) for end, _ in once) == 1


@pytest.mark.parametrize("code", ["G82", "G86", "G89"])
def test_a_dwell_does_not_stay(code: str) -> None:
    lines = f"M3 S50\nG0 X0 Y0 Z5\n{code} Z-1 R1 P1\nX2"
    assert refused(lines) == ("unreadable", f"{code} without P", f"P on the line of every {code}")


@pytest.mark.parametrize(
    ("lines", "letter"),
    [
        ("G81 Z-1", "R"),
        ("G81 X1 R1", "Z"),
        ("G81 Z-1 R1\nG85 X1", "R"),
        ("G81 Z-1 R1\nG80\nG81 X1 R1", "Z"),
        ("G81 Z-1 R1\nG0 Z5\nG81 Z-1", "R"),
        ("G81 Z-1 R1\nG20 F5\nF5\nX1", "R"),
        ("G81 Z-1 R1\nG91 X1", "R"),
        ("G18 G81 Y-1 R1\nG17 X1", "R"),
    ],
)
def test_r_and_depth_must_be_stated_for_each_run_of_a_cycle(lines: str, letter: str) -> None:
    expected = (
        f"G85 without {letter}" if "G85" in lines else f"G81 without {letter}",
        f"{letter} on the first line of a cycle",
    )
    assert refused(f"G0 X0 Y0 Z5\n{lines}") == ("unreadable", *expected)


@pytest.mark.parametrize("count", ["0", "-1", "1.5", "1.001", "101", "9" * 20])
def test_a_count_refused(count: str) -> None:
    rule, found, expected = refused(f"G0 X0 Y0 Z5\nG81 Z-1 R1 L{count}")
    assert (rule, found[0], expected) == ("unreadable", "L", "a whole number from 1 to 100")
    assert float(found[1:]) == float(count)


def test_a_count_only_near_a_whole_number() -> None:
    assert refused("G0 X0 Y0 Z5\nG81 Z-1 R1 L2.00005")[0] == "unreadable"


def test_r_below_the_depth_in_a_program() -> None:
    expected = ("unreadable", "G81 with R at 1 mm, below the depth at Z 2 mm", "R at the depth or above it")
    assert refused("G0 X0 Y0 Z5\nG81 Z2 R1") == expected


def test_a_negative_dwell_of_a_cycle() -> None:
    expected = ("unreadable", "G82 with P-1", "P of 0 or more")
    assert refused("G0 X0 Y0 Z5\nG82 Z-1 R1 P-1") == expected


@pytest.mark.parametrize("lines", ["G81 X1 Y1 Z-1 R1", "G0 X1 Y1\nG81 Z-1 R1", "G0 X1 Y1 Z5\nG55\nG81 X1 Y1 Z-1 R1"])
def test_a_cycle_from_a_place_not_known(lines: str) -> None:
    assert refused(lines) == ("state-assumed", "G81 from a place not known", "X, Y and Z stated before it")


def test_a_cycle_needs_a_feed() -> None:
    found = refused("G0 X0 Y0 Z5\nG81 Z-1 R1", opening="G21 G17 G90 G94 G54 G98\n")
    assert found == ("state-assumed", "G81 with no F stated", "F on a line after G20 or G21, and with or after G94")
    assert refused("F0\nG0 X0 Y0 Z5\nG81 Z-1 R1") == ("unreadable", "G81 at F0", "F above 0")


def test_events_of_a_cycle_carry_its_line() -> None:
    found = events("G0 X0 Y0 Z5\nM3 S50\nG86 Z-1 R1 P1")
    assert {event.line for event in found[2:]} == {FIRST + 2}
