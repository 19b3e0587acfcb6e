"""What pygcode does: where it reads as the standard does, and each defect that gen.second keeps away from.

Source throughout: pygcode 0.2.1, observed. What the standard says of the same line is cited beside it. A test here
that fails says that another release behaves otherwise: then read gen/second.py again.
"""

from importlib.metadata import version
from typing import Any

import pytest
from pygcode import GCodeRapidMove, Line, Machine, NullMachine, Word  # type: ignore[import-untyped]
from pygcode.exceptions import (  # type: ignore[import-untyped]
    GCodeParameterError,
    GCodeWordStrError,
    MachineInvalidState,
)


def words(text: str) -> list[tuple[str, Any]]:
    return [(word.letter, word.value) for word in Line(text).block.words]


def left(text: str) -> list[tuple[str, Any]]:
    return [(word.letter, word.value) for word in Line(text).block.modal_params]


def codes(text: str) -> list[tuple[str, Any]]:
    return [(code.word.letter, code.word.value) for code in Line(text).block.gcodes]


def place(*lines: str) -> tuple[float, float, float]:
    machine = NullMachine()
    for line in lines:
        machine.process_block(Line(line).block)
    return machine.pos.X, machine.pos.Y, machine.pos.Z


def test_the_release_observed() -> None:
    assert version("pygcode") == "0.2.1"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("G0 (a) X1 (b) Y2", [("G", 0), ("X", 1), ("Y", 2)]),
        ("g1 x-1.5y.5z5.", [("G", 1), ("X", -1.5), ("Y", 0.5), ("Z", 5)]),
        ("G 1 X 5\tY-.25", [("G", 1), ("X", 5), ("Y", -0.25)]),
        ("/N10 G59.3", [("N", 10), ("G", 59.3)]),
        (
            "G99 G89 X-37.5 Y0 Z0 R3 P0.64 F76",
            [("G", 99), ("G", 89), ("X", -37.5), ("Y", 0), ("Z", 0), ("R", 3), ("P", 0.64), ("F", 76)],
        ),
        ("(feed through bore 1)", []),
    ],
)
def test_words_of_the_subset_are_read_as_the_standard_reads_them(text: str, expected: list[tuple[str, float]]) -> None:
    assert words(text) == expected


@pytest.mark.parametrize("text", ["X+5", "X#1", "X[1+2]", "G1 X1 2", "G1 X1 .5"])
def test_plus_signs_blanks_in_numbers_parameters_and_expressions_are_refused(text: str) -> None:
    """NISTIR 6556 3.3 and 3.3.2 allow them all."""
    with pytest.raises(GCodeWordStrError, match=r"word 'X' value invalid|block code remaining"):
        Line(text)


def test_a_blank_in_a_number_is_misread_when_a_word_follows() -> None:
    """NISTIR 6556 3.3 reads X12."""
    assert words("G1 X1 2 Y3") == [("G", 1), ("X", 1), ("Y", 3)]


def test_an_exponent_becomes_a_word_of_its_own() -> None:
    """NISTIR 6556 3.3.2.1 has no exponents, 3.3.2 no E word."""
    assert words("X1e3") == [("X", 1), ("E", 3)]


@pytest.mark.parametrize("text", ["G1 X1 ? Y2", "*G1 X1 Y2", "G1 /X1 Y2", "G1,X1 Y2", "5 G1 X1 Y2"])
def test_characters_between_words_are_skipped(text: str) -> None:
    """NISTIR 6556 3.3: anything not explicitly allowed is an error."""
    assert words(text) == [("G", 1), ("X", 1), ("Y", 2)]


@pytest.mark.parametrize("text", ["G1.05 X1", "G1.00001 X1", "G1. X1", "G1.0 X1"])
def test_all_but_the_first_decimal_of_a_code_is_skipped(text: str) -> None:
    assert words(text) == [("G", 1), ("X", 1)]


@pytest.mark.parametrize("text", ["G86", "G87", "G88", "M98", "M99", "M3.5", "G6", "G12", "G100", "M100"])
def test_an_unknown_code_is_left_over_without_an_error(text: str) -> None:
    assert codes(text) == []
    assert left(text) == words(text)


def test_the_words_of_g86_are_all_left_over() -> None:
    """NISTIR 6556 3.5.16 has G86; its X, Y, Z, R and P come back as if they were a bare motion."""
    assert left("G99 G86 X-3 Y0 Z0 R1 P2") == [("G", 86), ("X", -3), ("Y", 0), ("Z", 0), ("R", 1), ("P", 2)]


@pytest.mark.parametrize("text", ["M19", "G5", "G73", "G95", "G96", "O100", "U5", "V5", "W5", "E5", "G81 P1", "G85 P1"])
def test_words_the_standard_lacks_are_accepted(text: str) -> None:
    """NISTIR 6556 3.3.2, 3.5 and 3.6 have none of these."""
    assert len(words(text)) == len(text.split())


