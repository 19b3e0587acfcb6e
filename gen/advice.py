"""The passes of a job in figures: settings, depths, what finish, force and bending they come to, and what to beware of.

Nothing here changes a program: it tells what was derived, and from what.
"""

import math
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from gen.caution import Caution
from gen.chip import Cut, rubbing_caution
from gen.cutting import MATERIALS, load, main_force_n, power_caution, radial_share, torque_caution
from gen.depthskept import depths_kept
from gen.finish import MOST_FEED_PER_NOSE, ra_mm, rt_mm
from gen.job import Job
from gen.oddvalues import odd_values
from gen.offsize import (
    BAR_MATERIALS,
    EXPANSION_PER_K,
    diameter_error_mm,
    slender_caution,
    spring_caution,
    warm_caution,
)
from gen.oldwall import old_wall_left
from gen.passes import Setting, aim_mm, limits, pass_plan
from gen.row import housings
from gen.settingwords import told_setting
from gen.speeds import wanted_cutter_rpm
from gen.tolerance import MOST_DIGITS, inward
from post.units import MM_PER, UNIT_WORD, plain

MICROINCHES_PER_MM = 1e6 / 25.4
EFFICIENCY = 0.85
"""Of a right-angle head: common practice, no source. Cautions look at the torque at the cutter, before any loss."""


def passes_told(job: Job, *, cuts_as_job: bool = True) -> list[dict[str, Any]]:
    """Every setting, ready for JSON: lengths in the job's unit, finish in micrometres or microinches, N, N m, kW.

    Without ``cuts_as_job`` nothing is told that follows from the job's speeds and feeds.
    """
    return [_told(job, number, group, cuts_as_job=cuts_as_job) for number, group in enumerate(pass_plan(job), 1)]


def _told(job: Job, number: int, group: Setting, *, cuts_as_job: bool) -> dict[str, Any]:
    per = MM_PER[job.units]
    cut = _cut(job, group, group.deepest_mm, max) if cuts_as_job else None
    told: dict[str, Any] = {
        "pass": number,
        "kind": group.kind,
        "diameter": round(group.diameter_mm / per, 6),
        "setting": told_setting(job, group.diameter_mm),
        "bores": [job.bore[index].name for index in group.bores],
        "least_depth": round(group.shallowest_mm / per, 6),
        "most_depth": round(group.deepest_mm / per, 6),
        **dict.fromkeys(("ra", "rt", "force_n", "torque_nm", "power_kw", "bends")),
    }
    if cut is not None:
        told |= _finish(job, cut) | _force(job, group, cut)
    return told


def cautions(job: Job, *, cuts_as_job: bool = True) -> list[Caution]:
    """What to beware of, each told once, with the pass it comes in first.

    Without ``cuts_as_job`` nothing is told that follows from the job's speeds and feeds.
    """
    seen: dict[Caution, str] = {}
    for number, group in enumerate(pass_plan(job) if cuts_as_job else (), 1):
        for caution in _of_pass(job, group):
            seen.setdefault(caution, f"pass {number}, {group.kind}: " if job.passes is not None else "")
    told = [caution._replace(problem=name + caution.problem) for caution, name in seen.items()]
    return [*told, *old_wall_left(job), *depths_kept(job), *_of_bar(job), *_of_warmth(job), *odd_values(job)]


def derived(job: Job, *, cuts_as_job: bool = True) -> list[str]:
    """What followed from something else in the job, in words; speeds and feeds where they are cut with."""
    return [*(_derived_cut(job) if cuts_as_job else ()), *_derived_sizes(job)]


def _derived_cut(job: Job) -> Iterator[str]:
    per, word = MM_PER[job.units], UNIT_WORD[job.units]
    if job.cut.feed is None:
        assert job.cutter is not None
        feed = plain(job.cut.feed_mm(job.cutter) / per, 5)
        nose = plain(job.cutter.nose / per, 4)
        wanted = _finish_words(job, (job.cut.roughness or 0.0) / 1000)
        yield f"feed {feed} {word} a cutter turn, for Ra {wanted} with a nose of {nose} {word}"
    if job.cut.speed is not None:
        yield "cutter speed from the cutting speed and each bore's diameter"


def _derived_sizes(job: Job) -> Iterator[str]:
    per, word = MM_PER[job.units], UNIT_WORD[job.units]
    if job.passes is not None:
        for diameter in sorted({bore.diameter for bore in job.bore}):
            bore = next(bore for bore in job.bore if bore.diameter == diameter)
            within = limits(job, bore)
            if within is not None:
                low, high = (plain(float(size), MOST_DIGITS) for size in inward([size / per for size in within], 4))
                yield f"finished diameter {plain(aim_mm(job, bore) / per, 5)} {word}, the middle of {low} to {high}"


