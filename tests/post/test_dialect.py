from decimal import Decimal
from pathlib import Path
from typing import Final

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from post.dialect import Dialect, OrientedStop, Resolution, Steps, decimals, load_dialect, nearest, upward
from post.posts import LIBRARY, shipped
from post.units import MM_PER, Units
from tests.jobs import edited, told

TEXT: Final = """\
about = "Every move written out"
cycles = []
line_length = 250

[resolution]
mm    = { length = 0.001, feed = 0.001 }
inch  = { length = 0.0001, feed = 0.0001 }
speed = 1.0
dwell = 0.01
"""

STEPS: Final = (10.0, 2.5, 1.0, 0.5, 0.1, 0.05, 0.025, 0.01, 0.005, 0.001, 0.0005, 0.0001, 0.00005, 0.000001)
values = st.floats(-1e5, 1e5)
steps = st.sampled_from(STEPS)

PLAIN: Final = Dialect(
    about="for tests",
    resolution=Resolution(mm=Steps(length=0.001, feed=0.001), inch=Steps(length=0.0001, feed=0.0001)),
)


def load(folder: Path, *changes: tuple[str, str]) -> Dialect:
    path = folder / "dialect.toml"
    path.write_text(edited(TEXT, *changes), encoding="utf-8")
    return load_dialect(path)


@pytest.mark.parametrize("name", list(shipped()))
def test_every_dialect_that_ships_loads(name: str) -> None:
    dialect = load_dialect(LIBRARY / name / "dialect.toml")
    assert dialect.length_step("mm") == 0.001
    assert dialect.length_step("inch") == pytest.approx(0.00254, rel=1e-12)


def test_what_may_be_left_out(tmp_path: Path) -> None:
    dialect = load(
        tmp_path, ("cycles = []\n", ""), ("line_length = 250\n", ""), ("speed = 1.0\n", ""), ("dwell = 0.01\n", "")
    )
    assert dialect.cycles == frozenset()
    assert dialect.oriented_stop is None
    assert (dialect.line_length, dialect.comment_room) == (250, 248)
    assert (dialect.resolution.speed, dialect.resolution.dwell) == (1.0, 0.01)


def test_cycles_and_an_oriented_stop(tmp_path: Path) -> None:
    dialect = load(tmp_path, ("cycles = []", 'cycles = ["G85", "G86"]\noriented_stop = { angle = "P" }'))
    assert dialect.cycles == {"G85", "G86"}
    assert dialect.oriented_stop == OrientedStop(code="M19", angle="P")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("length = 0.001", "length = 0", ":6: resolution.mm.length: 0 must be greater than 0, e.g. length = 0.001"),
        (
            "length = 0.001",
            "length = nan",
            ":6: resolution.mm.length: nan must be a plain number, neither infinite nor NaN, e.g. length = 0.001",
        ),
        (", feed = 0.001 }", " }", ":6: resolution.mm.feed: is missing; write feed = 0.001"),
        (", feed = 0.0001", "", ":7: resolution.inch.feed: is missing; write feed = 0.001"),
        ("speed = 1.0", "speed = -1", ":8: resolution.speed: -1 must be greater than 0, e.g. speed = 1.0"),
        ("speed = 1.0", "speed = 11", ":8: resolution.speed: 11 must be 10 or less, e.g. speed = 1.0"),
        ("dwell = 0.01", 'dwell = "ms"', ':9: resolution.dwell: "ms" must be a number, e.g. dwell = 0.01'),
        ("dwell = 0.01", "dwel = 0.01", ":9: resolution.dwel: there is no such key; did you mean dwell?"),
        ("line_length = 250", "line_length = 256", ":3: line_length: 256 must be 255 or less, e.g. line_length = 250"),
        ("line_length = 250", "line_length = 39", ":3: line_length: 39 must be 40 or more, e.g. line_length = 250"),
        (
            "line_length = 250",
            "line_length = 80.5",
            ":3: line_length: 80.5 must be a whole number, e.g. line_length = 250",
        ),
        (
            "cycles = []",
            'cycles = ["G85", "G83"]',
            ":2: cycles 2: \"G83\" must be one of 'G81', 'G82', 'G85', 'G86' or 'G89', e.g. cycles = ",
        ),
        ("cycles = []", "cycles = 85", ':2: cycles: 85 must be a list, e.g. cycles = ["G85", "G89"]'),
        ("cycles = []", 'oriented_stop = { code = "M20" }', ":2: oriented_stop.code: \"M20\" must be one of 'M19'"),
        (
            "cycles = []",
            'oriented_stop = { angle = "Q" }',
            ":2: oriented_stop.angle: \"Q\" must be one of 'R' or 'P', e.g. angle = \"R\"",
        ),
        ("about = ", "about = 7 # ", ':1: about: 7 must be text in quotes, e.g. about = "Every move written out"'),
        (
            'about = "Every move written out"',
            'about = ""',
            ':1: about: "" must not be empty, e.g. about = "Every move written out"',
        ),
        ("[resolution]", "[resolution", ":5: not valid TOML: "),
    ],
)
def test_a_mistake_in_a_dialect_is_told_at_its_place(tmp_path: Path, old: str, new: str, says: str) -> None:
    message = told(lambda: load(tmp_path, (old, new)))
    assert message.startswith(f"{tmp_path / 'dialect.toml'}{says}")


