"""Small strong magnets as couplers: field, pull across a gap, and how dangerous they are when loose.

All magnets are cylinders magnetised along their axis. Lengths come in mm; inside, N and T need metres.

Marks in the Source lines: SEEN, read in the source; MEM, from memory; CALC, worked out.
"""

import numpy as np

MU_0 = 4e-7 * np.pi
"""Magnetic constant [T m/A]."""

DERATING = 0.8
"""Share of the computed pull to count on [1]. SEEN: EUREKA Phys. Eng. 4 (2021) 141 (abstract) measured up to
13.6 % less than the model; the rest is for magnets that do not face squarely."""

PROBE_HEIGHT = 0.38
"""Height over the pole at which the flux index is measured [mm]. SEEN, Canada SOR/2011-17 schedule 10."""

FLUX_INDEX_LIMIT = 50.0
"""Flux index [kG2 mm2] from which a loose magnet counts as hazardous. SEEN, 16 CFR 1262.2."""

# Half a circle in nodes that crowd towards 0, where the integrand of _coaxial is steep for a small gap.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(64)
_SINES = np.sin(np.pi / 2 * ((1 + _NODES) / 2) ** 3)
_SHARES = 3 * np.pi / 4 * ((1 + _NODES) / 2) ** 2 * _WEIGHTS / np.pi


def axis_field(remanence, radius, length, distance):
    """Flux density on the axis of a magnet, outside it.

    B = (Br/2) [(L + z)/sqrt(R^2 + (L + z)^2) - z/sqrt(R^2 + z^2)]

    remanence: remanent flux density Br [T]
    radius: radius R of the magnet [mm], above 0
    length: length L of the magnet [mm]
    distance: distance z from the pole face [mm], 0 or more
    Returns the flux density [T].

    >>> print(f"{axis_field(1.32, 10, 5, 5):.4f}")
    0.1715

    Source: SEEN on two magnet calculators' pages.
    """
    far = np.add(length, distance)
    return remanence / 2 * (far / np.hypot(radius, far) - distance / np.hypot(radius, distance))


def pull(remanence, radius, length, gap):
    """Force between two equal magnets on one axis that attract each other, exact for even magnetisation.

    F = (pi Br^2 R^2/mu0) [I(x/R) - 2 I((x + L)/R) + I((x + 2 L)/R)],
    I(s) = integral of J1(q)^2 exp(-q s)/q dq from 0 to infinity

    remanence: remanent flux density Br [T]
    radius: radius R of either magnet [mm], above 0
    length: length L of either magnet [mm]
    gap: distance x from pole face to pole face [mm], 0 or more, a float or an array
    Returns the force [N]; count on `DERATING` times that.

    >>> print(pull(1.2, 3, 3, np.array([0, 0.5, 1, 2])).round(3))
    [10.191  6.269  4.46   2.505]

    Source: Vokoun et al., J. Magn. Magn. Mater. 321 (2009) 3758, abstract SEEN, equations MEM; CALC.
    """
    x, step = np.divide(gap, radius), np.divide(length, radius)
    faces = _coaxial(x) - 2 * _coaxial(x + step) + _coaxial(x + 2 * step)
    return np.pi * np.square(remanence * radius / 1000) / MU_0 * faces


def _coaxial(s):
    """I(s) of `pull` without Bessel functions.

    Neumann: J1(q)^2 = (2/pi) integral of J2(2 q sin t) dt over a quarter turn, and the Laplace transform of
    J2(a q)/q is half the square of a/(sqrt(s^2 + a^2) + s).
    """
    s = np.asarray(s, dtype=float)[..., None]
    return (np.square(2 * _SINES / (np.sqrt(s**2 + 4 * _SINES**2) + s)) * _SHARES).sum(axis=-1)


def gap_for_pull(remanence, radius, length, force):
    """Widest gap across which two equal magnets still pull with a force.

    remanence: remanent flux density Br [T]
    radius: radius R of either magnet [mm], above 0
    length: length L of either magnet [mm]
    force: the force wanted, derating already taken off [N], above 0
    Returns the gap [mm], to 1e-6 mm, or 0 where they are too weak even when they touch.

    >>> print(f"{gap_for_pull(1.2, 3, 3, 4.46):.3f}")
    1.000

    Source: CALC, `pull` solved for the gap by halving.
    """
    near, far = 0.0, 100.0 * (radius + length)
    while far - near > 1e-6:
        middle = (near + far) / 2
        near, far = (middle, far) if pull(remanence, radius, length, middle) > force else (near, middle)
    return near


def dipole_pull(remanence, radius, length, distance):
    """What the pull of two equal magnets tends to when they are far apart.

    F = 3 mu0 m^2/(2 pi r^4), m = Br V/mu0

    remanence: remanent flux density Br [T]
    radius: radius of either magnet [mm]
    length: length of either magnet [mm]
    distance: from middle to middle, r [mm], above 0
    Returns the force [N].

    >>> print(f"{1000 * dipole_pull(1.2, 3, 3, 30):.2f} mN")
    4.86 mN

    Source: two dipoles on one axis, textbook, MEM.
    """
    moment = remanence * np.pi * np.square(radius, dtype=float) * length * 1e-9 / MU_0
    return 3 * MU_0 * moment**2 / (2 * np.pi * np.power(np.divide(distance, 1000), 4))


def contact_pull(remanence, radius):
    """What the pull of two equal touching magnets tends to when they are very long.

    F = Br^2 A/(2 mu0)

    remanence: remanent flux density Br [T]
    radius: radius of either magnet [mm]
    Returns the force [N].

    >>> print(f"{contact_pull(1.0, 5):.2f}")
    31.25

    Source: pressure of a magnetic field, textbook, MEM.
    """
    return np.square(remanence) * np.pi * np.square(np.divide(radius, 1000)) / (2 * MU_0)


def flux_index(remanence, radius, length):
    """How dangerous a magnet is when swallowed: square of the flux density at the probe times the pole area.

    B(0.38 mm)^2 pi R^2 with B in kG and R in mm. B on the axis is the least over a wide pole, so this is a
    lower estimate: at or over the limit is certain, well under it is likely.

    remanence: remanent flux density Br [T]
    radius: radius R of the magnet [mm]
    length: length L of the magnet [mm]
    Returns the index [kG2 mm2], to hold against `FLUX_INDEX_LIMIT`.

    >>> print(f"{flux_index(1.2, 3, 3):.0f}")
    394

    Source: SEEN, 16 CFR 1262 by the method of ASTM F963-17 8.25, probe as in SOR/2011-17 schedule 10.
    """
    return np.square(10 * axis_field(remanence, radius, length, PROBE_HEIGHT)) * np.pi * np.square(radius)
