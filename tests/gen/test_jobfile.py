import json
import os
import re
import tempfile
import tomllib
from pathlib import Path
from typing import Final

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from gen.job import Bore, Job
from gen.jobfile import COLUMNS, load, read_table, schema, starter
from gen.row import housings
from post.units import Units
from post.userfile import InputError
from tests.jobs import INCH_TEXT, JOB_TEXT, Files, edited, job_files, job_of, make_job, told, without_bores, write_job

HEADING: Final = "name,face,width,diameter"
TABLE: Final = f"{HEADING}\n1,0,32,84.0\n2,-130,28,84.0\n"
ALLOWED_IN_BORE: Final = (
    "Allowed here: name, face, width, x, length, diameter, face_turns, rpm, feed, approach, overrun"
)


def refused(folder: Path, *changes: tuple[str, str], text: str = JOB_TEXT) -> str:
    """What is told of a job file, from its name on."""
    path = write_job(folder, text, *changes)
    return told(lambda: load(path)).replace(f"{folder}{os.sep}", "")


def table_refused(folder: Path, table: str | bytes) -> str:
    """What is told of a CSV of bores, from its name on."""
    path = write_job(folder, without_bores())
    (folder / "bores.csv").write_bytes(table if isinstance(table, bytes) else table.encode())
    return told(lambda: load(path)).replace(f"{folder}{os.sep}", "")


def test_a_job_is_loaded_with_where_it_came_from(tmp_path: Path) -> None:
    path = write_job(tmp_path)
    source = load(path)
    assert source.job == make_job()
    assert (source.path, source.text, source.table) == (path, JOB_TEXT, None)


def test_an_inch_job_is_loaded_in_millimetres(tmp_path: Path) -> None:
    assert load(write_job(tmp_path, INCH_TEXT)).job == make_job(INCH_TEXT)


