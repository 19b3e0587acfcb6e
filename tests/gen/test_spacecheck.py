"""Room that cannot be: one message that names the two things and both numbers, at its file and line."""

from pathlib import Path
from typing import Final

import pytest

from gen.jobfile import load
from tests.jobs import INCH_TEXT, JOB_TEXT, edited, make_job, told

HEAD: Final = "max_rpm  = 800\n"
ROOM: Final = (
    "reach = 60\nbody = { length = 70, width = 90, above = 60, below = 45 }\n"
    '[[head.bump]]\nname = "union"\nbehind = [70, 90]\ny = [45, 62]\nz = [-5, 5]\n'
    "[block]\ny = [-131, 130]\nz = [-120, 100]\nhole = 83.2\n"
    '[[obstacle]]\nname = "left rail"\nx = [-700, 60]\ny = [-160, -135]\nz = [60, 110]\n'
    '[[obstacle]]\nname = "right rail"\nx = [-700, 61]\ny = [135, 160]\nz = [60, 110]\n'
)
JOB: Final = edited(JOB_TEXT, (HEAD, HEAD + ROOM))
"""Bore 1 from X 0 to -32, bore 2 from -130 to -158, bore 3 from -255 to -287; bar 50, bores 84."""
SECOND: Final = "face = -130\nwidth = 28\ndiameter = 84.0\n"
LEFT_Y: Final = "y = [-160, -135]"


def refusal(folder: Path, *changes: tuple[str, str], text: str = JOB) -> tuple[str, str]:
    """The line a job is refused at, and what is told there, key first."""
    path = folder / "job.toml"
    path.write_text(edited(text, *changes), encoding="utf-8")
    message = told(lambda: load(path))
    assert message.startswith(f"{path}:")
    number, _, words = message.removeprefix(f"{path}:").partition(": ")
    return path.read_text(encoding="utf-8").split("\n")[int(number) - 1], words


def test_the_job_itself_is_good() -> None:
    assert len(make_job(JOB).obstacle) == 2


