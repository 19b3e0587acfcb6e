import math
import re
from collections.abc import Sequence
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from post.dialect import Comments, Dialect, DwellWord, Lines, Numbers, OrientedStop, Resolution, Steps, UnitWords
from post.reader import read
from post.replay import MOST_FINDINGS, replay
from post.standard import GROUP_OF, NOT_INTERPRETED
from post.telling import Told, in_words, tell
from post.timeline import Move, Point
from post.units import Units
from tests.post.programs import FIRST, OPENING

RESOLUTION: Final = Resolution(
    mm=Steps(length=0.001, feed=0.001, feed_per_turn=0.0001),
    inch=Steps(length=0.0001, feed=0.0001, feed_per_turn=0.00001),
    speed=0.01,
)
ALL: Final = Dialect(
    about="Every code that is interpreted",
    resolution=RESOLUTION,
    dwell=DwellWord(step=0.0001),
    feed_modes=("G94", "G95"),
    cycles=frozenset({"G81", "G82", "G85", "G86", "G89"}),
    oriented_stop=OrientedStop(angle="R"),
    on_trust=frozenset({"G69"}),
    refuses=frozenset({"G59.3"}),
)


def told(text: str, dialect: Dialect = ALL, units: Units | None = None, zero: Point | None = None) -> list[Told]:
    blocks = list(read(text, dialect))
    return tell(blocks, replay(blocks, dialect, zero=zero, work_offset="G54"), dialect, units)


def words(lines: str, dialect: Dialect = ALL, units: Units | None = None, zero: Point | None = None) -> list[str]:
    """Words of lines between OPENING and M30, in any dialect that reads OPENING."""
    return [one.words for one in told(f"{OPENING}{lines}\nM30", dialect, units, zero) if one.line >= FIRST][:-1]


def last(lines: str, dialect: Dialect = ALL, units: Units | None = None) -> str:
    return words(lines, dialect, units)[-1]


PROGRAM: Final = """\
%
(Pump, bore 1)
N10 G21 G17 G40 G49 G61 G80
N20 G90 G94 G54

M5
G0 Z160
G0 X3 Y0 Z160 (over bore 1)
G0 X3 Y0 Z0
S760 M4
G1 X-36.5 F38
G4 P1.5
G1 X3
M19 R90
G0 Z160
M0 (MSG, set the cutter to 84.5)
M30
%
"""


def test_a_program_is_told_line_by_line() -> None:
    lines = PROGRAM.split("\n")
    assert told(PROGRAM) == [
        Told(line, lines[line - 1], words)
        for line, words in [
            (2, ""),
            (
                3,
                "lengths in millimetres, XY plane, cutter compensation off, tool length offset off, "
                "corners exactly on the path, fixed cycle over",
            ),
            (4, "coordinates from program zero, feed a minute; work offset G54"),
            (6, "stop the spindle"),
            (7, "rapid to Z 160 mm"),
            (8, "rapid to X 3, Y 0 mm"),
            (9, "rapid to Z 0 mm"),
            (10, "spindle counterclockwise at 760 rpm"),
            (11, "feed to X -36.5 at 38 mm/min (0.05 mm a spindle turn)"),
            (12, "stand 1.5 s (19 turns of the spindle)"),
            (13, "feed back to X 3 at 38 mm/min (0.05 mm a spindle turn)"),
            (14, "stop the spindle at 90 degrees"),
            (15, "rapid to Z 160 mm"),
            (16, "wait for the operator: set the cutter to 84.5"),
            (17, "end of the program"),
        ]
    ]


