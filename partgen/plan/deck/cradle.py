"""The cradle: a plate with a seat for every cup."""

from functools import lru_cache
from math import inf, pi

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.cargo_tables import Cup
from partgen.packing.seats import Disc, Room, rows_of

PLATE = 2.4
SEAT_WALL = 2.0
SEAT_GAP = 0.5          # cup to seat, all round: it must come out with one hand
HOLD_SHARE = 0.38       # of the cup's height that the seat reaches up
HOLD_LEAST, HOLD_MOST = 12.0, 40.0
SEAT_LEAN = 0.8         # outward over upward: 39 degrees from upright
BETWEEN = 5.0           # between two cups, so that a cup can be taken without touching the next
FINGERS = 14.0          # between two cups side by side: a finger and a thumb reach down (common practice, no source)
SEAT_APART = 1.0        # between two seats
LEAST_FACET = 2.5
EDGE = 1.5              # plate beyond the outermost seats, for their feet
FOOT = 0.8              # 45 degree fillet from plate to seat
LEVEL = 0.4             # a window's level bottom as a share of its width
SILL_SHARE = 0.35       # of the hold height that stays closed under a window
BORDER_WIDTH, BORDER_HEIGHT = 1.6, 1.2      # raised edge that keeps a spill on the plate
WINDOW = 0.35           # share of a seat's wall that is open to the left and right
COUNTERSINK = 0.7       # of the plate: the heads of all three screws sink to its face or below


class Seat(Struct, frozen=True):
    """One cup's place: middle (x, y), hold height over the plate, inner profile (height, diameter); mm."""

    cup: str
    x: float
    y: float
    hold: float
    profile: tuple[tuple[float, float], ...]
    wall: float
    groove: tuple[float, float] = (0.0, 0.0)    # height and depth of the groove that an insert clicks into

    @property
    def outer_profile(self) -> tuple[tuple[float, float], ...]:
        """(height, outer diameter) pairs [mm]: one wall round the inside, nowhere leaning out further
        than SEAT_LEAN, so that it prints without supports."""
        return tuple((h, max(d + 2 * self.wall - 2 * max(up - h, 0) * SEAT_LEAN for up, d in self.profile))
                     for h, _ in self.profile)

    @property
    def outer_diameter(self) -> float:
        """Largest diameter over the seat's wall [mm]."""
        return max(diameter for _, diameter in self.outer_profile)

    @property
    def sill(self) -> float:
        """Height [mm] of the windows' lowest point over the plate."""
        return SILL_SHARE * self.hold

    @property
    def foot_volume(self) -> float:
        """Volume [mm3] of the fillet round the ring."""
        return pi * (self.outer_profile[0][1] + FOOT) * FOOT**2 / 2

    @property
    def volume(self) -> float:
        """Volume of the ring [mm3]."""
        return turned_moments(self.outer_profile)[0] - turned_moments(self.profile)[0]


class CradlePlan(Struct, frozen=True):
    """A cradle in wagon axes; `bottom` is the plate's underside over rail top; all in mm."""

    length: float
    width: float
    bottom: float
    plate: float
    corner: float
    seats: tuple[Seat, ...]
    screws: tuple[tuple[float, float], ...]
    screw_hole: float
    window: float           # share of each seat's wall that is open to the left and right
    border: float = BORDER_HEIGHT
    border_width: float = BORDER_WIDTH

    @property
    def cone(self) -> float:
        """Diameter [mm] of the 90 degree countersink at the plate's face."""
        return self.screw_hole + 2 * COUNTERSINK * self.plate

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.plate + max(seat.hold for seat in self.seats))

    @property
    def volume(self) -> float:
        """Volume [mm3]: plate, border, and seats less their windows, feet included."""
        plate = (self.length * self.width - 0.86 * self.corner**2) * self.plate
        border = 2 * (self.length + self.width - 4 * self.border_width) * self.border_width * self.border
        holes = len(self.screws) * pi / 4 * (self.screw_hole**2 + 0.2 * self.cone**2) * self.plate
        open_share = self.window * (1 - SILL_SHARE)
        seats = sum((1 - open_share) * seat.volume + seat.foot_volume for seat in self.seats)
        return plate + border - holes + seats

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity over rail top [mm]."""
        plate = self.length * self.width * self.plate
        rings = [(seat.volume, self.plate + seat.hold / 2) for seat in self.seats]
        total = plate + sum(volume for volume, _ in rings)
        return self.bottom + (plate * self.plate / 2 + sum(v * z for v, z in rings)) / total


def diameter_at(profile, height: float) -> float:
    """Return the outer diameter [mm] of a cup's profile at `height` [mm], straight between its points."""
    for (h0, d0), (h1, d1) in zip(profile, profile[1:]):
        if h0 <= height <= h1:
            return d0 + (d1 - d0) * (height - h0) / (h1 - h0)
    return profile[-1][1] if height > profile[-1][0] else profile[0][1]


