"""Passes in figures, what was derived, and what to beware of: worked out by hand, in millimetres and in inches.

The bore of the job in millimetres gauges 83.0 to 83.02 and is to have 84: settings 83.4, 83.8 and 84 at depths of 0.2,
0.2 and 0.1. At 0.2 deep with a nose of 0.4 and a feed of 0.1 the edge in the cut is 0.4 acos(0.5) + 0.4 asin(0.125) =
0.46901, the mean chip 0.02 / 0.46901 = 0.042643, the force 1160 x 0.042643^-0.26 x 0.02 = 52.69 N.
"""

import json
from typing import Any, Final

import pytest

from gen.advice import cautions, derived, passes_told
from gen.caution import Caution
from gen.job import Job
from gen.report import report
from gen.summary import summary
from tests.jobs import INCH_TEXT, Data, make_job
from tests.programs import posted, task_of, verdict_of

GAUGED: Final[Data] = {"face": 0, "width": 30, "diameter": 84.0, "measured": [83.0, 83.02]}
PASSES: Final[Data] = {"depth": 0.3, "finish_stock": 0.1}
CUTTER: Final[Data] = {"nose": 0.4}
WHOLE: Final[Data] = {"cutter": CUTTER, "cut": {"material": "grey iron"}, "head": {"reach": 110}}
"""With bar 50, feed 0.1 and 380 rpm of the plain job: force, torque, power and bending can be told."""
UNTOLD: Final = dict.fromkeys(("ra", "rt", "force_n", "torque_nm", "power_kw", "bends"))


def job_of(*bores: Data, **changes: Any) -> Job:
    """A bore, or others in its place, in passes; with changes."""
    placed = [{**GAUGED, "face": -130 * at, **bore} for at, bore in enumerate(bores or [{}])]
    return make_job(bore=placed, **{"passes": PASSES, **changes})


def inch_job(*measured: float, **changes: Any) -> Job:
    """3.2525 to 3.2535 gauged, 3.3125 wanted: 3.2565, 3.2805, 3.3045, 3.3125. Nose 1/64, feed 0.004, 400 rpm, bar 2."""
    bore = {"x": 0, "length": 1.35, "diameter": 3.3125, "measured": list(measured or (3.2525, 3.2535))}
    told = {
        "passes": {"depth": 0.015, "finish_stock": 0.004, "skim": 0.002},
        "cutter": {"nose": 0.015625},
        "cut": {"material": "medium-carbon steel"},
        "head": {"reach": 4.25},
    }
    return make_job(INCH_TEXT, bore=[bore], **{**told, **changes})


# The figures.


def test_every_pass_in_figures() -> None:
    finish = {"ra": 0.802, "rt": 3.137}
    deep = {**finish, "force_n": 52.7, "torque_nm": 2.2, "power_kw": 0.087, "bends": 0.000442}
    assert passes_told(job_of(**WHOLE)) == [
        {
            "pass": 1,
            "kind": "rough",
            "diameter": 83.4,
            "setting": 83.4,
            "bores": ["1"],
            "least_depth": 0.19,
            "most_depth": 0.2,
            **deep,
        },
        {
            "pass": 2,
            "kind": "rough",
            "diameter": 83.8,
            "setting": 83.8,
            "bores": ["1"],
            "least_depth": 0.2,
            "most_depth": 0.2,
            **deep,
            "torque_nm": 2.21,
            "power_kw": 0.088,
        },
        {
            "pass": 3,
            "kind": "finish",
            "diameter": 84.0,
            "setting": 84.0,
            "bores": ["1"],
            "least_depth": 0.1,
            "most_depth": 0.1,
            **finish,
            "force_n": 29.0,
            "torque_nm": 1.22,
            "power_kw": 0.048,
            "bends": 0.00026,
        },
    ]


