"""What the dialect says of feeds, dwells, lengths and messages, as the replay takes it."""

import math
from decimal import Decimal
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from post.dialect import Dialect
from post.motion import Sense
from post.timeline import STOPPED, Halt, Move, Spin, SpinChange, Wait
from tests.post.programs import FIRST, events, made, moves, refused, run

ORIGIN: Final = "G0 X0 Y0 Z0\n"


def feeds(lines: str, dialect: Dialect, opening: str) -> list[float | None]:
    """Feeds of the moves behind the first, in mm a minute."""
    return [feed for _, feed in moves(f"{ORIGIN}{lines}", dialect, opening=opening)[1:]]


def waits(lines: str, dialect: Dialect) -> list[tuple[int, float, Spin]]:
    """Line, seconds and spindle of the dwells, seconds without the last bits of the float."""
    found = [event for event in events(lines, dialect) if isinstance(event, Wait)]
    return [(wait.line, round(wait.seconds, 12), wait.spin) for wait in found]


# --- feed a spindle turn ---------------------------------------------------------------------------------------------

BOTH: Final = made(feed_modes=["G95", "G94"])
PER_TURN: Final = "G21 G17 G90 G95 G54 G98\nF0.1\n"
NEVER_ENDS: Final = ", which never ends"


def test_a_feed_a_turn_is_the_spindle_s_speed_times_f() -> None:
    assert feeds("M3 S500\nG1 X1", BOTH, PER_TURN) == [50.0]


def test_a_feed_a_turn_follows_the_spindle_s_speed_at_the_move() -> None:
    lines = "M3 S500\nG1 X1\nS250\nX2\nX3 S100\nM4 S40 X4\nF.2\nX5\nF.5 X6\nG0 X7"
    assert feeds(lines, BOTH, PER_TURN) == [50.0, 25.0, 10.0, 4.0, 8.0, 20.0, None]


def test_a_feed_a_turn_in_inch() -> None:
    opening = "G20 G17 G90 G95 G54\nF0.004\n"
    assert feeds("M3 S500\nG1 X1", BOTH, opening) == [pytest.approx(50.8, rel=1e-12)]


@pytest.mark.parametrize("before", ["", "S500\n", "M3 S500\nM5\n", "M3 S500\nM19 R0\n", "M3 S500\nG1 X2\nM5\n"])
@pytest.mark.parametrize("line", ["G1 X1", "M5 G1 X1", "F0.2 G1 X1"])
def test_a_feed_a_turn_with_the_spindle_stopped(before: str, line: str) -> None:
    found = f"a feed move at a feed a spindle turn with the spindle stopped{NEVER_ENDS}"
    expected = ("cut-not-turning", found, "the spindle turning")
    assert refused(f"{ORIGIN}{before}{line}", BOTH, opening=PER_TURN) == expected


def test_the_spindle_may_start_on_the_line_that_feeds() -> None:
    assert feeds("G1 X1 M4 S500", BOTH, PER_TURN) == [50.0]


def test_a_rapid_needs_no_spindle() -> None:
    assert feeds("G0 X1", BOTH, PER_TURN) == [None]


@pytest.mark.parametrize("code", ["G81", "G82", "G85", "G86", "G89"])
def test_a_cycle_at_a_feed_a_turn(code: str) -> None:
    dwell = "" if code in ("G81", "G85") else "P0"
    found = feeds(f"M3 S500\nS300\n{code} Z-1 R0 {dwell}", BOTH, PER_TURN)
    assert set(found) - {None} == {30.0}
    stopped = f"{code} at a feed a spindle turn with the spindle stopped{NEVER_ENDS}"
    lines = f"{ORIGIN}{code} Z-1 R0 {dwell}"
    assert refused(lines, BOTH, opening=PER_TURN) == ("cut-not-turning", stopped, "the spindle turning")


NO_F: Final = (
    "state-assumed",
    "a feed move with no F stated",
    "F on a line after G20 or G21, and with or after G95 or G94",
)


