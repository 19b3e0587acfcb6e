from gen.onrecord import changed_since, had_it_before, move_away, place
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


def test_a_first_cut_that_fits_the_job_is_not_noted() -> None:
    assert list(changed_since(JOB, [])) == []
    assert list(changed_since(JOB, [SKIM, round_of(JOB, 83.81, [83.083] * 3)])) == []


def test_a_first_cut_that_left_no_more_than_was_there_is_noted() -> None:
    """It may have been set above that, as cutters cut smaller than set."""
    bores = [one.model_dump(include={"name", "face", "width", "diameter", "measured"}) for one in JOB.bore]
    job = sized_job(bore=[one | {"measured": [83.04, 83.05]} for one in bores])
    (note,) = changed_since(job, [round_of(job, 83.08, [83.046, 83.047, 83.048])])
    assert note.startswith('bores "1", "2": the first cut left no more than the job tells was there before, 83.04 mm')
    (note,) = changed_since(job, [round_of(job, 83.04, [83.06] * 3)])
    assert note.startswith('bores "1", "2", "3": the first cut')
