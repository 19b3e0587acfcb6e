"""The second reading: where it agrees, what it finds, and what it leaves to one reading alone."""

import subprocess
import sys
from collections.abc import Sequence
from math import nan
from typing import Any

import pygcode  # type: ignore[import-untyped]
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.second import BLOCKS_A_REPORT, SecondReading, read_again
from post.finding import Finding
from post.posts import find
from post.reader import Block, read
from post.timeline import STOPPED, Move, Point, Timeline

CYCLES = find("cycles").dialect
NOWHERE = (nan, nan, nan)


def blocks_of(program: str) -> list[Block]:
    blocks = list(read(program, CYCLES))
    assert [block.finding for block in blocks if block.finding] == []
    return blocks


def timeline_of(ends: dict[int, Point]) -> Timeline:
    return Timeline(events=[Move(line, NOWHERE, end, None, STOPPED) for line, end in ends.items()])


def second(program: str, ends: dict[int, Point]) -> SecondReading:
    """Second reading of a program whose lines, counted from 1, end at these places in mm."""
    return read_again(blocks_of(program), timeline_of(ends), CYCLES)


def last_line_after(start: str, line: str, place: Point, end: Point) -> SecondReading:
    """Second reading of one line that ends at ``end``, after lines of which the last ends at ``place``; mm."""
    lines = start.splitlines()
    return second(f"{start}\n{line}", {len(lines): place, len(lines) + 1: end})


LONGHAND = """\
(five mains, first bore)
G21 G17 G40 G49 G80
G90 G94 G54
M5 (nothing turns yet)
G0 Z160.000 (to the clearance height)
N60 G0 X3.000 Y0.000 Z160.000
g0 x3 y0 z0 (down) (to bore 1)
S760 M3
G1 X-37.500 Y0.000 Z0.000 F76.000
G4 P0.64
X3
G61.1 M8
G64 M9
M0 (MSG, set the cutter)
M30
"""
LONGHAND_ENDS = {
    5: (nan, nan, 160.0),
    6: (3.0, 0.0, 160.0),
    7: (3.0, 0.0, 0.0),
    9: (-37.5, 0.0, 0.0),
    11: (3.0, 0.0, 0.0),
}


class TestAgreement:
    def test_every_block_with_words_is_read_twice(self) -> None:
        assert second(LONGHAND, LONGHAND_ENDS) == SecondReading((), 14, {})

    def test_in_inches_the_places_are_compared_in_inches(self) -> None:
        program = "G20 G17 G90 G94\nG0 X.125 Y0 Z6.3\nG1 X-1.225 F3.04\nM30"
        assert second(program, {2: (3.175, 0.0, 160.02), 3: (-31.115, 0.0, 160.02)}) == SecondReading((), 4, {})

    def test_a_place_stays_the_same_when_the_unit_changes(self) -> None:
        program = "G20 G17 G90 G94\nG0 X1 Y2 Z3\nG21\nG0 X5\nG20 G0 Z1"
        ends = {2: (25.4, 50.8, 76.2), 4: (5.0, 50.8, 76.2), 5: (5.0, 50.8, 25.4)}
        assert second(program, ends) == SecondReading((), 5, {})

    def test_moves_under_g91_do_not_add_up_errors_of_rounding(self) -> None:
        steps = 1000
        program = "G20 G17 G90 G94\nG0 X100000 Y0 Z0\nG91\n" + "X0.1\n" * steps
        ends = {2: (2540000.0, 0.0, 0.0)} | {3 + n: ((1000000 + n) * 2.54, 0.0, 0.0) for n in range(1, steps + 1)}
        assert second(program, ends) == SecondReading((), steps + 3, {})

    def test_an_axis_unknown_to_us_is_not_compared(self) -> None:
        program = "G21 G17 G90 G94\nG0 X1 Y2 Z3\nG55\nG0 X5"
        assert second(program, {2: (1.0, 2.0, 3.0), 4: (5.0, nan, nan)}) == SecondReading((), 4, {})

    def test_lines_without_words_do_not_count(self) -> None:
        assert second("%\n(a comment)\n\nN10\n(50%; half)\n%", {}) == SecondReading((), 0, {})

    @pytest.mark.parametrize("code", ["G81", "G82", "G85", "G89"])
    @pytest.mark.parametrize(
        ("plane", "retract", "end"),
        [
            ("G17", "G99", (1.0, 2.0, 5.0)),
            ("G18", "G99", (1.0, 5.0, 3.0)),
            ("G19", "G99", (5.0, 2.0, 3.0)),
            ("G17", "G98", (1.0, 2.0, 9.0)),
            ("G18", "G98", (1.0, 9.0, 3.0)),
            ("G19", "G98", (9.0, 2.0, 3.0)),
        ],
    )
    def test_the_end_of_a_fixed_cycle(self, code: str, plane: str, retract: str, end: Point) -> None:
        start = f"G21 G90 G94 {plane}\nG0 X9 Y9 Z9"
        cycle = f"{retract} {code} X1 Y2 Z3 R5 P1 F10"
        assert last_line_after(start, cycle, (9.0, 9.0, 9.0), end) == SecondReading((), 3, {})

    def test_bare_lines_of_a_fixed_cycle(self) -> None:
        program = (
            "G21 G19 G90 G94 G99\nG0 X9 Y0 Z0\nG89 X-30 Y1 Z0 R5 P1 F10\nY2 P1\nZ3 R4 L2 P1\nG98 Y5 P1\nG80\nG0 X9"
        )
        ends = {2: (9.0, 0.0, 0.0), 3: (5.0, 1.0, 0.0), 4: (5.0, 2.0, 0.0), 5: (4.0, 2.0, 3.0), 6: (4.0, 5.0, 3.0)}
        assert second(program, ends | {8: (9.0, 5.0, 3.0)}) == SecondReading((), 8, {})


