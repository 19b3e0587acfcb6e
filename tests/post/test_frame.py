import re
from collections.abc import Sequence
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from post.dialect import Dialect
from post.finding import Finding
from post.frame import Frame, unframe
from tests.post.programs import blocks, made, run

ANY: Final = made()
CRLF: Final = made(lines={"end": "CRLF"})
MARKED: Final = made(lines={"tape_marks": "required"})
UNMARKED: Final = made(lines={"tape_marks": "refused"})
NUMBERED: Final = made(lines={"program_number": {"letter": "O", "digits": 4, "number": 12}})
COLON: Final = made(lines={"program_number": {"letter": ":", "digits": 2, "number": 7}})


def unreadable(line: int, text: str, found: str, expected: str) -> Finding:
    return Finding("unreadable", line, text, found, expected)


def not_closed(line: int, text: str) -> Finding:
    found = "a % that opens the program and none that closes it"
    return unreadable(line, text, found, "a second % after the program")


# --- ends of lines ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_line_ends_with_a_line_feed_with_or_without_a_carriage_return(end: str) -> None:
    assert unframe(f"G1{end}{end}M30", ANY) == Frame(["G1", "", "M30"], 1, [])


def test_both_ends_may_be_mixed_where_the_dialect_asks_for_none() -> None:
    assert unframe("G1\r\nG0\nM30\r\n", ANY) == Frame(["G1", "G0", "M30", ""], 1, [])


@pytest.mark.parametrize("text", ["", "\r\n", "M30\r\n", "\r\nG1\r\n\r\nM30\r\n"])
def test_every_line_ends_in_cr_lf(text: str) -> None:
    assert unframe(text, CRLF).problems == []


@pytest.mark.parametrize(
    ("text", "line", "last"),
    [
        ("M30\n", 1, "M30"),
        ("G1\r\nM30\n", 2, "M30"),
        ("G1\r\nM30", 2, "M30"),
        ("G1\r\n\nM30\r\n", 2, ""),
        ("G1\nG0\nM30\n", 1, "G1"),
        ("\n", 1, ""),
        ("M30\r\n ", 2, " "),
        ("\r\n%\n", 2, "%"),
    ],
)
def test_the_first_line_that_does_not_end_in_cr_lf(text: str, line: int, last: str) -> None:
    problems = [problem for problem in unframe(text, CRLF).problems if "CR LF" in problem.found]
    assert problems == [unreadable(line, last, "a line that does not end in CR LF", "CR LF behind every line")]


def test_a_carriage_return_alone_ends_no_line() -> None:
    assert unframe("G1\rM30", ANY).lines == ["G1\rM30"]
    assert unframe("G1\r\r\nM30", ANY).lines == ["G1\r", "M30"]


# --- tape marks ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("dialect", [ANY, MARKED], ids=["allowed", "required"])
@pytest.mark.parametrize(
    ("text", "lines", "first"),
    [
        ("%\nG1\nM30\n%", ["G1", "M30"], 2),
        ("%\nG1\n%\n\n \n", ["G1"], 2),
        ("\n \n % \nG1\n%\t\n", ["G1"], 4),
        ("\r\n%\r\nG1\r\n%\r\n", ["G1"], 3),
        ("%\n%", [], 2),
    ],
)
def test_tape_marks_are_taken_off(dialect: Dialect, text: str, lines: Sequence[str], first: int) -> None:
    assert unframe(text, dialect) == Frame(list(lines), first, [])


@pytest.mark.parametrize("dialect", [ANY, UNMARKED], ids=["allowed", "refused"])
@pytest.mark.parametrize("text", ["G1\nM30", "\n\nG1", ""])
def test_a_program_without_tape_marks(dialect: Dialect, text: str) -> None:
    assert unframe(text, dialect).problems == []
    assert [line for line in unframe(text, dialect).lines if line] == [line for line in text.split("\n") if line]


