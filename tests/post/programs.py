"""Short programs for tests of the reader and the replay."""

from typing import Final

from post.dialect import Dialect, OrientedStop, Resolution, Steps
from post.finding import Finding
from post.reader import Block, read
from post.replay import replay
from post.timeline import Event, Move, Point, Timeline

RESOLUTION: Final = Resolution(mm=Steps(length=0.001, feed=0.001), inch=Steps(length=0.0001, feed=0.0001))
BARE: Final = Dialect(about="No cycles, no oriented stop", resolution=RESOLUTION)
FULL: Final = Dialect(
    about="All there is",
    resolution=RESOLUTION,
    cycles=frozenset({"G81", "G82", "G85", "G86", "G89"}),
    oriented_stop=OrientedStop(angle="R"),
)

OPENING: Final = "G21 G17 G90 G94 G54 G98\nF100\n"
"""Everything stated, two lines long; a test's own first line is line 3."""

FIRST: Final = 3
"""Number of the first line after OPENING."""


def blocks(text: str) -> list[Block]:
    """All blocks of a text."""
    return list(read(text, FULL))


def block(line: str) -> Block:
    """The one block of a line."""
    (only,) = blocks(line)
    return only


def words(line: str) -> tuple[tuple[str, float], ...]:
    """The words of a line that can be read."""
    only = block(line)
    assert only.finding is None
    return only.words


def unread(line: str) -> tuple[str, str, str]:
    """Why a line cannot be read: rule, found, expected."""
    only = block(line)
    assert only.words == ()
    assert only.finding is not None
    assert (only.finding.line, only.finding.text) == (1, line)
    return only.finding.rule, only.finding.found, only.finding.expected


def run(text: str, dialect: Dialect = FULL, *, zero: Point | None = None, work_offset: str | None = None) -> Timeline:
    """Timeline of a whole text."""
    return replay(read(text, dialect), dialect, zero=zero, work_offset=work_offset)


def events(
    lines: str, dialect: Dialect = FULL, *, zero: Point | None = None, work_offset: str | None = None
) -> list[Event]:
    """Events of lines between OPENING and M30, without those of the two; they raise no finding."""
    timeline = run(f"{OPENING}{lines}\nM30", dialect, zero=zero, work_offset=work_offset)
    assert timeline.findings == []
    return timeline.events[1:-1]


def moves(lines: str) -> list[tuple[Point, float | None]]:
    """Ends and feeds of the moves of lines between OPENING and M30."""
    return [(event.end, event.feed) for event in events(lines) if isinstance(event, Move)]


def refused(
    lines: str,
    dialect: Dialect = FULL,
    *,
    opening: str = OPENING,
    zero: Point | None = None,
    work_offset: str | None = None,
) -> tuple[str, str, str]:
    """Rule, found and expected of the one finding of lines after an opening; it is at the last of these lines."""
    text = f"{opening}{lines}"
    timeline = run(f"{text}\nM30", dialect, zero=zero, work_offset=work_offset)
    (finding,) = timeline.findings
    assert (finding.line, finding.text) == (text.count("\n") + 1, text.rsplit("\n", 1)[-1])
    return reason(finding)


def reason(finding: Finding) -> tuple[str, str, str]:
    """A finding without its place."""
    return finding.rule, finding.found, finding.expected
