"""The magnetic coupler: seat under the frame, drawbar with captive magnets, cover over them."""

from collections.abc import Iterator
from math import asin, cos, degrees, pi, radians, sin, sqrt

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.printer_tables import Printer
from partgen.describe.train_tables import Coupler
from partgen.plan.context import Context
from partgen.plan.fits import hole, peg, relief, slot
from partgen.plan.item import BlockPlan, Core, PartPlan
from partgen.plan.pivot import WASHER, PivotPlan, pivot_play, pivot_screw, spigot_diameter

FRONT_SKIN = 0.8        # plastic in front of the magnet: the gap that the pull has to cross, twice
TAIL_WALL = 2.2
GUARD_WALL = 1.8
GUARD_GAP = 0.6
STAND_BACK = 0.4        # seat from the end of the frame
HEAD_GAP = 0.6          # guard to where the drawbar widens into its head
COVER = 1.4             # floor under the magnets and recess for the cover over them
COVER_SUNK = 0.1        # cover below the drawbar's face
LEDGE = 0.5             # that the cover lies on, round the pockets
RIB = 1.2               # between and beside the magnets
BOSS = 0.6              # of the seat below the frame, at least
MARK = 3.0              # length of the letter that tells the pole, behind the magnets
LAND = 0.95             # of plastic before and behind it, at least
STROKE = 0.75           # of the letter
STROKE_LINES = 1.15     # a stroke is at least as many lines wide
DASH = 0.9              # width and distance of the dashes instead of a letter that is too small, at least


class SeatPlan(PivotPlan, frozen=True):
    """A coupler seat under the frame: a pivot, and round it the guard that stops the drawbar's swing.

    Heights over rail top, lengths in mm, `opening` [deg] to either side of straight out.
    """

    guard_inner: float      # radius; the outer one is the boss's
    guard_bottom: float
    opening: float

    @property
    def foot(self) -> float:
        """Height over rail top [mm] of the lowest wide face: the guard's."""
        return self.guard_bottom

    def volume(self, top: float) -> float:
        """Return the volume [mm3] below `top` [mm over rail top], the frame's underside."""
        ring = pi * (self.boss**2 - self.guard_inner**2) * (self.boss_bottom - self.guard_bottom)
        return PivotPlan.volume(self, top) + ring * (1 - self.opening / 180)


ENGRAVED = 0.6          # depth of the marks
BEVEL, SOFT = 0.5, 0.8  # of a drawbar's lower edges, and of the upper ones, which show


