"""A picture of a surveyed row and its lines, as SVG: from the side, from above, the stock left, and every bore.

Drawn from the dict of ``gen.linefacts`` alone. Along X the row is to scale; offsets are exaggerated, so many times as
is told, and so is the stock round a bore. Dashes, shapes and words tell what is what: it reads in grey as well.
"""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any, Final, NamedTuple

from gen.columns import fixed
from gen.lineclocks import Clocks, height
from gen.linelook import LEAST, LEFT, MARK, RIGHT, ROW, WIDTH, Look
from gen.linenames import AS_IT_LIES, END_BORES, LEAST_MOVED, LEAST_SQUARES, MOST_STOCK, NEW_ZERO_ONLY, WITHIN_LIMITS
from gen.linereport import verdict
from gen.svg import Page, apart, cut, step, times
from post.units import plain

PAD: Final = 36
"""How far the outermost sections stand from the sides of their panel."""
HEAD: Final = 28
VERDICT_ROWS: Final = 5
LEGEND: Final = 136
PANEL: Final = 150
SIDE: Final = 262
ABOVE: Final = SIDE + PANEL + 34
STOCK: Final = ABOVE + PANEL + 76
STOCK_HEIGHT: Final = 100
CLOCKS: Final = STOCK + STOCK_HEIGHT + 96
COLUMN: Final = 38
NARROWEST: Final = 6
LABEL: Final = 64
"""Pixels that a figure takes along the row."""
LONGEST: Final = 10
"""Characters of a bore's name that fit there."""
LONGEST_TEXT: Final = 130
MOST_SECTIONS: Final = 90
"""Sections drawn along the row; of more, those with the least stock of their neighbourhood."""
SPARE: Final = 1.2
FAR: Final = 4
"""How much larger program zero may make a panel's span; farther off it stands at the panel's edge."""
# Whichever of the first two there is, there is not the other.
KINDS: Final[Mapping[str, str]] = {
    LEAST_MOVED: "moved",
    WITHIN_LIMITS: "moved",
    MOST_STOCK: "most",
    NEW_ZERO_ONLY: "zero",
    END_BORES: "ends",
    LEAST_SQUARES: "squares",
    AS_IT_LIES: "lies",
}
OLD: Final[Mapping[str, str]] = {"ends": END_BORES, "all": LEAST_SQUARES, "zero": AS_IT_LIES}
"""Which line the crank's old line is."""
ZERO: Final = AS_IT_LIES
STYLE: Final = """\
text { font: 12px sans-serif; fill: #000 } .name { font-size: 17px; font-weight: bold } .small { font-size: 11px }
.strong { font-weight: bold } .frame { fill: none; stroke: #000 } .tick { stroke: #000 } .guide { stroke: #ccc }
.gate { fill: #ddd } .limit { stroke: #000; stroke-width: 1.5 } .leader { stroke: #777; stroke-width: 0.7 }
.line { stroke: #000; stroke-width: 1.2 } .heavy { stroke-width: 3.4 }
.most { stroke-dasharray: 14 5 } .zero { stroke-dasharray: 2 4 } .ends { stroke-dasharray: 12 3 2 3 }
.squares { stroke-dasharray: 6 4 } .lies { stroke-dasharray: 24 4 4 4; stroke: #555 }
.centre { fill: #fff; stroke: #000; stroke-width: 1.5 } .short { fill: #000; stroke: #000; stroke-width: 1.5 }
.stock { fill: #ccc; stroke: #000 } .lacking { fill: #000; stroke: #000 }
.wanted { stroke: #000; stroke-dasharray: 5 3 } .metal { fill: #ccc } .wall { fill: #fff; stroke: #000 }
.target { fill: none; stroke: #000; stroke-width: 2 } .axis { stroke: #000 }
.thinnest { fill: #fff; stroke: #000; stroke-width: 1.2 }"""


def svg(facts: dict[str, Any]) -> str:
    """The picture of the figures of ``gen.linefacts.facts``, a whole document."""
    return _Picture(facts).text()


