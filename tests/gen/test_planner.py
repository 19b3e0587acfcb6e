import math
from collections.abc import Iterator
from typing import Final, NamedTuple

import pytest
from hypothesis import example, given, settings

from gen.job import Job
from gen.passes import pass_plan
from gen.planner import SWEEP, plan, plan_programs, plan_walk, slanted_lift, slanted_way, way_top
from gen.row import housings
from gen.settingwords import setting_message, setting_messages
from post.dialect import Dialect, Lines, Resolution, Steps
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
)
from post.steps import decimals
from post.units import MM_PER
from tests.jobs import INCH_TEXT, JOB_TEXT, LIFT, Data, job_data, job_datas, job_of, make_job, told, valid_jobs
from tests.shop import PASSES, sized_job

PLAIN: Final = Dialect(
    about="for tests",
    resolution=Resolution(mm=Steps(length=0.001, feed=0.001), inch=Steps(length=0.0001, feed=0.0001)),
)
PARTED: Final = PLAIN.model_copy(update={"new_setting": "file"})
"""The same for a control whose stops tell nothing: each setting of the cutter has a program of its own."""
Point = tuple[float, float, float]


class Step(NamedTuple):
    """One move of a plan with what the spindle does while it is made; NaN where an axis is not known yet."""

    start: Point
    end: Point
    feed: float | None
    turning: bool


def moves(planned: Plan) -> Iterator[Step]:
    at: Point = (math.nan, math.nan, math.nan)
    turning = False
    for step in planned.simple():
        match step:
            case Rapid(to, _) | Feed(to, _, _):
                end = tuple(now if there is None else there for now, there in zip(at, to, strict=True))
                yield Step(at, end, step.mm_per_min if isinstance(step, Feed) else None, turning)  # type: ignore[arg-type]
                at = end  # type: ignore[assignment]
            case Spindle():
                turning = True
            case SpindleStop():
                turning = False
            case _:
                pass


def test_one_bore_is_entered_cut_and_left_in_this_order() -> None:
    job = make_job(bore=[{"name": "A", "face": 0, "width": 32, "diameter": 84, "face_turns": 4}])
    assert plan(job, PLAIN) == Plan(
        (
            SpindleStop("nothing turns yet"),
            Rapid((None, None, 160.0), "to the clearance height"),
            Remark("bore A: diameter 84 mm, metal X -32 mm to 0 mm"),
            Rapid((3.0, 0.0, 160.0), "over bore A"),
            Rapid((3.0, 0.0, 0.0), "down to bore A"),
            Spindle(760.0, Sense.COUNTERCLOCKWISE, "cutter 380.0 rpm"),
            BoreAlongX(3.0, -34.5, 0.0, 0.0, 38.0, 0.64, "feed", "bore A"),
            SpindleStop("spindle off before leaving bore A"),
            Rapid((3.0, 0.0, 160.0), "up from bore A"),
        ),
        "mm",
        "G54",
    )


def test_a_walk_visits_every_start_and_stops_there() -> None:
    job = make_job(bore=[{"name": "A", "face": 0, "width": 32, "diameter": 84, "face_turns": 4}])
    assert plan_walk(job, PLAIN).steps == (
        SpindleStop("nothing turns yet"),
        Rapid((None, None, 160.0), "to the clearance height"),
        Remark("bore A: diameter 84 mm, metal X -32 mm to 0 mm"),
        Rapid((3.0, 0.0, 160.0), "over bore A"),
        Rapid((3.0, 0.0, 0.0), "down to bore A"),
        Pause(f"bore A: {SWEEP[0]}", f"bore A: {SWEEP[0]}"),
        Rapid((3.0, 0.0, 160.0), "up from bore A"),
    )


def test_the_units_and_the_work_offset_are_the_job_s() -> None:
    for planned in (plan(make_job(INCH_TEXT), PLAIN), plan_walk(make_job(INCH_TEXT), PLAIN)):
        assert (planned.units, planned.work_offset) == ("inch", "G55")


@pytest.mark.parametrize(("angle", "y"), [(0, 0.0), (30, 92.376), (-30, -92.376), (45, 160.0)])
def test_the_way_in_leans_by_the_leave_angle_toward_plus_y(angle: float, y: float) -> None:
    """160 x tan 30 = 92.376."""
    job = make_job(path={"leave_angle": angle})
    assert way_top(job, PLAIN) == (y, 160.0)
    over, down = [step for step in plan(job, PLAIN).steps if isinstance(step, Rapid)][1:3]
    assert over.to == (3.0, y, 160.0)
    assert down.to == (3.0, 0.0, 0.0)


