"""The angle at which the head leaves: which angles keep every way in and out clear, and the one nearest straight up.

Angles are ``path.leave_angle``: degrees from straight up, positive toward +Y. They are looked at on a grid of
hundredths, each as the plan at that angle has it, coordinates rounded. All angles of one look are laid into one
timeline, every way once for each of them, so that ``gen.clearance`` judges them together.

Between two angles that were looked at:

- both clear: turning the way moves its points no farther than its upper end, and a distance changes no more than its
  points move. So all between are clear when the two distances, less the limit, come to that move or more.
- both blocked by the same pair on the same move: so are all between. The ways all start on the bore line and end at one
  height, so those that meet a convex body (the keep-out grown by the limit, ``gen.keepout``) turn through one interval.
  A way that starts in the hole of a bulkhead meets its metal at every angle.

Anywhere else is looked again: down to a hundredth, but between clear angles only to ``FINEST_CLEAR``. A blocked stretch
narrower than that, clear on both sides, can be passed over, so that the ends of a range are judged, its inside nearly.
"""

import math
from collections.abc import Collection, Sequence
from itertools import pairwise
from typing import Final, NamedTuple

from gen.clearance import FIRST_LOOK_MM, clearance, too_near
from gen.dryplan import DryRun
from gen.job import STEEPEST_DEG, Job
from gen.physics import Stroke
from gen.planner import way_top
from gen.unchecked import takes_room
from post.dialect import Dialect
from post.timeline import Event, Move, Point, Timeline
from post.units import plain, show_length
from post.userfile import InputError

PER_DEGREE: Final = 100
STEEPEST: Final = STEEPEST_DEG * PER_DEGREE - 1
"""Steepest angle a job may ask for, in hundredths of a degree."""
SPANS: Final = (5 * PER_DEGREE, 20 * PER_DEGREE, STEEPEST)
"""How far to both sides of straight up is looked, one after the other, for the angle nearest to it; chosen by us."""
COARSE: Final = PER_DEGREE
FINEST_CLEAR: Final = PER_DEGREE // 2
"""Hundredths between two looks to begin with, and to end with between clear angles; chosen by us."""
PARTS: Final = 10
"""Into how many an interval is parted whose ends differ: fewer, larger looks cost less; chosen by us."""
MOST_MOVES: Final = 100_000
"""Moves judged at once, which bounds memory; chosen by us."""


def with_angle(job: Job, degrees: float) -> Job:
    """The job with another leave angle, which must be a number the job file could hold."""
    return job.model_copy(update={"path": job.path.model_copy(update={"leave_angle": degrees})})


def clear_angles(job: Job, dialect: Dialect, bores: Collection[int] | None = None) -> list[tuple[float, float]]:
    """Ranges of leave angle, in degrees, that keep traverses and ways of these bores clear by the limit; all when None.

    Rising and apart; a range of one angle has it twice. Its ends are clear as planned, and a hundredth of a degree
    farther is not, unless no job may lean so far. The job's own angle is not read.
    """
    survey = _Survey(job, dialect, bores)
    survey.look(-STEEPEST, STEEPEST)
    ranges: list[list[int]] = []
    last_clear = False
    for angle in sorted(survey.seen):
        clear = not survey.seen[angle].tight
        if clear and last_clear:
            ranges[-1][1] = angle
        elif clear:
            ranges.append([angle, angle])
        last_clear = clear
    return [(low / PER_DEGREE, high / PER_DEGREE) for low, high in ranges]


def nearest_upright(job: Job, dialect: Dialect) -> float:
    """The leave angle nearest straight up, in degrees, that keeps every traverse and way clear by the limit.

    Where the same angle to either side does, the one toward +Y. Raises InputError, naming the tightest pair at the
    best angle there is, when none does, and when the job tells of nothing to keep clear of. The job's own angle is not
    read.
    """
    if not takes_room(job):
        raise InputError(
            '"auto" finds no angle: the job gives no [block] and no [[obstacle]] to keep clear of; add them, or write'
            " leave_angle = 0",
            key=("path", "leave_angle"),
        )
    survey = _Survey(job, dialect, None)
    for span in (0, *SPANS):
        survey.look(-span, span)
        clear = [angle for angle, seen in survey.seen.items() if not seen.tight]
        if clear:
            return min(clear, key=lambda angle: (abs(angle), -angle)) / PER_DEGREE
    raise InputError(_refusal(job, survey.seen), key=("path", "leave_angle"))


