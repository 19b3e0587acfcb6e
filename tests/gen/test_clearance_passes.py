"""Clearance over several passes: the hole stays as it was until the last, and the cutter grows from pass to pass.

One bore of 84 in a bulkhead from X 0 to -34, a hole of 83.2 there before; bar 50. Roughing leaves 83.8, 0.3 a side, in
two passes of 0.15: settings 83.5, 83.8 and 84. Moves judged in each pass, in order: down, feed, withdraw, up.
"""

from typing import Any, Final

import pytest

from gen.job import Job
from gen.passes import pass_plan
from tests.jobs import INCH_TEXT, Data, make_job
from tests.programs import all_posted, change, posted, prove_edited, verdict_of, verdict_of_all
from tests.rooms import BORE, Approach, approaches, box, closest_by_why, proof, room_job

OWN: Final = "bulkhead of bore 1"
PASSES: Final[Data] = {"depth": 0.2, "finish_stock": 0.1}
AIR: Final[Data] = {**PASSES, "air": True}
GAUGED: Final[Data] = {**BORE, "measured": [83.2, 83.2]}
"""The bore where no block tells of its hole."""
RAIL: Final = box("rail", [-500, 200], [-40, 40], [-60, -45])
"""Under the whole row: 45 below the bore line."""


def in_passes(**changes: Any) -> Job:
    """The bore in its block, in three passes; with changes."""
    return room_job(**{"passes": PASSES, **changes})


def cutter_at(rail: str, *distances: float) -> list[Approach]:
    """The cutter so near to a rail on the four moves of every pass."""
    return [(distance, "cutter", rail) for distance in distances for _ in range(4)]


def test_the_settings_of_these_jobs() -> None:
    air, *rest = (round(setting.diameter_mm, 9) for setting in pass_plan(in_passes(passes=AIR)))
    assert (air, rest) == (82.2, [83.5, 83.8, 84.0])
    assert pass_plan(in_passes(block=None, bore=[GAUGED])) == pass_plan(in_passes())


@pytest.mark.parametrize("post", ["longhand", "cycles", "per-turn"])
@pytest.mark.parametrize(("passes", "before"), [(PASSES, 2), (AIR, 3)])
def test_the_wall_is_that_of_the_hole_before_until_the_last_pass(post: str, passes: Data, before: int) -> None:
    # In the bore: 41.6 - 25 in every pass, and 42 - 25 only on the way back from the last. Down and up: 3 in front.
    old, new, way = ((distance, "bar", OWN) for distance in (16.6, 17.0, 3.0))
    told = approaches(in_passes(head={"reach": 60}, passes=passes), post)
    assert told == [way, old, old, way] * before + [way, old, new, way]


def test_the_cutter_has_the_diameter_of_its_pass() -> None:
    # 45 - 41.75, 45 - 41.9, 45 - 42.
    job = in_passes(block=None, bore=[GAUGED], obstacle=[RAIL])
    assert approaches(job) == cutter_at("rail", 3.25, 3.1, 3.0)


def test_the_cutter_is_drawn_in_for_the_air_pass() -> None:
    # 83.2 less 1: 45 - 41.1.
    job = in_passes(block=None, bore=[GAUGED], obstacle=[RAIL], passes=AIR)
    assert approaches(job) == cutter_at("rail", 3.9, 3.25, 3.1, 3.0)


def test_the_last_setting_is_the_middle_of_the_tolerance() -> None:
    # Aim 84.011, roughed to 83.811, 0.3055 a side: 83.5055. 45 less half of each.
    job = in_passes(block=None, bore=[GAUGED], obstacle=[RAIL], size={"tolerance": "H6"})
    assert approaches(job) == cutter_at("rail", 3.24725, 3.0945, 2.9945)


def test_programs_run_one_after_the_other_have_each_its_own_cutter() -> None:
    job = in_passes(block=None, bore=[GAUGED], obstacle=[RAIL])
    verdict = verdict_of_all(job, all_posted(job, "one-pass"), "one-pass")
    assert verdict.findings == ()
    assert verdict.clearance is not None
    found = [round(near.distance, 9) for _, near in sorted(verdict.clearance.nearest.items())]
    assert found == [distance for distance, _, _ in cutter_at("rail", 3.25, 3.1, 3.0)]


def test_a_lifted_cutter_is_a_point_as_far_out_as_its_pass_has_it() -> None:
    # Moves of a pass: down, feed, lift, back, onto the line, up. On the way back the point is 0.3 farther off.
    path = {"withdraw": "lift", "lift": {"amount": 0.3, "toward": "+Z", "angle": 90.0}}
    job = in_passes(head={"ratio": 1.0}, block=None, bore=[GAUGED], obstacle=[RAIL], path=path)
    told = [near and near[0] for near in approaches(job, "oriented")]
    assert told[0:6] == [3.25, 3.25, 3.25, 3.55, 3.25, 3.25]
    assert told[6:12] == [3.1, 3.1, 3.1, 3.4, 3.1, 3.1]
    assert told[12:] == [3.0, 3.0, 3.0, 3.3, 3.0, 3.0]


