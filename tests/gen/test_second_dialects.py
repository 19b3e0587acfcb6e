"""The second reading under what dialects may say: other comments, numbers, dwells, units and feeds."""

from typing import Any, Final

import pytest

from gen.second import SecondReading, read_again
from post.dialect import Dialect
from post.posts import find, shipped
from post.reader import Block, read
from post.replay import replay
from post.timeline import Timeline
from tests.jobs import INCH_TEXT, make_job
from tests.programs import DROPPED, SETTINGS, STILL, able, all_posted

LONGHAND: Final = find("longhand").dialect


def dialect_of(**changes: Any) -> Dialect:
    """Longhand's dialect with keys and tables changed."""
    data = LONGHAND.model_dump()
    for key, value in changes.items():
        data[key] = {**data[key], **value} if isinstance(value, dict) else value
    return Dialect.model_validate(data)


def replayed(program: str, dialect: Dialect) -> tuple[list[Block], Timeline]:
    blocks = list(read(program, dialect))
    timeline = replay(blocks, dialect)
    assert timeline.findings == []
    return blocks, timeline


def second(program: str, dialect: Dialect) -> SecondReading:
    return read_again(*replayed(program, dialect), dialect)


def tampered(program: str, dialect: Dialect, line: int, old: tuple[str, float], new: tuple[str, float]) -> list[int]:
    """Lines told where our reading of one word of a line is another than what stands there."""
    blocks, timeline = replayed(program, dialect)
    changed = [
        block._replace(words=tuple(new if word == old else word for word in block.words))
        if block.line == line
        else block
        for block in blocks
    ]
    assert changed != blocks
    return [finding.line for finding in read_again(changed, timeline, dialect).findings]


SEMICOLON: Final = dialect_of(comments={"form": "semicolon"})
SEMICOLONS: Final = """\
; five mains, 50% (of) them; G91 M30
G21 G17 G40 G49 G61 G80 ; as any
G90 G94 G54;
M5; nothing turns yet
G0 Z160. ; X5 (up)
  ; M5
G0 X3 Y0 Z0 ;;
M0 ; MSG, set the cutter (84.5)
M30
"""


def test_comments_behind_a_semicolon_are_left_out() -> None:
    assert second(SEMICOLONS, SEMICOLON) == SecondReading((), 7, {})
    assert tampered(SEMICOLONS, SEMICOLON, 5, ("Z", 160.0), ("Z", 161.0)) == [5]
    assert tampered(SEMICOLONS, SEMICOLON, 7, ("X", 3.0), ("X", 5.0)) == [7]


def test_a_semicolon_hides_nothing_where_comments_are_in_brackets() -> None:
    block = Block(1, "M5 ; M3", (("M", 5.0),), "M", None, False, None)
    assert read_again([block], Timeline(), SEMICOLON) == SecondReading((), 1, {})
    assert read_again([block], Timeline(), LONGHAND) == SecondReading((), 0, {"a writing pygcode cannot read": 1})


STEPS: Final = "G21 G17 G90 G94 G54\nM5\nG0 X3000 Y0 Z160000\nS760 M4\nG1 X-34500 F38000\nG1 R90\nM5\nM30\n"
COUNTED: Final = "lengths count the control's smallest steps"


@pytest.mark.parametrize(("units", "word"), [("mm", "G21"), ("inch", "G20")])
def test_lengths_that_count_steps_are_read_once_but_their_words_compared(units: str, word: str) -> None:
    steps = dialect_of(numbers={"point": "none"})
    program = STEPS.replace("G21", word).replace("G1 R90\n", "")
    assert second(program, steps) == SecondReading((), 5, {COUNTED: 2})
    assert tampered(program, steps, 5, ("X", -34500.0), ("X", -34501.0)) == [5]
    assert tampered(program, steps, 5, ("F", 38000.0), ("F", 38.0)) == [5]
    assert tampered(program, steps, 4, ("S", 760.0), ("S", 761.0)) == [4]


def test_modes_and_places_go_on_over_lines_whose_lengths_count_steps() -> None:
    """What stands on a line read once is taken over, and a line with no length is judged where the replay is."""
    steps = dialect_of(numbers={"point": "none"})
    program = "G21 G17 G90 G94 G54\nG0 X3000 Y0 Z0\nG91\nX1000\nG90 M5\nG4 P1\nX0\nM30\n"
    assert second(program, steps) == SecondReading((), 5, {COUNTED: 3})


