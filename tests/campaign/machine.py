"""A control of RS-274/NGC, for the campaign of mutants alone: text in, what the machine physically does out.

Written anew from NISTIR 6556 (sections cited) and from what a dialect says that words mean; it shares nothing with
reader, replay and the proof but the dialect, which is data, so that a fault of theirs is not its own. It is strict:
what the standard calls an error, leaves to the control, or rests on a state that the program has not stated, is an
alarm. What the operator is told to set is a deed, too, the first of all.
"""

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Final

from post.dialect import Dialect
from tests.campaign.deeds import MM, STILL, TURNS, UNSTATED, Deed, Kind, Place, Spindle, near
from tests.campaign.lines import Alarm, code_name, framed, on_grid, parsed

# What words there are: NISTIR 6556 3.4, Table 4, and 3.3.2, Table 3.

_GROUPS: Final = (
    "G4 G10 G28 G30 G53 G92 G92.1 G92.2 G92.3",
    "G0 G1 G2 G3 G38.2 G80 G81 G82 G83 G84 G85 G86 G87 G88 G89",
    "G17 G18 G19",
    "G90 G91",
    "G93 G94 G95",
    "G20 G21 G70 G71",
    "G40 G41 G42",
    "G43 G49",
    "G98 G99",
    "G54 G55 G56 G57 G58 G59 G59.1 G59.2 G59.3",
    "G61 G61.1 G64",
    "M0 M1 M2 M30 M60",
    "M3 M4 M5 M19",
    "M7 M8",
    "M9",
    "M48 M49",
)
_NOT_MODAL, _MOTION, _PLANE, _DISTANCE, _FEED_MODE, _UNITS, _RADIUS, _TOOL, _RETRACT, _OFFSET, _PATH = range(11)
_STOP, _SPINDLE = 11, 12
_GROUP_OF: Final = {code: group for group, codes in enumerate(_GROUPS) for code in codes.split()}
_ELSEWHERE: Final = frozenset(
    ("G2", "G3", "G10", "G28", "G30", "G38.2", "G41", "G42", "G43", "G53", "G83", "G84", "G87", "G88")
)
"""Codes that lead to a place, or by a path, which words and work offset do not tell; and G92, of every kind."""
_UNFIT: Final = _ELSEWHERE | {"G92", "G92.1", "G92.2", "G92.3", "G93", "M49", "M60"}
"""These, and what takes the overrides from the operator, or counts feeds in no length."""
_CYCLES: Final = ("G81", "G82", "G85", "G86", "G89")
_STANDING: Final = ("G82", "G86", "G89")
_AXIS_OF: Final = {"G19": 0, "G18": 1, "G17": 2}
_NUMBER: Final = re.compile(r"(?<![\w.])[0-9]+(?:\.[0-9]+)?(?!\w)")
_MOST_LINE_NUMBER: Final = 5


def perform(text: str, dialect: Dialect) -> list[Deed]:
    """What a machine does that runs a program, nothing known of the one before. Raises Alarm."""
    control = _Control(dialect)
    control.do("told")
    for number, line in framed(text, dialect):
        if control.ended:
            break
        control.run(number, line)
    if not control.ended:
        raise Alarm("no M2 or M30")
    control.deeds[0] = control.deeds[0]._replace(message="; ".join(sorted(control.told)))
    return control.deeds


