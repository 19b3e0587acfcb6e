import pytest

from post.modal import Modal
from post.refusal import Refusal
from tests.post.programs import BARE, made, refused, run

OPENING = {"units": "G21", "plane": "G17", "distance mode": "G90", "feed mode": "G94", "work offset": "G54"}
CODES = {
    "units": "G20 or G21",
    "plane": "G17, G18 or G19",
    "distance mode": "G90 or G91",
    "feed mode": "G94",
    "work offset": "G54 to G59.3",
}


@pytest.mark.parametrize("name", OPENING)
@pytest.mark.parametrize("move", ["G0 X1", "G1 X1"])
def test_a_move_relies_on_nothing_unsaid(name: str, move: str) -> None:
    opening = " ".join(code for other, code in OPENING.items() if other != name) + "\n"
    expected = ("state-assumed", f"a move with no {name} stated", f"{CODES[name]} before it")
    assert refused(move, opening=opening) == expected


def test_all_that_is_unsaid_is_told_at_once() -> None:
    rule, found, expected = refused("G0 X1", opening="")
    assert rule == "state-assumed"
    assert found == f"a move with no {' and no '.join(OPENING)} stated"
    assert expected == f"{' and '.join(CODES.values())} before it"


def test_a_cycle_needs_its_retract_mode_too() -> None:
    opening = "G21 G17 G90 G94 G54\nF100\nG0 X0 Y0 Z5\n"
    expected = ("state-assumed", "G81 with no retract mode stated", "G98 or G99 before it")
    assert refused("G81 Z-1 R1", opening=opening) == expected


def test_the_state_may_be_stated_on_the_line_that_relies_on_it() -> None:
    timeline = run("G0 X1 G21 G17 G90 G94 G54\nM30")
    assert timeline.findings == []


def test_units_and_feed_mode_are_owed_in_the_dialect_s_words() -> None:
    dialect = made(unit_words={"mm": "G71", "inch": "G70"}, feed_modes=["G95", "G94"])
    opening = "G17 G90 G54\n"
    found = ("state-assumed", "a move with no units and no feed mode stated", "G70 or G71 and G95 or G94 before it")
    assert refused("G0 X1", dialect, opening=opening) == found
    assert run("G17 G90 G54 G71 G95 G0 X1\nM30", dialect).findings == []


@pytest.mark.parametrize("line", ["M3 S100", "G4 P1", "M8", "M0 (look)", "G80"])
def test_what_relies_on_no_state(line: str) -> None:
    assert run(f"{line}\nM30").findings == []


def test_setting_a_state_that_is_so_already_gives_the_same_object() -> None:
    modal = Modal().after([("units", "mm"), ("axis", 0)])
    assert modal.after([("axis", 0)]) is modal
    assert modal.after([("axis", 1)]) == Modal(units="mm", axis=1)


def test_complete_says_what_check_owed_says() -> None:
    modal = Modal(units="inch", axis=0, absolute=False, feed_mode="G94", offset="G55")
    assert modal.complete
    assert modal.mm_per_unit == 25.4
    modal.check_owed("a move", BARE, cycle=False)
    with pytest.raises(Refusal, match=r"^a cycle with no retract mode stated$"):
        modal.check_owed("a cycle", BARE, cycle=True)
