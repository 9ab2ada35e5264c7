"""What a curve's beginning and end set swinging in a cup, seen in a frame that does not turn; `response` has the ramps.

A liquid in a round cup does not turn with the wagon. In a curve its surface leans steadily outwards and follows the
pull round; where the curvature changes, the lean changes at once, and the difference swings on freely, in a direction
that stays. Each wheelset of the wagon brings its share of that as it passes the joint.

Marks in the Source lines: CALC, worked out.
"""

import numpy as np
from numpy.typing import ArrayLike

MOST_TURN = 0.7         # of a mode's frequency: no train turns so fast, it tips long before; faster counts as this
STEEPEST = 5.0          # power of the speed that an envelope follows at most


def held_lean(turn: ArrayLike, omegas: ArrayLike, dampings: ArrayLike) -> np.ndarray:
    """How far a mode leans in an endless curve, over what the same pull would make of it if it did not go round.

    H = omega^2/(omega^2 - W^2 + 2 i zeta omega W)

    turn: rate of turning W, left positive, shape (n,) [rad/s]; faster than 0.7 omega counts as that
    omegas: angular frequency of each mode [rad/s], above 0
    dampings: damping ratio of each mode [1], 0 or more and below 1
    Returns the ratio, complex, its argument the angle by which the lean is ahead, shape (n, modes) [1].

    >>> print(held_lean([0.0, 5.0], [10.0], [0.0]).real.ravel().round(4))
    [1.     1.3333]

    Source: CALC, the steady answer of a plane oscillator to a force that goes round.
    """
    omegas, dampings = np.atleast_1d(omegas).astype(float), np.atleast_1d(dampings)
    share = np.clip(np.atleast_1d(turn)[:, None] / omegas, -MOST_TURN, MOST_TURN)
    return 1 / (1 - share**2 + 2j * dampings * share)


def joint_swings(speeds: ArrayLike, before: ArrayLike, after: ArrayLike, omegas: ArrayLike,
                 dampings: ArrayLike) -> np.ndarray:
    """What a change of curvature leaves swinging in a cup on the centre line: exact.

    The steady leans H k v^2 before and after differ in place and velocity; the free swing w e^(l t) + w' e^(l* t),
    l = -zeta omega + i omega sqrt(1 - zeta^2), takes up the difference. A wagon's every wheelset brings its share of
    that, the later the farther behind it is.

    speeds: running speeds v, shape (s,) [mm/s], above 0
    before, after: curvature of the track before and after each joint, left positive, shape (n,) [1/mm]
    omegas: angular frequency of each mode [rad/s], above 0
    dampings: damping ratio of each mode [1], 0 or more and below 1
    Returns (w, w') just after the joint, complex, the real axis square across the track there, to the left, as the
    acceleration that would hold them, shape (2, s, n, modes) [mm/s2].

    >>> print(np.abs(joint_swings([100], [0.0], [1 / 100], [200.0], [0.0]).sum(axis=0)).ravel().round(3))
    [100.003]

    Source: CALC, worked out here; held to scipy's integration by the tests.
    """
    (place, pace), (old_place, old_pace) = (_steady(speeds, bend, omegas, dampings) for bend in (after, before))
    jump, jolt = old_place - place, old_pace - pace         # what the free swing begins with: place, and velocity
    pole, damped = _pole(omegas, dampings)
    return np.array([jolt - np.conj(pole) * jump, pole * jump - jolt]) / (2j * damped)


