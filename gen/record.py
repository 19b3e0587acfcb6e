"""The record of a job: what was measured in every round so far, in a CSV of its own beside the job."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from gen.csvtable import Row, csv_text, read_rows
from gen.job import Job
from gen.readings import COLUMNS, Measured, of_rows
from gen.release import release
from post.userfile import MOST_BYTES, InputError

RECORD_COLUMNS: Final = ("round", *COLUMNS)


def path_of(job_path: Path) -> Path:
    """Where a job's record stands: JOBNAME-record.csv."""
    return job_path.with_name(f"{job_path.stem}-record.csv")


def load(path: Path, job: Job) -> tuple[Measured, ...]:
    """The rounds on record, the oldest first; none where there is no record yet.

    Raises InputError, with file and line, where the record is damaged: a round out of order, or readings that
    ``gen.readings`` refuses. What was asked about when it was measured is not asked again.
    """
    if not path.exists():
        return ()
    rows = read_rows(path, what="record", columns=RECORD_COLUMNS, required=RECORD_COLUMNS)
    return tuple(of_rows(round_rows, job) for round_rows in _split(rows))


def append(path: Path, job: Job, measured: Measured) -> int:
    """Add a round to the record, whole or not at all, and give its number; one that is there already stays as it is.

    Raises InputError where the record is damaged, would become too large, or cannot be written; then it is as it was.
    """
    rounds = load(path, job)
    for number, one in enumerate(rounds, 1):
        if one.is_same(measured):
            return number
    text = csv_text(RECORD_COLUMNS, _cells([*rounds, measured]))
    if len(text.encode()) > MOST_BYTES:
        raise InputError(
            f"this record would become larger than {MOST_BYTES / 1e6:g} MB, the most it may be; move it away and begin"
            " another",
            file=path,
        )
    release({path: text}, force=True)
    return len(rounds) + 1


def _cells(rounds: Sequence[Measured]) -> Iterator[tuple[str, ...]]:
    for number, measured in enumerate(rounds, 1):
        for reading in measured.readings:
            yield (str(number), *reading.cells)


def _split(rows: Sequence[Row]) -> list[list[Row]]:
    """Lines of each round. Raises InputError where rounds are not counted 1, 2, 3."""
    rounds: list[list[Row]] = []
    for row in rows:
        number = row.number("round", "1")
        if number == len(rounds) + 1:
            rounds.append([])
        elif number != len(rounds) or not rounds:
            raise row.refuse(
                "round",
                f'"{row.cell("round")}" is out of order, rounds are counted from 1 and this is in or after round'
                f" {len(rounds)}; the record is damaged: put back the line as it was",
            )
        rounds[-1].append(row)
    return rounds
