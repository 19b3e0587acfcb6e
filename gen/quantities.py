"""The quantities of a job file: lengths, speeds, extents and names, checked, and brought to millimetres.

A file in inches is converted as it is validated, with ``context={"units": "inch"}``. Every field of a length has two
examples: the first for a job in millimetres, the second for one in inches.
"""

import math
from collections.abc import Mapping
from typing import Annotated, Any, Final

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo, WithJsonSchema

from post.units import MM_PER, MM_PER_FOOT, MM_PER_INCH, Units

LARGEST: Final = 100_000.0
"""Largest length or rate accepted, in the file's unit: beyond it a number is a slip of the keyboard."""


SMALLEST: Final = 1e-6
"""Smallest of what must be more than 0, in the file's unit: below it times and ratios grow beyond all numbers."""


def units_of(info: ValidationInfo) -> Units:
    """The unit of the file a value stands in."""
    units: Units = (info.context or {}).get("units", "mm")
    return units


def _length_to_mm(value: float, info: ValidationInfo) -> float:
    return value * MM_PER[units_of(info)]


def _roughness_to_um(value: float, info: ValidationInfo) -> float:
    return value * MM_PER_INCH / 1000 if units_of(info) == "inch" else value


def _speed_to_m_per_min(value: float, info: ValidationInfo) -> float:
    return value * MM_PER_FOOT / 1000 if units_of(info) == "inch" else value


def _not_vanishing(value: float) -> float:
    if value < SMALLEST:
        raise ValueError(f"{value:g} must be at least {SMALLEST:f}, e.g. 1")
    return value


_TO_MM: Final = AfterValidator(_length_to_mm)
_NOT_VANISHING: Final = AfterValidator(_not_vanishing)
Coordinate = Annotated[float, Field(ge=-LARGEST, le=LARGEST, allow_inf_nan=False), _TO_MM]
Length = Annotated[float, Field(gt=0, le=LARGEST, allow_inf_nan=False), _NOT_VANISHING, _TO_MM]
Gap = Annotated[float, Field(ge=0, le=LARGEST, allow_inf_nan=False), _TO_MM]
Rpm = Annotated[float, Field(gt=0, le=LARGEST, allow_inf_nan=False), _NOT_VANISHING]
CuttingSpeed = Annotated[
    float, Field(gt=0, le=LARGEST, allow_inf_nan=False), _NOT_VANISHING, AfterValidator(_speed_to_m_per_min)
]
Roughness = Annotated[float, Field(gt=0, le=1_000, allow_inf_nan=False), AfterValidator(_roughness_to_um)]
Torque = Annotated[float, Field(gt=0, le=LARGEST, allow_inf_nan=False), _NOT_VANISHING]
Turns = Annotated[float, Field(ge=0, le=10_000, allow_inf_nan=False)]


def _ordered(pair: tuple[float, float], per: float = 1.0) -> tuple[float, float]:
    if pair[0] >= pair[1]:
        shown = ", ".join(f"{value / per:g}" for value in pair)
        raise ValueError(f"[{shown}] must be [lowest, highest], the first number below the second")
    return pair


def _ordered_lengths(pair: tuple[float, float], info: ValidationInfo) -> tuple[float, float]:
    return _ordered(pair, MM_PER[units_of(info)])


def _rising_lengths(pair: tuple[float, float], info: ValidationInfo) -> tuple[float, float]:
    """Smallest and largest, which may be the same."""
    return pair if pair[0] == pair[1] else _ordered_lengths(pair, info)


def _ordered_speeds(pair: tuple[float, float]) -> tuple[float, float]:
    return _ordered(pair)


Sizes = Annotated[tuple[Length, Length], Field(strict=False), AfterValidator(_rising_lengths)]
Extent = Annotated[tuple[Coordinate, Coordinate], Field(strict=False), AfterValidator(_ordered_lengths)]
RpmRange = Annotated[tuple[Rpm, Rpm], Field(strict=False), AfterValidator(_ordered_speeds)]


TOWARD: Final[Mapping[str, float]] = {"+Z": 0.0, "+Y": 90.0, "-Z": 180.0, "-Y": 270.0}
"""Directions by name, in degrees from straight up toward +Y."""


def _direction(value: Any) -> Any:
    if isinstance(value, str):
        if value not in TOWARD:
            allowed = ", ".join(f'"{name}"' for name in TOWARD)
            raise ValueError(
                f'"{value[:20]}" must be one of {allowed}, or degrees from straight up; e.g. toward = "+Z"'
            )
        return TOWARD[value]
    return value


Toward = Annotated[
    float,
    BeforeValidator(_direction),
    Field(allow_inf_nan=False),
    WithJsonSchema({"anyOf": [{"enum": list(TOWARD)}, {"type": "number"}]}),
]
"""A direction in the YZ plane, square to the row."""


def unit_vector(toward_deg: float) -> tuple[float, float]:
    """Y and Z of a direction, of length 1."""
    direction = math.radians(toward_deg)
    return math.sin(direction), math.cos(direction)


def _one_line(name: str) -> str:
    """A name as it can stand on one line of a program, a table or a page."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in name).split())


Name = Annotated[str, AfterValidator(_one_line)]
