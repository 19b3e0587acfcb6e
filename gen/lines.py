"""The lines that come into question for boring a row, from its survey and what the job wants.

as it lies
    the bar along program zero, nothing moved.
new zero only
    parallel to X, the block left as it lies: what a new work offset can do, the least stock as great as it gets.
most stock
    the least stock over all bores as great as it gets.
least moved
    keeps the stock wanted at every bore, and the crank's limits, and moves the crank least from its old line.
end bores
    through the centres of the end bores.
least squares
    nearest to all centres.

The old line is what the job says (``line.old``): a shift of the crank is from there. Lines are in program coordinates.
"""

from dataclasses import replace
from typing import Final, NamedTuple

from gen.bestline import SLACK_MM, TowardCam, greatest_along_x, greatest_least_stock, least_moved
from gen.linenames import AS_IT_LIES, END_BORES, LEAST_MOVED, LEAST_SQUARES, MOST_STOCK, NAMES, NEW_ZERO_ONLY
from gen.linewanted import LineWanted
from gen.quantities import unit_vector
from gen.rowline import Line, Measures, NoLine, Survey, least_squares, measure, through_ends

ZERO_LINE: Final = Line(0.0, 0.0, 0.0, 0.0)


class Candidate(NamedTuple):
    """A line, by name, and what it means."""

    name: str
    line: Line
    measures: Measures


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
        """The one to bore on: least moved, else the most stock."""
        return self.named(LEAST_MOVED if self.refused is None else MOST_STOCK)


def lines(survey: Survey, wanted: LineWanted) -> Lines:
    """Every line that comes into question."""
    ends, squares = through_ends(survey), least_squares(survey)
    old = {"ends": ends, "all": squares, "zero": ZERO_LINE}[wanted.old]
    found = {
        AS_IT_LIES: ZERO_LINE,
        NEW_ZERO_ONLY: greatest_along_x(survey),
        MOST_STOCK: greatest_least_stock(survey),
        END_BORES: ends,
        LEAST_SQUARES: squares,
    }
    refused = None
    try:
        found[LEAST_MOVED] = _least_moved(survey, wanted, old)
    except NoLine as error:
        refused = error
    told = [Candidate(name, found[name], measure(survey, found[name])) for name in NAMES if name in found]
    return Lines(tuple(told), old, refused)


def between(line: Line, old: Line) -> Line:
    """A line as counted from another."""
    return Line(line.y0 - old.y0, line.y1 - old.y1, line.z0 - old.z0, line.z1 - old.z1, line.holds)


def keeps(candidate: Candidate, stock_mm: float) -> bool:
    """Whether a line leaves so much all round every bore."""
    return float(candidate.measures.stock.min()) >= stock_mm - 2 * SLACK_MM


def _least_moved(survey: Survey, wanted: LineWanted, old: Line) -> Line:
    y, z = old.at(survey.x)
    from_old = replace(survey, y=survey.y - y, z=survey.z - z)
    cam = None
    if wanted.cam is not None and wanted.cam.most is not None:
        cam = TowardCam(*unit_vector(wanted.cam.toward), wanted.cam.most)
    found = least_moved(from_old, wanted.stock, cam, wanted.never_lower)
    return between(found, Line(-old.y0, -old.y1, -old.z0, -old.z1))
