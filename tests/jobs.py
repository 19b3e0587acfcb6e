"""Jobs for tests: two plain ones as text, changes to them, and hypothesis strategies for jobs of every shape."""

import copy
import csv
import functools
import io
import math
import tomllib
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any, Final, NamedTuple

from hypothesis import strategies as st

from gen.job import Job
from gen.jobfile import COLUMNS
from post.units import MM_PER, Units
from post.userfile import InputError

Data = dict[str, Any]

JOB_TEXT: Final = """\
name  = "Harbour pump engine, main housings"
units = "mm"

[machine]
travel      = { x = [-900, 100], y = [-300, 300], z = [-600, 0] }
zero        = { x = -150, y = 0, z = -380 }
work_offset = "G54"
spindle_rpm = [50, 4000]
rapid       = { x = 12000, y = 12000, z = 9000 }
max_feed    = 5000

[head]
points   = "-X"
ratio    = 2.0
reverses = true
max_rpm  = 800

[bar]
diameter = 50
hand     = "right"

[cut]
rpm  = 380
feed = 0.10

[path]
clearance_height = 160
leave_angle = 0
approach    = 3
overrun     = 2.5
withdraw    = "feed"

[[bore]]
name = "1"
face = 0
width = 32
diameter = 84.0
face_turns = 4

[[bore]]
name = "2"
face = -130
width = 28
diameter = 84.0

[[bore]]
name = "3"
face = -255
width = 32
diameter = 84.0
"""
"""Millimetres, as drawn, feeding toward -X: three bores, the first with a spot face."""

INCH_TEXT: Final = """\
name  = "Mill compressor, main housings"
units = "inch"

[machine]
travel      = { x = [-40, 4], y = [-12, 12], z = [-24, 0] }
zero        = { x = -20, y = 0, z = -15 }
work_offset = "G55"
spindle_rpm = [50, 4000]
rapid       = { x = 480, y = 480, z = 360 }
max_feed    = 200

[head]
points   = "+X"
ratio    = 2.0
reverses = false
max_rpm  = 800

[bar]
diameter = 2
hand     = "right"

[cut]
rpm  = 400
feed = 0.004

[path]
clearance_height = 6.5
approach    = 0.125
overrun     = 0.1
withdraw    = "feed"

[[bore]]
x = 0
length = 1.35
diameter = 3.3125

[[bore]]
x = 5.25
length = 1.35
diameter = 3.3125
"""
"""Inches, as read from the machine, feeding toward +X: two bores."""

LIFT: Final = {"amount": 0.3, "toward": "+Z", "angle": 90.0}


def told(action: Callable[[], object]) -> str:
    """What a user is told when an action refuses its input; the action must refuse."""
    try:
        action()
    except InputError as error:
        return str(error)
    raise AssertionError("nothing was refused")


def edited(text: str, *changes: tuple[str, str]) -> str:
    """A text with its first ``old`` made ``new``, for each pair; every ``old`` must be there."""
    for old, new in changes:
        assert old in text, f"{old!r} is not in the text"
        text = text.replace(old, new, 1)
    return text


def job_data(text: str = JOB_TEXT, /, **changes: Any) -> Data:
    """A job's data with changes: a table is merged key by key, anything else replaced, None takes a key away."""
    data = tomllib.loads(text)
    for name, change in changes.items():
        _merge(data, name, change)
    return data


def _merge(data: Data, name: str, change: Any) -> None:
    if change is None:
        data.pop(name, None)
    elif isinstance(change, dict) and isinstance(data.get(name), dict):
        for inner, value in change.items():
            _merge(data[name], inner, value)
    else:
        data[name] = copy.deepcopy(change)


def job_of(data: Mapping[str, Any]) -> Job:
    """The job in a file's data, as ``gen.jobfile`` makes it."""
    units = data.get("units")
    return Job.model_validate(data, context={"units": units if units in ("mm", "inch") else "mm"})


def make_job(text: str = JOB_TEXT, /, **changes: Any) -> Job:
    """A valid job with changes, as ``make_job(head={"points": "+X"}, bore=[...])``."""
    return job_of(job_data(text, **changes))


def write_job(folder: Path, text: str = JOB_TEXT, *changes: tuple[str, str], table: str | None = None) -> Path:
    """Put a job file, edited, into a folder, and its CSV of bores where one is given; the path of the job."""
    path = folder / "job.toml"
    path.write_text(edited(text, *changes), encoding="utf-8", newline="")
    if table is not None:
        (folder / "bores.csv").write_text(table, encoding="utf-8", newline="")
    return path


def without_bores(text: str = JOB_TEXT) -> str:
    """A job that takes its bores from ``bores.csv``."""
    return 'bores = "bores.csv"\n' + text[: text.index("[[bore]]")]


