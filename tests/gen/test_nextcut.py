import re
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.behaviour import BAND
from gen.chance import percent
from gen.job import Job
from gen.nextcut import Next, Shop, next_cuts
from gen.readings import Measured, of_rows
from gen.settingwords import setting_of
from post.units import MM_PER, plain
from tests.jobs import INCH_TEXT, make_job
from tests.shop import line, round_of, rows, sized_job

JOB = sized_job()
SKIM = round_of(JOB, 83.08, [83.083] * 3)
ROUGH = round_of(JOB, 83.85, [83.812] * 3)


DID_NOT_CUT = (
    'in bore "3" the cutter was set to take off 0.767 mm and took off 0.1 mm: look for a loose or broken cutter, a'
    " wrong setting or reading"
)


def after(*rounds: Measured, job: Job = JOB, **more: Any) -> list[Next]:
    return next_cuts(Shop(job, rounds, **more), seed=1, rows=20_000)


def only(*rounds: Measured, job: Job = JOB, **more: Any) -> Next:
    (one,) = after(*rounds, job=job, **more)
    return one


def test_before_anything_is_cut_the_first_pass_comes_next() -> None:
    one = only()
    assert (one.number, one.pass_of_plan.kind, one.advice, one.bores) == (1, "skim", "cut", (0, 1, 2))
    assert one.wanted_mm == pytest.approx(83.08)


def test_after_the_skim_comes_the_roughing_pass() -> None:
    one = only(SKIM)
    assert (one.number, one.pass_of_plan.kind, one.advice) == (2, "rough", "cut")
    assert one.wanted_mm == pytest.approx(83.811)
    assert one.chances is None
    assert one.reason == "the pass brings the bores to 83.811 mm and leaves the rest for those behind it"


def test_the_finish_is_set_so_that_bores_lie_about_the_aim() -> None:
    one = only(SKIM, ROUGH)
    assert (one.number, one.pass_of_plan.kind, one.advice, one.wanted_mm) == (3, "finish", "cut", 84.011)
    assert one.set_mm is not None
    assert one.outlook is not None
    assert one.chances is not None
    assert 84.0095 <= float(one.outlook.expected.mean()) <= 84.011
    assert one.chances.all > 0.97
    assert one.reason == f"all bores are expected in tolerance with a chance of {percent(one.chances.all)}"


def test_a_bore_that_was_wider_before_comes_out_wider() -> None:
    one = only(SKIM, round_of(JOB, 83.85, [83.79, 83.81, 83.82]))
    assert one.outlook is not None
    low, middle, high = one.outlook.expected
    assert low < middle < high
    assert 84.0095 <= (low + high) / 2 <= 84.011


UNITS = st.sampled_from(["mm", "inch"])


@settings(max_examples=40, deadline=None)
@given(UNITS, st.sampled_from(["bore", "over", "tip"]), st.floats(-0.02, 0.02), st.floats(0, 0.1))
def test_a_setting_is_told_to_its_step_and_never_larger(units: str, form: str, bias: float, spring: float) -> None:
    """Whatever the cutter does, the middle of what is expected lies at the aim, or less than a step below it."""
    text, step = (INCH_TEXT, 0.0001) if units == "inch" else (None, 0.001)
    size = {"tolerance": "H7", "setting": form}
    bores = [{"face": 0, "width": 1.25, "diameter": 3.3125, "measured": [3.27, 3.2705]}]
    passes = {"depth": 0.02, "finish_stock": 0.004}
    job = make_job(text, size=size, passes=passes, bore=bores) if text else sized_job(1, size=size)
    shop = Shop(job, [])
    behaviour = shop.behaviour._replace(bias_mm=bias, spring=spring)
    shop.behaviour = behaviour
    wanted = shop.plan[-1].diameter_mm
    set_mm = shop.setting_for(wanted, [0])
    count = setting_of(job, set_mm) / MM_PER[job.units] / step
    assert count == pytest.approx(round(count), abs=1e-6)
    short = wanted - behaviour.after_mm(set_mm, np.array([shop.bores[0].mean_mm]))[0]
    assert -1e-9 <= short <= step * MM_PER[job.units] * (2 if form != "bore" else 1) + 1e-9


