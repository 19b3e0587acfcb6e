from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.job import Job
from gen.readings import COLUMNS, Measured, earlier, of_rows, read, refuse_in
from gen.settingwords import setting_of
from post.userfile import InputError
from tests.jobs import INCH_TEXT, make_job, told
from tests.shop import line, put, rows, sized_job

JOB = sized_job()
TWO = [line(1, 83.08, 0, 5, 83.07), line(1, 83.08, 90, 5, 83.08)]


def inch_job(**changes: Any) -> Job:
    return make_job(INCH_TEXT, size={"tolerance": "H6"}, **changes)


def refused(one: dict[str, str], job: Job = JOB) -> str:
    """What is told of a line, without its place."""
    says = told(lambda: of_rows(rows([one]), job))
    assert says.startswith("measured.csv:2: ")
    return says.removeprefix("measured.csv:2: ")


def test_a_line_is_a_reading(tmp_path: Path) -> None:
    path = put(tmp_path, [line(2, 83.08, 45, 7.5, 83.071, pass_=1, note="keep")])
    (reading,) = read(path, JOB).readings
    assert (reading.bore, reading.set_mm, reading.angle_deg, reading.depth_mm) == (1, 83.08, 45, 7.5)
    assert (reading.diameter_mm, reading.number, reading.keep) == (83.071, 1, True)
    assert reading.cells == ("2", "83.08", "45", "7.5", "83.071", "1", "keep")
    assert (reading.row.path, reading.row.line) == (path, 2)


def test_what_may_be_empty_is_none() -> None:
    (reading,) = of_rows(rows([line(" 2 ", 83.08, "", "", 83.071)]), JOB).readings
    assert (reading.bore, reading.angle_deg, reading.depth_mm, reading.number, reading.keep) == (
        1,
        None,
        None,
        None,
        False,
    )


def test_inches_become_millimetres() -> None:
    (reading,) = of_rows(rows([line(1, 3.3, 0, 0.5, 3.3001)]), inch_job()).readings
    assert (reading.set_mm, reading.depth_mm, reading.diameter_mm) == pytest.approx((83.82, 12.7, 83.82254))


@pytest.mark.parametrize("form", ["bore", "over", "tip"])
def test_a_setting_is_read_in_the_shop_s_form(form: str) -> None:
    job = sized_job(size={"tolerance": "H6", "setting": form})
    (reading,) = of_rows(rows([line(1, setting_of(job, 83.08), "", "", 83.07)]), job).readings
    assert reading.set_mm == pytest.approx(83.08, abs=1e-9)


def test_readings_come_by_bore_in_the_job_s_order() -> None:
    measured = of_rows(rows([line(bore, 83.08, "", "", size) for bore, size in ((3, 83), (1, 83.1), (3, 83.2))]), JOB)
    assert {bore: [one.diameter_mm for one in of] for bore, of in measured.by_bore.items()} == {
        0: [83.1],
        2: [83, 83.2],
    }
    assert [*measured.by_bore] == [*measured.forms] == [0, 2]


REFUSED = [
    (line("", 83, "", "", 83), 'bore: is empty; the job has bores "1", "2", "3"'),
    (line("4", 83, "", "", 83), 'bore: the job has no bore "4"; it has bores "1", "2", "3"'),
    (line(1, 83, "", "", ""), "reading: is empty; write what the gauge showed, e.g. 84"),
    (line(1, 83, "", "", "about 83"), 'reading: "about 83" must be a plain number, e.g. 84'),
    (line(1, 83, "", "", -83), "reading: -83 must be more than 0, e.g. 84"),
    (line(1, 83, "", "", 0), "reading: 0 must be more than 0, e.g. 84"),
    (
        line(1, 83, "", "", 3.27),
        "reading: 3.27 looks like inches in a job in millimetres: 84 mm is about right for a bore of 84 mm",
    ),
    (line(1, 83, "", "", 2108), "reading: 2108 is 25 times too large: 84 mm is about right for a bore of 84 mm"),
    (line(1, 83, "", "", 8.3), "reading: 8.3 cannot be meant: 84 mm is about right for a bore of 84 mm"),
    (line(1, "", "", "", 83), "set: is empty; write what the cutter was set to, e.g. 84"),
    (line(1, -83, "", "", 83), "set: -83 must be more than 0, e.g. 84"),
    (
        line(1, 3.27, "", "", 83),
        "set: 3.27 looks like inches in a job in millimetres: 84 mm is about right for a bore of 84 mm",
    ),
    (line(1, 83, 360, "", 83), "angle: 360 must be 0 or more and less than 360 degrees, e.g. 90"),
    (line(1, 83, -1, "", 83), "angle: -1 must be 0 or more and less than 360 degrees, e.g. 90"),
    (
        line(1, 83, 0, 28.1, 83),
        "depth: 28.1 is outside the bore; it must be 0 to 28 mm from the face that is cut first, e.g. 14",
    ),
    (
        line(1, 83, 0, -0.1, 83),
        "depth: -0.1 is outside the bore; it must be 0 to 28 mm from the face that is cut first, e.g. 14",
    ),
    *(
        (
            line(1, 83, 0, 0, 83, pass_=number),
            f"pass: {number} is no pass that cuts this bore; it is cut in 1, 2, 3: write one of these or nothing",
        )
        for number in (0, 4, 1.5, -1)
    ),
    (line(1, 83, 0, 0, 83, note="Keep"), 'note: "Keep" must be keep or nothing'),
]


