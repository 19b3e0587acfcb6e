from decimal import Decimal
from typing import Any, Final, Literal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from jinja2 import StrictUndefined
from jinja2.exceptions import UndefinedError

from post.dialect import Comments, Dialect, DwellWord, Lines, Numbers, Resolution, Steps
from post.units import MM_PER, Units
from post.views import Written
from post.wording import MOST_TEXT, Wording, number_of, text_of
from tests.post.test_writer import PLAIN

Point = Literal["optional", "required", "none"]

units_of = st.sampled_from(("mm", "inch"))
printable = st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=60)
STEPS: Final = (10.0, 2.5, 1.0, 0.5, 0.1, 0.025, 0.01, 0.001, 0.0005, 0.0001, 0.000001)


def wording(units: Units = "mm", dialect: Dialect = PLAIN, /, **parts: Any) -> Wording:
    """How numbers and remarks are written in the plain dialect with other parts."""
    return Wording(dialect.model_copy(update=parts), units)


def numbered(point: Point = "optional", zeros: bool = True, **parts: Any) -> Wording:
    return wording(numbers=Numbers(point=point, trailing_zeros=zeros), **parts)


# numbers


@given(st.integers(-(10**7), 10**7), units_of)
def test_a_length_on_the_grid_is_written_exactly(count: int, units: Units) -> None:
    step = PLAIN.steps(units).length
    in_unit = PLAIN.round_length(count * step * MM_PER[units], units) / MM_PER[units]
    text = wording(units).length(in_unit)
    assert Decimal(text) == count * Decimal(repr(step))
    assert not text.startswith("-0.000") or Decimal(text) != 0


@given(
    st.floats(-1e5, 1e5) | st.floats(-1e-3, 1e-3) | st.integers(-(10**6), 10**6),
    st.sampled_from(STEPS),
    st.sampled_from(("optional", "required", "none")),
    st.booleans(),
)
def test_a_number_says_what_it_is_to_half_a_step(value: float, step: float, point: Point, zeros: bool) -> None:
    steps = Steps(length=step, feed=step)
    words = numbered(point, zeros, resolution=Resolution(mm=steps, inch=steps, speed=step), dwell=DwellWord(step=step))
    for text in (words.length(value), words.feed(value)):
        scale = Decimal(repr(step)) if point == "none" else 1
        _check_plain(text)
        assert abs(Decimal(text) * scale - Decimal(value)) <= Decimal(step) * Decimal("0.5000001")
        assert ("." in text) or point != "required"
        assert ("." not in text) or point != "none"
        assert zeros or not text.endswith("0") or "." not in text
    for text in (words.speed(value), words.dwell(value)):
        _check_plain(text)
        assert abs(Decimal(text) - Decimal(value)) <= Decimal(step) * Decimal("0.5000001")
        assert not text.endswith(".")


def _check_plain(text: str) -> None:
    """No exponent, no plus, no minus zero."""
    assert not set(text) - set("-0123456789.")
    assert not text.startswith("-") or float(text) < 0


@pytest.mark.parametrize(
    ("point", "zeros", "value", "text"),
    [
        ("optional", True, 3.0, "3.000"),
        ("optional", True, 3, "3.000"),
        ("optional", True, -34.5, "-34.500"),
        ("optional", True, -0.0, "0.000"),
        ("optional", True, -0.0004, "0.000"),
        ("optional", True, -0.0006, "-0.001"),
        ("optional", True, 99999.999, "99999.999"),
        ("optional", False, 3.0, "3"),
        ("optional", False, -34.5, "-34.5"),
        ("optional", False, 0.0, "0"),
        ("optional", False, -0.0001, "0"),
        ("optional", False, 100.0, "100"),
        ("optional", False, 0.120, "0.12"),
        ("required", True, 3.0, "3.000"),
        ("required", False, 3.0, "3."),
        ("required", False, 0.0, "0."),
        ("required", False, -0.0001, "0."),
        ("required", False, 100.0, "100."),
        ("required", False, -34.5, "-34.5"),
        ("none", True, 3.0, "3000"),
        ("none", False, 3.0, "3000"),
        ("none", True, -34.5, "-34500"),
        ("none", True, -0.0, "0"),
        ("none", True, -0.0001, "0"),
        ("none", True, 0.001, "1"),
    ],
)
def test_a_length_and_a_feed_have_point_and_zeros_as_the_dialect_tells(
    point: Point, zeros: bool, value: float, text: str
) -> None:
    words = numbered(point, zeros)
    assert (words.length(value), words.feed(value)) == (text, text)
    assert words.length(value) == text


