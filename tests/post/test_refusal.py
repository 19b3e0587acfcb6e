import pytest

from post.finding import Finding
from post.refusal import Refusal, show


def test_a_refusal_becomes_a_finding_at_its_line() -> None:
    refusal = Refusal("unknown-word", "M6 changes the tool", "a word that is interpreted")
    assert refusal.at(7, "M6 T1") == Finding(
        "unknown-word", 7, "M6 T1", "M6 changes the tool", "a word that is interpreted"
    )
    assert refusal.at(7, "M6 T1").message == "M6 changes the tool; expected a word that is interpreted"


@pytest.mark.parametrize(
    ("letter", "value", "says"),
    [("X", 12.5, "X12.5"), ("G", 59.1, "G59.1"), ("G", 1.0, "G1"), ("X", -0.0004, "X-0.0004"), ("F", 38.05, "F38.05")],
)
def test_a_word_is_shown_as_a_person_writes_it(letter: str, value: float, says: str) -> None:
    assert show(letter, value) == says
