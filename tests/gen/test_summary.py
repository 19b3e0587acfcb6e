"""The figures of a proof, worked out again by hand."""

import json
import math
from pathlib import Path
from typing import Any, Final

import pytest

from gen.job import Job
from gen.summary import summary, times
from gen.unchecked import UNCHECKED
from post.motion import Sense
from post.timeline import STOPPED, End, Event, Halt, Move, Point, Spin, Timeline, Wait
from tests.jobs import INCH_TEXT, make_job
from tests.programs import SETTINGS, all_posted, change, posted, task_of, verdict_of, verdict_of_all

NAN: Final = math.nan
JOB: Final = make_job()
"""Rapid at 12000 mm/min along X and Y, 9000 along Z."""
PARTED: Final = all_posted(SETTINGS, "one-pass")
"""A program for each setting of the cutter."""
TURNING: Final = Spin(760.0, Sense.COUNTERCLOCKWISE, None)


def facts_of(job: Job, text: str | None = None, *, walk: bool = False, program: Path | None = None) -> dict[str, Any]:
    text = posted(job, walk=walk) if text is None else text
    facts = summary(task_of(job, walk=walk), verdict_of(job, text, walk=walk), [program] if program else [])
    again: dict[str, Any] = json.loads(json.dumps(facts, allow_nan=False))
    return again


def times_of(job: Job, *events: Event) -> tuple[float, float]:
    return times(job, Timeline(list(events)))


@pytest.mark.parametrize(
    ("start", "end", "seconds"),
    [
        ((0.0, 0.0, 0.0), (200.0, 0.0, 0.0), 1.0),
        ((0.0, 0.0, 0.0), (0.0, -100.0, 0.0), 0.5),
        ((0.0, 0.0, 0.0), (200.0, 100.0, 300.0), 2.0),
        ((0.0, 0.0, 150.0), (400.0, 100.0, 0.0), 2.0),
        ((NAN, NAN, NAN), (NAN, NAN, 160.0), 0.0),
        ((NAN, 0.0, 0.0), (5.0, 200.0, 0.0), 1.0),
    ],
)
def test_a_rapid_takes_as_long_as_its_slowest_axis(start: Point, end: Point, seconds: float) -> None:
    total_s, cut_s = times_of(JOB, Move(1, start, end, None, STOPPED))
    assert total_s == pytest.approx(seconds)
    assert cut_s == 0.0


def test_a_feed_takes_its_length_at_its_feed_and_cuts_the_way_the_bar_points() -> None:
    cut = Move(1, (3.0, 0.0, 0.0), (-35.0, 0.0, 0.0), 38.0, TURNING)
    back = Move(2, (-35.0, 0.0, 0.0), (3.0, 0.0, 0.0), 38.0, TURNING)
    slanted = Move(3, (0.0, 0.0, 0.0), (0.0, 30.0, 40.0), 100.0, STOPPED)
    for move, total_s, cut_s in ((cut, 60.0, 60.0), (back, 60.0, 0.0), (slanted, 30.0, 0.0)):
        assert list(times_of(JOB, move)) == pytest.approx([total_s, cut_s])
    other_way = make_job(INCH_TEXT)
    assert times_of(other_way, cut)[1] == 0.0
    assert times_of(other_way, back)[1] == pytest.approx(60.0)


def test_standing_turning_is_cutting_and_stops_take_no_time() -> None:
    assert times_of(JOB, Wait(1, 0.64, TURNING), Halt(2, "look", False, STOPPED), End(3, STOPPED)) == (0.64, 0.64)


def test_keys_of_the_json_object() -> None:
    facts = facts_of(JOB, program=Path("job.nc"))
    assert set(facts) >= {
        *("ok", "findings", "program", "cutter_rpm", "spindle_rpm", "sense", "feed", "cycle_time_s", "cut_time_s"),
        *("blocks", "travel", "programs", "parts", "settings"),
    }
    assert set(facts["travel"]) == {"x", "y", "z"}
    assert all(set(extent) == {"min", "max", "low_margin", "high_margin"} for extent in facts["travel"].values())


