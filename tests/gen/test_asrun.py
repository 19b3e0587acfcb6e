"""What a program itself cuts with: worked out by hand from programs written by hand."""

from collections.abc import Mapping
from typing import Any, Final

import pytest

from gen.asrun import Done, done, figures
from gen.job import Job
from post.posts import find
from tests.jobs import INCH_TEXT, make_job
from tests.programs import all_posted, change, insert, posted, verdict_of, verdict_of_all

JOB: Final = make_job()
"""Ratio 2. Bore 1 has metal from X0 to -32 and its stroke from 3 to -34.5; bore 2 from -130."""
ONE: Final = make_job(bore=[{"face": 0, "width": 32, "diameter": 84.0}])


def done_in(job: Job, text: str, post_name: str = "longhand") -> Mapping[int, Done]:
    return done(job, find(post_name).dialect, verdict_of(job, text, post_name, physics_only=True))


def by_hand(cuts: str) -> str:
    """One bore, with these blocks, parted by bars, from its start on."""
    blocks = f"G21 G17 G40 G49 G61 G80|G90 G94 G54|M5|G0 Z160|X3 Y0|Z0|{cuts}|M5|G0 Z160|M30"
    return blocks.replace("|", "\n") + "\n"


def figures_of(cuts: str) -> dict[str, Any]:
    return figures(ONE, done_in(ONE, by_hand(cuts)).get(0))


@pytest.mark.parametrize("post_name", ["longhand", "cycles", "per-turn", "one-pass"])
def test_a_program_as_posted_cuts_as_planned(post_name: str) -> None:
    verdict = verdict_of_all(JOB, all_posted(JOB, post_name), post_name)
    found = done(JOB, find(post_name).dialect, verdict)
    told = [figures(JOB, found[index]) for index in range(3)]
    assert {one["sense"] for one in told} == {"M4"}
    assert [(one["cutter_rpm"], one["spindle_rpm"], one["feed_per_turn"]) for one in told] == [(380.0, 760.0, 0.1)] * 3
    assert [one["feed"] for one in told] == pytest.approx([38.0] * 3)
    assert [one["dwell_s"] for one in told] == [pytest.approx(0.64, abs=0.02), 0.0, 0.0]


def test_speed_and_feed_are_those_cut_with() -> None:
    told = figures_of("M4 S160|G1 X-34.5 F40|X3")
    assert told == {
        **{"cutter_rpm": 80.0, "spindle_rpm": 160.0, "sense": "M4", "feed": 40.0, "feed_per_turn": 0.5},
        **{"dwell_s": 0.0, "stand_turns": 0.0},
        "ranges": {
            "cutter_rpm": [80.0] * 2,
            "spindle_rpm": [160.0] * 2,
            "feed": [40.0] * 2,
            "feed_per_turn": [0.5] * 2,
        },
    }


def test_what_differs_within_a_bore_is_a_range() -> None:
    told = figures_of("M4 S200|G1 X-10 F30|S400|X-34.5 F50|X3 F100")
    assert (told["cutter_rpm"], told["spindle_rpm"], told["feed"], told["feed_per_turn"]) == (None,) * 4
    assert told["ranges"] == {
        **{"cutter_rpm": [100.0, 200.0], "spindle_rpm": [200.0, 400.0]},
        **{"feed": [30.0, 100.0], "feed_per_turn": [0.25, 0.5]},
    }


def test_only_feeds_in_metal_with_the_cutter_turning_count() -> None:
    told = figures_of("M4 S200|G1 X0.5 F70|G1 X-32.5 F30|X-34.5 F80|M5|G0 X3")
    assert told["ranges"]["feed"] == [30.0, 30.0]
    told = figures_of("M4 S200|G1 X-34.5 F30|M5|G1 X3 F500")
    assert told["ranges"]["feed"] == [30.0, 30.0]


def test_standing_counts_in_metal_and_to_the_end_of_the_stroke() -> None:
    """3 s at 100 rpm of the cutter are 5 turns."""
    told = figures_of("M4 S200|G4 P9|G1 X-20 F30|G4 P1|X-34.5|G4 P3|X3|G4 P8")
    assert (told["dwell_s"], told["stand_turns"]) == (3.0, 5.0)
    told = figures_of("M4 S200|G1 X-20 F30|G4 P4|X-34.5|M5|G4 P5|G0 X3")
    assert told["dwell_s"] == 4.0


@pytest.mark.parametrize("width", [31.9996, 32.0004])
def test_the_end_of_a_stroke_is_where_the_control_puts_it(width: float) -> None:
    job = make_job(bore=[{"face": 0, "width": width, "diameter": 84.0, "face_turns": 4}])
    stand = done_in(job, posted(job))[0].stand
    assert stand is not None
    assert stand.seconds == 0.64


def test_a_bore_that_is_not_cut_has_no_figures() -> None:
    text = "\n".join(line for line in posted(JOB).split("\n") if "bore 2)" not in line)
    found = done_in(JOB, text)
    assert sorted(found) == [0, 2]
    assert {value for key, value in figures(JOB, found.get(1)).items() if key != "ranges"} == {None}
    assert done_in(ONE, "fiddle\nM30\n") == {}


def test_inches() -> None:
    job = make_job(INCH_TEXT)
    found = done_in(job, change("F1.6000", "F2.4")(posted(job)).text)
    assert figures(job, found[0])["ranges"]["feed_per_turn"] == [0.004, 0.006]


def test_lines_are_those_of_the_cuts() -> None:
    edit = insert("S700", "G1 X-160.5")(posted(JOB))
    assert [cut.line for cut in done_in(JOB, edit.text)[1].cuts] == [edit.line + 1, edit.line + 2]
