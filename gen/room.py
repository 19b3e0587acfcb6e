"""Tool and surroundings as prisms along X: what can meet what, by name.

A job need not tell all of it: without a head only bar and cutter are known, without a block no bulkheads. What is not
told is not looked at, and ``gen.unchecked`` says so.
"""

import math
from collections.abc import Iterator
from typing import Final, NamedTuple

from gen.job import Job
from gen.row import Housing
from gen.sections import Disc, Obstacle, Part, Plate, Rectangle, Turned
from gen.space import BULKHEAD

STEM_TOP_MM: Final = 10_000.0
"""How far the stem is taken to go up: beyond any mill, for it ends in the spindle."""


class NamedPart(NamedTuple):
    """A part of the tool and what to call it."""

    name: str
    part: Part


class NamedObstacle(NamedTuple):
    """A thing that stands still and what to call it."""

    name: str
    obstacle: Obstacle


def tool(job: Job) -> list[NamedPart]:
    """Bar and head, about the programmed point; the cutter is apart, since its size changes (``cutter``)."""
    return [NamedPart(name, _behind(job, low, high, section)) for name, low, high, section in _tool(job)]


def _tool(job: Job) -> Iterator[tuple[str, float, float, Rectangle | Disc]]:
    """Name, extent backward from the cutting edge, and section of every part."""
    head = job.head
    bar = Disc(job.bar.diameter / 2)
    if head.reach is None:
        return
    yield "bar", 0.0, head.reach, bar
    if head.body is not None:
        body = head.body
        half = body.width / 2
        yield "head body", head.reach, head.reach + body.length, Rectangle(-half, half, -body.below, body.above)
    if head.stem is not None:
        stem, half = head.stem, head.stem.width / 2
        start = head.reach + stem.back
        base = head.body.above if head.body is not None else 0.0
        yield "stem", start, start + stem.length, Rectangle(-half, half, min(base, STEM_TOP_MM), STEM_TOP_MM)
    for bump in head.bump:
        yield bump.name, *bump.behind, Rectangle(*bump.y, *bump.z)


def _behind(job: Job, low: float, high: float, section: Rectangle | Disc) -> Part:
    """A part whose extent is counted backward from the edge, against the way the bar points."""
    return Part(low, high, section) if job.direction < 0 else Part(-high, -low, section)


def cutter(diameter_mm: float) -> Part:
    """The cutter at any angle: a disc without thickness at the cutting edge."""
    return Part(0.0, 0.0, Disc(diameter_mm / 2))


def cutter_tip(diameter_mm: float, lift_mm: tuple[float, float]) -> Part:
    """The cutter stopped at the angle from which it is lifted: a point away from the way the bar is moved."""
    dy, dz = lift_mm
    far = -diameter_mm / 2 / math.hypot(dy, dz)
    y, z = far * dy, far * dz
    return Part(0.0, 0.0, Rectangle(y, y, z, z))


def obstacles(job: Job) -> list[NamedObstacle]:
    """Everything the job names, bulkheads apart."""
    named = []
    for obstacle in job.obstacle:
        rectangle = Rectangle(*obstacle.y, *obstacle.z)
        section = Turned(rectangle, math.radians(obstacle.turned)) if obstacle.turned else rectangle
        named.append(NamedObstacle(obstacle.name, Obstacle(*obstacle.x, section)))
    return named


def bulkhead_name(housing: Housing) -> str:
    """What the bulkhead about a bore is called."""
    return f"{BULKHEAD}{housing.bore.name}"


def bulkhead_section(job: Job, housing: Housing, *, cut: bool) -> Plate | None:
    """Section of the bulkhead about a bore, with the hole it has before or after the cut; None where not told."""
    extent = bulkhead_extent(job, housing)
    if extent is None:
        return None
    diameter = housing.bore.diameter if cut else hole_before(job, housing)
    return None if diameter is None else Plate(extent, diameter / 2)


def bulkhead_extent(job: Job, housing: Housing) -> Rectangle | None:
    """Extent of a bulkhead in Y and Z."""
    bore = housing.bore
    y = bore.bulkhead_y or (job.block.y if job.block else None)
    z = bore.bulkhead_z or (job.block.z if job.block else None)
    return None if y is None or z is None else Rectangle(*y, *z)


def hole_before(job: Job, housing: Housing) -> float | None:
    """Diameter of the hole that is there before the pass."""
    return housing.bore.hole or (job.block.hole if job.block else None)
