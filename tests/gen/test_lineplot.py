import math
import re
from copy import deepcopy
from itertools import pairwise
from xml.etree import ElementTree as Tree

import pytest

from gen import lineplot
from gen.linefacts import facts
from gen.linelook import LEFT, RIGHT, WIDTH
from gen.lineplot import ABOVE, KINDS, PANEL, SIDE, STOCK, STOCK_HEIGHT, svg
from gen.linereport import words
from gen.row import housings
from gen.surveyed import Section, Surveyed
from tests.jobs import INCH_TEXT, make_job
from tests.linepictures import (
    PLAIN,
    SHORT,
    SPACE,
    SPUN,
    WANTED,
    at,
    centres,
    drawn,
    figures,
    many,
    often,
    outlines,
    parts,
    texts,
    the_line,
    told,
    within,
)


def test_centres_are_placed_along_x_to_scale_and_off_it_as_often_as_told() -> None:
    root = drawn(PLAIN)
    for top, axis in ((SIDE, "z"), (ABOVE, "y")):
        found, sections = centres(root, top), PLAIN["sections"]
        assert len(found) == len(sections)
        along = (found[0]["cx"] - found[-1]["cx"]) / (sections[0]["x"] - sections[-1]["x"])
        assert along > 0
        for one, section in zip(found, sections, strict=True):
            assert one["cx"] - found[0]["cx"] == pytest.approx(along * (section["x"] - sections[0]["x"]), abs=0.02)
            up = found[0]["cy"] - one["cy"]
            off = along * often(root, "offsets") * (section[axis] - sections[0][axis])
            assert up == pytest.approx(off, rel=1e-3, abs=0.02)


@pytest.mark.parametrize("name", [line["name"] for line in PLAIN["lines"]])
def test_lines_are_as_far_from_the_centres_as_the_figures_say(name: str) -> None:
    root = drawn(PLAIN)
    (line,) = [one for one in PLAIN["lines"] if one["name"] == name]
    both = zip(centres(root, SIDE), centres(root, ABOVE), strict=True)
    along = (RIGHT - LEFT - 2 * lineplot.PAD) / 200
    side, above = the_line(root, name, SIDE), the_line(root, name, ABOVE)
    for number, (up, across) in enumerate(both):
        section = PLAIN["sections"][number]
        off = math.hypot(at(side, up["cx"]) - up["cy"], at(above, across["cx"]) - across["cy"])
        stock = (section["target"] - section["widest"]) / 2 - off / along / often(root, "offsets")
        assert stock == pytest.approx(line["stock"][number], abs=1e-4)


def test_program_zero_is_level_and_at_the_zero_of_both_scales() -> None:
    root = drawn(PLAIN)
    for top in (SIDE, ABOVE):
        line = the_line(root, "as it lies", top)
        assert line["y1"] == pytest.approx(line["y2"], abs=0.05)
        zeros = [one for one in root.iter(f"{SPACE}text") if one.text == "0" and float(one.get("x", "")) < LEFT]
        assert any(float(one.get("y", "")) - 4 == pytest.approx(line["y1"], abs=0.05) for one in zeros)


def test_only_the_line_chosen_is_heavy() -> None:
    for name, note in (("least moved", ""), ("end bores", ", NOT the one the verdict is about")):
        root = drawn(figures(*SPUN, choose=name))
        heavy = [one.get("class") for one in root.iter(f"{SPACE}line") if "heavy" in one.get("class", "")]
        assert heavy == [f"line {KINDS[name]} heavy"] * 3
        assert f"drawn heavy, and told for the stock: the line {name}{note}" in texts(root)


def test_every_line_is_named_at_its_end_and_in_the_legend() -> None:
    root = drawn(PLAIN)
    assert len(set(re.findall(r"\.(\w+) { stroke-dasharray: ([\d ]+)", root.findtext(f"{SPACE}style") or ""))) == 5
    for line in PLAIN["lines"]:
        assert texts(root).count(line["name"]) == 2
    for text in (
        "least moved (bore on this): least stock +0.0300",
        "end bores (the old line): least stock",
        "as it lies (program zero): least stock",
    ):
        assert text in told(root)


def test_lines_outside_the_crank_s_limits_are_told_in_the_legend() -> None:
    cam = {"toward": "+Z", "x": 0, "drive": "chain", "most": 0.0}
    found = figures(*SPUN, line={**WANTED, "cam": cam})
    root = drawn(found)
    assert "within limits (best, will not do): least stock" in told(root)
    assert "most stock (outside limits): least stock" in told(root)
    assert "end bores (the old line): least stock" in told(root)
    assert len([one for one in root.iter(f"{SPACE}line") if one.get("class") == "line moved heavy"]) == 3


