import math
import re
from typing import Any
from xml.etree import ElementTree as Tree

import pytest
from hypothesis import given

from gen.job import Job
from gen.row import housings
from gen.scene import MOST_LABELS, MOST_MARKS, Scene, end, key, side
from gen.scenelayout import LEAST_WIDTH
from tests.jobs import INCH_TEXT, make_job, valid_jobs
from tests.spaces import JOB as SPACE_JOB
from tests.spaces import RAIL, with_space

JOB = make_job()
Box = tuple[float, float, float, float]


def drawn(scene: Scene) -> Tree.Element:
    root = Tree.fromstring(scene.svg)
    assert tuple(map(float, root.get("viewBox", "").split())) == pytest.approx(scene.view, abs=1e-3)
    return root


def parts(root: Tree.Element, kind: str) -> list[Tree.Element]:
    return [one for one in root.iter() if kind in (one.get("class") or "").split()]


def part(root: Tree.Element, kind: str) -> Tree.Element:
    (one,) = parts(root, kind)
    return one


def boxes(path: Tree.Element) -> list[Box]:
    """Left, top, right and bottom of every polygon in a path."""
    found = []
    for one in re.findall(r"M([^MAZ]*)Z", path.get("d", "")):
        points = [tuple(map(float, point.split(","))) for point in one.split("L")]
        xs, ys = [point[0] for point in points], [point[1] for point in points]
        found.append((min(xs), min(ys), max(xs), max(ys)))
    return found


def box(rect: Tree.Element) -> Box:
    x, y, width, height = (float(rect.get(name, "")) for name in ("x", "y", "width", "height"))
    return x, y, x + width, y + height


def texts(root: Tree.Element) -> list[str]:
    return [one.text or "" for one in root.iter("text")]


def obstacle_jobs(count: int, *, apart: float = 2.0) -> Job:
    rails = [
        {**RAIL, "name": f"rail {number}", "z": [60 + apart * number, 61 + apart * number]} for number in range(count)
    ]
    return with_space(obstacle=rails)


def test_bulkheads_are_cut_along_the_bore_line() -> None:
    (metal,) = parts(drawn(side(SPACE_JOB)), "metal")
    assert boxes(metal)[:2] == [(-34, -100, 0, -41.6), (-34, 41.6, 0, 120)]
    assert len(boxes(metal)) == 6


def test_a_bore_s_own_bulkhead_stands_in_for_the_block_s() -> None:
    bores = [{"face": 0, "width": 34, "diameter": 84.0, "bulkhead_z": [-90, 70], "hole": 80.0}]
    assert boxes(part(drawn(side(with_space(bore=bores))), "metal")) == [(-34, -70, 0, -40), (-34, 40, 0, 90)]


def test_the_end_shows_a_bulkhead_with_its_hole() -> None:
    metal = part(drawn(end(SPACE_JOB)), "metal")
    assert boxes(metal) == [(-130, -100, 130, 120)]
    assert metal.get("fill-rule") == "evenodd"
    assert "A41.6,41.6" in metal.get("d", "")


def test_a_block_that_is_not_told_is_drawn_broken_and_said_to_be() -> None:
    for scene in (side(JOB), end(JOB)):
        root = drawn(scene)
        assert parts(root, "untold") == parts(root, "metal") != []
        assert parts(root, "broken")
    assert "extent of the block not told" in texts(drawn(side(JOB)))
    told = drawn(side(SPACE_JOB))
    assert not parts(told, "broken")
    assert "extent of the block not told" not in texts(told)


