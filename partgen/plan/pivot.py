"""A pivot under the frame: a boss, a shouldered spigot that a drawbar or a bogie turns on, and its screw's core.

The spigot is longer than what turns on it is thick: a screw tightened fully draws its washer against the spigot's end,
and the drawbar or bogie stays free.
"""

from math import pi

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.plan.fits import taken, walled
from partgen.plan.hardware import ROUND, Driven, Screw

PLAY = 0.6              # up and down, of what turns on the spigot
BEVEL = 0.5             # of a spigot's end
WASHER_LAP = 0.4        # of the washer over the edge of what turns on the spigot
PAST_ROOT = 0.5         # of its diameter that the screw reaches past the spigot's root: it carries what pulls aside
WASHER = {"M2": (6.0, 0.5), "M2.5": (8.0, 0.8), "M3": (9.0, 0.8)}
"""Large washer under the pivot screw's head, outer diameter and thickness [mm]: it holds up what turns there.
Source: ISO 7093-1, from memory, which begins at M3; M2 and M2.5 as they are sold, by their figures."""
LARGE = "ISO 7093-1"


class PivotPlan(Struct, frozen=True):
    """A boss under the frame and the spigot below it; heights over rail top, all in mm."""

    x: float                # from the wagon's middle
    boss: float             # radius
    boss_bottom: float      # where what turns rubs or bears
    spigot: float           # diameter
    spigot_bottom: float
    core: float             # hole the pivot screw cuts into
    mouth: tuple[float, float]      # width and depth of the cone at that hole's mouth
    core_depth: float       # from the spigot's end
    play: float             # up and down, of what turns there, with that screw tightened
    screw: int              # length of the screw, which draws a washer against that end

    @property
    def bevel(self) -> float:
        """Bevel of the spigot's end [mm], within half its wall."""
        return min(BEVEL, (self.spigot - self.core) / 4)

    @property
    def foot(self) -> float:
        """Height over rail top [mm] of the lowest wide face."""
        return self.boss_bottom

    def volume(self, top: float) -> float:
        """Return the volume [mm3] below `top` [mm over rail top], the frame's underside."""
        tube = pi / 4 * (self.spigot**2 - self.core**2) * (self.boss_bottom - self.spigot_bottom)
        return pi * self.boss**2 * (top - self.boss_bottom) + tube


def pivot_play(printer: Printer) -> float:
    """Return the play [mm] up and down of what turns on a spigot: two layers more or less must not take it."""
    return max(PLAY, 2 * printer.layer)


def pivot_screw(screw: Screw, spigot: float) -> Driven:
    """Return the screw that holds a washer against the end of a spigot `spigot` [mm] long."""
    return screw.driven(WASHER[screw.name][1], spigot + PAST_ROOT * screw.thread)


def spigot_diameter(screw: Screw, printer: Printer) -> float:
    """Return the spigot's diameter [mm]: plastic enough round the core, yet the washer laps what turns on it."""
    widest = taken(WASHER[screw.name][0] - 2 * WASHER_LAP, "running", printer)
    return min(max(ROUND * screw.thread, walled(screw, printer, BEVEL)), widest)
