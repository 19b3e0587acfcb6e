"""From a job file to a proof: where each mistake is told."""

from pathlib import Path

import pytest

from gen.pipeline import begin, program_texts, prove_texts
from post.posts import FILES, shipped
from post.timeline import Halt
from post.userfile import InputError
from tests.jobs import JOB_TEXT, without_bores, write_job
from tests.programs import own_post, program_text, prove_text

LIFTED = (
    ("ratio    = 2.0", "ratio    = 1.0"),
    ('withdraw    = "feed"', 'withdraw    = "lift"\nlift = { amount = 0.3, toward = "-Z", angle = 90 }'),
)
RISING = (
    ('points   = "-X"', 'points   = "+X"'),
    ("x = [-900, 100]", "x = [-900, 600]"),
    ("face = -130", "face = 130"),
    ("face = -255", "face = 255"),
)
NUMBERED = (('units = "mm"', 'units = "mm"\nprogram_number = 10000'),)
FINE = (("rpm  = 380", "rpm  = 800"), ("feed = 0.10", "feed = 0.00004"))
"""Feeds a minute of 0.032 mm, which G94 can be told, and of 0.00002 mm a spindle turn, which G95 cannot."""
UNNUMBERED = "--post longhand, --post one-pass, --post oriented, --post per-turn"
ALL_BUT_CYCLES = f"{UNNUMBERED}, --post tape"
NEW_SETTINGS = (("width = 28\ndiameter = 84.0", "width = 28\ndiameter = 90.0"),)
"""The cutter is set anew before the second bore and before the third."""


def test_a_job_is_planned_for_its_post(tmp_path: Path) -> None:
    task = begin(write_job(tmp_path), "cycles", walk=False)
    assert (task.post.name, task.walk, task.job.name) == ("cycles", False, "Harbour pump engine, main housings")
    assert "G85" in program_text(task)


def test_a_walk_is_planned_instead(tmp_path: Path) -> None:
    task = begin(write_job(tmp_path), "longhand", walk=True)
    text = program_text(task)
    verdict = prove_text(task, text, physics_only=False, read_twice=False)
    assert verdict.proved
    assert len([event for event in verdict.timeline.events if isinstance(event, Halt)]) == 3


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        (
            ("rpm  = 380", "rpm  = 2100"),
            r"job\.toml:23: cut\.rpm: .*2100 rpm asks 4200 of the spindle .*50 to 4000 .*nearest workable is 800 rpm",
        ),
        (
            ("feed = 0.10", "feed = 20"),
            r"job\.toml:24: cut\.feed: 20 mm a cutter turn .*7600 mm/min, above 5000 mm/min",
        ),
        (
            ("width = 28\n", "width = 28\nrpm = 3\n"),
            r"job\.toml:44: bore 2, rpm: .* 3 rpm asks 6 of the spindle.*nearest workable is 25 rpm",
        ),
    ],
    ids=["speed", "feed", "a bore's own"],
)
def test_a_speed_that_cannot_be_is_told_at_its_line(tmp_path: Path, edit: tuple[str, str], says: str) -> None:
    with pytest.raises(InputError, match=says):
        begin(write_job(tmp_path, JOB_TEXT, edit), "longhand", walk=False)


def test_a_speed_that_cannot_be_does_not_stop_a_walk(tmp_path: Path) -> None:
    path = write_job(tmp_path, JOB_TEXT, ("rpm  = 380", "rpm  = 2100"))
    task = begin(path, "longhand", walk=True)
    assert prove_text(task, program_text(task), physics_only=False, read_twice=False).proved


@pytest.mark.parametrize("walk", [False, True])
def test_a_post_that_is_none_is_told(tmp_path: Path, walk: bool) -> None:
    with pytest.raises(InputError, match=r'"short" is neither a post that ships .*longhand.* nor a folder'):
        begin(write_job(tmp_path), "short", walk=walk)


@pytest.mark.parametrize(
    ("changes", "post", "says"),
    [
        (LIFTED, "longhand", r"no word for one .*; these can: --post oriented$"),
        (LIFTED, "cycles", r"no fixed cycle lifts .*; these can: --post oriented$"),
        (RISING, "cycles", rf"toward -X only, .*toward \+X; these can: {ALL_BUT_CYCLES}$"),
        (NUMBERED, "tape", rf"number 10000 has more than the 4 digits .*; these can: --post cycles, {UNNUMBERED}$"),
        ((*NUMBERED, *LIFTED), "tape", r"number 10000 has more than .*; these can: --post oriented$"),
        ((*NUMBERED, *RISING), "cycles", rf"toward -X only, .*; these can: {UNNUMBERED}$"),
        (
            (*FINE, *RISING),
            "cycles",
            "toward -X only, .*; these can: --post longhand, --post one-pass, --post oriented, --post tape$",
        ),
    ],
    ids=[
        "lift, longhand",
        "lift, cycles",
        "+X, cycles",
        "number, tape",
        "number and lift, tape",
        "number and +X, cycles",
        "a feed too fine for per-turn and +X, cycles",
    ],
)
def test_what_a_post_cannot_express_is_refused_with_those_that_can(
    tmp_path: Path, changes: tuple[tuple[str, str], ...], post: str, says: str
) -> None:
    task = begin(write_job(tmp_path, JOB_TEXT, *changes), post, walk=False)
    with pytest.raises(InputError, match=rf'job\.toml: the post "{post}" cannot express this job: .*{says}'):
        program_text(task)


