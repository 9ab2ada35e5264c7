"""Will it stay on its wheels: tipping, axle loads, wheel climb, pull inwards on curves, a cup on its base.

Tipping sideways and lengthwise is one question: weight, with what lies between it and the edge, against
level forces at their height. Sideways the edge is a rail and "towards" is outwards on the curve; lengthwise
it is an outer axle and "towards" is ahead for braking.

Marks in the Source lines: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory;
CALC, worked out.
"""

import numpy as np

from partgen.formulas.constants import GRAVITY
from partgen.formulas.load import worst_ratio

_NEWTON = 1e-6  # of one g mm/s2


def stability_factor(spacing, height):
    """Static stability factor: the level acceleration, in parts of gravity, that tips a vehicle.

    SSF = s/(2 h)

    spacing: between the points where the two wheels of an axle stand on the rails, s [mm]
    height: height h of the centre of gravity over the rails [mm], above 0
    Returns the factor [1].

    >>> print(f"{stability_factor(16.5, 30):.3f}")
    0.275

    Source: SEEN, NHTSA, rollover rules, chapter V.
    """
    return np.divide(spacing, 2 * np.asarray(height, dtype=float))


def tip_speed(spacing, height, radius):
    """Speed at which a vehicle tips over on a level curve.

    v = sqrt(SSF g R)

    spacing: between the points where the two wheels of an axle stand on the rails, s [mm]
    height: height h of the centre of gravity over the rails [mm], above 0
    radius: curve radius R of the track centre line [mm]
    Returns the speed [mm/s]; over sqrt(3) it keeps the resultant within the middle third.

    >>> print(f"{tip_speed(16.5, 30, 1000):.0f}")
    1642

    Source: SEEN-2, an engineering calculator's page on the static stability factor.
    """
    return np.sqrt(stability_factor(spacing, height) * GRAVITY * radius)


def tip_moments(mass, offset, height, reach, acceleration=0.0, tilt=0.0):
    """Moments of a mass about an edge on a floor that may lean towards it.

    holding = m (g cos(t) - a sin(t)) (reach - offset), tipping = m (a cos(t) + g sin(t)) height

    mass: mass m, a float or one for each of several parts [g]
    offset: how far its centre lies from the middle of the wagon towards the edge [mm]
    height: height of its centre over the rails [mm]
    reach: from the middle of the wagon to the edge, half the wheels' spacing or half the wheelbase [mm]
    acceleration: of the wagon, away from the edge, so that inertia drives towards it, a [mm/s2]
    tilt: lean t of the floor towards the edge [rad]
    Returns (holding, tipping) [N mm]; both add up over parts.

    >>> print("{:.1f} {:.1f}".format(*tip_moments(200, 0, 40, 20, 500)))
    39.2 4.0

    Source: CALC, moments about a point.
    """
    down = GRAVITY * np.cos(tilt) - acceleration * np.sin(tilt)
    aside = acceleration * np.cos(tilt) + GRAVITY * np.sin(tilt)
    mass = np.asarray(mass, dtype=float) * _NEWTON
    return mass * down * np.subtract(reach, offset), mass * aside * height


def tip_margin(mass, offset, height, reach, acceleration=0.0, tilt=0.0, pull=0.0, pull_height=0.0):
    """How many times over the weight holds a wagon down against tipping about an edge.

    sum of holding/(sum of tipping + P h), each as `tip_moments`

    mass: masses of the parts, or of the whole wagon [g]
    offset: how far each centre lies from the middle of the wagon towards the edge [mm]
    height: height of each centre over the rails [mm]
    reach: from the middle of the wagon to the edge, half the wheels' spacing or half the wheelbase [mm]
    acceleration: of the wagon, away from the edge [mm/s2]
    tilt: lean of the floor towards the edge [rad]
    pull: force P of the couplers towards the edge [N]
    pull_height: height h of the couplers over the rails [mm]
    Returns the margin [1]: over 1 it stands, infinite where nothing tips it.

    >>> print(f"{tip_margin(200, 0, 40, 20, 500, pull=0.2, pull_height=13):.2f}")
    5.94

    Source: CALC; with nothing but an acceleration a it is SSF g/a.
    """
    holding, tipping = tip_moments(mass, offset, height, reach, acceleration, tilt)
    driving = np.sum(tipping) + pull * pull_height
    return float(np.sum(holding) / driving) if driving > 0 else np.inf


