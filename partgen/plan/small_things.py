"""What screws, magnets, bearings, straps and whatever else is bought and built in weigh, and where in the wagon they
are: light each, a tenth of a wagon together."""

from collections.abc import Iterator
from math import pi, sqrt

from partgen.plan.body.fittings import LAMP
from partgen.plan.body.layout import Lead, Placed
from partgen.plan.body.light_strip import THICK
from partgen.plan.body.mounts import STRAP
from partgen.plan.body.pane import PANE
from partgen.plan.cable_ways import inside, place_of, way_out
from partgen.plan.fasteners import Fastener, fasteners
from partgen.plan.hardware import STEEL, Screw
from partgen.plan.leads import SLACK, pairs
from partgen.plan.pivot import WASHER
from partgen.plan.wagon import WagonPlan
from partgen.plan.wheel import bearing_mass

Point = tuple[float, float, float]
Thing = tuple[str, float, Point]
"""What a shop calls it, its mass [g] and its middle (x, y, z) [mm] in wagon axes."""

PITCH_LINE = 0.6495     # of the pitch: a thread weighs what a cylinder of its pitch diameter does (ISO 724)
ROUNDED = 0.9           # of a head as drawn is left by its edges and what it is made smaller (from memory)
DEEP, WRENCH = 0.5, 0.5     # of a head's height and width: the socket for its key (ISO 4762, from memory)
CORNERS = sqrt(3) / 2   # area of a hexagon over its width across flats squared
WASHER_HOLE = 0.2       # of a washer's hole beyond the thread (ISO 7093-1, from memory)
NEODYMIUM, FERRITE = 7.5e-3, 4.9e-3     # g/mm3, sintered: 7.4 to 7.6 and 4.8 to 5.0 (handbooks, from memory)
STRONGEST_FERRITE = 0.5     # T
BRASS, CLEAR = 8.5e-3, 1.2e-3           # g/mm3: what tubes for models are drawn of, and clear sheet (from memory)
HOOKED = 0.4e-3         # g/mm2: hook-and-loop strap, hooks on one side, loops on the other (from memory)
FOAM = 0.7e-3           # g/mm3: double-sided foam tape (from memory)
LIT, LAMP_LONG, RESIN = 15e-3, 9.0, 1.2e-3      # g/mm of a light strip; length [mm] and g/mm3 of a lamp (from memory)
LEAD, FUSE = 6e-3, 5.0  # g/mm of a pair of thin wires, 0.2 mm2 of copper each; g of a fuse in its holder (from memory)


def hardware(plan: WagonPlan) -> Iterator[Thing]:
    """Yield every bought thing that is built into a wagon besides its wheelsets, ballast and modules; felt and glue
    weigh nothing beside them."""
    for one in fasteners(plan):
        yield from _fastened(one)
    yield from magnets(plan)
    yield from on_axles(plan)
    yield from _mounts(plan)
    yield from _lights(plan)


def wiring(plan: WagonPlan) -> Iterator[Thing]:
    """Yield leads and fuses, which come out with the modules: a lead half way between its two ends."""
    layout = plan.layout
    for (twice, (x0, y0), (x1, y1)), ends in zip(layout.cables, layout.wires, strict=True):
        z = sum(sum(layout.ends[one].box[2]) for one in ends) / 4
        yield "lead", LEAD * (twice / 2 + SLACK), ((x0 + x1) / 4, (y0 + y1) / 4, plan.floor_z + z)
    for led in plan.cables.led:
        if (out := way_out(plan, led)) and (here := place_of(plan, led)):
            x, y, z = ((a + b) / 2 for a, b in zip(out, here, strict=True))
            yield "cable", led.mass * inside(plan, led), (x, y, z)
    if lane := plan.frame.lane:
        yield from (("cable", one.mass * plan.frame.length, (0.0, lane.out, plan.frame.bottom - one.core / 2))
                    for one in plan.cables.passing)
    yield from (("pair of thin wires", LEAD * pair.length, pair.middle) for pair in pairs(plan))
    for one in fuses(plan):
        yield "fuse in a holder", FUSE, (one.x, one.y, plan.floor_z + sum(one.box[2]) / 2)


def fuses(plan: WagonPlan) -> Iterator[Placed | Lead]:
    """Yield every battery, next to which a fuse lies."""
    layout = plan.layout
    yield from (one for one in layout.ends if one.module.battery and not (one in layout.leads and one.module.head))


def screw_mass(one: Fastener) -> float:
    """Return the mass [g] of a screw: its head, less the socket for its key, and its thread."""
    return STEEL * (_head(one) + _shank(one))


def nut_mass(screw: Screw) -> float:
    """Return the mass [g] of a hexagon nut."""
    return STEEL * (CORNERS * screw.nut**2 - pi / 4 * _pitch(screw)**2) * screw.nut_height


def washer_mass(screw: Screw) -> float:
    """Return the mass [g] of the large washer that goes with a screw."""
    outer, thick = WASHER[screw.name]
    return STEEL * _ring(outer, screw.thread + WASHER_HOLE) * thick


