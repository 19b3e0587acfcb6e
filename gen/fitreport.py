"""The fit in words: a row for every bore, and under it what would make it fit."""

from collections.abc import Iterator
from typing import Any, Final

from post.units import UNIT_WORD, plain

HEADS: Final = (
    ("", "bore"),
    ("room", "in bay"),
    ("head", "takes"),
    ("front", "start"),
    ("left", "end"),
    ("back", "start"),
    ("left", "end"),
    ("other", "side"),
    ("", "fits"),
)
WIDEST: Final = 200
"""Bores told in full; JSON has them all."""


def fit_text(facts: dict[str, Any]) -> str:
    """Lines of text from the figures of ``gen.fit``."""
    return "\n".join(_lines(facts))


def _lines(facts: dict[str, Any]) -> Iterator[str]:
    word, digits = UNIT_WORD[facts["units"]], 3 if facts["units"] == "mm" else 4
    yield facts["job"]
    bores = facts["bores"]
    if bores:
        yield _row("limit", f"{plain(facts['limit'], digits)} {word} between the tool and anything else")
        yield _row("head", f"points {facts['points']}, leaves at {plain(facts['leave_angle'], 2)} degrees")
        yield ""
        yield from _table([HEADS_TOP, HEADS_BELOW, *(_cells(bore, digits) for bore in bores[:WIDEST])])
        if len(bores) > WIDEST:
            yield f"  and {len(bores) - WIDEST} more; --json lists them all"
        yield ""
        for bore in bores[:WIDEST]:
            yield from _bore(bore, word, digits)
        yield from _whole_row(facts, word, digits)
    for gap in facts["unchecked"]:
        yield _row("not checked", gap)
    yield _row("verdict", _verdict(facts))


HEADS_TOP: Final = tuple(top for top, _ in HEADS)
HEADS_BELOW: Final = tuple(below for _, below in HEADS)


def _row(name: str, text: str) -> str:
    return f"  {name:<11} {text}"


def _table(rows: list[tuple[str, ...]]) -> Iterator[str]:
    """Rows with their columns aligned, numbers to the right."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEADS))]
    for row in rows:
        first, *rest = (f"{cell:>{width}}" for cell, width in zip(row, widths, strict=True))
        yield "  " + "  ".join([f"{row[0]:<{len(first)}}", *rest]).rstrip()


def _cells(bore: dict[str, Any], digits: int) -> tuple[str, ...]:
    is_open = bore["room"] is None
    start, end = bore["left"]["start"], bore["left"]["end"]
    return (
        bore["name"],
        "open" if is_open else plain(bore["room"], digits),
        _number(bore["takes"], digits),
        _number(start["front"], digits),
        _number(end["front"], digits),
        "open" if is_open else _number(start["back"], digits),
        "open" if is_open else _number(end["back"], digits),
        _yes(bore["other_side"]),
        _yes(bore["fits"]),
    )


def _number(value: float | None, digits: int) -> str:
    return "-" if value is None else plain(value, digits)


def _yes(value: bool | None) -> str:
    return {True: "yes", False: "NO", None: "-"}[value]


def _bore(bore: dict[str, Any], word: str, digits: int) -> Iterator[str]:
    binding = bore["binding"]
    if binding is None:
        yield _row(f"bore {bore['name']}", "nothing comes near")
    else:
        pair = f"between {binding['part']} and {binding['obstacle']}"
        yield _row(f"bore {bore['name']}", f"{plain(binding['distance'], digits)} {word} {pair}: {binding['why']}")
    if bore["fits"] is not False or bore["would_fit"] is None:
        return
    for remedy in bore["would_fit"]:
        yield _row("", f"would fit with {_remedy(remedy, word, digits)}")
    if not bore["would_fit"]:
        yield _row("", "no other reach, smaller approach or leave angle alone makes it fit, nor the head turned round")


def _whole_row(facts: dict[str, Any], word: str, digits: int) -> Iterator[str]:
    row, count = facts["row"], len(facts["bores"])
    for remedy in row["would_fit"]:
        yield _row("whole row", f"would fit with {_remedy(remedy, word, digits)}")
    names = row["other_side"]
    if names:
        which = "every bore" if len(names) == count else f"{'bore' if len(names) == 1 else 'bores'} {', '.join(names)}"
        yield _row("other side", f"{which} could be cut with the head turned round")


def _remedy(remedy: dict[str, Any], word: str, digits: int) -> str:
    match remedy["change"]:
        case "reach":
            return f"a reach of {plain(remedy['to'], digits)} {word}"
        case "approach":
            start = f", the cutter starting at X {plain(remedy['start'], digits)}"
            return f"an approach of {plain(remedy['to'], digits)} {word}{start}"
        case "leave_angle":
            ranges = " or ".join(_range(*pair) for pair in remedy["ranges"])
            clears = f"; {ranges} clears" if ranges else ""
            return f"a leave angle of {plain(remedy['to'], 2)} degrees{clears}"
        case _:
            face = f", from the face at X {plain(remedy['face'], digits)}" if "face" in remedy else ""
            return f"the head turned round{face}"


def _range(low: float, high: float) -> str:
    return plain(low, 2) if low == high else f"{plain(low, 2)} to {plain(high, 2)}"


def _verdict(facts: dict[str, Any]) -> str:
    if facts["ok"] is None:
        return "NOT KNOWN to fit: the job tells too little"
    if facts["ok"]:
        return "FITS"
    misfits = [bore["name"] for bore in facts["bores"] if bore["fits"] is False]
    return f"DOES NOT FIT: {'bore' if len(misfits) == 1 else 'bores'} {', '.join(misfits)}"
