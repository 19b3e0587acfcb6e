"""Tool and surroundings as prisms: every part where it hangs, for both directions."""

import math
from typing import Final

import pytest

from gen.room import (
    STEM_TOP_MM,
    NamedObstacle,
    NamedPart,
    bulkhead_extent,
    bulkhead_section,
    cutter,
    cutter_tip,
    hole_before,
    obstacles,
    tool,
)
from gen.row import housings
from gen.sections import Disc, Obstacle, Part, Plate, Rectangle, Turned
from tests.rooms import BODY, BORE, FAR, box, room_job

HEAD: Final = {
    "reach": 60,
    "body": BODY,
    "stem": {"back": 5, "length": 40, "width": 70},
    "bump": [{"name": "union", "behind": [70, 90], "y": [45, 62], "z": [-5, 5]}],
}


def test_the_tool_hangs_behind_the_edge() -> None:
    # Pointing toward -X all of it lies at larger X.
    assert tool(room_job(head=HEAD)) == [
        NamedPart("bar", Part(0, 60, Disc(25))),
        NamedPart("head body", Part(60, 130, Rectangle(-45, 45, -45, 60))),
        NamedPart("stem", Part(65, 105, Rectangle(-35, 35, 60, STEM_TOP_MM))),
        NamedPart("union", Part(70, 90, Rectangle(45, 62, -5, 5))),
    ]


def test_the_other_way_round_only_x_is_turned() -> None:
    there = tool(room_job(head=HEAD))
    back = tool(room_job(head={**HEAD, "points": "+X"}))
    assert [(name, part.section) for name, part in back] == [(name, part.section) for name, part in there]
    assert [(-part.high_x, -part.low_x) for _, part in back] == [(part.low_x, part.high_x) for _, part in there]


@pytest.mark.parametrize(
    ("head", "names"),
    [
        ({}, []),
        ({"reach": 60}, ["bar"]),
        ({"reach": 60, "body": BODY}, ["bar", "head body"]),
        ({"reach": 60, "bump": HEAD["bump"]}, ["bar", "union"]),
    ],
)
def test_only_what_is_told(head: dict[str, object], names: list[str]) -> None:
    assert [name for name, _ in tool(room_job(head=head))] == names


def test_a_stem_without_a_body_begins_at_the_axis() -> None:
    (_, (_, stem)) = tool(room_job(head={"reach": 60, "stem": HEAD["stem"]}))
    assert stem == Part(65, 105, Rectangle(-35, 35, 0, STEM_TOP_MM))


def test_the_cutter_at_any_angle_is_a_disc_at_the_edge() -> None:
    assert cutter(84) == Part(0, 0, Disc(42))


@pytest.mark.parametrize(
    ("lift", "y", "z"),
    [((0.0, 0.3), 0, -42), ((0.0, -0.3), 0, 42), ((0.3, 0.0), -42, 0), ((-0.3, 0.4), 25.2, -33.6)],
)
def test_the_tip_points_against_the_lift(lift: tuple[float, float], y: float, z: float) -> None:
    tip = cutter_tip(84, lift)
    assert (tip.low_x, tip.high_x) == (0, 0)
    assert isinstance(tip.section, Rectangle)
    assert (tip.section.low_y, tip.section.low_z) == pytest.approx((y, z))
    assert (tip.section.high_y, tip.section.high_z) == (tip.section.low_y, tip.section.low_z)


def test_obstacles_plain_and_turned() -> None:
    job = room_job(obstacle=[{"name": "far", **FAR}, box("vee", [-10, 0], [90, 110], [0, 40], 90)])
    assert obstacles(job) == [
        NamedObstacle("far", Obstacle(-10, 10, Rectangle(500, 510, -10, 10))),
        NamedObstacle("vee", Obstacle(-10, 0, Turned(Rectangle(90, 110, 0, 40), math.pi / 2))),
    ]


def test_the_bulkhead_of_the_block_before_and_after_the_cut() -> None:
    job = room_job()
    (housing,) = housings(job)
    extent = Rectangle(-130, 130, -120, 100)
    assert bulkhead_extent(job, housing) == extent
    assert hole_before(job, housing) == 83.2
    assert bulkhead_section(job, housing, cut=False) == Plate(extent, 41.6)
    assert bulkhead_section(job, housing, cut=True) == Plate(extent, 42.0)


def test_a_bore_s_own_extent_and_hole_stand_for_the_block_s_one_by_one() -> None:
    job = room_job(bore=[{**BORE, "bulkhead_y": [-90, 80], "hole": 70}])
    (housing,) = housings(job)
    assert bulkhead_section(job, housing, cut=False) == Plate(Rectangle(-90, 80, -120, 100), 35.0)


def test_no_block_no_bulkhead() -> None:
    job = room_job(block=None)
    (housing,) = housings(job)
    assert bulkhead_extent(job, housing) is None
    assert hole_before(job, housing) is None
    assert bulkhead_section(job, housing, cut=False) is None
    assert bulkhead_section(job, housing, cut=True) is None
