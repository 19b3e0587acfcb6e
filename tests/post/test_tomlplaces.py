import tomllib
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from post.tomlplaces import Key, line_of

LINES: Final = """name = "a"   # bore = 1

[machine]
travel = { x = [1,
          2], y = [3, 4] }
  zero = {x = 1}
"spindle_rpm" = [
  50,
  4000,
]

[ head ]  # [bar]
ratio = 2.0
[bar]
diameter=50
[[bore]]
diameter = 84
  [[ bore ]]
name = "[bar]"
diameter = 85
[[bore]]
[path]
diameter = 3
"""


@pytest.mark.parametrize(
    ("key", "line"),
    [
        (("name",), 1),
        (("machine",), 3),
        (("machine", "travel"), 4),
        (("machine", "travel", "x", 0), 4),
        (("machine", "zero", "y"), 6),
        (("machine", "spindle_rpm", 1), 7),
        (("machine", "work_offset"), 3),
        (("head", "ratio"), 13),
        (("head", "points"), 12),
        (("bar", "diameter"), 15),
        (("bore", 0, "diameter"), 17),
        (("bore", 0, "width"), 16),
        (("bore", 1), 18),
        (("bore", 1, "name"), 19),
        (("bore", 1, "diameter"), 20),
        (("bore", 2, "diameter"), 21),
        (("path", "diameter"), 23),
        (("units",), None),
        (("cut",), None),
        (("cut", "rpm"), None),
        ((), None),
    ],
)
def test_a_key_is_found_on_its_line_or_at_its_table(key: Key, line: int | None) -> None:
    assert line_of(LINES, key) == line


@pytest.mark.parametrize(
    ("text", "key", "line"),
    [
        ("bore = [\n  { width = 1 },\n]\n", ("bore", 0, "width"), 1),
        ("[machine]\nzero.x = 1\nzero.y = 2\n", ("machine", "zero", "y"), 3),
        ("machine.zero.x = 1\nmachine.zero.y = 2\n", ("machine", "zero", "y"), 2),
        ("[machine]\n[machine.zero]\nx = 1\n", ("machine", "zero", "x"), 3),
        ("[machine.zero]\nx = 1\n", ("machine", "zero", "y"), 1),
        ("[path]\nfeed = 1\n[path.lift]\namount = 1\n", ("path", "lift", "amount"), 4),
        ("name = 'a'\n[[bore]]\n[bar]\nname = 'b'\n", ("bore", 0, "name"), 2),
        ("a = [\n[1],\n]\nname = 1\n", ("name",), 4),
    ],
)
def test_keys_are_found_in_every_way_toml_writes_them(text: str, key: Key, line: int) -> None:
    tomllib.loads(text)
    assert line_of(text, key) == line


def test_only_a_line_feed_ends_a_line() -> None:
    """TOML allows U+2028 and U+0085 in strings and comments; an editor counts no line for them."""
    text = 'name = "a\u2028b\u0085c"\n[cut]\nrpm = 0\n'
    tomllib.loads(text)
    assert line_of(text, ("cut", "rpm")) == 3


NAMES: Final = ("name", "bore", "bar", "rpm", "feed", "x", "cut", "path", "width")
Places = dict[Key, int]


@st.composite
def documents(draw: st.DrawFn) -> tuple[str, Places, Places]:
    """A TOML document, the line of every key in it, and the line of every table."""
    lines: list[str] = []
    keys: Places = {}
    tables: Places = {}
    _write_keys(draw, lines, keys, ())
    for name in draw(st.lists(st.sampled_from(NAMES[1:]), unique=True, max_size=5)):
        if (name,) in keys:
            continue
        count = draw(st.integers(0, 3))
        paths: list[Key] = [(name, index) for index in range(count)] or [(name,)]
        for path in paths:
            lines += draw(st.lists(st.sampled_from(("", "# rpm = 1", "  # [bore]")), max_size=2))
            blank = draw(st.sampled_from(("", " ")))
            bare = f"{blank}{name}{blank}"
            lines.append(f"{blank}[[{bare}]] # a" if count else f"{blank}[{bare}]")
            tables[path] = len(lines)
            _write_keys(draw, lines, keys, path)
    text = "\n".join(lines) + "\n"
    tomllib.loads(text)
    return text, keys, tables


def _write_keys(draw: st.DrawFn, lines: list[str], keys: Places, path: Key) -> None:
    for name in draw(st.lists(st.sampled_from(NAMES), unique=True, max_size=4)):
        value = draw(
            st.sampled_from(
                (
                    "1",
                    "[\n 1,\n 2 ]",
                    "[ [1], [2] ]",
                    '"[bore]"',
                    '"x = 1"',
                    "'#'",
                    "{ x = 1, rpm = [2] }",
                    "true # x = 1",
                )
            )
        )
        spelled = draw(st.sampled_from((name, f'"{name}"', f"'{name}'", f"  {name} ")))
        lines.append(f"{spelled} = {value}")
        keys[*path, name] = len(lines)
        if value.startswith("{"):
            keys[*path, name, "x"] = keys[*path, name, "rpm"] = len(lines)
        lines += lines.pop().split("\n")


@settings(max_examples=60)
@given(documents())
def test_a_key_that_is_there_is_found_on_its_very_line(document: tuple[str, Places, Places]) -> None:
    text, keys, _ = document
    assert {key: line_of(text, key) for key in keys} == keys


@settings(max_examples=60)
@given(documents(), st.data())
def test_a_key_that_is_not_there_is_told_at_its_table(
    document: tuple[str, Places, Places], data: st.DataObject
) -> None:
    text, keys, tables = document
    path = data.draw(st.sampled_from([(), *tables]))
    name = data.draw(st.sampled_from([*NAMES, "depth"]))
    key = (*path, name)
    if key not in keys and (key in tables or (*key, 0) in tables):
        return
    assert line_of(text, key) == keys.get(key, tables.get(path))


LONG_STRING: Final = '''\
about = """
[cut]
rpm = 1
"""
other = \'\'\'
[cut]
\'\'\'
[cut]
rpm = 0
'''


def test_what_stands_in_a_long_string_is_no_key() -> None:
    assert tomllib.loads(LONG_STRING)["cut"] == {"rpm": 0}
    assert line_of(LONG_STRING, ("cut", "rpm")) == 9
    assert line_of(LONG_STRING, ("cut",)) == 8
