"""Dimensions of head, block and obstacles as a job file gives them: read, brought to millimetres, refused."""

from collections.abc import Callable
from pathlib import Path
from typing import Final

import pytest

from gen.jobfile import load
from gen.space import Block, Body, Bump, Obstacle, Stem
from tests.jobs import INCH_TEXT, JOB_TEXT, edited, make_job, told

HEAD: Final = "max_rpm  = 800\n"
FULL: Final = (
    "reach = 60\nbody = { length = 70, width = 90, above = 60, below = 45 }\n"
    "stem = { back = 5, length = 60, width = 70 }\n"
    '[[head.bump]]\nname = "union"\nbehind = [70, 90]\ny = [45, 62]\nz = [-5, 5]\n'
    "[block]\ny = [-130, 130]\nz = [-120, 100]\nhole = 83.2\n"
    '[[obstacle]]\nname = "pan rail"\nx = [-700, 60]\ny = [-160, -135]\nz = [60, 110]\nturned = 12\n'
)
JOB: Final = edited(JOB_TEXT, (HEAD, HEAD + FULL))


def loading(folder: Path, *changes: tuple[str, str], text: str = JOB) -> Callable[[], object]:
    path = folder / "job.toml"
    path.write_text(edited(text, *changes), encoding="utf-8")
    return lambda: load(path)


def place(folder: Path, text: str) -> str:
    """Where a piece of the job stands: file and line."""
    path = folder / "job.toml"
    content = path.read_text(encoding="utf-8")
    return f"{path}:{content.count(chr(10), 0, content.index(text)) + 1}: "


def test_a_job_tells_head_block_and_obstacles(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    job = load(tmp_path / "job.toml").job
    assert job.head.reach == 60
    assert job.head.body == Body(length=70, width=90, above=60, below=45)
    assert job.head.stem == Stem(back=5, length=60, width=70)
    assert job.head.bump == (Bump(name="union", behind=(70, 90), y=(45, 62), z=(-5, 5)),)
    assert job.block == Block(y=(-130, 130), z=(-120, 100), hole=83.2)
    assert job.obstacle == (Obstacle(name="pan rail", x=(-700, 60), y=(-160, -135), z=(60, 110), turned=12),)


def test_a_job_need_tell_none_of_it() -> None:
    job = make_job()
    assert (job.head.reach, job.head.body, job.head.stem, job.head.bump) == (None, None, None, ())
    assert (job.block, job.obstacle, job.bore[0].hole) == (None, (), None)
    assert job.path.clearance == 2


def test_inches_become_millimetres_and_degrees_stay() -> None:
    rail = {"name": "rail", "x": [-10, 1], "y": [5, 6], "z": [-1, 2], "turned": 30}
    block = {"y": [-5, 5], "z": [-5, 4], "hole": 3.25}
    stem = {"back": 0.5, "length": 1, "width": 2}
    job = make_job(INCH_TEXT, head={"reach": 2, "stem": stem}, block=block, obstacle=[rail], path={"clearance": 0.1})
    assert job.head.stem == Stem(back=12.7, length=25.4, width=50.8)
    assert job.block is not None
    assert job.block.hole == pytest.approx(82.55)
    assert job.obstacle[0].x == (-254.0, 25.4)
    assert job.obstacle[0].turned == 30
    assert job.path.clearance == pytest.approx(2.54)


@pytest.mark.parametrize(
    ("old", "new", "key", "problem"),
    [
        ("y = [-130, 130]", "y = [130, -130]", "block.y", "[130, -130] must be [lowest, highest], the first number"),
        ("x = [-700, 60]", "x = [60, 60]", "obstacle 1, x", "[60, 60] must be [lowest, highest], the first number"),
        ("behind = [70, 90]", "behind = [90, 70]", "head.bump 1, behind", "[90, 70] must be [lowest, highest]"),
        ("turned = 12", "turned = 181", "obstacle 1, turned", "181 must be 180 or less, e.g. turned = 12"),
        ("turned = 12", "turned = nan", "obstacle 1, turned", "nan must be a plain number, neither infinite nor NaN"),
        ('name = "pan rail"', 'name = ""', "obstacle 1, name", '"" must not be empty, e.g. name = "pan rail, left"'),
        ("hole = 83.2", "hole = 0", "block.hole", "0 must be greater than 0, e.g. hole = 82.6"),
        ("back = 5", "back = -5", "head.stem.back", "-5 must be 0 or more, e.g. back = 15"),
        ("width = 90, ", "", "head.body.width", "is missing; write width = 110"),
        ("above = 60", "above = true", "head.body.above", "true must be a number, e.g. above = 65"),
        ("below = 45", "under = 45", "head.body.under", "there is no such key"),
        ("[[obstacle]]", "[obstacle]", "obstacle", "is a single table; its header has double brackets, [[obstacle]]"),
    ],
)
def test_a_dimension_that_is_none_is_told_with_file_line_and_key(
    tmp_path: Path, old: str, new: str, key: str, problem: str
) -> None:
    message = told(loading(tmp_path, (old, new)))
    assert message.startswith(f"{place(tmp_path, new or 'body =')}{key}: {problem}")


@pytest.mark.parametrize("text", [JOB, edited(JOB_TEXT, (HEAD, HEAD + FULL.split("[block]")[0].split("stem")[0]))])
def test_body_without_reach_has_nothing_to_count_from(tmp_path: Path, text: str) -> None:
    message = told(loading(tmp_path, ("reach = 60\n", ""), text=text))
    assert "head.reach: is missing; body and stem are counted from the head's face: write reach = ..." in message


def test_stem_without_reach_has_nothing_to_count_from(tmp_path: Path) -> None:
    stem = edited(JOB_TEXT, (HEAD, HEAD + "stem = { back = 5, length = 60, width = 70 }\n"))
    message = told(loading(tmp_path, text=stem))
    assert message.endswith("head.reach: is missing; body and stem are counted from the head's face: write reach = ...")
    assert message.startswith(place(tmp_path, "[head]"))


def test_a_bump_without_a_reach_and_a_column_behind_the_body_are_refused(tmp_path: Path) -> None:
    head = FULL[FULL.index("[[head.bump]]") :]
    bare = edited(JOB_TEXT, (HEAD, HEAD + head))
    assert "head.reach: is missing; a bump hangs beside the bar" in told(loading(tmp_path, text=bare))
    message = told(loading(tmp_path, ("back = 5,", "back = 70,")))
    assert "head.stem.back: is no less than body.length" in message
