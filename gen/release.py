"""Files put in place whole or not at all."""

import contextlib
import errno
import os
import stat
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Final

from gen.journal import NAME, PREFIX, Entry, alone, aside_of, close, text_of, undo
from post.userfile import InputError

NO_LINKS: Final = (errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS)
"""What file systems without hard links answer."""


def release(files: Mapping[Path, str], *, force: bool) -> None:
    """Write text files, all of one folder, together or not at all.

    One file: at every moment the old one stands there, or the new one, or none. Several: never old ones beside new
    ones; should the machine stop half-way, some are missing until the next run in that folder settles it: all old ones,
    or all new ones (``gen.journal``). On a file system without links an empty file may stand there for a moment, or
    until then. Raises InputError when something stands there and ``force`` is not given, or when one cannot be written;
    then all is as it was.
    """
    (folder,) = {path.parent for path in files}
    with alone(folder):
        for path in files:
            check_free(path, force=force)
        with ExitStack() as done:
            ready = {path: _stored(path, text, done) for path, text in files.items()}
            if len(ready) == 1 and all(_place_alone(path, name, force=force) for path, name in ready.items()):
                return
            entries = [Entry.of(path, text) for path, text in files.items()]
            first = next(iter(files))
            journal = _stored(first, text_of(entries), done)
            _place_together(ready, entries, journal, force=force)


def _place_together(ready: Mapping[Path, str], entries: list[Entry], journal: str, *, force: bool) -> None:
    """Take the old files away, put the new ones in place, and undo all of it at the first that fails."""
    first = next(iter(ready))
    folder = first.parent
    try:
        with _telling(first):
            os.replace(journal, folder / NAME)
            _flush(folder)
        for path in ready:
            if force and os.path.lexists(path):
                with _telling(path):
                    os.replace(path, aside_of(path))
        for path, name in ready.items():
            _place(path, name, force=force)
    except BaseException:
        try:
            undo(folder, entries)
            (folder / NAME).unlink(missing_ok=True)
        except OSError as error:
            raise InputError(
                f"these files cannot be written, nor what stood there put back ({error.strerror}); the next run that"
                " writes into this folder will",
                file=folder,
            ) from None
        raise
    close(folder, entries)


def _flush(folder: Path) -> None:
    """Have the folder's names on the disk, where the system can."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def places(path: Path, parts: int) -> list[Path]:
    """Where the programs of a job go, "row-1.nc" and on where there are several.

    Raises InputError where a numbered file is left that would look like one more of them.
    """
    if parts == 1:
        return [path]
    beyond = _numbered(path, parts + 1)
    if os.path.lexists(beyond):
        raise InputError(
            f"this file is left from a row of more programs than the {parts} of this job; move it away first",
            file=beyond,
        )
    return [_numbered(path, part) for part in range(1, parts + 1)]


def _numbered(path: Path, part: int) -> Path:
    return path.with_name(f"{path.stem}-{part}{path.suffix}")


def _stored(path: Path, text: str, undo: ExitStack) -> str:
    """Name of a file beside the target that holds the text, flushed to the disk; taken away again at the end."""
    with _telling(path):
        descriptor, name = tempfile.mkstemp(prefix=PREFIX, suffix=".tmp", dir=path.parent)
        undo.callback(_discard, name)
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(text.encode("utf-8"))
            stream.flush()
            os.fsync(stream.fileno())
        with contextlib.suppress(PermissionError):  # a stick that knows no modes
            os.chmod(name, 0o666 & ~_umask())
        return name


def _discard(name: str) -> None:
    """Take away what is needed no more; what resists is left to the next run."""
    with contextlib.suppress(OSError):
        os.unlink(name)


@contextmanager
def _telling(path: Path) -> Iterator[None]:
    """What the system refuses, told for a person."""
    try:
        yield
    except FileExistsError:
        raise InputError("this file has just been made by another; give --force to replace it", file=path) from None
    except FileNotFoundError:
        raise InputError(f"there is no folder {path.parent}; make it first", file=path) from None
    except OSError as error:
        raise InputError(f"this file cannot be written ({error.strerror}); nothing was changed", file=path) from None


def _place_alone(path: Path, name: str, *, force: bool) -> bool:
    """Give a finished file its own name in one step, by link where nothing may be there; False where none are known."""
    with _telling(path):
        if force:
            os.replace(name, path)
            return True
        return _link(name, path)


def _place(path: Path, name: str, *, force: bool) -> None:
    """Give a finished file its own name, of several that a journal tells of.

    Sticks that carry programs to a control often know no links; there the name is taken first, by an empty file that
    only one can make, and then filled in one step.
    """
    with _telling(path):
        if force:
            os.replace(name, path)
        elif not _link(name, path):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
            try:
                os.replace(name, path)
            except OSError:
                path.unlink(missing_ok=True)
                raise


def check_free(path: Path, *, force: bool) -> None:
    """Raises InputError when a file could not be put at a path, so that it is known before any work is done."""
    try:
        mode = path.lstat().st_mode
    except (OSError, ValueError):
        return
    if stat.S_ISLNK(mode) and path.exists():
        mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise InputError("this is a folder; give the path of a file, e.g. --out program.nc", file=path)
    if not (stat.S_ISREG(mode) or stat.S_ISLNK(mode)):
        raise InputError(
            "this is a device or a pipe, which a program would replace; give the path of a file", file=path
        )
    if not force:
        raise InputError("this file exists already; give --force to replace it, or another path", file=path)


def check_apart(path: Path, inputs: Iterable[Path]) -> None:
    """Raises InputError when a file that was read would be written over."""
    for one in inputs:
        # What was told and is not there is another's to say.
        if os.path.exists(path) and os.path.exists(one) and path.samefile(one):
            raise InputError("this file was read for the job and would be written over; give another --out", file=path)


def _link(name: str, path: Path) -> bool:
    """Give a file its name where nothing has it yet; False on a file system without links."""
    try:
        os.link(name, path)
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        return False
    return True


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
