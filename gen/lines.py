"""The lines that come into question for boring a row, from its survey and what the job wants.

as it lies
    the bar along program zero, nothing moved.
new zero only
    parallel to X, the block left as it lies: what a new work offset can do, the least stock as great as it gets within
    the crank's limits; where none keeps those, as great as it gets without them.
most stock
    the least stock over all bores as great as it gets, whatever the crank's limits.
within limits
    as much stock as they leave, the crank moved least; only where none keeps the stock wanted, and most stock breaks
    a limit.
least moved
    keeps the stock wanted at every bore, and the crank's limits, and moves the crank least from its old line.
end bores
    through the centres of the end bores.
least squares
    nearest to all centres.

The old line is what the job says (``line.old``): a shift of the crank is from there. Lines are in program coordinates.
The crank's limits are ``line.never_lower`` and ``line.cam.most``, kept at every section.
"""

from dataclasses import replace
from typing import Final, NamedTuple

from gen.bestline import (
    SLACK_MM,
    TowardCam,
    greatest_along_x,
    greatest_along_x_within,
    greatest_least_stock,
    least_moved,
)
from gen.capcuts import CapCuts, least_cap_cuts
from gen.linenames import (
    AS_IT_LIES,
    END_BORES,
    LEAST_MOVED,
    LEAST_SQUARES,
    MOST_STOCK,
    NAMES,
    NEW_ZERO_ONLY,
    WITHIN_LIMITS,
)
from gen.linewanted import Caps, LineWanted
from gen.quantities import unit_vector
from gen.rowline import Line, Measures, NoLine, Survey, least_squares, measure, through_ends

ZERO_LINE: Final = Line(0.0, 0.0, 0.0, 0.0)


BREAK_MM: Final = 1e-6
"""By what a line must be past a limit to count as breaking it: lines are wanted to that; chosen by us."""


class Break(NamedTuple):
    """A limit of the crank that a line breaks: at which section, the first or last, which, and by how many mm."""

    section: int
    limit: str
    by: float


class Candidate(NamedTuple):
    """A line, by name, what it means, and what limits of the crank it breaks."""

    name: str
    line: Line
    measures: Measures
    breaks: tuple[Break, ...] = ()


class Lines(NamedTuple):
    """The candidates, the crank's old line, and why none is "least moved" where none is."""

    candidates: tuple[Candidate, ...]
    old: Line
    refused: NoLine | None

    def named(self, name: str) -> Candidate:
        """The candidate of a name. Raises KeyError where there is none."""
        return {one.name: one for one in self.candidates}[name]

    @property
    def best(self) -> Candidate:
        """The one to bore on: least moved, else the most stock that the limits leave."""
        known = {one.name for one in self.candidates}
        return self.named(next(name for name in (LEAST_MOVED, WITHIN_LIMITS, MOST_STOCK) if name in known))


def lines(survey: Survey, wanted: LineWanted) -> Lines:
    """Every line that comes into question."""
    ends, squares = through_ends(survey), least_squares(survey)
    old = {"ends": ends, "all": squares, "zero": ZERO_LINE}[wanted.old]
    limits = _limits(wanted)
    along_x = greatest_along_x_within(survey, old, *limits)
    found = {
        AS_IT_LIES: ZERO_LINE,
        NEW_ZERO_ONLY: greatest_along_x(survey) if along_x is None else along_x,
        MOST_STOCK: greatest_least_stock(survey),
        END_BORES: ends,
        LEAST_SQUARES: squares,
    }
    refused = None
    from_old = _counted_from(old, survey)
    try:
        found[LEAST_MOVED] = _from(old, least_moved(from_old, wanted.stock, *limits))
    except NoLine as error:
        refused = error
        if breaks(survey, found[MOST_STOCK], old, wanted):
            most = least_moved(from_old, refused.best, *limits)
            found[WITHIN_LIMITS] = _from(old, most._replace(holds=refused.holds))
    told = [candidate(name, found[name], survey, old, wanted) for name in NAMES if name in found]
    return Lines(tuple(told), old, refused)


def candidate(name: str, line: Line, survey: Survey, old: Line, wanted: LineWanted) -> Candidate:
    """A line by that name, and what it means."""
    return Candidate(name, line, measure(survey, line), breaks(survey, line, old, wanted))


def breaks(survey: Survey, line: Line, old: Line, wanted: LineWanted) -> tuple[Break, ...]:
    """The limits of the crank that a line breaks, at the first and last section: nowhere between by more."""
    sections = sorted((int(survey.x.argmin()), int(survey.x.argmax())))
    y, z = between(line, old).at(survey.x[sections])
    toward_cam, never_lower = _limits(wanted)
    past = {}
    if toward_cam is not None:
        past["toward cam"] = toward_cam.y * y + toward_cam.z * z - toward_cam.most
    if never_lower:
        past["never lower"] = -z
    return tuple(
        Break(section, limit, float(by))
        for limit, both in past.items()
        for section, by in zip(sections, both, strict=True)
        if by > BREAK_MM
    )


def cap_cuts(survey: Survey, wanted: LineWanted, old: Line, caps: Caps) -> CapCuts:
    """The least to come off the caps, and the line then, within the crank's limits. Raises NoLine when no cuts do."""
    found = least_cap_cuts(_counted_from(old, survey), wanted.stock, caps, *_limits(wanted))
    return found._replace(line=_from(old, found.line))


def between(line: Line, old: Line) -> Line:
    """A line as counted from another."""
    return Line(line.y0 - old.y0, line.y1 - old.y1, line.z0 - old.z0, line.z1 - old.z1, line.holds)


def keeps(candidate: Candidate, stock_mm: float) -> bool:
    """Whether a line leaves so much all round every bore."""
    return float(candidate.measures.stock.min()) >= stock_mm - 2 * SLACK_MM


def _limits(wanted: LineWanted) -> tuple[TowardCam | None, bool]:
    """Those of the crank, its way to the cam of length 1."""
    cam = None
    if wanted.cam is not None and wanted.cam.most is not None:
        cam = TowardCam(*unit_vector(wanted.cam.toward), wanted.cam.most)
    return cam, wanted.never_lower


def _counted_from(old: Line, survey: Survey) -> Survey:
    """The survey as it is from the crank's old line."""
    y, z = old.at(survey.x)
    return replace(survey, y=survey.y - y, z=survey.z - z)


def _from(old: Line, found: Line) -> Line:
    """A line found from the old one, in program coordinates."""
    return between(found, Line(-old.y0, -old.y1, -old.z0, -old.z1))
