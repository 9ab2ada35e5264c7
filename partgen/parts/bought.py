"""What is bought for the printed parts besides screws: wheels, magnets, electronics, sheets, cups."""

from collections.abc import Iterator
from math import ceil, inf

from partgen.describe.wagon_tables import Wheelset
from partgen.finding import down
from partgen.identity import ModulesId, SeatId
from partgen.parts.record import Bought, Colour
from partgen.plan.body.fittings import LAMP, TIE
from partgen.plan.body.light_strip import THICK, WIDE
from partgen.plan.body.mounts import FELT, STRAP
from partgen.plan.body.orientation import TAPE as FOAM
from partgen.plan.body.pane import PANE
from partgen.plan.hardware import SHIM_RINGS
from partgen.plan.leads import SLACK, joins, meeting, pairs
from partgen.plan.trackside import TAPE, MarkerPlan, Trackside
from partgen.plan.wagon import WagonPlan
from partgen.plan.wheel import POINT, rod_length

COLOURS: dict[str, Colour] = {
    "wheel": (0.40, 0.40, 0.42), "axle": (0.72, 0.72, 0.73), "bearing": (0.60, 0.61, 0.64),
    "rubber-ring": (0.10, 0.10, 0.10), "magnet": (0.80, 0.80, 0.82), "screw": (0.70, 0.69, 0.67),
    "nut": (0.70, 0.69, 0.67), "washer": (0.78, 0.77, 0.75)}
"""Of small bought things that turn about an axis, as sRGB shares."""

KEPT = {False: "protected and as bought, never bare cells", True: "cells of one kind and age, the right way round"}
"""What is said of a battery, by whether its cells are dry ones."""

GLUED = 20.0            # g of ballast that a gram of glue keeps (common practice, no source)

def wheelsets(plan: WagonPlan) -> Iterator[Bought]:
    """Yield the wheelsets, and the tubes over their axles where they turn in one."""
    wheels, count = plan.wheelset, len(plan.gear.axles)
    points = f", {wheels.over_points:g} mm over its points, which are sharper than 90 degrees" if (
        wheels.ends == "pin") else ""
    if not wheels.printed:
        yield Bought("wheels", count, "wheelset", f"tread {wheels.tread_diameter:g}, flange {wheels.flange_diameter:g}"
                     f", back to back {wheels.back_to_back:g}, axle {wheels.axle_diameter:g} mm{points}",
                     "snaps into its holder")
    if wheels.ends == "bearing":
        yield Bought("wheels", 2 * count, "ball bearing", f"{wheels.axle_diameter:g} x {wheels.bearing_outer:g} x "
                     f"{wheels.bearing_width:g} mm, shielded", "two on each axle, pressed into its holder")
        if not wheels.printed:
            standard, size = _shim_ring(wheels, plan.gear.clip.shim)
            yield Bought("wheels", 2 * count, "shim ring", size, "between bearing and wheel", standard)
    if wheels.ends == "tube":
        yield Bought("wheels", count, "metal tube", f"{wheels.tube_diameter:g} mm outside, over a "
                     f"{wheels.axle_diameter:g} mm axle, {plan.gear.carrier_width:.0f} mm long", "over each axle")


def _shim_ring(wheels: Wheelset, thick: float) -> tuple[str, str]:
    """Return standard and size of a ring between bearing and wheel: the standard's (inside x outside x thickness) where
    it stays clear of the outer ring, which begins as far from outside as the inner ring ends from inside."""
    inside, outside = wheels.axle_diameter, SHIM_RINGS.get(wheels.axle_diameter, inf)
    if outside <= inside + wheels.bearing_outer - wheels.inner_ring:
        return "DIN 988", f"{inside:g} x {outside:g} x {thick:g} mm"
    return "", f"{inside:g} mm inside, at most {down(wheels.inner_ring)} mm outside, {thick:g} mm thick"


def ballast(plan: WagonPlan) -> Iterator[Bought]:
    """Yield the ballast in a wagon's frame, and what keeps it there."""
    if (held := plan.frame.ballast).cells:
        yield Bought("ballast", 1, held.said, f"{held.mass:.0f} g", "in the frame, under the body's floor")
        yield Bought("glue", 1, "white wood glue", f"{ceil(held.mass / GLUED)} g", "over the ballast, against rattling")


