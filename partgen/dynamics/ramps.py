"""How the train starts and stops so that the liquids come to rest with it, and what plain ways would do."""

from collections.abc import Iterable
from functools import lru_cache
from math import atan, inf, radians, sqrt

import numpy as np
from msgspec import Struct

from partgen.describe.train_tables import Ride
from partgen.dynamics.curves import OnTrack
from partgen.dynamics.jolts import on_track
from partgen.dynamics.liquids import Liquid, liquids_of
from partgen.dynamics.load_states import heaviest, unladen
from partgen.formulas import stop
from partgen.formulas.traction import locked_deceleration
from partgen.plan.train import TrainPlan

LONGEST = 20.0          # s; a stop that needs more is no stop but a slower ride
NEARLY = 0.9            # of the way to the time that the rise asks for
LONGER = 1.05           # step in which a stop is stretched until every cup stays dry
STIFFEST = 0.25         # of the wished time: jerk phases of a train without cups, easy on glass and couplers
JUMP = 0.005            # s in which a motor follows a new speed at the soonest (common practice, no source)
FIT = 1.05              # of the jerk phases' sum: with less the braking has no level part left

Profile = tuple[np.ndarray, np.ndarray]
"""Times [s] and accelerations [mm/s2], straight between; braking negative."""


class Ramp(Struct, frozen=True, cache_hash=True):
    """A change from running speed to standstill, or back: breakpoints `times` [s] with `shares`, the rate of
    change there in parts of the whole change [1/s]; straight between. `wished` is the time asked for [s],
    `phases` the jerk phases it was made of [s], none where it is even.

    It serves any speed: scaled with it, it takes the same time, and the way grows in proportion.
    """

    times: tuple[float, ...]
    shares: tuple[float, ...]
    wished: float
    phases: tuple[float, ...] = ()

    @property
    def time(self) -> float:
        """From first to last breakpoint [s]."""
        return self.times[-1]

    @property
    def hardest(self) -> float:
        """Largest rate of change in parts of the whole change [1/s]."""
        return max(self.shares)

    def profile(self, before: float, after: float) -> Profile:
        """Return (times [s], accelerations [mm/s2]) of a change of speed from `before` to `after` [mm/s]."""
        return np.array(self.times), (after - before) * np.array(self.shares)

    def way(self, before: float, after: float) -> float:
        """Return the way [mm] of a change of speed from `before` to `after` [mm/s]."""
        return stop.stop_distance(*self.profile(before, after), before)

    def done(self, at: np.ndarray) -> np.ndarray:
        """Return how much of the change is done at times `at` [s], 0 to 1."""
        return stop.speed_at(self.times, self.shares, 0.0, at)

    def steps(self, step: float) -> np.ndarray:
        """Return the mean share of the change done within each `step` [s] of the ramp, the last one filled up.

        A controller that holds each of these for one step goes exactly the ramp's way.
        """
        ends = step * np.arange(int(np.ceil(self.time / step - 1e-9)) + 1)
        gone = stop.way_at(self.times, self.shares, 0.0, ends) + np.maximum(ends - self.time, 0.0)
        return np.diff(gone) / step

    def stairs(self, step: float, before: float, after: float) -> Profile:
        """Return (times [s], accelerations [mm/s2]) of a train that jumps from one `step` [s] of the ramp to the
        next."""
        jumps = np.diff(np.concatenate([[0.0], self.steps(step), [1.0]])) * (after - before)
        taken = min(JUMP, step / 2)
        begun = np.repeat(step * np.arange(len(jumps)), 4) + np.tile([0.0, 0.0, taken, taken], len(jumps))
        return begun, np.outer(jumps / taken, [0.0, 1.0, 1.0, 0.0]).ravel()


@lru_cache(maxsize=1024)
def unit_swing(liquid: Liquid, ramp: Ramp) -> tuple[float, float]:
    """Return how high a liquid rises on a ramp, and how much of that swings on after it, for every mm/s of the change
    of speed [s]: it does both in proportion."""
    profile = ramp.profile(0.0, 1.0)
    return liquid.peak(*profile), liquid.residual(*profile)


# ---- the ramps of a ride

Rooms = tuple[tuple[Liquid, float], ...]
"""Every liquid with the rise [mm] that is left to a ramp, before which nothing spills."""


def ramps_of(train: TrainPlan) -> tuple[Ramp, Ramp]:
    """Return the start and the stop as `ride.ramp` says the controller drives them."""
    ride = train.description.ride
    if ride.ramp == "even":
        return even(ride.start_time), even(ride.stop_time)
    curves = (on_track(train, liquid, ride.fastest) for liquid in liquids_of(train))
    return planned(ride, tuple(zip(liquids_of(train), curves, strict=True)))


def even(time: float) -> Ramp:
    """Return the ramp of an even rate that takes a `time` [s]."""
    return _ramp(stop.constant_stop(1.0, time), time)


