"""What running gear, load and couplers ask of the body, and what no arithmetic can meet."""

from dataclasses import dataclass

from partgen.finding import down, judge, up
from partgen.plan import body as bodies
from partgen.plan import frame, gear

FRAME_INSET = 1.0       # the frame stands back under the body by this much, a shadow line all round
RAIL_ROOM = 1.0         # lowest part over rail top


@dataclass(frozen=True, slots=True)
class Needs:
    """What gear, load and couplers ask of the body [mm]."""

    gear_length: float
    load_length: float
    least_width: float
    load_width: float


def needs_of(wagon, wheelset, running, coupling, screw, row, seats_x, seats_y) -> Needs:
    """Work out the shortest and narrowest body that gear and load allow."""
    wheels_meet_guard = coupling.guard_outer > wheelset.back_to_back / 2 - 0.5
    beyond_axle = max(running.holder.half_length, frame.slot_half(running, 0.0),
                      wheelset.flange_diameter / 2 if wheels_meet_guard else 0.0)
    gear_half = wagon.wheelbase / 2 + beyond_axle + wagon.travel + 0.8 + coupling.guard_outer + coupling.inset
    edge = bodies.EAVES * 2 if row.placed else -2 * wagon.wall - 1.0
    load_length = max(row.length + 2 * wagon.wall, seats_x - edge if seats_x else 0.0)
    load_width = max(row.width + 2 * wagon.wall, seats_y - edge if seats_y else 0.0)
    covers_wheels = wheelset.back_to_back + 2 * wheelset.width + 2.0
    least = max(frame.narrowest(running, screw) + 2 * FRAME_INSET, 2 * screw.cone + running.slot_width + 8.0)
    return Needs(2 * gear_half, load_length, least, max(covers_wheels, load_width))


def refusals(wagon, wheelset, screw, printer, coupler, coupling, needs, length, width, travel):
    """Yield a failing finding for each wish that no arithmetic can meet."""
    name = wagon.name
    if travel < 0:
        # Without travel the holders stand where they are, and the body must still reach past the couplers.
        need = needs.gear_length - 2 * wagon.travel
        yield judge("wheel-room", name, length - need, 0.0, "min", "mm",
                    f"axle holders and coupler seats overlap: lengthen the body to {up(need)} mm or shorten the "
                    f"wheelbase to {down(wagon.wheelbase - (need - length))} mm")
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
    least = gear.least_back_to_back(screw, printer)
    if wheelset.back_to_back < least:
        yield judge("wheel-room", name, wheelset.back_to_back, least, "min", "mm",
                    f"no axle holder with {screw.name} screws goes between wheels {wheelset.back_to_back:g} mm apart: "
                    f"choose smaller screws, or wheels {up(least)} mm apart")
