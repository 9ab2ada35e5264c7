"""How high a liquid climbs on the whole ride: its curves, starts and stops together. Everybody asks here.

One rule for all: the train runs at `ride.speed` everywhere, as much faster as its laps scatter, whether or not its
controller slows down for curves, and what curves, start and stop leave swinging is added by amount, since nobody knows
how the swings meet.
"""

from collections.abc import Iterator
from math import hypot

from msgspec import Struct

from partgen.dynamics.curves import OnTrack
from partgen.dynamics.jolts import on_track
from partgen.dynamics.liquids import Liquid, liquids_on
from partgen.dynamics.once import once
from partgen.dynamics.ramps import Ramp, leaning, ramps_of, unit_swing
from partgen.identity import SeatId
from partgen.plan.train import TrainPlan


class Rises(Struct, frozen=True):
    """How high a liquid may rise over its level at rest [mm]: `on` the curves by themselves; what the stop before has
    left in it as the train starts (`rested`), and what that and the start have `left` swinging; at the `start` and at
    the `stop` by themselves, and how many times as high as their hardest rate would hold it, 1 at least [1]."""

    on: OnTrack
    rested: float
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
        """At the start or the stop, whichever is higher, with what the curves and the start have left [mm]; the lean in
        a curve is square to that of a ramp."""
        return self.on.swings + max(self.starting, self.stopping)

    @property
    def starting(self) -> float:
        """Of that, at the start, but for the curves' swings [mm]."""
        return self.rested + hypot(self.on.steady, self.start)

    @property
    def stopping(self) -> float:
        """At the stop [mm]."""
        return self.left + hypot(self.on.steady, self.stop)

    @property
    def likely(self) -> float:
        """What it is likely to rise to, all swings in phases of their own [mm]."""
        return max(hypot(self.on.likely, self.left), hypot(self.on.likely, self.rested, self.start),
                   hypot(self.on.likely, self.left, self.stop))


@once
def rises(train: TrainPlan, liquid: Liquid, radius: float = 0.0) -> Rises:
    """Return how high a liquid may rise on the ride, curves sharper than `radius` [mm] eased to it, none at 0."""
    fastest = train.description.ride.fastest
    return together(on_track(train, liquid, fastest, radius), liquid, fastest, *ramps_of(train))


def together(on: OnTrack, liquid: Liquid, speed: float, start: Ramp, halt: Ramp) -> Rises:
    """Return the same for what curves make of it, and a start to and a stop from `speed` [mm/s]."""
    (started, left), (stopped, ended) = ([speed * share for share in unit_swing(liquid, ramp)]
                                         for ramp in (start, halt))
    factors = (rise / liquid.steady(speed * ramp.hardest) for rise, ramp in ((started, start), (stopped, halt)))
    rested = liquid.rested(ended)
    return Rises(on, rested, rested + left, started, stopped, max(1.0, *factors))


def room_of(train: TrainPlan, liquid: Liquid) -> float:
    """Return the rise [mm] of a liquid that spills nothing on this ride's floor and slopes, its cup leaning as it may;
    negative where it spills at rest."""
    return liquid.room(leaning(train, liquid.name), train.description.ride.reserve)


MOST = 10               # times its rim's height over the inner floor: no liquid climbs farther than is worth telling


def climb_of(train: TrainPlan, liquid: Liquid, rise: float) -> float:
    """Return how high [mm] over its level at rest a liquid's `rise` [mm] meets the wall, floor, track and cup leaning;
    MOST rims at most."""
    return min(liquid.climbed(rise, leaning(train, liquid.name)), MOST * liquid.rim)


def poured(train: TrainPlan, radius: float = 0.0) -> Iterator[tuple[SeatId, Liquid, Rises]]:
    """Yield every kind of filled cup of every wagon asked about, its liquid, and how high that may rise."""
    for plan in train.asked:
        for liquid in liquids_on(train, plan):
            yield SeatId(plan.name, liquid.name), liquid, rises(train, liquid, radius)
