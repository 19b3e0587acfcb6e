"""What a dialect works out: numbers on its control's grid, and texts as its comments can hold them."""

import string
from decimal import Decimal
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from post.dialect import ANGLE_STEP_DEG, PRINTABLE, Dialect, Lines, Resolution, Steps
from post.posts import find, shipped
from post.steps import decimals
from post.units import MM_PER, Units
from tests.post.dialects import dialects
from tests.post.programs import block, made

PLAIN: Final = Dialect(
    about="for tests",
    resolution=Resolution(mm=Steps(length=0.001, feed=0.001), inch=Steps(length=0.0001, feed=0.0001)),
)


# --- numbers on the control's grid -----------------------------------------------------------------------------------

UNITS: Final = st.sampled_from(("mm", "inch"))


@given(st.floats(-5000, 5000), UNITS)
def test_a_length_lies_on_the_grid_of_its_unit(length_mm: float, units: Units) -> None:
    rounded = PLAIN.round_length(length_mm, units)
    step = PLAIN.steps(units).length
    in_unit = rounded / MM_PER[units]
    assert f"{in_unit:.{decimals(step)}f}" == f"{in_unit:.{decimals(step) + 6}f}"[:-6]
    assert abs(rounded - length_mm) <= PLAIN.length_step(units) / 2 + 1e-9


PER_TURN: Final = made(
    feed_modes=["G95", "G94"],
    resolution={
        "mm": {"length": 0.001, "feed": 0.1, "feed_per_turn": 0.0002},
        "inch": {"length": 0.0001, "feed": 0.01, "feed_per_turn": 0.00001},
    },
)
PER_MINUTE: Final = PER_TURN.model_copy(update={"feed_modes": ("G94", "G95")})


@pytest.mark.parametrize(
    ("dialect", "units", "step", "scale"),
    [
        (PER_MINUTE, "mm", 0.1, 1.0),
        (PER_MINUTE, "inch", 0.01, 25.4),
        (PER_TURN, "mm", 0.0002, 760.0),
        (PER_TURN, "inch", 0.00001, 760 * 25.4),
        (PLAIN, "mm", 0.001, 1.0),
        (PLAIN, "inch", 0.0001, 25.4),
    ],
)
def test_the_feed_word_is_that_of_the_first_feed_mode(
    dialect: Dialect, units: Units, step: float, scale: float
) -> None:
    assert dialect.feed_word_step(units) == step
    assert dialect.feed_scale(units, 760.0) == pytest.approx(scale, rel=1e-12)
    assert dialect.feed_per_turn == (dialect is PER_TURN)


@pytest.mark.parametrize(
    ("unit", "step", "seconds", "rpm", "rounded"),
    [
        ("seconds", 0.01, 0.631, 760, 0.64),
        ("seconds", 0.01, 0.63, 760, 0.63),
        ("seconds", 1.0, 0.01, 760, 1.0),
        ("milliseconds", 1.0, 0.6311, 760, 0.632),
        ("milliseconds", 10.0, 0.631, 760, 0.64),
        ("turns", 1.0, 0.59, 100, 0.6),
        ("turns", 1.0, 0.61, 100, 1.2),
        ("turns", 0.5, 0.61, 100, 0.9),
        ("turns", 1.0, 0.0, 100, 0.0),
    ],
)
def test_a_dwell_is_moved_up_to_what_its_word_counts(
    unit: str, step: float, seconds: float, rpm: float, rounded: float
) -> None:
    dialect = made(dwell={"unit": unit, "step": step})
    assert dialect.round_dwell(seconds, rpm) == pytest.approx(rounded, rel=1e-12)


@pytest.mark.parametrize(
    ("unit", "rpm", "scale_s"),
    [("seconds", 0.0, 1.0), ("milliseconds", 0.0, 0.001), ("turns", 120.0, 0.5), ("turns", 50.0, 1.2)],
)
def test_what_one_in_the_dwell_word_means(unit: str, rpm: float, scale_s: float) -> None:
    assert made(dwell={"unit": unit}).dwell_scale_s(rpm) == scale_s


@given(
    st.floats(0, 1000),
    st.floats(1, 20_000),
    st.sampled_from(("seconds", "milliseconds", "turns")),
    st.sampled_from((1.0, 0.5, 0.01, 0.001)),
)
def test_a_dwell_is_never_shorter_than_asked_and_less_than_a_step_longer(
    seconds: float, rpm: float, unit: str, step: float
) -> None:
    dialect = made(dwell={"unit": unit, "step": step})
    rounded, scale_s = dialect.round_dwell(seconds, rpm), dialect.dwell_scale_s(rpm)
    slack = 1e-9 * step * scale_s + 1e-12 * seconds
    assert seconds - slack <= rounded < seconds + step * scale_s + slack
    count = rounded / scale_s / step
    assert abs(count - round(count)) < 1e-6


