"""Two dials that show which way spindle and cutter turn, each as a person sees it.

The spindle is seen from above, down at the table: M3 is clockwise there (common practice, no source). The cutter is
seen from the head, along the bar toward its tip: clockwise where it is right-hand (common practice, no source).
"""

import math
from typing import Final
from xml.etree import ElementTree as Tree

from gen.job import Job
from gen.shapes import n
from gen.speeds import spindle_sense
from post.motion import Sense

RADIUS: Final = 7.5
MIDDLE: Final = (13.0, 11.0)
"""Where the first dial stands, mm; the second stands below it."""
APART: Final = 25.0
SWEEP_DEG: Final = 250.0
WORDS: Final = {Sense.CLOCKWISE: "clockwise", Sense.COUNTERCLOCKWISE: "counterclockwise"}


def cutter_sense(job: Job) -> Sense:
    """Which way the cutter turns, seen from the head along the bar toward its tip."""
    sense = spindle_sense(job)
    return sense.opposite if job.head.reverses else sense


def dials(job: Job) -> str:
    """The dials as an SVG element, the spindle's above the cutter's; a unit is a millimetre."""
    root = Tree.Element("svg", {"class": "dials", "viewBox": "0 0 50 48", "role": "img"})
    sense = spindle_sense(job)
    root.set(
        "aria-label", f"spindle {WORDS[sense]} seen from above, cutter {WORDS[cutter_sense(job)]} seen from the head"
    )
    _dial(root, 0.0, sense, ("X", "Y"), 1, ["spindle", sense.value, WORDS[sense], "seen from", "above"])
    # Looking along the bar, Z up: Y is to the right looking toward -X, to the left looking toward +X.
    words = ["cutter", WORDS[cutter_sense(job)], "seen from the", f"head, toward {job.head.points}"]
    _dial(root, APART, cutter_sense(job), ("Y", "Z"), -job.direction, words)
    middle_y = MIDDLE[1] + APART
    tip = f"M{n(MIDDLE[0])},{n(middle_y - 4.6)}l1,1.6v1.4h-2v-1.4z"
    Tree.SubElement(root, "circle", {"class": "bar", "cx": n(MIDDLE[0]), "cy": n(middle_y), "r": "2.6"})
    Tree.SubElement(root, "path", {"class": "tip", "d": tip})
    return Tree.tostring(root, encoding="unicode")


def _dial(root: Tree.Element, down: float, sense: Sense, axes: tuple[str, str], right: int, words: list[str]) -> None:
    """An arrow round a middle, the axes it is seen in, and words beside; ``right`` is -1 where one is to the left."""
    x, y = MIDDLE[0], MIDDLE[1] + down
    _text(root, x + right * (RADIUS + 2.6), y + 1.0, axes[0], "middle")
    _text(root, x, y - RADIUS - 1.0, axes[1], "middle")
    cross = f"M{n(x - RADIUS - 1)},{n(y)}H{n(x + RADIUS + 1)}M{n(x)},{n(y - RADIUS - 0.6)}V{n(y + RADIUS + 1)}"
    Tree.SubElement(root, "path", {"class": "cross", "d": cross})
    turn = 1 if sense is Sense.CLOCKWISE else -1  # on paper y goes down, so that a rising angle is clockwise
    start = math.radians(-90 - turn * SWEEP_DEG / 2)
    stop = math.radians(-90 + turn * SWEEP_DEG / 2)
    ends = [(x + RADIUS * math.cos(angle), y + RADIUS * math.sin(angle)) for angle in (start, stop)]
    one, other = (f"{n(end_x)},{n(end_y)}" for end_x, end_y in ends)
    arc = f"M{one}A{n(RADIUS)},{n(RADIUS)} 0 1 {(turn + 1) // 2} {other}"
    Tree.SubElement(root, "path", {"class": "turn", "d": arc})
    Tree.SubElement(root, "path", {"class": "head", "d": _head(*ends[1], stop + turn * math.pi / 2)})
    for row, word in enumerate(words):
        _text(root, x + RADIUS + 5.0, y - 5.4 + 3.4 * row, word, "start", "name" if row == 0 else "")


def _head(x: float, y: float, along: float) -> str:
    """A filled arrow's head about a point, pointing along an angle."""
    corners = [(1.7, 0.0), (-1.5, 1.4), (-1.5, -1.4)]
    cos, sin = math.cos(along), math.sin(along)
    points = [f"{n(x + a * cos - b * sin)},{n(y + a * sin + b * cos)}" for a, b in corners]
    return f"M{'L'.join(points)}Z"


def _text(root: Tree.Element, x: float, y: float, text: str, anchor: str, kind: str = "") -> None:
    place = {"x": n(x), "y": n(y), "text-anchor": anchor, "font-size": "2.9"}
    element = Tree.SubElement(root, "text", place | ({"class": kind} if kind else {}))
    element.text = text
