"""The summary in words: what a machinist reads when the command is done."""

from collections.abc import Iterator
from typing import Any

from post.units import UNIT_WORD, plain

SENSES = {"M3": "clockwise", "M4": "counterclockwise"}
"""Which way the spindle turns, seen from above, by its word."""
WIDEST_FINDINGS = 20
"""Findings printed in full, those alike once; JSON has them all."""
MOST_LINES = 10
"""Further lines told of a finding."""


def report(facts: dict[str, Any]) -> str:
    """Lines of text from the figures of ``gen.summary``."""
    return "\n".join(_lines(facts))


def _lines(facts: dict[str, Any]) -> Iterator[str]:
    word = UNIT_WORD[facts["units"]]
    yield facts["job"] + (" (walk-through)" if facts["walk"] else "")
    if facts["bores"]:
        yield from _speeds(facts, word)
    else:
        yield _row("spindle", "never turns")
    if facts["travel"]:
        yield _row("time", _time(facts))
        if facts["leave_angle"]:
            side = "+Y" if facts["leave_angle"] > 0 else "-Y"
            yield _row("in and out", f"{plain(abs(facts['leave_angle']), 3)} degrees from straight up, toward {side}")
        yield from _travel(facts, word)
        if facts["closest"]:
            yield _row("closest", _closest(facts, word))
        yield _row("read", _read(facts))
    for name, told in _rows("derived", facts["derived"]):
        yield _row(name, told)
    for name, told in _rows("passes", [_pass(entry, facts, word) for entry in facts["passes"]]):
        yield _row(name, told)
    for caution in facts["cautions"]:
        yield _row("beware", f"{caution['problem']}: {caution['remedy']}")
    for program, message in enumerate(facts["settings"], 1):
        yield _row("program" if program == 1 else "", f"{program} of {facts['parts']}: before it, {message}")
    for gap in facts["unchecked"]:
        yield _row("not checked", gap)
    yield from _findings(facts)
    for kind, path in facts["beside"].items():
        yield _row(kind, path)
    yield _row("verdict", _verdict(facts))


def _row(name: str, text: str) -> str:
    return f"  {name:<12}{text}"


def _speeds(facts: dict[str, Any], word: str) -> Iterator[str]:
    bores = facts["bores"]
    sizes = _range([bore["diameter"] for bore in bores], 4)
    yield _row(
        "bores",
        f"{len(bores)}, diameter {sizes} {word}, X {plain(bores[0]['start'], 4)} to {plain(bores[-1]['end'], 4)}",
    )
    if not span(bores, "spindle_rpm", 1):
        return
    own = ", as programmed" if facts["physics_only"] else ""
    yield _row("cutter", f"{span(bores, 'cutter_rpm', 1)} rpm{own}")
    sense = facts["sense"]
    turning = f", {sense} ({SENSES[sense]})" if sense else ""
    yield _row("spindle", f"{span(bores, 'spindle_rpm', 1)} rpm{turning}{own}")
    feeds, turns = span(bores, "feed", 4), span(bores, "feed_per_turn", 5)
    yield _row("feed", f"{feeds} {word}/min, {turns} {word} a cutter turn{own}")


def _rows(name: str, texts: list[str]) -> Iterator[tuple[str, str]]:
    """Texts under one name."""
    return ((name if number == 0 else "", text) for number, text in enumerate(texts))


def _pass(entry: dict[str, Any], facts: dict[str, Any], word: str) -> str:
    digits = 3 if facts["units"] == "mm" else 4
    bores = entry["bores"]
    which = f"bore {bores[0]}" if len(bores) == 1 else f"{len(bores)} bores from {bores[0]}"
    depth = (
        f", {_range([entry['least_depth'], entry['most_depth']], digits)} {word} deep" if entry["most_depth"] else ""
    )
    finish = f", Ra {plain(entry['ra'], 2)}" if entry["ra"] and entry["kind"] == "finish" else ""
    return f"{entry['pass']} {entry['kind']:<7}set {entry['setting']:.{digits}f}  {which}{depth}{finish}"


def span(bores: list[dict[str, Any]], name: str, digits: int) -> str:
    """From the least to the greatest that a figure is in some bores; nothing where it is known in none."""
    values = [value for bore in bores for value in _values(bore, name)]
    return _range(values, digits) if values else ""


def _values(bore: dict[str, Any], name: str) -> list[float]:
    """A figure of a bore, or its ends where it is not one all through the bore."""
    if bore[name] is not None:
        return [bore[name]]
    ends: list[float] = bore["ranges"].get(name, [])
    return ends