class _Panel(NamedTuple):
    """Offsets along one axis, up the page."""

    axis: str
    top: float
    middle: float
    scale: float

    def holds(self, offset: float) -> bool:
        return abs(offset - self.middle) * self.scale < PANEL / 2

    def y(self, offset: float) -> float:
        """Where an offset stands, the nearer edge for one beyond the panel."""
        half = PANEL / 2
        return self.top + half - max(-half, min(half, (offset - self.middle) * self.scale))


class _Picture:
    def __init__(self, facts: dict[str, Any]) -> None:
        self.facts, self.sections = facts, facts["sections"]
        self.look = Look(facts)
        self.chosen = self.look.chosen
        places = [one["x"] for one in self.sections]
        self.first, self.last = places.index(min(places)), places.index(max(places))
        self.low_x: float = places[self.first]
        self.scale: float = (RIGHT - LEFT - 2 * PAD) / (places[self.last] - self.low_x)
        self.shown = self._shown()
        stands = sorted(map(self._x_of, self.shown))
        self.column = max(NARROWEST, 0.8 * min([COLUMN, *(right - left for left, right in pairwise(stands))]))
        self.mark = min(MARK, 0.4 * self.column)
        self.labelled = self._labelled()
        self.page = Page(
            WIDTH, CLOCKS + height(len(self.sections)), title=f"{facts['job']}: lines to bore on", style=STYLE
        )

    def text(self) -> str:
        self._title()
        self._legend()
        for x in map(self._x_of, self.labelled):
            for top, high in ((SIDE, PANEL), (ABOVE, PANEL), (STOCK, STOCK_HEIGHT)):
                self.page.line(x, top, x, top + high, "guide")
        self._panels()
        self._x_axis()
        self._stock()
        Clocks(self.look, self.page, CLOCKS).draw()
        return self.page.text()

    def x(self, place: float) -> float:
        return LEFT + PAD + (place - self.low_x) * self.scale

    def _x_of(self, section: int) -> float:
        return self.x(self.sections[section]["x"])

    def _shown(self) -> Sequence[int]:
        everyone = range(len(self.sections))
        if len(everyone) <= MOST_SECTIONS:
            return everyone
        worst: dict[int, int] = {}
        for section in sorted(everyone, key=self.chosen["stock"].__getitem__, reverse=True):
            worst[int((MOST_SECTIONS - 1) * (self._x_of(section) - LEFT) / (RIGHT - LEFT))] = section
        return sorted(worst.values())

    def _labelled(self) -> list[int]:
        """Sections whose name and figure have room along the row, those with the least stock before others."""
        found: list[int] = []
        for section in sorted(self.shown, key=self.chosen["stock"].__getitem__):
            if all(abs(self._x_of(section) - self._x_of(other)) >= LABEL for other in found):
                found.append(section)
        return found

    def _title(self) -> None:
        facts = self.facts
        self.page.write(LEFT, HEAD, cut(facts["job"], 80), "name")
        rows = [(told, "" if number else "strong") for number, told in enumerate(verdict(facts)[:VERDICT_ROWS])]
        drawn = f"drawn heavy, and told for the stock: the line {facts['chosen']}"
        is_best = facts["chosen"] == facts["best"]
        rows.append((drawn, "") if is_best else (f"{drawn}, NOT the one the verdict is about", "strong"))
        for number, (told, kind) in enumerate(rows, 1):
            self.page.write(LEFT, HEAD + 4 + number * ROW, cut(told, LONGEST_TEXT), kind)

    def _legend(self) -> None:
        for number, line in enumerate(self.facts["lines"]):
            column, below = divmod(number, 3)
            x, y = LEFT + 420 * column, LEGEND + ROW * below
            self.page.line(x, y - 4, x + 60, y - 4, self._kind(line))
            told = f"{line['name']}{self._also(line)}: least stock {self.look.signed(line['least'])}"
            self.page.write(x + 70, y, told, "strong" if line is self.chosen else "")
        y = LEGEND + 3 * ROW + 6
        self.page.circle(LEFT + 6, y - 4, MARK, "centre")
        self.page.write(LEFT + 18, y, "surveyed centre")
        self.page.circle(LEFT + 132, y - 4, MARK, "short")
        self.page.write(LEFT + 144, y, "one where stock is short")
        self.page.rect(LEFT + 307, y - 11, 10, 14, "gate")
        for edge in (y - 11, y + 3):
            self.page.line(LEFT + 304, edge, LEFT + 320, edge, "limit")
        self.page.write(
            LEFT + 326, y, "gate: the line must pass through it to keep the stock wanted; none where none can"
        )

    def _also(self, line: dict[str, Any]) -> str:
        facts, name = self.facts, line["name"]
        best = "bore on this" if facts["ok"] else "best, will not do"
        notes = {"program zero": ZERO, "the old line": OLD[facts["old_line"]], best: facts["best"]}
        told = [note for note, of in notes.items() if of == name] + ["outside limits"] * bool(line["breaks"])
        return f" ({', '.join(told)})" if told else ""

    def _kind(self, line: dict[str, Any]) -> str:
        return f"line {KINDS[line['name']]}{' heavy' if line is self.chosen else ''}"

    def _panels(self) -> None:
        spans = [self._span("z"), self._span("y")]
        widest = max(LEAST[self.facts["units"]], *(SPARE * (high - low) for low, high in spans))
        often = times(PANEL / widest / self.scale)
        for axis, top, seen, (low, high) in zip(
            "ZY", (SIDE, ABOVE), ("from the side", "from above"), spans, strict=True
        ):
            panel = _Panel(axis.lower(), top, (low + high) / 2, often * self.scale)
            at = [f"{self.look.signed(end[panel.axis])} at bore {cut(end['bore'], 16)}" for end in self.chosen["ends"]]
            told = (
                f"{seen}, offsets drawn {plain(often, 2)} times; the line {self.chosen['name']}: {axis} {', '.join(at)}"
            )
            self.page.write(LEFT, top - 7, told)
            self._scale(panel)
            self._row(panel)
        for section in self.labelled:
            kind = "strong" if self.look.bad(section) else ""
            self.page.write(
                self._x_of(section), SIDE - 24, cut(self.look.label(section), LONGEST), kind, anchor="middle"
            )
        self.page.write(LEFT - 10, SIDE - 24, "bore", anchor="end")

    def _span(self, axis: str) -> tuple[float, float]:
        """The least and the greatest offset that a panel is to hold."""
        ends = {line["name"]: self._ends(line, axis) for line in self.facts["lines"]}
        zero = () if self.chosen["name"] == ZERO else ends.pop(ZERO)
        offsets = [one[axis] for one in self.sections] + [end for both in ends.values() for end in both]
        low, high = min(offsets), max(offsets)
        with_zero = min(low, *zero, high), max(low, *zero, high)
        far = with_zero[1] - with_zero[0] > FAR * max(high - low, LEAST[self.facts["units"]])
        return (low, high) if far else with_zero

    def _ends(self, line: dict[str, Any], axis: str) -> tuple[float, float]:
        """Where a line lies at the left and right side of its panel."""
        one, other = line["ends"]
        slope = (other[axis] - one[axis]) / (other["x"] - one["x"])
        left, right = (self.low_x + (side - LEFT - PAD) / self.scale for side in (LEFT, RIGHT))
        return one[axis] + slope * (left - one["x"]), one[axis] + slope * (right - one["x"])

    def _scale(self, panel: _Panel) -> None:
        half = PANEL / 2 / panel.scale
        tick = step(2 * half / 6)
        for count in range(math.ceil((panel.middle - half) / tick), math.floor((panel.middle + half) / tick) + 1):
            y = panel.y(count * tick)
            self.page.line(LEFT - 5, y, LEFT, y, "tick")
            self.page.write(LEFT - 8, y + 4, f"{count * tick:+g}" if count else "0", "small", anchor="end")
        label = self.page.write(0, 0, f"{panel.axis.upper()}, {self.look.unit}", anchor="middle")
        label.set("transform", f"translate(24 {panel.top + PANEL / 2}) rotate(-90)")

    def _row(self, panel: _Panel) -> None:
        for section in self.shown:
            one = self.sections[section]
            play = (one["target"] - one["widest"]) / 2 - self.look.wanted
            if play > 0:
                self._gate(self._x_of(section), panel, one[panel.axis], play)
        self.page.rect(LEFT, panel.top, RIGHT - LEFT, PANEL, "frame")
        ends = []
        for line in sorted(self.facts["lines"], key=lambda line: line is self.chosen):
            left, right = map(panel.y, self._ends(line, panel.axis))
            self.page.line(LEFT, left, RIGHT, right, self._kind(line))
            ends.append((right, line))
        for section in self.shown:
            kind = "short" if self.look.lack(section) else "centre"
            self.page.circle(self._x_of(section), panel.y(self.sections[section][panel.axis]), self.mark, kind)
        ends.sort(key=lambda end: end[0])
        for (y, line), told in zip(ends, apart([y for y, _ in ends], panel.top, panel.top + PANEL), strict=True):
            self.page.line(RIGHT, y, RIGHT + 16, told, "leader")
            kind = "small strong" if line is self.chosen else "small"
            off = not panel.holds(line["ends"][0][panel.axis])
            self.page.write(RIGHT + 20, told + 4, f"{line['name']}, far off" if off else line["name"], kind)

    def _gate(self, x: float, panel: _Panel, middle: float, play: float) -> None:
        top, bottom = middle + play, middle - play
        self.page.rect(x - self.mark, panel.y(top), 2 * self.mark, panel.y(bottom) - panel.y(top), "gate")
        for limit in filter(panel.holds, (top, bottom)):
            self.page.line(x - 1.6 * self.mark, panel.y(limit), x + 1.6 * self.mark, panel.y(limit), "limit")

    def _x_axis(self) -> None:
        y = ABOVE + PANEL
        low, high = (self.low_x + (side - LEFT - PAD) / self.scale for side in (LEFT, RIGHT))
        tick = step((high - low) / 10)
        for count in range(math.ceil(low / tick), math.floor(high / tick) + 1):
            x = self.x(count * tick)
            self.page.line(x, y, x, y + 5, "tick")
            self.page.write(x, y + 18, f"{count * tick:g}", "small", anchor="middle")
        self.page.write(RIGHT + 20, y + 18, f"X, {self.look.unit}, to scale", "small")

    def _stock(self) -> None:
        stocks: list[float] = self.chosen["stock"]
        high, low = max(*stocks, self.look.wanted, LEAST[self.facts["units"]]), min(*stocks, 0.0)
        scale = STOCK_HEIGHT / (high - low)
        zero = STOCK + high * scale
        told = f"the line {self.chosen['name']}: stock at the thinnest place of each bore, {self.look.unit}"
        more = (
            "" if len(self.shown) == len(self.sections) else f"; {len(self.shown)} of {len(self.sections)}, the least"
        )
        self.page.write(LEFT, STOCK - 10, told + more, "strong")
        for section in self.shown:
            self._column(section, zero, scale)
        self.page.line(LEFT, zero, RIGHT, zero, "tick")
        self.page.write(LEFT - 8, zero + 4, "0", "small", anchor="end")
        y = zero - self.look.wanted * scale
        self.page.line(LEFT, y, RIGHT, y, "wanted")
        self.page.write(RIGHT + 20, y + 4, f"wanted {fixed(self.look.wanted, self.look.digits)}", "small")
        below = STOCK + STOCK_HEIGHT + 22
        for number, head in enumerate(("bore", "stock")):
            self.page.write(LEFT - 10, below + number * ROW, head, anchor="end")
        for section in self.labelled:
            bad = self.look.bad(section)
            figures = (cut(self.look.label(section), LONGEST), self.look.signed(stocks[section]), bad)
            for number, figure in enumerate(figures):
                kind = "small strong" if bad else "small"
                self.page.write(self._x_of(section), below + number * ROW, figure, kind, anchor="middle")

    def _column(self, section: int, zero: float, scale: float) -> None:
        x, lack = self._x_of(section), self.look.lack(section)
        end = zero - self.chosen["stock"][section] * scale
        self.page.rect(
            x - self.column / 2, min(end, zero), self.column, abs(end - zero), "lacking" if lack else "stock"
        )
        if lack:
            self.page.triangle((x, min(end, zero) - 2), (0, -1), "lacking", half=self.mark)
