"""Where and how large: cells of a table of readings, believed only if they can be meant of a bore of the job."""

from collections.abc import Callable, Iterable
from typing import Final

from gen.csvtable import Row
from gen.job import Job
from gen.row import housings
from post.units import MM_PER, MM_PER_INCH, Units, plain, show_length
from post.userfile import LONGEST_SHOWN

MOST_TIMES: Final = 1.25
"""A reading more than so many times the bore's diameter, or less than its inverse, is a slip; chosen by us."""
MOST_NAMED: Final = 12
"""Bores that a message lists."""
SLACK_MM: Final = 1e-9
"""What a length at its limit may seem beyond it by the rounding of floats."""


class Places:
    """Where in which bore of a job something was read, from the cells of a row."""

    def __init__(self, job: Job) -> None:
        self.job, self.units, self.per = job, job.units, MM_PER[job.units]
        self.index = {bore.name: index for index, bore in enumerate(job.bore)}
        self.widths = [abs(housing.far_x - housing.near_x) for housing in housings(job)]

    def bore(self, row: Row) -> int:
        """The bore, by index. Raises InputError for one that the job does not have."""
        name = " ".join(row.cell("bore").split())
        if name not in self.index:
            known = named(bore.name for bore in self.job.bore)
            if not name:
                raise row.refuse("bore", f"is empty; the job has {known}")
            raise row.refuse("bore", f'the job has no bore "{name[:LONGEST_SHOWN]}"; it has {known}')
        return self.index[name]

    def angle(self, row: Row) -> float | None:
        """Clock angle, degrees, None where it is not told. Raises InputError outside 0 to 360."""
        value = row.number("angle", "90")
        if value is not None and not 0 <= value < 360:
            raise row.refuse("angle", f"{row.cell('angle')} must be 0 or more and less than 360 degrees, e.g. 90")
        return value

    def depth(self, row: Row, bore: int) -> float | None:
        """Depth from the face that is cut first, mm, None where it is not told. Raises InputError outside the bore."""
        width = self.widths[bore]
        example = plain(width / 2 / self.per, 4)
        value = row.number("depth", example)
        if value is None:
            return None
        depth = value * self.per
        if not 0 <= depth <= width + SLACK_MM:
            is_mm = self.units == "inch" and 0 <= value <= width
            slip = "looks like millimetres in a job in inches; it" if is_mm else "is outside the bore; it"
            raise row.refuse(
                "depth",
                f"{row.cell('depth')} {slip} must be 0 to {show_length(width, self.units)} from the face that is cut"
                f" first, e.g. {example}",
            )
        return depth

    def keep(self, row: Row) -> bool:
        """Whether a reading that was asked about is to stand. Raises InputError for another note than keep."""
        note = row.cell("note")
        if note not in ("", "keep"):
            raise row.refuse("note", f'"{note[:LONGEST_SHOWN]}" must be keep or nothing')
        return note == "keep"

    def length(self, row: Row, name: str, wanted_mm: float) -> float | None:
        """A length, mm, None where the cell is empty. Raises InputError unless it is a number above 0."""
        example = plain(wanted_mm / self.per, 4)
        value = row.number(name, example)
        if value is None:
            return None
        if value <= 0:
            raise row.refuse(name, f"{row.cell(name)} must be more than 0, e.g. {example}")
        return value * self.per

    def about_the_bore(
        self,
        row: Row,
        name: str,
        value_mm: float,
        wanted_mm: float,
        bore_mm: float,
        diameter_of: Callable[[float], float],
    ) -> None:
        """Raises InputError for a length that, made a diameter, is far from the bore's; a slip of the unit is named."""

        def fits(size_mm: float) -> bool:
            return 1 / MOST_TIMES <= diameter_of(size_mm) / bore_mm <= MOST_TIMES

        if fits(value_mm):
            return
        about = f"{show_length(wanted_mm, self.units)} is about right for a bore of {show_length(bore_mm, self.units)}"
        slip = slip_of_unit(fits(value_mm * MM_PER_INCH), fits(value_mm / MM_PER_INCH), self.units)
        raise row.refuse(name, f"{row.cell(name)} {slip}: {about}")


def named(names: Iterable[str]) -> str:
    """Bores in words: 'bore "1"', 'bores "1", "2"', cut short where there are many."""
    listed = [f'"{name}"' for name in names]
    shown = ", ".join(listed[:MOST_NAMED]) + (f" and {len(listed) - MOST_NAMED} more" if listed[MOST_NAMED:] else "")
    return f"bore {shown}" if len(listed) == 1 else f"bores {shown}"


def slip_of_unit(grown_fits: bool, shrunk_fits: bool, units: Units) -> str:
    """What is wrong with a length that fits once it is 25.4 times larger, or smaller, or neither."""
    if grown_fits:
        return "looks like inches in a job in millimetres" if units == "mm" else "is 25 times too small"
    if shrunk_fits:
        return "looks like millimetres in a job in inches" if units == "inch" else "is 25 times too large"
    return "cannot be meant"
