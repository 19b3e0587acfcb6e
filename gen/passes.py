"""Stock into passes: which bores are cut with which setting of the cutter, in which order.

Words used here:

measured
    smallest and largest diameter of a bore as it is now.
wall
    the same about the bore line, which the bar turns on: where the job tells the bore's ``centre``, twice its distance
    from the line less and more than measured.
aim
    the diameter wanted of a bore: the middle of its tolerance, or its ``diameter`` where it has none.
setting
    one setting of the cutter, and the bores that are cut with it. Between two settings the operator stops.
depth
    what is taken from the wall, on the radius.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from gen.caution import at_most
from gen.chip import Cut, depth_that_cuts_mm
from gen.tolerance import Limits, limits_of
from post.steps import nearest
from post.units import show_length
from post.userfile import KeyProblem

if TYPE_CHECKING:
    from gen.job import Bore, Job

Kind = Literal["air", "skim", "rough", "finish", "bore"]

LEAST_MM: Final = 0.02
"""Lightest cut on the radius where the job tells neither it nor the cutter's edge (common practice, no source)."""
AIR_GAP_MM: Final = 0.5
"""How far the cutter stays off the nearest wall in an air pass, on the radius; chosen by us."""
MOST_ROUGHING: Final = 50
"""Most depths of a pass in the stock of a bore: beyond it a number is a slip of the keyboard."""
SAME_MM: Final = 0.0005
"""Diameters nearer than this are one setting: half of what a setting is told to."""


class Setting(NamedTuple):
    """One setting of the cutter: the diameter it cuts, the bores cut with it, by index, and the depths that makes.

    ``shallowest_mm`` is over the farthest, ``deepest_mm`` over the nearest wall of any of the bores; both 0 where
    nothing is known of them. ``after`` is the kind of the last setting before it that cut, None where there is none.
    """

    kind: Kind
    diameter_mm: float
    bores: tuple[int, ...]
    shallowest_mm: float = 0.0
    deepest_mm: float = 0.0
    after: Kind | None = None


def limits(job: "Job", bore: "Bore") -> Limits | None:
    """Least and greatest size of a bore that is in tolerance; None where the job gives none."""
    if bore.limits is not None:
        return Limits(*bore.limits)
    wanted = bore.tolerance or (job.size.tolerance if job.size else None)
    return None if wanted is None else limits_of(wanted, bore.diameter)


def aim_mm(job: "Job", bore: "Bore") -> float:
    """The diameter to finish a bore at."""
    within = limits(job, bore)
    if within is None or job.passes is None:
        return bore.diameter
    return nearest((within.smallest_mm + within.largest_mm) / 2, 1e-4)


def measured_mm(job: "Job", bore: "Bore") -> tuple[float, float] | None:
    """Smallest and largest diameter of a bore as it is; the hole that is there counts as measured."""
    if bore.measured is not None:
        return bore.measured
    hole = bore.hole or (job.block.hole if job.block else None)
    return None if hole is None else (hole, hole)


def wall_mm(job: "Job", bore: "Bore") -> tuple[float, float] | None:
    """Diameters about the bore line between which the wall of a bore lies as it is, mm; None where not measured.

    Plain geometry of a circle of radius r whose centre is e off: its points are r - e to r + e from the line.
    """
    now = measured_mm(job, bore)
    if now is None or bore.centre is None:
        return now
    off = math.hypot(*bore.centre)
    return now[0] - 2 * off, now[1] + 2 * off


def pass_plan(job: "Job") -> tuple[Setting, ...]:
    """Every setting, in order. Without [passes] the bores are cut once, in the job's order."""
    if job.passes is None:
        groups = groupby(range(len(job.bore)), key=lambda index: job.bore[index].diameter)
        return tuple(Setting("bore", diameter, tuple(group)) for diameter, group in groups)
    ranked = [entry for bores in _by_aim(job) for entry in _of_one_size(job, bores)]
    ranked.sort(key=lambda entry: entry[0])
    air = [_air(job)] if job.passes.air else []
    cuts = _merged([setting for _, setting in ranked])
    before = [None, *(setting.kind for setting in cuts)]
    return tuple(air + [setting._replace(after=kind) for setting, kind in zip(cuts, before, strict=False)])


def least_depth_mm(job: "Job") -> float:
    """The lightest cut on the radius that still cuts: as told, or as the cutter's edge allows at the job's feed.

    Where the feed is too fine for the edge at any depth, what is told of light cuts is for ``gen.advice``.
    """
    assert job.passes is not None
    if job.passes.least is not None:
        return job.passes.least
    if job.cutter is None or job.cutter.edge is None:
        return LEAST_MM
    cut = Cut(job.cut.feed_mm(job.cutter), job.passes.finish_stock, job.cutter.nose, job.cutter.angle)
    return depth_that_cuts_mm(cut, job.cutter.edge) or LEAST_MM


