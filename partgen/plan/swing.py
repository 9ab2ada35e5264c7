"""The room that a bogie takes under the body as it swings about its pivot."""

from math import atan2, cos, hypot, radians, sin

from msgspec import Struct

STEPS = 16              # turns tried between straight and full swing: a gap comes out right within 0.02 mm
SEARCH = 0.25           # mm between two distances tried


class SwingRoom(Struct, frozen=True):
    """A bogie's plan view: rectangles (x0, x1, y0, y1) [mm] about its pivot, of its front left quarter.

    It swings by `angle` [deg] either way.
    """

    angle: float
    rectangles: tuple[tuple[float, float, float, float], ...]

    @property
    def reach(self) -> float:
        """How far [mm] along the wagon, from its pivot, any part of the swinging bogie gets."""
        return max(_reach(x, y, radians(self.angle)) for _, x, _, y in self.rectangles)

    def gap(self, distance: float, radius: float) -> float:
        """Return the least gap [mm] to a round thing of `radius`, `distance` [mm] ahead of the pivot.

        Negative where they meet.
        """
        turns = (radians(self.angle) * k / STEPS for k in range(STEPS + 1))
        return min(_from(rectangle, distance * cos(turn), distance * sin(turn))
                   for turn in turns for rectangle in self.rectangles) - radius

    def clear_of(self, radius: float, gap: float) -> float:
        """Return the distance [mm] from which on a round thing of `radius` keeps `gap` [mm] from the bogie."""
        distance = max(hypot(x, y) for _, x, _, y in self.rectangles) + radius + gap
        while distance > SEARCH and self.gap(distance - SEARCH, radius) >= gap:
            distance -= SEARCH
        return distance


def _reach(x: float, y: float, angle: float) -> float:
    """Return the largest x [mm] of a corner that turns by up to `angle` [rad] either way."""
    straight = atan2(y, x)
    return hypot(x, y) * cos(straight - min(angle, straight))


def _from(rectangle, x: float, y: float) -> float:
    """Return the distance [mm] of a point from a rectangle, 0 inside."""
    x0, x1, y0, y1 = rectangle
    return hypot(max(x0 - x, 0.0, x - x1), max(y0 - y, 0.0, y - y1))
