"""Small strong magnets as couplers: field, pull across a gap, and how dangerous they are when loose.

All magnets are cylinders magnetised along their axis. Lengths come in mm; inside, N and T need metres.

Marks in the Source lines: SEEN, read in the source; MEM, from memory; CALC, worked out.
"""

import numpy as np

from partgen.formulas import Numbers

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


def axis_field(remanence: Numbers, radius: Numbers, length: Numbers, distance: Numbers) -> Numbers:
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


def pull(remanence: float, radius: Numbers, length: Numbers, gap: Numbers) -> Numbers:
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


def _coaxial(s: Numbers) -> np.ndarray:
    """I(s) of `pull` without Bessel functions.

    Neumann: J1(q)^2 = (2/pi) integral of J2(2 q sin t) dt over a quarter turn, and the Laplace transform of
    J2(a q)/q is half the square of a/(sqrt(s^2 + a^2) + s).
    """
    s = np.asarray(s, dtype=float)[..., None]
    return (np.square(2 * _SINES / (np.sqrt(s**2 + 4 * _SINES**2) + s)) * _SHARES).sum(axis=-1)


def share_out_of_line(radius: float, length: float, gap: float, offset: float) -> float:
    """Axial force between two equal magnets whose axes lie beside each other, over that on one axis.

    Each pole face is a charged disc. Two faces a distance z apart pull with the integral, over all vectors p
    between a point of one and a point of the other, of a(p - d) z/(p^2 + z^2)^(3/2), where a is the area that two
    discs share whose centres lie that far apart: the same as J0(q d/R) put into the integral of `pull`.

    radius: radius R of either magnet [mm], above 0
    length: length L of either magnet [mm], above 0
    gap: distance from pole face to pole face along the axes [mm], 0 or more
    offset: between the two axes, d [mm]
    Returns the share [1], 1 in line, negative where they push each other apart.

    >>> print(f"{share_out_of_line(3, 3, 1, 1.5):.2f} {share_out_of_line(3, 3, 1, 6):.2f}")
    0.76 -0.10

    Source: CALC from Vokoun et al. as `pull`.
    """
    def force(aside: float) -> float:
        return sum(sign * _faces((gap + k * length) / radius, aside) for k, sign in ((0, 1), (1, -2), (2, 1)))

    return force(abs(offset) / radius) / force(0.0)


def _faces(z: float, aside: float) -> float:
    """Pull of two faces of radius 1, `z` apart and their centres `aside` of each other, in parts of no matter.

    In rings about the kernel's own peak: u = 1 - z/sqrt(t^2 + z^2) takes its whole weight, so what is left is smooth.
    """
    u = (1 + _NODES) / 2 * (1 - z / np.hypot(z, 2 + aside))
    ring = z * np.sqrt(1 / (1 - u)**2 - 1)
    turn = np.pi * (1 + _NODES[:, None]) / 2
    apart = np.minimum(np.abs(ring * np.exp(1j * turn) - aside), 2.0)
    shared = 2 * np.arccos(apart / 2) - apart / 2 * np.sqrt(4 - apart**2)
    return float(_WEIGHTS @ shared @ _WEIGHTS * (1 - z / np.hypot(z, 2 + aside)))


def flux_index(remanence: float, radius: Numbers, length: Numbers) -> Numbers:
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
