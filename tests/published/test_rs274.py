"""Statements of the RS-274/NGC language as published, each with its section.

Source of all: T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556, 2000.
Where this project is narrower than the standard, the test says so. Numbers, codes, the words each code
takes, and the order in which they act are in test_conformance_numbers.py, _codes.py, _words.py and _order.py.
"""

import itertools
from typing import Final

import pytest

from post.motion import Sense
from post.reader import WORD_LETTERS
from post.timeline import STOPPED, End, Halt, Move, OffsetChange, Point, Spin, SpinChange, Wait
from tests.post.programs import BARE, block, blocks, events, moves, refused, run, unread, words


def rule_of(line: str) -> str | None:
    """Rule that a line breaks in the reader, or None."""
    finding = block(line).finding
    return finding.rule if finding else None


# --- 3.3: the line ---------------------------------------------------------------------------------------------------


def test_a_line_is_block_delete_then_line_number_then_words_and_comments() -> None:
    """3.3."""
    only = block("/N10 G1 (a) X1 (b)")
    assert (only.deleted, only.words, only.comment) == (True, (("G", 1.0), ("X", 1.0)), "b")
    assert rule_of("N10 / G1") == rule_of("G1 N10") == rule_of("G1 / X1") == "unreadable"


def test_a_line_has_at_most_256_characters() -> None:
    """3.3."""
    assert rule_of("G1".ljust(256)) is None
    assert rule_of("G1".ljust(257)) == "unreadable"


@pytest.mark.parametrize("sign", sorted(set("!\"$&',:;<=>?@\\^_`{|}~*")))
def test_what_is_not_explicitly_allowed_is_an_error(sign: str) -> None:
    """3.3."""
    assert rule_of(f"G1 X1 {sign} Y2") == "unreadable"


def test_blanks_and_tabs_do_not_matter_outside_comments() -> None:
    """3.3, with its own example."""
    assert words("g0x +0. 12 34y 7") == words("g0 x+0.1234 y7") == (("G", 0.0), ("X", 0.1234), ("Y", 7.0))
    assert block("(a b)").comment == "a b"
    assert blocks(" \t \n\n") == []


def test_case_does_not_matter_outside_comments() -> None:
    """3.3."""
    assert words("g1 x5") == words("G1 X5")
    assert block("(Aa)").comment == "Aa"


@pytest.mark.parametrize("number", ["0", "1", "00009", "99999"])
def test_line_numbers(number: str) -> None:
    """3.3.1."""
    assert words(f"N{number} G1") == (("G", 1.0),)


@pytest.mark.parametrize("number", ["000009", "100000", "-1", "+1", "1.", "1.5", ""])
def test_numbers_that_number_no_line(number: str) -> None:
    """3.3.1."""
    assert rule_of(f"N{number} G1") == "unreadable"


def test_line_numbers_may_repeat_and_be_out_of_order() -> None:
    """3.3.1."""
    assert run("N20 G21\nN10 M3 S5\nN10 M5\nN5 M30").findings == []


def test_letters_of_words() -> None:
    """3.3.2, Table 3."""
    readable = {letter for letter in map(chr, range(ord("A"), ord("Z") + 1)) if rule_of(f"{letter}1") is None}
    assert readable == WORD_LETTERS | {"N"} == set("ABCDFGHIJKLMNPQRSTXYZ")


def test_numbers_no_finer_than_the_control_reads() -> None:
    """3.3.2.1 sets no limit to the digits. Narrower here: what a control would round is refused."""
    assert words("X1.23456789") == (("X", 1.23456789),)
    assert moves("G0 X1.234 Y0 Z0") == [((1.234, 0.0, 0.0), None)]
    for word, line in (("X1.2345", "G0 X1.2345"), ("S760.5", "S760.5"), ("P0.125", "G4 P0.125"), ("F0.0005", "F.0005")):
        assert refused(line)[:2] == ("unreadable", f"{word}, finer than the control reads")


@pytest.mark.parametrize("line", ["X#1", "#1=2", "X[1]", "Xabs[1]", "X-sqrt[2]", "X2**3"])
def test_parameters_and_expressions_are_not_interpreted(line: str) -> None:
    """3.3.2.2 to 3.3.3 allow them; here only plain numbers are read."""
    assert rule_of(line) == "unreadable"


