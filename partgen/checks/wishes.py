"""What of a wagon cannot be as wished: the plan says what falls short, this says what to change; ballast for which
there is no room; and nameplates too small to print and be read."""

from collections.abc import Callable, Iterator
from math import inf

from partgen.describe.printer_tables import Printer
from partgen.finding import Finding, down, either, judge, up
from partgen.plan.body.body import BodyPlan
from partgen.plan.body.nameplate import Nameplate, largest, least, tablet
from partgen.plan.context import Shortfall
from partgen.plan.deck.seats import MOST_SHARE
from partgen.plan.running_gear.ballast import GRAINS
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan
from partgen.plan.wheel import LAYERS


def wanting(plan: WagonPlan) -> tuple[Finding, ...]:
    """Return a failing finding for everything that falls short in a plan."""
    return tuple(_judged(plan, one) for one in plan.wanting)


def _judged(plan: WagonPlan, one: Shortfall) -> Finding:
    check, margin, remedy = KINDS[one.kind]
    value, limit = (one.value - one.least, 0.0) if margin else (one.value, one.least)
    return judge(check, plan.who, value, limit, "min", "mm", remedy(plan, one))


KINDS: dict[str, tuple[str, bool, Callable[[WagonPlan, Shortfall], str]]] = {
    "length for gear": ("wheel-room", True, lambda plan, one: (
        f"{plan.gear.carriers} and coupler seats overlap: lengthen the body to {up(one.least)} mm or shorten "
        f"{plan.gear.base_name} to {down(plan.base - (one.least - one.value))} mm")),
    "room for modules": ("module-fit", True, lambda plan, one: (
        plan.layout.misfit.remedy(2 * plan.body.wall, plan.body.floor + plan.body.over) if plan.layout.misfit else "")),
    "where it shall lie": ("module-fit", True, lambda plan, one: (
        f"{one.name} lies {-one.value:.1f} mm from where its at wants it: "
        f"{', or '.join((*_more_room(plan), 'leave its at out'))}")),
    "length for cups": ("module-fit", True, lambda plan, one: (
        f"the cups need a body {up(one.least)} mm long: lengthen it by {up(one.least - one.value)} mm, leave length "
        "out, or take a cup off")),
    "width": ("module-fit", True, lambda plan, one: (
        f"running gear and load need a body {up(one.least)} mm wide: widen it by {up(one.least - one.value)} mm or "
        "leave width out")),
    "pivot over rails": ("coupler-height", False, lambda plan, one: (
        f"the pivot screw would hang {one.value:.1f} mm over rail top: raise coupler.height to "
        f"{up(plan.coupler.height + one.least - one.value)} mm or choose a smaller magnet")),
    "wall of spigot": ("wall", False, lambda plan, one: (
        f"{plan.wagon.screw} screws leave the pivots' spigots a wall of {one.value:.2f} mm inside their washers: "
        f"print with lines of {down(one.value / 2, 2)} mm, or choose larger screws")),
    "axle's stem": ("wall", False, lambda plan, one: (
        f"what bears an axle in a bore of {one.value:.2f} mm is thinner than two lines: print lines up to "
        f"{down(one.value / 2, 2)} mm wide, or choose thicker axles")),
    "between wheels": ("wheel-room", False, lambda plan, one: (
        f"no {one.name} with {plan.wagon.screw} screws goes between wheels {one.value:g} mm apart: choose smaller "
        f"screws, or wheels {up(one.least)} mm apart")),
    "layers of flange": ("wall", False, lambda plan, one: (
        f"the printed wheels' flanges are {one.value:.2f} mm thick at their tips, under {LAYERS} layers: print layers "
        f"of {down(one.value / LAYERS, 2)} mm or less, or choose thicker flanges")),
    "lines of flange": ("wall", False, lambda plan, one: (
        f"the printed wheels' flanges are {one.value:.2f} mm thick at their tips: set flange_thickness = "
        f"{up(plan.wheelset.flange_thickness + one.least - one.value, 2)} mm, or print finer lines")),
    "depth of flange": ("wall", False, lambda plan, one: (
        f"the printed wheels' flanges stand out {one.value:.2f} mm, less than a line: print lines of "
        f"{down(one.value, 2)} mm or less, or set flange_diameter = "
        f"{up(plan.wheelset.flange_diameter + 2 * (one.least - one.value), 2)} mm")),
    "wall of wheel": ("wall", False, lambda plan, one: (
        f"a printed wheel has {one.value:.2f} mm of plastic between its rod and its tread: choose a rod "
        f"{up(2 * (one.least - one.value), 2)} mm thinner{' or a thinner rubber ring' if plan.wheelset.ring else ''}")),
    "tread for ring": ("wall", False, lambda plan, one: (
        f"a printed wheel {one.value:g} mm wide has no room for a groove beside its flange: set width = "
        f"{up(one.least)} mm, or choose a thinner rubber ring")),
    "washer between axles": ("wheel-room", False, lambda plan, one: (
        f"the king pin's washer does not go between axles {one.value:g} mm apart: lengthen wheelbase to "
        f"{up(one.least)} mm or choose smaller screws")),
    "wall of insert": ("module-fit", False, lambda plan, one: (
        f"an insert for {one.name} would have a wall of {one.value:.1f} mm at its thinnest: name a cup "
        f"{up(2 * (one.least - one.value))} mm slimmer where the seat holds it, or take it out")),
    "height of insert": ("module-fit", False, lambda plan, one: (
        f"an insert for {one.name} would be {one.value:.1f} mm high, too low for the bead that holds it: name a cup "
        f"{up((one.least - one.value) / MOST_SHARE)} mm higher, or take it out")),
}
"""By the kind of a Shortfall: the check that it fails, is it judged by what is missing or by its own value, and what to
change."""


