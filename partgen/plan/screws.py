"""Every bought screw of a wagon: where it goes, which way, and how long it may be."""

from msgspec import Struct

from partgen.plan.hardware import SCREWS, Screw
from partgen.plan.pivot import WASHER

LENGTHS = (3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80)
"""Preferred lengths of screws [mm]. Source: ISO 888, from memory."""
GRIP = 1.0              # of the thread's diameter that must hold in plastic
NUT_GRIP = 0.75         # of the nut's height that must be filled (both common practice, no source)


class Fastener(Struct, frozen=True):
    """One screw: where its head bears (x, y, z) [mm] in wagon axes, `up` or down, and the length to buy [mm].

    `what` it holds; with `nut` one of its size, with `washer` one under its head; `sunk`: a countersunk head, its
    length counted from its face.
    """

    what: str
    screw: Screw
    length: int
    x: float
    y: float
    z: float
    up: bool
    sunk: bool = False
    nut: bool = False
    washer: bool = False
    room: float = 0.0       # how long it may be at most

    @property
    def standard(self) -> str:
        """The standard that the screw is sold by: ISO 10642 begins at M3 (ISO 7046 from memory)."""
        if not self.sunk:
            return "ISO 4762"
        return "ISO 10642" if self.screw.thread >= 3 else "ISO 7046"

    @property
    def long_enough(self) -> bool:
        """Does the length on sale fit without cutting?"""
        return self.length <= self.room + 1e-9


def fasteners(plan) -> tuple[Fastener, ...]:
    """Return every screw of a wagon plan, from the rails upwards."""
    screw = SCREWS[plan.wagon.screw]
    return (*_holders(plan, screw), *_pivots(plan, screw), *_body(plan, screw), *_cradle(plan, screw))


def longest(room: float, least: float) -> int:
    """Return the longest preferred length within `room` [mm], or the shortest of at least `least` [mm] to cut."""
    fit = [length for length in LENGTHS if least - 1e-9 <= length <= room + 1e-9]
    return max(fit) if fit else min(length for length in LENGTHS if length >= least - 1e-9)


def _holders(plan, screw):
    """From below through the holder's plate and the frame's spine into the clamp bar's nut, not up to the body."""
    gear = plan.gear
    if gear.bogie:
        return
    bar, holder = gear.bar, gear.holder
    head = gear.frame_bottom - holder.plate
    place = next(item.places[0] for item in gear.items() if item.part == "clamp-bar")
    room, least = plan.frame.top - head, place.z + bar.height - bar.nut_depth + NUT_GRIP * screw.nut_height - head
    for axle in gear.axles:
        for side in (1, -1):
            yield Fastener("axle holder", screw, longest(room, least), axle + side * holder.screw_x, 0.0, head, True,
                           nut=True, room=room)


def _pivots(plan, screw):
    """From below through a washer into the spigot's core."""
    thick = WASHER[screw.name][1]
    ends = [("drawbar", seat, seat.x) for seat in plan.frame.seats]
    for what, pivot, x in [*ends, *(("bogie", bolster, bolster.x) for bolster in plan.frame.bolsters)]:
        room = thick + pivot.core_depth
        yield Fastener(what, screw, longest(room, thick + GRIP * screw.thread), x, 0.0, pivot.spigot_bottom - thick,
                       True, washer=True, room=room)


def _body(plan, screw):
    """From above through the body's floor into the frame; the head lies in the floor."""
    room = plan.body.floor + plan.frame.core_depth
    for x, y in plan.body.screws:
        yield Fastener("body", screw, longest(room, plan.body.floor + GRIP * screw.thread), x, y, plan.floor_z, False,
                       sunk=True, room=room)


def _cradle(plan, screw):
    """From above through the cradle's plate into the lid."""
    if not (plan.cradle and plan.lid):
        return
    room = plan.cradle.plate + plan.lid.core_depth
    for x, y in plan.cradle.screws:
        yield Fastener("cradle", screw, longest(room, plan.cradle.plate + GRIP * screw.thread), x, y, plan.deck_z,
                       False, sunk=True, room=room)
