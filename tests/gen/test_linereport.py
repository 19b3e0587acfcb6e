"""The words about a line: what the machinist reads of moves, verdict and engine, in both units."""

import re
from typing import Any, Final

import pytest

from gen.linefacts import facts
from gen.linereport import CAUTIONS, WIDEST, words
from gen.surveyed import Surveyed
from tests.gen.test_linefacts import ARCH, ROW, arch, arch_job
from tests.jobs import make_job


def told(rises: tuple[float, ...] = (0, 0.03, 0), *, units: str = "mm", choose: str | None = None, **line: Any) -> str:
    return words(facts(arch_job(units, **line), arch(*rises), choose=choose))


def test_a_row_that_cleans_up() -> None:
    text = told()
    assert "verdict     CLEANS UP: bore on the line least moved" in text
    assert "at least 0.0800 mm of stock all round every bore" in text
    assert "held by     bore 2\n" in text
    assert "* least moved" in text
    assert "across (+Y) and rise (+Z) of the crank from the line through the end bores, at the end bores" in text
    assert "mm/m as X grows" in text
    assert all(caution in text for caution in CAUTIONS)


def test_short_stock_is_told_with_what_would_do() -> None:
    text = told(stock=0.09)
    assert "TOO LITTLE STOCK: every bore cleans up, but no line keeps 0.0900 mm wanted" in text
    assert "bore 2: 0.0050 mm less than the stock wanted, on the radius" in text
    assert "every bore larger by 0.0100 mm in diameter: 84.0100 mm" in text
    assert 'tell the job on which side they are, as [line] caps = "+Z"' in text
    assert "CLEANS UP:" not in text
    held = next(line for line in text.splitlines() if "held by" in line)
    assert all(f"bore {bore}" in held for bore in "123")


def test_bores_that_do_not_clean_up_are_named() -> None:
    text = told((0, 0.24, 0), stock=0.0)
    assert "DOES NOT CLEAN UP: no line clears every bore" in text
    assert 'bores "1", "2", "3"' in text
    assert "0.0 % that every bore cleans up" in text


def test_cuts_on_caps() -> None:
    text = told(stock=0.09, caps="+Z")
    assert "or off the caps' parting faces: bore 2 0.0100 mm; in all 0.0100 mm" in text
    assert "then the line is at Y 0.0000 Z +0.0100 at bore 1" in text
    assert "cutting caps does not help: across the parting 0.1000 mm is the most" in told(stock=0.11, caps="+Z")


CAM: Final = {"toward": "+Z", "x": 0, "drive": "chain", "most": 0.005}
LEGEND: Final = "!: breaks a limit of the crank, [line] never_lower or most of [line.cam]"


def test_the_crank_s_limit_is_told_as_such() -> None:
    text = told(cam=CAM, supports=(-210.0, -10.0), caps="+Z")
    assert "NOT WITHIN THE CRANK'S LIMITS: no line keeps 0.0800 mm wanted and the limits too" in text
    assert "within them the least stock is 0.0750 mm at most, on the line within limits\n" in text
    assert (
        "  would do    [line] stock = 0.075\n              or every bore larger by 0.0100 mm in diameter: 84.01" in text
    )
    assert "or off the caps' parting faces: bore 2 0.0050 mm; in all 0.0050 mm" in text
    assert "the most toward the camshaft at bore 1" in text
    assert "  * within limits  " in text
    assert "  The line within limits, which keeps LESS than the stock wanted, with the caps as they are" in text
    assert "support at X -210: lower 0.0050 mm, leave it in Y; zero stays" in text
    assert "the crank comes 0.0050 mm nearer to it, at X 0" in text
    assert "the chain becomes 0.0100 mm of its length slacker" in text


