"""Several files released together or not at all, whatever the system answers."""

import errno
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import pytest

from gen.release import places, release
from tests.jobs import told

NEW: Final = ("G21\nM30\n", "G20\nM30\n", "G90\nM30\n")
OLD: Final = ("old 1, and longer than the new one", "old 2", "old 3")


def rows(folder: Path) -> list[Path]:
    return [folder / f"row-{number}.nc" for number in (1, 2, 3)]


def put(folder: Path, *olds: str | None) -> None:
    for path, old in zip(rows(folder), olds, strict=True):
        if old is not None:
            path.write_text(old, encoding="ascii")


def standing(folder: Path) -> dict[str, str]:
    """Every file of a folder, hidden ones too, with its text."""
    return {path.name: path.read_text(encoding="ascii") for path in sorted(folder.iterdir())}


def named(*texts: str) -> dict[str, str]:
    return {f"row-{number}.nc": text for number, text in enumerate(texts, 1)}


def all_new(folder: Path) -> dict[Path, str]:
    return dict(zip(rows(folder), NEW, strict=True))


@pytest.mark.parametrize("force", [True, False])
def test_new_files_are_put_in_place_together_and_nothing_else(tmp_path: Path, force: bool) -> None:
    release(all_new(tmp_path), force=force)
    assert standing(tmp_path) == named(*NEW)


@pytest.mark.parametrize("olds", [OLD, (OLD[0], None, OLD[2]), (None, None, OLD[2])])
def test_files_that_are_there_are_replaced_with_force(tmp_path: Path, olds: tuple[str | None, ...]) -> None:
    put(tmp_path, *olds)
    release(all_new(tmp_path), force=True)
    assert standing(tmp_path) == named(*NEW)


@pytest.mark.parametrize("at", [0, 1, 2])
def test_one_file_that_is_there_keeps_all_from_being_written_without_force(tmp_path: Path, at: int) -> None:
    put(tmp_path, *(OLD[number] if number == at else None for number in range(3)))
    before = standing(tmp_path)
    assert told(lambda: release(all_new(tmp_path), force=False)) == (
        f"{rows(tmp_path)[at]}: this file exists already; give --force to replace it, or another path"
    )
    assert standing(tmp_path) == before


@pytest.mark.parametrize("at", [0, 1, 2])
def test_one_folder_in_the_way_keeps_all_from_being_written(tmp_path: Path, at: int) -> None:
    rows(tmp_path)[at].mkdir()
    assert "this is a folder" in told(lambda: release(all_new(tmp_path), force=True))
    assert [path.name for path in tmp_path.iterdir()] == [f"row-{at + 1}.nc"]


class Failing:
    """A system call that fails the nth time it is made, and works otherwise."""

    def __init__(self, name: str, nth: int, error: BaseException) -> None:
        self.call: Callable[..., Any] = getattr(os, name)
        self.nth = nth
        self.error = error
        self.made = 0

    def __call__(self, *arguments: Any, **named: Any) -> Any:
        self.made += 1
        if self.made == self.nth:
            raise self.error
        return self.call(*arguments, **named)


def full() -> OSError:
    return OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


NONE: Final = (None, None, None)
CALLS: Final = (
    *(("open", range(2, 6), 6, olds) for olds in (OLD, NONE)),
    *(("fsync", range(1, 5), 5, olds) for olds in (OLD, NONE)),
    *(("chmod", range(1, 5), 4, olds) for olds in (OLD, NONE)),
    ("replace", range(1, 8), 7, OLD),
    ("replace", range(1, 6), 5, (None, OLD[1], None)),
    ("replace", range(1, 5), 4, NONE),
    ("link", range(1, 4), 3, NONE),
)
"""System calls; those of them that matter, the folder's own lock and flush apart; how often a release makes them; and
what stands there before. Without force for link, with it for all else."""


@pytest.mark.parametrize(
    ("call", "matter", "times", "olds"), CALLS, ids=[f"{call}, {sum(map(bool, olds))} old" for call, *_, olds in CALLS]
)
def test_whichever_system_call_fails_all_is_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, matter: range, times: int, olds: tuple[str | None, ...]
) -> None:
    put(tmp_path, *olds)
    before = standing(tmp_path)
    for nth in matter:
        with monkeypatch.context() as patched:
            patched.setattr(os, call, Failing(call, nth, full()))
            message = told(lambda: release(all_new(tmp_path), force=call != "link"))
        assert message.endswith("this file cannot be written (No space left on device); nothing was changed")
        assert standing(tmp_path) == before, f"{call} {nth}"
    with monkeypatch.context() as patched:
        never = Failing(call, times + 1, full())
        patched.setattr(os, call, never)
        release(all_new(tmp_path), force=call != "link")
    assert never.made == times
    assert standing(tmp_path) == named(*NEW)


def test_where_there_are_no_links_all_is_as_it_was_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(*_: object, **__: object) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", no_links)
    for nth in (1, 2, 3, 4):
        with monkeypatch.context() as patched:
            patched.setattr(os, "replace", Failing("replace", nth, full()))
            told(lambda: release(all_new(tmp_path), force=False))
        assert standing(tmp_path) == {}, nth
    release(all_new(tmp_path), force=False)
    assert standing(tmp_path) == named(*NEW)


