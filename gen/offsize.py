"""What makes a bore another size than the cutter was set to: a bar that bends, a block that is warm."""

import math
from collections.abc import Mapping
from typing import Final, NamedTuple

from gen.caution import COARSE_STEP, FINE_STEP, Caution, at_least, at_most, downward
from post.steps import upward
from post.units import Units, plain

REFERENCE_C: Final = 20.0
"""Temperature at which a size is a size: ISO 1:2016, clause 3. It is 68 F."""
COLDEST_C: Final = 0.0
WARMEST_C: Final = 50.0
"""Temperatures of a block believed, in C; chosen by us so that 68 F given for 20 C is seen to be a slip."""
MOST_PER_K: Final = 1e-4
"""Largest linear expansion believed; chosen by us: metals have 4e-6 to 4e-5, and 11.4 is a slip for 11.4e-6."""


class BarMaterial(NamedTuple):
    """Modulus of elasticity in N/mm^2, the overhang it bears in bar diameters, and where both are from."""

    modulus_n_per_mm2: float
    most_diameters: float
    standing: str


BAR_MATERIALS: Final[Mapping[str, BarMaterial]] = {
    "steel": BarMaterial(
        207_000, 4, "W. D. Callister, Materials Science and Engineering, Table B.2; limit usual, weak"
    ),
    "heavy metal": BarMaterial(270_000, 5, "tungsten alloy of class 4, a data sheet; limit usual as 5 to 6, weak"),
    "carbide": BarMaterial(550_000, 6, "from memory, low end; limit usual, weak"),
}
EXPANSION_PER_K: Final[Mapping[str, float]] = {
    "grey iron": 11.4e-6,
    "aluminium 356": 21.5e-6,
    "aluminium 6061": 23.6e-6,
    "mild steel": 11.7e-6,
    "alloy steel": 12.3e-6,
}
"""Linear expansion: W. D. Callister, Materials Science and Engineering, Table B.6 (steels 1020 and 4140).

Other tables differ by 5 %: a job may bring its own.
"""


def deflection_mm(force_n: float, overhang_mm: float, diameter_mm: float, modulus_n_per_mm2: float) -> float:
    """How far a round bar held at one end bends at the cutter: F L^3 / 3EI, I = pi d^4 / 64.

    Source: E. Isakov, Boring: Calculating deflection, Cutting Tool Engineering, July 2019. The bar alone: bearings of
    the head and the mill give too, in a short bar mostly more.
    """
    inertia_mm4 = math.pi * diameter_mm**4 / 64
    return force_n * overhang_mm**3 / (3 * modulus_n_per_mm2 * inertia_mm4)


def diameter_error_mm(radial_force_n: float, overhang_mm: float, diameter_mm: float, modulus_n_per_mm2: float) -> float:
    """How much smaller a bore is cut because the bar bends: twice the deflection under the radial force.

    The main force moves the cutter along the wall and changes the diameter only by the second order.
    """
    return 2 * deflection_mm(radial_force_n, overhang_mm, diameter_mm, modulus_n_per_mm2)


def spring_caution(
    error_mm: float, most_mm: float, overhang_mm: float, diameter_mm: float, units: Units
) -> Caution | None:
    """Tells an error in diameter by the bar's bending above what is allowed, with the bar that keeps to it."""
    if error_mm <= most_mm:
        return None
    shorter = at_most(overhang_mm * math.cbrt(most_mm / error_mm), units, COARSE_STEP)
    thicker = at_least(diameter_mm * math.sqrt(math.sqrt(error_mm / most_mm)), units, COARSE_STEP)
    return Caution(
        f"the bar bends so that bores come out {at_least(error_mm, units, FINE_STEP)} small, more than"
        f" {at_most(most_mm, units, FINE_STEP)}",
        f"shorten its overhang to {shorter}, or take a bar {thicker} thick, or set the cutter by what bores measure",
    )


def slender_caution(overhang_mm: float, diameter_mm: float, bar: BarMaterial, units: Units) -> Caution | None:
    """Tells an overhang beyond what bars of its material bear without chatter, with the bar that does."""
    most_mm = bar.most_diameters * diameter_mm
    if overhang_mm <= most_mm:
        return None
    shorter = at_most(most_mm, units, COARSE_STEP)
    thicker = at_least(overhang_mm / bar.most_diameters, units, COARSE_STEP)
    stiffer = [name for name, other in BAR_MATERIALS.items() if overhang_mm <= other.most_diameters * diameter_mm]
    return Caution(
        f"the bar reaches out {plain(upward(overhang_mm / diameter_mm, 0.01), 2)} times its diameter and may chatter"
        f" beyond {bar.most_diameters:g}",
        ", or ".join([f"shorten it to {shorter}", f"take a bar {thicker} thick", *(f"of {name}" for name in stiffer)]),
    )


def at_20_degrees(diameter_mm: float, temperature_c: float, expansion_per_k: float) -> float:
    """What a diameter gauged at a temperature is at 20 C, the reference of ISO 1: D / (1 + alpha (T - 20)).

    The gauge's own reading must be true at that temperature: one set in a ring of the block's metal, both as warm as
    the block, already tells the size at 20 C. Raises ValueError when the temperature is outside 0 to 50 C or the
    expansion outside 0 to 1e-4 per K.
    """
    if not COLDEST_C <= temperature_c <= WARMEST_C:
        raise ValueError(
            f"a temperature of {temperature_c:g}: a block is gauged at {COLDEST_C:g} to {WARMEST_C:g} C; 68 F is 20 C"
        )
    if not 0 <= expansion_per_k <= MOST_PER_K:
        raise ValueError(
            f"an expansion of {expansion_per_k:g}: it must lie between 0 and {MOST_PER_K:g} per K, e.g. 11.4e-6 for"
            " grey iron"
        )
    return diameter_mm / (1 + expansion_per_k * (temperature_c - REFERENCE_C))


def warm_caution(
    diameter_mm: float, temperature_c: float, expansion_per_k: float, most_mm: float, units: Units
) -> Caution | None:
    """Tells a block so warm or cold that gauging it errs by more than is allowed, with how near to 20 C it must be.

    Raises ValueError as ``at_20_degrees`` does.
    """
    growth_mm = diameter_mm - at_20_degrees(diameter_mm, temperature_c, expansion_per_k)
    if abs(growth_mm) <= most_mm:
        return None
    off, remedy = ("large", "take {} off") if growth_mm > 0 else ("small", "add {} to")
    near_k = downward(most_mm / (diameter_mm * expansion_per_k), 0.1)
    return Caution(
        f"at {temperature_c:g} C the bore gauges {at_least(abs(growth_mm), units, FINE_STEP)} {off}, more than"
        f" {at_most(most_mm, units, FINE_STEP)}",
        f"let the block come within {plain(near_k, 1)} C ({plain(downward(1.8 * near_k, 0.1), 1)} F) of 20 C (68 F), or"
        f" {remedy.format(at_least(abs(growth_mm), units, FINE_STEP))} what it gauges",
    )
