"""An upright cylinder's share, pendulum and spring by their formulas: what the first mode of any cup is held to."""

import numpy as np

from partgen.formulas import GRAVITY, slosh


def root(mode):
    return np.take(slosh.ROOTS, np.subtract(mode, 1))


def reach(radius, depth, mode):
    return root(mode) * np.divide(depth, radius)


def mass_fraction(radius, depth, mode = 1):
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
    xi, x = root(mode), reach(radius, depth, mode)
    return 2 * np.tanh(x) / (x * (xi**2 - 1))


def pendulum_length(radius, depth, mode = 1):
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
    return GRAVITY / slosh.omega(radius, depth, mode) ** 2


def height_of_spring_mass(radius, depth, mode = 1):
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
    x = reach(radius, depth, mode)
    return 1 - 2 * np.tanh(x / 2) / x
