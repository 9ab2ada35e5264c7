"""How swinging liquids answer a ride: exact for accelerations that are straight lines between breakpoints.

Each mode is a damped oscillator u'' + 2 zeta omega u' + omega^2 u = omega^2 a(t), at rest before the first
breakpoint; the liquid's rise is the sum of rise_n u_n. Between two breakpoints a is a straight line, so u is
a straight line too plus a free swing, Re(w exp(lambda t)). Only w changes from one breakpoint to the next.

A history is given as times and accelerations: a time that stands twice is a jump, before the first time the
acceleration is 0, after the last it stays. Accelerations of shape (n, 2) are two level directions in a frame
that does not turn; the rise is then that of the wall where it is largest.

Marks in the Source lines: MEM, from memory; CALC, worked out.
"""

import numpy as np
from numpy.typing import ArrayLike

# 100 samples on the slowest mode's period leave a peak of that mode less than 0.05 % too low; the fastest of a cup
# have small shares, and 30 leave a peak of theirs less than 0.6 % too low.
_SAMPLES = 100, 30
# What has faded by e^-20 still counts to 8 digits where swings are added up as they were at the start.
_FADED = 20.0


def _lines(times: ArrayLike, accelerations: ArrayLike) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Straight pieces of a history: start, value and slope of each, the last one level and endless."""
    times = np.asarray(times, dtype=float)
    values = np.asarray(accelerations, dtype=float)
    values = values.reshape(len(times), -1)
    spans = np.diff(times)
    if np.any(spans < 0):
        raise ValueError(f"times of a ride must not run backwards: {times.tolist()}")
    real = spans > 0
    starts = np.append(times[:-1][real], times[-1])
    begins = np.concatenate([values[:-1][real], values[-1:]])
    slopes = np.diff(values, axis=0)[real] / spans[real, None]
    return starts, begins, np.concatenate([slopes, np.zeros_like(values[-1:])])


def _swings(times: ArrayLike, accelerations: ArrayLike, omegas: ArrayLike,
            dampings: ArrayLike) -> tuple[tuple[np.ndarray, np.ndarray, np.ndarray], np.ndarray, np.ndarray]:
    """Pieces of a history, poles of the modes, and each mode's free swing at the start of each piece."""
    starts, begins, slopes = _lines(times, accelerations)
    poles, damped = _poles(omegas, dampings)
    omegas, dampings = np.atleast_1d(omegas).astype(float), np.atleast_1d(dampings)
    spans = np.diff(starts)[:, None]
    ends = np.concatenate([np.zeros_like(begins[:1]), begins[:-1] + slopes[:-1] * spans])
    bends = np.diff(slopes, axis=0, prepend=0.0)[..., None]
    shifts = (begins - ends)[..., None] - 2 * dampings / omegas * bends
    # Where the line jumps or bends, the free swing takes up the difference: u and u' do not jump.
    kicks = -shifts + 1j * (bends + dampings * omegas * shifts) / damped
    swings = kicks.astype(complex)
    turned = (poles * (starts - starts[0])[:, None])[:, None]
    if turned[-1].real.min() > -_FADED:
        swings = np.cumsum(swings * np.exp(-turned), axis=0) * np.exp(turned)
    else:
        for piece, span in enumerate(spans, 1):
            swings[piece] += swings[piece - 1] * np.exp(poles * span)
    slopes = slopes[..., None]
    return (starts, begins[..., None] - 2 * dampings / omegas * slopes, slopes), poles, swings


