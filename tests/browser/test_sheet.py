"""The setup sheet on paper and on a screen: pages of print, nothing fetched, nothing cut off."""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from gen.pipeline import Task, begin, program_texts, prove_texts
from gen.sheet import sheet
from tests.jobs import make_job
from tests.programs import SAMPLES, task_of
from tests.test_samples import POST_OF

PAPERS: Final = ("A4", "Letter")
TWO_PAGES: Final = ("slipway-winch",)
"""The sample whose nine passes and cautions ask for a second page."""


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 768, "height": 1024})
    opened = context.new_page()
    yield opened
    context.close()


def show(page: Page, folder: Path, task: Task) -> None:
    verdict = prove_texts(task, program_texts(task), physics_only=False, read_twice=False)
    path = folder / "sheet.html"
    path.write_text(sheet(task, verdict), encoding="utf-8")
    page.goto(path.as_uri())


def printed(page: Page, paper: str) -> PdfReader:
    return PdfReader(io.BytesIO(page.pdf(format=paper)))


def row(count: int) -> list[dict[str, Any]]:
    return [{"face": -60 * at, "width": 28, "diameter": 84.0} for at in range(count)]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_s_sheet_opens_and_prints(path: Path, page: Page, tmp_path: Path) -> None:
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    show(page, tmp_path, begin(path, POST_OF.get(path.stem, "longhand"), walk=False))
    assert asked == [(tmp_path / "sheet.html").as_uri()]
    assert said == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 768
    most = 2 if path.stem in TWO_PAGES else 1
    for paper in PAPERS:
        pages = printed(page, paper).pages
        assert len(pages) == most
        assert "No warranty" in " ".join(pages[-1].extract_text().split())


@pytest.mark.parametrize(("count", "most"), [(5, 1), (12, 2)])
def test_a_row_takes_the_pages_it_is_promised(count: int, most: int, page: Page, tmp_path: Path) -> None:
    show(page, tmp_path, task_of(make_job(bore=row(count))))
    for paper in PAPERS:
        assert len(printed(page, paper).pages) <= most


def test_a_long_row_s_table_goes_on_under_its_heading(page: Page, tmp_path: Path) -> None:
    show(
        page,
        tmp_path,
        task_of(make_job(bore=[{**one, "face": -11 * at, "width": 4} for at, one in enumerate(row(60))])),
    )
    first, second = (one.extract_text() for one in printed(page, "A4").pages[:2])
    for text in (first, second):
        assert "start X" in text


def test_several_programs_print_on_one_page(page: Page, tmp_path: Path) -> None:
    (path,) = (path for path in SAMPLES if path.stem == "brickworks-press")
    show(page, tmp_path, begin(path, "one-pass", walk=False))
    assert [len(printed(page, paper).pages) for paper in PAPERS] == [1, 1]


def test_nothing_is_cut_off_on_a_small_screen(page: Page, tmp_path: Path) -> None:
    show(page, tmp_path, task_of(make_job()))
    page.set_viewport_size({"width": 360, "height": 700})
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.set_viewport_size({"width": 768, "height": 1024})


def test_pictures_are_drawn_to_one_scale_side_by_side(page: Page, tmp_path: Path) -> None:
    show(page, tmp_path, task_of(make_job()))
    side, end = (page.locator(f"svg.{which}").bounding_box() for which in ("side", "end"))
    assert side is not None
    assert end is not None
    assert side["height"] == pytest.approx(end["height"], abs=1)
    assert side["y"] == pytest.approx(end["y"], abs=1)
    assert side["x"] + side["width"] <= end["x"] + 1
    assert side["width"] > 100
