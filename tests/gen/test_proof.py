"""Every rule of the proof, broken: what is told, at which line, with which numbers."""

import ast
import re
from pathlib import Path
from typing import Final, NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import gen
import post
from gen import proof
from gen.job import Job
from gen.proof import prove
from post.finding import Finding
from post.posts import find
from post.reader import read
from tests.jobs import make_job, valid_jobs
from tests.programs import (
    DROPPED,
    SETTINGS,
    STILL,
    Editing,
    able,
    all_posted,
    both,
    change,
    delete,
    insert,
    posted,
    prove_edited,
    task_of,
    told,
    verdict_of,
    verdict_of_all,
)

JOB: Final = make_job()
END: Final = 1000
"""Stands for the last line of a program, where what was left undone is told."""


class Broken(NamedTuple):
    """An edit that breaks a rule: told so many lines behind the edit, in these phrases."""

    rule: str
    edit: Editing
    found: str
    expected: str
    behind: int = 0
    job: Job = JOB
    post: str = "longhand"
    walk: bool = False


CROWDED: Final = make_job(
    head={"reach": 40, "body": {"length": 20, "width": 80, "above": 50, "below": 45}},
    block={"y": [-120, 120], "z": [-100, 100], "hole": 83.0},
)
"""A head of 40 + 20 mm behind the edge, in bays of 98 mm."""

READING: Final = (
    Broken("unreadable", change("X-34.500", "X-34,500"), 'the character ","', "words and comments only"),
    Broken("unreadable", change("P0.64", "P-0.64"), "G4 with P-0.64", "P of 0 or more"),
    Broken("unreadable", change("F38.000", "F0"), "F0", "F above 0"),
    Broken("unknown-word", change("G0 Z160", "G28 Z160"), "G28, a move home", "a move home by hand"),
    Broken("unknown-word", change("M5", "M6"), "M6, a tool change", "before the program is started"),
    Broken("unknown-word", change("G0 Z160", "/G0 Z160"), 'starts with "/"', "lines that run whatever a switch says"),
    Broken("group-clash", change("G1 X-34.5", "G0 G1 X-34.5"), "G0 and G1, both of modal group 1", "one code"),
    Broken("group-clash", change("G0 X3.000", "G0 X3.000 X3.000"), "X twice", "once on a line"),
    Broken("state-assumed", change("G21 ", ""), "no units", "G20 or G21", 3),
    Broken("state-assumed", change("G17 ", ""), "no plane", "G17, G18 or G19", 3),
    Broken("state-assumed", change("G90 ", ""), "no distance mode", "G90 or G91", 2),
    Broken("state-assumed", change("G94 ", ""), "no feed mode", "G94", 2),
    Broken("state-assumed", change("G94 G54", "G94"), "no work offset", "G54", 2),
    Broken("state-assumed", change(" F38.000", ""), "no F stated", "F on a line after G20 or G21"),
    Broken("state-assumed", change("S760 ", ""), "M4 at no S", "S above 0"),
    Broken("state-assumed", change("S760", "S0"), "M4 at S0", "S above 0"),
    Broken("no-end", delete("M30"), "without M2 or M30", "M2 or M30 at its end", -1),
    Broken("after-end", change("M30", "M30\nG0 Z160"), "words after the end", "nothing after M2 or M30", 1),
    Broken(
        "cut-not-turning",
        delete("S760 M4", 2),
        "G86 with the spindle stopped",
        "turning before G86",
        job=STILL,
        post="cycles",
    ),
    Broken("state-assumed", change("G95 ", ""), "no feed mode", "G95 or G94", 2, post="per-turn"),
    Broken(
        "cut-not-turning",
        delete("S760 M4"),
        "a feed move at a feed a spindle turn with the spindle stopped, which never ends",
        "the spindle turning",
        post="per-turn",
    ),
    Broken(
        "cut-not-turning",
        insert("M5", "G4 P8"),
        "G4 for 8 turns of a spindle that is stopped, which never ends",
        "the spindle turning",
        1,
        post="per-turn",
    ),
    Broken(
        "unreadable",
        change("P8.00", "P8.001"),
        "P8.001, finer than the control reads",
        "steps of 0.01",
        post="per-turn",
    ),
    Broken("unreadable", change("X-34.5 ", "X-345 "), "X-345, without a point", "a point in every length", post="tape"),
    Broken(
        "unreadable", change("(BORE 1:", "(bore 1!:"), 'the sign "!" in a comment', "allows in comments", post="tape"
    ),
    Broken("unreadable", change("%", " "), "no % that opens the program", "% alone", 1, post="tape"),
    Broken("unreadable", delete("O0001"), "no program number before the first block", "one, as O0001", post="tape"),
    Broken("unreadable", change("G80\r\n", "G80\n"), "does not end in CR LF", "CR LF behind every line", post="tape"),
)
"""What stops a proof before anything is judged."""