def test_a_program_in_inches_is_told_in_inches_or_in_what_is_asked() -> None:
    text = "G20\nG17 G90 G94 G54 F5.08\nS508 M3\nG0 X1 Y0 Z-0.5\nG1 X-.35\nM2"
    assert [one.words for one in told(text)] == [
        "lengths in inches",
        "XY plane, coordinates from program zero, feed a minute, feed 5.08 in/min; work offset G54",
        "spindle clockwise at 508 rpm",
        "rapid to X 1, Y 0, Z -0.5 in",
        "feed to X -0.35 at 5.08 in/min (0.01 in a spindle turn)",
        "end of the program, which stops the spindle",
    ]
    assert [one.words for one in told(text, units="mm")][3:5] == [
        "rapid to X 25.4, Y 0, Z -12.7 mm",
        "feed to X -8.89 at 129.032 mm/min (0.254 mm a spindle turn)",
    ]
    assert last("F127\nG1 X25.4 Y1", units="inch") == "feed to X 1, Y 0.0394 at 5 in/min"
    assert last("F127.001\nG1 X25.001") == "feed to X 25.001 at 127.001 mm/min"
    assert last("F127", units="inch") == "feed 5 in/min"


def test_units_that_change_are_told_and_lengths_stay_in_the_first() -> None:
    assert words("G0 X1 Y0 Z0\nG20\nX1") == ["rapid to X 1, Y 0, Z 0 mm", "lengths in inches", "rapid to X 25.4 mm"]


CYCLE: Final = "G19 G0 X10 Y0 Z0\nS600 M3\n"
SLOW: Final = "at 100 mm/min (0.16667 mm a spindle turn)"


@pytest.mark.parametrize(
    ("line", "story"),
    [
        ("G81 X-30 R3", ["rapid to X 3 mm", f"feed to X -30 {SLOW}", "rapid to X 10 mm"]),
        (
            "G82 X-30 R3 P2",
            ["rapid to X 3 mm", f"feed to X -30 {SLOW}", "stand 2 s (20 turns of the spindle)", "rapid to X 10 mm"],
        ),
        ("G99 G85 X-30 R3", ["rapid to X 3 mm", f"feed to X -30 {SLOW}", f"feed back to X 3 {SLOW}"]),
        (
            "G86 X-30 R10 P0",
            [
                f"feed to X -30 {SLOW}",
                "stop the spindle",
                "rapid back to X 10 mm",
                "spindle clockwise at 600 rpm",
            ],
        ),
        (
            "G89 X-30 R10 P.5 Y5 L2",
            [
                "rapid to Y 5 mm",
                f"feed to X -30 {SLOW}",
                "stand 0.5 s (5 turns of the spindle)",
                f"feed back to X 10 {SLOW}",
                f"feed to X -30 {SLOW}",
                "stand 0.5 s (5 turns of the spindle)",
                f"feed back to X 10 {SLOW}",
            ],
        ),
    ],
)
def test_a_cycle_is_told_whole_in_order(line: str, story: list[str]) -> None:
    setting = "cycles come out to R; " if "G99" in line else ""
    assert last(f"{CYCLE}{line}") == setting + "; ".join(story)


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("G0 X1 Y1 Z1\nG0 X1 Y1", "already there: no move"),
        ("G0 X1 Y1 Z1\nG0 X1 M0 (look)", "already there: no move; wait for the operator: look"),
        ("G0 X1 Y1 Z1\nG1 X1 F50", "feed 50 mm/min; already there: no move"),
        ("G4 P0", "stand for no time"),
        ("S500\nG4 P0 M3", "spindle clockwise at 500 rpm; stand for no time"),
        ("G4 P.25", "stand 0.25 s"),
        ("G4 P.0001", "stand 0.0001 s"),
        ("S500 M3\nM3", "spindle goes on clockwise at 500 rpm"),
        ("S500 M3\nS500", "spindle goes on clockwise at 500 rpm"),
        ("S500 M3\nS600", "spindle clockwise at 600 rpm"),
        ("S500 M3\nM4", "spindle counterclockwise at 500 rpm"),
        ("S500.25", "speed 500.25 rpm for the next start"),
        ("S500 M3\nS600 M5", "speed 600 rpm for the next start; stop the spindle"),
        ("S500 M3\nM5\nM5", "stop the spindle"),
        ("M19 R12.5\nM19 R12.5", "stop the spindle at 12.5 degrees"),
        ("S500 M3\nM19 R0", "stop the spindle at 0 degrees"),
        ("M0", "wait for the operator"),
        ("M1 (MSG, sweep)", "wait for the operator if the switch for it is on: sweep"),
        ("S500 M3\nM0", "wait for the operator, the spindle turning"),
        ("M8", "flood coolant on"),
        ("G69", "G69, taken on trust: what it does is not known"),
        ("G55", "work offset G55"),
        ("N10", ""),
        ("(only a comment)", ""),
        ("G0 X1 F60", "feed 60 mm/min; rapid to X 1 mm"),
        ("G20 F5", "lengths in inches, this F counts for nothing: units, on an earlier line, and feed mode come first"),
        ("G95 F.05", "feed a spindle turn, feed 0.05 mm a spindle turn"),
        ("G95 F.05\nS760 M3\nG1 X-1", "feed to X -1 at 38 mm/min (0.05 mm a spindle turn)"),
        ("G91", "coordinates as steps from where the machine stands"),
        ("G0 X5 Y0 Z0\nG91 X-6", "coordinates as steps from where the machine stands; rapid to X -1 mm"),
        ("G0 X5 Y0 Z0\nX9\nX5\nX9", "rapid to X 9 mm"),
        ("G0 X-0.001", "rapid to X -0.001 mm"),
        ("G20\nG0 X-0.0001", "rapid to X -0.0025 mm"),
        ("G0 X-0.0001", "cannot be interpreted: X-0.0001, finer than the control reads; expected steps of 0.001"),
        ("G0 X-0", "rapid to X 0 mm"),
        ("G0 X12345678901", "rapid to X 1.23457e+10 mm"),
    ],
)
def test_what_one_line_says(lines: str, said: str) -> None:
    assert last(lines) == said


