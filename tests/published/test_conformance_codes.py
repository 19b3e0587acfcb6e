"""Every code of RS-274/NGC: understood, or refused as not interpreted; and no two of one modal group on a line.

Source: T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556, 2000: 3.4 and
Table 4 for the groups, the section beside each row for the code.
The list is written out here, apart from the project's own.
"""

import itertools
from typing import Final, NamedTuple

import pytest

from post.standard import GROUP_OF, NOT_INTERPRETED
from tests.post.programs import BARE, events, refused, run


class Code(NamedTuple):
    """A code of the standard: its group, its section, a line that uses it rightly, and whether it is understood."""

    name: str
    group: int
    section: str
    line: str
    understood: bool


_ROWS: Final = """
G0     1  3.5.1      yes  G0 X1
G1     1  3.5.2      yes  G1 X1
G2     1  3.5.3      no   G2 X1 Y1 I1 J0
G3     1  3.5.3      no   G3 X1 Y1 I1 J0
G4     0  3.5.4      yes  G4 P1
G10    0  3.5.5      no   G10 L2 P1 X1
G17    2  3.5.6      yes  G17
G18    2  3.5.6      yes  G18
G19    2  3.5.6      yes  G19
G20    6  3.5.7      yes  G20
G21    6  3.5.7      yes  G21
G28    0  3.5.8      no   G28 X1
G30    0  3.5.8      no   G30 X1
G38.2  1  3.5.9      no   G38.2 X1
G40    7  3.5.10     yes  G40
G41    7  3.5.10     no   G41 D1
G42    7  3.5.10     no   G42 D1
G43    8  3.5.11     no   G43 H1
G49    8  3.5.11     yes  G49
G53    0  3.5.12     yes  G53 G0 X1
G54    12 3.5.13     yes  G54
G55    12 3.5.13     yes  G55
G56    12 3.5.13     yes  G56
G57    12 3.5.13     yes  G57
G58    12 3.5.13     yes  G58
G59    12 3.5.13     yes  G59
G59.1  12 3.5.13     yes  G59.1
G59.2  12 3.5.13     yes  G59.2
G59.3  12 3.5.13     yes  G59.3
G61    13 3.5.14     yes  G61
G61.1  13 3.5.14     yes  G61.1
G64    13 3.5.14     yes  G64
G80    1  3.5.15     yes  G80
G81    1  3.5.16.2   yes  G81 Z0 R1
G82    1  3.5.16.3   yes  G82 Z0 R1 P1
G83    1  3.5.16.4   no   G83 Z0 R1 Q1
G84    1  3.5.16.5   no   G84 Z0 R1
G85    1  3.5.16.6   yes  G85 Z0 R1
G86    1  3.5.16.7   yes  G86 Z0 R1 P1
G87    1  3.5.16.8   no   G87 Z0 R1 I1 J1 K1
G88    1  3.5.16.9   no   G88 Z0 R1 P1
G89    1  3.5.16.10  yes  G89 Z0 R1 P1
G90    3  3.5.17     yes  G90
G91    3  3.5.17     yes  G91
G92    0  3.5.18     no   G92 X1
G92.1  0  3.5.18     no   G92.1
G92.2  0  3.5.18     no   G92.2
G92.3  0  3.5.18     no   G92.3
G93    5  3.5.19     no   G93
G94    5  3.5.19     yes  G94
G98    10 3.5.20     yes  G98
G99    10 3.5.20     yes  G99
M0     4  3.6.1      yes  M0
M1     4  3.6.1      yes  M1
M2     4  3.6.1      yes  M2
M30    4  3.6.1      yes  M30
M60    4  3.6.1      no   M60
M3     7  3.6.2      yes  M3 S5
M4     7  3.6.2      yes  M4 S5
M5     7  3.6.2      yes  M5
M6     6  3.6.3      no   M6 T1
M7     8  3.6.4      yes  M7
M8     8  3.6.4      yes  M8
M9     8  3.6.4      yes  M9
M48    9  3.6.5      yes  M48
M49    9  3.6.5      no   M49
"""

STANDARD: Final = [
    Code(name, int(group), section, line, understood == "yes")
    for name, group, section, understood, line in (row.split(None, 4) for row in _ROWS.strip().splitlines())
]
START: Final = "G90 S50 M3 G0 X0 Y0 Z5"
ENDS: Final = ("M2", "M30")


