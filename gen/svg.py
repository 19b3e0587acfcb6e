"""A page of SVG to draw on: lines, polygons, rectangles and text, and the numbers that a drawing takes."""

import math
from collections.abc import Sequence
from typing import Final
from xml.etree import ElementTree as Tree

CUT: Final = "..."
TIMES: Final = (1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8)
APART: Final = 13
"""Pixels from one line of text to the next."""


class Page:
    """A white page, in pixels from its upper left corner. Every part is of a class of its style sheet, or of none."""

    def __init__(self, width: float, height: float, *, title: str, style: str) -> None:
        size = {"width": number(width), "height": number(height)}
        self.root = Tree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {size['width']} {size['height']}",
                **size,
                "role": "img",
            },
        )
        Tree.SubElement(self.root, "title").text = title
        Tree.SubElement(self.root, "style").text = style
        Tree.SubElement(self.root, "rect", width="100%", height="100%", fill="#fff")

    def text(self) -> str:
        """The whole document; what was written on it is escaped."""
        return Tree.tostring(self.root, encoding="unicode") + "\n"

    def line(self, x1: float, y1: float, x2: float, y2: float, kind: str) -> None:
        """A straight line from (x1, y1) to (x2, y2)."""
        self._add("line", kind, x1=x1, y1=y1, x2=x2, y2=y2)

    def rect(self, x: float, y: float, width: float, height: float, kind: str) -> None:
        """A rectangle from its upper left corner; width and height are not negative."""
        self._add("rect", kind, x=x, y=y, width=width, height=height)

    def circle(self, cx: float, cy: float, r: float, kind: str) -> None:
        """A circle about (cx, cy)."""
        self._add("circle", kind, cx=cx, cy=cy, r=r)

    def polygon(self, kind: str, points: Sequence[tuple[float, float]]) -> None:
        """A closed outline."""
        corners = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        Tree.SubElement(self.root, "polygon", {"class": kind, "points": corners})

    def triangle(self, tip: tuple[float, float], way: tuple[float, float], kind: str, *, half: float = 5) -> None:
        """A mark with its tip at a place; ``way``: unit vector, as on the page, from the tip to the foot."""
        (x, y), (dx, dy) = tip, way
        foot_x, foot_y = x + 2 * half * dx, y + 2 * half * dy
        corners = [(foot_x - half * dy, foot_y + half * dx), (foot_x + half * dy, foot_y - half * dx)]
        self.polygon(kind, [tip, *corners])

    def write(self, x: float, y: float, text: str, kind: str = "", *, anchor: str = "start") -> Tree.Element:
        """Text on the line y, which starts at x, has its middle there or ends there ("start", "middle", "end")."""
        element = Tree.SubElement(
            self.root, "text", {"x": number(x), "y": number(y), "style": f"text-anchor: {anchor}"}
        )
        if kind:
            element.set("class", kind)
        element.text = text
        return element

    def _add(self, tag: str, kind: str, **places: float) -> None:
        Tree.SubElement(self.root, tag, {"class": kind, **{name: number(at) for name, at in places.items()}})


def number(value: float) -> str:
    """A place on the page, to a hundredth of a pixel."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def step(least: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that is no less than a number above 0."""
    power: float = 10.0 ** math.floor(math.log10(least))
    return next(times * power for times in (1, 2, 5, 10) if times * power >= least * (1 - 1e-9))


def times(most: float) -> float:
    """A round number of times, no more than a number above 0 and more than 3/4 of it."""
    power: float = 10.0 ** math.floor(math.log10(most))
    return max(round_one * power for round_one in TIMES if round_one * power <= most * (1 + 1e-9))


def polar(x: float, y: float, radius: float, angle: float) -> tuple[float, float]:
    """A place on the page from (x, y), at a clock angle in radians: 0 is up, a quarter turn to the right."""
    return x + radius * math.sin(angle), y - radius * math.cos(angle)


def apart(places: Sequence[float], low: float, high: float) -> list[float]:
    """Rising places from low to high, moved as far apart as lines of text must be. They must have room."""
    spread: list[float] = []
    for place in places:
        spread.append(max(place, spread[-1] + APART if spread else low))
    limit = high
    for number in reversed(range(len(spread))):
        spread[number] = min(spread[number], limit)
        limit = spread[number] - APART
    return spread


def cut(text: str, longest: int) -> str:
    """A text of so many characters at most, more than three; a longer one ends in dots."""
    return text if len(text) <= longest else text[: longest - len(CUT)] + CUT
