import math
import random
from typing import Final

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from post.dialect import Dialect, OrientedStop
from post.finding import Finding
from post.motion import Sense
from post.replay import MOST_FINDINGS
from post.timeline import STOPPED, End, Halt, Move, OffsetChange, Point, Spin, SpinChange, Timeline, Wait
from tests.post.programs import BARE, FIRST, OPENING, RESOLUTION, events, moves, reason, refused, run

ZERO: Final = (-150.0, 5.0, -380.0)
RIGHT: Final = Spin(100.0, Sense.CLOCKWISE, None)
LEFT: Final = Spin(100.0, Sense.COUNTERCLOCKWISE, None)


def same(found: Point, expected: tuple[float | None, float | None, float | None]) -> bool:
    """Whether two points are equal, None standing for a coordinate not known."""
    return all(math.isnan(a) if b is None else a == b for a, b in zip(found, expected, strict=True))


def without_lines(timeline: Timeline) -> list[object]:
    """Events as text, so that a NaN equals a NaN, without their line numbers."""
    return [repr(event._replace(line=0)) for event in timeline.events]


# --- moves -----------------------------------------------------------------------------------------------------------


def test_a_program() -> None:
    text = "(a bore)\nG21 G19 G90 G94 G54\nG0 X3 Y0 Z0\nM3 S760\nG1 X-37.5 F38\nG0 X3\nM5\nM30\n"
    right = Spin(760.0, Sense.CLOCKWISE, None)
    timeline = run(text)
    assert timeline.events[2:] == [
        SpinChange(4, right),
        Move(5, (3.0, 0.0, 0.0), (-37.5, 0.0, 0.0), 38.0, right),
        Move(6, (-37.5, 0.0, 0.0), (3.0, 0.0, 0.0), None, right),
        SpinChange(7, STOPPED),
        End(8, STOPPED),
    ]
    assert (timeline.findings, timeline.blocks, timeline.units) == ([], 7, "mm")


def test_an_axis_is_unknown_until_its_first_word() -> None:
    first, second = events("G0 Z160\nX3 Y2")
    assert isinstance(first, Move)
    assert isinstance(second, Move)
    assert same(first.start, (None, None, None))
    assert same(first.end, (None, None, 160.0))
    assert second.start is first.end
    assert second.end == (3.0, 2.0, 160.0)


@pytest.mark.parametrize("line", ["X1", "X1 Y2 Z3", "Z3", "x1.000 z+3.", "X1 Z3 F50"])
def test_a_move_of_no_length_is_left_out(line: str) -> None:
    assert len(events(f"G0 X1 Y2 Z3\n{line}\nG1 {line}")) == 1


def test_a_move_of_no_length_with_axes_unknown_is_left_out() -> None:
    assert len(events("G0 Z3\nZ3\nG1 Z3\nG91 G0 Z0")) == 1


def test_inch() -> None:
    timeline = run("G20 G19 G90 G94 G54\nF1.5\nG0 X0 Y0 Z0\nG1 X-1.35\nM30")
    assert timeline.findings == []
    assert timeline.units == "inch"
    assert timeline.events[2] == Move(4, (0.0, 0.0, 0.0), (-1.35 * 25.4, 0.0, 0.0), 1.5 * 25.4, STOPPED)


def test_places_outlive_a_change_of_units() -> None:
    assert moves("G0 X25.4 Y0 Z0\nG20\nG0 X1\nG91 Y1\nG21 G90 Y0") == [
        ((25.4, 0.0, 0.0), None),
        ((25.4, 25.4, 0.0), None),
        ((25.4, 0.0, 0.0), None),
    ]


def test_units_are_those_first_stated() -> None:
    assert run("M3 S1\nG20\nG21\nM30").units == "inch"
    assert run("M30").units is None


def test_increments() -> None:
    assert moves("G0 X1 Y2 Z3\nG91 X1\nG1 Y-2 Z.5\nG90 X1") == [
        ((1.0, 2.0, 3.0), None),
        ((2.0, 2.0, 3.0), None),
        ((2.0, 0.0, 3.5), 100.0),
        ((1.0, 0.0, 3.5), 100.0),
    ]


@pytest.mark.parametrize(
    ("line", "axis"), [("G91 G0 X1", "X"), ("G0 Y1 Z1 X2\nG55\nG91 Z1", "Z"), ("G0 Z1\nG91 Y0", "Y")]
)
def test_an_increment_from_a_place_not_known(line: str, axis: str) -> None:
    expected = ("state-assumed", f"{axis} by increment from a place not known", f"{axis} under G90 before")
    assert refused(line) == expected


