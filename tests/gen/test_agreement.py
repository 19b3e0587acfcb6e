"""Plan and timeline held against each other, deed by deed."""

import math
import re
from dataclasses import replace
from itertools import count
from typing import Final

import pytest

from gen.agreement import LOOK_AHEAD, MOST, Deed, agree, done_deeds, planned_deeds
from gen.job import Job
from post.dialect import Dialect, DwellWord
from post.finding import Finding
from post.motion import BoreAlongX, Dwell, Feed, Lift, Pause, Plan, Rapid, Remark, Sense, Spindle, SpindleStop, Step
from post.posts import find, shipped
from post.reader import read
from post.replay import replay
from post.timeline import (
    STOPPED,
    End,
    Event,
    Halt,
    Move,
    OffsetChange,
    Point,
    Spin,
    SpinChange,
    Timeline,
    Wait,
)
from post.units import Units
from tests.jobs import make_job
from tests.programs import DROPPED, SETTINGS, STILL, able, posted, task_of

MM: Final = find("longhand").dialect
PER_TURN: Final = find("per-turn").dialect
NOWHERE: Final = (math.nan, math.nan, math.nan)
TURNING: Final = Spin(760.0, Sense.COUNTERCLOCKWISE, None)


def plan_of(*steps: Step, units: Units = "mm") -> Plan:
    return Plan(steps, units, "G54")


def found(plan: Plan, *events: Event, dialect: Dialect = MM) -> list[Finding]:
    lines = [f"line {number}" for number in range(1, 1 + max((event.line for event in events), default=1))]
    return agree(plan, Timeline(list(events)), dialect, lines)


def told(findings: list[Finding]) -> list[tuple[str, int, str, str]]:
    return [(finding.rule, finding.line, finding.found, finding.expected) for finding in findings]


def carried_out(plan: Plan) -> list[Event]:
    """What a machine does that does just what is planned, each deed on its own line."""
    at: Point = NOWHERE
    spin, events, lines = STOPPED, list[Event](), count(1)
    for step in plan.simple():
        line = next(lines)
        match step:
            case Rapid(to, _) | Feed(to, _, _):
                x, y, z = (old if new is None else new for old, new in zip(at, to, strict=True))
                if (x, y, z) != at:
                    events.append(Move(line, at, (x, y, z), step.mm_per_min if isinstance(step, Feed) else None, spin))
                at = (x, y, z)
            case Spindle(rpm, sense, _):
                spin = Spin(rpm, sense, None)
                events.append(SpinChange(line, spin))
            case SpindleStop(_, angle):
                spin = Spin(0.0, None, angle)
                events.append(SpinChange(line, spin))
            case Dwell(seconds, _):
                events.append(Wait(line, seconds, spin))
            case Pause(message, _):
                events.append(Halt(line, message, False, spin))
    return [*events, End(next(lines), spin)]


DOWN: Final = (
    Rapid((None, None, 160.0), "up"),
    Rapid((3.0, 0.0, 160.0), "over"),
    Rapid((3.0, 0.0, 0.0), "down"),
)
BORE: Final = (
    *DOWN,
    Spindle(760.0, Sense.COUNTERCLOCKWISE, "on"),
    BoreAlongX(3.0, -30.0, 0.0, 0.0, 38.0, 0.64, "feed", "bore 1"),
    SpindleStop("off"),
    Rapid((3.0, 0.0, 160.0), "up"),
)


def test_deeds_of_a_plan() -> None:
    deeds = list(planned_deeds(plan_of(Remark("bore 1"), *BORE, Pause("set 90", "why"))))
    assert [(deed.kind, deed.end, deed.feed, deed.seconds, deed.message, deed.spin) for deed in deeds[1:]] == [
        ("rapid", (3.0, 0.0, 160.0), 0.0, 0.0, "", STOPPED),
        ("rapid", (3.0, 0.0, 0.0), 0.0, 0.0, "", STOPPED),
        ("spindle start", (3.0, 0.0, 0.0), 0.0, 0.0, "", TURNING),
        ("feed", (-30.0, 0.0, 0.0), 38.0, 0.0, "", TURNING),
        ("dwell", (-30.0, 0.0, 0.0), 0.0, 0.64, "", TURNING),
        ("feed", (3.0, 0.0, 0.0), 38.0, 0.0, "", TURNING),
        ("rapid", (3.0, 0.0, 160.0), 0.0, 0.0, "", STOPPED),
        ("pause", (3.0, 0.0, 160.0), 0.0, 0.0, "set 90", STOPPED),
    ]
    first = deeds[0]
    assert first.kind == "rapid"
    assert first.end[2] == 160.0
    assert all(map(math.isnan, first.end[:2]))


