"""The command about the line to bore on: line. Thin, as gen.cli is."""

import sys
from pathlib import Path

import click

from gen.linenames import NAMES
from gen.options import AS_JSON, JOB, SEED
from gen.postscli import print_json


@click.command("line")
@JOB
@click.argument("survey", type=click.Path(path_type=Path), required=False)
@click.option("--line", "choose", type=click.Choice(NAMES), help="Tell zero, support moves and engine for this line.")
@click.option("--plot", type=click.Path(path_type=Path), help="Write a picture, SVG, into this file.")
@click.option("--force", is_flag=True, help="Replace that file if it exists.")
@SEED
@AS_JSON
def line_command(
    job: Path, survey: Path | None, choose: str | None, plot: Path | None, force: bool, seed: int, as_json: bool
) -> None:
    """The line to bore the row of JOB on, from a survey of its bores; exit code 1 if no line will do.

    SURVEY is a CSV: bore,y,z,diameter; or points, bore,y,z; or sweeps and gauge readings, bore,angle,pressed and
    bore,diameter. Without it the job's own centre and measured of every bore are taken.
    """
    from gen.jobfile import load
    from gen.linefacts import facts
    from gen.linereport import words
    from gen.release import check_apart, release
    from gen.survey import of_job, read

    source = load(job)
    if plot is not None:
        check_apart(plot, [*source.inputs, *filter(None, [survey])])
    with source.placing():
        surveyed = of_job(source.job) if survey is None else read(survey, source.job)
        told = facts(source.job, surveyed, choose=choose, seed=seed)
    if plot is not None:
        from gen.lineplot import svg

        release({plot: svg(told)}, force=force)
    if as_json:
        print_json(told)
    else:
        click.echo(words(told))
    sys.exit(0 if told["ok"] else 1)
