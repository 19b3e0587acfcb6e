"""Every post, on every job of the battery that it has words for, makes the machine do what longhand does.

Nothing here asks the plan: what the programs of two posts replay into is held together, deed by deed. Where the cutter
is lifted off the wall longhand has no words, and oriented stands in for it.
"""

import math
from collections.abc import Iterator
from functools import cache
from typing import Final

import pytest

from gen.agreement import Deed, done_deeds
from gen.battery import Trial, trials
from gen.joined import join
from gen.pipeline import plans_of, texts_of
from gen.planner import SWEEP
from post.dialect import Dialect
from post.posts import Post, find, shipped
from post.reader import read
from post.replay import replay
from post.timeline import Spin
from post.units import Units
from post.userfile import InputError
from post.views import CannotExpressError

TRIALS: Final = trials()
HAIR: Final = 1e-9
"""What rounding of floats may add, as a share of what is compared."""


def deeds_of(trial: Trial, post: Post) -> list[Deed] | None:
    """What the programs of a trial make the machine do; None where the post has no words for it."""
    try:
        plans = plans_of(trial.job, post, walk=trial.walk)
        texts = texts_of(trial.job, post, plans, walk=trial.walk)
    except (CannotExpressError, InputError):
        return None
    timelines = [replay(read(text, post.dialect), post.dialect) for text in texts]
    assert [timeline.findings for timeline in timelines] == [[]] * len(texts)
    joined = join([(text.split("\n"), timeline) for text, timeline in zip(texts, timelines, strict=True)])
    return list(_in_one(done_deeds(joined.timeline)))


def _in_one(deeds: Iterator[Deed]) -> Iterator[Deed]:
    """Without what a program must do again when another has run before it: go to the clearance height."""
    here = None
    for deed in deeds:
        again = deed.kind == "rapid" and (here == deed.end or (here is not None and math.isnan(deed.end[0])))
        here = deed.end
        if not again:
            yield deed


@cache
def in_longhand(name: str) -> tuple[list[Deed], Dialect]:
    """What longhand does on a trial, or oriented where the cutter is lifted."""
    trial = next(trial for trial in TRIALS if trial.name == name)
    for post_name in ("longhand", "oriented"):
        post = find(post_name)
        deeds = deeds_of(trial, post)
        if deeds is not None:
            return deeds, post.dialect
    raise AssertionError(f"neither longhand nor oriented can express {name}")


def apart_at_most(units: Units, spin: Spin, one: Dialect, other: Dialect) -> tuple[float, float]:
    """How far apart, in mm/min and s, two controls may carry out what is asked: nothing where they round alike.

    Else half a step of each for a feed, which is rounded to the nearest, and the larger step for a dwell, which is
    rounded up.
    """
    steps_of_feed = [told.feed_word_step(units) * told.feed_scale(units, spin.rpm) for told in (one, other)]
    steps_of_dwell = [
        told.dwell.step * told.dwell_scale_s(spin.rpm)
        for told in (one, other)
        if told.dwell.unit != "turns" or spin.turning
    ]
    feeds_alike = (one.feed_per_turn, steps_of_feed[0]) == (other.feed_per_turn, steps_of_feed[1])
    dwells_alike = one.dwell == other.dwell
    return 0.0 if feeds_alike else sum(steps_of_feed) / 2, 0.0 if dwells_alike else max(steps_of_dwell)


def check_same(one: Deed, other: Deed, units: Units, mine: Dialect, theirs: Dialect) -> None:
    """Two deeds are the same, to half a step of the controls."""
    assert one.kind == other.kind
    assert one.spin == other.spin
    half_length = mine.length_step(units) / 2 * (1 + HAIR)
    for here, there in zip(one.end, other.end, strict=True):
        assert abs(here - there) <= half_length or (math.isnan(here) and math.isnan(there))
    feed, seconds = apart_at_most(units, one.spin, mine, theirs)
    assert abs(one.feed - other.feed) <= feed + HAIR * one.feed
    assert abs(one.seconds - other.seconds) <= seconds + HAIR * one.seconds
    if mine.new_setting == "stop":
        # A control with short lines is told the same in fewer words.
        said = [mine.comment(other.message.replace(SWEEP[0], words)) for words in SWEEP]
        assert one.message == next((text for text in said if len(text) <= mine.message_room), said[-1])


def refuses(name: str, trial: Trial) -> bool:
    """Whether a post has no words for a trial: only lifts, and for fixed cycles whatever feeds toward +X."""
    if trial.walk:
        return False
    lifted, rising = trial.job.path.withdraw == "lift", trial.job.head.points == "+X"
    return (lifted and name != "oriented") or (rising and name == "cycles")


@pytest.mark.parametrize("name", list(shipped()))
def test_every_post_makes_the_motion_of_longhand(name: str) -> None:
    post = find(name)
    expressed = 0
    for trial in TRIALS:
        deeds = deeds_of(trial, post)
        assert (deeds is None) is refuses(name, trial), trial.name
        if deeds is None:
            continue
        expressed += 1
        told, dialect = in_longhand(trial.name)
        assert [deed.kind for deed in deeds] == [deed.kind for deed in told], trial.name
        for one, other in zip(deeds, told, strict=True):
            check_same(one, other, trial.job.units, post.dialect, dialect)
    assert expressed >= 40