@pytest.mark.parametrize("job", [JOB, make_job(INCH_TEXT), SPACE_JOB], ids=["mm", "inch, +X", "space"])
def test_every_bore_has_its_hole_and_its_stroke(job: Job) -> None:
    root = drawn(side(job))
    bores = parts(root, "bore")
    assert [bore.get("data-bore") for bore in bores] == [str(index) for index in range(len(job.bore))]
    for bore, housing in zip(bores, housings(job), strict=True):
        radius = housing.bore.diameter / 2
        expected = (housing.metal[0], -radius, housing.metal[1], radius)
        assert box(part(bore, "hole")) == pytest.approx(expected, abs=2e-3)
        for kind, x in (("start", housing.start_x), ("end", housing.end_x)):
            assert float(part(bore, kind).get("d", "")[1:].split(",")[0]) == pytest.approx(x, abs=1e-3)
        feed = re.findall(r"[-\d.]+", part(bore, "feed").get("d", ""))
        assert [float(feed[0]), float(feed[2])] == pytest.approx([housing.start_x, housing.end_x], abs=1e-3)


def test_stock_is_drawn_between_the_hole_there_is_and_the_bore() -> None:
    stock = part(parts(drawn(side(SPACE_JOB)), "bore")[0], "stock")
    assert boxes(stock) == [(-34, -42, 0, -41.6), (-34, 41.6, 0, 42)]
    assert not parts(drawn(side(JOB)), "stock")


def test_the_tool_stands_at_the_first_start_and_is_drawn_about_its_point() -> None:
    tool = part(drawn(side(SPACE_JOB)), "tool")
    assert tool.get("transform") == "translate(3,0)"
    assert box(part(tool, "body")) == (60, -60, 130, 45)
    assert box(part(tool, "bar")) == (0, -25, 60, 25)
    stem = box(part(tool, "stem"))
    assert (stem[0], stem[2], stem[3]) == (65, 125, -60)
    assert "42" in part(tool, "swept").get("d", "")
    tool = part(drawn(end(SPACE_JOB)), "tool")
    assert tool.get("transform") == "translate(0,0)"
    assert box(part(tool, "body")) == (-45, -60, 45, 45)
    assert part(tool, "bar").get("r") == "25"
    assert part(tool, "swept").get("r") == "42"


def test_a_bump_hangs_where_it_is_told() -> None:
    bump = {"name": "fitting", "behind": [85, 100], "y": [45, 62], "z": [20, 38]}
    job = with_space(head={"bump": [bump]})
    assert box(part(part(drawn(side(job)), "tool"), "bump")) == (85, -38, 100, -20)
    assert box(part(part(drawn(end(job)), "tool"), "bump")) == (45, -38, 62, -20)


def test_a_head_that_points_the_other_way_is_drawn_the_other_way() -> None:
    bores = [{"face": 0, "width": 34, "diameter": 84.0}, {"face": 190, "width": 28, "diameter": 84.0}]
    root = drawn(side(with_space(head={"points": "+X"}, bore=bores)))
    assert box(part(root, "body"))[:3:2] == (-130, -60)
    assert part(root, "tool").get("transform") == "translate(-3,0)"
    assert "H-" in part(root, "cutter").get("d", "")


def test_a_head_that_is_not_told_is_a_stub_behind_the_bar() -> None:
    for job, sign in ((JOB, 1), (make_job(INCH_TEXT), -1)):
        root = drawn(side(job))
        bar, stub = box(part(root, "bar")), box(part(root, "stub"))
        assert "head not told" in texts(root)
        front, back, face = (bar[0], bar[2], stub[0]) if sign > 0 else (bar[2], bar[0], stub[2])
        assert front == pytest.approx(0, abs=2e-3)
        assert back == pytest.approx(face, abs=2e-3)
        assert bar[2] - bar[0] >= max(high - low for low, high in (one.stroke for one in housings(job)))
    assert "head not told" not in texts(drawn(side(SPACE_JOB)))