@pytest.mark.parametrize("line", ["(a", "a)", "(a (b))", "((a)", "(a))", "G1 (a) (b"])
def test_comments_close_on_their_line_and_do_not_nest(line: str) -> None:
    """3.3.4."""
    assert rule_of(line) == "unreadable"


def test_only_the_last_comment_of_a_line_counts() -> None:
    """3.3.5."""
    assert block("(MSG, one) G1 (two)").comment == "two"


def test_a_message() -> None:
    """3.3.4: MSG, after the bracket and before any other printing character."""
    assert events("M0 (MSG, turn the bar)") == [Halt(3, "turn the bar", False, STOPPED)]
    assert events("M0 ( msg, turn the bar)") == [Halt(3, "turn the bar", False, STOPPED)]


@pytest.mark.parametrize("letter", sorted(WORD_LETTERS - {"G", "M"}))
def test_every_letter_but_g_and_m_once(letter: str) -> None:
    """3.3.5."""
    assert unread(f"{letter}1 {letter}2")[0] == "group-clash"


def test_up_to_four_m_words() -> None:
    """3.3.5."""
    assert rule_of("M0 M3 M8 M48") is None
    assert rule_of("M0 M3 M8 M48 M6") == "group-clash"


def test_the_order_of_words_does_not_matter() -> None:
    """3.3.6."""
    line = ["G1", "G91", "X1", "Z-1", "F5"]
    found = {repr(events("G0 X0 Y0 Z0\n" + " ".join(order))) for order in itertools.permutations(line)}
    assert len(found) == 1


# --- 3.1: the file ---------------------------------------------------------------------------------------------------


def test_percent_lines() -> None:
    """3.1: optional, two or none; the first may follow blank lines, blanks may surround the sign."""
    assert run("M30").findings == run("%\nM30\n%").findings == run("\n  %\t\nM30\n %").findings == []
    assert [finding.rule for finding in run("%\nM30").findings] == ["unreadable"]


def test_text_after_the_end() -> None:
    """3.1 says it is not read. Narrower here: a program that has any is refused."""
    assert [finding.rule for finding in run("%\nM30\n%\nG1 X1").findings] == ["after-end"]
    assert [finding.rule for finding in run("M2\nG1 X1").findings] == ["after-end"]


def test_a_program_needs_its_end() -> None:
    """3.1 does without M2 and M30 between percent lines. Narrower here: the state it ends in would be unsaid."""
    assert [finding.rule for finding in run("%\nM5\n%").findings] == ["no-end"]


def test_block_delete() -> None:
    """2.2.2: such lines run or not as a switch is set. Narrower here: they are refused."""
    assert refused("/G0 X1")[0] == "unknown-word"


# --- 3.4: modal groups -----------------------------------------------------------------------------------------------


def test_codes_of_all_groups_may_share_a_line() -> None:
    """3.3.5 and 3.4, Table 4."""
    line = "G1 G17 G90 G94 G21 G40 G49 G98 G54 G64 G4 P1 M0 M3 M8 M48 X1 F5 S50"
    assert len(events(line)) == 5


@pytest.mark.parametrize("code", ["G5", "G70", "G71", "G95", "G96", "M19", "M98"])
def test_codes_the_standard_lacks(code: str) -> None:
    """3.5 and 3.6: they are read only where a dialect names them."""
    assert refused(code, BARE)[:2] == ("unknown-word", code)


@pytest.mark.parametrize("line", ["O1", ":1", "G1 X1 ; a"])
def test_writing_the_standard_lacks(line: str) -> None:
    """3.3: program numbers and semicolons are read only where a dialect has them."""
    assert unread(line, BARE)[0] == "unreadable"


# --- 3.8, Table 8: order of execution --------------------------------------------------------------------------------


def test_the_order_in_which_the_words_of_a_line_act() -> None:
    """3.8, Table 8: F, S, spindle, dwell, work offset, motion, stop, whatever the order of writing."""
    turning = Spin(50.0, Sense.CLOCKWISE, None)
    line = "M0 X1 Y1 Z1 G1 G54 P2 G4 M3 S50 F5 (look)"
    assert [type(event) for event in events(line)] == [SpinChange, Wait, OffsetChange, Move, Halt]
    assert [getattr(event, "spin", turning) for event in events(line)] == [turning] * 5


