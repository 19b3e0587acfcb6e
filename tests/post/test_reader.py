import math
import string
from collections.abc import Iterator

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from post.finding import Finding
from post.reader import WORD_LETTERS, Block, read
from tests.post.programs import FULL, block, blocks, unread, words

PRINTABLE = "".join(chr(code) for code in range(32, 127)) + "\t"


def test_a_block_holds_the_line_as_it_stands_and_its_words_in_the_order_written() -> None:
    assert blocks("g1 x-1.5 F100\n\n  (one) M3 (two)\n") == [
        Block(1, "g1 x-1.5 F100", (("G", 1.0), ("X", -1.5), ("F", 100.0)), "GXF", None, False, None),
        Block(3, "  (one) M3 (two)", (("M", 3.0),), "M", "two", False, None),
    ]


@pytest.mark.parametrize(
    "line",
    [
        "G1X-1.5F100",
        "G1 X-1.5 F100",
        "  G1\tX -1 . 5 F 1 0 0  ",
        "g1 x-1.5 f100",
        "G1 X-1.5 (cut) F100",
        "N7G1X-1.5F100",
    ],
)
def test_blanks_case_and_comments_do_not_change_words(line: str) -> None:
    assert words(line) == (("G", 1.0), ("X", -1.5), ("F", 100.0))


@pytest.mark.parametrize(
    ("number", "value"),
    [("5", 5.0), ("+5", 5.0), ("-5", -5.0), ("5.", 5.0), (".5", 0.5), ("-.5", -0.5), ("+0.5", 0.5), ("007.50", 7.5)],
)
def test_numbers(number: str, value: float) -> None:
    assert words(f"X{number}") == (("X", value),)


@pytest.mark.parametrize("line", ["", " ", "\t \t"])
def test_a_blank_line_yields_nothing(line: str) -> None:
    assert blocks(line) == []


@pytest.mark.parametrize("line", ["(a remark)", "N10 (a remark)", " ( a ) (a remark) "])
def test_a_line_with_a_comment_only_has_no_words(line: str) -> None:
    assert block(line) == Block(1, line, (), "", "a remark", False, None)


def test_a_comment_is_kept_as_it_stands() -> None:
    assert block("m0 ( MSG, Set cutter; 50% to 3/4 )").comment == " MSG, Set cutter; 50% to 3/4 "
    assert block("M0 ()").comment == ""
    assert block("M0").comment is None


@pytest.mark.parametrize(
    ("line", "read_as"), [("/G1 X1", "G1 X1"), (" / n5 g1 x1", "G1 X1"), ("/", ""), ("/(off)", "")]
)
def test_block_delete(line: str, read_as: str) -> None:
    only = block(line)
    assert only.deleted
    assert only.finding is None
    assert only.words == (words(read_as) if read_as else ())


def test_block_delete_is_told_of_a_line_that_cannot_be_read() -> None:
    assert block("/G1 X").deleted
    assert not block("G1 X").deleted


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_line_ends(end: str) -> None:
    assert [(found.line, found.text) for found in blocks(f"G1{end}{end}G0{end}M30")] == [
        (1, "G1"),
        (3, "G0"),
        (4, "M30"),
    ]


