"""One small program, said in the words of any dialect and said longhand, both by hand.

Nothing here is the project's writer: words are put together from whole numbers of the control's steps, in decimals.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from hypothesis import strategies as st

from post.dialect import Dialect
from post.units import Units

Counts = tuple[int, int, int]
"""Of the control's steps, for X, Y and Z."""


@dataclass(frozen=True)
class Go:
    """A move; ``feed`` counts steps of the feed word under ``mode``, and is None for a rapid."""

    to: Counts
    feed: int | None = None
    mode: str = ""


@dataclass(frozen=True)
class Stand:
    """A dwell of so many steps."""

    count: int


@dataclass(frozen=True)
class Turn:
    """The spindle turns at so many steps of speed."""

    word: Literal["M3", "M4"]
    count: int


@dataclass(frozen=True)
class Still:
    """The spindle stops, at an angle in thousandths of a degree if one is told."""

    angle: int | None = None


@dataclass(frozen=True)
class Stop:
    """M0 with a message, in signs that the dialect allows."""

    message: str


@dataclass(frozen=True)
class Bore:
    """A fixed cycle from ``r`` down by ``below``, along an axis counted from 0, at a hole, under G98 or G99."""

    code: str
    axis: int
    hole: Counts
    r: int
    below: int
    stand: int
    feed: int
    mode: str
    retract: Literal["G98", "G99"]


Deed = Go | Stand | Turn | Still | Stop | Bore


@dataclass(frozen=True)
class Saying:
    """What a program does, free of any dialect's words."""

    units: Units
    deeds: tuple[Deed, ...]


_PLACE: Final = st.tuples(*[st.integers(-5000, 5000)] * 3)
_FEED: Final = st.integers(1, 5000)


@st.composite
def sayings(draw: st.DrawFn, dialect: Dialect) -> Saying:
    """What a dialect can say; the first deed goes to a place known in every axis."""
    deeds: list[Deed] = [Go(draw(_PLACE))]
    turning = False
    modes = st.sampled_from(dialect.feed_modes)
    kinds = ["rapid", "feed", "turn", "still", "stop", "stand", *["bore"] * 3 * bool(dialect.cycles)]
    for kind in draw(st.lists(st.sampled_from(kinds), min_size=2, max_size=8)):
        if kind in ("turn", "bore") or (kind in ("feed", "stand") and not turning and draw(st.booleans())):
            deeds.append(Turn(draw(st.sampled_from(["M3", "M4"])), draw(st.integers(1, 5000))))
            turning = True
        match kind:
            case "rapid":
                deeds.append(Go(draw(_PLACE)))
            case "feed" if turning or "G94" in dialect.feed_modes:
                deeds.append(Go(draw(_PLACE), draw(_FEED), draw(modes) if turning else "G94"))
            case "still":
                angles = st.none() | st.integers(0, 359_999) if dialect.oriented_stop else st.none()
                deeds.append(Still(draw(angles)))
                turning = False
            case "stop":
                text = draw(st.sampled_from(["Set the cutter to 84.5", "sweep", "", "(a) b, c; d/e"]))
                deeds.append(Stop(dialect.comment(text)))
            case "stand" if turning or dialect.dwell.unit != "turns":
                deeds.append(Stand(draw(st.integers(0, 5000))))
            case "bore":
                deeds.append(draw(_bores(dialect)))
    return Saying(draw(st.sampled_from(["mm", "inch"])), tuple(deeds))


def _bores(dialect: Dialect) -> st.SearchStrategy[Bore]:
    return st.builds(
        Bore,
        code=st.sampled_from(sorted(dialect.cycles)),
        axis=st.integers(0, 2),
        hole=_PLACE,
        r=st.integers(-5000, 5000),
        below=st.integers(0, 5000),
        stand=st.integers(0, 500),
        feed=_FEED,
        mode=st.sampled_from(dialect.feed_modes),
        retract=st.sampled_from(["G98", "G99"]),
    )


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


AXES: Final = "XYZ"
PLANES: Final = ("G19", "G18", "G17")


