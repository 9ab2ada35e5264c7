"""What running gear, load and couplers ask of the body, and what no arithmetic can meet."""

from itertools import product
from math import inf

from msgspec import Struct

from partgen.finding import down, judge, up
from partgen.identity import WagonId
from partgen.packing.box import Space, Zone
from partgen.plan.body import lid as lids
from partgen.plan.body import shell as bodies
from partgen.plan.body.layout import space_of
from partgen.plan.fits import hole
from partgen.plan.running_gear import frame

FRAME_INSET = 1.0       # the frame stands back under the body by this much, a shadow line all round
RAIL_ROOM = 1.0         # lowest part over rail top
WINDOW_EDGE = 3.6       # between what a sensor sees and what moves beneath: its chute, then two lines of frame
MARKER_ROOM = 3.0       # between a wheel's back and what a sensor must see of the marker
HEAD_EDGE = 0.5         # round the head of a body screw
ACROSS = (-inf, inf)


class Needs(Struct, frozen=True):
    """What gear, load and couplers ask of the body [mm]."""

    gear_length: float      # with every axle holder's whole travel and room for bogies to swing
    least_length: float     # shorter, and gear and couplers stand in each other's place
    load_length: float      # of the cups; the modules are arranged in what gear and cups leave
    least_width: float
    load_width: float       # of cups and of each module by itself


def needs_of(wagon, wheelset, running, coupling, screw, printer, modules, seats_x, seats_y) -> Needs:
    """Work out the shortest and narrowest body that gear, cups and every single module allow.

    `modules` is the narrowest inside [mm] that takes each of them by itself; 0 without modules.
    """
    ends = running.base + 2 * coupling.inset
    along, across = deck_edge(wagon, printer)
    load_length = seats_x - along if seats_x else 0.0
    load_width = max(modules + 2 * wagon.wall if modules else 0.0, seats_y - across if seats_y else 0.0)
    covers_wheels = wheelset.back_to_back + 2 * wheelset.width + 2.0
    least = max(frame.narrowest(running, screw) + 2 * FRAME_INSET, 2 * screw.cone + running.middle + 8.0)
    return Needs(ends + 2 * running.seat_distance(coupling), ends + 2 * running.least_seat_distance(coupling),
                 load_length, least, max(covers_wheels, load_width))


def deck_edge(wagon, printer) -> tuple[float, float]:
    """Return how much longer and how much wider [mm] the deck is than the body: on a lid, or within the walls."""
    return (2 * lids.EAVES, 2 * lids.side_eaves(wagon, printer)) if wagon.modules else (-2 * wagon.wall - 1.0,) * 2


def deck_width(wagon, printer) -> float | None:
    """Return the width [mm] of the deck on a body of given width; None where the width follows the load."""
    return None if wagon.width is None else wagon.width + deck_edge(wagon, printer)[1]


def inside_of(wagon, wheelset, running, coupling, screw, printer, needs) -> Space:
    """Return the inside that modules may take: as wished, or no shorter or narrower than the rest needs."""
    def limits(wish, least, walls):
        return (max(least - walls, 0.0), inf) if wish is None else (max(wish - walls, 0.0),) * 2

    walls = 2 * wagon.wall
    wide = max(needs.least_width, needs.load_width) if wagon.width is None else wagon.width
    return space_of(
        limits(wagon.length, max(needs.gear_length, needs.load_length), walls), limits(wide, wide, walls),
        (0.0, limits(wagon.height, 0.0, bodies.FLOOR + lids.LID_RIM)[1]),
        _heads(running, screw, printer, wide, wagon.wall), _blind(running, coupling, wagon.wall),
        wagon.sensor_station, _seen(wheelset), lids.window_room(printer))


def _heads(running, screw, printer, width, wall):
    """Yield the zones of the body screws, which go in from above: nothing may stand on their heads."""
    inset = FRAME_INSET + frame.screw_inset(running, screw.core + printer.bore_offset)
    half = (screw.cone + printer.bore_offset) / 2 + HEAD_EDGE
    for end, side in product((1, -1), repeat=2):
        x, y = -end * (inset - wall), side * (width / 2 - inset)
        yield Zone((x - half, x + half), (y - half, y + half), end)


def _blind(running, coupling, wall):
    """Yield the zones where axles, bogies or couplers are in the way of a look at the track."""
    if running.bogie:
        spans = [(pivot.x - running.room.reach, pivot.x + running.room.reach) for pivot in running.bolsters]
    else:
        spans = [*running.slide.slots, *running.slide.grooves]
    yield from (Zone((start - WINDOW_EDGE, stop + WINDOW_EDGE), ACROSS) for start, stop in spans)
    seat = coupling.inset + coupling.guard_outer + WINDOW_EDGE - wall
    yield Zone((-seat, 0.0), ACROSS, 1)
    yield Zone((0.0, seat), ACROSS, -1)


def _seen(wheelset) -> tuple[float, float]:
    """Return from where to where across [mm] a sensor sees a marker that lies clear of the flanges."""
    half = wheelset.back_to_back / 2 - MARKER_ROOM
    return -half, half


def refusals(wagon, running, screw, printer, coupler, coupling, needs, layout, length, width):
    """Yield a failing finding for each wish that cannot be met."""
    who = WagonId(wagon.name)
    if length < needs.least_length - 1e-9:
        need = needs.least_length
        yield judge("wheel-room", who, length - need, 0.0, "min", "mm",
                    f"{running.carriers} and coupler seats overlap: lengthen the body to {up(need)} mm or shorten "
                    f"{running.base_name} to {down(running.base - (need - length))} mm")
    if layout.misfit:
        yield judge("module-fit", who, min(layout.misfit.missing, -1e-3), 0.0, "min", "mm",
                    layout.misfit.remedy(2 * wagon.wall, bodies.FLOOR + lids.LID_RIM))
    if length < needs.load_length - 1e-9:
        yield judge("module-fit", who, length - needs.load_length, 0.0, "min", "mm",
                    f"the cups need a body {up(needs.load_length)} mm long: lengthen it by "
                    f"{up(needs.load_length - length)} mm, leave length out, or take a cup off")
    needed = max(needs.least_width, needs.load_width if wagon.modules or wagon.cups else 0.0)
    if width < needed - 1e-9:
        yield judge("module-fit", who, width - needed, 0.0, "min", "mm",
                    f"running gear and load need a body {up(needed)} mm wide: widen it by {up(needed - width)} mm "
                    "or leave width out")
    if coupling.lowest < RAIL_ROOM:
        need = coupler.height + RAIL_ROOM - coupling.lowest
        yield judge("coupler-height", who, coupling.lowest, RAIL_ROOM, "min", "mm",
                    f"the pivot screw would hang {coupling.lowest:.1f} mm over rail top: raise coupler.height to "
                    f"{up(need)} mm or choose a smaller magnet")
    spigot = (coupling.spigot - hole(screw.core, "core", printer)) / 2
    if spigot < printer.thinnest_wall - 1e-9:
        yield judge("wall", who, spigot, printer.thinnest_wall, "min", "mm",
                    f"{screw.name} screws leave the pivots' spigots a wall of {spigot:.2f} mm inside their "
                    f"washers: print with lines of {down(spigot / 2, 2)} mm, or choose larger screws")
    yield from (judge("wheel-room", who, value, least, "min", "mm", remedy)
                for value, least, remedy in running.unmet(screw, printer) if value < least)
