"""The page in a browser: it opens, plays, jumps and prints, and what it reads out is what the replay says."""

import math
from pathlib import Path
from typing import Final

import pytest
from playwright.sync_api import Browser, Page, expect

from gen.pipeline import begin
from post.timeline import Move
from tests.browser.opened import SCRUB, STEP_THROUGH, holds, is_whole, sample, show, stands
from tests.jobs import make_job
from tests.pages import judged, judged_job, shown_at_blocks
from tests.programs import NOT_FITTING, SAMPLES, SETTINGS, change, posted, task_of
from tests.shop import PASSES, sized_job


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_s_page_reads_out_the_replay_and_plays_to_the_end(path: Path, tab: Page, tmp_path: Path) -> None:
    found = sample(path)
    opened = show(tab, tmp_path, found)
    blocks = {block.line: block for block in shown_at_blocks(found.verdict)}
    for units in ("mm", "inch"):
        tab.select_option("#units", units)
        held = 0
        for told in tab.evaluate(STEP_THROUGH):
            line = int(told["where"].split("line ")[1].split(",")[0])
            if line in blocks:
                holds(told, blocks[line], found, units)
                held += 1
        assert held == len(blocks) > 10
    tab.set_viewport_size({"width": 768, "height": 1024})
    assert tab.evaluate("document.documentElement.scrollWidth") <= 768
    tab.keyboard.press("Home")
    tab.uncheck("#stops")
    tab.select_option("#speed", "20000")
    tab.click("#play")
    stands(tab)
    assert opened.line() == found.verdict.timeline.events[-1].line
    assert opened.text("remaining") == "0:00.0"
    is_whole(opened)


def test_stepping_shows_the_words_of_the_telling_and_keeps_the_listing_in_sight(tab: Page, tmp_path: Path) -> None:
    found = judged_job(make_job())
    opened = show(tab, tmp_path, found)
    for told in tab.evaluate(STEP_THROUGH)[-3:]:
        assert told["words"]
    current = tab.locator(".row.current")
    assert current.count() == 1
    assert current.get_attribute("data-line") == str(opened.line())
    assert current.is_visible()
    assert "end of the program" in (current.text_content() or "")
    is_whole(opened)


def test_scrubbing_stands_part_way_through_a_move(tab: Page, tmp_path: Path) -> None:
    found = judged_job(make_job())
    opened = show(tab, tmp_path, found)
    tool = tab.locator("#picture-side .tool")
    seen = set()
    for part in (0.1, 0.3, 0.62, 0.9, 0.05):
        tab.evaluate(SCRUB, part)
        seen.add(tool.get_attribute("transform"))
        x, z = float(opened.text("x")), float(opened.text("z"))
        moved = tool.get_attribute("transform") or ""
        across, down = (float(value) for value in moved.removeprefix("translate(").removesuffix(")").split(","))
        assert across == pytest.approx(x, abs=1e-3)
        assert down == pytest.approx(-z, abs=1e-3)
        (event,) = (one for one in found.verdict.timeline.events if one.line == opened.line())
        assert isinstance(event, Move)
        low, high = sorted((event.start[0], event.end[0]))
        assert low - 1e-3 <= x <= high + 1e-3
    assert len(seen) == 5


def test_play_waits_at_a_stop_and_shows_its_message(tab: Page, tmp_path: Path) -> None:
    opened = show(tab, tmp_path, judged_job(SETTINGS))
    tab.select_option("#speed", "20000")
    tab.click("#play")
    stands(tab)
    assert tab.locator("#halt").is_visible()
    assert "90" in opened.text("halt")
    first = opened.line()
    tab.keyboard.press(" ")
    expect(tab.locator("#where")).not_to_contain_text(f"line {first},")
    stands(tab)
    assert opened.line() > first
    assert "84" in opened.text("halt")


def test_keys_work_while_the_slider_or_the_box_has_the_focus(tab: Page, tmp_path: Path) -> None:
    opened = show(tab, tmp_path, judged_job(SETTINGS))
    tab.focus("#scrub")
    tab.keyboard.press("b")
    first = opened.line()
    tab.locator("input[type=checkbox]").first.focus()
    tab.keyboard.press("b")
    assert opened.line() > first > 1


def test_programs_play_one_after_the_other(tab: Page, tmp_path: Path) -> None:
    opened = show(tab, tmp_path, judged_job(SETTINGS, "one-pass"))
    tab.select_option("#speed", "20000")
    tab.click("#play")
    stands(tab)
    assert opened.text("where").startswith("program 1, line ")
    assert "next is program 2 of 3: set the cutter for diameter 90 mm" in opened.text("halt")
    tab.keyboard.press("End")
    assert opened.text("where").startswith("program 3, line ")
    is_whole(opened)