@pytest.mark.parametrize(
    ("changes", "line", "words"),
    [
        pytest.param(
            [("reach = 60", "reach = 34.5")],
            "reach = 34.5",
            "head.reach: 34.5 mm is shorter than the way through bore 1, 34.5 mm from its near face; the head would"
            " meet the bulkhead",
            id="reach shorter than the stroke",
        ),
        pytest.param(
            [("hole = 83.2", "hole = 49.9")],
            "hole = 49.9",
            "block.hole: 49.9 mm is no larger than bar.diameter, 50 mm; the bar would not go through bore 1",
            id="bar thicker than the block's hole",
        ),
        pytest.param(
            [(SECOND, SECOND + "hole = 50\n")],
            "hole = 50",
            "bore 2, hole: 50 mm is no larger than bar.diameter, 50 mm; the bar would not go through bore 2",
            id="bar thicker than a bore's hole",
        ),
        pytest.param(
            [("hole = 83.2\n", ""), (SECOND, SECOND.replace("84.0", "50"))],
            "diameter = 50",
            "bore 2, diameter: 50 mm is not larger than bar.diameter, 50 mm; the bar would not go in",
            id="bar thicker than the bore",
        ),
        pytest.param(
            [("hole = 83.2\n", "")],
            "[block]",
            "block.hole: is missing; write the diameter of the hole that is there before this pass, e.g. hole = 83.16",
            id="the block's hole missing",
        ),
        pytest.param(
            [("y = [-131, 130]", "y = [-42, 130]")],
            "y = [-42, 130]",
            "block.y: from -42 mm to 130 mm does not hold bore 1, whose radius is 42 mm; count from the bore line,"
            " both ways past it",
            id="bore as wide as the block",
        ),
        pytest.param(
            [("z = [-120, 100]", "z = [-120, 41]")],
            "z = [-120, 41]",
            "block.z: from -120 mm to 41 mm does not hold bore 1, whose radius is 42 mm; count from the bore line,"
            " both ways past it",
            id="bore higher than the block",
        ),
        pytest.param(
            [("hole = 83.2", "hole = 84")],
            "hole = 84",
            "block.hole: 84 mm is no smaller than bore 1, 84 mm; there would be nothing to cut; give the hole that is"
            " there before this pass, or mend the diameter of bore 1",
            id="the block's hole as large as a bore",
        ),
        pytest.param(
            [(SECOND, SECOND + "hole = 270\n")],
            "hole = 270",
            "bore 2, hole: 270 mm is no smaller than bore 2, 84 mm; there would be nothing to cut; give the hole that"
            " is there before this pass, or mend the diameter of bore 2",
            id="a hole larger than its bore and the block",
        ),
        pytest.param(
            [(SECOND, SECOND.replace("84.0", "83.1"))],
            "diameter = 83.1",
            "bore 2, diameter: 83.1 mm is no larger than block.hole, 83.2 mm; there would be nothing to cut; mend the"
            " diameter, or give what is there before this pass",
            id="a bore smaller than the hole that suits the others",
        ),
        pytest.param(
            [(SECOND, SECOND.replace("84.0", "83.1") + "hole = 83.2\nmeasured = [83.05, 83.3]\n")],
            "diameter = 83.1",
            "bore 2, diameter: 83.1 mm is no larger than hole, 83.2 mm, and measured, up to 83.3 mm; there would be"
            " nothing to cut; mend the diameter, or give what is there before this pass",
            id="a bore smaller than its hole and what it measures",
        ),
        pytest.param(
            [(SECOND, SECOND + "hole = 84.2\nmeasured = [83.05, 83.3]\n")],
            "hole = 84.2",
            "bore 2, hole: 84.2 mm is no smaller than bore 2, 84 mm; there would be nothing to cut; give the hole that"
            " is there before this pass, or mend the diameter of bore 2",
            id="a hole larger than the bore, which measures less",
        ),
        pytest.param(
            [(SECOND, SECOND + "bulkhead_z = [-40, 90]\n")],
            "bulkhead_z = [-40, 90]",
            "bore 2, bulkhead_z: from -40 mm to 90 mm does not hold bore 2, whose radius is 42 mm; count from the bore"
            " line, both ways past it",
            id="bore higher than its own bulkhead",
        ),
        pytest.param(
            [(SECOND, SECOND + "bulkhead_y = [50, 90]\n")],
            "bulkhead_y = [50, 90]",
            "bore 2, bulkhead_y: from 50 mm to 90 mm does not hold bore 2, whose radius is 42 mm; count from the bore"
            " line, both ways past it",
            id="bulkhead beside the bore line",
        ),
        pytest.param(
            [("z = [-120, 100]", "z = [-120, 160]")],
            "clearance_height = 160",
            "path.clearance_height: 160 mm is not above the bulkhead of bore 1, which goes up to 160 mm",
            id="clearance height in the block",
        ),
        pytest.param(
            [(SECOND, SECOND + "bulkhead_z = [-90, 170]\n")],
            "clearance_height = 160",
            "path.clearance_height: 160 mm is not above the bulkhead of bore 2, which goes up to 170 mm",
            id="clearance height in a bulkhead of its own",
        ),
        pytest.param(
            [("face = -130", "face = -34")],
            "face = -34",
            'bore 2, face: bores overlap: the cutter goes from 3 mm to -34.5 mm for bore "1", into the metal of bore'
            ' "2" from -62 mm to -34 mm; mend the positions, or make approach or overrun smaller',
            id="a stroke ends in the next bulkhead",
        ),
        pytest.param(
            [("face = -130", "face = -34.6"), ("approach    = 3", "approach    = 2.7")],
            "face = -34.6",
            'bore 2, face: bores overlap: the cutter goes from -31.9 mm to -65.1 mm for bore "2", into the metal of'
            ' bore "1" from -32 mm to 0 mm; mend the positions, or make approach or overrun smaller',
            id="a bulkhead that contains the next approach",
        ),
        pytest.param(
            [("behind = [70, 90]", "behind = [-4, 90]")],
            "behind = [-4, 90]",
            "head.bump 1, behind: starts 4 mm in front of the cutting edge; count backward from 0",
            id="a bump before the cutter",
        ),
        pytest.param(
            [(LEFT_Y, "y = [-20, 20]"), ("z = [60, 110]", "z = [-10, 5]")],
            "x = [-700, 60]",
            'obstacle 1, x: "left rail" lies on the bore line from -700 mm to 60 mm, in the stroke of bore 1 from -34.5'
            " mm to 3 mm",
            id="an obstacle on the bore line",
        ),
        pytest.param(
            [(LEFT_Y, "y = [150, 170]"), ("z = [60, 110]", "z = [109, 120]")],
            "x = [-700, 61]",
            'obstacle 2, x: "right rail" overlaps "left rail": X -700 mm to 61 mm and -700 mm to 60 mm; boxes may'
            " touch, but not be in one place",
            id="two boxes in one place",
        ),
        pytest.param(
            [('name = "right rail"', 'name = "left rail"')],
            'name = "left rail"',
            'obstacle 2, name: "left rail" is already the name of obstacle 1; give each its own',
            id="a name twice",
        ),
        pytest.param(
            [('name = "union"', 'name = "cutter"')],
            'name = "cutter"',
            'head.bump 1, name: "cutter" is already the name of the cutter; give each part its own',
            id="a bump named as a part of the tool",
        ),
        pytest.param(
            [
                (
                    "[block]",
                    '[[head.bump]]\nname = "union"\nbehind = [0, 1]\ny = [0, 1]\nz = [0, 1]\n[block]',
                )
            ],
            'name = "union"',
            'head.bump 2, name: "union" is already the name of bump 1; give each part its own',
            id="two bumps of one name",
        ),
    ],
)
def test_two_things_that_cannot_be(tmp_path: Path, changes: list[tuple[str, str]], line: str, words: str) -> None:
    assert refusal(tmp_path, *changes) == (line, words)