class _Control:
    """State of the control, and what has been done."""

    def __init__(self, dialect: Dialect) -> None:
        self.dialect = dialect
        self.deeds: list[Deed] = []
        self.held: dict[int, str] = {}
        self.at: Place = (None, None, None)
        self.spindle = UNSTATED
        self.rpm: float | None = None
        self.feed: tuple[float, str | None, str | None] | None = None
        self.shown = ""
        self.told: set[str] = set()
        self.ended = False
        self.line = 0

    def run(self, number: int, text: str) -> None:
        """Do one line, in the order of 3.8, Table 8, whatever the order of its words."""
        self.line = number
        read = parsed(text, self.dialect.comments.form)
        if isinstance(read, str):
            raise Alarm(f"line {number}: {read}")
        codes, numbers = self.sort(read.words)
        self.show(read.remarks, codes.get(_STOP) in ("M0", "M1"))
        if not codes and not numbers:
            return
        motion = codes.get(_MOTION) or self.held.get(_MOTION)
        self.check(codes, numbers, motion)
        self.take(codes, _FEED_MODE)
        if "F" in numbers:
            self.feed = self.number(numbers, "F"), self.held.get(_FEED_MODE), self.held.get(_UNITS)
        self.rule_spindle(codes.get(_SPINDLE), numbers)
        if codes.get(_NOT_MODAL) == "G4":
            self.dwell(numbers, self.dialect.dwell.word)
        self.take(codes, _PLANE, _UNITS, _RADIUS, _TOOL)
        if codes.get(_OFFSET, self.held.get(_OFFSET)) != self.held.get(_OFFSET):
            self.at = (None, None, None)
        self.take(codes, _OFFSET, _PATH, _DISTANCE, _RETRACT, _MOTION)
        stands = self.dialect.dwell.word if codes.get(_NOT_MODAL) == "G4" else ""
        if any(axis in numbers for axis in "XYZ" if axis != stands):
            self.move(motion, numbers)
        self.stop(codes.get(_STOP))

    def show(self, remarks: Sequence[str], stops: bool) -> None:
        """Show the last remark of a line (3.3.5) if it is a message (3.3.4), and note what is told to be set."""
        begins = self.dialect.comments.message
        for remark in remarks:
            if stops and remark == remarks[-1]:
                continue
            if re.search(r"\bset\b", remark, re.IGNORECASE) and _NUMBER.search(remark):
                self.told.add(remark.strip(" \t"))
        last = remarks[-1].strip(" \t") if remarks else ""
        if remarks and last.upper().startswith(begins.upper()):
            self.shown = last[len(begins) :].strip(" \t")

    def sort(self, words: Sequence[tuple[str, str]]) -> tuple[dict[int, str], dict[str, str]]:
        """Codes by their modal groups and numbers by their letters, none of them twice (3.3.5, 3.4)."""
        codes: dict[int, str] = {}
        numbers: dict[str, str] = {}
        for place, (letter, number) in enumerate(words):
            if letter == "N":
                if place or not number.isdigit() or len(number) > _MOST_LINE_NUMBER:
                    raise Alarm(f"line {self.line}: N{number} out of place")
                continue
            if letter not in "GM":
                if letter in numbers:
                    raise Alarm(f"line {self.line}: {letter} twice")
                numbers[letter] = number
                continue
            code = code_name(letter, number)
            if not self.known(code):
                raise Alarm(f"line {self.line}: {code}")
            if _GROUP_OF[code] in codes:
                raise Alarm(f"line {self.line}: {code} and {codes[_GROUP_OF[code]]}")
            codes[_GROUP_OF[code]] = code
        return codes, numbers

    def known(self, code: str) -> bool:
        """Whether the control has a code, and it leads nowhere that is not told."""
        if code not in _GROUP_OF or code in _UNFIT or code in self.dialect.refuses:
            return False
        group, units, oriented = _GROUP_OF[code], self.dialect.unit_words, self.dialect.oriented_stop
        own: Mapping[int, Sequence[str]] = {_FEED_MODE: self.dialect.feed_modes, _UNITS: (units.mm, units.inch)}
        if group in own:
            return code in own[group]
        if code in _CYCLES:
            return code in self.dialect.cycles
        return code != "M19" or oriented is not None

    def check(self, codes: Mapping[int, str], numbers: Mapping[str, str], motion: str | None) -> None:
        """Every word has one use, and every code the words it needs (3.5)."""
        stands = self.dialect.dwell.word if codes.get(_NOT_MODAL) == "G4" else ""
        moves = any(axis in numbers for axis in "XYZ" if axis != stands)
        if codes.get(_MOTION, "G80") != "G80" and not moves:
            raise Alarm(f"line {self.line}: {motion} to no place")
        if moves and motion in (None, "G80"):
            raise Alarm(f"line {self.line}: a place and no motion")
        cycle = motion if moves and motion in _CYCLES else None
        uses = ["P"] if stands == "P" else []
        if stands == "X" and ("X" not in numbers or moves):
            raise Alarm(f"line {self.line}: a dwell with no X, or with a place")
        if codes.get(_SPINDLE) == "M19" and self.dialect.oriented_stop:
            uses.append(self.dialect.oriented_stop.angle)
        if cycle:
            uses += ["R", "P"] if cycle in _STANDING else ["R"]
        spare = [letter for letter in numbers if letter not in "XYZFS" and not (cycle and letter == "L")]
        if sorted(uses) != sorted(spare):
            raise Alarm(f"line {self.line}: {sorted(spare)} where {sorted(uses)} are used")

    def take(self, codes: Mapping[int, str], *groups: int) -> None:
        for group in groups:
            if group in codes:
                self.held[group] = codes[group]

    def number(self, numbers: Mapping[str, str], letter: str, *, signed: bool = False) -> float:
        """A number that the control can read, as written."""
        text = numbers[letter]
        told = self.dialect
        steps = told.resolution.inch if self.held.get(_UNITS) == told.unit_words.inch else told.resolution.mm
        step: float | None = steps.length
        if letter == "F":
            step = steps.feed_per_turn if self.held.get(_FEED_MODE) == "G95" else steps.feed
        elif letter in "SL":
            step = {"S": told.resolution.speed, "L": 1.0}[letter]
        counted = told.numbers.point == "none" and letter in "XYZRF"
        if step is None or not on_grid(text, 1.0 if counted else step) or (Decimal(text) < 0 and not signed):
            raise Alarm(f"line {self.line}: {letter}{text} cannot be read")
        self.check_point(letter, text)
        return float(text) * (step if counted else 1.0)

    def check_point(self, letter: str, text: str) -> None:
        """The point as the control has it in lengths and feeds."""
        point = self.dialect.numbers.point
        if point != "optional" and letter in "XYZRF" and ("." in text) is not (point == "required"):
            raise Alarm(f"line {self.line}: {letter}{text} with a point, or without one")

    def dwell_told(self, numbers: Mapping[str, str], letter: str) -> float:
        """How long to stand, as the word counts it."""
        text = numbers[letter]
        if not on_grid(text, self.dialect.dwell.step) or Decimal(text) < 0:
            raise Alarm(f"line {self.line}: {letter}{text} cannot be read")
        self.check_point(letter, text)
        return float(text)

    def rule_spindle(self, code: str | None, numbers: Mapping[str, str]) -> None:
        """Speed, then the spindle (3.6.2, 3.7.2; M19 by ISO 6983-1)."""
        if "S" in numbers:
            self.rpm = self.number(numbers, "S")
        word = code or self.spindle.word
        now = self.spindle
        if word in TURNS:
            if not self.rpm:
                raise Alarm(f"line {self.line}: {word} at no speed")
            now = Spindle(word, self.rpm)
        elif code == "M5":
            now = STILL
        elif code == "M19" and self.dialect.oriented_stop:
            angle = numbers[self.dialect.oriented_stop.angle]
            if not on_grid(angle, 0.001) or not 0 <= float(angle) < 360:
                raise Alarm(f"line {self.line}: {angle} degrees")
            now = Spindle(code, float(angle))
        self.turn(now)

    def turn(self, spindle: Spindle) -> None:
        if spindle != self.spindle:
            self.spindle = spindle
            # A stop on the way to a stop at an angle is the same stop.
            last = self.deeds[-1]
            if spindle.word == "M19" and (last.kind, last.spindle) == ("spindle", STILL):
                self.deeds.pop()
            self.do("spindle")

    def do(self, kind: Kind, *, start: Place | None = None, amount: float = 0.0, message: str = "") -> None:
        under = self.held.get(_OFFSET, "") + (" G64" if self.held.get(_PATH) == "G64" else "")
        if not kind.endswith(("rapid", "feed")):
            under = ""
        self.deeds.append(Deed(kind, self.line, start or self.at, self.at, amount, message, self.spindle, under))

    def dwell(self, numbers: Mapping[str, str], letter: str) -> None:
        """Stand for P or another letter (3.5.4), in what the dialect says that it counts."""
        amount = self.dwell_told(numbers, letter)
        if self.dialect.dwell.unit == "turns" and amount:
            if self.spindle.word not in TURNS:
                raise Alarm(f"line {self.line}: a dwell that never ends")
            amount *= 60 / self.spindle.amount
        elif self.dialect.dwell.unit == "milliseconds":
            amount /= 1000
        if amount:
            self.do("dwell", amount=amount)

    def move(self, motion: str | None, numbers: Mapping[str, str]) -> None:
        """A straight move (3.5.1, 3.5.2) or a cycle, once all that it rests on is stated."""
        needed = [_UNITS, _DISTANCE, _OFFSET, _RADIUS, _TOOL, _PATH]
        needed += [] if motion == "G0" else [_FEED_MODE]
        needed += [_PLANE, _RETRACT] if motion in _CYCLES else []
        owed = [group for group in needed if group not in self.held]
        if owed or self.spindle == UNSTATED:
            raise Alarm(f"line {self.line}: a move with none of {[_GROUPS[group] for group in owed] or 'M3 M4 M5'}")
        if motion in _CYCLES:
            self.bore(str(motion), numbers)
            return
        told = {axis: self.mm(numbers, axis) for axis in "XYZ" if axis in numbers}
        feed = self.rate() if motion == "G1" else None
        x, y, z = (self.sum(told[axis], at) if axis in told else at for axis, at in zip("XYZ", self.at, strict=True))
        self.go((x, y, z), feed)

    def mm(self, numbers: Mapping[str, str], letter: str) -> float:
        inch = self.held[_UNITS] == self.dialect.unit_words.inch
        return self.number(numbers, letter, signed=True) * MM["inch" if inch else "mm"]

    def sum(self, told: float, at: float | None) -> float:
        """A place, told by itself or by the way to it (3.5.17)."""
        if self.held[_DISTANCE] == "G90":
            return told
        if at is None:
            raise Alarm(f"line {self.line}: an increment from nowhere")
        return at + told

    def rate(self) -> float:
        """Feed in mm/min: of an F told under the feed mode and the unit that now hold (3.5.19, 3.7.1)."""
        if self.feed is None or self.feed[1:] != (self.held[_FEED_MODE], self.held[_UNITS]) or not self.feed[0]:
            raise Alarm(f"line {self.line}: no F that holds")
        per = MM["inch" if self.held[_UNITS] == self.dialect.unit_words.inch else "mm"]
        if self.held[_FEED_MODE] == "G94":
            return self.feed[0] * per
        if self.spindle.word not in TURNS:
            raise Alarm(f"line {self.line}: a feed that never ends")
        return self.feed[0] * per * self.spindle.amount

    def go(self, to: Place, feed: float | None) -> None:
        start, self.at = self.at, to
        if any(not near(a, b, 1e-9) for a, b in zip(start, to, strict=True)):
            self.do("rapid" if feed is None else "feed", start=start, amount=feed or 0.0)

    def bore(self, code: str, numbers: Mapping[str, str]) -> None:
        """A fixed cycle (3.5.16)."""
        axis = _AXIS_OF[self.held[_PLANE]]
        letter = "XYZ"[axis]
        if letter not in numbers or None in self.at:
            raise Alarm(f"line {self.line}: {code} with no {letter}, or from nowhere")
        began = self.known_at(axis)
        r = self.sum(self.mm(numbers, "R"), began)
        absolute = self.held[_DISTANCE] == "G90"
        depth = self.mm(numbers, letter) + (0.0 if absolute else r)
        if r < depth or (code == "G86" and self.spindle.word not in TURNS):
            raise Alarm(f"line {self.line}: {code} from below its depth, or with the spindle still")
        feed, times = self.rate(), self.number(numbers, "L") if "L" in numbers else 1
        clear = max(began, r) if self.held[_RETRACT] == "G98" else r
        if began < r:
            self.go(self.with_axis(axis, r), None)
        for _ in range(int(times)):
            hole = [
                self.sum(self.mm(numbers, name), at) if name in numbers else at
                for name, at in zip("XYZ", self.at, strict=True)
            ]
            hole[axis] = self.at[axis]
            self.go((hole[0], hole[1], hole[2]), None)
            self.go(self.with_axis(axis, r), None)
            self.go(self.with_axis(axis, depth), feed)
            self.leave(code, axis, clear, feed, numbers)

    def leave(self, code: str, axis: int, clear: float, feed: float, numbers: Mapping[str, str]) -> None:
        """Stand at the depth and come out of it, as a cycle does (3.5.16.2 to 3.5.16.10)."""
        if code in _STANDING:
            self.dwell(numbers, "P")
        turning = self.spindle
        if code == "G86":
            self.turn(STILL)
        self.go(self.with_axis(axis, clear), feed if code in ("G85", "G89") else None)
        self.turn(turning)

    def known_at(self, axis: int) -> float:
        at = self.at[axis]
        assert at is not None
        return at

    def with_axis(self, axis: int, value: float) -> Place:
        x, y, z = (value if place == axis else at for place, at in enumerate(self.at))
        return x, y, z

    def stop(self, code: str | None) -> None:
        """Stop, or end (3.6.1)."""
        if code in ("M0", "M1"):
            self.do("stop" if code == "M0" else "optional stop", message=self.shown)
            self.shown = ""
        elif code is not None:
            self.do("end")
            self.ended = True
