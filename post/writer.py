"""Steps into text: a plan, a dialect and a template make a program.

What a template sees is told in the project's DEVELOPERS.md: the steps, a few names, filters that write numbers and
remarks as the dialect has them, and ``once``, which drops a word that still holds. What stands around the blocks (tape
marks, program number, block numbers, ends of lines) is put there from the dialect, not by the template.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final, NamedTuple

from post.collector import no_garbage
from post.dialect import Dialect
from post.motion import Plan
from post.sandbox import run
from post.userfile import InputError
from post.views import CannotExpressError, written_steps
from post.wording import Wording, text_of

MOST_HELD: Final = 100
"""Words that ``once`` keeps in mind; a program has about ten kinds."""


class Names(NamedTuple):
    """What a program is called: its job, its number if it has one, and which of how many programs it is."""

    job: str = ""
    number: int | None = None
    part: int = 1
    parts: int = 1


def write(plan: Plan, header: Sequence[str], dialect: Dialect, template: Path, names: Names | None = None) -> str:
    """The program's text.

    Raises CannotExpressError when the dialect has no words for a step, and InputError, with the template's file and
    line and the step being written, when the template fails, writes too much or writes what no control takes.
    """
    with no_garbage():
        return _write(plan, header, dialect, template, names or Names())


def _write(plan: Plan, header: Sequence[str], dialect: Dialect, template: Path, names: Names) -> str:
    number = _number(dialect, names)
    wording, once = Wording(dialect, plan.units), _Once()
    steps = list(written_steps(plan, dialect))
    text = run(
        template,
        steps,
        {
            "header": list(header),
            "job_name": names.job,
            "part": names.part,
            "parts": names.parts,
            "unit_word": dialect.unit_words.mm if plan.units == "mm" else dialect.unit_words.inch,
            "feed_mode": dialect.feed_modes[0],
            "work_offset": plan.work_offset,
            "dwell_word": dialect.dwell.word,
        },
        {
            "length": wording.length,
            "feed": wording.feed,
            "speed": wording.speed,
            "dwell": wording.dwell,
            "angle": wording.angle,
            "comment": wording.comment,
            "message": wording.message,
            "place": wording.place,
            "moved": lambda step: " ".join(word for word in wording.axis_words(step) if once.word(word)),
        },
        {"once": once.word, "restate": once.restate, "line": _line},
    )
    most = dialect.lines.length
    lines = [line if len(line) <= most else wording.shortened(line) for line in _dressed(text, dialect, number)]
    _check(lines, dialect, template)
    end = "\r\n" if dialect.lines.end == "CRLF" else "\n"
    return end.join([*lines, ""])


class _Once:
    """The words that hold, by kind: those that need not be written again."""

    def __init__(self) -> None:
        self._held: dict[str, str] = {}

    def word(self, word: Any, kind: Any = None) -> str:
        """A word, or nothing if it was the last of its kind; its kind is its letter unless told."""
        text = text_of(word, "once")
        key = text[:1] if kind is None else text_of(kind, "once")
        if self._held.get(key) == text:
            return ""
        if key not in self._held and len(self._held) >= MOST_HELD:
            raise ValueError(f"once is given more than {MOST_HELD} kinds of words")
        self._held[key] = text
        return text

    def restate(self) -> str:
        """Forget what holds, so that all is written again: behind a stop, where an operator may start anew."""
        self._held.clear()
        return ""


def _line(*words: Any) -> str:
    """Words with blanks between, those that are empty left out."""
    return " ".join(text for text in (text_of(word, "line") for word in words) if text)


def _number(dialect: Dialect, names: Names) -> str | None:
    """The line that numbers the program; None where the control has none. Raises CannotExpressError."""
    form = dialect.lines.program_number
    if form is None:
        return None
    number = (form.number if names.number is None else names.number) + names.part - 1
    if number >= 10**form.digits:
        raise CannotExpressError(f"the program's number {number} has more than the {form.digits} digits it may have")
    return f"{form.letter}{number:0{form.digits}d}"


def _dressed(text: str, dialect: Dialect, number: str | None) -> Iterator[str]:
    """The lines of a program in its frame, blank ones left out."""
    around = dialect.lines
    marked = around.tape_marks == "required"
    if marked:
        yield "%"
    if number:
        yield number
    told = [line.rstrip() for line in text.split("\n") if line and not line.isspace()]
    yield from told if around.block_numbers is None else _numbered(told, dialect)
    if marked:
        yield "%"


def _numbered(lines: Sequence[str], dialect: Dialect) -> Iterator[str]:
    numbers = dialect.lines.block_numbers
    assert numbers is not None
    number = numbers.first
    for line in lines:
        if line[0] in "(;":
            yield line
            continue
        yield f"/N{number} {line[1:]}" if line[0] == "/" else f"N{number} {line}"
        number += numbers.step
        if number > numbers.last:
            number = numbers.first


def _check(lines: list[str], dialect: Dialect, template: Path) -> None:
    most, whole = dialect.lines.length, "".join(lines)
    if whole.isascii() and whole.isprintable() and max(map(len, lines), default=0) <= most:
        return
    for number, line in enumerate(lines, 1):
        if len(line) <= most and line.isascii() and line.isprintable():
            continue
        if len(line) > most:
            raise InputError(
                f"line {number} of the program would be {len(line)} characters long; the control takes {most}:"
                f" {ascii(line[:60])[1:-1]}...",
                file=template,
            )
        raise InputError(
            f"line {number} of the program would hold a sign that is not plain ASCII: {line[:60]!a}", file=template
        )
