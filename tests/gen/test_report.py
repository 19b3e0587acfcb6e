"""What a machinist reads."""

from pathlib import Path
from typing import Any, Final

import pytest

from gen.report import WIDEST_FINDINGS, report
from gen.summary import summary
from gen.unchecked import UNCHECKED
from tests.jobs import INCH_TEXT, job_data, make_job
from tests.programs import SETTINGS, STILL, all_posted, change, posted, task_of, verdict_of, verdict_of_all

JOB: Final = make_job()


def facts_of(
    text: str | None = None, *, walk: bool = False, post_name: str = "longhand", **changes: Any
) -> dict[str, Any]:
    job = make_job(**changes)
    text = posted(job, post_name, walk=walk) if text is None else text
    verdict = verdict_of(job, text, post_name, walk=walk)
    return summary(task_of(job, post_name, walk=walk), verdict, [Path("job.nc")] if verdict.proved else [])


def rows(facts: dict[str, Any]) -> list[str]:
    """Lines with runs of blanks made one."""
    return [" ".join(line.split()) for line in report(facts).split("\n")]


def test_a_proved_program_in_words() -> None:
    told = rows(facts_of())
    assert told[0] == "Harbour pump engine, main housings"
    assert told[1:9] == [
        "bores 3, diameter 84 mm, X 3 to -289.5",
        "cutter 380 rpm",
        "spindle 760 rpm, M4 (counterclockwise)",
        "feed 38 mm/min, 0.1 mm a cutter turn",
        "time 5 min 51 s in all, 2 min 52 s of it in the cut",
        "travel X machine -439.5 to -147 mm left 460.5 low, 247 high",
        "Y machine 0 to 0 mm left 300 low, 300 high",
        "Z machine -380 to -220 mm left 220 low, 220 high",
    ]
    assert told[9:11] == [
        "tightest: 220 mm at both ends of Z",
        "read 27 blocks, 27 of them by two independent readers",
    ]
    assert told[11:-1] == [f"not checked {gap}" for gap in UNCHECKED]
    assert told[-1] == "verdict PROVED: job.nc"


def test_the_tightest_margin_is_named() -> None:
    tight = facts_of(machine={"travel": {"x": [-440, 100]}})
    assert "tightest: 0.5 mm at the low end of X" in rows(tight)


def test_figures_that_differ_are_told_as_a_range() -> None:
    bores = [
        {"face": 0, "width": 32, "diameter": 84.0, "rpm": 400},
        {"face": -130, "width": 28, "diameter": 60.5, "feed": 0.2},
    ]
    told = rows(facts_of(bore=bores))
    assert told[1:5] == [
        "bores 2, diameter 60.5 to 84 mm, X 3 to -160.5",
        "cutter 380 to 400 rpm",
        "spindle 760 to 800 rpm, M4 (counterclockwise)",
        "feed 40 to 76 mm/min, 0.1 to 0.2 mm a cutter turn",
    ]


def test_an_inch_job_in_inches() -> None:
    job = make_job(INCH_TEXT)
    told = rows(summary(task_of(job), verdict_of(job, posted(job)), []))
    assert told[1:5] == [
        "bores 2, diameter 3.3125 in, X 0 to 6.6",
        "cutter 400 rpm",
        "spindle 800 rpm, M3 (clockwise)",
        "feed 1.6 in/min, 0.004 in a cutter turn",
    ]
    assert told[-1] == "verdict PROVED"


def test_a_walk_says_that_nothing_turns() -> None:
    told = rows(facts_of(walk=True))
    assert told[:2] == ["Harbour pump engine, main housings (walk-through)", "spindle never turns"]
    assert any(line.endswith("of moving, without the stops") for line in told)
    assert not [line for line in told if line.startswith(("bores", "cutter", "feed"))]


def test_what_was_read_once_is_told_with_its_reason() -> None:
    told = rows(facts_of(post_name="cycles", path={"withdraw": "still"}))
    assert "read 26 blocks, 23 of them by two independent readers; 3 once only (pygcode does not know G86)" in told
    assert STILL.path.withdraw == "still"


