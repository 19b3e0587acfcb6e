import json
from collections.abc import Sequence
from typing import Any

import pytest

from gen.inspection import WIDEST, facts, words
from gen.job import Job
from gen.readings import Measured, of_rows
from tests.jobs import INCH_TEXT, make_job
from tests.shop import line, rows, sized_job

JOB = sized_job()
PLACES = [(0, 5), (90, 5), (0, 23), (90, 23)]


def row(*sizes: Sequence[float], job: Job = JOB) -> Measured:
    """Sizes of each bore, front upright and level, rear upright and level."""
    told = [
        line(bore, "", angle, depth, size)
        for bore, of_bore in enumerate(sizes, 1)
        for (angle, depth), size in zip(PLACES, of_bore, strict=True)
    ]
    return of_rows(rows(told), job, with_set=False)


GOOD = (84.008, 84.012, 84.010, 84.014)
CLOSE = (84.001, 84.012, 84.003, 84.014)
LARGE = (84.018, 84.022, 84.0205, 84.0245)
SPREAD = (83.999, 84.009, 84.013, 84.023)


def test_the_figures_of_a_row() -> None:
    found = facts(JOB, row(GOOD, CLOSE, LARGE))
    assert {name: found[name] for name in ("ok", "job", "units", "temperature", "gauge", "notes")} == {
        "ok": False,
        "job": "Harbour pump engine, main housings",
        "units": "mm",
        "temperature": 20.0,
        "gauge": 0.002,
        "notes": [],
    }
    good, close, large = found["bores"]
    assert good == {
        "name": "1",
        "mean": 84.011,
        "smallest": 84.008,
        "largest": 84.014,
        "limits": [84.0, 84.022],
        "taper": 0.002,
        "ovality": 0.004,
        "scatter": 0.0,
        "readings": 4,
        "pass": True,
        "over": 0.0,
        "under": 0.0,
        "margin": 0.008,
        "sure": True,
    }
    assert (close["pass"], close["margin"], close["sure"]) == (True, 0.001, False)
    assert (large["pass"], large["over"], large["under"], large["margin"], large["sure"]) == (
        False,
        0.0025,
        0.0,
        -0.0025,
        False,
    )
    assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_a_bore_may_fail_both_ways() -> None:
    (bore, _, _) = facts(JOB, row(SPREAD, GOOD, GOOD))["bores"]
    assert (bore["over"], bore["under"], bore["margin"]) == (0.001, 0.001, -0.001)


@pytest.mark.parametrize(("size", "passes"), [(84.0, True), (84.022, True), (83.9999, False), (84.0221, False)])
def test_a_size_at_its_limit_passes(size: float, passes: bool) -> None:
    assert facts(JOB, row([size] * 4, GOOD, GOOD))["ok"] is passes


@pytest.mark.parametrize(("size", "sure"), [(84.0041, True), (84.0039, False), (84.0181, False), (83.9961, False)])
def test_a_size_is_sure_two_repeatabilities_from_its_limit(size: float, sure: bool) -> None:
    assert facts(JOB, row([size] * 4, GOOD, GOOD))["bores"][0]["sure"] is sure


def test_a_warm_block_is_judged_at_20_degrees() -> None:
    """At 30 C, 11.4e-6 per K: gauged 84.0263 is 84.0167, and 84.005 is 83.9954."""
    job = sized_job(size={"tolerance": "H6", "temperature": 30})
    gauged = row([84.0263] * 4, [84.005] * 4, [84.02] * 4, job=job)
    warm = facts(job, gauged, expansion_per_k=11.4e-6)
    assert [bore["pass"] for bore in warm["bores"]] == [True, False, True]
    assert warm["bores"][0]["mean"] == pytest.approx(84.016722, abs=1e-6)
    assert words(warm).split("\n")[1] == (
        "  sizes       in millimetres, at 20 C; the block is at 30 C and grown by 114 parts in a million"
    )
    assert warm["grown"] == 114.0
    as_gauged = facts(job, gauged)
    assert words(as_gauged).split("\n")[1] == "  sizes       in millimetres"
    assert [bore["pass"] for bore in as_gauged["bores"]] == [False, True, True]
    note = "the block is not at 20 C, but its metal's expansion is not known: sizes are as gauged"
    assert as_gauged["notes"] == [note]
    assert f"\n  note        {note}\n" in words(as_gauged)


def test_the_whole_report() -> None:
    head, *bores = [
        "  bore  smallest     mean  largest   limits            taper  ovality  read                          verdict",
        "  1      84.0080  84.0110  84.0140  84.0000  84.0220  0.0020   0.0040     4                             pass",
        "  2      84.0010  84.0075  84.0140  84.0000  84.0220  0.0020   0.0110     4                             pass",
        "  3      83.9990  84.0110  84.0230  84.0000  84.0220  0.0140   0.0100     4  FAIL: 0.0010 over, 0.0010 under",
    ]
    assert words(facts(JOB, row(GOOD, CLOSE, SPREAD))).split("\n") == [
        "Harbour pump engine, main housings",
        "  sizes       in millimetres",
        "",
        head,
        *bores,
        "",
        '  close       bores "2", "3": nearer to a limit than twice the gauge\'s repeatability, 0.002 mm',
        '  verdict     FAIL: bore "3"',
    ]


def test_a_good_row_says_so_last() -> None:
    assert words(facts(JOB, row(GOOD, GOOD, GOOD))).split("\n")[-1] == "  verdict     PASS: every bore is in tolerance"


@pytest.mark.parametrize("diameter", [3.262, 3.3125, 3.5003, 4.7513])
@pytest.mark.parametrize("tolerance", ["H6", "H7", "JS7"])
def test_a_bore_that_reads_a_limit_as_told_passes(diameter: float, tolerance: str) -> None:
    """From the words, where limits have fewer digits than are judged, and from the figures."""
    bores = [{"name": "front", "face": 0, "width": 1.25, "diameter": diameter}]
    job = make_job(INCH_TEXT, size={"tolerance": tolerance}, bore=bores)

    def read(*sizes: object) -> dict[str, Any]:
        return facts(job, of_rows(rows([line("front", "", "", "", size) for size in sizes]), job, with_set=False))

    first = read(diameter)
    (cells,) = [told.split() for told in words(first).split("\n") if told.startswith("  front")]
    for limits in (cells[4:6], first["bores"][0]["limits"]):
        assert read(*limits)["ok"]


def test_inches_are_told_in_inches() -> None:
    bores = [{"name": "front", "face": 0, "width": 1.25, "diameter": 3.3125}]
    job = make_job(INCH_TEXT, size={"tolerance": "H7"}, bore=bores)
    measured = of_rows(rows([line("front", "", "", "", 3.3130)]), job, with_set=False)
    found = facts(job, measured)
    (bore,) = found["bores"]
    assert found["gauge"] == 0.000079
    assert (bore["mean"], bore["limits"], bore["margin"]) == (3.313, [3.3125, 3.313877], 0.0005)
    text = words(found)
    assert "  sizes       in inches\n" in text
    assert "  front   3.31300  3.31300  3.31300  3.31250  3.31387      -        -     1     pass" in text


def test_many_bores_are_cut_short() -> None:
    found: dict[str, Any] = facts(JOB, row(GOOD, GOOD, GOOD))
    found["bores"] *= 70
    assert f"  and {210 - WIDEST} more; --json lists them all" in words(found)
