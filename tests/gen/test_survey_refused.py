"""Surveys that cannot be meant: each is refused in one line, where it is wrong."""

import math
from collections.abc import Sequence
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.survey import COLUMNS, FORMS
from post.userfile import InputError
from tests.jobs import make_job, told
from tests.surveys import CENTRE, GAUGE, INCH, OTHERS, POINTS, SWEEP, Lines, of, one


def at_first(*angles: float) -> Lines:
    return [one(1, angle=angle, pressed=0) for angle in angles]


def circle(radius: float, y: float = 0) -> Lines:
    return [one(1, y=y + radius * side, z=radius * up) for side, up in ((1, 0), (0, 1), (-1, 0), (0, -1))]


WITHIN: Final = "it must be within 4.2 mm of 0 for a bore of 84 mm"
PLACES: Final = 'y: bore "1": a circle takes points at three places or more'
ANGLES: Final = 'angle: bore "1": an offset takes readings at three clock angles or more'
CIRCLE: Final = 'y: bore "1": the circle through its points has a diameter'
NOT_DIVISIONS: Final = "write lengths, not divisions of the dial, e.g. 0.02"
REFUSED: Final[Sequence[tuple[Lines, int, str]]] = [
    ([one(9, y=0, z=0, diameter=83)], 2, 'bore: the job has no bore "9"; it has bores "1", "2", "3"'),
    ([one("", y=0, z=0, diameter=83)], 2, 'bore: is empty; the job has bores "1", "2", "3"'),
    ([one(1)], 2, f"bore: this line tells nothing; {FORMS}"),
    ([one(1, y=0.1)], 2, f"bore: this line tells y; {FORMS}"),
    ([{**CENTRE, "angle": "90"}], 2, f"bore: this line tells y, z, diameter, angle; {FORMS}"),
    ([one(1, angle=0, pressed=0, farther=0)], 2, f"bore: this line tells angle, pressed, farther; {FORMS}"),
    *(
        (
            [one(1, **{name: 0.1})],
            2,
            "angle: is empty; a sweep's reading takes the clock angle it was read at, e.g. 90",
        )
        for name in ("pressed", "farther")
    ),
    ([CENTRE, *POINTS], 3, 'bore: bore "1" is placed in another way on line 2; keep one of the two'),
    (
        [*SWEEP[:3], one(1, angle=270, farther=0), GAUGE],
        5,
        'bore: bore "1" is placed in another way on line 2; keep one of the two',
    ),
    ([CENTRE, CENTRE], 3, 'bore: bore "1" stands on line 2 already; keep one'),
    ([CENTRE | {"depth": "5"}] * 2, 3, 'bore: bore "1" at depth 5 mm stands on line 2 already; keep one'),
    (
        [POINTS[0]] * 3,
        2,
        f"{PLACES}, not 1; spread them round the hole",
    ),
    (POINTS[:2], 2, f"{PLACES}, not 2; spread them round the hole"),
    (
        [one(1, y=y, z=0.1) for y in (-40, 0, 40)],
        2,
        'y: bore "1": points on one straight line: no circle goes through them',
    ),
    (
        [*SWEEP, SWEEP[1], GAUGE],
        6,
        'angle: 90 is where line 3 was read, of bore "1" too; read there once',
    ),
    (
        [*SWEEP[:2], GAUGE],
        2,
        f"{ANGLES}, not 2; e.g. 0, 90, 180, 270",
    ),
    (
        [*at_first(0, 5, 10), GAUGE],
        2,
        'angle: bore "1": clock angles 0, 5, 10: too close together to tell an offset; spread them all round',
    ),
    (
        [*SWEEP, one(1, angle=0, pressed=0.012), GAUGE],
        6,
        'pressed: the sweep of bore "1" does not close: back at the first angle it reads 0.012 mm off, more than'
        " 0.01 mm; see that nothing slips, and sweep again",
    ),
    (
        [*(one(1, angle=angle, farther=0) for angle in (0, 120, 240)), one(1, angle=0, farther=-0.05), GAUGE],
        5,
        'farther: the sweep of bore "1" does not close: back at the first angle it reads 0.05 mm off, more than'
        " 0.01 mm; see that nothing slips, and sweep again",
    ),
    (
        SWEEP,
        2,
        'diameter: is told nowhere for bore "1"; a sweep does not tell how large a bore is: add a line with its'
        " diameter, e.g. 84",
    ),
    (
        [line | {"depth": "5.25"} for line in SWEEP],
        2,
        'diameter: is told nowhere for bore "1" at depth 5.25 mm; a sweep does not tell how large a bore is: add a'
        " line with its diameter, e.g. 84",
    ),
    ([CENTRE, GAUGE], 3, 'diameter: tells a size of bore "1", which no sweep there needs'),
    (
        [*SWEEP, GAUGE, GAUGE | {"depth": "5"}],
        7,
        'diameter: tells a size of bore "1" at depth 5 mm, which no sweep there needs',
    ),
    ([*SWEEP, GAUGE, GAUGE], 6, 'angle: is empty; of several diameters of bore "1" tell each one\'s clock angle'),
    (
        [*SWEEP, GAUGE | {"angle": "0"}, GAUGE],
        7,
        'angle: is empty; of several diameters of bore "1" tell each one\'s clock angle',
    ),
    (
        [*SWEEP, GAUGE | {"angle": "10"}, GAUGE | {"angle": "190"}],
        7,
        'angle: 190 is where line 6 was read, of bore "1" too; read there once',
    ),
    ([CENTRE | {"y": "5"}], 2, f"y: 5 cannot be meant: {WITHIN}, e.g. 0.02"),
    ([CENTRE | {"z": "-4.21"}], 2, f"z: -4.21 cannot be meant: {WITHIN}, e.g. 0.02"),
    ([one(1, angle=0, pressed=5), GAUGE], 2, f"pressed: 5 cannot be meant: {WITHIN}; {NOT_DIVISIONS}"),
    ([one(1, angle=0, farther=-5), GAUGE], 2, f"farther: -5 cannot be meant: {WITHIN}; {NOT_DIVISIONS}"),
    ([CENTRE | {"y": "1e-3"}], 2, 'y: "1e-3" must be a plain number, e.g. 0.02'),
    (
        [CENTRE | {"diameter": "3.27"}],
        2,
        "diameter: 3.27 looks like inches in a job in millimetres: 84 mm is about right for a bore of 84 mm",
    ),
    ([CENTRE | {"diameter": "-3"}], 2, "diameter: -3 must be more than 0, e.g. 84"),
    (
        [CENTRE | {"depth": "28.5"}],
        2,
        "depth: 28.5 is outside the bore; it must be 0 to 28 mm from the face that is cut first, e.g. 14",
    ),
    ([one(1, angle=360, pressed=0)], 2, "angle: 360 must be 0 or more and less than 360 degrees, e.g. 90"),
    (
        circle(1.63),
        2,
        f"{CIRCLE} of 3.26 mm, which looks like inches in a job in millimetres: about 84 mm is right",
    ),
    (
        circle(16),
        2,
        f"{CIRCLE} of 32 mm, which cannot be meant: about 84 mm is right",
    ),
    ([one(1, y=60, z=0)], 2, "y: 60 cannot be meant: it must be within 57.75 mm of 0 for a bore of 84 mm, e.g. 42"),
    (
        circle(41.5, 5),
        2,
        'y: the centre of bore "1" comes to Y 5 mm Z 0 mm: it must be within 4.2 mm of the bore line, Y0 Z0',
    ),
    (
        [*(one(1, angle=angle, pressed=p) for angle, p in ((0, -4), (90, -4), (180, 4), (270, 4))), GAUGE],
        2,
        'bore: the centre of bore "1" comes to Y 4 mm Z 4 mm: it must be within 4.2 mm of the bore line, Y0 Z0',
    ),
]


