"""From measured bores to the next cut: what the cutter is set to, what is expected of it, and whether to cut at all.

Sizes are told as they are at 20 C where the job's temperature and the metal's expansion are known. The cutter is set
and cuts at the block's temperature, so limits and aims are brought to that, and what is expected is brought back.

next pass
    of a bore, the first pass of the plan behind the one that cut it that finds enough to cut; else the finish.
group
    bores of one next pass: one setting of the cutter.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

import numpy as np

from gen import chance
from gen.behaviour import BAND, Behaviour, learned, taken
from gen.borecells import SLACK_MM
from gen.boresize import Known, known
from gen.job import Job
from gen.measured import check_plan, cut_by, limits_of_bore
from gen.offsize import REFERENCE_C, at_20_degrees
from gen.passes import Setting, aim_mm, least_depth_mm, pass_plan
from gen.readings import Measured
from gen.sections import Floats
from gen.settingwords import SETTING_STEP, diameter_set, show_setting, told_setting
from post.units import MM_PER, UNIT_WORD, plain

Advice = Literal["cut", "split the cut", "stop"]

MAINLY: Final = 0.5
"""Part of the variance from which something makes most of it."""


class Outlook(NamedTuple):
    """What a setting is expected to make of bores, (n,), mm at the block's temperature.

    ``shared`` (3, n) and ``own`` as ``gen.behaviour`` has them; ``by_behaviour`` is the part of the variance that comes
    from bias and spring, which another pass would teach.
    """

    expected: Floats
    deviation: Floats
    shared: Floats
    own: Floats
    by_behaviour: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Next:
    """The next setting of a group, mm at the block's temperature: which pass, what for, and what comes of it.

    ``bores`` are to be cut, by index; ``leave_out`` are in tolerance already. ``wanted_mm`` is what the pass is for,
    ``set_mm`` the diameter the cutter is to be set to. Where the advice is "stop" there is no setting to tell;
    ``outlook`` and ``chances`` are then of the cut that is not to be made, if that is why.
    """

    number: int
    pass_of_plan: Setting
    bores: tuple[int, ...]
    leave_out: tuple[int, ...]
    advice: Advice
    reason: str
    wanted_mm: float | None = None
    set_mm: float | None = None
    outlook: Outlook | None = None
    chances: chance.Chances | None = None

    @property
    def is_held(self) -> bool:
        """Whether it stops for another reason than that every bore is in tolerance."""
        return self.advice == "stop" and bool(self.bores)


class Shop:
    """A job after so many rounds: what is known of its bores, and how its cutter behaves.

    Raises InputError where the job does not tell passes or a tolerance, and ValueError as
    ``gen.offsize.at_20_degrees``.
    """

    def __init__(self, job: Job, rounds: Sequence[Measured], expansion_per_k: float | None = None) -> None:
        check_plan(job)
        self.job, self.rounds = job, tuple(rounds)
        temperature = job.size.temperature if job.size else REFERENCE_C
        self.grown = 1 / at_20_degrees(1.0, temperature, expansion_per_k or 0.0)
        self.bores: list[Known] = [bore for bore in known(job, rounds) if bore is not None]
        assert len(self.bores) == len(job.bore), "with [passes] every bore is measured"
        cuts, self.not_used = taken(job, rounds)
        self.behaviour: Behaviour = learned(cuts)
        self.plan = pass_plan(job)
        self.done = self._done()
        self.worst_half_mm = max((bore.half_mm for bore in self.bores if bore.half_mm is not None), default=0.0)

    def limits_mm(self, bore: int) -> tuple[float, float]:
        """Least and greatest diameter in tolerance, at the block's temperature."""
        within = limits_of_bore(self.job, bore)
        return within.smallest_mm * self.grown, within.largest_mm * self.grown

    def over_mm(self, bore: int) -> float:
        """By how much a bore's largest diameter is over its limit; 0 where it is not."""
        over = self.bores[bore].largest_mm - self.limits_mm(bore)[1]
        return over if over > SLACK_MM else 0.0

    @property
    def is_over(self) -> bool:
        """Whether any bore is over its largest size."""
        return any(self.over_mm(bore) for bore in range(len(self.bores)))

    def is_in(self, bore: int) -> bool:
        """Whether a bore was measured and every diameter of it is within its limits."""
        low, high = self.limits_mm(bore)
        now = self.bores[bore]
        return now.half_mm is not None and low - SLACK_MM <= now.smallest_mm and now.largest_mm <= high + SLACK_MM

    def next_passes(self) -> dict[int, list[int]]:
        """Bores by their next pass, as the index of its setting in the plan, in the plan's order."""
        groups: dict[int, list[int]] = {}
        for bore in range(len(self.bores)):
            groups.setdefault(self._next_pass(bore), []).append(bore)
        return dict(sorted(groups.items()))

    def due(self, bore: int) -> Iterator[int]:
        """Passes of a bore that are not cut yet and find enough to cut, as the index of their settings in the plan."""
        least, now = least_depth_mm(self.job), self.bores[bore].mean_mm
        for index in self._passes_of(bore):
            depth = (self.plan[index].diameter_mm * self.grown - now) / 2
            if index > self.done.get(bore, -1) and depth >= least:
                yield index

    def _passes_of(self, bore: int) -> list[int]:
        return [index for index, one in enumerate(self.plan) if bore in one.bores and one.kind != "air"]

    def _next_pass(self, bore: int) -> int:
        return next(self.due(bore), self._passes_of(bore)[-1])

    def _done(self) -> dict[int, int]:
        done: dict[int, int] = {}
        for measured in self.rounds:
            done |= cut_by(self.job, measured)
        return done

    def outlook(self, set_mm: float, bores: Sequence[int]) -> Outlook:
        """What a setting is expected to make of bores."""
        before = np.array([self.bores[bore].mean_mm for bore in bores])
        shared = self.behaviour.shared(set_mm, before)
        own = self.behaviour.own_mm(np.array([self.bores[bore].error_mm for bore in bores]))
        variance = (shared**2).sum(axis=0) + own**2
        by_behaviour = (shared[:2] ** 2).sum(axis=0) / variance
        return Outlook(self.behaviour.after_mm(set_mm, before), np.sqrt(variance), shared, own, by_behaviour)

    def setting_for(self, wanted_mm: float, bores: Sequence[int]) -> float:
        """The diameter to set so that bores are expected to lie evenly about what is wanted, as settings are told."""
        before = [self.bores[bore].mean_mm for bore in bores]
        exactly = self.behaviour.set_for_mm(wanted_mm, (min(before) + max(before)) / 2)
        return diameter_set(self.job, told_setting(self.job, exactly) * MM_PER[self.job.units])

    def most_before_finish_mm(self, bores: Sequence[int]) -> Floats:
        """Largest diameters (n,) at which the finish still finds enough to cut."""
        aims = np.array([aim_mm(self.job, self.job.bore[bore]) for bore in bores])
        return aims * self.grown - 2 * least_depth_mm(self.job)

    def room_mm(self, bores: Sequence[int]) -> tuple[Floats, Floats]:
        """Limits (n,) of the mean diameters of bores that allow for their form: as it is, or the worst of the row's."""
        halves = (self.bores[bore].half_mm for bore in bores)
        forms = np.array([self.worst_half_mm if half is None else half for half in halves])
        low, high = np.array([self.limits_mm(bore) for bore in bores]).T
        return low + forms, high - forms


