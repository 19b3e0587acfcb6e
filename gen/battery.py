"""The jobs a post is tried on: between them they reach every step, and the numbers and names that posts trip over.

From plain to hard, each with something that those before it have not, so that the first to fail tells what is wrong
with a post. Rows are short and the mill can do all that is asked of it: on trial is the post, not the shop.

Every row below is written for a bar that points -X, from right to left; for one that points +X its mirror image is
taken. A change is told by its place in the job, "head.ratio".
"""

import copy
import string
from collections.abc import Iterator, Mapping
from typing import Any, Final, NamedTuple

from gen.job import Job
from post.units import Units

Data = dict[str, Any]
Changes = Mapping[str, Any]
_Entry = tuple[str, Units, Changes]


class Trial(NamedTuple):
    """A job to try a post on, to be bored or walked through, under a name that no other trial has."""

    name: str
    job: Job
    walk: bool


def trials() -> tuple[Trial, ...]:
    """Every trial, the plainest first. Each proves under a post that has words for all of its steps."""
    return (
        *(Trial(name, _job(units, changes), walk=False) for name, units, changes in _BORED),
        *(Trial(name, _job(units, changes), walk=True) for name, units, changes in _WALKED),
    )


def _job(units: Units, changes: Changes) -> Job:
    data = copy.deepcopy({**_SHARED, **_BASE[units], "units": units})
    for place, value in changes.items():
        *tables, key = place.split(".")
        table = data
        for name in tables:
            table = table[name]
        table[key] = value
    if data["head"]["points"] == "+X":
        data["bore"] = [_mirrored(bore) for bore in data["bore"]]
    return Job.model_validate(data, context={"units": units})


def _mirrored(bore: Data) -> Data:
    return {key: -value if key in ("face", "x", "length") else value for key, value in bore.items()}


_SHARED: Final[Data] = {
    "name": "Battery",
    "machine": {
        "travel": {axis: [-100_000, 100_000] for axis in "xyz"},
        "zero": {"x": -150, "y": 0, "z": -380},
        "spindle_rpm": [1, 60_000],
        "rapid": {"x": 12_000, "y": 12_000, "z": 9_000},
        "max_feed": 60_000,
    },
    "head": {"points": "-X", "ratio": 2.0, "reverses": True, "max_rpm": 60_000},
}
_BASE: Final[Mapping[Units, Data]] = {
    "mm": {
        "bar": {"diameter": 50, "hand": "right"},
        "cut": {"rpm": 380, "feed": 0.1},
        "path": {"clearance_height": 160, "approach": 3, "overrun": 2.5, "withdraw": "feed"},
        "bore": [{"face": 0, "width": 32, "diameter": 84}, {"face": -130, "width": 28, "diameter": 84}],
    },
    "inch": {
        "bar": {"diameter": 2, "hand": "right"},
        "cut": {"rpm": 400, "feed": 0.004},
        "path": {"clearance_height": 6.5, "approach": 0.125, "overrun": 0.1, "withdraw": "feed"},
        "bore": [
            {"x": 0.125, "length": -1.35, "diameter": 3.3125},
            {"x": -5.125, "length": -1.35, "diameter": 3.3125},
        ],
    },
}


def _row(units: Units, **columns: tuple[Any, Any]) -> list[Data]:
    """The two bores of the base, each with its own of every pair of values."""
    return [
        bore | {key: pair[index] for key, pair in columns.items()} for index, bore in enumerate(_BASE[units]["bore"])
    ]


def _read(*strokes: tuple[float, float], diameter: float = 84) -> list[Data]:
    """Bores as read from the machine: where the cutter starts, and how far it feeds."""
    return [{"x": x, "length": length, "diameter": diameter} for x, length in strokes]


def _drawn(*diameters: float) -> list[Data]:
    """Narrow bores as drawn, side by side."""
    return [{"face": -50 * index, "width": 20, "diameter": diameter} for index, diameter in enumerate(diameters)]


def _lift(amount: float, toward: str | float, angle: float, ratio: float = 1.0) -> Changes:
    """Withdrawn lifted off the wall, which only a ratio whose inverse is whole allows."""
    lift = {"amount": amount, "toward": toward, "angle": angle}
    return {"head.ratio": ratio, "path.withdraw": "lift", "path.lift": lift}


def _named(text: str) -> Changes:
    """A name in every place where one is written: opening, remarks and stops."""
    return {"name": text[:120], "bore": _row("mm", name=(text[:40], f"{text[:38]} 2"), diameter=(84, 90.25))}


