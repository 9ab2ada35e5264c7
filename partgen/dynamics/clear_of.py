"""How far the train must be from a crossing so that nothing on its other way meets it: its own head, or others."""

from math import inf, radians, tan

import numpy as np

from partgen.dynamics.at_grade import Passage, crossed
from partgen.dynamics.markers import places_of
from partgen.dynamics.once import once
from partgen.dynamics.survey import path_of, runners, swept
from partgen.motion.crossing import fouled
from partgen.plan.trackside import stops
from partgen.plan.train import TrainPlan

EVERY_HEIGHT = (-1e6, 1e6)      # mm


@once
def reach_of(train: TrainPlan) -> float:
    """Return how far [mm] anything of the train reaches aside anywhere on its plan."""
    found = [swept(train.description.track, one.base, one.bogie, one.outlines, (EVERY_HEIGHT,), one.play)
             for one in runners(train)]
    return max((max(one[EVERY_HEIGHT][1].worst_inner.value, one[EVERY_HEIGHT][1].worst_outer.value)
                for one in found if one), default=train.description.track.gauge / 2)


@once
def zone(train: TrainPlan, one: Passage) -> tuple[float, float]:
    """Return from which station to which [mm] a train on one way of a crossing is in the way of the same train on the
    other. Where that belongs to nobody it is taken to run straight on."""
    half = reach_of(train)
    if one.other is None:
        out = half / tan(radians(one.angle) / 2)
        return one.station - out, one.station + out
    before, beyond = fouled(path_of(train.description.track), one.station, one.other, half)
    return one.station - before, one.station + beyond


def tail_room(train: TrainPlan, one: Passage) -> float:
    """Return what is left of the track [mm] from a train's end, just clear of a crossing, to its head, about to run on
    it again on the other way; negative where it would meet itself.

    Waiting changes nothing of it: the head is as far from the tail at a stop as it is under way.
    """
    track = train.description.track
    assert one.other is not None, "only a plan that crosses itself is asked"
    again = next(two for two in crossed(track) if two.station == one.other)
    way = zone(train, again)[0] - zone(train, one)[1]
    if track.closed and again.station < one.station:
        way += path_of(track).length
    return way - places_of(train)[-1]


def standing_room(train: TrainPlan, station: float) -> float:
    """Return how far [mm] the train, its front at a station, stands off the nearest crossing; negative on one."""
    length, lap = places_of(train)[-1], path_of(train.description.track).length
    laps = (-lap, 0.0, lap) if train.description.track.closed else (0.0,)
    return min((max(low + way - station, station - length - high - way)
                for low, high in (zone(train, one) for one in crossed(train.description.track)) for way in laps),
               default=inf)


def nearest_standing(train: TrainPlan, station: float) -> float | None:
    """Return the station [mm] nearest to one at which the whole train stands off every crossing, in whole millimetres;
    None where the plan has none."""
    track, length = train.description.track, places_of(train)[-1]
    lap, tries = path_of(track).length, list[float]()
    for low, high in (zone(train, one) for one in crossed(track)):
        tries += [float(np.floor(low)), float(np.ceil(high + length))]
    tries = [one % lap if track.closed else one for one in tries]
    free = [one for one in tries if 0 <= one <= lap and standing_room(train, one) >= 0]
    return min(free, key=lambda one: abs(one - station), default=None)


def standing_at(train: TrainPlan) -> list[tuple[str, float]]:
    """Return (name, station of the front [mm]) of every place where the train stands on a plan that has crossings."""
    track = train.description.track
    if not track.crosses:
        return []
    found = stops(path_of(track).length, track.closed, track.stop)
    return found if track.closed else found[1:]
