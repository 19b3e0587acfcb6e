"""Every word that a code of RS-274/NGC must have or may have: missing, twice, or not its own.

Source: T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556, 2000, sections
beside each row; M19 is ISO 6983-1's, from memory. Where this project is narrower than the standard, the row says so.
"""

from typing import Any, Final

import pytest

from post.reader import WORD_LETTERS
from tests.post.programs import events, refused

STATED: Final = "G21 G17 G90 G94 G54 G98\n"
START: Final = "G0 X0 Y0 Z5\n"
TURNING: Final = "S50 M3\n"

MISSING: Final = (
    (START + "F5\nG1 X1", "G1", "unreadable", "3.5.2: an axis word"),
    (START + "F5\nG1 X1", "G1 Y1", None, "3.5.2: any of them"),
    (START + "F5\nG1 X1", "G1 Z1", None, "3.5.2: any of them"),
    (START + "G1 X1 F5", "G1 X1", "state-assumed", "3.5.2, 3.7.1: a feed"),
    (START + "G0 X1", "G0", "unreadable", "3.5.1: an axis word"),
    (START + "G0 G53 X1", "G0 G53", "unreadable", "3.5.12; narrower: an axis word"),
    ("G4 P1", "G4", "unreadable", "3.5.4: P"),
    ("S50 M3", "M3", "state-assumed", "3.6.2; narrower: 3.6.2 lets it start at S0"),
    ("S50 M4", "M4", "state-assumed", "3.6.2; narrower: 3.6.2 lets it start at S0"),
    ("M19 R90", "M19", "unreadable", "ISO 6983-1: which angle is the control's own letter"),
    (START + "F5\nG81 Z1 R2", "G81 R2", "unreadable", "3.5.16: X, Y and Z all missing"),
    (START + "F5\nG81 Z1 R2", "G81 X1 R2", "unreadable", "3.5.16: the depth word"),
    (START + "F5\nG81 Z1 R2", "G81 Z1", "unreadable", "3.5.16: R, not yet stated"),
    (START + "G81 Z1 R2 F5", "G81 Z1 R2", "state-assumed", "3.5.16.2: a feed"),
    (START + "F5\nG82 Z1 R2 P1", "G82 Z1 R2", "unreadable", "3.5.16.3: P"),
    (START + "F5\nG82 Z1 R2 P1", "G82 R2 P1", "unreadable", "3.5.16: X, Y and Z all missing"),
    (START + "F5\nG82 Z1 R2 P1", "G82 Z1 P1", "unreadable", "3.5.16: R, not yet stated"),
    (START + "F5\nG85 Z1 R2", "G85 R2", "unreadable", "3.5.16: X, Y and Z all missing"),
    (START + "F5\nG85 Z1 R2", "G85 Y1 R2", "unreadable", "3.5.16: the depth word"),
    (START + "F5\nG85 Z1 R2", "G85 Z1", "unreadable", "3.5.16: R, not yet stated"),
    (START + "G85 Z1 R2 F5", "G85 Z1 R2", "state-assumed", "3.5.16.6: a feed"),
    (TURNING + START + "F5\nG86 Z1 R2 P1", "G86 Z1 R2", "unreadable", "3.5.16.7: P"),
    (TURNING + START + "F5\nG86 Z1 R2 P1", "G86 R2 P1", "unreadable", "3.5.16: X, Y and Z all missing"),
    (TURNING + START + "F5\nG86 Z1 R2 P1", "G86 Z1 P1", "unreadable", "3.5.16: R, not yet stated"),
    (START + "F5\nG89 Z1 R2 P1", "G89 Z1 R2", "unreadable", "3.5.16.10: P"),
    (START + "F5\nG89 Z1 R2 P1", "G89 R2 P1", "unreadable", "3.5.16: X, Y and Z all missing"),
    (START + "F5\nG89 Z1 R2 P1", "G89 Z1 P1", "unreadable", "3.5.16: R, not yet stated"),
    (START + "F5\nG17 G85 Z1 R2", "G17 G85 X1 R2", "unreadable", "3.5.6, 3.5.16: the depth word of G17 is Z"),
    (START + "F5\nG18 G85 Y-1 R2", "G18 G85 Z1 R2", "unreadable", "3.5.6, 3.5.16: the depth word of G18 is Y"),
    (START + "F5\nG19 G85 X-1 R2", "G19 G85 Z1 R2", "unreadable", "3.5.6, 3.5.16: the depth word of G19 is X"),
)
"""Lines that are right; their last line without a word, or with another; the rule it then breaks; source."""

PLACED: Final[dict[str, Any]] = {"zero": (0.0, 0.0, 0.0), "work_offset": "G54"}


@pytest.mark.parametrize(("lines", "without", "rule"), [row[:3] for row in MISSING], ids=[row[1] for row in MISSING])
def test_a_word_that_a_code_must_have(lines: str, without: str, rule: str | None) -> None:
    before, newline, _ = lines.rpartition("\n")
    events(lines, opening=STATED, **PLACED)
    lacking = f"{before}{newline}{without}"
    if rule is None:
        events(lacking, opening=STATED, **PLACED)
    else:
        assert refused(lacking, opening=STATED, **PLACED)[0] == rule


