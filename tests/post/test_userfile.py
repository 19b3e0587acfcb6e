import errno
import os
import pickle
import re
import sys
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final, Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import Field, model_validator

from post.tomlplaces import Key
from post.userfile import (
    MOST_BYTES,
    InputError,
    KeyProblem,
    Table,
    parse_toml,
    read_text,
    spell,
    validate,
)
from tests.jobs import edited, told


class Wheel(Table):
    size: float = Field(gt=0, le=900, allow_inf_nan=False, examples=[26.5])
    spokes: int = Field(default=32, ge=3, examples=[36])


class Frame(Table):
    tube: Literal["round", "oval"] = Field(examples=["round"])
    lug: tuple[float, float] | None = Field(default=None, strict=False, examples=[[3.5, 4.0]])
    front: Wheel | None = None


class Cycle(Table):
    name: str = Field(min_length=1, max_length=20, examples=["Red one"])
    bell: bool = Field(default=False, examples=[True])
    frame: Frame = Field(examples=[{"tube": "round"}])
    wheel: tuple[Wheel, ...] = Field(default=(), strict=False)

    @model_validator(mode="after")
    def _wheels_fit(self) -> "Cycle":
        for index, wheel in enumerate(self.wheel):
            if wheel.size == 13:
                raise KeyProblem(("wheel", index, "size"), "13 is unlucky; write size = 14")
        return self


CYCLE: Final = """\
name = "Red one"

[frame]
tube = "round"

[[wheel]]
size = 26

[[wheel]]
size = 28
spokes = 36
"""


def told_of(text: str, *changes: tuple[str, str]) -> str:
    """What is told of a cycle's file after changes."""
    changed, path = edited(text, *changes), Path("cycle.toml")
    return told(lambda: validate(Cycle, parse_toml(changed, path), path=path, text=changed))


