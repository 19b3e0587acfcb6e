"""Several programs as one: whose line is whose, and what stands between them."""

import math
from itertools import pairwise
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.joined import Joined, join
from post.finding import Finding
from post.posts import find
from post.reader import read
from post.replay import replay
from post.timeline import STOPPED, End, Event, Halt, Move, Timeline
from tests.jobs import make_job
from tests.programs import SETTINGS, all_posted, posted

ONE_PASS: Final = find("one-pass").dialect
Program = tuple[list[str], Timeline]


def program_of(text: str) -> Program:
    return text.removesuffix("\n").split("\n"), replay(read(text, ONE_PASS), ONE_PASS)


def three() -> list[Program]:
    return [program_of(text) for text in all_posted(SETTINGS, "one-pass")]


def test_one_program_passes_through() -> None:
    lines, timeline = program_of(posted(make_job()))
    joined = join([(lines, timeline)])
    assert joined == Joined(lines, timeline, timeline, (0,))
    assert joined.timeline is timeline
    assert not any(isinstance(event, Halt) for event in timeline.events)
    assert joined.place(0) == (1, 0)
    assert joined.place(len(lines)) == (1, len(lines))


def test_lines_and_events_of_all_follow_each_other() -> None:
    programs = three()
    joined = join(programs)
    assert joined.lines == [line for lines, _ in programs for line in lines]
    assert joined.starts == (0, len(programs[0][0]), len(programs[0][0]) + len(programs[1][0]))
    assert joined.timeline.blocks == sum(timeline.blocks for _, timeline in programs)
    assert joined.timeline.units == "mm"
    own = [event for event in joined.timeline.events if not isinstance(event, Halt)]
    theirs = [
        event._replace(line=event.line + start)
        for (_, timeline), start in zip(programs, joined.starts, strict=True)
        for event in timeline.events
    ]
    assert all(same(*pair) for pair in zip(own, theirs, strict=True))
    assert [event.line for event in joined.timeline.events] == sorted(event.line for event in joined.timeline.events)


def same(joined: Event, stated: Event) -> bool:
    """Whether two events are the same, places that are not known among them."""
    if not (isinstance(joined, Move) and isinstance(stated, Move)):
        return joined == stated
    places = zip(joined.start + joined.end, stated.start + stated.end, strict=True)
    return joined[3:] == stated[3:] and all(
        place == told or (math.isnan(place) and math.isnan(told)) for place, told in places
    )


def test_a_program_begins_where_the_one_before_has_left_the_machine() -> None:
    joined = join(three())
    moves = [event for event in joined.continued.events if isinstance(event, Move)]
    over = [move for move in moves if "(over bore" in joined.lines[move.line - 1]]
    assert [(move.start, move.end) for move in over[1:]] == [
        ((3.0, 0.0, 160.0), (-127.0, 0.0, 160.0)),
        ((-127.0, 0.0, 160.0), (-252.0, 0.0, 160.0)),
    ]
    assert all(math.isnan(place) for place in moves[0].start)
    taken_for_granted = [
        event for event in joined.timeline.events if isinstance(event, Move) and event.line == over[1].line
    ]
    assert all(math.isnan(move.start[0]) for move in taken_for_granted)


def test_behind_the_end_of_every_program_but_the_last_stands_a_halt() -> None:
    joined = join(three())
    events = joined.timeline.events
    ends = [number for number, event in enumerate(events) if isinstance(event, End)]
    assert len(ends) == 3
    assert ends[-1] == len(events) - 1
    halts = [events[number + 1] for number in ends[:-1]]
    assert halts == [Halt(start, "", False, STOPPED) for start in joined.starts[1:]]
    assert [joined.place(halt.line) for halt in halts] == [
        (1, joined.starts[1]),
        (2, joined.starts[2] - joined.starts[1]),
    ]


def test_the_programs_are_left_as_they_were() -> None:
    programs = three()
    join(programs)
    assert programs == three()


@given(st.lists(st.integers(1, 9), min_size=1, max_size=5))
def test_every_line_is_placed_in_its_own_program(lengths: list[int]) -> None:
    programs = [
        ([f"{number}:{line}" for line in range(1, length + 1)], Timeline()) for number, length in enumerate(lengths, 1)
    ]
    joined = join(programs)
    for at, text in enumerate(joined.lines, 1):
        number, line = joined.place(at)
        assert text == f"{number}:{line}"
        placed = joined.placed(Finding("no-end", at, text, "found", "expected"))
        assert placed == Finding("no-end", line, text, "found", "expected", number)
    assert joined.place(0) == (1, 0)
    assert all(earlier < later for earlier, later in pairwise(joined.starts))


@pytest.mark.parametrize("empty", [0, 1, 2])
def test_an_empty_program_has_its_one_line(empty: int) -> None:
    programs = three()
    programs[empty] = ([""], Timeline())
    joined = join(programs)
    assert joined.place(joined.starts[empty] + 1) == (empty + 1, 1)
