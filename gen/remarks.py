"""What a program tells the operator besides its stops: how the cutter is to be set, and nothing that says otherwise.

Words used here:

told
    said in a remark: how the cutter is to be set. The opening remarks of a program tell its first setting, which
    nothing else in it does.
"""

import re
from collections.abc import Iterator, Sequence
from typing import Final

from gen.header import settings_told, walk_told
from gen.job import Job
from post.dialect import Dialect
from post.finding import Finding
from post.reader import Block

_SET: Final = re.compile(r"\bset\b", re.IGNORECASE)
"""What a remark holds that tells a setting, besides a number."""
_STOPS: Final = (("M", 0.0), ("M", 1.0))


def remarks(
    blocks: Sequence[Block], job: Job, dialect: Dialect, *, walk_through: bool, part: int = 1, parts: int = 1
) -> Iterator[Finding]:
    """Findings where a program does not tell its first setting, tells another, or has a message besides its stops'.

    Where its opening remarks say that it is of the other kind, bores or is a walk-through, that is told first.

    ``blocks`` are those with a comment, and the first with words. Of several remarks on a line the reader keeps the
    last (NISTIR 6556 3.3.5), and so there may be but one. The messages of stops are for ``gen.agreement``.
    """
    wanted = settings_told(job, dialect, part=part, parts=parts) if dialect.comments.form != "none" else []
    wanted = [] if walk_through else wanted
    names = _names(job, dialect)
    other_kind = next(_of_other_kind(blocks, walk_told(dialect), names, walk_through), None)
    if other_kind is not None:
        yield other_kind
    yield from _untold(blocks, wanted)
    begins = dialect.comments.message.upper()
    for block in blocks:
        if dialect.comments.form == "brackets" and block.text.count("(") > 1:
            yield _finding(block, "several remarks on one line, of which a control may show any", "one remark a line")
        if block.comment is None or any(stop in block.words for stop in _STOPS):
            continue
        said = block.comment.strip()
        if begins and said.upper().startswith(begins):
            yield _finding(block, "a message that belongs to no stop", "messages on the lines of M0 and M1 only")
        elif said in wanted or (other_kind is not None and other_kind.line == block.line):
            continue
        elif _tells(said, names):
            yield _finding(block, f'a remark that says "{said}"', "no setting but those that are planned")


def _of_other_kind(
    blocks: Sequence[Block], walk: Sequence[str], names: Sequence[str], walk_through: bool
) -> Iterator[Finding]:
    """A finding for each opening remark of a program of the other kind than it is proved as."""
    for block in _opening(blocks):
        said = (block.comment or "").strip()
        if walk_through and _tells(said, names):
            found = f'a remark that says "{said}": the program bores'
            yield _finding(block, found, "a walk-through; leave out --walk for a program that bores")
        elif not walk_through and said == walk[0]:
            yield _finding(block, "a remark that says that this is a walk-through", "a program that bores, or --walk")


def _opening(blocks: Sequence[Block]) -> list[Block]:
    """The blocks before the first with words."""
    first = next((block for block in blocks if block.words), None)
    return [block for block in blocks if first is None or block.line < first.line]


def _untold(blocks: Sequence[Block], wanted: Sequence[str]) -> Iterator[Finding]:
    """A finding at the first block for the first line wanted before it that is not there, in this order."""
    first = next((block for block in blocks if block.words), None)
    opening = iter([(block.comment or "").strip() for block in _opening(blocks)])
    missing = next((line for line in wanted if line not in opening), None)
    if missing is not None and first is not None:
        yield _finding(first, "the first block with the cutter's setting not told", f'before it the remark "{missing}"')


def _tells(said: str, names: Sequence[str]) -> bool:
    for name in names:
        said = said.replace(name, "")
    return _SET.search(said) is not None and any(sign.isdigit() for sign in said)


def _names(job: Job, dialect: Dialect) -> list[str]:
    """Names of the job and its bores that hold the word, as remarks have them; longer ones first."""
    told = {dialect.comment(name) for name in (job.name, *(bore.name for bore in job.bore))}
    return sorted(filter(_SET.search, told), key=len, reverse=True)


def _finding(block: Block, found: str, expected: str) -> Finding:
    return Finding("remark-differs", block.line, block.text, found, expected)
