"""Steps into text: a plan, a dialect and a template make a program.

A template sees ``header`` (lines of plain text), ``unit_word``, ``work_offset``, and ``steps``: one ``Written`` a step,
whose numbers are finished strings in the program's unit, so that no template rounds or formats anything.
"""

import time
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final, NamedTuple

from jinja2 import StrictUndefined, TemplateError, TemplateSyntaxError
from jinja2.exceptions import SecurityError
from jinja2.sandbox import ImmutableSandboxedEnvironment, safe_range

from post.dialect import ANGLE_STEP_DEG, Dialect, decimals
from post.motion import BoreAlongX, Dwell, Feed, Pause, Plan, Rapid, Remark, Spindle, SpindleStop, Step
from post.units import MM_PER, Units
from post.userfile import InputError

UNIT_CODE: Final[Mapping[Units, str]] = {"mm": "G21", "inch": "G20"}
CHARACTERS_A_STEP: Final = 1_000
"""Most text a template may write, for each step of the plan and as much again to start with a hundred times."""
SECONDS: Final = 20.0
"""Longest a template may take; 5,000 bores take about one."""


_TEMPLATE_FAILURES: Final = (
    TemplateError,
    SecurityError,
    ArithmeticError,
    LookupError,
    TypeError,
    ValueError,
    AttributeError,
    RecursionError,
    MemoryError,
)
"""What a template's own mistakes raise while it runs."""


class CannotExpressError(Exception):
    """A plan that a dialect has no words for; the text is the reason, for a person."""


class Words(NamedTuple):
    """Numbers as text, for one dialect and one unit: fixed digits, no minus zero."""

    length_digits: int
    feed_digits: int
    speed_digits: int
    dwell_digits: int
    mm_per_unit: float

    @classmethod
    def of(cls, dialect: Dialect, units: Units) -> "Words":
        """The number formats of a dialect in a unit."""
        steps = dialect.steps(units)
        return cls(
            decimals(steps.length),
            decimals(steps.feed),
            decimals(dialect.resolution.speed),
            decimals(dialect.resolution.dwell),
            MM_PER[units],
        )

    def length(self, length_mm: float) -> str:
        """A coordinate in the program's unit."""
        return _fixed(length_mm / self.mm_per_unit, self.length_digits)

    def feed(self, mm_per_min: float) -> str:
        """A feed in the program's unit a minute."""
        return _fixed(mm_per_min / self.mm_per_unit, self.feed_digits)

    def speed(self, rpm: float) -> str:
        """A spindle speed."""
        return _fixed(rpm, self.speed_digits)

    def seconds(self, seconds: float) -> str:
        """A dwell."""
        return _fixed(seconds, self.dwell_digits)


