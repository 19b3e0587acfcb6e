import json
import math
from typing import Any, Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.foreign import LONGEST_TEXT, MOST_LISTED, facts, words
from post.dialect import Dialect
from post.reader import read
from post.replay import MOST_FINDINGS, replay
from post.timeline import Halt, Move, OffsetChange, SpinChange, Timeline, Wait
from tests.post.test_telling import ALL, PROGRAMS

PROGRAM: Final = """\
(Pump, one bore)
G21 G17 G40 G49 G61 G80
G90 G94 G54
M5
G0 Z160
G0 X3 Y-2 Z160
G0 X3 Y0 Z0
S760 M4
G1 X-36.5 F38
G4 P1.5
G1 X3
M19 R90
G0 Z160
M0 (MSG, set the cutter to 84.5)
M30
"""

AS_TEXT: Final = """\
line  move         X       Y        Z    feed  a spindle turn  spindle
   5  rapid        ?       ?  160.000                          stopped
   6  rapid    3.000  -2.000  160.000                          stopped
   7  rapid    3.000   0.000    0.000                          stopped
   9  feed   -36.500   0.000    0.000  38.000         0.05000  M4 760
  11  feed     3.000   0.000    0.000  38.000         0.05000  M4 760
  13  rapid    3.000   0.000  160.000                          stopped at 90 deg
lengths in mm, feed in mm a minute and mm a spindle turn; ? is a place not known
  read        14 blocks, by post longhand, lengths in mm
  extents     G54  X  -36.5 to 3 mm; start not known on 2 moves, lines 5 to 6
              G54  Y  -2 to 0 mm; start not known on 2 moves, lines 5 to 6
              G54  Z  0 to 160 mm; start not known on 1 move, line 5
  time        2 min 6 s cutting: 2 min 5 s in 2 feed moves, 1.5 s standing
              not counted: 4 rapids, 320.012 mm of way; 1 stop
              2 moves from a place not known, counted by the axes that are known
  spindle     760 rpm, M4 (counterclockwise), first on line 8
  work offset G54
  stops       line 14: set the cutter to 84.5
  codes       G0         4  rapid
              G1         2  feed in a straight line
              G4         1  stand still for a time
              G17        1  XY plane
              G21        1  lengths in millimetres
              G40        1  cutter compensation off
              G49        1  tool length offset off
              G54        1  work offset G54
              G61        1  corners exactly on the path
              G80        1  fixed cycle over
              G90        1  coordinates from program zero
              G94        1  feed a minute
              M0         1  wait for the operator
              M4         1  spindle counterclockwise
              M5         1  stop the spindle
              M19        1  stop the spindle at an angle
              M30        1  end of the program
  verdict     ALL INTERPRETED; nothing is proved without a job"""


def facts_of(text: str, dialect: Dialect = ALL) -> dict[str, Any]:
    """Figures as they come out of JSON."""
    again: dict[str, Any] = json.loads(json.dumps(facts(text, dialect, "longhand"), allow_nan=False))
    return again


def lines_of(text: str) -> list[str]:
    return words(facts_of(text)).split("\n")


def row(name: str, text: str) -> list[str]:
    """The texts of a row of the summary, without its name."""
    lines = lines_of(text)
    first = next(number for number, line in enumerate(lines) if line.startswith(f"  {name} "))
    rest = (line for line in lines[first + 1 :] if not line.startswith(" " * 14))
    return [line[14:] for line in lines[first : lines.index(next(rest))]]


def test_a_program_as_text() -> None:
    assert words(facts_of(PROGRAM)) == AS_TEXT