@pytest.mark.parametrize("change", [("\n", "\r\n"), ('name  = "Harbour', '\ufeffname  = "Harbour')])
def test_line_ends_of_windows_and_a_byte_order_mark_do_no_harm(tmp_path: Path, change: tuple[str, str]) -> None:
    path = tmp_path / "job.toml"
    path.write_text(JOB_TEXT.replace(*change), encoding="utf-8", newline="")
    assert load(path).job == make_job()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("width = 32", "widht = 32", "job.toml:36: bore 1, widht: there is no such key; did you mean width? "),
        ("width = 32", "q = 32", "job.toml:36: bore 1, q: there is no such key. " + ALLOWED_IN_BORE),
        ("[bar]", "[baar]", "job.toml:18: baar: there is no such key; did you mean bar? Allowed here: name, units, "),
        ("max_rpm  = 800", "maxrpm = 800", "job.toml:16: head.maxrpm: there is no such key; did you mean max_rpm? "),
        ("x = -150, ", "", "job.toml:6: machine.zero.x: is missing; write x = -150"),
        ("ratio    = 2.0\n", "", "job.toml:12: head.ratio: is missing; write ratio = 2.0"),
        ('name  = "Harbour pump engine, main housings"\n', "", "job.toml: name: is missing; write name = "),
        ("diameter = 84.0\nface_turns", "face_turns", "job.toml:33: bore 1, diameter: is missing; write diameter = 84"),
        ("width = 32", "", "job.toml:33: bore 1, width: is missing; give face and width"),
        (
            'units = "mm"',
            'units = "cm"',
            "job.toml:2: units: \"cm\" must be one of 'mm' or 'inch', e.g. units = \"mm\"",
        ),
        (
            'units = "mm"',
            'units = "in"',
            "job.toml:2: units: \"in\" must be one of 'mm' or 'inch', e.g. units = \"mm\"",
        ),
        ('units = "mm"', "", 'job.toml: units: is missing; write units = "mm"'),
        ('units = "mm"', 'units = ["mm"]', "job.toml:2: units: [\"mm\"] must be one of 'mm' or 'inch'"),
        ('units = "mm"', "units = { mm = true }", "job.toml:2: units: { mm = true } must be one of 'mm' or 'inch'"),
        (
            "feed = 0.10",
            "feed = nan",
            "job.toml:24: cut.feed: nan must be a plain number, neither infinite nor NaN, e.g. feed = 0.1",
        ),
        (
            "rpm  = 380",
            "rpm  = inf",
            "job.toml:23: cut.rpm: inf must be a plain number, neither infinite nor NaN, e.g. rpm = 380",
        ),
        (
            "x = [-900, 100]",
            "x = [-inf, 100]",
            "job.toml:5: machine.travel.x 1: -inf must be a plain number, neither infinite nor NaN, e.g. x = ",
        ),
        ("feed = 0.10", "feed = 0", "job.toml:24: cut.feed: 0 must be greater than 0, e.g. feed = 0.1"),
        ("feed = 0.10", "feed = -0.1", "job.toml:24: cut.feed: -0.1 must be greater than 0, e.g. feed = 0.1"),
        ("feed = 0.10", 'feed = "0.1"', 'job.toml:24: cut.feed: "0.1" must be a number, e.g. feed = 0.1'),
        (
            "feed = 0.10",
            "feed = 0,1",
            "job.toml:24: not valid TOML: 0,1 has a comma; write decimals with a point, as 0.1",
        ),
        (
            "face = 0\nwidth = 32",
            "x = 3\nlength = 37.5",
            'job.toml:36: bore 1, length: 37.5 contradicts head.points = "-X": the cutter feeds toward -X, so length'
            " must be below zero, e.g. length = -37.5",
        ),
        (
            "face = -255",
            "face = -60",
            'job.toml:48: bore 3, face: bore "3" is out of order: X falls along the row, but here it goes from -130 mm'
            " to -60 mm; list the bores along the row",
        ),
        (
            "face = -130",
            "face = -30",
            'job.toml:42: bore 2, face: bores overlap: the cutter goes from 3 mm to -34.5 mm for bore "1", into the'
            ' metal of bore "2" from -58 mm to -30 mm; mend the positions, or make approach or overrun smaller',
        ),
        (
            "face = 0\nwidth = 32",
            "face = 0\nwidth = 32\nx = 3\nlength = -37.5",
            "job.toml:37: bore 1, x: face and x are both given; give face and width, or x and length",
        ),
        (
            "clearance_height = 160",
            "clearance_height = 30",
            'job.toml:27: path.clearance_height: 30 mm lies in bore "1"; Z counts from the bore line, so it must be'
            " above its radius, 42 mm, and clear of the block",
        ),
        (
            "clearance_height = 160",
            "clearance_height = -5",
            "job.toml:27: path.clearance_height: -5 must be greater than 0, e.g. clearance_height = 160",
        ),
        (
            'work_offset = "G54"',
            'work_offset = "G60"',
            "job.toml:7: machine.work_offset: \"G60\" must be one of 'G54', 'G55', 'G56', 'G57', 'G58', 'G59', 'G59.1',"
            " 'G59.2' or 'G59.3', e.g. work_offset = \"G54\"",
        ),
        ("[bar]", "[bar", "job.toml:18: not valid TOML: "),
        ("width = 28", "width = -28", "job.toml:43: bore 2, width: -28 must be greater than 0, e.g. width = 32"),
    ],
    ids=lambda value: value[:24] if isinstance(value, str) else None,
)
def test_a_mistake_is_told_with_file_line_key_value_rule_and_example(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    assert refused(tmp_path, (old, new)).startswith(says)


def test_several_mistakes_are_counted(tmp_path: Path) -> None:
    message = refused(tmp_path, ("width = 32", "width = -1"), ("width = 28", "width = -1"))
    assert message == (
        "job.toml:36: bore 1, width: -1 must be greater than 0, e.g. width = 32 (and 1 more mistake after this one)"
    )


def test_a_row_whose_bores_are_all_wrong_is_told_by_its_first_mistake(tmp_path: Path) -> None:
    text = JOB_TEXT[: JOB_TEXT.index('[[bore]]\nname = "2"')]
    assert refused(tmp_path, ("width = 32", "width = -1"), text=text) == (
        "job.toml:36: bore 1, width: -1 must be greater than 0, e.g. width = 32"
    )


def test_a_row_without_a_bore_is_told_how_to_write_one(tmp_path: Path) -> None:
    text = JOB_TEXT[: JOB_TEXT.index("[[bore]]")]
    message = refused(tmp_path, text=text)
    assert message.startswith("job.toml: bore: is missing")
    assert "[[bore]]" in message


@pytest.mark.parametrize("value", ["[]", "5", "{ face = 0 }"])
def test_bores_that_are_no_tables_are_not_told_to_be_two_numbers(tmp_path: Path, value: str) -> None:
    text = f"bore = {value}\n" + JOB_TEXT[: JOB_TEXT.index("[[bore]]")]
    message = refused(tmp_path, text=text)
    assert message.startswith("job.toml:1: bore: ")
    assert "two numbers" not in message


def test_a_missing_table_is_told_how_to_write_it(tmp_path: Path) -> None:
    message = refused(tmp_path, ('[bar]\ndiameter = 50\nhand     = "right"\n', ""))
    assert message == "job.toml: bar: is missing; write [bar]"


@pytest.mark.parametrize(
    ("old", "new", "key", "most"),
    [
        ("feed = 0.004", "feed = 0", "feed", 0.01),
        ("feed = 0.004\n", "", "feed", 0.01),
        ("clearance_height = 6.5", "clearance_height = -1", "clearance_height", 12),
        ("approach    = 0.125", "approach = -0.125", "approach", 0.25),
        ("overrun     = 0.1", "overrun = -0.1", "overrun", 0.25),
        ("max_feed    = 200", "max_feed = nan", "max_feed", 400),
        ("diameter = 2", "diameter = 0", "diameter", 6),
        ("diameter = 3.3125", "diameter = 0", "diameter", 6),
    ],
)
def test_an_example_for_a_job_in_inches_is_in_inches(tmp_path: Path, old: str, new: str, key: str, most: float) -> None:
    """0.1 is a usual feed a turn in millimetres and a crash in inches: who copies an example must not meet it."""
    message = refused(tmp_path, (old, new), text=INCH_TEXT)
    match = re.search(rf"(?:e\.g\.|write) {key} = ([0-9.]+)", message)
    assert match
    assert 0 < float(match[1]) <= most


def test_an_extent_in_inches_is_told_in_inches(tmp_path: Path) -> None:
    assert refused(tmp_path, ("[-40, 4]", "[4, -40]"), text=INCH_TEXT).startswith(
        "job.toml:5: machine.travel.x: [4, -40] must be [lowest, highest], the first number below the second"
    )


def test_a_job_that_is_not_there(tmp_path: Path) -> None:
    write_job(tmp_path)
    path = tmp_path / "jobb.toml"
    assert told(lambda: load(path)) == f"{path}: there is no such job file; did you mean job.toml?"


def test_a_folder_is_no_job(tmp_path: Path) -> None:
    assert told(lambda: load(tmp_path)) == f"{tmp_path}: this is a folder; give the path of a job file"


def test_a_job_of_100_megabytes_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.touch()
    os.truncate(path, 100_000_000)
    assert told(lambda: load(path)) == (
        f"{path}: this file is larger than 4 MB, the most a job file may be; is it the right file?"
    )


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"PK\x03\x04\x14\0\0", "job.toml:1: this is no text: it holds a zero byte; is it the right job file?"),
        (b"\x89PNG\r\n", "job.toml:1: this is no text: byte 0 is not UTF-8; save the job file as UTF-8"),
        (
            JOB_TEXT.replace("Harbour", "H\u00e4fen").encode("latin-1"),
            "job.toml:1: this is no text: byte 10 is not UTF-8; save the job file as UTF-8",
        ),
    ],
)
def test_a_binary_job(tmp_path: Path, data: bytes, says: str) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(data)
    assert told(lambda: load(path)) == f"{tmp_path}{os.sep}{says}"


