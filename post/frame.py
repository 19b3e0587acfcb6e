"""What stands around the blocks of a program: ends of lines, tape marks, the program's number.

A reader's module: it tells what is wrong and hands on the lines between.
"""

import re
from collections.abc import Iterator
from typing import Final, NamedTuple

from post.dialect import Dialect
from post.finding import Finding

_MARK: Final = re.compile(r"[ \t]*%[ \t]*")


class Frame(NamedTuple):
    """The lines between, the number of the first, counted from 1, and what is wrong with the rest."""

    lines: list[str]
    first: int
    problems: list[Finding]


def unframe(text: str, dialect: Dialect) -> Frame:
    """Take a program out of its frame (NISTIR 6556, 3.1; ISO 6983-1 for the program's number).

    A line ends with a line feed, with or without a carriage return before it; where the dialect asks for CR LF, with
    both.
    """
    problems: list[Finding] = []
    if dialect.lines.end == "CRLF":
        problems += _bare_line_feeds(text)
    lines = text.replace("\r\n", "\n").split("\n")
    start = next((at for at, line in enumerate(lines) if line.strip(" \t")), 0)
    opened = bool(_MARK.fullmatch(lines[start]))
    end = len(lines)
    if opened:
        start += 1
        end = next((at for at in range(start, len(lines)) if _MARK.fullmatch(lines[at])), len(lines))
    problems += _marks(lines, start, end, opened, dialect)
    if dialect.lines.program_number:
        numbered = _number_line(lines, start, end)
        problems += _number(lines, start, numbered, dialect)
        start = start if numbered is None else numbered + 1
    return Frame(lines[start:end], start + 1, problems)


def _bare_line_feeds(text: str) -> Iterator[Finding]:
    """The first line that ends without a carriage return, if any does."""
    for number, line in enumerate(text.split("\n"), 1):
        if not line.endswith("\r") and (number <= text.count("\n") or line):
            yield _problem(number, line, "a line that does not end in CR LF", "CR LF behind every line")
            return


def _marks(lines: list[str], start: int, end: int, opened: bool, dialect: Dialect) -> Iterator[Finding]:
    if opened and dialect.lines.tape_marks == "refused":
        yield _problem(start, lines[start - 1], "a %, which the control refuses", "a program without tape marks")
    if not opened and dialect.lines.tape_marks == "required":
        yield _problem(start + 1, lines[start], "no % that opens the program", "a line that holds % alone before it")
    if opened and end == len(lines):
        last = next((at for at in range(len(lines) - 1, 0, -1) if lines[at].strip(" \t")), 0)
        found = "a % that opens the program and none that closes it"
        yield _problem(last + 1, lines[last], found, "a second % after the program")
    for at in range(end + 1, len(lines)):
        if lines[at].strip(" \t"):
            found = "text after the % that closes the program"
            yield Finding("after-end", at + 1, lines[at], found, "nothing after it")
            return


def _number_line(lines: list[str], start: int, end: int) -> int | None:
    """Where the program's number would stand: the first line that is not blank."""
    at = next((at for at in range(start, end) if lines[at].strip(" \t")), None)
    return at if at is not None and lines[at].lstrip(" \t")[0] in "Oo:" else None


def _number(lines: list[str], start: int, at: int | None, dialect: Dialect) -> Iterator[Finding]:
    told = dialect.lines.program_number
    assert told is not None
    example = f"{told.letter}{told.number:0{told.digits}d}"
    if at is None:
        last = min(start, len(lines) - 1)
        yield _problem(last + 1, lines[last], "no program number before the first block", f"one, as {example}")
    elif not re.fullmatch(rf"[ \t]*{told.letter}[0-9]{{1,{told.digits}}}[ \t]*", lines[at]):
        expected = f"{told.letter} and up to {told.digits} digits alone on the line, as {example}"
        yield _problem(at + 1, lines[at], f'"{lines[at].strip()[:40]}" for a program number', expected)


def _problem(line: int, text: str, found: str, expected: str) -> Finding:
    return Finding("unreadable", line, text, found, expected)