@pytest.mark.parametrize(
    ("first", "lines"),
    [
        ("G95", "G94\nG1 X1"),
        ("G94", "G95\nG1 X1"),
        ("G95", "G94 G1 X1"),
        ("G94", "G95 G1 X1"),
        ("G95", "G94\nG95\nG1 X1"),
        ("G94", "G95\nG0 X1\nG1 X2"),
    ],
)
def test_f_means_nothing_under_another_feed_mode(first: str, lines: str) -> None:
    opening = f"G21 G17 G90 {first} G54\nF100\nM3 S500\n"
    assert refused(lines, BOTH, opening=opening) == NO_F


@pytest.mark.parametrize("mode", ["G94", "G95"])
def test_f_outlives_its_own_feed_mode_stated_again(mode: str) -> None:
    opening = f"G21 G17 G90 {mode} G54\nF100\nM3 S2\n"
    assert feeds(f"{mode}\nG1 X1", BOTH, opening) == [200.0 if mode == "G95" else 100.0]


@pytest.mark.parametrize("line", ["G94 F60 G1 X1", "g1 x1 f60 g94", "G94 F60\nG1 X1", "G94\nF60\nG1 X1"])
def test_f_on_the_line_of_its_feed_mode_is_told_in_it(line: str) -> None:
    assert feeds(f"M3 S500\n{line}", BOTH, PER_TURN) == [60.0]


@pytest.mark.parametrize("line", ["G95 F.06 G1 X1", "g1 x1 f.06 g95", "G95 F.06\nG1 X1"])
def test_f_on_the_line_that_turns_to_feeds_a_turn(line: str) -> None:
    opening = "G21 G17 G90 G94 G54\nF100\nM3 S500\n"
    assert feeds(line, BOTH, opening) == [30.0]


def test_f_with_its_feed_mode_and_its_units_on_one_line_is_taken_as_not_stated() -> None:
    assert refused("G1 X1", BOTH, opening="G21 G17 G90 G95 F.1 G54\nM3 S500\n") == NO_F


def test_a_change_of_units_takes_a_feed_a_turn_away() -> None:
    assert refused(f"{ORIGIN}M3 S500\nG20\nG1 X1", BOTH, opening=PER_TURN) == NO_F


def test_a_line_refused_changes_neither_feed_nor_feed_mode() -> None:
    timeline = run(f"{PER_TURN}{ORIGIN}M3 S500\nG94 F60 G1 X1 R1\nG1 X1\nM30", BOTH)
    assert [finding.line for finding in timeline.findings] == [5]
    assert [event.feed for event in timeline.events if isinstance(event, Move)] == [None, 50.0]


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        ({}, "F on a line after G20 or G21, and with or after G94"),
        ({"feed_modes": ["G95"]}, "F on a line after G20 or G21, and with or after G95"),
        ({"unit_words": {"mm": "G71", "inch": "G70"}}, "F on a line after G70 or G71, and with or after G94"),
    ],
)
def test_a_feed_not_stated_is_told_in_the_dialect_s_words(keys: dict[str, Any], expected: str) -> None:
    dialect = made(**keys)
    opening = f"{dialect.unit_words.mm} G17 G90 {dialect.feed_modes[0]} G54\nM3 S5\n"
    assert refused("G1 X1", dialect, opening=opening)[2] == expected


# --- dwells ----------------------------------------------------------------------------------------------------------

UNITS: Final = {"seconds": 2.0, "milliseconds": 0.002, "turns": 1.2}
"""Seconds that 2 means at 100 revolutions a minute."""
RIGHT: Final = Spin(100.0, Sense.CLOCKWISE, None)


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("word", ["P", "X"])
def test_what_a_dwell_counts(word: str, unit: str) -> None:
    dialect = made(dwell={"word": word, "unit": unit})
    assert waits(f"M3 S100\nG4 {word}2", dialect) == [(FIRST + 1, UNITS[unit], RIGHT)]
    assert waits(f"M3 S100\nG4 {word}0", dialect) == []


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("word", ["P", "X"])
@pytest.mark.parametrize("code", ["G82", "G86", "G89"])
def test_the_p_of_cycles_counts_the_same(code: str, word: str, unit: str) -> None:
    dialect = made(dwell={"word": word, "unit": unit})
    found = waits(f"G0 X0 Y0 Z5\nM3 S100\n{code} Z-1 R1 P2", dialect)
    assert found == [(FIRST + 2, UNITS[unit], RIGHT)]


