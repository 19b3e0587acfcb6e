"""Where a program that is not held to its plan departs from the job in what could do harm: a caution of each kind.

Speed, feed and standing in every bore, and the settings of the cutter told at stops.
"""

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Final, NamedTuple

from gen.agreement import Tolerance
from gen.asrun import Cut, Done, Stand
from gen.caution import Caution
from gen.job import Job
from gen.passes import SAME_MM, pass_plan
from gen.pipeline import Task
from gen.proof import Verdict
from gen.row import housings
from gen.settingwords import setting_message
from gen.speeds import Setting, setting, show_feed
from post.timeline import Halt, Move
from post.units import plain

REMEDY: Final = "change the program, or the job if that is meant"
NUMBER: Final = re.compile(r"\d+(?:\.\d*)?|\.\d+")
SETS: Final = re.compile(r"\bset\b", re.IGNORECASE)


class Departures(NamedTuple):
    """The cautions, and whether all is cut at the speeds and feeds of the job."""

    cautions: tuple[Caution, ...]
    cuts_as_job: bool


class _Departure(NamedTuple):
    """One place where a program departs: what it does, the line, what the job has, and how far off that is."""

    does: str
    line: int
    job_has: str
    far: float


def departures(task: Task, verdict: Verdict, done: Mapping[int, Done]) -> Departures:
    """Where a program departs from its job; ``done`` is what ``gen.asrun`` found of it."""
    job, dialect = task.job, task.post.dialect
    half = Tolerance.of(dialect, job.units)
    speeds, feeds, stands = [], [], []
    row = housings(job)
    for index, here in done.items():
        planned, name = setting(job, index, row[index], dialect), job.bore[index].name
        speeds += _worst(_speed(job, name, cut, planned, half) for cut in here.cuts)
        feeds += _worst(_feed(job, name, cut, planned, half) for cut in here.cuts)
        stands += _worst([_stand(name, here.stand, here.cuts[-1], planned, half)])
    stops = list(_stops(task, verdict))
    told = (
        _caution(verdict, found, of)
        for found, of in ((speeds, "bore"), (feeds, "bore"), (stands, "bore"), (stops, "stop"))
    )
    as_job = not speeds and not feeds and len(done) == len(job.bore)
    return Departures(tuple(caution for caution in told if caution is not None), as_job)


def _worst(found: Iterable[_Departure | None]) -> list[_Departure]:
    """The one that is furthest off, if any is."""
    return sorted(filter(None, found), key=lambda one: -one.far)[:1]


def _caution(verdict: Verdict, found: list[_Departure], of: str) -> Caution | None:
    """One caution for all of a kind: the worst in full, and how many more there are."""
    if not found:
        return None
    worst, more = max(found, key=lambda one: one.far), len(found) - 1
    program, line = verdict.joined.place(worst.line)
    where = f"program {program}, line {line}" if len(verdict.joined.starts) > 1 else f"line {line}"
    others = "" if not more else f", and {more} more {of if more == 1 else of + 's'} not as in the job"
    return Caution(f"{where}: {worst.does}, where the job has {worst.job_has}{others}", REMEDY)


def _apart(one: float, other: float) -> float:
    """How far two figures are apart, as a ratio, whichever is greater."""
    return abs(math.log(one / other)) if one > 0 and other > 0 else math.inf


def _speed(job: Job, name: str, cut: Cut, planned: Setting, half: Tolerance) -> _Departure | None:
    if abs(cut.spin.rpm - planned.spindle_rpm) <= half.speed:
        return None
    does = f"spindle {_rpm(cut.spin.rpm, job)} in bore {name}"
    return _Departure(does, cut.line, _rpm(planned.spindle_rpm, job), _apart(cut.spin.rpm, planned.spindle_rpm))


def _rpm(spindle_rpm: float, job: Job) -> str:
    return f"{plain(spindle_rpm, 1)} rpm ({plain(spindle_rpm / job.head.ratio, 1)} at the cutter)"


