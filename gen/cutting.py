"""The force of a cut, and the torque and power it asks of cutter and spindle.

Figures are for a sharp edge; a worn one takes up to half as much again (from memory).
"""

import math
from collections.abc import Mapping
from typing import Final, Literal, NamedTuple

from gen.caution import STEP, Caution, at_most, downward
from gen.chip import Cut, chord_rad, mean_chip_mm
from post.steps import upward
from post.units import MM_PER, Units, plain

Place = Literal["cutter", "spindle"]

RADIAL_SHARE: Final = 0.30
FEED_SHARE: Final = 0.60
"""Radial and feed force per main force of a bar whose edge is square to it: 0.25 to 0.30 and 0.50 to 0.60.

From a tool dealer's article (weak); the upper figures are taken.
"""


class Material(NamedTuple):
    """Force to cut a chip 1 mm wide and 1 mm thick, N/mm^2, how it falls with thickness, and what is known of both."""

    kc11_n_per_mm2: float
    mc: float
    standing: str


MATERIALS: Final[Mapping[str, Material]] = {
    "grey iron": Material(1160, 0.26, "EN-GJL-250, from memory; within 6 % of a tool maker's table for 200 HB"),
    "mild steel": Material(1780, 0.167, "St42, course notes on metal cutting"),
    "medium-carbon steel": Material(2190, 0.139, "C45, course notes on metal cutting"),
}
"""Materials whose figures were seen or supported; aluminium has none such, so a job must bring its own."""


class Load(NamedTuple):
    """What a cut asks: torque in N m and power in kW, at the cutter and at the spindle."""

    cutter_nm: float
    cutter_kw: float
    spindle_nm: float
    spindle_kw: float


def specific_force_n_per_mm2(material: Material, thickness_mm: float) -> float:
    """Main force for each mm^2 of chip: kc = kc1.1 h^-mc (O. Kienzle, 1952; from memory).

    Fitted to chips of some 0.05 mm and more (from memory); a thinner one takes more as its edge begins to rub.
    """
    return material.kc11_n_per_mm2 * math.pow(thickness_mm, -material.mc)


def main_force_n(material: Material, cut: Cut) -> float:
    """Force along the cutting speed: kc of the mean chip times feed times depth (Kienzle, as above)."""
    return specific_force_n_per_mm2(material, mean_chip_mm(cut)) * cut.feed_mm * cut.depth_mm


def radial_share(cut: Cut) -> float:
    """Force that pushes the cutter off the wall, per main force: 0.30, and up to 0.67 the more the nose alone cuts.

    Feed and radial force together are taken as square to the chord of the edge in the cut, which is the way the chip
    flows (L. V. Colwell, Trans. ASME 76, 1954, 199), and never less radial than ``RADIAL_SHARE``: an estimate for
    cautions, chosen by us.
    """
    return max(RADIAL_SHARE, math.hypot(RADIAL_SHARE, FEED_SHARE) * math.cos(chord_rad(cut)))


def load(force_n: float, diameter_mm: float, cutter_rpm: float, ratio: float, efficiency: float) -> Load:
    """Torque and power of a main force at a bore's diameter: M = F d / 2, P = 2 pi n M.

    Plain mechanics; P = F v / 60000 in kW with v in m/min, as handbooks have it, is the same. ``ratio`` is the
    spindle's turns for one of the cutter; ``efficiency`` is that of the head, which the spindle must make good. Raises
    ValueError when the efficiency is not above 0 and at most 1.
    """
    if not 0 < efficiency <= 1:
        raise ValueError(f"efficiency is {efficiency:g}; it must be above 0 and at most 1, e.g. 0.8")
    cutter_nm = force_n * diameter_mm / 2000
    cutter_kw = 2 * math.pi * cutter_rpm / 60 * cutter_nm / 1000
    return Load(cutter_nm, cutter_kw, cutter_nm / (ratio * efficiency), cutter_kw / efficiency)


def torque_caution(
    at: Place, torque_nm: float, limit_nm: float, cut: Cut, material: Material, units: Units
) -> Caution | None:
    """Tells a torque above the head's or the spindle's limit, with the depth or feed that keeps to it."""
    if torque_nm <= limit_nm:
        return None
    return Caution(
        f"the cut asks {plain(upward(torque_nm, 0.01), 2)} N m at the {at}, above its {plain(limit_nm, 2)}",
        _less(cut, material, limit_nm / torque_nm, units),
    )


def power_caution(
    at: Place,
    power_kw: float,
    limit_kw: float,
    cutter_rpm: float,
    cut: Cut,
    material: Material,
    units: Units,
) -> Caution | None:
    """Tells a power above the head's or the spindle's limit, with the speed, depth or feed that keeps to it."""
    if power_kw <= limit_kw:
        return None
    rpm = downward(cutter_rpm * limit_kw / power_kw, 0.1)
    return Caution(
        f"the cut asks {plain(upward(power_kw, 0.001), 3)} kW at the {at}, above its {plain(limit_kw, 3)}",
        f"turn the cutter at most at {plain(rpm, 1)} rpm, or {_less(cut, material, limit_kw / power_kw, units)}",
    )


def _less(cut: Cut, material: Material, factor: float, units: Units) -> str:
    # The mean chip thins no faster than depth or feed is cut back, so the force falls at least as their 1 - mc.
    scale = math.pow(factor, 1 / (1 - material.mc))
    ways = {"cut at most {} deep on the radius": scale * cut.depth_mm, "feed at most {} a turn": scale * cut.feed_mm}
    told = [
        way.format(at_most(most, units))
        for way, most in ways.items()
        if downward(most / MM_PER[units], STEP[units]) > 0
    ]
    return ", or ".join(told) or "check the limit that is told: no cut is light enough for it"
