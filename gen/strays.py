"""A reading of a sweep, or a probed point, that the rest of its bore contradicts, so that no slip is averaged in.

left out
    what the others lead one to expect where a reading was taken, from their circle, or circle and oval. A reading is
    wild when it is farther from that than ``WILD`` times what the readings repeat to and what the others scatter by.
few
    four or five, or six unevenly spread, which an oval explains: the diameters gauged must agree with it, and if none
    are told that tell it, it must be no larger than a bore is oval (``MOST_OVAL``).

A reading that stands though (``keep``) is neither asked about nor held against the others. Three readings are always a
circle. Lengths are mm.
"""

from collections.abc import Sequence
from typing import Final, Literal, NamedTuple

import numpy as np

from gen.roundness import Probed, Swept, harmonic_design, tells
from gen.sections import Floats
from post.units import MM_PER, UNIT_WORD, Units, plain

WILD: Final = 6.0
"""Deviations from what is expected at which a reading is asked about; chosen by us, as in ``gen.measured``."""
LEAST_SPREAD_MM: Final = 0.002
"""What readings are held to repeat to at best; chosen by us, as in ``gen.measured``."""
MOST_OVAL: Final = 0.0015
"""Part of its diameter by which a bore is oval at most, before that is asked about; chosen by us: 0.13 mm of 84."""
ENOUGH: Final = 7
"""Readings from which on the others tell their oval and still scatter about it."""
ENOUGH_EVEN: Final = 6
"""The same where they are evenly spread: an oval then is seen in the others, and not taken for one reading's slip."""
EVEN: Final = 0.8
"""Least singular value of a design, 1 where readings are evenly spread, that counts as even; chosen by us."""
TOLD: Final = 1e-6
"""Share of a reading that the others must not settle for it to be judged, and of a design's rank; chosen by us."""


class Stray(NamedTuple):
    """Which reading; by how much it is farther out than expected, mm; and what contradicts it.

    ``oval``: by how much the diameters would differ if it were right, mm; told where ``against`` is "round".
    """

    number: int
    farther: float
    against: Literal["others", "gauged", "round"]
    oval: float = 0.0


class Fit(NamedTuple):
    """What a design leaves over of values (n,), the share of each that the others do not settle, and what is to spare.

    ``spare`` is how many more values there are than the design takes.
    """

    left_over: Floats
    share: Floats
    spare: int

    @property
    def farther(self) -> Floats:
        """By how much each is more than the others, without it, lead one to expect; 0 where they do not tell."""
        return np.where(self.share > TOLD, self.left_over / np.maximum(self.share, TOLD), 0.0)

    @property
    def score(self) -> Floats:
        """How far each is so off, over what scatter of all would make of it: of readings of deviation 1, mostly 1."""
        return np.abs(self.farther) * np.sqrt(np.maximum(self.share, 0.0))


def in_sweep(
    clock_deg: Sequence[float],
    readings: Sequence[float],
    found: Swept,
    gauges: Sequence[tuple[float, float]],
    keep: Sequence[bool],
    *,
    diameter: float,
    repeats: float,
) -> Stray | None:
    """The reading of a sweep, without the closing one, that is asked about, if any.

    ``found`` is what they tell, with the radius given; ``gauges`` clock angle and size of every diameter of the bore.
    Of few it cannot be said which is off: it is then the one farthest from the middle one.
    """
    angles, out = np.radians(clock_deg), found.deviations
    if _are_enough(angles) or any(keep):
        return _wild(angles, out, keep, repeats)
    from_middle = np.abs(np.array(readings) - np.median(readings))
    stray, confirmed = _against_gauges(angles, out, gauges, from_middle, repeats)
    return stray if confirmed else _too_oval(angles, out, from_middle, diameter, repeats)


def in_points(
    points: Sequence[Sequence[float]], found: Probed, keep: Sequence[bool], *, repeats: float
) -> Stray | None:
    """The probed point, Y and Z, that is asked about, if any."""
    angles = np.arctan2(*(np.array(points).T[:2] - [[found.y], [found.z]]))
    if _are_enough(angles) or any(keep):
        return _wild(angles, found.deviations, keep, repeats)
    return _too_oval(angles, found.deviations, np.abs(found.deviations), 2 * found.radius, repeats)


def question(stray: Stray, expected: float | None, units: Units) -> str:
    """What is asked about a reading, to be read behind its value; ``expected``, in mm, is None of a point."""
    per, word, digits = MM_PER[units], UNIT_WORD[units], 4 if units == "mm" else 5

    def show(length_mm: float) -> str:
        return f"{plain(length_mm / per, digits)} {word}"

    side = f"{show(abs(stray.farther))} farther {'out' if stray.farther > 0 else 'in'}"
    again = "measure there again, and if it is so write keep in the column note"
    if expected is None:
        asked = f"is {side} than the others of the bore lead one to expect"
    elif stray.against == "others":
        asked = f"is {show(abs(stray.farther))} off what the others of the sweep lead one to expect, {show(expected)}"
    else:
        asked = f"or another of the sweep is {show(abs(stray.farther))} off: here the others lead one to expect"
        asked += f" {show(expected)}"
    if stray.against == "gauged":
        asked += ", together with the diameters gauged, of which one may be off instead"
    if stray.against == "round":
        asked += f" if the bore is round; as read it is oval by {show(stray.oval)}"
    return f"{asked}; {again}"