def of_group(letter: str, group: int) -> list[str]:
    return [code.name for code in STANDARD if code.name[0] == letter and code.group == group]


def test_the_project_s_table_is_the_standard_s() -> None:
    """3.4, Table 4."""
    assert dict(GROUP_OF) == {code.name: (code.name[0], code.group) for code in STANDARD}
    assert set(NOT_INTERPRETED) == {code.name for code in STANDARD if not code.understood}


@pytest.mark.parametrize("code", [code for code in STANDARD if code.understood], ids=lambda code: code.name)
def test_a_code_that_is_understood(code: Code) -> None:
    if code.name in ENDS:
        assert run(f"G21\n{code.line}").findings == []
    else:
        events(f"{START}\n{code.line}", zero=(0.0, 0.0, 0.0), work_offset="G54")


@pytest.mark.parametrize("code", [code for code in STANDARD if not code.understood], ids=lambda code: code.name)
def test_a_code_that_is_not_interpreted_is_refused_and_told_why(code: Code) -> None:
    """Narrower than the standard: where the machine goes, or where its zero then lies, is not known here.

    M49 leads nowhere, but takes the override switches from the operator, on which the cautions of a program rest.
    """
    rule, found, _ = refused(f"{START}\n{code.line}")
    assert (rule, found) == ("unknown-word", f"{code.name}, {NOT_INTERPRETED[code.name]}")


@pytest.mark.parametrize("letter", "GM")
def test_every_other_number_is_no_code(letter: str) -> None:
    """3.5, 3.6: codes the standard lacks; all whole numbers and tenths to 120."""
    names = {code.name for code in STANDARD}
    for tenths in range(1201):
        name = f"{letter}{tenths // 10}" + (f".{tenths % 10}" if tenths % 10 else "")
        if name not in names:
            assert refused(name, BARE)[:2] == ("unknown-word", name)


@pytest.mark.parametrize("code", STANDARD, ids=lambda code: code.name)
def test_a_code_twice_on_a_line(code: Code) -> None:
    """3.3.5: two words of one group, though they are the same."""
    assert refused(f"{START}\n{code.line} {code.name}")[0] == "group-clash"


PAIRS: Final = [
    pair
    for letter, group in sorted({(code.name[0], code.group) for code in STANDARD})
    for pair in itertools.combinations(of_group(letter, group), 2)
]


@pytest.mark.parametrize(("one", "other"), PAIRS, ids=[" ".join(pair) for pair in PAIRS])
def test_two_codes_of_a_modal_group_on_a_line(one: str, other: str) -> None:
    """3.3.5 and 3.4, Table 4. Narrower here: M7 and M8 too, which 3.4 lets be active together."""
    for line in (f"{one} {other}", f"{other} {one}"):
        assert refused(line)[0] == "group-clash"


MIXED: Final = [
    (one, other)
    for one, other in itertools.combinations([code for code in STANDARD if code.understood], 2)
    if (one.name[0], one.group) != (other.name[0], other.group)
    and not (one.name == "G4" and "P1" in other.line)
    and {one.name, other.name}.isdisjoint({"G53", *ENDS})
]
"""Pairs of codes of different groups; G53, and one P for two, are held to their own rules elsewhere."""


def test_two_codes_of_different_groups_may_share_a_line() -> None:
    """3.3.5."""
    assert len(MIXED) > 750
    for one, other in MIXED:
        timeline = run(f"G21 G17 G90 G94 G54 G98\nF100\n{START}\n{one.line} F100 {other.line}\nM30")
        clashes = [finding for finding in timeline.findings if finding.rule == "group-clash"]
        assert clashes == [], (one, other)


@pytest.mark.parametrize("motion", of_group("G", 1))
@pytest.mark.parametrize("code", ["G10", "G28", "G30", "G92"])
def test_motion_and_another_user_of_axis_words(motion: str, code: str) -> None:
    """3.4: both take axis words. 3.5.15 lets G80 stand beside one; narrower here, as these are not interpreted."""
    assert refused(f"{motion} {code} X1")[0] == "group-clash"
