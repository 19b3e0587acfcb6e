"""Text to blocks of words, by the grammar of RS-274/NGC (NISTIR 6556 section 3.3) and nothing wider.

Words used here:

word
    a letter and its number, ``("X", -12.5)``; letters are upper case.
block
    one line: its words in the order written, its comment, or the finding that says why it cannot be read.
shape
    what is left of a line without digits, signs, points and blanks: its letters, and whatever is odd about it.

A line is plain when its shape is nothing but letters of words, in their places. Any other line is first made plain,
by taking out comments, the block-delete sign and blanks and by writing capitals, and then read the same way. Only a
line that still cannot be read is looked at letter by letter, to say why.
"""

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Final, NamedTuple

from post.dialect import Dialect
from post.finding import Finding
from post.refusal import Refusal, show

WORD_LETTERS: Final = frozenset("ABCDFGHIJKLMPQRSTXYZ")
"""Letters of words, N apart (NISTIR 6556 3.3.2, Table 3)."""

LONGEST_LINE: Final = 256
"""Characters of a line without its end (NISTIR 6556 3.3)."""

MOST_M_WORDS: Final = 4
"""M words on a line (NISTIR 6556 3.3.5)."""

_BLANKS: Final = " \t"
_OF_NUMBERS: Final = b"0123456789.+-" + _BLANKS.encode()
_LETTERS: Final = "".join(sorted(WORD_LETTERS)).encode() + b"N"
_LETTERS_TO_COMMAS: Final = bytes.maketrans(_LETTERS, b"," * len(_LETTERS))
_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
_PIECE: Final = re.compile(r"([A-Z])([-+.0-9]*)|([-+.0-9]+)|(.)")
_STRANGE: Final = re.compile(r"[^\t -~]")
_COMMENT: Final = re.compile(r"\(([^()]*)\)")
_OPENING: Final = re.compile(r"[ \t\n]*%[ \t]*(?:\n|\Z)")


class Block(NamedTuple):
    """One line of a program.

    ``line`` is counted from 1 and ``text`` the line as it stands, without its end. ``words`` are in the order
    written, N left out. ``comment`` is the text of the last comment, without brackets. ``deleted`` says that the line
    starts with "/". ``finding`` is set when the line cannot be read; it then has no words.
    """

    line: int
    text: str
    words: tuple[tuple[str, float], ...]
    comment: str | None
    deleted: bool
    finding: Finding | None


def read(text: str, dialect: Dialect) -> Iterator[Block]:
    """Blocks of a program, one after the other; blank lines and the percent lines around a program give none.

    Lines end with a line feed, with or without a carriage return before it. Nothing is raised: a line outside the
    grammar becomes a block with a finding. The grammar is one for all dialects so far; what a word means is the
    replay's to ask of the dialect.
    """
    text = text.replace("\r\n", "\n")
    opening = _OPENING.match(text)
    start = opening.end() if opening else 0
    lines = enumerate(text[start:].split("\n"), text.count("\n", 0, start) + 1)
    for number, line in lines:
        try:
            yield Block(number, line, _words(line), None, False, None)
        except ValueError:
            bare = line.strip(_BLANKS)
            if bare == "%" and opening:
                break
            if bare:
                yield _odd_block(number, line)
    else:
        if opening:
            yield _not_closed(text)
        return
    for number, line in lines:
        if line.strip(_BLANKS):
            beyond = Finding("after-end", number, line, "text after the % that closes the program", "nothing after it")
            yield Block(number, line, (), None, False, beyond)


def _words(line: str) -> tuple[tuple[str, float], ...]:
    """Words of a plain line. Raises ValueError for any other line.

    ``float`` reads more than the standard's numbers, as "1_0", "1e5" or "inf", but nothing more that has the letters
    of words for its only letters.
    """
    if len(line) > LONGEST_LINE or "(" in line:
        raise ValueError(line)
    data = line.encode("ascii")
    letters = _letters(data.translate(None, _OF_NUMBERS))
    # One number after each letter, and first what stands before all letters.
    numbers = data.translate(_LETTERS_TO_COMMAS).split(b",")
    if not letters or numbers[0]:
        raise ValueError(line)
    words = tuple(zip(letters, map(float, numbers[1:]), strict=False))
    if letters[0] != "N":
        return words
    if not _is_line_number(numbers[1].strip()):
        raise ValueError(line)
    return words[1:]


@lru_cache(maxsize=1024)
def _letters(shape: bytes) -> tuple[str, ...]:
    """Letters of a plain line's shape (NISTIR 6556 3.3.1, 3.3.2, 3.3.5); none for any other shape."""
    letters = tuple(shape.decode("ascii"))
    words = letters[1:] if letters[:1] == ("N",) else letters
    once = [letter for letter in words if letter not in "GM"]
    plain = WORD_LETTERS.issuperset(words) and len(set(once)) == len(once) and words.count("M") <= MOST_M_WORDS
    return letters if plain else ()


