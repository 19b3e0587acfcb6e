"""Several settings of a bore: programs with stops between the passes, broken by hand, judged with and without plan."""

import re
from typing import Any, Final, NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.job import Job
from gen.passes import pass_plan
from gen.physics import Stroke, Strokes, follow
from gen.settingwords import setting_message, show_setting
from post.finding import Finding
from post.posts import find
from post.reader import read
from post.replay import replay
from post.timeline import Halt, Move, Timeline
from tests.jobs import LIFT, Data, make_job
from tests.programs import (
    Edit,
    Editing,
    all_posted,
    both,
    change,
    delete,
    insert,
    posted,
    prove_edited,
    verdict_of,
    verdict_of_all,
)

PASSES: Final[Data] = {"depth": 0.3, "finish_stock": 0.1}
BORES: Final[list[Data]] = [
    {"face": 0, "width": 32, "diameter": 84.0, "face_turns": 4, "measured": [83.0, 83.02]},
    {"face": -130, "width": 28, "diameter": 84.0, "measured": [83.02, 83.05]},
    {"face": -255, "width": 32, "diameter": 84.0, "measured": [83.5, 83.52]},
]
ROW: Final = make_job(bore=BORES, passes=PASSES)
"""Three settings: 83.4 for bores 1 and 2, 83.8 and 84 for all three. Two stops."""
SIZES: Final = make_job(
    bore=[*BORES[:2], {**BORES[2], "diameter": 90.0, "measured": [89.5, 89.52]}], passes={**PASSES, "air": True}
)
"""Air 82 for all; 83.4 for bores 1 and 2, 89.8 for bore 3, 83.8 for 1 and 2; 84 for 1 and 2, 90 for bore 3."""


def of_bore(number: int, nth: int) -> Editing:
    """Take out all that is done at a bore in its nth pass."""

    def edit(text: str) -> Edit:
        at = change(f"(bore {number}:", "", nth)(text).line
        lines = text.split("\n")
        last = next(line for line in range(at, len(lines)) if f"(up from bore {number})" in lines[line])
        return Edit("\n".join(lines[: at - 1] + lines[last + 1 :]), at)

    return edit


def in_order(*order: int) -> Editing:
    """Put what is done between the stops in another order; the stops stay where they are."""

    def edit(text: str) -> Edit:
        head, rest = text.split("(bore 1:", 1)
        parts = re.split(r"(M0 \(MSG.*\n)", "(bore 1:" + rest.removesuffix("M30\n"))
        bodies = [parts[2 * at] for at in order]
        stops = [*parts[1::2], ""]
        return Edit(head + "".join(map("".join, zip(bodies, stops, strict=True))) + "M30\n", head.count("\n") + 1)

    return edit


def never_cut(bore: int, diameter: str) -> tuple[str, str]:
    return "bore-missed", f"bore {bore} is never cut in the pass for {diameter} mm"


def judged(job: Job, text: str, post_name: str = "longhand") -> tuple[list[Finding], Strokes, Timeline]:
    """What physics finds in a program that can be read, and what it takes its moves to be."""
    dialect = find(post_name).dialect
    zero = (job.machine.zero.x, job.machine.zero.y, job.machine.zero.z)
    timeline = replay(read(text, dialect), dialect, zero=zero, work_offset=job.machine.work_offset)
    assert timeline.findings == []
    return *follow(job, timeline, dialect, text.removesuffix("\n").split("\n")), timeline


def alone(job: Job, edit: Editing, post_name: str = "longhand") -> list[Finding]:
    """What physics finds in a posted program that is then edited."""
    text = posted(job, post_name)
    edited = edit(text).text
    assert edited != text, "the edit changes nothing"
    return judged(job, edited, post_name)[0]


def told(findings: list[Finding]) -> list[tuple[str, str]]:
    return [(finding.rule, finding.found) for finding in findings]


# Programs as they are posted.


@pytest.mark.parametrize("withdraw", ["feed", "still"])
@pytest.mark.parametrize("post_name", ["longhand", "cycles", "per-turn", "tape", "one-pass"])
def test_a_row_in_passes_proves_under_every_post(post_name: str, withdraw: str) -> None:
    job = SIZES.model_copy(update={"path": SIZES.path.model_copy(update={"withdraw": withdraw})})
    verdict = verdict_of_all(job, all_posted(job, post_name), post_name)
    assert verdict.findings == ()
    assert sum(isinstance(event, Halt) for event in verdict.timeline.events) == len(pass_plan(job)) - 1 == 5


