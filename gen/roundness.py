"""A hole at one section, from what was measured there: its circle, and how far it is from being one.

Three ways of measuring: points probed on the wall, with their places (``probed``); an indicator carried round the wall
by the bar (``swept``), which tells where the hole lies about the bar's axis but not how large it is; diameters gauged
across it (``gauged``), which tell how large but not where.

clock angle
    degrees from straight up (+Z, 0) toward +Y (90). The wall at clock angle a is at the centre + r * (sin a, cos a), in
    Y and Z.
least squares reference circle
    the circle from which the sum of the squared distances of the points is least (ISO 12181-1:2011, LSCI).
local roundness deviation
    how far a point is outside its reference circle; negative inside (ISO 12181-1:2011).
peak-to-valley roundness deviation
    largest local roundness deviation less the smallest (ISO 12181-1:2011, RONt).
oval
    what goes round the hole in two undulations per revolution: a deviation a * cos 2(angle - direction) makes the
    diameters differ by 4 a. The standard counts undulations; that difference is our measure of them.

Two and more undulations are told by least squares together with size and centre, so that they are not taken for each
other where the readings are unevenly spread. Angles so spread that an error in a reading would come back more than
five times what it comes back from readings evenly spread tell nothing (``TELLS``). Lengths are mm; y and z arrays (n,).
"""

import math
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from gen.sections import Floats

TELLS: Final = 0.2
"""Least singular value of a design, 1 where the readings are evenly spread, that tells what it is asked; our choice."""
SAME_DEG: Final = 1e-6
"""Clock angles no farther apart are one; chosen by us."""
FLAT: Final = 1e-7
"""Points whose spread across is no more than this part of their spread along lie on a straight line; our choice."""
LARGEST: Final = 1e6
"""Radius, over the spread of the points, above which a straight line is as near as the circle; chosen by us."""
MOST_STEPS: Final = 500
"""Steps of the search for a circle; near a round hole it takes five."""
ROUNDING: Final = 1e-15
"""Part of the largest distance that floats do not tell; a step that changes the distances by less is the last."""
REFINEMENTS: Final = 8
"""Times a sweep's offset is found again; each brings it nearer by the offset over the radius."""


class Oval(NamedTuple):
    """Largest less smallest diameter, mm; the clock angle of the largest, 0 to under 180; and what is left over.

    ``left_over``: highest less lowest, mm, of what is neither size nor place nor oval: three lobes and more, and the
    scatter of the readings, of a gauge as diameters, else as radii. It is 0 of itself where there are just as many
    readings as that takes.
    """

    size: float
    clock_deg: float
    left_over: float


class Probed(NamedTuple):
    """Least squares reference circle of probed points, and their form.

    ``deviations``: local roundness deviations (n,), in the order of the points. ``roundness``: RONt. ``oval``: None
    where the points do not go far enough round, or are too few, to tell.
    """

    y: float
    z: float
    radius: float
    deviations: Floats
    roundness: float
    oval: Oval | None


class Swept(NamedTuple):
    """Where a hole's centre lies from the axis of the bar that swept it, and whether the readings agree.

    ``oval``: None where the angles do not tell, as four at right angles do not. ``cross``: by how much two diameters at
    right angles differ as read, top + bottom less left + right, positive where the one nearer straight up is larger; of
    several such pairs the one that differs most; None without four angles at right angles. In a round hole it is at
    most the offset squared over the radius. ``closing``: how much farther out the wall read on coming back to the first
    angle; None without that reading. ``deviations``: how far out of round the wall is at each reading but the closing
    one, with offset and size taken away.
    """

    y: float
    z: float
    oval: Oval | None
    cross: float | None
    closing: float | None
    deviations: Floats


class Gauged(NamedTuple):
    """Mean diameter, largest less smallest diameter as read, and the oval; None where the angles do not tell it."""

    diameter: float
    spread: float
    oval: Oval | None


def probed(points: ArrayLike) -> Probed:
    """Circle and form of points (n, 2) of a wall, Y and Z, n at least 3.

    Raises ValueError when there are fewer than three places, or when they lie on a straight line, are nearer to one
    than to any circle, or are so far from round that no circle is found.
    """
    places = np.asarray(points, dtype=np.float64)
    if places.ndim != 2 or places.shape[1] != 2:
        raise ValueError(f"points of shape {places.shape}: they must be (n, 2), Y and Z of each")
    if not np.isfinite(places).all():
        raise ValueError("points that are not finite: every point needs Y and Z")
    count = len(np.unique(places, axis=0))
    if count < 3:
        raise ValueError(f"a circle takes points at three places or more, not {count}; spread them round the hole")
    middle = places.mean(axis=0)
    from_middle = places - middle
    _, (along, across), _ = np.linalg.svd(from_middle, full_matrices=False)
    if across <= FLAT * along:
        raise ValueError("points on one straight line: no circle goes through them")
    scale = along / math.sqrt(len(places))
    centre, radius = _nearest_circle(from_middle / scale)
    if radius > LARGEST:
        raise ValueError("points that a straight line is nearer to than any circle: spread them round the hole")
    out = from_middle - centre * scale
    deviations = np.hypot(*out.T) - radius * scale
    oval = _oval(np.arctan2(*out.T), deviations)
    y, z = middle + centre * scale
    return Probed(float(y), float(z), float(radius * scale), deviations, float(np.ptp(deviations)), oval)


