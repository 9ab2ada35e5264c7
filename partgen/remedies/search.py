"""Remedies that have been tried: the least change of every number that may help, and other choices, each held to all
checks."""

from collections.abc import Callable, Collection, Iterator, Sequence
from itertools import chain, zip_longest
from math import inf

from msgspec import Struct, field
from msgspec.structs import replace

from partgen.describe.edits import Edit, edit_of
from partgen.describe.faults import Steps
from partgen.finding import Finding, Remedy
from partgen.remedies.levers import FACTS, Lever, levers
from partgen.remedies.options import options
from partgen.remedies.words import remedy_of, said_all
from partgen.remedies.workbench import Edits, Fails, OutOfTime, Workbench

MOST = 3                # remedies told of one finding
PAIRS = 3               # edits that clear a finding and break something, of which the mending is tried
PROBES = 9              # values looked at for one that clears, stepping outward
OVERSHOOT = 1.15        # of the way at which a margin drawn straight would be made good
FARTHER = (1.0, 1.5, 2.5)   # times the least change: where that breaks something, more of it may not
TINY = 1e-12

Margin = Callable[[float], float]


class Tried(Struct):
    """What was tried on a finding: remedies, best first; edits that clear it and what each breaks; edits that do not
    clear it, each with the share of the limit that is missed."""

    remedies: list[Remedy] = field(default_factory=list)
    partly: list[tuple[Edits, Fails]] = field(default_factory=list)
    nearer: list[tuple[float, Edits]] = field(default_factory=list)


def treated(bench: Workbench, finding: Finding, most: int = MOST) -> Finding:
    """Return a failing finding with up to `most` remedies; where there is none with how near what was tried came.

    Single edits are tried first, then pairs of which the second mends what the first breaks, until the bench is out of
    time.
    """
    tried, end = Tried(), ""
    try:
        _try(bench, finding, most, tried)
    except OutOfTime:
        end = " in the time there is: `partgen mend` tries on"
    if tried.remedies:
        return replace(finding, remedies=tuple(tried.remedies))
    if known := _known(bench, finding):
        return replace(finding, remedies=(known,))
    count = len(tried.partly) + len(tried.nearer)
    said = f"{count} change{'s' * (count != 1)} tried, none clears it" if count else "nothing was tried"
    return replace(finding, nearest=f"{said}{end}{_nearest(bench, finding, tried)}")


def _known(bench: Workbench, finding: Finding) -> Remedy | None:
    """Return a remedy among what was tried on other findings, if there is one."""
    try:
        return next((remedy_of(bench, edits) for edits in bench.judged if breaks(bench, finding, edits) == frozenset()),
                    None)
    except OutOfTime:
        return None


def _try(bench: Workbench, finding: Finding, most: int, tried: Tried) -> None:
    told = set()
    for edits in candidates(bench, finding, nearer=tried.nearer):
        what = tuple(one.steps for one in edits)
        broken = None if what in told else breaks(bench, finding, edits)
        if broken:
            tried.partly.append((edits, broken))
        elif broken is not None:
            tried.remedies.append(remedy_of(bench, edits))
            told.add(what)
        if len(told) == most:
            return
    if not told:
        tried.remedies += _pair(bench, finding, tried.partly)


def _pair(bench: Workbench, finding: Finding, partly: Sequence[tuple[Edits, Fails]]) -> Iterator[Remedy]:
    """Yield the first pair of edits found of which the second mends what the first breaks, if there is one."""
    for edits, broken in sorted(partly, key=lambda one: len(one[1]))[:PAIRS]:
        keys = {(check, who) for check, who, _ in broken}
        for other in [one for one in bench.found(edits) or ()
                      if one.verdict == "fail" and (one.check, one.subject) in keys][:1]:
            for more in candidates(bench, other, edits):
                if breaks(bench, finding, more) == frozenset():
                    yield remedy_of(bench, more)
                    return


def breaks(bench: Workbench, finding: Finding, edits: Edits) -> Fails | None:
    """Return what fails after `edits` that held before; None where the finding is not cleared, or the edits make no
    sound description."""
    now = bench.fails(edits)
    if now is None or (finding.check, finding.subject, 0) in now:
        return None
    return now - (bench.fails(()) or frozenset())


def _nearest(bench: Workbench, finding: Finding, tried: Tried) -> str:
    """Say what of all tried comes nearest."""
    if tried.partly:
        edits, broken = min(tried.partly, key=lambda one: len(one[1]))
        names = ", ".join(sorted({f"{check} of {who}" for check, who, _ in broken}))
        return f"; nearest: {said_all(bench, edits)}, but then fails {names}"
    missed, edits = max(tried.nearer, default=(-inf, ()), key=lambda one: one[0])
    if missed <= finding.share:
        return ""
    return f"; nearest: {said_all(bench, edits)}, it then misses its limit by {-100 * missed:.0f} %"


