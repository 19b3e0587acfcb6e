"""Physics of a walk-through: nothing turns, nothing enters a bore, every start is stopped at."""

from collections.abc import Sequence

from gen.job import Job
from gen.ways import Judge
from post.dialect import Dialect
from post.finding import Finding
from post.timeline import Halt, Move, SpinChange, Timeline


def judge_walk(job: Job, timeline: Timeline, dialect: Dialect, lines: Sequence[str]) -> list[Finding]:
    """What is wrong with a walk-through."""
    return _Walk(job, dialect, lines).run(timeline)


class _Walk(Judge):
    """A walk-through: nothing turns, nothing enters, every start is stopped at."""

    def __init__(self, job: Job, dialect: Dialect, lines: Sequence[str]) -> None:
        super().__init__(job, dialect, lines)
        self.stopped_at: set[int] = set()

    def spin_change(self, event: SpinChange) -> None:
        if event.spin.turning:
            self.tell("walk-turns", event.line, "the spindle is started", "a walk-through that never turns it")

    def low_move(self, move: Move) -> None:
        metal = self.metal_over(*sorted((move.start[0], move.end[0])))
        if metal is not None:
            self.tell("walk-enters", move.line, f"enters bore {metal.bore.name}", "a walk-through that enters no bore")
        else:
            self.low(move, "moves below the clearance height off the way into a bore")

    def halt(self, event: Halt) -> None:
        super().halt(event)
        x, y, z = self.at
        if not event.optional and max(abs(y), abs(z)) <= self.near:
            index = self.start_at(x)
            if index is not None:
                self.stopped_at.add(index)

    def after(self) -> None:
        for index, housing in enumerate(self.row):
            if index not in self.stopped_at:
                self.tell(
                    "walk-missed",
                    len(self.lines),
                    f"no stop at the start of bore {housing.bore.name}",
                    f"a stop at X {self.show(housing.start_x)}, on the bore line",
                )
