"""Cells of a table of readings: where in which bore, and whether a length can be meant of it."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.borecells import MOST_NAMED, Places, named, slip_of_unit
from gen.csvtable import Row
from tests.jobs import INCH_TEXT, make_job, told
from tests.shop import sized_job

MM = Places(sized_job())
INCH = Places(make_job(INCH_TEXT))


def row(**cells: object) -> Row:
    return Row(Path("row.csv"), 7, {name: str(cell) for name, cell in cells.items()})


def test_many_bores_are_named_in_short() -> None:
    assert named(["a"]) == 'bore "a"'
    assert named(map(str, range(MOST_NAMED))).endswith('"10", "11"')
    assert named(map(str, range(MOST_NAMED + 5))).endswith('"11" and 5 more')


def test_a_bore_is_found_by_its_name_whatever_the_spaces() -> None:
    places = Places(make_job(bore=[{"name": "left  end", "face": 0, "width": 20, "diameter": 84}]))
    assert places.bore(row(bore=" left   end ")) == 0
    assert told(
        lambda: places.bore(row(bore="left"))
    ) == 'row.csv:7: bore: the job has no bore "left"; it has bore ' + ('"left end"')
    assert told(lambda: places.bore(row(bore=""))) == 'row.csv:7: bore: is empty; the job has bore "left end"'


def test_an_angle() -> None:
    assert MM.angle(row(angle=0)) == 0
    assert MM.angle(row(angle=359.5)) == 359.5
    assert MM.angle(row()) is None
    assert told(lambda: MM.angle(row(angle=360))).startswith(
        "row.csv:7: angle: 360 must be 0 or more and less than 360"
    )


def test_a_depth_is_within_its_bore() -> None:
    assert MM.depth(row(depth=28), 0) == 28
    assert MM.depth(row(), 0) is None
    assert INCH.depth(row(depth=1.125), 0) == pytest.approx(28.575)
    assert "depth: 28.001 is outside the bore; it must be 0 to 28 mm" in told(lambda: MM.depth(row(depth=28.001), 0))
    assert "depth: 1.2 looks like millimetres in a job in inches" in told(lambda: INCH.depth(row(depth=1.2), 0))


def test_a_length_is_above_nothing() -> None:
    assert MM.length(row(size=83.5), "size", 84) == 83.5
    assert INCH.length(row(size=2), "size", 84) == pytest.approx(50.8)
    assert MM.length(row(), "size", 84) is None
    assert told(lambda: MM.length(row(size=0), "size", 84)) == "row.csv:7: size: 0 must be more than 0, e.g. 84"


@given(st.floats(1, 1e4))
def test_a_length_about_the_bore_passes_and_another_does_not(size: float) -> None:
    def ask() -> None:
        MM.about_the_bore(row(size=size), "size", size, 84, 84, lambda size: size)

    if 84 / 1.25 <= size <= 84 * 1.25:
        ask()
    else:
        assert told(ask).endswith(": 84 mm is about right for a bore of 84 mm")


def test_a_slip_of_the_unit_is_named() -> None:
    assert slip_of_unit(True, False, "mm") == "looks like inches in a job in millimetres"
    assert slip_of_unit(True, False, "inch") == "is 25 times too small"
    assert slip_of_unit(False, True, "inch") == "looks like millimetres in a job in inches"
    assert slip_of_unit(False, True, "mm") == "is 25 times too large"
    assert slip_of_unit(False, False, "mm") == "cannot be meant"
