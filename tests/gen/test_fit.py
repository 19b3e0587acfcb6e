"""The fit report's figures, worked out again by hand."""

import json
from typing import Any, Final

import pytest

from gen.fit import fit
from gen.job import Job
from gen.unchecked import UNCHECKED
from post.posts import find
from post.userfile import InputError
from tests.jobs import make_job
from tests.spaces import BODY, BORES, JOB, RAIL, mirrored, with_space

DIALECT: Final = find("longhand").dialect


def facts_of(job: Job) -> dict[str, Any]:
    facts = fit(job, DIALECT)
    again: dict[str, Any] = json.loads(json.dumps(facts, allow_nan=False))
    assert again == facts
    return facts


def test_keys_of_the_json_object() -> None:
    facts = facts_of(JOB)
    assert set(facts) == {
        *("ok", "job", "units", "points", "limit", "leave_angle", "bores", "row", "unchecked"),
    }
    assert set(facts["bores"][0]) == {
        *("name", "face", "room", "behind", "takes", "left", "binding", "fits", "other_side", "would_fit"),
    }
    assert set(facts["row"]) == {"other_side", "would_fit"}


def test_room_in_the_bays_and_what_the_head_takes_of_it() -> None:
    # Faces at 0, -190, -380, widths 34, 28, 34: the bays behind bores 2 and 3 are 190 - 34 = 156, 190 - 28 = 162. The
    # head takes approach 3 + reach 60 + body 70 = 133. In front 3 + 60 = 63 at the start, and 60 less width and overrun
    # at the end: 60 - 36.5 = 23.5, 60 - 30.5 = 29.5.
    one, two, three = facts_of(JOB)["bores"]
    assert (one["room"], one["behind"], one["takes"]) == (None, None, 133)
    assert (two["room"], two["behind"], two["takes"]) == (156, "1", 133)
    assert (three["room"], three["behind"], three["takes"]) == (162, "2", 133)
    assert one["left"] == {"start": {"front": 63, "back": None}, "end": {"front": 23.5, "back": None}}
    assert two["left"] == {"start": {"front": 63, "back": 23}, "end": {"front": 29.5, "back": 56.5}}
    assert three["left"] == {"start": {"front": 63, "back": 29}, "end": {"front": 23.5, "back": 68.5}}


def test_the_rearmost_part_that_would_meet_the_bulkhead_counts() -> None:
    # A bump 130 to 150 behind the edge takes 3 + 150; above the bulkheads' top, at Z 100, it takes nothing.
    low = {"name": "union", "behind": [130, 150], "y": [-20, 20], "z": [-20, 20]}
    high = {**low, "z": [100, 120]}
    assert facts_of(with_space(head={"bump": [low]}))["bores"][1]["takes"] == 153
    assert facts_of(with_space(head={"bump": [high]}))["bores"][1]["takes"] == 133


def test_a_stem_longer_than_the_body_counts_below_the_top_of_the_bulkhead() -> None:
    stem = {"back": 5, "length": 90, "width": 70}
    assert facts_of(with_space(head={"stem": stem}))["bores"][1]["takes"] == 3 + 60 + 5 + 90


def test_the_bay_is_on_the_side_the_head_comes_from() -> None:
    bores = [{"name": name, "face": face, "width": 30, "diameter": 84.0} for name, face in (("a", 0), ("b", 200))]
    job = with_space(head={"points": "+X"}, bore=bores, machine={"zero": {"x": -350, "y": 0, "z": -380}}, obstacle=[])
    first, second = facts_of(job)["bores"]
    assert (first["room"], first["behind"]) == (None, None)
    assert (second["room"], second["behind"]) == (170, "a")
    falling = facts_of(job.model_copy(update={"bore": job.bore[::-1]}))["bores"]
    assert [bore["room"] for bore in falling] == [170, None]


def test_a_row_that_fits() -> None:
    facts = facts_of(JOB)
    assert facts["ok"] is True
    assert [bore["fits"] for bore in facts["bores"]] == [True] * 3
    assert [bore["would_fit"] for bore in facts["bores"]] == [[], [], []]
    assert facts["row"] == {"other_side": ["1", "2", "3"], "would_fit": []}
    assert facts["unchecked"] == [UNCHECKED[-1]]


def test_the_binding_pair_is_the_tightest_of_all_moves() -> None:
    # Reach 37 less 34 + 2.5 leaves 0.5 in front at the end of the stroke of bore 1.
    facts = facts_of(with_space(head={"reach": 37}))
    binding = facts["bores"][0]["binding"]
    assert binding["distance"] == pytest.approx(0.5)
    assert (binding["part"], binding["obstacle"]) == ("head body", "bulkhead of bore 1")
    assert binding["why"] == "feeds through bore 1"
    assert [bore["fits"] for bore in facts["bores"]] == [False, True, False]
    assert facts["ok"] is False


def test_what_would_make_it_fit() -> None:
    facts = facts_of(with_space(head={"reach": 90}))
    one, two, three = facts["bores"]
    assert one["would_fit"] == []
    assert two["would_fit"] == [{"change": "reach", "to": 81}]
    assert three["would_fit"] == [{"change": "reach", "to": 87}, {"change": "other_side", "to": None, "face": -414}]
    assert facts["row"] == {"other_side": ["3"], "would_fit": [{"change": "reach", "to": 81}]}


