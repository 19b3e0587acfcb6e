from typing import Any, Final

import pytest
from hypothesis import given, settings
from pydantic import ValidationError

from gen.row import housings
from post.tomlplaces import Key
from post.userfile import KeyProblem
from tests.jobs import INCH_TEXT, LIFT, Data, job_datas, job_of, make_job

DRAWN: Final = {"face": 0, "width": 32, "diameter": 84}
AS_READ: Final = {"x": 3, "length": -37.5, "diameter": 84}


def problem(*args: Any, **changes: Any) -> tuple[Key, str]:
    """Key and words of what makes a row impossible."""
    with pytest.raises(ValidationError, match="validation error") as caught:
        make_job(*args, **changes)
    (detail,) = caught.value.errors()
    own = detail["ctx"]["error"]
    assert isinstance(own, KeyProblem)
    return (*detail["loc"], *own.key), str(own)


@pytest.mark.parametrize("bore", [DRAWN, AS_READ])
def test_both_forms_come_to_the_same_housing(bore: Data) -> None:
    """Approach 3 and overrun 2.5: start 3 before the face at 0, end 2.5 past the face at -32."""
    (housing,) = housings(make_job(bore=[bore]))
    assert (housing.start_x, housing.near_x, housing.far_x, housing.end_x) == (3.0, 0.0, -32.0, -34.5)
    assert housing.metal == (-32.0, 0.0)
    assert housing.stroke == (-34.5, 3.0)


@pytest.mark.parametrize("bore", [DRAWN, {**AS_READ, "x": -3, "length": 37.5}])
def test_toward_plus_x_all_signs_turn(bore: Data) -> None:
    (housing,) = housings(make_job(head={"points": "+X"}, bore=[bore]))
    assert (housing.start_x, housing.near_x, housing.far_x, housing.end_x) == (-3.0, 0.0, 32.0, 34.5)
    assert (housing.metal, housing.stroke) == ((0.0, 32.0), (-3.0, 34.5))


def test_a_bore_s_own_approach_and_overrun_stand_in_for_the_job_s() -> None:
    drawn, as_read = housings(
        make_job(
            bore=[
                {**DRAWN, "approach": 10, "overrun": 0},
                {"x": -110, "length": -42, "diameter": 84, "approach": 10, "overrun": 0},
            ]
        )
    )
    assert (drawn.start_x, drawn.end_x) == (10.0, -32.0)
    assert (as_read.near_x, as_read.far_x) == (-120.0, -152.0)


def test_inches_come_out_in_millimetres() -> None:
    first, second = housings(make_job(INCH_TEXT))
    assert (first.start_x, first.end_x) == pytest.approx((0.0, 34.29))
    assert (second.near_x, second.far_x) == pytest.approx((136.525, 165.1))


@pytest.mark.parametrize(
    ("points", "length", "says"),
    [
        ("-X", 37.5, '37.5 contradicts head.points = "-X": the cutter feeds toward -X, so length must be below zero'),
        ("+X", -37.5, '-37.5 contradicts head.points = "+X": the cutter feeds toward +X, so length must be above zero'),
        ("-X", 0, "0 contradicts"),
        ("+X", 0, "0 contradicts"),
    ],
)
def test_a_length_must_have_the_sign_of_points(points: str, length: float, says: str) -> None:
    key, words = problem(head={"points": points}, bore=[{"x": 0, "length": length, "diameter": 84}])
    assert key == ("bore", 0, "length")
    assert words.startswith(says)
    example = float(words.rpartition("e.g. length = ")[2])
    assert make_job(head={"points": points}, bore=[{"x": 0, "length": example, "diameter": 84}])


def test_a_length_of_the_wrong_sign_is_told_in_inches_in_an_inch_job() -> None:
    key, words = problem(INCH_TEXT, bore=[{"x": 0, "length": -1.35, "diameter": 3}])
    assert key == ("bore", 0, "length")
    assert words.startswith("-1.35 contradicts")
    assert words.endswith("e.g. length = 1.35")


@pytest.mark.parametrize("length", [-5.5, -0.001])
def test_a_length_must_leave_metal_between_approach_and_overrun(length: float) -> None:
    key, words = problem(bore=[{**AS_READ, "length": length}])
    assert key == ("bore", 0, "length")
    assert words.startswith(f"{length:g} is no longer than approach and overrun together, which leaves no metal;")
    assert make_job(bore=[{**AS_READ, "length": -5.51}])


@pytest.mark.parametrize("diameter", [50, 49.9, 1])
def test_the_bar_must_go_into_the_bore(diameter: float) -> None:
    assert problem(bore=[{**DRAWN, "diameter": diameter}]) == (
        ("bore", 0, "diameter"),
        f"{diameter:g} mm is not larger than bar.diameter, 50 mm; the bar would not go in",
    )


@pytest.mark.parametrize("points", ["-X", "+X"])
@pytest.mark.parametrize("faces", [(0, -120, -240), (0, 120, 240)])
def test_a_row_may_rise_or_fall(points: str, faces: tuple[float, ...]) -> None:
    job = make_job(head={"points": points}, bore=[{**DRAWN, "face": face} for face in faces])
    assert [housing.near_x for housing in housings(job)] == list(faces)


@pytest.mark.parametrize(
    ("faces", "says"),
    [
        (
            (0, -120, -60),
            "X falls along the row, but here it goes from -120 mm to -60 mm; list the bores along the row",
        ),
        ((0, 120, 60), "X rises along the row, but here it goes from 120 mm to 60 mm; list the bores along the row"),
        ((0, -120, -120), "X falls along the row, but here it goes from -120 mm to -120 mm"),
    ],
)
@pytest.mark.parametrize("points", ["-X", "+X"])
def test_bores_out_of_order(points: str, faces: tuple[float, ...], says: str) -> None:
    key, words = problem(head={"points": points}, bore=[{**DRAWN, "face": face} for face in faces])
    assert key == ("bore", 2, "face")
    assert words.startswith('bore "3" is out of order: ')
    assert says in words


