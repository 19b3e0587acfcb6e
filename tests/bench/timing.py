"""Stop-watches: the machine's own load cancels where two things are timed in turn and their ratio is taken."""

import gc
import statistics
import time
from collections.abc import Callable
from typing import NamedTuple

Action = Callable[[], object]


class Pair(NamedTuple):
    """CPU seconds of ours, and how many times that theirs takes: medians over all rounds."""

    seconds: float
    times: float


def cpu_s(action: Action) -> float:
    """CPU seconds of one run."""
    gc.collect()
    started = time.process_time()
    action()
    return time.process_time() - started


def best(action: Action, rounds: int) -> float:
    """The least CPU seconds of several runs."""
    return min(cpu_s(action) for _ in range(rounds))


def in_turn(ours: Action, theirs: Action, rounds: int, *, scale: float = 1.0) -> Pair:
    """Ours and theirs, one after the other; ``scale`` is how much more work ours is given."""
    pairs = [(cpu_s(ours), cpu_s(theirs) * scale) for _ in range(rounds)]
    return Pair(statistics.median(mine for mine, _ in pairs), statistics.median(his / mine for mine, his in pairs))
