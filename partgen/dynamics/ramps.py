"""How the train starts and stops so that the liquids come to rest with it, and what plain ways would do."""

from collections.abc import Iterable
from functools import lru_cache
from math import hypot, sqrt

import numpy as np
from msgspec import Struct

from partgen.describe.train_tables import Ride
from partgen.dynamics.curves import OnTrack
from partgen.dynamics.jolts import on_track
from partgen.dynamics.liquids import Liquid, liquids_of
from partgen.dynamics.load_states import heaviest, unladen
from partgen.dynamics.once import once
from partgen.dynamics.seating import Standing, sideways, standing_of
from partgen.formulas import stop
from partgen.formulas.traction import locked_deceleration
from partgen.plan.train import TrainPlan

LONGEST = 20.0          # s; a stop that needs more is no stop but a slower ride
NEARLY = 0.9            # of the way to the time that the rise asks for
LONGER = 1.05           # step in which a stop is stretched until every cup stays dry
ROUNDS = 4              # of shaping start and stop to each other; they agree after two or three
STIFFEST = 0.25         # of the wished time: jerk phases of a train without cups, easy on glass and couplers
JUMP = 0.005            # s in which a motor follows a new speed at the soonest (common practice, no source)
ROUNDED = 1e-9          # s
NEXT_TO_NONE = 1e-3     # mm
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


@once
def ramps_of(train: TrainPlan) -> tuple[Ramp, Ramp]:
    """Return the start and the stop as `ride.ramp` says the controller drives them."""
    ride = train.description.ride
    return ramps_on(train, ((liquid, on_track(train, liquid, ride.fastest)) for liquid in liquids_of(train)))


def ramps_on(train: TrainPlan, liquids: Iterable[tuple[Liquid, OnTrack]]) -> tuple[Ramp, Ramp]:
    """Return the same, with what the track makes of each liquid given."""
    ride = train.description.ride
    return (even(ride.start_time), even(ride.stop_time)) if ride.ramp == "even" else shaped_to(train, liquids)


def shaped_to(train: TrainPlan, liquids: Iterable[tuple[Liquid, OnTrack]]) -> tuple[Ramp, Ramp]:
    """Return the start and the stop shaped to the liquids, each with what the track makes of it."""
    return planned(train.description.ride, sideways(train), tuple(
        Riding(liquid, on, standing_of(train, liquid.name)) for liquid, on in liquids))


def even(time: float) -> Ramp:
    """Return the ramp of an even rate that takes a `time` [s]."""
    return _ramp(stop.constant_stop(1.0, time), time)


class Riding(Struct, frozen=True):
    """A `liquid`, what the track makes of it by itself, and how its cup is `standing`."""

    liquid: Liquid
    on: OnTrack
    standing: Standing

    def left(self, ride: Ride, hardest: float, gone: float) -> float:
        """Return the rise [mm] that is left to a ramp, with `gone` [mm] for what another ramp left swinging, next to
        none where that takes it all; what spills in the curves already counts by the ramp alone."""
        room = self.liquid.room(self.standing.leaning(hardest), ride.reserve)
        beside = room - self.on.swings
        if beside <= self.on.steady:
            return room
        return sqrt(max((beside - gone)**2 - self.on.steady**2, NEXT_TO_NONE**2)) if beside > gone else NEXT_TO_NONE


@lru_cache(maxsize=256)
def planned(ride: Ride, sideways: float, riding: tuple[Riding, ...]) -> tuple[Ramp, Ramp]:
    """Return the start and the stop shaped to the liquids, each with what the track makes of it already, beside a level
    acceleration `sideways` [mm/s2] in the sharpest curve.

    The start minds what the last stop has left swinging, the stop what that and the start have, and both how the cups
    lean under the hardest of them: each is shaped again until they agree.
    """
    under, rested = sideways, {one.liquid: 0.0 for one in riding}
    ramps = _pair(ride, sideways, riding, rested)
    for _ in range(ROUNDS):
        # neither falls again: two ramps that take turns would settle nothing
        under = max(under, hypot(sideways, ride.fastest * max(ramp.hardest for ramp in ramps)))
        rested = {liquid: max(most, liquid.rested(ride.fastest * unit_swing(liquid, ramps[1])[1]))
                  for liquid, most in rested.items()}
        before, ramps = ramps, _pair(ride, under, riding, rested)
        if ramps == before:
            break
    return ramps


def _pair(ride: Ride, hardest: float, riding: tuple[Riding, ...], rested: dict[Liquid, float]) -> tuple[Ramp, Ramp]:
    """Return a start of liquids that still swing by what has `rested` [mm] from the last stop, and a stop after it;
    the cups lean as under an acceleration `hardest` [mm/s2]."""
    start = shaped(ride.fastest, ride.start_time, _rooms(riding, ride, hardest, rested), least=ride.start_time)
    gone = {liquid: rest + ride.fastest * unit_swing(liquid, start)[1] for liquid, rest in rested.items()}
    return start, shaped(ride.fastest, ride.stop_time, _rooms(riding, ride, hardest, gone))


def _rooms(riding: tuple[Riding, ...], ride: Ride, hardest: float, gone: dict[Liquid, float]) -> Rooms:
    return tuple((one.liquid, one.left(ride, hardest, gone[one.liquid])) for one in riding)