def test_figures_of_a_proved_program() -> None:
    facts = facts_of(JOB, program=Path("job.nc"))
    assert facts["ok"] is True
    assert facts["findings"] == []
    assert (facts["program"], facts["programs"], facts["parts"]) == ("job.nc", ["job.nc"], 1)
    assert (facts["job"], facts["post"], facts["units"], facts["walk"]) == (JOB.name, "longhand", "mm", False)
    assert (facts["cutter_rpm"], facts["spindle_rpm"], facts["sense"], facts["feed"]) == (380.0, 760.0, "M4", 38.0)
    assert facts["travel"] == {
        "x": {"min": -439.5, "max": -147.0, "low_margin": 460.5, "high_margin": 247.0},
        "y": {"min": 0.0, "max": 0.0, "low_margin": 300.0, "high_margin": 300.0},
        "z": {"min": -380.0, "max": -220.0, "low_margin": 220.0, "high_margin": 220.0},
    }
    assert facts["blocks"] == 27
    assert facts["read_twice"] == 27
    assert facts["read_once"] == {}
    assert facts["unchecked"] == list(UNCHECKED)
    assert facts["bores"][0] == {
        "name": "1",
        "diameter": 84.0,
        "start": 3.0,
        "end": -34.5,
        "cutter_rpm": 380.0,
        "spindle_rpm": 760.0,
        "sense": "M4",
        "feed": 38.0,
        "feed_per_turn": 0.1,
        "dwell_s": 0.64,
    }


def test_times_of_a_proved_program() -> None:
    """Three strokes of 37.5, 33.5 and 37.5 mm at 38 mm/min, there and back, and one dwell; six Z moves of 160 mm."""
    facts = facts_of(JOB)
    strokes = 60 * (37.5 + 33.5 + 37.5) / 38
    rapids = 6 * 60 * 160 / 9000 + 60 * (130 + 125) / 12000
    assert facts["cut_time_s"] == pytest.approx(strokes + 0.64, abs=1e-3)
    assert facts["cycle_time_s"] == pytest.approx(2 * strokes + 0.64 + rapids, abs=1e-3)


def test_figures_that_differ_from_bore_to_bore_are_null_and_told_bore_by_bore() -> None:
    bores = [
        {"face": 0, "width": 32, "diameter": 84.0, "rpm": 400},
        {"face": -130, "width": 28, "diameter": 84.0, "feed": 0.2},
    ]
    facts = facts_of(make_job(bore=bores))
    assert (facts["cutter_rpm"], facts["spindle_rpm"], facts["feed"]) == (None, None, None)
    assert facts["sense"] == "M4"
    assert [(bore["spindle_rpm"], bore["feed"], bore["feed_per_turn"]) for bore in facts["bores"]] == [
        (800.0, 40.0, 0.1),
        (760.0, 76.0, 0.2),
    ]


def test_an_inch_job_is_told_in_inches() -> None:
    facts = facts_of(make_job(INCH_TEXT))
    assert facts["units"] == "inch"
    assert facts["feed"] == pytest.approx(1.6)
    assert facts["travel"]["x"] == {"min": -20.0, "max": -13.4, "low_margin": 20.0, "high_margin": 17.4}
    assert facts["travel"]["z"] == {"min": -15.0, "max": -8.5, "low_margin": 9.0, "high_margin": 8.5}
    assert (facts["bores"][1]["start"], facts["bores"][1]["end"]) == (5.25, 6.6)


def test_a_walk_has_no_speeds() -> None:
    facts = facts_of(JOB, walk=True)
    assert facts["walk"] is True
    assert facts["bores"] == []
    assert [facts[key] for key in ("cutter_rpm", "spindle_rpm", "sense", "feed")] == [None] * 4
    assert facts["cut_time_s"] == 0.0


