import errno
import os
import stat
from pathlib import Path
from typing import Any

import pytest

from gen.release import check_free, release
from tests.jobs import told

TEXT = "G21\nM30\n"


def names(folder: Path) -> list[str]:
    return sorted(entry.name for entry in folder.iterdir())


def failing(code: int) -> Any:
    """A system call that fails."""

    def fail(*_: object, **__: object) -> None:
        raise OSError(code, os.strerror(code))

    return fail


@pytest.mark.parametrize("force", [True, False])
def test_a_new_file_is_put_in_place_and_nothing_else(tmp_path: Path, force: bool) -> None:
    path = tmp_path / "job.nc"
    release({path: TEXT}, force=force)
    assert path.read_bytes() == b"G21\nM30\n"
    assert names(tmp_path) == ["job.nc"]


def test_a_new_file_may_be_read_as_the_system_s_mask_allows(tmp_path: Path) -> None:
    mask = os.umask(0o022)
    try:
        release({tmp_path / "job.nc": TEXT}, force=False)
    finally:
        os.umask(mask)
    assert stat.S_IMODE((tmp_path / "job.nc").stat().st_mode) == 0o644


def test_a_file_that_is_there_stays_without_force(tmp_path: Path) -> None:
    path = tmp_path / "job.nc"
    path.write_text("old", encoding="ascii")
    assert told(lambda: release({path: TEXT}, force=False)) == (
        f"{path}: this file exists already; give --force to replace it, or another path"
    )
    assert path.read_text(encoding="ascii") == "old"
    assert names(tmp_path) == ["job.nc"]


def test_a_file_that_is_there_is_replaced_with_force(tmp_path: Path) -> None:
    path = tmp_path / "job.nc"
    path.write_text("old, and longer than the new one", encoding="ascii")
    release({path: TEXT}, force=True)
    assert path.read_text(encoding="ascii") == TEXT
    assert names(tmp_path) == ["job.nc"]


@pytest.mark.parametrize("force", [True, False])
def test_a_folder_is_never_replaced(tmp_path: Path, force: bool) -> None:
    (tmp_path / "job.nc").mkdir()
    path = tmp_path / "job.nc"
    for action in (lambda: release({path: TEXT}, force=force), lambda: check_free(path, force=force)):
        assert told(action) == f"{path}: this is a folder; give the path of a file, e.g. --out program.nc"
    assert (tmp_path / "job.nc").is_dir()


@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_full_disk_leaves_the_old_file_and_no_stray_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    path = tmp_path / "job.nc"
    path.write_text("old", encoding="ascii")
    monkeypatch.setattr(os, call, failing(errno.ENOSPC))
    assert told(lambda: release({path: TEXT}, force=True)) == (
        f"{path}: this file cannot be written (No space left on device); nothing was changed"
    )
    assert path.read_text(encoding="ascii") == "old"
    assert names(tmp_path) == ["job.nc"]


@pytest.mark.parametrize("call", ["fsync", "link"])
def test_a_full_disk_leaves_no_new_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str) -> None:
    monkeypatch.setattr(os, call, failing(errno.ENOSPC))
    message = told(lambda: release({tmp_path / "job.nc": TEXT}, force=False))
    assert "cannot be written (No space left on device); nothing was changed" in message
    assert names(tmp_path) == []


def test_a_folder_that_may_not_be_written_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests may run as root, whom no permission stops; the system's answer is put in its place."""
    monkeypatch.setattr(os, "open", failing(errno.EACCES))
    assert "cannot be written (Permission denied); nothing was changed" in told(
        lambda: release({tmp_path / "job.nc": TEXT}, force=False)
    )
    assert names(tmp_path) == []


def test_a_path_below_a_file(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="ascii")
    path = tmp_path / "file" / "job.nc"
    assert told(lambda: release({path: TEXT}, force=False)) == (
        f"{path}: this file cannot be written (Not a directory); nothing was changed"
    )


def test_a_folder_that_is_not_there_is_not_made(tmp_path: Path) -> None:
    path = tmp_path / "no" / "job.nc"
    assert told(lambda: release({path: TEXT}, force=True)) == (
        f"{path}: there is no folder {tmp_path / 'no'}; make it first"
    )
    assert names(tmp_path) == []


@pytest.mark.parametrize("length", [256, 300])
def test_a_name_too_long_for_the_system(tmp_path: Path, length: int) -> None:
    path = tmp_path / ("a" * length)
    assert "cannot be written (File name too long)" in told(lambda: release({path: TEXT}, force=False))
    assert names(tmp_path) == []


def test_a_file_that_appears_meanwhile_is_not_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.nc"
    flush = os.fsync

    def another_is_quicker(descriptor: int) -> None:
        flush(descriptor)
        path.write_text("another's", encoding="ascii")

    monkeypatch.setattr(os, "fsync", another_is_quicker)
    assert told(lambda: release({path: TEXT}, force=False)) == (
        f"{path}: this file has just been made by another; give --force to replace it"
    )
    assert path.read_text(encoding="ascii") == "another's"
    assert names(tmp_path) == ["job.nc"]


def test_a_stick_that_knows_no_links_still_takes_a_new_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """link(2) answers EPERM on FAT, as most sticks that carry programs to a control are formatted."""
    monkeypatch.setattr(os, "link", failing(errno.EPERM))
    path = tmp_path / "job.nc"
    release({path: TEXT}, force=False)
    assert path.read_text(encoding="ascii") == TEXT
    assert names(tmp_path) == ["job.nc"]


def test_a_stick_that_knows_no_links_keeps_a_file_that_appears_meanwhile(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "job.nc"

    def another_is_quicker(*_: object) -> None:
        path.write_text("another's", encoding="ascii")
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", another_is_quicker)
    assert "has just been made by another" in told(lambda: release({path: TEXT}, force=False))
    assert path.read_text(encoding="ascii") == "another's"
    assert names(tmp_path) == ["job.nc"]


def test_an_unfinished_file_that_cannot_be_taken_away_is_left_to_the_next_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "job.nc"
    with monkeypatch.context() as patched:
        patched.setattr(os, "unlink", failing(errno.ENOSPC))
        release({path: TEXT}, force=False)
    assert path.read_text(encoding="ascii") == TEXT
    assert len(names(tmp_path)) == 2
    release({path: TEXT}, force=True)
    assert names(tmp_path) == ["job.nc"]


def test_a_link_that_leads_nowhere_counts_as_a_file_that_is_there(tmp_path: Path) -> None:
    path = tmp_path / "job.nc"
    path.symlink_to(tmp_path / "nowhere")
    assert "exists already" in told(lambda: check_free(path, force=False))
    assert path.is_symlink()


def test_a_pipe_or_a_device_is_never_replaced(tmp_path: Path) -> None:
    """As root, replacing /dev/null by a file would break the machine."""
    path = tmp_path / "pipe"
    os.mkfifo(path)
    for force in (False, True):
        told(lambda force=force: release({path: TEXT}, force=force))  # type: ignore[misc]
    assert path.is_fifo()
    assert names(tmp_path) == ["pipe"]


def test_a_free_path_is_told_free(tmp_path: Path) -> None:
    check_free(tmp_path / "job.nc", force=False)
    (tmp_path / "job.nc").write_text("", encoding="ascii")
    check_free(tmp_path / "job.nc", force=True)
    assert names(tmp_path) == ["job.nc"]
