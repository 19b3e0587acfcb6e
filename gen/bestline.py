"""Straight lines to bore a row of holes on that are best, from a survey of the holes; ``gen.rowline`` has the words.

The stock of a section is a concave function of the line, so the lines that keep a stock are a convex set, and every
best line here is solved by ``gen.cones``, told by its places at the first and last section. What is convex along a
line, as a shift is, is largest at one of those two.

Lengths are mm. Stock is kept, and limits are, to ``SLACK_MM``, so that a line that alone keeps them is found as well.
"""

import math
from typing import Final, NamedTuple

import numpy as np

from gen.cones import Cones, Rows, Solution, minimise
from gen.rowline import Hold, Line, NoLine, Survey, check_stock
from gen.sections import Floats

SLACK_MM: Final = 1e-8
"""What a stock or a limit may be short by; chosen by us, a hundredth of the 1e-6 mm to which lines are wanted."""
NEAR_MM: Final = 1e-8
"""How near to the least the largest shift is, or the sum of the cuts; chosen by us."""
TIE_MM: Final = 5e-7
"""What the largest shift may give up for the other end's, and how near to the least that is; chosen by us."""
HOLDS: Final = 1e-3
"""Multiplier from which a section counts as holding a line down: a mm there is worth a micrometre; chosen by us."""


class TowardCam(NamedTuple):
    """Direction (y, z) in which the camshaft lies, of any length but 0, and the most a line may shift that way, mm."""

    y: float
    z: float
    most: float


def greatest_least_stock(survey: Survey) -> Line:
    """The line whose least stock is the greatest; where several keep as much, one in the middle of them.

    Raises ``gen.cones.NotSolved``, as do those below, when the figures are too unlike for floats to tell.
    """
    ends = Ends(survey)
    no_limits, _ = ends.limits(4, None, never_lower=False)
    best = most_stock(ends.stocks(4, 0.0), no_limits, np.zeros(4), math.inf)
    return ends.line(best.v, ends.holds(best.cones, best.rows, []))


def greatest_along_x(survey: Survey) -> Line:
    """Of the lines parallel to X, the one whose least stock is the greatest: centre of the circle about all centres."""
    ends = Ends(survey)
    return ends.along_x(Rows(np.zeros((0, 2)), np.zeros(0)), np.zeros(2), [])


def greatest_along_x_within(survey: Survey, old: Line, toward_cam: TowardCam | None, never_lower: bool) -> Line | None:
    """The same within limits as in ``least_moved``, counted from an old line that may be tilted.

    None where no such line keeps them, or only one so far off that it leaves no stock. Raises ValueError for a way to
    the cam as ``least_moved``.
    """
    check_cam(toward_cam)
    ends = Ends(survey)
    of_ends, names = ends.limits(4, toward_cam, never_lower)
    first_last = old.at(survey.x[list(ends.ends)])
    limits = Rows(of_ends.g[:, :2] + of_ends.g[:, 2:], of_ends.h + of_ends.g @ first_last.T.reshape(4))
    if not names:
        return ends.along_x(limits, np.zeros(2), names)
    # A third entry of v for what the limits lack; where it can be below 0 the other two start strictly within them.
    far = 1 + float(np.hypot(*ends.centres.T).max() + np.abs(survey.room).max() + np.abs(limits.h).max())
    near = Cones(np.eye(2, 3)[None], np.zeros((1, 2)), np.zeros((1, 3)), np.array([far]))
    lacking = np.column_stack([limits.g, -np.ones(len(limits.h))])
    rows = Rows(np.concatenate([lacking, -np.eye(3)[2:]]), np.append(limits.h, 1.0))
    found = minimise(np.eye(3)[2], near, rows, np.array([0.0, 0.0, far]))
    return ends.along_x(limits, found.v[:2], names) if found.v[2] < 0 else None


def least_moved(survey: Survey, stock: float, toward_cam: TowardCam | None = None, never_lower: bool = False) -> Line:
    """Of the lines that keep ``stock`` at every section, the one whose largest shift from the old line is least.

    Where several shift no more, the one whose two ends together shift least. ``toward_cam`` and ``never_lower`` are
    kept at every section. Raises NoLine when no line keeps all that, ValueError when the stock is not finite, when the
    way to the cam has no length or the most toward it is below 0.
    """
    check_cam(toward_cam)
    check_stock(stock)
    ends = Ends(survey)
    limits, names = ends.limits(4, toward_cam, never_lower)
    best = most_stock(ends.stocks(4, 0.0), limits, ends.start, stock)
    floor = floor_of(stock, best, ends.holds(best.cones, best.rows, names))

    # One entry of v for the larger shift of the two ends; then two, one for each, no larger than that.
    rows, _ = ends.limits(5, toward_cam, never_lower)
    start = np.append(best.v[:4], ends.shift(best.v).max() + 1)
    larger = minimise(np.eye(5)[4], _joined(ends.stocks(5, floor), ends.shifts(5, (4, 4))), rows, start, NEAR_MM)
    most = larger.v[4] + TIE_MM
    rows, _ = ends.limits(6, toward_cam, never_lower)
    rows = Rows(np.concatenate([rows.g, np.eye(6)[4:]]), np.append(rows.h, [most, most]))
    start = np.append(larger.v[:4], (ends.shift(larger.v) + most) / 2)
    each = minimise(
        np.eye(6)[4:].sum(axis=0), _joined(ends.stocks(6, floor), ends.shifts(6, (4, 5))), rows, start, TIE_MM
    )
    return ends.line(each.v, ends.holds(larger.cones[:-2], larger.rows, names))


