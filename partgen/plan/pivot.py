"""A pivot under the frame: a boss, a spigot that a drawbar or a bogie turns on, and its screw's core."""

from math import pi

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.plan.fits import hole, taken
from partgen.plan.hardware import Screw

SPIGOT_WALL = 1.2       # round the pivot screw's core: the screw stiffens it
WASHER_LAP = 0.4        # of the washer over the edge of what turns on the spigot
WASHER = {"M2": (5.0, 0.3), "M2.5": (6.0, 0.5), "M3": (7.0, 0.5)}
"""Plain washer under the pivot screw's head, outer diameter and thickness [mm]: it holds up what turns there.
Source: ISO 7089; M3 as published, M2 and M2.5 from memory."""


class PivotPlan(Struct, frozen=True):
    """A boss under the frame and the spigot below it; heights over rail top, all in mm."""

    x: float                # from the wagon's middle
    boss: float             # radius
    boss_bottom: float      # where what turns rubs or bears
    spigot: float           # diameter
    spigot_bottom: float
    core: float             # hole the pivot screw cuts into
    core_depth: float       # from the spigot's end

    @property
    def bevel(self) -> float:
        """Bevel of the spigot's end [mm], within half its wall."""
        return min(0.5, (self.spigot - self.core) / 4)

    @property
    def foot(self) -> float:
        """Height over rail top [mm] of the lowest wide face."""
        return self.boss_bottom

    def volume(self, top: float) -> float:
        """Return the volume [mm3] below `top` [mm over rail top], the frame's underside."""
        tube = pi / 4 * (self.spigot**2 - self.core**2) * (self.boss_bottom - self.spigot_bottom)
        return pi * self.boss**2 * (top - self.boss_bottom) + tube


def spigot_diameter(screw: Screw, printer: Printer) -> float:
    """Return the spigot's diameter [mm]: a wall round the core, yet the washer still laps what turns on it."""
    widest = taken(WASHER[screw.name][0] - 2 * WASHER_LAP, "running", printer)
    core = hole(screw.core, "core", printer)
    return min(core + 2 * max(SPIGOT_WALL, printer.thinnest_wall), widest)
