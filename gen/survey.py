"""Surveys of a row of bores, as a shop writes them down: where every bore lies now, how large it is, how round.

A CSV, one reading a line. What a line tells makes it one of these; a bore, or a depth in it, is placed in one way:

centre
    ``y``, ``z`` and ``diameter``: where the centre lies in program coordinates, so from Y0 Z0, the bore line.
point
    ``y`` and ``z`` alone: a point of the wall, in program coordinates, the stylus allowed for. Three or more.
sweep
    ``angle`` and a reading of an indicator carried round by the bar, which stands at Y0 Z0 as the walk-through leaves
    it: ``pressed`` grows as the wall presses the plunger in, ``farther`` as the wall is farther out. A last reading at
    the first angle again closes the round.
gauge
    ``diameter``, and ``angle`` where it is known: how large a swept bore is.

``angle`` is the clock angle, degrees from straight up toward +Y. ``depth`` counts from the face that the cutter meets
first; left empty it is the middle, and of a gauge the whole bore. ``keep`` stands in the column note beside a reading
or point that the others of its bore contradict (``gen.strays``), once it was measured again.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from gen import strays
from gen.borecells import MOST_TIMES, Places, named, slip_of_unit
from gen.csvtable import Row, read_rows
from gen.job import Job
from gen.linewanted import LineWanted
from gen.passes import measured_mm
from gen.roundness import Gauged, Swept, gauged, probed, swept
from gen.row import housings
from gen.surveyed import Section, Surveyed
from post.units import MM_PER, MM_PER_INCH, UNIT_WORD, plain, show_length
from post.userfile import InputError

COLUMNS: Final = ("bore", "depth", "y", "z", "diameter", "angle", "pressed", "farther", "note")
TELLING: Final = COLUMNS[2:-1]
HEADING: Final = ("bore", "y", "z", "diameter")
MOST_OFF: Final = 0.05
"""Part of a bore's diameter that its centre, or an indicator's reading, may be off; more is a slip; chosen by us."""
MOST_OPEN_MM: Final = 0.01
"""What a sweep may read off on coming back to its first angle, unless five repeatabilities are more; chosen by us."""
FORMS: Final = "write y, z and diameter; or y and z of a point; or angle and pressed (or farther); or diameter"


def read(path: Path, job: Job) -> Surveyed:
    """The survey in a file. Lengths are in the job's unit.

    Raises InputError, with file, line and column, for a bore that the job does not have or the survey lacks, a line
    that is none of the forms, a bore placed in two ways or not at all, a length, depth or angle that cannot be meant (a
    slip of the unit is named), clock angles missing or repeated, points that tell no circle, a sweep that does not
    close, a reading or point that the others contradict with no ``keep`` beside it, and fewer than two bores.
    """
    rows = read_rows(path, what="CSV of a survey", columns=COLUMNS, required=("bore",), example=HEADING)
    return of_rows(rows, job)


def of_rows(rows: Sequence[Row], job: Job) -> Surveyed:
    """The survey in a table's rows; see ``read``."""
    cells = _Cells(job)
    lines = [cells.line(row) for row in rows]
    gauges: dict[tuple[int, float | None], list[_Line]] = {}
    placed: dict[tuple[int, float | None], list[_Line]] = {}
    for line in lines:
        (gauges if line.form == "gauge" else placed).setdefault((line.bore, line.depth), []).append(line)
    missing = [bore.name for index, bore in enumerate(job.bore) if index not in {key[0] for key in placed}]
    if missing:
        raise InputError(
            f"{named(missing)} of the job: no place is told; survey every bore: {FORMS}", file=rows[0].path
        )
    check_bores(job, lambda _, problem: InputError(problem, file=rows[0].path))
    sections = []
    for key, told in sorted(placed.items(), key=lambda item: (item[0][0], item[0][1] or 0.0)):
        sections.append(cells.section(key, told, gauges))
    for key, spare in gauges.items():
        if all(line.is_spare for line in spare):
            raise spare[0].row.refuse("diameter", f"tells a size of bore {_of(job, key)}, which no sweep there needs")
    return Surveyed(tuple(sections))


