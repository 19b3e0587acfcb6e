"""The setup sheet: what stands on it, held to the figures of the proof and to the program itself."""

import re
from functools import lru_cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, Final

import pytest

from gen.job import Job
from gen.pipeline import Task, begin, program_texts, prove_texts
from gen.proof import Verdict
from gen.sheet import MOST_FINDINGS, sheet
from gen.summary import summary
from post.motion import Pause
from tests.jobs import INCH_TEXT, make_job
from tests.programs import NOT_FITTING, SAMPLES, SETTINGS, own_post, posted, task_of
from tests.shop import sized_job
from tests.spaces import RAIL, with_space
from tests.test_samples import POST_OF

DIGITS: Final = {"mm": 3, "inch": 4}
VOID: Final = ("meta", "br")


class Reader(HTMLParser):
    """Text of a document by the classes and tags it stands in; every element must be closed."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.found: list[tuple[tuple[str, ...], str]] = []
        self.tags: set[str] = set()
        self.feed(text)
        self.close()
        assert self.open == [], "elements are left open"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag not in VOID:
            self.open.append(" ".join([tag, *((value or "") for name, value in attrs if name == "class")]))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop().split()[0] == tag

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.found.append((tuple(self.open), " ".join(data.split())))

    def within(self, *kinds: str) -> list[str]:
        """Text inside elements of every kind."""
        return [
            text
            for stack, text in self.found
            if all(any(kind in one.split() for one in stack) for kind in kinds)
            and not any(one in ("style", "title") for one in stack)
        ]

    @property
    def text(self) -> str:
        return " ".join(self.within("body"))


def verdict_on(task: Task) -> Verdict:
    return prove_texts(task, program_texts(task), physics_only=False, read_twice=False)


def sheet_of(job: Job, post_name: str = "longhand", *, walk: bool = False) -> str:
    task = task_of(job, post_name, walk=walk)
    return sheet(task, verdict_on(task))


@lru_cache(maxsize=32)
def sample(path: Path, walk: bool) -> tuple[Task, Verdict, str]:
    """A sample under its post: what is to be done, the proof, and the program."""
    task = begin(path, POST_OF.get(path.stem, "longhand"), walk=walk)
    (text,) = program_texts(task)
    return task, prove_texts(task, [text], physics_only=False, read_twice=False), text


def rows(page: Reader, kind: str) -> list[str]:
    return page.within("table", kind, "tbody", "td")


@pytest.mark.parametrize("walk", [False, True], ids=["bore", "walk"])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_sample_s_sheet_tells_the_proof_s_figures(path: Path, walk: bool) -> None:
    task, verdict, text = sample(path, walk)
    facts = summary(task, verdict, [])
    page, digits = Reader(sheet(task, verdict)), DIGITS[facts["units"]]
    assert page.within("h1") == [facts["job"]]
    assert page.within("verdict") == ["PROVED"]
    cells = rows(page, "bores")
    for bore in facts["bores"]:
        for name in ("start", "end", "diameter"):
            assert f"{bore[name]:.{digits}f}" in cells
        for name in ("cutter_rpm", "spindle_rpm", "feed"):
            assert any(float(cell) == pytest.approx(bore[name], abs=0.05) for cell in cells if numeric(cell))
    travel = rows(page, "travel")
    for extent in facts["travel"].values():
        assert all(f"{value:.{digits}f}" in travel for value in extent.values())
    for gap in facts["unchecked"]:
        assert gap in page.text
    for caution in facts["cautions"]:
        assert f"{caution['problem']}: {caution['remedy']}" in page.text
    if facts["closest"] is not None:
        assert f"{facts['closest']['distance']:.{digits}f}" in page.text
    (fingerprint,) = page.within("fingerprint")
    header = " ".join(re.sub(r"[();]", " ", text).split()).upper()
    assert f"Post {task.post.name}, fingerprint of job and post {fingerprint}".upper() in header
    assert f"Post {task.post.name}, fingerprint of job and post {fingerprint}" in page.text


def numeric(text: str) -> bool:
    return re.fullmatch(r"-?[\d.]+", text) is not None


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_stop_of_a_sample_is_told_in_its_words(path: Path) -> None:
    task, verdict, _ = sample(path, False)
    page = Reader(sheet(task, verdict))
    pauses = [step for plan in task.plans for step in plan.steps if isinstance(step, Pause)]
    told = rows(page, "settings")
    for number, pause in enumerate(pauses, 1):
        place = told.index(f"at stop {number}")
        assert told[place + 1].lower() == pause.why.lower()
    assert sum(text.startswith("at stop") for text in told) == len(pauses)
    assert told[0] == "before cycle start"
    stops = "No stops before the end." if not pauses else f"{len(pauses)} stop"
    assert stops in page.text


def test_a_walk_through_tells_no_speeds_and_says_what_it_is() -> None:
    html = sheet_of(make_job(), walk=True)
    page = Reader(html)
    assert "walk-through, the spindle never turns" in page.text
    assert "job-walk.nc" in page.text
    assert "3 stops" in page.text
    assert "take the indicator off before cycle start: the proof does not count it" in page.text
    assert "spindle never turns" in page.text
    assert 'class="dials"' not in html
    assert 'class="settings"' not in html
    assert not re.search(r"\brpm\b(?! of the cutter)", page.text)
    assert page.within("table", "bores", "thead")[-3:] == ["swept, clear", "off in Y", "off in Z"]


def test_several_programs_are_listed_in_order_with_their_settings() -> None:
    page = Reader(sheet_of(SETTINGS, "one-pass"))
    assert "Programs, to be run in this order: job-1.nc, job-2.nc, job-3.nc" in page.text
    told = rows(page, "settings")
    for number in (1, 2, 3):
        assert f"before program {number}, job-{number}.nc" in told
    assert "Each program ends by itself" in page.text
    assert not any(text.startswith("at stop") for text in told)


def test_programs_given_are_named() -> None:
    task = task_of(make_job())
    page = Reader(sheet(task, verdict_on(task), [Path("shop") / "pump & <co>.nc"]))
    assert "pump & <co>.nc" in page.text
    assert "shop" not in page.within("header")


def test_what_is_not_proved_says_so_large_and_tells_what_was_found() -> None:
    task = begin(NOT_FITTING, "longhand", walk=False)
    verdict = verdict_on(task)
    page = Reader(sheet(task, verdict))
    assert page.within("verdict") == ["NOT PROVED", "do not run"]
    assert len(page.within("findings", "li")) == MOST_FINDINGS + 1
    assert verdict.findings[0].message in page.text
    assert f"and {len(verdict.findings) - MOST_FINDINGS} more" in page.text


def test_a_program_that_cannot_be_read_has_no_travel() -> None:
    task = task_of(make_job())
    verdict = prove_texts(task, ["G21\nfiddle\nM30"], physics_only=False, read_twice=False)
    page = Reader(sheet(task, verdict))
    assert "Not known: the program could not be read." in page.text
    assert rows(page, "travel") == []


def test_stops_are_counted_in_the_program_as_read_back() -> None:
    task = task_of(SETTINGS)
    text = program_texts(task)[0]
    verdict = prove_texts(
        task, [re.sub(r"(?m)^(M0 .*)$", r"\1\n\1", text, count=1)], physics_only=False, read_twice=False
    )
    assert not verdict.proved
    assert "3 stops in the program; 2 planned." in Reader(sheet(task, verdict)).text


def test_a_proof_of_physics_alone_is_told_as_one() -> None:
    task = task_of(make_job())
    verdict = prove_texts(task, program_texts(task), physics_only=True, read_twice=False)
    assert Reader(sheet(task, verdict, physics_only=True)).within("verdict") == ["PROVED, physics only"]


def test_names_stay_text() -> None:
    odd = "<script>alert(1)</script> 'a' \"b\" & {{ 7 * 7 }}"
    bores = [{"name": '<b>"1"</b>\'', "face": 0, "width": 34, "diameter": 84.0}]
    html = sheet_of(with_space(name=odd, bore=bores, obstacle=[{**RAIL, "name": "<i>rail</i>"}]))
    page = Reader(html)
    assert page.within("h1") == [odd]
    assert '<b>"1"</b>\'' in rows(page, "bores")
    assert "<i>rail</i>" in page.text
    assert "<i>rail" not in html
    assert page.tags.isdisjoint({"script", "img", "link", "iframe"})


def test_nothing_is_fetched() -> None:
    html = sheet_of(with_space())
    assert "Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\"" in html
    assert not re.search(r"(https?:|//|src=|href=|url\(|@import)", html.replace("<!DOCTYPE html>", ""))


def test_inches_are_told_as_the_control_shows_them() -> None:
    page = Reader(sheet_of(make_job(INCH_TEXT)))
    assert "All lengths in inches" in page.text
    assert "at machine X -20.0000 Y 0.0000 Z -15.0000" in page.text
    assert rows(page, "bores")[1:4] == ["0.0000", "1.3500", "3.3125"]
    assert "+X, and feeds that way" in page.text
    assert "mm" not in re.sub(r"[a-z]mm|mm[a-z]", "", page.text)


def test_a_finer_post_s_digits_are_told(tmp_path: Path) -> None:
    post = own_post(tmp_path / "fine", "longhand", ("length = 0.001,", "length = 0.0001,"))
    page = Reader(sheet_of(make_job(), post))
    assert rows(page, "bores")[1:4] == ["3.0000", "-34.5000", "84.0000"]


def test_the_start_is_told_in_program_and_machine_coordinates() -> None:
    page = Reader(sheet_of(make_job(path={"leave_angle": 30})))
    assert "head above Z 160.000 mm, machine Z -220.000" in page.text
    assert "to that height, then to X 3.000 Y 92.376 Z 160.000" in page.text
    assert "30 degrees from straight up, toward +Y" in page.text
    assert "in and out" not in Reader(sheet_of(make_job())).text


def test_sizes_wanted_are_told_where_the_job_tells_them() -> None:
    page = Reader(sheet_of(sized_job(2)))
    cells = rows(page, "bores")
    assert cells[:6] == ["1", "3.000", "-30.500", "84.000", "84.011", "84.000 to 84.022"]
    assert "depth, radius" in page.within("settings", "thead")
    exact = sized_job(
        bore=[{"face": 0, "width": 28, "diameter": 84, "measured": [82.98, 82.99], "limits": [83.9821, 84.0178]}]
    )
    assert "83.983 to 84.017" in rows(Reader(sheet_of(exact)), "bores")
    assert page.within("settings", "thead")[-3:] == ["set, as", "size tells", "measured"]
    plain = Reader(sheet_of(make_job()))
    assert "limits" not in plain.within("bores", "thead")
    assert "aim at" not in plain.within("bores", "thead")
    assert "depth, radius" not in plain.within("settings", "thead")
    assert plain.within("settings", "thead")[-2:] == ["set", "measured"]


def test_names_are_told_only_where_they_are_not_the_numbers() -> None:
    assert "bore" not in Reader(sheet_of(make_job())).within("bores", "thead")
    named = make_job(bore=[{"name": "front", "face": 0, "width": 32, "diameter": 84.0}])
    assert rows(Reader(sheet_of(named)), "bores")[:2] == ["1", "front"]


@pytest.mark.parametrize(
    ("hand", "reverses", "cutter", "spindle"),
    [
        ("right", True, "clockwise", "M4, counterclockwise"),
        ("right", False, "clockwise", "M3, clockwise"),
        ("left", True, "counterclockwise", "M3, clockwise"),
        ("left", False, "counterclockwise", "M4, counterclockwise"),
    ],
)
def test_both_senses_are_told_as_they_are_seen(hand: str, reverses: bool, cutter: str, spindle: str) -> None:
    page = Reader(sheet_of(make_job(bar={"hand": hand}, head={"reverses": reverses})))
    assert f"380 rpm, {cutter} seen from the head" in page.text
    assert f"760 rpm, {spindle} seen from above" in page.text


def test_a_long_row_goes_on_in_the_table() -> None:
    bores: list[dict[str, Any]] = [{"face": -40 * at, "width": 20, "diameter": 84.0} for at in range(18)]
    page = Reader(sheet_of(make_job(bore=bores, machine={"travel": {"x": [-900, 100]}})))
    assert rows(page, "bores").count("84.000") == 18


def physics_only(text: str, job: Job | None = None) -> Reader:
    task = task_of(job or make_job())
    verdict = prove_texts(task, [text], physics_only=True, read_twice=False)
    return Reader(sheet(task, verdict, physics_only=True))


def test_a_sheet_of_physics_alone_has_the_program_s_speeds_and_dwell() -> None:
    text = posted(make_job()).replace("S760", "S400").replace("F38.000", "F50.000").replace("P0.64", "P3")
    page = physics_only(text)
    assert rows(page, "bores")[4:8] == ["10", "200", "400", "50"]
    for told in (
        "200 rpm, clockwise seen from the head",
        "400 rpm, M4, counterclockwise seen from above",
        "50 mm/min, 0.25 mm a cutter turn",
        "are the program's own, not the job's",
        "spindle 400 rpm (200 at the cutter) in bore 1, where the job has 760 rpm",
    ):
        assert told in page.text
    assert "are the program's own" not in Reader(sheet_of(make_job())).text


def test_a_sheet_of_physics_alone_says_what_it_does_not_know() -> None:
    page = physics_only("fiddle\nM30\n")
    assert "not known: the program cuts no bore" in page.text
    assert "760" not in page.text
    other = physics_only(posted(make_job()).replace("M4", "M3"))
    assert "760 rpm, M3, clockwise seen from above" in other.text
    assert "clockwise seen from the head" not in " ".join(other.within("dd"))


def test_the_ends_marked_tightest_are_those_the_report_names() -> None:
    page = Reader(sheet_of(make_job(machine={"travel": {"x": [-439.5 - 220, 100]}})))
    assert page.within("table", "travel", "tbody", "b") == ["220.000"] * 3
