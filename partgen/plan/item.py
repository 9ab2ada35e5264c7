"""What is printed for a wagon: which part, by which plan, and where each piece stands."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, ClassVar

from msgspec import Struct

from partgen.identity import TrackPartId, stems

if TYPE_CHECKING:
    from partgen.plan.coupling import CouplingPlan
    from partgen.plan.wagon import WagonParts


Core = tuple[float, float]
"""Area [mm2] of what lies within the outlines of a piece, and the piece's height [mm], as it lies on the bed."""


def feeding(change: tuple[int, float]) -> str:
    """Say when, as `PartPlan.change` has it, another filament is fed."""
    return f"after layer {change[0]}, at {change[1]:.2f} mm, change the filament for one of another colour"


class PartPlan(Struct, frozen=True):
    """What the plan of every printed part says beside its own dimensions; in the part's own frame, lengths in mm."""

    CENTROID: ClassVar[float] = 0.5
    """Height of the centre of gravity as a share of the part's, for one that stands on z = 0."""

    SOLID: ClassVar[str] = ""
    """What such parts are called where they are printed solid, however full others are; empty where they are not."""

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent along x, y, z."""
        raise NotImplementedError

    @property
    def volume(self) -> float:
        """Volume [mm3], as near as a few per cent."""
        raise NotImplementedError

    @property
    def change(self) -> tuple[int, float] | None:
        """After which layer, counted from 1, and at which height over the bed another filament is fed; None: never."""
        return None

    @property
    def centroid_z(self) -> float:
        """Height of the centre of gravity."""
        return self.CENTROID * self.size[2]

    def cores(self, wall: float) -> Iterator[Core]:
        """Yield what lies `wall` [mm] within the outlines of its thick pieces, as it is printed; nothing where it is
        all walls."""
        yield from ()


def told(part: PartPlan) -> str:
    """Say what the slicing program must be told for a part; empty for nothing."""
    return f"print {part.SOLID} solid, 100 % infill" if part.SOLID else ""


class BlockPlan(PartPlan, frozen=True):
    """A part that is as long, wide and high [mm] as it says, and printed as it stands."""

    length: float
    width: float
    height: float

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent [mm] along x, y, z."""
        return (self.length, self.width, self.height)


class Place(Struct, frozen=True):
    """A stand in the wagon [mm], turned by `yaw` [deg] about z."""

    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    yaw: float = 0.0


class Item(Struct, frozen=True):
    """One kind of printed part of a wagon: its plan and every place it stands in.

    What is `loose` is printed too, but stands there only when it is wanted. What stands in no wagon may belong to those
    that it `serves`, by name.
    """

    part: str
    name: str
    plan: PartPlan
    places: tuple[Place, ...]
    loose: bool = False
    serves: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """How many to print."""
        return len(self.places)


class Beside(Struct, frozen=True, kw_only=True):
    """Printed parts that belong to no wagon, under one `name`, as a wagon holds its own."""

    name: str
    items: tuple[Item, ...] = ()

    def part_id(self, name: str) -> TrackPartId:
        """Return who is meant by the part of that name."""
        return TrackPartId(name)


def items_of(plan: WagonParts) -> Iterator[Item]:
    """Yield every printed part of a wagon with its places in it."""
    yield from plan.gear.items
    yield Item("frame", "frame", plan.frame, (Place(),))
    yield from _couplers(plan)
    yield Item("body", "body", plan.body, (Place(),))
    if named := plan.body.name_plates:
        yield Item("name-plate", "name-plate", *named)
    if lid := plan.lid:
        yield Item("lid", "lid", lid, (Place(),))
        level = lid.bottom - lid.clips.middle
        yield Item("lid-clip", "lid-clip", lid.clips.clip,
                   tuple(Place(socket.x, socket.y, level, socket.yaw) for socket in lid.clips.sockets))
    for number, one in enumerate(plan.hung, 1):
        name = "sensor-holder" if len(plan.hung) == 1 else f"sensor-holder-{number}"
        yield Item("sensor-holder", name, one.tray, (Place(one.way.x, 0.0, one.bottom),))
    if plan.cradle:
        yield Item("cradle", "cradle", plan.cradle, (Place(),))
    names = stems((f"insert {insert.cup} \0in {insert.seat}" for insert, _ in plan.inserts), "insert")
    for (insert, _), name in zip(plan.inserts, names.values(), strict=True):
        yield Item("insert", name, insert, tuple(Place(seat.x, seat.y, plan.deck_z, seat.turn) for seat, _ in plan.cups
                                                 if seat.cup == insert.seat), loose=True)


def _couplers(plan: WagonParts) -> Iterator[Item]:
    """Yield the drawbars, of one name where both are alike, and the covers of their magnets."""
    coupling, pivot = plan.coupling, plan.frame.seats[0].x
    bar, ends = coupling.front, (Place(pivot, 0.0, coupling.height), Place(-pivot, 0.0, coupling.height, 180.0))
    if bar == coupling.rear:
        yield Item("coupler", "coupler", bar, ends)
    else:
        for one, place in zip((bar, coupling.rear), ends, strict=True):
            yield Item("coupler", f"coupler-{one.marks[0].lower()}", one, (place,))
    yield Item("coupler-cover", "coupler-cover", coupling.cover, covers_at(coupling, pivot))


def covers_at(coupling: CouplingPlan, pivot: float) -> tuple[Place, Place]:
    """Return where the covers lie in drawbars that turn `pivot` [mm] before and behind the middle."""
    bar = coupling.front
    low = coupling.height - bar.thickness / 2 + bar.cover_depth - coupling.cover.height
    middle = bar.reach - bar.skin - bar.cover_length / 2
    return Place(pivot + middle, 0.0, low), Place(-pivot - middle, 0.0, low, 180.0)
