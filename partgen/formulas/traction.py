"""Running: what it takes to move the train, what the locomotive's wheels hold, speed in curves, markers, run time.

Marks in the Source lines: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory;
CALC, worked out.
"""

import numpy as np
from numpy.typing import ArrayLike

from partgen.formulas import GRAVITY, NEWTON, Numbers


def weight(mass: Numbers) -> Numbers:
    """Weight of a mass.

    m g

    mass: mass m [g]
    Returns the weight [N].

    >>> print(f"{weight(100):.4f}")
    0.9807

    Source: standard gravity.
    """
    return np.multiply(mass, GRAVITY * NEWTON)


def rolling_resistance(mass: Numbers, coefficient: Numbers) -> Numbers:
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


def curve_resistance(mass: Numbers, radius: Numbers, spacing: Numbers, wheelbase: Numbers,
                     friction: Numbers) -> Numbers:
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


def gradient_force(mass: Numbers, slope: Numbers) -> Numbers:
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


def inertia_force(mass: Numbers, acceleration: Numbers) -> Numbers:
    """Force that speeds a mass up.

    m a

    mass: mass m [g]
    acceleration: acceleration a along the track [mm/s2]
    Returns the force [N], negative while braking.

    >>> print(f"{inertia_force(300, 500):.4f}")
    0.1500

    Source: Newton's second law.
    """
    return np.multiply(mass, acceleration) * NEWTON


def adhesion_limit(mass: Numbers, adhesion: Numbers, slope: Numbers = 0.0) -> Numbers:
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


def coupling_pulls(resistances: ArrayLike) -> np.ndarray:
    """Pull in each coupling of a train: what all behind it needs.

    resistances: force against each wagon, front to back, shape (n,) [N]
    Returns the pull at the front of each wagon, shape (n,) [N].

    >>> print(coupling_pulls([0.1, 0.2, 0.3]).round(3))
    [0.6 0.5 0.3]

    Source: CALC, a sum from the rear.
    """
    return np.cumsum(np.asarray(resistances, dtype=float)[::-1])[::-1]


def locked_deceleration(locomotive: Numbers, wagons: Numbers, adhesion: Numbers, coefficient: Numbers) -> Numbers:
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


def marker_ahead(speed: Numbers, sample_time: Numbers, stop_distance: Numbers) -> Numbers:
    """How far ahead of a stop its marker begins, so that the train never runs past.

    d = s + v t_s: the sensor may see the marker up to one sample late.

    speed: running speed v [mm/s]
    sample_time: time between two readings of the sensor, t_s [s]
    stop_distance: way of the stop ramp, s [mm]
    Returns the distance from the marker's near end to where the sensor may stand at the latest [mm]; the
    stops scatter over the v t_s before it.

    >>> print(f"{marker_ahead(250, 0.02, 125):.1f}")
    130.0

    Source: CALC, worst moment between two samples.
    """
    return stop_distance + np.multiply(speed, sample_time)


def marker_length(speed: Numbers, sample_time: Numbers, samples: int = 2) -> Numbers:
    """Shortest marker that the sensor is sure to see.

    l = n v t_s

    speed: running speed v [mm/s]
    sample_time: time between two readings of the sensor, t_s [s]
    samples: readings n that must fall on the marker, two to tell it from a glitch [1]
    Returns the length [mm].

    >>> print(f"{marker_length(250, 0.02):.1f}")
    10.0

    Source: CALC; two samples are common practice, no source.
    """
    return samples * np.multiply(speed, sample_time)


def run_time(capacity: float, cell_voltage: float, efficiency: float, load_voltage: float,
             load_current: float) -> float:
    """How long a battery drives a load through a converter.

    t = Q U eta/(U_load I_load)

    capacity: charge Q of the battery [mAh]
    cell_voltage: mean voltage U at which that charge is counted [V], 3.7 V for most power banks
    efficiency: share eta of the energy that leaves the converter [1], above 0, at most 1
    load_voltage: voltage U_load of what is fed [V], above 0
    load_current: mean current I_load measured there [A], above 0
    Returns the time [s]; ValueError where efficiency or load is out of range.

    >>> print(f"{run_time(5000, 3.7, 0.85, 5.0, 0.4) / 3600:.2f} h")
    7.86 h

    Source: CALC, conservation of energy.
    """
    if not 0 < efficiency <= 1:
        raise ValueError(f"an efficiency of {efficiency:g} is outside 0 to 1")
    if not (load_voltage > 0 and load_current > 0):
        raise ValueError(f"a load of {load_voltage:g} V and {load_current:g} A is none: both must be above 0")
    return 3.6 * capacity * cell_voltage * efficiency / (load_voltage * load_current)