@pytest.mark.parametrize("letter", ["R", "P"])
def test_the_angle_of_m19_is_left_over(letter: str) -> None:
    assert left(f"M19 {letter}90") == [(letter, 90)]


@pytest.mark.parametrize("text", ["G70", "G71", "G69"])
def test_units_of_iso_6983_1_and_free_codes_are_left_over(text: str) -> None:
    """ISO 6983-1, from memory: G70 is inch, G71 metric."""
    assert left(text) == words(text)
    with pytest.raises(MachineInvalidState, match="unsupported gcode"):
        place("G90", text)


def test_a_feed_a_turn_changes_no_end_of_a_move() -> None:
    """ISO 6983-1, from memory: G95 is feed a revolution."""
    assert left("G95 F0.1") == []
    assert place("G21 G90 G94", "G0 X1 Y1 Z1", "G95 F0.1", "G1 X5", "G94 F100 G1 Y2") == (5, 2, 1)


def test_the_x_of_a_dwell_is_left_over_and_run_as_a_move() -> None:
    """NISTIR 6556 3.5.4 has P; there are controls that have X, common practice, no source."""
    assert left("G4 X1.5") == [("X", 1.5)]
    machine = NullMachine()
    for line in ("G21 G90", "G1 X1", "G4 X7"):
        machine.process_block(Line(line).block)
    assert machine.pos.X == 7


def test_what_the_p_of_a_dwell_counts_is_no_matter() -> None:
    assert words("G4 P500") == [("G", 4), ("P", 500)]
    assert left("G4 P500") == []


@pytest.mark.parametrize(
    ("text", "left_over"), [("X1 G1", ("X", 1)), ("P1 G4", ("P", 1)), ("R10 G85", ("R", 10)), ("X1 P2 G4", ("X", 1))]
)
def test_a_word_before_its_code_is_left_over(text: str, left_over: tuple[str, float]) -> None:
    """NISTIR 6556 3.3.6: the order of words on a line does not matter."""
    assert left_over in left(text)


def test_a_word_before_its_code_runs_the_code_that_stood_before() -> None:
    """NISTIR 6556 3.5.4: G4 with P only dwells."""
    machine = NullMachine()
    for line in ("G21 G19 G90 G99", "G0 X5 Y0 Z0", "G85 X-3 Y1 Z1 R3"):
        machine.process_block(Line(line).block)
    machine.abs_pos.Y = 9.0
    machine.process_block(Line("P1 G4").block)
    assert machine.pos.Y == 1


@pytest.mark.parametrize("text", ["S-5", "G4 P-1", "G4", "G1 F-2 X1", "G1 N10 X1", "N123456", "G85 X5 R-5"])
def test_no_value_is_checked(text: str) -> None:
    """NISTIR 6556 3.3.1, 3.5.4, 3.5.16, 3.7 refuse each of these."""
    assert len(words(text)) == len(text.split())


def test_a_letter_twice_is_refused() -> None:
    with pytest.raises(GCodeParameterError, match="parameter defined twice"):
        Line("G1 X1 X2")


def test_two_codes_of_a_group_are_refused_by_an_assertion() -> None:
    """It vanishes under ``python -O``, and so nothing may lean on it."""
    with pytest.raises(AssertionError, match="cannot be in the same block"):
        Line("G0 G1")


@pytest.mark.parametrize("text", ["G0 X1 (a;b)", "G0 X1 (50% of)"])
def test_a_semicolon_or_percent_sign_in_a_comment_is_refused(text: str) -> None:
    """NISTIR 6556 3.3.4 allows any printable character but brackets."""
    with pytest.raises(GCodeWordStrError, match=r"value invalid|block code remaining"):
        Line(text)


def test_a_semicolon_in_a_comment_can_be_misread() -> None:
    """NISTIR 6556 3.3.4: a comment does nothing, and Y2 behind it is a word."""
    assert words("G0 (X9;b) Y2") == [("G", 0), ("X", 9)]


@pytest.mark.parametrize("text", ["G1 X1 ; b", "G1 X1;G0 X2", "G1 X1 ; (b", "G1 (a (b) X1", "G1 X1 % G0 X2"])
def test_comments_the_standard_lacks_are_accepted(text: str) -> None:
    """NISTIR 6556 3.3.4: comments stand in brackets and do not nest."""
    assert words(text) == [("G", 1), ("X", 1)]


@pytest.mark.parametrize(("value", "text"), [(1234.5678, "X1234.57"), (1234567, "X1.23457e+06"), (0.0004, "X0")])
def test_printed_values_are_rounded(value: float, text: str) -> None:
    word = Word("X", value)
    assert str(word) == text
    assert word.value == value