def test_a_step_without_decimals_has_a_point_only_where_it_must() -> None:
    coarse = Steps(length=1.0, feed=10.0)
    for point, text in (("optional", "120"), ("required", "120."), ("none", "12")):
        words = numbered(point, True, resolution=Resolution(mm=coarse, inch=coarse))  # type: ignore[arg-type]
        assert words.feed(120.0) == text
    assert numbered("none", True, resolution=Resolution(mm=coarse, inch=coarse)).length(120.0) == "120"


@pytest.mark.parametrize("point", ["optional", "required", "none"])
def test_speeds_angles_and_dwells_never_have_the_point_of_lengths(point: Point) -> None:
    words = numbered(point, False)
    assert (words.speed(760.0), words.speed(760.4)) == ("760", "760")
    assert (words.angle(90.0), words.angle(0.0), words.angle(12.5)) == ("90", "0", "12.5")
    assert (words.dwell(2.0), words.dwell(0.64)) == ("2", "0.64")
    whole = numbered(point, True)
    assert (whole.speed(760.0), whole.angle(90.0), whole.dwell(2.0)) == ("760", "90.000", "2.00")


@pytest.mark.parametrize(
    ("point", "zeros", "step", "text"),
    [
        ("required", False, 0.01, "2."),
        ("required", True, 0.01, "2.00"),
        ("required", True, 1.0, "2."),
        ("optional", False, 0.01, "2"),
        ("none", False, 0.01, "2"),
    ],
)
def test_a_dwell_behind_x_has_the_point_of_a_coordinate(point: Point, zeros: bool, step: float, text: str) -> None:
    assert numbered(point, zeros, dwell=DwellWord(word="X", step=step)).dwell(2.0) == text


def test_a_feed_per_turn_has_its_own_step() -> None:
    per_turn = {"feed_modes": ("G95", "G94")}
    steps = Resolution(
        mm=Steps(length=0.001, feed=0.1, feed_per_turn=0.0001),
        inch=Steps(length=0.0001, feed=0.01, feed_per_turn=0.000001),
    )
    assert wording("mm", resolution=steps).feed(0.05) == "0.1"
    assert wording("mm", resolution=steps, **per_turn).feed(0.05) == "0.0500"
    assert wording("inch", resolution=steps, **per_turn).feed(0.002) == "0.002000"
    assert numbered("none", True, resolution=steps, **per_turn).feed(0.05) == "500"


def test_the_unit_chooses_the_step() -> None:
    assert (wording("mm").length(1.35), wording("inch").length(1.35)) == ("1.350", "1.3500")


def test_a_step_finer_than_a_float_prints_is_written_out() -> None:
    fine = Steps(length=0.0000001, feed=0.00001)
    assert wording(resolution=Resolution(mm=fine, inch=fine)).length(1e-7) == "0.0000001"


FILTERS: Final = ("length", "feed", "speed", "dwell", "angle")


@pytest.mark.parametrize("name", FILTERS)
@pytest.mark.parametrize(
    ("value", "says"),
    [
        (None, "nothing given to {}: the step leaves that axis, or that word, out"),
        (True, "{} takes a number"),
        ("3.0", "{} takes a number"),
        ([3.0], "{} takes a number"),
        (float("nan"), "{} takes a number below 1000000000000"),
        (float("inf"), "{} takes a number below 1000000000000"),
        (-float("inf"), "{} takes a number below 1000000000000"),
        (1e12, "{} takes a number below 1000000000000"),
        (-(10**400), "{} takes a number below 1000000000000"),
    ],
    ids=["none", "true", "text", "list", "nan", "inf", "minus-inf", "large", "huge"],
)
def test_what_is_no_number_is_told_by_the_filter_s_name(name: str, value: Any, says: str) -> None:
    with pytest.raises(ValueError, match=f"^{says.format(name)}$"):
        getattr(wording(), name)(value)