@pytest.mark.parametrize(
    ("seconds", "says"), [(0.4, "0 s"), (59.6, "1 min 0 s"), (59.4, "59 s"), (3725.0, "62 min 5 s")]
)
def test_time_in_minutes(seconds: float, says: str) -> None:
    facts = {**facts_of(), "cycle_time_s": seconds, "cut_time_s": 0.0}
    assert f"time {says} in all, 0 s of it in the cut" in rows(facts)


def test_findings_with_line_rule_numbers_and_text() -> None:
    edited = change("X-34.500", "X-34.400")(posted(JOB))
    facts = facts_of(edited.text)
    text = report(facts)
    assert f"  line {edited.line}: path-differs: goes to X-34.4 Y0 Z0; expected X-34.5 Y0 Z0\n" in text
    assert "      G1 X-34.400 Y0.000 Z0.000 F38.000 (feed through bore 1)\n" in text
    count = len(facts["findings"])
    assert count > 1
    assert text.endswith(f"NOT PROVED, {count} findings")


def test_one_finding_is_no_findings() -> None:
    edited = change("P0.64", "P0.74")(posted(JOB))
    assert report(facts_of(edited.text)).endswith("NOT PROVED, 1 finding")


def test_a_long_list_is_cut_short_and_says_so() -> None:
    edited = posted(JOB).replace("Z160.000", "Z161.000").replace("F38.000", "F39.000").replace("Y0.000", "Y1.000")
    facts = facts_of(edited)
    count = len(facts["findings"])
    assert count > WIDEST_FINDINGS
    for number, finding in enumerate(facts["findings"]):
        finding["message"] += f", {number}"
    told = rows(facts)
    assert len([line for line in told if line.startswith("line ")]) == WIDEST_FINDINGS
    assert f"and {count - WIDEST_FINDINGS} more; --json lists them all" in told


@pytest.mark.parametrize(
    ("times", "says"),
    [
        (1, None),
        (2, "the same in line 8"),
        (3, "the same in lines 8, 9"),
        (11, "the same in lines 8, 9, 10, 11, 12, 13, 14, 15, 16, 17"),
        (13, "the same in lines 8, 9, 10, 11, 12, 13, 14, 15, 16, 17 and 2 more"),
    ],
)
def test_what_is_found_alike_is_told_once_with_its_lines(times: int, says: str | None) -> None:
    facts = facts_of(change("P0.64", "P0.74")(posted(JOB)).text)
    (finding,) = facts["findings"]
    other = {**finding, "line": 50, "message": "another"}
    facts["findings"] = [{**finding, "line": 7 + number} for number in range(times)] + [other]
    told = rows(facts)
    assert [row.split(":")[0] for row in told if row.startswith("line ")] == ["line 7", "line 50"]
    assert [row for row in told if row.startswith("the same")] == ([says] if says else [])
    assert told[-1] == f"verdict NOT PROVED, {times + 1} findings"


def test_a_program_that_cannot_be_read_has_neither_time_nor_travel() -> None:
    told = rows(facts_of("G7\n"))
    assert not [line for line in told if line.startswith(("time", "travel", "read", "tightest"))]
    assert "line 1: unknown-word: G7; expected a code of RS-274/NGC, or one the dialect names" in told
    assert told[-1] == "verdict NOT PROVED, 2 findings"


def test_every_line_fits_a_terminal() -> None:
    data = job_data()
    for post_name, walk in (("longhand", False), ("cycles", False), ("longhand", True)):
        facts = facts_of(post_name=post_name, walk=walk, bore=data["bore"])
        assert all(len(line) <= 120 for line in report(facts).split("\n"))


def test_every_rule_is_told_once_however_many_findings_come_first() -> None:
    facts = facts_of(posted(make_job()).replace("F38.000", "F39.000"))
    late = {
        **facts["findings"][0],
        "rule": "bore-missed",
        "line": 99,
        "message": "bore 3 is never cut; expected it cut",
    }
    many = [{**facts["findings"][0], "message": f"feed {number}"} for number in range(50)]
    facts["findings"] = [*many, late]
    told = [row for row in rows(facts) if row.startswith("line ")]
    assert len(told) == WIDEST_FINDINGS
    assert told[-1].startswith("line 99: bore-missed")


