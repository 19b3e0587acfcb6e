"""The commands about posts: list, copy, try, explain. Thin, as gen.cli is."""

import sys
from pathlib import Path
from typing import Any

import click

FOLDER = click.argument("name_or_folder", metavar="NAME|FOLDER")


@click.group("posts", invoke_without_command=True)
@click.pass_context
def posts_group(context: click.Context) -> None:
    """List the posts that ship; copy one, try a copy, explain what it writes.

    A post is a folder: dialect.toml says what the control reads, program.j2 how a program is laid out.
    """
    if context.invoked_subcommand is not None:
        return
    from post.posts import find, shipped

    names = list(shipped())
    width = max(map(len, names))
    for name in names:
        click.echo(f"{name:<{width}}  {find(name).dialect.about}")


@posts_group.command("copy")
@click.argument("name")
@click.argument("folder", type=click.Path(path_type=Path))
def copy_command(name: str, folder: Path) -> None:
    """Copy the post NAME into a new FOLDER, to be changed there."""
    from gen.release import release
    from post.posts import copy_of

    texts = copy_of(name, folder)
    try:
        release(texts, force=False)
    except BaseException:
        folder.rmdir()
        raise
    click.echo(f"{folder}: change dialect.toml and program.j2 there, then: borewright posts try {folder}")


@posts_group.command("try")
@FOLDER
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of the table.")
def try_command(name_or_folder: str, as_json: bool) -> None:
    """Prove a post on a battery of jobs; exit code 1 if it fails on one."""
    from gen.tryout import facts, how_many, outcomes, report
    from post.posts import find

    post = find(name_or_folder)
    with click.progressbar(outcomes(post), length=how_many(), label=f"trying {post.name}", file=sys.stderr) as bar:
        told = facts(post, list(bar))
    if as_json:
        print_json(told)
    else:
        click.echo(report(told))
    sys.exit(0 if told["ok"] else 1)


@posts_group.command("explain")
@FOLDER
@click.option("--job", type=click.Path(path_type=Path), help="The job to write; by default the one that new gives.")
@click.option("--units", type=click.Choice(["mm", "inch"]), default="mm", show_default=True, help="Unit of that job.")
@click.option("--walk", is_flag=True, help="Explain the walk-through.")
def explain_command(name_or_folder: str, job: Path | None, units: Any, walk: bool) -> None:
    """Print a program with what the control will do beside each block; exit code 1 if one cannot be interpreted."""
    from gen.explain import explain
    from gen.jobfile import starter_path
    from gen.pipeline import begin

    told, understood = explain(begin(job or starter_path(units), name_or_folder, walk=walk))
    click.echo(told)
    sys.exit(0 if understood else 1)


def print_json(value: Any) -> None:
    """One JSON object on standard output."""
    import json

    click.echo(json.dumps(value, indent=2, allow_nan=False))