def test_back_means_where_the_move_before_began_under_the_same_offset() -> None:
    assert words("G0 X5 Y0 Z0\nX9\nX5")[1:] == ["rapid to X 9 mm", "rapid back to X 5 mm"]
    lines = words("G0 X5 Y0 Z0\nX9\nG54\nX5\nG55\nX9 Y0 Z0")
    assert lines[3:] == ["rapid to X 5 mm", "work offset G55", "rapid to X 9, Y 0, Z 0 mm"]


def test_an_f_before_units_or_feed_mode_counts_for_nothing() -> None:
    nothing = "this F counts for nothing: units, on an earlier line, and feed mode come first"
    assert [one.words for one in told("F100\nG21 F100\nG94 F100\nM2")] == [
        nothing,
        f"lengths in millimetres, {nothing}",
        "feed a minute, feed 100 mm/min",
        "end of the program",
    ]


def test_a_move_in_machine_coordinates() -> None:
    assert words("G0 G53 Z0", zero=(0.0, 0.0, -380.0)) == [
        "counted from machine zero on this line, told from program zero; rapid to Z 380 mm"
    ]


START: Final = "G17 G90 G94 G54\nS600 M3\nG0 X3. Y0. Z0.\nG1 X-36.5 F30."
IN_STEPS: Final = "G17 G90 G94 G54\nS600 M3\nG0 X3000 Y0 Z0\nG1 X-36500 F30000"