def _finish_words(job: Job, roughness_mm: float) -> str:
    if job.units == "mm":
        return f"{plain(roughness_mm * 1000, 2)} micrometres"
    return f"{plain(roughness_mm * MICROINCHES_PER_MM, 0)} microinches"


def _cut(job: Job, group: Setting, depth_mm: float, of: Callable[[Iterable[float]], float]) -> Cut | None:
    """The cut of a pass, where the cutter is told of and there is something to cut.

    Where bores are fed differently ``of`` takes the feed meant, the least or the most.
    """
    if job.cutter is None or depth_mm <= 0 or group.kind == "air":
        return None
    feed_mm = of(job.bore[index].feed or job.cut.feed_mm(job.cutter) for index in group.bores)
    return Cut(feed_mm, depth_mm, job.cutter.nose, job.cutter.angle)


def _finish(job: Job, cut: Cut) -> dict[str, Any]:
    if cut.feed_mm > MOST_FEED_PER_NOSE * cut.nose_mm:
        return {}  # the formulas do not reach so far
    scale = 1000 if job.units == "mm" else MICROINCHES_PER_MM
    return {
        "ra": round(ra_mm(cut.feed_mm, cut.nose_mm) * scale, 3),
        "rt": round(rt_mm(cut.feed_mm, cut.nose_mm) * scale, 3),
    }


def _force(job: Job, group: Setting, cut: Cut) -> dict[str, Any]:
    if job.cut.material is None:
        return {}
    force_n = main_force_n(MATERIALS[job.cut.material], cut)
    asked = load(force_n, group.diameter_mm, _cutter_rpm(job, group), job.head.ratio, EFFICIENCY)
    bends = None if job.head.reach is None else round(_bends_mm(job, force_n, cut) / MM_PER[job.units], 6)
    return {
        "force_n": round(force_n, 1),
        "torque_nm": round(asked.cutter_nm, 2),
        "power_kw": round(asked.cutter_kw, 3),
        "bends": bends,
    }


def _cutter_rpm(job: Job, group: Setting) -> float:
    row = housings(job)
    return max(wanted_cutter_rpm(job, index, row[index])[0] for index in group.bores)


def _bends_mm(job: Job, force_n: float, cut: Cut) -> float:
    """How much smaller a bore comes out because the bar bends."""
    assert job.head.reach is not None
    modulus = BAR_MATERIALS[job.bar.material].modulus_n_per_mm2
    return diameter_error_mm(radial_share(cut) * force_n, job.head.reach, job.bar.diameter, modulus)


def _of_pass(job: Job, group: Setting) -> Iterator[Caution]:
    lightest, deepest = _cut(job, group, group.shallowest_mm, min), _cut(job, group, group.deepest_mm, max)
    if lightest is not None and job.cutter is not None and job.cutter.edge is not None:
        rubbing = rubbing_caution(lightest, job.cutter.edge, job.units)
        if rubbing is not None:
            yield rubbing
    if deepest is None or job.cut.material is None:
        return
    material = MATERIALS[job.cut.material]
    force_n = main_force_n(material, deepest)
    rpm = _cutter_rpm(job, group)
    asked = load(force_n, group.diameter_mm, rpm, job.head.ratio, EFFICIENCY)
    if job.machine.power is not None:
        power = power_caution("spindle", asked.spindle_kw, job.machine.power, rpm, deepest, material, job.units)
        if power is not None:
            yield power
    if job.head.max_torque is not None:
        torque = torque_caution("cutter", asked.cutter_nm, job.head.max_torque, deepest, material, job.units)
        if torque is not None:
            yield torque
    half = min((_half_mm(job, index) for index in group.bores), default=math.inf)
    if group.kind in ("finish", "bore") and half < math.inf and job.head.reach is not None:
        bends_mm = _bends_mm(job, force_n, deepest)
        spring = spring_caution(bends_mm, half, job.head.reach, job.bar.diameter, job.units)
        if spring is not None:
            yield spring


def _of_bar(job: Job) -> Iterator[Caution]:
    if job.head.reach is not None:
        slender = slender_caution(job.head.reach, job.bar.diameter, BAR_MATERIALS[job.bar.material], job.units)
        if slender is not None:
            yield slender


def _half_mm(job: Job, index: int) -> float:
    """Half of a bore's tolerance; endless where it has none."""
    within = limits(job, job.bore[index])
    return math.inf if within is None else (within.largest_mm - within.smallest_mm) / 2


def _of_warmth(job: Job) -> Iterator[Caution]:
    """Gauging a block that is not at 20 C, where it errs by more than a quarter of the tightest bore's tolerance."""
    expansion = EXPANSION_PER_K.get(job.cut.material or "")
    index = min(range(len(job.bore)), key=lambda index: _half_mm(job, index))
    half = _half_mm(job, index)
    if job.size is None or expansion is None or half == math.inf:
        return
    warm = warm_caution(job.bore[index].diameter, job.size.temperature, expansion, half / 2, job.units)
    if warm is not None:
        yield warm
