"""What running gear, load and couplers ask of the body, and what no arithmetic can meet."""

from dataclasses import dataclass

from partgen.finding import down, judge, up
from partgen.plan import body as bodies
from partgen.plan import frame

FRAME_INSET = 1.0       # the frame stands back under the body by this much, a shadow line all round
RAIL_ROOM = 1.0         # lowest part over rail top


@dataclass(frozen=True, slots=True)
class Needs:
    """What gear, load and couplers ask of the body [mm]."""

    gear_length: float      # with every axle holder's whole travel and room for bogies to swing
    least_length: float     # shorter, and gear and couplers stand in each other's place
    load_length: float
    least_width: float
    load_width: float


def needs_of(wagon, wheelset, running, coupling, screw, row, seats_x, seats_y) -> Needs:
    """Work out the shortest and narrowest body that gear and load allow."""
    ends = running.base + 2 * coupling.inset
    edge = bodies.EAVES * 2 if row.placed else -2 * wagon.wall - 1.0
    load_length = max(row.length + 2 * wagon.wall, seats_x - edge if seats_x else 0.0)
    load_width = max(row.width + 2 * wagon.wall, seats_y - edge if seats_y else 0.0)
    covers_wheels = wheelset.back_to_back + 2 * wheelset.width + 2.0
    least = max(frame.narrowest(running, screw) + 2 * FRAME_INSET, 2 * screw.cone + running.middle + 8.0)
    return Needs(ends + 2 * running.seat_distance(coupling), ends + 2 * running.least_seat_distance(coupling),
                 load_length, least, max(covers_wheels, load_width))


def refusals(wagon, running, screw, printer, coupler, coupling, needs, length, width):
    """Yield a failing finding for each wish that no arithmetic can meet."""
    name = wagon.name
    if length < needs.least_length - 1e-9:
        need = needs.least_length
        yield judge("wheel-room", name, length - need, 0.0, "min", "mm",
                    f"{running.carriers} and coupler seats overlap: lengthen the body to {up(need)} mm or shorten "
                    f"{running.base_name} to {down(running.base - (need - length))} mm")
    if length < needs.load_length - 1e-9:
        yield judge("module-fit", name, length - needs.load_length, 0.0, "min", "mm",
                    f"the load needs a body {up(needs.load_length)} mm long: lengthen it by "
                    f"{up(needs.load_length - length)} mm, leave length out, or take a module or cup off")
    needed = max(needs.least_width, needs.load_width if wagon.modules or wagon.cups else 0.0)
    if width < needed - 1e-9:
        yield judge("module-fit", name, width - needed, 0.0, "min", "mm",
                    f"running gear and load need a body {up(needed)} mm wide: widen it by {up(needed - width)} mm "
                    "or leave width out")
    if coupling.lowest < RAIL_ROOM:
        need = coupler.height + RAIL_ROOM - coupling.lowest
        yield judge("coupler-height", name, coupling.lowest, RAIL_ROOM, "min", "mm",
                    f"the pivot screw would hang {coupling.lowest:.1f} mm over rail top: raise coupler.height to "
                    f"{up(need)} mm or choose a smaller magnet")
    spigot = (coupling.spigot - screw.core - printer.bore_offset) / 2
    if spigot < printer.thinnest_wall - 1e-9:
        yield judge("wall", name, spigot, printer.thinnest_wall, "min", "mm",
                    f"{screw.name} screws leave the pivots' spigots a wall of {spigot:.2f} mm inside their "
                    f"washers: print with lines of {down(spigot / 2, 2)} mm, or choose larger screws")
    yield from (judge("wheel-room", name, value, least, "min", "mm", remedy)
                for value, least, remedy in running.unmet(screw, printer) if value < least)
