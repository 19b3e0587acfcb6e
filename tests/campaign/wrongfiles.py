"""What the fuzzing campaign runs: kinds of cases, each a command and the files it finds, one of them made wrong."""

import random
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Final, NamedTuple

from gen.cli import borewright
from gen.jobfile import starter_path
from post.posts import LIBRARY, shipped
from tests.campaign.mangle import mangled

SAMPLES: Final = Path(__file__).parents[2] / "samples"
POSTS: Final = tuple(shipped())
SURVEYED: Final = (
    ("harbour-pump.toml", "harbour-pump-spun.csv"),
    ("quarry-compressor.toml", "quarry-compressor-warped.csv"),
    ("tug-auxiliary.toml", "tug-auxiliary-tilted.csv"),
)
"""Samples of jobs that have one of a survey."""


class Case(NamedTuple):
    """A command line, and the files of the folder that it runs in."""

    arguments: tuple[str, ...]
    files: dict[str, bytes]


@cache
def corpus(pattern: str) -> tuple[bytes, ...]:
    """All samples of a pattern, and for jobs the starters."""
    found = [path.read_bytes() for path in sorted(SAMPLES.glob(pattern))]
    if pattern == "*.toml":
        found += [starter_path("mm").read_bytes(), starter_path("inch").read_bytes()]
    assert found, pattern
    return tuple(found)


@cache
def posts(name: str) -> tuple[bytes, ...]:
    """The file of that name of every post that ships."""
    return tuple((LIBRARY / post / name).read_bytes() for post in POSTS)


def sample(*parts: str) -> bytes:
    """The bytes of a sample."""
    return SAMPLES.joinpath(*parts).read_bytes()


def wrong(rng: random.Random, texts: Sequence[bytes]) -> bytes:
    """One of some texts, made wrong."""
    return mangled(rng, rng.choice(texts), texts)


def told(rng: random.Random, *arguments: str) -> tuple[str, ...]:
    """A command line, now and then with --json."""
    return (*arguments, "--json") if rng.random() < 0.3 else arguments


def job(rng: random.Random) -> Case:
    """A job."""
    files = {
        "job.toml": wrong(rng, corpus("*.toml")),
        "quarry-compressor.csv": sample("quarry-compressor.csv"),
        "job.nc": rng.choice(corpus("*.nc")),
    }
    post = rng.choice(POSTS)
    commands = (
        ("write", "job.toml", "--out", "new.nc", "--post", post),
        ("write", "job.toml", "--out", "new.nc", "--post", post),
        ("write", "job.toml", "--walk", "--post", post),
        ("write", "job.toml", "--out", "new.nc", "--keep-rejected", "bad.nc"),
        ("show", "job.toml", "--post", post),
        ("fit", "job.toml"),
        ("prove", "job.toml", "job.nc"),
    )
    return Case(told(rng, *rng.choice(commands)), files)


def csv(rng: random.Random) -> Case:
    """A table of bores, readings of a gauge, or a record."""
    match rng.randrange(4):
        case 0:
            table = wrong(rng, (sample("quarry-compressor.csv"),))
            files = {"job.toml": sample("quarry-compressor.toml"), "quarry-compressor.csv": table}
            return Case(told(rng, rng.choice(("show", "fit")), "job.toml"), files)
        case 1:
            files = {"job.toml": sample("slipway-winch.toml"), "now.csv": wrong(rng, corpus("readings/*.csv"))}
            return Case(told(rng, "inspect", "job.toml", "now.csv", "--plot", "plot.svg"), files)
        case 2:
            files = {"job.toml": sample("slipway-winch.toml"), "now.csv": wrong(rng, corpus("readings/*.csv"))}
            keep = ("--record",) if rng.random() < 0.5 else ()
            return Case(told(rng, "size", "job.toml", "now.csv", *keep), files)
        case _:
            now = sample("readings", "slipway-winch-skim.csv")
            lines = now.decode().splitlines()
            record = "\n".join([f"round,{lines[0]}", *(f"1,{line}" for line in lines[1:])]).encode()
            files = {
                "job.toml": sample("slipway-winch.toml"),
                "now.csv": now.replace(b"66.565", b"66.615"),
                "job-record.csv": wrong(rng, (record, now)),
            }
            return Case(told(rng, "size", "job.toml", "now.csv", "--record"), files)


def survey(rng: random.Random) -> Case:
    """A survey of a row."""
    files = {
        "job.toml": sample("slipway-winch.toml"),
        "now.csv": sample("readings", "slipway-winch-finished.csv"),
        "survey.csv": wrong(rng, corpus("surveys/*.csv")),
    }
    return Case(told(rng, "inspect", "job.toml", "now.csv", "--survey", "survey.csv"), files)


