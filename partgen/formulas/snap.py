"""Snaps: how far an arm may bend, with what force, and the push that this takes.

Marks in the Source lines: SEEN, read in the source; SEEN-2, read on a secondary page; CALC, worked out.
"""

from math import acos, cos, inf, pi, sin, tan

STEPS = 25              # on a round bar's way through its lips: the peak comes out within half a per cent


def arm_strain(thickness: float, length: float, deflection: float, root: float = 0.0) -> float:
    """Largest strain of a straight snap arm of one cross-section, bent aside at its end.

    e = 3 y t L/(2 (L + r t)^3)

    thickness: of the arm t, in the direction it bends [mm]
    length: root to where it is pushed, L [mm], above 0
    deflection: how far the end is pushed aside, y [mm]
    root: how much longer the arm bends than it is, since what it stands on gives way too, over its thickness: r [1]
    Returns the strain at the root's surface [1].

    >>> print(f"{arm_strain(1.6, 8.76, 0.8):.4f}")
    0.0250

    Source: SEEN, "Calculations for Cantilever Beam Snap Fits", Penn State Behrend plastics course
    (engr.bd.psu.edu/pkoch/plasticdesign/snap_calc.htm), figure 1a; the worked example is filamentfeed.com's.
    """
    return 1.5 * deflection * thickness * length / (length + root * thickness)**3