@pytest.mark.parametrize("post_name", ["longhand", "one-pass"])
def test_a_row_in_passes_proves_without_its_plan(post_name: str) -> None:
    for job in (ROW, SIZES):
        assert verdict_of_all(job, all_posted(job, post_name), post_name, physics_only=True).findings == ()


@pytest.mark.parametrize("overrun", [0, 0.001])
def test_a_stroke_may_end_at_the_far_face_in_every_pass(overrun: float) -> None:
    job = make_job(bore=BORES, passes=PASSES, path={"overrun": overrun})
    assert judged(job, posted(job))[0] == []


def test_a_row_in_passes_with_a_lift_proves() -> None:
    path = {"withdraw": "lift", "lift": LIFT}
    job = make_job(bore=BORES, passes={**PASSES, "air": True}, head={"ratio": 1.0}, path=path)
    assert verdict_of(job, posted(job, "oriented"), "oriented").findings == ()
    assert judged(job, posted(job, "oriented"), "oriented")[0] == []


def strokes_of(job: Job) -> list[Stroke]:
    """What physics takes the moves of a job's own program that feed the way the bar points to be."""
    findings, strokes, timeline = judged(job, posted(job))
    assert findings == []
    events = timeline.events
    return [
        strokes[number]
        for number in sorted(strokes)
        if isinstance(move := events[number], Move) and (move.end[0] - move.start[0]) * job.direction > 0
    ]


def test_every_stroke_has_its_pass_s_setting_and_only_the_last_finishes_the_bore() -> None:
    # Toward -X: what is reached counts as minus X. The far end of a stroke is 2.5 past the far face.
    assert strokes_of(ROW) == [
        Stroke(0, 0.0, 83.4),
        Stroke(1, 130.0, 83.4),
        Stroke(0, 0.0, 83.8),
        Stroke(1, 130.0, 83.8),
        Stroke(2, 255.0, 83.8),
        Stroke(0, 34.5, 84.0),
        Stroke(1, 160.5, 84.0),
        Stroke(2, 289.5, 84.0),
    ]


def test_the_air_pass_is_a_stroke_too() -> None:
    assert strokes_of(SIZES)[:3] == [Stroke(0, 0.0, 82.0), Stroke(1, 130.0, 82.0), Stroke(2, 255.0, 82.0)]
    assert [stroke.diameter_mm for stroke in strokes_of(SIZES)[3:]] == [83.4, 83.4, 89.8, 83.8, 83.8, 84.0, 84.0, 90.0]


def test_the_stops_tell_what_to_set() -> None:
    text = posted(SIZES)
    stops = re.findall(r"M0 \(MSG, (.*)\)", text)
    assert stops == [setting_message(SIZES, setting) for setting in pass_plan(SIZES)[1:]]
    assert stops[0] == "rough pass: set the cutter to diameter 83.400 mm, 2 bores from 1"
    head = " ".join(line.strip("()") for line in text.split("G21")[0].split("\n"))
    assert "Before cycle start: air pass: set the cutter clear of every bore, diameter 82.000 mm or less." in head
    assert "set for diameter 82.000 mm to begin with" in head


# A post whose control has no stops.


def test_a_post_without_stops_writes_a_program_for_each_setting() -> None:
    texts = all_posted(SIZES, "one-pass")
    plan = pass_plan(SIZES)
    assert len(texts) == len(plan) == 6
    for number, (text, setting) in enumerate(zip(texts, plan, strict=True), 1):
        head = " ".join(line.strip("()") for line in text.split("G21")[0].split("\n"))
        assert f"Program {number} of 6, to be run in order. Before this one: {setting_message(SIZES, setting)}." in head
        assert head.count(show_setting(SIZES, setting.diameter_mm)) == 1
        assert "M0" not in text
        assert re.findall(r"\(bore (\d):", text) == [str(index + 1) for index in setting.bores]


@pytest.mark.parametrize("left_out", range(6))
def test_a_program_of_a_setting_left_out_is_found(left_out: int) -> None:
    texts = [text for at, text in enumerate(all_posted(SIZES, "one-pass")) if at != left_out]
    findings = verdict_of_all(SIZES, texts, "one-pass", physics_only=True).findings
    assert {finding.rule for finding in findings} >= {"bore-missed"}
    assert {finding.program for finding in findings if finding.rule == "bore-missed"} == {5}


# The walk-through.


def without_fingerprint(text: str) -> str:
    return re.sub(r"fingerprint of job and post [0-9a-f]{12}", "", text)


