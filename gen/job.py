"""The job: what the shop knows of its machine, head, bar, cut and row of bores, validated.

Every length of a ``Job`` is in millimetres, every feed and rapid rate in mm/min, a cutting speed in m/min, an angle in
degrees as the shop states it. A job file in inches is converted as it is validated: pass ``context={"units": "inch"}``
(``gen.jobfile`` does). ``Job.units`` keeps the file's unit, which is also the program's.
"""

import math
from typing import Annotated, Any, Final, Literal, Self

from pydantic import Field, PlainValidator, ValidationInfo, WithJsonSchema, field_validator, model_validator

from gen.finish import feed_for_ra_mm
from gen.linewanted import LineWanted
from gen.passes import check_feed, check_passes
from gen.quantities import (
    Coordinate,
    CuttingSpeed,
    Extent,
    Gap,
    Length,
    Name,
    Roughness,
    Rpm,
    RpmRange,
    Sizes,
    Torque,
    Toward,
    Turns,
    unit_vector,
    units_of,
)
from gen.row import check_row
from gen.space import Block, Body, Bump, Obstacle, Stem
from gen.spacecheck import check_space
from gen.tooling import BarMaterial, Cutter, Material, Passes, Size
from gen.unitslip import check_units
from post.dialect import ANGLE_STEP_DEG
from post.units import Units
from post.userfile import KeyProblem, Table

WorkOffset = Literal["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"]
Points = Literal["-X", "+X"]
Place = Annotated[tuple[Coordinate, Coordinate], Field(strict=False)]


class Travel(Table):
    """Lowest and highest machine position of each axis."""

    x: Extent = Field(examples=[[-900, 100], [-36, 4]])
    y: Extent = Field(examples=[[-300, 300], [-12, 12]])
    z: Extent = Field(examples=[[-600, 0], [-24, 0]])


class Zero(Table):
    """Machine position of program zero: the bore line in Y and Z, the row's zero in X."""

    x: Coordinate = Field(examples=[-150, -6])
    y: Coordinate = Field(examples=[0])
    z: Coordinate = Field(examples=[-380, -15])


class Rapids(Table):
    """Rapid rate of each axis, mm/min."""

    x: Length = Field(examples=[12000, 480])
    y: Length = Field(examples=[12000, 480])
    z: Length = Field(examples=[9000, 360])


_TRAVEL: Final = {"x": [-900, 100], "y": [-300, 300], "z": [-600, 0]}
_TRAVEL_INCH: Final = {"x": [-36, 4], "y": [-12, 12], "z": [-24, 0]}


class Machine(Table):
    """The mill, in machine coordinates as its control shows them."""

    travel: Travel = Field(examples=[_TRAVEL, _TRAVEL_INCH])
    zero: Zero = Field(examples=[{"x": -150, "y": 0, "z": -380}, {"x": -6, "y": 0, "z": -15}])
    work_offset: WorkOffset = Field(default="G54", examples=["G54"])
    spindle_rpm: RpmRange = Field(examples=[[50, 4000]])
    rapid: Rapids = Field(examples=[{"x": 12000, "y": 12000, "z": 9000}, {"x": 480, "y": 480, "z": 360}])
    max_feed: Length = Field(examples=[5000, 200])
    power: Torque | None = Field(default=None, examples=[7.5], description="of the spindle, kW")


_BODY: Final = {"length": 120, "width": 110, "above": 65, "below": 48}
_BODY_INCH: Final = {"length": 4.75, "width": 4.25, "above": 2.5, "below": 1.875}
_STEM: Final = {"back": 15, "length": 90, "width": 90}
_STEM_INCH: Final = {"back": 0.5, "length": 3.5, "width": 3.5}


