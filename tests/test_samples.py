"""The samples: their programs still match, prove, and no small change to one of them goes by unseen."""

import math
import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Final, NamedTuple

import pytest

from gen import second
from gen.fit import fit
from gen.pipeline import Task, begin, program_texts, prove_texts
from gen.proof import prove
from gen.unchecked import takes_room
from post.finding import Finding
from post.motion import BoreAlongX, Spindle
from post.posts import shipped
from post.userfile import InputError
from post.views import refusal
from tests.programs import NOT_FITTING, SAMPLES, program_text, prove_text

POST_OF: Final = {"mill-camshaft": "oriented"}
"""The post of a sample's program, where it is not longhand."""

REFUSED: Final = {
    **{
        ("mill-camshaft", post): ("needs a spindle stop at a known angle", "these can: --post oriented")
        for post in ("longhand", "one-pass", "per-turn", "tape")
    },
    ("mill-camshaft", "cycles"): ("no fixed cycle lifts the cutter", "these can: --post oriented"),
    ("quarry-compressor", "cycles"): (
        "the fixed cycles bore toward -X only, and this job feeds toward \\+X",
        "these can: --post longhand, --post one-pass, --post oriented, --post per-turn, --post tape",
    ),
}
"""What a post cannot express of the samples: the reason, and the posts that can."""


class Case(NamedTuple):
    """A sample under a post, bored or walked through."""

    sample: Path
    post: str
    walk: bool

    @property
    def name(self) -> str:
        return f"{self.sample.stem}, {self.post}{', walk' if self.walk else ''}"


@lru_cache(maxsize=64)
def task_of(case: Case) -> Task:
    return begin(case.sample, case.post, walk=case.walk)


@lru_cache(maxsize=64)
def programs_of(case: Case) -> tuple[str, ...]:
    return tuple(program_texts(task_of(case)))


def all_cases() -> Iterator[Case]:
    for sample in SAMPLES:
        for post in shipped():
            for walk in (False, True):
                if walk or (sample.stem, post) not in REFUSED:
                    yield Case(sample, post, walk)


CASES: Final = tuple(all_cases())


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_posting_a_sample_again_gives_the_same_bytes(sample: Path) -> None:
    (text,) = programs_of(Case(sample, POST_OF.get(sample.stem, "longhand"), False))
    assert sample.with_suffix(".nc").read_bytes() == text.encode("ascii")


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
@pytest.mark.parametrize("physics_only", [False, True], ids=["", "physics"])
def test_each_sample_proves_under_every_post_that_can_express_it(case: Case, physics_only: bool) -> None:
    verdict = prove_texts(task_of(case), programs_of(case), physics_only=physics_only, read_twice=False)
    assert verdict.findings == ()


def test_the_head_that_does_not_go_in_is_refused_and_told_what_would() -> None:
    assert not NOT_FITTING.with_suffix(".nc").exists()
    task = begin(NOT_FITTING, "longhand", walk=False)
    verdict = prove_text(task, program_text(task), physics_only=False, read_twice=False)
    assert {finding.rule for finding in verdict.findings} == {"too-close"}
    facts = fit(task.job, task.post.dialect)
    assert [bore["name"] for bore in facts["bores"] if not bore["fits"]] == ["2", "3"]
    assert facts["row"]["would_fit"]


@pytest.mark.parametrize(("sample", "post"), REFUSED, ids=" ".join)
def test_a_post_that_cannot_express_a_sample_is_refused_with_the_reason(sample: str, post: str) -> None:
    path = next(path for path in SAMPLES if path.stem == sample)
    task = task_of(Case(path, post, False))
    assert refusal(task.plans[0], task.post.dialect) is not None
    reason, able = REFUSED[sample, post]
    with pytest.raises(InputError, match=f'{sample}.toml: the post "{post}" cannot express.*{reason}.*; {able}$'):
        program_text(task)


# Small changes. The second reading is left out here: it could only add to what is found, and takes ten times as long.

ASIDE: Final = re.compile(r"\([^)]*\)|^N[0-9]+|^O[0-9]+\s*$|^%\s*$")
"""What no block does by itself: remarks, numbers of blocks and of the program, tape marks."""
NUMBER: Final = re.compile(r"([A-Z])(-?[0-9.]+)")

MOST_BORES: Final = 4
"""Strokes of a sample up to which its programs are changed word by word; that takes as the square of their number."""


def is_spare(case: Case) -> bool:
    """Whether the programs of a case are tried with every small change.

    Jobs that tell of head and block are left out, and long ones: their programs are of the same words, and take longer.
    """
    strokes = sum(isinstance(step, BoreAlongX) for plan in task_of(case).plans for step in plan.steps)
    return strokes <= MOST_BORES and not takes_room(task_of(case).job)


