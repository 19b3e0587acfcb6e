from collections import Counter

import pytest

from post.reader import WORD_LETTERS
from post.standard import (
    AXIS_USERS,
    BEYOND_STANDARD,
    FEED_MODE,
    GROUP_OF,
    LETTERS_NOT_INTERPRETED,
    MOTION,
    NOT_INTERPRETED,
    NOT_MODAL,
    OFFSET,
    SPINDLE,
    UNITS,
)


def test_every_group_is_of_one_letter_and_every_code_bears_its_group_s() -> None:
    assert {code[0] == letter for code, (letter, _) in GROUP_OF.items()} == {True}


@pytest.mark.parametrize(
    ("group", "codes"),
    [
        (MOTION, "G0 G1 G2 G3 G38.2 G80 G81 G82 G83 G84 G85 G86 G87 G88 G89"),
        (NOT_MODAL, "G4 G10 G28 G30 G53 G92 G92.1 G92.2 G92.3"),
        (FEED_MODE, "G93 G94"),
        (UNITS, "G20 G21"),
        (OFFSET, "G54 G55 G56 G57 G58 G59 G59.1 G59.2 G59.3"),
        (SPINDLE, "M3 M4 M5"),
    ],
)
def test_the_groups_that_are_named(group: tuple[str, int], codes: str) -> None:
    assert {code for code, its in GROUP_OF.items() if its == group} == set(codes.split())


def test_no_table_names_a_code_that_is_none() -> None:
    assert set(NOT_INTERPRETED) < set(GROUP_OF)
    assert {GROUP_OF[code] for code in AXIS_USERS} == {NOT_MODAL}
    assert BEYOND_STANDARD.isdisjoint(GROUP_OF)
    assert set(LETTERS_NOT_INTERPRETED) < WORD_LETTERS


def test_how_many_codes_the_standard_has() -> None:
    """NISTIR 6556 3.4, Table 4, counted by hand."""
    assert Counter(code[0] for code in GROUP_OF) == {"G": 52, "M": 14}
