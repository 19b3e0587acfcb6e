"""Surveys of rows for tests, as lines of a table or drawn at random, and blind searches for lines better than found.

A search knows nothing of the problem but what a line is worth.
"""

import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final, TypeVar

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from gen.bestline import SLACK_MM, TowardCam
from gen.csvtable import Row
from gen.job import Job
from gen.rowline import Line, NoLine, Survey, measure
from gen.sections import Floats
from gen.survey import COLUMNS, of_rows
from gen.surveyed import Section, Surveyed
from tests.jobs import INCH_TEXT, make_job
from tests.shop import sized_job

WITHIN_MM: Final = 1e-6
"""How near to the best a line is wanted."""
ROUNDING_MM: Final = 1e-12
KEPT_MM: Final = SLACK_MM + 1e-11
"""What a line of a search may pass a limit by: as much as a line that is found may, and its rounding."""
SURVEYS: Final = 200
"""Surveys searched in the suite."""
Found = TypeVar("Found")
Limits = tuple[TowardCam | None, bool]
"""Those of the crank: toward the cam, and whether it may not go lower."""
Search = Callable[[int], float]
"""By how much a search betters what was found for a random survey, by its seed, mm."""
seeds = st.integers(0, 2**32 - 1)


# As lines of a table.

JOB: Final = sized_job()
"""Bores 1, 2 and 3 of 84 mm, 28 wide, at X 0, -100 and -200, the bar pointing to -X."""
INCH: Final = make_job(INCH_TEXT)
"""Bores 1 and 2 of 3.3125 in, the bar pointing to +X."""
Lines = list[dict[str, str]]


def one(bore: object, **cells: object) -> dict[str, str]:
    """A line of a survey; numbers as a person writes them."""
    shown = {name: f"{value:.9f}" if isinstance(value, float) else str(value) for name, value in cells.items()}
    return dict.fromkeys(COLUMNS, "") | {"bore": str(bore)} | shown


def of(lines: Lines, job: Job = JOB) -> Surveyed:
    return of_rows([Row(Path("survey.csv"), number, line) for number, line in enumerate(lines, 2)], job)


def first(lines: Lines, job: Job = JOB) -> Section:
    """The section that lines about bore 1 tell, the other bores told simply."""
    return of([*lines, *OTHERS], job).sections[0]


OTHERS: Final = [one(bore, y=0, z=0, diameter=83) for bore in (2, 3)]
CENTRE: Final = one(1, y=0.03, z=-0.02, diameter=83)
SWEEP: Final = [one(1, angle=angle, pressed=reading) for angle, reading in ((0, 0), (90, 0.01), (180, 0.04), (270, 0))]
GAUGE: Final = one(1, diameter=83.01)
POINTS: Final = [one(1, y=y, z=z) for y, z in ((41.53, -0.02), (0.03, 41.48), (-41.47, -0.02), (0.03, -41.52))]


def wall(place: tuple[float, float], radius: float, oval: tuple[float, float], clock: float) -> float:
    """How far the wall is from the bar, at a clock angle in radians, of a bore whose diameters differ by the oval."""
    y, z = place
    out = radius
    for _ in range(6):
        about = math.atan2(out * math.sin(clock) - y, out * math.cos(clock) - z)
        aside = y * math.cos(clock) - z * math.sin(clock)
        out = y * math.sin(clock) + z * math.cos(clock) + math.sqrt(form(radius, oval, about) ** 2 - aside**2)
    return out


def form(radius: float, oval: tuple[float, float], about: float) -> float:
    return radius + oval[0] / 4 * math.cos(2 * (about - oval[1]))


# As figures.


def survey_of(
    x: list[float], y: list[float], z: list[float], radius: float | list[float] = 29.9, target: float = 30
) -> Survey:
    radii = np.broadcast_to(np.array(radius), len(x)).astype(np.float64)
    return Survey(np.array(x), np.array(y), np.array(z), radii, np.full(len(x), target))


ARCH: Final = survey_of([0.0, 100, 200], [0.0, 0, 0], [0.0, 0.03, 0])
"""Three holes, the middle one 0.03 high, each with 0.1 to its target."""


def random_survey(seed: int) -> Survey:
    """Two to nine bores, some with two sections each, out of line by a hundredth to some tenths of a mm."""
    rng = np.random.default_rng(seed)
    bores, each = int(rng.integers(2, 10)), int(rng.integers(1, 3))
    count = bores * each
    x = np.repeat(np.cumsum(rng.uniform(60, 140, bores)), each) + np.tile([0, 30.0][:each], bores)
    size = 10 ** rng.uniform(-2, -0.5)
    across = (
        rng.normal(size=(2, count)) * size + rng.normal(size=(2, 1)) * size + rng.normal(size=(2, 1)) * size * x / 500
    )
    radius = 30 - rng.uniform(0, 0.2, count)
    return Survey(x, across[0], across[1], radius, np.full(count, 30.0), np.repeat(np.arange(bores), each))


