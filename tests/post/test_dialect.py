import string
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import pytest
from hypothesis import given
from pydantic import ValidationError

from post.dialect import (
    BlockNumbers,
    Comments,
    Dialect,
    DwellWord,
    Lines,
    Numbers,
    OrientedStop,
    ProgramNumber,
    Resolution,
    Steps,
    UnitWords,
    load_dialect,
)
from post.posts import LIBRARY, shipped
from tests.jobs import edited, told
from tests.post.dialects import dialects
from tests.post.programs import made

TEXT: Final = """\
about = "Every move written out"
feed_modes = ["G94", "G95"]
unit_words = { mm = "G71", inch = "G70" }
cycles = ["G85", "G89"]
oriented_stop = { code = "M19", angle = "P" }
opening = ["G40", "G61 or G61.1"]
refuses = ["G59.1", "M1"]
on_trust = ["G69"]
new_setting = "file"

[resolution]
mm    = { length = 0.005, feed = 0.01, feed_per_turn = 0.0001 }
inch  = { length = 0.0005, feed = 0.001, feed_per_turn = 0.00001 }
speed = 0.5

[numbers]
point = "required"
trailing_zeros = false

[dwell]
word = "X"
unit = "turns"
step = 0.1

[comments]
form = "semicolon"
capitals = true
signs = ".,-:"
message = "SHOW,"

[lines]
length = 128
end = "CRLF"
tape_marks = "required"

[lines.block_numbers]
first = 5
step = 20
last = 9990

[lines.program_number]
letter = ":"
digits = 6
number = 12
"""
"""Every key told otherwise than where it is left out, but for ``oriented_stop.code``."""

LEAST: Final = """\
about = "The least there can be"
[resolution]
mm = { length = 0.001, feed = 0.01 }
inch = { length = 0.0001, feed = 0.001 }
"""


def load(folder: Path, text: str = TEXT, *changes: tuple[str, str]) -> Dialect:
    path = folder / "dialect.toml"
    path.write_text(edited(text, *changes), encoding="utf-8")
    return load_dialect(path)


@pytest.mark.parametrize("name", list(shipped()))
def test_every_dialect_that_ships_loads(name: str) -> None:
    dialect = load_dialect(LIBRARY / name / "dialect.toml")
    assert dialect.length_step("mm") == 0.001
    assert dialect.length_step("inch") == pytest.approx(0.00254, rel=1e-12)


def test_every_key(tmp_path: Path) -> None:
    assert load(tmp_path) == Dialect(
        about="Every move written out",
        feed_modes=("G94", "G95"),
        unit_words=UnitWords(mm="G71", inch="G70"),
        cycles=frozenset({"G85", "G89"}),
        oriented_stop=OrientedStop(code="M19", angle="P"),
        opening=("G40", "G61 or G61.1"),
        refuses=frozenset({"G59.1", "M1"}),
        on_trust=frozenset({"G69"}),
        new_setting="file",
        resolution=Resolution(
            mm=Steps(length=0.005, feed=0.01, feed_per_turn=0.0001),
            inch=Steps(length=0.0005, feed=0.001, feed_per_turn=0.00001),
            speed=0.5,
        ),
        numbers=Numbers(point="required", trailing_zeros=False),
        dwell=DwellWord(word="X", unit="turns", step=0.1),
        comments=Comments(form="semicolon", capitals=True, signs=".,-:", message="SHOW,"),
        lines=Lines(
            length=128,
            end="CRLF",
            tape_marks="required",
            block_numbers=BlockNumbers(first=5, step=20, last=9990),
            program_number=ProgramNumber(letter=":", digits=6, number=12),
        ),
    )