AGREEMENT: Final = (
    Broken(
        "remark-differs",
        change("set for diameter 84 mm to", "set for diameter 94 mm to"),
        'a remark that says "Cutter: right-hand, so M4; set for diameter 94 mm to begin with."',
        "no setting but those that are planned",
    ),
    Broken(
        "remark-differs",
        delete("set for diameter 84 mm to"),
        "the first block with the cutter's setting not told",
        'before it the remark "Cutter: right-hand, so M4; set for diameter 84 mm to begin with."',
        9,  # the rest of the opening remarks
    ),
    Broken(
        "remark-differs",
        insert("(MSG, set the cutter for diameter 99 mm, bore 2)", "(over bore 2)"),
        "a message that belongs to no stop",
        "messages on the lines of M0 and M1 only",
    ),
    Broken(
        "offset-differs",
        change("G0 X-127.000 Y0.000 Z160.000 (over bore 2)", "G0 G53 X-277 Y0 Z-220 (over bore 2)"),
        "a move in machine coordinates, G53, which a raised work zero does not raise",
        "moves from the work zero",
    ),
    Broken("path-differs", change("X-34.500", "X-34.400"), "goes to X-34.4 Y0 Z0", "X-34.5 Y0 Z0"),
    Broken("path-differs", change("G21", "G20"), "goes to X? Y? Z4064", "X? Y? Z160", 3),
    Broken("path-differs", delete("(over bore 2)"), "a step is missing before this line", "rapid to X-127 Y0 Z160"),
    Broken("path-differs", insert("G0 X-252 Z170", "M30"), "rapid to X-252 Y0 Z170", "no such step here"),
    Broken("path-differs", insert("G4 P1.5", "M30"), "a dwell of 1.5 s", "no such step here"),
    Broken("feed-differs", change("F38.000", "F39.000"), "feed at 39 mm/min", "feed at 38 mm/min"),
    Broken("feed-differs", change("G1 X-34.5", "G0 X-34.5"), "rapid", "feed at 38 mm/min"),
    Broken("speed-differs", change("S760", "S770", 2), "turning at 770 rpm counterclockwise (M4)", "at 760 rpm"),
    Broken("speed-differs", delete("M5 (spindle off before leaving bore 3)"), "turning at 760 rpm", "stopped"),
    Broken("speed-differs", delete("S760 M4", 3), "", "a spindle start: turning at 760 rpm"),
    Broken("speed-differs", insert("S760 M4\nM5", "(over bore 3)"), "a spindle start", "no such step here"),
    Broken("sense-differs", change("S760 M4", "S760 M3", 2), "spindle turns clockwise (M3)", "counterclockwise (M4)"),
    Broken("dwell-short", change("P0.64", "P0.63"), "stands 0.63 s", "0.64 s"),
    Broken("dwell-short", delete("G4 P0.64"), "a step is missing before this line", "a dwell of 0.64 s"),
    Broken("dwell-long", change("P0.64", "P0.65"), "stands 0.65 s", "0.64 s"),
    Broken(
        "pause-missing",
        delete("M0", 1),
        "a step is missing before this line",
        'a stop that says "set the cutter for diameter 90 mm, bore 2"',
        1,  # the line behind it is a remark
        job=SETTINGS,
    ),
    Broken(
        "pause-missing",
        change("diameter 90 mm, bore 2)", "diameter 80 mm, bore 2)"),
        'stops with "set the cutter for diameter 80 mm, bore 2"',
        '"set the cutter for diameter 90 mm, bore 2"',
        job=SETTINGS,
    ),
    Broken("pause-missing", change("M0", "M1"), "only where optional stop is on", '"set the cutter', job=SETTINGS),
    Broken("pause-missing", change("M0 (MSG, ", "M0 ("), "the control does not show", '"set the cutter', job=SETTINGS),
    Broken("pause-missing", change("bore 2)", "bore 2) (x)"), 'stops with "x (a remark,', '"set the', job=SETTINGS),
    Broken("feed-differs", change("G95", "G94"), "feed at 0.05 mm/min", "feed at 38 mm/min", 7, post="per-turn"),
    Broken("feed-differs", change("F0.0500", "F0.0501"), "feed at 38.076 mm/min", "feed at 38 mm/min", post="per-turn"),
    Broken("dwell-short", change("P8.00", "P7.99"), "stands 0.630789 s", "0.631579 s", post="per-turn"),
    Broken("dwell-long", change("P8.00", "P8.01"), "stands 0.63", "0.63", post="per-turn"),
    Broken("path-differs", change("G1 X-34.5 ", "G1 X-34.6 "), "goes to X-34.6 Y0 Z0", "X-34.5 Y0 Z0", post="tape"),
)
"""Told because the plan says otherwise."""

