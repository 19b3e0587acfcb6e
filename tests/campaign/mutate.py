"""Programs changed a little, judged by an independent control and by the proof: ``python -m tests.campaign.mutate``.

Every sample under every post that can express it, those that ship and some made up here that differ in what a control
may have otherwise, bored and walked through, and random jobs under one of theirs, are written; small changes of every
kind (``tests.campaign.mutants``) are made to the text. A mutant is *dangerous* where the machine
(``tests.campaign.machine``) does anything but what the original has it do, or a strict control stops at it; else it is
*harmless*. No dangerous one may be proved, and no unmutated one refused; that harmless ones are refused is no fault.
Exits with 1 when any is wrong, or a kind had no mutant. A run is the same for a seed unless ``--seconds`` end it; as
long as the code is the same, for hypothesis draws from the numbers in it.

The second reading, which could only add to what is found and takes three times as long as all the rest, is left out but
for the unmutated programs and one mutant in ``READ_TWICE``.
"""

import argparse
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from functools import lru_cache
from itertools import chain
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any, Final, NamedTuple
from unittest.mock import patch

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import seed as seeded

from gen import second
from gen.job import Job
from gen.pipeline import Task, begin, program_texts, prove_texts
from post.posts import shipped
from post.views import refusal
from tests.campaign.deeds import Deed, Halves, difference
from tests.campaign.lines import Alarm
from tests.campaign.machine import perform
from tests.campaign.mutants import KINDS, Change, Original, changed, split
from tests.jobs import valid_jobs
from tests.programs import SAMPLES, able, own_post, task_of

READ_TWICE: Final = 50
A_ROUND: Final = {"sample": 30, "job": 3}
"""Mutants of each kind in a round, of each program of a sample and of a random job."""
MOST_BORES: Final = 4


class Source(NamedTuple):
    """What programs are written for: a sample's path or a job, under a post."""

    name: str
    told: Path | Job
    post: str
    walk: bool


class Survivor(NamedTuple):
    """A dangerous mutant that was proved: source, kind, lines before and after, and what is done otherwise."""

    source: str
    kind: str
    lines: tuple[tuple[int, str, str], ...]
    why: str

    def __str__(self) -> str:
        lines = "".join(f"\n    {at}: {before!r} -> {after!r}" for at, before, after in self.lines[:3])
        return f"SURVIVED: {self.source}, {self.kind}: {self.why}{lines}"


class Tally(NamedTuple):
    """Mutants counted by kind and fate; and what went wrong, in words."""

    fates: Counter[tuple[str, str]]
    wrong: list[str]

    def add(self, other: "Tally") -> None:
        """Count another's too."""
        self.fates.update(other.fates)
        self.wrong.extend(other.wrong)


class Written(NamedTuple):
    """A source's programs, as lines, and what each has the machine do."""

    task: Task
    programs: tuple[tuple[str, ...], ...]
    deeds: tuple[list[Deed], ...]
    half: Halves


MADE_UP: Final[Mapping[str, tuple[tuple[str, str], ...]]] = {
    "semicolons": (
        ('form = "brackets"', 'form = "semicolon"'),
        ('word = "P"', 'word = "X"'),
        ('unit = "seconds"', 'unit = "milliseconds"'),
        ("step = 0.01 ", "step = 1 "),
    ),
    "counted": (
        ('form = "brackets"', 'form = "none"'),
        ('point = "optional"', 'point = "none"'),
        ('new_setting = "stop"', 'new_setting = "file"'),
        ('feed_modes = ["G94"]', 'feed_modes = ["G95", "G94"]'),
        ('unit_words = { mm = "G21", inch = "G20" }', 'unit_words = { mm = "G71", inch = "G70" }'),
    ),
}
"""Posts made of the plainest that ships, and what their dialects have otherwise."""


def made_up(folder: Path) -> list[str]:
    """Posts as ``MADE_UP`` has them, in a folder."""
    return [own_post(folder / name, "longhand", *changes) for name, changes in MADE_UP.items()]


