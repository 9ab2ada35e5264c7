"""A closer look at the places where an envelope is widest: exact, not from place to place."""

import numpy as np
from msgspec import Struct

from partgen.motion.peak import peak
from partgen.motion.sweep import Sweep, Trace, bends
from partgen.motion.vehicle import stand

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
            in zip(value, station, path.piece_at(station), lead, seeds)]


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

    def __call__(self, lead, turns: int = _TURNS):
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


def _towards_crest(path, station, offset, side, edge):
    """Return how far along an edge [mm] its distance from the line is greatest; 0 where it has no crest.

    Along an edge that leans by psi against the track the offset d changes by sin(psi), and that by
    -k cos(psi)^2 / (1 - k d): a crest only to the inside of the curve.
    """
    lean = edge * np.conj(path.frame(station)[1])
    k = path.curvature(station)
    crest = (side * k > 0) & (lean.real != 0)
    return np.where(crest, lean.imag * (1 - k * offset) / np.where(crest, k * lean.real**2, 1.0), 0.0)
