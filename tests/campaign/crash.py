"""Commands killed, and disks full, at every point that touches files: ``python -m tests.campaign.crash``.

After every kill what is to be seen is the old files or the new ones, whole, though some may be missing where there are
several; after the next command in that folder it is all of the one or all of the other, and nothing else is left.
Prints how many points were tried and what was wrong; exits with 1 when anything was. ``--points`` takes so many of
them, spread evenly; ``--strace`` kills at every system call instead, which takes a second each.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Final, NamedTuple, get_args

from tests.campaign.kills import (
    Done,
    Fault,
    as_nobody,
    call_points,
    events,
    fault,
    in_child,
    killed_at,
    small_files,
    warm,
)

SAMPLES: Final = Path(__file__).parents[2] / "samples"
FAULTS: Final[tuple[Fault, ...]] = get_args(Fault)
ROUNDS: Final = 40
"""Races of two writers."""

Files = dict[str, str]


class Scenario(NamedTuple):
    """A command, the files that it reads, those in place of its output before, and those that it is to leave there."""

    name: str
    arguments: tuple[str, ...]
    inputs: Files
    before: Files
    after: Files


def text(*parts: str) -> str:
    """A sample's text."""
    return SAMPLES.joinpath(*parts).read_text(encoding="utf-8")


def fill(folder: Path, files: Files) -> None:
    """Make a folder hold these files and no others."""
    for path in folder.iterdir():
        path.unlink()
    for name, content in files.items():
        (folder / name).write_text(content, encoding="utf-8")


def standing(folder: Path, scenario: Scenario) -> Files:
    """All files of a folder but the inputs."""
    return {
        path.name: path.read_text(encoding="utf-8")
        for path in sorted(folder.iterdir())
        if path.name not in scenario.inputs
    }


def scenarios(folder: Path) -> Iterator[Scenario]:
    """Every command that writes files, over none and over old ones."""
    one, three = text("harbour-pump.toml"), text("brickworks-press.toml")
    short = one.replace("x = [-900, 100]", "x = [-430, 100]")
    one_pass = ("job.toml", "--post", "one-pass")
    write = ("write", "job.toml")
    yield _made(folder, "one program", write, {"job.toml": one}, {})
    old = {"job.nc": text("ferry-vee.nc"), "job-sheet.html": "its sheet\n", "job-page.html": "its page\n"}
    yield _made(folder, "one over another", (*write, "--force"), {"job.toml": one}, old)
    yield _made(folder, "three programs", ("write", *one_pass), {"job.toml": three}, {})
    olds = {f"job-{number}.nc": text("one-pass", f"slipway-winch-{number}.nc") for number in (1, 2, 3)}
    over = ("write", *one_pass, "--force")
    yield _made(folder, "three over three", over, {"job.toml": three}, olds)
    yield _made(folder, "three over one", over, {"job.toml": three}, {"job-2.nc": olds["job-2.nc"]})
    rejected = (*write, "--keep-rejected", "bad.nc", "--force")
    yield _made(folder, "one rejected", rejected, {"job.toml": short}, {"bad.nc": "old\n"})
    measured = {"job.toml": text("slipway-winch.toml"), "now.csv": text("readings", "slipway-winch-skim.csv")}
    size = ("size", "job.toml", "now.csv", "--record")
    first = _made(folder, "a record begun", size, measured, {})
    yield first
    again = {**measured, "now.csv": measured["now.csv"].replace("83.1", "83.2").replace("66.565", "66.615")}
    yield _made(folder, "a record carried on", size, again, first.after)
    yield _made(folder, "a job to start from", ("new", "a.toml"), {}, {})


def _made(folder: Path, name: str, arguments: tuple[str, ...], inputs: Files, before: Files) -> Scenario:
    """The scenario, with what its command leaves when nothing happens to it."""
    scenario = Scenario(name, arguments, inputs, before, {})
    fill(folder, {**inputs, **before})
    done = in_child(folder, arguments)
    assert done.code in (0, 1), (name, done)
    after = standing(folder, scenario)
    assert after != before, (name, done)
    return scenario._replace(after=after)


def wrong_now(folder: Path, scenario: Scenario, *, links: bool = True) -> str:
    """What is wrong with the files to be seen just after a fault; without links empty ones hold places."""
    found = standing(folder, scenario)
    seen = {name: content for name, content in found.items() if name[0] != "." and (content or links)}
    whole = scenario.before, scenario.after
    several = len(scenario.after) > 1
    if seen in whole or (several and any(seen.items() <= files.items() for files in whole)):
        return ""
    return f"to be seen is a mix: {sorted(seen)}"


