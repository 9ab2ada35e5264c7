"""Do the drinks stay in: how high every liquid may climb, sloshing included, against its freeboard."""

from collections.abc import Iterator

from partgen.dynamics.laps import Rises, climb_of, poured
from partgen.dynamics.liquids import Liquid
from partgen.dynamics.ramps import ramps_of
from partgen.finding import Finding, judge
from partgen.identity import RampId, SeatId
from partgen.plan.train import TrainPlan

RAMPS = RampId("start"), RampId("stop")


def spill_curve(train: TrainPlan) -> Iterator[Finding]:
    """Hold each liquid's highest climb on the plan, run over curves without easements at whichever speed up to the full
    one is the worst, against its freeboard."""
    for who, liquid, risen in poured(train):
        yield _judged("spill-curve", train, who, liquid, risen, "on the curves")


def spill_stop(train: TrainPlan) -> Iterator[Finding]:
    """Hold each liquid's highest climb at a start and a stop, with what the curves have left swinging, against its
    freeboard, and the time that a shaped ramp takes against the time wished."""
    ride = train.description.ride
    for who, liquid, risen in poured(train):
        yield _judged("spill-stop", train, who, liquid, risen, "at starts and stops")
    if ride.ramp == "shaped":
        for which, ramp in zip(RAMPS, ramps_of(train), strict=True):
            yield judge("spill-stop", which, ramp.time, ramp.wished, "max", "s",
                        f"a {which.ramp} that keeps all cups dry takes {ramp.time:.2f} s from or to {ride.speed:g} "
                        f"mm/s, {ramp.wished:g} s are wished")


def _judged(check: str, train: TrainPlan, who: SeatId, liquid: Liquid, risen: Rises, where: str) -> Finding:
    limit = liquid.freeboard - train.description.ride.reserve
    rise = risen.ramps if check == "spill-stop" else risen.curves
    climb = climb_of(train, liquid, rise)
    jolts = climb - climb_of(train, liquid, rise - risen.on.jolts)
    return judge(check, who, climb, limit, "max", "mm",
                 f"{liquid.label} climbs {climb:.1f} mm {where}, {max(limit, 0):.1f} mm of wall may get wet",
                 note=f"{jolts:.1f} mm of it by rail joints{' and crossings' * train.description.track.crosses}")
