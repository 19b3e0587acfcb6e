"""What one control's words mean: the dialect, read from a post's ``dialect.toml``.

Planner, writer, reader and replay take all that differs between controls from here; nothing about a control lives in
code. What is not told is as RS-274/NGC has it (NISTIR 6556).
"""

import re
import string
import unicodedata
from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Annotated, Final, Literal, Self

from pydantic import AfterValidator, Field, field_validator, model_validator

from post.standard import BEYOND_STANDARD, CALLS, GROUP_OF, NOT_INTERPRETED
from post.steps import nearest, upward
from post.units import MM_PER, Units
from post.userfile import KeyProblem, Table, parse_toml, read_text, validate

Step = Annotated[float, Field(ge=1e-7, le=10, allow_inf_nan=False, examples=[0.001])]

Cycle = Literal["G81", "G82", "G85", "G86", "G89"]
FeedMode = Literal["G94", "G95"]

PRINTABLE: Final = frozenset(string.printable) - frozenset("\t\n\r\x0b\x0c")
"""Every sign that may stand in a line of a program."""


def _plain(text: str) -> str:
    if not PRINTABLE.issuperset(text):
        raise ValueError("must be plain ASCII on one line: it is printed on screens and in programs")
    return text


Plain = Annotated[str, AfterValidator(_plain)]


class Steps(Table):
    """Smallest step the control reads in a length, a feed a minute and a feed a spindle turn, in the program's unit."""

    length: Step
    feed: Step
    feed_per_turn: Step | None = Field(default=None, examples=[0.0001])


class Resolution(Table):
    """Steps of the two units, and of the spindle word in revolutions a minute."""

    mm: Steps = Field(examples=[{"length": 0.001, "feed": 0.001}])
    inch: Steps = Field(examples=[{"length": 0.0001, "feed": 0.0001}])
    speed: Step = Field(default=1.0, examples=[1.0])


class Numbers(Table):
    """How lengths and feeds are written.

    ``point``: "optional" where X10 and X10. are the same; "required" where one without a point would be read otherwise;
    "none" where they have no point and count the smallest steps.
    """

    point: Literal["optional", "required", "none"] = Field(default="optional", examples=["optional"])
    trailing_zeros: bool = Field(default=True, examples=[True])


class DwellWord(Table):
    """The word behind G4, what it counts, and the smallest step of that; fixed cycles have it as P.

    Turns are the spindle's.
    """

    word: Literal["P", "X"] = Field(default="P", examples=["P"])
    unit: Literal["seconds", "milliseconds", "turns"] = Field(default="seconds", examples=["seconds"])
    step: Step = Field(default=0.01, examples=[0.01])


ANGLE_STEP_DEG: Final = 0.001
"""Smallest step of a spindle angle, degrees; chosen by us: a tenth of what any encoder resolves."""


class OrientedStop(Table):
    """The word that stops the spindle at a known angle, and the letter of the angle in degrees behind it."""

    code: Literal["M19"] = "M19"
    angle: Literal["R", "P"] = Field(default="R", examples=["R"])


class UnitWords(Table):
    """The words for millimetres and inches: G21 and G20 of RS-274/NGC, or G71 and G70 of ISO 6983-1."""

    mm: Literal["G21", "G71"] = Field(default="G21", examples=["G21"])
    inch: Literal["G20", "G70"] = Field(default="G20", examples=["G20"])


class Comments(Table):
    """Text for people in a program.

    ``form``: "brackets" for ( ), "semicolon" for all that stands behind one, "none" where the control takes none.
    ``signs`` are those allowed besides letters, digits and blanks. ``message`` is what begins a comment that the
    control shows to the operator.
    """

    form: Literal["brackets", "semicolon", "none"] = Field(default="brackets", examples=["brackets"])
    capitals: bool = Field(default=False, examples=[False])
    signs: Plain = Field(default="".join(sorted(PRINTABLE - frozenset(string.ascii_letters + string.digits + " "))))
    message: Plain = Field(default="MSG,", max_length=10, examples=["MSG,"])

    @model_validator(mode="after")
    def _can_tell_sizes(self) -> Self:
        for sign in ".-":
            if sign not in self.signs:
                raise KeyProblem(("signs",), f'must hold "{sign}": stops tell the cutter\'s setting, as 84.5')
        told = self.message.upper() if self.capitals else self.message
        if self.form != "none" and (not self.allowed.issuperset(self.message) or told != self.message):
            raise KeyProblem(
                ("message",), f'"{self.message}" holds a sign that comments here cannot; see capitals, signs'
            )
        return self

    @cached_property
    def allowed(self) -> frozenset[str]:
        """Every sign that a comment may hold."""
        letters = string.ascii_uppercase if self.capitals else string.ascii_letters
        closing = "()" if self.form == "brackets" else ""
        return frozenset(letters + string.digits + " " + self.signs) - frozenset(closing)

    @cached_property
    def _any_printable(self) -> bool:
        return self.allowed >= PRINTABLE - frozenset("()")

    def stands(self, text: str) -> bool:
        """Whether a text can stand in a comment as it is: allowed signs, with single blanks between them."""
        if not (text.isascii() and text.isprintable()) or "  " in text or "(" in text or ")" in text:
            return False
        return text[:1] != " " != text[-1:] and (self._any_printable or self.allowed.issuperset(text))


