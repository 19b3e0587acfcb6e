import math
from typing import Any, Final

import pytest
from hypothesis import given, settings
from pydantic import ValidationError

from gen.job import Job
from post.userfile import KeyProblem
from tests.jobs import INCH_TEXT, JOB_TEXT, LIFT, Data, job_datas, job_of, make_job

FACE_AND_WIDTH: Final = {"face": 0, "width": 32, "diameter": 84}


def mistakes(**changes: Any) -> dict[tuple[str | int, ...], str]:
    """Every mistake in a changed job, by its key."""
    with pytest.raises(ValidationError, match="validation error") as caught:
        make_job(**changes)
    found = {}
    for detail in caught.value.errors():
        own = detail.get("ctx", {}).get("error")
        key = (*detail["loc"], *own.key) if isinstance(own, KeyProblem) else detail["loc"]
        found[key] = str(own or detail["msg"])
    return found


def test_the_plain_job_is_read_as_it_stands() -> None:
    job = make_job()
    assert job.machine.travel.x == (-900.0, 100.0)
    assert job.machine.zero.z == -380.0
    assert (job.head.points, job.head.ratio, job.head.reverses) == ("-X", 2.0, True)
    assert [bore.name for bore in job.bore] == ["1", "2", "3"]
    assert [bore.face_turns for bore in job.bore] == [4.0, 0.0, 0.0]
    assert job.direction == -1
    assert job.leave_angle_rad == 0.0


def test_every_length_of_an_inch_job_is_in_millimetres_inside() -> None:
    job = make_job(INCH_TEXT)
    assert job.units == "inch"
    assert job.machine.travel.x == pytest.approx((-1016.0, 101.6))
    assert job.machine.zero.z == pytest.approx(-381.0)
    assert job.machine.rapid.z == pytest.approx(9144.0)
    assert job.machine.max_feed == pytest.approx(5080.0)
    assert job.bar.diameter == pytest.approx(50.8)
    assert job.cut.feed == pytest.approx(0.1016)
    assert job.path.clearance_height == pytest.approx(165.1)
    assert (job.path.approach, job.path.overrun) == pytest.approx((3.175, 2.54))
    assert job.bore[1].x == pytest.approx(133.35)
    assert job.bore[1].length == pytest.approx(34.29)
    assert job.bore[1].diameter == pytest.approx(84.1375)
    assert (job.cut.rpm, job.head.max_rpm, job.machine.spindle_rpm) == (400.0, 800.0, (50.0, 4000.0))
    assert job.direction == 1


def test_overrides_of_an_inch_bore_are_in_millimetres_inside() -> None:
    bore = {"face": 0, "width": 1, "diameter": 3, "approach": 0.5, "overrun": 0.25, "feed": 0.002, "rpm": 300}
    made = make_job(INCH_TEXT, bore=[bore]).bore[0]
    assert (made.approach, made.overrun) == (12.7, 6.35)
    assert made.feed == pytest.approx(0.0508)
    assert made.rpm == 300.0


@pytest.mark.parametrize(("text", "speed", "m_per_min"), [(JOB_TEXT, 100.0, 100.0), (INCH_TEXT, 300.0, 91.44)])
def test_a_cutting_speed_is_in_metres_or_feet(text: str, speed: float, m_per_min: float) -> None:
    assert make_job(text, cut={"rpm": None, "speed": speed}).cut.speed == pytest.approx(m_per_min)


def test_a_lift_s_amount_is_a_length_and_its_angle_none() -> None:
    lift = make_job(
        INCH_TEXT, head={"ratio": 1}, path={"withdraw": "lift", "lift": {"amount": 0.01, "toward": "-Y", "angle": 90}}
    ).path.lift
    assert lift is not None
    assert lift.amount == pytest.approx(0.254)
    assert lift.angle == 90.0
    assert lift.shift_mm == pytest.approx((-0.254, 0.0))


