"""The snap clip that an axle turns in: the same on axle holder and bogie."""

from math import acos, asin, pi, radians, sqrt, tan

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.describe.wagon_tables import Wheelset
from partgen.formulas.plastic import arc_strain
from partgen.plan.fits import hole, slot

HUB_WALL = 2.2          # round the bore: five lines, so that the snap arms flex without splitting
LIP = 1.2              # what the snap arms reach below their throat, flared to let the axle in
FLARE = 35.0           # slope of the flare from upright [deg]
ROOT = radians(70)      # over the axle's height, where a snap arm runs into what the hub hangs from: from the
                        # middle of the bore; held against finite elements in the tests
NECK = 1.0             # least web between the hub and what it hangs from
CHEEK_GAP = 0.4        # holder or bogie to wheel, each side


Slot = tuple[float, float, float]
"""Width, lowest and highest point [mm]."""


class AxleClip(Struct, frozen=True):
    """A clip: axle centre at the origin, axle along y, open downwards. All in mm."""

    bore: float             # diameter as drawn
    opening: float          # of the snap, below the axle
    hub_radius: float

    @property
    def throat(self) -> float:
        """Depth below the axle [mm] at which the snap arms come closest."""
        return sqrt(self.bore**2 - self.opening**2) / 2

    @property
    def depth(self) -> float:
        """Axle centre down to the end of the snap arms [mm]."""
        return self.throat + LIP

    @property
    def mouth(self) -> float:
        """Half the width [mm] between the snap arms' ends: the throat flared."""
        return self.opening / 2 + (self.depth - self.throat) * tan(radians(FLARE))

    def strain(self, axle: float, share: float) -> float:
        """Return the strain [1] of the snap arms while an axle of diameter `axle` [mm] passes between them.

        `share` [1] is the printed opening over that diameter.
        """
        return arc_strain(self.hub_radius - self.bore / 2, (self.hub_radius + self.bore / 2) / 2,
                          asin(2 * self.throat / self.bore), ROOT, axle * (1 - share) / 2)

    @property
    def least_web(self) -> float:
        """Least height [mm] over the axle of what the clip hangs from."""
        return self.hub_radius + NECK

    @property
    def area(self) -> float:
        """Area [mm2] of the hub's profile, bore and mouth taken out."""
        hub = _below(self.hub_radius, self.depth) - _below(self.bore / 2, self.throat)
        return hub - (self.opening / 2 + self.mouth) * (self.depth - self.throat)

    def window(self, web: float, top: float) -> Slot | None:
        """Return width, lowest and highest point [mm] of a window over the hub, where it is worth one.

        It lies in a web `web` [mm] thick either way of the axle and `top` [mm] high over it.
        """
        wall = 0.8 * (self.hub_radius - self.bore / 2)
        width, low, high = 2 * (web - wall), self.bore / 2 + 1.2 * wall, top - wall
        return (min(width, high - low), low, high) if min(width, high - low) >= 2.0 else None


def window_area(window: Slot | None) -> float:
    """Return the area [mm2] of a window with round ends; 0 for None."""
    if not window:
        return 0.0
    width, low, high = window
    return width * (high - low) - (1 - pi / 4) * width**2


def carrier_width(wheelset: Wheelset) -> float:
    """Return how wide [mm] holder or bogie is along the axle: what its wheels leave."""
    return wheelset.back_to_back - 2 * CHEEK_GAP


def clip_plan(wheelset: Wheelset, printer: Printer) -> AxleClip:
    """Resolve the clip for the axles of `wheelset`."""
    bore = hole(wheelset.bearing_diameter, "tube" if wheelset.ends == "tube" else "running", printer)
    opening = slot(printer.snap_share * wheelset.bearing_diameter, "press", printer)
    return AxleClip(bore, opening, hub_radius=bore / 2 + max(HUB_WALL, 4 * printer.line_width))


def _below(radius: float, depth: float) -> float:
    """Return the area [mm2] of a circle of `radius` [mm] less what lies deeper than `depth` [mm] in it."""
    half = acos(depth / radius)
    return radius**2 * (pi - half) + depth * sqrt(radius**2 - depth**2)