OFF_LINE: Final = "only the cutter in this metal, on the bore line, feeding and turning"
HIGH: Final = "Z at 160 mm or above, but on a way into a bore or through"

PHYSICS: Final = (
    Broken(
        "offset-differs",
        change("G1 X-160.500 Y0.000 Z0.000", "G1 G53 X-310.5 Y0 Z-380"),
        "a move in machine coordinates, G53, which a raised work zero does not raise",
        "moves from the work zero",
    ),
    Broken(
        "sense-differs",
        change("S760 M4", "S760 M3", 2),
        "bore 2 with the spindle turning M3",
        "M4 for a right-hand cutter in this head",
        1,
    ),
    Broken("dwell-short", change("P0.64", "P0.60"), "stands for 3.8 turns at the end of bore 1", "4 turns", END),
    Broken("dwell-short", delete("G4 P0.64"), "stands for 0 turns at the end of bore 1", "4 turns", END),
    Broken("dwell-short", change("P8.00", "P7.90"), "stands for 3.95 turns", "4 turns", END, post="per-turn"),
    Broken("speed-out-of-range", change("F0.0500", "F38"), "feed 28880 mm/min", "at most 5000 mm/min", post="per-turn"),
    Broken(
        "pause-missing",
        delete("M0"),
        "bore 2 with the cutter still set for 84 mm",
        "a stop before it to set the cutter for 90 mm",
        4,
        job=SETTINGS,
    ),
    Broken(
        "pause-missing",
        change("M0", "M1", 2),
        "bore 3 with the cutter still set for 90 mm",
        "a stop before it to set the cutter for 84 mm",
        5,
        job=SETTINGS,
    ),
    Broken(
        "too-close",
        insert("G0 X-62", "(up from bore 2)"),
        "head body meets bulkhead of bore 1",
        "at least 2 mm between them",
        job=CROWDED,
    ),
    Broken("turning-outside", delete("M5 (spindle off before leaving bore 2"), "with the cutter turning", "stopped", 0),
    Broken("over-travel", insert("G0 Z381", "M30"), "Z would go to machine 1 mm, 1 mm past its limit", "0 mm"),
    Broken("over-travel", insert("G0 X-751.5", "M30"), "X would go to machine -901.5 mm, 1.5 mm past", "-900 mm"),
    Broken("over-travel", insert("G0 Y-300.25", "M30"), "Y would go to machine -300.25 mm, 0.25 mm past", "-300 mm"),
    Broken(
        "speed-out-of-range",
        change("S760", "S40"),
        "spindle 40 rpm, 20 at the cutter",
        "spindle between 50 and 1600 rpm",
    ),
    Broken("speed-out-of-range", change("S760", "S1601"), "spindle 1601 rpm, 800.5 at the cutter", "50 and 1600 rpm"),
    Broken("speed-out-of-range", change("F38.000", "F5000.1"), "feed 5000.1 mm/min", "at most 5000 mm/min"),
    Broken(
        "rapid-into-stock",
        change("G1 X-160.5", "G0 X-160.5"),
        "rapid into the uncut metal of bore 2",
        "feed, turning",
    ),
    Broken(
        "rapid-into-stock",
        change("G1 X-127", "G0 X-127"),
        "rapid through bore 2 with the cutter turning",
        "feed, or the spindle stopped",
    ),
    Broken(
        "rapid-into-stock",
        insert("G0 X-200", "(up from bore 1)"),
        "rapid through the metal of bore 2, X -158 mm to -130 mm, past the end of its stroke",
        OFF_LINE,
    ),
    Broken(
        "rapid-into-stock",
        change("Z160.000 (over bore 2)", "Z159.900"),
        "rapid through the metal of bore 1, X -32 mm to 0 mm, off the bore line",
        OFF_LINE,
    ),
    Broken(
        "rapid-into-stock",
        both(change("X3.000 Y0.000 Z160", "X-9.000 Y0.000 Z160"), change("X3.000 Y0.000 Z0", "X-9.000 Y0.000 Z0")),
        "rapid through the metal of bore 1, X -32 mm to 0 mm, off the bore line",
        OFF_LINE,
        1,
    ),
    Broken(
        "rapid-into-stock",
        delete("(feed through bore 2)"),
        "rapid into the uncut metal of bore 2",
        "feed, turning",
        1,
        job=DROPPED,
        post="oriented",
    ),
    Broken("state-assumed", change(" G40", ""), "the first move with no G40 stated", "G40 before it", 3),
    Broken("state-assumed", change(" G49", ""), "the first move with no G49 stated", "G49 before it", 3),
    Broken("state-assumed", change(" G61", ""), "the first move with no G61 or G61.1 stated", "G61 or G61.1", 3),
    Broken("state-assumed", change(" G61", " G64"), "the first move with no G61 or G61.1 stated", "G61 or G61.1", 3),
    Broken(
        "state-assumed",
        delete("M5 (nothing turns yet)"),
        "the first move with no M3 or M4 or M5 or M19 stated",
        "M3 or M4 or M5 or M19 before it",
    ),
    Broken("state-assumed", change(" G49", ""), "the first move with no G49 stated", "G49 before it", 3, post="tape"),
    Broken("state-assumed", change(" G40", ""), "the first move with no G40 stated", "G40 before it", 3, walk=True),
    Broken("cut-not-turning", delete("S760 M4", 2), "feeds into bore 2 with the spindle stopped", "spindle turning"),
    Broken("low-traverse", delete("G0 Z160"), "moves in X or Y from a", HIGH, 1),
    Broken("low-traverse", change("G0 Z160.000", "G0 Z50"), "goes below the clearance height from a place not", HIGH),
    Broken("low-traverse", insert("G0 X10", "(up from bore 1)"), "moves in X or Y at Z 0 mm", HIGH),
    Broken("low-traverse", insert("G0 Y10", "(up from bore 1)"), "moves in X or Y at Z 0 mm", HIGH),
    Broken("low-traverse", insert("G0 Z-5", "(up from bore 1)"), "goes to Z -5 mm beside the way into a bore", HIGH),
    Broken(
        "low-traverse",
        insert("G0 X-60\nG0 Z0", "(over bore 2)"),
        "goes down at X -60 mm, which is the start of no bore",
        HIGH,
        1,
    ),
    Broken("low-traverse", insert("G0 Z159.9\nG0 X4", "(over bore 2)"), "moves in X or Y at Z 159.9 mm", HIGH, 1),
    Broken(
        "bore-missed",
        both(delete("(feed through bore 2)"), delete("(withdraw from bore 2)")),
        "bore 2 is never cut",
        "every bore of the job cut",
        END,
    ),
    Broken(
        "bore-missed",
        change("X-160.500 Y0.000", "X-160.500 Y1.000"),
        "feed through the metal of bore 2, X -158 mm to -130 mm, off the bore line",
        OFF_LINE,
    ),
    Broken(
        "bore-missed",
        change("X-160.500 Y0.000 Z0.000", "X-160.500 Y0.000 Z0.001"),
        "feed through the metal of bore 2, X -158 mm to -130 mm, off the bore line",
        OFF_LINE,
    ),
    Broken(
        "bore-short",
        change("X-160.500", "X-157.900"),
        "bore 2 is cut to X -157.9 mm",
        "through to its far face at X -158 mm",
        END,
    ),
    Broken("unsafe-end", insert("S760 M4", "M30"), "ends with the spindle turning", "stopped before the end", 1),
    Broken("unsafe-end", delete("(up from bore 3)"), "ends at Z 0 mm", "Z 160 mm or above"),
    Broken("unsafe-end", insert("G0 Z159.9", "M30"), "ends at Z 159.9 mm", "Z 160 mm or above", 1),
    Broken("halt-turning", insert("M0", "(withdraw from bore 2)"), "with the spindle turning", "stopped first"),
    Broken("offset-differs", change("G94 G54", "G94 G55"), "G55 is selected", "G54"),
)
"""Told from the program and the job alone."""

