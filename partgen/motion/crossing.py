"""Where a track crosses itself, and where it lies on itself."""

from collections.abc import Callable, Iterable, Iterator

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from partgen.motion.path import FLATTEST, Cells, Path

MOST = 1000                 # meetings that are listed; more tell a maker nothing new
_CHUNK = 60_000             # pairs of cells looked at together
_HAIR = 1e-7                # mm by which a meeting may lie beyond a cell's end
_SAME = 1e-3                # mm within which two meetings are one
_SLIGHT = 1e-9              # size of a direction that is none
_PARALLEL = 0.02            # sine of the angle up to which two stretches run along each other
_FOUL, _FINE = 14.0, 20      # half widths of a strip: how far off a crossing it is followed, and steps in one
_LOOP = 3.0                 # radii of track: no shorter loop comes back to where it began


class Meeting(Struct, frozen=True):
    """Two stretches of track at one place: their stations [mm], the earlier first, and the point (x, y) [mm]."""

    first: float
    second: float
    point: tuple[float, float]


def crossings(path: Path, most: int = MOST) -> list[Meeting]:
    """Return where the centre line crosses itself, by station; at most `most` of them."""
    return _meetings(path, _crossed, 0.0, most)


def overlaps(path: Path, tolerance: float, most: int = MOST) -> list[Meeting]:
    """Return places where two stretches run along each other within `tolerance` [mm], either way.

    Every stretch that does shows at least once: at an end of a piece, or where the two are nearest.
    """
    return _meetings(path, _overlapped, tolerance, most)


def crowds(path: Path, meetings: list[Meeting], tolerance: float) -> list[tuple[tuple[float, ...], Meeting]]:
    """Return the crossings at which three stretches or more pass through one place.

    meetings: what `crossings` returned; tolerance: how far apart crossings at one place may lie [mm]
    Returns for each such place, once, the stations of all passes [mm] and one of its crossings.
    """
    z = np.array([complex(*meeting.point) for meeting in meetings])
    found: list[tuple[tuple[float, ...], Meeting]] = []
    told = np.zeros(len(z), dtype=bool)
    for meeting, here in zip(meetings, z, strict=True):
        around = np.abs(z - here) <= tolerance
        passes = _passes(path, [s for m in np.flatnonzero(around) for s in (meetings[m].first, meetings[m].second)])
        if len(passes) > 2 and not told[around].any():
            told |= around
            found.append((passes, meeting))
    return found


def crossing_angle(path: Path, first: float, second: float) -> float:
    """Return the smaller angle [deg] between the track's two ways at stations [mm]."""
    ahead = path.frame(np.array([first, second]))[1]
    return float(np.degrees(np.arcsin(min(abs((ahead[1] * ahead[0].conj()).imag), 1.0))))


def fouled(path: Path, here: float, other: float, half: float) -> tuple[float, float]:
    """Return how far before and beyond one passage of a crossing a strip along the track overlaps that of the other.

    here, other: stations of the two passages [mm]; half: half the strips' width [mm]
    Returns both ways [mm], a twentieth of `half` too long at most; 14 times `half` where they have not parted by then.
    """
    u = np.arange(0.0, _FOUL * half, half / _FINE)
    line = path.frame(other + np.concatenate([-u[:0:-1], u]))[0]

    def way(sign: int) -> float:
        point, ahead = path.frame(here + sign * u)
        edges = point + 1j * ahead * half * np.array([[1.0], [-1.0]])
        apart = np.abs(edges[..., None] - line).min(axis=(0, 2)) > half
        return float(u[apart.argmax()]) if apart.any() else _FOUL * half
    return way(-1), way(1)


def _passes(path: Path, stations: Iterable[float]) -> tuple[float, ...]:
    """Return the stations less those that belong to a pass already counted."""
    kept: list[float] = []
    for s in sorted(stations):
        if all(_far_apart(path, s, other) for other in kept):
            kept.append(s)
    return tuple(kept)


def _far_apart(path: Path, s: ArrayLike, other: ArrayLike) -> np.ndarray:
    """Say whether the track between two stations is long enough to have come back to one place."""
    between = np.abs(np.subtract(s, other))
    between = np.minimum(between, path.length - between) if path.closed else between
    return between > _LOOP * path.min_radius


