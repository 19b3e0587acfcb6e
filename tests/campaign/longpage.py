"""The page of a program of 200,000 blocks: how large it is, how soon it opens, how quickly it scrubs and plays.

Run it by hand: ``python -m tests.campaign.longpage``. It takes about a minute and a browser, and ends with exit code 1
where the page is larger than promised or does not show what it should.
"""

import sys
import tempfile
import time
from pathlib import Path
from typing import Final

from playwright.sync_api import Page, sync_playwright

from gen.pipeline import program_texts
from tests.browser.conftest import ARGUMENTS, browser_path
from tests.jobs import make_job
from tests.pages import Judged, judged
from tests.programs import task_of

BORES: Final = 5000
TIMES: Final = 5
"""How often the row is bored, one pass after the other, to make a long program."""
BLOCKS: Final = 170_000
MOST_BYTES: Final = 20_000_000
SCRUB: Final = """part => {
  const slider = document.getElementById("scrub"), before = performance.now();
  slider.value = part * slider.max;
  slider.dispatchEvent(new Event("input"));
  document.body.getBoundingClientRect();
  return performance.now() - before;
}"""
FRAMES: Final = """() => new Promise(done => {
  const from = performance.now();
  let frames = 0;
  const frame = now => {
    frames += 1;
    if (now - from > 3000) done(frames / (now - from) * 1000); else requestAnimationFrame(frame);
  };
  requestAnimationFrame(frame);
})"""


def long_program() -> Judged:
    """A row bored again and again, judged."""
    bores = [{"face": -9.7 * at, "width": 3, "diameter": 84.0} for at in range(BORES)]
    far = {"travel": {"x": [-9.7 * BORES - 1000, 1000], "y": [-300, 300], "z": [-600, 0]}}
    task = task_of(make_job(bore=bores, machine=far))
    (text,) = program_texts(task)
    lines = text.splitlines()
    first = next(number for number, line in enumerate(lines) if line.startswith("(bore 1:"))
    last = lines.index("M30")
    longer = [*lines[:first], *lines[first:last] * TIMES, *lines[last:], ""]
    return judged(task, ["\n".join(longer)], physics_only=True)


def measure(page: Page, path: Path) -> bool:
    """Open, scrub, play; whether the page has all blocks and moves."""
    before = time.perf_counter()
    page.goto(path.as_uri())
    steps = int(page.locator("html").get_attribute("data-ready") or 0)
    print(f"opened in {time.perf_counter() - before:.1f} s, {steps} blocks")
    places = set()
    for part in (0.1, 0.5, 0.93, 0.02):
        print(f"scrubbed to {part:.2f} in {page.evaluate(SCRUB, part):.0f} ms")
        places.add(page.locator("#where").text_content())
    page.keyboard.press("Space")
    print(f"plays at {page.evaluate(FRAMES):.0f} frames a second")
    return steps > BLOCKS and len(places) == 4


def main() -> int:
    """Make the page, measure it."""
    found = long_program()
    before = time.perf_counter()
    html = found.html(physics_only=True)
    lines = len(found.verdict.joined.lines)
    print(f"page of {lines} lines made in {time.perf_counter() - before:.1f} s: {len(html) / 1e6:.1f} MB")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        path = Path(folder) / "page.html"
        path.write_text(html, encoding="utf-8")
        browser = playwright.chromium.launch(executable_path=browser_path(), args=list(ARGUMENTS))
        works = measure(browser.new_page(), path)
        browser.close()
    return 0 if works and len(html) < MOST_BYTES else 1


if __name__ == "__main__":
    sys.exit(main())