def test_a_program_as_data() -> None:
    told = facts_of(PROGRAM)
    moves = told.pop("moves")
    codes = told.pop("codes")
    assert told == {
        "ok": True,
        "post": "longhand",
        "units": "mm",
        "mixed_units": False,
        "blocks": 14,
        "extents": {
            "G54": {
                "x": {"low": -36.5, "high": 3.0, "unknown_moves": 2, "first_unknown": 5, "last_unknown": 6},
                "y": {"low": -2.0, "high": 0.0, "unknown_moves": 2, "first_unknown": 5, "last_unknown": 6},
                "z": {"low": 0.0, "high": 160.0, "unknown_moves": 1, "first_unknown": 5, "last_unknown": 5},
            }
        },
        "times": {
            "cutting_s": 126.237,
            "feed_s": 124.737,
            "dwell_s": 1.5,
            "feeds": 2,
            "rapids": 4,
            "rapid_length": 320.0125,
            "from_unknown": 2,
            "stops": 1,
        },
        "speeds": [{"rpm": 760.0, "sense": "M4", "line": 8}],
        "work_offsets": ["G54"],
        "stops": [{"line": 14, "message": "set the cutter to 84.5", "optional": False}],
        "findings": [],
        "findings_cut": False,
    }
    still = {"feed": None, "feed_per_turn": None, "rpm": 0.0, "sense": None, "angle": None, "work_offset": "G54"}
    assert moves[0] == still | {"line": 5, "what": "rapid", "x": None, "y": None, "z": 160.0}
    assert moves[3] == {
        **{"line": 9, "what": "feed", "x": -36.5, "y": 0.0, "z": 0.0, "feed": 38.0, "feed_per_turn": 0.05},
        **{"rpm": 760.0, "sense": "M4", "angle": None, "work_offset": "G54"},
    }
    assert moves[5] == still | {"line": 13, "what": "rapid", "x": 3.0, "y": 0.0, "z": 160.0, "angle": 90.0}
    assert codes[0] == {"code": "G0", "count": 4, "words": "rapid"}


def test_a_program_in_inches() -> None:
    text = "G20\nG17 G90 G94 G54 F5.08\nS508 M3\nG0 X1 Y0 Z-0.5\nG1 X-.35\nX1.0001\nM2"
    told = facts_of(text)
    assert told["units"] == "inch"
    assert told["moves"][1] == {
        **{"line": 5, "what": "feed", "x": -0.35, "y": 0.0, "z": -0.5, "feed": 5.08, "feed_per_turn": 0.01},
        **{"rpm": 508.0, "sense": "M3", "angle": None, "work_offset": "G54"},
    }
    assert told["times"]["feed_s"] == pytest.approx(60 * (1.35 + 1.3501) / 5.08, abs=1e-3)
    assert lines_of(text)[2:6] == [
        "   5  feed   -0.3500  0.0000  -0.5000  5.0800        0.010000  M3 508",
        "   6  feed    1.0001  0.0000  -0.5000  5.0800        0.010000  M3 508",
        "lengths in inches, feed in inches a minute and inches a spindle turn; ? is a place not known",
        "  read        7 blocks, by post longhand, lengths in inches",
    ]
    assert row("extents", text)[0] == "G54  X  -0.35 to 1.0001 in; start not known on 1 move, line 4"


OPENING: Final = "G21 G17 G90 G94 G54 G98\nF100\n"


def test_both_units_in_a_program_are_told_in_the_first() -> None:
    text = f"{OPENING}G0 X1 Y0 Z0\nG20\nG0 X1\nM2"
    assert [move["x"] for move in facts_of(text)["moves"]] == [1.0, 25.4]
    assert row("read", text) == ["6 blocks, by post longhand, lengths in mm, all told so though it has both units"]


def test_a_feed_a_turn_is_told_both_ways() -> None:
    text = f"{OPENING}G95 F.05\nS760 M3\nG0 X0 Y0 Z0\nG1 X-38\nM2"
    assert (facts_of(text)["moves"][1]["feed"], facts_of(text)["moves"][1]["feed_per_turn"]) == (38.0, 0.05)
    assert facts_of(text)["times"]["feed_s"] == 60.0


def test_no_minus_zero_is_told() -> None:
    text = f"{OPENING}G0 X-0 Y-0.0000 Z1\nM2"
    assert "-0" not in json.dumps(facts(text, ALL, "longhand")["moves"])
    text = f"{OPENING}G0 X-0.0001 Y0 Z1\nM2"
    assert "-0" not in lines_of(text)[1]


def test_a_feed_with_the_spindle_stopped_has_no_feed_a_turn() -> None:
    move = facts_of(f"{OPENING}G1 X1 Y1 Z1\nM2")["moves"][0]
    assert (move["feed"], move["feed_per_turn"]) == (100.0, None)


