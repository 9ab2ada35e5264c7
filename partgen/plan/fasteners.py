"""Every screw of a wagon: what it holds, where its head bears, how long it is, and how much of its thread holds."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from msgspec import Struct

from partgen.plan.adaptor import Head
from partgen.plan.hardware import FILLED, SCREWS, Screw
from partgen.plan.item import Beside
from partgen.plan.pivot import WASHER, PivotPlan
from partgen.plan.running_gear.two_axle import TwoAxleGear
from partgen.plan.wagon import WagonPlan

Point = tuple[float, float]


class Fastener(Struct, frozen=True):
    """One screw: where its head bears (x, y, z) [mm] in wagon axes, and the length to buy [mm].

    `what` it holds; `nut` and `washer` say where one of its size goes with it, empty where none does, and the nut
    begins `to_nut` [mm] beyond its head. What is not driven `down` goes up, or from the left where it is driven
    `across`; the head of a `sunk` one is countersunk, and its length counts from its face.
    """

    what: str
    screw: Screw
    length: int
    x: float
    y: float
    z: float
    thread: float           # how much of it holds [mm]: in a core below its mouth's cone, or in the nut
    least: float            # how much should
    spare: float            # from its end to the bottom of its hole, or to where it would come through [mm]
    down: bool = False
    sunk: bool = False
    across: bool = False
    nut: str = ""
    to_nut: float = 0.0
    washer: str = ""

    @property
    def way(self) -> tuple[float, float, float]:
        """Where it is driven: from its head to its tip."""
        return (0.0, -1.0, 0.0) if self.across else (0.0, 0.0, -1.0 if self.down else 1.0)

    def along(self, far: float) -> tuple[float, float, float]:
        """Return what lies `far` [mm] from where its head bears, towards its tip, in wagon axes [mm]."""
        return self.x, self.y + far * self.way[1], self.z + far * self.way[2]

    @property
    def size(self) -> str:
        """Its thread and length, as a shop says them."""
        return f"{self.screw.name} x {self.length} mm"

    @property
    def called(self) -> str:
        """What a shop calls it."""
        return "countersunk screw" if self.sunk else "socket head screw"

    @property
    def standard(self) -> str:
        """The standard that the screw is sold by: ISO 10642 begins at M3 (ISO 7046 from memory)."""
        if not self.sunk:
            return "ISO 4762"
        return "ISO 10642" if self.screw.thread >= 3 else "ISO 7046"

    @property
    def key(self) -> str:
        """What turns it (sizes of ISO 4762, ISO 10642 and ISO 7046 from memory)."""
        if self.standard == "ISO 7046":
            return f"cross-head screwdriver, size {0 if self.screw.thread <= 2 else 1}"
        return f"hexagon key {2.0 if self.sunk else {2.0: 1.5, 2.5: 2.0, 3.0: 2.5}[self.screw.thread]:g} mm"


def fasteners(plan: WagonPlan | Beside) -> tuple[Fastener, ...]:
    """Return every bought screw of a wagon, from the rails upwards, or of the locomotive's adaptor; none of what lies
    on the track."""
    there = {item.part for item in plan.items}
    return tuple(screw for part, screws in FASTENED.items() if part in there for screw in screws(plan))


def holder_screws(plan: WagonPlan) -> Iterator[Fastener]:
    """Yield those from below through the holder's plate and the frame into the clamp bar's nut, not up to the body."""
    screw, gear = SCREWS[plan.wagon.screw], plan.gear
    if not isinstance(gear, TwoAxleGear):
        return
    head = gear.frame_bottom - gear.holder.plate
    tip, nut = head + gear.bolt, gear.bar_z + gear.bar.height - gear.bar.nut_depth
    for axle in plan.gear.axles:
        for side in (1, -1):
            yield Fastener("axle holder", screw, gear.bolt, axle + side * gear.holder.screw_x, 0.0, head,
                           min(tip - nut, screw.nut_height), FILLED * screw.nut_height, plan.frame.top - tip,
                           nut="in the clamp bars", to_nut=nut - head)


def drawbar_screws(plan: WagonPlan) -> Iterator[Fastener]:
    """Yield those that hold the drawbars on their spigots."""
    top = plan.gear.arm.top if plan.gear.arm else plan.frame.top
    return _pivots("drawbar", SCREWS[plan.wagon.screw], plan.frame.seats, top)


def bogie_screws(plan: WagonPlan) -> Iterator[Fastener]:
    """Yield those that hold the bogies on their spigots."""
    return _pivots("bogie", SCREWS[plan.wagon.screw], plan.frame.bolsters, plan.frame.top)


def adaptor_screws(head: Head) -> Iterator[Fastener]:
    """Yield the one that holds the drawbar on the locomotive's adaptor; those into the locomotive are not known."""
    return _pivots("adaptor", head.screw, (head.plan.seat,), head.plan.top)


