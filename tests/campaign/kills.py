"""A command run in a child that dies, or finds the disk full, at its nth event that touches files.

Words used here:

event
    what Python tells an audit hook of when a file is opened, linked, renamed, removed or changed, and every flush to
    the disk; only those in the folder that is looked at count. The fault falls before the event.
"""

import codecs
import contextlib
import errno
import importlib
import io
import os
import pkgutil
import resource
import signal
import subprocess
import sys
import tempfile
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, Final, Literal, NamedTuple

import gen
import post
from gen.cli import main

Fault = Literal["kill", "kill, no links", "full once", "full"]
EVENTS: Final = frozenset(
    {"open", "os.rename", "os.link", "os.remove", "os.chmod", "os.mkdir", "os.rmdir", "os.scandir"},
)
NEED_ROOM: Final = frozenset({"os.link", "os.rename", "os.mkdir", "fsync"})
CALLS: Final = "openat,write,fsync,close,rename,link,unlink,chmod,flock,mkdir,rmdir"
"""System calls of Linux that touch files."""
NOBODY: Final = 65534


class Done(NamedTuple):
    """How a child ended: its exit code, None when it was killed, and all it printed."""

    code: int | None
    said: str


def in_child(folder: Path, arguments: Sequence[str], prepare: Callable[[], Any] = lambda: None) -> Done:
    """Run a command of the tool in a folder, in a child; ``prepare`` is called there first."""
    said, end = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of forks beside threads, and there are none
        child = os.fork()
    if child == 0:
        try:
            os.dup2(end, 1)
            os.dup2(end, 2)
            sys.stdout, sys.stderr = io.TextIOWrapper(io.FileIO(1, "w")), io.TextIOWrapper(io.FileIO(2, "w"))
            os._exit(_command(folder, arguments, prepare))
        except BaseException:
            os.write(2, traceback.format_exc().encode())
            os._exit(97)
    os.close(end)
    with open(said, encoding="utf-8") as stream:
        text = stream.read()
    _, status = os.waitpid(child, 0)
    return Done(os.WEXITSTATUS(status) if os.WIFEXITED(status) else None, text)


def _command(folder: Path, arguments: Sequence[str], prepare: Callable[[], Any]) -> int:
    code = 99
    try:
        os.chdir(folder)
        os.fsync = lambda fd: None  # a kill, unlike a power cut, loses nothing that waits for the disk
        sys.argv = ["borewright", *arguments]
        prepare()
        main()
    except SystemExit as end:
        code = int(end.code or 0)
    with contextlib.suppress(OSError):
        sys.stdout.flush()
        sys.stderr.flush()
    return code


def warm() -> None:
    """Import all there is once, that children need not, or may not once they have given up their rights."""
    for encoding in ("utf-8-sig", "unicode-escape"):
        codecs.lookup(encoding)
    importlib.import_module("importlib.metadata")
    for package in (gen, post):
        for module in pkgutil.iter_modules(package.__path__):
            importlib.import_module(f"{package.__name__}.{module.name}")


def events(folder: Path, arguments: Sequence[str], *, links: bool = True) -> int:
    """How many events a command has that comes to its end."""
    with tempfile.TemporaryFile() as count:
        in_child(folder, arguments, _heard(folder, lambda *_: os.write(count.fileno(), b"."), links))
        return os.fstat(count.fileno()).st_size


def fault(folder: Path, what: Fault, nth: int) -> Callable[[], None]:
    """A preparation that strikes at the nth event in a folder, counted from 0."""
    links = what != "kill, no links"
    seen = -1

    def strike(event: str, arguments: tuple[Any, ...]) -> None:
        nonlocal seen
        seen += 1
        if what.startswith("kill") and seen == nth:
            os.kill(os.getpid(), signal.SIGKILL)
        needs_room = event in NEED_ROOM or (event == "open" and arguments[2] & os.O_CREAT)
        if (what == "full once" and seen == nth) or (what == "full" and seen >= nth and needs_room):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    return _heard(folder, strike, links)


def _heard(folder: Path, strike: Callable[[str, tuple[Any, ...]], Any], links: bool) -> Callable[[], None]:
    """A preparation that calls back at every event in a folder, whose file system may know no links."""

    def refuse(*_: Any) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    def hear(event: str, arguments: tuple[Any, ...]) -> None:
        if event in EVENTS and isinstance(arguments[0], (str, os.PathLike)):
            place = os.path.abspath(os.fspath(arguments[0]))
            if place == str(folder) or place.startswith(f"{folder}{os.sep}"):
                strike(event, arguments)

    def prepare() -> None:
        os.fsync = lambda fd: strike("fsync", ())
        if not links:
            os.link = refuse  # type: ignore[assignment]
        sys.addaudithook(hear)

    return prepare


def small_files(most_bytes: int) -> Callable[[], None]:
    """A preparation under which no file can grow beyond so many bytes."""
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))


def as_nobody() -> None:
    """A preparation that gives up all rights, where there are any to give up."""
    if os.geteuid() == 0:
        os.setgroups([])
        os.setresgid(NOBODY, NOBODY, NOBODY)
        os.setresuid(NOBODY, NOBODY, NOBODY)


# --- every system call, with strace ----------------------------------------------------------------------------------


def _traced(folder: Path, arguments: Sequence[str], options: Sequence[str], log: str) -> Done:
    code = "from gen.cli import main; main()"
    told = ["strace", "-f", "-qq", "-o", log, *options, sys.executable, "-c", code, *arguments]
    root = str(Path(__file__).parents[2])
    ended = subprocess.run(
        told,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": root, "PYTHONHASHSEED": "0", "PYTHONDONTWRITEBYTECODE": "1"},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    killed = ended.returncode in (-signal.SIGKILL, 128 + signal.SIGKILL)
    return Done(None if killed else ended.returncode, ended.stdout + ended.stderr)


def call_points(folder: Path, arguments: Sequence[str]) -> list[tuple[str, int]]:
    """Every system call that a command makes from its first lock on: name and how many of that name it is."""
    with tempfile.NamedTemporaryFile("r", encoding="utf-8") as log:
        _traced(folder, arguments, ["-e", f"trace={CALLS}"], log.name)
        return list(_points(log))


def _points(lines: Iterator[str] | Any) -> Iterator[tuple[str, int]]:
    seen = Counter[str]()
    begun = False
    for line in lines:
        name = line.split("(", 1)[0].split()[-1]
        seen[name] += 1
        begun = begun or name == "flock"
        if begun and "exited with" not in line:
            yield name, seen[name]


def killed_at(folder: Path, arguments: Sequence[str], point: tuple[str, int]) -> Done:
    """Run a command that is killed as it makes a system call."""
    name, number = point
    options = ["-e", f"trace={name}", "-e", f"inject={name}:signal=KILL:when={number}"]
    return _traced(folder, arguments, options, os.devnull)
