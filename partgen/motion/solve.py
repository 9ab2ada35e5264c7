"""Roots and peaks of many functions at once, and the worst of a quantity along a path."""

from collections.abc import Callable
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from partgen.motion.path import Path

RESIDUAL = 1e-9     # mm
_ROUNDS = 100
_TOPS = 3       # local maxima that are looked at closely
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


class Extreme(Struct, frozen=True):
    """The worst of one quantity, and where.

    value: [rad] of a swing, [mm] of a gap or of a reach outwards from the centre line; station: where on the path
    [mm]; piece: index of its piece there; lead: station of the leading vehicle's leading guided point then [mm];
    outline: index of the outline that reaches there, where several may.
    """

    value: float
    station: float
    piece: int
    lead: float
    outline: int = 0


def peak(path: Path, look: Callable[[np.ndarray], tuple[np.ndarray, ...]], lead: np.ndarray,
         step: float) -> list[Extreme]:
    """Return where `look` sees the worst within `step` of `lead`, to step / 900, one for each.

    look: takes leading stations [mm], shape (n, m), returns how bad it is, the quantity and its station [mm], of that
        shape, each row by its own rule; -inf is how bad a place is that is not allowed, but none of `lead`
    lead: leading stations to begin at [mm], shape (n,)
    """
    for _ in range(_ZOOMS):
        places = lead[:, None] + step * _ZOOM
        bad, value, station = look(places)
        best = np.arange(len(lead)), bad.argmax(axis=1)
        lead, step = places[best], step * (_ZOOM[1] - _ZOOM[0])
    station = np.mod(station[best], path.length) if path.closed else station[best]
    return [Extreme(float(v), float(s), int(piece), float(x)) for v, s, piece, x
            in zip(value[best], station, path.piece_at(station), lead, strict=True)]


def summits(values: np.ndarray) -> np.ndarray:
    """Return the indices of the few highest local maxima, highest first, of equals one; shape (n,) in."""
    fenced = np.concatenate([[-np.inf], values, [-np.inf]])
    tops = np.flatnonzero((values >= fenced[:-2]) & (values >= fenced[2:]) & (values > -np.inf))
    _, first = np.unique(np.round(-values[tops], 6), return_index=True)
    return tops[first[:_TOPS]]