@dataclass
class _InDialect:
    """One saying in a dialect's own words, laid out as dice fall."""

    dialect: Dialect
    saying: Saying
    dice: random.Random
    mode: str = ""

    def __post_init__(self) -> None:
        steps = self.dialect.steps(self.saying.units)
        self.length_step = Decimal(repr(steps.length))
        self.feed_steps = {"G94": Decimal(repr(steps.feed)), "G95": Decimal(repr(steps.feed_per_turn))}
        self.point = self.dialect.numbers.point

    def number(self, count: int, step: Decimal, point: str) -> str:
        if point == "none":
            return str(count)
        text = _plain(count * step)
        if "." in text:
            return self.dice.choice([text, f"{text}0"])
        return f"{text}." if point == "required" else self.dice.choice([text, f"{text}.", f"{text}.0"])

    def length(self, count: int) -> str:
        return self.number(count, self.length_step, self.point)

    def feed(self, count: int, mode: str) -> str:
        """The F word, behind its mode where another was in force."""
        word = f"F{self.number(count, self.feed_steps[mode], self.point)}"
        told, self.mode = ("" if mode == self.mode else f"{mode} "), mode
        return told + word

    def dwell(self, letter: str, count: int) -> str:
        step = Decimal(repr(self.dialect.dwell.step))
        return f"{letter}{self.number(count, step, self.point if letter == 'X' else 'optional')}"

    def place(self, to: Sequence[int]) -> str:
        return " ".join(f"{axis}{self.length(count)}" for axis, count in zip(AXES, to, strict=True))

    def comment(self, text: str) -> str:
        return {"brackets": f"({text})", "semicolon": f";{text}", "none": ""}[self.dialect.comments.form]

    def line(self, deed: Deed) -> tuple[str, str]:
        """Words and comment of a deed."""
        match deed:
            case Go(to, None):
                return f"G0 {self.place(to)}", ""
            case Go(to, feed, mode) if feed is not None:
                return f"{self.feed(feed, mode)} G1 {self.place(to)}", ""
            case Stand(count):
                return f"G4 {self.dwell(self.dialect.dwell.word, count)}", ""
            case Turn(word, count):
                speed = self.number(count, Decimal(repr(self.dialect.resolution.speed)), "optional")
                return f"{word} S{speed}", ""
            case Still(None):
                return "M5", ""
            case Still(angle) if angle is not None and self.dialect.oriented_stop:
                told = self.number(angle, Decimal("0.001"), "optional")
                return f"M19 {self.dialect.oriented_stop.angle}{told}", ""
            case Stop(message):
                return "M0", self.comment(f"{self.dialect.comments.message} {message}")
            case Bore():
                return self.bore(deed), ""
        raise AssertionError(deed)

    def bore(self, bore: Bore) -> str:
        to = [*bore.hole]
        to[bore.axis] = bore.r - bore.below
        words = [PLANES[bore.axis], bore.retract, self.feed(bore.feed, bore.mode), bore.code, self.place(to)]
        words.append(f"R{self.length(bore.r)}")
        if bore.code in ("G82", "G86", "G89"):
            words.append(self.dwell("P", bore.stand))
        return " ".join(words)

    def text(self) -> str:
        dialect, dice = self.dialect, self.dice
        units = dialect.unit_words.mm if self.saying.units == "mm" else dialect.unit_words.inch
        opening = [codes.split(" or ")[-1] for codes in dialect.opening]
        self.mode = dialect.feed_modes[0]
        said = [(" ".join([*opening, units, "G17 G90 G54", self.mode]), "")]
        for deed in self.saying.deeds:
            if dice.random() < 0.2:
                said.append(("", self.comment(dialect.comment("to bore 1, (84.5)"))))
            if dice.random() < 0.2 and dialect.on_trust:
                said.append((dice.choice(sorted(dialect.on_trust)), ""))
            said.append(self.line(deed))
        said.append((dice.choice(["M2", "M30"]), ""))
        end = "\r\n" if dialect.lines.end == "CRLF" else dice.choice(["\n", "\r\n"])
        return "".join(line + end for line in self.framed(said))

    def framed(self, said: Sequence[tuple[str, str]]) -> Iterator[str]:
        around, dice = self.dialect.lines, self.dice
        marked = around.tape_marks == "required" or (around.tape_marks == "allowed" and dice.random() < 0.5)
        if marked:
            yield "%"
        if around.program_number:
            form = around.program_number
            yield f"{form.letter}{form.number:0{dice.choice([1, form.digits])}d}"
        number = around.block_numbers.first if around.block_numbers else 0
        for words, comment in said:
            numbered = f"N{number} " if around.block_numbers else ""
            line = numbered + words
            yield dice.choice([line, line.lower(), line.replace(" ", "")]) + dice.choice(["", " "]) + comment
            if around.block_numbers:
                number += around.block_numbers.step
                number = number if number <= around.block_numbers.last else around.block_numbers.first
        if marked:
            yield "%"


