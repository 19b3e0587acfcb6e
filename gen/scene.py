"""Two pictures of a job, to scale: the row from the side and from its end, with the tool at the first bore.

side
    X to the right, Z up: seen toward +Y. Bulkheads are cut along the bore line.
end
    Y to the right, Z up: seen toward -X.

A picture's unit of length is the millimetre, x to the right and y down, so that a point of the program stands at
y = -Z. Both reach equally far up and down and are lettered alike: side by side at one scale they line up. Nothing here
has a colour: that is for ``pages/scene.css``, by class.

The tool is drawn about the programmed point in ``<g class="tool">``; to move it, move that group. ``<g class="path">``
is empty, for whoever draws what a program does. ``<g class="bore" data-bore="0">`` is a bore: hole, stock and stroke.
"""

import math
from collections.abc import Iterator
from string import ascii_lowercase
from typing import Final, Literal, NamedTuple
from xml.etree import ElementTree as Tree

from gen import room
from gen.job import Job
from gen.passes import measured_mm
from gen.row import Housing
from gen.scenelayout import ARROW, FONT, LEAST_WIDTH, MARGIN, SIGN, Extent, Layout, sides
from gen.sections import Disc, Part, Turned
from gen.shapes import (
    Corners,
    arrow_head,
    box_corners,
    circle,
    hatching,
    n,
    polygon,
    round_below,
    runs,
    shortened,
    zigzag,
)
from post.units import MM_PER, show_length

Which = Literal["side", "end"]

LETTER: Final = 0.56
"""Width of a letter, as a part of its height."""
METAL: Final = (-45.0, 1.7)
OTHER: Final = (45.0, 1.1)
"""Hatching of metal to be bored, and of what stands in the way: slope in degrees as seen, and distance of the lines."""
LEAST_NAME: Final = 5
"""Letters of a name that must fit for it to be written at all."""
MOST_LABELS: Final = 60
MOST_MARKS: Final = len(ascii_lowercase)
"""Obstacles that are given a letter in the pictures and in their key."""
SEEN: Final[dict[Which, str]] = {"side": "seen toward +Y", "end": "seen toward -X"}
ACROSS: Final[dict[Which, str]] = {"side": "X", "end": "Y"}


class Scene(NamedTuple):
    """A picture: its SVG element, and its viewBox (left, top, width, height) in mm, with y = -Z."""

    svg: str
    view: tuple[float, float, float, float]


def side(job: Job) -> Scene:
    """The row from the side, seen toward +Y. The job's leave angle must be a number."""
    return _Picture(job, "side").scene()


def end(job: Job) -> Scene:
    """The row from its end, seen toward -X. The job's leave angle must be a number."""
    return _Picture(job, "end").scene()


def key(job: Job) -> list[tuple[str, str]]:
    """The letters that stand for obstacles in both pictures, and the obstacles' names."""
    return [(letter, obstacle.name) for letter, obstacle in zip(ascii_lowercase, job.obstacle, strict=False)]


