"""How high a liquid climbs on the whole ride: its curves, starts and stops together. Everybody asks here.

One rule for all: the train runs at `ride.speed` everywhere, whether or not its controller slows down for curves, and
what curves, start and stop leave swinging is added by amount, since nobody knows how the swings meet.
"""

from collections.abc import Iterator
from math import radians

from msgspec import Struct

from partgen.dynamics.liquids import Liquid, OnCurves, liquids_on, on_curves
from partgen.dynamics.ramps import Ramp, ramps_of, unit_swing
from partgen.identity import SeatId
from partgen.plan.train import TrainPlan


class Rises(Struct, frozen=True):
    """How high a liquid may rise over its level at rest [mm]: `on` the curves by themselves; what the start has `left`
    swinging; at the `start` and at the `stop` by themselves, and how many times as high as their hardest rate would
    hold it, 1 at least [1]."""

    on: OnCurves
    left: float
    start: float
    stop: float
    factor: float

    @property
    def curves(self) -> float:
        """On the curves, with what the start has left [mm]."""
        return self.on.crest + self.left

    @property
    def ramps(self) -> float:
        """At the start or the stop, whichever is higher, with what the curves and the start have left [mm]."""
        return self.on.crest + max(self.start, self.left + self.stop)


def rises(train: TrainPlan, liquid: Liquid, radius: float = 0.0) -> Rises:
    """Return how high a liquid may rise on the ride, curves sharper than `radius` [mm] eased to it, none at 0."""
    on = on_curves(liquid, train.description.track, train.description.ride.speed, radius)
    return together(on, liquid, train.description.ride.speed, *ramps_of(train))


def together(on: OnCurves, liquid: Liquid, speed: float, start: Ramp, halt: Ramp) -> Rises:
    """Return the same for what curves make of it, and a start to and a stop from `speed` [mm/s]."""
    (started, left), (stopped, _) = ([speed * share for share in unit_swing(liquid, ramp)] for ramp in (start, halt))
    factors = (rise / liquid.steady(speed * ramp.hardest) for rise, ramp in ((started, start), (stopped, halt)))
    return Rises(on, left, started, stopped, max(1.0, *factors))


def room_of(train: TrainPlan, liquid: Liquid) -> float:
    """Return the rise [mm] of a liquid that spills nothing on this ride's floor; negative where it spills at rest."""
    ride = train.description.ride
    return liquid.room(radians(ride.floor_tilt), ride.reserve)


MOST = 10               # times its rim's height over the inner floor: no liquid climbs farther than is worth telling


def climb_of(train: TrainPlan, liquid: Liquid, rise: float) -> float:
    """Return how high [mm] over its level at rest a liquid's `rise` [mm] meets the wall, the floor leaning; MOST rims
    at most."""
    return min(liquid.climbed(rise, radians(train.description.ride.floor_tilt)), MOST * liquid.rim)


def poured(train: TrainPlan, radius: float = 0.0) -> Iterator[tuple[SeatId, Liquid, Rises]]:
    """Yield every kind of filled cup of every wagon asked about, its liquid, and how high that may rise."""
    for plan in train.asked:
        for liquid in liquids_on(train, plan):
            yield SeatId(plan.name, liquid.name), liquid, rises(train, liquid, radius)
