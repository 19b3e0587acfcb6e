import itertools
from typing import Final

import pytest

from post.codes import CYCLES, MOVES, SETTINGS, STOPS
from post.reader import WORD_LETTERS
from post.standard import GROUP_OF, INSTEAD, LETTERS_NOT_INTERPRETED, NOT_INTERPRETED
from post.timeline import STOPPED, Spin, SpinChange, Wait
from tests.post.programs import BARE, FIRST, FULL, events, made, moves, refused, run

NO_EFFECT = frozenset({"G40", "G49", "G61", "G61.1", "G64", "M7", "M8", "M9", "M48"})

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
    interpreted |= {"G20", "G21", "G94"}  # what these set is the dialect's to say
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
    assert refused(code) == ("unknown-word", found, INSTEAD.get(code, "codes that are interpreted here"))


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


@pytest.mark.parametrize("word", ["G1", "G01", "G1.", "G1.0", "G+1", "G1.000"])
def test_ways_to_write_a_code(word: str) -> None:
    assert events(f"{word} X1") == events("G1 X1")


@pytest.mark.parametrize("word", ["G1.00005", "G0.99995", "G0.9999", "G59.09999"])
def test_a_number_only_near_a_code_s(word: str) -> None:
    """A control that cuts numbers off would take G0.9999 for a rapid."""
    assert refused(f"{word} X1")[0] == "unknown-word"


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


# --- what the dialect says of codes ----------------------------------------------------------------------------------


@pytest.mark.parametrize("line", ["G64", "g64.0 F50", "M3 S50 G64", "G064"])
def test_a_code_the_control_refuses(line: str) -> None:
    expected = ("unknown-word", "G64, which the control refuses", "codes the dialect does not refuse")
    assert refused(line, made(refuses=["G64", "M1"])) == expected
    assert events(f"{line}\nG0 X1")


@pytest.mark.parametrize(
    ("code", "line"),
    [("M1", "M1"), ("G91", "G91"), ("G53", "G0 G53 X1"), ("M4", "M4 S50"), ("G0", "G0 X1"), ("G4", "G4 P1")],
)
def test_any_code_may_be_refused(code: str, line: str) -> None:
    assert refused(line, made(refuses=[code]))[1] == f"{code}, which the control refuses"


def test_a_code_not_interpreted_is_refused_for_the_control_s_sake_first() -> None:
    assert refused("G28", made(refuses=["G28"]))[1] == "G28, which the control refuses"


TRUSTING: Final = made(on_trust=["G69", "M66", "G5.1"])


@pytest.mark.parametrize("code", ["G69", "M66", "G5.1", "g069", "G69.0"])
def test_a_code_on_trust_does_nothing(code: str) -> None:
    assert events(f"{code}\nG1 X1 {code}", TRUSTING) == events("\nG1 X1")
    assert refused(code)[2] == "a code of RS-274/NGC, or one the dialect names"


def test_a_code_on_trust_is_told_among_those_stated_first() -> None:
    assert "M66" in run("M66\nM30", TRUSTING).stated_first


@pytest.mark.parametrize("line", ["G69 P1", "M66 R1", "G5.1 L1"])
def test_a_code_on_trust_takes_no_word(line: str) -> None:
    expected = ("unknown-word", f"{line[-2]} that nothing on the line uses", "words that have a use")
    assert refused(line, TRUSTING) == expected


def test_a_code_on_trust_takes_no_axis_word() -> None:
    assert refused("G69 X1", TRUSTING)[0] == "state-assumed"
    assert refused("G80\nG69 X1", TRUSTING)[:2] == ("unknown-word", "axis words under G80, which moves nothing")


def test_codes_on_trust_are_each_in_a_group_of_their_own() -> None:
    assert events("G69 G5.1 M66 G0 X1", TRUSTING) == events("G0 X1")
    assert refused("G69 G69", TRUSTING)[0] == "group-clash"


@pytest.mark.parametrize(("mm", "inch"), [("G21", "G20"), ("G71", "G70"), ("G71", "G20"), ("G21", "G70")])
def test_the_words_for_the_unit_are_the_dialect_s(mm: str, inch: str) -> None:
    dialect = made(unit_words={"mm": mm, "inch": inch})
    assert moves("G0 X1", dialect, opening=f"{mm} G17 G90 G94 G54\n")[0][0][0] == 1.0
    assert moves("G0 X1", dialect, opening=f"{inch} G17 G90 G94 G54\n")[0][0][0] == 25.4
    for other in {"G20", "G21", "G70", "G71"} - {mm, inch}:
        expected = ("unknown-word", other, "a code of RS-274/NGC, or one the dialect names")
        assert refused(other, dialect, opening="") == expected
    found = f"{mm} and {inch}, both of modal group 6"
    assert refused(f"{mm} {inch}", dialect, opening="")[:2] == ("group-clash", found)


