"""What shapes a body round its modules: bosses, trays, strap slots, tape lands, openings, vents, ways for cables.

Heights are from the floor's upper face; x forward and y left from the body's middle; all in mm.
"""

from collections.abc import Callable, Iterator, Sequence
from math import copysign, pi, prod

from msgspec import Struct

from partgen.describe.printer_tables import Printer
from partgen.plan.body.layout import Layout, Placed
from partgen.plan.body.lid import LidPlan
from partgen.plan.body.lid_clip import BEAD, BEAD_LONG
from partgen.plan.body.light_strip import WAY, WAY_DEEP
from partgen.plan.body.mounts import (
    LIP_CLEAR,
    LIP_HEIGHT,
    STRAP_THICK,
    STRAP_WIDE,
    Lip,
    Pad,
    Strap,
    held,
    lips_of,
    pads,
    straps,
)
from partgen.plan.body.opening import FLUTE_OFF, LOWEST, UNDER_TOP, WallOpening, along, beside_flutes, looking_out
from partgen.plan.body.shell import BodyShell
from partgen.plan.body.wall_cut import SPARE
from partgen.plan.cables import BAR, WagonCables, room
from partgen.plan.cables import EYE as TIE_EYE
from partgen.plan.context import Context
from partgen.plan.fastening import STRAP_DEEP, board_screw
from partgen.plan.fits import hole, relief, walled
from partgen.plan.hardware import ROUND
from partgen.plan.outline import Patch, Span, Spans, between, grown

BOSS_WALL, BOSS_BEVEL = 1.5, 0.3
WEB = 0.9               # of a boss's diameter: the web between it and a wall
MARK_WIDE, MARK_DEEP = 0.7, 0.4         # line round a tape land
VENT, VENT_PITCH = 2.0, 5.0
VENT_LOW = 2.5          # of wall under the vents
UNDER_RIM = 0.6         # vents end below the lid's rim
WIRE_WIDE, WIRE_HIGH, WIRE_LOW = 8.0, 6.0, 2.0      # way for wires through an end wall
WIRE_ROOM = 4.0         # free inside before it
LAMP = 5.0              # bought lamps
LAMP_BEHIND = 9.0       # free inside behind one, for its wires
LAMP_BAND = 8.0         # of wall under the rim that vents leave to lamps
EYE = 2.4               # hole for a cable tie in a fence, a rib's thickness from its gap
TIE = 2.2               # width of what goes through

POCKET_OFF = 2.0        # an opening, or the thinned wall round it, to a way for wires
NOTCH_WIDE, NOTCH_HIGH = 16.0, 2.0      # for a coin or a finger's nail under the lid (common practice, no source)
ENDS = ("front", "back")


class Boss(Struct, frozen=True):
    """A screw boss: middle, height over the floor, diameter, core, the core's depth from its top, width and depth of
    the cone at its mouth; what it holds, the screw's name and length, the board's thickness under its head, and the
    webs from its middle to walls that no line of air would be left before."""

    x: float
    y: float
    height: float
    diameter: float
    core: float
    depth: float
    mouth: tuple[float, float]
    holds: str
    screw: str
    length: int
    board: float
    webs: tuple[Patch, ...] = ()

    def room(self, by: float) -> Spans:
        """From where to where [mm] along x and y it reaches with `by` [mm] round it."""
        return grown(Patch(self.x, self.y, self.diameter, self.diameter).spans, by)