def _feed(job: Job, name: str, cut: Cut, planned: Setting, half: Tolerance) -> _Departure | None:
    """A feed a minute that is not the job's; one a turn that is not, as a person reads it, because the speed is not."""
    wanted_mm = planned.mm_per_min / planned.cutter_rpm
    same = abs(cut.mm_per_min - planned.mm_per_min) <= half.feed_mm_per_min(cut.spin)
    has, wants = _fed(job, cut.mm_per_min, cut.mm_per_turn), _fed(job, planned.mm_per_min, wanted_mm)
    same_speed = abs(cut.spin.rpm - planned.spindle_rpm) <= half.speed
    if has == wants or (same and same_speed):
        return None
    far = max(_apart(cut.mm_per_min, planned.mm_per_min), _apart(cut.mm_per_turn, wanted_mm))
    return _Departure(f"feed {has} in bore {name}", cut.line, wants, far)


def _fed(job: Job, mm_per_min: float, mm_per_turn: float) -> str:
    return f"{show_feed(mm_per_min, job.units)}/min ({show_feed(mm_per_turn, job.units)} a cutter turn)"


def _stand(name: str, stand: Stand | None, last: Cut, planned: Setting, half: Tolerance) -> _Departure | None:
    """The longest that is stood in a bore; where nothing is, it is told at the bore's last cut."""
    if stand is None:
        if planned.dwell_s <= half.dwell_s(last.spin):
            return None
        return _Departure(f"no dwell in bore {name}", last.line, f"{plain(planned.dwell_s, 3)} s", math.inf)
    if abs(stand.seconds - planned.dwell_s) <= half.dwell_s(stand.spin):
        return None
    does = f"a dwell of {plain(stand.seconds, 3)} s in bore {name}"
    job_has = f"{plain(planned.dwell_s, 3)} s" if planned.dwell_s else "none"
    return _Departure(does, stand.line, job_has, _apart(stand.seconds, planned.dwell_s))


def _stops(task: Task, verdict: Verdict) -> Iterator[_Departure]:
    """Stops that tell another setting than that of the next cut, and those before a new setting that tell none."""
    settings, waiting = pass_plan(task.job), list[Halt]()
    last_mm: float | None = None
    starts = set(verdict.joined.starts[1:])
    for number, event in enumerate(verdict.joined.continued.events):
        if isinstance(event, Halt) and not event.optional:
            waiting.append(event)
        stroke = verdict.strokes.get(number)
        if stroke is None or not isinstance(event, Move) or not event.spin.turning:
            continue
        of_size = [one for one in settings if abs(one.diameter_mm - stroke.diameter_mm) < SAME_MM]
        wants = next((one for one in of_size if stroke.bore in one.bores), None)
        between = any(halt.line in starts and not halt.message for halt in waiting)
        if wants is not None and waiting and not between:
            is_new = last_mm is not None and abs(last_mm - stroke.diameter_mm) >= SAME_MM
            message = task.post.dialect.comment(setting_message(task.job, wants))
            yield from _wrongly_told(waiting, message, is_new=is_new)
        last_mm, waiting = stroke.diameter_mm, []


def _wrongly_told(halts: list[Halt], wanted: str, *, is_new: bool) -> Iterator[_Departure]:
    """Of stops before one cut, those that tell a setting other than is wanted, or the last if all of them tell none."""
    setting_wanted = _numbers(wanted)[0]
    right = [halt for halt in halts if setting_wanted in _numbers(halt.message)]
    wrong = [halt for halt in halts if halt not in right and SETS.search(halt.message) and _numbers(halt.message)]
    if is_new and not right and not wrong:
        wrong = halts[-1:]
    for halt in wrong:
        says = f'the stop says "{halt.message}"' if halt.message else "the stop says nothing"
        yield _Departure(says, halt.line, f'"{wanted}"', 0.0)


def _numbers(text: str) -> list[float]:
    return [float(number) for number in NUMBER.findall(text)]