def tampered(blocks: Sequence[Block], line: int, words: tuple[tuple[str, float], ...]) -> list[Block]:
    return [block._replace(words=words) if block.line == line else block for block in blocks]


class TestWordsThatDiffer:
    @pytest.mark.parametrize(
        ("words", "found", "expected"),
        [
            ((("G", 1.0), ("X", -37.6), ("Y", 0.0), ("Z", 0.0), ("F", 76.0)), "X-37.5", "X-37.6"),
            ((("G", 0.0), ("X", -37.5), ("Y", 0.0), ("Z", 0.0), ("F", 76.0)), "G1", "G0"),
            ((("G", 1.0), ("X", -37.5), ("Z", 0.0), ("F", 76.0)), "Y0", "no more"),
            ((("G", 1.0), ("X", -37.5), ("Y", 0.0), ("Z", 0.0), ("F", 76.0), ("P", 2.0)), "no more", "P2"),
            ((("G", 1.0), ("X", -37.5), ("X", -37.5), ("Y", 0.0), ("Z", 0.0), ("F", 76.0)), "no more", "X-37.5"),
            ((("G", 1.0), ("Y", -37.5), ("X", 0.0), ("Z", 0.0), ("F", 76.0)), "X-37.5 Y0", "Y-37.5 X0"),
            ((("G", 1.0), ("X", -37.5000000001), ("Y", 0.0), ("Z", 0.0), ("F", 76.0)), "X-37.5", "X-37.5000000001"),
            ((), "G1 X-37.5 Y0 Z0 F76", "no more"),
        ],
    )
    def test_a_changed_block_is_found(self, words: tuple[tuple[str, float], ...], found: str, expected: str) -> None:
        blocks = tampered(blocks_of(LONGHAND), 9, words)
        result = read_again(blocks, timeline_of(LONGHAND_ENDS), CYCLES)
        text = "G1 X-37.500 Y0.000 Z0.000 F76.000"
        assert result.findings == (
            Finding("readings-differ", 9, text, f"pygcode reads {found}", f"{expected}, as first read"),
        )
        assert (result.read_twice, result.read_once) == (14, {})

    def test_the_order_of_words_does_not_matter(self) -> None:
        words = (("F", 76.0), ("Z", 0.0), ("X", -37.5), ("G", 1.0), ("Y", 0.0))
        assert read_again(tampered(blocks_of(LONGHAND), 9, words), timeline_of(LONGHAND_ENDS), CYCLES).findings == ()

    def test_words_found_where_we_read_none(self) -> None:
        blocks = [Block(1, "M5 (stop)", (), "", "stop", False, None)]
        found = Finding("readings-differ", 1, "M5 (stop)", "pygcode reads M5", "no more, as first read")
        assert read_again(blocks, Timeline(), CYCLES) == SecondReading((found,), 1, {})

    def test_words_are_compared_where_the_place_cannot_be(self) -> None:
        program = "G21 G19 G90 G94\nG0 X3 Y0 Z0\nG99 G86 X-37.5 Y0 Z0 R3 P0.64 F76"
        words = (("G", 99.0), ("G", 86.0), ("X", -37.4), ("Y", 0.0), ("Z", 0.0), ("R", 3.0), ("P", 0.64), ("F", 76.0))
        result = read_again(tampered(blocks_of(program), 3, words), timeline_of({2: (3.0, 0.0, 0.0)}), CYCLES)
        assert [(one.line, one.found, one.expected) for one in result.findings] == [
            (3, "pygcode reads X-37.5", "X-37.4, as first read")
        ]
        assert result.read_once == {"pygcode does not know G86": 1}

    def test_one_misread_mode_is_one_finding(self) -> None:
        program = "G21 G17 G90 G94\nG0 X1 Y1 Z1\nG91\nX1\nX1"
        blocks = tampered(blocks_of(program), 3, (("G", 90.0),))
        result = read_again(blocks, timeline_of({2: (1.0, 1.0, 1.0)}), CYCLES)
        assert [finding.line for finding in result.findings] == [3]

    @settings(deadline=None)
    @given(data=st.data())
    def test_any_change_of_any_word_is_found_on_its_line(self, data: st.DataObject) -> None:
        blocks = blocks_of(LONGHAND)
        at = data.draw(st.sampled_from([index for index, block in enumerate(blocks) if block.words]))
        words = list(blocks[at].words)
        place = data.draw(st.integers(0, len(words) - 1))
        letter, value = words[place]
        if data.draw(st.booleans()):
            del words[place]
        else:
            changed = data.draw(st.floats(-1e5, 1e5).filter(lambda new: abs(new - value) > 1e-9))
            words[place] = (letter, changed)
        result = read_again(tampered(blocks, blocks[at].line, tuple(words)), timeline_of(LONGHAND_ENDS), CYCLES)
        assert result.findings[0].line == blocks[at].line
        assert result.findings[0].text == blocks[at].text


