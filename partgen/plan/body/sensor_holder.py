"""The track sensor's holder: a tray under the frame, its face at the wished gap over the marker, held by a screw.

The tray fits what looks down. A block on its left side holds a nut; a lug under the frame has an upright slot for the
screw and a scale, so that the tray is set up and down from beside the wagon. Its lead comes up through frame and floor.
"""

from collections.abc import Iterator
from math import hypot, inf, sqrt

from msgspec import Struct

from partgen.describe.cargo_tables import Module
from partgen.describe.printer_tables import Printer
from partgen.formulas.wheel import pivot_radius
from partgen.packing.box import Orientation
from partgen.plan.body.orientation import Turn, opening_middle, opening_size, turns_of
from partgen.plan.context import Context
from partgen.plan.fits import hole, slot
from partgen.plan.hardware import FILLED, Screw, least_spare, sold
from partgen.plan.item import Core, PartPlan
from partgen.plan.outline import Patch, Span
from partgen.plan.pivot import WASHER

WALL, SOLE, LEDGE = 1.6, 1.0, 0.8       # of the tray; what looks down lies on a ledge round what it sees through
EASE = 0.4              # of that opening beyond what is seen through it, each side
TALLEST = 12.0          # walls of the tray
BLOCK_WALL = 1.6        # round the nut
NUT_ROOM = 0.4          # of its pocket, and past the screw's end
LUG = 3.0               # thickness, at least the screw's diameter
LUG_PLAY = 0.2          # block to lug, until the screw draws them together
LUG_FOOT = 2.4          # of lug below its slot
SLOT_PLAY = 0.2         # of the screw in its slot
BESIDE_WASHER = 0.4     # washer to the scale
MARK, MARK_PITCH = 0.35, 1.0    # depth of the notches of the scale, and how far apart they are
SCALE = 2.0             # of lug beside the washer, for the scale
POINTER = 2.4           # of block beyond the lug, with the pointer
UP, DOWN = 2.0, 3.0     # how far it can be set from where it is meant to be
LEAST_WAY = 1.0         # of it, up and down: what a data sheet's gap and a carpet take (common practice, no source)
OVER_GROUND = 0.5       # lowest part over what lies between the rails
UNDER_FRAME = 0.5       # highest part below the frame
LEAD = (12.0, 6.0)      # way for its lead: a plug of four pins passes (common practice, no source)
LEAD_HIGH = 8.0         # free over the floor for its bend
CLEAR = 1.0             # to what moves under the frame
IN_ENDS = 1.5           # of what hangs beyond what it asks of the frame itself
NARROWEST = 2.0         # of what the sole leaves open
ASIDE = 8.0             # of the track's middle, where its way through the floor may be instead
CENTRED = 0.05          # of the track's middle: the tray
BESIDE_RAIL = 0.5       # to a rail, without which it must be over it
BETWEEN = 3.0           # tray to rails, at least


