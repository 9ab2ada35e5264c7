"""What a printer makes of plastic: sizes that come out true, overhangs, filament and time.

Marks in the Source lines: SEEN, read in the source; SEEN-2, read on a secondary page; MEM, from memory;
CALC, worked out.
"""

from math import atan2, ceil, cos, degrees, pi

import numpy as np
from numpy.typing import ArrayLike

from partgen.formulas import Numbers

LYING = 1.0             # mm
LYING_LAYERS = 3
RELIEF = 0.8            # mm


def bore(wanted: float, offset: float, chords: int | None = None) -> float:
    """Return the diameter to draw [mm] so that the printed hole lets a round bar of `wanted` diameter through.

    d = (wanted + offset) / cos(pi / chords)

    The hole is drawn as a true circle but printed as the polygon that the mesh makes of it, its corners on the
    circle: a bar sees the polygon's inscribed circle, smaller by cos(pi / chords). The strand laid on the inside of a
    curve then closes the hole by `offset`.

    wanted: diameter that shall be free [mm], > 0.
    offset: what this printer's bores come out too small by [mm].
    chords: sides of the polygon [1]; None for an opening with flat sides, which loses nothing.

    >>> round(bore(3.25, 0.15, 63), 4)
    3.4042

    Source: plane geometry; inscribed circle of a regular polygon of circumradius R: R cos(pi / n).
    """
    facets = cos(pi / chords) if chords else 1.0
    return (wanted + offset) / facets


def printed_bore(drawn: float, offset: float, chords: int | None = None) -> float:
    """Return the diameter [mm] of the round bar that goes through a hole drawn `drawn` wide: `bore` backwards.

    drawn: diameter as drawn [mm], > 0.
    offset: what this printer's bores come out too small by [mm].
    chords: sides of the polygon that the mesh makes of the circle [1]; None for flat sides.

    >>> round(printed_bore(3.4042, 0.15, 63), 2)
    3.25

    Source: as for `bore`.
    """
    facets = cos(pi / chords) if chords else 1.0
    return drawn * facets - offset


def fit_offsets(drawn: ArrayLike, printed: ArrayLike, hollow: ArrayLike, shrink: float | None = None,
                bore_offset: float | None = None,
                peg_offset: float | None = None) -> tuple[float, float, float, np.ndarray]:
    """Return (bore offset [mm], peg offset [mm], shrinkage [1], residuals (n,) [mm]) that suit the readings best.

    A hole drawn d wide comes out as p = d (1 - s) - b, anything solid as p = d (1 - s) + e; the least squares of
    what is left over give b, e and s. Whatever is given is kept as it is.

    drawn: sizes as drawn (n,) [mm].
    printed: sizes as measured (n,) [mm].
    hollow: is each a hole or gap (n,) [-]; the others are pegs, walls and lengths.
    shrink: share by which plastic shrinks [1]; None: take it from the readings.
    bore_offset: what bores come out too small by [mm]; None: take it from the readings.
    peg_offset: what pegs come out too large by [mm]; None: take it from the readings.

    >>> b, e, s, left = fit_offsets([3, 4, 6, 100], [2.794, 3.792, 6.088, 99.9], [True, True, False, False])
    >>> round(b, 3), round(e, 3), round(s, 4), round(float(abs(left).max()), 6)
    (0.2, 0.1, 0.002, 0.0)

    Source: linear least squares (numpy.linalg.lstsq).
    """
    d, p, hole = np.asarray(drawn, float), np.asarray(printed, float), np.asarray(hollow, bool)
    matrix = np.column_stack([np.where(hole, -1.0, 0.0), np.where(hole, 0.0, 1.0), -d])
    known = np.array([np.nan if value is None else value for value in (bore_offset, peg_offset, shrink)])
    free = np.isnan(known)
    rest = p - d - matrix[:, ~free] @ known[~free]
    known[free] = np.linalg.lstsq(matrix[:, free], rest, rcond=None)[0]
    return *(float(value) for value in known), p - d - matrix @ known


def overhang_limit(layer: float, line_width: float) -> float:
    """Return the steepest overhang at which half of every line still rests on the layer below.

    From one layer to the next a face that leans out by A moves out by layer * tan(A); half of the outermost
    line rests on the one below while that is at most line_width / 2.

        A = atan(line_width / (2 layer))

    layer: layer height [mm], > 0.
    line_width: width of one printed line [mm], > 0.

    Returns the angle from upright [deg]: 0 is a wall, 90 a ceiling.

    >>> round(overhang_limit(0.2, 0.45), 1)
    48.4

    Source: plane geometry; the usual 45 degrees is common practice.
    """
    return degrees(atan2(line_width, 2 * layer))


