"""Will it stay on its wheels: tipping, load states, wheel climb, pull inwards on curves, a cup on its base.

Tipping sideways and lengthwise is one question: weight, with what lies between it and the edge, against
level forces at their height. Sideways the edge is a rail and "towards" is outwards on the curve; lengthwise
it is an outer axle and "towards" is ahead for braking.

Marks in the Source lines: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory;
CALC, worked out.
"""

import numpy as np
from numpy.typing import ArrayLike

from partgen.formulas import GRAVITY, NEWTON, Numbers


def tip_moments(mass: ArrayLike, offset: ArrayLike, height: Numbers, reach: Numbers, acceleration: Numbers = 0.0,
                tilt: Numbers = 0.0) -> tuple[Numbers, Numbers]:
    """Moments of a mass about an edge on a floor that may lean towards it.

    holding = m (g cos(t) - a sin(t)) (reach - offset), tipping = m (a cos(t) + g sin(t)) height

    mass: mass m, a float or one for each of several parts [g]
    offset: how far its centre lies from the middle of the wagon towards the edge [mm]
    height: height of its centre over the rails [mm]
    reach: from the middle of the wagon to the edge, half the wheels' spacing or half the wheelbase [mm]
    acceleration: level, of the wagon, away from the edge, so that inertia drives towards it, a [mm/s2]
    tilt: lean t of the floor towards the edge [rad]
    Returns (holding, tipping) [N mm]; both add up over parts.

    >>> print("{:.1f} {:.1f}".format(*tip_moments(200, 0, 40, 20, 500)))
    39.2 4.0

    Source: CALC, moments about a point.
    """
    down = GRAVITY * np.cos(tilt) - acceleration * np.sin(tilt)
    aside = acceleration * np.cos(tilt) + GRAVITY * np.sin(tilt)
    mass = np.asarray(mass, dtype=float) * NEWTON
    return mass * down * np.subtract(reach, offset), mass * aside * height


def worst_choice(above: float, below: float, above_choices: ArrayLike,
                 below_choices: ArrayLike) -> tuple[float, np.ndarray]:
    """What to choose for each seat so that a ratio of two sums is least, exact for any number of seats.

    min over choices of (a + sum of a_i,c(i))/(b + sum of b_i,c(i)): a seat is empty, holds a full cup, an empty
    one, or another kind of cup.

    above: numerator of what is always there, of any unit, say [N mm]
    below: denominator of what is always there, of any unit, say [N mm]
    above_choices: what each choice of each seat adds to the numerator, shape (n, k) [N mm]
    below_choices: what each choice of each seat adds to the denominator, shape (n, k) [N mm]
    Returns (ratio, choices), the choices as n numbers from 0; ValueError where some denominator is not above 0.

    >>> ratio, chosen = worst_choice(10, 2, [[0, 1, 4], [0, 5, 6]], [[0, 1, 3], [0, 1, 1]])
    >>> print(f"{ratio:.3f}", chosen)
    2.800 [2 0]

    Source: W. Dinkelbach, Management Science 13 (1967) 492, MEM; CALC.
    """
    tops, bottoms = np.asarray(above_choices, dtype=float), np.asarray(below_choices, dtype=float)
    if not below + (bottoms.min(axis=1).sum() if len(bottoms) else 0.0) > 0:
        raise ValueError("a ratio's denominator must be above 0 in every load state")
    # A ratio under r exists just where the sum of (a - r b) can be made negative, and that sum is least when
    # each seat decides for itself: it takes the choice whose own a - r b is least. Each round takes the ratio
    # of what was chosen as the next r, which falls strictly until nothing is below it. There are finitely many
    # states, and rounds are few: the steps shrink faster than by any fixed factor.
    seats, chosen = np.arange(len(tops)), np.zeros(len(tops), dtype=int)
    ratio = _ratio(above, below, tops[seats, chosen], bottoms[seats, chosen])
    while len(seats):
        better = np.argmin(tops - ratio * bottoms, axis=1)
        lower = _ratio(above, below, tops[seats, better], bottoms[seats, better])
        if not lower < ratio:
            break
        ratio, chosen = lower, better
    return float(ratio), chosen


