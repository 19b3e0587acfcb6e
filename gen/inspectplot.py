"""A plot of the finished row, as SVG: a column a bore, its tolerance band, and where its sizes lie in it.

Bores of any diameter share one scale, the distance from the middle of each one's tolerance. Shapes tell what is what,
so that it reads in grey as well.
"""

import math
from typing import Any, Final

from gen.inspection import wrong
from gen.svg import Page, cut, step
from post.units import UNIT_WORD

SCALE: Final = {"mm": (1e-3, "micrometres"), "inch": (1e-4, "0.0001 in")}
"""What the scale counts in, in the job's unit, and its name."""
LEFT: Final = 80
TOP: Final = 96
HEIGHT: Final = 320
COLUMN: Final = 104
BAR: Final = 44
LINE: Final = 17
GAP: Final = 28
FIGURES: Final = ("largest", "mean", "smallest", "taper", "ovality")
MARK: Final = 6
LONGEST: Final = 13
"""Characters of a bore's name that fit its column."""
MOST_TOLERANCES: Final = 1.5
"""Tolerances from the middle that the scale reaches at most; a size beyond is drawn at its end and told."""
MOST_TICKS: Final = 8
SPARE: Final = 1.15
"""How far the scale reaches beyond the farthest size."""
STYLE: Final = """\
text { font: 12px sans-serif; fill: #000 } .name { font-size: 16px } .fail { font-weight: bold }
.band { fill: #ddd } .limit { stroke: #000; stroke-width: 1 } .middle { stroke: #777; stroke-dasharray: 4 3 }
.spread { stroke: #000; stroke-width: 3 } .mean { fill: #fff; stroke: #000; stroke-width: 1.5 }
.tick { stroke: #000 } .off { fill: #000 }"""


def svg(facts: dict[str, Any]) -> str:
    """The plot of the figures of ``gen.inspection.facts``, a whole document."""
    return _Plot(facts).text()


