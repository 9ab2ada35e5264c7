"""A track centre line of straights and arcs: where it runs, and how to find one's place on it.

Inside this room a point of the plane is a complex number and a direction one of length 1: turning a wagon
is a product, the angle between two directions a quotient. Arrays of (x, y) are for the outside.
"""

from dataclasses import dataclass
from functools import cached_property
from math import degrees, isfinite, pi, radians

import numpy as np

SIDES = {"left": 1.0, "right": -1.0}
_FLATTEST = 1e-30       # curvature that a straight is counted with: the formulas of the arc then serve both
_HAIR = 1e-9            # mm by which a foot may lie beyond its cell before the neighbour is asked


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of track: `length` along the centre line [mm], `curvature` [1/mm], positive to the left."""

    length: float
    curvature: float = 0.0

    def __post_init__(self):
        if not (isfinite(self.length) and self.length > 0 and isfinite(self.curvature)):
            raise ValueError(f"a piece of track {self.length} mm long with curvature {self.curvature} 1/mm "
                             "cannot be laid: the length must be above 0 and both finite")


def straight(length: float) -> Piece:
    """Return a straight of `length` [mm]; ValueError unless it is above 0."""
    return Piece(length)


def arc(radius: float, angle: float, side: str) -> Piece:
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
    return Piece(radius * radians(angle), SIDES[side] / radius)


@dataclass(frozen=True, slots=True)
class _Cells:
    """The line cut into cells that turn by a quarter circle at most, in order of their first station.

    Of every cell: station, point, direction and heading where its own arc length u is 0, its curvature,
    the u of its two ends, and the piece it is from.
    """

    station: np.ndarray
    point: np.ndarray
    ahead: np.ndarray
    heading: np.ndarray
    curvature: np.ndarray
    first: np.ndarray
    last: np.ndarray
    piece: np.ndarray


@dataclass(frozen=True)
class Path:
    """A track centre line laid from `start` (x [mm], y [mm], heading [rad]).

    Stations are distances along the line from its start [mm]. Before and beyond an open line the track
    goes on straight. A closed line goes round: the lap before and the lap after are laid on to its ends
    as they come, so that a closing error opens no gap under a vehicle; farther stations are counted down
    to one lap. Raises ValueError without pieces.
    """

    pieces: tuple[Piece, ...]
    closed: bool = False
    start: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def __post_init__(self):
        object.__setattr__(self, "pieces", tuple(self.pieces))
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
                             f"of {min(abs(1 / p.curvature) for p, f in zip(self.pieces, shares) if f <= 0):g} mm")
        x, y, heading = self.start
        corner = complex(x, y) + distance * 1j * np.exp(1j * heading)
        pieces = (Piece(p.length * share, p.curvature / share) for p, share in zip(self.pieces, shares))
        return Path(tuple(pieces), self.closed, (corner.real, corner.imag, heading))

    @cached_property
    def _cells(self) -> _Cells:
        """Lay the pieces one after the other; beyond the ends a straight, or a lap each way when closed."""
        curvature = np.array([piece.curvature or _FLATTEST for piece in self.pieces])
        length = np.array([piece.length for piece in self.pieces])
        parts = np.maximum(np.ceil(np.abs(curvature * length) / (pi / 2) - 1e-9), 1).astype(int)
        piece = np.repeat(np.arange(len(parts)), parts)
        curvature, length = curvature[piece], (length / parts)[piece]
        x, y, heading = self.start
        headings = heading + np.concatenate([[0.0], np.cumsum(curvature * length)])
        half = curvature * length / 2
        chords = np.exp(1j * (headings[:-1] + half)) * (2 * np.sin(half) / curvature)
        points = complex(x, y) + np.concatenate([[0.0], np.cumsum(chords)])
        first_in_piece = np.concatenate([[0], np.cumsum(parts)[:-1]])
        station = self.bounds[piece] + (np.arange(len(piece)) - first_in_piece[piece]) * length
        cells = _Cells(station, points[:-1], np.exp(1j * headings[:-1]), headings[:-1], curvature,
                       np.zeros_like(length), length, piece)
        end = points[-1], headings[-1]
        return _lapped(cells, end, self) if self.closed else _prolonged(cells, end, self)

    # ---- at given stations

    def frame(self, s) -> tuple[np.ndarray, np.ndarray]:
        """Return point [mm] and direction [1] of the line at stations `s` [mm], complex, shaped like `s`."""
        cells, cell, u = self._find(s)
        curvature = cells.curvature[cell]
        half = curvature * u / 2
        sine = np.sin(half)
        turn = np.cos(half) + 1j * sine
        ahead = cells.ahead[cell] * turn
        return cells.point[cell] + ahead * (2 * sine / curvature), ahead * turn

    def point(self, s) -> np.ndarray:
        """Return the points of the line at stations `s` [mm], shape (..., 2) [mm]."""
        z = self.frame(s)[0]
        return np.stack([z.real, z.imag], axis=-1)

    def heading(self, s) -> np.ndarray:
        """Return the heading of the line at stations `s` [mm], counted through full turns [rad]."""
        cells, cell, u = self._find(s)
        return cells.heading[cell] + cells.curvature[cell] * u

    def curvature(self, s) -> np.ndarray:
        """Return the curvature at stations `s` [mm], positive to the left [1/mm]; at a joint that ahead."""
        cells, cell, _ = self._find(s)
        curvature = cells.curvature[cell]
        return np.where(curvature == _FLATTEST, 0.0, curvature)

    def piece_at(self, s) -> np.ndarray:
        """Return the index of the piece at stations `s` [mm]; at a joint that ahead, beyond an end the last."""
        cells, cell, _ = self._find(s)
        return cells.piece[cell]

    def _find(self, s):
        """Return the cells, the cell of every station, and how far beyond the cell's start it lies [mm]."""
        s, cells = np.asarray(s, dtype=float), self._cells
        if self.closed:
            far = (s < -self.length) | (s >= 2 * self.length)
            if far.any():
                s = np.where(far, np.mod(s, self.length), s)
        cell = np.searchsorted(cells.station[1:], s, side="right")
        return cells, cell, s - cells.station[cell]

    # ---- back from the plane to the line

    def project(self, points, near) -> tuple[np.ndarray, np.ndarray]:
        """Drop perpendiculars on the line.

        points: shape (..., 2) [mm], or complex, shape (...); nearer to the line than its centres of curvature
        near: station of each where the search begins [mm], within a quarter circle of the foot; broadcast
        Returns station of the foot and distance to the left of the line, shape (...) [mm].
        """
        z = np.asarray(points)
        if not np.iscomplexobj(z):
            z = z[..., 0] + 1j * z[..., 1]
        shape, last = z.shape, len(self._cells.station) - 1
        z = z.ravel()
        _, cell, _ = self._find(np.broadcast_to(near, shape).ravel())
        s, d, beyond = self._foot(z, cell)
        todo, way = np.flatnonzero(beyond), beyond[beyond != 0]
        while todo.size:
            cell[todo] += way
            inside = (cell[todo] >= 0) & (cell[todo] <= last)
            todo, way = todo[inside], way[inside]
            s[todo], d[todo], beyond = self._foot(z[todo], cell[todo])
            # A foot that lies before the next cell and behind this one is on their joint: both agree.
            onward = beyond == way
            todo, way = todo[onward], way[onward]
        return s.reshape(shape), d.reshape(shape)

    def _foot(self, z, cell):
        """Return station and offset [mm] on the endless circle of each cell, and which way the cell is missed.

        With the point at (x, y) from the cell's start and its centre at (0, 1/k): w = (1 - k y) + i k x.
        """
        cells = self._cells
        k = cells.curvature[cell]
        seen = (z - cells.point[cell]) * np.conj(cells.ahead[cell])
        x, y = seen.real, seen.imag
        w_real, w_imag = 1 - k * y, k * x
        u = np.arctan2(w_imag, w_real) / k
        d = (2 * y - k * (x * x + y * y)) / (1 + np.sqrt(w_real * w_real + w_imag * w_imag))
        beyond = (u > cells.last[cell] + _HAIR).astype(int) - (u < cells.first[cell] - _HAIR)
        return cells.station[cell] + u, d, beyond


