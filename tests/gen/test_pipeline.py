"""From a job file to a proof: where each mistake is told."""

from pathlib import Path
from shutil import copytree

import pytest

from gen.pipeline import begin, program_text, prove_text
from post.posts import LIBRARY, shipped
from post.timeline import Halt
from post.userfile import InputError
from tests.jobs import JOB_TEXT, write_job

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
        (RISING, "cycles", r"toward -X only, .*toward \+X; these can: --post longhand, --post oriented$"),
    ],
    ids=["lift, longhand", "lift, cycles", "+X, cycles"],
)
def test_what_a_post_cannot_express_is_refused_with_those_that_can(
    tmp_path: Path, changes: tuple[tuple[str, str], ...], post: str, says: str
) -> None:
    task = begin(write_job(tmp_path, JOB_TEXT, *changes), post, walk=False)
    with pytest.raises(InputError, match=rf'job\.toml: the post "{post}" cannot express this job: .*{says}'):
        program_text(task)


def test_every_post_can_walk_what_it_cannot_bore(tmp_path: Path) -> None:
    path = write_job(tmp_path, JOB_TEXT, *LIFTED)
    for name in shipped():
        task = begin(path, name, walk=True)
        assert prove_text(task, program_text(task), physics_only=False, read_twice=False).proved


def test_a_folder_of_one_s_own_is_a_post(tmp_path: Path) -> None:
    copytree(LIBRARY / "cycles", tmp_path / "ours")
    dialect = tmp_path / "ours" / "dialect.toml"
    dialect.write_text(dialect.read_text(encoding="utf-8").replace('"G85", ', ""), encoding="utf-8")
    task = begin(write_job(tmp_path), str(tmp_path / "ours"), walk=False)
    assert task.post.name == "ours"
    says = r'post "ours" cannot .*: bore 2 needs the fixed cycle G85, .*these can: --post cycles, '
    with pytest.raises(InputError, match=says):
        program_text(task)


def test_physics_only_leaves_out_agreement(tmp_path: Path) -> None:
    task = begin(write_job(tmp_path), "longhand", walk=False)
    edited = program_text(task).replace("S760 M4", "S800 M4")
    assert not prove_text(task, edited, physics_only=False, read_twice=False).proved
    assert prove_text(task, edited, physics_only=True, read_twice=False).proved
