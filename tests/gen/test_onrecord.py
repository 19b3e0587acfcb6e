from gen.onrecord import had_it_before, move_away, place
from gen.readings import of_rows
from tests.shop import line, round_of, rows, sized_job

JOB = sized_job()
SKIM = round_of(JOB, 83.08, [83.083] * 3)


def test_bores_that_had_their_setting_before_are_told_with_the_last_round_of_it() -> None:
    rough = round_of(JOB, 83.85, [83.812] * 3)
    one = of_rows(rows([line(2, 83.08, "", "", 83.085), line(3, 83.09, "", "", 83.085)]), JOB)
    assert had_it_before(one, [SKIM, rough]) == {1: 1}
    assert had_it_before(one, [SKIM, rough, SKIM, rough]) == {1: 3}
    assert had_it_before(SKIM, [rough]) == {}


def test_another_block_is_only_spoken_of_where_there_is_a_record() -> None:
    assert move_away([]) == ""
    assert place([SKIM]) == "measured.csv"
    assert move_away([SKIM]) == "; if this is another block, move measured.csv away"
