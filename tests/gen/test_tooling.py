"""What a job tells of cutter, passes and sizes: how it is read, and what is refused, where and in which words."""

import tomllib
from pathlib import Path
from typing import Any, Final, get_args

import pytest
from pydantic import ValidationError

from gen.cutting import MATERIALS
from gen.jobfile import load, schema
from gen.offsize import BAR_MATERIALS
from gen.tooling import BarMaterial, Cutter, Material, Passes, SettingForm, Size
from post.tomlplaces import Key
from post.userfile import KeyProblem
from tests.jobs import INCH_TEXT, JOB_TEXT, Data, edited, job_of, make_job, told, toml_of, write_job
from tests.programs import ROOT

PASSES: Final[Data] = {"depth": 0.3, "finish_stock": 0.1}
INCH_PASSES: Final[Data] = {"depth": 0.015, "finish_stock": 0.004}


def test_none_of_it_must_be_told() -> None:
    job = make_job()
    assert (job.cutter, job.passes, job.size) == (None, None, None)
    assert (job.cut.material, job.cut.roughness, job.head.max_torque, job.bar.material) == (None, None, None, "steel")
    assert {(bore.measured, bore.tolerance, bore.limits) for bore in job.bore} == {(None, None, None)}


def test_what_is_not_told_of_what_is() -> None:
    job = make_job(
        cutter={"nose": 0.4},
        passes=PASSES,
        size={},
        bore=[{"face": 0, "width": 30, "diameter": 84, "measured": [80, 81]}],
    )
    assert job.cutter == Cutter(nose=0.4, edge=None, angle=90.0)
    assert job.passes == Passes(depth=0.3, finish_stock=0.1, skim=None, air=False, least=None)
    assert job.size == Size(tolerance=None, setting="bore", gauge=0.0, temperature=20.0)


def test_millimetres_are_read_as_they_stand() -> None:
    job = make_job(
        cutter={"nose": 0.4, "edge": 0.015, "angle": 95},
        passes={"depth": 0.3, "finish_stock": 0.1, "skim": 0.06, "air": True, "least": 0.03},
        size={"tolerance": "H6", "setting": "tip", "gauge": 0.002, "temperature": 23.5},
        head={"max_torque": 60},
        bar={"material": "heavy metal"},
        cut={"feed": None, "roughness": 1.6, "material": "grey iron"},
        bore=[{"face": 0, "width": 30, "diameter": 84, "measured": [83.02, 83.05], "limits": [84, 84.022]}],
    )
    assert job.cutter == Cutter(nose=0.4, edge=0.015, angle=95.0)
    assert job.passes == Passes(depth=0.3, finish_stock=0.1, skim=0.06, air=True, least=0.03)
    assert job.size == Size(tolerance="H6", setting="tip", gauge=0.002, temperature=23.5)
    assert (job.head.max_torque, job.bar.material, job.cut.material) == (60.0, "heavy metal", "grey iron")
    assert (job.cut.feed, job.cut.roughness) == (None, 1.6)
    assert job.cut.feed_mm(job.cutter) == pytest.approx(0.141256, abs=1e-6)
    assert (job.bore[0].measured, job.bore[0].limits) == ((83.02, 83.05), (84.0, 84.022))


def test_inches_are_millimetres_inside() -> None:
    bore = {"x": 0, "length": 1.35, "diameter": 3.3125, "measured": [3.2525, 3.2535], "limits": [3.3125, 3.3134]}
    job = make_job(
        INCH_TEXT,
        cutter={"nose": 0.0156, "edge": 0.0008, "angle": 95},
        passes={"depth": 0.015, "finish_stock": 0.004, "skim": 0.002, "least": 0.001},
        size={"gauge": 0.0001, "temperature": 23.5},
        head={"max_torque": 60},
        cut={"feed": None, "roughness": 63},
        bore=[bore],
    )
    assert job.cutter is not None
    assert job.passes is not None
    assert job.size is not None
    assert job.cut.roughness is not None
    assert (job.cutter.nose, job.cutter.edge) == pytest.approx((0.39624, 0.02032))
    assert (job.passes.depth, job.passes.finish_stock) == pytest.approx((0.381, 0.1016))
    assert (job.passes.skim, job.passes.least) == pytest.approx((0.0508, 0.0254))
    assert job.size.gauge == pytest.approx(0.00254)
    assert job.bore[0].measured == pytest.approx((82.6135, 82.6389))
    assert job.bore[0].limits == pytest.approx((84.1375, 84.16036))
    # No lengths: degrees, degrees Celsius, N m; and 63 microinches.
    assert (job.cutter.angle, job.size.temperature, job.head.max_torque) == (95.0, 23.5, 60.0)
    assert job.cut.roughness == pytest.approx(1.6002)


