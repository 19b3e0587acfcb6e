"""What a survey of a row comes to, in figures: one dict, in the job's unit, that words, picture and JSON tell."""

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np

from gen.cranktrain import at_cam, at_deck
from gen.job import Job
from gen.linechance import chance, stock_for
from gen.linenames import MOST_STOCK, NEW_ZERO_ONLY, WITHIN_LIMITS
from gen.lines import Candidate, Lines, between, candidate, cap_cuts, keeps, lines
from gen.linesetup import CHECKED_AT, ZERO_STEP, check_readings, settable, supports
from gen.linewanted import Caps, LineWanted
from gen.row import housings
from gen.rowline import Hold, Line, NoLine, Survey, off_line
from gen.strays import WILD, spread_mm
from gen.surveyed import Section, Surveyed
from post.units import MM_PER, Units
from post.userfile import InputError

TRIALS: Final = 10_000
"""Of the simulation; a chance of 99 % is then known to 0.1 %."""
SURE: Final = 0.99
TILT_PER: Final[Mapping[Units, float]] = {"mm": 1000.0, "inch": 12.0}
"""What a tilt is told over: millimetres a metre, inches a foot."""
STOCK_DIGITS: Final[Mapping[Units, int]] = {"mm": 4, "inch": 5}
"""Of the stock that would do, which is told so that it can be written into the job."""
LIMIT_WORDS: Final = {"stock": "stock", "toward cam": "the most toward the camshaft", "never lower": "never lower"}


def facts(job: Job, surveyed: Surveyed, *, choose: str | None = None, seed: int = 1) -> dict[str, Any]:
    """The figures, ready for JSON: lengths in the job's unit, places in program coordinates, angles in degrees.

    ``tilt`` is that in Y and in Z as X grows, mm a metre or inches a foot. ``choose`` names the line that zero,
    supports and engine are told for; by default the one to bore on. ``ok`` says whether a line keeps the stock wanted
    at every bore, and the limits of the crank. New zeros are in the steps of ``gen.linesetup.ZERO_STEP``. Raises
    InputError where there is no line of that name.
    """
    return _Facts(job, surveyed, seed).all(choose)