class Head(Table):
    """The right-angle head; its output axis lies along X."""

    points: Points = Field(examples=["-X"])
    ratio: float = Field(
        ge=0.01, le=100, allow_inf_nan=False, examples=[2.0], description="spindle turns per cutter turn"
    )
    reverses: bool = Field(examples=[True], description="the output turns opposite to the spindle")
    max_rpm: Rpm = Field(examples=[800], description="of the cutter")
    max_torque: Torque | None = Field(default=None, examples=[60], description="at the cutter, N m")
    reach: Length | None = Field(default=None, examples=[110, 4.25], description="cutting edge back to the head's face")
    body: Body | None = Field(default=None, examples=[_BODY, _BODY_INCH])
    stem: Stem | None = Field(default=None, examples=[_STEM, _STEM_INCH])
    bump: tuple[Bump, ...] = Field(default=(), strict=False, max_length=100)

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        if self.reach is None and (self.body or self.stem):
            raise KeyProblem(
                ("reach",), "is missing; body and stem are counted from the head's face: write reach = ..."
            )
        if self.reach is None and self.bump:
            raise KeyProblem(
                ("reach",), "is missing; a bump hangs beside the bar, as long as the reach: write reach = ..."
            )
        if self.stem and self.body and self.stem.back >= self.body.length:
            raise KeyProblem(
                ("stem", "back"), "is no less than body.length, so that the column would stand clear of the body"
            )
        return self


class Bar(Table):
    """The boring bar; ``hand`` is the sense in which the cutter cuts."""

    diameter: Length = Field(examples=[50, 2])
    hand: Literal["right", "left"] = Field(examples=["right"])
    material: BarMaterial = Field(default="steel", examples=["steel"])


class Cut(Table):
    """Speed of the cutter, as revolutions a minute or as cutting speed, and feed per cutter turn.

    In place of the feed the roughness wanted, Ra in micrometres (microinches in a file in inches).
    """

    rpm: Rpm | None = Field(default=None, examples=[380])
    speed: CuttingSpeed | None = Field(default=None, examples=[100, 330])
    feed: Length | None = Field(default=None, examples=[0.1, 0.004])
    roughness: Roughness | None = Field(default=None, examples=[1.6, 63])
    material: Material | None = Field(default=None, examples=["grey iron"], description="of the block")

    def feed_mm(self, cutter: Cutter | None) -> float:
        """Feed per cutter turn: as told, or for the roughness wanted."""
        if self.feed is not None:
            return self.feed
        assert self.roughness is not None
        assert cutter is not None
        return feed_for_ra_mm(self.roughness / 1000, cutter.nose)

    @model_validator(mode="after")
    def _one_feed(self, info: ValidationInfo) -> Self:
        inch = units_of(info) == "inch"
        if self.feed is not None and self.roughness is not None:
            raise KeyProblem(
                ("roughness",), f"feed and roughness are both given; keep one, as feed = {0.004 if inch else 0.1}"
            )
        if self.feed is None and self.roughness is None:
            wanted = "feed = 0.004 or roughness = 63" if inch else "feed = 0.1 or roughness = 1.6"
            raise KeyProblem(("feed",), f"is missing; write {wanted}")
        return self

    @model_validator(mode="after")
    def _one_speed(self, info: ValidationInfo) -> Self:
        if self.rpm is not None and self.speed is not None:
            raise KeyProblem(("speed",), "rpm and speed are both given; keep one, as rpm = 380")
        if self.rpm is None and self.speed is None:
            raise KeyProblem(
                ("rpm",), f"is missing; write rpm = 380 or speed = {330 if units_of(info) == 'inch' else 100}"
            )
        return self


class LiftOff(Table):
    """How the stopped cutter is moved off the wall before a rapid withdrawal.

    ``toward`` is the way the bar moves, "+Y", "-Y", "+Z" or "-Z", or degrees from straight up in the YZ plane, positive
    toward +Y; the cutter must then point the opposite way. ``angle`` is the spindle's angle, in degrees as the control
    counts them, at which it does.
    """

    amount: Length = Field(examples=[0.3, 0.012])
    toward: Toward = Field(examples=["+Z"])
    angle: float = Field(default=0.0, ge=0, lt=360, allow_inf_nan=False, examples=[0])

    def is_at(self, angle_deg: float | None) -> bool:
        """Whether a spindle stopped at an angle, or at none known, stands at this lift's."""
        if angle_deg is None:
            return False
        return abs((angle_deg - self.angle + 180) % 360 - 180) <= ANGLE_STEP_DEG / 2 * (1 + 1e-9)

    @property
    def shift_mm(self) -> tuple[float, float]:
        """Shift of the bar in Y and Z that takes the cutter off the wall."""
        y, z = unit_vector(self.toward)
        return self.amount * y, self.amount * z