def test_a_finding_is_told_whole() -> None:
    edited = change("X-34.500", "X-34.400")(posted(JOB))
    facts = facts_of(JOB, edited.text)
    assert facts["ok"] is False
    assert facts["program"] is None
    assert facts["findings"][0] == {
        "rule": "path-differs",
        "line": edited.line,
        "text": "G1 X-34.400 Y0.000 Z0.000 F38.000 (feed through bore 1)",
        "found": "goes to X-34.4 Y0 Z0",
        "expected": "X-34.5 Y0 Z0",
        "program": 1,
        "message": "goes to X-34.4 Y0 Z0; expected X-34.5 Y0 Z0",
    }


def test_a_program_that_cannot_be_read_has_findings_and_no_travel() -> None:
    facts = facts_of(JOB, "G7\n")
    assert [finding["rule"] for finding in facts["findings"]] == ["unknown-word", "no-end"]
    assert facts["travel"] == {}
    assert (facts["cycle_time_s"], facts["cut_time_s"], facts["read_twice"]) == (0.0, 0.0, 0)


def test_the_fingerprint_is_the_program_s() -> None:
    assert facts_of(JOB)["fingerprint"] in posted(JOB)
    assert facts_of(JOB, walk=True)["fingerprint"] in posted(JOB, walk=True)


def facts_of_several(*texts: str, programs: list[Path] | None = None, physics_only: bool = False) -> dict[str, Any]:
    verdict = verdict_of_all(SETTINGS, texts, "one-pass", physics_only=physics_only)
    facts = summary(task_of(SETTINGS, "one-pass"), verdict, programs or [], physics_only=physics_only)
    again: dict[str, Any] = json.loads(json.dumps(facts, allow_nan=False))
    return again


def test_several_programs_are_told_in_the_order_they_are_run_with_what_to_do_before_each() -> None:
    files = [Path(f"row-{number}.nc") for number in (1, 2, 3)]
    facts = facts_of_several(*PARTED, programs=files)
    assert facts["ok"] is True
    assert (facts["program"], facts["programs"]) == ("row-1.nc", ["row-1.nc", "row-2.nc", "row-3.nc"])
    assert facts["parts"] == 3
    assert facts["settings"] == [
        "set the cutter for diameter 84 mm, bore 1",
        "set the cutter for diameter 90 mm, bore 2",
        "set the cutter for diameter 84 mm, bore 3",
    ]
    assert facts["blocks"] == facts["read_twice"] == 36
    assert facts["fingerprint"] in PARTED[0]
    assert facts["fingerprint"] in PARTED[2]


def test_figures_of_several_programs_are_those_of_one_but_for_the_blocks() -> None:
    """What is moved and cut is the same, from bore to bore too."""
    parted, whole = facts_of_several(*PARTED), facts_of(SETTINGS)
    for key in ("travel", "cut_time_s", "cycle_time_s", "bores", "cutter_rpm", "feed", "unchecked"):
        assert parted[key] == whole[key], key
    assert parted["blocks"] == whole["blocks"] + 8  # two openings of four blocks and two ends, and two stops less


def test_one_program_has_no_settings_to_tell() -> None:
    for facts in (facts_of(SETTINGS), facts_of(JOB), facts_of(SETTINGS, walk=True)):
        assert (facts["parts"], facts["settings"]) == (1, [])


def test_a_finding_of_several_tells_its_program() -> None:
    edit = change("X-160.500", "X-160.400")(PARTED[1])
    facts = facts_of_several(PARTED[0], edit.text, PARTED[2])
    assert (facts["ok"], facts["program"], facts["programs"]) == (False, None, [])
    (finding,) = facts["findings"]
    assert (finding["program"], finding["line"], finding["rule"]) == (2, edit.line, "path-differs")


