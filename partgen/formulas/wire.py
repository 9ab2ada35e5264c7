"""Wires: how thick, what resistance, what current they carry, how deep slack hangs, and the fuse that guards them.

Marks in the Source lines: SEEN, read in the source; MEM, from memory; CALC, worked out.
"""

from math import log, pi

import numpy as np
from numpy.typing import ArrayLike

RESISTIVITY = 18.36     # ohm mm2/km: between the two figures of the reference for sections under the standard's rows
CLASS_5 = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98}
"""Largest resistance [ohm/km] at 20 degrees C of a plain soft conductor by its section [mm2] (IEC 60228, class 5; the
last row from memory)."""

RATED = {0.0509: 0.86, 0.0804: 1.4, 0.1288: 2.2, 0.2047: 3.5, 0.3255: 7.0}
"""What a single wire in free air carries [A], by its section [mm2]: gauges 30, 28, 26, 24, 22 (one row seen, the rest
from memory)."""
TOGETHER = 0.7          # of that in each wire of several side by side (common practice, no source)

INSULATION = 0.38       # mm, seen on a page of wire styles
STRANDED = 1.195        # diameter of a stranded conductor over that of a solid one of its section
ROUND = (1.0, 2.0, 2.155, 2.414, 2.701, 3.0, 3.0, 3.304, 3.613, 3.813, 3.924, 4.03)
"""Diameter of the circle round so many equal circles, over theirs (the known densest packings, from memory)."""

FUSES = (0.25, 0.315, 0.4, 0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0)
"""Rated currents of miniature fuses [A] (IEC 60127-2, from memory)."""
OVER = 1.25             # of the normal current: the least fuse


def of_gauge(number: int) -> float:
    """Cross-section of a wire of a gauge number.

    d = 0.127 mm 92^((36 - n)/39), A = pi/4 d^2

    number: n [1]
    Returns the section [mm2].

    >>> print(f"{of_gauge(24):.4f}")
    0.2047

    Source: MEM, ASTM B258.
    """
    return float(pi / 4 * (0.127 * 92 ** ((36 - number) / 39)) ** 2)


def resistance(section: float) -> float:
    """Largest resistance of a soft stranded conductor at 20 degrees C: by the standard's row next below, scaled to
    this one; under its first row by resistivity.

    section: of the copper [mm2]
    Returns the resistance [ohm/km].

    >>> resistance(0.75), resistance(0.25)
    (26.0, 73.44)

    Source: IEC 60228, class 5, plain; SEEN in two tables that agree. Under 0.5 mm2 CALC.
    """
    rows = [row for row in CLASS_5 if row <= section + 1e-9]
    return CLASS_5[rows[-1]] * rows[-1] / section if rows else RESISTIVITY / section


def drop(length: float, current: float, section: float) -> float:
    """Voltage that a cable loses, there and back.

    U = 2 L I R'

    length: of the cable, L [mm]
    current: in each of its conductors, I [A]
    section: of each [mm2]
    Returns the drop [V].

    >>> print(f"{drop(300, 1.0, 0.75):.4f}")
    0.0156

    Source: Ohm's law.
    """
    return 2 * length * 1e-6 * current * resistance(section)


def carries(section: float, cores: int) -> float:
    """Current that each conductor of a cable carries for good: between the rows of RATED by their logarithms, beyond
    the last in proportion to the section.

    section: of each [mm2]
    cores: how many lie side by side [1]
    Returns the current [A].

    >>> print(f"{carries(0.2047, 1):.2f} {carries(0.2047, 2):.2f}")
    3.50 2.45

    Source: MEM, table of gauges, single in free air, one row SEEN; side by side 0.7 of it, common practice, no source.
    """
    last = max(RATED)
    found = RATED[last] * section / last if section > last else float(
        np.exp(np.interp(log(section), np.log(list(RATED)), np.log(list(RATED.values())))))
    return found * (TOGETHER if cores > 1 else 1.0)


def bundle(section: float, cores: int) -> float:
    """Diameter of wires with their insulation in a bundle.

    section: of the copper of each [mm2]
    cores: how many [1], 1 to 12
    Returns the diameter [mm].

    >>> print(f"{bundle(0.2047, 1):.2f} {bundle(0.2047, 2):.2f}")
    1.37 2.74

    Source: SEEN, insulation on a page of wire styles; densest packings of equal circles in a circle, MEM.
    """
    return (STRANDED * float(np.sqrt(4 * section / pi)) + 2 * INSULATION) * ROUND[cores - 1]


def lowest(high: tuple[float, float], apart: ArrayLike, length: float) -> np.ndarray:
    """How low a cable can hang between two points.

    (h1 + h2)/2 - sqrt(L^2 - d^2)/2: whatever its shape, it stays within the ellipse about both points whose long axis
    is its length, and two straight legs reach that one's lowest point. A chain hangs less low.

    high: h1 and h2 of the points [mm]
    apart: of the points seen from above, d [mm], or an array of it
    length: L [mm]
    Returns the height [mm], of the shape of `apart`.

    >>> print(f"{lowest((20, 20), 30, 50):.1f}")
    0.0

    Source: CALC, the ellipse by its two foci.
    """
    return np.asarray(sum(high) / 2 - np.sqrt(np.maximum(length**2 - np.square(apart), 0.0)) / 2)


def fuse(load: float, wire: float) -> float:
    """Rated current of the smallest miniature fuse that lets a load pass and guards a wire.

    1.25 I <= rated <= what the wire carries

    load: what runs through it for good, I [A]
    wire: what the thinnest wire behind it carries [A]
    Returns the rated current [A], 0 where none does both.

    >>> fuse(0.9, 2.45), fuse(2.1, 2.45)
    (1.25, 0.0)

    Source: SEEN twice, load <= fuse <= wire and about 1.25 of the load; steps MEM, IEC 60127.
    """
    return next((one for one in FUSES if OVER * load <= one + 1e-9 and one <= wire + 1e-9), 0.0)