def fitted(matrix: Floats, values: Floats) -> Fit:
    """Values against a design of any rank."""
    basis, sizes, _ = np.linalg.svd(matrix, full_matrices=False)
    basis = basis[:, sizes > TOLD * sizes[0]]
    left_over = values - basis @ (basis.T @ values)
    return Fit(left_over, 1 - (basis * basis).sum(axis=1), len(values) - basis.shape[1])


def spread_mm(repeats: float) -> float:
    """What readings are held to repeat to, one deviation, where a job tells ``repeats``."""
    return max(repeats, LEAST_SPREAD_MM)


def _are_enough(angles: Floats) -> bool:
    """Whether one of the readings can be held against the others."""
    count = len(angles)
    return count >= ENOUGH or (count == ENOUGH_EVEN and tells(harmonic_design(angles, 1, 2), EVEN))


def _wild(angles: Floats, out: Floats, keep: Sequence[bool], repeats: float) -> Stray | None:
    """The one farthest off the others that do not stand already, where it is too far off."""
    judged = np.flatnonzero(~np.array(keep))
    if not _are_enough(angles[judged]):
        return None
    harmonics = (1, 2) if len(judged) >= ENOUGH else (1,)
    fit = fitted(harmonic_design(angles[judged], *harmonics), out[judged])
    if fit.spare < 2:
        return None
    score, spare = fit.score, fit.spare - 1
    squares = np.maximum(float(fit.left_over @ fit.left_over) - score * score, 0.0)
    # Few to spare may lie well together by chance: then more of their scatter is allowed.
    allowed = WILD * np.maximum(spread_mm(repeats), (1 + 1 / spare) * np.sqrt(squares / spare))
    worst = int((score / allowed).argmax())
    if score[worst] <= allowed[worst]:
        return None
    return Stray(int(judged[worst]), float(fit.farther[worst]), "others")


def _against_gauges(
    angles: Floats, out: Floats, gauges: Sequence[tuple[float, float]], likely: Floats, repeats: float
) -> tuple[Stray | None, bool]:
    """A stray where sweep and diameters cannot be of one oval, and whether the diameters can tell.

    An oval is twice as much in a diameter as in the wall. Four lobes of a bore are seen by the gauge alone.
    """
    across, sizes = np.radians([clock for clock, _ in gauges]), np.array([size for _, size in gauges])
    of_sweep = harmonic_design(angles, 1, 2)
    of_gauges = harmonic_design(across, 2, 4) if len(gauges) > 3 else harmonic_design(across, 2)
    both = np.zeros((len(angles) + len(across), 3 + of_gauges.shape[1]))
    both[: len(angles), :5] = of_sweep
    both[len(angles) :, 3:5] = 2 * of_gauges[:, 1:3]
    both[len(angles) :, 5:] = np.delete(of_gauges, [1, 2], axis=1)
    fit = fitted(both, np.concatenate([out, sizes - sizes.mean()]))
    can_tell = fit.spare > fitted(of_sweep, out).spare + fitted(of_gauges, sizes).spare
    of_readings = Fit(fit.left_over[: len(angles)], fit.share[: len(angles)], fit.spare)
    if not can_tell or of_readings.score.max() <= WILD * spread_mm(repeats):
        return None, can_tell
    return _likeliest(of_readings, likely, "gauged"), True


def _too_oval(angles: Floats, out: Floats, likely: Floats, diameter: float, repeats: float) -> Stray | None:
    """A stray where few readings, too far off their circle to be its scatter, would be of too large an oval."""
    fit, with_oval = fitted(harmonic_design(angles, 1), out), harmonic_design(angles, 1, 2)
    if len(angles) >= with_oval.shape[1] and not tells(with_oval):
        return None
    terms = np.linalg.lstsq(with_oval, out)[0]
    oval = 4 * float(np.hypot(*terms[3:]))
    if fit.spare < 1 or fit.score.max() <= WILD * spread_mm(repeats) or oval <= MOST_OVAL * diameter:
        return None
    return _likeliest(fit, likely, "round")._replace(oval=oval)


def _likeliest(fit: Fit, likely: Floats, against: Literal["gauged", "round"]) -> Stray:
    """Of the readings that the others tell, the one that is likeliest off."""
    index = int(np.where(fit.share > TOLD, likely, -1.0).argmax())
    return Stray(index, float(fit.farther[index]), against)
