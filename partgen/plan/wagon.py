"""One wagon resolved: every part with its places, the room it takes, and why it cannot be where it cannot."""

from dataclasses import dataclass

from partgen.describe.coupler import Coupler
from partgen.describe.description import Description
from partgen.describe.payload import Cup
from partgen.describe.wagon import Wagon
from partgen.describe.wheelset import Wheelset
from partgen.finding import Finding, judge
from partgen.plan import body as bodies
from partgen.plan import coupling as couplings
from partgen.plan import deck, frame, gear, layout
from partgen.plan.hardware import SCREWS, Screw
from partgen.plan.outline import Outline, circle, rounded_rectangle
from partgen.plan.placement import Item, Place

FRAME_INSET = 1.0       # the frame stands back under the body by this much, a shadow line all round
RAIL_ROOM = 1.0         # lowest part over rail top
LEAST_TRAVEL = 0.0


@dataclass(frozen=True, slots=True)
class WagonPlan:
    """A resolved wagon in its own axes: x forward, y left, z over rail top; all in mm."""

    name: str
    wagon: Wagon
    wheelset: Wheelset
    coupler: Coupler
    gear: gear.GearPlan
    coupling: couplings.CouplingPlan
    frame: frame.FramePlan
    body: bodies.BodyPlan
    lid: bodies.LidPlan | None
    cradle: deck.CradlePlan | None
    row: layout.Row
    cups: tuple[tuple[deck.Seat, Cup], ...]
    travel: float
    items: tuple[Item, ...]
    outlines: tuple[Outline, ...]
    refusals: tuple[Finding, ...]

    @property
    def wheelbase(self) -> float:
        """Axle to axle [mm]."""
        return self.wagon.wheelbase

    @property
    def length(self) -> float:
        """Body length [mm]."""
        return self.body.length

    @property
    def width(self) -> float:
        """Body width [mm]."""
        return self.body.width

    @property
    def floor_z(self) -> float:
        """Upper face of the body's floor over rail top [mm]."""
        return self.body.bottom + self.body.floor

    @property
    def deck_z(self) -> float:
        """Upper face of the cradle's plate, where cups stand, over rail top [mm]."""
        return self.cradle.bottom + self.cradle.plate


@dataclass(frozen=True, slots=True)
class Needs:
    """What gear, load and couplers ask of the body [mm]."""

    gear_length: float
    load_length: float
    least_width: float
    load_width: float


def resolve(wagon: Wagon, description: Description) -> WagonPlan:
    """Resolve one wagon; what cannot be is a refusal in the plan, never an exception."""
    wheelset, screw = description.wheelset[wagon.wheelset], SCREWS[wagon.screw]
    printer, coupler = description.printer, description.coupler
    coupling = couplings.resolve(coupler, screw, printer)
    running = gear.resolve(wheelset, screw, printer, couplings.lowest_frame(coupler, printer))
    row = layout.in_a_row(description.module, wagon.modules)
    seats, seats_x, seats_y = deck.in_a_row(description.cup, wagon.cups)
    needs = _needs(wagon, wheelset, running, coupling, screw, row, seats_x, seats_y)
    length = wagon.length if wagon.length is not None else max(needs.gear_length, needs.load_length)
    width = wagon.width if wagon.width is not None else max(needs.least_width, needs.load_width)
    travel = min(wagon.travel, wagon.travel + (length - needs.gear_length) / 2)
    refusals = tuple(_refusals(wagon, coupler, coupling, needs, length, width, travel, row))
    travel = max(travel, LEAST_TRAVEL)
    under = _frame(wagon, coupler, coupling, running, screw, printer, length, width, travel)
    box = _body(wagon, under, row, screw, printer, length, width)
    lid = bodies.lid_plan(box, bool(seats), screw, printer) if row.placed else None
    cradle = _cradle(seats, lid, box, screw, printer)
    items = tuple(_items(running, coupling, under, box, lid, cradle, wagon.wheelbase))
    cups = tuple((seat, description.cup[seat.cup]) for seat in seats)
    return WagonPlan(wagon.name, wagon, wheelset, coupler, running, coupling, under, box, lid, cradle, row, cups,
                     travel, items, tuple(_outlines(under, box, lid, cradle, cups, coupling)), refusals)


