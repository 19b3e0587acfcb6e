"""The straight line through the house: job file -> plan -> text -> proof."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from gen import jobfile
from gen.header import header
from gen.job import Job
from gen.jobfile import JobFile
from gen.planner import plan_programs, plan_walk
from gen.proof import Verdict, prove
from post.motion import Plan
from post.posts import Post, find, shipped
from post.userfile import InputError
from post.views import CannotExpressError
from post.writer import Names, write


class Task(NamedTuple):
    """A job to be done under a post: boring it, or walking through it; ``plans`` are its programs, run in order."""

    source: JobFile
    post: Post
    plans: tuple[Plan, ...]
    walk: bool

    @property
    def inputs(self) -> list[Path]:
        """Every file the task was made from."""
        return [*self.source.inputs, self.post.dialect_path, self.post.template]

    @property
    def job(self) -> Job:
        """The job itself."""
        return self.source.job


def begin(path: Path, post_name: str, *, walk: bool) -> Task:
    """Read a job and plan it. Raises InputError, at its place."""
    source = jobfile.load(path)
    post = find(post_name)
    with source.placing():
        source = source._replace(job=_settled(source.job, post))
        planned = plans_of(source.job, post, walk=walk)
    return Task(source, post, planned, walk)


def plans_of(job: Job, post: Post, *, walk: bool) -> tuple[Plan, ...]:
    """What the programs of a job are to do. Raises InputError, at its key."""
    return (plan_walk(job, post.dialect),) if walk else plan_programs(job, post.dialect)


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
    with source.placing():
        return fit(source.job, find(post_name).dialect)


def program_texts(task: Task) -> list[str]:
    """The programs of a task. Raises InputError, naming the posts that can, when its post cannot express the job."""
    try:
        return texts_of(task.job, task.post, task.plans, walk=task.walk)
    except CannotExpressError as error:
        able = [name for name in shipped() if name != task.post.name and _can(task, name)]
        help_ = f"these can: {', '.join(f'--post {name}' for name in able)}" if able else "no post that ships can"
        raise InputError(
            f'the post "{task.post.name}" cannot express this job: {error}; {help_}', file=task.source.path
        ) from None


def texts_of(job: Job, post: Post, plans: Sequence[Plan], *, walk: bool) -> list[str]:
    """The programs of a job's plans. Raises CannotExpressError, and InputError where the template fails."""
    return [
        write(
            plan,
            header(job, post, walk=walk, part=part, parts=len(plans)),
            post.dialect,
            post.template,
            Names(job.name, job.program_number, part, len(plans)),
        )
        for part, plan in enumerate(plans, 1)
    ]


def _can(task: Task, name: str) -> bool:
    post = find(name)
    try:
        texts_of(task.job, post, plans_of(task.job, post, walk=task.walk), walk=task.walk)
    except (CannotExpressError, InputError):
        return False
    return True


def prove_texts(
    task: Task,
    texts: Sequence[str],
    *,
    physics_only: bool,
    read_twice: bool,
    advance: Callable[[int], None] | None = None,
) -> Verdict:
    """The proof of the programs of a task. Raises InputError when they are not as many as the task has."""
    if not physics_only and len(texts) != len(task.plans):
        raise InputError(
            f'the post "{task.post.name}" writes {len(task.plans)} programs for this job, to be proved together;'
            f" {len(texts)} given",
            file=task.source.path,
        )
    return prove(
        texts,
        task.job,
        task.post.dialect,
        plans=None if physics_only else task.plans,
        walk_through=task.walk,
        read_twice=read_twice,
        advance=advance,
    )