def test_an_empty_job_file_is_told_what_comes_first(tmp_path: Path) -> None:
    message = refused(tmp_path, text="")
    assert message.startswith('job.toml: name: is missing; write name = "Harbour pump engine, main housings" (and ')


def test_bores_from_a_table_are_those_from_tables(tmp_path: Path) -> None:
    table = "name,face,width,diameter,face_turns\n1,0,32,84.0,4\n2,-130,28,84.0,\n3,-255,32,84.0,\n"
    source = load(write_job(tmp_path, without_bores(), table=table))
    assert source.job == make_job()
    assert source.table is not None
    assert source.table.lines == [2, 3, 4]


@pytest.mark.parametrize(
    "table",
    [
        TABLE.replace("\n", "\r\n"),
        TABLE + "\n\n  \n",
        TABLE.replace(",", " , "),
        '"name","face","width","diameter"\n"1","0","32","84.0"\n"2","-130","28","84.0"\n',
        TABLE.replace("-130", "-130.").replace(",0,", ",+.0,"),
    ],
)
def test_ways_to_write_the_same_table(tmp_path: Path, table: str) -> None:
    plain = load(write_job(tmp_path, without_bores(), table=TABLE)).job
    assert load(write_job(tmp_path, without_bores(), table=table)).job == plain


