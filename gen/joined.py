"""Several programs that are run one after the other, as one: what no single one of them can be asked.

Between two of them the machine stands as the first has left it, the operator does what he is told, and the next
starts with nothing taken for granted.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from post.finding import Finding
from post.timeline import STOPPED, Event, Halt, Move, Point, Timeline


class Joined(NamedTuple):
    """Lines and events of all programs, lines counted on from program to program; ``starts`` is what each counts from.

    Behind the end of every program but the last stands a halt for the operator. ``timeline`` takes no place from one
    program into the next; ``continued`` is the same, each program starting where the one before has left the machine,
    as it does if the operator has not moved it.
    """

    lines: list[str]
    timeline: Timeline
    continued: Timeline
    starts: tuple[int, ...]

    def place(self, line: int) -> tuple[int, int]:
        """The program, counted from 1, and the line in it."""
        program = max(number for number, start in enumerate(self.starts, 1) if start < max(line, 1))
        return program, line - self.starts[program - 1]

    def placed(self, finding: Finding) -> Finding:
        """A finding with its line counted in its own program."""
        program, line = self.place(finding.line)
        return finding._replace(line=line, program=program)


def join(programs: Sequence[tuple[list[str], Timeline]]) -> Joined:
    """Programs, each as its lines and its timeline, in the order in which they are run."""
    if len(programs) == 1:
        ((lines, timeline),) = programs
        return Joined(lines, timeline, timeline, (0,))
    lines = []
    events: list[Event] = []
    starts: list[int] = []
    for own_lines, timeline in programs:
        start = len(lines)
        if starts:
            events.append(Halt(start, "", False, STOPPED))
        starts.append(start)
        events += (event._replace(line=event.line + start) for event in timeline.events)
        lines += own_lines
    blocks, units = sum(timeline.blocks for _, timeline in programs), programs[0][1].units
    whole = Timeline(events, blocks=blocks, units=units)
    return Joined(lines, whole, Timeline(list(_continued(events)), blocks=blocks, units=units), tuple(starts))


def _continued(events: Iterable[Event]) -> Iterator[Event]:
    """Events with the axes that a program has not stated yet where the one before has left them."""
    here: Point = (math.nan, math.nan, math.nan)
    for event in events:
        if isinstance(event, Move):
            event = event._replace(start=_known(event.start, here), end=_known(event.end, here))  # noqa: PLW2901
            here = event.end
        yield event


def _known(place: Point, here: Point) -> Point:
    x, y, z = (left if math.isnan(at) else at for at, left in zip(place, here, strict=True))
    return x, y, z
