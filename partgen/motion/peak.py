"""Peaks of many functions at once, each near a place where it was found high."""

import numpy as np

_ZOOM = np.linspace(-1, 1, 21)
_ROUNDS = 3     # each sees ten times as finely as the one before


def peak(function, x, step: float) -> np.ndarray:
    """Return where `function` is highest within `step` of `x`, to step / 1000.

    function: takes places, shape (n, m), returns values of that shape, each row by its own rule;
        -inf where a place is not allowed, but not at `x` itself
    x: places to begin at, shape (n,)
    """
    x = np.asarray(x, dtype=float)
    for _ in range(_ROUNDS):
        places = x[:, None] + step * _ZOOM
        x = np.take_along_axis(places, function(places).argmax(axis=1)[:, None], axis=1)[:, 0]
        step /= 10
    return x


def summits(values, count: int) -> np.ndarray:
    """Return the indices of at most `count` local maxima, highest first, of equals one; shape (n,) in."""
    fenced = np.concatenate([[-np.inf], values, [-np.inf]])
    tops = np.flatnonzero((values >= fenced[:-2]) & (values >= fenced[2:]) & (values > -np.inf))
    _, first = np.unique(np.round(-values[tops], 6), return_index=True)
    return tops[first[:count]]
