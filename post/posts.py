"""Posts on disk: the ones that ship, and a shop's own folder."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Final, NamedTuple

from post.dialect import Dialect, load_dialect
from post.userfile import InputError

LIBRARY: Final = Path(__file__).parent / "library"
DEFAULT: Final = "longhand"
FILES: Final = ("dialect.toml", "program.j2")


class Post(NamedTuple):
    """A post: a folder with what its control reads, ``dialect.toml``, and a program's layout, ``program.j2``."""

    name: str
    dialect: Dialect
    dialect_path: Path
    template: Path


def shipped() -> Iterator[str]:
    """Names of the posts that ship, in order."""
    return (folder.name for folder in sorted(LIBRARY.iterdir()) if (folder / "dialect.toml").is_file())


def find(name_or_folder: str) -> Post:
    """The post that ships under a name, else the one in a folder. Raises InputError."""
    shipped_names = list(shipped())
    if name_or_folder in shipped_names:
        return _load(LIBRARY / name_or_folder)
    folder = Path(name_or_folder)
    if not os.path.isdir(folder):  # pathlib raises where a name is too long or holds a zero byte
        raise InputError(
            f'"{name_or_folder}" is neither a post that ships ({", ".join(shipped_names)}) nor a folder;'
            f" e.g. --post {DEFAULT}"
        )
    return _load(folder)


def copy_of(name: str, folder: Path) -> dict[Path, str]:
    """The files of a post that ships, as they are to stand in a new folder, which is made. Raises InputError."""
    names = list(shipped())
    if name not in names:
        raise InputError(
            f'"{name}" is no post that ships; there are {", ".join(names)}, e.g. posts copy {DEFAULT} ours'
        )
    try:
        folder.mkdir()
    except FileExistsError:
        raise InputError("this exists already; give the name of a new folder, e.g. ours", file=folder) from None
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else "its name holds a zero byte"
        raise InputError(f"this folder cannot be made ({why})", file=folder) from None
    return {folder / file: (LIBRARY / name / file).read_text(encoding="utf-8") for file in FILES}


def _load(folder: Path) -> Post:
    dialect, template = (folder / file for file in FILES)
    try:
        if not template.exists():
            raise InputError("a post needs a template, program.j2, beside its dialect.toml", file=template)
        for file in (dialect, template):
            _check_own(file, folder)
    except OSError as error:
        raise InputError(f"this post cannot be read ({error.strerror}); check its permissions", file=folder) from None
    return Post(folder.resolve().name, load_dialect(dialect), dialect, template)


def _check_own(file: Path, folder: Path) -> None:
    """A post may come from a stranger: its files are plain ones, and lie in its folder."""
    if not file.exists():
        return  # told where it is read
    if not file.is_file():
        raise InputError("this is no plain file; a post is two files of text", file=file)
    if file.resolve().parent != folder.resolve():
        raise InputError("this is a link out of the post's folder; put the file itself here", file=file)
