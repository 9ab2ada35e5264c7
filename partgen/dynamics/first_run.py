"""The first run's figures put back in: speed, scatter and stop as they are, and where the markers then belong.

The figures stand for the train as it ran; who changes its motor or its ramp measures again.
"""

from collections.abc import Iterator
from math import ceil
from typing import Literal

import numpy as np
from msgspec import Struct

from partgen.describe.edits import Edit
from partgen.describe.field import extra, limits
from partgen.describe.run_form import Laps, RunForm, StopSeen
from partgen.describe.train_tables import Ride
from partgen.dynamics.markers import READINGS, Marker
from partgen.dynamics.ride import RidePlan, resolve
from partgen.dynamics.search import ridden
from partgen.errors import Fault
from partgen.finding import counted

ENOUGH = 5              # laps: fewer hardly show the longest and the shortest (common practice, no source)
SAME = 0.05             # of a stop's time: what a ruler and the sensor's readings leave open
MEAN = READINGS - 0.5   # samples from the marker's edge to the reading that brakes, on average: one less to all of them
PLACES = {"speed": 1, "speed_scatter": 1, "stop_time": 2}      # decimals that are worth writing


class Moved(Struct, frozen=True):
    """A marker: its stop, where it `was` to begin and where it `begins` [mm along the plan], how far that is [mm,
    forward positive], and whether the stop itself was `measured`."""

    stop: str
    was: float
    begins: float
    by: float
    measured: bool


class RoseTo(Struct, frozen=True):
    """A cup's liquid: how high it was `seen` over its level at rest, how high it is `likely` to, and the highest told
    [mm]."""

    cup: str
    seen: float
    likely: float
    highest: float

    @property
    def verdict(self) -> Literal["likely", "within", "over"]:
        """Not over what is likely, within what is told, or over it."""
        return "likely" if self.seen <= self.likely else "within" if self.seen <= self.highest else "over"


class Corrected(Struct, frozen=True):
    """The ride as it `is`: every `value` measured, with what it was and where it stands in the description; markers,
    rises, and what to know besides."""

    ride: RidePlan
    values: tuple[Edit, ...]
    markers: tuple[Moved, ...]
    rises: tuple[RoseTo, ...]
    notes: tuple[str, ...]

    @property
    def edits(self) -> tuple[Edit, ...]:
        """What changes in the description."""
        return tuple(one for one in self.values if one.value != one.was)

    @property
    def holds(self) -> bool:
        """Can the ride be as planned, and did nothing climb higher than told?"""
        return not self.ride.faults and all(one.verdict != "over" for one in self.rises)


def corrected(planned: RidePlan, form: RunForm) -> Corrected:
    """Return what a filled-in form makes of a ride as it was planned.

    Raises RunFormError, naming every figure that makes a speed, scatter or stop that cannot be.
    """
    wished, run = planned.train.description.ride, form.run
    found = dict(_of_laps(run.laps, planned)) if run.laps.times else {}
    ratio = found["speed"] / wished.speed if found else 1.0
    seen = {marker.stop: one for marker in planned.markers if (one := _seen_at(run.stop, marker.stop))}
    times = {marker.stop: _stop_time(planned, marker, ratio, seen[marker.stop]) for marker in planned.markers
             if marker.stop in seen}
    if times:
        mean, ramp = float(np.mean(list(times.values()))), planned.ramps.fall.time
        as_planned = ramp > wished.stop_time and abs(mean / ramp - 1) < SAME
        found["stop_time"] = wished.stop_time if as_planned else mean
    if faults := [*_out_of_range(found, run.laps, planned.lap), *_too_short(form, times, seen)]:
        raise form.wrong(faults)
    values = {name: ceil(round(10 * value, 6)) / 10 if name == "speed_scatter" else round(value, PLACES[name])
              for name, value in found.items()}
    ride = resolve(ridden(planned.train, **values))
    return Corrected(ride, tuple(Edit(("ride", name), value, getattr(wished, name)) for name, value in values.items()),
                     tuple(_moved(planned, ride, ratio, seen)), tuple(_rises(ride, form)), tuple(_notes(run.laps)))


# ---- laps