def test_a_pause_to_set_the_cutter_stands_where_the_diameter_changes_clear_of_the_block() -> None:
    diameters = (84, 84, 90, 84)
    bores = [{"face": -120 * i, "width": 32, "diameter": d} for i, d in enumerate(diameters)]
    steps = plan(make_job(bore=bores), PLAIN).steps
    pauses = [index for index, step in enumerate(steps) if isinstance(step, Pause)]
    assert [steps[index] for index in pauses] == [
        Pause("set the cutter for diameter 90 mm, bore 3", "set the cutter for diameter 90 mm, bore 3"),
        Pause("set the cutter for diameter 84 mm, bore 4", "set the cutter for diameter 84 mm, bore 4"),
    ]
    for index in pauses:
        before = steps[index - 1]
        assert isinstance(before, Rapid)
        assert before.to[2] == 160.0


def row_of(*diameters: float) -> list[Data]:
    return [{"face": -120 * i, "width": 32, "diameter": diameter} for i, diameter in enumerate(diameters)]


@pytest.mark.parametrize(
    ("diameters", "groups"),
    [
        ((84,), [[0]]),
        ((84, 84, 84), [[0, 1, 2]]),
        ((84, 84, 90, 84), [[0, 1], [2], [3]]),
        ((84, 85, 86), [[0], [1], [2]]),
        ((84, 84.001, 84.001), [[0], [1, 2]]),
    ],
)
def test_bores_that_follow_each_other_with_one_diameter_are_one_setting(
    diameters: tuple[float, ...], groups: list[list[int]]
) -> None:
    job = make_job(bore=row_of(*diameters))
    assert [[*group.bores] for group in pass_plan(job)] == groups
    assert len(plan_programs(job, PARTED)) == len(groups)


def test_what_to_do_before_a_setting_names_its_first_bore_in_the_job_s_unit() -> None:
    job = make_job(bore=row_of(84, 84, 90.25))
    assert [setting_message(job, group) for group in pass_plan(job)] == [
        "set the cutter for diameter 84 mm, bore 1",
        "set the cutter for diameter 90.25 mm, bore 3",
    ]
    bores = [{"x": 0, "length": 1.35, "diameter": 3}, {"x": 5, "length": 1.35, "diameter": 3.3125}]
    inches = make_job(INCH_TEXT, bore=bores)
    assert setting_message(inches, pass_plan(inches)[1]) == "set the cutter for diameter 3.3125 in, bore 2"


def test_a_control_with_stops_has_one_program() -> None:
    job = make_job(bore=row_of(84, 90, 84))
    assert plan_programs(job, PLAIN) == (plan(job, PLAIN),)


def test_each_of_several_programs_opens_as_any_does_and_cuts_one_setting() -> None:
    job = make_job(bore=row_of(84, 84, 90, 84))
    programs = plan_programs(job, PARTED)
    assert [[step.why for step in one.steps if isinstance(step, BoreAlongX)] for one in programs] == [
        ["bore 1", "bore 2"],
        ["bore 3"],
        ["bore 4"],
    ]
    for one in programs:
        assert one.steps[:2] == plan(job, PLAIN).steps[:2]
        assert (one.units, one.work_offset) == ("mm", "G54")
        assert not any(isinstance(step, Pause) for step in one.steps)


@settings(max_examples=50)
@given(valid_jobs())
def test_several_programs_together_are_the_one_parted_at_its_stops(job: Job) -> None:
    whole = list(plan(job, PLAIN).steps)
    opening, parts = whole[:2], [list[object]()]
    for step in whole[2:]:
        if isinstance(step, Pause):
            parts.append([])
        else:
            parts[-1].append(step)
    assert [list(one.steps) for one in plan_programs(job, PARTED)] == [[*opening, *part] for part in parts]


