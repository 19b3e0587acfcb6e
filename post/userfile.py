"""Files that a person wrote: read within limits, keys found again by line, errors that say what to write instead."""

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from post.tomlplaces import Key, nearest_line, places

MOST_BYTES: Final = 4_000_000
"""Largest file read as a job, a row of bores or a dialect; a row of 5,000 bores takes about 200 kB."""

LONGEST_SHOWN: Final = 40
"""Characters of a value or key that a message repeats."""

Model = TypeVar("Model", bound=BaseModel)


class Table(BaseModel):
    """A table of keys in a file a person wrote: frozen, strict, no key unknown."""

    # Built when first used: the tables inside a job are then built once, with it, and not each for itself too.
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, defer_build=True)


class InputError(Exception):
    """Bad input, told so that a person can mend it.

    ``problem`` says in one sentence the value, what is allowed and an example. ``file``, ``line`` and ``key`` say
    where, as far as there is a where; a key is a path as ``("bore", 2, "width")``.
    """

    def __init__(self, problem: str, *, file: Path | None = None, line: int | None = None, key: Key = ()) -> None:
        super().__init__(problem)
        self.problem = problem
        self.file = file
        self.line = line
        self.key = key

    def __str__(self) -> str:
        place = ":".join(str(part) for part in (self.file, self.line) if part is not None)
        return ": ".join(part for part in (place, spell(self.key), self.problem) if part)


class KeyProblem(ValueError):
    """Raised by a model's own check: what is wrong, and the key it is wrong at, counted from the model that raises."""

    def __init__(self, key: Key, problem: str) -> None:
        super().__init__(problem)
        self.key = key


def read_text(path: Path, *, what: str, most_bytes: int = MOST_BYTES, keep_mark: bool = False) -> str:
    """Text of a file in UTF-8; a byte order mark is dropped unless ``keep_mark``.

    Raises InputError when it cannot be read, is larger than ``most_bytes``, or is no text. ``what`` names the kind of
    file for the message, as "job file".
    """
    try:
        with path.open("rb") as stream:
            data = stream.read(most_bytes + 1)
    except FileNotFoundError:
        near = _near_beside(path)
        hint = f"; did you mean {near}?" if near else f"; give the path of a {what}"
        raise InputError(f"there is no such {what}{hint}", file=path) from None
    except IsADirectoryError:
        raise InputError(f"this is a folder; give the path of a {what}", file=path) from None
    except OSError as error:
        raise InputError(f"this {what} cannot be read ({error.strerror}); check its permissions", file=path) from None
    except ValueError:
        raise InputError(f"there is no such {what}: its name holds a zero byte", file=path) from None
    if len(data) > most_bytes:
        raise InputError(
            f"this file is larger than {most_bytes / 1e6:g} MB, the most a {what} may be; is it the right file?",
            file=path,
        )
    try:
        text = data.decode("utf-8" if keep_mark else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"this is no text: byte {error.start} is not UTF-8; save the {what} as UTF-8", file=path, line=line
        ) from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise InputError(f"this is no text: it holds a zero byte; is it the right {what}?", file=path, line=line)
    return text


def near_name(name: str, known: Iterable[str], cutoff: float = 0.5) -> str | None:
    """The known name most like a name, None where none is; ``cutoff`` from 0, anything, to 1, the same."""
    import difflib

    near = difflib.get_close_matches(name[: 2 * LONGEST_SHOWN], list(known), n=1, cutoff=cutoff)
    return near[0] if near else None


def _near_beside(path: Path) -> str | None:
    """The file beside a path whose name is most like its own, of the same ending, which itself says nothing."""
    stems = {Path(name).stem: name for name in _names_beside(path) if Path(name).suffix == path.suffix}
    near = near_name(path.stem, stems, 0.6)
    return None if near is None else stems[near]


def _names_beside(path: Path) -> list[str]:
    try:
        return [entry.name for entry in path.parent.iterdir()]
    except OSError:
        return []


