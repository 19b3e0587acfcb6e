"""What a survey of a row tells of every bore: where it lies, how large and how round it is."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from gen.job import Job
from gen.roundness import Oval
from gen.rowline import Survey


class Section(NamedTuple):
    """One bore, or one depth in it, as measured. Lengths in mm, places in program coordinates.

    ``diameter`` is the mean, ``widest`` that of the circle about the centre that the whole wall is within, as far as it
    was measured: stock is counted from there. ``roundness`` (of points), ``oval``, ``cross`` and ``closing`` as in
    ``gen.roundness``; None where they are not told. ``told``: "centre", "points" or "sweep".
    """

    bore: int
    depth: float | None
    x: float
    y: float
    z: float
    diameter: float
    widest: float
    told: str
    roundness: float | None = None
    oval: Oval | None = None
    cross: float | None = None
    closing: float | None = None


@dataclass(frozen=True)
class Surveyed:
    """The sections of a row, in the job's order and by depth."""

    sections: tuple[Section, ...]

    def survey(self, job: Job) -> Survey:
        """The same for ``gen.bestline``, each with half the diameter wanted of its bore as its target."""
        x, y, z, widest, bore = np.array(
            [(one.x, one.y, one.z, one.widest, one.bore) for one in self.sections], dtype=np.float64
        ).T
        target = np.array([job.bore[one.bore].diameter / 2 for one in self.sections])
        return Survey(x, y, z, widest / 2, target, bore.astype(np.intp))
