from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from post.dialect import BlockNumbers, Comments, Dialect, DwellWord, Lines, ProgramNumber, Resolution, Steps, UnitWords
from post.motion import (
    BoreAlongX,
    Dwell,
    Feed,
    Lift,
    Pause,
    Plan,
    Rapid,
    Remark,
    Sense,
    Spindle,
    SpindleStop,
    Step,
    Withdraw,
)
from post.posts import find, shipped
from post.userfile import InputError
from post.views import CannotExpressError
from post.writer import Names, write
from tests.jobs import told

PLAIN: Final = Dialect(
    about="for tests",
    resolution=Resolution(mm=Steps(length=0.001, feed=0.001), inch=Steps(length=0.0001, feed=0.0001)),
)
STEPS: Final[tuple[Step, ...]] = (
    SpindleStop("nothing turns yet"),
    Rapid((None, None, 165.1), "to the clearance height"),
    Remark("bore 1"),
    Rapid((3.0, -0.0, 0.0), "down to bore 1"),
    Spindle(760.0, Sense.COUNTERCLOCKWISE, "cutter 380.0 rpm"),
    BoreAlongX(3.0, -34.5, 0.0, 0.0, 38.0, 0.64, "feed", "bore 1"),
    SpindleStop("spindle off"),
    Pause("sweep (it) now", "look"),
)
PLAN: Final = Plan(STEPS, "mm", "G54")


def bore(withdraw: Withdraw, *, dwell_s: float = 0.64, end_x: float = -34.5, lift: Lift | None = None) -> Plan:
    """A plan of one bore."""
    return Plan((BoreAlongX(3.0, end_x, 0.0, 0.0, 38.0, dwell_s, withdraw, "bore 1", lift),), "mm", "G54")


def rapids(*places: tuple[float | None, float | None, float | None]) -> Plan:
    """A plan of rapid moves."""
    return Plan(tuple(Rapid(place, "way") for place in places), "mm", "G54")


def with_lines(**lines: Any) -> Dialect:
    """The plain dialect with other lines."""
    return PLAIN.model_copy(update={"lines": Lines(**lines)})


def program(plan: Plan, name: str, header: Sequence[str] = ()) -> list[str]:
    """Lines that a post that ships writes."""
    post = find(name)
    return write(plan, header, post.dialect, post.template).splitlines()


def by_template(
    folder: Path, template: str | bytes, plan: Plan = PLAN, dialect: Dialect = PLAIN, names: Names | None = None
) -> str:
    """What a template of one's own writes."""
    path = folder / "program.j2"
    path.write_bytes(template if isinstance(template, bytes) else template.encode())
    return write(plan, ["one", "two"], dialect, path, names)


def fault(folder: Path, template: str | bytes, plan: Plan = PLAN, dialect: Dialect = PLAIN) -> str:
    """What is told of a template that fails, from its line on."""
    message = told(lambda: by_template(folder, template, plan, dialect))
    place = str(folder / "program.j2") + ":"
    assert message.startswith(place)
    return message.removeprefix(place).strip()


def test_longhand_writes_every_move_out() -> None:
    assert program(PLAN, "longhand", ["Job A", "mm"]) == [
        "(Job A)",
        "(mm)",
        "G21 G17 G40 G49 G61 G80",
        "G90 G94 G54",
        "M5 (nothing turns yet)",
        "G0 Z165.100 (to the clearance height)",
        "(bore 1)",
        "G0 X3.000 Y0.000 Z0.000 (down to bore 1)",
        "S760 M4 (cutter 380.0 rpm)",
        "G1 X-34.500 Y0.000 Z0.000 F38.000 (feed through bore 1)",
        "G4 P0.64 (stand at the spot face of bore 1)",
        "G1 X3.000 Y0.000 Z0.000 F38.000 (withdraw from bore 1)",
        "M5 (spindle off)",
        "M0 (MSG, sweep [it] now)",
        "M30",
    ]