# Ballast

def ballast(train: TrainPlan) -> Iterator[Finding]:
    """Hold how much ballast each frame has room for against what is wished."""
    for plan in train.asked:
        if plan.wagon.ballast:
            held = plan.frame.ballast
            yield judge("ballast", plan.who, held.most, held.wished, "min", "g", _less(plan))


def _less(plan: WagonPlan) -> str:
    held = plan.frame.ballast
    other = max(GRAINS, key=held.most_of)
    instead = [f'set ballast_of = "{other}", of which {held.most_of(other):.0f} g go in'] if (
        held.most_of(other) >= held.wished) else []
    return f"its frame holds {down(held.most, 0)} g of {held.said}: " + either(
        *instead, f"set ballast = {down(held.most, 0)}") + ", or make the body longer or wider"


def _more_room(plan: WagonPlan) -> tuple[str, ...]:
    """Return what lets every module lie where it shall."""
    found = plan.layout.unwished
    return found.said(2 * plan.body.wall, plan.body.floor + plan.body.over) if found else ()


# Nameplates

def name_plate(train: TrainPlan) -> Iterator[Finding]:
    """Hold the height of every plate's capitals against what two printed lines a stroke and open letters take.

    Where the wall is too thin to sink letters or a plate into, its spare thickness is held against what they take.
    """
    printer = train.description.printer
    for plan in train.wagons:
        plate = plan.body.nameplate
        if plate and plate.depth < plate.shallowest - 1e-9:
            yield judge("name-plate", plan.who, plate.depth, plate.shallowest, "min", "mm", _thin(plan.body, plate))
        elif plate:
            yield judge("name-plate", plan.who, plate.letter, plate.least, "min", "mm", _cramped(plate, printer))


def _thin(body: BodyPlan, plate: Nameplate) -> str:
    wall, what = body.wall - body.flute, "a plate" if plate.layer else "letters"
    more = f"set wall = {up(body.wall + plate.shallowest - plate.depth, 2)} mm, or " if not body.flute else ""
    line = f"print with lines of {down((wall - plate.shallowest) / 2, 2)} mm"
    other = 'set plate_print = "on-wall"' if plate.layer else line
    return (f"a wall of {wall:.2f} mm leaves {max(plate.depth, 0.0):.2f} mm over two printed lines to sink {what} "
            f"into: {more}{other}, or leave plate out")


def _cramped(plate: Nameplate, printer: Printer) -> str:
    length, height = (unit * plate.least + 2 * plate.frame for unit in tablet(plate.text))
    cure = either(*_shorter(plate, printer), *_larger(plate, length, height)) or (
        f"leave {length:.0f} x {height:.0f} mm of wall free, or no plate")
    return (f"{plate.text} is legible from {up(plate.least, 2)} mm on, and {plate.letter:.2f} mm is what the side "
            f"walls have room for: {cure}")


def _shorter(plate: Nameplate, printer: Printer) -> Iterator[str]:
    """Yield the longest beginning of the text that has room."""
    for count in range(len(plate.text) - 1, 0, -1):
        start = plate.text[:count].rstrip()
        need = least(start, printer.thinnest_wall, plate.least_relief)
        if all(largest(start, free, plate.frame, need) > need - 1e-9 for free in plate.rooms):
            yield f"shorten it to {len(start)} characters, as {start}"
            return


def _larger(plate: Nameplate, length: float, height: float) -> Iterator[str]:
    """Yield by how much a longer or a higher body makes room; only what grows with the body counts."""
    every = [room for free in plate.rooms for room in free]
    start, end = (pick((x for xs, _ in every for x in xs), default=0.0) for pick in (min, max))
    top = max((z for _, (_, z) in every), default=0.0)
    longer = [min((2 * (length - x1 + x0) / ((x0 == start) + (x1 == end)) for (x0, x1), (z0, z1) in free
                   if z1 - z0 >= height - 1e-6 and (x0 == start or x1 == end)), default=inf) for free in plate.rooms]
    higher = [min((height - z1 + z0 for (x0, x1), (z0, z1) in free
                   if x1 - x0 >= length - 1e-6 and z1 == top), default=inf) for free in plate.rooms]
    for word, lack in (("longer", max(longer, default=inf)), ("higher", max(higher, default=inf))):
        if 0 < lack < inf:
            yield f"make the body {up(lack)} mm {word}"
