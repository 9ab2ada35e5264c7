"""A track centre line of straights and arcs: where it runs, and how to find one's place on it.

Inside this room a point of the plane is a complex number and a direction one of length 1: turning a wagon
is a product, the angle between two directions a quotient.
"""

from functools import cached_property
from math import degrees, isfinite, pi, radians
from typing import Self

import numpy as np
from msgspec import Struct
from msgspec.structs import astuple, force_setattr, replace
from numpy.typing import ArrayLike

SIDES = {"left": 1.0, "right": -1.0}
FLATTEST = 1e-30        # curvature that a straight is counted with: the formulas of the arc then serve both
_HAIR = 1e-9            # mm by which a foot may lie beyond its cell before the neighbour is asked


class TrackPiece(Struct, frozen=True):
    """One piece of track: `length` along the centre line [mm], `curvature` [1/mm], positive to the left."""

    length: float
    curvature: float = 0.0

    def __post_init__(self) -> None:
        if not (isfinite(self.length) and self.length > 0 and isfinite(self.curvature)):
            raise ValueError(f"a piece of track {self.length} mm long with curvature {self.curvature} 1/mm "
                             "cannot be laid: the length must be above 0 and both finite")


def straight(length: float) -> TrackPiece:
    """Return a straight of `length` [mm]; ValueError unless it is above 0."""
    return TrackPiece(length)


def arc(radius: float, angle: float, side: str) -> TrackPiece:
    """Return an arc of track.

    radius: of the track centre line [mm], above 0
    angle: how far it turns [deg], above 0
    side: "left" or "right", the way it turns
    Raises ValueError for any other radius, angle or side.
    """
    if not radius > 0:
        raise ValueError(f"a curve radius of {radius} mm is no curve: it must be above 0")
    if side not in SIDES:
        raise ValueError(f'a curve turns "left" or "right", not {side!r}')
    return TrackPiece(radius * radians(angle), SIDES[side] / radius)


