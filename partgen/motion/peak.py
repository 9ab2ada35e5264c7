"""Peaks of many functions at once, each near a place where it was found high."""

import numpy as np

_ZOOM = np.linspace(-1, 1, 61)
_ROUNDS = 2     # each sees thirty times as finely as the one before; numpy charges for calls, hardly for places


def peak(function, x, step: float) -> tuple[np.ndarray, ...]:
    """Return where `function` is highest within `step` of `x`, to step / 900, and all that it said there.

    function: takes places, shape (n, m), returns heights and anything else of that shape, each row by its own
        rule; the height is -inf where a place is not allowed, but not at `x` itself
    x: places to begin at, shape (n,)
    Returns places, heights and the rest, each of shape (n,).
    """
    x = np.asarray(x, dtype=float)
    for _ in range(_ROUNDS):
        places = x[:, None] + step * _ZOOM
        said = function(places)
        best = np.arange(len(x)), said[0].argmax(axis=1)
        x, step = places[best], step * (_ZOOM[1] - _ZOOM[0])
    return x, *(values[best] for values in said)


def summits(values, count: int) -> np.ndarray:
    """Return the indices of at most `count` local maxima, highest first, of equals one; shape (n,) in."""
    fenced = np.concatenate([[-np.inf], values, [-np.inf]])
    tops = np.flatnonzero((values >= fenced[:-2]) & (values >= fenced[2:]) & (values > -np.inf))
    _, first = np.unique(np.round(-values[tops], 6), return_index=True)
    return tops[first[:count]]