class TestPlacesThatDiffer:
    def test_another_end_is_found(self) -> None:
        result = second(LONGHAND, LONGHAND_ENDS | {9: (-37.501, 0.0, 1.0)})
        text = "G1 X-37.500 Y0.000 Z0.000 F76.000"
        where = "pygcode ends the block at X-37.5 Z0 mm", "X-37.501 Z1 mm, as replayed"
        # Line 11, a bare X3, goes on from where the replay is: at Z1, and says that it ends at Z0.
        assert result.findings[0] == Finding("readings-differ", 9, text, *where)
        assert [finding.line for finding in result.findings] == [9, 11]
        assert (result.read_twice, result.read_once) == (14, {})

    def test_in_inches(self) -> None:
        result = second("G20 G17 G90 G94\nG0 X1 Y2 Z3", {2: (25.4, 50.8, 3.0)})
        assert [(one.found, one.expected) for one in result.findings] == [
            ("pygcode ends the block at Z3 in", "Z0.118110236220472 in, as replayed")
        ]

    def test_a_move_where_pygcode_sees_none_is_found(self) -> None:
        result = second(LONGHAND, LONGHAND_ENDS | {12: (3.0, 0.5, 0.0)})
        assert result.findings[0].line == 12

    def test_a_move_left_out_is_found(self) -> None:
        ends = {line: end for line, end in LONGHAND_ENDS.items() if line != 9}
        result = second(LONGHAND, ends)
        assert [(one.line, one.expected) for one in result.findings] == [(9, "X3 mm, as replayed")]

    def test_a_cycle_that_ends_elsewhere_is_found(self) -> None:
        start = "G21 G90 G94 G19\nG0 X9 Y9 Z9"
        result = last_line_after(start, "G99 G85 X1 Y2 Z3 R5 F10", (9.0, 9.0, 9.0), (9.0, 2.0, 3.0))
        assert [(one.line, one.found, one.expected) for one in result.findings] == [
            (3, "pygcode ends the block at X5 mm", "X9 mm, as replayed")
        ]

    @pytest.mark.parametrize(("off", "findings"), [(5e-10, 0), (2e-9, 1)])
    def test_how_far_apart_is_another_place(self, off: float, findings: int) -> None:
        assert len(second("G21 G90\nG0 X1 Y1 Z1", {2: (1.0 + off, 1.0, 1.0)}).findings) == findings


IN_G0 = "G21 G17 G90 G94\nG0 X9 Y9 Z9", (9.0, 9.0, 9.0)
AFTER_CYCLE = "G21 G19 G90 G94 G99\nG0 X9 Y0 Z0\nG85 X-30 Y1 Z2 R5 F10", (5.0, 1.0, 2.0)
ORDER = "pygcode takes a word only after the code it belongs to"
LOST = "pygcode has lost the code that still stands"