def test_steps_that_change_nothing_are_no_deeds() -> None:
    still = Rapid((3.0, 0.0, 0.0), "again")
    again = Spindle(760.0, Sense.COUNTERCLOCKWISE, "again")
    bare = list(planned_deeds(plan_of(*BORE)))
    wordy: list[Step] = [*DOWN, still, SpindleStop("off"), BORE[3], again, *BORE[4:], SpindleStop("off")]
    assert [deed[2:] for deed in planned_deeds(plan_of(*wordy))][1:] == [deed[2:] for deed in bare][1:]


@pytest.mark.parametrize("job", [make_job(), SETTINGS, STILL, DROPPED], ids=["feed", "settings", "still", "lift"])
def test_a_machine_that_does_the_plan_agrees_with_it(job: Job) -> None:
    for name in shipped():
        plan = task_of(job, name).plans[0]
        assert found(plan, *carried_out(plan), dialect=find(name).dialect) == []


def test_every_way_of_writing_a_plan_comes_to_the_same_deeds() -> None:
    """Exactly, where numbers are rounded alike and no program is parted; tests.gen.test_same_motion has the others."""
    for job in (make_job(), SETTINGS, STILL):
        rows = []
        for name in able(job):
            dialect = find(name).dialect
            if dialect.feed_modes[0] == "G94" and dialect.new_setting == "stop":
                timeline = replay(read(posted(job, name), dialect), dialect)
                rows.append([_unsaid(deed) for deed in done_deeds(timeline)])
        assert len(rows) == 4
        assert all(row[1:] == rows[0][1:] for row in rows)


def _unsaid(deed: Deed) -> Deed:
    """A deed without its line and without the case of its message, in which controls differ."""
    return deed._replace(line=0, message=deed.message.upper())


def test_the_start_that_ends_a_cycle_is_no_deed_but_one_after_it_is() -> None:
    move = Move(5, (3.0, 0.0, 0.0), (-30.0, 0.0, 0.0), 38.0, TURNING)
    out = Move(5, (-30.0, 0.0, 0.0), (3.0, 0.0, 0.0), None, STOPPED)
    cycle: list[Event] = [move, SpinChange(5, STOPPED), out, SpinChange(5, TURNING)]
    assert [deed.kind for deed in done_deeds(Timeline(cycle))] == ["feed", "rapid"]
    assert [deed.kind for deed in done_deeds(Timeline([*cycle[:3], SpinChange(6, TURNING)]))][-1] == "spindle start"
    left: list[Event] = [*cycle, Move(7, (3.0, 0.0, 0.0), (3.0, 0.0, 160.0), None, TURNING)]
    plan = plan_of(*DOWN, BORE[3], BoreAlongX(3.0, -30.0, 0.0, 0.0, 38.0, 0.0, "still", "bore 1"), *BORE[5:])
    before = carried_out(plan)[:4]
    assert [(rule, line) for rule, line, *_ in told(found(plan, *before, *left))] == [("speed-differs", 7)]


