"""The track sensor's holder: a chute that slides in a window through floor and frame to its gap over the marker."""

from msgspec import Struct

from partgen.plan.body.layout import Cutout, Layout
from partgen.plan.context import Context
from partgen.plan.fits import slot
from partgen.plan.item import PartPlan
from partgen.plan.outline import Patch

WALL = 1.4              # two lines and a groove, at least
SOLE = 1.0              # under the sensor's head
LEDGE = 0.8             # of it on all sides: the head looks through what is left
NOTCH, NOTCH_PITCH = 0.35, 1.0  # grooves in the chute, and what clicks into them in the frame
RIDGE_DOWN = 3.0        # ridges below the frame's upper face
UP, DOWN = 2.0, 3.0     # how far it can be slid from where it is meant to be
COLLAR = 1.6            # of frame round the window
UNDER_MODULE = 0.4      # chute below what lies over it, at its highest


class SensorPlan(PartPlan, frozen=True):
    """A chute in its own frame: middle of its underside at the origin, x forward; all in mm.

    `notches` are the heights of its grooves, on the faces that look forward and back.
    """

    CENTROID = 0.49

    inner_x: float
    inner_y: float
    wall: float
    height: float
    notches: tuple[float, ...]

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.inner_x + 2 * self.wall, self.inner_y + 2 * self.wall, self.height)

    @property
    def volume(self) -> float:
        """Volume [mm3]."""
        x, y, z = self.size
        lens = (self.inner_x - 2 * LEDGE) * (self.inner_y - 2 * LEDGE) * SOLE
        grooves = 2 * len(self.notches) * NOTCH**2 * y
        return x * y * z - self.inner_x * self.inner_y * (z - SOLE) - lens - grooves


class Window(Patch, frozen=True):
    """A window through floor and frame for a chute; the ridges' height over rail top [mm]."""

    ridge: float


class Hung(Struct, frozen=True):
    """A chute in its place: what sensor it is for, the part, its window and its underside over rail top [mm]."""

    name: str
    chute: SensorPlan
    window: Window
    bottom: float


def resolve(context: Context, layout: Layout, frame_top: float, floor: float) -> tuple[Hung, ...]:
    """Hang a chute under everything that looks down; `frame_top` and `floor` are the upper faces of the frame and of
    the body's floor over rail top [mm]."""
    return tuple(_hang(context, cutout, frame_top, floor) for cutout in layout.cutouts if cutout.wall == "bottom")


def _hang(context: Context, cutout: Cutout, frame_top: float, floor: float) -> Hung:
    """Hang a chute under what a module shows through the floor, its sole the wished gap over the marker."""
    printer, (x, y, z) = context.printer, cutout.middle
    wall, bottom = max(WALL, printer.thinnest_wall + NOTCH + 0.1), context.marker_top + context.wagon.sensor_gap
    top, ridge = floor + z - UNDER_MODULE - UP, frame_top - RIDGE_DOWN
    count = int((min(DOWN + UP, top - ridge) - 0.5) / NOTCH_PITCH)
    down = int(DOWN / NOTCH_PITCH)
    first = ridge - bottom - int(UP / NOTCH_PITCH) * NOTCH_PITCH
    notches = tuple(first + k * NOTCH_PITCH for k in range(min(down + 1, count) + int(UP / NOTCH_PITCH))
                    if SOLE + 1.0 < first + k * NOTCH_PITCH < top - bottom - 0.8)
    inner_x, inner_y = (slot(side, "snug", printer) for side in cutout.size[:2])
    outer_x, outer_y = (slot(side + 2 * wall, "snug", printer) for side in (inner_x, inner_y))
    return Hung(cutout.name, SensorPlan(inner_x, inner_y, wall, top - bottom, notches),
                Window(x, y, outer_x, outer_y, ridge), bottom)