@pytest.mark.parametrize(
    ("text", "bore", "says"),
    [
        (
            JOB_TEXT,
            {"face": 0, "width": 0.0002},
            "bore 1, width: the stroke is shorter than the control's step of 0.001 mm",
        ),
        (
            JOB_TEXT,
            {"x": 0, "length": -0.0004},
            "bore 1, length: the stroke is shorter than the control's step of 0.001 mm",
        ),
        (
            INCH_TEXT,
            {"x": 0, "length": 0.00004},
            "bore 1, length: the stroke is shorter than the control's step of 0.0001 in",
        ),
    ],
    ids=["as drawn", "as read", "inch"],
)
@pytest.mark.parametrize("dialect", [PLAIN, PARTED], ids=["one program", "several"])
def test_a_stroke_that_rounds_to_nothing_is_refused(dialect: Dialect, text: str, bore: Data, says: str) -> None:
    diameter = 84 if text is JOB_TEXT else 3.3
    job = make_job(
        text,
        path={"approach": 0.0001 if text is JOB_TEXT else 0.00001, "overrun": 0},
        bore=[{**bore, "diameter": diameter}],
    )
    assert told(lambda: plan_programs(job, dialect)).startswith(says)
    assert plan_walk(job, dialect).steps


def test_a_stroke_of_one_step_is_planned() -> None:
    job = make_job(path={"approach": 0.0001, "overrun": 0}, bore=[{"x": 0, "length": -0.0006, "diameter": 84}])
    (stroke,) = (step for step in plan(job, PLAIN).steps if isinstance(step, BoreAlongX))
    assert (stroke.start_x, stroke.end_x) == (0.0, -0.001)


def test_a_pause_is_told_in_the_job_s_unit() -> None:
    bores = [{"x": 0, "length": 1.35, "diameter": 3}, {"x": 5, "length": 1.35, "diameter": 3.25}]
    pauses = [step.message for step in plan(make_job(INCH_TEXT, bore=bores), PLAIN).steps if isinstance(step, Pause)]
    assert pauses == ["set the cutter for diameter 3.25 in, bore 2"]


def test_what_the_operator_reads_is_plain_while_the_listing_keeps_the_name() -> None:
    bores = [{"name": "(\u00fc)", "face": 0, "width": 32, "diameter": 84}]
    (pause,) = (step for step in plan_walk(make_job(bore=bores), PLAIN).steps if isinstance(step, Pause))
    assert pause.message == f"bore [u]: {SWEEP[0]}"
    assert pause.why == f"bore (\u00fc): {SWEEP[0]}"


def test_an_air_pass_is_called_one_at_every_bore() -> None:
    steps = plan(sized_job(2, passes={**PASSES, "air": True}), PLAIN).steps
    until = next(number for number, step in enumerate(steps) if isinstance(step, Pause))
    air, cutting = steps[:until], steps[until:]
    assert [step.text for step in air if isinstance(step, Remark)] == [
        "bore 1: air pass, cuts nothing, metal X -28 mm to 0 mm",
        "bore 2: air pass, cuts nothing, metal X -128 mm to -100 mm",
    ]
    assert [step.why for step in air if isinstance(step, BoreAlongX)] == ["bore 1, air", "bore 2, air"]
    assert not any("air" in (step.text if isinstance(step, Remark) else step.why) for step in cutting)


def test_a_stop_for_a_setting_says_as_much_as_the_line_has_room_for() -> None:
    job = sized_job()
    rough = setting_messages(job, pass_plan(job)[1])
    for length, words in ((256, rough[0]), (110, rough[1]), (80, rough[2]), (60, rough[2])):
        narrow = PLAIN.model_copy(update={"lines": Lines(length=length)})
        first = next(step for step in plan(job, narrow).steps if isinstance(step, Pause))
        assert (first.message, first.why) == (words, rough[0])


def test_a_stop_says_to_take_the_indicator_off_in_as_many_words_as_the_line_has_room_for() -> None:
    job = make_job(bore=[{"name": "n" * 40, "face": 0, "width": 32, "diameter": 84}])
    assert all("indicator on" in words and "off before cycle start" in words for words in SWEEP)
    for length, words in ((256, SWEEP[0]), (128, SWEEP[1]), (112, SWEEP[2]), (50, SWEEP[2])):
        narrow = PLAIN.model_copy(update={"lines": Lines(length=length)})
        (pause,) = (step for step in plan_walk(job, narrow).steps if isinstance(step, Pause))
        assert (pause.message, pause.why) == (f"bore {'n' * 40}: {words}", f"bore {'n' * 40}: {SWEEP[0]}")


