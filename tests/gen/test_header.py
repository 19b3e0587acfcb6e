import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.header import AT_STOPS, BETWEEN, CAUTIONS, REJECTED, fingerprint, header, rejected
from gen.unchecked import UNCHECKED
from post.dialect import Lines
from post.posts import LIBRARY, Post, find, shipped
from post.reader import read
from post.writer import write
from tests.jobs import INCH_TEXT, LIFT, job_datas, job_of, make_job
from tests.programs import SETTINGS, all_posted, posted, task_of

LONGHAND = find("longhand")


def said(job_header: list[str]) -> str:
    return " ".join(job_header)


def test_a_header_says_what_the_program_is_and_assumes() -> None:
    lines = header(make_job(), LONGHAND, walk=False)
    text = said(lines)
    assert lines[0] == "Job: Harbour pump engine, main housings"
    assert f"Post longhand, fingerprint of job and post {fingerprint(make_job(), LONGHAND, walk=False)}" in text
    assert "Lengths in mm. Program zero: G54, at machine X-150 Y0 Z-380" in text
    assert "Tool length offset: none." in text
    assert "bar points -X" in text
    assert "2 spindle turns" in text
    assert "opposite to the spindle" in text
    assert "right-hand" in text
    assert "M4" in text
    assert "set for diameter 84 mm to begin with." in text


def test_an_inch_header_is_in_inches() -> None:
    text = said(header(make_job(INCH_TEXT), LONGHAND, walk=False))
    assert "Lengths in inches. Program zero: G55, at machine X-20 Y0 Z-15" in text
    assert "set for diameter 3.3125 in to begin with." in text
    assert "opposite" not in text
    assert "M3" in text


@pytest.mark.parametrize("walk", [True, False])
@pytest.mark.parametrize("name", list(shipped()))
def test_the_cautions_and_what_is_not_checked_stand_in_every_program(name: str, walk: bool) -> None:
    post = find(name)
    text = said(header(make_job(), post, walk=walk))
    for caution in CAUTIONS:
        assert post.dialect.comment(caution) in text
    for gap in UNCHECKED:
        assert post.dialect.comment(f"Not checked: {gap}.") in text
    text = said(header(make_job(), LONGHAND, walk=walk))
    for word in ("dry run", "single block", "rapid override low", "Guards shut", "clear of the right-angle head"):
        assert word in text
    assert "Local rules and the makers' manuals of mill, head and cutter come first." in text


def test_a_walk_says_that_it_is_one_and_asks_for_no_cutter() -> None:
    text = said(header(make_job(), LONGHAND, walk=True))
    assert "the spindle never turns" in text
    assert "diameter" not in text
    assert "the spindle never turns" not in said(header(make_job(), LONGHAND, walk=False))


def test_a_walk_says_when_the_indicator_is_to_be_off() -> None:
    told = "Put the indicator on at a stop only; take it off before cycle start: the proof does not count it."
    assert told in said(header(make_job(), LONGHAND, walk=True))
    assert "indicator" not in said(header(make_job(), LONGHAND, walk=False))


def test_a_fingerprint_is_twelve_hexadecimal_digits_that_stay() -> None:
    one = fingerprint(make_job(), LONGHAND, walk=False)
    assert re.fullmatch(r"[0-9a-f]{12}", one)
    assert fingerprint(make_job(), LONGHAND, walk=False) == one


def other_post(folder: Path, name: str, change: str) -> Post:
    """A copy of longhand with one of its files changed by a blank comment."""
    folder.mkdir()
    for source in (LIBRARY / "longhand").iterdir():
        (folder / source.name).write_bytes(source.read_bytes())
    (folder / name).write_text((folder / name).read_text(encoding="utf-8") + change, encoding="utf-8")
    return find(str(folder))


def test_a_fingerprint_changes_with_job_post_and_kind(tmp_path: Path) -> None:
    job = make_job()
    prints = [
        fingerprint(job, LONGHAND, walk=False),
        fingerprint(job, LONGHAND, walk=True),
        fingerprint(job, find("oriented"), walk=False),
        fingerprint(make_job(cut={"feed": 0.101}), LONGHAND, walk=False),
        fingerprint(make_job(name="Another"), LONGHAND, walk=False),
        fingerprint(make_job(machine={"zero": {"x": -150.001}}), LONGHAND, walk=False),
        fingerprint(job, other_post(tmp_path / "a", "program.j2", "{# #}"), walk=False),
        fingerprint(job, other_post(tmp_path / "b", "dialect.toml", "# \n"), walk=False),
    ]
    assert len(set(prints)) == len(prints)