def test_little_stock_within_the_crank_s_limits() -> None:
    """Too little anyway, and less within the limits: what would do is reckoned there."""
    text = told(cam=CAM, stock=0.09)
    assert "TOO LITTLE STOCK: every bore cleans up, but no line within the crank's limits keeps 0.0900 mm" in text
    assert "would do    every bore larger by 0.0300 mm in diameter: 84.0300 mm" in text
    assert "no line within the crank's limits clears every bore; the one of most stock not bore" in told(
        (0, 0.24, 0), cam=CAM, stock=0.0
    )
    none = told((0, 0.12, 0), cam=CAM, stock=0.0)
    assert (
        'within them the least stock is -0.0150 mm at most, on the line within limits: it does not clean up bore "2"'
        in none
    )
    assert "would do    every bore larger by 0.0300 mm in diameter" in none, "no stock is so little"


def test_lines_that_break_a_limit_are_marked_and_one_chosen_is_a_caution() -> None:
    cam = CAM | {"most": 0.012}
    text = told(cam=cam, choose="most stock")
    assert "  * most stock !  " in text
    assert "    least moved   " in text
    assert LEGEND in text
    assert "  The line most stock, which BREAKS the crank's limits:" in text
    assert (
        "caution     the line most stock breaks the crank's limits: 0.0030 mm beyond the most toward the camshaft at"
        " bore 1, 0.0030 mm beyond the most toward the camshaft at bore 3\n"
    ) in text
    kept = told(cam=cam)
    assert "most stock !" in kept
    assert "breaks the crank's limits:" not in kept
    assert LEGEND not in told()
    lower = told((0, -0.03, 0), never_lower=True, stock=0.075, choose="most stock")
    assert "  The line most stock, which BREAKS the crank's limits:" in lower
    assert "0.0150 mm lower at bore 1, 0.0150 mm lower at bore 3" in lower
    hair = told(cam=cam | {"most": 0.01497}, choose="most stock")
    assert "less than 0.0001 mm beyond the most toward the camshaft at bore 1" in hair


def test_cuts_on_caps_that_do_not_help_for_the_limits() -> None:
    text = told((0, -0.03, 0), never_lower=True, caps="+Z")
    assert "cutting caps does not help: within the crank's limits 0.0700 mm is the most" in text


def test_a_new_zero_is_told_within_the_limits_or_what_it_breaks() -> None:
    kept = told((0, 0.03, 0.02), stock=0.05, never_lower=True)
    assert "with a new zero only, G54 Y 0.000 Z -379.980 (machine): least stock 0.0800 mm" in kept
    assert "no new zero keeps" not in kept
    broken = told((0, 0.03, 0.02), stock=0.05, never_lower=True, cam=CAM | {"most": 0.01})
    assert (
        "with a new zero only, G54 Y 0.000 Z -379.985 (machine): least stock 0.0850 mm\n"
        "              no new zero keeps the crank's limits; this one BREAKS them: 0.0050 mm beyond the most toward the"
        " camshaft at bore 1, 0.0050 mm lower at bore 3\n"
    ) in broken


def test_a_new_zero_makes_earlier_surveys_old() -> None:
    assert (
        "caution     after a new zero earlier surveys and `centre` no longer count: take the step off their Y and Z, or"
        " survey again\n"
    ) in told()


@pytest.mark.parametrize(
    ("rises", "says"),
    [
        ((0.05, 0.03, 0.01), "support at X -210: lower 0.0100 mm, leave it in Y; zero stays"),
        ((0.05, 0.03, 0.01), "or only the support at X -10: lower 0.0400 mm, leave it in Y,"),
        ((0.05, 0.03, 0.01), "and zero: G54 Y 0.000 Z -379.990 (machine)"),
        ((-0.02, -0.01, 0.0), "support at X -10: raise 0.0200 mm, leave it in Y; zero stays"),
        ((-0.02, -0.01, 0.0), "support at X -210: leave its height, leave it in Y; zero stays"),
    ],
)
def test_moves_of_the_supports(rises: tuple[float, ...], says: str) -> None:
    assert says in told(rises, supports=(-210.0, -10.0), choose="end bores")