@pytest.mark.parametrize("name", [*FILTERS, "comment", "message"])
def test_a_name_that_is_not_defined_is_told_as_that(name: str) -> None:
    with pytest.raises(UndefinedError, match=r"^'nope' is undefined$"):
        getattr(wording(), name)(StrictUndefined(name="nope"))


@given(st.lists(st.floats(-1e6, 1e6), max_size=50))
def test_a_number_is_written_the_same_whatever_came_before(values: list[float]) -> None:
    words = wording()
    assert [words.length(value) for value in values * 2] == [wording().length(value) for value in values * 2]


def test_as_many_numbers_as_one_likes_are_written_right(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("post.wording.MOST_KEPT", 3)
    words = wording()
    for _ in range(2):
        assert [words.length(float(n)) for n in range(9)] == [f"{n}.000" for n in range(9)]


# places


def test_a_place_has_the_axes_the_step_has() -> None:
    words = wording()
    for (x, y, z), text in (
        ((1.0, 2.0, 3.0), "X1.000 Y2.000 Z3.000"),
        ((None, 2.0, None), "Y2.000"),
        ((1.0, None, 3.0), "X1.000 Z3.000"),
        ((None, None, None), ""),
        ((0.0, -0.0, -0.0001), "X0.000 Y0.000 Z0.000"),
    ):
        for kind in ("rapid", "feed"):
            for _ in range(2):
                assert words.place(Written({"kind": kind, "x": x, "y": y, "z": z, "why": "way"})) == text


@pytest.mark.parametrize(
    "step",
    [
        Written({"kind": "stop", "why": "off"}),
        Written({"kind": "bore", "start_x": 1.0, "end_x": 0.0, "y": 0.0, "z": 0.0}),
        None,
        "X1",
        {"x": 1.0, "y": 1.0, "z": 1.0},
        StrictUndefined(name="nope"),
    ],
    ids=["stop", "bore", "none", "text", "dict", "undefined"],
)
def test_only_a_move_has_a_place(step: Any) -> None:
    with pytest.raises(ValueError, match=r"^place and moved take a step that is a rapid or a feed$"):
        wording().place(step)


# remarks


@pytest.mark.parametrize(
    ("comments", "comment", "message"),
    [
        (Comments(), "(Bore 1, [84.5 mm]; ok)", "(MSG, Bore 1, [84.5 mm]; ok)"),
        (Comments(capitals=True), "(BORE 1, [84.5 MM]; OK)", "(MSG, BORE 1, [84.5 MM]; OK)"),
        (Comments(form="semicolon"), "; Bore 1, [84.5 mm]; ok", "; MSG, Bore 1, [84.5 mm]; ok"),
        (Comments(form="semicolon", message=""), "; Bore 1, [84.5 mm]; ok", "; Bore 1, [84.5 mm]; ok"),
        (Comments(message="*"), "(Bore 1, [84.5 mm]; ok)", "(* Bore 1, [84.5 mm]; ok)"),
        (Comments(signs=".-", message=""), "(Bore 1 84.5 mm ok)", "(Bore 1 84.5 mm ok)"),
        (Comments(form="none"), "", ""),
    ],
)
def test_a_remark_and_a_message_have_the_dialect_s_form(comments: Comments, comment: str, message: str) -> None:
    words = wording(comments=comments)
    assert words.comment("Bore 1, (84.5 mm); ok") == comment
    assert words.message("Bore 1, (84.5 mm); ok") == message


def test_a_remark_may_be_a_number_or_nothing() -> None:
    assert wording().comment(7) == "(7)"
    assert wording().comment("") == "()"
    assert wording().message("") == "(MSG,)"
    assert wording(comments=Comments(message="")).message("") == "()"


@pytest.mark.parametrize(
    ("form", "longest"), [("brackets", "(" + "a" * 38 + ")"), ("semicolon", "; " + "a" * 38)], ids=["round", "semi"]
)
def test_a_remark_is_cut_to_one_line(form: Any, longest: str) -> None:
    words = wording(comments=Comments(form=form), lines=Lines(length=40))
    assert words.comment("a" * 38) == longest
    assert words.comment("a" * 39) == longest.replace("aaa)", "...)") if ")" in longest else longest[:-3] + "..."
    assert len(words.comment("a" * 1000)) == 40
    assert words.message("a" * 1000).count("a") == 1000


@pytest.mark.parametrize(
    ("said", "cut"),
    [
        ("bore 2: diameter 84 mm, metal X -158 mm to -130 mm", "bore 2: diameter 84 mm, metal X..."),
        ("bore 2: diameter 3.3125 inches, and 12.125", "bore 2: diameter 3.3125 inches, and..."),
        ("down to the first bore of the long row", "down to the first bore of the long row"),
        ("down to the first bore of the longish row", "down to the first bore of the longi..."),
        ("1" * 60, "..."),
    ],
)
def test_a_remark_is_never_cut_in_a_number(said: str, cut: str) -> None:
    assert wording(lines=Lines(length=40)).comment(said) == f"({cut})"


@given(
    st.text(max_size=80),
    st.sampled_from(("brackets", "semicolon")),
    st.booleans(),
    st.integers(40, 60),
)
def test_no_text_breaks_out_of_a_comment_or_its_line(text: str, form: Any, capitals: bool, length: int) -> None:
    words = wording(comments=Comments(form=form, capitals=capitals), lines=Lines(length=length))
    comment, message = words.comment(text), words.message(text)
    for line in (comment, message):
        assert line.isascii()
        assert line.isprintable()
        inside = line[1:-1] if form == "brackets" else line[2:]
        assert form == "semicolon" or not set(inside) & set("()")
        assert not capitals or inside == inside.upper()
    assert len(comment) <= length


@given(
    printable,
    st.text("GXYZ0123456789. ", max_size=50),
    st.sampled_from(("brackets", "semicolon", "none")),
)
def test_shortening_takes_from_the_remark_alone(text: str, block: str, form: Any) -> None:
    block = block.strip()
    comments = Comments(form=form)
    words = wording(comments=comments, lines=Lines(length=40))
    line = f"{block} {words.comment(text)}".strip()
    short = words.shortened(line)
    assert short.startswith(block)
    assert len(short) <= max(40, len(block))
    assert len(line) > 40 or short == line
    assert form != "brackets" or short.count("(") == short.count(")")


@given(printable, st.sampled_from(("brackets", "semicolon")))
@example("sweep the housing; then look at it, twice", "semicolon")
@example("sweep the housing (then look at it, twice)", "brackets")
def test_shortening_leaves_a_message_alone(text: str, form: Any) -> None:
    words = wording(comments=Comments(form=form), lines=Lines(length=40))
    line = f"M0 {words.message(text)}"
    assert words.shortened(line) == line


# what a filter is given


def test_a_number_given_to_a_filter_is_a_float() -> None:
    assert number_of(3, "x") == 3.0
    assert type(number_of(3, "x")) is float
    assert number_of(-0.5, "x") == -0.5


def test_a_text_given_to_a_filter_may_be_a_number() -> None:
    assert [text_of(value, "x") for value in ("a", 3, 2.5, "")] == ["a", "3", "2.5", ""]


@pytest.mark.parametrize("value", [None, True, False, [], ("a",), {}, b"a"], ids=repr)
def test_what_is_no_text_is_told(value: Any) -> None:
    with pytest.raises(ValueError, match=r"^line takes a text or a number$"):
        text_of(value, "line")


def test_a_text_has_a_longest() -> None:
    assert len(text_of("a" * MOST_TEXT, "line")) == MOST_TEXT
    for value in ("a" * (MOST_TEXT + 1), 10**MOST_TEXT):
        with pytest.raises(ValueError, match=r"^line is given more than 2000 characters$"):
            text_of(value, "line")