@pytest.mark.parametrize("degrees", [0, 50])
def test_the_ends_of_the_temperatures_are_taken(degrees: float) -> None:
    size = make_job(size={"temperature": degrees}).size
    assert size is not None
    assert size.temperature == degrees


def test_the_schema_tells_the_bounds_of_a_temperature() -> None:
    temperature = Size.model_json_schema()["properties"]["temperature"]
    assert (temperature["type"], temperature["minimum"], temperature["maximum"]) == ("number", 0, 50)


def test_a_feed_that_is_told_needs_no_cutter() -> None:
    assert make_job().cut.feed_mm(None) == 0.1


def test_every_material_and_form_that_is_known_can_be_told_and_no_other() -> None:
    assert set(get_args(Material)) == {*MATERIALS}
    assert set(get_args(BarMaterial)) == {*BAR_MATERIALS}
    for material in MATERIALS:
        assert make_job(cut={"material": material}).cut.material == material
    for bar in BAR_MATERIALS:
        assert make_job(bar={"material": bar}).bar.material == bar
    for form in get_args(SettingForm):
        size = make_job(size={"setting": form}).size
        assert size is not None
        assert size.setting == form


@pytest.mark.parametrize(
    ("table", "line", "problem"),
    [
        ("cutter", "nose = 0", "cutter.nose: 0 must be greater than 0, e.g. nose = 0.4"),
        ("cutter", "nose = inf", "cutter.nose: inf must be a plain number, neither infinite nor NaN, e.g. nose = 0.4"),
        ("cutter", "edge = 0.02", "cutter.nose: is missing; write nose = 0.4"),
        ("cutter", "nose = 0.4\nangle = 180", "cutter.angle: 180 must be less than 180, e.g. angle = 90"),
        ("cutter", "nose = 0.4\nangle = 0", "cutter.angle: 0 must be greater than 0, e.g. angle = 90"),
        ("cutter", "nose = 0.4\nradius = 0.4", "cutter.radius: there is no such key. Allowed here: nose, edge, angle"),
        ("passes", "depth = 0.3", "passes.finish_stock: is missing; write finish_stock = 0.1"),
        ("passes", "finish_stock = 0.1", "passes.depth: is missing; write depth = 0.4"),
        ("passes", "finish_stock = 0.1\ndepth = -0.3", "passes.depth: -0.3 must be greater than 0, e.g. depth = 0.4"),
        (
            "passes",
            "depth = 0.3\nfinish_stock = 0",
            "passes.finish_stock: 0 must be greater than 0, e.g. finish_stock = 0.1",
        ),
        ("passes", "depth = 0.3\nfinish_stock = 0.1\nair = 1", "passes.air: 1 must be true or false, e.g. air = true"),
        (
            "passes",
            "depth = 0.3\nfinish_stock = 0.1\nskin = 0.1",
            "passes.skin: there is no such key; did you mean skim? Allowed here: depth, finish_stock, skim, air, least",
        ),
        (
            "size",
            'setting = "micrometer"',
            "size.setting: \"micrometer\" must be one of 'bore', 'over' or 'tip', e.g. setting = \"over\"",
        ),
        ("size", "gauge = -0.001", "size.gauge: -0.001 must be 0 or more, e.g. gauge = 0.002"),
        (
            "size",
            "temperature = nan",
            "size.temperature: nan must be a plain number, neither infinite nor NaN, e.g. temperature = 20",
        ),
        (
            "size",
            "temperature = 68",
            "size.temperature: 68 must be degrees Celsius, 0 to 50, e.g. temperature = 20; 68 F is 20 C",
        ),
        (
            "size",
            "temperature = -1",
            "size.temperature: -1 must be degrees Celsius, 0 to 50, e.g. temperature = 20; 68 F is 20 C",
        ),
    ],
)
def test_a_table_that_cannot_be_read_is_told_at_its_line(tmp_path: Path, table: str, line: str, problem: str) -> None:
    path = write_job(tmp_path, JOB_TEXT, ("[[bore]]", f"[{table}]\n{line}\n\n[[bore]]"))
    header = path.read_text(encoding="utf-8").split("\n").index(f"[{table}]") + 1
    at = header if "is missing" in problem else header + line.count("\n") + 1
    assert told(lambda: load(path)) == f"{path}:{at}: {problem}"


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        (
            "feed = 0.10",
            'feed = 0.10\nmaterial = "iron"',
            "cut.material: \"iron\" must be one of 'grey iron', 'mild"
            " steel' or 'medium-carbon steel', e.g. material = \"grey iron\"",
        ),
        ("feed = 0.10", "roughness = 0", "cut.roughness: 0 must be greater than 0, e.g. roughness = 1.6"),
        ("feed = 0.10", "roughness = 1600", "cut.roughness: 1600 must be 1000 or less, e.g. roughness = 1.6"),
        (
            'hand     = "right"',
            'hand = "right"\nmaterial = "iron"',
            "bar.material: \"iron\" must be one of 'steel', 'heavy metal' or 'carbide', e.g. material = \"steel\"",
        ),
        (
            "max_rpm  = 800",
            "max_rpm = 800\nmax_torque = 0",
            "head.max_torque: 0 must be greater than 0, e.g. max_torque = 60",
        ),
        (
            "face_turns = 4",
            'tolerance = "H1234567890"',
            'bore 1, tolerance: "H1234567890" must be at most 10 characters long, e.g. tolerance = "H6"',
        ),
        (
            "face_turns = 4",
            "measured = [83.05, 83.02]",
            "bore 1, measured: [83.05, 83.02] must be [lowest, highest], the first number below the second",
        ),
        (
            "face_turns = 4",
            "measured = [83.05]",
            "bore 1, measured: [83.05] must be a list of two numbers, e.g. measured = [82.61, 82.64]",
        ),
        (
            "face_turns = 4",
            "measured = 83.05",
            "bore 1, measured: 83.05 must be a list of two numbers, e.g. measured = [82.61, 82.64]",
        ),
        (
            "face_turns = 4",
            "measured = [-83.05, 83.02]",
            "bore 1, measured 1: -83.05 must be greater than 0, e.g. measured = [82.61, 82.64]",
        ),
        (
            "face_turns = 4",
            "measured = [nan, 83.02]",
            "bore 1, measured 1: nan must be a plain number, neither infinite nor NaN, e.g. measured = [82.61, 82.64]",
        ),
        (
            "face_turns = 4",
            "limits = [84.022, 84]",
            "bore 1, limits: [84.022, 84] must be [lowest, highest], the first number below the second",
        ),
        (
            "face_turns = 4",
            "limits = [84, 84]",
            "bore 1, limits: [84, 84] must be [lowest, highest], the first number below the second",
        ),
        ("face_turns = 4", "tolerance = 6", 'bore 1, tolerance: 6 must be text in quotes, e.g. tolerance = "H6"'),
    ],
)
def test_a_key_that_cannot_be_read_is_told_at_its_line(tmp_path: Path, old: str, new: str, problem: str) -> None:
    path = write_job(tmp_path, JOB_TEXT, (old, new))
    line = path.read_text(encoding="utf-8").split("\n").index(new.rsplit("\n", 1)[-1]) + 1
    assert told(lambda: load(path)) == f"{path}:{line}: {problem}"


