"""Pictures of surveyed rows, taken apart again."""

import re
from copy import deepcopy
from typing import Any
from xml.etree import ElementTree as Tree

from gen.lineclocks import PER_ROW
from gen.linefacts import facts
from gen.linelook import WIDTH
from gen.lineplot import KINDS, PANEL, svg
from gen.roundness import Oval
from gen.row import housings
from gen.surveyed import Section, Surveyed
from tests.shop import sized_job

SPACE = "{http://www.w3.org/2000/svg}"
SPUN = ((0.01, -0.01, 83.74), (-0.04, 0.06, 83.87), (-0.02, 0.0, 83.75))
BARE = ((0.0, 0.0, 83.9), (0.0, 0.2, 83.95), (0.0, 0.0, 83.9))
WANTED = {"stock": 0.03}


def figures(
    *sections: tuple[float, float, float], oval: Oval | None = None, choose: str | None = None, **changes: Any
) -> dict[str, Any]:
    """Figures of bores of 84 with centres and diameters as told."""
    job = sized_job(len(sections), **{"line": WANTED, **changes})
    found = tuple(
        Section(number, None, (one.near_x + one.far_x) / 2, y, z, size, size, "centre", oval=oval)
        for number, (one, (y, z, size)) in enumerate(zip(housings(job), sections, strict=True))
    )
    return facts(job, Surveyed(found), choose=choose)


PLAIN = figures(*SPUN)
SHORT = figures(*BARE)


def drawn(found: dict[str, Any]) -> Tree.Element:
    return Tree.fromstring(svg(found))


def parts(root: Tree.Element, tag: str, kind: str) -> list[dict[str, float]]:
    """Places of the parts of a class."""
    found = [one for one in root.iter(f"{SPACE}{tag}") if one.get("class") == kind]
    return [{name: float(at) for name, at in one.attrib.items() if name not in ("class", "points")} for one in found]


def outlines(root: Tree.Element, kind: str) -> list[list[tuple[float, float]]]:
    found = [one.get("points", "") for one in root.iter(f"{SPACE}polygon") if one.get("class") == kind]
    return [[(float(x), float(y)) for x, y in (pair.split(",") for pair in one.split())] for one in found]


def texts(root: Tree.Element) -> list[str]:
    return [one.text or "" for one in root.iter(f"{SPACE}text")]


def told(root: Tree.Element) -> str:
    return "\n".join(texts(root))


def often(root: Tree.Element, what: str) -> float:
    """How many times larger than true something is said to be drawn."""
    found = re.search(rf"{what} drawn ([\d.]+) times", told(root))
    assert found is not None
    return float(found[1])


def within(places: list[dict[str, float]], name: str, top: float, height: float = PANEL) -> list[dict[str, float]]:
    return [one for one in places if top <= one[name] <= top + height]


def centres(root: Tree.Element, top: float) -> list[dict[str, float]]:
    return within(parts(root, "circle", "centre"), "cy", top)


def the_line(root: Tree.Element, name: str, top: float) -> dict[str, float]:
    kinds = (f"line {KINDS[name]}", f"line {KINDS[name]} heavy")
    (one,) = within([one for kind in kinds for one in parts(root, "line", kind)], "y1", top)
    return one


def at(line: dict[str, float], x: float) -> float:
    return line["y1"] + (line["y2"] - line["y1"]) * (x - line["x1"]) / (line["x2"] - line["x1"])


def clock_of(number: int) -> float:
    """X of a clock's middle."""
    return 40 + (WIDTH - 80) / PER_ROW * (number % PER_ROW + 0.5)


def many(found: dict[str, Any], count: int) -> dict[str, Any]:
    """The same bores over and over, farther and farther along the row."""
    some = deepcopy(found)
    size = len(found["sections"])
    old = found["sections"]
    some["sections"] = [{**old[n % size], "bore": f"b{n}", "x": -10.0 * n} for n in range(count)]
    some["checks"] = [found["checks"][n % size] for n in range(count)]
    for line in some["lines"]:
        for name in ("stock", "thinnest"):
            line[name] = [line[name][n % size] for n in range(count)]
    return some
