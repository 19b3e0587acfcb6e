"""The chip before it is cut: how thick it is, and whether the edge cuts it or rubs over it.

Feed is along the axis, a turn; depth is on the radius. The setting angle is that between cutting edge and feed: 90
degrees is square to the bar. Where the cut is less deep than the nose's radius, the nose alone cuts, and the chip runs
from nothing at the bore's wall to its thickest at the surface that is being removed.
"""

import math
from dataclasses import dataclass, replace
from typing import Final

from gen.caution import FINE_STEP, Caution, at_least, at_most
from gen.finish import MOST_FEED_PER_NOSE
from post.units import Units

LEAST_CHIP_PER_EDGE: Final = 0.43
"""Thinnest chip that is cut and not rubbed, in radii of the edge.

From 0.14 to 0.43 by material (X. Cheng et al., Int. J. Adv. Manuf. Technol. 97, 2018, 3119, abstract); the most
cautious is taken.
"""
SHARPEST_MM: Final = 0.005
"""Smallest edge radius advised: sharper carbide does not last (common practice, no source)."""
SHORTFALL: Final = 1e-9
"""Part of the least chip that may lack: a depth or feed worked out to be just enough must count as enough."""


@dataclass(frozen=True, slots=True)
class Cut:
    """Feed a turn, depth on the radius and nose radius in mm, and the setting angle in degrees.

    Raises ValueError when a length is not above 0, or the angle not between 0 and 180.
    """

    feed_mm: float
    depth_mm: float
    nose_mm: float
    setting_deg: float

    def __post_init__(self) -> None:
        for name in ("feed_mm", "depth_mm", "nose_mm"):
            if not 0 < getattr(self, name) < math.inf:
                raise ValueError(f"{name} is {getattr(self, name):g}; a cut needs more than 0")
        if not 0 < self.setting_deg < 180:
            raise ValueError(f"setting_deg is {self.setting_deg:g}; it must lie between 0 and 180, e.g. 90")


def chip_mm(feed_mm: float, setting_deg: float) -> float:
    """Thickness of the uncut chip along a straight edge: h = f sin(kappa) (ISO 3002-3; from memory)."""
    return feed_mm * math.sin(math.radians(setting_deg))


def greatest_chip_mm(cut: Cut) -> float:
    """Thickness of the uncut chip where it is thickest.

    On the nose, r - sqrt((r - a)^2 + (s - f)^2) with s = sqrt(a (2r - a)), and the whole depth a where the feed exceeds
    s; at most as along the straight edge. It is the distance of this turn's circle from the point at which last turn's
    left the surface: plain geometry, no source. The f s / r in common use is its limit for small feeds and tells more
    than is there (0.031 for 0.019 mm at f 0.1, a 0.02, r 0.4), which would hide a cut that rubs.
    """
    straight_mm = chip_mm(cut.feed_mm, cut.setting_deg)
    if cut.depth_mm >= cut.nose_mm:
        return straight_mm
    ahead_mm = _reach_mm(cut.depth_mm, cut.nose_mm) - cut.feed_mm
    if ahead_mm <= 0:
        return min(straight_mm, cut.depth_mm)
    return min(straight_mm, cut.nose_mm - math.hypot(ahead_mm, cut.nose_mm - cut.depth_mm))


def mean_chip_mm(cut: Cut) -> float:
    """Thickness of the uncut chip, averaged along the edge: area f a over the length of edge in the cut.

    The chip equivalent of R. Woxen (from memory), upside down. Both ends of the edge in the cut are counted: to the
    surface, and back to the ridge of the turn before. Where the feed exceeds the groove the nose can cut, the groove
    counts. The ridge left standing is counted as cut: a third of the area in the lightest cuts, little in others.
    """
    groove_mm, lead, straight_mm = _groove_mm(cut), math.radians(cut.setting_deg), _straight_depth_mm(cut)
    if straight_mm > 0:
        edge_mm = cut.nose_mm * lead + straight_mm / math.sin(lead)
    else:
        edge_mm = cut.nose_mm * math.acos(1 - cut.depth_mm / cut.nose_mm)
    edge_mm += cut.nose_mm * math.asin(min(1.0, groove_mm / (2 * cut.nose_mm)))
    return groove_mm * cut.depth_mm / edge_mm


def chord_rad(cut: Cut) -> float:
    """Angle between the axis and the chord of the edge in the cut, from the last turn's ridge up to the surface.

    Small where the nose alone takes a light cut, near the setting angle where the straight edge takes a deep one.
    """
    half_mm, lead, straight_mm = _groove_mm(cut) / 2, math.radians(cut.setting_deg), _straight_depth_mm(cut)
    ridge_mm = cut.nose_mm - math.sqrt(max(0.0, cut.nose_mm**2 - half_mm**2))
    if straight_mm > 0:
        run_mm = cut.nose_mm * math.sin(lead) + straight_mm / math.tan(lead)
    else:
        run_mm = _reach_mm(cut.depth_mm, cut.nose_mm)
    return math.atan2(cut.depth_mm - ridge_mm, run_mm + half_mm)


def rubs(thickness_mm: float, edge_radius_mm: float) -> bool:
    """Whether a chip is too thin for an edge of that radius to cut it: it is pushed under, and size and finish go."""
    return thickness_mm < LEAST_CHIP_PER_EDGE * edge_radius_mm * (1 - SHORTFALL)