def test_the_nearest_approach_in_several_tells_its_program() -> None:
    job = make_job(
        head={"reach": 40, "body": {"length": 20, "width": 80, "above": 50, "below": 45}},
        block={"y": [-120, 120], "z": [-100, 100], "hole": 83.0},
        bore=[
            {"face": 0, "width": 32, "diameter": 84.0},
            {"face": -100, "width": 36, "diameter": 90.0},
        ],
    )
    texts = all_posted(job, "one-pass")
    closest = summary(task_of(job, "one-pass"), verdict_of_all(job, texts, "one-pass"), [])["closest"]
    assert closest["program"] == 2
    assert closest["why"] == "feeds through bore 2"
    assert texts[1].split("\n")[closest["line"] - 1].endswith("(feed through bore 2)")


def physics_only(job: Job, text: str) -> dict[str, Any]:
    verdict = verdict_of(job, text, physics_only=True)
    facts = summary(task_of(job), verdict, [], physics_only=True)
    again: dict[str, Any] = json.loads(json.dumps(facts, allow_nan=False))
    return again


def test_without_its_plan_a_program_s_figures_are_its_own() -> None:
    text = posted(JOB).replace("S760", "S400").replace("F38.000", "F25.000").replace("P0.64", "P1.5")
    facts = physics_only(JOB, text)
    assert facts["ok"]
    assert (facts["cutter_rpm"], facts["spindle_rpm"], facts["sense"], facts["feed"]) == (200.0, 400.0, "M4", 25.0)
    assert [bore["feed_per_turn"] for bore in facts["bores"]] == [0.125] * 3
    assert [bore["dwell_s"] for bore in facts["bores"]] == [1.5, 0.0, 0.0]
    assert (facts["bores"][0]["name"], facts["bores"][0]["start"], facts["bores"][0]["end"]) == ("1", 3.0, -34.5)
    assert [caution["problem"].split()[2] for caution in facts["cautions"]] == ["spindle", "feed", "a"]


def test_without_its_plan_a_bore_with_several_feeds_has_their_range() -> None:
    facts = physics_only(JOB, change("F38.000 (withdraw from bore 2)", "F76 (withdraw from bore 2)")(posted(JOB)).text)
    assert facts["feed"] is None
    assert [bore["feed"] for bore in facts["bores"]] == [38.0, None, 38.0]
    assert facts["bores"][1]["ranges"]["feed"] == [38.0, 76.0]


def test_a_program_that_cannot_be_read_has_no_figures_of_the_job_s() -> None:
    facts = physics_only(JOB, "fiddle\nM30\n")
    assert (facts["cutter_rpm"], facts["spindle_rpm"], facts["sense"], facts["feed"]) == (None,) * 4
    assert {bore["feed_per_turn"] for bore in facts["bores"]} == {None}


def test_what_follows_from_the_job_s_feed_is_told_only_where_it_is_cut_with() -> None:
    job = make_job(
        bore=[{"face": 0, "width": 32, "diameter": 84.0, "measured": [83.0, 83.02]}],
        passes={"depth": 0.3, "finish_stock": 0.1},
        cutter={"nose": 0.4, "edge": 0.05},
        cut={"feed": 0.01},
    )
    text = posted(job)
    as_job, other = physics_only(job, text), physics_only(job, text.replace("S760", "S400"))
    assert as_job["passes"][-1]["ra"]
    assert as_job["cautions"]
    assert not any("spindle" in caution["problem"] for caution in as_job["cautions"])
    assert [entry["ra"] for entry in other["passes"]] == [None] * len(as_job["passes"])
    assert all(" where the job has " in caution["problem"] for caution in other["cautions"])


def test_a_walk_has_no_speeds_without_its_plan_too() -> None:
    task, text = task_of(JOB, walk=True), posted(JOB, walk=True)
    facts = summary(task, verdict_of(JOB, text, walk=True, physics_only=True), [], physics_only=True)
    assert (facts["bores"], facts["cautions"], facts["sense"]) == ([], [], None)
