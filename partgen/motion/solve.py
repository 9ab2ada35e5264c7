"""Roots and peaks of many functions at once."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

RESIDUAL = 1e-9     # mm
_ROUNDS = 100
_ZOOM = np.linspace(-1, 1, 61)
_ZOOMS = 2      # each sees thirty times as finely as the one before; numpy charges for calls, hardly for places


def root(function: Callable[[np.ndarray], tuple[np.ndarray, np.ndarray, Any]], low: ArrayLike, high: ArrayLike,
         guess: ArrayLike, what: str) -> tuple[np.ndarray, Any]:
    """Return where `function` crosses 0 upwards, for every element by itself, and what else it said there.

    function: takes an array x [mm], returns value [mm], slope [1], both of that shape, and anything else;
        the value is below 0 at `low` and above at `high`
    low, high: bounds of the root [mm], arrays or numbers
    guess: where to begin [mm], an array within the bounds
    what: subject of the error's sentence
    Returns x, with every value within 1e-9 mm of 0, and the rest; ValueError where there is no such x.
    """
    x = np.array(guess, dtype=float)
    low, high = np.broadcast_to(low, x.shape), np.broadcast_to(high, x.shape)
    for _ in range(_ROUNDS):
        value, slope, rest = function(x)
        off = np.abs(value) > RESIDUAL
        if not off.any():
            return x, rest
        low, high = np.where(value < 0, x, low), np.where(value > 0, x, high)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = x - value / slope
        step = np.where((step > low) & (step < high), step, (low + high) / 2)
        x = np.where(off, step, x)
    raise ValueError(f"{what} finds no place on this track: its curves are too tight for it")


def peak(function: Callable[[np.ndarray], tuple[np.ndarray, ...]], x: np.ndarray,
         step: float) -> tuple[np.ndarray, ...]:
    """Return where `function` is highest within `step` of `x`, to step / 900, and all that it said there.

    function: takes places, shape (n, m), returns heights and anything else of that shape, each row by its own
        rule; the height is -inf where a place is not allowed, but not at `x` itself
    x: places to begin at, shape (n,)
    Returns places, heights and the rest, each of shape (n,).
    """
    for _ in range(_ZOOMS):
        places = x[:, None] + step * _ZOOM
        said = function(places)
        best = np.arange(len(x)), said[0].argmax(axis=1)
        x, step = places[best], step * (_ZOOM[1] - _ZOOM[0])
    return x, *(values[best] for values in said)


def summits(values: np.ndarray, count: int) -> np.ndarray:
    """Return the indices of at most `count` local maxima, highest first, of equals one; shape (n,) in."""
    fenced = np.concatenate([[-np.inf], values, [-np.inf]])
    tops = np.flatnonzero((values >= fenced[:-2]) & (values >= fenced[2:]) & (values > -np.inf))
    _, first = np.unique(np.round(-values[tops], 6), return_index=True)
    return tops[first[:count]]