def test_a_valid_file_becomes_a_frozen_model() -> None:
    cycle = validate(Cycle, tomllib.loads(CYCLE), path=Path("cycle.toml"), text=CYCLE)
    assert [wheel.spokes for wheel in cycle.wheel] == [32, 36]
    with pytest.raises(ValueError, match="frozen"):
        cycle.name = "Blue one"  # type: ignore[misc]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("size = 26", "size = 0", "cycle.toml:7: wheel 1, size: 0 must be greater than 0, e.g. size = 26.5"),
        ("size = 26", "size = -1.5", "cycle.toml:7: wheel 1, size: -1.5 must be greater than 0, e.g. size = 26.5"),
        ("size = 26", "size = 901", "cycle.toml:7: wheel 1, size: 901 must be 900 or less, e.g. size = 26.5"),
        (
            "size = 26",
            "size = nan",
            "cycle.toml:7: wheel 1, size: nan must be a plain number, neither infinite nor NaN, e.g. size = 26.5",
        ),
        (
            "size = 26",
            "size = -inf",
            "cycle.toml:7: wheel 1, size: -inf must be a plain number, neither infinite nor NaN, e.g. size = 26.5",
        ),
        ("size = 26", 'size = "26"', 'cycle.toml:7: wheel 1, size: "26" must be a number, e.g. size = 26.5'),
        ("size = 26", "size = true", "cycle.toml:7: wheel 1, size: true must be a number, e.g. size = 26.5"),
        ("size = 26", "size = [1, 2]", "cycle.toml:7: wheel 1, size: [1, 2] must be a number, e.g. size = 26.5"),
        (
            "size = 26",
            "size = { a = 1 }",
            "cycle.toml:7: wheel 1, size: { a = 1 } must be a number, e.g. size = 26.5",
        ),
        ("spokes = 36", "spokes = 2", "cycle.toml:11: wheel 2, spokes: 2 must be 3 or more, e.g. spokes = 36"),
        (
            "spokes = 36",
            "spokes = 36.5",
            "cycle.toml:11: wheel 2, spokes: 36.5 must be a whole number, e.g. spokes = 36",
        ),
        (
            'tube = "round"',
            'tube = "square"',
            "cycle.toml:4: frame.tube: \"square\" must be one of 'round' or 'oval', e.g. tube = \"round\"",
        ),
        ('tube = "round"', "", 'cycle.toml:3: frame.tube: is missing; write tube = "round"'),
        ('name = "Red one"\n', "", 'cycle.toml: name: is missing; write name = "Red one"'),
        ('name = "Red one"', 'name = ""', 'cycle.toml:1: name: "" must not be empty, e.g. name = "Red one"'),
        (
            'name = "Red one"',
            f'name = "{"x" * 50}"',
            f'cycle.toml:1: name: "{"x" * 37}..." must be at most 20 characters long, e.g. name = "Red one"',
        ),
        ('name = "Red one"', "name = 7", 'cycle.toml:1: name: 7 must be text in quotes, e.g. name = "Red one"'),
        (
            "[frame]",
            "bell = 1\n[frame]",
            "cycle.toml:3: bell: 1 must be true or false, e.g. bell = true",
        ),
        (
            'tube = "round"',
            'tube = "round"\nlug = [1.0]',
            "cycle.toml:5: frame.lug: [1.0] must be a list of two numbers, e.g. lug = [3.5, 4.0]",
        ),
        (
            'tube = "round"',
            'tube = "round"\nlug = []',
            "cycle.toml:5: frame.lug: [] must be a list of two numbers, e.g. lug = [3.5, 4.0]",
        ),
        (
            'tube = "round"',
            'tube = "round"\nlug = 1.0',
            "cycle.toml:5: frame.lug: 1.0 must be a list of two numbers, e.g. lug = [3.5, 4.0]",
        ),
        (
            'tube = "round"',
            'tube = "round"\nfront = 7',
            "cycle.toml:5: frame.front: 7 must be a table of keys",
        ),
        (
            'tube = "round"',
            'tube = "round"\nfront = { size = 0 }',
            "cycle.toml:5: frame.front.size: 0 must be greater than 0, e.g. size = 26.5",
        ),
        ("size = 26", "size = 13", "cycle.toml:7: wheel 1, size: 13 is unlucky; write size = 14"),
    ],
)
def test_a_mistake_is_told_with_its_place_value_rule_and_example(old: str, new: str, says: str) -> None:
    assert told_of(CYCLE, (old, new)) == says


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            "spokes = 36",
            "spoke = 36",
            "cycle.toml:11: wheel 2, spoke: there is no such key; did you mean spokes? Allowed here: size, spokes",
        ),
        (
            "spokes = 36",
            "q = 36",
            "cycle.toml:11: wheel 2, q: there is no such key. Allowed here: size, spokes",
        ),
        (
            "[frame]",
            "bells = true\n[frame]",
            "cycle.toml:3: bells: there is no such key; did you mean bell? Allowed here: name, bell, frame, wheel",
        ),
    ],
)
def test_an_unknown_key_is_told_with_the_near_one_and_all_allowed(old: str, new: str, says: str) -> None:
    assert told_of(CYCLE, (old, new)) == says


def test_the_first_mistake_down_the_file_is_told_and_the_rest_counted() -> None:
    one = told_of(CYCLE, ("size = 26", "size = 0"), ("size = 28", "size = 0"))
    assert one.startswith("cycle.toml:7: wheel 1, size: 0 ")
    assert one.endswith("(and 1 more mistake after this one)")
    two = told_of(CYCLE, ("size = 26", "size = 0"), ("size = 28", "size = 0"), ("spokes = 36", "spokes = 0"))
    assert two.endswith("(and 2 more mistakes after this one)")


def test_down_the_file_is_not_the_order_of_the_model() -> None:
    text = 'name = "a"\n[[wheel]]\nsize = 0\n[frame]\ntube = "square"\n'
    assert told_of(text).startswith("cycle.toml:3: wheel 1, size: 0 ")
    assert told_of("bell = 1\n" + text.replace("name", "# name")).startswith("cycle.toml:1: bell: 1 ")


def test_a_missing_table_is_told_with_how_to_write_it() -> None:
    says = told_of(CYCLE, ('[frame]\ntube = "round"\n', ""))
    assert says == 'cycle.toml: frame: is missing; write frame = { tube = "round" }'


