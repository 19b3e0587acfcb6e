"""A survey of a row of holes, and straight lines through it: what a line leaves of stock, and what it means.

section
    a place along X at which a hole was measured: centre (y, z), radius now, and target radius.
line
    y = y0 + y1 x, z = z0 + z1 x: where the bar's axis goes. The crank's old line is y = z = 0, so that (y, z) of a line
    is its shift.
stock
    at a section, target radius - radius - |centre - line|: what there is to cut where there is least of it. Negative:
    so much the hole does not clean up. It is thinnest in the direction from the line to the hole's centre.

Lengths are mm.
"""

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from gen.sections import Floats

CENTRED_MM: Final = 1e-6
"""A line this near to a hole's centre leaves the same stock all round; chosen by us."""
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """Sections of a row of holes, arrays (n,) in mm; ``bore``: the number of each one's bore, else each is its own.

    Raises ValueError when the arrays do not match, a figure is not finite, a radius is not above 0, when there are
    fewer than two bores, or when the end bores are at one place along X.
    """

    x: Floats
    y: Floats
    z: Floats
    radius: Floats
    target: Floats
    bore: Ints | None = None

    def __post_init__(self) -> None:
        arrays = [self.x, self.y, self.z, self.radius, self.target]
        shapes = [array.shape for array in arrays] + ([] if self.bore is None else [self.bore.shape])
        if any(shape != (self.x.size,) for shape in shapes):
            raise ValueError(f"arrays of shapes {shapes}: all must be (n,)")
        if not all(np.isfinite(array).all() for array in arrays):
            raise ValueError("a survey that is not finite: every section needs x, y, z, radius and target")
        if self.radius.min(initial=1) <= 0 or self.target.min(initial=1) <= 0:
            raise ValueError("radius or target not above 0: every section needs both")
        if len(np.unique(self.bores)) < 2:
            raise ValueError(f"a line takes two bores or more, not {len(np.unique(self.bores))}")
        first, last = self.ends()
        if first[0] == last[0]:
            raise ValueError(f"all bores at x = {first[0]:g}: a line takes two places along X")

    @property
    def bores(self) -> Ints:
        """The number of each section's bore (n,)."""
        return np.arange(len(self.x)) if self.bore is None else self.bore

    @property
    def room(self) -> Floats:
        """Stock that a line through every centre would leave (n,)."""
        return self.target - self.radius

    def ends(self) -> tuple[Floats, Floats]:
        """Mean x, y and z of the sections of the bore of least mean x, and of greatest; each (3,)."""
        places = np.array([self.x, self.y, self.z])
        means = np.array([places[:, self.bores == bore].mean(axis=1) for bore in np.unique(self.bores)])
        return means[means[:, 0].argmin()], means[means[:, 0].argmax()]


class Hold(NamedTuple):
    """What holds a line down: a section, by its index, and which limit there: "stock", "toward cam" or "never lower".

    ``multiplier``: mm that what is sought gains for each mm that the limit gives (of stock: that the target radius is
    larger), for a small one.
    """

    section: int
    limit: str
    multiplier: float


class Line(NamedTuple):
    """y = y0 + y1 x, z = z0 + z1 x; and what holds it down, the strongest first, none where it was not sought so."""

    y0: float
    y1: float
    z0: float
    z1: float
    holds: tuple[Hold, ...] = ()

    def at(self, x: Floats) -> Floats:
        """Y and Z of the line at each x (n,); shape (2, n)."""
        return np.array([self.y0 + self.y1 * x, self.z0 + self.z1 * x])


class Measures(NamedTuple):
    """What a line leaves at the sections, arrays (n,).

    ``thinnest_deg``: clock angle at which the stock is thinnest, as seen from the line; nan where it is the same all
    round. ``oversize``: what every target radius must grow by so that all clean up; negative where all could be as much
    smaller.
    """

    stock: Floats
    thinnest_deg: Floats
    oversize: float


class NoLine(ValueError):
    """No line keeps the stock asked for, within the limits given.

    ``best``: the greatest least stock that one keeps, mm. ``holds``: what holds it there; these alone rule out more.
    """

    def __init__(self, stock: float, best: float, holds: tuple[Hold, ...]) -> None:
        self.stock, self.best, self.holds = stock, best, holds
        sections = sorted({hold.section for hold in holds})
        super().__init__(
            f"no line keeps {stock:g} mm of stock at every section: at best {best:.6f} mm, held down at section"
            f"{'s' if len(sections) > 1 else ''} {', '.join(map(str, sections))}"
        )

    def __reduce__(self) -> tuple[type["NoLine"], tuple[float, float, tuple[Hold, ...]]]:
        return NoLine, (self.stock, self.best, self.holds)


def measure(survey: Survey, line: Line) -> Measures:
    """What a line leaves at the sections of a survey."""
    off = off_line(survey, line)
    stock = survey.room - np.hypot(*off)
    return Measures(stock, clock(off), float(-stock.min()))


def through_ends(survey: Survey) -> Line:
    """The line through the centres of the end bores, of each the mean of its sections."""
    first, last = survey.ends()
    y1, z1 = (last - first)[1:] / (last - first)[0]
    return Line(float(first[1] - y1 * first[0]), float(y1), float(first[2] - z1 * first[0]), float(z1))


def least_squares(survey: Survey) -> Line:
    """The line from which the sum of the squared distances of all centres, square to X, is least; x is exact."""
    middle = survey.x.mean()
    from_middle = survey.x - middle
    y1, z1 = (from_middle @ across / (from_middle @ from_middle) for across in (survey.y, survey.z))
    y0, z0 = survey.y.mean() - y1 * middle, survey.z.mean() - z1 * middle
    return Line(float(y0), float(y1), float(z0), float(z1))


def check_stock(stock: float) -> None:
    """Raises ValueError for a stock that is not finite."""
    if not math.isfinite(stock):
        raise ValueError(f"stock {stock}: it must be a finite number")


def off_line(survey: Survey, line: Line) -> Floats:
    """Y and Z of the holes' centres from the line; shape (2, n)."""
    off: Floats = np.array([survey.y, survey.z]) - line.at(survey.x)
    return off


def clock(off: Floats) -> Floats:
    """Clock angles of (2, n), 0 to under 360; nan where there is no way to tell."""
    clock = np.degrees(np.arctan2(*off)) % 360 % 360
    return np.where(np.hypot(*off) > CENTRED_MM, clock, np.nan)
