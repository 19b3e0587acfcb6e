"""A round held against those on record: measured twice, run again at a setting, or from before the job was changed.

spring pass
    the cutter run again at a setting, to take off what bar and head gave way by.
"""

from collections.abc import Iterator, Sequence

from gen.borecells import named
from gen.boresize import gauge_mm, known
from gen.job import Job
from gen.readings import Measured, refuse_in
from post.units import show_length


def place(rounds: Sequence[Measured]) -> str:
    """The name of the file that rounds, of which there is at least one, are kept in."""
    return rounds[0].readings[0].row.path.name


def move_away(rounds: Sequence[Measured]) -> str:
    """What to do for another block, as the end of a message; "" where nothing is on record."""
    return f"; if this is another block, move {place(rounds)} away" if rounds else ""


def had_it_before(measured: Measured, rounds: Sequence[Measured]) -> dict[int, int]:
    """Bores whose setting they had in a round before, by index: the last such round, counted from 1."""
    found: dict[int, int] = {}
    for number, one in enumerate(rounds, 1):
        for bore in measured.by_bore.keys() & one.by_bore.keys():
            if one.by_bore[bore][0].set_mm == measured.by_bore[bore][0].set_mm:
                found[bore] = number
    return dict(sorted(found.items()))


def check_settings_are_new(job: Job, measured: Measured, rounds: Sequence[Measured], *, again: bool) -> None:
    """Raises InputError for a bore with a setting it had before, unless the cutter was run ``again`` at it.

    And where that is told of bores none of which had its setting before.
    """
    found = had_it_before(measured, rounds)
    if again and not found:
        raise refuse_in(
            measured,
            "--again tells of a setting that the cutter was run at before, and no bore had its setting in a round on"
            " record; correct the setting, put the round before on record with --record, or leave --again out",
            key="set",
        )
    if found and not again:
        bore, number = max(found.items(), key=lambda entry: entry[1])
        mend = "delete its lines there" if number == len(rounds) else "correct its lines there"
        raise measured.by_bore[bore][0].row.refuse(
            "set",
            f'round {number} on {place(rounds)} has this setting for bore "{job.bore[bore].name}", with other readings:'
            f" if this is that round corrected or measured again, {mend}; if the cutter was run again at this setting,"
            f" add --again{move_away(rounds)}",
        )


def changed_since(job: Job, rounds: Sequence[Measured]) -> Iterator[str]:
    """Notes on bores that the first round they were cut in left no larger than the job tells that they were before."""
    before, gone = known(job, ()), []
    for bore in range(len(job.bore)):
        was, first = before[bore], next((one for one in rounds if bore in one.by_bore), None)
        if was is None or first is None:
            continue
        set_mm, mean_mm = first.by_bore[bore][0].set_mm, first.forms[bore].mean_mm
        if (set_mm is not None and set_mm <= was.smallest_mm) or mean_mm <= was.mean_mm + gauge_mm(job):
            gone.append((bore, was))
    if gone:
        names, (_, was) = named(job.bore[bore].name for bore, _ in gone), gone[0]
        told = " to ".join(show_length(size, job.units) for size in (was.smallest_mm, was.largest_mm))
        yield (
            f"{names}: the first cut left no more than the job tells was there before, {told}: if measured was changed"
            " since, write there again what was measured before the first cut, for every round is reckoned from it"
        )