def depth_that_cuts_mm(cut: Cut, edge_radius_mm: float) -> float | None:
    """The least depth at which this feed's chip, where thickest, is thick enough; None when no depth is enough.

    The inverse of ``greatest_chip_mm``. Raises ValueError when the edge's radius is not smaller than the nose's.
    """
    least_mm = _least_chip_mm(cut, edge_radius_mm)
    if least_mm > chip_mm(cut.feed_mm, cut.setting_deg):
        return None
    if cut.feed_mm >= _reach_mm(least_mm, cut.nose_mm):
        return least_mm
    reach_mm = (cut.feed_mm**2 + least_mm * (2 * cut.nose_mm - least_mm)) / (2 * cut.feed_mm)
    return cut.nose_mm - math.sqrt(max(0.0, cut.nose_mm**2 - reach_mm**2))


def feed_that_cuts_mm(cut: Cut, edge_radius_mm: float) -> float | None:
    """The least feed a turn at which the chip, where thickest, is thick enough; None when no feed is enough.

    The inverse of ``greatest_chip_mm``. Raises ValueError when the edge's radius is not smaller than the nose's.
    """
    least_mm = _least_chip_mm(cut, edge_radius_mm)
    if cut.depth_mm < least_mm:
        return None
    straight_mm = least_mm / math.sin(math.radians(cut.setting_deg))
    if cut.depth_mm >= cut.nose_mm:
        return straight_mm
    reach_mm = _reach_mm(cut.depth_mm, cut.nose_mm)
    spare = reach_mm**2 - least_mm * (2 * cut.nose_mm - least_mm)
    return max(straight_mm, reach_mm - math.sqrt(max(0.0, spare)))


def rubbing_caution(cut: Cut, edge_radius_mm: float, units: Units) -> Caution | None:
    """Tells a cut too light for its edge, with each change that would do alone, or depth and feed that do together.

    Raises ValueError when the edge's radius is not smaller than the nose's.
    """
    least_mm, thickest_mm = _least_chip_mm(cut, edge_radius_mm), greatest_chip_mm(cut)
    if not rubs(thickest_mm, edge_radius_mm):
        return None
    return Caution(
        f"the chip is at most {at_most(thickest_mm, units, FINE_STEP)} thick and an edge of"
        f" {at_most(edge_radius_mm, units, FINE_STEP)} radius needs {at_least(least_mm, units, FINE_STEP)}: it may rub"
        " instead of cut",
        ", or ".join(_light_cut_remedies(cut, edge_radius_mm, units)),
    )


def _reach_mm(depth_mm: float, nose_mm: float) -> float:
    """How far ahead of its lowest point the nose meets a surface at a depth up to its radius."""
    return math.sqrt(depth_mm * (2 * nose_mm - depth_mm))


def _straight_depth_mm(cut: Cut) -> float:
    """How much of the depth the straight edge takes; below 0 where the nose alone cuts."""
    return cut.depth_mm - cut.nose_mm * (1 - math.cos(math.radians(cut.setting_deg)))


def _groove_mm(cut: Cut) -> float:
    """The feed, or the width of the groove where that is less: then every turn cuts a groove of its own."""
    if cut.depth_mm >= cut.nose_mm:
        return cut.feed_mm
    return min(cut.feed_mm, 2 * _reach_mm(cut.depth_mm, cut.nose_mm))


def _least_chip_mm(cut: Cut, edge_radius_mm: float) -> float:
    if not 0 < edge_radius_mm < cut.nose_mm:
        raise ValueError(
            f"an edge radius of {edge_radius_mm / cut.nose_mm:.3g} times the nose's radius: the edge's own rounding"
            " must be above 0 and smaller than the nose; it is 0.01 to 0.08 mm on most inserts"
        )
    return LEAST_CHIP_PER_EDGE * edge_radius_mm


def _light_cut_remedies(cut: Cut, edge_radius_mm: float, units: Units) -> list[str]:
    depth_mm, feed_mm = depth_that_cuts_mm(cut, edge_radius_mm), feed_that_cuts_mm(cut, edge_radius_mm)
    remedies = []
    if depth_mm is not None:
        remedies.append(f"cut at least {at_least(depth_mm, units)} deep on the radius")
    if feed_mm is not None and feed_mm <= MOST_FEED_PER_NOSE * cut.nose_mm:
        remedies.append(f"feed at least {at_least(feed_mm, units)} a turn")
    if not remedies:
        remedies.append(_both(cut, edge_radius_mm, units))
    sharp_mm = greatest_chip_mm(cut) / LEAST_CHIP_PER_EDGE
    if sharp_mm >= SHARPEST_MM:
        remedies.append(f"take an edge of at most {at_most(sharp_mm, units, FINE_STEP)} radius")
    return remedies


def _both(cut: Cut, edge_radius_mm: float, units: Units) -> str:
    # Twice the feed that would do at full depth: at less than that the depth asked comes near the nose's radius.
    feed_mm = 2 * _least_chip_mm(cut, edge_radius_mm) / math.sin(math.radians(cut.setting_deg))
    depth_mm = depth_that_cuts_mm(replace(cut, feed_mm=feed_mm), edge_radius_mm)
    assert depth_mm is not None
    feed, depth = at_least(feed_mm, units), at_least(depth_mm, units)
    return f"feed at least {feed} a turn and cut at least {depth} deep on the radius"