@pytest.mark.parametrize(
    ("withdraw", "dwell_s", "line"),
    [
        ("feed", 0.0, "G99 G85 X-34.500 Y0.000 Z0.000 R3.000 F38.000 (bore 1)"),
        ("feed", 0.64, "G99 G89 X-34.500 Y0.000 Z0.000 R3.000 P0.64 F38.000 (bore 1)"),
        ("still", 0.0, "G99 G86 X-34.500 Y0.000 Z0.000 R3.000 P0.00 F38.000 (bore 1)"),
        ("still", 0.64, "G99 G86 X-34.500 Y0.000 Z0.000 R3.000 P0.64 F38.000 (bore 1)"),
    ],
)
def test_cycles_writes_a_bore_as_the_cycle_that_does_it(withdraw: Withdraw, dwell_s: float, line: str) -> None:
    """G85 feeds back, G89 the same with a dwell, G86 stops the spindle and is rapid (NISTIR 6556, 3.5.16)."""
    assert program(bore(withdraw, dwell_s=dwell_s), "cycles")[2:] == [line, "G80", "M30"]


def test_cycles_states_the_plane_in_which_its_cycles_bore_along_x() -> None:
    """G19 selects the YZ plane (NISTIR 6556, 3.5.6)."""
    assert program(PLAN, "cycles")[:2] == ["G21 G19 G40 G49 G61 G80", "G90 G94 G99 G54"]


def test_oriented_writes_the_stop_at_an_angle_and_the_lift() -> None:
    plan = bore("lift", dwell_s=0.0, lift=Lift(90.0, 0.1, -0.2))
    assert program(plan, "oriented")[2:] == [
        "G1 X-34.500 Y0.000 Z0.000 F38.000 (feed through bore 1)",
        "M19 R90.000 (stop the cutter at a known angle in bore 1)",
        "G0 X-34.500 Y0.100 Z-0.200 (lift the cutter off the wall of bore 1)",
        "G0 X3.000 Y0.100 Z-0.200 (withdraw from bore 1)",
        "G0 X3.000 Y0.000 Z0.000 (back onto the line in front of bore 1)",
        "M30",
    ]


def test_per_turn_writes_feeds_and_dwells_a_spindle_turn() -> None:
    """38 mm/min at 760 rpm is 0.05 mm a turn; 0.64 s are 8.1067 turns, as handbooks have it."""
    assert program(PLAN, "per-turn")[1:-1] == [
        "G90 G95 G54",
        "M5 (nothing turns yet)",
        "G0 Z165.100 (to the clearance height)",
        "(bore 1)",
        "G0 X3.000 Y0.000 Z0.000 (down to bore 1)",
        "S760 M4 (cutter 380.0 rpm)",
        "G1 X-34.500 Y0.000 Z0.000 F0.0500 (feed through bore 1)",
        "G4 P8.11 (stand at the spot face of bore 1)",
        "G1 X3.000 Y0.000 Z0.000 F0.0500 (withdraw from bore 1)",
        "M5 (spindle off)",
        "M0 (MSG, sweep [it] now)",
    ]


def test_tape_numbers_its_blocks_and_repeats_no_word_that_holds() -> None:
    plan = Plan((*STEPS, Rapid((3.0, 0.0, 0.0), "again"), Rapid((3.0, 0.0, 165.1), "up")), "mm", "G54")
    post = find("tape")
    text = write(plan, ["Job a"], post.dialect, post.template)
    assert text.split("\r\n") == [
        "%",
        "O0001",
        "(JOB A)",
        "N10 G21 G17 G40 G49 G61 G80",
        "N20 G90 G94 G54",
        "N30 M5",
        "N40 G0 Z165.1",
        "(BORE 1)",
        "N50 X3. Y0. Z0.",
        "N60 S760 M4",
        "N70 G1 X-34.5 F38.",
        "N80 G4 P0.64",
        "N90 X3.",
        "N100 M5",
        "N110 M0 (MSG, SWEEP [IT] NOW)",
        "N120 G0 X3. Y0. Z0.",
        "N130 Z165.1",
        "N140 M30",
        "%",
        "",
    ]


def test_inches_are_written_in_inches() -> None:
    plan = Plan((Rapid((34.29, 25.4, 0.0), "a"), Feed((0.00254, None, None), 38.608, "b")), "inch", "G59.3")
    assert program(plan, "longhand") == [
        "G20 G17 G40 G49 G61 G80",
        "G90 G94 G59.3",
        "G0 X1.3500 Y1.0000 Z0.0000 (a)",
        "G1 X0.0001 F1.5200 (b)",
        "M30",
    ]