@pytest.mark.parametrize(
    ("key", "value", "text"),
    [
        ("dwell", DwellWord(), f"G21\n{START}\nG4 P1.5\nM2"),
        ("dwell", DwellWord(unit="milliseconds", step=1.0), f"G21\n{START}\nG4 P1500\nM2"),
        ("dwell", DwellWord(unit="turns"), f"G21\n{START}\nG4 P15\nM2"),
        ("dwell", DwellWord(word="X"), f"G21\n{START}\nG4 X1.5\nM2"),
        ("unit_words", UnitWords(mm="G71", inch="G70"), f"G71\n{START}\nG4 P1.5\nM2"),
        ("feed_modes", ("G95",), f"G21\n{START.replace('G94', 'G95').replace('F30.', 'F.05')}\nG4 P1.5\nM2"),
        ("comments", Comments(form="semicolon"), f"G21 ;lengths\n{START} ;through\nG4 P1.5\nM2"),
        ("numbers", Numbers(point="required"), f"G21\n{START}\nG4 P1.5\nM2"),
        ("numbers", Numbers(point="none"), f"G21\n{IN_STEPS}\nG4 P1.5\nM2"),
    ],
)
def test_the_same_motion_is_told_the_same_under_every_dialect(key: str, value: object, text: str) -> None:
    lines = [one.words for one in told(text, Dialect.model_validate({**ALL.model_dump(), key: value}))]
    feed = "feed a spindle turn" if key == "feed_modes" else "feed a minute"
    assert lines == [
        "lengths in millimetres",
        f"XY plane, coordinates from program zero, {feed}; work offset G54",
        "spindle clockwise at 600 rpm",
        "rapid to X 3, Y 0, Z 0 mm",
        "feed to X -36.5 at 30 mm/min (0.05 mm a spindle turn)",
        "stand 1.5 s (15 turns of the spindle)",
        "end of the program, which stops the spindle",
    ]


def test_an_f_alone_where_numbers_count_steps() -> None:
    steps = Dialect(
        about="Steps", resolution=RESOLUTION, numbers=Numbers(point="none"), feed_modes=("G94", "G95"), opening=()
    )
    lines = [one.words for one in told("G21\nG94 F30000\nG95 F500\nM2", steps)]
    assert lines[1:3] == ["feed a minute, feed 30 mm/min", "feed a spindle turn, feed 0.05 mm a spindle turn"]


def test_a_finer_control_is_told_finer() -> None:
    fine = Dialect(
        about="Fine",
        resolution=Resolution(mm=Steps(length=0.00001, feed=0.00001), inch=Steps(length=0.000001, feed=0.000001)),
    )
    assert (
        last("S700 M3\nF12.34567\nG1 X1.00001", fine)
        == "feed to X 1.00001 at 12.34567 mm/min (0.01764 mm a spindle turn)"
    )


def test_what_is_told_of_a_coarse_control_is_no_coarser_than_a_person_needs() -> None:
    coarse = Dialect(
        about="Coarse",
        resolution=Resolution(mm=Steps(length=0.1, feed=1.0), inch=Steps(length=0.1, feed=1.0)),
    )
    lines = "S700 M3\nF12\nG1 X1.2"
    assert last(lines, coarse) == "feed to X 1.2 at 12 mm/min (0.01714 mm a spindle turn)"
    assert last(lines, coarse, "inch") == "feed to X 0.0472 at 0.4724 in/min (0.00067 in a spindle turn)"


def test_what_cannot_be_interpreted_is_told_and_not_run() -> None:
    assert words("S500 M3\nG2 X1 M4\nM3\nG1 X\n/M8") == [
        "spindle clockwise at 500 rpm",
        "cannot be interpreted: G2, an arc: every move of a boring program is a straight line; "
        "expected codes that are interpreted here",
        "spindle goes on clockwise at 500 rpm",
        "cannot be interpreted: X with no number; expected a number after it, as X12.5",
        'cannot be interpreted: a line that starts with "/"; expected lines that run whatever a switch says',
    ]


def test_a_program_without_an_end_says_so_behind_its_last_line() -> None:
    no_end = "no end: a program without M2 or M30; expected M2 or M30 at its end"
    assert told("G21\nM8") == [Told(1, "G21", "lengths in millimetres"), Told(2, "M8", f"flood coolant on; {no_end}")]
    assert told("G21\n(x)")[1] == Told(2, "(x)", no_end)
    assert told("G7")[0].words == (
        "cannot be interpreted: G7; expected a code of RS-274/NGC, or one the dialect names; " + no_end
    )
    assert told("") == []


def test_what_is_wrong_around_a_program_is_told_in_its_place() -> None:
    taped = Dialect(about="Tape", resolution=RESOLUTION, lines=Lines(tape_marks="required"))
    assert told("\nG21\nM2", taped) == [
        Told(
            2,
            "G21",
            "lengths in millimetres; cannot be interpreted: no % that opens the program; "
            "expected a line that holds % alone before it",
        ),
        Told(3, "M2", "end of the program"),
    ]
    assert told("%\nM2\n%\nG1\n")[-1] == Told(
        4, "G1", "cannot be interpreted: text after the % that closes the program; expected nothing after it"
    )


