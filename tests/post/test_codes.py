import itertools

import pytest

from post.codes import CYCLES, GROUP_OF, LETTERS_NOT_INTERPRETED, MOVES, NOT_INTERPRETED, SETTINGS, STOPS
from post.reader import WORD_LETTERS
from tests.post.programs import BARE, FULL, events, refused

NO_EFFECT = frozenset({"G40", "G49", "G61", "G61.1", "G64", "M7", "M8", "M9", "M48", "M49"})

LINE_OF = {
    "G0": "G0 X1",
    "G1": "G1 X1",
    "G4": "G4 P1",
    "G53": "G0 G53 X1",
    "M3": "M3 S100",
    "M4": "M4 S100",
    **{code: f"{code} Z-1 R1 P1" for code in ("G82", "G86", "G89")},
    **{code: f"{code} Z-1 R1" for code in ("G81", "G85")},
}
"""A line on which a code is complete, where the code alone is not."""

PAIRS = [
    pair
    for group in sorted(set(GROUP_OF.values()))
    for pair in itertools.combinations_with_replacement([code for code in GROUP_OF if GROUP_OF[code] == group], 2)
]


def test_every_code_is_interpreted_or_refused_by_name() -> None:
    interpreted = {*SETTINGS, *STOPS, *CYCLES, *MOVES, *NO_EFFECT, "G4", "G53", "G80", "M3", "M4", "M5"}
    assert interpreted | set(NOT_INTERPRETED) == set(GROUP_OF)
    assert interpreted.isdisjoint(NOT_INTERPRETED)


@pytest.mark.parametrize("code", sorted(set(GROUP_OF) - set(NOT_INTERPRETED) - {"M2", "M30"}))
def test_every_other_code_is_interpreted(code: str) -> None:
    line = LINE_OF.get(code, code)
    assert events(f"G0 X0 Y0 Z5\nM3 S50\n{line}", zero=(0.0, 0.0, 0.0), work_offset="G54")


@pytest.mark.parametrize("code", sorted(NO_EFFECT))
def test_a_code_without_effect_changes_no_event(code: str) -> None:
    assert events(f"{code}\nG1 X1") == events("\nG1 X1")


@pytest.mark.parametrize("code", sorted(NOT_INTERPRETED))
def test_every_code_not_interpreted_is_refused_by_name(code: str) -> None:
    found = f"{code}, {NOT_INTERPRETED[code]}"
    assert refused(code) == ("unknown-word", found, "codes that are interpreted here")


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_two_codes_of_one_modal_group(one: str, other: str) -> None:
    found = f"{one} and {other}, both of modal group {GROUP_OF[one][1]}"
    assert refused(f"{one} {other}") == ("group-clash", found, "one code of a modal group on a line")
    assert refused(f"{other} X1 {one}")[0] == "group-clash"


@pytest.mark.parametrize("code", ["G10", "G28", "G30", "G92"])
@pytest.mark.parametrize("motion", sorted(code for code, group in GROUP_OF.items() if group == ("G", 1)))
def test_a_motion_beside_another_user_of_axis_words(motion: str, code: str) -> None:
    found = f"{motion} and {code}, which both take axis words"
    assert refused(f"{code} {motion} X1") == ("group-clash", found, "one of them on a line")


@pytest.mark.parametrize(
    "word",
    ["G1.05", "G1.0002", "G5", "G95", "G96", "G100", "G54.1", "G59.4", "G-1", "M19", "M98", "M99", "M3.5", "M100"],
)
def test_a_number_that_is_no_code(word: str) -> None:
    expected = "a code of RS-274/NGC, or one the dialect names"
    assert refused(word, BARE) == ("unknown-word", word, expected)


@pytest.mark.parametrize("word", ["G1", "G01", "G1.", "G1.0", "G+1", "G1.00005", "G0.99995"])
def test_ways_to_write_a_code(word: str) -> None:
    assert events(f"{word} X1") == events("G1 X1")


def test_a_huge_code() -> None:
    assert refused("G" + "9" * 250)[:2] == ("unknown-word", "G1e+250")


