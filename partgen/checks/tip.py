"""Does everything stand, whatever is in the seats: wagons on their wheels, on curves, at starts and stops, standing;
cups in their seats."""

from collections.abc import Callable, Iterator

import numpy as np
from msgspec.structs import replace

from partgen.dynamics.fills import shallower
from partgen.dynamics.load_states import heaviest
from partgen.dynamics.questions import unheld
from partgen.dynamics.search import largest, ridden, smallest
from partgen.dynamics.speeds import slower
from partgen.dynamics.stability import (
    LEAST_SHARE,
    Edge,
    Stability,
    at_stops,
    in_curves,
    in_seats,
    on_axles,
    short,
    standing,
)
from partgen.finding import Finding, judge, up
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

SURE = 99.0             # margins beyond that are all one
LONGEST = 20.0          # s: the end of what a remedy may ask of a ramp's time
MORE = 1.05             # ballast weighs on the couplers too
HEAVIEST = 2.0          # ballast that is sensible, over the laden wagon's mass
BALLAST_HEIGHT = 3.0    # mm over the floor: the middle of a flat plate of metal


def tip_curve(train: TrainPlan) -> Iterator[Finding]:
    """Hold each wagon's margin against tipping in the sharpest curve at full speed, floor leaning and one
    wheel up on a joint's step, liquids at their highest swing, the train's pull and push included."""
    for plan, stand in in_curves(train):
        yield _judged("tip-curve", train, plan, stand, "in the sharpest curve", _slower)


def tip_stop(train: TrainPlan) -> Iterator[Finding]:
    """Hold each wagon's margin against tipping over an outer axle as the train starts or stops, on the
    steepest slope and a joint's step, liquids at their highest swing."""
    for plan, stand in at_stops(train):
        yield _judged("tip-stop", train, plan, stand, "as the train starts or stops", _gentler)


def tip_standing(train: TrainPlan) -> Iterator[Finding]:
    """Hold each wagon's margin against tipping where it stands on a floor out of level and on a joint's step
    while a guest takes a cup."""
    for plan, stand in standing(train):
        yield _judged("tip-standing", train, plan, stand, "standing", _levelled)


def axle_load(train: TrainPlan) -> Iterator[Finding]:
    """Hold the share of its weight that each wagon's lighter axle or bogie carries, in its worst load
    state."""
    for plan, state, weight in on_axles(train):
        off = abs(float(state.rows[:, 0] @ state.rows[:, 1] / state.rows[:, 0].sum()))
        yield judge("axle-load", plan.who, state.value, LEAST_SHARE, "min", "1",
                    f"its lighter axle carries {100 * state.value:.0f} % with {state.words}: lengthen "
                    f"{plan.gear.base_name} to {up(off / (0.5 - LEAST_SHARE) + 0.1)} mm, or put {up(weight, 0)} g of "
                    "ballast in its middle")


def cup_hold(train: TrainPlan) -> Iterator[Finding]:
    """Hold the acceleration at which a cup, full or empty, tips over its seat's edge or climbs its wall
    against the ride's hardest, curve and braking together, the floor leaning and the liquid at its highest
    swing."""
    safety = train.description.ride.tip_safety
    for who, held in in_seats(train):
        cures = []
        if held.times < safety:
            speed, depth = slower(train, "cup-hold", who), shallower(train, "cup-hold", who)
            cures = [f"run at {speed} mm/s" if speed else "", f"fill it only {depth:g} mm deep" if depth else ""]
        yield judge("cup-hold", who, min(held.times, SURE), safety, "min", "1",
                    f"its seat, {held.seat.height:.0f} mm high, holds the {held.cup.label} {held.times:.2f} times "
                    f"over, then it {held.way}: "
                    + (", or ".join(filter(None, cures)) or "take a cup with a wider foot"))


# ---- verdicts and remedies

def _judged(check: str, train: TrainPlan, plan: WagonPlan, stand: Stability, when: str,
            cure: Callable[[TrainPlan, WagonPlan], str]) -> Finding:
    safety = train.description.ride.tip_safety
    state, edge = stand.worst()
    value = min(state.value, SURE)
    if value >= safety:
        return judge(check, plan.who, value, safety, "min", "1", "")
    weight = MORE * stand.ballast(safety, plan.floor_z + BALLAST_HEIGHT)
    most = HEAVIEST * heaviest(stand.of)
    cures = [cure(train, plan), f"put {up(weight, 0)} g of ballast on its floor" if weight < most else ""]
    way = "sideways" if edge.axis == 2 else "over an outer axle"
    return judge(check, plan.who, value, safety, "min", "1",
                 f"{when} it is held {value:.2f} times over against tipping {way}, with {state.words}: "
                 + (", or ".join(one for one in cures if one) or _farther(plan, edge, short(state, edge, safety))))


def _farther(plan: WagonPlan, edge: Edge, missing: float) -> str:
    """Return the remedy where nothing lighter helps: an edge farther from the load by `missing` [mm]."""
    wider = f", or lengthen {plan.gear.base_name} by {up(2 * missing)} mm" if edge.axis == 1 else ""
    return f"take cups off, or bring them {up(missing)} mm nearer to the middle{wider}"


def _slower(train: TrainPlan, plan: WagonPlan) -> str:
    """Return the remedy of the highest lower speed at which a wagon is held in a curve; else none."""
    speed = slower(train, "tip-curve", plan.who)
    return f"run at {speed} mm/s" if speed else ""


def _gentler(train: TrainPlan, plan: WagonPlan) -> str:
    """Return the remedy of starts and stops that take longer, both by the same share; else none."""
    ride = train.description.ride

    def times(tenths: int) -> dict[str, float]:
        return {name: min(float(np.ceil(10 * (1 + tenths / 10) * getattr(ride, name)) / 10), LONGEST)
                for name in ("start_time", "stop_time")}

    most = int(np.ceil(10 * (LONGEST / min(ride.start_time, ride.stop_time) - 1)))
    found = smallest(0, most, lambda tenths: _held("tip-stop", ridden(train, **times(tenths)), plan))
    if found is None:
        return ""
    return " and ".join(f"set ride.{name} to {time:g} s" for name, time in times(found).items())


def _levelled(train: TrainPlan, plan: WagonPlan) -> str:
    """Return the remedy of a floor nearer to level; none where that is no cure."""
    tilt = int(np.ceil(10 * train.description.ride.floor_tilt))
    tenths = largest(0, tilt, lambda tenths: _held("tip-standing", ridden(train, floor_tilt=tenths / 10), plan))
    return "" if tenths is None else f"level the floor to {tenths / 10:g} deg"


def _held(check: str, train: TrainPlan, plan: WagonPlan) -> bool:
    return (check, plan.who) not in unheld(replace(train, only=frozenset({plan.name})), {check})