@pytest.mark.parametrize(
    ("toward", "shift"), [("+Z", (0.0, 0.3)), ("-Y", (-0.3, 0.0)), (30, (0.15, 0.26)), (210, (-0.15, -0.26))]
)
def test_a_lift_goes_into_the_plan_on_the_grid(toward: str | float, shift: tuple[float, float]) -> None:
    job = make_job(head={"ratio": 1}, path={"withdraw": "lift", "lift": {**LIFT, "toward": toward}})
    (first, *_) = (step for step in plan(job, PLAIN).steps if isinstance(step, BoreAlongX))
    assert first.lift == Lift(90.0, *shift)


def test_the_angle_of_a_stop_is_one_that_the_program_can_carry() -> None:
    """A program carries it to 0.001 degree; 359.9999 is then 0, as a whole turn is no angle."""
    for angle, carried in ((12.34567, 12.346), (359.9999, 0.0)):
        job = make_job(head={"ratio": 1}, path={"withdraw": "lift", "lift": {**LIFT, "angle": angle}})
        lifts = {step.lift for step in plan(job, PLAIN).steps if isinstance(step, BoreAlongX)}
        assert lifts == {Lift(carried, 0.0, 0.3)}


def test_a_lift_too_small_for_the_control_is_refused_not_dropped() -> None:
    job = make_job(head={"ratio": 1}, path={"withdraw": "lift", "lift": {**LIFT, "amount": 0.0004}})
    message = told(lambda: plan(job, PLAIN))
    assert message.startswith("path.lift.amount: 0.0004 mm ")


def test_a_speed_out_of_range_is_told_when_planning_but_needs_no_cutting_to_walk() -> None:
    job = make_job(cut={"rpm": 900})
    assert told(lambda: plan(job, PLAIN)).startswith("cut.rpm: a cutter at 900 rpm ")
    assert plan_walk(job, PLAIN).steps


def test_every_bore_is_cut_once_in_the_job_s_order() -> None:
    job = make_job()
    cuts = [step for step in plan(job, PLAIN).steps if isinstance(step, BoreAlongX)]
    assert [(cut.why, cut.start_x, cut.end_x) for cut in cuts] == [
        ("bore 1", 3.0, -34.5),
        ("bore 2", -127.0, -160.5),
        ("bore 3", -252.0, -289.5),
    ]


def coordinates(planned: Plan) -> Iterator[float]:
    for step in planned.simple():
        if isinstance(step, Rapid | Feed):
            yield from (value for value in step.to if value is not None)


@settings(max_examples=50)
@given(valid_jobs())
def test_every_coordinate_lies_on_the_control_s_grid_in_the_program_s_unit(job: Job) -> None:
    """What is written is exactly what is planned: an inch is value / 25.4 to 4 places."""
    digits, per = decimals(PLAIN.steps(job.units).length), MM_PER[job.units]
    for planned in (plan(job, PLAIN), plan_walk(job, PLAIN)):
        for value in coordinates(planned):
            written = f"{value / per:.{digits}f}"
            assert float(written) * per == pytest.approx(value, abs=1e-10)
            assert f"{value / per:.9f}" == f"{float(written):.9f}"
            assert math.copysign(1, value) == 1 or value != 0


@settings(max_examples=50)
@given(valid_jobs())
def test_below_the_clearance_height_only_ways_strokes_and_lifts_move(job: Job) -> None:
    y_top, z_top = way_top(job, PLAIN)
    step = PLAIN.length_step(job.units)
    row = housings(job)
    starts = [housing.start_x for housing in row]
    strokes = [housing.stroke for housing in row]
    lift = job.path.lift.shift_mm if job.path.lift else (0.0, 0.0)
    for planned in (plan(job, PLAIN), plan_walk(job, PLAIN)):
        for move in moves(planned):
            lowest = min(move.start[2], move.end[2]) if not math.isnan(move.start[2]) else move.end[2]
            if lowest >= z_top:
                continue
            (x0, y0, z0), (x1, y1, z1) = move.start, move.end
            on_way = x0 == x1 and any(abs(x0 - start) <= step for start in starts)
            on_way = on_way and all(abs(y - z * y_top / z_top) <= step for y, z in ((y0, z0), (y1, z1)))
            in_stroke = any(low - step <= min(x0, x1) and max(x0, x1) <= high + step for low, high in strokes)
            shifts = [(0.0, 0.0), lift]
            on_line = all(
                any(math.dist((y, z), shift) <= 2 * step for shift in shifts) for y, z in ((y0, z0), (y1, z1))
            )
            assert on_way or (in_stroke and on_line)