def test_an_obstacle_s_end_is_turned_and_its_side_reaches_as_far() -> None:
    box_ = {"name": "cover", "x": [-430, 90], "y": [95, 171], "z": [100, 150], "turned": -20}
    job = with_space(obstacle=[box_])
    turn, corners = math.radians(-20), []
    for y, z in ((-38, -25), (38, -25), (38, 25), (-38, 25)):
        corners.append((133 + y * math.cos(turn) - z * math.sin(turn), 125 + y * math.sin(turn) + z * math.cos(turn)))
    shape = part(part(drawn(end(job)), "obstacle"), "shape").get("d", "")
    points = [tuple(map(float, one.split(","))) for one in shape[1:-1].split("L")]
    assert [value for point in points for value in point] == pytest.approx(
        [value for y, z in corners for value in (y, -z)], abs=1e-3
    )
    (seen,) = boxes(part(part(drawn(side(job)), "obstacle"), "shape"))
    assert seen == pytest.approx((-430, -max(z for _, z in corners), 90, -min(z for _, z in corners)), abs=1e-3)


def test_obstacles_are_named_by_letter_and_title() -> None:
    job = obstacle_jobs(3, apart=60)
    assert key(job) == [("a", "rail 0"), ("b", "rail 1"), ("c", "rail 2")]
    for scene in (side(job), end(job)):
        root = drawn(scene)
        assert [one.text for one in parts(root, "mark")] == ["a", "b", "c"]
        assert [one.findtext("title") for one in parts(root, "obstacle")] == ["rail 0", "rail 1", "rail 2"]


def test_letters_that_would_stand_in_one_place_are_told_together() -> None:
    rails = [RAIL, {**RAIL, "name": "other", "y": [135, 160]}, {**RAIL, "name": "high", "z": [300, 310]}]
    job = with_space(obstacle=rails)
    assert [one.text for one in parts(drawn(side(job)), "mark")] == ["a, b", "c"]
    assert [one.text for one in parts(drawn(end(job)), "mark")] == ["a", "b", "c"]
    assert [one.text for one in parts(drawn(side(obstacle_jobs(4, apart=1))), "mark")] == ["a-d"]


def test_more_obstacles_than_letters_are_drawn_without() -> None:
    job = obstacle_jobs(MOST_MARKS + 4)
    root = drawn(side(job))
    assert len(parts(root, "obstacle")) == MOST_MARKS + 4
    assert len(key(job)) == MOST_MARKS == 26
    assert (parts(root, "mark")[-1].text or "").endswith("z")


def test_a_vast_obstacle_does_not_dwarf_the_row() -> None:
    table = {"name": "table", "x": [-5000, 5000], "y": [-3000, 3000], "z": [-900, -130]}
    for which in (side, end):
        plain_view, view = which(with_space(obstacle=[])).view, which(with_space(obstacle=[table])).view
        assert view[2] < 2 * plain_view[2]
        assert view[3] < 2 * plain_view[3]


def test_an_obstacle_below_leaves_the_numbers_free() -> None:
    table = {"name": "table", "x": [-5000, 5000], "y": [-3000, 3000], "z": [-900, -130]}
    root = drawn(side(with_space(obstacle=[table])))
    (shape,) = boxes(part(root, "shape"))
    numbers = parts(root, "number")
    size = float(numbers[0].get("font-size", ""))
    assert all(shape[3] < float(one.get("y", "")) - size for one in numbers)


def test_a_single_bore_s_picture_is_wide_enough_for_what_is_written_below_it() -> None:
    scene = side(make_job(bore=[{"face": 0, "width": 10, "diameter": 60.0}]))
    assert scene.view[2] >= LEAST_WIDTH["side"] * float(drawn(scene).get("data-unit", ""))


def test_the_clearance_height_is_drawn_and_told_in_the_job_s_unit() -> None:
    root = drawn(side(JOB))
    assert ",-160H" in part(root, "height").get("d", "")
    assert "clearance height, Z 160 mm" in texts(root)
    assert "clearance height, Z 6.5 in" in texts(drawn(side(make_job(INCH_TEXT))))


@pytest.mark.parametrize("angle", [0, 30, -45])
def test_the_way_in_is_seen_from_the_end(angle: float) -> None:
    scene = end(make_job(path={"leave_angle": angle}))
    across = 160 * math.tan(math.radians(angle))
    x, y = part(drawn(scene), "way").get("d", "").split("L")[1].split(",")
    assert (float(x), float(y)) == pytest.approx((across, -160), abs=1e-3)
    assert scene.view[0] < across < scene.view[0] + scene.view[2]