@pytest.mark.parametrize(("text", "line", "first"), [("G1\nM30\n", 1, "G1"), ("\n \nG1", 3, "G1"), ("", 1, "")])
def test_a_tape_mark_that_is_required(text: str, line: int, first: str) -> None:
    expected = "a line that holds % alone before it"
    assert unframe(text, MARKED).problems == [unreadable(line, first, "no % that opens the program", expected)]


@pytest.mark.parametrize(("text", "line", "mark"), [("%\nM30\n%", 1, "%"), ("\n % \nM30\n%", 2, " % ")])
def test_a_tape_mark_that_is_refused(text: str, line: int, mark: str) -> None:
    found, expected = "a %, which the control refuses", "a program without tape marks"
    assert unframe(text, UNMARKED).problems == [unreadable(line, mark, found, expected)]


@pytest.mark.parametrize("dialect", [ANY, MARKED], ids=["allowed", "required"])
@pytest.mark.parametrize(
    ("text", "line", "last"),
    [
        ("%\nG1 X1\nM30\n\n", 3, "M30"),
        ("\n%", 2, "%"),
        ("%\n%%", 2, "%%"),
        ("%\n \t\n", 1, "%"),
        ("%\n%(a)", 2, "%(a)"),
    ],
)
def test_an_opening_tape_mark_needs_a_closing_one(dialect: Dialect, text: str, line: int, last: str) -> None:
    assert unframe(text, dialect).problems == [not_closed(line, last)]


def test_a_mark_that_is_refused_is_told_though_it_is_not_closed() -> None:
    problems = unframe("%\nM30", UNMARKED).problems
    assert {problem.found for problem in problems} == {
        "a %, which the control refuses",
        "a % that opens the program and none that closes it",
    }


@pytest.mark.parametrize(
    ("behind", "line", "text"),
    [("\n\nG1 X1\n%\n (bye)", 5, "G1 X1"), ("\n%\nG1 X1", 4, "%"), ("\n \n (bye)\n\n", 5, " (bye)")],
)
def test_text_behind_the_closing_mark_is_told_once_at_its_first_line(behind: str, line: int, text: str) -> None:
    frame = unframe(f"%\nM30\n%{behind}", ANY)
    assert (frame.lines, frame.first) == (["M30"], 2)
    found = "text after the % that closes the program"
    assert frame.problems == [Finding("after-end", line, text, found, "nothing after it")]


def test_a_closing_mark_alone_is_left_to_the_reader() -> None:
    assert unframe("M30\n%", MARKED).lines == ["M30", "%"]
    (problem,) = (found.finding for found in blocks("M30\n%", UNMARKED) if found.finding)
    assert problem == unreadable(2, "%", 'the character "%"', '"%" alone on the first line and on the last')


# --- the program's number --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "lines", "first"),
    [
        ("O1\nM30", ["M30"], 2),
        ("O0012\nM30", ["M30"], 2),
        ("\n O9999\t\nM30", ["M30"], 3),
        ("%\nO12\nM30\n%\n", ["M30"], 3),
        ("%\n\n\nO12\n\nM30\n%\n", ["", "M30"], 5),
        ("O12\r\nM30", ["M30"], 2),
    ],
)
def test_a_program_number_is_taken_off(text: str, lines: Sequence[str], first: int) -> None:
    assert unframe(text, NUMBERED) == Frame(list(lines), first, [])


def test_a_program_number_with_a_colon() -> None:
    assert unframe(":07\nM30", COLON) == Frame(["M30"], 2, [])


@pytest.mark.parametrize(
    "number",
    ["O12345", "O", "o12", ":12", "O-1", "O+1", "O1.0", "O 12", "O12 (pump)", "O12;", "O12 G21", "O#1", "O[1]"],
)
def test_what_is_no_program_number(number: str) -> None:
    frame = unframe(f"{number}\nM30", NUMBERED)
    expected = "O and up to 4 digits alone on the line, as O0012"
    assert frame == Frame(["M30"], 2, [unreadable(1, number, f'"{number}" for a program number', expected)])


