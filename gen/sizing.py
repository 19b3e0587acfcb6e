"""The figures after a round of measuring: every bore, how the cutter behaves, and the next setting of every group."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from gen import chance
from gen.behaviour import BAND, NotUsed
from gen.borecells import named
from gen.boresize import Form, Known, gauge_mm, known, reading_error_mm
from gen.job import Job
from gen.measured import cut_by, limits_of_bore
from gen.nextcut import Next, Shop, next_cuts
from gen.offsize import REFERENCE_C
from gen.onrecord import changed_since
from gen.readings import Measured, earlier
from gen.settingwords import show_setting, told_setting
from gen.tolerance import inward
from post.units import MM_PER, UNIT_WORD, plain, show_length


def facts(
    job: Job,
    measured: Measured,
    history: Sequence[Measured] = (),
    seed: int = 1,
    *,
    expansion_per_k: float | None = None,
    rows: int = chance.ROWS,
) -> dict[str, Any]:
    """The figures after a round, ready for JSON: lengths in the job's unit, angles in degrees, chances from 0 to 1.

    ``history`` are the rounds before, the oldest first, and may hold this one already. ``ok`` is false when a pass
    stops for another reason than that every bore is in tolerance, as all do while a bore is over size, and for a round
    that is not the last of the history: ``next`` is then empty. Null:
    ``taper``, ``ovality`` and ``scatter`` where the readings do not tell them, ``set``, ``setting`` and ``diameter``
    where no setting is advised, chances of a pass that is not to end in tolerance. ``diameter`` is what ``set`` cuts
    where nothing springs, ``expected`` a bore's mean with a band that holds 95 %, also where that is why a pass stops.
    Sizes are at 20 C where ``expansion_per_k`` is given. Raises InputError where the job does not tell passes or a
    tolerance.
    """
    before = earlier(history, measured)
    shop = Shop(job, [*before, measured], expansion_per_k)
    told = _Told(shop, known(job, before))
    number, rounds = len(before) + 1, max(len(before) + 1, len(history))
    cuts = next_cuts(shop, seed=seed, rows=rows) if number == rounds else []
    return {
        "ok": number == rounds and not any(one.is_held for one in cuts),
        "job": job.name,
        "units": job.units,
        "round": number,
        "rounds": rounds,
        "temperature": job.size.temperature if job.size else REFERENCE_C,
        "grown": round((shop.grown - 1) * 1e6, 3),
        "bores": told.bores(measured),
        "cutter": told.cutter(),
        "next": [told.next(one) for one in cuts],
        "seed": seed,
        "notes": [
            *told.notes(expansion_per_k, before, measured),
            *changed_since(job, before),
            *told.passed_over(Shop(job, before, expansion_per_k), measured),
            *_how_to_split(cuts),
        ],
    }


def _how_to_split(cuts: Sequence[Next]) -> Iterator[str]:
    """A note on how a pass that the program holds once is cut twice."""
    split = [str(one.number) for one in cuts if one.advice == "split the cut"]
    if split:
        yield (
            f"pass {', '.join(split)} is cut twice and a program holds it once: to cut it again run its own file, which"
            " the post one-pass writes, or the whole program again, its earlier passes with the cutter clear; start"
            " nothing in the middle of a program, and leave measured in the job as it is, for every round is reckoned"
            " from it"
        )


class _Told:
    """What is told, lengths in the job's unit."""

    def __init__(self, shop: Shop, before: Sequence[Known | None]) -> None:
        self.shop, self.before = shop, before
        self.per = MM_PER[shop.job.units]

    def bores(self, measured: Measured) -> list[dict[str, Any]]:
        return [self._bore(bore, form, measured) for bore, form in measured.forms.items()]

    def _bore(self, bore: int, form: Form, measured: Measured) -> dict[str, Any]:
        first, was, now = measured.by_bore[bore][0], self.before[bore], self.shop.bores[bore]
        assert was is not None
        limits = inward([size / self.per for size in limits_of_bore(self.shop.job, bore)], 6)
        return {
            "name": self.shop.job.bore[bore].name,
            "set": float(first.row.cell("set")),
            "before": self._size(was.mean_mm),
            "mean": self._size(form.mean_mm),
            "error": self._length(now.error_mm),
            "smallest": self._size(form.smallest_mm),
            "largest": self._size(form.largest_mm),
            "taper": self._length(form.taper_mm),
            "ovality": self._length(form.ovality_mm),
            "scatter": self._length(form.scatter_mm),
            "readings": form.readings,
            "limits": [float(limit) for limit in limits],
            "is": "over" if self.shop.over_mm(bore) else "in" if self.shop.is_in(bore) else "under",
        }

    def cutter(self) -> dict[str, Any]:
        behaviour = self.shop.behaviour
        bias, spring = np.sqrt(np.diag(behaviour.covariance))
        return {
            "bias": self._length(behaviour.bias_mm),
            "bias_error": self._length(float(bias)),
            "spring": round(behaviour.spring, 6),
            "spring_error": round(float(spring), 6),
            "correlation": round(float(behaviour.covariance[0, 1] / (bias * spring)), 4),
            "setting_error": self._length(behaviour.setting_mm),
            "scatter": self._length(behaviour.scatter_mm),
            "cuts": behaviour.cuts,
        }

    def next(self, one: Next) -> dict[str, Any]:
        job, names = self.shop.job, [bore.name for bore in self.shop.job.bore]
        return {
            "pass": one.number,
            "kind": one.pass_of_plan.kind,
            "bores": [names[bore] for bore in one.bores],
            "leave_out": [names[bore] for bore in one.leave_out],
            "advice": one.advice,
            "reason": one.reason,
            "set": told_setting(job, one.set_mm) if one.set_mm is not None else None,
            "setting": show_setting(job, one.set_mm) if one.set_mm is not None else None,
            "diameter": self._length(one.set_mm),
            "wanted": self._size(one.wanted_mm) if one.wanted_mm is not None else None,
            "expected": self._expected(one) if one.outlook is not None else [],
            "chance_all": one.chances.all if one.chances else None,
            "rows": one.chances.rows if one.chances else None,
        }

    def _expected(self, one: Next) -> list[dict[str, Any]]:
        assert one.outlook is not None
        told = []
        for place, bore in enumerate(one.bores):
            size, either = float(one.outlook.expected[place]), BAND * float(one.outlook.deviation[place])
            told.append(
                {
                    "name": self.shop.job.bore[bore].name,
                    "size": self._size(size),
                    "low": self._size(size - either),
                    "high": self._size(size + either),
                    "chance": float(one.chances.each[place]) if one.chances else None,
                }
            )
        return told

    def notes(self, expansion: float | None, before: Sequence[Measured], measured: Measured) -> Iterator[str]:
        job, word = self.shop.job, UNIT_WORD[self.shop.job.units]
        if job.size is None or not job.size.gauge:
            gauge = plain(gauge_mm(job) / self.per, 5)
            yield f"the gauge's repeatability is not told: taken as {gauge} {word}; write [size] gauge = ..."
        elif reading_error_mm(job, measured) > 2 * gauge_mm(job):
            yield "readings scatter more than twice the gauge's repeatability: clean the bores, true the gauge"
        if job.size is not None and job.size.temperature != REFERENCE_C and expansion is None:
            yield "the block is not at 20 C, but its metal's expansion is not known: sizes are as gauged"
        for cut in self.shop.not_used:
            if cut.round == len(before) + 1 and not cut.is_failed:
                yield self._not_learned_from(cut)

    def passed_over(self, before: Shop, measured: Measured) -> Iterator[str]:
        """Notes on passes of the plan that come before the one measured and are not on record."""
        job, over, bores = self.shop.job, set[int](), list[str]()
        for bore, index in cut_by(job, measured).items():
            missed = {due for due in before.due(bore) if due < index}
            if missed:
                over |= missed
                bores.append(job.bore[bore].name)
        if over:
            passes = ", ".join(
                f"pass {index + 1}, {before.plan[index].kind}, {show_setting(job, before.plan[index].diameter_mm)}"
                for index in sorted(over)
            )
            yield (
                f"{named(bores)}: no readings after {passes}: this round counts as one deeper cut; if that was cut"
                " before, its readings belong on record before these"
            )

    def _not_learned_from(self, cut: NotUsed) -> str:
        bore, was, units = self.shop.job.bore[cut.bore], self.before[cut.bore], self.shop.job.units
        assert was is not None
        if cut.is_light and cut.set_mm <= was.old_wall_mm:
            left = show_length((was.old_wall_mm - cut.set_mm) / 2, units)
            return (
                f'bore "{bore.name}": by its centre old wall is left on one side, {left} farther out than was set: not'
                " learned from"
            )
        if cut.is_light:
            depth = show_length(max(0.0, cut.set_mm - was.largest_mm) / 2, units)
            return f'bore "{bore.name}": the cut was {depth} deep where the bore was largest, too light to learn from'
        was_set, took = (show_length(max(0.0, size - cut.before_mm), units) for size in (cut.set_mm, cut.after_mm))
        return (
            f'bore "{bore.name}": {took} was taken off of the {was_set} that were set, too little to learn from; see'
            " that the cutter is tight"
        )

    def _size(self, size_mm: float) -> float:
        """A diameter of the block, as it is at 20 C."""
        return round(size_mm / self.shop.grown / self.per, 6)

    def _length(self, length_mm: float | None) -> Any:
        return None if length_mm is None else round(length_mm / self.per, 6)
