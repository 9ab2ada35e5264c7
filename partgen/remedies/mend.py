"""The shortest series of tried edits found after which every check holds, or how far it gets."""

from collections.abc import Callable, Iterator, Sequence
from itertools import islice
from math import log1p
from time import process_time

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.edits import Edit
from partgen.describe.faults import Steps
from partgen.finding import Finding
from partgen.plan.body.widest import PROPORTION
from partgen.remedies.levers import FILLS, MEASURED, Lever, lever_at
from partgen.remedies.search import candidates, turn
from partgen.remedies.workbench import Edits, OutOfTime, Workbench
from partgen.remedies.workbench import failing as failing_of

BROAD = 10              # candidates compared of each finding
SPILLS = {"spill-curve", "spill-stop"}
DEEP = 3                # of them that break something, of which the mending is tried too

Findings = tuple[Finding, ...]


class Way(Struct, frozen=True):
    """How a series is searched for: is what gives up least taken of what is alike, how many candidates of a finding are
    compared, and may it ask for something to be measured?"""

    sparing: bool
    broad: int
    facts: bool = False


WAYS = Way(True, BROAD), Way(False, 8), Way(False, 4), Way(False, 16), Way(True, BROAD, facts=True)


class Mended(Struct, frozen=True):
    """A series of edits and what each mends, by check and subject, and what still fails after all; did the time run
    out?"""

    edits: Edits
    why: tuple[tuple[str, ...], ...]
    left: tuple[Finding, ...]
    in_time: bool = True

    @property
    def holds(self) -> bool:
        """Does everything hold after the edits?"""
        return not self.left

    @property
    def facts(self) -> Edits:
        """The edits that no file makes true: what they name must measure so."""
        return tuple(one for one in self.edits if one.steps[-1] in MEASURED)

    @property
    def choices(self) -> Edits:
        """The other edits, which a maker can make."""
        return tuple(one for one in self.edits if one.steps[-1] not in MEASURED)


def mend(bench: Workbench, tell: Callable[[str, float], None] = lambda said, done: None) -> Mended:
    """Search for edits after which no check fails, one way after the other until one finds them: at each step those
    that give up least; whichever leave least amiss; fewer and more candidates compared; what was never measured taken
    for what it may be. Return what leaves least."""
    end, found = bench.until, []
    for left, way in zip(range(len(WAYS), 0, -1), WAYS, strict=True):       # each has half of the time that is left
        bench.until = process_time() + (end - process_time()) / min(left, 2)
        found.append(_series(bench, way, tell))
        if found[-1].holds:
            break
    return min(found, key=lambda one: len(one.left))


def _series(bench: Workbench, way: Way, tell: Callable[[str, float], None]) -> Mended:
    """Return edits found one after the other, each for one finding and leaving less amiss than before; those that turn
    out needless are left out again, and every number goes back as far as it may."""
    edits: Edits = ()
    why: dict[object, Finding] = {}
    in_time = True
    try:
        first = len(_failing(bench, ()))
        while failing := _failing(bench, edits):
            tell(f"{len(failing)} of {first} fail, {len(edits)} edits", 1 - len(failing) / (first + 1))
            step = _step(bench, edits, failing, way)
            if step is None:
                break
            for one in step[0]:
                if one not in edits:
                    why[one.steps] = step[1]
            edits = step[0]
        edits = _eased(bench, _needed(bench, edits))
    except OutOfTime:
        in_time = False
    left = tuple(one for one in bench.found(edits) or () if one.verdict == "fail")
    return Mended(edits, tuple(_mends(bench, edits, one, why[one.steps]) for one in edits), left, in_time)


def _mends(bench: Workbench, edits: Edits, one: Edit, made_for: Finding) -> tuple[str, ...]:
    """Return what of the draft fails again without one of the edits; where that is nothing, what else fails then, which
    the other edits would break; where it cannot be left out by itself, what it was made for."""
    try:
        again = bench.all_fails(tuple(other for other in edits if other is not one))
        again = (again or frozenset()) - (bench.all_fails(edits) or frozenset())
        told = again & (bench.fails(()) or frozenset()) or again
    except OutOfTime:
        told = frozenset()
    return tuple(sorted({f"{check} of {who}" for check, who, _ in told} or {f"{made_for.check} of {made_for.subject}"}))


def _failing(bench: Workbench, edits: Edits) -> Findings:
    """Return all that fails, with what follows from a refusal: else a wagon that is refused would seem the better."""
    return tuple(one for one in bench.every(edits) or () if one.verdict == "fail")


