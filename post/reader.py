"""Text to blocks of words, by the grammar of RS-274/NGC (NISTIR 6556 section 3.3) and what the dialect says of it.

Words used here:

word
    a letter and its number, ``("X", -12.5)``; letters are upper case.
block
    one line: its words in the order written, its comment, or the finding that says why it cannot be read.
plain
    words in capitals, one blank between each and the next, and behind them one comment or none.

The code of any line that is not plain is first made so, by taking out comments, the block-delete sign and blanks, by
writing capitals and by putting a blank before each word, and then read the same way. Only a line that still cannot be
read is looked at letter by letter, to say why.
"""

import re
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Final, NamedTuple

from post.dialect import Dialect
from post.finding import Finding
from post.frame import unframe
from post.refusal import Refusal, show

WORD_LETTERS: Final = frozenset("ABCDFGHIJKLMPQRSTXYZ")
"""Letters of words, N apart (NISTIR 6556 3.3.2, Table 3)."""

MOST_M_WORDS: Final = 4
"""M words on a line (NISTIR 6556 3.3.5)."""

MOST_KEPT: Final = 1024
"""Words kept as they were read: those of lines near to each other are much the same."""

_BLANKS: Final = " \t"
_OPENS: Final = {"brackets": "(", "semicolon": ";"}
_OF_NUMBERS: Final = b"0123456789.+- "
_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
_WORD: Final = re.compile(r"[A-Z]?[^A-Z]+|[A-Z]")
_PIECE: Final = re.compile(r"([A-Z])([-+.0-9]*)|([-+.0-9]+)|(.)")
_STRANGE: Final = re.compile(r"[^\t -~]")
_COMMENT: Final = re.compile(r"\(([^()]*)\)")

_POINTED: Final = frozenset("XYZRF")
"""Letters of lengths and feeds, in which a point may be asked for or forbidden; behind M19 one is an angle."""
_ORIENTED: Final = re.compile(r"M0*19(?![0-9])")


Word = tuple[str, float]
_Words = tuple[tuple[Word, ...], str]
"""Words, and their letters."""
_WordsOf = Callable[[str], _Words]


class Block(NamedTuple):
    """One line of a program.

    ``line`` is counted from 1 and ``text`` the line as it stands, without its end. ``words`` are in the order
    written, N left out; ``letters`` are theirs, one behind the other. ``comment`` is the text of the last comment,
    without brackets. ``deleted`` says that the line starts with "/". ``finding`` is set when the line cannot be read;
    it then has no words.
    """

    line: int
    text: str
    words: tuple[Word, ...]
    letters: str
    comment: str | None
    deleted: bool
    finding: Finding | None


def read(text: str, dialect: Dialect) -> Iterator[Block]:
    """Blocks of a program, one after the other; blank lines and what stands around a program give none.

    Nothing is raised: a line outside the grammar becomes a block with a finding. What a word means is the replay's to
    ask of the dialect.
    """
    frame = unframe(text, dialect)
    yield from (Block(problem.line, problem.text, (), "", None, False, problem) for problem in frame.problems)
    grammar = _Grammar.of(dialect)
    words_of = _words if grammar.point is None else grammar.words
    opens, commented = _OPENS.get(dialect.comments.form), _commented(dialect)
    longest = dialect.lines.length
    for number, line in enumerate(frame.lines, frame.first):
        if len(line) > longest:
            problem = _unreadable(f"a line of {len(line)} characters", f"at most {longest}").at(number, line)
            yield Block(number, line, (), "", None, False, problem)
            continue
        code, comment = line, None
        if opens and opens in line and (parts := commented(line)):
            code, comment = parts[1].rstrip(_BLANKS), parts[2]
            if not code:
                yield Block(number, line, (), "", comment, False, None)
                continue
        try:
            words, letters = words_of(code)
            yield Block(number, line, words, letters, comment, False, None)
        except ValueError:
            if line.strip(_BLANKS):
                yield _odd_block(number, line, words_of, grammar)


