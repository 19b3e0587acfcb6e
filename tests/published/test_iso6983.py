"""Words of ISO 6983-1 that a dialect may name besides those of RS-274/NGC, and where the two meet.

Source of all: ISO 6983-1:2009, Automation systems and integration - Numerical control of machines - Program format and
definitions of address words. Its text was not at hand: all is from memory, but for the address characters, which were
checked against a republished table. Sections are not cited for that reason. Where this project is narrower than the
standard, the test says so.
"""

from typing import Final

import pytest

from post.motion import Sense
from post.reader import WORD_LETTERS
from post.standard import BEYOND_STANDARD, GROUP_OF
from post.timeline import STOPPED, End, Halt, Move, Spin, SpinChange, Wait
from tests.post.programs import BARE, blocks, events, made, moves, refused, run, unread, words

ISO: Final = made(unit_words={"mm": "G71", "inch": "G70"}, feed_modes=["G94", "G95"], oriented_stop={"angle": "R"})
"""The words of ISO 6983-1 for all that the two standards say otherwise."""

METRIC: Final = "G71 G17 G90 G94 G54 G99\nF100\n"
FIRST: Final = 3


# --- address characters ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("letter", sorted("ABCDFGIJKMNSTXYZ"))
def test_address_characters_of_both_standards_are_words(letter: str) -> None:
    """A B C rotary, X Y Z straight, I J K of arcs, D F S T, G M functions, N the block's number."""
    assert letter == "N" or letter in WORD_LETTERS
    assert [found.finding for found in blocks(f"{letter}1", ISO)] == [None]


@pytest.mark.parametrize("letter", sorted("UVWE"))
def test_address_characters_that_are_refused(letter: str) -> None:
    """U V W are motion beside X Y Z, E is not assigned or a second feed. Narrower here: no control of them is known."""
    assert unread(f"{letter}1", ISO)[0] == "unreadable"


def test_o_and_the_colon_are_no_words_of_a_block() -> None:
    """O is not assigned; the colon stands in an alignment block. Both are used in the trade to number programs."""
    assert unread("O1", ISO)[0] == unread(":1", ISO)[0] == unread("G1 :1", ISO)[0] == "unreadable"
    for letter in "O:":
        numbered = made(lines={"program_number": {"letter": letter}})
        assert run(f"{letter}1\nM30", numbered).findings == []
        assert [finding.line for finding in run(f"{letter}1\n{letter}2\nM30", numbered).findings] == [2]


def test_the_block_s_number_comes_first() -> None:
    assert words("N120 G1 X1", ISO) == (("G", 1.0), ("X", 1.0))
    assert unread("G1 N120 X1", ISO)[0] == "unreadable"


def test_program_start() -> None:
    """% alone begins a program. Narrower here: what stands before it, which ISO 6983-1 leaves unread, is refused."""
    marked = made(lines={"tape_marks": "required"})
    assert run("%\nM30\n%", marked).findings == []
    assert [finding.rule for finding in run("M30", marked).findings] == ["unreadable"]
    assert run("pump\n%\nM30\n%", marked).findings != []


def test_brackets_hold_text_for_people() -> None:
    """Control out and control in: what stands between is not carried out."""
    assert events("G0 X1 (G0 X2)\nM0 (turn the bar)", ISO, opening=METRIC)[-1] == Halt(
        FIRST + 1, "turn the bar", False, STOPPED, shown=False
    )
    assert moves("G0 X1 (G0 X2)", ISO, opening=METRIC) == moves("G0 X1", ISO, opening=METRIC)


def test_block_delete() -> None:
    """A slash before a block leaves it to a switch. Narrower here: it is refused."""
    assert refused("/G0 X1", ISO, opening=METRIC)[0] == "unknown-word"


# --- preparatory functions -------------------------------------------------------------------------------------------


def test_the_codes_beyond_rs274_that_a_dialect_may_name() -> None:
    assert {"G70", "G71", "G95", "M19"} == BEYOND_STANDARD
    for code in BEYOND_STANDARD:
        assert code not in GROUP_OF
        assert refused(code, BARE) == ("unknown-word", code, "a code of RS-274/NGC, or one the dialect names")


def test_inch_and_metric() -> None:
    """G70 inch data input, G71 metric data input; one inch is 25.4 mm, exact by definition."""
    assert moves("G0 X1 Y0 Z0\nG70\nX1\nG71 X1", ISO, opening=METRIC) == [
        ((1.0, 0.0, 0.0), None),
        ((25.4, 0.0, 0.0), None),
        ((1.0, 0.0, 0.0), None),
    ]
    assert run("G70\nM30", ISO).units == "inch"
    assert run("G71\nM30", ISO).units == "mm"


