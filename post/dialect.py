"""What one control's words mean: the dialect, read from a post's ``dialect.toml``.

Writer, reader and replay take all that differs between controls from here; nothing about a control lives in code.
"""

import math
import unicodedata
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Final, Literal

from pydantic import Field

from post.units import MM_PER, Units
from post.userfile import Table, parse_toml, read_text, validate

Step = Annotated[float, Field(gt=0, le=10, allow_inf_nan=False, examples=[0.001])]

Cycle = Literal["G81", "G82", "G85", "G86", "G89"]


class Steps(Table):
    """The smallest step the control reads in a length and in a feed, in the unit the program is written in."""

    length: Step
    feed: Step


class Resolution(Table):
    """Steps of the two units, of the spindle word (revolutions a minute) and of a dwell (seconds)."""

    mm: Steps
    inch: Steps
    speed: Step = Field(default=1.0, examples=[1.0])
    dwell: Step = Field(default=0.01, examples=[0.01])


ANGLE_STEP_DEG: Final = 0.001
"""Smallest step of a spindle angle, degrees; chosen by us: a tenth of what any encoder resolves."""


class OrientedStop(Table):
    """The word that stops the spindle at a known angle, and the letter of the angle in degrees behind it."""

    code: Literal["M19"] = "M19"
    angle: Literal["R", "P"] = Field(default="R", examples=["R"])


class Dialect(Table):
    """What a control reads and means."""

    about: str = Field(min_length=1, max_length=120, examples=["Every move written out"])
    resolution: Resolution
    cycles: frozenset[Cycle] = Field(default=frozenset(), strict=False, examples=[["G85", "G89"]])
    oriented_stop: OrientedStop | None = None
    line_length: int = Field(default=250, ge=40, le=255, examples=[250])

    def length_step(self, units: Units) -> float:
        """Smallest step of a coordinate, in millimetres."""
        return self.steps(units).length * MM_PER[units]

    def steps(self, units: Units) -> Steps:
        """The steps of one unit."""
        return self.resolution.mm if units == "mm" else self.resolution.inch

    def round_length(self, length_mm: float, units: Units) -> float:
        """A coordinate in mm, moved to the nearest the control can read in ``units``; still in mm."""
        return nearest(length_mm / MM_PER[units], self.steps(units).length) * MM_PER[units]

    def round_feed(self, mm_per_min: float, units: Units) -> float:
        """A feed in mm/min, moved to the nearest the control can read in ``units``; still in mm/min."""
        return nearest(mm_per_min / MM_PER[units], self.steps(units).feed) * MM_PER[units]

    def round_dwell(self, seconds: float) -> float:
        """A dwell, moved up to what the control can read: never shorter than asked."""
        return upward(seconds, self.resolution.dwell)

    def round_angle(self, degrees: float) -> float:
        """A spindle angle as a program carries it, 0 or more and less than 360 degrees."""
        return nearest(degrees, ANGLE_STEP_DEG) % 360

    def comment(self, text: str) -> str:
        """A text as it can stand in one of the control's comments: plain ASCII, no bracket that would end it."""
        letters = (sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
        plain = "".join(letters).encode("ascii", "replace").decode("ascii").translate(_COMMENT_SAFE)
        return " ".join(plain.split())

    @property
    def comment_room(self) -> int:
        """Characters of text that fit in a comment alone on a line."""
        return self.line_length - 2


_COMMENT_SAFE: Final = {**dict.fromkeys(range(32), " "), 127: " ", ord("("): "[", ord(")"): "]"}


def decimals(step: float) -> int:
    """Digits behind the point that write every multiple of a step exactly."""
    exponent = Decimal(repr(step)).normalize().as_tuple().exponent
    return max(0, -int(exponent))


def nearest(value: float, step: float) -> float:
    """The multiple of ``step`` nearest to a value, as the decimal a person would write."""
    return round(round(value / step) * step, decimals(step))


def upward(value: float, step: float) -> float:
    """The smallest multiple of ``step`` that is not below a value.

    A value that is a multiple but for the last bits of a float counts as one.
    """
    count = math.ceil(value / step - 1e-9)
    return round(count * step, decimals(step))


def load_dialect(path: Path) -> Dialect:
    """The dialect in a file. Raises InputError with file, line and key."""
    text = read_text(path, what="dialect")
    return validate(Dialect, parse_toml(text, path), path=path, text=text)
