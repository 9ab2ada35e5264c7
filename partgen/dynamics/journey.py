"""The speed of the train all round its plan: held, changed by gentle ramps before curves, nothing at stops.

Stations are those of the locomotive's front [mm]. A curve's speed holds from where the front enters it until the
last wagon has left it.
"""

from collections.abc import Iterable, Iterator
from itertools import groupby, pairwise
from math import ceil

import numpy as np
from msgspec import Struct

from partgen.describe.track_tables import Stop
from partgen.dynamics.ramps import Profile, Ramp, even
from partgen.dynamics.search import largest
from partgen.dynamics.speeds import SLOWEST
from partgen.formulas import stop
from partgen.motion.path import Path
from partgen.plan.trackside import stops

HAIR = 1e-6             # mm


class Leg(Struct, frozen=True):
    """A stretch of track: the front's stations [mm] and speeds [mm/s] at its two ends, and how the speed changes on
    it; where it is held, that is by nothing."""

    start: float
    end: float
    before: float
    after: float
    change: Ramp

    @property
    def held(self) -> bool:
        """Is the speed the same all along?"""
        return self.before == self.after

    @property
    def time(self) -> float:
        """How long it takes [s]."""
        return self.change.time


class Ramps(Struct, frozen=True):
    """How speeds change: by `rise` upwards, by `fall` downwards; before a stop the speed is held for `heed` [s]
    at least, in which the marker is read."""

    rise: Ramp
    fall: Ramp
    heed: float = 0.0

    def ways(self, before: float, here: float, after: float) -> tuple[float, float]:
        """Return how much of a stretch run at speed `here` the ramps from the one before and to the one after take
        [mm, mm/s]; 0 where they lie outside it."""
        return (self.rise.way(before, here) if here > before else 0.0,
                self.fall.way(here, after) if here > after else 0.0)

    def need(self, before: float, here: float, after: float) -> float:
        """Return how long that stretch must be at least [mm]."""
        return sum(self.ways(before, here, after)) + (self.heed * here if after == 0.0 else 0.0)