WALK: Final = (
    Broken("walk-turns", insert("S100 M3", "(up from bore 2)"), "spindle is started", "never turns it", walk=True),
    Broken("walk-enters", insert("G1 X-131 F10", "(up from bore 2)"), "enters bore 2", "enters no bore", walk=True),
    Broken("walk-missed", delete("M0", 2), "no stop at the start of bore 2", "a stop at X -127 mm", END, walk=True),
    Broken("walk-missed", change("M0", "M1"), "no stop at the start of bore 1", "a stop at X 3 mm", END, walk=True),
    Broken(
        "walk-missed",
        both(delete("M0", 2), insert("M0", "(over bore 3)")),
        "no stop at the start of bore 2",
        "on the bore line",
        END,
        walk=True,
    ),
    Broken("low-traverse", insert("G0 X-126", "(up from bore 2)"), "moves below the clearance height", HIGH, walk=True),
    Broken("halt-turning", insert("S100 M3", "M0"), "with the spindle turning", "stopped first", 1, walk=True),
    Broken("unsafe-end", delete("(up from bore 3)"), "ends at Z 0 mm", "Z 160 mm or above", walk=True),
)
"""Told of a walk-through, from the program and the job alone."""


def name_of(broken: Broken) -> str:
    return f"{broken.rule}: {broken.found}"