def toml_of(data: Mapping[str, Any]) -> str:
    """A job's data as TOML, tables under headers."""
    lines = [f"{name} = {toml_value(value)}" for name, value in data.items() if not isinstance(value, dict | list)]
    for name, table in data.items():
        if isinstance(table, dict):
            lines += ["", f"[{name}]", *(f"{key} = {toml_value(value)}" for key, value in table.items())]
    for bore in data.get("bore", ()):
        lines += ["", "[[bore]]", *(f"{key} = {toml_value(value)}" for key, value in bore.items())]
    return "\n".join(lines) + "\n"


def toml_value(value: Any) -> str:
    """A value as TOML, tables inline, every character but plain ASCII escaped."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + "".join(c if " " <= c <= "~" and c not in '"\\' else f"\\U{ord(c):08x}" for c in value) + '"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{name} = {toml_value(inner)}" for name, inner in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml_value(inner) for inner in value) + "]"
    return repr(value)


def csv_of(bores: Sequence[Mapping[str, Any]]) -> str:
    """Bores as CSV under the headings they need."""
    heading = [name for name in COLUMNS if any(name in bore for bore in bores)]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(heading)
    for bore in bores:
        writer.writerow([_cell(bore.get(name, "")) for name in heading])
    return out.getvalue()


def _cell(value: Any) -> str:
    return value if isinstance(value, str) else f"{Decimal(repr(value)):f}"


class Files(NamedTuple):
    """A job as files: the TOML, the CSV of bores beside it or None, and the data both stand for."""

    toml: str
    table: str | None
    data: Data

    def put(self, folder: Path) -> Path:
        """Write both into a folder; the path of the job."""
        return write_job(folder, self.toml, table=self.table)


_NAME_MARKS: Final = "abcXYZ .,;:!?%#'\"()[]{}<>&*/\\+-=_|~^$@`"
_PLAIN_NAMES: Final = st.text(st.sampled_from(_NAME_MARKS + "\u00e9\u00df\u2013\u4e2d"), max_size=12)
_ODD_NAMES: Final = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12)


def valid_jobs(*, most_bores: int = 6) -> st.SearchStrategy[Job]:
    """Valid jobs of every shape, which the machine they name can carry out."""
    return job_datas(most_bores=most_bores).map(job_of)


@st.composite
def job_files(draw: st.DrawFn, *, most_bores: int = 6) -> Files:
    """Valid jobs as files, the bores in tables or in a CSV."""
    in_table = draw(st.booleans())
    data = draw(job_datas(most_bores=most_bores, names=_PLAIN_NAMES if in_table else _ODD_NAMES))
    if not in_table:
        return Files(toml_of(data), None, data)
    rest = {"bores": "bores.csv", **{name: value for name, value in data.items() if name != "bore"}}
    return Files(toml_of(rest), csv_of(data["bore"]), data)


@st.composite
def job_datas(
    draw: st.DrawFn,
    *,
    most_bores: int = 6,
    names: st.SearchStrategy[str] = _ODD_NAMES,
    withdraws: Sequence[str] = ("feed", "still", "lift"),
) -> Data:
    """Data of valid jobs as a file holds it, in the file's units.

    Every position stays within travel, every speed within the spindle's and the head's range. Both units, both
    directions, both forms of a bore, rows listed rising or falling, overrides, spot faces, slanted ways; "lift" comes
    with ratios that leave the cutter at one known angle.
    """
    units: Units = draw(st.sampled_from(("mm", "inch")))
    withdraw = draw(st.sampled_from(tuple(withdraws)))
    way = draw(st.sampled_from((1, -1)))
    bar = draw(_length(units, 20, 60))
    path: Data = {
        "clearance_height": draw(_length(units, 100, 300)),
        "leave_angle": draw(_LEAN),
        "approach": draw(_length(units, 0.5, 8)),
        "overrun": draw(_length(units, 0, 6)),
        "withdraw": withdraw,
    }
    if withdraw == "lift":
        path["lift"] = {
            "amount": draw(_length(units, 0.05, 1.5)),
            "toward": draw(_TOWARD),
            "angle": draw(_ANGLE),
        }
    ratios = (1.0, 0.5) if withdraw == "lift" else (1.0, 0.5, 2.0, 1.5, 2.347)
    by_speed = draw(st.booleans())
    data: Data = {
        "name": f"{draw(names)}.",
        "units": units,
        "machine": {},
        "head": {
            "points": "+X" if way > 0 else "-X",
            "ratio": draw(st.sampled_from(ratios)),
            "reverses": draw(st.booleans()),
            "max_rpm": 2000,
        },
        "bar": {"diameter": bar, "hand": draw(st.sampled_from(("right", "left")))},
        "cut": {
            "speed" if by_speed else "rpm": draw(_SPEED[units] if by_speed else _RPM),
            "feed": draw(_length(units, 0.02, 0.3)),
        },
        "path": path,
        "bore": draw(_rows(units, way, bar, path, names, most_bores)),
    }
    data["machine"] = draw(_machines(data))
    return data


@functools.cache  # a strategy made anew is checked anew, which takes longer than drawing from it
def _length(units: Units, low_mm: float, high_mm: float) -> st.SearchStrategy[float]:
    """Lengths in a unit: most as a person types them, some that lie on no grid."""
    low, high, parts = low_mm / MM_PER[units], high_mm / MM_PER[units], 1000 if units == "mm" else 10000
    typed = st.integers(math.ceil(low * parts), math.floor(high * parts)).map(lambda count: count / parts)
    return typed | st.floats(low, high)


_RPM: Final[st.SearchStrategy[float]] = st.integers(40, 800) | st.floats(40, 800)
_SPEED: Final[dict[Units, st.SearchStrategy[float]]] = {"mm": st.floats(20, 100), "inch": st.integers(66, 320)}
_TURNS: Final = st.integers(0, 8) | st.floats(0, 8)
_LEAN: Final = st.integers(-60, 60) | st.floats(-60, 60)
_TOWARD: Final = st.sampled_from(("+Y", "-Y", "+Z", "-Z")) | st.floats(-360, 360)
_ANGLE: Final = st.floats(0, 359.9) | st.just(0)


@st.composite
def _rows(
    draw: st.DrawFn,
    units: Units,
    way: int,
    bar: float,
    path: Mapping[str, Any],
    names: st.SearchStrategy[str],
    most_bores: int,
) -> list[Data]:
    """A row whose strokes end in the gaps between the housings, some of them overlapping there."""
    low_face = draw(_length(units, -400, 50))
    bores: list[Data] = []
    room_before = 0.0
    for number in range(1, draw(st.integers(1, most_bores)) + 1):
        bore, width, room = draw(_bores(units, bar, path))
        if draw(st.booleans()):
            bore["name"] = f"b{draw(names)} {number}"
        low_face += max(room, room_before) + draw(_length(units, 0.02, 60))
        _place(bore, low_face if way > 0 else low_face + width, width, way, path, draw(st.booleans()))
        bores.append(bore)
        low_face, room_before = low_face + width, room
    return bores if draw(st.booleans()) else bores[::-1]


@st.composite
def _bores(draw: st.DrawFn, units: Units, bar: float, path: Mapping[str, Any]) -> tuple[Data, float, float]:
    """A bore without place, its width, and the room its cutter needs beside it."""
    least = 4 / MM_PER[units]
    bore: Data = {"diameter": bar + draw(_length(units, 4, 130))}
    optional = {
        "face_turns": _TURNS,
        "rpm": _RPM,
        "feed": _length(units, 0.02, 0.3),
        "approach": _length(units, 0.5, 8),
        "overrun": _length(units, 0, 6),
    }
    for key, values in optional.items():
        if draw(st.integers(0, 3)) == 0:
            bore[key] = draw(values)
    room = max(bore.get(key, path[key]) for key in ("approach", "overrun"))
    return bore, max(least, draw(_length(units, 4, 60))), room


def _place(bore: Data, face: float, width: float, way: int, path: Mapping[str, Any], drawn: bool) -> None:
    if drawn:
        bore |= {"face": face, "width": width}
        return
    approach, overrun = (bore.get(key, path[key]) for key in ("approach", "overrun"))
    bore |= {"x": face - way * approach, "length": way * (approach + width + overrun)}


@st.composite
def _machines(draw: st.DrawFn, data: Data) -> Data:
    """A machine that reaches every position of a job, with a little or much to spare."""
    path, units = data["path"], data["units"]
    height, lift = path["clearance_height"], path.get("lift", {}).get("amount", 0.0)
    sideways = abs(height * math.tan(math.radians(path["leave_angle"]))) + lift
    ends = [end for bore in data["bore"] for end in _reach(bore, path)]
    zero = {axis: draw(_length(units, -500, 500)) for axis in "xyz"}
    spans = {"x": (min(ends), max(ends)), "y": (-sideways, sideways), "z": (-lift, height + lift)}
    spare = draw(_length(units, 0.05, 100))
    return {
        "travel": {axis: [zero[axis] + low - spare, zero[axis] + high + spare] for axis, (low, high) in spans.items()},
        "zero": zero,
        "work_offset": draw(st.sampled_from(("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"))),
        "spindle_rpm": [5, 8000],
        "rapid": {axis: draw(_length(units, 3000, 30000)) for axis in "xyz"},
        "max_feed": draw(_length(units, 1000, 5000)),
    }


def _reach(bore: Data, path: Mapping[str, Any]) -> tuple[float, ...]:
    if "x" in bore:
        return bore["x"], bore["x"] + bore["length"]
    room = max(bore.get(key, path[key]) for key in ("approach", "overrun"))
    return tuple(bore["face"] + sign * (bore["width"] + room) for sign in (1, -1))
