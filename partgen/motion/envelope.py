"""The swept envelope: what a vehicle reaches to either side of the track, all along it."""

from collections.abc import Hashable, Mapping
from functools import cached_property
from math import ceil

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from partgen.motion.closeup import Reach, Seed, settle
from partgen.motion.path import Path
from partgen.motion.peak import summits
from partgen.motion.rim import outermost
from partgen.motion.sweep import INNER, OUTER, Sweep, Trace, sweep
from partgen.motion.vehicle import Vehicle, poses

TOLERANCE = 0.005           # mm
SIDES = ("left", "right")
_WAYS = (((0, INNER), (0, OUTER)), ((1, INNER), (1, OUTER)), ((0, INNER), (1, INNER)), ((0, OUTER), (1, OUTER)))
"""Side and bend of what counts as left, right, inner, outer."""
_TOPS = 3                   # local maxima of a trace that are looked at closely
_DOUBT = 5                  # tolerances by which a place may gain on another when looked at closely


class Envelope(Struct, frozen=True, dict=True):
    """What the outlines of one height band sweep.

    `worst_left`, `worst_right`, `worst_inner`, `worst_outer`: the farthest reach over the whole plan to
    either side, and to either side of curves; their `outline` counts within the band. On straight track,
    and where the guided points stand on a reverse curve that turns back as much as it turned, both sides
    count as inner and as outer.
    `members`: for each outline that can reach farthest, its index in the band and in the sweep.
    """

    sweep: Sweep
    members: tuple[tuple[int, int], ...]
    worst_left: Reach
    worst_right: Reach
    worst_inner: Reach
    worst_outer: Reach

    @cached_property
    def station(self) -> np.ndarray:
        """Stations [mm] of `left` and `right`, evenly from the start of the plan to its end."""
        return _spread(0.0, self.sweep.path.length, self.sweep.step)

    @cached_property
    def left(self) -> np.ndarray:
        """Reach to the left at every station [mm], measured outwards from the centre line."""
        return self.at("left", self.station)

    @cached_property
    def right(self) -> np.ndarray:
        """Reach to the right at every station [mm], measured outwards from the centre line."""
        return self.at("right", self.station)

    def at(self, side: str, stations) -> np.ndarray:
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


def envelopes(path: Path, vehicle: Vehicle, bands: Mapping[Hashable, list], tolerance: float = TOLERANCE,
              ) -> dict[Hashable, Envelope]:
    """Carry a vehicle along the whole of `path` and return what each height band sweeps.

    bands: by any key the convex outlines of a band, at least one, each (n, 2) in wagon axes [mm]
    tolerance: how far the envelope between two of its stations may be from a straight line [mm]; the
        worst places are found exactly in any case
    Raises ValueError for an outline that is not convex or reaches a centre of curvature, and where the
    track is too tight for the vehicle.
    """
    index, outlines, members = {}, [], {}
    for key, band in bands.items():
        members[key] = []
        for place in outermost(band):
            outline = np.asarray(band[place], dtype=float)
            if index.setdefault(outline.tobytes(), len(outlines)) == len(outlines):
                outlines.append(outline)
            members[key].append((place, index[outline.tobytes()]))
    swept = sweep(path, vehicle, outlines, tolerance)
    worst = _worst(swept, members, _DOUBT * tolerance)
    return {key: Envelope(swept, tuple(band), *(
        max((worst[key, side, bend] for side, bend in ways if (key, side, bend) in worst), key=_value)
        for ways in _WAYS)) for key, band in members.items()}


def polygons(path: Path, vehicle: Vehicle, outlines, stations):
    """Return the area that outlines cover while the leading guided point is at `stations` [mm].

    outlines: convex or not, each (n, 2) in wagon axes [mm]
    Returns a shapely polygon or multipolygon in the axes of the path [mm].
    """
    import shapely

    x, y, heading = (values[:, None] for values in poses(path, vehicle, np.asarray(stations, dtype=float)))
    cosine, sine = np.cos(heading), np.sin(heading)
    posed = []
    for outline in outlines:
        ahead, left = np.asarray(outline, dtype=float).T
        corners = np.stack([x + cosine * ahead - sine * left, y + sine * ahead + cosine * left], axis=-1)
        posed.append(shapely.polygons(corners))
    return shapely.union_all(np.concatenate(posed))


def _worst(swept: Sweep, members, doubt: float) -> dict[tuple, Reach]:
    """Return the farthest reach of every band by side and bend, found by a close look at all that come near it."""
    tops = {(index, side, bend): _tops(swept, ridge, index, side, bend) for index, traces in enumerate(swept.traces)
            for side, ridge in enumerate(map(swept.ridge, traces)) for bend in (INNER, OUTER)}
    rivals = {}
    for key, band in members.items():
        for side in (0, 1):
            for bend in (INNER, OUTER):
                found = [(place, *top) for place, index in band for top in tops[index, side, bend]]
                least = max((reach for *_, reach, _ in found), default=0.0) - doubt
                rivals[key, side, bend] = [(place, top) for place, top, _, hope in found if hope >= least]
    seeds = {top: _seed(swept, *top) for found in rivals.values() for _, top in found}
    settled = dict(zip(seeds, settle(swept, list(seeds.values()))))
    return {key: max((replace(settled[top], outline=place) for place, top in found), key=_value)
            for key, found in rivals.items() if found}


def _tops(swept: Sweep, ridge, index: int, side: int, bend: float):
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
