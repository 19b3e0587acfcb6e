"""What would make a bore fit where it does not: changes to the job, each tried before it is told.

A remedy clears the bore's traverse, way in, stroke, withdrawal and way out by the limit, as planned on the control's
grid. A bore is tried among its neighbours, as far as a head could reach with the change; the row as a whole.
"""

import math
from collections.abc import Callable, Collection, Sequence
from typing import Final, Literal, NamedTuple

from gen.angle import clear_angles, nearest_upright, with_angle
from gen.clearance import FIRST_LOOK_MM
from gen.dryplan import DryRun
from gen.job import Bore, Job
from gen.room import bulkhead_name, obstacles, tool
from gen.row import Housing, housings
from post.dialect import Dialect
from post.userfile import InputError

Change = Literal["reach", "approach", "other_side", "leave_angle"]

MOST_TRIES: Final = 8
"""Things that another reach or a smaller approach is tried to get past, one after the other; chosen by us."""
PER_DEGREE: Final = (10, 100)
"""Steps to a degree on which a leave angle is told: the first on which there is one that clears."""


Pairs = Collection[tuple[str, str]]
"""Part and obstacle, by name."""


class Remedy(NamedTuple):
    """A change that makes bores fit: to which reach or approach, mm, or leave angle, degrees; to none for other_side.

    ``ranges`` are all the leave angles that do, degrees.
    """

    change: Change
    to: float | None
    ranges: tuple[tuple[float, float], ...] = ()


def remedies(job: Job, dialect: Dialect, bore: int, *, other_side: bool) -> list[Remedy]:
    """What would make a bore fit; ``other_side`` tells whether turning the head round was found to."""
    local, place = _around(job, bore)
    now = DryRun(local, dialect)
    tight = _pairs(now, place)
    found = [find(local, dialect, place, tight) for find in (_longer, _shorter, _approach)]
    found.append(Remedy("other_side", None) if other_side else None)
    if now.works_clear(place):
        found.append(_angle(local, dialect, place))
    return [remedy for remedy in found if remedy is not None]


def row_remedies(job: Job, dialect: Dialect, each: Sequence[Sequence[Remedy]], *, other_side: bool) -> list[Remedy]:
    """Single changes that make every bore fit, given the remedies of each that does not."""
    found = []
    reaches = [remedy.to for one in each for remedy in one if remedy.change == "reach" and remedy.to is not None]
    for reach in sorted({min(reaches), max(reaches)} if reaches else ()):
        if DryRun(with_reach(job, reach), dialect).all_fit():
            found.append(Remedy("reach", reach))
    if other_side:
        found.append(Remedy("other_side", None))
    if all(any(remedy.change == "leave_angle" for remedy in one) for one in each):
        found += _row_angle(job, dialect)
    return found


def _row_angle(job: Job, dialect: Dialect) -> list[Remedy]:
    try:
        angle = nearest_upright(job, dialect)
    except InputError:
        return []
    return [Remedy("leave_angle", angle)] if DryRun(with_angle(job, angle), dialect).all_fit() else []


def with_reach(job: Job, reach_mm: float) -> Job:
    """The job with another bar in the same head: all that hangs on the head moves back with its face."""
    assert job.head.reach is not None
    by = reach_mm - job.head.reach
    bumps = tuple(
        bump.model_copy(update={"behind": (bump.behind[0] + by, bump.behind[1] + by)}) for bump in job.head.bump
    )
    return job.model_copy(update={"head": job.head.model_copy(update={"reach": reach_mm, "bump": bumps})})


def with_approach(job: Job, index: int, approach_mm: float) -> Job:
    """The job with another approach at one bore; the metal stays where it is."""
    housing = housings(job)[index]
    bores = list(job.bore)
    bores[index] = _drawn(housing, housing.near_x, housing.far_x, approach_mm)
    return job.model_copy(update={"bore": tuple(bores)})


def turned_round(job: Job) -> Job:
    """The job with the head turned round: every bore is fed through the other way, from its other face."""
    points = "-X" if job.head.points == "+X" else "+X"
    bores = tuple(_drawn(housing, housing.far_x, housing.near_x, _approach_of(housing)) for housing in housings(job))
    return job.model_copy(update={"head": job.head.model_copy(update={"points": points}), "bore": bores})