def test_directions_scale_and_zero_are_told() -> None:
    from_side, from_end = drawn(side(JOB)), drawn(end(JOB))
    assert {"X", "Z", "seen toward +Y", "100 mm"} <= {*texts(from_side)}
    assert {"Y", "Z", "seen toward -X"} <= {*texts(from_end)}
    for root in (from_side, from_end):
        assert part(root, "zero").findtext("title") == "program zero"
        assert part(root, "ring").get("cx") is None
        assert len(part(root, "path")) == 0


def test_the_scale_is_as_long_as_it_says() -> None:
    for job, per in ((JOB, 1.0), (make_job(INCH_TEXT), 25.4)):
        root = drawn(side(job))
        start, stop = re.findall(r"[-\d.]+", part(root, "measure").get("d", ""))[0:3:2]
        (told,) = (text for text in texts(root) if re.fullmatch(r"[\d.]+ (mm|in)", text))
        assert float(stop) - float(start) == pytest.approx(float(told.split()[0]) * per, abs=2e-3)


def test_bores_are_numbered_and_named() -> None:
    names = ["1", "front", "a name that is very much too long to fit"]
    bores = [{"name": name, "face": -130 * at, "width": 28, "diameter": 84.0} for at, name in enumerate(names)]
    root = drawn(side(make_job(bore=bores)))
    assert [one.text for one in parts(root, "number")] == ["1", "2", "3"]
    told = [one.text or "" for one in parts(root, "name")]
    assert told[0] == "front"
    assert told[1].startswith("a name")
    assert told[1].endswith("\u2026")
    assert (
        parts(root, "bore")[1].findtext("title") == "bore 2, front: diameter 84 mm, cutter from X -127 mm to -160.5 mm"
    )


def test_names_are_escaped() -> None:
    odd = "<script>alert('1')</script> & \"more\""
    bores = [{"name": "<b>", "face": 0, "width": 28, "diameter": 84.0}]
    job = with_space(name=odd, bore=bores, obstacle=[{**RAIL, "name": "<i>"}])
    for scene in (side(job), end(job)):
        assert not re.search("<(script|b|i)>", scene.svg)
        root = drawn(scene)
        assert root.get("aria-label", "").startswith(odd)
        assert part(root, "obstacle").findtext("title") == "<i>"


def test_a_long_row_is_labelled_sparsely_and_drawn_compactly() -> None:
    bores: list[dict[str, Any]] = [{"face": -60 * at, "width": 28, "diameter": 84.0} for at in range(1000)]
    job = make_job(bore=bores)
    scene = side(job)
    root = drawn(scene)
    assert len(parts(root, "bore")) == 1000
    assert 10 < len(parts(root, "number")) <= MOST_LABELS
    assert len(scene.svg) < 700 * len(bores)
    assert len(end(job).svg) < 8000


def test_no_colour_is_told_inline() -> None:
    for job in (JOB, SPACE_JOB):
        for scene in (side(job), end(job)):
            assert not re.search(r"style=|(fill|stroke)=|#[0-9a-f]{3}", scene.svg)


@given(valid_jobs())
def test_both_pictures_show_the_whole_row_and_line_up(job: Job) -> None:
    one, other = side(job), end(job)
    assert one.view[1::2] == other.view[1::2]
    left, top, width, height = one.view
    for housing in housings(job):
        assert left < min(housing.stroke) < max(housing.stroke) < left + width
        assert top < -housing.bore.diameter / 2
        assert housing.bore.diameter / 2 < top + height
    assert top < -job.path.clearance_height
    assert drawn(one).get("data-unit") == drawn(other).get("data-unit")
    for scene in (one, other):
        for element in drawn(scene).iter():
            for name in ("d", "x", "y", "r", "width", "height", "transform"):
                assert not re.search("nan|inf", element.get(name, ""))
