"""The frame: a plate with sole bars, a spine with slots or bolsters, coupler seats and body screws."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import ceil, copysign, pi

from msgspec import Struct

from partgen.plan.body.sensor_holder import Hung
from partgen.plan.context import Context
from partgen.plan.coupling import CouplingPlan, SeatPlan, seat_plan
from partgen.plan.fastening import body_screw, head_inset
from partgen.plan.fits import hole, relief
from partgen.plan.item import Core, PartPlan
from partgen.plan.outline import Span, Spans, grown, uncovered
from partgen.plan.pivot import PivotPlan
from partgen.plan.running_gear import ballast as ballasts
from partgen.plan.running_gear import cable_lane as lanes
from partgen.plan.running_gear.ballast import Ballast
from partgen.plan.running_gear.cable_lane import CableLane
from partgen.plan.running_gear.gear import RunningGear
from partgen.plan.running_gear.holder import SlidePlan

INSET = 1.0             # the frame stands back under the body by this much, a shadow line all round
PLATE = 2.0
SOLE_BAR = 2.4
CORNER = 3.0
BOSS_WALL = 1.8
GIRDER = 3.0            # spine on either side of a pocket in its middle
LAP = 0.4               # of screw bosses into the bars beside them
LONGEST_BAY = 32.0      # between two ribs
LEAST_BAY = 5.0         # anything smaller stays solid
POCKET_CORNER = 2.5
PANEL = 0.6             # depth of the panel sunk into a sole bar's outside
PANEL_EDGE = 1.8        # sole bar above and below it
PANEL_END = 6.0
CLEAR = 0.5             # solid round a seat
SLIVER = 1.5            # between a window's collar and the edge of a hollow: no less than this stays open


class Pocket(Struct, frozen=True):
    """A hollow under the plate from corner `near` to corner `far` (x, y) [mm]; a screw boss `notch` [mm]
    wide stands in the far corner, none where that is 0."""

    near: tuple[float, float]
    far: tuple[float, float]
    notch: float = 0.0

    @property
    def spans(self) -> Spans:
        """From where to where it reaches along x and y."""
        (x0, y0), (x1, y1) = self.near, self.far
        return (min(x0, x1), max(x0, x1)), (min(y0, y1), max(y0, y1))

    def beside(self) -> Spans:
        """Return from where to where along x and y no boss stands in it."""
        (x0, y0), (x1, y1) = self.near, (self.far[0] - copysign(self.notch, self.far[0]), self.far[1])
        return (min(x0, x1), max(x0, x1)), (min(y0, y1), max(y0, y1))

    @property
    def area(self) -> float:
        """Area [mm2]."""
        sides = abs(self.far[0] - self.near[0]) * abs(self.far[1] - self.near[1])
        return sides - 0.86 * POCKET_CORNER**2 - 0.95 * self.notch**2


class FramePlan(PartPlan, frozen=True):
    """A frame in wagon axes, heights over rail top; all in mm. It has a slide or bolsters, never both."""

    length: float
    width: float
    bottom: float
    top: float
    plate: float
    corner: float
    slide: SlidePlan | None                      # where axle holders stand
    bolsters: tuple[PivotPlan, ...]              # where bogies turn
    seats: tuple[SeatPlan, SeatPlan]             # front, rear; the rear one is turned about z; under it, or on arms
    screws: tuple[tuple[float, float], ...]      # body screws
    core: float
    mouth: tuple[float, float]                   # width and depth of the cone at each core's mouth
    screw: int                                   # their length
    boss: float                                  # diameter of the boss round each core
    pockets: tuple[Pocket, ...]
    panel: float                                 # depth of the panels in the sole bars' outside
    hung: tuple[Hung, ...] = ()                  # track sensors, each with its lug and its lead's way in a collar
    ballast: Ballast = Ballast()                 # in cells between the pockets, open to the top
    lane: CableLane | None = None                # where cables pass under it
    on_arms: bool = False                        # are the seats on arms of the bogies?

    @property
    def thickness(self) -> float:
        """Height of spine and sole bars [mm]."""
        return self.top - self.bottom

    @property
    def core_depth(self) -> float:
        """Depth [mm] of the body screws' cores, which go right through."""
        return self.thickness

    @property
    def pivots(self) -> tuple[PivotPlan, ...]:
        """Everything with a spigot under the frame."""
        return self.bolsters if self.on_arms else (*self.seats, *self.bolsters)

    @property
    def lowest(self) -> float:
        """Lowest point of the frame over rail top [mm]: the pivot spigots."""
        return min(pivot.spigot_bottom for pivot in self.pivots)

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.top - min([self.lowest, *(one.lug.bottom for one in self.hung)]))

    @property
    def volume(self) -> float:
        """Volume [mm3], estimated from plate, bars, spine and seats."""
        block = (self.length * self.width - 0.86 * self.corner**2) * self.thickness
        slide = self.slide.volume(self.thickness) if self.slide else 0.0
        pivots = sum(pivot.volume(self.bottom) for pivot in self.pivots)
        cores = len(self.screws) * pi / 4 * self.core**2 * self.core_depth
        along, across, high = self.panels or (0.0, 0.0, 0.0)
        panels = 2 * self.panel * (along + across) * 0.8 * high
        hollow = self._hollow + self.ballast.volume + (self.lane.volume() if self.lane else 0.0)
        return block - hollow - slide - cores - panels + pivots + sum(map(self._hung, self.hung))

    @property
    def _hollow(self) -> float:
        return sum(pocket.area for pocket in self.pockets) * (self.thickness - self.plate)

    def _hung(self, one: Hung) -> float:
        """Return what one lug adds with its collar, less the way [mm3]; half of the frame is hollow there."""
        lug, way, (x0, x1, y0, y1) = one.lug, one.way, one.collar
        hangs = lug.thick * (2 * lug.half * (self.bottom - lug.bottom) - lug.slot * (lug.high - lug.low + lug.shank))
        return (hangs + ((x1 - x0) * (y1 - y0) / 2 - way.length * way.width) * (self.thickness - self.plate)
                - way.length * way.width * self.plate)

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield every pivot's boss, what is left between hollows and slots, over pockets the plate, under ballast the
        floor."""
        whole = grown(((-self.length / 2, self.length / 2), (-self.width / 2, self.width / 2)), -wall)
        slots = [(span, (-self.slide.slot_width / 2, self.slide.slot_width / 2)) for span in self.slide.slots] \
            if self.slide else []
        pockets, cells = [pocket.spans for pocket in self.pockets], self.ballast.cells
        above, below, block = (uncovered(whole, [grown(one, wall) for one in (*cut, *slots)])
                               for cut in (cells, pockets, (*pockets, *cells)))
        floors = below - block
        block -= len(self.screws) * pi * (self.core / 2 + wall)**2
        for pivot in self.pivots:
            boss = pi * max(max(pivot.boss - wall, 0.0)**2 - (pivot.core / 2 + wall)**2, 0.0)
            block -= boss + pi * (pivot.core / 2 + wall)**2
            yield boss, self.top - pivot.boss_bottom
        yield block, self.thickness
        yield above - block, self.plate
        if cells:
            yield floors, self.thickness - self.ballast.depth

    @property
    def collars(self) -> tuple[tuple[float, ...], ...]:
        """From where to where along x and y [mm] the frame is solid for what hangs; no sliver of air is left."""
        return tuple(_collar(one, self.pockets) for one in self.hung)

    @property
    def panels(self) -> tuple[float, float, float] | None:
        """Length on the sides, length at the ends and height [mm] of the panels sunk into the outside."""
        size = (self.length - 2 * PANEL_END, self.width - 2 * PANEL_END, self.thickness - 2 * PANEL_EDGE)
        return size if min(size) > 4 * self.panel else None

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm], estimated."""
        total = self.volume
        below = [(pivot.volume(self.bottom), (self.bottom + pivot.foot) / 2) for pivot in self.pivots]
        block = total - sum(volume for volume, _ in below)
        hollows = ((self._hollow, self.bottom + (self.thickness - self.plate) / 2),
                   (self.ballast.volume, self.top - self.ballast.depth / 2))
        solid = block + sum(volume for volume, _ in hollows)
        moment = solid * (self.bottom + self.top) / 2 - sum(volume * z for volume, z in hollows)
        return (moment + sum(volume * z for volume, z in below)) / total