def test_what_is_in_tolerance_is_not_cut_again() -> None:
    one = only(SKIM, ROUGH, round_of(JOB, 84.02, [84.01] * 3))
    assert (one.advice, one.reason, one.set_mm) == ("stop", "every bore is in tolerance", None)
    assert (one.bores, one.leave_out) == ((), (0, 1, 2))


def test_bores_in_tolerance_are_left_out_of_another_finish() -> None:
    first = of_rows(rows([line(1, 84.02, "", "", 84.01)] * 4), JOB)
    one = only(SKIM, ROUGH, first)
    assert (one.number, one.bores, one.leave_out, one.advice) == (3, (1, 2), (0,), "cut")


def test_a_bore_over_size_stops() -> None:
    one = only(SKIM, ROUGH, round_of(JOB, 84.02, [84.01, 84.0254, 83.95]))
    assert (one.advice, one.reason) == ("stop", 'bore "2" is 0.0034 mm over its largest size')
    assert (one.number, one.is_held) == (3, True)


def test_nothing_is_cut_while_a_bore_is_over_size() -> None:
    """Bore 3 is 84.03 after the skim of the others: their roughing pass is held too."""
    skimmed = of_rows(
        rows([line(bore, 83.08, "", "", size) for bore, size in ((1, 83.08), (2, 83.08), (3, 84.03))]), JOB
    )
    rough, finish = after(skimmed)
    assert (rough.pass_of_plan.kind, rough.bores, rough.advice, rough.set_mm) == ("rough", (0, 1), "stop", None)
    assert rough.reason == "a bore is over its largest size; nothing is cut until that is answered"
    assert (finish.bores, finish.reason) == ((2,), 'bore "3" is 0.008 mm over its largest size')
    assert rough.is_held
    assert finish.is_held


def test_what_is_in_tolerance_is_not_held() -> None:
    one = only(SKIM, ROUGH, round_of(JOB, 84.02, [84.01] * 3))
    assert not one.is_held
    assert not only(SKIM).is_held


@pytest.mark.parametrize(("apart", "advice"), [(0.03, "cut"), (0.08, "stop")])
def test_bores_that_scatter_beyond_belief_stop(apart: float, advice: str) -> None:
    one = only(round_of(JOB, 83.08, [83.08 - apart / 2, 83.08, 83.08 + apart / 2]))
    assert (one.pass_of_plan.kind, one.advice) == ("rough", advice)
    if advice == "stop":
        assert " and bores that scatter 0.02" in one.reason


def test_a_bore_kept_far_from_its_setting_is_not_learned_from_in_silence() -> None:
    """All of bore 3 are 0.16 mm, or 0.4 mm, larger than its neighbours, and were told to be so."""
    for off in (0.16, 0.4):
        for one in after(round_of(JOB, 83.08, [83.083, 83.082, 83.083 + off])):
            assert one.advice == "stop"
            assert "bores that scatter" in one.reason


def spread_out(job: Job, deviation_mm: float) -> list[Next]:
    """The next cuts of a shop whose bores were seen to scatter so much."""
    shop = Shop(job, [SKIM, ROUGH])
    shop.behaviour = shop.behaviour._replace(scatter_mm=deviation_mm)
    return next_cuts(shop, seed=1, rows=20_000)


def test_a_finish_that_may_end_over_size_stops() -> None:
    assert [one.advice for one in spread_out(JOB, 0.004)] == ["cut"]
    (one,) = spread_out(JOB, 0.008)
    assert (one.pass_of_plan.kind, one.advice, one.set_mm, one.is_held) == ("finish", "stop", None, True)
    assert one.outlook is not None
    assert one.chances is not None
    highest = float((one.outlook.expected + BAND * one.outlook.deviation).max())
    assert highest > 84.022
    assert f" may come out at {plain(highest, 4)} mm, {plain(highest - 84.022, 4)} mm over its largest" in one.reason