def arm_length(thickness: float, deflection: float, strain: float) -> float:
    """Shortest straight snap arm of one cross-section that keeps to a strain, on a root that does not give way.

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


def arm_force(modulus: float, width: float, thickness: float, length: float, deflection: float,
              root: float = 0.0) -> float:
    """Sideways force at the end of a straight snap arm of one cross-section.

    P = E b t^3 y/(4 (L + r t)^3)

    modulus: Young's modulus E [MPa]; E/(1 - nu^2) for an arm much wider than thick
    width: of the arm b [mm]
    thickness: of the arm t, in the direction it bends [mm]
    length: root to where it is pushed, L [mm], above 0
    deflection: how far the end is pushed aside, y [mm]
    root: as for `arm_strain` [1]
    Returns the force [N].

    >>> print(f"{arm_force(2300, 5, 1.6, 12, 0.8):.2f}")
    5.45

    Source: SEEN-2, as `arm_strain`: P = b t^2 E e/(6 L).
    """
    return modulus * width * deflection / 4 / (length / thickness + root)**3


def hung_give(modulus: float, width: float, thickness: float, span: float, lever: float, root: float = 0.0) -> float:
    """How far the end of an arm gives for 1 N across it because the plate that it hangs from bends.

    y/P = 12 (a + r t) h^2/(E b t^3)

    modulus: Young's modulus E [MPa], as for `arm_force`
    width: of the plate b [mm], above 0
    thickness: of the plate t [mm], above 0
    span: from where the plate is held fast to the arm, a [mm]
    lever: from the plate's middle down to the push, h [mm]
    root: as for `arm_strain` [1], of the plate
    Returns the give [mm/N], beside the arm's own.

    >>> print(f"{hung_give(3500, 20, 3, 16, 13):.4f}")
    0.0172

    Source: CALC, a beam bent by the moment P h at its end turns by P h a/(E I), and the arm with it.
    """
    return 12 * (span + root * thickness) * lever**2 / (modulus * width * thickness**3)


def pushed_width(whole: float, ends: float, length: float, thickness: float) -> float:
    """How wide an arm would be that, pushed all along its edge, gives as one pushed on both ends of that edge alone.

    b' = b/(1 + (b/w)^4)^(1/4), w = 2 e + 1.5 L - t

    whole: width of the arm b [mm], above 0
    ends: what is pushed at either end of it, e [mm]
    length: root to where it is pushed, L [mm]
    thickness: of the arm t [mm]
    Returns the width [mm], less than the whole one.

    >>> print(f"{pushed_width(28.5, 3, 9, 1.1):.1f}")
    17.7

    Source: CALC, fitted to finite elements for b from 13 to 52, e from 2 to 4, L from 6.5 to 20 and t of 1 and 2 mm,
    within 12 %: a push spreads as it nears the root.
    """
    return whole / (1 + (whole / (2 * ends + 1.5 * length - thickness))**4)**0.25


def slenderness(modulus: float, width: float, deflection: float, force: float) -> float:
    """Length over thickness of a straight snap arm that takes a given sideways force.

    L/t = (E b y/(4 P))^(1/3), of which the root's own share r is to be taken off

    modulus: Young's modulus E [MPa], as for `arm_force`
    width: of the arm b [mm]
    deflection: how far the end is pushed aside, y [mm]
    force: P [N], above 0
    Returns the length over the thickness [1].

    >>> print(f"{slenderness(2300, 5, 0.8, 5.45):.2f}")
    7.50

    Source: `arm_force` solved for the length.
    """
    return (modulus * width * deflection / 4 / force)**(1 / 3)


def wedge(friction: float, slope: float) -> float:
    """Push on a snap's flank over the sideways force that it takes to bend the arm.

    W/P = (mu + tan a)/(1 - mu tan a)

    friction: coefficient mu [1], below 1/tan a
    slope: of the flank from the direction of the push, a [rad]
    Returns the push over the sideways force [1].

    >>> print(f"{5.45 * wedge(0.4, 0.5236):.2f}")
    6.93

    Source: SEEN-2, as `arm_strain`; 6.93 N for 0.4 and 30 degrees.
    """
    return (friction + tan(slope)) / (1 - friction * tan(slope))


def lips_push(share: float, friction: float, flare: float = pi / 2, lean: float = 0.0) -> float:
    """Largest push of a round bar between two snap arms, over the sideways force that holds one fully open.

    W/P = 2 max u w/(1 - k w), w = (mu + tan a)/(1 - mu tan a), cos a = s + (1 - s) u, a at most f

    The lips' sharp edges touch the bar at an angle a from the level of its middle; u of the way they are open.

    share: opening over the bar's diameter, s [1], below 1
    friction: coefficient mu [1], below 1/tan a
    flare: slope f of the lips' outer flanks from upright, which the bar meets first where they are steeper [rad]
    lean: how far a force along the arms closes them, over how far one across opens them: k [1]; below 0 on the way out
    Returns the push over the sideways force [1]; infinite where the push closes the lips faster than it opens them.

    >>> print(f"{lips_push(0.906, 0.3):.2f} {lips_push(0.966, 0.3):.2f}")
    0.84 0.71

    Source: CALC, statics of a wedge; a C-clip on a shaft gives the same figures.
    """
    opened = [step / STEPS for step in range(STEPS + 1)]
    rises = ((u, wedge(friction, min(acos(share + (1 - share) * u), flare))) for u in opened)
    return 2 * max(u * rise / (1 - lean * rise) if lean * rise < 1 else inf for u, rise in rises)


def arc_give(angle: float) -> float:
    """How much the end of a circular arm gives along the force on it, across the opening.

    y = c F R^3/(E I), c = phi (1/2 + cos^2 phi) - 3/4 sin 2 phi

    angle: from the root to the end, phi [rad]
    Returns c [1].

    >>> [round(arc_give(pi / 180 * wrap / 2), 3) for wrap in (210, 240)]
    [1.414, 2.22]

    Source: CALC, Castigliano's theorem on a slender bar bent about a circle; 3 pi/2 at a half turn, as of a piston
    ring cut open.
    """
    return angle * (0.5 + cos(angle)**2) - 0.75 * sin(2 * angle)


def ring_force(modulus: float, section: float, radius: float, closing: float) -> float:
    """Force across the slit of a split ring that closes it by a given way.

    F = E I s/(2 c R^3) with c of two half turns; pressed in evenly all round it bends alike under 2 pi F in all

    modulus: Young's modulus E [MPa]
    section: second moment of the ring's section for bending in its plane, I [mm4]
    radius: of its middle line R [mm]
    closing: how much narrower the slit becomes, s [mm]
    Returns the force [N].

    >>> print(f"{ring_force(3500, 67.5, 25, 2.04):.2f}")
    3.27

    Source: CALC, `arc_give` twice; the even pressure's moment F R (1 + cos phi) is that of the pair of forces.
    """
    return modulus * section * closing / (2 * arc_give(pi) * radius**3)


def ring_strain(thickness: float, radius: float, closing: float) -> float:
    """Largest strain of a split ring whose slit is closed by a given way.

    e = t s/(2 c R^2) with c of two half turns

    thickness: of the ring, outwards, t [mm]
    radius: of its middle line R [mm]
    closing: how much narrower the slit becomes, s [mm]
    Returns the strain opposite the slit [1].

    >>> print(f"{ring_strain(3, 25, 2.04):.5f}")
    0.00104

    Source: CALC, as `ring_force`: its moment is 2 F R there.
    """
    return thickness * closing / (2 * arc_give(pi) * radius**2)