def next_cuts(shop: Shop, *, seed: int, rows: int = chance.ROWS) -> list[Next]:
    """The next setting of every group, in the plan's order."""
    return [_next(shop, index, bores, seed, rows) for index, bores in shop.next_passes().items()]


def _next(shop: Shop, index: int, bores: list[int], seed: int, rows: int) -> Next:
    one = shop.plan[index]
    cut = tuple(bore for bore in bores if not shop.is_in(bore))
    left = tuple(bore for bore in bores if shop.is_in(bore))

    def stop(
        reason: str,
        wanted: float | None = None,
        outlook: Outlook | None = None,
        odds: chance.Chances | None = None,
    ) -> Next:
        return Next(index + 1, one, cut, left, "stop", reason, wanted, None, outlook, odds)

    if not cut:
        return stop("every bore is in tolerance")
    over = max(bores, key=shop.over_mm)
    if shop.over_mm(over):
        return stop(f"bore {_name(shop, over)} is {_show(shop, shop.over_mm(over))} over its largest size")
    if shop.is_over:
        return stop("a bore is over its largest size; nothing is cut until that is answered")
    amiss = _amiss(shop)
    if amiss:
        return stop(amiss)
    wanted = one.diameter_mm * shop.grown
    set_mm = shop.setting_for(wanted, cut)
    outlook = shop.outlook(set_mm, cut)
    depths = [(size - shop.bores[bore].mean_mm) / 2 for bore, size in zip(cut, outlook.expected, strict=True)]
    depth, tight = min(zip(depths, cut, strict=True))
    least = least_depth_mm(shop.job)
    if depth < least:
        return stop(
            f"bore {_name(shop, tight)} has {_show(shop, max(0.0, depth))} a side left and the cutter needs"
            f" {_show(shop, least)}; it is under its smallest size by {_show(shop, _under_mm(shop, tight))}:"
            f" {_ways_on(shop, one, cut)}"
        )
    splits = depth >= 2 * least and _teaches(outlook)
    too_large = _too_large(shop, cut, outlook)
    if one.kind != "finish":
        if splits and (outlook.expected + BAND * outlook.deviation > shop.most_before_finish_mm(cut)).any():
            return _split(shop, index, cut, left, wanted, outlook, "and perhaps leave too little for the finish")
        if too_large:
            return stop(too_large, wanted, outlook)
        return Next(index + 1, one, cut, left, "cut", _leaves(shop, wanted), wanted, set_mm, outlook)
    low, high = shop.room_mm(cut)
    if splits and (2 * BAND * outlook.deviation > high - low).any():
        return _split(shop, index, cut, left, wanted, outlook, "wider than the tolerance and the bores' form allow")
    if splits and too_large:
        return _split(shop, index, cut, left, wanted, outlook, "perhaps over the largest size")
    below, above = outlook.expected - low, high - outlook.expected
    odds = chance.chances(below, above, outlook.shared, outlook.own, seed=seed, rows=rows)
    if too_large:
        return stop(too_large, wanted, outlook, odds)
    reason = (
        f"all bores are expected in tolerance with a chance of {chance.percent(odds.all)}{_misses(shop, cut, outlook)}"
    )
    return Next(index + 1, one, cut, left, "cut", reason, wanted, set_mm, outlook, odds)


