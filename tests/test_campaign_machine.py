"""The control that judges mutants: published examples, the standard's errors, and the samples against their plans."""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from typing import Any, Final

import pytest

from gen.pipeline import Task, program_texts
from post.dialect import Dialect
from post.motion import Dwell, Feed, Pause, Plan, Rapid, Spindle, SpindleStop
from post.posts import find
from tests.campaign import mutate
from tests.campaign.deeds import STILL, Deed, Halves, Place, difference
from tests.campaign.deeds import Spindle as Turned
from tests.campaign.lines import Alarm
from tests.campaign.machine import perform
from tests.campaign.mutants import KINDS
from tests.campaign.mutate import Source, random_jobs, samples

MM: Final = find("longhand").dialect
CYCLES: Final = find("cycles").dialect.model_copy(update={"cycles": frozenset({"G81", "G82", "G85", "G86", "G89"})})
TAPE: Final = find("tape").dialect
ORIENTED: Final = find("oriented").dialect
PER_TURN: Final = find("per-turn").dialect
OPENING: Final = "G21 G17 G40 G49 G61 G90 G94 G54 G98\nM5 F100 G0 X1 Y2 Z3\n"
"""Two lines; the machine stands at (1, 2, 3)."""


def done(text: str, dialect: Dialect = CYCLES) -> list[tuple[str, tuple[float | None, ...], float]]:
    """What the lines behind the opening do."""
    deeds = perform(f"{OPENING}{text}\nM30\n", dialect)[3:-1]
    return [(deed.kind, tuple(None if at is None else round(at, 6) for at in deed.end), deed.amount) for deed in deeds]


def test_example_1_of_g81() -> None:
    """NISTIR 6556 3.5.16.2, example 1: G90 G81 G98 X4 Y5 Z1.5 R2.8 at (1, 2, 3)."""
    assert done("G90 G81 G98 X4 Y5 Z1.5 R2.8") == [
        ("rapid", (4, 5, 3), 0),
        ("rapid", (4, 5, 2.8), 0),
        ("feed", (4, 5, 1.5), 100),
        ("rapid", (4, 5, 3), 0),
    ]


def test_example_2_of_g81() -> None:
    """NISTIR 6556 3.5.16.2, example 2: G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3 at (1, 2, 3)."""
    expected: list[tuple[str, tuple[float, ...], float]] = [("rapid", (1, 2, 4.8), 0)]
    for x, y in ((5, 7), (9, 12), (13, 17)):
        expected += [("rapid", (x, y, 4.8), 0), ("feed", (x, y, 4.2), 100), ("rapid", (x, y, 4.8), 0)]
    assert done("G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3") == expected


@pytest.mark.parametrize(
    ("code", "kinds"),
    [
        ("G81", ["feed", "rapid"]),
        ("G82", ["feed", "dwell", "rapid"]),
        ("G85", ["feed", "feed"]),
        ("G86", ["feed", "dwell", "spindle", "rapid", "spindle"]),
        ("G89", ["feed", "dwell", "feed"]),
    ],
)
def test_what_each_cycle_does_at_its_depth(code: str, kinds: list[str]) -> None:
    """NISTIR 6556 3.5.16.2, .3, .6, .7 and .10; along X in the YZ plane (3.5.6)."""
    dwell = "P.5" if code in ("G82", "G86", "G89") else ""
    found = done(f"S50 M3\nG19 G99 {code} X-9 R1 {dwell}")
    assert [kind for kind, *_ in found] == ["spindle", *kinds]
    assert [end for kind, end, _ in found if kind in ("feed", "rapid")] == [(-9, 2, 3), (1, 2, 3)]


def test_blanks_capitals_idle_zeros_and_the_order_of_words_do_not_matter() -> None:
    """NISTIR 6556 3.3.1, 3.3.2.1, 3.8: g0x +0. 12 34y 7 is G0 X0.1234 Y7."""
    dialect = MM.model_copy(update={"resolution": MM.resolution.model_copy(update={"mm": MM.resolution.inch})})
    lines = ("g0x +0. 12 34y 7", "G00 X.1234 Y7.0", "Y7 X0.1234 G-0", "(a) Y7 X0.1234 (b) G0")
    assert {done(line, dialect)[0] for line in lines} == {("rapid", (0.1234, 7, 3), 0)}


