"""The fit in words, as a machinist reads it."""

from typing import Final

from gen.fit import fit
from gen.fitreport import fit_text
from gen.job import Job
from post.posts import find
from tests.jobs import make_job
from tests.spaces import BODY, BORES, RAIL, with_space

DIALECT: Final = find("longhand").dialect


def lines_of(job: Job) -> list[str]:
    return fit_text(fit(job, DIALECT)).split("\n")


def test_the_whole_report_of_a_row_that_does_not_fit() -> None:
    assert lines_of(with_space(head={"reach": 90})) == [
        "Harbour pump engine, main housings",
        "  limit       2 mm between the tool and anything else",
        "  head        points -X, leaves at 0 degrees",
        "",
        "          room   head  front  left   back  left  other",
        "  bore  in bay  takes  start   end  start   end   side  fits",
        "  1       open    163     93  53.5   open  open     NO   yes",
        "  2        156    163     93  59.5     -7  26.5     NO    NO",
        "  3        162    163     93  53.5     -1  38.5    yes    NO",
        "",
        "  bore 1      3 mm between bar and bulkhead of bore 1: goes down to bore 1",
        "  bore 2      0 mm between head body and bulkhead of bore 1: goes down to bore 2",
        "              would fit with a reach of 81 mm",
        "  bore 3      0 mm between head body and bulkhead of bore 2: goes down to bore 3",
        "              would fit with a reach of 87 mm",
        "              would fit with the head turned round, from the face at X -414",
        "  whole row   would fit with a reach of 81 mm",
        "  other side  bore 3 could be cut with the head turned round",
        "  not checked whether the bores lie on one line, and what size the cutter is set to",
        "  verdict     DOES NOT FIT: bores 2, 3",
    ]


def test_a_row_that_fits_says_so_last() -> None:
    lines = lines_of(with_space())
    assert lines[-1] == "  verdict     FITS"
    assert "  other side  every bore could be cut with the head turned round" in lines


def test_angles_and_approaches_are_told_with_what_goes_with_them() -> None:
    over = {**RAIL, "y": [-160, -42], "z": [75, 140]}
    text = "\n".join(lines_of(with_space(head={"body": {**BODY, "above": 40}}, obstacle=[over])))
    assert "would fit with a leave angle of 8.2 degrees; 8.2 to 79.9 clears\n" in text
    assert "  whole row   would fit with a leave angle of 8.17 degrees\n" in text
    text = "\n".join(lines_of(with_space(bore=[BORES[0], {**BORES[1], "approach": 30}, BORES[2]])))
    assert "would fit with an approach of 24 mm, the cutter starting at X -166\n" in text


def test_what_nothing_helps_is_told() -> None:
    beam = {"name": "beam", "x": [-700, 60], "y": [-500, 500], "z": [61, 110]}
    lines = lines_of(with_space(obstacle=[beam]))
    told = "              no other reach, smaller approach or leave angle alone makes it fit, nor the head turned round"
    assert lines.count(told) == 3


def test_what_is_not_known_is_not_said_to_fit() -> None:
    lines = lines_of(make_job())
    assert lines[0] == "Harbour pump engine, main housings"
    assert [line[2:13] for line in lines[1:]] == ["not checked", "not checked", "verdict    "]
    assert lines[-1] == "  verdict     NOT KNOWN to fit: the job tells too little"
    some = lines_of(make_job(obstacle=[RAIL]))
    assert "  1       open      -      -     -   open  open      -     -" in some
    assert some[-1] == lines[-1]


def test_a_bore_found_tight_without_a_head_is_told_no_remedy() -> None:
    beam = {"name": "beam", "x": [-700, 60], "y": [-20, 20], "z": [60, 80]}
    lines = lines_of(make_job(obstacle=[beam]))
    assert not any("would fit" in line or "makes it fit" in line for line in lines)
    assert lines[-1] == "  verdict     DOES NOT FIT: bores 1, 2, 3"


def test_where_nothing_comes_near_it_is_said() -> None:
    far = {"name": "vice", "x": [3000, 3100], "y": [-20, 20], "z": [-20, 20]}
    near = {**RAIL, "x": [0, 20], "y": [-90, -80]}
    lines = lines_of(make_job(obstacle=[far, near]))
    assert any(line.startswith("  bore 3      nothing comes near") for line in lines)
