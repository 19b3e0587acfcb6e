"""The commands size and inspect: what they print and write, their exit codes, and that a mistake loses nothing."""

import json
import os
import shutil
from pathlib import Path
from typing import Final

import pytest

from tests.commands import Run, put, refused
from tests.programs import ROOT

JOB: Final = ROOT / "samples" / "slipway-winch.toml"
READINGS: Final = ROOT / "samples" / "readings"
RECORD: Final = "winch-record.csv"


@pytest.fixture(autouse=True)
def _winch(run: Run) -> None:
    shutil.copy(JOB, "winch.toml")
    for name in ("skim", "finished"):
        shutil.copy(READINGS / f"slipway-winch-{name}.csv", f"{name}.csv")


def test_size_tells_the_next_setting_and_writes_nothing(run: Run) -> None:
    before = sorted(os.listdir())
    outcome = run("size", "winch.toml", "skim.csv")
    assert (outcome.code, outcome.err) == (0, "")
    assert "rough: CUT" in outcome.out
    assert "mm over bar and tip, bores 1, 2, 3" in outcome.out
    assert sorted(os.listdir()) == before


def shifted(bore: str, by: float) -> str:
    """The readings after the skim, those of a bore larger."""
    lines = [one.split(",") for one in Path("skim.csv").read_text().split()]
    return "".join(
        ",".join([*one[:4], f"{float(one[4]) + by:.3f}" if one[0] == bore else one[4]]) + "\n" for one in lines
    )


@pytest.mark.parametrize("off", [0.16, 0.18, 0.2, 0.25, 0.3, 0.4])
def test_size_asks_about_a_bore_off_its_setting_and_stops_if_it_is_so(run: Run, off: float) -> None:
    put("skim.csv", shifted("3", off))
    refused(run("size", "winch.toml", "skim.csv"), "skim.csv:10: reading", 'all of bore "3"', "measure there again")
    heading, *rest = Path("skim.csv").read_text().split()
    put("skim.csv", "\n".join([f"{heading},note", *(f"{one},{'keep' if one[0] == '3' else ''}" for one in rest), ""]))
    outcome = run("size", "winch.toml", "skim.csv")
    assert outcome.code == 1
    assert "CUT" not in outcome.out
    assert "bores that scatter" in outcome.out


def test_size_ends_in_1_and_cuts_nothing_while_a_bore_is_over_size(run: Run) -> None:
    put(
        "winch.toml", Path("winch.toml").read_text().replace("diameter = 90\n", "diameter = 90\nlimits = [89, 89.09]\n")
    )
    put("skim.csv", Path("skim.csv").read_text() + "4,69.525,0,3,89.096\n")
    outcome = run("size", "winch.toml", "skim.csv")
    assert (outcome.code, outcome.err) == (1, "")
    assert "CUT" not in outcome.out
    assert (
        outcome.out.rstrip().split("\n")[-1].startswith('  verdict     STOP: bore "4" over its largest size by 0.006')
    )
    told = json.loads(run("size", "winch.toml", "skim.csv", "--json").out)
    assert told["ok"] is False
    assert {one["advice"] for one in told["next"]} == {"stop"}


def test_size_ends_in_0_when_every_bore_is_in_tolerance(run: Run) -> None:
    lines = [
        f"{bore},{setting},0,3,{size}"
        for bore, setting, size in [
            ("1", "67.02", "84.01"),
            ("2", "67.02", "84.011"),
            ("3", "67.02", "84.01"),
            ("4", "70.02", "90.01"),
        ]
    ]
    put("done.csv", "\n".join(["bore,set,angle,depth,reading", *lines, ""]))
    outcome = run("size", "winch.toml", "done.csv")
    assert (outcome.code, outcome.err) == (0, "")
    assert "verdict     DONE: every bore is in tolerance" in outcome.out


def test_size_keeps_a_record_when_asked_and_a_round_only_once(run: Run) -> None:
    first = json.loads(run("size", "winch.toml", "skim.csv", "--record", "--json").out)
    kept = Path(RECORD).read_text()
    assert kept.count("\n") == Path("skim.csv").read_text().count("\n")
    assert first["round"] == 1
    again = json.loads(run("size", "winch.toml", "skim.csv", "--record", "--json").out)
    assert again == first
    assert Path(RECORD).read_text() == kept


def test_size_takes_a_spring_pass_when_it_is_told_and_never_a_corrected_round_as_one(run: Run) -> None:
    run("size", "winch.toml", "skim.csv", "--record")
    kept = Path(RECORD).read_text()
    put("skim.csv", Path("skim.csv").read_text().replace("3,66.565,90,23,83.131", "3,66.565,90,23,83.132"))
    refused(
        run("size", "winch.toml", "skim.csv", "--record"), "skim.csv:2: set: round 1 on winch-record.csv", "--again"
    )
    assert Path(RECORD).read_text() == kept
    told = json.loads(run("size", "winch.toml", "skim.csv", "--record", "--again", "--json").out)
    assert (told["round"], told["ok"]) == (2, True)
    assert 'bore "1": the cut was' in told["notes"][0]
    assert "too light to learn from" in told["notes"][0]
    assert json.loads(run("size", "winch.toml", "skim.csv", "--json").out) == told


