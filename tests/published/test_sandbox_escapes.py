"""Ways out of a template's sandbox, and ways to use up a machine, that strangers are known to try.

Sources: the Jinja change log, security fixes of 2.8.1 (``str.format``, CVE-2016-10745), 2.10.1 (``str.format_map``,
CVE-2019-10906), 3.1.5 (a kept ``str.format``, GHSA-q2x7-8rv6-6q7h; names of files, GHSA-gmj6-6f8f-6699) and 3.1.6
(``|attr``, GHSA-cpwx-vrp4-4pq7); the Jinja documentation, "Sandbox", security considerations (a small template that
gives a very large output); CWE-1336 (template engines) and CWE-770 (resources without limits). The chains of
attributes to Python's own objects are common knowledge, from memory.

A template that gets through here is proved to be dangerous by a looser environment in which it does get through.
"""

import os
import re
import resource
import signal
import warnings
from collections.abc import Callable, Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Final, NamedTuple, NoReturn

import pytest
from jinja2 import Environment, FunctionLoader
from jinja2.sandbox import ImmutableSandboxedEnvironment, SandboxedEnvironment

from post import sandbox
from post.motion import Plan
from post.posts import find
from post.userfile import InputError
from post.writer import write
from tests.jobs import told
from tests.post.test_writer import PLAIN, PLAN, STEPS

ENOUGH_FOR_ONE_SCREEN: Final = 1000


class Escape(NamedTuple):
    """A way out: the template, and what a looser environment gives for it (a pattern)."""

    template: str
    loose: type[Environment]
    gives: str


OBJECT: Final = "''.__class__.__mro__[1].__subclasses__()"

