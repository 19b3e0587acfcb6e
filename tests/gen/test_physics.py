"""Physics alone: programs written by hand, in any style, judged without a plan."""

from typing import Final

import pytest

from gen.job import Job
from gen.physics import follow
from post.dialect import Dialect, DwellWord
from post.finding import Finding
from post.posts import find
from post.reader import read
from post.replay import replay
from tests.jobs import INCH_TEXT, JOB_TEXT, LIFT, make_job
from tests.programs import DROPPED, Editing, change, delete, insert, posted

JOB: Final = make_job()
TWO: Final = make_job(
    bore=[
        {"name": "A", "face": 0, "width": 32, "diameter": 84.0},
        {"name": "B", "face": -60, "width": 20, "diameter": 84.0},
    ]
)
OPENING: Final = "G21 G17 G90 G94 G54\n"


def judged(job: Job, program: str, dialect: Dialect | None = None) -> list[Finding]:
    """Findings of a program that can be read."""
    dialect = dialect or find("oriented").dialect
    zero = (job.machine.zero.x, job.machine.zero.y, job.machine.zero.z)
    timeline = replay(read(program, dialect), dialect, zero=zero, work_offset=job.machine.work_offset)
    assert timeline.findings == []
    return follow(job, timeline, dialect, program.split("\n"))[0]


def by_hand(style: str) -> str:
    return OPENING + BY_HAND[style].replace(" | ", "\n")


def told(findings: list[Finding]) -> list[tuple[str, str]]:
    return [(finding.rule, finding.found) for finding in findings]


BY_HAND: Final = {
    "bare axis words": (
        "G0 Z200 | X3 Y0 | Z0 | M4 S760 | G1 X-34.5 F38 | X3 | M5 | G0 Z160 | X-57 | Z0 | M4 | G1 X-82.5 | "
        "X-57 | M5 | G0 Z160 | M30"
    ),
    "by increments": (
        "G0 Z160 | X3 Y0 | G91 | Z-160 | S760 M4 | G1 X-37.5 F38 | X37.5 | M5 | G0 Z160 | X-60 | Z-160 | M4 | "
        "G1 X-25.5 | X25.5 | M5 | G0 Z160 | G90 | M2"
    ),
    "far faces first": (
        "G0 Z160 | X-57 Y0 | Z0 | S760 M4 | G1 X-82.5 F38 | M5 | G0 X-57 | Z160 | X3 | Z0 | M4 | G1 X-34.5 | "
        "M5 | G0 X3 | Z160 | M30"
    ),
    "in three bites": (
        "G0 Z160 | X3 Y0 | Z0 | S760 M4 | G1 X-10 F38 | X-9 | X-20 | X-5 | X-34.5 | X3 | M5 | G0 Z160 | X-57 "
        "| Z0 | M4 | G1 X-82.5 | X-57 | M5 | G0 Z160 | M30"
    ),
    "down in two moves": (
        "G0 Z160 | X3 Y0 | Z40 | G1 Z0 F500 | S760 M4 | X-34.5 F38 | X3 | M5 | G0 Z90 | Z160 | X-57 | Z0 | M4 "
        "| G1 X-82.5 | X-57 | M5 | G0 Z160 | M30"
    ),
    "home at the end": (
        "G0 Z160 | X3 Y0 | Z0 | S760 M4 | G1 X-34.5 F38 | X3 | M5 | G0 Z160 | X-57 | Z0 | M4 | G1 X-82.5 | "
        "X-57 | M5 | G53 G0 Z0 | G53 X0 Y0 | M30"
    ),
    "in inches": (
        "G20 | G0 Z6.3 | X.1181 Y0 | Z0 | S760 M4 | G1 X-1.358 F1.5 | X.1181 | M5 | G0 Z6.3 | G21 | X-57 | Z0 "
        "| M4 | G1 X-82.5 F38 | X-57 | M5 | G0 Z160 | M30"
    ),
    "a stop with everything still": (
        "G0 Z160 | M0 (chips) | X3 Y0 | Z0 | S760 M4 | G1 X-34.5 F38 | X3 | M5 | M0 (look) | G0 Z160 | X-57 | "
        "Z0 | M4 | G1 X-82.5 | X-57 | M5 | G0 Z160 | M30"
    ),
}
"""Blocks, parted by bars."""


