"""The dials: which way their arrows go, worked out again from the arc's two ends."""

import math
import re
from typing import Any
from xml.etree import ElementTree as Tree

import pytest

from gen.job import Job
from gen.speeds import spindle_sense
from gen.turning import cutter_sense, dials
from post.motion import Sense
from tests.jobs import make_job


def job_of(hand: str, reverses: bool, points: str = "-X") -> Job:
    bores: dict[str, Any] = {} if points == "-X" else {"bore": [{"face": 0, "width": 32, "diameter": 84.0}]}
    return make_job(bar={"hand": hand}, head={"reverses": reverses, "points": points}, **bores)


def arrows(job: Job) -> list[int]:
    """For each dial, the spindle's first, 1 where its arrow goes clockwise as drawn."""
    found = []
    root = Tree.fromstring(dials(job))
    for arc, head in zip(root.findall("path[@class='turn']"), root.findall("path[@class='head']"), strict=True):
        x1, y1, radius, _, _, large, sweep, x2, y2 = map(float, re.findall(r"[-\d.]+", arc.get("d", "")))
        assert large == 1
        tip, one, other = (tuple(map(float, point.split(","))) for point in head.get("d", "")[1:-1].split("L"))
        back = ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
        assert math.dist(tip, (x2, y2)) < 2
        middle = (x1 + x2) / 2
        top = (y1 + y2) / 2 - math.sqrt(radius**2 - ((x1 - x2) / 2) ** 2)  # the middle lies above both ends
        out = (x2 - middle, y2 - top)
        along = (tip[0] - back[0], tip[1] - back[1])
        turn = 1 if out[0] * along[1] - out[1] * along[0] > 0 else -1  # y goes down
        assert (sweep == 1) == (turn == 1)
        found.append(turn)
    return found


@pytest.mark.parametrize("points", ["-X", "+X"])
@pytest.mark.parametrize(
    ("hand", "reverses", "spindle", "cutter"),
    [("right", False, 1, 1), ("right", True, -1, 1), ("left", False, -1, -1), ("left", True, 1, -1)],
)
def test_arrows_go_the_way_spindle_and_cutter_turn(
    hand: str, reverses: bool, spindle: int, cutter: int, points: str
) -> None:
    job = job_of(hand, reverses, points)
    assert arrows(job) == [spindle, cutter]
    senses = {1: Sense.CLOCKWISE, -1: Sense.COUNTERCLOCKWISE}
    assert spindle_sense(job) is senses[spindle]
    assert cutter_sense(job) is senses[cutter]
    words = {1: "clockwise", -1: "counterclockwise"}
    told = [one.text for one in Tree.fromstring(dials(job)).iter("text")]
    assert told[2:5] == ["spindle", senses[spindle].value, words[spindle]]
    assert told[told.index("cutter") + 1] == words[cutter]
    assert f"head, toward {points}" in told


@pytest.mark.parametrize(("points", "right"), [("-X", True), ("+X", False)])
def test_seen_from_the_head_y_is_to_the_right_where_the_bar_points_to_minus_x(points: str, right: bool) -> None:
    texts = list(Tree.fromstring(dials(job_of("right", True, points))).iter("text"))
    places = {text.text: float(text.get("x", "")) for text in texts if text.text in ("Y", "Z")}
    assert (places["Y"] > places["Z"]) is right