@pytest.mark.parametrize(("scatter", "advice"), [(0.08, "cut"), (0.15, "stop")])
def test_a_roughing_pass_that_may_end_over_size_stops(
    scatter: float, advice: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """0.211 mm are left to the largest size; bores that come out anyhow do not keep to them."""
    monkeypatch.setattr("gen.behaviour.MOST_SCATTER_MM", 1)
    shop = Shop(JOB, [SKIM])
    shop.behaviour = shop.behaviour._replace(scatter_mm=scatter)
    (one,) = next_cuts(shop, seed=1, rows=10)
    assert (one.pass_of_plan.kind, one.advice, one.set_mm is None) == ("rough", advice, advice == "stop")
    assert one.outlook is not None
    assert ("over its largest size" in one.reason) == (advice == "stop")


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([(SKIM,), (SKIM, ROUGH)]),
    st.floats(-0.05, 0.05),
    st.floats(0, 0.12),
    st.floats(0.001, 0.02),
    st.floats(0.0005, 0.03),
)
def test_no_cut_is_advised_that_reaches_over_a_bore_s_largest_size(
    rounds: tuple[Measured, ...], bias: float, spring: float, scatter: float, doubt: float
) -> None:
    shop = Shop(JOB, rounds)
    covariance = np.diag([doubt**2, 0.02**2])
    shop.behaviour = shop.behaviour._replace(bias_mm=bias, spring=spring, scatter_mm=scatter, covariance=covariance)
    for one in next_cuts(shop, seed=1, rows=10):
        if one.advice != "stop":
            assert one.outlook is not None
            assert (one.outlook.expected + BAND * one.outlook.deviation <= 84.022 + 1e-9).all()


def test_less_than_the_cutter_can_cut_stops() -> None:
    one = only(SKIM, ROUGH, round_of(JOB, 83.98, [83.98, 83.98, 83.99]))
    assert one.advice == "stop"
    assert one.reason == (
        'bore "3" has 0.0103 mm a side left and the cutter needs 0.02 mm; it is under its smallest size by 0.01 mm:'
        " run the cutter again at the setting it has, a spring pass, and size what that leaves with --again; or hone"
        " it; or put in a sharper edge and make passes.least less"
    )


@pytest.mark.parametrize(("size", "is_enough"), [(83.972, True), (83.974, True), (83.978, False)])
def test_where_a_higher_aim_leaves_enough_to_cut_it_is_told(size: float, is_enough: bool) -> None:
    """0.04 mm more are 84.012 or 84.014, within 84.022, or 84.018, which with its band is not."""
    rounds = [SKIM, ROUGH, round_of(JOB, 83.98, [size] * 3)]
    one = only(*rounds)
    assert (one.advice, one.set_mm) == ("stop", None)
    told = re.search(r"mm: set diameter (84\.\d{3}) mm, just enough to cut and .* (84\.\d+) mm at most", one.reason)
    assert (told is not None) == is_enough
    if told is not None:
        after_mm = Shop(JOB, rounds).outlook(float(told[1]), [0, 1, 2]).expected
        assert (after_mm >= size + 0.04 - 1e-9).all()
        assert (after_mm <= size + 0.0412).all()
        assert plain(float(after_mm.max()), 4) == told[2]