@pytest.mark.parametrize("style", BY_HAND)
def test_a_program_written_by_hand_is_good_if_it_bores_the_row_safely(style: str) -> None:
    assert told(judged(TWO, by_hand(style))) == []


def edited(job: Job, edit: Editing, post_name: str = "longhand") -> list[Finding]:
    return judged(job, edit(posted(job, post_name)).text, find(post_name).dialect)


def test_metal_may_be_taken_in_bites_but_each_must_turn_and_feed() -> None:
    bites = by_hand("in three bites")
    assert told(judged(TWO, bites.replace("G1 X-10 F38\n", "G1 X-10 F38\nM5\n"))) == [
        ("cut-not-turning", "feeds into bore A with the spindle stopped"),
        ("cut-not-turning", "feeds into bore A with the spindle stopped"),
    ]
    assert told(judged(TWO, bites.replace("X-5\nX-34.5\n", "X-5\nG0 X-34.5\nG1 "))) == [
        ("rapid-into-stock", "rapid into the uncut metal of bore A")
    ]


def test_a_bore_left_short_tells_how_far_it_is_cut() -> None:
    findings = edited(JOB, change("G1 X-160.500", "G1 X-150.250"))
    assert [(finding.rule, finding.found, finding.expected) for finding in findings] == [
        ("bore-short", "bore 2 is cut to X -150.25 mm", "through to its far face at X -158 mm")
    ]


def test_half_a_step_short_of_the_far_face_is_through() -> None:
    assert edited(JOB, change("G1 X-160.500", "G1 X-158.0")) == []
    short = told(edited(JOB, change("G1 X-160.500", "G1 X-157.999")))
    assert short == [("bore-short", "bore 2 is cut to X -157.999 mm")]


@pytest.mark.parametrize(
    ("seconds", "turns"), [("0.64", None), ("0.63158", None), ("0.6315", "4"), ("0.5", "3.17"), ("9", None)]
)
def test_turns_at_a_spot_face_are_counted_at_the_cutter(seconds: str, turns: str | None) -> None:
    """Four turns at 380 a minute take 0.631578... s, which a control that reads finer dwells can be told."""
    fine = find("longhand").dialect.model_copy(update={"dwell": DwellWord(step=0.00001)})
    told_of = told(judged(JOB, change("P0.64", f"P{seconds}")(posted(JOB)).text, fine))
    assert told_of == ([("dwell-short", f"the cutter stands for {turns} turns at the end of bore 1")] if turns else [])


def test_only_standing_turning_at_the_end_of_the_stroke_counts() -> None:
    short = [("dwell-short", "the cutter stands for 0 turns at the end of bore 1")]
    assert told(edited(JOB, change("G4 P0.64", "G1 X-34.4\nG4 P0.64"))) == short
    assert told(edited(JOB, change("G4 P0.64", "M5\nG4 P0.64\nM4"))) == short
    assert told(edited(JOB, change("G4 P0.64", "G4 P0.32\nG4 P0.32")))[0][0] == "dwell-short"


def test_a_withdrawal_may_stop_first_or_feed_but_not_rapid_turning() -> None:
    back = "G1 X-127.000 Y0.000 Z0.000 F38.000"
    assert edited(JOB, change(back, "M5\nG0 X-127")) == []
    assert edited(JOB, change(back, "M5\nG1 X-127")) == []
    assert told(edited(JOB, change(back, "G0 X-127"))) == [
        ("rapid-into-stock", "rapid through bore 2 with the cutter turning")
    ]


def test_no_metal_is_met_in_the_gaps_of_a_stroke() -> None:
    assert edited(JOB, change("G1 X-34.500", "G0 X0.5\nG1 X-34.500")) == []
    assert told(edited(JOB, change("G1 X-34.500", "G0 X-0.5\nG1 X-34.500"))) == [
        ("rapid-into-stock", "rapid into the uncut metal of bore 1")
    ]