SPARE: Final = tuple(case for case in CASES if is_spare(case))


def blank(line: str) -> str:
    """A line with all that is no word of its block made blanks."""
    return ASIDE.sub(lambda aside: " " * len(aside[0]), line)


def lines_of(text: str) -> list[str]:
    return text.replace("\r\n", "\n").split("\n")


class Program(NamedTuple):
    """One of the programs of a sample, counted from 1, as lines, and what is found when a line is changed."""

    case: Case
    part: int
    lines: list[str]

    @property
    def words(self) -> Iterator[tuple[int, str]]:
        """Places and words of the lines that hold any; places count from 0."""
        for at, line in enumerate(self.lines):
            code = blank(line)
            if code.strip():
                yield at, code

    def found(self, at: int, *instead: str) -> list[Finding]:
        """Findings with one line replaced."""
        task, texts = task_of(self.case), list(programs_of(self.case))
        end = "\r\n" if task.post.dialect.lines.end == "CRLF" else "\n"
        texts[self.part - 1] = end.join([*self.lines[:at], *instead, *self.lines[at + 1 :]])
        return list(prove(texts, task.job, task.post.dialect, plans=task.plans, walk_through=task.walk).findings)

    def own(self, findings: list[Finding]) -> list[Finding]:
        """Those of the findings that are told of this program."""
        return [finding for finding in findings if finding.program == self.part]


def distinct_programs() -> Iterator[Program]:
    """The programs that differ: where no step needs M19, longhand and oriented write the same words."""
    seen = set()
    for case in SPARE:
        for part, text in enumerate(programs_of(case), 1):
            words = "\n".join(map(blank, lines_of(text)))
            if words not in seen:
                seen.add(words)
                yield Program(case, part, lines_of(text))


DISTINCT: Final = tuple(distinct_programs())


def test_the_cases_left_out_are_the_same_words_under_another_post() -> None:
    changed = {program.case for program in DISTINCT}
    assert {case.post for case in SPARE if case not in changed} == {"one-pass", "oriented"}
    assert {case.post for case in changed} == set(shipped())