@pytest.mark.parametrize(("lines", "at", "says"), REFUSED)
def test_what_cannot_be_meant_is_refused_at_its_line(lines: Lines, at: int, says: str) -> None:
    assert told(lambda: of([*lines, *OTHERS])) == f"survey.csv:{at}: {says}"


def test_a_centre_too_far_off_aslant_is_refused() -> None:
    """Within 4.2 in Y and in Z, but not of the bore line; as a job's own centre is refused."""
    assert "it must be within 4.2 mm of the bore line" in told(lambda: of([CENTRE | {"y": "4", "z": "4"}, *OTHERS]))


ALONE: Final = make_job(bore=[{"name": "1", "face": 0, "width": 20, "diameter": 84}])


def test_every_bore_is_to_be_surveyed() -> None:
    assert told(lambda: of([CENTRE])).startswith('survey.csv: bores "2", "3" of the job: no place is told;')
    assert told(lambda: of([CENTRE, OTHERS[0], one(3, diameter=83)])).startswith('survey.csv: bore "3" of the')
    assert told(lambda: of([CENTRE], ALONE)) == (
        "survey.csv: the job has one bore; a line takes two or more: add the others to the job"
    )


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (
            one(1, y=0.5, z=0, diameter=3.3),
            "y: 0.5 looks like millimetres in a job in inches: it must be within 0.1656",
        ),
        (one(1, y=9, z=0, diameter=3.3), "y: 9 cannot be meant: it must be within 0.1656 in of 0 for a bore of 3.3125"),
        (one(1, angle=0, pressed=0.5), "pressed: 0.5 looks like millimetres in a job in inches: it must be within"),
        (one(1, y=41, z=0), "y: 41 looks like millimetres in a job in inches: it must be within 2.2773 in of 0"),
        (one(1, y=0, z=0, diameter=83.8), "diameter: 83.8 looks like millimetres in a job in inches: 3.3125 in is"),
        (one(1, y=0, z=0, diameter=0.13), "diameter: 0.13 is 25 times too small: 3.3125 in is about right"),
        (one(1, depth=12.7, y=0, z=0, diameter=3.3), "depth: 12.7 looks like millimetres in a job in inches; it must"),
        (one(1, y="a", z=0), 'y: "a" must be a plain number, e.g. 0.0008'),
    ],
)
def test_slips_of_the_unit_in_a_job_in_inches(line: dict[str, str], says: str) -> None:
    line = {name: cell.rstrip("0") if "." in cell else cell for name, cell in line.items()}
    assert told(lambda: of([line, one(2, y=0, z=0, diameter=3.3)], INCH)).startswith(f"survey.csv:2: {says}")


_CELL = st.sampled_from(["", "0", "0.01", "90", "180", "41.5", "-41.5", "83", "1e5", "nan", "5"])


@given(st.lists(st.fixed_dictionaries(dict.fromkeys(COLUMNS[1:], _CELL)), min_size=1, max_size=5))
def test_anything_is_a_survey_or_refused(lines: Lines) -> None:
    try:
        found = of([*({"bore": "1"} | line for line in lines), *OTHERS])
    except InputError:
        return
    assert all(
        math.hypot(section.y, section.z) < 6 and section.widest >= section.diameter for section in found.sections
    )
