"""The modal state a program has stated so far, and what it still owes before a move."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any, Final

from post.dialect import Dialect
from post.refusal import Refusal
from post.units import MM_PER, Units

# Where no codes stand the dialect has its own.
_OWED: Final = (
    ("units", "units", ""),
    ("axis", "plane", "G17, G18 or G19"),
    ("absolute", "distance mode", "G90 or G91"),
    ("feed_mode", "feed mode", ""),
    ("offset", "work offset", "G54 to G59.3"),
)
_OWED_BY_CYCLE: Final = (*_OWED, ("retract", "retract mode", "G98 or G99"))


@dataclass(frozen=True, slots=True)
class Modal:
    """What holds until another word changes it; None where the program has not said.

    ``axis`` is the plane's own axis, 0, 1 or 2 for X, Y or Z. ``complete`` says that a straight move owes nothing,
    ``mm_per_unit`` is the length of the unit stated, 0 before one is.
    """

    units: Units | None = None
    axis: int | None = None
    absolute: bool | None = None
    feed_mode: str | None = None
    offset: str | None = None
    retract: str | None = None
    complete: bool = field(init=False)
    mm_per_unit: float = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "complete", all(getattr(self, name) is not None for name, _, _ in _OWED))
        object.__setattr__(self, "mm_per_unit", MM_PER[self.units] if self.units else 0.0)

    def after(self, changes: Iterable[tuple[str, Any]]) -> "Modal":
        """The state when these fields are set; the same object where they are so already."""
        news = {name: value for name, value in changes if getattr(self, name) != value}
        return replace(self, **news) if news else self

    def check_owed(self, what: str, dialect: Dialect, *, cycle: bool) -> None:
        """Refuse what relies on a state never stated; ``what`` is it, in words."""
        own = {
            "units": f"{dialect.unit_words.inch} or {dialect.unit_words.mm}",
            "feed_mode": " or ".join(dialect.feed_modes),
        }
        owed = [
            (name, codes or own[key])
            for key, name, codes in (_OWED_BY_CYCLE if cycle else _OWED)
            if getattr(self, key) is None
        ]
        if owed:
            names = " and no ".join(name for name, _ in owed)
            codes = " and ".join(codes for _, codes in owed)
            raise Refusal("state-assumed", f"{what} with no {names} stated", f"{codes} before it")