def test_every_pass_in_figures_in_inches() -> None:
    """Lengths in inches, finish in microinches; newtons, newton metres and kilowatts all the same."""
    told = passes_told(inch_job(size={"setting": "over"}))
    assert [(one["kind"], one["diameter"], one["setting"], one["least_depth"], one["most_depth"]) for one in told] == [
        ("skim", 3.2565, 2.6282, 0.0015, 0.002),
        ("rough", 3.2805, 2.6402, 0.012, 0.012),
        ("rough", 3.3045, 2.6522, 0.012, 0.012),
        ("finish", 3.3125, 2.6562, 0.004, 0.004),
    ]
    assert {(one["ra"], one["rt"]) for one in told} == {(32.845, 128.529)}
    assert [(one["force_n"], one["torque_nm"], one["power_kw"], one["bends"]) for one in told] == [
        (19.4, 0.8, 0.034, 0.000006),
        (101.9, 4.25, 0.178, 0.000027),
        (101.9, 4.28, 0.179, 0.000027),
        (36.8, 1.55, 0.065, 0.000011),
    ]


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({}, set()),
        ({"cutter": CUTTER}, {"ra", "rt"}),
        ({**WHOLE, "cutter": None}, set()),
        ({**WHOLE, "head": {}}, {"ra", "rt", "force_n", "torque_nm", "power_kw"}),
        ({**WHOLE, "cut": {}}, {"ra", "rt"}),
        (WHOLE, {"ra", "rt", "force_n", "torque_nm", "power_kw", "bends"}),
    ],
)
def test_nothing_is_told_that_does_not_follow_from_the_job(changes: Data, told: set[str]) -> None:
    first = passes_told(job_of(**changes))[0]
    assert {key for key in UNTOLD if first[key] is not None} == told


def test_an_air_pass_cuts_nothing() -> None:
    first, *others = passes_told(job_of(**WHOLE, passes={**PASSES, "air": True}))
    assert first == {
        "pass": 1,
        "kind": "air",
        "diameter": 82.0,
        "setting": 82.0,
        "bores": ["1"],
        "least_depth": 0.0,
        "most_depth": 0.0,
        **UNTOLD,
    }
    assert [one["pass"] for one in others] == [2, 3, 4]


def test_an_air_pass_in_inches() -> None:
    # 3.2525 less 1 mm.
    job = inch_job(passes={"depth": 0.015, "finish_stock": 0.004, "air": True})
    assert (passes_told(job)[0]["diameter"], passes_told(job)[0]["setting"]) == (3.21313, 3.2131)


def test_a_row_without_passes_has_nothing_to_be_deep() -> None:
    (only,) = passes_told(make_job(**WHOLE))
    assert only == {
        "pass": 1,
        "kind": "bore",
        "diameter": 84.0,
        "setting": 84.0,
        "bores": ["1", "2", "3"],
        "least_depth": 0.0,
        "most_depth": 0.0,
        **UNTOLD,
    }


@pytest.mark.parametrize(
    ("bores", "cut", "power_kw"),
    [
        # 2 pi n / 60 x 2.19717 N m: n 380; 100 m/min on 84 mm is 378.94; the fastest bore counts.
        (({},), {}, 0.087),
        (({},), {"rpm": None, "speed": 200}, 0.174),
        (({}, {"rpm": 600}), {}, 0.138),
    ],
)
def test_power_is_that_of_the_fastest_bore(bores: tuple[Data, ...], cut: Data, power_kw: float) -> None:
    job = job_of(*bores, **{**WHOLE, "cut": {"material": "grey iron", **cut}})
    assert passes_told(job)[0]["power_kw"] == power_kw


def test_a_bar_of_carbide_bends_less() -> None:
    steel, carbide = (
        passes_told(job_of(**WHOLE, bar={"material": material}))[0]["bends"] for material in ("steel", "carbide")
    )
    assert carbide == pytest.approx(steel * 207 / 550, abs=1e-6)


# What was derived.


def test_nothing_is_derived_where_everything_is_told() -> None:
    assert derived(make_job()) == []
    assert derived(job_of()) == []


@pytest.mark.parametrize(
    ("changes", "lines"),
    [
        (
            {"cut": {"feed": None, "roughness": 1.6}, "cutter": CUTTER},
            ["feed 0.14126 mm a cutter turn, for Ra 1.6 micrometres with a nose of 0.4 mm"],
        ),
        (
            {"cut": {"feed": None, "roughness": 1.234}, "cutter": CUTTER},
            ["feed 0.12405 mm a cutter turn, for Ra 1.23 micrometres with a nose of 0.4 mm"],
        ),
        ({"cut": {"rpm": None, "speed": 100}}, ["cutter speed from the cutting speed and each bore's diameter"]),
        ({"size": {"tolerance": "H6"}}, ["finished diameter 84.011 mm, the middle of 84 to 84.022"]),
        ({"size": {"tolerance": "JS7"}}, ["finished diameter 84 mm, the middle of 83.9825 to 84.0175"]),
        ({"size": {"tolerance": "H6"}, "passes": None}, []),
        (
            {
                "cut": {"rpm": None, "speed": 100, "feed": None, "roughness": 0.8},
                "cutter": CUTTER,
                "size": {"tolerance": "H7"},
            },
            [
                "feed 0.09988 mm a cutter turn, for Ra 0.8 micrometres with a nose of 0.4 mm",
                "cutter speed from the cutting speed and each bore's diameter",
                "finished diameter 84.0175 mm, the middle of 84 to 84.035",
            ],
        ),
    ],
)
def test_what_followed_from_something_else_is_told_with_what_it_followed_from(changes: Data, lines: list[str]) -> None:
    assert derived(job_of(**changes)) == lines


