from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from gen.job import Job
from gen.measured import check_plan, cut_by, limits_of_bore, load, load_finished
from gen.nextcut import Shop
from gen.readings import Measured, of_rows
from gen.settingwords import setting_of
from gen.tolerance import Limits
from post.units import plain
from post.userfile import InputError
from tests.jobs import INCH_TEXT, make_job, told
from tests.shop import Bench, Hidden, line, put, round_of, rows, sized_job

JOB = sized_job()
PLACES = [(angle, depth) for angle in (0, 45, 90, 135) for depth in (5, 23)]
SKIMMED = [round_of(JOB, 83.08, [83.083] * 3)]


def lines(*sizes: float, setting: float = 83.08, **named: object) -> list[dict[str, str]]:
    """Eight like readings of each bore."""
    return [
        line(bore, f"{setting:g}", angle, depth, f"{size:g}", **named)
        for bore, size in enumerate(sizes, 1)
        for angle, depth in PLACES
    ]


def changed(text: list[dict[str, str]], at: int, **cells: object) -> list[dict[str, str]]:
    """The same lines, one of them with other cells."""
    return [one | ({k.rstrip("_"): str(v) for k, v in cells.items()} if n == at else {}) for n, one in enumerate(text)]


def refused(
    folder: Path, text: list[dict[str, str]], history: Sequence[Measured] = (), job: Job = JOB, finished: bool = False
) -> str:
    path = put(folder, text)
    says = told(lambda: load_finished(path, job) if finished else load(path, job, history))
    assert says.startswith(str(path))
    return says.removeprefix(str(path)).removeprefix(":").strip()


def test_the_skim_of_a_bore_off_the_line_may_be_set_below_what_the_bore_measures(tmp_path: Path) -> None:
    """0.1 off: it is skimmed from 82.78 about the line to 82.88. Old wall makes no bore a stray among the others."""
    bores = [
        {"name": str(at), "face": -100 * at, "width": 28, "diameter": 84.0, "measured": [82.98, 82.99]} | off
        for at, off in ((1, {"centre": [0, 0.1]}), (2, {"centre": [0, 0.09]}))
    ]
    job = sized_job(bore=bores)
    assert len(load(put(tmp_path, lines(82.985, 82.99, setting=82.88)), job).readings) == 16
    second = load(put(tmp_path, lines(83.06, 83.12, setting=83.15)), job, [round_of(job, 82.88, [82.985, 82.99])])
    assert len(second.readings) == 16


def test_a_round_as_it_should_be_is_taken_whole(tmp_path: Path) -> None:
    measured = load(put(tmp_path, lines(83.07, 83.072, 83.075)), JOB)
    assert [len(readings) for readings in measured.by_bore.values()] == [8, 8, 8]
    assert len(load(put(tmp_path, lines(83.8, 83.81, 83.8, setting=83.85)), JOB, SKIMMED).readings) == 24


@pytest.mark.parametrize(
    ("size", "setting", "at"), [(83.07, 83.08, 0), (83.8, 83.85, 1), (83.6, 83.7, 1), (84.0, 84.02, 2), (84.1, 84.1, 2)]
)
def test_the_pass_is_the_one_of_the_nearest_size(size: float, setting: float, at: int) -> None:
    assert cut_by(JOB, round_of(JOB, setting, [size] * 3)) == {0: at, 1: at, 2: at}


def test_the_pass_told_counts() -> None:
    told_so = of_rows(rows([line(1, 83.85, "", "", 83.8, pass_=3)]), JOB)
    assert cut_by(JOB, told_so) == {0: 2}


def test_a_bore_is_only_cut_by_passes_that_reach_it() -> None:
    """The skim to 83.08 does not reach a bore of 83.2, whatever it measures."""
    bores = [one.model_dump(include={"name", "face", "width", "diameter", "measured"}) for one in JOB.bore]
    bores[2]["measured"] = [83.2, 83.21]
    job = sized_job(bore=bores)
    assert cut_by(job, round_of(job, 83.25, [83.07, 83.07, 83.22])) == {0: 0, 1: 0, 2: 1}


