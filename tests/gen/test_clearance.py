"""Clearance by hand-worked numbers: every part at every kind of obstacle, on every kind of move.

Unless told otherwise: one bore of 84 in a bulkhead from X 0 to -34, a hole of 83.2 there before; bar 50; the cutter
starts at X 3 and ends at X -36.5; down and up straight from Z 180. Moves judged, in order: down, feed, withdraw, up.
"""

import json
import math
import subprocess
import sys
from typing import Final

import pytest

from gen.clearance import clearance, too_close
from gen.job import Job
from gen.physics import follow
from gen.report import report
from gen.summary import summary
from post.posts import find
from post.timeline import STOPPED, Move, SpinChange, Timeline
from tests.jobs import INCH_TEXT, Data, make_job
from tests.programs import ROOT, change, posted, prove_edited, task_of, verdict_of
from tests.rooms import BLOCK, BODY, BORE, FAR, Approach, approaches, box, closest_by_why, proof, room_job

OWN: Final = "bulkhead of bore 1"
BARE: Final[Data] = {"reach": 60}
"""A head of which only the bar's length is told."""
BELOW: Final = box("rail", [-500, 200], [-40, 40], [-60, -45])
"""Under the whole row: 45 below the bore line."""
ASIDE: Final = box("boss", [-40, 10], [45, 60], [-30, 10])
"""Beside the bore, 45 off the bore line, from 30 below to 10 above it."""


def test_bar_and_cutter_at_a_bulkhead_before_and_after_the_cut() -> None:
    # Down and up: 3 in front of the face. In the bore: 41.6 - 25 before the cut, 42 - 25 after it.
    assert approaches(room_job(head=BARE)) == [
        (3.0, "bar", OWN),
        (16.6, "bar", OWN),
        (17.0, "bar", OWN),
        (3.0, "bar", OWN),
    ]


def test_cutter_alone_where_no_head_is_told_and_not_at_the_wall_it_cuts() -> None:
    assert approaches(room_job()) == [(3.0, "cutter", OWN), None, None, (3.0, "cutter", OWN)]


def test_a_long_approach() -> None:
    # 30 in front of the face all the way down, and the bar comes no nearer than the hole's wall.
    told = approaches(room_job(head=BARE, path={"approach": 30}))
    assert told == [(30.0, "bar", OWN), (16.6, "bar", OWN), (17.0, "bar", OWN), (30.0, "bar", OWN)]


def test_the_face_of_the_head_at_the_end_of_the_stroke() -> None:
    # Reach 40, the cutter 36.5 past the near face: 3.5 left, as the stroke ends and as the way back begins.
    told = approaches(room_job(head={"reach": 40, "body": BODY}))
    assert told[1:3] == [(3.5, "head body", OWN)] * 2


def test_the_same_pointing_the_other_way() -> None:
    bore = {**BORE, "face": -34}
    told = approaches(room_job(head={"points": "+X", "reach": 40, "body": BODY}, bore=[bore]))
    assert told == [(3.0, "bar", OWN), (3.5, "head body", OWN), (3.5, "head body", OWN), (3.0, "bar", OWN)]


@pytest.mark.parametrize("points", ["-X", "+X"])
def test_the_back_of_the_head_in_its_bay(points: str) -> None:
    # Way -1: bore 2 starts at -190 + 10 = -180; back of the head at -180 + 60 + 84 = -36; bore 1 ends at -34.
    second = {**BORE, "name": "2", "face": -190}
    if points == "+X":
        second["face"] = 190
    head = {"points": points, "reach": 60, "body": {**BODY, "length": 84}}
    told = closest_by_why(room_job(head=head, path={"approach": 10}, bore=[BORE, second]))
    assert told["goes down to bore 2"] == told["goes up from bore 2"] == (2.0, "head body", OWN)
    assert told["goes down to bore 1"] == (10.0, "bar", OWN)


def test_a_stem_at_a_bulkhead_and_where_it_begins() -> None:
    # No body told: the column goes up from the bar's axis. 40 + 5 - 36.5.
    stem = {"back": 5, "length": 60, "width": 70}
    assert approaches(room_job(head={"reach": 40, "stem": stem}))[1] == (8.5, "stem", OWN)