def of_job(job: Job) -> Surveyed:
    """The survey in a job: every bore's ``centre`` and ``measured``. Raises InputError at the key that is missing."""
    inch = job.units == "inch"
    check_bores(job, lambda key, problem: InputError(problem, key=(key,)))
    middles, sections = _middles(job), []
    for index, bore in enumerate(job.bore):
        size = measured_mm(job, bore)
        if bore.centre is None:
            raise InputError(
                "is missing; give a survey as CSV, or write for every bore where its centre is, as centre ="
                f" {'[0.0012, -0.0008]' if inch else '[0.03, -0.02]'}",
                key=("bore", index, "centre"),
            )
        if size is None:
            raise InputError(
                "is missing; a line is sought for bores of known size: write the smallest and largest diameter, as"
                f" measured = {'[3.2525, 3.2535]' if inch else '[82.61, 82.64]'}",
                key=("bore", index, "measured"),
            )
        if math.hypot(*bore.centre) > MOST_OFF * bore.diameter:
            most = show_length(MOST_OFF * bore.diameter, job.units)
            raise InputError(
                f"cannot be meant: it must be within {most} of the bore line", key=("bore", index, "centre")
            )
        y, z = bore.centre
        sections.append(Section(index, None, middles[index], y, z, sum(size) / 2, size[1], "centre"))
    return Surveyed(tuple(sections))


def check_bores(job: Job, refuse: Callable[[str, str], InputError]) -> None:
    """Raises what ``refuse`` makes of a key and a problem, for a job of fewer than two bores."""
    if len(job.bore) < 2:
        raise refuse("bore", "the job has one bore; a line takes two or more: add the others to the job")


def _of(job: Job, key: tuple[int, float | None]) -> str:
    bore, depth = key
    at = "" if depth is None else f" at depth {show_length(depth, job.units)}"
    return f'"{job.bore[bore].name}"{at}'


def _widest(lines: Sequence["_Line"], size: Gauged, found: Swept) -> float:
    """Diameter of the circle about the centre that a swept and gauged hole is within, as far as it was measured."""
    widest = max(line.numbers[0] for line in lines)
    if size.oval is not None:
        radius = size.diameter / 2
        widest = max(widest, size.diameter + size.oval.size / 2)
    else:
        radius = max(_radius(line.numbers[0], line.angle, found) for line in lines)
    oval = found.oval.size if found.oval else abs(found.cross or 0.0)
    return max(widest, 2 * (radius + max(float(found.deviations.max()), oval / 4)))


def _radius(diameter: float, angle_deg: float | None, found: Swept) -> float:
    """Mean radius of a swept hole, from one diameter; where its place in the oval is not known, it is the smallest."""
    if found.oval is None:
        return diameter / 2 + abs(found.cross or 0.0) / 4
    part = -1.0 if angle_deg is None else math.cos(2 * math.radians(angle_deg - found.oval.clock_deg))
    return diameter / 2 - part * found.oval.size / 4


def _middles(job: Job) -> list[float]:
    return [(housing.near_x + housing.far_x) / 2 for housing in housings(job)]


@dataclass
class _Line:
    """One line of the survey, mm and degrees; a gauge's line is spare until a section takes it."""

    row: Row
    bore: int
    depth: float | None
    form: str
    numbers: tuple[float, ...]
    angle: float | None = None
    grows: Any = None
    is_spare: bool = True
    keep: bool = False