def test_the_motion_code_in_force_serves_lines_without_one() -> None:
    assert moves("G1 X1 Y1 Z1\nX2\nG0 Z2\nZ3") == [
        ((1.0, 1.0, 1.0), 100.0),
        ((2.0, 1.0, 1.0), 100.0),
        ((2.0, 1.0, 2.0), None),
        ((2.0, 1.0, 3.0), None),
    ]


def test_another_work_offset_makes_places_unknown() -> None:
    offset, move = events("G0 X1 Y2 Z3\nG55\nZ3")[1:]
    assert offset == OffsetChange(FIRST + 1, "G55")
    assert isinstance(move, Move)
    assert same(move.start, (None, None, None))
    assert same(move.end, (None, None, 3.0))


def test_the_same_work_offset_again_is_told_and_changes_nothing() -> None:
    assert events("G0 X1 Y2 Z3\nG54\nX1")[1:] == [OffsetChange(FIRST + 1, "G54")]


# --- machine coordinates ---------------------------------------------------------------------------------------------


def test_moves_in_machine_coordinates() -> None:
    found = events("G0 G53 Z0\nG53 G1 X-50 Y5\nX1", zero=ZERO, work_offset="G54")
    ends = [event.end for event in found if isinstance(event, Move)]
    assert same(ends[0], (None, None, 380.0))
    assert ends[1:] == [(100.0, 0.0, 380.0), (1.0, 0.0, 380.0)]


def test_machine_coordinates_in_inch() -> None:
    assert events("G20\nG53 G0 X-1", zero=ZERO, work_offset="G54")[0].end[0] == pytest.approx(124.6, abs=1e-12)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("line", "zero", "offset", "found", "expected"),
    [
        ("G53 G0 Z0", None, None, "G53, with the machine position of program zero not known", "no G53"),
        ("G53 G0 Z0", None, "G54", "G53, with the machine position of program zero not known", "no G53"),
        ("G53 G0 Z0", ZERO, "G55", "G53 under G54", "G55, whose zero is known, before G53"),
        ("G56\nG53 G0 Z0", ZERO, "G54", "G53 under G56", "G54, whose zero is known, before G53"),
        ("G0 Z0\nG53 G91 G0 Z0", ZERO, "G54", "G53 under G91", "G90 with G53"),
    ],
)
def test_machine_coordinates_refused(
    line: str, zero: Point | None, offset: str | None, found: str, expected: str
) -> None:
    assert refused(line, zero=zero, work_offset=offset) == ("unknown-word", found, expected)


# --- feed ------------------------------------------------------------------------------------------------------------

NO_F: Final = ("state-assumed", "a feed move with no F stated", "F on a line after G20 or G21, and with or after G94")


@pytest.mark.parametrize(
    ("opening", "line"),
    [
        ("G21 G17 G90 G94 G54\n", "G1 X1"),
        ("F100\nG21 G17 G90 G94 G54\n", "G1 X1"),
        ("G21 G17 G90 G94 G54 F100\n", "G1 X1"),
        ("G21 G17 G90 G54\nF100\nG94\n", "G1 X1"),
        ("G94 G17 G90 G54\nF100\nG21\n", "G1 X1"),
        (OPENING, "G20\nG1 X1"),
        (OPENING, "G20 F4\nG1 X1"),
        (OPENING, "G20 F4 G1 X1"),
    ],
)
def test_a_feed_not_stated_under_units_and_feed_mode(opening: str, line: str) -> None:
    assert refused(line, opening=opening) == NO_F


def test_a_feed_may_stand_on_the_line_that_needs_it_and_with_its_feed_mode() -> None:
    timeline = run("G21 G17 G90 G54\nG94 F50\nG1 X1\nX2 F60\nG21 X3\nM30")
    assert timeline.findings == []
    assert [event.feed for event in timeline.events if isinstance(event, Move)] == [50.0, 60.0, 60.0]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("F0\nG1 X1", ("unreadable", "a feed move at F0", "F above 0")),
        ("G1 X1 F-0", ("unreadable", "a feed move at F0", "F above 0")),
        ("F-1", ("unreadable", "F-1", "F above 0")),
        ("G0 X1 F-.5", ("unreadable", "F-0.5", "F above 0")),
    ],
)
def test_feeds_refused(line: str, expected: tuple[str, str, str]) -> None:
    assert refused(line) == expected


def test_a_feed_of_zero_is_no_matter_until_it_is_used() -> None:
    assert events("F0\nG0 X1 Y1 Z1\nF5\nG1 X2")[-1] == Move(FIRST + 3, (1.0, 1.0, 1.0), (2.0, 1.0, 1.0), 5.0, STOPPED)


