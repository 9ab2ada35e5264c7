"""How hard the train starts and stops, as described: evenly, or by ramps shaped to its cups."""

from functools import lru_cache
from math import atan, radians

import numpy as np
from msgspec.structs import replace

from partgen.formulas import stop
from partgen.plan.liquid import Liquid, liquids_of
from partgen.plan.ramp import shaped
from partgen.plan.train import TrainPlan


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
