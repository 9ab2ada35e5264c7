"""Remedies that have been tried: the least change of every number that may help, and other choices, each held to all
checks."""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from itertools import chain, zip_longest
from math import inf
from time import process_time

from msgspec import Struct, field
from msgspec.structs import replace

from partgen.checks import on_plan
from partgen.describe.edits import Edit, edit_of
from partgen.describe.faults import Steps
from partgen.finding import PLAIN, Finding, Remedy, counted
from partgen.remedies.levers import BOUGHT, FACTS, SOON, Lever, levers
from partgen.remedies.options import Move, options
from partgen.remedies.words import remedy_of, said_all
from partgen.remedies.workbench import Edits, Fails, OutOfTime, Workbench

MOST = 3                # remedies told of one finding
PAIRS = 3               # edits that clear a finding and break something, of which the mending is tried
PROBES = 9              # values looked at for one that clears, stepping outward
OVERSHOOT = 1.15        # of the way at which a margin drawn straight would be made good
FARTHER = (1.5, 2.5)    # times the least change: more of it may spare a series of edits another one
FEW = 2                 # more than this that fail anew, or as many that come near, are not told
GAIN = 0.01             # of a limit: what comes nearer by less is not told as nearer
TINY = 1e-12

Margin = Callable[[float], float]


class Tried(Struct):
    """What was tried on a finding: remedies by the places they edit, each with its edits; those after which more is
    told to fail, since a wagon has its size again; edits that clear it and what each breaks; edits that do not clear
    it, each with the share of the limit that is missed; how many numbers and choices were not begun."""

    remedies: dict[tuple[Steps, ...], tuple[Edits, Remedy]] = field(default_factory=dict)
    uncover: dict[tuple[Steps, ...], tuple[Edits, Remedy]] = field(default_factory=dict)
    partly: list[tuple[Edits, Fails]] = field(default_factory=list)
    nearer: list[tuple[float, Edits]] = field(default_factory=list)
    left: int = 0


def all_treated(bench: Workbench, findings: Sequence[Finding], end: float) -> Iterator[Finding]:
    """Yield failing findings, each with the remedies tried on it as soon as it has some; those that have none by then
    at the end, with what was found for others. Each has its share of the time that is left until `end`, by
    `process_time` [s]."""
    told: list[Edits] = []
    without = []
    for number, finding in enumerate(findings):
        bench.until = process_time() + max(end - process_time(), 0.0) / (len(findings) - number)
        done = treated(bench, finding, told=told)
        if done.remedies:
            yield done
        else:
            without.append(done)
    for one in without:
        known = _known(bench, one, told)
        yield replace(one, remedies=known, nearest="") if known else one


def treated(bench: Workbench, finding: Finding, most: int = MOST, told: list[Edits] | None = None) -> Finding:
    """Return a failing finding with up to `most` remedies; where there is none with how near what was tried came.

    Single edits are tried first, then pairs of which the second mends what the first breaks, until the bench is out of
    time; what was `told` of other findings before and clears this one too comes after its own, which are added. What
    only meshes show no edit is held to, so none is told.
    """
    if (finding.check, finding.subject, 0) not in (bench.all_fails(()) or frozenset()):
        return replace(finding, nearest="only the drawn part shows it, so no change could be tried without building")
    tried, end, told = Tried(), "", [] if told is None else told
    try:
        _try(bench, finding, most, tried)
    except OutOfTime:
        left = "1 number or choice is" if tried.left == 1 else f"{tried.left} numbers or choices are"
        more = f", {left} left untried" if tried.left else ""
        end = f"{more} in the time there is: `partgen mend` tries on"
    own = sorted(tried.remedies.values(), key=lambda one: one[0][-1].steps[-1] in SOON)
    others = _known(bench, finding, [one for one in told if _places(one) not in tried.remedies], most - len(own))
    told += [edits for edits, _ in own]
    if found := (*(remedy for _, remedy in own), *others) or tuple(one for _, one in tried.uncover.values())[:most]:
        return replace(finding, remedies=found)
    if known := _known(bench, finding, bench.judged):
        return replace(finding, remedies=known)
    count = len(tried.partly) + len(tried.nearer)
    kept = " and keeps what holds" if tried.partly else ""
    said = f"{counted(count, 'change')} tried, none clears it{kept}" if count else "nothing was tried"
    return replace(finding, nearest=f"{said}{end}{_nearest(bench, finding, tried)}")


def _known(bench: Workbench, finding: Finding, tried: Iterable[Edits], most: int = 1) -> tuple[Remedy, ...]:
    """Return up to `most` remedies among what was tried on other findings."""
    found: dict[tuple[Steps, ...], Remedy] = {}
    try:
        for edits in tried:
            if len(found) < most and _places(edits) not in found and breaks(bench, finding, edits) == frozenset():
                found[_places(edits)] = _remedy(bench, edits)
    except OutOfTime:
        pass
    return tuple(found.values())


def _places(edits: Edits) -> tuple[Steps, ...]:
    return tuple(one.steps for one in edits)