# ---- candidates


def candidates(bench: Workbench, finding: Finding, before: Edits = (), partly: bool = False,
               nearer: list[tuple[float, Edits]] | None = None) -> Iterator[Edits]:
    """Yield edits, together with those `before`, that clear a finding as its own check sees it.

    With `partly` what is edited before may be edited again, numbers and bigger moves take turns, facts stay, and edits
    that bring the finding nearer to its limit come after those that clear it. What is tried and does not clear it goes
    into `nearer`, with the share that is missed.
    """
    train, first, nearer = bench.train(before), bench.train(()), [] if nearer is None else nearer
    if train is None or first is None:
        return
    moved = set() if partly else {one.steps for one in before}
    numbers = (edits for lever in levers(finding, train, first)
               if lever.steps not in moved and not (partly and lever.steps[-1] in FACTS)
               for edits in _least(bench, finding, lever, before, nearer))
    choices = _chosen(bench, finding, before, moved, nearer)
    if partly:      # a bigger move may spare many changes of numbers
        yield from filter(None, chain.from_iterable(zip_longest(numbers, choices)))
        yield from (done for margin, done in sorted(nearer, key=lambda one: -one[0]) if finding.share < margin)
    else:
        yield from chain(numbers, choices)


def _chosen(bench: Workbench, finding: Finding, before: Edits, moved: Collection[Steps],
            nearer: list[tuple[float, Edits]]) -> Iterator[Edits]:
    """Yield the bigger moves that clear a finding, of what is not `moved` yet."""
    train = bench.train(before)
    assert train is not None
    for choice in options(finding, train):
        edits = [edit_of(bench.data, train.description, steps, value) for steps, value in choice]
        if all(one and one.steps not in moved for one in edits):
            done = joined(before, *(one for one in edits if one))
            if _margin(bench, finding, done, nearer) > 0:
                yield done


def joined(before: Edits, *more: Edit) -> Edits:
    """Return edits with `more` of them, each in the place of an earlier one of the same place."""
    done = {one.steps: one for one in before}
    for one in more:
        done[one.steps] = replace(one, was=done[one.steps].was) if one.steps in done else one
    return tuple(done.values())


def _least(bench: Workbench, finding: Finding, lever: Lever, before: Edits,
           nearer: list[tuple[float, Edits]]) -> Iterator[Edits]:
    """Yield the least change of a number that clears a finding, then some more of it."""
    train = bench.train(before)
    assert train is not None

    def edits(value: float) -> Edits:
        one = edit_of(bench.data, train.description, lever.steps, lever.told(value))
        return joined(before, one) if one else before

    def margin(value: float) -> float:
        return _margin(bench, finding, edits(value), nearer)

    found = _bracket(lever, margin, finding.share)
    if found is not None:
        good = turn(lever, margin, *found)
        values = dict.fromkeys(lever.told(lever.now + times * (good - lever.now)) for times in FARTHER)
        yield from (edits(value) for value in values if margin(value) > 0)


def _margin(bench: Workbench, finding: Finding, edits: Edits, nearer: list[tuple[float, Edits]]) -> float:
    """Return the finding's margin after `edits`, as a share of its limit: positive where it does not fail, -inf where
    there is no sound description. What fails is noted in `nearer`."""
    found = bench.found(edits, finding.check, finding.subject.wagons)
    if found is None:
        return -inf
    mine = [one for one in found if one.check == finding.check and one.subject == finding.subject]
    least = min((one.share for one in mine), default=1.0)
    if all(one.verdict != "fail" for one in mine):
        return max(least, TINY)
    nearer.append((least, edits))
    return min(least, -TINY)


def _bracket(lever: Lever, margin: Margin, now: float) -> tuple[float, float] | None:
    """Return (a value that does not clear, a value that does); None where none found does.

    Steps outward from where it stands: to where the margin, drawn straight, would be made good, or twice as far.
    """
    bad, least, step = lever.now, now, max(lever.fine, abs(lever.now) / 50)
    for _ in range(PROBES):
        value = lever.told(bad + lever.way * step)
        if (value - bad) * lever.way <= 0:
            return None
        here = margin(value)
        if here > 0:
            return bad, value
        gain = (here - least) / abs(value - bad) if min(here, least) > -inf else 0.0
        step = min(-here / gain * OVERSHOOT, 8 * step) if gain > 0 else 2 * step
        bad, least = value, here
    return None


def turn(lever: Lever, margin: Margin, bad: float, good: float) -> float:
    """Return the least value found that clears, to the step that it is told in: by halving between both."""
    while abs(good - bad) > 1.01 * lever.fine:
        value = lever.told((good + bad) / 2)
        if value in (good, bad):
            break
        good, bad = (value, bad) if margin(value) > 0 else (good, value)
    return good
