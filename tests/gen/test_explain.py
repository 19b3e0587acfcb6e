"""A worked program with words beside its blocks."""

from pathlib import Path
from typing import Final

import pytest

from gen.explain import WIDEST, explain
from gen.job import Job
from post.posts import shipped
from post.userfile import InputError
from tests.jobs import make_job
from tests.programs import DROPPED, SETTINGS, STILL, able, all_posted, own_post, program_text, task_of

JOB: Final = make_job()


def blocks_of(text: str) -> list[str]:
    """The program again, out of what is told of it: the lines behind a number, without words."""
    told = [line for line in text.split("\n") if line and line.split(" |")[0].split()]
    numbered = [line.lstrip().partition("  ") for line in told if line.lstrip().split("  ")[0].isdigit()]
    return [block.split("  | ")[0].rstrip() for _, _, block in numbered]


@pytest.mark.parametrize("name", list(shipped()))
@pytest.mark.parametrize("job", [JOB, STILL, SETTINGS, DROPPED], ids=["feed", "still", "settings", "lift"])
def test_every_line_of_every_program_is_there_as_it_stands(job: Job, name: str) -> None:
    if name not in able(job):
        with pytest.raises(InputError, match=f'the post "{name}" cannot express this job'):
            explain(task_of(job, name))
        return
    texts = all_posted(job, name)
    own = [line.strip() for text in texts for line in text.split("\n") if line.strip()]
    framed = {"%", "O0001"}
    assert blocks_of(explain(task_of(job, name))[0]) == [line for line in own if line not in framed]


def test_words_stand_beside_a_block_and_under_a_long_one() -> None:
    told, understood = explain(task_of(JOB))
    lines = told.split("\n")
    assert understood
    at = next(number for number, line in enumerate(lines) if "M5 (nothing turns yet)" in line)
    assert lines[at].endswith("  M5 (nothing turns yet)                          | stop the spindle")
    long = next(number for number, line in enumerate(lines) if "(feed through bore 1)" in line)
    assert "|" not in lines[long]
    assert lines[long + 1].strip() == "| feed to X -34.5 at 38 mm/min (0.05 mm a spindle turn)"
    bars = {line.index("| ") for line in lines if "| " in line}
    assert len(bars) == 1
    assert bars.pop() == len(f"{len(lines)}") + 2 + WIDEST + 2


def test_comments_have_no_words() -> None:
    comments = [line for line in explain(task_of(JOB))[0].split("\n") if line.split("  ", 1)[-1].startswith("(")]
    assert len(comments) > 10
    assert not any("|" in line for line in comments)


def test_several_programs_are_told_one_after_the_other() -> None:
    parts = explain(task_of(SETTINGS, "one-pass"))[0].split("\n\n")
    assert len(parts) == 3
    for number, part in enumerate(parts, 1):
        assert part.split("\n")[0].strip().startswith("1  ")
        assert f"(Program {number} of 3, " in part
        assert part.endswith("| end of the program")


def test_a_program_without_a_block_has_no_lines(tmp_path: Path) -> None:
    name = own_post(tmp_path / "ours", "longhand")
    (tmp_path / "ours" / "program.j2").write_text("", encoding="utf-8")
    task = task_of(JOB, name)
    assert program_text(task) == ""
    assert explain(task)[0] == ""


def test_what_the_control_cannot_interpret_is_told_at_its_block(tmp_path: Path) -> None:
    name = own_post(tmp_path / "ours", "longhand", template=(("M30", "G7\nM30"),))
    told, understood = explain(task_of(JOB, name))
    lines = told.split("\n")
    assert not understood
    assert lines[-2].split(None, 1)[1].startswith("G7 ")
    assert "| cannot be interpreted: G7; expected a code of RS-274/NGC" in lines[-2]