def _commented(dialect: Dialect) -> Callable[[str], re.Match[str] | None]:
    """Matches a line that ends with its only comment: what stands before it, and the comment."""
    signs = f"[{re.escape(''.join(sorted(dialect.comments.allowed)))}]*"
    pattern = rf"([^(]*)\(({signs})\)" if dialect.comments.form == "brackets" else f"([^;]*);({signs})"
    return re.compile(pattern).fullmatch


def _words(line: str) -> _Words:
    """Words of a plain code. Raises ValueError for any other, for none, and for words that cannot stand together.

    ``float`` reads more than the standard's numbers, as "1_0", "1e5" or "inf", but nothing more that has the letters
    of words for its only letters.
    """
    letters = _together(line.encode("ascii").translate(None, _OF_NUMBERS))
    words = tuple(map(_word_of, line.split(" ")))
    if len(letters) != len(words):
        raise ValueError(line)
    if letters[0] != "N":
        return words, letters
    if not _is_line_number(line.partition(" ")[0][1:]):
        raise ValueError(line)
    return words[1:], letters[1:]


class _Kept(dict[str, Word]):
    """Words as they were read last: a first sign, a letter if the line is plain, and the number behind it.

    Raises ValueError for a text that holds no number.
    """

    def __missing__(self, text: str) -> Word:
        if len(self) >= MOST_KEPT:
            self.clear()
        word = self[text] = text[:1], float(text[1:])
        return word


_word_of: Final = _Kept().__getitem__


@lru_cache(maxsize=MOST_KEPT)
def _together(signs: bytes) -> str:
    """Signs that are letters of words that can make a line (NISTIR 6556 3.3.1, 3.3.2, 3.3.5); none if they are not."""
    letters = signs.decode("ascii")
    words = letters.removeprefix("N")
    once = [letter for letter in words if letter not in "GM"]
    stand = WORD_LETTERS.issuperset(words) and len(set(once)) == len(once) and words.count("M") <= MOST_M_WORDS
    return letters if stand else ""


class _Grammar(NamedTuple):
    """What a dialect adds to the grammar."""

    dialect: Dialect
    point: bool | None
    """Whether lengths and feeds have a point; None where it is free."""

    @classmethod
    def of(cls, dialect: Dialect) -> "_Grammar":
        """The grammar of a dialect."""
        return cls(dialect, {"optional": None, "required": True, "none": False}[dialect.numbers.point])

    def words(self, line: str) -> _Words:
        """Words of a plain code, their points as the control has them. Raises ValueError for any other."""
        words = _words(line)
        code = _bare(line)
        if any(self.wrong_point(letter, number, code) for letter, number, _, _ in _PIECE.findall(code)):
            raise ValueError(line)
        return words

    def wrong_point(self, letter: str, number: str, code: str) -> Refusal | None:
        """Why the control reads a number otherwise than it is written; None where it does not."""
        if letter not in _POINTED or self.point is None or ("." in number) is self.point:
            return None
        stop = self.dialect.oriented_stop
        if stop is not None and letter == stop.angle and _ORIENTED.search(code):
            return None
        if self.point:
            return _unreadable(f"{letter}{number}, without a point", "a point in every length and feed, as X10.")
        return _unreadable(f"{letter}{number}, with a point", "none: lengths and feeds count the smallest steps")


def _bare(code: str) -> str:
    return code.replace(" ", "").replace("\t", "").upper()


def _is_line_number(digits: str) -> bool:
    """Whether this is the number of an N word: 1 to 5 digits and no sign (NISTIR 6556 3.3.1)."""
    return digits.isascii() and digits.isdigit() and len(digits) <= 5


def _odd_block(number: int, line: str, words_of: _WordsOf, grammar: _Grammar) -> Block:
    """Block of a line that is not plain, made plain first."""
    deleted = line.lstrip(_BLANKS).startswith("/")
    try:
        code, comment = _without_comments(line, grammar.dialect)
        words, letters = _plain_words(code[deleted:], words_of, grammar)
        return Block(number, line, words, letters, comment, deleted, None)
    except Refusal as refusal:
        return Block(number, line, (), "", None, deleted, refusal.at(number, line))