def fit_turned_round(job: Job, dialect: Dialect) -> list[bool]:
    """For each bore, whether it fits with the head turned round; its stroke must also stay off the others' metal."""
    turned = turned_round(job)
    run, row = DryRun(turned, dialect), housings(turned)
    return [run.fits(index) and not _enters(row, index) for index in range(len(row))]


def _enters(row: Sequence[Housing], index: int) -> bool:
    low, high = row[index].stroke
    beside = [row[other].metal for other in (index - 1, index + 1) if 0 <= other < len(row)]
    return any(low < metal_high and metal_low < high for metal_low, metal_high in beside)


def _drawn(housing: Housing, near_x: float, far_x: float, approach_mm: float) -> Bore:
    """A bore as drawn, with the gaps its housing has but for the approach."""
    return housing.bore.model_copy(
        update={
            "face": near_x,
            "width": abs(far_x - near_x),
            "x": None,
            "length": None,
            "approach": approach_mm,
            "overrun": abs(housing.end_x - housing.far_x),
        }
    )


def _approach_of(housing: Housing) -> float:
    return abs(housing.near_x - housing.start_x)


class _Trial(NamedTuple):
    """One bore of a job, and a number of it that is varied."""

    job: Job
    dialect: Dialect
    bore: int
    vary: Callable[[Job, float], Job]

    def tight(self, value: float) -> Pairs:
        """Part and obstacle of all that comes too close at a value."""
        return _pairs(DryRun(self.vary(self.job, value), self.dialect), self.bore)


def _pairs(run: DryRun, bore: int) -> Pairs:
    return {(near.part, near.obstacle) for near in run.tight(bore)}


def _longer(job: Job, dialect: Dialect, bore: int, tight: Pairs) -> Remedy | None:
    """The least longer reach with which what came too close ends its stroke short of what it came close to."""
    now, longest = job.head.reach, _longest(job)
    if now is None:
        return None
    end, limit, standing = housings(job)[bore].end_x * job.direction, job.path.clearance, _standing(job)

    def needed(value: float, pairs: Pairs) -> float | None:
        if any(part in ("cutter", "bar") for part, _ in pairs):
            return None
        behind = _behind(with_reach(job, value))
        longer = value + max(end - behind[part][0] - standing[obstacle][0] for part, obstacle in pairs) + limit
        return longer if longer <= now + longest else None

    reach = _least_change(_Trial(job, dialect, bore, with_reach), now, tight, 1, needed)
    return None if reach is None else Remedy("reach", reach)


def _shorter(job: Job, dialect: Dialect, bore: int, tight: Pairs) -> Remedy | None:
    """The largest shorter reach with which what came too close starts past what it came close to."""
    now = job.head.reach
    if now is None:
        return None
    housing, limit, standing = housings(job)[bore], job.path.clearance, _standing(job)
    start, stroke = housing.start_x * job.direction, abs(housing.end_x - housing.near_x)
    least = max(stroke, *(now - bump.behind[0] for bump in job.head.bump), 0.0)

    def needed(value: float, pairs: Pairs) -> float | None:
        if any(part in ("cutter", "bar") for part, _ in pairs):
            return None
        behind = _behind(with_reach(job, value))
        shorter = value - max(standing[obstacle][1] - start + behind[part][1] for part, obstacle in pairs) - limit
        return shorter if shorter > least else None

    reach = _least_change(_Trial(job, dialect, bore, with_reach), now, tight, -1, needed)
    return None if reach is None else Remedy("reach", reach)


def _approach(job: Job, dialect: Dialect, bore: int, tight: Pairs) -> Remedy | None:
    """The largest smaller approach at which what came too close starts past what it came close to."""
    housing, limit = housings(job)[bore], job.path.clearance
    behind, standing = _behind(job), _standing(job)

    def needed(_: float, pairs: Pairs) -> float | None:
        start = max(standing[obstacle][1] + behind[part][1] for part, obstacle in pairs) + limit
        approach = housing.near_x * job.direction - start
        return approach if approach > 0 else None

    trial = _Trial(job, dialect, bore, lambda whole, value: with_approach(whole, bore, value))
    approach = _least_change(trial, _approach_of(housing), tight, -1, needed)
    return None if approach is None else Remedy("approach", approach)