def least_thickness(line: Numbers, layer: Numbers, thick: Numbers, stands_out: Numbers, lying: bool | np.ndarray
                    ) -> Numbers:
    """Return how thick [mm] plastic must be to print and to hold.

    Two lines side by side where it stands; where it lies, layer on layer, LYING and LYING_LAYERS layers are enough,
    however wide a line is. What stands out no more than RELIEF, or than it is thick, is held by its root: one line.

    line: width of a printed line [mm].
    layer: height of a layer [mm].
    thick: how thick it is [mm].
    stands_out: how far it stands out of what is thicker [mm].
    lying: do its faces lie level in the print pose [bool]?

    >>> [float(least_thickness(0.9, 0.3, 1.0, out, flat)) for out, flat in ((5, False), (5, True), (0.8, True))]
    [1.8, 1.0, 0.9]

    Source: common practice, no source: two lines a wall, three layers and a millimetre a skin.
    """
    flat = np.minimum(2 * np.asarray(line), np.maximum(LYING, LYING_LAYERS * np.asarray(layer)))
    low = np.asarray(stands_out) <= np.maximum(RELIEF, thick) + 1e-9
    return np.where(low, line, np.where(lying, flat, 2 * np.asarray(line)))


def line_spacing(width: float, layer: float) -> float:
    """Return how far apart strands lie side by side so that they fill a layer.

    A strand of width w is laid flat to the layer height h, its sides round: it fills h (w - h) + pi h^2/4.

        s = w - h (1 - pi/4)

    width: of one strand [mm], > layer.
    layer: layer height [mm], > 0.

    Returns the distance [mm].

    >>> round(line_spacing(0.45, 0.2), 4)
    0.4071

    Source: CALC, area of a rectangle with two half circles over its height.
    """
    return width - layer * (1 - pi / 4)


def layer_count(height: float, layer: float) -> int:
    """Return how many layers a part of some height is printed in: one wherever it reaches over a layer's middle.

    height: of the part [mm], > 0.
    layer: layer height [mm], > 0.

    >>> [layer_count(height, 0.2) for height in (0.05, 1.4, 1.49, 1.51)]
    [1, 7, 7, 8]

    Source: common practice of slicing programs, which cut a part half way up each layer.
    """
    return max(1, ceil(height / layer - 0.5 - 1e-6))


def filament_length(volume: float, diameter: float) -> float:
    """Return the length of filament [mm] that `volume` of plastic takes.

    l = 4 V / (pi d^2)

    volume: of plastic [mm3].
    diameter: of the filament [mm], > 0.

    >>> round(filament_length(2405.28, 1.75), 1)
    1000.0

    Source: volume of a cylinder; 1 m of 1.75 mm filament is 2.405 cm3 (fabbaloo.com).
    """
    return 4 * volume / (pi * diameter**2)


def run_time(length: ArrayLike, enter: ArrayLike, leave: ArrayLike, speed: float, acceleration: float) -> np.ndarray:
    """Return how long straight runs take whose speed rises and falls evenly.

    From u up to the peak p and down to w, the rest of the way at p:

        p = min(v, sqrt((2 a d + u^2 + w^2)/2))
        t = (2 p - u - w)/a + (d - (2 p^2 - u^2 - w^2)/(2 a))/p

    No end is passed faster than can be reached from the other one.

    length: of each run, d (n,) [mm].
    enter: speed at its start, u (n,) [mm/s], > 0.
    leave: speed at its end, w (n,) [mm/s], > 0.
    speed: that is wished for, v [mm/s].
    acceleration: a [mm/s2].

    Returns the times (n,) [s].

    >>> [round(float(run_time(2.0, 1e-9, 1e-9, 60.0, a)), 4) for a in (1000.0, 3000.0, 1e9)]
    [0.0894, 0.0533, 0.0333]

    Source: CALC, even acceleration; with u = w it is 2 (sqrt(a d + u^2) - u)/a where the peak stays under v.
    """
    d, a = np.asarray(length, float), acceleration
    u, w = np.minimum(enter, speed), np.minimum(leave, speed)
    u, w = np.minimum(u, np.sqrt(w**2 + 2 * a * d)), np.minimum(w, np.sqrt(u**2 + 2 * a * d))
    p = np.minimum(speed, np.sqrt((2 * a * d + u**2 + w**2) / 2))
    return (2 * p - u - w) / a + np.maximum(d - (2 * p**2 - u**2 - w**2) / (2 * a), 0.0) / p
