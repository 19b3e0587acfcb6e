"""A post's template run within bounds: Jinja2's immutable sandbox, a clock, and a bound on what is written.

What a template may say at all is for ``post.language``.
"""

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from types import CodeType
from typing import Any, Final

from jinja2 import StrictUndefined, TemplateError, TemplateSyntaxError, nodes
from jinja2.exceptions import SecurityError
from jinja2.runtime import LoopContext
from jinja2.sandbox import ImmutableSandboxedEnvironment

from post.language import TESTS, bounded, check, short
from post.userfile import InputError, read_text
from post.views import Written
from post.wording import MOST_TEXT, number_of, text_of

MOST_BYTES: Final = 64_000
"""Largest template; the posts that ship have one to two thousand."""
CHARACTERS_A_STEP: Final = 400
"""Most text a template may write, for each step of the plan and as much again to start with a hundred times."""
LINES_A_STEP: Final = 20
"""Most lines, in the same way."""
SECONDS: Final = 4.0
"""Longest a template may take; 5,000 bores take a tenth of it."""
MOST_RANGE: Final = 100_000

Function = Callable[..., Any]

_OF_LOOPS: Final = frozenset({"index", "index0", "first", "last", "length", "revindex", "revindex0"})
_FAILURES: Final = (
    TemplateError,
    SecurityError,
    ArithmeticError,
    LookupError,
    TypeError,
    ValueError,
    AttributeError,
    RecursionError,
    MemoryError,
)
"""What a template's own mistakes raise while it runs."""


class Clock:
    """What a template has left of its time: looked at on every turn of a loop, for one that writes nothing too."""

    def __init__(self) -> None:
        self._until = time.monotonic() + SECONDS

    def check(self) -> None:
        """Raise ValueError when the time is up."""
        if time.monotonic() > self._until:
            raise ValueError(f"it takes longer than {SECONDS:g} seconds; does it loop?")


class Progress(Sequence[Written]):
    """The steps as a template walks them, keeping which one it is at."""

    def __init__(self, steps: list[Written], clock: Clock) -> None:
        self._steps = steps
        self._clock = clock
        self._at = -1

    def __len__(self) -> int:
        return len(self._steps)

    def __getitem__(self, index: Any) -> Any:
        return self._steps[index]

    def __iter__(self) -> Iterator[Written]:
        for at, step in enumerate(self._steps):
            self._at = at
            self._clock.check()
            yield step

    @property
    def current(self) -> str:
        """The step being written, in words."""
        if self._at < 0:
            return "the opening"
        fields = self._steps[self._at].fields
        what = fields.get("why") or fields.get("message") or fields.get("text")
        return f"step {self._at + 1}, {fields['kind']} ({what})"


def run(
    template: Path,
    steps: list[Written],
    names: Mapping[str, Any],
    filters: Mapping[str, Function],
    functions: Mapping[str, Function],
) -> str:
    """The text a template writes, given the steps as ``steps`` and what else it may name.

    Raises InputError, with the template's file and line and the step being written, when it cannot be understood,
    uses more than its language, fails, or goes beyond its bounds.
    """
    source = read_text(template, what="template", most_bytes=MOST_BYTES)
    clock = Clock()
    progress = Progress(steps, clock)
    environment = _Environment(clock, filters, functions)
    code = _code(source, template, frozenset(filters))
    compiled = environment.template_class.from_code(environment, code, {})
    try:
        given = {**names, **functions, "steps": progress, "range": environment.range}
        return _taken(compiled.generate(given), clock, len(steps))
    except _FAILURES as error:
        raise InputError(
            f"the template failed while writing {progress.current}: {short(str(error)) or 'it takes too much memory'}",
            file=template,
            line=_line(error),
        ) from None


