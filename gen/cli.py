"""The command line: parse, call, print. No formula lives here."""

import gc
import io
import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

# Starting makes many objects that stay: looking among them for cycles every 700 costs a twentieth of a start.
gc.set_threshold(100_000, 20, 20)

# A plugin that some other package brings must not change what a job means; looking for one costs a tenth of a start.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")

from gen.linecli import line_command
from gen.options import AS_JSON, JOB, MOST_PROGRAM_BYTES, POST
from gen.pagecli import page_command, sheet_command
from gen.postscli import posts_group, print_json
from gen.sizecli import inspect_command, size_command
from post.userfile import InputError

READ_TWICE = click.option(
    "--read-twice", is_flag=True, help="Make the second, independent reading however long the program is."
)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="borewright", message="borewright %(version)s")
def borewright() -> None:
    """Write CNC programs that bore a row of housings in line through a right-angle head, and prove them.

    Exit code 0: proved. 1: there are findings. 2: bad input, nothing written.
    """


@borewright.command("write")
@JOB
@POST
@click.option("--out", type=click.Path(path_type=Path), help="The program's file; by default the job's, ending in .nc.")
@click.option("--force", is_flag=True, help="Replace the file if it exists.")
@click.option(
    "--walk", is_flag=True, help="Write the walk-through: visit every start, stop there, never turn the spindle."
)
@click.option(
    "--pages/--no-pages",
    default=True,
    show_default=True,
    help="Put the setup sheet and the page that replays it beside the program.",
)
@click.option("--keep-rejected", type=click.Path(path_type=Path), help="Where to keep a program that does not prove.")
@READ_TWICE
@AS_JSON
def write_command(
    job: Path,
    post_name: str,
    out: Path | None,
    force: bool,
    walk: bool,
    pages: bool,
    keep_rejected: Path | None,
    read_twice: bool,
    as_json: bool,
) -> None:
    """Plan JOB, post it, prove the program, and only then put it in place, with setup sheet and page."""
    from gen import companions
    from gen.header import rejected
    from gen.journal import settle
    from gen.pipeline import begin, program_texts
    from gen.release import check_apart, check_free, places, release

    for path in filter(None, (out or job, keep_rejected)):
        settle(path.parent)
    task = begin(job, post_name, walk=walk)
    named = out or job.with_name(f"{job.stem}-walk.nc" if walk else f"{job.stem}.nc")
    targets = places(named, len(task.plans))
    beside = companions.beside(named) if pages else {}
    kept = places(keep_rejected, len(task.plans)) if keep_rejected else []
    for place in (*targets, *beside.values(), *kept):
        check_apart(place, task.inputs)
        check_free(place, force=force)
    texts = program_texts(task)
    verdict = _prove(task, texts, physics_only=False, read_twice=read_twice)
    if verdict.proved:
        told = companions.texts(task, texts, verdict, targets) if pages else {}
        release(
            {**dict(zip(targets, texts, strict=True)), **{path: told[kind] for kind, path in beside.items()}},
            force=force,
        )
    elif kept:
        release(dict(zip(kept, map(rejected, texts), strict=True)), force=force)
        click.echo(f"{', '.join(map(str, kept))}: kept to look at, not to run: it is not proved", err=True)
    _tell(task, verdict, targets if verdict.proved else [], as_json, beside=beside if verdict.proved else {})


@borewright.command("prove")
@JOB
@click.argument("program", type=click.Path(path_type=Path), nargs=-1, required=True)
@POST
@click.option(
    "--physics-only", is_flag=True, help="Do not hold the program against the plan: for programs edited by hand."
)
@click.option("--walk", is_flag=True, help="The program is a walk-through.")
@READ_TWICE
@AS_JSON
def prove_command(
    job: Path,
    program: tuple[Path, ...],
    post_name: str,
    physics_only: bool,
    walk: bool,
    read_twice: bool,
    as_json: bool,
) -> None:
    """Prove an existing PROGRAM for JOB, or several that are run in this order; nothing is written."""
    from gen.pipeline import begin
    from post.userfile import read_text

    task = begin(job, post_name, walk=walk)
    texts = [read_text(path, what="program", most_bytes=MOST_PROGRAM_BYTES, keep_mark=True) for path in program]
    verdict = _prove(task, texts, physics_only=physics_only, read_twice=read_twice)
    _tell(task, verdict, program, as_json, physics_only=physics_only)


@borewright.command("show")
@JOB
@POST
@click.option("--walk", is_flag=True, help="Show the walk-through.")
@AS_JSON
def show_command(job: Path, post_name: str, walk: bool, as_json: bool) -> None:
    """Show the plan of JOB as a table of moves; nothing is written."""
    from gen.listing import listing, table
    from gen.pipeline import begin

    task = begin(job, post_name, walk=walk)
    if as_json:
        steps = [{"program": number, **step} for number, plan in enumerate(task.plans, 1) for step in listing(plan)]
        print_json({"job": task.job.name, "units": task.job.units, "steps": steps})
    else:
        click.echo("\n\n".join([task.job.name, *map(table, task.plans)]))


