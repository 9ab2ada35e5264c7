"""How the train starts and stops so that the liquids come to rest with it, and what plain ways would do."""

from functools import lru_cache
from math import atan, inf, radians

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from partgen.dynamics.liquids import Liquid, liquids_of
from partgen.formulas import stop
from partgen.formulas.slosh import steady_rise
from partgen.formulas.traction import locked_deceleration
from partgen.plan.mass import loads
from partgen.plan.train import TrainPlan

LONGEST = 20.0          # s; a stop that needs more is no stop but a slower ride
NEARLY = 0.9            # of the way to the time that the rise asks for
LONGER = 1.05           # step in which a stop is stretched until every cup stays dry
STIFFEST = 0.25         # of the wished time: jerk phases of a train without cups, easy on glass and couplers
JUMP = 0.005            # s in which a motor follows a new speed at the soonest (common practice, no source)
ROOM = 1.05             # of the jerk phases' sum: with less the braking has no level part left


class Ramp(Struct, frozen=True):
    """A change from running speed to standstill, or back: breakpoints `times` [s] with `shares`, the rate of
    change there in parts of the whole change [1/s]; straight between. `wished` is the time asked for [s],
    `phases` the jerk phases it was made of [s].

    It serves any speed: scaled with it, it takes the same time, and the way grows in proportion.
    """

    times: tuple[float, ...]
    shares: tuple[float, ...]
    wished: float
    phases: tuple[float, ...]

    @property
    def time(self) -> float:
        """From first to last breakpoint [s]."""
        return self.times[-1]

    @property
    def hardest(self) -> float:
        """Largest rate of change in parts of the whole change [1/s]."""
        return max(self.shares)

    def profile(self, before: float, after: float):
        """Return (times [s], accelerations [mm/s2]) of a change of speed from `before` to `after` [mm/s]."""
        return np.array(self.times), (after - before) * np.array(self.shares)

    def way(self, before: float, after: float) -> float:
        """Return the way [mm] of a change of speed from `before` to `after` [mm/s]."""
        return stop.stop_distance(*self.profile(before, after), before)

    def done(self, at) -> np.ndarray:
        """Return how much of the change is done at times `at` [s], 0 to 1."""
        return stop.speed_at(self.times, self.shares, 0.0, at)

    def steps(self, step: float) -> np.ndarray:
        """Return the mean share of the change done within each `step` [s] of the ramp, the last one filled up.

        A controller that holds each of these for one step goes exactly the ramp's way.
        """
        ends = step * np.arange(int(np.ceil(self.time / step - 1e-9)) + 1)
        gone = stop.way_at(self.times, self.shares, 0.0, ends) + np.maximum(ends - self.time, 0.0)
        return np.diff(gone) / step

    def stairs(self, step: float, before: float, after: float):
        """Return (times [s], accelerations [mm/s2]) of a train that jumps from one `step` [s] of the ramp to the next."""
        jumps = np.diff(np.concatenate([[0.0], self.steps(step), [1.0]])) * (after - before)
        taken = min(JUMP, step / 2)
        begun = np.repeat(step * np.arange(len(jumps)), 4) + np.tile([0.0, 0.0, taken, taken], len(jumps))
        return begun, np.outer(jumps / taken, [0.0, 1.0, 1.0, 0.0]).ravel()


def shaped(speed: float, wished: float, liquids: tuple[Liquid, ...], tilt: float, reserve: float) -> Ramp:
    """Return the ramp of at least the `wished` time [s] that keeps every liquid in its cup from `speed` [mm/s].

    Jerk phases last one slosh period of each cup, neighbours share one. Where the wished time is too short for
    them or a cup would spill (`tilt` of the floor [rad], `reserve` of dry wall [mm]), it takes the shortest time
    that does; at most 20 s, spilling or not.
    """
    time = wished
    while True:
        ramp = _of_time(time, wished, liquids)
        over = inf if ramp is None else excess(ramp.profile(speed, 0.0), liquids, tilt, reserve)
        if ramp is not None and (time >= LONGEST or over <= 1):
            return ramp
        longer = time * LONGER
        if ramp is not None and time > 2 * sum(ramp.phases):
            # from here on the rise falls with the level part's time: go most of the way at once
            longer = max(longer, sum(ramp.phases) + NEARLY * over * (time - sum(ramp.phases)))
        time = min(longer, LONGEST)


def _of_time(time, wished, liquids) -> Ramp | None:
    """Return the ramp of a time; None where its jerk phases do not fit."""
    if liquids:
        largest = max(liquids, key=lambda liquid: liquid.radius)
        phases, _ = stop.jerk_phases([liquid.periods[0] for liquid in liquids], time)
        also = largest.periods[1]
    else:
        phases, also = [STIFFEST * time], 0.0
    if time < ROOM * sum(phases):
        return None
    level = time - sum(phases)
    times, shares = stop.shaped_stop(1.0, time, phases, also if level > also else 0.0)
    return Ramp(tuple(map(float, times)), tuple(map(float, np.abs(shares))), wished, tuple(map(float, phases)))