def samples(*posts: str) -> list[Source]:
    """Every sample under every post that can express it, and under these."""
    return [
        Source(f"{path.stem}, {Path(post).name}{', walk' if walk else ''}", path, post, walk)
        for path in SAMPLES
        for post in (*shipped(), *posts)
        for walk in (False, True)
        if _can(begin(path, post, walk=walk))
    ]


def _can(task: Task) -> bool:
    return all(refusal(plan, task.post.dialect) is None for plan in task.plans)


def random_jobs(count: int, seed: int) -> list[Source]:
    """So many valid jobs, each under one of the posts that can express it."""
    jobs: list[Job] = []

    @seeded(seed)
    @settings(
        max_examples=max(count, 1),
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(valid_jobs(most_bores=MOST_BORES))
    def collect(job: Job) -> None:
        jobs.append(job)

    collect()
    choice = Random(seed).choice
    return [Source(f"job {number}", job, choice(able(job)), False) for number, job in enumerate(jobs[:count])]


SOURCES: list[Source] = []
"""Those of the run, in each process."""


def _take(sources: list[Source]) -> None:
    SOURCES[:] = sources


@lru_cache(maxsize=512)
def written(index: int) -> Written:
    """A source's programs. Raises Alarm where the control stops at one of them."""
    source = SOURCES[index]
    if isinstance(source.told, Path):
        task = begin(source.told, source.post, walk=source.walk)
    else:
        task = task_of(source.told, source.post, walk=source.walk)
    texts = program_texts(task)
    deeds = tuple(perform(text, task.post.dialect) for text in texts)
    half = Halves.of(task.post.dialect, task.plans[0].units)
    return Written(task, tuple(map(split, texts)), deeds, half)


def partner(index: int, rng: Random) -> int:
    """Another source under the same post, to be spliced with."""
    source = SOURCES[index]
    return rng.choice([other for other, one in enumerate(SOURCES) if one.post == source.post])


def check_unmutated(index: int) -> Tally:
    """Prove a source's programs as they are, read twice."""
    one = written(index)
    texts = ["".join(lines) for lines in one.programs]
    verdict = prove_texts(one.task, texts, physics_only=False, read_twice=True)
    fate = "proved" if verdict.proved else "refused"
    wrong = [] if verdict.proved else [f"REFUSED UNMUTATED: {SOURCES[index].name}: {verdict.findings[0]}"]
    return Tally(Counter({("unmutated", fate): 1}), wrong)


def check_round(index: int, number: int, seed: int) -> Tally:
    """Make and judge one round of a source's mutants: so many of each kind, none made in another round."""
    one, tally = written(index), Tally(Counter(), [])
    for kind, make in KINDS.items():
        rng = Random(f"{seed} {index} {kind}")
        others = (*one.programs, *written(partner(index, rng)).programs)
        made = [
            (part, change)
            for part, lines in enumerate(one.programs)
            for change in dict.fromkeys(make(Original(lines, others), rng))
            if any(lines[at] != line for at, line in change)
        ]
        rng.shuffle(made)
        many = A_ROUND["sample" if isinstance(SOURCES[index].told, Path) else "job"]
        for place, (part, change) in enumerate(made[many * number : many * (number + 1)]):
            twice = (index + place + number) % READ_TWICE == 0
            fate, survivor = judge(index, part, change, kind, read_twice=twice)
            tally.fates[kind, fate] += 1
            if survivor:
                tally.wrong.append(survivor)
    return tally


def judge(index: int, part: int, change: Change, kind: str, *, read_twice: bool) -> tuple[str, str]:
    """What became of a mutant: "caught", "survived", "passed" or "refused"; and what is wrong with that."""
    one = written(index)
    texts = ["".join(lines) for lines in one.programs]
    texts[part] = changed(one.programs[part], change)
    try:
        why = difference(one.deeds[part], perform(texts[part], one.task.post.dialect), one.half)
    except Alarm as alarm:
        why = f"alarm: {alarm}"
    try:
        proved = prove(one.task, texts, read_twice=read_twice)
    except Exception as error:
        error.add_note(f"{SOURCES[index].name}, program {part + 1}, {kind}: {change}")
        raise
    if not why:
        return ("passed" if proved else "refused"), ""
    if not proved:
        return "caught", ""
    lines = tuple((at + 1, one.programs[part][at], line) for at, line in change)
    return "survived", str(Survivor(f"{SOURCES[index].name}, program {part + 1}", kind, lines, why))


def prove(task: Task, texts: Sequence[str], *, read_twice: bool) -> bool:
    """Whether programs are proved, with the second reading or without it."""
    if read_twice:
        return prove_texts(task, texts, physics_only=False, read_twice=True).proved
    with patch.object(second, "read_again", _not_again):
        return prove_texts(task, texts, physics_only=False, read_twice=False).proved


def _not_again(*_: object, **__: object) -> second.SecondReading:
    return second.SecondReading((), 0, {})


def work(sources: int, rounds: int, seed: int) -> Iterator[tuple[Callable[..., Tally], tuple[int, ...]]]:
    """All that is to be done, round by round and in no order, so that a run cut short has looked at sources alike."""
    order = list(range(sources))
    Random(seed).shuffle(order)
    yield from ((check_unmutated, (index,)) for index in order)
    for number in range(rounds):
        yield from ((check_round, (index, number, seed)) for index in order)


def run(sources: list[Source], *, rounds: int, seed: int, seconds: float, processes: int) -> Tally:
    """Do it, in so many processes, until all is done or the time is up."""
    tally, ends = Tally(Counter(), []), time.monotonic() + seconds
    todo, running = work(len(sources), rounds, seed), set[Future[Tally]]()
    with ProcessPoolExecutor(processes, initializer=_take, initargs=(sources,)) as pool:
        while True:
            while len(running) < 2 * processes and time.monotonic() < ends and (task := next(todo, None)):
                running.add(pool.submit(task[0], *task[1]))
            if not running:
                return tally
            done, running = wait(running, return_when=FIRST_COMPLETED)
            for future in done:
                tally.add(future.result())


def table(tally: Tally) -> list[str]:
    """The figures, as a table of DEVELOPERS.md."""
    fates = tally.fates
    rows = [(kind, [fates[kind, fate] for fate in FATES]) for kind in KINDS]
    rows.append(("all", [sum(fates[kind, fate] for kind in KINDS) for fate in FATES]))
    lines = ["| kind | dangerous | caught | harmless | passed | refused |", f"|{' --- |' * 6}"]
    for kind, (caught, survived, passed, refused) in rows:
        lines.append(f"| {kind} | {caught + survived} | {caught} | {passed + refused} | {passed} | {refused} |")
    return lines


FATES: Final = ("caught", "survived", "passed", "refused")


def campaign(chosen: argparse.Namespace, tell: Callable[[str], Any] = print) -> int:
    """Run as chosen, tell the figures, and give the number of mutants and programs that came out wrong."""
    began = time.perf_counter()
    with TemporaryDirectory() as folder:
        sources = [*samples(*made_up(Path(folder))), *random_jobs(chosen.jobs, chosen.seed)]
        tally = run(
            sources,
            rounds=chosen.rounds,
            seed=chosen.seed,
            seconds=chosen.seconds - (time.perf_counter() - began),
            processes=chosen.processes,
        )
    for line in chain(sorted(tally.wrong), table(tally)):
        tell(line)
    proved, refused = (tally.fates["unmutated", fate] for fate in ("proved", "refused"))
    idle = [kind for kind in (*KINDS, "unmutated") if not any(tally.fates[kind, fate] for fate in (*FATES, "proved"))]
    for kind in idle:
        tell(f"NOT DONE: {kind}: not one was judged")
    seconds = time.perf_counter() - began
    tell(f"{proved + refused} unmutated, {refused} refused; {len(tally.wrong)} wrong; {seconds:.0f} s")
    return len(tally.wrong) + len(idle)


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description="Hold the proof of mutated programs against an independent control.")
    parser.add_argument("--seconds", type=float, default=float("inf"), help="when to stop; rounds are alike")
    parser.add_argument("--rounds", type=int, default=10, help=f"of so many mutants of each kind: {A_ROUND}")
    parser.add_argument("--jobs", type=int, default=300, help="random jobs besides the samples")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--processes", type=int, default=2)
    sys.exit(1 if campaign(parser.parse_args()) else 0)


if __name__ == "__main__":
    main()