def _amiss(shop: Shop) -> str:
    """What is wrong with the cutter, as far as its cuts tell; "" where nothing is."""
    for cut in shop.not_used:
        if cut.round == len(shop.rounds) and cut.is_failed:
            was_set, took = (_show(shop, max(0.0, size - cut.before_mm)) for size in (cut.set_mm, cut.after_mm))
            return (
                f"in bore {_name(shop, cut.bore)} the cutter was set to take off {was_set} and took off {took}: look"
                " for a loose or broken cutter, a wrong setting or reading"
            )
    behaviour = shop.behaviour
    if behaviour.is_credible:
        return ""
    spring = plain(100 * behaviour.spring, 1)
    return (
        f"a bias of {_show(shop, behaviour.bias_mm)}, a spring of {spring} %, settings that repeat to"
        f" {_show(shop, behaviour.setting_mm)} and bores that scatter {_show(shop, behaviour.scatter_mm)} are not what"
        " a sound cutter and bar do: look for a wrong setting or reading on record, a loose cutter, a setting gauge off"
        " its zero"
    )


def _too_large(shop: Shop, cut: Sequence[int], outlook: Outlook) -> str:
    """Which bore may come out over its largest size, as far as the band that is told reaches; "" where none may."""
    most = np.array([shop.limits_mm(bore)[1] for bore in cut])
    highest = outlook.expected + BAND * outlook.deviation
    place = int((highest - most).argmax())
    over = float(highest[place] - most[place])
    if over <= SLACK_MM:
        return ""
    size = _show(shop, float(highest[place]) / shop.grown)
    return (
        f"bore {_name(shop, cut[place])} may come out at {size}, {_show(shop, over)} over its largest size; gauge again"
        " to be surer, or set less by hand and gauge what that cuts"
    )