def check(broken: Broken, *, physics_only: bool) -> list[Finding]:
    line, findings = prove_edited(broken.job, broken.edit, broken.post, walk=broken.walk, physics_only=physics_only)
    if broken.behind == END:
        edited = broken.edit(posted(broken.job, broken.post, walk=broken.walk)).text
        at = edited.count("\n")
    else:
        at = line + broken.behind
    assert told(findings, broken.rule, at, broken.found, broken.expected), findings
    return findings


@pytest.mark.parametrize("broken", READING, ids=name_of)
@pytest.mark.parametrize("physics_only", [False, True], ids=["", "physics"])
def test_what_cannot_be_read_without_question_is_told_and_judged_no_further(broken: Broken, physics_only: bool) -> None:
    findings = check(broken, physics_only=physics_only)
    assert {finding.rule for finding in findings} <= {row.rule for row in READING}


@pytest.mark.parametrize("broken", AGREEMENT, ids=name_of)
def test_a_program_that_is_not_the_plan_is_told(broken: Broken) -> None:
    check(broken, physics_only=False)


@pytest.mark.parametrize("broken", PHYSICS + WALK, ids=name_of)
def test_a_program_that_is_unsafe_or_leaves_something_undone_is_told_without_a_plan(broken: Broken) -> None:
    check(broken, physics_only=True)


