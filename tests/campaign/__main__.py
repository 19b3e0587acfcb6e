"""Every campaign, in one command: ``python -m tests.campaign``; ``--slice`` is the part that CI runs.

Fuzzing takes an hour of one core. Two lanes run side by side, and speeds are measured when both are done. What each
prints is printed when it ends. The exit code is 1 if any of them found something, or could not be run: they need
atheris (the extra "campaign"), strace and a browser.
"""

import argparse
import subprocess
import sys
import time
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Final

Command = tuple[str, ...]

LANES: Final[Sequence[Sequence[Command]]] = (
    (
        ("tests.campaign.fuzz", "--seconds", "2700"),
        ("tests.campaign.crash",),
    ),
    (
        ("tests.campaign.mutate", "--processes", "1"),
        ("tests.campaign.guided", "all", "--seconds", "900"),
        ("tests.campaign.crash", "--strace", "--points", "400"),
        ("tests.campaign.clearance", "--jobs", "2000"),
        ("tests.gen.test_bestline", "1000"),
        ("tests.gen.test_capcuts", "1000"),
        ("tests.campaign.longpage",),
    ),
)
AT_LAST: Final[Sequence[Command]] = (("tests.bench",),)
SLICE: Final[Sequence[Command]] = (
    ("tests.campaign.mutate", "--seconds", "60", "--jobs", "30"),
    ("tests.campaign.fuzz", "--seconds", "60"),
    ("tests.campaign.clearance", "--jobs", "300"),
    ("tests.campaign.crash", "--points", "40"),
)


def main() -> None:
    """Run them all, and exit with 1 if one of them failed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--slice", action="store_true", help="only what CI runs")
    sliced = parser.parse_args().slice
    started = time.monotonic()
    failed = _side_by_side([SLICE]) if sliced else [*_side_by_side(LANES), *_run(AT_LAST)]
    print(f"all campaigns: {(time.monotonic() - started) / 60:.0f} minutes, {len(failed)} failed")
    for command in failed:
        print(f"failed: python -m {' '.join(command)}")
    sys.exit(1 if failed else 0)


def _side_by_side(lanes: Sequence[Iterable[Command]]) -> list[Command]:
    """Run lanes of commands beside each other; those that failed."""
    with ThreadPoolExecutor(len(lanes)) as pool:
        return [command for failed in pool.map(_run, lanes) for command in failed]


def _run(commands: Iterable[Command]) -> list[Command]:
    """Run commands one after the other; those that failed."""
    failed = []
    for command in commands:
        started = time.monotonic()
        done = subprocess.run([sys.executable, "-m", *command], capture_output=True, text=True, check=False)
        skipped = [line for line in done.stdout.splitlines() if line.startswith("SKIPPED")]
        heading = f"== python -m {' '.join(command)}: {time.monotonic() - started:.0f} s"
        print("\n".join([heading, done.stdout.rstrip(), done.stderr.rstrip()]).rstrip() + "\n", flush=True)
        if done.returncode or skipped:
            failed.append(command)
    return failed


if __name__ == "__main__":
    main()