ESCAPES: Final[Mapping[str, Escape]] = {
    # Python's own objects, by attribute
    "class": Escape("{{ ''.__class__ }}", Environment, "<class 'str'>"),
    "subclasses": Escape("{% for c in " + OBJECT + " %}{{ c }}{% endfor %}", Environment, "<class 'type'>"),
    "base": Escape("{{ ().__class__.__base__ }}", Environment, "<class 'object'>"),
    "globals of a function": Escape("{{ line.__globals__.os.getpid() }}", Environment, r"\d+"),
    "builtins of a function": Escape("{{ line.__globals__.__builtins__ }}", Environment, "__import__"),
    "code of a function": Escape("{{ line.__code__.co_consts }}", Environment, "Stands for"),
    "import": Escape(
        "{{ line.__globals__['__builtins__']['__import__']('os').getcwd() }}", Environment, re.escape(os.getcwd())
    ),
    "a file": Escape("{{ line.__globals__.__builtins__.open('/dev/null').close() }}", Environment, "^None$"),
    "closure of a filter": Escape("{{ once.__self__ }}", Environment, "namespace"),
    "reduce": Escape("{{ header.__reduce_ex__(2) }}", Environment, "__newobj__"),
    "init": Escape("{{ header.__init__.__class__ }}", Environment, "wrapper"),
    "fields of a step": Escape("{{ steps[0].__dict__ }}", Environment, "kind"),
    "doc": Escape("{{ ''.__doc__ }}", Environment, "str"),
    # the same by place, by filter, by name written otherwise
    "class by place": Escape("{{ ''['__class__'] }}", Environment, "<class 'str'>"),
    "class by a place put together": Escape("{{ ''['__cl' ~ 'ass__'] }}", Environment, "<class 'str'>"),
    "class by a place in escapes": Escape("{{ ''['\\x5f\\x5fclass\\x5f\\x5f'] }}", Environment, "<class 'str'>"),
    "globals by place": Escape("{{ line['__globals__']['os'] }}", Environment, "module 'os'"),
    "class by attr": Escape("{{ '' | attr('__class__') }}", Environment, "<class 'str'>"),
    "class by attr twice": Escape("{{ '' | attr('__class__') | attr('__mro__') }}", Environment, "object"),
    "class by map": Escape("{{ [''] | map(attribute='__class__') | first }}", Environment, "<class 'str'>"),
    "class by selectattr": Escape(
        "{{ [''] | selectattr('__class__.__name__', 'eq', 'str') | list }}", Environment, r"\[''\]"
    ),
    "class by groupby": Escape("{{ [''] | groupby('__class__') | first | first }}", Environment, "<class 'str'>"),
    "class by sort": Escape("{{ ['x'] | sort(attribute='__class__.__name__') }}", Environment, r"\['x'\]"),
    # text that formats (CVE-2016-10745, CVE-2019-10906, GHSA-q2x7-8rv6-6q7h, GHSA-cpwx-vrp4-4pq7)
    "format": Escape("{{ '{0.__class__.__mro__}'.format(1) }}", Environment, "<class 'object'>"),
    "format_map": Escape("{{ '{a.__class__}'.format_map({'a': 1}) }}", Environment, "<class 'int'>"),
    "a kept format": Escape("{% set f = '{0.__class__}'.format %}{{ f(1) }}", Environment, "<class 'int'>"),
    "format by attr": Escape("{{ ('{0.__class__}' | attr('format'))(1) }}", Environment, "<class 'int'>"),
    "format by a filter": Escape("{{ ['{0.__class__}'] | map('attr', 'format') | list }}", Environment, "built-in"),
    "percent": Escape("{{ '%s' % header }}", SandboxedEnvironment, "one"),
    "percent of a tuple": Escape("{{ '%s %r' % (line, steps) }}", SandboxedEnvironment, "function"),
    "the filter format": Escape("{{ '%r' | format(line) }}", SandboxedEnvironment, "function"),
    "percent by the test odd": Escape("{% if '%s' is odd %}{% endif %}end", SandboxedEnvironment, "^end$"),
    "percent by the test even": Escape("{{ 'a' if '%r' is even else 'b' }}", SandboxedEnvironment, "^b$"),
    "percent by the test divisibleby": Escape(
        "{% if '%s' is divisibleby header %}{% endif %}end", SandboxedEnvironment, "^end$"
    ),
    "methods of text": Escape("{{ 'a'.join(['x', 'y']) }}", SandboxedEnvironment, "xay"),
    "translate": Escape("{{ 'a'.translate({97: 'x'}) }}", SandboxedEnvironment, "x"),
    "encode": Escape("{{ 'a'.encode('utf-16') }}", SandboxedEnvironment, "xff"),
    # what Jinja hands to every template
    "cycler": Escape("{{ cycler.__init__.__globals__.os.getpid() }}", Environment, r"\d+"),
    "joiner": Escape("{{ joiner.__init__.__globals__.os.getpid() }}", Environment, r"\d+"),
    "namespace": Escape("{{ namespace.__init__.__globals__.os.getpid() }}", Environment, r"\d+"),
    "lipsum": Escape("{{ lipsum.__globals__['os'].getpid() }}", Environment, r"\d+"),
    "lipsum in a sandbox": Escape("{{ lipsum(n=50) }}", SandboxedEnvironment, "<p>"),
    "dict": Escape("{{ dict(a=1) }}", SandboxedEnvironment, "'a': 1"),
    "a namespace that keeps": Escape(
        "{% set n = namespace(a='x') %}{% for i in range(9) %}{% set n.a = n.a ~ n.a %}{% endfor %}{{ n.a }}",
        SandboxedEnvironment,
        "x{512}",
    ),
    "self": Escape(
        "{{ self._TemplateReference__context.cycler.__init__.__globals__.os.getpid() }}", Environment, r"\d+"
    ),
    "self in a sandbox": Escape("{% block a %}x{% endblock %}{{ self.a() }}", SandboxedEnvironment, "xx"),
    "caller": Escape(
        "{% macro m() %}{{ caller.__class__ }}{% endmacro %}{% call m() %}{% endcall %}", Environment, "Macro"
    ),
    "varargs": Escape("{% macro m() %}{{ varargs.__class__ }}{% endmacro %}{{ m(1) }}", Environment, "tuple"),
    "a macro's own": Escape("{% macro m() %}{% endmacro %}{{ m._func.__globals__ }}", Environment, "__name__"),
    "a macro": Escape("{% macro m(a) %}{{ a }}{% endmacro %}{{ m(1) }}", SandboxedEnvironment, "1"),
    "the loop's own": Escape(
        "{% for a in [1] %}{{ loop.__class__.__init__.__globals__ }}{% endfor %}", Environment, "__name__"
    ),
    "the loop's list": Escape("{% for a in [1] %}{{ loop._iterable }}{% endfor %}", Environment, r"\[1\]"),
    "the loop's cycle": Escape("{% for a in [1] %}{{ loop.cycle('x') }}{% endfor %}", SandboxedEnvironment, "x"),
    "the loop called": Escape(
        "{% for a in [1, [2]] recursive %}{{ loop(a) if a is iterable else a }}{% endfor %}", SandboxedEnvironment, "12"
    ),
    "the loop's changed": Escape(
        "{% for a in [1] %}{{ loop.changed(header) }}{% endfor %}", SandboxedEnvironment, "True"
    ),
    "a block's context": Escape("{% block a %}{{ super.__class__ }}{% endblock %}", Environment, "Undefined"),
    # an undefined name's own objects
    "undefined's globals": Escape("{{ nope.__class__.__init__.__globals__ }}", Environment, "__name__"),
    "undefined by attr": Escape("{{ nope | attr('__class__') }}", Environment, "Undefined"),
    "undefined by map": Escape("{{ [nope] | map('attr', '__class__') | list }}", Environment, "Undefined"),
    "default": Escape("{{ nope | default(line) }}", SandboxedEnvironment, "function"),
    # changing what is handed in
    "append": Escape("{{ header.append('x') }}{{ header | length }}", SandboxedEnvironment, "3"),
    "pop of a step": Escape("{{ header.pop() }}", Environment, "two"),
    "extend": Escape("{{ header.extend(header) }}{{ header }}", SandboxedEnvironment, "'two', 'one'"),
    "a copy": Escape("{{ header.copy() }}", ImmutableSandboxedEnvironment, "one"),
    "do": Escape("{% if header.insert(0, 'x') %}{% endif %}{{ header[0] }}", SandboxedEnvironment, "x"),
    # other files
    "include": Escape("{% include 'secret' %}", SandboxedEnvironment, "told to nobody"),
    "include of one above": Escape("{% include '../secret' %}", SandboxedEnvironment, "told to nobody"),
    "include of a list": Escape("{% include ['nope', '../secret'] ignore missing %}", SandboxedEnvironment, "told"),
    "include by a name": Escape("{% set a = '../secret' %}{% include a %}", SandboxedEnvironment, "told"),
    "import of a file": Escape("{% import '../secret' as a %}{{ a }}", SandboxedEnvironment, "told"),
    "from": Escape("{% from '../secret' import a with context %}end", SandboxedEnvironment, "^end$"),
    "extends": Escape("{% extends '../secret' %}", SandboxedEnvironment, "told to nobody"),
    # text and numbers that grow
    "times": Escape("{{ 'x' * 1000000 }}", ImmutableSandboxedEnvironment, "x{99999}"),
    "times a list": Escape("{{ header * 10000 }}", ImmutableSandboxedEnvironment, "one"),
    "power": Escape("{{ 'x' if 9 ** 9999 > 1 else 'y' }}", ImmutableSandboxedEnvironment, "^x$"),
    "power of power": Escape("{% set a = 9 ** 99 %}{{ 'x' if a ** 99 > 1 }}", ImmutableSandboxedEnvironment, "^x$"),
    "times of times": Escape(
        "{% set a = 999999 * 999999 * 999999 %}{{ 'x' if a * a * a * a > 1 }}", ImmutableSandboxedEnvironment, "^x$"
    ),
    "center": Escape("{{ 'x' | center(100000) }}", ImmutableSandboxedEnvironment, " {40000}"),
    "indent": Escape("{{ 'x' | indent(100000, true) }}", ImmutableSandboxedEnvironment, " {100000}x"),
    "ljust": Escape("{{ 'x'.ljust(100000) }}", ImmutableSandboxedEnvironment, "x {99999}"),
    "zfill": Escape("{{ '1'.zfill(100000) }}", ImmutableSandboxedEnvironment, "0{99999}1"),
    "expandtabs": Escape("{{ '\\t'.expandtabs(100000) }}", ImmutableSandboxedEnvironment, " {100000}"),
    "replace": Escape("{{ ('x' * 1000) | replace('x', 'x' * 100) }}", ImmutableSandboxedEnvironment, "x{99999}"),
    "wide percent": Escape("{{ '%100000d' | format(1) }}", ImmutableSandboxedEnvironment, " {99999}1"),
    "join": Escape("{{ range(9999) | join('x' * 99) }}", ImmutableSandboxedEnvironment, "x{99}1"),
    "list of a range": Escape("{{ range(99999) | list | length }}", ImmutableSandboxedEnvironment, "99999"),
    "batch": Escape("{{ [1] | batch(100000, 'x') | list }}", ImmutableSandboxedEnvironment, "'x', 'x'"),
    "slice": Escape("{{ [1] | slice(99999) | list | length }}", ImmutableSandboxedEnvironment, "99999"),
    "set block": Escape(
        "{% set a %}{% for i in range(999) %}xx{% endfor %}{% endset %}{{ a }}",
        ImmutableSandboxedEnvironment,
        "x{1998}",
    ),
    "filter block": Escape(
        "{% filter upper %}{% for i in range(999) %}x{% endfor %}{% endfilter %}",
        ImmutableSandboxedEnvironment,
        "X{999}",
    ),
    "call block": Escape(
        "{% macro m() %}{{ caller() }}{{ caller() }}{% endmacro %}{% call m() %}x{% endcall %}",
        ImmutableSandboxedEnvironment,
        "xx",
    ),
    "a dict that keeps": Escape("{{ {'a': [1]} }}", ImmutableSandboxedEnvironment, "'a'"),
    "a list that keeps": Escape("{{ [[header, header], steps] | length }}", ImmutableSandboxedEnvironment, "2"),
    "a slice": Escape("{{ header[::-1] }}", ImmutableSandboxedEnvironment, "two"),
    "with": Escape("{% with a = line %}{{ a }}{% endwith %}", ImmutableSandboxedEnvironment, "function"),
    "stars": Escape("{{ line(*header) }}", ImmutableSandboxedEnvironment, "one two"),
    "two stars": Escape("{{ dict(**{'a': 1}) }}", ImmutableSandboxedEnvironment, "'a': 1"),
    "urlize": Escape("{{ 'http://example.org' | urlize }}", ImmutableSandboxedEnvironment, "<a "),
    "pprint": Escape("{{ line | pprint }}", ImmutableSandboxedEnvironment, "function"),
    "tojson": Escape("{{ header | tojson }}", ImmutableSandboxedEnvironment, "one"),
    "xmlattr": Escape("{{ {'a': 1} | xmlattr }}", ImmutableSandboxedEnvironment, 'a="1"'),
    "sort": Escape("{{ header | sort(reverse=true) }}", ImmutableSandboxedEnvironment, "two"),
    "sameas": Escape("{{ line is sameas line }}", ImmutableSandboxedEnvironment, "True"),
    "in by test": Escape("{{ 1 is in [1] }}", ImmutableSandboxedEnvironment, "True"),
    "callable": Escape("{{ line is callable }}", ImmutableSandboxedEnvironment, "True"),
}