def test_size_ends_in_1_for_a_round_that_others_came_after(run: Run) -> None:
    run("size", "winch.toml", "skim.csv", "--record")
    lines = [f"{bore},66.95,0,3,{size}" for bore, size in (("1", "83.86"), ("2", "83.861"), ("3", "83.86"))]
    put("rough.csv", "\n".join(["bore,set,angle,depth,reading", *lines, ""]))
    assert run("size", "winch.toml", "rough.csv", "--record").code == 0
    outcome = run("size", "winch.toml", "skim.csv")
    assert (outcome.code, outcome.err) == (1, "")
    assert "CUT" not in outcome.out
    assert "verdict     OLD: this is round 1 of 2 on record" in outcome.out


def test_size_is_the_same_for_the_same_seed(run: Run) -> None:
    one, same = (run("size", "winch.toml", "skim.csv", "--json", "--seed", "3").out for _ in range(2))
    assert one == same
    assert json.loads(one)["seed"] == 3


def test_a_damaged_record_is_told_and_kept(run: Run) -> None:
    put(RECORD, "round,bore\n1,1\n")
    refused(run("size", "winch.toml", "skim.csv", "--record"), f"{RECORD}:1")
    assert Path(RECORD).read_text() == "round,bore\n1,1\n"


def test_what_the_job_lacks_is_told_in_the_job(run: Run) -> None:
    put("winch.toml", Path("winch.toml").read_text().replace('tolerance = "H6"', ""))
    refused(run("size", "winch.toml", "skim.csv"), "winch.toml", "tolerance")
    refused(run("inspect", "winch.toml", "finished.csv"), "winch.toml", "tolerance")


def test_a_reading_in_another_unit_is_told_at_its_line(run: Run) -> None:
    put("skim.csv", Path("skim.csv").read_text().replace("83.136", "3.2731", 1))
    refused(run("size", "winch.toml", "skim.csv"), "skim.csv:2", "3.2731", "inch")


def test_inspect_passes_a_row_in_tolerance(run: Run) -> None:
    before = sorted(os.listdir())
    outcome = run("inspect", "winch.toml", "finished.csv")
    assert (outcome.code, outcome.err) == (0, "")
    assert "PASS: every bore is in tolerance" in outcome.out
    assert sorted(os.listdir()) == before


def test_inspect_fails_a_bore_that_is_out_and_says_by_how_much(run: Run) -> None:
    put("finished.csv", Path("finished.csv").read_text().replace("4,0,3,90.011", "4,0,3,90.031"))
    outcome = run("inspect", "winch.toml", "finished.csv", "--json")
    assert outcome.code == 1
    told = json.loads(outcome.out)
    assert told["ok"] is False
    assert "0.0090 over" in run("inspect", "winch.toml", "finished.csv").out


def test_inspect_draws_a_picture_and_keeps_the_one_that_is_there(run: Run) -> None:
    assert run("inspect", "winch.toml", "finished.csv", "--plot", "row.svg").code == 0
    picture = Path("row.svg").read_text()
    assert picture.startswith("<svg")
    refused(run("inspect", "winch.toml", "finished.csv", "--plot", "row.svg"), "row.svg: this file exists already")
    put("row.svg", "old")
    assert run("inspect", "winch.toml", "finished.csv", "--plot", "row.svg", "--force").code == 0
    assert Path("row.svg").read_text() == picture


def test_inspect_judges_straightness_from_a_survey(run: Run) -> None:
    shutil.copy(ROOT / "samples" / "surveys" / "slipway-winch-finished.csv", "row.csv")
    outcome = run("inspect", "winch.toml", "finished.csv", "--survey", "row.csv")
    assert (outcome.code, outcome.err) == (0, "")
    assert "PASS: every bore is in tolerance, and the row is straight" in outcome.out
    put("row.csv", Path("row.csv").read_text().replace("3,0.002,", "3,0.052,"))
    outcome = run("inspect", "winch.toml", "finished.csv", "--survey", "row.csv")
    assert outcome.code == 1
    assert "FAIL: the row is not straight enough" in outcome.out
    assert 'bores "2", "3": too far apart' in outcome.out
    told = json.loads(run("inspect", "winch.toml", "finished.csv", "--survey", "row.csv", "--json").out)
    assert (told["ok"], told["straightness"]["ok"]) == (False, False)
    assert all(bore["pass"] for bore in told["bores"])
    assert json.loads(run("inspect", "winch.toml", "finished.csv", "--json").out)["straightness"] is None


def test_inspect_tells_a_mistake_in_the_survey_at_its_place(run: Run) -> None:
    shutil.copy(ROOT / "samples" / "surveys" / "slipway-winch-finished.csv", "row.csv")
    put("row.csv", Path("row.csv").read_text().replace("3,0.002,", "3,two,"))
    refused(run("inspect", "winch.toml", "finished.csv", "--survey", "row.csv"), 'row.csv:4: y: "two" must be a plain')