def test_the_distance_mode_acts_before_the_motion() -> None:
    """3.8, Table 8, steps 17 and 20."""
    assert moves("G0 X1 Y1 Z1\nX1 G91")[-1] == ((2.0, 1.0, 1.0), None)


def test_the_plane_and_the_retract_mode_act_before_the_motion() -> None:
    """3.8, Table 8, steps 11, 18 and 20."""
    assert moves("G0 X9 Y0 Z0\nX-1 R2 G81 G99 G19")[-2:] == [((-1.0, 0.0, 0.0), 100.0), ((2.0, 0.0, 0.0), None)]


def test_the_units_act_before_the_motion_and_after_f() -> None:
    """3.8, Table 8, steps 3, 12 and 20. Narrower here: an F before its units is taken as not stated."""
    assert moves("G0 X1 Y0 Z0 G20") == [((25.4, 0.0, 0.0), None)]
    assert refused("G1 X1 Y0 Z0 G20 F5")[0] == "state-assumed"


def test_the_spindle_starts_before_the_motion_and_the_program_stops_after_it() -> None:
    """3.8, Table 8, steps 4, 7, 20 and 21."""
    timeline = run("G21 G17 G90 G94 G54\nM30 G0 X1 S5 M4")
    last = timeline.events[-2:]
    assert [type(event) for event in last] == [Move, End]
    assert isinstance(last[0], Move)
    assert last[0].spin == Spin(5.0, Sense.COUNTERCLOCKWISE, None)


# --- 3.5, 3.6: single codes ------------------------------------------------------------------------------------------


def test_dwell_is_in_seconds_and_not_negative() -> None:
    """3.5.4."""
    assert events("G4 P1.5") == [Wait(3, 1.5, STOPPED)]
    assert refused("G4 P-0.1")[0] == "unreadable"


def test_g53_goes_with_g0_and_g1_only() -> None:
    """3.5.12: either may be on the line or in force."""
    assert refused("G53 G80 X1")[0] == "unknown-word"
    assert refused("G0 X0 Y0 Z5\nG81 Z-1 R1\nG53 X1")[0] == "unreadable"
    zero = (1.0, 1.0, 1.0)
    assert len(events("G0 G53 X1 Y1 Z1\nG53 X2", zero=zero, work_offset="G54")) == 2


def test_axis_words_with_g80() -> None:
    """3.5.15."""
    assert refused("G80 X1")[0] == "unknown-word"


@pytest.mark.parametrize(
    ("line", "rule"),
    [
        ("G81 R1", "unreadable"),
        ("G82 Z-1 R1 P-1", "unreadable"),
        ("G81 Z-1 R1 L0", "unreadable"),
        ("G81 Z-1 R1 L1.5", "unreadable"),
        ("G81 Z-1 R1 A5", "unknown-word"),
        ("G93 G81 Z-1 R1", "unknown-word"),
        ("G41 G81 Z-1 R1", "unknown-word"),
        ("G81 X1 R1", "unreadable"),
        ("G81 Z2 R1", "unreadable"),
    ],
)
def test_errors_of_cycles(line: str, rule: str) -> None:
    """3.5.16, its list of errors, in order; rotary axes, G93 and G41 are refused everywhere here."""
    assert refused(f"G0 X0 Y0 Z5\n{line}")[0] == rule


def test_r_and_depth_are_sticky_and_l_is_not() -> None:
    """3.5.16."""
    assert moves("G99 G0 X0 Y0 Z5\nG81 Z-1 R1 L2\nX3")[-3:] == [
        ((3.0, 0.0, 1.0), None),
        ((3.0, 0.0, -1.0), 100.0),
        ((3.0, 0.0, 1.0), None),
    ]


