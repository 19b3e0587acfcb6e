"""Depths told in [passes] that the passes made of the stock do not keep to: what is told, what comes of it, and why."""

from collections.abc import Callable, Iterator, Sequence
from typing import Final, NamedTuple

from gen.caution import Caution
from gen.job import Job
from gen.passes import SAME_MM, Setting, aim_mm, least_depth_mm, pass_plan, wall_mm
from post.units import MM_PER, UNIT_WORD, plain, show_length

SLACK_MM: Final = SAME_MM / 2
"""Depths nearer than this are the same: diameters nearer than twice as much are one setting."""


class _Pass(NamedTuple):
    number: int
    setting: Setting


def depths_kept(job: Job) -> Iterator[Caution]:
    """A caution for each of ``least``, ``skim`` and ``finish_stock`` that is not kept to; none without passes."""
    if job.passes is None:
        return
    plan = [_Pass(number, setting) for number, setting in enumerate(pass_plan(job), 1) if setting.kind != "air"]
    yield from _least(job, plan)
    yield from _skim(job, plan)
    yield from _finish(job, plan)


def _least(job: Job, plan: Sequence[_Pass]) -> Iterator[Caution]:
    assert job.passes is not None
    least = job.passes.least
    if least is None:
        return
    light = [one for one in plan if one.setting.shallowest_mm < least - SLACK_MM]
    if light:
        worst, where = _worst(light, lambda one: one.setting.shallowest_mm)
        cuts, told = _apart(worst.setting.shallowest_mm, least, job)
        yield Caution(
            f"{where}: cuts as little as {cuts} deep, less than passes.least, {told}: it may rub instead of cut there",
            "change depth, skim or finish_stock, or bore the largest bores in a job of their own"
            + _or_line(job, worst.setting),
        )


def _skim(job: Job, plan: Sequence[_Pass]) -> Iterator[Caution]:
    assert job.passes is not None
    skim, units = job.passes.skim, job.units
    if skim is None:
        return
    skims = [one for one in plan if one.setting.kind == "skim"]
    deeper = [one for one in skims if one.setting.deepest_mm > skim + SLACK_MM]
    if deeper:
        worst, where = _worst(deeper, lambda one: -one.setting.deepest_mm)
        cuts, told = _apart(worst.setting.deepest_mm, skim, job)
        yield Caution(
            f"{where}: cuts {cuts} deep, more than passes.skim, {told}: what would be left between it and the finishing"
            " pass is less than a cut",
            f"leave {show_length(least_depth_mm(job), units)} or more between skim and finish_stock, or nothing",
        )
    told = f"passes.skim, {show_length(skim, units)}"
    skimmed = {index for one in skims for index in one.setting.bores}
    sizes = {aim_mm(job, job.bore[index]) for index in skimmed}
    missed = [index for index in range(len(job.bore)) if index not in skimmed]
    none = [index for index in missed if aim_mm(job, job.bore[index]) not in sizes]
    if none:
        stock = max((aim_mm(job, job.bore[index]) - _nearest_mm(job, index)) / 2 for index in none)
        yield Caution(
            f"{_bores(job, none)}: no skim is taken; {told}, and passes.finish_stock,"
            f" {show_length(job.passes.finish_stock, units)}, are together no less than the stock,"
            f" {show_length(stock, units)} at most on the radius",
            "make skim or finish_stock less, or leave skim out",
        )
    above = [index for index in missed if index not in none]
    if above:
        wall = "nearest wall of all bores" if any(any(bore.centre or ()) for bore in job.bore) else "smallest bore"
        yield Caution(
            f"{_bores(job, above)}: {told}, goes by the {wall} and does not reach this far",
            "measure the bores that are skimmed, or bore these in a job of their own",
        )


def _finish(job: Job, plan: Sequence[_Pass]) -> Iterator[Caution]:
    assert job.passes is not None
    stock, units = job.passes.finish_stock, job.units
    finishing = [one for one in plan if one.setting.kind == "finish"]
    less = [one for one in finishing if one.setting.shallowest_mm < stock - SLACK_MM]
    if less:
        worst, where = _worst(less, lambda one: one.setting.shallowest_mm)
        cuts, told = _apart(worst.setting.shallowest_mm, stock, job)
        yield Caution(
            f"{where}: cuts as little as {cuts} deep, less than passes.finish_stock, {told}: a bore"
            f" {'lies off the line or ' if _or_line(job, worst.setting) else ''}is too large there already",
            f"make finish_stock less, so that all bores are finished alike{_or_line(job, worst.setting)}",
        )
    more = [one for one in finishing if one.setting.deepest_mm > stock + SLACK_MM]
    if more:
        worst, where = _worst(more, lambda one: -one.setting.deepest_mm)
        cuts, told = _apart(worst.setting.deepest_mm, stock, job)
        yield Caution(
            f"{where}: cuts up to {cuts} deep, more than passes.finish_stock, {told}: what would be left before it is"
            " less than a cut",
            f"leave {show_length(least_depth_mm(job), units)} or more before finish_stock, or nothing",
        )


def _apart(one_mm: float, other_mm: float, job: Job) -> tuple[str, str]:
    """Two lengths in words, with more digits than usual where they would seem to be the same."""
    told = (show_length(one_mm, job.units), show_length(other_mm, job.units))
    for digits in (4, 5, 6):
        if told[0] == told[1]:
            one, other = (
                f"{plain(mm / MM_PER[job.units], digits)} {UNIT_WORD[job.units]}" for mm in (one_mm, other_mm)
            )
            told = (one, other)
    return told


def _worst(passes: Sequence[_Pass], by: Callable[[_Pass], float]) -> tuple[_Pass, str]:
    """The pass that is worst, and words for all of them."""
    worst = min(passes, key=by)
    more = f" and {len(passes) - 1} more" if len(passes) > 1 else ""
    return worst, f"pass {worst.number}, {worst.setting.kind}{more}"


def _or_line(job: Job, setting: Setting) -> str:
    """What else may help where a bore of a setting lies off the bore line; "" where none is told to."""
    is_off = any(any(job.bore[index].centre or ()) for index in setting.bores)
    return ", or find a better line with borewright line" if is_off else ""


def _nearest_mm(job: Job, index: int) -> float:
    """Diameter about the bore line of the nearest wall of a bore."""
    wall = wall_mm(job, job.bore[index])
    assert wall is not None, "checked with the job"
    return wall[0]


def _bores(job: Job, bores: Sequence[int]) -> str:
    first = f"bore {job.bore[bores[0]].name}"
    return first if len(bores) == 1 else f"{first} and {len(bores) - 1} more"