def test_an_air_pass_cut_nothing() -> None:
    job = sized_job(passes={"depth": 0.5, "finish_stock": 0.1, "skim": 0.05, "air": True})
    assert cut_by(job, round_of(job, 83.08, [82.9] * 3)) == {0: 1, 1: 1, 2: 1}


def test_a_bore_missing_is_told_with_a_line_to_write(tmp_path: Path) -> None:
    assert refused(tmp_path, lines(83.07)) == (
        'bore: bores "2", "3": no reading, and pass 1, skim, cuts there; measure every bore of the pass, a line a'
        " reading, e.g. 2,83.08,,,83.07"
    )


def test_a_bore_in_tolerance_already_may_be_left_out(tmp_path: Path) -> None:
    finished = round_of(JOB, 84.02, [84.01, 83.95, 83.95])
    again = [one for one in lines(84.01, 84.01, 84.01, setting=84.05) if one["bore"] != "1"]
    assert [*load(put(tmp_path, again), JOB, [finished]).by_bore] == [1, 2]
    under = round_of(JOB, 84.02, [83.97, 83.95, 83.95])
    assert refused(tmp_path, again, [under]).startswith('bore: bore "1": no reading, and pass 3, finish, cuts there')


@pytest.mark.parametrize(("bore", "at"), [("2", 10), ("3", 18)])
def test_a_pass_has_one_setting(tmp_path: Path, bore: str, at: int) -> None:
    text = lines(83.07, 83.07, 83.07)
    text = [one | {"set": "83.09"} if one["bore"] == bore else one for one in text]
    assert refused(tmp_path, text) == (
        f'{at}: set: 83.09, but bore "1", cut in the same pass, tells 83.08 on line 2; write what the cutter was set to'
    )


def test_sizes_with_settings_of_their_own_may_be_measured_together(tmp_path: Path) -> None:
    bores: list[dict[str, Any]] = [
        {"name": "1", "face": 0, "width": 28, "diameter": 84.0, "measured": [82.98, 82.99]},
        {"name": "2", "face": -100, "width": 28, "diameter": 90.0, "measured": [88.98, 88.99]},
    ]
    text = [*lines(83.07), *([one | {"bore": "2", "set": "89.09", "reading": "89.08"} for one in lines(83.07)])]
    job = sized_job(bore=bores)
    assert cut_by(job, load(put(tmp_path, text), job)) == {0: 0, 1: 1}


def test_a_setting_below_what_was_there_is_refused(tmp_path: Path) -> None:
    says = (
        '2: set: {} cuts {}, no more than was there, and bore "1" measured {} before; correct the setting, or leave out'
        " a bore that the pass did not cut"
    )
    assert refused(tmp_path, lines(83.0, 83.0, 83.0, setting=82.98)) == says.format("82.98", "82.98 mm", "82.98 mm")
    over = sized_job(size={"tolerance": "H6", "setting": "over"})
    setting = setting_of(over, 82.97)
    text = lines(82.98, 82.98, 82.98, setting=setting)
    assert refused(tmp_path, text, job=over) == says.format("66.485", "82.97 mm", "82.98 mm")


