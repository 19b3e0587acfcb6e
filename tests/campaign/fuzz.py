"""Files and command lines made wrong at random: ``python -m tests.campaign.fuzz --seconds N [--what job ...]``.

Every command must end with exit code 0, 1 or 2, without a traceback or a mistake of its own, within 5 s and 512 MB; bad
input must be told, and under --json in one JSON object. Cases run in forked workers under these limits. Prints how
many cases were run and how they ended; exits with 1 where anything was wrong. A case is repeated with ``--seed`` and
``--case``; ``--keep FOLDER`` keeps its files.
"""

import argparse
import contextlib
import io
import json
import os
import random
import resource
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Final, NamedTuple

from gen.cli import borewright, main
from tests.campaign.kills import warm
from tests.campaign.wrongfiles import TARGETS, Case

MOST_S: Final = 5
MOST_BYTES: Final = 512 * 1024 * 1024
VALUED: Final = frozenset(
    {"--out", "--post", "--plot", "--keep-rejected", "--survey", "--units", "--seed", "--line", "--job"}
)
"""Options that take the word behind them, whatever it is."""
HELP: Final = frozenset({"-h", "--help", "--version"})
BATCH: Final = 100
GRACE_S: Final = 5
"""How long a worker may hang where no signal reaches it before it is killed."""


class HangError(BaseException):
    """A case takes longer than it may."""


class Told(NamedTuple):
    """How a case ended: exit code, and what is wrong with that, "" where nothing is."""

    code: int
    wrong: str


def run_case(case: Case) -> Told:
    """Run a case in the present folder, which is emptied first."""
    lay_out(case)
    out, err = _stream("strict"), _stream("backslashreplace")
    code: object = None
    sys.argv = ["borewright", *case.arguments]
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main()
        except SystemExit as end:
            code = end.code or 0
        except HangError:
            return Told(-1, f"it takes longer than {MOST_S} s")
        except BaseException as error:
            return Told(-1, f"{type(error).__name__} comes out: {error}")
    return Told(code if isinstance(code, int) else -1, _wrong(case, code, *map(_text, (out, err))))


def _stream(errors: str) -> io.TextIOWrapper:
    """A stream that writes as standard output or standard error do."""
    return io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors=errors, newline="\n")


def _text(stream: io.TextIOWrapper) -> str:
    stream.seek(0)
    return stream.read()


def _wrong(case: Case, code: object, out: str, err: str) -> str:
    if code not in (0, 1, 2):
        return f"it ends with {code}"
    if "mistake of its own" in err or "Traceback" in out + err:
        return f"{err.strip().splitlines()[-1][:300]}\n{_traceback(case)}"
    if code == 2 and not err.strip():
        return "bad input is not told"
    # What click itself refuses comes before any --json.
    helped = not HELP.isdisjoint(case.arguments)
    if _asks_json(case) and not helped and (code != 2 or err.startswith("borewright: ")):
        try:
            json.loads(out)
        except ValueError as error:
            return f"no JSON: {error}"
    return ""


def _asks_json(case: Case) -> bool:
    """Whether --json is an option, and not the value of another."""
    return any(one == "--json" and before not in VALUED for before, one in pairwise(("", *case.arguments)))


def _traceback(case: Case) -> str:
    lay_out(case)
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        try:
            borewright(list(case.arguments), standalone_mode=False)
        except BaseException:
            return "".join(traceback.format_exc().splitlines(keepends=True)[-9:])
    return "not seen again"


def lay_out(case: Case) -> None:
    """Make the present folder hold a case's files and no others."""
    for folder, _, names in os.walk(".", topdown=False):
        for name in names:
            os.unlink(os.path.join(folder, name))
        if folder != ".":
            os.rmdir(folder)
    for name, data in case.files.items():
        path = Path(name)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


def case_of(seed: int, what: str, number: int) -> Case:
    """A case, the same one for the same seed, kind and number."""
    return TARGETS[what](random.Random(f"{seed} {what} {number}"))


