"""How a train comes to a stand: by a cut of power, by even braking, or by a ramp shaped to the liquids.

A profile is the train's acceleration at breakpoints, straight between them: (times, accelerations), braking
negative, a time that stands twice a jump. `response` tells what the liquids make of it.

Any braking that is an average over one slosh period (a convolution with a box of that length) leaves that
mode at rest, since a box holds a whole swing. The shaped stop is a box averaged once for each period that
matters: for one period a trapezoid whose two jerk phases last one period each.

Marks in the Source lines: SEEN, read in the source; MEM, from memory; CALC, worked out.
"""

from itertools import combinations, pairwise
from math import factorial

import numpy as np
from numpy.typing import ArrayLike

# Curved pieces are cut so finely that straight lines between the cuts leave under 0.1 % of slosh.
_CUTS = 24
_MOST_PHASES = 4


def power_cut(speed: float, deceleration: float) -> tuple[np.ndarray, np.ndarray]:
    """Profile of a train whose motor is simply switched off: an even slowing down that nobody chose.

    t = v/a

    speed: running speed v [mm/s], above 0
    deceleration: what friction alone makes, from `traction` [mm/s2], above 0
    Returns (times [s], accelerations [mm/s2]); ValueError unless both are above 0.

    >>> times, accelerations = power_cut(400, 200)
    >>> print(times, accelerations)
    [0. 0. 2. 2.] [   0. -200. -200.    0.]

    Source: CALC, motion under an even force.
    """
    if not (speed > 0 and deceleration > 0):
        raise ValueError(f"a train at {speed:g} mm/s slowing by {deceleration:g} mm/s2 never stops: "
                         "both must be above 0")
    end = speed / deceleration
    return np.array([0.0, 0.0, end, end]), np.array([0.0, -deceleration, -deceleration, 0.0])


def constant_stop(speed: float, time: float) -> tuple[np.ndarray, np.ndarray]:
    """Profile of even braking to a stand within a time.

    a = v/t

    speed: running speed v [mm/s], above 0
    time: from running speed to standstill, t [s], above 0
    Returns (times [s], accelerations [mm/s2]); ValueError unless both are above 0.

    >>> times, accelerations = constant_stop(400, 1)
    >>> print(times, accelerations)
    [0. 0. 1. 1.] [   0. -400. -400.    0.]

    Source: CALC, motion under an even force.
    """
    if not time > 0:
        raise ValueError(f"a stop in {time:g} s is no stop: its time must be above 0")
    return power_cut(speed, speed / time)


def shortest_gentle_stop(phases: ArrayLike) -> float:
    """Shortest time in which a shaped stop keeps the liquid at its steady rise while braking.

    Twice the sum of the phases: two periods for one mode. Down to the plain sum a shaped stop still leaves
    nothing swinging behind, but lifts the liquid up to twice the steady rise on the way.

    phases: lengths of the jerk phases, one slosh period each [s]
    Returns the time [s].

    >>> print(f"{shortest_gentle_stop([0.25]):.2f} {shortest_gentle_stop([0.25, 0.15]):.2f}")
    0.50 0.80

    Source: CALC, worked out here: the braking must be fully grown before it fades.
    """
    return 2 * float(np.sum(phases))


