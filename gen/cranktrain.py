"""What follows the crank in the engine when it moves: camshaft, gears or chain, decks. Lengths mm.

A shift is that of the crank's axis, in Y and Z, where it counts along X.
"""

import math
from typing import NamedTuple

from gen.linewanted import Cam, Deck
from gen.quantities import unit_vector
from gen.rowline import Line


class CamChange(NamedTuple):
    """``apart``: by how much the crank comes farther from the camshaft, negative nearer. None for what is not told.

    ``backlash``: by how much that of the gears grows along the pitch circle. ``slack``: by how much the chain becomes
    too long, negative too short.
    """

    apart: float
    distance: float | None
    backlash: float | None
    new_backlash: float | None
    slack: float | None


class DeckChange(NamedTuple):
    """A deck's height above the crank at the two end bores: by how much it grows, and what it then is if it is told."""

    grows: tuple[float, float]
    heights: tuple[float, float] | None


def at_cam(cam: Cam, moved: Line) -> CamChange:
    """What ``moved``, the new line as counted from the old, does to the drive of the camshaft.

    Backlash along the pitch circle grows by 2 * apart * tan(pressure angle), the teeth being wedges (Elements of Metric
    Gear Technology, p. T47). A chain has two strands, and becomes too long by twice what the shafts come nearer; that
    its wheels differ is left out, for that part of its length hardly changes with their distance.
    """
    y, z = moved.y0 + moved.y1 * cam.x, moved.z0 + moved.z1 * cam.x
    to_y, to_z = unit_vector(cam.toward)
    apart, distance = -(y * to_y + z * to_z), None
    if cam.distance is not None:
        distance = math.hypot(cam.distance * to_y - y, cam.distance * to_z - z)
        apart = distance - cam.distance
    if cam.drive == "chain":
        return CamChange(apart, distance, None, None, -2 * apart)
    assert cam.pressure_angle is not None
    more = 2 * apart * math.tan(math.radians(cam.pressure_angle))
    return CamChange(apart, distance, more, None if cam.backlash is None else cam.backlash + more, None)


def at_deck(deck: Deck, shifts: tuple[tuple[float, float], tuple[float, float]]) -> DeckChange:
    """What the crank's shifts at the two end bores do to a deck."""
    to_y, to_z = unit_vector(deck.toward)
    first, second = (-(y * to_y + z * to_z) for y, z in shifts)
    heights = None if deck.height is None else (deck.height + first, deck.height + second)
    return DeckChange((first, second), heights)
