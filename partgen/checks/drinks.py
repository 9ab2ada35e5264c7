"""Do the drinks stay in: how high every liquid may climb, sloshing included, against its freeboard."""

from collections.abc import Iterator

from partgen.checks.cures import fill_less, run_slower
from partgen.dynamics.laps import Rises, climb_of, poured, rises, room_of
from partgen.dynamics.liquids import Liquid
from partgen.dynamics.questions import unheld
from partgen.dynamics.ramps import ramps_of
from partgen.dynamics.search import ridden, smallest
from partgen.finding import Finding, either, judge, up
from partgen.identity import RampId, SeatId
from partgen.plan.train import TrainPlan

TENTHS = 10             # steps to a second
LONGEST = 200           # of them: the end of what a remedy may ask of a ramp's time
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
            name = which.ramp
            yield judge("spill-stop", which, ramp.time, ramp.wished, "max", "s",
                        f"a {name} that keeps all cups dry takes {ramp.time:.2f} s: set ride.{name}_time to "
                        f"{up(ramp.time, 2)} s, or run slower than {ride.speed:g} mm/s")


def _judged(check: str, train: TrainPlan, who: SeatId, liquid: Liquid, risen: Rises, where: str) -> Finding:
    limit, rise = liquid.freeboard - train.description.ride.reserve, risen.curves
    if check == "spill-stop":
        rise = risen.ramps
    climb = climb_of(train, liquid, rise)
    jolts = climb - climb_of(train, liquid, rise - risen.on.jolts)

    def remedy() -> str:
        cure = either(fill_less(train, check, who), run_slower(train, check, who),
                      _gentler(train, who, liquid) if check == "spill-stop" else "")
        return (f"{liquid.label} climbs {climb:.1f} mm {where}, {max(limit, 0):.1f} mm of wall may get wet: "
                + (cure or f"use a cup {up(climb - limit)} mm taller"))

    return judge(check, who, climb, limit, "max", "mm", remedy, note=f"{jolts:.1f} mm of it by rail joints")


def _gentler(train: TrainPlan, who: SeatId, liquid: Liquid) -> str:
    """Return the remedy of ramps that take longer, or are shaped; none where that is no cure."""
    if train.description.ride.ramp == "shaped":       # it takes the time it needs already
        return ""
    slow, said = train, []
    for ramp in ("start", "stop"):
        time = _time(slow, liquid, ramp)
        if time is not None:
            slow = ridden(slow, **{f"{ramp}_time": time})
            said.append(f"ride.{ramp}_time to {time:g} s")
    tried = {" and ".join(said): slow, 'ride.ramp to "shaped"': ridden(train, ramp="shaped")}
    held = [cure for cure, other in tried.items()
            if cure and not {("spill-stop", one) for one in (who, *RAMPS)} & unheld(other, {"spill-stop"})]
    return f"set {either(*held)}" if held else ""


def _time(train: TrainPlan, liquid: Liquid, ramp: str) -> float | None:
    """Return how long [s] a start or stop must take to keep a cup dry; None where it does, or where no time helps."""
    field = f"{ramp}_time"

    def dry(tenths: float) -> bool:
        return getattr(rises(ridden(train, **{field: tenths / TENTHS}), liquid), ramp) <= room_of(train, liquid)

    now = TENTHS * getattr(train.description.ride, field)
    tenths = None if dry(now) else smallest(int(now), LONGEST, dry)
    return None if tenths is None else tenths / TENTHS