@pytest.mark.parametrize(
    ("table", "says"),
    [
        (
            "\ufeff" + TABLE,
            "bores.csv:1: the file starts with a byte order mark; save it as CSV in UTF-8 without one",
        ),
        (
            TABLE.replace(",", ";"),
            "bores.csv:1: the columns are parted by semicolons; part them by commas, e.g. name,face,width,diameter",
        ),
        (
            TABLE.replace(",", "\t"),
            "bores.csv:1: the columns are parted by tabs; part them by commas, e.g. name,face,width,diameter",
        ),
        (
            f"{HEADING}\n1;0;32;84.0\n",
            "bores.csv:2: 1 field under 4 headings; part them by commas; write one for each of ",
        ),
        (TABLE.replace("\n2,", "\n\n2,"), "bores.csv:3: this row is empty; delete it"),
        (TABLE.replace("\n2,", "\n,,,\n2,"), "bores.csv:3: this row is empty; delete it"),
        (TABLE + " , , ,\n", "bores.csv:4: this row is empty; delete it"),
        (
            TABLE.replace("diameter", "dia"),
            'bores.csv:1: "dia" heads a column, but is none of name, face, width, x, length, diameter, face_turns, rpm,'
            " feed, approach, overrun, hole, tolerance; did you mean diameter?",
        ),
        (
            TABLE.replace(HEADING + "\n", ""),
            "bores.csv:1: the first line must be headings, but holds numbers; put headings above it: head it as"
            " name,face,width,diameter",
        ),
        (TABLE.replace("name", ""), 'bores.csv:1: "" heads a column, but is none of name, face, '),
        (TABLE.replace("width", "face"), 'bores.csv:1: "face" heads two columns; keep one'),
        (
            TABLE.replace(",28,84.0", ",28"),
            "bores.csv:3: 3 fields under 4 headings; write one for each of name,face,width,diameter",
        ),
        (
            TABLE.replace(",28,84.0", ",28,84,0"),
            "bores.csv:3: 5 fields under 4 headings; write decimals with a point; write one for each of name,face,"
            "width,diameter",
        ),
        (TABLE.replace("28", "wide"), 'bores.csv:3: width = "wide" must be a plain number, e.g. 84.0'),
        (
            TABLE.replace("28", '"28,5"'),
            'bores.csv:3: width = "28,5" must be a plain number, decimals with a point: 28.5',
        ),
        (TABLE.replace("28", "nan"), 'bores.csv:3: width = "nan" must be a plain number, e.g. 84.0'),
        (TABLE.replace("28", "inf"), 'bores.csv:3: width = "inf" must be a plain number, e.g. 84.0'),
        (TABLE.replace("28", "2_8"), 'bores.csv:3: width = "2_8" must be a plain number, e.g. 84.0'),
        (TABLE.replace("28", "\u0662\u0668"), 'bores.csv:3: width = "\u0662\u0668" must be a plain number, e.g. 84.0'),
        (TABLE.replace("28", "x" * 90), f'bores.csv:3: width = "{"x" * 40}" must be a plain number, e.g. 84.0'),
        (TABLE.replace("28", '"28'), "bores.csv:3: not valid CSV: "),
        (HEADING + "\n", "bores.csv:1: no bore follows the heading; write one bore a line"),
        ("", "bores.csv:1: the file is empty; head it as name,face,width,diameter"),
        ("\n \n", "bores.csv:1: the file is empty; head it as name,face,width,diameter"),
        (TABLE.encode("utf-16"), "bores.csv:1: this is no text: byte 0 is not UTF-8; save the CSV of bores as UTF-8"),
        (
            TABLE.replace("\n2", "\n\0"),
            "bores.csv:3: this is no text: it holds a zero byte; is it the right CSV of bores?",
        ),
        (TABLE.replace("28", "-28"), "bores.csv:3: bore 2, width: -28.0 must be greater than 0, e.g. width = 32"),
        (TABLE.replace("28", ""), "bores.csv:3: bore 2, width: is missing; give face and width "),
        (
            TABLE.replace("\n2,", "\n1,"),
            'bores.csv:3: bore 2, name: "1" is already the name of bore 1; give each its own',
        ),
        (TABLE.replace("-130", "-30"), "bores.csv:3: bore 2, face: bores overlap: "),
        (TABLE.replace("28", "9" * 400), "bores.csv:3: bore 2, width: inf must be a plain number"),
    ],
    ids=lambda value: None if isinstance(value, bytes) else ascii(value)[-40:],
)
def test_a_mistake_in_a_table_is_told_at_its_line(tmp_path: Path, table: str | bytes, says: str) -> None:
    assert table_refused(tmp_path, table).startswith(says)


