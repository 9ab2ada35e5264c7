"""The ride resolved: how fast where, how to stop with the drinks in their cups, where markers lie, how long it lasts."""

from math import ceil, floor, radians

from msgspec import Struct

from partgen.dynamics import (
    curve_speeds as curvespeed,
)
from partgen.dynamics import (
    journey,
)
from partgen.dynamics import (
    laps as lap,
)
from partgen.dynamics import (
    markers as marker,
)
from partgen.dynamics import (
    ramps as ramp,
)
from partgen.dynamics.liquids import Liquid, liquids_of
from partgen.dynamics.survey import path_of
from partgen.formulas.traction import run_time
from partgen.motion.path import Path
from partgen.plan.train import TrainPlan

SLOWER, SLOWEST = 0.95, 0.5     # of all speeds, tried again and again until the whole ride spills nothing
ROUNDS = 12
PARTS = (5, 8, 12, 20)  # of a slosh period: steps of a speed that the liquid hardly tells from a line
MOST_STEPS = 200        # entries of one ramp's table; beyond, an entry is held for several samples


class CupRide(Struct, frozen=True):
    """What a cup goes through: its liquid, the highest it `climbs` over its level at rest on the whole ride, floor
    tilt included, and the largest depth `safe` to fill it to [mm]."""

    liquid: Liquid
    climbs: float
    safe: float

    @property
    def mark(self) -> float:
        """Fill mark as described: how far below the rim the liquid stands [mm]."""
        return self.liquid.freeboard

    @property
    def highest_mark(self) -> float:
        """How far below the rim the liquid may stand at the fullest [mm]."""
        return self.liquid.rim - self.safe


class RidePlan(Struct, frozen=True):
    """A resolved ride: lengths mm, times s, speeds mm/s; stations are those of the locomotive's front."""

    train: TrainPlan
    path: Path
    length: float                               # of the whole train
    curves: tuple[curvespeed.CurveSpeed, ...]
    zones: tuple[journey.Zone, ...]
    ramps: journey.Ramps
    runs: tuple[journey.Run, ...]
    sensor: marker.Sensor
    markers: tuple[marker.Marker, ...]
    cups: tuple[CupRide, ...]
    swings: tuple[ramp.Swing, ...]              # every cup in the three kinds of stop
    slowed: float                               # speeds in parts of what each curve by itself would allow [1]
    endurance: float                            # on one charge
    faults: tuple[str, ...]                     # what no plan can help, in words

    @property
    def speed(self) -> float:
        """Highest speed that the train reaches anywhere [mm/s]."""
        return max(leg.after for run in self.runs for leg in run.legs)

    @property
    def time(self) -> float:
        """Time of the whole ride once, stops not counted [s]."""
        return sum(run.time for run in self.runs)

    @property
    def lap(self) -> float:
        """Length of a closed track [mm]; 0 for an open one."""
        return self.path.length if self.path.closed else 0.0

    @property
    def step_samples(self) -> int:
        """For how many samples the controller holds each entry of a ramp's table."""
        longest = max(self.ramps.rise.time, self.ramps.fall.time)
        return max(1, ceil(longest / self.train.description.ride.sample_time / MOST_STEPS))

    @property
    def step(self) -> float:
        """For how long that is [s]."""
        return self.step_samples * self.train.description.ride.sample_time


def resolve(train: TrainPlan) -> RidePlan:
    """Plan the ride of a train round its track; what cannot be is named in `faults`, never raised."""
    ride = train.description.ride
    path, liquids, length = path_of(train.description.track), liquids_of(train), marker.places_of(train)[-1]
    tilt = radians(ride.floor_tilt)
    ramps = journey.Ramps(ramp.shaped(ride.speed, ride.start_time, liquids, tilt, ride.reserve),
                          ramp.shaped(ride.speed, ride.stop_time, liquids, tilt, ride.reserve),
                          marker.READINGS * ride.sample_time)
    curves = curvespeed.curve_speeds(path, train, liquids)
    zones, runs, rises, slowed = _dry_runs(train, path, length, curves, ramps, liquids)
    sensor = marker.sensor_of(train)
    lap_length = path.length if path.closed else 0.0
    cups = tuple(CupRide(liquid, liquid.climbed(rise, tilt), safe_depth(liquid, rise, curves, ramps, ride))
                 for liquid, rise in zip(liquids, rises))
    return RidePlan(train, path, length, curves, tuple(zones), ramps, runs, sensor,
                    tuple(marker.marker_of(run, sensor, ride.sample_time, lap_length) for run in runs), cups,
                    ramp.compare(ramps.fall, ride.speed, ramp.cut_deceleration(train), liquids), slowed,
                    _endurance(train.description.supply), tuple(_faults(train, curves, ramps, cups)))


