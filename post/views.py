"""Steps as a template sees them, and what a dialect has no words for."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from post.dialect import Dialect
from post.motion import BoreAlongX, Dwell, Feed, Pause, Plan, Rapid, Remark, Spindle, SpindleStop, Step
from post.units import MM_PER


class CannotExpressError(Exception):
    """A plan that a dialect has no words for; the text is the reason, for a person."""


class Written:
    """One step as a template sees it: its fields, by name, numbers in what the program's words count.

    All have ``kind``. rapid, feed: ``x``, ``y``, ``z`` (None where the axis stays), feed also ``feed``. bore:
    ``cycle``, ``start_x``, ``end_x``, ``y``, ``z``, ``dwell`` (None where the cycle takes none), ``feed``. spindle:
    ``speed``, ``word``. stop. oriented stop: ``word``, ``letter``, ``angle``. dwell: ``dwell``. pause: ``message``.
    remark: ``text``. All but the last two: ``why``.
    """

    __slots__ = ("fields",)

    def __init__(self, fields: dict[str, Any]) -> None:
        self.fields = fields


def refusal(plan: Plan, dialect: Dialect) -> str | None:
    """Why a dialect cannot express the steps of a plan, in words; None when it can."""
    try:
        for _ in written_steps(plan, dialect):
            pass
    except CannotExpressError as error:
        return str(error)
    return None


def written_steps(plan: Plan, dialect: Dialect) -> Iterator[Written]:
    """A plan's steps for a template. Raises CannotExpressError."""
    _check_words(plan, dialect)
    view = _View(plan, dialect)
    for step in plan.steps:
        if not isinstance(step, BoreAlongX):
            yield Written(view.fields(step))
        elif dialect.cycles:
            yield Written(view.cycle(step))
        else:
            for simple in step.expand():
                yield Written(view.fields(simple))


def _check_words(plan: Plan, dialect: Dialect) -> None:
    """The codes that every program of a plan must have."""
    if plan.work_offset in dialect.refuses:
        raise CannotExpressError(f"the job's work offset is {plan.work_offset}, which this control refuses")


class _View:
    """Steps in what the words of one program count; the spindle's speed is followed from step to step."""

    def __init__(self, plan: Plan, dialect: Dialect) -> None:
        self.per = MM_PER[plan.units]
        self.units = plan.units
        self.dialect = dialect
        self.rpm = 0.0

    def fields(self, step: Step) -> dict[str, Any]:
        """The fields of a step that stands for itself."""
        return _FIELDS[type(step)](self, step)

    def rapid(self, step: Rapid) -> dict[str, Any]:
        (x, y, z), per = step.to, self.per
        if x is None or y is None or z is None:
            return {"kind": "rapid", "x": self._length(x), "y": self._length(y), "z": self._length(z), "why": step.why}
        return {"kind": "rapid", "x": x / per, "y": y / per, "z": z / per, "why": step.why}

    def feed(self, step: Feed) -> dict[str, Any]:
        feed = self._feed(step.mm_per_min, step.why)
        return {**self.rapid(Rapid(step.to, step.why)), "kind": "feed", "feed": feed}

    def spindle(self, step: Spindle) -> dict[str, Any]:
        self.rpm = step.rpm
        return {"kind": "spindle", "speed": step.rpm, "word": step.sense.value, "why": step.why}

    def stop(self, step: SpindleStop) -> dict[str, Any]:
        self.rpm = 0.0
        if step.at_angle is None:
            return {"kind": "stop", "why": step.why}
        stop = self.dialect.oriented_stop
        if stop is None:
            raise CannotExpressError(
                "the job lifts the cutter off the wall, which needs a spindle stop at a known angle, and this post has"
                " no word for one (RS-274/NGC itself has no M19)"
            )
        angle = step.at_angle
        return {"kind": "oriented stop", "word": stop.code, "letter": stop.angle, "angle": angle, "why": step.why}

    def dwell(self, step: Dwell) -> dict[str, Any]:
        return {"kind": "dwell", "dwell": self._dwell(step.seconds, step.why), "why": step.why}

    def pause(self, step: Pause) -> dict[str, Any]:
        if self.dialect.comments.form == "none":
            raise CannotExpressError("the program stops with a message, and this control takes no comments")
        told = len(f"M0{self.dialect.comments.message} {step.message}")
        if told > self.dialect.comment_room:
            raise CannotExpressError(
                f'the stop that says "{step.message}" takes {told + 2} characters, and lines of this control have'
                f' {self.dialect.lines.length}; write new_setting = "file", or give the bores shorter names'
            )
        return {"kind": "pause", "message": step.message, "why": step.why}

    def remark(self, step: Remark) -> dict[str, Any]:
        return {"kind": "remark", "text": step.text}

    def cycle(self, step: BoreAlongX) -> dict[str, Any]:
        """The fields of a bore as a fixed cycle."""
        if step.withdraw == "lift":
            raise CannotExpressError("no fixed cycle lifts the cutter off the wall along X")
        if step.end_x > step.start_x:
            raise CannotExpressError("the fixed cycles bore toward -X only, and this job feeds toward +X")
        code = "G86" if step.withdraw == "still" else "G89" if step.dwell_s > 0 else "G85"
        if code not in self.dialect.cycles:
            raise CannotExpressError(f"{step.why} needs the fixed cycle {code}, which this control does not have")
        return {
            "kind": "bore",
            "cycle": code,
            "start_x": self._length(step.start_x),
            "end_x": self._length(step.end_x),
            "y": self._length(step.y),
            "z": self._length(step.z),
            "dwell": None if code == "G85" else self._dwell(step.dwell_s, step.why),
            "feed": self._feed(step.mm_per_min, step.why),
            "why": step.why,
        }

    def _length(self, length_mm: float | None) -> float | None:
        return None if length_mm is None else length_mm / self.per

    def _feed(self, mm_per_min: float, why: str) -> float:
        if self.dialect.feed_per_turn and not self.rpm:
            raise CannotExpressError(f"{why}: a feed a spindle turn needs the spindle turning")
        return mm_per_min / self.dialect.feed_scale(self.units, self.rpm)

    def _dwell(self, seconds: float, why: str) -> float:
        if self.dialect.dwell.unit == "turns" and not self.rpm:
            raise CannotExpressError(f"{why}: a dwell in spindle turns needs the spindle turning")
        return seconds / self.dialect.dwell_scale_s(self.rpm)


_FIELDS: Final[Mapping[type, Callable[[_View, Any], dict[str, Any]]]] = {
    Rapid: _View.rapid,
    Feed: _View.feed,
    Spindle: _View.spindle,
    SpindleStop: _View.stop,
    Dwell: _View.dwell,
    Pause: _View.pause,
    Remark: _View.remark,
}