def _misses(shop: Shop, cut: Sequence[int], outlook: Outlook) -> str:
    """Which bore may come out under its smallest size with too little left to cut again, as far as the band reaches."""
    low, _ = shop.room_mm(cut)
    lowest = outlook.expected - BAND * outlook.deviation
    short = np.where(lowest > shop.most_before_finish_mm(cut), low - lowest, 0.0)
    place = int(short.argmax())
    if short[place] <= SLACK_MM:
        return ""
    return (
        f"; bore {_name(shop, cut[place])} may come out {_show(shop, float(short[place]))} under its smallest size,"
        " with too little left to cut again"
    )


def _ways_on(shop: Shop, one: Setting, cut: Sequence[int]) -> str:
    """What can be done about bores that have less left than the cutter needs."""
    set_mm = _least_cut_mm(shop, cut)
    outlook = shop.outlook(set_mm, cut)
    low, _ = shop.room_mm(cut)
    higher = ""
    if one.kind == "finish" and not _too_large(shop, cut, outlook) and (outlook.expected >= low).all():
        most = _show(shop, float(outlook.expected.max()) / shop.grown)
        higher = (
            f"set {show_setting(shop.job, set_mm)}, just enough to cut and higher in the tolerance, {most} at most"
            " being expected; or "
        )
    return (
        f"{higher}run the cutter again at the setting it has, a spring pass, and size what that leaves with --again; or"
        " hone it; or put in a sharper edge and make passes.least less"
    )


def _least_cut_mm(shop: Shop, cut: Sequence[int]) -> float:
    """The least diameter to set, as settings are told, at which every bore is expected to find enough to cut."""
    job, largest = shop.job, max(shop.bores[bore].mean_mm for bore in cut)
    wanted = largest + 2 * least_depth_mm(job)
    told, step = told_setting(job, shop.behaviour.set_for_mm(wanted, largest)), SETTING_STEP[job.units]
    return diameter_set(job, (told + step) * MM_PER[job.units])


def _teaches(outlook: Outlook) -> bool:
    """Whether sizes are uncertain mainly because bias and spring are not known well enough."""
    return bool((outlook.by_behaviour > MAINLY).any())


def _split(
    shop: Shop, index: int, cut: tuple[int, ...], left: tuple[int, ...], wanted: float, whole: Outlook, why: str
) -> Next:
    """Half of what is left now, so that the other half is cut by a cutter that is better known."""
    before = [shop.bores[bore].mean_mm for bore in cut]
    half = (wanted + (min(before) + max(before)) / 2) / 2
    set_mm = shop.setting_for(half, cut)
    band = _show(shop, 2 * BAND * float(whole.deviation.max()))
    reason = f"one cut would spread sizes over {band}, {why}, as bias and spring are not known well enough yet"
    outlook = shop.outlook(set_mm, cut)
    too_large = _too_large(shop, cut, outlook)
    if too_large:
        return Next(index + 1, shop.plan[index], cut, left, "stop", too_large, half, None, outlook)
    return Next(index + 1, shop.plan[index], cut, left, "split the cut", reason, half, set_mm, outlook)


def _leaves(shop: Shop, wanted: float) -> str:
    return f"the pass brings the bores to {_show(shop, wanted / shop.grown)} and leaves the rest for those behind it"


def _under_mm(shop: Shop, bore: int) -> float:
    return shop.limits_mm(bore)[0] - shop.bores[bore].smallest_mm


def _name(shop: Shop, bore: int) -> str:
    return f'"{shop.job.bore[bore].name}"'


def _show(shop: Shop, length_mm: float) -> str:
    digits = 4 if shop.job.units == "mm" else 5
    return f"{plain(length_mm / MM_PER[shop.job.units], digits)} {UNIT_WORD[shop.job.units]}"
