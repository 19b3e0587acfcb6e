"""What was measured after a cut, held against the job and what was there before, so that no slip is counted on.

neighbours
    the other readings of a bore, and the other bores cut with the same setting. A reading is wild when it is farther
    from the middle one (median) than ``WILD`` times their spread, told by the median of such distances.
"""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from statistics import median, median_high, median_low
from typing import Final

from gen.behaviour import learned, taken
from gen.borecells import SLACK_MM, named
from gen.boresize import Known, gauge_mm, known
from gen.job import Job
from gen.onrecord import check_settings_are_new, had_it_before, move_away
from gen.passes import Setting, limits, pass_plan
from gen.readings import Measured, Reading, earlier, read, refuse_in
from gen.tolerance import Limits
from post.units import MM_PER, UNIT_WORD, plain, show_length
from post.userfile import InputError

WILD: Final = 6.0
"""Spreads from the middle at which a reading is asked about; chosen by us: a bore's own form stays well within."""
LEAST_SPREAD_MM: Final = 0.002
"""Spread below which readings are not held to lie apart; chosen by us, what usual gauges repeat to."""
SPREAD_PER_DEVIATION: Final = 1.4826
"""Standard deviation over the median distance from the median, in a normal distribution (1 / 0.67449)."""
MOST_OFF_MM: Final = 0.5
"""A bore this far from what the cutter was set to was not cut with that setting; chosen by us."""
USUAL_SPRING: Final = 0.05
"""Part of what is taken off the diameter that a bore may differ by from its neighbours: see ``gen.behaviour``."""


def load(path: Path, job: Job, history: Sequence[Measured] = (), *, again: bool = False) -> Measured:
    """The readings after a pass, checked; ``history`` are the rounds before, the oldest first.

    ``again``: the cutter was run again at a setting of a round before. Raises InputError as ``gen.readings`` does, and
    for a bore missing that the setting cuts, different settings in one pass, a setting that a bore had before without
    ``again``, one that by what was learned cannot reach what was there, a bore far from its setting or smaller than it
    was, and a reading wildly off its neighbours with no ``keep`` beside it. A bore over size is no mistake here:
    ``gen.sizing`` tells of it. The job must have [passes] and a tolerance for every bore.
    """
    check_plan(job)
    measured = read(path, job)
    rounds = earlier(history, measured)
    if len(rounds) == len(history):
        check_settings_are_new(job, measured, rounds, again=again)
    checks = _Checks(job, measured, known(job, rounds), rounds)
    checks.one_setting_a_pass()
    checks.near_the_setting()
    checks.none_missing()
    checks.set_above_what_was_there()
    checks.none_wild()
    return measured


def load_finished(path: Path, job: Job) -> Measured:
    """The readings of a finished row: every bore, whatever it was cut with.

    Raises InputError as ``gen.readings`` does, for a bore missing, and for a reading wildly off the others of its bore
    with no ``keep`` beside it. The job must have a tolerance for every bore.
    """
    check_limits(job)
    measured = read(path, job, with_set=False)
    missing = [bore.name for index, bore in enumerate(job.bore) if index not in measured.by_bore]
    if missing:
        raise refuse_in(measured, f"{named(missing)} of the job: no reading; measure every bore")
    checks = _Checks(job, measured, [None] * len(job.bore))
    checks.none_wild_in_a_bore()
    return measured


def check_plan(job: Job) -> None:
    """Raises InputError where the job does not tell what the next cut follows from."""
    if job.passes is None:
        inch = job.units == "inch"
        raise InputError(
            "is missing; the next setting follows from the passes: write [passes] with"
            f" depth = {0.015 if inch else 0.4} and finish_stock = {0.004 if inch else 0.1}",
            key=("passes",),
        )
    check_limits(job)


def check_limits(job: Job) -> None:
    """Raises InputError where a bore has no tolerance."""
    for index, bore in enumerate(job.bore):
        if limits(job, bore) is None:
            raise InputError(
                f'bore "{bore.name}" has no tolerance; write [size] tolerance = "H6", or limits = [...] for the bore',
                key=("bore", index, "tolerance"),
            )