class DrawbarPlan(PartPlan, frozen=True):
    """A drawbar in its own frame: pivot on the z axis, head towards +x, z = 0 at the magnets' middle; mm."""

    CENTROID = 0.0          # from the middle

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
    flare: float                    # x at which the neck begins to widen into the head
    stroke: float                   # least width of the engraved marks and of what stands between them
    land: float                     # of plastic between a mark and the recess before it, and behind it

    @property
    def back(self) -> float:
        """x [mm] of the head's back, where it has its full width."""
        return self.reach - self.head_depth

    @property
    def magnet_x(self) -> float:
        """x [mm] of the magnets' middles."""
        return self.reach - self.skin - self.magnet_slot / 2

    @property
    def mark_span(self) -> tuple[float, float]:
        """From where to where [mm] along x the marks may reach."""
        return self.back + self.land, self.reach - self.skin - self.cover_length - self.land

    @property
    def dash(self) -> float:
        """Width and distance [mm] of dashes."""
        return max(DASH, self.stroke)

    @property
    def joint(self) -> float:
        """x [mm] at which the neck leaves the round tail."""
        return sqrt(max(self.tail_radius**2 - self.neck_width**2 / 4, 0.0))

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.reach + self.tail_radius, max(self.head_width, 2 * self.tail_radius), self.thickness)

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from its pieces."""
        neck, head = self.neck_width / 2, self.head_width / 2
        lost = 2 * asin(neck / self.tail_radius)
        tail = self.tail_radius**2 * (pi - lost / 2) + neck * self.joint - pi / 4 * self.pivot_hole**2
        plan = tail + 2 * neck * (self.flare - self.joint) + (neck + head) * (self.back - self.flare) \
            + 2 * head * self.head_depth
        section = self.magnet_hole * (self.thickness / 2 - self.cover_depth) + pi / 8 * self.magnet_hole**2
        pockets = len(self.pockets) * self.magnet_slot * section
        recess = self.cover_length * self.cover_width * self.cover_depth
        round_it = pi * self.tail_radius + 2 * self.reach + 2 * self.head_width - self.neck_width
        return self.thickness * plan - pockets - recess - round_it * (BEVEL**2 + SOFT**2) / 2

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield tail, neck and head as one, less pivot hole and pockets; a twentieth is lost to rounded corners."""
        tail, hole = max(self.tail_radius - wall, 0.0), self.pivot_hole / 2 + wall
        neck, head = max(self.neck_width - 2 * wall, 0.0), max(self.head_width - 2 * wall, 0.0)
        pockets = self.pockets[0] - self.pockets[-1] + self.magnet_hole + 2 * wall
        beside = max(head - pockets, 0.0) * (self.magnet_slot + max(self.skin - wall, 0.0))
        area = pi * max(tail**2 - hole**2, 0.0) + neck * (self.flare - max(tail, hole)) + beside
        area += (neck + head) / 2 * (self.back - self.flare) + head * (self.magnet_x - self.magnet_slot / 2 - wall
                                                                       - self.back)
        yield 0.95 * area, self.thickness - ENGRAVED


class CoverPlan(BlockPlan, frozen=True):
    """The plate pressed over the magnet pockets; own frame: middle of its lower face; mm."""

    @property
    def volume(self) -> float:
        """Volume [mm3]."""
        return self.length * self.width * self.height - 2 * self.bevel**2 * (self.length + self.width)

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield it whole."""
        yield max(self.length - 2 * wall, 0.0) * max(self.width - 2 * wall, 0.0), self.height

    @property
    def bevel(self) -> float:
        """Bevel of both edges [mm]."""
        return min(0.4, self.length / 6, self.height / 3)


class CouplingPlan(Struct, frozen=True):
    """Both ends of a wagon: drawbars front and rear, their cover, and the room they need; heights over rail top, mm."""

    front: DrawbarPlan
    rear: DrawbarPlan
    cover: CoverPlan
    height: float           # of the magnets
    guard_outer: float      # radius round the pivot that the seat and its gap to other parts take
    spigot: float
    lowest: float           # underside of the pivot screw
    lowest_frame: float     # lowest underside of the frame that leaves the drawbar under it
    inset: float            # pivot behind the body's end
    head_back: float        # how far ahead of the pivot the head of a drawbar at its stop stays


def resolve(context: Context) -> CouplingPlan:
    """Resolve drawbars, cover and pivot for the wagon's coupler and screw."""
    coupler, screw, printer = context.coupler, context.screw, context.printer
    spigot = spigot_diameter(screw, printer)
    pivot_hole = hole(spigot, "running", printer)
    tail = pivot_hole / 2 + max(TAIL_WALL, printer.thinnest_wall)
    guard_outer = tail + GUARD_GAP + max(GUARD_WALL, printer.thinnest_wall) + STAND_BACK
    front, rear = _drawbars(coupler, printer, pivot_hole, tail, guard_outer)
    cover = CoverPlan(peg(front.cover_length, "snug", printer), peg(front.cover_width, "snug", printer),
                      front.cover_depth - COVER_SUNK)
    gap = pivot_play(printer) / 2
    return CouplingPlan(
        front, rear, cover, coupler.height, guard_outer, spigot,
        lowest=coupler.height - front.thickness / 2 - gap - WASHER[screw.name][1] - screw.head_height,
        lowest_frame=coupler.height + front.thickness / 2 + gap + BOSS, inset=front.reach - coupler.gap / 2,
        head_back=_head_back(front, radians(coupler.swing)))


