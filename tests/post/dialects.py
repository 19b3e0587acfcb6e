"""Dialects of every kind: a hypothesis strategy over all keys."""

from typing import Any, Final

from hypothesis import strategies as st

from post.dialect import Dialect
from tests.post.programs import made

_STEPS: Final = st.sampled_from([1.0, 0.5, 0.1, 0.01, 0.005, 0.001, 0.0005, 0.0001])
_SPEEDS: Final = st.sampled_from([1.0, 10.0, 0.5, 0.1])
_RESOLUTION: Final = st.fixed_dictionaries({"length": _STEPS, "feed": _STEPS, "feed_per_turn": _STEPS})
_SIGNS: Final = st.text(",:;+/=[]?!'\"()", max_size=8).map(lambda signs: ".-" + signs)
_MESSAGES: Final = st.sampled_from(["", "MSG,", "SHOW -", "M1."])
FREE: Final = ("G69", "M66", "G5.1", "M3.5")
"""Codes of no standard, for a dialect to take on trust."""
UNUSED: Final = ("G59.1", "M1", "M48", "G64", "M8", "G28")
"""Codes that no program here uses, for a dialect to refuse."""


@st.composite
def dialects(draw: st.DrawFn) -> Dialect:
    """Any dialect in which the programs of this page can be written."""
    point = draw(st.sampled_from(["optional", "required", "none"]))
    form = draw(st.sampled_from(["brackets", "semicolon", "none"]))
    # X behind G4 would count steps where lengths do, and so no dialect has both.
    word = draw(st.sampled_from(["P"] if point == "none" else ["P", "X"]))
    message = draw(_MESSAGES)
    around: dict[str, Any] = {
        "length": draw(st.integers(120, 256)),
        "end": draw(st.sampled_from(["LF", "CRLF"])),
        "tape_marks": draw(st.sampled_from(["allowed", "required", "refused"])),
    }
    if draw(st.booleans()):
        first = draw(st.integers(1, 99))
        step, last = draw(st.integers(1, 1000)), draw(st.integers(first, 99999))
        around["block_numbers"] = {"first": first, "step": step, "last": last}
    if draw(st.booleans()):
        letter, digits = draw(st.sampled_from("O:")), draw(st.integers(1, 8))
        number = draw(st.integers(1, 10**digits - 1))
        around["program_number"] = {"letter": letter, "digits": digits, "number": number}
    modes = draw(st.sampled_from([["G94"], ["G95"], ["G94", "G95"], ["G95", "G94"]]))
    return made(
        resolution={"mm": draw(_RESOLUTION), "inch": draw(_RESOLUTION), "speed": draw(_SPEEDS)},
        numbers={"point": point, "trailing_zeros": draw(st.booleans())},
        dwell={
            "word": word,
            "unit": draw(st.sampled_from(["seconds", "milliseconds", "turns"])),
            "step": draw(_STEPS),
        },
        feed_modes=modes,
        unit_words={"mm": draw(st.sampled_from(["G21", "G71"])), "inch": draw(st.sampled_from(["G20", "G70"]))},
        cycles=draw(st.lists(st.sampled_from(["G81", "G82", "G85", "G86", "G89"]), unique=True)),
        oriented_stop=draw(st.sampled_from([None, {"angle": "R"}, {"angle": "P"}])),
        opening=draw(st.lists(st.sampled_from(["G40", "G49", "G61 or G61.1", "G80"]), unique=True)),
        refuses=draw(st.lists(st.sampled_from(UNUSED), unique=True)),
        on_trust=draw(st.lists(st.sampled_from(FREE), unique=True)),
        new_setting="file" if form == "none" else draw(st.sampled_from(["stop", "file"])),
        comments={
            "form": form,
            "capitals": draw(st.booleans()),
            "signs": draw(_SIGNS) + ",",
            "message": message,
        },
        lines=around,
    )