@lru_cache(maxsize=256)
def planned(ride: Ride, curves: tuple[tuple[Liquid, OnTrack], ...]) -> tuple[Ramp, Ramp]:
    """Return the start and the stop shaped to the liquids, each with what the `curves` make of it already; the stop
    minds what the start has left swinging, too. What spills in the curves already counts by the ramp alone."""
    def left(liquid: Liquid, on: OnTrack, gone: float) -> float:
        room = liquid.room(slope(ride), ride.reserve)
        beside = room - on.swings - gone
        return sqrt(beside**2 - on.steady**2) if beside > on.steady else room

    start = shaped(ride.fastest, ride.start_time, tuple((liquid, left(liquid, on, 0.0)) for liquid, on in curves))
    return start, shaped(ride.fastest, ride.stop_time, tuple(
        (liquid, left(liquid, on, ride.fastest * unit_swing(liquid, start)[1])) for liquid, on in curves))


def shaped(speed: float, wished: float, rooms: Rooms) -> Ramp:
    """Return the ramp of at least the `wished` time [s] that keeps every liquid in its cup from `speed` [mm/s].

    Jerk phases last one slosh period of each cup, neighbours share one. Where the wished time is too short for
    them or a cup would spill, it takes the shortest time that does; at most 20 s, spilling or not. A liquid without
    room spills standing and has no say in its time.
    """
    time = wished
    while True:
        ramp = _of_time(time, wished, [liquid for liquid, _ in rooms])
        over = inf if ramp is None else excess(speed, ramp, rooms)
        if ramp is not None and (time >= LONGEST or over <= 1):
            return ramp
        longer = time * LONGER
        if ramp is not None and time > 2 * sum(ramp.phases):
            # from here on the rise falls with the level part's time: go most of the way at once
            longer = max(longer, sum(ramp.phases) + NEARLY * over * (time - sum(ramp.phases)))
        time = min(longer, LONGEST)


def _of_time(time: float, wished: float, liquids: list[Liquid]) -> Ramp | None:
    """Return the ramp of a time; None where its jerk phases do not fit."""
    if liquids:
        largest = max(liquids, key=lambda liquid: liquid.radius)
        phases, _ = stop.jerk_phases([liquid.periods[0] for liquid in liquids], time)
        also = float(largest.periods[1])
    else:
        phases, also = np.array([STIFFEST * time]), 0.0
    if time < FIT * sum(phases):
        return None
    level = time - sum(phases)
    return _ramp(stop.shaped_stop(1.0, time, phases, also if level > also else 0.0), wished, phases)


def _ramp(profile: Profile, wished: float, phases: Iterable[float] = ()) -> Ramp:
    """Return the ramp of a stop from a speed of 1 mm/s."""
    times, rates = profile
    return Ramp(tuple(times.tolist()), tuple(np.abs(rates).tolist()), wished, tuple(map(float, phases)))


def excess(speed: float, ramp: Ramp, rooms: Rooms) -> float:
    """Return the highest rise on a ramp from `speed` [mm/s] over what spills nothing [1], of all liquids with room."""
    return max((speed * unit_swing(liquid, ramp)[0] / room for liquid, room in rooms if room > 0), default=0.0)


def rates(train: TrainPlan) -> tuple[float, float]:
    """Return the hardest acceleration of the start and the hardest deceleration of the stop [mm/s2]."""
    start, halt = ramps_of(train)
    speed = train.description.ride.speed
    return speed * start.hardest, speed * halt.hardest


def slope(ride: Ride) -> float:
    """Return the steepest slope that the track may have [rad]: laid in, with the floor's lean on top."""
    return atan(ride.gradient / 100) + radians(ride.floor_tilt)


# ---- beside the plain ways to stop

SAID = {"shaped": "shaped ramp", "even": "even braking", "cut": "power cut"}


class Swing(Struct, frozen=True):
    """What a liquid does in one kind of stop: `profile` of times [s] and accelerations [mm/s2], highest `climb`
    at the wall, swing that is `left` after it, and `steady` rise under its hardest braking, floor level [mm]."""

    kind: str
    liquid: Liquid
    profile: Profile
    climb: float
    left: float
    steady: float

    @property
    def time(self) -> float:
        """From running speed to standstill [s]."""
        return float(self.profile[0][-1])


def compare(ramp: Ramp, speed: float, deceleration: float, liquids: tuple[Liquid, ...]) -> tuple[Swing, ...]:
    """Return the swings of every liquid in the three kinds of stop from `speed` [mm/s]: the shaped one, braking
    evenly in the time wished or the ramp's if longer, and cutting the power, which slows the train by `deceleration`
    [mm/s2]."""
    profiles = {"shaped": ramp.profile(speed, 0.0), "even": even(max(ramp.time, ramp.wished)).profile(speed, 0.0),
                "cut": stop.power_cut(speed, deceleration)}
    return tuple(Swing(kind, liquid, profile, liquid.climbed(liquid.peak(*profile)), liquid.residual(*profile),
                       liquid.steady(np.abs(profile[1]).max()))
                 for liquid in liquids for kind, profile in profiles.items())


def cut_deceleration(train: TrainPlan) -> float:
    """Return how hard [mm/s2] the train slows down when its power is cut at worst: the locomotive's driven wheels
    lock, as those of a worm gear do, and the wagons behind it carry no cups: a light train stops hardest."""
    ride, loco = train.description.ride, train.description.train.locomotive
    wagons = sum(heaviest(unladen(plan, train.description.printer)) for plan in train.wagons)
    driven = loco.adhesive_share * loco.mass
    return float(locked_deceleration(driven, wagons + loco.mass - driven, loco.adhesion, ride.rolling))