@pytest.mark.parametrize(("one", "says"), REFUSED)
def test_a_line_that_cannot_be_meant_is_refused(one: dict[str, str], says: str) -> None:
    assert refused(one) == says


def test_slips_of_the_unit_in_a_job_in_inches_are_named() -> None:
    job = inch_job()
    wanted = "3.3125 in is about right for a bore of 3.3125 in"
    assert (
        refused(line(1, 3.3, "", "", 83.8), job) == f"reading: 83.8 looks like millimetres in a job in inches: {wanted}"
    )
    assert refused(line(1, 3.3, "", "", 0.13), job) == f"reading: 0.13 is 25 times too small: {wanted}"
    assert refused(line(1, 83.8, "", "", 3.3), job) == f"set: 83.8 looks like millimetres in a job in inches: {wanted}"
    assert refused(line(1, 3.3, 0, 12.7, 3.3), job) == (
        "depth: 12.7 looks like millimetres in a job in inches; it must be 0 to 1.125 in from the face that is cut"
        " first, e.g. 0.5625"
    )

    assert "depth: 30 is outside the bore; it must be 0 to 1.125 in" in refused(line(1, 3.3, 0, 30, 3.3), job)


def test_the_far_face_and_sizes_within_reason_are_read() -> None:
    of_rows(rows([line(1, 104, 0, 28, 104), line(2, 68, 0, 0, 68)]), JOB)
    for size in (66, 106):
        assert f"reading: {size} cannot be meant" in refused(line(1, 83, 0, 0, size))
    of_rows(rows([line(1, 3.3, 0, 1.125, 3.3)]), inch_job())


def test_an_air_pass_cuts_nothing() -> None:
    job = sized_job(passes={"depth": 0.5, "finish_stock": 0.1, "skim": 0.05, "air": True})
    assert "it is cut in 2, 3, 4: write" in refused(line(1, 83, 0, 0, 83, pass_=1), job)


TOGETHER = [
    (line(1, 83.09, 0, 15, 83.07), 'set: 83.09, but line 2 tells 83.08 of bore "1" too; a cut has one setting'),
    (line(1, 83.08, "", 15, 83.07), 'angle: is told of some readings of bore "1" and not of others; tell it of all or'),
    (
        line(1, 83.08, 0, "", 83.07),
        'depth: is told of some readings of bore "1" and not of others; tell it of all or of',
    ),
    (line(1, 83.08, 0, 15, 83.07, pass_=1), 'pass: differs from that on line 2, of bore "1" too'),
    (line(1, 83.08, 90, 5.0, 83.07), 'reading: bore "1" was read at this angle and depth on line 3 already; keep one'),
]


@pytest.mark.parametrize(("one", "says"), TOGETHER)
def test_readings_of_a_bore_must_go_together(one: dict[str, str], says: str) -> None:
    assert told(lambda: of_rows(rows([*TWO, one]), JOB)).startswith(f"measured.csv:4: {says}")
    of_rows(rows([*TWO, {**one, "bore": "2"}]), JOB)  # no such trouble in another bore


def test_readings_at_no_told_place_may_repeat() -> None:
    assert len(of_rows(rows([line(1, 83.08, "", "", 83.07)] * 3), JOB).readings) == 3


def test_a_finished_row_needs_no_settings(tmp_path: Path) -> None:
    path = tmp_path / "row.csv"
    path.write_text("bore,reading\n1,84.01\n", encoding="utf-8")
    assert (
        told(lambda: read(path, JOB)) == f'{path}:1: no column is headed "set"; head it as bore,set,angle,depth,reading'
    )
    assert read(path, JOB, with_set=False).readings[0].set_mm is None


def test_the_rounds_before_end_where_the_same_was_measured() -> None:
    one, two, three = (of_rows(rows([line(1, 83.08, "", "", size)]), JOB) for size in (83.0, 83.1, 83.2))
    assert earlier([one, two], three) == (one, two)
    assert earlier([one, two, three], of_rows(rows([line(1, 83.08, "", "", 83.1)]), JOB)) == (one,)
    assert not one.is_same(Measured((*one.readings, *two.readings)))


def test_an_error_about_the_whole_names_the_file() -> None:
    assert str(refuse_in(of_rows(rows(TWO), JOB), "so it is")) == "measured.csv: bore: so it is"


_CELL = st.one_of(
    st.sampled_from(["", "1", "2", "3", "keep", "0", "90", "-5", "83.08", "3.27", "1e5", "nan", "84,0"]),
    st.floats(-1e4, 1e4).map(repr),
    st.text(max_size=5),
)


@given(st.lists(st.fixed_dictionaries(dict.fromkeys(COLUMNS, _CELL)), min_size=1, max_size=4), st.booleans())
def test_anything_is_a_reading_or_refused(lines: list[dict[str, str]], with_set: bool) -> None:
    try:
        measured = of_rows(rows(lines), JOB, with_set=with_set)
    except InputError:
        return
    assert all(60 < reading.diameter_mm < 110 for reading in measured.readings)