def rods(plan: WagonPlan) -> Iterator[Bought]:
    """Yield what two printed wheels are pressed on, and the rubber rings in their treads."""
    wheels, count = plan.wheelset, len(plan.gear.axles)
    yield Bought("wheels", count, "steel rod, round and straight", f"{wheels.axle_diameter:g} mm, "
                 f"{rod_length(wheels):.1f} mm long", "axles: two printed wheels pressed on each" + (
                     f"; both ends turned to points of {POINT} degrees" if wheels.ends == "pin" else ""))
    if plan.gear.wheel and wheels.ring:
        yield Bought("wheels", 2 * count, "rubber ring", f"{plan.gear.wheel.ring:.1f} mm inside, "
                     f"{wheels.ring:g} mm thick", "in the treads of printed wheels")


def magnets(plan: WagonPlan) -> Iterator[Bought]:
    """Yield the drawbars' magnets."""
    coupler, count = plan.coupler, len(plan.coupling.front.pockets) + len(plan.coupling.rear.pockets)
    yield Bought("magnets", count, "disc magnet, axially magnetised", f"{coupler.magnet_diameter:g} x "
                 f"{coupler.magnet_length:g} mm, {coupler.remanence:g} T",
                 "drawbars: poles as marked, each in a drop of glue")
    yield Bought("glue", count, "drop of glue", "two-part or thick instant glue", "at the magnets")


def inside(plan: WagonPlan) -> Iterator[Bought]:
    """Yield the electronics in a wagon's body, what holds them besides screws, and what joins them."""
    yield from _electronics(plan)
    yield from _mounts(plan)
    yield from _wires(plan)


def _electronics(plan: WagonPlan) -> Iterator[Bought]:
    """Yield modules with their fuses, and lamps."""
    fittings = plan.body.fittings
    for name, module in plan.modules:
        where = "under the floor, over the track" if module.looks_down and not module.head else "inside"
        yield Bought("electronics", 1, module.label, f"{module.length:g} x {module.width:g} x {module.height:g} mm",
                     f"{where}; {KEPT[module.dry]}" if module.battery else where,
                     cargo=(ModulesId(plan.name, (name,)),))
        if module.battery:
            rated = "time-lag, as the wiring diagram says" if plan.cables.described else (
                "as its sheet says, and no more than its wires carry")
            yield Bought("electronics", 1, "fuse in a holder", rated, f"in the lead of {module.label}, next to it")
            yield from _ends(1)
    if fittings.lamps:
        yield Bought("electronics", len(fittings.lamps), "lamp, low voltage", f"{LAMP:g} mm",
                     "in the holes of the sides; for the voltage that feeds it: an LED without a resistor takes one, "
                     "as its sheet says")
        yield Bought("glue", len(fittings.lamps), "drop of glue", "two-part or thick instant glue", "behind each lamp")


def _mounts(plan: WagonPlan) -> Iterator[Bought]:
    """Yield what holds modules and wires: straps, tape, felt and ties."""
    fittings = plan.body.fittings
    for strap in fittings.straps:
        yield Bought("mounts", 1, "hook-and-loop strap", f"{STRAP:g} x {strap.length:g} mm", f"round {strap.holds}")
    for pad in fittings.pads:
        what, high = ("double-sided tape", FOAM) if pad.what == "tape" else ("self-adhesive felt", FELT)
        size = (pad.length, pad.width) if pad.what == "tape" else (max(pad.length, pad.width), pad.high - pad.low)
        yield Bought("mounts", 1, what, f"{size[0]:.0f} x {size[1]:.0f} x {high:g} mm",
                     f"{'under' if pad.what == 'tape' else 'beside'} {pad.holds}")
    if ties := len({x for x, _ in plan.body.eyes}):
        yield Bought("mounts", ties, "cable tie", f"{TIE:g} mm wide", "through the fences' eyes, round the leads")
    if ties := len(plan.cables.led) + len(plan.frame.lane.eyes if plan.frame.lane else ()):
        yield Bought("mounts", ties, "cable tie", f"{TIE:g} mm wide", "round cables, where they go through a wall or "
                     "under a frame")