def _of_laps(laps: Laps, planned: RidePlan) -> Iterator[tuple[str, float]]:
    """Yield the speed [mm/s] and, of several laps, its scatter [%]."""
    mean = float(np.mean(laps.times))
    yield "speed", (laps.way or planned.path.length) / mean
    if len(laps.times) > 1:
        yield "speed_scatter", 50 * (max(laps.times) - min(laps.times)) / mean


def _notes(laps: Laps) -> Iterator[str]:
    if 0 < len(laps.times) < ENOUGH:
        told = "tells no scatter" if len(laps.times) == 1 else "hardly tell the scatter"
        yield f"{counted(len(laps.times), 'lap')} {told}: time ten"


# ---- stops

def _seen_at(stops: tuple[StopSeen, ...], name: str) -> StopSeen | None:
    """Return what was measured at a stop: its own table, or the one of all that have none."""
    own = [one for one in stops if one.distances and one.name in (name, "")]
    return max(own, key=lambda one: one.name == name) if own else None


def _stop_time(planned: RidePlan, marker: Marker, ratio: float, seen: StopSeen) -> float:
    """Return the time [s] of the ramp that makes the mean of the distances: a ramp's way grows with its time. The train
    ran `ratio` times as fast as planned."""
    before = MEAN * planned.train.description.ride.sample_time * marker.speed * ratio
    return planned.ramps.fall.time * (float(np.mean(seen.distances)) - before) / (marker.way * ratio)


def _moved(planned: RidePlan, ride: RidePlan, ratio: float, seen: dict[str, StopSeen]) -> Iterator[Moved]:
    """Yield every marker as the ride has it, or where the stop was measured so far ahead as the longest distance and
    the latest reading ask for: the train may stop early, never beyond its place."""
    sample = ride.train.description.ride.sample_time
    for old, new in zip(planned.markers, ride.markers, strict=True):
        begins = new.begins
        if old.stop in seen:
            latest = (READINGS - MEAN) * sample * old.speed * ratio
            begins = new.station - ride.sensor.behind - max(seen[old.stop].distances) - latest
            begins = begins % ride.lap if ride.lap else begins
        by = begins - old.begins
        yield Moved(old.stop, old.begins, begins, (by + ride.lap / 2) % ride.lap - ride.lap / 2 if ride.lap else by,
                    old.stop in seen)


# ---- what climbed

def _rises(ride: RidePlan, form: RunForm) -> Iterator[RoseTo]:
    told = {cup.liquid.name: cup for cup in ride.cups}
    for one in form.run.rise:
        if one.seen:
            yield RoseTo(one.cup, one.seen, told[one.cup].likely, told[one.cup].climbs)


# ---- what cannot be

CURES = {"speed": "were whole laps timed, in seconds, over the way told?",
         "speed_scatter": "is one of the laps timed wrongly? Leave it out; if not, mend the controller"}


def _out_of_range(found: dict[str, float], laps: Laps, lap: float) -> Iterator[Fault]:
    """Yield what laps make of speed and scatter that no ride has."""
    if laps.times and not (laps.way or lap):
        yield Fault("laps.way", "an open line has no laps: write the way that was timed at running speed, in mm")
        return
    for name, cure in CURES.items():
        field = Ride.model_fields[name]
        (low, high), unit = limits(field), extra(field, "unit")
        if name in found and not low <= found[name] <= high:
            yield Fault("laps.times", f"{len(laps.times)} laps make ride.{name} = {found[name]:.4g} {unit}, outside "
                                      f"{low:g} to {high:g} {unit}: {cure}")


def _too_short(form: RunForm, times: dict[str, float], seen: dict[str, StopSeen]) -> Iterator[Fault]:
    """Yield every table of stops whose distances no ride's stop time makes, once."""
    field = Ride.model_fields["stop_time"]
    low, high = limits(field)
    for place, one in enumerate(form.run.stop):
        made = [times[name] for name, its in seen.items() if its is one]
        if made and not low <= min(made) <= max(made) <= high:
            worst = min(made) if min(made) < low else max(made)
            yield Fault(f"stop[{place + 1}].distances", (
                f"a mean of {np.mean(one.distances):.4g} mm makes ride.stop_time = {worst:.3g} s, outside {low:g} to "
                f"{high:g} s: measure from the marker's edge that the sensor meets first to the sensor, in mm"))
