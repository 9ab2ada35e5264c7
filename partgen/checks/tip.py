"""Does every wagon stay on its wheels, whatever stands in its seats: on curves, at starts and stops,
standing."""

from math import radians

import numpy as np

from partgen.checks.coupling import side_pull
from partgen.checks.drinks import curve_swing, ramp_swing
from partgen.checks.search import largest, smallest
from partgen.dynamics.liquids import liquid_of
from partgen.dynamics.load_states import ballast, heaviest, lading, worst
from partgen.dynamics.pull import masses, pulls
from partgen.dynamics.ramps import rates, ridden, slope
from partgen.dynamics.stability import Edge, Stand, short
from partgen.dynamics.survey import path_of
from partgen.finding import Finding, judge, up
from partgen.formulas.balance import joint_tilt
from partgen.formulas.traction import coupling_pulls, inertia_force, rolling_resistance
from partgen.plan.train import TrainPlan

LEAST_SHARE = 0.2       # of a wagon's weight on its lighter axle (common practice, no source)
SURE = 99.0             # margins beyond that are all one
SLOWEST, LONGEST = 10, 20.0     # mm/s and s: the ends of what a remedy may ask of speed and of a ramp's time
BRUSH = 0.2             # N aside at a seat's edge as a guest takes a cup (common practice, no source)
MORE = 1.05             # ballast weighs on the couplers too
HEAVIEST = 2.0          # ballast that is sensible, over the laden wagon's mass
BALLAST_HEIGHT = 3.0    # mm over the floor: the middle of a flat plate of metal


# ---- the edges of each question

def _side_pulls(train) -> tuple[list[float], list[float]]:
    """Return the sideways force [N] on each wagon: outwards as the train behind pushes on while it brakes,
    inwards as the locomotive draws it to a start."""
    rolling, brake = train.description.ride.rolling, rates(train)[1]
    push = [float(inertia_force(mass, brake) - rolling_resistance(mass, rolling)) for mass in masses(train)]
    return side_pull(train, coupling_pulls(np.maximum(push, 0.0))), side_pull(train, pulls(train))


def _sideways(train, plan, outwards, inwards) -> tuple[Edge, ...]:
    """Return the edges of a wagon in the sharpest curve: outwards at full speed, inwards at the start, the
    couplers' sideways forces [N] on top."""
    ride, track = train.description.ride, train.description.track
    curvature = max(abs(piece.curvature) for piece in path_of(track).pieces)
    reach, tilt = (track.gauge + track.rail_head) / 2, radians(ride.floor_tilt) + _joint(ride, track.gauge)
    height = plan.coupling.height
    return tuple(edge for sign in (1, -1) for edge in (
        Edge(2, sign, reach, ride.speed**2 * curvature, tilt, outwards * height),
        Edge(2, sign, reach, 0.0, tilt, inwards * height)))


def _joint(ride, span) -> float:
    """Return the lean [rad] of a wagon with wheels a `span` [mm] apart on a joint's step."""
    return float(joint_tilt(min(ride.joint_step, span), span))


def _lengthwise(train, plan, sign, acceleration, pull=0.0) -> Edge:
    ride = train.description.ride
    return Edge(1, sign, plan.base / 2, acceleration, slope(ride) + _joint(ride, plan.base), pull)


def _standing(train, plan) -> Stand:
    """Return a wagon that stands while a guest takes a cup out of its seat."""
    ride, track = train.description.ride, train.description.track
    tilt = radians(ride.floor_tilt) + _joint(ride, track.gauge)
    brush = max((BRUSH * (plan.deck_z + seat.height) for seat, _ in plan.cups), default=0.0)
    return Stand(_lading(train, plan, {}), (
        *(Edge(2, sign, (track.gauge + track.rail_head) / 2, 0.0, tilt, brush) for sign in (1, -1)),
        *(_lengthwise(train, plan, sign, 0.0, brush) for sign in (1, -1))))


def _lading(train, plan, swings=None):
    return lading(plan, train.description.printer.material, swings)


# ---- checks

def tip_curve(train: TrainPlan):
    """Hold each wagon's margin against tipping in the sharpest curve at full speed, floor leaning and one
    wheel up on a joint's step, liquids at their highest swing, the train's pull and push included."""
    forces = zip(*_side_pulls(train))
    for number, (plan, sideways) in enumerate(zip(train.wagons, forces)):
        if plan in train.asked:
            yield _judged("tip-curve", train, plan, _in_curve(train, plan, *sideways), "in the sharpest curve",
                          lambda at=(number, plan): _slower(train, lambda slow: _again(slow, *at).margin()))


def _again(train, number, plan) -> Stand:
    """Return how a wagon stands in the curve on another ride, all forces worked out anew."""
    outwards, inwards = _side_pulls(train)
    return _in_curve(train, plan, outwards[number], inwards[number])


def _in_curve(train, plan, outwards, inwards) -> Stand:
    speed, track = train.description.ride.speed, train.description.track
    swings = {liquid.name: curve_swing(liquid, track, speed) for liquid in _liquids(train, plan)}
    return Stand(_lading(train, plan, swings), _sideways(train, plan, outwards, inwards))