def test_work_offsets_and_the_end_are_not_the_plan_s_to_judge() -> None:
    plan = plan_of(*BORE)
    events = [*carried_out(plan)[:-1], OffsetChange(90, "G54"), End(91, STOPPED)]
    assert found(plan, *events) == []


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_half_a_step_of_the_control_is_the_most_that_agrees(units: Units) -> None:
    step = 0.001 if units == "mm" else 0.0001 * 25.4
    plan = plan_of(*BORE, units=units)
    done = carried_out(plan)
    at = next(place for place, event in enumerate(done) if isinstance(event, Move) and event.feed is not None)
    move = done[at]
    assert isinstance(move, Move)
    for axis in range(3):
        for sign in (1, -1):
            for off, rules in ((0.49, []), (0.51, ["path-differs"])):
                end = [value + sign * off * step * (place == axis) for place, value in enumerate(move.end)]
                edited = [*done[:at], move._replace(end=(end[0], end[1], end[2])), *done[at + 1 :]]
                assert [finding.rule for finding in found(plan, *edited)] == rules
    for off, rules in ((0.49, []), (-0.49, []), (0.51, ["feed-differs"]), (-0.51, ["feed-differs"])):
        edited = [*done[:at], move._replace(feed=38.0 + off * step), *done[at + 1 :]]
        assert [finding.rule for finding in found(plan, *edited)] == rules


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("off", [0.49, -0.49, 0.51, -0.51])
def test_half_a_step_of_a_feed_a_spindle_turn_counts_at_the_spindle_s_speed(units: Units, off: float) -> None:
    """At 760 rev/min a step of 0.0001 mm a turn is 0.076 mm/min, one of 0.000001 in is 0.00076 in/min."""
    step_mm_per_min = 0.076 if units == "mm" else 0.00076 * 25.4
    plan = plan_of(*BORE, units=units)
    done = carried_out(plan)
    at = next(place for place, event in enumerate(done) if isinstance(event, Move) and event.feed is not None)
    move = done[at]
    assert isinstance(move, Move)
    edited = [*done[:at], move._replace(feed=38.0 + off * step_mm_per_min), *done[at + 1 :]]
    rules = [finding.rule for finding in found(plan, *edited, dialect=PER_TURN)]
    assert rules == ([] if abs(off) < 0.5 else ["feed-differs"])


def test_a_rapid_with_the_spindle_stopped_agrees_where_feeds_count_turns() -> None:
    plan = plan_of(*DOWN)
    assert found(plan, *carried_out(plan), dialect=PER_TURN) == []


@pytest.mark.parametrize(
    ("seconds", "rule"), [(0.636, None), (0.644, None), (0.634, "dwell-short"), (0.646, "dwell-long")]
)
def test_half_a_step_of_the_dwell_word(seconds: float, rule: str | None) -> None:
    assert rules_of_dwell(seconds, MM) == ([rule] if rule else [])


@pytest.mark.parametrize(("off", "rule"), [(0.49, None), (-0.49, None), (0.51, "dwell-long"), (-0.51, "dwell-short")])
@pytest.mark.parametrize(
    ("word", "step_s"),
    [
        ({"unit": "turns", "step": 0.01}, 0.01 / 760 * 60),
        ({"unit": "turns", "step": 1.0}, 1 / 760 * 60),
        ({"unit": "milliseconds", "step": 1.0}, 0.001),
        ({"unit": "seconds", "step": 0.1, "word": "X"}, 0.1),
    ],
    ids=["hundredths of a turn", "whole turns", "milliseconds", "tenths of a second"],
)
def test_half_a_step_of_what_the_dwell_word_counts(
    word: dict[str, object], step_s: float, off: float, rule: str | None
) -> None:
    """Turns are the spindle's, at the 760 rev/min it turns with."""
    dialect = MM.model_copy(update={"dwell": DwellWord.model_validate(word)})
    assert rules_of_dwell(0.64 + off * step_s, dialect) == ([rule] if rule else [])