def test_a_table_whose_rows_all_lack_a_column_is_told_by_its_first_row(tmp_path: Path) -> None:
    message = table_refused(tmp_path, "name,face,width\n1,0,32\n2,-130,28\n")
    assert message.startswith("bores.csv:2: bore 1, diameter: is missing; write diameter = 84.0")


def test_a_heading_of_another_case_is_told_the_near_one(tmp_path: Path) -> None:
    message = table_refused(tmp_path, TABLE.replace("width", "WIDTH"))
    assert message.startswith('bores.csv:1: "WIDTH" heads a column, but is none of ')
    assert message.endswith("; did you mean width?")


def test_a_table_that_starts_with_an_empty_line_is_told_so(tmp_path: Path) -> None:
    message = table_refused(tmp_path, "\n" + TABLE)
    assert message.startswith("bores.csv:1: ")
    assert "empty" in message


@pytest.mark.parametrize("table", ["x" * 200_000 + "\n1\n", f"{HEADING}\n{'x' * 200_000},0,32,84\n"])
def test_a_field_too_long_for_a_table_is_an_input_error(tmp_path: Path, table: str) -> None:
    message = table_refused(tmp_path, table)
    assert message.startswith("bores.csv:")
    assert len(message) < 500


def test_more_bores_than_a_row_may_have_are_told_in_a_short_message(tmp_path: Path) -> None:
    rows = "".join(f"{-9 * number},1,84\n" for number in range(10_001))
    message = table_refused(tmp_path, f"face,width,diameter\n{rows}")
    assert message.startswith("bores.csv:1: bore: ")
    assert "10000" in message
    assert len(message) < 250


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('bores = "bore.csv"', "bore.csv: there is no such CSV of bores; did you mean bores.csv?"),
        ('bores = "."', "this is a folder; give the path of a CSV of bores"),
        ("bores = 5", 'job.toml:1: bores: must name a CSV file, e.g. bores = "bores.csv"'),
        ('bores = ""', 'job.toml:1: bores: must name a CSV file, e.g. bores = "bores.csv"'),
        ('bores = ["bores.csv"]', 'job.toml:1: bores: must name a CSV file, e.g. bores = "bores.csv"'),
        ('bores = "a\\u0000b"', "CSV of bores"),
    ],
)
def test_a_table_that_cannot_be_had(tmp_path: Path, line: str, says: str) -> None:
    text = line + "\n" + JOB_TEXT[: JOB_TEXT.index("[[bore]]")]
    path = write_job(tmp_path, text, table=TABLE)
    message = told(lambda: load(path)).replace(f"{tmp_path}{os.sep}", "")
    assert says in message
    assert not says.startswith("job.toml") or message == says


