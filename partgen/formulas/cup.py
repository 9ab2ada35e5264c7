"""A cup that narrows towards its foot: how fast its liquid swings, how high it climbs, how full it may be.

The equivalent cylinder of such a cup is the one with the radius at the liquid's surface and the same depth.
It contains the cup, and a vessel inside another with the same surface never swings faster, so it errs to one
side only: too fast. `tapered_omega` closes the gap.

Marks in the Source lines: MEM, from memory; CALC, worked out.
"""

import numpy as np

from partgen.formulas.constants import GRAVITY

_DEGREE = 8  # of the trial functions; up to 45 degrees and 3 radii deep, 11 of them change under 0.04 %
_STILL = 3.0  # radii under the surface: what lies deeper does not move, tanh(3 xi) = 1 - 3e-5
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


def tapered_omega(heights, radii):
    """Angular frequency of the first mode in an upright cup of any turned shape.

    omega^2 = g min over phi of (integral of |grad phi|^2 in the liquid)/(integral of phi^2 on its surface),
    phi among the solid harmonics of order 1 up to degree 8 (Rayleigh and Ritz), so hardly below the truth.

    heights: points of the inner wall over the inner floor, from 0 to the surface, rising, shape (n,) [mm]
    radii: inner radius at each of them, shape (n,) [mm], above 0 at the surface
    Returns the angular frequency [rad/s], at most that of `slosh.omega` with the radius at the surface and,
    for walls that lean up to 45 degrees, within 0.1 % of the truth.

    >>> print(f"{tapered_omega([0, 40], [25, 25]):.2f} {tapered_omega([0, 40], [18, 25]):.2f}")
    26.80 25.62

    Source: CALC, the variational principle of small waves in a vessel (textbook, MEM).
    """
    size, top = radii[-1], heights[-1]
    floor = max(heights[0], top - _STILL * size)
    moved = np.greater(heights, floor)
    r = np.concatenate([[0.0, np.interp(floor, heights, radii)], np.compress(moved, radii), [0.0]]) / size
    z = (np.concatenate([[floor, floor], np.compress(moved, heights), [top]]) - top) / size
    energy, surface = _boundary_integrals(r, z)
    # Stiffness is a definite matrix, surface is not: ask for the largest 1/lambda, not the least lambda.
    root = np.linalg.cholesky(energy)
    half = np.linalg.solve(root, np.linalg.solve(root, surface).T)
    return float(np.sqrt(GRAVITY / size / np.linalg.eigvalsh(half)[-1]))


def _boundary_integrals(r, z):
    """Energy and surface matrices of the trial functions, along the outline floor, wall, surface.

    The functions are harmonic, so the energy in the liquid is a sum over its boundary alone.
    """
    span_r, span_z = np.diff(r)[:, None], np.diff(z)[:, None]
    share = (1 + _NODES) / 2
    at_r, at_z = r[:-1, None] + span_r * share, z[:-1, None] + span_z * share
    value, slope_r, slope_z = _harmonics(at_r, at_z)
    flow = (slope_r * span_z - slope_z * span_r) * at_r * _WEIGHTS / 2
    energy = np.einsum("isq,jsq->ij", value, flow)
    on_top = value[:, -1] * np.sqrt(-span_r[-1] * at_r[-1] * _WEIGHTS / 2)
    return (energy + energy.T) / 2, on_top @ on_top.T


def _harmonics(r, z):
    """Solid harmonics of order 1, degrees 1 to 8, over their size on the unit sphere; with both slopes."""
    value = [np.zeros_like(r), r]
    for degree in range(1, _DEGREE):
        value.append(((2 * degree + 1) * z * value[degree] - (degree + 1) * (r**2 + z**2) * value[degree - 1])
                     / degree)
    degree = np.arange(1, _DEGREE + 1).reshape(-1, 1, 1)
    slope_z = (degree + 1) * np.array(value[:-1])
    value = np.array(value[1:])
    slope_r = (degree * value - z * slope_z) / np.maximum(r, np.finfo(float).tiny)
    return [part / (degree * (degree + 1)) for part in (value, slope_r, slope_z)]


def climb(rise, radius, wall_angle):
    """Height at which a tilted surface meets a wall that leans outwards.

    z = R t/(1 - t tan(alpha)), t = rise/R the slope of the surface

    rise: rise at the radius of the level surface, from `response` [mm]
    radius: inner radius R at the level surface [mm], above 0
    wall_angle: lean alpha of the wall from the upright, outwards positive [rad]
    Returns the height over the level at rest [mm], infinite where the surface runs out over the wall.

    >>> print(f"{climb(3.0, 25, np.radians(10)):.3f}")
    3.065

    Source: CALC, plane geometry, worked out here.
    """
    left = 1 - np.divide(rise, radius) * np.tan(wall_angle)
    return np.where(left > 0, rise / np.where(left > 0, left, 1.0), np.inf)[()]


def freeboard(rim, depth):
    """Wall that stands above the liquid at rest.

    rim: height of the rim over the inner floor [mm]
    depth: depth of the liquid [mm]
    Returns the freeboard [mm]; ValueError where the liquid stands above the rim.

    >>> print(freeboard(54.5, 36))
    18.5

    Source: CALC, by the definition of freeboard.
    """
    if np.any(np.greater(depth, rim)):
        raise ValueError(f"a fill of {depth} mm is over the rim at {rim} mm: fill less")
    return np.subtract(rim, depth, dtype=float)[()]


def safe_fill(rim, radius, acceleration, factor, reserve):
    """Largest depth of liquid that a ride does not spill.

    h = H - factor R a/g - reserve

    rim: height H of the rim over the inner floor [mm]
    radius: largest inner radius R between surface and rim, to be safe that at the rim [mm]
    acceleration: largest acceleration a of the ride [mm/s2]
    factor: peak over steady rise [1], 2 for a sudden start, from `response` for a known ride
    reserve: freeboard that must stay dry [mm]
    Returns the depth [mm], 0 where even an empty cup is no answer.

    >>> print(f"{safe_fill(54.5, 26.5, 533, 1.05, 5):.2f}")
    47.99

    Source: CALC from the steady rise, the factor as `response.ramp_factor`.
    """
    return np.maximum(rim - factor * radius * np.divide(acceleration, GRAVITY) - reserve, 0.0)[()]
