"""Convex outlines: their corners, the points of them that can be the farthest to one side, how far apart two are."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

_SAME = 1e-9        # mm: corners nearer than this are one
_NEAR = 1e-6        # mm: how far a corner that counts as in an outline can be out of its box, at a sharp one
_HOLLOW = 1e-6      # mm2: how far from convex rounding may leave an outline


class RimPoints(Struct, frozen=True):
    """Points of one outline as complex arrays in wagon axes.

    `point` [mm]; the outline runs along `along` [1] for `room` [mm] to either side of a point that stands
    for a stretch of an edge; a corner stands for itself and has no room.
    """

    point: np.ndarray
    along: np.ndarray
    room: np.ndarray

    def at(self, k: int) -> tuple[complex, complex, float]:
        """Return point, direction and room of one of them."""
        return self.point[k], self.along[k], self.room[k]


def corners_of(outline: ArrayLike) -> np.ndarray:
    """Return the corners of a convex outline, complex [mm], counter-clockwise, none twice.

    outline: corners in order either way round, shape (n, 2) [mm]
    Raises ValueError unless it is convex and encloses an area.
    """
    xy = np.asarray(outline, dtype=float)
    z = xy[:, 0] + 1j * xy[:, 1]
    z = z[np.abs(z - np.roll(z, 1)) > _SAME]
    area = (np.conj(z) * np.roll(z, -1)).imag.sum() / 2
    z = z[::-1] if area < 0 else z
    edge = np.roll(z, -1) - z
    bends = (np.conj(np.roll(edge, 1)) * edge).imag
    if len(z) < 3 or abs(area) < _HOLLOW or bends.min() < -_HOLLOW:
        raise ValueError("an outline is not convex, or encloses no area: cut it into convex ones")
    return z


def outermost(outlines: Sequence[ArrayLike]) -> list[int]:
    """Return the indices of those convex outlines, each (n, 2) [mm], that lie in no other; of equals the first.

    What lies within another never reaches farther. Raises ValueError for an outline that is not convex.
    """
    shapes = [corners_of(outline) for outline in outlines]
    low, high = (np.array([[side(z.real), side(z.imag)] for z in shapes]) for side in (np.min, np.max))
    return [i for i, shape in enumerate(shapes)
            if not any(_within(shape, shapes[j]) and (j < i or not _within(shapes[j], shape))
                       for j in _round(i, low, high) if j != i)]


def _round(one: int, low: np.ndarray, high: np.ndarray) -> list[int]:
    """Return which boxes are round the box of `one`: those of all outlines that it can lie in; corners (n, 2) [mm]."""
    return np.flatnonzero(((low <= low[one] + _NEAR) & (high >= high[one] - _NEAR)).all(axis=1)).tolist()


def _within(inner: np.ndarray, outer: np.ndarray) -> bool:
    """Is every corner of `inner` in the convex, counter-clockwise `outer`?"""
    edge = np.append(outer[1:], outer[0]) - outer
    inward = (np.conj(edge / np.abs(edge))[:, None] * (inner - outer[:, None])).imag
    return bool(inward.min() >= -_SAME)


def rim_of(outline: ArrayLike, side: float, yaw: float, spacing: float) -> RimPoints:
    """Return the points that can be farthest to the left (`side` 1) or right (-1).

    outline: corners of a convex outline, shape (n, 2) [mm]
    yaw: angle up to which the track under the outline may be turned against it [rad], under pi/2
    spacing: longest stretch of an edge that one point may stand for [mm]
    Left and right are across the track, so only edges that face within `yaw` of that side count, and the
    corners at which such a direction is between the two edges.
    """
    z = corners_of(outline)
    edge = np.roll(z, -1) - z
    facing = np.angle(edge / 1j / (side * 1j))      # 0 where an edge faces the side squarely
    counts = np.abs(facing) <= yaw
    before = np.roll(facing, 1)
    across = (before < 0) & (facing > 0) & (facing - before < np.pi)
    corner = z[counts | np.roll(counts, 1) | across]
    length = np.abs(edge)
    many = np.where(counts & (length > spacing), np.ceil(length / spacing), 0).astype(int)
    k = np.repeat(np.arange(len(z)), many)
    share = (np.arange(len(k)) - (np.cumsum(many) - many)[k] + 0.5) / many[k]
    return RimPoints(np.append(z[k] + share * edge[k], corner), np.append((edge / length)[k], 0 * corner),
                     np.append(length[k] / many[k] / 2, 0 * corner.real))


def gaps(one: np.ndarray, other: np.ndarray, origin: np.ndarray, ahead: np.ndarray) -> np.ndarray:
    """Return the distance between two filled convex outlines for every pose of the second.

    one, other: corners counter-clockwise, complex, each in its own axes [mm]
    origin, ahead: where the second's origin [mm] and x axis [1] lie in the first's axes, complex, shape (n,)
    Returns distances, shape (n,) [mm]; where they overlap, minus the shortest way apart.

    Of two convex outlines a corner of one is nearest to an edge of the other; they overlap where no edge of
    either has the other all on its far side, and the shortest way apart is square to an edge.
    """
    mine = _beside(one, origin[:, None] + ahead[:, None] * other)
    its = _beside(other, (one - origin[:, None]) * np.conj(ahead)[:, None])
    apart = np.maximum(mine[0], its[0])
    return np.where(apart < 0, apart, np.minimum(mine[1], its[1]))


def _beside(shape: np.ndarray, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return of every row of points how far they all lie beyond the edge that parts them best, and how far the nearest
    is from any edge [mm]."""
    apart, square = np.full(len(points), -np.inf), np.full(len(points), np.inf)
    for corner, edge in zip(shape, np.roll(shape, -1) - shape, strict=True):
        seen = (points - corner) * (np.conj(edge) / np.abs(edge))
        past = seen.real - np.clip(seen.real, 0.0, np.abs(edge))
        apart = np.maximum(apart, -seen.imag.max(axis=1))
        square = np.minimum(square, (past**2 + seen.imag**2).min(axis=1))
    return apart, np.sqrt(square)