def test_both_a_table_and_tables(tmp_path: Path) -> None:
    path = write_job(tmp_path, 'bores = "bores.csv"\n' + JOB_TEXT, table=TABLE)
    assert told(lambda: load(path)) == (
        f"{path}:1: bores: bores and [[bore]] are both given; keep the CSV or the tables"
    )


def test_a_later_mistake_is_told_where_its_key_stands(tmp_path: Path) -> None:
    source = load(write_job(tmp_path))
    error = source.at_place(InputError("too fast", key=("bore", 1, "rpm")))
    assert str(error) == f"{tmp_path / 'job.toml'}:40: bore 2, rpm: too fast"
    assert str(source.at_place(InputError("too fast", key=("cut", "rpm")))).startswith(f"{tmp_path / 'job.toml'}:23: ")


def test_a_later_mistake_in_a_table_is_told_at_its_row(tmp_path: Path) -> None:
    source = load(write_job(tmp_path, without_bores(), table=TABLE))
    error = source.at_place(InputError("too fast", key=("bore", 1, "rpm")))
    assert str(error) == f"{tmp_path / 'bores.csv'}:3: bore 2, rpm: too fast"
    assert str(source.at_place(InputError("too fast", key=("cut", "rpm")))).startswith(f"{tmp_path / 'job.toml'}:24: ")


def test_a_later_mistake_that_has_its_place_or_no_key_stays_as_it_is(tmp_path: Path) -> None:
    source = load(write_job(tmp_path))
    for error in (InputError("wrong"), InputError("wrong", file=Path("a.toml"), key=("cut", "rpm"))):
        assert source.at_place(error) is error


@settings(max_examples=60)
@given(job_files())
def test_every_valid_job_loads_the_same_from_files(files: Files) -> None:
    with tempfile.TemporaryDirectory() as folder:
        assert load(files.put(Path(folder))).job == job_of(files.data)