def in_dialect(saying: Saying, dialect: Dialect, dice: random.Random) -> str:
    """The saying's program in the words of a dialect."""
    return _InDialect(dialect, saying, dice).text()


class _Longhand:
    """One saying in G0, G1, M3, M4, M5, M19 R, G4 P in seconds, F a minute and millimetres, every cycle written out."""

    def __init__(self, saying: Saying, dialect: Dialect) -> None:
        steps = dialect.steps(saying.units)
        per_unit = Decimal("25.4") if saying.units == "inch" else Decimal(1)
        self.length_mm = Decimal(repr(steps.length)) * per_unit
        self.feed_mm = {mode: Decimal(repr(step)) * per_unit for mode, step in _feed_steps(dialect, saying.units)}
        self.speed_rpm = Decimal(repr(dialect.resolution.speed))
        self.dwell = dialect.dwell
        self.messages = dialect.comments.form != "none"
        self.saying = saying
        self.turning: tuple[str, Decimal] | None = None
        self.here = [0, 0, 0]
        self.lines = ["G21 G17 G90 G94 G54"]

    def text(self) -> str:
        for deed in self.saying.deeds:
            self.say(deed)
        return "\n".join([*self.lines, "M30", ""])

    def say(self, deed: Deed) -> None:
        match deed:
            case Go(to, feed, mode):
                self.go(to, None if feed is None else self.mm_per_min(feed, mode))
            case Stand(count):
                self.stand(count)
            case Turn(word, count):
                self.turning = word, count * self.speed_rpm
                self.lines.append(f"{word} S{_plain(self.turning[1])}")
            case Still(angle):
                self.turning = None
                self.lines.append("M5" if angle is None else f"M19 R{_plain(angle * Decimal('0.001'))}")
            case Stop(message):
                self.lines.append(f"M0 (MSG, {message})" if self.messages else "M0")
            case Bore():
                self.bore(deed)

    def mm_per_min(self, feed: int, mode: str) -> Decimal:
        turns = self.turning[1] if mode == "G95" and self.turning else Decimal(1)
        return feed * self.feed_mm[mode] * turns

    def go(self, to: Sequence[int], mm_per_min: Decimal | None) -> None:
        places = " ".join(f"{axis}{_plain(count * self.length_mm)}" for axis, count in zip(AXES, to, strict=True))
        # The feed stands on a line of its own: no fixed cycle and no change of mode is near it.
        self.lines += [f"G0 {places}"] if mm_per_min is None else [f"F{_plain(mm_per_min)}", f"G1 {places}"]
        self.here = [*to]

    def along(self, axis: int, to: int, mm_per_min: Decimal | None = None) -> None:
        place = [*self.here]
        place[axis] = to
        self.go(place, mm_per_min)

    def stand(self, count: int) -> None:
        told = count * Decimal(repr(self.dwell.step))
        if self.dwell.unit == "milliseconds":
            told /= 1000
        elif self.dwell.unit == "turns" and self.turning:
            told = (told * 60 / self.turning[1]).quantize(Decimal("1e-7"))
        self.lines.append(f"G4 P{_plain(told)}")

    def bore(self, bore: Bore) -> None:
        """As NISTIR 6556 3.5.16 tells it."""
        feed = self.mm_per_min(bore.feed, bore.mode)
        clear = bore.r if bore.retract == "G99" else max(bore.r, self.here[bore.axis])
        if self.here[bore.axis] < bore.r:
            self.along(bore.axis, bore.r)
        over = [*bore.hole]
        over[bore.axis] = self.here[bore.axis]
        self.go(over, None)
        self.along(bore.axis, bore.r)
        self.along(bore.axis, bore.r - bore.below, feed)
        if bore.code in ("G82", "G86", "G89"):
            self.stand(bore.stand)
        if bore.code == "G86" and self.turning:
            self.lines.append("M5")
            self.along(bore.axis, clear)
            self.lines.append(self.turning[0])
        else:
            self.along(bore.axis, clear, feed if bore.code in ("G85", "G89") else None)


def _feed_steps(dialect: Dialect, units: Units) -> Iterator[tuple[str, float]]:
    steps = dialect.steps(units)
    yield "G94", steps.feed
    if steps.feed_per_turn is not None:
        yield "G95", steps.feed_per_turn


def longhand(saying: Saying, dialect: Dialect) -> str:
    """The same, in millimetres and every move written out; ``dialect`` is whose steps are counted."""
    return _Longhand(saying, dialect).text()