@pytest.mark.parametrize(
    ("line", "dialect", "why"),
    [
        ("G0 X1 X2", MM, "X twice"),
        ("G0 G1 X2", MM, "G1 and G0"),
        ("G2 X2 Y3 I1", MM, "G2"),
        ("G1", MM, "to no place"),
        ("G80\nX2", MM, "a place and no motion"),
        ("G4", MM, "are used"),
        ("G4 P-1", MM, "cannot be read"),
        ("G0 X2 P1", MM, "are used"),
        ("G0 X2.0001", MM, "cannot be read"),
        ("M3", MM, "at no speed"),
        ("M19 R90", MM, "M19"),
        ("G95", MM, "G95"),
        ("G95 G1 X2", PER_TURN, "no F that holds"),
        ("G95 F.1 G1 X2", PER_TURN, "never ends"),
        ("G20 G1 X2", MM, "no F that holds"),
        ("G55 G91 G0 X2", MM, "from nowhere"),
        ("G0 X2 (a", MM, "not closed"),
        ("G0 X2 ; a", MM, "make no word"),
        ("G0 X\u0661", MM, "none of the standard's"),
        ("G0 N1 X2", MM, "out of place"),
        ("G19 G99 S1 M3 G86 X-9 R1", CYCLES, "are used"),
        ("G19 G99 G85 X9 R1", CYCLES, "below its depth"),
        ("M19 R360", ORIENTED, "360 degrees"),
        ("%", MM, "tape marks"),
        (f"(-{'-' * 256})", MM, "too long"),
    ],
)
def test_what_a_strict_control_stops_at(line: str, dialect: Dialect, why: str) -> None:
    with pytest.raises(Alarm, match=why):
        done(line, dialect)


@pytest.mark.parametrize("word", ["G21", "G40", "G49", "G61", "G90", "G54", "M5"])
def test_a_move_rests_on_what_is_stated(word: str) -> None:
    with pytest.raises(Alarm, match="a move with none of"):
        perform(OPENING.replace(word, "") + "M30", MM)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("O1\r\nM30\r\n%\r\n", "tape marks"),
        ("%\r\nO1\r\nM30\r\n", "tape marks"),
        ("%\r\nM30\r\n%\r\n", "no program number"),
        ("%\r\nO12345\r\nM30\r\n%\r\n", "no program number"),
        ("%\r\nO1\nM30\r\n%\r\n", "without CR"),
        ("%\r\nO1\r\nM5\r\n%\r\n", "no M2 or M30"),
        (f"%\r\nO1\r\n{OPENING.splitlines()[0]}\r\nM5 G0 X2\r\nM30\r\n%", "X2 with a point, or without one"),
    ],
)
def test_what_stands_around_a_program(text: str, why: str) -> None:
    assert perform("%\r\nO1\r\nN10 M5\r\nN20 M30\r\n%", TAPE)
    with pytest.raises(Alarm, match=why):
        perform(text, TAPE)


def test_a_message_is_shown_at_the_next_stop_and_a_remark_never() -> None:
    text = f"{OPENING}( msg, one)\nM0\nM0 (two)\nM1 (MSG, three)\nM30"
    stops = [(deed.kind, deed.message) for deed in perform(text, MM) if "stop" in deed.kind]
    assert stops == [("stop", "one"), ("stop", ""), ("optional stop", "three")]


def test_of_several_remarks_the_last_is_shown() -> None:
    """NISTIR 6556 3.3.5."""
    stops = [
        deed.message for deed in perform(f"{OPENING}M0 (MSG, a) (b)\nM0 (b) (MSG, a)\nM30", MM) if deed.kind == "stop"
    ]
    assert stops == ["", "a"]


