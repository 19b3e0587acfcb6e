"""Any program a post's control reads, without a job: what it does in figures, and the same as text.

Nothing is known of the machine: rapids have no rates and the zero no place. What the program states is all there is.
"""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any, Final

from post.codes import AXES
from post.dialect import Dialect
from post.reader import Block, read
from post.refusal import show
from post.replay import MOST_FINDINGS, replay
from post.telling import SENSE_WORD, in_words
from post.timeline import Event, Halt, Move, OffsetChange, SpinChange, Wait
from post.units import MM_PER, UNIT_WORD, plain

MOST_LISTED: Final = 100
"""Speeds, stops and codes printed of each; JSON has them all."""

LONGEST_TEXT: Final = 120
"""Characters printed of a line that could not be interpreted."""


def facts(text: str, dialect: Dialect, post_name: str) -> dict[str, Any]:
    """What a program does, ready for JSON: lengths and feeds in the unit it states first, times in seconds.

    ``moves`` are all of them, a fixed cycle's one by one; a place not known is null. ``extents`` are, for each work
    offset and axis, the lowest and highest known place in program coordinates, and the moves that start where it is
    not known, as every first one does. ``times`` count a move from such a place by its known axes alone; rapids are
    counted as length of way. ``codes`` count what is written, interpreted or not. ``findings_cut`` says that there may
    be more findings than are kept, and then the program is judged only up to the last. A figure too large for a float
    is null.
    """
    written: Counter[tuple[str, float]] = Counter()
    timeline = replay(_counted(read(text, dialect), written), dialect)
    codes = _codes(written, dialect)
    placed = list(_placed(timeline.events))
    per = MM_PER[timeline.units or "mm"]
    return {
        "ok": not timeline.findings,
        "post": post_name,
        "units": timeline.units,
        "mixed_units": {dialect.unit_words.mm, dialect.unit_words.inch} <= {code["code"] for code in codes},
        "blocks": timeline.blocks,
        "moves": [_move(offset, move, per) for offset, move in placed],
        "extents": _extents(placed, per),
        "times": _times(timeline.events, per),
        "speeds": _speeds(timeline.events),
        "work_offsets": list(dict.fromkeys(event.code for event in timeline.events if isinstance(event, OffsetChange))),
        "codes": codes,
        "stops": [
            {"line": event.line, "message": event.message, "optional": event.optional}
            for event in timeline.events
            if isinstance(event, Halt)
        ],
        "findings": [{**finding._asdict(), "message": finding.message} for finding in timeline.findings],
        "findings_cut": len(timeline.findings) >= MOST_FINDINGS,
    }


def _counted(blocks: Iterable[Block], written: Counter[tuple[str, float]]) -> Iterator[Block]:
    """The same blocks, their G and M words counted as they pass."""
    for block in blocks:
        written.update(word for word in block.words if word[0] in "GM")
        yield block


def _codes(written: Counter[tuple[str, float]], dialect: Dialect) -> list[dict[str, Any]]:
    counts: Counter[str] = Counter()
    for (letter, value), count in sorted(written.items()):
        counts[show(letter, value + 0.0)] += count
    return [{"code": code, "count": count, "words": in_words(code, dialect)} for code, count in counts.items()]


def _placed(events: Iterable[Event]) -> Iterator[tuple[str, Move]]:
    """Moves, each with the work offset its coordinates count from."""
    offset = ""
    for event in events:
        if isinstance(event, OffsetChange):
            offset = event.code
        elif isinstance(event, Move):
            yield offset, event


def _move(offset: str, move: Move, per: float) -> dict[str, Any]:
    x, y, z = move.end
    feed, spin = move.feed, move.spin
    return {
        "line": move.line,
        "what": "rapid" if feed is None else "feed",
        "x": _finite(x / per, 6),
        "y": _finite(y / per, 6),
        "z": _finite(z / per, 6),
        "feed": None if feed is None else _finite(feed / per, 6),
        "feed_per_turn": _finite(feed / per / spin.rpm, 8) if feed is not None and spin.turning else None,
        "rpm": spin.rpm,
        "sense": None if spin.sense is None else spin.sense.value,
        "angle": spin.angle,
        "work_offset": offset,
    }


def _finite(value: float, digits: int) -> float | None:
    """A number as JSON has it, no minus zero; null for one that is unknown or too large."""
    return round(value, digits) + 0.0 if math.isfinite(value) else None


@dataclass(slots=True)
class _Extent:
    """How far an axis goes, mm; and the moves whose start on it is not known: how many, first and last line."""

    low: float = math.inf
    high: float = -math.inf
    unknown_moves: int = 0
    first_unknown: int | None = None
    last_unknown: int | None = None

    def take(self, line: int, start: float, end: float) -> None:
        """Count one move in."""
        # A known start is the end of a move before.
        if not math.isnan(end):
            self.low = min(self.low, end)
            self.high = max(self.high, end)
        if math.isnan(start):
            self.unknown_moves += 1
            self.first_unknown = self.first_unknown or line
            self.last_unknown = line

    def told(self, per: float) -> dict[str, Any]:
        """The same in a unit, ready for JSON."""
        return {
            "low": _finite(self.low / per, 6),
            "high": _finite(self.high / per, 6),
            "unknown_moves": self.unknown_moves,
            "first_unknown": self.first_unknown,
            "last_unknown": self.last_unknown,
        }