def parse_toml(text: str, path: Path) -> dict[str, Any]:
    """A TOML document as a dict. Raises InputError with the line on bad syntax."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message, line, column = _toml_error(str(error), text)
        comma = _decimal_comma(text, line, column)
        if comma is not None:
            raise InputError(
                f"not valid TOML: {_short(comma)} has a comma;"
                f" write decimals with a point, as {_short(comma.replace(',', '.'))}",
                file=path,
                line=line,
            ) from None
        raise InputError(
            f"not valid TOML: {message}; write one 'key = value' a line, as units = \"mm\"", file=path, line=line
        ) from None
    except (RecursionError, ValueError):
        raise InputError(
            "not valid TOML: brackets nested too deep, or a number too long; write one 'key = value' a line", file=path
        ) from None


def _toml_error(message: str, text: str) -> tuple[str, int, int]:
    """Split tomllib's message into its words, the line and the column it names."""
    match = re.search(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    if match is None:
        return message, 1, 1
    last = text.count("\n") + 1, len(text) - text.rfind("\n")
    line, column = (int(match[1]), int(match[2])) if match[1] else last
    words = message[: match.start()]
    return ("a key or table is given twice" if words.startswith("Cannot ") else words), line, column


_NO_NUMBERS: Final = re.compile(r""""(?:[^"\\]|\\.)*"?|'[^']*'?|\#.*|\[[^\]]*\]?""")
"""What commas may stand in between digits of: strings, remarks and lists, also those left open."""


def _decimal_comma(text: str, line: int, column: int) -> str | None:
    """A number with a decimal comma, where it is what ends a TOML reader at a place."""
    # A reader counts a Windows line end as one character, and so does this.
    told = text.replace("\r\n", "\n").split("\n")[line - 1]
    bare = _NO_NUMBERS.sub(lambda match: "_" * len(match[0]), told)
    numbers = re.finditer(r"=\s*([+-]?\d+,\d+)(?=\W|$)\s*", bare, re.ASCII)
    return next((match[1] for match in numbers if match.start(1) < column <= match.end() + 1), None)


def validate(
    model: type[Model], data: Mapping[str, Any], *, path: Path, text: str, context: Mapping[str, Any] | None = None
) -> Model:
    """Build a model from a file's data. Raises InputError that tells the first mistake and counts the rest."""
    try:
        return model.model_validate(data, context=context)
    except ValidationError as error:
        found = places(text)
        raise input_error(error, model, path=path, line=lambda key: nearest_line(found, key)) from None


def input_error(
    error: ValidationError, model: type[BaseModel], *, path: Path, line: Callable[[Key], int | None], example: int = 0
) -> InputError:
    """Turn pydantic's error into ours; ``line`` is called with a key and gives its line or None.

    ``example`` says which of a field's examples to show, as far as it has so many.
    """
    told = error.errors(include_url=False)
    # A list is also told to be too short where what is in it is wrong.
    details = [detail for detail in told if detail["type"] != "too_short"] or told
    pairs = [(_key(detail), detail) for detail in details]
    # What is missing comes last: it may be what another key was meant to be.
    key, first = min(pairs, key=lambda pair: (pair[1]["type"] == "missing", line(pair[0]) or 10**9))
    problem = _problem(first, model, key, example)
    if more := len({key for key, _ in pairs}) - 1:
        problem += f" (and {more} more {'mistake' if more == 1 else 'mistakes'} after this one)"
    return InputError(problem, file=path, line=line(key), key=key)


def _key(detail: Any) -> Key:
    own = detail.get("ctx", {}).get("error")
    within: Key = own.key if isinstance(own, KeyProblem) else ()
    # What a list is too short for is no key of its own.
    found = detail["loc"][:-1] if _short_list(detail) else detail["loc"]
    return (*found, *within)


def _short_list(detail: Any) -> bool:
    """Whether a list lacks one of its numbers."""
    return detail["type"] == "missing" and isinstance(detail["loc"][-1], int)


def spell(key: Sequence[str | int]) -> str:
    """A key in words: ``bore 3, width`` counts from one, as people do."""
    words = ""
    for part in key:
        if isinstance(part, int):
            words += f" {part + 1}"
        else:
            words += f"{', ' if words[-1:].isdigit() else '.' if words else ''}{_short(part)}"
    return words


def _short(text: str) -> str:
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."


_RULES: Final[Mapping[str, str]] = {
    "greater_than": "must be greater than {gt}",
    "greater_than_equal": "must be {ge} or more",
    "less_than": "must be less than {lt}",
    "less_than_equal": "must be {le} or less",
    "finite_number": "must be a plain number, neither infinite nor NaN",
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "string_type": "must be text in quotes",
    "bool_type": "must be true or false",
    "list_type": "must be a list",
    "frozen_set_type": "must be a list",
    "tuple_type": "must be a list of two numbers",
    "model_type": "must be a table of keys",
    "dict_type": "must be a table of keys",
    "literal_error": "must be one of {expected}",
    "string_too_short": "must not be empty",
    "string_too_long": "must be at most {max_length} characters long",
    "too_short": "must have at least {min_length}",
    "too_long": "must have at most {max_length}",
}


def _problem(detail: Any, model: type[BaseModel], key: Key, which: int) -> str:
    kind = detail["type"]
    field = _field_at(model, key)
    example = ""
    if field is not None and field.examples:
        shown = field.examples[min(which, len(field.examples) - 1)]
        example = f", e.g. {key[-1] if isinstance(key[-1], str) else key[-2]} = {_toml(shown)}"
    if _short_list(detail) or (kind == "too_long" and _is_pair(field)):
        return f"{_toml(detail['input'])} must be a list of two numbers{example}"
    if kind == "missing":
        return f"is missing{_header(field, key) or example.replace(', e.g.', '; write', 1)}"
    if kind == "extra_forbidden":
        return _unknown_key(str(key[-1]), _model_at(model, key[:-1]))
    if kind == "value_error":
        return f"{detail['ctx']['error']}"
    if kind == "tuple_type" and isinstance(detail["input"], dict):
        return f"is a single table; its header has double brackets, [[{key[-1]}]]"
    if kind == "tuple_type" and not _is_pair(field):
        kind = "list_type"
    rule = _RULES.get(kind)
    bounds = {
        name: _plain(bound) if isinstance(bound, float) else bound for name, bound in detail.get("ctx", {}).items()
    }
    says = rule.format(**bounds) if rule else str(detail["msg"])
    return f"{_toml(detail['input'])} {says}{example}"


def _plain(bound: float) -> str:
    """A bound as a person writes it, without exponent."""
    return f"{bound:.9f}".rstrip("0").rstrip(".")


def _is_pair(field: Any) -> bool:
    """Whether a field is a list of two numbers."""
    if field is None:
        return False
    annotation = str(field.annotation)
    return "tuple[" in annotation and "..." not in annotation and _model_within(field.annotation) is None


def _header(field: Any, key: Key) -> str:
    """How to write a table that is missing; "" where a plain key is."""
    if field is None or _model_within(field.annotation) is None or field.examples:
        return ""
    repeated = not isinstance(field.annotation, type) or not issubclass(field.annotation, BaseModel)
    return f"; write [[{key[-1]}]]" if repeated else f"; write [{key[-1]}]"


def _unknown_key(name: str, model: type[BaseModel] | None) -> str:
    known = [] if model is None else [field.alias or key for key, field in model.model_fields.items()]
    near = near_name(name, known)
    if near:
        return f"there is no such key; did you mean {near}? Allowed here: {', '.join(known)}"
    return f"there is no such key. Allowed here: {', '.join(known)}"


def _field_at(model: type[BaseModel], key: Key) -> Any:
    owner = _model_at(model, key[:-1])
    while owner is None and key:
        key = key[:-1]
        owner = _model_at(model, key[:-1])
    if owner is None:
        return None
    for name, field in owner.model_fields.items():
        if key and key[-1] in (name, field.alias):
            return field
    return None


def _model_at(model: type[BaseModel], key: Key) -> type[BaseModel] | None:
    current: Any = model
    for part in key:
        if isinstance(part, int):
            continue
        fields = getattr(current, "model_fields", {})
        field = next((f for name, f in fields.items() if part in (name, f.alias)), None)
        current = None if field is None else _model_within(field.annotation)
        if current is None:
            return None
    return current if isinstance(current, type) and issubclass(current, BaseModel) else None


def _model_within(annotation: Any) -> type[BaseModel] | None:
    """The model inside an annotation such as ``list[Bore]`` or ``Lift | None``."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in getattr(annotation, "__args__", ()):
        inner = _model_within(part)
        if inner is not None:
            return inner
    return None


def _toml(value: Any) -> str:
    """A value as it is written in TOML, cut short where long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + _short(value).replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, dict):
        shown = ", ".join(f"{_short(name)} = {_toml(inner)}" for name, inner in list(value.items())[:6])
        return "{ " + _short(shown) + " }"
    if isinstance(value, list | tuple):
        return "[" + _short(", ".join(_toml(inner) for inner in value[:6])) + "]"
    if isinstance(value, int) and abs(value) >= 10**LONGEST_SHOWN:
        return "a number of very many digits"
    return str(value)