class Fittings(Struct, frozen=True):
    """Everything of one body; `vents` are (along x, side), from `vent_low` to `vent_top` over the floor."""

    bosses: tuple[Boss, ...] = ()
    lips: tuple[Lip, ...] = ()
    straps: tuple[Strap, ...] = ()
    pads: tuple[Pad, ...] = ()      # of tape and felt
    lands: tuple[Patch, ...] = ()
    mark: tuple[float, float] = (MARK_WIDE, MARK_DEEP)      # width and depth of the line round each
    openings: tuple[WallOpening, ...] = ()
    vents: tuple[tuple[float, str], ...] = ()
    lamps: tuple[tuple[float, str], ...] = ()    # (along x, side), `lamp_level` over the floor, `lamp` wide
    lamp_level: float = 0.0
    lamp: float = 0.0
    ways: tuple[tuple[float, str], ...] = ()     # (along x, side): notches for the wires of light strips
    vent_low: float = 0.0
    vent_top: float = 0.0
    notches: tuple[tuple[float, str], ...] = ()  # (along, wall) in the upper edge, `notch` wide: a coin opens the lid
    notch: float = 0.0

    def cuts(self, shell: BodyShell) -> Iterator[tuple[str, str, Spans]]:
        """Yield what is cut into the walls beside openings: what it is, the wall, from where to where along it and up.
        """
        yield from (("a vent", wall, _about(wall, x, VENT, (self.vent_low, self.vent_top))) for x, wall in self.vents)
        lit = self.lamp_level - self.lamp / 2, self.lamp_level + 0.75 * self.lamp
        yield from (("a lamp's hole", wall, _about(wall, x, self.lamp, lit)) for x, wall in self.lamps)
        yield from (("the notch for a coin", wall, _notched(at, self.notch, shell)) for at, wall in self.notches)
        way = shell.inside[2] - WAY_DEEP, shell.inside[2]
        yield from (("the notch for a light strip's wires", wall, _about(wall, x, WAY, way)) for x, wall in self.ways)

    @property
    def vent_area(self) -> float:
        """Free area [mm2] of all vents."""
        return len(self.vents) * VENT * (self.vent_top - self.vent_low)

    def volume(self, wall: float) -> float:
        """Return what the fittings add to a body with walls `wall` [mm] thick, less what they take [mm3]."""
        added = sum(pi / 4 * (b.diameter**2 * b.height - b.core**2 * b.depth) for b in self.bosses)
        added += sum((web.length * web.width - pi / 8 * b.diameter**2) * b.height for b in self.bosses
                     for web in b.webs)
        added += sum(lip.length * lip.width * LIP_HEIGHT for lip in self.lips)
        lands = sum(2 * (land.length + land.width) * prod(self.mark) for land in self.lands)
        straps = sum(STRAP_WIDE * (STRAP_DEEP * s.apart + 2 * STRAP_THICK * 1.2) for s in self.straps)
        return added - lands - straps - sum(opening.volume(wall) for opening in self.openings) - wall * (
            self.vent_area + len(self.lamps) * 0.82 * self.lamp**2
            + len(self.notches) * NOTCH_HIGH * (self.notch + NOTCH_HIGH))


def resolve(context: Context, shell: BodyShell, layout: Layout, lid: LidPlan) -> Fittings:
    """Resolve the fittings of the body under `lid` round the modules of `layout`, with a row of lamps under its rim
    where the wagon wishes them."""
    placed, printer, lit = layout.placed, context.printer, context.wagon.lights == "lamps"
    bands = tuple(straps(placed, shell.floor))
    bosses = tuple(boss for one in placed for boss in _bosses(one, shell, printer))
    # Beside a boss an air gap of a line stays, though a lip keeps no more from what is not printed.
    ways = [*(slot for strap in bands for slot in strap.slots), *(lead.spans for lead in layout.leads),
            *(boss.room(max(printer.line_width - LIP_CLEAR, 0.0)) for boss in bosses)]
    lips = lips_of(placed, shell, ways, printer.line_width)
    stuck = tuple(pads(placed, lips))
    seen = tuple(looking_out(layout.cutouts, shell, printer, lid))
    openings = (*seen, *_wire_ways(placed, lips, seen, shell, lid.rim.depth, context))
    under_rim = shell.inside[2] - lid.rim.depth - UNDER_RIM
    level = under_rim - LAMP_BAND / 2
    notch, vent_top = _notch(shell, lid), under_rim - (LAMP_BAND if lit else 0.0)
    return Fittings(
        notches=tuple(_notches(shell, openings, notch)), notch=notch,
        bosses=bosses, lips=lips,
        straps=bands, pads=stuck, lands=tuple(
            Patch(pad.x, pad.y, pad.length, pad.width) for pad in stuck if pad.what == "tape" and pad.low <= 1e-6),
        mark=(max(MARK_WIDE, printer.line_width), max(MARK_DEEP, printer.layer)), openings=openings,
        vents=tuple(_vents(placed, shell, openings)) if vent_top - VENT_LOW >= VENT else (), vent_low=VENT_LOW,
        vent_top=vent_top,
        lamps=tuple(_lamps(placed, shell, level, openings)) if lit and level - LAMP / 2 > LOWEST else (),
        lamp_level=level, lamp=hole(LAMP, "snug", printer), ways=lid.strip.ways if lid.strip else ())


