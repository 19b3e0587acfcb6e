"""Figures of a survey: an arch reckoned by hand, short stock, the crank's limits, and what both units tell alike."""

import json
import math
from typing import Any, Final

import pytest

from gen.job import Job
from gen.linefacts import facts
from gen.surveyed import Section, Surveyed
from tests.jobs import make_job, told

ROW: Final = [
    {"name": str(number + 1), "face": -100 * number, "width": 20, "diameter": 84.0, "hole": 83} for number in range(3)
]
NAMES: Final = ["least moved", "most stock", "new zero only", "end bores", "least squares", "as it lies"]


def arch_job(units: str = "mm", **line: Any) -> Job:
    return make_job(bore=ROW, line={"stock": 0.08} | line).model_copy(update={"units": units})


def arch(*rises: float, size: float = 83.8) -> Surveyed:
    """Three bores, their middles at X -10, -110 and -210, so high; of 83.8, with 0.1 all round to their size."""
    return Surveyed(
        tuple(
            Section(bore, None, -10.0 - 100 * bore, 0.0, rise, size, size, "centre") for bore, rise in enumerate(rises)
        )
    )


ARCH: Final = arch(0, 0.03, 0)


def line_of(found: dict[str, Any], name: str) -> dict[str, Any]:
    (one,) = [line for line in found["lines"] if line["name"] == name]
    return dict(one)


def test_an_arch() -> None:
    """The stock wanted is kept 0.01 above the ends, where the least is 0.08, at the top of the middle bore."""
    found = facts(arch_job(), ARCH)
    assert (found["ok"], found["best"], found["chosen"]) == (True, "least moved", "least moved")
    assert (found["units"], found["stock_wanted"], found["old_line"]) == ("mm", 0.08, "ends")
    assert (found["refused"], found["short"], found["supports"], found["cam"], found["decks"]) == (None,) * 4 + ([],)
    assert [line["name"] for line in found["lines"]] == NAMES
    assert [section["bore"] for section in found["sections"]] == ["1", "2", "3"]
    best = line_of(found, "least moved")
    assert best["stock"] == pytest.approx([0.09, 0.08, 0.09], abs=2e-6)
    assert best["thinnest"][1] == pytest.approx(0, abs=0.1)
    assert (best["least"], best["grow"], best["size"]) == pytest.approx((0.08, -0.16, 83.84), abs=3e-6)
    assert [(end["bore"], end["rise"]) for end in best["ends"]] == [
        ("1", pytest.approx(0.01, abs=2e-6)),
        ("3", pytest.approx(0.01, abs=2e-6)),
    ]
    assert (best["clears"], best["keeps_wanted"]) == (True, True)
    assert [(hold["bore"], hold["limit"]) for hold in best["held_by"]] == [("2", "stock")]
    most = line_of(found, "most stock")
    assert (most["least"], most["size"]) == pytest.approx((0.085, 83.83), abs=3e-6)
    assert {hold["bore"]: hold["worth"] for hold in most["held_by"]} == pytest.approx({"1": 0.25, "2": 0.5, "3": 0.25})
    assert not line_of(found, "end bores")["keeps_wanted"]
    assert line_of(found, "end bores")["thinnest"] == [None, 0.0, None]


def test_a_row_that_falls_as_x_grows() -> None:
    """0.03 higher 100 mm farther back: tilt -0.3 mm a metre; in inches the same tilt over a foot of twelve."""
    tilted = arch(0, 0.03, 0.06)
    assert line_of(facts(arch_job(), tilted), "end bores")["tilt"] == pytest.approx([0, -0.3])
    assert line_of(facts(arch_job("inch"), tilted), "end bores")["tilt"] == pytest.approx([0, -0.0036])


