"""Which wheelbase or pivot spacing works: every value is held to the real checks, none of their formulas
is copied here."""

from collections.abc import Callable, Iterable, Iterator
from functools import partial
from itertools import groupby, pairwise
from math import ceil, floor, inf
from os import cpu_count
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import asdict, replace

from partgen.checks import on_plan
from partgen.describe.description import Description
from partgen.describe.field import limits
from partgen.describe.wagon_tables import Wagon
from partgen.finding import Finding
from partgen.interrupts import workers
from partgen.plan import train as trains
from partgen.plan import wagon as wagons
from partgen.plan.running_gear.wheelbases import Setting
from partgen.plan.train import TrainPlan
from partgen.remedies.trials import End, Trials, end, told
from partgen.remedies.workbench import Fails, failing

GRID = 25               # values looked at first, over the whole range
FINE = 6                # stretches of the working interval of which every end is judged
TO_THE_ENDS = "to the ends"
LEAST_CHANGE = 1e-6     # of a margin, below which a value does not touch it
CLOSE_ENOUGH = 0.01     # of a reserve
NEAR = 0.5              # mm either side of the best value, where all must hold too: no wheelbase comes out truer
LEAST_WORK = 120        # wagons times pieces of track from which a second process saves time


class Sample(Struct, frozen=True):
    """One value tried [mm] and by how much each check of it holds, in the check's own unit, negative where it
    fails."""

    value: float
    margins: dict[str, float]


class Tuning(Struct, frozen=True):
    """The working interval of one wagon [mm]; low, high and best are None where nothing works.

    The `best` is one of the `settings` of the frame as it is described that hold, where there is any; the best of all
    is that of a frame drawn `anew`. Settings that do not hold are `left_out`, each with the reason.
    """

    wagon: str
    variable: str
    low: float | None
    high: float | None
    best: float | None
    low_binds: Finding | None
    high_binds: Finding | None
    now: float
    longest_body: float | None
    longest_binds: Finding | None
    samples: tuple[Sample, ...]
    settings: tuple[float, ...] = ()
    left_out: tuple[Setting, ...] = ()
    anew: float | None = None
    unit: str = "mm"

    def record(self) -> dict[str, Any]:
        """Return plain data for JSON, the samples left out."""
        plain = {name: told(value) if isinstance(value, Finding) else value
                 for name, value in asdict(self).items() if name != "samples"}
        return plain | {"left_out": [{"wheelbase": one.base, "why": one.barred} for one in self.left_out]}


Samples = tuple[Sample, ...]
Tightest = tuple[float | None, Finding | None]


def tune(description: Description,
         progress: Callable[[str, float], None] = lambda what, share: None) -> tuple[tuple[Tuning, ...], Tightest]:
    """Tune every wagon, and find how tight the track could be; in processes side by side where it takes long.

    With all best values together no check fails that holds now. `progress` is told what is being tried and the share
    of the whole done so far, 0 to 1. Returns a Tuning a wagon in the order described, and (smallest radius [mm] or
    None, what binds there).
    """
    jobs = [(tightest_radius, description), *((tune_wagon, description, wagon.name) for wagon in description.wagon)]
    pieces = sum(piece.times for piece in description.track.plan)
    if len(description.wagon) * pieces < LEAST_WORK:
        radius, *tuned = _told(map(_do, jobs), description, progress)
    else:
        with workers(min(cpu_count() or 1, len(jobs))) as pool:
            radius, *tuned = _told(pool.map(_do, jobs), description, progress)
    return tuple(_together(description, tuned)), radius


def _told(found: Iterator[Any], description: Description, progress: Callable[[str, float], None]) -> Iterator[Any]:
    """Yield what is found, job by job, and tell before each what it tries."""
    tried = ["tightening the curves", *(f"trying {wagon.name}" for wagon in description.wagon)]
    for place, what in enumerate(tried):
        progress(what, place / len(tried))
        yield next(found)


def _do(job: tuple) -> Any:
    work, *given = job
    return work(*given)


def _together(description: Description, tuned: Iterable[Tuning]) -> Iterator[Tuning]:
    """Yield the tunings; one whose best value, with the best of those before it, makes a check fail that held is done
    anew, held to what it does to the whole train."""
    fails = _fails(description)
    for one in tuned:
        for again in (False, True):
            if one.best is None:
                break
            changed = _set(description, one.wagon, one.variable, one.best)
            after = _fails(changed)
            if after <= fails:
                description, fails = changed, after
                break
            one = one if again else tune_wagon(description, one.wagon, fails)
        yield one


def _fails(description: Description) -> Fails:
    return failing(on_plan.run(trains.resolve(description)))


