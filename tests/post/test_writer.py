import time
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from post import writer
from post.dialect import Dialect, Resolution, Steps
from post.motion import (
    BoreAlongX,
    Dwell,
    Feed,
    Lift,
    Pause,
    Plan,
    Rapid,
    Remark,
    Sense,
    Spindle,
    SpindleStop,
    Step,
    Withdraw,
)
from post.posts import find
from post.units import MM_PER, Units
from post.writer import CannotExpressError, Words, refusal, write
from tests.jobs import told

PLAIN: Final = Dialect(
    about="for tests",
    resolution=Resolution(mm=Steps(length=0.001, feed=0.001), inch=Steps(length=0.0001, feed=0.0001)),
)
STEPS: Final[tuple[Step, ...]] = (
    SpindleStop("nothing turns yet"),
    Rapid((None, None, 165.1), "to the clearance height"),
    Remark("bore 1"),
    Rapid((3.0, -0.0, 0.0), "down to bore 1"),
    Spindle(760.0, Sense.COUNTERCLOCKWISE, "cutter 380.0 rpm"),
    BoreAlongX(3.0, -34.5, 0.0, 0.0, 38.0, 0.64, "feed", "bore 1"),
    SpindleStop("spindle off"),
    Pause("sweep (it) now", "look"),
)
PLAN: Final = Plan(STEPS, "mm", "G54")


def bore(withdraw: Withdraw, *, dwell_s: float = 0.64, end_x: float = -34.5, lift: Lift | None = None) -> Plan:
    """A plan of one bore."""
    return Plan((BoreAlongX(3.0, end_x, 0.0, 0.0, 38.0, dwell_s, withdraw, "bore 1", lift),), "mm", "G54")


def program(plan: Plan, name: str, header: Sequence[str] = ()) -> list[str]:
    post = find(name)
    return write(plan, header, post.dialect, post.template).splitlines()


def by_template(folder: Path, template: str | bytes, plan: Plan = PLAN, dialect: Dialect = PLAIN) -> str:
    path = folder / "program.j2"
    path.write_bytes(template if isinstance(template, bytes) else template.encode())
    return write(plan, ["one", "two"], dialect, path)


def fault(folder: Path, template: str | bytes, plan: Plan = PLAN) -> str:
    """What is told of a template that fails, from its line on."""
    message = told(lambda: by_template(folder, template, plan))
    place = str(folder / "program.j2") + ":"
    assert message.startswith(place)
    return message.removeprefix(place).strip()


def test_longhand_writes_every_move_out() -> None:
    assert program(PLAN, "longhand", ["Job A", "mm"]) == [
        "(Job A)",
        "(mm)",
        "G21 G17 G40 G49 G61 G80",
        "G90 G94 G54",
        "M5 (nothing turns yet)",
        "G0 Z165.100 (to the clearance height)",
        "(bore 1)",
        "G0 X3.000 Y0.000 Z0.000 (down to bore 1)",
        "S760 M4 (cutter 380.0 rpm)",
        "G1 X-34.500 Y0.000 Z0.000 F38.000 (feed through bore 1)",
        "G4 P0.64 (stand at the spot face of bore 1)",
        "G1 X3.000 Y0.000 Z0.000 F38.000 (withdraw from bore 1)",
        "M5 (spindle off)",
        "M0 (MSG, sweep [it] now)",
        "M30",
    ]


@pytest.mark.parametrize(
    ("withdraw", "dwell_s", "line"),
    [
        ("feed", 0.0, "G99 G85 X-34.500 Y0.000 Z0.000 R3.000 F38.000 (bore 1)"),
        ("feed", 0.64, "G99 G89 X-34.500 Y0.000 Z0.000 R3.000 P0.64 F38.000 (bore 1)"),
        ("still", 0.0, "G99 G86 X-34.500 Y0.000 Z0.000 R3.000 P0.00 F38.000 (bore 1)"),
        ("still", 0.64, "G99 G86 X-34.500 Y0.000 Z0.000 R3.000 P0.64 F38.000 (bore 1)"),
    ],
)
def test_cycles_writes_a_bore_as_the_cycle_that_does_it(withdraw: Withdraw, dwell_s: float, line: str) -> None:
    """G85 feeds back, G89 the same with a dwell, G86 stops the spindle and is rapid (NISTIR 6556, 3.5.16)."""
    assert program(bore(withdraw, dwell_s=dwell_s), "cycles")[2:] == [line, "G80", "M30"]


