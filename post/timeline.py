"""What a machine does when it runs a program: the outcome of a replay, free of any control's words.

All lengths are millimetres in program coordinates, feeds millimetres a minute, times seconds. An axis whose place is
not known (before its first word) is NaN.
"""

from dataclasses import dataclass, field
from typing import NamedTuple

from post.finding import Finding
from post.motion import Sense
from post.units import Units

Point = tuple[float, float, float]


class Spin(NamedTuple):
    """State of the spindle: turning at ``rpm`` in ``sense``, or stopped, perhaps at a known ``angle`` in degrees."""

    rpm: float
    sense: Sense | None
    angle: float | None

    @property
    def turning(self) -> bool:
        """Whether the spindle turns."""
        return self.sense is not None


STOPPED = Spin(0.0, None, None)


class Move(NamedTuple):
    """A straight move; ``feed`` is None for a rapid. Moves of no length are left out of a timeline."""

    line: int
    start: Point
    end: Point
    feed: float | None
    spin: Spin


class Wait(NamedTuple):
    """Standing still for ``seconds``."""

    line: int
    seconds: float
    spin: Spin


class Halt(NamedTuple):
    """The program stops until the operator starts it again; ``optional`` where a switch decides (M1).

    ``message`` is the remark beside it; the control shows it to him where ``shown``.
    """

    line: int
    message: str
    optional: bool
    spin: Spin
    shown: bool = True


class SpinChange(NamedTuple):
    """The spindle is told to turn, to stop, or to stop at an angle: ``spin`` is the state from now on."""

    line: int
    spin: Spin


class OffsetChange(NamedTuple):
    """A work offset is selected, "G54" to "G59.3"; told even when it is the one already active."""

    line: int
    code: str


class End(NamedTuple):
    """The program ends (M2 or M30); ``spin`` is the spindle's state just before, which the end itself stops."""

    line: int
    spin: Spin


Event = Move | Wait | Halt | SpinChange | OffsetChange | End


@dataclass(slots=True)
class Timeline:
    """Events in order, and what could not be understood on the way.

    ``findings`` holds what reader and replay refused; where it is not empty the events are not to be trusted.
    ``blocks`` counts the lines that held words; ``units`` are the units first stated, None if never. ``stated_first``
    are the codes named before anything moves: whatever else a control may have kept from the program before. ``states``
    are, with their lines, the codes that change no motion interpreted here, but how a control carries it out: cutter
    compensation, tool length offset, path control. ``by_machine`` are the lines with a move in machine coordinates,
    which the work zero does not shift.
    """

    events: list[Event] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    blocks: int = 0
    units: Units | None = None
    stated_first: set[str] = field(default_factory=set)
    states: list[tuple[int, str]] = field(default_factory=list)
    by_machine: list[int] = field(default_factory=list)