class SensorPlan(PartPlan, frozen=True):
    """A tray in its own frame: middle of its underside at the origin, x forward; all in mm.

    The block for the nut stands out `block` to the left of the tray, `block_half` to either side of the middle, the
    screw's middle `screw_z` over the underside; `lens` is what is seen through.
    """

    CENTROID = 0.42

    inner_x: float
    inner_y: float
    wall: float
    sole: float
    tray: float             # height of its walls
    lens: Patch
    block: float
    block_half: float
    block_top: float
    plate: float            # of the block before the nut
    screw_z: float
    screw_hole: float
    nut: float              # pocket, across flats
    nut_deep: float

    @property
    def half_x(self) -> float:
        """Half its length [mm]."""
        return max(self.inner_x / 2 + self.wall, self.block_half)

    @property
    def half_y(self) -> float:
        """Half the tray's width [mm], the block left out."""
        return self.inner_y / 2 + self.wall

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (2 * self.half_x, 2 * self.half_y + self.block, max(self.tray, self.block_top))

    @property
    def block_low(self) -> float:
        """Height [mm] of the block's lower edge outside; from there it slopes in to the tray at 45 degrees."""
        return self.block

    @property
    def volume(self) -> float:
        """Volume [mm3]."""
        tray = (self.inner_x + 2 * self.wall) * 2 * self.half_y * self.tray
        hollow = self.inner_x * self.inner_y * (self.tray - self.sole) + self.lens.length * self.lens.width * self.sole
        high, beyond = self.block_top, 2 * self.block_half - self.inner_x - 2 * self.wall
        back = self.wall * (2 * self.block_half * high - (2 * self.block_half - max(beyond, 0.0)) * self.tray)
        block = 2 * self.block_half * self.block * (high - self.block / 2)
        nut = self.nut_deep * self.nut * (high - self.screw_z + self.nut / sqrt(3) * 0.75)
        return tray - hollow + max(back, 0.0) + block - nut - 0.8 * self.screw_hole**2 * self.plate

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield the sole, and the walls with the block for the nut, less its pocket."""
        sole = max(self.inner_x + 2 * (self.wall - wall), 0.0) * 2 * max(self.half_y - wall, 0.0)
        yield max(sole - (self.lens.length + 2 * wall) * (self.lens.width + 2 * wall), 0.0), self.sole
        long, deep = 2 * max(self.block_half - wall, 0.0), max(self.block + self.wall - 2 * wall, 0.0)
        walls = (2 * (self.inner_x + self.inner_y) + 4 * self.wall - long) * max(self.wall - 2 * wall, 0.0)
        pocket = (self.nut + 2 * wall) * min(self.nut_deep + 2 * wall, deep)
        yield walls + long * deep - pocket, self.block_top - self.block


class Lug(Struct, frozen=True):
    """What hangs from the frame beside a tray: its inner face `y`, thickness and half length, lower edge, the width of
    the slot for a screw `shank` thick, which goes from `low` to `high` (its middle), meant to be at `middle` [mm over
    rail top]."""

    x: float
    y: float
    thick: float
    half: float
    bottom: float
    slot: float
    shank: float
    low: float
    middle: float
    high: float

    @property
    def outside(self) -> float:
        """Its outer face from the track's middle [mm]."""
        return self.y + self.thick

    @property
    def marks(self) -> tuple[float, ...]:
        """Heights over rail top [mm] of the scale's notches."""
        count = range(-int(DOWN / MARK_PITCH), int(UP / MARK_PITCH) + 1)
        return tuple(at for at in (self.middle + k * MARK_PITCH for k in count)
                     if self.low - 1e-6 <= at <= self.high + 1e-6)


class Hung(Struct, frozen=True):
    """What hangs under a wagon to look at the track: its module, its tray and lug, and the screw's length to buy.

    `way` is its lead's way through frame and floor, `face` the height over rail top of the face that looks down,
    `above` what is free under the frame, `down` how far it can be set down, `eye` the middle of what it sees and `sees`
    how far that reaches to either side of the track's middle; all in mm.
    """

    name: str
    module: Module
    size: tuple[float, float, float]    # of what hangs, along x, y, z
    tray: SensorPlan
    lug: Lug
    screw: int
    in_nut: float           # how far the screw comes into the nut's pocket
    way: Patch
    face: float
    above: float
    down: float
    eye: tuple[float, float]
    sees: float

    @property
    def up(self) -> float:
        """How far [mm] it can be set up."""
        return min(UP, self.above)

    @property
    def called(self) -> str:
        """What is in the tray: the module, or its head."""
        return f"{self.name}-head" if self.module.head else self.name

    @property
    def bottom(self) -> float:
        """Height of the tray's underside over rail top [mm], where it is meant to be."""
        return self.face - self.tray.sole

    @property
    def collar(self) -> tuple[float, float, float, float]:
        """From where to where along x and y [mm] the frame is solid round its way and its lug."""
        edge = self.tray.wall
        half = max(self.way.length / 2 + edge, self.lug.half)
        return (self.way.x - half, self.way.x + half, self.way.y - self.way.width / 2 - edge,
                max(self.way.y + self.way.width / 2 + edge, self.lug.outside))

    def throw(self, base: float, bogie: float, radius: float, reach: float = 0.0) -> float:
        """Return how far [mm] at most what reaches `reach` [mm] before and behind its middle is off the track's middle
        on a curve of `radius` [mm], the guided points `base` and bogies' axles `bogie` [mm] apart: plane geometry,
        every axle on the centre line."""
        across, here = sqrt(pivot_radius(radius, bogie)**2 - base**2 / 4), abs(self.way.x)
        return max(abs(radius - hypot(across, x)) for x in (max(here - reach, 0.0), here + reach))

    def over(self, half_gauge: float, off: float) -> float:
        """Return how far [mm] its lowest setting and its lug are over the rails, infinite where they stay between them;
        `off` [mm] is how far it stands aside there."""
        beside = half_gauge - off - BESIDE_RAIL
        low = self.bottom - self.down + max(beside - self.tray.half_y, 0.0)
        return min(low if beside < self.tray.half_y + self.tray.block else inf,
                   self.lug.bottom if beside < self.lug.outside else inf)


