"""Plane sections across X, and the straight prisms they make along X: what tool parts and obstacles look like.

section
    a figure in the YZ plane, the same at every X of its prism: ``Rectangle``, ``Disc``, ``Turned``, ``Plate``.
part
    a prism of the tool (head, stem, bump, bar, cutter), placed about the programmed point: X is counted from the
    cutting edge, Y and Z from the bar's axis. It is carried along and never turns.
obstacle
    a prism of the block, a fixture or the table, in program coordinates.

Lengths are millimetres, angles radians. A side may be ``inf`` or ``-inf``: the stem goes up without end.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle square to Y and Z; a side may have no length, so that a line or a point is one too.

    Raises ValueError when a side is inside out or not a number.
    """

    low_y: float
    high_y: float
    low_z: float
    high_z: float

    def __post_init__(self) -> None:
        _check_extent("Y", self.low_y, self.high_y)
        _check_extent("Z", self.low_z, self.high_z)


@dataclass(frozen=True, slots=True)
class Disc:
    """A disc about (0, 0): the bar, or the cutter at any angle.

    Raises ValueError when the radius is negative or not finite.
    """

    radius: float

    def __post_init__(self) -> None:
        if not 0 <= self.radius < math.inf:
            raise ValueError(f"radius of a disc: {self.radius}; it must be a finite number, 0 or more")


@dataclass(frozen=True, slots=True)
class Turned:
    """A rectangle turned about its own centre by ``angle``, positive from +Y toward +Z: counterclockwise from +X.

    Raises ValueError unless the sides are finite and longer than 0, and the angle finite.
    """

    rectangle: Rectangle
    angle: float

    def __post_init__(self) -> None:
        low, high = bounds(self.rectangle)
        if not (np.isfinite(high - low).all() and (high > low).all()):
            raise ValueError(f"{self.rectangle}: to be turned, its sides must be finite and longer than 0")
        if not math.isfinite(self.angle):
            raise ValueError(f"angle of a turned rectangle: {self.angle}; it must be finite")

    @property
    def corners(self) -> Floats:
        """Y and Z of the four corners, counterclockwise seen from +X; shape (4, 2)."""
        low, high = bounds(self.rectangle)
        half_y, half_z = (high - low) / 2
        from_centre = np.array([[-half_y, -half_z], [half_y, -half_z], [half_y, half_z], [-half_y, half_z]])
        cos, sin = math.cos(self.angle), math.sin(self.angle)
        corners: Floats = (low + high) / 2 + from_centre @ np.array([[cos, sin], [-sin, cos]])
        return corners


@dataclass(frozen=True, slots=True)
class Plate:
    """A rectangle with a round hole about (0, 0) wholly inside it: a bulkhead and its bore.

    Raises ValueError when the hole has no size or sticks out of the rectangle.
    """

    rectangle: Rectangle
    hole_radius: float

    def __post_init__(self) -> None:
        low, high = bounds(self.rectangle)
        room = min(*-low, *high)
        if not 0 < self.hole_radius <= room or self.hole_radius == math.inf:
            raise ValueError(
                f"hole of radius {self.hole_radius} in {self.rectangle}: it must be more than 0"
                f" and at most {room}, to lie inside"
            )


PartSection = Rectangle | Disc
ObstacleSection = Rectangle | Turned | Plate


@dataclass(frozen=True, slots=True)
class Part:
    """A prism of the tool; X from the cutting edge. Raises ValueError when X is inside out or not a number."""

    low_x: float
    high_x: float
    section: PartSection

    def __post_init__(self) -> None:
        _check_extent("X", self.low_x, self.high_x)


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A prism of what stands still; X of the program. Raises ValueError when X is inside out or not a number."""

    low_x: float
    high_x: float
    section: ObstacleSection

    def __post_init__(self) -> None:
        _check_extent("X", self.low_x, self.high_x)


def bounds(section: PartSection | ObstacleSection) -> tuple[Floats, Floats]:
    """Lowest and highest Y and Z of a section; shapes (2,), (2,)."""
    match section:
        case Rectangle(low_y, high_y, low_z, high_z):
            return np.array([low_y, low_z]), np.array([high_y, high_z])
        case Disc(radius):
            return np.full(2, -radius), np.full(2, radius)
        case Turned():
            return section.corners.min(axis=0), section.corners.max(axis=0)
        case Plate(rectangle):
            return bounds(rectangle)


def _check_extent(axis: str, low: float, high: float) -> None:
    if not (low <= high and low < math.inf and high > -math.inf):
        raise ValueError(f"{axis} from {low} to {high}: there must be two numbers, the first not above the second")