def test_a_setting_is_held_to_what_was_learned_of_the_cutter(tmp_path: Path) -> None:
    """It cuts larger than set, so that a setting a little below what was there may cut; one far below does not."""
    expected, most = Shop(JOB, SKIMMED).behaviour.reach_mm(83.05, 83.083)
    assert 83.05 < expected < most < 83.083
    assert refused(tmp_path, lines(83.083, 83.083, 83.083, setting=83.05), SKIMMED) == (
        f"2: set: 83.05 cuts 83.05 mm, at most {plain(most, 5)} mm by what was learned, no more than was there, and"
        ' bore "1" measured 83.083 mm before; correct the setting, or leave out a bore that the pass did not cut; if'
        " this is another block, move measured.csv away"
    )
    assert Shop(JOB, SKIMMED).behaviour.reach_mm(83.081, 83.083)[1] > 83.083
    load(put(tmp_path, lines(83.085, 83.085, 83.085, setting=83.081)), JOB, SKIMMED)
    cuts_small = [round_of(JOB, 83.08, [83.05] * 3)]
    load(put(tmp_path, lines(83.056, 83.056, 83.056, setting=83.06)), JOB, cuts_small)


def test_what_a_light_cut_may_have_taken_is_not_asked_about(tmp_path: Path) -> None:
    """A cutter that cuts 0.06 mm larger than set."""
    large = [round_of(JOB, 83.08, [83.14] * 3)]
    most = Shop(JOB, large).behaviour.reach_mm(83.12, 83.14)[1]
    assert most > 83.16
    load(put(tmp_path, lines(*[most + 0.011] * 3, setting=83.12)), JOB, large)
    assert "larger than the bore was" in refused(tmp_path, lines(*[most + 0.013] * 3, setting=83.12), large)


def test_a_bore_that_the_setting_does_not_reach_may_be_left_out(tmp_path: Path) -> None:
    """What is refused because it was not cut is not asked for either."""
    uneven = [*SKIMMED, of_rows(rows(lines(0, 0, 83.303, setting=83.3)[16:]), JOB)]
    text = lines(83.198, 83.198, 83.303, setting=83.2)
    assert "leave out a bore" in refused(tmp_path, text, uneven)
    assert [*load(put(tmp_path, text[:16]), JOB, uneven).by_bore] == [0, 1]
    assert refused(tmp_path, text[:8], uneven).startswith('bore: bore "2": no reading, and pass 1, skim, cuts there')


def test_a_setting_that_a_bore_had_before_is_asked_about(tmp_path: Path) -> None:
    text = lines(83.085, 83.085, 83.085)
    says = (
        '2: set: round 1 on measured.csv has this setting for bore "1", with other readings: if this is that round'
        " corrected or measured again, {} its lines there; if the cutter was run again at this setting, add --again; if"
        " this is another block, move measured.csv away"
    )
    assert refused(tmp_path, text, SKIMMED) == says.format("delete")
    later = [*SKIMMED, round_of(JOB, 83.85, [83.8] * 3)]
    assert refused(tmp_path, text, later) == says.format("correct")


def test_a_spring_pass_is_taken_when_it_is_told(tmp_path: Path) -> None:
    path = put(tmp_path, lines(83.085, 83.085, 83.085))
    again = load(path, JOB, SKIMMED, again=True)
    assert again.forms[2].mean_mm == pytest.approx(83.085)
    assert load(path, JOB, [*SKIMMED, again]).is_same(again)
    path = put(tmp_path, lines(83.8, 83.8, 83.8, setting=83.85))
    assert told(lambda: load(path, JOB, SKIMMED, again=True)).endswith(
        "set: --again tells of a setting that the cutter was run at before, and no bore had its setting in a round on"
        " record; correct the setting, put the round before on record with --record, or leave --again out"
    )


def test_a_spring_pass_is_taken_whatever_was_learned(tmp_path: Path) -> None:
    """Round 2 came out 0.03 mm larger than the cutter does else: it did cut there all the same."""
    rounds = [*SKIMMED, round_of(JOB, 83.4, [83.403] * 3), round_of(JOB, 83.85, [83.9] * 3)]
    assert Shop(JOB, rounds).behaviour.reach_mm(83.85, 83.9)[1] < 83.9
    load(put(tmp_path, lines(83.902, 83.902, 83.902, setting=83.85)), JOB, rounds, again=True)


