"""Which wheelbase or pivot spacing works: every value is held to the real checks, none of their formulas
is copied here."""

from dataclasses import dataclass, replace
from math import ceil
from multiprocessing import cpu_count, get_context
from signal import SIG_IGN, SIGINT, signal

import numpy as np

from partgen.describe.description import Description
from partgen.describe.faults import limits
from partgen.describe.wagon import Wagon
from partgen.plan import train as trains
from partgen.plan import wagon as wagons
from partgen.trial import Binding, Trials, end, share

GRID = 25               # values looked at first, over the whole range
FINE = 6                # stretches of the working interval of which every end is judged
LEAST_WORK = 120        # wagons times pieces of track from which a second process saves time


@dataclass(frozen=True, slots=True)
class Sample:
    """One value tried [mm] and the share by which each check of it holds, negative where it fails."""

    value: float
    margins: dict[str, float]

    def least(self, checks) -> float:
        """Return the smallest share among `checks`: negative where one of them fails."""
        return min((self.margins[check] for check in checks if check in self.margins), default=0.0)


@dataclass(frozen=True, slots=True)
class Tuning:
    """The working interval of one wagon [mm]; low, high and best are None where nothing works."""

    wagon: str
    variable: str
    low: float | None
    high: float | None
    best: float | None
    low_binds: Binding | None
    high_binds: Binding | None
    now: float
    longest_body: float | None
    longest_binds: Binding | None
    samples: tuple[Sample, ...]
    unit: str = "mm"

    def record(self) -> dict:
        """Return plain data for JSON, the samples left out."""
        return {name: value.record() if isinstance(value, Binding) else value
                for name in ("wagon", "variable", "low", "high", "best", "low_binds", "high_binds", "now",
                             "longest_body", "longest_binds", "unit")
                for value in [getattr(self, name)]}


def tune(description: Description) -> tuple[tuple[Tuning, ...], tuple[float | None, Binding | None]]:
    """Tune every wagon, and find how tight the track could be; in processes side by side where it takes long.

    Returns a Tuning a wagon in the order described, and (smallest radius [mm] or None, what binds there).
    """
    jobs = [(tightest_radius, description), *((tune_wagon, description, wagon.name) for wagon in description.wagon)]
    pieces = sum(piece.times for piece in description.track.plan)
    if len(description.wagon) * pieces < LEAST_WORK:
        radius, *tuned = map(_do, jobs)
    else:
        with get_context("spawn").Pool(min(cpu_count(), len(jobs)), _unheard) as pool:
            radius, *tuned = pool.map(_do, jobs, chunksize=1)
    return tuple(tuned), radius


def _do(job):
    work, *given = job
    return work(*given)


def _unheard():
    """Leave Ctrl-C to the parent, which ends its workers."""
    signal(SIGINT, SIG_IGN)


def tune_wagon(description: Description, name: str) -> Tuning:
    """Find the values of a wagon's wheelbase (or pivot spacing) that pass every paper check.

    Where several intervals work, the one that holds the present value counts, else the longest. The best
    value has the largest smallest margin, each margin taken as a share of its limit.
    """
    wagon = next(wagon for wagon in description.wagon if wagon.name == name)
    variable = "wheelbase" if wagon.pivot_spacing is None else "pivot_spacing"
    trials, (least, most) = _trials(description, wagon, variable), limits(Wagon.model_fields[variable])
    now = getattr(wagon, variable)
    inside = _seed(trials, now, least, most)
    if inside is None:
        binds = trials.binding(now)
        return Tuning(name, variable, None, None, None, binds, binds, now, None, None, (_sample(trials, now),))
    low, low_binds = end(trials, *inside, -1, least)
    high, high_binds = end(trials, *inside, +1, most)
    samples = _samples(trials, low, high)
    best = round(_peak(samples), 1)
    longest, longest_binds = _longest(description, wagon.model_copy(update={variable: best}))
    return Tuning(name, variable, low, high, best, low_binds, high_binds, now, longest, longest_binds, samples)


