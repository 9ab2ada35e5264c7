"""How surely a wagon stays on its wheels, and a cup in its seat, whatever stands in the seats: in a curve, as the train
starts and stops, standing, pulled at. Every question about tipping is answered here."""

from collections.abc import Iterator
from itertools import pairwise
from math import atan2, pi, radians, tan

import numpy as np
from msgspec import Struct

from partgen.describe.cup_table import Cup
from partgen.describe.turned import diameter_at
from partgen.dynamics.at_grade import highest_step
from partgen.dynamics.laps import rises
from partgen.dynamics.liquids import Liquid, liquid_of, liquids_on
from partgen.dynamics.load_states import (
    Lading,
    Quantities,
    Worst,
    lading,
    swung_centre,
    worst,
)
from partgen.dynamics.pull import asides, axle_asides, grip_on_level, magnet_pull, pulls, pushes
from partgen.dynamics.ramps import hardest, rates
from partgen.dynamics.seating import off_its_foot, play_lean, sideways, slope
from partgen.formulas import GRAVITY
from partgen.formulas.balance import cup_climb, cup_tip, joint_tilt, nadal_limit, tip_moments
from partgen.formulas.traction import inertia_force, weight
from partgen.identity import SeatId
from partgen.plan.deck.cups import dry_centre, liquid_mass
from partgen.plan.deck.seats import Seat, touched
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

LENGTHWISE, SIDEWAYS = 1, 2
BRUSH = 0.2             # N aside at a seat's edge as a guest takes a cup (common practice, no source)
LEAST_SHARE = 0.2       # of a wagon's weight on its lighter axle (common practice, no source)