def test_behind_more_findings_than_are_kept_nothing_is_told() -> None:
    beyond = f"not told: {MOST_FINDINGS} findings come before it, and no more are kept"
    lines = [one.words for one in told("G7\n" * (MOST_FINDINGS - 1) + "M8\nG7\nM9\n(x)\nM2")]
    assert lines[MOST_FINDINGS - 1] == "flood coolant on"
    assert lines[MOST_FINDINGS].startswith("cannot be interpreted: G7")
    assert lines[MOST_FINDINGS + 1 :] == [beyond] * 3
    last_but_one = [one.words for one in told("G7\n" * (MOST_FINDINGS - 1) + "M8")]
    assert last_but_one[-1].startswith("flood coolant on; no end")


def test_much_text_behind_the_closing_mark_crowds_nothing_out() -> None:
    lines = told("%\nM8\nG7\nM2\n%\n" + "G1\n" * MOST_FINDINGS)
    assert [one.line for one in lines] == [2, 3, 4, 6]
    assert lines[0].words == "flood coolant on"
    assert lines[1].words.startswith("cannot be interpreted: G7")
    assert lines[2].words == "end of the program"
    assert lines[3].words.startswith("cannot be interpreted: text after the % that closes the program")


def test_every_code_that_is_interpreted_has_its_words() -> None:
    codes = (*GROUP_OF, "G95", "M19")
    said = {code: in_words(code, ALL) for code in codes if code not in NOT_INTERPRETED}
    nothing = {code for code, meaning in said.items() if meaning == "no code of this control, by the dialect"}
    assert nothing == set()
    same = [meaning for meaning in said.values() if list(said.values()).count(meaning) > 1]
    assert same == ["end of the program"] * 2


@pytest.mark.parametrize(
    ("code", "meaning"),
    [
        ("G0", "rapid"),
        ("G54", "work offset G54"),
        ("G59.3", "refused by the control"),
        ("G2", "not interpreted: an arc: every move of a boring program is a straight line"),
        ("G69", "G69, taken on trust: what it does is not known"),
        ("G71", "no code of this control, by the dialect"),
        ("G7", "no code of this control, by the dialect"),
        ("G85", "cycle: feed in, feed out"),
        ("M19", "stop the spindle at an angle"),
    ],
)
def test_a_code_in_words(code: str, meaning: str) -> None:
    assert in_words(code, ALL) == meaning


def test_a_code_the_control_lacks_means_nothing_there() -> None:
    bare = Dialect(about="Bare", resolution=RESOLUTION, unit_words=UnitWords(mm="G71", inch="G70"))
    lacking = [code for code in ("G20", "G70", "G85", "G94", "G95", "M19") if "no code" in in_words(code, bare)]
    assert lacking == ["G20", "G85", "G95", "M19"]


NUMBERS: Final = st.integers(-99_999, 99_999).map(lambda value: f"{value / 1000:g}")
AMOUNTS: Final = st.integers(0, 9_999).map(lambda value: f"{value / 10:g}")


