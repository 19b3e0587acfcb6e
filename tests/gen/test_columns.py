import pytest

from gen.columns import fixed, row, table


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
