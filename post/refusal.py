"""How reader and replay stop at what they cannot interpret: an exception that never leaves them."""

from post.finding import Finding


class Refusal(Exception):
    """What is wrong with a line, without its place: the rule broken, what was found, what was expected."""

    def __init__(self, rule: str, found: str, expected: str) -> None:
        super().__init__(found)
        self.rule = rule
        self.found = found
        self.expected = expected

    def at(self, line: int, text: str) -> Finding:
        """The same as a finding at a line, counted from 1, that reads ``text``."""
        return Finding(self.rule, line, text, self.found, self.expected)


def show(letter: str, value: float) -> str:
    """A word as a person writes it: "X12.5", "G59.1"."""
    return f"{letter}{value:.12g}"