def _needs(wagon, wheelset, running, coupling, screw, row, seats_x, seats_y) -> Needs:
    """Work out the shortest and narrowest body that gear and load allow."""
    wheels_meet_guard = coupling.guard_outer > wheelset.back_to_back / 2 - 0.5
    beyond_axle = max(running.holder.half_length, frame.slot_half(running, 0.0),
                      wheelset.flange_diameter / 2 if wheels_meet_guard else 0.0)
    gear_half = wagon.wheelbase / 2 + beyond_axle + wagon.travel + 0.8 + 2 * coupling.guard_outer + 1.0
    edge = bodies.EAVES * 2 if row.placed else -2 * wagon.wall - 1.0
    load_length = max(row.length + 2 * wagon.wall, seats_x - edge if seats_x else 0.0)
    load_width = max(row.width + 2 * wagon.wall, seats_y - edge if seats_y else 0.0)
    covers_wheels = wheelset.back_to_back + 2 * wheelset.width + 2.0
    least = max(frame.narrowest(running, screw) + 2 * FRAME_INSET, 2 * screw.cone + running.slot_width + 8.0)
    return Needs(2 * gear_half, load_length, least, max(covers_wheels, load_width))


def _refusals(wagon, coupler, coupling, needs, length, width, travel, row):
    """Yield a failing finding for each wish that no arithmetic can meet."""
    name = wagon.name
    if travel < LEAST_TRAVEL:
        # Without travel the holders stand where they are, and the body must still reach past the couplers.
        need = needs.gear_length - 2 * wagon.travel
        yield judge("wheel-room", name, length - need, 0.0, "min", "mm",
                    f"axle holders and coupler seats overlap: lengthen the body to {need:.1f} mm or shorten the "
                    f"wheelbase to {wagon.wheelbase - (need - length):.1f} mm")
    if length < needs.load_length - 1e-9:
        yield judge("module-fit", name, length - needs.load_length, 0.0, "min", "mm",
                    f"the load needs a body {needs.load_length:.1f} mm long: lengthen it by "
                    f"{needs.load_length - length:.1f} mm, leave length out, or take a module or cup off")
    needed = max(needs.least_width, needs.load_width if wagon.modules or wagon.cups else 0.0)
    if width < needed - 1e-9:
        yield judge("module-fit", name, width - needed, 0.0, "min", "mm",
                    f"running gear and load need a body {needed:.1f} mm wide: widen it by {needed - width:.1f} mm "
                    "or leave width out")
    if coupling.lowest < RAIL_ROOM:
        need = coupler.height + RAIL_ROOM - coupling.lowest
        yield judge("coupler-height", name, coupling.lowest, RAIL_ROOM, "min", "mm",
                    f"the pivot screw would hang {coupling.lowest:.1f} mm over rail top: raise coupler.height to "
                    f"{need:.1f} mm or choose a smaller magnet")


def _frame(wagon, coupler, coupling, running, screw, printer, length, width, travel):
    pivot = length / 2 - coupling.inset
    seats = tuple(couplings.seat_plan(coupling, coupler, screw, x, printer) for x in (pivot, -pivot))
    return frame.resolve(running, screw, screw.core + printer.bore_offset, seats, length - 2 * FRAME_INSET,
                         width - 2 * FRAME_INSET, wagon.wheelbase, travel)


def _body(wagon, under, row, screw, printer, length, width):
    inside = row.height + bodies.LID_RIM if row.placed else bodies.LOW_SIDE
    return bodies.body_plan(length, width, under.top, inside, wagon.wall, wagon.sides, row.fences, layout.FENCE,
                            under.screws, screw, printer)