@settings(max_examples=50)
@given(valid_jobs())
@example(make_job(path={"leave_angle": -0.0001}))
@example(make_job(head={"ratio": 1}, path={"withdraw": "lift", "lift": {**LIFT, "toward": 30}}))
def test_rapids_of_two_axes_below_the_clearance_height_are_known(job: Job) -> None:
    top = way_top(job, PLAIN)[1]
    for planned, known in (
        (plan(job, PLAIN), slanted_way(job, PLAIN) or slanted_lift(job, PLAIN)),
        (plan_walk(job, PLAIN), slanted_way(job, PLAIN)),
    ):
        below = [move for move in moves(planned) if move.feed is None and min(move.start[2], move.end[2]) < top]
        assert known is any(sum(a != b for a, b in zip(move.start, move.end, strict=True)) > 1 for move in below)


@settings(max_examples=50)
@given(valid_jobs())
def test_the_spindle_turns_only_from_the_foot_of_the_way_to_the_end_of_the_cut(job: Job) -> None:
    planned = plan(job, PLAIN)
    y, z = way_top(job, PLAIN)
    for move in moves(planned):
        assert move.turning is (move.feed is not None)
    last = [step.to for step in planned.simple() if isinstance(step, Rapid)][-1]
    assert last[1:] == (y, z)
    assert [type(step) for step in planned.steps if isinstance(step, Spindle | SpindleStop)][-1] is SpindleStop
    assert not any(isinstance(step, Spindle | Feed | BoreAlongX | Dwell) for step in plan_walk(job, PLAIN).steps)


def other_form(data: Data) -> Data:
    """The same bores, each in the other form."""
    way = 1 if data["head"]["points"] == "+X" else -1
    bores = []
    for bore in data["bore"]:
        other = dict(bore)
        approach, overrun = (bore.get(key, data["path"][key]) for key in ("approach", "overrun"))
        if "x" in bore:
            del other["x"], other["length"]
            other |= {"face": bore["x"] + way * approach, "width": abs(bore["length"]) - approach - overrun}
        else:
            del other["face"], other["width"]
            other |= {"x": bore["face"] - way * approach, "length": way * (approach + bore["width"] + overrun)}
        bores.append(other)
    return {**data, "bore": bores}


def assert_same(one: Plan, other: Plan, *, mirror: bool = False, within: float) -> None:
    """Two plans that do the same, X turned round if ``mirror``; ``within`` allows for a tie rounded the other way."""
    sign = -1 if mirror else 1
    for step, twin in zip(one.simple(), other.simple(), strict=True):
        assert type(step) is type(twin)
        if isinstance(step, Remark):
            continue
        if isinstance(step, Rapid | Feed) and isinstance(twin, Rapid | Feed):
            x, y, z = twin.to
            for value, same in zip(step.to, (None if x is None else sign * x, y, z), strict=True):
                assert (value is None) is (same is None)
                assert value is None or same is None or abs(value - same) <= within
        if isinstance(step, Feed) and isinstance(twin, Feed):
            assert step.mm_per_min == twin.mm_per_min
        if isinstance(step, Spindle | Dwell | Pause | SpindleStop):
            assert step == twin


@settings(max_examples=50)
@given(job_datas())
def test_both_forms_of_a_bore_make_the_same_strokes(data: Data) -> None:
    job, other = job_of(data), job_of(other_form(data))
    assert_same(plan(job, PLAIN), plan(other, PLAIN), within=PLAIN.length_step(job.units) * (1 + 1e-6))


@settings(max_examples=50)
@given(job_datas())
def test_points_turned_round_mirrors_the_strokes_and_nothing_else(data: Data) -> None:
    bores = [{**bore, **{key: -bore[key] for key in ("face", "x", "length") if key in bore}} for bore in data["bore"]]
    points = {"-X": "+X", "+X": "-X"}[data["head"]["points"]]
    mirrored = {**data, "head": {**data["head"], "points": points}, "bore": bores}
    one, other = plan(job_of(data), PLAIN), plan(job_of(mirrored), PLAIN)
    assert_same(one, other, mirror=True, within=1e-9)


def test_forms_and_directions_on_the_grid_are_exactly_the_same() -> None:
    job = make_job()
    as_read = job_of(other_form(job_data()))
    assert list(plan(as_read, PLAIN).simple()) == list(plan(job, PLAIN).simple())