def test_what_does_not_go_together_is_told_at_its_line(tmp_path: Path) -> None:
    passes = "[passes]\ndepth = 0.3\nfinish_stock = 0.1\n"
    text = JOB_TEXT.replace("diameter = 84.0", "diameter = 84.0\nmeasured = [83.0, 83.1]")
    path = write_job(
        tmp_path, edited(text, ("[[bore]]", f"{passes}\n[[bore]]"), ("face_turns = 4", "tolerance = 'H9'"))
    )
    line = path.read_text(encoding="utf-8").split("\n").index("tolerance = 'H9'") + 1
    assert told(lambda: load(path)).startswith(f'{path}:{line}: bore 1, tolerance: "H9" is not a tolerance class known')


# What does not go together. The second of two bores of 84 mm; bar 50.

SECOND_BORE: Final = [
    (
        {},
        "measured",
        "is missing; [passes] needs the smallest and largest diameter of every bore: measured = [83.076, 83.16]",
    ),
    (
        {"measured": [83.05, 84.001]},
        "measured",
        '84.001 mm is over size already: at most 84 mm is wanted of bore "2"; mend measured, or the'
        " diameter or tolerance of that bore",
    ),
    (
        {"measured": [83.05, 84.03], "tolerance": "H6"},
        "measured",
        '84.03 mm is over size already: at most 84.022 mm is wanted of bore "2"; mend measured, or the'
        " diameter or tolerance of that bore",
    ),
    (
        {"measured": [83.05, 84.018], "limits": [84, 84.0178]},
        "measured",
        '84.018 mm is over size already: at most 84.017 mm is wanted of bore "2"; mend measured, or the'
        " diameter or tolerance of that bore",
    ),
    (
        {"measured": [83.05, 84.02], "tolerance": "H6"},
        "measured",
        'no stock is left at the largest diameter of bore "2", 84.02 mm, to 84.011 mm; the cutter needs 0.02 mm',
    ),
    (
        {"measured": [83.05, 84.022], "tolerance": "H6"},
        "measured",
        'no stock is left at the largest diameter of bore "2", 84.022 mm, to 84.011 mm; the cutter needs 0.02 mm',
    ),
    (
        {"measured": [83.05, 84.0]},
        "measured",
        'no stock is left at the largest diameter of bore "2", 84 mm, to 84 mm; the cutter needs 0.02 mm',
    ),
    (
        {"measured": [83.05, 83.98]},
        "measured",
        'only 0.01 mm a side is left at the largest diameter of bore "2", 83.98 mm, to 84 mm; the cutter needs 0.02 mm',
    ),
    (
        {"hole": 83.98},
        "hole",
        'only 0.01 mm a side is left at the largest diameter of bore "2", 83.98 mm, to 84 mm; the cutter needs 0.02 mm',
    ),
    ({"measured": [50.0, 83.0]}, "measured", "50 mm is no larger than bar.diameter, 50 mm; the bar would not go in"),
    (
        {"measured": [83.0, 83.1], "centre": [0, 16.5]},
        "centre",
        'brings the wall of bore "2" to 25 mm from the bore line; the bar\'s radius is 25 mm: it would not go in; move'
        " the block, or mend centre",
    ),
    (
        {"measured": [83.0, 83.1], "limits": [0, 0.022]},
        "limits",
        "0 mm to 0.022 mm is not about the bore's diameter, 84 mm; limits are sizes, not deviations",
    ),
    (
        {"measured": [83.0, 83.1], "limits": [85.001, 85.1]},
        "limits",
        "85.001 mm to 85.1 mm is not about the bore's diameter, 84 mm; limits are sizes, not deviations",
    ),
    (
        {"measured": [82.0, 82.1], "limits": [82.9, 82.999]},
        "limits",
        "82.9 mm to 82.999 mm is not about the bore's diameter, 84 mm; limits are sizes, not deviations",
    ),
    (
        {"measured": [83.0, 83.1], "limits": [84, 84.022], "tolerance": "H6"},
        "limits",
        "limits and tolerance are both given; keep one",
    ),
    (
        {"measured": [83.0, 83.1], "tolerance": "X6"},
        "tolerance",
        '"X6" is not a tolerance class known here: H5 to H8 or JS5 to JS8, e.g. "H6"; for any other give both limits',
    ),
    (
        {"measured": [83.0, 83.1], "tolerance": "h6"},
        "tolerance",
        '"h6" is not a tolerance class known here: small letters are for shafts, a bore has "H6"',
    ),
    (
        {"measured": [320.0, 320.1], "diameter": 321.0, "tolerance": "H6"},
        "tolerance",
        "tolerance grades are known for diameters over 18 up to 315 mm, not for 321 mm; give both limits instead",
    ),
]


