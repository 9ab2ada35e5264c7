"""Bought wheels, magnets and screws as simple solids where they stand in a wagon, called as on the bill.

All of them are turned about an axis; of a nut the ring inside its flats is drawn, of a rubber ring eight flats.
"""

from collections import Counter
from collections.abc import Iterator
from math import cos, pi, sin, sqrt

from msgspec import Struct

from partgen.describe.wagon_tables import Wheelset
from partgen.export.bodies import Body
from partgen.export.step_turned import Corner, turned_step
from partgen.parts.bought import COLOURS
from partgen.plan.fasteners import Fastener, fasteners
from partgen.plan.item import Place
from partgen.plan.pivot import WASHER
from partgen.plan.small_things import axles, magnets, on_axles, rubber_rings
from partgen.plan.wagon import WagonPlan
from partgen.plan.wheel import axle_length

Point = tuple[float, float, float]
AHEAD, LEFT = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)


class Turned(Struct, frozen=True):
    """One such thing: what the bill calls it and of which size, how it looks, its section's outline as (radius,
    height), and where it stands: its origin and where its axis points, in wagon axes; all mm."""

    what: str
    look: str
    outline: tuple[Corner, ...]
    at: Point
    axis: Point
    size: str = ""


def hardware_bodies(plan: WagonPlan) -> Iterator[Body]:
    """Yield a wagon's bought wheels, magnets, screws, nuts and washers; the forms are STEP texts."""
    numbers = Counter[str]()
    for one in (*_wheels(plan), *_magnets(plan), *(thing for screw in fasteners(plan) for thing in _fastened(screw))):
        numbers[one.what] += 1
        kind, colour = f"{one.what} {one.size}".rstrip(), COLOURS[one.look]
        yield Body(f"{one.what} {numbers[one.what]}", kind, turned_step(kind, one.outline, colour), Place(*one.at),
                   colour, one.axis)


def _wheels(plan: WagonPlan) -> Iterator[Turned]:
    """Yield wheelsets, or the rods and rings of printed wheels, and what is on the axles besides."""
    wheels, wheel, axle = plan.wheelset, plan.gear.wheel, plan.wheelset.axle_diameter
    what, look, outline = ("steel rod, round and straight", "axle", _mirrored(*_axle_end(wheels)[1:])) if wheel else (
        "wheelset", "wheel", _wheelset(wheels))
    yield from (Turned(what, look, outline, at, LEFT) for at in axles(plan))
    if wheel:
        cord = _cord(wheel.seat / 2, wheel.cord / 2)
        yield from (Turned("rubber ring", "rubber-ring", cord, at, LEFT) for at in rubber_rings(plan))
    outer = {"ball bearing": (wheels.bearing_outer, wheels.bearing_width, "bearing"),
             "shim ring": (wheels.inner_ring, plan.gear.clip.shim, "washer"),
             "metal tube": (wheels.tube_diameter, plan.gear.carrier_width, "axle")}
    for what, _, at in on_axles(plan):
        wide, long, look = outer[what]
        yield Turned(what, look, _ring(axle, wide, long), at, LEFT)


def _magnets(plan: WagonPlan) -> Iterator[Turned]:
    half, wide = plan.coupler.magnet_length / 2, plan.coupler.magnet_diameter / 2
    for what, _, at in magnets(plan):
        yield Turned(what, "magnet", _mirrored((wide, half), (0.0, half)), at, AHEAD)


def _fastened(one: Fastener) -> Iterator[Turned]:
    """Yield a screw, whose head bears at its origin, and its washer and nut about their middles."""
    screw, long, r = one.screw, float(one.length), one.screw.thread / 2
    x, y, z = one.way
    back = -x, -y, -z
    rim, top = screw.sunk_head if one.sunk else (screw.head / 2, screw.head_height)
    neck = top + r - rim if one.sunk else 0.0       # where the head begins: a cone of 90 degrees, or a step
    under = ((r, neck), (rim, top)) if one.sunk else ((r, neck), (rim, neck), (rim, top))
    yield Turned(one.called, "screw", ((0.0, -long), (r, -long), *under, (0.0, top)), one.along(0.0), back, one.size)
    if one.washer:
        wide, thick = WASHER[screw.name]
        yield Turned("washer", "washer", _ring(screw.clearance, wide, thick), one.along(thick / 2), back, screw.name)
    if one.nut:
        middle = one.along(one.to_nut + screw.nut_height / 2)
        yield Turned("nut", "nut", _ring(screw.thread, screw.nut, screw.nut_height), middle, back, screw.name)


def _wheelset(wheels: Wheelset) -> tuple[Corner, ...]:
    """Return a wheelset's outline: a wheel is a tread and a flange, each as wide as it is at its root."""
    tread, flange, r = wheels.tread_diameter / 2, wheels.flange_diameter / 2, wheels.axle_diameter / 2
    back = wheels.back_to_back / 2
    root, face = back + wheels.flange_thickness, back + wheels.width
    return _mirrored((r, back), (flange, back), (flange, root), (tread, root), (tread, face), *_axle_end(wheels, face))


def _axle_end(wheels: Wheelset, face: float = 0.0) -> tuple[Corner, ...]:
    """Return the end of an axle beyond a wheel's `face`, blunt or pointed by 60 degrees."""
    r, end = wheels.axle_diameter / 2, axle_length(wheels) / 2
    if wheels.ends != "pin":
        return (r, face), (r, end), (0.0, end)
    start = end - sqrt(3) * r
    return ((r, face), (r, start), (0.0, end)) if start > face else (((end - face) / sqrt(3), face), (0.0, end))


def _cord(radius: float, half: float) -> tuple[Corner, ...]:
    """Return a ring's cord round about `half` thick either way, the ring's inside `radius` wide."""
    turns = [(2 * number + 1) * pi / 8 for number in range(8)]
    return tuple((radius + half + half * cos(turn), half * sin(turn)) for turn in turns)


def _ring(inner: float, outer: float, long: float) -> tuple[Corner, ...]:
    return ((inner / 2, -long / 2), (outer / 2, -long / 2), (outer / 2, long / 2), (inner / 2, long / 2))


def _mirrored(*upper: Corner) -> tuple[Corner, ...]:
    """Return an outline that is the same below as above, given from its middle up."""
    return (*((radius, -height) for radius, height in reversed(upper)), *upper)
