"""The page as text: whole in itself, nothing in it but what was meant, and what it says without its script."""

import json
import re
from base64 import b64decode, b64encode
from hashlib import sha256
from html.parser import HTMLParser
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.linefacts import facts
from gen.lineplot import svg
from gen.page import MOST_BORES, MOST_FINDINGS, embedded, page
from gen.pipeline import begin, program_texts, prove_texts
from gen.report import minutes
from gen.summary import summary
from gen.survey import read as read_survey
from tests.jobs import INCH_TEXT, make_job
from tests.pages import embedded_data, judged, judged_job
from tests.programs import NOT_FITTING, ROOT, SAMPLES, SETTINGS, change, posted, task_of
from tests.test_samples import POST_OF

BAD: Final = "<script>alert(1)</script>\"'&amp;</title><img src=x onerror=alert(1)>"
ASKING: Final = re.compile(
    r"""<(?:link|img|iframe|object|embed|audio|video|base|form)\b|\bsrc\s*=|@import|\burl\((?!["']?\#)|\b(?:fetch|XMLHttpRequest|WebSocket|import)\s*\("""
)


class Elements(HTMLParser):
    """Elements of a page by name, and its text outside of scripts."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.names: list[str] = []
        self.attributes: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)
        self.attributes.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        if self.names[-1:] not in (["script"], ["style"]) or data.strip():
            self.texts.append(data)

    @property
    def text(self) -> str:
        """All text, blanks as one."""
        return " ".join(" ".join(self.texts).split())


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_s_page_is_small_and_asks_for_nothing(path: Any) -> None:
    found = judged(begin(path, POST_OF.get(path.stem, "longhand"), walk=False))
    html = found.html()
    assert len(html.encode()) < 300_000
    outside = re.sub(r'<script type="application/json".*?</script>', "", html, flags=re.DOTALL)
    assert ASKING.search(outside) is None
    assert "PROVED" in html
    assert "NOT PROVED" not in html
    assert embedded_data(html) == json.loads(json.dumps(found.data()))


def test_only_the_page_s_own_script_and_style_may_run() -> None:
    html = judged_job(make_job()).html()
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', html)
    assert policy is not None
    allowed = policy[1].replace("&#39;", "'")
    assert allowed.startswith("default-src 'none'; ")
    assert "unsafe" not in allowed
    (style,) = re.findall(r"<style>(.*?)</style>", html, re.DOTALL)
    (script,) = re.findall(r'<script type="module">(.*?)</script>', html, re.DOTALL)
    for kind, text in (("style", style), ("script", script)):
        assert f"{kind}-src 'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'" in allowed
    assert " style=" not in html
    assert re.search(r"<\w+[^>]*\son\w+=", re.sub(r"<script.*?</script>", "", html, flags=re.DOTALL)) is None


def test_the_script_is_one_module_of_all_its_parts() -> None:
    (script,) = re.findall(r'<script type="module">(.*?)</script>', judged_job(make_job()).html(), re.DOTALL)
    assert re.search(r"^(import|export)\b", script, re.MULTILINE) is None
    for name in ("Replay", "Pictures", "Strip", "Listing", "Player"):
        assert script.count(f"\nclass {name} {{") == 1


@pytest.mark.parametrize("where", ["job", "bore", "obstacle"])
def test_what_a_job_is_called_stays_text(where: str) -> None:
    told = BAD[:40] if where != "job" else BAD
    job = make_job(
        **({"name": told} if where == "job" else {}),
        bore=[{"name": told if where == "bore" else "1", "face": 0, "width": 32, "diameter": 84.0}],
        obstacle=[{"name": told if where == "obstacle" else "rail", "x": [0, 9], "y": [200, 210], "z": [0, 9]}],
    )
    html = judged_job(job).html()
    plain = Elements(judged_job(make_job(bore=[{"face": 0, "width": 32, "diameter": 84.0}])).html())
    odd = Elements(html)
    assert odd.names.count("script") == plain.names.count("script") == 2
    assert odd.names.count("img") == 0
    assert told in odd.text or " ".join(told.split()) in odd.text


def test_a_finding_s_text_stays_text() -> None:
    job = make_job()
    edit = change("(feed through bore 1)", "(<img src=x>) Q<b>")(posted(job))
    html = judged(task_of(job), [edit.text]).html()
    assert "<img" not in html
    assert "NOT PROVED" in html


@given(
    st.recursive(
        st.text() | st.integers() | st.none(), lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner)
    )
)
def test_embedded_data_comes_out_as_it_was_and_looks_like_no_markup(data: Any) -> None:
    text = embedded(data)
    assert json.loads(text) == data
    assert not set("<>&\u2028\u2029") & set(text)
    assert text.isascii()


def test_what_does_not_prove_says_so_in_words_and_lists_why() -> None:
    found = judged(begin(NOT_FITTING, "longhand", walk=False))
    text = Elements(found.html()).text
    assert f"NOT PROVED {len(found.verdict.findings)} findings. Do not run this program." in text
    for finding in found.verdict.findings:
        assert f"line {finding.line}: {finding.rule}" in text
        assert finding.message in text


def test_one_finding_is_one() -> None:
    job = make_job(machine={"travel": {"x": [-430, 100], "y": [-300, 300], "z": [-600, 0]}})
    found = judged_job(job)
    count = len(found.verdict.findings)
    assert f"{count} finding{'' if count == 1 else 's'}. Do not run" in Elements(found.html()).text


def test_a_program_that_cannot_be_read_is_not_to_be_trusted() -> None:
    html = judged(task_of(make_job()), ["G21 G90\nG1 X1 Q9\nM30\n"]).html()
    assert "not to be trusted" in html
    assert "not to be trusted" not in judged_job(make_job()).html()


def test_physics_alone_is_not_proved_like_the_whole() -> None:
    html = judged(task_of(make_job()), physics_only=True).html(physics_only=True)
    assert "PROVED, physics only" in html
    assert "Not held to the plan" in html


def test_a_walk_through_says_so_and_tells_no_speeds() -> None:
    text = Elements(judged_job(make_job(), walk=True).html()).text
    assert "(walk-through)" in text
    assert "of it cutting" not in text
    assert "rpm, cutter" not in text


def test_several_programs_are_told_with_their_lines() -> None:
    found = judged_job(SETTINGS, "one-pass")
    assert "3 programs, run in order" in Elements(found.html()).text
    texts = [found.texts[0], change("F38.", "F39.")(found.texts[1]).text, found.texts[2]]
    edited = judged(found.task, texts)
    text = Elements(edited.html()).text
    assert all(f"program 2, line {finding.line}: {finding.rule}" in text for finding in edited.verdict.findings)
    assert edited.verdict.findings


@pytest.mark.parametrize("job", [make_job(), make_job(INCH_TEXT)], ids=["mm", "inch"])
def test_bores_and_times_are_those_of_the_summary(job: Any) -> None:
    found = judged_job(job)
    facts = summary(found.task, found.verdict, [])
    text = Elements(found.html()).text
    assert f"fingerprint of job and post {facts['fingerprint']}" in text
    assert f"Time {minutes(facts['cycle_time_s'])}, of it cutting {minutes(facts['cut_time_s'])};" in text
    for bore in facts["bores"]:
        row = f"{bore['start']:g} {bore['end']:g} {bore['cutter_rpm']:g} / {bore['spindle_rpm']:g} {bore['feed']:g}"
        assert row in text
    for gap in facts["unchecked"]:
        assert gap in text


def test_long_tables_end_and_say_how_much_is_left() -> None:
    count = MOST_BORES + 7
    bores = [{"face": -10 * at, "width": 3, "diameter": 84.0} for at in range(count)]
    job = make_job(bore=bores, machine={"travel": {"x": [-200, 100], "y": [-300, 300], "z": [-600, 0]}})
    found = judged_job(job)
    html = found.html()
    assert html.count('<th scope="row" data-bore=') == MOST_BORES
    assert "and 7 more" in html
    left = len(found.verdict.findings) - MOST_FINDINGS
    assert left > 0
    assert html.count("data-finding=") == MOST_FINDINGS
    assert f"and {left} more" in html


def test_without_its_script_the_page_shows_the_job() -> None:
    html = judged_job(make_job()).html()
    (without,) = re.findall(r"<noscript>(.*?)</noscript>", html, re.DOTALL)
    assert "does not run here" in without
    assert '<use href="#picture-side"' in without
    for name in ("side", "end"):
        assert f'<svg id="picture-{name}" class="scene {name}"' in html
    hidden = [
        attributes for _, attributes in Elements(html).attributes if "scripted" in (attributes.get("class") or "")
    ]
    assert hidden
    assert all("hidden" in attributes for attributes in hidden)


def test_a_survey_s_line_is_pictured_when_there_is_one() -> None:
    job = begin(ROOT / "samples" / "harbour-pump.toml", "longhand", walk=False).job
    found = facts(job, read_survey(ROOT / "samples" / "surveys" / "harbour-pump-spun.csv", job))
    task = begin(ROOT / "samples" / "harbour-pump.toml", "longhand", walk=False)
    texts = program_texts(task)
    verdict = prove_texts(task, texts, physics_only=False, read_twice=False)
    told = page(task, texts, verdict, line=found)
    (picture,) = re.findall(r'src="data:image/svg\+xml;base64,([^"]+)"', told)
    assert b64decode(picture).decode() == svg(found)
    assert "CLEANS UP: bore on the line least moved" in told
    assert "Which line to bore on" not in page(task, texts, verdict)


def test_a_page_of_physics_alone_has_the_program_s_speeds_and_what_to_beware_of() -> None:
    job = make_job()
    edited = posted(job).replace("S760", "S400").replace("F38.000", "F50.000")
    text = Elements(judged(task_of(job), [edited], physics_only=True).html(physics_only=True)).text
    assert text.count("200 / 400") == text.count("50 / 0.25") == 3
    assert "380 / 760" not in text
    assert "Speeds and feeds are the program's own" in text
    assert "spindle 400 rpm (200 at the cutter) in bore 1, where the job has 760 rpm" in text
    assert "a minute / a cutter turn" in text
    whole = Elements(judged_job(job).html()).text
    assert "Beware" not in whole
    assert "program's own" not in whole


def test_a_page_leaves_a_bore_s_figures_out_where_there_are_none() -> None:
    job = make_job()
    uncut = "\n".join(line for line in posted(job).split("\n") if "bore 2)" not in line)
    text = Elements(judged(task_of(job), [uncut], physics_only=True).html(physics_only=True)).text
    assert text.count("380 / 760") == 2