class _Picture:
    def __init__(self, job: Job, which: Which) -> None:
        self.job, self.which = job, which
        self.layout = layout = Layout(job)
        self.unit = unit = layout.unit
        self.row = layout.row
        low, high = layout.x if which == "side" else layout.y
        widened = max(0.0, LEAST_WIDTH[which] * unit - (high - low)) / 2
        self.low, self.high = low - widened, high + widened
        self.floor = -layout.z[0] + MARGIN * unit
        left, top = self.low - MARGIN * unit, -layout.z[1] - MARGIN * unit
        width = self.high - self.low + 2 * MARGIN * unit
        height = self.floor + (layout.foot_rows + SIGN + MARGIN) * unit - top
        self.view = (left, top, width, height)
        self.root = Tree.Element(
            "svg",
            {
                "class": f"scene {which}",
                "viewBox": " ".join(n(value) for value in self.view),
                "role": "img",
                "aria-label": f"{job.name}, {SEEN[which]}",
                # For whoever counter-scales: one unit is a millimetre where both pictures share an A4's width.
                "data-unit": n(unit),
            },
        )

    def scene(self) -> Scene:
        self._bulkheads()
        self._axis()
        self._bores()
        self._obstacles()
        self._clearance()
        self._group("path")
        self._tool()
        self._way()
        self._zero()
        if self.which == "side":
            self._numbers()
        self._foot()
        return Scene(Tree.tostring(self.root, encoding="unicode"), self.view)

    def _bulkheads(self) -> None:
        group = self._group("block")
        told = [housing for housing in self.row if room.bulkhead_extent(self.job, housing) is not None]
        made_up = [housing for housing in self.row if room.bulkhead_extent(self.job, housing) is None]
        if self.which == "end" and made_up:
            made_up = [max(made_up, key=lambda housing: housing.bore.diameter)]
        for kind, some in (("metal untold", made_up), ("metal", told)):
            for shape, hatched in self._metal(some):
                self._path(group, kind, shape).set("fill-rule", "evenodd")
                self._path(group, "hatch", hatched)
        if made_up:
            self._path(group, "broken", "".join(self._broken(made_up)))

    def _metal(self, some: list[Housing]) -> Iterator[tuple[str, str]]:
        """Bulkheads and their hatching: from the side all in one, cut along the bore line; from the end each size."""
        if self.which == "end":
            radius = min(self._hole(housing) for housing in self.row) / 2
            for one in dict.fromkeys(self.layout.outline(housing) for housing in some):
                corners = box_corners((one.low_y, one.high_y), (one.low_z, one.high_z))
                yield polygon(corners) + circle(radius), self._hatching(corners, METAL, hole=radius)
        elif some:
            boxes = [corners for housing in some for corners in self._cut_metal(housing)]
            yield "".join(map(polygon, boxes)), "".join(self._hatching(corners, METAL) for corners in boxes)

    def _cut_metal(self, housing: Housing) -> tuple[Corners, Corners]:
        outline, radius = self.layout.outline(housing), self._hole(housing) / 2
        return (
            box_corners(housing.metal, (radius, outline.high_z)),
            box_corners(housing.metal, (outline.low_z, -radius)),
        )

    def _hatching(self, corners: Corners, lines: tuple[float, float], *, hole: float = 0.0) -> str:
        """Hatching of a shape, as far as it is in the picture; ``lines`` are their slope in degrees and distance."""
        left, top, width, height = self.view
        seen = box_corners((left, left + width), (-top - height, -top))
        return hatching(corners, seen, slope_deg=lines[0], apart=lines[1] * self.unit, hole=hole)

    def _hole(self, housing: Housing) -> float:
        """Diameter of the hole as it is, where the job tells it; else as it is to be."""
        now = measured_mm(self.job, housing.bore)
        return housing.bore.diameter if now is None else min(now[0], housing.bore.diameter)

    def _broken(self, some: list[Housing]) -> Iterator[str]:
        """Zigzag lines where the metal goes on, who knows how far."""
        for housing in some:
            outline = self.layout.outline(housing)
            low, high = housing.metal if self.which == "side" else (outline.low_y, outline.high_y)
            for z in (outline.low_z, outline.high_z):
                yield zigzag(low, high, -z, 0.8 * self.unit)

    def _axis(self) -> None:
        """The bore line: along the row, or as a cross."""
        group, over = self._group("axis"), 3 * self.unit
        if self.which == "side":
            low = min(housing.stroke[0] for housing in self.row) - over
            high = max(housing.stroke[1] for housing in self.row) + over
            self._path(group, "centre", f"M{n(low)},0H{n(high)}")
        else:
            reach = max(housing.bore.diameter for housing in self.row) / 2 + over
            self._path(group, "centre", f"M{n(-reach)},0H{n(reach)}M0,{n(-reach)}V{n(reach)}")

    def _bores(self) -> None:
        group = self._group("bores")
        if self.which == "end":
            for diameter in sorted({housing.bore.diameter for housing in self.row}, reverse=True):
                Tree.SubElement(group, "circle", {"class": "hole", "r": n(diameter / 2)})
            for diameter in sorted({self._hole(housing) for housing in self.row}):
                Tree.SubElement(group, "circle", {"class": "before", "r": n(diameter / 2)})
            return
        for index, housing in enumerate(self.row):
            bore = Tree.SubElement(group, "g", {"class": "bore", "data-bore": str(index)})
            Tree.SubElement(bore, "title").text = self._title(index, housing)
            low, high = housing.metal
            radius = housing.bore.diameter / 2
            self._rect(bore, "hole", (low, high), (-radius, radius))
            before = self._hole(housing) / 2
            if before < radius:
                stock = [box_corners((low, high), heights) for heights in ((before, radius), (-radius, -before))]
                self._path(bore, "stock", "".join(map(polygon, stock)))
            self._stroke(bore, housing)

    def _title(self, index: int, housing: Housing) -> str:
        bore, units = housing.bore, self.job.units
        number = f"bore {index + 1}" if bore.name == str(index + 1) else f"bore {index + 1}, {bore.name}"
        start, end_ = show_length(housing.start_x, units), show_length(housing.end_x, units)
        return f"{number}: diameter {show_length(bore.diameter, units)}, cutter from X {start} to {end_}"

    def _stroke(self, bore: Tree.Element, housing: Housing) -> None:
        """Start and end of a stroke, and below the block an arrow from the one to the other."""
        radius, start, end_ = housing.bore.diameter / 2, housing.start_x, housing.end_x
        y = self.floor + ARROW * self.unit
        down = y + 0.8 * self.unit
        self._path(bore, "start", f"M{n(start)},{n(-radius)}V{n(down)}")
        self._path(bore, "end", f"M{n(end_)},{n(-radius)}V{n(down)}")
        size = min(ARROW * self.unit, abs(end_ - start) / 2)
        self._path(
            bore,
            "feed",
            f"M{n(start)},{n(y)}H{n(end_)}" + arrow_head(end_, y, self.job.direction * size, 0),
        )

    def _numbers(self) -> None:
        """Numbers of the bores below their strokes, and names below those that have one."""
        group = self._group("labels")
        row, unit = self.row, self.unit
        pitch = abs(row[-1].near_x - row[0].near_x) / max(1, len(row) - 1) if len(row) > 1 else self.view[2]
        wide = (len(str(len(row))) + 1) * LETTER * FONT * unit
        step = max(1, math.ceil(wide / pitch), math.ceil(len(row) / MOST_LABELS))
        fits = int(step * pitch / (LETTER * FONT * unit))
        y = self.floor + (2.4 * ARROW + FONT) * unit
        for index in range(0, len(row), step):
            x = sum(row[index].metal) / 2
            label = self._write(group, x, y, str(index + 1), "number", anchor="middle")
            label.set("data-bore", str(index))
            name = row[index].bore.name
            if name != str(index + 1) and fits >= LEAST_NAME:
                self._write(group, x, y + 1.15 * FONT * unit, shortened(name, fits), "name", anchor="middle")

    def _obstacles(self) -> None:
        group = self._group("obstacles")
        for index, named in enumerate(self.layout.obstacles):
            obstacle = Tree.SubElement(group, "g", {"class": "obstacle", "data-obstacle": str(index)})
            Tree.SubElement(obstacle, "title").text = named.name
            section, (across, upright) = named.obstacle.section, self._extents(named)
            if self.which == "end" and isinstance(section, Turned):
                corners: Corners = [(float(y), -float(z)) for y, z in section.corners]
            else:
                # The labels below the block are not to be hidden by a table.
                floor = max(upright[0], self.layout.z[0])
                corners = box_corners(across, (floor, max(upright[1], floor)))
            self._path(obstacle, "shape", polygon(corners))
            self._path(obstacle, "hatch", self._hatching(corners, OTHER))
        self._marks()

    def _extents(self, named: room.NamedObstacle) -> tuple[Extent, Extent]:
        """How far an obstacle reaches in the picture, across and up."""
        obstacle = named.obstacle
        across = (obstacle.low_x, obstacle.high_x) if self.which == "side" else sides(obstacle.section, 0)
        return across, sides(obstacle.section, 1)

    def _marks(self) -> None:
        """Letters in the middle of what is seen of the obstacles; those that would stand in one place told together."""
        group, apart = self._group("marks"), 1.3 * FONT * self.unit
        places: dict[tuple[float, float], list[int]] = {}
        for index, named in enumerate(self.layout.obstacles[:MOST_MARKS]):
            across, upright = self._extents(named)
            x = (max(across[0], self.low) + min(across[1], self.high)) / 2
            y = -(max(upright[0], self.layout.z[0]) + min(upright[1], self.layout.z[1])) / 2
            near = (at for at in places if abs(x - at[0]) < apart and abs(y - at[1]) < apart)
            places.setdefault(next(near, (x, y)), []).append(index)
        letters = [letter for letter, _ in key(self.job)]
        for (x, y), found in places.items():
            self._write(group, x, y + 0.36 * FONT * self.unit, runs(found, letters), "mark", anchor="middle")

    def _clearance(self) -> None:
        group, height = self._group("clearance"), self.job.path.clearance_height
        left, _, width, _ = self.view
        self._path(group, "height", f"M{n(left)},{n(-height)}H{n(left + width)}")
        if self.which == "side":
            text = f"clearance height, Z {show_length(height, self.job.units)}"
            # Where the way in is, over the first bore, is the tool: the label stands at the other end.
            at_left = self.job.direction < 0
            x = left + self.unit if at_left else left + width - self.unit
            self._write(group, x, -height - 1.2 * self.unit, text, anchor="start" if at_left else "end")

    def _way(self) -> None:
        """From the end, the way in and out, over the tool that hides it."""
        if self.which == "end":
            height = self.job.path.clearance_height
            across = height * math.tan(self.job.leave_angle_rad)
            self._path(self._group("clearance"), "way", f"M0,0L{n(across)},{n(-height)}")

    def _tool(self) -> None:
        first = self.row[0]
        x = first.start_x if self.which == "side" else 0.0
        group = self._group("tool")
        group.set("transform", f"translate({n(x)},0)")
        for kind, name, part in self.layout.tool():
            shape = self._part(group, kind, part)
            Tree.SubElement(shape, "title").text = name
            if kind == "stub" and self.which == "side":
                top = -sides(part.section, 1)[1] - 0.9 * self.unit
                # From the stub's outer edge inward: it may be the outermost thing in the picture.
                at_right = self.job.direction < 0
                x, anchor = (part.high_x, "end") if at_right else (part.low_x, "start")
                self._write(group, x, top, "head not told", anchor=anchor)
        self._cutter(group, first.bore.diameter / 2)

    def _part(self, group: Tree.Element, kind: str, part: Part) -> Tree.Element:
        if self.which == "end" and isinstance(part.section, Disc):
            return Tree.SubElement(group, "circle", {"class": kind, "r": n(part.section.radius)})
        across = (part.low_x, part.high_x) if self.which == "side" else sides(part.section, 0)
        return self._rect(group, kind, across, sides(part.section, 1))

    def _cutter(self, group: Tree.Element, radius: float) -> None:
        """The edge, pointing up, and the circle it describes; the point it is programmed by."""
        bar = self.job.bar.diameter / 2
        shank = max(min(0.3 * bar, 2.5 * self.unit), 0.8 * self.unit)
        back = -self.job.direction * 2 * shank
        base = 0.75 * bar
        if self.which == "side":
            self._path(group, "swept", f"M0,{n(-radius)}V{n(radius)}")
            tip = f"M0,{n(-radius)}L0,{n(-base)}H{n(back)}V{n(-(base + 0.45 * (radius - base)))}Z"
        else:
            Tree.SubElement(group, "circle", {"class": "swept", "r": n(radius)})
            edge = -(base + 0.45 * (radius - base))
            tip = f"M0,{n(-radius)}L{n(shank)},{n(edge)}V{n(-base)}H{n(-shank)}V{n(edge)}Z"
        Tree.SubElement(self._path(group, "cutter", tip), "title").text = "cutter"

    def _zero(self) -> None:
        """Program zero: a circle with two of its quarters filled."""
        group, r = self._group("zero"), n(1.5 * self.unit)
        Tree.SubElement(group, "title").text = "program zero"
        Tree.SubElement(group, "circle", {"class": "ring", "r": r})
        self._path(group, "quarters", f"M0,0V-{r}A{r},{r} 0 0 1 {r},0ZM0,0V{r}A{r},{r} 0 0 1 -{r},0Z")

    def _foot(self) -> None:
        """Directions, scale, and which way the picture is seen."""
        left, top, width, height = self.view
        unit = self.unit
        group = self._group("foot")
        x, y = left + 1.5 * unit, top + height - 1.5 * unit
        size, tip = SIGN * unit, ARROW * unit
        arrows = f"M{n(x)},{n(y)}H{n(x + size)}" + arrow_head(x + size, y, tip, 0)
        arrows += f"M{n(x)},{n(y)}V{n(y - size)}" + arrow_head(x, y - size, 0, -tip)
        self._path(group, "directions", arrows)
        self._write(group, x + size + 0.8 * unit, y + 0.36 * FONT * unit, ACROSS[self.which])
        self._write(group, x + 1.6 * unit, y - size + 0.8 * FONT * unit, "Z")
        right = left + width - unit
        if self.which == "end":
            below = self.floor + 2 * FONT * unit
            self._write(group, left + width / 2, below, SEEN["end"], "seen", anchor="middle")
        else:
            self._write(group, right, y, SEEN["side"], "seen", anchor="end")
            self._scale(group, x + size + 6 * unit, y)
            if any(room.bulkhead_extent(self.job, housing) is None for housing in self.row):
                self._write(group, right, y - 1.3 * FONT * unit, "extent of the block not told", "note", anchor="end")

    def _scale(self, group: Tree.Element, x: float, y: float) -> None:
        per = MM_PER[self.job.units]
        length = round_below(30 * self.unit / per) * per
        tick = 0.8 * self.unit
        ends = "".join(f"M{n(at)},{n(y - tick)}V{n(y + tick)}" for at in (x, x + length))
        self._path(group, "measure", f"M{n(x)},{n(y)}H{n(x + length)}{ends}")
        self._write(group, x + length / 2, y - 1.1 * self.unit, show_length(length, self.job.units), anchor="middle")

    def _group(self, kind: str) -> Tree.Element:
        return Tree.SubElement(self.root, "g", {"class": kind})

    def _path(self, parent: Tree.Element, kind: str, shape: str) -> Tree.Element:
        return Tree.SubElement(parent, "path", {"class": kind, "d": shape})

    def _rect(self, parent: Tree.Element, kind: str, across: Extent, upright: Extent) -> Tree.Element:
        place = {"x": across[0], "y": -upright[1], "width": across[1] - across[0], "height": upright[1] - upright[0]}
        return Tree.SubElement(parent, "rect", {"class": kind, **{name: n(value) for name, value in place.items()}})

    def _write(
        self, parent: Tree.Element, x: float, y: float, text: str, kind: str = "", *, anchor: str = "start"
    ) -> Tree.Element:
        size = {"x": n(x), "y": n(y), "font-size": n(FONT * self.unit), "text-anchor": anchor}
        element = Tree.SubElement(parent, "text", size)
        if kind:
            element.set("class", kind)
        element.text = text
        return element
