import os
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest
from pydantic import BaseModel

from post.dialect import Dialect, load_dialect
from post.posts import DEFAULT, FILES, LIBRARY, copy_of, find, shipped
from post.reader import read
from post.userfile import InputError
from post.writer import write
from tests.jobs import told
from tests.post.test_writer import PLAN

POSTS: Final = tuple(shipped())
NAMED: Final = "cycles, longhand, one-pass, oriented, per-turn, tape"


@pytest.fixture
def ours(tmp_path: Path) -> Path:
    """A shop's own folder, a copy of a post that ships."""
    folder = tmp_path / "ours"
    for path, text in copy_of("longhand", folder).items():
        path.write_text(text, encoding="utf-8")
    return folder


# the posts that ship


def test_the_posts_that_ship() -> None:
    assert ", ".join(POSTS) == NAMED
    assert DEFAULT in POSTS


@pytest.mark.parametrize("name", POSTS)
def test_a_post_is_two_files_and_nothing_else(name: str) -> None:
    assert sorted(path.name for path in (LIBRARY / name).iterdir()) == sorted(FILES) == ["dialect.toml", "program.j2"]


def test_nothing_but_posts_lies_among_them() -> None:
    assert sorted(path.name for path in LIBRARY.iterdir()) == list(POSTS)


@pytest.mark.parametrize("name", POSTS)
def test_a_post_that_ships_is_found_by_name(name: str) -> None:
    post = find(name)
    assert post.name == name
    assert post.dialect_path == LIBRARY / name / "dialect.toml"
    assert post.template == LIBRARY / name / "program.j2"
    assert post.dialect == load_dialect(post.dialect_path)


def test_each_post_says_in_one_line_what_it_does() -> None:
    lines = [find(name).dialect.about for name in POSTS]
    assert len(set(lines)) == len(POSTS)
    for line in lines:
        assert line.isprintable()
        assert line[0].isupper()
        assert line == line.strip()
        assert not line.endswith(".")


@pytest.mark.parametrize("name", POSTS)
def test_a_program_of_every_post_is_ascii_ends_once_and_can_be_read(name: str) -> None:
    post = find(name)
    text = write(PLAN, ["header"], post.dialect, post.template)
    assert text.isascii()
    assert text.endswith("\r\nN120 M30\r\n%\r\n" if name == "tape" else "\nM30\n")
    assert text.count("M30") == 1
    assert [block.finding for block in read(text, post.dialect) if block.finding] == []


def test_what_a_post_is_named_for() -> None:
    dialects = {name: find(name).dialect for name in POSTS}
    assert [name for name, dialect in dialects.items() if dialect.cycles] == ["cycles"]
    assert [name for name, dialect in dialects.items() if dialect.oriented_stop] == ["oriented"]
    assert [name for name, dialect in dialects.items() if dialect.feed_per_turn] == ["per-turn"]
    assert [name for name, dialect in dialects.items() if dialect.dwell.unit == "turns"] == ["per-turn"]
    assert [name for name, dialect in dialects.items() if dialect.new_setting == "file"] == ["one-pass"]
    tape = dialects.pop("tape").lines
    assert (tape.tape_marks, tape.end) == ("required", "CRLF")
    assert tape.block_numbers is not None
    assert tape.program_number is not None
    for dialect in dialects.values():
        assert (dialect.lines.tape_marks, dialect.lines.end) == ("allowed", "LF")
        assert dialect.lines.block_numbers is None
        assert dialect.lines.program_number is None


# what a dialect's file tells


def _keys(model: type[BaseModel]) -> Iterator[str]:
    """Names of all keys of a model and of the tables in it; a table with a header of its own is none."""
    for name, field in model.model_fields.items():
        parts = (field.annotation, *getattr(field.annotation, "__args__", ()))
        tables = [part for part in parts if isinstance(part, type) and issubclass(part, BaseModel)]
        if name not in ("resolution", "numbers", "dwell", "comments", "lines"):
            yield name
        for table in tables:
            yield from _keys(table)


KEYS: Final = tuple(dict.fromkeys(_keys(Dialect)))


def test_the_keys_of_a_dialect_are_found() -> None:
    assert {"about", "feed_per_turn", "angle", "inch", "trailing_zeros", "step", "digits", "last", "signs"} <= set(KEYS)
    assert not {"resolution", "numbers", "comments", "lines"} & set(KEYS)


@pytest.mark.parametrize("name", POSTS)
def test_every_key_of_a_dialect_is_told_in_its_file(name: str) -> None:
    lines = (LIBRARY / name / "dialect.toml").read_text(encoding="utf-8").splitlines()
    assert [key for key in KEYS if not any(_tells(line, key) for line in lines)] == []


