"""Outlines carried along a path: where each point of their rims passes, and how far beside the line.

Where the track is evenly curved under the whole vehicle nothing changes as it moves on. So only the
neighbourhoods of joints, where the curvature changes, are looked at closely, and of neighbourhoods that
are alike only one: these places are `Rows`.
"""

from collections.abc import Iterator, Sequence
from functools import cached_property, lru_cache
from math import ceil, inf, sqrt

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from partgen.motion.convex import RimPoints, rim_of
from partgen.motion.path import SIDES, Path
from partgen.motion.vehicle import Vehicle, stand

INNER, OUTER = 1.0, -1.0
STRETCH, SPARE = 1.15, 4.0    # first guess of how much more track than body there is under a body; mm
_WIDEST_YAW = 1.5               # rad
_CENTRE = 0.9                   # share of the radius beyond which "beside the line" loses its meaning
_STRAIGHT = 1e-12               # rad of turn between the guided points that is none
_ALIKE = 6                      # decimals of a mm to which two neighbourhoods must agree
_FINEST, _COARSEST = 0.5, 15.0  # mm between places
_NOTCH = 8.0                    # mm


class Rows(Struct, frozen=True):
    """Places of the leading guided point along a path.

    `lead`: the stations to evaluate [mm]; `which`: for every place in order along the whole path, the row
    of `lead` that is like it; `shift`: how far beyond that row the place lies [mm].
    """

    lead: np.ndarray
    which: np.ndarray
    shift: np.ndarray


def step_for(path: Path, tolerance: float) -> float:
    """Return the step [mm] at which a chord leaves the sharpest arc by no more than `tolerance` [mm]."""
    return min(max(sqrt(8 * tolerance * path.min_radius), _FINEST), _COARSEST)


def notched(distance: float) -> float:
    """Return `distance` [mm] rounded up, so that vehicles of nearly one size look at the same places."""
    return ceil(distance / _NOTCH) * _NOTCH


def joints(path: Path) -> tuple[np.ndarray, np.ndarray]:
    """Return stations where the curvature changes [mm], ascending, and the curvature beyond each [1/mm].

    On an open path what lies before it and beyond it is straight; on a closed one the ends meet.
    """
    curvature = np.array([piece.curvature for piece in path.pieces])
    if path.closed:
        bounds, before, after = path.bounds[:-1], np.roll(curvature, 1), curvature
    else:
        bounds, before, after = path.bounds, np.append(0.0, curvature), np.append(curvature, 0.0)
    change = before != after
    return bounds[change], after[change]


@lru_cache(maxsize=128)
def rows_of(path: Path, back: float, ahead: float, step: float) -> Rows:
    """Return the places to look at.

    back, ahead: how far behind and ahead of its leading guided point the track matters to a vehicle [mm]
    step: longest distance between neighbouring places where something changes [mm]
    On a closed path the places cover one lap.
    """
    at, curvature = joints(path)
    if not len(at):
        # The body may pass the plan while its leading point is not on it, so its run begins before and ends after.
        start, stop = (0.0, path.length) if path.closed else (-ahead, path.length + back)
        shift = np.linspace(start, stop, ceil((stop - start) / min(step, path.length)) + 1)
        return Rows(np.zeros(1), np.zeros(len(shift), dtype=int), shift)
    gaps = np.append(np.diff(at), at[0] + path.length - at[-1] if path.closed else inf)
    window = back + ahead
    first: dict[tuple, tuple[np.ndarray, float]] = {}
    leads: list[np.ndarray] = []
    found = []
    for j, gap in enumerate(gaps):
        run = min(gap, window)
        alike = round(run, _ALIKE), gap > window, curvature[j], *_behind(j, curvature, gaps, window)
        if alike not in first:
            places = np.linspace(0.0, run, ceil(run / step) + 1)
            # Where the next joint takes over at once, the last place is its first one.
            places = places if gap > window else places[:-1]
            first[alike] = sum(map(len, leads)) + np.arange(len(places)), at[j]
            leads.append(at[j] - ahead + places)
        rows, station = first[alike]
        found.append((rows, np.full(len(rows), at[j] - station)))
    return Rows(np.concatenate(leads), *map(np.concatenate, zip(*found, strict=True)))