def _extents(placed: Iterable[tuple[str, Move]], per: float) -> dict[str, dict[str, Any]]:
    """For each work offset and axis: places under different offsets count from different zeros."""
    extents: dict[str, tuple[_Extent, _Extent, _Extent]] = {}
    for offset, move in placed:
        of_axes = extents.setdefault(offset, (_Extent(), _Extent(), _Extent()))
        for extent, start, end in zip(of_axes, move.start, move.end, strict=True):
            extent.take(move.line, start, end)
    return {
        offset: {axis.lower(): extent.told(per) for axis, extent in zip(AXES, of_axes, strict=True)}
        for offset, of_axes in extents.items()
    }


def _times(events: Sequence[Event], per: float) -> dict[str, Any]:
    moves = [event for event in events if isinstance(event, Move)]
    feed_s = sum(_feed_s(move) for move in moves if move.feed is not None)
    dwell_s = sum(event.seconds for event in events if isinstance(event, Wait))
    rapids = [move for move in moves if move.feed is None]
    return {
        "cutting_s": _finite(feed_s + dwell_s, 3),
        "feed_s": _finite(feed_s, 3),
        "dwell_s": _finite(dwell_s, 3),
        "feeds": len(moves) - len(rapids),
        "rapids": len(rapids),
        "rapid_length": _finite(sum(map(_way, rapids)) / per, 6),
        "from_unknown": sum(map(_from_unknown, moves)),
        "stops": sum(isinstance(event, Halt) for event in events),
    }


def _feed_s(move: Move) -> float:
    # A feed a turn can be too small for a float once it is a feed a minute.
    return 60 * _way(move) / move.feed if move.feed else math.inf


def _way(move: Move) -> float:
    """Length of a move along the axes whose start is known, mm."""
    return math.hypot(*(end - start for start, end in zip(move.start, move.end, strict=True) if not math.isnan(start)))


def _from_unknown(move: Move) -> bool:
    """Whether the move brings an axis from a place not known to one that is."""
    return any(math.isnan(start) > math.isnan(end) for start, end in zip(move.start, move.end, strict=True))


def _speeds(events: Iterable[Event]) -> list[dict[str, Any]]:
    """Speeds and senses the spindle is told to turn at, in the order of first use, with the line of it."""
    first: dict[tuple[float, str], int] = {}
    for event in events:
        if isinstance(event, SpinChange) and event.spin.sense is not None:
            first.setdefault((event.spin.rpm, event.spin.sense.value), event.line)
    return [{"rpm": rpm, "sense": sense, "line": line} for (rpm, sense), line in first.items()]


def words(facts: dict[str, Any]) -> str:
    """The figures of ``facts`` as text: a line a move to 0.001 mm or 0.0001 in, then what they come to."""
    return "\n".join(chain(_table(facts), _lines(facts, UNIT_WORD[facts["units"] or "mm"])))


_HEADS: Final = ("line", "move", "X", "Y", "Z", "feed", "a spindle turn", "spindle")
_LEFT: Final = ("move", "spindle", "offset")


def _table(facts: dict[str, Any]) -> Iterator[str]:
    if not facts["moves"]:
        yield "no moves"
        return
    several = len(facts["extents"]) > 1
    heads = (*_HEADS, "offset") if several else _HEADS
    unit, digits = ("inches", 4) if facts["units"] == "inch" else ("mm", 3)
    rows = [heads, *(tuple(_cells(move, digits, several=several)) for move in facts["moves"])]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = (
            cell.ljust(width) if head in _LEFT else cell.rjust(width)
            for head, cell, width in zip(heads, row, widths, strict=True)
        )
        yield "  ".join(cells).rstrip()
    yield f"lengths in {unit}, feed in {unit} a minute and {unit} a spindle turn; ? is a place not known"


def _cells(move: dict[str, Any], digits: int, *, several: bool) -> Iterator[str]:
    yield str(move["line"])
    yield move["what"]
    for axis in "xyz":
        yield "?" if move[axis] is None else _number(move[axis], digits)
    yield "" if move["feed"] is None else _number(move["feed"], digits)
    yield "" if move["feed_per_turn"] is None else _number(move["feed_per_turn"], digits + 2)
    yield _spindle(move)
    if several:
        yield move["work_offset"]


def _number(value: float, digits: int) -> str:
    """With so many digits behind the point; beyond what a machine has, in short, so that one cannot widen a table."""
    return f"{round(value, digits) + 0.0:.{digits}f}" if abs(value) < 1e9 else f"{value:.6g}"


def _spindle(move: dict[str, Any]) -> str:
    if move["sense"] is not None:
        return f"{move['sense']} {_short(move['rpm'], 1)}"
    return "stopped" if move["angle"] is None else f"stopped at {_short(move['angle'], 3)} deg"