def tightest_radius(description: Description) -> tuple[float | None, Binding | None]:
    """Return the smallest radius [mm] to which the sharpest curves could be tightened, and what binds there."""
    here = description.track.min_radius

    trials = Trials(lambda radius: trains.resolve(_tightened(description, radius)))
    if trials.failing(here):
        return None, trials.binding(here)
    return end(trials, here, here, -1, max(60.0, 2.5 * description.track.gauge))


def _tightened(description: Description, radius: float) -> Description:
    track = description.track
    plan = tuple(piece.model_copy(update={"radius": radius}) if piece.radius == track.min_radius else piece
                 for piece in track.plan)
    return description.model_copy(update={"track": track.model_copy(update={"min_radius": radius, "plan": plan})})


def _trials(description, wagon, variable) -> Trials:
    """Return trials of one field of a wagon; the other wagons are resolved once, and only this one is judged."""
    train = trains.resolve(description)

    def resolve(value):
        changed = wagon.model_copy(update={variable: value})
        plan = wagons.resolve(changed, description)
        return replace(train, description=_with(description, changed),
                       wagons=tuple(plan if one.name == wagon.name else one for one in train.wagons))
    return Trials(resolve, lambda finding: _concerns(finding, wagon.name))


def _with(description: Description, wagon: Wagon) -> Description:
    """Return the description with `wagon` in its namesake's place."""
    return description.model_copy(update={"wagon": tuple(wagon if one.name == wagon.name else one
                                                         for one in description.wagon)})


def _concerns(finding, name: str) -> bool:
    """Is the finding about the wagon itself, one of its parts, or a pair that it is in?"""
    return name in [piece.split("/")[0] for piece in finding.subject.split(" + ")]


def _seed(trials, now, low, high):
    """Return (first, last) of a run of values that work: the one round the present value, else the longest."""
    if not trials.failing(now):
        return now, now
    runs, run = [], []
    for value in (low * (high / low) ** (k / GRID) for k in range(GRID + 1)):
        if trials.failing(value):
            run = []
        else:
            run = run or (runs.append([]) or runs[-1])
            run.append(value)
    best = max(runs, key=lambda run: run[-1] - run[0], default=None)
    return (best[0], best[-1]) if best else None


def _samples(trials, low, high) -> tuple[Sample, ...]:
    """Return what is known between `low` and `high` [mm] already, and what fills the gaps between."""
    widest = (high - low) / FINE
    known = [low, *trials.fully_judged(low, high), high]
    between = [a + (b - a) * k / n for a, b in zip(known, known[1:]) for n in [ceil((b - a) / widest - 1e-9)]
               for k in range(1, n)]
    return tuple(_sample(trials, value) for value in sorted({*known, *between}))


def _sample(trials, value) -> Sample:
    margins: dict[str, float] = {}
    for finding in trials.findings(value):
        margins[finding.check] = min(margins.get(finding.check, float("inf")), share(finding))
    return Sample(value, margins)


def _peak(samples) -> float:
    """Return the value with the largest smallest share: each check's share drawn straight between the samples."""
    values = [sample.value for sample in samples]
    dense = np.linspace(values[0], values[-1], 2001)
    shares = [np.interp(dense, values, [sample.margins.get(check, np.inf) for sample in samples])
              for check in moving(samples)]
    return float(dense[int(np.argmax(np.min(shares, axis=0)))]) if shares else (values[0] + values[-1]) / 2


def moving(samples) -> tuple[str, ...]:
    """Return the checks whose share changes over the samples: the others have no say in the best value."""
    named = dict.fromkeys(check for sample in samples for check in sample.margins)
    spread = {check: [sample.margins[check] for sample in samples if check in sample.margins] for check in named}
    return tuple(check for check, shares in spread.items() if max(shares) - min(shares) > 1e-6)


def _longest(description, wagon):
    """Return the longest body [mm] that still passes with this wagon, and what binds there."""
    length = wagons.resolve(wagon, description).length
    trials = _trials(description, wagon, "length")
    if trials.failing(length):
        return None, trials.binding(length)
    return end(trials, length, length, +1, limits(Wagon.model_fields["length"])[1])