def test_a_lifted_bar_is_nearer_to_the_old_wall_until_the_last_pass() -> None:
    # 41.6 - 25 - 0.3 in the first two passes, 42 - 25 - 0.3 in the last.
    path = {"withdraw": "lift", "lift": {"amount": 0.3, "toward": "+Z", "angle": 90.0}}
    told = approaches(in_passes(head={"ratio": 1.0, "reach": 60}, path=path), "oriented")
    assert [told[move] for move in (2, 3, 8, 9, 14, 15)] == [
        (distance, "bar", OWN) for distance in (16.3, 16.3, 16.3, 16.3, 16.7, 16.7)
    ]


def test_every_bore_of_a_row_keeps_its_old_wall_until_its_own_last_pass() -> None:
    # Feed and withdrawal in bore 1 and bore 2, three passes: bore 2 is still as it was when bore 1 is finished.
    job = in_passes(head={"reach": 60}, bore=[BORE, {**BORE, "name": "2", "face": -190}])
    found = proof(job).clearance
    assert found is not None
    inside = [(found.works_in[move], round(found.nearest[move].distance, 9)) for move in sorted(found.works_in)]
    rough = [(0, 16.6), (0, 16.6), (1, 16.6), (1, 16.6)]
    assert inside == [*rough, *rough, (0, 16.6), (0, 17.0), (1, 16.6), (1, 17.0)]


SIZES: Final = [GAUGED, {**BORE, "name": "2", "face": -190, "diameter": 90.0, "measured": [89.5, 89.5]}]


def test_bores_of_two_sizes_have_each_its_cutter_in_every_pass() -> None:
    # 50 less half of 83.5, 83.8, 84; of 89.8, 90.
    rail = box("rail", [-500, 200], [-40, 40], [-60, -50])
    told = approaches(in_passes(block=None, bore=SIZES, obstacle=[rail]))
    by_pass = [near[0] for near in told if near is not None]
    assert set(by_pass) == {8.25, 8.1, 8.0, 5.1, 5.0}
    assert [setting.diameter_mm for setting in pass_plan(in_passes(block=None, bore=SIZES))] == pytest.approx(
        [83.5, 89.8, 83.8, 84.0, 90.0]
    )
    order = [distance for at, distance in enumerate(by_pass) if at == 0 or distance != by_pass[at - 1]]
    assert order == [8.25, 5.1, 8.1, 8.0, 5.0]


def test_a_walk_takes_the_cutter_as_set_for_the_last_pass_of_the_largest_bore() -> None:
    rail = box("rail", [-500, 200], [-40, 40], [-60, -50])
    job = in_passes(block=None, bore=SIZES, obstacle=[rail], size={"tolerance": "H6"})
    told = closest_by_why(job, walk=True)
    assert {told[f"goes down to bore {number}"][0] for number in "12"} == {round(50 - 90.011 / 2, 9)}


def test_inches() -> None:
    # Hole 3.25, bar 2: 0.625 before the cut. 3.3125 less 0.008 is 3.3045, 0.02725 a side: 3.27725, 3.3045, 3.3125.
    bore = {"x": 0, "length": 1.35, "diameter": 3.3125}
    block = {"y": [-5, 5], "z": [-5, 4], "hole": 3.25}
    passes = {"depth": 0.015, "finish_stock": 0.004}
    job = make_job(INCH_TEXT, head={"reach": 2.5}, block=block, bore=[bore], passes=passes)
    old, new = ((round(distance * 25.4, 9), "bar", OWN) for distance in (0.625, 0.65625))
    assert [near for near in approaches(job) if near is not None and near[0] > 10] == [old] * 5 + [new]


def test_a_pass_comes_too_close_where_only_its_cutter_does() -> None:
    # 44.95 below the line: 3.05 from the setting for 83.8, 2.95 from that for 84. Wanted: 3.
    rail = box("rail", [-500, 200], [-40, 40], [-60, -44.95])
    job = in_passes(block=None, bore=[GAUGED], obstacle=[rail], path={"clearance": 3})
    text = posted(job)
    findings = verdict_of(job, text).findings
    assert {finding.found for finding in findings} == {"cutter comes within 2.95 mm of rail"}
    last_stop = [at for at, line in enumerate(text.split("\n"), 1) if line.startswith("M0 (")][-1]
    assert [finding.line > last_stop for finding in findings] == [True] * 4


def test_a_pass_beside_its_bore_is_judged_with_its_own_cutter() -> None:
    # Down to X 1.5 in place of X 3, in the second pass only.
    for nth in (1, 2, 3):
        down = change("G0 X3.000 Y0.000 Z0.000", "G0 X1.5 Y0 Z0", nth)
        line, found = prove_edited(in_passes(), down, physics_only=True)
        crowded = [(finding.line, finding.found) for finding in found if finding.rule == "too-close"]
        assert crowded == [(line, "cutter comes within 1.5 mm of bulkhead of bore 1")]
