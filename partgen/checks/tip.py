"""Does everything stand, whatever is in the seats: wagons on their wheels, on curves, at starts and stops, standing;
cups in their seats."""

from collections.abc import Callable, Iterator
from functools import partial

import numpy as np

from partgen.checks.cures import fill_less, run_slower
from partgen.dynamics.load_states import heaviest
from partgen.dynamics.questions import holds_for
from partgen.dynamics.search import largest, ridden, smallest
from partgen.dynamics.stability import (
    LEAST_SHARE,
    LENGTHWISE,
    OVER,
    SIDEWAYS,
    Edge,
    Held,
    Stability,
    at_stops,
    in_curves,
    in_seats,
    on_axles,
    short,
    standing,
)
from partgen.finding import Finding, either, judge, up
from partgen.identity import SeatId, WagonId
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

LONGEST = 20.0          # s: the end of what a remedy may ask of a ramp's time
MORE = 1.05             # ballast weighs on the couplers too
HEAVIEST = 2.0          # ballast that is sensible, over the laden wagon's mass
BALLAST_HEIGHT = 3.0    # mm over the floor: the middle of a flat plate of metal


def tip_curve(train: TrainPlan) -> Iterator[Finding]:
    """Hold each wagon's margin against tipping in the sharpest curve at full speed, floor leaning and one
    wheel up on a joint's step, liquids at their highest swing, the train's pull and push included."""
    return (_judged("tip-curve", train, *one, "in the sharpest curve", run_slower) for one in in_curves(train))


def tip_stop(train: TrainPlan) -> Iterator[Finding]:
    """Hold each wagon's margin against tipping over an outer axle as the train starts or stops, on the
    steepest slope and a joint's step, liquids at their highest swing."""
    return (_judged("tip-stop", train, *one, "as the train starts or stops", _gentler) for one in at_stops(train))


def tip_standing(train: TrainPlan) -> Iterator[Finding]:
    """Hold each wagon's margin against tipping where it stands on a floor out of level and on a joint's step
    while a guest takes a cup."""
    return (_judged("tip-standing", train, *one, "standing", _levelled) for one in standing(train))


def axle_load(train: TrainPlan) -> Iterator[Finding]:
    """Hold the share of its weight that each wagon's lighter axle or bogie carries, in its worst load
    state."""
    for plan, state, weight in on_axles(train):
        off = abs(float(state.rows[:, 0] @ state.rows[:, 1] / state.rows[:, 0].sum()))
        longer = f"lengthen {plan.gear.base_name} to {up(off / (0.5 - LEAST_SHARE) + 0.1)} mm"
        yield judge("axle-load", plan.who, state.value, LEAST_SHARE, "min", "1",
                    f"its lighter axle carries {100 * state.value:.0f} % with {state.words}: "
                    + either(longer, f"put {up(weight, 0)} g of ballast in its middle"))


def cup_hold(train: TrainPlan) -> Iterator[Finding]:
    """Hold the acceleration at which a cup, full or empty, tips over its seat's edge or climbs its wall
    against the ride's hardest, curve and braking together, the floor leaning and the liquid at its highest
    swing."""
    safety = train.description.ride.tip_safety
    for who, held in in_seats(train):
        yield judge("cup-hold", who, min(held.times, OVER), safety, "min", "1", partial(_held_better, train, who, held))


def _held_better(train: TrainPlan, who: SeatId, held: Held) -> str:
    cure = either(run_slower(train, "cup-hold", who), fill_less(train, "cup-hold", who))
    return (f"its seat, which reaches it up to {held.edge:.0f} mm, holds the {held.cup.label} {held.times:.2f} times "
            f"over, then it {held.way}: {cure or 'take a cup with a wider foot'}")


# ---- verdicts and remedies

Cure = Callable[[TrainPlan, str, WagonId], str]
"""From a train, a check and whom it fails to a remedy, "" where there is none."""


def _judged(check: str, train: TrainPlan, plan: WagonPlan, stand: Stability, when: str, cure: Cure) -> Finding:
    safety = train.description.ride.tip_safety
    state, edge = stand.worst()
    value = min(state.value, OVER)

    def remedy() -> str:
        weight = MORE * stand.ballast(safety, plan.floor_z + BALLAST_HEIGHT)
        ballast = f"put {up(weight, 0)} g of ballast on its floor" if weight < HEAVIEST * heaviest(stand.of) else ""
        way = "sideways" if edge.axis == SIDEWAYS else "over an outer axle"
        return (f"{when} it is held {value:.2f} times over against tipping {way}, with {state.words}: "
                + (either(cure(train, check, plan.who), ballast) or _farther(plan, edge, short(state, edge, safety))))

    return judge(check, plan.who, value, safety, "min", "1", remedy)


def _farther(plan: WagonPlan, edge: Edge, missing: float) -> str:
    """Return the remedy where nothing lighter helps: an edge farther from the load by `missing` [mm]."""
    wider = f", or lengthen {plan.gear.base_name} by {up(2 * missing)} mm" if edge.axis == LENGTHWISE else ""
    return f"take cups off, or bring them {up(missing)} mm nearer to the middle{wider}"


def _gentler(train: TrainPlan, check: str, who: WagonId) -> str:
    """Return the remedy of starts and stops that take longer, both by the same share; else none."""
    ride = train.description.ride

    def times(tenths: int) -> dict[str, float]:
        return {name: min(float(np.ceil(10 * (1 + tenths / 10) * getattr(ride, name)) / 10), LONGEST)
                for name in ("start_time", "stop_time")}

    most = int(np.ceil(10 * (LONGEST / min(ride.start_time, ride.stop_time) - 1)))
    found = smallest(0, most, lambda tenths: holds_for(ridden(train, **times(tenths)), check, who))
    if found is None:
        return ""
    return " and ".join(f"set ride.{name} to {time:g} s" for name, time in times(found).items())


def _levelled(train: TrainPlan, check: str, who: WagonId) -> str:
    """Return the remedy of a floor nearer to level; none where that is no cure."""
    tilt = int(np.ceil(10 * train.description.ride.floor_tilt))
    tenths = largest(0, tilt, lambda tenths: holds_for(ridden(train, floor_tilt=tenths / 10), check, who))
    return "" if tenths is None else f"level the floor to {tenths / 10:g} deg"
