"""The language of a template: what it can say, how its mistakes are told, and that nothing else leaves it.

The ways out that strangers are known to try are in tests/published/test_sandbox_escapes.py.
"""

import itertools
import time
from pathlib import Path
from typing import Final
from unittest.mock import patch

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from post import sandbox
from post.motion import Plan
from post.sandbox import CHARACTERS_A_STEP, MOST_BYTES
from post.userfile import InputError
from post.wording import MOST_TEXT
from post.writer import write
from tests.jobs import told
from tests.post.test_writer import PLAIN, PLAN, STEPS, by_template, fault, rapids

OPENING: Final = "the template failed while writing the opening: "
NOT_UNDERSTOOD: Final = "the template cannot be understood: "


# what a template can say


@pytest.mark.parametrize(
    ("template", "text"),
    [
        ("{{ 'a' }}{{ 3 }}{{ 2.5 }}{{ '' }}", "a32.5"),
        (
            "{{ 7 + 2 }} {{ 7 - 2 }} {{ 7 * 2 }} {{ 7 / 2 }} {{ 7 // 2 }} {{ 7 % 4 }} {{ -7 }} {{ +7 }}",
            "9 5 14 3.5 3 3 -7 7",
        ),
        ("{{ 'X' ~ 1 ~ '.' ~ 2.5 ~ '' }}", "X1.2.5"),
        ("{{ 'a' if 1 < 2 else 'b' }}{{ 'a' if 1 > 2 else 'b' }}", "ab"),
        ("{% if 1 == 1.0 and not 1 != 1 and (2 >= 2 or 2 <= 1) %}yes{% else %}no{% endif %}", "yes"),
        ("{% if 1 > 2 %}a{% elif 2 > 1 %}b{% else %}c{% endif %}", "b"),
        (
            "{% if 'a' in header %}a{% elif 'one' in header %}one{% endif %}{{ 'x' if 3 not in [1, 2] else 'y' }}",
            "onex",
        ),
        ("{% set a = 3 %}{% set b = a * 2 %}{{ b }}{% set a = 'x' %}{{ a }}", "6x"),
        ("{% for a in [1, 'x', 2.5] %}{{ a }}{% endfor %}{% for a in ('p', 'q') %}{{ a }}{% endfor %}", "1x2.5pq"),
        ("{% for a in [] %}x{% else %}none{% endfor %}", "none"),
        ("{% for a in [1, 2, 3, 4] if a is even %}{{ a }}{% endfor %}", "24"),
        (
            "{% for a in 'abc' %}{{ loop.index }}{{ loop.index0 }}{{ loop.revindex }}{{ loop.revindex0 }}{{ a }}"
            "{{ '!' if loop.first else '' }}{{ '.' if loop.last else ' ' }}{% endfor %}{{ 'z' }}",
            "1032a! 2121b 3210c.z",
        ),
        ("{% for a in header %}{{ loop.length }}{% endfor %}", "22"),
        ("{% for a in range(3) %}{% for b in range(a) %}{{ a }}{{ b }} {% endfor %}{% endfor %}.", "10 20 21 ."),
        ("{{ 'x' if nope is defined else 'y' }}{{ 'x' if steps[0].x is undefined else 'y' }}", "yx"),
        (
            "{{ 'x' if none is none else 'y' }}{{ 'x' if steps[1].x is none else 'y' }}{{ 'x' if 1 is none else 'y' }}",
            "xxy",
        ),
        ("{{ 'x' if 3 is odd else 'y' }}{{ 'x' if 3 is even else 'y' }}{{ 'x' if 4 is even else 'y' }}", "xyx"),
        (
            "{{ 'x' if 3 is number else 'y' }}{{ 'x' if '3' is number else 'y' }}{{ 'x' if '3' is string else 'y' }}",
            "xyx",
        ),
        ("{{ header[0] }}{{ header[-1] }}{{ (1, 2)[1] }}{{ steps[-1].kind }}", "onetwo2pause"),
        ("{# a remark #}{% raw %}{{ x }}{% endraw %}", "{{ x }}"),
        ("{%- if true -%}  a  {%- endif -%}  b", "ab"),
        ("{{ '\\x41\\u0042\\t'|upper|lower|length if false else '\"' }}", '"'),
    ],
    ids=lambda value: value[:30],
)
def test_the_language_of_templates(tmp_path: Path, template: str, text: str) -> None:
    assert by_template(tmp_path, template) == f"{text}\n"


