"""Posts on disk: the ones that ship, and a shop's own folder."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Final, NamedTuple

from post.dialect import Dialect, load_dialect
from post.userfile import InputError

LIBRARY: Final = Path(__file__).parent / "library"
DEFAULT: Final = "longhand"


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


def _load(folder: Path) -> Post:
    dialect, template = folder / "dialect.toml", folder / "program.j2"
    if not template.is_file():
        raise InputError("a post needs a template, program.j2, beside its dialect.toml", file=template)
    return Post(folder.resolve().name, load_dialect(dialect), dialect, template)
