"""A track centre line of straights and arcs: where it runs, and how to find one's place on it."""

from functools import cached_property
from math import degrees, isfinite, radians

import numpy as np
from msgspec import Struct
from msgspec.structs import force_setattr

from partgen.motion.cells import FLATTEST, Cells, lay

SIDES = {"left": 1.0, "right": -1.0}
_HAIR = 1e-9            # mm by which a foot may lie beyond its cell before the neighbour is asked


class Piece(Struct, frozen=True):
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


class Path(Struct, frozen=True, dict=True):
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
                             f"of {min(abs(1 / p.curvature) for p, f in zip(self.pieces, shares) if f <= 0):g} mm")
        x, y, heading = self.start
        corner = complex(x, y) + distance * 1j * np.exp(1j * heading)
        pieces = (Piece(p.length * share, p.curvature / share) for p, share in zip(self.pieces, shares))
        return Path(tuple(pieces), self.closed, (corner.real, corner.imag, heading))

    @cached_property
    def cells(self) -> Cells:
        """The line cut into cells: of an open one an endless straight, all of it, and another; of a closed
        one the lap before, the lap itself and the lap after."""
        curvature = np.array([piece.curvature for piece in self.pieces])
        return lay(curvature, np.diff(self.bounds), self.start, self.closed)

    # ---- at given stations

    def frame(self, s) -> tuple[np.ndarray, np.ndarray]:
        """Return point [mm] and direction [1] of the line at stations `s` [mm], complex, shaped like `s`."""
        cell, u = self._find(s)
        return self.cells.at(cell, u)

    def point(self, s) -> np.ndarray:
        """Return the points of the line at stations `s` [mm], shape (..., 2) [mm]."""
        z = self.frame(s)[0]
        return np.stack([z.real, z.imag], axis=-1)

    def heading(self, s) -> np.ndarray:
        """Return the heading of the line at stations `s` [mm], counted through full turns [rad]."""
        cell, u = self._find(s)
        return self.cells.heading[cell] + self.cells.curvature[cell] * u

    def curvature(self, s) -> np.ndarray:
        """Return the curvature at stations `s` [mm], positive to the left [1/mm]; at a joint that ahead."""
        curvature = self.cells.curvature[self._find(s)[0]]
        return np.where(curvature == FLATTEST, 0.0, curvature)

    def piece_at(self, s) -> np.ndarray:
        """Return the index of the piece at stations `s` [mm]; at a joint that ahead, beyond an end the last."""
        return self.cells.piece[self._find(s)[0]]

    def _find(self, s):
        """Return the cell of every station, and how far beyond the cell's start it lies [mm]."""
        s, station = np.asarray(s, dtype=float), self.cells.station
        if self.closed:
            far = (s < -self.length) | (s >= 2 * self.length)
            if far.any():
                s = np.where(far, np.mod(s, self.length), s)
        cell = np.searchsorted(station[1:], s, side="right")
        return cell, s - station[cell]

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
        cells, shape, last = self.cells, z.shape, len(self.cells.piece) - 1
        z = z.ravel()
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