def test_a_list_where_no_two_numbers_belong_is_not_told_to_be_two_numbers() -> None:
    says = told_of('name = "a"\nwheel = 5\n[frame]\ntube = "oval"\n')
    assert says.startswith("cycle.toml:2: wheel: 5 must be ")
    assert "two numbers" not in says


class Bag(Table):
    tools: tuple[str, ...] = Field(default=(), strict=False, examples=[["spoke key"]])
    gauge: float = Field(default=1.0, ge=1e-7, le=2_000_000.0, examples=[0.5])
    strap: float = Field(default=1.0, gt=0.25, lt=10.0)


def told_of_bag(text: str) -> str:
    path = Path("bag.toml")
    return told(lambda: validate(Bag, parse_toml(text, path), path=path, text=text))


def test_a_list_of_texts_is_told_to_be_a_list() -> None:
    assert told_of_bag('tools = "pump"') == 'bag.toml:1: tools: "pump" must be a list, e.g. tools = ["spoke key"]'
    assert told_of_bag("tools = 5") == 'bag.toml:1: tools: 5 must be a list, e.g. tools = ["spoke key"]'


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("gauge = 0", "gauge: 0 must be 0.0000001 or more, e.g. gauge = 0.5"),
        ("gauge = 3000000", "gauge: 3000000 must be 2000000 or less, e.g. gauge = 0.5"),
        ("strap = 0.25", "strap: 0.25 must be greater than 0.25"),
        ("strap = 10", "strap: 10 must be less than 10"),
    ],
)
def test_a_bound_is_told_without_an_exponent(line: str, says: str) -> None:
    assert told_of_bag(line) == f"bag.toml:1: {says}"


def test_a_single_bracket_where_tables_repeat_is_told_to_be_doubled() -> None:
    says = told_of('name = "a"\n[frame]\ntube = "oval"\n[wheel]\nsize = 26\n')
    assert says.startswith("cycle.toml:4: wheel: ")
    assert "[[wheel]]" in says


@pytest.mark.parametrize("digits", [400, 4000])
def test_a_very_long_number_is_told_cut_short(digits: int) -> None:
    says = told_of(CYCLE, ("size = 26", f"size = {'9' * digits}"))
    assert says.startswith("cycle.toml:7: wheel 1, size: ")
    assert len(says) < 200


@pytest.mark.parametrize("number", ["9" * 5000, "0x" + "f" * 9000], ids=["decimal", "hexadecimal"])
def test_a_number_too_long_for_the_reader_itself_is_an_input_error(number: str) -> None:
    assert told_of(CYCLE, ("size = 26", f"size = {number}")).startswith("cycle.toml")


def test_a_very_long_key_is_told_cut_short() -> None:
    assert len(told_of(CYCLE, ("spokes = 36", f"{'s' * 100_000} = 36"))) < 500