@pytest.mark.parametrize("post_name", ["longhand", "one-pass"])
def test_a_walk_through_knows_no_passes(post_name: str) -> None:
    plain = make_job(bore=[{key: value for key, value in bore.items() if key != "measured"} for bore in BORES])
    (text,) = all_posted(ROW, post_name, walk=True)
    assert without_fingerprint(text) == without_fingerprint(posted(plain, post_name, walk=True))
    for physics_only in (True, False):
        assert verdict_of(ROW, text, post_name, walk=True, physics_only=physics_only).findings == ()


# Broken by hand.


class Broken(NamedTuple):
    """An edit, all that physics then finds, and what is found by the plan at so many lines behind the edit."""

    name: str
    edit: Editing
    alone: list[tuple[str, str]]
    rule: str
    found: str
    behind: int = 0
    job: Job = ROW


SECOND: Final = "rough pass: set the cutter to diameter 83.800 mm, 3 bores from 1"
THIRD: Final = "finish pass: set the cutter to diameter 84.000 mm, 3 bores from 1"
MISSED: Final = "a step is missing before this line"
UNFINISHED: Final = [never_cut(1, "84"), never_cut(2, "84"), never_cut(3, "84")]
STILL_SET: Final = ("pause-missing", "cuts bore 3 with the cutter still set for 83.4 mm")

TABLE: Final = (
    Broken("no first stop", delete("M0", 1), [STILL_SET, *UNFINISHED], "pause-missing", MISSED, 1),
    Broken("no second stop", delete("M0", 2), UNFINISHED, "pause-missing", MISSED, 1),
    Broken(
        "first stop optional",
        change("M0 (", "M1 ("),
        [STILL_SET, *UNFINISHED],
        "pause-missing",
        f'stops with "{SECOND} (only where optional stop is on)"',
    ),
    Broken(
        "second stop optional",
        change("M0 (", "M1 (", 2),
        UNFINISHED,
        "pause-missing",
        f'stops with "{THIRD} (only where optional stop is on)"',
    ),
    Broken(
        "first stop only a remark", change("M0 (MSG, ", "("), [STILL_SET, *UNFINISHED], "pause-missing", MISSED, 2
    ),
    Broken(
        "no stop between two sizes",
        delete("M0", 2),
        [STILL_SET],
        "pause-missing",
        MISSED,
        1,
        SIZES,
    ),
    Broken("bore 2 left out first", of_bore(2, 1), [never_cut(2, "83.4")], "path-differs", "a stop that says", 0),
    Broken("bore 2 left out second", of_bore(2, 2), [never_cut(2, "83.8")], "path-differs", MISSED, 1),
    Broken("bore 2 left out last", of_bore(2, 3), [never_cut(2, "84")], "path-differs", MISSED, 1),
    Broken("bore 3 left out second", of_bore(3, 1), [never_cut(3, "83.8")], "path-differs", MISSED, 0),
    Broken("bore 1 left out last", of_bore(1, 3), [never_cut(1, "84")], "path-differs", MISSED, 1),
    Broken("bore 2 left out of the air pass", of_bore(2, 1), [never_cut(2, "82")], "path-differs", MISSED, 1, SIZES),
    Broken("second pass before the first", in_order(1, 0, 2), [STILL_SET], "path-differs", "X-252", 18),
    Broken("last pass first", in_order(2, 0, 1), [STILL_SET], "path-differs", "X-252", 18),
    Broken(
        "first pass last", in_order(1, 2, 0), [STILL_SET, never_cut(3, "84")], "path-differs", "X-252", 18
    ),
    *(
        Broken(
            f"rapid through bore 1 in pass {nth}",
            change("G1 X-34.500", "G0 X-34.500", nth),
            [("rapid-into-stock", "rapid into the uncut metal of bore 1")],
            "feed-differs",
            "rapid",
        )
        for nth in (1, 2, 3)
    ),
    Broken(
        "rapid through bore 3 in the air pass",
        change("G1 X-289.500", "G0 X-289.500"),
        [("rapid-into-stock", "rapid into the uncut metal of bore 3")],
        "feed-differs",
        "rapid",
        0,
        SIZES,
    ),
    Broken(
        "not turning in the second pass",
        delete("S760 M4", 3),
        [
            ("cut-not-turning", "feeds into bore 1 with the spindle stopped"),
        ],
        "speed-differs",
        MISSED,
        0,
    ),
    Broken(
        "short in the first pass",
        change("G1 X-160.500", "G1 X-150.000"),
        [("bore-short", "bore 2 is cut to X -150 mm in the pass for 83.4 mm")],
        "path-differs",
        "goes to X-150",
    ),
    Broken(
        "short in the last pass",
        change("G1 X-160.500", "G1 X-150.000", 3),
        [("bore-short", "bore 2 is cut to X -150 mm in the pass for 84 mm")],
        "path-differs",
        "goes to X-150",
    ),
    Broken(
        "no dwell in the last pass",
        delete("G4 P0.64", 3),
        [("dwell-short", "the cutter stands for 0 turns at the end of bore 1")],
        "dwell-short",
        MISSED,
    ),
    Broken(
        "half a dwell in the last pass",
        change("G4 P0.64", "G4 P0.32", 3),
        [("dwell-short", "the cutter stands for 2.03 turns at the end of bore 1")],
        "dwell-short",
        "0.32 s",
    ),
)  # fmt: skip


