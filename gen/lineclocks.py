"""Every bore of a surveyed row from its end, as a clock: the circle wanted, and the wall now off it, exaggerated."""

import math
from typing import Any, Final

from gen.columns import fixed
from gen.linelook import LEAST, LEFT, MARK, RIGHT, ROW, WIDTH, Look
from gen.svg import Page, cut, polar, step, times
from post.units import plain

CLOCK: Final = 190
PER_ROW: Final = 6
MOST_CLOCKS: Final = 24
RADIUS: Final = 50
"""Of the circle wanted."""
INWARD: Final = 0.62
OUTWARD: Final = 0.3
"""How far the wall is drawn inside and outside that circle at most, in its radius."""
CORNERS: Final = 72
ROUND: Final = [math.tau * corner / CORNERS for corner in range(CORNERS)]


def height(sections: int) -> float:
    """What the clocks of so many sections take up, and their heading."""
    return 72 + math.ceil(min(sections, MOST_CLOCKS) / PER_ROW) * CLOCK


class Clocks:
    """Every bore from its end: the circle wanted about the chosen line, and the wall now, off it."""

    def __init__(self, look: Look, page: Page, top: float) -> None:
        self.look, self.page, self.top = look, page, top
        self.checks = look.facts["checks"]
        self.sections = look.facts["sections"][:MOST_CLOCKS]
        self.target: float = max(one["target"] for one in self.sections)
        self.times: float = times(self._most() / (2 * RADIUS / self.target))
        self.scale: float = self.times * 2 * RADIUS / self.target

    def _most(self) -> float:
        """The greatest scale, pixels per length, at which every wall keeps to its room."""
        most = 2 * RADIUS / LEAST[self.look.facts["units"]]
        for number, one in enumerate(self.sections):
            room, uneven = self._room(one), self._off(number)[0] + (one["oval"] or 0.0) / 4
            for gap, reach in ((room + uneven, INWARD), (uneven - room, OUTWARD)):
                if gap > 0:
                    most = min(most, reach * RADIUS / gap)
        return most

    def _room(self, one: dict[str, Any]) -> float:
        """Stock, on the mean, of a hole about the line."""
        return float(one["target"] - one["diameter"]) / 2

    def _off(self, number: int) -> tuple[float, float]:
        """How far a centre is off the line, and at which clock angle, radians."""
        check = self.checks[number]
        return math.hypot(check["y"], check["z"]), math.atan2(check["y"], check["z"])

    def draw(self) -> None:
        """Draw them all, below one another in rows."""
        self.page.write(LEFT, self.top, "every bore from its end", "strong")
        told = [
            f"heavy circle: the size wanted, about the line {self.look.chosen['name']} (cross); thin: the wall now,"
            " about its centre (ring); grey: stock",
            f"0 is up, toward +Z, and 90 to the right, toward +Y; stock drawn {plain(self.times, 2)} times as against"
            " the largest circle; arrow: where it is thinnest",
            "told below: the stock there, as counted to the widest diameter that was found",
        ]
        more = len(self.look.facts["sections"]) - len(self.sections)
        if more:
            told.append(f"the first {len(self.sections)} are drawn, not the {more} more")
        for number, line in enumerate(told, 1):
            self.page.write(LEFT, self.top + number * ROW, line)
        self._bar()
        across = (WIDTH - 80) / PER_ROW
        for number in range(len(self.sections)):
            row, column = divmod(number, PER_ROW)
            self._clock(number, 40 + across * (column + 0.5), self.top + 158 + row * CLOCK)

    def _bar(self) -> None:
        """A length in the scale of the stock."""
        length = step(12 / self.scale)
        x, y = RIGHT + 20, self.top
        for at in (x, x + length * self.scale):
            self.page.line(at, y - 8, at, y, "tick")
        self.page.line(x, y - 4, x + length * self.scale, y - 4, "tick")
        self.page.write(x + length * self.scale + 6, y, f"{length:g} {self.look.unit}", "small")

    def _clock(self, number: int, x: float, y: float) -> None:
        look, one = self.look, self.sections[number]
        lack, bad = look.lack(number), look.bad(number)
        off, angle = self._off(number)
        self.page.write(
            x, y - RADIUS - 20, cut(f"bore {look.label(number)}", 20), "strong" if bad else "", anchor="middle"
        )
        self.page.circle(x, y, RADIUS, "metal")
        self.page.polygon("wall", [polar(x, y, self._wall(one, off, angle, at), at) for at in ROUND])
        self.page.circle(x, y, RADIUS, "target")
        for dx, dy in ((MARK, 0), (0, MARK)):
            self.page.line(x - dx, y - dy, x + dx, y + dy, "axis")
        self.page.circle(*polar(x, y, off * self.scale, angle), 3, "centre")
        thinnest = look.chosen["thinnest"][number]
        told = look.signed(look.chosen["stock"][number])
        if thinnest is None:
            told += " all round"
        else:
            told += f" at {fixed(thinnest, 0)}"
            at = math.radians(thinnest)
            way = (math.sin(at), -math.cos(at))
            self.page.triangle(polar(x, y, RADIUS + 3, at), way, "lacking" if lack else "thinnest")
        self.page.write(x, y + RADIUS + 28, told, "strong" if bad else "", anchor="middle")
        self.page.write(x, y + RADIUS + 28 + ROW, bad, "strong", anchor="middle")

    def _wall(self, one: dict[str, Any], off: float, off_angle: float, at: float) -> float:
        """Radius on the page of the wall at a clock angle, radians."""
        gap: float = self._room(one) - off * math.cos(at - off_angle)
        if one["oval"]:
            gap -= one["oval"] / 4 * math.cos(2 * (at - math.radians(one["oval_angle"])))
        return RADIUS - gap * self.scale