def test_what_is_left_out_is_as_the_standard_has_it(tmp_path: Path) -> None:
    dialect = load(tmp_path, LEAST)
    assert dialect == Dialect(
        about="The least there can be",
        feed_modes=("G94",),
        unit_words=UnitWords(mm="G21", inch="G20"),
        cycles=frozenset(),
        oriented_stop=None,
        opening=("G40", "G49", "G61 or G61.1"),
        refuses=frozenset(),
        on_trust=frozenset(),
        new_setting="stop",
        resolution=Resolution(mm=Steps(length=0.001, feed=0.01), inch=Steps(length=0.0001, feed=0.001), speed=1.0),
        numbers=Numbers(point="optional", trailing_zeros=True),
        dwell=DwellWord(word="P", unit="seconds", step=0.01),
        comments=Comments(form="brackets", capitals=False, signs=string.punctuation, message="MSG,"),
        lines=Lines(length=256, end="LF", tape_marks="allowed", block_numbers=None, program_number=None),
    )
    assert dialect.resolution.mm.feed_per_turn is None


def test_no_key_of_the_file_is_left_out_of_these_tests() -> None:
    def keys(model: Any, data: dict[str, Any]) -> None:
        assert set(type(model).model_fields) == set(data)
        for name, value in data.items():
            if isinstance(value, dict):
                keys(getattr(model, name), value)

    data = tomllib.loads(TEXT)
    keys(Dialect.model_validate(data), data)


@pytest.mark.parametrize(
    ("old", "new", "key", "value"),
    [
        ('["G94", "G95"]', '["G95"]', ("feed_modes",), ("G95",)),
        ('["G94", "G95"]', '["G95", "G94"]', ("feed_modes",), ("G95", "G94")),
        ('"G71"', '"G21"', ("unit_words", "mm"), "G21"),
        ('"G70"', '"G20"', ("unit_words", "inch"), "G20"),
        ('["G85", "G89"]', "[]", ("cycles",), frozenset()),
        ('["G85", "G89"]', '["G81", "G82", "G86"]', ("cycles",), {"G81", "G82", "G86"}),
        ('angle = "P"', 'angle = "R"', ("oriented_stop", "angle"), "R"),
        ('["G40", "G61 or G61.1"]', "[]", ("opening",), ()),
        ('["G40", "G61 or G61.1"]', '["G61 or G61.1 or G64 or M9"]', ("opening",), ("G61 or G61.1 or G64 or M9",)),
        ('["G59.1", "M1"]', "[]", ("refuses",), frozenset()),
        ('["G69"]', '["M66", "G5.1", "G107"]', ("on_trust",), {"M66", "G5.1", "G107"}),
        ('new_setting = "file"', 'new_setting = "stop"', ("new_setting",), "stop"),
        ("length = 0.005", "length = 10", ("resolution", "mm", "length"), 10.0),
        ("length = 0.005", "length = 0.0000001", ("resolution", "mm", "length"), 1e-7),
        ('point = "required"', 'point = "optional"', ("numbers", "point"), "optional"),
        (
            'point = "required"\ntrailing_zeros = false\n\n[dwell]\nword = "X"',
            'point = "none"\ntrailing_zeros = false\n\n[dwell]\nword = "P"',
            ("numbers", "point"),
            "none",
        ),
        ('unit = "turns"', 'unit = "milliseconds"', ("dwell", "unit"), "milliseconds"),
        ('form = "semicolon"', 'form = "none"', ("comments", "form"), "none"),
        ('form = "semicolon"', 'form = "brackets"', ("comments", "form"), "brackets"),
        ('message = "SHOW,"', 'message = ""', ("comments", "message"), ""),
        ('message = "SHOW,"', 'message = "0123456789"', ("comments", "message"), "0123456789"),
        ("length = 128", "length = 40", ("lines", "length"), 40),
        ("length = 128", "length = 256", ("lines", "length"), 256),
        ('tape_marks = "required"', 'tape_marks = "refused"', ("lines", "tape_marks"), "refused"),
        ("first = 5", "first = 9990", ("lines", "block_numbers", "first"), 9990),
        ("step = 20", "step = 1", ("lines", "block_numbers", "step"), 1),
        ("last = 9990", "last = 99999", ("lines", "block_numbers", "last"), 99999),
        ('letter = ":"', 'letter = "O"', ("lines", "program_number", "letter"), "O"),
        ("digits = 6", "digits = 2", ("lines", "program_number", "digits"), 2),
        ("number = 12", "number = 999999", ("lines", "program_number", "number"), 999999),
        ("first = 5\nstep = 20\nlast = 9990\n", "", ("lines", "block_numbers"), BlockNumbers()),
    ],
)
def test_what_else_a_key_may_be(tmp_path: Path, old: str, new: str, key: Sequence[str], value: object) -> None:
    found: Any = load(tmp_path, TEXT, (old, new))
    for name in key:
        found = getattr(found, name)
    assert found == value