def test_a_finding_takes_the_replay_to_its_line(tab: Page, tmp_path: Path) -> None:
    found = judged(begin(NOT_FITTING, "longhand", walk=False))
    opened = show(tab, tmp_path, found)
    assert tab.locator("#verdict").inner_text().startswith("NOT PROVED")
    last = found.verdict.findings[-1]
    tab.locator("#findings button").nth(len(found.verdict.findings) - 1).click()
    assert opened.line() == last.line
    assert "they meet" in opened.text("nearest")
    assert opened.text("wrong") == f"\u2715 {last.rule}: {last.message}"
    assert f"Found: {last.rule}" in opened.text("heard")
    assert tab.locator(".row.current.found").count() == 1
    tab.keyboard.press("Home")
    for finding in found.verdict.findings[:2]:
        tab.keyboard.press("f")
        assert opened.line() == finding.line
    tab.keyboard.press("Shift+F")
    assert opened.line() == found.verdict.findings[0].line
    is_whole(opened)


def test_everything_can_be_done_by_keys(tab: Page, tmp_path: Path) -> None:
    opened = show(tab, tmp_path, judged_job(make_job()))
    start = opened.line()
    tab.keyboard.press("ArrowRight")
    tab.keyboard.press("ArrowRight")
    assert opened.line() > start
    tab.keyboard.press("ArrowLeft")
    tab.keyboard.press("ArrowLeft")
    tab.keyboard.press("Home")
    assert opened.line() == start
    tab.keyboard.press("b")
    assert "feed to X" in opened.text("words")
    assert opened.text("x") == "3.000"
    tab.keyboard.press("b")
    assert opened.text("x") == "-127.000"
    tab.keyboard.press("Shift+B")
    assert opened.text("x") == "3.000"
    tab.keyboard.press("u")
    assert opened.text("x") == "0.1181"
    tab.keyboard.press("u")
    speed = tab.input_value("#speed")
    tab.keyboard.press("+")
    assert float(tab.input_value("#speed")) > float(speed)
    tab.keyboard.press("-")
    assert tab.input_value("#speed") == speed
    tab.keyboard.press("t")
    assert tab.evaluate("document.documentElement.dataset.theme") == "light"
    tab.keyboard.press("?")
    assert tab.locator("#help kbd").first.is_visible()
    tab.keyboard.press("Space")
    assert opened.text("play") == "Pause"
    tab.keyboard.press("Space")
    assert opened.text("play") == "Play"
    is_whole(opened)


def test_keys_reach_buttons_lists_and_bores_by_tab_alone(tab: Page, tmp_path: Path) -> None:
    opened = show(tab, tmp_path, judged_job(make_job()))
    reached = []
    for _ in range(24):
        tab.keyboard.press("Tab")
        reached.append(
            tab.evaluate("document.activeElement.id || document.activeElement.getAttribute('aria-label') || ''")
        )
    for wanted in ("bore 2: to its first cut", "to-start", "back", "play", "forward", "to-end", "scrub", "rows"):
        assert wanted in reached
    tab.locator("#picture-side [aria-label='bore 2: to its first cut']").focus()
    tab.keyboard.press("Enter")
    assert opened.text("x") == "-127.000"
    tab.locator("#rows").focus()
    line = opened.line()
    tab.keyboard.press("ArrowDown")
    tab.keyboard.press("ArrowDown")
    assert opened.line() > line
    tab.locator("#speed").focus()
    line = opened.line()
    tab.keyboard.press("Home")
    assert opened.line() == line, "a list's own keys are left to it"


def test_clicks_on_listing_strip_and_bore_go_there(tab: Page, tmp_path: Path) -> None:
    opened = show(tab, tmp_path, judged_job(make_job()))
    tab.locator("#rows").evaluate("rows => { rows.scrollTop = 0; }")
    tab.locator(".row[data-line='17']").click()
    assert opened.line() == 17
    strip = tab.locator("#strip .graph")
    box = strip.bounding_box()
    assert box is not None
    strip.click(position={"x": box["width"] / 2, "y": 10})
    total = tab.evaluate("Number(document.getElementById('scrub').max)")
    assert float(tab.input_value("#scrub")) == pytest.approx(total / 2, rel=0.01)
    tab.locator("#picture-side .bore[data-bore='1'] .hole").dispatch_event("click")
    assert opened.text("x") == "-127.000"
    tab.locator("table [data-bore='2'] button").click()
    assert opened.text("x") == "-252.000"


def test_what_is_bored_grows_behind_the_cutter(tab: Page, tmp_path: Path) -> None:
    opened = show(tab, tmp_path, judged_job(make_job()))
    wide = "document.querySelector('.bore[data-bore=\"0\"] .bored').getBBox().width"
    tab.keyboard.press("b")
    assert tab.evaluate(wide) == 0
    tab.keyboard.press("ArrowRight")
    assert tab.evaluate(wide) == pytest.approx(32, abs=0.01)
    tab.keyboard.press("Home")
    assert tab.evaluate(wide) == 0
    assert opened.said == []


WIDTHS: Final = """() => {
  const press = key => document.body.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
  const wide = kind => document.querySelector(`.bore[data-bore="0"] .${kind}`).getBBox().width;
  const read = () => [document.getElementById("where").textContent, wide("begun"), wide("bored")];
  press("Home");
  const all = [read()];
  const count = Number(all[0][0].match(/of (\\d+)/)[1]);
  while (all.length < count) { press("ArrowRight"); all.push(read()); }
  return all;
}"""


