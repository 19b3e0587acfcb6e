"""Short programs for tests of the reader and the replay."""

from typing import Any, Final

from post.dialect import Dialect, Resolution, Steps
from post.finding import Finding
from post.reader import Block, read
from post.replay import replay
from post.timeline import Event, Move, Point, Timeline

RESOLUTION: Final = Resolution(
    mm=Steps(length=0.001, feed=0.001, feed_per_turn=0.0001),
    inch=Steps(length=0.0001, feed=0.0001, feed_per_turn=0.00001),
)
BARE: Final = Dialect(about="No cycles, no oriented stop", resolution=RESOLUTION)


def made(**keys: Any) -> Dialect:
    """A dialect with every cycle and an oriented stop, and these keys as its file would give them."""
    full = {
        "about": "All there is",
        "resolution": RESOLUTION,
        "cycles": ["G81", "G82", "G85", "G86", "G89"],
        "oriented_stop": {"angle": "R"},
    }
    return Dialect.model_validate({**full, **keys})


FULL: Final = made()

_FINEST: Final = {"length": 1e-7, "feed": 1e-7, "feed_per_turn": 1e-7}
FINE: Final = made(resolution={"mm": _FINEST, "inch": _FINEST, "speed": 1e-7}, dwell={"step": 1e-7})
"""The finest steps there are: reads numbers of seven digits behind the point."""

OPENING: Final = "G21 G17 G90 G94 G54 G98\nF100\n"
"""Everything stated, two lines long; a test's own first line is line 3."""

FIRST: Final = 3
"""Number of the first line after OPENING."""


def blocks(text: str, dialect: Dialect = FULL) -> list[Block]:
    """All blocks of a text."""
    return list(read(text, dialect))


def block(line: str, dialect: Dialect = FULL) -> Block:
    """The one block of a line."""
    (only,) = blocks(line, dialect)
    return only


def words(line: str, dialect: Dialect = FULL) -> tuple[tuple[str, float], ...]:
    """The words of a line that can be read."""
    only = block(line, dialect)
    assert only.finding is None
    return only.words


def unread(line: str, dialect: Dialect = FULL) -> tuple[str, str, str]:
    """Why a line cannot be read: rule, found, expected."""
    only = block(line, dialect)
    assert only.words == ()
    assert only.finding is not None
    assert (only.finding.line, only.finding.text) == (1, line)
    return reason(only.finding)


def run(text: str, dialect: Dialect = FULL, *, zero: Point | None = None, work_offset: str | None = None) -> Timeline:
    """Timeline of a whole text."""
    return replay(read(text, dialect), dialect, zero=zero, work_offset=work_offset)


def events(
    lines: str,
    dialect: Dialect = FULL,
    *,
    opening: str = OPENING,
    zero: Point | None = None,
    work_offset: str | None = None,
) -> list[Event]:
    """Events of lines between an opening and M30, without those of the two; they raise no finding."""
    timeline = run(f"{opening}{lines}\nM30", dialect, zero=zero, work_offset=work_offset)
    assert timeline.findings == []
    return timeline.events[1:-1]


def moves(lines: str, dialect: Dialect = FULL, *, opening: str = OPENING) -> list[tuple[Point, float | None]]:
    """Ends and feeds of the moves of lines between an opening and M30."""
    return [(event.end, event.feed) for event in events(lines, dialect, opening=opening) if isinstance(event, Move)]


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
