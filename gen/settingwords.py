"""How a setting of the cutter is told: in the form the shop measures it, and in the message of a stop."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from gen.caution import downward
from gen.passes import Setting, limits
from post.units import MM_PER, UNIT_WORD, Units, show_length

if TYPE_CHECKING:
    from gen.job import Job

SETTING_STEP: Final[dict[Units, float]] = {"mm": 0.001, "inch": 0.0001}
"""What the cutter's setting is told to."""


def setting_of(job: "Job", diameter_mm: float) -> float:
    """A setting as the shop measures it, mm: the bore's diameter, over bar and tip (D + d)/2, or the tip (D - d)/2.

    Source: plain geometry of a bar in the middle of the circle its cutter describes.
    """
    form = job.size.setting if job.size else "bore"
    if form == "bore":
        return diameter_mm
    half = diameter_mm + job.bar.diameter if form == "over" else diameter_mm - job.bar.diameter
    return half / 2


def diameter_set(job: "Job", setting_mm: float) -> float:
    """The diameter that a setting cuts, as the shop measures settings: the inverse of ``setting_of``."""
    form = job.size.setting if job.size else "bore"
    if form == "bore":
        return setting_mm
    return 2 * setting_mm - job.bar.diameter if form == "over" else 2 * setting_mm + job.bar.diameter


def told_setting(job: "Job", diameter_mm: float) -> float:
    """A setting as it is told, in the job's unit: rounded down to 1 micrometre or 0.0001 in, never larger."""
    return downward(setting_of(job, diameter_mm) / MM_PER[job.units], SETTING_STEP[job.units])


def show_setting(job: "Job", diameter_mm: float) -> str:
    """A setting as the operator reads it."""
    digits = 3 if job.units == "mm" else 4
    told = f"{told_setting(job, diameter_mm):.{digits}f} {UNIT_WORD[job.units]}"
    form = job.size.setting if job.size else "bore"
    return {"bore": f"diameter {told}", "over": f"{told} over bar and tip", "tip": f"tip {told} out of the bar"}[form]


def setting_message(job: "Job", setting: Setting) -> str:
    """What the operator is to do before a setting's first bore."""
    return setting_messages(job, setting)[0]


def may_be_told_anew(job: "Job", setting: Setting) -> bool:
    """Whether ``borewright size`` may tell another setting, from what was cut before; it asks for limits."""
    return setting.after is not None and all(limits(job, job.bore[index]) is not None for index in setting.bores)


def setting_messages(job: "Job", setting: Setting) -> tuple[str, ...]:
    """The same in fewer and fewer words, for controls that have no room for all of it."""
    plainly, names = _setting_plainly(job, setting), _names(job, setting.bores)
    if not may_be_told_anew(job, setting):
        return (plainly,)
    planned = f"{show_setting(job, setting.diameter_mm)} as planned, or"
    if setting.kind == setting.after:
        # Gauging is not asked for, but ``size`` tells only of bores that were gauged since they were cut.
        pass_ = f"{setting.kind} pass: set"
        return (
            f"{pass_} the cutter to {planned} gauge every bore first and set as size tells, {names}",
            f"{pass_} {planned} gauge first, as size tells, {names}",
            plainly,
        )
    told = f"{planned} as size tells"
    return (
        f"{setting.kind} pass: gauge every bore first; set the cutter to {told}, {names}",
        f"{setting.kind} pass, gauge first: set {told}, {names}",
        plainly,
    )


def _setting_plainly(job: "Job", setting: Setting) -> str:
    if job.passes is None and (job.size is None or job.size.setting == "bore"):
        bore = job.bore[setting.bores[0]]
        return f"set the cutter for diameter {show_length(bore.diameter, job.units)}, bore {bore.name}"
    if setting.kind == "air":
        return f"air pass: set the cutter clear of every bore, {show_setting(job, setting.diameter_mm)} or less"
    kind = "" if setting.kind == "bore" else f"{setting.kind} pass: "
    return f"{kind}set the cutter to {show_setting(job, setting.diameter_mm)}, {_names(job, setting.bores)}"


def _names(job: "Job", bores: Sequence[int]) -> str:
    first = job.bore[bores[0]].name
    return f"bore {first}" if len(bores) == 1 else f"{len(bores)} bores from {first}"