def test_a_finish_that_may_leave_too_little_to_cut_again_says_so() -> None:
    """The setting is rounded down, so that there is a band that reaches under the smallest size and not over."""
    (one,) = spread_out(JOB, 0.005)
    assert one.advice == "cut"
    assert one.outlook is not None
    short = 84.0 - float((one.outlook.expected - BAND * one.outlook.deviation).min())
    assert one.reason.endswith(
        f' %; bore "1" may come out {plain(short, 4)} mm under its smallest size, with too little left to cut again'
    )
    (sharp,) = spread_out(sized_job(passes={"depth": 0.5, "finish_stock": 0.1, "skim": 0.05, "least": 0.002}), 0.005)
    assert sharp.advice == "cut"
    assert sharp.reason.endswith(" %")


def test_a_pass_that_finds_too_little_is_passed_over() -> None:
    """The roughing pass to 83.811 would find 0.0055 mm a side; the finish is next."""
    assert only(round_of(JOB, 83.85, [83.80] * 3, each=1)).number == 3
    assert only(round_of(JOB, 83.1, [83.1] * 3)).number == 2


def test_a_pass_not_yet_made_that_finds_too_little_is_passed_over() -> None:
    """Told to have been the skim: the roughing pass to 83.811 would find 0.0105 mm a side, or 0.0205."""

    def skim(size: float) -> Measured:
        return of_rows(rows([line(bore, 83.78, "", "", size, pass_=1) for bore in (1, 2, 3)]), JOB)

    assert [only(skim(size)).number for size in (83.79, 83.77)] == [3, 2]


def test_a_pass_is_not_repeated_for_what_it_left() -> None:
    """The skim left 0.03 mm a side, which the cutter could cut; the next pass is the roughing one all the same."""
    assert only(round_of(JOB, 83.08, [83.02] * 3)).number == 2


def test_a_cutter_that_did_not_cut_stops() -> None:
    for one in after(SKIM, round_of(JOB, 83.85, [83.812, 83.812, 83.183])):
        assert one.advice == "stop"
        assert one.reason == DID_NOT_CUT
    assert only(round_of(JOB, 83.85, [83.0] * 3), round_of(JOB, 83.85, [83.812] * 3)).advice == "split the cut"


def test_what_no_sound_cutter_does_stops() -> None:
    """Set 0.1 mm large once, not the next time."""
    one = only(round_of(JOB, 83.08, [83.20] * 3), round_of(JOB, 83.85, [83.80] * 3))
    assert one.advice == "stop"
    behaviour = Shop(JOB, [round_of(JOB, 83.08, [83.20] * 3), round_of(JOB, 83.85, [83.80] * 3)]).behaviour
    bias, spring, error, scatter = (
        plain(figure, digits)
        for figure, digits in (
            (behaviour.bias_mm, 4),
            (100 * behaviour.spring, 1),
            (behaviour.setting_mm, 4),
            (behaviour.scatter_mm, 4),
        )
    )
    assert one.reason == (
        f"a bias of {bias} mm, a spring of {spring} %, settings that repeat to {error} mm and bores that scatter"
        f" {scatter} mm are not what a sound cutter and bar do: look for a wrong setting or reading on record, a loose"
        " cutter, a setting gauge off its zero"
    )
    assert float(bias) > 0.1


def finish_of(stock: float) -> Job:
    """A job whose skim is followed by a finish of much stock."""
    return sized_job(passes={"depth": 2, "finish_stock": stock, "skim": 0.05})


def test_a_finish_too_deep_for_what_is_known_is_split() -> None:
    """One light skim does not tell bias from spring: 0.9 mm more in one cut could end anywhere in 80 micrometres."""
    job = finish_of(0.45)
    one = only(round_of(job, 83.08, [83.083] * 3), job=job)
    assert (one.pass_of_plan.kind, one.advice) == ("finish", "split the cut")
    assert one.wanted_mm == pytest.approx((83.083 + 84.011) / 2)
    assert one.outlook is not None
    assert one.chances is None
    assert one.reason.startswith("one cut would spread sizes over 0.1")
    assert one.reason.endswith(
        " mm, wider than the tolerance and the bores' form allow, as bias and spring are not known well enough yet"
    )


