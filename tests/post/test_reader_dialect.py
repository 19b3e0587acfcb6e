"""What the dialect says of numbers and comments, as the reader reads them."""

from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from post.dialect import Dialect
from post.reader import Block
from tests.post.programs import FULL, block, blocks, made, unread, words

# --- what the dialect says of numbers --------------------------------------------------------------------------------

POINT: Final = made(numbers={"point": "required"})
NO_POINT: Final = made(numbers={"point": "none"})


@pytest.mark.parametrize("line", ["X1 Y1. Z-.5 F1. R1", "x+1 f 1 0", "N10 G1. X1 (10.5)"])
def test_a_point_may_be_free(line: str) -> None:
    assert block(line).finding is None


@pytest.mark.parametrize(
    "line",
    [
        "N10 G1 X1. Y-.5 Z+0.0 F10. (to X10)",
        "g0 x 1 . 5",
        "G81 Z-1. R1. L2",
        "S760 M3",
        "G4 P2",
        "T1 H2 Q3 I4",
        "M19 R90",
        "R90 M19",
        "M19 R90.5",
        "M 1 9 R90",
    ],
)
def test_a_point_in_every_length_and_feed(line: str) -> None:
    assert words(line, POINT) == words(line)


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("X10", "X10"),
        ("G1 X1. Y-5", "Y-5"),
        ("g1 z+0 (z0.)", "Z+0"),
        ("X1. F 1 0 0", "F100"),
        ("G81 Z-1. R1", "R1"),
        ("N10 X1 Y2", "X1"),
        ("/X7", "X7"),
    ],
)
def test_a_length_or_feed_without_the_point_it_needs(line: str, word: str) -> None:
    expected = ("unreadable", f"{word}, without a point", "a point in every length and feed, as X10.")
    assert unread(line, POINT) == expected


@pytest.mark.parametrize(
    "line",
    [
        "N10 G1 X1000 Y-5 Z+0 F10 (to X1.0)",
        "g0 x 1 0",
        "S760 M3",
        "G4 P0.05",
        "G4 P.5",
        "M19 R90.5",
        "R.5 M19",
        "G1. X1",
    ],
)
def test_no_point_in_any_length_or_feed(line: str) -> None:
    assert words(line, NO_POINT) == words(line)


@pytest.mark.parametrize(
    ("line", "word"),
    [("X10.", "X10."), ("G1 X1 Y-.5", "Y-.5"), ("g1 f 1 . 0", "F1.0"), ("G81 Z-1 R0.0", "R0.0"), ("/X.5", "X.5")],
)
def test_a_length_or_feed_with_a_point_it_must_not_have(line: str, word: str) -> None:
    expected = ("unreadable", f"{word}, with a point", "none: lengths and feeds count the smallest steps")
    assert unread(line, NO_POINT) == expected


M19_P: Final = {"oriented_stop": {"angle": "P"}}


@pytest.mark.parametrize("line", ["M019 R90", "M19. R90", "m 0 1 9 r90", "R90 M0019"])
def test_an_oriented_stop_however_it_is_written_takes_an_angle(line: str) -> None:
    assert words(line, POINT) == words(line)
    assert words(line.lower().replace("r90", "r9.5"), NO_POINT) == words(line.lower().replace("r90", "r9.5"))


@pytest.mark.parametrize("line", ["M190 R90", "M9 R90", "M1 R90", "M5 (M19) R90"])
def test_r_of_no_oriented_stop_is_a_length(line: str) -> None:
    assert unread(line, POINT)[1] == "R90, without a point"


def test_only_the_oriented_stop_s_own_letter_is_an_angle() -> None:
    required = made(numbers={"point": "required"}, **M19_P)
    assert words("M19 P90 X1.", required) == words("M19 P90 X1.")
    assert unread("M19 P90 G81 Z-1. R1", required)[1] == "R1, without a point"
    none = made(numbers={"point": "none"}, **M19_P)
    assert words("M19 P9.5 X1", none) == words("M19 P9.5 X1")
    assert unread("M19 P90 G81 Z-1 R1.", none)[1] == "R1., with a point"


def test_without_an_oriented_stop_every_r_is_a_length() -> None:
    dialect = made(numbers={"point": "required"}, oriented_stop=None)
    assert unread("M19 R90", dialect)[1] == "R90, without a point"


# --- what the dialect says of the length of a line -------------------------------------------------------------------


@pytest.mark.parametrize("line", ["X1", "X1 (a)", "(a)", "/G0", "", "X#"])
def test_a_line_no_longer_than_the_control_reads(line: str) -> None:
    short = made(lines={"length": 40})
    assert blocks(line.ljust(40), short) == blocks(line.ljust(40))
    too_long = ("unreadable", "a line of 41 characters", "at most 40")
    assert unread(line.ljust(41), short) == too_long


def test_the_ends_of_a_line_do_not_count_in_its_length() -> None:
    assert [
        one.finding for one in blocks("X1".ljust(40) + "\r\n" + "X2".ljust(40) + "\n", made(lines={"length": 40}))
    ] == [
        None,
        None,
    ]


# --- what the dialect says of comments -------------------------------------------------------------------------------

SEMICOLON: Final = made(comments={"form": "semicolon"})
NO_COMMENTS: Final = made(comments={"form": "none"}, new_setting="file")
FEW_SIGNS: Final = made(comments={"signs": ".-:", "message": ""})
CAPITALS: Final = made(comments={"capitals": True})


@pytest.mark.parametrize(
    ("line", "comment"),
    [
        ("G1 X1 ; to (the) end; of it", " to (the) end; of it"),
        ("g1x1;", ""),
        ("N10 G1 X1;a;b", "a;b"),
        ("G1 X1", None),
    ],
)
def test_a_comment_behind_a_semicolon(line: str, comment: str | None) -> None:
    assert block(line, SEMICOLON) == Block(1, line, (("G", 1.0), ("X", 1.0)), "GX", comment, False, None)