@pytest.mark.parametrize("nth", [1, 2, 3])
def test_a_file_that_another_makes_meanwhile_is_kept_and_none_of_ours(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, nth: int
) -> None:
    link, made = os.link, list[object]()

    def another_is_quicker(source: str, target: Path) -> None:
        made.append(target)
        if len(made) == nth:
            target.write_text("another's", encoding="ascii")
        link(source, target)

    monkeypatch.setattr(os, "link", another_is_quicker)
    assert told(lambda: release(all_new(tmp_path), force=False)) == (
        f"{rows(tmp_path)[nth - 1]}: this file has just been made by another; give --force to replace it"
    )
    assert standing(tmp_path) == {f"row-{nth}.nc": "another's"}


@pytest.mark.parametrize("nth", range(1, 8))
def test_an_interrupt_leaves_all_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, nth: int) -> None:
    put(tmp_path, *OLD)
    monkeypatch.setattr(os, "replace", Failing("replace", nth, KeyboardInterrupt()))
    with pytest.raises(KeyboardInterrupt, match=r"^$"):
        release(all_new(tmp_path), force=True)
    assert standing(tmp_path) == named(*OLD)


@pytest.mark.parametrize("nth", [1, 2, 3])
def test_an_interrupt_leaves_no_new_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, nth: int) -> None:
    monkeypatch.setattr(os, "link", Failing("link", nth, KeyboardInterrupt()))
    with pytest.raises(KeyboardInterrupt, match=r"^$"):
        release(all_new(tmp_path), force=False)
    assert standing(tmp_path) == {}


def test_a_link_that_leads_nowhere_is_put_back_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first, second, _ = rows(tmp_path)
    first.symlink_to(tmp_path / "nowhere")
    second.symlink_to(tmp_path / "target")
    (tmp_path / "target").write_text("old", encoding="ascii")
    for nth in range(1, 7):
        with monkeypatch.context() as patched:
            patched.setattr(os, "replace", Failing("replace", nth, full()))
            told(lambda: release(all_new(tmp_path), force=True))
        assert sorted(path.name for path in tmp_path.iterdir()) == ["row-1.nc", "row-2.nc", "target"]
        assert first.is_symlink()
        assert second.read_text(encoding="ascii") == "old"
    release(all_new(tmp_path), force=True)
    assert standing(tmp_path) == {**named(*NEW), "target": "old"}


def test_where_nothing_can_be_put_back_that_is_told_and_the_next_run_does_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(tmp_path, *OLD)
    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", Failing("replace", 6, full()))
        patched.setattr(os, "rename", Failing("rename", 1, full()))
        assert told(lambda: release(all_new(tmp_path), force=True)) == (
            f"{tmp_path}: these files cannot be written, nor what stood there put back (No space left on device);"
            " the next run that writes into this folder will"
        )
    assert standing(tmp_path).items() > {".borewright.row-2.nc.old": OLD[1]}.items()
    release({tmp_path / "another.nc": "M30\n"}, force=False)
    assert standing(tmp_path) == {"another.nc": "M30\n", **named(*OLD)}


def test_old_files_that_cannot_be_taken_away_are_left_to_the_next_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(tmp_path, *OLD)
    with monkeypatch.context() as patched:
        patched.setattr(os, "unlink", Failing("unlink", 1, full()))
        release(all_new(tmp_path), force=True)
    assert standing(tmp_path).items() > named(*NEW).items()
    release({tmp_path / "another.nc": "M30\n"}, force=False)
    assert standing(tmp_path) == {"another.nc": "M30\n", **named(*NEW)}


def test_files_into_a_folder_that_is_not_there(tmp_path: Path) -> None:
    assert "there is no folder" in told(lambda: release(all_new(tmp_path / "no"), force=True))
    assert standing(tmp_path) == {}


# places


@pytest.mark.parametrize(
    ("out", "names"),
    [
        ("row.nc", ["row-1.nc", "row-2.nc", "row-3.nc"]),
        ("row", ["row-1", "row-2", "row-3"]),
        ("main.row.tap", ["main.row-1.tap", "main.row-2.tap", "main.row-3.tap"]),
        ("row-1.nc", ["row-1-1.nc", "row-1-2.nc", "row-1-3.nc"]),
    ],
)
def test_several_programs_are_numbered_in_the_order_they_are_run(tmp_path: Path, out: str, names: list[str]) -> None:
    assert places(tmp_path / out, 3) == [tmp_path / name for name in names]
    assert places(tmp_path / out, 1) == [tmp_path / out]


def test_a_numbered_file_left_from_a_longer_row_is_told(tmp_path: Path) -> None:
    """It would look like one more program of this job."""
    put(tmp_path, *OLD)
    assert told(lambda: places(tmp_path / "row.nc", 2)) == (
        f"{tmp_path / 'row-3.nc'}: this file is left from a row of more programs than the 2 of this job; move it away"
        " first"
    )
    assert places(tmp_path / "row.nc", 3) == rows(tmp_path)
    assert places(tmp_path / "row.nc", 1) == [tmp_path / "row.nc"]
    assert standing(tmp_path) == named(*OLD)


def test_a_name_too_long_for_the_system_is_told(tmp_path: Path) -> None:
    path = tmp_path / ("a" * 300)
    assert "File name too long" in told(lambda: release(dict.fromkeys(places(path, 3), "M30"), force=True))
    assert standing(tmp_path) == {}