def wrong_later(folder: Path, scenario: Scenario) -> str:
    """What is wrong after the next command in the folder, and after the same command again."""
    in_child(folder, ("new", "later.toml", "--force"))
    (folder / "later.toml").unlink()
    left = standing(folder, scenario)
    if left not in (scenario.before, scenario.after):
        return f"after the next command there is {sorted(left)}"
    forced = ("--force",) if scenario.arguments[0] != "size" and "--force" not in scenario.arguments else ()
    done = in_child(folder, (*scenario.arguments, *forced))
    if done.code not in (0, 1) or standing(folder, scenario) != scenario.after:
        return f"the same command again ends with {done}"
    return ""


def struck(folder: Path, scenario: Scenario, run: Callable[[], Done], *, dies: bool, links: bool = True) -> str:
    """What is wrong after a run that was struck, and ``dies`` of it."""
    fill(folder, {**scenario.inputs, **scenario.before})
    done = run()
    wrong = wrong_now(folder, scenario, links=links)
    if dies != (done.code is None):
        wrong = wrong or f"it ended with {done}"
    if done.code not in (None, 0, 1, 2) or "Traceback" in done.said or "mistake of its own" in done.said:
        wrong = wrong or f"it ended with {done}"
    unchanged = standing(folder, scenario) == scenario.before
    if done.code == 2 and "nothing was changed" in done.said and not unchanged:
        wrong = wrong or f"it says that nothing was changed, but {sorted(standing(folder, scenario))}"
    return wrong or wrong_later(folder, scenario)


Case = tuple[str, Callable[[], str]]
"""A kind of fault, and what tries one: it gives what is wrong."""


def faults(folder: Path, scenario: Scenario) -> Iterator[Case]:
    """A kill, with links and without them, and a full disk, at each event."""
    for what in FAULTS:
        fill(folder, {**scenario.inputs, **scenario.before})
        for nth in range(events(folder, scenario.arguments, links=what != "kill, no links")):
            yield what, partial(_fault, folder, scenario, what, nth)


def _fault(folder: Path, scenario: Scenario, what: Fault, nth: int) -> str:
    run = partial(in_child, folder, scenario.arguments, fault(folder, what, nth))
    links = what != "kill, no links"
    return _struck(folder, scenario, f"event {nth}", run, dies=what.startswith("kill"), links=links)


def calls(folder: Path, scenario: Scenario) -> Iterator[Case]:
    """A kill at each system call."""
    fill(folder, {**scenario.inputs, **scenario.before})
    for point in call_points(folder, scenario.arguments):
        yield "kill at a call", partial(_call, folder, scenario, point)


def _call(folder: Path, scenario: Scenario, point: tuple[str, int]) -> str:
    run = partial(killed_at, folder, scenario.arguments, point)
    return _struck(folder, scenario, f"{point[0]} {point[1]}", run, dies=True)


def sizes(folder: Path, scenario: Scenario) -> Iterator[Case]:
    """No room for more than so many bytes of a file, and no right to write into the folder."""
    for most in (0, 1, 100, 1000, 1800):
        run = partial(in_child, folder, scenario.arguments, small_files(most))
        yield "file too large", partial(_struck, folder, scenario, f"{most} bytes", run)
    yield "read-only folder", partial(_read_only, folder, scenario)


def _read_only(folder: Path, scenario: Scenario) -> str:
    fill(folder, {**scenario.inputs, **scenario.before})
    before = standing(folder, scenario)
    folder.chmod(0o555)
    try:
        done = in_child(folder, scenario.arguments, as_nobody)
    finally:
        folder.chmod(0o755)
    fits = done.code == 2 and "Permission denied" in done.said and standing(folder, scenario) == before
    return "" if fits else f"{scenario.name}: {done}"


def small_disk(folder: Path, scenario: Scenario) -> Iterator[Case]:
    """A disk of 64 KiB with so many left; folder is where to mount it, which only root may."""
    for left in range(0, 16 * 1024 + 1, 4096):
        yield "disk full", partial(_on_small_disk, folder, scenario, left)


