import re
from typing import Any

import pytest

from gen.header import settings_told
from gen.job import Job
from gen.remarks import remarks
from post.dialect import Dialect
from post.finding import Finding
from post.posts import find, shipped
from post.reader import read
from tests.jobs import make_job
from tests.programs import SETTINGS, able, all_posted, change, posted, prove_edited, verdict_of

JOB = make_job()
LONGHAND = find("longhand").dialect
CUTTER = "Cutter: right-hand, so M4; set for diameter 84 mm to begin with."


def found(text: str, job: Job = JOB, dialect: Dialect = LONGHAND, **told: Any) -> list[Finding]:
    blocks = [block for block in read(text, dialect) if block.comment is not None or block.words]
    return list(remarks(blocks, job, dialect, **{"walk_through": False, **told}))


def with_comments(**comments: Any) -> Dialect:
    return Dialect.model_validate({**LONGHAND.model_dump(), "comments": comments})


def test_the_setting_that_a_program_begins_with_must_be_told_before_its_first_block() -> None:
    assert found(f"({CUTTER})\nG21") == []
    assert found(f"G21\n({CUTTER})")[0].line == 1
    (finding,) = found("(bore 1)\nG21 (x)\nG0 X1")
    assert finding == Finding(
        "remark-differs",
        2,
        "G21 (x)",
        "the first block with the cutter's setting not told",
        f'before it the remark "{CUTTER}"',
    )


def test_a_walk_through_cuts_nothing_and_tells_no_setting() -> None:
    assert found("G21", walk_through=True) == []


def test_long_remarks_stand_in_their_order() -> None:
    narrow = Dialect.model_validate({**LONGHAND.model_dump(), "lines": {"length": 40}})
    lines = settings_told(JOB, narrow)
    assert len(lines) > 1
    text = [f"({line})" for line in lines]
    assert found("\n".join([*text, "G21"]), dialect=narrow) == []
    assert found("\n".join([*reversed(text), "G21"]), dialect=narrow) != []


@pytest.mark.parametrize(
    "said",
    [
        "set the cutter for diameter 94 mm, bore 1",
        "SET THE  CUTTER to diameter 83.900 mm",
        "right-hand; Set For 94",
        "now set to 84.2",
        "tool set 91 mm",
        "bar and tip as planned, or gauge every bore first and set as size tells, bore 9.",
        CUTTER.replace("84", "94"),
        CUTTER.replace("M4", "M3"),
    ],
)
def test_another_setting_told_anywhere_is_told(said: str) -> None:
    for text, line in ((f"({said})\n({CUTTER})\nG21", 1), (f"({CUTTER})\nG21\nG0 X1 ({said})", 3)):
        assert [(one.rule, one.line, one.expected) for one in found(text)] == [
            ("remark-differs", line, "no setting but those that are planned")
        ]


@pytest.mark.parametrize("said", ["bore 2: diameter 90 mm", "what size the cutter is set to", "offset 4", "tool 5"])
def test_remarks_that_tell_no_setting_are_free(said: str) -> None:
    assert found(f"({CUTTER})\n({said})\nG21 ({said})") == []


def test_names_may_hold_the_word() -> None:
    job = make_job(name="Set 4 of housings", bore=[{"name": "set 1", "face": 0, "width": 30, "diameter": 84.0}])
    assert verdict_of(job, posted(job)).proved
    said = posted(job).replace("(bore set 1: diameter", "(bore set 1: set to diameter")
    assert [finding.rule for finding in verdict_of(job, said).findings] == ["remark-differs"]


@pytest.mark.parametrize("stop", ["M0", "M1", "M5 M0"])
def test_a_message_belongs_to_a_stop(stop: str) -> None:
    assert found(f"({CUTTER})\nG21\n{stop} (MSG, set the cutter to 5)") == []
    for line in ("(msg, gauge it)", "M5 (MSG, gauge it)"):
        assert [(one.line, one.found) for one in found(f"({CUTTER})\nG21\n{line}\nM0")] == [
            (3, "a message that belongs to no stop")
        ]


