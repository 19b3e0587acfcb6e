"""Where the keys of a TOML document stand: the line of every table and key, which a TOML reader does not tell.

The document is taken to be valid TOML; what is scanned for is only headers, keys, and where the values behind them end.
"""

import re
from collections.abc import Mapping
from typing import Final

Key = tuple[str | int, ...]
"""A path as ``("bore", 2, "width")``: ``width`` of the third ``[[bore]]``."""

_NAME: Final = r"""(?:[A-Za-z0-9_-]+|"(?:[^"\\]|\\.)*"|'[^']*')"""
_PATH: Final = rf"{_NAME}(?:\s*\.\s*{_NAME})*"
_HEADER: Final = re.compile(rf"\s*(\[\[?)\s*({_PATH})\s*\]")
_ENTRY: Final = re.compile(rf"\s*({_PATH})\s*=")
_PIECE: Final = re.compile(
    r'''"""(?:[^"\\]|\\.|"(?!""))*"{3,5}'''  # strings of several lines, basic and literal
    r"""|'''(?:[^']|'(?!''))*'{3,5}"""
    r"""|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|\#[^\n]*|[\[{]|[\]}]|\n""",
    re.DOTALL,
)


def places(text: str) -> Mapping[Key, int]:
    """The line, counted from 1, of every table header and key of a TOML document; only a line feed ends a line."""
    found: dict[Key, int] = {}
    repeats: dict[Key, int] = {}
    table: Key = ()
    at, line = 0, 1
    while at < len(text):
        header, entry = _HEADER.match(text, at), _ENTRY.match(text, at)
        if header and (entry is None or header.start(1) < entry.start(1)):
            line += text.count("\n", at, header.start(1))
            at = header.start(1)
            table = _table(_names(header[2]), header[1] == "[[", repeats)
            found.setdefault(table, line)
            found.setdefault(table[:-1] if isinstance(table[-1], int) else table, line)
            at, line = _line_end(text, header.end(), line)
        elif entry:
            line += text.count("\n", at, entry.start(1))
            path = table + _names(entry[1])
            for length in range(len(table) + 1, len(path) + 1):
                found.setdefault(path[:length], line)
            at, line = _line_end(text, entry.end(), line)
        else:
            at, line = _line_end(text, at, line)
    return found


def line_of(text: str, key: Key) -> int | None:
    """Line of a key, or of what stands nearest around it; None where nothing of its path is found."""
    return nearest_line(places(text), key)


def nearest_line(found: Mapping[Key, int], key: Key) -> int | None:
    """The same, of a document whose places are known."""
    return next((found[key[:length]] for length in range(len(key), 0, -1) if key[:length] in found), None)


def _names(path: str) -> Key:
    return tuple(name.strip("\"'") for name in re.findall(_NAME, path))


def _table(names: Key, repeated: bool, repeats: dict[Key, int]) -> Key:
    """Full path of a header's table: inside a repeated table it is the last of them that is meant."""
    path: Key = ()
    for place, name in enumerate(names):
        path = (*path, name)
        if repeated and place == len(names) - 1:
            repeats[path] = repeats.get(path, -1) + 1
        if path in repeats:
            path = (*path, repeats[path])
    return path


def _line_end(text: str, at: int, line: int) -> tuple[int, int]:
    """Behind the end of the line on which the value at a place ends, brackets and long strings followed."""
    depth = 0
    for piece in _PIECE.finditer(text, at):
        line += piece[0].count("\n")
        depth += (piece[0] in ("[", "{")) - (piece[0] in ("]", "}"))
        if piece[0] == "\n" and depth <= 0:
            return piece.end(), line
    return len(text), line