def tip_stop(train: TrainPlan):
    """Hold each wagon's margin against tipping over an outer axle as the train starts or stops, on the
    steepest slope and a joint's step, liquids at their highest swing."""
    for plan in train.asked:
        yield _judged("tip-stop", train, plan, _at_stop(train, plan), "as the train starts or stops",
                      lambda at=plan: _gentler(train, lambda slow: _at_stop(slow, at).margin()))


def _at_stop(train, plan) -> Stand:
    rate = max(rates(train))
    swings = {liquid.name: ramp_swing(train, liquid) for liquid in _liquids(train, plan)}
    return Stand(_lading(train, plan, swings),
                 tuple(_lengthwise(train, plan, sign, rate) for sign in (1, -1)))


def _liquids(train, plan):
    cups = {seat.cup: cup for seat, cup in plan.cups} | {ring.cup: cup for ring, cup in plan.inserts}
    return [liquid_of(name, cup) for name, cup in cups.items() if cup.fill > 0]


def tip_standing(train: TrainPlan):
    """Hold each wagon's margin against tipping where it stands on a floor out of level and on a joint's step
    while a guest takes a cup."""
    for plan in train.asked:
        yield _judged("tip-standing", train, plan, _standing(train, plan), "standing",
                      lambda at=plan: _levelled(train, at))


def axle_load(train: TrainPlan):
    """Hold the share of its weight that each wagon's lighter axle or bogie carries, in its worst load
    state."""
    for plan in train.asked:
        of = _lading(train, plan)
        state = min((worst(of, _share(plan, sign), _mass) for sign in (1, -1)), key=lambda one: one.value)
        off = abs(float(state.rows[:, 0] @ state.rows[:, 1] / state.rows[:, 0].sum()))
        weight = max(ballast(of, _share(plan, sign), _mass, 0.0, LEAST_SHARE, (0.0, 0.0, 0.0)) for sign in (1, -1))
        yield judge("axle-load", plan.who, state.value, LEAST_SHARE, "min", "1",
                    f"its lighter axle carries {100 * state.value:.0f} % with {state.words}: lengthen "
                    f"{plan.gear.base_name} to {up(off / (0.5 - LEAST_SHARE) + 0.1)} mm, or put {up(weight, 0)} g of "
                    "ballast in its middle")


def _share(plan, sign):
    return lambda rows: rows[:, 0] * (0.5 + sign * rows[:, 1] / plan.base)


def _mass(rows):
    return rows[:, 0]


# ---- verdicts and remedies

def _judged(check, train, plan, stand: Stand, when, cure) -> Finding:
    safety = train.description.ride.tip_safety
    state, edge = stand.worst()
    value = min(state.value, SURE)
    if value >= safety:
        return judge(check, plan.who, value, safety, "min", "1", "")
    weight = MORE * stand.ballast(safety, plan.floor_z + BALLAST_HEIGHT)
    most = HEAVIEST * heaviest(stand.of)
    cures = [cure(), f"put {up(weight, 0)} g of ballast on its floor" if weight < most else ""]
    way = "sideways" if edge.axis == 2 else "over an outer axle"
    return judge(check, plan.who, value, safety, "min", "1",
                 f"{when} it is held {value:.2f} times over against tipping {way}, with {state.words}: "
                 + (", or ".join(one for one in cures if one) or _farther(plan, edge, short(state, edge, safety))))


def _farther(plan, edge, missing) -> str:
    """Return the remedy where nothing lighter helps: an edge farther from the load by `missing` [mm]."""
    wider = f", or lengthen {plan.gear.base_name} by {up(2 * missing)} mm" if edge.axis == 1 else ""
    return f"take cups off, or bring them {up(missing)} mm nearer to the middle{wider}"


def _slower(train, margin) -> str:
    """Return the remedy of the highest lower speed at which `margin` of the train is enough; else none."""
    ride = train.description.ride
    speed = largest(SLOWEST, int(np.ceil(ride.speed)),
                    lambda speed: margin(ridden(train, speed=float(speed))) >= ride.tip_safety)
    return f"run at {speed} mm/s" if speed else ""


def _gentler(train, margin) -> str:
    """Return the remedy of starts and stops that take longer, both by the same share; else none."""
    ride = train.description.ride

    def times(tenths):
        return {name: min(float(np.ceil(10 * (1 + tenths / 10) * getattr(ride, name)) / 10), LONGEST)
                for name in ("start_time", "stop_time")}

    most = int(np.ceil(10 * (LONGEST / min(ride.start_time, ride.stop_time) - 1)))
    found = smallest(0, most, lambda tenths: margin(ridden(train, **times(tenths))) >= ride.tip_safety)
    if found is None:
        return ""
    return " and ".join(f"set ride.{name} to {time:g} s" for name, time in times(found).items())


def _levelled(train, plan) -> str:
    """Return the remedy of a floor nearer to level; none where that is no cure."""
    ride = train.description.ride
    tenths = largest(0, int(np.ceil(10 * ride.floor_tilt)), lambda tenths: _standing(
        ridden(train, floor_tilt=tenths / 10), plan).margin() >= ride.tip_safety)
    return "" if tenths is None else f"level the floor to {tenths / 10:g} deg"
