"""Numbers and remarks as one control reads them: the filters of a template."""

from typing import Any, Final, Literal

from jinja2 import Undefined

from post.dialect import ANGLE_STEP_DEG, Dialect
from post.steps import decimals
from post.units import Units
from post.views import Written

Point = Literal["optional", "required", "none"]

MOST_KEPT: Final = 100_000
"""Numbers and remarks kept, so that a long program does not fill the memory."""
MOST_TEXT: Final = 2_000
"""Most characters a template may put together before it writes them: several times the longest line."""


_FORMS: Final = {"brackets": ("(", ")"), "semicolon": ("; ", ""), "none": ("", "")}
"""What stands before and behind a comment."""


class Wording:
    """How numbers and remarks are written for one dialect and one unit.

    Numbers are in what the program's words count: lengths in its unit, feeds in its unit a minute or a spindle turn,
    dwells in what the dialect's dwell word counts. Every method raises ValueError, for a person, for anything else.
    """

    def __init__(self, dialect: Dialect, units: Units) -> None:
        self._dialect = dialect
        point, zeros = dialect.numbers.point, dialect.numbers.trailing_zeros
        dwell_point: Point = "required" if dialect.dwell.word == "X" and point == "required" else "optional"
        lengths = _Number("length", dialect.steps(units).length, point, zeros)
        self.length: Final = lengths.text
        self._lengths = lengths.known
        self.feed: Final = _Number("feed", dialect.feed_word_step(units), point, zeros).text
        self.speed: Final = _Number("speed", dialect.resolution.speed, "optional", zeros).text
        self.dwell: Final = _Number("dwell", dialect.dwell.step, dwell_point, zeros).text
        self.angle: Final = _Number("angle", ANGLE_STEP_DEG, "optional", zeros).text
        self._opening, self._closing = _FORMS[dialect.comments.form]
        self._room = dialect.comment_room
        self._stands = dialect.comments.stands
        # What is shorter than a quarter of a line is not what makes it too long.
        self._worth_cutting = dialect.lines.length // 4
        self._remarks: set[str] = set()

    def comment(self, text: Any) -> str:
        """A remark in the control's form of comments, cut to one line; empty where it takes none."""
        text = text_of(text, "comment")
        said = text if self._stands(text) else self._dialect.comment(text)
        if len(said) > self._room:
            said = _cut(said, self._room)
        remark = self._opening + said + self._closing if self._opening else ""
        if len(remark) >= self._worth_cutting and len(self._remarks) < MOST_KEPT:
            self._remarks.add(remark)
        return remark

    def message(self, text: Any) -> str:
        """The same for what the control is to show to the operator."""
        said = self._dialect.comment(text_of(text, "message"))
        words = " ".join(part for part in (self._dialect.comments.message, said) if part)
        return self._opening + words + self._closing if self._opening else ""

    def place(self, step: Any) -> str:
        """X, Y and Z of a step, those that it has."""
        if type(step) is Written and "x" in step.fields:
            fields, known, length = step.fields, self._lengths.get, self.length
            x, y, z = fields["x"], fields["y"], fields["z"]
            if x is not None and y is not None and z is not None:
                return f"X{known(x) or length(x)} Y{known(y) or length(y)} Z{known(z) or length(z)}"
        return " ".join(self.axis_words(step))

    def axis_words(self, step: Any) -> list[str]:
        """The same, word by word."""
        if type(step) is not Written or "x" not in step.fields:
            raise ValueError("place and moved take a step that is a rapid or a feed")
        places = ((axis, step.fields[axis.lower()]) for axis in "XYZ")
        return [axis + self.length(at) for axis, at in places if at is not None]

    def shortened(self, line: str) -> str:
        """A line cut to the control's length at the remark it ends with; messages and words are never cut."""
        over = len(line) - self._dialect.lines.length
        at = line.find(self._opening) if self._opening else -1
        while at >= 0 and line[at:] not in self._remarks:
            at = line.find(self._opening, at + 1)
        if over <= 0 or at < 0:
            return line
        opened = at + len(self._opening)
        said = _cut(line[opened : len(line) - len(self._closing)], len(line) - over - opened - len(self._closing))
        return f"{line[:opened]}{said}{self._closing}" if len(said) > len("...") else line[:at].rstrip()


def _cut(said: str, room: int) -> str:
    """A remark cut to a room, but not in a number; no more than three points if nothing fits."""
    kept = said[: max(room - 3, 0)]
    start = kept.rfind(" ") + 1
    cut, rest = kept[start:], said[len(kept) :].partition(" ")[0]
    if rest and any(map(str.isdigit, cut + rest)):
        kept = kept[:start]
    return f"{kept.rstrip()}..."


class _Number:
    """How numbers of one kind are written: their step, their point, and whether idle zeros stay."""

    def __init__(self, name: str, step: float, point: Point, zeros: bool) -> None:
        self._name = name
        self._step = step
        self._point = point
        self._zeros = zeros
        self._format = f"%.{decimals(step)}f"
        self.known: dict[float, str] = {}

    def text(self, value: Any) -> str:
        """A number as a word carries it; coordinates come again and again, so what is written is kept."""
        known = self.known.get(value) if type(value) is float else None
        if known is None:
            known = self._written(number_of(value, self._name))
            if len(self.known) < MOST_KEPT:
                self.known[value] = known
        return known

    def _written(self, value: float) -> str:
        if self._point == "none":
            return f"{round(value / self._step):d}"
        text = self._format % value
        if text.startswith("-") and not text.strip("-0."):
            text = text[1:]
        if "." in text and not self._zeros:
            text = text.rstrip("0").rstrip(".")
        return f"{text}." if self._point == "required" and "." not in text else text


def number_of(value: Any, name: str) -> float:
    """A number a template gave; ``name`` is what it gave it to."""
    if isinstance(value, Undefined):
        str(value)  # tells which name is not defined
    if value is None:
        raise ValueError(f"nothing given to {name}: the step leaves that axis, or that word, out")
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{name} takes a number")
    if not abs(value) < 1e12:
        raise ValueError(f"{name} takes a number below 1000000000000")
    return float(value)


def text_of(value: Any, name: str) -> str:
    """A text or a number that a template gave, as text; ``name`` is what it gave it to."""
    if type(value) is not str:
        if isinstance(value, Undefined):
            str(value)
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise ValueError(f"{name} takes a text or a number")
    text = str(value)
    if len(text) > MOST_TEXT:
        raise ValueError(f"{name} is given more than {MOST_TEXT} characters")
    return text