def seat_profile(cup: Cup, hold: float) -> tuple[tuple[float, float], ...]:
    """Return (height, inner diameter) pairs [mm] of a seat: the cup's wall plus clearance.

    Where the cup narrows upwards the seat stays as wide as the widest place below, or the cup could not
    be set in from above.
    """
    heights = [0.0, *(h for h, _ in cup.profile if 0 < h < hold), hold]
    pairs, widest = [], 0.0
    for height in heights:
        widest = max(widest, diameter_at(cup.profile, height))
        pairs.append((height, widest + 2 * SEAT_GAP))
    return tuple(pairs)


def seat(name: str, cup: Cup, x: float = 0.0, y: float = 0.0) -> Seat:
    """Resolve the seat of one cup."""
    hold = min(max(HOLD_SHARE * cup.height, HOLD_LEAST), HOLD_MOST, 0.8 * cup.height)
    # A bend of the cup just below the seat's edge would leave a facet too narrow to print: end at the bend.
    hold = max((h for h, _ in cup.profile if hold - LEAST_FACET < h < hold), default=hold)
    return Seat(name, x, y, hold, seat_profile(cup, hold), SEAT_WALL)


def arrange(cups: dict[str, Cup], names, columns: int = 0, width: float | None = None):
    """Return the seats of the named cups, front one first and left before right, and the length and width
    [mm] that they need on the deck.

    Side by side stand at most `columns`, on a deck `width` [mm] wide; columns 0: as many as a given width
    takes, one where none is given.
    """
    seats = [seat(name, cups[name]) for name in names]
    discs = tuple(Disc(one.outer_diameter + SEAT_APART, cups[one.cup].widest) for one in seats)
    most = columns or (1 if width is None else len(names))
    places, length, across = rows_of(discs, Room(BETWEEN, FINGERS, inf if width is None else width - 2 * EDGE, most))
    placed = tuple(replace(one, x=x, y=y) for one, (x, y) in zip(seats, places))
    return placed, length + 2 * EDGE if names else 0.0, across + 2 * EDGE if names else 0.0


def liquid_mass(cup: Cup, fill: float | None = None) -> float:
    """Return the mass [g] of the liquid in `cup` filled `fill` [mm] deep (its own fill when None)."""
    depth = cup.fill if fill is None else fill
    return cup.density / 1000 * turned_moments(_inside(cup, depth))[0]


@lru_cache(maxsize=256)
def liquid_centre(cup: Cup) -> float:
    """Return the height [mm] of the liquid's centre of gravity over the cup's foot."""
    volume, moment = turned_moments(_inside(cup, cup.fill))
    return moment / volume if volume else cup.wall


@lru_cache(maxsize=256)
def dry_centre(cup: Cup) -> float:
    """Return the height [mm] of the empty cup's centre of gravity over its foot, its wall even all over."""
    outer, inner = turned_moments(cup.profile), turned_moments(_inside(cup, cup.height - cup.wall))
    return (outer[1] - inner[1]) / (outer[0] - inner[0])


def _inside(cup: Cup, depth: float) -> tuple[tuple[float, float], ...]:
    """Return (height over the foot, diameter) pairs [mm] of the inside up to a depth of liquid."""
    low, high = cup.wall, cup.wall + depth
    heights = [low, *(h for h, _ in cup.profile if low < h < high), high]
    return tuple((h, max(diameter_at(cup.profile, h) - 2 * cup.wall, 0.0)) for h in heights)


def turned_moments(profile) -> tuple[float, float]:
    """Return volume [mm3] and its first moment [mm4] about height 0 of the solid that (height, diameter)
    pairs describe, exact for straight walls."""
    volume = moment = 0.0
    for (low, a), (high, b) in zip(profile, profile[1:]):
        slice_ = pi / 12 * (high - low) * (a * a + a * b + b * b)
        volume += slice_
        moment += slice_ * low + pi / 48 * (high - low)**2 * (a * a + 2 * a * b + 3 * b * b)
    return volume, moment