def shaped_stop(speed: float, time: float, phases: ArrayLike, also: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Profile of a stop that leaves no slosh of the given periods behind.

    Braking = v (box of D) * (box of T1) * (box of T2) ..., each box of unit area, D = t - T1 - T2 - ...
    With one phase a trapezoid, exact; with more the smooth curve is cut into straight pieces. The first box
    can quiet one more mode at no phase of its own: it is cut short to a whole number of that mode's periods.

    speed: running speed v [mm/s], above 0
    time: from running speed to standstill, t [s], above the sum of the phases
    phases: lengths of the jerk phases, one slosh period each, one to four of them [s], above 0
    also: period of one more mode to quiet, say the second of the largest cup [s], 0 for none
    Returns (times [s], accelerations [mm/s2]); it ends up to one `also` before its time, and the way is half
    of v times what it took. ValueError, with the least gentle time, where the phases do not fit; between
    their sum and `shortest_gentle_stop` it peaks higher.

    >>> times, accelerations = shaped_stop(400, 1, [0.25])
    >>> print(times, accelerations.round(1))
    [0.   0.25 0.75 1.  ] [   0.  -533.3 -533.3    0. ]

    Source: CALC, from the rule SEEN in JDSMC 10.1115/1.4047957 (abstract) that an even acceleration lasting
    whole slosh periods leaves no residual.
    """
    phases = np.atleast_1d(phases).astype(float)
    level = time - phases.sum()
    if not (speed > 0 and np.all(phases > 0)):
        raise ValueError(f"speed = {speed:g} mm/s and phases = {phases.tolist()} s must be above 0")
    if not level > 1e-9 * time:
        raise ValueError(f"a stop in {time:g} s has no room for jerk phases of {phases.sum():.3g} s: "
                         f"give it {shortest_gentle_stop(phases):.3g} s")
    whole = np.floor(level / also) * also if also else 0.0
    widths = np.append(phases, whole or level)
    times = _knots(widths)
    shape = _boxes(times, widths)
    shape[[0, -1]] = 0.0
    return times, 0.0 - speed * shape / np.trapezoid(shape, times)


def _knots(widths: np.ndarray) -> np.ndarray:
    """Where the smooth curve changes its law, and cuts between where that law is not a straight line."""
    sums = [sum(chosen) for size in range(len(widths) + 1) for chosen in combinations(widths, size)]
    knots = np.array(sorted(set(np.round(sums, 12).tolist())))  # numpy.unique would import numpy.ma: 20 ms
    if len(widths) < 3:
        return knots
    step = widths.min() / _CUTS
    pieces = [np.linspace(low, high, int(np.ceil((high - low) / step)) + 1)[:-1]
              for low, high in pairwise(knots)]
    return np.append(np.concatenate(pieces), knots[-1])


def _boxes(at: np.ndarray, widths: np.ndarray) -> np.ndarray:
    """Convolution of boxes of unit area: a sum of truncated powers, one for each subset of the widths."""
    total = np.zeros_like(at)
    for size in range(len(widths) + 1):
        for chosen in combinations(widths, size):
            total += (-1) ** size * np.maximum(at - sum(chosen), 0.0) ** (len(widths) - 1)
    return total / (factorial(len(widths) - 1) * np.prod(widths))


def jerk_phases(periods: ArrayLike, time: float, tolerance: float = 0.05) -> tuple[np.ndarray, float]:
    """Jerk phases for cups of several periods: as few as serve them all.

    Each phase takes time and so makes the braking harder; one that misses a period leaves up to twice that
    relative miss of the steady rise swinging. Neighbours share a phase, split so that the worst miss is
    least; one phase more is taken until what is left swinging is tolerable or the time allows no more.

    periods: slosh periods of the cups [s], above 0, one to about ten
    time: from running speed to standstill [s]
    tolerance: swing after the stop that is accepted, as a share of the steady rise [1]
    Returns (phases [s], worst relative miss [1]); with one phase even where the time is too short for it.

    >>> phases, miss = jerk_phases([0.24, 0.25, 0.30], 1.2)
    >>> print(phases.round(4), f"{miss:.3f}")
    [0.245 0.3  ] 0.021

    Source: CALC, worked out here.
    """
    periods = np.array(sorted(set(np.atleast_1d(periods).astype(float).tolist())))
    chosen = _shared([periods])
    for count in range(2, min(len(periods), _MOST_PHASES) + 1):
        splits = [np.split(periods, cuts) for cuts in combinations(range(1, len(periods)), count - 1)]
        better = min(map(_shared, splits), key=lambda found: found[1])
        if 2 * chosen[1] <= tolerance or shortest_gentle_stop(better[0]) > time:
            break
        chosen = better
    return chosen


def _shared(groups: list[np.ndarray]) -> tuple[np.ndarray, float]:
    """The middle of each group of periods, and how far the worst period lies from its middle."""
    phases = np.array([(group[0] + group[-1]) / 2 for group in groups])
    return phases, float(max(phase / group[0] - 1 for phase, group in zip(phases, groups, strict=True)))


def stop_distance(times: ArrayLike, accelerations: ArrayLike, speed: float) -> float:
    """Way of a train under a profile, from its first breakpoint to its last.

    times: breakpoints, not falling [s]
    accelerations: acceleration at each breakpoint [mm/s2]
    speed: speed at the first breakpoint [mm/s]
    Returns the way [mm], exact.

    >>> print(f"{stop_distance(*shaped_stop(400, 1, [0.25]), 400):.1f}")
    200.0

    Source: CALC, twice integrated straight lines.
    """
    return float(_run(times, accelerations, speed)[-1][-1])


def speed_at(times: ArrayLike, accelerations: ArrayLike, speed: float, at: ArrayLike) -> np.ndarray:
    """Speed of a train under a profile at any times, for the firmware's ramp table.

    times: breakpoints, not falling [s]
    accelerations: acceleration at each breakpoint [mm/s2]
    speed: speed at the first breakpoint [mm/s]
    at: times to tell the speed at [s], clipped to the profile
    Returns the speed at each of those times [mm/s], exact.

    >>> print(speed_at(*shaped_stop(400, 1, [0.25]), 400, [0, 0.25, 0.5]).round(2))
    [400.   333.33 200.  ]

    Source: CALC, integrated straight lines.
    """
    breaks, felt, speeds, _ = _run(times, accelerations, speed)
    at = np.clip(at, breaks[0], breaks[-1])
    piece, since, bend = _within(breaks, felt, at)
    return np.where(at == breaks[-1], speeds[-1], speeds[piece] + felt[piece] * since + bend * since**2 / 2)


def way_at(times: ArrayLike, accelerations: ArrayLike, speed: float, at: ArrayLike) -> np.ndarray:
    """Way that a train has gone under a profile at any times, from the profile's first breakpoint.

    times: breakpoints, not falling [s]
    accelerations: acceleration at each breakpoint [mm/s2]
    speed: speed at the first breakpoint [mm/s]
    at: times to tell the way at [s], clipped to the profile
    Returns the way at each of those times [mm], exact.

    >>> print(way_at(*shaped_stop(400, 1, [0.25]), 400, [0, 0.25, 1]).round(2))
    [  0.    94.44 200.  ]

    Source: CALC, twice integrated straight lines.
    """
    breaks, felt, speeds, ways = _run(times, accelerations, speed)
    piece, since, bend = _within(breaks, felt, np.clip(at, breaks[0], breaks[-1]))
    return ways[piece] + speeds[piece] * since + felt[piece] * since**2 / 2 + bend * since**3 / 6


def _run(times: ArrayLike, accelerations: ArrayLike,
         speed: float) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Breakpoints of a profile with the acceleration, the speed and the way gone at each."""
    times, accelerations = np.asarray(times, dtype=float), np.asarray(accelerations, dtype=float)
    spans, before, after = np.diff(times), accelerations[:-1], accelerations[1:]
    speeds = speed + np.append(0.0, np.cumsum(spans * (before + after) / 2))
    ways = np.append(0.0, np.cumsum(speeds[:-1] * spans + (2 * before + after) * spans**2 / 6))
    return times, accelerations, speeds, ways


def _within(breaks: np.ndarray, felt: np.ndarray, at: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Piece that each time lies in, time since its start, and how fast the acceleration changes there."""
    piece = np.clip(np.searchsorted(breaks, at, side="right") - 1, 0, len(breaks) - 2)
    spans = np.diff(breaks)
    bends = np.divide(np.diff(felt), spans, out=np.zeros_like(spans), where=spans > 0)
    return piece, at - breaks[piece], bends[piece]
