"""What the joints of the rails do to a liquid: a wheel climbs a step, the wagon pitches or rolls by a lever, and what
that leaves swinging meets the next joint's.

Rigid wheels on rigid rails have no finite acceleration, but a step is soon over: it counts as a displacement, reached
in the time that the wheel takes to climb, never as a lasting speed. A wheel faster than sqrt(g r) would leave the edge
for a moment; that is not counted, rails on a table give way under it.

Marks in the Source lines: CALC, worked out; MEM, from memory.
"""

import numpy as np

from partgen.formulas import Numbers
from partgen.formulas.slosh import ROOTS

HIGHEST = 0.5           # of a wheel's radius: a step over that stops it, and counts as this


def climbing_way(step: Numbers, radius: Numbers) -> Numbers:
    """How far ahead of a step its edge begins to lift a wheel.

    sqrt(2 r h - h^2)

    step: height h of the step [mm]; over half the wheel's radius it counts as that
    radius: of the wheel's tread, r [mm]
    Returns the way [mm].

    >>> print(f"{climbing_way(0.2, 8.5):.3f}")
    1.833

    Source: CALC, half the chord of the tread at the height of the step.
    """
    step = np.minimum(step, HIGHEST * np.asarray(radius))
    return np.sqrt(2 * np.multiply(radius, step) - np.square(step))


def climbed_share(turned: Numbers) -> Numbers:
    """Share of a sudden step's swing that is left where a wheel climbs the step.

    2 |1 + i x - e^(i x)|/x^2: the wheel rises fast at first, and ever slower until it is on top

    turned: angular frequency of the swing by the time the wheel climbs, x [rad], 0 or more
    Returns the share [1]: 1 for a step in no time, falling all the way, 2/x of a slow one.

    >>> print(climbed_share(np.array([0.0, 1.0, 20.0])).round(3))
    [1.    0.973 0.095]

    Source: CALC, the Fourier transform of a speed that falls evenly to 0, as a circle's slope does near its top.
    """
    x = np.maximum(turned, 1e-3)
    return np.minimum(2 * np.abs(1 + 1j * x - np.exp(1j * x)) / x**2, 1.0)


def gap_drop(radius: Numbers, gap: Numbers, spare: Numbers = np.inf) -> Numbers:
    """How far a wheel leaves the rails' level over a gap in a rail.

    r - sqrt(r^2 - (g/2)^2), the sagitta of the tread over the gap, or less where its flange runs on the floor

    radius: of the wheel's tread, r [mm]; a gap over 2 r counts as that
    gap: along the rail, g [mm]
    spare: from the flange to the floor of its flangeway [mm], negative where it climbs on that all the way
    Returns the way [mm], 0 or more: down, or up where the flange climbs.

    >>> print(f"{gap_drop(8.5, 5.0):.3f} {gap_drop(8.5, 5.0, 0.2):.3f} {gap_drop(8.5, 5.0, -0.3):.3f}")
    0.376 0.200 0.300

    Source: CALC, plane geometry of a rigid wheel on rigid rails.
    """
    half = np.minimum(np.divide(gap, 2), radius)
    return np.abs(np.minimum(radius - np.sqrt(np.square(radius) - np.square(half)), spare))


def dip_share(turned: Numbers, filled: Numbers) -> Numbers:
    """Share of a sudden step's swing that a dip leaves at most, down and up again.

    min(x f, 2): by the dip's area where it is soon over, by its two steps where they part

    turned: angular frequency of the swing by the time the dip takes, x [rad], 0 or more
    filled: the dip's area over that of a box as long and deep, f [1]: 1/3 at most of a whole sagitta
    Returns the share [1], 0 to 2.

    >>> print(f"{dip_share(0.6, 1 / 3):.1f} {dip_share(9.0, 1 / 3):.1f}")
    0.2 2.0

    Source: CALC, a Fourier transform is no larger than the integral of the size, nor its derivative's than the way up
    and down.
    """
    return np.minimum(np.multiply(turned, filled), 2.0)


def joints_before(fade: Numbers, count: int) -> Numbers:
    """What the joints before the one at hand have left swinging, over what the highest step leaves.

    sqrt(e^2 + e^4 + ... + e^(2 (n - 1))): the root of the sum of squares, each as high as the highest

    No two joints are alike: each is up or down and anything up to the highest step. So their swings meet in any phase
    and their squares add up; a plain sum would need every joint at its highest, and in time with the liquid. Steps of
    which any is as likely have a third of the highest one's square, and a swing made of many passes the root of three
    times its mean square in one moment of twenty (e^-3, Rayleigh). That moment is taken to be at the highest joint.

    fade: what is left of a swing after one joint's spacing, e [1], 0 to 1
    count: joints on the track n [1], 1 or more
    Returns the factor [1]; the root of its square and 1 is 1/sqrt(1 - e^2) where there are many.

    >>> print(f"{joints_before(0.8, 1000):.3f} {joints_before(1.0, 10):.3f}")
    1.333 3.000

    Source: CALC, the sum of a random walk's squares and Rayleigh's distribution of its length (textbook, MEM).
    """
    square = np.minimum(np.square(fade), 1 - 1e-12)
    return np.sqrt(np.maximum(square - square**count, 0.0) / (1 - square))


def mode_heights(radius: float, depth: float, count: int) -> np.ndarray:
    """Height over the inner floor at which each mode of a liquid is moved as a mass on a spring is.

    h (1 - (2/x) tanh(x/2)) with x = xi h/R

    radius: inner radius R at the liquid's surface [mm]
    depth: depth h of the liquid [mm]
    count: how many modes [1], 1 to 10
    Returns the heights, shape (count,) [mm].

    >>> print(f"{mode_heights(305, 359.29, 1)[0] / 359.29:.4f}")
    0.2671

    Source: NASA SP-106 (1966), MEM. In a cup that narrows `taper.first_mode` tells that of the first one.
    """
    x = np.array(ROOTS[:count]) * depth / radius
    return depth * (1 - 2 / x * np.tanh(x / 2))