def test_bores_as_read_out_of_order_are_told_at_x() -> None:
    bores = [{**AS_READ, "x": x} for x in (3, -117, -57)]
    assert problem(bore=bores)[0] == ("bore", 2, "x")


@pytest.mark.parametrize(
    ("changes", "face", "says"),
    [
        ({}, -31.9, 'from 3 mm to -34.5 mm for bore "1", into the metal of bore "2" from -63.9 mm to -31.9 mm'),
        ({}, -34.4, 'from 3 mm to -34.5 mm for bore "1", into the metal of bore "2" from -66.4 mm to -34.4 mm'),
        (
            {"approach": 9},
            -40.9,
            'from -31.9 mm to -75.4 mm for bore "2", into the metal of bore "1" from -32 mm to 0 mm',
        ),
    ],
)
def test_a_cutter_may_not_reach_into_its_neighbour_s_metal(changes: Data, face: float, says: str) -> None:
    key, words = problem(path=changes, bore=[DRAWN, {**DRAWN, "face": face}])
    assert key == ("bore", 1, "face")
    assert words.startswith("bores overlap: the cutter goes ")
    assert says in words
    assert words.endswith("mend the positions, or make approach or overrun smaller")


@pytest.mark.parametrize(("approach", "face"), [(2, -34.5), (9, -41)])
def test_a_cutter_may_reach_right_up_to_its_neighbour(approach: float, face: float) -> None:
    assert make_job(path={"approach": approach}, bore=[DRAWN, {**DRAWN, "face": face}])


def test_a_long_housing_that_swallows_its_neighbour() -> None:
    assert problem(bore=[{**DRAWN, "width": 400}, {**DRAWN, "face": -120}])[0] == ("bore", 1, "face")


@pytest.mark.parametrize("height", [42, 41.9, 1])
def test_the_clearance_height_must_lie_above_the_widest_bore(height: float) -> None:
    assert problem(path={"clearance_height": height}) == (
        ("path", "clearance_height"),
        f'{height:g} mm lies in bore "1"; Z counts from the bore line, so it must be above its radius, 42 mm,'
        " and clear of the block",
    )


def test_the_clearance_height_is_told_in_inches_in_an_inch_job() -> None:
    _, words = problem(INCH_TEXT, path={"clearance_height": 1.5})
    assert words.startswith('1.5 in lies in bore "1"')
    assert "above its radius, 1.656" in words


@pytest.mark.parametrize("ratio", [2.0, 1.5, 3, 0.4])
def test_lifting_needs_a_ratio_that_leaves_the_cutter_at_one_angle(ratio: float) -> None:
    key, words = problem(head={"ratio": ratio}, path={"withdraw": "lift", "lift": LIFT})
    assert key == ("path", "withdraw")
    assert words.startswith(f'"lift" needs the cutter to stop at one known angle, but at head.ratio = {ratio:g} ')
    assert words.endswith('write withdraw = "still" or "feed"')


@pytest.mark.parametrize("ratio", [1, 0.5, 0.25, 0.3333333333, 0.1])
def test_ratios_that_leave_the_cutter_at_one_angle(ratio: float) -> None:
    assert make_job(head={"ratio": ratio}, path={"withdraw": "lift", "lift": LIFT})


@pytest.mark.parametrize("amount", [17, 20])
def test_a_lift_may_not_push_the_bar_against_the_wall(amount: float) -> None:
    assert problem(head={"ratio": 1}, path={"withdraw": "lift", "lift": {**LIFT, "amount": amount}}) == (
        ("path", "lift", "amount"),
        f"{amount:g} mm would push the bar against the wall: between bar and narrowest bore there are 17 mm;"
        " lift by less",
    )
    assert make_job(head={"ratio": 1}, path={"withdraw": "lift", "lift": {**LIFT, "amount": 16.9}})


def _mirrored(data: Data) -> Data:
    """The same row seen from behind: X and Y turned round, and the bar pointing the other way."""
    bores = [{**bore, **{key: -bore[key] for key in ("face", "x", "length") if key in bore}} for bore in data["bore"]]
    points = {"-X": "+X", "+X": "-X"}[data["head"]["points"]]
    return {**data, "head": {**data["head"], "points": points}, "bore": bores}


@settings(max_examples=40)
@given(job_datas())
def test_a_mirrored_row_is_the_mirror_of_the_row(data: Data) -> None:
    for one, other in zip(housings(job_of(data)), housings(job_of(_mirrored(data))), strict=True):
        assert (one.start_x, one.near_x, one.far_x, one.end_x) == pytest.approx(
            (-other.start_x, -other.near_x, -other.far_x, -other.end_x)
        )
        assert one.metal == pytest.approx(tuple(-x for x in reversed(other.metal)))


@settings(max_examples=40)
@given(job_datas())
def test_strokes_hold_their_metal_and_touch_no_other(data: Data) -> None:
    job = job_of(data)
    row = housings(job)
    for housing in row:
        assert (housing.end_x - housing.start_x) * job.direction > 0
        assert housing.stroke[0] < housing.metal[0] + 1e-9
        assert housing.metal[1] - 1e-9 < housing.stroke[1]
    for one in row:
        for other in row:
            if one is not other:
                assert one.stroke[1] <= other.metal[0] or other.metal[1] <= one.stroke[0]
