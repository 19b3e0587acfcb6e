"""Every form of number of RS-274/NGC, read or refused as the standard has it.

Source: T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556, 2000; sections
beside each row. Where this project is narrower than the standard, the row says so.
"""

import math
from typing import Final

import pytest

from post.reader import WORD_LETTERS
from tests.post.programs import block, events, moves, refused, words

REAL: Final = (
    ("1", 1.0, "3.3.2.1"),
    ("7", 7.0, "3.3.2.1"),
    ("0", 0.0, "3.3.2.1"),
    ("+1", 1.0, "3.3.2.1: optional sign"),
    ("-1", -1.0, "3.3.2.1: optional sign"),
    ("-0", 0.0, "3.3.2.1: optional sign"),
    ("+0", 0.0, "3.3.2.1: optional sign"),
    ("-0.0", 0.0, "3.3.2.1: optional sign"),
    ("0001", 1.0, "3.3.2.1: zero or more digits"),
    ("-007.50", -7.5, "3.3.2.1: zero or more digits"),
    ("1.5", 1.5, "3.3.2.1"),
    ("1.500", 1.5, "3.3.2.1: zero or more digits behind the point"),
    ("1.", 1.0, "3.3.2.1: none behind the point"),
    ("-1.", -1.0, "3.3.2.1: none behind the point"),
    (".5", 0.5, "3.3.2.1: none before the point"),
    ("+.5", 0.5, "3.3.2.1: none before the point"),
    ("-.5", -0.5, "3.3.2.1: none before the point"),
    (".0", 0.0, "3.3.2.1: none before the point"),
    ("12345678901234567", 12345678901234567.0, "3.3.2.1: about 17 digits are kept"),
    ("0.12345678901234567", 0.12345678901234567, "3.3.2.1: about 17 digits are kept"),
    ("1 2", 12.0, "3.3: blanks anywhere"),
    ("1\t2", 12.0, "3.3: tabs anywhere"),
    (" 7", 7.0, "3.3: blanks anywhere"),
    ("- 7", -7.0, "3.3: blanks anywhere"),
    ("+0. 12 34", 0.1234, "3.3: the standard's own example"),
    ("1 . 5", 1.5, "3.3: blanks anywhere"),
    (" - . 5 ", -0.5, "3.3: blanks anywhere"),
)
"""Form, value, source. A number is a sign or none, digits, a point or none, digits; one digit at least (Appendix E)."""

NOT_REAL: Final = (
    ("", "3.3.2.1: no digit"),
    (" ", "3.3.2.1: no digit"),
    ("+", "3.3.2.1: no digit"),
    ("-", "3.3.2.1: no digit"),
    (".", "3.3.2.1: no digit"),
    ("+.", "3.3.2.1: no digit"),
    ("-.", "3.3.2.1: no digit"),
    ("..5", "3.3.2.1: one point"),
    ("1..", "3.3.2.1: one point"),
    ("1.2.3", "3.3.2.1: one point"),
    ("--1", "3.3.2.1: one sign"),
    ("++1", "3.3.2.1: one sign"),
    ("+-1", "3.3.2.1: one sign"),
    ("1-", "3.3.2.1: the sign comes first"),
    ("1+2", "3.3.2.1: the sign comes first"),
    ("1.-5", "3.3.2.1: the sign comes first"),
    (".+5", "3.3.2.1: the sign comes first"),
    ("1e3", "3.3.2.1: no exponent"),
    ("1E3", "3.3.2.1: no exponent"),
    ("1E-3", "3.3.2.1: no exponent"),
    ("1.5e+3", "3.3.2.1: no exponent"),
    ("1,5", "3.3.2.1: a point, no comma"),
    ("1,000", "3.3.2.1: no groups of digits"),
    ("1'000", "3.3.2.1: no groups of digits"),
    ("1_000", "3.3.2.1: no groups of digits"),
    ("1/2", "3.3.2.1: no fractions"),
    ("5%", "3.3: not explicitly allowed"),
    ("5:", "3.3: not explicitly allowed"),
    ("inf", "3.3.2.1: digits only"),
    ("nan", "3.3.2.1: digits only"),
    ("infinity", "3.3.2.1: digits only"),
    ("\N{MINUS SIGN}1", "3.3: not explicitly allowed"),
    ("\N{FULLWIDTH DIGIT ONE}", "3.3: not explicitly allowed"),
    ("\N{ARABIC-INDIC DIGIT THREE}", "3.3: not explicitly allowed"),
    ("\N{VULGAR FRACTION ONE HALF}", "3.3: not explicitly allowed"),
    ("1\N{NO-BREAK SPACE}2", "3.3: blanks and tabs only"),
    ("1\v2", "3.3: blanks and tabs only"),
    ("1(a)2", "3.3.4: a comment stands between words"),
    ("#1", "3.3.2.2; narrower: parameters are refused"),
    ("[1]", "3.3.2.3; narrower: expressions are refused"),
    ("-[1]", "3.3.2.3; narrower: expressions are refused"),
    ("[1+2]", "3.3.2.3; narrower: expressions are refused"),
    ("cos[0]", "3.3.2.4; narrower: functions are refused"),
)


