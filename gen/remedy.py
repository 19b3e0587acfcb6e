"""What would make a bore fit where it does not: changes to the job, each tried before it is told.

A remedy clears the bore's traverse, way in, stroke, withdrawal and way out by the limit, as planned on the control's
grid. A bore is tried among its neighbours, as far as a head could reach with the change; the row as a whole.
"""

from collections.abc import Callable, Collection, Sequence
from typing import Final, Literal, NamedTuple

from gen.angle import clear_angles, nearest_upright, with_angle
from gen.clearance import FIRST_LOOK_MM
from gen.dryplan import DryRun
from gen.job import Bore, Job
from gen.room import bulkhead_name, obstacles, tool
from gen.row import Housing, housings
from post.dialect import Dialect
from post.units import MM_PER
from post.userfile import InputError

Change = Literal["reach", "approach", "other_side", "leave_angle"]

MOST_TRIES: Final = 8
"""Things that a longer reach or a smaller approach is tried to get past, one after the other; chosen by us."""
PER_SHOWN: Final = 10
"""Steps to a degree in which ranges of leave angle are told where they are wide enough."""


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
    found = [_reach(local, dialect, place), _approach(local, dialect, place)]
    found += [Remedy("other_side", None) if other_side else None, _angle(local, dialect, place)]
    return [remedy for remedy in found if remedy is not None]


def row_remedies(job: Job, dialect: Dialect, each: Sequence[Sequence[Remedy]], *, other_side: bool) -> list[Remedy]:
    """Single changes that make every bore fit, given the remedies of each that does not."""
    found = []
    reaches = [remedy.to for one in each for remedy in one if remedy.change == "reach" and remedy.to is not None]
    if len(reaches) == len(each) and DryRun(with_reach(job, max(reaches)), dialect).all_fit():
        found.append(Remedy("reach", max(reaches)))
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
    """The job with a longer bar in the same head: all that hangs on the head moves back with its face."""
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


def _around(job: Job, bore: int) -> tuple[Job, int]:
    """The job with only the bores that matter to one, and that one's index among them."""
    row, margin = housings(job), 2 * _longest(job) + FIRST_LOOK_MM + job.path.clearance
    low, high = row[bore].stroke[0] - margin, row[bore].stroke[1] + margin
    first, last = max(bore - 1, 0), min(bore + 1, len(row) - 1)
    while first > 0 and row[first - 1].metal[0] < high and row[first - 1].metal[1] > low:
        first -= 1
    while last < len(row) - 1 and row[last + 1].metal[0] < high and row[last + 1].metal[1] > low:
        last += 1
    return job.model_copy(update={"bore": job.bore[first : last + 1]}), bore - first


def _longest(job: Job) -> float:
    """How far the tool goes back from the cutting edge."""
    return max((back for _, back in _behind(job).values()), default=0.0)


def _behind(job: Job) -> dict[str, tuple[float, float]]:
    """Front and back of every part, counted backward from the cutting edge."""
    parts = {"cutter": (0.0, 0.0)}
    for name, part in tool(job):
        low, high = sorted((-part.low_x * job.direction, -part.high_x * job.direction))
        parts[name] = (low, high)
    return parts


def _standing(job: Job) -> dict[str, tuple[float, float]]:
    """Lowest and highest X of every obstacle, times the way the bar points."""
    extents = {name: (obstacle.low_x, obstacle.high_x) for name, obstacle in obstacles(job)}
    extents |= {bulkhead_name(housing): housing.metal for housing in housings(job)}
    way = job.direction
    return {name: (min(low * way, high * way), max(low * way, high * way)) for name, (low, high) in extents.items()}


def _reach(job: Job, dialect: Dialect, bore: int) -> Remedy | None:
    """The least longer reach: at the end of the stroke, what comes too close stays short of what it comes close to."""
    now = job.head.reach
    if now is None:
        return None
    end, limit = housings(job)[bore].end_x * job.direction, job.path.clearance
    standing = _standing(job)

    def needed(value: float, pairs: Pairs) -> float | None:
        if any(part in ("cutter", "bar") for part, _ in pairs):
            return None
        behind = _behind(with_reach(job, value))
        longer = value + max(end - behind[part][0] - standing[obstacle][0] for part, obstacle in pairs) + limit
        return longer if longer <= now + _longest(job) else None

    return _least_change("reach", _Trial(job, dialect, bore, with_reach), now, 1, needed)


def _approach(job: Job, dialect: Dialect, bore: int) -> Remedy | None:
    """The most of the smaller approaches: at its start, what comes too close is past what it comes close to."""
    housing, limit = housings(job)[bore], job.path.clearance
    behind, standing = _behind(job), _standing(job)

    def needed(_: float, pairs: Pairs) -> float | None:
        start = max(standing[obstacle][1] + behind[part][1] for part, obstacle in pairs) + limit
        approach = housing.near_x * job.direction - start
        return approach if approach > 0 else None

    trial = _Trial(job, dialect, bore, lambda whole, value: with_approach(whole, bore, value))
    return _least_change("approach", trial, _approach_of(housing), -1, needed)


Pairs = Collection[tuple[str, str]]


class _Trial(NamedTuple):
    """One bore of a job, and a number of it that is varied."""

    job: Job
    dialect: Dialect
    bore: int
    vary: Callable[[Job, float], Job]

    def tight(self, value: float) -> Pairs:
        """Part and obstacle that come too close at a value."""
        run = DryRun(self.vary(self.job, value), self.dialect)
        return {(near.part, near.obstacle) for near in run.tight(self.bore)}

    @property
    def step(self) -> float:
        return self.dialect.steps(self.job.units).length
        

def _least_change(
    change: Change, trial: _Trial, now: float, sign: int, needed: Callable[[float, Pairs], float | None]
) -> Remedy | None:
    """The value of a number nearest to what it is, larger or smaller by ``sign``, with which the bore fits.

    ``needed`` tells from the pairs too close at one value the next that is worth a trial, None where there is none.
    """
    return None
