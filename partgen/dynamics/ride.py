"""The ride resolved: how fast where, how to stop with the drinks in their cups, where markers lie, how long it
lasts."""

from collections.abc import Iterator
from math import ceil, floor

from msgspec import Struct

from partgen.describe.description import Description
from partgen.dynamics.at_grade import crossed
from partgen.dynamics.curves import OnTrack
from partgen.dynamics.fills import fills_of
from partgen.dynamics.jolts import on_track
from partgen.dynamics.journey import Ramps, Run, Zone, runs, stops_of, zones
from partgen.dynamics.laps import climb_of, room_of, together
from partgen.dynamics.liquids import Liquid, liquids_of
from partgen.dynamics.markers import READINGS, Marker, Sensor, marker_of, places_of, sensor_of
from partgen.dynamics.ramps import (
    Ramp,
    Rooms,
    Swing,
    compare,
    cut_deceleration,
    even,
    leaning,
    ramps_on,
    shaped_to,
    unit_swing,
)
from partgen.dynamics.speeds import SLOWEST, CurveSpeed, curve_speeds
from partgen.dynamics.survey import path_of
from partgen.finding import down, up
from partgen.formulas.traction import run_time
from partgen.motion.path import Path
from partgen.plan.trackside import first_marker_plan, marker_plan
from partgen.plan.train import TrainPlan

PARTS = (5, 8, 12, 20)  # of a slosh period: steps of a speed that the liquid hardly tells from a line
SMOOTH = 1.05           # of a ramp's own rise: what its steps may add unnoticed
MOST_STEPS = 200        # entries of one ramp's table; beyond, an entry is held for several samples


class CupRide(Struct, frozen=True):
    """What a cup goes through: its liquid, the highest it `climbs` over its level at rest on the whole ride, floor
    tilt included, what it is `likely` to, the `level` to fill it to, as described if that is safe, and the largest
    depth `safe` [mm]."""

    liquid: Liquid
    climbs: float
    likely: float
    level: float
    safe: float

    @property
    def mark(self) -> float:
        """Fill mark as described: how far below the rim the liquid stands [mm]."""
        return self.liquid.freeboard

    @property
    def level_mark(self) -> float:
        """Fill mark as this ride has it: how far below the rim the liquid stands at its level [mm]."""
        return self.liquid.rim - self.level

    @property
    def too_full(self) -> bool:
        """Is it too full as described? Its level is then lower."""
        return self.liquid.depth > self.level

    @property
    def highest_mark(self) -> float:
        """How far below the rim the liquid may stand at the fullest [mm]."""
        return self.liquid.rim - self.safe


class RidePlan(Struct, frozen=True):
    """A resolved ride: lengths mm, times s, speeds mm/s; stations are those of the locomotive's front."""

    train: TrainPlan
    path: Path
    length: float                               # of the whole train
    curves: tuple[CurveSpeed, ...]
    zones: tuple[Zone, ...]
    ramps: Ramps
    runs: tuple[Run, ...]
    sensor: Sensor
    markers: tuple[Marker, ...]
    cups: tuple[CupRide, ...]
    swings: tuple[Swing, ...]                   # every cup in the three kinds of stop
    endurance: float                            # on one charge
    faults: tuple[str, ...]                     # what no plan can help, in words

    @property
    def speed(self) -> float:
        """Highest speed that the train reaches anywhere [mm/s]."""
        return max(leg.after for run in self.runs for leg in run.legs)

    @property
    def brakes_from(self) -> float:
        """Highest speed from which it stops [mm/s]."""
        return max(marker.speed for marker in self.markers)

    @property
    def time(self) -> float:
        """Time of the whole ride once, every start and stop counted but no waiting [s]."""
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


class Course(Struct, frozen=True):
    """What of a ride hangs on how fast it goes where, fields as in RidePlan; `crests` tells of each liquid what the
    curves make of it."""

    curves: tuple[CurveSpeed, ...]
    crests: tuple[tuple[Liquid, OnTrack], ...]
    zones: tuple[Zone, ...]
    ramps: Ramps
    runs: tuple[Run, ...]
    markers: tuple[Marker, ...]


def course(train: TrainPlan) -> Course:
    """Plan how fast the train runs where, how it stops, and where the markers lie that tell it to."""
    ride, track, path = train.description.ride, train.description.track, path_of(train.description.track)
    curves = curve_speeds(train)
    crests = tuple((liquid, _crest(train, liquid, curves)) for liquid in liquids_of(train))
    ramps = Ramps(*ramps_on(train, crests), READINGS * ride.sample_time)
    limited = zones(path, places_of(train)[-1], {curve.radius: max(curve.speed, SLOWEST) for curve in curves},
                    ride.speed)
    planned_runs = runs(path, stops_of(path, track.stop), limited, ramps)
    short = marker_plan(train.description)
    first = planned_runs[-1 if path.closed else 0]     # ends at the first stop that has a marker
    longer = (first_marker_plan(train.description) if sensor_of(train).wagon else None) or short
    markers = tuple(marker_of(run, sensor_of(train), ride.sample_time, (longer if run is first else short).length,
                              path.length if path.closed else 0.0) for run in planned_runs)
    return Course(curves, crests, tuple(limited), ramps, planned_runs, markers)