class _Seen(NamedTuple):
    """How near the ways at one angle come, mm, as far as was looked; between what; and what comes too near, if any."""

    distance: float
    part: str
    obstacle: str
    tight: frozenset[tuple[int, str, str]]


class _Survey:
    """What was seen at which angle, by hundredths of a degree."""

    def __init__(self, job: Job, dialect: Dialect, bores: Collection[int] | None) -> None:
        self.job = with_angle(job, 0.0)
        self.dialect = dialect
        self.limit = job.path.clearance
        run = DryRun(self.job, dialect)
        self.strokes = run.strokes
        self.events = run.timeline.events
        self.top_z = way_top(self.job, dialect)[1]
        self.ways = {
            number
            for number, event in enumerate(self.events)
            if isinstance(event, Move)
            and number not in self.strokes
            and not any(map(math.isnan, event.start))
            and (bores is None or run.bore_of_step[event.line] in bores)
        }
        self.seen: dict[int, _Seen] = {}

    def look(self, low: int, high: int) -> None:
        """Look from one angle to another, closely enough that nothing is left to tell apart."""
        wanted = {low, high, 0, *range(-(-low // COARSE) * COARSE, high + 1, COARSE)}
        while wanted:
            self._judge(sorted(wanted - self.seen.keys()))
            around = [angle for angle in sorted(self.seen) if low <= angle <= high]
            wanted = {angle for one, other in pairwise(around) for angle in self._between(one, other)}

    def _between(self, one: int, other: int) -> range:
        """Where to look between two neighbouring angles: nowhere when all is as they tell."""
        here, there = self.seen[one], self.seen[other]
        if here.tight or there.tight:
            sure = here.tight & there.tight
            return range(0) if sure else range(one + 1, other, max(1, (other - one) // PARTS))
        spare = here.distance + there.distance - 2 * self.limit
        sure_clear = other - one <= FINEST_CLEAR or spare >= self._top_y(other) - self._top_y(one)
        return range(0) if sure_clear else range(one + FINEST_CLEAR, other, FINEST_CLEAR)

    def _top_y(self, angle: int) -> float:
        return way_top(with_angle(self.job, angle / PER_DEGREE), self.dialect)[0]

    def _judge(self, angles: Sequence[int]) -> None:
        at_once = max(1, MOST_MOVES // max(1, len(self.ways)))
        for first in range(0, len(angles), at_once):
            self._judge_at_once(angles[first : first + at_once])

    def _judge_at_once(self, angles: Sequence[int]) -> None:
        events: list[Event] = []
        strokes: dict[int, Stroke] = {}
        laid: list[tuple[int, int]] = []
        tops = [self._top_y(angle) for angle in angles]
        for number, event in enumerate(self.events):
            if number in self.ways:
                assert isinstance(event, Move)
                laid += [(angle, number) for angle in angles]
                events += [event._replace(start=self._lean(event.start, y), end=self._lean(event.end, y)) for y in tops]
            elif number in self.strokes:
                strokes[len(events)] = self.strokes[number]
                laid.append((0, -1))
                events.append(event)
            elif not isinstance(event, Move):
                events.append(event)
        self.seen |= dict.fromkeys(angles, _Seen(max(FIRST_LOOK_MM, self.limit), "", "", frozenset()))
        for near in clearance(self.job, Timeline(events), strokes).nearest.values():
            angle, number = laid[near.move]
            if number < 0:
                continue
            seen = self.seen[angle]
            if near.distance < seen.distance:
                seen = seen._replace(distance=near.distance, part=near.part, obstacle=near.obstacle)
            if too_near(near, self.limit):
                seen = seen._replace(tight=seen.tight | {(number, near.part, near.obstacle)})
            self.seen[angle] = seen

    def _lean(self, point: Point, y: float) -> Point:
        return (point[0], y, point[2]) if point[2] == self.top_z else point


def _refusal(job: Job, seen: dict[int, _Seen]) -> str:
    angle = max(seen, key=lambda angle: (seen[angle].distance, -abs(angle), angle))
    best, units = seen[angle], job.units
    comes = f"comes within {show_length(best.distance, units)} of" if best.distance > 0 else "meets"
    return (
        f'"auto" finds no angle that keeps {show_length(job.path.clearance, units)} clear on every way in and out: at'
        f" {plain(angle / PER_DEGREE, 2)} degrees, as good as any, {best.part} {comes} {best.obstacle}; see what would"
        " make it fit with: borewright fit JOB"
    )
