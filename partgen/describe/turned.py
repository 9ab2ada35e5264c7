"""Turned solids: what lies between the (height, diameter) pairs that describe one."""

from collections.abc import Sequence
from itertools import pairwise
from math import pi

Profile = tuple[tuple[float, float], ...]
"""(height, diameter) pairs [mm] from the foot up."""


def diameter_at(profile: Sequence[tuple[float, float]], height: float) -> float:
    """Return the diameter [mm] of a profile at `height` [mm], straight between its points and level beyond them."""
    for (h0, d0), (h1, d1) in pairwise(profile):
        if h0 <= height <= h1:
            return d0 + (d1 - d0) * (height - h0) / (h1 - h0)
    return profile[-1][1] if height > profile[-1][0] else profile[0][1]


def steepest(profile: Sequence[tuple[float, float]]) -> float:
    """Return how far [mm] a profile leans out on a mm of height where it leans out most, 0 where it does nowhere."""
    return max([0.0, *((d1 - d0) / 2 / (h1 - h0) for (h0, d0), (h1, d1) in pairwise(profile) if h1 > h0)])


def cut_off(profile: Sequence[tuple[float, float]], height: float) -> Profile:
    """Return the part of a profile up to `height` [mm], which lies above its first point."""
    return (*((h, d) for h, d in profile if h < height), (height, diameter_at(profile, height)))


def turned_moments(profile: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Return volume [mm3] and its first moment [mm4] about height 0 of the solid that (height, diameter)
    pairs describe, exact for straight walls."""
    volume = moment = 0.0
    for (low, a), (high, b) in pairwise(profile):
        slice_ = pi / 12 * (high - low) * (a * a + a * b + b * b)
        volume += slice_
        moment += slice_ * low + pi / 48 * (high - low)**2 * (a * a + 2 * a * b + 3 * b * b)
    return volume, moment


def filled_to(profile: Sequence[tuple[float, float]], volume: float) -> float:
    """Return the height [mm] up to which a hollow of that profile holds a `volume` [mm3], at most its last one."""
    low, high = profile[0][0], profile[-1][0]
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if turned_moments(cut_off(profile, middle))[0] < volume else (low, middle)
    return high