@pytest.mark.parametrize("broken", PHYSICS + WALK, ids=name_of)
def test_with_a_plan_the_same_lines_are_told(broken: Broken) -> None:
    alone = {(finding.rule, finding.line) for finding in check(broken, physics_only=True)}
    _, findings = prove_edited(broken.job, broken.edit, broken.post, walk=broken.walk)
    assert alone <= {(finding.rule, finding.line) for finding in findings}


def test_both_halves_run() -> None:
    line, findings = prove_edited(JOB, change("X-160.500", "X-157.900"))
    assert told(findings, "path-differs", line, "goes to X-157.9", "X-160.5")
    assert told(findings, "bore-short", findings[-1].line, "bore 2 is cut to X -157.9 mm", "X -158 mm")


def test_findings_come_in_the_order_of_lines_and_a_rule_once_a_line() -> None:
    edits = both(change("M4", "M3"), change("X-160.500", "X-157.900"), change("P0.64", "P0.60"))
    _, findings = prove_edited(JOB, edits)
    places = [(finding.line, finding.rule) for finding in findings]
    assert [line for line, _ in places] == sorted(line for line, _ in places)
    assert len(places) == len(set(places))
    assert all(finding.message == f"{finding.found}; expected {finding.expected}" for finding in findings)


def test_readings_that_differ_are_told_with_both(monkeypatch: pytest.MonkeyPatch) -> None:
    text = posted(JOB)
    at = change("X-34.500", "")(text).line

    def misread(text: str, dialect: object) -> object:
        for block in read(text, find("longhand").dialect):
            words = tuple((a, -35.0 if (a, b) == ("X", -34.5) else b) for a, b in block.words)
            yield block._replace(words=words) if block.line == at else block

    monkeypatch.setattr(proof, "read", misread)
    findings = verdict_of(JOB, text).findings
    assert told(findings, "readings-differ", at, "pygcode reads X-34.5", "X-35, as first read")
    assert told(findings, "path-differs", at, "goes to X-35 Y0 Z0", "X-34.5 Y0 Z0")


def rules_in(package: str) -> set[str]:
    """Every text in a package's source that is written like a rule."""
    others = ("battery.py", "scene.py", "turning.py")  # names of jobs, and what pictures are made of
    files = [path for path in Path(package).parent.glob("*.py") if path.name not in others]
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in files]
    texts = {node.value for tree in trees for node in ast.walk(tree) if isinstance(node, ast.Constant)}
    return {text for text in texts if isinstance(text, str) and re.fullmatch(r"[a-z]+(-[a-z]+)+|unreadable", text)}


def test_every_rule_in_the_source_is_broken_here() -> None:
    assert gen.__file__ is not None
    assert post.__file__ is not None
    tables = (*READING, *AGREEMENT, *PHYSICS, *WALK)
    no_rules = {"utf-8", "utf-8-sig"}
    assert {row.rule for row in tables} | {"readings-differ"} == (
        rules_in(gen.__file__) | rules_in(post.__file__)
    ) - no_rules


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(valid_jobs())
@pytest.mark.long
def test_every_job_proves_under_every_post_that_can_express_it(job: Job) -> None:
    names = able(job)
    assert "oriented" in names
    for name in names:
        for walk in (False, True):
            texts = all_posted(job, name, walk=walk)
            for physics_only in (False, True):
                verdict = verdict_of_all(job, texts, name, walk=walk, physics_only=physics_only)
                assert verdict.findings == ()
                assert verdict.read_twice + sum(verdict.read_once.values()) == verdict.timeline.blocks