def test_a_fingerprint_changes_with_a_centre_where_there_are_passes_only() -> None:
    """Without passes no program follows from it, nor from the line that is wanted."""

    def print_of(centre: list[float] | None, **changes: object) -> str:
        bore = {"face": 0, "width": 30, "diameter": 84.0, "measured": [83.0, 83.0]}
        told = bore if centre is None else {**bore, "centre": centre}
        return fingerprint(make_job(bore=[told], **changes), LONGHAND, walk=False)

    passes = {"depth": 0.3, "finish_stock": 0.1}
    prints = {print_of(centre, passes=passes) for centre in (None, [0.0, 0.03], [0.03, 0.0])}
    assert len(prints) == 3
    assert print_of([0.0, 0.03]) == print_of(None) == print_of(None, line={"stock": 0.03})


def test_a_fingerprint_does_not_change_with_where_the_post_lies(tmp_path: Path) -> None:
    copy = other_post(tmp_path / "longhand", "program.j2", "")
    assert fingerprint(make_job(), copy, walk=False) == fingerprint(make_job(), LONGHAND, walk=False)


def test_remarks_are_short_enough_for_the_control() -> None:
    narrow = LONGHAND.dialect.model_copy(update={"lines": Lines(length=40)})
    post = Post("longhand", narrow, LONGHAND.dialect_path, LONGHAND.template)
    lines = header(make_job(name="W" * 120), post, walk=False)
    assert max(len(line) for line in lines) <= 38
    assert "".join(lines[:4]) == "Job: " + "W" * 120


@settings(max_examples=40)
@given(job_datas(names=st.text(max_size=30)), st.booleans())
def test_no_name_breaks_out_of_a_comment_in_the_posted_program(data: dict[str, object], walk: bool) -> None:
    """The words a control reads, comments left out, are those of the same job under plain names."""
    job = job_of(data)
    plain = job.model_copy(
        update={
            "name": "plain",
            "bore": tuple(bore.model_copy(update={"name": str(n)}) for n, bore in enumerate(job.bore, 1)),
        }
    )
    post = find("oriented")
    program, same = posted(job, "oriented", walk=walk), posted(plain, "oriented", walk=walk)
    assert program.isascii()
    assert max(map(len, program.split("\n"))) <= post.dialect.lines.length
    words = [[block.words for block in read(text, post.dialect) if block.words] for text in (program, same)]
    assert [block.finding for block in read(program, post.dialect) if block.finding] == []
    assert words[0] == words[1]


@pytest.mark.parametrize(
    "name",
    [
        "1) G0 Z-50 (",
        "1)\nG0 Z-50\n(",
        "1\r\nM3",
        '2" {{ 7 * 7 }} {% raw %}',
        "\uff09 G0 Z-50 \uff08",
        "\u2028G0 Z-50",
        "%",
        "; M3",
        "a\x00\x1a\x7f",
        "\\N) G0",
    ],
)
def test_names_meant_to_break_out(name: str) -> None:
    bores = [
        {"name": name, "face": 0, "width": 32, "diameter": 84},
        {"name": f"{name} 2", "face": -120, "width": 32, "diameter": 85},
    ]
    job = make_job(name=name, bore=bores)
    plain = make_job(bore=[{**bore, "name": str(number)} for number, bore in enumerate(bores)])
    for walk in (False, True):
        texts = [posted(one, walk=walk) for one in (job, plain)]
        words = [[block.words for block in read(text, LONGHAND.dialect) if block.words] for text in texts]
        assert words[0] == words[1]
        assert texts[0].isascii()


def test_remarks_are_short_enough_for_a_screen_and_lengths_for_a_person() -> None:
    job = make_job(
        name="W" * 120, machine={"zero": {"x": -1000 / 3}}, bore=[{"face": 0, "width": 9, "diameter": 200 / 3}]
    )
    lines = header(job, LONGHAND, walk=False)
    assert max(len(line) for line in lines) == 100
    assert "X-333.3333 Y0 " in said(lines)
    assert "diameter 66.6667 " in said(lines)


def test_the_same_job_makes_the_same_bytes() -> None:
    tasks = [task_of(make_job()) for _ in range(2)]
    one, other = (
        write(task.plans[0], header(task.job, task.post, walk=False), task.post.dialect, task.post.template)
        for task in tasks
    )
    assert one == other