class Run(Struct, frozen=True):
    """From one stop to the next: their names, and the legs between."""

    origin: str
    goal: str
    legs: tuple[Leg, ...]

    @property
    def start(self) -> float:
        """Station of the stop it leaves [mm]."""
        return self.legs[0].start

    @property
    def end(self) -> float:
        """Station of the stop it reaches [mm]; beyond the plan's length after a lap's end."""
        return self.legs[-1].end

    @property
    def time(self) -> float:
        """From standstill to standstill [s]."""
        return sum(leg.time for leg in self.legs)

    def profile(self) -> Profile:
        """Return the whole run as (times [s], accelerations [mm/s2])."""
        times, rates = zip(*(leg.change.profile(leg.before, leg.after) for leg in self.legs), strict=True)
        starts = np.cumsum([0.0, *(leg.time for leg in self.legs[:-1])])
        return np.concatenate([start + at for start, at in zip(starts, times, strict=True)]), np.concatenate(rates)

    def at(self, times: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return station [mm] and speed [mm/s] of the front at `times` [s] after its start."""
        profile = self.profile()
        return self.start + stop.way_at(*profile, 0.0, times), stop.speed_at(*profile, 0.0, times)


class Zone(Struct, frozen=True):
    """A stretch of track [mm] whose speed is limited [mm/s], the front's station from `start` to `end`."""

    start: float
    end: float
    limit: float

    @property
    def length(self) -> float:
        """Its length [mm]."""
        return self.end - self.start

    def onward(self, way: float) -> "Zone":
        """Return the same as much farther on [mm]."""
        return Zone(self.start + way, self.end + way, self.limit)


def zones(path: Path, train_length: float, limits: dict[float, float], running: float) -> list[Zone]:
    """Return the limited stretches of the whole path: `limits` by curve radius [mm/s], else `running` speed [mm/s].

    On a closed path the tail of the last curve reaches into the next lap.
    """
    curves = [Zone(start, start + piece.length + train_length, limits.get(round(1 / abs(piece.curvature), 6), running))
              for start, piece in zip(path.bounds[:-1].tolist(), path.pieces, strict=True) if piece.curvature]
    if path.closed:
        curves += [curve.onward(-path.length) for curve in curves]
    ends = [end for curve in curves for end in (curve.start, curve.end)]
    edges = np.unique(np.clip([0.0, path.length, *ends], 0.0, path.length)).tolist()
    return _joined([Zone(low, high, min([running, *(curve.limit for curve in curves
                                                    if curve.start < (low + high) / 2 < curve.end)]))
                    for low, high in pairwise(edges)])


def _joined(cut: list[Zone]) -> list[Zone]:
    """Take neighbours of one speed together."""
    alike = [list(zones) for _, zones in groupby(cut, key=lambda zone: zone.limit)]
    return [Zone(zones[0].start, zones[-1].end, zones[0].limit) for zones in alike]


def stops_of(path: Path, described: Iterable[Stop]) -> list[tuple[str, float]]:
    """Return (name, station [mm]) of the stops on a path, as `trackside.stops` says: markers are made for the same."""
    return stops(path.length, path.closed, described)


def runs(path: Path, stops: list[tuple[str, float]], limited: list[Zone], ramps: Ramps) -> tuple[Run, ...]:
    """Return the runs from stop to stop: on a closed path a whole lap from the first stop, on an open one to its
    end. `limited` are the path's zones."""
    lap = path.length
    onward = [*stops, (stops[0][0], stops[0][1] + lap)] if path.closed else stops
    laid = [*limited, *(zone.onward(lap) for zone in limited)]
    return tuple(Run(a, b, tuple(_legs(_within(laid, start, end), ramps))) for (a, start), (b, end) in pairwise(onward))


def _within(laid: list[Zone], start: float, end: float) -> list[Zone]:
    """Cut the zones to a run."""
    cut = [Zone(max(z.start, start), min(z.end, end), z.limit) for z in laid]
    return _joined([z for z in cut if z.length > HAIR])


def _legs(cut: list[Zone], ramps: Ramps) -> Iterator[Leg]:
    """Yield the legs of a run: in every zone a ramp up at its start, the speed held, a ramp down at its end."""
    settled = _settled(cut, ramps)
    for zone, (before, after) in zip(settled, _beside(settled), strict=True):
        up, down = ramps.ways(before, zone.limit, after)
        if up:
            yield Leg(zone.start, zone.start + up, before, zone.limit, ramps.rise)
        if zone.length - up - down > HAIR:
            yield Leg(zone.start + up, zone.end - down, zone.limit, zone.limit,
                      even((zone.length - up - down) / zone.limit))
        if down:
            yield Leg(zone.end - down, zone.end, zone.limit, after, ramps.fall)


def _beside(cut: list[Zone]) -> list[tuple[float, float]]:
    """Return the speeds before and after every zone of a run [mm/s]."""
    speeds = [0.0, *(zone.limit for zone in cut), 0.0]
    return list(zip(speeds, speeds[2:], strict=False))


def _settled(cut: list[Zone], ramps: Ramps) -> list[Zone]:
    """Lower the limits until the ramps of every zone find room in it, a zone too short for any together with its slower
    neighbour; both come to an end."""
    while True:
        cut = _joined(cut)
        speeds = _beside(cut)
        tight = [(zone.limit, -number) for number, (zone, (before, after)) in enumerate(zip(cut, speeds, strict=True))
                 if ramps.need(before, zone.limit, after) > zone.length + HAIR]
        if not tight:
            return cut
        number = -max(tight)[1]
        lower, speed = [number], _reached(cut[number], *speeds[number], ramps)
        # a stretch too short to reach more goes with its neighbour
        if speed < SLOWEST and len(cut) > 1:
            lower.append(min((k for k in (number - 1, number + 1) if 0 <= k < len(cut)), key=lambda k: cut[k].limit))
            speed = min(cut[k].limit for k in lower)
        for k in lower:
            cut[k] = Zone(cut[k].start, cut[k].end, speed)


def _reached(zone: Zone, before: float, after: float, ramps: Ramps) -> float:
    """Return the highest speed [mm/s] below its limit that a zone has room for between the speeds `before` and
    `after`: whole mm/s, unless nothing but stops is beside it."""
    if not before and not after:
        return min(zone.limit, zone.length / ramps.need(0.0, 1.0, 0.0))
    slower = max(speed for speed in (before, after, 0.0) if speed < zone.limit)
    return max(slower, float(largest(int(slower), ceil(zone.limit), lambda speed: speed <= slower or ramps.need(
        before, float(speed), after) <= zone.length) or 0))
