"""Clip-in inserts: split rings that sit in a cup's seat and hold a slimmer cup, so that one deck takes
both."""

from math import pi

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.cargo_tables import Cup
from partgen.describe.printer_tables import Printer
from partgen.finding import Finding, judge, up
from partgen.identity import WagonId
from partgen.plan.deck.cradle import LEVEL, WINDOW, Seat, diameter_at, seat_profile, turned_moments
from partgen.plan.fits import FITS

RISE = 1.5              # of the insert over the seat's edge
BEAD = 0.5              # of the ring that clicks into the seat's groove: 45 degrees above and below
BEAD_AT = 0.6           # of the seat's hold height
LEAST_WALL = 1.2        # three lines: the ring is pinched together to take it out
SLIT_SPARE = 1.0        # of the slit beyond what the bead's way closes
EAR, EAR_LEAST = 2.4, 1.2   # thickness of the two ears that are pinched
EAR_REACH = 6.5         # beyond the ring
EAR_ROOM = 0.4          # to the window's level bottom
THICK = 5.0             # a ring thicker than this is two shells with a channel between
SHELL, CHANNEL_FLOOR = 2.0, 2.0


class InsertPlan(Struct, frozen=True):
    """A ring as it sits in its seat: axis upright, z = 0 on the cradle's plate, slit and ears to the left;
    mm.

    `inner` and `outer` are (height, diameter) pairs from the bottom to the top.
    """

    seat: str               # whose seat it sits in
    cup: str                # what it holds
    inner: tuple[tuple[float, float], ...]
    outer: tuple[tuple[float, float], ...]
    bead_height: float
    slit: float
    ear: float              # thickness of each ear; 0 where the window is too narrow for them
    ear_foot: float         # height at which they leave the ring, over the window's bottom

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
        return thinnest(self.inner, self.outer)

    @property
    def hollow(self) -> bool:
        """Is it two shells with a channel between, open upwards?"""
        return self.wall > THICK

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        widest = max(diameter for _, diameter in self.outer)
        left = max(self.ear_reach, widest / 2) if self.ear else widest / 2
        return (widest, widest / 2 + left, self.height)

    @property
    def channel(self) -> tuple[tuple[tuple[float, float], ...], tuple[tuple[float, float], ...]]:
        """Outer and inner (height, diameter) pairs [mm] of the channel between two shells."""
        heights = sorted({CHANNEL_FLOOR, self.height, *(h for h, _ in (*self.inner, *self.outer)
                                                        if CHANNEL_FLOOR < h < self.height)})
        return (tuple((h, diameter_at(self.outer, h) - 2 * SHELL) for h in heights),
                tuple((h, diameter_at(self.inner, h) + 2 * SHELL) for h in heights))

    @property
    def volume(self) -> float:
        """Volume [mm3]: the ring less its slit, with ears, about."""
        ring = turned_moments(self.outer)[0] - turned_moments(self.inner)[0]
        if self.hollow:
            ring -= turned_moments(self.channel[0])[0] - turned_moments(self.channel[1])[0]
        around = pi * sum(diameter for _, diameter in (*self.outer, *self.inner)) / (len(self.outer) + len(self.inner))
        ears = 2 * self.ear * EAR_REACH * (self.height - self.ear_foot - EAR_REACH / 2)
        return ring * (1 - self.slit / around) + ears

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity [mm], about."""
        return self.height / 2

    def as_seat(self, x: float = 0.0, y: float = 0.0) -> Seat:
        """Return the seat that it makes for its cup at (x, y) [mm]."""
        return Seat(self.cup, x, y, self.height, self.inner, self.wall)


def thinnest(inner, outer) -> float:
    """Return the thinnest wall [mm] between two profiles of (height, diameter) pairs of one height."""
    return min((diameter_at(outer, h) - diameter_at(inner, h)) / 2 for h, _ in (*inner, *outer))


def insert_plan(seat: Seat, name: str, cup: Cup, window: float) -> InsertPlan:
    """Resolve the insert that holds `cup` in another cup's `seat`, of whose wall the share `window` is
    open."""
    height = min(seat.hold + RISE, 0.8 * cup.height)
    clear = FITS["sliding"].clearance
    heights = [*(h for h, _ in seat.profile if h < min(height, seat.hold)), min(height, seat.hold)]
    outer = [(h, diameter_at(seat.profile, h) - clear) for h in heights]
    if height > seat.hold:
        outer.append((height, outer[-1][1]))
    slit = 2 * pi * BEAD + SLIT_SPARE
    level = LEVEL * window * pi / 4 * diameter_at(seat.outer_profile, (seat.sill + seat.hold) / 2)
    ear = min(EAR, level - EAR_ROOM - slit / 2)
    foot = seat.sill + EAR_ROOM
    fits = ear >= EAR_LEAST and foot + EAR_REACH + 2 * EAR < height
    return InsertPlan(seat.cup, name, seat_profile(cup, height), tuple(outer), BEAD_AT * seat.hold, slit,
                      ear if fits else 0.0, foot)


def grooved(seats, inserts) -> tuple[Seat, ...]:
    """Return the seats, with a groove for the bead where an insert goes in."""
    taken = {insert.seat: insert for insert in inserts}
    return tuple(replace(seat, groove=(taken[seat.cup].bead_height, BEAD)) if seat.cup in taken else seat
                 for seat in seats)


def inserts_of(wagon, seats, cups, printer: Printer) -> tuple[tuple[InsertPlan, ...], tuple[Finding, ...]]:
    """Return the inserts by which a wagon's seats take its further cups, one for each kind of seat that is
    wide enough, and a failing finding for every cup that fits in none."""
    kinds = {seat.cup: seat for seat in seats}
    least = max(LEAST_WALL, printer.thinnest_wall)
    found, refused = [], []
    for name in dict.fromkeys(wagon.inserts):
        tried = [insert_plan(seat, name, cups[name], WINDOW) for seat in kinds.values() if seat.cup != name]
        fitting = [plan for plan in tried if plan.wall >= least and plan.height > plan.bead_height + 2 * BEAD]
        found += fitting
        if not fitting and name not in kinds:
            wall = max((plan.wall for plan in tried), default=0.0)
            refused.append(judge("module-fit", WagonId(wagon.name), wall, least, "min", "mm",
                                 f"an insert for {name} would have a wall of {wall:.1f} mm at its thinnest: name a "
                                 f"cup {up(2 * (least - wall))} mm slimmer where the seat holds it, or take it out"))
    return tuple(found), tuple(refused)