def _function(*words: str) -> str:
    """Stands for a function that templates are handed; its module has ``os``, as most have."""
    return " ".join(words)


def _loosely(escape: Escape) -> str:
    """What a looser environment gives for a template."""
    environment = escape.loose(loader=FunctionLoader(lambda name: "told to nobody" if "secret" in name else None))
    step = SimpleNamespace(kind="stop", why="off")
    once = SimpleNamespace(word=_function)
    return environment.from_string(escape.template).render(
        header=["one", "two"], steps=[step], line=_function, once=SimpleNamespace(__self__=once)
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A post's folder, with a secret beside it and another in it."""
    own = tmp_path / "post"
    own.mkdir()
    for secret in (tmp_path / "secret", own / "secret"):
        secret.write_text("told to nobody", encoding="utf-8")
    return own


def _put(folder: Path, template: str | bytes) -> Path:
    path = folder / "program.j2"
    path.write_bytes(template if isinstance(template, bytes) else template.encode())
    return path


def _check_clear(message: str, path: Path, line: str = r"\d+:") -> None:
    """One message that names file and line, gives a reason and fits on a screen."""
    assert re.match(re.escape(f"{path}:") + line + r" (the template|line \d+ of the program) ", message)
    assert message.isprintable()
    assert not message.endswith(": ")
    assert len(message) < ENOUGH_FOR_ONE_SCREEN
    assert "told to nobody" not in message


def test_there_are_as_many_as_were_asked_for() -> None:
    assert len(ESCAPES) + len(BOMBS) >= 40
    assert len({escape.template for escape in ESCAPES.values()}) == len(ESCAPES)


@pytest.mark.parametrize("name", ESCAPES)
def test_a_way_out_ends_in_one_clear_message(folder: Path, name: str) -> None:
    path = _put(folder, f"G21\n\n{ESCAPES[name].template}\n")
    header = ["one", "two"]
    message = told(lambda: write(PLAN, header, PLAIN, path))
    _check_clear(message, path, "3:")
    assert header == ["one", "two"]


@pytest.mark.parametrize("name", ESCAPES)
def test_a_looser_environment_lets_it_out(name: str) -> None:
    assert re.search(ESCAPES[name].gives, _loosely(ESCAPES[name]))


@pytest.mark.parametrize("name", ["{nope}", "{0.__class__}", "{{ 1 }}", "%s%n", "{__import__('os')}"])
def test_the_name_of_a_folder_is_not_run(tmp_path: Path, name: str) -> None:
    """Names of files once went into the text of messages as a format (GHSA-gmj6-6f8f-6699)."""
    folder = tmp_path / name
    folder.mkdir()
    for template in ("{% from 'a' import b %}", "{{ nope }}", "{{"):
        path = _put(folder, template)
        _check_clear(told(lambda path=path: write(PLAN, [], PLAIN, path)), path)  # type: ignore[misc]


@pytest.mark.parametrize(
    "text", ["{{ 7 * 7 }}", "{% include 'secret' %}", "{# x", "{0.__class__}", "%(a)s", "#}%}}}", "{{ ''.__class__ }}"]
)
def test_what_a_job_says_is_never_a_template(text: str) -> None:
    """Names and remarks of a job are printed as they are, and not read as a template again."""
    plain = text.replace("(", "[").replace(")", "]")
    post = find("longhand")
    assert write(Plan((), "mm", "G54"), [text], post.dialect, post.template).startswith(f"({plain})\n")


# what uses up a machine: one forked child each, with so much memory and processor time as the issue allows

MEMORY: Final = 256 * 1024 * 1024
SECONDS: Final = 5


class Bomb(NamedTuple):
    """A template that would use up time or memory, and a plan of the steps so many times.

    Less time on the clock, or less memory, in proportion, keep the suite quick: what is shown is that the clock is
    looked at, and that nothing is kept that grows with time. Fewer seconds of the processor are for what the clock
    does not see, which comes on top of it.
    """

    template: str
    says: str = "the template "
    times: int = 1
    clock_s: float = sandbox.SECONDS
    memory: int = MEMORY
    seconds: float = SECONDS


def _searches(count: int) -> str:
    """Searches of a text for one that is nearly everywhere in it: each takes milliseconds."""
    one = "{% if " + " or ".join(["a in b"] * 90) + " %}{% endif %}"
    return "{% set a = '" + "a" * 96 + "baa' %}{% set b = '" + "a" * 29_990 + "' %}" + one * (count // 90)


TOO_LONG: Final = "does it loop?"
NOT_UNDERSTOOD: Final = "the template cannot be understood: "

BOMBS: Final[Mapping[str, Bomb]] = {
    # time
    "nested ranges": Bomb("{% for i in range(99999) %}" * 3 + "{% endfor %}" * 3, TOO_LONG, clock_s=0.2),
    "nested steps": Bomb("{% for i in steps %}" * 15 + "{% endfor %}" * 15, TOO_LONG, clock_s=0.2),
    "nested texts": Bomb(
        "{% set a = '" + "a" * 1900 + "' %}" + "{% for i in a %}" * 3 + "{% endfor %}" * 3, TOO_LONG, clock_s=0.2
    ),
    "nested lists": Bomb(
        "{% set a = [" + "1," * 3000 + "] %}" + "{% for i in a %}" * 3 + "{% endfor %}" * 3, TOO_LONG, clock_s=0.2
    ),
    "loops that take nothing": Bomb("{% for i in range(99999) if i < 0 %}{% endfor %}" * 100, TOO_LONG, clock_s=0.2),
    "lengths of ranges": Bomb(
        "{% for i in range(99999) %}{% for j in range(99999) %}{% if loop.length > 1 %}{% endif %}{% endfor %}"
        "{% endfor %}",
        TOO_LONG,
        clock_s=0.2,
    ),
    "a step in ranges": Bomb("{% if steps[0] in range(99999) %}{% endif %}" * 100, TOO_LONG, clock_s=0.2),
    "a number in the steps": Bomb(
        "{% for i in range(99999) %}{% if i in steps %}{% endif %}{% endfor %}", TOO_LONG, times=500, clock_s=0.2
    ),
    "searches in a loop": Bomb("{% for i in range(99999) %}" + _searches(270) + "{% endfor %}", clock_s=0.2),
    "searches for each step": Bomb("{% for step in steps %}" + _searches(270) + "{% endfor %}", times=20, clock_s=0.2),
    "searches in line": Bomb(_searches(3300) + "{{ nope }}", seconds=3.0),
    # memory
    "a wide number by a test": Bomb("{% if '%400000000d' is odd %}{% endif %}"),
    "a wide number while compiling": Bomb("{{ 'a' if '%400000000d' is even else 'b' }}"),
    "wide numbers by a test in line": Bomb("{% if '%99999999d' is odd %}{% endif %}" * 1500),
    "a wide number of many digits": Bomb("{% if '%.400000000f' is odd %}{% endif %}"),
    "a wide text by a test": Bomb("{% if '%400000000s' is even %}{% endif %}"),
    "doubling": Bomb("{% set a = 'aaaaaaaaaaaaaaaa' %}" + "{% set a = a ~ a %}" * 60, "more than 2000 characters"),
    "doubling in a loop": Bomb("{% for i in range(60) %}{% set a = (a or 'a') ~ (a or 'a') %}{% endfor %}"),
    "one long joining": Bomb("{{ '" + "a" * 1000 + "'" + " ~ header[0]" * 500 + " }}", "more than 2000 characters"),
    "messages": Bomb(
        "{% for i in range(99999) %}{% for j in range(99999) %}{% set x = ('"
        + "a" * 1900
        + "' ~ i ~ ' ' ~ j) | message %}{% endfor %}{% endfor %}",
        TOO_LONG,
        clock_s=0.5,
        memory=MEMORY // 24,
    ),
    "kinds of words": Bomb(
        "{% for i in range(99999) %}{{ once('', '" + "a" * 1900 + "' ~ i) }}{% endfor %}", "more than 100 kinds"
    ),
    "numbers": Bomb(
        "{% for i in range(99999) %}{% for j in range(99999) %}{% set x = ((i * 99999 + j) / 7) | length %}{% endfor %}"
        "{% endfor %}",
        TOO_LONG,
        clock_s=0.5,
        memory=MEMORY // 6,
    ),
    # output
    "output": Bomb("{% for i in range(99999) %}" + "x" * 60_000 + "{% endfor %}", "it writes more than"),
    "output in pieces": Bomb("{% for i in range(99999) %}{{ i }}\n{% endfor %}", "it writes more than"),
    "output of a long text": Bomb(
        "{% set a = '" + "a" * 1990 + "' %}{% for i in range(9999) %}" + "{{ a }}" * 1000 + "{% endfor %}",
        "it writes more than",
    ),
    "blank lines": Bomb("\n" * 63_999, "it writes more than"),
    "blanks": Bomb(" " * 63_999, "it writes more than"),
    "short lines for a long plan": Bomb(
        "{% for step in steps %}" + "aa\n" * 130 + "{% endfor %}" + "x" * 300, "", times=6000
    ),
    # the parser and the compiler
    "brackets": Bomb("{{ " + "(" * 30_000 + "1" + ")" * 30_000 + " }}", NOT_UNDERSTOOD),
    "lists in lists": Bomb("{{ " + "[" * 30_000 + "]" * 30_000 + " }}", NOT_UNDERSTOOD),
    "dicts in dicts": Bomb("{{ " + "{1:" * 20_000 + " }}", NOT_UNDERSTOOD),
    "ifs in ifs": Bomb("{%if 1%}" * 3700 + "{%endif%}" * 3700, NOT_UNDERSTOOD),
    "ifs in ifs, not too many to parse": Bomb("{% if 1 %}" * 110 + "{% endif %}" * 110, NOT_UNDERSTOOD),
    "loops in loops": Bomb("{%for a in steps%}" * 25 + "{%endfor%}" * 25, NOT_UNDERSTOOD),
    "nots": Bomb("{{" + " not" * 15_900 + " 1 }}", NOT_UNDERSTOOD),
    "signs": Bomb("{{ " + "-" * 63_000 + "1 }}", NOT_UNDERSTOOD),
    "attributes": Bomb("{{ a" + ".b" * 5000 + " }}", NOT_UNDERSTOOD),
    "many chains of attributes": Bomb(("{{ a" + ".b" * 300 + " }}") * 40, NOT_UNDERSTOOD),
    "places": Bomb("{{ a" + "[0]" * 5000 + " }}", NOT_UNDERSTOOD),
    "calls": Bomb("{{ a" + "()" * 5000 + " }}", NOT_UNDERSTOOD),
    "filters": Bomb("{{ 1" + "|abs" * 5000 + " }}", NOT_UNDERSTOOD),
    "sums": Bomb("{{ 1" + "+1" * 5000 + " }}", NOT_UNDERSTOOD),
    "ors": Bomb("{{ 1" + " or 1" * 5000 + " }}", NOT_UNDERSTOOD),
    "conditions": Bomb("{{ 1" + " if 1 else 1" * 5000 + " }}", NOT_UNDERSTOOD),
    "elifs": Bomb("{%if a%}" + "{%elif b%}" * 3000 + "{%endif%}", NOT_UNDERSTOOD),
    "comparisons": Bomb("{{ 1" + "<1" * 10_000 + " }}"),
    "outputs": Bomb("{{a}}" * 9000),
    "names": Bomb("".join(f"{{%set a{n}=1%}}" for n in range(2000)) + "{{b}}"),
    # the lexer
    "blanks in a tag": Bomb("{{" + " " * 63_990 + "}}", NOT_UNDERSTOOD),
    "blanks in tags": Bomb(("{%" + " " * 30) * 1990, NOT_UNDERSTOOD),
    "blanks behind raw": Bomb("{% raw" + " " * 63_000, NOT_UNDERSTOOD),
    "ends of raw": Bomb("{% raw %}" + "{% endraw" * 7000, NOT_UNDERSTOOD),
    "raw that never ends": Bomb("{% raw %}" + "{%-" * 21_000, NOT_UNDERSTOOD),
    "comments that never end": Bomb("{#" * 31_990, NOT_UNDERSTOOD),
    "ends of comments": Bomb("{#" + "-#" * 31_900, NOT_UNDERSTOOD),
    "quotes": Bomb("{{" + "'" * 63_997, NOT_UNDERSTOOD),
    "one quote": Bomb("{{ '" + "\\'" * 31_000, NOT_UNDERSTOOD),
    "backslashes": Bomb("{{ '" + "\\" * 63_000, NOT_UNDERSTOOD),
    "braces": Bomb("{" * 63_999, NOT_UNDERSTOOD),
    "closing braces": Bomb("}" * 63_999, "it writes more than"),
    "tags": Bomb("{%-" * 21_000, NOT_UNDERSTOOD),
    "digits": Bomb("{{ " + "9" * 63_000 + " }}", NOT_UNDERSTOOD),
    "hexadecimal digits": Bomb("{{ 0x" + "f" * 63_000 + " }}", NOT_UNDERSTOOD),
    "digits apart": Bomb("{{ 1" + "_1" * 31_000 + " }}", NOT_UNDERSTOOD),
    "digits that lead nowhere": Bomb("{{ " + "1_" * 31_000 + " }}", NOT_UNDERSTOOD),
    "an exponent": Bomb("{{ 1e" + "9" * 63_000 + " }}"),
    "points": Bomb("{{ 1" + ".1" * 5000 + " }}", NOT_UNDERSTOOD),
    "a long number": Bomb("{{ " + "9" * 4000 + " }}", "more than 2000 characters"),
    "letters of other scripts": Bomb("{{ " + "\u5b57" * 20_000 + " }}"),
    "signs that widen": Bomb("{{ '" + "\ufdfa" * 1900 + "' | comment }}{{ nope }}"),
}
WITHOUT_LINE: Final = frozenset({NOT_UNDERSTOOD, "it writes more than", ""})
"""What is found of a template as a whole may be told without a line."""


@pytest.mark.parametrize("name", BOMBS)
def test_what_would_use_up_the_machine_ends_in_one_clear_message(folder: Path, name: str) -> None:
    bomb = BOMBS[name]
    path = _put(folder, bomb.template)
    plan = Plan(STEPS * bomb.times, "mm", "G54")

    def attempt() -> str:
        sandbox.SECONDS = bomb.clock_s  # type: ignore[misc]
        return told(lambda: write(plan, ["one", "two"], PLAIN, path))

    message = _bounded(attempt, seconds=bomb.seconds, memory=bomb.memory)
    assert bomb.says in message
    _check_clear(message, path, r"(\d+:)?" if bomb.says in WITHOUT_LINE else r"\d+:")


def _bounded(attempt: Callable[[], str], *, seconds: float = SECONDS, memory: int = MEMORY) -> str:
    """What an attempt gives in a child of its own, or how the child ended.

    It may use so much memory more than it is born with, and so many seconds of the processor: not of the clock on the
    wall, so that a busy machine never fails the suite.
    """
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of forks beside threads, of which the child uses none
        child = os.fork()
    if child == 0:
        os.close(reading)
        _be_the_child(attempt, writing, seconds, memory)
    os.close(writing)
    with open(reading, "rb") as stream:
        told = stream.read().decode()
    _, status = os.waitpid(child, 0)
    code = os.waitstatus_to_exitcode(status)
    return told if code == 0 else f"the child ended with {code} (minus {signal.SIGPROF:d}: out of time) {told}"


def _be_the_child(attempt: Callable[[], str], writing: int, seconds: float, memory: int) -> NoReturn:
    code = 1
    try:
        with open("/proc/self/statm", encoding="ascii") as stream:
            pages = int(stream.read().split()[0])
        resource.setrlimit(resource.RLIMIT_AS, (pages * resource.getpagesize() + memory,) * 2)
        signal.signal(signal.SIGPROF, signal.SIG_DFL)
        signal.setitimer(signal.ITIMER_PROF, seconds)
        signal.alarm(60)  # for one that waits and does nothing
        with open(writing, "wb") as stream:
            stream.write(_outcome(attempt).encode("utf-8", "backslashreplace"))
        code = 0
    finally:
        os._exit(code)


def _outcome(attempt: Callable[[], str]) -> str:
    try:
        return attempt()
    except BaseException as error:
        return f"{type(error).__name__}: {error}"


# the bounds on a child have teeth


def _loosely_given(template: str) -> Callable[[], str]:
    environment = ImmutableSandboxedEnvironment()
    return lambda: f"{len(environment.from_string(template).render())} characters"


def test_a_looser_environment_runs_out_of_memory() -> None:
    assert _bounded(_loosely_given("{{ 'x' * 1000 }}")) == "1000 characters"
    assert _bounded(_loosely_given("{{ 'x' * 400000000 }}")).startswith("MemoryError")
    assert _bounded(_loosely_given("{% if '%400000000d' is odd %}{% endif %}")).startswith("MemoryError")


def test_a_looser_environment_runs_out_of_stack() -> None:
    recursion = "{% macro f() %}{{ f() }}{% endmacro %}{{ f() }}"
    assert _bounded(_loosely_given(recursion)).startswith("RecursionError")
    assert _bounded(_loosely_given("{% for a in [[]] recursive %}{{ loop([a]) }}{% endfor %}")).startswith("Recursion")


def test_a_looser_environment_runs_out_of_time() -> None:
    loops = _loosely_given("{% for i in range(99999) %}{% for j in range(99999) %}{% endfor %}{% endfor %}")
    assert _bounded(loops, seconds=0.2).startswith(f"the child ended with -{signal.SIGPROF:d}")


# files that are none


NO_FILES: Final[Mapping[str, Callable[[Path], object]]] = {
    "link": lambda path: path.symlink_to(path.parent.parent / "outside.j2"),
    "relative link": lambda path: path.symlink_to("../outside.j2"),
    "password file": lambda path: path.symlink_to("/etc/passwd"),
    "environment": lambda path: path.symlink_to("/proc/self/environ"),
    "standard input": lambda path: path.symlink_to("/dev/stdin"),
    "no end": lambda path: path.symlink_to("/dev/zero"),
    "chance": lambda path: path.symlink_to("/dev/urandom"),
    "pipe": os.mkfifo,
    "folder": lambda path: path.mkdir(),
    "link to a folder": lambda path: path.symlink_to("/etc"),
}


def test_a_post_is_read_from_no_file_but_its_own(tmp_path: Path) -> None:
    """Links, devices and pipes in a post's folder are refused before a byte of them is read."""
    source = find("longhand")
    outside = tmp_path / "outside.j2"
    outside.write_text("told to nobody", encoding="utf-8")
    for kind, make in NO_FILES.items():
        for name in ("program.j2", "dialect.toml"):
            folder = tmp_path / f"{kind} {name}"
            folder.mkdir()
            for file in (source.template, source.dialect_path):
                (folder / file.name).write_bytes(file.read_bytes())
            (folder / name).unlink()
            make(folder / name)
            message = _bounded(lambda folder=folder: told(lambda: find(str(folder))))  # type: ignore[misc]
            assert message in (
                f"{folder / name}: this is no plain file; a post is two files of text",
                f"{folder / name}: this is a link out of the post's folder; put the file itself here",
            )


def test_a_post_that_is_a_ring_of_links_is_told(tmp_path: Path) -> None:
    for name in ("program.j2", "dialect.toml"):
        (tmp_path / name).symlink_to(name)
    with pytest.raises(InputError, match=r"program\.j2"):
        find(str(tmp_path))
    (tmp_path / "program.j2").unlink()
    (tmp_path / "program.j2").write_text("M30\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"dialect\.toml: this dialect cannot be read"):
        find(str(tmp_path))
