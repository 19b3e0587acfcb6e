"""How straight a finished row is: its centres against the line they are nearest to.

best line
    the one whose largest distance from a centre is least, so that the row lies in the thinnest cylinder about it: the
    minimum zone of a line's straightness in any direction (ISO 12780-1 has the reference lines, ISO 1101 the cylinder;
    from memory).
off
    a centre's distance from the best line, square to X; of a bore measured at several depths the largest.
step
    how far one bore's place about the best line, the mean of its depths, is from that of its neighbour in the row.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Any, Final

import numpy as np

from gen.bestline import greatest_least_stock
from gen.borecells import SLACK_MM, named
from gen.columns import fixed, row, table
from gen.job import Job
from gen.linewanted import Straight
from gen.rowline import off_line
from gen.surveyed import Surveyed
from post.units import MM_PER, UNIT_WORD, Units, plain

WIDEST: Final = 200
"""Bores told in full; JSON has them all."""


def facts(job: Job, surveyed: Surveyed) -> dict[str, Any]:
    """The figures of a finished row's straightness, ready for JSON: lengths in the job's unit.

    ``cylinder`` is the diameter of the thinnest cylinder about all centres. A limit that the job does not tell is null,
    and is kept.
    """
    per, limits = MM_PER[job.units], (job.line.straight if job.line else None) or Straight()
    survey = surveyed.survey(job)
    level = replace(survey, radius=np.ones(len(survey.x)), target=np.ones(len(survey.x)))
    off = off_line(level, greatest_least_stock(level))
    places = [off[:, survey.bores == bore].mean(axis=1) for bore in range(len(job.bore))]
    distances = [float(np.hypot(*off[:, survey.bores == bore]).max()) for bore in range(len(job.bore))]
    farthest = max(distances)

    def told(length_mm: float) -> float:
        return round(float(length_mm) / per, 6) + 0.0

    bores: list[dict[str, Any]] = [
        {"name": bore.name, "y": told(y), "z": told(z), "off": told(distance), "step": None}
        for bore, (y, z), distance in zip(job.bore, places, distances, strict=True)
    ]
    steps = [float(np.hypot(*(other - one))) for one, other in pairwise(places)]
    for bore, step in zip(bores[1:], steps, strict=True):
        bore["step"] = told(step)
    return {
        "bores": bores,
        "overall": told(farthest),
        "cylinder": told(2 * farthest),
        "neighbours": told(max(steps)),
        "limits": {
            name: None if limit is None else told(limit)
            for name, limit in (("overall", limits.overall), ("neighbours", limits.neighbours))
        },
        "far_off": [
            bore.name
            for bore, distance in zip(job.bore, distances, strict=True)
            if limits.overall is not None and distance > limits.overall + SLACK_MM
        ],
        "apart": [
            [one.name, other.name]
            for (one, other), step in zip(pairwise(job.bore), steps, strict=True)
            if limits.neighbours is not None and step > limits.neighbours + SLACK_MM
        ],
        "ok": (limits.overall is None or farthest <= limits.overall + SLACK_MM)
        and (limits.neighbours is None or max(steps) <= limits.neighbours + SLACK_MM),
    }


def lines(facts: dict[str, Any], units: Units) -> Iterator[str]:
    """The same in words."""
    word, digits = UNIT_WORD[units], 4 if units == "mm" else 5
    yield "  Straightness: each centre from the best line, and from its neighbour's place"
    yield ""
    told = [
        (bore["name"], *(fixed(bore[name], digits) for name in ("y", "z", "off", "step")))
        for bore in facts["bores"][:WIDEST]
    ]
    yield from table([("bore", "Y", "Z", "off", "step"), *told])
    if len(facts["bores"]) > WIDEST:
        yield f"  and {len(facts['bores']) - WIDEST} more; --json lists them all"
    yield ""
    for name, what in (("overall", "the farthest centre"), ("neighbours", "the largest step")):
        limit = facts["limits"][name]
        within = "no limit told" if limit is None else f"limit {plain(limit, digits)} {word}"
        yield row(name, f"{fixed(facts[name], digits)} {word}, {what}; {within}")
    yield row("cylinder", f"diameter {fixed(facts['cylinder'], digits)} {word} about all centres")
    for bore in facts["far_off"]:
        yield row("FAIL", f"{named([bore])}: too far off the line")
    for one, other in facts["apart"]:
        yield row("FAIL", f"{named([one, other])}: too far apart")
