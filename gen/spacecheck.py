"""What makes the room that head, block and obstacles are told to take impossible, judged before any path is planned."""

from itertools import combinations
from typing import TYPE_CHECKING

from gen.row import Housing, housings
from gen.space import BULKHEAD, OUR_NAMES, Obstacle
from post.tomlplaces import Key
from post.units import Units, show_length
from post.userfile import KeyProblem

if TYPE_CHECKING:
    from gen.job import Job


def check_space(job: "Job") -> None:
    """Raises KeyProblem that names the two things that cannot be, and both numbers."""
    for index, housing in enumerate(housings(job)):
        _check_reach(job, housing)
        _check_bulkhead(job, index, housing)
        _check_obstacles(job, housing)
    bumps = [bump.name for bump in job.head.bump]
    for index, name in enumerate(bumps):
        key: Key = ("head", "bump", index, "name")
        _check_name(name, key)
        if bumps.index(name) < index:
            raise KeyProblem(
                key, f'"{name}" is already the name of bump {bumps.index(name) + 1}; give each part its own'
            )
    for index, obstacle in enumerate(job.obstacle):
        _check_name(obstacle.name, ("obstacle", index, "name"))
    for (one_index, one), (index, other) in combinations(enumerate(job.obstacle), 2):
        _check_apart(job.units, one_index, one, index, other)
    for index, bump in enumerate(job.head.bump):
        if bump.behind[0] < 0:
            raise KeyProblem(
                ("head", "bump", index, "behind"),
                f"starts {show_length(-bump.behind[0], job.units)} in front of the cutting edge; count backward from 0",
            )


def _check_name(name: str, key: Key) -> None:
    if name in OUR_NAMES or name.startswith(BULKHEAD):
        whose = f"the {name}" if name in OUR_NAMES else "a bulkhead"
        raise KeyProblem(key, f'"{name}" is already the name of {whose}; give each part its own')


def _check_reach(job: "Job", housing: Housing) -> None:
    reach, stroke = job.head.reach, abs(housing.end_x - housing.near_x)
    if reach is not None and reach <= stroke:
        raise KeyProblem(
            ("head", "reach"),
            f"{show_length(reach, job.units)} is shorter than the way through bore {housing.bore.name},"
            f" {show_length(stroke, job.units)} from its near face; the head would meet the bulkhead",
        )


def _check_bulkhead(job: "Job", index: int, housing: Housing) -> None:
    bore, block, units = housing.bore, job.block, job.units
    hole = bore.hole or (block.hole if block else None)
    if hole is not None and job.bar.diameter >= hole:
        key = ("bore", index, "hole") if bore.hole else ("block", "hole")
        raise KeyProblem(
            key,
            f"{show_length(hole, units)} is no larger than bar.diameter, {show_length(job.bar.diameter, units)};"
            f" the bar would not go through bore {bore.name}",
        )
    y, z = bore.bulkhead_y or (block.y if block else None), bore.bulkhead_z or (block.z if block else None)
    if (y is None) is not (z is None):
        missing = "bulkhead_z" if z is None else "bulkhead_y"
        raise KeyProblem(("bore", index, missing), "is missing; give both, or a [block]")
    if y is None or z is None:
        return
    if hole is None:
        raise KeyProblem(
            ("block", "hole") if block else ("bore", index, "hole"),
            "is missing; write the diameter of the hole that is there before this pass, e.g. hole ="
            f" {show_length(0.99 * bore.diameter, units).split()[0]}",
        )
    if hole >= bore.diameter:
        raise _nothing_to_cut(job, index, hole)
    widest = max(hole, bore.diameter) / 2
    for axis, (low, high) in (("y", y), ("z", z)):
        if min(-low, high) <= widest:
            own = getattr(bore, f"bulkhead_{axis}") is not None
            raise KeyProblem(
                ("bore", index, f"bulkhead_{axis}") if own else ("block", axis),
                f"from {show_length(low, units)} to {show_length(high, units)} does not hold bore {bore.name}, whose"
                f" radius is {show_length(widest, units)}; count from the bore line, both ways past it",
            )
    if job.path.clearance_height <= z[1]:
        raise KeyProblem(
            ("path", "clearance_height"),
            f"{show_length(job.path.clearance_height, units)} is not above the bulkhead of bore {bore.name}, which goes"
            f" up to {show_length(z[1], units)}",
        )


def _nothing_to_cut(job: "Job", index: int, hole: float) -> KeyProblem:
    """At the hole, or at the bore's diameter where what else is told of the hole speaks for it."""
    bore, units = job.bore[index], job.units
    told, diameter = show_length(hole, units), show_length(bore.diameter, units)
    measured = bore.measured is not None and bore.measured[1] >= bore.diameter
    others = bore.hole is None and any(other.diameter > hole for other in job.bore)
    if not measured and not others:
        return KeyProblem(
            ("block", "hole") if bore.hole is None else ("bore", index, "hole"),
            f"{told} is no smaller than bore {bore.name}, {diameter}; there would be nothing to cut; give the hole that"
            f" is there before this pass, or mend the diameter of bore {bore.name}",
        )
    suspects = f"{'block.hole' if bore.hole is None else 'hole'}, {told}"
    if measured:
        assert bore.measured is not None
        suspects += f", and measured, up to {show_length(bore.measured[1], units)}"
    return KeyProblem(
        ("bore", index, "diameter"),
        f"{diameter} is no larger than {suspects}; there would be nothing to cut; mend the diameter, or give what is"
        " there before this pass",
    )


def _check_obstacles(job: "Job", housing: Housing) -> None:
    """The bore line must be free along every stroke; a turned box is left to the proof."""
    low, high = housing.stroke
    for index, obstacle in enumerate(job.obstacle):
        on_line = obstacle.y[0] < 0 < obstacle.y[1] and obstacle.z[0] < 0 < obstacle.z[1]
        if on_line and not obstacle.turned and obstacle.x[0] < high and low < obstacle.x[1]:
            raise KeyProblem(
                ("obstacle", index, "x"),
                f'"{obstacle.name}" lies on the bore line from {show_length(obstacle.x[0], job.units)} to'
                f" {show_length(obstacle.x[1], job.units)}, in the stroke of bore {housing.bore.name} from"
                f" {show_length(low, job.units)} to {show_length(high, job.units)}",
            )


def _check_apart(units: Units, one_index: int, one: Obstacle, index: int, other: Obstacle) -> None:
    if one.name == other.name:
        raise KeyProblem(
            ("obstacle", index, "name"),
            f'"{other.name}" is already the name of obstacle {one_index + 1}; give each its own',
        )
    if one.turned or other.turned:
        return
    overlaps = [
        (axis, mine, theirs)
        for axis, mine, theirs in (("X", one.x, other.x), ("Y", one.y, other.y), ("Z", one.z, other.z))
        if mine[0] < theirs[1] and theirs[0] < mine[1]
    ]
    if len(overlaps) == 3:
        axis, mine, theirs = overlaps[0]
        raise KeyProblem(
            ("obstacle", index, axis.lower()),
            f'"{other.name}" overlaps "{one.name}": {axis} {_range(theirs, units)} and {_range(mine, units)};'
            " boxes may touch, but not be in one place",
        )


def _range(extent: tuple[float, float], units: Units) -> str:
    return f"{show_length(extent[0], units)} to {show_length(extent[1], units)}"
