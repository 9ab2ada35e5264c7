"""What a print takes: filament and time, from the areas of its layers."""

from math import pi

import numpy as np


def strands(outlines, skins, inside, infill, line):
    """Return the length of strand [mm] laid as (outlines, skins, infill) in each layer, arrays (n,) each.

    l = area / line; of the hollow inside only the share `infill` is laid.

    Args:
        outlines: area that the lines along the outlines cover in each layer (n,) [mm2].
        skins: area of solid skin (n,) [mm2].
        inside: area that is neither (n,) [mm2].
        infill: share of it that is filled [1].
        line: width of one strand [mm], > 0.

    >>> [float(x) for x in strands(9.0, 4.5, 9.0, 0.2, 0.45)]
    [20.0, 10.0, 4.0]

    Source: plane geometry; strands side by side without gaps.
    """
    return np.asarray(outlines) / line, np.asarray(skins) / line, infill * np.asarray(inside) / line


def filament_length(volume, diameter):
    """Return the length of filament [mm] that `volume` of plastic takes.

    l = 4 V / (pi d^2)

    Args:
        volume: of plastic [mm3].
        diameter: of the filament [mm], > 0.

    >>> round(filament_length(2405.28, 1.75), 1)
    1000.0

    Source: volume of a cylinder; 1 m of 1.75 mm filament is 2.405 cm3 (fabbaloo.com).
    """
    return 4 * volume / (pi * diameter**2)


def print_time(outlines, fills, outline_speed, fill_speed, first_speed, travel):
    """Return how long a print takes [s].

    t = (1 + travel) sum(l / v), the first layer at its own speed throughout

    Args:
        outlines: strand along outlines in each layer, from the bed up (n,) [mm].
        fills: strand of skins and infill in each layer (n,) [mm].
        outline_speed: along outlines [mm/s].
        fill_speed: of skins and infill [mm/s].
        first_speed: of everything in the first layer [mm/s].
        travel: what is added for moves without printing, layer changes and slow corners, as a share [1].

    >>> print_time([100.0, 90.0], [20.0, 70.0], 45.0, 70.0, 20.0, 0.25)
    11.25

    Source: path over speed; no acceleration is modelled, `travel` stands for it (common practice, no source).
    """
    around, inside = np.asarray(outlines, float), np.asarray(fills, float)
    first = (around[:1].sum() + inside[:1].sum()) / first_speed
    rest = around[1:].sum() / outline_speed + inside[1:].sum() / fill_speed
    return float((1 + travel) * (first + rest))