def test_a_dialect_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "dialect.toml"
    assert told(lambda: load_dialect(path)) == f"{path}: there is no such dialect; give the path of a dialect"


@pytest.mark.parametrize(
    ("step", "digits"),
    [(10.0, 0), (2.5, 1), (1.0, 0), (0.1, 1), (0.005, 3), (0.0001, 4), (1e-05, 5), (1e-07, 7), (0.25, 2)],
)
def test_decimals_write_every_multiple(step: float, digits: int) -> None:
    assert decimals(step) == digits


@given(st.integers(-(10**7), 10**7), steps)
def test_decimals_lose_nothing(count: int, step: float) -> None:
    exact = count * Decimal(repr(step))
    assert Decimal(f"{exact:.{decimals(step)}f}") == exact


@given(values, steps)
def test_nearest_is_on_the_grid_and_within_half_a_step(value: float, step: float) -> None:
    rounded = nearest(value, step)
    assert Decimal(repr(rounded)) % Decimal(repr(step)) == 0
    assert abs(rounded - value) <= step / 2 + 1e-9 * max(step, abs(value))


@given(values, steps)
def test_nearest_is_a_mirror_and_stays_where_it_is(value: float, step: float) -> None:
    rounded = nearest(value, step)
    assert nearest(-value, step) == -rounded
    assert nearest(rounded, step) == rounded


@given(values, steps)
@example(3.0, 0.1)
@example(0.1 + 0.2, 0.1)
def test_upward_is_on_the_grid_never_below_and_less_than_a_step_above(value: float, step: float) -> None:
    rounded = upward(value, step)
    slack = 1e-9 * step + 1e-12 * abs(value)
    assert Decimal(repr(rounded)) % Decimal(repr(step)) == 0
    assert rounded >= value - slack
    assert rounded < value + step + slack


def test_upward_takes_a_multiple_of_a_float_as_it_is() -> None:
    assert upward(0.1 + 0.2, 0.1) == 0.3
    assert upward(0.3000001, 0.1) == 0.4
    assert upward(0.0, 0.01) == 0.0
    assert upward(-0.25, 0.1) == -0.2


@given(st.floats(-5000, 5000), st.sampled_from(("mm", "inch")))
def test_a_length_lies_on_the_grid_of_its_unit(length_mm: float, units: Units) -> None:
    rounded = PLAIN.round_length(length_mm, units)
    step = PLAIN.steps(units).length
    in_unit = rounded / MM_PER[units]
    assert f"{in_unit:.{decimals(step)}f}" == f"{in_unit:.{decimals(step) + 6}f}"[:-6]
    assert abs(rounded - length_mm) <= PLAIN.length_step(units) / 2 + 1e-9


@given(st.floats(0.01, 10_000), st.sampled_from(("mm", "inch")))
def test_a_feed_lies_on_the_grid_of_its_unit(mm_per_min: float, units: Units) -> None:
    rounded = PLAIN.round_feed(mm_per_min, units)
    assert abs(rounded - mm_per_min) <= PLAIN.steps(units).feed * MM_PER[units] / 2 + 1e-9


@given(st.floats(0, 1000))
def test_a_dwell_is_never_shorter_than_asked(seconds: float) -> None:
    rounded = PLAIN.round_dwell(seconds)
    assert seconds - 1e-11 - 1e-12 * seconds <= rounded < seconds + 0.01 + 1e-9


@pytest.mark.parametrize(
    ("text", "comment"),
    [
        ("up from bore 1", "up from bore 1"),
        ("bore (old) 2", "bore [old] 2"),
        ("a\nb\tc\r\x00d\x7fe", "a b c d e"),
        ("  wide   apart ", "wide apart"),
        ("Zylinder f\u00fcr \u00d8 84", "Zylinder fur ? 84"),
        ("\uff08full width\uff09", "[full width]"),
        ("\u4e2d\u6587", "??"),
        ("", ""),
    ],
)
def test_a_comment_is_plain_text_without_brackets(text: str, comment: str) -> None:
    assert PLAIN.comment(text) == comment


@given(st.text())
def test_no_text_breaks_out_of_a_comment(text: str) -> None:
    comment = PLAIN.comment(text)
    assert comment.isascii()
    assert comment.isprintable()
    assert not set(comment) & set("()")
    assert PLAIN.comment(comment) == comment