@pytest.mark.parametrize("broken", TABLE, ids=lambda broken: broken.name)
def test_a_program_in_passes_that_is_broken_by_hand_is_found_out(broken: Broken) -> None:
    assert told(alone(broken.job, broken.edit)) == broken.alone
    edited = broken.edit(posted(broken.job))
    findings = verdict_of(broken.job, edited.text).findings
    at = [one.found for one in findings if (one.rule, one.line) == (broken.rule, edited.line + broken.behind)]
    assert any(broken.found in found for found in at), [(one.rule, one.line, one.found) for one in findings]
    # The same with the plan, unless the plan has told of that rule on that line already.
    places = {(one.rule, one.line) for one in findings}
    assert {(one.rule, one.line) for one in alone(broken.job, broken.edit)} <= places


def test_every_stop_is_told_with_what_it_is_for() -> None:
    line, findings = prove_edited(ROW, delete("M0", 1))
    stop = next(finding for finding in findings if finding.line == line + 1)
    assert stop.expected == f'a stop that says "{SECOND}"'
    still = next(finding for finding in findings if finding.found == STILL_SET[1])
    assert still.expected == "a stop before it to set the cutter for 83.8 mm"


def test_what_was_left_undone_is_told_at_the_end_with_every_pass_asked_for() -> None:
    text = of_bore(2, 2)(posted(ROW)).text
    (finding,) = verdict_of(ROW, text, physics_only=True).findings
    assert (finding.line, finding.text) == (text.count("\n"), "M30")
    assert finding.expected == "every bore of the job cut in every pass"


def test_a_dwell_in_the_last_pass_is_enough_for_physics() -> None:
    """What the spot face looks like between the passes is nobody's concern; the plan still wants every dwell."""
    edit = both(delete("G4 P0.64", 1), delete("G4 P0.64", 1))
    assert alone(ROW, edit) == []
    assert [finding.rule for finding in prove_edited(ROW, edit)[1]] == ["dwell-short", "dwell-short"]


def test_a_dwell_in_an_earlier_pass_is_not_one_in_the_last() -> None:
    edit = both(delete("G4 P0.64", 3), change("G4 P0.64", "G4 P9", 2))
    assert told(alone(ROW, edit)) == [("dwell-short", "the cutter stands for 0 turns at the end of bore 1")]


def test_a_stop_with_the_spindle_turning_is_none() -> None:
    """Nobody sets a cutter that turns: to physics it is still set as before."""
    edit = both(delete("M5 (spindle off before leaving bore 2)", 1), change("M0 (", "M0 (", 1))
    findings = alone(ROW, edit)
    assert ("halt-turning", "stops for the operator with the spindle turning") in told(findings)
    assert STILL_SET in told(findings)


def test_more_stops_than_the_plan_has_harm_nothing() -> None:
    assert alone(ROW, insert("M0 (MSG, look)", "(over bore 2)", 2)) == []
    assert alone(ROW, insert("M0 (MSG, chips)", "(up from bore 3)", 1)) == []


def test_bores_of_a_pass_in_another_order_are_good_enough_for_physics() -> None:
    text = posted(ROW)
    first, second = (text.index(f"(bore {number}:") for number in (1, 2))
    stop = text.index("M0 (")
    swapped = text[:first] + text[second:stop] + text[first:second] + text[stop:]
    assert verdict_of(ROW, swapped, physics_only=True).findings == ()
    assert verdict_of(ROW, swapped).findings != ()


def test_a_pass_done_twice_harms_nothing_but_is_not_the_plan() -> None:
    again = "G0 X-127 Y0 Z160\nG0 Z0\nS760 M4\nG1 X-160.5 F38\nG1 X-127\nM5\nG0 Z160"
    edit = insert(again, "M0 (", 2)
    assert alone(ROW, edit) == []
    assert prove_edited(ROW, edit)[1] != []