def test_a_smaller_approach_is_told_with_the_place_the_cutter_starts_from() -> None:
    # 156 - 2 - 60 - 70 = 24 in front of the face at -190.
    bores = [BORES[0], {**BORES[1], "approach": 30}, BORES[2]]
    told = facts_of(with_space(bore=bores))["bores"][1]["would_fit"]
    assert {"change": "approach", "to": 24, "start": -166} in told


def test_an_angle_is_told_for_the_bores_and_for_the_row() -> None:
    # 8.163 degrees by hand, see test_angle.
    over = {**RAIL, "y": [-160, -42], "z": [75, 140]}
    job = with_space(head={"body": {**BODY, "above": 40}}, obstacle=[over])
    facts = facts_of(job)
    assert facts["bores"][1]["would_fit"] == [{"change": "leave_angle", "to": 8.2, "ranges": [[8.2, 79.9]]}]
    assert {"change": "leave_angle", "to": 8.17, "ranges": []} in facts["row"]["would_fit"]
    other = facts_of(mirrored(job))
    assert other["bores"][1]["would_fit"] == [{"change": "leave_angle", "to": -8.2, "ranges": [[-79.9, -8.2]]}]


def test_auto_is_looked_at_as_the_angle_it_comes_to() -> None:
    over = {**RAIL, "y": [-160, -42], "z": [75, 140]}
    job = with_space(head={"body": {**BODY, "above": 40}}, obstacle=[over], path={"leave_angle": "auto"})
    facts = facts_of(job)
    assert facts["leave_angle"] == 8.17
    assert facts["ok"] is True


def test_auto_that_comes_to_nothing_is_looked_at_straight_up() -> None:
    facts = facts_of(with_space(head={"reach": 90}, path={"leave_angle": "auto"}))
    assert facts["leave_angle"] == 0
    assert facts["ok"] is False


def test_lengths_are_told_in_the_jobs_unit() -> None:
    # 1 in of approach, 2.5 of reach, 3 of body.
    body = {"length": 3, "width": 3.5, "above": 2.4, "below": 1.8}
    job = make_job(
        units="inch",
        machine={
            "travel": {"x": [-40, 40], "y": [-12, 12], "z": [-24, 0]},
            "zero": {"x": 0, "y": 0, "z": -15},
            "max_feed": 200,
        },
        head={"reach": 2.5, "body": body},
        bar={"diameter": 2},
        cut={"feed": 0.004},
        path={"clearance_height": 7, "approach": 1, "overrun": 0.1, "clearance": 0.08},
        block={"y": [-5, 5], "z": [-5, 4], "hole": 3.25},
        bore=[{"face": 0, "width": 1.25, "diameter": 3.3125}, {"face": -8, "width": 1.25, "diameter": 3.3125}],
    )
    facts = facts_of(job)
    assert facts["limit"] == 0.08
    second = facts["bores"][1]
    assert (second["face"], second["room"], second["takes"]) == (-8, 6.75, 6.5)
    assert second["left"] == {"start": {"front": 3.5, "back": 0.25}, "end": {"front": 1.15, "back": 2.6}}


def test_without_anything_that_takes_room_nothing_is_claimed() -> None:
    facts = facts_of(make_job())
    assert facts["ok"] is None
    assert facts["bores"] == []
    assert facts["unchecked"] == list(UNCHECKED)


NO_REACH: Final = JOB.head.model_copy(update={"body": None, "stem": None, "reach": None})
NO_BODY: Final = JOB.head.model_copy(update={"body": None, "stem": None})


@pytest.mark.parametrize(
    ("lacking", "says"),
    [({"head": NO_REACH}, "head.reach"), ({"head": NO_BODY}, "head.body"), ({"block": None}, "[block]")],
    ids=["no reach", "no body", "no block"],
)
def test_what_is_not_told_is_not_claimed_to_fit(lacking: dict[str, Any], says: str) -> None:
    facts = facts_of(JOB.model_copy(update=lacking))
    assert facts["ok"] is None
    assert [bore["fits"] for bore in facts["bores"]] == [None] * 3
    assert [bore["other_side"] for bore in facts["bores"]] == [None] * 3
    assert facts["row"] == {"other_side": [], "would_fit": []}
    assert any(says in gap for gap in facts["unchecked"])
    assert (facts["bores"][1]["takes"] is None) is (says != "[block]")


def test_what_meets_does_not_fit_however_little_is_told() -> None:
    # The cutter, 42 all round, would have to pass a beam over the bore line; nothing is told of head and block.
    beam = {"name": "beam", "x": [-700, 60], "y": [-20, 20], "z": [60, 80]}
    facts = facts_of(make_job(obstacle=[beam]))
    assert facts["ok"] is False
    assert facts["bores"][0]["fits"] is False
    assert facts["bores"][0]["would_fit"] is None


def test_a_job_that_cannot_be_planned_is_refused() -> None:
    with pytest.raises(InputError, match="800"):
        fit(with_space(cut={"rpm": 900}), DIALECT)
