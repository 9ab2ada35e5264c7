"""One wagon resolved: every part with its places, the room it takes, and why it cannot be where it cannot."""

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.cargo_tables import Cup
from partgen.describe.description import Description
from partgen.describe.train_tables import Coupler
from partgen.describe.wagon_tables import Wagon, Wheelset
from partgen.finding import Finding
from partgen.identity import PartId, WagonId
from partgen.plan import coupling as couplings
from partgen.plan.body import fittings
from partgen.plan.body import layout as layouts
from partgen.plan.body import lid as lids
from partgen.plan.body import nameplate as plates
from partgen.plan.body import shell as bodies
from partgen.plan.body.needs import FRAME_INSET, deck_width, inside_of, needs_of, refusals
from partgen.plan.body.sensor_holder import Hung, hang
from partgen.plan.deck import cradle as deck
from partgen.plan.deck.insert import InsertPlan, grooved, inserts_of
from partgen.plan.fits import hole
from partgen.plan.hardware import SCREWS
from partgen.plan.item import Item
from partgen.plan.items import items_of, outlines_of
from partgen.plan.outline import Outline
from partgen.plan.running_gear import frame
from partgen.plan.running_gear import gear as undercarriage
from partgen.plan.running_gear.bogie import BogiePlan
from partgen.plan.trackside import marker_top


class WagonPlan(Struct, frozen=True):
    """A resolved wagon in its own axes: x forward, y left, z over rail top; all in mm."""

    name: str
    wagon: Wagon
    wheelset: Wheelset
    coupler: Coupler
    gear: undercarriage.Undercarriage
    coupling: couplings.CouplingPlan
    frame: frame.FramePlan
    body: bodies.BodyPlan
    lid: lids.LidPlan | None
    cradle: deck.CradlePlan | None
    layout: layouts.Layout
    cups: tuple[tuple[deck.Seat, Cup], ...]
    inserts: tuple[tuple[InsertPlan, Cup], ...]
    hung: tuple[Hung, ...]
    items: tuple[Item, ...]
    outlines: tuple[Outline, ...]
    refusals: tuple[Finding, ...]

    @property
    def who(self) -> WagonId:
        """Who is meant by the wagon as a whole."""
        return WagonId(self.name)

    def part_id(self, name: str) -> PartId:
        """Return who is meant by its part of that name."""
        return PartId(self.name, name)

    @property
    def wheelbase(self) -> float:
        """Axle to axle of a rigid frame [mm]: the wagon's, or each bogie's."""
        return self.wagon.wheelbase

    @property
    def base(self) -> float:
        """Distance [mm] of the two points that guide the body: axle to axle, or pivot to pivot."""
        return self.gear.base

    @property
    def base_name(self) -> str:
        """The field that sets that distance."""
        return self.gear.base_name

    @property
    def bogie_wheelbase(self) -> float:
        """Axle to axle of each bogie [mm]; 0 for a two-axle wagon."""
        return self.gear.bogie_wheelbase

    @property
    def bogie(self) -> BogiePlan | None:
        """The bogie, of which the wagon has two, if it has any."""
        return self.gear.bogie

    @property
    def travel(self) -> float:
        """How far each axle holder slides either way [mm]; bogies do not."""
        return self.gear.travel

    @property
    def axles(self) -> tuple[float, ...]:
        """Where the wheelsets stand along x [mm] on straight track."""
        return self.gear.axles

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