def _word(letter: str, value: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    return value.map(lambda text: f"{letter}{text}")


def _line(*words: tuple[str, st.SearchStrategy[str]]) -> st.SearchStrategy[str]:
    """A line with some of these words, letters and numbers, in this order."""
    return st.tuples(*(st.just("") | _word(*word) for word in words)).map(lambda parts: " ".join(filter(None, parts)))


PLACES: Final = (("X", NUMBERS), ("Y", NUMBERS), ("Z", NUMBERS))
LINES: Final = st.one_of(
    _line(("G", st.sampled_from(("0", "1"))), *PLACES, ("F", AMOUNTS)),
    _line(("G", st.sampled_from(("81", "82", "85", "86", "89"))), *PLACES, ("R", NUMBERS), ("P", AMOUNTS)),
    _line(("S", AMOUNTS), ("M", st.sampled_from(("3", "4", "5", "19 R45")))),
    _line(("G", st.sampled_from(("4 P1.5", "4 P0"))), ("M", st.sampled_from(("0 (look)", "1", "8", "9")))),
    st.sampled_from(("G90", "G91", "G20", "G21", "G95 F.1", "G94 F50", "G54", "G55", "G17", "G19", "G98", "G99")),
    st.sampled_from(("(note)", "", "N5", "/G0 X1", "G2 X1", "%", "M30", "G1 X1 X2", "S500 M3", "G0 X1 Y2 Z3 F9")),
)
PROGRAMS: Final = st.tuples(
    st.sampled_from(("G21", "G20")), st.lists(LINES, max_size=25), st.sampled_from(("\nM30", ""))
).map(lambda parts: f"{parts[0]} G17 G90 G94 G54 G98\nF100\n{chr(10).join(parts[1])}{parts[2]}")
"""Programs of which most lines can be interpreted and some cannot."""


@given(PROGRAMS)
def test_every_block_is_told_once_and_every_block_that_acts_has_words(text: str) -> None:
    blocks = list(read(text, ALL))
    timeline = replay(blocks, ALL)
    lines = tell(blocks, timeline, ALL)
    assert [one.line for one in lines] == sorted({block.line for block in blocks})
    wrong = {finding.line for finding in timeline.findings}
    assert {one.line for one in lines if "cannot be interpreted: " in one.words or "no end: " in one.words} == wrong
    idle = {block.line for block in blocks if not block.words} - wrong
    assert {one.line for one in lines if not one.words} == idle
    assert all(one.text == text.split("\n")[one.line - 1] for one in lines)


MOVE: Final = re.compile(r"(rapid|feed) (?:back )?to ((?:[XYZ] [-.0-9]+(?:, )?)+) (?:mm|in|at ([.0-9]+) )")


@given(PROGRAMS, st.sampled_from((None, "mm", "inch")))
def test_the_moves_told_are_those_of_the_replay(text: str, units: Units | None) -> None:
    blocks = list(read(text, ALL))
    timeline = replay(blocks, ALL)
    per, step = (25.4, 0.0001) if (units or timeline.units) == "inch" else (1.0, 0.001)
    found = [(one.line, *match) for one in tell(blocks, timeline, ALL, units) for match in MOVE.findall(one.words)]
    moves = [event for event in timeline.events if isinstance(event, Move)]
    assert [(line, kind) for line, kind, _, _ in found] == [
        (move.line, "rapid" if move.feed is None else "feed") for move in moves
    ]
    for (_, _, places, feed), move in zip(found, moves, strict=True):
        assert told_places(places, per) == pytest.approx(changed(move), abs=step * per)
        if move.feed is not None:
            assert float(feed) * per == pytest.approx(move.feed, abs=step * per)


def told_places(text: str, per: float) -> dict[str, float]:
    return {place[0]: float(place[2:]) * per for place in text.split(", ")}


def changed(move: Move) -> dict[str, float]:
    """The axes that a move changes, and where they end."""
    ends = zip("XYZ", move.start, move.end, strict=True)
    return {axis: end for axis, start, end in ends if not math.isnan(end) and start != end}


@given(st.text(), st.sampled_from((OPENING, "%\n", "")))
def test_no_text_breaks_it(text: str, opening: str) -> None:
    lines: Sequence[Told] = told(opening + text)
    assert len({one.line for one in lines}) == len(lines)


@pytest.mark.parametrize("text", ["G0 X" + "9" * 240, "S" + "9" * 240 + " M3", "G4 P" + "9" * 200])
def test_numbers_no_machine_has_are_told_in_short(text: str) -> None:
    assert len(last(text)) < 100


def test_a_feed_too_large_for_a_float_breaks_nothing() -> None:
    large = "9" * 230
    assert last(f"G95 F{large}\nS{large} M3\nG1 X1") == "feed to X 1 at inf mm/min (inf mm a spindle turn)"