def test_a_cycle_is_listed_move_by_move() -> None:
    told = facts_of(f"{OPENING}G19 G0 X10 Y0 Z0\nS600 M3\nG89 X-30 R3 P2\nM2")
    assert [(move["line"], move["what"], move["x"]) for move in told["moves"][1:]] == [
        (5, "rapid", 3.0),
        (5, "feed", -30.0),
        (5, "feed", 10.0),
    ]
    assert told["times"]["dwell_s"] == 2.0


def test_places_under_different_offsets_are_told_apart() -> None:
    text = f"{OPENING}G0 X1 Y1 Z1\nG55\nG0 X100 Z5\nG54\nG0 X2\nM2"
    extents = facts_of(text)["extents"]
    assert [(offset, axes["x"]["low"], axes["x"]["high"]) for offset, axes in extents.items()] == [
        ("G54", 1.0, 2.0),
        ("G55", 100.0, 100.0),
    ]
    assert extents["G54"]["x"]["unknown_moves"] == 2
    assert (extents["G54"]["x"]["first_unknown"], extents["G54"]["x"]["last_unknown"]) == (3, 7)
    assert extents["G55"]["y"] == {
        "low": None, "high": None, "unknown_moves": 1, "first_unknown": 5, "last_unknown": 5,
    }  # fmt: skip
    assert row("extents", text)[4] == "G55  Y  never known"
    assert lines_of(text)[:4] == [
        "line  move         X      Y      Z  feed  a spindle turn  spindle  offset",
        "   3  rapid    1.000  1.000  1.000                        stopped  G54",
        "   5  rapid  100.000      ?  5.000                        stopped  G55",
        "   7  rapid    2.000      ?      ?                        stopped  G54",
    ]
    assert row("work offset", text) == ["G54, G55"]


def test_a_way_from_a_place_not_known_is_counted_by_the_known_axes() -> None:
    times = facts_of(f"{OPENING}G1 Z0\nG1 X9 Z40 F60\nX12 Y0 Z44\nM2")["times"]
    assert (times["feed_s"], times["feeds"], times["from_unknown"]) == (45.0, 3, 3)
    assert facts_of(f"{OPENING}G0 Z0\nZ9\nX1 Z0\nM2")["times"]["from_unknown"] == 2


def test_where_every_way_is_known_nothing_is_said_of_unknown_places() -> None:
    assert len(row("time", f"{OPENING}G0 Z0\nM2")) == 3
    assert len(row("time", f"{OPENING}M2")) == 2


def test_a_program_that_moves_nothing() -> None:
    assert words(facts_of("G21\nM2")) == "\n".join(
        (
            "no moves",
            "  read        2 blocks, by post longhand, lengths in mm",
            "  extents     none: nothing moves",
            "  time        0 s cutting: 0 s in 0 feed moves, 0 s standing",
            "              not counted: 0 rapids, 0 mm of way; 0 stops",
            "  spindle     never turns",
            "  work offset none",
            "  stops       none",
            "  codes       G21        1  lengths in millimetres",
            "              M2         1  end of the program",
            "  verdict     ALL INTERPRETED; nothing is proved without a job",
        )
    )


def test_stops_and_speeds_in_order() -> None:
    text = f"{OPENING}M1 (a)\nM0\nS500 M3\nS600\nS500\nM4\nM2"
    assert row("stops", text) == ["line 3, if the switch for it is on: a", "line 4: no message"]
    assert row("spindle", text) == [
        "500 rpm, M3 (clockwise), first on line 5",
        "600 rpm, M3 (clockwise), first on line 6",
        "500 rpm, M4 (counterclockwise), first on line 8",
    ]


def test_codes_are_counted_as_replay_reads_them_also_those_not_interpreted() -> None:
    codes = facts_of("G01\nG1.00002\nG1\nG59.1\ng59.10\nG2 X1\nG1.05\nG1.5\nG-1\n/M8\nM2")["codes"]
    assert [(code["code"], code["count"]) for code in codes] == [
        *(("G-1", 1), ("G1", 2), ("G1.00002", 1), ("G1.05", 1), ("G1.5", 1), ("G2", 1), ("G59.1", 2)),
        *(("M2", 1), ("M8", 1)),
    ]
    assert codes[5]["words"] == "not interpreted: an arc: every move of a boring program is a straight line"


