"""The command line: what it prints, its exit codes, and mistakes told in one line at their place."""

import json
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import pytest

from tests.commands import Run, put, refused
from tests.jobs import INCH_TEXT, JOB_TEXT, edited
from tests.programs import ROOT

SURVEY: Final = "bore,y,z,diameter\n1,0,0,83.8\n2,0,0.03,83.8\n3,0,0,83.8\n"
"""Three bores with 0.1 all round, the middle one 0.03 high."""
SAMPLES: Final = {
    "tug-auxiliary": "tug-auxiliary-tilted",
    "harbour-pump": "harbour-pump-spun",
    "quarry-compressor": "quarry-compressor-warped",
}


@pytest.fixture(autouse=True)
def _survey(run: Run) -> None:
    put("row.csv", SURVEY)


def wanting(table: str, text: str = JOB_TEXT) -> str:
    return edited(text, ("[[bore]]", f"[line]\n{table}\n\n[[bore]]"))


def asked(run: Run, *arguments: str) -> dict[str, Any]:
    outcome = run("line", *arguments, "--json")
    assert outcome.err == ""
    found: dict[str, Any] = json.loads(outcome.out)
    assert outcome.code == (0 if found["ok"] else 1)
    return found


def test_a_row_that_cleans_up_is_0(run: Run) -> None:
    outcome = run("line", "job.toml", "row.csv")
    assert (outcome.code, outcome.err) == (0, "")
    assert "CLEANS UP: bore on the line least moved" in outcome.out
    assert sorted(path.name for path in Path().iterdir()) == ["job.toml", "row.csv"], "nothing is written"


def test_a_row_without_stock_is_1(run: Run) -> None:
    put("job.toml", wanting("stock = 0.09"))
    outcome = run("line", "job.toml", "row.csv")
    assert (outcome.code, outcome.err) == (1, "")
    assert "bore 2: 0.0050 mm less than the stock wanted" in outcome.out
    assert not asked(run, "job.toml", "row.csv")["ok"]


def test_a_row_held_by_the_cam_is_1(run: Run) -> None:
    put("job.toml", wanting('stock = 0.08\ncam = { toward = "+Z", x = 0, drive = "chain", most = 0.005 }'))
    outcome = run("line", "job.toml", "row.csv")
    assert outcome.code == 1
    assert "NOT WITHIN THE CRANK'S LIMITS" in outcome.out


def test_a_line_is_chosen(run: Run) -> None:
    assert asked(run, "job.toml", "row.csv", "--line", "end bores")["chosen"] == "end bores"
    unknown = run("line", "job.toml", "row.csv", "--line", "middle")
    assert (unknown.code, unknown.out) == (2, "")
    assert "'middle' is not one of 'least moved', 'within limits', 'most stock', 'new zero only'" in unknown.err
    put("job.toml", wanting("stock = 0.09"))
    refused(run("line", "job.toml", "row.csv", "--line", "least moved"), 'no line is "least moved"', "most stock")


def test_the_same_seed_tells_the_same(run: Run) -> None:
    put("job.toml", wanting("stock = 0\nrepeats = 0.05"))
    one, same, other = (run("line", "job.toml", "row.csv", "--json", "--seed", seed).out for seed in ("5", "5", "6"))
    assert one == same
    assert json.loads(one)["sure"]["chance"] != json.loads(other)["sure"]["chance"]


def test_a_job_may_hold_its_survey(run: Run) -> None:
    put("job.toml", JOB_TEXT.replace("diameter = 84.0", "diameter = 84.0\nmeasured = [83.7, 83.8]\ncentre = [0, 0.03]"))
    found = asked(run, "job.toml")
    assert [(one["z"], one["widest"]) for one in found["sections"]] == [(0.03, 83.8)] * 3
    put("job.toml", JOB_TEXT)
    refused(run("line", "job.toml"), "job.toml:", "centre: is missing; give a survey as CSV", "[0.03, -0.02]")


def test_inches(run: Run) -> None:
    put("job.toml", wanting("supports = [1, 6]", INCH_TEXT))
    put("row.csv", "bore,y,z,diameter\n1,0.001,0,3.3\n2,0,0.001,3.3\n")
    outcome = run("line", "job.toml", "row.csv")
    assert (outcome.code, outcome.err) == (0, "")
    assert "lengths     in inches" in outcome.out
    assert "support at X 6:" in outcome.out
    assert " mm" not in outcome.out


