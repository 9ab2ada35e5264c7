"""The cables on their way through the train: how long each must be, how its slack hangs, what it carries and loses."""

from collections.abc import Iterator
from functools import lru_cache
from math import hypot, inf

from msgspec import Struct

from partgen.describe.description import Description
from partgen.describe.track_tables import Track
from partgen.dynamics.once import once
from partgen.dynamics.survey import Neighbours, Runner, pairs, path_of
from partgen.formulas.wire import drop, fuse, lowest
from partgen.identity import LOCOMOTIVE, TRACK, CouplingId, LocomotiveId, Vehicle
from partgen.motion.coupled import Link, reaches
from partgen.motion.solve import Extreme
from partgen.plan.cable_ways import SLACK, Spot, inside, way_out
from partgen.plan.cables import Run, runs
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

HAND = 2.0              # mm at each coupling: cut by hand, tied by eye (common practice, no source)
TENS = 10.0             # mm: cables are cut to whole tens, what is over stays inside
STALLED = 10.0          # times its running current, a motor at standstill takes


class Hop(Struct, frozen=True):
    """One cable over one coupling: who is coupled; the least and the greatest distance [mm] between its two ways there,
    seen from above, over the plan, None where the pair does not go round it; how long it must be there [mm]; the
    heights [mm] of both ways over rail top; how far [mm] both wagons' play may take these together or apart."""

    who: CouplingId
    near: Extreme | None
    far: Extreme | None
    length: float
    heights: tuple[float, float]
    play: float

    @property
    def lowest(self) -> float:
        """How low over rail top [mm] it can hang, cut by hand."""
        return float(lowest(self.heights, max(self.near.value - self.play, 0.0), self.length + HAND)) \
            if self.near else -inf


class Laid(Struct, frozen=True):
    """One cable on its way: names of both ends, how long [mm] it is cut, and its hops, from the front backwards."""

    run: Run
    start: str
    goal: str
    length: float
    hops: tuple[Hop, ...] = ()


@once
def laid(train: TrainPlan) -> tuple[Laid, ...]:
    """Return every described cable of the train on its way."""
    return tuple(_laid(run, train) for run in runs(train.description))


def _laid(run: Run, train: TrainPlan) -> Laid:
    start, goal = run.cable.named
    hops, length = tuple(_hops(run, train)), 0.0
    for plan in train.wagons:
        length += sum(inside(plan, one) for one in plan.cables.led if one.number == run.number)
        length += sum(plan.frame.length for one in plan.cables.passing if one.number == run.number)
        length += sum(twice / 2 + SLACK for twice, number in _joined(plan) if number == run.number)
    if any(end.place.casefold() == LOCOMOTIVE for end in run.cable.ends):
        length += train.description.train.locomotive.length / 2 + SLACK
    length += sum(hop.length for hop in hops)
    return Laid(run, start, goal, -(-length // TENS) * TENS, hops)


def _joined(plan: WagonPlan) -> Iterator[tuple[float, int]]:
    """Yield twice the run [mm] of every described cable within a wagon, and its number."""
    first = len(plan.wagon.wires)
    yield from zip((twice for twice, *_ in plan.layout.cables[first:]),
                   (one.number for one in plan.cables.joined), strict=False)


def _hops(run: Run, train: TrainPlan) -> Iterator[Hop]:
    """Yield a cable's hop over every coupling that it crosses."""
    plans: dict[Vehicle, WagonPlan] = {plan.who: plan for plan in train.wagons}
    for pair in pairs(train):
        front, rear = (_point(run, who, plans.get(who.who), end, train.description)
                       for who, end in ((pair.front, -1), (pair.rear, 1)))
        if front and rear:
            yield _hop(pair, front, rear)


def _point(run: Run, runner: Runner, plan: WagonPlan | None, end: int, description: Description) -> Spot | None:
    """Return where a cable leaves a runner at one end (front 1, rear -1), None where it does not."""
    if plan is None:
        meant = any(one.place.casefold() == LOCOMOTIVE for one in run.cable.ends)
        return (-runner.length / 2, 0.0, description.train.locomotive.high) if meant and end < 0 else None
    if any(one.number == run.number for one in plan.cables.passing) and plan.frame.lane:
        return end * plan.frame.length / 2, plan.frame.lane.out, plan.frame.bottom - run.core / 2
    wall = "front" if end > 0 else "back"
    for led in plan.cables.through(wall):
        if led.number == run.number and led.there.place.casefold() != TRACK:
            return way_out(plan, led)
    return None


def _hop(pair: Neighbours, front: Spot, rear: Spot) -> Hop:
    found = _reaches(pair.track, pair.link, complex(*front[:2]), complex(*rear[:2])) \
        if min(pair.front.pivot, pair.rear.pivot) > 0 else None
    if pair.front.who == LocomotiveId():     # whoever wires it leads it out as high as the wagon takes it in
        front = (*front[:2], min(front[2], rear[2]))
    near, far = found or (None, None)
    play = 2 * (pair.front.play + pair.rear.play)
    length = hypot(far.value + play, front[2] - rear[2]) + HAND if far else 0.0
    return Hop(pair.who, near, far, length, (front[2], rear[2]), play)


@lru_cache(maxsize=512)
def _reaches(track: Track, link: Link, front: complex, rear: complex) -> tuple[Extreme, Extreme] | None:
    try:
        return reaches(path_of(track), link, (front, rear))
    except ValueError:
        return None


# ---- current


def running(description: Description) -> float:
    """Return what all take while the train runs [A]."""
    return description.load_current


def motor(description: Description) -> float:
    """Return what of it the motor takes [A]."""
    given = description.supply.motor_current
    return running(description) if given is None else min(given, running(description))


def starting(description: Description) -> float:
    """Return what all take as the train starts [A]: a motor at standstill ten times what it does running, or as much as
    its driver lets it."""
    most, limit = STALLED * motor(description), description.supply.current_limit
    return running(description) - motor(description) + (most if limit is None else max(limit, motor(description)))


def standing(description: Description) -> float:
    """Return what all take while the train waits at a stop [A]."""
    return running(description) - motor(description)


def carried(run: Run, description: Description) -> float:
    """Return the largest current [A] in each wire of a cable."""
    return starting(description) if run.cable.current is None else run.cable.current


def lost(one: Laid, description: Description) -> float:
    """Return the largest drop [V] over a cable."""
    return drop(one.length, carried(one.run, description), one.run.copper)


def guard(description: Description) -> float:
    """Return the rated current [A] of the time-lag fuse at the supply, 0 where none is large enough and guards every
    cable that carries all of the train's current."""
    feeds = [run.carries for run in runs(description) if run.cable.current is None]
    return fuse(running(description), min(feeds, default=inf))
