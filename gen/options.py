"""Arguments and options that several commands have, and what their files may be; click and nothing else."""

from pathlib import Path
from typing import Final

import click

MOST_PROGRAM_BYTES: Final = 256_000_000

JOB = click.argument("job", type=click.Path(path_type=Path))
POST = click.option(
    "--post",
    "post_name",
    metavar="NAME|FOLDER",
    default="longhand",
    show_default=True,
    help="Post to write and read by.",
)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of words.")
SEED = click.option("--seed", type=int, default=1, show_default=True, help="Of the simulation.")