def calls(action: Callable[[], object]) -> int:
    """How many functions an action calls, Python's own in C counted too: a measure of work that never wavers."""
    count = 0

    def note(_frame: Any, event: str, _argument: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(note)
    try:
        action()
    finally:
        sys.setprofile(None)
    return count


def test_twice_the_mistakes_take_about_twice_the_work() -> None:
    """Looking each mistake's line up in the whole text made 5,000 misspelled bores take a minute."""

    def work(wheels: int) -> int:
        text = 'name = "a"\n[frame]\ntube = "oval"\n' + "[[wheel]]\nsize = 0\n" * wheels
        return calls(lambda: told_of(text))

    assert work(400) < 2.5 * work(200)


def test_no_file_is_told_with_a_near_name(tmp_path: Path) -> None:
    (tmp_path / "engine.toml").write_text("", encoding="utf-8")
    path = tmp_path / "enigne.toml"
    assert (
        told(lambda: read_text(path, what="job file"))
        == f"{path}: there is no such job file; did you mean engine.toml?"
    )


@pytest.mark.parametrize(
    ("name", "other"), [("t.toml", "pyproject.toml"), ("engine.toml", "engine.nc"), ("engine.toml", "engine")]
)
def test_a_name_that_is_near_by_its_ending_alone_or_has_another_is_not_told(
    tmp_path: Path, name: str, other: str
) -> None:
    (tmp_path / other).write_text("", encoding="utf-8")
    message = told(lambda: read_text(tmp_path / name, what="job file"))
    assert message.endswith("there is no such job file; give the path of a job file")


@pytest.mark.parametrize("name", ["job.toml", "no/such/folder/job.toml"])
def test_no_file_and_nothing_near_asks_for_a_path(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    assert (
        told(lambda: read_text(path, what="job file"))
        == f"{path}: there is no such job file; give the path of a job file"
    )


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    assert (
        told(lambda: read_text(tmp_path, what="dialect")) == f"{tmp_path}: this is a folder; give the path of a dialect"
    )


def test_a_path_below_a_file_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    path = tmp_path / "file" / "job.toml"
    assert (
        told(lambda: read_text(path, what="job file"))
        == f"{path}: this job file cannot be read (Not a directory); check its permissions"
    )


def test_a_file_in_a_folder_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests may run as root, whom no permission stops; the system's answer is put in its place."""

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(Path, "open", refuse)
    path = tmp_path / "job.toml"
    assert (
        told(lambda: read_text(path, what="job file"))
        == f"{path}: this job file cannot be read (Permission denied); check its permissions"
    )


def test_no_near_name_is_sought_in_a_folder_that_may_not_be_listed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(Path, "iterdir", refuse)
    with pytest.raises(InputError, match="there is no such job file; give the path of a job file"):
        read_text(tmp_path / "job.toml", what="job file")


def test_a_name_longer_than_the_system_takes(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"cannot be read \(File name too long\)"):
        read_text(tmp_path / ("a" * 300), what="job file")


def test_a_name_with_a_zero_byte_is_an_input_error(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="job file"):
        read_text(tmp_path / "a\0b", what="job file")


def test_a_file_too_large_is_told_without_being_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.touch()
    os.truncate(path, 100_000_000)
    assert told(lambda: read_text(path, what="job file")) == (
        f"{path}: this file is larger than 4 MB, the most a job file may be; is it the right file?"
    )


def test_a_file_of_exactly_the_most_bytes_is_read(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"#" * MOST_BYTES)
    assert len(read_text(path, what="job file")) == MOST_BYTES
    path.write_bytes(b"#" * (MOST_BYTES + 1))
    with pytest.raises(InputError, match="larger than 4 MB"):
        read_text(path, what="job file")


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"a = 1\nb = \xff\n", ":2: this is no text: byte 10 is not UTF-8; save the job file as UTF-8"),
        ("a = 1".encode("utf-16"), ":1: this is no text: byte 0 is not UTF-8; save the job file as UTF-8"),
        (b"a = 1\n\nb\0", ":3: this is no text: it holds a zero byte; is it the right job file?"),
        (b"\x7fELF\2\1\1\0", ":1: this is no text: it holds a zero byte; is it the right job file?"),
    ],
)
def test_a_binary_file_is_told_with_the_line_of_the_first_odd_byte(tmp_path: Path, data: bytes, says: str) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(data)
    assert told(lambda: read_text(path, what="job file")) == f"{path}{says}"


def test_a_byte_order_mark_is_dropped_or_kept_as_asked(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1")
    assert read_text(path, what="job file") == "a = 1"
    assert read_text(path, what="job file", keep_mark=True) == "\ufeffa = 1"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a = 1\n[b\n", "job.toml:2: not valid TOML: "),
        ("a = 1\nb = \n", "job.toml:2: not valid TOML: "),
        ("a = 1\na = 2\n", "job.toml:2: not valid TOML: "),
        ('a = "open', "job.toml:1: not valid TOML: "),
        ("a = 1\nb = [1,\n2,\n", "job.toml:4: not valid TOML: "),
        ("a = " + "[" * 50_000, "job.toml: not valid TOML: brackets nested too deep, or a number too long; "),
    ],
)
def test_bad_toml_is_told_with_its_line_and_an_example(text: str, says: str) -> None:
    message = told(lambda: parse_toml(text, Path("job.toml")))
    assert message.startswith(says)
    assert "write one 'key = value' a line" in message
    assert "(at " not in message


