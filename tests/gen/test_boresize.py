import math
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.boresize import USUAL_GAUGE_MM, Form, form_of, gauge_mm, known, reading_error_mm
from gen.job import Job
from gen.readings import Measured, of_rows
from tests.shop import line, round_of, rows, sized_job

JOB = sized_job()


def measured(places: Sequence[tuple[object, object, float]], bore: int = 1) -> Measured:
    """Readings of a bore at angles and depths."""
    return of_rows(rows([line(bore, 83.08, angle, depth, size) for angle, depth, size in places]), JOB)


def form(*places: tuple[object, object, float]) -> Form:
    return form_of(measured(places).readings)


def test_one_reading_is_a_size_and_no_form() -> None:
    only = form(("", "", 83.01))
    assert (only.mean_mm, only.smallest_mm, only.largest_mm, only.readings) == (83.01, 83.01, 83.01, 1)
    assert (only.taper_mm, only.ovality_mm, only.scatter_mm, only.spare, only.in_mean) == (None, None, None, 0, 1)


@given(
    st.floats(82, 85),
    st.floats(-0.02, 0.02),
    st.floats(0, 0.02),
    st.floats(0, 180),
    st.sampled_from([3, 4, 5, 8]),
    st.integers(2, 4),
)
def test_what_was_put_in_is_found_again(
    mean: float, taper: float, oval: float, wide: float, angles: int, depths: int
) -> None:
    """Two-point diameters of a conical, oval bore, at evenly spread angles and depths 3 to 24."""
    places = [
        (180 * a / angles, 3 + 21 * d / (depths - 1), a, d / (depths - 1) - 0.5)
        for a in range(angles)
        for d in range(depths)
    ]
    found = form(
        *(
            (angle, depth, mean + taper * part + oval / 2 * math.cos(2 * math.radians(angle - wide)))
            for angle, depth, _, part in places
        )
    )
    assert found.mean_mm == pytest.approx(mean, abs=1e-9)
    assert found.taper_mm == pytest.approx(taper, abs=1e-9)
    assert found.ovality_mm == pytest.approx(oval, abs=1e-9)
    assert found.spare == angles * depths - 4
    assert found.in_mean == pytest.approx(1 / math.sqrt(angles * depths))
    assert found.half_mm(0) == pytest.approx((abs(taper) + oval) / 2, abs=1e-9)


def test_taper_is_positive_where_the_bore_widens_inward() -> None:
    found = form(("", 4, 83.01), ("", 24, 83.016))
    assert (found.taper_mm, found.mean_mm) == pytest.approx((0.006, 83.013))
    assert found.ovality_mm is None


def test_the_mean_is_halfway_along_wherever_most_was_read() -> None:
    """Three readings in front and one behind, on a taper of 0.006 mm."""
    assert form((0, 4, 83.01), (45, 4, 83.01), (90, 4, 83.01), (0, 24, 83.016)).mean_mm == pytest.approx(83.013)


def test_two_diameters_square_to_each_other_tell_an_oval() -> None:
    found = form((10, "", 83.01), (100, "", 83.018))
    assert (found.ovality_mm, found.mean_mm) == pytest.approx((0.008, 83.014))
    assert form((10, "", 83.01), (140, "", 83.018)).ovality_mm is None


def test_one_diameter_read_from_both_sides_tells_no_oval() -> None:
    found = form((10, "", 83.01), (190, "", 83.018))
    assert found.ovality_mm is None
    assert found.mean_mm == pytest.approx(83.014)


def test_angles_close_together_tell_no_oval() -> None:
    assert form((0, "", 83.01), (5, "", 83.011), (10, "", 83.013)).ovality_mm is None


def test_what_cannot_be_told_apart_is_not_told() -> None:
    """Front read upright, rear read level: larger behind, or wider across?"""
    found = form((0, 4, 83.01), (90, 24, 83.02))
    assert (found.taper_mm, found.ovality_mm) == (None, None)
    assert found.mean_mm == pytest.approx(83.015)


def test_scatter_is_what_form_leaves_over() -> None:
    """A line through 0, 8, 10 leaves -1, 2, -1."""
    found = form(("", 4, 83.0), ("", 14, 83.008), ("", 24, 83.01))
    assert (found.taper_mm, found.scatter_mm, found.spare) == pytest.approx((0.01, math.sqrt(6e-6), 1))