def _behind(j: int, curvature: np.ndarray, gaps: np.ndarray, window: float) -> Iterator[float]:
    """Yield curvature and length of every run behind joint `j`, as far back as `window` [mm] reaches.

    Before an open path lies what lies beyond it: an endless straight.
    """
    while window > 0:
        j -= 1
        run = min(gaps[j % len(gaps)], window)
        yield from (curvature[j % len(gaps)], round(run, _ALIKE))
        window -= run


class Trace(Struct, frozen=True):
    """What one side of one outline leaves beside the line: a line for each point of its rim.

    `station` and `reach` [mm], shape (points, rows), at the rows' own stations; reach counts outwards to
    that side. `side` is 1 for the left, -1 for the right.
    """

    side: float
    rim: RimPoints
    station: np.ndarray
    reach: np.ndarray


class Sweep(Struct, frozen=True, dict=True):
    """Outlines of a vehicle carried along a path; `traces` holds (left, right) of every outline.

    `turn`: how far the track turns between the guided points in every row, to the left positive [rad];
    `step`: longest distance between places [mm].
    """

    path: Path
    vehicle: Vehicle
    rows: Rows
    step: float
    turn: np.ndarray
    traces: tuple[tuple[Trace, Trace], ...]

    def ridge(self, trace: Trace) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return the farthest reach [mm] beside the plan in every row, how far it may be about it, and the point.

        The second differs from the first where the plan ends before the next row; -inf where nothing is beside it.
        """
        reach = hope = trace.reach
        if not self.path.closed:
            low, high = self._shifts
            room = np.minimum(trace.station + high, self.path.length - trace.station - low)
            reach, hope = np.where(room >= 0, reach, -np.inf), self._grown(reach, room)
        point, places = hope.argmax(axis=0), np.arange(reach.shape[1])
        return reach[point, places], hope[point, places], point

    def crest(self, ridge: tuple[np.ndarray, np.ndarray, np.ndarray], way: float) -> tuple[np.ndarray, np.ndarray]:
        """Return the reach of a ridge [mm], and how far it may be about it, where the track turns in `way`.

        way: 1 where it turns to the left, -1 to the right; on straight track either. Elsewhere both are -inf.
        """
        reach, hope, _ = ridge
        room = self.turn * way + _STRAIGHT
        return np.where(room >= 0, reach, -np.inf), self._grown(hope, room)

    def _grown(self, reach: np.ndarray, room: np.ndarray) -> np.ndarray:
        """Return `reach` [mm] in rows with `room` of 0 or more, -inf elsewhere; both shape (..., rows).

        Beside a row without room the reach is drawn straight up to where the room ends, and the larger counts.
        Where straight track leaves no telling where that is, it is taken as far as the other row.
        """
        within = room >= 0
        found, near = np.where(within, reach, -np.inf), np.diff(self.rows.lead) < 1.5 * self.step
        for here, there in (np.s_[..., :-1], np.s_[..., 1:]), (np.s_[..., 1:], np.s_[..., :-1]):
            ends = near & within[here] & ~within[there] & np.isfinite(reach[here]) & np.isfinite(reach[there])
            own, left = reach[here][ends], room[here][ends]
            share = np.where(left > 2 * _STRAIGHT, left / (left - room[there][ends]), 1.0)
            grown = own + (reach[there][ends] - own) * share
            found[here][ends] = np.maximum(found[here][ends], grown)
        return found

    def place(self, row: int, station: float) -> tuple[float, float, float]:
        """Return the first place on the plan that is like `row`, where a foot is at `station` [mm] in that row.

        Returns the leading station, and the stations between which the plan lies [mm].
        """
        if self.path.closed:
            return self.rows.lead[row], -np.inf, np.inf
        shift = self.rows.shift[self.rows.which == row]
        inside = (station + shift >= 0) & (station + shift <= self.path.length)
        return self.rows.lead[row] + shift[inside.argmax()], 0.0, self.path.length

    def line(self, trace: Trace, stations: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return at `stations` [mm] of the plan the reach of a trace [mm], and the point that has it."""
        which, shift = self._places
        lines = zip(trace.station[:, which] + shift, trace.reach[:, which], strict=True)
        reach = np.array([np.interp(stations, station, far) for station, far in lines])
        point = reach.argmax(axis=0)
        return reach[point, np.arange(len(point))], point

    def lead(self, trace: Trace, point: int, station: float) -> float:
        """Return the leading station [mm] at which a point of a trace is beside `station` [mm], nearly."""
        which, shift = self._places
        at = trace.station[point, which] + shift
        beyond = station - np.clip(station, at[0], at[-1])      # on the straight before and after all joints
        return float(np.interp(station, at, self.rows.lead[which] + shift) + beyond)

    @cached_property
    def _places(self) -> tuple[np.ndarray, np.ndarray]:
        """Row and shift [mm] of every place that any station of the plan may lie between."""
        laps = (-self.path.length, 0.0, self.path.length) if self.path.closed else (0.0,)
        return np.tile(self.rows.which, len(laps)), np.concatenate([self.rows.shift + lap for lap in laps])

    @cached_property
    def _shifts(self) -> tuple[np.ndarray, np.ndarray]:
        """Smallest and largest shift [mm] of the places that are like each row."""
        low, high = np.full(len(self.rows.lead), np.inf), np.full(len(self.rows.lead), -np.inf)
        np.minimum.at(low, self.rows.which, self.rows.shift)
        np.maximum.at(high, self.rows.which, self.rows.shift)
        return low, high