def test_a_template_sees_header_names_and_steps(tmp_path: Path) -> None:
    template = (
        "{{ header[0] }}+{{ header[1] }} {{ unit_word }} {{ feed_mode }} {{ work_offset }} {{ dwell_word }}\n"
        "{{ job_name | comment }} {{ part }} of {{ parts }}\n"
        "{% for step in steps %}{{ step.kind }}{{ '' if loop.last else ' ' }}{% endfor %}\n\n"
        "{{ steps[3].x }} {{ steps[3] | place }} [{{ steps[1].z | length }}] {{ steps[4].word }} {{ steps[-1].why }}\n"
    )
    assert by_template(tmp_path, template, names=Names("Pump (2)", None, 2, 3)) == (
        "one+two G21 G94 G54 P\n"
        "(Pump [2]) 2 of 3\n"
        "stop rapid remark rapid spindle feed dwell feed stop pause\n"
        "3.0 X3.000 Y0.000 Z0.000 [165.100] M4 look\n"
    )


def test_a_job_without_names_is_one_program_without_a_name(tmp_path: Path) -> None:
    assert by_template(tmp_path, "[{{ job_name }}] {{ part }} {{ parts }}") == "[] 1 1\n"


def test_the_words_of_a_program_are_those_of_the_dialect(tmp_path: Path) -> None:
    iso = PLAIN.model_copy(
        update={
            "unit_words": UnitWords(mm="G71", inch="G70"),
            "feed_modes": ("G95", "G94"),
            "dwell": DwellWord(word="X"),
        }
    )
    template = "{{ unit_word }} {{ feed_mode }} {{ work_offset }} {{ dwell_word }}\n"
    assert by_template(tmp_path, template, Plan((), "mm", "G55"), iso) == "G71 G95 G55 X\n"
    assert by_template(tmp_path, template, Plan((), "inch", "G59.1"), iso) == "G70 G95 G59.1 X\n"


# once, restate, line


def test_once_drops_a_word_that_was_the_last_of_its_letter(tmp_path: Path) -> None:
    template = "{% for word in ['X1', 'X1', 'X2', 'X1', 'Y1', 'X1'] %}[{{ once(word) }}]{% endfor %}"
    assert by_template(tmp_path, template) == "[X1][][X2][X1][Y1][]\n"


def test_once_tells_kinds_apart_by_name_where_told(tmp_path: Path) -> None:
    template = "{{ once('G0', 'motion') }} {{ once('G90', 'distance') }} [{{ once('G0', 'motion') }}] {{ once('G1') }}"
    assert by_template(tmp_path, template) == "G0 G90 [] G1\n"


def test_once_takes_a_number_as_a_word(tmp_path: Path) -> None:
    assert by_template(tmp_path, "[{{ once(7) }}{{ once(7) }}{{ once(7.5, 'n') }}]") == "[77.5]\n"


def test_once_does_not_keep_what_is_empty_from_being_written_again(tmp_path: Path) -> None:
    assert by_template(
        tmp_path, "[{{ once('', 'k') }}{{ once('X1', 'k') }}{{ once('', 'k') }}{{ once('X1', 'k') }}]"
    ) == ("[X1X1]\n")


def test_restate_has_all_written_again_and_writes_nothing(tmp_path: Path) -> None:
    template = "{{ once('X1') }}{{ once('Y1') }}[{{ restate() }}]{{ once('X1') }}{{ once('Y1') }}[{{ once('X1') }}]"
    assert by_template(tmp_path, template) == "X1Y1[]X1Y1[]\n"


def test_what_holds_does_not_pass_from_one_program_to_the_next(tmp_path: Path) -> None:
    for _ in range(2):
        assert by_template(tmp_path, "{{ once('X1') }}{{ once('X1') }}") == "X1\n"


def test_moved_writes_the_axes_that_are_not_where_they_were(tmp_path: Path) -> None:
    plan = rapids((1.0, 2.0, 3.0), (1.0, 2.0, 4.0), (None, 5.0, 4.0), (1.0, 5.0, 4.0), (1.0004, 5.0, -0.0), (0, 0, 0))
    template = "{% for step in steps %}G0 {{ step | moved }}\n{% endfor %}"
    assert by_template(tmp_path, template, plan).splitlines() == [
        "G0 X1.000 Y2.000 Z3.000",
        "G0 Z4.000",
        "G0 Y5.000",
        "G0",
        "G0 Z0.000",
        "G0 X0.000 Y0.000",
    ]