def load_bytes(data: bytes) -> Job | str:
    """The job in a file of these bytes, or what is told of it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_bytes(data)
        try:
            return load(path).job
        except InputError as error:
            return str(error)


@given(st.binary(max_size=60) | st.text(max_size=60).map(lambda text: text.encode("utf-8", "surrogatepass")))
def test_any_bytes_are_a_job_or_one_message(data: bytes) -> None:
    outcome = load_bytes(data)
    assert isinstance(outcome, str)
    assert re.search(r"job\.toml(:\d+)?: [^\n]+\Z", outcome)


VALUES: Final = (
    "0", "-1", "nan", "inf", "1e400", "true", '""', '"x"', "[]", "[1]", "[[1]]", "{}", "{ x = 1 }", "1979-05-27",
    "0x1f", "'\\'", '"""a\nb"""', "9" * 500, "9" * 5000, "0x" + "f" * 5000, '"\\u0000"', '"\\u001b[2J"', "\u2028", "",
)  # fmt: skip
ASSIGNED: Final = re.compile(r"(?<== )[^\n]+")


@settings(max_examples=150)
@given(st.data(), st.sampled_from((JOB_TEXT, INCH_TEXT)))
def test_any_change_to_a_job_is_a_job_or_one_message(data: st.DataObject, text: str) -> None:
    for _ in range(data.draw(st.integers(1, 2))):
        places = [match.span() for match in ASSIGNED.finditer(text)]
        start, end = data.draw(st.sampled_from(places))
        text = text[:start] + data.draw(st.sampled_from(VALUES) | st.text(max_size=8)) + text[end:]
    outcome = load_bytes(text.encode("utf-8", "surrogatepass"))
    assert isinstance(outcome, Job) or re.search(r"job\.toml(:\d+)?: ", outcome)


@settings(max_examples=150)
@given(st.text(st.sampled_from(',;\t\n\r"ab1.-+ \ufeff\0\u2028'), max_size=30), st.booleans())
@example("\n", True)
def test_any_text_is_a_table_or_one_message(text: str, headed: bool) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bores.csv"
        path.write_text(f"{HEADING}\n{text}" if headed else text, encoding="utf-8", newline="")
        try:
            table = read_table(path)
        except InputError as error:
            assert re.match(r".*bores\.csv:\d+: ", str(error))  # noqa: PT017 - either outcome is right
        else:
            assert len(table.rows) == len(table.lines) > 0
            assert set().union(*table.rows) <= set(COLUMNS)


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_a_starter_is_a_job_in_its_units(tmp_path: Path, units: Units) -> None:
    job = load(write_job(tmp_path, starter(units))).job
    assert job.units == units
    assert len(housings(job)) == 2


def test_the_two_starters_tell_the_same(tmp_path: Path) -> None:
    mm, inch = (tomllib.loads(starter(units)) for units in ("mm", "inch"))
    assert {name: list(table) for name, table in mm.items() if isinstance(table, dict)} == {
        name: list(table) for name, table in inch.items() if isinstance(table, dict)
    }


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_the_lift_a_starter_shows_works_when_uncommented(tmp_path: Path, units: Units) -> None:
    text = edited(
        starter(units), ("# lift = ", "lift = "), ('withdraw    = "feed"', 'withdraw = "lift"'), ("= 2.0 ", "= 1.0 ")
    )
    assert load(write_job(tmp_path, text)).job.path.lift is not None


def test_the_schema_takes_bores_in_tables_or_in_a_file() -> None:
    told_schema = json.loads(json.dumps(schema()))
    assert told_schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert told_schema["additionalProperties"] is False
    assert set(told_schema["properties"]) == {*Job.model_fields, "bores"}
    needed = {name for name, field in Job.model_fields.items() if field.is_required()}
    assert {"units", "machine", "bore"} < needed
    assert set(told_schema["required"]) == needed - {"bore"}
    assert told_schema["oneOf"] == [{"required": ["bore"]}, {"required": ["bores"]}]
    assert set(told_schema["$defs"]["Bore"]["properties"]) == set(Bore.model_fields) >= set(COLUMNS)


def test_the_schema_lets_a_lift_be_told_by_axis_or_by_degrees() -> None:
    """An editor that follows the schema must not mark toward = "+Z", which the file's own starter shows."""
    toward = json.dumps(schema()["$defs"]["LiftOff"]["properties"]["toward"])
    assert '"+Z"' in toward.replace('"examples": ["+Z"]', "")
    assert '"number"' in toward


def test_a_row_of_bores_offers_only_columns_that_a_cell_can_fill() -> None:
    assert not {"measured", "limits", "bulkhead_y", "bulkhead_z"} & set(COLUMNS)
    assert "tolerance" in COLUMNS
