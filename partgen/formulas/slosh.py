"""Liquid in an upright cup: how fast it swings, how much of it swings, how high it climbs the wall.

Small waves of an ideal liquid in an upright cylinder, each mode antisymmetric about the axis; `response` runs
the modes through a ride. The equivalent cylinder of a cup that narrows towards its foot is the one with the
radius at the liquid's surface and the same depth. It contains the cup, and a vessel inside another with the same
surface never swings faster, so it errs to one side only: too fast. `taper.first_mode` closes the gap.

Marks in the Source lines: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory;
CALC, worked out.
"""

import numpy as np

from partgen.formulas import GRAVITY, Numbers

ROOTS = (1.8411837813406595, 5.3314427735250325, 8.536316366346286, 11.706004902592063, 14.863588633909034,
         18.015527862681804, 21.164369859188792, 24.311326857210776, 27.457050571059245, 30.601922972669094)
"""Where the slope of the Bessel function J1 is zero [1], first ten; importing them would cost 0.5 s."""

LOW_END = 0.7  # of the fitted damping, which scatters by 30 %


def wall_modes(radius: float, depth: float, viscosity: float = 0.0, first: float = 0.0,
               count: int = 8) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What `response` needs to know of a cup: frequency, damping and rise at the wall of its first modes.

    rise of mode n = (R/g) 2/(xi^2 - 1) for each unit of acceleration; the last mode stands for all beyond it,
    so that together they make the steady rise R a/g.

    radius: inner radius R at the liquid's surface [mm], above 0
    depth: depth h of the liquid [mm], above 0
    viscosity: kinematic viscosity nu of the liquid [mm2/s], 0 for none
    first: angular frequency of the first mode where it is known better, from `cup` [rad/s], 0 where not
    count: how many modes [1], 1 to 10
    Returns (angular frequencies [rad/s], damping ratios [1], rises [s2]), arrays of that many.

    >>> omegas, dampings, rises = wall_modes(25, 40, count=3)
    >>> print(omegas.round(1), dampings, f"{rises.sum() * 9806.65:.1f}")
    [26.8 45.7 57.9] [0. 0. 0.] 25.0

    Damping is `damping_fitted` of the first mode, `damping_laminar` of all others.

    Source: CALC, from `omega`, `damping_fitted`, `damping_laminar` and `wall_share`.
    """
    modes = np.arange(1, count + 1)
    shares, omegas = np.array(wall_share(modes)), np.array(omega(radius, depth, modes))
    shares[-1] += 1 - shares.sum()
    omegas[0] = first or omegas[0]
    dampings = np.array(damping_laminar(radius, depth, viscosity, modes))
    dampings[0] = damping_fitted(radius, depth, viscosity)
    return omegas, dampings, shares * radius / GRAVITY


def omega(radius: Numbers, depth: Numbers, mode: int | np.ndarray = 1) -> Numbers:
    """Angular frequency at which a mode of the liquid swings.

    omega^2 = (g xi/R) tanh(xi h/R)

    radius: inner radius R of the cup [mm], above 0
    depth: depth h of the liquid [mm], above 0
    mode: number of the mode [1], 1 to 10, or an array of numbers
    Returns the angular frequency [rad/s].

    >>> print(f"{omega(25, 40):.2f}")
    26.80

    Source: SEEN-2, a slosh worksheet after draft IS 1893 part 2; the same in NASA SP-106, MEM.
    """
    xi = _root(mode)
    return np.sqrt(GRAVITY * xi / radius * np.tanh(_reach(radius, depth, mode)))


def wall_share(mode: int | np.ndarray = 1) -> Numbers:
    """Share of a mode in the steady rise at the wall; the shares of all modes add up to 1.

    2/(xi^2 - 1)

    mode: number of the mode [1], 1 to 10, or an array of numbers
    Returns the share [1].

    >>> print(f"{wall_share(1):.4f}")
    0.8368

    Source: CALC, the series of a tilted plane in the modes J1(xi r/R), worked out here.
    """
    return 2 / (_root(mode) ** 2 - 1)


def damping_laminar(radius: Numbers, depth: Numbers, viscosity: Numbers, mode: int | np.ndarray = 1) -> Numbers:
    """Damping ratio of a mode by the laminar boundary layers on wall and floor: the least there can be.

    zeta = sqrt(nu/(2 omega))/(2 R) [(xi^2 + 1)/(xi^2 - 1) + 2 (xi - x)/sinh(2 x)] with x = xi h/R

    radius: inner radius R of the cup [mm], above 0
    depth: depth h of the liquid [mm], above 0
    viscosity: kinematic viscosity nu of the liquid [mm2/s], 1.0 for water at 20 degrees C, 0 for none
    mode: number of the mode [1], 1 to 10, or an array of numbers
    Returns the damping ratio [1]; measured ones are larger, so that a ride judged by this one is safe.

    >>> print(f"{damping_laminar(25, 40, 1.0):.5f}")
    0.00498

    Source: CALC, the loss in Stokes layers under the ideal flow over twice its energy, worked out here.
    """
    xi, x = _root(mode), _reach(radius, depth, mode)
    layers = (xi**2 + 1) / (xi**2 - 1) + 2 * (xi - x) / np.sinh(np.minimum(2 * x, 700.0))
    return np.sqrt(viscosity / (2 * omega(radius, depth, mode))) / (2 * radius) * layers


def damping_fitted(radius: Numbers, depth: Numbers, viscosity: Numbers) -> Numbers:
    """Damping ratio of the first mode, the low end of what is measured in smooth vessels.

    zeta = 0.7 x 0.79 sqrt(nu/sqrt(g R^3)) [1 + 0.318/sinh(x) (1 + (1 - h/R)/cosh(x))] with x = 1.84 h/R

    radius: inner radius R of the cup [mm], above 0
    depth: depth h of the liquid [mm], above 0; of a liquid under R/2, which the fit does not know, R/2 is taken
    viscosity: kinematic viscosity nu of the liquid [mm2/s], 0 for none
    Returns the damping ratio [1].

    >>> print(f"{damping_fitted(25, 40, 1.004):.4f} {damping_fitted(25, 40, 1.004) / LOW_END:.4f}")
    0.0051 0.0073

    Source: SEEN-2, Mikishev and Dorozhkin's fit through Dodge (SwRI 2000), scatter 30 % either way. Coffee in a mug,
    measured: about 0.003 (Mayer and Krechetnikov, Phys. Rev. E 85, 046117, note 20, SEEN).
    """
    deep = np.maximum(np.divide(depth, radius), 0.5)
    x = 1.84 * np.minimum(deep, 100.0)
    bracket = 1 + 0.318 / np.sinh(x) * (1 + (1 - deep) / np.cosh(x))
    return LOW_END * 0.79 * np.sqrt(viscosity / np.sqrt(GRAVITY * np.power(radius, 3.0))) * bracket


def steady_rise(radius: Numbers, acceleration: Numbers) -> Numbers:
    """How far the liquid stands up the wall once it has come to rest under a steady acceleration.

    R a/g

    radius: inner radius R at the liquid's surface [mm]
    acceleration: level acceleration a of the cup [mm/s2]
    Returns the rise [mm].

    >>> print(f"{steady_rise(27, 500):.2f}")
    1.38

    Source: CALC from the steady tilt, SEEN.
    """
    return radius * np.divide(acceleration, GRAVITY)


def _root(mode: int | np.ndarray) -> Numbers:
    """Root of J1' of each mode, counted from 1."""
    return np.take(ROOTS, np.subtract(mode, 1))