def test_a_bore_is_begun_by_the_first_pass_that_cuts_and_bored_by_its_last(tab: Page, tmp_path: Path) -> None:
    job = sized_job(1, passes={**PASSES, "air": True})
    opened = show(tab, tmp_path, judged_job(job))
    through = [number for number, line in enumerate(posted(job).split("\n"), 1) if "feed through bore 1" in line]
    shown = {int(where.split("line ")[1].split(",")[0]): widths for where, *widths in tab.evaluate(WIDTHS)}
    assert [shown[line] for line in through] == [[0, 0], [28, 0], [28, 0], [28, 28]]
    assert "cut, more passes to come" in (tab.locator(".key-begun").text_content() or "")
    assert tab.locator(".key-begun").is_visible()
    tab.keyboard.press("Home")
    tab.keyboard.press("b")
    assert opened.line() == through[1]
    assert opened.said == []


def test_where_every_bore_is_cut_once_none_is_begun(tab: Page, tmp_path: Path) -> None:
    show(tab, tmp_path, judged_job(make_job()))
    assert tab.locator(".key-begun").count() == 0
    assert all(begun == 0 for _, begun, _ in tab.evaluate(WIDTHS))


def test_the_strip_tells_of_nothing_to_be_near_to(tab: Page, tmp_path: Path) -> None:
    opened = show(tab, tmp_path, judged_job(make_job()))
    assert "nothing to be near to" in opened.text("strip")
    assert "nothing to be near to" in opened.text("nearest")


def test_whoever_listens_is_told_the_block_when_the_replay_stands(tab: Page, tmp_path: Path) -> None:
    opened = show(tab, tmp_path, judged_job(make_job()))
    assert tab.locator("#heard").get_attribute("aria-live") == "polite"
    tab.keyboard.press("End")
    assert opened.text("heard") == f"{opened.text('where')}: {opened.text('words')}"


def test_a_job_called_like_a_script_is_only_called_so(tab: Page, tmp_path: Path) -> None:
    name = "</script><script>document.title='no'</script><img src=x>"
    bore = {"name": "<b>1", "face": 0, "width": 32, "diameter": 84.0}
    opened = show(tab, tmp_path, judged_job(make_job(name=name, bore=[bore])))
    assert tab.locator("h1").inner_text() == name
    assert tab.title().startswith(name)
    assert tab.locator("img").count() == 0
    assert tab.locator("table button", has_text="<b>1").count() == 1
    is_whole(opened)


def test_without_script_the_pictures_stand_and_the_rest_is_not_there(browser: Browser, tmp_path: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    tab = context.new_page()
    path = tmp_path / "page.html"
    path.write_text(judged_job(make_job()).html(), encoding="utf-8")
    tab.goto(path.as_uri())
    assert tab.locator("#picture-side").is_visible()
    assert tab.locator("#picture-end").is_visible()
    assert tab.locator("noscript svg").is_visible()
    assert not tab.locator("#play").is_visible()
    assert tab.locator("#findings").is_visible()
    context.close()


def test_a_program_that_cannot_be_read_still_opens(tab: Page, tmp_path: Path) -> None:
    for text in ("", "G21 G90\nG1 X1 Q9\nM30\n"):
        opened = show(tab, tmp_path, judged(task_of(make_job()), [text]))
        tab.keyboard.press("ArrowRight")
        tab.keyboard.press("End")
        tab.keyboard.press("b")
        tab.keyboard.press("f")
        tab.keyboard.press("Space")
        assert opened.said == []


def test_a_program_edited_by_hand_shows_what_it_does(tab: Page, tmp_path: Path) -> None:
    job = make_job()
    edit = change("X-34.5", "X-31")(posted(job))
    found = judged(task_of(job), [edit.text])
    opened = show(tab, tmp_path, found)
    tab.locator("#findings button").first.click()
    assert opened.line() == found.verdict.findings[0].line
    assert not math.isnan(float(opened.text("x")))


@pytest.mark.long
def test_a_long_program_opens_scrubs_and_plays(tab: Page, tmp_path: Path) -> None:
    bores = [{"face": -9.5 * at, "width": 3, "diameter": 84.0} for at in range(500)]
    far = {"travel": {"x": [-9000, 100], "y": [-300, 300], "z": [-600, 0]}}
    found = judged_job(make_job(bore=bores, machine=far))
    opened = show(tab, tmp_path, found)
    blocks = {block.line: block for block in shown_at_blocks(found.verdict)}
    rows = tab.locator(".row").count()
    assert rows < 100, "only rows in sight are there"
    for at in (40, 1700, 3400):
        line = sorted(blocks)[min(at, len(blocks) - 1)]
        tab.locator("#rows").evaluate(f"rows => {{ rows.scrollTop = {22 * (line - 3)}; }}")
        tab.locator(f".row[data-line='{line}']").click()
        assert opened.line() == line
        holds(opened.read(), blocks[line], found, "mm")
    tab.evaluate(SCRUB, 0.5)
    assert tab.locator(".row.current").is_visible()
    is_whole(opened)