def test_cycles_states_the_plane_in_which_its_cycles_bore_along_x() -> None:
    """G19 selects the YZ plane (NISTIR 6556, 3.5.6)."""
    assert program(PLAN, "cycles")[:2] == ["G21 G19 G40 G49 G61 G80", "G90 G94 G99 G54"]


def test_oriented_writes_the_stop_at_an_angle_and_the_lift() -> None:
    plan = bore("lift", dwell_s=0.0, lift=Lift(90.0, 0.1, -0.2))
    assert program(plan, "oriented")[2:] == [
        "G1 X-34.500 Y0.000 Z0.000 F38.000 (feed through bore 1)",
        "M19 R90.000 (stop the cutter at a known angle in bore 1)",
        "G0 X-34.500 Y0.100 Z-0.200 (lift the cutter off the wall of bore 1)",
        "G0 X3.000 Y0.100 Z-0.200 (withdraw from bore 1)",
        "G0 X3.000 Y0.000 Z0.000 (back onto the line in front of bore 1)",
        "M30",
    ]


def test_inches_are_written_in_inches() -> None:
    plan = Plan((Rapid((34.29, 25.4, 0.0), "a"), Feed((0.00254, None, None), 38.608, "b")), "inch", "G59.3")
    assert program(plan, "longhand") == [
        "G20 G17 G40 G49 G61 G80",
        "G90 G94 G59.3",
        "G0 X1.3500 Y1.0000 Z0.0000 (a)",
        "G1 X0.0001 F1.5200 (b)",
        "M30",
    ]


@pytest.mark.parametrize(
    ("plan", "name", "reason"),
    [
        (bore("lift", lift=Lift(0.0, 0.0, 0.3)), "longhand", "needs a spindle stop at a known angle"),
        (bore("lift", lift=Lift(0.0, 0.0, 0.3)), "cycles", "no fixed cycle lifts the cutter off the wall along X"),
        (bore("feed", end_x=40.0), "cycles", "the fixed cycles bore toward -X only, and this job feeds toward +X"),
        (Plan((SpindleStop("stop", 12.5),), "mm", "G54"), "longhand", "has no word for one"),
    ],
)
def test_what_a_dialect_has_no_words_for_is_refused_with_the_reason(plan: Plan, name: str, reason: str) -> None:
    dialect = find(name).dialect
    told_why = refusal(plan, dialect)
    assert told_why is not None
    assert reason in told_why
    with pytest.raises(CannotExpressError, match=reason.replace("+", r"\+")):
        program(plan, name)


def test_a_cycle_the_control_lacks_is_refused_by_name() -> None:
    dialect = find("cycles").dialect.model_copy(update={"cycles": frozenset({"G85"})})
    assert refusal(bore("feed", dwell_s=0.0), dialect) is None
    assert refusal(bore("feed"), dialect) == "bore 1 needs the fixed cycle G89, which this control does not have"
    assert refusal(bore("still"), dialect) == "bore 1 needs the fixed cycle G86, which this control does not have"


@pytest.mark.parametrize("name", ["longhand", "cycles", "oriented"])
def test_nothing_is_refused_that_can_be_written(name: str) -> None:
    assert refusal(PLAN, find(name).dialect) is None


words = st.sampled_from(("mm", "inch"))


@given(st.integers(-(10**7), 10**7), words)
def test_a_length_on_the_grid_is_written_exactly(count: int, units: Units) -> None:
    step = PLAIN.steps(units).length
    text = Words.of(PLAIN, units).length(PLAIN.round_length(count * step * MM_PER[units], units))
    assert Decimal(text) == count * Decimal(repr(step))
    assert not text.startswith("-0.000") or Decimal(text) != 0