# --- spindle ---------------------------------------------------------------------------------------------------------


def test_the_spindle_changes_are_told_once() -> None:
    assert events("M5\nM3 S100\nS100\nM3\nM4\nS200\nM19 R30\nM19 R30\nS50\nM5\nM5\nM3") == [
        SpinChange(FIRST + 1, RIGHT),
        SpinChange(FIRST + 4, LEFT),
        SpinChange(FIRST + 5, LEFT._replace(rpm=200.0)),
        SpinChange(FIRST + 6, Spin(0.0, None, 30.0)),
        SpinChange(FIRST + 9, STOPPED),
        SpinChange(FIRST + 11, RIGHT._replace(rpm=50.0)),
    ]


def test_s_is_kept_while_the_spindle_stands() -> None:
    assert events("S100\nM3\nM5 S40\nM4")[-1] == SpinChange(FIRST + 3, LEFT._replace(rpm=40.0))


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("M3", "M3 at no S"),
        ("M4 S0", "M4 at S0"),
        ("S0\nM3", "M3 at S0"),
        ("M3 S50\nS0", "a turning spindle at S0"),
    ],
)
def test_a_spindle_that_turns_at_no_stated_speed(line: str, found: str) -> None:
    assert refused(line) == ("state-assumed", found, "S above 0; M5 stops")


def test_a_stop_may_take_the_speed_away() -> None:
    assert events("M3 S100\nM5 S0") == [SpinChange(FIRST, RIGHT), SpinChange(FIRST + 1, STOPPED)]


def test_a_negative_speed() -> None:
    assert refused("S-1") == ("unreadable", "S-1", "S above 0")


@pytest.mark.parametrize("letter", ["R", "P"])
def test_the_letter_of_the_oriented_stop_is_the_dialect_s(letter: str) -> None:
    dialect = Dialect(about="x", resolution=RESOLUTION, oriented_stop=OrientedStop.model_validate({"angle": letter}))
    assert events(f"M19 {letter}12.5", dialect) == [SpinChange(FIRST, Spin(0.0, None, 12.5))]
    other = {"R": "P", "P": "R"}[letter]
    expected = ("unreadable", f"M19 without {letter}", f"{letter} on the line of every M19")
    assert refused(f"M19 {other}1", dialect) == expected


@pytest.mark.parametrize(("angle", "told"), [("-180", "-180"), ("360", "360"), ("540", "540"), ("-0.001", "-0.001")])
def test_an_angle_that_no_spindle_stops_at(angle: str, told: str) -> None:
    expected = ("unreadable", f"M19 at {told} degrees", "an angle of 0 or more and less than 360")
    assert refused(f"M19 R{angle}") == expected


@pytest.mark.parametrize("angle", ["0", "180", "359.999"])
def test_an_angle_that_a_spindle_stops_at(angle: str) -> None:
    assert events(f"M19 R{angle}") == [SpinChange(FIRST, Spin(0.0, None, float(angle)))]


def test_an_oriented_stop_the_control_lacks() -> None:
    assert refused("M19 R0", BARE)[:2] == ("unknown-word", "M19")


# --- dwell, stops, end -----------------------------------------------------------------------------------------------


def test_dwells() -> None:
    assert events("G4 P.5\nM3 S100 G4 P2\nG4 P0") == [
        Wait(FIRST, 0.5, STOPPED),
        SpinChange(FIRST + 1, RIGHT),
        Wait(FIRST + 1, 2.0, RIGHT),
    ]


def test_a_negative_dwell() -> None:
    assert refused("G4 P-1") == ("unreadable", "G4 with P-1", "P of 0 or more")


@pytest.mark.parametrize(
    ("line", "message", "optional", "shown"),
    [
        ("M0", "", False, True),
        ("M0 ()", "", False, True),
        ("M1 (MSG, Set the cutter to 41.95)", "Set the cutter to 41.95", True, True),
        ("M0 ( msg,SET )", "SET", False, True),
        ("M0 (sweep the bore)", "sweep the bore", False, False),
        ("(MSG, no) M0 (yes)", "yes", False, False),
        ("M0 (a MSG, b)", "a MSG, b", False, False),
        ("M0 (MSG, MSG, b)", "MSG, b", False, True),
    ],
)
def test_stops(line: str, message: str, optional: bool, shown: bool) -> None:
    assert events(line) == [Halt(FIRST, message, optional, STOPPED, shown)]


