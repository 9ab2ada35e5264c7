"""What running gear, load and couplers ask of the body, and what no arithmetic can meet."""

from collections.abc import Iterator
from itertools import product
from math import inf

from msgspec import Struct
from msgspec.structs import replace

from partgen.packing.box import FloorZone, Space
from partgen.plan.body import sensor_holder
from partgen.plan.body.layout import Layout, narrowest, wall_gap
from partgen.plan.body.lid import EAVES, side_eaves, window_room
from partgen.plan.body.orientation import GAP
from partgen.plan.body.widest import Slim, slim
from partgen.plan.context import Context, Shortfall, short
from partgen.plan.coupling import CouplingPlan
from partgen.plan.deck.insert import Seating
from partgen.plan.fastening import WITHIN, floor, over_modules
from partgen.plan.fits import FACETS, walled
from partgen.plan.pivot import BEVEL
from partgen.plan.running_gear import frame
from partgen.plan.running_gear.gear import RunningGear

RAIL_ROOM = 1.0         # lowest part over rail top
HEAD_EDGE = 0.5         # round the head of a body screw
ACROSS = (-inf, inf)


class Needs(Struct, frozen=True):
    """What gear, load and couplers ask of the body [mm]."""

    gear_length: float      # with every axle holder's whole travel and room for bogies to swing
    least_length: float     # shorter, and gear and couplers stand in each other's place
    load_length: float      # of the cups; the modules are arranged in what gear and cups leave
    least_width: float
    load_width: float       # of cups and of each module by itself


def needs_of(context: Context, gear: RunningGear, coupling: CouplingPlan, seating: Seating) -> Needs:
    """Work out the shortest and narrowest body that gear, cups and every single module allow."""
    ends, wheelset = gear.base + 2 * coupling.inset, context.wheelset
    along, across = deck_edge(context)
    modules = narrowest(context, window_room(context.printer))
    load_width = max(modules + 2 * context.wagon.wall if modules else 0.0,
                     seating.width - across if seating.seats else 0.0)
    return Needs(
        gear_length=ends + 2 * gear.seat_distance, least_length=ends + 2 * gear.least_seat_distance,
        load_length=seating.length - along if seating.seats else 0.0,
        least_width=max(frame.narrowest(context, gear) + 2 * frame.INSET,
                        2 * context.screw.cone + gear.middle + 8.0, gear.carrier_width,
                        2 * (sensor_holder.half_width(context) + frame.INSET)),
        load_width=max(wheelset.back_to_back + 2 * wheelset.width + 2.0, load_width))


def deck_edge(context: Context) -> tuple[float, float]:
    """Return how much longer and how much wider [mm] the deck is than the body: on a lid, or within the walls."""
    within = -2 * (context.wagon.wall + WITHIN)
    return (2 * EAVES, 2 * side_eaves(context)) if context.wagon.modules else (within, within)


def deck_width(context: Context) -> float | None:
    """Return the width [mm] of the deck on a body of given width; None where the width follows the load."""
    return None if context.wagon.width is None else context.wagon.width + deck_edge(context)[1]


def insides_of(context: Context, gear: RunningGear, coupling: CouplingPlan,
               needs: Needs) -> Iterator[tuple[Space, float]]:
    """Yield the inside that modules may take, as wished or no shorter or narrower than the rest needs, and the length
    [mm] up to which that will do; where what they take is longer, the next one is tried."""
    wagon, walls = context.wagon, 2 * context.wagon.wall
    least, narrow = max(needs.gear_length, needs.load_length), max(needs.least_width, needs.load_width)
    slims = slim(context, gear, narrow, wagon.length or least) if wagon.width is None else [Slim(wagon.width, inf)]
    space = Space(
        length=(max((wagon.length or least) - walls, 0.0), inf if wagon.length is None else
                max(wagon.length - walls, 0.0)),
        width=(max((wagon.width or narrow) - walls, 0.0),) * 2,
        height=(0.0, inf if wagon.height is None else
                max(wagon.height - floor(context.printer) - over_modules(context), 0.0)), gap=GAP,
        touch=wall_gap(context.printer), layer=GAP, taken=tuple(_heads(context, gear)),
        blind=tuple(_blind(context, gear, coupling)), station=wagon.sensor_station,
        strip=(-sensor_holder.CENTRED, sensor_holder.CENTRED),
        rim=window_room(context.printer), land=context.printer.thinnest_wall, carried=gear.base / 2)
    for one in slims:
        pairs = tuple((width - walls, length - walls) for width, length in one.pairs)
        yield replace(space, width=(space.width[0], max(one.width - walls, 0.0)), slim=pairs), one.longest - walls


def _heads(context: Context, gear: RunningGear) -> Iterator[FloorZone]:
    """Yield the zones of the body screws, which go in from above: nothing may stand on their heads."""
    screw, offset = context.screw, context.printer.bore_offset
    inset = frame.INSET + frame.screw_inset(context, gear, screw.core + offset)
    half = (screw.cone + offset) / 2 + HEAD_EDGE
    for end, side in product((1, -1), repeat=2):
        x, y = (-sense * (inset - context.wagon.wall) for sense in (end, side))
        yield FloorZone((x - half, x + half), (y - half, y + half), end, side)


def _blind(context: Context, gear: RunningGear, coupling: CouplingPlan) -> Iterator[FloorZone]:
    """Yield the zones where axles, bogies or couplers are in the way of what hangs under the frame."""
    edge = sensor_holder.CLEAR
    yield from (FloorZone((start - edge, stop + edge), ACROSS) for start, stop in gear.blind)
    seat = coupling.inset + coupling.guard_outer + edge - context.wagon.wall
    yield FloorZone((-seat, 0.0), ACROSS, 1)
    yield FloorZone((0.0, seat), ACROSS, -1)


def outside_of(context: Context, needs: Needs, layout: Layout) -> tuple[float, float]:
    """Return length and width [mm] of the body: as wished, else as small as gear, cups and modules allow."""
    wagon, walls = context.wagon, 2 * context.wagon.wall
    long, wide = (layout.length + walls, layout.width + walls) if layout.ends else (0.0, 0.0)
    return (max(needs.gear_length, needs.load_length, long) if wagon.length is None else wagon.length,
            max(needs.least_width, needs.load_width, wide) if wagon.width is None else wagon.width)


def wanting(context: Context, gear: RunningGear, coupling: CouplingPlan, needs: Needs, layout: Layout,
            outside: tuple[float, float]) -> tuple[Shortfall, ...]:
    """Return every wish that cannot be met, whatever is drawn."""
    wagon, (length, width) = context.wagon, outside
    loaded, missing = wagon.modules or wagon.cups, layout.misfit.missing if layout.misfit else 0.0
    alone = layout.misfit.alone if layout.misfit else ()
    sensor = next((name for name in alone if context.modules[name].looks_down), "")
    lines = context.printer.thinnest_wall
    spigot = lines + FACETS + (coupling.spigot - walled(context.screw, context.printer, BEVEL)) / 2
    return (*short(
        Shortfall("length for gear", length, needs.least_length),
        Shortfall("room for modules", min(missing, -1e-3) if layout.misfit else 0.0, 0.0, sensor),
        *(Shortfall("where it shall lie", -off, 0.0, name) for name, off in layout.elsewhere),
        Shortfall("length for cups", length, needs.load_length),
        Shortfall("width", width, max(needs.least_width, needs.load_width if loaded else 0.0)),
        Shortfall("pivot over rails", coupling.lowest, RAIL_ROOM),
        Shortfall("wall of spigot", spigot, lines)), *gear.wanting)