def shaped(speed: float, wished: float, rooms: Rooms, least: float = 0.0) -> Ramp:
    """Return the ramp of the `wished` time [s] or more that keeps every liquid in its cup from `speed` [mm/s].

    Jerk phases last one slosh period of each cup, neighbours share one. Where the wished time is too short for
    them or a cup would spill, it takes the shortest time that does; at most 20 s, spilling or not. One that ends sooner
    since that quiets more is taken where nothing else keeps a cup dry, but none shorter than `least` [s]: a motor may
    not have the power. A liquid without room spills standing and has no say in its time.
    """
    time = wished
    while True:
        for ramp in (tried := _of_time(time, wished, [liquid for liquid, _ in rooms])):
            over = excess(speed, ramp, rooms)
            if over <= 1 and ramp.time >= least - ROUNDED:
                return ramp
        if tried and time >= LONGEST:
            return min(tried, key=lambda ramp: excess(speed, ramp, rooms))
        longer = time * LONGER
        if tried and time > 2 * sum(tried[0].phases):
            # from here on the rise falls with the level part's time: go most of the way at once
            longer = max(longer, sum(tried[0].phases) + NEARLY * over * (time - sum(tried[0].phases)))
        time = min(longer, LONGEST)


def _of_time(time: float, wished: float, liquids: list[Liquid]) -> list[Ramp]:
    """Return the ramps of a time, none where its jerk phases do not fit: one that takes all of it, and one cut short to
    quiet the largest cup's second mode too."""
    if liquids:
        largest = max(liquids, key=lambda liquid: liquid.radius)
        phases, _ = stop.jerk_phases([liquid.periods[0] for liquid in liquids], time)
        also = float(largest.periods[1])
    else:
        phases, also = np.array([STIFFEST * time]), 0.0
    if time < FIT * sum(phases):
        return []
    quieted = (0.0, also) if time - sum(phases) > also > 0 else (0.0,)
    return [_ramp(stop.shaped_stop(1.0, time, phases, quiet), wished, phases) for quiet in quieted]


def _ramp(profile: Profile, wished: float, phases: Iterable[float] = ()) -> Ramp:
    """Return the ramp of a stop from a speed of 1 mm/s."""
    times, rates = profile
    return Ramp(tuple(times.tolist()), tuple(np.abs(rates).tolist()), wished, tuple(map(float, phases)))


def excess(speed: float, ramp: Ramp, rooms: Rooms) -> float:
    """Return the highest rise on a ramp from `speed` [mm/s] over what spills nothing [1], of all liquids with room."""
    return max((speed * unit_swing(liquid, ramp)[0] / room for liquid, room in rooms if room > 0), default=0.0)


def rates(train: TrainPlan) -> tuple[float, float]:
    """Return the hardest acceleration of the start and the hardest deceleration of the stop [mm/s2], to and from the
    upper end of the speed's scatter."""
    start, halt = ramps_of(train)
    fastest = train.description.ride.fastest
    return fastest * start.hardest, fastest * halt.hardest


def hardest(train: TrainPlan, radius: float = 0.0) -> float:
    """Return the ride's hardest level acceleration [mm/s2]: a curve of `radius` [mm], the plan's sharpest where 0, and
    a start or a stop together."""
    return hypot(sideways(train, radius), max(rates(train)))


def leaning(train: TrainPlan, name: str) -> float:
    """Return how far [rad] a cup leans at worst on this ride."""
    return standing_of(train, name).leaning(hardest(train))


# ---- beside the plain ways to stop

SAID = {"shaped": "shaped ramp", "even": "even braking", "cut": "power cut"}


class Swing(Struct, frozen=True):
    """What a liquid does in one kind of stop: `profile` of times [s] and accelerations [mm/s2], highest `climb`
    at the wall, swing that is `left` after it, and `steady` rise under its hardest braking, floor level [mm]; whether
    it `spills`, its cup leaning as it may."""

    kind: str
    liquid: Liquid
    profile: Profile
    climb: float
    left: float
    steady: float
    spills: bool

    @property
    def time(self) -> float:
        """From running speed to standstill [s]."""
        return float(self.profile[0][-1])


def compare(ramp: Ramp, evenly: Ramp, speed: float, deceleration: float,
            liquids: Rooms) -> tuple[Swing, ...]:
    """Return the swings of every liquid, given with the lean of its cup [rad], in the three kinds of stop from `speed`
    [mm/s]: the shaped one, braking `evenly`, and cutting the power, which slows the train by `deceleration` [mm/s2]."""
    profiles = {"shaped": ramp.profile(speed, 0.0), "even": evenly.profile(speed, 0.0),
                "cut": stop.power_cut(speed, deceleration)}
    return tuple(Swing(kind, liquid, profile, liquid.climbed(peak := liquid.peak(*profile)), liquid.residual(*profile),
                       liquid.steady(np.abs(profile[1]).max()), peak > liquid.room(lean))
                 for liquid, lean in liquids for kind, profile in profiles.items())


def cut_deceleration(train: TrainPlan) -> float:
    """Return how hard [mm/s2] the train slows down when its power is cut at worst: the locomotive's driven wheels
    lock, as those of a worm gear do, and the wagons behind it carry no cups: a light train stops hardest."""
    ride, loco = train.description.ride, train.description.train.locomotive
    wagons = sum(heaviest(unladen(plan, train.description.printer)) for plan in train.wagons)
    driven = loco.adhesive_share * loco.mass
    return float(locked_deceleration(driven, wagons + loco.mass - driven, loco.adhesion, ride.rolling))
