"""Do the drinks stay in: how high every liquid may climb, sloshing included, against its freeboard."""

from collections.abc import Iterator

from partgen.dynamics.fills import shallower
from partgen.dynamics.laps import climb_of, poured, rises, room_of
from partgen.dynamics.liquids import Liquid
from partgen.dynamics.questions import unheld
from partgen.dynamics.ramps import ramps_of
from partgen.dynamics.search import ridden, smallest
from partgen.dynamics.speeds import slower
from partgen.finding import Finding, judge, up
from partgen.identity import RampId, SeatId
from partgen.plan.train import TrainPlan

TENTHS = 10             # steps to a second
LONGEST = 200           # of them: the end of what a remedy may ask of a ramp's time
RAMPS = RampId("start"), RampId("stop")


def spill_curve(train: TrainPlan) -> Iterator[Finding]:
    """Hold each liquid's highest climb on the plan, run over curves without easements at whichever speed up to the full
    one is the worst, against its freeboard."""
    for who, liquid, risen in poured(train):
        yield _judged("spill-curve", train, who, liquid, risen.curves, "on the curves")


def spill_stop(train: TrainPlan) -> Iterator[Finding]:
    """Hold each liquid's highest climb at a start and a stop, with what the curves have left swinging, against its
    freeboard, and the time that a shaped ramp takes against the time wished."""
    ride = train.description.ride
    for who, liquid, risen in poured(train):
        yield _judged("spill-stop", train, who, liquid, risen.ramps, "at starts and stops")
    if ride.ramp == "shaped":
        for which, ramp in zip(RAMPS, ramps_of(train), strict=True):
            name = which.ramp
            yield judge("spill-stop", which, ramp.time, ramp.wished, "max", "s",
                        f"a {name} that keeps all cups dry takes {ramp.time:.2f} s: set ride.{name}_time to "
                        f"{up(ramp.time, 2)} s, or run slower than {ride.speed:g} mm/s")


def _judged(check: str, train: TrainPlan, who: SeatId, liquid: Liquid, rise: float, where: str) -> Finding:
    ride = train.description.ride
    limit = liquid.freeboard - ride.reserve
    climb = climb_of(train, liquid, rise)
    if climb <= limit:
        return judge(check, who, climb, limit, "max", "mm", "")
    depth, speed = shallower(train, check, who), slower(train, check, who)
    cures = [f"fill it only {depth:g} mm deep" if depth else "", f"run at {speed} mm/s" if speed else "",
             _gentler(train, who, liquid) if check == "spill-stop" else ""]
    return judge(check, who, climb, limit, "max", "mm",
                 f"{liquid.label} climbs {climb:.1f} mm {where}, {max(limit, 0):.1f} mm of wall may get wet: "
                 + (", or ".join(cure for cure in cures if cure) or f"use a cup {up(climb - limit)} mm taller"))


def _gentler(train: TrainPlan, who: SeatId, liquid: Liquid) -> str:
    """Return the remedy of ramps that take longer, or are shaped; none where that is no cure."""
    if train.description.ride.ramp == "shaped":       # it takes the time it needs already
        return ""
    times: dict[str, float] = {}
    for name in ("start", "stop"):
        field = f"{name}_time"

        def dry(tenths: int, name: str = name, field: str = field) -> bool:
            slow = ridden(train, **{**times, field: tenths / TENTHS})
            return getattr(rises(slow, liquid), name) <= room_of(train, liquid)
        wished = getattr(train.description.ride, field)
        if getattr(rises(ridden(train, **times), liquid), name) > room_of(train, liquid):
            tenths = smallest(int(TENTHS * wished), LONGEST, dry)
            if tenths is not None:
                times[field] = tenths / TENTHS
    cures = [" and ".join(f"ride.{field} to {time:g} s" for field, time in times.items()), 'ride.ramp to "shaped"']
    tried = [ridden(train, **times), ridden(train, ramp="shaped")]
    held = [cure for cure, other in zip(cures, tried, strict=True)
            if cure and not {("spill-stop", one) for one in (who, *RAMPS)} & unheld(other, {"spill-stop"})]
    return f"set {', or '.join(held)}" if held else ""
