"""Tables that a person keeps as CSV: rows of cells under named columns, every mistake told with its line."""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from post.userfile import LONGEST_SHOWN, InputError, near_name, read_text

_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
_DECIMAL_COMMA: Final = re.compile(r"[+-]?[0-9]*,[0-9]+")
_LONGEST_NUMBER: Final = 40


def point_for_comma(cell: str) -> str | None:
    """How to write a number that has a decimal comma, as a phrase; None for anything else."""
    if len(cell) > LONGEST_SHOWN or not _DECIMAL_COMMA.fullmatch(cell):
        return None
    return f"decimals with a point: {cell.replace(',', '.')}"


def check_names(heading: Sequence[str], path: Path, columns: Sequence[str], head_it: str) -> None:
    """Raises InputError at the first heading that is none of ``columns``, with the one most like it.

    A number among them is told to be no heading at all; ``head_it`` says what to write.
    """
    unknown = next((name for name in heading if name not in columns), None)
    if unknown is None:
        return
    if any(_NUMBER.fullmatch(name) for name in heading):
        raise InputError(
            f"the first line must be headings, but holds numbers; put headings above it: {head_it}", file=path, line=1
        )
    near = near_name(unknown.lower(), columns)
    raise InputError(
        f'"{unknown[:LONGEST_SHOWN]}" heads a column, but is none of {", ".join(columns)}'
        + (f"; did you mean {near}?" if near else ""),
        file=path,
        line=1,
    )


class Row(NamedTuple):
    """One line: where it stands, counted from 1, and its cell under every heading, "" where it is empty."""

    path: Path
    line: int
    cells: dict[str, str]

    def cell(self, name: str) -> str:
        """What stands under a heading; "" where the table has no such column."""
        return self.cells.get(name, "")

    def refuse(self, name: str, problem: str) -> InputError:
        """The error that names this line and a column."""
        return InputError(problem, file=self.path, line=self.line, key=(name,))

    def number(self, name: str, example: str) -> float | None:
        """A plain number, None where the cell is empty. Raises InputError for anything else."""
        cell = self.cell(name)
        if not cell:
            return None
        if not _NUMBER.fullmatch(cell) or len(cell) > _LONGEST_NUMBER:
            shown = point_for_comma(cell) or f"e.g. {example}"
            raise self.refuse(name, f'"{cell[:LONGEST_SHOWN]}" must be a plain number, {shown}')
        return float(cell)


def read_rows(
    path: Path, *, what: str, columns: Sequence[str], required: Sequence[str], example: Sequence[str] = ()
) -> list[Row]:
    """Rows of a CSV headed by some of ``columns``, with all ``required`` among them.

    ``what`` names the kind of file for the messages, as "record"; ``example`` is a heading to write, by default the
    required columns. Raises InputError on a byte order mark, on semicolons or tabs, an empty row, an unknown, missing
    or repeated heading, or a wrong number of fields; and where no row follows the heading.
    """
    head_it = f"head it as {','.join(example or required)}"
    text = read_text(path, what=what, keep_mark=True)
    if text.startswith("\ufeff"):
        raise InputError(
            "the file starts with a byte order mark; save it as CSV in UTF-8 without one", file=path, line=1
        )
    lines = text.splitlines()
    while lines and not lines[-1].strip():
        lines.pop()
    if not lines:
        raise InputError(f"the file is empty; {head_it}", file=path, line=1)
    heading = _heading(lines[0], path, columns, required, head_it)
    reader = csv.reader(lines[1:], strict=True)
    rows = []
    try:
        for fields in reader:
            rows.append(_row(fields, heading, path, reader.line_num + 1))
    except csv.Error as error:
        raise InputError(f"not valid CSV: {error}; {head_it}", file=path, line=reader.line_num + 1) from None
    if not rows:
        raise InputError("no line follows the heading", file=path, line=1)
    return rows


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table as text, as ``read_rows`` reads it."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([columns, *rows])
    return out.getvalue()


def _heading(line: str, path: Path, columns: Sequence[str], required: Sequence[str], head_it: str) -> list[str]:
    if ";" in line or "\t" in line:
        found = "semicolons" if ";" in line else "tabs"
        raise InputError(f"the columns are parted by {found}; part them by commas: {head_it}", file=path, line=1)
    try:
        heading = [name.strip() for name in next(csv.reader([line], strict=True), [])]
    except csv.Error as error:
        raise InputError(f"not valid CSV: {error}; {head_it}", file=path, line=1) from None
    check_names(heading, path, columns, head_it)
    for name in heading:
        if heading.count(name) > 1:
            raise InputError(f'"{name}" heads two columns; keep one', file=path, line=1)
    for name in required:
        if name not in heading:
            raise InputError(f'no column is headed "{name}"; {head_it}', file=path, line=1)
    return heading


def _row(fields: list[str], heading: list[str], path: Path, line: int) -> Row:
    if not any(field.strip() for field in fields):
        raise InputError("this row is empty; delete it", file=path, line=line)
    if len(fields) != len(heading):
        hint = "; part them by commas" if ";" in "".join(fields) else ""
        if len(fields) > len(heading):
            hint = "; write decimals with a point"
        many = "1 field" if len(fields) == 1 else f"{len(fields)} fields"
        raise InputError(
            f"{many} under {len(heading)} headings{hint}; write one for each of {','.join(heading)}",
            file=path,
            line=line,
        )
    return Row(path, line, {name: field.strip() for name, field in zip(heading, fields, strict=True)})