def check_cam(toward_cam: TowardCam | None) -> None:
    """Raises ValueError when the way to the cam has no length or the most toward it is below 0."""
    if toward_cam and not (
        toward_cam.most >= 0 and math.isfinite(toward_cam.most) and 0 < math.hypot(*toward_cam[:2]) < math.inf
    ):
        raise ValueError(f"{toward_cam}: its direction must have a length, and the most toward it be 0 or more")


class Ends:
    """Limits on a line in terms of v, whose first four entries are the line's y, z at the first and last section.

    They are counted from the mean centre, so that they are small. ``count`` is how many entries v has.
    """

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        self.ends = int(survey.x.argmin()), int(survey.x.argmax())
        self.low_x, self.long = survey.x.min(), np.ptp(survey.x)
        self.middle = np.array([survey.y.mean(), survey.z.mean()])
        self.centres = np.column_stack([survey.y, survey.z]) - self.middle
        self.start = np.tile(-self.middle, 2)
        """The old line."""

    def across(self, count: int) -> Floats:
        """How y and z of the line at each section change with v; shape (n, 2, count)."""
        share = ((self.survey.x - self.low_x) / self.long)[:, None]
        rates = np.zeros((len(share), 2, count))
        rates[:, [0, 1], [0, 1]] = 1 - share
        rates[:, [0, 1], [2, 3]] = share
        return rates

    def stocks(self, count: int, floor: float) -> Cones:
        """Every section keeps at least the floor."""
        none = np.zeros((len(self.centres), count))
        return Cones(self.across(count), -self.centres, none, self.survey.room - floor)

    def shifts(self, count: int, entries: tuple[int, int]) -> Cones:
        """The shifts of the two ends are at most these entries of v."""
        rates = np.eye(4, count).reshape(2, 2, count)
        return Cones(rates, np.tile(self.middle, (2, 1)), np.eye(count)[list(entries)], np.zeros(2))

    def along_x(self, limits: Rows, start: Floats, names: list[str]) -> Line:
        """The line of most stock parallel to X: v is its y, z, and strictly within the limits at the start."""
        count = len(self.centres)
        stocks = Cones(np.tile(np.eye(2), (count, 1, 1)), -self.centres, np.zeros((count, 2)), self.survey.room)
        best = most_stock(stocks, limits, start, math.inf)
        return self.line(np.tile(best.v[:2], 2), self.holds(best.cones, best.rows, names))

    def limits(
        self, count: int, toward_cam: TowardCam | None, never_lower: bool, up: float = 1.0
    ) -> tuple[Rows, list[str]]:
        """Limits at the first and the last section, and what each pair is called; ``up`` -1 where Z is mirrored."""
        ways, most, names = [], [], []
        if toward_cam:
            ways.append(np.array([toward_cam.y, up * toward_cam.z]) / math.hypot(*toward_cam[:2]))
            most.append(toward_cam.most)
            names.append("toward cam")
        if never_lower:
            ways.append(np.array([0.0, -up]))
            most.append(0.0)
            names.append("never lower")
        rates = np.zeros((2 * len(ways), count))
        bounds = np.empty(2 * len(ways))
        for number, (way, limit) in enumerate(zip(ways, most, strict=True)):
            rates[2 * number, :2] = rates[2 * number + 1, 2:4] = way
            bounds[2 * number : 2 * number + 2] = limit + SLACK_MM - way @ self.middle
        return Rows(rates, bounds), names

    def shift(self, v: Floats) -> Floats:
        """How far the two ends are from the old line (2,)."""
        shift: Floats = np.hypot(*(v[:4].reshape(2, 2) + self.middle).T)
        return shift

    def line(self, v: Floats, holds: list[Hold]) -> Line:
        """The line of a v, and what holds it down."""
        (y, z), (last_y, last_z) = v[:4].reshape(2, 2) + self.middle
        y1, z1 = (last_y - y) / self.long, (last_z - z) / self.long
        return Line(float(y - y1 * self.low_x), float(y1), float(z - z1 * self.low_x), float(z1), tuple(holds))

    def holds(self, stocks: Floats, limits: Floats, names: list[str]) -> list[Hold]:
        """What counts, the strongest first, from the multipliers of the stocks (n,) and of the two ends' limits."""
        every = [Hold(section, "stock", float(stocks[section])) for section in range(len(stocks))]
        for number, multiplier in enumerate(limits):
            every.append(Hold(self.ends[number % 2], names[number // 2], float(multiplier)))
        return sorted((hold for hold in every if hold.multiplier >= HOLDS), key=lambda hold: -hold.multiplier)


def most_stock(stocks: Cones, rows: Rows, start: Floats, wanted: float) -> Solution:
    """The greatest stock t that all cones of stock 0 keep, v from ``start`` and t behind; or the first above wanted."""
    count = len(start)
    cones = Cones(
        np.concatenate([stocks.a, np.zeros((len(stocks.d), 2, 1))], axis=2),
        stocks.b,
        np.column_stack([stocks.c, -np.ones(len(stocks.d))]),
        stocks.d,
    )
    sizes = np.hypot(*(stocks.a @ start + stocks.b).T)
    least = float((stocks.d - sizes).min())
    cost = -np.eye(count + 1)[count]
    wider = Rows(np.column_stack([rows.g, np.zeros(len(rows.h))]), rows.h)
    return minimise(cost, cones, wider, np.append(start, least - max(1.0, abs(least))), enough=-wanted - SLACK_MM)


def floor_of(stock: float, best: Solution, holds: list[Hold]) -> float:
    """The stock that can be asked for so that some room is left: ``stock``, or what is best, but for ``SLACK_MM``."""
    most = float(best.v[-1])
    if most < stock - SLACK_MM:
        raise NoLine(stock, most, tuple(holds))
    return min(stock, most - SLACK_MM)


def _joined(*groups: Cones) -> Cones:
    return Cones(*map(np.concatenate, zip(*groups, strict=True)))
