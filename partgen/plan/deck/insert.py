"""Clip-in inserts: split rings that sit in a cup's seat and hold a slimmer cup, so that one deck takes
both."""

from collections.abc import Iterator
from math import pi, radians

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.cup_table import Cup
from partgen.describe.printer_tables import Printer
from partgen.describe.turned import Profile, diameter_at, turned_moments
from partgen.formulas.snap import ring_force, ring_strain, wedge
from partgen.plan.context import Context, Shortfall
from partgen.plan.deck.cradle import LEVEL, WINDOW
from partgen.plan.deck.seats import MOST_SHARE, NO_GROOVE, Seat, places_of, seat_of, seat_profile, seat_wall
from partgen.plan.fits import FITS, nearer, printed
from partgen.plan.hardware import FRICTION, PLASTICS, THUMB
from partgen.plan.item import Core, PartPlan

RISE = 1.5              # of the insert over the seat's edge
BEAD = 0.5              # of the ring that clicks into the seat's groove, 45 degrees above and below;
FIRM, BROADEST = 7.0, 0.8   # more, up to this, where it would hold by less N;
LIGHT = 30.0            # less where it would take more N to pinch
FLANK = radians(45)
BEAD_AT = 0.6           # of the seat's height
LEAST_WALL = 1.2        # three lines: the ring is pinched together to take it out
SLIT_SPARE = 1.0        # of the slit beyond what the bead's way closes
EAR, EAR_LEAST = 2.4, 1.2   # thickness of the two ears that are pinched; no less than two lines
EAR_REACH = 6.5         # beyond the ring
EAR_ROOM = 0.4          # to the window's level bottom
SHELL, CHANNEL_FLOOR = 2.0, 2.0     # of a ring so thick that it is two shells with a channel between
CLEAR = FITS["sliding"].clearance


class InsertPlan(PartPlan, frozen=True):
    """A ring as it sits in its seat: axis upright, z = 0 on the cradle's plate, slit and ears to the left;
    mm.

    `inner` and `outer` are (height, diameter) pairs from the bottom to the top.
    """

    seat: str               # whose seat it sits in
    cup: str                # what it holds
    inner: Profile
    outer: Profile
    bead_height: float
    bead: float
    ear: float              # thickness of each ear; 0 where the window is too narrow for them
    ear_foot: float         # height at which they leave the ring, over the window's bottom
    material: str
    thinnest: float         # wall, measured level, that prints
    spread: float           # by which its walls come out thicker

    @property
    def shell(self) -> float:
        """Thickness [mm] of either shell, measured level, of a ring that is two."""
        return max(SHELL, self.thinnest)

    @property
    def height(self) -> float:
        """Height over all [mm]: what it holds the cup by."""
        return self.outer[-1][0]

    @property
    def ear_reach(self) -> float:
        """How far from the axis the ears reach [mm]."""
        return diameter_at(self.outer, self.ear_foot) / 2 + EAR_REACH

    @property
    def wall(self) -> float:
        """Thinnest wall [mm]."""
        return min((diameter_at(self.outer, h) - diameter_at(self.inner, h)) / 2 for h, _ in (*self.inner, *self.outer))

    @property
    def least_height(self) -> float:
        """Height [mm] from which on its bead is whole."""
        return self.bead_height + 2 * self.bead

    @property
    def slit(self) -> float:
        """Width [mm] of its slit: what the bead's way closes, and more."""
        return 2 * pi * self.bead + SLIT_SPARE

    @property
    def hollow(self) -> bool:
        """Is it two shells with a channel between, open upwards?"""
        return self.wall > 2 * self.shell + self.thinnest / 2

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        widest = max(diameter for _, diameter in self.outer)
        left = max(self.ear_reach, widest / 2) if self.ear else widest / 2
        return (widest, widest / 2 + left, self.height)

    @property
    def channel(self) -> tuple[Profile, Profile]:
        """Outer and inner (height, diameter) pairs [mm] of the channel between two shells."""
        heights = sorted({CHANNEL_FLOOR, self.height, *(h for h, _ in (*self.inner, *self.outer)
                                                        if CHANNEL_FLOOR < h < self.height)})
        return (tuple((h, diameter_at(self.outer, h) - 2 * self.shell) for h in heights),
                tuple((h, diameter_at(self.inner, h) + 2 * self.shell) for h in heights))

    @property
    def volume(self) -> float:
        """Volume [mm3]: the ring less its slit, with ears, about."""
        ring = turned_moments(self.outer)[0] - turned_moments(self.inner)[0]
        if self.hollow:
            ring -= turned_moments(self.channel[0])[0] - turned_moments(self.channel[1])[0]
        around = pi * sum(diameter for _, diameter in (*self.outer, *self.inner)) / (len(self.outer) + len(self.inner))
        ears = 2 * self.ear * EAR_REACH * (self.height - self.ear_foot - EAR_REACH / 2)
        return ring * (1 - self.slit / around) + ears

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield what a thick ring without a channel leaves between its walls."""
        if not self.hollow:
            every = (*self.outer, *self.inner)
            around = pi * sum(diameter for _, diameter in every) / len(every)
            breadth = max(self.volume / (around * self.height) - 2 * wall, 0.0)
            yield (around - self.slit) * breadth, self.height

    @property
    def radius(self) -> float:
        """Of its middle line [mm], half way up."""
        return (diameter_at(self.inner, self.height / 2) + diameter_at(self.outer, self.height / 2)) / 4

    @property
    def closing(self) -> float:
        """By how much its slit closes [mm] where its bead passes the seat's wall."""
        return 2 * pi * (self.bead - CLEAR / 2)

    @property
    def pinch(self) -> float:
        """Force across the slit [N] with which it is pinched so that its bead passes, in and out."""
        return ring_force(PLASTICS[self.material].modulus, self._section, self.radius, self.closing)

    @property
    def strain(self) -> float:
        """Strain [1] of the ring then, opposite the slit."""
        return ring_strain(self.printed, self.radius, self.closing)

    @property
    def retention(self) -> float:
        """Pull [N] that brings it out unless it is pinched, at the least friction."""
        return self.pinch * 2 * pi * wedge(FRICTION[0], FLANK)

    @property
    def release(self) -> float:
        """Force [N] of the hand that brings it in and out: a pinch of its ears, or without them a push or pull at the
        most friction."""
        return self.pinch if self.ear else self.pinch * 2 * pi * wedge(FRICTION[1], FLANK)

    @property
    def thick(self) -> float:
        """Of the ring [mm], half way up."""
        return (diameter_at(self.outer, self.height / 2) - diameter_at(self.inner, self.height / 2)) / 2

    @property
    def printed(self) -> float:
        """That as it comes out [mm]: what bends."""
        return printed(self.thick, self.spread)

    @property
    def _section(self) -> float:
        """Second moment [mm4] of the ring's section: of both shells and the floor between, where it is hollow."""
        if self.hollow:
            return (2 * self.height * printed(self.shell, self.spread)**3 + CHANNEL_FLOOR * self.printed**3) / 12
        return self.height * self.printed**3 / 12

    def as_seat(self) -> Seat:
        """Return the seat that it makes for its cup, its middle at the origin."""
        return Seat(self.cup, 0.0, 0.0, self.height, self.inner, self.wall, NO_GROOVE)