def resolve(wagon: Wagon, description: Description) -> WagonPlan:
    """Resolve one wagon; what cannot be is a refusal in the plan, never an exception."""
    wheelset, screw = description.wheelset[wagon.wheelset], SCREWS[wagon.screw]
    printer, coupler = description.printer, description.coupler
    coupling = couplings.resolve(coupler, screw, printer)
    running = undercarriage.resolve(wagon, description, couplings.lowest_frame(coupler, printer))
    seats, seats_x, seats_y = deck.arrange(description.cup, wagon.cups, wagon.columns, deck_width(wagon, printer))
    inserts, unfit = inserts_of(wagon, seats, description.cup, printer)
    seats = grooved(seats, inserts)
    narrowest = layouts.narrowest(description.module, wagon.modules, lids.window_room(printer))
    needs = needs_of(wagon, wheelset, running, coupling, screw, printer, narrowest, seats_x, seats_y)
    inside = inside_of(wagon, wheelset, running, coupling, screw, printer, needs)
    layout = layouts.arrange(description.module, wagon.modules, inside, wagon.wires, wagon.levels)
    length, width = _outside(wagon, needs, layout)
    refused = tuple(refusals(wagon, running, screw, printer, coupler, coupling, needs, layout, length, width)) + unfit
    running = running.fitted((needs.gear_length - length) / 2)
    under = _frame(coupler, coupling, running, screw, printer, length, width)
    hung = tuple(_hang(wagon, layout, under, description))
    under = replace(under, windows=tuple(one.window for one in hung))
    box = replace(_body(wagon, under, layout, screw, printer, length, width), windows=under.windows)
    lid = lids.lid_plan(box, bool(seats), layout, wagon, screw, printer) if layout.placed else None
    if lid:
        fitted = fittings.resolve(layout, box, lid, wagon.lights == "lamps", printer)
        box = replace(box, latching=lid.latching, fittings=fitted)
    box = replace(box, plate=plates.resolve(wagon.plate, box, printer))
    cradle = _cradle(seats, lid, box, screw, printer)
    items = tuple(items_of(running, coupling, under, box, lid, hung, cradle, inserts))
    cups = tuple((seat, description.cup[seat.cup]) for seat in seats)
    held = tuple((insert, description.cup[insert.cup]) for insert in inserts)
    return WagonPlan(wagon.name, wagon, wheelset, coupler, running, coupling, under, box, lid, cradle, layout, cups, held,
                     hung, items, tuple(outlines_of(under, box, lid, cradle, cups, coupling, held)), refused)


def _outside(wagon, needs, layout):
    """Return length and width [mm] of the body: as wished, else as small as gear, cups and modules allow."""
    length, width = wagon.length, wagon.width
    if length is None:
        length = max(needs.gear_length, needs.load_length, layout.length + 2 * wagon.wall if layout.placed else 0.0)
    return length, max(needs.least_width, needs.load_width) if width is None else width


def _frame(coupler, coupling, running, screw, printer, length, width):
    pivot = length / 2 - coupling.inset
    seats = tuple(couplings.seat_plan(coupling, coupler, screw, x, printer) for x in (pivot, -pivot))
    return frame.resolve(running, screw, hole(screw.core, "core", printer), seats, length - 2 * FRAME_INSET,
                         width - 2 * FRAME_INSET)


def _body(wagon, under, layout, screw, printer, length, width):
    inside = layout.height + lids.LID_RIM if layout.placed else bodies.LOW_SIDE
    if wagon.height is not None:
        inside = wagon.height - bodies.FLOOR
    return bodies.body_plan(length, width, under.top, inside, wagon.wall, wagon.sides, layout.fences, layouts.FENCE,
                            under.screws, screw, printer)


def _hang(wagon, layout, under, description):
    """Yield the chute of everything that looks down through the floor."""
    for cutout in layout.cutouts:
        if cutout.wall == "bottom":
            yield hang(cutout, under.top + bodies.FLOOR, under.top, marker_top(description), wagon.sensor_gap,
                       description.printer)


def _cradle(seats, lid, box, screw, printer):
    """On a lid the cradle reaches its edge; in an open body it lies inside the walls on the floor."""
    if not seats:
        return None
    passing = hole(screw.clearance, "screw", printer)
    if lid:
        return deck.CradlePlan(lid.length - 1.0, lid.width - 1.0, lid.top, deck.PLATE, lid.corner - 0.5, seats,
                               lid.screws, passing, deck.WINDOW)
    inside_x, inside_y, _ = box.inside
    return deck.CradlePlan(inside_x - 1.0, inside_y - 1.0, box.bottom + box.floor, deck.PLATE,
                           max(box.corner - box.wall - 0.5, 0.8), seats, (), passing, deck.WINDOW)
