"""Colour: from the numbers that a screen is given to the light that it gives.

Marks in the Source lines: SEEN, read in the source; MEM, from memory.
"""

import numpy as np
from numpy.typing import ArrayLike


def linear(share: ArrayLike) -> np.ndarray:
    """Linear light of sRGB shares: what adds up, and what renderers and glTF count in.

    c / 12.92 up to c = 0.04045, ((c + 0.055) / 1.055)^2.4 above

    share: sRGB share c of one colour, or an array of them, 0 to 1 [1]
    Returns the shares of linear light, 0 to 1 [1].

    >>> print("{:.4f} {:.4f}".format(*linear([0.04, 0.5])))
    0.0031 0.2140

    Source: IEC 61966-2-1, MEM.
    """
    c = np.asarray(share, dtype=float)
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
