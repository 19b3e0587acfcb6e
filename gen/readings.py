"""Readings of a bore gauge, as a shop writes them down: one a line, each believed only if it can be meant so.

setting
    what the cutter was set to, in the form the shop measures it; ``gen.passes.diameter_set`` makes it a diameter.
angle
    clock angle across which the gauge stood, degrees.
depth
    how far into the bore it stood, from the face the cutter meets first.
pass
    which pass of the plan was measured, counted from 1 as ``gen.passes.pass_plan`` has them; it may be left out.
keep
    stands in the column note beside a reading that is far from its neighbours and was measured again.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Final, NamedTuple

from gen.borecells import Places
from gen.boresize import Form, form_of
from gen.csvtable import Row, read_rows
from gen.job import Job
from gen.passes import pass_plan
from gen.settingwords import diameter_set, setting_of
from post.units import MM_PER, plain, show_length
from post.userfile import InputError

COLUMNS: Final = ("bore", "set", "angle", "depth", "reading", "pass", "note")
HEADING: Final = COLUMNS[:5]


class Reading(NamedTuple):
    """One reading: the bore, by index, and what the gauge showed there, mm; None for what is not told.

    ``set_mm`` is the diameter that the cutter was set to, ``number`` the pass of the plan, ``cells`` what was written,
    in the order of ``COLUMNS``.
    """

    bore: int
    set_mm: float | None
    angle_deg: float | None
    depth_mm: float | None
    diameter_mm: float
    number: int | None
    keep: bool
    row: Row
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Measured:
    """What was read after one cut, of every bore that was measured."""

    readings: tuple[Reading, ...]

    @cached_property
    def by_bore(self) -> dict[int, tuple[Reading, ...]]:
        """Readings of each bore, by its index, in the job's order."""
        bores: dict[int, list[Reading]] = {bore: [] for bore in sorted({reading.bore for reading in self.readings})}
        for reading in self.readings:
            bores[reading.bore].append(reading)
        return {bore: tuple(readings) for bore, readings in bores.items()}

    @cached_property
    def forms(self) -> dict[int, Form]:
        """Size and form of each bore, by its index."""
        return {bore: form_of(readings) for bore, readings in self.by_bore.items()}

    def is_same(self, other: "Measured") -> bool:
        """Whether the same was written down, line for line."""
        return [reading.cells for reading in self.readings] == [reading.cells for reading in other.readings]


def read(path: Path, job: Job, *, with_set: bool = True) -> Measured:
    """The readings in a file. ``with_set``: whether each must tell the cutter's setting.

    Raises InputError, with file, line and column, when a reading cannot be meant so: see ``of_rows``.
    """
    required = ("bore", "set", "reading") if with_set else ("bore", "reading")
    rows = read_rows(path, what="CSV of readings", columns=COLUMNS, required=required, example=HEADING)
    return of_rows(rows, job, with_set=with_set)


def of_rows(rows: Sequence[Row], job: Job, *, with_set: bool = True) -> Measured:
    """The readings of one cut. Lengths are in the job's unit.

    Raises InputError for a bore that the job does not have, a number that is none, is missing or below zero, a reading
    or setting not about the bore's size (a slip of the unit is named), an angle outside 0 to 360, a depth outside the
    bore, a pass that does not cut it, places told of some readings of a bore only, a place told twice, and for several
    settings of one bore.
    """
    reader = _Reader(job, with_set)
    readings = tuple(reader.reading(row) for row in rows)
    measured = Measured(readings)
    for of_bore in measured.by_bore.values():
        _check_bore(of_bore, job)
    return measured


def earlier(history: Sequence[Measured], measured: Measured) -> tuple[Measured, ...]:
    """The rounds of a history that came before these readings, which may stand in it already."""
    for number, one in enumerate(history):
        if one.is_same(measured):
            return tuple(history[:number])
    return tuple(history)


class _Reader:
    """Cells into readings, for one job."""

    def __init__(self, job: Job, with_set: bool) -> None:
        self.job, self.with_set = job, with_set
        self.per, self.units = MM_PER[job.units], job.units
        self.places = Places(job)
        self.plan = pass_plan(job)

    def reading(self, row: Row) -> Reading:
        bore = self.places.bore(row)
        return Reading(
            bore,
            self._set(row, bore),
            self.places.angle(row),
            self.places.depth(row, bore),
            self._diameter(row, bore),
            self._number(row, bore),
            self.places.keep(row),
            row,
            tuple(row.cell(name) for name in COLUMNS),
        )

    def _diameter(self, row: Row, bore: int) -> float:
        wanted = self.job.bore[bore].diameter
        value = self.places.length(row, "reading", wanted)
        if value is None:
            raise row.refuse("reading", f"is empty; write what the gauge showed, e.g. {self._plain(wanted)}")
        self.places.about_the_bore(row, "reading", value, wanted, wanted, lambda size: size)
        return value

    def _set(self, row: Row, bore: int) -> float | None:
        wanted = self.job.bore[bore].diameter
        told = setting_of(self.job, wanted)
        value = self.places.length(row, "set", told)
        if value is None:
            if self.with_set:
                raise row.refuse("set", f"is empty; write what the cutter was set to, e.g. {self._plain(told)}")
            return None
        self.places.about_the_bore(row, "set", value, told, wanted, lambda size: diameter_set(self.job, size))
        return diameter_set(self.job, value)

    def _number(self, row: Row, bore: int) -> int | None:
        value = row.number("pass", "1")
        if value is None:
            return None
        cuts = [number for number, one in enumerate(self.plan, 1) if bore in one.bores and one.kind != "air"]
        if value not in cuts:
            raise row.refuse(
                "pass",
                f"{row.cell('pass')} is no pass that cuts this bore; it is cut in {', '.join(map(str, cuts))}: write"
                " one of these or nothing",
            )
        return int(value)

    def _plain(self, length_mm: float) -> str:
        return plain(length_mm / self.per, 4)

    def _show(self, length_mm: float) -> str:
        return show_length(length_mm, self.units)


def _check_bore(readings: Sequence[Reading], job: Job) -> None:
    """Raises InputError where the readings of one bore do not go together."""
    first, name = readings[0], job.bore[readings[0].bore].name
    seen: dict[tuple[float | None, float | None], Reading] = {}
    for reading in readings:
        if reading.set_mm != first.set_mm:
            raise reading.row.refuse(
                "set",
                f"{reading.row.cell('set') or 'nothing'}, but line {first.row.line} tells"
                f' {first.row.cell("set") or "nothing"} of bore "{name}" too; a cut has one setting',
            )
        for column, one, other in (
            ("angle", reading.angle_deg, first.angle_deg),
            ("depth", reading.depth_mm, first.depth_mm),
        ):
            if (one is None) != (other is None):
                raise reading.row.refuse(
                    column, f'is told of some readings of bore "{name}" and not of others; tell it of all or of none'
                )
        if reading.number != first.number:
            raise reading.row.refuse("pass", f'differs from that on line {first.row.line}, of bore "{name}" too')
        place = (reading.angle_deg, reading.depth_mm)
        if place in seen and place != (None, None):
            raise reading.row.refuse(
                "reading",
                f'bore "{name}" was read at this angle and depth on line {seen[place].row.line} already; keep one',
            )
        seen[place] = reading


def refuse_in(measured: Measured, problem: str, *, key: str = "bore") -> InputError:
    """An error about a file of readings as a whole."""
    return InputError(problem, file=measured.readings[0].row.path, key=(key,))