def mistake(text: str, **changes: Any) -> tuple[Key, str]:
    """The one mistake in a changed job, and its key."""
    with pytest.raises(ValidationError, match=r"^1 validation error for Job\n") as caught:
        make_job(text, **changes)
    (detail,) = caught.value.errors()
    own = detail["ctx"]["error"]
    assert isinstance(own, KeyProblem)
    return (*detail["loc"], *own.key), str(own)


def row(*bores: Data) -> list[Data]:
    """Bores of 30 mm, 84 mm in diameter unless told otherwise, along the row."""
    return [{"face": -130 * at, "width": 30, "diameter": 84.0, **bore} for at, bore in enumerate(bores)]


@pytest.mark.parametrize(("bore", "name", "problem"), SECOND_BORE)
def test_a_bore_that_cannot_be_is_told_at_its_key(bore: Data, name: str, problem: str) -> None:
    rows = row({"measured": [83.0, 83.1]}, bore)
    high = {"clearance_height": 200}
    assert mistake(JOB_TEXT, bore=rows, passes=PASSES, path=high) == (("bore", 1, name), problem)


@pytest.mark.parametrize("bore", [{}, {"measured": [85.0, 86.0]}, {"measured": [10.0, 83.0]}, {"hole": 83.99}])
def test_without_passes_no_stock_is_asked_for(bore: Data) -> None:
    assert make_job(bore=row(bore)).bore[0].measured == (tuple(bore["measured"]) if "measured" in bore else None)