def _dry_runs(train, path, length, curves, ramps, liquids):
    """Return zones, runs, the highest rise of each liquid [mm] and how much slower than the curves' own speeds all
    had to be, since swings of one curve may meet those of the next."""
    ride, track = train.description.ride, train.description.track
    tilt, slowed = radians(ride.floor_tilt), 1.0
    stops = journey.stops_of(path, track.stop)
    for _ in range(ROUNDS):
        limits = {curve.radius: max(curve.speed * slowed, journey.LEAST) for curve in curves}
        zones = journey.zones(path, length, limits, max(ride.speed * slowed, journey.LEAST))
        runs = journey.runs(path, stops, zones, ramps)
        rises = [lap.highest(path, runs, liquid, _carried(train, liquid)) for liquid in liquids]
        share = min((liquid.room(tilt, ride.reserve) / rise for liquid, rise in zip(liquids, rises)
                     if rise > 0 and not liquid.spills_at_rest(tilt, ride.reserve)), default=1.0)
        if share >= 1:
            break
        slowed *= min(SLOWER, max(SLOWEST, share**0.5))
    return zones, runs, rises, slowed


def _carried(train: TrainPlan, liquid: Liquid) -> tuple[float, ...]:
    """Return how far behind the locomotive's front the first and the last wagon carry a kind of cup [mm]."""
    places = [behind for plan, behind in zip(train.wagons, marker.places_of(train))
              if liquid.name in (*plan.wagon.cups, *plan.wagon.inserts)]
    return tuple(dict.fromkeys((places[0], places[-1])))


def safe_depth(liquid: Liquid, rise: float, curves, ramps: journey.Ramps, ride) -> float:
    """Return the largest whole depth [mm] that a ride of these curves and ramps keeps in a cup.

    rise: its highest rise on the whole ride at the depth described [mm], taken to grow with the surface's radius.
    0 where even an empty cup is no answer.
    """
    tilt = radians(ride.floor_tilt)
    profiles = [ramps.fall.profile(ride.speed, 0.0), ramps.rise.profile(0.0, ride.speed)]

    def holds(depth):
        filled = liquid.filled(float(depth))
        room = filled.room(tilt, ride.reserve)
        return room >= rise * filled.radius / liquid.radius and all(filled.peak(*p) <= room for p in profiles)
    low, high = 0, floor(liquid.rim - ride.reserve) + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return float(max(low, 0))


def _endurance(supply) -> float:
    return float(run_time(supply.capacity, supply.cells * supply.cell_voltage, supply.efficiency,
                          supply.load_voltage, supply.load_current))


def _faults(train, curves, ramps, cups):
    """Yield in words what no plan of this ride can help."""
    ride = train.description.ride
    for what, one, wished in (("stop", ramps.fall, ride.stop_time), ("start", ramps.rise, ride.start_time)):
        if one.time > wished + 1e-6:
            yield (f"a {what} in {wished:g} s spills or has no room for the slosh periods: it takes {one.time:.2f} s")
    yield from _coarse(ride, ramps.fall, [cup.liquid for cup in cups])
    for cup in cups:
        if cup.liquid.depth > cup.safe:
            yield (f"{cup.liquid.label}: {cup.liquid.depth:g} mm is too full for this ride, fill {cup.safe:g} mm at "
                   "most")
    crawling = [curve for curve in curves if curve.speed < journey.LEAST]
    if crawling:
        first, others = crawling[0], len(crawling) - 1
        yield (f"no speed is safe on a radius of {first.radius:g} mm{f' and {others} more' if others else ''}: "
               + (f"{first.tips} stands too badly, lower or widen its load" if first.binds == "tip"
                  else f"{first.spills} is too full"))


def _coarse(ride, fall, liquids):
    """Yield what to do where the controller's steps are so coarse that the drinks feel each of them.

    Steps of a whole slosh period, or of half of one of a higher mode, push the liquid in time with its swing.
    """
    def shaken(step):
        return not ramp.dry(fall.stairs(step, ride.speed, 0.0), liquids, radians(ride.floor_tilt), ride.reserve)
    if liquids and ride.sample_time > fall.time / MOST_STEPS and shaken(ride.sample_time):
        quickest = min(liquid.periods[0] for liquid in liquids)
        enough = next((quickest / parts for parts in PARTS if not shaken(floor(1000 * quickest / parts) / 1000)),
                      quickest / PARTS[-1])
        yield (f"speeds that change every {ride.sample_time:g} s shake the drinks: set ride.sample_time to "
               f"{floor(1000 * enough) / 1000:g} s")
