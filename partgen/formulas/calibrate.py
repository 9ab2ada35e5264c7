"""From what was measured on a coupon to what a printer does to every size."""

import numpy as np


def fit_offsets(drawn, printed, hollow, shrink=None, bore_offset=None, peg_offset=None):
    """Return (bore offset [mm], peg offset [mm], shrinkage [1], residuals (n,) [mm]) that suit the readings best.

    A hole drawn d wide comes out as p = d (1 - s) - b, anything solid as p = d (1 - s) + e; the least squares of
    what is left over give b, e and s. Whatever is given is kept as it is.

    Args:
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
