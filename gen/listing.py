"""A plan as a table of steps, for reading before anything is posted."""

from collections.abc import Iterator
from typing import Any

from post.motion import Dwell, Feed, Pause, Plan, Rapid, Remark, Simple, Spindle, SpindleStop
from post.units import MM_PER, plain

HEADS = ("step", "what", "X", "Y", "Z", "feed", "rpm", "why")


def listing(plan: Plan) -> list[dict[str, Any]]:
    """One dict a simple step, ready for JSON: lengths and feeds in the plan's unit, null where they do not apply."""
    per = MM_PER[plan.units]
    return [{"step": number, **_facts(step, per)} for number, step in enumerate(plan.simple(), 1)]


def _facts(step: Simple, per: float) -> dict[str, Any]:
    facts: dict[str, Any] = dict.fromkeys(("what", "x", "y", "z", "feed", "rpm", "seconds", "sense", "why"))
    match step:
        case Rapid(to, why):
            facts |= {"what": "rapid", **_place(to, per), "why": why}
        case Feed(to, mm_per_min, why):
            facts |= {"what": "feed", **_place(to, per), "feed": round(mm_per_min / per, 6), "why": why}
        case Spindle(rpm, sense, why):
            facts |= {"what": f"spindle {sense.value}", "rpm": rpm, "sense": sense.value, "why": why}
        case SpindleStop(why, angle):
            facts |= {"what": "stop" if angle is None else f"stop at {angle:g} deg", "why": why}
        case Dwell(seconds, why):
            facts |= {"what": f"stand {seconds:g} s", "seconds": seconds, "why": why}
        case Pause(message, _):
            facts |= {"what": "pause", "why": message}
        case Remark(text):
            facts |= {"what": "", "why": text}
    return facts


def _place(to: tuple[float | None, ...], per: float) -> dict[str, float | None]:
    return {axis: None if value is None else round(value / per, 6) + 0.0 for axis, value in zip("xyz", to, strict=True)}


def table(plan: Plan) -> str:
    """The same as text, columns aligned, numbers to the right."""
    digits = 3 if plan.units == "mm" else 4
    rows = [HEADS, *(tuple(_cells(facts, digits)) for facts in listing(plan))]
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEADS))]
    body = "\n".join(_line(row, widths) for row in rows)
    unit = "mm" if plan.units == "mm" else "inches"
    return f"{body}\nlengths in {unit}, feed in {unit} a minute"


def _cells(facts: dict[str, Any], digits: int) -> Iterator[str]:
    yield str(facts["step"])
    yield facts["what"]
    for name in ("x", "y", "z", "feed"):
        yield "" if facts[name] is None else f"{facts[name]:.{digits}f}"
    yield "" if facts["rpm"] is None else plain(facts["rpm"], 1)
    yield facts["why"]


def _line(row: tuple[str, ...], widths: list[int]) -> str:
    left = {"what", "why"}
    cells = (
        cell.ljust(width) if head in left else cell.rjust(width)
        for head, cell, width in zip(HEADS, row, widths, strict=True)
    )
    return "  ".join(cells).rstrip()
