"""Small changes to a program's text, kind by kind.

A change is lines and what stands in their place, places counted from 0, ends of lines kept. Words are what stands
between blanks, and remarks, in brackets or behind a semicolon; blocks are lines that hold more than remarks.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from random import Random
from typing import Final, NamedTuple

Change = tuple[tuple[int, str], ...]

AT_RANDOM: Final = 300
"""Changes drawn where there are too many to try each: pairs of blocks, splices, bytes, what is put in."""
LAST_BLOCKS: Final = 5
"""Blocks from the end in which a file is cut short at every byte."""


class Original(NamedTuple):
    """The lines of a program, with their ends, and of others under its post that one may be mixed with."""

    lines: tuple[str, ...]
    others: Sequence[tuple[str, ...]]

    def blocks(self) -> Iterator[tuple[int, str]]:
        """Places and texts of the blocks."""
        for at, line in enumerate(self.lines):
            if _REMARK.sub("", line).strip():
                yield at, line

    def words(self) -> Iterator[tuple[int, str, re.Match[str]]]:
        """Words of the blocks but their remarks: the place of the line, the line, letter (1) and number (2)."""
        for at, line in self.blocks():
            code = _REMARK.sub(lambda remark: " " * len(remark[0]), line)
            yield from ((at, line, word) for word in _WORD.finditer(code))


Kind = Callable[[Original, Random], Iterator[Change]]

_REMARK: Final = re.compile(r"\([^)]*\)|;[^\r\n]*")
_TOKEN: Final = re.compile(r"\([^)]*\)|;[^\r\n]*|[^\s(;]+")
_WORD: Final = re.compile(r"([A-Z])(-?[0-9.]+)")


def split(text: str) -> tuple[str, ...]:
    """The lines of a text, each with its end."""
    return tuple(text.splitlines(keepends=True))


def changed(lines: Sequence[str], change: Change) -> str:
    """The text of a program, changed."""
    instead = dict(change)
    return "".join(instead.get(at, line) for at, line in enumerate(lines))


def _put(line: str, start: int, end: int, text: str) -> str:
    return f"{line[:start]}{text}{line[end:]}"


def _drop(original: Original, _: Random) -> Iterator[Change]:
    for at, line in original.blocks():
        for token in _TOKEN.finditer(line):
            yield ((at, _put(line, *token.span(), "")),)


def _repeat(original: Original, _: Random) -> Iterator[Change]:
    for at, line in original.blocks():
        for token in _TOKEN.finditer(line):
            yield ((at, _put(line, *token.span(), f"{token[0]} {token[0]}")),)


def _swap(original: Original, _: Random) -> Iterator[Change]:
    for at, line in original.blocks():
        tokens = list(_TOKEN.finditer(line))
        for one, other in pairwise(tokens):
            between = line[one.end() : other.start()]
            yield ((at, _put(line, one.start(), other.end(), f"{other[0]}{between}{one[0]}")),)


def _digit(original: Original, _: Random) -> Iterator[Change]:
    """Any digit of a word, or of the program's number, any other."""
    for at, line, word in original.words():
        for place in range(*word.span(2)):
            if line[place].isdigit():
                for digit in "0123456789":
                    yield ((at, _put(line, place, place + 1, digit)),)


def _point(original: Original, _: Random) -> Iterator[Change]:
    """The decimal point one place to the left, or to the right."""
    for at, line, word in original.words():
        whole, point, part = word[2].partition(".")
        if not point:
            continue
        if whole[-1:].isdigit():
            yield ((at, _put(line, *word.span(2), f"{whole[:-1]}.{whole[-1]}{part}")),)
        if part:
            yield ((at, _put(line, *word.span(2), f"{whole}{part[0]}.{part[1:]}")),)


def _sign(original: Original, _: Random) -> Iterator[Change]:
    for at, line, word in original.words():
        if word[1] not in "NO":
            number = word[2].removeprefix("-") if word[2].startswith("-") else f"-{word[2]}"
            yield ((at, _put(line, *word.span(2), number)),)


