"""Which wheelbase or pivot spacing works: every value is held to the real checks, none of their formulas
is copied here."""

from collections.abc import Callable
from dataclasses import asdict, dataclass
from functools import lru_cache

import numpy as np

from partgen.checks import paper
from partgen.describe.description import Description
from partgen.describe.faults import limits
from partgen.describe.wagon import Wagon
from partgen.finding import Finding
from partgen.plan import train as trains

GRID = 25               # values looked at first, over the whole range
FINE = 10               # values looked at within the working interval
CLOSE = 0.005           # mm to which an end of the interval is found
PLAIN = 10.0            # what a margin is measured by where the limit itself is 0


@dataclass(frozen=True, slots=True)
class Binding:
    """What stops a value from working: check, its subject, value, limit and unit."""

    check: str
    subject: str
    value: float
    limit: float
    unit: str

    def record(self) -> dict:
        """Return plain data for JSON."""
        return asdict(self)


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


def share(finding: Finding) -> float:
    """Return a finding's margin as a share of its limit, so that margins of all units can be compared."""
    return finding.margin / (abs(finding.limit) or PLAIN)


def tune_wagon(description: Description, name: str) -> Tuning:
    """Find the values of a wagon's wheelbase (or pivot spacing) that pass every paper check.

    Where several intervals work, the one that holds the present value counts, else the longest. The best
    value has the largest smallest margin, each margin taken as a share of its limit.
    """
    wagon = next(wagon for wagon in description.wagon if wagon.name == name)
    variable = "wheelbase" if wagon.pivot_spacing is None else "pivot_spacing"
    judged = _judge(description, wagon, variable)
    now = getattr(wagon, variable)
    inside = _seed(judged, now, *limits(Wagon.model_fields[variable]))
    if inside is None:
        binds = _binding(judged(now))
        return Tuning(name, variable, None, None, None, binds, binds, now, None, None, (_sample(judged, now),))
    low, low_binds = _end(judged, *inside, -1, limits(Wagon.model_fields[variable])[0])
    high, high_binds = _end(judged, *inside, +1, limits(Wagon.model_fields[variable])[1])
    samples = tuple(_sample(judged, low + (high - low) * k / FINE) for k in range(FINE + 1))
    best = round(_peak(samples), 1)
    longest, longest_binds = _longest(description, wagon.model_copy(update={variable: best}))
    return Tuning(name, variable, low, high, best, low_binds, high_binds, now, longest, longest_binds, samples)


def tightest_radius(description: Description) -> tuple[float | None, Binding | None]:
    """Return the smallest radius [mm] to which the sharpest curves could be tightened, and what binds there."""
    here = description.track.min_radius

    @lru_cache(maxsize=None)
    def judged(radius, only=None):
        return _findings(_tightened(description, radius), only=only)

    if _binding(judged(here)):
        return None, _binding(judged(here))
    return _end(judged, here, here, -1, max(60.0, 2.5 * description.track.gauge))


def _tightened(description: Description, radius: float) -> Description:
    track = description.track
    plan = tuple(piece.model_copy(update={"radius": radius}) if piece.radius == track.min_radius else piece
                 for piece in track.plan)
    return description.model_copy(update={"track": track.model_copy(update={"min_radius": radius, "plan": plan})})


def _judge(description, wagon, variable) -> Callable:
    """Return a function of the variable that gives the findings on this wagon, each value judged once."""
    @lru_cache(maxsize=None)
    def judged(value, only=None):
        return _findings(_with(description, wagon.model_copy(update={variable: value})), wagon.name, only)
    return judged


def _with(description: Description, wagon: Wagon) -> Description:
    """Return the description with `wagon` in its namesake's place."""
    return description.model_copy(update={"wagon": tuple(wagon if one.name == wagon.name else one
                                                         for one in description.wagon)})


def _findings(description: Description, name: str | None = None, only=None) -> tuple[Finding, ...]:
    found = paper.run(trains.resolve(description), only=only)
    return tuple(f for f in found if name is None or _concerns(f, name))


def _concerns(finding: Finding, name: str) -> bool:
    """Is the finding about the wagon itself, one of its parts, or a pair that it is in?"""
    return name in [piece.split("/")[0] for piece in finding.subject.split(" + ")]


def _binding(found) -> Binding | None:
    """Return the failing finding with the smallest share, if any fails."""
    failing = [finding for finding in found if finding.verdict == "fail"]
    if not failing:
        return None
    worst = min(failing, key=share)
    return Binding(worst.check, worst.subject, worst.value, worst.limit, worst.unit)


def _seed(judged, now, low, high):
    """Return (first, last) of a run of values that work: the one round the present value, else the longest."""
    if not _binding(judged(now)):
        return now, now
    grid = [low * (high / low) ** (k / GRID) for k in range(GRID + 1)]
    runs, run = [], []
    for value in grid:
        if _binding(judged(value)):
            run = []
        else:
            run = run or (runs.append([]) or runs[-1])
            run.append(value)
    best = max(runs, key=lambda run: run[-1] - run[0], default=None)
    return (best[0], best[-1]) if best else None


def _end(judged, first, last, way, bound):
    """Return the end of the working run in direction `way`, and what binds just beyond it.

    Steps outward, doubling, until something fails, then halves the gap; the range's own bound may be the end.
    While halving only the checks that failed are asked, and all of them once more at the end found.
    """
    good, step = (last if way > 0 else first), 4.0
    while True:
        bad = good + way * step
        if (bad - bound) * way >= 0:
            if not _binding(judged(bound)):
                return bound, None
            bad = bound
        if _binding(judged(bad)):
            break
        good, step = bad, 2 * step
    while True:
        only, sure = frozenset(f.check for f in judged(bad) if f.verdict == "fail"), good
        while abs(bad - good) > CLOSE:
            middle = (good + bad) / 2
            good, bad = (good, middle) if _binding(judged(middle, only)) else (middle, bad)
        if not _binding(judged(good)):
            return good, _binding(judged(bad))
        good, bad = sure, good


def _sample(judged, value) -> Sample:
    margins: dict[str, float] = {}
    for finding in judged(value):
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
    at = trains.resolve(_with(description, wagon))
    length = next(plan.length for plan in at.wagons if plan.name == wagon.name)
    judged = _judge(description, wagon, "length")
    if _binding(judged(length)):
        return None, _binding(judged(length))
    return _end(judged, length, length, +1, limits(Wagon.model_fields["length"])[1])
