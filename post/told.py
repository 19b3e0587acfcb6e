"""What the numbers of words tell, taken by themselves; a number finer than the control reads is refused."""

from collections.abc import Mapping
from math import remainder
from typing import Final

from post.dialect import Dialect
from post.refusal import Refusal, show
from post.units import MM_PER, Units

MOST_REPEATS: Final = 100
"""Repeats of a cycle (L) that are interpreted, so that one short line cannot fill the memory."""


def feed_told(dialect: Dialect, told: float, units: Units | None, mode: str | None) -> float | None:
    """Millimetres a minute or a turn that an F tells under a feed mode and, as Table 8 has it, earlier units.

    None without both: it then means nothing. Raises Refusal for one that no control reads.
    """
    if told < 0:
        raise Refusal("unreadable", show("F", told), "F above 0")
    if units is None or mode is None:
        return None
    steps = dialect.steps(units)
    step = steps.feed if mode == "G94" else steps.feed_per_turn or steps.feed
    counted = dialect.numbers.point == "none"
    on_grid("F", told, 1.0 if counted else step)
    return told * MM_PER[units] * (step if counted else 1.0)


def on_grid(letter: str, told: float, step: float) -> float:
    """The number told. Raises Refusal where it is finer than the control reads."""
    off = abs(remainder(told, step))
    if off > step * 1e-6 and off > abs(told) * 1e-12:
        raise Refusal("unreadable", f"{show(letter, told)}, finer than the control reads", f"steps of {step:.12g}")
    return told


def repeats(numbers: Mapping[str, float]) -> int:
    """L of a cycle (3.5.16)."""
    wanted = numbers.get("L", 1.0)
    if not (wanted.is_integer() and 1 <= wanted <= MOST_REPEATS):
        raise Refusal("unreadable", show("L", wanted), f"a whole number from 1 to {MOST_REPEATS}")
    return int(wanted)
