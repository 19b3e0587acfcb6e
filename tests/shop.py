"""A shop in numbers: jobs with passes and sizes, readings as files hold them, and cutters with something hidden."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np

from gen.csvtable import Row
from gen.job import Job
from gen.readings import COLUMNS, HEADING, Measured, of_rows
from gen.row import housings
from gen.sections import Floats
from gen.settingwords import told_setting
from post.units import MM_PER
from tests.jobs import make_job

PASSES: Final = {"depth": 0.5, "finish_stock": 0.1, "skim": 0.05}
SIZE: Final = {"tolerance": "H6", "gauge": 0.002}
CLOCK: Final = (0, 45, 90, 135)


def sized_job(bores: int = 3, **changes: Any) -> Job:
    """Bores of 84 H6 of which 83.0 is there: a skim to 83.08, a roughing pass to 83.811, a finish to 84.011."""
    row = [
        {"name": str(number + 1), "face": -100 * number, "width": 28, "diameter": 84.0, "measured": [82.98, 82.99]}
        for number in range(bores)
    ]
    travel = {"travel": {"x": [-900 - 100 * bores, 100]}}
    return make_job(**{"passes": PASSES, "size": SIZE, "machine": travel, "bore": row, **changes})


def line(*cells: object, **named: object) -> dict[str, str]:
    """One line of readings: cells in the order of the heading, more of them by name."""
    told = dict(zip(HEADING, map(str, cells), strict=False)) | {
        name.rstrip("_"): str(cell) for name, cell in named.items()
    }
    return {name: told.get(name, "") for name in COLUMNS}


def rows(lines: Iterable[Mapping[str, str]]) -> list[Row]:
    """Lines as the CSV's reader gives them, the first on line 2."""
    return [Row(Path("measured.csv"), number, dict(cells)) for number, cells in enumerate(lines, 2)]


def text(lines: Iterable[Mapping[str, str]]) -> str:
    """Lines as a file."""
    return "".join(",".join(cells) + "\n" for cells in [COLUMNS, *([one[name] for name in COLUMNS] for one in lines)])


def put(folder: Path, lines: Iterable[Mapping[str, str]], name: str = "measured.csv") -> Path:
    """Lines in a file in a folder."""
    path = folder / name
    path.write_text(text(lines), encoding="utf-8")
    return path


def round_of(job: Job, setting: float, sizes: Sequence[float], *, each: int = 4) -> Measured:
    """A round in which every bore was read ``each`` times at one place and showed the same, lengths in mm."""
    bores = zip(job.bore, sizes, strict=True)
    lines = [line(bore.name, f"{setting:.3f}", "", "", f"{size:.4f}") for bore, size in bores for _ in range(each)]
    return of_rows(rows(lines), job)


class Hidden(NamedTuple):
    """What a shop does not know of its cutter and bores, mm on the diameter: standard deviations but for the first two.

    ``taper`` and ``ovality`` are the most that a bore has.
    """

    bias: float = 0.008
    spring: float = 0.06
    gauge: float = 0.002
    taper: float = 0.004
    ovality: float = 0.005
    scatter: float = 0.001
    setting: float = 0.0


class Bench:
    """Bores on a machine: cut with a setting, gauged with a gauge; the same seed does the same."""

    def __init__(self, job: Job, hidden: Hidden, seed: int) -> None:
        self.job, self.hidden, self.draw = job, hidden, np.random.default_rng(seed)
        count = len(job.bore)
        self.mean_mm = np.array([sum(bore.measured) / 2 for bore in job.bore if bore.measured])
        self.taper_mm = self.draw.uniform(-hidden.taper, hidden.taper, count)
        self.ovality_mm = self.draw.uniform(0, hidden.ovality, count)
        self.wide_deg = self.draw.uniform(0, 180, count)
        self.width_mm = [abs(housing.far_x - housing.near_x) for housing in housings(job)]

    def cut(self, set_mm: float) -> None:
        """Cut every bore with the cutter set to a diameter."""
        hidden, count = self.hidden, len(self.mean_mm)
        after = set_mm + hidden.bias - hidden.spring * (set_mm - self.mean_mm)
        self.mean_mm = after + self.draw.normal(0, hidden.setting) + self.draw.normal(0, hidden.scatter, count)

    def gauged(self, set_mm: float, depths: int = 3) -> list[dict[str, str]]:
        """Readings of every bore round the clock at some depths, lengths in the job's unit and form."""
        per, digits = MM_PER[self.job.units], 3 if self.job.units == "mm" else 4
        told = f"{told_setting(self.job, set_mm + 1e-9):.{digits}f}"
        lines = []
        for bore, one in enumerate(self.job.bore):
            for part in np.linspace(0.1, 0.9, depths):
                for clock in CLOCK:
                    size = self._local(bore, part, clock) + self.draw.normal(0, self.hidden.gauge)
                    depth = f"{part * self.width_mm[bore] / per:.2f}"
                    lines.append(line(one.name, told, clock, depth, f"{size / per:.{digits}f}"))
        return lines

    def _local(self, bore: int, part: float, clock: float) -> float:
        wave = np.cos(2 * np.radians(clock - self.wide_deg[bore])) / 2
        return float(self.mean_mm[bore] + self.taper_mm[bore] * (part - 0.5) / 0.8 + self.ovality_mm[bore] * wave)

    def extremes_mm(self) -> tuple[Floats, Floats]:
        """Smallest and largest true diameter of each bore (n,), between the outermost depths gauged."""
        half = (np.abs(self.taper_mm) + self.ovality_mm) / 2
        return self.mean_mm - half, self.mean_mm + half
