"""Inch and millimetre. Inside, every length is in millimetres; this is the only place that knows the factor."""

from typing import Final, Literal

Units = Literal["mm", "inch"]

MM_PER_INCH: Final = 25.4  # exact by definition (international inch, 1959)
MM_PER_FOOT: Final = 12 * MM_PER_INCH

MM_PER: Final[dict[Units, float]] = {"mm": 1.0, "inch": MM_PER_INCH}
"""Millimetres in one unit of length."""

UNIT_WORD: Final[dict[Units, str]] = {"mm": "mm", "inch": "in"}
"""How a unit is written behind a number."""


def show_length(length_mm: float, units: Units) -> str:
    """A length as a person reads it, with its unit: "37.5 mm", "1.35 in"; to 0.001 mm or 0.0001 in."""
    return f"{plain(length_mm / MM_PER[units], 3 if units == 'mm' else 4)} {UNIT_WORD[units]}"


def plain(value: float, digits: int) -> str:
    """A number with at most so many digits behind the point and no idle zeros: "37.5", "4", "0"."""
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
