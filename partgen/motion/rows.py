"""Which places along a path have to be looked at, so that the whole of it has been seen.

Where the track is evenly curved under the whole vehicle nothing changes as it moves on. So only the
neighbourhoods of joints, where the curvature changes, are looked at closely, and of neighbourhoods that
are alike only one.
"""

from functools import lru_cache
from math import ceil, inf, sqrt

import numpy as np
from msgspec import Struct

from partgen.motion.path import Path

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

    @property
    def station(self) -> np.ndarray:
        """Stations [mm] of all places, ascending."""
        return self.lead[self.which] + self.shift


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
    window, first, lead, which, shift = back + ahead, {}, [], [], []
    count = 0
    for j, gap in enumerate(gaps):
        run = min(gap, window)
        alike = round(run, _ALIKE), gap > window, curvature[j], *_behind(j, curvature, gaps, window, path.closed)
        if alike not in first:
            places = np.linspace(0.0, run, ceil(run / step) + 1)
            # Where the next joint takes over at once, the last place is its first one.
            places = places if gap > window else places[:-1]
            first[alike] = count, len(places), at[j]
            lead.append(at[j] - ahead + places)
            count += len(places)
        start, size, station = first[alike]
        which.append(np.arange(start, start + size))
        shift.append(np.full(size, at[j] - station))
    return Rows(np.concatenate(lead), np.concatenate(which), np.concatenate(shift))


def _behind(j: int, curvature, gaps, window: float, closed: bool):
    """Yield curvature and length of every run behind joint `j`, as far back as `window` [mm] reaches."""
    while window > 0:
        j -= 1
        if j < 0 and not closed:
            yield from (0.0, round(window, _ALIKE))
            return
        run = min(gaps[j % len(gaps)], window)
        yield from (curvature[j % len(gaps)], round(run, _ALIKE))
        window -= run
