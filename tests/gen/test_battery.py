"""What the battery reaches, told from the steps its jobs are planned into, and that all of it proves."""

import string
from collections.abc import Callable, Iterator
from functools import cache
from itertools import pairwise, product
from pathlib import Path
from typing import Final, get_args

import pytest

from gen.battery import Trial, trials
from gen.jobfile import JobFile
from gen.pipeline import Task, plans_of, program_texts, prove_texts
from gen.planner import plan, plan_walk
from gen.row import housings
from post.motion import BoreAlongX, Dwell, Feed, Pause, Plan, Rapid, Remark, Sense, Simple, Spindle, SpindleStop
from post.posts import find
from post.units import MM_PER, Units
from post.views import refusal

TRIALS: Final = trials()
ORIENTED: Final = find("oriented")
"""The post that has words for every step."""
LONGHAND: Final = find("longhand").dialect


@cache
def plans() -> tuple[tuple[Trial, Plan], ...]:
    dialect = ORIENTED.dialect
    return tuple((trial, plan_walk(trial.job, dialect) if trial.walk else plan(trial.job, dialect)) for trial in TRIALS)


def steps(units: Units | None = None) -> Iterator[Simple]:
    """Every simple step of the battery, or of its trials in one unit."""
    return (step for _, planned in plans() if units in (None, planned.units) for step in planned.simple())


def strokes(planned: Plan) -> list[BoreAlongX]:
    return [step for step in planned.steps if isinstance(step, BoreAlongX)]


def all_strokes() -> list[BoreAlongX]:
    return [stroke for _, planned in plans() for stroke in strokes(planned)]


def coordinates(axis: int) -> set[float]:
    return {
        value for step in steps() if isinstance(step, Rapid | Feed) for value in [step.to[axis]] if value is not None
    }


def spindles(planned: Plan) -> list[Spindle]:
    return [step for step in planned.steps if isinstance(step, Spindle)]


def sign(value: float) -> int:
    return (value > 0) - (value < 0)


def test_there_are_enough_under_names_of_their_own() -> None:
    names = [trial.name for trial in TRIALS]
    assert len(names) >= 48
    assert len(set(names)) == len(names)


def test_names_are_short_plain_words() -> None:
    allowed = set(string.ascii_letters + string.digits + " ,.+-")
    assert [trial.name for trial in TRIALS if len(trial.name) > 40 or not allowed.issuperset(trial.name)] == []


def test_no_two_trials_try_the_same() -> None:
    assert len({(trial.job, trial.walk) for trial in TRIALS}) == len(TRIALS)


def test_the_first_is_the_plainest() -> None:
    _, planned = plans()[0]
    assert len(planned.steps) == min(len(planned.steps) for trial, planned in plans() if not trial.walk)


@pytest.mark.parametrize("trial", TRIALS, ids=lambda trial: trial.name)
def test_every_trial_proves_under_a_post_that_can_all(trial: Trial) -> None:
    source = JobFile(trial.job, Path("job.toml"), "", None)
    task = Task(source, ORIENTED, plans_of(trial.job, ORIENTED, walk=trial.walk), trial.walk)
    verdict = prove_texts(task, program_texts(task), physics_only=False, read_twice=True)
    assert verdict.findings == ()


def test_longhand_has_words_for_all_but_a_spindle_stopped_at_an_angle() -> None:
    refused, lifted = set(), set()
    for trial in TRIALS:
        planned = plan_walk(trial.job, LONGHAND) if trial.walk else plan(trial.job, LONGHAND)
        if refusal(planned, LONGHAND) is not None:
            refused.add(trial.name)
        if any(stroke.lift for stroke in strokes(planned)):
            lifted.add(trial.name)
    assert refused == lifted


STEPS: Final[dict[str, Callable[[Simple], bool]]] = {
    "rapid": lambda step: isinstance(step, Rapid),
    "feed": lambda step: isinstance(step, Feed),
    "spindle M3": lambda step: isinstance(step, Spindle) and step.sense is Sense.CLOCKWISE,
    "spindle M4": lambda step: isinstance(step, Spindle) and step.sense is Sense.COUNTERCLOCKWISE,
    "stop": lambda step: isinstance(step, SpindleStop) and step.at_angle is None,
    "stop at an angle": lambda step: isinstance(step, SpindleStop) and step.at_angle is not None,
    "dwell": lambda step: isinstance(step, Dwell),
    "pause": lambda step: isinstance(step, Pause),
    "remark": lambda step: isinstance(step, Remark),
}


@pytest.mark.parametrize("kind", STEPS)
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_every_step_is_reached_in_both_units(units: Units, kind: str) -> None:
    assert any(STEPS[kind](step) for step in steps(units))


def test_the_steps_told_are_all_there_are() -> None:
    assert {type(step) for step in steps()} == set(get_args(Simple))