@pytest.mark.parametrize(
    ("old", "new", "phrases"),
    [
        ("2,0,0.03,83.8", "7,0,0.03,83.8", ['row.csv:3: bore: the job has no bore "7"; it has bores "1", "2", "3"']),
        ("\n3,0,0,83.8", "", ['row.csv: bore "3" of the job: no place is told']),
        ("2,0,0.03,83.8", "1,0,0.03,83.8", ['row.csv: bore "2" of the job']),
        ("2,0,0.03,83.8", "2,0,0.03,3.3", ["row.csv:3: diameter: 3.3 looks like inches in a job in millimetres"]),
        ("2,0,0.03,83.8", "2,0,up,83.8", ['row.csv:3: z: "up" must be a plain number, e.g. 0.02']),
        ("2,0,0.03,83.8", "2,0,0.03", ["row.csv:3: 3 fields under 4 headings"]),
        ("bore,y", "bore;y", ["row.csv:1: the columns are parted by semicolons"]),
        ("bore,y", "bore,Y", ['row.csv:1: "Y" heads a column']),
        (SURVEY, "", ["row.csv:1: the file is empty; head it as bore,y,z,diameter"]),
        (SURVEY, "bore,y,z,diameter\n", ["row.csv:1: no line follows the heading"]),
    ],
)
def test_a_mistake_in_the_survey_is_told_at_its_place(run: Run, old: str, new: str, phrases: Sequence[str]) -> None:
    put("row.csv", edited(SURVEY, (old, new)))
    refused(run("line", "job.toml", "row.csv"), *phrases)


def test_files_that_cannot_be_read(run: Run) -> None:
    refused(run("line", "job.toml", "none.csv"), "none.csv")
    refused(run("line", "none.toml", "row.csv"), "none.toml")
    put("row.csv", b"bore,y\xff\x00")
    refused(run("line", "job.toml", "row.csv"), "row.csv")
    refused(run("line", "job.toml", "."), ".")


def test_a_mistake_in_the_job_s_line_is_told_in_the_job(run: Run) -> None:
    put("job.toml", wanting("supports = [0, 1]"))
    refused(run("line", "job.toml", "row.csv"), "job.toml:", "line.supports: are too near to each other")


def test_a_job_of_one_bore(run: Run) -> None:
    text = JOB_TEXT[: JOB_TEXT.index('[[bore]]\nname = "2"')]
    put("job.toml", text)
    put("row.csv", "bore,y,z,diameter\n1,0,0,83.8\n")
    refused(run("line", "job.toml", "row.csv"), "row.csv: the job has one bore; a line takes two or more")


def test_odd_names(run: Run) -> None:
    put("job.toml", edited(JOB_TEXT, ('name = "2"', 'name = "größte, \\"2\\" <&>"')))
    put("row.csv", edited(SURVEY, ("2,0", '"größte, ""2"" <&>",0')))
    outcome = run("line", "job.toml", "row.csv")
    assert (outcome.code, outcome.err) == (0, "")
    assert 'größte, "2" <&>' in outcome.out
    assert asked(run, "job.toml", "row.csv")["sections"][1]["bore"] == 'größte, "2" <&>'


# The samples.


def sample(name: str) -> tuple[str, str]:
    """A sample's job and survey, put where the command runs."""
    for path in (ROOT / "samples").glob(f"{name}.*"):
        shutil.copy(path, path.name)
    shutil.copy(ROOT / "samples" / "surveys" / f"{SAMPLES[name]}.csv", "survey.csv")
    return f"{name}.toml", "survey.csv"


@pytest.mark.parametrize("name", SAMPLES)
def test_the_samples_clean_up(run: Run, name: str) -> None:
    job, survey = sample(name)
    found = asked(run, job, survey)
    assert (found["ok"], found["best"], found["short"]) == (True, "least moved", None)
    most = max(line["least"] for line in found["lines"])
    by_name = {line["name"]: line for line in found["lines"]}
    assert by_name["most stock"]["least"] == most
    assert by_name["least moved"]["least"] >= found["stock_wanted"] - 2e-6
    assert run("line", job, survey).code == 0


def test_a_straight_row_that_is_tilted_needs_no_move_of_the_crank(run: Run) -> None:
    found = asked(run, *sample("tug-auxiliary"))
    by_name = {line["name"]: line for line in found["lines"]}
    assert by_name["least moved"]["ends"][0]["rise"] == pytest.approx(0, abs=1e-4)
    assert by_name["least moved"]["tilt"] != [0, 0]
    assert by_name["least moved"]["least"] > by_name["new zero only"]["least"] > by_name["as it lies"]["least"]