def tune_wagon(description: Description, name: str, fails: Fails | None = None) -> Tuning:
    """Find the values of a wagon's wheelbase (or pivot spacing) that pass every paper check.

    Where several intervals work, the one that holds the present value counts, else the longest. The best
    value has the largest smallest margin, each taken as a share of the largest it has in that interval. Checks of this
    wagon count, or with `fails`, what fails now, those of the whole train that hold now.
    """
    wagon = next(wagon for wagon in description.wagon if wagon.name == name)
    variable = "wheelbase" if wagon.pivot_spacing is None else "pivot_spacing"
    trials, (least, most) = _trials(description, wagon, variable, fails), limits(Wagon.model_fields[variable])
    now = getattr(wagon, variable)
    inside = _seed(trials, now, least, most)
    if inside is None:
        binds = trials.binding(now)
        return Tuning(name, variable, None, None, None, binds, binds, now, None, None, (_sample(trials, now),))
    (low, low_binds), (high, high_binds), samples, anew = _interval(trials, *inside, least, most)
    marks = tuple(_settings(description, wagon))
    settings = tuple(one.base for one in marks if not one.barred)
    best = max((value for value in settings if low <= value <= high and not trials.failing(value)),
               key=partial(_reserve, samples), default=anew)
    longest, longest_binds = _longest(description, wagon.model_copy(update={variable: best}))
    return Tuning(name, variable, low, high, best, low_binds, high_binds, now, longest, longest_binds, samples,
                  settings, tuple(one for one in marks if one.barred), anew)


def tightest_radius(description: Description) -> Tightest:
    """Return the smallest radius [mm] to which the sharpest curves could be tightened, and what binds there.

    Whether the plan then still closes is left out of it: with other curves, other straights are laid.
    """
    here = description.track.min_radius
    trials = Trials(lambda radius: trains.resolve(_tightened(description, radius)),
                    lambda finding: finding.check != "track-plan")
    if trials.failing(here):
        return None, trials.binding(here)
    return end(trials, here, here, -1, max(60.0, 2.5 * description.track.gauge))


def _tightened(description: Description, radius: float) -> Description:
    track = description.track
    plan = tuple(piece.model_copy(update={"radius": radius}) if piece.radius == track.min_radius else piece
                 for piece in track.plan)
    return description.model_copy(update={"track": track.model_copy(update={"min_radius": radius, "plan": plan})})


def _trials(description: Description, wagon: Wagon, variable: str, fails: Fails | None = None) -> Trials:
    """Return trials of one field of a wagon; the other wagons are resolved once, and only this one is judged, or the
    whole train where what `fails` of it now is given."""
    train, name = trains.resolve(description), wagon.name

    def resolve(value: float) -> TrainPlan:
        changed = wagon.model_copy(update={variable: value})
        return replace(train, description=_set(description, name, variable, value, wagon),
                       only=frozenset({name} if fails is None else ()),
                       wagons=_with(wagons.resolve(changed, description), train.wagons))

    def concerns(finding: Finding) -> bool:
        return finding.subject.concerns(name) or (
            fails is not None and (finding.check, finding.subject, 0) not in fails)
    return Trials(resolve, concerns)


def _set(description: Description, name: str, variable: str, value: float, wagon: Wagon | None = None) -> Description:
    """Return the description with another value of one field of the wagon of that name, or of `wagon` in its place."""
    wagon = wagon or next(one for one in description.wagon if one.name == name)
    changed = wagon.model_copy(update={variable: value})
    return description.model_copy(update={"wagon": _with(changed, description.wagon)})


def _with(wagon: Any, wagons: Iterable[Any]) -> tuple[Any, ...]:
    """Return the `wagons` with `wagon` in its namesake's place."""
    return tuple(wagon if one.name == wagon.name else one for one in wagons)


def _seed(trials: Trials, now: float, low: float, high: float) -> tuple[float, float] | None:
    """Return (first, last) of a run of values that work: the one round the present value, else the longest."""
    if not trials.failing(now):
        return now, now
    tried = (low * (high / low) ** (k / GRID) for k in range(GRID + 1))
    runs = [list(run) for failing, run in groupby(tried, trials.failing) if not failing]
    best = max(runs, key=lambda run: run[-1] - run[0], default=None)
    return (best[0], best[-1]) if best else None


def _interval(trials: Trials, first: float, last: float, least: float, most: float
              ) -> tuple[End, End, Samples, float]:
    """Return both ends with what binds there, samples between, and the best value; what was stepped over and fails is
    found by the samples and by those round the best: the interval then ends there."""
    while True:
        low, high = end(trials, first, last, -1, least), end(trials, first, last, +1, most)
        samples, best = _samples(trials, low[0], high[0]), first
        if not _holes(trials, samples):
            best, samples = _best(trials, samples)
        holes = _holes(trials, samples)
        if not holes:
            return low, high, samples, best
        if any(first < value < last for value in holes):
            last = first        # what the grid saw as one run is two
        least = max((value for value in holes if value < first), default=least)
        most = min((value for value in holes if value > last), default=most)


def _holes(trials: Trials, samples: Samples) -> list[float]:
    return [sample.value for sample in samples if trials.failing(sample.value)]


def _samples(trials: Trials, low: float, high: float) -> Samples:
    """Return what is known between `low` and `high` [mm] already, and what fills the gaps between."""
    widest = (high - low) / FINE
    known = sorted({low, *trials.fully_judged(low, high), (low + high) / 2, high})
    between = [a + (b - a) * k / n for a, b in pairwise(known) for n in [ceil((b - a) / widest - 1e-9)]
               for k in range(1, n)]
    return tuple(_sample(trials, value) for value in sorted({*known, *between}))


