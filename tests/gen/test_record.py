from pathlib import Path

import pytest

from gen import record
from gen.readings import Measured, of_rows
from post.userfile import InputError
from tests.jobs import INCH_TEXT, make_job, told
from tests.shop import line, round_of, rows, sized_job

JOB = sized_job()
ONE = round_of(JOB, 83.08, [83.07, 83.071, 83.072])
TWO = round_of(JOB, 83.85, [83.8, 83.801, 83.802])
HEAD = "round,bore,set,angle,depth,reading,pass,note\n"


def test_a_record_stands_beside_its_job() -> None:
    assert record.path_of(Path("shop/harbour.toml")) == Path("shop/harbour-record.csv")


def test_no_record_is_no_rounds(tmp_path: Path) -> None:
    assert record.load(tmp_path / "none.csv", JOB) == ()


def test_rounds_are_added_and_read_again(tmp_path: Path) -> None:
    path = tmp_path / "job-record.csv"
    assert (record.append(path, JOB, ONE), record.append(path, JOB, TWO)) == (1, 2)
    first, second = record.load(path, JOB)
    assert first.is_same(ONE)
    assert second.is_same(TWO)
    assert path.read_text(encoding="utf-8").startswith(f"{HEAD}1,1,83.080,,,83.0700,,\n")
    assert [*tmp_path.iterdir()] == [path]


def test_a_round_is_not_added_twice(tmp_path: Path) -> None:
    path = tmp_path / "job-record.csv"
    for measured in (ONE, TWO):
        record.append(path, JOB, measured)
    before = path.read_bytes()
    assert (record.append(path, JOB, ONE), record.append(path, JOB, TWO)) == (1, 2)
    assert path.read_bytes() == before


def test_what_was_written_is_kept_as_it_was(tmp_path: Path) -> None:
    """Inches come back as they were typed, and so do notes, passes and odd names."""
    job = make_job(INCH_TEXT, bore=[{"name": 'a, "b"', "face": 0, "width": 1.25, "diameter": 3.3125}])
    told_so = of_rows(rows([line('a, "b"', "3.3100", 45, ".5", "3.3107", pass_=1, note="keep")]), job)
    record.append(tmp_path / "r.csv", job, told_so)
    (again,) = record.load(tmp_path / "r.csv", job)
    assert again.is_same(told_so)
    assert again.readings[0][:7] == told_so.readings[0][:7]


DAMAGED = [
    (f"{HEAD}1,1,83.08,,,83.07,,\n3,1,83.8,,,83.7,,\n", 3, 'round: "3" is out of order, rounds are counted from 1'),
    (f"{HEAD}2,1,83.08,,,83.07,,\n", 2, 'round: "2" is out of order'),
    (f"{HEAD}0,1,83.08,,,83.07,,\n", 2, 'round: "0" is out of order'),
    (f"{HEAD}1,1,83.08,,,83.07,,\n2,1,83.8,,,83.7,,\n1,1,83.8,,,83.7,,\n", 4, 'round: "1" is out of order'),
    (f"{HEAD},1,83.08,,,83.07,,\n", 2, 'round: "" is out of order'),
    (f"{HEAD}x,1,83.08,,,83.07,,\n", 2, 'round: "x" must be a plain number, e.g. 1'),
    (f"{HEAD}1,1,83.08,,,-83.07,,\n", 2, "reading: -83.07 must be more than 0"),
    (f"{HEAD}1,9,83.08,,,83.07,,\n", 2, 'bore: the job has no bore "9"'),
    (f"{HEAD}1,1,83.08,,,83.07\n", 2, "6 fields under 8 headings"),
    (HEAD.replace(",note", ""), 1, 'no column is headed "note"'),
    ("", 1, "the file is empty"),
]


@pytest.mark.parametrize(("text", "at", "says"), DAMAGED)
def test_a_damaged_record_is_refused_and_left_as_it_is(tmp_path: Path, text: str, at: int, says: str) -> None:
    path = tmp_path / "job-record.csv"
    path.write_text(text, encoding="utf-8")
    assert told(lambda: record.load(path, JOB)).startswith(f"{path}:{at}: {says}")
    assert told(lambda: record.append(path, JOB, TWO)).startswith(f"{path}:{at}: {says}")
    assert path.read_text(encoding="utf-8") == text


def test_what_was_asked_about_once_is_not_asked_again(tmp_path: Path) -> None:
    wild = of_rows(rows([line(1, 83.08, a, "", size) for a, size in ((0, 83.0), (45, 83.0), (90, 83.2))]), JOB)
    record.append(tmp_path / "r.csv", JOB, wild)
    assert len(record.load(tmp_path / "r.csv", JOB)) == 1


def test_a_record_too_large_to_be_read_again_is_not_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job-record.csv"
    record.append(path, JOB, ONE)
    before = path.read_bytes()
    monkeypatch.setattr(record, "MOST_BYTES", len(before) + 10)
    with pytest.raises(
        InputError, match=r"this record would become larger than .* MB, the most it may be; move it away"
    ):
        record.append(path, JOB, TWO)
    assert path.read_bytes() == before


def test_nothing_is_left_behind_where_it_cannot_be_written(tmp_path: Path) -> None:
    path = tmp_path / "no-such-folder" / "job-record.csv"
    assert told(lambda: record.append(path, JOB, Measured(ONE.readings))).endswith("make it first")
    assert [*tmp_path.iterdir()] == []