def _drawbars(coupler: Coupler, printer: Printer, pivot_hole: float, tail: float,
              guard_outer: float) -> tuple[DrawbarPlan, DrawbarPlan]:
    """Resolve the front and the rear drawbar round a tail of `tail` [mm] radius."""
    two_lines, pair = printer.thinnest_wall, coupler.layout == "pair"
    count = 2 if pair else 1
    bore, pocket = hole(coupler.magnet_diameter, "magnet", printer), slot(coupler.magnet_length, "magnet", printer)
    cover, rib, skin = max(COVER, two_lines + COVER_SUNK), max(RIB, two_lines), max(FRONT_SKIN, two_lines)
    thick = bore + 2 * cover
    cover_length, cover_width = pocket + LEDGE, count * bore + (count - 1) * rib + 2 * LEDGE
    stroke, land = max(STROKE, STROKE_LINES * printer.line_width), max(LAND, printer.line_width)
    mark = max(MARK, 3 * DASH, 3 * stroke)      # a letter, or two dashes one apart
    head_width, head_depth = cover_width + 2 * rib, skin + cover_length + mark + 2 * land
    neck = min(max(5.0, 0.9 * thick), 2 * 0.72 * (tail + GUARD_GAP), head_width)
    beyond_guard = guard_outer + HEAD_GAP
    # Where bodies stand close the pivot goes further in, so that the head stays out of the guard.
    reach = max(guard_outer + 1.0 + coupler.gap / 2, beyond_guard + 0.4 + head_depth)
    # Seen from the middle of the wagon, the left magnet shows N outward and the right one S: turned end
    # for end the pattern is the same, so any end attracts any other.
    both = DrawbarPlan(
        reach=reach, thickness=thick, pivot_hole=pivot_hole, tail_radius=tail, neck_width=neck, head_width=head_width,
        head_depth=head_depth, pockets=((bore + rib) / 2, -(bore + rib) / 2) if pair else (0.0,), marks=("N", "S"),
        magnet_hole=bore, magnet_slot=pocket, skin=skin, cover_depth=cover, cover_length=cover_length,
        cover_width=cover_width, flare=max(beyond_guard, reach - head_depth - (head_width - neck) / 2),
        stroke=stroke, land=land)
    return (both, both) if pair else (replace(both, marks=("N",)), replace(both, marks=("S",)))


def _head_back(bar: DrawbarPlan, swing: float) -> float:
    """Return the least distance [mm] ahead of the pivot of a head swung by `swing` [rad]."""
    corners = (bar.flare, bar.neck_width / 2), (bar.back, bar.head_width / 2), (bar.reach, bar.head_width / 2)
    return min(x * cos(swing) - y * sin(swing) for x, y in corners)


def seat_plan(context: Context, coupling: CouplingPlan, x: float) -> SeatPlan:
    """Resolve the seat under the frame whose pivot stands `x` [mm] from the wagon's middle."""
    bar, height = coupling.front, context.coupler.height
    top, guard_inner = height + bar.thickness / 2, bar.tail_radius + GUARD_GAP
    gap = pivot_play(context.printer) / 2
    screw = pivot_screw(context.screw, bar.thickness + 2 * gap)
    half_neck = degrees(asin(min(1.0, bar.neck_width / 2 / guard_inner)))
    return SeatPlan(
        x=x, boss=coupling.guard_outer - STAND_BACK, boss_bottom=top + gap, spigot=coupling.spigot,
        spigot_bottom=height - bar.thickness / 2 - gap, core=hole(context.screw.core, "core", context.printer),
        mouth=relief(context.screw, context.printer), core_depth=screw.core_depth, play=2 * gap,
        screw=screw.length, guard_inner=guard_inner, guard_bottom=top - 0.55 * bar.thickness,
        opening=context.coupler.swing + half_neck)