@pytest.mark.parametrize(("unit", "told"), [("seconds", 2.5), ("milliseconds", 0.0025)])
def test_a_dwell_in_time_needs_no_spindle(unit: str, told: float) -> None:
    assert waits("G4 P2.5", made(dwell={"unit": unit})) == [(FIRST, told, STOPPED)]


@pytest.mark.parametrize("word", ["P", "X"])
@pytest.mark.parametrize("unit", UNITS)
def test_a_negative_dwell(word: str, unit: str) -> None:
    expected = ("unreadable", f"G4 with {word}-2", f"{word} of 0 or more")
    assert refused(f"M3 S5\nG4 {word}-2", made(dwell={"word": word, "unit": unit})) == expected


TURNS: Final = made(dwell={"unit": "turns"})


def test_turns_are_of_the_speed_at_the_dwell() -> None:
    found = waits("M3 S100\nG4 P2\nS240\nG4 P2\nM4 S60 G4 P.5", TURNS)
    assert [seconds for _, seconds, _ in found] == [1.2, 0.5, 0.5]


@pytest.mark.parametrize("before", ["", "S100\n", "M3 S100\nM5\n", "M3 S100\nM19 R0\n"])
@pytest.mark.parametrize("line", ["G4 P2.5", "M5 G4 P2.5"])
def test_turns_of_a_spindle_that_is_stopped(before: str, line: str) -> None:
    found = "G4 for 2.5 turns of a spindle that is stopped, which never ends"
    assert refused(before + line, TURNS) == ("cut-not-turning", found, "the spindle turning")


@pytest.mark.parametrize("code", ["G82", "G86", "G89"])
def test_turns_in_a_cycle_of_a_spindle_that_is_stopped(code: str) -> None:
    found = f"{code} for 3 turns of a spindle that is stopped, which never ends"
    expected = ("cut-not-turning", found, "the spindle turning")
    assert refused(f"G0 X0 Y0 Z5\n{code} Z-1 R1 P3", TURNS) == expected


def test_no_turns_need_no_spindle() -> None:
    assert events("G4 P0\nM3 S5", TURNS) == [SpinChange(FIRST + 1, Spin(5.0, Sense.CLOCKWISE, None))]


# --- numbers that count the smallest steps ---------------------------------------------------------------------------


def counted(**keys: Any) -> Dialect:
    """A dialect whose lengths and feeds have no point, with four different steps in each unit."""
    steps = {
        "mm": {"length": 0.01, "feed": 0.1, "feed_per_turn": 0.0002},
        "inch": {"length": 0.001, "feed": 0.5, "feed_per_turn": 0.00004},
    }
    return made(**{"numbers": {"point": "none"}, "resolution": steps, "feed_modes": ["G94", "G95"], **keys})


COUNTED: Final = counted()
OPENINGS: Final = {"mm": "G21 G17 G90 G94 G54 G98\n", "inch": "G20 G17 G90 G94 G54 G98\n"}


@pytest.mark.parametrize(("units", "step_mm"), [("mm", 0.01), ("inch", 0.0254)])
def test_lengths_count_steps(units: str, step_mm: float) -> None:
    (end, _), (other, _) = moves("G0 X100 Y-20 Z3\nG91 X-50 Z1", COUNTED, opening=OPENINGS[units])
    assert end == pytest.approx((100 * step_mm, -20 * step_mm, 3 * step_mm), rel=1e-12)
    assert other == pytest.approx((50 * step_mm, -20 * step_mm, 4 * step_mm), rel=1e-12)


