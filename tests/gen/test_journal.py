"""What a run that is stopped half-way leaves, and what the next run makes of it."""

import contextlib
import fcntl
import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final

import pytest

from gen import journal
from gen.journal import NAME, settle
from gen.release import release
from tests.gen.test_release_several import NEW, NONE, OLD, all_new, named, put, rows, standing
from tests.jobs import told

CALLS: Final = ("open", "fsync", "chmod", "replace", "rename", "link", "unlink")


class KilledError(BaseException):
    """The run ends here, as if by kill -9."""


@contextlib.contextmanager
def dying(monkeypatch: pytest.MonkeyPatch, nth: int) -> Iterator[list[str]]:
    """Calls that touch files fail from the nth on, whatever is tried to clear up; gives those that were made."""
    made: list[str] = []

    def mortal(name: str) -> Callable[..., Any]:
        call = getattr(os, name)

        def mortal_call(*arguments: Any, **named: Any) -> Any:
            if len(made) >= nth:
                raise KilledError
            made.append(name)
            return call(*arguments, **named)

        return mortal_call

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", lambda _: None)  # thousands would wait for the disk
        for name in CALLS:
            patched.setattr(os, name, mortal(name))
        with contextlib.suppress(KilledError):
            yield made


def visible(folder: Path) -> dict[str, str]:
    return {name: text for name, text in standing(folder).items() if not name.startswith(".")}


def some_of(found: dict[str, str], whole: dict[str, str]) -> bool:
    return found.items() <= whole.items()


@pytest.mark.parametrize("no_links", [False, True])
@pytest.mark.parametrize(("olds", "force"), [(OLD, True), ((None, OLD[1], None), True), (NONE, True), (NONE, False)])
def test_wherever_a_release_is_killed_the_next_run_finds_or_makes_one_whole_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, olds: tuple[str | None, ...], force: bool, no_links: bool
) -> None:
    if no_links:
        monkeypatch.setattr(os, "link", lambda *_, **__: (_ for _ in ()).throw(OSError(1, "Operation not permitted")))
    old = {path.name: text for path, text in zip(rows(tmp_path), olds, strict=True) if text is not None}
    points, ends = 0, set[str]()
    while True:
        for path in tmp_path.iterdir():
            path.unlink()
        put(tmp_path, *olds)
        with dying(monkeypatch, points) as made:
            release(all_new(tmp_path), force=force)
        seen = {name: text for name, text in visible(tmp_path).items() if text or not no_links}
        assert some_of(seen, old) or some_of(seen, named(*NEW)), points
        settle(tmp_path)
        after = visible(tmp_path)
        assert after in (old, named(*NEW)), points
        ends.add("new" if after == named(*NEW) else "old")
        release(all_new(tmp_path), force=True)
        assert standing(tmp_path) == named(*NEW), points
        if len(made) < points:
            break
        points += 1
    assert points > 20
    assert ends == {"old", "new"}


def test_a_run_that_settles_may_be_killed_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for first in range(8, 40):
        second = 0
        while True:
            for path in tmp_path.iterdir():
                path.unlink()
            put(tmp_path, *OLD)
            with dying(monkeypatch, first):
                release(all_new(tmp_path), force=True)
            with dying(monkeypatch, second) as made:
                settle(tmp_path)
            settle(tmp_path)
            assert visible(tmp_path) in (named(*OLD), named(*NEW)), (first, second)
            assert not (tmp_path / NAME).exists()
            if len(made) < second:
                break
            second += 1


@pytest.mark.parametrize("force", [True, False])
def test_one_file_is_there_whole_or_as_it_was_wherever_the_release_is_killed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, force: bool
) -> None:
    path = tmp_path / "job.nc"
    old = {"job.nc": OLD[0]} if force else {}
    for nth in range(12):
        path.unlink(missing_ok=True)
        if force:
            path.write_text(OLD[0], encoding="ascii")
        with dying(monkeypatch, nth):
            release({path: NEW[0]}, force=force)
        assert visible(tmp_path) in (old, {"job.nc": NEW[0]}), nth
    release({path: NEW[0]}, force=True)
    assert standing(tmp_path) == {"job.nc": NEW[0]}


def stopped(folder: Path, *olds: str | None) -> None:
    """What a run leaves that was killed when it had put the first of three new files in place."""
    put(folder, NEW[0], None, None)
    entries = [
        journal.Entry(path.name, journal.Entry.of(path, text).digest, old is not None)
        for (path, text), old in zip(all_new(folder).items(), olds, strict=True)
    ]
    for path, old in zip(rows(folder), olds, strict=True):
        if old is not None:
            journal.aside_of(path).write_text(old, encoding="ascii")
    (folder / NAME).write_text(journal.text_of(entries), encoding="ascii")


