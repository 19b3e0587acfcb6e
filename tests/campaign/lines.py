"""The text of a program as lines of words and remarks, for the control of the campaign of mutants.

As that control it is written anew from NISTIR 6556, and shares nothing with the reader.
"""

import re
from collections.abc import Iterator
from decimal import Decimal
from functools import lru_cache
from typing import Final, NamedTuple

from post.dialect import Dialect

_WORD: Final = re.compile(r"([A-Z])([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))")


class Alarm(Exception):
    """What a strict control stops at."""


class Line(NamedTuple):
    """Words, letter and number as written, and remarks, of one line."""

    words: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...]


@lru_cache(maxsize=1 << 16)
def parsed(text: str, form: str) -> Line | str:
    """Words and remarks of a line (3.3), or why it has none; blanks count nowhere but in remarks, nor do capitals."""
    if not text.isascii() or any(not " " <= sign <= "~" and sign != "\t" for sign in text):
        return "a sign that is none of the standard's"
    code, remarks, rest = "", list[str](), text
    if form == "semicolon":
        rest, semicolon, remark = text.partition(";")
        remarks = [remark] if semicolon else []
    while form == "brackets" and "(" in rest:
        before, _, rest = rest.partition("(")
        remark, closed, rest = rest.partition(")")
        if not closed or "(" in remark:
            return "a remark that is not closed, or opened twice"
        code, remarks = code + before, [*remarks, remark]
    code = (code + rest).replace(" ", "").replace("\t", "").upper()
    words = tuple((word[1], word[2]) for word in _WORD.finditer(code))
    if sum(len(letter) + len(number) for letter, number in words) != len(code):
        return "signs that make no word"
    return Line(words, tuple(remarks))


@lru_cache(maxsize=1 << 16)
def on_grid(number: str, step: float) -> bool:
    """Whether a number as written is a multiple of a step."""
    return Decimal(number) % Decimal(repr(step)) == 0


@lru_cache(maxsize=4096)
def code_name(letter: str, number: str) -> str:
    """A code's name; it may have idle zeros and a sign (3.3.2.1), and -0 is 0."""
    value = Decimal(number).normalize()
    return f"{letter}{value if value else Decimal(0):f}"


def framed(text: str, dialect: Dialect) -> Iterator[tuple[int, str]]:
    """Numbered lines between tape marks (3.1) and behind the program's number."""
    rows = text.split("\n")
    if dialect.lines.end == "CRLF" and not all(row.endswith("\r") for row in rows[:-1]):
        raise Alarm("a line without CR")
    lines = [(number, row.removesuffix("\r")) for number, row in enumerate(rows, 1)]
    lines = [(number, line) for number, line in lines if line.strip(" \t")]
    marks = [at for at, (_, line) in enumerate(lines) if line.strip(" \t") == "%"]
    if marks[:1] == [0] and len(marks) > 1 and dialect.lines.tape_marks != "refused":
        lines = lines[1 : marks[1]]
    elif marks or dialect.lines.tape_marks == "required":
        raise Alarm("tape marks that do not hold the program between them")
    told = dialect.lines.program_number
    if told:
        if not lines or not re.fullmatch(rf"{told.letter}[0-9]{{1,{told.digits}}}", lines[0][1].strip(" \t")):
            raise Alarm("no program number")
        lines = lines[1:]
    if any(len(line) > dialect.lines.length for _, line in lines):
        raise Alarm("a line too long")
    yield from lines