def test_a_stop_before_a_stop_at_an_angle_is_the_same_stop() -> None:
    turning, after = "M3 S50\nG0 X2\n", "M19 R30\nG0 X5"
    assert done(f"{turning}M5\n{after}", ORIENTED) == done(f"{turning}{after}", ORIENTED)
    assert done(f"{turning}M5\nG0 X3\n{after}", ORIENTED) != done(f"{turning}G0 X3\n{after}", ORIENTED)
    assert [kind for kind, *_ in done(f"{turning}M5\nM3\n{after}", ORIENTED)].count("spindle") == 4


def test_what_is_to_be_set_is_the_first_deed() -> None:
    text = (
        f"(Cutter: set for 84)\n{OPENING}(what it is set to)\n(reset 4) (set t5)\nG0 X1 (set 5)\nM0 (MSG, set 6)\nM30"
    )
    assert perform(text, MM)[0].message == "Cutter: set for 84; set 5"
    assert difference(perform(text, MM), perform(text.replace("84", "94"), MM), Halves.of(MM, "mm")) != ""


@pytest.mark.parametrize(
    ("keys", "text", "expected"),
    [
        ({"comments": {"form": "semicolon"}}, "G4 P1 ; (G4 P2) ; G0 X9", [("dwell", (1, 2, 3), 1)]),
        ({"dwell": {"word": "X", "unit": "milliseconds", "step": 1}}, "G4 X1500", [("dwell", (1, 2, 3), 1.5)]),
        (
            {"dwell": {"word": "X"}},
            "G0 X5\nG4 X2\nX4",
            [("rapid", (5, 2, 3), 0), ("dwell", (5, 2, 3), 2), ("rapid", (4, 2, 3), 0)],
        ),
    ],
)
def test_what_a_control_may_have_otherwise(keys: dict[str, Any], text: str, expected: list[Any]) -> None:
    assert done(text, Dialect.model_validate({**MM.model_dump(), **keys})) == expected


def test_lengths_and_feeds_counted_in_the_smallest_steps() -> None:
    dialect = Dialect.model_validate({**MM.model_dump(), "numbers": {"point": "none"}})
    (move,) = perform("G21 G17 G40 G49 G61 G90 G94 G54\nM3 S50 G1 X1500 F25000\nM30", dialect)[2:-1]
    assert (move.end[0], move.amount) == (1.5, 25)
    with pytest.raises(Alarm, match=r"X1\.5 cannot be read"):
        perform("G21 G17 G40 G49 G61 G90 G94 G54\nM5 G0 X1.5\nM30", dialect)


def test_nothing_is_done_behind_the_end() -> None:
    """NISTIR 6556 3.6.1."""
    assert perform(f"{OPENING}M30\nG0 X9 )", MM) == perform(f"{OPENING}M30", MM)


def test_half_a_step_is_the_most_that_is_no_difference() -> None:
    half = Halves.of(MM, "mm")
    one = Deed("feed", 3, (0, 0, 0), (1, 0, 0), 100, "", Turned("M3", 50), "G54")
    assert difference([one], [one._replace(end=(1.0005, 0, 0), amount=100.0005, line=9)], half) == ""
    others = (
        one._replace(end=(1.0006, 0, 0)),
        one._replace(start=(0, -0.0006, 0)),
        one._replace(start=(0, None, 0)),
        one._replace(amount=100.0006),
        one._replace(spindle=Turned("M4", 50)),
        one._replace(spindle=Turned("M3", 50.6)),
        one._replace(under="G55"),
        one._replace(kind="rapid"),
    )
    assert all(difference([one], [other], half) for other in others)
    assert difference([one, one], [one], half).startswith("not done: feed")
    assert difference([one], [one, one], half).startswith("line 3: besides, feed")


# The samples, and some jobs, against their plans.