def _reach(radius: Numbers, depth: Numbers, mode: int | np.ndarray) -> Numbers:
    """x = xi h/R, the depth in the units in which a mode dies away downwards."""
    return _root(mode) * np.divide(depth, radius)


CREST = 1.035  # largest of the figures known, at a depth of 1.2 radii; 0.82 in deep cups


def crest(rise: Numbers, radius: Numbers) -> Numbers:
    """How high a swing's crest stands over the level at rest, whose first order alone is known.

    a + 1.035 a^2/R: waves have higher crests than troughs are deep. An allowance: the factor of the shape for which it
    is largest, for all; near a depth of 0.8 to 1.0 radii a second mode may answer as well, which no figure tells.

    rise: of first order, a, from `response` or `bends` [mm]
    radius: inner radius R at the level surface [mm], above 0
    Returns the height [mm]; a fall, below 0, as it is.

    >>> print(f"{crest(4.0, 25):.3f}")
    4.662

    Source: CALC, second-order potential theory by modal projection; a^2 k/2 in two dimensions by the same, textbook.
    """
    return rise + CREST * np.square(np.maximum(rise, 0.0)) / radius


def before_crest(height: Numbers, radius: Numbers) -> Numbers:
    """The rise of first order whose crest has a height: `crest` turned round.

    height: of the crest over the level at rest [mm]
    radius: inner radius R at the level surface [mm], above 0
    Returns the rise [mm]; a height below 0 as it is.

    >>> print(f"{before_crest(4.6624, 25):.3f}")
    4.000

    Source: CALC, the root of a square.
    """
    share = CREST * np.maximum(height, 0.0) / radius
    return height * 2 / (1 + np.sqrt(1 + 4 * share))


def climb(rise: Numbers, radius: Numbers, wall_angle: Numbers) -> Numbers:
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
