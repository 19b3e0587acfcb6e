"""The setup sheet: one page for the machine, with what whoever sets up needs to know, to check and to write down.

Figures are those of ``gen.summary``, so that sheet, report and JSON tell the same.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from gen import checks, scene
from gen.columns import UNITS_NAMED, fixed
from gen.job import Job
from gen.passes import aim_mm, limits, pass_plan
from gen.pipeline import Task
from gen.planner import way_top
from gen.proof import Verdict
from gen.report import SENSES, minutes, span, tightest
from gen.row import housings
from gen.settingwords import may_be_told_anew, setting_message
from gen.shapes import runs
from gen.speeds import spindle_sense
from gen.summary import summary
from gen.tolerance import inward
from gen.turning import WORDS, cutter_sense, dials
from post.motion import Pause
from post.timeline import Halt
from post.units import MM_PER, UNIT_WORD, plain

PAGES: Final = Path(__file__).parent / "pages"
DIGITS: Final = {"mm": 3, "inch": 4}
"""Digits behind the point of a length, as controls show them (common practice, no source)."""
WIDEST_MM: Final = 142.0
TALL_MM: Final = (44.0, 72.0)
"""Room for the two pictures side by side; how tall they are depends on what the tables leave."""
PAGE_MM: Final = 80.0
"""What pictures and rows of tables share of a page, where one page is enough."""
MOST_ROWS: Final = 11
"""Rows beyond which it is not."""
ROW_MM: Final = 5.2
NOTES_MM: Final = 28.0
"""Least width of a box for notes."""
MOST_FINDINGS: Final = 6
Fact = tuple[str, str]


def sheet(task: Task, verdict: Verdict, programs: Sequence[Path] = (), *, physics_only: bool = False) -> str:
    """The sheet as one HTML document that needs nothing else; made to be printed on A4 or Letter.

    ``programs`` are the program's files; without them they are taken to be called as ``borewright write`` does.
    """
    environment = Environment(
        loader=FileSystemLoader(PAGES), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    told = summary(task, verdict, programs or _usual(task), physics_only=physics_only) | {"digits": _digits(task)}
    return environment.get_template("sheet.html.j2").render(_context(task, verdict, told))


def _digits(task: Task) -> int:
    """Digits behind the point of a length: what controls show, or more where the post writes more."""
    units = task.job.units
    step = plain(task.post.dialect.length_step(units) / MM_PER[units], 9)
    return max(DIGITS[units], len(step.partition(".")[2]))


def _usual(task: Task) -> list[Path]:
    stem, parts = task.source.path.stem + ("-walk" if task.walk else ""), len(task.plans)
    return [Path(f"{stem}.nc")] if parts == 1 else [Path(f"{stem}-{part}.nc") for part in range(1, parts + 1)]


def _context(task: Task, verdict: Verdict, told: dict[str, Any]) -> dict[str, Any]:
    job = task.job
    rows = len(job.bore) + (0 if task.walk else len(pass_plan(job)))
    planned = sum(isinstance(step, Pause) for plan in task.plans for step in plan.steps)
    return {
        "told": told,
        "job": job,
        "units": UNITS_NAMED[job.units],
        "word": UNIT_WORD[job.units],
        "programs": [Path(name).name for name in told["programs"]],
        "verdict": _verdict(told),
        "findings": told["findings"][:MOST_FINDINGS],
        "style": Markup("".join((PAGES / name).read_text(encoding="utf-8") for name in ("scene.css", "sheet.css"))),
        "pictures": _pictures(job, rows),
        "is_long": rows > MOST_ROWS,
        "key": scene.key(job),
        "dials": None if task.walk else Markup(dials(job)),
        "bores": _bores(job, task, told),
        "more_obstacles": len(job.obstacle) - len(scene.key(job)),
        "named": any(bore.name != str(number) for number, bore in enumerate(job.bore, 1)),
        "has_aim": any(aim_mm(job, bore) != bore.diameter for bore in job.bore),
        "has_limits": any(limits(job, bore) is not None for bore in job.bore),
        "settings": [] if task.walk else _settings(task, told),
        "told_anew": not task.walk and any(may_be_told_anew(job, setting) for setting in pass_plan(job)),
        "planned": planned,
        "stops": _stops(verdict) if told["travel"] else planned,
        "zero": _zero(task, told["digits"]),
        "head": _head(job),
        "speeds": [("spindle", "never turns")] if task.walk else _speeds(job, told),
        "time": _time(told),
        "travel": _travel(told),
        "closest": _closest(told),
        "mounting": checks.mounting(job),
        "first_run": checks.first_run(job, task.post.dialect, walk=task.walk),
        "reaching_in": checks.reaching_in(programs=told["parts"]) if task.walk or len(pass_plan(job)) > 1 else None,
        "who_decides": checks.WHO_DECIDES,
    }


def _stops(verdict: Verdict) -> int:
    """How often the programs, as read back, stop for the operator before their end."""
    halts = sum(isinstance(event, Halt) and not event.optional for event in verdict.timeline.events)
    return halts - (len(verdict.joined.starts) - 1)  # those between programs are none of theirs


def _verdict(told: dict[str, Any]) -> str:
    if not told["ok"]:
        return "NOT PROVED"
    return "PROVED, physics only" if told["physics_only"] else "PROVED"


def _pictures(job: Job, rows: int) -> dict[str, Any]:
    """The two pictures, and how wide to draw them above tables of so many rows, in mm and as parts of that width."""
    side, end = scene.side(job), scene.end(job)
    wide = side.view[2] + end.view[2]
    left_mm = PAGE_MM - ROW_MM * rows if rows <= MOST_ROWS else TALL_MM[1]
    tallest_mm = min(max(left_mm, TALL_MM[0]), TALL_MM[1])
    width_mm = min(WIDEST_MM, tallest_mm * wide / side.view[3])
    return {
        "side": Markup(side.svg),
        "end": Markup(end.svg),
        "side_part": plain(100 * side.view[2] / wide, 3),
        "end_part": plain(100 * end.view[2] / wide, 3),
        "width_mm": plain(width_mm, 2),
        "room_beside": WIDEST_MM - width_mm >= NOTES_MM,
    }


def _show(value: float, told: dict[str, Any]) -> str:
    return fixed(value, told["digits"])


def _bores(job: Job, task: Task, told: dict[str, Any]) -> list[dict[str, str]]:
    per, dialect = MM_PER[job.units], task.post.dialect
    rows = []
    for index, housing in enumerate(housings(job)):
        bore, within = housing.bore, limits(job, housing.bore)
        row = {
            "name": bore.name,
            "start": _show(dialect.round_length(housing.start_x, job.units) / per, told),
            "end": _show(dialect.round_length(housing.end_x, job.units) / per, told),
            "diameter": _show(bore.diameter / per, told),
            "aim": _show(aim_mm(job, bore) / per, told),
            "limits": " to ".join(inward([size / per for size in within], told["digits"])) if within else "",
            "stand": plain(bore.face_turns, 2) if bore.face_turns else "",
        }
        if told["bores"]:
            figures = told["bores"][index]
            row |= {
                "cutter_rpm": span([figures], "cutter_rpm", 1),
                "spindle_rpm": span([figures], "spindle_rpm", 1),
                "feed": span([figures], "feed", 4),
                "feed_per_turn": span([figures], "feed_per_turn", 5),
            }
            if told["physics_only"]:
                row["stand"] = plain(figures["stand_turns"], 2) if figures["stand_turns"] else ""
        rows.append(row)
    return rows


def _settings(task: Task, told: dict[str, Any]) -> list[dict[str, str]]:
    """Every setting of the cutter: when it is made, how, and for what."""
    job, plan = task.job, pass_plan(task.job)
    passes = told["passes"] or [None] * len(plan)
    rows = []
    for number, (setting, figures) in enumerate(zip(plan, passes, strict=True)):
        message = setting_message(job, setting)
        rows.append(
            {
                "when": _when(number, told),
                "what": message[0].upper() + message[1:],
                "bores": runs([index + 1 for index in setting.bores]),
                "depth": _depth(figures, told),
            }
        )
    return rows


def _when(number: int, told: dict[str, Any]) -> str:
    if told["settings"]:
        return f"before program {number + 1}, {Path(told['programs'][number]).name}"
    return "before cycle start" if number == 0 else f"at stop {number}"


def _depth(figures: dict[str, Any] | None, told: dict[str, Any]) -> str:
    if figures is None or not figures["most_depth"]:
        return ""
    low, high = (_show(figures[name], told) for name in ("least_depth", "most_depth"))
    return low if low == high else f"{low} to {high}"


def _zero(task: Task, digits: int) -> list[Fact]:
    job, per, word = task.job, MM_PER[task.job.units], UNIT_WORD[task.job.units]
    zero = job.machine.zero
    y, z = way_top(job, task.post.dialect)
    x = task.post.dialect.round_length(housings(job)[0].start_x, job.units)
    machine = "   ".join(
        f"{axis} {fixed(value / per, digits)}" for axis, value in (("X", zero.x), ("Y", zero.y), ("Z", zero.z))
    )
    over = f"X {fixed(x / per, digits)}  Y {fixed(y / per, digits)}  Z {fixed(z / per, digits)}"
    facts = [
        ("work offset", job.machine.work_offset),
        ("zero", f"at machine  {machine}"),
        ("Y0 Z0", "the bore line; Z up; X is that of the cutting edge"),
        (
            "start",
            f"head above Z {fixed(z / per, digits)} {word}, machine Z {fixed((zero.z + z) / per, digits)}",
        ),
        ("goes first", f"to that height, then to {over}"),
    ]
    angle = job.path.leave_angle
    assert angle != "auto", "settled as the task begins"
    if angle:
        facts.append(
            ("in and out", f"{plain(abs(angle), 3)} degrees from straight up, toward {'+' if angle > 0 else '-'}Y")
        )
    return facts


def _head(job: Job) -> list[Fact]:
    per, word, head = MM_PER[job.units], UNIT_WORD[job.units], job.head

    def show(value_mm: float) -> str:
        return plain(value_mm / per, DIGITS[job.units])

    facts = [
        ("bar points", f"{head.points}, and feeds that way"),
        ("ratio", f"{head.ratio:g} spindle turns for one cutter turn"),
        ("output turns", "opposite to the spindle" if head.reverses else "with the spindle"),
        ("most", f"{plain(head.max_rpm, 1)} rpm of the cutter"),
        ("bar", f"diameter {show(job.bar.diameter)} {word}, {job.bar.hand}-hand cutter"),
        ("reach", "not told" if head.reach is None else f"{show(head.reach)} {word}, edge to the head's face"),
    ]
    if head.body is not None:
        body = head.body
        sizes = f"{show(body.length)} long, {show(body.width)} wide, {show(body.above)} up, {show(body.below)} down"
        facts.append(("body", f"{sizes}, {word}"))
    return facts


def _speeds(job: Job, told: dict[str, Any]) -> list[Fact]:
    word, bores, own = _word(told), told["bores"], told["physics_only"]
    if not span(bores, "spindle_rpm", 1):
        return [("speeds", "not known: the program cuts no bore")]
    # Which way the cutter turns is the job's to tell where the spindle turns as the job has it.
    cutter = f", {WORDS[cutter_sense(job)]} seen from the head" if told["sense"] == spindle_sense(job).value else ""
    spindle = f", {told['sense']}, {SENSES[told['sense']]} seen from above" if told["sense"] else ""
    feeds = f"{span(bores, 'feed', 4)} {word}/min, {span(bores, 'feed_per_turn', 5)} {word} a cutter turn"
    return [
        ("cutter", f"{span(bores, 'cutter_rpm', 1)} rpm{cutter}"),
        ("spindle", f"{span(bores, 'spindle_rpm', 1)} rpm{spindle}"),
        ("feed", feeds),
        *([("these", "are the program's own, not the job's")] if own else []),
    ]


def _word(told: dict[str, Any]) -> str:
    """The unit of length of figures, as it stands behind a number."""
    return UNIT_WORD[told["units"]]


def _time(told: dict[str, Any]) -> str | None:
    if not told["travel"]:
        return None
    if told["walk"]:
        return f"{minutes(told['cycle_time_s'])} of moving, without the stops"
    return f"{minutes(told['cycle_time_s'])} in all, {minutes(told['cut_time_s'])} in the cut, without stops"


def _travel(told: dict[str, Any]) -> list[dict[str, Any]]:
    places = tightest(told)[1] if told["travel"] else {}
    return [
        {
            "axis": axis.upper(),
            **{name: _show(extent[name], told) for name in ("min", "max", "low_margin", "high_margin")},
            "tight": places.get(axis.upper(), []),
        }
        for axis, extent in told["travel"].items()
    ]


def _closest(told: dict[str, Any]) -> str | None:
    near = told["closest"]
    if near is None:
        return None
    program = f"program {near['program']}, " if told["parts"] > 1 else ""
    apart = f"{_show(near['distance'], told)} {_word(told)} between {near['part']} and {near['obstacle']}"
    return f"{apart}, {program}line {near['line']}: {near['why']}"