def check_feed(job: "Job") -> None:
    """Raises KeyProblem where the feed is to follow from a roughness and cannot, or the cutter cannot be as told."""
    if job.cutter is not None and job.cutter.edge is not None and job.cutter.edge >= job.cutter.nose:
        raise KeyProblem(
            ("cutter", "edge"),
            f"{show_length(job.cutter.edge, job.units)} is no less than nose, {show_length(job.cutter.nose, job.units)}"
            ": it is the radius of the cutting edge itself, a hundredth or two of a millimetre",
        )
    if job.cut.roughness is None:
        return
    if job.cutter is None:
        raise KeyProblem(
            ("cutter",), "is missing; a roughness needs the radius of the cutter's nose: [cutter] nose = ..."
        )
    try:
        job.cut.feed_mm(job.cutter)
    except ValueError as error:
        raise KeyProblem(("cut", "roughness"), str(error)) from None


def check_passes(job: "Job") -> None:
    """Raises KeyProblem at the first thing about sizes and passes that cannot be."""
    for index, bore in enumerate(job.bore):
        _check_limits(job, index, bore)
        _check_measured(job, index, bore)
    if job.passes is not None:
        _check_depths(job)
        _check_lift(job)


def _check_depths(job: "Job") -> None:
    """Every depth told is one the cutter can take, and none is more than the most."""
    passes, units = job.passes, job.units
    assert passes is not None
    if passes.least is not None and passes.least > passes.finish_stock:
        raise KeyProblem(
            ("passes", "finish_stock"),
            f"{show_length(passes.finish_stock, units)} is less than passes.least,"
            f" {show_length(passes.least, units)}: the finishing cut would be too light to cut",
        )
    least = least_depth_mm(job)
    for key in ("depth", "finish_stock", "skim"):
        depth: float | None = getattr(passes, key)
        if depth is not None and depth < least - 1e-9:
            raise KeyProblem(
                ("passes", key),
                f"{show_length(depth, units)} is less than the cutter can cut, {show_length(least, units)}; make it"
                " more, or tell the lightest cut as least",
            )
        if depth is not None and depth > passes.depth + 1e-9:
            raise KeyProblem(
                ("passes", key),
                f"{show_length(depth, units)} is more than passes.depth, {show_length(passes.depth, units)}, the most"
                " in one pass",
            )
    stock = max((aim_mm(job, bore) - (wall_mm(job, bore) or (0.0, 0.0))[0]) / 2 for bore in job.bore)
    if stock > MOST_ROUGHING * passes.depth:
        raise KeyProblem(
            ("passes", "depth"),
            f"{show_length(passes.depth, units)} in a pass makes more than {MOST_ROUGHING} passes of"
            f" {show_length(stock, units)} of stock; check the unit",
        )


def _check_lift(job: "Job") -> None:
    """A lift has room in the bores as they are, not only as they will be."""
    lift = job.path.lift
    if lift is None:
        return
    room = min(((wall_mm(job, bore) or (bore.diameter, 0.0))[0] - job.bar.diameter) / 2 for bore in job.bore)
    if lift.amount >= room:
        raise KeyProblem(
            ("path", "lift", "amount"),
            f"{show_length(lift.amount, job.units)} would push the bar against the wall: between bar and narrowest bore"
            f" there are {show_length(room, job.units)} before the first pass; lift by less",
        )


def _check_limits(job: "Job", index: int, bore: "Bore") -> None:
    try:
        within = limits(job, bore)
    except ValueError as error:
        key = ("bore", index, "tolerance") if bore.tolerance is not None else ("size", "tolerance")
        raise KeyProblem(key, str(error)) from None
    if bore.limits is not None and bore.tolerance is not None:
        raise KeyProblem(("bore", index, "limits"), "limits and tolerance are both given; keep one")
    if within is not None and not within.smallest_mm - 1 <= bore.diameter <= within.largest_mm + 1:
        low, high = (show_length(size, job.units) for size in within)
        raise KeyProblem(
            ("bore", index, "limits"),
            f"{low} to {high} is not about the bore's diameter, {show_length(bore.diameter, job.units)}; limits are"
            " sizes, not deviations",
        )