def test_moved_and_once_keep_one_memory(tmp_path: Path) -> None:
    template = (
        "{{ once('X1.000') }}|{{ steps[0] | moved }}|{{ restate() }}{{ steps[0] | moved }}|{{ steps[0] | place }}"
    )
    assert by_template(tmp_path, template, rapids((1.0, 2.0, None))) == "X1.000|Y2.000|X1.000 Y2.000|X1.000 Y2.000\n"


def test_line_leaves_out_what_is_empty(tmp_path: Path) -> None:
    template = "{{ line('G0', '', 'X1', '', 7, 2.5) }}|{{ line() }}|{{ line('', '') }}|{{ line('a') }}"
    assert by_template(tmp_path, template) == "G0 X1 7 2.5|||a\n"


def test_a_line_of_nothing_but_dropped_words_is_left_out(tmp_path: Path) -> None:
    template = "{% for step in steps %}{{ line(once('G0'), step | moved) }}\n{% endfor %}M30\n"
    assert by_template(tmp_path, template, rapids((1.0, 1.0, 1.0), (1.0, 1.0, 1.0))) == "G0 X1.000 Y1.000 Z1.000\nM30\n"


# the frame


def test_blank_lines_and_blanks_at_ends_are_left_out(tmp_path: Path) -> None:
    assert by_template(tmp_path, "G21  \n\n   \n G90\n\n\nM30   ") == "G21\n G90\nM30\n"


def test_a_program_of_nothing_is_empty(tmp_path: Path) -> None:
    assert by_template(tmp_path, "\n\n") == ""
    assert by_template(tmp_path, "", dialect=with_lines(tape_marks="required")) == "%\n%\n"


def test_line_ends_of_a_template_come_out_as_the_dialect_has_them(tmp_path: Path) -> None:
    for template in ("G21\r\nM30\r\n", "G21\nM30\n", "G21\rM30", "G21\nM30"):
        assert by_template(tmp_path, template) == "G21\nM30\n"
        assert by_template(tmp_path, template, dialect=with_lines(end="CRLF")) == "G21\r\nM30\r\n"


@pytest.mark.parametrize(
    ("lines", "text"),
    [
        ({}, "G21\n(a)\nM30\n"),
        ({"tape_marks": "allowed"}, "G21\n(a)\nM30\n"),
        ({"tape_marks": "refused"}, "G21\n(a)\nM30\n"),
        ({"tape_marks": "required"}, "%\nG21\n(a)\nM30\n%\n"),
        ({"block_numbers": BlockNumbers()}, "N10 G21\n(a)\nN20 M30\n"),
        ({"block_numbers": BlockNumbers(first=1, step=5)}, "N1 G21\n(a)\nN6 M30\n"),
        ({"program_number": ProgramNumber(number=7)}, "O0007\nG21\n(a)\nM30\n"),
        ({"program_number": ProgramNumber(letter=":", digits=2, number=99)}, ":99\nG21\n(a)\nM30\n"),
        (
            {
                "tape_marks": "required",
                "block_numbers": BlockNumbers(),
                "program_number": ProgramNumber(digits=1),
                "end": "CRLF",
            },
            "%\r\nO1\r\nN10 G21\r\n(a)\r\nN20 M30\r\n%\r\n",
        ),
    ],
    ids=lambda value: None if isinstance(value, str) else "-".join(value) or "nothing",
)
def test_a_program_stands_in_the_frame_the_dialect_tells(tmp_path: Path, lines: dict[str, Any], text: str) -> None:
    assert by_template(tmp_path, "G21\n(a)\nM30\n", dialect=with_lines(**lines)) == text


def test_block_numbers_begin_anew_after_the_last(tmp_path: Path) -> None:
    dialect = with_lines(block_numbers=BlockNumbers(first=5, step=10, last=25))
    assert by_template(tmp_path, "G0\n" * 7, dialect=dialect) == (
        "N5 G0\nN15 G0\nN25 G0\nN5 G0\nN15 G0\nN25 G0\nN5 G0\n"
    )
    one = with_lines(block_numbers=BlockNumbers(first=99999))
    assert by_template(tmp_path, "G0\nG1\n", dialect=one) == "N99999 G0\nN99999 G1\n"


def test_lines_of_comment_alone_have_no_number_and_take_none(tmp_path: Path) -> None:
    dialect = with_lines(block_numbers=BlockNumbers(first=1, step=1))
    assert by_template(tmp_path, "(a)\nG0\n; b\nG1\n(c)\n", dialect=dialect) == "(a)\nN1 G0\n; b\nN2 G1\n(c)\n"


