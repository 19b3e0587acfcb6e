"""The head of a program, for the person who loads it: what it is, what it assumes, what to take care of."""

import hashlib
import textwrap
from collections.abc import Iterable, Iterator
from typing import Any, Final

from gen.job import Job
from gen.passes import Setting, pass_plan
from gen.planner import slanted_lift, slanted_way
from gen.settingwords import setting_message, show_setting
from gen.speeds import spindle_sense
from gen.unchecked import unchecked
from post.dialect import Dialect
from post.posts import Post
from post.units import MM_PER, UNIT_WORD, plain

CAUTIONS: Final = (
    "Before the first cut: dry run with the cutter out or the work zero raised, single block, rapid override low.",
    "Guards shut; stand clear of the right-angle head; nobody inside while anything can move.",
    "Local rules and the makers' manuals of mill, head and cutter come first.",
)
REACHING_IN: Final = (
    "before reaching in: emergency stop or lock out as the shop requires; mind the cutter's edge;"
    " everyone clear of the head before cycle start."
)
AT_STOPS: Final = f"At each stop, {REACHING_IN}"
BETWEEN: Final = f"Between programs, {REACHING_IN}"


WALK: Final = "Walk-through: visits the start of every bore and stops there; the spindle never turns."

REJECTED: Final = "NOT PROVED - DO NOT RUN"
"""First line of a program that did not prove: no words of any program, so that a control stops at it."""


def rejected(text: str) -> str:
    """A program that did not prove, made to look at only.

    A remark or a tape mark on its first line gives way, so that lines keep their numbers; before any other first line
    one is put.
    """
    first, _, rest = text.partition("\n")
    return f"{REJECTED}\n{rest if first[:1] in ('(', ';', '%') else text}"


def _not_in_program(job: Job) -> Any:
    """What a job tells that no program follows from: the line to bore on, and centres but for passes.

    A centre that is not told is left out, too, so that jobs without any keep the fingerprint they had.
    """
    no_part = [index for index, bore in enumerate(job.bore) if job.passes is None or bore.centre is None]
    return {"line": True, "bore": {index: {"centre"} for index in no_part}}


def fingerprint(job: Job, post: Post, *, walk: bool) -> str:
    """Twelve hexadecimal digits that change with the job, the post or the kind of program."""
    digest = hashlib.sha256()
    for part in (
        job.model_dump_json(exclude=_not_in_program(job)).encode(),
        post.dialect_path.read_bytes(),
        post.template.read_bytes(),
    ):
        digest.update(len(part).to_bytes(8, "big") + part)
    digest.update(b"walk" if walk else b"bore")
    return digest.hexdigest()[:12]


def header(job: Job, post: Post, *, walk: bool, part: int = 1, parts: int = 1) -> list[str]:
    """The program's opening remarks, each short enough for a comment of the post's control.

    ``part`` says which of so many programs of the job it is.
    """
    return _in_lines(_remarks(job, post, walk, part, parts), post.dialect)


def settings_told(job: Job, dialect: Dialect, *, part: int = 1, parts: int = 1) -> list[str]:
    """Those of the opening remarks that tell how the cutter is to be set for a program that bores."""
    return _in_lines(_settings(job, part, parts), dialect)


def walk_told(dialect: Dialect) -> list[str]:
    """Those of the opening remarks that tell that a program is a walk-through."""
    return _in_lines([WALK], dialect)


def _in_lines(remarks: Iterable[str], dialect: Dialect) -> list[str]:
    room = min(dialect.comment_room, 100)
    return [line for text in remarks for line in textwrap.wrap(dialect.comment(text), room)]


def _first_setting(job: Job, group: Setting) -> str:
    """The setting a program begins with; a diameter by itself is told as the job tells it."""
    if job.passes is None and (job.size is None or job.size.setting == "bore"):
        return f"diameter {plain(group.diameter_mm / MM_PER[job.units], 4)} {UNIT_WORD[job.units]}"
    return show_setting(job, group.diameter_mm)


def _settings(job: Job, part: int, parts: int) -> Iterator[str]:
    setting = pass_plan(job)[part - 1]
    first = f"; set for {_first_setting(job, setting)} to begin with"
    if parts > 1:
        first = ""  # said already, and it holds to the program's end
        yield f"Program {part} of {parts}, to be run in order. Before this one: {setting_message(job, setting)}."
    elif job.passes is not None:
        yield f"Before cycle start: {setting_message(job, setting)}."
    yield f"Cutter: {job.bar.hand}-hand, so {spindle_sense(job).value}{first}."


def _straight_instead(job: Job, post: Post, walk: bool) -> Iterator[str]:
    """What to write in the job in place of rapids that move two axes at once below the clearance height."""
    if slanted_way(job, post.dialect):
        yield "use leave_angle = 0"
    if slanted_lift(job, post.dialect) and not walk:
        yield "lift along Y or Z alone"


def _remarks(job: Job, post: Post, walk: bool, part: int, parts: int) -> Iterator[str]:
    per, word = MM_PER[job.units], "mm" if job.units == "mm" else "inches"
    plan = pass_plan(job)
    zero = " ".join(
        f"{axis}{plain(value / per, 4)}"
        for axis, value in (("X", job.machine.zero.x), ("Y", job.machine.zero.y), ("Z", job.machine.zero.z))
    )
    yield f"Job: {job.name}"
    if walk:
        yield WALK
    yield f"Post {post.name}, fingerprint of job and post {fingerprint(job, post, walk=walk)}"
    yield f"Lengths in {word}. Program zero: {job.machine.work_offset}, at machine {zero}"
    yield "X is the cutting edge, along the row; Y0 Z0 is the bore line; Z up. Tool length offset: none."
    yield (
        f"Head: bar points {job.head.points}; {job.head.ratio:g} spindle turns for one cutter turn;"
        f" output turns {'opposite to' if job.head.reverses else 'with'} the spindle."
    )
    if not walk:
        yield from _settings(job, part, parts)
    lift = job.path.lift
    if lift is not None and not walk:
        dy, dz = (plain(shift / per, 4) for shift in lift.shift_mm)
        yield (
            f"Lift: stopped at spindle angle {plain(lift.angle, 3)} the cutter must point away from Y{dy} Z{dz}, where"
            " the bar is moved. Check it by hand, out of the bore, before the first cut."
        )
    yield "Start with the head above the clearance height, clear of the block; no G92 offset may be active."
    yield "The program does not wait for the spindle to start or stop: see that the control does."
    remedies = list(_straight_instead(job, post, walk))
    if remedies:
        yield (
            "Rapids must run straight in all axes at once, no dogleg: try it above the block first;"
            f" else {' and '.join(remedies)}."
        )
    for gap in unchecked(job, post.dialect, walk=walk):
        yield f"Not checked: {gap}."
    if walk:
        yield "Put the indicator on at a stop only; take it off before cycle start: the proof does not count it."
    if walk or len(plan) > 1:
        yield AT_STOPS if parts == 1 else BETWEEN
    yield from CAUTIONS
