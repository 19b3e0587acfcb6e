"""The order in which the words of one line act: NISTIR 6556, 3.8, Table 8.

Source: T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556, 2000. Each row
is held to what the same words do on lines of their own: in the table's order the same, the other way round not.
"""

import random
from typing import Any, Final

import pytest

from post.timeline import Event
from tests.post.programs import made, run

BOTH: Final = made(feed_modes=["G94", "G95"])
STATED: Final = "G21 G17 G90 G94 G54 G98\nF100 S40\nM3\nG0 X5 Y5 Z5\nG1 X6\n"

TABLE_8: Final = (
    ((2, "G95"), (3, "F.5"), "G1 X1"),
    ((2, "G95"), (20, "G1 X1 F.5"), ""),
    ((3, "F50"), (20, "G1 X1"), ""),
    ((4, "S60"), (10, "G4 P1"), ""),
    ((4, "S60"), (20, "G1 X1"), ""),
    ((4, "S60"), (21, "M0"), ""),
    ((7, "M5"), (10, "G4 P1"), ""),
    ((7, "M4"), (20, "G0 X1"), ""),
    ((7, "M5"), (21, "M0"), ""),
    ((10, "G4 P1"), (15, "G55"), ""),
    ((10, "G4 P1"), (20, "G0 X1"), ""),
    ((10, "G4 P1"), (21, "M1"), ""),
    ((11, "G19"), (20, "G81 X1 R9"), ""),
    ((12, "G20"), (20, "G0 X1"), ""),
    ((15, "G55"), (20, "G0 X1"), ""),
    ((15, "G55"), (21, "M0"), ""),
    ((17, "G91"), (20, "G0 X1"), ""),
    ((18, "G99"), (20, "G81 Z1 R2"), ""),
    ((20, "G0 X1"), (21, "M0"), ""),
    ((20, "G0 X1"), (21, "M30"), ""),
)
"""Two items of the table, the earlier first, each with its words; a line behind them that shows what they did."""


def done(*lines: str) -> list[Any]:
    """What these lines do, by which they may be compared however many lines they are: no line numbers."""
    timeline = run(STATED + "\n".join(filter(None, lines)) + ("" if "M30" in " ".join(lines) else "\nM30"), BOTH)
    return [[finding.rule for finding in timeline.findings], *map(_without_line, timeline.events)]


def _without_line(event: Event) -> str:
    return repr(event._replace(line=0))


@pytest.mark.parametrize(("first", "second", "behind"), TABLE_8, ids=[f"{one[1]}, {two[1]}" for one, two, _ in TABLE_8])
def test_the_earlier_item_acts_first(first: tuple[int, str], second: tuple[int, str], behind: str) -> None:
    """3.8, Table 8, items numbered in each row."""
    assert first[0] < second[0]
    apart = done(first[1], second[1], behind)
    assert apart[0] == []
    assert done(f"{first[1]} {second[1]}", behind) == done(f"{second[1]} {first[1]}", behind) == apart
    assert done(second[1], first[1], behind) != apart


NARROWER: Final = (
    ("G20 F5", "G1 X1", "items 3, 12: F counts in the unit before; here it is taken as not stated"),
    ("G21 G20", "", "3.3.5: two of one group"),
    ("G0 G53 G91 X1", "", "3.5.12 with item 17; here G53 under G91 is refused"),
)


@pytest.mark.parametrize(
    ("row", "rule", "found"),
    [
        (NARROWER[0], "state-assumed", "a feed move with no F stated"),
        (NARROWER[1], "group-clash", "G21 and G20, both of modal group 6"),
        (NARROWER[2], "unknown-word", "G53 under G91"),
    ],
)
def test_where_the_order_could_be_mistaken_it_is_refused(row: tuple[str, str, str], rule: str, found: str) -> None:
    text = f"{STATED}{row[0]}\n{row[1]}\nM30"
    findings = run(text, BOTH, zero=(0.0, 0.0, 0.0), work_offset="G54").findings
    assert [(finding.rule, finding.found) for finding in findings] == [(rule, found)]


LONG: Final = (
    "G94 F50 S60 M4 M8 M48 G4 P1 G19 G20 G40 G49 G55 G61 G91 G98 G80 M1 N",
    "G94 S60 M4 M8 M48 G4 P1 G19 G21 G40 G49 G54 G61 G91 G98 G1 X1 Y2 Z3 F50 M0",
    "G94 F50 S60 M4 M8 M48 G19 G21 G40 G49 G54 G61 G90 G99 G89 X1 Y2 Z3 R9 P1 L2 M0",
)
"""Lines that hold a word of nearly every item of the table; the second and third a motion and a cycle."""


@pytest.mark.parametrize("line", LONG)
def test_any_order_of_writing_does_the_same(line: str) -> None:
    """3.3.6."""
    words = [word for word in line.split() if word != "N"]
    plain = done(" ".join(words))
    assert plain[0] == []
    shuffled = random.Random(1)
    for _ in range(200):
        shuffled.shuffle(words)
        assert done(" ".join(words)) == plain