def _fastened(one: Fastener) -> Iterator[Thing]:
    """Yield a screw, then the washer under its head and its nut."""
    screw, head, shank = one.screw, _head(one), _shank(one)
    middle = screw.cone_height / 3 if one.sunk else -screw.head_height / 2
    yield one.called, screw_mass(one), one.along((head * middle + shank * one.length / 2) / (head + shank))
    if one.washer:
        yield "washer", washer_mass(screw), one.along(WASHER[screw.name][1] / 2)
    if one.nut:
        yield "nut", nut_mass(screw), one.along(one.to_nut + screw.nut_height / 2)


def _head(one: Fastener) -> float:
    """Volume [mm3] of a screw's head; a countersunk one is a cone down to its thread."""
    screw = one.screw
    if one.sunk:
        d, wide, high = screw.thread, screw.cone, screw.cone_height
        return ROUNDED * pi / 12 * high * (wide**2 + wide * d + d**2) - _socket(screw, high)
    return ROUNDED * pi / 4 * screw.head**2 * screw.head_height - _socket(screw, screw.head_height)


def _socket(screw: Screw, high: float) -> float:
    return CORNERS * (WRENCH * screw.head)**2 * DEEP * high


def _shank(one: Fastener) -> float:
    return pi / 4 * _pitch(one.screw)**2 * (one.length - (one.screw.cone_height if one.sunk else 0.0))


def _pitch(screw: Screw) -> float:
    """Pitch diameter [mm]; the core is the thread less its pitch."""
    return screw.thread - PITCH_LINE * (screw.thread - screw.core)


def _ring(outer: float, inner: float) -> float:
    return pi / 4 * (outer**2 - inner**2)


def magnets(plan: WagonPlan) -> Iterator[Thing]:
    """Yield the drawbars' magnets, whose axes lie along the wagon."""
    coupler, x = plan.coupler, plan.frame.seats[0].x + plan.coupling.front.magnet_x
    density = FERRITE if coupler.remanence < STRONGEST_FERRITE else NEODYMIUM
    mass = density * pi / 4 * coupler.magnet_diameter**2 * coupler.magnet_length
    for end, bar in ((1, plan.coupling.front), (-1, plan.coupling.rear)):
        yield from (("disc magnet, axially magnetised", mass, (end * x, end * y, plan.coupling.height))
                    for y in bar.pockets)


def axles(plan: WagonPlan) -> Iterator[Point]:
    """Yield the middle (x, y, z) [mm] of every axle, which lies across the wagon."""
    yield from ((x, 0.0, plan.gear.axle_z) for x in plan.gear.axles)


def rubber_rings(plan: WagonPlan) -> Iterator[Point]:
    """Yield the middle (x, y, z) [mm] of every rubber ring in the treads of printed wheels."""
    if (wheel := plan.gear.wheel) and wheel.groove:
        for x, y, z in axles(plan):
            yield from ((x, y + side * (plan.wheelset.back_to_back / 2 + wheel.ring_at), z) for side in (1, -1))


def on_axles(plan: WagonPlan) -> Iterator[Thing]:
    """Yield bearings, shims or tubes on every axle."""
    wheels, clip = plan.wheelset, plan.gear.clip
    axle, wide = wheels.axle_diameter, wheels.bearing_width
    shim = STEEL * _ring(wheels.inner_ring, axle) * clip.shim
    for x, _, z in axles(plan):
        for side in (1, -1) if wheels.ends == "bearing" else ():
            face = clip.width / 2 + clip.proud
            yield "ball bearing", bearing_mass(wheels), (x, side * (face - wide / 2), z)
            if not wheels.printed:
                yield "shim ring", shim, (x, side * (face + clip.shim / 2), z)
        if wheels.ends == "tube":
            yield "metal tube", BRASS * _ring(wheels.tube_diameter, axle) * plan.gear.carrier_width, (x, 0.0, z)


def _mounts(plan: WagonPlan) -> Iterator[Thing]:
    """Yield the straps and tapes that hold the modules."""
    for strap in plan.body.fittings.straps:
        middle = plan.floor_z + (strap.height - strap.floor) / 2
        yield "hook-and-loop strap", HOOKED * STRAP * strap.length, (strap.x, strap.y, middle)
    for pad in plan.body.fittings.pads:
        if pad.what == "tape":
            high = pad.high - pad.low
            yield ("double-sided tape", FOAM * pad.length * pad.width * high,
                   (pad.x, pad.y, plan.floor_z + pad.low + high / 2))


def _lights(plan: WagonPlan) -> Iterator[Thing]:
    """Yield lamps in the side walls, light strips under the lid's eaves and panes in its windows."""
    fittings, lid = plan.body.fittings, plan.lid
    for x, wall in fittings.lamps:
        side = plan.width / 2 if wall == "left" else -plan.width / 2
        yield ("lamp, low voltage", RESIN * pi / 4 * LAMP**2 * LAMP_LONG,
               (x, side, plan.floor_z + fittings.lamp_level))
    if not lid:
        return
    if lid.strip:
        for side in (lid.strip.middle, -lid.strip.middle):
            yield ("light strip, low voltage", LIT * lid.strip.strip,
                   (0.0, side, lid.bottom + lid.strip.depth - THICK / 2))
    for sheet in (pane.sheet for pane in lid.panes):
        yield ("pane of clear sheet", CLEAR * sheet.length * sheet.width * PANE,
               (sheet.x, sheet.y, lid.bottom + lid.recess - PANE / 2))
