"""Standard tolerances and limits held against the tables of ISO 286."""

import math
from typing import Final

import pytest

from gen.tolerance import STEPS_MM, UNITS_OF_GRADE, it_mm, limits_of

# ISO 286-1, table of standard tolerances, micrometres, as republished: over, up to and including, IT5, IT6, IT7, IT8.
TABLE: Final = [
    (18, 30, 9, 13, 21, 33),
    (30, 50, 11, 16, 25, 39),
    (50, 80, 13, 19, 30, 46),
    (80, 120, 15, 22, 35, 54),
    (120, 180, 18, 25, 40, 63),
    (180, 250, 20, 29, 46, 72),
    (250, 315, 23, 32, 52, 81),
]
CELLS: Final = [
    (grade, over, to, micrometres)
    for over, to, *row in TABLE
    for grade, micrometres in zip((5, 6, 7, 8), row, strict=True)
]


def test_the_table_is_held_whole() -> None:
    assert len(CELLS) == (len(STEPS_MM) - 1) * len(UNITS_OF_GRADE) == 28


@pytest.mark.parametrize(("grade", "over_mm", "to_mm", "micrometres"), CELLS)
def test_a_cell_of_the_table(grade: int, over_mm: float, to_mm: float, micrometres: int) -> None:
    for diameter_mm in (math.nextafter(over_mm, math.inf), (over_mm + to_mm) / 2, to_mm):
        assert it_mm(grade, diameter_mm) == micrometres / 1000


@pytest.mark.parametrize(("grade", "over_mm", "to_mm", "micrometres"), CELLS)
def test_a_hole_of_the_table(grade: int, over_mm: float, to_mm: float, micrometres: int) -> None:
    """ISO 286-1: the lower deviation of H is 0, the upper +IT; those of JS are -IT/2 and +IT/2."""
    hole, middle = limits_of(f"H{grade}", to_mm), limits_of(f"JS{grade}", to_mm)
    assert (hole.smallest_mm - to_mm, hole.largest_mm - to_mm) == pytest.approx((0, micrometres / 1000), abs=1e-12)
    assert middle.smallest_mm - to_mm == pytest.approx(-micrometres / 2000, abs=1e-12)
    assert middle.largest_mm - to_mm == pytest.approx(micrometres / 2000, abs=1e-12)


def test_60_h7() -> None:
    """60 H7 is +0.030 / 0: a tool maker's technical reference, republished."""
    assert limits_of("H7", 60) == pytest.approx((60, 60.03), abs=1e-12)


def test_the_arithmetic_mean_of_a_step_would_not_give_the_table() -> None:
    """The check has teeth: with (D1 + D2) / 2 for the geometric mean, cells of the table come out wrong."""
    wrong = [
        (grade, over)
        for grade, over, to, micrometres in CELLS
        if round(UNITS_OF_GRADE[grade] * (0.45 * math.cbrt((over + to) / 2) + 0.001 * (over + to) / 2)) != micrometres
    ]
    assert {(8, 50), (8, 80), (7, 120), (8, 120), (7, 180), (8, 180)} <= set(wrong)