@pytest.mark.parametrize(
    ("toward", "shift"),
    [
        ("+Z", (0.0, 0.3)),
        ("+Y", (0.3, 0.0)),
        ("-Z", (0.0, -0.3)),
        ("-Y", (-0.3, 0.0)),
        (0, (0.0, 0.3)),
        (90.0, (0.3, 0.0)),
        (-90.0, (-0.3, 0.0)),
        (30.0, (0.15, 0.3 * math.cos(math.radians(30)))),
    ],
)
def test_a_lift_goes_where_it_is_told(toward: str | float, shift: tuple[float, float]) -> None:
    lift = make_job(head={"ratio": 1}, path={"withdraw": "lift", "lift": {**LIFT, "toward": toward}}).path.lift
    assert lift is not None
    assert lift.shift_mm == pytest.approx(shift, abs=1e-12)


def test_bores_without_a_name_are_numbered() -> None:
    bores = [{**FACE_AND_WIDTH, "name": "  "}, {**FACE_AND_WIDTH, "face": -120}]
    assert [bore.name for bore in make_job(bore=bores).bore] == ["1", "2"]


@pytest.mark.parametrize(
    ("changes", "key", "says"),
    [
        ({"name": " \t"}, ("name",), "must not be blank"),
        ({"name": ""}, ("name",), "at least 1 character"),
        ({"units": "cm"}, ("units",), "'mm' or 'inch'"),
        ({"cut": {"rpm": None}}, ("cut", "rpm"), "is missing; write rpm = 380 or speed = 100"),
        ({"cut": {"speed": 100}}, ("cut", "speed"), "rpm and speed are both given; keep one, as rpm = 380"),
        ({"cut": {"feed": 0}}, ("cut", "feed"), "greater than 0"),
        ({"cut": {"feed": -0.1}}, ("cut", "feed"), "greater than 0"),
        ({"cut": {"feed": math.nan}}, ("cut", "feed"), "finite number"),
        ({"cut": {"feed": math.inf}}, ("cut", "feed"), "finite number"),
        ({"cut": {"rpm": True}}, ("cut", "rpm"), "valid number"),
        ({"cut": {"rpm": "380"}}, ("cut", "rpm"), "valid number"),
        ({"head": {"ratio": 0}}, ("head", "ratio"), "greater than or equal to 0.01"),
        ({"head": {"ratio": 1e-320}}, ("head", "ratio"), "greater than or equal to 0.01"),
        ({"head": {"ratio": 101}}, ("head", "ratio"), "less than or equal to 100"),
        ({"head": {"points": "X"}}, ("head", "points"), "'-X' or '+X'"),
        ({"head": {"reverses": 1}}, ("head", "reverses"), "valid boolean"),
        ({"bar": {"hand": "Right"}}, ("bar", "hand"), "'right' or 'left'"),
        ({"path": {"leave_angle": 80}}, ("path", "leave_angle"), "between -80 and 80"),
        ({"path": {"leave_angle": -80}}, ("path", "leave_angle"), "between -80 and 80"),
        ({"path": {"approach": 0}}, ("path", "approach"), "greater than 0"),
        ({"path": {"overrun": -0.1}}, ("path", "overrun"), "greater than or equal to 0"),
        ({"path": {"clearance_height": -160}}, ("path", "clearance_height"), "greater than 0"),
        ({"path": {"clearance_height": 100_001}}, ("path", "clearance_height"), "less than or equal to 100000"),
        ({"path": {"withdraw": "rapid"}}, ("path", "withdraw"), "'feed', 'still' or 'lift'"),
        ({"path": {"withdraw": "lift"}}, ("path", "lift"), 'is missing; withdraw = "lift" needs lift = {'),
        ({"path": {"lift": LIFT}}, ("path", "lift"), 'is given, but withdraw = "feed" does not lift'),
        (
            {"path": {"withdraw": "lift", "lift": {**LIFT, "toward": "up"}}},
            ("path", "lift", "toward"),
            '"up" must be one of "+Z", "+Y", "-Z", "-Y", or degrees from straight up; e.g. toward = "+Z"',
        ),
        ({"path": {"withdraw": "lift", "lift": {**LIFT, "angle": 360}}}, ("path", "lift", "angle"), "less than 360"),
        ({"machine": {"work_offset": "G53"}}, ("machine", "work_offset"), "'G54', 'G55'"),
        ({"machine": {"work_offset": "G59.4"}}, ("machine", "work_offset"), "'G54', 'G55'"),
        (
            {"machine": {"travel": {"y": [300, -300]}}},
            ("machine", "travel", "y"),
            "[300, -300] must be [lowest, highest], the first number below the second",
        ),
        ({"machine": {"travel": {"y": [300, 300]}}}, ("machine", "travel", "y"), "must be [lowest, highest]"),
        ({"machine": {"travel": {"y": [300]}}}, ("machine", "travel", "y", 1), "Field required"),
        ({"machine": {"travel": {"y": ["0", 300]}}}, ("machine", "travel", "y", 0), "valid number"),
        ({"machine": {"spindle_rpm": [0, 4000]}}, ("machine", "spindle_rpm", 0), "greater than 0"),
        ({"machine": {"zero": {"y": None}}}, ("machine", "zero", "y"), "Field required"),
        ({"machine": {"max_feed": 0}}, ("machine", "max_feed"), "greater than 0"),
        ({"machine": {"spindel": 3}}, ("machine", "spindel"), "Extra inputs"),
        ({"bore": [{**FACE_AND_WIDTH, "x": 3}]}, ("bore", 0, "x"), "face and x are both given"),
        ({"bore": [{**FACE_AND_WIDTH, "length": -37.5}]}, ("bore", 0, "length"), "face and length are both given"),
        ({"bore": [{"face": 0, "diameter": 84}]}, ("bore", 0, "width"), "is missing; give face and width"),
        ({"bore": [{"width": 3, "diameter": 84}]}, ("bore", 0, "face"), "is missing; give face and width"),
        ({"bore": [{"x": 3, "diameter": 84}]}, ("bore", 0, "length"), "x and length"),
        ({"bore": [{"length": -3, "diameter": 84}]}, ("bore", 0, "x"), "is missing; give face and width"),
        ({"bore": [{"diameter": 84}]}, ("bore", 0, "face"), "is missing; give face and width"),
        ({"bore": [{**FACE_AND_WIDTH, "width": 0}]}, ("bore", 0, "width"), "greater than 0"),
        ({"bore": [{**FACE_AND_WIDTH, "face_turns": -1}]}, ("bore", 0, "face_turns"), "greater than or equal to 0"),
        ({"bore": [{**FACE_AND_WIDTH, "name": "x" * 41}]}, ("bore", 0, "name"), "at most 40 characters"),
        (
            {"bore": [{**FACE_AND_WIDTH, "name": "2"}, {**FACE_AND_WIDTH, "face": -120}]},
            ("bore", 1, "name"),
            '"2" is already the name of bore 1; give each its own',
        ),
    ],
    ids=lambda value: str(value)[:50] if isinstance(value, dict) else "",
)
def test_a_mistake_stands_at_its_key(changes: Data, key: tuple[str | int, ...], says: str) -> None:
    found = mistakes(**changes)
    assert key in found
    assert says in found[key]


