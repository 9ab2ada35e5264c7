"""The swept envelope: what a vehicle reaches to either side of the track, all along it; exact where it is widest."""

from collections.abc import Hashable, Mapping, Sequence
from math import ceil

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import ArrayLike

from partgen.motion.convex import outermost
from partgen.motion.path import Path
from partgen.motion.solve import peak, summits
from partgen.motion.sweep import INNER, OUTER, Sweep, Trace, bends, sweep
from partgen.motion.vehicle import Vehicle, stand

TOLERANCE = 0.005           # mm
SIDES = ("left", "right")
_TOPS = 3                   # local maxima of a trace that are looked at closely
_DOUBT = 5                  # tolerances by which a place may gain on another when looked at closely
_TURNS = 3      # of Newton's method along an edge


class Seed(Struct, frozen=True):
    """Where to look: point `point` of a rim, while the leading guided point is about at `lead` [mm].

    The reach counts beside stations `low` to `high` [mm], and where the seed itself is; with `bend` INNER
    or OUTER only where the track turns to the trace's side or away from it. `outline` is handed on.
    """

    trace: Trace
    outline: int
    point: int
    lead: float
    low: float = -np.inf
    high: float = np.inf
    bend: float = 0.0


class Reach(Struct, frozen=True):
    """The farthest reach to one side, and where.

    value: distance from the track centre line, outwards [mm]; station: where on the path [mm]; piece:
    index of its piece there; lead: station of the vehicle's leading guided point then [mm]; outline: index
    of the outline that reaches there.
    """

    value: float
    station: float
    piece: int
    lead: float
    outline: int


class Envelope(Struct, frozen=True):
    """What the outlines of one height band sweep.

    `worst_inner`, `worst_outer`: the farthest reach over the whole plan to either side of curves; their
    `outline` counts within the band. On straight track, and where the guided points stand on a reverse
    curve that turns back as much as it turned, both sides count as inner and as outer.
    `members`: for each outline that can reach farthest, its index in the band and in the sweep.
    """

    sweep: Sweep
    members: tuple[tuple[int, int], ...]
    worst_inner: Reach
    worst_outer: Reach

    def at(self, side: str, stations: np.ndarray) -> np.ndarray:
        """Return the reach to `side`, "left" or "right", at stations [mm] of the plan, shape (n,) [mm]."""
        return np.max([self.sweep.line(trace, stations)[0] for _, trace in self._traces(side)], axis=0)

    def worst(self, side: str, start: float, stop: float) -> Reach:
        """Return the farthest reach to `side`, "left" or "right", between two stations of the plan [mm]."""
        stations = _spread(start, stop, self.sweep.step)
        seeds = []
        for place, trace in self._traces(side):
            reach, point = self.sweep.line(trace, stations)
            seeds += [Seed(trace, place, point[k], self.sweep.lead(trace, point[k], stations[k]), start, stop)
                      for k in summits(reach, _TOPS)]
        return max(settle(self.sweep, seeds), key=_value)

    def _traces(self, side: str) -> list[tuple[int, Trace]]:
        return [(place, self.sweep.traces[index][SIDES.index(side)]) for place, index in self.members]


def envelopes(path: Path, vehicle: Vehicle, bands: Mapping[Hashable, Sequence[ArrayLike]],
              tolerance: float = TOLERANCE) -> dict[Hashable, Envelope]:
    """Carry a vehicle along the whole of `path` and return what each height band sweeps.

    bands: by any key the convex outlines of a band, at least one, each (n, 2) in wagon axes [mm]
    tolerance: how far the envelope between two of its stations may be from a straight line [mm]; the
        worst places are found exactly in any case
    Raises ValueError for an outline that is not convex or reaches a centre of curvature, and where the
    track is too tight for the vehicle.
    """
    index: dict[bytes, int] = {}
    outlines: list[np.ndarray] = []
    members: dict[Hashable, list[tuple[int, int]]] = {}
    for key, band in bands.items():
        members[key] = []
        for place in outermost(band):
            outline = np.asarray(band[place], dtype=float)
            if index.setdefault(outline.tobytes(), len(outlines)) == len(outlines):
                outlines.append(outline)
            members[key].append((place, index[outline.tobytes()]))
    swept = sweep(path, vehicle, outlines, tolerance)
    worst = _worst(swept, members, _DOUBT * tolerance)
    return {key: Envelope(swept, tuple(band), worst[key, INNER], worst[key, OUTER]) for key, band in members.items()}


def _worst(swept: Sweep, members: Mapping[Hashable, list[tuple[int, int]]],
           doubt: float) -> dict[tuple[Hashable, float], Reach]:
    """Return the farthest reach of every band to either side of curves, from a close look at all that come near it."""
    tops = {(index, side, bend): _tops(swept, ridge, index, side, bend) for index, traces in enumerate(swept.traces)
            for side, ridge in enumerate(map(swept.ridge, traces)) for bend in (INNER, OUTER)}
    rivals = {}
    for key, band in members.items():
        for bend in (INNER, OUTER):
            found = [(place, *top) for place, index in band for side in (0, 1) for top in tops[index, side, bend]]
            least = max(reach for *_, reach, _ in found) - doubt
            rivals[key, bend] = [(place, top) for place, top, _, hope in found if hope >= least]
    seeds = {top: _seed(swept, *top) for found in rivals.values() for _, top in found}
    settled = dict(zip(seeds, settle(swept, list(seeds.values())), strict=True))
    return {key: max((replace(settled[top], outline=place) for place, top in found), key=_value)
            for key, found in rivals.items()}