STEEPEST_DEG: Final = 80
"""A way in and out must be less steep than this; at 90 degrees it would never leave the bore line."""


def _leave_angle(value: Any) -> Any:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if value == "auto" or (is_number and abs(value) < STEEPEST_DEG):
        return value if value == "auto" else float(value)
    raise ValueError(
        f"{str(value)[:40]} must be degrees from straight up, between -{STEEPEST_DEG} and {STEEPEST_DEG}, or"
        ' "auto" for the nearest to straight up that is clear; e.g. leave_angle = 0'
    )


LeaveAngle = Annotated[
    float | Literal["auto"],
    PlainValidator(_leave_angle),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "exclusiveMinimum": -STEEPEST_DEG, "exclusiveMaximum": STEEPEST_DEG},
                {"const": "auto"},
            ]
        }
    ),
]

_LIFT: Final = {"amount": 0.3, "toward": "+Z"}
_LIFT_INCH: Final = {"amount": 0.012, "toward": "+Z"}


class Path(Table):
    """How the cutter goes in, through, back and out."""

    clearance_height: Length = Field(examples=[160, 6.5])
    leave_angle: LeaveAngle = Field(default=0.0, examples=[0])
    approach: Length = Field(examples=[3, 0.125])
    overrun: Gap = Field(examples=[2.5, 0.1])
    withdraw: Literal["feed", "still", "lift"] = Field(examples=["feed"])
    clearance: Gap = Field(default=2.0, examples=[2, 0.08])
    lift: LiftOff | None = Field(default=None, examples=[_LIFT, _LIFT_INCH])

    @model_validator(mode="after")
    def _lift_belongs(self, info: ValidationInfo) -> Self:
        if self.withdraw == "lift" and self.lift is None:
            amount = 0.012 if units_of(info) == "inch" else 0.3
            raise KeyProblem(
                ("lift",), f'is missing; withdraw = "lift" needs lift = {{ amount = {amount}, toward = "+Z" }}'
            )
        if self.withdraw != "lift" and self.lift is not None:
            raise KeyProblem(
                ("lift",), f'is given, but withdraw = "{self.withdraw}" does not lift; write withdraw = "lift"'
            )
        return self


