"""What a curve's beginning and end set swinging in a cup, seen in a frame that does not turn; `response` has the ramps.

A liquid in a round cup does not turn with the wagon. In a curve its surface leans steadily outwards and follows the
pull round; where the curvature changes, the lean changes at once, and the difference swings on freely, in a direction
that stays. Each wheelset of the wagon brings its share of that as it passes the joint.

Marks in the Source lines: CALC, worked out.
"""

import numpy as np
from numpy.typing import ArrayLike

MOST_TURN = 0.7         # of a mode's frequency: no train turns so fast, it tips long before; faster counts as this
STEEPEST = 4.0          # power of the speed that an envelope follows at most
_STEP = 0.01            # of the logarithm of the speed, from one that is looked at to the next
_BLURRED = 0.1          # rad of a swing in half a step: where it passes more, any phase counts


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


def joint_swings(speed: float, before: ArrayLike, after: ArrayLike, across: ArrayLike, omegas: ArrayLike,
                 dampings: ArrayLike) -> np.ndarray:
    """What a change of curvature leaves swinging, exact for a cup that runs on the centre line.

    The steady leans H k v^2 before and after differ in place and velocity; the free swing w e^(l t) + w' e^(l* t)
    takes up the difference. Seen in a direction d it has the amplitude |w d* + w'* d|.

    speed: running speed v [mm/s], above 0
    before, after: curvature of the track before and after each joint, left positive, shape (n,) [1/mm]
    across: directions to look in, counted from square across the track at the joint, shape (n, m) [rad]
    omegas: angular frequency of each mode [rad/s], above 0
    dampings: damping ratio of each mode [1], 0 or more and below 1
    Returns the amplitudes just after the joint, as the acceleration that would hold them, shape (n, modes, m) [mm/s2].

    >>> print(joint_swings(100, [0.0], [1 / 100], [[0.0, np.pi / 2]], [200.0], [0.0]).ravel().round(3))
    [100.003   0.5  ]

    Source: CALC, worked out here; held to scipy's integration by the tests.
    """
    omegas, dampings = np.atleast_1d(omegas).astype(float), np.atleast_1d(dampings)
    damped = omegas * np.sqrt(1 - np.square(dampings))
    pole = -dampings * omegas + 1j * damped
    (place, pace), (old_place, old_pace) = (_steady(speed, bend, omegas, dampings) for bend in (after, before))
    jump, jolt = old_place - place, old_pace - pace         # what the free swing begins with: place, and velocity
    one, other = (jolt - np.conj(pole) * jump) / (2j * damped), (pole * jump - jolt) / (2j * damped)
    seen = np.exp(1j * np.atleast_2d(across))[:, None, :]
    return np.abs(one[:, :, None] / seen + np.conj(other)[:, :, None] * seen)


def _steady(speed: float, bend: ArrayLike, omegas: np.ndarray, dampings: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Place [mm/s2] and velocity [mm/s3] of the steady lean, from square across to the left."""
    turn = speed * np.atleast_1d(bend)
    place = speed * turn[:, None] * held_lean(turn, omegas, dampings)
    return place, place * 1j * np.clip(turn[:, None], -MOST_TURN * omegas, MOST_TURN * omegas)


def entry_envelope(speeds: ArrayLike, base: float, bogie: float, ahead: float, aside: float, omegas: ArrayLike,
                   dampings: ArrayLike) -> np.ndarray:
    """Share of a joint's swing that a cup on a wagon takes on at any speed up to the running one: smooth in speed.

    The cup's place is (1/2 + x/W) of the front pivot's and (1/2 - x/W) of the rear one's, y/W of their difference
    across; each pivot is the middle of its bogie's wheelsets, which pass the joint a time p/v apart, the pivots W/v.
    So the swing is |(1/2 + x/W) e^(l W/v) + 1/2 - x/W| |1 + e^(l p/v)|/2 along the joint's own direction, and
    |y/W| |1 - e^(l W/v)| |1 + e^(l p/v)|/2 square to it, in phases that pass in turns of a few per cent of the speed.
    Returned is the least curve over v^2 times both that never falls with the speed, nor rises faster than v^4: what
    is met at a lower speed, as the train starts or stops, counts as well.

    speeds: shape (n,), rising in steps of about 1 % [mm/s], above 0
    base: between the two points that guide the wagon, W [mm], above 0
    bogie: wheelbase p of each of its bogies [mm], 0 for a rigid wagon
    ahead, aside: where the cup stands, from the wagon's middle, x forward, y left [mm]
    omegas: angular frequency of each mode [rad/s], above 0
    dampings: damping ratio of each mode [1], 0 or more and below 1
    Returns (along, square), each over v^2, shape (2, n, modes) [1].

    >>> speeds = np.geomspace(50, 5000, 500)
    >>> along, square = entry_envelope(speeds, 70, 0, 0, 0, [26.8], [0.0])
    >>> print(along[[0, 160, 320, -1], 0].round(3), square.max())
    [1.    0.634 0.558 0.982] 0.0

    Source: CALC, worked out here.
    """
    speeds = np.asarray(speeds, dtype=float)
    omegas, dampings = np.atleast_1d(omegas).astype(float), np.atleast_1d(dampings)
    pole = -dampings * omegas + 1j * omegas * np.sqrt(1 - np.square(dampings))
    far, near = (np.exp(pole * way / speeds[:, None]) for way in (base, bogie))
    front, rear, lever = 0.5 + ahead / base, 0.5 - ahead / base, abs(aside) / base
    bogies = np.abs(1 + near) / 2
    shares = np.array([np.abs(front * far + rear), lever * np.abs(far - 1)]) * bogies
    most = np.array([abs(front) + abs(rear), 2 * lever])[:, None, None]
    blurred = omegas * (base + bogie) * _STEP / 2 / speeds[:, None] > _BLURRED
    square = speeds[:, None] ** 2
    reached = np.maximum.accumulate(np.where(blurred, most, shares) * square, axis=1)
    steep = speeds[:, None] ** STEEPEST
    ahead_of = np.maximum.accumulate((reached / steep)[:, ::-1], axis=1)[:, ::-1] * steep
    return ahead_of / square
