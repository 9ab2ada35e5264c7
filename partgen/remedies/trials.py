"""Values of one measure tried on a train: each is held to the real checks, the cheap ones first and none twice."""

from collections.abc import Callable
from math import ceil, copysign, log2
from typing import Any

from msgspec import Struct, field

from partgen.checks import on_plan as paper
from partgen.finding import Finding
from partgen.plan.train import TrainPlan

CLOSE = 0.005           # mm to which the end of a working run is found
STRIDE = 16.0           # mm of the first step outward; every further one is twice as long
TOWARDS = 0.01           # how much of the bracket, itself taken as a share of the first one, a step keeps to its middle
_HAIR = 1e-12


def told(binds: Finding | None) -> dict[str, Any] | None:
    """Return what stops a value from working as plain data for JSON: check, whom it is about, value, limit, unit."""
    plain = binds.record() if binds else {}
    return {part: plain[part] for part in ("check", "subject", "value", "limit", "unit", "about")} if binds else None


class Trials(Struct, frozen=True):
    """A measure that can be given any value [mm].

    `resolve` returns the train plan with that value; `concerns` says whether a finding counts.
    """

    resolve: Callable[[float], TrainPlan]
    concerns: Callable[[Finding], bool] = lambda finding: True
    _plans: dict[float, TrainPlan] = field(default_factory=dict)
    _found: dict[tuple[float, str], tuple[Finding, ...]] = field(default_factory=dict)

    def check(self, value: float, name: str) -> tuple[Finding, ...]:
        """Return what one check finds at `value` [mm]; refusals of the plan are found by every check."""
        if (value, name) not in self._found:
            if value not in self._plans:
                self._plans[value] = self.resolve(value)
            found = paper.run(self._plans[value], only={name})
            self._found[value, name] = tuple(f for f in found if self.concerns(f))
        return self._found[value, name]

    def findings(self, value: float) -> tuple[Finding, ...]:
        """Return what all checks find at `value` [mm]."""
        return tuple(dict.fromkeys(found for name in paper.PLAN_CHECKS for found in self.check(value, name)))

    def failing(self, value: float) -> str | None:
        """Return the first check that fails at `value` [mm], if any does; those that need no ride over the
        plan are asked first."""
        return next((name for name in sorted(paper.PLAN_CHECKS, key=paper.CARRIED.__contains__)
                     if any(found.verdict == "fail" for found in self.check(value, name))), None)

    def binding(self, value: float, name: str | None = None) -> Finding | None:
        """Return the failing finding with the smallest share at `value` [mm], of one check or of all, if any fails."""
        found = self.check(value, name) if name else self.findings(value)
        return min((one for one in found if one.verdict == "fail"), key=lambda one: one.share, default=None)

    def fully_judged(self, low: float, high: float) -> list[float]:
        """Return the values from `low` to `high` [mm] at which every check has been asked, ascending."""
        return sorted(value for value in self._plans if low <= value <= high
                      and all((value, name) in self._found for name in paper.PLAN_CHECKS))


End = tuple[float, Finding | None]
"""Where a run of working values ends [mm], and what binds beyond it."""


def end(trials: Trials, first: float, last: float, way: int, bound: float) -> End:
    """Return the end of the working run from `first` to `last` [mm] in direction `way`, and what binds beyond it.

    Steps outward, doubling, until a check fails, then finds where that one turns. At the place found all
    are asked once more: where another fails there, the search goes on between. The measure's own `bound`
    [mm] may be the end, and then nothing binds.
    """
    good, step = (last if way > 0 else first), STRIDE
    while (bound - good - way * step) * way > 0 and not trials.failing(good + way * step):
        good, step = good + way * step, 2 * step
    bad = good + way * step
    if (bound - bad) * way <= 0:
        bad = bound
    while name := trials.failing(bad):
        turned, beyond = _turn(trials, name, good, bad)
        if not trials.failing(turned):
            return turned, trials.binding(beyond, name)     # whatever else fails there does so by as little
        bad = turned
    return bad, None


def _turn(trials: Trials, name: str, good: float, bad: float) -> tuple[float, float]:
    """Return the last value that works and the first that does not [mm], at most CLOSE apart, as one check sees it.

    The margin is drawn straight between both; a step is taken a little towards their middle from where it crosses
    0, and never farther from the middle than halving could make good again: never many more steps than halving
    takes, far fewer where the margin is nearly straight. (scipy's root finders take half a second to import, as
    long as half of a wagon's trials.)
    Source: Oliveira and Takahashi, ACM Trans. Math. Softw. 47 (2020) 5, the ITP method, MEM.
    """
    def margin(value: float) -> float:
        found = trials.check(value, name)
        least = min((f.share for f in found), default=1.0)
        return min(least, -_HAIR) if any(f.verdict == "fail" for f in found) else max(least, _HAIR)

    whole = bad - good
    holds, fails = margin(good), margin(bad)
    slack = CLOSE / 2 * 2.0 ** (ceil(log2(max(abs(whole) / CLOSE, 1.0))) + 1)
    while abs(bad - good) > CLOSE:
        middle, half = (good + bad) / 2, abs(bad - good) / 2
        off = good + (bad - good) * holds / (holds - fails) - middle
        nearer = max(abs(off) - TOWARDS * (bad - good) ** 2 / abs(whole), 0.0)
        value = middle + copysign(min(nearer, max(slack - half, 0.0)), off)
        found = margin(value)
        good, holds, bad, fails = (value, found, bad, fails) if found > 0 else (good, holds, value, found)
        slack /= 2
    return good, bad
