"""Where words find room on a sheet: beside what they name, on nothing that is drawn and no other words."""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct

from partgen.report.sheets.drafting import Box

CELL = 0.5              # mm of paper: what is taken is kept by cells so large
STEPS = (0.0, 2.5, 5.0, 8.0, 12.0, 17.0, 23.0)      # mm farther off that are tried in turn
APART = 0.6             # mm between any two words, and from them to what is drawn
LEADER = 4.0            # mm: what stands nearer needs no line to its place


class Wish(Struct, frozen=True):
    """Words in want of room: how large [mm], the place that they belong to, how far from it they begin, and which way
    they stand off it, of length 1; complex [mm of paper]. The other way is tried as well."""

    size: tuple[float, float]
    place: complex
    off: float
    way: complex


class Found(Struct, frozen=True):
    """Where words stand: the middle, and the line that leads to their place, none where they stand right beside it."""

    middle: complex
    leader: tuple[complex, complex] | None


class Room:
    """What of a sheet is taken."""

    def __init__(self, area: Box, size: tuple[float, float]) -> None:
        """All of a sheet of that size [mm] is free that lies in an area of it."""
        self.taken = np.ones([int(side / CELL) + 2 for side in size], bool)
        self.taken[self._cells(area)] = False

    def _cells(self, box: Box) -> tuple[slice, slice]:
        low, high = (np.maximum(np.floor(np.array(side) / CELL), 0).astype(int) for side in (box[:2], box[2:]))
        return slice(low[0], high[0] + 1), slice(low[1], high[1] + 1)

    def free(self, box: Box) -> bool:
        """Is nothing in a box of the sheet?"""
        return min(box[:2]) >= 0 and not self.taken[self._cells(box)].any()

    def take(self, box: Box) -> None:
        """Take a box."""
        self.taken[self._cells(box)] = True

    def take_points(self, points: np.ndarray) -> None:
        """Take what lies under points, complex [mm]; what of them is off the sheet is let be."""
        x, y = (np.floor(side.ravel() / CELL).astype(int) for side in (points.real, points.imag))
        inside = (x >= 0) & (y >= 0) & (x < self.taken.shape[0]) & (y < self.taken.shape[1])
        self.taken[x[inside], y[inside]] = True

    def place(self, wish: Wish) -> Found | None:
        """Return where words stand, and take it; None where there is no room."""
        for middle, edge in _tries(wish):
            box = box_of(middle, wish.size)
            line = _line(wish.place + edge, middle, box)
            if self.free(box_of(middle, [side + 2 * APART for side in wish.size])) and not self._crossed(line):
                self.take(box)
                if line is not None:
                    self.take_points(_points(line))
                return Found(middle, line)
        return None

    def _crossed(self, line: tuple[complex, complex] | None) -> bool:
        if line is None:
            return False
        points = _points(line)[2:]
        x, y = (np.floor(side / CELL).astype(int) for side in (points.real, points.imag))
        return bool(self.taken[x, y].any())


def box_of(middle: complex, size: Sequence[float]) -> Box:
    """Return the box of that size about a point."""
    x, y, wide, high = middle.real, middle.imag, size[0] / 2, size[1] / 2
    return (x - wide, y - high, x + wide, y + high)


def _tries(wish: Wish) -> Iterator[tuple[complex, complex]]:
    """Yield middles to try, nearest first, and from where off the place a leader would start."""
    wide, high = wish.size
    for step in STEPS:
        for way in (wish.way, -wish.way):
            reach = wish.off + step + abs(way.real) * wide / 2 + abs(way.imag) * high / 2
            for share in (0.0, 0.5, -0.5, 1.0, -1.0):
                aside = 1j * way * share * (abs(way.imag) * wide + abs(way.real) * high)
                yield wish.place + way * reach + aside, way * (wish.off - 0.5)


def _line(start: complex, middle: complex, box: Box) -> tuple[complex, complex] | None:
    """Return the leader from a start to the nearest point of a box; None where that is right beside it."""
    end = complex(min(max(start.real, box[0]), box[2]), min(max(start.imag, box[1]), box[3]))
    return (start, end) if abs(end - start) > LEADER else None


def _points(line: tuple[complex, complex]) -> np.ndarray:
    count = max(int(abs(line[1] - line[0]) / CELL * 2), 2)
    return np.linspace(line[0], line[1], count)[:-2]