def test_the_number_stands_behind_the_sign_of_a_block_that_may_be_left_out(tmp_path: Path) -> None:
    """The slash comes first, then N (NISTIR 6556 3.3)."""
    dialect = with_lines(block_numbers=BlockNumbers())
    assert by_template(tmp_path, "G0\n/M1\nM30\n", dialect=dialect) == "N10 G0\n/N20 M1\nN30 M30\n"
    assert by_template(tmp_path, "/M1\n") == "/M1\n"


@pytest.mark.parametrize(
    ("names", "line"),
    [
        (Names(), "O0012"),
        (Names(number=345), "O0345"),
        (Names(number=0), "O0000"),
        (Names(number=345, part=3, parts=4), "O0347"),
        (Names(part=2, parts=2), "O0013"),
        (Names(number=9999), "O9999"),
    ],
)
def test_a_program_s_number_is_the_job_s_or_the_post_s_and_counts_its_parts(
    tmp_path: Path, names: Names, line: str
) -> None:
    dialect = with_lines(program_number=ProgramNumber(number=12))
    assert by_template(tmp_path, "M30\n", dialect=dialect, names=names) == f"{line}\nM30\n"


@pytest.mark.parametrize(("names", "number"), [(Names(number=10000), 10000), (Names(number=9998, part=3), 10000)])
def test_a_number_of_too_many_digits_cannot_be_expressed(tmp_path: Path, names: Names, number: int) -> None:
    dialect = with_lines(program_number=ProgramNumber())
    with pytest.raises(
        CannotExpressError, match=rf"^the program's number {number} has more than the 4 digits it may have$"
    ):
        by_template(tmp_path, "M30\n", dialect=dialect, names=names)


def test_a_control_without_program_numbers_has_no_use_for_the_job_s(tmp_path: Path) -> None:
    assert by_template(tmp_path, "M30\n", names=Names(number=10**9)) == "M30\n"


# lines: how long, and of which signs


def test_a_line_may_be_as_long_as_the_control_takes(tmp_path: Path) -> None:
    short = with_lines(length=40)
    assert by_template(tmp_path, "x" * 40 + "\n", dialect=short) == "x" * 40 + "\n"
    assert "the control takes 40" in told(lambda: by_template(tmp_path, "x" * 41, dialect=short))


@pytest.mark.parametrize(
    ("template", "says"),
    [
        ("a\n\ncaf\u00e9", "line 2 of the program would hold a sign that is not plain ASCII: 'caf\\xe9'"),
        ("{{ 'a\\u2028b' }}", "line 1 of the program would hold a sign that is not plain ASCII: 'a\\u2028b'"),
        ("{{ '\\ud800' }}", "line 1 of the program would hold a sign that is not plain ASCII: '\\ud800'"),
        ("{{ 'a\\rG0 X99' }}", "line 1 of the program would hold a sign that is not plain ASCII: 'a\\rG0 X99'"),
        ("a\tb", "line 1 of the program would hold a sign that is not plain ASCII: 'a\\tb'"),
        ("a\x7f", "line 1 of the program would hold a sign that is not plain ASCII: 'a\\x7f'"),
    ],
    ids=["accent", "separator", "surrogate", "return", "tab", "delete"],
)
def test_a_line_that_no_control_takes_is_told(tmp_path: Path, template: str, says: str) -> None:
    assert fault(tmp_path, template) == says


def test_a_line_too_long_is_told_with_its_beginning(tmp_path: Path) -> None:
    message = fault(tmp_path, "a\nG1 X" + "1" * 247, dialect=with_lines(length=250))
    assert message.startswith("line 2 of the program would be 251 characters long; the control takes 250: ")
    assert "G1 X" + "1" * 56 in message
    assert "1" * 57 not in message


def test_a_line_too_long_is_told_without_the_signs_that_steer_a_terminal(tmp_path: Path) -> None:
    message = fault(tmp_path, "\x1b[2J\x1b]0;owned\x07" + "x" * 300)
    assert "the control takes " in message
    assert message.isprintable()
    assert message.isascii()


def test_a_line_counts_with_its_number(tmp_path: Path) -> None:
    dialect = with_lines(length=40, block_numbers=BlockNumbers())
    assert by_template(tmp_path, "x" * 36, dialect=dialect) == f"N10 {'x' * 36}\n"
    assert "would be 41 characters long" in fault(tmp_path, "x" * 37, dialect=dialect)