def test_a_tolerance_is_looked_at_even_without_passes() -> None:
    key, problem = mistake(JOB_TEXT, bore=row({"tolerance": "H9"}))
    assert key == ("bore", 0, "tolerance")
    assert problem.startswith('"H9" is not a tolerance class known here')


@pytest.mark.parametrize("limits", [[82.9, 83.0], [85.0, 85.1], [83.5, 84.5]])
def test_limits_within_a_millimetre_of_the_diameter_are_taken(limits: list[float]) -> None:
    job = make_job(bore=row({"measured": [80, 80.1], "limits": limits}), passes=PASSES)
    assert job.bore[0].limits == tuple(limits)


WHOLE_JOB: Final = [
    (
        {"size": {"tolerance": "H9"}},
        ("size", "tolerance"),
        '"H9" is not a tolerance class known here: H5 to H8 or JS5 to JS8, e.g. "H6"; for any other give both limits',
    ),
    (
        {"passes": {**PASSES, "least": 0.12}},
        ("passes", "finish_stock"),
        "0.1 mm is less than passes.least, 0.12 mm: the finishing cut would be too light to cut",
    ),
    (
        {"cut": {"feed": None, "roughness": 1.6}},
        ("cutter",),
        "is missing; a roughness needs the radius of the cutter's nose: [cutter] nose = ...",
    ),
    (
        {"cut": {"feed": None, "roughness": 16}, "cutter": {"nose": 0.4}},
        ("cut", "roughness"),
        "a roughness 1.25 times what the nose leaves at a feed of 1 times its radius, the most that is sensible: ask"
        " for more than 0 and at most that",
    ),
    (
        {"cut": {"roughness": 1.6}, "cutter": {"nose": 0.4}},
        ("cut", "roughness"),
        "feed and roughness are both given; keep one, as feed = 0.1",
    ),
    ({"cut": {"feed": None}}, ("cut", "feed"), "is missing; write feed = 0.1 or roughness = 1.6"),
]