def test_a_split_cut_teaches_enough_to_finish() -> None:
    job = finish_of(0.45)
    one = only(round_of(job, 83.08, [83.083] * 3), round_of(job, 83.57, [83.549] * 3), job=job)
    assert (one.pass_of_plan.kind, one.advice) == ("finish", "cut")


def test_a_roughing_pass_that_may_spoil_the_finish_is_split() -> None:
    """0.03 mm a side are left for the finish, and one deep cut may be off by more than the cutter can do without."""
    job = sized_job(passes={"depth": 2, "finish_stock": 0.03, "skim": 0.05})
    one = only(round_of(job, 83.08, [83.083] * 3), job=job)
    assert (one.pass_of_plan.kind, one.advice) == ("rough", "split the cut")
    assert "and perhaps leave too little for the finish, as bias and spring" in one.reason


def test_a_cut_too_light_to_halve_is_not_split() -> None:
    """0.264 mm a side are left, and the cutter needs 0.25: nothing is known of it, and half would be too light."""
    job = sized_job(passes={"depth": 2, "finish_stock": 0.26, "skim": 0.25, "least": 0.25})
    one = only(round_of(job, 83.48, [83.483] * 3), job=job)
    assert (one.pass_of_plan.kind, one.advice) == ("finish", "stop")
    assert one.chances is not None
    assert one.chances.all < 0.5


@pytest.mark.parametrize(("bands", "advice"), [(0.8, "split the cut"), (1.2, "cut")])
def test_a_cut_is_split_where_the_band_is_wider_than_the_tolerance(bands: float, advice: str) -> None:
    deviation = Shop(finish_of(0.45), [SKIM]).outlook(84.05, [0, 1, 2]).deviation.max()
    half = bands * BAND * float(deviation)
    bores = [one.model_dump(include={"name", "face", "width", "diameter", "measured"}) for one in JOB.bore]
    wide = [one | {"limits": [84.011 - half, 84.011 + half]} for one in bores]
    job = sized_job(passes={"depth": 2, "finish_stock": 0.45, "skim": 0.05}, bore=wide)
    assert only(SKIM, job=job).advice == advice


def test_a_split_cut_goes_halfway_from_the_middle_of_the_bores() -> None:
    one = only(round_of(JOB, 83.08, [83.05, 83.083, 83.1]), job=finish_of(0.45))
    assert one.wanted_mm == pytest.approx((83.075 + 84.011) / 2)


def test_the_finish_needs_its_least_depth() -> None:
    assert Shop(JOB, []).most_before_finish_mm([0, 2]) == pytest.approx([83.971, 83.971])


def test_chances_are_those_of_the_band_told() -> None:
    """Each bore by the normal distribution that its expected size and deviation tell of."""
    bores = [one.model_dump(include={"name", "face", "width", "diameter", "measured"}) for one in JOB.bore]
    tight = [one | {"limits": [84.006, 84.012]} for one in bores]
    one = only(SKIM, round_of(JOB, 83.85, [83.80, 83.81, 83.82]), job=sized_job(bore=tight))
    assert one.outlook is not None
    assert one.chances is not None
    for size, deviation, told in zip(one.outlook.expected, one.outlook.deviation, one.chances.each, strict=True):
        normal = NormalDist(float(size), float(deviation))
        assert told == pytest.approx(normal.cdf(84.012) - normal.cdf(84.006), abs=0.015)


def test_scatter_alone_is_no_reason_to_split() -> None:
    """Bores that come out anyhow: another pass teaches nothing about them, and one of them may come out too large."""
    wide = [83.795, 83.800, 83.805, 83.815, 83.820, 83.825, 83.830]
    job = sized_job(7)
    one = only(round_of(job, 83.08, [83.083] * 7), round_of(job, 83.85, wide), job=job)
    assert one.advice == "stop"
    assert "over its largest size" in one.reason
    assert one.chances is not None
    assert one.chances.all < 0.5
    assert one.outlook is not None
    assert (2 * BAND * one.outlook.deviation > 0.022).all()