def test_a_tool_number_is_text_and_a_count_must_be_whole() -> None:
    """NISTIR 6556 3.3.2.1: a number within 0.0001 of an integer is one."""
    assert words("T01") == [("T", "01")]
    with pytest.raises(GCodeWordStrError, match="block code remaining"):
        Line("L2.0")


def test_the_machine_starts_in_g0_unless_told_to_presume_nothing() -> None:
    machine = Machine()
    machine.process_block(Line("X5").block)
    assert machine.pos.X == 5
    assert isinstance(machine.mode.motion, GCodeRapidMove)
    with pytest.raises(MachineInvalidState, match="cannot be assigned"):
        NullMachine().process_block(Line("X5").block)


def test_the_machine_keeps_its_numbers_when_the_unit_changes() -> None:
    """NISTIR 6556 3.5.7: one inch is 25.4 mm."""
    assert place("G20 G90 G0 X1 Y1 Z1", "G21") == (1, 1, 1)


@pytest.mark.parametrize("text", ["G92 X5", "G28 X5", "G30 X5"])
def test_axis_words_of_offsets_and_home_are_run_as_moves(text: str) -> None:
    """NISTIR 6556 3.5.8: home is no program coordinate; 3.5.18: the zero moves, not the machine."""
    assert place("G21 G90 G0 X1", text)[0] == 5


@pytest.mark.parametrize(
    ("lines", "reached"),
    [
        (("G10 L2 P1 X5", "G54 G0 X1"), 1),  # the zero has not moved
        (("G53 G0 X1",), 1),  # taken for program coordinates
        (("G91", "M30", "G0 X1", "G0 X1"), 2),  # M30 has not gone back to G90
    ],
)
def test_g10_g53_and_m30_are_not_carried_out(lines: tuple[str, ...], reached: float) -> None:
    """NISTIR 6556 3.5.5, 3.5.12 and 3.6.1. What the machine reaches is taken to be program coordinates."""
    assert place("G21 G90", *lines)[0] == reached


CYCLE_START = ("G21 G19 G90 G94", "G0 X10 Y0 Z0")


@pytest.mark.parametrize("code", ["G81", "G82", "G85", "G89"])
@pytest.mark.parametrize(("retract", "x"), [("G99", 3), ("G98", 10)])
def test_the_end_of_a_cycle_along_x(code: str, retract: str, x: float) -> None:
    """NISTIR 6556 3.5.16 and 3.5.20: at R under G99, where it began under G98; in the plane at the hole."""
    assert place(*CYCLE_START, f"{retract} {code} X-30 Y1 Z2 R3 P1") == (x, 1, 2)


@pytest.mark.parametrize(("plane", "end"), [("G17", (1, 2, 5)), ("G18", (1, 5, 3)), ("G19", (5, 2, 3))])
def test_the_end_of_a_cycle_in_each_plane(plane: str, end: tuple[float, float, float]) -> None:
    """NISTIR 6556 3.5.6: the drilling axis is Z under G17, Y under G18 and X under G19."""
    assert place("G21 G90 G94", f"{plane} G0 X9 Y9 Z9", "G99 G85 X1 Y2 Z3 R5") == end


def test_under_g98_a_cycle_begun_below_r_is_left_there() -> None:
    """NISTIR 6556 3.5.20: it ends at R, 3, as it began lower."""
    assert place("G21 G19 G90", "G0 X1 Y0 Z0", "G98 G85 X-30 Y1 Z2 R3") == (1, 1, 2)


def test_the_kept_words_of_a_cycle_add_up_under_g91() -> None:
    """NISTIR 6556 3.5.16: only R and the depth are kept, so that Y stays at 2 where Z alone is given."""
    assert place(*CYCLE_START, "G91 G99 G85 X-30 Y2 Z2 R0", "Z2")[1] == 4


def test_a_repeated_cycle_under_g91_adds_up_r() -> None:
    """NISTIR 6556 3.5.16.2 example 2: R is counted once from where the cycle began."""
    assert place("G21 G17 G90 G0 X1 Y2 Z3", "G91 G81 G99 X4 Y5 Z-0.6 R1.8 L3")[2] == pytest.approx(3 + 3 * 1.8)


def test_a_cycle_stated_anew_without_r_stops_the_machine() -> None:
    """NISTIR 6556 3.5.16: R is sticky while the same cycle is used."""
    with pytest.raises(TypeError, match="NoneType"):
        place(*CYCLE_START, "G99 G85 X-30 Y1 Z2 R3", "G85 X-30 Y1 Z5")


def test_the_kept_words_of_a_cycle_ignore_a_change_of_plane() -> None:
    """NISTIR 6556 3.5.16: X, not given, would stay at 3, where the first cycle ended."""
    assert place(*CYCLE_START, "G99 G85 X-30 Y1 Z2 R3", "G17 Y5")[0] == -30
