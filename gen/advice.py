"""The passes of a job in figures: settings, depths, what finish, force and bending they come to, and what to beware of.

Nothing here changes a program: it tells what was derived, and from what.
"""

from collections.abc import Iterator
from typing import Any

from gen.caution import Caution
from gen.chip import Cut, rubbing_caution
from gen.cutting import MATERIALS, load, main_force_n, radial_share, torque_caution
from gen.finish import MOST_FEED_PER_NOSE, ra_mm, rt_mm
from gen.job import Job
from gen.offsize import BAR_MATERIALS, diameter_error_mm, slender_caution, spring_caution
from gen.passes import Setting, aim_mm, limits, pass_plan, told_setting
from gen.row import housings
from gen.speeds import wanted_cutter_rpm
from post.units import MM_PER, UNIT_WORD, plain

MICROINCHES_PER_MM = 1e6 / 25.4
EFFICIENCY = 0.85
"""Of a right-angle head: common practice, no source. Cautions look at the torque at the cutter, before any loss."""


def passes_told(job: Job) -> list[dict[str, Any]]:
    """Every setting, ready for JSON: lengths in the job's unit, finish in micrometres or microinches, N, N m, kW."""
    return [_told(job, number, group) for number, group in enumerate(pass_plan(job), 1)]


def _told(job: Job, number: int, group: Setting) -> dict[str, Any]:
    per = MM_PER[job.units]
    cut = _cut(job, group, group.deepest_mm)
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


def cautions(job: Job) -> list[Caution]:
    """What to beware of, each told once, the pass it comes in first."""
    seen: dict[Caution, None] = {}
    for number, group in enumerate(pass_plan(job), 1):
        name = f"pass {number}, {group.kind}: " if job.passes is not None else ""
        for caution in _of_pass(job, group):
            seen.setdefault(caution._replace(problem=name + caution.problem))
    return [*seen, *_of_bar(job)]


def derived(job: Job) -> list[str]:
    """What followed from something else in the job, in words."""
    return list(_derived(job))


def _derived(job: Job) -> Iterator[str]:
    per, word = MM_PER[job.units], UNIT_WORD[job.units]
    if job.cut.feed is None:
        assert job.cutter is not None
        feed = plain(job.cut.feed_mm(job.cutter) / per, 5)
        nose = plain(job.cutter.nose / per, 4)
        wanted = _finish_words(job, (job.cut.roughness or 0.0) / 1000)
        yield f"feed {feed} {word} a cutter turn, for Ra {wanted} with a nose of {nose} {word}"
    if job.cut.speed is not None:
        yield "cutter speed from the cutting speed and each bore's diameter"
    if job.passes is not None:
        for diameter in sorted({bore.diameter for bore in job.bore}):
            bore = next(bore for bore in job.bore if bore.diameter == diameter)
            within = limits(job, bore)
            if within is not None:
                low, high = (plain(size / per, 4) for size in within)
                yield f"finished diameter {plain(aim_mm(job, bore) / per, 5)} {word}, the middle of {low} to {high}"


def _finish_words(job: Job, roughness_mm: float) -> str:
    if job.units == "mm":
        return f"{plain(roughness_mm * 1000, 2)} micrometres"
    return f"{plain(roughness_mm * MICROINCHES_PER_MM, 0)} microinches"


def _cut(job: Job, group: Setting, depth_mm: float) -> Cut | None:
    """The cut of a pass, where the cutter is told of and there is something to cut."""
    if job.cutter is None or depth_mm <= 0 or group.kind == "air":
        return None
    return Cut(job.cut.feed_mm(job.cutter), depth_mm, job.cutter.nose, job.cutter.angle)


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
    lightest, deepest = _cut(job, group, group.shallowest_mm), _cut(job, group, group.deepest_mm)
    if lightest is not None and job.cutter is not None and job.cutter.edge is not None:
        rubbing = rubbing_caution(lightest, job.cutter.edge, job.units)
        if rubbing is not None:
            yield rubbing
    if deepest is None or job.cut.material is None:
        return
    material = MATERIALS[job.cut.material]
    force_n = main_force_n(material, deepest)
    if job.head.max_torque is not None:
        asked = load(force_n, group.diameter_mm, _cutter_rpm(job, group), job.head.ratio, EFFICIENCY)
        torque = torque_caution("cutter", asked.cutter_nm, job.head.max_torque, deepest, material, job.units)
        if torque is not None:
            yield torque
    within = limits(job, job.bore[group.bores[0]])
    if group.kind in ("finish", "bore") and within is not None and job.head.reach is not None:
        half = (within.largest_mm - within.smallest_mm) / 2
        bends_mm = _bends_mm(job, force_n, deepest)
        spring = spring_caution(bends_mm, half, job.head.reach, job.bar.diameter, job.units)
        if spring is not None:
            yield spring


def _of_bar(job: Job) -> Iterator[Caution]:
    if job.head.reach is not None:
        slender = slender_caution(job.head.reach, job.bar.diameter, BAR_MATERIALS[job.bar.material], job.units)
        if slender is not None:
            yield slender
