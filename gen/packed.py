"""Long columns for a page's script: numbers as base64 of little-endian typed arrays, texts as a table of distinct ones.

A column is a dict. ``{"f8": ...}`` or ``{"i4": ...}`` holds every value; ``{"of": table, "u1": ...}`` (or ``u2``) holds
numbers of places in a table, itself a column or a list of texts, where values come again and again.
"""

import math
import sys
from array import array
from base64 import b64encode
from collections.abc import Hashable, Iterable, Sequence
from typing import Any, Final, TypeVar

Column = dict[str, Any]
T = TypeVar("T", bound=Hashable)

TYPE: Final = {"f8": "d", "i4": "i", "u1": "B", "u2": "H"}
NAN: Final = math.nan


def numbers(values: Iterable[float], digits: int = 6) -> Column:
    """A column of numbers rounded to so many digits, NaN among them."""
    rounded = [NAN if math.isnan(value) else round(value, digits) + 0.0 for value in values]
    table, places = _distinct(rounded)
    width = _width(len(table))
    if width is None or 2 * len(table) > len(rounded):
        return {"f8": _base64("f8", rounded)}
    return {"of": {"f8": _base64("f8", table)}, width: _base64(width, places)}


def integers(values: Sequence[int]) -> Column:
    """A column of whole numbers below 2^31."""
    table, places = _distinct(values)
    width = _width(len(table))
    if width is None or 2 * len(table) > len(values):
        return {"i4": _base64("i4", values)}
    return {"of": {"i4": _base64("i4", table)}, width: _base64(width, places)}


def texts(values: Sequence[T]) -> Column:
    """A column of texts, or of anything else JSON knows that can be a key."""
    table, places = _distinct(values)
    width = _width(len(table)) or "i4"
    return {"of": list(table), width: _base64(width, places)}


def _distinct(values: Iterable[T]) -> tuple[list[T], list[int]]:
    """The values there are, in order of first coming, and for each value its place among them."""
    places: dict[T, int] = {}
    indices = [places.setdefault(value, len(places)) for value in values]
    return list(places), indices


def _width(count: int) -> str | None:
    return "u1" if count <= 0x100 else "u2" if count <= 0x10000 else None


def _base64(width: str, values: Iterable[float]) -> str:
    packed: array[Any] = array(TYPE[width], values)
    if sys.byteorder == "big":
        packed.byteswap()
    return b64encode(packed.tobytes()).decode("ascii")