class Edge(Struct, frozen=True):
    """What a wagon may tip over: `axis` of its offset, LENGTHWISE or SIDEWAYS, and `sign` of the way it
    falls, how far the edge lies from the middle [mm], the acceleration away from it [mm/s2], the floor's lean
    towards it [rad], the moment [N mm] of the couplers' pull, and how much farther out [1] the edge lies ahead."""

    axis: int
    sign: int
    reach: float
    acceleration: float
    tilt: float
    pull: float = 0.0
    splay: float = 0.0

    def moments(self, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return the moments [N mm] that hold and those that tip each part, rows of mass [g], x, y, z [mm]."""
        held, tipped = tip_moments(rows[:, 0], self.sign * rows[:, self.axis] - self.splay * rows[:, 1],
                                   rows[:, 3], self.reach, self.acceleration, self.tilt)
        return np.asarray(held), np.asarray(tipped)


class Stability(Struct, frozen=True):
    """A wagon with whatever it may carry, and every edge that it may tip over."""

    of: Lading
    edges: tuple[Edge, ...]

    def worst(self) -> tuple[Worst, Edge]:
        """Return the load state that is held least surely against tipping, its margin the value [1], and the
        edge."""
        found = [(worst(self.of, edge.moments, edge.pull), edge) for edge in self.edges]
        return min(found, key=lambda one: one[0].value)

    def margin(self) -> float:
        """Return how many times over the wagon is held against tipping in its worst load state [1]."""
        return self.worst()[0].value


# ---- a wagon in a curve, at a start or stop, standing

def in_curves(train: TrainPlan, radius: float = 0.0) -> Iterator[tuple[WagonPlan, Stability]]:
    """Yield every wagon asked about with how it stands in a curve of `radius` [mm], the plan's sharpest where 0:
    outwards at full speed, the train behind pushing on as it brakes, and inwards as the locomotive draws it to a start;
    floor leaning, one wheel up on a joint's step, liquids at their highest swing."""
    outwards, inwards = asides(train, pushes(train)), asides(train, pulls(train))
    for plan, outward, inward in zip(train.wagons, outwards, inwards, strict=True):
        if plan in train.asked:
            swings = {liquid.name: _in_curve(train, liquid, radius) for liquid in liquids_on(train, plan)}
            yield plan, Stability(_lading(train, plan, swings), (
                *_edges(train, plan, SIDEWAYS, sideways(train, radius), outward * plan.coupling.height),
                *_edges(train, plan, SIDEWAYS, 0.0, inward * plan.coupling.height)))


def _in_curve(train: TrainPlan, liquid: Liquid, radius: float) -> float:
    """Return how many times as high as a curve and the floor's lean would hold it a liquid rises in the curve [1]."""
    leaning = GRAVITY * tan(radians(train.description.ride.floor_tilt))
    risen = rises(train, liquid, radius)
    return max(1.0, _over(risen.curves + risen.on.factor * liquid.steady(leaning), liquid,
                          sideways(train, radius) + leaning))


def _over(rise: float, liquid: Liquid, acceleration: float) -> float:
    """Return a rise over the steady one under an acceleration [1], 0 where there is none."""
    return rise / liquid.steady(acceleration) if acceleration > 0 else 0.0


def at_stops(train: TrainPlan) -> Iterator[tuple[WagonPlan, Stability]]:
    """Yield every wagon asked about with how it stands over an outer axle as the train starts or stops, on the steepest
    slope and a joint's step, liquids at their highest swing."""
    rate = max(rates(train))
    leaning = rate + GRAVITY * tan(slope(train.description.ride))
    for plan in train.asked:
        risen = {liquid: rises(train, liquid) for liquid in liquids_on(train, plan)}
        swings = {liquid.name: found.factor + _over(found.on.swings + found.left, liquid, leaning)
                  for liquid, found in risen.items()}
        yield plan, Stability(_lading(train, plan, swings), _edges(train, plan, LENGTHWISE, rate))


def standing(train: TrainPlan) -> Iterator[tuple[WagonPlan, Stability]]:
    """Yield every wagon asked about with how it stands on a floor out of level and on a joint's step while a guest
    takes a cup out of its seat."""
    for plan in train.asked:
        brush = max((BRUSH * (plan.deck_z + seat.height) for seat, _ in plan.cups), default=0.0)
        yield plan, Stability(_lading(train, plan, {}), (
            *_edges(train, plan, SIDEWAYS, 0.0, brush), *_edges(train, plan, LENGTHWISE, 0.0, brush)))


def _lading(train: TrainPlan, plan: WagonPlan, swings: dict[str, float] | None) -> Lading:
    return lading(plan, train.description.printer, swings)


def _edges(train: TrainPlan, plan: WagonPlan, axis: int, rate: float, pull: float = 0.0,
           level: bool = False) -> tuple[Edge, ...]:
    """Return both edges that a wagon may tip over sideways or lengthwise: a rail, an outer axle. Its wheels stand on a
    joint's step, across the track from one rail's inner edge to the other's, the nearest that they can, and on the
    ride's floor, unless they are level.

    A body on bogies leans on the front one alone, since the rear one rolls under it: before a rail, it tips over the
    line from the front one's rear wheel to the middle of the rear one, which is taken to lie as low as the rails.
    """
    ride, track = train.description.ride, train.description.track
    lines, span, tilt = [(plan.base / 2, 0.0)], plan.base, slope(ride)
    if axis == SIDEWAYS:
        rail, behind = (track.gauge + track.rail_head) / 2, plan.base - plan.gear.bogie_wheelbase / 2
        lines, span, tilt = [(rail, 0.0)], track.gauge, radians(ride.floor_tilt)
        if plan.gear.bogie_wheelbase and behind > 0:  # else the bogies lie in each other: refused, but tried by `tune`
            lines.append((rail / behind * plan.base / 2, rail / behind))
    tilt = 0.0 if level else tilt + float(joint_tilt(min(highest_step(train, plan), span), span))
    return tuple(Edge(axis, sign, reach, rate, tilt, pull, splay) for reach, splay in lines for sign in (1, -1))


# ---- as the train pulls at it, whatever stands in it

OVER = 99.0             # times over are all one


class Aside(Struct, frozen=True):
    """How its couplers drive a wagon aside in a curve: "inward" or "outward" is the `way`, with a `force` [N], which
    uses up a `share` [1] of what it bears beside what else acts; `what` gives way first beyond, and the load state in
    `words`."""

    way: str
    force: float
    share: float
    what: str
    words: str


def aside_in_curves(train: TrainPlan, radius: float = 0.0) -> Iterator[tuple[WagonPlan, Aside]]:
    """Yield every wagon asked about, in its worst load state, with how its couplers drive it aside: inwards as the
    locomotive draws it to a start, outwards as it brakes at full speed in a curve of `radius` [mm] (the sharpest where
    0) and the wagons behind push on; against wheel climb (Nadal) of either axle and tipping over that rail, whichever
    is nearest. All wagons behind are full. Backing up to a start drives it outwards with what a start draws inwards:
    it uses up as much.

    A push F turns by an angle t at a coupling and drives outwards with F sin(t), as a pull draws inwards: F L/R on a
    chain of links L long (railway handbooks, MEM; CALC, a chain on a circle)."""
    ways = [(way, rate, asides(train, forces), axle_asides(train, forces)) for way, rate, forces in (
        ("inward", 0.0, pulls(train)), ("outward", sideways(train, radius), pushes(train)))]
    for number, plan in enumerate(train.wagons):
        if plan in train.asked:
            yield plan, max((_aside(train, plan, way, rate, forces[number], by_axle[number])
                             for way, rate, forces, by_axle in ways), key=lambda one: one.share)


def _aside(train: TrainPlan, plan: WagonPlan, way: str, rate: float, force: float,
           by_axle: tuple[float, float]) -> Aside:
    """Return how a `force` [N] of its couplers, so much of it on each axle or bogie, drives a wagon one way that is
    driven the same way by its own mass at a `rate` [mm/s2]."""
    stand = _pulled(train, plan, _edges(train, plan, SIDEWAYS, rate, force * plan.coupling.height, level=True))
    state, _ = stand.worst()
    climbs = [_climb(train, plan, stand.of, sign, aside, rate) for sign, aside in zip((1, -1), by_axle, strict=True)]
    share, what, words = max((*((climb, "wheel climb", words) for climb, words in climbs),
                              (_used(1.0, state.value), "tipping", state.words)))
    return Aside(way, force, share, what, words)


def _climb(train: TrainPlan, plan: WagonPlan, of: Lading, sign: int, aside: float, rate: float) -> tuple[float, str]:
    """Return how much of what holds the front (`sign` 1) or the rear axle or bogie against climbing is used up by a
    force `aside` [N] and by what it carries at a `rate` [mm/s2], and in which load state.

    The other wheel guides too: the friction under its tread may push the flange at the rail, so the axle bears what
    Nadal's limit leaves over that friction (Weinstock's criterion, MEM; CALC, the balance of one axle)."""
    friction = train.description.ride.wheel_friction
    hold = float(nadal_limit(radians(plan.wheelset.climbing_angle), friction))
    least = worst(of, lambda rows: (rows[:, 0] * (0.5 + sign * rows[:, 1] / plan.base), 0 * rows[:, 0]), 1.0)
    wheel = float(weight(least.value)) / 2      # N
    own = float(inertia_force(max(least.value, 0.0), rate))
    return _used(aside + own + friction * max(wheel, 0.0), hold * wheel), least.words


def _pulled(train: TrainPlan, plan: WagonPlan, edges: tuple[Edge, ...]) -> Stability:
    return Stability(_lading(train, plan, None), edges)


def _used(found: float, most: float) -> float:
    """Return how much of the most that holds is used up, OVER at most: a flange that rubs too much holds nothing."""
    return min(found / most, OVER) if most > 0 else OVER


def stuck(train: TrainPlan) -> Iterator[tuple[WagonPlan, float, float]]:
    """Yield every wagon asked about, in its worst load state, with the force [N] that pulls at it at most when it is
    stuck, before a coupler opens or the locomotive slips, and the force [N] that lifts it off its rear axle."""
    for plan in train.asked:
        force = min(magnet_pull(train.description.coupler, plan.coupling.front), grip_on_level(train))
        by_one = _pulled(train, plan, _edges(train, plan, LENGTHWISE, 0.0, plan.coupling.height, level=True)[:1])    # N
        yield plan, force, by_one.margin()


# ---- on its axles

def on_axles(train: TrainPlan) -> Iterator[tuple[WagonPlan, Worst]]:
    """Yield every wagon asked about with the load state whose lighter axle or bogie carries the least share of the
    weight."""
    for plan in train.asked:
        of = _lading(train, plan, None)
        shares = [_axle_share(plan, sign) for sign in (1, -1)]
        yield plan, min((worst(of, share) for share in shares), key=lambda one: one.value)


def _axle_share(plan: WagonPlan, sign: int) -> Quantities:
    return lambda rows: (rows[:, 0] * (0.5 + sign * rows[:, 1] / plan.base), rows[:, 0])


# ---- a cup in its seat

LEAST_TOUCH = 1.0       # mm of a foot in its seat: a thinner edge hops over the ring's (common practice, no source)

class Held(Struct, frozen=True):
    """How a seat holds a cup: how many times over [1], what the cup does beyond that, and up to which height over its
    foot the seat reaches it [mm]."""

    times: float
    way: str
    edge: float
    cup: Cup


def in_seats(train: TrainPlan, radius: float = 0.0) -> Iterator[tuple[SeatId, Held]]:
    """Yield every kind of cup of every wagon asked about with how its seat, or its insert, holds it, full or empty: it
    tips over the seat's edge or climbs its wall, against the ride's hardest, a curve of `radius` [mm] (the sharpest
    where 0) and braking together, the floor leaning and the liquid at its highest swing."""
    for plan in train.asked:
        seats = {SeatId(plan.name, seat.cup): (seat, cup) for seat, cup in plan.cups}
        seats |= {SeatId(plan.name, ring.cup, ring.seat): (ring.as_seat(), cup) for ring, cup in plan.inserts}
        for who, (seat, cup) in seats.items():
            yield who, _held(train, plan, seat, cup, radius)


def _held(train: TrainPlan, plan: WagonPlan, seat: Seat, cup: Cup, radius: float) -> Held:
    """A joint's step leans the wagon, and moves foot and edge from under a cup that has not followed yet. A cup stays
    on its foot, or leans by its seat's play until it tips over the seat's edge, whichever bears more."""
    edge, most, span = touched(cup, seat.height), hardest(train, radius), min(plan.base, train.description.track.gauge)
    jolt = float(joint_tilt(min(highest_step(train, plan), span), span))
    tilt = slope(train.description.ride) + jolt
    climbs = float(cup_climb(_lean(seat) if edge >= LEAST_TOUCH else pi / 2, cup.friction, tilt))
    reach, lean = diameter_at(cup.profile, edge) / 2 - jolt * (plan.deck_z + edge), tilt + play_lean(seat, cup)
    tips = min(max(off_its_foot(cup, height, tilt, jolt * plan.deck_z), float(cup_tip(reach, height - edge, lean)))
               for height in _heights(train, cup, seat.cup, radius))
    times, way = min((tips / most, "tips over the edge"), (climbs / most, "climbs the wall"))
    return Held(times, way, edge, cup)


def _heights(train: TrainPlan, cup: Cup, name: str, radius: float) -> Iterator[float]:
    """Yield the height [mm] of the centre of gravity over the foot, empty and full."""
    yield dry_centre(cup)
    if cup.fill > 0:
        liquid = liquid_of(name, cup)
        swing = max(rises(train, liquid, radius).factor, _in_curve(train, liquid, radius))
        mass = liquid_mass(cup)
        yield (cup.mass * dry_centre(cup) + mass * swung_centre(cup, swing)) / (cup.mass + mass)


def _lean(seat: Seat) -> float:
    """Return the largest lean of the seat's wall from the upright [rad]."""
    return max((atan2((b - a) / 2, high - low) for (low, a), (high, b) in pairwise(seat.profile)), default=pi / 2)
