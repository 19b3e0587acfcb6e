"""A replay page opened in a browser: what it shows, what it asked for, what it complained of."""

from pathlib import Path
from typing import Any, Final, NamedTuple

from playwright.sync_api import Page, expect

from gen.pipeline import begin
from post.telling import SENSE_WORD
from post.units import MM_PER, UNIT_WORD, Units, plain
from tests.pages import Judged, Shown, as_shown, judged
from tests.test_samples import POST_OF

SHOWN: Final = ("where", "x", "y", "z", "machine-x", "machine-y", "machine-z", "spindle", "cutter", "feed", "words")
READ: Final = f"() => Object.fromEntries({list(SHOWN)}.map(id => [id, document.getElementById(id).textContent]))"
STEP_THROUGH: Final = f"""() => {{
  const press = key => document.body.dispatchEvent(new KeyboardEvent("keydown", {{ key, bubbles: true }}));
  const read = {READ};
  press("Home");
  const all = [read()];
  const count = Number(all[0].where.match(/of (\\d+)/)[1]);
  while (all.length < count) {{ press("ArrowRight"); all.push(read()); }}
  return all;
}}"""
SCRUB: Final = """part => {
  const slider = document.getElementById("scrub");
  slider.value = part * slider.max;
  slider.dispatchEvent(new Event("input"));
}"""


class Opened(NamedTuple):
    """A page that is open, what it asked for, and what it complained of."""

    page: Page
    asked: list[str]
    said: list[str]
    path: Path

    def text(self, id_: str) -> str:
        return self.page.locator(f"#{id_}").text_content() or ""

    def read(self) -> dict[str, str]:
        read: dict[str, str] = self.page.evaluate(READ)
        return read

    def line(self) -> int:
        return int(self.text("where").split("line ")[1].split(",")[0])


def show(tab: Page, folder: Path, found: Judged, **options: Any) -> Opened:
    path = folder / "page.html"
    path.write_text(found.html(**options), encoding="utf-8")
    tab.set_viewport_size({"width": 1280, "height": 800})
    opened = Opened(tab, [], [], path)
    tab.on("request", lambda request: opened.asked.append(request.url))
    tab.on("console", lambda message: opened.said.append(message.text))
    tab.on("pageerror", lambda error: opened.said.append(str(error)))
    tab.goto(path.as_uri())
    assert tab.locator("html[data-ready]").count() == 1
    return opened


def stands(tab: Page) -> None:
    """Wait until the replay does not play any more."""
    expect(tab.locator("#play")).to_have_text("Play", timeout=20_000)


def sample(path: Path) -> Judged:
    return judged(begin(path, POST_OF.get(path.stem, "longhand"), walk=False))


def is_whole(opened: Opened) -> None:
    """It asked for nothing but itself, and complained of nothing."""
    assert opened.asked == [opened.path.as_uri()]
    assert opened.said == []


def holds(told: dict[str, str], block: Shown, found: Judged, units: Units) -> None:
    """What is read out after a block is what the replay says."""
    job = found.task.job
    zero = (job.machine.zero.x, job.machine.zero.y, job.machine.zero.z)
    for axis, at, machine in zip("xyz", block.at, zero, strict=True):
        assert told[axis] == as_shown(at, units)
        assert told[f"machine-{axis}"] == as_shown(at + machine, units)
    sense = block.spin.sense
    if sense is None:
        assert told["spindle"] == told["cutter"] == "stands still"
    else:
        assert told["spindle"] == f"{plain(block.spin.rpm, 3)} rpm {SENSE_WORD[sense]} seen from above"
        cutter = sense.opposite if job.head.reverses else sense
        cutter_rpm = plain(block.spin.rpm / job.head.ratio, 3)
        assert told["cutter"] == f"{cutter_rpm} rpm {SENSE_WORD[cutter]} seen from the head"
    if block.feed is not None:
        feed = plain(block.feed / MM_PER[units], 3 if units == "mm" else 4)
        assert told["feed"] == f"{feed} {UNIT_WORD[units]}/min"