def test_what_is_undone_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stopped(tmp_path, *OLD)
    settle(tmp_path)
    assert standing(tmp_path) == named(*OLD)
    assert capsys.readouterr().err == (
        f"borewright: {tmp_path}: an earlier run was stopped while it put row-1.nc, row-2.nc, row-3.nc in place;"
        " all is as it was before that run\n"
    )


def test_what_is_finished_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stopped(tmp_path, *OLD)
    put(tmp_path, *NEW)
    settle(tmp_path)
    assert standing(tmp_path) == named(*NEW)
    assert "in place; all of them are there\n" in capsys.readouterr().err


def test_every_release_settles_first(tmp_path: Path) -> None:
    stopped(tmp_path, *OLD)
    release({tmp_path / "another.nc": "M30\n"}, force=False)
    assert standing(tmp_path) == {"another.nc": "M30\n", **named(*OLD)}


def test_a_file_made_by_another_since_is_kept_and_the_one_before_it_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stopped(tmp_path, *OLD)
    rows(tmp_path)[1].write_text("another's", encoding="ascii")
    settle(tmp_path)
    assert standing(tmp_path) == {**named(OLD[0], "another's", OLD[2]), ".borewright.row-2.nc.old": OLD[1]}
    assert capsys.readouterr().err.endswith(
        f"{tmp_path / 'row-2.nc'}: made by another since; the one before it is .borewright.row-2.nc.old\n"
    )


def test_an_empty_file_that_stood_there_before_is_no_place_holder(tmp_path: Path) -> None:
    stopped(tmp_path, *OLD)
    journal.aside_of(rows(tmp_path)[1]).unlink()
    rows(tmp_path)[1].write_text("", encoding="ascii")
    settle(tmp_path)
    assert standing(tmp_path) == named(OLD[0], "", OLD[2])


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[1]",
        '[{"name": "row-1.nc"}]',
        "null",
        "[" * 100_000,
        *(json.dumps([{"name": name, "digest": "", "stood": True}]) for name in ("../row-1.nc", "/row-1.nc", "", "..")),
    ],
    ids=range(10),
)
def test_a_journal_that_cannot_be_read_is_told_and_nothing_touched(tmp_path: Path, text: str) -> None:
    stopped(tmp_path, *OLD)
    (tmp_path / NAME).write_text(text, encoding="ascii")
    before = standing(tmp_path)
    for action in (lambda: settle(tmp_path), lambda: release({tmp_path / "a.nc": "M30"}, force=True)):
        assert told(action) == (
            f"{tmp_path / NAME}: this names the files that an earlier run was putting in place when it was stopped, and"
            " cannot be read; what stood there before is in .borewright.*.old: put that back under its name, then take"
            " this away"
        )
    assert standing(tmp_path) == before


def test_what_cannot_be_undone_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stopped(tmp_path, *OLD)

    def failing(*_: object) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "rename", failing)
    assert told(lambda: settle(tmp_path)) == (
        f"{tmp_path}: an earlier run was stopped while it put row-1.nc, row-2.nc, row-3.nc in place, and that cannot be"
        " undone (Input/output error)"
    )
    monkeypatch.undo()
    settle(tmp_path)
    assert standing(tmp_path) == named(*OLD)


def test_a_run_waits_for_another_in_the_same_folder_and_says_so_where_that_takes_too_long(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(journal, "MOST_WAIT_S", 0.0)
    other = os.open(tmp_path, os.O_RDONLY)
    try:
        fcntl.flock(other, fcntl.LOCK_EX)
        assert told(lambda: release({tmp_path / "job.nc": "M30"}, force=True)) == (
            f"{tmp_path}: another run is writing into this folder; try again when it is done"
        )
        assert standing(tmp_path) == {}
    finally:
        os.close(other)
    release({tmp_path / "job.nc": "M30"}, force=True)


@pytest.mark.parametrize("missing", [True, False])
def test_where_there_are_no_locks_files_are_written_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, missing: bool
) -> None:
    """And the unfinished file of a run that may still be at work is left alone."""

    def no_locks(*_: object) -> None:
        raise OSError(37, "No locks available")

    if missing:
        monkeypatch.setattr(journal, "fcntl", None)
    else:
        monkeypatch.setattr(fcntl, "flock", no_locks)
    (tmp_path / ".borewright.abc.tmp").write_text("", encoding="ascii")
    release(all_new(tmp_path), force=False)
    assert standing(tmp_path) == {".borewright.abc.tmp": "", **named(*NEW)}