def test_a_stem_beside_a_box_that_only_it_reaches() -> None:
    # The body, 60 wide, is 8 from the box at Y 38 on the way; the column, 70 wide, 3. In the bore the body is below.
    head = {"reach": 60, "body": {**BODY, "width": 60}, "stem": {"back": 5, "length": 60, "width": 70}}
    beam = box("beam", [60, 200], [38, 50], [185, 200])
    told = approaches(room_job(head=head, path={"approach": 10}, obstacle=[beam]))
    assert told == [(3.0, "stem", "beam")] * 4


def test_the_stem_has_no_upper_end() -> None:
    # The beam is 1820 above the bore line; its left side 38 from the bar's axis.
    head = {"reach": 60, "stem": {"back": 5, "length": 60, "width": 70}}
    beam = box("beam", [60, 200], [38, 50], [1820, 1830])
    assert approaches(room_job(head=head, path={"approach": 10}, obstacle=[beam]))[0] == (3.0, "stem", "beam")


BUMP: Final[Data] = {"name": "union", "behind": [20, 40], "y": [20, 30], "z": [-5, 5]}
CORNER: Final = math.hypot(30, 5)


def test_a_bump_that_follows_the_cutter_into_the_bore() -> None:
    # What is still to be cut stays 20 in front of it: root of 20^2 and (41.6 - corner)^2 is more than 42 - corner.
    told = approaches(room_job(head={"reach": 60, "bump": [BUMP]}))
    assert told[1:3] == [(round(42 - CORNER, 9), "union", OWN)] * 2
    assert math.hypot(20, 41.6 - CORNER) > 42 - CORNER


def test_a_bump_at_the_cutting_edge_meets_the_hole_as_it_was() -> None:
    told = approaches(room_job(head={"reach": 60, "bump": [{**BUMP, "behind": [0, 20]}]}))
    assert told[1:3] == [(round(41.6 - CORNER, 9), "union", OWN), (round(42 - CORNER, 9), "union", OWN)]


def test_a_bump_a_little_behind_the_cutting_edge() -> None:
    # 1 behind the edge and 41.6 - corner from the old wall: nearer than the new wall only in a much smaller hole.
    job = room_job(head={"reach": 60, "bump": [{**BUMP, "behind": [1, 20]}]}, block={"hole": 64})
    told = approaches(job)
    assert told[1] == (round(math.hypot(1, 32 - CORNER), 9), "union", OWN)
    assert told[2] == (round(42 - CORNER, 9), "union", OWN)


def test_a_bump_that_does_not_go_through_the_hole_before_the_cut() -> None:
    # Corner at 41.8 from the axis: outside 41.6, inside 42. From 5 behind the edge on it never meets the old wall; at
    # the edge it does.
    square = math.sqrt(41.8**2 / 2)
    ring = {"name": "ring", "behind": [5, 20], "y": [-square, square], "z": [-square, square]}
    told = approaches(room_job(head={"reach": 60, "bump": [ring]}))
    assert told[1] == (0.2, "ring", OWN)
    ring["behind"] = [0, 20]
    assert approaches(room_job(head={"reach": 60, "bump": [ring]}))[1] == (0.0, "ring", OWN)


def test_a_bump_called_cutter_is_refused_its_name_or_judged_like_any_other() -> None:
    for name in ("cutter", "bar"):
        ring = {"name": name, "behind": [5, 20], "y": [-50, 50], "z": [-50, 50]}
        with pytest.raises(ValueError, match=f'"{name}" .* name'):
            room_job(head={"reach": 60, "bump": [ring]})


@pytest.mark.parametrize(
    ("obstacle", "approach"),
    [
        (BELOW, 3.0),
        (box("post", [-40, 10], [-10, 10], [-80, -60], 45), 70 - math.sqrt(200) - 42),
        (box("post", [-40, 10], [-30, 30], [-100, -40], 90), -2.0),
    ],
)
def test_the_cutter_at_a_box_plain_or_turned(obstacle: Data, approach: float) -> None:
    # Turned by 45 a square of 20 reaches root 200 from its centre; by 90 a square is itself again.
    told = approaches(room_job(block=None, obstacle=[obstacle]))
    assert told == [(round(max(approach, 0), 9), "cutter", obstacle["name"])] * 4