LETTERS: Final = "must be plain ASCII on one line: it is printed on screens and in programs"
NO_CODE: Final = 'is no code; write G or M and its number without idle zeros, as "G59.1"'
NO_CODES: Final = 'is no code nor several; write "G40", or "G61 or G61.1", no idle zeros'
OUR_OWN: Final = "is refused here, and named elsewhere as a word this post has"
UNKNOWN: Final = "is a code this post does not know or refuses; see on_trust, refuses"
TRUST: Final = "has a meaning in RS-274/NGC or here, and needs no trust: write it in program.j2"
ALL_KEYS: Final = (
    "about, resolution, numbers, dwell, feed_modes, unit_words, cycles, oriented_stop, opening, refuses, on_trust,"
    " new_setting, comments, lines"
)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("about = ", "about = 7 # ", ':1: about: 7 must be text in quotes, e.g. about = "Every move written out"'),
        (
            '"Every move written out"',
            '""',
            ':1: about: "" must not be empty, e.g. about = "Every move written out"',
        ),
        (
            '"Every move written out"',
            f'"{"x" * 121}"',
            f':1: about: "{"x" * 37}..." must be at most 120 characters long, e.g. about = "Every move written out"',
        ),
        ('"Every move written out"', '"Jede Bewegung f\u00fcr sich"', f":1: about: {LETTERS}"),
        ('"Every move written out"', '"a\\nb"', f":1: about: {LETTERS}"),
        ('about = "Every move written out"\n', "", ': about: is missing; write about = "Every move written out"'),
        ('["G94", "G95"]', "[]", ':2: feed_modes: [] must have at least 1, e.g. feed_modes = ["G94"]'),
        ('["G94", "G95"]', '"G94"', ':2: feed_modes: "G94" must be a list, e.g. feed_modes = ["G94"]'),
        (
            '["G94", "G95"]',
            '["G94", "G93"]',
            ":2: feed_modes 2: \"G93\" must be one of 'G94' or 'G95', e.g. feed_modes = [\"G94\"]",
        ),
        ('"G71"', '"G70"', ":3: unit_words.mm: \"G70\" must be one of 'G21' or 'G71', e.g. mm = \"G21\""),
        ('"G70"', '"G71"', ":3: unit_words.inch: \"G71\" must be one of 'G20' or 'G70', e.g. inch = \"G20\""),
        ("mm = ", "cm = ", ":3: unit_words.cm: there is no such key; did you mean mm? Allowed here: mm, inch"),
        ('{ mm = "G71", inch = "G70" }', '"G71"', ':3: unit_words: "G71" must be a table of keys'),
        (
            '["G85", "G89"]',
            '["G85", "G83"]',
            ":4: cycles 2: \"G83\" must be one of 'G81', 'G82', 'G85', 'G86' or 'G89', e.g. cycles = "
            '["G85", "G89"]',
        ),
        ('["G85", "G89"]', "85", ':4: cycles: 85 must be a list, e.g. cycles = ["G85", "G89"]'),
        ('"M19"', '"M20"', ":5: oriented_stop.code: \"M20\" must be one of 'M19'"),
        (
            'angle = "P"',
            'angle = "Q"',
            ":5: oriented_stop.angle: \"Q\" must be one of 'R' or 'P', e.g. angle = \"R\"",
        ),
        (
            "angle = ",
            "angel = ",
            ":5: oriented_stop.angel: there is no such key; did you mean angle? Allowed here: code, angle",
        ),
        ('["G40", ', '["G40 G49", ', f':6: opening 1: "G40 G49" {NO_CODES}'),
        ('"G61 or G61.1"', '"G61 or"', f':6: opening 2: "G61 or" {NO_CODES}'),
        ('"G61 or G61.1"', '"g61"', f':6: opening 2: "g61" {NO_CODES}'),
        ('"G61 or G61.1"', f'"{"G" * 41}"', f':6: opening 2: "{"G" * 40}" {NO_CODES}'),
        ('["G40", ', '["G040", ', f':6: opening 1: "G040" {NO_CODES}'),
        ('["G40", ', '["G40.0", ', f':6: opening 1: "G40.0" {NO_CODES}'),
        ('"G61 or G61.1"', '"G61 or G061.1"', f':6: opening 2: "G61 or G061.1" {NO_CODES}'),
        ('"G61 or G61.1"', '"M1"', f":6: opening 2: M1 {UNKNOWN}"),
        ('"G61 or G61.1"', '"G61 or M66"', f":6: opening 2: M66 {UNKNOWN}"),
        ('["G40", ', '["G5 or G40", ', f":6: opening 1: G5 {UNKNOWN}"),
        ('["G40", "G61 or G61.1"]', '"G40"', ':6: opening: "G40" must be a list, e.g. opening = ["G40", "G49"]'),
        ('["G40", ', "[40, ", ':6: opening 1: 40 must be text in quotes, e.g. opening = ["G40", "G49"]'),
        ('["G59.1", "M1"]', '["59.1"]', f':7: refuses: "59.1" {NO_CODE}'),
        ('["G59.1", "M1"]', '["G59.10"]', f':7: refuses: "G59.10" {NO_CODE}'),
        ('["G59.1", "M1"]', '["G059"]', f':7: refuses: "G059" {NO_CODE}'),
        ('["G59.1", "M1"]', '["M01"]', f':7: refuses: "M01" {NO_CODE}'),
        ('["G59.1", "M1"]', '["M1.0"]', f':7: refuses: "M1.0" {NO_CODE}'),
        ('["G59.1", "M1"]', '["M"]', f':7: refuses: "M" {NO_CODE}'),
        ('["G59.1", "M1"]', '["X1"]', f':7: refuses: "X1" {NO_CODE}'),
        ('["G59.1", "M1"]', "[1]", ':7: refuses 1: 1 must be text in quotes, e.g. refuses = ["G59.1", "M1"]'),
        ('["G59.1", "M1"]', '"M1"', ':7: refuses: "M1" must be a list, e.g. refuses = ["G59.1", "M1"]'),
        ('["G59.1", "M1"]', '["G70"]', f":7: refuses: G70 {OUR_OWN}"),
        ('["G59.1", "M1"]', '["G71"]', f":7: refuses: G71 {OUR_OWN}"),
        ('["G59.1", "M1"]', '["G94"]', f":7: refuses: G94 {OUR_OWN}"),
        ('["G59.1", "M1"]', '["M1", "G89"]', f":7: refuses: G89 {OUR_OWN}"),
        ('["G59.1", "M1"]', '["M19"]', f":7: refuses: M19 {OUR_OWN}"),
        ('["G59.1", "M1"]', '["G69"]', f":7: refuses: G69 {OUR_OWN}"),
        ('["G59.1", "M1"]', '["G40"]', f":6: opening 1: G40 {UNKNOWN}"),
        ('["G59.1", "M1"]', '["G61.1"]', f":6: opening 2: G61.1 {UNKNOWN}"),
        ('["G69"]', '["G069"]', f':8: on_trust: "G069" {NO_CODE}'),
        ('["G69"]', '["G69 P1"]', f':8: on_trust: "G69 P1" {NO_CODE}'),
        ('["G69"]', '"G69"', ':8: on_trust: "G69" must be a list, e.g. on_trust = ["G69"]'),
        (
            '["G69"]',
            '["G43"]',
            ":8: on_trust: G43 is tool length offset: its amount is not known here, and is not taken on trust",
        ),
        (
            '["G69"]',
            '["M6"]',
            ":8: on_trust: M6 is a tool change: where the machine goes for it is not known here, and is not taken"
            " on trust",
        ),
        (
            '["G69"]',
            '["M98"]',
            ":8: on_trust: M98 calls other programs, or repeats this one, and is not taken on trust",
        ),
        ('["G69"]', '["G95"]', f":8: on_trust: G95 {TRUST}"),
        ('["G69"]', '["G20"]', f":8: on_trust: G20 {TRUST}"),
        ('["G69"]', '["M19"]', f":8: on_trust: M19 {TRUST}"),
        (
            'new_setting = "file"',
            'new_setting = "halt"',
            ":9: new_setting: \"halt\" must be one of 'stop' or 'file', e.g. new_setting = \"stop\"",
        ),
        ("length = 0.005", "length = 0", ":12: resolution.mm.length: 0 must be 0.0000001 or more, e.g. length = 0.001"),
        (
            "length = 0.005",
            "length = nan",
            ":12: resolution.mm.length: nan must be a plain number, neither infinite nor NaN, e.g. length = 0.001",
        ),
        (
            "length = 0.005",
            "length = 10.5",
            ":12: resolution.mm.length: 10.5 must be 10 or less, e.g. length = 0.001",
        ),
        ("length = 0.005, ", "", ":12: resolution.mm.length: is missing; write length = 0.001"),
        (" feed = 0.01,", "", ":12: resolution.mm.feed: is missing; write feed = 0.001"),
        (" feed = 0.001,", "", ":13: resolution.inch.feed: is missing; write feed = 0.001"),
        ("feed = 0.01", "feed = -1", ":12: resolution.mm.feed: -1 must be 0.0000001 or more, e.g. feed = 0.001"),
        (
            ", feed_per_turn = 0.0001 ",
            "",
            ":12: resolution.mm.feed_per_turn: is missing, and G95 needs it; write feed_per_turn = 0.0001",
        ),
        (
            ", feed_per_turn = 0.00001",
            "",
            ":13: resolution.inch.feed_per_turn: is missing, and G95 needs it; write feed_per_turn = 0.0001",
        ),
        (
            "feed_per_turn = 0.0001 ",
            'feed_per_turn = "f"',
            ':12: resolution.mm.feed_per_turn: "f" must be a number, e.g. feed_per_turn = 0.0001',
        ),
        ("speed = 0.5", "speed = -1", ":14: resolution.speed: -1 must be 0.0000001 or more, e.g. speed = 1.0"),
        ("speed = 0.5", "speed = 11", ":14: resolution.speed: 11 must be 10 or less, e.g. speed = 1.0"),
        ("speed = 0.5", "speed = true", ":14: resolution.speed: true must be a number, e.g. speed = 1.0"),
        (
            "speed = 0.5",
            "sped = 0.5",
            ":14: resolution.sped: there is no such key; did you mean speed? Allowed here: mm, inch, speed",
        ),
        (
            '"required"\ntrailing',
            '"maybe"\ntrailing',
            ":17: numbers.point: \"maybe\" must be one of 'optional', 'required' or 'none', e.g. point = \"optional\"",
        ),
        (
            "trailing_zeros = false",
            "trailing_zeros = 0",
            ":18: numbers.trailing_zeros: 0 must be true or false, e.g. trailing_zeros = true",
        ),
        ('word = "X"', 'word = "U"', ":21: dwell.word: \"U\" must be one of 'P' or 'X', e.g. word = \"P\""),
        (
            'point = "required"',
            'point = "none"',
            ':21: dwell.word: is "X", a letter of lengths, which have no point here and count steps; write "P"',
        ),
        (
            '"turns"',
            '"minutes"',
            ":22: dwell.unit: \"minutes\" must be one of 'seconds', 'milliseconds' or 'turns', e.g. unit = \"seconds\"",
        ),
        ("step = 0.1\n", 'step = "ms"\n', ':23: dwell.step: "ms" must be a number, e.g. step = 0.01'),
        (
            "step = 0.1\n",
            "steps = 0.1\n",
            ":23: dwell.steps: there is no such key; did you mean step? Allowed here: word, unit, step",
        ),
        (
            '"semicolon"',
            '"braces"',
            ":26: comments.form: \"braces\" must be one of 'brackets', 'semicolon' or 'none', e.g. form = \"brackets\"",
        ),
        (
            "capitals = true",
            'capitals = "no"',
            ':27: comments.capitals: "no" must be true or false, e.g. capitals = false',
        ),
        ('".,-:"', "7", ":28: comments.signs: 7 must be text in quotes"),
        ('".,-:"', '".-\u00b0"', f":28: comments.signs: {LETTERS}"),
        ('".,-:"', '",-"', ':28: comments.signs: must hold ".": stops tell the cutter\'s setting, as 84.5'),
        ('".,-:"', '".,"', ':28: comments.signs: must hold "-": stops tell the cutter\'s setting, as 84.5'),
        (
            '"SHOW,"',
            '"SHOW, 12345"',
            ':29: comments.message: "SHOW, 12345" must be at most 10 characters long, e.g. message = "MSG,"',
        ),
        ('"SHOW,"', '"SHOW\\t"', f":29: comments.message: {LETTERS}"),
        (
            '"SHOW,"',
            '"SHOW;"',
            ':29: comments.message: "SHOW;" holds a sign that comments here cannot; see capitals, signs',
        ),
        (
            '"SHOW,"',
            '"Show,"',
            ':29: comments.message: "Show," holds a sign that comments here cannot; see capitals, signs',
        ),
        ("length = 128", "length = 257", ":32: lines.length: 257 must be 256 or less, e.g. length = 256"),
        ("length = 128", "length = 39", ":32: lines.length: 39 must be 40 or more, e.g. length = 256"),
        ("length = 128", "length = 80.5", ":32: lines.length: 80.5 must be a whole number, e.g. length = 256"),
        ('"CRLF"', '"CR"', ":33: lines.end: \"CR\" must be one of 'LF' or 'CRLF', e.g. end = \"LF\""),
        (
            'marks = "required"',
            'marks = "maybe"',
            ":34: lines.tape_marks: \"maybe\" must be one of 'allowed', 'required' or 'refused', e.g. tape_marks = "
            '"allowed"',
        ),
        ("first = 5", "first = 0", ":37: lines.block_numbers.first: 0 must be 1 or more, e.g. first = 10"),
        ("first = 5", "first = 1.5", ":37: lines.block_numbers.first: 1.5 must be a whole number, e.g. first = 10"),
        ("step = 20", "step = 0", ":38: lines.block_numbers.step: 0 must be 1 or more, e.g. step = 10"),
        ("step = 20", "step = 1001", ":38: lines.block_numbers.step: 1001 must be 1000 or less, e.g. step = 10"),
        (
            "last = 9990",
            "last = 100000",
            ":39: lines.block_numbers.last: 100000 must be 99999 or less, e.g. last = 9999",
        ),
        ("last = 9990", "last = 4", ":39: lines.block_numbers.last: 4 lies below first, 5; e.g. last = 9999"),
        (
            "last = 9990",
            "lst = 9990",
            ":39: lines.block_numbers.lst: there is no such key; did you mean last? Allowed here: first, step, last",
        ),
        (
            'letter = ":"',
            'letter = "P"',
            ":42: lines.program_number.letter: \"P\" must be one of 'O' or ':', e.g. letter = \"O\"",
        ),
        ("digits = 6", "digits = 9", ":43: lines.program_number.digits: 9 must be 8 or less, e.g. digits = 4"),
        ("digits = 6", "digits = 0", ":43: lines.program_number.digits: 0 must be 1 or more, e.g. digits = 4"),
        ("number = 12", "number = 0", ":44: lines.program_number.number: 0 must be 1 or more, e.g. number = 1001"),
        (
            "number = 12",
            "number = 1000000",
            ":44: lines.program_number.number: 1000000 has more than 6 digits; e.g. number = 1",
        ),
        ("[resolution]", "[resolution", ":11: not valid TOML: "),
        ("[dwell]", "[dwel]", f":20: dwel: there is no such key; did you mean dwell? Allowed here: {ALL_KEYS}"),
    ],
)
def test_a_mistake_in_a_dialect_is_told_at_its_place(tmp_path: Path, old: str, new: str, says: str) -> None:
    message = told(lambda: load(tmp_path, TEXT, (old, new)))
    if says.endswith("TOML: "):
        assert message.startswith(f"{tmp_path / 'dialect.toml'}{says}")
    else:
        assert message == f"{tmp_path / 'dialect.toml'}{says}"


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        (
            [('new_setting = "file"', 'new_setting = "stop"'), ('form = "semicolon"', 'form = "none"')],
            ':9: new_setting: is "stop", but with no comments a stop cannot tell the cutter\'s setting; write '
            'new_setting = "file"',
        ),
        (
            [('form = "semicolon"', 'form = "brackets"'), ('"SHOW,"', '"SHOW)"')],
            ':29: comments.message: "SHOW)" holds a sign that comments here cannot; see capitals, signs',
        ),
        (
            [('["G59.1", "M1"]', '["G95", "G94"]'), ('["G94", "G95"]', '["G95"]')],
            f":7: refuses: G95 {OUR_OWN}",
        ),
        (
            [("length = 128", "length = 1"), ("digits = 6", "digits = 9")],
            ":32: lines.length: 1 must be 40 or more, e.g. length = 256 (and 1 more mistake after this one)",
        ),
        (
            [("inch  =", "inches ="), ("speed = 0.5", "speed = 0")],
            ":13: resolution.inches: there is no such key; did you mean inch? Allowed here: mm, inch, speed"
            " (and 2 more mistakes after this one)",
        ),
    ],
)
def test_what_is_wrong_only_together(tmp_path: Path, changes: Sequence[tuple[str, str]], says: str) -> None:
    assert told(lambda: load(tmp_path, TEXT, *changes)) == f"{tmp_path / 'dialect.toml'}{says}"


