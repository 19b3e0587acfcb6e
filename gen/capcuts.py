"""What must come off the caps' parting faces for a row to be bored in line: the least, by convex optimisation.

``gen.rowline`` has the words, ``gen.bestline`` what is said of convexity and slack. Lengths are mm.
"""

from dataclasses import replace
from typing import Literal, NamedTuple

import numpy as np

from gen.bestline import NEAR_MM, SLACK_MM, Ends, TowardCam, check_cam, floor_of, most_stock
from gen.cones import Cones, Rows, Solution, minimise
from gen.rowline import Ints, Line, Survey, check_stock, clock, off_line
from gen.sections import Floats


class CapCuts(NamedTuple):
    """What to take off the caps' parting faces, and the line to bore on then.

    ``bores`` (b,): numbers of the bores, rising; ``cuts`` (b,): mm off each. ``stock``, ``thinnest_deg`` (n,): of the
    sections with the caps cut, as in ``Measures``.
    """

    bores: Ints
    cuts: Floats
    line: Line
    stock: Floats
    thinnest_deg: Floats


def least_cap_cuts(
    survey: Survey,
    stock: float,
    caps: Literal["+Z", "-Z"],
    toward_cam: TowardCam | None = None,
    never_lower: bool = False,
) -> CapCuts:
    """The least to come off the caps' parting faces, in all, for a line to keep ``stock`` at every section.

    ``caps`` tells on which side of the holes they are. A cut of h brings the cap's half of the wall nearer to the block
    by h; what comes past the parting is faced off. Across the parting a hole stays as wide as it was: where that is too
    wide for the target no cut helps. Where several ways take off as little, one in the middle of them. The line keeps
    ``toward_cam`` and ``never_lower`` as in ``gen.bestline.least_moved``. Raises NoLine when no cuts do, each at most
    the radius of its bore; ValueError when the caps are on no such side, the stock is not finite, or as there for the
    way to the cam.
    """
    if caps not in ("+Z", "-Z"):
        raise ValueError(f'caps "{caps}": they are on the side "+Z" or "-Z"')
    check_stock(stock)
    check_cam(toward_cam)
    sign = 1.0 if caps == "+Z" else -1.0
    halves = _Halves(replace(survey, z=sign * survey.z))
    solution, line = halves.least_cuts(stock, *halves.limits(halves.count, toward_cam, never_lower, sign))
    found = solution.v[4 : 4 + len(halves.bores)]
    cuts = np.where(found > SLACK_MM, found, 0.0)
    stocks, off = halves.after(line, cuts)
    turned = line._replace(z0=sign * line.z0, z1=sign * line.z1)
    return CapCuts(halves.bores, cuts, turned, stocks, clock(off * [[1], [sign]]))


class _Halves(Ends):
    """The same where each hole is the block's half and a cap's, the cap above. v: line, cuts (b,), p of each section.

    With w the line from the hole's centre, r its radius and e = target - stock - r, what a section asks is:

    - of the block's half, below: no point of its wall is farther from the line than r + e. Where w is above the
      centre that is |w| <= e; below it, the ends of the half are farthest: |(w_y +- r, w_z)| <= r + e, both of which
      follow from |w| <= e, too.
    - of the cap's half, lowered by h: where w_z < -h, |(w_y, w_z + h)| <= e; else its ends are farthest, and of those
      the facing leaves only what is nearer than the ends of the block's half.

    So with a p no less than w_z, -(w_z + h) and 0 it is |(w_y, p)| <= e and the two of the ends, which is convex. It
    asks too much in one case: where w is only just below -h, the farthest of the cap's wall is faced off as well. That
    takes |w_y| > e * sqrt(1 - (h / r)^2), all but a part (h / r)^2 / 2 of the most the block's half lets it be; the cut
    found is then too large by h / r * e at most.
    """

    def __init__(self, survey: Survey) -> None:
        super().__init__(survey)
        self.bores, self.bore_of = np.unique(survey.bores, return_inverse=True)
        self.most = np.array([survey.radius[self.bore_of == bore].min() for bore in range(len(self.bores))])
        self.count = 4 + len(self.bores) + len(self.bore_of)

    def least_cuts(self, stock: float, limits: Rows, names: list[str]) -> tuple[Solution, Line]:
        """The v of the least cuts that keep the stock; its line. Raises NoLine when there is none."""
        count, partings = self.count, self.partings(self.count)
        rows = Rows(np.concatenate([partings.g, limits.g]), np.append(partings.h, limits.h))
        start = np.concatenate([self.start, self.most / 2, np.abs(self.survey.z) + self.most.max()])
        best = most_stock(self.kept(count, 0.0), rows, start, stock)
        of_limits = slice(len(partings.h), None)
        floor = floor_of(stock, best, self.holds(self._of_sections(best), best.rows[of_limits], names))
        cost = np.zeros(count)
        cost[4 : 4 + len(self.bores)] = 1
        solution = minimise(cost, self.kept(count, floor), rows, best.v[:count], NEAR_MM)
        holds = self.holds(self._of_sections(solution), solution.rows[of_limits], names)
        return solution, self.line(solution.v, holds)

    def kept(self, count: int, floor: float) -> Cones:
        """Every section keeps at least the floor, its p being what it must."""
        across, room, radius = self.across(count), self.survey.room - floor, self.survey.radius
        level = across.copy()
        level[:, 1] = np.eye(count)[-len(room) :]
        wide = np.column_stack([radius, np.zeros(len(room))])
        return Cones(
            np.concatenate([level, across, across]),
            np.concatenate([-self.centres * [1, 0], wide - self.centres, -wide - self.centres]),
            np.zeros((3 * len(room), count)),
            np.concatenate([room, radius + room, radius + room]),
        )

    def partings(self, count: int) -> Rows:
        """Each p is no less than what it stands for; each cut no less than 0 and no more than the most."""
        rise, high = self.across(count)[:, 1], self.centres[:, 1]
        entries = np.eye(count)
        cuts, p = entries[4 : 4 + len(self.bores)], entries[-len(high) :]
        rates = np.concatenate([rise - p, -rise - cuts[self.bore_of] - p, -p, -cuts, cuts])
        return Rows(rates, np.concatenate([high, -high, np.zeros(len(high) + len(cuts)), self.most]))

    def after(self, line: Line, cuts: Floats) -> tuple[Floats, Floats]:
        """Stock at each section (n,), and toward where from the line its thinnest is, (2, n)."""
        off, radius = off_line(self.survey, line), self.survey.radius
        lowered = off - [[0], [1]] * cuts[self.bore_of]
        at_end = np.array([np.where(off[0] < 0, -1, 1) * radius, np.zeros(len(radius))]) + off
        below, above = np.hypot(*off), np.hypot(*lowered)
        of_block = np.where(off[1] <= 0, radius + below, np.hypot(*at_end))
        of_cap = np.where(lowered[1] * radius >= cuts[self.bore_of] * above, radius + above, 0)
        way = np.where(of_cap > of_block, lowered, np.where(off[1] <= 0, off, at_end))
        return self.survey.target - np.maximum(of_block, of_cap), way

    def _of_sections(self, solution: Solution) -> Floats:
        each: Floats = solution.cones.reshape(3, -1).sum(axis=0)
        return each