def _sample(trials: Trials, value: float) -> Sample:
    margins: dict[str, float] = {}
    for finding in trials.findings(value):
        margins[finding.check] = min(margins.get(finding.check, inf), finding.margin)
    return Sample(value, margins)


def reserves(samples: Samples) -> dict[str, np.ndarray]:
    """Return each check's margin at every sample as a share of the largest it has at any of them.

    So margins of all units can be compared. Checks that the value does not touch have no say and are left out.
    The distance to the nearer end of the interval counts as one more: a limit reached all at once is as far off
    as the value may be out, and no margin tells.
    """
    named = dict.fromkeys(check for sample in samples for check in sample.margins)
    margins = {check: np.array([sample.margins.get(check, np.nan) for sample in samples]) for check in named}
    values = np.array([sample.value for sample in samples])
    most = {check: np.nanmax(margin) for check, margin in margins.items()}
    felt = {check: margin / most[check] for check, margin in margins.items()
            if most[check] > LEAST_CHANGE and most[check] - np.nanmin(margin) > LEAST_CHANGE}
    to_the_ends = np.minimum(values - values.min(), values.max() - values)
    return felt | {TO_THE_ENDS: to_the_ends / max(np.ptp(values) / 2, LEAST_CHANGE)}


def _best(trials: Trials, samples: Samples) -> tuple[float, Samples]:
    """Return the value with the largest smallest reserve [mm, to a tenth], and the samples with those tried for it and
    round it.

    Between samples reserves are drawn straight; the peak so found is tried, until it is as high as it looked.
    """
    low, high = samples[0].value, samples[-1].value
    while True:
        value, looked = _peak(samples)
        best = _written(value, low, high)
        known = any(abs(sample.value - best) < 0.05 for sample in samples)
        samples = _more(trials, samples, best)
        place = [sample.value for sample in samples].index(best)
        if known or trials.failing(best) or (
                looked - min(share[place] for share in reserves(samples).values()) < CLOSE_ENOUGH):
            return best, _more(trials, samples, *(value for value in (best - NEAR, best + NEAR) if low < value < high))


def _written(value: float, low: float, high: float) -> float:
    """Return what is told and written of a value [mm]: the nearest tenth from `low` to `high`, or hundredth."""
    for parts in (10, 100):
        near = min(max(round(value * parts), ceil(low * parts - 1e-9)), floor(high * parts + 1e-9)) / parts
        if low <= near <= high:
            return near
    return value


def _more(trials: Trials, samples: Samples, *values: float) -> Samples:
    """Return the samples with those of more `values` [mm]."""
    there = {sample.value for sample in samples}
    more = (_sample(trials, value) for value in values if value not in there)
    return tuple(sorted((*samples, *more), key=lambda sample: sample.value))


def _settings(description: Description, wagon: Wagon) -> Iterator[Setting]:
    """Yield every wheelbase [mm] that the frame as described has marks for, barred where a check fails with the axles
    clamped there, all else of the wagon as it is."""
    train = trains.resolve(description)
    plan = next(plan for plan in train.wagons if plan.name == wagon.name)

    def resolve(base: float) -> TrainPlan:
        moved = plan if base == plan.base else wagons.clamped(plan, base)
        return replace(train, description=_set(description, wagon.name, "wheelbase", base),
                       only=frozenset({wagon.name}), wagons=_with(moved, train.wagons))
    trials = Trials(resolve, lambda finding: finding.subject.concerns(wagon.name))
    for one in plan.gear.scale:
        failed = None if one.barred else trials.failing(one.base)
        yield replace(one, barred=f"{failed} fails") if failed else one


def _reserve(samples: Samples, value: float) -> float:
    """Return the smallest reserve [1] at `value` [mm], each drawn straight between the samples."""
    values = [sample.value for sample in samples]
    return float(min(np.interp(value, values, np.nan_to_num(share, nan=np.inf))
                     for share in reserves(samples).values()))


def _peak(samples: Samples) -> tuple[float, float]:
    """Return where the smallest reserve is largest [mm], each drawn straight between the samples, and that reserve."""
    values = [sample.value for sample in samples]
    dense = np.linspace(values[0], values[-1], 2001)
    drawn = reserves(samples)
    drawn.pop(TO_THE_ENDS)
    to_the_ends = 1 - np.abs(np.linspace(-1, 1, len(dense)))
    least = np.min([to_the_ends, *(np.interp(dense, values, np.nan_to_num(share, nan=np.inf))
                                   for share in drawn.values())], axis=0)
    return float(dense[least.argmax()]), float(least.max())


def _longest(description: Description, wagon: Wagon) -> tuple[float | None, Finding | None]:
    """Return the longest body [mm] that still passes with this wagon, and what binds there."""
    length = wagons.resolve(wagon, description).length
    trials = _trials(description, wagon, "length")
    if trials.failing(length):
        return None, trials.binding(length)
    return end(trials, length, length, +1, limits(Wagon.model_fields["length"])[1])