def test_what_cannot_be_interpreted_is_listed_whole() -> None:
    text = f"{OPENING}G0 X1 Y1 Z1\nG2 X5 Y5\nX1\nX2 X3"
    told = facts_of(text)
    assert told["ok"] is False
    assert (
        told["findings"][0].items()
        >= {
            "rule": "unknown-word",
            "line": 4,
            "text": "G2 X5 Y5",
            "found": "G2, an arc: every move of a boring program is a straight line",
            "expected": "codes that are interpreted here",
            "message": "G2, an arc: every move of a boring program is a straight line; expected codes that are "
            "interpreted here",
        }.items()
    )
    assert lines_of(text)[-7:] == [
        "  line 4: unknown-word: G2, an arc: every move of a boring program is a straight line; "
        "expected codes that are interpreted here",
        "      G2 X5 Y5",
        "  line 6: group-clash: X twice, X2 and X3; expected each letter but G and M once on a line",
        "      X2 X3",
        "  line 6: no-end: a program without M2 or M30; expected M2 or M30 at its end",
        "      X2 X3",
        "  verdict     NOT ALL INTERPRETED, 3 findings: do not trust the rest",
    ]


def test_an_empty_program() -> None:
    assert lines_of("")[-3:] == [
        "  codes       none",
        "  no-end: a program without M2 or M30; expected M2 or M30 at its end",
        "  verdict     NOT ALL INTERPRETED, 1 finding: do not trust the rest",
    ]
    assert facts_of("")["units"] is None
    assert row("read", "") == ["0 blocks, by post longhand, no unit stated"]


def test_all_findings_are_printed_and_that_more_are_not_kept() -> None:
    text = "G7\n" * (MOST_FINDINGS + 5)
    assert facts_of(text)["findings_cut"] is True
    lines = lines_of(text)
    assert sum(line.startswith("  line ") for line in lines) == MOST_FINDINGS
    assert lines[-2] == f"  no more than {MOST_FINDINGS} findings are kept: what follows the last may hold more"
    assert not any("findings are kept" in line for line in lines_of("G7\n"))


def test_lists_are_printed_in_part_and_kept_whole() -> None:
    text = OPENING + "".join(f"M0 (stop {number})\n" for number in range(MOST_LISTED + 2)) + "M2"
    assert len(facts_of(text)["stops"]) == MOST_LISTED + 2
    assert row("stops", text)[MOST_LISTED - 1 :] == ["line 102: stop 99", "and 2 more; --json lists them all"]
    full = OPENING + "M0 (stop)\n" * MOST_LISTED + "M2"
    assert len(row("stops", full)) == MOST_LISTED


def test_all_moves_are_listed() -> None:
    text = OPENING + "".join(f"G0 X{number} Y0 Z0\n" for number in range(3 * MOST_LISTED)) + "M2"
    assert sum(" rapid " in line for line in lines_of(text)) == 3 * MOST_LISTED


def test_a_screen_is_not_written_to_by_a_foreign_text() -> None:
    lines = lines_of("G1\x1b[31m X\u2028 \x07" + "9" * 500)
    assert all(line.isprintable() for line in lines)
    assert any(line.strip() == "G1?[31m X? ?" + "9" * (LONGEST_TEXT - 12) + "..." for line in lines)


@pytest.mark.parametrize(
    "line",
    [
        "G0 X" + "9" * 240 + " Y0 Z0",
        "G0 X0 Y0 Z0\nG1 X" + "9" * 230 + "\nF0.001\nG1 X0",
        f"S{'9' * 230} M3\nG95 F{'9' * 230}\nG0 X0 Y0 Z0\nG1 X1",
        "G4 P" + "9" * 240,
    ],
)
def test_numbers_no_machine_has_break_nothing(line: str) -> None:
    text = f"{OPENING}{line}\nM2"
    assert facts_of(text)["ok"] is True
    assert max(map(len, lines_of(text))) < 120


def test_a_figure_too_large_for_a_float_is_null() -> None:
    large = "9" * 230
    told = facts_of(f"{OPENING}S{large} M3\nG95 F{large}\nG0 X0 Y0 Z0\nG1 X1\nM2")
    assert (told["moves"][1]["feed"], told["moves"][1]["feed_per_turn"]) == (None, None)
    long = f"{OPENING}G0 X{large} Y0 Z0\nG0 X0\nM2"
    assert facts_of(long)["times"]["rapid_length"] == pytest.approx(1e230)


