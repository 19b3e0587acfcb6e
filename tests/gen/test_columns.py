import pytest

from gen.columns import at_20, fixed, row, table


def test_names_stand_left_and_numbers_right() -> None:
    assert list(table([("bore", "mean"), ("front", "9.5"), ("2", "10.25")])) == [
        "  bore    mean",
        "  front    9.5",
        "  2      10.25",
    ]


def test_a_row_has_its_name_in_front() -> None:
    assert row("note", "so it is") == "  note        so it is"


@pytest.mark.parametrize(
    ("value", "shown"),
    [(None, "-"), (1.5, "1.500"), (-0.0001, "0.000"), (-0.001, "-0.001"), (0.0, "0.000"), (-0.0, "0.000")],
)
def test_a_number_keeps_its_digits_and_zero_has_no_sign(value: float | None, shown: str) -> None:
    assert fixed(value, 3) == shown


def test_a_block_that_is_not_at_20_degrees_is_told() -> None:
    assert at_20(26.54, 74.1) == ", at 20 C; the block is at 26.5 C and grown by 74 parts in a million"
    assert at_20(15, -57.0) == ", at 20 C; the block is at 15 C and shrunk by 57 parts in a million"
    assert at_20(20, 0.0) == ""
