"""Snap arms: how far the plastic is stretched when one bends.

Marks in the Source lines: SEEN, read in the source; CALC, worked out.
"""

from math import cos, sin


def arm_strain(thickness, length, deflection):
    """Largest strain of a straight snap arm of one cross-section, bent aside at its end.

    e = 3 y t/(2 L^2)

    thickness: of the arm t, in the direction it bends [mm]
    length: root to where it is pushed, L [mm], above 0
    deflection: how far the end is pushed aside, y [mm]
    Returns the strain at the root's surface [1].

    >>> print(f"{arm_strain(1.6, 8.76, 0.8):.4f}")
    0.0250

    Source: SEEN, "Calculations for Cantilever Beam Snap Fits", Penn State Behrend plastics course
    (engr.bd.psu.edu/pkoch/plasticdesign/snap_calc.htm), figure 1a; the worked example is filamentfeed.com's.
    """
    return 1.5 * deflection * thickness / length**2


def arm_length(thickness, deflection, strain):
    """Shortest straight snap arm of one cross-section that keeps to a strain.

    L = sqrt(3 y t/(2 e))

    thickness: of the arm t, in the direction it bends [mm]
    deflection: how far the end is pushed aside, y [mm]
    strain: largest strain e allowed [1], above 0
    Returns the length from root to where the arm is pushed [mm].

    >>> print(f"{arm_length(1.6, 0.8, 0.025):.2f}")
    8.76

    Source: SEEN, as `arm_strain`, solved for the length.
    """
    return (1.5 * deflection * thickness / strain)**0.5


def arc_strain(thickness, radius, below, above, deflection):
    """Largest strain of a snap arm that is an arc, as on either side of a bore open downwards.

    The arm is an arc of mean radius R that runs from its end, an angle a below the bore's middle, to its root,
    an angle b above it. A level push at its end bends it at the angle p by the lever R (sin p + sin a):

    e = y t/2 * R (sin b + sin a)/(R^3 [(b + a)/2 - (sin 2b + sin 2a)/4 + 2 sin a (cos a - cos b)
    + sin^2 a (a + b)])

    The straight arm's formula is the same quotient, largest lever over the sum of squared levers.

    thickness: of the arm t, in the plane of the arc [mm]
    radius: of the arm's middle line R [mm], above 0
    below: a [rad]
    above: b [rad], above -a
    deflection: how far the end is pushed outward, y [mm]
    Returns the strain at the root's surface [1], by the theory of slender bars.

    >>> print(f"{arc_strain(2.2, 2.8, 0.58, 1.22, 0.12):.4f}")
    0.0157

    Source: CALC, Castigliano's theorem on a slender bar bent about a circle.
    """
    a, b = below, above
    squared = ((a + b) / 2 - (sin(2 * b) + sin(2 * a)) / 4 + 2 * sin(a) * (cos(a) - cos(b))
               + sin(a)**2 * (a + b))
    return deflection * thickness / 2 * (sin(b) + sin(a)) / (radius**2 * squared)