@pytest.fixture(params=DISTINCT, ids=lambda program: f"{program.case.name}, {program.part}")
def program(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Program:
    monkeypatch.setattr(second, "read_again", lambda *_, **__: second.SecondReading((), 0, {}))
    changed: Program = request.param
    return changed


@pytest.mark.long
def test_any_digit_changed_is_told_at_its_line(program: Program) -> None:
    """Each digit of each coordinate, F, S and P, one up and one down."""
    changed = 0
    for at, code in program.words:
        for word in NUMBER.finditer(code):
            if word[1] in "GM":
                continue
            for place in range(word.start(2), word.end(2)):
                if code[place].isdigit():
                    changed += 2
                    check_digit(program, at, place)
    assert changed > 60


def check_digit(program: Program, at: int, place: int) -> None:
    line = program.lines[at]
    for step in (1, 9):
        edited = f"{line[:place]}{(int(line[place]) + step) % 10}{line[place + 1 :]}"
        findings = program.own(program.found(at, edited))
        assert any(finding.line == at + 1 and finding.text == edited for finding in findings), (edited, findings)


def test_m3_and_m4_swapped_is_told_at_its_line(program: Program) -> None:
    swapped = 0
    for at, code in program.words:
        for one, other in (("M3", "M4"), ("M4", "M3")):
            if one in code.split():
                swapped += 1
                findings = program.own(program.found(at, program.lines[at].replace(one, other)))
                told = {(finding.rule, finding.line) for finding in findings}
                assert ("sense-differs", at + 1) in told, (code, findings)
    plan = task_of(program.case).plans[program.part - 1]
    starts = sum(isinstance(step, Spindle) for step in plan.simple())
    assert swapped == starts
    assert bool(starts) is not program.case.walk


def test_any_block_deleted_is_told_where_it_was(program: Program) -> None:
    """At a line next to the gap, at the next that still does something, or at the next that leans on a word lost."""
    for at, code in program.words:
        findings = program.found(at)
        if changes_nothing(program, at, code):
            assert not findings, (code, findings)
            continue
        following = max(next_that_acts(program, at), next_that_leans(program, at, code))
        lines = {finding.line for finding in program.own(findings)}
        assert lines & set(range(at, following + 1)), (code, following, findings)


def changes_nothing(program: Program, at: int, code: str) -> bool:
    """Whether the words of a line are all in force before it or replaced before they matter."""
    words = code.split()
    if words == ["M5"]:
        moves_before = any("G0" in code.split() for place, code in program.words if place < at)
        return moves_before and not turns_before(program, at) and not angle_before(program, at)
    return words == ["G80"]  # the next move states G0


def turns_before(program: Program, at: int) -> bool:
    starts = [word for place, code in program.words if place < at for word in code.split() if word in STARTS_AND_STOPS]
    cycle = "G86" in " ".join(code for place, code in program.words if at - 3 < place < at)
    return cycle or (bool(starts) and starts[-1] in ("M3", "M4"))


def angle_before(program: Program, at: int) -> bool:
    """Whether the spindle stands at a known angle, which M5 lets go."""
    stops = [word for place, code in program.words if place < at for word in code.split() if word in STARTS_AND_STOPS]
    return bool(stops) and stops[-1] == "M19"


STARTS_AND_STOPS: Final = ("M3", "M4", "M5", "M19")


def next_that_acts(program: Program, at: int) -> int:
    """Number, once line ``at`` is gone, of the next line that moves the axes, stands, stops or starts the spindle.

    A move to where the machine already stands, M5 and G80 do not count.
    """
    here = place_before(program, at)
    for place, code in program.words:
        words = code.split()
        if place <= at or words in (["G80"], ["M5"]):
            continue
        to = {**here, **coordinates(code)}
        if to != here or any(word in ("G4", "M0", "M30", "M3", "M4") for word in words):
            return place
    return len(program.lines)


def next_that_leans(program: Program, at: int, code: str) -> int:
    """Number, once line ``at`` is gone, of the next line that needs a speed or a feed that only it has stated, or 0."""
    lines = []
    for letter, users in (("S", ("M3", "M4")), ("F", ("G1",))):
        if f" {letter}" in f" {code}" and not any(letter in before for place, before in program.words if place < at):
            after = (place for place, other in program.words if place > at and set(other.split()) & set(users))
            user = next(after, at)
            lines += [user] if letter not in program.lines[user].partition("(")[0] else []
    return max(lines, default=0)


def place_before(program: Program, at: int) -> dict[str, float]:
    """Where the axes stand before a line; a fixed cycle ends at R."""
    here = dict.fromkeys("XYZ", math.nan)
    for place, code in program.words:
        if place < at:
            here |= coordinates(code)
    return here


def coordinates(code: str) -> dict[str, float]:
    numbers = {word[1]: float(word[2]) for word in NUMBER.finditer(code)}
    to = {axis: numbers[axis] for axis in "XYZ" if axis in numbers}
    return {**to, "X": numbers["R"]} if "R" in numbers and to else to


@pytest.mark.long
def test_any_word_left_out_is_told_unless_it_is_in_force(program: Program) -> None:
    for at, code in program.words:
        for word in re.finditer(r"\S+", code):
            line = program.lines[at]
            findings = program.found(at, line[: word.start()] + line[word.end() :])
            unseen = has_no_effect(word[0], program, at)
            assert bool(findings) is not unseen, (code, word[0], findings)


NO_EFFECT: Final = ("G80", "G99")
"""Codes that state what a program of ours never changes; G99 of cycles that begin at R, where G98 is the same."""


def has_no_effect(word: str, program: Program, at: int) -> bool:
    """Whether a word says what is in force without it."""
    if word in NO_EFFECT:
        return True
    if word == "M5":
        return changes_nothing(program, at, word)
    before = [code for place, code in program.words if place < at]
    if word in ("G0", "G1"):
        return last_of(("G0", "G1", "G80", "G85", "G86", "G89"), before) == word
    if word[0] in "XYZ":
        cycle = any(code in program.lines[at] for code in ("G85", "G86", "G89"))
        axis_of_cycle = cycle and word[0] == "X"
        return not axis_of_cycle and place_before(program, at)[word[0]] == float(word[1:])
    if word[0] in "FS":
        stated = [other for code in before for other in code.split() if other[0] == word[0]]
        return bool(stated) and float(stated[-1][1:]) == float(word[1:])
    return False


def last_of(words: tuple[str, ...], codes: list[str]) -> str | None:
    stated = [word for code in codes for word in code.split() if word in words]
    return stated[-1] if stated else None


def test_any_move_made_twice_changes_nothing_and_any_other_line_but_settings_is_told(program: Program) -> None:
    for at, code in program.words:
        words = code.split()
        findings = program.found(at, program.lines[at], program.lines[at])
        acts = any(word in ("G4", "G85", "G86", "G89", "M0", "M30") for word in words)
        assert bool(findings) is acts, (code, findings)
        if acts:
            assert any(finding.line in (at + 1, at + 2) for finding in program.own(findings)), (code, findings)