def test_form_is_told_less_what_errors_make_of_it() -> None:
    found = form(("", 4, 83.0), ("", 24, 83.005))
    assert found.in_taper == pytest.approx(math.sqrt(2))
    assert found.half_mm(0.003) == pytest.approx(math.sqrt(0.005**2 - 2 * 0.003**2) / 2)
    assert found.half_mm(0.01) == 0
    oval = form((0, "", 83.0), (90, "", 83.005))
    assert oval.in_ovality == pytest.approx(math.sqrt(2))


@pytest.mark.parametrize(("told", "used"), [(0.0, USUAL_GAUGE_MM), (0.003, 0.003), (0.0001, 0.0005)])
def test_a_gauge_repeats_as_told_within_reason(told: float, used: float) -> None:
    assert gauge_mm(sized_job(size={"tolerance": "H6", "gauge": told})) == used


def test_a_job_without_sizes_has_a_usual_gauge() -> None:
    assert gauge_mm(sized_job(size=None, passes=None)) == USUAL_GAUGE_MM


def test_readings_that_scatter_more_than_the_gauge_count_for_less() -> None:
    quiet, wild = (
        measured([("", "", 83.0), ("", "", 83.0 + apart), ("", "", 83.0 - apart)]) for apart in (0.001, 0.01)
    )
    assert reading_error_mm(JOB, quiet) == 0.002
    assert reading_error_mm(JOB, wild) == pytest.approx(0.01)
    assert reading_error_mm(JOB, measured([("", "", 83.0)])) == 0.002
    one = measured([("", "", 83.0)], bore=2)
    assert reading_error_mm(JOB, Measured((*wild.readings, *one.readings))) == pytest.approx(0.01)


def test_before_anything_is_measured_the_job_is_believed() -> None:
    first = known(JOB, [])[0]
    assert first is not None
    assert (first.mean_mm, first.error_mm, first.smallest_mm, first.largest_mm) == pytest.approx(
        (82.985, 0.0025, 82.98, 82.99)
    )
    assert first.half_mm is None
    assert known(sized_job(passes=None, bore=[{"face": 0, "width": 28, "diameter": 84.0}]), []) == [None]


def test_what_was_measured_last_is_known() -> None:
    rounds = [round_of(JOB, 83.08, [83.07] * 3), measured([("", "", 83.8)], bore=2)]
    one, two, _ = known(JOB, rounds)
    assert one is not None
    assert two is not None
    assert (one.mean_mm, one.error_mm) == pytest.approx((83.07, 0.001))
    assert (two.mean_mm, two.error_mm) == pytest.approx((83.8, 0.002))


# Bores of 82.98 to 82.99 that lie 0.1 off: old wall from 82.78 to 83.19 about the bore line.
SIZED = [
    {"name": str(at + 1), "face": -100 * at, "width": 28, "diameter": 84.0, "measured": [82.98, 82.99]}
    for at in range(3)
]
OFF = sized_job(bore=[{**bore, "centre": [0.06, -0.08]} for bore in SIZED])


def of_first(*rounds: Measured, job: Job = OFF) -> tuple[float, float, float]:
    now = known(job, rounds)[0]
    assert now is not None
    return now.smallest_mm, now.largest_mm, now.old_wall_mm


def test_old_wall_is_known_where_a_centre_is_told() -> None:
    assert of_first() == pytest.approx((82.78, 83.19, 83.19))
    assert of_first(job=JOB) == (82.98, 82.99, 0)
    on_line = sized_job(bore=[{**bore, "centre": [0, 0]} for bore in SIZED])
    assert known(on_line, []) == known(JOB, [])


def test_old_wall_stays_until_a_setting_is_beyond_it() -> None:
    """The skim at 82.88 cuts one side only, and gauged across that shows less than it has left on the other."""
    skim = round_of(OFF, 82.88, [82.99] * 3)
    assert of_first(skim) == pytest.approx((82.88, 83.19, 83.19))
    assert of_first(skim, round_of(OFF, 83.19, [83.1] * 3)) == pytest.approx((83.1, 83.19, 83.19))
    assert of_first(skim, round_of(OFF, 83.5, [83.49] * 3)) == pytest.approx((83.49, 83.49, 0))


def test_old_wall_beyond_the_last_cut_is_not_taken_for_a_bore_over_size() -> None:
    """0.6 off it reaches 84.19; the finish to 84.011 is left 0.02 a side at the least."""
    far = sized_job(bore=[{**bore, "centre": [0.6, 0]} for bore in SIZED])
    assert of_first(job=far) == pytest.approx((81.78, 83.971, 84.19))
    assert of_first(round_of(far, 84.011, [84.011] * 3), job=far) == pytest.approx((84.011, 84.011, 84.19))