def test_a_box_turned_from_y_toward_z() -> None:
    # A plank 40 by 2 about (Y 60, Z -20), its end toward the cutter turned down by 30, toward -Z: it lies lower on
    # the left. Its upper left corner: from the centre (-20, 1), turned: (-20 cos - sin, -20 sin + cos).
    plank = box("plank", [-40, 10], [40, 80], [-21, -19], 30)
    corner = 60 - 20 * math.cos(math.pi / 6) - 0.5, -20 - 10 + math.cos(math.pi / 6)
    told = approaches(room_job(block=None, obstacle=[plank]))
    assert told[1] == (round(math.hypot(*corner) - 42, 9), "cutter", "plank")


def test_the_bar_at_a_box_behind_the_cutter() -> None:
    # 30 below the axis, from X 20 on: the bar, 3 to 63 and 23.5 back at the end of the stroke, stays above it.
    rail = box("rail", [20, 40], [-40, 40], [-40, -30])
    assert approaches(room_job(head=BARE, block=None, obstacle=[rail])) == [(5.0, "bar", "rail")] * 4


@pytest.mark.parametrize(("turned", "approach"), [(None, 5.0), (45, 60 - math.sqrt(200) - 45)])
def test_the_body_at_a_box_plain_or_turned(turned: float | None, approach: float) -> None:
    # The side of the body is at Y 45, the box from 50 to 70 about Y 60, or with a corner root 200 from there.
    side = box("side", [80, 90], [50, 70], [-10, 10], turned)
    told = approaches(room_job(head={"reach": 60, "body": BODY}, path={"approach": 20}, obstacle=[side]))
    assert told == [(round(approach, 9), "head body", "side")] * 4


def test_a_bump_at_a_box() -> None:
    union = {"name": "union", "behind": [70, 90], "y": [45, 62], "z": [-5, 5]}
    side = box("side", [80, 90], [65, 70], [-10, 10])
    head = {"reach": 60, "body": BODY, "bump": [union]}
    told = approaches(room_job(head=head, path={"approach": 20}, obstacle=[side]))
    assert told == [(3.0, "union", "side")] * 4


def lifting(toward: str | float, **changes: object) -> Job:
    path = {"withdraw": "lift", "lift": {"amount": 0.3, "toward": toward, "angle": 90.0}}
    return room_job(head={"ratio": 1.0, **changes.pop("head", {})}, path=path, **changes)  # type: ignore[dict-item]


def test_a_lifted_cutter_is_a_point_that_points_away_from_the_way_it_is_moved() -> None:
    # Moves: down, feed, lift, back, onto the line, up. The disc is 45 - 42 from the box below; the point at Z -42 + 0.3
    # is 3.3 from it once lifted, 3 before.
    told = approaches(lifting("+Z", block=None, obstacle=[BELOW]), "oriented")
    assert [near and near[0] for near in told] == [3.0, 3.0, 3.0, 3.3, 3.0, 3.0]


def test_a_lifted_cutter_at_a_box_it_does_not_point_at() -> None:
    # The point at (Y 0, Z -41.7) from the box at Y 45, down to Z -30: root of 45^2 and 11.7^2.
    told = approaches(lifting("+Z", block=None, obstacle=[ASIDE]), "oriented")
    assert told[3] == (round(math.hypot(45, 11.7), 9), "cutter", "boss")
    # Moved toward -Y it points to +Y: at (42 - 0.3, 0).
    told = approaches(lifting("-Y", block=None, obstacle=[ASIDE]), "oriented")
    assert told[3] == (3.3, "cutter", "boss")


def test_a_lifted_bar_is_off_the_line_by_the_amount() -> None:
    told = approaches(lifting("+Z", head=BARE), "oriented")
    assert told[2:4] == [(16.7, "bar", OWN)] * 2
    # Back onto the line in front of the bore, the point is 3 before the wall it has just cut.
    assert told[4] == (3.0, "cutter", OWN)


