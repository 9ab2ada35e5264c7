"""One wagon resolved: every part with its places, the room it takes, and why it cannot be where it cannot."""

from msgspec import Struct
from msgspec.structs import asdict, replace

from partgen.describe.cargo_tables import Module
from partgen.describe.cup_table import Cup
from partgen.describe.description import Description
from partgen.describe.train_tables import Coupler
from partgen.describe.wagon_tables import Wagon, Wheelset
from partgen.finding import figure
from partgen.identity import PartId, WagonId
from partgen.plan import coupling as couplings
from partgen.plan import running_gear
from partgen.plan.body import body as bodies
from partgen.plan.body import layout as layouts
from partgen.plan.body import lid as lids
from partgen.plan.body import needs as asked
from partgen.plan.body import sensor_holder as sensor_holders
from partgen.plan.body import shell as shells
from partgen.plan.body.mounts import straps
from partgen.plan.cables import WagonCables
from partgen.plan.context import Shortfall, context_of
from partgen.plan.deck import cradle as cradles
from partgen.plan.deck.handles import Served, served, turned
from partgen.plan.deck.insert import InsertPlan, seating
from partgen.plan.deck.seats import Seat
from partgen.plan.fastening import floor
from partgen.plan.item import Item, items_of
from partgen.plan.outline import Outline, outlines_of
from partgen.plan.running_gear import frame as frames
from partgen.plan.running_gear.gear import RunningGear
from partgen.plan.running_gear.two_axle import TwoAxleGear
from partgen.plan.running_gear.two_axle import clamped as gear_clamped


class WagonParts(Struct, frozen=True):
    """What a wagon is made of, in its own axes: x forward, y left, z over rail top; all in mm."""

    name: str
    wagon: Wagon
    wheelset: Wheelset
    coupler: Coupler
    gear: RunningGear
    coupling: couplings.CouplingPlan
    frame: frames.FramePlan
    body: bodies.BodyPlan
    lid: lids.LidPlan | None
    cradle: cradles.CradlePlan | None
    layout: layouts.Layout
    cups: tuple[tuple[Seat, Cup], ...]
    inserts: tuple[tuple[InsertPlan, Cup], ...]
    hung: tuple[sensor_holders.Hung, ...]
    cables: WagonCables

    @property
    def deck(self) -> tuple[Served, ...]:
        """Every seat with the cups that may stand in it."""
        cups = {seat.cup: cup for seat, cup in self.cups} | {ring.cup: cup for ring, cup in self.inserts}
        return served([seat for seat, _ in self.cups], [ring for ring, _ in self.inserts], cups)

    @property
    def modules(self) -> tuple[tuple[str, Module], ...]:
        """Every module with its name: those in the body, then the boards that hang under it."""
        return (*((one.name, one.module) for one in self.layout.placed),
                *((one.name, one.module) for one in self.hung if not one.module.head))

    @property
    def who(self) -> WagonId:
        """Who is meant by the wagon as a whole."""
        return WagonId(self.name)

    def part_id(self, name: str) -> PartId:
        """Return who is meant by its part of that name."""
        return PartId(self.name, name)

    @property
    def base(self) -> float:
        """Distance [mm] of the two points that guide the body: axle to axle, or pivot to pivot."""
        return self.gear.base

    @property
    def length(self) -> float:
        """Body length [mm]."""
        return self.body.length

    @property
    def width(self) -> float:
        """Body width [mm]."""
        return self.body.width

    @property
    def overhang(self) -> float:
        """Body beyond the outer axle or pivot [mm]."""
        return (self.length - self.base) / 2

    @property
    def travel_lost(self) -> str:
        """Why its axle holders can be clamped at one wheelbase alone although travel is wished, in words; else ""."""
        gear, wished = self.gear, self.wagon.travel
        if not isinstance(gear, TwoAxleGear) or gear.travel or not wished:
            return ""
        pitch = gear.holder.tooth_pitch
        why = f"lines so wide put the teeth {figure(pitch)} mm apart" if wished < pitch else "nothing has room to slide"
        return f"can be clamped at a wheelbase of {gear.base:g} mm alone, travel = {wished:g} mm is lost: {why}"

    @property
    def over_couplers(self) -> float:
        """From one coupler's face to the other's, both drawbars straight out [mm]."""
        return 2 * (self.frame.seats[0].x + self.coupling.front.reach)

    @property
    def hanging(self) -> tuple[tuple[float, str], ...]:
        """Lower end over rail top [mm] and name of what hangs under it between the wheels and carries or couples."""
        return ((self.gear.axle_z - self.gear.clip.depth, "axle clip"),
                (self.frame.seats[0].spigot_bottom, "coupler pivot"), (self.coupling.lowest, "coupler screw"))

    @property
    def floor_z(self) -> float:
        """Upper face of the body's floor over rail top [mm]."""
        return self.body.bottom + self.body.floor

    @property
    def laid_in(self) -> bool:
        """Does the cradle lie on the body's floor? Then one set of screws goes through both into the frame."""
        return self.cradle is not None and self.lid is None

    @property
    def deck_z(self) -> float:
        """Upper face of the cradle's plate, where cups stand, over rail top [mm]; without one, of the body's floor."""
        return self.cradle.bottom + self.cradle.plate if self.cradle else self.floor_z