@pytest.mark.parametrize("code", ["M2", "M30", "M02"])
def test_the_end_tells_the_spindle_before_it(code: str) -> None:
    timeline = run(f"M3 S100\n{code} (done)\n(bye)\n\n")
    assert timeline.events == [SpinChange(1, RIGHT), End(2, RIGHT)]
    assert timeline.findings == []


@pytest.mark.parametrize(
    ("text", "line", "last"),
    [
        ("", 0, ""),
        ("\n\n", 0, ""),
        ("M3 S1", 1, "M3 S1"),
        ("M3 S1\n(the end)\n\n", 2, "(the end)"),
        ("M0\nM1", 2, "M1"),
    ],
)
def test_a_program_without_end(text: str, line: int, last: str) -> None:
    assert run(text).findings == [Finding("no-end", line, last, "a program without M2 or M30", "M2 or M30 at its end")]


def test_words_after_the_end() -> None:
    timeline = run("M30\n(a remark)\nN5\nM3 S1\nM30\n/M5\nX")
    after = ("after-end", "words after the end of the program", "nothing after M2 or M30")
    assert [(finding.line, reason(finding)) for finding in timeline.findings[:2]] == [(4, after), (5, after)]
    assert [(finding.line, finding.rule) for finding in timeline.findings[2:]] == [
        (6, "unknown-word"),
        (7, "unreadable"),
    ]
    assert timeline.events == [End(1, STOPPED)]


# --- lines that are not run ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("line", ["/G0 X1", "/M30", "/", "/(off)"])
def test_block_delete_is_refused(line: str) -> None:
    expected = ("unknown-word", 'a line that starts with "/"', "lines that run whatever a switch says")
    assert refused(line) == expected


def test_a_line_with_a_finding_is_not_run_and_the_others_are() -> None:
    bad = "G20 G91 G18 G55 F5 S7 M3 G4 P1 G1 X5 R1"
    timeline = run(f"{OPENING}G0 X0 Y0 Z0\n{bad}\nG1 X\nX3\nM30")
    assert [(finding.line, finding.rule) for finding in timeline.findings] == [(4, "unknown-word"), (5, "unreadable")]
    assert timeline.events[-2:] == [Move(6, (0.0, 0.0, 0.0), (3.0, 0.0, 0.0), None, STOPPED), End(7, STOPPED)]


@pytest.mark.parametrize(
    "bad",
    [
        "G20 G91 G18 G55 F5 S7 M3 G4 P1 G1 X5 Y5",
        "G91 G99 G18 F7 S9 M4 G81 X1 Y1 R-3",
        "G91 F7 S9 M4 G81 X1 Z1 R1 L0",
        "F7 S9 G53 G1 X1",
    ],
)
def test_a_line_refused_half_way_leaves_no_trace(bad: str) -> None:
    before, after = "G0 X1 Y2 Z3\nM3 S100", "G1 X2\nG81 Z-1 R1\nM5"
    timeline = run(f"{OPENING}{before}\n{bad}\n{after}\nM30")
    assert [finding.line for finding in timeline.findings] == [FIRST + 2]
    assert without_lines(timeline) == without_lines(run(f"{OPENING}{before}\n(nothing)\n{after}\nM30"))


def test_the_findings_listed_have_a_limit() -> None:
    assert len(run("X\nX1\n/\n" * MOST_FINDINGS).findings) == MOST_FINDINGS


def test_blocks_are_lines_with_words() -> None:
    assert run("(a)\nG21\nN5\n\nG1 X\nM6\n/M3\nM30").blocks == 4


# --- what is stated first --------------------------------------------------------------------------------------------


def test_the_codes_stated_before_anything_moves() -> None:
    timeline = run("G21 g017 G90\nM5 M8\n(G49)\nG54 G94\nG04 P1\nG40 G0 X1 G61.1\nG49 M9\nG0 X2 G64\nM30")
    assert timeline.findings == []
    assert timeline.stated_first == set(["G21", "G17", "G90", "M5", "M8", "G54", "G94", "G4", "G40", "G0", "G61.1"])


def test_all_is_stated_first_where_nothing_moves() -> None:
    assert run("G21\nM3 S5\nM5\nM2").stated_first == {"G21", "M3", "M5", "M2"}


@pytest.mark.parametrize("later", ["G40", "G55\nG40", "G55 G40", "G55\nG40 G0 X1", "G0 X1 S-1\nG40", "G80\nG40"])
def test_nothing_is_stated_first_behind_the_first_move(later: str) -> None:
    assert "G40" not in run(f"{OPENING}G0 X1 Y1 Z1\n{later}\nM30").stated_first
    assert "G40" not in run(f"{OPENING}G0 X1 Y1 Z1\n(nothing)\n{later}\nM30").stated_first