def test_the_preliminary_motion_in_the_yz_plane() -> None:
    """3.5.16.1 as it reads for G19: X to R first where it is below, then in the plane, then X to R."""
    low = moves("G19 G99 G0 X0 Y0 Z0\nG85 X-9 Y1 Z2 R3")[1:]
    assert low[:3] == [((3.0, 0.0, 0.0), None), ((3.0, 1.0, 2.0), None), ((-9.0, 1.0, 2.0), 100.0)]
    high = moves("G19 G99 G0 X7 Y0 Z0\nG85 X-9 Y1 Z2 R3")[1:]
    assert high[:3] == [((7.0, 1.0, 2.0), None), ((3.0, 1.0, 2.0), None), ((-9.0, 1.0, 2.0), 100.0)]


TURNING: Final = Spin(50.0, Sense.CLOCKWISE, None)


@pytest.mark.parametrize(
    ("code", "then"),
    [
        ("G81", [Move(5, (0.0, 0.0, -1.0), (0.0, 0.0, 1.0), None, TURNING)]),
        ("G82", [Wait(5, 0.5, TURNING), Move(5, (0.0, 0.0, -1.0), (0.0, 0.0, 1.0), None, TURNING)]),
        ("G85", [Move(5, (0.0, 0.0, -1.0), (0.0, 0.0, 1.0), 100.0, TURNING)]),
        (
            "G86",
            [
                Wait(5, 0.5, TURNING),
                SpinChange(5, STOPPED),
                Move(5, (0.0, 0.0, -1.0), (0.0, 0.0, 1.0), None, STOPPED),
                SpinChange(5, TURNING),
            ],
        ),
        ("G89", [Wait(5, 0.5, TURNING), Move(5, (0.0, 0.0, -1.0), (0.0, 0.0, 1.0), 100.0, TURNING)]),
    ],
)
def test_how_each_cycle_comes_out(code: str, then: list[object]) -> None:
    """3.5.16.2, .3, .6, .7 and .10."""
    dwell = "" if code in ("G81", "G85") else "P.5"
    assert events(f"M3 S50\nG0 X0 Y0 Z1\n{code} Z-1 R1 {dwell}")[3:] == then


def test_g86_needs_a_turning_spindle() -> None:
    """3.5.16.7."""
    assert refused("G0 X0 Y0 Z1\nG86 Z-1 R1 P0")[0] == "cut-not-turning"


@pytest.mark.parametrize(("code", "start", "end"), [("G98", 5, 5), ("G98", 0, 1), ("G99", 5, 1), ("G99", 0, 1)])
def test_where_a_cycle_ends(code: str, start: int, end: int) -> None:
    """3.5.20: under G98 where the axis was, unless that is lower than R; under G99 at R."""
    assert moves(f"G0 X0 Y0 Z{start}\n{code} G81 Z-1 R1")[-1][0] == (0.0, 0.0, float(end))


def test_the_end_of_a_program_stops_the_spindle() -> None:
    """3.6.1; the state just before is kept with the end."""
    assert run("M3 S50\nM2").events[-1] == End(2, TURNING)


# --- 3.5.16.2: worked examples of G81 --------------------------------------------------------------------------------


def in_order(ends: list[tuple[float, float, float]], found: list[tuple[Point, float | None]]) -> bool:
    return [tuple(round(place, 4) for place in end) for end, _ in found] == ends


def test_example_1() -> None:
    """3.5.16.2, example 1: G90 G81 G98 X4 Y5 Z1.5 R2.8 at (1, 2, 3)."""
    found = moves("G0 X1 Y2 Z3\nG90 G81 G98 X4 Y5 Z1.5 R2.8")
    assert in_order([(1, 2, 3), (4, 5, 3), (4, 5, 2.8), (4, 5, 1.5), (4, 5, 3)], found)
    assert [feed for _, feed in found] == [None, None, None, 100.0, None]


def test_example_2() -> None:
    """3.5.16.2, example 2: G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3 at (1, 2, 3)."""
    found = moves("G0 X1 Y2 Z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3")
    expected = [(1.0, 2.0, 3.0), (1.0, 2.0, 4.8)]
    for x, y in ((5.0, 7.0), (9.0, 12.0), (13.0, 17.0)):
        expected += [(x, y, 4.8), (x, y, 4.2), (x, y, 4.8)]
    assert in_order(expected, found)
    assert [feed for _, feed in found] == [None, None] + [None, 100.0, None] * 3