def test_a_line_through_the_ends_would_not_clear_the_spun_bearing(run: Run) -> None:
    found = asked(run, *sample("harbour-pump"))
    by_name = {line["name"]: line for line in found["lines"]}
    assert not by_name["end bores"]["clears"]
    assert [hold["bore"] for hold in by_name["least moved"]["held_by"]] == ["3"]
    assert found["cam"]["backlash"] > 0


def test_a_warped_row_is_lifted_no_more_than_it_must(run: Run) -> None:
    found = asked(run, *sample("quarry-compressor"))
    by_name = {line["name"]: line for line in found["lines"]}
    assert found["units"] == "inch"
    assert not by_name["end bores"]["clears"]
    assert 0 > found["cam"]["apart"] > -0.002


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sample_moved_as_told_and_surveyed_again_lies_where_the_tool_said(run: Run, name: str) -> None:
    """Every centre goes as its place between the supports does; then the bores are where the checks have them."""
    job, survey = sample(name)
    found = asked(run, job, survey)
    low, high = found["supports"]["both"]
    rows = ["bore,depth,y,z,diameter"]
    for one in found["sections"]:
        share = (one["x"] - low["x"]) / (high["x"] - low["x"])
        y = one["y"] + low["shift"] + share * (high["shift"] - low["shift"])
        z = one["z"] + low["raise"] + share * (high["raise"] - low["raise"])
        depth = "" if one["depth"] is None else one["depth"]
        rows.append(f"{one['bore']},{depth},{y:.9f},{z:.9f},{one['widest']}")
    put("again.csv", "\n".join(rows) + "\n")
    again = asked(run, job, "again.csv", "--line", "as it lies")
    for before, after in zip(found["checks"], again["sections"], strict=True):
        assert (after["y"], after["z"]) == pytest.approx((before["y"], before["z"]), abs=3e-6)
    by_name = {line["name"]: line for line in found["lines"]}
    lies = {line["name"]: line for line in again["lines"]}["as it lies"]
    assert lies["stock"] == pytest.approx(by_name["least moved"]["stock"], abs=5e-6)
    assert lies["keeps_wanted"] or lies["least"] >= found["stock_wanted"] - 5e-6


def test_a_picture_over_what_was_read_is_refused(run: Run) -> None:
    job, survey = (ROOT / "samples" / "harbour-pump.toml", ROOT / "samples" / "surveys" / "harbour-pump-spun.csv")
    put("job.toml", job.read_text())
    put("survey.csv", survey.read_text())
    for name in ("job.toml", "survey.csv"):
        refused(run("line", "job.toml", "survey.csv", "--plot", name, "--force"), f"{name}: this file was read")
    refused(
        run("page", "job.toml", "--survey", "survey.csv", "--out", "survey.csv", "--force"), "survey.csv: this file"
    )
    assert Path("job.toml").read_text() == job.read_text()
    assert Path("survey.csv").read_text() == survey.read_text()


def test_moves_for_a_line_that_will_not_do_say_so(run: Run) -> None:
    put("job.toml", (ROOT / "samples" / "harbour-pump.toml").read_text())
    rows = "".join(f"{bore},0,{0.4 if bore == 3 else 0},83.7\n" for bore in range(1, 6))
    put("survey.csv", f"bore,y,z,diameter\n{rows}")
    out = run("line", "job.toml", "survey.csv").out
    assert "off the caps' parting faces: bore 3" in out
    assert "The line most stock, which does NOT clean up every bore, with the caps as they are; after cutting" in out


def test_a_reading_that_its_bore_contradicts_is_asked_about_until_it_is_kept(run: Run) -> None:
    job, survey = sample("harbour-pump")
    text = edited(Path(survey).read_text(), ("1,90,-0.020,", "1,90,-0.200,"))
    put(survey, text)
    refused(run("line", job, survey), "survey.csv:4: pressed: -0.200 is 0.1793 mm off", "write keep in the column note")
    heading, *lines = text.splitlines()
    kept = [line + (",keep" if line == "1,90,-0.200," else ",") for line in lines]
    put(survey, "\n".join([f"{heading},note", *kept]) + "\n")
    outcome = run("line", job, survey)
    assert (outcome.code, outcome.err) == (1, "")
    assert "DOES NOT CLEAN UP" in outcome.out