def random_limits(rng: np.random.Generator) -> Limits:
    """At least one of the two, and none that is far from holding."""
    clock, kind = rng.uniform(0, 2 * math.pi), int(rng.integers(3))
    most = float(rng.choice([0.0, 10 ** rng.uniform(-3, -1)]))
    cam = TowardCam(2 * math.sin(clock), 2 * math.cos(clock), most)
    return (None if kind == 0 else cam), kind != 1


def inside(lines: Floats, limits: Limits, old: Floats | None = None) -> NDArray[np.bool_]:
    """Which of the lines (k, 4) keep the limits, counted from an old line at 0, or at these y, z at both ends."""
    cam, never_lower = limits
    moved = lines if old is None else lines - old
    kept = np.ones(len(lines), dtype=np.bool_)
    if cam is not None:
        for end in (0, 2):
            kept &= cam.y * moved[:, end] + cam.z * moved[:, end + 1] <= (cam.most + KEPT_MM) * math.hypot(cam.y, cam.z)
    return kept & (moved[:, [1, 3]] >= -KEPT_MM).all(axis=1) if never_lower else kept


def least_of(survey: Survey, line: Line) -> float:
    return float(measure(survey, line).stock.min())


def tried(find: Callable[[], Found]) -> Found | NoLine:
    """What is found, or why there is none."""
    try:
        return find()
    except NoLine as refusal:
        return refusal


def largest_shift(survey: Survey, line: Line) -> float:
    return float(np.hypot(*line.at(survey.x)).max())


def searched(worth: Callable[[Floats], Floats], start: Floats, rng: np.random.Generator) -> float:
    """The most that lines come to be worth, by steps any way from the best so far, longer where that helps.

    Lines are told by y, z at both ends, (k, 4); ``worth`` gives one figure for each, the more the better.
    """
    best, most = start, float(worth(start[None])[0])
    size = 0.1
    while size > 1e-7:
        tries = best + rng.normal(size=(32, 4)) * size * 10.0 ** rng.uniform(-1.5, 0, (32, 1))
        worths = worth(tries)
        found = int(worths.argmax())
        better = worths[found] > most
        if better:
            best, most = tries[found], float(worths[found])
        size *= 1.2 if better else 0.6
    return most


def offs(survey: Survey, lines: Floats) -> Floats:
    """Y and Z of the lines (k, 4) from the holes' centres; shape (2, k, n)."""
    share = (survey.x - survey.x.min()) / np.ptp(survey.x)
    y = lines[:, :1] * (1 - share) + lines[:, 2:3] * share - survey.y
    z = lines[:, 1:2] * (1 - share) + lines[:, 3:] * share - survey.z
    return np.array([y, z])


def least_stocks(survey: Survey, lines: Floats) -> Floats:
    worth: Floats = (survey.target - survey.radius - np.hypot(*offs(survey, lines))).min(axis=1)
    return worth


def unmoved(survey: Survey, lines: Floats, stock: float) -> Floats:
    """Least the larger shift of the ends, of those that keep the stock."""
    shift = np.hypot(lines[:, [0, 2]], lines[:, [1, 3]]).max(axis=1)
    return np.where(least_stocks(survey, lines) >= stock, -shift, -np.inf)


def uncut(survey: Survey, lines: Floats, stock: float) -> Floats:
    """Least the cuts that caps above need in all, of lines whose block's halves keep the stock."""
    y, z = offs(survey, lines)
    radius, edge = survey.radius, survey.target - stock - survey.radius
    block = np.where(z >= 0, np.hypot(y, z), np.hypot(radius + np.abs(y), np.minimum(z, 0)) - radius)
    chord = np.sqrt(np.maximum(edge**2 - y**2, 0))
    cuts = np.maximum(-z - chord, 0)
    totals = np.zeros(len(lines))
    for bore in np.unique(survey.bores):
        totals += cuts[:, survey.bores == bore].max(axis=1)
    return np.where((block <= edge).all(axis=1), -totals, -np.inf)


def ends_of(survey: Survey, line: Line) -> Floats:
    return line.at(np.array([survey.x.min(), survey.x.max()])).T.reshape(4)


def slice_holds(search: Search, step: int) -> None:
    """The suite's part of a campaign: every so many of ``SURVEYS``."""
    gains = np.array([search(seed) for seed in range(0, SURVEYS, step)])
    assert gains.max() <= WITHIN_MM
    assert gains.min() > -1e-4, "the search starts from what it is to better"


def campaign(searches: Mapping[Search, int], surveys: int) -> None:
    """Every search of so many surveys."""
    for search in searches:
        worst = max(search(seed) for seed in range(surveys))
        print(f"{search.__name__}: {worst:.2e} mm")
        assert worst <= WITHIN_MM
