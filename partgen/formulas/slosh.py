"""Liquid in an upright cup: how fast it swings, how much of it swings, how high it climbs the wall.

Small waves of an ideal liquid in an upright cylinder, each mode antisymmetric about the axis. `taper` gives
the frequency in a cup that narrows towards its foot; `response` runs the modes through a ride.

Three heights share a formula's shape and are easily confused; each is a function of its own here:
`height_of_wall_force` (pressure on the wall only), `height_of_moment` (wall and floor together) and
`height_of_spring_mass` (the model whose own weight moment is added separately).

Marks in the Source lines: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory;
CALC, worked out.
"""

import numpy as np

from partgen.formulas.constants import GRAVITY

ROOTS = (1.8411837813406595, 5.3314427735250325, 8.536316366346286, 11.706004902592063, 14.863588633909034,
         18.015527862681804, 21.164369859188792, 24.311326857210776, 27.457050571059245, 30.601922972669094)
"""Where the slope of the Bessel function J1 is zero [1], first ten; importing them would cost 0.5 s."""


def _root(mode):
    """Root of J1' of each mode, counted from 1."""
    return np.take(ROOTS, np.subtract(mode, 1))


def _reach(radius, depth, mode):
    """x = xi h/R, the depth in the units in which a mode dies away downwards."""
    return _root(mode) * np.divide(depth, radius)


def omega(radius, depth, mode=1):
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


def period(radius, depth, mode=1):
    """Time of one swing of a mode.

    T = 2 pi/omega

    radius: inner radius R of the cup [mm], above 0
    depth: depth h of the liquid [mm], above 0
    mode: number of the mode [1], 1 to 10, or an array of numbers
    Returns the period [s].

    >>> print(f"{period(25, 40):.3f}")
    0.234

    Source: as `omega`, SEEN-2.
    """
    return 2 * np.pi / omega(radius, depth, mode)


def mass_fraction(radius, depth, mode=1):
    """Share of the liquid's mass that swings in a mode.

    m1/m = 2 R tanh(xi h/R)/(h xi (xi^2 - 1))

    radius: inner radius R of the cup [mm], above 0
    depth: depth h of the liquid [mm], above 0
    mode: number of the mode [1], 1 to 10, or an array of numbers
    Returns the share [1].

    >>> print(f"{mass_fraction(25, 40):.3f}")
    0.283

    Source: NASA SP-106 (1966), MEM; within 1.5 % of the fit in draft IS 1893 part 2, SEEN-2.
    """
    xi, x = _root(mode), _reach(radius, depth, mode)
    return 2 * np.tanh(x) / (x * (xi**2 - 1))


def height_of_wall_force(radius, depth, mode=1):
    """Height at which the slosh force of the pressure on the wall alone acts, as a share of the depth.

    (a) = 1 - tanh(x/2)/x with x = xi h/R

    radius: inner radius R of the cup [mm], above 0
    depth: depth h of the liquid [mm], above 0
    mode: number of the mode [1], 1 to 10, or an array of numbers
    Returns the height over the floor divided by the depth [1].

    >>> print(f"{height_of_wall_force(305, 359.29):.4f}")
    0.6335

    Source: SEEN-2, height hc of the worksheet after draft IS 1893 part 2.
    """
    x = _reach(radius, depth, mode)
    return 1 - np.tanh(x / 2) / x


def height_of_moment(radius, depth, mode=1):
    """Height at which the slosh force gives the moment of wall and floor pressure, as a share of the depth.

    (b) = 1 - (cosh x - 2)/(x sinh x) with x = xi h/R; above 1 in a shallow cup.

    radius: inner radius R of the cup [mm], above 0
    depth: depth h of the liquid [mm], above 0
    mode: number of the mode [1], 1 to 10, or an array of numbers
    Returns the height over the floor divided by the depth [1].

    >>> print(f"{height_of_moment(305, 359.29):.4f}")
    0.7403

    Source: SEEN-2, height hc' of the worksheet after draft IS 1893 part 2, which prints 2.01 for 2.
    """
    x = _reach(radius, depth, mode)
    return height_of_spring_mass(radius, depth, mode) + 1 / (x * np.tanh(x))