def _check_measured(job: "Job", index: int, bore: "Bore") -> None:
    units = job.units
    if job.passes is None:
        return
    now = measured_mm(job, bore)
    if now is None:
        example = f"[{', '.join(show_length(bore.diameter * part, units).split()[0] for part in (0.989, 0.99))}]"
        raise KeyProblem(
            ("bore", index, "measured"),
            f"is missing; [passes] needs the smallest and largest diameter of every bore: measured = {example}",
        )
    key = ("bore", index, "measured" if bore.measured is not None else "hole")
    smallest, largest = now
    if job.bar.diameter >= smallest:
        raise KeyProblem(
            key,
            f"{show_length(smallest, units)} is no larger than bar.diameter, {show_length(job.bar.diameter, units)};"
            " the bar would not go in",
        )
    nearest_wall = (wall_mm(job, bore) or now)[0]
    if job.bar.diameter >= nearest_wall:
        raise KeyProblem(
            ("bore", index, "centre"),
            f'brings the wall of bore "{bore.name}" to {show_length(max(0.0, nearest_wall) / 2, units)} from the bore'
            f" line; the bar's radius is {show_length(job.bar.diameter / 2, units)}: it would not go in; move the"
            " block, or mend centre",
        )
    hole = bore.hole or (job.block.hole if job.block else None)
    if hole is not None and hole > smallest:
        raise KeyProblem(
            ("bore", index, "hole") if bore.hole else ("block", "hole"),
            f'{show_length(hole, units)} is more than the smallest that bore "{bore.name}" measures,'
            f" {show_length(smallest, units)}; what clears the hole might not clear the bore",
        )
    aim, within = aim_mm(job, bore), limits(job, bore)
    most = within.largest_mm if within else aim
    if largest > most:
        raise KeyProblem(
            key,
            f"{show_length(largest, units)} is over size already: at most {at_most(most, units)} is wanted of bore"
            f' "{bore.name}"; mend {key[-1]}, or the diameter or tolerance of that bore',
        )
    depth, least = (aim - largest) / 2, least_depth_mm(job)
    if depth < least - 1e-9:
        why = "no stock is left" if depth <= 0 else f"only {show_length(depth, units)} a side is left"
        raise KeyProblem(
            key,
            f'{why} at the largest diameter of bore "{bore.name}", {show_length(largest, units)}, to'
            f" {show_length(aim, units)}; the cutter needs {show_length(least, units)}",
        )


def _by_aim(job: "Job") -> list[list[int]]:
    """Bores of one size together, in the order in which each size comes first."""
    groups: dict[float, list[int]] = {}
    for index, bore in enumerate(job.bore):
        groups.setdefault(aim_mm(job, bore), []).append(index)
    return list(groups.values())


def _now(job: "Job", bores: Sequence[int]) -> Iterator[tuple[float, float]]:
    """Where the walls of bores lie, diameters about the bore line."""
    for index in bores:
        now = wall_mm(job, job.bore[index])
        assert now is not None, "checked with the job"
        yield now


def _of_one_size(job: "Job", bores: list[int]) -> Iterator[tuple[tuple[int, int], Setting]]:
    """The settings for bores of one size, each with its rank among those of other sizes."""
    passes = job.passes
    assert passes is not None
    aim = aim_mm(job, job.bore[bores[0]])
    smallest = min(low for low, _ in _now(job, bores))
    before = aim - 2 * passes.finish_stock
    least = least_depth_mm(job)
    done = smallest
    if passes.skim is not None and smallest + 2 * passes.skim < before - SAME_MM:
        done = smallest + 2 * passes.skim
        # What would be less than a cut between the two goes to the skim.
        if (before - done) / 2 < least and passes.skim + least <= passes.depth:
            done = before
        yield from _setting(job, (0, 0), "skim", done, bores, smallest)
    # A hair less, so that a depth that divides the stock evenly does not gain a pass by the rounding of floats. What is
    # less than a cut is left to the finishing pass.
    count = math.ceil((before - done) / 2 / passes.depth - 1e-9) if (before - done) / 2 >= least else 0
    for number in range(1, count + 1):
        rough = done + (before - done) * number / count
        base = done + (before - done) * (number - 1) / count
        yield from _setting(job, (1, number), "rough", rough, bores, base)
    yield from _setting(job, (2, 0), "finish", aim, bores, max(before, smallest) if count else done)


def _setting(
    job: "Job", rank: tuple[int, int], kind: Kind, diameter_mm: float, bores: list[int], cut_to_mm: float
) -> Iterator[tuple[tuple[int, int], Setting]]:
    """A setting for those of the bores that it reaches, when all that it reaches are cut to a diameter before."""
    reached = [
        (index, now) for index, now in zip(bores, _now(job, bores), strict=True) if now[0] < diameter_mm - SAME_MM
    ]
    depths = [
        ((diameter_mm - max(high, cut_to_mm)) / 2, (diameter_mm - max(low, cut_to_mm)) / 2)
        for _, (low, high) in reached
    ]
    if reached:
        shallowest, deepest = max(0.0, min(one for one, _ in depths)), max(one for _, one in depths)
        yield rank, Setting(kind, diameter_mm, tuple(index for index, _ in reached), shallowest, deepest)


def _air(job: "Job") -> Setting:
    """One pass through every bore with the cutter clear of the nearest wall."""
    smallest = min(low for low, _ in _now(job, range(len(job.bore))))
    return Setting("air", max(smallest - 2 * AIR_GAP_MM, job.bar.diameter), tuple(range(len(job.bore))))


def _merged(settings: list[Setting]) -> list[Setting]:
    """Settings with those that follow each other at one diameter made one."""
    merged: list[Setting] = []
    for setting in settings:
        last = merged[-1] if merged else None
        if last and last.kind == setting.kind and abs(last.diameter_mm - setting.diameter_mm) < SAME_MM:
            merged[-1] = last._replace(
                bores=tuple(sorted(last.bores + setting.bores)),
                shallowest_mm=min(last.shallowest_mm, setting.shallowest_mm),
                deepest_mm=max(last.deepest_mm, setting.deepest_mm),
            )
        else:
            merged.append(setting)
    return merged