class _Environment(ImmutableSandboxedEnvironment):
    """Jinja2's immutable sandbox, with nothing in it but what a post may use."""

    intercepted_binops = frozenset({"+", "-", "*", "/", "//", "%", "**"})
    intercepted_unops = frozenset({"+", "-"})

    def __init__(self, clock: Clock, filters: Mapping[str, Function], functions: Mapping[str, Function]) -> None:
        super().__init__(
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            keep_trailing_newline=True,
            autoescape=False,
            optimized=False,  # nothing is to be worked out while compiling: only the run is within bounds
        )
        self._clock = clock
        self._callable = (*functions.values(), self.range)
        self.globals = {}
        self.filters = {
            **_OWN_FILTERS,
            **filters,
            "_watched": self._watched,
            "_joined": _joined,
            "_printed": _printed,
            "_whole": "".join,
        }
        self.tests = {**{name: test for name, test in self.tests.items() if name in TESTS}, **_OWN_TESTS}

    def range(self, *bounds: Any) -> Iterator[int]:
        """Whole numbers, as Python's range gives them, on the clock."""
        numbers = range(*(int(number_of(bound, "range")) for bound in bounds))
        if len(numbers) > MOST_RANGE:
            raise ValueError(f"a range of more than {MOST_RANGE} numbers")
        return self._ticking(numbers)

    def _ticking(self, items: Any) -> Iterator[Any]:
        for item in items:
            self._clock.check()
            yield item

    def _watched(self, items: Any) -> Any:
        """What a loop goes through, on the clock."""
        return items if isinstance(items, Progress) else self._ticking(items)

    def is_safe_callable(self, obj: Any) -> bool:
        return any(obj == function for function in self._callable)

    def is_safe_attribute(self, obj: Any, attr: str, value: Any) -> bool:
        return type(obj) is LoopContext and attr in _OF_LOOPS

    def getattr(self, obj: Any, attribute: str) -> Any:
        if type(obj) is not Written:
            return super().getattr(obj, attribute)
        try:
            return obj.fields[attribute]
        except KeyError:
            has = ", ".join(name for name in obj.fields if name != "kind")
            hint = f"a step of kind {obj.fields['kind']} has no {attribute}; it has {has}"
            return self.undefined(hint, name=attribute)

    def getitem(self, obj: Any, argument: Any) -> Any:
        if isinstance(obj, list | tuple | Progress) and isinstance(argument, int):
            return obj[argument]
        raise SecurityError("only a list can be asked for one of its places, as header[0]")

    def call_binop(self, context: Any, operator: str, left: Any, right: Any) -> Any:
        for value in (left, right):
            number_of(value, f"{operator}, which joins no text (~ does),")
        result = self.binop_table[operator](left, right)
        number_of(result, f"what comes after {operator}")
        return result

    def call_unop(self, context: Any, operator: str, arg: Any) -> Any:
        number_of(arg, operator)
        return self.unop_table[operator](arg)


def _printed(value: Any) -> str:
    return text_of(value, "{{ }}")


def _not_yet(*_: Any) -> str:
    """What stands for a filter while a template is compiled, so that nothing is worked out then."""
    raise nodes.Impossible


def _joined(parts: list[Any]) -> str:
    text = "".join(text_of(part, "~") for part in parts)
    if len(text) > MOST_TEXT:
        raise ValueError(f"a text of more than {MOST_TEXT} characters")
    return text


_OWN_TESTS: Final[Mapping[str, Function]] = {
    "odd": lambda value: number_of(value, "odd") % 2 == 1,
    "even": lambda value: number_of(value, "even") % 2 == 0,
}
"""Jinja2's own put a text into its own format."""
_OWN_FILTERS: Final[Mapping[str, Function]] = {
    "upper": lambda text: text_of(text, "upper").upper(),
    "lower": lambda text: text_of(text, "lower").lower(),
    "abs": lambda value: abs(number_of(value, "abs")),
}


@lru_cache(maxsize=64)
def _code(source: str, template: Path, filters: frozenset[str]) -> CodeType:
    """A template compiled, after a look at every node of it. Raises InputError."""
    environment = _Environment(Clock(), dict.fromkeys(filters, _not_yet), {})
    try:
        tree = environment.parse(source, template.name, str(template))
        check(tree, template, filters | set(_OWN_FILTERS))
        tree = bounded(tree)
        tree.set_environment(environment)
        return environment.compile(tree, template.name, str(template))
    except TemplateSyntaxError as error:
        says = short(error.message or "")
        raise InputError(f"the template cannot be understood: {says}", file=template, line=error.lineno) from None
    except SyntaxError as error:  # of the Python it becomes, whose lines are not the template's
        raise InputError(f"the template cannot be understood: {short(error.msg)}", file=template) from None
    except (RecursionError, MemoryError):
        raise InputError("the template cannot be understood: it nests too deep", file=template) from None
    except ValueError:
        raise InputError("the template cannot be understood: a number is too long", file=template) from None


def _taken(pieces: Iterator[str], clock: Clock, steps: int) -> str:
    most = CHARACTERS_A_STEP * (steps + 100)
    most_lines = LINES_A_STEP * (steps + 100)
    parts: list[str] = []
    kept, size, lines = [], 0, 0
    for piece in pieces:
        kept.append(piece)
        size += len(piece)
        if len(kept) >= 1000 or size > most:
            clock.check()
            parts.append("".join(kept))
            lines += parts[-1].count("\n")
            kept.clear()
            if size > most:
                raise ValueError(f"it writes more than {most} characters for {steps} steps; does it loop?")
            if lines > most_lines:
                raise ValueError(f"it writes more than {most_lines} lines for {steps} steps; does it loop?")
    return "".join([*parts, *kept])


def _line(error: BaseException) -> int | None:
    """Line of the template at which a run-time error arose."""
    line, trace = None, error.__traceback__
    while trace is not None:
        if trace.tb_frame.f_code.co_filename.endswith(".j2"):
            line = trace.tb_lineno
        trace = trace.tb_next
    return line
