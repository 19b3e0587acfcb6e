"""What a machine physically does, and whether two do the same: for the campaign of mutants, apart from the proof."""

from collections.abc import Sequence
from typing import Final, Literal, NamedTuple

from post.dialect import Dialect

Place = tuple[float | None, float | None, float | None]
"""X, Y and Z, mm, under the work offset in force; None where the program has not said."""

Kind = Literal["told", "rapid", "feed", "dwell", "stop", "optional stop", "spindle", "end"]

MM: Final = {"mm": 1.0, "inch": 25.4}
"""Millimetres of a unit (the inch since 1959), written here once more on purpose."""


class Spindle(NamedTuple):
    """The word that last ruled the spindle, "" before there is one; rev/min under M3 and M4, degrees under M19."""

    word: str
    amount: float


UNSTATED: Final = Spindle("", 0.0)
STILL: Final = Spindle("M5", 0.0)


class Deed(NamedTuple):
    """One thing the machine does, at a place, with the spindle as it then is; or what its operator is told to set.

    ``start`` differs from ``end`` in moves only. ``amount`` is mm/min in a feed and seconds in a dwell. ``under`` is
    the work offset, and the path control where it is not exact. Program lines count from 1.
    """

    kind: Kind
    line: int
    start: Place
    end: Place
    amount: float
    message: str
    spindle: Spindle
    under: str


class Halves(NamedTuple):
    """Half the control's steps: mm, mm/min (of a spindle turn: mm), rev/min, seconds (of turns: turns)."""

    length: float
    feed: float
    speed: float
    dwell: float
    feed_per_turn: bool
    dwell_in_turns: bool

    @classmethod
    def of(cls, dialect: Dialect, units: Literal["mm", "inch"]) -> "Halves":
        """Those of a dialect, for programs in a unit."""
        steps = dialect.resolution.mm if units == "mm" else dialect.resolution.inch
        feed, per_turn = steps.feed, dialect.feed_modes[0] == "G95"
        if per_turn and steps.feed_per_turn is not None:
            feed = steps.feed_per_turn
        return cls(
            steps.length * MM[units] / 2,
            feed * MM[units] / 2,
            dialect.resolution.speed / 2,
            dialect.dwell.step / (2000 if dialect.dwell.unit == "milliseconds" else 2),
            per_turn,
            dialect.dwell.unit == "turns",
        )


TURNS: Final = ("M3", "M4")
"""Words that have the spindle turn."""

_HAIR: Final = 1 + 1e-6


def difference(before: Sequence[Deed], after: Sequence[Deed], half: Halves) -> str:
    """The first thing done otherwise, in words, "" where all is done the same to half the control's steps."""
    for one, other in zip(before, after, strict=False):
        if not _same(one, other, half):
            return f"line {other.line}: {_told(other)}, for {_told(one)}"
    if len(before) > len(after):
        return f"not done: {_told(before[len(after)])}"
    return f"line {after[len(before)].line}: besides, {_told(after[len(before)])}" if len(after) > len(before) else ""


def _same(one: Deed, other: Deed, half: Halves) -> bool:
    if (one.kind, one.message, one.under, one.spindle.word) != (
        other.kind,
        other.message,
        other.under,
        other.spindle.word,
    ):
        return False
    turning = one.spindle.amount if one.spindle.word in TURNS else 1.0
    feed = half.feed * (turning if half.feed_per_turn else 1.0)
    dwell = half.dwell * (60 / turning if half.dwell_in_turns else 1.0)
    return (
        all(near(a, b, half.length) for a, b in zip(one.start + one.end, other.start + other.end, strict=True))
        and near(one.amount, other.amount, feed if one.kind == "feed" else dwell)
        and near(one.spindle.amount, other.spindle.amount, half.speed if one.spindle.word in TURNS else 0.0005)
    )


def near(one: float | None, other: float | None, within: float) -> bool:
    """Whether two places on an axis are no further apart than that, or both not known."""
    return one is other if one is None or other is None else abs(one - other) <= within * _HAIR


def _told(deed: Deed) -> str:
    place = " ".join("?" if at is None else f"{at:.4f}" for at in deed.end)
    return f'{deed.kind} {deed.amount:g} at {place}, {deed.spindle.word} {deed.spindle.amount:g} "{deed.message}"'