def swept(
    clock_deg: ArrayLike, readings: ArrayLike, *, grows: Literal["out", "in"], radius: float | None = None
) -> Swept:
    """Centre of a hole from the bar's axis, from indicator readings at clock angles, both (n,).

    The indicator turns with the bar. Its reading ``grows`` as the wall is farther "out" from the axis, or farther "in"
    as one does whose plunger the wall presses in. The last reading may be at the first angle again: it closes the round
    and is not used otherwise.

    A wall of radius r reads e cos a + sqrt(r^2 - e^2 sin^2 a) at the angle a from where an offset e points. With
    ``radius`` given that is what is fitted. Without, its first harmonic e cos a is, which for evenly spread angles is
    as good for the offset (NIST/SEMATECH e-Handbook 2.3.4.4) but takes an offset for an oval of e^2 / r.

    Raises ValueError when the reading grows neither way, when there are fewer than three angles, one is repeated, or
    they do not tell an offset, and when the radius is not larger than the offset.
    """
    if grows not in ("out", "in"):
        raise ValueError(f'readings that grow "{grows}": they grow "out" or "in"')
    clock, wall = _readings(clock_deg, readings)
    if grows == "in":
        wall = -wall
    closing = None
    if len(clock) > 1 and _apart(clock[-1] - clock[0], 360) <= SAME_DEG:
        closing = float(wall[-1] - wall[0])
        clock, wall = clock[:-1], wall[:-1]
    if len(clock) < 3:
        raise ValueError(
            f"an offset takes readings at three clock angles or more, not {len(clock)}; e.g. 0, 90, 180, 270"
        )
    _refuse_repeated(clock, 360)
    angles = np.radians(clock)
    if not tells(harmonic_design(angles, 1)):
        raise ValueError(f"clock angles {_listed(clock)}: too close together to tell an offset; spread them all round")
    design = harmonic_design(angles, 1, 2)
    if not tells(design):
        design = harmonic_design(angles, 1)
    terms, left_over = _fitted(design, wall)
    if radius is not None:
        for _ in range(REFINEMENTS):
            terms, left_over = _fitted(design, wall - _chord(angles, terms[1], terms[2], radius))
    deviations = left_over + design[:, 3:] @ terms[3:]
    oval = _oval_of(terms[3:], left_over)
    return Swept(float(terms[2]), float(terms[1]), oval, _cross(clock, wall), closing, deviations)


def gauged(clock_deg: ArrayLike, diameters: ArrayLike) -> Gauged:
    """Size and oval of a hole, from diameters gauged at clock angles, both (n,).

    Raises ValueError when there is none, one is not longer than 0, or an angle is repeated; 10 and 190 are one
    diameter.
    """
    clock, across = _readings(clock_deg, diameters)
    if not len(clock):
        raise ValueError("no diameters: a size takes one or more")
    if across.min() <= 0:
        raise ValueError(f"diameter {across.min():g}: it must be more than 0")
    _refuse_repeated(clock, 180)
    design = harmonic_design(np.radians(clock), 2)
    mean, oval = across.mean(), None
    if tells(design):
        terms, left_over = _fitted(design, across)
        mean, oval = terms[0], _oval_of(terms[1:] / 2, left_over)
    return Gauged(float(mean), float(np.ptp(across)), oval)


def _nearest_circle(points: Floats) -> tuple[Floats, float]:
    """Centre (2,) and radius of the least squares circle of points (n, 2) about (0, 0), their spread about 1.

    Gauss-Newton steps from the circle for which the sum of (distance^2 - radius^2)^2 is least. Whole steps do: of 6,000
    sets of four to eleven points strewn about, halved ones found no circle that these did not.
    """
    ones = np.ones(len(points))
    square = (points * points).sum(axis=1)
    algebraic = np.linalg.lstsq(np.column_stack([2 * points, ones]), square)[0]
    centre = algebraic[:2]
    for _ in range(MOST_STEPS):
        out = points - centre
        distance = np.hypot(*out.T)
        if not distance.all():
            break
        off = distance - distance.mean()
        slopes = out / distance[:, None]
        slopes -= slopes.mean(axis=0)
        step = np.linalg.lstsq(slopes, off)[0]
        if float(np.abs(slopes @ step).max()) <= ROUNDING * float(distance.max()):
            return centre, float(distance.mean())
        centre = centre + step
    raise ValueError("points too far from round: no circle was found nearest to them")


