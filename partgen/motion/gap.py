"""Nearest distance of convex outlines, many poses at once."""

import numpy as np

_CLOSE = 1e-9       # mm
_ROUNDS = 60


def gaps(one, other, origin, ahead) -> np.ndarray:
    """Return the distance between two filled convex outlines for every pose of the second.

    one, other: corners counter-clockwise, complex, each in its own axes [mm]
    origin, ahead: where the second's origin [mm] and x axis [1] lie in the first's axes, complex, shape (n,)
    Returns distances, shape (n,) [mm]; where they overlap, minus the shortest way apart.

    The distance is that of the nearest point of all differences (other - one) from 0. It is walked to
    along edges of that set, each time towards its corner that lies farthest against the last point found,
    until none lies farther: Gilbert, Johnson and Keerthi's way, in the plane.
    """
    found = np.empty(len(origin))
    todo = np.arange(len(origin))
    start = _corner(one, other, origin, ahead, origin)
    first, second = start, start
    for _ in range(_ROUNDS):
        near = _nearest(first, second)
        corner = _corner(one, other, origin[todo], ahead[todo], near)
        far = np.abs(near)
        settled = far * far - _dot(near, corner) <= _CLOSE * np.maximum(far, _CLOSE)
        covered = _covers(first, second, corner) | (far <= _CLOSE)
        found[todo] = np.where(covered & ~settled | (far <= _CLOSE), -np.inf, far)
        left = ~(settled | covered)
        if not left.any():
            break
        todo, first, second, corner = todo[left], first[left], second[left], corner[left]
        swap = np.abs(_nearest(second, corner)) < np.abs(_nearest(first, corner))
        first, second = np.where(swap, second, first), corner
    inside = np.flatnonzero(found == -np.inf)
    found[inside] = -_depth(one, other, origin[inside], ahead[inside])
    return found


def _dot(a, b):
    return a.real * b.real + a.imag * b.imag


def _corner(one, other, origin, ahead, way):
    """Return the difference other - one that lies farthest against `way`."""
    seen = way * np.conj(ahead)
    mine = _dot(way[:, None], one).argmax(axis=1)
    its = _dot(seen[:, None], other).argmin(axis=1)
    return origin + ahead * other[its] - one[mine]


def _nearest(a, b):
    """Return the point of each segment a to b that is nearest to 0."""
    run = b - a
    square = _dot(run, run)
    share = np.clip(-_dot(a, run) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    return a + share * run


def _covers(a, b, c):
    """Say for each triangle whether 0 lies inside it."""
    turns = [(np.conj(p) * q).imag for p, q in ((a, b), (b, c), (c, a))]
    return (np.minimum.reduce(turns) > 0) | (np.maximum.reduce(turns) < 0)


def _depth(one, other, origin, ahead):
    """Return the shortest way that takes overlapping outlines apart [mm]: square to an edge of either."""
    def along(shape):
        edge = np.roll(shape, -1) - shape
        return edge / np.abs(edge) / 1j

    out = along(one)
    posed = origin[:, None] + ahead[:, None] * other
    mine = _dot(out, one) - _dot(out[:, None], posed[:, None, :]).min(axis=2)
    out = ahead[:, None] * along(other)
    its = _dot(out, posed) - _dot(out[:, :, None], one).min(axis=2)
    return np.minimum(mine.min(axis=1), its.min(axis=1))