def rows_of_several(*texts: str, programs: list[Path] | None = None, physics_only: bool = False) -> list[str]:
    verdict = verdict_of_all(SETTINGS, texts, "one-pass", physics_only=physics_only)
    return rows(summary(task_of(SETTINGS, "one-pass"), verdict, programs or [], physics_only=physics_only))


def test_several_programs_with_what_to_do_before_each() -> None:
    files = [Path(f"row-{number}.nc") for number in (1, 2, 3)]
    told = rows_of_several(*all_posted(SETTINGS, "one-pass"), programs=files)
    at = told.index("program 1 of 3: before it, set the cutter for diameter 84 mm, bore 1")
    assert told[at + 1 : at + 3] == [
        "2 of 3: before it, set the cutter for diameter 90 mm, bore 2",
        "3 of 3: before it, set the cutter for diameter 84 mm, bore 3",
    ]
    assert told[-1] == "verdict PROVED: row-1.nc, row-2.nc, row-3.nc"


def test_one_program_is_not_counted() -> None:
    for facts in (facts_of(), facts_of(walk=True), facts_of(posted(JOB).replace("F38", "F39"))):
        assert not [line for line in rows(facts) if line.startswith("program")]


def test_findings_of_several_tell_program_and_line() -> None:
    first, second, third = all_posted(SETTINGS, "one-pass")
    edit = change("X-160.500", "X-160.400")(second)
    told = rows_of_several(first, edit.text, third)
    assert f"program 2, line {edit.line}: path-differs: goes to X-160.4 Y0 Z0; expected X-160.5 Y0 Z0" in told
    assert told[-1] == "verdict NOT PROVED, 1 finding"


def test_each_program_s_findings_have_a_place_of_their_own() -> None:
    texts = [change("F38.000", "F5001")(text).text for text in all_posted(SETTINGS, "one-pass")]
    told = [line for line in rows_of_several(*texts, physics_only=True) if ": speed-out-of-range: " in line]
    assert [line.split(",")[0] for line in told] == ["program 1", "program 2", "program 3"]


def physics_only(text: str) -> list[str]:
    return rows(summary(task_of(JOB), verdict_of(JOB, text, physics_only=True), [], physics_only=True))


def test_speeds_and_feeds_of_a_program_without_its_plan_are_as_programmed() -> None:
    text = change("F38.000 (withdraw from bore 2)", "F76 (withdraw from bore 2)")(posted(JOB)).text
    told = physics_only(text.replace("S760", "S400"))
    assert told[2:5] == [
        "cutter 200 rpm, as programmed",
        "spindle 400 rpm, M4 (counterclockwise), as programmed",
        "feed 38 to 76 mm/min, 0.19 to 0.38 mm a cutter turn, as programmed",
    ]
    beware = [line for line in told if line.startswith("beware line ")]
    assert [line.split(": ")[1].split()[0] for line in beware] == ["spindle", "feed"]


def test_a_program_that_turns_both_ways_is_told_without_one() -> None:
    assert "spindle 760 rpm, as programmed" in physics_only(change("S760 M4", "S760 M3")(posted(JOB)).text)


def test_what_is_not_known_of_a_program_is_not_told() -> None:
    told = physics_only("fiddle\nM30\n")
    assert not [line for line in told if line.startswith(("cutter", "spindle", "feed"))]
    assert told[1].startswith("bores 3, ")


def test_every_end_that_is_tightest_is_named() -> None:
    low, high = (facts_of(machine={"travel": {"x": [-439.5 - 220, 100], "z": z}}) for z in ([-600, 0], [-700, 1]))
    assert "tightest: 220 mm at the low end of X and both ends of Z" in rows(low)
    assert "tightest: 220 mm at the low end of X" in rows(high)