def test_a_bore_far_from_its_setting_is_refused(tmp_path: Path) -> None:
    assert refused(tmp_path, lines(83.07, 83.07, 83.07, setting=83.8)) == (
        '2: set: 83.8 cuts 83.8 mm and bore "1" measured 83.07 mm: they cannot belong together; correct one, or'
        ' size.setting, which is "bore"'
    )


def test_a_setting_in_another_form_than_before_is_told_to_be_that(tmp_path: Path) -> None:
    """Though, as a diameter, it is below what was there too."""
    over = setting_of(sized_job(size={"tolerance": "H6", "setting": "over"}), 83.85)
    says = refused(tmp_path, lines(83.8, 83.8, 83.8, setting=over + 3), SKIMMED)
    assert 'cannot belong together; correct one, or size.setting, which is "bore"' in says


def test_half_a_millimetre_is_too_far(tmp_path: Path) -> None:
    load(put(tmp_path, lines(83.07, 83.07, 83.07, setting=83.56)), JOB)
    assert "they cannot belong together" in refused(tmp_path, lines(83.07, 83.07, 83.07, setting=83.58))


def test_a_poor_gauge_may_read_farther_apart(tmp_path: Path) -> None:
    job = sized_job(size={"tolerance": "H6", "gauge": 0.004})
    load(put(tmp_path, changed(lines(83.07, 83.07, 83.07), 10, reading=83.093)), job)
    assert "is 0.025 mm from" in refused(tmp_path, changed(lines(83.07, 83.07, 83.07), 10, reading=83.095), job=job)


def test_three_readings_evenly_apart_are_no_slip(tmp_path: Path) -> None:
    sparse = [line(bore, 83.08, "", "", 83.05 + apart) for bore in (1, 2, 3) for apart in (0, 0.02, 0.04)]
    load(put(tmp_path, sparse), JOB)
    sparse[1]["reading"] = "83.054"
    assert refused(tmp_path, sparse).startswith('4: reading: 83.09 is 0.036 mm from the middle of bore "1", 83.054 mm')


def test_a_wild_reading_is_asked_about_and_kept_if_told_so(tmp_path: Path) -> None:
    text = changed(lines(83.07, 83.07, 83.07), 10, reading=83.083)
    assert refused(tmp_path, text) == (
        '12: reading: 83.083 is 0.013 mm from the middle of bore "2", 83.07 mm; measure there again, and if it is so'
        " write keep in the column note"
    )
    kept = load(put(tmp_path, changed(text, 10, note="keep")), JOB)
    assert len(kept.readings) == 24
    load(put(tmp_path, changed(lines(83.07, 83.07, 83.07), 10, reading=83.081)), JOB)


def test_the_wildest_is_asked_about_first(tmp_path: Path) -> None:
    text = changed(changed(lines(83.07, 83.07, 83.07), 2, reading=83.09), 5, reading=83.03)
    assert refused(tmp_path, text).startswith('7: reading: 83.03 is 0.04 mm from the middle of bore "1"')


def test_two_readings_far_apart_are_asked_about(tmp_path: Path) -> None:
    sparse = [line(bore, 83.08, "", "", 83.07 + apart) for bore in (1, 2, 3) for apart in (0, 0.02)]
    load(put(tmp_path, sparse), JOB)
    sparse[1]["reading"] = "83.12"
    assert refused(tmp_path, sparse).startswith('2: reading: 83.07 is 0.025 mm from the middle of bore "1", 83.095 mm')


def test_readings_that_all_lie_apart_are_no_slip(tmp_path: Path) -> None:
    """An oval of 0.04 mm: far apart, but none off its neighbours."""
    by_angle = {"0": 83.09, "45": 83.07, "90": 83.05, "135": 83.07}
    load(put(tmp_path, [one | {"reading": str(by_angle[one["angle"]])} for one in lines(83.07, 83.07, 83.07)]), JOB)


