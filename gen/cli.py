"""The command line: parse, call, print. No formula lives here."""

import gc
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

# Starting makes many objects that stay: looking among them for cycles every 700 costs a twentieth of a start.
gc.set_threshold(100_000, 20, 20)

# A plugin that some other package brings must not change what a job means; looking for one costs a tenth of a start.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")

from post.userfile import InputError

JOB = click.argument("job", type=click.Path(path_type=Path))
POST = click.option(
    "--post",
    "post_name",
    metavar="NAME|FOLDER",
    default="longhand",
    show_default=True,
    help="Post to write and read by.",
)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of the summary.")
READ_TWICE = click.option(
    "--read-twice", is_flag=True, help="Make the second, independent reading however long the program is."
)
MOST_PROGRAM_BYTES = 256_000_000


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
@click.option("--keep-rejected", type=click.Path(path_type=Path), help="Where to keep a program that does not prove.")
@READ_TWICE
@AS_JSON
def write_command(
    job: Path,
    post_name: str,
    out: Path | None,
    force: bool,
    walk: bool,
    keep_rejected: Path | None,
    read_twice: bool,
    as_json: bool,
) -> None:
    """Plan JOB, post it, prove the program, and only then put it in place."""
    from gen.header import rejected
    from gen.pipeline import begin, program_text
    from gen.release import check_apart, check_free, release

    task = begin(job, post_name, walk=walk)
    target = out or job.with_name(f"{job.stem}-walk.nc" if walk else f"{job.stem}.nc")
    for place in (target, *([keep_rejected] if keep_rejected else [])):
        check_apart(place, task.inputs)
        check_free(place, force=force)
    text = program_text(task)
    verdict = _prove(task, text, physics_only=False, read_twice=read_twice)
    if verdict.proved:
        release(target, text, force=force)
    elif keep_rejected is not None:
        release(keep_rejected, rejected(text), force=force)
        click.echo(f"{keep_rejected}: kept to look at, not to run: it is not proved", err=True)
    _tell(task, verdict, target if verdict.proved else None, as_json)


@borewright.command("prove")
@JOB
@click.argument("program", type=click.Path(path_type=Path))
@POST
@click.option(
    "--physics-only", is_flag=True, help="Do not hold the program against the plan: for programs edited by hand."
)
@click.option("--walk", is_flag=True, help="The program is a walk-through.")
@READ_TWICE
@AS_JSON
def prove_command(
    job: Path, program: Path, post_name: str, physics_only: bool, walk: bool, read_twice: bool, as_json: bool
) -> None:
    """Prove an existing PROGRAM for JOB; nothing is written."""
    from gen.pipeline import begin
    from post.userfile import read_text

    task = begin(job, post_name, walk=walk)
    text = read_text(program, what="program", most_bytes=MOST_PROGRAM_BYTES, keep_mark=True)
    verdict = _prove(task, text, physics_only=physics_only, read_twice=read_twice)
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
        _print_json({"job": task.job.name, "units": task.job.units, "steps": listing(task.plan)})
    else:
        click.echo(f"{task.job.name}\n\n{table(task.plan)}")


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
        _print_json(facts)
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

    release(file, starter(units), force=force)
    click.echo(f"{file}: change its numbers to yours, then: borewright write {file}")


@borewright.command("schema")
def schema_command() -> None:
    """Print the JSON Schema of a job file, for editors that check as you type."""
    from gen.jobfile import schema

    _print_json(schema())


def _prove(task: Any, text: str, *, physics_only: bool, read_twice: bool) -> Any:
    from gen.pipeline import prove_text

    prove: Callable[..., Any] = prove_text
    if not read_twice:
        return prove(task, text, physics_only=physics_only, read_twice=False)
    with click.progressbar(length=text.count("\n") + 1, label="reading twice", file=sys.stderr) as bar:
        return prove(task, text, physics_only=physics_only, read_twice=True, advance=bar.update)


def _tell(task: Any, verdict: Any, program: Path | None, as_json: bool, *, physics_only: bool = False) -> None:
    from gen.report import report
    from gen.summary import summary

    facts = summary(task, verdict, program, physics_only=physics_only)
    if as_json:
        _print_json(facts)
    else:
        click.echo(report(facts))
    sys.exit(0 if verdict.proved else 1)


def _print_json(value: Any) -> None:
    import json

    click.echo(json.dumps(value, indent=2, allow_nan=False))


def main() -> None:
    """Run the command line; a mistake of the user's, or of ours, ends in one message and exit code 2."""
    try:
        sys.exit(borewright(standalone_mode=False))
    except click.ClickException as error:
        error.show()
        sys.exit(2)
    except InputError as error:
        if "--json" in sys.argv[1:]:
            file = None if error.file is None else str(error.file)
            place = {"file": file, "line": error.line, "message": error.problem}
            _print_json({"ok": False, "findings": [], "program": None, "error": place})
        click.echo(f"borewright: {error}", err=True)
        sys.exit(2)
    except (click.Abort, KeyboardInterrupt):
        sys.exit(130)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # or closing it would complain again
        sys.exit(2)
    except Exception as error:
        click.echo(f"borewright: a mistake of its own, please report it: {type(error).__name__}: {error}", err=True)
        sys.exit(2)
