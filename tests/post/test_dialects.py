"""The same deeds under any dialect: whatever its words, what is read and replayed is the same."""

import math
import random

from hypothesis import given, settings
from hypothesis import strategies as st

from post.dialect import Dialect
from post.reader import WORD_LETTERS
from post.timeline import End, Event, Halt, Move, SpinChange, Wait
from tests.post.dialects import dialects
from tests.post.programs import FINE, blocks, run
from tests.post.sayings import Saying, in_dialect, longhand, sayings


def flat(events: list[Event]) -> list[object]:
    """What happens, one thing after the other, without line numbers."""
    things: list[object] = []
    for event in events:
        match event:
            case Move(_, _, end, feed, spin):
                things += ["move", *end, feed, *spin]
            case Wait(_, seconds, spin):
                things += ["wait", seconds, *spin]
            case SpinChange(_, spin):
                things += ["spin", *spin]
            case Halt(_, message, optional, spin):
                things += ["halt", message, optional, *spin]
            case _:
                things += [type(event), *event[1:]]
    return things


def alike(one: object, other: object) -> bool:
    """Whether two things are the same but for the last digit of the finest dialect."""
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-7)
    return one == other


@st.composite
def said(draw: st.DrawFn) -> tuple[Dialect, Saying]:
    dialect = draw(dialects())
    return dialect, draw(sayings(dialect))


@settings(max_examples=150)
@given(said(), st.randoms(use_true_random=False))
def test_a_program_in_any_dialect_is_the_longhand_one(case: tuple[Dialect, Saying], dice: random.Random) -> None:
    dialect, saying = case
    own = run(in_dialect(saying, dialect, dice), dialect)
    reference = run(longhand(saying, dialect), FINE)
    assert (own.findings, reference.findings) == ([], [])
    found, expected = flat(own.events), flat(reference.events)
    assert len(found) == len(expected)
    assert [pair for pair in zip(found, expected, strict=True) if not alike(*pair)] == []
    assert own.units == saying.units
    for codes in dialect.opening:
        assert not own.stated_first.isdisjoint(codes.split(" or "))


@given(dialects(), st.text("GMXYZFSPRLNO0123456789.-/%:;() \r\n", max_size=60) | st.text(max_size=20))
def test_any_text_is_read_and_replayed_under_any_dialect(dialect: Dialect, text: str) -> None:
    for one in blocks(text, dialect):
        assert one.finding is None or one.words == ()
        assert all(letter in WORD_LETTERS and math.isfinite(value) for letter, value in one.words)
        assert set(one.comment or "") <= dialect.comments.allowed | {"\t"}
    timeline = run(text, dialect)
    ended = any(isinstance(event, End) for event in timeline.events)
    assert ended != any(finding.rule == "no-end" for finding in timeline.findings)
