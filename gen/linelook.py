"""How the figures of a survey are looked at in a picture: the chosen line, words for a section, the page."""

from collections.abc import Mapping
from typing import Any, Final

from gen.linereport import section_name, signed
from post.units import UNIT_WORD

WIDTH: Final = 1000
LEFT: Final = 84
RIGHT: Final = 850
ROW: Final = 16
MARK: Final = 5
LEAST: Final[Mapping[str, float]] = {"mm": 0.01, "inch": 0.0005}
"""What a scale spans at least, in the job's unit, so that a row without offsets has one."""
SAME: Final = 2e-6
"""What stock may lack of the stock wanted by the rounding of the figures."""


class Look:
    """The figures of ``gen.linefacts.facts`` as a picture tells them."""

    def __init__(self, facts: dict[str, Any]) -> None:
        self.facts, self.unit = facts, UNIT_WORD[facts["units"]]
        self.digits = 4 if facts["units"] == "mm" else 5
        self.chosen = next(line for line in facts["lines"] if line["name"] == facts["chosen"])
        self.wanted: float = facts["stock_wanted"]
        self.holding = {hold["bore"] for hold in self.chosen["held_by"]}

    def signed(self, value: float) -> str:
        """A length with its sign."""
        return signed(value, self.digits)

    def label(self, section: int) -> str:
        """What a section is called."""
        return section_name(self.facts["sections"][section], self.digits)

    def lack(self, section: int) -> str:
        """A word for a section that has less stock on the chosen line than wanted, "" for one that has it."""
        stock: float = self.chosen["stock"][section]
        if stock < -SAME:
            return "NO STOCK"
        return "SHORT" if stock < self.wanted - SAME else ""

    def bad(self, section: int) -> str:
        """The same, and a word for one that holds the chosen line down."""
        holds = self.facts["sections"][section]["bore"] in self.holding
        return self.lack(section) or ("holds line" if holds else "")