def _try(bench: Workbench, finding: Finding, most: int, tried: Tried) -> None:
    for edits in candidates(bench, finding, tried=tried):
        what = _places(edits)
        broken = None if what in tried.remedies else breaks(bench, finding, edits)
        if broken:
            tried.partly.append((edits, broken))
        elif broken is not None and _uncovered(bench, edits):
            tried.uncover.setdefault(what, (edits, _remedy(bench, edits)))
        elif broken is not None:
            tried.remedies[what] = edits, _remedy(bench, edits)
        if len(tried.remedies) == most:
            return
    if not tried.remedies:
        for edits in _pair(bench, finding, tried.partly):
            tried.remedies[_places(edits)] = edits, _remedy(bench, edits)


def _pair(bench: Workbench, finding: Finding, partly: Sequence[tuple[Edits, Fails]]) -> Iterator[Edits]:
    """Yield the first pair of edits found of which the second mends what the first breaks, if there is one."""
    for edits, broken in sorted(partly, key=lambda one: len(one[1]))[:PAIRS]:
        keys = {(check, who) for check, who, _ in broken}
        for other in [one for one in bench.found(edits) or ()
                      if one.verdict == "fail" and (one.check, one.subject) in keys][:1]:
            for more in candidates(bench, other, edits):
                if breaks(bench, finding, more) == frozenset() and not _uncovered(bench, more):
                    yield more
                    return


def _remedy(bench: Workbench, edits: Edits) -> Remedy:
    """Return edits as a remedy, with what is then told to fail."""
    remedy, names = remedy_of(bench, edits), _names(_uncovered(bench, edits))
    return replace(remedy, said=f"{remedy.said}, which shows what fails too: {names}") if names else remedy


def _uncovered(bench: Workbench, edits: Edits) -> Fails:
    """Return what is told to fail after edits and was not told before."""
    return (bench.fails(edits) or frozenset()) - (bench.fails(()) or frozenset())


def breaks(bench: Workbench, finding: Finding, edits: Edits) -> Fails | None:
    """Return what fails after `edits` that held before; None where the finding is not cleared, or the edits make no
    sound description. What only follows from another failure counts as failing."""
    now = bench.all_fails(edits)
    if now is None or (finding.check, finding.subject, 0) in now:
        return None
    return now - (bench.all_fails(()) or frozenset())


def _nearest(bench: Workbench, finding: Finding, tried: Tried) -> str:
    """Say what of all tried comes nearest, and how near: what clears it and fails little else, or what brings it nearer
    to its limit and fails nothing that held."""
    for edits, broken in sorted(tried.partly, key=lambda one: len(one[1])):
        if len(broken) <= FEW and _sensible(bench, edits):
            return f"; nearest: {said_all(bench, edits)}, but then fails {_names(broken)}"
    held = bench.all_fails(()) or frozenset()
    gains = [(missed, edits) for missed, edits in sorted(tried.nearer, key=lambda one: -one[0])
             if missed > finding.share + GAIN and _sensible(bench, edits)]
    for missed, edits in gains[:FEW]:
        if not (bench.all_fails(edits) or frozenset()) - held:
            then, now = (f"{-share * (abs(finding.limit) or PLAIN):.3g}" for share in (missed, finding.share))
            unit = "" if finding.unit == "1" else f" {finding.unit}"
            return f"; nearest: {said_all(bench, edits)}, it then misses its limit by {then}{unit}, now by {now}{unit}"
    return ""


def _names(fails: Fails) -> str:
    return ", ".join(sorted({f"{check} of {who}" for check, who, _ in fails}))


def _sensible(bench: Workbench, edits: Edits) -> bool:
    """Would a maker go on from there: no wagon more, none without its cups, none that cannot have its size any more?"""
    before, after = bench.train(()), bench.train(edits)
    if before is None or after is None or len(after.wagons) > len(before.wagons):
        return False
    carry = [{plan.name for plan in train.wagons if plan.wagon.cups} for train in (before, after)]
    return carry[0] <= carry[1] and on_plan.unsized(after) <= on_plan.unsized(before)


# ---- candidates


def candidates(bench: Workbench, finding: Finding, before: Edits = (), partly: bool = False, facts: bool = True,
               tried: Tried | None = None) -> Iterator[Edits]:
    """Yield edits, together with those `before`, that clear a finding as its own check sees it.

    With `partly` what is edited before may be edited again, numbers and bigger moves take turns, and edits that bring
    the finding nearer to its limit come after those that clear it. Without `facts` what can only be measured stays.
    What does not clear it, and how much is still to try, goes into `tried`.
    """
    train, first, tried = bench.train(before), bench.train(()), tried or Tried()
    if train is None or first is None:
        return
    moved = set() if partly else {one.steps for one in before}
    free = [lever for lever in levers(finding, train, first)
            if lever.steps not in moved and (facts or lever.steps[-1] not in FACTS)]
    bought = [lever for lever in free if lever.steps[-1] in BOUGHT]
    free = [lever for lever in free if lever not in bought]
    if not partly:      # soon tried, and often the plain cure: told last all the same
        free.sort(key=lambda lever: lever.steps[-1] not in SOON)
    numbers, dear = (chain.from_iterable(_least(bench, finding, lever, before, tried, partly)
                                          for lever in some)
                     for some in (free, bought))
    moves = list(options(finding, train))
    choices = _chosen(bench, finding, before, moves, moved, tried)
    tried.left = len(free) + len(bought) + len(moves)
    if partly:      # a bigger move may spare many changes of numbers
        yield from chain(filter(None, chain.from_iterable(zip_longest(numbers, choices))), dear)
        yield from (done for margin, done in sorted(tried.nearer, key=lambda one: -one[0]) if finding.share < margin)
    else:
        yield from chain(numbers, choices, dear)


