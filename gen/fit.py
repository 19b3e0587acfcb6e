"""Will the head fit: the room in every bay, what the head takes of it, and what would make it fit where it does not.

Everything said to fit was planned, run dry and found to keep ``path.clearance`` (``gen.dryplan``), changes included.

bay
    the free length along X from a bore's near face, on the side the head comes from, to the next bulkhead.
front, back
    what is left from the foremost part of the head to the bore's own near face, and from the rearmost part to the
    bulkhead behind. Parts that would pass that bulkhead over or beside do not count.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any, Final, NamedTuple

from gen.angle import nearest_upright, with_angle
from gen.dryplan import DryRun
from gen.job import Job
from gen.remedy import Remedy, fit_turned_round, remedies, row_remedies
from gen.room import bulkhead_extent, tool
from gen.row import Housing, housings
from gen.sections import Rectangle, bounds
from gen.unchecked import takes_room, unchecked
from post.dialect import Dialect
from post.units import MM_PER
from post.userfile import InputError

MOST_REMEDIED: Final = 100
"""Bores that do not fit for which remedies are looked for, about a tenth of a second each; chosen by us."""


def fit(job: Job, dialect: Dialect) -> dict[str, Any]:
    """The figures of a fit, ready for JSON: lengths in the job's unit, angles in degrees.

    ``ok`` is true when every bore fits, false when one does not, null when the job tells too little to say. ``fits`` of
    a bore likewise, and ``other_side``, whether it would with the head turned round. Null too: ``room`` of a bay that
    is open, ``takes`` and what is ``left`` where there is no bulkhead or no body, ``binding`` where nothing is near,
    ``would_fit`` where remedies were not looked for. Raises InputError when the job cannot be planned.
    """
    job = _settled(job, dialect)
    told = _Told(job, dialect) if takes_room(job) else None
    bores = [] if told is None else told.bores()
    fits = [bore["fits"] for bore in bores]
    return {
        "ok": False if False in fits else True if fits and all(fits) else None,
        "job": job.name,
        "units": job.units,
        "points": job.head.points,
        "limit": _rounded(job.path.clearance, MM_PER[job.units]),
        "leave_angle": job.path.leave_angle,
        "bores": bores,
        "row": {"other_side": [], "would_fit": []} if told is None else told.whole_row(),
        "unchecked": list(unchecked(job, dialect)),
    }


def _settled(job: Job, dialect: Dialect) -> Job:
    """The job with a leave angle that is a number: straight up where "auto" finds none, so that what is wrong shows."""
    if job.path.leave_angle != "auto":
        return job
    try:
        return with_angle(job, nearest_upright(job, dialect))
    except InputError:
        return with_angle(job, 0.0)


class _Told:
    """What is told of a row, lengths in the job's unit."""

    def __init__(self, job: Job, dialect: Dialect) -> None:
        self.job = job
        self.dialect = dialect
        self.row = housings(job)
        self.run = DryRun(job, dialect)
        self.known = _known(job, self.row)
        self.turned = fit_turned_round(job, dialect) if self.known else [False] * len(self.row)
        misfits = [index for index in range(len(self.row)) if not self.run.fits(index)] if self.known else []
        self.remedies = {
            index: remedies(job, dialect, index, other_side=self.turned[index]) for index in misfits[:MOST_REMEDIED]
        }

    def bores(self) -> list[dict[str, Any]]:
        """Every bore, in the job's order."""
        bays = _bays(self.job, self.dialect, self.row)
        return [
            self._bore(index, housing, bay) for index, (housing, bay) in enumerate(zip(self.row, bays, strict=True))
        ]

    def _bore(self, index: int, housing: Housing, bay: "_Bay") -> dict[str, Any]:
        clear = self.run.fits(index)
        found = [] if clear else self.remedies.get(index)
        return {
            "name": housing.bore.name,
            "face": self._length(housing.near_x),
            "room": self._length(bay.room),
            "behind": bay.behind,
            "takes": self._length(bay.takes),
            "left": {
                at: {"front": self._length(front), "back": self._length(back)}
                for at, front, back in (("start", bay.front, bay.back), ("end", *bay.at_end()))
            },
            "binding": self._binding(index),
            "fits": (self.known or None) if clear else False,
            "other_side": self.turned[index] if self.known else None,
            "would_fit": None if found is None else [self._remedy(remedy, housing) for remedy in found],
        }

    def whole_row(self) -> dict[str, Any]:
        """Which bores could be cut from the other side, and single changes that make all of them fit."""
        would_fit: list[Remedy] = []
        if self.remedies:
            each = list(self.remedies.values())
            would_fit = row_remedies(self.job, self.dialect, each, other_side=all(self.turned))
        return {
            "other_side": [housing.bore.name for housing, fits in zip(self.row, self.turned, strict=True) if fits],
            "would_fit": [self._remedy(remedy, None) for remedy in would_fit],
        }

    def _binding(self, index: int) -> dict[str, Any] | None:
        near = self.run.tightest(index)
        if near is None:
            return None
        return {
            "distance": self._length(near.distance),
            "part": near.part,
            "obstacle": near.obstacle,
            "why": self.run.found.why(self.job, near),
        }

    def _remedy(self, remedy: Remedy, housing: Housing | None) -> dict[str, Any]:
        """A remedy for JSON; with an approach goes the X the cutter starts at, with another side the face's."""
        if remedy.change == "leave_angle":
            return {"change": remedy.change, "to": remedy.to, "ranges": [list(pair) for pair in remedy.ranges]}
        told = {"change": remedy.change, "to": self._length(remedy.to)}
        if housing is not None and remedy.change == "other_side":
            told["face"] = self._length(housing.far_x)
        if housing is not None and remedy.change == "approach" and remedy.to is not None:
            told["start"] = self._length(housing.near_x - self.job.direction * remedy.to)
        return told

    def _length(self, length_mm: float | None) -> float | None:
        return _rounded(length_mm, MM_PER[self.job.units])


