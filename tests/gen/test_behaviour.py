import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.behaviour import (
    BAND,
    BIAS_ERROR_MM,
    BIAS_MM,
    LEAST_SCATTER_MM,
    SPRING,
    SPRING_ERROR,
    USUAL_SCATTER_MM,
    USUAL_SETTING_MM,
    Behaviour,
    Taken,
    learned,
    taken,
)
from tests.shop import round_of, sized_job

JOB = sized_job()
BELIEVED = learned([])


def cuts(
    bias: float = 0.008,
    spring: float = 0.06,
    *,
    depths: Sequence[float] = (0.1, 0.7),
    bores: int = 7,
    error: float = 0.0005,
    apart: Sequence[float] = (),
) -> list[Taken]:
    """Cuts of so much on the diameter by a cutter that does exactly so, bores ``apart`` from that."""
    off = [*apart, *[0.0] * bores][:bores]
    made, before = [], 83.0
    for number, depth in enumerate(depths):
        set_mm = before + depth
        after = set_mm + bias - spring * depth
        made += [Taken((number, set_mm), bore, set_mm, before, after + off[bore], error) for bore in range(bores)]
        before = after
    return made


def test_before_anything_is_cut_it_is_as_believed() -> None:
    assert (BELIEVED.bias_mm, BELIEVED.spring, BELIEVED.cuts) == pytest.approx((BIAS_MM, SPRING, 0), abs=1e-12)
    assert np.sqrt(np.diag(BELIEVED.covariance)) == pytest.approx([BIAS_ERROR_MM, SPRING_ERROR])
    assert BELIEVED.covariance[0, 1] == pytest.approx(0, abs=1e-12)
    assert (BELIEVED.setting_mm, BELIEVED.scatter_mm) == pytest.approx((USUAL_SETTING_MM, USUAL_SCATTER_MM))


def test_bias_and_spring_are_found_from_cuts_of_several_depths() -> None:
    found = learned(cuts(depths=(0.1, 0.7, 0.2, 0.6)))
    assert found.bias_mm == pytest.approx(0.008, abs=0.0005)
    assert found.spring == pytest.approx(0.06, abs=0.001)
    assert found.cuts == 28
    assert math.sqrt(found.covariance[0, 0]) < 0.002
    assert math.sqrt(found.covariance[1, 1]) < 0.005


@given(st.floats(-0.03, 0.03), st.floats(0, 0.12))
def test_one_pass_tells_what_the_next_like_it_will_do(bias: float, spring: float) -> None:
    """Bias and spring cannot be told apart from one depth, but what they come to at that depth can."""
    found = learned(cuts(bias, spring, depths=(0.5,)))
    expected = float(found.after_mm(83.5, np.array([83.0]))[0])
    assert expected == pytest.approx(83.5 + bias - spring * 0.5, abs=0.0005)
    assert found.covariance[0, 1] / math.sqrt(found.covariance[0, 0] * found.covariance[1, 1]) > 0.9


@given(st.permutations(range(14)))
def test_the_order_of_cuts_does_not_matter(order: list[int]) -> None:
    made = cuts(apart=(0.001, -0.002, 0.0005))
    found, same = learned(made), learned([made[index] for index in order])
    assert (found.bias_mm, found.spring, found.scatter_mm) == pytest.approx(
        (same.bias_mm, same.spring, same.scatter_mm)
    )


@given(st.floats(0.0005, 0.003), st.integers(1, 8))
def test_what_is_learned_is_never_less_certain_than_what_was_believed(error: float, bores: int) -> None:
    found = learned(cuts(bores=bores, error=error))
    assert (np.linalg.eigvalsh(BELIEVED.covariance - found.covariance) >= -1e-12).all()
    worse = learned(cuts(bores=bores, error=2 * error))
    assert (np.diag(worse.covariance) >= np.diag(found.covariance) * (1 - 1e-9)).all()


def test_scatter_is_that_of_bores_among_themselves_less_the_gauge_s() -> None:
    """28 bores apart by 6 micrometres either way; what is usual counts as four more."""
    apart = [0.006, -0.006] * 14
    found = learned(cuts(bores=28, apart=apart, depths=(0.5,)))
    assert found.scatter_mm == pytest.approx(math.sqrt((4 * 0.002**2 + 28 * 0.006**2 - 27 * 0.0005**2) / 31))
    assert learned(cuts(bores=28, depths=(0.5,))).scatter_mm == LEAST_SCATTER_MM
    assert learned(cuts(bores=2, depths=(0.5,))).scatter_mm == pytest.approx(0.002 * math.sqrt(4 / 5), rel=1e-3)


def test_settings_that_contradict_each_other_make_all_less_certain() -> None:
    steady = cuts(depths=(0.2, 0.2, 0.2, 0.2))
    jumpy = [cut._replace(after_mm=cut.after_mm + 0.01 * (-1) ** cut.setting[0]) for cut in steady]
    quiet, shaky = learned(steady), learned(jumpy)
    assert shaky.setting_mm > 2.5 * quiet.setting_mm
    assert (np.diag(shaky.covariance) > np.diag(quiet.covariance)).all()
    assert shaky.scatter_mm == quiet.scatter_mm == LEAST_SCATTER_MM


def test_a_cut_that_tells_nothing_leaves_all_as_believed() -> None:
    found = learned(cuts(bores=1, depths=(0.5,), error=1.0))
    assert (found.setting_mm, found.bias_mm, found.spring) == pytest.approx(
        (USUAL_SETTING_MM, BIAS_MM, SPRING), abs=1e-4
    )