def test_a_cutter_stopped_still_may_stand_at_any_angle() -> None:
    told = approaches(room_job(block=None, path={"withdraw": "still"}, obstacle=[ASIDE]))
    assert told == [(3.0, "cutter", "boss")] * 4


def stopped_at(angle: float | None, job: Job) -> list[Approach]:
    """What comes near on one traverse at height with the spindle stopped at an angle."""
    spin = STOPPED._replace(angle=angle)
    timeline = Timeline([SpinChange(1, spin), Move(2, (3.0, 0.0, 180.0), (30.0, 0.0, 180.0), None, spin)])
    found = clearance(job, timeline, {})
    return [(near.distance, near.part, near.obstacle) for near in found.nearest.values()]


def test_a_cutter_stopped_at_another_angle_than_the_lift_s_may_point_anywhere() -> None:
    roof = box("roof", [-40, 60], [-40, 40], [225, 240])
    assert stopped_at(None, room_job(obstacle=[roof])) == [(3.0, "cutter", "roof")]
    assert stopped_at(90.0, room_job(obstacle=[roof])) == [(3.0, "cutter", "roof")]
    assert stopped_at(100.0, lifting("+Z", obstacle=[roof])) == [(3.0, "cutter", "roof")]
    # At the lift's own angle the point is straight down, at Z 138: 38 above the bulkhead.
    assert stopped_at(90.0, lifting("+Z", obstacle=[roof]))[0][0] == pytest.approx(math.hypot(3, 38))


SIZES: Final = [
    BORE,
    {**BORE, "name": "2", "face": -190, "diameter": 90.0},
    {**BORE, "name": "3", "face": -380},
]


def test_between_two_stops_the_cutter_has_the_size_it_was_set_to() -> None:
    # 48 below the line: 48 - 42 for 84, 48 - 45 for 90.
    rail = box("rail", [-500, 200], [-40, 40], [-60, -48])
    told = closest_by_why(room_job(block=None, bore=SIZES, obstacle=[rail]))
    assert {number: told[f"goes down to bore {number}"][0] for number in "123"} == {"1": 6.0, "2": 3.0, "3": 6.0}
    assert {number: told[f"goes up from bore {number}"][0] for number in "123"} == {"1": 6.0, "2": 3.0, "3": 6.0}
    assert told["feeds through bore 3"] == (6.0, "cutter", "rail")


def test_a_walk_takes_the_cutter_as_set_for_the_largest_bore() -> None:
    rail = box("rail", [-500, 200], [-40, 40], [-60, -48])
    told = closest_by_why(room_job(block=None, bore=SIZES, obstacle=[rail]), walk=True)
    assert {number: told[f"goes down to bore {number}"][0] for number in "123"} == dict.fromkeys("123", 3.0)


def test_a_walk_meets_what_the_program_would() -> None:
    second = {**BORE, "name": "2", "face": -190}
    head = {"reach": 60, "body": {**BODY, "length": 91.5}}
    told = closest_by_why(room_job(head=head, bore=[BORE, second]), walk=True)
    # Bore 2 starts at -187; back of the head at -187 + 60 + 91.5 = -35.5.
    assert told["goes down to bore 2"] == (1.5, "head body", OWN)


def test_a_hole_of_its_own() -> None:
    told = approaches(room_job(head=BARE, bore=[{**BORE, "hole": 60}]))
    assert told[1:3] == [(5.0, "bar", OWN), (17.0, "bar", OWN)]


def test_an_extent_of_its_own() -> None:
    # Over bore 1 at Z 180: 180 - 42 - 130 against 180 - 42 - 100; only bore 1 lies between the two starts.
    second = {**BORE, "name": "2", "face": -190}
    plain = closest_by_why(room_job(bore=[BORE, second]))
    own = {**BORE, "bulkhead_y": [-130, 130], "bulkhead_z": [-120, 130]}
    high = closest_by_why(room_job(bore=[own, second]))
    assert (plain["goes along the row"][0], high["goes along the row"][0]) == (38.0, 8.0)