class BlockNumbers(Table):
    """Numbers of blocks, N: the first, from each to the next, and the last, after which they begin anew."""

    first: int = Field(default=10, ge=1, le=99999, examples=[10])
    step: int = Field(default=10, ge=1, le=1000, examples=[10])
    last: int = Field(default=99999, ge=1, le=99999, examples=[9999])

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if self.last < self.first:
            raise KeyProblem(("last",), f"{self.last} lies below first, {self.first}; e.g. last = 9999")
        return self


class ProgramNumber(Table):
    """The number a program begins with: its letter, most digits, and the number where the job gives none."""

    letter: Literal["O", ":"] = Field(default="O", examples=["O"])
    digits: int = Field(default=4, ge=1, le=8, examples=[4])
    number: int = Field(default=1, ge=1, examples=[1001])

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.number >= 10**self.digits:
            raise KeyProblem(("number",), f"{self.number} has more than {self.digits} digits; e.g. number = 1")
        return self


class Lines(Table):
    """What stands around the words: length and end of a line, tape marks (%), numbers."""

    length: int = Field(default=256, ge=40, le=256, examples=[256])
    end: Literal["LF", "CRLF"] = Field(default="LF", examples=["LF"])
    tape_marks: Literal["allowed", "required", "refused"] = Field(default="allowed", examples=["allowed"])
    block_numbers: BlockNumbers | None = None
    program_number: ProgramNumber | None = None


_CODE: Final = re.compile(r"[GM](?:0|[1-9][0-9]{0,2})(?:\.[1-9])?")
_CODES: Final = re.compile(rf"{_CODE.pattern}(?: or {_CODE.pattern})*")