def worst_tip(fixed, loads, reach, acceleration=0.0, tilt=0.0, pull=0.0, pull_height=0.0):
    """Load state in which a wagon is nearest to tipping about an edge, exact.

    fixed: mass, offset towards the edge and height of what is always there, shape (k, 3) [g], [mm] and [mm]
    loads: the same of what each full seat holds, shape (n, 3) [g], [mm] and [mm]
    reach: from the middle of the wagon to the edge, half the wheels' spacing or half the wheelbase [mm]
    acceleration: of the wagon, away from the edge [mm/s2], 0 or more
    tilt: lean of the floor towards the edge [rad], 0 or more
    pull: force of the couplers towards the edge [N], 0 or more
    pull_height: height of the couplers over the rails [mm]
    Returns (margin [1], state), the state as n booleans; an infinite margin and no seat full where nothing
    tips it.

    >>> margin, state = worst_tip([[150, 0, 20]], [[100, 12, 60], [100, -12, 60]], 20, 500)
    >>> print(f"{margin:.2f}", state)
    8.28 [ True False]

    Source: CALC, `tip_margin` is a ratio of two sums, see `load.worst_ratio`.
    """
    fixed, loads = np.reshape(fixed, (-1, 3)), np.reshape(loads, (-1, 3))
    holding, tipping = (part.sum() for part in tip_moments(*fixed.T, reach, acceleration, tilt))
    below = tipping + pull * pull_height
    if not below > 0:
        return np.inf, np.zeros(len(loads), dtype=bool)
    return worst_ratio(holding, below, *tip_moments(*loads.T, reach, acceleration, tilt))


def axle_loads(masses, positions, front, rear):
    """Weight that each of two axles, or bogies, carries.

    F = g sum of m (x - x_r)/(x_f - x_r) in front, what is left in the rear

    masses: masses m of the parts, shape (n,) [g]
    positions: place x of each centre along the wagon, shape (n,) [mm]
    front: place x_f of the front axle [mm]
    rear: place x_r of the rear axle, behind the front one [mm]
    Returns (front, rear) [N]; negative where the wagon would fall over that far end.

    >>> print("{:.3f} {:.3f}".format(*axle_loads([100, 50], [0, 20], 35, -35)))
    0.876 0.595

    Source: CALC, a lever.
    """
    weights = np.asarray(masses, dtype=float) * GRAVITY * _NEWTON
    share = (np.asarray(positions, dtype=float) - rear) / (front - rear)
    return float((weights * share).sum()), float((weights * (1 - share)).sum())


def worst_axle_share(fixed, loads, front, rear):
    """Load state in which one axle carries the least share of the wagon, exact.

    fixed: mass and place along the wagon of what is always there, shape (k, 2) [g] and [mm]
    loads: the same of what each full seat holds, shape (n, 2) [g] and [mm]
    front: place of the front axle [mm]
    rear: place of the rear axle, behind the front one [mm]
    Returns (share of the lighter axle [1], state), the state as n booleans.

    >>> share, state = worst_axle_share([[150, 0]], [[100, 20], [100, -20]], 35, -35)
    >>> print(f"{share:.3f}", state)
    0.386 [False  True]

    Source: CALC, `axle_loads` over the sum of both is a ratio of two sums, see `load.worst_ratio`.
    """
    fixed, loads = np.reshape(fixed, (-1, 2)), np.reshape(loads, (-1, 2))
    found = []
    for near, far in ((rear, front), (front, rear)):
        base, extra = (part[:, 0] * (part[:, 1] - near) / (far - near) for part in (fixed, loads))
        found.append(worst_ratio(base.sum(), fixed[:, 0].sum(), extra, loads[:, 0]))
    return min(found, key=lambda worst: worst[0])


def joint_tilt(step, span):
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


def nadal_limit(flange_angle, friction):
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


def string_line_force(pull, coupler_spacing, radius):
    """Sideways force by which a pulled train draws each wagon towards the inside of a curve.

    N = 2 F sin(Lc/(2 R))

    pull: pulling force F in the couplers [N]
    coupler_spacing: from coupler to coupler of one wagon, Lc [mm]
    radius: curve radius R of the track centre line [mm], above 0
    Returns the force [N].

    >>> print(f"{string_line_force(2, 120, 300):.3f}")
    0.795

    Source: CALC, a chain of equal links on a circle, worked out here.
    """
    return 2 * pull * np.sin(np.divide(coupler_spacing, 2 * np.asarray(radius, dtype=float)))


def cup_slide(friction, tilt=0.0):
    """Level acceleration at which a cup slides on its seat.

    a = g tan(atan(mu) - t)

    friction: coefficient mu of friction between cup and seat [1]
    tilt: lean t of the floor in the way it would slide [rad]
    Returns the acceleration [mm/s2], negative where it slides of itself.

    >>> print(f"{cup_slide(0.3):.0f}")
    2942

    Source: CALC, Coulomb's friction on a slope.
    """
    return GRAVITY * np.tan(np.arctan(friction) - tilt)


def cup_tip(reach, height, tilt=0.0):
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


def cup_climb(lean, friction, tilt=0.0):
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