def test_every_withdrawal_both_ways_in_both_units_with_and_without_a_dwell() -> None:
    reached = {
        (planned.units, sign(stroke.end_x - stroke.start_x), stroke.withdraw, stroke.dwell_s > 0)
        for _, planned in plans()
        for stroke in strokes(planned)
    }
    assert reached == set(product(("mm", "inch"), (-1, 1), ("feed", "still", "lift"), (False, True)))


def test_lifts_go_every_way() -> None:
    ways = {(sign(lift.dy), sign(lift.dz)) for stroke in all_strokes() for lift in [stroke.lift] if lift}
    assert ways >= {(0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (-1, -1)}


def test_spindles_stop_at_many_angles_and_on_both_sides_of_nought() -> None:
    angles = {step.at_angle for step in steps() if isinstance(step, SpindleStop) and step.at_angle is not None}
    assert len(angles) >= 6
    assert angles >= {0.0, 0.001, 90.0, 359.999}
    assert any(angle % 1 for angle in angles)


def test_settings_change_never_once_twice_and_often() -> None:
    changes = {sum(isinstance(step, Pause) for step in planned.steps) for trial, planned in plans() if not trial.walk}
    assert changes >= {0, 1, 2}
    assert max(changes) >= 7


def test_rows_are_of_one_bore_and_of_forty() -> None:
    lengths = {len(strokes(planned)) for _, planned in plans()}
    assert lengths >= {1, 2, 40}


def test_rows_are_listed_along_the_feed_and_against_it() -> None:
    ways = {
        sign(other.start_x - one.start_x) * sign(one.end_x - one.start_x)
        for _, planned in plans()
        for one, other in pairwise(strokes(planned))
    }
    assert ways == {1, -1}


def test_a_stroke_starts_within_the_one_before() -> None:
    assert any(
        one.end_x < other.start_x < one.start_x for _, planned in plans() for one, other in pairwise(strokes(planned))
    )


def test_programs_are_numbered_low_high_and_not() -> None:
    assert {trial.job.program_number for trial in TRIALS} >= {None, 1, 9999}


def test_walks_stop_at_every_bore_and_turn_nothing() -> None:
    walks = [(trial, planned) for trial, planned in plans() if trial.walk]
    assert {(planned.units, trial.job.head.points) for trial, planned in walks} >= {("mm", "-X"), ("inch", "+X")}
    assert {trial.job.path.leave_angle == 0 for trial, _ in walks} == {True, False}
    for trial, planned in walks:
        assert sum(isinstance(step, Pause) for step in planned.steps) == len(trial.job.bore)
        assert not any(isinstance(step, Spindle | BoreAlongX) for step in planned.steps)


def test_dwells_are_of_one_step_of_an_hour_and_of_parts_of_a_turn() -> None:
    dwells = [step.seconds for step in steps() if isinstance(step, Dwell)]
    assert min(dwells) == ORIENTED.dialect.dwell.step
    assert max(dwells) >= 3600
    turns = {bore.face_turns for trial in TRIALS for bore in trial.job.bore}
    assert turns >= {0, 0.001, 0.5, 4, 10_000}


def test_heads_reverse_or_not_with_cutters_of_both_hands() -> None:
    senses = {
        (trial.job.bar.hand, trial.job.head.reverses, spindle.sense)
        for trial, planned in plans()
        for spindle in spindles(planned)
    }
    assert senses == {
        ("right", True, Sense.COUNTERCLOCKWISE),
        ("right", False, Sense.CLOCKWISE),
        ("left", True, Sense.CLOCKWISE),
        ("left", False, Sense.COUNTERCLOCKWISE),
    }


def test_ratios_lie_below_one_at_one_and_above_and_are_odd() -> None:
    ratios = {trial.job.head.ratio for trial in TRIALS if not trial.walk}
    assert {sign(ratio - 1) for ratio in ratios} == {-1, 0, 1}
    assert ratios >= {0.37, 2.37}


@pytest.mark.parametrize("walk", [False, True])
def test_ways_in_and_out_lean_both_ways_and_none(walk: bool) -> None:
    leans = {
        sign(y)
        for trial, planned in plans()
        if trial.walk is walk
        for step in planned.steps
        if isinstance(step, Rapid)
        for y in [step.to[1]]
        if y is not None
    }
    assert leans >= ({-1, 0} if walk else {-1, 0, 1})


def test_work_offsets_are_first_last_and_of_both_forms() -> None:
    assert {planned.work_offset for _, planned in plans()} >= {"G54", "G59", "G59.3"}


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_bores_are_drawn_and_read(units: Units) -> None:
    forms = {
        frozenset(bore.face is not None for bore in trial.job.bore) for trial in TRIALS if trial.job.units == units
    }
    assert frozenset({False}) in forms
    assert units == "inch" or forms >= {frozenset({True}), frozenset({True, False})}


def test_coordinates_are_as_large_and_as_small_as_a_mill_has_them() -> None:
    assert min(coordinates(0)) < -99_000
    assert max(coordinates(0)) > 99_000
    assert {-0.001, 0.001} <= coordinates(0)
    assert max(coordinates(1)) > 50_000


def test_far_coordinates_are_reached_in_inches() -> None:
    assert any(abs(step.to[0] or 0) > 98_900 for step in steps("inch") if isinstance(step, Feed))


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_starts_and_ends_a_hair_below_nought_are_planned_at_nought(units: Units) -> None:
    below = {
        place
        for trial, planned in plans()
        if planned.units == units
        for housing, stroke in zip(housings(trial.job), strokes(planned), strict=False)
        for place, asked, told in (
            ("start", housing.start_x, stroke.start_x),
            ("end", housing.end_x, stroke.end_x),
        )
        if told == 0 and -ORIENTED.dialect.length_step(units) / 2 < asked < -1e-6
    }
    assert below == {"start", "end"}


def test_a_way_in_and_out_leans_less_than_the_control_can_be_told() -> None:
    hair = [
        trial.job.path.leave_angle
        for trial, planned in plans()
        for step in planned.steps
        if isinstance(step, Rapid) and step.to[1] == 0 and isinstance(trial.job.path.leave_angle, float)
        if step.to[2] and trial.job.path.leave_angle < 0
    ]
    assert hair


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_places_lie_off_the_grid(units: Units) -> None:
    step_mm = ORIENTED.dialect.length_step(units)
    off = [
        abs(housing.start_x - stroke.start_x) / step_mm
        for trial, planned in plans()
        if trial.job.units == units
        for housing, stroke in zip(housings(trial.job), strokes(planned), strict=False)
    ]
    assert max(off) > 0.3


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_feeds_reach_from_the_smallest_the_control_can_be_told_to_the_machines_most(units: Units) -> None:
    told = [
        (step.mm_per_min, trial.job.machine.max_feed)
        for trial, planned in plans()
        if planned.units == units
        for step in planned.simple()
        if isinstance(step, Feed)
    ]
    assert min(feed for feed, _ in told) == pytest.approx(ORIENTED.dialect.steps(units).feed * MM_PER[units])
    assert any(feed == pytest.approx(most) for feed, most in told)


def test_a_feed_a_spindle_turn_is_so_fine_that_a_careless_template_writes_an_exponent() -> None:
    finest = [
        stroke.mm_per_min / spindle.rpm / MM_PER[planned.units]
        for _, planned in plans()
        for spindle, stroke in zip(spindles(planned), strokes(planned), strict=True)
    ]
    assert "e-05" in str(round(min(finest), 6))


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_speeds_reach_from_one_turn_a_minute_to_sixty_thousand(units: Units) -> None:
    speeds = {step.rpm for step in steps(units) if isinstance(step, Spindle)}
    assert (min(speeds), max(speeds)) == (1, 60_000)


def test_speeds_and_feeds_are_rounded() -> None:
    rounded = {
        (
            spindle.rpm != asked,
            abs(stroke.mm_per_min - (trial.job.cut.feed or 0.0) * asked / trial.job.head.ratio) > 1e-9,
        )
        for trial, planned in plans()
        if trial.job.cut.rpm is not None
        for asked in [trial.job.cut.rpm * trial.job.head.ratio]
        for spindle, stroke in zip(spindles(planned), strokes(planned), strict=True)
    }
    assert (True, True) in rounded


def test_from_bore_to_bore_speed_and_feed_change_alone_together_and_not() -> None:
    changes = {
        (one.rpm != other.rpm, into.mm_per_min != onward.mm_per_min)
        for _, planned in plans()
        for (one, other), (into, onward) in zip(pairwise(spindles(planned)), pairwise(strokes(planned)), strict=True)
    }
    assert changes == {(False, False), (True, False), (False, True), (True, True)}


ODD: Final = (
    *(sign for sign in string.punctuation),
    "(MSG, x)",
    "M30",
    "<script>",
    "{{",
    "\u00df",
    "\u00e8",
    "\u03a9",
    "\u8f74",
    "\U0001f529",
    "\u0301",
    "W" * 36,
)


@pytest.mark.parametrize("odd", ODD)
def test_odd_names_stand_in_openings_remarks_and_stops(odd: str) -> None:
    assert any(odd in trial.job.name for trial in TRIALS)
    assert any(odd in step.text for step in steps() if isinstance(step, Remark))
    assert any(odd in step.why for step in steps() if isinstance(step, Pause))


@pytest.mark.parametrize("name", ["%", "M30", "(MSG, x)"])
def test_some_names_are_nothing_but_what_a_program_is_made_of(name: str) -> None:
    assert any(trial.job.name == name == trial.job.bore[0].name for trial in TRIALS)


def test_names_are_as_long_as_they_may_be() -> None:
    assert max(len(trial.job.name) for trial in TRIALS) == 120
    assert max(len(bore.name) for trial in TRIALS for bore in trial.job.bore) == 40


def test_names_with_line_ends_were_given_and_are_on_one_line() -> None:
    words = {"two", "lines", "%", "M30"}
    given = [trial.job.name for trial in TRIALS if words.issubset(trial.job.name.split())]
    assert len(given) == 2
    assert all(name.isprintable() for name in given)