def limits_of_bore(job: Job, index: int) -> Limits:
    """Limits of a bore of a job that ``check_limits`` lets pass."""
    within = limits(job, job.bore[index])
    assert within is not None
    return within


def cut_by(job: Job, measured: Measured) -> dict[int, int]:
    """Which setting of the pass plan cut each measured bore, both by index.

    As told by ``pass``; else the one whose diameter is nearest to the middle of the bores cut with the same setting, so
    that a bore misread is not taken for one of another pass. What is larger than was set is counted as set: old wall,
    or a slip.
    """
    plan, by_bore = pass_plan(job), dict[int, int]()
    for set_mm, bores in _by_setting(measured).items():
        sizes = [_middle(measured.by_bore[bore]) for bore in bores]
        size_mm = _usual_mm(sizes if set_mm is None else [min(size, set_mm) for size in sizes], set_mm)
        by_bore |= {bore: _cut_by(plan, bore, measured.by_bore[bore], size_mm) for bore in bores}
    return {bore: by_bore[bore] for bore in measured.by_bore}


def _cut_by(plan: Sequence[Setting], bore: int, readings: Sequence[Reading], size_mm: float) -> int:
    if readings[0].number is not None:
        return readings[0].number - 1
    ones = [index for index, one in enumerate(plan) if bore in one.bores and one.kind != "air"]
    return min(ones, key=lambda index: abs(plan[index].diameter_mm - size_mm))


def _by_setting(measured: Measured) -> dict[float | None, list[int]]:
    """Measured bores by what the cutter was set to."""
    together: dict[float | None, list[int]] = {}
    for bore, readings in measured.by_bore.items():
        together.setdefault(readings[0].set_mm, []).append(bore)
    return together


def _usual_mm(sizes: Sequence[float], set_mm: float | None) -> float:
    """The middle size of bores of one setting; of the two in the middle of an even number, the nearer to the setting.

    The mean of two, one of which is misread, would be the size of neither.
    """
    low, high = median_low(sizes), median_high(sizes)
    return low if set_mm is None or abs(low - set_mm) <= abs(high - set_mm) else high


def _middle(readings: Sequence[Reading]) -> float:
    return median(reading.diameter_mm for reading in readings)