class WagonPlan(WagonParts, frozen=True, cache_hash=True):
    """A resolved wagon: what it is made of, every printed part with its places in it, what each reaches sideways, and
    what of it cannot be as wished: such a wagon is never drawn."""

    items: tuple[Item, ...]
    outlines: tuple[Outline, ...]
    wanting: tuple[Shortfall, ...]


def resolve(wagon: Wagon, description: Description) -> WagonPlan:
    """Resolve one wagon in stages, each a finished value; what cannot be falls short in the plan, never raises."""
    context = context_of(wagon, description)
    coupling = couplings.resolve(context)
    wished = running_gear.resolve(context, coupling)
    seated = seating(context, asked.deck_width(context))
    needs = asked.needs_of(context, wished, coupling, seated)
    layout = layouts.arrange(context, asked.insides_of(context, wished, coupling, needs))
    length, width = outside = asked.outside_of(context, needs, layout)
    gear = running_gear.resolve(context, coupling, less_travel=(needs.gear_length - length) / 2, length=length)
    hung = tuple(sensor_holders.hang(context, lead.name, lead.turn, (lead.x, lead.y), gear.frame_bottom)
                 for lead in layout.leads)
    slots = [slot for strap in straps(layout.placed, floor(context.printer)) for slot in strap.slots]
    frame = frames.resolve(context, gear, coupling, outside, hung, slots)
    shell = shells.resolve(context, frame, layout, outside)
    lid = lids.resolve(context, shell, layout, bool(seated.seats)) if layout.ends else None
    seats = turned(served(seated.seats, seated.inserts, context.cups), length, width)
    cradle = cradles.resolve(context, seats, shell, lid)
    parts = WagonParts(
        name=wagon.name, wagon=wagon, wheelset=context.wheelset, coupler=context.coupler, gear=gear, coupling=coupling,
        frame=frame, body=bodies.resolve(context, shell, lid, layout, hung), lid=lid,
        cradle=cradle, layout=layout,
        cups=tuple((seat, context.cups[seat.cup]) for seat in seats),
        inserts=tuple((insert, context.cups[insert.cup]) for insert in seated.inserts), hung=hung,
        cables=context.cables)
    return WagonPlan(
        **asdict(parts), items=tuple(items_of(parts)), outlines=tuple(outlines_of(parts)),
        wanting=(*asked.wanting(context, wished, coupling, needs, layout, outside), *seated.wanting,
                 *cradles.wanting(cradle, context.printer)))


def clamped(plan: WagonPlan, wheelbase: float) -> WagonPlan:
    """Return a wagon with its axles clamped `wheelbase` [mm] apart, all else of it as it is; one on bogies, which has
    no axle holders, as it is."""
    if not isinstance(plan.gear, TwoAxleGear):
        return plan
    moved = replace(plan, gear=gear_clamped(plan.gear, wheelbase),
                    wagon=plan.wagon.model_copy(update={"wheelbase": wheelbase}))
    return replace(moved, items=tuple(items_of(moved)))