def dry(profile, liquids, tilt: float, reserve: float) -> bool:
    """Does every liquid that stands dry stay so under a profile of times [s] and accelerations [mm/s2]?"""
    return excess(profile, liquids, tilt, reserve) <= 1


def excess(profile, liquids, tilt: float, reserve: float) -> float:
    """Return the highest rise over what spills nothing [1] under a profile of times [s] and accelerations [mm/s2],
    of every liquid that stands dry."""
    return max((liquid.peak(*profile) / liquid.room(tilt, reserve) for liquid in liquids
                if not liquid.spills_at_rest(tilt, reserve)), default=0.0)


# ---- beside the plain ways to stop

KINDS = ("shaped", "even", "cut")
SAID = {"shaped": "shaped ramp", "even": "even braking", "cut": "power cut"}


class Swing(Struct, frozen=True):
    """What a liquid does in one kind of stop: `profile` of times [s] and accelerations [mm/s2], highest `climb`
    at the wall, swing that is `left` after it, and `steady` rise under its hardest braking, floor level [mm]."""

    kind: str
    liquid: Liquid
    profile: tuple[np.ndarray, np.ndarray]
    climb: float
    left: float
    steady: float

    @property
    def time(self) -> float:
        """From running speed to standstill [s]."""
        return float(self.profile[0][-1])


def compare(ramp: Ramp, speed: float, deceleration: float, liquids) -> tuple[Swing, ...]:
    """Return the swings of every liquid in the three kinds of stop from `speed` [mm/s]: the shaped one, braking
    evenly in the time wished or the ramp's if longer, and cutting the power, which slows the train by `deceleration`
    [mm/s2]."""
    profiles = {"shaped": ramp.profile(speed, 0.0), "even": stop.constant_stop(speed, max(ramp.time, ramp.wished)),
                "cut": stop.power_cut(speed, deceleration)}
    return tuple(_swing(kind, liquid, profiles[kind]) for liquid in liquids for kind in KINDS)


def _swing(kind, liquid, profile) -> Swing:
    return Swing(kind, liquid, profile, liquid.climbed(liquid.peak(*profile)), liquid.residual(*profile),
                 float(steady_rise(liquid.radius, np.abs(profile[1]).max())))


def cut_deceleration(train: TrainPlan) -> float:
    """Return how hard [mm/s2] the train slows down when its power is cut at worst: the locomotive's driven wheels
    lock, as those of a worm gear do, and the wagons behind it carry no cups: a light train stops hardest."""
    ride, loco = train.description.ride, train.description.train.locomotive
    material = train.description.printer.material
    wagons = sum(load.mass for plan in train.wagons for load in loads(plan, material)
                 if load.kind not in ("cup", "liquid"))
    driven = loco.adhesive_share * loco.mass
    return float(locked_deceleration(driven, wagons + loco.mass - driven, loco.adhesion, ride.rolling))


def profiles(train: TrainPlan, liquids: tuple[Liquid, ...] | None = None):
    """Return the start and the stop, each as (times [s], accelerations [mm/s2]), braking negative.

    `liquids` are those that shaped ramps mind, all of the train when None.
    """
    minded = liquids_of(train) if liquids is None else liquids
    return _profiles(train.description.ride, minded)


@lru_cache(maxsize=256)
def _profiles(ride, liquids):
    times, rates = _stop(ride, ride.start_time, liquids)
    start = times[-1] - times[::-1], -rates[::-1]
    return start, _stop(ride, ride.stop_time, liquids)


def _stop(ride, time, liquids):
    if ride.ramp == "even":
        return stop.constant_stop(ride.speed, time)
    return shaped(ride.speed, time, liquids, radians(ride.floor_tilt), ride.reserve).profile(ride.speed, 0.0)


def rates(train: TrainPlan) -> tuple[float, float]:
    """Return the hardest acceleration of the start and the hardest deceleration of the stop [mm/s2]."""
    start, halt = profiles(train)
    return float(np.max(start[1])), float(-np.min(halt[1]))


def slope(ride) -> float:
    """Return the steepest slope that the track may have [rad]: laid in, with the floor's lean on top."""
    return atan(ride.gradient / 100) + radians(ride.floor_tilt)


def ridden(train: TrainPlan, **changes) -> TrainPlan:
    """Return the same wagons on another ride, its fields as in `changes`."""
    ride = train.description.ride.model_copy(update=changes)
    return replace(train, description=train.description.model_copy(update={"ride": ride}))
