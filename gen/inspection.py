"""The finished row against its tolerance: size, taper and ovality of every bore, pass or fail.

A bore passes when every diameter read in it is within its limits (two-point sizes, ISO 14405-1; from memory). It passes
or fails for ``sure`` when that would still be so if each reading were off by twice the gauge's repeatability.
"""

from collections.abc import Iterator
from typing import Any, Final

from gen import straightness
from gen.borecells import SLACK_MM, named
from gen.boresize import Form, gauge_mm
from gen.columns import UNITS_NAMED, at_20, fixed, row, table
from gen.job import Job
from gen.measured import limits_of_bore
from gen.offsize import REFERENCE_C, at_20_degrees
from gen.readings import Measured
from gen.surveyed import Surveyed
from gen.tolerance import inward
from post.units import MM_PER, UNIT_WORD, plain

HEADS: Final = ("bore", "smallest", "mean", "largest", "limits", "", "taper", "ovality", "read", "verdict")
SURE: Final = 2.0
"""Repeatabilities of the gauge by which a size must lie off a limit to be sure, about 95 %; chosen by us."""
WIDEST: Final = 200
"""Bores told in full; JSON has them all."""


def facts(
    job: Job, measured: Measured, *, expansion_per_k: float | None = None, surveyed: Surveyed | None = None
) -> dict[str, Any]:
    """The figures of a finished row, ready for JSON: lengths in the job's unit.

    ``over`` and ``under``: by how much the largest and smallest size are outside the limits, 0 where they are not.
    ``margin``: how far within the limits the nearest size is, negative outside. ``taper``, ``ovality`` and ``scatter``
    are null where the readings do not tell them. ``straightness`` is that of ``gen.straightness``, null where the row
    was not surveyed; ``ok`` asks both. Sizes are at 20 C where ``expansion_per_k`` is given, the block then being
    ``grown`` by so many parts in a million; raises ValueError as ``gen.offsize.at_20_degrees``.
    """
    temperature = job.size.temperature if job.size else REFERENCE_C
    scale = at_20_degrees(1.0, temperature, expansion_per_k or 0.0)
    bores = [_bore(job, bore, form, scale) for bore, form in measured.forms.items()]
    is_warm = temperature != REFERENCE_C and expansion_per_k is None
    straight = None if surveyed is None else straightness.facts(job, surveyed)
    return {
        "ok": all(bore["pass"] for bore in bores) and (straight is None or straight["ok"]),
        "job": job.name,
        "units": job.units,
        "temperature": temperature,
        "grown": round((1 / scale - 1) * 1e6, 3),
        "gauge": round(gauge_mm(job) / MM_PER[job.units], 6),
        "bores": bores,
        "straightness": straight,
        "notes": ["the block is not at 20 C, but its metal's expansion is not known: sizes are as gauged"]
        if is_warm
        else [],
    }


def _bore(job: Job, bore: int, form: Form, at_20: float) -> dict[str, Any]:
    per, within = MM_PER[job.units], limits_of_bore(job, bore)
    smallest, largest = form.smallest_mm * at_20, form.largest_mm * at_20
    margin = min(smallest - within.smallest_mm, within.largest_mm - largest)

    def told(length_mm: float | None) -> Any:
        return None if length_mm is None else round(length_mm / per, 6)

    return {
        "name": job.bore[bore].name,
        "mean": told(form.mean_mm * at_20),
        "smallest": told(smallest),
        "largest": told(largest),
        "limits": [float(limit) for limit in inward([size / per for size in within], 6)],
        "taper": told(form.taper_mm),
        "ovality": told(form.ovality_mm),
        "scatter": told(form.scatter_mm),
        "readings": form.readings,
        "pass": margin >= -SLACK_MM,
        "over": told(max(0.0, largest - within.largest_mm)),
        "under": told(max(0.0, within.smallest_mm - smallest)),
        "margin": told(margin),
        "sure": abs(margin) >= SURE * gauge_mm(job),
    }


def words(facts: dict[str, Any]) -> str:
    """Lines of text from the figures."""
    return "\n".join(_lines(facts))


def _lines(facts: dict[str, Any]) -> Iterator[str]:
    word, digits = UNIT_WORD[facts["units"]], 4 if facts["units"] == "mm" else 5
    yield facts["job"]
    yield row("sizes", f"in {UNITS_NAMED[facts['units']]}{at_20(facts['temperature'], facts['grown'])}")
    yield ""
    yield from table([HEADS, *(_cells(bore, digits) for bore in facts["bores"][:WIDEST])])
    if len(facts["bores"]) > WIDEST:
        yield f"  and {len(facts['bores']) - WIDEST} more; --json lists them all"
    yield ""
    if facts["straightness"] is not None:
        yield from straightness.lines(facts["straightness"], facts["units"])
        yield ""
    for note in facts["notes"]:
        yield row("note", note)
    close = [bore["name"] for bore in facts["bores"] if not bore["sure"]]
    if close:
        gauge = f"{plain(facts['gauge'], digits)} {word}"
        yield row("close", f"{named(close)}: nearer to a limit than twice the gauge's repeatability, {gauge}")
    yield row("verdict", _verdict(facts))


def _cells(bore: dict[str, Any], digits: int) -> tuple[str, ...]:
    sizes = (fixed(bore[name], digits) for name in ("smallest", "mean", "largest"))
    limits = inward(bore["limits"], digits)
    form = (fixed(bore[name], digits) for name in ("taper", "ovality"))
    return (bore["name"], *sizes, *limits, *form, str(bore["readings"]), _of_bore(bore, digits))


def _of_bore(bore: dict[str, Any], digits: int) -> str:
    return "pass" if bore["pass"] else f"FAIL: {', '.join(wrong(bore, digits))}"


def wrong(bore: dict[str, Any], digits: int) -> list[str]:
    """By how much a bore fails, over and under."""
    return [f"{fixed(bore[side], digits)} {side}" for side in ("over", "under") if bore[side]]


def _verdict(facts: dict[str, Any]) -> str:
    straight = facts["straightness"]
    failed = [bore["name"] for bore in facts["bores"] if not bore["pass"]]
    wrong_with = [named(failed)] if failed else []
    if straight is not None and not straight["ok"]:
        wrong_with.append("the row is not straight enough")
    if wrong_with:
        return f"FAIL: {'; '.join(wrong_with)}"
    return "PASS: every bore is in tolerance" + ("" if straight is None else ", and the row is straight")
