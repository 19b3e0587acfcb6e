"""Tables in words: columns aligned, names to the left and numbers to the right."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from post.units import Units, plain

UNITS_NAMED: Final[Mapping[Units, str]] = {"mm": "millimetres", "inch": "inches"}
"""A table's unit in full, to be told once above it."""


def table(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Lines of a table of at least one row, all of one length; the first column is of names."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        name, *rest = row
        cells = [f"{cell:>{width}}" for cell, width in zip(rest, widths[1:], strict=True)]
        yield "  " + "  ".join([f"{name:<{widths[0]}}", *cells]).rstrip()


def row(name: str, text: str) -> str:
    """One line, what it is about in front."""
    return f"  {name:<11} {text}"


def fixed(value: float | None, digits: int) -> str:
    """A number with all its digits behind the point, so that a column lines up; "-" where there is none."""
    if value is None:
        return "-"
    text = f"{value:.{digits}f}"
    return text.lstrip("-") if not text.strip("-0.") else text


def at_20(temperature_c: float, grown: float) -> str:
    """How sizes told at 20 C follow from a block that is so many parts in a million larger, behind their unit."""
    if grown == 0:
        return ""
    way = "grown" if grown > 0 else "shrunk"
    by = plain(abs(grown), 0)
    return f", at 20 C; the block is at {plain(temperature_c, 1)} C and {way} by {by} parts in a million"