@pytest.mark.parametrize("code", sorted(CYCLES))
def test_a_cycle_the_control_lacks(code: str) -> None:
    found = f"{code}, a fixed cycle the control lacks"
    assert refused(f"{code} Z-1 R1 P1", BARE) == ("unknown-word", found, "no fixed cycles, by the dialect")
    others = CYCLES - {code}
    some = FULL.model_copy(update={"cycles": others})
    assert refused(f"{code} Z-1 R1 P1", some)[2] == f"{', '.join(sorted(others))}, by the dialect"


@pytest.mark.parametrize("letter", sorted(LETTERS_NOT_INTERPRETED))
def test_letters_not_interpreted(letter: str) -> None:
    found = f"{letter}, {LETTERS_NOT_INTERPRETED[letter]}"
    assert refused(f"G0 X1 {letter}1") == ("unknown-word", found, "words that are interpreted here")


def test_every_letter_is_interpreted_or_refused_by_name() -> None:
    assert set(LETTERS_NOT_INTERPRETED) | set("GMXYZFSPRL") == WORD_LETTERS


@pytest.mark.parametrize("line", ["P1", "R1", "L1", "G0 X1 P1", "G1 X1 R1", "G54 L2", "M3 S50 R10", "G80 R1", "G98 P0"])
def test_a_word_that_nothing_uses(line: str) -> None:
    letter = next(letter for letter in "PRL" if letter in line)
    expected = ("unknown-word", f"{letter} that nothing on the line uses", "words that have a use")
    assert refused(line) == expected


def test_a_word_of_a_cycle_in_force_needs_axis_words_on_its_line() -> None:
    lines = "G0 X0 Y0 Z5\nG81 Z-1 R1\nR2"
    assert refused(lines) == ("unknown-word", "R that nothing on the line uses", "words that have a use")


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("G4 P1 G89 Z-1 R1", "P for G4 and for G89"),
        ("M19 R30 G81 Z-1", "R for M19 and for G81"),
    ],
)
def test_a_word_that_two_codes_use(line: str, found: str) -> None:
    assert refused(f"G0 X0 Y0 Z5\n{line}") == ("group-clash", found, "one use of a word")


@pytest.mark.parametrize(
    ("line", "letter", "code"),
    [
        ("G4", "P", "G4"),
        ("M19", "R", "M19"),
        ("G82 Z-1 R1", "P", "G82"),
        ("G86 Z-1 R1", "P", "G86"),
        ("G89 Z-1 R1", "P", "G89"),
    ],
)
def test_a_word_that_a_code_needs(line: str, letter: str, code: str) -> None:
    expected = ("unreadable", f"{code} without {letter}", f"{letter} on the line of every {code}")
    assert refused(f"G0 X0 Y0 Z5\n{line}") == expected


@pytest.mark.parametrize("code", ["G0", "G1", "G81", "G82", "G85", "G86", "G89"])
def test_motion_without_axis_words(code: str) -> None:
    expected = ("unreadable", f"{code} without X, Y or Z", "at least one of them on its line")
    assert refused(f"G0 X0 Y0 Z5\n{code} F50") == expected


def test_g53_without_axis_words() -> None:
    assert refused("G53") == ("unreadable", "G53 without X, Y or Z", "at least one of them on its line")


def test_g53_in_a_cycle() -> None:
    assert refused("G53 G81 X1 Z-1 R1") == ("unreadable", "G53 under G81", "G0 or G1 with G53")


@pytest.mark.parametrize("line", ["X1", "G53 X1", "M3 S50 Y2"])
def test_axis_words_before_any_motion_code(line: str) -> None:
    found = "axis words with no motion code stated"
    assert refused(line) == ("state-assumed", found, "G0 or G1 on the line or before it")


@pytest.mark.parametrize("lines", ["G80 X1", "G80\nX1", "G0 X1\nG80\nZ1", "G80\nG53 X1"])
def test_axis_words_under_g80(lines: str) -> None:
    found = "axis words under G80, which moves nothing"
    assert refused(lines) == ("unknown-word", found, "G0 or G1 on the line")


def test_the_oriented_stop_is_of_the_spindle_s_group() -> None:
    assert refused("M19 R0 M5")[1] == "M19 and M5, both of modal group 7"
    assert refused("M3 S1 M19 R0")[1] == "M3 and M19, both of modal group 7"