class _Facts:
    def __init__(self, job: Job, surveyed: Surveyed, seed: int) -> None:
        self.job, self.sections, self.seed = job, surveyed.sections, seed
        self.wanted = job.line or LineWanted()
        self.per = MM_PER[job.units]
        self.survey: Survey = surveyed.survey(job)
        self.lines: Lines = self._as_set(lines(self.survey, self.wanted))
        row = housings(job)
        self.ends = [(row[index].bore.name, (row[index].near_x + row[index].far_x) / 2) for index in (0, -1)]

    def _as_set(self, found: Lines) -> Lines:
        """The same lines, but that of a new zero only where the control can set it, and what it means there."""
        return found._replace(
            candidates=tuple(
                self._settable(one, found.old) if one.name == NEW_ZERO_ONLY else one for one in found.candidates
            )
        )

    def _settable(self, one: Candidate, old: Line) -> Candidate:
        """The nearest that can be set; where that breaks limits that the line keeps, the best thereabouts."""

        def moved(steps_y: int, steps_z: int) -> Candidate:
            zero, units = self.job.machine.zero, self.job.units
            step = ZERO_STEP[units] * self.per
            y = settable(zero.y + one.line.y0 + steps_y * step, units) - zero.y
            z = settable(zero.z + one.line.z0 + steps_z * step, units) - zero.z
            return candidate(one.name, one.line._replace(y0=y, z0=z), self.survey, old, self.wanted)

        nearest = moved(0, 0)
        if one.breaks or not nearest.breaks:
            return nearest
        around = itertools.starmap(moved, itertools.product(range(-2, 3), repeat=2))
        kept = [other for other in around if not other.breaks]
        return max(kept, key=lambda other: float(other.measures.stock.min()), default=nearest)

    def all(self, choose: str | None) -> dict[str, Any]:
        best = self.lines.best
        chosen = best if choose is None else self._chosen(choose)
        return {
            "ok": self.lines.refused is None,
            "job": self.job.name,
            "units": self.job.units,
            "stock_wanted": self.told(self.wanted.stock),
            "old_line": self.wanted.old,
            "sections": [self._section(number) for number in range(len(self.sections))],
            "unlike": self._unlike(),
            "lines": [self._line(one) for one in self.lines.candidates],
            "best": best.name,
            "chosen": chosen.name,
            "refused": self._refused(),
            "short": self._short(),
            "zero": self._zero(self.lines.named(NEW_ZERO_ONLY).line),
            "supports": self._supports(chosen.line),
            "checks": self._checks(chosen.line),
            "cam": self._cam(chosen.line),
            "decks": self._decks(chosen.line),
            "sure": self._sure(chosen),
        }

    def _chosen(self, name: str) -> Candidate:
        known = [one.name for one in self.lines.candidates]
        if name not in known:
            why = "what is wanted of it cannot be kept"
            if name == WITHIN_LIMITS:
                why = "that is told only where no line keeps the stock wanted, and most stock breaks the crank's limits"
            raise InputError(f'--line: no line is "{name}" for this survey: {why}; choose one of {", ".join(known)}')
        return self.lines.named(name)

    def told(self, length_mm: float | None) -> float | None:
        return None if length_mm is None or math.isnan(length_mm) else round(float(length_mm) / self.per, 6) + 0.0

    def names(self, sections: Sequence[int]) -> list[str]:
        """The bores that sections are of, each once, in the job's order."""
        bores = sorted({self.sections[section].bore for section in sections})
        return [self.job.bore[bore].name for bore in bores]

    def _section(self, number: int) -> dict[str, Any]:
        one: Section = self.sections[number]
        oval = one.oval
        return {
            "bore": self.job.bore[one.bore].name,
            "depth": self.told(one.depth),
            "x": self.told(one.x),
            "y": self.told(one.y),
            "z": self.told(one.z),
            "diameter": self.told(one.diameter),
            "widest": self.told(one.widest),
            "target": self.told(self.job.bore[one.bore].diameter),
            "told": one.told,
            "oval": None if oval is None else self.told(oval.size),
            "oval_angle": None if oval is None else round(oval.clock_deg, 1),
            "left_over": None if oval is None else self.told(oval.left_over),
            "roundness": self.told(one.roundness),
            "cross": self.told(one.cross),
            "closing": self.told(one.closing),
        }

    def _unlike(self) -> list[dict[str, Any]]:
        """Bores surveyed at a size that the job's ``measured`` is clearly not, each by its diameter farthest off."""
        far = WILD * spread_mm(self.wanted.repeats)
        unlike = []
        for index, bore in enumerate(self.job.bore):
            if bore.measured is None:
                continue
            low, high = bore.measured
            sizes = [one.diameter for one in self.sections if one.bore == index]
            farthest = max(sizes, key=lambda size: max(low - size, size - high))
            if max(low - farthest, farthest - high) > far:
                told = {"diameter": self.told(farthest), "measured": [self.told(low), self.told(high)]}
                unlike.append({"bore": bore.name} | told)
        return unlike

    def _line(self, one: Candidate) -> dict[str, Any]:
        means = one.measures
        least = float(means.stock.min())
        return {
            "name": one.name,
            "ends": self._ends(one.line),
            "tilt": [round(slope * TILT_PER[self.job.units], 6) + 0.0 for slope in (one.line.y1, one.line.z1)],
            "stock": [self.told(stock) for stock in means.stock],
            "thinnest": [None if math.isnan(angle) else round(float(angle), 1) for angle in means.thinnest_deg],
            "least": self.told(least),
            "clears": keeps(one, 0.0),
            "keeps_wanted": keeps(one, self.wanted.stock),
            "grow": self.told(2 * means.oversize),
            "size": self._size(means.oversize),
            "held_by": [self._hold(hold) for hold in one.line.holds],
            "breaks": [
                {"bore": self._bore(broken.section), "limit": LIMIT_WORDS[broken.limit], "by": self.told(broken.by)}
                for broken in one.breaks
            ],
        }

    def _bore(self, section: int) -> str:
        return self.job.bore[self.sections[section].bore].name

    def _ends(self, line: Line) -> list[dict[str, Any]]:
        """Where a line lies at the end bores, and how far that is from the crank's old line."""
        moved = between(line, self.lines.old)
        ends = []
        for name, x in self.ends:
            y, z = line.at(np.array(x))
            sideways, rise = moved.at(np.array(x))
            ends.append(
                {
                    "bore": name,
                    "x": self.told(x),
                    "y": self.told(float(y)),
                    "z": self.told(float(z)),
                    "sideways": self.told(float(sideways)),
                    "rise": self.told(float(rise)),
                }
            )
        return ends

    def _size(self, oversize: float) -> float | None:
        """The smallest common size that cleans up every bore, where all are wanted alike."""
        targets = {one.diameter for one in self.job.bore}
        return self.told(targets.pop() + 2 * oversize) if len(targets) == 1 else None

    def _hold(self, hold: Hold) -> dict[str, Any]:
        return {
            "bore": self._bore(hold.section),
            "limit": LIMIT_WORDS[hold.limit],
            "worth": round(hold.multiplier, 4),
        }

    def _refused(self) -> dict[str, Any] | None:
        """Why no line keeps what is wanted; ``stock``: the most the job could want, None where none would do.

        ``by_limits``: it is the crank's limits alone that rule out the stock wanted.
        """
        error: NoLine | None = self.lines.refused
        if error is None:
            return None
        # Down to a figure that can be written, but for what the solver lacks.
        fine = 10 ** STOCK_DIGITS[self.job.units]
        stock = math.floor(error.best / self.per * fine + 2e-5) / fine
        return {
            "best": self.told(error.best),
            "stock": None if stock < 0 else stock,
            "by_limits": self.lines.best.name == WITHIN_LIMITS
            and keeps(self.lines.named(MOST_STOCK), self.wanted.stock),
            "held_by": [self._hold(hold) for hold in error.holds],
        }

    def _short(self) -> dict[str, Any] | None:
        """Where even the most stock within the crank's limits is less than wanted: which bores, and what would help."""
        if self.lines.refused is None:
            return None
        most = self.lines.best
        lacking = self.wanted.stock - most.measures.stock
        # The bores that hold the line down are as short as each other, to the rounding of the solver.
        sections = [int(section) for section in np.flatnonzero(lacking > max(1e-6, float(lacking.max()) / 1000))]
        bores = []
        for name in self.names(sections):
            of_bore = [s for s in sections if self.job.bore[self.sections[s].bore].name == name]
            worst = float(lacking[of_bore].max())
            clears = worst <= self.wanted.stock + 1e-6
            bores.append({"bore": name, "short": self.told(worst), "clears": clears})
        grow = float(lacking.max())
        return {
            "bores": bores,
            "cleans_up": keeps(most, 0.0),
            "grow": self.told(2 * grow),
            "size": self._size(grow),
            "caps": None if self.wanted.caps is None else self._caps(self.wanted.caps),
        }

    def _caps(self, side: Caps) -> dict[str, Any]:
        """The least to come off the caps' parting faces, None for each where no cut helps."""
        try:
            found = cap_cuts(self.survey, self.wanted, self.lines.old, side)
        except NoLine as error:
            by_limits = any(hold.limit != "stock" for hold in error.holds)
            least = self.told(error.best)
            return {"cuts": None, "total": None, "least": least, "by_limits": by_limits, "ends": None}
        cuts = [
            {"bore": self.job.bore[int(bore)].name, "cut": self.told(float(cut))}
            for bore, cut in zip(found.bores, found.cuts, strict=True)
            if cut > 0
        ]
        return {
            "cuts": cuts,
            "total": self.told(float(found.cuts.sum())),
            "least": self.told(float(found.stock.min())),
            "by_limits": False,
            "ends": self._ends(found.line),
        }

    def _zero(self, line: Line) -> dict[str, Any]:
        """Where program zero goes for a line parallel to X, as settable, in machine coordinates."""
        zero = self.job.machine.zero
        return {
            "offset": self.job.machine.work_offset,
            "y": self.told(zero.y + line.y0),
            "z": self.told(zero.z + line.z0),
            "from_y": self.told(zero.y),
            "from_z": self.told(zero.z),
        }

    def _supports(self, line: Line) -> dict[str, Any] | None:
        if self.wanted.supports is None:
            return None
        moves = supports(line, self.wanted.supports)
        zero = self.job.machine.zero
        both = [
            {"x": self.told(x), "raise": self.told(float(up)), "shift": self.told(float(aside))}
            for x, up, aside in zip(self.wanted.supports, moves.raise_, moves.shift, strict=True)
        ]
        return {
            "both": both,
            "one": {
                "x": self.told(self.wanted.supports[1]),
                "raise": self.told(moves.second_raise),
                "shift": self.told(moves.second_shift),
                "y": self.told(settable(zero.y + moves.new_y, self.job.units)),
                "z": self.told(settable(zero.z + moves.new_z, self.job.units)),
            },
        }

    def _checks(self, line: Line) -> list[dict[str, Any]]:
        """What is found at every section once the line lies on the bar's axis."""
        y, z = off_line(self.survey, line)
        return [
            {
                "bore": self.job.bore[one.bore].name,
                "depth": self.told(one.depth),
                "y": self.told(float(y[number])),
                "z": self.told(float(z[number])),
                "readings": [
                    {"angle": angle, "reading": self.told(reading)}
                    for angle, reading in zip(CHECKED_AT, check_readings(one, line), strict=True)
                ],
            }
            for number, one in enumerate(self.sections)
        ]

    def _cam(self, line: Line) -> dict[str, Any] | None:
        if self.wanted.cam is None:
            return None
        change = at_cam(self.wanted.cam, between(line, self.lines.old))
        told = {name: self.told(value) for name, value in change._asdict().items()}
        return {"drive": self.wanted.cam.drive, "x": self.told(self.wanted.cam.x), **told}

    def _decks(self, line: Line) -> list[dict[str, Any]]:
        moved = between(line, self.lines.old)
        first, second = (tuple(map(float, moved.at(np.array(x)))) for _, x in self.ends)
        decks = []
        for deck in self.wanted.deck:
            change = at_deck(deck, ((first[0], first[1]), (second[0], second[1])))
            heights = change.heights or (None, None)
            decks.append(
                {
                    "name": deck.name,
                    "ends": [
                        {"bore": name, "grows": self.told(grows), "height": self.told(height)}
                        for (name, _), grows, height in zip(self.ends, change.grows, heights, strict=True)
                    ],
                }
            )
        return decks

    def _sure(self, chosen: Candidate) -> dict[str, Any]:
        """The chance that every bore cleans up on the line, and the least stock that would make it ``SURE``."""
        repeats = self.wanted.repeats
        grow = stock_for(self.survey, chosen.line, repeats, SURE, TRIALS, self.seed)
        return {
            "repeats": self.told(repeats),
            "chance": round(chance(self.survey, chosen.line, repeats, TRIALS, self.seed), 4),
            "sure": SURE,
            "stock": self.told(max(0.0, float(chosen.measures.stock.min()) + grow)),
            "trials": TRIALS,
            "seed": self.seed,
        }
