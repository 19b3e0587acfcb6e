"""What a job tells of the line to bore on: what is wanted of it, and what in the engine follows the crank.

All of it is optional. Directions are in the YZ plane, as the block lies on the mill.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, ValidationInfo, model_validator

from gen.quantities import Coordinate, Extent, Gap, Length, Name, Toward, units_of
from post.userfile import KeyProblem, Table

Caps = Literal["+Z", "-Z"]
Old = Literal["ends", "all", "zero"]
PressureAngle = Annotated[float, Field(ge=10, le=35, allow_inf_nan=False)]


class Cam(Table):
    """The camshaft that the crank drives: toward where from the crank it lies, and by what it is driven at which X.

    ``distance`` is that between the two, ``most`` the most that the crank may come nearer. Of gears the pressure angle
    (of helical ones in the plane of rotation) and the backlash now, along the pitch circle.
    """

    toward: Toward = Field(examples=["+Z"])
    x: Coordinate = Field(examples=[30, 1.25])
    drive: Literal["gears", "chain"] = Field(examples=["gears"])
    distance: Length | None = Field(default=None, examples=[126.5, 4.98])
    pressure_angle: PressureAngle | None = Field(default=None, examples=[20])
    backlash: Gap | None = Field(default=None, examples=[0.1, 0.004])
    most: Gap | None = Field(default=None, examples=[0.02, 0.0008])

    @model_validator(mode="after")
    def _of_gears(self, info: ValidationInfo) -> Self:
        if self.drive == "gears" and self.pressure_angle is None:
            raise KeyProblem(("pressure_angle",), "is missing; backlash follows from it: write pressure_angle = 20")
        for key in ("pressure_angle", "backlash"):
            if self.drive == "chain" and getattr(self, key) is not None:
                raise KeyProblem((key,), 'is given, but a chain has none; leave it out, or write drive = "gears"')
        return self


class Deck(Table):
    """A face whose height above the crank counts, toward where from the crank it lies, and how high it is now."""

    name: Name = Field(default="deck", min_length=1, max_length=40, examples=["deck, left bank"])
    toward: Toward = Field(examples=["-Z"])
    height: Length | None = Field(default=None, examples=[232.5, 9.15])


class Straight(Table):
    """Limits on the finished row: how far every centre may be off the best line, and two neighbours' offsets apart."""

    overall: Length | None = Field(default=None, examples=[0.02, 0.0008])
    neighbours: Length | None = Field(default=None, examples=[0.01, 0.0004])


class LineWanted(Table):
    """What is wanted of the line.

    ``stock`` is the least to be left all round every bore, on the radius; ``old`` the line that the crank ran on,
    through the "ends", by least squares through "all" bores, or at program "zero"; ``caps`` the side that they are on;
    ``supports`` the X at which the block can be raised and shifted; ``repeats`` one standard deviation of what is read.
    """

    stock: Gap = Field(default=0.02, examples=[0.03, 0.001])
    old: Old = Field(default="ends", examples=["ends"])
    never_lower: bool = Field(default=False, examples=[True])
    caps: Caps | None = Field(default=None, examples=["+Z"])
    supports: Extent | None = Field(default=None, examples=[[-480, -20], [-18.5, -0.75]])
    repeats: Gap = Field(default=0.003, examples=[0.003, 0.0001])
    cam: Cam | None = None
    deck: tuple[Deck, ...] = Field(default=(), strict=False, max_length=10)
    straight: Straight | None = None

    @model_validator(mode="after")
    def _far_apart(self, info: ValidationInfo) -> Self:
        least = 25.4 if units_of(info) == "inch" else 25.0
        if self.supports and self.supports[1] - self.supports[0] < least:
            raise KeyProblem(
                ("supports",),
                "are too near to each other to tilt a block; write the X of each, lowest first, as supports ="
                f" {'[-18.5, -0.75]' if units_of(info) == 'inch' else '[-480, -20]'}",
            )
        return self