def _meetings(path: Path, meet: Callable, tolerance: float, most: int) -> list[Meeting]:
    """Return what `meet` finds between any two cells of the plan, each place once."""
    cells = path.cells
    cells = cells.some(slice(len(cells.piece) // 3, 2 * len(cells.piece) // 3) if path.closed else slice(1, -1))
    low, high = _boxes(cells)
    found = [np.empty((0, 4))]
    for i, j in _box_pairs(low, high, tolerance / 2):
        first, second, z = meet(cells, i, j, tolerance)
        first, second = np.minimum(first, second), np.maximum(first, second)
        found.append(np.column_stack([first, second, z.real, z.imag])[_far_apart(path, first, second)])
        if sum(map(len, found)) > most:
            break
    rows = np.concatenate(found)
    _, once = np.unique(np.round(rows[:, :2] / _SAME), axis=0, return_index=True)
    return [Meeting(float(a), float(b), (float(x), float(y))) for a, b, x, y in rows[once[:most]]]


def _boxes(cells: Cells) -> tuple[np.ndarray, np.ndarray]:
    """Return the lower left and the upper right corner of a box round each cell, complex [mm]."""
    # The start, the end, and where the tangents meet: an arc lies within their triangle.
    corner = cells.point + cells.ahead * np.tan(cells.curvature * cells.last / 2) / cells.curvature
    three = np.array([cells.point, corner, cells.at(slice(None), cells.last)[0]])
    return (three.real.min(axis=0) + 1j * three.imag.min(axis=0), three.real.max(axis=0) + 1j * three.imag.max(axis=0))


def _box_pairs(low: np.ndarray, high: np.ndarray, margin: float) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Yield index arrays i, j of boxes that meet when each grows by `margin` [mm], a chunk of pairs at a time."""
    low, high = low - margin * (1 + 1j), high + margin * (1 + 1j)
    if np.ptp(low.imag) > np.ptp(low.real):
        low, high = low.imag + 1j * low.real, high.imag + 1j * high.real
    order = np.argsort(low.real, kind="stable")
    low, high = low[order], high[order]
    last = np.searchsorted(low.real, high.real, side="right")
    count = last - np.arange(len(low)) - 1
    for chunk in np.array_split(np.arange(len(low)), int(count.sum()) // _CHUNK + 1):
        i = np.repeat(chunk, count[chunk])
        j = i + 1 + np.arange(len(i)) - np.repeat(np.cumsum(count[chunk]) - count[chunk], count[chunk])
        meet = (low[i].imag <= high[j].imag) & (low[j].imag <= high[i].imag)
        yield order[i[meet]], order[j[meet]]


def _crossed(cells: Cells, i: np.ndarray, j: np.ndarray, _tolerance: float) -> tuple[np.ndarray, ...]:
    """Return the stations and points at which cells i and j cross.

    In the axes of cell i, whose circle is 2 y = k (x^2 + y^2), that of cell j is
    2 Im((z - p) / e) = k' |z - p|^2. Less the first times k'/k it is a line, which meets the circle twice.
    """
    i, j, both_straight = _ordered(cells, i, j)
    k, k2 = cells.curvature[i], cells.curvature[j]
    p = (cells.point[j] - cells.point[i]) * np.conj(cells.ahead[i])
    e = cells.ahead[j] * np.conj(cells.ahead[i])
    normal = 1j * e + k2 * p - np.where(both_straight, 0.0, 1j * k2 / k)
    level = (np.conj(1j * e) * p).real + k2 * np.abs(p) ** 2 / 2
    size = np.abs(normal)
    # No line is left of two that are one circle.
    known = size > _SLIGHT
    n, level = normal / np.where(known, size, 1.0), level / np.where(known, size, 1.0)
    radius = 1 / np.where(both_straight, 1.0, k)
    depth = level - radius * n.imag
    half = np.sqrt(np.maximum(radius**2 - depth**2, 0.0))
    arc = known & ~both_straight & (np.abs(depth) <= np.abs(radius))
    # The circle of a straight is the x axis, and the line meets it once.
    cut = known & both_straight & (np.abs(n.real) > _SLIGHT)
    feet = 1j * radius + n * depth
    seen = np.concatenate([(feet + 1j * n * half)[arc], (feet - 1j * n * half)[arc], level[cut] / n.real[cut]])
    i, j = (np.concatenate([cell[arc], cell[arc], cell[cut]]) for cell in (i, j))
    return _held(cells, i, j, cells.point[i] + cells.ahead[i] * seen)[:3]


def _overlapped(cells: Cells, i: np.ndarray, j: np.ndarray, tolerance: float) -> tuple[np.ndarray, ...]:
    """Return the stations and points at which cells i and j run along each other within `tolerance` [mm].

    A stretch on which they do reaches to an end of a cell, or is nearest where both are square to one line.
    """
    i, j, _ = _ordered(cells, i, j)
    radius, centre = 1 / cells.curvature[i], cells.point[i] + 1j * cells.ahead[i] / cells.curvature[i]
    across = np.where(np.abs(cells.curvature[j]) == FLATTEST, 1j * cells.ahead[j],
                      cells.point[j] + 1j * cells.ahead[j] / cells.curvature[j] - centre)
    across = across / np.maximum(np.abs(across), 1e-12)
    ends = [cells.at(cell, cells.last[cell])[0] for cell in (i, j)]
    tries = [(i, j, cells.point[i]), (i, j, ends[0]), (j, i, cells.point[j]), (j, i, ends[1]),
             (i, j, centre + radius * across), (i, j, centre - radius * across)]
    mine, its, z = (np.concatenate(values) for values in zip(*tries, strict=True))
    first, second, z, apart, angle = _held(cells, mine, its, z)
    along = (apart <= tolerance) & (angle <= _PARALLEL)
    return first[along], second[along], z[along]


def _ordered(cells: Cells, i: np.ndarray, j: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return each pair with the more curved cell first, and whether both are straight."""
    curved = np.abs(cells.curvature)
    i, j = np.where(curved[i] >= curved[j], i, j), np.where(curved[i] >= curved[j], j, i)
    return i, j, curved[i] == FLATTEST


def _held(cells: Cells, i: np.ndarray, j: np.ndarray, z: np.ndarray) -> tuple[np.ndarray, ...]:
    """Return what holds of points `z` on cells i: those whose feet on both cells lie in the cells.

    Returns the stations of both feet [mm], the points, how far off cell j they are [mm], and the sine of
    the angle between the two cells there.
    """
    (u, _), (v, d) = cells.foot(z, i), cells.foot(z, j)
    on = (cells.beyond(u, i, _HAIR) == 0) & (cells.beyond(v, j, _HAIR) == 0)
    i, j, u, v = i[on], j[on], u[on], v[on]
    angle = (cells.at(i, u)[1] * np.conj(cells.at(j, v)[1])).imag
    return cells.station[i] + u, cells.station[j] + v, z[on], np.abs(d[on]), np.abs(angle)