def _step(bench: Workbench, edits: Edits, failing: Findings, way: Way) -> tuple[Edits, Finding] | None:
    """Return the edits that leave least amiss, of one more finding cleared or brought nearer, and that finding; None
    where none leaves less than there is."""
    here = _amiss(failing)
    for deep in (False, True):
        for finding in failing:
            after = _after(bench, finding, edits, way)
            if deep:
                least = sorted(after, key=lambda one: _amiss(one[1]))[:DEEP]
                after = [two for more, left in least for two in _mending(bench, more, failing, left, way)]
            # Of those after which as few fail, and that give up as little, the one that comes first.
            best = min(_unpoured(finding, edits, after) if way.sparing else after, default=None,
                       key=lambda one: (_left(finding, one[1], way) + _trays(bench, one[0]),
                                        _lost(bench, one[0]) if way.sparing else 0))
            if best and len(best[1]) < len(failing):
                return best[0], finding
            nearest = min(after, default=None, key=lambda one: _amiss(one[1]))
            if nearest and _amiss(nearest[1]) < here:
                return nearest[0], finding
    return None


def _after(bench: Workbench, finding: Finding, edits: Edits, way: Way) -> list[tuple[Edits, Findings]]:
    """Return candidates for a finding with what fails after each, in their order."""
    tried = islice(candidates(bench, finding, edits, partly=True, facts=way.facts), way.broad)
    return [(more, _failing(bench, more)) for more in tried if bench.fails(more) is not None]


def _mending(bench: Workbench, edits: Edits, before: Findings, after: Findings, way: Way
             ) -> Iterator[tuple[Edits, Findings]]:
    """Yield candidates for the first finding that edits have broken, on top of them."""
    more = {(check, who) for check, who, _ in failing_of(after) - failing_of(before)}
    for broken in [one for one in after if (one.check, one.subject) in more][:1]:
        yield from _after(bench, broken, edits, replace(way, broad=BROAD))


def _left(finding: Finding, left: Findings, way: Way) -> int:
    """Return how many fail; for what spills, where little is to be given up, how many for other reasons: a train is not
    made slower so that it spills nowhere where a little less in a cup does as well."""
    spills = way.sparing and finding.check in SPILLS
    return sum(not (spills and one.check in SPILLS) for one in left)


def _unpoured(finding: Finding, before: Edits, after: Sequence[tuple[Edits, Findings]]
              ) -> Iterator[tuple[Edits, Findings]]:
    """Yield candidates but those that pour less into a cup for a finding that is not about spilling, or less than the
    first of them does: what ballast mends costs no guest a drink."""
    poured: set[Steps] = set()
    for more, left in after:
        fills = {one.steps for one in more if one not in before and one.steps[0] == "cup" and one.steps[-1] in FILLS}
        if not fills or finding.check in SPILLS and not fills & poured:
            yield more, left
        poured |= fills


def _amiss(failing: Findings) -> tuple[int, float]:
    """Return how much is amiss, to be compared: how many fail, then by how much all of them, every further share of a
    limit counting less."""
    return len(failing), sum(log1p(max(-one.share, 0.0)) for one in failing)


def _trays(bench: Workbench, edits: Edits) -> int:
    """Return how many wagons look like trays that did not before: no maker would make a body so broad."""
    before, after = bench.train(()), bench.train(edits)
    assert before is not None and after is not None
    broad = PROPORTION * after.description.track.gauge
    return sum(plan.width > broad for plan in after.wagons) - sum(plan.width > broad for plan in before.wagons)


def _lost(bench: Workbench, edits: Edits) -> int:
    """Return how many cups and modules fewer the train carries."""
    before, after = ([len(wagon.cups) + len(wagon.modules) for wagon in train.description.wagon]
                     for train in (bench.train(()), bench.train(edits)) if train)
    return sum(before) - sum(after)


def _needed(bench: Workbench, edits: Edits) -> Edits:
    """Return the edits without those that change nothing, and those without which no more fails and as much is carried:
    what is taken off one wagon is set on another."""
    edits = tuple(one for one in edits if one.value != (list(one.was) if isinstance(one.was, tuple) else one.was))
    most = len(_failing(bench, edits))
    for one in edits:
        fewer = tuple(other for other in edits if other is not one)
        if (bench.fails(fewer) is not None and len(_failing(bench, fewer)) <= most
                and _lost(bench, fewer) <= _lost(bench, edits)):
            return _needed(bench, fewer)
    return edits


def _eased(bench: Workbench, edits: Edits) -> Edits:
    """Return edits after which all holds with every number as near to what it was as still holds, one after the other.
    """
    first = bench.train(())
    assert first is not None
    if bench.fails(edits) != frozenset():
        return edits
    for place, one in enumerate(edits):
        if isinstance(one.value, (int, float)) and not isinstance(one.value, bool):
            for lever in lever_at(one.steps, one.value, first):
                edits = _eased_at(bench, edits, place, lever)
    return _needed(bench, edits)


def _eased_at(bench: Workbench, edits: Edits, place: int, lever: Lever) -> Edits:
    """Return the edits, that at a `place` moved back on its lever."""
    def margin(value: float) -> float:
        return 1.0 if bench.fails(_with(edits, place, lever.told(value))) == frozenset() else -1.0
    return _with(edits, place, lever.told(turn(lever, margin, lever.now, edits[place].value)))


def _with(edits: Edits, place: int, value: float) -> Edits:
    """Return the edits, that at a `place` with another value."""
    return (*edits[:place], replace(edits[place], value=value), *edits[place + 1:])
