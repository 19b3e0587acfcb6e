"""What a job tells of the line: read in both units, and refused in one line at its key."""

from pathlib import Path
from typing import Any

import pytest
from pydantic.fields import FieldInfo

from gen.jobfile import load
from gen.linewanted import Cam, Deck, LineWanted, Straight
from post.userfile import Table
from tests.jobs import INCH_TEXT, JOB_TEXT, told, write_job

FULL: dict[str, Any] = {
    "stock": 0.03,
    "old": "all",
    "never_lower": True,
    "caps": "-Z",
    "supports": [-480, -20],
    "repeats": 0.002,
    "cam": {
        "toward": "+Y",
        "x": 30,
        "drive": "gears",
        "distance": 126.5,
        "pressure_angle": 20,
        "backlash": 0.1,
        "most": 0.02,
    },
    "deck": [{"name": "left", "toward": 45, "height": 232.5}, {"toward": "-Z"}],
    "straight": {"overall": 0.02, "neighbours": 0.01},
}


def of(data: dict[str, Any], units: str = "mm") -> LineWanted:
    return LineWanted.model_validate(data, context={"units": units})


def refused(folder: Path, table: str, text: str = JOB_TEXT) -> str:
    """What is told of a job with this table, without the file's name."""
    path = write_job(folder, text, ("[[bore]]", f"[line]\n{table}\n\n[[bore]]"))
    says = told(lambda: load(path))
    assert "\n" not in says
    return says.removeprefix(f"{path}:")


def test_everything_in_millimetres() -> None:
    line = of(FULL)
    assert line.cam is not None
    assert line.straight is not None
    assert (line.stock, line.old, line.never_lower, line.caps, line.supports, line.repeats) == (
        0.03,
        "all",
        True,
        "-Z",
        (-480, -20),
        0.002,
    )
    assert (line.cam.toward, line.cam.x, line.cam.distance, line.cam.most) == (90, 30, 126.5, 0.02)
    assert [(deck.name, deck.toward, deck.height) for deck in line.deck] == [("left", 45, 232.5), ("deck", 180, None)]
    assert (line.straight.overall, line.straight.neighbours) == (0.02, 0.01)


def test_inches_become_millimetres_and_degrees_stay() -> None:
    line = of(
        {
            "stock": 0.001,
            "supports": [-18.5, -0.75],
            "cam": {"toward": 30, "x": 1, "drive": "gears", "pressure_angle": 20, "backlash": 0.004},
            "deck": [{"toward": "+Z", "height": 9}],
            "straight": {"overall": 0.001},
        },
        "inch",
    )
    assert line.cam is not None
    assert line.straight is not None
    assert line.supports == pytest.approx((-469.9, -19.05))
    assert line.stock == pytest.approx(0.0254)
    assert (line.cam.x, line.cam.backlash, line.cam.pressure_angle) == pytest.approx((25.4, 0.1016, 20))
    assert (line.deck[0].height, line.straight.overall) == pytest.approx((228.6, 0.0254))


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_a_line_untold_wants_the_same_in_either_unit(units: str) -> None:
    line = of({}, units)
    assert (line.stock, line.old, line.never_lower, line.repeats) == (0.02, "ends", False, 0.003)
    assert (line.caps, line.supports, line.cam, line.deck, line.straight) == (None, None, None, (), None)


def example(field: FieldInfo, units: str) -> Any:
    assert field.examples
    return field.examples[-1 if units == "inch" else 0]


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("table", [LineWanted, Cam, Deck, Straight])
def test_examples_are_valid(table: type[Table], units: str) -> None:
    shown = {name: example(field, units) for name, field in table.model_fields.items() if field.examples}
    assert len(shown) >= 2
    table.model_validate(shown, context={"units": units})


CAM = 'cam = { toward = "+Z", x = 30, drive = '


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ("stock = -0.01", "line.stock: -0.01 must be"),
        ('stock = "0.02"', "line.stock: "),
        ("stock = nan", "line.stock: "),
        ('old = "crank"', 'line.old: "crank" must be'),
        ('caps = "up"', 'line.caps: "up" must be'),
        ("never_lower = 1", "line.never_lower: "),
        ("jacks = [0, 1]", "line.jacks: "),
        ("supports = [-20, -480]", "[-20, -480] must be [lowest, highest], the first number below the second"),
        ("supports = [-20]", "line.supports"),
        (
            "supports = [-30, -5.1]",
            "line.supports: are too near to each other to tilt a block; write the X of each, lowest first, as"
            " supports = [-480, -20]",
        ),
        (
            f'{CAM}"gears" }}',
            "line.cam.pressure_angle: is missing; backlash follows from it: write pressure_angle = 20",
        ),
        (
            f'{CAM}"chain", pressure_angle = 20 }}',
            'line.cam.pressure_angle: is given, but a chain has none; leave it out, or write drive = "gears"',
        ),
        (
            f'{CAM}"chain", backlash = 0.1 }}',
            'line.cam.backlash: is given, but a chain has none; leave it out, or write drive = "gears"',
        ),
        (f'{CAM}"belt" }}', 'line.cam.drive: "belt" must be'),
        (f'{CAM}"gears", pressure_angle = 0.35 }}', "line.cam.pressure_angle: 0.35 must be"),
        (f'{CAM}"chain", most = -1 }}', "line.cam.most: -1 must be"),
        ('cam = { toward = "up", x = 3, drive = "chain" }', 'line.cam.toward: "up" must be one of "+Z", "+Y", "-Z"'),
        ('cam = { toward = "+Z", drive = "chain" }', "line.cam.x: is missing"),
        ("deck = [{ height = 3 }]", "toward: is missing"),
        ('deck = [{ toward = "+Z", name = "" }]', "name: "),
        ("straight = { overall = 0 }", "line.straight.overall: 0 must be"),
    ],
)
def test_a_table_that_cannot_be_meant_is_refused_at_its_key(tmp_path: Path, table: str, says: str) -> None:
    assert says in refused(tmp_path, table)


def test_examples_in_messages_are_in_the_job_s_unit(tmp_path: Path) -> None:
    assert refused(tmp_path, "supports = [-1, -0.01]", INCH_TEXT).endswith("as supports = [-18.5, -0.75]")
    of({"supports": [-1, 0]}, "inch")
    of({"supports": [-25, 0]})
