"""The circles a round nose cuts, taken to pieces by counting, for checks of the closed forms."""

import math
from typing import Final, NamedTuple

from gen.chip import Cut

SAMPLES: Final = 20_000


def ra_of_circle_mm(feed_mm: float, nose_mm: float) -> float:
    """Mean distance of the profile from its mean line, by the midpoint rule over half a feed."""
    step_mm = feed_mm / 2 / SAMPLES
    heights = [nose_mm - math.sqrt(nose_mm**2 - ((i + 0.5) * step_mm) ** 2) for i in range(SAMPLES)]
    mean = math.fsum(heights) / SAMPLES
    return math.fsum(abs(height - mean) for height in heights) / SAMPLES


class Counted(NamedTuple):
    """Greatest thickness of a chip, its area, and the length of the edge that cuts it: mm, mm^2, mm."""

    greatest_mm: float
    area_mm2: float
    edge_mm: float


def chip_by_counting(cut: Cut) -> Counted:
    """The chip a nose alone cuts, by small steps along the edge.

    The nose's centre is the origin. Along a radius the metal ends at this turn's circle; it begins at last turn's,
    whose centre is one feed behind, or at the surface, whichever is farther out.
    """
    greatest_mm = area_mm2 = edge_mm = 0.0
    step = math.pi / SAMPLES
    for i in range(SAMPLES):
        angle = (i + 0.5) * step - math.pi / 2
        ahead, down = math.sin(angle), math.cos(angle)
        last_mm = -cut.feed_mm * ahead + math.sqrt(max(0.0, cut.nose_mm**2 - (cut.feed_mm * down) ** 2))
        begins_mm = max(last_mm, (cut.nose_mm - cut.depth_mm) / down)
        if begins_mm < cut.nose_mm:
            greatest_mm = max(greatest_mm, cut.nose_mm - begins_mm)
            area_mm2 += (cut.nose_mm**2 - begins_mm**2) / 2 * step
            edge_mm += cut.nose_mm * step
    return Counted(greatest_mm, area_mm2, edge_mm)


def ridge_area_mm2(feed_mm: float, nose_mm: float) -> float:
    """Section of the ridge that one turn leaves, by the midpoint rule."""
    step_mm = feed_mm / SAMPLES
    places = ((i + 0.5) * step_mm - feed_mm / 2 for i in range(SAMPLES))
    return step_mm * math.fsum(nose_mm - math.sqrt(nose_mm**2 - place**2) for place in places)