def test_a_bore_wildly_off_the_others_is_asked_about(tmp_path: Path) -> None:
    text = lines(83.07, 83.09, 83.07)
    assert refused(tmp_path, text) == (
        '10: reading: 83.09 and all of bore "2" are 0.02 mm from the other bores of the pass; measure there again, and'
        " if it is so write keep in the column note"
    )
    load(put(tmp_path, changed(text, 12, note="keep")), JOB)


@pytest.mark.parametrize("off", [0.02, 0.16, 0.18, 0.2, 0.3, 0.4, 0.45, -0.06])
def test_a_bore_off_its_setting_is_asked_about_however_far(tmp_path: Path, off: float) -> None:
    """Though it then measures what another pass would cut."""
    bores = sized_job(passes={"depth": 0.2, "finish_stock": 0.1, "skim": 0.05})
    says = refused(tmp_path, lines(83.07, 83.07, 83.07 + off), job=bores)
    assert f'all of bore "3" are {abs(off):g} mm from the other bores of the pass; measure there again' in says


@pytest.mark.parametrize("at", [0, 1])
def test_of_two_bores_the_one_farther_from_the_setting_is_asked_about(tmp_path: Path, at: int) -> None:
    sizes = [83.07, 83.07]
    sizes[at] += 0.3
    text = lines(*sizes)
    says = refused(tmp_path, text, job=sized_job(2))
    assert f'all of bore "{at + 1}" are 0.3 mm from the other bore of the pass; measure there again' in says
    load(put(tmp_path, changed(text, 8 * at, note="keep")), sized_job(2))
    load(put(tmp_path, lines(83.07, 83.093)), sized_job(2))
    assert 'bore "2" are 0.025 mm from' in refused(tmp_path, lines(83.07, 83.095), job=sized_job(2))


def test_a_bore_misread_is_of_the_pass_of_its_setting() -> None:
    """83.47 is nearest to the roughing pass, 83.6 on the average of a pair, too."""
    for sizes in ([83.07, 83.07, 83.47], [83.07, 83.6]):
        job = sized_job(len(sizes))
        assert set(cut_by(job, round_of(job, 83.08, sizes)).values()) == {0}


def test_old_wall_left_does_not_make_it_another_pass() -> None:
    bores = [one.model_dump(include={"name", "face", "width", "diameter", "measured"}) for one in JOB.bore]
    worn = [bores[0], bores[1] | {"measured": [82.98, 83.6]}, bores[2] | {"measured": [82.98, 83.6]}]
    job = sized_job(bore=worn)
    assert cut_by(job, round_of(job, 83.08, [83.07, 83.58, 83.58])) == {0: 0, 1: 0, 2: 0}


def test_bores_that_had_more_to_cut_may_differ(tmp_path: Path) -> None:
    """0.2 mm on the diameter may leave 0.01 mm, and six times as much is asked about."""
    uneven = [round_of(JOB, 83.08, [83.083, 83.083, 82.883])]
    load(put(tmp_path, lines(83.8, 83.8, 83.741, setting=83.85)), JOB, uneven)
    assert "are 0.061 mm from" in refused(tmp_path, lines(83.8, 83.8, 83.739, setting=83.85), uneven)


def test_a_bore_with_old_wall_left_is_not_held_to_others(tmp_path: Path) -> None:
    """Bore 2 was 82.98 to 83.10: a skim to 83.08 leaves some of it."""
    bores = [one.model_dump(include={"name", "face", "width", "diameter", "measured"}) for one in JOB.bore]
    bores[1]["measured"] = [82.98, 83.10]
    job = sized_job(bore=bores)
    text = changed(lines(83.07, 83.095, 83.07), 8, reading=83.07)
    load(put(tmp_path, text), job)
    load(put(tmp_path, changed(text, 9, reading=83.111)), job)
    assert refused(tmp_path, changed(text, 9, reading=83.113), job=job) == (
        "11: reading: 83.113 is 0.013 mm larger than the bore was before the cut, 83.1 mm, and the cutter was set no"
        " larger than that; measure there again, and if it is so write keep in the column note"
    )
    load(put(tmp_path, changed(text, 9, reading=83.113, note="keep")), job)


