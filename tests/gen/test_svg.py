import math
from itertools import pairwise
from xml.etree import ElementTree as Tree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.svg import APART, Page, apart, cut, number, polar, step, times

SPACE = "{http://www.w3.org/2000/svg}"
POSITIVE = st.floats(1e-9, 1e9)


def drawn(page: Page) -> Tree.Element:
    return Tree.fromstring(page.text())


def a_page() -> Page:
    return Page(200, 100.5, title="a < b & c", style="text { fill: #000 }")


def test_a_page_has_its_size_title_and_style() -> None:
    root = drawn(a_page())
    assert root.tag == f"{SPACE}svg"
    assert root.get("viewBox") == "0 0 200 100.5"
    assert (root.get("width"), root.get("height"), root.get("role")) == ("200", "100.5", "img")
    assert root.findtext(f"{SPACE}title") == "a < b & c"
    assert root.findtext(f"{SPACE}style") == "text { fill: #000 }"
    assert a_page().text().endswith("\n")


def test_parts_stand_where_they_are_put() -> None:
    page = a_page()
    page.line(1, 2.25, 3, 4, "a")
    page.rect(5, 6, 7, 8, "b")
    page.circle(9, 10, 11, "c")
    page.polygon("d", [(1, 2), (3.5, 4), (-0.001, 6)])
    *_, line, rect, circle, polygon = drawn(page)
    assert line.attrib == {"class": "a", "x1": "1", "y1": "2.25", "x2": "3", "y2": "4"}
    assert rect.attrib == {"class": "b", "x": "5", "y": "6", "width": "7", "height": "8"}
    assert circle.attrib == {"class": "c", "cx": "9", "cy": "10", "r": "11"}
    assert polygon.attrib == {"class": "d", "points": "1,2 3.5,4 0,6"}


def test_text_is_escaped_and_anchored() -> None:
    page = a_page()
    page.write(1, 2, '<b> & "c"')
    page.write(3, 4, "end", "strong", anchor="end")
    *_, first, second = drawn(page)
    assert first.text == '<b> & "c"'
    assert first.attrib == {"x": "1", "y": "2", "style": "text-anchor: start"}
    assert second.attrib == {"x": "3", "y": "4", "style": "text-anchor: end", "class": "strong"}
    assert "<b>" not in page.text()


def test_a_triangle_has_its_tip_at_the_place_and_its_foot_along_the_way() -> None:
    page = a_page()
    page.triangle((10, 20), (0, -1), "mark", half=4)
    *_, mark = drawn(page)
    assert mark.get("points") == "10,20 14,12 6,12"


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0"), (-0.001, "0"), (1.0, "1"), (100.0, "100"), (1.005001, "1.01"), (-2.5, "-2.5")]
)
def test_numbers_are_short(value: float, text: str) -> None:
    assert number(value) == text


@pytest.mark.parametrize(("least", "found"), [(0.3, 0.5), (1, 1), (1.1, 2), (2.1, 5), (5.1, 10), (0.0011, 0.002)])
def test_steps(least: float, found: float) -> None:
    assert step(least) == pytest.approx(found)


@given(POSITIVE)
def test_a_step_is_enough_and_not_too_much(least: float) -> None:
    assert least * (1 - 1e-6) <= step(least) <= 2.5 * least * (1 + 1e-6)


@pytest.mark.parametrize(("most", "found"), [(1, 1), (1.19, 1), (1234, 1200), (0.99, 0.8), (7.9, 6), (1999.9, 1500)])
def test_round_times(most: float, found: float) -> None:
    assert times(most) == pytest.approx(found)


@given(POSITIVE)
def test_round_times_are_no_more_and_not_much_less(most: float) -> None:
    assert 0.75 * most * (1 - 1e-6) <= times(most) <= most * (1 + 1e-6)


@pytest.mark.parametrize(("degrees", "place"), [(0, (10, 15)), (90, (15, 20)), (180, (10, 25)), (270, (5, 20))])
def test_the_clock_runs_from_the_top_to_the_right(degrees: float, place: tuple[float, float]) -> None:
    assert polar(10, 20, 5, math.radians(degrees)) == pytest.approx(place)


def test_lines_of_text_stay_where_they_have_room() -> None:
    assert apart([10, 40, 80], 0, 100) == [10, 40, 80]


def test_lines_of_text_are_moved_apart_and_kept_within() -> None:
    assert apart([10, 11, 12], 0, 100) == [10, 10 + APART, 10 + 2 * APART]
    assert apart([99, 99, 100], 0, 100) == [100 - 2 * APART, 100 - APART, 100]


@given(st.lists(st.floats(0, 150), min_size=1, max_size=6).map(sorted))
def test_moved_lines_never_meet_and_keep_their_order(places: list[float]) -> None:
    moved = apart(places, 0, 150)
    assert all(after - before >= APART - 1e-9 for before, after in pairwise(moved))
    assert moved[0] >= -1e-9
    assert moved[-1] <= 150


def test_long_texts_are_cut() -> None:
    assert cut("abcdef", 6) == "abcdef"
    assert cut("abcdefg", 6) == "abc..."