def _wires(plan: WagonPlan) -> Iterator[Bought]:
    """Yield what joins modules and lights, with an end for each lead."""
    own = range(len(plan.wagon.wires), len(plan.wagon.wires) + len(plan.cables.joined))    # on the train's cut list
    for (start, goal), run in [one for k, one in enumerate(zip(plan.layout.wired, plan.layout.runs, strict=True))
                               if k not in own]:
        yield Bought("mounts", 1, "lead", f"about {ceil((run + SLACK) / 10) * 10} mm",
                     f"{joins(plan, start, goal)} to {joins(plan, goal, start)}")
        yield from _ends(1)
    for pair in pairs(plan):
        yield Bought("mounts", 1, "pair of thin wires", f"red and black, about {ceil(pair.length / 10) * 10} mm",
                     f"from {pair.start} to {pair.goal}")
        yield from _ends(2)
    if many := meeting(plan):
        yield Bought("mounts", 2, "terminal", f"lever, screw or crimp, for {many} thin wires",
                     "one for the red, one for the black wires of the lights, behind the fuse")


def _ends(leads: int) -> Iterator[Bought]:
    """Yield what ends so many leads, or wires of a pair."""
    yield Bought("mounts", 2 * leads, "end of a lead", "plug, ferrule, or solder under a shrink sleeve",
                 "no wire stays bare")


def name_plates(plan: WagonPlan) -> Iterator[Bought]:
    """Yield what letters the name plates and holds them in their recesses."""
    if plan.body.nameplate:
        yield Bought("filament", 1, "length of filament in a second colour", "a few metres, of the same material",
                     "letters of the name plates")
        yield Bought("glue", len(plan.body.nameplate.tablets), "thin film of glue", "two-part or thick instant glue",
                     "behind each name plate")


def sensors(plan: WagonPlan) -> Iterator[Bought]:
    """Yield what holds the track sensors in their trays."""
    for _ in plan.hung:
        yield Bought("glue", 1, "hot-melt glue", "two drops", "on the track sensor, in two corners of its holder")


def fill_marks(track: Trackside) -> Iterator[Bought]:
    """Yield what marks the cups."""
    yield Bought("cups", 1, "roll of thin tape", "a strip round each cup", "fill marks outside the cups")


def markers(track: Trackside) -> Iterator[Bought]:
    """Yield what holds the markers between the rails, and what the sensor sees on them."""
    for tile, count in ((item.plan, item.count) for item in track.items if isinstance(item.plan, MarkerPlan)):
        (length, width), which = tile.foil, "the longer marker" if tile == track.first_marker else "each marker"
        yield Bought("glue", count, "double-sided tape, thin", f"{TAPE:g} mm thick, {width:g} mm wide, "
                     f"{tile.size[0]:.0f} mm long", f"under {which}, on the sleepers")
        yield Bought("sheets", count, "self-adhesive foil or tape, bright", f"{length:g} x {width:g} mm, "
                     f"{tile.recess:g} mm thick at most", f"in the recess of {which}: what the sensor sees")


def sheets(plan: WagonPlan) -> Iterator[Bought]:
    """Yield what goes under a wagon's lid: panes and light strips."""
    panes, strip = (plan.lid.panes, plan.lid.strip) if plan.lid else ((), None)
    for pane in panes:
        yield Bought("sheets", 1, "pane of clear sheet", f"{pane.sheet.length:g} x {pane.sheet.width:g} x {PANE:g} mm",
                     f"glued under the lid's window over {', '.join(pane.names)}")
        yield Bought("glue", 1, "bead of clear glue", f"{2 * (pane.sheet.length + pane.sheet.width):.0f} mm",
                     "round a pane: a window in a lid")
    if strip:
        yield Bought("sheets", 2, "light strip, low voltage", f"{WIDE:g} x {THICK:g} mm, {strip.strip:g} mm long",
                     "under the lid's eaves, cut at the mark next below")


def cups(plan: WagonPlan) -> Iterator[Bought]:
    """Yield what stands in a wagon's cradle."""
    for seat, cup in plan.cups:
        yield Bought("cups", 1, cup.label, f"{cup.widest:g} mm wide, {cup.height:g} mm tall", "on top",
                     cargo=(SeatId(plan.name, seat.cup),))
    for ring, cup in plan.inserts:
        yield Bought("cups", sum(seat.cup == ring.seat for seat, _ in plan.cups), cup.label,
                     f"{cup.widest:g} mm wide, {cup.height:g} mm tall", f"on top, in a ring, instead of {ring.seat}")
