"""What it takes to move the train: rolling, curves, gradients, and what the locomotive's wheels can hold.

Marks in the Source lines: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory;
CALC, worked out.
"""

import numpy as np

from partgen.formulas.constants import GRAVITY

_NEWTON = 1e-6  # of one g mm/s2


def rolling_coefficient(bearing_friction, axle_diameter, wheel_diameter, rolling=0.001):
    """Rolling resistance in parts of the weight, of wheels whose axles turn in plain bearings.

    c = F d/D + f

    bearing_friction: coefficient F of friction of axle in bearing [1], 0.2 for dry steel in plastic (MEM)
    axle_diameter: diameter d of the axle where it bears [mm]
    wheel_diameter: diameter D of the tread [mm], above 0
    rolling: coefficient f of wheel on rail [1]
    Returns the coefficient [1].

    >>> print(f"{rolling_coefficient(0.2, 3, 17):.4f}")
    0.0363

    Source: SEEN, Molesworth, Pocket-book of Engineering Formulae, resistance of trains, f "say .001".
    """
    return bearing_friction * np.divide(axle_diameter, wheel_diameter) + rolling


def weight(mass):
    """Weight of a mass.

    m g

    mass: mass m [g]
    Returns the weight [N].

    >>> print(f"{weight(100):.4f}")
    0.9807

    Source: standard gravity.
    """
    return np.multiply(mass, GRAVITY * _NEWTON)


def rolling_resistance(mass, coefficient):
    """Force against rolling on straight and level track.

    c m g

    mass: mass m of the wagon [g]
    coefficient: rolling resistance c in parts of the weight, by `rolling_coefficient` or a coasting test [1]
    Returns the force [N].

    >>> print(f"{rolling_resistance(300, 0.036):.4f}")
    0.1059

    Source: CALC, by the definition of the coefficient.
    """
    return coefficient * weight(mass)


def curve_resistance(mass, radius, spacing, wheelbase, friction):
    """Further force on a curve, where wheels fixed to their axles and axles held parallel must slide.

    W F (D + L)/(2 R). Per length of way each wheel slides D/(2R) along the rail, since the two rails differ
    in length, and L/(2R) across it, since its axle does not point at the centre. Both together slide
    hypot(D, L)/(2R): adding them is the safe side. Bogies: their own wheelbase.

    mass: mass of the wagon, W its weight [g]
    radius: curve radius R of the track centre line [mm], above 0
    spacing: between the treads on the two rails, D [mm]
    wheelbase: axle to axle of the rigid frame, or of the bogie, L [mm]
    friction: coefficient F of friction of wheel on rail [1], .1 to .27 by weather for iron
    Returns the force [N].

    >>> print(f"{curve_resistance(300, 320, 38, 70, 0.25):.4f}")
    0.1241

    Source: Morrison in Molesworth, Pocket-book of Engineering Formulae, resistance of curves, SEEN, with the
    denominator lost in print; CALC, which gives 2R.
    """
    return friction * weight(mass) * np.add(spacing, wheelbase) / (2 * np.asarray(radius, dtype=float))


def gradient_force(mass, slope):
    """Force of the weight down a slope.

    m g sin(s)

    mass: mass m [g]
    slope: angle s of the track to the level, uphill positive [rad]
    Returns the force against the run [N], negative downhill.

    >>> print(f"{gradient_force(300, np.arctan(0.02)):.4f}")
    0.0588

    Source: CALC, a body on a slope.
    """
    return weight(mass) * np.sin(slope)


def inertia_force(mass, acceleration):
    """Force that speeds a mass up.

    m a

    mass: mass m [g]
    acceleration: acceleration a along the track [mm/s2]
    Returns the force [N], negative while braking.

    >>> print(f"{inertia_force(300, 500):.4f}")
    0.1500

    Source: Newton's second law.
    """
    return np.multiply(mass, acceleration) * _NEWTON


def adhesion_limit(mass, adhesion, slope=0.0):
    """Largest pull that driven wheels hold without slipping.

    mu m g cos(s)

    mass: mass m on the driven wheels [g]
    adhesion: coefficient mu of adhesion of wheel on rail [1]
    slope: angle s of the track to the level [rad]
    Returns the force at the rail [N].

    >>> print(f"{adhesion_limit(420, 0.2):.3f}")
    0.824

    Source: CALC, Coulomb's friction.
    """
    return adhesion * weight(mass) * np.cos(slope)


def coupling_pulls(resistances):
    """Pull in each coupling of a train: what all behind it needs.

    resistances: force against each wagon, front to back, shape (n,) [N]
    Returns the pull at the front of each wagon, shape (n,) [N].

    >>> print(coupling_pulls([0.1, 0.2, 0.3]).round(3))
    [0.6 0.5 0.3]

    Source: CALC, a sum from the rear.
    """
    return np.cumsum(np.asarray(resistances, dtype=float)[::-1])[::-1]


def coasting_deceleration(coefficient, slope=0.0):
    """How fast a train slows down that rolls freely.

    g (c cos(s) + sin(s))

    coefficient: rolling resistance c in parts of the weight [1]
    slope: angle s of the track to the level, uphill positive [rad]
    Returns the deceleration [mm/s2], negative where it runs away.

    >>> print(f"{coasting_deceleration(0.036):.0f}")
    353

    Source: CALC, Newton's second law.
    """
    return GRAVITY * (coefficient * np.cos(slope) + np.sin(slope))


def locked_deceleration(locomotive, wagons, adhesion, coefficient):
    """How fast a train slows down whose locomotive locks its wheels when its power is cut.

    g (mu m_l + c m_w)/(m_l + m_w): a worm gear cannot be driven from its wheels.

    locomotive: mass m_l of the locomotive on locked wheels [g]
    wagons: mass m_w of all wagons [g]
    adhesion: coefficient mu of friction of the sliding wheels [1]
    coefficient: rolling resistance c of the wagons in parts of their weight [1]
    Returns the deceleration [mm/s2].

    >>> print(f"{locked_deceleration(420, 900, 0.2, 0.036):.0f}")
    865

    Source: CALC, Newton's second law.
    """
    forces = np.multiply(adhesion, locomotive) + np.multiply(coefficient, wagons)
    return GRAVITY * forces / np.add(locomotive, wagons)