def rules_of_dwell(seconds: float, dialect: Dialect) -> list[str]:
    """What is told where 0.64 s are planned and so many are stood."""
    plan = plan_of(*BORE)
    done = [event._replace(seconds=seconds) if isinstance(event, Wait) else event for event in carried_out(plan)]
    return [finding.rule for finding in found(plan, *done, dialect=dialect)]


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("rpm", [60.0, 760.0, 6000.0])
def test_what_differs_by_a_step_is_told_by_numbers_that_differ(units: Units, rpm: float) -> None:
    """A step of a feed or a dwell in turns is less than a person sees in mm a minute or in thousandths of a second."""
    per = 1.0 if units == "mm" else 25.4
    feed_step = PER_TURN.feed_word_step(units) * rpm * per
    dwell_step = 0.01 / rpm * 60
    start = Spindle(rpm, Sense.COUNTERCLOCKWISE, "on")
    bore = BoreAlongX(3.0, -30.0, 0.0, 0.0, 100 * feed_step, 100 * dwell_step, "feed", "bore 1")
    plan = plan_of(*DOWN, start, bore, *BORE[5:], units=units)
    for feeds, dwells, rule in ((101, 100, "feed-differs"), (100, 101, "dwell-long"), (100, 99, "dwell-short")):
        other = bore._replace(mm_per_min=feeds * feed_step, dwell_s=dwells * dwell_step)
        findings = found(plan, *carried_out(plan_of(*DOWN, start, other, *BORE[5:], units=units)), dialect=PER_TURN)
        assert {finding.rule for finding in findings} == {rule}
        numbers = {tuple(re.findall(r"[0-9.]+", text)) for text in (findings[0].found, findings[0].expected)}
        assert len(numbers) == 2, findings[0]


def test_a_dwell_in_turns_of_a_spindle_that_stands_is_as_long_as_planned() -> None:
    plan = plan_of(*DOWN, Dwell(0.64, "stand"))
    assert found(plan, *carried_out(plan), dialect=PER_TURN) == []
    longer = [event._replace(seconds=0.641) if isinstance(event, Wait) else event for event in carried_out(plan)]
    assert [finding.rule for finding in found(plan, *longer, dialect=PER_TURN)] == ["dwell-long"]


@pytest.mark.parametrize(("rpm", "agrees"), [(760.4, True), (759.6, True), (760.6, False), (759.4, False)])
def test_half_a_step_of_the_spindle_word(rpm: float, agrees: bool) -> None:
    plan = plan_of(*BORE)
    done = carried_out(replace(plan, steps=(*DOWN, Spindle(rpm, Sense.COUNTERCLOCKWISE, "on"), *BORE[4:])))
    rules = {finding.rule for finding in found(plan, *done)}
    assert rules == (set() if agrees else {"speed-differs"})


def test_each_deed_left_out_is_told_once_at_the_next_deed() -> None:
    plan = plan_of(*BORE, Rapid((-60.0, 0.0, 160.0), "over"), Rapid((-60.0, 0.0, 0.0), "down"))
    done = carried_out(plan)
    deeds = [event for event in done if not isinstance(event, End | SpinChange)]
    assert len(deeds) == 9
    for left_out in deeds:
        rest = [event for event in done if event is not left_out]
        following = [deed.line for deed in done_deeds(Timeline(rest)) if deed.line > left_out.line]
        findings = found(plan, *rest)
        assert [finding.line for finding in findings] == [following[0] if following else done[-1].line], left_out
        assert findings[0].found == "a step is missing before this line"


def test_a_step_missing_at_the_end_is_told_at_the_end() -> None:
    plan = plan_of(*BORE)
    done = carried_out(plan)
    assert isinstance(done[-2], Move)
    assert told(found(plan, *done[:-2], done[-1])) == [
        ("path-differs", done[-1].line, "a step is missing before this line", "rapid to X3 Y0 Z160")
    ]


def test_each_deed_too_many_is_told_once_at_its_line() -> None:
    plan = plan_of(*BORE)
    done = carried_out(plan)
    extra: tuple[tuple[Event, str, str], ...] = (
        (Move(50, NOWHERE, (9.0, 9.0, 170.0), None, STOPPED), "path-differs", "rapid to X9 Y9 Z170"),
        (Move(50, NOWHERE, (9.0, 9.0, 170.0), 12.5, STOPPED), "path-differs", "feed at 12.5 mm/min to X9 Y9 Z170"),
        (Wait(50, 2.5, STOPPED), "path-differs", "a dwell of 2.5 s"),
        (Halt(50, "look", False, STOPPED), "path-differs", 'a stop that says "look"'),
        (SpinChange(50, TURNING), "speed-differs", "a spindle start: turning at 760 rpm counterclockwise (M4)"),
    )
    for event, rule, says in extra:
        for at in (0, 2, len(done) - 1):
            findings = found(plan, *done[:at], event, *done[at:])
            assert told(findings) == [(rule, 50, says, "no such step here")], (event, at)