def test_every_size_has_its_finished_diameter() -> None:
    job = job_of({"diameter": 90.0, "limits": [90.01, 90.02]}, {}, {}, size={"tolerance": "H6"})
    assert derived(job) == [
        "finished diameter 84.011 mm, the middle of 84 to 84.022",
        "finished diameter 90.015 mm, the middle of 90.01 to 90.02",
    ]


def test_limits_are_told_to_a_tenth_of_a_micrometre() -> None:
    told = derived(job_of({"limits": [84, 84.02222]}))
    assert told == ["finished diameter 84.0111 mm, the middle of 84 to 84.0222"]


def test_limits_are_told_within_themselves() -> None:
    told = derived(job_of({"limits": [84.00001, 84.02228]}))
    assert told == ["finished diameter 84.0111 mm, the middle of 84.0001 to 84.0222"]


def test_derived_in_inches() -> None:
    bore = {"x": 0, "length": 1.35, "diameter": 3.3125, "measured": [3.25, 3.251], "limits": [3.3125, 3.3134]}
    job = make_job(
        INCH_TEXT,
        bore=[bore],
        cut={"rpm": None, "speed": 330, "feed": None, "roughness": 63.4},
        cutter={"nose": 0.015625},
        passes={"depth": 0.015, "finish_stock": 0.004},
    )
    assert derived(job) == [
        "feed 0.00556 in a cutter turn, for Ra 63 microinches with a nose of 0.0156 in",
        "cutter speed from the cutting speed and each bore's diameter",
        "finished diameter 3.31295 in, the middle of 3.3125 to 3.3134",
    ]


# What to beware of.

LIGHT: Final[Data] = {
    "cutter": {"nose": 0.4, "edge": 0.06},
    "passes": {**PASSES, "least": 0.02},
}
"""With a bore that gauges up to 83.96 the finishing cut is 0.02 deep, and its chip 0.0191 thick."""
SLENDER: Final = Caution(
    "the bar reaches out 5.5 times its diameter and may chatter beyond 4",
    "shorten it to 80 mm, or take a bar 27.5 mm thick, or of carbide",
)


def test_nothing_to_beware_of_where_nothing_is_told_or_wrong() -> None:
    assert cautions(make_job()) == []
    assert cautions(job_of()) == []
    assert cautions(job_of(**WHOLE, size={"tolerance": "H5"})) == []
    assert cautions(job_of(**{**WHOLE, "cutter": {"nose": 0.4, "edge": 0.015}})) == []


def of_the_cut(job: Job) -> list[Caution]:
    """Cautions but for those of a finishing cut that is less than told, as all here are."""
    told = cautions(job)
    cut = [caution for caution in told if "passes.finish_stock" not in caution.problem]
    assert len(told) == len(cut) + 1
    return cut


def test_a_cut_too_light_for_its_edge() -> None:
    gauged = {"measured": [83.9, 83.96]}
    rubbing = Caution(
        "pass 1, finish: the chip is at most 0.0191 mm thick and an edge of 0.06 mm radius needs 0.0258 mm: it may rub"
        " instead of cut",
        "cut at least 0.03 mm deep on the radius, or take an edge of at most 0.0446 mm radius",
    )
    assert of_the_cut(job_of(gauged, **LIGHT)) == [rubbing]
    assert of_the_cut(job_of(gauged, **{**LIGHT, "cutter": {"nose": 0.4}})) == []
    assert of_the_cut(job_of(gauged, **{**LIGHT, "cutter": {"nose": 0.4, "edge": 0.04}})) == []


def test_the_lightest_of_the_cuts_in_a_pass_counts() -> None:
    # Bore 2 has 0.05 left, which the edge cuts; bore 1 only 0.02.
    both = job_of({"measured": [83.96, 83.96]}, {"measured": [83.9, 83.9]}, **LIGHT)
    assert [caution.problem.split(":")[0] for caution in of_the_cut(both)] == ["pass 1, finish"]
    assert of_the_cut(job_of({"measured": [83.9, 83.9]}, **LIGHT)) == []