def planned(plan: Plan, dialect: Dialect) -> Iterator[Deed]:
    """What a plan comes to, lines left out; messages as the control has them."""
    at: Place = (None, None, None)
    spindle = Turned("", 0.0)
    for step in plan.simple():
        start, now, amount = at, spindle, 0.0
        match step:
            case Rapid(to) | Feed(to):
                x, y, z = (there if there is not None else here for here, there in zip(at, to, strict=True))
                at, amount = (x, y, z), step.mm_per_min if isinstance(step, Feed) else 0.0
                if at != start:
                    yield Deed(
                        "feed" if isinstance(step, Feed) else "rapid",
                        0,
                        start,
                        at,
                        amount,
                        "",
                        spindle,
                        plan.work_offset,
                    )
            case Spindle(rpm, sense):
                now = Turned(sense.value, rpm)
            case SpindleStop(_, angle):
                now = STILL if angle is None else Turned("M19", angle)
            case Dwell(seconds):
                yield Deed("dwell", 0, at, at, seconds, "", spindle, "")
            case Pause(message):
                yield Deed("stop", 0, at, at, 0.0, dialect.comment(message), spindle, "")
        if now != spindle:
            spindle = now
            yield Deed("spindle", 0, at, at, 0.0, "", spindle, "")
    yield Deed("end", 0, at, at, 0.0, "", spindle, "")


def settled(deeds: list[Deed]) -> list[Deed]:
    """The same without the restart that ends G86 where the spindle is stopped again before anything is done."""
    kept: list[Deed] = [one for one, after in pairwise(deeds) if not (one.kind == after.kind == "spindle")]
    kept.append(deeds[-1])
    state, rest = Turned("", 0.0), list[Deed]()
    for deed in kept:
        if deed.kind != "spindle" or deed.spindle != state:
            rest.append(deed)
        state = deed.spindle
    return rest


def check(task: Task) -> int:
    """Hold what a task's programs do against its plans; the number of deeds."""
    dialect, count = task.post.dialect, 0
    for plan, text in zip(task.plans, program_texts(task), strict=True):
        deeds = settled(perform(text, dialect)[1:])
        assert difference(list(planned(plan, dialect)), deeds, Halves.of(dialect, plan.units)) == ""
        count += len(deeds)
    return count


@pytest.fixture
def sources(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Source]]:
    """Sources of a campaign, to be filled in."""
    filled = list[Source]()
    monkeypatch.setattr(mutate, "SOURCES", filled)
    mutate.written.cache_clear()
    yield filled
    mutate.written.cache_clear()


def test_the_samples_do_what_was_planned(sources: list[Source]) -> None:
    sources += samples()
    assert len({source.post for source in sources}) == 6
    assert sum(check(mutate.written(index).task) for index in range(len(sources))) > 2000


def test_random_jobs_do_what_was_planned(sources: list[Source]) -> None:
    sources += random_jobs(20, 1)
    assert len(sources) == 20
    assert min(check(mutate.written(index).task) for index in range(len(sources))) > 5


def test_the_same_seed_gives_the_same_jobs() -> None:
    random_jobs(1, 3)  # what is drawn depends on the modules loaded, and this loads the last of them
    assert random_jobs(5, 3) == random_jobs(5, 3) != random_jobs(5, 4)


# The campaign itself.


def test_a_round_of_mutants_is_caught_and_a_proof_that_looks_away_is_told(
    sources: list[Source], monkeypatch: pytest.MonkeyPatch
) -> None:
    sources += [source for source in samples() if source.name == "harbour-pump, cycles"]
    assert mutate.check_unmutated(0) == ({("unmutated", "proved"): 1}, [])
    first, second = mutate.check_round(0, 0, 0), mutate.check_round(0, 1, 0)
    assert first.wrong == second.wrong == []
    assert first.fates == mutate.check_round(0, 0, 0).fates
    assert {kind for kind, _ in first.fates} == {*KINDS} - {"message"}
    monkeypatch.setattr("gen.agreement.agree", lambda *_: [])
    assert len(mutate.check_round(0, 0, 0).wrong) > 4


def test_the_table_has_every_kind_and_their_sum() -> None:
    fates = mutate.Tally(Counter({("spliced", "caught"): 3, ("cut short", "survived"): 1}), [])
    lines = mutate.table(fates)
    assert "| spliced | 3 | 3 | 0 | 0 | 0 |" in lines
    assert lines[-1] == "| all | 4 | 3 | 0 | 0 | 0 |"
    assert len(lines) == len(KINDS) + 3
