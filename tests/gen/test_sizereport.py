import re
from typing import Any

from gen import sizing
from gen.readings import Measured, of_rows
from gen.sizereport import WIDEST, words
from tests.shop import line, round_of, rows, sized_job

JOB = sized_job()
SKIM = round_of(JOB, 83.08, [83.083, 83.082, 83.084])
ROUGH = round_of(JOB, 83.85, [83.812] * 3)


def facts(*rounds: Measured, **more: Any) -> dict[str, Any]:
    return sizing.facts(JOB, rounds[-1], rounds[:-1], rows=20_000, **more)


def lines_of(*rounds: Measured) -> list[str]:
    return words(facts(*rounds)).split("\n")


def test_the_whole_report_after_a_roughing_pass() -> None:
    sizes = {(0, 5): 83.812, (90, 5): 83.816, (0, 23): 83.81, (90, 23): 83.814}
    rough = of_rows(
        rows([line(b, "83.850", a, d, f"{size + b / 1000:.3f}") for b in (1, 2, 3) for (a, d), size in sizes.items()]),
        JOB,
    )
    # What is drawn by chance may change with numpy.
    assert [re.sub(r"99\.\d %$", "99.x %", told) for told in lines_of(SKIM, rough)] == [
        "Harbour pump engine, main housings, round 2",
        "  sizes       in millimetres",
        "",
        "  bore      set   before     mean      +-    taper  ovality  scatter  read          size",
        "  1     83.8500  83.0830  83.8140  0.0010  -0.0020   0.0040   0.0000     4  0.1890 under",
        "  2     83.8500  83.0820  83.8150  0.0010  -0.0020   0.0040   0.0000     4  0.1880 under",
        "  3     83.8500  83.0840  83.8160  0.0010  -0.0020   0.0040   0.0000     4  0.1870 under",
        "",
        "  cutter      bias 0.0083 mm larger than set, +- 0.0026; spring 5.6 % of the cut, +- 0.5",
        "              a setting repeats to 0.002 mm, bores scatter 0.0014; learned from 6 cuts",
        "",
        "  pass 3      finish: CUT: all bores are expected in tolerance with a chance of 99.x %",
        "  set         diameter 84.013 mm, bores 1, 2, 3",
        "  bore  expected     from       to  chance",
        "  1      84.0101  84.0040  84.0161  99.x %",
        "  2      84.0101  84.0040  84.0162  99.x %",
        "  3      84.0102  84.0041  84.0163  99.x %",
        "",
        "  verdict     CUT: pass 3, as told there",
    ]


def test_what_is_left_out_is_told() -> None:
    first = of_rows(rows([line(1, 84.02, "", "", 84.01)] * 4), JOB)
    lines = lines_of(SKIM, round_of(JOB, 83.85, [83.812] * 3), first)
    assert "  leave out   bore 1: in tolerance already" in lines


def test_a_bore_over_size_stands_out() -> None:
    lines = lines_of(SKIM, ROUGH, round_of(JOB, 84.02, [84.011, 84.0254, 84.01]))
    assert "0.0034 OVER" in lines[5]
    assert lines[4].endswith("in tolerance")
    assert lines[-3] == '  pass 3      finish: STOP: bore "2" is 0.0034 mm over its largest size'
    assert lines[-1] == (
        '  verdict     STOP: bore "2" over its largest size by 0.0034 mm: cut nothing; gauge it again, and if it is so'
        " give it limits in the job"
    )
    both = lines_of(SKIM, round_of(JOB, 84.02, [84.0254, 84.011, 84.0271]))[-1]
    assert 'bores "1", "3" over their largest size by 0.0034 mm, 0.0051 mm: cut nothing; gauge them' in both


def test_a_stop_is_the_verdict_and_tells_what_is_expected() -> None:
    told = facts(SKIM)
    (group,) = told["next"]
    group |= {"advice": "stop", "reason": "so it is", "set": None, "setting": None}
    lines = words(told).split("\n")
    assert lines[-1] == "  verdict     STOP: pass 2, for the reason told there"
    assert "  bore  expected     from       to" in lines
    assert not any(line.startswith("  set  ") for line in lines)


def test_a_finished_row_says_no_more_than_that() -> None:
    lines = lines_of(SKIM, ROUGH, round_of(JOB, 84.02, [84.011] * 3))
    assert lines[-3:] == [
        "  pass 3      finish: STOP: every bore is in tolerance",
        "",
        "  verdict     DONE: every bore is in tolerance",
    ]


def test_an_old_round_is_told_to_be_one() -> None:
    lines = words(sizing.facts(JOB, SKIM, (SKIM, ROUGH), rows=10)).split("\n")
    assert lines[0] == "Harbour pump engine, main housings, round 1 of 2 on record"
    assert lines[-1] == (
        "  verdict     OLD: this is round 1 of 2 on record; the row has gone on since: the next setting follows from"
        " what was measured last"
    )
    assert not any("CUT" in line for line in lines)
    over = round_of(JOB, 83.85, [84.1] * 3)
    assert "OLD: this is round 1 of 2" in words(sizing.facts(JOB, over, (over, ROUGH), rows=10))


def test_a_warm_block_and_notes_are_told() -> None:
    told = facts(SKIM) | {"temperature": 26.5, "grown": 74.1, "notes": ["so it is"]}
    lines = words(told).split("\n")
    assert (
        lines[1] == "  sizes       in millimetres, at 20 C; the block is at 26.5 C and grown by 74 parts in a million"
    )
    assert lines[-2] == "  note        so it is"
    cold = words(told | {"temperature": 15, "grown": -57.0}).split("\n")
    assert cold[1].endswith("the block is at 15 C and shrunk by 57 parts in a million")


def test_many_bores_are_cut_short() -> None:
    told = facts(SKIM)
    told["bores"] *= 70
    told["next"][0]["expected"] *= 70
    told["next"][0]["bores"] *= 70
    text = words(told)
    assert text.count(f"  and {210 - WIDEST} more; --json lists them all") == 2
    assert ", 2 and more\n" in text