@pytest.mark.parametrize(
    ("degrees", "rounded"),
    [(90.0, 90.0), (0.0004, 0.0), (359.9996, 0.0), (-90.0, 270.0), (720.5, 0.5), (12.3456, 12.346), (-0.0004, 0.0)],
)
def test_an_angle_as_a_program_carries_it(degrees: float, rounded: float) -> None:
    assert PLAIN.round_angle(degrees) == pytest.approx(rounded, abs=1e-9)


@given(st.floats(-1e4, 1e4))
def test_an_angle_lies_in_one_turn_and_on_its_grid(degrees: float) -> None:
    rounded = PLAIN.round_angle(degrees)
    assert 0 <= rounded < 360
    apart = (rounded - degrees) % 360
    assert min(apart, 360 - apart) <= ANGLE_STEP_DEG / 2 + 1e-9
    assert abs(Decimal(rounded) - Decimal(f"{rounded:.3f}")) < Decimal("1e-9")


# --- comments --------------------------------------------------------------------------------------------------------


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


@pytest.mark.parametrize(
    ("comments", "text", "comment"),
    [
        ({"capitals": True}, "up from Bore 1", "UP FROM BORE 1"),
        ({"capitals": True}, "\u00fcber \u00df", "UBER ?"),
        ({"signs": ".-", "message": ""}, "bore (old), 84.5 -> 85", "bore old 84.5 - 85"),
        ({"signs": ".-", "message": ""}, "\u00d8 84", "84"),
        ({"signs": ".-", "message": ""}, "(+)", ""),
        ({"signs": ".-()", "message": ""}, "bore (old)", "bore old"),
        ({"signs": ".-[]", "message": "", "capitals": True}, "bore (old)!", "BORE [OLD]"),
        ({"form": "semicolon"}, "a; (b)", "a; [b]"),
        ({"form": "semicolon", "signs": ".-", "message": ""}, "a;b", "a b"),
    ],
)
def test_a_comment_has_only_the_signs_of_the_dialect(comments: dict[str, Any], text: str, comment: str) -> None:
    assert made(comments=comments).comment(text) == comment


@pytest.mark.parametrize(
    ("comments", "without"),
    [
        ({}, "()"),
        ({"form": "semicolon"}, ""),
        ({"capitals": True}, "()" + string.ascii_lowercase),
        ({"form": "semicolon", "capitals": True}, string.ascii_lowercase),
        ({"signs": ".-", "message": ""}, "".join(sorted(set(string.punctuation) - set(".-")))),
        ({"signs": ".-()", "message": ""}, "".join(sorted(set(string.punctuation) - set(".-")))),
    ],
)
def test_the_signs_a_comment_may_hold(comments: dict[str, Any], without: str) -> None:
    assert made(comments=comments).comments.allowed == PRINTABLE - set(without)


def test_signs_that_are_printable() -> None:
    assert {chr(code) for code in range(32, 127)} == PRINTABLE


@given(dialects(), st.text())
def test_no_text_breaks_out_of_a_comment(dialect: Dialect, text: str) -> None:
    comment = dialect.comment(text)
    assert dialect.comments.allowed.issuperset(comment)
    assert comment == comment.strip()
    assert dialect.comment(comment) == comment
    assert len(comment) <= 20 * len(text)
    if dialect.comments.form != "none" and len(comment) <= dialect.comment_room:
        line = f"({comment})" if dialect.comments.form == "brackets" else f";{comment}"
        unframed = dialect.model_copy(update={"lines": Lines()})
        assert block(line, unframed)[2:] == ((), "", comment, False, None)


def test_the_room_for_a_comment() -> None:
    assert PLAIN.comment_room == 254
    assert made(lines={"length": 40}).comment_room == 38


@pytest.mark.parametrize("name", list(shipped()))
def test_the_room_for_a_message_fills_the_longest_line(name: str) -> None:
    dialect = find(name).dialect
    numbers = dialect.lines.block_numbers
    number = f"N{numbers.last} " if numbers else ""
    line = f"{number}M0 ({dialect.comments.message} {'W' * dialect.message_room})"
    assert len(line) == dialect.lines.length