def test_a_job_that_does_not_tell_its_supports_is_asked_for_them() -> None:
    text = told()
    assert "tell the job where it can be moved, as [line] supports = [X, X], for how far" in text
    assert "with a new zero only, G54 Y 0.000 Z -379.985 (machine): least stock 0.0850 mm" in text


def test_gears_and_decks() -> None:
    text = told(
        cam={"toward": "+Z", "x": 0, "drive": "gears", "pressure_angle": 20, "backlash": 0.1},
        deck=[{"toward": "-Z", "height": 200, "name": "left bank"}, {"toward": "+Z"}],
    )
    assert "the crank comes 0.0100 mm nearer to it, at X 0" in text
    assert "backlash shrinks by 0.0073 mm, to 0.0927 mm" in text
    assert "left bank   height above the crank +0.0100 at bore 1 (then 200.0100 mm), +0.0100 at bore 3" in text
    assert "deck        height above the crank -0.0100 at bore 1, -0.0100 at bore 3" in text
    away = told(cam={"toward": "-Z", "x": 0, "drive": "chain"})
    assert "the crank comes 0.0100 mm farther from it" in away
    assert "0.0200 mm of its length tighter" in away


def test_inches_have_five_digits_and_a_foot() -> None:
    text = told(units="inch", supports=(-210.0, -10.0))
    assert "in/ft as X grows" in text
    assert "at least 0.00315 in of stock" in text
    assert re.search(r"with a new zero only, G54 Y 0\.0000 Z -\d+\.\d{4} \(machine\)", text)
    assert " mm" not in text


def test_check_readings_are_told_of_every_bore() -> None:
    """On the ends' line the middle hole is 0.03 above: the bottom comes 0.06 nearer than the top, the sides 0.03."""
    lines = told(choose="end bores").splitlines()
    head = next(number for number, line in enumerate(lines) if "thinnest" in line and "bottom" in line)
    assert lines[head].split() == ["bore", "+Y", "bottom", "-Y", "thinnest", "at"]
    assert [line.split() for line in lines[head + 1 : head + 4]] == [
        ["1", "0.0000", "0.0000", "0.0000", "+0.1000", "-"],
        ["2", "+0.0300", "+0.0600", "+0.0300", "+0.0700", "0"],
        ["3", "0.0000", "0.0000", "0.0000", "+0.1000", "-"],
    ]


def test_what_top_and_bottom_less_left_and_right_is_stands_below_it() -> None:
    legend = "T+B-L-R: how much larger a sweep has the diameter top to bottom than the one across"
    swept = [section._replace(told="sweep", cross=0.0) for section in ARCH.sections]
    assert legend in words(facts(arch_job(), Surveyed(tuple(swept))))
    assert legend not in told(), "of centres none is told"


def test_a_size_that_the_job_does_not_know_is_a_caution() -> None:
    row = [bore | {"measured": [83.9, 83.92], "hole": None} for bore in ROW]
    text = words(facts(make_job(bore=row), ARCH))
    assert (
        'caution     bore "2" is 83.8 mm in the survey, but the job says measured = [83.9, 83.92]: see which is right;'
        " stock is by the survey\n"
    ) in text
    assert "in the survey" not in told()


def test_bores_of_any_name_stand_in_the_words() -> None:
    names = ['No. "1" <left>', "100 % & {x}", "größte"]
    job = make_job(bore=[bore | {"name": name} for bore, name in zip(ROW, names, strict=True)], line={"stock": 0.09})
    text = words(facts(job, ARCH))
    for name in names:
        assert f"bore {name}: 0.0050 mm less than the stock wanted" in text
    assert f"across {names[0]}" in text


def test_a_long_row_is_told_in_part() -> None:
    found = facts(arch_job(), ARCH)
    many = found | {
        "sections": found["sections"] * WIDEST,
        "checks": found["checks"] * WIDEST,
        "lines": [line | {key: line[key] * WIDEST for key in ("stock", "thinnest")} for line in found["lines"]],
    }
    text = words(many)
    assert text.count(f"and {2 * WIDEST} more; --json lists them all") == 2
    assert len(text.splitlines()) < 2 * WIDEST + 60
