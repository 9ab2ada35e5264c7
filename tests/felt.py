"""A ride felt second by second, once more and simply: the judge of how `partgen.dynamics` adds up what swings.

Here a train runs once, at its very speeds, in directions that do not turn with it; nothing is taken at its worst.
"""

import numpy as np

STEP = 0.01             # s between two points of the acceleration: a twentieth of the quickest cup's slosh period
INSTANT = 1e-6          # s in which a curve without easement takes hold


def felt(path, run, behind):
    """Return what a cup feels that runs `behind` the locomotive's front [mm] on one run along a path.

    Returns (times [s], accelerations [mm/s2]), the latter of shape (n, 2) in directions that do not turn with the
    cup: a liquid in a round cup does not turn with it either. The cup follows the track centre line, so curves take
    hold at once.
    """
    times = np.union1d(np.arange(0.0, run.time, STEP), run.time)
    station, _ = run.at(times)
    times = np.sort(np.concatenate([times, *_joints(path, times, station - behind)]))
    station, speed = run.at(times)
    along = np.interp(times, *run.profile())
    place = station - behind
    level = (along + 1j * speed**2 * path.curvature(place)) * np.exp(1j * path.heading(place))
    return times, np.column_stack([level.real, level.imag])


def _joints(path, times, places):
    """Return the times just before and just after the cup passes a joint where the curvature changes."""
    laps = np.arange(-1, 3) * path.length if path.closed else [0.0]
    joints = np.sort(np.concatenate([path.bounds + lap for lap in laps]))
    joints = joints[(joints > places[0]) & (joints < places[-1])]
    passed = np.interp(joints, places, times)
    return passed - INSTANT, passed + INSTANT


def curve_history(speed, lengths, curvatures, wheelbase=0.0, ahead=0.0):
    """Return (times [s], accelerations [mm/s2]) of a cup at a `speed` [mm/s] over pieces of track of `lengths` [mm]
    and `curvatures` [1/mm] without easements, straight track before and beyond.

    Each change of curvature reaches it in two steps, 1/2 + x/W as the front axle of the `wheelbase` W [mm] passes and
    1/2 - x/W as the rear one does, x how far it stands `ahead` of the wagon's middle [mm]; in one for a wheelbase of 0.
    CALC, second derivative of the place of a point on a chord of the track.
    """
    passed = np.append(0.0, np.cumsum(lengths)) / speed
    change = speed**2 * np.diff([0.0, *curvatures, 0.0])
    if wheelbase:
        passed = np.append(passed, passed + wheelbase / speed)
        change = np.append(change * (0.5 + ahead / wheelbase), change * (0.5 - ahead / wheelbase))
    order = np.argsort(passed, kind="stable")
    after = np.cumsum(change[order])
    return np.repeat(passed[order], 2), np.ravel([np.append(0.0, after[:-1]), after], order="F")


def string_line_force(pull, coupler_spacing, radius):
    """Sideways force [N] by which a `pull` [N] draws each of a chain of equal links towards the inside of a curve.

    N = 2 F sin(Lc/(2 R)), Lc from coupler to coupler [mm]: CALC, a chain on a circle.
    """
    return 2 * pull * np.sin(coupler_spacing / 2 / radius)


def bar_swing(radius, ours, other, bar):
    """Angle [rad] between a wagon's axis and the line of length `bar` [mm] from its coupler pivot to its neighbour's,
    both for good on a circle of `radius` [mm]; each wagon is (wheelbase, pivot from its middle) [mm].

    CALC: a pivot stands sqrt(R^2 - (W/2)^2 + p^2) from the circle's middle, and the two of them and the middle make a
    triangle of three known sides.
    """
    height = np.sqrt(radius**2 - ours[0]**2 / 4)
    mine, its = (np.sqrt(radius**2 - base**2 / 4 + pivot**2) for base, pivot in (ours, other))
    return np.arctan(ours[1] / height) + np.arcsin((mine**2 + bar**2 - its**2) / (2 * mine * bar))
