"""The least of a linear cost under second order cones and linear limits, with a proof of how near to least it is.

    minimise cost . v   over v (n,)
    with     |a v + b| <= c . v + d   for each of k cones, a v + b in the plane,
             g . v <= h               for each of p rows.

The way is a logarithmic barrier: Newton's method on weight * cost . v - sum of log(slack), the weight raised step by
step (Boyd & Vandenberghe, *Convex Optimization*, 11.2 and 11.3; from memory).

slack
    of a row h - g . v. A cone has two: with s = c . v + d and size = |a v + b| they are s + size and s - size, whose
    logarithms add up to the barrier log(s^2 - size^2). Each is taken by itself: the difference of the squares would
    lose the small one's digits.
slopes
    J, such that J' J are the second derivatives of the barrier. With e the direction of a v + b and f square to it, its
    lines are (c + e a) / (s + size), (c - e a) / (s - size) and f a * sqrt(2 / (s^2 - size^2)) for each cone and
    -g / slack for each row. The first derivatives are -J' ones, where ones is 0 for the third kind, else 1. J itself is
    factored: the squares of its entries, 1e20 apart at the end, would drown each other.
proof
    y = ones - J step, of a Newton step. J' y = weight * cost, so y / weight weighs the limits such that their
    derivatives make up the cost; and while the step is shorter than 1 in the barrier's own measure, |J step|, every
    part of it keeps to its cone. Then no v within the limits costs less than cost . v - gap, where gap is the sum of
    y / weight, the third kind left out. That holds for the point as it is, not only in the limit.

Floats tell slacks of 1e-10 only where v and the limits are about 1: the caller centres and scales.
"""

import math
from typing import Final, NamedTuple

import numpy as np

from gen.sections import Floats

GAP: Final = 1e-9
"""How near to the least cost is near enough, in the cost's unit; chosen by us."""
RAISE: Final = 100.0
"""How many times over the weight grows from one centre to the next; chosen by us."""
ENDS: Final = 1.5
"""The last weight, over the one whose centre has just the gap: no point is quite at its centre. Chosen by us."""
NEAR: Final = 0.5
"""Length of a Newton step at which a point is near enough to the centre for a proof; below 1, chosen by us."""
SURE: Final = 0.25
"""Length of a Newton step that stays inside and betters the point, whatever the limits (as NEAR, 9.6.4)."""
CENTRED: Final = 1e-6
"""Length of a Newton step at which a point is the centre, for all that anyone could tell; chosen by us."""
MOST_STEPS: Final = 500
"""Newton steps before giving up; thirty to a hundred are usual."""
STRAY: Final = 1e-8
"""Part of the cost by which the weighed derivatives may miss it, from rounding; chosen by us."""


class Cones(NamedTuple):
    """Cones |a v + b| <= c . v + d: ``a`` (k, 2, n), ``b`` (k, 2), ``c`` (k, n), ``d`` (k,)."""

    a: Floats
    b: Floats
    c: Floats
    d: Floats


class Rows(NamedTuple):
    """Linear limits g . v <= h: ``g`` (p, n), ``h`` (p,)."""

    g: Floats
    h: Floats


class Solution(NamedTuple):
    """The v (n,) found, strictly within all limits; its cost is at most ``gap`` above the least.

    ``cones`` (k,) and ``rows`` (p,): by how much the least cost falls for each unit that d, or h, grows; next to
    nothing where a limit holds nothing down.
    """

    v: Floats
    gap: float
    cones: Floats
    rows: Floats


class NotSolved(ArithmeticError):
    """The search for a least cost came to nothing: there is none, or floats are too coarse for the figures given."""


def minimise(
    cost: Floats, cones: Cones, rows: Rows, start: Floats, gap: float = GAP, enough: float = -math.inf
) -> Solution:
    """The v of least cost . v, to ``gap``, from a ``start`` (n,) that is strictly within all limits.

    A v that costs no more than ``enough`` ends the search too, however large its gap. Where several v cost the least,
    one in the middle of them is found, as the barrier sees it. Raises ValueError when the arrays do not match or are
    not finite, when the start is not strictly within the limits, when the limits leave a direction of v free, when the
    cost is 0 or the gap not above 0; NotSolved when there is no least cost, or rounding hides it.
    """
    _check(cost, cones, rows, start, gap)
    barrier = _Barrier(cones, rows)
    if not barrier.at(start).inside:
        raise ValueError("the start is not strictly within the limits")
    with np.errstate(all="ignore"):
        try:
            solution = _followed(cost, barrier, start, gap, enough)
        except np.linalg.LinAlgError:
            solution = None
    if solution is None:
        raise NotSolved("no least cost was found: there is none, or the figures are too unlike for floats to tell it")
    return solution


class _Point(NamedTuple):
    """The barrier at one v: ``slacks`` (2 k + p,), the cones' larger, their smaller, the rows'; and each e, (2, k)."""

    slacks: Floats
    direction: Floats

    @property
    def inside(self) -> bool:
        return bool((self.slacks > 0).all())


