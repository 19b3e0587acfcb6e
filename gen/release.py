"""Files put in place whole or not at all."""

import contextlib
import errno
import os
import stat
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from post.userfile import InputError

NO_LINKS: Final = (errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS)
"""What file systems without hard links answer."""


def release(path: Path, text: str, *, force: bool) -> None:
    """Write a text file so that at every moment the old file stands there, or the new one, or none.

    On a file system without links an empty file may stand there for a moment. Raises InputError when something stands
    there and ``force`` is not given, or when it cannot be written; then all is as it was.
    """
    check_free(path, force=force)
    try:
        _put(path, text.encode("ascii"), force=force)
    except FileExistsError:
        raise InputError("this file has just been made by another; give --force to replace it", file=path) from None
    except FileNotFoundError:
        raise InputError(f"there is no folder {path.parent}; make it first", file=path) from None
    except OSError as error:
        raise InputError(f"this file cannot be written ({error.strerror}); nothing was changed", file=path) from None


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
        if path.exists() and path.samefile(one):
            raise InputError("this file was read for the job and would be written over; give another --out", file=path)


def _put(path: Path, data: bytes, *, force: bool) -> None:
    """Write beside the target, flush to the disk, then put in place in one step, by link where nothing may be there."""
    descriptor, name = tempfile.mkstemp(prefix=".borewright.", suffix=".tmp", dir=path.parent)
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        with contextlib.suppress(PermissionError):  # a stick that knows no modes
            os.chmod(name, 0o666 & ~_umask())
        if force:
            os.replace(name, path)
        else:
            _link(name, path)
    finally:
        Path(name).unlink(missing_ok=True)


def _link(name: str, path: Path) -> None:
    """Give a file its name where nothing has it yet.

    Sticks that carry programs to a control often know no links; there the name is taken first, by an empty file that
    only one can make, and then filled in one step.
    """
    try:
        os.link(name, path)
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        try:
            os.replace(name, path)
        except OSError:
            path.unlink(missing_ok=True)
            raise


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
