"""The straight line through the house: job file -> plan -> text -> proof."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from gen import jobfile
from gen.header import header
from gen.job import Job
from gen.jobfile import JobFile
from gen.planner import plan, plan_walk
from gen.proof import Verdict, prove
from post.motion import Plan
from post.posts import Post, find, shipped
from post.userfile import InputError
from post.writer import CannotExpressError, refusal, write


class Task(NamedTuple):
    """A job to be done under a post: boring it, or walking through it."""

    source: JobFile
    post: Post
    plan: Plan
    walk: bool

    @property
    def inputs(self) -> list[Path]:
        """Every file the task was made from."""
        table = [] if self.source.table is None else [self.source.table.path]
        return [self.source.path, *table, self.post.dialect_path, self.post.template]

    @property
    def job(self) -> Job:
        """The job itself."""
        return self.source.job


def begin(path: Path, post_name: str, *, walk: bool) -> Task:
    """Read a job and plan it. Raises InputError, at its place."""
    source = jobfile.load(path)
    post = find(post_name)
    try:
        source = source._replace(job=_settled(source.job, post))
        planned = plan_walk(source.job, post.dialect) if walk else plan(source.job, post.dialect)
    except InputError as error:
        raise source.at_place(error) from None
    return Task(source, post, planned, walk)


def _settled(job: Job, post: Post) -> Job:
    """The job with its leave angle a number."""
    if job.path.leave_angle != "auto":
        return job
    from gen.angle import nearest_upright, with_angle

    return with_angle(job, nearest_upright(job, post.dialect))


def look_at_fit(path: Path, post_name: str) -> dict[str, Any]:
    """The figures of ``gen.fit`` for a job file. Raises InputError, at its place."""
    from gen.fit import fit

    source = jobfile.load(path)
    try:
        return fit(source.job, find(post_name).dialect)
    except InputError as error:
        raise source.at_place(error) from None


def program_text(task: Task) -> str:
    """The program of a task. Raises InputError, naming the posts that can, when its post cannot express the job."""
    try:
        return write(task.plan, header(task.job, task.post, walk=task.walk), task.post.dialect, task.post.template)
    except CannotExpressError as error:
        able = [name for name in shipped() if _can(task, name)]
        help_ = f"these can: {', '.join(f'--post {name}' for name in able)}" if able else "no post that ships can"
        raise InputError(
            f'the post "{task.post.name}" cannot express this job: {error}; {help_}', file=task.source.path
        ) from None


def _can(task: Task, name: str) -> bool:
    dialect = find(name).dialect
    return refusal(plan(task.job, dialect), dialect) is None


def prove_text(
    task: Task, text: str, *, physics_only: bool, read_twice: bool, advance: Callable[[int], None] | None = None
) -> Verdict:
    """The proof of a program for a task."""
    return prove(
        text,
        task.job,
        task.post.dialect,
        plan=None if physics_only else task.plan,
        walk_through=task.walk,
        read_twice=read_twice,
        advance=advance,
    )