def _ratio(above: float, below: float, tops: np.ndarray, bottoms: np.ndarray) -> float:
    return (above + tops.sum()) / (below + bottoms.sum())


def joint_tilt(step: Numbers, span: Numbers) -> Numbers:
    """Lean of a wagon with one side, or one end, up on a step in the rails.

    sin(t) = d/s

    step: height d of the step [mm]
    span: between the wheels that stand high and low, s: their spacing on an axle, or the wheelbase [mm]
    Returns the lean [rad]; ValueError for a step higher than the span.

    >>> print(f"{np.degrees(joint_tilt(0.5, 38)):.2f}")
    0.75

    Source: CALC, plane geometry.
    """
    if np.any(np.abs(step) > np.asarray(span)):
        raise ValueError(f"a step of {step} mm is no rail joint: it is over the span of {span} mm")
    return np.arcsin(np.divide(step, span))


def nadal_limit(flange_angle: Numbers, friction: Numbers) -> Numbers:
    """Side force over wheel load at which a flange climbs the rail.

    L/V = (tan(b) - mu)/(1 + mu tan(b)) = tan(b - atan(mu))

    flange_angle: angle b of the flange's face from the axle's direction [rad], up to pi/2
    friction: coefficient mu of friction between flange and rail [1]
    Returns the ratio [1]; lowest safe answer, since small attack angles allow more.

    >>> print(f"{nadal_limit(np.radians(68), 0.25):.4f}")
    1.3746

    Source: SEEN, JRC2011-56064 (Marquis and Greif) and two railway pages.
    """
    return np.tan(flange_angle - np.arctan(friction))


def cup_tip(reach: Numbers, height: Numbers, tilt: Numbers = 0.0) -> Numbers:
    """Level acceleration at which a cup tips over an edge: of its own foot, or of the seat's rim.

    a = g tan(atan(r/h) - t); for a cup on its foot r is half the foot's diameter d, so a = g d/(2 h)

    reach: from the cup's axis to the edge, r [mm]
    height: height h of the cup's centre of gravity over that edge [mm]; a seat higher than it holds for good
    tilt: lean t of the floor towards the edge [rad]
    Returns the acceleration [mm/s2], infinite for a centre no higher than the edge.

    >>> print(f"{cup_tip(21, 30):.0f}")
    6865

    Source: SEEN, the static stability factor of a vehicle (NHTSA, rollover rules, chapter V) with the foot
    for its track.
    """
    angle = np.arctan2(reach, height) - tilt
    return np.where(np.less_equal(height, 0), np.inf, GRAVITY * np.tan(angle))[()]


def cup_climb(lean: Numbers, friction: Numbers, tilt: Numbers = 0.0) -> Numbers:
    """Level acceleration at which a cup climbs the leaning wall of its seat.

    a = g tan(pi/2 - alpha + atan(mu) - t), infinite where the wall leans no more than friction holds

    lean: of the seat's wall from the upright, outwards, alpha [rad], 0 to pi/2
    friction: coefficient mu of friction between cup and seat [1]
    tilt: lean t of the floor in the way it would climb [rad]
    Returns the acceleration [mm/s2].

    >>> print(f"{cup_climb(np.radians(30), 0.2):.0f}")
    28989

    Source: CALC, Coulomb's friction on a slope; with a level wall, alpha = pi/2, it is `cup_slide`.
    """
    angle = np.pi / 2 - lean + np.arctan(friction) - tilt
    steep = np.less(angle, np.pi / 2)
    return np.where(steep, GRAVITY * np.tan(np.where(steep, angle, 0.0)), np.inf)[()]