@pytest.mark.parametrize(
    ("template", "text"),
    [
        ("{{ 1.25 | length }}", "1.250"),
        ("{{ 1.25 | feed }}", "1.250"),
        ("{{ 760 | speed }}", "760"),
        ("{{ 0.64 | dwell }}", "0.64"),
        ("{{ 90 | angle }}", "90.000"),
        ("{{ 'a (b)' | comment }}", "(a [b])"),
        ("{{ 'a (b)' | message }}", "(MSG, a [b])"),
        ("{{ steps[3] | place }}", "X3.000 Y0.000 Z0.000"),
        ("{{ steps[1] | moved }}", "Z165.100"),
        ("{{ 'Bore' | upper }} {{ 'Bore' | lower }} {{ 7 | upper }}", "BORE bore 7"),
        ("{{ (-3) | abs }} {{ (-3) | abs | length }} {{ (0 - 2.5) | abs }}", "3.0 3.000 2.5"),
        ("{{ steps[3].x | length | lower }}", "3.000"),
    ],
)
def test_filters(tmp_path: Path, template: str, text: str) -> None:
    assert by_template(tmp_path, template) == f"{text}\n"


@pytest.mark.parametrize(
    ("bounds", "numbers"),
    [("3", "012"), ("1, 4", "123"), ("4, 1, -1", "432"), ("0", ""), ("5, 2", ""), ("3.0", "012"), ("0, 9, 4", "048")],
)
def test_range_counts_as_elsewhere(tmp_path: Path, bounds: str, numbers: str) -> None:
    template = "{% for n in range(" + bounds + ") %}{{ n }}{% endfor %}."
    assert by_template(tmp_path, template) == f"{numbers}.\n"


@pytest.mark.parametrize(
    ("bounds", "says"),
    [
        ("100001", "a range of more than 100000 numbers"),
        ("-50000, 50001", "a range of more than 100000 numbers"),
        ("0, 900000000000, 1", "a range of more than 100000 numbers"),
        ("1e12", "range takes a number below 1000000000000"),
        ("'3'", "range takes a number"),
        ("none", "nothing given to range"),
        ("nope", "'nope' is undefined"),
        ("1, 9, 0", ""),
        ("", ""),
        ("1, 2, 3, 4", ""),
    ],
)
def test_a_range_that_is_none_is_told(tmp_path: Path, bounds: str, says: str) -> None:
    message = fault(tmp_path, "\n{% for n in range(" + bounds + ") %}{% endfor %}")
    assert message.startswith(f"2: {OPENING}{says}")
    assert len(message) > len(f"2: {OPENING}")


def test_a_range_may_be_as_long_as_the_longest(tmp_path: Path) -> None:
    template = "{% for n in range(100000) %}{% if loop.last %}{{ n }}{% endif %}{% endfor %}"
    assert by_template(tmp_path, template) == "99999\n"


def test_what_a_template_sets_does_not_pass_to_the_next(tmp_path: Path) -> None:
    assert by_template(tmp_path, "{% set steps = 3 %}{% set range = 4 %}{{ steps }}{{ range }}") == "34\n"
    assert by_template(tmp_path, "{% for n in range(2) %}{{ steps[n].kind }} {% endfor %}") == "stop rapid\n"