def _chosen(bench: Workbench, finding: Finding, before: Edits, moves: Sequence[Move], moved: Collection[Steps],
            tried: Tried) -> Iterator[Edits]:
    """Yield the bigger `moves` that clear a finding, of what is not `moved` yet."""
    train = bench.train(before)
    assert train is not None
    for choice in moves:
        tried.left -= 1
        edits = [edit_of(bench.data, train.description, steps, value) for steps, value in choice]
        if all(one and one.steps not in moved for one in edits):
            done = joined(before, *(one for one in edits if one))
            if _margin(bench, finding, done, tried.nearer) > 0:
                yield done


def joined(before: Edits, *more: Edit) -> Edits:
    """Return edits with `more` of them, each in the place of an earlier one of the same place."""
    done = {one.steps: one for one in before}
    for one in more:
        done[one.steps] = replace(one, was=done[one.steps].was) if one.steps in done else one
    return tuple(done.values())


def _least(bench: Workbench, finding: Finding, lever: Lever, before: Edits, tried: Tried, partly: bool
           ) -> Iterator[Edits]:
    """Yield the least change of a number that clears a finding, then the least that breaks nothing either; with
    `partly` some more of it too."""
    train = bench.train(before)
    assert train is not None

    def edits(value: float) -> Edits:
        one = edit_of(bench.data, train.description, lever.steps, lever.told(value))
        return joined(before, one) if one else before

    def margin(value: float) -> float:
        return _margin(bench, finding, edits(value), tried.nearer)

    def breaking(value: float) -> Fails:
        return (bench.all_fails(edits(value)) or frozenset()) - (bench.all_fails(before) or frozenset())

    tried.left -= 1
    found = _bracket(lever, margin, finding.share)
    if found is None:
        return
    good = turn(lever, margin, *found)
    yield edits(good)
    further = _farther(lever, good, margin, breaking)
    more = (lever.told(lever.now + times * (good - lever.now)) for times in FARTHER) if partly else ()
    for value in dict.fromkeys((*([] if further is None else [further]), *more)):
        if value != good and margin(value) > 0:
            yield edits(value)


def _farther(lever: Lever, good: float, margin: Margin, breaking: Callable[[float], Fails]) -> float | None:
    """Return the least value found that clears and breaks nothing, where `good` breaks something: stepping outward
    from there, then by halving back; None where it breaks nothing, or none was found."""
    def holds(value: float) -> float:
        return 1.0 if margin(value) > 0 and not breaking(value) else -1.0

    bad, step = good, max(lever.fine, abs(good - lever.now) / 2)
    for _ in range(PROBES if breaking(good) else 0):
        value = lever.told(bad + lever.way * step)
        if (value - bad) * lever.way <= 0 or margin(value) <= 0:
            return None
        if holds(value) > 0:
            return turn(lever, holds, bad, value)
        bad, step = value, 2 * step
    return None


def _margin(bench: Workbench, finding: Finding, edits: Edits, nearer: list[tuple[float, Edits]]) -> float:
    """Return the finding's margin after `edits`, as a share of the limit that it has now: positive where it does not
    fail, -inf where there is no sound description, or its check, which tells of what holds as well, finds nothing any
    more and nothing was taken out. What fails is noted in `nearer`."""
    found = bench.every(edits, finding.check, finding.subject.wagons)
    if found is None:
        return -inf
    asked = [one for one in found if one.check == finding.check]
    mine = [one for one in asked if one.subject == finding.subject]
    if not (mine or asked or any(map(_takes_out, edits))) and finding.check in on_plan.PLAN_CHECKS:
        return -inf
    # not of the limit that the edits leave it: that may pass through 0
    least = min((one.margin / (abs(finding.limit) or PLAIN) for one in mine), default=1.0)
    if all(one.verdict != "fail" for one in mine):
        return max(least, TINY)
    nearer.append((least, edits))
    return min(least, -TINY)


def _takes_out(edit: Edit) -> bool:
    """Is it more than another number: a choice, something moved, or left out?"""
    return not edit.value or not isinstance(edit.value, (int, float))


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
        step = max(min(-here / gain * OVERSHOOT, 8 * step), step / 4, lever.fine) if gain > 0 else 2 * step
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