class _Plot:
    def __init__(self, facts: dict[str, Any]) -> None:
        self.facts, self.bores = facts, facts["bores"]
        self.digits = 4 if facts["units"] == "mm" else 5
        self.unit, self.unit_name = SCALE[facts["units"]]
        self.reach = self._reach()
        # Room for the title, and for the legend where there are few bores.
        width = LEFT + max(COLUMN * len(self.bores), 540)
        self.height = TOP + HEIGHT + 10 * LINE
        self.page = Page(width, self.height, title=f"{facts['job']}: finished sizes", style=STYLE)

    def text(self) -> str:
        self.page.write(LEFT, 28, self.facts["job"], "name")
        self.page.write(
            LEFT,
            28 + LINE,
            "every bore in tolerance" if all(bore["pass"] for bore in self.bores) else "NOT every bore in tolerance",
        )
        self._legend()
        self._scale()
        self._headings()
        for number, bore in enumerate(self.bores):
            self._column(LEFT + COLUMN * number + COLUMN / 2, bore)
        return self.page.text()

    def _reach(self) -> float:
        """How far the scale goes either way, in its own count."""
        tolerance = max(_half(bore) for bore in self.bores)
        farthest = max(max(abs(self._off(bore, name)) for name in ("smallest", "largest")) for bore in self.bores)
        half = tolerance / self.unit
        return SPARE * min(max(half, farthest), 2 * MOST_TOLERANCES * half)

    def _off(self, bore: dict[str, Any], name: str) -> float:
        """A size's distance from the middle of its tolerance, in the scale's count."""
        low, high = bore["limits"]
        return float((bore[name] - (low + high) / 2) / self.unit)

    def _y(self, off: float) -> float:
        within = max(-self.reach, min(self.reach, off))
        return TOP + HEIGHT / 2 * (1 - within / self.reach)

    def _scale(self) -> None:
        apart = step(2 * self.reach / MOST_TICKS)
        for count in range(math.ceil(-self.reach / apart), math.floor(self.reach / apart) + 1):
            off = count * apart
            self.page.line(LEFT - 6, self._y(off), LEFT, self._y(off), "tick")
            self.page.write(LEFT - 10, self._y(off) + 4, f"{off:+g}" if off else "0", anchor="end")
        self.page.line(LEFT, TOP, LEFT, TOP + HEIGHT, "tick")
        label = self.page.write(0, 0, f"from the middle of the tolerance, {self.unit_name}", anchor="middle")
        label.set("transform", f"translate(20 {TOP + HEIGHT / 2}) rotate(-90)")

    def _column(self, x: float, bore: dict[str, Any]) -> None:
        half = _half(bore) / self.unit
        self.page.rect(x - BAR / 2, self._y(half), BAR, self._y(-half) - self._y(half), "band")
        for off, kind in ((half, "limit"), (-half, "limit"), (0.0, "middle")):
            self.page.line(x - BAR / 2, self._y(off), x + BAR / 2, self._y(off), kind)
        smallest, largest = self._off(bore, "smallest"), self._off(bore, "largest")
        self._spread(x, self._y(smallest), self._y(largest))
        self._mean(x, self._y(self._off(bore, "mean")))
        for off in (smallest, largest):
            if abs(off) > self.reach:
                self._arrow(x, off)
        self._numbers(x, bore)

    def _spread(self, x: float, low_y: float, high_y: float) -> None:
        self.page.line(x, low_y, x, high_y, "spread")
        for y in (low_y, high_y):
            self.page.line(x - MARK, y, x + MARK, y, "spread")

    def _mean(self, x: float, y: float) -> None:
        self.page.polygon("mean", [(x, y - MARK), (x + MARK, y), (x, y + MARK), (x - MARK, y)])

    def _arrow(self, x: float, off: float) -> None:
        """A size off the scale, beyond its end."""
        y, way = self._y(off), -1 if off > 0 else 1
        self.page.polygon("off", [(x - MARK, y + 3 * way), (x + MARK, y + 3 * way), (x, y + way * 12)])

    def _numbers(self, x: float, bore: dict[str, Any]) -> None:
        y = TOP + HEIGHT + GAP
        self.page.write(x, y, cut(bore["name"], LONGEST), anchor="middle")
        for number, figure in enumerate(FIGURES, 1):
            told = "-" if bore[figure] is None else f"{bore[figure]:.{self.digits}f}"
            self.page.write(x, y + number * LINE, told, anchor="middle")
        verdict = ["pass"] if bore["pass"] else ["FAIL", *wrong(bore, self.digits)]
        for number, told in enumerate(verdict, 1 + len(FIGURES)):
            self.page.write(x, y + number * LINE, told, "" if bore["pass"] else "fail", anchor="middle")

    def _headings(self) -> None:
        heads = (f"bore, {UNIT_WORD[self.facts['units']]}", *FIGURES)
        for number, head in enumerate(heads):
            self.page.write(LEFT - 10, TOP + HEIGHT + GAP + number * LINE, head, anchor="end")

    def _legend(self) -> None:
        y = 28 + 2 * LINE
        self.page.rect(LEFT, y - 11, 24, 14, "band")
        for edge in (y - 11, y + 3):
            self.page.line(LEFT, edge, LEFT + 24, edge, "limit")
        self.page.write(LEFT + 32, y, "tolerance")
        self.page.line(LEFT + 120, y - 12, LEFT + 120, y + 4, "spread")
        self.page.write(LEFT + 132, y, "smallest to largest as read")
        self._mean(LEFT + 312, y - 4)
        self.page.write(LEFT + 324, y, "mean")
        self.page.polygon("off", [(LEFT + 380, y), (LEFT + 392, y), (LEFT + 386, y - 11)])
        self.page.write(LEFT + 400, y, "off the scale")


def _half(bore: dict[str, Any]) -> float:
    low, high = bore["limits"]
    return float(high - low) / 2