def harmonic_design(angles: Floats, *harmonics: int) -> Floats:
    """Columns 1 and, for each harmonic of angles in radians, its cosine and sine; (n, 1 + 2 * len(harmonics))."""
    columns = [np.ones_like(angles)]
    for harmonic in harmonics:
        columns += [np.cos(harmonic * angles), np.sin(harmonic * angles)]
    return np.column_stack(columns)


def tells(design: Floats, least: float = TELLS) -> bool:
    """Whether readings at the angles of a design tell its terms apart; even ones up to a ``least`` of 1."""
    count, terms = design.shape
    if count < terms:
        return False
    even = np.full(terms, math.sqrt(2 / count))
    even[0] = 1 / math.sqrt(count)
    return bool(np.linalg.svd(design * even, compute_uv=False)[-1] >= least)


def _fitted(design: Floats, readings: Floats) -> tuple[Floats, Floats]:
    """Least squares terms of the readings, and what they leave over (n,)."""
    terms = np.asarray(np.linalg.lstsq(design, readings)[0], dtype=np.float64)
    return terms, readings - design @ terms


def _oval(angles: Floats, deviations: Floats) -> Oval | None:
    """The oval of local deviations at angles, both (n,)."""
    design = harmonic_design(angles, 1, 2)
    if not tells(design):
        return None
    terms, left_over = _fitted(design, deviations)
    return _oval_of(terms[3:], left_over)


def _oval_of(second: Floats, left_over: Floats) -> Oval | None:
    """The oval of a second harmonic, cosine and sine of the radius; None when it was not asked."""
    if not second.size:
        return None
    cosine, sine = second
    direction = math.degrees(math.atan2(sine, cosine)) / 2
    return Oval(4 * math.hypot(cosine, sine), direction % 180 % 180, float(np.ptp(left_over)))


def _chord(angles: Floats, offset_z: float, offset_y: float, radius: float) -> Floats:
    """By how much less than the radius the wall of an offset hole reads at angles, once e cos a is taken away; (n,)."""
    if not math.hypot(offset_y, offset_z) < radius < math.inf:
        raise ValueError(f"radius {radius:g}: it must be more than the offset of {math.hypot(offset_y, offset_z):g}")
    aside = offset_y * np.cos(angles) - offset_z * np.sin(angles)
    # The root less the radius, without taking two near numbers from each other.
    chord: Floats = -aside * aside / (np.sqrt(radius * radius - aside * aside) + radius)
    return chord


def _cross(clock: Floats, wall: Floats) -> float | None:
    """Difference of two diameters at right angles as read; of several, the one that differs most."""
    differences = []
    for first in clock[clock % 360 < 90]:
        apart = _apart(clock - (first + np.array([[0], [90], [180], [270]])), 360)
        nearest = apart.argmin(axis=1)
        if (apart[range(4), nearest] <= SAME_DEG).all():
            top, right, bottom, left = wall[nearest]
            upright = 1 if first % 360 <= 45 else -1
            differences.append(upright * float(top + bottom - right - left))
    return max(differences, key=abs, default=None)


def _readings(clock_deg: ArrayLike, readings: ArrayLike) -> tuple[Floats, Floats]:
    clock, values = np.asarray(clock_deg, dtype=np.float64), np.asarray(readings, dtype=np.float64)
    if clock.ndim != 1 or clock.shape != values.shape:
        raise ValueError(f"clock angles of shape {clock.shape}, readings of shape {values.shape}: both must be (n,)")
    if not (np.isfinite(clock).all() and np.isfinite(values).all()):
        raise ValueError("clock angles or readings that are not finite: every reading needs both")
    return clock, values


def _refuse_repeated(clock: Floats, turn: int) -> None:
    order = np.argsort(clock % turn)
    following = np.roll(order, -1)
    same = np.flatnonzero(_apart(clock[following] - clock[order], turn) <= SAME_DEG)
    if len(clock) > 1 and same.size:
        one, other = sorted([order[same[0]], following[same[0]]])
        raise ValueError(f"clock angles {clock[one]:g} and {clock[other]:g} are the same: read there once")


def _apart(difference_deg: Floats, turn: int) -> Floats:
    """How far apart angles are that a turn brings back, degrees, from their difference."""
    return abs((difference_deg + turn / 2) % turn - turn / 2)


def _listed(clock: Floats) -> str:
    return ", ".join(f"{angle:g}" for angle in clock)
