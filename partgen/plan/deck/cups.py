"""Cups as turned solids: their outside between measured points, and what of cup and liquid weighs where."""

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from math import pi

from partgen.describe.cargo_tables import Cup

Profile = tuple[tuple[float, float], ...]
"""(height, diameter) pairs [mm] from the foot up."""


def diameter_at(profile: Sequence[tuple[float, float]], height: float) -> float:
    """Return the outer diameter [mm] of a cup's profile at `height` [mm], straight between its points."""
    for (h0, d0), (h1, d1) in pairwise(profile):
        if h0 <= height <= h1:
            return d0 + (d1 - d0) * (height - h0) / (h1 - h0)
    return profile[-1][1] if height > profile[-1][0] else profile[0][1]


def steepest(profile: Sequence[tuple[float, float]]) -> float:
    """Return how far [mm] a profile leans out on a mm of height where it leans out most, 0 where it does nowhere."""
    return max([0.0, *((d1 - d0) / 2 / (h1 - h0) for (h0, d0), (h1, d1) in pairwise(profile) if h1 > h0)])


def liquid_mass(cup: Cup, fill: float | None = None) -> float:
    """Return the mass [g] of the liquid in `cup` filled `fill` [mm] deep (its own fill when None)."""
    depth = cup.fill if fill is None else fill
    return cup.density / 1000 * turned_moments(_inside(cup, depth))[0]


@lru_cache(maxsize=256)
def liquid_centre(cup: Cup) -> float:
    """Return the height [mm] of the liquid's centre of gravity over the cup's foot."""
    volume, moment = turned_moments(_inside(cup, cup.fill))
    return moment / volume if volume else cup.wall


@lru_cache(maxsize=256)
def dry_centre(cup: Cup) -> float:
    """Return the height [mm] of the empty cup's centre of gravity over its foot, its wall even all over."""
    outer, inner = turned_moments(cup.profile), turned_moments(_inside(cup, cup.height - cup.wall))
    return (outer[1] - inner[1]) / (outer[0] - inner[0])


def _inside(cup: Cup, depth: float) -> Profile:
    """Return (height over the foot, diameter) pairs [mm] of the inside up to a depth of liquid."""
    low, high = cup.wall, cup.wall + depth
    heights = [low, *(h for h, _ in cup.profile if low < h < high), high]
    return tuple((h, max(diameter_at(cup.profile, h) - 2 * cup.wall, 0.0)) for h in heights)


def turned_moments(profile: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Return volume [mm3] and its first moment [mm4] about height 0 of the solid that (height, diameter)
    pairs describe, exact for straight walls."""
    volume = moment = 0.0
    for (low, a), (high, b) in pairwise(profile):
        slice_ = pi / 12 * (high - low) * (a * a + a * b + b * b)
        volume += slice_
        moment += slice_ * low + pi / 48 * (high - low)**2 * (a * a + 2 * a * b + 3 * b * b)
    return volume, moment