def line(rng: random.Random) -> Case:
    """A survey of a row, or its job, for the line to bore on."""
    job, table = rng.choice(SURVEYED)
    files = {"job.toml": sample(job), "survey.csv": sample("surveys", table)}
    which = rng.choice(("survey.csv", "survey.csv", "job.toml"))
    files[which] = wrong(rng, corpus("surveys/*.csv") if which == "survey.csv" else (files[which],))
    plot = ("--plot", "plot.svg") if rng.random() < 0.2 else ()
    if rng.random() < 0.2:
        return Case(("page", "job.toml", "--survey", "survey.csv"), files)
    return Case(told(rng, "line", "job.toml", "survey.csv", *plot), files)


def page(rng: random.Random) -> Case:
    """A program or a job, for page and sheet."""
    post = rng.choice(POSTS)
    files = {"job.toml": sample("harbour-pump.toml")}
    extra = ("--physics-only",) if rng.random() < 0.3 else ()
    arguments = (rng.choice(("page", "sheet")), "job.toml", "--post", post)
    if rng.random() < 0.3:
        walk = ("--walk",) if rng.random() < 0.5 else ()
        return Case((*arguments, *walk), {"job.toml": wrong(rng, corpus("*.toml"))})
    files["a.nc"] = wrong(rng, corpus("*.nc" if post == "longhand" else f"{post}/*.nc"))
    return Case((arguments[0], "job.toml", "a.nc", *arguments[2:], *extra), files)


def program(rng: random.Random) -> Case:
    """A program."""
    post = rng.choice(POSTS)
    folder = "" if post == "longhand" else f"{post}/"
    files = {"a.nc": wrong(rng, corpus(f"{folder}*.nc")), "job.toml": sample("harbour-pump.toml")}
    extra = (*(("--physics-only",) if rng.random() < 0.5 else ()), *(("--read-twice",) if rng.random() < 0.2 else ()))
    if rng.random() < 0.6:
        return Case(told(rng, "read", "a.nc", "--post", rng.choice((post, post, *POSTS))), files)
    return Case(told(rng, "prove", "job.toml", "a.nc", "--post", post, *extra), files)


def _post(rng: random.Random, dialect: bytes, template: bytes) -> Case:
    files = {
        "ours/dialect.toml": dialect,
        "ours/program.j2": template,
        "job.toml": sample(rng.choice(("harbour-pump.toml", "brickworks-press.toml"))),
        "a.nc": sample("harbour-pump.nc"),
    }
    commands = (
        ("write", "job.toml", "--out", "new.nc", "--post", "ours"),
        ("posts", "explain", "ours"),
        ("show", "job.toml", "--post", "./ours"),
        ("read", "a.nc", "--post", "./ours"),
    )
    return Case(rng.choice(commands), files)


def dialect(rng: random.Random) -> Case:
    """A post's dialect."""
    return _post(rng, wrong(rng, posts("dialect.toml")), rng.choice(posts("program.j2")))


def template(rng: random.Random) -> Case:
    """A post's template."""
    at = rng.randrange(len(POSTS))
    case = _post(rng, posts("dialect.toml")[at], mangled(rng, posts("program.j2")[at], posts("program.j2")))
    return case._replace(arguments=("write", "job.toml", "--out", "new.nc", "--post", "ours"))


COMMANDS: Final = tuple(sorted(borewright.commands))
_PLAIN: Final = """
write prove show fit new schema read posts size inspect line page sheet copy try explain --line --no-pages stock
--post --out --force --walk --keep-rejected --read-twice --json --physics-only --units --record --seed --survey --plot
--job --help --version -h -- - --nonsense --post=tape --seed=-1 --units=mm --jobs job.toml job.nc a.csv ours . .. /
no/such.toml longhand cycles tape one-pass per-turn oriented mm inch 1 -1 1e9 99999999999999999999999 job.toml/x *
"""
WORDS: Final = (*_PLAIN.split(), "", " ", "\n", "é", "\udcff", "\udcff.toml", "a" * 300, "a/" * 3000)
"""``try`` takes longer than a case may, and so is run on what is no post."""


def command(rng: random.Random) -> Case:
    """A command line."""
    files = {
        "job.toml": sample("harbour-pump.toml"),
        "job.nc": sample("harbour-pump.nc"),
        "a.csv": sample("readings", "slipway-winch-skim.csv"),
        "ours/dialect.toml": posts("dialect.toml")[0],
        "ours/program.j2": posts("program.j2")[0],
    }
    words = [rng.choice(COMMANDS), *(rng.choice(WORDS) for _ in range(rng.randrange(6)))]
    if rng.random() < 0.5:
        words[1:1] = ["job.toml"]
    if words[:2] == ["posts", "try"]:
        words[2:3] = ["no/post"]
    return Case(tuple(words), files)


TARGETS: Final[Mapping[str, Callable[[random.Random], Case]]] = {
    "job": job,
    "csv": csv,
    "program": program,
    "dialect": dialect,
    "template": template,
    "command": command,
    "survey": survey,
    "line": line,
    "page": page,
}