def _withdrawals(units: Units, lift: float) -> Iterator[_Entry]:
    """Every withdrawal, both ways, from a bore with no spot face and from one with."""
    row = _row(units, face_turns=(0, 4))
    ways: Mapping[str, Changes] = {
        "fed back": {},
        "drawn back still": {"path.withdraw": "still"},
        "lifted": _lift(lift, "+Z", 90),
    }
    for points in ("-X", "+X"):
        for way, changes in ways.items():
            yield f"{way}, toward {points}, {units}", units, {**changes, "head.points": points, "bore": row}


_HANDS: Final[Mapping[str, Units]] = {"right": "mm", "left": "inch"}
_ODD_NAMES: Final[Mapping[str, str]] = {
    "quotes": "5\" 'king' pin `B`",
    "brackets": "((a) [b] {c} )(",
    "percent": "%",
    "semicolons": "; M3 S9999 ;; X1",
    "slashes": "/1 // \\ /* */",
    "words of a program": "M30",
    "a message": "(MSG, x)",
    "expressions": "#1=[2*3] <_a> {{ 7*7 }} {% raw %}",
    "marks of a page": "<script>alert(1)</script> &amp;",
    "every plain sign": string.punctuation,
    "accents": "Gro\u00dfmotor, pi\u00e8ce \u2116 3, \u00c5\u0142\u00f8",
    "Greek and Chinese": "\u03b2\u03ac\u03c3\u03b7 \u03a9 \u00b5m \u66f2\u8f74\u7bb1",
    "emoji": "\U0001f529\U0001f6e0\ufe0f\u200d head",
    "accents alone": "\u0301\u0308",
    "line ends": "two\nlines\r\n%\nM30\u2028\x0b\x00 \u202edne",
    "many words": "main bearing housing, " * 10,
    "one long word": "W" * 200,
}