def _ten(original: Original, _: Random) -> Iterator[Change]:
    """P and F ten times as much, and a tenth."""
    for at, line, word in original.words():
        if word[1] in "PF":
            for power in (1, -1):
                number = f"{Decimal(word[2]).scaleb(power):f}"
                yield ((at, _put(line, *word.span(2), number if "." in number else f"{number}.")),)


def _codes(*codes: str) -> Kind:
    """One of several codes made another of them."""

    def kind(original: Original, _: Random) -> Iterator[Change]:
        for at, line, word in original.words():
            if word[0] in codes:
                for code in codes:
                    yield ((at, _put(line, *word.span(), code)),)

    return kind


def _delete(original: Original, _: Random) -> Iterator[Change]:
    for at, _line in original.blocks():
        yield ((at, ""),)


def _repeat_block(original: Original, _: Random) -> Iterator[Change]:
    for at, line in original.blocks():
        yield ((at, f"{line}{line}"),)


def _exchange_neighbours(original: Original, _: Random) -> Iterator[Change]:
    blocks = list(original.blocks())
    for (at, line), (other, instead) in pairwise(blocks):
        yield ((at, instead), (other, line))


def _exchange_any(original: Original, rng: Random) -> Iterator[Change]:
    blocks = list(original.blocks())
    for _ in range(AT_RANDOM):
        (at, line), (other, instead) = sorted(rng.sample(blocks, 2))
        yield ((at, instead), (other, line))


def _cut(original: Original, _: Random) -> Iterator[Change]:
    """The file cut short, at every byte of its last blocks."""
    for at, line in list(original.blocks())[-LAST_BLOCKS:]:
        rest = tuple((after, "") for after in range(at + 1, len(original.lines)))
        for length in range(len(line)):
            yield ((at, line[:length]), *rest)


def _splice(original: Original, rng: Random) -> Iterator[Change]:
    """The head of a program, and the tail of another or of its own."""
    for _ in range(AT_RANDOM):
        head = rng.randrange(len(original.lines))
        other = rng.choice(original.others)
        tail = "".join(other[rng.randrange(len(other)) :])
        yield ((head, tail), *((after, "") for after in range(head + 1, len(original.lines))))


_CODES_PUT_IN: Final = (
    *("G0", "G1", "G4 P1", "G17", "G18", "G20", "G21", "G28", "G41", "G43", "G53", "G55", "G64", "G80", "G81", "G91"),
    *("G92 X0", "G93", "G94", "G95", "G98", "M0", "M1", "M2", "M3", "M4", "M5", "M6", "M8", "M30", "M48", "M49"),
    *("S100", "F1", "X0", "Y0", "Z0", "Y1", "R1", "L2", "T1", "N1", "/", "#1=1"),
)


def _put_in(original: Original, rng: Random) -> Iterator[Change]:
    """A code or another word put into a block, before its words or behind the first, or on a line of its own."""
    blocks = list(original.blocks())
    for _ in range(AT_RANDOM):
        (at, line), code = rng.choice(blocks), rng.choice(_CODES_PUT_IN)
        first = _TOKEN.search(line)
        assert first is not None
        behind = _put(line, first.end(), first.end(), f" {code}")
        yield ((at, rng.choice((f"{code} {line}", behind, f"{code}\n{line}"))),)


def _byte(change: Callable[[str, int, str], str]) -> Kind:
    """One byte of the file changed, as told for a line, a place in it and another byte of the file."""

    def kind(original: Original, rng: Random) -> Iterator[Change]:
        for _ in range(AT_RANDOM):
            at = rng.randrange(len(original.lines))
            line = original.lines[at]
            yield ((at, change(line, rng.randrange(len(line)), rng.choice(rng.choice(original.lines)))),)

    return kind


def _join(original: Original, _: Random) -> Iterator[Change]:
    """A line's end taken away."""
    for at, line in enumerate(original.lines[:-1]):
        yield ((at, line.rstrip("\r\n")),)


