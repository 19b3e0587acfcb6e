"""The cutter, the passes it takes and the size it is to leave, as a job tells them. All optional.

Depths are on the radius: what the cutter takes from the wall, half of what the diameter grows.
"""

from typing import Annotated, Final, Literal, get_args

from pydantic import AfterValidator, Field

from gen.cutting import MATERIALS
from gen.offsize import BAR_MATERIALS
from gen.quantities import Gap, Length
from post.userfile import Table

COLDEST_C: Final = 0.0
WARMEST_C: Final = 50.0


def _celsius(value: float) -> float:
    if not COLDEST_C <= value <= WARMEST_C:
        raise ValueError(
            f"{value:g} must be degrees Celsius, {COLDEST_C:g} to {WARMEST_C:g}, e.g. temperature = 20; 68 F is 20 C"
        )
    return value


# The bounds are told to the schema apart, so that the message can tell the unit.
Celsius = Annotated[
    float, AfterValidator(_celsius), Field(json_schema_extra={"minimum": COLDEST_C, "maximum": WARMEST_C})
]
Angle = Annotated[float, Field(gt=0, lt=180, allow_inf_nan=False)]
SettingForm = Literal["bore", "over", "tip"]


class Cutter(Table):
    """The cutter's edge: radius of its nose, radius of the cutting edge itself, and its setting angle in degrees."""

    nose: Length = Field(examples=[0.4, 0.0156])
    edge: Length | None = Field(default=None, examples=[0.02, 0.0008])
    angle: Angle = Field(default=90.0, examples=[90])


class Passes(Table):
    """How the stock is taken off: most depth in one pass, what finishing leaves, and how it is begun.

    ``skim`` is the depth of a first light pass, measured afterwards; ``air`` a pass with the cutter clear before it.
    ``least`` is the lightest cut the cutter takes.
    """

    depth: Length = Field(examples=[0.4, 0.015])
    finish_stock: Length = Field(examples=[0.1, 0.004])
    skim: Length | None = Field(default=None, examples=[0.05, 0.002])
    air: bool = Field(default=False, examples=[True])
    least: Length | None = Field(default=None, examples=[0.02, 0.0008])


class Size(Table):
    """What size is wanted, and how the shop measures.

    ``tolerance`` is a class of ISO 286-1 for every bore that has none of its own. ``setting`` is how the cutter's
    setting is measured: "bore" as the diameter it cuts, "over" over bar and tip, "tip" as the tip's projection.
    ``gauge`` is the repeatability of the bore gauge, one standard deviation; ``temperature`` that of the block, in
    degrees Celsius, when it is measured.
    """

    tolerance: str | None = Field(default=None, examples=["H6"])
    setting: SettingForm = Field(default="bore", examples=["over"])
    gauge: Gap = Field(default=0.0, examples=[0.002, 0.0001])
    temperature: Celsius = Field(default=20.0, allow_inf_nan=False, examples=[20])


Material = Literal["grey iron", "mild steel", "medium-carbon steel"]
BarMaterial = Literal["steel", "heavy metal", "carbide"]
assert {*get_args(Material)} == {*MATERIALS}, "a material is missing here"
assert {*get_args(BarMaterial)} == {*BAR_MATERIALS}, "a material is missing here"