@pytest.mark.parametrize(
    ("hand", "reverses", "word"),
    [("right", True, "M4"), ("right", False, "M3"), ("left", True, "M3"), ("left", False, "M4")],
)
def test_the_sense_follows_from_hand_and_head(hand: str, reverses: bool, word: str) -> None:
    job = make_job(bar={"hand": hand}, head={"reverses": reverses})
    other = "M3" if word == "M4" else "M4"
    findings = edited(job, change(f"S760 {word}", f"S760 {other}", 2))
    assert {finding.rule for finding in findings} == {"sense-differs"}
    assert findings[0].found.endswith(f"bore 2 with the spindle turning {other}")
    assert findings[0].expected == f"{word} for a {hand}-hand cutter in this head"


@pytest.mark.parametrize("rpm", ["50", "1600"])
def test_the_ends_of_the_range_are_in_it(rpm: str) -> None:
    job = make_job(bore=[{"face": 0, "width": 32, "diameter": 84.0}])
    text = posted(job).replace("F38.000", "F20.000").replace("S760", f"S{rpm}")
    assert judged(job, text, find("longhand").dialect) == []


def test_a_speed_is_told_where_it_is_set_even_without_a_start() -> None:
    findings = edited(JOB, insert("S1700", "(withdraw from bore 2)"))
    assert told(findings) == [("speed-out-of-range", "spindle 1700 rpm, 850 at the cutter")]


@pytest.mark.parametrize("toward", ["+Z", "-Z", "+Y", "-Y", 33.3])
@pytest.mark.parametrize("angle", [0, 20, -35])
def test_every_lift_is_known_under_every_way_in(toward: str | float, angle: int) -> None:
    job = make_job(
        head={"ratio": 1.0}, path={"leave_angle": angle, "withdraw": "lift", "lift": {**LIFT, "toward": toward}}
    )
    assert judged(job, posted(job, "oriented")) == []


LIFTED: Final = change("(lift the cutter off the wall of bore 2)", "(lift)")


def test_a_lift_needs_the_stop_at_the_angle_of_the_job() -> None:
    assert told(edited(DROPPED, change("M19 R90.000", "M5", 2), "oriented"))[0][0] == "low-traverse"
    wrong = edited(DROPPED, change("M19 R90.000", "M19 R80.000", 2), "oriented")
    assert [finding.line for finding in wrong][:1] == [LIFTED(posted(DROPPED, "oriented")).line], wrong


@pytest.mark.parametrize(("z", "good"), [("-0.300", True), ("-0.302", False), ("0.100", False), ("-0.150", True)])
def test_a_lift_goes_no_further_than_the_job_says(z: str, good: bool) -> None:
    deeper = change("G0 X-160.500 Y0.000 Z-0.300", f"G0 X-160.500 Y0.000 Z{z}")
    findings = edited(DROPPED, deeper, "oriented")
    assert bool(findings) is not good


def test_a_lift_goes_the_way_the_job_says() -> None:
    findings = edited(DROPPED, change("G0 X-160.500 Y0.000 Z-0.300", "G0 X-160.500 Y0.300 Z0.000"), "oriented")
    assert {finding.rule for finding in findings} == {"low-traverse", "rapid-into-stock"}


# What a hand-edited program can do wrong that no fixed plan shows.


def test_the_first_move_of_all_goes_straight_up() -> None:
    """Where the head stands when a program starts is not known: in a bay, a slanted rapid would hit a bulkhead."""
    findings = edited(JOB, delete("G0 Z160"))
    assert [finding.rule for finding in findings] == ["low-traverse"]
    assert edited(JOB, change("G0 Z160.000", "G53 G0 Z0")) == []


def test_a_bore_is_not_entered_again_with_the_cutter_set_for_another() -> None:
    job = make_job(bore=[{"face": 0, "width": 32, "diameter": 84.0}, {"face": -130, "width": 28, "diameter": 90.0}])
    again = "G0 X3 Y0 Z160\nG0 Z0\nS760 M4\nG1 X-34.5 F38\nG1 X3\nM5\nG0 Z160"
    findings = edited(job, insert(again, "M30"))
    assert {finding.rule for finding in findings} == {"pause-missing"}
    assert findings[0].found.endswith("bore 1 with the cutter still set for 90 mm")
    assert edited(job, insert(f"M0 (set 84)\n{again}", "M30")) == []


def test_a_cutter_in_metal_turns_in_its_own_sense_on_the_way_back_too() -> None:
    findings = edited(JOB, insert("M3", "(withdraw from bore 2)"))
    assert [finding.rule for finding in findings] == ["sense-differs"]


