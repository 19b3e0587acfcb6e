"""The language of a post's template: what of Jinja2 may be said, looked at node by node before anything runs.

A template may come from a stranger. It has output, loops, conditions, plain assignments, arithmetic on numbers, text
joined with ``~``, and the filters and functions handed in. Nothing that builds, keeps or calls anything else can be
written at all, so that neither memory nor time nor Python's own objects can be reached.
"""

import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from jinja2 import nodes
from jinja2.visitor import NodeTransformer

from post.userfile import InputError
from post.wording import MOST_TEXT

MOST_SAID: Final = 300
"""Characters of a template that a message repeats."""
_ALLOWED: Final = frozenset(
    (
        *(nodes.Template, nodes.Output, nodes.TemplateData, nodes.For, nodes.If, nodes.Assign, nodes.Name),
        *(nodes.Const, nodes.Tuple, nodes.List, nodes.Getattr, nodes.Getitem, nodes.Call, nodes.Filter, nodes.Test),
        *(nodes.Compare, nodes.Operand, nodes.And, nodes.Or, nodes.Not, nodes.CondExpr, nodes.Concat),
        *(nodes.Add, nodes.Sub, nodes.Mul, nodes.Div, nodes.FloorDiv, nodes.Mod, nodes.Neg, nodes.Pos),
    )
)
_TOLD_AS: Final[Mapping[str, str]] = {
    "Macro": "{% macro %}",
    "CallBlock": "{% call %}",
    "FilterBlock": "{% filter %}",
    "AssignBlock": "{% set %} ... {% endset %}",
    "Include": "{% include %}",
    "Import": "{% import %}",
    "FromImport": "{% from %}",
    "Extends": "{% extends %}",
    "Block": "{% block %}",
    "With": "{% with %}",
    "Pow": "**",
    "Dict": "{ }",
    "Slice": "[:]",
    "NSRef": "a namespace",
}
TESTS: Final = frozenset({"defined", "undefined", "none", "odd", "even", "number", "string"})


def check(tree: nodes.Template, template: Path, filters: frozenset[str] | set[str]) -> None:
    """Raises InputError at the first node that is not of the language."""
    for node in (tree, *tree.find_all(nodes.Node)):
        wrong = _wrong(node, filters)
        if wrong:
            raise InputError(
                f"the template uses {short(wrong)}, which posts do not have", file=template, line=node.lineno
            )


def _wrong(node: nodes.Node, filters: frozenset[str] | set[str]) -> str | None:
    """What a node is, if it is not of the language."""
    name = type(node).__name__
    if type(node) not in _ALLOWED:
        return _TOLD_AS.get(name, name.lower())
    match node:
        case nodes.Name(name=str(word)) if word.startswith("_") or word in ("self", "caller", "varargs", "kwargs"):
            return f"the name {word}"
        case nodes.Const(value=str(text)) if len(text) > MOST_TEXT:
            return f"a text of more than {MOST_TEXT} characters"
        case nodes.Const(value=float(number)) if not math.isfinite(number):
            return "a number beyond all bounds"
        case nodes.Getattr(attr=str(word)) if word.startswith("_"):
            return f"the attribute {word}"
        case nodes.Filter(name=str(word)) if word not in filters:
            return f"the filter {word}"
        case nodes.Filter(args=[_, *_]) | nodes.Filter(kwargs=[_, *_]):
            return "a filter with arguments"
        case nodes.Test(name=str(word)) if word not in TESTS:
            return f"the test {word}"
        case nodes.Call(dyn_args=star, dyn_kwargs=stars) if star is not None or stars is not None:
            return "a call with * or **"
        case nodes.For(recursive=True):
            return "a recursive loop"
        case nodes.For(target=target) | nodes.Assign(target=target) if not isinstance(target, nodes.Name):
            return "several names set at once"
        case nodes.Tuple(items=items) | nodes.List(items=items) if any(type(i) is not nodes.Const for i in items):
            return "a list of anything but plain texts and numbers"
    return None


def bounded(tree: nodes.Template) -> nodes.Template:
    """The same template with the clock in every loop, a bound on every text that is joined, and lines taken whole.

    It then has the filters ``_watched``, ``_joined``, ``_printed`` and ``_whole``, which no template can name.
    """
    changed: nodes.Template = _Bounds().visit(tree)
    return changed


class _Bounds(NodeTransformer):
    """The changes, node by node."""

    def visit_For(self, node: nodes.For) -> nodes.Node:  # noqa: N802
        self.generic_visit(node)
        node.iter = nodes.Filter(node.iter, "_watched", [], [], None, None, lineno=node.lineno)
        return node

    def visit_Output(self, node: nodes.Output) -> nodes.Node:  # noqa: N802
        self.generic_visit(node)
        node.nodes = [_whole(line) for line in _by_line([_text(child) for child in node.nodes])]
        return node

    def visit_Concat(self, node: nodes.Concat) -> nodes.Node:  # noqa: N802
        self.generic_visit(node)
        parts = nodes.List(node.nodes, lineno=node.lineno)
        return nodes.Filter(parts, "_joined", [], [], None, None, lineno=node.lineno)


def _by_line(children: list[nodes.Expr]) -> Iterator[list[nodes.Expr]]:
    """What is printed, broken where a line ends, so that a failure can be told at its line."""
    line: list[nodes.Expr] = []
    for child in children:
        line.append(child)
        if isinstance(child, nodes.TemplateData) and "\n" in child.data:
            yield line
            line = []
    if line:
        yield line


def _whole(line: list[nodes.Expr]) -> nodes.Expr:
    """A line in one piece: taking every piece of it on its own is a third of the time."""
    if len(line) == 1:
        return line[0]
    at = next((child.lineno for child in line if not isinstance(child, nodes.TemplateData)), line[0].lineno)
    parts = nodes.List([_as_const(child) for child in line], lineno=at)
    return nodes.Filter(parts, "_whole", [], [], None, None, lineno=at)


def _as_const(node: nodes.Expr) -> nodes.Expr:
    return nodes.Const(node.data, lineno=node.lineno) if isinstance(node, nodes.TemplateData) else node


def _text(node: nodes.Expr) -> nodes.Expr:
    """What is printed: a text as it is, for filters give nothing else, and the rest looked at first."""
    if isinstance(node, nodes.TemplateData) or (isinstance(node, nodes.Filter) and node.name != "abs"):
        return node
    return nodes.Filter(node, "_printed", [], [], None, None, lineno=node.lineno)


def short(text: str) -> str:
    """A text as far as a person reads it."""
    return text if len(text) <= MOST_SAID else f"{text[:MOST_SAID]}..."
