"""Roughness that the feed and a cutter's round nose leave, and the feed for a wanted roughness.

The profile is that of circles of the nose's radius r, one feed f apart. ``rt_mm`` is exact for it; Rt = f^2 / 8r and
Ra = f^2 / (18 sqrt(3) r) take a parabola for the circle. Theirs is the geometry's share alone: built-up edge, chatter,
wear and a bar out of true only add to it. Where the nose runs into a straight end edge before the ridge, the ridge is
lower than told, never higher.
"""

import math
from typing import Final

MOST_FEED_PER_NOSE: Final = 1.0
"""Largest feed, in radii of the nose, for which a roughness is told; chosen by us.

A circle makes no ridges beyond 2; finishing keeps to a half or less (common practice, no source).
"""
RA_DIVISOR: Final = 18 * math.sqrt(3)
"""What f^2 / r is divided by for Ra: 31.18.

The 32 in common use (M. P. Groover, Fundamentals of Modern Manufacturing; from memory) tells 2.6 % less.
"""


def rt_mm(feed_mm: float, nose_mm: float) -> float:
    """Height of the ridges left by a feed per turn and a nose radius: r - sqrt(r^2 - f^2/4), exact for the circle.

    Plain geometry, no source. Raises ValueError when the feed is more than the nose's radius, or not above 0.
    """
    _check_feed(feed_mm, nose_mm)
    half = feed_mm / 2
    return half * half / (nose_mm + math.sqrt(nose_mm * nose_mm - half * half))


def rt_mm_approx(feed_mm: float, nose_mm: float) -> float:
    """The same by f^2 / 8r, the parabola's (common practice; only calculators' and tool makers' pages were seen).

    Low by 0.4 % where the feed is a quarter of the nose's radius, 1.6 % at a half, 6.7 % at all of it. Raises
    ValueError as ``rt_mm`` does.
    """
    _check_feed(feed_mm, nose_mm)
    return feed_mm * feed_mm / (8 * nose_mm)


def ra_mm(feed_mm: float, nose_mm: float) -> float:
    """Mean roughness Ra left by a feed per turn and a nose radius: f^2 / (18 sqrt(3) r), exact for the parabola.

    The circle's own Ra is more, by 0.3 % where the feed is a quarter of the nose's radius, 1.3 % at a half and 5.6 %
    at all of it. Source: J. Qu and A. J. Shih, Machining Science and Technology 7(2), 2003, 281-294, who put the
    parabola's error below 1.6 % up to a half. Raises ValueError as ``rt_mm`` does.
    """
    _check_feed(feed_mm, nose_mm)
    return feed_mm * feed_mm / (RA_DIVISOR * nose_mm)


def feed_for_rt_mm(wanted_rt_mm: float, nose_mm: float) -> float:
    """The feed per turn that leaves ridges of a height: 2 sqrt(Rt (2r - Rt)), the inverse of ``rt_mm``.

    Raises ValueError when that is more than the nose's radius, or the height not above 0.
    """
    _check_wanted(wanted_rt_mm, rt_mm(MOST_FEED_PER_NOSE * nose_mm, nose_mm))
    return min(2 * math.sqrt(wanted_rt_mm * (2 * nose_mm - wanted_rt_mm)), MOST_FEED_PER_NOSE * nose_mm)


def feed_for_ra_mm(wanted_ra_mm: float, nose_mm: float) -> float:
    """The feed per turn that leaves a mean roughness: sqrt(18 sqrt(3) r Ra), the inverse of ``ra_mm``.

    Raises ValueError when that is more than the nose's radius, or the roughness not above 0.
    """
    _check_wanted(wanted_ra_mm, ra_mm(MOST_FEED_PER_NOSE * nose_mm, nose_mm))
    return min(math.sqrt(RA_DIVISOR * nose_mm * wanted_ra_mm), MOST_FEED_PER_NOSE * nose_mm)


def _check_feed(feed_mm: float, nose_mm: float) -> None:
    if not 0 < feed_mm <= MOST_FEED_PER_NOSE * nose_mm:
        raise ValueError(
            f"a feed of {feed_mm / nose_mm:.3g} times the nose's radius: roughness is told for feeds above 0 and up to"
            f" {MOST_FEED_PER_NOSE:g} times it; feed less or take a larger nose"
        )


def _check_wanted(wanted_mm: float, roughest_mm: float) -> None:
    # The roughest is itself computed: what lies above it by a float's last bits only is it.
    if not 0 < wanted_mm <= roughest_mm * (1 + 1e-12):
        raise ValueError(
            f"a roughness {wanted_mm / roughest_mm:.3g} times what the nose leaves at a feed of"
            f" {MOST_FEED_PER_NOSE:g} times its radius, the most that is sensible: ask for more than 0 and at most that"
        )