def bends(turn: np.ndarray, way: ArrayLike) -> np.ndarray:
    """Say where track that turns by `turn` [rad] goes the way asked for, 1 left or -1 right; straight goes both."""
    return turn * way >= -_STRAIGHT


def sweep(path: Path, vehicle: Vehicle, outlines: Sequence[ArrayLike], tolerance: float) -> Sweep:
    """Carry convex outlines, each (n, 2) in wagon axes [mm], along the whole of `path`.

    tolerance: how far the traces, drawn as straight lines from place to place, may cut a curve [mm]
    Raises ValueError for an outline that is not convex or reaches a centre of curvature, and where the
    track is too tight for the vehicle.
    """
    xs = np.concatenate([np.asarray(outline, dtype=float)[:, 0] for outline in outlines])
    ahead = notched(STRETCH * max(xs.max() - vehicle.base / 2, vehicle.bogie / 2) + SPARE)
    back = notched(STRETCH * max(vehicle.base / 2 - xs.min(), vehicle.base + vehicle.bogie / 2) + SPARE)
    while True:
        made, used_back, used_ahead = _swept(path, vehicle, outlines, step_for(path, tolerance), back, ahead)
        if used_back <= back and used_ahead <= ahead:
            return made
        back, ahead = notched(max(back, used_back)), notched(max(ahead, used_ahead))


def _swept(path: Path, vehicle: Vehicle, outlines: Sequence[ArrayLike], step: float, back: float,
           ahead: float) -> tuple[Sweep, float, float]:
    """Carry the outlines as if only the track within `back` and `ahead` [mm] of the leading point mattered.

    Returns the sweep and how far back and ahead it did matter [mm].
    """
    rows = rows_of(path, back, ahead, step)
    at = stand(path, vehicle, rows.lead)
    # A chord is somewhere parallel to the track over it, so no part of that can be turned farther than this.
    yaw = min((back + ahead) / path.min_radius + 0.05, _WIDEST_YAW)
    rims = [(side, rim_of(outline, side, yaw, step)) for outline in outlines for side in SIDES.values()]
    points = np.concatenate([rim.point for _, rim in rims])[:, None]
    station, offset = path.project(at.origin + points * at.ahead, rows.lead - vehicle.base / 2 + points.real)
    if np.abs(offset).max() > _CENTRE * path.min_radius:
        raise ValueError(f"an outline reaches {np.abs(offset).max():.0f} mm from the centre line, almost to the "
                         f"centre of the sharpest curve, {path.min_radius:g} mm away")
    ends = np.cumsum([len(rim.point) for _, rim in rims])[:-1]
    traces = [Trace(side, rim, along, side * across) for (side, rim), along, across
              in zip(rims, np.split(station, ends), np.split(offset, ends), strict=True)]
    turn = path.heading(rows.lead) - path.heading(at.rear)
    used_back = max((rows.lead - station).max(), (rows.lead - at.rear).max() + vehicle.bogie * STRETCH / 2)
    return (Sweep(path, vehicle, rows, step, turn, tuple(zip(traces[::2], traces[1::2], strict=True))), used_back,
            (station - rows.lead).max())
