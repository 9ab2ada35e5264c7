"""The liquids carried round the whole ride: what every curve, start and stop together make of them."""

import numpy as np

from partgen.dynamics.journey import Run
from partgen.dynamics.liquids import Liquid

STEP = 0.01             # s between two points of the acceleration: a twentieth of the quickest cup's slosh period
INSTANT = 1e-6          # s in which a curve without easement takes hold
LONGEST = 900.0         # s of one run that are looked at


def felt(path, run: Run, behind: float):
    """Return what a cup feels that runs `behind` the locomotive's front [mm] on one run along a path.

    Returns (times [s], accelerations [mm/s2]), the latter of shape (n, 2) in directions that do not turn with the
    cup: a liquid in a round cup does not turn with it either. The cup follows the track centre line, so curves take
    hold at once: the sharper case. Runs over 900 s are cut there.
    """
    times = np.union1d(np.arange(0.0, min(run.time, LONGEST), STEP), min(run.time, LONGEST))
    station, _ = run.at(times)
    times = np.sort(np.concatenate([times, *_joints(path, times, station - behind)]))
    profile = run.profile()
    station, speed = run.at(times)
    along = np.interp(times, *profile)
    place = station - behind
    ahead = np.exp(1j * path.heading(place))
    level = (along + 1j * speed**2 * path.curvature(place)) * ahead
    return times, np.column_stack([level.real, level.imag])


def _joints(path, times, places):
    """Return the times just before and just after the cup passes a joint where the curvature changes."""
    laps = np.arange(-1, 3) * path.length if path.closed else [0.0]
    joints = np.sort(np.concatenate([path.bounds + lap for lap in laps]))
    joints = joints[(joints > places[0]) & (joints < places[-1])]
    passed = np.interp(joints, places, times)
    return passed - INSTANT, passed + INSTANT


def highest(path, runs, liquid: Liquid, places) -> float:
    """Return the highest rise [mm] of a liquid on any run, wherever of `places` behind the front [mm] it is."""
    return max((liquid.peak(*felt(path, run, behind)) for run in runs for behind in places), default=0.0)