def _cradle(seats, lid, box, screw, printer):
    """On a lid the cradle reaches its edge; in an open body it lies inside the walls on the floor."""
    if not seats:
        return None
    hole = screw.clearance + printer.bore_offset
    if lid:
        return deck.CradlePlan(lid.length - 1.0, lid.width - 1.0, lid.top, deck.PLATE, lid.corner - 0.5, seats,
                               lid.screws, hole, 0.35)
    inside_x, inside_y, _ = box.inside
    return deck.CradlePlan(inside_x - 1.0, inside_y - 1.0, box.bottom + box.floor, deck.PLATE,
                           max(box.corner - box.wall - 0.5, 0.8), seats, (), hole, 0.35)


def _items(running, coupling, under, box, lid, cradle, wheelbase):
    """Yield every printed part with its places in the wagon."""
    half, bar_z = wheelbase / 2, running.frame_bottom + running.slot_neck_height + 0.5 * (
        running.bar.foot - running.slot_neck) + 0.15
    yield Item("axle-holder", "axle-holder", running.holder, "on-side",
               tuple(Place(x, 0.0, running.axle_z) for x in (half, -half)))
    yield Item("clamp-bar", "clamp-bar", running.bar, "upright", tuple(Place(x, 0.0, bar_z) for x in (half, -half)))
    yield Item("frame", "frame", under, "flipped", (Place(),))
    pivot = under.seats[0].x
    ends = [(coupling.front, Place(pivot, 0.0, coupling.height)),
            (coupling.rear, Place(-pivot, 0.0, coupling.height, 180.0))]
    for name, bars in _drawbars(ends):
        yield Item("coupler", name, bars[0][0], "upright", tuple(place for _, place in bars))
    top = coupling.height + coupling.front.thickness / 2 - coupling.front.cover_depth
    middle = coupling.front.reach - coupling.front.skin - coupling.front.cover_length / 2
    yield Item("coupler-cover", "coupler-cover", coupling.cover, "upright",
               (Place(pivot + middle, 0.0, top), Place(-pivot - middle, 0.0, top, 180.0)))
    yield Item("body", "body", box, "upright", (Place(),))
    if lid:
        yield Item("lid", "lid", lid, "flipped", (Place(),))
    if cradle:
        yield Item("cradle", "cradle", cradle, "upright", (Place(),))


def _drawbars(ends):
    """Group the two ends by their plan: one name when both are alike, one each when they are not."""
    if ends[0][0] == ends[1][0]:
        return [("coupler", ends)]
    return [(f"coupler-{bar.marks[0].lower()}", [(bar, place)]) for bar, place in ends]


def _outlines(under, box, lid, cradle, cups, coupling):
    """Yield what each part reaches sideways, for the throw."""
    yield _plate("frame", under.bottom, under.top, under.length, under.width, under.corner)
    yield _plate("body", box.bottom, box.top, box.length, box.width, box.corner)
    yield _plate("coupler", coupling.lowest, coupling.height + coupling.front.thickness / 2,
                         2 * (under.seats[0].x + coupling.front.reach), coupling.front.head_width, 1.0)
    if lid:
        yield _plate("lid", lid.bottom, lid.top, lid.length, lid.width, lid.corner)
    if cradle:
        yield _plate("cradle", cradle.bottom, cradle.bottom + cradle.plate, cradle.length, cradle.width,
                             cradle.corner)
        yield from _standing(cradle, cups)


def _plate(part, low, high, length, width, corner) -> Outline:
    return Outline(part, low, high, rounded_rectangle(length, width, corner))


def _standing(cradle, cups):
    deck_z = cradle.bottom + cradle.plate
    for seat, cup in cups:
        yield Outline("cradle", deck_z, deck_z + seat.hold, circle(seat.outer_diameter, seat.x, seat.y))
        yield Outline("cup", deck_z, deck_z + cup.height, circle(cup.widest, seat.x, seat.y))

