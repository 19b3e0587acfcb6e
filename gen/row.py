"""The row of bores as metal and strokes, whichever form each bore was given in, and what makes a row impossible."""

from itertools import pairwise
from typing import TYPE_CHECKING, Final, NamedTuple

from post.units import Units, show_length
from post.userfile import KeyProblem

if TYPE_CHECKING:
    from gen.job import Bore, Job

RATIO_SLACK: Final = 1e-9
"""How far 1 / ratio may be from a whole number and still count as one: ratios are typed with a few digits."""


class Housing(NamedTuple):
    """One bore reduced to what planner and proof need. Lengths in mm, X in program coordinates.

    ``near_x`` and ``far_x`` are the faces the cutter meets first and last; ``start_x`` and ``end_x`` the ends of its
    stroke, ``approach`` before the one and ``overrun`` past the other.
    """

    bore: "Bore"
    start_x: float
    near_x: float
    far_x: float
    end_x: float

    @property
    def metal(self) -> tuple[float, float]:
        """Lowest and highest X of the housing's metal."""
        return min(self.near_x, self.far_x), max(self.near_x, self.far_x)

    @property
    def stroke(self) -> tuple[float, float]:
        """Lowest and highest X of the cutter's stroke."""
        return min(self.start_x, self.end_x), max(self.start_x, self.end_x)


def housings(job: "Job") -> tuple[Housing, ...]:
    """The bores in the job's order."""
    return tuple(_housing(bore, job) for bore in job.bore)


def _housing(bore: "Bore", job: "Job") -> Housing:
    way = job.direction
    approach = job.path.approach if bore.approach is None else bore.approach
    overrun = job.path.overrun if bore.overrun is None else bore.overrun
    if bore.x is not None and bore.length is not None:
        end_x = bore.x + bore.length
        return Housing(bore, bore.x, bore.x + way * approach, end_x - way * overrun, end_x)
    assert bore.face is not None
    assert bore.width is not None
    far_x = bore.face + way * bore.width
    return Housing(bore, bore.face - way * approach, bore.face, far_x, far_x + way * overrun)


def check_row(job: "Job") -> None:
    """Raises KeyProblem at the first thing that makes the row impossible to bore as told."""
    row = housings(job)
    for index, housing in enumerate(row):
        _check_bore(job, index, housing)
    _check_order(job, row)
    _check_height(job)
    _check_lift(job)


def _check_order(job: "Job", row: tuple[Housing, ...]) -> None:
    rising = len(row) < 2 or row[1].near_x > row[0].near_x
    for index, (one, other) in enumerate(pairwise(row), 1):
        _check_neighbours(job, index, one, other, rising)


def _check_bore(job: "Job", index: int, housing: Housing) -> None:
    bore, units = housing.bore, job.units
    if bore.length is not None:
        if bore.length * job.direction <= 0:
            raise KeyProblem(
                ("bore", index, "length"),
                f'{_number(bore.length, units)} contradicts head.points = "{job.head.points}": the cutter feeds toward'
                f" {job.head.points}, so length must be {'above' if job.direction > 0 else 'below'} zero,"
                f" e.g. length = {_number(-bore.length or job.direction * 37.5, units)}",
            )
        if (housing.far_x - housing.near_x) * job.direction <= 0:
            raise KeyProblem(
                ("bore", index, "length"),
                f"{_number(bore.length, units)} is no longer than approach and overrun together, which leaves no metal;"
                f" give the whole travel of the cutter, from its start to past the far face",
            )
    if job.bar.diameter >= bore.diameter:
        raise KeyProblem(
            ("bore", index, "diameter"),
            f"{show_length(bore.diameter, units)} is not larger than bar.diameter,"
            f" {show_length(job.bar.diameter, units)}; the bar would not go in",
        )


def _check_neighbours(job: "Job", index: int, one: Housing, other: Housing, rising: bool) -> None:
    units, key = job.units, "face" if other.bore.face is not None else "x"
    if (other.near_x > one.near_x) is not rising or other.near_x == one.near_x:
        way = "rises" if rising else "falls"
        raise KeyProblem(
            ("bore", index, key),
            f'bore "{other.bore.name}" is out of order: X {way} along the row, but here it goes from'
            f" {show_length(one.near_x, units)} to {show_length(other.near_x, units)}; list the bores along the row",
        )
    for cutter, metal in ((one, other), (other, one)):
        low, high = cutter.stroke
        solid_low, solid_high = metal.metal
        if low < solid_high and solid_low < high:
            raise KeyProblem(
                ("bore", index, key),
                f"bores overlap: the cutter goes from {show_length(cutter.start_x, units)} to"
                f' {show_length(cutter.end_x, units)} for bore "{cutter.bore.name}", into the metal of bore'
                f' "{metal.bore.name}" from {show_length(solid_low, units)} to {show_length(solid_high, units)};'
                " mend the positions, or make approach or overrun smaller",
            )


def _check_height(job: "Job") -> None:
    widest = max(job.bore, key=lambda bore: bore.diameter)
    least = widest.diameter / 2
    if job.path.clearance_height <= least:
        raise KeyProblem(
            ("path", "clearance_height"),
            f'{show_length(job.path.clearance_height, job.units)} lies in bore "{widest.name}"; Z counts from the'
            f" bore line, so it must be above its radius, {show_length(least, job.units)}, and clear of the block",
        )


def _check_lift(job: "Job") -> None:
    if job.path.lift is None:
        return
    turns = 1 / job.head.ratio
    if abs(turns - round(turns)) > RATIO_SLACK:
        raise KeyProblem(
            ("path", "withdraw"),
            f'"lift" needs the cutter to stop at one known angle, but at head.ratio = {job.head.ratio:g} a spindle'
            ' stopped at a known angle leaves it at one of several; write withdraw = "still" or "feed"',
        )
    room = min((bore.diameter - job.bar.diameter) / 2 for bore in job.bore)
    if job.path.lift.amount >= room:
        raise KeyProblem(
            ("path", "lift", "amount"),
            f"{show_length(job.path.lift.amount, job.units)} would push the bar against the wall: between bar and"
            f" narrowest bore there are {show_length(room, job.units)}; lift by less",
        )


def _number(length_mm: float, units: Units) -> str:
    return show_length(length_mm, units).split()[0]
