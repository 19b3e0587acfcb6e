import math
import re

import pytest

from gen.lineclocks import INWARD, OUTWARD, RADIUS
from gen.lineplot import STOCK, STOCK_HEIGHT
from gen.roundness import Oval
from tests.linepictures import (
    BARE,
    PLAIN,
    SPUN,
    clock_of,
    drawn,
    figures,
    many,
    often,
    outlines,
    parts,
    texts,
    told,
)


def test_a_clock_has_the_wall_off_the_line_by_as_much_as_told() -> None:
    root = drawn(PLAIN)
    scale = often(root, "stock") * 2 * RADIUS / 84
    circles = parts(root, "circle", "target")
    for number, (circle, wall) in enumerate(zip(circles, outlines(root, "wall"), strict=True)):
        check, section = PLAIN["checks"][number], PLAIN["sections"][number]
        assert circle["cx"] == pytest.approx(clock_of(number), abs=0.02)
        room = (section["target"] - section["diameter"]) / 2
        for angle, (x, y) in zip(range(0, 360, 5), wall, strict=True):
            way = math.sin(math.radians(angle)), math.cos(math.radians(angle))
            radius = RADIUS - scale * (room - check["y"] * way[0] - check["z"] * way[1])
            assert x - circle["cx"] == pytest.approx(radius * way[0], abs=0.02)
            assert circle["cy"] - y == pytest.approx(radius * way[1], abs=0.02)


def test_the_thinnest_place_is_pointed_at_and_told() -> None:
    root = drawn(PLAIN)
    (line,) = [one for one in PLAIN["lines"] if one["name"] == PLAIN["chosen"]]
    marks = outlines(root, "thinnest")
    for number, (mark, circle) in enumerate(zip(marks, parts(root, "circle", "target"), strict=True)):
        x, y = mark[0][0] - circle["cx"], circle["cy"] - mark[0][1]
        assert math.degrees(math.atan2(x, y)) % 360 == pytest.approx(line["thinnest"][number], abs=0.1)
        assert math.hypot(x, y) == pytest.approx(RADIUS + 3, abs=0.02)
        assert f"{line['stock'][number]:+.4f} at {line['thinnest'][number]:.0f}" in texts(root)


def test_the_centre_is_drawn_where_it_is_off_the_line() -> None:
    root = drawn(PLAIN)
    scale = often(root, "stock") * 2 * RADIUS / 84
    rings = [one for one in parts(root, "circle", "centre") if one["cy"] > STOCK]
    for check, ring, circle in zip(PLAIN["checks"], rings, parts(root, "circle", "target"), strict=True):
        assert ring["cx"] - circle["cx"] == pytest.approx(check["y"] * scale, abs=0.02)
        assert circle["cy"] - ring["cy"] == pytest.approx(check["z"] * scale, abs=0.02)


def test_an_oval_is_drawn_longest_where_it_is_told() -> None:
    found = figures(*[(0.0, 0.0, 83.8)] * 3, oval=Oval(0.04, 30.0, 0.0))
    root = drawn(found)
    scale = often(root, "stock") * 2 * RADIUS / 84
    for wall, circle in zip(outlines(root, "wall"), parts(root, "circle", "target"), strict=True):
        radii = [math.hypot(x - circle["cx"], y - circle["cy"]) for x, y in wall]
        assert radii.index(max(radii)) in (6, 42)
        assert max(radii) - min(radii) == pytest.approx(0.02 * scale, abs=0.05)


@pytest.mark.parametrize("bores", [SPUN, BARE, ((0.0, 0.0, 82.0), (0.0, 0.0, 82.0), (0.1, 0.9, 83.99))])
def test_walls_keep_to_their_room(bores: tuple[tuple[float, float, float], ...]) -> None:
    root = drawn(figures(*bores))
    for wall, circle in zip(outlines(root, "wall"), parts(root, "circle", "target"), strict=True):
        for x, y in wall:
            radius = math.hypot(x - circle["cx"], y - circle["cy"]) / RADIUS
            assert 1 - INWARD - 1e-3 <= radius <= 1 + OUTWARD + 1e-3


def test_the_bar_is_as_long_as_it_says_in_the_stock_s_scale() -> None:
    root = drawn(PLAIN)
    bars = [one for one in parts(root, "line", "tick") if one["y1"] > STOCK + STOCK_HEIGHT and one["y1"] == one["y2"]]
    (bar,) = bars
    (length,) = [float(text.split()[0]) for text in texts(root) if re.fullmatch(r"[\d.]+ mm", text)]
    assert bar["x2"] - bar["x1"] == pytest.approx(length * often(root, "stock") * 2 * RADIUS / 84, abs=0.02)


def test_up_to_six_clocks_stand_in_a_row_and_the_page_grows_by_rows() -> None:
    heights = {}
    for count in (6, 7, 24):
        root = drawn(many(PLAIN, count))
        circles = parts(root, "circle", "target")
        assert len(circles) == count
        assert [one["cx"] for one in circles] == [pytest.approx(clock_of(n), abs=0.02) for n in range(count)]
        assert "are drawn, not" not in told(root)
        heights[count] = float(root.get("height", ""))
        assert max(one["cy"] for one in circles) + RADIUS + 50 <= heights[count]
    assert heights[24] - heights[7] == 2 * (heights[7] - heights[6])


def test_of_more_clocks_the_first_are_drawn_and_it_is_said() -> None:
    root = drawn(many(PLAIN, 25))
    assert len(parts(root, "circle", "target")) == 24
    assert "the first 24 are drawn, not the 1 more" in texts(root)
    assert "bore b23" in texts(root)
    assert "bore b24" not in texts(root)