def test_the_same_in_inches() -> None:
    support: dict[str, Any] = {"supports": (-210.0, -10.0)}
    metric, inch = facts(arch_job(**support), ARCH), facts(arch_job("inch", **support), ARCH)
    for name in ("stock_wanted",):
        assert inch[name] == pytest.approx(metric[name] / 25.4, abs=1e-6)
    for one, other in zip(metric["lines"], inch["lines"], strict=True):
        half_a_step = 0.00005 if one["name"] == "new zero only" else 0.0
        assert other["stock"] == pytest.approx([stock / 25.4 for stock in one["stock"]], abs=1e-6 + half_a_step)
        assert other["thinnest"] == one["thinnest"]
    assert inch["zero"]["z"] == pytest.approx(metric["zero"]["z"] / 25.4, abs=0.000051)
    assert inch["supports"]["one"]["x"] == pytest.approx(-10 / 25.4, abs=1e-6)
    assert inch["sure"]["chance"] == metric["sure"]["chance"]


def test_short_stock_by_hand() -> None:
    """0.09 wanted, 0.085 is the most: each of the three is 0.005 short, on the radius, but all clean up."""
    found = facts(arch_job(stock=0.09), ARCH)
    assert (found["ok"], found["best"], found["chosen"]) == (False, "most stock", "most stock")
    assert "least moved" not in [line["name"] for line in found["lines"]]
    assert found["refused"]["best"] == pytest.approx(0.085, abs=2e-6)
    assert {hold["bore"]: hold["worth"] for hold in found["refused"]["held_by"]} == pytest.approx(
        {"1": 0.25, "2": 0.5, "3": 0.25}
    )
    short = found["short"]
    assert [bore["bore"] for bore in short["bores"]] == ["1", "2", "3"]
    assert [bore["short"] for bore in short["bores"]] == pytest.approx([0.005] * 3, abs=2e-6)
    assert all(bore["clears"] for bore in short["bores"])
    assert (short["cleans_up"], short["caps"]) == (True, None)
    assert (short["grow"], short["size"]) == pytest.approx((0.01, 84.01), abs=3e-6)


def test_bores_that_do_not_clean_up() -> None:
    """0.24 and 0 high: 0.12 off each, 0.02 more than there is; none of the stock wanted is to be had."""
    found = facts(arch_job(stock=0.01), arch(0, 0.24, 0))
    short = found["short"]
    assert not short["cleans_up"]
    assert [bore["clears"] for bore in short["bores"]] == [False] * 3
    assert [bore["short"] for bore in short["bores"]] == pytest.approx([0.03] * 3, abs=2e-6)
    assert (short["grow"], short["size"]) == pytest.approx((0.06, 84.06), abs=3e-6)
    assert not line_of(found, "most stock")["clears"]
    assert found["sure"]["chance"] == 0


def test_only_the_bores_that_are_short_are_told() -> None:
    """The middle one is spun, 0.02 larger than its size: it alone is short, and no line clears it."""
    spun = arch(0, 0.0, 0).sections
    wide = spun[1]._replace(widest=84.02, diameter=84.02)
    found = facts(arch_job(stock=0.02), Surveyed((spun[0], wide, spun[2])))
    assert [(bore["bore"], bore["clears"]) for bore in found["short"]["bores"]] == [("2", False)]
    assert found["short"]["bores"][0]["short"] == pytest.approx(0.03, abs=2e-6)
    assert found["short"]["size"] == pytest.approx(84.06, abs=3e-6)


def test_a_size_is_told_only_of_bores_wanted_alike() -> None:
    row = [ROW[0], ROW[1], ROW[2] | {"diameter": 90.0}]
    sections = arch(0, 0.03, 0).sections
    large = sections[2]._replace(diameter=89.8, widest=89.8)
    found = facts(make_job(bore=row, line={"stock": 0.09}), Surveyed((*sections[:2], large)))
    assert found["short"]["size"] is None
    assert found["short"]["grow"] == pytest.approx(0.01, abs=3e-6)


def test_caps_by_hand() -> None:
    """0.09 keeps the line within 0.01 of the ends: 0.01 off the middle cap, and the line 0.01 up."""
    caps = facts(arch_job(stock=0.09, caps="+Z"), ARCH)["short"]["caps"]
    assert [(cut["bore"], cut["cut"]) for cut in caps["cuts"]] == [("2", pytest.approx(0.01, abs=2e-6))]
    assert (caps["total"], caps["least"]) == pytest.approx((0.01, 0.09), abs=2e-6)
    assert [end["rise"] for end in caps["ends"]] == pytest.approx([0.01, 0.01], abs=2e-6)


