"""Numbers of the one unit under the other: inches told as millimetres, or the other way round.

No value gives it away, many together do. The bounds are common practice, no source, and chosen so that an honest job is
not refused:

- A small job in millimetres, as a cam bore of 15 mm or even 10 mm on a small mill, may well have small bores, a thin
  bar, a low clearance height and slow rapids all at once. So three signs are asked for, one of them one that no small
  job gives: a mill none of whose axes travels 100 mm (the smallest bench mills do along X), or feeds under 0.008 mm a
  cutter turn (so fine a feed rubs). Inches told as millimetres give nearly all of the six.
- A big job in inches, on a floor-type borer, may well have bores of 30 in, a high clearance and a coarse feed. So four
  signs are asked for, one of them one that no mill gives: every axis longer than 4 m, every rapid above 60 m/min, or a
  bar thicker than 300 mm in a right-angle head. Millimetres told as inches that give fewer seldom get past the most
  that a feed may be a turn.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final, NamedTuple

from post.units import MM_PER, UNIT_WORD, Units, plain
from post.userfile import KeyProblem

if TYPE_CHECKING:
    from gen.job import Job

ENOUGH: Final[Mapping[Units, int]] = {"mm": 3, "inch": 4}
"""Signs that together are a slip, by the unit that is told."""


class _Sign(NamedTuple):
    """One thing a job tells: words about a value, the least and greatest that is told, and bounds, all in mm.

    All below ``small_mm`` they look like inches told as millimetres, all above ``big_mm`` like the contrary.
    ``no_small`` and ``no_big`` say that no honest small or big job gives the sign.
    """

    words: str
    least_mm: float
    most_mm: float
    small_mm: float
    big_mm: float
    no_small: bool = False
    no_big: bool = False


def check_units(job: "Job") -> None:
    """Raises KeyProblem at ``units`` where a job's numbers, taken together, look like those of the other unit."""
    signs = _signs(job)
    if job.units == "mm":
        found = [(sign.words, sign.most_mm, sign.no_small) for sign in signs if sign.most_mm < sign.small_mm]
        other = 'inches; write units = "inch"'
    else:
        found = [(sign.words, sign.least_mm, sign.no_big) for sign in signs if sign.least_mm > sign.big_mm]
        other = 'millimetres; write units = "mm"'
    if len(found) < ENOUGH[job.units] or not any(odd for _, _, odd in found):
        return
    per, word = MM_PER[job.units], UNIT_WORD[job.units]
    values = ", ".join(words.format(f"{plain(length_mm / per, 4)} {word}") for words, length_mm, _ in found)
    raise KeyProblem(("units",), f'"{job.units}" makes {values}: these look like {other}')


def _signs(job: "Job") -> list[_Sign]:
    diameters = [bore.diameter for bore in job.bore]
    spans = [high - low for low, high in (job.machine.travel.x, job.machine.travel.y, job.machine.travel.z)]
    rapids = [job.machine.rapid.x, job.machine.rapid.y, job.machine.rapid.z]
    feeds = [feed for feed in (job.cut.feed, *(bore.feed for bore in job.bore)) if feed is not None]
    end = "longest" if job.units == "mm" else "shortest"
    side = "largest" if job.units == "mm" else "smallest"
    signs = [
        _Sign(f"the {side} bore {{}}", min(diameters), max(diameters), 12, 600),
        _Sign(f"the {end} travel {{}}", min(spans), max(spans), 100, 4_000, no_small=True, no_big=True),
        _Sign("bar.diameter {}", job.bar.diameter, job.bar.diameter, 8, 300, no_big=True),
        _Sign(f"the {side} rapid {{}} a minute", min(rapids), max(rapids), 1_000, 60_000, no_big=True),
        _Sign("path.clearance_height {}", job.path.clearance_height, job.path.clearance_height, 25, 1_500),
    ]
    if feeds:
        signs.append(_Sign(f"the {side} feed {{}} a turn", min(feeds), max(feeds), 0.008, 0.7, no_small=True))
    return signs