_BORED: Final[tuple[_Entry, ...]] = (
    ("one bore", "mm", {"bore": _row("mm")[:1]}),
    ("one bore, inch", "inch", {"bore": _row("inch")[:1]}),
    *((f"work offset {code}", "mm", {"machine.work_offset": code}) for code in ("G55", "G59", "G59.1", "G59.3")),
    *((f"program number {number}", "mm", {"program_number": number}) for number in (1, 9999)),
    ("one new setting", "mm", {"bore": _row("mm", diameter=(84, 90.25))}),
    ("one new setting, inch", "inch", {"bore": _row("inch", diameter=(3.3125, 3.4375))}),
    ("one spot face", "mm", {"bore": _row("mm", face_turns=(4, 0))}),
    ("two spot faces", "mm", {"bore": _row("mm", face_turns=(4, 4))}),
    ("fraction of a turn", "mm", {"bore": _row("mm", face_turns=(0.3333, 0.5))}),
    ("thousandth of a turn", "inch", {"bore": _row("inch", face_turns=(0.001, 0))}),
    (
        "dwell of an hour",
        "mm",
        {"head.ratio": 1.0, "cut.rpm": 1, "cut.feed": 1, "bore": _row("mm", face_turns=(60, 0.001))},
    ),
    ("many quick turns", "mm", {"head.ratio": 1.0, "cut.rpm": 60_000, "bore": _row("mm", face_turns=(10_000, 1))}),
    *_withdrawals("mm", 0.3),
    *_withdrawals("inch", 0.012),
    *(
        (f"{hand} hand, {turns}, {units}", units, {"bar.hand": hand, "head.reverses": turns == "reversed"})
        for hand, units in _HANDS.items()
        for turns in ("reversed", "not reversed")
    ),
    *((f"ratio {ratio:g}", "mm", {"head.ratio": ratio}) for ratio in (0.37, 0.5, 1.0, 1.5, 2.37, 4.0)),
    *((f"way out at {angle:g} degrees", "mm", {"path.leave_angle": angle}) for angle in (15, -15, 79.9, -0.0001)),
    ("slanted, drawn back still", "inch", {"path.leave_angle": -22.5, "path.withdraw": "still"}),
    ("lifted toward +Y", "mm", _lift(0.3, "+Y", 0)),
    ("lifted toward -Y", "mm", _lift(0.25, "-Y", 0.001)),
    ("lifted toward -Z", "inch", _lift(0.01, "-Z", 270)),
    ("lifted aslant", "mm", {**_lift(0.3, 37, 359.999), "path.leave_angle": 20}),
    ("lifted back aslant", "mm", _lift(1 / 3, -142.5, 12.3456, ratio=0.5)),
    ("lifted next to upright", "mm", _lift(0.3, -0.05, 359.9996)),
    ("lifted by a hair", "mm", _lift(0.01, "+Z", 45)),
    ("lifted by much", "mm", _lift(16, 225, 180, ratio=0.25)),
    ("drawn and read", "mm", {"bore": [_row("mm")[0], *_read((-127, -33.5))]}),
    ("listed against the feed", "mm", {"bore": _row("mm")[::-1]}),
    ("strokes overlap", "mm", {"bore": _row("mm", face=(0, -35))}),
    ("no overrun", "mm", {"path.overrun": 0}),
    ("own approach and overrun", "inch", {"bore": _row("inch", approach=(0.125, 0.25), overrun=(0.2, 0.1))}),
    ("feed alone changes", "mm", {"bore": _row("mm", feed=(0.1, 0.15))}),
    ("speed and feed change", "inch", {"bore": _row("inch", rpm=(400, 250), feed=(0.004, 0.003))}),
    ("speed alone changes", "mm", {"bore": _row("mm", rpm=(400, 200), feed=(0.1, 0.2))}),
    ("cutting speed", "mm", {"cut.rpm": None, "cut.speed": 100, "bore": _row("mm", diameter=(84, 101.6))}),
    ("cutting speed, inch", "inch", {"cut.rpm": None, "cut.speed": 330, "bore": _row("inch", diameter=(3.3125, 4))}),
    ("two new settings", "mm", {"bore": _drawn(84, 90, 84)}),
    ("many new settings", "mm", {"bore": _drawn(*(84 + index / 2 for index in range(8)))}),
    ("forty bores", "mm", {"bore": _drawn(*[84] * 40)}),
    ("X at zero", "mm", {"bore": _read((37.5, -37.5), (0, -9))}),
    ("X next to zero", "mm", {"bore": _read((37.5, -37.5004), (-0.0004, -9))}),
    ("X one step from zero", "mm", {"bore": _read((37.5, -37.499), (-0.001, -9))}),
    ("X next to zero, inch", "inch", {"bore": _read((1.35, -1.35004), (-0.00004, -1), diameter=3)}),
    ("thirds", "mm", {"path.approach": 10 / 3, "bore": _row("mm", face=(1 / 3, -400 / 3), width=(95 / 3, 28.0005))}),
    ("sixty-fourths", "inch", {"bore": _row("inch", x=(1 / 64, -5 - 7 / 64), length=(-1 - 23 / 64, -1.00005))}),
    (
        "smallest lengths",
        "mm",
        {"path.approach": 0.01, "path.overrun": 0.01, "bore": _row("mm", face=(0.02, -0.03), width=(0.02, 0.02))},
    ),
    ("far to the right", "mm", {"bore": _row("mm", face=(99_000, 98_765.432))}),
    ("far to the left", "mm", {"bore": _row("mm", face=(-98_765.4321, -99_000))}),
    ("far out, inch", "inch", {"bore": _row("inch", x=(3897.6378, 3890.0001))}),
    ("far up and aslant", "mm", {"path.clearance_height": 9_000, "path.leave_angle": 79.9}),
    ("slowest", "mm", {"head.ratio": 1.0, "cut.rpm": 1, "cut.feed": 0.001}),
    ("slowest, inch", "inch", {"head.ratio": 1.0, "cut.rpm": 1, "cut.feed": 0.0001}),
    ("finest feed, inch", "inch", {"head.ratio": 1.0, "cut.feed": 0.00005}),
    ("fastest", "mm", {"head.ratio": 1.0, "cut.rpm": 60_000, "cut.feed": 1}),
    ("fastest, inch", "inch", {"head.ratio": 1.0, "machine.max_feed": 2340, "cut.rpm": 60_000, "cut.feed": 0.039}),
    ("speed and feed that round", "mm", {"head.ratio": 2.37, "cut.rpm": 333.333, "cut.feed": 0.0777}),
    ("speed and feed that round, inch", "inch", {"head.ratio": 2.37, "cut.rpm": 241.7, "cut.feed": 0.00333}),
    *((f"names with {what}", "mm", _named(text)) for what, text in _ODD_NAMES.items()),
)

_WALKED: Final[tuple[_Entry, ...]] = (
    ("walk-through", "mm", {}),
    ("walk-through toward +X, inch", "inch", {"head.points": "+X"}),
    ("walk-through, slanted", "mm", {"path.leave_angle": -30, "bore": _row("mm", diameter=(84, 90))}),
    ("walk-through, forty bores", "mm", {"bore": _drawn(*[84] * 40)}),
    ("walk-through, lifted", "mm", _lift(0.3, "+Z", 90)),
    ("walk-through, far out", "mm", {"machine.work_offset": "G59.3", "bore": _row("mm", face=(-98_765.4321, -99_000))}),
    *((f"walk-through, names with {what}", "mm", _named(_ODD_NAMES[what])) for what in ("a message", "line ends")),
)