def height_of_spring_mass(radius, depth, mode=1):
    """Height of the mass on a spring that stands for a mode, as a share of the depth.

    (c) = 1 - (2/x) tanh(x/2) with x = xi h/R. The weight of that mass, moving aside, adds its own moment.

    radius: inner radius R of the cup [mm], above 0
    depth: depth h of the liquid [mm], above 0
    mode: number of the mode [1], 1 to 10, or an array of numbers
    Returns the height over the floor divided by the depth [1].

    >>> print(f"{height_of_spring_mass(305, 359.29):.4f}")
    0.2671

    Source: NASA SP-106 (1966), MEM; CALC, (b) - 1/(x tanh x), worked out here.
    """
    x = _reach(radius, depth, mode)
    return 1 - 2 * np.tanh(x / 2) / x


def spring_constant(mass, radius, depth, mode=1):
    """Stiffness of the spring that holds the mass standing for a mode.

    k = m1 omega^2

    mass: mass of all the liquid [g]
    radius: inner radius R of the cup [mm], above 0
    depth: depth h of the liquid [mm], above 0
    mode: number of the mode [1], 1 to 10, or an array of numbers
    Returns the stiffness [N/m].

    >>> print(f"{spring_constant(78, 25, 40):.2f}")
    15.83

    Source: CALC, by the definition of the spring-mass model.
    """
    return mass / 1000 * mass_fraction(radius, depth, mode) * omega(radius, depth, mode) ** 2


def pendulum_length(radius, depth, mode=1):
    """Length of the pendulum that swings as a mode does.

    l = g/omega^2 = R/(xi tanh(xi h/R))

    radius: inner radius R of the cup [mm], above 0
    depth: depth h of the liquid [mm], above 0
    mode: number of the mode [1], 1 to 10, or an array of numbers
    Returns the length [mm].

    >>> print(f"{pendulum_length(25, 40):.2f}")
    13.65

    Source: CALC, by the definition of the pendulum model.
    """
    return GRAVITY / omega(radius, depth, mode) ** 2


def steady_tilt(acceleration):
    """Angle of the surface to the level once the liquid has come to rest under a steady acceleration.

    tan(theta) = a/g

    acceleration: level acceleration a of the cup [mm/s2]
    Returns the angle [rad].

    >>> print(f"{np.degrees(steady_tilt(1000)):.2f}")
    5.82

    Source: SEEN, an engineering mechanics review page on relative equilibrium of liquids.
    """
    return np.arctan(np.divide(acceleration, GRAVITY))


def steady_rise(radius, acceleration):
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


def wall_share(mode=1):
    """Share of a mode in the steady rise at the wall; the shares of all modes add up to 1.

    2/(xi^2 - 1)

    mode: number of the mode [1], 1 to 10, or an array of numbers
    Returns the share [1].

    >>> print(f"{wall_share(1):.4f}")
    0.8368

    Source: CALC, the series of a tilted plane in the modes J1(xi r/R), worked out here.
    """
    return 2 / (_root(mode) ** 2 - 1)


def damping_laminar(radius, depth, viscosity, mode=1):
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


def damping_fit(radius, depth, viscosity):
    """Damping ratio of the first mode as fitted to measurements in smooth tanks.

    zeta = 0.79 sqrt(Re) [1 + 0.318/sinh(1.84 h/R) (1 + (1 - h/R)/cosh(1.84 h/R))], Re = nu/sqrt(g R^3)

    radius: inner radius R of the cup [mm], above 0
    depth: depth h of the liquid [mm], above 0
    viscosity: kinematic viscosity nu of the liquid [mm2/s], 1.0 for water at 20 degrees C, 0 for none
    Returns the damping ratio [1]; measurements scatter by about 30 % around it.

    >>> print(f"{damping_fit(25, 40, 1.0):.5f}")
    0.00732

    Source: Mikishev and Dorozhkin (1961), SEEN-2 in several programs after NASA SP-106 chapter 4; some print
    0.92 for 0.79.
    """
    x = 1.84 * np.divide(depth, radius)
    bracket = 1 + 0.318 / np.sinh(x) * (1 + (1 - np.divide(depth, radius)) / np.cosh(x))
    return 0.79 * np.sqrt(viscosity / np.sqrt(GRAVITY * np.power(radius, 3.0))) * bracket


def wall_modes(radius, depth, viscosity=0.0, first=0.0, count=8):
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

    Source: CALC, from `omega`, `damping_laminar` and `wall_share`.
    """
    modes = np.arange(1, count + 1)
    shares = wall_share(modes)
    shares[-1] += 1 - shares.sum()
    omegas = omega(radius, depth, modes)
    omegas[0] = first or omegas[0]
    return omegas, damping_laminar(radius, depth, viscosity, modes), shares * radius / GRAVITY