class Dialect(Table):
    """What a control reads and means."""

    about: Plain = Field(min_length=1, max_length=120, examples=["Every move written out"])
    resolution: Resolution
    numbers: Numbers = Numbers.model_construct()
    dwell: DwellWord = DwellWord.model_construct()
    feed_modes: tuple[FeedMode, ...] = Field(
        default=("G94",),
        strict=False,
        min_length=1,
        examples=[["G94"]],
        description="feed modes the control reads, first the one this post writes",
    )
    unit_words: UnitWords = UnitWords.model_construct()
    cycles: frozenset[Cycle] = Field(default=frozenset(), strict=False, examples=[["G85", "G89"]])
    oriented_stop: OrientedStop | None = None
    opening: tuple[str, ...] = Field(default=("G40", "G49", "G61 or G61.1"), strict=False, examples=[["G40", "G49"]])
    refuses: frozenset[str] = Field(default=frozenset(), strict=False, examples=[["G59.1", "M1"]])
    on_trust: frozenset[str] = Field(default=frozenset(), strict=False, examples=[["G69"]])
    new_setting: Literal["stop", "file"] = Field(default="stop", examples=["stop"])
    comments: Comments = Comments.model_construct()
    lines: Lines = Lines.model_construct()

    @field_validator("opening")
    @classmethod
    def _alternatives(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for index, codes in enumerate(value):
            if not _CODES.fullmatch(codes):
                raise KeyProblem(
                    (index,), f'"{codes[:40]}" is no code nor several; write "G40", or "G61 or G61.1", no idle zeros'
                )
        return value

    @field_validator("refuses", "on_trust")
    @classmethod
    def _codes(cls, value: frozenset[str]) -> frozenset[str]:
        for code in sorted(value):
            if not _CODE.fullmatch(code):
                raise ValueError(
                    f'"{code[:40]}" is no code; write G or M and its number without idle zeros, as "G59.1"'
                )
        return value

    @field_validator("on_trust")
    @classmethod
    def _unknown_to_the_standard(cls, value: frozenset[str]) -> frozenset[str]:
        for code in sorted(value):
            if code in NOT_INTERPRETED:
                raise ValueError(f"{code} is {NOT_INTERPRETED[code]}, and is not taken on trust")
            if code in GROUP_OF or code in BEYOND_STANDARD:
                raise ValueError(
                    f"{code} has a meaning in RS-274/NGC or here, and needs no trust: write it in program.j2"
                )
            if code in CALLS:
                raise ValueError(f"{code} calls other programs, or repeats this one, and is not taken on trust")
        return value

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        for units in ("mm", "inch"):
            if "G95" in self.feed_modes and self.steps(units).feed_per_turn is None:
                raise KeyProblem(
                    ("resolution", units, "feed_per_turn"), "is missing, and G95 needs it; write feed_per_turn = 0.0001"
                )
        self._check_codes()
        if self.numbers.point == "none" and self.dwell.word == "X":
            raise KeyProblem(
                ("dwell", "word"), 'is "X", a letter of lengths, which have no point here and count steps; write "P"'
            )
        if self.new_setting == "stop" and self.comments.form == "none":
            raise KeyProblem(
                ("new_setting",),
                'is "stop", but with no comments a stop cannot tell the cutter\'s setting; write new_setting = "file"',
            )
        return self

    def _check_codes(self) -> None:
        own = {self.unit_words.mm, self.unit_words.inch, self.feed_modes[0], *self.cycles, *self.on_trust}
        if self.oriented_stop:
            own.add(self.oriented_stop.code)
        for code in sorted(self.refuses & own):
            raise KeyProblem(("refuses",), f"{code} is refused here, and named elsewhere as a word this post has")
        known = GROUP_OF.keys() | BEYOND_STANDARD | self.on_trust
        for index, codes in enumerate(self.opening):
            unknown = [code for code in codes.split(" or ") if code not in known or code in self.refuses]
            if unknown:
                raise KeyProblem(
                    ("opening", index),
                    f"{unknown[0]} is a code this post does not know or refuses; see on_trust, refuses",
                )

    @property
    def feed_per_turn(self) -> bool:
        """Whether this post writes feeds per spindle turn."""
        return self.feed_modes[0] == "G95"

    def steps(self, units: Units) -> Steps:
        """The steps of one unit."""
        return self.resolution.mm if units == "mm" else self.resolution.inch

    def length_step(self, units: Units) -> float:
        """Smallest step of a coordinate, in millimetres."""
        return self.steps(units).length * MM_PER[units]

    def round_length(self, length_mm: float, units: Units) -> float:
        """A coordinate in mm, moved to the nearest the control can read in ``units``; still in mm."""
        return nearest(length_mm / MM_PER[units], self.steps(units).length) * MM_PER[units]

    def feed_word_step(self, units: Units) -> float:
        """Smallest step of the feed word as this post writes it, in the program's unit."""
        steps = self.steps(units)
        return steps.feed_per_turn or steps.feed if self.feed_per_turn else steps.feed

    def feed_scale(self, units: Units, spindle_rpm: float) -> float:
        """Millimetres a minute that 1 in the feed word of this post means at a spindle speed."""
        return MM_PER[units] * (spindle_rpm if self.feed_per_turn else 1.0)

    def dwell_scale_s(self, spindle_rpm: float) -> float:
        """Seconds that 1 in the dwell word means at a spindle speed."""
        match self.dwell.unit:
            case "seconds":
                return 1.0
            case "milliseconds":
                return 0.001
            case "turns":
                return 60.0 / spindle_rpm

    def round_dwell(self, seconds: float, spindle_rpm: float) -> float:
        """A dwell, moved up to what the control can read: never shorter than asked."""
        scale_s = self.dwell_scale_s(spindle_rpm)
        return upward(seconds / scale_s, self.dwell.step) * scale_s

    def round_angle(self, degrees: float) -> float:
        """A spindle angle as a program carries it, 0 or more and less than 360 degrees."""
        return nearest(degrees, ANGLE_STEP_DEG) % 360

    def comment(self, text: str) -> str:
        """A text as it can stand in one of the control's comments: plain letters, signs that it has not left out."""
        if self.comments.stands(text):
            return text
        letters = (sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
        plain = "".join(letters).encode("ascii", "replace").decode("ascii").translate(_ROUND_TO_SQUARE)
        if self.comments.capitals:
            plain = plain.upper()
        allowed = self.comments.allowed
        if not allowed.issuperset(plain):
            plain = "".join(sign if sign in allowed else " " for sign in plain)
        return " ".join(plain.split())

    @property
    def comment_room(self) -> int:
        """Characters of text that fit in a comment alone on a line."""
        return self.lines.length - 2

    @property
    def message_room(self) -> int:
        """Characters that fit in a stop's message, beside what begins it, the stop's word and a block number."""
        number = len(f"N{self.lines.block_numbers.last} ") if self.lines.block_numbers else 0
        return self.comment_room - len("M0 ") - number - len(f"{self.comments.message} ")


_ROUND_TO_SQUARE: Final[Mapping[int, str]] = {ord("("): "[", ord(")"): "]"}


def load_dialect(path: Path) -> Dialect:
    """The dialect in a file. Raises InputError with file, line and key."""
    text = read_text(path, what="dialect")
    return validate(Dialect, parse_toml(text, path), path=path, text=text)
