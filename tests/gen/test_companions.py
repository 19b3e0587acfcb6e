"""What stands beside a program: where it goes, and that all of it is about the same programs."""

from pathlib import Path

from gen import companions
from gen.header import fingerprint
from gen.pipeline import begin, program_texts, prove_texts
from tests.programs import ROOT


def test_where_they_go() -> None:
    assert companions.beside(Path("out/row.tap")) == {
        "sheet": Path("out/row-sheet.html"),
        "page": Path("out/row-page.html"),
    }


def test_of_several_programs_there_is_one_of_each() -> None:
    task = begin(ROOT / "samples" / "brickworks-press.toml", "one-pass", walk=False)
    programs = program_texts(task)
    verdict = prove_texts(task, programs, physics_only=False, read_twice=False)
    names = [f"press-{number}.nc" for number in range(1, len(programs) + 1)]
    told = companions.texts(task, programs, verdict, [Path(name) for name in names])
    mark = fingerprint(task.job, task.post, walk=False)
    assert len(programs) > 1
    assert list(told) == list(companions.KINDS)
    for text in (*told.values(), *programs):
        assert mark in text
    assert all(name in told["sheet"] for name in names)
