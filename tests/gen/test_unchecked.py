"""What a proof says it did not look at: one sentence for each dimension a job leaves out."""

from typing import Any, Final

import pytest

from gen.unchecked import BARE, INDICATOR, STRAIGHT, UNCHECKED, takes_room, unchecked
from post.dialect import Dialect
from post.posts import find
from tests.jobs import LIFT, Data, make_job
from tests.rooms import BLOCK, BODY, BORE, FAR, room_job

ALWAYS: Final = UNCHECKED[-1]
DIALECT: Final = find("longhand").dialect
NO_REACH: Final = "whether bar and head clear the block: the job gives no head.reach; only the cutter was looked at"
NO_BODY: Final = "whether the head's body clears the block: the job gives no head.body"
NO_STEM: Final = "whether the column up to the spindle clears the block: the job gives no head.stem"
NO_BLOCK: Final = "whether anything clears the bulkheads: the job gives no [block]"
NO_OBSTACLE: Final = "pan rails, skirts, bosses, bolts, fixtures and table: the job names no [[obstacle]]"
STEM: Final = {"back": 5, "length": 60, "width": 70}
WHOLE: Final[Data] = {
    "head": {"reach": 60, "body": BODY, "stem": STEM},
    "block": BLOCK,
    "obstacle": [{"name": "far", **FAR}],
}
OWN_BULKHEAD: Final = {**BORE, "bulkhead_y": [-90, 90], "bulkhead_z": [-90, 90], "hole": 80}


@pytest.mark.parametrize(
    ("changes", "gaps"),
    [
        ({}, []),
        ({"head": {}}, [NO_REACH]),
        ({"head": {"reach": 60}}, [NO_BODY]),
        ({"head": {"reach": 60, "body": BODY}}, [NO_STEM]),
        ({"block": None}, [NO_BLOCK]),
        ({"block": None, "bore": [OWN_BULKHEAD]}, []),
        ({"block": None, "bore": [OWN_BULKHEAD, {**BORE, "name": "2", "face": -190}]}, [NO_BLOCK]),
        ({"obstacle": []}, [NO_OBSTACLE]),
        ({"head": {}, "obstacle": []}, [NO_REACH, NO_OBSTACLE]),
        ({"head": {}, "block": None}, [NO_REACH, NO_BLOCK]),
    ],
)
def test_a_sentence_for_each_dimension_left_out(changes: dict[str, Any], gaps: list[str]) -> None:
    assert unchecked(room_job(**{**WHOLE, **changes}), DIALECT) == (*gaps, ALWAYS)


def test_without_block_and_obstacles_no_room_is_looked_at_whatever_the_head() -> None:
    job = room_job(**{**WHOLE, "block": None, "obstacle": []})
    assert not takes_room(job)
    assert unchecked(job, DIALECT) == UNCHECKED
    told, always = UNCHECKED
    assert told == "whether head, bar and cutter clear the block and its fixtures: the job gives no dimensions of them"
    assert always.startswith("whether the bores lie on one line, ")


@pytest.mark.parametrize(
    ("changes", "takes"),
    [
        ({"block": None}, False),
        ({}, True),
        ({"block": None, "bore": [OWN_BULKHEAD]}, True),
        ({"block": None, "obstacle": [{"name": "far", **FAR}]}, True),
    ],
)
def test_what_takes_room(changes: dict[str, Any], takes: bool) -> None:
    assert takes_room(room_job(**changes)) is takes


@pytest.mark.parametrize("changes", [{}, {"block": None, "obstacle": []}], ids=["room", "no room"])
def test_codes_taken_on_trust_are_told_as_a_gap_in_every_proof(changes: dict[str, Any]) -> None:
    trusting = Dialect.model_validate({**DIALECT.model_dump(), "on_trust": {"M80", "G69"}})
    job = room_job(**{**WHOLE, **changes})
    assert takes_room(job) is (not changes)
    gap = "what G69, M80 does: the post says that it changes no motion"
    assert unchecked(job, trusting) == (*unchecked(job, DIALECT), gap)


SLANTED_LIFT: Final[Data] = {"head": {"ratio": 1}, "path": {"withdraw": "lift", "lift": {**LIFT, "toward": 30}}}
UPRIGHT_LIFT: Final[Data] = {"head": {"ratio": 1}, "path": {"withdraw": "lift", "lift": LIFT}}


@pytest.mark.parametrize(
    ("changes", "bored", "walked"),
    [
        ({}, False, False),
        ({"path": {"leave_angle": 5}}, True, True),
        (SLANTED_LIFT, True, False),
        (UPRIGHT_LIFT, False, False),
    ],
)
def test_that_rapids_run_straight_is_a_gap_where_two_axes_move_at_once(
    changes: dict[str, Any], bored: bool, walked: bool
) -> None:
    job = make_job(**changes)
    assert (STRAIGHT in unchecked(job, DIALECT)) is bored
    assert (STRAIGHT in unchecked(job, DIALECT, walk=True)) is walked


def test_programs_without_remarks_are_a_gap() -> None:
    bare = Dialect.model_validate({**DIALECT.model_dump(), "comments": {"form": "none"}, "new_setting": "file"})
    assert BARE in unchecked(make_job(), bare)
    assert BARE not in unchecked(make_job(), DIALECT)


def test_an_indicator_is_a_gap_in_the_proof_of_a_walk_through() -> None:
    assert INDICATOR in unchecked(make_job(), DIALECT, walk=True)
    assert INDICATOR not in unchecked(make_job(), DIALECT)