def _tops(swept: Sweep, ridge: tuple[np.ndarray, np.ndarray, np.ndarray], index: int, side: int,
          bend: float) -> list[tuple]:
    """Return where a trace with its ridge reaches farthest, as (index, side, bend, row, point), how far, and how far
    it may reach about there [mm]."""
    reach, hope = swept.crest(ridge, swept.traces[index][side].side * bend)
    rows = sorted({*summits(reach, _TOPS).tolist(), *summits(hope, _TOPS).tolist()})
    return [((index, side, bend, row, int(ridge[2][row])), reach[row], hope[row]) for row in rows]


def _seed(swept: Sweep, index: int, side: int, bend: float, row: int, point: int) -> Seed:
    """Return the seed at one row of a trace, at the first place on the plan that is like it."""
    trace = swept.traces[index][side]
    return Seed(trace, index, point, *swept.place(row, trace.station[point, row]), bend)


def _value(reach: Reach) -> float:
    return reach.value


def _spread(start: float, stop: float, step: float) -> np.ndarray:
    """Return stations [mm] from start to stop, evenly, at most `step` apart."""
    return np.linspace(start, stop, ceil((stop - start) / step) + 1)


# ---- a closer look at the places where an envelope is widest: exact, not from place to place


def settle(sweep: Sweep, seeds: list[Seed]) -> list[Reach]:
    """Return the farthest reach about each seed, one for each.

    A corner is followed from place to place; of an edge, at every place, the point that reaches farthest.
    """
    look = _Look(sweep, seeds)
    lead, value, station = peak(look, look.lead, sweep.step)
    path = sweep.path
    if path.closed:
        station = np.mod(station, path.length)
    return [Reach(float(v), float(s), int(piece), float(x), seed.outline) for v, s, piece, x, seed
            in zip(value, station, path.piece_at(station), lead, seeds, strict=True)]


class _Look:
    """The reach of each seed's point as a function of the leading station: seeds down, places across."""

    def __init__(self, sweep: Sweep, seeds: list[Seed]):
        self.sweep = sweep
        rims = [(seed.trace.rim, seed.point) for seed in seeds]
        self.point, self.along, self.room, self.side, self.lead = (np.array(values) for values in (
            [rim.point[k] for rim, k in rims], [rim.along[k] for rim, k in rims],
            [rim.room[k] for rim, k in rims], [seed.trace.side for seed in seeds], [seed.lead for seed in seeds]))
        self.bend = self.side * [seed.bend for seed in seeds]
        self.low, self.high = np.full(len(seeds), -np.inf), np.full(len(seeds), np.inf)
        here = self(self.lead[:, None], turns=1)[1][:, 0]
        self.low = np.minimum([seed.low for seed in seeds], here)
        self.high = np.maximum([seed.high for seed in seeds], here)

    def __call__(self, lead: np.ndarray, turns: int = _TURNS) -> tuple[np.ndarray, np.ndarray]:
        """Return reach and station of its foot [mm], shape (seeds, places), for `lead` of that shape."""
        path, base = self.sweep.path, self.sweep.vehicle.base
        at = stand(path, self.sweep.vehicle, lead)
        point, along, room, side, low, high = (values[:, None] for values in (
            self.point, self.along, self.room, self.side, self.low, self.high))
        shift, near = np.zeros(lead.shape), lead - base / 2 + point.real
        allowed = bends(path.heading(lead) - path.heading(at.rear), self.bend[:, None])
        best, where = np.full(lead.shape, -np.inf), near
        for turn in range(turns):
            near, offset = path.project(at.origin + at.ahead * (point + shift * along), near)
            better = allowed & (side * offset > best) & (near >= low) & (near <= high)
            best, where = np.where(better, side * offset, best), np.where(better, near, where)
            if turn < turns - 1:
                shift = np.clip(shift + _towards_crest(path, near, offset, side, at.ahead * along), -room, room)
        return best, where


def _towards_crest(path: Path, station: np.ndarray, offset: np.ndarray, side: np.ndarray,
                   edge: np.ndarray) -> np.ndarray:
    """Return how far along an edge [mm] its distance from the line is greatest; 0 where it has no crest.

    Along an edge that leans by psi against the track the offset d changes by sin(psi), and that by
    -k cos(psi)^2 / (1 - k d): a crest only to the inside of the curve.
    """
    lean = edge * np.conj(path.frame(station)[1])
    k = path.curvature(station)
    crest = (side * k > 0) & (lean.real != 0)
    return np.where(crest, lean.imag * (1 - k * offset) / np.where(crest, k * lean.real**2, 1.0), 0.0)