def tray_of(module: Module, turn: Turn, screw: Screw, printer: Printer) -> tuple[SensorPlan, int, float]:
    """Return the tray for what of a module hangs, turned by `turn`, the length of its screw, and how far that comes
    into the nut's pocket."""
    length, width, height = _hanging(module, turn)
    thin = printer.thinnest_wall
    wall, sole, block_wall = max(WALL, thin), max(SOLE, thin), max(BLOCK_WALL, thin)
    inner_x, inner_y = (slot(side, "snug", printer) for side in (length, width))
    washer, thick = WASHER[screw.name]
    before = thick + lug_thickness(screw, printer) + LUG_PLAY + block_wall
    size = sold(before + FILLED * screw.nut_height)
    deep = max(screw.nut_height + NUT_ROOM, size - before + max(NUT_ROOM, least_spare(size)))
    nut, half = slot(screw.nut, "snug", printer), _lug_half(screw) + POINTER
    passing = hole(screw.clearance, "screw", printer)
    block = block_wall + deep
    screw_z = block + nut / sqrt(3) + block_wall
    return SensorPlan(
        inner_x, inner_y, wall, sole, sole + min(height, TALLEST), _lens(module, turn, (inner_x, inner_y), printer),
        block, half, screw_z + max(nut / sqrt(3), passing / 2 + block_wall), block_wall, screw_z, passing, nut,
        deep), size, size - before


def ledge(printer: Printer) -> float:
    """Return how broad [mm] the ledge is that a sensor lies on, on all sides of what it looks through."""
    return max(LEDGE, printer.thinnest_wall)


def lug_thickness(screw: Screw, printer: Printer) -> float:
    """Return how thick [mm] the lug is that a tray is clamped to."""
    return max(LUG, screw.thread, printer.thinnest_wall)


def _lug_half(screw: Screw) -> float:
    return WASHER[screw.name][0] / 2 + BESIDE_WASHER + SCALE


def _hanging(module: Module, turn: Turn) -> tuple[float, float, float]:
    x, y, z = turn.point(module.hangs or (0.0, 0.0, 0.0))
    return abs(x), abs(y), abs(z)


def _lens(module: Module, turn: Turn, inner: tuple[float, float], printer: Printer) -> Patch:
    """Return what the sole leaves open [mm]: all that is seen through it, but for a ledge on all sides."""
    spans = []
    for (low, high), side in zip(seen(module, turn), inner, strict=True):
        end = side / 2 - ledge(printer)
        high = min(max(high + EASE, NARROWEST - end), end)
        spans.append((max(min(low - EASE, high - NARROWEST), -end), high))
    (x0, x1), (y0, y1) = spans
    return Patch((x0 + x1) / 2, (y0 + y1) / 2, x1 - x0, y1 - y0)