USES: Final = (
    ("G0 X1 Y1 Z1", "XYZ", "3.5.1"),
    ("G1 X1 Y1 Z1 F5", "XYZF", "3.5.2"),
    ("G4 P1", "P", "3.5.4"),
    ("G53 G0 X1 Y1 Z1", "XYZ", "3.5.12"),
    ("G81 X1 Y1 Z1 R2 L1 F5", "XYZRLF", "3.5.16.2"),
    ("G82 X1 Y1 Z1 R2 L1 P1 F5", "XYZRLPF", "3.5.16.3"),
    ("G85 X1 Y1 Z1 R2 L1 F5", "XYZRLF", "3.5.16.6"),
    ("G86 X1 Y1 Z1 R2 L1 P1 F5", "XYZRLPF", "3.5.16.7"),
    ("G89 X1 Y1 Z1 R2 L1 P1 F5", "XYZRLPF", "3.5.16.10"),
    ("M3 S50", "S", "3.6.2"),
    ("M4 S50", "S", "3.6.2"),
    ("M19 R90", "R", "ISO 6983-1"),
)
"""A line with every word its code takes, their letters, source."""


@pytest.mark.parametrize(("line", "letters"), [row[:2] for row in USES], ids=[row[0] for row in USES])
def test_a_word_that_a_code_has_may_not_come_twice(line: str, letters: str) -> None:
    """3.3.5: every letter but G and M once, though it says the same."""
    events(f"{TURNING}{START}{line}", **PLACED)
    for letter in letters:
        word = next(word for word in line.split() if word[0] == letter)
        for again in (word, f"{letter}2"):
            assert refused(f"{TURNING}{START}{line} {again}", **PLACED)[0] == "group-clash"


ALONE: Final = frozenset("FS")
"""Letters that need no code: they set feed (3.7.1) and speed (3.7.2)."""

TAKEN_BY_NOTHING: Final = sorted(WORD_LETTERS - set("GMXYZ") - ALONE)


@pytest.mark.parametrize(("line", "letters"), [row[:2] for row in USES], ids=[row[0] for row in USES])
def test_a_word_that_a_code_does_not_take(line: str, letters: str) -> None:
    """3.5, 3.6: each code's own words; a word that nothing uses is refused."""
    for letter in TAKEN_BY_NOTHING:
        if letter not in letters:
            found = refused(f"{TURNING}{START}{line} {letter}1", **PLACED)
            assert found[0] == "unknown-word", letter


@pytest.mark.parametrize("letter", TAKEN_BY_NOTHING)
def test_a_word_alone_that_needs_a_code(letter: str) -> None:
    """3.5, 3.6; narrower for T (3.7.3), and D and H, which 3.5.10 and 3.5.11 take with G41 to G43 only."""
    assert refused(f"{letter}1")[0] == "unknown-word"


@pytest.mark.parametrize("axis", "XYZ")
def test_axis_words_alone(axis: str) -> None:
    """3.4: the motion in force is theirs. 3.5.15: none under G80. Narrower here: none is in force at first."""
    assert len(events(f"{START}{axis}1")) == 2
    assert refused(f"{axis}1")[0] == "state-assumed"
    assert refused(f"{START}G80\n{axis}1")[0] == "unknown-word"


@pytest.mark.parametrize("code", ["G82", "G86", "G89"])
def test_one_p_for_a_dwell_and_a_cycle(code: str) -> None:
    """3.5.4 and 3.5.16 both take P; narrower here: one word with two meanings on one line is refused."""
    assert refused(f"{TURNING}{START}{code} Z1 R2 P1 G4")[0] == "group-clash"


STICKY: Final = (
    ("G81 Z1 R2", "X1", None, "3.5.16: R and depth hold while the cycle does"),
    ("G81 Z1 R2", "G81 X1", None, "3.5.16: and where it is stated again"),
    ("G81 Z1 R2", "G85 X1", "unreadable", "3.5.16: another cycle"),
    ("G81 Z1 R2", "G80\nG81 X1", "unreadable", "3.5.16: the cycle has ended"),
    ("G81 Z1 R2", "G0 X9\nG81 X1", "unreadable", "3.5.16: the cycle has ended"),
    ("G82 Z1 R2 P1", "X1", "unreadable", "3.5.16; narrower: P is asked for on every line"),
    ("G81 Z1 R2", "G19\nY1", "unreadable", "3.5.16; narrower: a change of plane ends what holds"),
    ("G81 Z1 R2", "G20\nX1 F5", "unreadable", "3.5.16; narrower: a change of unit ends what holds"),
    ("G81 Z1 R2", "G91\nX1", "unreadable", "3.5.16; narrower: a change of distance mode ends what holds"),
)
"""A cycle, what follows, the rule its last line breaks, source."""


@pytest.mark.parametrize(("cycle", "then", "rule"), [row[:3] for row in STICKY], ids=[row[1] for row in STICKY])
def test_words_of_a_cycle_that_hold(cycle: str, then: str, rule: str | None) -> None:
    lines = f"{START}{cycle}\n{then}"
    if rule is None:
        events(lines)
    else:
        assert refused(lines)[0] == rule