def test_a_setting_brings_what_is_wanted_by_the_model() -> None:
    found = Behaviour(0.008, 0.06, np.eye(2), 0.002, 0.001, 1)
    set_mm = found.set_for_mm(84.011, 83.8)
    assert set_mm == pytest.approx((84.011 - 0.008 - 0.06 * 83.8) / 0.94)
    assert found.after_mm(set_mm, np.array([83.8]))[0] == pytest.approx(84.011)


def test_what_moves_together_and_what_moves_alone() -> None:
    """Variance of bias - spring * depth, plus that of the setting; and scatter with the error of the size before."""
    covariance = np.array([[4e-6, 1e-6], [1e-6, 9e-4]])
    found = Behaviour(0, 0.05, covariance, 0.002, 0.003, 1)
    before = np.array([83.0, 83.1])
    together = found.shared(83.5, before)
    slopes = np.array([[1, 1], [-0.5, -0.4]])
    assert together.T @ together == pytest.approx(slopes.T @ covariance @ slopes + 4e-6, rel=1e-9)
    assert found.own_mm(np.array([0.0, 0.08])) == pytest.approx([0.003, 0.005])


def test_cuts_are_taken_from_the_rounds() -> None:
    rounds = [round_of(JOB, 83.08, [83.083, 83.082, 83.081]), round_of(JOB, 83.85, [83.81] * 3)]
    made, light = taken(JOB, rounds)
    assert light == []
    assert [(cut.setting, cut.bore) for cut in made] == [
        ((n, s), b) for n, s in ((1, 83.08), (2, 83.85)) for b in range(3)
    ]
    assert (made[0].before_mm, made[0].after_mm, made[0].error_mm) == pytest.approx((82.985, 83.083, 0.001))
    assert (made[4].set_mm, made[4].before_mm, made[4].after_mm) == pytest.approx((83.85, 83.082, 83.81))


def test_nothing_is_learned_from_cuts_too_light() -> None:
    """Less than 0.02 mm a side at the largest diameter: the edge may have rubbed, or old wall may be left."""
    rounds = [round_of(JOB, 83.02, [83.0] * 3), round_of(JOB, 83.035, [83.02] * 3), round_of(JOB, 83.01, [83.02] * 3)]
    made, not_used = taken(JOB, rounds)
    assert made == []
    assert [(one.round, one.bore, one.is_light) for one in not_used] == [
        (n, b, True) for n in (1, 2, 3) for b in range(3)
    ]
    assert len(taken(JOB, [round_of(JOB, 83.031, [83.02] * 3)])[0]) == 3


def test_nothing_is_learned_where_a_centre_tells_that_old_wall_is_left() -> None:
    """82.98 to 82.99 and 0.1 off: old wall as far as 83.19 about the line, so that 83.23 is just beyond it."""
    bores = [{"face": 0, "width": 28, "diameter": 84.0, "measured": [82.98, 82.99], "centre": [0, 0.1]}]
    job = sized_job(bore=bores)
    made, not_used = taken(job, [round_of(job, 83.15, [83.14])])
    assert made == []
    assert [one.is_light for one in not_used] == [True]
    assert len(taken(job, [round_of(job, 83.231, [83.2])])[0]) == 1
    assert len(taken(sized_job(1), [round_of(sized_job(1), 83.15, [83.14])])[0]) == 1


def test_nothing_is_learned_from_a_cutter_that_does_not_cut() -> None:
    """Set to take 0.4 off 82.985: 0.1 is a quarter."""
    made, not_used = taken(JOB, [round_of(JOB, 83.385, [83.084, 83.086, 83.0])])
    assert [cut.bore for cut in made] == [1]
    assert [(one.bore, one.is_light, one.is_failed) for one in not_used] == [(0, False, True), (2, False, True)]


def test_a_bias_may_explain_what_is_missing_of_a_light_cut() -> None:
    """Set to take 0.095 off: 0.015 is little, but a bias of -0.08 would leave it; one of -0.09 is not believed."""
    _, not_used = taken(JOB, [round_of(JOB, 83.08, [83.0, 82.991, 82.989])])
    assert [(one.bore, one.is_light, one.is_failed) for one in not_used] == [
        (0, False, False),
        (1, False, False),
        (2, False, True),
    ]


@pytest.mark.parametrize(
    ("bias", "spring", "setting", "is_credible"),
    [
        (0.0, 0.05, 0.002, True),
        (0.11, 0.05, 0.002, True),
        (0.112, 0.05, 0.002, False),
        (-0.112, 0.05, 0.002, False),
        (0.0, 0.23, 0.002, True),
        (0.0, 0.24, 0.002, False),
        (0.0, -0.14, 0.002, False),
        (0.08, 0.18, 0.002, False),
        (0.0, 0.05, 0.011, False),
    ],
)
def test_a_cutter_is_believed_within_reason(bias: float, spring: float, setting: float, is_credible: bool) -> None:
    assert Behaviour(bias, spring, np.eye(2), setting, 0.001, 1).is_credible is is_credible


@pytest.mark.parametrize(("scatter", "is_credible"), [(0.019, True), (0.021, False)])
def test_bores_that_scatter_beyond_belief_are_no_cutter_s(scatter: float, is_credible: bool) -> None:
    assert Behaviour(0.0, 0.05, np.eye(2), 0.002, scatter, 1).is_credible is is_credible


def test_a_setting_reaches_its_bias_farther_and_nothing_springs_where_nothing_is_cut() -> None:
    known = learned([])._replace(bias_mm=0.01, spring=0.1, cuts=3)
    above, above_most = known.reach_mm(83.0, 84.0)
    assert above == pytest.approx(83.01)
    assert above_most > 83.01 + BAND * known.scatter_mm
    assert known.reach_mm(83.0, 82.0)[0] == pytest.approx(82.91)
    assert learned([]).reach_mm(83.0, 82.0) == (83.0, 83.0)