def _poles(omegas: ArrayLike, dampings: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """Poles of the modes, and their damped angular frequencies."""
    omegas, dampings = np.atleast_1d(omegas).astype(float), np.atleast_1d(dampings)
    if np.any(dampings < 0) or np.any(dampings >= 1):
        raise ValueError(f"damping ratios {dampings.tolist()} must be 0 or more and below 1: a liquid swings")
    damped = omegas * np.sqrt(1 - np.square(dampings))
    return -dampings * omegas + 1j * damped, damped


def rise(times: ArrayLike, accelerations: ArrayLike, omegas: ArrayLike, dampings: ArrayLike, rises: ArrayLike,
         at: ArrayLike) -> np.ndarray:
    """Rise of the liquid over its level at rest, at any times during and after a ride.

    times: breakpoints of the ride, not falling, shape (n,) [s]
    accelerations: level acceleration at each breakpoint, shape (n,), or (n, 2) for two directions [mm/s2]
    omegas: angular frequency of each mode [rad/s], above 0
    dampings: damping ratio of each mode [1], 0 or more and below 1
    rises: steady rise of each mode for each unit of acceleration [s2]
    at: times to tell the rise at [s]
    Returns the rise [mm] at each of those times, shape (m,), or (m, 2) for two directions; it is on the
    side opposite to the acceleration. ValueError where times run backwards or a damping is out of range.

    >>> print(rise([0, 0], [0, 100], 2 * np.pi, 0, 0.01, [0, 0.5, 1]).round(6))
    [0. 2. 0.]

    Source: CALC, exact solution of the linear oscillator between breakpoints, worked out here.
    """
    lines, poles, swings = _swings(times, accelerations, omegas, dampings)
    heights = _heights(lines, poles, swings, np.asarray(rises), np.atleast_1d(at).astype(float))
    return heights if np.ndim(accelerations) > 1 else heights[:, 0]


def _heights(lines: tuple[np.ndarray, np.ndarray, np.ndarray], poles: np.ndarray, swings: np.ndarray, rises: np.ndarray,
             at: np.ndarray) -> np.ndarray:
    starts, begins, slopes = lines
    piece = np.maximum(np.searchsorted(starts, at, side="right") - 1, 0)
    since = np.maximum(at - starts[piece], 0.0)[:, None, None]
    moved = begins[piece] + slopes[piece] * since + (swings[piece] * np.exp(poles * since)).real
    return np.where(at[:, None] < starts[0], 0.0, (moved * rises).sum(axis=-1))


def residual(times: ArrayLike, accelerations: ArrayLike, omegas: ArrayLike, dampings: ArrayLike,
             rises: ArrayLike) -> float:
    """How high the liquid still swings once the ride's last breakpoint has passed.

    Sum over the modes of the amplitude that each is left with at the last breakpoint: the height over its
    new level that the liquid approaches when all modes happen to crest together, hence a bound.

    times: breakpoints of the ride, not falling, shape (n,) [s]
    accelerations: level acceleration at each breakpoint, shape (n,), or (n, 2) for two directions [mm/s2]
    omegas: angular frequency of each mode [rad/s], above 0
    dampings: damping ratio of each mode [1], 0 or more and below 1
    rises: steady rise of each mode for each unit of acceleration [s2]
    Returns the height [mm]; ValueError where the times run backwards or a damping is out of range.

    >>> print(f"{residual([0, 1, 1], [100, 100, 0], 2 * np.pi, 0, 0.01):.6f}")
    0.000000

    Source: CALC, exact solution of the linear oscillator, worked out here.
    """
    *_, swings = _swings(times, accelerations, omegas, dampings)
    return float(_left_over(swings[-1], np.asarray(rises)))


def _left_over(swing: np.ndarray, rises: np.ndarray) -> np.ndarray:
    # In two directions a mode draws an ellipse; this is its longer half axis, in one the plain amplitude.
    square = (np.abs(swing) ** 2).sum(axis=-2) + np.abs((swing**2).sum(axis=-2))
    return (np.sqrt(square / 2) * np.abs(rises)).sum(axis=-1)


def peak(times: ArrayLike, accelerations: ArrayLike, omegas: ArrayLike, dampings: ArrayLike,
         rises: ArrayLike) -> float:
    """Highest that the liquid ever stands at the wall, during the ride or after it.

    During the ride the largest of dense samples, good to 0.1 %; after it the steady rise of the last
    acceleration plus `residual`.

    times: breakpoints of the ride, not falling, shape (n,) [s]
    accelerations: level acceleration at each breakpoint, shape (n,), or (n, 2) for two directions [mm/s2]
    omegas: angular frequency of each mode [rad/s], above 0
    dampings: damping ratio of each mode [1], 0 or more and below 1
    rises: steady rise of each mode for each unit of acceleration [s2]
    Returns the height over the level at rest [mm]; ValueError where times run backwards or a damping is out
    of range.

    >>> print(f"{peak([0, 0], [0, 100], 2 * np.pi, 0, 0.01):.4f}")
    2.0000

    Source: CALC, exact solution of the linear oscillator, worked out here.
    """
    lines, poles, swings = _swings(times, accelerations, omegas, dampings)
    rises = np.asarray(rises)
    first, last = lines[0][0], lines[0][-1]
    periods = (last - first) * np.abs(poles) / (2 * np.pi)
    count = int(max(_SAMPLES[0] * periods.min(), _SAMPLES[1] * periods.max())) + 2
    at = np.sort(np.concatenate([np.linspace(first, last, count), lines[0]]))
    during = np.linalg.norm(_heights(lines, poles, swings, rises, at), axis=1).max()
    steady = np.linalg.norm((lines[1][-1] * rises).sum(axis=-1))
    return float(max(during, steady + _left_over(swings[-1], rises)))