def test_a_cut_too_light_in_inches() -> None:
    # 0.0003 deep is too light; edge 0.001.
    job = inch_job(
        3.3119,
        3.3119,
        cutter={"nose": 0.015625, "edge": 0.001},
        passes={"depth": 0.015, "finish_stock": 0.004, "least": 0.0003},
    )
    assert of_the_cut(job) == [
        Caution(
            "pass 1, finish: the chip is at most 0.0003 in thick and an edge of 0.001 in radius needs 0.00043 in: it"
            " may rub instead of cut",
            "cut at least 0.0005 in deep on the radius, or take an edge of at most 0.00069 in radius",
        )
    ]


def test_a_torque_above_the_head_s() -> None:
    # 52.69 N at 83.4 mm is 2.197 N m, at 83.8 mm 2.2077. (2.2 / 2.2077)^(1 / 0.74) = 0.99529 of 0.2 and of 0.1.
    told = cautions(job_of(**{**WHOLE, "head": {"reach": 110, "max_torque": 2.2}}))
    assert told == [
        Caution(
            "pass 2, rough: the cut asks 2.21 N m at the cutter, above its 2.2",
            "cut at most 0.199 mm deep on the radius, or feed at most 0.099 mm a turn",
        )
    ]
    assert cautions(job_of(**{**WHOLE, "head": {"max_torque": 2.21}})) == []
    assert cautions(job_of(**{**WHOLE, "cut": {}, "head": {"max_torque": 0.1}})) == []


def test_a_bar_that_bends_more_than_half_the_tolerance_in_the_last_pass() -> None:
    # Bar 20: 0.00025977 x 2.5^4 = 0.010147; H5 at 84 is 15 micrometres, H6 22: half of it 0.0075 and 0.011.
    bar: Data = {**WHOLE, "bar": {"diameter": 20}}
    spring = Caution(
        "pass 3, finish: the bar bends so that bores come out 0.0102 mm small, more than 0.0075 mm",
        "shorten its overhang to 99.4 mm, or take a bar 21.6 mm thick, or set the cutter by what bores measure",
    )
    assert cautions(job_of(**bar, size={"tolerance": "H5"})) == [spring, SLENDER]
    assert cautions(job_of(**bar, size={"tolerance": "H6"})) == [SLENDER]
    assert cautions(job_of(**bar)) == [SLENDER]
    assert cautions(job_of(**{**bar, "head": {}}, size={"tolerance": "H5"})) == []


def test_a_slender_bar_is_told_without_passes_too() -> None:
    job = make_job(head={"reach": 220})
    assert cautions(job) == [
        Caution(
            "the bar reaches out 4.4 times its diameter and may chatter beyond 4",
            "shorten it to 200 mm, or take a bar 55 mm thick, or of heavy metal, or of carbide",
        )
    ]
    assert cautions(make_job(head={"reach": 220}, bar={"material": "heavy metal"})) == []
    assert cautions(make_job(head={"reach": 200})) == []


def test_a_slender_bar_in_inches() -> None:
    assert cautions(inch_job(head={"reach": 8.5}, cut={})) == [
        Caution(
            "the bar reaches out 4.25 times its diameter and may chatter beyond 4",
            "shorten it to 8 in, or take a bar 2.13 in thick, or of heavy metal, or of carbide",
        )
    ]


# All of it in summary and report.


def facts_of(job: Job, *, walk: bool = False) -> dict[str, Any]:
    """The summary of a job's own program, through JSON and back."""
    facts = summary(task_of(job, walk=walk), verdict_of(job, posted(job, walk=walk), walk=walk), [])
    again: dict[str, Any] = json.loads(json.dumps(facts, allow_nan=False))
    assert again == facts
    return again


def lines_of(facts: dict[str, Any]) -> list[str]:
    """The report from what was derived to what is not checked, runs of blanks made one."""
    lines = [" ".join(line.split()) for line in report(facts).split("\n")]
    first = next(at for at, line in enumerate(lines) if line.startswith("read ")) + 1
    return lines[first : next(at for at, line in enumerate(lines) if line.startswith("not checked"))]


def test_the_summary_has_it_all() -> None:
    job = job_of(**WHOLE, size={"tolerance": "H6"}, bar={"diameter": 20})
    facts = facts_of(job)
    assert facts["passes"] == passes_told(job)
    assert facts["derived"] == derived(job) == ["finished diameter 84.011 mm, the middle of 84 to 84.022"]
    assert facts["cautions"] == [SLENDER._asdict()]