@borewright.command("fit")
@JOB
@POST
@AS_JSON
def fit_command(job: Path, post_name: str, as_json: bool) -> None:
    """Tell whether the head fits every bay of JOB, and what would make it fit; nothing is written."""
    from gen.fitreport import fit_text
    from gen.pipeline import look_at_fit

    facts = look_at_fit(job, post_name)
    if as_json:
        print_json(facts)
    else:
        click.echo(fit_text(facts))
    sys.exit(0 if facts["ok"] else 1)


@borewright.command("new")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--units", type=click.Choice(["mm", "inch"]), default="mm", show_default=True, help="Unit of the job's lengths."
)
@click.option("--force", is_flag=True, help="Replace the file if it exists.")
def new_command(file: Path, units: Any, force: bool) -> None:
    """Write a commented job to start from into FILE."""
    from gen.jobfile import starter
    from gen.release import release

    release({file: starter(units)}, force=force)
    click.echo(f"{file}: change its numbers to yours, then: borewright write {file}")


@borewright.command("schema")
def schema_command() -> None:
    """Print the JSON Schema of a job file, for editors that check as you type."""
    from gen.jobfile import schema

    print_json(schema())


@borewright.command("read")
@click.argument("program", type=click.Path(path_type=Path))
@POST
@AS_JSON
def read_command(program: Path, post_name: str, as_json: bool) -> None:
    """Read any PROGRAM by a post, without a job: moves, extents, times, codes, and what cannot be interpreted."""
    from gen.foreign import facts, words
    from post.posts import find
    from post.userfile import read_text

    text = read_text(program, what="program", most_bytes=MOST_PROGRAM_BYTES, keep_mark=True)
    post = find(post_name)
    told = facts(text, post.dialect, post.name)
    if as_json:
        print_json(told)
    else:
        click.echo(words(told))
    sys.exit(0 if told["ok"] else 1)


for command in (posts_group, line_command, size_command, inspect_command, page_command, sheet_command):
    borewright.add_command(command)


def _prove(task: Any, texts: Sequence[str], *, physics_only: bool, read_twice: bool) -> Any:
    from gen.pipeline import prove_texts

    prove: Callable[..., Any] = prove_texts
    if not read_twice:
        return prove(task, texts, physics_only=physics_only, read_twice=False)
    blocks = sum(text.count("\n") + 1 for text in texts)
    with click.progressbar(length=blocks, label="reading twice", file=sys.stderr) as bar:
        return prove(task, texts, physics_only=physics_only, read_twice=True, advance=bar.update)


def _tell(
    task: Any,
    verdict: Any,
    programs: Sequence[Path],
    as_json: bool,
    *,
    physics_only: bool = False,
    beside: Mapping[str, Path] | None = None,
) -> None:
    from gen.report import report
    from gen.summary import summary

    facts = summary(task, verdict, programs, physics_only=physics_only, beside=beside)
    if as_json:
        print_json(facts)
    else:
        click.echo(report(facts))
    sys.exit(0 if verdict.proved else 1)


def main() -> None:
    """Run the command line; a mistake of the user's, or of ours, ends in one message and exit code 2."""
    # What a terminal cannot show, as parts of a file's name, is no reason to stop half-way.
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        sys.exit(borewright(standalone_mode=False))
    except click.ClickException as error:
        with _as_far_as_can_be():
            error.show()
        sys.exit(2)
    except InputError as error:
        with _as_far_as_can_be():
            if "--json" in sys.argv[1:]:
                file = None if error.file is None else str(error.file)
                place = {"file": file, "line": error.line, "message": error.problem}
                print_json({"ok": False, "findings": [], "program": None, "error": place})
            click.echo(f"borewright: {error}", err=True)
        sys.exit(2)
    except (click.Abort, KeyboardInterrupt):
        sys.exit(130)
    except BrokenPipeError:
        _say_no_more()
        sys.exit(2)
    except Exception as error:
        said = f"a mistake of its own, please report it: {type(error).__name__}: {error}"
        if isinstance(error, OSError) and error.filename is None:  # no file: what is open all along takes no more
            said = f"this cannot be printed ({error.strerror}); a file that was to be written may stand there"
        with _as_far_as_can_be():
            click.echo(f"borewright: {said}", err=True)
        sys.exit(2)


@contextmanager
def _as_far_as_can_be() -> Iterator[None]:
    """Let a stream that takes nothing keep no exit code from being given."""
    try:
        yield
    except OSError:
        _say_no_more()


def _say_no_more() -> None:
    """Print into nothing from here on, or closing a stream would complain again and change the exit code."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except OSError:
            os.dup2(nowhere, stream.fileno())
