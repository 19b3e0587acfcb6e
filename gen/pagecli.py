"""The commands that write HTML: page, sheet. Thin, as gen.cli is."""

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

import click

from gen.options import JOB, MOST_PROGRAM_BYTES, POST

Command = TypeVar("Command", bound=Callable[..., None])

PROGRAMS = click.argument("program", type=click.Path(path_type=Path), nargs=-1)
WALK = click.option("--walk", is_flag=True, help="The walk-through instead of the program that bores.")
PHYSICS_ONLY = click.option(
    "--physics-only", is_flag=True, help="Do not hold PROGRAM against the plan: for programs edited by hand."
)
FORCE = click.option("--force", is_flag=True, help="Replace the file if it exists.")
OPEN = click.option("--open", "open_it", is_flag=True, help="Show the file in a browser.")


def _out(kind: str) -> Callable[[Command], Command]:
    told = f"The {kind}'s file; by default the job's, ending in -{kind}.html."
    return click.option("--out", type=click.Path(path_type=Path), help=told)


@click.command("page")
@JOB
@PROGRAMS
@POST
@WALK
@PHYSICS_ONLY
@click.option(
    "--survey", type=click.Path(path_type=Path), help="Picture the line to bore on, too, from a survey as for line."
)
@_out("page")
@FORCE
@OPEN
def page_command(
    job: Path, program: tuple[Path, ...], survey: Path | None, out: Path | None, walk: bool, **options: Any
) -> None:
    """Write a page that replays what JOB is posted to, read back and judged; exit code 1 if it does not prove.

    PROGRAM, or several that are run in this order, is replayed in place of what the post writes.
    """

    def text(task: Any, texts: Sequence[str], verdict: Any) -> str:
        from gen.page import page

        line = None
        if survey is not None:
            from gen.linefacts import facts
            from gen.survey import read

            with task.source.placing():
                line = facts(task.job, read(survey, task.job))
        return page(task, texts, verdict, physics_only=options["physics_only"], line=line)

    target = out or _beside(job, "page", walk=walk)
    _write(job, program, target, text, walk=walk, also_read=[] if survey is None else [survey], **options)


@click.command("sheet")
@JOB
@PROGRAMS
@POST
@WALK
@PHYSICS_ONLY
@_out("sheet")
@FORCE
@OPEN
def sheet_command(job: Path, program: tuple[Path, ...], out: Path | None, walk: bool, **options: Any) -> None:
    """Write the setup sheet of JOB, to be printed; exit code 1 if what it is posted to does not prove.

    PROGRAM, or several that are run in this order, is judged in place of what the post writes.
    """

    def text(task: Any, texts: Sequence[str], verdict: Any) -> str:
        from gen.sheet import sheet

        return sheet(task, verdict, program, physics_only=options["physics_only"])

    _write(job, program, out or _beside(job, "sheet", walk=walk), text, walk=walk, **options)


def _beside(job: Path, kind: str, *, walk: bool) -> Path:
    return job.parent / (f"{job.stem}-walk-{kind}.html" if walk else f"{job.stem}-{kind}.html")


def _write(
    job: Path,
    program: Sequence[Path],
    target: Path,
    text: Callable[[Any, Sequence[str], Any], str],
    *,
    post_name: str,
    walk: bool,
    physics_only: bool,
    force: bool,
    open_it: bool,
    also_read: Sequence[Path] = (),
) -> None:
    """Judge what a job is posted to, or the programs given, and put a file about it in place, proved or not."""
    from gen.pipeline import begin, program_texts, prove_texts
    from gen.release import check_apart, check_free, release
    from post.userfile import read_text

    task = begin(job, post_name, walk=walk)
    check_apart(target, [*task.inputs, *program, *also_read])
    check_free(target, force=force)
    texts = [read_text(path, what="program", most_bytes=MOST_PROGRAM_BYTES, keep_mark=True) for path in program]
    texts = texts or program_texts(task)
    verdict = prove_texts(task, texts, physics_only=physics_only, read_twice=False)
    release({target: text(task, texts, verdict)}, force=force)
    click.echo(f"{target}: {_told(verdict, physics_only=physics_only)}")
    if open_it:
        _show(target)
    sys.exit(0 if verdict.proved else 1)


def _told(verdict: Any, *, physics_only: bool) -> str:
    count = len(verdict.findings)
    if count:
        return f"NOT PROVED, {count} {'finding' if count == 1 else 'findings'}"
    return "PROVED, physics only, not held to the plan" if physics_only else "PROVED"


def _show(target: Path) -> None:
    import webbrowser

    if not webbrowser.open(target.resolve().as_uri()):
        click.echo(f"{target}: no browser was found; open the file in one", err=True)
