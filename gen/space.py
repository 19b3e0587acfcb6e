"""What takes up room: the head as it hangs, the block's bulkheads, and whatever else stands around.

Head dimensions count from the programmed point: along the bar from the cutting edge backward, Y and Z from the bar's
axis. Block and obstacles are in program coordinates. All lengths in mm, angles in degrees as the shop states them.
"""

from typing import Final

from pydantic import Field

from gen.quantities import Extent, Gap, Length, Name
from post.userfile import Table

OUR_NAMES: Final = ("bar", "cutter", "head body", "stem")
BULKHEAD: Final = "bulkhead of bore "
"""What findings call the parts of the tool, and how they begin to name a bulkhead; no bump or obstacle may."""


class Body(Table):
    """The head's body, a box behind its face: ``length`` along the bar, ``width`` across, above and below the axis."""

    length: Length = Field(examples=[120, 4.75])
    width: Length = Field(examples=[110, 4.25])
    above: Length = Field(examples=[65, 2.5])
    below: Length = Field(examples=[48, 1.875])


class Stem(Table):
    """The column from the body up to the spindle: it starts ``back`` behind the head's face and has no upper end."""

    back: Gap = Field(examples=[15, 0.5])
    length: Length = Field(examples=[90, 3.5])
    width: Length = Field(examples=[90, 3.5])


class Bump(Table):
    """A further box on the head; ``behind`` is its extent along the bar, counted from the cutting edge backward."""

    name: Name = Field(min_length=1, max_length=40, examples=["coolant union"])
    behind: Extent = Field(examples=[[150, 180], [6, 7]])
    y: Extent = Field(examples=[[50, 75], [2, 3]])
    z: Extent = Field(examples=[[-20, 20], [-0.75, 0.75]])


class Block(Table):
    """The bulkheads, one about every bore: their extent in Y and Z, and the hole that is there before this pass."""

    y: Extent = Field(examples=[[-140, 140], [-5.5, 5.5]])
    z: Extent = Field(examples=[[-110, 95], [-4.25, 3.75]])
    hole: Length | None = Field(default=None, examples=[82.6, 3.25])


class Obstacle(Table):
    """A box that stands in the way: pan rail, skirt, boss, bolt, fixture, table; perhaps turned about X.

    ``turned`` is in degrees about the box's own centre, positive from +Y toward +Z.
    """

    name: Name = Field(min_length=1, max_length=40, examples=["pan rail, left"])
    x: Extent = Field(examples=[[-560, 40], [-22, 1.5]])
    y: Extent = Field(examples=[[120, 150], [4.75, 6]])
    z: Extent = Field(examples=[[60, 130], [2.5, 5]])
    turned: float = Field(default=0.0, ge=-180, le=180, allow_inf_nan=False, examples=[12])