def _least_change(
    trial: _Trial, value: float, tight: Pairs, sign: int, needed: Callable[[float, Pairs], float | None]
) -> float | None:
    """The value nearest to ``value``, larger or smaller by ``sign``, with which the bore fits; on the grid.

    ``tight`` are the pairs too close now. ``needed`` tells, from the pairs too close at one value, the next that is
    worth a trial; None where there is none.
    """
    units, dialect = trial.job.units, trial.dialect
    step = dialect.length_step(units)

    def at(count: int) -> float:
        return dialect.round_length(sign * count * step, units)

    failing = math.floor(sign * value / step)
    for _ in range(MOST_TRIES):
        wanted = needed(value, tight)
        if wanted is None:
            return None
        count = max(math.ceil(sign * wanted / step - 1e-6), failing + 1)
        value = at(count)
        tight = trial.tight(value)
        if not tight:
            return at(_first_clear(failing, count, lambda middle: not trial.tight(at(middle))))
        failing = count
    return None


def _first_clear(failing: int, clear: int, is_clear: Callable[[int], bool]) -> int:
    """A number that is clear next to one that is not, between two; most often the last."""
    middle = clear - 1
    while clear - failing > 1:
        if is_clear(middle):
            clear = middle
        else:
            failing = middle
        middle = (failing + clear) // 2
    return clear


def _angle(job: Job, dialect: Dialect, bore: int) -> Remedy | None:
    """The leave angle nearest straight up, for a bore whose stroke clears: that is the same at any angle."""
    clear = clear_angles(job, dialect, {bore})
    for per_degree in PER_DEGREE:
        inside = [(math.ceil(low * per_degree - 1e-6), math.floor(high * per_degree + 1e-6)) for low, high in clear]
        ranges = tuple((low / per_degree, high / per_degree) for low, high in inside if low <= high)
        angles = sorted((min(max(low, 0.0), high) for low, high in ranges), key=lambda angle: (abs(angle), -angle))
        if angles and DryRun(with_angle(job, angles[0]), dialect).fits(bore):
            return Remedy("leave_angle", angles[0], ranges)
    return None


def _around(job: Job, bore: int) -> tuple[Job, int]:
    """The job with only the bores and obstacles that matter to one, and that bore's index among them."""
    row, margin = housings(job), 2 * _longest(job) + FIRST_LOOK_MM + job.path.clearance
    first, last = max(bore - 1, 0), min(bore + 1, len(row) - 1)
    low = min(row[first].stroke[0], row[bore].stroke[0]) - margin
    high = max(row[first].stroke[1], row[bore].stroke[1]) + margin
    while first > 0 and row[first - 1].metal[0] < high and row[first - 1].metal[1] > low:
        first -= 1
    while last < len(row) - 1 and row[last + 1].metal[0] < high and row[last + 1].metal[1] > low:
        last += 1
    standing = tuple(one for one in job.obstacle if one.x[0] < high and one.x[1] > low)
    return job.model_copy(update={"bore": job.bore[first : last + 1], "obstacle": standing}), bore - first


def _longest(job: Job) -> float:
    """How far the tool goes back from the cutting edge."""
    return max(back for _, back in _behind(job).values())


def _behind(job: Job) -> dict[str, tuple[float, float]]:
    """Front and back of every part, counted backward from the cutting edge."""
    backward = -job.direction
    parts = [("cutter", 0.0, 0.0), *((name, part.low_x * backward, part.high_x * backward) for name, part in tool(job))]
    return _merged(parts)


def _standing(job: Job) -> dict[str, tuple[float, float]]:
    """Lowest and highest X of every obstacle, times the way the bar points."""
    way = job.direction
    boxes = [(name, obstacle.low_x * way, obstacle.high_x * way) for name, obstacle in obstacles(job)]
    walls = [(bulkhead_name(housing), housing.near_x * way, housing.far_x * way) for housing in housings(job)]
    return _merged([*boxes, *walls])


def _merged(extents: list[tuple[str, float, float]]) -> dict[str, tuple[float, float]]:
    """Extents by name, their ends in order, together where several have one name."""
    merged: dict[str, tuple[float, float]] = {}
    for name, one, other in extents:
        low, high = merged.get(name, (math.inf, -math.inf))
        merged[name] = (min(low, one, other), max(high, one, other))
    return merged