@pytest.mark.parametrize("name", POSTS)
def test_every_key_of_a_dialect_is_explained_where_it_stands(name: str) -> None:
    """By words behind it or right above it, or above the line before of the same kind, or beside its table."""
    lines = (LIBRARY / name / "dialect.toml").read_text(encoding="utf-8").splitlines()
    unexplained = {key for key in KEYS if not any(_explained(lines, at, key) for at in range(len(lines)))}
    assert unexplained - {"about"} == set()


def _tells(line: str, key: str) -> bool:
    """Whether a line gives a key, or shows how it could be given."""
    shown = line.removeprefix("# ")
    return re.match(rf"(?:\w+ *= *{{(?:[^#]*,)? *)?{key} *=", shown) is not None


def _explained(lines: list[str], at: int, key: str) -> bool:
    if not _tells(lines[at], key):
        return False
    table = next((line for line in reversed(lines[:at]) if line.startswith("[")), "")
    above = lines[at - 1]
    words = above if above.startswith("#") and " = " not in above else ""
    return "# " in lines[at].removeprefix("# ") + words + table or _explained(lines, at - 1, _twin(key))


def _twin(key: str) -> str:
    """The key on the line before that is of the same kind, and explained for both."""
    return "mm" if key == "inch" else "nothing"


@pytest.mark.parametrize("name", POSTS)
def test_what_is_shown_as_a_remark_can_be_put_in_force(tmp_path: Path, name: str) -> None:
    """A shop takes the mark off and has it."""
    text = (LIBRARY / name / "dialect.toml").read_text(encoding="utf-8")
    shown = re.compile(r"^# (?=(?:oriented_stop|signs|block_numbers|program_number) = )", re.MULTILINE)
    path = tmp_path / "dialect.toml"
    path.write_text(shown.sub("", text), encoding="utf-8")
    dialect = load_dialect(path)
    assert dialect.oriented_stop is not None
    assert dialect.lines.block_numbers is not None
    assert dialect.lines.program_number is not None
    assert set(" ,.:-+/") <= set(dialect.comments.signs)
    assert (len(shown.findall(text)) == 0) == ("signs" in tomllib.loads(text)["comments"] and name == "oriented")


@pytest.mark.parametrize("name", POSTS)
def test_a_key_whose_value_is_the_standard_s_may_be_left_out(tmp_path: Path, name: str) -> None:
    data = tomllib.loads((LIBRARY / name / "dialect.toml").read_text(encoding="utf-8"))
    whole = Dialect.model_validate(data)
    assert Dialect.model_validate(_without_defaults(data, Dialect)) == whole


def _without_defaults(data: dict[str, Any], model: type[BaseModel]) -> dict[str, Any]:
    bare = {"about": "x", "resolution": {unit: {"length": 1.0, "feed": 1.0} for unit in ("mm", "inch")}}
    standard = Dialect.model_validate(bare).model_dump(mode="json")
    return {key: value for key, value in data.items() if key not in standard or value != standard[key]}


# finding one


def test_a_shop_s_own_folder_is_a_post(ours: Path) -> None:
    post = find(str(ours))
    assert (post.name, post.dialect_path, post.template) == ("ours", ours / "dialect.toml", ours / "program.j2")
    assert post.dialect == find("longhand").dialect


def test_a_folder_is_named_whatever_way_it_is_told(ours: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ours)
    assert find(".").name == "ours"
    assert find(f"{ours}{os.sep}").name == "ours"
    (ours.parent / "link").symlink_to(ours)
    assert find(str(ours.parent / "link")).name == "ours"


def test_a_name_that_ships_goes_before_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "longhand").mkdir()
    monkeypatch.chdir(tmp_path)
    assert find("longhand").template == LIBRARY / "longhand" / "program.j2"


@pytest.mark.parametrize(
    "name", ["longhnd", "/etc/hosts", "a\0b", "a" * 300, "Longhand", "no/where"], ids=lambda name: repr(name)[:9]
)
def test_what_is_no_post_is_told_with_those_that_are(name: str) -> None:
    assert told(lambda: find(name)) == (
        f'"{name}" is neither a post that ships ({NAMED}) nor a folder; e.g. --post longhand'
    )


def test_a_folder_without_a_template_or_a_dialect(tmp_path: Path) -> None:
    assert told(lambda: find(str(tmp_path))) == (
        f"{tmp_path / 'program.j2'}: a post needs a template, program.j2, beside its dialect.toml"
    )
    (tmp_path / "program.j2").write_text("M30\n", encoding="utf-8")
    assert told(lambda: find(str(tmp_path))) == (
        f"{tmp_path / 'dialect.toml'}: there is no such dialect; give the path of a dialect"
    )