@pytest.mark.parametrize(
    ("units", "mode", "mm_per_min"),
    [("mm", "G94", 5.0), ("inch", "G94", 25 * 25.4), ("mm", "G95", 5.0), ("inch", "G95", 25.4)],
)
def test_feeds_count_steps_of_their_mode(units: str, mode: str, mm_per_min: float) -> None:
    (feed,) = feeds(f"M3 S500\n{mode} F50\nG1 X1", COUNTED, OPENINGS[units])
    assert feed == pytest.approx(mm_per_min, rel=1e-12)


@pytest.mark.parametrize("code", ["G81", "G82", "G85", "G86", "G89"])
@pytest.mark.parametrize(("units", "step_mm"), [("mm", 0.01), ("inch", 0.0254)])
@pytest.mark.parametrize("lines", ["G99 {} Z-100 R20 {} F50", "G91 G99 {} Z-120 R-480 {} F50"])
def test_r_and_depth_of_cycles_count_steps(lines: str, code: str, units: str, step_mm: float) -> None:
    dwell = "" if code in ("G81", "G85") else "P1.5"
    lines = lines.format(code, dwell)
    found = moves(f"M3 S500\nG0 X0 Y0 Z500\n{lines}", COUNTED, opening=OPENINGS[units])
    heights = [end[2] / step_mm for end, _ in found]
    assert heights == pytest.approx([500, 20, -100, 20], rel=1e-12)


def test_r_and_depth_that_are_kept_count_steps() -> None:
    lines = "G0 X0 Y0 Z500\nG99 G81 Z-100 R20 F50\nX300"
    assert [end[2] for end, _ in moves(lines, COUNTED)][-2:] == pytest.approx([-1.0, 0.2])


def test_holes_of_a_repeated_cycle_count_steps() -> None:
    lines = "G0 X0 Y0 Z500\nF50\nG91 G81 X300 Z-100 R-400 L2"
    found = moves(lines, COUNTED, opening=OPENINGS["mm"])
    assert [end[0] for end, feed in found if feed] == pytest.approx([3.0, 6.0])


def test_speeds_angles_and_dwells_count_no_steps() -> None:
    dialect = counted(dwell={"unit": "seconds", "step": 0.1})
    assert events("M3 S760\nG4 P1.5\nM19 R90.5", dialect) == [
        SpinChange(FIRST, Spin(760.0, Sense.CLOCKWISE, None)),
        Wait(FIRST + 1, 1.5, Spin(760.0, Sense.CLOCKWISE, None)),
        SpinChange(FIRST + 2, Spin(0.0, None, 90.5)),
    ]


@pytest.mark.parametrize(("units", "step_mm"), [("mm", 0.01), ("inch", 0.0254)])
def test_machine_coordinates_count_steps(units: str, step_mm: float) -> None:
    zero = (-150.0, 5.0, -380.0)
    first, second = events("G53 G0 Z0\nG53 X-5000 Y200", COUNTED, opening=OPENINGS[units], zero=zero, work_offset="G54")
    assert isinstance(first, Move)
    assert isinstance(second, Move)
    assert math.isnan(first.end[0])
    assert first.end[2] == 380.0
    assert second.end == pytest.approx((150 - 5000 * step_mm, 200 * step_mm - 5, 380.0), rel=1e-12)


def test_a_change_of_units_changes_what_is_counted() -> None:
    ends = [end[0] for end, _ in moves("G0 X100 Y0 Z0\nG20\nX100\nG21 X100", COUNTED, opening=OPENINGS["mm"])]
    assert ends == pytest.approx([1.0, 2.54, 1.0], rel=1e-12)


def test_a_line_refused_leaves_what_is_counted() -> None:
    text = f"{OPENINGS['mm']}G0 X100 Y0 Z0\nG20 X50 R1\nX200\nM30"
    found = [event.end[0] for event in run(text, COUNTED).events if isinstance(event, Move)]
    assert found == pytest.approx([1.0, 2.0], rel=1e-12)


