"""Roots of many growing functions at once: Newton's method, kept within bounds by halving."""

import numpy as np

RESIDUAL = 1e-9     # mm
_ROUNDS = 100


def root(function, low, high, guess, what: str):
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