def _short(value: float, digits: int) -> str:
    return plain(value, digits) if abs(value) < 1e9 else f"{value:.6g}"


def _lines(facts: dict[str, Any], unit: str) -> Iterator[str]:
    yield _row("read", f"{_count(facts['blocks'], 'block')}, by post {facts['post']}, {_units(facts)}")
    yield from _rows("extents", list(_extent_texts(facts, unit)) or ["none: nothing moves"])
    yield from _rows("time", list(_time_texts(facts["times"], unit)))
    yield from _rows("spindle", _some([_speed(speed) for speed in facts["speeds"]]) or ["never turns"])
    yield _row("work offset", ", ".join(facts["work_offsets"]) or "none")
    yield from _rows("stops", _some([_stop(stop) for stop in facts["stops"]]) or ["none"])
    yield from _rows("codes", _some([_code_text(code) for code in facts["codes"]]) or ["none"])
    yield from _findings(facts)
    yield _row("verdict", _verdict(facts))


def _row(name: str, text: str) -> str:
    return f"  {name:<12}{text}"


def _rows(name: str, texts: Iterable[str]) -> Iterator[str]:
    for number, text in enumerate(texts):
        yield _row("" if number else name, text)


def _some(texts: list[str]) -> list[str]:
    """As many as are printed of a list, and how many are not."""
    more = len(texts) - MOST_LISTED
    return [*texts[:MOST_LISTED], f"and {more} more; --json lists them all"] if more > 0 else texts


def _units(facts: dict[str, Any]) -> str:
    if facts["units"] is None:
        return "no unit stated"
    stated = "lengths in inches" if facts["units"] == "inch" else "lengths in mm"
    return f"{stated}, all told so though it has both units" if facts["mixed_units"] else stated


def _extent_texts(facts: dict[str, Any], unit: str) -> Iterator[str]:
    for offset, extents in facts["extents"].items():
        for axis, extent in extents.items():
            yield f"{offset}  {axis.upper()}  {_extent(extent, unit)}"


def _extent(extent: dict[str, Any], unit: str) -> str:
    if extent["low"] is None or extent["high"] is None:
        return "never known"
    places = f"{_short(extent['low'], 4)} to {_short(extent['high'], 4)} {unit}"
    first, last, count = extent["first_unknown"], extent["last_unknown"], extent["unknown_moves"]
    lines = f"line {first}" if first == last else f"lines {first} to {last}"
    return f"{places}; start not known on {_count(count, 'move')}, {lines}"


def _time_texts(times: dict[str, Any], unit: str) -> Iterator[str]:
    feeding = f"{_clock(times['feed_s'])} in {_count(times['feeds'], 'feed move')}"
    yield f"{_clock(times['cutting_s'])} cutting: {feeding}, {_clock(times['dwell_s'])} standing"
    way = "?" if times["rapid_length"] is None else _short(times["rapid_length"], 3)
    yield f"not counted: {_count(times['rapids'], 'rapid')}, {way} {unit} of way; {_count(times['stops'], 'stop')}"
    if times["from_unknown"]:
        yield f"{_count(times['from_unknown'], 'move')} from a place not known, counted by the axes that are known"


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _clock(seconds: float | None) -> str:
    if seconds is None:
        return "no end"
    if not 60 <= seconds < 1e9:
        return f"{_short(seconds, 2)} s"
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s"


def _speed(speed: dict[str, Any]) -> str:
    sense = next(word for sense, word in SENSE_WORD.items() if sense.value == speed["sense"])
    return f"{_short(speed['rpm'], 1)} rpm, {speed['sense']} ({sense}), first on line {speed['line']}"


def _stop(stop: dict[str, Any]) -> str:
    optional = ", if the switch for it is on" if stop["optional"] else ""
    return f"line {stop['line']}{optional}: {stop['message'] or 'no message'}"


def _code_text(code: dict[str, Any]) -> str:
    return f"{code['code']:<6}{code['count']:>6}  {code['words']}"


def _findings(facts: dict[str, Any]) -> Iterator[str]:
    for finding in facts["findings"]:
        place = f"line {finding['line']}: " if finding["line"] else ""
        yield f"  {place}{finding['rule']}: {_printable(finding['message'])}"
        if finding["text"].strip():
            yield f"      {_printable(_in_short(finding['text'].strip()))}"
    if facts["findings_cut"]:
        yield f"  no more than {MOST_FINDINGS} findings are kept: what follows the last may hold more"


def _printable(text: str) -> str:
    """A foreign text as a screen can take it, without control signs."""
    return "".join(sign if sign.isprintable() else "?" for sign in text)


def _in_short(text: str) -> str:
    return text if len(text) <= LONGEST_TEXT else f"{text[:LONGEST_TEXT]}..."


def _verdict(facts: dict[str, Any]) -> str:
    if facts["ok"]:
        return "ALL INTERPRETED; nothing is proved without a job"
    return f"NOT ALL INTERPRETED, {_count(len(facts['findings']), 'finding')}: do not trust the rest"