def resolve(train: TrainPlan) -> RidePlan:
    """Plan the ride of a train round its track; what cannot be is named in `faults`, never raised."""
    ride, supply, found = train.description.ride, train.description.supply, course(train)
    curves, crests, ramps, markers = found.curves, found.crests, found.ramps, found.markers
    start, halt = ramps.rise, ramps.fall
    quiet = halt if ride.ramp == "shaped" else shaped_to(train, crests)[1]
    evenly = halt if ride.ramp == "even" else even(max(halt.time, halt.wished))
    fills = fills_of(train)
    whole = {liquid: together(crest, liquid, ride.fastest, start, halt) for liquid, crest in crests}
    cups = tuple(CupRide(liquid, climb_of(train, liquid, one.ramps), climb_of(train, liquid, one.likely),
                         fills[liquid.name].level, fills[liquid.name].highest) for liquid, one in whole.items())
    rooms = tuple((liquid, room_of(train, liquid) - one.curves) for liquid, one in whole.items())
    endurance = run_time(supply.capacity, supply.cells * supply.cell_voltage, supply.efficiency, supply.load_voltage,
                         train.description.load_current)
    swings = compare(quiet, evenly, max(marker.speed for marker in markers), cut_deceleration(train),
                     tuple((liquid, leaning(train, liquid.name)) for liquid in liquids_of(train)))
    return RidePlan(train, path_of(train.description.track), places_of(train)[-1], curves, found.zones, ramps,
                    found.runs, sensor_of(train), markers, cups, swings,
                    float(endurance), (*_faults(train, curves, ramps, cups, rooms), *_on_crossings(train, markers)))


def _crest(train: TrainPlan, liquid: Liquid, curves: tuple[CurveSpeed, ...]) -> OnTrack:
    """Return what the curves make of a liquid, each run at its own speed and as much faster as laps scatter."""
    faster = train.description.ride.fastest / train.description.ride.speed
    return OnTrack.worst(on_track(train, liquid, faster * max(curve.speed, SLOWEST), curve.radius if place else 0.0)
                         for place, curve in enumerate(curves))


# ---- what cannot be

def _faults(train: TrainPlan, curves: tuple[CurveSpeed, ...], ramps: Ramps, cups: tuple[CupRide, ...],
            rooms: Rooms) -> Iterator[str]:
    """Yield in words what no plan of this ride can help."""
    ride = train.description.ride
    if curves:
        yield from _too_fast(train.description, curves)
    for what, one, wished in (("stop", ramps.fall, ride.stop_time), ("start", ramps.rise, ride.start_time)):
        if one.time > wished + 1e-6:
            yield (f"a {what} in {wished:g} s spills or has no room for the slosh periods: it takes {one.time:.2f} s")
    yield from _coarse(train, ramps.fall, rooms)
    for cup in cups:
        if cup.too_full:
            yield (f"{cup.liquid.label}: {cup.liquid.depth:g} mm is too full for this ride, fill {cup.level:g} mm at "
                   "most")


def _on_crossings(train: TrainPlan, markers: tuple[Marker, ...]) -> Iterator[str]:
    """Yield which marker would lie on a crossing, whose rails and flangeways take its place, and how to move it off."""
    track, tile = train.description.track, marker_plan(train.description)
    if not sensor_of(train).wagon:      # nothing sees a marker, so none is laid
        return
    lap, ends = path_of(track).length, (tile.size[0] - tile.length) / 2
    for marker in markers:
        for one in crossed(track):
            off = marker.begins + marker.length / 2 - one.station
            off = (off + lap / 2) % lap - lap / 2 if track.closed else off
            more = one.length / 2 + marker.length / 2 + ends - abs(off)
            if more > 0:
                yield (f"the marker of {marker.stop} would lie on the crossing at {one.station:.0f} mm: move the stop "
                       f"{up(more)} mm {'on' if off >= 0 else 'back'}")


def _too_fast(described: Description, curves: tuple[CurveSpeed, ...]) -> Iterator[str]:
    """Yield that the wished speed is too fast for some curve: the plan slows down there, but the checks hold the train
    to it everywhere, since a controller may not know where it is."""
    ride, slowest = described.ride, min(curves, key=lambda curve: curve.speed)
    others = sum(curve.speed < ride.speed for curve in curves) - 1
    where = f"a radius of {slowest.radius:g} mm{f' and {others} more' if others > 0 else ''}"
    if slowest.speed < SLOWEST:
        yield f"no speed is safe on {where}: {slowest.tips} stands too badly, lower or widen its load"
    elif slowest.speed < ride.speed:
        tips = slowest.tip <= slowest.spill
        what = (f"{slowest.tips} {slowest.tip_way}" if tips else
                f"{described.called(slowest.spills)} {slowest.spill_way}")
        yield f"{ride.speed:g} mm/s is too fast for {where}: {what} over {down(slowest.speed, 0)} mm/s"


def _coarse(train: TrainPlan, fall: Ramp, rooms: Rooms) -> Iterator[str]:
    """Yield what to do where the controller's steps are so coarse that the drinks feel each of them.

    Steps of a whole slosh period, or of half of one of a higher mode, push the liquid in time with its swing.
    """
    ride = train.description.ride

    def shaken(step: float) -> bool:
        stairs = fall.stairs(step, ride.fastest, 0.0)
        return any(liquid.peak(*stairs) > max(room, SMOOTH * ride.fastest * unit_swing(liquid, fall)[0])
                   for liquid, room in rooms if room > 0)
    if rooms and ride.sample_time > fall.time / MOST_STEPS and shaken(ride.sample_time):
        quickest = min(liquid.periods[0] for liquid, _ in rooms)
        enough = next((quickest / parts for parts in PARTS if not shaken(floor(1000 * quickest / parts) / 1000)),
                      quickest / PARTS[-1])
        yield (f"speeds that change every {ride.sample_time:g} s shake the drinks: set ride.sample_time to "
               f"{floor(1000 * enough) / 1000:g} s")
