"""Whole proofs against brute force with an independent library, on random jobs; ``tests.campaign.clearance`` does more.

Sections are drawn and measured by shapely (BSD-3, on GEOS); positions 0.01 mm apart along the moves of the program read
back. Released programs keep the limit, refused ones do not, and the nearest approach told is the one found.
"""

import pytest

from tests.campaign.brute import least_distance
from tests.campaign.clearance import TOLERANCE_MM, check
from tests.rooms import BODY, BORE, approaches, proof, room_job

SEEDS = range(5_000, 5_040)


@pytest.mark.parametrize("seed", SEEDS)
def test_no_program_is_released_below_the_limit_and_none_refused_above_it(seed: int) -> None:
    outcome = check(seed)
    assert outcome.wrong == ""
    assert outcome.verdict in {"released", "refused"}


@pytest.mark.parametrize("points", ["-X", "+X"])
def test_brute_force_finds_what_is_worked_by_hand(points: str) -> None:
    # Reach 40, the cutter 36.5 past the near face at the end of its stroke: 3.5 left, and 5 in front of it.
    face = 0 if points == "-X" else -34
    job = room_job(
        head={"points": points, "reach": 40, "body": BODY}, path={"approach": 5}, bore=[{**BORE, "face": face}]
    )
    least, between = least_distance(job, proof(job).timeline.events)
    assert least == pytest.approx(3.5, abs=TOLERANCE_MM)
    assert between == "head body and bulkhead 1"


def test_brute_force_sees_what_is_still_to_be_cut() -> None:
    # A collar at the cutting edge, its corner at root 2 * 29^2 from the axis: 41.6 less that before the cut.
    collar = {"name": "collar", "behind": [0, 10], "y": [-29, 29], "z": [-29, 29]}
    job = room_job(head={"reach": 60, "bump": [collar]})
    least, between = least_distance(job, proof(job).timeline.events)
    assert least == pytest.approx(41.6 - 29 * 2**0.5, abs=TOLERANCE_MM)
    assert between == "collar and bulkhead 1"
    assert min(near for near in approaches(job) if near)[0] == pytest.approx(least, abs=TOLERANCE_MM)