def test_a_bulkhead_of_its_own_beyond_the_block_in_y() -> None:
    # Leaving at 45 degrees: over the row at Y 180, Z 180. From the edge at Y 160, Z 100: root of 20^2 and 80^2.
    second = {**BORE, "name": "2", "face": -190}
    own = {**BORE, "bulkhead_y": [-130, 160]}
    told = closest_by_why(room_job(path={"leave_angle": 45}, bore=[own, second]))
    assert told["goes along the row"] == (round(math.hypot(20, 80) - 42, 9), "cutter", OWN)


def test_a_bulkhead_told_at_one_bore_only() -> None:
    own = {**BORE, "bulkhead_y": [-100, 100], "bulkhead_z": [-100, 100], "hole": 80}
    second = {**BORE, "name": "2", "face": -190}
    told = closest_by_why(room_job(head=BARE, block=None, bore=[own, second]))
    assert told["feeds through bore 1"] == (15.0, "bar", OWN)
    assert {obstacle for _, _, obstacle in told.values()} == {OWN}


def test_inches() -> None:
    # Bar 2, hole 3.25, bore 3.3125: 0.625 before the cut, 0.65625 after it.
    block = {"y": [-5, 5], "z": [-5, 4], "hole": 3.25}
    told = approaches(make_job(INCH_TEXT, head={"reach": 2.5}, block=block))
    assert told[:4] == [
        (round(0.125 * 25.4, 9), "bar", OWN),
        (round(0.625 * 25.4, 9), "bar", OWN),
        (round(0.65625 * 25.4, 9), "bar", OWN),
        (round(0.125 * 25.4, 9), "bar", OWN),
    ]


def findings(job: Job, post: str = "longhand") -> list[tuple[str, str, str]]:
    verdict = proof(job, post)
    lines = posted(job, post).split("\n")
    assert all(finding.text == lines[finding.line - 1] for finding in verdict.findings)
    return [(finding.text.split(" (")[-1].rstrip(")"), finding.found, finding.expected) for finding in verdict.findings]


def test_too_close_tells_pair_line_distance_and_limit() -> None:
    apart, limit = "bar comes within 3 mm of bulkhead of bore 1", "at least 5 mm between them"
    assert findings(room_job(head=BARE, path={"clearance": 5})) == [
        ("down to bore 1", apart, limit),
        ("up from bore 1", apart, limit),
    ]


def test_what_meets_is_told_so() -> None:
    job = room_job(head={"reach": 60, "body": BODY}, obstacle=[box("side", [80, 90], [40, 70], [-10, 10])])
    assert findings(job)[0] == ("down to bore 1", "head body meets side", "at least 2 mm between them")


def test_what_meets_is_too_close_even_where_the_limit_is_none() -> None:
    job = room_job(head=BARE, path={"clearance": 0}, obstacle=[box("side", [20, 40], [20, 70], [-10, 10])])
    assert findings(job)[0] == ("down to bore 1", "bar meets side", "at least 0 mm between them")
    assert findings(room_job(head=BARE, path={"clearance": 0})) == []


def test_exactly_at_the_limit_is_clear() -> None:
    assert findings(room_job(head=BARE, path={"clearance": 3})) == []
    assert len(findings(room_job(head=BARE, path={"clearance": 3.001}))) == 2


def test_the_limit_is_two_millimetres_unless_told() -> None:
    assert findings(room_job(head=BARE, path={"approach": 2})) == []
    assert [told for _, _, told in findings(room_job(head=BARE, path={"approach": 1.999}))] == [
        "at least 2 mm between them"
    ] * 2


def test_inches_are_told_in_inches() -> None:
    block = {"y": [-5, 5], "z": [-5, 4], "hole": 3.25}
    job = make_job(INCH_TEXT, head={"reach": 2.5}, block=block, path={"clearance": 0.2})
    assert findings(job)[0][1:] == ("bar comes within 0.125 in of bulkhead of bore 1", "at least 0.2 in between them")