@given(st.floats(-1e5, 1e5) | st.floats(-1e-3, 1e-3), words)
def test_numbers_are_written_without_exponent_or_minus_zero(value: float, units: Units) -> None:
    formats = Words.of(PLAIN, units)
    for text in (formats.length(value), formats.feed(value), formats.speed(value), formats.seconds(value)):
        assert not set(text) - set("-0123456789.")
        assert not text.startswith("-") or float(text) < 0


def test_a_template_sees_header_units_offset_and_steps(tmp_path: Path) -> None:
    template = (
        "{{ header | join('+') }} {{ unit_word }} {{ work_offset }} {{ steps | length }}\n"
        "{% for step in steps %}{{ step.kind }}{{ '' if loop.last else ' ' }}{% endfor %}\n\n"
        "{{ steps[3].x }} {{ steps[3].place }} [{{ steps[1].x }}{{ steps[1].z }}] {{ steps[4].word }}\n"
    )
    assert by_template(tmp_path, template) == (
        "one+two G21 G54 10\n"
        "stop rapid remark rapid spindle feed dwell feed stop pause\n"
        "3.000 X3.000 Y0.000 Z0.000 [165.100] M4\n"
    )


@pytest.mark.parametrize(
    ("template", "says"),
    [
        (
            "{% for step in steps %}\n{{ step.nope }}\n{% endfor %}\n",
            "2: the template failed while writing step 1, stop (nothing turns yet):"
            " 'post.writer.Written object' has no attribute 'nope'",
        ),
        (
            "{% for step in steps %}\n{% if step.kind == 'feed' %}\n{{ 1 / 0 }}\n{% endif %}\n{% endfor %}\n",
            "3: the template failed while writing step 6, feed (feed through bore 1): division by zero",
        ),
        (
            "{% for step in steps %}{% if step.kind == 'pause' %}{{ step.z }}{% endif %}{% endfor %}",
            "1: the template failed while writing step 10, pause (look): ",
        ),
        ("\n{{ nope }}", "2: the template failed while writing the opening: 'nope' is undefined"),
        ("\n\n{% if %}", "3: the template cannot be understood: "),
        ("{% endfor %}", "1: the template cannot be understood: "),
        ("a\n{{ 1 | nofilter }}", "2: the template cannot be understood: No filter named 'nofilter'."),
        ("{{ ''.__class__ }}", "1: the template failed while writing the opening: access to attribute '__class__'"),
        ("{{ steps._steps }}", "1: the template failed while writing the opening: access to attribute '_steps'"),
        ("{{ header.append('x') }}", "1: the template failed while writing the opening: access to attribute 'append'"),
        ("{% include 'other.j2' %}", "1: the template failed while writing the opening: no loader"),
        ("{{ 'a' + 1 }}", "1: the template failed while writing the opening: "),
        ("{{ steps[99].kind }}", "1: the template failed while writing the opening: "),
        (
            "{% for i in range(99999) %}{{ 'x' * 99 }}\n{% endfor %}",
            "the template failed while writing the opening: it writes more than 110000 characters for 10 steps",
        ),
        ("{% for i in range(999999) %}{% endfor %}", "1: the template failed while writing the opening: Range too big"),
        (b"caf\xe9", "this template is no text; save it as UTF-8"),
        ("caf\u00e9", "line 1 of the program would not be ASCII: caf\u00e9"),
        (
            "a\n" + "x" * 251,
            f"line 2 of the program would be 251 characters long; the control takes 250: {'x' * 60}...",
        ),
        (
            "{% macro f() %}{{ f() }}{% endmacro %}{{ f() }}",
            "the template failed while writing the opening: ",
        ),
        ("{{ " + "(" * 3000 + "1" + ")" * 3000 + " }}", "the template cannot be understood: "),
        ("{% for a in [1] %}" * 25 + "{% endfor %}" * 25, "the template cannot be understood: "),
    ],
    ids=lambda value: None if isinstance(value, bytes) else value[:40],
)
def test_a_template_that_fails_is_told_with_its_line_and_the_step(
    tmp_path: Path, template: str | bytes, says: str
) -> None:
    assert says in fault(tmp_path, template)