@pytest.mark.parametrize(("line", "deleted"), [("; G1 X5", False), ("  ;", False), ("N10 ;a", False), ("/;off", True)])
def test_a_semicolon_hides_all_behind_it(line: str, deleted: bool) -> None:
    only = block(line, SEMICOLON)
    assert (only.words, only.finding, only.deleted) == ((), None, deleted)


@pytest.mark.parametrize(
    ("dialect", "line", "sign", "expected"),
    [
        (FULL, "G1 X1 ; fast", ";", "comments in ( ) only"),
        (SEMICOLON, "(a)", "(", "comments behind ; only"),
        (SEMICOLON, "G1 X1 (a) ; b", "(", "comments behind ; only"),
        (SEMICOLON, "G1 X1 ) ; b", ")", "comments behind ; only"),
        (NO_COMMENTS, "G1 X1 (a)", "(", "no comments"),
        (NO_COMMENTS, "G1 X1 ; a", ";", "no comments"),
        (NO_COMMENTS, ")", ")", "no comments"),
    ],
)
def test_comments_of_another_form(dialect: Dialect, line: str, sign: str, expected: str) -> None:
    assert unread(line, dialect) == ("unreadable", f'the character "{sign}"', expected)


@pytest.mark.parametrize(
    ("dialect", "line"),
    [
        (FEW_SIGNS, "G1 X1 (A to B: 84.5 - 90)"),
        (FEW_SIGNS, "(a\tb)"),
        (CAPITALS, "M0 (MSG, SET 84.5; 50% #2)"),
        (made(comments={"form": "semicolon", "capitals": True}), "M0 ; MSG, (SET)"),
    ],
)
def test_signs_that_a_comment_may_hold(dialect: Dialect, line: str) -> None:
    assert block(line, dialect).finding is None


@pytest.mark.parametrize(
    ("dialect", "line", "sign"),
    [
        (FEW_SIGNS, "G1 X1 (a, b)", ","),
        (FEW_SIGNS, "(50% #2)", "#"),
        (FEW_SIGNS, "(a, b) M5 (c)", ","),
        (FEW_SIGNS, "(a) M5 (b, c) (d)", ","),
        (FEW_SIGNS, "/(a#) (b)", "#"),
        (CAPITALS, "(set) M0 (SET)", "e"),
        (CAPITALS, "(SET bore)", "b"),
        (made(comments={"form": "semicolon", "signs": ".-", "message": ""}), "M0 ;a;b", ";"),
        (made(comments={"form": "semicolon", "signs": ".-", "message": ""}), "M0 ;(a)", "("),
    ],
)
def test_signs_that_a_comment_may_not_hold(dialect: Dialect, line: str, sign: str) -> None:
    expected = "the signs that the dialect allows in comments"
    assert unread(line, dialect) == ("unreadable", f'the sign "{sign}" in a comment', expected)


def test_a_sign_no_comment_holds_may_stand_in_the_code() -> None:
    assert words("/G1 X+1", FEW_SIGNS) == (("G", 1.0), ("X", 1.0))


def test_a_dialect_that_differs_in_everything() -> None:
    dialect = made(
        numbers={"point": "required"},
        comments={"form": "semicolon", "capitals": True, "signs": ".-", "message": ""},
        lines={
            "end": "CRLF",
            "tape_marks": "required",
            "block_numbers": {},
            "program_number": {"letter": ":", "digits": 3},
        },
    )
    text = "%\r\n:012\r\n; PUMP\r\nN10 G1 X1. F10.; TO 84.5\r\nN20 X1\r\nN30 X2. (A)\r\nN40 M0 ;a\r\nN50 M30\r\n%\r\n"
    found = blocks(text, dialect)
    assert [(one.line, one.words, one.comment) for one in found if one.finding is None] == [
        (3, (), " PUMP"),
        (4, (("G", 1.0), ("X", 1.0), ("F", 10.0)), " TO 84.5"),
        (8, (("M", 30.0),), None),
    ]
    assert [(one.line, one.finding.found) for one in found if one.finding] == [
        (5, "X1, without a point"),
        (6, 'the character "("'),
        (7, 'the sign "a" in a comment'),
    ]


_PIECES: Final = [
    "G1",
    "g0",
    "X1",
    "X-2.5",
    "Y",
    "F100.",
    "M3",
    "N10",
    "/",
    " ",
    "  ",
    "(",
    ")",
    "(off)",
    ";",
    "E",
    "é",
    "1",
]


@given(
    st.sampled_from([FULL, SEMICOLON, NO_COMMENTS, FEW_SIGNS, CAPITALS, POINT, NO_POINT]),
    st.lists(st.sampled_from(_PIECES), max_size=6).map(" ".join) | st.lists(st.sampled_from(_PIECES)).map("".join),
)
def test_blanks_before_and_behind_a_line_change_nothing(dialect: Dialect, line: str) -> None:
    behind = "" if dialect is SEMICOLON else "\t"
    spaced = [one._replace(text=line) for one in blocks(f" \t{line}{behind}", dialect)]
    assert [_without_columns(one) for one in spaced] == [_without_columns(one) for one in blocks(line, dialect)]
    assert all(one.letters == "".join(letter for letter, _ in one.words) for one in spaced)


def _without_columns(read: Block) -> Block:
    """A block that does not tell where in its line a sign is."""
    if read.finding is None:
        return read
    return read._replace(finding=read.finding._replace(text="", found=read.finding.found.partition(" in column")[0]))