@pytest.mark.parametrize(("old", "name"), [("all", "least squares"), ("zero", "as it lies")])
def test_the_old_line_is_the_job_s(old: str, name: str) -> None:
    found = told(drawn(figures(*SPUN, line={**WANTED, "old": old})))
    note = "program zero, the old line" if old == "zero" else "the old line"
    assert f"{name} ({note}): least stock" in found
    assert found.count("the old line") == 1


def test_the_verdict_is_as_in_the_words() -> None:
    for found in (PLAIN, SHORT):
        (verdict,) = re.findall("verdict +(.*)", words(found))
        assert verdict in texts(drawn(found))
    assert "held by: bore 2" in texts(drawn(PLAIN))
    assert "Harbour pump engine, main housings" in texts(drawn(PLAIN))


def test_a_bore_of_that_name_is_no_verdict() -> None:
    some = deepcopy(PLAIN)
    for one in some["sections"]:
        one["bore"] = "verdict"
    assert "CLEANS UP: bore on the line least moved" in texts(drawn(some))


def test_the_line_is_told_at_the_end_bores() -> None:
    root = drawn(PLAIN)
    first, last = PLAIN["lines"][0]["ends"]
    for seen, axis in (("from the side", "z"), ("from above", "y")):
        (caption,) = [text for text in texts(root) if text.startswith(seen)]
        assert caption.endswith(
            f"the line least moved: {axis.upper()} {first[axis]:+.4f} at bore 1, {last[axis]:+.4f} at bore 3"
        )


def test_a_gate_is_what_a_centre_can_be_off_and_keep_the_stock_wanted() -> None:
    root = drawn(PLAIN)
    scale = often(root, "offsets") * (RIGHT - LEFT - 2 * lineplot.PAD) / 200
    section = PLAIN["sections"][1]
    play = (section["target"] - section["diameter"]) / 2 - 0.03
    gate = within(parts(root, "rect", "gate"), "y", SIDE)[1]
    middle = centres(root, SIDE)[1]["cy"]
    assert gate["y"] + gate["height"] == pytest.approx(middle + play * scale, abs=0.02)
    limits = within(parts(root, "line", "limit"), "y1", SIDE)
    assert middle + play * scale in [pytest.approx(one["y1"], abs=0.02) for one in limits]
    assert all(SIDE < one["y1"] < SIDE + PANEL for one in limits)
    for gate in within(parts(root, "rect", "gate"), "y", SIDE):
        assert gate["y"] + gate["height"] <= SIDE + PANEL


def test_where_no_line_keeps_the_stock_there_is_no_gate() -> None:
    root = drawn(figures((0, 0, 83.9), (0, 0, 83.95), (0, 0, 83.9)))
    assert len(within(parts(root, "rect", "gate"), "y", SIDE)) == 2


def test_columns_stand_at_their_bores_as_high_as_the_stock() -> None:
    root = drawn(PLAIN)
    columns = within(parts(root, "rect", "stock"), "y", STOCK, STOCK_HEIGHT)
    (wanted,) = parts(root, "line", "wanted")
    (line,) = [one for one in PLAIN["lines"] if one["name"] == PLAIN["chosen"]]
    for column, stock, centre in zip(columns, line["stock"], centres(root, SIDE), strict=True):
        foot = column["y"] + column["height"]
        assert column["height"] / (foot - wanted["y1"]) == pytest.approx(stock / 0.03, rel=2e-3)
        assert column["x"] + column["width"] / 2 == pytest.approx(centre["cx"], abs=0.02)
        assert f"{stock:+.4f}" in texts(root)
    assert "wanted 0.0300" in texts(root)
    assert outlines(root, "lacking") == []
    assert texts(root).count("holds line") == 2


def test_negative_stock_hangs_down_and_is_marked_by_shape_and_word() -> None:
    root = drawn(SHORT)
    columns = parts(root, "rect", "lacking")
    assert len(columns) == 3
    zero = STOCK + STOCK_HEIGHT * 0.03 / (0.03 - min(SHORT["lines"][0]["stock"]))
    for column in columns:
        assert column["y"] == pytest.approx(zero, abs=0.02)
        assert column["y"] + column["height"] <= STOCK + STOCK_HEIGHT + 0.02
    assert len(outlines(root, "lacking")) == 6  # one over each column, one at each clock
    assert texts(root).count("NO STOCK") == 6
    assert len(within(parts(root, "circle", "short"), "cy", SIDE)) == 3
    assert "most stock (best, will not do): least stock" in told(root)
    assert "least moved" not in told(root)


