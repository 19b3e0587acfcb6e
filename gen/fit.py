"""Will the head fit: the room in every bay, what the head takes of it, and what would make it fit where it does not.

Everything said to fit has been planned, run dry and found to keep ``path.clearance`` (``gen.dryplan``), changes
included.

bay
    the free length along X from a bore's near face, on the side the head comes from, to the next bulkhead.
front, back
    what is left between the foremost part of the head and the bore's own near face, and between the rearmost part and
    the bulkhead behind it. Only parts that would meet that bulkhead on moving along X count.
"""

from collections.abc import Callable, Iterator
from typing import Any, Final, NamedTuple

from gen.angle import clear_angles, nearest_upright, with_angle
from gen.clearance import Near
from gen.dryplan import DryRun
from gen.job import Job
from gen.remedy import Remedy, other_side, remedies
from gen.room import NamedPart, bulkhead_extent, tool
from gen.row import Housing, housings
from gen.sections import Rectangle, bounds
from gen.unchecked import takes_room, unchecked
from post.dialect import Dialect
from post.units import MM_PER
from post.userfile import InputError
