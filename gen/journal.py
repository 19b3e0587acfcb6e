"""What is being put in place in a folder: alone, and finished or undone when a run was stopped half-way.

Words used here:

journal
    a hidden file that stands in a folder while several files are put in place there, and names them.
aside
    the hidden name under which the file waits that stood in a place before.
to settle
    to finish or to undo what a journal tells of, after the run that wrote it was stopped: all the old files stand there
    then, or all the new ones.
"""

import contextlib
import errno
import hashlib
import json
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final, NamedTuple

from post.userfile import InputError

try:
    import fcntl
except ImportError:  # a system without them cannot keep two runs apart
    fcntl = None  # type: ignore[assignment]

PREFIX: Final = ".borewright."
NAME: Final = f"{PREFIX}journal"
MOST_JOURNAL_BYTES: Final = 1_000_000
MOST_WAIT_S: Final = 10.0
"""How long to wait for another run, which is done within milliseconds."""


class Entry(NamedTuple):
    """A file to be put in place: its name in the folder, the SHA-256 of its bytes, whether one stood there before."""

    name: str
    digest: str
    stood: bool

    @classmethod
    def of(cls, path: Path, text: str) -> "Entry":
        """What is to be known of a text that goes to a path."""
        return cls(path.name, _digest(text.encode("utf-8")), os.path.lexists(path))


def aside_of(path: Path) -> Path:
    """Where the file waits that stood there before."""
    return path.with_name(f"{PREFIX}{path.name}.old")


def text_of(entries: list[Entry]) -> str:
    """The journal's text."""
    return json.dumps([entry._asdict() for entry in entries], indent=1) + "\n"


def undo(folder: Path, entries: list[Entry]) -> list[str]:
    """Take away what was put in place and put back what stood there; names that another has taken meanwhile.

    It may itself be stopped at any point, and done again. Raises OSError.
    """
    taken = []
    for entry in entries:
        path = folder / entry.name
        if _is_new(path, entry) or _holds_a_place(path, entry):
            path.unlink()
        aside = aside_of(path)
        if os.path.lexists(aside):
            if os.path.lexists(path):
                taken.append(entry.name)
            else:
                os.rename(aside, path)
    return taken


def close(folder: Path, entries: list[Entry]) -> None:
    """Take the old files away for good, and the journal after them; what resists is left to the next run."""
    with contextlib.suppress(OSError):
        for entry in entries:
            aside_of(folder / entry.name).unlink(missing_ok=True)
        (folder / NAME).unlink(missing_ok=True)


def to_stderr(note: str) -> None:
    """Tell a person what was settled."""
    print(f"borewright: {note}", file=sys.stderr)


def settle(folder: Path) -> None:
    """Finish or undo what a run began in a folder and was stopped at, and say so.

    Raises InputError where that cannot be done.
    """
    if os.path.lexists(folder / NAME):
        with alone(folder):
            pass


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Keep other runs out of a folder, as far as its file system can, and settle what an earlier one left.

    Raises InputError where another run does not come to an end, or what was left cannot be settled.
    """
    with _locked(folder) as locked:
        _settle(folder)
        if locked:
            _sweep(folder)
        yield


@contextmanager
def _locked(folder: Path) -> Iterator[bool]:
    """Hold the folder's own lock, which ends with the process; False where there is none to hold."""
    try:
        descriptor = os.open(folder, os.O_RDONLY)
    except OSError:  # told where a file is to be written into it
        yield False
        return
    try:
        yield _lock(descriptor, folder)
    finally:
        os.close(descriptor)


def _lock(descriptor: int, folder: Path) -> bool:
    if fcntl is None:
        return False
    end = time.monotonic() + MOST_WAIT_S
    while True:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            if error.errno not in (errno.EWOULDBLOCK, errno.EACCES):
                return False
        else:
            return True
        if time.monotonic() > end:
            raise InputError("another run is writing into this folder; try again when it is done", file=folder)
        time.sleep(0.01)


def _settle(folder: Path) -> None:
    journal = folder / NAME
    if not os.path.lexists(journal):
        return
    entries = _load(journal)
    names = ", ".join(entry.name for entry in entries)
    try:
        if all(_is_new(folder / entry.name, entry) for entry in entries):
            done, taken = "all of them are there", list[str]()
        else:
            done, taken = "all is as it was before that run", undo(folder, entries)
        if not taken:
            close(folder, entries)
        else:
            journal.unlink()
    except OSError as error:
        raise InputError(
            f"an earlier run was stopped while it put {names} in place, and that cannot be undone ({error.strerror})",
            file=folder,
        ) from None
    to_stderr(f"{folder}: an earlier run was stopped while it put {names} in place; {done}")
    for name in taken:
        to_stderr(f"{folder / name}: made by another since; the one before it is {aside_of(Path(name))}")


def _sweep(folder: Path) -> None:
    """Take away unfinished files of runs that were stopped: no other run is at work here."""
    with contextlib.suppress(OSError):
        for stray in folder.glob(f"{PREFIX}*.tmp"):
            stray.unlink(missing_ok=True)


def _load(journal: Path) -> list[Entry]:
    try:
        with open(os.open(journal, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0)), "rb") as stream:
            told = json.loads(stream.read(MOST_JOURNAL_BYTES))
        entries = [Entry(str(one["name"]), str(one["digest"]), bool(one["stood"])) for one in told]
        if not all(entry.name == os.path.basename(entry.name) not in ("", ".", "..") for entry in entries):
            raise ValueError("a name that leads out of the folder")
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        raise InputError(
            "this names the files that an earlier run was putting in place when it was stopped, and cannot be read;"
            f" what stood there before is in {PREFIX}*.old: put that back under its name, then take this away",
            file=journal,
        ) from None
    return entries


def _is_new(path: Path, entry: Entry) -> bool:
    return _is_plain(path) and _digest(path.read_bytes()) == entry.digest


def _holds_a_place(path: Path, entry: Entry) -> bool:
    """Whether this is the empty file that takes a name where there are no links (``gen.release``)."""
    return _is_plain(path) and not entry.stood and path.stat().st_size == 0


def _is_plain(path: Path) -> bool:
    return os.path.isfile(path) and not os.path.islink(path)


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