def test_a_bore_may_be_cut_in_bites_in_every_pass() -> None:
    edit = change("G1 X-160.500", "G1 X-140 F38\nG1 X-135\nG1 X-160.500", 2)
    assert alone(ROW, edit) == []
    rapid = change("G1 X-160.500", "G1 X-140 F38\nG1 X-135\nG0 X-150\nG1 X-160.500", 2)
    assert told(alone(ROW, rapid)) == [("rapid-into-stock", "rapid into the uncut metal of bore 2")]
    over = change("G1 X-160.500", "G1 X-140 F38\nG1 X-135\nG0 X-140\nG1 X-160.500", 2)
    assert told(alone(ROW, over)) == [("rapid-into-stock", "rapid through bore 2 with the cutter turning")]


def test_a_lifted_stroke_where_the_pass_has_not_cut_is_through_metal() -> None:
    path = {"withdraw": "lift", "lift": LIFT}
    job = make_job(bore=BORES, passes=PASSES, head={"ratio": 1.0}, path=path)
    edit = change("G1 X-160.500 Y0.000 Z0.000", "G1 X-140.000 Y0.000 Z0.000", 2)
    found = told(alone(job, edit, "oriented"))
    assert ("rapid-into-stock", "rapid into the uncut metal of bore 2") in found
    assert ("bore-short", "bore 2 is cut to X -140 mm in the pass for 83.8 mm") in found


def test_a_lifted_stroke_through_a_bore_the_pass_has_not_touched_is_through_metal() -> None:
    path = {"withdraw": "lift", "lift": LIFT}
    job = make_job(bore=BORES, passes=PASSES, head={"ratio": 1.0}, path=path)
    found = told(alone(job, delete("(feed through bore 2)", 2), "oriented"))
    assert ("rapid-into-stock", "rapid into the uncut metal of bore 2") in found
    assert never_cut(2, "83.8") in found


def test_one_setting_is_told_without_a_pass() -> None:
    job = make_job(bore=[{**BORES[1], "measured": [83.9, 83.92]}], passes=PASSES)
    text = "G21 G17 G40 G49 G61 G80\nG90 G94 G54\nM5\nG0 Z160\nM30\n"
    (finding,) = verdict_of(job, text, physics_only=True).findings
    assert (finding.found, finding.expected) == ("bore 1 is never cut", "every bore of the job cut")


@st.composite
def jobs_in_passes(draw: st.DrawFn, *, most_bores: int = 4) -> Job:
    """Rows of bores of up to two sizes, in either direction, withdrawn turning or still."""
    way = draw(st.sampled_from((1, -1)))
    bores: list[Data] = []
    for at in range(draw(st.integers(1, most_bores))):
        diameter = draw(st.sampled_from((84.0, 90.0)))
        smallest = diameter - draw(st.integers(70, 2000)) / 1000
        bore = {"face": way * 60 * at, "width": 30, "diameter": diameter, "face_turns": draw(st.integers(0, 3))}
        bores.append({**bore, "measured": [smallest, smallest + draw(st.sampled_from((0, 0.01)))]})
    passes: Data = {"depth": draw(st.sampled_from((0.2, 0.35, 1))), "finish_stock": 0.1, "air": draw(st.booleans())}
    if draw(st.booleans()):
        passes["skim"] = 0.06
    changes: dict[str, Any] = {"size": {"tolerance": "H6"}} if draw(st.booleans()) else {}
    return make_job(
        machine={"travel": {"x": [-900, 600]}},
        head={"points": "+X" if way > 0 else "-X"},
        path={"withdraw": draw(st.sampled_from(("feed", "still")))},
        bore=bores if draw(st.booleans()) else bores[::-1],
        passes=passes,
        **changes,
    )


@settings(max_examples=40)
@given(jobs_in_passes(), st.data())
def test_physics_takes_every_row_in_passes_and_none_that_lacks_a_stop(job: Job, data: st.DataObject) -> None:
    text = posted(job)
    assert judged(job, text)[0] == []
    stops = len(pass_plan(job)) - 1
    assert text.count("M0 (") == stops
    if stops:
        assert alone(job, delete("M0 (", data.draw(st.integers(1, stops)))) != []


@settings(max_examples=5)
@given(jobs_in_passes(most_bores=3), st.sampled_from(("longhand", "one-pass")))
def test_every_row_in_passes_proves(job: Job, post_name: str) -> None:
    texts = all_posted(job, post_name)
    assert len(texts) == (len(pass_plan(job)) if post_name == "one-pass" else 1)
    assert verdict_of_all(job, texts, post_name).findings == ()