def test_form_leaves_less_room() -> None:
    def oval(job: Job, setting: float, mean: float, half: float) -> Measured:
        sizes = {0: mean + half, 45: mean, 90: mean - half, 135: mean}
        return of_rows(rows([line(b, setting, a, "", size) for b in (1, 2, 3) for a, size in sizes.items()]), job)

    round_bores, oval_bores = (only(SKIM, oval(JOB, 83.85, 83.812, half)) for half in (0.0, 0.008))
    assert round_bores.chances is not None
    assert oval_bores.chances is not None
    assert oval_bores.chances.all < round_bores.chances.all


OVALS = [(1, 83.08, 0), (1, 83.085, 90), (2, 83.08, 0), (2, 83.09, 90)]


def test_a_bore_not_yet_cut_is_taken_to_be_no_better_than_the_worst() -> None:
    job = sized_job(3)
    shop = Shop(job, [of_rows(rows([line(b, 83.08, a, "", s) for b, s, a in OVALS]), job)])
    low, high = shop.room_mm([0, 1, 2])
    halves = low - 84.0
    assert halves[0] < halves[1] == halves[2]
    assert 84.022 - high == pytest.approx(halves)


def test_groups_of_several_sizes_each_have_their_next_setting() -> None:
    """What was learned on the first serves for the second, which is not cut yet."""
    bores = [
        {"name": "1", "face": 0, "width": 28, "diameter": 84.0, "measured": [82.98, 82.99]},
        {"name": "2", "face": -100, "width": 28, "diameter": 90.0, "measured": [88.98, 88.99]},
    ]
    job = sized_job(bore=bores)
    first = of_rows(rows([line(1, 83.08, "", "", 83.083)] * 4), job)
    second, one = after(first, job=job)
    assert (second.pass_of_plan.kind, second.bores) == ("skim", (1,))
    assert (one.pass_of_plan.kind, one.bores) == ("rough", (0,))
    assert second.wanted_mm == pytest.approx(89.08)


def test_an_air_pass_is_never_next() -> None:
    job = sized_job(passes={"depth": 0.5, "finish_stock": 0.1, "skim": 0.05, "air": True})
    assert only(job=job).number == 2


def test_a_warm_block_is_cut_larger() -> None:
    """At 30 C iron of 11.4e-6 per K is 9.6 micrometres larger at 84 mm: 84.011 at 20 C gauges 84.0206."""
    job = sized_job(size={"tolerance": "H6", "gauge": 0.002, "temperature": 30})
    warm = only(SKIM, ROUGH, job=job, expansion_per_k=11.4e-6)
    cold = only(SKIM, ROUGH, job=job)
    assert warm.set_mm is not None
    assert cold.set_mm is not None
    assert warm.set_mm - cold.set_mm == pytest.approx(0.0096 / 0.95, abs=0.0015)
    done = round_of(JOB, 84.02, [84.0263] * 3)
    assert only(SKIM, ROUGH, done, job=job, expansion_per_k=11.4e-6).reason == "every bore is in tolerance"
    assert "over its largest size" in only(SKIM, ROUGH, done, job=job).reason
    small = round_of(JOB, 84.02, [84.005] * 3)
    assert only(SKIM, ROUGH, small, job=job, expansion_per_k=11.4e-6).reason != "every bore is in tolerance"
    assert only(SKIM, ROUGH, small, job=job).reason == "every bore is in tolerance"


def test_the_same_seed_gives_the_same_chance() -> None:
    shop = Shop(JOB, [SKIM, round_of(JOB, 83.85, [83.80, 83.81, 83.82])])
    one, same, other = (next_cuts(shop, seed=seed, rows=2_000)[0].chances for seed in (1, 1, 2))
    assert one is not None
    assert same is not None
    assert other is not None
    assert one.all == same.all
    assert tuple(one.each) != tuple(other.each)
