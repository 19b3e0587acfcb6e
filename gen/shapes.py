"""Shapes as an SVG path has them, x to the right, y down, so that a height Z stands at y = -Z; short labels."""

import math
from collections.abc import Iterator, Sequence

Corners = Sequence[tuple[float, float]]


def box_corners(across: tuple[float, float], upright: tuple[float, float]) -> Corners:
    """Corners of a box, from its extents across and up (Z)."""
    (left, right), (low, high) = across, upright
    return [(left, -high), (right, -high), (right, -low), (left, -low)]


def polygon(corners: Corners) -> str:
    """A closed path through corners."""
    return f"M{'L'.join(f'{n(x)},{n(y)}' for x, y in corners)}Z"


def hatching(corners: Corners, seen: Corners, *, slope_deg: float, apart: float, hole: float) -> str:
    """Straight lines across a convex shape, but for a round hole about the origin.

    Lines of one slope run on from shape to shape. Those that do not touch ``seen`` are left out.
    """
    cos, sin = math.cos(math.radians(slope_deg)), math.sin(math.radians(slope_deg))
    turned = [(x * cos + y * sin, y * cos - x * sin) for x, y in corners]
    window = [y * cos - x * sin for x, y in seen]
    lowest = max(min(across for _, across in turned), min(window))
    highest = min(max(across for _, across in turned), max(window))
    lines = []
    for count in range(math.ceil(lowest / apart), math.floor(highest / apart) + 1):
        across = count * apart
        for start, stop in _within(turned, across, hole):
            ends = [(along * cos - across * sin, along * sin + across * cos) for along in (start, stop)]
            lines.append(f"M{n(ends[0][0])},{n(ends[0][1])}L{n(ends[1][0])},{n(ends[1][1])}")
    return "".join(lines)


def _within(corners: Corners, across: float, hole: float) -> Iterator[tuple[float, float]]:
    """Parts of a level line inside a convex shape and outside the hole."""
    met = []
    for (along, here), (next_along, there) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if (here < across) != (there < across):
            met.append(along + (next_along - along) * (across - here) / (there - here))
    if not met:
        return
    start, stop = min(met), max(met)
    half = math.sqrt(max(0.0, hole**2 - across**2))
    if half:
        yield from ((low, high) for low, high in ((start, min(stop, -half)), (max(start, half), stop)) if low < high)
    else:
        yield start, stop


def circle(radius: float) -> str:
    """A circle about the origin."""
    r = n(radius)
    return f"M-{r},0A{r},{r} 0 1 0 {r},0A{r},{r} 0 1 0 -{r},0Z"


def zigzag(low: float, high: float, y: float, size: float) -> str:
    """A broken edge at a height, about ``size`` from tooth to tooth."""
    count = max(2, min(40, round((high - low) / size)))
    step = (high - low) / count
    rest = "".join(f"L{n(low + place * step)},{n(y + (size / 2) * (-1) ** place)}" for place in range(1, count))
    return f"M{n(low)},{n(y)}{rest}L{n(high)},{n(y)}"


def arrow_head(x: float, y: float, along_x: float, along_y: float) -> str:
    """An arrow's head at its tip, pointing along (along_x, along_y)."""
    back_x, back_y, side_x, side_y = x - along_x, y - along_y, along_y / 2.5, along_x / 2.5
    one, other = f"{n(back_x - side_x)},{n(back_y - side_y)}", f"{n(back_x + side_x)},{n(back_y + side_y)}"
    return f"M{one}L{n(x)},{n(y)}L{other}"


def round_below(value: float) -> float:
    """The greatest of 1, 2, 5 times a power of ten that is no more."""
    power = 10.0 ** math.floor(math.log10(value))
    return next(step * power for step in (5, 2, 1) if step * power <= value * (1 + 1e-9))


def shortened(text: str, most: int) -> str:
    """A text of so many letters at most."""
    return text if len(text) <= most else f"{text[: most - 1]}\u2026"


def runs(numbers: Sequence[int], names: Sequence[str] | None = None) -> str:
    """Rising numbers, those that follow each other as a run: "1-3, 5"; or the names they count, from 0."""
    groups: list[list[int]] = []
    for number in numbers:
        if groups and groups[-1][-1] == number - 1:
            groups[-1].append(number)
        else:
            groups.append([number])

    def show(number: int) -> str:
        return str(number) if names is None else names[number]

    told: list[str] = []
    for group in groups:
        told += [f"{show(group[0])}-{show(group[-1])}"] if len(group) > 2 else map(show, group)
    return ", ".join(told)


def n(value: float) -> str:
    """A number as SVG has it, to a thousandth."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
