"""The cradle: a plate with a seat for every cup."""

from collections.abc import Iterator
from math import hypot, pi

from partgen.describe.printer_tables import Printer
from partgen.plan.body.lid import LidPlan
from partgen.plan.body.shell import LEAST_CORNER, BodyShell
from partgen.plan.context import Context, Shortfall
from partgen.plan.deck.seats import FOOT, SILL_SHARE, Seat
from partgen.plan.fastening import BORDER, BORDER_HEIGHT, TRAY, WITHIN, body_screw, cradle_screw, tray_head
from partgen.plan.fits import hole
from partgen.plan.item import Core, PartPlan

LEVEL = 0.4             # a window's level bottom as a share of its width
WINDOW = 0.35           # share of a seat's wall that is open to the left and right


class CradlePlan(PartPlan, frozen=True):
    """A cradle in wagon axes; `bottom` is the plate's underside over rail top; all in mm."""

    length: float
    width: float
    bottom: float
    plate: float
    corner: float
    seats: tuple[Seat, ...]
    screws: tuple[tuple[float, float], ...]
    screw_hole: float
    cone: float             # diameter of the 90 degree countersinks at the plate's face
    screw: int              # length of the screws: into a lid, or through the body's floor into the frame
    border: float = BORDER_HEIGHT

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.plate + max(seat.height for seat in self.seats))

    @property
    def volume(self) -> float:
        """Volume [mm3]: plate, border, and seats less their windows, feet included."""
        plate = (self.length * self.width - 0.86 * self.corner**2) * self.plate
        border = 2 * (self.length + self.width - 4 * BORDER) * BORDER * self.border
        holes = len(self.screws) * pi / 4 * (self.screw_hole**2 + 0.2 * self.cone**2) * self.plate
        seats = sum((1 - WINDOW * (1 - SILL_SHARE)) * seat.volume + pi * (seat.outer_profile[0][1] + FOOT) * FOOT**2 / 2
                    for seat in self.seats)
        return plate + border - holes + seats

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield the plate and the seats' walls."""
        yield (self.length - 2 * wall) * (self.width - 2 * wall), self.plate
        for seat in self.seats:
            inner = seat.wall - 2 * wall
            yield pi * (seat.outer_diameter - seat.wall) * inner, (1 - WINDOW) * seat.height

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm]."""
        plate = self.length * self.width * self.plate
        rings = [(seat.volume, self.plate + seat.height / 2) for seat in self.seats]
        total = plate + sum(volume for volume, _ in rings)
        return self.bottom + (plate * self.plate / 2 + sum(v * z for v, z in rings)) / total


def resolve(context: Context, seats: tuple[Seat, ...], shell: BodyShell, lid: LidPlan | None) -> CradlePlan | None:
    """Resolve the cradle of all `seats`, None without: on a lid it reaches its edge, in an open body it lies inside the
    walls on the floor."""
    if not seats:
        return None
    (length, width, _), bottom, corner = shell.inside, shell.bottom + shell.floor, shell.corner - shell.wall
    if lid:
        length, width, bottom, corner = lid.length, lid.width, lid.top, lid.corner
    return CradlePlan(
        length - 2 * WITHIN, width - 2 * WITHIN, bottom, TRAY, max(corner - WITHIN, LEAST_CORNER), seats,
        lid.screws if lid else shell.screws, hole(context.screw.clearance, "screw", context.printer),
        tray_head(context), (cradle_screw if lid else body_screw)(context).length)


def wanting(cradle: CradlePlan | None, printer: Printer) -> Iterator[Shortfall]:
    """Yield the seat that the way of a screw's head cuts open, the worst of a cradle: two lines of its wall must stay
    where it is cut into at all."""
    stays = [(apart - seat.profile[-1][1] / 2, seat.cup) for seat in cradle.seats for x, y in cradle.screws
             for apart in [hypot(x - seat.x, y - seat.y) - cradle.cone / 2]
             if apart < seat.outer_diameter / 2] if cradle else []
    if stays and min(stays)[0] < printer.thinnest_wall:
        yield Shortfall("wall of seat", min(stays)[0], printer.thinnest_wall, min(stays)[1])
