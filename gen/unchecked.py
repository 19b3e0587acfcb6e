"""What a proof of a job does not look at, in words; told wherever a verdict is told, so that none is implied."""

from typing import Final

UNCHECKED: Final = (
    "whether head, bar and cutter clear the block and its fixtures: the job gives no dimensions of them",
    "whether the bores lie on one line, and what size the cutter is set to",
)