@pytest.mark.parametrize(
    ("line", "found", "expected"),
    [
        ("G1 X", "X with no number", "a number after it, as X12.5"),
        ("XY1", "X with no number", "a number after it, as X12.5"),
        ("G1 X1.2.3", 'X1.2.3, whose "1.2.3" is no number', "a number, as 12.5, -12.5 or .5"),
        ("X-", 'X-, whose "-" is no number', "a number, as 12.5, -12.5 or .5"),
        ("X.", 'X., whose "." is no number', "a number, as 12.5, -12.5 or .5"),
        ("X+-1", 'X+-1, whose "+-1" is no number', "a number, as 12.5, -12.5 or .5"),
        ("X1-1", 'X1-1, whose "1-1" is no number', "a number, as 12.5, -12.5 or .5"),
        ("X1e3", "E3", "numbers without an exponent; E is no word of RS-274/NGC"),
        ("12 G1", "12 with no letter", "a letter before it, as X12"),
        ("X1_0", 'the character "_"', "words and comments only"),
        ("Xinf", "X with no number", "a number after it, as X12.5"),
        ("Fnan", "F with no number", "a number after it, as F12.5"),
        ("O100", "O100", "words of RS-274/NGC; O is none"),
        ("U1", "U1", "words of RS-274/NGC; U is none"),
        ("V1", "V1", "words of RS-274/NGC; V is none"),
        ("W1", "W1", "words of RS-274/NGC; W is none"),
        ("G1 ? X1", 'the character "?"', "words and comments only"),
        ("G1, X1", 'the character ","', "words and comments only"),
        ("*G1", 'the character "*"', "words and comments only"),
        ("G1 X1 ; fast", 'the character ";"', "comments in ( ) only"),
        ("G0 /X1", 'the character "/"', '"/" as the first character of a line only'),
        ("//G0", 'the character "/"', '"/" as the first character of a line only'),
        ("G0 X1 %", 'the character "%"', '"%" alone on the first line and on the last'),
        ("#1=5", "a parameter, #", "plain numbers only: parameters are not interpreted"),
        ("G1 X#1", "a parameter, #", "plain numbers only: parameters are not interpreted"),
        ("X[1+2]", "an expression or a function, [ ]", "plain numbers only: expressions are not interpreted"),
        ("X-acos[0]", "an expression or a function, [ ]", "plain numbers only: expressions are not interpreted"),
        ("X1]", "an expression or a function, [ ]", "plain numbers only: expressions are not interpreted"),
        ("N", "N", "a line number of 1 to 5 digits, as N120"),
        ("N000009 G1", "N000009", "a line number of 1 to 5 digits, as N120"),
        ("N-1 G1", "N-1", "a line number of 1 to 5 digits, as N120"),
        ("N1.0 G1", "N1.0", "a line number of 1 to 5 digits, as N120"),
        ("G1 N10", "N10 after other words", "the line number first on its line"),
        ("N10 N20", "N20 after other words", "the line number first on its line"),
        ("(a) N10 G1", '"N" after a comment', "whole words after it; N and / start a line"),
        ("/ (a) N10 G1", '"N" after a comment', "whole words after it; N and / start a line"),
        ("(a) / G1", '"/" after a comment', "whole words after it; N and / start a line"),
        ("X(a)12", '"1" after a comment', "whole words after it; N and / start a line"),
        ("X1(a)2", '"2" after a comment', "whole words after it; N and / start a line"),
        ("G1 (a", 'a "(" without its pair', "comments that close on their line and do not nest"),
        ("G1 a)", 'a ")" without its pair', "comments that close on their line and do not nest"),
        ("(a (b) c)", 'a "(" without its pair', "comments that close on their line and do not nest"),
        ("G1 X\u0663", "the character U+0663 in column 5", "printable ASCII characters, blanks and tabs only"),
        ("(caf\xe9)", "the character U+00E9 in column 5", "printable ASCII characters, blanks and tabs only"),
        ("\ufeffG1", "the character U+FEFF in column 1", "printable ASCII characters, blanks and tabs only"),
        ("G1 \ud800", "the character U+D800 in column 4", "printable ASCII characters, blanks and tabs only"),
        ("G1\x0bX1", "the character U+000B in column 3", "printable ASCII characters, blanks and tabs only"),
        ("G1 X1\rG1", "the character U+000D in column 6", "printable ASCII characters, blanks and tabs only"),
        ("\x0c", "the character U+000C in column 1", "printable ASCII characters, blanks and tabs only"),
        ("X1" + " " * 255, "a line of 257 characters", "at most 256"),
        ("(" + "a" * 255 + ")", "a line of 257 characters", "at most 256"),
    ],
)
def test_unreadable(line: str, found: str, expected: str) -> None:
    assert unread(line) == ("unreadable", found, expected)


@pytest.mark.parametrize(
    ("line", "found", "expected"),
    [
        ("X1 Y2 X1", "X twice, X1 and X1", "each letter but G and M once on a line"),
        ("f10 g1 (a) f20.5", "F twice, F10 and F20.5", "each letter but G and M once on a line"),
        ("M3 M8 M48 M0 M5", "5 M words on one line", "at most 4"),
    ],
)
def test_words_too_many(line: str, found: str, expected: str) -> None:
    assert unread(line) == ("group-clash", found, expected)


def test_g_words_and_four_m_words_may_be_many() -> None:
    assert len(words("G1 G2 G3 G4 G5 G1 M1 M2 M3 M3")) == 10


def test_the_longest_line() -> None:
    assert words("X1".ljust(FULL.lines.length)) == (("X", 1.0),)
    assert words("X" + "1" * (FULL.lines.length - 1))[0][1] == pytest.approx(10.0**FULL.lines.length / 90)


@pytest.mark.parametrize(
    ("line", "last"),
    [
        ("X1.00000001", ("X", 1.00000001)),
        ("s760.5", ("S", 760.5)),
        ("G4 P+0.005", ("P", 0.005)),
        ("F.00001", ("F", 0.00001)),
        ("G81 Z-1 R1.00001", ("R", 1.00001)),
    ],
)
def test_a_number_may_be_as_fine_as_it_likes(line: str, last: tuple[str, float]) -> None:
    """How fine the control reads it hangs on units and feed mode in force, which the replay knows."""
    assert words(line)[-1] == last


def test_percent_lines_around_a_program_yield_nothing() -> None:
    assert [found.text for found in blocks("\n \n % \nG1 X1\nM30\n%\t\n\n")] == ["G1 X1", "M30"]
    assert [found.line for found in blocks("\r\n%\r\nG1 X1\r\n%")] == [3]


