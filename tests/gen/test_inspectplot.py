from typing import Any
from xml.etree import ElementTree as Tree

import pytest

from gen.inspection import facts
from gen.inspectplot import COLUMN, LEFT, MARK, svg
from gen.readings import of_rows
from tests.jobs import INCH_TEXT, make_job
from tests.shop import line, rows, sized_job

SPACE = "{http://www.w3.org/2000/svg}"


def figures(*sizes: tuple[float, float], names: tuple[str, ...] = ("1", "2", "3")) -> dict[str, Any]:
    """Figures of bores read twice each."""
    row = [
        {"name": name, "face": -100 * number, "width": 28, "diameter": 84.0, "measured": [82.98, 82.99]}
        for number, name in enumerate(names)
    ]
    job = sized_job(bore=row)
    quoted = [line(name, "", "", "", size) for name, pair in zip(names, sizes, strict=True) for size in pair]
    return facts(job, of_rows(rows(quoted), job, with_set=False))


PLAIN = figures((84.008, 84.014), (84.001, 84.003), (84.018, 84.026))


def drawn(found: dict[str, Any]) -> Tree.Element:
    return Tree.fromstring(svg(found))


def parts(root: Tree.Element, tag: str, kind: str) -> list[Tree.Element]:
    return [one for one in root.iter(f"{SPACE}{tag}") if one.get("class") == kind]


def texts(root: Tree.Element) -> list[str]:
    return [one.text or "" for one in root.iter(f"{SPACE}text")]


def columns(root: Tree.Element, tag: str, kind: str) -> dict[int, list[Tree.Element]]:
    """Parts by the column they stand in."""
    found: dict[int, list[Tree.Element]] = {}
    for one in parts(root, tag, kind):
        x = float(one.get("x1") or one.get("x") or one.get("points", "").split(",")[0])
        y = float(one.get("y1") or one.get("y") or one.get("points", "").split(",")[1].split()[0])
        if y > 90:  # below the legend
            found.setdefault(int((x - LEFT) // COLUMN), []).append(one)
    return found


def test_every_bore_has_its_column() -> None:
    root = drawn(PLAIN)
    for tag, kind, count in (("rect", "band", 1), ("line", "limit", 2), ("line", "spread", 3), ("polygon", "mean", 1)):
        assert {at: len(found) for at, found in columns(root, tag, kind).items()} == dict.fromkeys(range(3), count)


def test_sizes_stand_where_they_lie_in_the_tolerance() -> None:
    root = drawn(PLAIN)
    bands, spreads, means = (
        columns(root, tag, kind) for tag, kind in (("rect", "band"), ("line", "spread"), ("polygon", "mean"))
    )
    for at, bore in enumerate(PLAIN["bores"]):
        band = bands[at][0]
        top, height = float(band.get("y", "")), float(band.get("height", ""))

        def y_of(size: float, top: float = top, height: float = height) -> float:
            return top + height * (84.022 - size) / 0.022

        (bar, *_) = [one for one in spreads[at] if one.get("x1") == one.get("x2")]
        assert float(bar.get("y1", "")) == pytest.approx(y_of(bore["smallest"]), abs=0.02)
        assert float(bar.get("y2", "")) == pytest.approx(y_of(bore["largest"]), abs=0.02)
        tip = float(means[at][0].get("points", "").split()[0].split(",")[1])
        assert tip + MARK == pytest.approx(y_of(bore["mean"]), abs=0.02)


def test_figures_units_and_legend_are_written() -> None:
    told = texts(drawn(PLAIN))
    for text in (
        "Harbour pump engine, main housings",
        "NOT every bore in tolerance",
        "from the middle of the tolerance, micrometres",
        "bore, mm",
        "84.0140",
        "84.0020",
        "pass",
        "FAIL",
        "0.0040 over",
        "tolerance",
        "smallest to largest as read",
        "mean",
        "+10",
        "-10",
        "0",
    ):
        assert text in told
    assert told.count("pass") == 2


def test_a_good_row_says_so() -> None:
    assert "every bore in tolerance" in texts(drawn(figures((84.01, 84.01), (84.01, 84.011), (84.02, 84.01))))


def test_a_size_far_off_is_drawn_at_the_scale_s_end_and_marked() -> None:
    root = drawn(figures((84.008, 84.014), (83.5, 84.5), (84.01, 84.01)))
    assert {at: len(found) for at, found in columns(root, "polygon", "off").items()} == {1: 2}
    height = float(root.get("height", ""))
    for one in root.iter(f"{SPACE}line"):
        assert 0 <= float(one.get("y1", "")) <= height
    assert "84.5000" in texts(root)


def test_a_row_within_its_scale_has_no_marks() -> None:
    assert columns(drawn(PLAIN), "polygon", "off") == {}


def test_names_are_escaped_and_cut_to_their_column() -> None:
    root = drawn(figures((84.01, 84.01), (84.01, 84.01), names=('a & <b> "c"', "a very long name of a bore")))
    assert 'a & <b> "c"' in texts(root)
    assert "a very lon..." in texts(root)
    assert "<b>" not in svg(figures((84.01, 84.01), names=("<b>",)))


def test_inches_are_counted_in_ten_thousandths() -> None:
    bores = [{"face": 0, "width": 1.25, "diameter": 3.3125}]
    job = make_job(INCH_TEXT, size={"tolerance": "H7"}, bore=bores)
    measured = of_rows(rows([line("1", "", "", "", 3.3130)]), job, with_set=False)
    told = texts(drawn(facts(job, measured)))
    assert "from the middle of the tolerance, 0.0001 in" in told
    assert "bore, in" in told
    assert "3.31300" in told


def test_what_is_not_told_is_a_dash() -> None:
    assert texts(drawn(PLAIN)).count("-") == 6


def test_the_page_is_wide_enough_for_every_bore() -> None:
    many = {**PLAIN, "bores": PLAIN["bores"] * 10}
    assert float(drawn(many).get("width", "")) == LEFT + 30 * COLUMN