class Path(Struct, frozen=True, dict=True, cache_hash=True):
    """A track centre line laid from `start` (x [mm], y [mm], heading [rad]).

    Stations are distances along the line from its start [mm]. Before and beyond an open line the track
    goes on straight. A closed line goes round: the lap before and the lap after are laid on to its ends
    as they come, so that a closing error opens no gap under a vehicle; farther stations are counted down
    to one lap. Raises ValueError without pieces.
    """

    pieces: tuple[TrackPiece, ...]
    closed: bool = False
    start: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def __post_init__(self) -> None:
        force_setattr(self, "pieces", tuple(self.pieces))
        if not self.pieces:
            raise ValueError("a track plan without pieces leads nowhere: lay at least one")

    # ---- the line as a whole

    @cached_property
    def bounds(self) -> np.ndarray:
        """Stations [mm] of the pieces' ends, shape (n + 1,), the first one 0."""
        return np.concatenate([[0.0], np.cumsum([piece.length for piece in self.pieces])])

    @property
    def length(self) -> float:
        """Length of the line [mm], of a closed line one lap."""
        return float(self.bounds[-1])

    @cached_property
    def min_radius(self) -> float:
        """Radius of the sharpest arc [mm], infinite where all is straight."""
        sharpest = max(abs(piece.curvature) for piece in self.pieces)
        return 1 / sharpest if sharpest else float("inf")

    def closing_error(self) -> tuple[float, float]:
        """Return how far the end lies from the start [mm] and how far it turns past it [deg, -180 to 180]."""
        point, ahead = self.frame(np.array([0.0, self.length]))
        return float(abs(point[1] - point[0])), degrees(np.angle(ahead[1] / ahead[0]))

    def offset(self, distance: float) -> "Path":
        """Return the line that runs parallel at `distance` [mm] to the left, to the right if negative.

        Raises ValueError where an arc would turn about a point on or beyond the parallel line.
        """
        shares = [1 - piece.curvature * distance for piece in self.pieces]
        if min(shares) <= 0:
            raise ValueError(f"no line runs parallel at {distance:g} mm: the sharpest curve there has a radius "
                             f"of {abs(distance) / (1 - min(shares)):g} mm")
        x, y, heading = self.start
        corner = complex(x, y) + distance * 1j * np.exp(1j * heading)
        pieces = tuple(TrackPiece(piece.length * share, piece.curvature / share)
                       for piece, share in zip(self.pieces, shares, strict=True))
        return Path(pieces, self.closed, (corner.real, corner.imag, heading))

    @cached_property
    def cells(self) -> "Cells":
        """The line cut into cells: of an open one an endless straight, all of it, and another; of a closed
        one the lap before, the lap itself and the lap after."""
        ends = [] if self.closed else [0.0]     # pieces without length, from which the endless straights run
        curvature = np.array([*ends, *(piece.curvature for piece in self.pieces), *ends])
        length = np.array([*ends, *np.diff(self.bounds), *ends])
        bounds = np.concatenate([[0.0], np.cumsum(length)])
        parts = np.maximum(np.ceil(np.abs(curvature * length) / (pi / 2) - 1e-9), 1).astype(int)
        piece = np.repeat(np.arange(len(parts)), parts)
        part = np.arange(len(piece)) - (np.cumsum(parts) - parts)[piece]
        curvature, length = np.where(curvature == 0, FLATTEST, curvature)[piece], (length / parts)[piece]
        heading = self.start[2] + np.concatenate([[0.0], np.cumsum(curvature * length)])
        half = curvature * length / 2
        chords = np.exp(1j * (heading[:-1] + half)) * (2 * np.sin(half) / curvature)
        point = complex(*self.start[:2]) + np.concatenate([[0.0], np.cumsum(chords)])
        cells = Cells(bounds[piece] + part * length, point[:-1], np.exp(1j * heading[:-1]), heading[:-1], curvature,
                      np.zeros_like(length), length, np.clip(piece - len(ends), 0, len(self.pieces) - 1))
        if self.closed:
            return _lapped(cells, bounds[-1], point[-1], heading[-1])
        cells.first[0], cells.last[-1] = -np.inf, np.inf
        return cells

    # ---- at given stations

    def frame(self, s: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
        """Return point [mm] and direction [1] of the line at stations `s` [mm], complex, shaped like `s`."""
        cell, u = self._find(s)
        return self.cells.at(cell, u)

    def point(self, s: ArrayLike) -> np.ndarray:
        """Return the points of the line at stations `s` [mm], shape (..., 2) [mm]."""
        z = self.frame(s)[0]
        return np.stack([z.real, z.imag], axis=-1)

    def heading(self, s: ArrayLike) -> np.ndarray:
        """Return the heading of the line at stations `s` [mm], counted through full turns [rad]."""
        cell, u = self._find(s)
        return self.cells.heading[cell] + self.cells.curvature[cell] * u

    def curvature(self, s: ArrayLike) -> np.ndarray:
        """Return the curvature at stations `s` [mm], positive to the left [1/mm]; at a joint that ahead."""
        curvature = self.cells.curvature[self._find(s)[0]]
        return np.where(curvature == FLATTEST, 0.0, curvature)

    def piece_at(self, s: ArrayLike) -> np.ndarray:
        """Return the index of the piece at stations `s` [mm]; at a joint that ahead, beyond an end the last."""
        return self.cells.piece[self._find(s)[0]]

    def _find(self, s: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
        """Return the cell of every station, and how far beyond the cell's start it lies [mm]."""
        s, station = np.asarray(s, dtype=float), self.cells.station
        if self.closed:
            far = (s < -self.length) | (s >= 2 * self.length)
            if far.any():
                s = np.where(far, np.mod(s, self.length), s)
        cell = np.searchsorted(station[1:], s, side="right")
        return cell, s - station[cell]

    # ---- back from the plane to the line

    def project(self, points: ArrayLike, near: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
        """Drop perpendiculars on the line.

        points: complex [mm], nearer to the line than its centres of curvature
        near: station of each where the search begins [mm], within a quarter circle of the foot; broadcast
        Returns station of the foot and distance to the left of the line, shaped like the points [mm].
        """
        cells, shape, last = self.cells, np.shape(points), len(self.cells.piece) - 1
        z = np.ravel(points)
        cell, _ = self._find(np.broadcast_to(near, shape).ravel())
        u, d = cells.foot(z, cell)
        way = cells.beyond(u, cell, _HAIR)
        todo = np.flatnonzero(way)
        while todo.size:
            there = cell[todo] + way[todo]
            todo, there = todo[(there >= 0) & (there <= last)], there[(there >= 0) & (there <= last)]
            cell[todo] = there
            u[todo], d[todo] = cells.foot(z[todo], there)
            # A foot that lies before the next cell and behind this one is on their joint: both agree.
            todo = todo[cells.beyond(u[todo], there, _HAIR) == way[todo]]
        return (cells.station[cell] + u).reshape(shape), d.reshape(shape)


class Rowed(Struct, frozen=True):
    """Arrays of one shape, or structs of them, that go together."""

    def some(self, which: slice | np.ndarray | list[int]) -> Self:
        """Return those that an index array, a list or a slice names."""
        return type(self)(*(part.some(which) if isinstance(part, Rowed) else part[which] for part in astuple(self)))


class Cells(Rowed, frozen=True):
    """Cells in order along the line, an array of each: station [mm], point [mm], direction [1] and heading
    [rad] where the cell's own arc length u is 0, its curvature [1/mm], the u of its two ends [mm], and the
    piece it is from.
    """

    station: np.ndarray
    point: np.ndarray
    ahead: np.ndarray
    heading: np.ndarray
    curvature: np.ndarray
    first: np.ndarray
    last: np.ndarray
    piece: np.ndarray

    def at(self, cell: slice | np.ndarray, u: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return point [mm] and direction [1] at arc length `u` [mm] of cells."""
        curvature = self.curvature[cell]
        half = curvature * u / 2
        sine = np.sin(half)
        turn = np.cos(half) + 1j * sine
        ahead = self.ahead[cell] * turn
        return self.point[cell] + ahead * (2 * sine / curvature), ahead * turn

    def foot(self, z: np.ndarray, cell: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Drop perpendiculars from points `z` on the endless circles of cells.

        Returns u of the foot and distance to the left of the line [mm]. With the point at (x, y) from the
        cell's start and its centre at (0, 1/k), w = (1 - k y) + i k x points from the centre to the point.
        """
        k = self.curvature[cell]
        seen = (z - self.point[cell]) * np.conj(self.ahead[cell])
        x, y = seen.real, seen.imag
        w_real, w_imag = 1 - k * y, k * x
        u = np.arctan2(w_imag, w_real) / k
        return u, (2 * y - k * (x * x + y * y)) / (1 + np.sqrt(w_real * w_real + w_imag * w_imag))

    def beyond(self, u: np.ndarray, cell: np.ndarray, hair: float) -> np.ndarray:
        """Say where `u` lies more than `hair` [mm] before its cell, -1, beyond it, 1, or in it, 0."""
        return (u > self.last[cell] + hair).astype(int) - (u < self.first[cell] - hair)


def _joined(*many: Cells) -> Cells:
    """Return the cells of all, one after the other."""
    return Cells(*map(np.concatenate, zip(*map(astuple, many), strict=True)))


def _lapped(cells: Cells, length: float, point: complex, heading: float) -> Cells:
    """Return the cells of three laps, the middle one as laid, the others moved so that they join it."""
    corner, turn = cells.point[0], heading - cells.heading[0]

    def lap(way: int, old: complex, new: complex) -> Cells:
        spin = np.exp(1j * way * turn)
        return replace(cells, station=cells.station + way * length, point=new + (cells.point - old) * spin,
                       ahead=cells.ahead * spin, heading=cells.heading + way * turn)

    return _joined(lap(-1, point, corner), cells, lap(1, corner, point))