def _batch(seed: int, what: str, first: int, report: int) -> None:
    """Run cases in this process under the limits, and tell of each before and after it through a pipe."""

    def hang(*_: object) -> None:
        raise HangError

    signal.signal(signal.SIGALRM, hang)
    with open("/proc/self/statm", encoding="ascii") as stream:
        most = int(stream.read().split()[0]) * resource.getpagesize() + MOST_BYTES
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
    os.dup2(os.open(os.devnull, os.O_RDWR), 0)
    for number in range(first, first + BATCH):
        case = case_of(seed, what, number)
        os.write(report, f"{json.dumps([number])}\n".encode())
        signal.setitimer(signal.ITIMER_REAL, MOST_S)
        told = run_case(case)
        signal.setitimer(signal.ITIMER_REAL, 0)
        os.write(report, f"{json.dumps([number, told.code, told.wrong])}\n".encode())


def batch(seed: int, what: str, first: int) -> Iterator[tuple[int, Told]]:
    """Cases run in a worker of their own, and how each ended; the last is wrong where the worker dies of it."""
    end, report = os.pipe()
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of forks beside threads, and there are none
        worker = os.fork()
        if worker == 0:
            with contextlib.suppress(BaseException):
                os.close(end)
                os.chdir(folder)
                _batch(seed, what, first, report)
            os._exit(0)
        os.close(report)
        at, ended = first, first - 1
        with open(end, encoding="utf-8") as lines:
            watch = _watch(worker)
            for line in lines:
                os.kill(watch, signal.SIGUSR1)
                at, *told = json.loads(line)
                if told:
                    ended = at
                    yield at, Told(*told)
        _, status = os.waitpid(worker, 0)
        with contextlib.suppress(ProcessLookupError):
            os.kill(watch, signal.SIGKILL)
        os.waitpid(watch, 0)
    if ended != first + BATCH - 1:
        yield at, Told(-1, f"the worker died of it, status {status}")


def _watch(worker: int) -> int:
    """A process that kills a worker from which nothing has been heard for too long."""
    watch = os.fork()
    if watch == 0:
        while signal.sigtimedwait({signal.SIGUSR1}, MOST_S + GRACE_S) is not None:
            pass
        with contextlib.suppress(ProcessLookupError):
            os.kill(worker, signal.SIGKILL)
        os._exit(0)
    return watch


def run(seconds: float, whats: list[str], seed: int, keep: Path | None) -> int:
    """Run cases of each kind in turn until the time is up; how many were wrong."""
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGUSR1})
    warm()
    until, first, wrong = time.monotonic() + seconds, 0, 0
    ends = {what: Counter[int]() for what in whats}
    seen: set[str] = set()
    while time.monotonic() < until:
        for what in whats:
            for number, told in batch(seed, what, first):
                ends[what][told.code] += 1
                if told.wrong:
                    wrong += 1
                    _tell(seed, what, number, told, keep, seen)
            if time.monotonic() > until:
                break
        first += BATCH
    for what, codes in ends.items():
        by_code = ", ".join(f"exit {code}: {count}" for code, count in sorted(codes.items()))
        print(f"{what:<10}{codes.total():8}   {by_code}")
    total = sum(codes.total() for codes in ends.values())
    print(f"{'in all':<10}{total:8}   {wrong} wrong, of {len(seen)} kinds")
    return wrong


def _tell(seed: int, what: str, number: int, told: Told, keep: Path | None, seen: set[str]) -> None:
    """Tell of what is wrong, once for all cases that go wrong alike."""
    kind = "".join(sign for sign in told.wrong.split("\n", 1)[-1] if not sign.isdigit())
    if kind in seen:
        return
    seen.add(kind)
    print(f"WRONG: --what {what} --seed {seed} --case {number}: {told.wrong}", flush=True)
    if keep is not None:
        case = case_of(seed, what, number)
        for name, data in {**case.files, "command": repr(case.arguments).encode()}.items():
            path = keep / f"{what}-{number}" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)


def main_() -> None:
    """Run the campaign from the command line."""
    parser = argparse.ArgumentParser(description="Run commands on files made wrong at random.")
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--what", choices=sorted(TARGETS), nargs="*", default=[])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--case", type=int, help="run this one only, and show what it ends with")
    parser.add_argument("--keep", type=Path, help="a folder for the files of what goes wrong")
    told = parser.parse_args()
    whats = told.what or list(TARGETS)
    if told.case is None:
        sys.exit(1 if run(told.seconds, whats, told.seed, told.keep) else 0)
    case = case_of(told.seed, whats[0], told.case)
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        print(case.arguments, run_case(case))


if __name__ == "__main__":
    main_()