def test_the_same_text_under_two_sets_of_filters_and_paths(tmp_path: Path) -> None:
    """A compiled template is kept; what it is told of and how numbers are written is not kept with it."""
    inch = Plan(STEPS, "inch", "G54")
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        assert by_template(tmp_path / folder, "{{ 1.5 | length }}{{ steps[0].kind }}") == "1.500stop\n"
        assert by_template(tmp_path / folder, "{{ 1.5 | length }}{{ steps[0].kind }}", inch) == "1.5000stop\n"
        assert fault(tmp_path / folder, "{{ nope }}") == f"1: {OPENING}'nope' is undefined"


# how its mistakes are told


@pytest.mark.parametrize(
    ("template", "says"),
    [
        (
            "{% for step in steps %}\n{{ step.nope }}\n{% endfor %}\n",
            "2: the template failed while writing step 1, stop (nothing turns yet):"
            " a step of kind stop has no nope; it has why",
        ),
        (
            "{% for step in steps %}\n{% if step.kind == 'feed' %}\n{{ 1 / 0 }}\n{% endif %}\n{% endfor %}\n",
            "3: the template failed while writing step 6, feed (feed through bore 1): division by zero",
        ),
        (
            "{% for step in steps %}{% if step.kind == 'pause' %}{{ step.z }}{% endif %}{% endfor %}",
            "1: the template failed while writing step 10, pause (look):"
            " a step of kind pause has no z; it has message, why",
        ),
        (
            "{% for step in steps %}\n\nG0 X{{ step.x | length }}\n{% endfor %}",
            "3: the template failed while writing step 1, stop (nothing turns yet):"
            " a step of kind stop has no x; it has why",
        ),
        (
            "{% for step in steps if step.kind == 'rapid' %}\nG0 X{{ step.x | length }}\n{% endfor %}",
            "2: the template failed while writing step 2, rapid (to the clearance height):"
            " nothing given to length: the step leaves that axis, or that word, out",
        ),
        (
            "{% for step in steps if step.kind == 'remark' %}\n\n{{ step.text | length }}\n{% endfor %}",
            "3: the template failed while writing step 3, remark (bore 1): length takes a number",
        ),
        (
            "G21\n{% for step in steps %}\n{{ step | place }}\n{% endfor %}",
            "3: the template failed while writing step 1, stop (nothing turns yet):"
            " place and moved take a step that is a rapid or a feed",
        ),
        ("\n{{ nope }}", f"2: {OPENING}'nope' is undefined"),
        ("{{ nope.kind }}", f"1: {OPENING}'nope' is undefined"),
        ("{{ nope ~ 'a' }}", f"1: {OPENING}'nope' is undefined"),
        ("{% if nope %}{% endif %}", f"1: {OPENING}'nope' is undefined"),
        ("{% for a in nope %}{% endfor %}", f"1: {OPENING}'nope' is undefined"),
        ("{{ steps[0] }}", f"1: {OPENING}{{{{ }}}} takes a text or a number"),
        ("{{ header }}", f"1: {OPENING}{{{{ }}}} takes a text or a number"),
        ("{{ none }}", f"1: {OPENING}{{{{ }}}} takes a text or a number"),
        ("{{ 1 == 1 }}", f"1: {OPENING}{{{{ }}}} takes a text or a number"),
        ("{{ 'a' + 1 }}", f"1: {OPENING}+, which joins no text (~ does), takes a number"),
        ("{{ 'a' ~ header }}", f"1: {OPENING}~ takes a text or a number"),
        ("{{ line(header) }}", f"1: {OPENING}line takes a text or a number"),
        ("{{ once(none) }}", f"1: {OPENING}once takes a text or a number"),
        ("{{ header | upper }}", f"1: {OPENING}upper takes a text or a number"),
        ("{{ header | lower }}", f"1: {OPENING}lower takes a text or a number"),
        ("{{ 'a' | abs }}", f"1: {OPENING}abs takes a number"),
        ("{{ -'a' }}", f"1: {OPENING}- takes a number"),
        ("{{ steps[99].kind }}", f"1: {OPENING}"),
        ("{{ header['0'] }}", f"1: {OPENING}only a list can be asked for one of its places, as header[0]"),
        ("{{ 1 < 'a' }}", f"1: {OPENING}"),
        ("{{ 'X'() }}", f"1: {OPENING}'X' is not safely callable"),
        ("{{ header[0].upper() }}", f"1: {OPENING}access to attribute 'upper' of 'str' object is unsafe"),
        ("{{ header.append }}", f"1: {OPENING}access to attribute 'append' of 'list' object is unsafe"),
        ("{{ 999999999999 * 2 }}", f"1: {OPENING}what comes after * takes a number below 1000000000000"),
        ("{{ header.__class__ }}", "1: the template uses the attribute __class__, which posts do not have"),
        ("{{ _x }}", "1: the template uses the name _x, which posts do not have"),
        ("{{ self }}", "1: the template uses the name self, which posts do not have"),
        ("{% for a in [1] recursive %}{% endfor %}", "1: the template uses a recursive loop, which posts do not have"),
        ("{{ [line] }}", "1: the template uses a list of anything but plain texts and numbers, which"),
        ("{{ line(*header) }}", "1: the template uses a call with * or **, which posts do not have"),
        ("{% for a, b in steps %}{% endfor %}", "1: the template uses several names set at once, which posts"),
        ("{% if '%d' is odd %}{% endif %}", "1: the template failed while writing the opening: odd takes a number"),
        ("{% if '%d' is even %}{% endif %}", "1: the template failed while writing the opening: even takes a number"),
        ("\n\n{% if %}", f"3: {NOT_UNDERSTOOD}"),
        ("{% endfor %}", f"1: {NOT_UNDERSTOOD}"),
        ("\n{% for a in b %}", f"2: {NOT_UNDERSTOOD}"),
        ("\n\n{{ 1 +", f"3: {NOT_UNDERSTOOD}"),
        ("\n{# never closed", f"2: {NOT_UNDERSTOOD}"),
        ("\n{% do 1 %}", f"2: {NOT_UNDERSTOOD}Encountered unknown tag 'do'"),
        ("a\n{{ 1 | nofilter }}", "2: the template uses the filter nofilter, which posts do not have"),
        ("a\n{% if 1 is notest %}{% endif %}", "2: the template uses the test notest, which posts do not have"),
        ("a\n\n{{ 2 ** 9 }}", "3: the template uses **, which posts do not have"),
        ("\n{{ 1 | length(2) }}", "2: the template uses a filter with arguments, which posts do not have"),
        ("\n{% set a, b = 1, 2 %}", "2: the template uses several names set at once, which posts do not have"),
        ("\n{{ header[0:1] }}", "2: the template uses [:], which posts do not have"),
        (b"a\ncaf\xe9", "2: this is no text: byte 5 is not UTF-8; save the template as UTF-8"),
        (b"a\n\n\0", "3: this is no text: it holds a zero byte; is it the right template?"),
    ],
    ids=lambda value: None if isinstance(value, bytes) else value[:40],
)
def test_a_template_that_fails_is_told_with_its_line_and_the_step(
    tmp_path: Path, template: str | bytes, says: str
) -> None:
    message = fault(tmp_path, template)
    assert message.startswith(says)
    assert not message.endswith(": ")
    assert message.isprintable()