def _pivots(what: str, screw: Screw, pivots: Iterable[PivotPlan], top: float) -> Iterator[Fastener]:
    """From below through a washer into the spigot's core, which ends below `top` [mm over rail top]."""
    thick = WASHER[screw.name][1]
    for pivot in pivots:
        spot = pivot.x, 0.0, pivot.spigot_bottom - thick
        core = min(pivot.core_depth, top - pivot.spigot_bottom)
        yield _cut(what, screw, pivot.screw, spot, thick, core, washer="under the heads at the pivots")


def body_screws(plan: WagonPlan) -> Iterator[Fastener]:
    """Yield those from above through the body's floor into the frame; the head lies in the floor. A cradle that lies
    there has them."""
    if not plan.laid_in:
        yield from _sunk("body", plan, plan.body.screws, plan.frame.screw, plan.floor_z, plan.body.floor,
                         plan.frame.core_depth)


def cradle_screws(plan: WagonPlan) -> Iterator[Fastener]:
    """Yield those from above through the cradle's plate into the lid, or on through the body's floor into the frame."""
    cradle, lid = plan.cradle, plan.lid
    if cradle:
        floor, core = (0.0, lid.core_depth) if lid else (plan.body.floor, plan.frame.core_depth)
        yield from _sunk("cradle", plan, cradle.screws, cradle.screw, plan.deck_z, cradle.plate + floor, core)


def _sunk(what: str, plan: WagonPlan, at: tuple[Point, ...], length: int, z: float, clamped: float,
          core: float) -> Iterator[Fastener]:
    """Yield a countersunk screw at every place, down from height `z` through what is `clamped` into a core [mm]."""
    for x, y in at:
        yield _cut(what, SCREWS[plan.wagon.screw], length, (x, y, z), clamped, core, down=True, sunk=True)


def _cut(what: str, screw: Screw, length: int, at: tuple[float, float, float], clamped: float, core: float,
         **more: Any) -> Fastener:
    """Return a screw through what is `clamped` that cuts its thread into a core so deep [mm]."""
    reach = length - clamped
    return Fastener(what, screw, length, *at, min(reach, core) - screw.loose, screw.bite, core - reach, **more)


def board_screws(plan: WagonPlan) -> Iterator[Fastener]:
    """Yield those from above through the boards of the electronics into their bosses."""
    for boss in plan.body.fittings.bosses:
        spot = boss.x, boss.y, plan.floor_z + boss.height + boss.board
        yield _cut(boss.holds, SCREWS[boss.screw], boss.length, spot, boss.board, boss.depth, down=True)


def screws_in_body(plan: WagonPlan) -> Iterator[Fastener]:
    """Yield all that go in inside the body."""
    yield from body_screws(plan)
    yield from board_screws(plan)


def sensor_screws(plan: WagonPlan) -> Iterator[Fastener]:
    """Yield those from the left through a washer and the lug's slot into the nut in a sensor's tray."""
    screw = SCREWS[plan.wagon.screw]
    for one in plan.hung:
        y, held = one.lug.outside + WASHER[screw.name][1], min(one.in_nut, screw.nut_height)
        yield Fastener("sensor holder", screw, one.screw, one.way.x, y, one.lug.middle, held,
                       FILLED * screw.nut_height, one.tray.nut_deep - one.in_nut, across=True,
                       to_nut=one.screw - one.in_nut, nut="in the sensor holders",
                       washer="under the heads at the sensor holders")


FASTENED: dict[str, Callable[[Any], Iterator[Fastener]]] = {
    "axle-holder": holder_screws,
    "pin-holder": holder_screws,
    "bogie": bogie_screws,
    "coupler": drawbar_screws,
    "body": screws_in_body,
    "sensor-holder": sensor_screws,
    "cradle": cradle_screws,
    "adaptor": adaptor_screws,
}
"""The screws that go in with each kind of printed part, in the order of putting a wagon together."""