def test_caps_that_do_not_help() -> None:
    """Across the parting a bore is as wide as it is."""
    caps = facts(arch_job(stock=0.11, caps="+Z"), ARCH)["short"]["caps"]
    assert (caps["cuts"], caps["total"], caps["ends"], caps["by_limits"]) == (None, None, None, False)
    assert caps["least"] == pytest.approx(0.1, abs=1e-4)


def test_caps_within_the_crank_s_limits() -> None:
    """0.005 toward the cam leaves the line so low that 0.015 comes off; a middle that sags no cap above helps."""
    cam = {"toward": "+Z", "x": 0, "drive": "chain", "most": 0.005}
    caps = facts(arch_job(stock=0.09, caps="+Z", cam=cam), ARCH)["short"]["caps"]
    assert (caps["total"], caps["least"]) == pytest.approx((0.015, 0.09), abs=2e-6)
    assert [end["rise"] for end in caps["ends"]] == pytest.approx([0.005, 0.005], abs=2e-6)
    sags = facts(arch_job(caps="+Z", never_lower=True), arch(0, -0.03, 0))["short"]["caps"]
    assert (sags["cuts"], sags["by_limits"]) == (None, True)
    assert sags["least"] == pytest.approx(0.07, abs=1e-5)


def test_refused_by_the_cam_alone() -> None:
    """There is a line that keeps 0.08, but no nearer than 0.005 to the cam: there 0.075 is the most."""
    cam = {"toward": "+Z", "x": 0, "drive": "chain", "most": 0.005}
    found = facts(arch_job(cam=cam), ARCH)
    assert (found["ok"], found["best"], found["chosen"]) == (False, "within limits", "within limits")
    assert found["refused"]["best"] == pytest.approx(0.075, abs=2e-6)
    assert (found["refused"]["stock"], found["refused"]["by_limits"]) == (0.075, True)
    assert [(bore["bore"], bore["clears"]) for bore in found["short"]["bores"]] == [("2", True)]
    assert (found["short"]["grow"], found["short"]["size"]) == pytest.approx((0.01, 84.01), abs=3e-6)
    assert facts(arch_job(cam=cam, stock=0.075), ARCH)["ok"], "the stock that would do does"
    assert {(hold["bore"], hold["limit"]) for hold in found["refused"]["held_by"]} == {
        ("2", "stock"),
        ("1", "the most toward the camshaft"),
        ("3", "the most toward the camshaft"),
    }
    assert (found["cam"]["apart"], found["cam"]["slack"]) == pytest.approx((-0.005, 0.01), abs=3e-6)
    assert [end["rise"] for end in line_of(found, "within limits")["ends"]] == pytest.approx([0.005] * 2, abs=2e-6)


def test_limits_that_lines_break_are_told_by_how_much_and_where() -> None:
    cam = {"toward": "+Z", "x": 0, "drive": "chain", "most": 0.012}
    found = facts(arch_job(cam=cam), ARCH, choose="most stock")
    assert [line["name"] for line in found["lines"] if line["breaks"]] == ["most stock"]
    assert line_of(found, "most stock")["breaks"] == [
        {"bore": "1", "limit": "the most toward the camshaft", "by": pytest.approx(0.003, abs=2e-6)},
        {"bore": "3", "limit": "the most toward the camshaft", "by": pytest.approx(0.003, abs=2e-6)},
    ]
    assert (found["ok"], found["best"], found["refused"]) == (True, "least moved", None)
    low = facts(arch_job(never_lower=True, stock=0.07), arch(0, -0.03, 0))
    assert {one["limit"] for one in line_of(low, "most stock")["breaks"]} == {"never lower"}