class Bore(Table):
    """One bore, as drawn (``face`` and ``width``) or as read from the machine (``x`` and ``length``).

    ``face`` is the X of the face the cutter meets first. ``rpm``, ``feed``, ``approach`` and ``overrun`` stand in for
    the job's own; ``hole``, ``bulkhead_y`` and ``bulkhead_z`` in place of the block's. ``centre``: Y and Z of where the
    bore is now, from a survey; the bar bores at Y0 Z0.
    """

    name: Name = Field(default="", max_length=40, examples=["1"])
    face: Coordinate | None = Field(default=None, examples=[0])
    width: Length | None = Field(default=None, examples=[32, 1.25])
    x: Coordinate | None = Field(default=None, examples=[3, 0.125])
    length: Coordinate | None = Field(default=None, examples=[-37.5, -1.475])
    diameter: Length = Field(examples=[84.0, 3.3125])
    face_turns: Turns = Field(default=0.0, examples=[4])
    rpm: Rpm | None = Field(default=None, examples=[380])
    feed: Length | None = Field(default=None, examples=[0.1, 0.004])
    approach: Length | None = Field(default=None, examples=[3, 0.125])
    overrun: Gap | None = Field(default=None, examples=[2.5, 0.1])
    hole: Length | None = Field(default=None, examples=[82.6, 3.25])
    bulkhead_y: Extent | None = Field(default=None, examples=[[-140, 140], [-5.5, 5.5]])
    bulkhead_z: Extent | None = Field(default=None, examples=[[-110, 95], [-4.25, 3.75]])
    measured: Sizes | None = Field(default=None, examples=[[82.61, 82.64], [3.2525, 3.2535]])
    tolerance: str | None = Field(default=None, max_length=10, examples=["H6"])
    limits: Extent | None = Field(default=None, examples=[[84.0, 84.022], [3.3125, 3.3134]])
    centre: Place | None = Field(default=None, examples=[[0.03, -0.02], [0.0012, -0.0008]])

    @model_validator(mode="after")
    def _one_form(self, info: ValidationInfo) -> Self:
        drawn = [key for key in ("face", "width") if getattr(self, key) is not None]
        as_read = [key for key in ("x", "length") if getattr(self, key) is not None]
        if drawn and as_read:
            raise KeyProblem(
                (as_read[0],), f"{drawn[0]} and {as_read[0]} are both given; give face and width, or x and length"
            )
        if len(drawn) + len(as_read) < 2:
            missing = {"face": "width", "width": "face", "x": "length", "length": "x"}.get(
                "".join(drawn + as_read), "face"
            )
            drawn_as, read_as = (
                ("width = 1.25", "length = -1.475") if units_of(info) == "inch" else ("width = 32", "length = -37.5")
            )
            raise KeyProblem(
                (missing,), f"is missing; give face and width (face = 0, {drawn_as}) or x and length (x = 3, {read_as})"
            )
        return self


class Job(Table):
    """A row of coaxial bores and all that is needed to bore it."""

    name: Name = Field(min_length=1, max_length=120, examples=["Harbour pump engine, main housings"])
    units: Units = Field(examples=["mm"])
    program_number: int | None = Field(
        default=None, ge=1, le=99_999_999, examples=[1201], description="the program's number in the control"
    )
    machine: Machine
    head: Head
    bar: Bar
    cut: Cut
    path: Path
    cutter: Cutter | None = None
    passes: Passes | None = None
    size: Size | None = None
    line: LineWanted | None = None
    block: Block | None = None
    obstacle: tuple[Obstacle, ...] = Field(default=(), strict=False, max_length=1000)
    bore: tuple[Bore, ...] = Field(strict=False, min_length=1, max_length=10_000)

    @field_validator("name")
    @classmethod
    def _says_something(cls, value: str) -> str:
        if not value.strip():
            raise ValueError('must not be blank, e.g. name = "Harbour pump engine, main housings"')
        return value

    @field_validator("bore")
    @classmethod
    def _named(cls, bores: tuple[Bore, ...]) -> tuple[Bore, ...]:
        named = tuple(
            bore if bore.name.strip() else bore.model_copy(update={"name": str(number)})
            for number, bore in enumerate(bores, 1)
        )
        first: dict[str, int] = {}
        for index, bore in enumerate(named):
            if bore.name in first:
                raise KeyProblem(
                    (index, "name"),
                    f'"{bore.name}" is already the name of bore {first[bore.name] + 1}; give each its own',
                )
            first[bore.name] = index
        return named

    @model_validator(mode="after")
    def _row_can_be_bored(self) -> Self:
        check_units(self)
        check_row(self)
        check_space(self)
        check_feed(self)
        check_passes(self)
        return self

    @property
    def direction(self) -> int:
        """+1 where the bar points and feeds toward +X, -1 toward -X."""
        return 1 if self.head.points == "+X" else -1

    @property
    def leave_angle_rad(self) -> float:
        """Tilt of the way in and out from straight up, in the YZ plane, positive toward +Y; radians.

        The angle "auto" is to be settled before: ``gen.pipeline`` does.
        """
        assert self.path.leave_angle != "auto"
        return math.radians(self.path.leave_angle)