@pytest.mark.parametrize(
    ("text", "line", "last"), [("%\nG1 X1\nM30\n\n", 3, "M30"), ("\n%", 2, "%"), ("%\n%%", 2, "%%")]
)
def test_an_opening_percent_line_needs_a_closing_one(text: str, line: int, last: str) -> None:
    found = "a % that opens the program and none that closes it"
    not_closed = Finding("unreadable", line, last, found, "a second % after the program")
    assert Block(line, last, (), "", None, False, not_closed) in blocks(text)


@pytest.mark.parametrize("text", ["G1 X1\n%\nM30", "(no tape)\n%\n%", "N1 M30\n%"])
def test_a_percent_line_needs_another_one_first_in_the_program(text: str) -> None:
    wrong = [found.finding for found in blocks(text) if found.finding]
    expected = '"%" alone on the first line and on the last'
    assert wrong[0] == Finding("unreadable", 2, "%", 'the character "%"', expected)


def test_text_after_the_closing_percent_line() -> None:
    found = blocks("%\nM30\n%\n\nG1 X1\n%\n(bye)")
    assert [one.line for one in found if one.words] == [2]
    after_end = Finding("after-end", 5, "G1 X1", "text after the % that closes the program", "nothing after it")
    assert [one for one in found if not one.words] == [Block(5, "G1 X1", (), "", None, False, after_end)]


def test_reading_is_lazy() -> None:
    stream = read("G1 X1\nG1 X\n" * 100, FULL)
    assert isinstance(stream, Iterator)
    assert next(stream).line == 1


@given(st.text() | st.text(PRINTABLE + "\n") | st.text("GXYN0123456789.-+ ()/%\r\n", max_size=60))
@example("\ud800")
@example("%\n%\n%")
@example("N\n/\n//\n")
def test_any_text_is_read_and_every_line_accounted_for(text: str) -> None:
    found = blocks(text)
    lines = text.replace("\r\n", "\n").split("\n")
    behind = min((one.line for one in found if one.finding and one.finding.rule == "after-end"), default=len(lines))
    for number, line in enumerate(lines[:behind], 1):
        bare = line.strip(" \t")
        here = [block for block in found if block.line == number]
        assert here or bare in ("", "%")
        assert all(block.text == line for block in here)
    for one in found:
        assert one.finding is None or one.words == ()
        assert all(letter in WORD_LETTERS and math.isfinite(value) for letter, value in one.words)
        assert one.letters == "".join(letter for letter, _ in one.words)


@given(st.floats(-1e6, 1e6), st.integers(0, 9))
def test_numbers_are_read_as_python_reads_them(value: float, digits: int) -> None:
    text = f"{value:.{digits}f}"
    assert words(f"L{text}") == (("L", float(text)),)
    assert words(f"X{text}") == (("X", float(text)),)


@st.composite
def scattered(draw: st.DrawFn) -> tuple[str, tuple[tuple[str, float], ...]]:
    """A line of words with blanks, cases and comments strewn over it, and the words meant."""
    letters = draw(st.lists(st.sampled_from(sorted(WORD_LETTERS - {"G", "M"})), unique=True, max_size=6))
    meant, line = [], ""
    for letter in ["G", *letters]:
        text = draw(st.from_regex(r"[+-]?([0-9]{1,5}\.?[0-9]{0,4}|\.[0-9]{1,4})", fullmatch=True))
        meant.append((letter, float(text)))
        for character in draw(st.sampled_from([letter, letter.lower()])) + text:
            line += draw(st.sampled_from(["", "", " ", "\t"])) + character
        line += draw(st.sampled_from(["", "", "(note)", " (G1 X5) "]))
    return line, tuple(meant)


@given(scattered())
def test_blanks_case_and_comments_never_change_the_words(case: tuple[str, tuple[tuple[str, float], ...]]) -> None:
    line, meant = case
    assert words(line) == meant


@given(scattered())
def test_what_stands_in_other_lines_changes_none(case: tuple[str, tuple[tuple[str, float], ...]]) -> None:
    """Neither a number nor anything odd in another line changes how a line is read."""
    line, _ = case
    assert blocks(f"{line}\n(0.12345678)\nX0.12345678\nX#1")[0] == block(line)


@given(st.text(string.printable, max_size=30))
def test_only_the_grammar_is_read(line: str) -> None:
    """Whatever is read as words is, written again without blanks and comments, what stood there."""
    for one in blocks(line):
        if one.finding is None and one.comment is None and not one.deleted:
            letters = [character for character in one.text.upper() if character in WORD_LETTERS]
            assert [letter for letter, _ in one.words] == letters
            assert not set(one.text.upper()) - WORD_LETTERS - set("N0123456789.+- \t")