def _bosses(one: Placed, shell: BodyShell, printer: Printer) -> Iterator[Boss]:
    """Yield a boss under every screw hole of a module that stands on them; on another module there are none."""
    if held(one) != "bosses":
        return
    screw, board = board_screw(one.module), one.module.board
    core, length = hole(screw.core, "core", printer), screw.driven(board).length
    diameter = max(ROUND * screw.thread, core + 2 * BOSS_WALL, walled(screw, printer, BOSS_BEVEL))
    for at in one.module.holes:
        x, y, _ = one.turn.point((*at, 0.0))
        yield Boss(one.x + x, one.y + y, one.z, diameter, core, one.z + shell.floor, relief(screw, printer), one.name,
                   screw.name, length, board, tuple(_webs(one.x + x, one.y + y, diameter, shell, printer.line_width)))


def _webs(x: float, y: float, diameter: float, shell: BodyShell, line: float) -> Iterator[Patch]:
    """Yield the web from the middle of a boss to every wall that it is closer to than a `line` [mm]."""
    for axis, at in enumerate((x, y)):
        long, wide = shell.inside[axis] / 2 - abs(at), WEB * diameter
        middle = copysign(abs(at) + long / 2, at)
        if long - diameter / 2 < line:
            yield Patch(x, middle, wide, long) if axis else Patch(middle, y, long, wide)


def _wire_ways(placed: Sequence[Placed], lips: Sequence[Patch], seen: Sequence[WallOpening], shell: BodyShell,
               rim: float, context: Context) -> Iterator[WallOpening]:
    """Yield the way for wires in either end wall, with the eye for a tie beside it where cables are described: as low
    and as near its middle as modules, lips and openings leave free.

    Where modules leave nothing free, it is low in the middle all the same: a cable bends. Where what looks out leaves
    none, there is none at that end. In a low wall it lies lower and is less high, so that wall stays over it. Described
    cables ask for a way as large as their largest plug, and for none in a wall that none goes through.
    """
    boxes = [*(one.box for one in placed), *((*lip.spans, (0.0, LIP_HEIGHT)) for lip in lips)]
    flute = shell.cone / 2 + POCKET_OFF
    for wall, sign in (("front", 1), ("back", -1)):
        wide, high, slopes, eyed = _wished(context, wall)
        if not wide:
            continue
        high, across = _upright(shell, high + slopes), wide + (BAR + TIE_EYE[0] if eyed else 0.0)
        first = max(LOWEST, min(WIRE_LOW, shell.inside[2] - UNDER_TOP - high))
        half = shell.inside[1] / 2 - shell.inner_corner - across / 2 - 2.0
        spots = sorted((k * max(half, 0.0) / 6 for k in range(-6, 7)), key=abs)
        near = [(y, z) for x, y, z in boxes if shell.inside[0] / 2 - max(sign * x[0], sign * x[1]) < WIRE_ROOM]
        kept = [_kept(one, sign) for one in seen if one.wall == wall]
        kept += [((y - flute, y + flute), (0.0, shell.inside[2])) for _, y in shell.screws if shell.flute]
        near += kept
        top = shell.inside[2] - rim - high
        lows = sorted({first, *(top_of + 1.0 for _, (_, top_of) in near if first < top_of + 1.0 <= top)})
        places = [(low, y) for low in lows for y in spots] if half >= 0 or not eyed else []
        size = across, high
        if place := next(filter(_free(near, size), places), None) or next(filter(_free(kept, size), places), None):
            low, y = place
            at, off = along(wall, 0.0, y), (across - wide) / 2
            yield WallOpening(wall, at - off, low, wide, high - slopes, gable=slopes)
            if eyed:
                yield WallOpening(wall, at + (across - TIE_EYE[0]) / 2, low, TIE_EYE[0], min(TIE_EYE[1], high))


def _wished(context: Context, wall: str) -> tuple[float, float, float, bool]:
    """Return width and height [mm] of the way for wires in an end wall, the height of the slopes over it, and whether
    it has an eye; 0 for no way."""
    cables: WagonCables = context.cables
    if not cables.described:
        return WIRE_WIDE, WIRE_HIGH, 0.0, False
    wide, high = room(cables.through(wall))
    return wide, high, max(0.0, (wide - context.printer.bridge + SPARE) / 2) if wide else 0.0, bool(wide)


def _upright(shell: BodyShell, high: float) -> float:
    """Return how high [mm] a way may be in walls of a shell."""
    room_there = shell.inside[2] - UNDER_TOP
    return min(high, room_there - max(LOWEST, min(WIRE_LOW, room_there - high)))