def _remark_put_in(original: Original, rng: Random) -> Iterator[Change]:
    """A remark of this program or another put before any line, one digit of it changed or none; or among its words."""
    remarks = [match[0] for lines in original.others for line in lines for match in _REMARK.finditer(line)]
    for _ in range(AT_RANDOM if remarks else 0):
        at, remark = rng.randrange(len(original.lines)), rng.choice(remarks)
        digits = [place for place, sign in enumerate(remark) if sign.isdigit()]
        if digits and rng.random() < 0.5:
            place = rng.choice(digits)
            remark = _put(remark, place, place + 1, rng.choice("0123456789"))
        line = original.lines[at]
        place = rng.choice([0, *(token.start() for token in _TOKEN.finditer(line))])
        yield ((at, _put(line, place, place, f"{remark} ") if rng.random() < 0.5 else f"{remark}\n{line}"),)


def _remarks(original: Original, *, messages: bool) -> Iterator[tuple[int, str, int, int]]:
    """Line, and where in it the text stands, of remarks, those on lines with a stop or the others."""
    for at, line in enumerate(original.lines):
        stops = any(word in _REMARK.sub("", line).split() for word in ("M0", "M1"))
        for remark in _REMARK.finditer(line):
            if stops is messages:
                yield at, line, remark.start() + 1, remark.end() - (remark[0][0] == "(")


def _remark(original: Original, _: Random) -> Iterator[Change]:
    """A letter of a remark that is no message."""
    for at, line, start, end in _remarks(original, messages=False):
        for place in range(start, end):
            if line[place].isalpha():
                yield ((at, _put(line, place, place + 1, "X" if line[place] in "xA" else "A")),)


def _remark_digit(original: Original, _: Random) -> Iterator[Change]:
    """A digit of a remark that is no message."""
    for at, line, start, end in _remarks(original, messages=False):
        for place in range(start, end):
            if line[place].isdigit():
                yield ((at, _put(line, place, place + 1, "7" if line[place] == "8" else "8")),)


def _message(original: Original, _: Random) -> Iterator[Change]:
    """A letter or a digit of a message, or a word of it left out."""
    for at, line, start, end in _remarks(original, messages=True):
        for place in range(start, end):
            if line[place].isalnum():
                yield ((at, _put(line, place, place + 1, "7" if line[place] in "A0" else "0")),)
        for word in re.finditer(r"\S+", line[start:end]):
            yield ((at, _put(line, start + word.start(), start + word.end(), "")),)


KINDS: Final[Mapping[str, Kind]] = {
    "word dropped": _drop,
    "word repeated": _repeat,
    "words swapped": _swap,
    "digit changed": _digit,
    "point moved": _point,
    "sign flipped": _sign,
    "P or F by ten": _ten,
    "G0, G1": _codes("G0", "G1"),
    "G94, G95": _codes("G94", "G95"),
    "G20, G21": _codes("G20", "G21"),
    "G90, G91": _codes("G90", "G91"),
    "G17, G18, G19": _codes("G17", "G18", "G19"),
    "M3, M4, M5": _codes("M3", "M4", "M5"),
    "work offset": _codes("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"),
    "block deleted": _delete,
    "block repeated": _repeat_block,
    "neighbours exchanged": _exchange_neighbours,
    "any two exchanged": _exchange_any,
    "cut short": _cut,
    "spliced": _splice,
    "word put in": _put_in,
    "byte deleted": _byte(lambda line, at, _: _put(line, at, at + 1, "")),
    "byte put in": _byte(lambda line, at, byte: _put(line, at, at, byte)),
    "byte changed": _byte(lambda line, at, byte: _put(line, at, at + 1, byte)),
    "lines joined": _join,
    "letter of a remark": _remark,
    "digit of a remark": _remark_digit,
    "remark put in": _remark_put_in,
    "message": _message,
}