def _range(values: list[float], digits: int) -> str:
    low, high = plain(min(values), digits), plain(max(values), digits)
    return low if low == high else f"{low} to {high}"


def _time(facts: dict[str, Any]) -> str:
    if facts["walk"]:
        return f"{minutes(facts['cycle_time_s'])} of moving, without the stops"
    return f"{minutes(facts['cycle_time_s'])} in all, {minutes(facts['cut_time_s'])} of it in the cut"


def minutes(seconds: float) -> str:
    """A time in minutes and seconds."""
    whole, rest = divmod(round(seconds), 60)
    return f"{whole} min {rest} s" if whole else f"{rest} s"


def _travel(facts: dict[str, Any], word: str) -> Iterator[str]:
    name = "travel"
    for axis, extent in facts["travel"].items():
        places = f"{axis.upper()}  machine {plain(extent['min'], 3)} to {plain(extent['max'], 3)} {word}"
        yield _row(
            name, f"{places:<38}left {plain(extent['low_margin'], 3)} low, {plain(extent['high_margin'], 3)} high"
        )
        name = ""
    margin, tight = tightest(facts)
    ends = [f"both ends of {name}" if len(at) > 1 else f"the {at[0]} end of {name}" for name, at in tight.items()]
    yield _row("", f"tightest: {plain(margin, 3)} {word} at {' and '.join(ends)}")


def tightest(facts: dict[str, Any]) -> tuple[float, dict[str, list[str]]]:
    """The least that is left of travel, and all ends where no more is: "low" and "high", by axis."""
    margins = {(axis, end): told[f"{end}_margin"] for axis, told in facts["travel"].items() for end in ("low", "high")}
    least = min(margins.values())
    places: dict[str, list[str]] = {}
    for (axis, end), margin in margins.items():
        if margin == least:
            places.setdefault(axis.upper(), []).append(end)
    return least, places


def _closest(facts: dict[str, Any], word: str) -> str:
    closest = facts["closest"]
    apart = f"{plain(closest['distance'], 3)} {word} between {closest['part']} and {closest['obstacle']}"
    return f"{apart}, {_where(closest, facts)}: {closest['why']}"


def _read(facts: dict[str, Any]) -> str:
    told = f"{facts['blocks']} blocks, {facts['read_twice']} of them by two independent readers"
    once = "; ".join(f"{count} once only ({reason})" for reason, count in facts["read_once"].items())
    return f"{told}; {once}" if once else told


def _findings(facts: dict[str, Any]) -> Iterator[str]:
    alike: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
    for finding in facts["findings"]:
        alike.setdefault((finding["program"], finding["rule"], finding["message"]), []).append(finding)
    left = len(facts["findings"])
    for key in _told_first(list(alike)):
        finding, *others = alike[key]
        left -= len(alike[key])
        yield f"  {_where(finding, facts)}: {finding['rule']}: {finding['message']}"
        if finding["text"]:
            yield f"      {finding['text'].strip()}"
        if others:
            yield f"      {_the_same([other['line'] for other in others])}"
    if left:
        yield f"  and {left} more; --json lists them all"


def _the_same(lines: list[int]) -> str:
    """Further lines with the same finding."""
    told = ", ".join(map(str, lines[:MOST_LINES]))
    more = f" and {len(lines) - MOST_LINES} more" if len(lines) > MOST_LINES else ""
    return f"the same in line{'s' if len(lines) > 1 else ''} {told}{more}"


def _where(place: dict[str, Any], facts: dict[str, Any]) -> str:
    return f"program {place['program']}, line {place['line']}" if facts["parts"] > 1 else f"line {place['line']}"


def _told_first(found: list[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    """Those to print, of program, rule and message: the first of every rule, then others as far as there is room."""
    firsts = {rule: number for number, (_, rule, _) in reversed(list(enumerate(found)))}
    order = sorted(range(len(found)), key=lambda number: firsts[found[number][1]] != number)
    return [found[number] for number in sorted(order[:WIDEST_FINDINGS])]


def _verdict(facts: dict[str, Any]) -> str:
    if not facts["ok"]:
        count = len(facts["findings"])
        return f"NOT PROVED, {count} {'finding' if count == 1 else 'findings'}"
    where = f": {', '.join(facts['programs'])}" if facts["programs"] else ""
    if facts["physics_only"]:
        return f"PROVED, physics only, not held to the plan{where}"
    return f"PROVED{where}"
