"""The magnetic coupler: seat under the frame, drawbar with captive magnets, cover over them."""

from dataclasses import dataclass
from math import asin, degrees, pi, radians, sin

from partgen.describe.coupler import Coupler
from partgen.describe.printer import Printer
from partgen.formulas.fit import hole, peg
from partgen.plan.hardware import Screw

FRONT_SKIN = 0.8        # plastic in front of the magnet: the gap that the pull has to cross, twice
SEAT_GAP = 0.3          # drawbar to seat, up and down
GUARD_WALL = 2.0
GUARD_GAP = 0.6


@dataclass(frozen=True, slots=True)
class SeatPlan:
    """A coupler seat under the frame: boss, pivot spigot and the guard that stops the drawbar's swing.

    Heights over rail top, lengths in mm, `opening` [deg] to either side of straight out.
    """

    x: float                # pivot from the wagon's middle
    boss_bottom: float      # where the drawbar's upper face rubs
    spigot: float           # diameter
    spigot_bottom: float
    core: float             # hole the pivot screw cuts into
    core_depth: float
    guard_inner: float      # radius
    guard_outer: float
    guard_bottom: float
    opening: float


@dataclass(frozen=True, slots=True)
class DrawbarPlan:
    """A drawbar in its own frame: pivot on the z axis, head towards +x, z = 0 at the magnets' middle; mm."""

    reach: float            # pivot to the head's front face
    thickness: float
    pivot_hole: float
    tail_radius: float
    neck_width: float
    head_width: float
    head_depth: float
    pockets: tuple[float, ...]      # y of each magnet
    marks: tuple[str, ...]          # pole that faces outward, "N" or "S", for each
    magnet_hole: float              # pocket diameter as drawn
    magnet_slot: float              # pocket length along x
    skin: float
    cover_depth: float              # recess over the pockets
    cover_length: float             # recess along x
    cover_width: float              # recess along y

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.reach + self.tail_radius, max(self.head_width, 2 * self.tail_radius), self.thickness)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from its pieces."""
        tail = pi * (self.tail_radius**2 - self.pivot_hole**2 / 4)
        neck = self.neck_width * (self.reach - self.head_depth - self.tail_radius)
        head = self.head_width * self.head_depth
        pockets = len(self.pockets) * self.magnet_slot * self.magnet_hole * (self.thickness - 1.4)
        return self.thickness * (tail + neck + head) - pockets

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity [mm]: about the middle."""
        return 0.0


@dataclass(frozen=True, slots=True)
class CoverPlan:
    """The plate pressed over the magnet pockets; own frame: middle of its lower face; mm."""

    length: float
    width: float
    height: float

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.height)

    @property
    def volume(self) -> float:
        """Volume [mm3]."""
        return self.length * self.width * self.height

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over its lower face [mm]."""
        return self.height / 2


@dataclass(frozen=True, slots=True)
class CouplingPlan:
    """Both ends of a wagon: drawbars front and rear, their cover, and the room they need."""

    front: DrawbarPlan
    rear: DrawbarPlan
    cover: CoverPlan
    height: float           # of the magnets over rail top
    guard_outer: float
    spigot: float
    lowest: float           # underside of the pivot screw over rail top

    @property
    def inset(self) -> float:
        """Pivot behind the body's end [mm]."""
        return self.guard_outer + 1.0


def thickness(coupler: Coupler, printer: Printer) -> float:
    """Return the drawbar's thickness [mm]: the magnet with a floor below it and a cover above."""
    return hole(coupler.magnet_diameter, "magnet", printer.bore_offset) + 2 * 1.4


def lowest_frame(coupler: Coupler, printer: Printer) -> float:
    """Return the lowest frame underside [mm over rail top] that leaves the drawbar under it."""
    return coupler.height + thickness(coupler, printer) / 2 + SEAT_GAP + 0.6


def resolve(coupler: Coupler, screw: Screw, printer: Printer) -> CouplingPlan:
    """Resolve drawbars, cover and pivot for this coupler and screw."""
    thick = thickness(coupler, printer)
    spigot = screw.core + 2 * max(1.8, 4 * printer.line_width)
    pivot_hole = hole(spigot, "running", printer.bore_offset)
    tail = pivot_hole / 2 + 2.2
    guard_inner = tail + GUARD_GAP
    guard_outer = guard_inner + GUARD_WALL
    bore = hole(coupler.magnet_diameter, "magnet", printer.bore_offset)
    slot = hole(coupler.magnet_length, "magnet", printer.bore_offset)
    rib = 1.6
    count = 2 if coupler.layout == "pair" else 1
    ys = ((bore + rib) / 2, -(bore + rib) / 2) if count == 2 else (0.0,)
    ledge = 0.5
    cover_length, cover_width = slot + ledge, count * bore + (count - 1) * rib + 2 * ledge
    head_depth = FRONT_SKIN + cover_length + max(3.8, 1.2 * bore / 2)
    neck = min(max(5.0, 0.9 * thick), 2 * 0.72 * guard_inner)
    reach = guard_outer + 1.0 + coupler.gap / 2

    def drawbar(marks):
        return DrawbarPlan(
            reach=reach, thickness=thick, pivot_hole=pivot_hole, tail_radius=tail, neck_width=neck,
            head_width=cover_width + 2 * rib, head_depth=head_depth, pockets=ys, marks=marks,
            magnet_hole=bore, magnet_slot=slot, skin=FRONT_SKIN, cover_depth=1.4,
            cover_length=cover_length, cover_width=cover_width)

    # Seen from the middle of the wagon, the left magnet shows N outward and the right one S: turned end
    # for end the pattern is the same, so any end attracts any other.
    front = drawbar(("N", "S") if count == 2 else ("N",))
    rear = front if count == 2 else drawbar(("S",))
    cover = CoverPlan(length=peg(cover_length, "snug", printer.peg_offset),
                      width=peg(cover_width, "snug", printer.peg_offset), height=1.4 - 0.1)
    bottom = coupler.height - thick / 2 - SEAT_GAP - screw.head_height
    return CouplingPlan(front, rear, cover, coupler.height, guard_outer, spigot, bottom)


def seat_plan(coupling: CouplingPlan, coupler: Coupler, screw: Screw, x: float, printer: Printer) -> SeatPlan:
    """Resolve the seat under the frame whose pivot stands `x` [mm] from the wagon's middle."""
    bar = coupling.front
    top = coupler.height + bar.thickness / 2
    guard_inner = bar.tail_radius + GUARD_GAP
    half_neck = degrees(asin(min(1.0, bar.neck_width / 2 / guard_inner)))
    return SeatPlan(
        x=x, boss_bottom=top + SEAT_GAP, spigot=coupling.spigot,
        spigot_bottom=coupler.height - bar.thickness / 2 - SEAT_GAP,
        core=screw.core + printer.bore_offset, core_depth=bar.thickness + 2 * SEAT_GAP + 2.0,
        guard_inner=guard_inner, guard_outer=coupling.guard_outer,
        guard_bottom=top - 0.55 * bar.thickness, opening=coupler.swing + half_neck)


def swing_at_stop(seat: SeatPlan, bar: DrawbarPlan) -> float:
    """Return the angle [deg] at which the drawbar's neck meets the guard."""
    return seat.opening - degrees(asin(min(1.0, bar.neck_width / 2 / seat.guard_inner)))


def side_offset(bar: DrawbarPlan, swing: float) -> float:
    """Return how far the head's middle stands beside the wagon's middle line [mm] at `swing` [deg]."""
    return bar.reach * sin(radians(swing))