FRAGMENTS: Final = (
    *("G0", "G1", "G4", "G18", "G19", "G20", "G53", "G54", "G56", "G85", "G86", "G90", "G91", "G98"),
    *("M0", "M1", "M3", "M5", "M19", "M30", "S0", "S500", "F0", "P1", "R2", "L3"),
    *("X", "Y1", "Z-1000", "X99999999", "Z500", "(", "MSG,)", "%", "/", "\r", "\0", "\u00e9", "\ufeff", "#1=2", "[1]"),
)


@settings(max_examples=60, deadline=None)
@given(st.data(), st.sampled_from(["longhand", "cycles"]), st.booleans())
def test_no_edit_stops_the_proof(data: st.DataObject, name: str, walk: bool) -> None:
    job = STILL
    lines = posted(job, name, walk=walk).split("\n")
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(lines) - 1))
        words = lines[at].split(" ")
        place = data.draw(st.integers(0, len(words) - 1))
        new = data.draw(st.sampled_from(FRAGMENTS) | st.text(max_size=6) | st.just(""))
        lines[at] = " ".join([*words[:place], new, *words[place + data.draw(st.booleans()) :]])
    text = "\n".join(lines)
    count = text.removesuffix("\n").count("\n") + 1
    for physics_only in (False, True):
        findings = verdict_of(job, text, name, walk=walk, physics_only=physics_only).findings
        assert all(0 <= finding.line <= count and finding.found and finding.expected for finding in findings)


def test_line_ends_of_another_system_change_nothing() -> None:
    text = posted(JOB)
    assert verdict_of(JOB, text.replace("\n", "\r\n")).proved
    edited = change("X-34.500", "X-34.400")(text)
    findings = verdict_of(JOB, edited.text).findings
    assert verdict_of(JOB, edited.text.replace("\n", "\r\n")).findings == findings


def test_a_byte_order_mark_is_told() -> None:
    findings = verdict_of(JOB, "\ufeff" + posted(JOB)).findings
    assert told(findings, "unreadable", 1, "U+FEFF in column 1", "printable ASCII")


def test_an_empty_program_has_no_end() -> None:
    for text in ("", "\n", "\r\n\r\n"):
        verdict = verdict_of(JOB, text)
        assert [finding.rule for finding in verdict.findings] == ["no-end"]
        assert verdict.travel == {}
        assert (verdict.read_twice, verdict.read_once) == (0, {})


def test_a_program_of_bytes_is_told_not_run() -> None:
    verdict = verdict_of(JOB, "".join(map(chr, range(256))) * 40)
    assert {finding.rule for finding in verdict.findings} == {"unreadable", "no-end"}


def test_a_program_that_does_nothing_misses_every_bore() -> None:
    verdict = verdict_of(JOB, "G21 G17 G90 G94 G54\nM30\n", physics_only=True)
    assert [finding.found for finding in verdict.findings] == [
        "the program ends at a height not known",
        *(f"bore {name} is never cut" for name in "123"),
    ]
    assert verdict.travel == {}


def test_a_long_program_is_read_twice_only_when_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    text = posted(JOB)
    blocks = verdict_of(JOB, text).timeline.blocks
    assert proof.READ_TWICE_UP_TO == 20_000
    monkeypatch.setattr(proof, "READ_TWICE_UP_TO", blocks)
    assert verdict_of(JOB, text).read_twice == blocks
    monkeypatch.setattr(proof, "READ_TWICE_UP_TO", blocks - 1)
    verdict = verdict_of(JOB, text)
    assert verdict.proved
    assert verdict.read_twice == 0
    assert verdict.read_once == {"the program has more than 20000 blocks; ask for it with --read-twice": blocks}
    told_of: list[int] = []
    task = task_of(JOB)
    asked = prove([text], JOB, task.post.dialect, plans=task.plans, read_twice=True, advance=told_of.append)
    assert asked.read_twice == blocks
    assert blocks <= sum(told_of) <= len(list(read(text, task.post.dialect)))