class TestReadOnce:
    @pytest.mark.parametrize(
        ("before", "line", "end", "reason"),
        [
            (IN_G0, "G0 X+5", (5.0, 9.0, 9.0), "a plus sign pygcode cannot read"),
            (IN_G0, "G0 X1 2.5", (12.5, 9.0, 9.0), "blanks inside a number pygcode cannot read"),
            (IN_G0, "G0 X- 5", (-5.0, 9.0, 9.0), "blanks inside a number pygcode cannot read"),
            (IN_G0, "G1. X5 F1", (5.0, 9.0, 9.0), "a G or M word with idle digits or point pygcode cannot read"),
            (IN_G0, "G00.00 X5", (5.0, 9.0, 9.0), "a G or M word with idle digits or point pygcode cannot read"),
            (IN_G0, "G0 X5 (a;b)", (5.0, 9.0, 9.0), "a comment pygcode cannot skip"),
            (IN_G0, "G0 (X7;b) X5", (5.0, 9.0, 9.0), "a comment pygcode cannot skip"),
            (IN_G0, "G0 X5 (50% of)", (5.0, 9.0, 9.0), "a comment pygcode cannot skip"),
            (IN_G0, "X5 G1 F1", (5.0, 9.0, 9.0), ORDER),
            (IN_G0, "P1 G4", (9.0, 9.0, 9.0), ORDER),
            (IN_G0, "X5 P1 G4", (5.0, 9.0, 9.0), ORDER),
            (IN_G0, "R5 G99 G85 X1 F1 Y9 Z9", (9.0, 9.0, 5.0), ORDER),
            (AFTER_CYCLE, "P1 G4", (5.0, 1.0, 2.0), ORDER),
            (AFTER_CYCLE, "P1 G4 Y4", (5.0, 4.0, 2.0), ORDER),
            (IN_G0, "G53 G0 X-5", (2.0, 9.0, 9.0), "pygcode does not carry out G53"),
            (IN_G0, "M19 R90", (9.0, 9.0, 9.0), "pygcode does not carry out M19"),
            (AFTER_CYCLE, "M19 R90", (5.0, 1.0, 2.0), "pygcode does not carry out M19"),
            (AFTER_CYCLE, "G86 X-30 Y1 Z3 R6 P1", (6.0, 1.0, 3.0), "pygcode does not know G86"),
            (AFTER_CYCLE, "G17 Z1 R8", (5.0, 1.0, 8.0), LOST),
            (AFTER_CYCLE, "G91 Y1", (5.0, 2.0, 2.0), LOST),
            (AFTER_CYCLE, "G20 Y1", (5.0, 25.4, 2.0), LOST),
            (AFTER_CYCLE, "G85 Y7", (5.0, 7.0, 2.0), "pygcode does not keep R from one fixed cycle to the next"),
            (
                AFTER_CYCLE,
                "G98 R7 Y2",
                (7.0, 2.0, 2.0),
                "pygcode does not lift a fixed cycle under G98 that begins below R",
            ),
            (
                AFTER_CYCLE,
                "G91 G85 X-30 Y2 R1 L3",
                (6.0, 7.0, 2.0),
                "pygcode adds up the kept words of a fixed cycle under G91",
            ),
            (
                AFTER_CYCLE,
                "G81 Y2 L2.0 X-30 Z2 R5",
                (5.0, 2.0, 2.0),
                "a whole number written with a point pygcode cannot read",
            ),
        ],
    )
    def test_why(self, before: tuple[str, Point], line: str, end: Point, reason: str) -> None:
        """The blocks around are read twice, and the one behind is judged from where the replay is."""
        start, place = before
        lines = len(start.splitlines())
        program = f"{start}\n{line}\nG0 G90 Y3"
        y = 76.2 if line.startswith("G20") else 3.0
        ends = {lines: place, lines + 1: end, lines + 2: (end[0], y, end[2])}
        if lines == 3:
            ends[2] = (9.0, 0.0, 0.0)
        assert second(program, ends) == SecondReading((), lines + 1, {reason: 1})
        wrong = second(program, ends | {lines + 2: (end[0], y, end[2] + 1)})
        assert [finding.line for finding in wrong.findings] == [lines + 2]

    @pytest.mark.parametrize(
        "text",
        [
            "G1 X1 ? Y2",
            "*G1 X1",
            "G0 /X1",
            "G0,X1",
            "X1e3",
            "O100",
            "X#1",
            "X[1+2]",
            "G1 X1 ; b",
            "%",
            "G1 (a (b) X1",
            "G1.05 X1",
        ],
    )
    def test_what_pygcode_accepts_and_rs274_does_not(self, text: str) -> None:
        """Our reader refuses these; were one to pass, pygcode's reading of it would be no proof."""
        result = read_again([Block(1, text, (("G", 1.0), ("X", 1.0)), "GX", None, False, None)], Timeline(), CYCLES)
        assert (result.findings, result.read_twice, sum(result.read_once.values())) == ((), 0, 1)

    def test_bare_lines_after_a_cycle_that_pygcode_does_not_know(self) -> None:
        program = "G21 G19 G90 G94 G99\nG0 X9 Y0 Z0\nG86 X-30 Y1 Z0 R5 P1 F10\nY2 P1\nY3 P1\nG0 X9"
        ends = {2: (9.0, 0.0, 0.0), 3: (5.0, 1.0, 0.0), 4: (5.0, 2.0, 0.0), 5: (5.0, 3.0, 0.0), 6: (9.0, 3.0, 0.0)}
        assert second(program, ends) == SecondReading((), 3, {"pygcode does not know G86": 1, LOST: 2})

    def test_words_kept_on_a_line_read_once_are_not_made_up(self) -> None:
        start, place = AFTER_CYCLE
        ends = {2: (9.0, 0.0, 0.0), 3: place, 4: (4.0, 2.0, 2.0), 5: (4.0, 3.0, 2.0)}
        once = {"a comment pygcode cannot skip": 1, LOST: 1}
        assert second(f"{start}\nY2 R4 (a;b)\nY3", ends) == SecondReading((), 3, once)

    @pytest.mark.parametrize(
        ("line", "next_line", "end"),
        [
            ("G1 X+5 F1", "Y2", (5.0, 2.0, 9.0)),
            ("G91 X+5", "Y2", (5.0, 11.0, 9.0)),
            ("G20 (a;b)", "Y2", (5.0, 50.8, 9.0)),
        ],
    )
    def test_modes_of_a_block_read_once_are_taken_over(self, line: str, next_line: str, end: Point) -> None:
        start, place = IN_G0
        ends = {2: place, 3: (5.0, 9.0, 9.0), 4: end}
        result = second(f"{start}\n{line}\n{next_line}", ends)
        assert (result.findings, result.read_twice, sum(result.read_once.values())) == ((), 3, 1)


