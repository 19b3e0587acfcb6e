"""The second reading against our own replay, over whole programs."""

from dataclasses import dataclass

from hypothesis import given, settings
from hypothesis import strategies as st

from gen.second import SecondReading, read_again
from post.dialect import Dialect
from post.posts import find
from post.reader import read
from post.replay import replay
from post.timeline import Move, Timeline

CYCLES = Dialect(
    about="RS-274/NGC with all its cycles that are interpreted",
    resolution=find("cycles").dialect.resolution,
    cycles=frozenset({"G81", "G82", "G85", "G86", "G89"}),
)
ORIENTED = find("oriented").dialect


def second(program: str, dialect: Dialect = CYCLES) -> SecondReading:
    blocks = list(read(program, dialect))
    timeline = replay(blocks, dialect, zero=(-150.0, 0.0, -380.0), work_offset="G54")
    assert timeline.findings == []
    reading = read_again(blocks, timeline, dialect)
    assert reading.read_twice + sum(reading.read_once.values()) == timeline.blocks
    return reading


class TestPrograms:
    def test_longhand_in_mm(self) -> None:
        program = """\
%
(HARBOUR PUMP ENGINE, MAIN HOUSINGS)
N10 G21 G17 G40 G49 G80
N20 G90 G94 G54
M5 (nothing turns yet)
G0 Z160.000 (to the clearance height)
(bore 1: diameter 84 mm)
G0 X3.000 Y0.000 Z160.000 (over bore 1)
G0 X3.000 Y0.000 Z0.000 (down to bore 1)
S760 M3 (cutter 380.0 rpm)
G1 X-34.500 Y0.000 Z0.000 F76.000 (feed through bore 1)
G4 P0.64 (stand at the spot face of bore 1)
G1 X3.000 Y0.000 Z0.000 F76.000 (withdraw from bore 1)
M5 (spindle off)
Z160
X-117 Y-12.5
G91 G0 Y12.5
Z-160
G90
M0 (MSG, set the cutter for diameter 80 mm, bore 2)
M30
%
"""
        assert second(program) == SecondReading((), 18, {})

    def test_cycles_in_inches(self) -> None:
        program = """\
G20 G19 G40 G49 G80
G90 G94 G99 G55
G0 Z6.3000 (to the clearance height)
G0 X0.1250 Y0.0000
G0 X0.1250 Y0.0000 Z0.0000
S1000 M4
G99 G85 X-1.2250 Y0.0000 Z0.0000 R0.1250 F4.000 (bore 1)
G80
G0 X-4.8750
G99 G89 X-6.2250 Y0.0000 Z0.0000 R-4.8750 P0.24 F4.000 (bore 2)
Y.5 P.24 (and beside it)
G80
G0 X-8.8750 Y0.
G99 G86 X-10.2250 Y0.0000 Z0.0000 R-8.8750 P0.24 F4.000 (bore 3)
G80
M5
G0 X-8.8750 Y0.0000 Z6.3000
M30
"""
        assert second(program) == SecondReading((), 17, {"pygcode does not know G86": 1})

    def test_an_oriented_stop_and_machine_coordinates(self) -> None:
        program = """\
G21 G17 G90 G94 G54
G0 X3 Y0 Z0
S760 M3
G1 X-34.5 F76
M19 R90
G0 X-34.5 Y0 Z0.3
G0 X3 Y0 Z0.3
G53 G0 Z-100
G0 X10
M2
"""
        once = {"pygcode does not carry out M19": 1, "pygcode does not carry out G53": 1}
        assert second(program, ORIENTED) == SecondReading((), 8, once)


@dataclass
class Typist:
    """Types words as pygcode reads them: any case, blanks, line numbers, comments."""

    draw: st.DrawFn

    def one_of(self, *choices: str) -> str:
        return self.draw(st.sampled_from(choices))

    def chance(self) -> bool:
        return self.draw(st.booleans())

    def number(self, low: int = -99999, high: int = 99999) -> str:
        thousandths = self.draw(st.integers(low, high))
        text = f"{thousandths / 1000:.{self.draw(st.integers(3, 5))}f}"
        if self.chance():
            text = text.rstrip("0")
        return (
            text.replace("0.", ".", 1)
            if self.chance() and text.lstrip("-").startswith("0.") and text[-1] != "."
            else text
        )

    def axes(self, letters: str = "XYZ") -> list[str]:
        chosen = self.draw(st.lists(st.sampled_from(letters), min_size=1, max_size=len(letters), unique=True))
        return [letter + self.number() for letter in chosen]

    def line(self, *words: str) -> str:
        parts = [self.one_of(word, word.lower(), f"{word[0]} {word[1:]}") for word in words]
        if self.chance():
            parts.insert(self.draw(st.integers(0, len(parts))), self.one_of("(bore 1)", "(MSG, X9 G91)", "()"))
        if self.chance():
            parts.insert(0, f"N{self.draw(st.integers(0, 99999))} ")
        return self.one_of("", " ", "\t").join(parts)


START = ("G40 G49 G80 G54", "S500 M3", "G90 G0 X1 Y2 Z3")


