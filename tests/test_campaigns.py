"""The campaigns see what they are to see: each is shown a tool that does wrong."""

import os
import random
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final

import pytest

from post.userfile import InputError
from tests.campaign import crash, fuzz, guided, wrongfiles
from tests.campaign.kills import fault, in_child
from tests.campaign.mangle import mangled
from tests.campaign.wrongfiles import TARGETS, Case

SHOW: Final = Case(("show", "job.toml"), {"job.toml": wrongfiles.sample("harbour-pump.toml")})


def full_memory() -> None:
    raise MemoryError


def slow() -> None:
    time.sleep(60)


@pytest.mark.parametrize(
    ("fails", "wrong"),
    [
        (full_memory, "a mistake of its own, please report it: MemoryError"),
        (lambda: int("x"), "a mistake of its own, please report it: ValueError: invalid literal"),
        (lambda: os._exit(1), "the worker died of it"),
        (lambda: os.kill(os.getpid(), signal.SIGKILL), "the worker died of it"),
        (slow, "it takes longer than"),
    ],
)
def test_fuzzing_sees_what_a_command_must_not_do(
    monkeypatch: pytest.MonkeyPatch, fails: Callable[[], object], wrong: str
) -> None:
    monkeypatch.setattr(fuzz, "MOST_S", 0.3)
    monkeypatch.setattr(fuzz, "BATCH", 1)
    monkeypatch.setattr("gen.pipeline.begin", lambda *_, **__: fails())
    monkeypatch.setitem(TARGETS, "job", lambda _: SHOW)
    ((number, told),) = fuzz.batch(1, "job", 0)
    assert number == 0
    assert wrong in told.wrong


def test_fuzzing_lets_good_and_bad_input_pass(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert fuzz.run_case(SHOW) == fuzz.Told(0, "")
    assert fuzz.run_case(SHOW._replace(arguments=("show", "none.toml", "--json"))) == fuzz.Told(2, "")


def test_fuzzing_asks_for_json_and_for_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)

    def quiet() -> None:
        raise SystemExit(2)

    monkeypatch.setattr(fuzz, "main", quiet)
    assert fuzz.run_case(SHOW) == fuzz.Told(2, "bad input is not told")
    monkeypatch.setattr(fuzz, "main", lambda: print("{"))
    assert fuzz.run_case(SHOW._replace(arguments=("show", "job.toml", "--json"))).wrong.startswith("it ends with None")


def test_fuzzing_takes_no_value_of_an_option_for_an_option(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert fuzz.run_case(SHOW._replace(arguments=("sheet", "job.toml", "--out", "--json"))) == fuzz.Told(0, "")


@pytest.mark.parametrize("what", TARGETS)
def test_a_case_is_the_same_for_its_seed(what: str) -> None:
    cases = [fuzz.case_of(7, what, number) for number in range(20)]
    assert cases == [fuzz.case_of(7, what, number) for number in range(20)]
    assert len({repr(case) for case in cases}) > 15


def test_texts_are_mangled() -> None:
    rng = random.Random(1)
    text = SHOW.files["job.toml"]
    changed = [mangled(rng, text, (text, b"")) for _ in range(200)]
    assert sum(one != text for one in changed) > 180
    assert len(set(changed)) > 150


def test_guided_fuzzing_lets_only_bad_input_pass(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    read = guided.target(guided.KINDS["job"]._replace(commands=("show job.toml",)))
    read(SHOW.files["job.toml"])
    read(b"\xff")

    def broken(*_: object, **__: object) -> None:
        raise KeyError("x")

    monkeypatch.setattr("gen.pipeline.begin", broken)
    with pytest.raises(KeyError, match="x"):
        read(b"")


def test_a_child_is_killed_before_the_event_it_is_told(tmp_path: Path) -> None:
    assert in_child(tmp_path, ("new", "a.toml"), fault(tmp_path, "kill", 0)).code is None
    assert list(tmp_path.iterdir()) == []
    done = in_child(tmp_path, ("new", "a.toml"), fault(tmp_path, "kill", 1000))
    assert done.code == 0
    assert "a.toml: change its numbers" in done.said


def test_a_full_disk_is_told(tmp_path: Path) -> None:
    done = in_child(tmp_path, ("new", "a.toml"), fault(tmp_path, "full", 0))
    assert (done.code, "No space left on device" in done.said) == (2, True)


SCENARIO: Final = crash.Scenario("two", ("new", "a.toml"), {}, {"a": "1", "b": "2"}, {"a": "3", "b": "4"})


@pytest.mark.parametrize(
    ("files", "mixed"),
    [
        ({"a": "1", "b": "2"}, False),
        ({"a": "3", "b": "4"}, False),
        ({"b": "4", ".borewright.a.old": "1"}, False),
        ({}, False),
        ({"a": "1", "b": "4"}, True),
        ({"a": "", "b": "2"}, True),
    ],
)
def test_a_mix_of_old_and_new_is_seen(tmp_path: Path, files: dict[str, str], mixed: bool) -> None:
    crash.fill(tmp_path, files)
    assert bool(crash.wrong_now(tmp_path, SCENARIO)) is mixed


def test_what_the_next_command_leaves_is_looked_at(tmp_path: Path) -> None:
    crash.fill(tmp_path, {"a": "1"})
    assert crash.wrong_later(tmp_path, SCENARIO) == "after the next command there is ['a']"


def test_a_release_that_mixes_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One file after the other, as they come: what a release must not do."""

    def careless(files: dict[Path, str], *, force: bool) -> None:
        for path, content in files.items():
            if path.exists() and not force:
                raise InputError("is there", file=path)
            path.write_text(content, encoding="utf-8")

    monkeypatch.setattr("gen.release.release", careless)
    scenario = next(one for one in crash.scenarios(tmp_path) if one.name == "three over three")
    told = [attempt() for kind, attempt in crash.faults(tmp_path, scenario) if kind == "kill"]
    assert any("to be seen is a mix" in wrong for wrong in told)


def test_fuzzing_of_every_kind_tells_what_failed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(guided, "KINDS", {"nothing": guided.KINDS["job"]})
    assert guided.in_turn(1, 1) == 1
    assert "FAILED, exit 2" in capsys.readouterr().out
