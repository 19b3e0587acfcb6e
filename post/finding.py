"""A finding: one thing wrong with a program, as data."""

from typing import NamedTuple


class Finding(NamedTuple):
    """One rule broken at one place of a program.

    ``rule`` is the rule's name, ``line`` the number of the line counted from 1 (0 where the whole program is
    meant), ``text`` that line as it stands. ``found`` and ``expected`` say in a few words, with numbers and units,
    what the program does and what it should do. ``program`` counts from 1 where a post writes several for one job.
    """

    rule: str
    line: int
    text: str
    found: str
    expected: str
    program: int = 1

    @property
    def message(self) -> str:
        """The finding as one sentence, without its place."""
        return f"{self.found}; expected {self.expected}"
