"""Files put in place whole or not at all."""

import os
import tempfile
from pathlib import Path

from post.userfile import InputError


def release(path: Path, text: str, *, force: bool) -> None:
    """Write a text file so that at every moment the old file stands there, or the new one, or none.

    Raises InputError when something stands there and ``force`` is not given, or when it cannot be written; then all is
    as it was.
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
    if path.is_dir():
        raise InputError("this is a folder; give the path of a file, e.g. --out program.nc", file=path)
    if not force and path.exists():
        raise InputError("this file exists already; give --force to replace it, or another path", file=path)


def _put(path: Path, data: bytes, *, force: bool) -> None:
    """Write beside the target, flush to the disk, then put in place in one step, by link where nothing may be there."""
    descriptor, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".tmp", dir=path.parent)
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(name, 0o666 & ~_umask())
        if force:
            os.replace(name, path)
            return
        os.link(name, path)
    finally:
        Path(name).unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