@pytest.mark.parametrize("number", ["O7", ":123", ":", ": 7"])
def test_what_is_no_program_number_with_a_colon(number: str) -> None:
    (problem,) = unframe(f"{number}\nM30", COLON).problems
    assert problem.expected == ": and up to 2 digits alone on the line, as :07"
    assert problem.found == f'"{number}" for a program number'


def test_a_very_long_program_number_is_told_cut_short() -> None:
    (problem,) = unframe(f"O{'1' * 300}\nM30", NUMBERED).problems
    assert problem.found == f'"O{"1" * 39}" for a program number'


@pytest.mark.parametrize(
    ("text", "line", "first"),
    [
        ("G21\nO12\nM30", 1, "G21"),
        ("\n\nG21", 3, "G21"),
        ("(pump)\nO12", 1, "(pump)"),
        ("N10 O12", 1, "N10 O12"),
        ("/O12", 1, "/O12"),
        ("%\nG21\n%", 2, "G21"),
        ("%\n%", 2, "%"),
        ("", 1, ""),
    ],
)
def test_a_program_number_that_is_missing(text: str, line: int, first: str) -> None:
    found = "no program number before the first block"
    assert unframe(text, NUMBERED).problems == [unreadable(line, first, found, "one, as O0012")]


def test_what_stands_where_a_number_is_missing_is_still_read() -> None:
    assert unframe("(pump)\nG21", NUMBERED).lines == ["(pump)", "G21"]


def test_a_number_is_looked_for_between_the_marks_only() -> None:
    frame = unframe("%\n%\nO12", NUMBERED)
    assert sorted((problem.rule, problem.line) for problem in frame.problems) == [("after-end", 3), ("unreadable", 2)]


@pytest.mark.parametrize("number", ["O12", ":12", "o12"])
def test_a_number_where_the_dialect_has_none_is_not_read(number: str) -> None:
    assert [finding.line for finding in run(f"{number}\nM30").findings] == [1]


@pytest.mark.parametrize("line", ["O13", "N10 O13", "G21 O13"])
def test_a_second_number_is_not_read(line: str) -> None:
    assert [finding.line for finding in run(f"O12\n{line}\nM30", NUMBERED).findings] == [2]


# --- all of it -------------------------------------------------------------------------------------------------------


def test_a_frame_with_everything() -> None:
    number = {"letter": ":", "digits": 3, "number": 5}
    dialect = made(lines={"end": "CRLF", "tape_marks": "required", "program_number": number})
    assert unframe("%\r\n:005\r\nG21\r\nM30\r\n%\r\n", dialect) == Frame(["G21", "M30"], 3, [])
    problems = unframe("%\n:0005\nG21\nM30", dialect).problems
    assert {(problem.line, problem.text) for problem in problems} == {(1, "%"), (4, "M30"), (2, ":0005")}
    assert len(problems) == 3


LINES: Final = st.lists(st.sampled_from(["%", " % ", "%%", "O12", ":12", "G21", "", " ", "(O1)", "M30"]), max_size=7)


@given(
    LINES | st.text("%O:12 \t\r\nG(", max_size=30).map(lambda text: text.split("\n")),
    st.sampled_from([ANY, CRLF, MARKED, UNMARKED, NUMBERED, COLON]),
    st.sampled_from(["\n", "\r\n"]),
)
def test_lines_handed_on_are_those_of_the_text_and_all_others_are_frame_or_told(
    written: list[str], dialect: Dialect, end: str
) -> None:
    text = end.join(written)
    lines = text.replace("\r\n", "\n").split("\n")
    frame = unframe(text, dialect)
    start = frame.first - 1
    assert frame.lines == lines[start : start + len(frame.lines)]
    told = {problem.line for problem in frame.problems}
    behind = min((problem.line for problem in frame.problems if problem.rule == "after-end"), default=len(lines))
    for number, line in enumerate(lines[:behind], 1):
        if not start < number <= start + len(frame.lines):
            assert number in told or re.fullmatch(r"|%|O[0-9]{1,4}|:[0-9]{1,2}", line.strip(" \t"))
    assert all(problem.text == lines[problem.line - 1] for problem in frame.problems if problem.line <= len(lines))