@pytest.mark.parametrize(
    "line",
    [
        "M0 (set the cutter to 91) (MSG, set the cutter to 5)",
        "G0 X1 (MSG, set the cutter to 91) (over bore 1)",
        "G0 X1 (set the cutter to 91) ()",
        "(over bore 1) (up from bore 2)",
    ],
)
def test_a_line_has_one_remark(line: str) -> None:
    several = (3, "several remarks on one line, of which a control may show any")
    assert several in [(one.line, one.found) for one in found(f"({CUTTER})\nG21\n{line}\nM5")]
    text = posted(SETTINGS)
    for old, new in (("M0 (", "M0 (set the cutter to 91) ("), ("M5 (", "M5 () ("), ("(Cutter", "(set 91) (Cutter")):
        findings = verdict_of(SETTINGS, text.replace(old, new, 1)).findings
        assert [finding.rule for finding in findings] == ["remark-differs"]


def test_a_semicolon_makes_one_remark_of_all_behind_it() -> None:
    assert found(f"; {CUTTER}\nG21 ; over (bore) 1; (twice)", dialect=with_comments(form="semicolon")) == []


def test_comments_are_the_control_s_own() -> None:
    loud, after = with_comments(capitals=True), with_comments(form="semicolon")
    assert found(f"({CUTTER.upper()})\nG21", dialect=loud) == []
    assert found(f"; {CUTTER}\nG21", dialect=after) == []
    assert found(f"; {CUTTER.replace('84', '94')}\nG21", dialect=after) != []
    none = Dialect.model_validate({**LONGHAND.model_dump(), "comments": {"form": "none"}, "new_setting": "file"})
    assert found("G21", dialect=none) == []


def test_each_of_several_programs_tells_its_own() -> None:
    lines = [settings_told(SETTINGS, LONGHAND, part=part, parts=2) for part in (1, 2)]
    assert lines[0] != lines[1]
    text = "\n".join([*(f"({line})" for line in lines[1]), "G21"])
    assert found(text, SETTINGS, part=2, parts=2) == []
    assert found(text, SETTINGS, part=1, parts=2) != []


@pytest.mark.parametrize("name", list(shipped()))
def test_a_digit_of_the_setting_in_the_head_is_proved_under_every_post(name: str) -> None:
    wrong, changes = re.subn("84(?= mm to begin with)", "85", posted(JOB, name), flags=re.IGNORECASE)
    assert changes == 1
    assert "remark-differs" in {finding.rule for finding in verdict_of(JOB, wrong, name).findings}


def test_moves_in_machine_coordinates_above_the_row_are_for_programs_without_a_plan() -> None:
    edit = change("G0 X-127.000 Y0.000 Z160.000 (over bore 2)", "G0 G53 X-277 Y0 Z-220")
    assert prove_edited(JOB, edit, physics_only=True)[1] == []
    assert [finding.rule for finding in prove_edited(JOB, edit)[1]] == ["offset-differs"]


@pytest.mark.parametrize("name", list(shipped()))
@pytest.mark.parametrize("job", [JOB, SETTINGS])
def test_a_program_of_the_other_kind_is_told_as_one_before_all_else(name: str, job: Job) -> None:
    if name not in able(job) or len(all_posted(job, name)) > 1:
        return  # several programs are no walk-through: their number is refused
    bores, walk = posted(job, name), posted(job, name, walk=True)
    no_bore = verdict_of(job, walk, name).findings[0]
    assert (no_bore.rule, no_bore.found, no_bore.expected) == (
        "remark-differs",
        "a remark that says that this is a walk-through",
        "a program that bores, or --walk",
    )
    no_walk = verdict_of(job, bores, name, walk=True).findings[0]
    assert no_walk.rule == "remark-differs"
    assert no_walk.found.endswith("the program bores")
    assert no_walk.expected == "a walk-through; leave out --walk for a program that bores"


def test_the_other_kind_is_told_once_and_only_by_opening_remarks() -> None:
    walk = "(Walk-through: visits the start of every bore and stops there; the spindle never turns.)"
    assert [finding.line for finding in found(f"({CUTTER})\n{walk}\nG21")] == [2]
    assert found(f"({CUTTER})\nG21\n{walk}") == []
    assert [finding.line for finding in found(f"({CUTTER})\nG21", walk_through=True)] == [1]
    assert found(f"{walk}\nG21", walk_through=True) == []