@pytest.mark.parametrize("point", ["optional", "required"])
def test_with_a_point_steps_do_not_matter(point: str) -> None:
    dialect = counted(numbers={"point": point})
    found = moves("F5.\nG0 X1. Y0. Z0.\nG1 X2.", dialect, opening=OPENINGS["mm"])
    assert found == [((1.0, 0.0, 0.0), None), ((2.0, 0.0, 0.0), 5.0)]


# --- numbers finer than the control reads ----------------------------------------------------------------------------

COARSE: Final = made(
    resolution={
        "mm": {"length": 0.01, "feed": 0.1, "feed_per_turn": 0.002},
        "inch": {"length": 0.005, "feed": 0.05, "feed_per_turn": 0.0005},
        "speed": 0.5,
    },
    dwell={"step": 0.2},
    feed_modes=["G94", "G95"],
)
BEFORE: Final = "M3 S500\nG0 X0 Y0 Z5\nF50\n"


@pytest.mark.parametrize(
    ("units", "line"),
    [
        ("mm", "X1.01"),
        ("mm", "G1 X-.01 Y1.0200000 Z+3"),
        ("mm", "G20 X1.005"),
        ("mm", "G81 Z-1.01 R1.02"),
        ("mm", "G91 G81 Z-1.01 R-1.02 X.03 L2"),
        ("mm", "F.1"),
        ("mm", "F0.10000"),
        ("mm", "G95 F.002"),
        ("mm", "G95\nF.002"),
        ("mm", "S760.5"),
        ("mm", "G4 P0.4"),
        ("mm", "G4 P.60"),
        ("mm", "G89 Z-1 R1 P0.2"),
        ("inch", "X1.005"),
        ("inch", "G85 Z-1.005 R.995"),
        ("inch", "F.05"),
        ("inch", "G95 F.0005"),
        ("inch", "G21 X1.01"),
    ],
)
def test_numbers_as_fine_as_the_control_reads(units: str, line: str) -> None:
    assert run(f"{OPENINGS[units]}{BEFORE}{line}\nM30", COARSE).findings == []


@pytest.mark.parametrize(
    ("units", "line", "word", "step"),
    [
        ("mm", "X1.001", "X1.001", "0.01"),
        ("mm", "G1 Y-0.00500", "Y-0.005", "0.01"),
        ("mm", "z.005", "Z0.005", "0.01"),
        ("mm", "g 1 x + 1 . 0 0 5", "X1.005", "0.01"),
        ("mm", "N1 G0 X1.001 M8 (fine)", "X1.001", "0.01"),
        ("mm", "G91 X.001", "X0.001", "0.01"),
        ("mm", "G20\nG21 X1.005", "X1.005", "0.01"),
        ("inch", "X1.01\nX1.003", "X1.003", "0.005"),
        ("inch", "Y-1.0025", "Y-1.0025", "0.005"),
        ("inch", "G21\nX1.01\nG20 X1.01\nX1.012", "X1.012", "0.005"),
        ("mm", "F.05", "F0.05", "0.1"),
        ("mm", "G94 F100.01", "F100.01", "0.1"),
        ("mm", "G1 X1 F.15", "F0.15", "0.1"),
        ("mm", "G95 F.001", "F0.001", "0.002"),
        ("mm", "G95\nF.003", "F0.003", "0.002"),
        ("mm", "G95 F.002\nG94 F.002", "F0.002", "0.1"),
        ("mm", "G95 F.002\nX.002", "X0.002", "0.01"),
        ("inch", "F.06", "F0.06", "0.05"),
        ("inch", "G95 F.0007", "F0.0007", "0.0005"),
        ("mm", "S760.25", "S760.25", "0.5"),
        ("mm", "s+760.25", "S760.25", "0.5"),
        ("mm", "M4 S 760.3", "S760.3", "0.5"),
        ("mm", "M5 S.1", "S0.1", "0.5"),
        ("mm", "G4 P.5", "P0.5", "0.2"),
        ("mm", "g4 p0.05", "P0.05", "0.2"),
        ("mm", "G4 P 0.3", "P0.3", "0.2"),
    ],
)
def test_a_number_finer_than_the_control_reads(units: str, line: str, word: str, step: str) -> None:
    expected = ("unreadable", f"{word}, finer than the control reads", f"steps of {step}")
    assert refused(f"{BEFORE}{line}", COARSE, opening=OPENINGS[units]) == expected


