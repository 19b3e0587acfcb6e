"""Job files: TOML, and rows of bores as CSV, into a Job; every mistake told with its file, line and key."""

import csv
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final, NamedTuple

from pydantic import ValidationError

from gen.csvtable import check_names, point_for_comma
from gen.job import Bore, Job
from post.tomlplaces import Key, line_of, nearest_line, places
from post.units import MM_PER, Units
from post.userfile import LONGEST_SHOWN, InputError, input_error, parse_toml, read_text

TEXT_COLUMNS: Final = frozenset({"name", "tolerance"})
PAIRS: Final = frozenset({"bulkhead_y", "bulkhead_z", "measured", "limits", "centre"})
"""What a cell cannot hold: two numbers."""
COLUMNS: Final = tuple(name for name in Bore.model_fields if name not in PAIRS)
_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")


class BoreTable(NamedTuple):
    """Bores read from a CSV: one dict a row, and the line each stood on, counted from 1."""

    path: Path
    rows: list[dict[str, Any]]
    lines: list[int]


class JobFile(NamedTuple):
    """A job and where it came from, so that later mistakes can be told at their place too."""

    job: Job
    path: Path
    text: str
    table: BoreTable | None

    @property
    def inputs(self) -> list[Path]:
        """Every file the job was read from."""
        return [self.path] if self.table is None else [self.path, self.table.path]

    @contextmanager
    def placing(self) -> Iterator[None]:
        """Mistakes of the job found while it is worked with are told at their place."""
        try:
            yield
        except InputError as error:
            raise self.at_place(error) from None

    def at_place(self, error: InputError) -> InputError:
        """The same error with the file and line its key stands at."""
        if error.file is not None or not error.key:
            return error
        line = _line(places(self.text), self.table, error.key)
        return InputError(error.problem, file=_file(self.path, self.table, error.key), line=line, key=error.key)


def load(path: Path) -> JobFile:
    """The job in a file, with the row of bores its ``bores`` names. Raises InputError."""
    text = read_text(path, what="job file")
    data = parse_toml(text, path)
    units = data.get("units")
    table = _pull_in_table(data, path, text)
    context = {"units": units if isinstance(units, str) and units in MM_PER else "mm"}
    try:
        job = Job.model_validate(data, context=context)
    except ValidationError as error:
        found = places(text)
        example = 1 if units == "inch" else 0
        told = input_error(error, Job, path=path, line=lambda key: _line(found, table, key), example=example)
        raise InputError(told.problem, file=_file(path, table, told.key), line=told.line, key=told.key) from None
    return JobFile(job, path, text, table)


def _pull_in_table(data: dict[str, Any], path: Path, text: str) -> BoreTable | None:
    """Replace ``bores = "FILE"`` by the bores in that file."""
    if "bores" not in data:
        return None
    line = line_of(text, ("bores",))
    name = data.pop("bores")
    if not isinstance(name, str) or not name:
        raise InputError('must name a CSV file, e.g. bores = "bores.csv"', file=path, line=line, key=("bores",))
    if "bore" in data:
        raise InputError(
            "bores and [[bore]] are both given; keep the CSV or the tables", file=path, line=line, key=("bores",)
        )
    table = read_table(path.parent / name)
    data["bore"] = table.rows
    return table


def _file(path: Path, table: BoreTable | None, key: Key) -> Path:
    return table.path if table is not None and key[:1] == ("bore",) else path


def _line(found: Mapping[Key, int], table: BoreTable | None, key: Key) -> int | None:
    if table is None or key[:1] != ("bore",):
        return nearest_line(found, key)
    return table.lines[key[1]] if len(key) > 1 and isinstance(key[1], int) else 1


def read_table(path: Path) -> BoreTable:
    """A row of bores from a CSV, one bore a line under a heading of the same names as in a job file.

    Raises InputError on a byte order mark, on semicolons, an empty row, an unknown or repeated heading, a wrong number
    of fields, or a number that is none.
    """
    text = read_text(path, what="CSV of bores", keep_mark=True)
    if text.startswith("\ufeff"):
        raise InputError(
            "the file starts with a byte order mark; save it as CSV in UTF-8 without one", file=path, line=1
        )
    lines = text.splitlines()
    while lines and not lines[-1].strip():
        lines.pop()
    if not lines:
        raise InputError("the file is empty; head it as name,face,width,diameter", file=path, line=1)
    heading = _heading(lines[0], path)
    rows, numbers = [], []
    reader = csv.reader(lines[1:], strict=True)
    try:
        for fields in reader:
            line = reader.line_num + 1
            rows.append(_row(fields, heading, path, line))
            numbers.append(line)
    except csv.Error as error:
        raise InputError(
            f"not valid CSV: {error}; write one bore a line", file=path, line=reader.line_num + 1
        ) from None
    if not rows:
        raise InputError("no bore follows the heading; write one bore a line", file=path, line=1)
    return BoreTable(path, rows, numbers)


def _heading(line: str, path: Path) -> list[str]:
    if ";" in line or "\t" in line:
        found = "semicolons" if ";" in line else "tabs"
        raise InputError(
            f"the columns are parted by {found}; part them by commas, e.g. name,face,width,diameter",
            file=path,
            line=1,
        )
    try:
        heading = [name.strip() for name in next(csv.reader([line]), [])]
    except csv.Error as error:
        raise InputError(f"not valid CSV: {error}; head it as name,face,width,diameter", file=path, line=1) from None
    if not any(heading):
        raise InputError("the first line is empty; head it as name,face,width,diameter", file=path, line=1)
    check_names(heading, path, COLUMNS, "head it as name,face,width,diameter")
    for name in heading:
        if heading.count(name) > 1:
            raise InputError(f'"{name}" heads two columns; keep one', file=path, line=1)
    return heading


def _row(fields: list[str], heading: list[str], path: Path, line: int) -> dict[str, Any]:
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
    cells = {name: field.strip() for name, field in zip(heading, fields, strict=True)}
    return {name: _cell(name, cell, path, line) for name, cell in cells.items() if cell}


def _cell(name: str, cell: str, path: Path, line: int) -> str | float:
    if name in TEXT_COLUMNS:
        return cell
    if not _NUMBER.fullmatch(cell):
        example = point_for_comma(cell) or "e.g. 84.0"
        raise InputError(f'{name} = "{cell[:LONGEST_SHOWN]}" must be a plain number, {example}', file=path, line=line)
    return float(cell)


def starter(units: Units) -> str:
    """A commented job to start from, as text."""
    return starter_path(units).read_text(encoding="utf-8")


def starter_path(units: Units) -> Path:
    """The file that holds it."""
    return Path(__file__).parent / "starters" / f"{units}.toml"


def schema() -> Mapping[str, Any]:
    """JSON Schema of a job file, for editors; ``bores`` may stand in place of ``bore``."""
    model = Job.model_json_schema()
    model["properties"]["bores"] = {
        "type": "string",
        "title": "Bores",
        "description": "CSV of bores in place of [[bore]], one bore a line, headed by the same names",
        "examples": ["bores.csv"],
    }
    model["required"] = [name for name in model["required"] if name != "bore"]
    model["oneOf"] = [{"required": ["bore"]}, {"required": ["bores"]}]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **model}