def test_a_template_that_goes_on_too_long_is_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ticks = iter(range(10_000))
    monkeypatch.setattr(time, "monotonic", lambda: float(next(ticks)))
    monkeypatch.setattr(writer, "SECONDS", 5.0)
    template = "{% for step in steps %}{{ step.kind }}\n{% endfor %}"
    assert "it takes longer than 5 seconds; does it loop?" in fault(tmp_path, template)


def test_what_a_template_writes_may_be_as_long_as_its_steps_ask(tmp_path: Path) -> None:
    template = "{% for i in range(100) %}{{ 'x' * 200 }}\n{% endfor %}"
    assert len(by_template(tmp_path, template)) == 100 * 201


def test_a_line_may_be_as_long_as_the_control_takes(tmp_path: Path) -> None:
    short = PLAIN.model_copy(update={"line_length": 40})
    assert by_template(tmp_path, "x" * 40 + "\n", dialect=short) == "x" * 40 + "\n"
    assert "the control takes 40" in told(lambda: by_template(tmp_path, "x" * 41, dialect=short))


def test_line_ends_of_a_template_come_out_plain(tmp_path: Path) -> None:
    assert by_template(tmp_path, "G21\r\nM30\r\n") == "G21\nM30\n"


def test_a_template_that_cannot_be_read(tmp_path: Path) -> None:
    path = tmp_path / "program.j2"
    assert told(lambda: write(PLAN, [], PLAIN, path)) == (
        f"{path}: this template cannot be read (No such file or directory)"
    )


@settings(max_examples=40)
@given(st.text(), st.sampled_from(("longhand", "cycles", "oriented")))
def test_no_text_of_a_step_breaks_out_of_a_comment(text: str, name: str) -> None:
    plan = Plan(
        (
            Remark(text),
            Rapid((1.0, 2.0, 3.0), text),
            Feed((1.0, 2.0, 3.0), 1.0, text),
            Spindle(1.0, Sense.CLOCKWISE, text),
            SpindleStop(text),
            Dwell(1.0, text),
            Pause(text, text),
            BoreAlongX(3.0, -34.5, 0.0, 0.0, 38.0, 0.64, "feed", text),
        ),
        "mm",
        "G54",
    )
    empty = Plan(tuple(_without_text(step) for step in plan.steps), "mm", "G54")
    lines = program(plan, name)
    assert [_without_comments(line) for line in lines] == [_without_comments(line) for line in program(empty, name)]


def _without_text(step: Step) -> Step:
    match step:
        case Remark():
            return Remark("")
        case Rapid(to, _):
            return Rapid(to, "")
        case Feed(to, feed, _):
            return Feed(to, feed, "")
        case Spindle(rpm, sense, _):
            return Spindle(rpm, sense, "")
        case SpindleStop():
            return SpindleStop("")
        case Dwell(seconds, _):
            return Dwell(seconds, "")
        case Pause():
            return Pause("", "")
        case BoreAlongX(start_x, end_x, y, z, feed, dwell_s, withdraw, _):
            return BoreAlongX(start_x, end_x, y, z, feed, dwell_s, withdraw, "")


def _without_comments(line: str) -> str:
    before, _, rest = line.partition("(")
    comment, closed, after = rest.partition(")")
    assert "(" not in comment
    assert "(" not in after
    assert ")" not in after
    assert closed or not rest
    return before + after


def test_a_loop_that_writes_nothing_ends_when_the_time_is_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(writer, "SECONDS", 0.2)
    loops = "{% for i in range(99999) %}{% for j in range(99999) %}{% endfor %}{% endfor %}"
    assert "it takes longer than 0.2 seconds" in fault(tmp_path, loops)
    over_steps = (
        "{% for i in steps %}{% for j in steps %}{% for k in range(99999) %}{% endfor %}{% endfor %}{% endfor %}"
    )
    assert "it takes longer than 0.2 seconds" in fault(tmp_path, over_steps)