def test_each_of_several_programs_says_which_it_is_and_what_to_do_before_it() -> None:
    one_pass = find("one-pass")
    texts = [said(header(SETTINGS, one_pass, walk=False, part=part, parts=3)) for part in (1, 2, 3)]
    for number, (text, diameter) in enumerate(zip(texts, ("84", "90", "84"), strict=True), 1):
        before = f"set the cutter for diameter {diameter} mm, bore {number}"
        assert f"Program {number} of 3, to be run in order. Before this one: {before}." in text
        assert "Cutter: right-hand, so M4. " in text
        assert text.count(f"diameter {diameter} mm") == 1
        assert "stop," not in text
        assert BETWEEN in text
    prints = {text.split("fingerprint of job and post ")[1].split(" ")[0] for text in texts}
    assert prints == {fingerprint(SETTINGS, one_pass, walk=False)}


def test_a_program_that_is_all_there_is_counts_no_parts() -> None:
    for job in (make_job(), SETTINGS):
        assert "Program 1 of" not in said(header(job, LONGHAND, walk=False))


def test_where_the_operator_reaches_in_he_is_told_how() -> None:
    assert AT_STOPS in said(header(SETTINGS, LONGHAND, walk=False))
    assert AT_STOPS in said(header(make_job(), LONGHAND, walk=True))
    assert AT_STOPS not in said(header(make_job(), LONGHAND, walk=False))


def test_codes_taken_on_trust_stand_in_the_head() -> None:
    post = LONGHAND._replace(dialect=LONGHAND.dialect.model_copy(update={"on_trust": frozenset({"G69", "M80"})}))
    told = "Not checked: what G69, M80 does: the post says that it changes no motion."
    assert told in said(header(make_job(), post, walk=False))
    assert "G69" not in said(header(make_job(), LONGHAND, walk=False))


def test_a_rejected_program_cannot_be_run_and_keeps_its_lines_where_it_can() -> None:
    assert rejected("(Job: a)\nG21\n") == f"{REJECTED}\nG21\n"
    assert rejected("; Job: a\nG21\n") == f"{REJECTED}\nG21\n"
    assert rejected("%\nG21\n%\n") == f"{REJECTED}\nG21\n%\n"
    assert rejected("G21\nM30\n") == f"{REJECTED}\nG21\nM30\n"


@pytest.mark.parametrize("name", list(shipped()))
def test_no_post_reads_a_rejected_program(name: str) -> None:
    dialect = find(name).dialect
    for text in all_posted(SETTINGS if name == "one-pass" else make_job(), name):
        findings = [block.finding for block in read(rejected(text), dialect) if block.finding]
        assert ("unreadable", REJECTED) in {(finding.rule, finding.text.rstrip()) for finding in findings}


@pytest.mark.parametrize("name", list(shipped()))
def test_rapids_that_must_run_straight_are_told_with_what_to_do_instead(name: str) -> None:
    post, lift = find(name), {"withdraw": "lift", "lift": {**LIFT, "toward": 30}}
    must = "Rapids must run straight in all axes at once, no dogleg: try it above the block first; else "
    slanted, lifted = (make_job(head={"ratio": 1}, path=path) for path in ({"leave_angle": 5}, lift))
    both = make_job(head={"ratio": 1}, path={"leave_angle": 5, **lift})
    comment, way, bar = post.dialect.comment, "use leave_angle = 0", "lift along Y or Z alone"
    assert comment(f"{must}{way}.") in said(header(slanted, post, walk=False))
    assert comment(f"{must}{bar}.") in said(header(lifted, post, walk=False))
    assert comment(f"{must}{way} and {bar}.") in said(header(both, post, walk=False))
    assert comment(f"{must}{way}.") in said(header(both, post, walk=True))
    for job, walk in ((lifted, True), (make_job(), False)):
        assert comment("Rapids must") not in said(header(job, post, walk=walk))


@pytest.mark.parametrize("name", list(shipped()))
def test_every_post_has_room_for_what_a_walk_says_at_a_bore_of_the_longest_name(name: str) -> None:
    job = make_job(bore=[{"name": "W" * 40, "face": 0, "width": 32, "diameter": 84}])
    assert "cycle start" in posted(job, name, walk=True).lower().split("m0 ")[1]