def test_a_letter_among_the_signs_makes_no_small_letter_of_a_message(tmp_path: Path) -> None:
    changes = ('signs = ".,-:"', 'signs = ".,-o"'), ('"SHOW,"', '"SHoW,"')
    says = 'comments.message: "SHoW," holds a sign that comments here cannot; see capitals, signs'
    assert told(lambda: load(tmp_path, TEXT, *changes)) == f"{tmp_path / 'dialect.toml'}:29: {says}"


def test_without_comments_a_message_is_never_shown_and_may_be_anything(tmp_path: Path) -> None:
    dialect = load(tmp_path, TEXT, ('form = "semicolon"', 'form = "none"'), ('"SHOW,"', '"Show;"'))
    assert dialect.comments.message == "Show;"


def test_a_step_of_feeds_a_turn_is_wanted_only_for_g95(tmp_path: Path) -> None:
    assert load(tmp_path, LEAST, ("[resolution]", 'feed_modes = ["G94"]\n[resolution]'))
    says = "resolution.mm.feed_per_turn: is missing, and G95 needs it; write feed_per_turn = 0.0001"
    path = tmp_path / "dialect.toml"
    told_of = told(lambda: load(tmp_path, LEAST, ("[resolution]", 'feed_modes = ["G94", "G95"]\n[resolution]')))
    assert told_of == f"{path}:4: {says}"


def test_a_dialect_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "dialect.toml"
    assert told(lambda: load_dialect(path)) == f"{path}: there is no such dialect; give the path of a dialect"


def test_a_dialect_does_not_change() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        made().about = "else"  # type: ignore[misc]


@given(dialects())
def test_equal_dialects_are_one_key(dialect: Dialect) -> None:
    """What is worked out of a dialect is kept under it."""
    other = Dialect.model_validate(dialect.model_dump())
    assert dialect.comments.allowed
    assert other == dialect
    assert hash(other) == hash(dialect)