class _Checks:
    """What is asked of one round of readings, with what was known before of every bore of the job."""

    def __init__(
        self, job: Job, measured: Measured, before: Sequence[Known | None], rounds: Sequence[Measured] = ()
    ) -> None:
        self.job, self.measured, self.before, self.rounds = job, measured, before, rounds
        self.behaviour = learned(taken(job, rounds)[0])
        self.by_bore: Mapping[int, tuple[Reading, ...]] = measured.by_bore
        self.spread_mm = max(gauge_mm(job), LEAST_SPREAD_MM)

    def one_setting_a_pass(self) -> None:
        for bores in self._together().values():
            first = self.by_bore[bores[0]][0]
            for bore in bores[1:]:
                other = self.by_bore[bore][0]
                if other.set_mm != first.set_mm:
                    raise other.row.refuse(
                        "set",
                        f"{other.row.cell('set')}, but bore {self._name(first.bore)}, cut in the same pass, tells"
                        f" {first.row.cell('set')} on line {first.row.line}; write what the cutter was set to",
                    )

    def none_missing(self) -> None:
        plan = pass_plan(self.job)
        for index in self._together():
            cut = [bore for bore in plan[index].bores if self._is_missing(bore, self._set_mm(index))]
            if cut:
                first = self.measured.readings[0]
                names = named(self.job.bore[bore].name for bore in cut)
                example = f"{self.job.bore[cut[0]].name},{first.row.cell('set')},,,{first.row.cell('reading')}"
                raise refuse_in(
                    self.measured,
                    f"{names}: no reading, and pass {index + 1}, {plan[index].kind}, cuts there; measure every bore of"
                    f" the pass, a line a reading, e.g. {example}",
                )

    def set_above_what_was_there(self) -> None:
        """By what was learned of the cutter; a setting that a bore had before did cut there."""
        had_it = had_it_before(self.measured, self.rounds)
        for bore, readings in self.by_bore.items():
            before, first = self.before[bore], readings[0]
            assert first.set_mm is not None
            if before is None or bore in had_it:
                continue
            _, most = self.behaviour.reach_mm(first.set_mm, before.mean_mm)
            if max(first.set_mm, most) <= before.smallest_mm:
                learned_most = f", at most {self._far(most)} by what was learned" if self.behaviour.cuts else ""
                raise first.row.refuse(
                    "set",
                    f"{first.row.cell('set')} cuts {self._show(first.set_mm)}{learned_most}, no more than was there,"
                    f" and bore {self._name(bore)} measured {self._show(before.smallest_mm)} before; correct the"
                    f" setting, or leave out a bore that the pass did not cut{move_away(self.rounds)}",
                )

    def near_the_setting(self) -> None:
        for bore, readings in self.by_bore.items():
            first, size_mm = readings[0], _middle(readings)
            assert first.set_mm is not None
            if abs(size_mm - first.set_mm) > MOST_OFF_MM:
                form = self.job.size.setting if self.job.size else "bore"
                raise first.row.refuse(
                    "set",
                    f"{first.row.cell('set')} cuts {self._show(first.set_mm)} and bore {self._name(bore)} measured"
                    f" {self._show(size_mm)}: they cannot belong together; correct one, or size.setting, which is"
                    f' "{form}"',
                )

    def none_wild(self) -> None:
        self.none_wild_in_a_bore()
        for bores in _by_setting(self.measured).values():
            self._none_wild_among([bore for bore in bores if self._is_cleaned_up(bore)])
        for bore, readings in self.by_bore.items():
            before = self.before[bore]
            if before is not None:
                self._none_outside(readings, before, self._is_cleaned_up(bore))

    def _none_outside(self, readings: Sequence[Reading], before: Known, is_cleaned_up: bool) -> None:
        """No bore gets smaller, nor larger where the cutter was not set above what was there."""
        near = WILD * self.spread_mm
        set_mm = readings[0].set_mm
        reach = before.largest_mm if set_mm is None else self.behaviour.reach_mm(set_mm, before.mean_mm)[1]
        most = max(before.largest_mm, reach)
        for reading in readings:
            size = reading.diameter_mm
            if size < before.smallest_mm - near and not reading.keep:
                raise self._asked(
                    reading,
                    f"is {self._far(before.smallest_mm - size)} smaller than the bore was before the cut,"
                    f" {self._show(before.smallest_mm)}",
                    move_away(self.rounds),
                )
            if size > most + near and not is_cleaned_up and not reading.keep:
                raise self._asked(
                    reading,
                    f"is {self._far(size - before.largest_mm)} larger than the bore was before the cut,"
                    f" {self._show(before.largest_mm)}, and the cutter was set no larger than that",
                )

    def none_wild_in_a_bore(self) -> None:
        for bore, readings in self.by_bore.items():
            if not self._is_cleaned_up(bore):
                continue
            middle = _middle(readings)
            spread = self._spread([reading.diameter_mm - middle for reading in readings])
            for reading in _farthest_first(readings, middle):
                off = abs(reading.diameter_mm - middle)
                if off > WILD * spread and not reading.keep:
                    raise self._asked(
                        reading, f"is {self._far(off)} from the middle of bore {self._name(bore)}, {self._show(middle)}"
                    )

    def _none_wild_among(self, bores: Sequence[int]) -> None:
        """Bores of one setting against each other; what they took off may make them differ."""
        if len(bores) < 2:
            return
        befores = {bore: self._mean_before(bore) for bore in bores}
        usual = median(befores.values())
        sizes = {bore: _middle(self.by_bore[bore]) for bore in bores}
        pair = len(bores) == 2
        # Of two, either may be wrong: the one nearer to the setting is believed, and each may be off as far as one may.
        middle = _usual_mm([*sizes.values()], self.by_bore[bores[0]][0].set_mm) if pair else median(sizes.values())
        spread = self._spread([size - middle for size in sizes.values()]) * (2 if pair else 1)
        for bore, size in sizes.items():
            readings, off = self.by_bore[bore], abs(size - middle)
            may_differ = max(spread, USUAL_SPRING * abs(befores[bore] - usual) * (2 if pair else 1))
            if off > WILD * may_differ and not any(reading.keep for reading in self._of(bores if pair else [bore])):
                others = "bore" if pair else "bores"
                raise self._asked(
                    next(_farthest_first(readings, middle)),
                    f"and all of bore {self._name(bore)} are {self._far(off)} from the other {others} of the pass",
                )

    def _of(self, bores: Sequence[int]) -> Iterator[Reading]:
        return (reading for bore in bores for reading in self.by_bore[bore])

    def _mean_before(self, bore: int) -> float:
        before = self.before[bore]
        assert before is not None, "with [passes] every bore is measured"
        return before.mean_mm

    def _spread(self, off: Sequence[float]) -> float:
        """Spread of distances from the middle; of one or two, which have no other neighbours, the least."""
        told = SPREAD_PER_DEVIATION * median(map(abs, off)) if len(off) > 2 else 0.0
        return max(self.spread_mm, told)

    def _asked(self, reading: Reading, why: str, else_: str = "") -> InputError:
        return reading.row.refuse(
            "reading",
            f"{reading.row.cell('reading')} {why}; measure there again, and if it is so write keep in the column note"
            f"{else_}",
        )

    def _together(self) -> dict[int, list[int]]:
        """Measured bores by the setting of the plan that cut them."""
        together: dict[int, list[int]] = {}
        for bore, index in cut_by(self.job, self.measured).items():
            together.setdefault(index, []).append(bore)
        return together

    def _set_mm(self, index: int) -> float:
        """What the cutter was set to for the bores measured that a setting of the plan cut."""
        set_mm = self.by_bore[self._together()[index][0]][0].set_mm
        assert set_mm is not None
        return set_mm

    def _is_missing(self, bore: int, set_mm: float) -> bool:
        """Whether a bore should have been measured: it was, or should be, cut."""
        if bore in self.by_bore or self._is_done(bore):
            return False
        before = self.before[bore]
        return before is None or self.behaviour.reach_mm(set_mm, before.mean_mm)[0] > before.smallest_mm

    def _is_done(self, bore: int) -> bool:
        """Whether a bore was measured to be in tolerance before, so that a pass may leave it out."""
        before, within = self.before[bore], limits_of_bore(self.job, bore)
        return (
            before is not None
            and before.half_mm is not None
            and within.smallest_mm - SLACK_MM <= before.smallest_mm
            and before.largest_mm <= within.largest_mm + SLACK_MM
        )

    def _is_cleaned_up(self, bore: int) -> bool:
        """Whether the setting was above all that was there, so that no old wall is left in the bore."""
        set_mm, before = self.by_bore[bore][0].set_mm, self.before[bore]
        return set_mm is None or before is None or set_mm > before.largest_mm

    def _name(self, bore: int) -> str:
        return f'"{self.job.bore[bore].name}"'

    def _show(self, length_mm: float) -> str:
        return show_length(length_mm, self.job.units)

    def _far(self, length_mm: float) -> str:
        """A difference of sizes, finer than they are told."""
        return f"{plain(length_mm / MM_PER[self.job.units], 5)} {UNIT_WORD[self.job.units]}"


def _farthest_first(readings: Sequence[Reading], middle_mm: float) -> Iterator[Reading]:
    return iter(sorted(readings, key=lambda reading: -abs(reading.diameter_mm - middle_mm)))