@pytest.mark.parametrize("move", ["G0 X", "G0 X1 S-1", "G0 X1 R1", "/G0 X1", "G53 G0 X1", "G0 X1.0001"])
def test_a_move_that_is_not_run_is_not_the_first(move: str) -> None:
    stated = run(f"{OPENING}{move}\nG40\nG0 X1\nG49\nM30").stated_first
    assert ("G40" in stated, "G49" in stated) == (True, False)


LINES_NOT_RUN: Final = ["/G49", "G49 G5", "G49 X", "G49 R1", "G49 S-1", "G49 G21 G0 X1", "G49 G53 G0 X1", "G49 G4 P-1"]


@pytest.mark.parametrize("line", LINES_NOT_RUN)
def test_a_line_that_is_not_run_states_nothing(line: str) -> None:
    assert run(f"G40\n{line}\nM30").stated_first == {"G40", "M30"}


# --- for all programs ------------------------------------------------------------------------------------------------

LINES: Final = st.lists(
    st.one_of(
        st.text("GMXYZFSPRLN0123456789.-/%() ", max_size=25),
        st.lists(
            st.one_of(
                st.builds("G{}".format, st.sampled_from([0, 1, 4, 17, 18, 19, 20, 21, 53, 54, 55, 80, 81, 82, 85, 86])),
                st.builds("G{}".format, st.sampled_from([89, 90, 91, 94, 98, 99])),
                st.builds("M{}".format, st.sampled_from([0, 3, 4, 5, 8, 19, 30, 48])),
                st.sampled_from(["F0", "F50", "S0", "S100", "P1", "R0", "R-5", "L1", "L3"]),
                st.builds("{}{}".format, st.sampled_from("XYZ"), st.integers(-9, 9)),
            ),
            max_size=5,
        ).map(" ".join),
    ),
    max_size=15,
)


@given(LINES | st.text().map(lambda text: [text]))
@example(["G1 X5 Y5 Z5", "G81 R1", "L99 X1"])
def test_any_text_is_replayed(lines: list[str]) -> None:
    text = OPENING + "\n".join(lines)
    timeline = run(text, zero=ZERO, work_offset="G54")
    here: Point | None = None
    spin = STOPPED
    for event in timeline.events:
        assert 1 <= event.line <= text.count("\n") + 1
        if isinstance(event, SpinChange):
            assert event.spin != spin
            spin = event.spin
            assert (spin.sense is not None) == (spin.rpm > 0)
        elif isinstance(event, OffsetChange):
            here = None if event.code != "G54" else here
        else:
            assert event.spin == spin
        if isinstance(event, Move):
            assert here is None or repr(event.start) == repr(here)
            assert repr(event.start) != repr(event.end)
            assert event.feed is None or event.feed > 0
            here = event.end
    assert [finding.line for finding in timeline.findings] == sorted(finding.line for finding in timeline.findings)
    assert any(isinstance(event, End) for event in timeline.events) != any(
        finding.rule == "no-end" for finding in timeline.findings
    )


WORDS: Final = ["G1", "G90", "G94", "G17", "G21", "G54", "G99", "M3", "M8", "S300", "F50", "X1", "Y-2.5", "Z3"]


@given(st.permutations(WORDS), st.randoms(use_true_random=False))
def test_order_case_and_blanks_of_a_line_do_not_matter(words: list[str], dice: random.Random) -> None:
    line = "".join(dice.choice([str.upper, str.lower])(word) + dice.choice(["", " ", "\t"]) for word in words)
    assert without_lines(run(f"{OPENING}{line}\nM30")) == without_lines(run(f"{OPENING}{' '.join(WORDS)}\nM30"))


@given(st.lists(st.tuples(*[st.floats(-999, 999)] * 3), min_size=1, max_size=8), st.sampled_from(["G20", "G21"]))
def test_a_path_written_is_the_path_replayed(path: list[tuple[float, float, float]], units: str) -> None:
    scale, digits = (25.4, 4) if units == "G20" else (1.0, 3)
    lines = [f"G0 X{x:.{digits}f} Y{y:.{digits}f} Z{z:.{digits}f}" for x, y, z in path]
    timeline = run(f"{units} G17 G90 G94 G54\n" + "\n".join(lines) + "\nM30")
    assert timeline.findings == []
    places = [tuple(float(f"{place:.{digits}f}") * scale for place in point) for point in path]
    kept = [place for index, place in enumerate(places) if index == 0 or place != places[index - 1]]
    assert [event.end for event in timeline.events if isinstance(event, Move)] == kept
