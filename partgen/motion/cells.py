"""The track centre line cut into cells, each part of one straight or arc, turning by a quarter circle at most.

Inside this room a point of the plane is a complex number and a direction one of length 1: turning a wagon
is a product, the angle between two directions a quotient.
"""

from math import pi

import numpy as np
from msgspec import Struct
from msgspec.structs import astuple

FLATTEST = 1e-30        # curvature that a straight is counted with: the formulas of the arc then serve both


class Cells(Struct, frozen=True):
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

    def some(self, which) -> "Cells":
        """Return the cells that an index array or a slice names."""
        return Cells(*(values[which] for values in astuple(self)))

    def at(self, cell, u) -> tuple[np.ndarray, np.ndarray]:
        """Return point [mm] and direction [1] at arc length `u` [mm] of cells."""
        curvature = self.curvature[cell]
        half = curvature * u / 2
        sine = np.sin(half)
        turn = np.cos(half) + 1j * sine
        ahead = self.ahead[cell] * turn
        return self.point[cell] + ahead * (2 * sine / curvature), ahead * turn

    def foot(self, z, cell) -> tuple[np.ndarray, np.ndarray]:
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

    def beyond(self, u, cell, hair: float) -> np.ndarray:
        """Say where `u` lies more than `hair` [mm] before its cell, -1, beyond it, 1, or in it, 0."""
        return (u > self.last[cell] + hair).astype(int) - (u < self.first[cell] - hair)


def lay(curvature, length, start, closed: bool) -> Cells:
    """Lay pieces one after the other and return their cells.

    curvature [1/mm], length [mm]: of every piece, shape (n,)
    start: where the line begins, x [mm], y [mm], heading [rad]
    Before and beyond an open line an endless straight is laid, to the ends of a closed one a lap each way.
    """
    bounds = np.concatenate([[0.0], np.cumsum(length)])
    parts = np.maximum(np.ceil(np.abs(curvature * length) / (pi / 2) - 1e-9), 1).astype(int)
    piece = np.repeat(np.arange(len(parts)), parts)
    part = np.arange(len(piece)) - (np.cumsum(parts) - parts)[piece]
    curvature, length = np.where(curvature == 0, FLATTEST, curvature)[piece], (length / parts)[piece]
    heading = start[2] + np.concatenate([[0.0], np.cumsum(curvature * length)])
    half = curvature * length / 2
    chords = np.exp(1j * (heading[:-1] + half)) * (2 * np.sin(half) / curvature)
    point = complex(*start[:2]) + np.concatenate([[0.0], np.cumsum(chords)])
    cells = Cells(bounds[piece] + part * length, point[:-1], np.exp(1j * heading[:-1]), heading[:-1], curvature,
                  np.zeros_like(length), length, piece)
    end = bounds[-1], point[-1], heading[-1]
    return _lapped(cells, *end) if closed else _prolonged(cells, *end)


def _joined(*many: Cells) -> Cells:
    """Return the cells of all, one after the other."""
    return Cells(*map(np.concatenate, zip(*map(astuple, many))))


def _prolonged(cells: Cells, length, point, heading) -> Cells:
    """Return the cells with an endless straight before and one beyond them."""
    def ray(station, point, heading, first, last, piece):
        values = station, point, np.exp(1j * heading), heading, FLATTEST, first, last, piece
        return Cells(*(np.array([value]) for value in values))

    before = ray(0.0, cells.point[0], cells.heading[0], -np.inf, 0.0, 0)
    return _joined(before, cells, ray(length, point, heading, 0.0, np.inf, cells.piece[-1]))


def _lapped(cells: Cells, length, point, heading) -> Cells:
    """Return the cells of three laps, the middle one as laid, the others moved so that they join it."""
    turn, corner = heading - cells.heading[0], cells.point[0]
    spin = np.exp(1j * turn)

    def lap(station, point, turn, spin):
        return Cells(cells.station + station, point, cells.ahead * spin, cells.heading + turn, cells.curvature,
                     cells.first, cells.last, cells.piece)

    return _joined(lap(-length, corner + (cells.point - point) / spin, -turn, 1 / spin), cells,
                   lap(length, point + (cells.point - corner) * spin, turn, spin))