def test_inch_and_metric_exclude_each_other() -> None:
    assert refused("G70 G71", ISO, opening="")[0] == "group-clash"


@pytest.mark.parametrize(
    ("rpm", "per_turn", "mm_per_min"), [(760, 0.05, 38.0), (760, 0.1, 76.0), (500, 0.0508, 25.4), (1200, 0.002, 2.4)]
)
def test_feed_a_minute_and_feed_a_turn(rpm: int, per_turn: float, mm_per_min: float) -> None:
    """G94 is feed a minute, G95 feed a revolution of the spindle; the one is the other times the speed."""
    lines = f"M3 S{rpm}\nG0 X0 Y0 Z0\nG95 F{per_turn} G1 X1\nG94 F{mm_per_min} X2"
    (_, start), (_, by_turn), (_, by_minute) = moves(lines, ISO, opening=METRIC)
    assert start is None
    assert by_turn == pytest.approx(mm_per_min, rel=1e-12)
    assert by_minute == mm_per_min


def test_feed_a_minute_and_feed_a_turn_exclude_each_other() -> None:
    assert refused("G94 G95", ISO, opening="")[0] == "group-clash"


TURNING: Final = Spin(50.0, Sense.CLOCKWISE, None)
IN: Final = Move(FIRST + 2, (0.0, 0.0, 1.0), (0.0, 0.0, -1.0), 100.0, TURNING)
OUT: Final = IN._replace(start=IN.end, end=IN.start)
RAPID_OUT: Final = OUT._replace(feed=None)
STAND: Final = Wait(FIRST + 2, 0.5, TURNING)


@pytest.mark.parametrize(
    ("code", "then"),
    [
        ("G81", [IN, RAPID_OUT]),
        ("G82 P.5", [IN, STAND, RAPID_OUT]),
        ("G85", [IN, OUT]),
        ("G86 P0", [IN, SpinChange(FIRST + 2, STOPPED), RAPID_OUT._replace(spin=STOPPED)]),
        ("G89 P.5", [IN, STAND, OUT]),
    ],
)
def test_fixed_cycles(code: str, then: list[object]) -> None:
    """Table of fixed cycles: in at feed; a dwell in G82, G89; the spindle stopped in G86; out at feed in G85, G89.

    RS-274/NGC agrees, has P on every line of G86, and starts the spindle again after it.
    """
    found = events(f"M3 S50\nG0 X0 Y0 Z1\n{code} Z-1 R1", ISO, opening=METRIC)[2:]
    assert found[: len(then)] == then
    assert found[len(then) :] == ([SpinChange(FIRST + 2, TURNING)] if "G86" in code else [])


# --- miscellaneous functions -----------------------------------------------------------------------------------------


def test_the_spindle() -> None:
    """M3 clockwise, M4 counterclockwise, M5 off."""
    assert events("M3 S50\nM4\nM5", ISO, opening=METRIC) == [
        SpinChange(FIRST, TURNING),
        SpinChange(FIRST + 1, Spin(50.0, Sense.COUNTERCLOCKWISE, None)),
        SpinChange(FIRST + 2, STOPPED),
    ]


@pytest.mark.parametrize("letter", ["R", "P"])
def test_oriented_spindle_stop(letter: str) -> None:
    """M19 stops the spindle at an angle; which letter tells the angle is the control's own."""
    dialect = made(oriented_stop={"angle": letter})
    assert events(f"M3 S50\nM19 {letter}90", dialect)[-1] == SpinChange(FIRST + 1, Spin(0.0, None, 90.0))
    for other in ("M3", "M4", "M5"):
        assert refused(f"M3 S50\nM19 {letter}90 {other}", dialect)[0] == "group-clash"


@pytest.mark.parametrize(("code", "optional"), [("M0", False), ("M1", True)])
def test_program_stop(code: str, optional: bool) -> None:
    """M0 program stop, M1 optional stop."""
    assert events(code, ISO, opening=METRIC) == [Halt(FIRST, "", optional, STOPPED)]


@pytest.mark.parametrize("code", ["M2", "M02", "M30"])
def test_program_end(code: str) -> None:
    """M2 end of program, M30 end of data: nothing runs behind either."""
    assert run(f"M3 S50\n{code}", ISO).events[-1] == End(2, TURNING)
    assert [finding.rule for finding in run(f"{code}\nM5", ISO).findings] == ["after-end"]
