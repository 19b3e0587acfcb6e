from typing import Final

from gen.checks import first_run, mounting
from post.posts import find
from tests.jobs import INCH_TEXT, make_job
from tests.programs import DROPPED
from tests.shop import sized_job
from tests.spaces import JOB as SPACE_JOB

DIALECT: Final = find("longhand").dialect


def texts(checks: object) -> list[str]:
    assert isinstance(checks, list)
    return [check.text for check in checks]


def test_the_row_s_length_is_from_first_metal_to_last() -> None:
    assert mounting(make_job())[0] == ("Bore line along X, over 287 mm", ("in Y", "in Z"))
    assert "over 6.375 in" in mounting(make_job(INCH_TEXT))[0].text


def test_the_reach_is_told_where_the_job_tells_it() -> None:
    assert "Reach, edge to head's face, told 60 mm" in texts(mounting(SPACE_JOB))
    assert "Reach, edge to head's face, not told" in texts(mounting(make_job()))


def test_a_lift_is_checked_where_there_is_one() -> None:
    assert "Spindle at 90 degrees: cutter points away from the lift" in texts(mounting(DROPPED))
    assert not any("lift" in text for text in texts(mounting(make_job())))


def test_which_way_the_output_turns() -> None:
    assert any("for 2 of the spindle, opposite ways" in text for text in texts(mounting(make_job())))
    same = make_job(head={"reverses": False, "ratio": 1.5})
    assert any("for 1.5 of the spindle, the same way" in text for text in texts(mounting(same)))


def test_the_smallest_bore_is_told_where_bores_are_measured() -> None:
    assert any(text.endswith("smallest now 82.98 mm") for text in texts(mounting(sized_job())))


def test_the_nearest_wall_is_told_where_a_bore_lies_off_the_line() -> None:
    bores = [{"face": 0, "width": 28, "diameter": 84.0, "measured": [82.98, 82.99], "centre": [0, 0.03]}]
    job = sized_job(bore=bores)
    assert any(text.endswith("nearest wall 41.46 mm from the bar's axis") for text in texts(mounting(job)))
    assert not any("smallest" in text for text in texts(mounting(make_job())))


def test_a_walk_through_needs_no_dry_run() -> None:
    bored, walked = (texts(first_run(make_job(), DIALECT, walk=walk)) for walk in (False, True))
    for told in (bored, walked):
        assert told[0].startswith("G54 as above")
        assert any("Guards shut" in text for text in told)
        assert any("lock out" in text for text in told)
    assert any("cutter out or zero raised" in text for text in bored)
    assert any("Walk-through first" in text for text in bored)
    assert not any("Dry run" in text or "Walk-through" in text for text in walked)
    assert any("should the spindle turn, stop" in text for text in walked)
    assert "Indicator on at a stop only; off before cycle start" in walked
    assert not any("ndicator" in text for text in bored)


def test_straight_rapids_are_tried_where_the_way_in_is_slanted() -> None:
    slanted = make_job(path={"leave_angle": 5})
    for walk in (False, True):
        assert any("Rapids run straight in all axes" in text for text in texts(first_run(slanted, DIALECT, walk=walk)))
        assert not any("Rapids" in text for text in texts(first_run(make_job(), DIALECT, walk=walk)))