class TestPygcodeIsNotTrusted:
    @pytest.mark.parametrize("error", [RuntimeError, AssertionError, RecursionError, KeyError])
    @pytest.mark.parametrize("place", [(pygcode.NullMachine, "process_gcodes"), (pygcode.block, "words2gcodes")])
    def test_whatever_it_raises_is_a_reason(
        self, monkeypatch: pytest.MonkeyPatch, place: tuple[Any, str], error: type[Exception]
    ) -> None:
        def fail(*_: object, **__: object) -> None:
            raise error("in the middle of it")

        monkeypatch.setattr(*place, fail)
        result = second("G21 G17 G90 G94\nG0 X1 Y2 Z3\nM30", {2: (1.0, 2.0, 3.0)})
        assert result == SecondReading((), 0, {f"pygcode stops with {error.__name__}": 3})

    @settings(deadline=None)
    @given(
        text=st.text(alphabet=st.characters(codec="latin-1"), max_size=60)
        | st.text("GMXYZRPLFSNT0123456789.-+ ();%/", max_size=60),
        words=st.lists(st.tuples(st.sampled_from("GMXYZRPLFS"), st.floats(-1e6, 1e6)), max_size=5).map(tuple),
    )
    def test_whatever_the_text_nothing_is_raised(self, text: str, words: tuple[tuple[str, float], ...]) -> None:
        start = blocks_of("G21 G19 G90 G94 G99\nG0 X9 Y0 Z0\nG85 X-30 Y1 Z2 R5 F10")
        odd = Block(4, text, words, "".join(letter for letter, _ in words), None, False, None)
        result = read_again([*start, odd], timeline_of({2: (9.0, 0.0, 0.0), 3: (5.0, 1.0, 2.0)}), CYCLES)
        assert 3 <= result.read_twice + sum(result.read_once.values()) <= 4

    def test_it_is_imported_only_when_asked_for(self) -> None:
        code = "import sys, gen.second; print([name for name in ('pygcode', 'numpy') if name in sys.modules])"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        assert done.stdout == "[]\n"


class TestProgress:
    @pytest.mark.parametrize("blocks", [0, 1, BLOCKS_A_REPORT, 2 * BLOCKS_A_REPORT + 1])
    def test_every_block_is_told_once(self, blocks: int) -> None:
        told: list[int] = []
        read_again(blocks_of("M5\n" * blocks), Timeline(), CYCLES, advance=told.append)
        assert sum(told) == blocks
        assert len(told) == -(-blocks // BLOCKS_A_REPORT)
