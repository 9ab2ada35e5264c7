"""Does everything stand, whatever is in the seats: wagons on their wheels, on curves, at starts and stops, standing;
cups in their seats."""

from collections.abc import Iterator

from partgen.dynamics.stability import (
    LEAST_SHARE,
    OVER,
    SIDEWAYS,
    Stability,
    at_stops,
    in_curves,
    in_seats,
    on_axles,
    standing,
)
from partgen.finding import Finding, judge
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan


def tip_curve(train: TrainPlan) -> Iterator[Finding]:
    """Hold each wagon's margin against tipping in the sharpest curve at full speed, floor leaning and one
    wheel up on a joint's step, liquids at their highest swing, the train's pull and push included."""
    return (_judged("tip-curve", train, *one, "in the sharpest curve") for one in in_curves(train))


def tip_stop(train: TrainPlan) -> Iterator[Finding]:
    """Hold each wagon's margin against tipping over an outer axle as the train starts or stops, on the
    steepest slope and a joint's step, liquids at their highest swing."""
    return (_judged("tip-stop", train, *one, "as the train starts or stops") for one in at_stops(train))


def tip_standing(train: TrainPlan) -> Iterator[Finding]:
    """Hold each wagon's margin against tipping where it stands on a floor out of level and on a joint's step
    while a guest takes a cup."""
    return (_judged("tip-standing", train, *one, "standing") for one in standing(train))


def axle_load(train: TrainPlan) -> Iterator[Finding]:
    """Hold the share of its weight that each wagon's lighter axle or bogie carries, in its worst load
    state."""
    for plan, state in on_axles(train):
        off = abs(float(state.rows[:, 0] @ state.rows[:, 1] / state.rows[:, 0].sum()))
        carries = (f"carries {100 * state.value:.0f} %" if state.value >= 0
                   else "lifts off by itself, beyond the other lies the weight,")
        yield judge("axle-load", plan.who, state.value, LEAST_SHARE, "min", "1",
                    f"its lighter axle {carries} with {state.words}: the weight lies {off:.1f} "
                    f"mm off the middle of {plan.base:g} mm of {plan.gear.base_name}")


def cup_hold(train: TrainPlan) -> Iterator[Finding]:
    """Hold the acceleration at which a cup, full or empty, tips over its seat's edge or climbs its wall
    against the ride's hardest, curve and braking together, the floor leaning and the liquid at its highest
    swing."""
    safety = train.description.ride.tip_safety
    for who, held in in_seats(train):
        seat, cup = f"its seat, which reaches it up to {held.edge:.0f} mm,", held.cup.label
        yield judge("cup-hold", who, min(held.times, OVER), safety, "min", "1",
                    f"{seat} holds the {cup} {held.times:.2f} times over, then it {held.way}" if held.times >= 0 else
                    f"{seat} does not hold the {cup} on a leaning floor or a joint's step: there it {held.way} by "
                    "itself")


def _judged(check: str, train: TrainPlan, plan: WagonPlan, stand: Stability, when: str) -> Finding:
    safety = train.description.ride.tip_safety
    state, edge = stand.worst()
    value = min(state.value, OVER)

    way = "sideways" if edge.axis == SIDEWAYS else "over an outer axle"
    held = (f"{when} it is held {value:.2f} times over against tipping {way}" if value >= 0
            else f"it tips {way} by itself, standing already")
    return judge(check, plan.who, value, safety, "min", "1", f"{held}, with {state.words}")
