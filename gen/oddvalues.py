"""Values that can be, but hardly are: a slip of the keyboard or of the unit is likelier.

The bounds are common practice, no source.
"""

from collections.abc import Iterator
from typing import Final

from gen.caution import Caution
from gen.job import Job
from post.units import MM_PER_INCH, plain, show_length

LARGEST_NOSE_MM: Final = 3.0
"""Noses of cutters in bars are of 0.2 to 1.2 mm; round inserts seldom go beyond this."""
FINEST_RA_UM: Final = 0.2
"""Finer is honed or ground, not bored."""
FINEST_RA_MICROINCHES: Final = 15.0
"""The same in a job in inches, where 12.5 and less are likelier to be micrometres."""
FASTEST_MM_PER_MIN: Final = 60_000.0
"""Few mills are quicker."""
MOST_FACE_TURNS: Final = 50.0
"""Some turns clean a face; many rub."""


def odd_values(job: Job) -> Iterator[Caution]:
    """A caution for every value of a job that is out of the ordinary, with the key and the value."""
    yield from _nose(job)
    yield from _roughness(job)
    for axis in ("x", "y", "z"):
        rapid: float = getattr(job.machine.rapid, axis)
        if rapid > FASTEST_MM_PER_MIN:
            yield Caution(
                f"machine.rapid.{axis} of {show_length(rapid, job.units)} a minute is more than mills have, which is"
                f" {show_length(FASTEST_MM_PER_MIN, job.units)} at most",
                "check the number and its unit; the times told follow from it",
            )
    yield from _face_turns(job)


def _nose(job: Job) -> Iterator[Caution]:
    if job.cutter is not None and job.cutter.nose > LARGEST_NOSE_MM:
        usual = " to ".join(show_length(nose_mm, job.units) for nose_mm in (0.2, 1.2))
        yield Caution(
            f"cutter.nose of {show_length(job.cutter.nose, job.units)} is more than cutters in bars have, which is"
            f" {show_length(LARGEST_NOSE_MM, job.units)} at most",
            f"check it: the radius of the nose is mostly {usual}",
        )


def _roughness(job: Job) -> Iterator[Caution]:
    if job.cut.roughness is None:
        return
    if job.units == "mm":
        if job.cut.roughness < FINEST_RA_UM:
            yield Caution(
                f"cut.roughness of {plain(job.cut.roughness, 3)} micrometres is finer than boring leaves, which is Ra"
                f" {FINEST_RA_UM:g} at best",
                "check it: Ra 0.8 to 3.2 is usual, and finer is honed",
            )
        return
    told = job.cut.roughness * 1000 / MM_PER_INCH
    if told < FINEST_RA_MICROINCHES:
        yield Caution(
            f"cut.roughness of {plain(told, 2)} microinches is finer than boring leaves",
            f"check it: a job in inches counts in microinches; {plain(told, 2)} micrometres would be roughness ="
            f" {plain(told * 1000 / MM_PER_INCH, 0)}",
        )


def _face_turns(job: Job) -> Iterator[Caution]:
    many = [bore for bore in job.bore if bore.face_turns > MOST_FACE_TURNS]
    if many:
        most = max(many, key=lambda bore: bore.face_turns)
        more = f", and over {MOST_FACE_TURNS:g} at {len(many) - 1} more" if len(many) > 1 else ""
        yield Caution(
            f"face_turns of {plain(most.face_turns, 1)} at bore {most.name}{more}: the cutter would rub on the face",
            "check it: 3 to 10 turns of the cutter clean a face",
        )
