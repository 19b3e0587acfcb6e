import json
from typing import Final

from hypothesis import given, settings
from hypothesis import strategies as st

from gen.job import Job
from gen.listing import HEADS, listing, table
from gen.planner import plan
from post.motion import BoreAlongX, Dwell, Feed, Pause, Plan, Rapid, Remark, Sense, Spindle, SpindleStop
from post.posts import find
from tests.jobs import make_job, valid_jobs

PLAN: Final = Plan(
    (
        SpindleStop("nothing turns yet"),
        Rapid((None, None, 160.0), "to the clearance height"),
        Remark("bore 1"),
        Rapid((3.0, -0.0, 0.0), "down to bore 1"),
        Spindle(760.0, Sense.COUNTERCLOCKWISE, "cutter 380.0 rpm"),
        BoreAlongX(3.0, -34.5, 0.0, 0.0, 38.05, 0.64, "feed", "bore 1"),
        SpindleStop("stop the cutter", 90.0),
        Pause("sweep", "look"),
    ),
    "mm",
    "G54",
)


def test_a_plan_as_a_table() -> None:
    assert table(PLAN).splitlines() == [
        "step  what                  X      Y        Z    feed  rpm  why",
        "   1  stop                                                  nothing turns yet",
        "   2  rapid                           160.000               to the clearance height",
        "   3                                                        bore 1",
        "   4  rapid             3.000  0.000    0.000               down to bore 1",
        "   5  spindle M4                                       760  cutter 380.0 rpm",
        "   6  feed            -34.500  0.000    0.000  38.050       feed through bore 1",
        "   7  stand 0.64 s                                          stand at the spot face of bore 1",
        "   8  feed              3.000  0.000    0.000  38.050       withdraw from bore 1",
        "   9  stop at 90 deg                                        stop the cutter",
        "  10  pause                                                 sweep",
        "lengths in mm, feed in mm a minute",
    ]


def test_the_same_in_inches() -> None:
    lines = table(Plan((Feed((34.29, 0.0, -25.4), 38.608, "through"),), "inch", "G54")).splitlines()
    assert lines[1].split() == ["1", "feed", "1.3500", "0.0000", "-1.0000", "1.5200", "through"]
    assert lines[-1] == "lengths in inches, feed in inches a minute"


def test_every_kind_of_step_as_data() -> None:
    rows = listing(PLAN)
    blank = dict.fromkeys(("what", "x", "y", "z", "feed", "rpm", "seconds", "sense", "why"))
    assert rows[0] == blank | {"step": 1, "what": "stop", "why": "nothing turns yet"}
    assert rows[1] == blank | {"step": 2, "what": "rapid", "z": 160.0, "why": "to the clearance height"}
    assert rows[2] == blank | {"step": 3, "what": "", "why": "bore 1"}
    assert rows[4] == blank | {"step": 5, "what": "spindle M4", "rpm": 760.0, "sense": "M4", "why": "cutter 380.0 rpm"}
    assert rows[5] == blank | {
        "step": 6, "what": "feed", "x": -34.5, "y": 0.0, "z": 0.0, "feed": 38.05, "why": "feed through bore 1",
    }  # fmt: skip
    assert rows[6] == blank | {
        "step": 7, "what": "stand 0.64 s", "seconds": 0.64, "why": "stand at the spot face of bore 1",
    }  # fmt: skip
    assert rows[8] == blank | {"step": 9, "what": "stop at 90 deg", "why": "stop the cutter"}
    assert rows[9] == blank | {"step": 10, "what": "pause", "why": "sweep"}


def test_a_speed_is_listed_to_a_tenth() -> None:
    lines = table(Plan((Spindle(760.25, Sense.CLOCKWISE, "on"),), "mm", "G54")).splitlines()
    assert lines[1].split() == ["1", "spindle", "M3", "760.2", "on"]


def test_no_minus_zero_is_listed() -> None:
    assert "-0" not in json.dumps(listing(Plan((Rapid((-0.0, -0.0, -1e-12), "a"),), "mm", "G54")))


@settings(max_examples=40)
@given(valid_jobs())
def test_a_listing_has_a_line_a_step_and_goes_into_json(job: Job) -> None:
    planned = plan(job, find("oriented").dialect)
    rows = listing(planned)
    assert json.loads(json.dumps(rows)) == rows
    assert [row["step"] for row in rows] == list(range(1, len(list(planned.simple())) + 1))
    assert all(set(row) == set(rows[0]) for row in rows)
    dwells = [step.seconds for step in planned.simple() if isinstance(step, Dwell)]
    assert [row["seconds"] for row in rows if row["seconds"] is not None] == dwells


@given(st.text(min_size=1, max_size=20))
def test_a_name_never_breaks_a_table_apart(name: str) -> None:
    job = make_job(bore=[{"name": name, "face": 0, "width": 32, "diameter": 84}])
    planned = plan(job, find("oriented").dialect)
    lines = table(planned).splitlines()
    assert len(lines) == len(listing(planned)) + 2
    assert all(line.isprintable() for line in lines)


def test_heads_name_the_columns() -> None:
    assert table(PLAN).split("\n")[0].split() == list(HEADS)
