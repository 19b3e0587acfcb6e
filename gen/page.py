"""The page that replays a program: one HTML file that asks nothing of any other, now or later.

The pictures are those of ``gen.scene``; ``pages/*.js`` moves them by the data of ``gen.pagedata``. Script and style are
named in the page's security policy by their hashes, so that nothing else can run, whatever a job is called.
"""

import json
import re
from base64 import b64encode
from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from gen import scene
from gen.job import Job
from gen.pagedata import page_data
from gen.pipeline import Task
from gen.proof import Verdict
from gen.report import minutes, span
from gen.row import housings
from gen.summary import summary
from post.units import UNIT_WORD, plain, show_length

PAGES: Final = Path(__file__).parent / "pages"
STYLES: Final = ("scene.css", "page.css")
SCRIPTS: Final = ("page-replay.js", "page-pictures.js", "page-strip.js", "page-lists.js", "page.js")
"""In an order in which each needs only those before it."""
IMPORT: Final = re.compile(r"^import [^;]*;\n", re.MULTILINE)
EXPORT: Final = re.compile(r"^export ", re.MULTILINE)
MOST_FINDINGS: Final = 300
MOST_BORES: Final = 300
"""Findings and bores in the page's tables; the replay has all of them."""


def page(
    task: Task,
    texts: Sequence[str],
    verdict: Verdict,
    *,
    physics_only: bool = False,
    line: dict[str, Any] | None = None,
) -> str:
    """The page of a verdict about these programs, a whole HTML document.

    ``line``: the figures of ``gen.linefacts``, where the row was surveyed, to be told and pictured too.
    """
    style, script = _style(), _script()
    policy = (
        f"default-src 'none'; style-src {_hash(style)}; script-src {_hash(script)}; img-src data:; base-uri 'none';"
        " form-action 'none'"
    )
    side, end = scene.side(task.job), scene.end(task.job)
    facts = summary(task, verdict, [], physics_only=physics_only)
    environment = Environment(
        loader=FileSystemLoader(PAGES), autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=StrictUndefined
    )
    return environment.get_template("page.html.j2").render(
        policy=policy,
        style=Markup(style),
        script=Markup(script),
        data=Markup(embedded(page_data(task, texts, verdict, physics_only=physics_only))),
        facts=facts,
        verdict=_verdict(facts),
        understood=bool(verdict.travel),
        side=_picture(side, "side"),
        end=_picture(end, "end"),
        letter=_letter(side),
        near=_near_view(task.job),
        key=scene.key(task.job),
        has_passes=task.job.passes is not None and not task.walk,
        bores=_bores(task, facts),
        more_bores=max(0, len(task.job.bore) - MOST_BORES),
        findings=facts["findings"][:MOST_FINDINGS],
        more_findings=max(0, len(facts["findings"]) - MOST_FINDINGS),
        unit=UNIT_WORD[task.job.units],
        time=minutes(facts["cycle_time_s"]),
        cut_time=minutes(facts["cut_time_s"]),
        closest=_closest(facts, UNIT_WORD[task.job.units]),
        line=None if line is None else _line(line),
    )


def embedded(data: Any) -> str:
    """Data as JSON that can stand in a script element: nothing in it looks like markup, whatever the texts are."""
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _style() -> str:
    return "".join((PAGES / name).read_text(encoding="utf-8") for name in STYLES)


def _script() -> str:
    """The modules as one: what they import from one another stands before them."""
    parts = ((PAGES / name).read_text(encoding="utf-8") for name in SCRIPTS)
    return "".join(EXPORT.sub("", IMPORT.sub("", part)) for part in parts)


def _hash(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def _picture(picture: scene.Scene, name: str) -> dict[str, Any]:
    _, _, width, height = picture.view
    named = picture.svg.replace("<svg ", f'<svg id="picture-{name}" ', 1)
    return {"svg": Markup(named), "width": width, "height": height, "view": picture.view}


def _letter(picture: scene.Scene) -> float:
    """The size of the pictures' unit of paper, for samples of their lines in the legend."""
    told = re.search(r'data-unit="([\d.]+)"', picture.svg)
    assert told is not None
    return float(told[1])


def _line(facts: dict[str, Any]) -> dict[str, Any]:
    """The verdict of a survey and its picture, as an image, so that its style is its own."""
    from gen.lineplot import svg
    from gen.linereport import verdict

    picture = b64encode(svg(facts).encode()).decode()
    return {"verdict": verdict(facts), "picture": f"data:image/svg+xml;base64,{picture}"}


def _near_view(job: Job) -> str:
    """A viewBox about the cutter where it starts into the first bore, for a page whose script does not run."""
    first = housings(job)[0]
    half = 1.3 * first.bore.diameter
    return f"{first.near_x - 1.6 * half:.3f} {-half:.3f} {3.2 * half:.3f} {2 * half:.3f}"


def _verdict(facts: dict[str, Any]) -> dict[str, str]:
    count = len(facts["findings"])
    if count:
        found = f"{count} {'finding' if count == 1 else 'findings'}. Do not run this program."
        return {"kind": "bad", "word": "NOT PROVED", "text": found}
    if facts["physics_only"]:
        return {"kind": "part", "word": "PROVED, physics only", "text": "Not held to the plan of the job."}
    return {"kind": "good", "word": "PROVED", "text": "Read back, replayed, held to plan, machine and row."}


def _bores(task: Task, facts: dict[str, Any]) -> list[dict[str, Any]]:
    """Rows of the table of bores; a walk-through turns nothing."""
    units = task.job.units
    rows = []
    for index, bore in enumerate(task.job.bore[:MOST_BORES]):
        row: dict[str, Any] = {"name": bore.name, "diameter": show_length(bore.diameter, units)}
        if facts["bores"]:
            told = facts["bores"][index]
            row |= {
                "start": plain(told["start"], 4),
                "end": plain(told["end"], 4),
                "rpm": _pair(told, ("cutter_rpm", 1), ("spindle_rpm", 1)),
                "feed": _pair(told, ("feed", 4), ("feed_per_turn", 5)),
            }
        rows.append(row)
    return rows


def _pair(told: dict[str, Any], *figures: tuple[str, int]) -> str:
    """Two figures of a bore; nothing where they are not known."""
    texts = [span([told], name, digits) for name, digits in figures]
    return " / ".join(texts) if all(texts) else ""


def _closest(facts: dict[str, Any], word: str) -> str:
    closest = facts["closest"]
    if closest is None:
        return ""
    program = f"program {closest['program']}, " if facts["parts"] > 1 else ""
    apart = f"{plain(closest['distance'], 3)} {word}"
    where = f"{program}line {closest['line']}"
    return f"{apart} between {closest['part']} and {closest['obstacle']}, {where}: {closest['why']}"
