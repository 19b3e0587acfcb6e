"""Values out of the ordinary are told with key and value; ordinary ones are not."""

from typing import Any

import pytest

from gen.advice import cautions
from gen.job import Job
from gen.oddvalues import odd_values
from tests.jobs import INCH_TEXT, JOB_TEXT, Data, job_data, make_job

INCH: Data = {"nose": 0.0156}


def problems(job: Job) -> list[str]:
    return [caution.problem for caution in odd_values(job)]


def faces(*turns: float) -> list[Data]:
    bores = job_data(JOB_TEXT)["bore"]
    return [{**bore, "face_turns": many} for bore, many in zip(bores, turns, strict=True)]


@pytest.mark.parametrize(
    ("text", "changes", "problem"),
    [
        (
            JOB_TEXT,
            {"cutter": {"nose": 3.1}},
            "cutter.nose of 3.1 mm is more than cutters in bars have, which is 3 mm at most",
        ),
        (
            INCH_TEXT,
            {"cutter": {"nose": 0.12}},
            "cutter.nose of 0.12 in is more than cutters in bars have, which is 0.1181 in at most",
        ),
        (
            JOB_TEXT,
            {"cutter": {"nose": 0.4}, "cut": {"feed": None, "roughness": 0.19}},
            "cut.roughness of 0.19 micrometres is finer than boring leaves, which is Ra 0.2 at best",
        ),
        (
            INCH_TEXT,
            {"cutter": INCH, "cut": {"feed": None, "roughness": 12.5}},
            "cut.roughness of 12.5 microinches is finer than boring leaves",
        ),
        (
            JOB_TEXT,
            {"machine": {"rapid": {"x": 60_000, "y": 60_001, "z": 9_000}}},
            "machine.rapid.y of 60001 mm a minute is more than mills have, which is 60000 mm at most",
        ),
        (
            INCH_TEXT,
            {"machine": {"rapid": {"x": 480, "y": 480, "z": 3600}}},
            "machine.rapid.z of 3600 in a minute is more than mills have, which is 2362.2047 in at most",
        ),
        (
            JOB_TEXT,
            {"bore": faces(50, 51, 4)},
            "face_turns of 51 at bore 2: the cutter would rub on the face",
        ),
        (
            JOB_TEXT,
            {"bore": faces(60, 51, 400)},
            "face_turns of 400 at bore 3, and over 50 at 2 more: the cutter would rub on the face",
        ),
    ],
)
def test_a_value_out_of_the_ordinary_is_told_with_its_key(text: str, changes: Any, problem: str) -> None:
    assert problems(make_job(text, **changes)) == [problem]


@pytest.mark.parametrize(
    ("text", "changes"),
    [
        (JOB_TEXT, {}),
        (INCH_TEXT, {}),
        (JOB_TEXT, {"cutter": {"nose": 3.0}}),
        (JOB_TEXT, {"cutter": {"nose": 0.4}, "cut": {"feed": None, "roughness": 0.2}}),
        (INCH_TEXT, {"cutter": INCH, "cut": {"feed": None, "roughness": 16}}),
        (JOB_TEXT, {"machine": {"rapid": {"x": 60_000, "y": 60_000, "z": 60_000}}}),
        (JOB_TEXT, {"bore": faces(50, 50, 50)}),
    ],
)
def test_an_ordinary_value_is_not_told(text: str, changes: Any) -> None:
    assert problems(make_job(text, **changes)) == []


def test_micrometres_in_a_job_in_inches_are_told_in_microinches() -> None:
    (caution,) = odd_values(make_job(INCH_TEXT, cutter=INCH, cut={"feed": None, "roughness": 1.6}))
    assert caution.remedy.endswith("1.6 micrometres would be roughness = 63")


def test_odd_values_are_among_what_to_beware_of() -> None:
    job = make_job(cutter={"nose": 4})
    assert cautions(job) == list(odd_values(job)) != []