def _collar(one: Hung, pockets: Sequence[Pocket]) -> tuple[float, ...]:
    """Return the collar of what hangs, widened past the edges of hollows that would be a sliver away, until none is."""
    box, before = list(one.collar), None
    edges = [sorted((pocket.near[axis], pocket.far[axis])) for axis in (0, 1) for pocket in pockets]
    while box != before:
        before = list(box)
        for side, out in enumerate((-1, 1, -1, 1)):
            near = [pair[side % 2] for pair in edges[side // 2 * len(pockets):][:len(pockets)]]
            box[side] = out * max([out * box[side], *(out * edge + LAP for edge in near
                                                      if abs(box[side] - edge) < SLIVER)])
    return tuple(box)


def narrowest(context: Context, gear: RunningGear) -> float:
    """Return the narrowest frame [mm] with room for its middle, body screws and sole bars side by side."""
    core = context.screw.core
    return gear.middle + 2 * (screw_inset(context, gear, core) + _boss(gear, core) / 2 + LAP)


def screw_inset(context: Context, gear: RunningGear, core: float) -> float:
    """Return how far [mm] the middle of a body screw, its core `core` [mm] wide, stands in from end and side: its
    boss by the sole bars, its head clear of the border of a cradle that lies on the floor."""
    return max(SOLE_BAR + _boss(gear, core) / 2 - LAP, head_inset(context) - INSET)


def _boss(gear: RunningGear, core: float) -> float:
    return core + 2 * max(BOSS_WALL, gear.rib)


def resolve(context: Context, gear: RunningGear, coupling: CouplingPlan, body: tuple[float, float],
            hung: tuple[Hung, ...], openings: Iterable[Spans] = ()) -> FramePlan:
    """Resolve the frame under a body of length and width `body` [mm], with lugs for what hangs under it; its ballast is
    not under `openings` in the body's floor."""
    length, width = (side - 2 * INSET for side in body)
    core, pivot = hole(context.screw.core, "core", context.printer), body[0] / 2 - coupling.inset
    boss, inset = _boss(gear, core), screw_inset(context, gear, core)
    screw_x, screw_y = length / 2 - inset, width / 2 - inset
    front, rear = (seat_plan(context, coupling, x) for x in (pivot, -pivot))
    held = None if gear.arm else front
    pockets = tuple(_pockets(gear, (length / 2 - SOLE_BAR, width / 2 - SOLE_BAR), held, inset + boss / 2 - SOLE_BAR))
    grooves = gear.slide.groove_depth if gear.slide else 0.0
    collars = [((x0, x1), (y0, y1)) for x0, x1, y0, y1 in (_collar(one, pockets) for one in hung)]
    ballast = ballasts.resolve(context, gear.frame_thickness, grooves, [pocket.beside() for pocket in pockets],
                               [*collars, *openings])
    hollows = tuple(pocket for pocket in pockets if pocket.beside() not in ballast.bays)
    plate = max(PLATE, gear.rib)
    return FramePlan(
        length=length, width=width, bottom=gear.frame_bottom,
        top=gear.frame_bottom + max(gear.frame_thickness, ballast.depth + ballast.floor),
        plate=plate, corner=CORNER, slide=gear.slide,
        bolsters=gear.bolsters, seats=(front, rear),
        screws=tuple((sx * screw_x, sy * screw_y) for sx in (1, -1) for sy in (1, -1)), core=core,
        mouth=relief(context.screw, context.printer), screw=body_screw(context).length, boss=boss,
        pockets=hollows, panel=min(PANEL, SOLE_BAR - gear.rib), hung=hung, ballast=ballast, on_arms=bool(gear.arm),
        lane=lanes.resolve(context, gear, coupling, (length, width), gear.frame_thickness - plate,
                           [pocket.spans for pocket in hollows], POCKET_CORNER, collars))


def _pockets(gear: RunningGear, corner: tuple[float, float], seat: SeatPlan | None, notch: float) -> Iterator[Pocket]:
    """Yield the hollows between spine, bars and ribs: beside the seats, if any, beside and between the blocks, and
    between the spine's girders. They reach as far as `corner` [mm]."""
    (end, side), rib, wall = corner, gear.rib, max(GIRDER, gear.rib)
    spine = min(gear.spine / 2, side)
    seat_edge, seat_side = (seat.x - seat.boss - CLEAR, max(spine, seat.boss + CLEAR)) if seat else (end, spine)
    marks = [-end, *(edge for start, stop, _ in gear.blocks for edge in (start, stop)), end]
    for number, (low, high) in enumerate(pairwise(marks)):
        first, last, block = number == 0, number == len(marks) - 2, number % 2 == 1
        beside = seat_side if first or last else max(spine, gear.blocks[number // 2][2]) if block else spine
        for x in _fields(low + (0 if first else rib / 2), high - (0 if last else rib / 2), rib):
            for y in _fields(beside, side, rib):
                at_corner = (x[0] == -end or x[1] == end) and y[1] == side
                yield from _quarters(x, y, notch if at_corner else 0.0)
        if not block and 2 * (spine - wall) >= LEAST_BAY:
            for x in _fields(max(low, -seat_edge) + wall, min(high, seat_edge) - wall, rib):
                yield Pocket((x[0], wall - spine), (x[1], spine - wall))


def _fields(low: float, high: float, rib: float) -> list[Span]:
    """Return (start, end) of equal fields from `low` to `high` [mm] with ribs between; none if too small."""
    count = max(1, ceil((high - low) / LONGEST_BAY))
    size = (high - low - (count - 1) * rib) / count
    if size < LEAST_BAY:
        return []
    starts = [low + k * (size + rib) for k in range(count)]
    # The last one ends at `high` itself, not a rounding error beside it: corner fields are told by that.
    return [*((start, start + size) for start in starts[:-1]), (starts[-1], high)]


def _quarters(x: Span, y: Span, notch: float) -> Iterator[Pocket]:
    """Yield the pocket over spans `x` and `y` [mm] on the left and on the right; a notch too large for it
    shortens it instead."""
    near, far = sorted(x, key=abs)
    if notch and min(abs(far - near), y[1] - y[0]) < notch + 2.0:
        far, notch = far - (notch if far > 0 else -notch), 0.0
        if abs(far - near) < LEAST_BAY or abs(far) < abs(near):
            return
    for s in (1, -1):
        yield Pocket((near, s * y[0]), (far, s * y[1]), notch)