def _pole(omegas: ArrayLike, dampings: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """Pole of each mode, and its damped angular frequency."""
    omegas, dampings = np.atleast_1d(omegas).astype(float), np.atleast_1d(dampings)
    damped = omegas * np.sqrt(1 - np.square(dampings))
    return -dampings * omegas + 1j * damped, damped


def _steady(speeds: ArrayLike, bend: ArrayLike, omegas: ArrayLike,
            dampings: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """Place [mm/s2] and velocity [mm/s3] of the steady lean, from square across to the left; (speeds, n, modes)."""
    speeds, omegas = np.atleast_1d(speeds).astype(float), np.atleast_1d(omegas).astype(float)
    turn = speeds[:, None] * np.atleast_1d(bend)
    held = held_lean(turn.ravel(), omegas, dampings).reshape(*turn.shape, -1)
    place = (speeds[:, None] * turn)[..., None] * held
    return place, place * 1j * np.clip(turn[..., None], -MOST_TURN * omegas, MOST_TURN * omegas)


def chord_swings(speeds: ArrayLike, chord: float, before: ArrayLike, after: ArrayLike, omegas: ArrayLike,
                 dampings: ArrayLike) -> np.ndarray:
    """What the uneven way of a wheelset leaves swinging that follows another at the other end of a chord.

    While the chord W bends in over a joint, the way between its ends is longer than it by half of the sum of squares
    of the heading's departure from its mean, f(x) = ((k W')^2 W' + (K x)^2 x)/6 - (K x^2 - k W'^2)^2/(8 W) with the
    front end x past the joint and W' = W - x; so the rear end is late by that, and feels -v^2 f'' along the track, a
    quadratic in x.

    speeds: running speeds v, shape (s,) [mm/s], above 0
    chord: W [mm], above 0
    before, after: curvature of the track before and after each joint, k and K, shape (n,) [1/mm]
    omegas: angular frequency of each mode [rad/s], above 0
    dampings: damping ratio of each mode [1], 0 or more and below 1
    Returns (w, w') as `joint_swings` has them, as the rear end reaches the joint, along the track there, shape
    (2, s, n, modes) [mm/s2].

    >>> one, other = chord_swings([2000], 70, [0.0], [1 / 300], [26.8], [0.0])
    >>> print(f"{abs((one + other).item()):.1f} {2000**2 / 300 * 70 / 300:.1f}")
    104.3 3111.1

    Source: CALC, worked out here to the second order of W/R; held to scipy's integration by the tests.
    """
    before, after = np.atleast_1d(before), np.atleast_1d(after)
    past = np.array([0.0, 0.5, 1.0])[:, None] * chord
    bent = after * past**2 - before * (chord - past)**2
    pace, gain = 2 * (after * past + before * (chord - past)), 2 * (after - before)
    first, middle, last = (pace**2 + bent * gain) / (4 * chord) - before**2 * (chord - past) - after**2 * past
    bend, slope = 4 * (first - 2 * middle + last) / chord**2, (last - first) / chord    # of the quadratic, half way
    pole, damped = _pole(omegas, dampings)
    speed = np.atleast_1d(speeds).astype(float)[:, None, None]
    begun, ended = (value[:, None] + speed / pole * (slope + side * bend * chord / 2)[:, None] + (speed / pole)**2
                    * bend[:, None] for value, side in ((first, -1.0), (last, 1.0)))
    pushed = speed**2 / pole * (begun * np.exp(pole * chord / speed) - ended)
    swing = np.square(omegas) / (2j * damped) * pushed
    return np.array([swing, np.conj(swing)])


def smooth_in_speed(speeds: ArrayLike, values: ArrayLike) -> np.ndarray:
    """The least curve over all values that never falls with the speed, nor rises faster than its fifth power.

    What is met at a lower speed, as a train starts or stops, counts as well; and a motor that is a few per cent off
    meets what its neighbours meet: 1 % of speed is worth 5.1 % at most.

    speeds: shape (n,), rising [mm/s], above 0
    values: shape (n,), 0 or more, in any unit [1]
    Returns the curve at each speed, in the unit of `values`, shape (n,) [1].

    >>> print(smooth_in_speed([100, 110, 120], [4.0, 3.0, 8.0]).round(2))
    [4.   5.18 8.  ]

    Source: CALC, worked out here.
    """
    steep = np.asarray(speeds, dtype=float) ** STEEPEST
    reached = np.maximum.accumulate(np.asarray(values, dtype=float))
    return np.maximum.accumulate((reached / steep)[::-1])[::-1] * steep
