"""A round held against those on record: measured twice, or run again at a setting.

spring pass
    the cutter run again at a setting, to take off what bar and head gave way by.
"""

from collections.abc import Sequence

from gen.job import Job
from gen.readings import Measured, refuse_in


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
            " record; correct the setting, or leave --again out",
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
