"""Pure functions: floats or numpy arrays in and out, one file a topic; and the constants that they share."""

import numpy as np

Numbers = float | np.ndarray
"""One number, or an array of them: what comes out has the shape of what goes in."""

GRAVITY = 9806.65
"""Standard gravity [mm/s2], as the third general conference on weights and measures (1901) fixed it."""

NEWTON = 1e-6
"""Force [N] that one g mm/s2 is."""