def test_the_feed_modes_are_the_dialect_s() -> None:
    both, turns = made(feed_modes=["G95", "G94"]), made(feed_modes=["G95"])
    assert run("G95\nG94\nM30", both).findings == []
    assert refused("G94", turns, opening="") == (
        "unknown-word",
        "G94, a feed mode the control lacks",
        "G95, by the dialect",
    )
    assert refused("G95")[:2] == ("unknown-word", "G95")
    assert refused("G93", turns, opening="")[1] == f"G93, {NOT_INTERPRETED['G93']}"
    assert refused("G94 G95", both)[:2] == ("group-clash", "G94 and G95, both of modal group 5")


def test_dialects_are_not_mixed_up() -> None:
    for _ in range(2):
        assert refused("G69")[0] == "unknown-word"
        assert events("G69\nG0 X1", TRUSTING)


BY_X: Final = made(dwell={"word": "X"})


@pytest.mark.parametrize("line", ["G4 X2", "x2 g4", "G4 X2 M8 F5", "G80 G4 X2", "G4 X2 G91"])
@pytest.mark.parametrize("before", ["", "G0 X5 Y5 Z5\n", "G1 X5 Y5 Z5\n", "G0 X5 Y5 Z5\nG81 Z1 R1\n"])
def test_a_dwell_by_x_is_no_move(before: str, line: str) -> None:
    found = events(f"{before}{line}", BY_X)
    assert found == [*events(before, BY_X), Wait(FIRST + before.count("\n"), 2.0, STOPPED)]


def test_x_without_g4_is_a_place() -> None:
    assert moves("G4 X2\nG0 X3", BY_X) == moves("G0 X3")
    assert moves("G0 X1\nG4 X2\nX3", BY_X) == moves("G0 X1\nX3")


@pytest.mark.parametrize("code", ["G0", "G1", "G81", "G82", "G85", "G86", "G89"])
def test_a_dwell_by_x_and_a_motion_on_its_line(code: str) -> None:
    expected = ("group-clash", f"G4 X and {code}, which both take X", "one of them on a line")
    assert refused(f"G4 {code} X1", BY_X) == expected
    assert refused(f"{code} Y1 G4 X1 R1 P1", BY_X) == expected


@pytest.mark.parametrize(("line", "axis"), [("G4 X1 Y2", "Y"), ("G4 Z1 X2", "Z"), ("Z1 Y1 G4 X2", "Z")])
@pytest.mark.parametrize("before", ["", "G1 X5 Y5 Z5\n"])
def test_a_dwell_by_x_and_another_axis_word(before: str, line: str, axis: str) -> None:
    expected = ("group-clash", f"G4 X and an axis word {axis}", "X alone on the line of a dwell")
    assert refused(before + line, BY_X) == expected


@pytest.mark.parametrize("line", ["G4", "G4 P1", "G4 Y1", "G1 G4 Y1"])
def test_a_dwell_by_x_without_x(line: str) -> None:
    assert refused(f"G0 Z5\n{line}", BY_X) == ("unreadable", "G4 without X", "X on the line of every G4")


def test_a_dwell_by_x_takes_no_p() -> None:
    assert refused("G4 X1 P1", BY_X)[1] == "P that nothing on the line uses"


def test_a_dwell_by_p_may_stand_beside_a_move() -> None:
    assert moves("G1 X1 Y1 Z1\nG4 P1 X2")[-1][0] == (2.0, 1.0, 1.0)


@pytest.mark.parametrize("code", ["G82", "G86", "G89"])
def test_where_a_dwell_is_by_x_cycles_have_p_all_the_same(code: str) -> None:
    lines = f"M3 S50\nG0 X0 Y0 Z5\n{code} Z-1 R1 P2"
    assert events(lines, BY_X) == events(lines)


@pytest.mark.parametrize(("letter", "other"), [("R", "P"), ("P", "R")])
def test_the_letter_of_the_angle_is_the_dialect_s(letter: str, other: str) -> None:
    dialect = made(oriented_stop={"angle": letter})
    assert events(f"M19 {letter}90", dialect) == [SpinChange(FIRST, Spin(0.0, None, 90.0))]
    assert refused("M19", dialect) == ("unreadable", f"M19 without {letter}", f"{letter} on the line of every M19")
    assert refused(f"M19 {letter}1 {other}1", dialect)[1] == f"{other} that nothing on the line uses"


@pytest.mark.parametrize(
    ("line", "found"),
    [("G4 P1 M19", "P for G4 and for M19"), ("M19 P1 G89 Z-1 R1", "P for M19 and for G89")],
)
def test_an_angle_by_p_beside_a_dwell_by_p(line: str, found: str) -> None:
    expected = ("group-clash", found, "one use of a word")
    assert refused(f"G0 X0 Y0 Z5\n{line}", made(oriented_stop={"angle": "P"})) == expected


def test_an_angle_by_p_beside_a_dwell_by_x() -> None:
    dialect = made(oriented_stop={"angle": "P"}, dwell={"word": "X"})
    assert events("G4 X2 M19 P90", dialect)[-1] == Wait(FIRST, 2.0, Spin(0.0, None, 90.0))