def _fixed(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return text[1:] if text.startswith("-") and float(text) == 0 else text


class Written:
    """One step as a template sees it: ``kind`` and the fields of that kind, all text.

    rapid, feed: ``place`` ("X1.000 Y0.000 Z0.000") and ``x``, ``y``, ``z`` ("" where the axis stays), feed also
    ``feed``. bore: ``cycle``, ``start_x``, ``end_x``, ``y``, ``z``, ``seconds`` ("" where the cycle takes none),
    ``feed``. spindle: ``speed``, ``word``. stop. oriented stop: ``word``. dwell: ``seconds``. pause: ``message``.
    remark: ``text``. All but the last two: ``why``.
    """

    def __init__(self, kind: str, **fields: str) -> None:
        self.kind = kind
        self.__dict__.update(fields)


def write(plan: Plan, header: Sequence[str], dialect: Dialect, template: Path) -> str:
    """The program's text.

    Raises CannotExpressError when the dialect has no words for a step, and InputError, with the template's file and
    line and the step being written, when the template fails, writes too much or writes what no control takes.
    """
    clock = _Clock()
    steps = _Progress(list(_written_steps(plan, dialect)), clock)
    try:
        text = _bounded(_compiled(template), steps, clock, header, plan)
    except OSError as error:
        raise InputError(f"this template cannot be read ({error.strerror})", file=template) from None
    except UnicodeDecodeError:
        raise InputError("this template is no text; save it as UTF-8", file=template) from None
    except _TEMPLATE_FAILURES as error:
        raise InputError(
            f"the template failed while writing {steps.current}: {error}", file=template, line=_template_line(error)
        ) from None
    _check_text(text, dialect, template)
    return text


def refusal(plan: Plan, dialect: Dialect) -> str | None:
    """Why a dialect cannot express a plan, in words; None when it can."""
    try:
        for _ in _written_steps(plan, dialect):
            pass
    except CannotExpressError as error:
        return str(error)
    return None


def _written_steps(plan: Plan, dialect: Dialect) -> Iterator[Written]:
    words = Words.of(dialect, plan.units)
    for step in plan.steps:
        if not isinstance(step, BoreAlongX):
            yield _written(step, words, dialect)
        elif dialect.cycles:
            yield _cycle(step, words, dialect)
        else:
            for simple in step.expand():
                yield _written(simple, words, dialect)


def _written(step: Step, words: Words, dialect: Dialect) -> Written:
    match step:
        case Rapid(to, why):
            return Written("rapid", **_place(to, words), why=dialect.comment(why))
        case Feed(to, mm_per_min, why):
            return Written("feed", **_place(to, words), feed=words.feed(mm_per_min), why=dialect.comment(why))
        case Spindle(rpm, sense, why):
            return Written("spindle", speed=words.speed(rpm), word=sense.value, why=dialect.comment(why))
        case SpindleStop(why, None):
            return Written("stop", why=dialect.comment(why))
        case SpindleStop(why, angle):
            return Written("oriented stop", word=_oriented_stop(angle, dialect), why=dialect.comment(why))
        case Dwell(seconds, why):
            return Written("dwell", seconds=words.seconds(seconds), why=dialect.comment(why))
        case Pause(message, why):
            return Written("pause", message=dialect.comment(message), why=dialect.comment(why))
        case Remark(text):
            return Written("remark", text=dialect.comment(text))
    raise AssertionError(step)


def _place(to: tuple[float | None, ...], words: Words) -> dict[str, str]:
    axes = {axis: "" if value is None else words.length(value) for axis, value in zip("xyz", to, strict=True)}
    return {**axes, "place": " ".join(f"{axis.upper()}{text}" for axis, text in axes.items() if text)}


def _oriented_stop(angle: float | None, dialect: Dialect) -> str:
    if dialect.oriented_stop is None:
        raise CannotExpressError(
            "the job lifts the cutter off the wall, which needs a spindle stop at a known angle, and this post has no"
            " word for one (RS-274/NGC itself has no M19)"
        )
    return f"{dialect.oriented_stop.code} {dialect.oriented_stop.angle}{_fixed(angle or 0.0, decimals(ANGLE_STEP_DEG))}"


def _cycle(step: BoreAlongX, words: Words, dialect: Dialect) -> Written:
    if step.withdraw == "lift":
        raise CannotExpressError("no fixed cycle lifts the cutter off the wall along X")
    if step.end_x > step.start_x:
        raise CannotExpressError("the fixed cycles bore toward -X only, and this job feeds toward +X")
    code = "G86" if step.withdraw == "still" else "G89" if step.dwell_s > 0 else "G85"
    if code not in dialect.cycles:
        raise CannotExpressError(f"{step.why} needs the fixed cycle {code}, which this control does not have")
    return Written(
        "bore",
        cycle=code,
        start_x=words.length(step.start_x),
        end_x=words.length(step.end_x),
        y=words.length(step.y),
        z=words.length(step.z),
        seconds="" if code == "G85" else words.seconds(step.dwell_s),
        feed=words.feed(step.mm_per_min),
        why=dialect.comment(step.why),
    )


class _Clock:
    """What a template has left of its time: looked at on every turn of a loop, for one that writes nothing too."""

    def __init__(self) -> None:
        self._until = time.monotonic() + SECONDS

    def check(self) -> None:
        """Raise ValueError when the time is up."""
        if time.monotonic() > self._until:
            raise ValueError(f"it takes longer than {SECONDS:g} seconds; does it loop?")

    def range(self, *bounds: int) -> Iterator[int]:
        """Jinja2's bounded range, on the clock."""
        for number in safe_range(*bounds):
            self.check()
            yield number


class _Progress(Sequence[Written]):
    """The steps as a template walks them, keeping which one it is at."""

    def __init__(self, steps: list[Written], clock: _Clock) -> None:
        self._steps = steps
        self._clock = clock
        self._at = -1

    def __len__(self) -> int:
        return len(self._steps)

    def __getitem__(self, index: Any) -> Any:
        return self._steps[index]

    def __iter__(self) -> Iterator[Written]:
        for at, step in enumerate(self._steps):
            self._at = at
            self._clock.check()
            yield step

    @property
    def current(self) -> str:
        """The step being written, in words."""
        if self._at < 0:
            return "the opening"
        step = self._steps[self._at]
        what = getattr(step, "why", "") or getattr(step, "message", "") or getattr(step, "text", "")
        return f"step {self._at + 1}, {step.kind} ({what})"


@cache
def _environment() -> ImmutableSandboxedEnvironment:
    return ImmutableSandboxedEnvironment(
        undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True, autoescape=False
    )


def _compiled(path: Path) -> Any:
    environment = _environment()
    try:
        code = environment.compile(path.read_text(encoding="utf-8"), path.name, str(path))
    except (TemplateSyntaxError, SyntaxError) as error:
        says = error.message if isinstance(error, TemplateSyntaxError) else error.msg
        raise InputError(f"the template cannot be understood: {says}", file=path, line=error.lineno) from None
    except (RecursionError, MemoryError):
        raise InputError("the template cannot be understood: it nests too deep", file=path) from None
    return environment.template_class.from_code(environment, code, environment.make_globals(None))


def _bounded(compiled: Any, steps: _Progress, clock: _Clock, header: Sequence[str], plan: Plan) -> str:
    most = CHARACTERS_A_STEP * (len(steps) + 100)
    pieces, size = [], 0
    seen = {"steps": steps, "header": list(header), "unit_word": UNIT_CODE[plan.units], "work_offset": plan.work_offset}
    for piece in compiled.generate(**seen, range=clock.range):
        clock.check()
        pieces.append(piece)
        size += len(piece)
        if size > most:
            raise ValueError(f"it writes more than {most} characters for {len(steps)} steps; does it loop?")
    return "".join(pieces)


def _template_line(error: BaseException) -> int | None:
    """Line of the template at which a run-time error arose."""
    line, trace = None, error.__traceback__
    while trace is not None:
        if trace.tb_frame.f_code.co_filename.endswith(".j2"):
            line = trace.tb_lineno
        trace = trace.tb_next
    return line


def _check_text(text: str, dialect: Dialect, template: Path) -> None:
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > dialect.line_length:
            raise InputError(
                f"line {number} of the program would be {len(line)} characters long; the control takes"
                f" {dialect.line_length}: {line[:60]}...",
                file=template,
            )
        if not line.isascii():
            raise InputError(f"line {number} of the program would not be ASCII: {line[:60]}", file=template)