def seen(module: Module, turn: Turn) -> tuple[Span, Span]:
    """Return from where to where along x and y [mm] what hangs sees through its underside, from its middle."""
    spans: tuple[list[float], list[float]] = ([], [])
    for opening in (opening for opening in module.looks_out if opening.side == "bottom"):
        middle, size = turn.point(opening_middle(module, opening)), opening_size(opening, turn)
        for axis in (0, 1):
            spans[axis].extend((middle[axis] - size[axis] / 2, middle[axis] + size[axis] / 2))
    return (min(spans[0]), max(spans[0])), (min(spans[1]), max(spans[1]))


# Where it hangs

def ways_down(context: Context, module: Module) -> list[tuple[Turn, Orientation]]:
    """Return every way for what of a module hangs to lie between the rails, as what its lead asks of the floor over it,
    right in the middle or to either side; the window is the tray in the track's middle."""
    turns = [turn for turn in turns_of(module) if turn.face("bottom") == "bottom"]
    narrow = [turn for turn in turns if tray_of(module, turn, context.screw, context.printer)[0].half_y
              <= context.track.gauge / 2 - BETWEEN]
    return [(turn, _way_down(context, module, turn, aside)) for turn in narrow or turns[:1]
            for aside in (0.0, -ASIDE, ASIDE)]


def _way_down(context: Context, module: Module, turn: Turn, aside: float) -> Orientation:
    tray, (length, width) = tray_of(module, turn, context.screw, context.printer)[0], LEAD
    half = max(tray.half_x, max(_lug_half(context.screw), length / 2) + tray.wall + IN_ENDS - CLEAR)
    middle = width / 2 - aside
    return Orientation((length, width, LEAD_HIGH), window=((length / 2 - half, length / 2 + half),
                                                           (middle - CENTRED, middle + CENTRED)))


def half_width(context: Context) -> float:
    """Return how far [mm] the frame must reach to either side for the lugs of all that hangs; 0 where nothing does."""
    lug, modules = LUG_PLAY + lug_thickness(context.screw, context.printer), context.modules
    trays = [tray_of(modules[name], turn, context.screw, context.printer)[0] for name in context.wagon.modules
             if modules[name].looks_down for turn, _ in ways_down(context, modules[name])]
    return max((tray.half_y + tray.block + lug + tray.wall for tray in trays), default=0.0)


def hang(context: Context, name: str, turn: Turn, at: tuple[float, float], frame_bottom: float) -> Hung:
    """Hang what of module `name` looks down under a frame, in the middle of the track below its lead's way `at` (x, y):
    its face the wished gap over the marker, and as far up and down from there as there is room; `frame_bottom` is over
    rail top; all in mm."""
    module, printer, screw = context.modules[name], context.printer, context.screw
    tray, length, in_nut = tray_of(module, turn, screw, printer)
    size, (across, along) = _hanging(module, turn), seen(module, turn)[::-1]
    face = context.marker_top + context.wagon.sensor_gap
    plug = 0.0 if module.head else module.room("top")
    top = max(face + size[2] + plug, face - tray.sole + tray.block_top + UNDER_FRAME, face - tray.sole + tray.tray)
    above = frame_bottom - top
    down = min(DOWN, face - tray.sole - OVER_GROUND - max(context.marker_top, context.track.ground))
    middle = face - tray.sole + tray.screw_z
    thick, wide = lug_thickness(screw, printer), hole(screw.clearance, "screw", printer) + SLOT_PLAY
    low, high, shank = middle - max(down, LEAST_WAY / 2), middle + max(min(UP, above), LEAST_WAY / 2), screw.thread
    lug = Lug(at[0], tray.half_y + tray.block + LUG_PLAY, thick, _lug_half(screw),
              low - shank / 2 - max(LUG_FOOT, printer.thinnest_wall), wide, shank, low, middle, high)
    return Hung(name, module, size, tray, lug, length, in_nut, Patch(*at, *LEAD), face, above, down,
                (at[0] + sum(along) / 2, sum(across) / 2), max(map(abs, across)))
