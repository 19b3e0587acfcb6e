"""Fuzzing guided by coverage, with atheris where it is installed: ``python -m tests.campaign.guided WHAT --seconds N``.

WHAT is a kind of file, or ``all`` for each in turn, which then share the seconds. Inputs that reach new branches are
kept and changed further, which finds what changes at random do not. A failure ends the run with its traceback, and
leaves the input in a folder that is told. Without atheris (``pip install '.[campaign]'``; it has no wheels for every
Python) this says so and ends with 0.
"""

import argparse
import contextlib
import importlib
import io
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, NamedTuple

MOST_S: Final = 5
MOST_MB: Final = 512


class Kind(NamedTuple):
    """A kind of file: its name, where samples of it are, and the commands that read it."""

    name: str
    samples: str
    commands: tuple[str, ...]


SAMPLES: Final = Path(__file__).parents[2] / "samples"
LIBRARY: Final = Path(__file__).parents[2] / "post" / "library"
KINDS: Final = {
    "job": Kind("job.toml", "samples/*.toml", ("show job.toml", "write job.toml --force")),
    "csv": Kind("now.csv", "samples/readings/*.csv", ("inspect winch.toml now.csv", "size winch.toml now.csv")),
    "survey": Kind(
        "survey.csv",
        "samples/surveys/*.csv",
        ("inspect winch.toml done.csv --survey survey.csv", "line pump.toml survey.csv"),
    ),
    "program": Kind(
        "a.nc", "samples/*.nc", ("read a.nc", "prove pump.toml a.nc --read-twice", "page pump.toml a.nc --force")
    ),
    "dialect": Kind("ours/dialect.toml", "post/library/*/dialect.toml", ("read pump.nc --post ./ours",)),
    "template": Kind("ours/program.j2", "post/library/*/program.j2", ("write pump.toml --post ./ours --force",)),
}
BESIDE: Final = {
    "winch.toml": SAMPLES / "slipway-winch.toml",
    "done.csv": SAMPLES / "readings" / "slipway-winch-finished.csv",
    "pump.toml": SAMPLES / "harbour-pump.toml",
    "pump.nc": SAMPLES / "harbour-pump.nc",
    "ours/dialect.toml": LIBRARY / "longhand" / "dialect.toml",
    "ours/program.j2": LIBRARY / "longhand" / "program.j2",
}


def target(kind: Kind) -> Callable[[bytes], None]:
    """What reads bytes as a file of a kind; anything but bad input told comes out of it."""
    borewright = importlib.import_module("gen.cli").borewright
    allowed: tuple[type[BaseException], ...] = (
        importlib.import_module("post.userfile").InputError,
        importlib.import_module("click").ClickException,
    )

    def read(data: bytes) -> None:
        Path(kind.name).write_bytes(data)
        for command in kind.commands:
            try:
                with contextlib.redirect_stderr(io.StringIO()):
                    borewright(command.split(), standalone_mode=False)
            except allowed:
                pass
            except SystemExit as end:
                if end.code not in (0, 1, None):
                    raise RuntimeError(f"{command} ends with {end.code}") from None

    return read


def fuzz(atheris: Any, kind: Kind, seconds: int, seed: int) -> None:
    """Run until the time is up or something is wrong; it does not come back."""
    with atheris.instrument_imports(include=["gen", "post"]):
        read = target(kind)
        for package in ("gen", "post"):
            for path in sorted((SAMPLES.parent / package).glob("*.py")):
                importlib.import_module(f"{package}.{path.stem}")
    folder = tempfile.mkdtemp()  # left behind: nothing runs after the fuzzer
    os.chdir(folder)
    Path("ours").mkdir()
    Path("corpus").mkdir()
    for name, source in BESIDE.items():
        Path(name).write_bytes(source.read_bytes())
    for number, source in enumerate(sorted(SAMPLES.parent.glob(kind.samples))):
        Path("corpus", str(number)).write_bytes(source.read_bytes())
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115 - for as long as the process lives
    options = {
        "max_total_time": seconds,
        "seed": seed,
        "timeout": MOST_S,
        "rss_limit_mb": MOST_MB + 256,  # the fuzzer's own
        "max_len": 20_000,
        "artifact_prefix": f"{folder}{os.sep}",
        "print_final_stats": 1,
    }
    atheris.Setup([sys.argv[0], "corpus", *(f"-{name}={value}" for name, value in options.items())], read)
    atheris.Fuzz()


def in_turn(seconds: int, seed: int) -> int:
    """Fuzz every kind in a process of its own, and print a line of figures for each; how many failed."""
    failed = 0
    for what in KINDS:
        command = [sys.executable, "-m", "tests.campaign.guided", what, f"--seconds={seconds // len(KINDS)}"]
        done = subprocess.run(
            [*command, f"--seed={seed}"], capture_output=True, text=True, errors="replace", check=False
        )
        figures = dict(re.findall(r"^stat::(\w+): +(\d+)$", done.stderr, re.MULTILINE))
        if done.returncode or not figures:
            failed += 1
            print(f"{what:<10}FAILED, exit {done.returncode}\n{done.stderr[-3000:]}")
        else:
            ran, kept, mb = (figures[name] for name in ("number_of_executed_units", "new_units_added", "peak_rss_mb"))
            print(f"{what:<10}{int(ran):8,} inputs, {kept} of them kept for new branches; at most {mb} MB")
    return failed


def main() -> None:
    """Run the campaign from the command line."""
    parser = argparse.ArgumentParser(description="Fuzzing guided by coverage.")
    parser.add_argument("what", choices=[*sorted(KINDS), "all"])
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    told = parser.parse_args()
    try:
        atheris = importlib.import_module("atheris")
    except ImportError:
        print("SKIPPED: atheris is not installed; pip install '.[campaign]'")
        return
    if told.what == "all":
        sys.exit(1 if in_turn(told.seconds, told.seed) else 0)
    fuzz(atheris, KINDS[told.what], told.seconds, told.seed)


if __name__ == "__main__":
    main()