@pytest.mark.parametrize(
    ("text", "comma", "point"),
    [
        ("a = 1\nb = 3,2620\n", "3,2620", "3.2620"),
        ("a = 1\r\nb = 3,2620 # as 1,5\r\n", "3,2620", "3.2620"),
        ("a = 1\nzero = { x = -9,5, y = 0, z = -15,2 }\n", "-9,5", "-9.5"),
        ("a = 1\nzero = { x = [1,2], y = 0,5 }\n", "0,5", "0.5"),
        ("a = 1\nzero = { x = +0,5", "+0,5", "+0.5"),
    ],
)
def test_a_decimal_comma_is_told_to_be_a_point(text: str, comma: str, point: str) -> None:
    says = f"job.toml:2: not valid TOML: {comma} has a comma; write decimals with a point, as {point}"
    assert told(lambda: parse_toml(text, Path("job.toml"))) == says


@pytest.mark.parametrize(
    "text",
    [
        "a = [1,2 3]",
        "a = [1,2",
        'a = "bores 1,2\n',
        "a = 'bores 1,2\n",
        "a b # bores 1,2",
        "a = { b = 'bores 1,2', c }",
        "a = { b = 0, 1,2 }",
        "a.1,2 = 1",
    ],
)
def test_a_comma_that_is_no_decimal_comma_is_left_to_the_reader(text: str) -> None:
    assert "not valid TOML: " in told(lambda: parse_toml(text, Path("job.toml")))


@settings(max_examples=300)
@given(st.text(max_size=40) | st.text(alphabet="ab=[]{}\"',.#\n0123_-+eTZ:", max_size=40))
def test_any_text_is_toml_or_an_input_error(text: str) -> None:
    try:
        data = parse_toml(text, Path("job.toml"))
    except InputError as error:
        assert str(error).startswith("job.toml")  # noqa: PT017 - either outcome is right
    else:
        assert data == tomllib.loads(text)


@pytest.mark.parametrize(
    ("key", "says"),
    [
        ((), ""),
        (("bore", 2, "width"), "bore 3, width"),
        (("machine", "travel", "x"), "machine.travel.x"),
        (("machine", "travel", "x", 0), "machine.travel.x 1"),
        (("bore", 0), "bore 1"),
        (("name",), "name"),
    ],
)
def test_a_key_is_spelled_as_people_count(key: Key, says: str) -> None:
    assert spell(key) == says


@pytest.mark.parametrize(
    ("error", "says"),
    [
        (InputError("wrong"), "wrong"),
        (InputError("wrong", file=Path("a.toml")), "a.toml: wrong"),
        (InputError("wrong", file=Path("a.toml"), line=3), "a.toml:3: wrong"),
        (InputError("wrong", key=("cut", "rpm")), "cut.rpm: wrong"),
        (InputError("wrong", file=Path("a.toml"), line=3, key=("cut", "rpm")), "a.toml:3: cut.rpm: wrong"),
    ],
)
def test_an_input_error_says_where_as_far_as_there_is_a_where(error: InputError, says: str) -> None:
    assert str(error) == says


def test_errors_survive_a_trip_between_processes() -> None:
    error = InputError("wrong", file=Path("a.toml"), line=3, key=("cut", "rpm"))
    assert str(pickle.loads(pickle.dumps(error))) == "a.toml:3: cut.rpm: wrong"


@given(
    st.dictionaries(
        st.sampled_from(("name", "bell", "frame", "wheel", "size", "q")),
        st.recursive(
            st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5) | st.dates(),
            lambda inner: (
                st.lists(inner, max_size=3)
                | st.dictionaries(st.sampled_from(("size", "spokes", "tube", "front", "lug", "a")), inner, max_size=3)
            ),
            max_leaves=6,
        ),
        max_size=4,
    )
)
def test_any_data_becomes_a_model_or_one_input_error(data: Mapping[str, Any]) -> None:
    try:
        validate(Cycle, data, path=Path("cycle.toml"), text="")
    except InputError as error:
        assert re.fullmatch(r"cycle\.toml: [^\n]{1,1000}", str(error))  # noqa: PT017 - either outcome is right