def test_a_row_without_a_bore() -> None:
    assert list(mistakes(bore=[])) == [("bore",)]
    assert list(mistakes(bore=None)) == [("bore",)]


def test_a_job_cannot_be_changed_once_made() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        make_job().path.approach = 1.0  # type: ignore[misc]


@settings(max_examples=40)
@given(job_datas())
def test_a_valid_job_says_the_same_after_a_trip_through_json(data: Data) -> None:
    job = job_of(data)
    inside = job.model_dump(exclude_none=True) | {"units": "mm"}
    assert job_of(inside).model_dump(exclude={"units"}) == job.model_dump(exclude={"units"})
    assert Job.model_validate_json(job.model_dump_json(), context={"units": "mm"}) == job


@pytest.mark.parametrize(
    "changes",
    [
        {"machine": {"rapid": {"x": 1e-320, "y": 12000, "z": 9000}}},
        {"machine": {"max_feed": 9e-7}},
        {"head": {"max_rpm": 1e-9}},
        {"cut": {"feed": 1e-300}},
    ],
)
def test_what_is_next_to_nothing_is_refused(changes: Any) -> None:
    """A time of 500 mm at 1e-320 mm/min is beyond all numbers."""
    with pytest.raises(ValidationError, match=r"must be at least 0\.000001, e\.g\. 1"):
        make_job(**changes)
