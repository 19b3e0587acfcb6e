"""The steps a program is made of, whatever control it is written for.

Words used here and everywhere after:

place
    X, Y and Z in millimetres, in program coordinates: X of the cutting edge, Y and Z of the bar's axis. ``None`` for
    an axis that stays where it is found, which only the first move of a program may use.
sense
    which way the *spindle* turns: M3 is clockwise, M4 counterclockwise, seen from behind the spindle (RS-274/NGC).
step
    one thing the machine does. Every step carries ``why``, a short plain phrase for listings and pages.
compound
    a step that stands for several, which a post may write longhand or as a fixed cycle: ``BoreAlongX``.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from typing import Literal, NamedTuple

from post.units import Units

Place = tuple[float | None, float | None, float | None]


class Sense(Enum):
    """Sense of the spindle's rotation; the value is the word that starts it."""

    CLOCKWISE = "M3"
    COUNTERCLOCKWISE = "M4"

    @property
    def opposite(self) -> "Sense":
        """The other sense."""
        return Sense.COUNTERCLOCKWISE if self is Sense.CLOCKWISE else Sense.CLOCKWISE


class Rapid(NamedTuple):
    """Move to a place at the machine's own rapid rates, cutting nothing."""

    to: Place
    why: str


class Feed(NamedTuple):
    """Move to a place in a straight line at ``mm_per_min`` along the path."""

    to: Place
    mm_per_min: float
    why: str


class Spindle(NamedTuple):
    """Turn the spindle at ``rpm`` revolutions a minute in a sense."""

    rpm: float
    sense: Sense
    why: str


class SpindleStop(NamedTuple):
    """Stop the spindle: anywhere, or at ``at_angle`` degrees as the control counts them."""

    why: str
    at_angle: float | None = None


class Dwell(NamedTuple):
    """Stand still for a time, the spindle as it is."""

    seconds: float
    why: str


class Pause(NamedTuple):
    """Stop the program until the operator starts it again; ``message`` tells him what to do."""

    message: str
    why: str


class Remark(NamedTuple):
    """A line for the reader of the program; the machine does nothing."""

    text: str


class Lift(NamedTuple):
    """How a stopped cutter is moved off the wall: spindle angle in degrees, and the bar's shift in Y and Z, mm."""

    at_angle: float
    dy: float
    dz: float


Withdraw = Literal["feed", "still", "lift"]


class BoreAlongX(NamedTuple):
    """Feed from ``start_x`` to ``end_x`` on the axis at Y, Z; stand for ``dwell_s``; come back to ``start_x``.

    ``withdraw`` says how it comes back: ``feed`` turning and at feed, ``still`` with the spindle stopped and rapid,
    ``lift`` stopped at a known angle, moved off the wall by ``lift``, rapid, and back onto the axis. The machine
    stands at ``(start_x, y, z)`` with the spindle turning when the step begins.
    """

    start_x: float
    end_x: float
    y: float
    z: float
    mm_per_min: float
    dwell_s: float
    withdraw: Withdraw
    why: str
    lift: Lift | None = None

    def expand(self) -> "Iterator[Simple]":
        """The same in simple steps, in order. The spindle is left as withdrawing leaves it."""
        yield Feed((self.end_x, self.y, self.z), self.mm_per_min, f"feed through {self.why}")
        if self.dwell_s > 0:
            yield Dwell(self.dwell_s, f"stand at the spot face of {self.why}")
        back = f"withdraw from {self.why}"
        if self.withdraw == "feed":
            yield Feed((self.start_x, self.y, self.z), self.mm_per_min, back)
        elif self.lift is None:
            yield SpindleStop(f"stop the cutter in {self.why}")
            yield Rapid((self.start_x, self.y, self.z), back)
        else:
            y, z = self.y + self.lift.dy, self.z + self.lift.dz
            yield SpindleStop(f"stop the cutter at a known angle in {self.why}", self.lift.at_angle)
            yield Rapid((self.end_x, y, z), f"lift the cutter off the wall of {self.why}")
            yield Rapid((self.start_x, y, z), back)
            yield Rapid((self.start_x, self.y, self.z), f"back onto the line in front of {self.why}")


Simple = Rapid | Feed | Spindle | SpindleStop | Dwell | Pause | Remark
Step = Simple | BoreAlongX


@dataclass(frozen=True, slots=True)
class Plan:
    """What the machine is to do, step by step.

    ``units`` is the unit of the program's text; all coordinates here are millimetres and already lie on the grid of
    the control's resolution in that unit. ``work_offset`` is the word that selects the program's zero, "G54" to
    "G59.3".
    """

    steps: tuple[Step, ...]
    units: Units
    work_offset: str

    def simple(self) -> Iterator[Simple]:
        """All steps, compounds expanded."""
        for step in self.steps:
            if isinstance(step, BoreAlongX):
                yield from step.expand()
            else:
                yield step