@pytest.mark.parametrize(("changes", "key", "problem"), WHOLE_JOB)
def test_what_the_whole_job_cannot_be_is_told_at_its_key(changes: Data, key: Key, problem: str) -> None:
    whole: Data = {"bore": row({"measured": [83.0, 83.1]}), "passes": PASSES, **changes}
    assert mistake(JOB_TEXT, **whole) == (key, problem)


def test_the_lightest_cut_may_be_all_the_finishing_stock() -> None:
    assert make_job(bore=row({"measured": [83.0, 83.1]}), passes={**PASSES, "least": 0.1}).passes is not None


INCHES: Final = [
    (
        {"measured": None},
        {},
        ("bore", 0, "measured"),
        "is missing; [passes] needs the smallest and largest diameter of every bore: measured = [3.2761, 3.2794]",
    ),
    (
        {"measured": [3.25, 3.3129]},
        {},
        ("bore", 0, "measured"),
        '3.3129 in is over size already: at most 3.3125 in is wanted of bore "1"; mend measured, or the'
        " diameter or tolerance of that bore",
    ),
    (
        {"measured": [3.25, 3.3115]},
        {},
        ("bore", 0, "measured"),
        'only 0.0005 in a side is left at the largest diameter of bore "1", 3.3115 in, to 3.3125 in; the cutter needs'
        " 0.0008 in",
    ),
    (
        {"measured": [2.0, 3.25]},
        {},
        ("bore", 0, "measured"),
        "2 in is no larger than bar.diameter, 2 in; the bar would not go in",
    ),
    (
        {"limits": [0, 0.0009]},
        {},
        ("bore", 0, "limits"),
        "0 in to 0.0009 in is not about the bore's diameter, 3.3125 in; limits are sizes, not deviations",
    ),
    (
        {},
        {"cut": {"roughness": 63}, "cutter": {"nose": 0.0156}},
        ("cut", "roughness"),
        "feed and roughness are both given; keep one, as feed = 0.004",
    ),
    ({}, {"cut": {"feed": None}}, ("cut", "feed"), "is missing; write feed = 0.004 or roughness = 63"),
    (
        {},
        {"passes": {**INCH_PASSES, "least": 0.005}},
        ("passes", "finish_stock"),
        "0.004 in is less than passes.least, 0.005 in: the finishing cut would be too light to cut",
    ),
]


@pytest.mark.parametrize(("bore", "changes", "key", "problem"), INCHES)
def test_inches_are_refused_in_inches(bore: Data, changes: Data, key: Key, problem: str) -> None:
    whole = {"x": 0, "length": 1.35, "diameter": 3.3125, "measured": [3.25, 3.251], **bore}
    kept = {name: value for name, value in whole.items() if value is not None}
    assert mistake(INCH_TEXT, bore=[kept], **{"passes": INCH_PASSES, **changes}) == (key, problem)


def test_upside_down_in_inches_is_told_as_it_was_written(tmp_path: Path) -> None:
    path = write_job(tmp_path, INCH_TEXT, ("diameter = 3.3125", "diameter = 3.3125\nmeasured = [3.2535, 3.2525]"))
    says = "bore 1, measured: [3.2535, 3.2525] must be [lowest, highest], the first number below the second"
    assert told(lambda: load(path)).endswith(says)


def test_the_sample_with_passes_is_the_same_job_from_its_own_data() -> None:
    path = ROOT / "samples" / "slipway-winch.toml"
    job = load(path).job
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    assert {"cutter", "passes", "size"} <= data.keys()
    assert job_of(tomllib.loads(toml_of(data))) == job


def test_the_schema_of_a_job_knows_the_tables_and_keys() -> None:
    told_of = schema()
    assert {"cutter", "passes", "size"} <= told_of["properties"].keys()
    assert {"measured", "tolerance", "limits"} <= told_of["$defs"]["Bore"]["properties"].keys()
    assert set(told_of["$defs"]["Passes"]["required"]) == {"depth", "finish_stock"}