@pytest.mark.parametrize(
    ("line", "word", "step"),
    [
        ("{} Z-1 R1.001 {}", "R1.001", "0.01"),
        ("{} Z-1 R-.005 {}", "R-0.005", "0.01"),
        ("{} Z-1.001 R1 {}", "Z-1.001", "0.01"),
        ("{} Z-1 R1 X.005 {}", "X0.005", "0.01"),
        ("G19 {} X-1.001 R1 {}", "X-1.001", "0.01"),
        ("G91 {} Z-1.001 R-1 {}", "Z-1.001", "0.01"),
        ("G91 {} Z-1 R-1.001 {}", "R-1.001", "0.01"),
        ("{0} Z-1 R1 {1}\nR1.001 X1 {1}", "R1.001", "0.01"),
        ("{0} Z-1 R1 {1}\nZ-1.001 {1}", "Z-1.001", "0.01"),
    ],
)
@pytest.mark.parametrize("code", ["G81", "G82", "G85", "G86", "G89"])
def test_a_number_of_a_cycle_finer_than_the_control_reads(code: str, line: str, word: str, step: str) -> None:
    lines = line.format(code, "" if code in ("G81", "G85") else "P0.2")
    expected = ("unreadable", f"{word}, finer than the control reads", f"steps of {step}")
    assert refused(f"{BEFORE}{lines}", COARSE, opening=OPENINGS["mm"]) == expected


@pytest.mark.parametrize("code", ["G82", "G86", "G89"])
def test_a_dwell_of_a_cycle_finer_than_the_control_reads(code: str) -> None:
    expected = ("unreadable", "P0.3, finer than the control reads", "steps of 0.2")
    assert refused(f"{BEFORE}{code} Z-1 R1 P.3", COARSE, opening=OPENINGS["mm"]) == expected


@pytest.mark.parametrize(
    ("step", "fine", "finer"), [(0.01, "0.01", "0.015"), (5.0, "10", "12"), (1e-5, ".00011", ".000115")]
)
@pytest.mark.parametrize("unit", UNITS)
def test_a_dwell_told_by_x_is_as_fine_as_a_dwell_and_not_as_a_length(
    unit: str, step: float, fine: str, finer: str
) -> None:
    dialect = made(dwell={"word": "X", "unit": unit, "step": step})
    assert len(waits(f"M3 S100\nG4 X{fine}", dialect)) == 1
    found = f"X{float(finer):g}, finer than the control reads"
    assert refused(f"M3 S100\nG4 X{finer}", dialect)[:2] == ("unreadable", found)


def test_a_number_refused_once_is_refused_again() -> None:
    # The line that is refused leaves the program in inches, where 1.005 can be read.
    text = f"{OPENINGS['mm']}{BEFORE}X1.01\nX1.005\nG20 X1.005\nG21 X1.005\nX1.005\nX1.01\nG21\nX1.005\nM30"
    assert [finding.line for finding in run(text, COARSE).findings] == [6, 8, 12]


STEPS: Final = st.sampled_from([10.0, 1.0, 0.5, 0.1, 0.01, 0.005, 0.001, 0.0005, 0.0001, 1e-7])


@given(STEPS, st.integers(-(10**7), 10**7), st.sampled_from("XYZR"), st.sampled_from(["mm", "inch"]))
def test_every_whole_count_of_steps_is_read_and_none_between(step: float, count: int, letter: str, units: str) -> None:
    steps = {"length": step, "feed": 1.0}
    dialect = made(resolution={units: steps, "mm" if units == "inch" else "inch": {"length": 0.3, "feed": 1.0}})

    def findings(times: Decimal) -> list[str]:
        word = f"{letter}{times * Decimal(repr(step)):f}"
        line = f"G81 Z-10000000000 {word}" if letter == "R" else f"G0 {word}"
        text = f"{OPENINGS[units]}F100\nG0 X0 Y0 Z0\n{line}\nM30"
        return [finding.found for finding in run(text, dialect).findings]

    assert findings(Decimal(count)) == []
    for between in ("0.5", "0.01"):
        (found,) = findings(count + Decimal(between))
        assert found.endswith(", finer than the control reads")


