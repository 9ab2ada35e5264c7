"""What play lets an outline reach: moved aside at both guided points, or at one to the left and at the other to the
right."""

from cmath import rect
from collections.abc import Iterator
from math import asin

import numpy as np
from numpy.typing import ArrayLike

from partgen.motion.convex import corners_of

PLACES = 3          # outlines that stand for one with play


def shifted(outline: ArrayLike, base: float, play: float) -> Iterator[np.ndarray]:
    """Yield the PLACES convex outlines, each (n, 2) in wagon axes [mm], that together reach as far as one outline does
    wherever its play lets it stand.

    Between the guided points each side moves by `play`; n beyond one, where the other goes the other way, by
    play (2 n + a)/a with their spacing a while the turn is small (CALC, plane geometry; published gauging takes the
    same least favourable place). What lies between these places, half moved and half turned, reaches less.

    outline: convex, shape (n, 2) in wagon axes, its origin midway between the guided points [mm]
    base: spacing a of the guided points [mm], above 0
    play: of each guided point to either side [mm], 0 or more
    Raises ValueError for an outline that is not convex.
    """
    z = corners_of(outline)
    turn = asin(min(2 * play / base, 1.0))
    for shape in (_broader(z, play), z * rect(1.0, turn), z * rect(1.0, -turn)):
        yield np.column_stack((shape.real, shape.imag))


def _broader(z: np.ndarray, play: float) -> np.ndarray:
    """Return the corners of all that a convex outline covers while it goes `play` [mm] to either side."""
    along = (np.roll(z, -1) - z).real       # above 0 along the right side, below along the left one, 0 across
    moved = [corner - 1j * play * np.sign(edge) for corner, edges in zip(z, zip(np.roll(along, 1), along, strict=True),
                                                                         strict=True) for edge in edges if edge]
    return np.array(moved)