class _Barrier:
    """Cones and rows, laid out so that a point takes few calls."""

    def __init__(self, cones: Cones, rows: Rows) -> None:
        self.cones = cones
        self.rows = rows
        count = len(cones.d)
        self.lines = np.concatenate([cones.c, cones.a[:, 0], cones.a[:, 1], rows.g])
        self.offsets = np.concatenate([cones.d, cones.b[:, 0], cones.b[:, 1], rows.h])
        self.lines[3 * count :] *= -1
        self.ones = np.concatenate([np.ones(2 * count + len(rows.h)), np.zeros(count)])

    def at(self, v: Floats) -> _Point:
        count = len(self.cones.d)
        values = self.lines @ v + self.offsets
        side, across = values[:count], values[count : 3 * count].reshape(2, count)
        size = np.hypot(across[0], across[1])
        none = size == 0
        direction = across / (size + none)
        direction[0] += none
        return _Point(np.concatenate([side + size, side - size, values[3 * count :]]), direction)

    def slopes(self, point: _Point) -> Floats:
        """J of a point, (3 k + p, n): lines as its slacks, then the third kind."""
        count = len(self.cones.d)
        c, one, other, g = (
            self.lines[:count],
            self.lines[count : 2 * count],
            self.lines[2 * count : 3 * count],
            self.lines[3 * count :],
        )
        e, f = point.direction[:, :, None]
        along, square = e * one + f * other, e * other - f * one
        plus, minus = point.slacks[:count], point.slacks[count : 2 * count]
        rates = np.concatenate([c + along, c - along, g, square])
        rates /= np.concatenate([point.slacks, np.sqrt(plus) * np.sqrt(minus / 2)])[:, None]
        return rates

    def multipliers(self, point: _Point, weights: Floats) -> tuple[Floats, Floats]:
        """Of cones (k,) and rows (p,), from the proof over the weight, (3 k + p,)."""
        count = len(self.cones.d)
        each = weights[: len(point.slacks)] / point.slacks
        return each[:count] + each[count : 2 * count], each[2 * count :]


def _followed(cost: Floats, barrier: _Barrier, start: Floats, gap: float, enough: float) -> Solution | None:
    """The solution, on the way from centre to centre; None when it leads nowhere."""
    v, here, weight = start, barrier.at(start), 0.0
    solution, last = None, math.inf
    for _ in range(MOST_STEPS):
        slopes = barrier.slopes(here)
        q, r = np.linalg.qr(slopes)
        pull = np.linalg.solve(r.T, cost)
        if not weight:
            # The cost then pulls about as hard as the limits push, whatever its unit.
            weight = 1 / math.hypot(*pull)
        step = np.linalg.solve(r, barrier.ones @ q - weight * pull)
        length = float(np.linalg.norm(slopes @ step))
        if not math.isfinite(length):
            return solution
        if length < NEAR:
            proof = barrier.ones - slopes @ step
            # Rounding lets a step miss by a little; its proof is mended for that, and looked at again.
            proof += slopes @ np.linalg.solve(r, np.linalg.solve(r.T, weight * cost - proof @ slopes))
            found = float(proof @ barrier.ones) / weight
            if found <= gap or float(cost @ v) <= enough:
                if not (np.linalg.norm(proof - barrier.ones) < 1 and _adds_up(proof @ slopes / weight, cost)):
                    return solution
                solution = Solution(v, found, *barrier.multipliers(here, proof / weight))
                # On to the centre itself, so that of many v that cost the least it is always the same.
                if length < CENTRED or length > last / 2:
                    return solution
                last = length
            else:
                # No higher than the gap takes: the slacks shrink with it, down to where floats no longer tell them.
                weight = min(weight * RAISE, max(2 * weight, ENDS * float(barrier.ones.sum()) / gap))
                continue
        v, here = _stepped(barrier, v, here, step, length, weight * float(cost @ step))
        if not here.inside:
            return solution
    return solution


def _stepped(
    barrier: _Barrier, v: Floats, here: _Point, step: Floats, length: float, dearer: float
) -> tuple[Floats, _Point]:
    """As far along a Newton step as betters the barrier; ``dearer`` is what the whole of it adds to the cost's part."""
    share = 1.0
    there = barrier.at(v + step)
    while share * length > SURE and not _better(here, there, share * dearer, share * length**2):
        share /= 2
        there = barrier.at(v + share * step)
    return v + share * step, there


def _adds_up(weighed: Floats, cost: Floats) -> bool:
    """Whether the weighed derivatives make up the cost."""
    return bool(np.abs(weighed - cost).max() <= STRAY * np.abs(cost).max())


def _better(here: _Point, there: _Point, dearer: float, foreseen: float) -> bool:
    """Whether a step stays inside and betters the barrier by a tenth of what its slope foresees."""
    return there.inside and dearer - float(np.log(there.slacks / here.slacks).sum()) <= -foreseen / 10


def _check(cost: Floats, cones: Cones, rows: Rows, start: Floats, gap: float) -> None:
    count, many, few = len(cost), len(cones.d), len(rows.h)
    arrays = [cost, start, *cones, *rows]
    wanted = [(count,), (count,), (many, 2, count), (many, 2), (many, count), (many,), (few, count), (few,)]
    found = [array.shape for array in arrays]
    if found != wanted:
        raise ValueError(f"arrays of shapes {found}: they must be {wanted}")
    if not all(np.isfinite(array).all() for array in arrays):
        raise ValueError("figures that are not finite: there is nothing to solve")
    if not cost.any():
        raise ValueError("a cost of 0 throughout: every v costs the same")
    if not gap > 0:
        raise ValueError(f"gap {gap:g}: it must be more than 0")
    if np.linalg.matrix_rank(np.concatenate([cones.c, cones.a[:, 0], cones.a[:, 1], rows.g])) < count:
        raise ValueError("limits that leave a direction free: v could go there without end")
