"""The adaptor: a plate with a wagon's coupler seat, fastened under the end of a locomotive that is there already."""

from collections.abc import Iterator
from functools import lru_cache
from math import hypot, pi

from msgspec.structs import replace

from partgen.describe.printer_tables import Printer
from partgen.describe.train_tables import Adaptor
from partgen.identity import LOCOMOTIVE, TrackPartId
from partgen.plan.body.orientation import TAPE
from partgen.plan.context import Shortfall
from partgen.plan.coupling import BOSS, CouplingPlan, DrawbarPlan, SeatPlan
from partgen.plan.fits import hole
from partgen.plan.hardware import SCREWS, Screw
from partgen.plan.item import Beside, Core, Item, PartPlan, Place, covers_at
from partgen.plan.wagon import WagonPlan

THICK = 3.6             # of the plate, where there is room for it
LEAST = 2.4             # of it, at least
OVER_CORE = 1.2         # of plastic over the screw's hole, at least
CORNER = 2.0            # radius of its upright edges
EDGE = 2.0              # of plastic outside a screw's head
HEAD_ROOM = 0.5         # from a screw's head to the seat's boss
BETWEEN = {"tape": TAPE, "glue": 0.2, "screws": 0.0}
"""By how it is mounted: what lies between plate and face [mm]."""


class AdaptorPlan(PartPlan, frozen=True):
    """An adaptor: x outwards over the vehicle's end, from the coupler's pivot; heights over rail top; all in mm."""

    length: float
    width: float
    end: float              # x of its outer edge, flush with the vehicle's end
    bottom: float           # of the plate
    top: float
    seat: SeatPlan
    holes: tuple[tuple[float, float], ...]      # for screws
    hole: float             # their diameter

    @property
    def middle(self) -> float:
        """x [mm] of the plate's middle."""
        return self.end - self.length / 2

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        boss = self.seat.boss
        return (max(self.end, boss) - min(self.end - self.length, -boss), max(self.width, 2 * boss),
                self.top - self.seat.spigot_bottom)

    @property
    def volume(self) -> float:
        """Volume [mm3], less what the screw's core takes of plate and boss."""
        plate = (self.length * self.width - 0.86 * CORNER**2 - len(self.holes) * pi / 4 * self.hole**2) * self.thick
        core = max(self.seat.core_depth - (self.seat.boss_bottom - self.seat.spigot_bottom), 0.0)
        return plate + self.seat.volume(self.bottom) - pi / 4 * self.seat.core**2 * core

    @property
    def thick(self) -> float:
        """Thickness of the plate [mm]."""
        return self.top - self.bottom

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield the boss up to the plate's face, and the plate round it."""
        boss = pi * max(max(self.seat.boss - wall, 0.0)**2 - (self.seat.core / 2 + wall)**2, 0.0)
        yield boss, self.top - self.seat.boss_bottom
        plate = max(self.length - 2 * wall, 0.0) * max(self.width - 2 * wall, 0.0)
        yield max(plate - boss, 0.0), self.thick


class Head(Beside, frozen=True, kw_only=True):
    """What is printed for the locomotive: its adaptor with a drawbar and cover as the `first` wagon's."""

    name: str = LOCOMOTIVE
    described: Adaptor
    plan: AdaptorPlan
    bar: DrawbarPlan
    coupling: CouplingPlan
    screw: Screw
    remanence: float
    wanting: tuple[Shortfall, ...]

    def part_id(self, name: str) -> TrackPartId:
        """Return who is meant by the part of that name."""
        return TrackPartId(name, LOCOMOTIVE)

    @property
    def lever(self) -> float:
        """How far the coupler pulls below the face [mm]."""
        return max(self.described.under - self.coupling.height, 0.0)


@lru_cache(maxsize=256)
def head_of(described: Adaptor, first: WagonPlan, printer: Printer, serves: tuple[str, ...]) -> Head:
    """Resolve the adaptor that couples to the `first` wagon, needed as soon as one of those that it `serves` rolls."""
    coupling, screw = first.coupling, SCREWS[first.wagon.screw]
    seat, bar = replace(first.frame.seats[0], x=0.0), coupling.rear
    # Screw and drawbar need room under the plate; where the face is too low the plate is drawn as thin as may be.
    least = max(seat.boss_bottom + BOSS + max(LEAST, printer.thinnest_wall),
                seat.spigot_bottom + seat.core_depth + max(OVER_CORE, printer.thinnest_wall))
    top = max(described.under - BETWEEN[described.mount], least)
    bottom = max(top - max(THICK, printer.thinnest_wall), seat.boss_bottom + BOSS)
    inset, x = screw.head / 2 + EDGE, coupling.inset - described.length
    holes = tuple((x + inset, side * (described.width / 2 - inset)) for side in (1, -1)) if (
        described.mount == "screws") else ()
    plan = AdaptorPlan(described.length, described.width, coupling.inset, bottom, top, seat, holes,
                       hole(screw.clearance, "screw", printer))
    return Head(items=tuple(_items(plan, bar, coupling, bar == coupling.front, serves)), described=described, plan=plan,
                bar=bar, coupling=coupling, screw=screw, remanence=first.coupler.remanence,
                wanting=tuple(_wanting(described, plan, screw, least)))


def _items(plan: AdaptorPlan, bar: DrawbarPlan, coupling: CouplingPlan, alike: bool, serves: tuple[str, ...]
           ) -> Iterator[Item]:
    """Yield the adaptor, and a drawbar with its cover: called as the wagons' are, whose files they share."""
    yield Item("adaptor", "adaptor", plan, (Place(),), serves=serves)
    name = "coupler" if alike else f"coupler-{bar.marks[0].lower()}"
    yield Item("adaptor-coupler", name, bar, (Place(z=coupling.height),), serves=serves)
    yield Item("adaptor-cover", "coupler-cover", coupling.cover, covers_at(coupling, 0.0)[:1], serves=serves)


def _wanting(described: Adaptor, plan: AdaptorPlan, screw: Screw, least: float) -> Iterator[Shortfall]:
    """Yield what is asked of the face and of the plate, whether it is there or not."""
    seat = plan.seat
    yield Shortfall("face", described.under, least + BETWEEN[described.mount])
    yield Shortfall("length", plan.length, plan.end + seat.boss)
    yield Shortfall("width", plan.width, 2 * seat.boss)
    for x, y in plan.holes[:1]:
        apart = min(hypot(x, y) - seat.boss, 2 * y - screw.head / 2) if x < 0 else -seat.boss
        yield Shortfall("screws", apart, screw.head / 2 + HEAD_ROOM)