@pytest.mark.parametrize(
    ("seconds", "clock"), [("0.04", "0.04 s"), ("59.99", "59.99 s"), ("60", "1 min 0 s"), ("3599.6", "60 min 0 s")]
)
def test_times_as_a_clock_shows_them(seconds: str, clock: str) -> None:
    assert row("time", f"{OPENING}G4 P{seconds}\nM2")[0] == f"{clock} cutting: 0 s in 0 feed moves, {clock} standing"


def replayed(text: str) -> Timeline:
    return replay(read(text, ALL), ALL)


@given(PROGRAMS)
def test_extents_hold_every_known_end_and_are_reached(text: str) -> None:
    told = facts_of(text)
    assert len(told["moves"]) == sum(isinstance(event, Move) for event in replayed(text).events)
    for offset, extents in told["extents"].items():
        for axis, extent in extents.items():
            ends = [move[axis] for move in told["moves"] if move["work_offset"] == offset]
            known = [end for end in ends if end is not None]
            assert (extent["low"], extent["high"]) == (min(known, default=None), max(known, default=None))
            assert extent["unknown_moves"] >= len(ends) - len(known)
    assert set(told["extents"]) == {move["work_offset"] for move in told["moves"]}


@given(PROGRAMS)
def test_times_are_the_sum_of_what_takes_time(text: str) -> None:
    told = facts_of(text)
    per = 25.4 if told["units"] == "inch" else 1.0
    feed_s = rapid_mm = dwell_s = 0.0
    for event in replayed(text).events:
        if isinstance(event, Move):
            gone = [0.0 if math.isnan(a) else b - a for a, b in zip(event.start, event.end, strict=True)]
            way = math.sqrt(sum(part * part for part in gone))
            feed_s += 60 * way / event.feed if event.feed is not None else 0.0
            rapid_mm += way if event.feed is None else 0.0
        elif isinstance(event, Wait):
            dwell_s += event.seconds
    times = told["times"]
    assert times["feed_s"] == pytest.approx(feed_s, rel=1e-9, abs=1e-3)
    assert times["dwell_s"] == pytest.approx(dwell_s, rel=1e-9, abs=1e-3)
    assert times["cutting_s"] == pytest.approx(feed_s + dwell_s, rel=1e-9, abs=1e-3)
    assert times["rapid_length"] == pytest.approx(rapid_mm / per, rel=1e-9, abs=1e-6)
    assert times["feeds"] + times["rapids"] == len(told["moves"])


@given(PROGRAMS)
def test_the_rest_is_what_reader_and_replay_say(text: str) -> None:
    told, timeline = facts_of(text), replayed(text)
    assert told["ok"] is (not timeline.findings)
    assert [finding["message"] for finding in told["findings"]] == [one.message for one in timeline.findings]
    assert len(told["stops"]) == sum(isinstance(event, Halt) for event in timeline.events)
    offsets = {event.code for event in timeline.events if isinstance(event, OffsetChange)}
    assert set(told["work_offsets"]) == offsets
    turning = {event.spin[:2] for event in timeline.events if isinstance(event, SpinChange) and event.spin.turning}
    assert {(speed["rpm"], speed["sense"]) for speed in told["speeds"]} == {
        (rpm, sense.value) for rpm, sense in turning if sense is not None
    }
    written = [word for block in read(text, ALL) for word in block.words if word[0] in "GM"]
    assert sum(code["count"] for code in told["codes"]) == len(written)


@given(PROGRAMS)
def test_the_text_lists_every_move_in_columns(text: str) -> None:
    told = facts_of(text)
    lines = words(told).split("\n")
    table = lines[1 : len(told["moves"]) + 1] if told["moves"] else []
    assert [line.split()[:2] for line in table] == [[str(move["line"]), move["what"]] for move in told["moves"]]
    assert all(line.isprintable() for line in lines)


@settings(max_examples=200)
@given(st.sampled_from((OPENING, "%\n", "")), st.text())
def test_no_text_breaks_it(opening: str, text: str) -> None:
    assert words(facts_of(opening + text)).split("\n")[-1].startswith("  verdict     ")