def test_a_summary_without_passes_or_of_a_walk_has_none() -> None:
    assert facts_of(make_job())["passes"] == []
    job = job_of(**WHOLE, size={"tolerance": "H6"}, bar={"diameter": 20})
    walk = facts_of(job, walk=True)
    assert (walk["passes"], walk["derived"], walk["cautions"]) == ([], [], [])
    assert lines_of(walk) == []


def test_a_report_of_passes() -> None:
    job = job_of(
        {"name": "front"},
        {"measured": [83.02, 83.05]},
        {"diameter": 90.0, "measured": [89.5, 89.52]},
        passes={**PASSES, "air": True, "skim": 0.05},
        size={"tolerance": "H6", "setting": "over"},
        cut={"feed": None, "roughness": 1.6},
        cutter=CUTTER,
        bar={"diameter": 20},
        head={"reach": 110},
    )
    assert lines_of(facts_of(job)) == [
        "derived feed 0.14126 mm a cutter turn, for Ra 1.6 micrometres with a nose of 0.4 mm",
        "finished diameter 84.011 mm, the middle of 84 to 84.022",
        "finished diameter 90.011 mm, the middle of 90 to 90.022",
        "passes 1 air set 51.000 3 bores from front",
        "2 skim set 51.550 2 bores from front, 0.025 to 0.05 mm deep",
        "3 skim set 54.800 bore 3, 0.04 to 0.05 mm deep",
        "4 rough set 51.727 2 bores from front, 0.178 mm deep",
        "5 rough set 54.905 bore 3, 0.105 mm deep",
        "6 rough set 51.905 2 bores from front, 0.178 mm deep",
        "7 finish set 52.005 2 bores from front, 0.1 mm deep, Ra 1.6",
        "8 finish set 55.005 bore 3, 0.1 mm deep, Ra 1.6",
        f"beware {SLENDER.problem}: {SLENDER.remedy}",
    ]


def test_a_report_of_passes_in_inches() -> None:
    assert lines_of(facts_of(inch_job(size={"setting": "tip"}))) == [
        "passes 1 skim set 0.6282 bore 1, 0.0015 to 0.002 in deep",
        "2 rough set 0.6402 bore 1, 0.012 in deep",
        "3 rough set 0.6522 bore 1, 0.012 in deep",
        "4 finish set 0.6562 bore 1, 0.004 in deep, Ra 32.84",
    ]


def test_a_report_without_any_of_it() -> None:
    assert lines_of(facts_of(make_job())) == []


# What of the job it follows.


def test_a_bore_s_own_feed_is_the_one_reckoned_with() -> None:
    """Ra = f^2 / (18 sqrt 3 r): four times as much at twice the feed; the most of a setting's bores counts."""
    told = [entry["ra"] for entry in passes_told(job_of({}, {"feed": 0.2}, cutter=CUTTER))]
    assert set(told) == {3.208}
    assert {entry["ra"] for entry in passes_told(job_of(cutter=CUTTER))} == {0.802}


def test_power_at_the_spindle_is_told_above_the_machine_s() -> None:
    """52.69 N at 83.8 / 2 mm and 380 rpm are 0.08786 kW, 0.10336 through a head of 0.85."""
    enough, short = (job_of(**WHOLE, machine={"power": power}) for power in (0.104, 0.103))
    assert cautions(enough) == []
    (told,) = cautions(short)
    assert told.problem == "pass 2, rough: the cut asks 0.104 kW at the spindle, above its 0.103"
    assert "turn the cutter at most at" in told.remedy


def test_a_warm_block_is_told_of_where_it_matters() -> None:
    """84 mm of grey iron grow 9.6 micrometres in 10 K (11.4e-6 a K); a quarter of H6's 22 is 5.5."""
    warm, nearly = (
        job_of(cut={"material": "grey iron"}, size={"tolerance": "H6", "temperature": degrees}) for degrees in (30, 25)
    )
    (told,) = cautions(warm)
    assert told.problem.startswith("at 30 C the bore gauges 0.0096 mm large, more than 0.0055 mm")
    assert cautions(nearly) == []


def test_what_comes_in_several_passes_is_told_with_the_first() -> None:
    job = job_of({"measured": [83.0, 83.0]}, cutter={"nose": 0.4, "edge": 0.39})
    assert [caution.problem.split(":")[0] for caution in cautions(job)] == ["pass 1, rough", "pass 3, finish"]