def test_travel_is_told_of_every_program_that_can_be_read() -> None:
    extent = verdict_of(JOB, posted(JOB)).travel["x"]
    assert extent == (-289.5 - 150, 3 - 150, 900 - 289.5 - 150, 100 - 3 + 150)


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        (" G40", "", "no G40 stated"),
        (" G49", "", "no G49 stated"),
        (" G61", "", "no G61 or G61.1 stated"),
        (" G61", " G64", "no G61 or G61.1 stated"),
        ("M5 (nothing turns yet)\n", "", "no M3 or M4 or M5 or M19 stated"),
    ],
)
@pytest.mark.parametrize("physics_only", [True, False])
def test_what_the_program_before_may_have_left_is_stated_before_the_first_move(
    old: str, new: str, found: str, physics_only: bool
) -> None:
    findings = verdict_of(JOB, posted(JOB).replace(old, new, 1), physics_only=physics_only).findings
    assert [(finding.rule, finding.found) for finding in findings] == [
        ("state-assumed", f"the first move with {found}")
    ]
    assert findings[0].text.startswith("G0 Z160.000")


@pytest.mark.parametrize("physics_only", [False, True])
@pytest.mark.parametrize("before", ["M5 (nothing", "G0 X-127.000 Y0.000 Z160.000", "M30"])
def test_what_must_be_stated_is_kept_all_through(before: str, physics_only: bool) -> None:
    edit = insert("G64", before)(posted(JOB))
    found = verdict_of(JOB, edit.text, physics_only=physics_only).findings
    told_of = [(finding.rule, finding.line, finding.found, finding.expected) for finding in found]
    assert told_of == [("state-assumed", edit.line, "G64 is stated", "G61 or G61.1 all through")]
    again = insert("G61.1", before)(posted(JOB))
    assert verdict_of(JOB, again.text, physics_only=physics_only).proved


@pytest.mark.parametrize(
    ("opening", "missing"),
    [
        ((), []),
        (("G69",), ["G69"]),
        (("G80 or G69",), []),
        (("G69 or G94",), []),
        (("G64 or G69", "G40"), ["G64 or G69"]),
        (("M9", "M48 or M49", "G61"), ["M9", "M48 or M49"]),
    ],
    ids=" and ".join,
)
def test_a_dialect_says_which_codes_must_stand_before_the_first_move(
    opening: tuple[str, ...], missing: list[str]
) -> None:
    task = task_of(JOB)
    dialect = task.post.dialect.model_copy(update={"opening": opening, "on_trust": frozenset({"G69"})})

    def found(text: str) -> list[str]:
        findings = prove([text], JOB, dialect, plans=task.plans).findings
        assert {finding.rule for finding in findings} <= {"state-assumed"}
        assert all(finding.text.startswith("G0 Z160.000") for finding in findings)
        return [finding.found for finding in findings]

    text = posted(JOB)
    assert found(text) == [f"the first move with no {codes} stated" for codes in missing]
    first_of_each = " ".join(codes.split(" or ")[0] for codes in missing)
    assert found(text.replace("M5 (nothing", f"{first_of_each}\nM5 (nothing")) == []
    too_late = text.replace("G0 Z160.000", f"G0 Z160.000\n{first_of_each}\nG0 Z160.000", 1)
    assert len(found(too_late)) == len(missing)


def test_a_bore_cut_from_its_far_side_does_not_count() -> None:
    job = make_job(bore=[{"face": 0, "width": 20, "diameter": 84.0}, {"face": -24, "width": 20, "diameter": 84.0}])
    backward = posted(job).replace("G1 X-22.500 Y0.000 Z0.000 F38.000", "G0 Z160\nX-21\nZ0\nG1 X3 F38", 1)
    found = [finding.found for finding in verdict_of(job, backward, physics_only=True).findings]
    assert "enters bore 1 from its far side" in found
    assert "bore 1 is never cut" in found
