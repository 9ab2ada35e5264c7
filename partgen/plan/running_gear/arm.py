"""The arm that carries a coupler on a bogie: it lies on the bogie under the bolster, and reaches out beyond the wheels.

Ribs under it lie in grooves across the bogie, so that it turns with it and takes the pull; the king pin goes through
both. In a curve the coupler so stays near the middle of the track, as the bogie does.
"""

from collections.abc import Iterator
from math import pi, sqrt

from msgspec import Struct

from partgen.plan.context import Context
from partgen.plan.coupling import CouplingPlan, SeatPlan
from partgen.plan.fits import FITS
from partgen.plan.item import Core, PartPlan

THICK = 3.0             # of an arm, at least
SHARE = 0.06            # of its length that it is thick
RIB_WIDE, RIB_DEEP = 2.4, 1.4       # of the ribs in the bogie's grooves
BESIDE = 2.7            # from the end of the bogie's flat face to the middle of a groove
INSIDE = 0.9            # from a groove to the king pin's hole, at least
EDGE = 0.6              # from a rib to the edge of the plate
GROOVE = RIB_WIDE + FITS["snug"].clearance      # width of a groove
GROOVE_DEEP = RIB_DEEP + 0.2


class ArmPlan(PartPlan, frozen=True):
    """An arm: the bogie's pivot on the z axis, x outwards, heights over rail top; all in mm."""

    seat: SeatPlan          # at its end; its x counts from the bogie's pivot
    bottom: float           # of the plate
    top: float
    disc: float             # radius round the pivot, under the bolster's pad
    pin_hole: float
    rib: float              # ribs at plus and minus this
    rib_wide: float
    rib_deep: float

    @property
    def thick(self) -> float:
        """Thickness of the plate [mm]."""
        return self.top - self.bottom

    @property
    def rib_long(self) -> float:
        """Length of the ribs [mm]: the plate is under all of both."""
        return 2 * min(self.seat.boss, sqrt(self.disc**2 - (self.rib + self.rib_wide / 2 + EDGE)**2))

    @property
    def far(self) -> float:
        """How far from the pivot [mm] it reaches."""
        return self.seat.x + self.seat.boss

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.disc + self.far, 2 * max(self.disc, self.seat.boss), self.top - self.seat.spigot_bottom)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from disc, tongue, ribs and seat."""
        return sum(volume for volume, _ in self._pieces())

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm], estimated."""
        return sum(volume * z for volume, z in self._pieces()) / self.volume

    def _pieces(self) -> Iterator[tuple[float, float]]:
        """Yield volume [mm3] and height over rail top [mm] of plate, ribs and seat."""
        seat, core = self.seat, max(self.seat.core_depth - (self.seat.boss_bottom - self.seat.spigot_bottom), 0.0)
        plate = self._tongue(0.0) + pi * self.disc**2 - pi / 4 * self.pin_hole**2
        yield plate * self.thick - pi / 4 * seat.core**2 * core, (self.bottom + self.top) / 2
        yield 2 * self.rib_wide * self.rib_deep * self.rib_long, self.bottom - self.rib_deep / 2
        yield seat.volume(self.bottom), (self.bottom + seat.foot) / 2

    def _tongue(self, wall: float) -> float:
        """Return the area [mm2] of the tongue beyond the disc, round at its end, `wall` [mm] within its outline."""
        half = max(self.seat.boss - wall, 0.0)
        # Where it leaves the disc the circle's cap is counted with the disc.
        return 2 * half * max(self.seat.x - self.disc + 0.1 * half, 0.0) + pi / 2 * half**2

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield the boss, and the plate round it."""
        seat = self.seat
        boss = pi * max(max(seat.boss - wall, 0.0)**2 - (seat.core / 2 + wall)**2, 0.0)
        yield boss, self.top - seat.boss_bottom
        disc = pi * max(self.disc - wall, 0.0)**2 - pi * (self.pin_hole / 2 + wall)**2
        yield max(disc + self._tongue(wall) - boss, 0.0), self.thick


def groove_at(flat: float, pin_hole: float) -> float:
    """Return where [mm] from the pivot the grooves lie in a face flat so far from it, with a hole for the king pin."""
    return max(flat - BESIDE, pin_hole / 2 + INSIDE + GROOVE / 2)


class Carried(Struct, frozen=True):
    """What an arm asks of its bogie and the frame [mm]: how thick its plate is, how far from the bogie's pivot the
    drawbar turns, and the lowest that the arm's underside may be."""

    thick: float
    seat: float
    least: float


def carried(context: Context, coupling: CouplingPlan, seat: float, plan: SeatPlan) -> Carried:
    """Return what an arm with its seat so far [mm] from the bogie's pivot asks for: its screw ends within it."""
    thick = max(THICK, context.printer.thinnest_wall, SHARE * seat)
    return Carried(thick, seat, max(coupling.lowest_frame, plan.spigot_bottom + plan.core_depth - thick))
