"""The commands about what bores measure: size, inspect. Thin, as gen.cli is."""

import sys
from pathlib import Path
from typing import Any

import click

from gen.options import AS_JSON, JOB, SEED
from gen.postscli import print_json

MEASURED = click.argument("measured", type=click.Path(path_type=Path))


@click.command("size")
@JOB
@MEASURED
@click.option("--record", "keep", is_flag=True, help="Add what was measured to the job's record, JOB-record.csv.")
@click.option("--again", is_flag=True, help="The cutter was run again at a setting on record: a spring pass.")
@SEED
@AS_JSON
def size_command(job: Path, measured: Path, keep: bool, again: bool, seed: int, as_json: bool) -> None:
    """From what the bores of JOB measure after a pass to the cutter's next setting; exit code 1 if it says STOP.

    MEASURED is a CSV of readings, one a line: bore,set,angle,depth,reading. The job's record, if there is one, is
    reckoned with. Exit codes: 0 when there is something to cut, or every bore is in tolerance; 1 when a pass says STOP
    for any other reason, or a later round is on record; 2 when a reading is asked about or cannot be meant.
    """
    from gen import record
    from gen.jobfile import load
    from gen.measured import load as load_measured
    from gen.offsize import EXPANSION_PER_K
    from gen.sizereport import words
    from gen.sizing import facts

    source = load(job)
    with source.placing():
        history = record.load(record.path_of(job), source.job)
        now = load_measured(measured, source.job, history, again=again)
        expansion = EXPANSION_PER_K.get(source.job.cut.material or "")
        told = facts(source.job, now, history, seed=seed, expansion_per_k=expansion)
    if keep:
        record.append(record.path_of(job), source.job, now)
    _tell(told, words, as_json)
    sys.exit(0 if told["ok"] else 1)


@click.command("inspect")
@JOB
@MEASURED
@click.option(
    "--survey", type=click.Path(path_type=Path), help="Judge straightness too: a survey of the finished row, CSV."
)
@click.option("--plot", type=click.Path(path_type=Path), help="Write a picture, SVG, into this file.")
@click.option("--force", is_flag=True, help="Replace that file if it exists.")
@AS_JSON
def inspect_command(
    job: Path, measured: Path, survey: Path | None, plot: Path | None, force: bool, as_json: bool
) -> None:
    """The finished row of JOB against its tolerances; exit code 1 if a bore is out.

    MEASURED is a CSV of readings, one a line: bore,angle,depth,reading. A survey is a CSV as for the command line.
    """
    from gen.inspection import facts, words
    from gen.inspectplot import svg
    from gen.jobfile import load
    from gen.measured import load_finished
    from gen.offsize import EXPANSION_PER_K
    from gen.release import check_apart, release
    from gen.survey import read as read_survey

    source = load(job)
    if plot is not None:
        check_apart(plot, [*source.inputs, measured, *filter(None, [survey])])
    with source.placing():
        finished = load_finished(measured, source.job)
        surveyed = None if survey is None else read_survey(survey, source.job)
        expansion = EXPANSION_PER_K.get(source.job.cut.material or "")
        told = facts(source.job, finished, expansion_per_k=expansion, surveyed=surveyed)
    if plot is not None:
        release({plot: svg(told)}, force=force)
    _tell(told, words, as_json)
    sys.exit(0 if told["ok"] else 1)


def _tell(told: dict[str, Any], words: Any, as_json: bool) -> None:
    if as_json:
        print_json(told)
    else:
        click.echo(words(told))
