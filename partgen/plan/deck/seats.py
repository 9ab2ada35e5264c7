"""The seats of a deck: rings that follow the cups' walls, high enough to hold them."""

from collections.abc import Mapping
from itertools import accumulate
from math import hypot, inf

from msgspec import Struct

from partgen.describe.cup_table import Cup
from partgen.describe.printer_tables import Printer
from partgen.describe.turned import Profile, cut_off, diameter_at, steepest, turned_moments
from partgen.packing.rows import Disc, Places, Room, rows_of
from partgen.plan.context import Context
from partgen.plan.fastening import BORDER_HEIGHT
from partgen.plan.fits import FACETS

SEAT_WALL = 2.0         # measured level; at least, where lines are fine
SEAT_GAP = 0.5          # cup to seat, all round: it must come out with one hand
HEIGHT_SHARE = 0.38     # of the cup's height that the seat reaches up
LOWEST, HIGHEST = 12.0, 40.0
MOST_SHARE = 0.8        # of a low cup's height
LOOSE = 0.5             # beyond the gap, all round, by which a cup may draw in and still lean on its seat
SEAT_LEAN = 0.8         # outward over upward: 39 degrees from upright
OVER_BORDER = 0.26      # the same: from there on a wall all but faces the 45 degrees of the border beside it
BETWEEN = 5.0           # between two cups, so that a cup can be taken without touching the next
FINGERS = 14.0          # between two cups side by side: a finger and a thumb reach down (common practice, no source)
SEAT_APART = 1.0        # between two seats
LEAST_FACET = 2.5
EDGE = 1.5              # plate beyond the outermost seats, for their feet
FOOT = 0.8              # 45 degree fillet from plate to seat
SILL_SHARE = 0.35       # of the seat's height that stays closed under a window


Groove = tuple[float, float]
"""Height and depth [mm] of the groove that an insert clicks into."""

NO_GROOVE: Groove = (0.0, 0.0)


class Seat(Struct, frozen=True):
    """One cup's place: middle (x, y), height over the plate, inner profile (height, diameter); mm."""

    cup: str
    x: float
    y: float
    height: float
    profile: Profile
    wall: float
    groove: Groove
    turn: float = 0.0       # deg, from the left: of its windows, and of the handle that goes through one

    @property
    def outer_profile(self) -> Profile:
        """(height, outer diameter) pairs [mm]: one wall round the inside, nowhere leaning out further
        than SEAT_LEAN, so that it prints without supports; upright by the tray's border where it would leave a slot."""
        leaning = tuple((h, max(d + 2 * self.wall - 2 * max(up - h, 0) * SEAT_LEAN for up, d in self.profile))
                        for h, _ in self.profile)
        if steepest(cut_off(leaning, BORDER_HEIGHT)) < OVER_BORDER:
            return leaning
        base = diameter_at(leaning, BORDER_HEIGHT)
        return ((0.0, base), (BORDER_HEIGHT, base), *(pair for pair in leaning if pair[0] > BORDER_HEIGHT))

    @property
    def outer_diameter(self) -> float:
        """Largest diameter over the seat's wall [mm]."""
        return max(diameter for _, diameter in self.outer_profile)

    @property
    def sill(self) -> float:
        """Height [mm] of the windows' lowest point over the plate."""
        return SILL_SHARE * self.height

    @property
    def volume(self) -> float:
        """Volume of the ring [mm3]."""
        return turned_moments(self.outer_profile)[0] - turned_moments(self.profile)[0]


def seat_of(name: str, cup: Cup, printer: Printer, place: tuple[float, float] = (0.0, 0.0),
            groove: Groove = NO_GROOVE) -> Seat:
    """Resolve the seat of one cup with its middle at `place` (x, y) [mm]: two lines stand beside its groove."""
    height = min(max(HEIGHT_SHARE * cup.height, LOWEST), HIGHEST, MOST_SHARE * cup.height)
    height = min(height, max(touched(cup, height), LOWEST))         # no wall where a stem leaves it nothing to hold
    # A bend of the cup just below the seat's edge would leave a facet too narrow to print: end at the bend.
    height = max((h for h, _ in cup.profile if height - LEAST_FACET < h < height), default=height)
    profile = seat_profile(cup, height)
    return Seat(name, *place, height, profile, max(SEAT_WALL, seat_wall(profile, printer) + groove[1]), groove)


def seat_wall(profile: Profile, printer: Printer) -> float:
    """Return how thick [mm], measured level, a wall round that profile must be so that two lines stand across it."""
    return (printer.thinnest_wall + FACETS) * hypot(1, min(steepest(profile), SEAT_LEAN))


def touched(cup: Cup, height: float) -> float:
    """Return up to which height [mm] the cup's outside really reaches a seat `height` [mm] high, which stays as wide as
    the widest place below: its foot alone where a stem follows."""
    levels = (0.0, *(h for h, _ in cup.profile if 0 < h < height), height)
    wide = [diameter_at(cup.profile, level) for level in levels]
    free = [(max(wide[:k + 1]) - diameter) / 2 - LOOSE for k, diameter in enumerate(wide)]
    at = max(k for k, one in enumerate(free) if one <= 0)
    if at + 1 == len(levels):
        return height
    return levels[at] + (levels[at + 1] - levels[at]) * free[at] / (free[at] - free[at + 1])


def seat_profile(cup: Cup, height: float) -> Profile:
    """Return (height, inner diameter) pairs [mm] of a seat `height` [mm] high: the cup's wall plus clearance.

    Where the cup narrows upwards the seat stays as wide as the widest place below, or the cup could not
    be set in from above.
    """
    levels = (0.0, *(h for h, _ in cup.profile if 0 < h < height), height)
    widest = accumulate((diameter_at(cup.profile, level) for level in levels), max)
    return tuple((level, wide + 2 * SEAT_GAP) for level, wide in zip(levels, widest, strict=True))


def places_of(context: Context, width: float | None, grooves: Mapping[str, Groove]) -> tuple[Places, float, float]:
    """Return where the wagon's cups stand on the deck, front one first and left before right, and the length and width
    [mm] that their seats need there, with their `grooves` by cup.

    Side by side stand at most as many as the wagon has columns, on a deck `width` [mm] wide; without columns as many
    as a given width takes, one where none is given.
    """
    names = context.wagon.cups
    seats = (seat_of(name, context.cups[name], context.printer, groove=grooves.get(name, NO_GROOVE)) for name in names)
    discs = tuple(Disc(seat.outer_diameter + SEAT_APART, context.cups[seat.cup].widest) for seat in seats)
    most = context.wagon.columns or (1 if width is None else len(names))
    places, length, across = rows_of(discs, Room(BETWEEN, FINGERS, inf if width is None else width - 2 * EDGE, most))
    return places, length + 2 * EDGE, across + 2 * EDGE