def test_a_mistake_in_a_post_s_dialect_is_told_at_its_place(ours: Path) -> None:
    path = ours / "dialect.toml"
    text = path.read_text(encoding="utf-8").replace("\nlength = ", "\nlenght = ")
    path.write_text(text, encoding="utf-8")
    line = text[: text.index("lenght")].count("\n") + 1
    assert told(lambda: find(str(ours))).startswith(
        f"{path}:{line}: lines.lenght: there is no such key; did you mean length?"
    )


@pytest.mark.parametrize("file", FILES)
def test_a_link_out_of_the_folder_is_refused(ours: Path, file: str) -> None:
    for target in (LIBRARY / "longhand" / file, Path("..") / "elsewhere", Path("/etc/passwd")):
        (ours.parent / "elsewhere").write_text("M30\n", encoding="utf-8")
        (ours / file).unlink()
        (ours / file).symlink_to(target)
        assert told(lambda: find(str(ours))) == (
            f"{ours / file}: this is a link out of the post's folder; put the file itself here"
        )


def test_a_link_that_leads_back_into_the_folder_is_none_out_of_it(ours: Path) -> None:
    (ours / "program.j2").rename(ours / "newest.j2")
    (ours / "program.j2").symlink_to(Path("..") / "ours" / "newest.j2")
    assert find(str(ours)).template == ours / "program.j2"


def test_a_link_out_through_a_second_link_is_refused(ours: Path) -> None:
    (ours / "program.j2").unlink()
    (ours / "second.j2").symlink_to("/etc/passwd")
    (ours / "program.j2").symlink_to("second.j2")
    assert "this is a link out of the post's folder" in told(lambda: find(str(ours)))


@pytest.mark.parametrize("file", FILES)
def test_what_is_no_plain_file_is_refused(ours: Path, file: str) -> None:
    path = ours / file
    path.unlink()
    os.mkfifo(path)
    says = f"{path}: this is no plain file; a post is two files of text"
    assert told(lambda: find(str(ours))) == says
    for device in ("/dev/zero", "/dev/null", "/dev"):
        path.unlink()
        path.symlink_to(device)
        assert told(lambda: find(str(ours))) == says
    path.unlink()
    path.mkdir()
    assert told(lambda: find(str(ours))) == says


def test_a_folder_that_may_not_be_looked_into_is_told(ours: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.stat

    def deny(path: Any, **how: Any) -> os.stat_result:
        if str(path).startswith(f"{ours}{os.sep}"):
            raise PermissionError(13, "Permission denied")
        return real(path, **how)

    monkeypatch.setattr(os, "stat", deny)
    with pytest.raises(InputError, match="ours"):
        find(str(ours))


# a copy to edit


@pytest.mark.parametrize("name", POSTS)
def test_a_copy_is_the_post_under_a_name_of_its_own(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "ours"
    files = copy_of(name, folder)
    assert list(files) == [folder / "dialect.toml", folder / "program.j2"]
    assert list(folder.iterdir()) == []
    for path, text in files.items():
        path.write_bytes(text.encode())
        assert path.read_bytes() == (LIBRARY / name / path.name).read_bytes()
    copied, post = find(str(folder)), find(name)
    assert copied.dialect == post.dialect
    assert write(PLAN, ["a"], copied.dialect, copied.template) == write(PLAN, ["a"], post.dialect, post.template)


@pytest.mark.parametrize("name", ["longhnd", "", "../library/longhand", "ours"])
def test_only_a_post_that_ships_is_copied(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "ours"
    assert told(lambda: copy_of(name, folder)) == (
        f'"{name}" is no post that ships; there are {NAMED}, e.g. posts copy longhand ours'
    )
    assert not folder.exists()


def test_a_copy_goes_into_no_folder_that_is_there(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("mine", encoding="utf-8")
    (tmp_path / "link").symlink_to("nowhere")
    for path in (tmp_path, file, tmp_path / "link"):
        assert told(lambda path=path: copy_of("longhand", path)) == (  # type: ignore[misc]
            f"{path}: this exists already; give the name of a new folder, e.g. ours"
        )
    assert file.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("no/where", "No such file or directory"),
        ("file/ours", "Not a directory"),
        ("a" * 300, "File name too long"),
        ("a\0b", "its name holds a zero byte"),
    ],
    ids=["no-parent", "under-a-file", "long", "zero"],
)
def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path, name: str, why: str) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    folder = tmp_path / name
    assert told(lambda: copy_of("longhand", folder)) == f"{folder}: this folder cannot be made ({why})"
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
