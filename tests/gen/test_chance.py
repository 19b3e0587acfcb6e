import tracemalloc

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen import chance
from gen.chance import chances, percent
from gen.sections import Floats

ROOMS = st.lists(st.floats(-3, 5), min_size=1, max_size=6)


def alike(room: list[float], rows: int = 2_000, seed: int = 1) -> chance.Chances:
    """Bores that each have so much room either side, all of deviation 1 shared and 1 of their own."""
    sides: Floats = np.array(room)
    return chances(sides, sides, np.ones((1, len(room))), np.ones(len(room)), seed=seed, rows=rows)


def test_the_same_seed_gives_the_same_chances() -> None:
    one, same, other = alike([1, 2]), alike([1, 2]), alike([1, 2], seed=2)
    assert (one.all, *one.each) == (same.all, *same.each)
    assert one.all != other.all


@given(ROOMS, st.floats(0, 1))
def test_more_room_is_never_less_chance(room: list[float], more: float) -> None:
    narrow, wide = alike(room), alike([one + more for one in room])
    assert narrow.all <= wide.all
    assert (narrow.each <= wide.each).all()


@given(ROOMS)
def test_all_are_in_no_more_often_than_each_and_no_less_than_chance_allows(room: list[float]) -> None:
    found = alike(room)
    assert max(0.0, 1 - (1 - found.each).sum()) - 1e-9 <= found.all <= found.each.min()


def test_what_bores_share_does_not_count_for_each_again() -> None:
    """Bores that share all of their error are in or out together."""
    room = np.full(5, 1.0)
    together = chances(room, room, np.ones((1, 5)), np.full(5, 1e-6), seed=3, rows=20_000)
    apart = chances(room, room, np.zeros((1, 5)), np.ones(5), seed=3, rows=20_000)
    assert together.all == pytest.approx(0.683, abs=0.012)
    assert apart.all == pytest.approx(0.683**5, abs=0.012)


def test_a_bore_with_no_room_has_no_chance() -> None:
    assert alike([-1.0]).all == 0


def test_a_million_rows_of_seven_bores_take_little_memory() -> None:
    tracemalloc.start()
    try:
        alike([1.0] * 7, rows=1_000_000)
        assert tracemalloc.get_traced_memory()[1] < 10_000_000
    finally:
        tracemalloc.stop()


def test_rows_are_all_drawn_and_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    assert alike([1.0], rows=chance.CHUNK + 1).rows == chance.CHUNK + 1
    monkeypatch.setattr(chance, "MOST_DRAWS", 100)
    assert alike([1.0, 1.0, 1.0]).rows == 33
    assert alike([1.0] * 101).rows == 1


@pytest.mark.parametrize(
    ("part", "shown"),
    [
        (0, "under 0.1 %"),
        (0.0009, "under 0.1 %"),
        (0.001, "0.1 %"),
        (0.9876, "98.8 %"),
        (0.999, "99.9 %"),
        (1, "over 99.9 %"),
    ],
)
def test_a_chance_is_never_told_as_certain(part: float, shown: str) -> None:
    assert percent(part) == shown