@pytest.mark.parametrize(
    ("stock", "by_limits", "would_do"), [(0.08, True, 0.075), (0.09, False, 0.075), (0.0, False, None)]
)
def test_the_stock_that_would_do_is_that_within_the_limits(
    stock: float, by_limits: bool, would_do: float | None
) -> None:
    """0.085 is the most whatever the limits: 0.09 is not kept for want of stock, but within them 0.075 is the most."""
    cam = {"toward": "+Z", "x": 0, "drive": "chain", "most": 0.005}
    rise = 0.24 if would_do is None else 0.03
    found = facts(arch_job(cam=cam, stock=stock), arch(0, rise, 0))
    assert (found["refused"]["by_limits"], found["refused"]["stock"]) == (by_limits, would_do)
    assert found["short"]["grow"] == pytest.approx(2 * (stock - 0.105 + rise), abs=3e-6)
    assert found["best"] == "within limits"


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_the_stock_that_would_do_does_as_it_is_written(units: str) -> None:
    """Rounded down, so that a job that wants it is not refused by the last digit."""
    row = arch(0, 0.0333777, 0)
    cam = {"toward": "+Z", "x": 0, "drive": "chain", "most": 0.005}
    stock = facts(arch_job(units, cam=cam), row)["refused"]["stock"]
    per = 25.4 if units == "inch" else 1.0
    assert stock * per <= 0.1 - 0.0283777
    assert facts(arch_job(units, cam=cam, stock=stock * per), row)["ok"]
    assert round(stock, 5 if units == "inch" else 4) == stock


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("high", [0.0202, 0.0207])
def test_a_new_zero_that_can_be_set_keeps_the_limits(units: str, high: float) -> None:
    """No lower than the old line's high end, which is finer than the control reads: up to the next step, if need be."""
    found = facts(arch_job(units, never_lower=True, stock=0.0), arch(0, 0.0, high))
    new_zero = line_of(found, "new zero only")
    per, step = (25.4, 0.0001) if units == "inch" else (1.0, 0.001)
    rise = found["zero"]["z"] - found["zero"]["from_z"]
    assert new_zero["breaks"] == []
    assert 0 <= rise - high / per < step
    assert new_zero["least"] == pytest.approx(0.1 / per - rise, abs=2e-6)


def test_a_line_is_told_for_the_one_chosen() -> None:
    """Zero, moves and engine of the end bores' line: nothing moves on it."""
    told_of: dict[str, Any] = {"supports": (-210.0, -10.0), "deck": [{"toward": "-Z", "height": 200}]}
    found = facts(arch_job(**told_of), arch(0.05, 0.03, 0), choose="end bores")
    assert (found["best"], found["chosen"]) == ("least moved", "end bores")
    assert [end["grows"] for end in found["decks"][0]["ends"]] == pytest.approx([0, 0], abs=1e-6)
    assert [(one["x"], one["raise"]) for one in found["supports"]["both"]] == [(-210, 0), (-10, -0.05)]
    assert (found["supports"]["one"]["raise"], found["supports"]["one"]["z"]) == pytest.approx((-0.05, -380))
    assert [check["z"] for check in found["checks"]] == pytest.approx([0, 0.005, 0], abs=1e-6)
    assert [one["reading"] for one in found["checks"][1]["readings"]] == pytest.approx(
        [0, 0.005, 0.01, 0.005], abs=2e-6
    )


def test_the_new_zero_goes_where_the_line_is() -> None:
    """Program zero is at machine Y 0, Z -380; the line parallel to X lies 0.015 above it."""
    zero = facts(arch_job(), ARCH)["zero"]
    assert (zero["offset"], zero["from_y"], zero["from_z"]) == ("G54", 0, -380)
    assert (zero["y"], zero["z"]) == pytest.approx((0, -379.985), abs=2e-6)