def _notch(shell: BodyShell, lid: LidPlan) -> float:
    """Return how wide the notches for a coin are: between the lid's beads and the body's rounded corners."""
    ends = [lid.clips.clip.nose for wall in ENDS for _ in lid.clips.taken(wall)]
    return min(NOTCH_WIDE, shell.inside[1] - 2 * shell.inner_corner - 2 * NOTCH_HIGH,
               *(2 * (nose - BEAD_LONG / 2 - BEAD - NOTCH_HIGH) for nose in ends))


def _notches(shell: BodyShell, openings: Sequence[WallOpening], wide: float) -> Iterator[tuple[float, str]]:
    """Yield (along, wall) of a notch in the middle of either end wall, unless an opening reaches up to it."""
    for wall in ENDS:
        if all(one.wall != wall or between(one.cut, _notched(0.0, wide, shell)) >= shell.rib for one in openings):
            yield 0.0, wall


def _notched(at: float, wide: float, shell: BodyShell) -> Spans:
    """Return what a notch `wide` [mm] about `at` takes of its wall."""
    half = wide / 2 + NOTCH_HIGH
    return (at - half, at + half), (shell.inside[2] - NOTCH_HIGH, shell.inside[2])


def _about(wall: str, x: float, wide: float, upward: Span) -> Spans:
    """Return what a cut `wide` [mm] about `x` takes of a side wall."""
    at = along(wall, x, 0.0)
    return (at - wide / 2, at + wide / 2), upward


def _free(taken: Sequence[Spans], size: tuple[float, float]) -> Callable[[tuple[float, float]], bool]:
    """Return the question whether a way for wires of a `size` [mm] across and up, its low edge and middle along y [mm],
    is clear of what is `taken`."""
    wide, high = size
    return lambda at: all(between(box, Patch(at[1], at[0] + high / 2, wide, high).spans) >= 0 for box in taken)


def _kept(opening: WallOpening, sign: int) -> Spans:
    """Return the spans along y and z that an opening in an end wall takes, with the thinned wall round it."""
    (left, right), upward = opening.cut
    y0, y1 = sorted((sign * left, sign * right))
    return grown(((y0, y1), upward), POCKET_OFF)


def _vents(placed: Sequence[Placed], shell: BodyShell, openings: Sequence[WallOpening]) -> Iterator[tuple[float, str]]:
    """Yield (x, wall) of slots over the length of every warm module in both side walls, clear of posts and fences."""
    warm = [one.box[0] for one in placed if one.module.warm]
    end = shell.length / 2 - shell.corner - 2.0
    for start, stop in shell.fields(shell.length) or ((-end, end),):
        count = int((stop - start - 2 * VENT) / VENT_PITCH) + 1
        for k in range(count):
            x = (start + stop) / 2 + (k - (count - 1) / 2) * VENT_PITCH
            fenced = any(abs(x - fence) < (shell.rib + VENT) / 2 for fence in shell.fences)
            if not fenced and any(low - VENT_PITCH / 2 < x < high + VENT_PITCH / 2 for low, high in warm):
                yield from ((x, wall) for wall in ("left", "right") if _clear(wall, x, openings, shell, VENT))


def _lamps(placed: Sequence[Placed], shell: BodyShell, level: float,
           openings: Sequence[WallOpening]) -> Iterator[tuple[float, str]]:
    """Yield (x, wall) of a lamp in the middle of every field of the side walls that has room behind it."""
    end, face = shell.length / 2 - shell.corner, shell.inside[1] / 2
    high = [opening for opening in openings if opening.cut[1][1] > level - LAMP]
    tall = [one.spans for one in placed if one.box[2][0] < level + LAMP and level - LAMP < one.box[2][1]]
    for start, stop in shell.fields(shell.length) or ((-end, 0.0), (0.0, end)):
        x = (start + stop) / 2
        for wall, across in (("left", (face - LAMP_BEHIND, face)), ("right", (-face, LAMP_BEHIND - face))):
            behind = (x - LAMP, x + LAMP), across
            if all(between(box, behind) >= 0 for box in tall) and _clear(wall, x, high, shell, LAMP):
                yield x, wall


def _clear(wall: str, x: float, openings: Sequence[WallOpening], shell: BodyShell, wide: float) -> bool:
    """Is there wall enough between a vent or lamp `wide` [mm] and every opening and screw's flute?"""
    at = along(wall, x, 0.0)
    return beside_flutes(shell, wall, at, wide) >= FLUTE_OFF and all(
        one.wall != wall or abs(at - one.along) > one.width / 2 + one.taken + VENT + 0.5
        and max(one.cut[0][0] - at, at - one.cut[0][1]) >= wide / 2 + shell.rib for one in openings)