def test_a_line_of_many_moves_is_told_once_with_its_tightest_pair() -> None:
    # In one canned cycle: in the hole 16.6, the body 3.5 from the face.
    job = room_job(head={"reach": 40, "body": BODY}, path={"clearance": 17})
    verdict = proof(job, "cycles")
    cycles = [finding for finding in verdict.findings if "comes within 3.5 mm" in finding.found]
    assert [finding.found for finding in cycles] == ["head body comes within 3.5 mm of bulkhead of bore 1"]
    assert len({finding.line for finding in verdict.findings}) == len(verdict.findings)


def test_a_program_edited_by_hand_is_told_where_it_comes_too_close() -> None:
    # Down to X 1.5 in place of X 3.
    line, found = prove_edited(room_job(), change("G0 X3.000 Y0.000 Z0.000", "G0 X1.5 Y0 Z0"), physics_only=True)
    crowded = [(finding.line, finding.found) for finding in found if finding.rule == "too-close"]
    assert crowded == [(line, "cutter comes within 1.5 mm of bulkhead of bore 1")]


def test_a_move_from_a_place_not_known_is_not_judged() -> None:
    found = proof(room_job()).clearance
    assert found is not None
    assert found.moves[0].start == (3.0, 0.0, 180.0)


def test_what_is_far_from_everything() -> None:
    # 500 - 42 to the side; the box is looked for twice as far each time.
    told = approaches(room_job(block=None, obstacle=[{"name": "far", **FAR}]))
    assert told == [(458.0, "cutter", "far")] * 4


def test_too_close_of_nothing_is_nothing() -> None:
    job = room_job()
    dialect = find("longhand").dialect
    _, strokes = follow(job, Timeline([]), dialect, [])
    found = clearance(job, Timeline([]), strokes)
    assert found.closest is None
    assert too_close(job, found, []) == []


LOADED: Final = """
import sys
from tests.programs import posted, verdict_of
from tests.jobs import make_job
job = make_job({block})
verdict = verdict_of(job, posted(job))
print(verdict.proved, verdict.clearance is None, "numpy" in sys.modules)
"""


@pytest.mark.parametrize(
    ("block", "told"),
    [("", "True True False"), (f"block={BLOCK!r}", "True False True")],
    ids=["nothing to be near to", "a block"],
)
def test_numpy_is_loaded_only_for_a_job_with_something_to_be_near_to(block: str, told: str) -> None:
    code = LOADED.format(block=block)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert done.stdout.split("\n")[0] == told


def test_physics_alone_judges_clearance_too() -> None:
    job = room_job(head=BARE, path={"clearance": 5})
    verdict = verdict_of(job, posted(job), physics_only=True)
    assert [finding.rule for finding in verdict.findings] == ["too-close"] * 2


def test_the_summary_tells_the_nearest_approach_in_the_job_s_unit() -> None:
    job = room_job(head={"reach": 40, "body": BODY}, path={"approach": 5})
    facts = summary(task_of(job), proof(job), [])
    line = 1 + next(at for at, text in enumerate(posted(job).split("\n")) if text.startswith("G1 X-36.5"))
    assert facts["closest"] == {
        "distance": 3.5,
        "part": "head body",
        "obstacle": OWN,
        "program": 1,
        "line": line,
        "why": "feeds through bore 1",
    }
    assert f"  closest     3.5 mm between head body and {OWN}, line {line}: feeds through bore 1\n" in report(facts)
    assert json.loads(json.dumps(facts))["closest"] == facts["closest"]


def test_the_summary_tells_inches() -> None:
    job = make_job(INCH_TEXT, head={"reach": 2.5}, block={"y": [-5, 5], "z": [-5, 4], "hole": 3.25})
    facts = summary(task_of(job), proof(job), [])
    assert facts["closest"]["distance"] == 0.125
    assert "  closest     0.125 in between bar and bulkhead of bore 1, line " in report(facts)


@pytest.mark.parametrize("program", ["posted", "not to be read"])
def test_the_summary_tells_nothing_where_nothing_was_looked_at(program: str) -> None:
    job = make_job() if program == "posted" else room_job()
    text = posted(job) if program == "posted" else "G21 FOO"
    facts = summary(task_of(job), verdict_of(job, text), [])
    assert facts["closest"] is None
    assert "closest" not in report(facts)
    assert '"closest": null' in json.dumps(facts)
