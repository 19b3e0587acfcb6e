"""The figures after a round of measuring in words: a row for every bore, the cutter, and the next settings."""

from collections.abc import Iterator
from typing import Any, Final

from gen.borecells import MOST_NAMED, named
from gen.chance import percent
from gen.columns import UNITS_NAMED, at_20, fixed, row, table
from post.units import UNIT_WORD, plain

HEADS: Final = ("bore", "set", "before", "mean", "+-", "taper", "ovality", "scatter", "read", "size")
EXPECTED: Final = ("bore", "expected", "from", "to", "chance")
WIDEST: Final = 200
"""Bores told in full; JSON has them all."""


def words(facts: dict[str, Any]) -> str:
    """Lines of text from the figures of ``gen.sizing``."""
    return "\n".join(_lines(facts))


def _lines(facts: dict[str, Any]) -> Iterator[str]:
    word, digits = UNIT_WORD[facts["units"]], 4 if facts["units"] == "mm" else 5
    of = f" of {facts['rounds']} on record" if facts["round"] < facts["rounds"] else ""
    yield f"{facts['job']}, round {facts['round']}{of}"
    yield row("sizes", f"in {UNITS_NAMED[facts['units']]}{at_20(facts['temperature'], facts['grown'])}")
    yield ""
    yield from table([HEADS, *(_bore(bore, digits) for bore in facts["bores"][:WIDEST])])
    yield from _more(facts["bores"])
    yield ""
    yield from _cutter(facts["cutter"], word, digits)
    for one in facts["next"]:
        yield ""
        yield from _next(one, digits)
    yield ""
    for note in facts["notes"]:
        yield row("note", note)
    yield row("verdict", _verdict(facts, word, digits))


def _bore(bore: dict[str, Any], digits: int) -> tuple[str, ...]:
    low, high = bore["limits"]
    size = {
        "in": "in tolerance",
        "under": f"{fixed(low - bore['smallest'], digits)} under",
        "over": f"{fixed(bore['largest'] - high, digits)} OVER",
    }
    sizes = (fixed(bore[name], digits) for name in ("set", "before", "mean", "error", "taper", "ovality", "scatter"))
    return (bore["name"], *sizes, str(bore["readings"]), size[bore["is"]])


def _more(bores: list[Any]) -> Iterator[str]:
    if len(bores) > WIDEST:
        yield f"  and {len(bores) - WIDEST} more; --json lists them all"


def _cutter(cutter: dict[str, Any], word: str, digits: int) -> Iterator[str]:
    side = "larger" if cutter["bias"] >= 0 else "smaller"
    bias, doubt = plain(abs(cutter["bias"]), digits), plain(cutter["bias_error"], digits)
    spring, spring_doubt = plain(100 * cutter["spring"], 1), plain(100 * cutter["spring_error"], 1)
    yield row(
        "cutter", f"bias {bias} {word} {side} than set, +- {doubt}; spring {spring} % of the cut, +- {spring_doubt}"
    )
    setting, scatter = plain(cutter["setting_error"], digits), plain(cutter["scatter"], digits)
    cuts = "1 cut" if cutter["cuts"] == 1 else f"{cutter['cuts']} cuts"
    yield row("", f"a setting repeats to {setting} {word}, bores scatter {scatter}; learned from {cuts}")


def _next(one: dict[str, Any], digits: int) -> Iterator[str]:
    yield row(f"pass {one['pass']}", f"{one['kind']}: {one['advice'].upper()}: {one['reason']}")
    if one["leave_out"] and one["advice"] != "stop":
        yield row("leave out", f"{_names(one['leave_out'])}: in tolerance already")
    if one["setting"] is not None:
        yield row("set", f"{one['setting']}, {_names(one['bores'])}")
    told = one["expected"][:WIDEST]
    if not told:
        return
    columns = 5 if one["chance_all"] is not None else 4
    yield from table([EXPECTED[:columns], *(_expected(bore, digits)[:columns] for bore in told)])
    yield from _more(one["expected"])


def _expected(bore: dict[str, Any], digits: int) -> tuple[str, ...]:
    sizes = (fixed(bore[name], digits) for name in ("size", "low", "high"))
    return (bore["name"], *sizes, percent(bore["chance"]) if bore["chance"] is not None else "-")


def _verdict(facts: dict[str, Any], word: str, digits: int) -> str:
    if facts["round"] < facts["rounds"]:
        return (
            f"OLD: this is round {facts['round']} of {facts['rounds']} on record; the row has gone on since: the next"
            " setting follows from what was measured last"
        )
    over = [bore for bore in facts["bores"] if bore["is"] == "over"]
    if over:
        shown = over[:MOST_NAMED]
        by = ", ".join(f"{plain(bore['largest'] - bore['limits'][1], digits)} {word}" for bore in shown)
        more = " and more" if over[MOST_NAMED:] else ""
        told = f"{named(bore['name'] for bore in over)} over {'its' if len(over) == 1 else 'their'} largest size by"
        it = "it" if len(over) == 1 else "them"
        return f"STOP: {told} {by}{more}: cut nothing; gauge {it} again, and if it is so give {it} limits in the job"
    held = [str(one["pass"]) for one in facts["next"] if one["advice"] == "stop" and one["bores"]]
    if held:
        return f"STOP: {'pass' if len(held) == 1 else 'passes'} {', '.join(held)}, for the reason told there"
    to_cut = [str(one["pass"]) for one in facts["next"] if one["advice"] != "stop"]
    if to_cut:
        return f"CUT: {'pass' if len(to_cut) == 1 else 'passes'} {', '.join(to_cut)}, as told there"
    return "DONE: every bore is in tolerance"


def _names(names: list[str]) -> str:
    shown = ", ".join(names[:WIDEST]) + (" and more" if len(names) > WIDEST else "")
    return f"{'bore' if len(names) == 1 else 'bores'} {shown}"