@pytest.mark.parametrize("point", ["optional", "required", "none"])
def test_numbers_without_a_point_are_whole_counts(point: str) -> None:
    lines = "G0 X7 Y-3 Z0\nF7\nG1 X9" if point == "none" else "G0 X.07 Y-.03 Z0.\nF.7\nG1 X.09"
    found = moves(lines, counted(numbers={"point": point}), opening=OPENINGS["mm"])
    assert [end for end, _ in found] == [pytest.approx((0.07, -0.03, 0.0)), pytest.approx((0.09, -0.03, 0.0))]
    assert found[1][1] == pytest.approx(0.7)


def test_counts_of_steps_larger_than_one_are_never_too_fine() -> None:
    large = {"length": 2.0, "feed": 4.0, "feed_per_turn": 3.0}
    dialect = counted(resolution={"mm": large, "inch": large})
    found = moves("G0 X7 Y-3 Z0\nF7\nG1 X9\nM3 S5\nG95 F7\nX1", dialect, opening=OPENINGS["mm"])
    assert found == [((14.0, -6.0, 0.0), None), ((18.0, -6.0, 0.0), 28.0), ((2.0, -6.0, 0.0), 105.0)]


# --- messages --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("message", "comment", "told", "shown"),
    [
        ("SHOW", "( show Set 84.5)", "Set 84.5", True),
        ("SHOW", "(MSG, Set)", "MSG, Set", False),
        ("SHOW", "(a SHOW b)", "a SHOW b", False),
        ("", "( Set 84.5 )", "Set 84.5", True),
        ("", "(MSG, Set)", "MSG, Set", True),
        ("", "", "", True),
        ("M.*", "(M.* Set)", "Set", True),
        ("M.*", "(Mxx Set)", "Mxx Set", False),
        ("+", "(+ + Set)", "+ Set", True),
        ("SHOW", "(SHOW)", "", True),
    ],
)
@pytest.mark.parametrize(("code", "optional"), [("M0", False), ("M1", True)])
def test_what_begins_a_message_is_the_dialect_s(
    message: str, comment: str, told: str, shown: bool, code: str, optional: bool
) -> None:
    dialect = made(comments={"message": message})
    assert events(f"{code} {comment}", dialect) == [Halt(FIRST, told, optional, STOPPED, shown)]


def test_a_message_behind_a_semicolon() -> None:
    dialect = made(comments={"form": "semicolon", "message": "MSG,"})
    assert events("M0 ; msg, set (84.5); sweep", dialect) == [Halt(FIRST, "set (84.5); sweep", False, STOPPED)]


def test_a_stop_without_comments_shows_nothing() -> None:
    dialect = made(comments={"form": "none"}, new_setting="file")
    assert events("M0", dialect) == [Halt(FIRST, "", False, STOPPED)]


def test_the_angle_of_a_stop_and_machine_coordinates_are_no_finer_than_the_control_reads() -> None:
    assert refused("M19 R1.0001")[1] == "R1.0001, finer than the control reads"
    assert (
        refused("G53 G0 X1.0001", zero=(0.0, 0.0, 0.0), work_offset="G54")[1] == "X1.0001, finer than the control reads"
    )


def test_a_line_refused_leaves_the_step_of_lengths_as_it_was() -> None:
    """G21 on a line that is refused makes the program no program in millimetres."""
    inch = "G20 G17 G90 G94 G54\nG0 X0 Y0 Z0\n"
    timeline = run(f"{inch}G21 X1 Q1\nX1.0001\nM30")
    assert [finding.line for finding in timeline.findings] == [3]