@pytest.mark.parametrize(("form", "value"), [row[:2] for row in REAL], ids=[row[0] for row in REAL])
def test_a_number_is_read_behind_every_letter(form: str, value: float) -> None:
    for letter in sorted(WORD_LETTERS):
        for written in (letter, letter.lower(), f" {letter} "):
            assert words(f"{written}{form}") == ((letter, value),)


@pytest.mark.parametrize("form", [row[0] for row in NOT_REAL], ids=[ascii(row[0]) for row in NOT_REAL])
def test_what_is_no_number_is_refused_behind_every_letter(form: str) -> None:
    for letter in sorted(WORD_LETTERS):
        only = block(f"{letter}{form}")
        assert only.finding is not None, letter
        assert (only.finding.rule, only.words) == ("unreadable", ()), letter


def test_no_form_is_read_as_what_is_no_finite_number() -> None:
    """3.3.2.1 sets no limit to the digits; narrower here: what no double holds lies on no control's grid."""
    assert words("X" + "9" * 250) == (("X", float("9" * 250)),)
    assert all(math.isfinite(value) for _, value in words("X" + "9" * 250))


CODES: Final = (
    ("G1", "G01 X5", "3.3.2.1: zero or more digits"),
    ("G1", "G001 X5", "3.3.2.1: zero or more digits"),
    ("G1", "G1. X5", "3.3.2.1: none behind the point"),
    ("G1", "G1.0 X5", "3.3.2.1"),
    ("G1", "G+1 X5", "3.3.2.1: optional sign"),
    ("G1", "G 1 X5", "3.3: blanks anywhere"),
    ("G0", "G-0 X5", "3.3.2.1: optional sign"),
    ("G0", "G.0 X5", "3.3.2.1: none before the point"),
    ("G59.1", "G059.10", "3.3.2.1: zero or more digits"),
    ("G59.1", "G59. 1", "3.3: blanks anywhere"),
    ("M3 S5", "M03 S5", "3.3.2.1: zero or more digits"),
    ("M3 S5", "m3 s05.", "3.3: case does not matter"),
)
"""Code, the same written otherwise, source."""


@pytest.mark.parametrize(("code", "line"), [row[:2] for row in CODES], ids=[row[1] for row in CODES])
def test_a_code_written_otherwise_is_the_same_code(code: str, line: str) -> None:
    plain = f"{code} X5" if code in ("G0", "G1") else code
    assert events(f"G90 G0 X0 Y0 Z0\n{line}") == events(f"G90 G0 X0 Y0 Z0\n{plain}")


@pytest.mark.parametrize(
    "word",
    [
        "G-1",
        "G1.0001",
        "G0.9999",
        "G1.001",
        "G1.5",
        "G0.5",
        "G.5",
        "G100",
        "G01.1",
        "G59.4",
        "G59.15",
        "G1000000",
        "M3.1",
        "M-3",
        "M300",
    ],
)
def test_a_number_that_is_no_code_s(word: str) -> None:
    """3.3.2.1, 3.5 and 3.6. Narrower: no code within 0.0001 of one, for controls that cut numbers off."""
    assert refused(f"{word} S5 X1")[0] == "unknown-word"


DRILL: Final = "G0 X0 Y0 Z5\nG81 Z-1 R1 "


@pytest.mark.parametrize("count", ["L+2", "L2.", "L02", "L2.0", "L 2"])
def test_a_count(count: str) -> None:
    """3.3.2.1 and 3.5.16."""
    assert moves(DRILL + count) == moves(DRILL + "L2")


@pytest.mark.parametrize("count", ["L0", "L-1", "L1.5", "L.5", "L1.9999", "L2.0001", "L101"])
def test_no_count(count: str) -> None:
    """3.5.16: a positive integer. Narrower: at most 100, so that one line cannot fill the memory; none near one."""
    assert refused(DRILL + count)[:2] == ("unreadable", f"L{float(count[1:]):g}")


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("F-1", "3.7.1: not negative"),
        ("F-0.001", "3.7.1: not negative"),
        ("G1 X1 F0", "3.5.2; narrower: a feed of 0 never ends"),
        ("S-1", "3.7.2: not negative"),
        ("G4 P-1", "3.5.4: not negative"),
        ("G0 X0 Y0 Z5\nG82 Z-1 R1 P-1", "3.5.16: not negative"),
    ],
)
def test_numbers_that_may_not_be_negative_or_nothing(line: str, what: str) -> None:
    assert refused(line)[0] == "unreadable", what