@st.composite
def moves(draw: st.DrawFn) -> str:
    """A program of straight moves in every mode, without anything that pygcode reads otherwise."""
    typist = Typist(draw)
    lines = [typist.one_of("G20 G94 G17", "G21 G94 G19"), *START]
    standing = "G0"
    for kind in draw(st.lists(st.sampled_from(["G0", "G1", "bare", "bare", "mode", "other"]), max_size=12)):
        if kind in ("G0", "G1"):
            standing = kind
            modes = [word for word in (typist.one_of("G90", "G91"), "M8") if typist.chance()]
            lines.append(typist.line(*modes, kind, *typist.axes(), "F" + typist.number(1)))
        elif kind == "bare":
            lines.append(typist.line(*typist.axes(), "F" + typist.number(1)))
        elif kind == "mode":
            lines.append(typist.line(typist.one_of("G20", "G21"), typist.one_of("G17", "G18", "G19"), "G61.1"))
        else:
            other = [
                ("G4", "P0.5"),
                ("M5",),
                ("S800", "M4"),
                ("M0",),
                ("G64", "M9"),
                ("G90",),
                ("G91",),
                (standing, "X1", "F1"),
            ]
            lines.append(typist.line(*draw(st.sampled_from(other))))
    return "\n".join([*lines, "M30"])


@st.composite
def cycles(draw: st.DrawFn) -> str:
    """A program of fixed cycles in every plane and mode, with some that pygcode runs otherwise."""
    typist = Typist(draw)
    lines = [typist.one_of("G20 G94", "G21 G94"), "G17 G98", *START]
    depth = "Z"
    for kind in draw(st.lists(st.sampled_from(["cycle", "cycle", "cycle", "G0", "mode", "plane"]), max_size=8)):
        if kind == "cycle":
            lines += draw(row_of_cycles(depth))
        elif kind == "G0":
            lines.append(typist.line("G80") if typist.chance() else typist.line("G90", "G0", *typist.axes()))
        elif kind == "mode":
            lines.append(typist.line(typist.one_of("G20", "G21", "G98", "G99", "G90", "G91")))
        else:
            depth = typist.one_of("X", "Y", "Z")
            lines.append(typist.line({"X": "G19", "Y": "G18", "Z": "G17"}[depth]))
    return "\n".join([*lines, "M2"])


@st.composite
def row_of_cycles(draw: st.DrawFn, depth: str) -> list[str]:
    """A cycle with all its words, and lines behind it that lean on them."""
    typist = Typist(draw)
    across = "XYZ".replace(depth, "")
    code = typist.one_of("G81", "G82", "G85", "G86", "G89")
    seconds = ["P0.5"] if code in ("G82", "G86", "G89") else []
    modes = [word for word in (typist.one_of("G98", "G99"), typist.one_of("G90", "G90", "G91")) if typist.chance()]
    kept = [f"R{typist.number(0)}", f"{depth}{typist.number(-99999, 0)}"]
    lines = [typist.line(*modes, code, *typist.axes(across), *kept, "F1", *seconds)]
    for _ in range(draw(st.integers(0, 2))):
        again = [word for word in (code, *kept, typist.one_of("G98", "G99"), "L2") if typist.chance()]
        codes_first = sorted(again, key=lambda word: word[0] != "G")
        lines.append(typist.line(*codes_first, *typist.axes(across), *seconds))
    return lines


KNOWN_REASONS = {
    "pygcode does not know G86",
    "pygcode has lost the code that still stands",
    "pygcode does not keep R from one fixed cycle to the next",
    "pygcode does not lift a fixed cycle under G98 that begins below R",
    "pygcode adds up the kept words of a fixed cycle under G91",
}


def replayed(program: str) -> tuple[SecondReading, Timeline]:
    blocks = list(read(program, CYCLES))
    timeline = replay(blocks, CYCLES)
    assert timeline.findings == []
    return read_again(blocks, timeline, CYCLES), timeline


class TestAnyProgram:
    @settings(deadline=None)
    @given(moves())
    def test_straight_moves_are_all_read_twice(self, program: str) -> None:
        reading, timeline = replayed(program)
        assert reading == SecondReading((), timeline.blocks, {})

    @settings(deadline=None)
    @given(cycles())
    def test_cycles_never_disagree(self, program: str) -> None:
        reading, timeline = replayed(program)
        assert reading.findings == ()
        assert reading.read_once.keys() <= KNOWN_REASONS
        assert reading.read_twice + sum(reading.read_once.values()) == timeline.blocks

    @settings(deadline=None)
    @given(moves(), st.data())
    def test_a_move_that_ends_elsewhere_is_found_on_its_line(self, program: str, data: st.DataObject) -> None:
        blocks = list(read(program, CYCLES))
        timeline = replay(blocks, CYCLES)
        at = data.draw(st.sampled_from([n for n, event in enumerate(timeline.events) if isinstance(event, Move)]))
        move = timeline.events[at]
        assert isinstance(move, Move)
        axis = data.draw(st.integers(0, 2))
        off = data.draw(st.sampled_from([-25.4, -1e-6, 1e-6, 1.0]))
        x, y, z = (place + off if index == axis else place for index, place in enumerate(move.end))
        timeline.events[at] = move._replace(end=(x, y, z))
        assert move.line in [finding.line for finding in read_again(blocks, timeline, CYCLES).findings]