def test_the_first_difference_does_not_spread() -> None:
    """A spindle not stopped before the way up is told on that way, and the bores behind it agree again."""
    job = make_job()
    plan = task_of(job).plans[0]
    text = posted(job).replace("M5 (spindle off before leaving bore 1)\n", "")
    timeline = replay(read(text, MM), MM)
    lines = text.split("\n")
    findings = agree(plan, timeline, MM, lines)
    assert [(finding.rule, finding.text.split(" (")[1]) for finding in findings] == [
        ("speed-differs", "up from bore 1)"),
        ("speed-differs", "over bore 2)"),
        ("speed-differs", "down to bore 2)"),
        ("speed-differs", "feed through bore 2)"),  # before which the start is missing
    ]


def test_a_start_in_the_wrong_sense_before_a_move_is_told_as_that() -> None:
    plan = plan_of(*BORE)
    done = carried_out(plan)
    back = next(place for place, event in enumerate(done) if isinstance(event, Wait)) + 1
    wrong = Spin(760.0, Sense.CLOCKWISE, None)
    move = done[back]
    assert isinstance(move, Move)
    findings = found(plan, *done[:back], SpinChange(50, wrong), move._replace(spin=wrong), *done[back + 1 :])
    assert ("sense-differs", move.line) in {(finding.rule, finding.line) for finding in findings}, findings


def test_a_program_of_another_job_is_told_briefly() -> None:
    lines = [Rapid((float(number), 0.0, 160.0), "over") for number in range(300)]
    others = [Rapid((number + 0.5, 0.0, 160.0), "over") for number in range(300)]
    findings = found(plan_of(*lines), *carried_out(plan_of(*others)))
    assert len(findings) == MOST
    assert told(findings)[:2] == [
        ("path-differs", 1, "goes to X0.5 Y0 Z160", "X0 Y0 Z160"),
        ("path-differs", 2, "goes to X1.5 Y0 Z160", "X1 Y0 Z160"),
    ]


def test_nothing_done_and_nothing_planned() -> None:
    assert found(plan_of()) == []
    assert len(found(plan_of(*BORE))) == 8
    assert len(found(plan_of(), *carried_out(plan_of(*BORE)))) == 8


def test_plan_and_program_meet_again_within_the_look_ahead() -> None:
    far = [Rapid((float(number), 0.0, 160.0), "over") for number in range(40)]
    done = carried_out(plan_of(*far))
    findings = found(plan_of(*far), *done[:10], *done[10 + LOOK_AHEAD :])
    assert len(findings) == LOOK_AHEAD
    assert {finding.found for finding in findings} == {"a step is missing before this line"}


@pytest.mark.parametrize(("angle", "agrees"), [(123.457, True), (123.458, False), (123.456, False), (0.0, False)])
def test_a_thousandth_of_a_degree_is_told(angle: float, agrees: bool) -> None:
    def lifting(at_angle: float) -> Plan:
        lift = Lift(at_angle, 0.0, -0.3)
        bore = BoreAlongX(3.0, -30.0, 0.0, 0.0, 38.0, 0.0, "lift", "bore 1", lift)
        return plan_of(*DOWN, BORE[3], bore, *BORE[5:])

    findings = found(lifting(123.457), *carried_out(lifting(angle)), dialect=find("oriented").dialect)
    assert {finding.rule for finding in findings} == (set() if agrees else {"speed-differs"})


def test_a_deed_keeps_its_line() -> None:
    deed = next(iter(done_deeds(Timeline([Wait(7, 1.0, STOPPED)]))))
    assert deed == Deed("dwell", 7, deed.end, 0.0, 1.0, "", STOPPED)