@pytest.mark.parametrize(
    "template", ["{{ 1e999 }}", "{{ 1e999 - 1e999 }}", "{{ 1e999 ~ '' }}", "{% if 1e999 > 1 %}{% endif %}"]
)
def test_a_number_beyond_a_float_is_told(tmp_path: Path, template: str) -> None:
    assert fault(tmp_path, f"\n{template}").startswith("2: the template ")


@pytest.mark.parametrize(
    ("template", "line"),
    [
        ("\n\n{{" + "not " * 200 + "1}}", 3),
        ("\n" + "{%for a in steps%}" * 30 + "{%endfor%}" * 30, 2),
        ("\n{% autoescape true %}{% endautoescape %}", 2),
        ("\n\n\n{{ " + "9" * 5000 + " }}", 4),
        ("\n{{" + "(" * 3000 + "1" + ")" * 3000 + "}}", None),
    ],
    ids=["nots", "loops", "autoescape", "digits", "brackets"],
)
def test_what_cannot_be_compiled_is_told_with_a_line_of_the_template_or_none(
    tmp_path: Path, template: str, line: int | None
) -> None:
    """A line of the Python that a template becomes would lead astray."""
    message = fault(tmp_path, template)
    number, separator, _ = message.partition(": the template ")
    assert separator or message.startswith("the template ")
    if separator:
        assert line is not None
        assert int(number) == line