def insert_plan(seat: Seat, name: str, cup: Cup, printer: Printer) -> InsertPlan:
    """Resolve the insert that holds `cup` in another cup's `seat`."""
    height = min(seat.height + RISE, MOST_SHARE * cup.height)
    heights = [*(h for h, _ in seat.profile if h < min(height, seat.height)), min(height, seat.height)]
    outer = [(h, diameter_at(seat.profile, h) - CLEAR - 2 * nearer(printer)) for h in heights]
    if height > seat.height:
        outer.append((height, outer[-1][1]))
    inner, outside = seat_profile(cup, height), tuple(outer)
    thinnest = max(LEAST_WALL, *(seat_wall(profile, printer) for profile in (inner, outside)))
    ring = InsertPlan(seat.cup, name, inner, outside, BEAD_AT * seat.height, BEAD, 0.0, seat.sill + EAR_ROOM,
                      printer.material, thinnest, printer.peg_offset)
    way = min(max(1.0, FIRM / ring.retention), LIGHT / ring.pinch) * (BEAD - CLEAR / 2)
    ring = replace(ring, bead=min(way + CLEAR / 2, BROADEST))
    level = LEVEL * WINDOW * pi / 4 * diameter_at(seat.outer_profile, (seat.sill + seat.height) / 2)
    ear = min(max(EAR, printer.thinnest_wall), level - EAR_ROOM - ring.slit / 2)
    fits = ear >= max(EAR_LEAST, printer.thinnest_wall) and ring.ear_foot + EAR_REACH + 2 * EAR < height
    if fits:
        return replace(ring, ear=ear)
    light = min(1.0, THUMB / ring.release) * (ring.bead - CLEAR / 2)     # what no ears pinch is pulled out
    return replace(ring, bead=light + CLEAR / 2)


class Seating(Struct, frozen=True):
    """All that stands on a deck: its seats with their grooves, the inserts for them, the length and width [mm] that
    they need, and every cup that no insert can hold."""

    seats: tuple[Seat, ...]
    inserts: tuple[InsertPlan, ...]
    length: float
    width: float
    wanting: tuple[Shortfall, ...]


def seating(context: Context, width: float | None) -> Seating:
    """Resolve the seats of the wagon's cups on a deck `width` [mm] wide, None where it follows the load, and by one
    insert for each kind of seat that is wide enough those of its further cups."""
    names, cups = context.wagon.cups, context.cups
    plain = {name: seat_of(name, cups[name], context.printer) for name in names}
    tried = {name: [insert_plan(seat, name, cups[name], context.printer) for seat in plain.values()
                    if seat.cup != name] for name in dict.fromkeys(context.wagon.inserts)}
    inserts = tuple(plan for plans in tried.values() for plan in plans
                    if plan.wall >= plan.thinnest and plan.height >= plan.least_height)
    beads = {name: [insert for insert in inserts if insert.seat == name] for name in {one.seat for one in inserts}}
    grooves = {name: (held[0].bead_height, max(insert.bead for insert in held)) for name, held in beads.items()}
    places, length, across = places_of(context, width, grooves)
    seats = tuple(seat_of(name, cups[name], context.printer, place, grooves.get(name, NO_GROOVE))
                  for name, place in zip(names, places, strict=True))
    held = {*plain, *(insert.cup for insert in inserts)}
    return Seating(seats, inserts, length, across, tuple(
        _wanting(name, plans) for name, plans in tried.items() if name not in held))


def _wanting(name: str, plans: list[InsertPlan]) -> Shortfall:
    """Return in what the best insert for a cup falls short: the wall, or where that is thick enough the height."""
    walled = [plan for plan in plans if plan.wall >= plan.thinnest]
    if not walled:
        wall, least = max(((plan.wall, plan.thinnest) for plan in plans), default=(0.0, LEAST_WALL))
        return Shortfall("wall of insert", wall, least, name)
    best = max(walled, key=lambda plan: plan.height - plan.least_height)
    return Shortfall("height of insert", best.height, best.least_height, name)
