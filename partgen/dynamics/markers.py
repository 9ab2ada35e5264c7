"""Where the markers lie that tell the train to stop: ahead of each stop by the ramp and by what the sensor misses."""

from itertools import accumulate

from msgspec import Struct

from partgen.dynamics.journey import Run
from partgen.formulas.traction import marker_ahead
from partgen.plan.train import TrainPlan

READINGS = 2            # on the marker before it counts: one alone may be a glitch (common practice, no source)


class Sensor(Struct, frozen=True):
    """What looks down at the track: the wagon that carries it, and how far `behind` the locomotive's front it
    stands [mm]; "" and 0 where the description has none."""

    wagon: str
    behind: float


class Marker(Struct, frozen=True):
    """The marker of one stop: `begins` where the sensor first meets it, and what it sees there is `length` long [mm,
    along the plan], as the tile is made. It lies `ahead` of where the sensor comes to stand, seen at `speed` [mm/s];
    the ramp itself takes `way` [mm]. The train stops up to `early` before its place, never behind it [mm]."""

    stop: str
    station: float
    begins: float
    length: float
    ahead: float
    speed: float
    way: float
    early: float


def places_of(train: TrainPlan) -> tuple[float, ...]:
    """Return how far the middle of each wagon is behind the locomotive's front [mm], and at last the train's length."""
    loco, gap = train.description.train.locomotive.length, train.description.coupler.gap
    ends = list(accumulate((gap + plan.length for plan in train.wagons), initial=loco))
    return (*(end - plan.length / 2 for end, plan in zip(ends[1:], train.wagons, strict=True)), ends[-1])


def sensor_of(train: TrainPlan) -> Sensor:
    """Return the first sensor that looks down at the track; without one it counts as under the very front."""
    for plan, behind in zip(train.wagons, places_of(train)[:-1], strict=True):
        if plan.hung:
            return Sensor(plan.name, behind - plan.hung[0].eye[0])
    return Sensor("", 0.0)


def marker_of(run: Run, sensor: Sensor, sample_time: float, length: float, lap: float) -> Marker:
    """Return the marker, `length` [mm] long, of the stop that ends a run; stations of a closed path within its length,
    `lap` [mm].

    The train brakes with the second reading: between one and two samples after the sensor has met the marker.
    """
    braking = run.legs[-1]
    speed, way = braking.before, braking.end - braking.start
    ahead = float(marker_ahead(speed, READINGS * sample_time, way))
    begins = run.end - sensor.behind - ahead
    if lap:
        begins %= lap
    return Marker(run.goal, run.end - lap if lap and run.end >= lap else run.end, begins,
                  length, ahead, speed, way, speed * sample_time)