def test_a_message_repeats_no_more_of_a_template_than_can_be_read(tmp_path: Path) -> None:
    for template in ("{{ " + "a" * 60_000 + " }}", "{{ '" + "a" * 60_000 + "'() }}", "{{ 1 | " + "a" * 60_000 + " }}"):
        message = fault(tmp_path, template)
        assert message.startswith("1: the template ")
        assert len(message) < 1000


def test_a_template_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "program.j2"
    assert told(lambda: write(PLAN, [], PLAIN, path)) == (
        f"{path}: there is no such template; give the path of a template"
    )


def test_a_folder_is_no_template(tmp_path: Path) -> None:
    assert told(lambda: write(PLAN, [], PLAIN, tmp_path)) == (
        f"{tmp_path}: this is a folder; give the path of a template"
    )


def test_the_largest_template(tmp_path: Path) -> None:
    largest = "{#" + "x" * (MOST_BYTES - 4) + "#}"
    assert by_template(tmp_path, largest) == ""
    assert fault(tmp_path, f"{largest} ") == (
        "this file is larger than 0.064 MB, the most a template may be; is it the right file?"
    )


# bounds


def test_what_a_template_writes_may_be_as_long_as_its_steps_ask(tmp_path: Path) -> None:
    line = "x" * 99 + "\n"
    lines = CHARACTERS_A_STEP * (10 + 100) // len(line)
    template = "{% for i in range(" + str(lines) + ") %}" + line + "{% endfor %}"
    assert by_template(tmp_path, template) == line * lines
    says = "it writes more than 44000 characters for 10 steps; does it loop?"
    assert says in fault(tmp_path, f"{template}x")
    more = Plan((*STEPS, *rapids((0.0, 0.0, 0.0)).steps), "mm", "G54")
    assert by_template(tmp_path, f"{template}x", more) == f"{line * lines}x\n"