NO_BLOCK: Final = edited(JOB, (ROOM[ROOM.index("[block]") : ROOM.index("[[obstacle]]")], ""))


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("bulkhead_y = [-90, 90]\n", "bore 2, bulkhead_z: is missing; give both, or a [block]"),
        ("bulkhead_z = [-90, 90]\n", "bore 2, bulkhead_y: is missing; give both, or a [block]"),
        (
            "bulkhead_y = [-90, 90]\nbulkhead_z = [-90, 90]\n",
            "bore 2, hole: is missing; write the diameter of the hole that is there before this pass, e.g."
            " hole = 83.16",
        ),
    ],
)
def test_half_a_bulkhead_of_its_own(tmp_path: Path, more: str, words: str) -> None:
    assert refusal(tmp_path, (SECOND, SECOND + more), text=NO_BLOCK)[1] == words


def test_a_bore_s_own_extent_in_one_direction_leaves_the_other_to_the_block() -> None:
    job = make_job(edited(JOB, (SECOND, SECOND + "bulkhead_y = [-90, 90]\n")))
    assert job.bore[1].bulkhead_y == (-90, 90)


@pytest.mark.parametrize(
    "changes",
    [
        [(LEFT_Y, "y = [110, 135]")],
        [(LEFT_Y, "y = [140, 150]"), ("z = [60, 110]", "z = [110, 120]")],
        [("x = [-700, 60]", "x = [61, 80]"), (LEFT_Y, "y = [140, 150]")],
        [(LEFT_Y, "y = [140, 150]\nturned = 5")],
    ],
    ids=["in Y", "in Z", "in X", "turned"],
)
def test_boxes_may_touch_and_a_turned_one_is_left_to_the_proof(changes: list[tuple[str, str]]) -> None:
    assert len(make_job(edited(JOB, *changes)).obstacle) == 2


@pytest.mark.parametrize(
    "change",
    [("y = [-160, -135]", "y = [0, 20]"), ("x = [-700, 60]", "x = [3, 60]")],
    ids=["beside the line", "behind the start"],
)
def test_an_obstacle_may_touch_the_bore_line_or_end_where_a_stroke_does(change: tuple[str, str]) -> None:
    on_line = edited(JOB, ("z = [60, 110]", "z = [-10, 10]"), change)
    if "x =" in change[0]:
        on_line = edited(on_line, (LEFT_Y, "y = [-10, 10]"))
    assert len(make_job(on_line).obstacle) == 2


def test_inches_are_told_in_inches(tmp_path: Path) -> None:
    text = edited(INCH_TEXT, (HEAD, HEAD + "reach = 1.2\n"))
    line, words = refusal(tmp_path, text=text)
    assert line == "reach = 1.2"
    assert words == (
        "head.reach: 1.2 in is shorter than the way through bore 1, 1.225 in from its near face; the head would meet"
        " the bulkhead"
    )


def test_the_reach_is_held_against_the_longest_way_through() -> None:
    # Bore 1: 32 + 2.5 from its face to the end of the stroke.
    assert make_job(edited(JOB, ("reach = 60", "reach = 34.501"))).head.reach == 34.501