class _Cells:
    """Cells into lines, and lines into sections, for one job."""

    def __init__(self, job: Job) -> None:
        self.job, self.places = job, Places(job)
        self.per = MM_PER[job.units]
        self.middles = _middles(job)
        self.near = [housing.near_x for housing in housings(job)]
        self.repeats = (job.line or LineWanted()).repeats
        self.most_open = max(MOST_OPEN_MM, 5 * job.line.repeats if job.line else 0.0)

    def line(self, row: Row) -> _Line:
        line = self._line(row)
        line.keep = self.places.keep(row)
        return line

    def _line(self, row: Row) -> _Line:
        bore = self.places.bore(row)
        depth, angle = self.places.depth(row, bore), self.places.angle(row)
        filled = {name for name in TELLING if row.cell(name)}
        if filled in ({"y", "z", "diameter"}, {"y", "z"}):
            form = "centre" if "diameter" in filled else "points"
            numbers = [self._offset(row, name, bore, form) for name in ("y", "z")]
            if form == "centre":
                numbers.append(self._diameter(row, bore))
            return _Line(row, bore, depth, form, tuple(numbers))
        if filled in ({"angle", "pressed"}, {"angle", "farther"}):
            (name,) = filled - {"angle"}
            reading = self._offset(row, name, bore, "sweep")
            return _Line(row, bore, depth, "sweep", (reading,), angle, "in" if name == "pressed" else "out")
        if filled in ({"diameter"}, {"diameter", "angle"}):
            return _Line(row, bore, depth, "gauge", (self._diameter(row, bore),), angle)
        if filled in ({"pressed"}, {"farther"}):
            raise row.refuse("angle", "is empty; a sweep's reading takes the clock angle it was read at, e.g. 90")
        told = ", ".join(name for name in TELLING if name in filled) or "nothing"
        raise row.refuse("bore", f"this line tells {told}; {FORMS}")

    def section(
        self, key: tuple[int, float | None], told: Sequence[_Line], gauges: dict[tuple[int, float | None], list[_Line]]
    ) -> Section:
        bore, depth = key
        first = told[0]
        for line in told:
            if (line.form, line.grows) != (first.form, first.grows):
                raise line.row.refuse(
                    "bore",
                    f"bore {_of(self.job, key)} is placed in another way on line {first.row.line}; keep one of the two",
                )
        x = self.middles[bore] if depth is None else self.near[bore] + self.job.direction * depth
        if first.form == "centre":
            if len(told) > 1:
                raise told[1].row.refuse(
                    "bore", f"bore {_of(self.job, key)} stands on line {first.row.line} already; keep one"
                )
            diameter = first.numbers[2]
            y, z = self._near_line(first, key, "y", *first.numbers[:2])
            return Section(bore, depth, x, y, z, diameter, diameter, "centre")
        if first.form == "points":
            return self._of_points(key, x, told)
        return self._of_sweep(key, x, told, gauges)

    def _of_points(self, key: tuple[int, float | None], x: float, told: Sequence[_Line]) -> Section:
        found = self._asked(told, "y", lambda: probed([line.numbers for line in told]))
        self._about(told[0], key, "y", 2 * found.radius, "the circle through its points has")
        keep = [line.keep for line in told]
        stray = strays.in_points([line.numbers for line in told], found, keep, repeats=self.repeats)
        if stray is not None:
            row = told[stray.number].row
            asked = strays.question(stray, None, self.job.units)
            raise row.refuse("y", f"the point {row.cell('y')}, {row.cell('z')} of bore {_of(self.job, key)} {asked}")
        widest = found.radius + max(float(found.deviations.max()), found.oval.size / 4 if found.oval else 0.0)
        centre = self._near_line(told[0], key, "y", found.y, found.z)
        return Section(*key, x, *centre, 2 * found.radius, 2 * widest, "points", found.roundness, found.oval)

    def _of_sweep(
        self,
        key: tuple[int, float | None],
        x: float,
        told: Sequence[_Line],
        gauges: dict[tuple[int, float | None], list[_Line]],
    ) -> Section:
        lines = gauges.get(key) or gauges.get((key[0], None))
        if not lines:
            raise told[0].row.refuse(
                "diameter",
                f"is told nowhere for bore {_of(self.job, key)}; a sweep does not tell how large a bore is: add a line"
                f" with its diameter, e.g. {plain(self.job.bore[key[0]].diameter / self.per, 4)}",
            )
        for line in lines:
            line.is_spare = False
        size = self._gauged(key, lines)
        closes = len(told) > 1 and told[-1].angle == told[0].angle
        self._check_angles(told[:-1] if closes else told, 360)
        angles, readings = [line.angle or 0.0 for line in told], [line.numbers[0] for line in told]
        found = self._asked(
            told, "angle", lambda: swept(angles, readings, grows=told[0].grows, radius=size.diameter / 2)
        )
        if found.closing is not None and abs(found.closing) > self.most_open:
            word = UNIT_WORD[self.job.units]
            raise told[-1].row.refuse(
                "farther" if told[0].grows == "out" else "pressed",
                f"the sweep of bore {_of(self.job, key)} does not close: back at the first angle it reads"
                f" {abs(found.closing) / self.per:.6g} {word} off, more than {self.most_open / self.per:.6g} {word};"
                " see that nothing slips, and sweep again",
            )
        self._check_strays(told[:-1] if closes else told, found, lines, size.diameter)
        centre = self._near_line(told[0], key, "bore", found.y, found.z)
        widest = _widest(lines, size, found)
        oval = size.oval or found.oval
        return Section(*key, x, *centre, size.diameter, widest, "sweep", None, oval, found.cross, found.closing)

    def _check_strays(self, told: Sequence[_Line], found: Swept, gauges: Sequence[_Line], diameter: float) -> None:
        """Raises InputError at a reading of a sweep that the others, or the diameters, contradict."""
        stray = strays.in_sweep(
            [line.angle or 0.0 for line in told],
            [line.numbers[0] for line in told],
            found,
            [(line.angle or 0.0, line.numbers[0]) for line in gauges],
            [line.keep for line in told],
            diameter=diameter,
            repeats=self.repeats,
        )
        if stray is not None:
            line = told[stray.number]
            column, way = ("farther", 1) if line.grows == "out" else ("pressed", -1)
            expected = line.numbers[0] - way * stray.farther
            asked = strays.question(stray, expected, self.job.units)
            raise line.row.refuse(column, f"{line.row.cell(column)} {asked}")

    def _gauged(self, key: tuple[int, float | None], lines: Sequence[_Line]) -> Gauged:
        diameters = [line.numbers[0] for line in lines]
        clock = [line.angle or 0.0 for line in lines]
        for line in lines:
            if line.angle is None and len(lines) > 1:
                raise line.row.refuse(
                    "angle", f"is empty; of several diameters of bore {_of(self.job, key)} tell each one's clock angle"
                )
        self._check_angles(lines, 180)
        found: Gauged = self._asked(lines, "angle", lambda: gauged(clock, diameters))
        return found

    def _check_angles(self, lines: Sequence[_Line], turn: int) -> None:
        """Raises InputError at a clock angle that another of the lines has; a half turn on, a diameter is the same."""
        first: dict[float, _Line] = {}
        for line in lines:
            angle = (line.angle or 0.0) % turn
            if angle in first:
                raise line.row.refuse(
                    "angle",
                    f"{line.row.cell('angle')} is where line {first[angle].row.line} was read, of bore"
                    f" {_of(self.job, (line.bore, line.depth))} too; read there once",
                )
            first[angle] = line

    def _asked(self, lines: Sequence[_Line], column: str, ask: Callable[[], Any]) -> Any:
        """What ``ask`` finds; what it refuses is told at the first of the lines."""
        try:
            return ask()
        except ValueError as error:
            key = lines[0].bore, lines[0].depth
            raise lines[0].row.refuse(column, f"bore {_of(self.job, key)}: {error}") from None

    def _diameter(self, row: Row, bore: int) -> float:
        wanted = self.job.bore[bore].diameter
        value = self.places.length(row, "diameter", wanted)
        assert value is not None
        self.places.about_the_bore(row, "diameter", value, wanted, wanted, lambda size: size)
        return value

    def _offset(self, row: Row, name: str, bore: int, form: str) -> float:
        """A coordinate of a centre or point, or a reading of an indicator, mm."""
        example = "0.02" if self.job.units == "mm" else "0.0008"
        value = row.number(name, example)
        assert value is not None
        diameter = self.job.bore[bore].diameter
        most = (0.5 * (1 + 2 * MOST_OFF) * MOST_TIMES if form == "points" else MOST_OFF) * diameter
        if abs(value * self.per) > most:
            is_mm = self.job.units == "inch" and abs(value) <= most
            slip = "looks like millimetres in a job in inches" if is_mm else "cannot be meant"
            hint = "; write lengths, not divisions of the dial" if form == "sweep" else ""
            example = plain(diameter / 2 / self.per, 4) if form == "points" else example
            raise row.refuse(
                name,
                f"{row.cell(name)} {slip}: it must be within {show_length(most, self.job.units)} of 0 for a bore of"
                f" {show_length(diameter, self.job.units)}{hint}, e.g. {example}",
            )
        return value * self.per

    def _near_line(
        self, first: _Line, key: tuple[int, float | None], column: str, y: float, z: float
    ) -> tuple[float, float]:
        most = MOST_OFF * self.job.bore[key[0]].diameter
        if math.hypot(y, z) > most:
            raise first.row.refuse(
                column,
                f"the centre of bore {_of(self.job, key)} comes to Y {self._show(y)} Z {self._show(z)}: it must be"
                f" within {self._show(most)} of the bore line, Y0 Z0",
            )
        return y, z

    def _about(self, first: _Line, key: tuple[int, float | None], column: str, diameter: float, what: str) -> None:
        wanted = self.job.bore[key[0]].diameter

        def fits(size: float) -> bool:
            return 1 / MOST_TIMES <= size / wanted <= MOST_TIMES

        if not fits(diameter):
            slip = slip_of_unit(fits(diameter * MM_PER_INCH), fits(diameter / MM_PER_INCH), self.job.units)
            raise first.row.refuse(
                column,
                f"bore {_of(self.job, key)}: {what} a diameter of {self._show(diameter)}, which {slip}: about"
                f" {self._show(wanted)} is right",
            )

    def _show(self, length_mm: float) -> str:
        return show_length(length_mm, self.job.units)