@pytest.mark.parametrize(("units", "step"), [("mm", 0.001), ("inch", 0.0001)])
def test_zeros_can_be_set_and_the_stock_is_that_of_the_zero_set(units: str, step: float) -> None:
    """The middle of 0 and 0.0333 is finer than the control reads: what a bore loses by that is told."""
    lies = Surveyed(tuple(one._replace(y=0.0123456) for one in arch(0, 0.0333, 0).sections))
    found = facts(arch_job(units, supports=(-210.0, -10.0)), lies)
    per = 25.4 if units == "inch" else 1.0
    zero = found["zero"]
    for told_zero in (zero, found["supports"]["one"]):
        for axis in "yz":
            assert told_zero[axis] / step == pytest.approx(round(told_zero[axis] / step), abs=1e-6)
    off_y = 0.0123456 / per - (zero["y"] - zero["from_y"])
    rise = zero["z"] - zero["from_z"]
    stocks = [0.1 / per - math.hypot(off_y, height / per - rise) for height in (0, 0.0333, 0)]
    new_zero = line_of(found, "new zero only")
    assert new_zero["stock"] == pytest.approx(stocks, abs=2e-6)
    assert new_zero["least"] < line_of(found, "most stock")["least"]
    assert new_zero["tilt"] == [0, 0]


def test_bores_surveyed_at_another_size_than_the_job_measured_are_told() -> None:
    """83.8 in the survey: 0.018 is six times what readings repeat to, and 83.815 is so near, 83.82 is not."""
    row = [
        bore | {"measured": list(size)}
        for bore, size in zip(ROW, [(83.815, 83.83), (83.82, 83.83), (83.5, 83.79)], strict=True)
    ]
    for bore in row:
        del bore["hole"]
    unlike = facts(make_job(bore=row), ARCH)["unlike"]
    assert unlike == [{"bore": "2", "diameter": 83.8, "measured": [83.82, 83.83]}]
    assert facts(make_job(bore=row, line={"repeats": 0.004}), ARCH)["unlike"] == []
    large = facts(make_job(bore=row), arch(0, 0.03, 0, size=83.85))["unlike"]
    assert [one["bore"] for one in large] == ["1", "2", "3"]
    assert facts(arch_job(), ARCH)["unlike"] == [], "a hole is no measured size"


def test_a_line_that_there_is_not_cannot_be_chosen() -> None:
    assert told(lambda: facts(arch_job(stock=0.09), ARCH, choose="least moved")) == (
        '--line: no line is "least moved" for this survey: what is wanted of it cannot be kept; choose one of most'
        " stock, new zero only, end bores, least squares, as it lies"
    )


def test_within_limits_is_a_line_only_where_it_is_told() -> None:
    assert told(lambda: facts(arch_job(), ARCH, choose="within limits")) == (
        '--line: no line is "within limits" for this survey: that is told only where no line keeps the stock wanted,'
        " and most stock breaks the crank's limits; choose one of least moved, most stock, new zero only, end bores,"
        " least squares, as it lies"
    )


def test_chances_are_the_same_for_a_seed_and_the_stock_for_99_percent_is_told() -> None:
    job = arch_job(stock=0.0, repeats=0.05)
    one, same, other = (facts(job, ARCH, seed=seed)["sure"] for seed in (3, 3, 4))
    assert one == same
    assert one["chance"] != other["chance"]
    assert 0 < one["chance"] < 0.99
    assert one["stock"] > 0.07
    assert (one["repeats"], one["sure"], one["seed"]) == (0.05, 0.99, 3)


def test_figures_are_plain_json() -> None:
    everything: dict[str, Any] = {
        "supports": (-210.0, -10.0),
        "cam": {"toward": "+Z", "x": 0, "drive": "gears", "pressure_angle": 20, "backlash": 0.1, "distance": 100},
        "deck": [{"toward": "-Z"}],
        "caps": "+Z",
    }
    for stock in (0.05, 0.09, 0.2):
        found = facts(arch_job(**everything, stock=stock), ARCH)
        assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_a_job_without_a_table_of_the_line_is_told_by_the_defaults() -> None:
    found = facts(make_job(bore=ROW), ARCH)
    assert (found["ok"], found["stock_wanted"], found["sure"]["repeats"]) == (True, 0.02, 0.003)
