"""Programs for tests: posted, edited by hand, proved."""

import functools
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from shutil import copytree
from typing import Final, NamedTuple

from gen.job import Job
from gen.jobfile import JobFile
from gen.pipeline import Task, plans_of, program_texts, prove_texts
from gen.proof import Verdict
from post.finding import Finding
from post.posts import LIBRARY, find, shipped
from post.views import refusal
from tests.jobs import edited, make_job

ROOT: Final = Path(__file__).parent.parent
NOT_FITTING: Final = ROOT / "samples" / "dock-crane.toml"
"""The sample whose head does not go in: it has no program."""
SAMPLES: Final = tuple(sorted({*(ROOT / "samples").glob("*.toml")} - {NOT_FITTING}))
assert SAMPLES, "no samples found"


class Edit(NamedTuple):
    """A program edited by hand, and the number of the line where it was."""

    text: str
    line: int


Editing = Callable[[str], Edit]

SETTINGS: Final = make_job(
    bore=[
        {"face": 0, "width": 32, "diameter": 84.0},
        {"face": -130, "width": 28, "diameter": 90.0},
        {"face": -255, "width": 32, "diameter": 84.0},
    ]
)
"""The cutter is set anew before the second bore and before the third."""

STILL: Final = make_job(path={"withdraw": "still"})
DROPPED: Final = make_job(
    head={"ratio": 1.0}, path={"withdraw": "lift", "lift": {"amount": 0.3, "toward": "-Z", "angle": 90.0}}
)
"""Withdrawn with the spindle stopped at 90 degrees and the bar 0.3 mm lower."""


def task_of(job: Job, post_name: str = "longhand", *, walk: bool = False) -> Task:
    """A job, planned for a post."""
    post = find(post_name)
    return Task(JobFile(job, Path("job.toml"), "", None), post, plans_of(job, post, walk=walk), walk)


def program_text(task: Task) -> str:
    """The program of a task that has one."""
    (text,) = program_texts(task)
    return text


def prove_text(task: Task, text: str, *, physics_only: bool = False, read_twice: bool = False) -> Verdict:
    """The proof of the program of a task that has one."""
    return prove_texts(task, [text], physics_only=physics_only, read_twice=read_twice)


@functools.lru_cache(maxsize=64)
def all_posted(job: Job, post_name: str, *, walk: bool = False) -> tuple[str, ...]:
    """The programs of a job."""
    return tuple(program_texts(task_of(job, post_name, walk=walk)))


def posted(job: Job, post_name: str = "longhand", *, walk: bool = False) -> str:
    """The program of a job that has one."""
    (text,) = all_posted(job, post_name, walk=walk)
    return text


def able(job: Job) -> list[str]:
    """The posts that can express a job."""
    tasks = {name: task_of(job, name) for name in shipped()}
    return [
        name for name, task in tasks.items() if all(refusal(plan, task.post.dialect) is None for plan in task.plans)
    ]


def own_post(folder: Path, name: str, *changes: tuple[str, str], template: tuple[tuple[str, str], ...] = ()) -> str:
    """A copy of a post that ships, its dialect and its template edited; its folder, to be told as a post."""
    copytree(LIBRARY / name, folder)
    for file, pairs in (("dialect.toml", changes), ("program.j2", template)):
        path = folder / file
        path.write_text(edited(path.read_text(encoding="utf-8"), *pairs), encoding="utf-8")
    return str(folder)


def verdict_of_all(
    job: Job, texts: Sequence[str], post_name: str, *, walk: bool = False, physics_only: bool = False
) -> Verdict:
    """The proof of the programs that are run for a job one after the other."""
    return prove_texts(task_of(job, post_name, walk=walk), texts, physics_only=physics_only, read_twice=False)


def verdict_of(
    job: Job, text: str, post_name: str = "longhand", *, walk: bool = False, physics_only: bool = False
) -> Verdict:
    """The proof of a text for a job."""
    return verdict_of_all(job, [text], post_name, walk=walk, physics_only=physics_only)


def prove_edited(
    job: Job, edit: Editing, post_name: str = "longhand", *, walk: bool = False, physics_only: bool = False
) -> tuple[int, list[Finding]]:
    """Post a job, see that its program proves, edit it, prove again: the line edited, and what was found."""
    text = posted(job, post_name, walk=walk)
    assert verdict_of(job, text, post_name, walk=walk, physics_only=physics_only).proved
    edited = edit(text)
    assert edited.text != text, "the edit changes nothing"
    return edited.line, list(verdict_of(job, edited.text, post_name, walk=walk, physics_only=physics_only).findings)


def told(findings: Iterable[Finding], rule: str, line: int, found: str, expected: str) -> bool:
    """Whether a rule is told at a line with these phrases in what was found and what was expected."""
    return any(
        (finding.rule, finding.line) == (rule, line) and found in finding.found and expected in finding.expected
        for finding in findings
    )


def change(old: str, new: str, nth: int = 1) -> Editing:
    """Change ``old`` to ``new`` where it stands for the nth time; ``new`` may hold more lines, or none."""

    def edit(text: str) -> Edit:
        at = -1
        for _ in range(nth):
            at = text.find(old, at + 1)
            assert at >= 0, f"{old!r} does not stand {nth} times in the program"
        return Edit(text[:at] + new + text[at + len(old) :], text.count("\n", 0, at) + 1)

    return edit


def delete(old: str, nth: int = 1) -> Editing:
    """Take out the whole line that holds ``old`` for the nth time; the line told is the one that then stands there."""

    def edit(text: str) -> Edit:
        line = change(old, "", nth)(text).line
        lines = text.split("\n")
        return Edit("\n".join(lines[: line - 1] + lines[line:]), line)

    return edit


def insert(new: str, before: str, nth: int = 1) -> Editing:
    """Put a line before the one that holds ``before`` for the nth time."""

    def edit(text: str) -> Edit:
        line = change(before, "", nth)(text).line
        lines = text.split("\n")
        return Edit("\n".join([*lines[: line - 1], new, *lines[line - 1 :]]), line)

    return edit


def both(*edits: Editing) -> Editing:
    """One edit after the other; the line told is the first one's."""

    def edit(text: str) -> Edit:
        first = edits[0](text)
        for following in edits[1:]:
            first = Edit(following(first.text).text, first.line)
        return first

    return edit