def test_a_remark_is_cut_to_the_line_and_its_number(tmp_path: Path) -> None:
    dialect = with_lines(length=40, block_numbers=BlockNumbers())
    template = "G0 X1.000 {{ 'down to the first bore of the row' | comment }}"
    assert by_template(tmp_path, template, dialect=dialect) == "N10 G0 X1.000 (down to the first bor...)\n"
    bare = with_lines(length=40)
    assert by_template(tmp_path, template, dialect=bare) == "G0 X1.000 (down to the first bore of...)\n"


def test_a_remark_that_leaves_no_room_is_left_out(tmp_path: Path) -> None:
    template = f"G0 X{'1' * 33} {{{{ 'a remark' | comment }}}}"
    assert by_template(tmp_path, template, dialect=with_lines(length=40)) == f"G0 X{'1' * 33}\n"


MESSAGE: Final = "sweep the housing; then look at it twice"


@pytest.mark.parametrize(
    ("form", "template"),
    [
        ("brackets", "M0 {{ text | message }}"),
        ("brackets", "{{ text | message }}"),
        ("brackets", "{{ text | message }} M0"),
        ("brackets", "M0 {{ text | message }} {{ 'a remark' | comment }}"),
        ("semicolon", "M0 {{ text | message }}"),
        ("semicolon", "{{ text | message }}"),
    ],
)
def test_a_message_is_never_cut(tmp_path: Path, form: str, template: str) -> None:
    """A line too long for it is refused: what an operator is to read is read whole, or the program is not written."""
    dialect = with_lines(length=40).model_copy(update={"comments": Comments.model_validate({"form": form})})
    template = "{% set text = '" + MESSAGE + "' %}" + template
    assert "the control takes 40" in fault(tmp_path, template, dialect=dialect)


@pytest.mark.parametrize("behind", ["M8", "X3.000 F100.000", "(note) M8"])
def test_words_behind_a_remark_are_never_cut(tmp_path: Path, behind: str) -> None:
    """The remark may be, or the line be refused; a word is not lost without a word about it."""
    template = "G1 {{ 'down to the first bore of the row' | comment }} " + behind
    try:
        outcome = by_template(tmp_path, template, dialect=with_lines(length=40))
    except InputError as error:
        outcome = str(error)
    word = behind.rpartition(") ")[2]
    assert outcome.endswith(f"{word}\n") or "the control takes 40" in outcome


# comments


@settings(max_examples=40)
@given(st.text(), st.sampled_from(tuple(shipped())))
def test_no_text_of_a_step_breaks_out_of_a_comment(text: str, name: str) -> None:
    plan = Plan(
        (
            Remark(text),
            Rapid((1.0, 2.0, 3.0), text),
            Spindle(1.0, Sense.CLOCKWISE, text),
            Feed((1.0, 2.0, 3.0), 1.0, text),
            Dwell(1.0, text),
            BoreAlongX(3.0, -34.5, 0.0, 0.0, 38.0, 0.64, "feed", text),
            SpindleStop(text),
            Pause(text, text),
        ),
        "mm",
        "G54",
    )
    empty = Plan(tuple(_without_text(step) for step in plan.steps), "mm", "G54")
    lines = program(plan, name, [text])
    bare = program(empty, name, [""])
    assert [_without_comments(line) for line in lines] == [_without_comments(line) for line in bare]


def _without_text(step: Step) -> Step:
    match step:
        case Remark():
            return Remark("")
        case Rapid(to, _):
            return Rapid(to, "")
        case Feed(to, feed, _):
            return Feed(to, feed, "")
        case Spindle(rpm, sense, _):
            return Spindle(rpm, sense, "")
        case SpindleStop():
            return SpindleStop("")
        case Dwell(seconds, _):
            return Dwell(seconds, "")
        case Pause():
            return Pause("", "")
        case BoreAlongX(start_x, end_x, y, z, feed, dwell_s, withdraw, _):
            return BoreAlongX(start_x, end_x, y, z, feed, dwell_s, withdraw, "")


def _without_comments(line: str) -> str:
    before, _, rest = line.partition("(")
    comment, closed, after = rest.partition(")")
    assert "(" not in comment
    assert "(" not in after
    assert ")" not in after
    assert closed or not rest
    return before.rstrip() + after
