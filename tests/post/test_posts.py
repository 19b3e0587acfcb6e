from pathlib import Path

import pytest

from post.posts import DEFAULT, LIBRARY, find, shipped
from post.reader import read
from post.writer import write
from tests.jobs import told
from tests.post.test_writer import PLAN

POSTS = list(shipped())


def test_the_posts_that_ship() -> None:
    assert POSTS == ["cycles", "longhand", "oriented"]
    assert DEFAULT in POSTS


@pytest.mark.parametrize("name", POSTS)
def test_a_post_that_ships_is_found_by_name(name: str) -> None:
    post = find(name)
    assert post.name == name
    assert post.dialect_path == LIBRARY / name / "dialect.toml"
    assert post.template == LIBRARY / name / "program.j2"


@pytest.mark.parametrize("name", POSTS)
def test_a_program_of_every_post_is_ascii_ends_once_and_can_be_read(name: str) -> None:
    post = find(name)
    text = write(PLAN, ["header"], post.dialect, post.template)
    assert text.isascii()
    assert text.endswith("\nM30\n")
    assert [block.finding for block in read(text, post.dialect) if block.finding] == []


def test_a_shop_s_own_folder_is_a_post(tmp_path: Path) -> None:
    folder = tmp_path / "ours"
    folder.mkdir()
    for source in (LIBRARY / "longhand").iterdir():
        (folder / source.name).write_bytes(source.read_bytes())
    post = find(str(folder))
    assert (post.name, post.template) == ("ours", folder / "program.j2")


def test_a_name_that_ships_goes_before_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "longhand").mkdir()
    monkeypatch.chdir(tmp_path)
    assert find("longhand").template == LIBRARY / "longhand" / "program.j2"


@pytest.mark.parametrize("name", ["longhnd", "/etc/hosts", "a\0b", "a" * 300], ids=["near", "file", "zero", "long"])
def test_what_is_no_post_is_told_with_those_that_are(name: str) -> None:
    assert told(lambda: find(name)) == (
        f'"{name}" is neither a post that ships (cycles, longhand, oriented) nor a folder; e.g. --post longhand'
    )


def test_a_folder_without_a_template_or_a_dialect(tmp_path: Path) -> None:
    assert told(lambda: find(str(tmp_path))) == (
        f"{tmp_path / 'program.j2'}: a post needs a template, program.j2, beside its dialect.toml"
    )
    (tmp_path / "program.j2").write_text("M30\n", encoding="utf-8")
    assert told(lambda: find(str(tmp_path))) == (
        f"{tmp_path / 'dialect.toml'}: there is no such dialect; give the path of a dialect"
    )