def _on_small_disk(folder: Path, scenario: Scenario, left: int) -> str:
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(folder)], check=True, capture_output=True)
    try:
        fill(folder, {**scenario.inputs, **scenario.before})
        with tempfile.NamedTemporaryFile(dir=folder, prefix="filler") as filler:
            free = os.statvfs(folder).f_bavail * os.statvfs(folder).f_frsize
            filler.write(b" " * max(0, free - left))
            filler.flush()
            done = in_child(folder, scenario.arguments)
        found = standing(folder, scenario)
        wrong = found != (scenario.before if done.code == 2 else scenario.after) or done.code not in (0, 1, 2)
        return f"{scenario.name}, {left} bytes left: {done}, {sorted(found)}" if wrong else ""
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def two_writers(folder: Path) -> Iterator[Case]:
    """Two runs put different programs under the same names at once."""
    whole, inputs = [], {"a.toml": text("brickworks-press.toml")}
    inputs["b.toml"] = inputs["a.toml"].replace("\nfeed", "\n# feed").replace("[cut]", "[cut]\nfeed = 0.05", 1)
    for job in inputs:
        fill(folder, inputs)
        done = in_child(folder, _one_pass(job))
        assert done.code == 0, done
        whole.append({path.name: path.read_text(encoding="utf-8") for path in folder.glob("out-*")})
    for _ in range(ROUNDS):
        yield "two writers", partial(_race, folder, inputs, whole)


def _one_pass(job: str) -> tuple[str, ...]:
    return ("write", job, "--post", "one-pass", "--out", "out.nc", "--force")


def _race(folder: Path, inputs: Files, whole: Sequence[Files]) -> str:
    code = "import sys; from gen.cli import main; main()"
    runs = [
        subprocess.Popen(
            [sys.executable, "-c", code, *_one_pass(job)],
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(SAMPLES.parent)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )
        for job in inputs
    ]
    said = [run.communicate()[1].decode() for run in runs]
    left = {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir() if path.name not in inputs}
    codes = [run.returncode for run in runs]
    return "" if left in whole and codes == [0, 0] else f"{codes}, {said}, {sorted(left)}"


def _struck(
    folder: Path, scenario: Scenario, where: str, run: Callable[[], Done], *, dies: bool = False, links: bool = True
) -> str:
    wrong = struck(folder, scenario, run, dies=dies, links=links)
    return wrong and f"{scenario.name}, {where}: {wrong}"


def cases(folder: Path, only: str, *, strace: bool, everything: bool) -> Iterator[Case]:
    """All there is to try."""
    for scenario in scenarios(folder):
        if only not in scenario.name:
            continue
        yield from calls(folder, scenario) if strace else faults(folder, scenario)
        if everything and not strace:
            yield from sizes(folder, scenario)
            if os.geteuid() == 0:
                yield from small_disk(folder, scenario)
    if everything and not strace and only in "two writers":
        yield from two_writers(folder)


def run(*, points: int | None, only: str, strace: bool) -> int:
    """Try all, or so many spread evenly; how many were wrong."""
    begun = time.monotonic()
    warm()
    tried, wrong = Counter[str](), []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        folder.chmod(0o755)
        if points is None:
            chosen: Iterable[Case] = cases(folder, only, strace=strace, everything=True)
        else:
            found = list(cases(folder, only, strace=strace, everything=False))
            chosen = found[:: max(1, len(found) // points)]
        for kind, attempt in chosen:
            told = attempt()
            tried[kind] += 1
            if told:
                wrong.append(told)
                print(f"WRONG: {kind}: {told}", flush=True)
    for kind, count in tried.items():
        print(f"{kind:<18}{count:6}")
    print(f"{'in all':<18}{tried.total():6}, {len(wrong)} wrong, {time.monotonic() - begun:.0f} s")
    return len(wrong)


def main() -> None:
    """Run the campaign from the command line."""
    parser = argparse.ArgumentParser(description="Kill commands, and fill the disk, at every point that touches files.")
    parser.add_argument("--points", type=int, help="at most about so many, spread evenly; by default all")
    parser.add_argument("--only", default="", help="of the scenarios, those whose name has this in it")
    parser.add_argument("--strace", action="store_true", help="kill at system calls instead; needs strace")
    told = parser.parse_args()
    if told.strace and shutil.which("strace") is None:
        print("SKIPPED: --strace needs strace, which is not installed")
        return
    sys.exit(1 if run(points=told.points, only=told.only, strace=told.strace) else 0)


if __name__ == "__main__":
    main()