def test_a_text_is_put_together_up_to_a_longest(tmp_path: Path) -> None:
    half = "{% set a = '" + "a" * (MOST_TEXT // 2) + "' %}"
    assert by_template(tmp_path, half + "{% set b = a ~ a %}x") == "x\n"
    assert fault(tmp_path, half + "\n{% set b = a ~ a ~ 'a' %}") == (
        f"2: {OPENING}a text of more than {MOST_TEXT} characters"
    )


def test_once_keeps_so_many_kinds_of_words(tmp_path: Path) -> None:
    template = "{% for i in range(COUNT) %}{{ once(i, 'k' ~ i) }}{% endfor %}."
    assert by_template(tmp_path, template.replace("COUNT", "100")).endswith("99.\n")
    assert fault(tmp_path, template.replace("COUNT", "101")) == (
        f"1: {OPENING}once is given more than 100 kinds of words"
    )


def test_a_word_of_a_kind_already_kept_can_change_when_memory_is_full(tmp_path: Path) -> None:
    template = "{% for i in range(100) %}{{ once('a', 'k' ~ i) }}{% endfor %}{{ once('b', 'k7') }}{{ once('b', 'k7') }}"
    assert by_template(tmp_path, template) == f"{'a' * 100}b\n"


def test_a_template_that_goes_on_too_long_is_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ticks = iter(range(10_000))
    monkeypatch.setattr(time, "monotonic", lambda: float(next(ticks)))
    monkeypatch.setattr(sandbox, "SECONDS", 5.0)
    message = fault(tmp_path, "{% for step in steps %}\n{{ step.kind }}\n{% endfor %}", Plan(STEPS * 100, "mm", "G54"))
    number, _, says = message.partition(": ")
    assert number == "1"
    assert says.startswith("the template failed while writing step ")
    assert says.endswith("seconds; does it loop?")


def test_the_clock_is_looked_at_on_every_step(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What a template does for one step may take long: a hundred steps between two looks would be too many."""
    ticks = iter(range(10_000))
    monkeypatch.setattr(time, "monotonic", lambda: float(next(ticks)))
    monkeypatch.setattr(sandbox, "SECONDS", 5.0)
    message = fault(tmp_path, "{% for step in steps %}\n{{ step.kind }}\n{% endfor %}")
    assert message.endswith("seconds; does it loop?")


@pytest.mark.parametrize("times", [1, 600])
def test_no_plan_is_so_long_that_a_template_may_hang(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, times: int
) -> None:
    """Five seconds at most, whatever the plan."""
    clock = itertools.chain((0.0,), itertools.repeat(5.0))
    monkeypatch.setattr(time, "monotonic", lambda: next(clock))
    plan = Plan(STEPS * times, "mm", "G54")
    assert fault(tmp_path, "{% for step in steps %}{% endfor %}", plan).endswith("seconds; does it loop?")


@pytest.mark.parametrize(
    "template",
    [
        "{% for i in range(99999) %}{% for j in range(99999) %}{% endfor %}{% endfor %}",
        "{% for i in steps %}{% for j in steps %}{% for k in range(99999) %}{% endfor %}{% endfor %}{% endfor %}",
        "{% for i in range(99999) %}{% for j in range(99999) if j < 0 %}{% endfor %}{% endfor %}",
        "{% for i in range(99999) %}{% if 1 in range(2, 99999) %}{% endif %}{% endfor %}",
    ],
)
def test_a_loop_that_writes_nothing_ends_when_the_time_is_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, template: str
) -> None:
    monkeypatch.setattr(sandbox, "SECONDS", 0.1)
    assert "it takes longer than 0.1 seconds; does it loop?" in fault(tmp_path, template)


# nothing but text or one clear message

_ATOMS: Final = (
    *("1", "0", "-3", "2.5", "1e999", "0x1f", "10**9", "'a'", "'%s'", "'%d'", "'{0}'", "''", "none", "true", "[]"),
    *("[1, 2]", "('a', 'b')", "{'a': 1}", "header", "header[0]", "steps", "steps[0]", "step", "step.kind", "step.x"),
    *("loop", "loop.index", "loop.cycle", "nope", "self", "_x", "range", "once", "line", "restate", "unit_word"),
    *("job_name", "part", "work_offset", "x", "y", "''.__class__", "cycler", "'\\ud800'", "'\\n'", "'\\t'"),
)
_BINARY: Final = ("+", "-", "*", "/", "//", "%", "**", "~", "==", "<", ">=", "in", "not in", "and", "or")
_FILTERS: Final = ("length", "feed", "speed", "dwell", "angle", "comment", "message", "place", "moved", "upper", "abs")
_FORBIDDEN: Final = ("attr('x')", "join", "first", "format(1)", "length(2)", "_joined", "safe", "tojson")
_TESTS: Final = (
    "defined",
    "undefined",
    "none",
    "odd",
    "even",
    "number",
    "string",
    "callable",
    "divisibleby 2",
    "odd(1)",
)
_CALLED: Final = (
    "once",
    "line",
    "range",
    "restate",
    "''.format",
    "header.append",
    "nope",
    "loop",
    "x",
    "super",
    "dict",
)


def _wider(inner: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    return st.one_of(
        st.tuples(inner, st.sampled_from(_BINARY), inner).map(lambda parts: f"({parts[0]} {parts[1]} {parts[2]})"),
        st.tuples(inner, st.sampled_from((*_FILTERS, *_FORBIDDEN))).map(lambda parts: f"({parts[0]} | {parts[1]})"),
        st.tuples(inner, st.sampled_from(_TESTS)).map(lambda parts: f"({parts[0]} is {parts[1]})"),
        st.tuples(inner, inner, inner).map(lambda parts: f"({parts[0]} if {parts[1]} else {parts[2]})"),
        st.tuples(inner, st.sampled_from(("kind", "x", "index", "nope", "__class__", "format", "fields"))).map(
            lambda parts: f"{parts[0]}.{parts[1]}"
        ),
        st.tuples(inner, inner).map(lambda parts: f"{parts[0]}[{parts[1]}]"),
        st.tuples(st.sampled_from(_CALLED), st.lists(inner, max_size=3)).map(
            lambda parts: f"{parts[0]}({', '.join(parts[1])})"
        ),
        inner.map(lambda part: f"(not {part})"),
        inner.map(lambda part: f"(-{part})"),
    )


expressions = st.recursive(st.sampled_from(_ATOMS), _wider, max_leaves=6)


def _nested(inner: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    return st.one_of(
        st.tuples(expressions, inner, inner).map(
            lambda parts: f"{{% if {parts[0]} %}}\n{parts[1]}{{% else %}}\n{parts[2]}{{% endif %}}\n"
        ),
        st.tuples(st.sampled_from(("steps", "header", "[1, 2]", "range(3)", "'ab'")) | expressions, inner).map(
            lambda parts: f"{{% for step in {parts[0]} %}}\n{parts[1]}{{% endfor %}}\n"
        ),
        st.tuples(
            st.sampled_from(
                ("macro f()", "call line()", "filter upper", "set x", "with", "block b", "autoescape true")
            ),
            inner,
        ).map(lambda parts: f"{{% {parts[0]} %}}{parts[1]}{{% end{parts[0].split()[0]} %}}"),
        st.lists(inner, min_size=2, max_size=4).map("".join),
    )


templates = st.recursive(
    st.one_of(
        expressions.map(lambda shown: f"{{{{ {shown} }}}}\n"),
        st.tuples(st.sampled_from(("x", "y", "header", "loop", "a, b")), expressions).map(
            lambda parts: f"{{% set {parts[0]} = {parts[1]} %}}\n"
        ),
        st.sampled_from(
            ("G0 ", "(a)\n", "\u00e9", "\t", "{# c #}", "{% raw %}{{{% endraw %}", "{%", "}}", "{% endif %}")
        ),
        st.sampled_from(("{% include 'a' %}", "{% import 'a' as a %}", "{% extends 'a' %}", "{% break %}", "{{ }}")),
    ),
    _nested,
    max_leaves=6,
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("post")


@settings(max_examples=150)
@given(template=templates)
@example(template="{{ 1e999 | length }}")
@example(template="{{ 'x' if '%d' is odd else 'y' }}")
def test_any_template_gives_text_or_one_clear_message(folder: Path, template: str) -> None:
    text, refused = "", None
    with patch.object(sandbox, "SECONDS", 1.0):
        try:
            text = by_template(folder, template)
        except InputError as error:
            refused = error
    if refused is not None:
        assert refused.file == folder / "program.j2"
        assert not refused.problem.endswith(": ")
        assert str(refused).isprintable()
    assert text == "" or text.endswith("\n")
    assert text.isascii()
    assert all(line.isprintable() and line == line.rstrip() != "" for line in text.splitlines())
    assert "inf" not in text