def test_stock_that_is_less_than_wanted_is_short() -> None:
    root = drawn(figures((0, 0, 83.9), (0, 0, 83.96), (0, 0, 83.9)))
    assert texts(root).count("SHORT") == 2
    assert "NO STOCK" not in texts(root)
    assert len(parts(root, "rect", "lacking")) == 1


def test_a_row_without_offsets_has_a_scale_all_the_same() -> None:
    root = drawn(figures(*[(0.0, 0.0, 84.0)] * 2, line={"stock": 0.0}))
    assert len(centres(root, SIDE)) == 2
    assert texts(root).count("0.0000 all round") == 2
    assert outlines(root, "thinnest") == []
    assert "nan" not in svg(PLAIN)


def test_program_zero_far_off_stands_at_the_edge_and_is_called_so() -> None:
    root = drawn(figures(*[(y + 3, z, size) for y, z, size in SPUN]))
    assert the_line(root, "as it lies", ABOVE)["y1"] == ABOVE + PANEL
    assert texts(root).count("as it lies, far off") == 1
    spread = [one["cy"] for one in centres(root, ABOVE)]
    assert max(spread) - min(spread) > PANEL / 4
    chosen = drawn(figures(*[(y + 3, z, size) for y, z, size in SPUN], choose="as it lies"))
    assert "far off" not in told(chosen)


def test_inches_are_told_as_inches() -> None:
    bores = [{"face": -8 * number, "width": 1.25, "diameter": 3.3125} for number in range(2)]
    job = make_job(INCH_TEXT, line={"stock": 0.001}, bore=bores)
    places = [(one.near_x + one.far_x) / 2 for one in housings(job)]
    sections = [Section(n, None, x, 0.01 * n, 0.02, 3.3 * 25.4, 3.3 * 25.4, "centre") for n, x in enumerate(places)]
    found = texts(drawn(facts(job, Surveyed(tuple(sections)))))
    for text in ("Z, in", "Y, in", "X, in, to scale", "wanted 0.00100", "+0.00625 all round"):
        assert text in found


def test_depths_are_told_beside_the_bore() -> None:
    some = deepcopy(PLAIN)
    some["sections"][0]["depth"] = 4.0
    root = drawn(some)
    assert "bore 1 @ 4" in texts(root)
    assert texts(root).count("1 @ 4") == 2


def test_names_are_escaped_and_long_ones_cut() -> None:
    some = deepcopy(PLAIN)
    some["job"] = "<job> & " + "x" * 110
    for one, name in zip(some["sections"], ("<b>", "a very long name of a bore, forty signs", '"3"'), strict=True):
        one["bore"] = name
    for line in some["lines"]:
        line["ends"][0]["bore"] = "a very long name of a bore, forty signs"
    text = svg(some)
    assert "<b>" not in text
    found = texts(Tree.fromstring(text))
    assert "<b>" in found
    assert '"3"' in found
    assert found.count("a very ...") == 2
    assert "bore a very long ..." in found
    assert any("at bore a very long n..." in one for one in found)
    assert any(one.startswith("<job> & xxx") and one.endswith("...") and len(one) == 80 for one in found)


def test_a_long_row_is_bounded_and_shows_the_least_stock() -> None:
    row = many(PLAIN, 10_000)
    (line,) = [one for one in row["lines"] if one["name"] == row["chosen"]]
    line["stock"][7003] = -0.5
    text = svg(row)
    assert len(text) < 200_000
    root = Tree.fromstring(text)
    shown = len(parts(root, "rect", "stock")) + len(parts(root, "rect", "lacking"))
    assert shown <= lineplot.MOST_SECTIONS
    assert f"; {shown} of 10000, the least" in told(root)
    assert "b7003" in texts(root)
    assert "-0.5000" in texts(root)
    assert texts(root).count("NO STOCK") == 1


def test_labels_along_the_row_never_meet() -> None:
    root = drawn(many(PLAIN, 300))
    labels = sorted(
        float(one.get("x", "")) for one in root.iter(f"{SPACE}text") if float(one.get("y", "")) == SIDE - 24
    )
    assert len(labels) > 8
    assert all(after - before >= lineplot.LABEL - 0.02 for before, after in pairwise(labels[1:]))


def test_everything_stays_on_the_page() -> None:
    for found in (PLAIN, SHORT, many(SHORT, 30)):
        root = drawn(found)
        height = float(root.get("height", ""))
        for one in root.iter():
            for name in ("x", "x1", "x2", "cx"):
                if one.get(name):
                    assert 0 <= float(one.get(name, "")) <= WIDTH
            for name in ("y", "y1", "y2", "cy"):
                if one.get(name):
                    assert 0 <= float(one.get(name, "")) <= height