def _known(job: Job, row: Sequence[Housing]) -> bool:
    """Whether the job tells enough to say that a head fits: the head, and every bulkhead."""
    told = job.head.reach is not None and job.head.body is not None
    return told and all(bulkhead_extent(job, housing) for housing in row)


class _Bay(NamedTuple):
    """Room before a bore, mm; which bore is behind; what the head takes and what is left at the start of the stroke."""

    room: float | None
    behind: str | None
    takes: float | None
    front: float | None
    back: float | None
    stroke: float

    def at_end(self) -> tuple[float | None, float | None]:
        """What is left in front and at the back at the end of the stroke."""
        front = None if self.front is None else self.front - self.stroke
        return front, None if self.back is None else self.back + self.stroke


def _bays(job: Job, dialect: Dialect, row: Sequence[Housing]) -> list[_Bay]:
    """The bay of every bore, in the job's order."""
    way = job.direction
    order = sorted(range(len(row)), key=lambda index: row[index].near_x * way)
    behind = {index: row[before] for before, index in pairwise(order)}
    return [_bay(job, dialect, housing, behind.get(index)) for index, housing in enumerate(row)]


def _bay(job: Job, dialect: Dialect, housing: Housing, behind: Housing | None) -> _Bay:
    way = job.direction
    start, end = (dialect.round_length(x, job.units) * way for x in (housing.start_x, housing.end_x))
    near = housing.near_x * way
    room = None if behind is None else near - behind.far_x * way
    name = None if behind is None else behind.bore.name
    front = _least_behind(job, housing)
    rear = _most_behind(job, behind or housing)
    takes = None if rear is None else near - start + rear
    return _Bay(
        room,
        name,
        takes,
        None if front is None else near - start + front,
        None if room is None or takes is None else room - takes,
        end - start,
    )


def _least_behind(job: Job, housing: Housing) -> float | None:
    """How far behind the edge the head begins, as far as it would meet a bulkhead; mm."""
    return min((low for low, _ in _meeting(job, housing)), default=None)


def _most_behind(job: Job, housing: Housing) -> float | None:
    """How far behind the edge the head ends, as far as it would meet a bulkhead; mm."""
    return max((high for _, high in _meeting(job, housing)), default=None)


def _meeting(job: Job, housing: Housing) -> list[tuple[float, float]]:
    """Front and back of the head's parts, counted backward from the edge, that meet a bulkhead on moving along X."""
    if job.head.body is None:
        return []
    extent = bulkhead_extent(job, housing)
    met = []
    for _, part in tool(job):
        if isinstance(part.section, Rectangle) and (extent is None or _overlap(part.section, extent)):
            low, high = sorted((-part.low_x * job.direction, -part.high_x * job.direction))
            met.append((low, high))
    return met


def _overlap(one: Rectangle, other: Rectangle) -> bool:
    (low, high), (other_low, other_high) = bounds(one), bounds(other)
    return bool((low < other_high).all() and (other_low < high).all())


def _rounded(length_mm: float | None, per: float) -> float | None:
    return None if length_mm is None else round(length_mm / per, 6) + 0.0
