"""Liquid in an upright cup of any turned shape: its first mode, by frequency, how much of it swings, and where.

The flow is sought among solid harmonics (Rayleigh and Ritz), so that the pressure on wall and floor is known too.

Marks in the Source lines: SEEN, read in the source; MEM, from memory; CALC, worked out.
"""

import numpy as np
from numpy.typing import ArrayLike

from partgen.formulas import GRAVITY

_DEGREE = 8  # of the trial functions; up to 45 degrees and 3 radii deep, 11 of them change under 0.04 %
_STILL = 3.0  # radii under the surface: what lies deeper does not move, tanh(3 xi) = 1 - 3e-5
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


def first_mode(heights: ArrayLike, radii: ArrayLike) -> tuple[float, float, float]:
    """Angular frequency, volume that swings, and height of its spring, of the first mode in an upright cup.

    omega^2 = g min over phi of (integral of |grad phi|^2 in the liquid)/(integral of phi^2 on its surface),
    phi among the solid harmonics of order 1 up to degree 8 (Rayleigh and Ritz), so hardly below the truth.
    V1 = omega^2/g (integral of phi x on the surface)^2/(integral of phi^2 on it), and the spring stands where the
    pressure phi on wall and floor has its moment, less the pendulum's length g/omega^2: the weight of the mass that
    moves aside is counted by itself.

    heights: points of the inner wall over the inner floor, from 0 to the surface, rising, shape (n,) [mm]
    radii: inner radius at each of them, shape (n,) [mm], above 0 at the surface
    Returns (angular frequency [rad/s], volume [mm3], height over the first point [mm]); the first at most that of
    `slosh.omega` with the radius at the surface. For walls that lean up to 45 degrees within 0.1 % of the truth, the
    volume within 0.3 %, the height within 1 % of the surface's radius.

    >>> print(" ".join(f"{one:.1f}" for one in first_mode([0, 40], [25, 25])))
    26.8 22188.1 15.6
    >>> print(" ".join(f"{one:.1f}" for one in first_mode([0, 40], [18, 25])))
    25.6 20381.1 18.9

    Source: CALC, the variational principle of small waves in a vessel (textbook, MEM), and Green's theorem with x. In a
    cylinder m1/m = 2 R tanh(x)/(h xi (xi^2 - 1)), x = xi h/R, and the spring stands at 1 - (2/x) tanh(x/2) of the depth
    (NASA SP-106, MEM).
    """
    heights, radii = np.asarray(heights, dtype=float), np.asarray(radii, dtype=float)
    size, top = radii[-1], heights[-1]
    floor = max(heights[0], top - _STILL * size)
    moved = heights > floor
    r = np.concatenate([[0.0, np.interp(floor, heights, radii)], radii[moved], [0.0]]) / size
    z = (np.concatenate([[floor, floor], heights[moved], [top]]) - top) / size
    energy, surface, (mean, push, moment) = _boundary_integrals(r, z)
    # Stiffness is a definite matrix, surface is not: ask for the largest 1/lambda, not the least lambda.
    root = np.linalg.cholesky(energy)
    half = np.linalg.solve(root, np.linalg.solve(root, surface).T)
    values, vectors = np.linalg.eigh(half)
    phi = np.linalg.solve(root.T, vectors[:, -1])
    pendulum, swings = float(values[-1]), float(np.pi * (mean @ phi)**2 / (phi @ surface @ phi) / values[-1])
    spring = float(moment @ phi / (push @ phi)) - pendulum
    return float(np.sqrt(GRAVITY / size / pendulum)), swings * size**3, top - heights[0] + spring * size


def _boundary_integrals(r: np.ndarray, z: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Energy and surface matrices of the trial functions, along the outline floor, wall, surface; and of each its sum
    times x on the surface, its push as a pressure on floor and wall along x, and the moment of that about the surface.

    The functions are harmonic, so the energy in the liquid is a sum over its boundary alone.
    """
    span_r, span_z = np.diff(r)[:, None], np.diff(z)[:, None]
    share = (1 + _NODES) / 2
    at_r, at_z = r[:-1, None] + span_r * share, z[:-1, None] + span_z * share
    value, slope_r, slope_z = _harmonics(at_r, at_z)
    flow = (slope_r * span_z - slope_z * span_r) * at_r * _WEIGHTS / 2
    energy = np.einsum("isq,jsq->ij", value, flow)
    on_top = value[:, -1] * np.sqrt(-span_r[-1] * at_r[-1] * _WEIGHTS / 2)
    walls, weight = value[:, :-1], at_r * _WEIGHTS / 2
    sums = (np.einsum("iq,q->i", value[:, -1], -span_r[-1] * at_r[-1] * weight[-1]),
            np.einsum("isq,sq->i", walls, (span_z * weight)[:-1]),
            np.einsum("isq,sq->i", walls, ((at_z * span_z + at_r * span_r) * weight)[:-1]))
    return (energy + energy.T) / 2, on_top @ on_top.T, np.array(sums)


def _harmonics(r: np.ndarray, z: np.ndarray) -> list[np.ndarray]:
    """Solid harmonics of order 1, degrees 1 to 8, over their size on the unit sphere; with both slopes."""
    found = [np.zeros_like(r), r]
    for n in range(1, _DEGREE):
        found.append(((2 * n + 1) * z * found[n] - (n + 1) * (r**2 + z**2) * found[n - 1]) / n)
    degree = np.arange(1, _DEGREE + 1).reshape(-1, 1, 1)
    value, slope_z = np.array(found[1:]), (degree + 1) * np.array(found[:-1])
    slope_r = (degree * value - z * slope_z) / np.maximum(r, np.finfo(float).tiny)
    return [part / (degree * (degree + 1)) for part in (value, slope_r, slope_z)]