def test_a_post_of_one_s_own_is_refused_with_those_that_ship(tmp_path: Path) -> None:
    name = own_post(tmp_path / "ours", "longhand", ("refuses = []", 'refuses = ["G55"]'))
    task = begin(write_job(tmp_path, JOB_TEXT, ('"G54"', '"G55"')), name, walk=False)
    says = (
        rf'post "ours" cannot .*: the job\'s work offset is G55, which .*; these can: --post cycles, {ALL_BUT_CYCLES}$'
    )
    with pytest.raises(InputError, match=says):
        program_text(task)


def test_a_job_with_three_settings_is_three_programs_where_stops_tell_nothing(tmp_path: Path) -> None:
    path = write_job(tmp_path, JOB_TEXT, *NEW_SETTINGS)
    task = begin(path, "one-pass", walk=False)
    texts = program_texts(task)
    assert (len(task.plans), len(texts)) == (3, 3)
    for part, text in enumerate(texts, 1):
        assert f"(Program {part} of 3, " in text
        assert f"(bore {part}: diameter" in text
        assert "M0" not in text
        assert text.endswith("M30\n")
    assert prove_texts(task, texts, physics_only=False, read_twice=False).proved
    assert len(begin(path, "longhand", walk=False).plans) == 1
    assert len(begin(path, "one-pass", walk=True).plans) == 1
    assert len(begin(write_job(tmp_path), "one-pass", walk=False).plans) == 1


@pytest.mark.parametrize("given", [0, 1, 2, 4])
def test_as_many_programs_are_proved_as_the_post_writes(tmp_path: Path, given: int) -> None:
    task = begin(write_job(tmp_path, JOB_TEXT, *NEW_SETTINGS), "one-pass", walk=False)
    texts = [*program_texts(task), "M30\n"][:given]
    says = rf'job\.toml: the post "one-pass" writes 3 programs for this job, to be proved together; {given} given$'
    with pytest.raises(InputError, match=says):
        prove_texts(task, texts, physics_only=False, read_twice=False)


def test_physics_alone_takes_any_number_of_programs(tmp_path: Path) -> None:
    path = write_job(tmp_path, JOB_TEXT, *NEW_SETTINGS)
    parted, whole = (begin(path, name, walk=False) for name in ("one-pass", "longhand"))
    assert prove_texts(whole, program_texts(parted), physics_only=True, read_twice=False).proved
    assert prove_texts(parted, program_texts(whole), physics_only=True, read_twice=False).proved


def test_programs_are_numbered_on_from_the_job_s(tmp_path: Path) -> None:
    name = own_post(tmp_path / "ours", "tape", ('new_setting = "stop"', 'new_setting = "file"'))
    for told, number in (((), 1), ((('units = "mm"', 'units = "mm"\nprogram_number = 1201'),), 1201)):
        task = begin(write_job(tmp_path, JOB_TEXT, *NEW_SETTINGS, *told), name, walk=False)
        lines = [text.split("\r\n")[1] for text in program_texts(task)]
        assert lines == [f"O{number + part:04d}" for part in range(3)]


def test_a_number_that_only_the_last_program_cannot_have_is_refused(tmp_path: Path) -> None:
    name = own_post(tmp_path / "ours", "tape", ('new_setting = "stop"', 'new_setting = "file"'))
    numbered = ('units = "mm"', 'units = "mm"\nprogram_number = 9998')
    task = begin(write_job(tmp_path, JOB_TEXT, *NEW_SETTINGS, numbered), name, walk=False)
    with pytest.raises(InputError, match="the program's number 10000 has more than the 4 digits"):
        program_texts(task)


def test_a_task_names_every_file_it_was_made_from(tmp_path: Path) -> None:
    name = own_post(tmp_path / "ours", "longhand")
    path = write_job(tmp_path, without_bores(), table="name,face,width,diameter\n1,0,32,84\n")
    files = [tmp_path / "job.toml", tmp_path / "bores.csv", *(tmp_path / "ours" / file for file in FILES)]
    assert begin(path, name, walk=False).inputs == files


def test_every_post_can_walk_what_it_cannot_bore(tmp_path: Path) -> None:
    path = write_job(tmp_path, JOB_TEXT, *LIFTED)
    for name in shipped():
        task = begin(path, name, walk=True)
        assert prove_text(task, program_text(task), physics_only=False, read_twice=False).proved


def test_a_folder_of_one_s_own_is_a_post(tmp_path: Path) -> None:
    name = own_post(tmp_path / "ours", "cycles", ('"G85", ', ""))
    task = begin(write_job(tmp_path), name, walk=False)
    assert task.post.name == "ours"
    says = r'post "ours" cannot .*: bore 2 needs the fixed cycle G85, .*these can: --post cycles, '
    with pytest.raises(InputError, match=says):
        program_text(task)


def test_physics_only_leaves_out_agreement(tmp_path: Path) -> None:
    task = begin(write_job(tmp_path), "longhand", walk=False)
    edited = program_text(task).replace("S760 M4", "S800 M4")
    assert not prove_text(task, edited, physics_only=False, read_twice=False).proved
    assert prove_text(task, edited, physics_only=True, read_twice=False).proved
