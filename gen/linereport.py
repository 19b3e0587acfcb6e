"""The figures of a survey in words, for the machinist who is to move the block."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from gen.borecells import named
from gen.columns import UNITS_NAMED, fixed, row, table
from gen.linenames import NEW_ZERO_ONLY, WITHIN_LIMITS
from post.units import UNIT_WORD, plain

OLD_WORDS: Final[Mapping[str, str]] = {
    "ends": "the line through the end bores",
    "all": "the least squares line",
    "zero": "program zero",
}
CLOCK: Final[Mapping[int, str]] = {0: "top", 90: "+Y", 180: "bottom", 270: "-Y"}
TILT_WORD: Final = {"mm": "mm/m", "inch": "in/ft"}
WIDEST: Final = 200
"""Bores told in full; JSON has them all."""
CAUTIONS: Final = (
    "survey with the caps torqued as they will run, the mains clean, the block clamped as it will be bored",
    "after moving sweep every bore again, and go by what the indicator shows; a zero set anew goes into the job too",
    "after a new zero earlier surveys and `centre` no longer count: take the step off their Y and Z, or survey again",
    "what gears, chain and deck may be is for the engine's maker and a qualified person to say",
)


def words(facts: dict[str, Any]) -> str:
    """Lines of text from the figures of ``gen.linefacts``."""
    return "\n".join(_Words(facts).lines())


def verdict(facts: dict[str, Any]) -> list[str]:
    """What it comes to, in a few short lines."""
    return [text if name in ("verdict", "") else f"{name}: {text}" for name, text in _Words(facts).verdict()]


class _Words:
    def __init__(self, facts: dict[str, Any]) -> None:
        self.facts = facts
        self.unit = UNIT_WORD[facts["units"]]
        self.digits = 4 if facts["units"] == "mm" else 5

    def lines(self) -> Iterator[str]:
        facts = self.facts
        yield facts["job"]
        yield row("lengths", f"in {UNITS_NAMED[facts['units']]}; Y and Z from program zero, the bar as it stands now")
        yield ""
        yield from table([("bore", "Y", "Z", "diameter", "wanted", "oval", "at", "T+B-L-R"), *self._sections()])
        yield from self._more(facts["sections"])
        if any(one["cross"] is not None for one in facts["sections"]):
            yield row(
                "", "T+B-L-R: how much larger a sweep has the diameter top to bottom than the one across (worst pair):"
            )
            yield row(
                "", "near 0 where the bore is round; where it is oval, the difference that gauging those two tells"
            )
        yield ""
        yield from table(
            [
                ("line", "least", "grow", *self._heads("across"), *self._heads("rise"), "tilt Y", "tilt Z"),
                *map(self._candidate, facts["lines"]),
            ]
        )
        yield row("", f"least: stock at the thinnest place; {self._wanted()}. grow: what every diameter must grow by")
        yield row("", f"across (+Y) and rise (+Z) of the crank from {OLD_WORDS[facts['old_line']]}, at the end bores")
        yield row("", f"tilt: {TILT_WORD[facts['units']]} as X grows, to be taken out by moving the block")
        if any(line["breaks"] for line in facts["lines"]):
            yield row("", "!: breaks a limit of the crank, [line] never_lower or most of [line.cam]")
        yield ""
        for name, text in self.verdict():
            yield row(name, text)
        for bore in facts["short"]["bores"] if facts["short"] else ():
            lacking = self._length(bore["short"])
            yield row("short", f"bore {bore['bore']}: {lacking} less than the stock wanted, on the radius")
        yield ""
        yield from self._chosen()
        for caution in (*self._outside(), *self._unlike(), *CAUTIONS):
            yield row("caution", caution)

    def _outside(self) -> Iterator[str]:
        """What limits of the crank the line told of breaks."""
        broken = self._broken(self.facts["chosen"])
        if broken:
            yield f"the line {self.facts['chosen']} breaks the crank's limits: {broken}"

    def _broken(self, name: str) -> str:
        """By how much a line breaks each limit of the crank, and where; "" where it breaks none."""
        line = next(line for line in self.facts["lines"] if line["name"] == name)
        told = []
        for one in line["breaks"]:
            past = "lower" if one["limit"] == "never lower" else f"beyond {one['limit']}"
            told.append(f"{self._least(one['by'])} {past} at bore {one['bore']}")
        return ", ".join(told)

    def _least(self, value: float) -> str:
        """A length above 0; no shorter than can be told."""
        return self._length(value) if self._tells(value) else f"less than {self._length(10**-self.digits)}"

    def _unlike(self) -> Iterator[str]:
        """Bores that the job knows as of another size; a survey of many may be all of another block."""
        unlike = self.facts["unlike"]
        for one in unlike[:WIDEST]:
            low, high = (plain(size, self.digits) for size in one["measured"])
            yield (
                f"{named([one['bore']])} is {plain(one['diameter'], self.digits)} {self.unit} in the survey, but the"
                f" job says measured = [{low}, {high}]: see which is right; stock is by the survey"
            )
        if len(unlike) > WIDEST:
            yield f"and {len(unlike) - WIDEST} bores more; --json lists them all"

    def _wanted(self) -> str:
        return f"{self._length(self.facts['stock_wanted'])} wanted"

    def _length(self, value: float) -> str:
        return f"{fixed(value, self.digits)} {self.unit}"

    def _signed(self, value: float) -> str:
        return signed(value, self.digits)

    def _heads(self, what: str) -> list[str]:
        return [f"{what} {end['bore']}" for end in self.facts["lines"][0]["ends"]]

    def _sections(self) -> Iterator[tuple[str, ...]]:
        for one in self.facts["sections"][:WIDEST]:
            yield (
                section_name(one, self.digits),
                self._signed(one["y"]),
                self._signed(one["z"]),
                fixed(one["diameter"], self.digits),
                fixed(one["target"], self.digits),
                fixed(one["oval"], self.digits),
                fixed(one["oval_angle"], 0),
                "-" if one["cross"] is None else self._signed(one["cross"]),
            )

    def _more(self, sections: Sequence[Any]) -> Iterator[str]:
        if len(sections) > WIDEST:
            yield f"  and {len(sections) - WIDEST} more; --json lists them all"

    def _candidate(self, line: dict[str, Any]) -> tuple[str, ...]:
        ends = line["ends"]
        return (
            ("* " if line["name"] == self.facts["chosen"] else "  ") + line["name"] + (" !" if line["breaks"] else ""),
            self._signed(line["least"]),
            self._signed(line["grow"]),
            *(self._signed(end["sideways"]) for end in ends),
            *(self._signed(end["rise"]) for end in ends),
            *(self._signed(tilt) for tilt in line["tilt"]),
        )

    def verdict(self) -> Iterator[tuple[str, str]]:
        """Rows of the verdict: what each is about, and its text."""
        facts = self.facts
        chosen = next(line for line in facts["lines"] if line["name"] == facts["best"])
        if facts["ok"]:
            yield ("verdict", f"CLEANS UP: bore on the line {facts['best']}")
            yield ("", f"at least {self._length(chosen['least'])} of stock all round every bore")
        else:
            yield from self._short(facts["short"])
        held = facts["refused"]["held_by"] if facts["refused"] else chosen["held_by"]
        if held:
            yield ("held by", ", ".join(_hold(hold) for hold in held))

    def _short(self, short: dict[str, Any]) -> Iterator[tuple[str, str]]:
        refused, larger = self.facts["refused"], "would do"
        within = " within the crank's limits" if self.facts["best"] == WITHIN_LIMITS else ""
        bores = named(bore["bore"] for bore in short["bores"] if not bore["clears"])
        if refused["by_limits"]:
            yield ("verdict", f"NOT WITHIN THE CRANK'S LIMITS: no line keeps {self._wanted()} and the limits too")
            most = self._length(refused["best"])
            least = f"within them the least stock is {most} at most, on the line {WITHIN_LIMITS}"
            yield ("", least if short["cleans_up"] else f"{least}: it does not clean up {bores}")
            if refused["stock"] is not None:
                yield ("would do", f"[line] stock = {plain(refused['stock'], self.digits)}")
                larger = ""
        elif short["cleans_up"]:
            yield ("verdict", f"TOO LITTLE STOCK: every bore cleans up, but no line{within} keeps {self._wanted()}")
        else:
            yield (
                "verdict",
                f"DOES NOT CLEAN UP: no line{within} clears every bore; the one of most stock not {bores}",
            )
        size = "" if short["size"] is None else f": {self._length(short['size'])}"
        more = f"every bore larger by {self._length(short['grow'])} in diameter{size}"
        yield (larger, more if larger else f"or {more}")
        yield from self._caps(short["caps"])

    def _caps(self, caps: dict[str, Any] | None) -> Iterator[tuple[str, str]]:
        if caps is None:
            yield ("", 'or cutting caps: tell the job on which side they are, as [line] caps = "+Z"')
        elif caps["cuts"] is None:
            why = "within the crank's limits" if caps["by_limits"] else "across the parting"
            yield ("", f"cutting caps does not help: {why} {self._length(caps['least'])} is the most")
        else:
            cuts = ", ".join(f"bore {cut['bore']} {self._length(cut['cut'])}" for cut in caps["cuts"])
            yield ("", f"or off the caps' parting faces: {cuts}; in all {self._length(caps['total'])}")
            for end in caps["ends"]:
                yield (
                    "",
                    f"then the line is at Y {self._signed(end['y'])} Z {self._signed(end['z'])} at bore {end['bore']}",
                )

    def _chosen(self) -> Iterator[str]:
        facts = self.facts
        yield f"  The line {facts['chosen']}{self._but()}:"
        yield ""
        yield from self._at_machine()
        yield ""
        yield from self._checks()
        yield ""
        yield from self._in_engine()
        sure = facts["sure"]
        yield row(
            "sure",
            f"{100 * sure['chance']:.1f} % that every bore cleans up, readings repeating to"
            f" {self._length(sure['repeats'])}; {100 * sure['sure']:.0f} % with {self._length(sure['stock'])} of stock",
        )

    def _but(self) -> str:
        """What is wrong with the line that is told of, so that nobody moves a block for it unawares."""
        line = next(line for line in self.facts["lines"] if line["name"] == self.facts["chosen"])
        caps = self.facts["short"] and self.facts["short"]["caps"]
        as_they_are = ", with the caps as they are; after cutting caps survey again" if caps and caps["cuts"] else ""
        outside = ", which BREAKS the crank's limits" if line["breaks"] else ""
        if not line["clears"]:
            return f"{outside}, which does NOT clean up every bore{as_they_are}"
        return outside if line["keeps_wanted"] else f"{outside}, which keeps LESS than the stock wanted{as_they_are}"

    def _at_machine(self) -> Iterator[str]:
        facts, zero = self.facts, self.facts["zero"]
        moves = facts["supports"]
        if moves is None:
            yield row("block", "tell the job where it can be moved, as [line] supports = [X, X], for how far")
        else:
            for support in moves["both"]:
                yield row("block", f"support at X {support['x']:g}: {self._move(support)}; zero stays")
            one = moves["one"]
            yield row("", f"or only the support at X {one['x']:g}: {self._move(one)},")
            yield row("", f"and zero: {self._zero(one)} (machine)")
        least = next(line["least"] for line in facts["lines"] if line["name"] == NEW_ZERO_ONLY)
        yield row(
            "no move",
            f"with a new zero only, {self._zero(zero)} (machine): least stock {self._length(least)}",
        )
        broken = self._broken(NEW_ZERO_ONLY)
        if broken:
            yield row("", f"no new zero keeps the crank's limits; this one BREAKS them: {broken}")

    def _zero(self, zero: dict[str, Any]) -> str:
        """A work offset, no finer than it can be set: lengths are told to a tenth of that."""
        y, z = (signed(zero[axis], self.digits - 1) for axis in ("y", "z"))
        return f"{self.facts['zero']['offset']} Y {y} Z {z}"

    def _move(self, support: dict[str, Any]) -> str:
        up, aside = support["raise"], support["shift"]
        lift = "leave its height" if not up else f"{'raise' if up > 0 else 'lower'} {self._length(abs(up))}"
        slide = (
            "leave it in Y" if not aside else f"shift {self._length(abs(aside))} toward {'+' if aside > 0 else '-'}Y"
        )
        return f"{lift}, {slide}"

    def _checks(self) -> Iterator[str]:
        yield "  Then the indicator, 0 at the top and growing as it is pressed in, shows:"
        angles = [CLOCK[one["angle"]] for one in self.facts["checks"][0]["readings"][1:]]
        yield from table(
            [
                ("bore", *angles, "thinnest", "at"),
                *(
                    (
                        section_name(one, self.digits),
                        *(self._signed(reading["reading"]) for reading in one["readings"][1:]),
                        self._signed(stock),
                        fixed(angle, 0),
                    )
                    for one, stock, angle in self._stocks()
                ),
            ]
        )
        yield from self._more(self.facts["checks"])

    def _stocks(self) -> Iterator[tuple[dict[str, Any], float, float | None]]:
        line = next(line for line in self.facts["lines"] if line["name"] == self.facts["chosen"])
        yield from list(zip(self.facts["checks"], line["stock"], line["thinnest"], strict=True))[:WIDEST]

    def _tells(self, value: float) -> bool:
        """Whether a length is more than nothing as it is printed."""
        return bool(fixed(abs(value), self.digits).strip("0."))

    def _drive(self, cam: dict[str, Any]) -> str:
        """What becomes of what drives the camshaft."""
        if cam["drive"] == "chain":
            slack = "slacker" if cam["slack"] >= 0 else "tighter"
            return f"the chain becomes {self._length(abs(cam['slack']))} of its length {slack}"
        more = "grows" if cam["backlash"] >= 0 else "shrinks"
        now = "" if cam["new_backlash"] is None else f", to {self._length(cam['new_backlash'])}"
        return f"backlash {more} by {self._length(abs(cam['backlash']))}{now}"

    def _in_engine(self) -> Iterator[str]:
        cam = self.facts["cam"]
        if cam is not None:
            way = "farther from" if cam["apart"] >= 0 else "nearer to"
            moves = f"comes {self._length(abs(cam['apart']))} {way} it" if self._tells(cam["apart"]) else "stays as far"
            yield row("camshaft", f"the crank {moves}, at X {cam['x']:g}")
            if self._tells(cam["apart"]):
                yield row("", self._drive(cam))
        for deck in self.facts["decks"]:
            ends = ", ".join(
                f"{self._signed(end['grows'])} at bore {end['bore']}"
                + ("" if end["height"] is None else f" (then {self._length(end['height'])})")
                for end in deck["ends"]
            )
            yield row(deck["name"], f"height above the crank {ends}")


def signed(value: float, digits: int) -> str:
    """A number with its sign, but for 0."""
    text = fixed(value, digits)
    return text if text.startswith("-") or not text.strip("0.") else f"+{text}"


def section_name(one: dict[str, Any], digits: int) -> str:
    """A bore, and the depth in it where one is told."""
    return str(one["bore"]) if one["depth"] is None else f"{one['bore']} @ {plain(one['depth'], digits)}"


def _hold(hold: dict[str, Any]) -> str:
    return f"bore {hold['bore']}" if hold["limit"] == "stock" else f"{hold['limit']} at bore {hold['bore']}"