def test_a_bore_smaller_than_it_was_is_asked_about(tmp_path: Path) -> None:
    text = lines(83.07, 83.07, 83.07, setting=83.09)
    assert refused(tmp_path, text, SKIMMED) == (
        "2: reading: 83.07 is 0.013 mm smaller than the bore was before the cut, 83.083 mm; measure there again, and if"
        " it is so write keep in the column note; if this is another block, move measured.csv away"
    )
    load(put(tmp_path, lines(83.07, 83.07, 83.07, setting=83.09, note="keep")), JOB, SKIMMED)
    load(put(tmp_path, lines(83.072, 83.072, 83.072, setting=83.09)), JOB, SKIMMED)


def test_a_round_on_record_already_is_held_against_those_before_it(tmp_path: Path) -> None:
    path = put(tmp_path, lines(83.07, 83.07, 83.07))
    measured = load(path, JOB)
    later = round_of(JOB, 83.85, [83.8] * 3)
    assert load(path, JOB, [measured, later]).is_same(measured)


def test_a_bore_over_size_is_measured_all_the_same(tmp_path: Path) -> None:
    assert load(put(tmp_path, lines(84.03, 84.03, 84.03, setting=84.02)), JOB, SKIMMED).forms[0].largest_mm == 84.03


def test_sizing_needs_passes_and_tolerances(tmp_path: Path) -> None:
    path = put(tmp_path, lines(83.07, 83.07, 83.07))
    assert told(lambda: load(path, sized_job(passes=None))) == (
        "passes: is missing; the next setting follows from the passes: write [passes] with depth = 0.4 and"
        " finish_stock = 0.1"
    )
    assert "depth = 0.015 and finish_stock = 0.004" in told(lambda: check_plan(make_job(INCH_TEXT)))
    says = 'bore 1, tolerance: bore "1" has no tolerance; write [size] tolerance = "H6", or limits = [...] for the bore'
    assert told(lambda: load(path, sized_job(size={"tolerance": None}))) == says
    assert told(lambda: load_finished(path, sized_job(size={"tolerance": None}))) == says


def test_limits_are_the_bore_s() -> None:
    assert limits_of_bore(JOB, 0) == Limits(84.0, 84.022)


def test_a_finished_row_may_be_any_size_but_must_be_whole(tmp_path: Path) -> None:
    row = [{**one, "set": ""} for one in lines(84.03, 84.011, 83.99)]
    measured = load_finished(put(tmp_path, row), JOB)
    assert [form.mean_mm for form in measured.forms.values()] == pytest.approx([84.03, 84.011, 83.99])
    assert (
        refused(tmp_path, row[:8], finished=True) == 'bore: bores "2", "3" of the job: no reading; measure every bore'
    )
    wild = changed(row, 3, reading=84.05)
    assert refused(tmp_path, wild, finished=True).startswith('5: reading: 84.05 is 0.02 mm from the middle of bore "1"')


def test_an_unset_cutter_is_refused_after_a_pass(tmp_path: Path) -> None:
    assert refused(tmp_path, changed(lines(83.07, 83.07, 83.07), 0, set=""))[:17] == "2: set: is empty;"


@pytest.mark.parametrize("seed", range(10))
def test_a_usual_shop_is_not_asked_about_anything(tmp_path: Path, seed: int) -> None:
    bench = Bench(JOB, Hidden(taper=0.008, ovality=0.010, scatter=0.002), seed)
    for set_mm in (83.08, 83.85, 84.02):
        bench.cut(set_mm)
        load(put(tmp_path, bench.gauged(set_mm)), JOB)


def test_only_input_errors_are_raised(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="there is no such CSV of readings"):
        load(tmp_path / "none.csv", JOB)