def _is_line_number(digits: bytes) -> bool:
    """Whether this is the number of an N word: 1 to 5 digits and no sign (NISTIR 6556 3.3.1)."""
    return digits.isdigit() and len(digits) <= 5


def _odd_block(number: int, line: str) -> Block:
    """Block of a line that is not plain, made plain first."""
    deleted = line.lstrip(_BLANKS).startswith("/")
    try:
        code, comment = _without_comments(line)
        return Block(number, line, _plain_words(code[deleted:]), comment, deleted, None)
    except Refusal as refusal:
        return Block(number, line, (), None, deleted, refusal.at(number, line))


def _plain_words(code: str) -> tuple[tuple[str, float], ...]:
    if not code:
        return ()
    try:
        return _words(code)
    except ValueError:
        raise _what_is_wrong(code) from None


def _without_comments(line: str) -> tuple[str, str | None]:
    """Code of a line in capitals without blanks, and its last comment (NISTIR 6556 3.3, 3.3.4, 3.3.5).

    Raises Refusal for a line too long, for characters no line may have, for comments that nest or do not close, and
    for what cannot follow a comment.
    """
    if len(line) > LONGEST_LINE:
        raise _unreadable(f"a line of {len(line)} characters", f"at most {LONGEST_LINE}")
    strange = _STRANGE.search(line)
    if strange:
        place = f"the character U+{ord(strange[0]):04X} in column {strange.start() + 1}"
        raise _unreadable(place, "printable ASCII characters, blanks and tabs only")
    parts = _COMMENT.split(line)
    codes = [part.replace(" ", "").replace("\t", "").upper() for part in parts[::2]]
    whole = "".join(codes)
    for bracket in "()":
        if bracket in whole:
            raise _unreadable(f'a "{bracket}" without its pair', "comments that close on their line and do not nest")
    for code in codes[1:]:
        if code and (code[0] == "N" or not code[0].isalpha()):
            raise _unreadable(f'"{code[0]}" after a comment', "whole words after it; N and / start a line")
    return whole, parts[-2] if len(parts) > 1 else None


def _what_is_wrong(code: str) -> Refusal:
    """Why code, in capitals and without blanks, cannot be read, though it is known that it cannot."""
    if "#" in code:
        return _unreadable("a parameter, #", "plain numbers only: parameters are not interpreted")
    if "[" in code or "]" in code:
        return _unreadable("an expression or a function, [ ]", "plain numbers only: expressions are not interpreted")
    seen: dict[str, str] = {}
    for place, (letter, number, stray, other) in enumerate(_PIECE.findall(code)):
        if letter == "N":
            if place > 0:
                return _unreadable(f"N{number} after other words", "the line number first on its line")
            if not _is_line_number(number.encode()):
                return _unreadable(f"N{number}", "a line number of 1 to 5 digits, as N120")
        elif letter and letter not in WORD_LETTERS:
            return _not_a_letter(letter, number)
        elif letter and not number:
            return _unreadable(f"{letter} with no number", f"a number after it, as {letter}12.5")
        elif letter and not _NUMBER.fullmatch(number):
            return _unreadable(f'{letter}{number}, whose "{number}" is no number', "a number, as 12.5, -12.5 or .5")
        elif stray:
            return _unreadable(f"{stray} with no letter", f"a letter before it, as X{stray}")
        elif other:
            return _unreadable(f'the character "{other}"', _OF_SIGNS.get(other, "words and comments only"))
        elif letter in seen and letter not in "GM":
            twice = f"{letter} twice, {show(letter, float(seen[letter]))} and {show(letter, float(number))}"
            return Refusal("group-clash", twice, "each letter but G and M once on a line")
        seen[letter] = number
    return Refusal("group-clash", f"{code.count('M')} M words on one line", f"at most {MOST_M_WORDS}")


_OF_SIGNS: Final = {
    "/": '"/" as the first character of a line only',
    "%": '"%" alone on the first line and on the last',
    ";": "comments in ( ) only",
}


def _not_a_letter(letter: str, number: str) -> Refusal:
    if letter == "E":
        return _unreadable(f"E{number}", "numbers without an exponent; E is no word of RS-274/NGC")
    return _unreadable(f"{letter}{number}", f"words of RS-274/NGC; {letter} is none")


def _not_closed(text: str) -> Block:
    """Block for a program that a percent line opens and none closes (NISTIR 6556 3.1), at its last line."""
    lines = text.rstrip(_BLANKS + "\n").split("\n")
    problem = _unreadable("a % that opens the program and none that closes it", "a second % after the program")
    return Block(len(lines), lines[-1], (), None, False, problem.at(len(lines), lines[-1]))


def _unreadable(found: str, expected: str) -> Refusal:
    return Refusal("unreadable", found, expected)