def test_no_feed_in_metal_is_above_the_machine_s() -> None:
    back = change("Z0.000 F38.000 (withdraw from bore 2)", "Z0.000 F5001 (withdraw from bore 2)")
    assert told(edited(JOB, back)) == [("speed-out-of-range", "feed 5001 mm/min")]


def test_a_feed_in_metal_is_at_most_what_a_job_may_ask_a_cutter_turn() -> None:
    """At 380 rpm of the cutter 1 mm a turn is 380 mm/min; there and back, and not where nothing turns or is cut."""
    there, back = (f"F38.000 ({does} bore 2)" for does in ("feed through", "withdraw from"))
    assert told(edited(JOB, change(there, "F380.000"))) == []
    (finding,) = edited(JOB, change(there, "F380.100"))
    assert (finding.rule, finding.found) == ("speed-out-of-range", "cuts bore 2 at 1.0003 mm a cutter turn")
    assert finding.expected == "at most 1 mm a cutter turn"
    assert told(edited(JOB, change(back, "F381"))) == [
        ("speed-out-of-range", "goes through bore 2 at 1.0026 mm a cutter turn")
    ]
    assert edited(JOB, insert("G1 X2.000 F400", "G1 X-34.500")) == []
    assert edited(JOB, change("G0 X3.000 Y0.000 Z0.000", "G1 X3.000 Y0.000 Z0.000 F4000")) == []


def test_a_feed_a_turn_is_told_in_inches() -> None:
    job = make_job(INCH_TEXT)
    (finding, *_) = edited(job, change("F1.6000", "F199"))
    assert finding.found == "cuts bore 1 at 0.4975 in a cutter turn"
    assert finding.expected == "at most 0.03937 in a cutter turn"


@pytest.mark.parametrize("post_name", ["longhand", "per-turn", "tape"])
@pytest.mark.parametrize(("text", "feed"), [(JOB_TEXT, 1.0), (INCH_TEXT, 0.03937)], ids=["mm", "inch"])
@pytest.mark.parametrize("ratio", [1.5, 3.0])
def test_the_most_a_job_may_ask_is_never_held_against_its_program(
    post_name: str, text: str, feed: float, ratio: float
) -> None:
    """Whatever the rounding of speed and feed words makes of it: 101 spindle turns in 3 are 33.667 mm/min, up."""
    for rpm in (33.667, 101.7, 377.7, 611.1):
        job = make_job(text, cut={"rpm": rpm, "feed": feed}, head={"ratio": ratio})
        assert told(judged(job, posted(job, post_name), find(post_name).dialect)) == []


@pytest.mark.parametrize("points", ["-X", "+X"])
def test_strokes_may_meet_in_a_gap_narrower_than_both(points: str) -> None:
    """The cutter of one bore ends in the gap past the start of the next."""
    way = 1 if points == "+X" else -1
    job = make_job(
        head={"points": points},
        machine={"travel": {"x": [-900, 600]}},
        bore=[
            {"face": 0, "width": 32, "diameter": 84.0, "face_turns": 3},
            {"face": way * 36, "width": 28, "diameter": 84.0, "face_turns": 2},
        ],
    )
    assert told(judged(job, posted(job))) == []


@pytest.mark.parametrize("way", [-1, 1], ids=["-X", "+X"])
def test_a_move_in_a_gap_cuts_neither_of_the_bores_beside_it(way: int) -> None:
    job = make_job(
        head={"points": "+X" if way > 0 else "-X"},
        machine={"travel": {"x": [-900, 600]}},
        bore=[{"face": 0, "width": 32, "diameter": 84.0}, {"face": way * 36, "width": 28, "diameter": 84.0}],
    )
    second_only = "\n".join(line for line in posted(job).split("\n") if "bore 1)" not in line)
    second_only = second_only.replace("S760 M4 (cutter 380.0 rpm)\n", "", 1)
    through = f"G1 X{way * 66.5:.3f}"
    in_bites = change(through, f"G1 X{way * 33.5:.3f} F38\n{through}")(second_only)
    assert told(judged(job, in_bites.text)) == [("bore-missed", "bore 1 is never cut")]
