"""Texts made wrong at random: what a slip of the hand, a bad disk or a stranger may do to a file."""

import random
import re
from collections.abc import Callable, Sequence
from typing import Final

NUMBER: Final = re.compile(rb"[+-]?\d+\.?\d*")
WORD: Final = re.compile(rb"\w+")
_NUMBERS: Final = b"""
0 -0 -1 1 2 3 7 100 1e9 -1e9 1e308 -1e308 1e400 1e-9 1e-320 0.1 .5 5. 0.0005 0.00001 99999999 1_0 0x10 nan inf -inf +5
007 1,5 1.2.3 -- true false "5" '' [] {} [1,2] 2024-01-01 10:00
"""
NUMBERS: Final = (*_NUMBERS.split(), b"9" * 400, b"1" * 5000, b"0." + b"0" * 400 + b"1")
_SIGNS: Final = b"""
( ) [ ] { } [[ ]] = " ' \""" # ; : , % / \\ | * + - . _ $ & ! ? < > @ ^ ` ~ {{ }} {% %} {# #}
"""
_ODD: Final = "\0 \t \r \n \v \f \x1a \x1b \x7f \u0085 \u00a0 \u2028 \u202e \ufeff \ufffe é ß İ 臼 😀 e\u0301"
PIECES: Final = (
    *_SIGNS.split(),
    *_ODD.encode().split(b" "),
    b"\r\n",
    b"\n\n",
    b"\xff",
    b"\xc3",
    b"\xed\xa0\x80",
    b"[" * 3000,
    b"{a=" * 2000,
    b"(" * 300,
    b" " * 5000,
    b"\n" * 5000,
    b"x" * 70_000,
)
MOST_BYTES: Final = 200_000

Change = Callable[[random.Random, bytes, Sequence[bytes]], bytes]


def mangled(rng: random.Random, text: bytes, others: Sequence[bytes]) -> bytes:
    """A text with one change or a few; parts of others may come in."""
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3, 5, 9))):
        text = rng.choice(CHANGES)(rng, text, others)[:MOST_BYTES]
    return text


def _byte(rng: random.Random, text: bytes, _: Sequence[bytes]) -> bytes:
    at = rng.randrange(len(text) + 1)
    return text[:at] + bytes([rng.randrange(256)]) + text[at + 1 :]


def _piece(rng: random.Random, text: bytes, _: Sequence[bytes]) -> bytes:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice(PIECES) + text[at + rng.choice((0, 0, 1)) :]


def _number(rng: random.Random, text: bytes, _: Sequence[bytes]) -> bytes:
    return _exchanged(rng, text, NUMBER, rng.choice(NUMBERS))


def _digit(rng: random.Random, text: bytes, _: Sequence[bytes]) -> bytes:
    return _exchanged(rng, text, re.compile(rb"\d"), str(rng.randrange(10)).encode())


def _scaled(rng: random.Random, text: bytes, _: Sequence[bytes]) -> bytes:
    found = list(NUMBER.finditer(text))
    if not found:
        return text
    one = rng.choice(found)
    value = float(one[0]) * rng.choice((-1.0, 0.1, 10.0, 1000.0, 1e-6, 1.0001))
    return text[: one.start()] + f"{value:g}".encode() + text[one.end() :]


def _word(rng: random.Random, text: bytes, others: Sequence[bytes]) -> bytes:
    words = WORD.findall(rng.choice(others))
    return _exchanged(rng, text, WORD, rng.choice(words)) if words else text


def _exchanged(rng: random.Random, text: bytes, kind: re.Pattern[bytes], new: bytes) -> bytes:
    found = list(kind.finditer(text))
    if not found:
        return text + new
    one = rng.choice(found)
    return text[: one.start()] + new + text[one.end() :]


def _lines(rng: random.Random, text: bytes, others: Sequence[bytes]) -> bytes:
    lines = text.split(b"\n")
    at, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    match rng.randrange(6):
        case 0:
            del lines[at]
        case 1:
            lines.insert(other, lines[at])
        case 2:
            lines[at], lines[other] = lines[other], lines[at]
        case 3:
            lines[at : at + 1] = [lines[at]] * rng.choice((2, 10, 300))
        case 4:
            lines.insert(at, rng.choice(rng.choice(others).split(b"\n")))
        case _:
            del lines[min(at, other) : max(at, other)]
    return b"\n".join(lines)


def _cut(rng: random.Random, text: bytes, _: Sequence[bytes]) -> bytes:
    at = rng.randrange(len(text) + 1)
    return text[:at] if rng.random() < 0.5 else text[at:]


def _spliced(rng: random.Random, text: bytes, others: Sequence[bytes]) -> bytes:
    other = rng.choice(others)
    return text[: rng.randrange(len(text) + 1)] + other[rng.randrange(len(other) + 1) :]


def _recoded(rng: random.Random, text: bytes, _: Sequence[bytes]) -> bytes:
    plain = text.decode("utf-8", "replace")
    match rng.randrange(5):
        case 0:
            return plain.encode("utf-16")
        case 1:
            return plain.encode("utf-8-sig")
        case 2:
            return plain.replace("\n", "\r\n").encode()
        case 3:
            return plain.replace("\n", "\r").encode()
        case _:
            return plain.swapcase().encode()


def _emptied(rng: random.Random, _: bytes, __: Sequence[bytes]) -> bytes:
    return rng.choice((b"", b"\n", b"\0", rng.randbytes(rng.randrange(300))))


CHANGES: Final[tuple[Change, ...]] = (
    *(_number, _digit, _scaled, _word, _lines) * 3,
    *(_byte, _piece, _cut, _spliced) * 2,
    _recoded,
    _emptied,
)