def _plain_words(code: str, words_of: _WordsOf, grammar: _Grammar) -> _Words:
    if not code:
        return (), ""
    try:
        return words_of(" ".join(_WORD.findall(code)))
    except ValueError:
        raise _what_is_wrong(code, grammar) from None


def _without_comments(line: str, dialect: Dialect) -> tuple[str, str | None]:
    """Code of a line in capitals without blanks, and its last comment (NISTIR 6556 3.3, 3.3.4, 3.3.5).

    Raises Refusal for characters no line may have, for comments that nest or do not close, and
    for what cannot follow a comment.
    """
    if strange := _STRANGE.search(line):
        place = f"the character U+{ord(strange[0]):04X} in column {strange.start() + 1}"
        raise _unreadable(place, "printable ASCII characters, blanks and tabs only")
    match dialect.comments.form:
        case "brackets":
            code, comments = _outside_brackets(line)
            comment, said = comments[-1] if comments else None, "".join(comments)
        case "semicolon":
            before, semicolon, behind = line.partition(";")
            code, comment, said = _bare(before), behind if semicolon else None, behind
        case "none":
            code, comment, said = _bare(line), None, ""
    if not dialect.comments.allowed.issuperset(said) and (odd := set(said) - dialect.comments.allowed - {"\t"}):
        raise _unreadable(f'the sign "{min(odd)}" in a comment', "the signs that the dialect allows in comments")
    return code, comment


def _outside_brackets(line: str) -> tuple[str, list[str]]:
    parts = _COMMENT.split(line)
    codes = [_bare(part) for part in parts[::2]]
    whole = "".join(codes)
    for bracket in "()":
        if bracket in whole:
            raise _unreadable(f'a "{bracket}" without its pair', "comments that close on their line and do not nest")
    for code in codes[1:]:
        if code and (code[0] == "N" or not code[0].isalpha()):
            raise _unreadable(f'"{code[0]}" after a comment', "whole words after it; N and / start a line")
    return whole, parts[1::2]


def _what_is_wrong(code: str, grammar: _Grammar) -> Refusal:
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
            if not _is_line_number(number):
                return _unreadable(f"N{number}", "a line number of 1 to 5 digits, as N120")
        elif stray:
            return _unreadable(f"{stray} with no letter", f"a letter before it, as X{stray}")
        elif other:
            return _unreadable(f'the character "{other}"', _allowed_instead(other, grammar.dialect))
        elif wrong := _wrong_word(letter, number) or grammar.wrong_point(letter, number, code):
            return wrong
        elif letter in seen and letter not in "GM":
            twice = f"{letter} twice, {show(letter, float(seen[letter]))} and {show(letter, float(number))}"
            return Refusal("group-clash", twice, "each letter but G and M once on a line")
        seen[letter] = number
    return Refusal("group-clash", f"{code.count('M')} M words on one line", f"at most {MOST_M_WORDS}")


def _wrong_word(letter: str, number: str) -> Refusal | None:
    """Why a letter with its number is no word here; None where it is one."""
    if letter not in WORD_LETTERS and letter != "N":
        return _not_a_letter(letter, number)
    if not number:
        return _unreadable(f"{letter} with no number", f"a number after it, as {letter}12.5")
    if not _NUMBER.fullmatch(number):
        return _unreadable(f'{letter}{number}, whose "{number}" is no number', "a number, as 12.5, -12.5 or .5")
    return None


def _allowed_instead(sign: str, dialect: Dialect) -> str:
    form = dialect.comments.form
    if sign in "();":
        return {"brackets": "comments in ( ) only", "semicolon": "comments behind ; only", "none": "no comments"}[form]
    return _OF_SIGNS.get(sign, "words and comments only")


_OF_SIGNS: Final = {
    "/": '"/" as the first character of a line only',
    "%": '"%" alone on the first line and on the last',
}


def _not_a_letter(letter: str, number: str) -> Refusal:
    if letter == "E":
        return _unreadable(f"E{number}", "numbers without an exponent; E is no word of RS-274/NGC")
    return _unreadable(f"{letter}{number}", f"words of RS-274/NGC; {letter} is none")


def _unreadable(found: str, expected: str) -> Refusal:
    return Refusal("unreadable", found, expected)
