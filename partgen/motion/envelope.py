"""The swept envelope: what a vehicle reaches to either side of the track, all along it; exact where it is widest."""

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from math import ceil

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import ArrayLike

from partgen.motion.convex import outermost
from partgen.motion.path import SIDES, Path
from partgen.motion.solve import Extreme, peak, summits
from partgen.motion.sweep import INNER, OUTER, Sweep, Trace, bends, sweep
from partgen.motion.vehicle import Vehicle, stand

TOLERANCE = 0.005           # mm
_DOUBT = 5                  # tolerances by which a place may gain on another when looked at closely
_TURNS = 3      # of Newton's method along an edge


class Seed(Struct, frozen=True, eq=False):
    """Where to look: point `point` of a trace's rim, while the leading guided point is about at `lead` [mm].

    The reach counts beside stations `low` to `high` [mm], and where the seed itself is; with `bend` INNER
    or OUTER only where the track turns to the trace's side or away from it.
    """

    trace: Trace
    point: int
    lead: float
    low: float
    high: float
    bend: float = 0.0


class Envelope(Struct, frozen=True):
    """What the outlines of one height band sweep.

    `worst_inner`, `worst_outer`: the farthest reach over the whole plan to either side of curves; their
    `outline` counts within the band. On straight track, and where the guided points stand on a reverse
    curve that turns back as much as it turned, both sides count as inner and as outer.
    `members`: for each outline that can reach farthest, its index in the band and in the sweep.
    """

    sweep: Sweep
    members: tuple[tuple[int, int], ...]
    worst_inner: Extreme
    worst_outer: Extreme

    def at(self, side: str, stations: np.ndarray) -> np.ndarray:
        """Return the reach to `side`, "left" or "right", at stations [mm] of the plan, shape (n,) [mm]."""
        return np.max([self.sweep.line(trace, stations)[0] for _, trace in self._traces(side)], axis=0)

    def worst(self, side: str, start: float, stop: float) -> Extreme:
        """Return the farthest reach to `side`, "left" or "right", between two stations of the plan [mm]."""
        stations = np.linspace(start, stop, ceil((stop - start) / self.sweep.step) + 1)
        seeds, places = [], []
        for place, trace in self._traces(side):
            reach, point = self.sweep.line(trace, stations)
            tops = summits(reach)
            seeds += [Seed(trace, point[k], self.sweep.lead(trace, point[k], stations[k]), start, stop) for k in tops]
            places += [place] * len(tops)
        return _farthest(zip(places, settle(self.sweep, seeds), strict=True))

    def _traces(self, side: str) -> list[tuple[int, Trace]]:
        return [(place, self.sweep.traces[index][list(SIDES).index(side)]) for place, index in self.members]


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
           doubt: float) -> dict[tuple[Hashable, float], Extreme]:
    """Return the farthest reach of every band to either side of curves, from a close look at all that come near it."""
    tops = [[top for trace in traces for top in _tops(swept, trace)] for traces in swept.traces]
    rivals = {}
    for key, band in members.items():
        for bend in (INNER, OUTER):
            found = [(place, *top) for place, index in band for top in tops[index] if top[0].bend == bend]
            least = max(reach for *_, reach, _ in found) - doubt
            rivals[key, bend] = [(place, seed) for place, seed, _, hope in found if hope >= least]
    seeds = list({seed: None for found in rivals.values() for _, seed in found})
    settled = dict(zip(seeds, settle(swept, seeds), strict=True))
    return {key: _farthest((place, settled[seed]) for place, seed in found) for key, found in rivals.items()}


def _tops(swept: Sweep, trace: Trace) -> Iterator[tuple[Seed, float, float]]:
    """Yield seeds where a trace reaches farthest, with how far, and how far it may reach about there [mm]."""
    ridge = swept.ridge(trace)
    for bend in (INNER, OUTER):
        reach, hope = swept.crest(ridge, trace.side * bend)
        for row in sorted({*summits(reach).tolist(), *summits(hope).tolist()}):
            point = ridge[2][row]
            yield Seed(trace, point, *swept.place(row, trace.station[point, row]), bend), reach[row], hope[row]


def _farthest(found: Iterable[tuple[int, Extreme]]) -> Extreme:
    """Return the farthest of (outline, its reach)."""
    return max((replace(reach, outline=outline) for outline, reach in found), key=lambda reach: reach.value)


# ---- a closer look at the places where an envelope is widest: exact, not from place to place


def settle(sweep: Sweep, seeds: list[Seed]) -> list[Extreme]:
    """Return the farthest reach about each seed, one for each.

    A corner is followed from place to place; of an edge, at every place, the point that reaches farthest.
    """
    path, vehicle = sweep.path, sweep.vehicle
    point, along, room, side, bend, lead, lows, highs = (np.array(column)[:, None] for column in zip(*(
        (*seed.trace.rim.at(seed.point), seed.trace.side, seed.trace.side * seed.bend, seed.lead, seed.low, seed.high)
        for seed in seeds), strict=True))

    def look(lead: np.ndarray, low: ArrayLike, high: ArrayLike, turns: int = _TURNS) -> tuple[np.ndarray, ...]:
        """Return twice the reach, and the station of its foot [mm], for places across, seeds down."""
        at = stand(path, vehicle, lead)
        shift, near = np.zeros(lead.shape), lead - vehicle.base / 2 + point.real
        allowed = bends(path.heading(lead) - path.heading(at.rear), bend)
        best, where = np.full(lead.shape, -np.inf), near
        for turn in range(turns):
            near, offset = path.project(at.origin + at.ahead * (point + shift * along), near)
            better = allowed & (side * offset > best) & (near >= low) & (near <= high)
            best, where = np.where(better, side * offset, best), np.where(better, near, where)
            if turn < turns - 1:
                shift = np.clip(shift + _towards_crest(path, near, offset, side, at.ahead * along), -room, room)
        return best, best, where

    *_, here = look(lead, -np.inf, np.inf, turns=1)
    low, high = np.minimum(lows, here), np.maximum(highs, here)
    return peak(path, lambda places: look(places, low, high), lead[:, 0], sweep.step)


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