@pytest.mark.parametrize("point", ["optional", "required"])
def test_lengths_with_a_point_are_read_twice(point: str) -> None:
    program = "G21 G17 G90 G94 G54\nM5\nG0 X3. Y0. Z160.\nS760 M4\nG1 X-34.5 F38.\nG4 P0.64\nM5\nM30\n"
    assert second(program, dialect_of(numbers={"point": point})) == SecondReading((), 8, {})


DWELLS: Final = "G21 G17 G90 G94 G54\nG0 X3 Y0 Z160\nG4 X0.64\nG4 X2\nG0 Y1\nG4\tX.5\nM30\n"


def test_a_dwell_told_by_x_is_read_once_and_moves_nothing() -> None:
    by_x = dialect_of(dwell={"word": "X"})
    assert second(DWELLS, by_x) == SecondReading((), 4, {"a dwell is told by X": 3})
    assert tampered(DWELLS, by_x, 3, ("X", 0.64), ("X", 0.65)) == [3]
    assert tampered(DWELLS, by_x, 5, ("Y", 1.0), ("Y", 2.0)) == [5]


@pytest.mark.parametrize("unit", ["seconds", "milliseconds", "turns"])
def test_what_a_dwell_counts_makes_no_difference(unit: str) -> None:
    program = "G21 G17 G90 G94 G54\nG0 X3 Y0 Z160\nS760 M4\nG4 P640\nM5\nM30\n"
    assert second(program, dialect_of(dwell={"unit": unit})) == SecondReading((), 6, {})


ISO_UNITS: Final = dialect_of(unit_words={"mm": "G71", "inch": "G70"})


def test_units_by_the_words_of_iso_6983_are_read_once_and_hold_on() -> None:
    """ISO 6983-1 has G70 and G71 where RS-274/NGC has G20 and G21."""
    program = "G70 G17\nG90 G94 G54\nG0 X1 Y2 Z3\nG71\nX5\nG70 X2\nG91 X1\nM30\n"
    reading = second(program, ISO_UNITS)
    assert reading == SecondReading((), 5, {"pygcode does not know G70": 2, "pygcode does not know G71": 1})
    for line, old in ((3, ("X", 1.0)), (5, ("X", 5.0)), (7, ("X", 1.0))):
        assert tampered(program, ISO_UNITS, line, old, ("X", 9.0)) == [line]


def test_a_place_is_compared_in_the_unit_that_g70_and_g71_set() -> None:
    program = "G71 G17 G90 G94 G54\nG0 X25.4 Y0 Z0\nG70\nG0 X2\nM30\n"
    blocks, timeline = replayed(program, ISO_UNITS)
    end = timeline.events[-2]
    timeline.events[-2] = end._replace(end=(50.9, 0.0, 0.0))  # type: ignore[call-arg]
    (finding,) = read_again(blocks, timeline, ISO_UNITS).findings
    assert (finding.line, finding.found) == (4, "pygcode ends the block at X2 in")


def test_feeds_a_spindle_turn_are_read_twice() -> None:
    per_turn = find("per-turn").dialect
    program = "G21 G17 G90 G95 G54\nM5\nG0 X3 Y0 Z0\nS760 M4\nG1 X-34.5 F0.05\nG4 P8\nG94\nG1 X3 F38\nM5\nM30\n"
    assert second(program, per_turn) == SecondReading((), 10, {})
    assert tampered(program, per_turn, 5, ("F", 0.05), ("F", 0.06)) == [5]
    assert tampered(program, per_turn, 1, ("G", 95.0), ("G", 94.0)) == [1]


def test_a_code_taken_on_trust_is_read_once() -> None:
    trusting = dialect_of(on_trust={"G69", "M80"})
    program = "G21 G17 G90 G94 G54 G69\nM80\nG0 X3 Y0 Z0\nM30\n"
    reading = second(program, trusting)
    assert (reading.findings, reading.read_twice, sum(reading.read_once.values())) == ((), 2, 2)


@pytest.mark.parametrize("name", list(shipped()))
def test_of_every_post_s_programs_only_g86_and_m19_are_read_once(name: str) -> None:
    dialect = find(name).dialect
    texts = [
        text
        for job in (make_job(), SETTINGS, STILL, DROPPED, make_job(INCH_TEXT))
        if name in able(job)
        for text in all_posted(job, name)
    ]
    assert len(texts) >= 3
    for text in texts:
        blocks, timeline = replayed(text, dialect)
        reading = read_again(blocks, timeline, dialect)
        assert reading.findings == ()
        assert reading.read_once.keys() <= {"pygcode does not know G86", "pygcode does not carry out M19"}
        assert reading.read_twice + sum(reading.read_once.values()) == timeline.blocks > 10
