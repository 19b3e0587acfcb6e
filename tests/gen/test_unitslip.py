"""Inches told as millimetres and the contrary are refused; small and big jobs that are honest are not."""

from pathlib import Path
from typing import Any, Final

import pytest

from gen.jobfile import load, starter
from tests.jobs import INCH_TEXT, JOB_TEXT, Data, edited, make_job, told, write_job

SMALL: Final[Data] = {
    "bar": {"diameter": 7},
    "path": {"clearance_height": 20, "approach": 2, "overrun": 1},
    "cut": {"rpm": None, "speed": 20, "feed": 0.02},
    "machine": {"rapid": {"x": 600, "y": 600, "z": 400}, "travel": {"x": [-200, 100], "y": [-50, 50], "z": [-150, 0]}},
    "bore": [{"face": 0, "width": 12, "diameter": 10}, {"face": -40, "width": 12, "diameter": 10}],
}
"""Cam bores of 10 mm on a bench mill with slow rapids: four of the signs, and honest."""

BIG: Final[Data] = {
    "bar": {"diameter": 10},
    "path": {"clearance_height": 65},
    "cut": {"rpm": 20, "feed": 0.03},
    "machine": {"travel": {"x": [-400, 100], "y": [-100, 100], "z": [-60, 0]}},
    "bore": [{"x": 0, "length": 12, "diameter": 30}],
}
"""A bore of 30 in on a floor-type borer: three of the signs, and honest."""


def test_inches_told_as_millimetres_are_refused_with_what_looks_so(tmp_path: Path) -> None:
    path = write_job(tmp_path, starter("inch"), ('units = "inch"', 'units = "mm"'))
    assert told(lambda: load(path)) == (
        f'{path}:5: units: "mm" makes the largest bore 3.3125 mm, the longest travel 40 mm, bar.diameter 2 mm,'
        " the largest rapid 480 mm a minute, path.clearance_height 6.5 mm, the largest feed 0.004 mm a turn:"
        ' these look like inches; write units = "inch"'
    )


def test_millimetres_told_as_inches_are_refused_with_what_looks_so(tmp_path: Path) -> None:
    path = write_job(tmp_path, starter("mm"), ('units = "mm"', 'units = "inch"'))
    assert told(lambda: load(path)) == (
        f'{path}:5: units: "inch" makes the smallest bore 84 in, the shortest travel 600 in, bar.diameter 50 in,'
        " the smallest rapid 9000 in a minute, path.clearance_height 160 in, the smallest feed 0.1 in a turn:"
        ' these look like millimetres; write units = "mm"'
    )


# The compressor of the quarry is refused before: its supports come too near to each other.
@pytest.mark.parametrize(
    "job",
    [path for path in sorted(Path("samples").glob("*.toml")) if path.stem != "quarry-compressor"],
    ids=lambda path: path.stem,
)
def test_every_sample_under_the_other_unit_is_refused(tmp_path: Path, job: Path) -> None:
    text = job.read_text(encoding="utf-8")
    here, there = ("mm", "inch") if 'units = "mm"' in text else ("inch", "mm")
    path = write_job(tmp_path, text, (f'units = "{here}"', f'units = "{there}"'))
    assert f'write units = "{here}"' in told(lambda: load(path))


def test_a_small_job_in_millimetres_is_honest() -> None:
    assert make_job(**SMALL).units == "mm"


@pytest.mark.parametrize(
    "telling",
    [
        {"cut": {"rpm": None, "speed": 20, "feed": 0.0079}},
        {"machine": {"travel": {"x": [-50, 49], "y": [-49, 50], "z": [-99, 0]}}},
    ],
)
def test_a_small_job_with_what_no_small_job_has_is_refused(telling: Data) -> None:
    with pytest.raises(ValueError, match="these look like inches"):
        make_job(**{**SMALL, **telling})


def test_a_big_job_in_inches_is_honest() -> None:
    assert make_job(INCH_TEXT, **BIG).units == "inch"


@pytest.mark.parametrize(
    "telling",
    [
        {"bar": {"diameter": 12}},
        {"machine": {"rapid": {"x": 2400, "y": 2400, "z": 2400}}},
        {"machine": {"travel": {"x": [-400, 100], "y": [-100, 100], "z": [-160, 0]}}},
    ],
)
def test_a_big_job_with_what_no_mill_has_is_refused(telling: Data) -> None:
    with pytest.raises(ValueError, match="these look like millimetres"):
        make_job(INCH_TEXT, **{**BIG, **telling})


@pytest.mark.parametrize(
    "changes",
    [
        {"machine": {"travel": {"x": [-50, 40], "y": [-40, 40], "z": [-90, 0]}}, "cut": {"feed": 0.004}},
        {"bar": {"diameter": 6}, "machine": {"rapid": {"x": 900, "y": 900, "z": 900}}},
    ],
)
def test_two_signs_are_not_enough(changes: Any) -> None:
    assert make_job(JOB_TEXT, **changes).units == "mm"


def test_three_signs_of_a_big_job_are_not_enough() -> None:
    telling = {"bar": {"diameter": 12}, "cut": {"rpm": 20, "feed": 0.02}}
    assert make_job(INCH_TEXT, **{**BIG, **telling}).units == "inch"


def test_a_feed_that_is_not_told_is_no_sign(tmp_path: Path) -> None:
    text = edited(starter("inch"), ('units = "inch"', 'units = "mm"'), ("feed = 0.004", "roughness = 1.6"))
    path = write_job(tmp_path, text + "\n[cutter]\nnose = 0.4\n")
    message = told(lambda: load(path))
    assert "these look like inches" in message
    assert "largest feed" not in message