def _joined(*many: _Cells) -> _Cells:
    """Return the cells of all, one after the other."""
    return _Cells(*(np.concatenate([getattr(cells, name) for cells in many]) for name in _Cells.__slots__))


def _prolonged(cells: _Cells, end, path: Path) -> _Cells:
    """Return the cells with an endless straight before and one beyond them."""
    def ray(station, point, heading, first, last, piece):
        values = station, point, np.exp(1j * heading), heading, _FLATTEST, first, last, piece
        return _Cells(*(np.array([value]) for value in values))

    before = ray(0.0, cells.point[0], cells.heading[0], -np.inf, 0.0, 0)
    return _joined(before, cells, ray(path.length, *end, 0.0, np.inf, len(path.pieces) - 1))


def _lapped(cells: _Cells, end, path: Path) -> _Cells:
    """Return the cells of three laps, the middle one as laid, the others moved so that they join it."""
    turn = end[1] - cells.heading[0]
    spin, corner = np.exp(1j * turn), cells.point[0]

    def lap(station, point, turn, spin):
        return _Cells(station, point, cells.ahead * spin, cells.heading + turn, cells.curvature, cells.first,
                      cells.last, cells.piece)

    after = lap(cells.station + path.length, end[0] + (cells.point - corner) * spin, turn, spin)
    before = lap(cells.station - path.length, corner + (cells.point - end[0]) / spin, -turn, 1 / spin)
    return _joined(before, cells, after)
