"""The page on paper: what is printed, and on how many pages."""

import io
from pathlib import Path
from typing import Final

import pytest
from playwright.sync_api import Page
from pypdf import PdfReader

from gen.linefacts import facts
from gen.survey import read
from tests.browser.opened import sample, show
from tests.jobs import make_job
from tests.pages import judged_job
from tests.programs import NOT_FITTING, ROOT, SAMPLES

PRINTED: Final = ("harbour-pump", "quarry-compressor", "slipway-winch")


@pytest.mark.parametrize(
    "path", [NOT_FITTING, *(path for path in SAMPLES if path.stem in PRINTED)], ids=lambda path: path.stem
)
def test_a_page_prints_on_two_pages_at_most(path: Path, tab: Page, tmp_path: Path) -> None:
    found = sample(path)
    show(tab, tmp_path, found)
    tab.keyboard.press("End")
    for paper in ("A4", "Letter"):
        pages = PdfReader(io.BytesIO(tab.pdf(format=paper))).pages
        text = " ".join(page.extract_text() for page in pages)
        assert len(pages) <= 2
        assert "PROVED" in text
        assert "Bores" in text
        assert "Pause" not in text
        assert "what the control does" not in text
        for finding in found.verdict.findings[:12]:
            assert f"line {finding.line}: {finding.rule}" in text


@pytest.mark.long
def test_a_long_row_with_many_findings_prints_on_two_pages(tab: Page, tmp_path: Path) -> None:
    bores = [{"face": -20 * at, "width": 4, "diameter": 84.0} for at in range(60)]
    rails = [{"name": f"rail {at}", "x": [-99, 9], "y": [200, 210], "z": [9 * at, 9 * at + 5]} for at in range(60)]
    job = make_job(bore=bores, obstacle=rails, machine={"travel": {"x": [-200, 100], "y": [-300, 300], "z": [-600, 0]}})
    found = judged_job(job)
    assert len(found.verdict.findings) > 50
    show(tab, tmp_path, found)
    for paper in ("A4", "Letter"):
        pages = PdfReader(io.BytesIO(tab.pdf(format=paper))).pages
        assert len(pages) <= 2
        assert "more, in the page itself" in " ".join(page.extract_text() for page in pages)


def test_a_page_with_a_survey_prints_on_two_pages_at_most(tab: Page, tmp_path: Path) -> None:
    found = sample(ROOT / "samples" / "harbour-pump.toml")
    survey = read(ROOT / "samples" / "surveys" / "harbour-pump-spun.csv", found.task.job)
    show(tab, tmp_path, found, line=facts(found.task.job, survey))
    for paper in ("A4", "Letter"):
        pages = PdfReader(io.BytesIO(tab.pdf(format=paper))).pages
        assert len(pages) <= 2
        assert "Which line to bore on" in " ".join(page.extract_text() for page in pages)
