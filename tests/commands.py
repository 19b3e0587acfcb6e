"""The command line, run as a shop runs it, for tests: what is printed, the exit code, and files put in the way."""

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple


class Outcome(NamedTuple):
    """What a command ended with."""

    code: int
    out: str
    err: str


Run = Callable[..., Outcome]


def put(name: str, content: str | bytes) -> None:
    """A file in the folder the command runs in."""
    Path(name).write_bytes(content.encode() if isinstance(content, str) else content)


def refused(outcome: Outcome, *phrases: str) -> None:
    """Exit 2, nothing on stdout, one line on stderr with these phrases."""
    assert (outcome.code, outcome.out) == (2, ""), outcome
    assert outcome.err.startswith("borewright: ")
    assert outcome.err.count("\n") == 1, outcome.err
    assert "mistake of its own" not in outcome.err
    for phrase in phrases:
        assert phrase in outcome.err, outcome.err
