from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.csvtable import Row, csv_text, read_rows
from tests.jobs import told

COLUMNS = ("bore", "reading", "note")


def rows_of(folder: Path, text: str | bytes) -> list[Row]:
    path = folder / "table.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_rows(path, what="CSV of readings", columns=COLUMNS, required=("bore", "reading"))


def test_cells_stand_under_their_headings_whatever_the_order(tmp_path: Path) -> None:
    (first, second) = rows_of(tmp_path, 'reading, bore\r\n 84.01 ,1\r\n84.02,"2, rear"\r\n\r\n')
    assert (first.line, first.cells) == (2, {"reading": "84.01", "bore": "1"})
    assert (second.line, second.cell("bore"), second.cell("note")) == (3, "2, rear", "")


def test_a_number_is_plain_or_missing(tmp_path: Path) -> None:
    (row,) = rows_of(tmp_path, "bore,reading,note\n.5,-3.,\n")
    assert (row.number("bore", "1"), row.number("reading", "1"), row.number("note", "1")) == (0.5, -3, None)


@pytest.mark.parametrize("cell", ["84e1", "1e400", "nan", "inf", "0x10", "1_0", "--1", ".", "+", "٣", "9" * 41])
def test_what_is_no_plain_number_is_refused(tmp_path: Path, cell: str) -> None:
    (row,) = rows_of(tmp_path, f"bore,reading\n1,{cell}\n")
    says = f'{tmp_path / "table.csv"}:2: reading: "{cell[:40]}" must be a plain number, e.g. 84.0'
    assert told(lambda: row.number("reading", "84.0")) == says


@pytest.mark.parametrize(("cell", "point"), [("84,01", "84.01"), ("-,5", "-.5")])
def test_a_decimal_comma_is_told_to_be_a_point(tmp_path: Path, cell: str, point: str) -> None:
    (row,) = rows_of(tmp_path, f'bore,reading\n1,"{cell}"\n')
    says = f'"{cell}" must be a plain number, decimals with a point: {point}'
    assert told(lambda: row.number("reading", "84.0")).endswith(says)


MISTAKES = [
    ("", 1, "the file is empty; head it as bore,reading"),
    ("\n\n", 1, "the file is empty; head it as bore,reading"),
    ("\ufeffbore,reading\n1,2\n", 1, "the file starts with a byte order mark; save it as CSV in UTF-8 without one"),
    ("bore;reading\n", 1, "the columns are parted by semicolons; part them by commas: head it as bore,reading"),
    ("bore\treading\n", 1, "the columns are parted by tabs; part them by commas: head it as bore,reading"),
    ('bore,"reading\n', 1, "not valid CSV: unexpected end of data; head it as bore,reading"),
    (
        "1,84.01\n2,84.02\n",
        1,
        "the first line must be headings, but holds numbers; put headings above it: head it as bore,reading",
    ),
    (
        "front,84.01\nrear,84.02\n",
        1,
        "the first line must be headings, but holds numbers; put headings above it: head it as bore,reading",
    ),
    ("bore,readings\n", 1, '"readings" heads a column, but is none of bore, reading, note; did you mean reading?'),
    ("Bore,reading\n", 1, '"Bore" heads a column, but is none of bore, reading, note; did you mean bore?'),
    ("BORE,reading\n", 1, '"BORE" heads a column, but is none of bore, reading, note; did you mean bore?'),
    ("bore,diameter\n", 1, '"diameter" heads a column, but is none of bore, reading, note'),
    ("bore,reading,\n", 1, '"" heads a column, but is none of bore, reading, note'),
    ("bore,bore,reading\n", 1, '"bore" heads two columns; keep one'),
    ("bore,note\n", 1, 'no column is headed "reading"; head it as bore,reading'),
    ("bore,reading\n", 1, "no line follows the heading"),
    ("bore,reading\n1,2\n,\n", 3, "this row is empty; delete it"),
    ("bore,reading\n1,2\n\n1,2\n", 3, "this row is empty; delete it"),
    ("bore,reading\n1\n", 2, "1 field under 2 headings; write one for each of bore,reading"),
    ("bore,reading\n1;84.0\n", 2, "1 field under 2 headings; part them by commas; write one for each of bore,reading"),
    (
        "bore,reading\n1,84,01\n",
        2,
        "3 fields under 2 headings; write decimals with a point; write one for each of bore,reading",
    ),
    ('bore,reading\n1,"2\n', 2, "not valid CSV: unexpected end of data; head it as bore,reading"),
]


@pytest.mark.parametrize(("text", "line", "says"), MISTAKES)
def test_a_mistake_is_told_with_its_line(tmp_path: Path, text: str, line: int, says: str) -> None:
    assert told(lambda: rows_of(tmp_path, text)) == f"{tmp_path / 'table.csv'}:{line}: {says}"


def test_what_is_no_text_is_refused(tmp_path: Path) -> None:
    assert "this is no text: byte 13 is not UTF-8" in told(lambda: rows_of(tmp_path, b"bore,reading\n\xff"))


_CELLS = st.text(st.characters(codec="ascii", exclude_categories=["Cc"]), max_size=8).map(str.strip)


@settings(max_examples=50)
@given(st.lists(st.tuples(_CELLS, _CELLS, _CELLS).filter(any), min_size=1))
def test_a_table_is_read_as_it_was_written(
    tmp_path_factory: pytest.TempPathFactory, table: list[tuple[str, str, str]]
) -> None:
    rows = rows_of(tmp_path_factory.getbasetemp(), csv_text(COLUMNS, table))
    assert [tuple(row.cell(name) for name in COLUMNS) for row in rows] == table
    assert [row.line for row in rows] == list(range(2, len(table) + 2))
