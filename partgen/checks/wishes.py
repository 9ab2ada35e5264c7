"""What of a wagon cannot be as wished, as the plan says what falls short; ballast for which there is no room; and
nameplates too small to print and be read."""

from collections.abc import Callable, Iterator
from math import prod

from partgen.finding import Finding, down, judge, up
from partgen.formulas.plastic import LYING_LAYERS
from partgen.plan.body.body import BodyPlan
from partgen.plan.body.nameplate import Nameplate, tablet
from partgen.plan.context import Shortfall
from partgen.plan.deck.seats import MOST_SHARE
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan


def wanting(plan: WagonPlan) -> tuple[Finding, ...]:
    """Return a failing finding for everything that falls short in a plan."""
    return tuple(_judged(plan, one) for one in plan.wanting)


def _judged(plan: WagonPlan, one: Shortfall) -> Finding:
    check, margin, reason = KINDS[one.kind]
    value, limit = (one.value - one.least, 0.0) if margin else (one.value, one.least)
    return judge(check, plan.who, value, limit, "min", "mm", reason(plan, one))


KINDS: dict[str, tuple[str, bool, Callable[[WagonPlan, Shortfall], str]]] = {
    "length for gear": ("wheel-room", True, lambda plan, one: (
        f"{plan.gear.carriers} and coupler seats overlap: {plan.base:g} mm of {plan.gear.base_name} need a body "
        f"{up(one.least)} mm long")),
    "room for modules": ("module-fit", True, lambda plan, one: (
        (plan.layout.misfit.reason if plan.layout.misfit else "") + (_over_track(plan) if one.name else ""))),
    "where it shall lie": ("module-fit", True, lambda plan, one: (
        f"{one.name} lies {-one.value:.1f} mm from where its at wants it"
        + (f": with {plan.layout.unwished.takes} it would not" if plan.layout.unwished else ""))),
    "length for cups": ("module-fit", True, lambda plan, one: (
        f"the cups need a body {up(one.least)} mm long, {up(one.least - one.value)} mm more than it is")),
    "width": ("module-fit", True, lambda plan, one: (
        f"running gear and load need a body {up(one.least)} mm wide, {up(one.least - one.value)} mm more than it is")),
    "pivot over rails": ("coupler-height", False, lambda plan, one: (
        f"the pivot screw would hang {one.value:.1f} mm over rail top, {up(one.least - one.value)} mm too low for "
        f"couplers at {plan.coupler.height:g} mm with their magnets")),
    "wall of spigot": ("wall", False, lambda plan, one: (
        f"{plan.wagon.screw} screws leave the pivots' spigots a wall of {one.value:.2f} mm inside their washers, two "
        f"lines are {one.least:.2f} mm")),
    "axle's stem": ("wall", False, lambda plan, one: (
        f"what bears an axle in a bore of {one.value:.2f} mm is thinner than two lines, {one.least:.2f} mm")),
    "between wheels": ("wheel-room", False, lambda plan, one: (
        f"no {one.name} with {plan.wagon.screw} screws goes between wheels {one.value:g} mm apart: it takes "
        f"{up(one.least)} mm")),
    "layers of flange": ("wall", False, lambda plan, one: (
        f"the printed wheels' flanges are {one.value:.2f} mm thick at their tips, under {LYING_LAYERS} layers")),
    "lines of flange": ("wall", False, lambda plan, one: (
        f"the printed wheels' flanges are {one.value:.2f} mm thick at their tips, {up(one.least - one.value, 2)} mm "
        "too thin to hold")),
    "depth of flange": ("wall", False, lambda plan, one: (
        f"the printed wheels' flanges stand out {one.value:.2f} mm, less than a line of {one.least:.2f} mm")),
    "wall of wheel": ("wall", False, lambda plan, one: (
        f"a printed wheel has {one.value:.2f} mm of plastic between its rod and its "
        f"{'rubber ring' if plan.wheelset.ring else 'tread'}, {up(one.least - one.value, 2)} mm too little")),
    "tread for ring": ("wall", False, lambda plan, one: (
        f"a printed wheel {one.value:g} mm wide has no room for a groove beside its flange: it takes {up(one.least)} "
        "mm")),
    "washer between axles": ("wheel-room", False, lambda plan, one: (
        f"the king pin's washer does not go between axles {one.value:g} mm apart: it takes {up(one.least)} mm")),
    "wall of seat": ("module-fit", True, lambda plan, one: (
        f"a driver's way to the cradle's screw leaves {max(one.value, 0.0):.1f} mm of the wall round {one.name}, two "
        f"lines are {one.least:.2f} mm: a deck longer or wider by {up(2 * (one.least - one.value))} mm moves it away")),
    "wall of insert": ("module-fit", False, lambda plan, one: (
        f"an insert for {one.name} would have a wall of {one.value:.1f} mm at its thinnest: the cup is "
        f"{up(2 * (one.least - one.value))} mm too wide where the seat holds it")),
    "height of insert": ("module-fit", False, lambda plan, one: (
        f"an insert for {one.name} would be {one.value:.1f} mm high, too low for the bead that holds it: the cup is "
        f"{up((one.least - one.value) / MOST_SHARE)} mm too low")),
}
"""By the kind of a Shortfall: the check that it fails, is it judged by what is missing or by its own value, and what
was found."""


def _over_track(plan: WagonPlan) -> str:
    """Say what takes the room that a sensor looks through: its length is seldom the body's."""
    gear = plan.gear
    start = max((end for start, end in gear.blind if start + end < 0), default=0.0)
    end = min((start for start, end in gear.blind if start + end > 0), default=0.0)
    fields = "wheelbase and pivot_spacing set" if gear.bogie_wheelbase else "wheelbase and travel set"
    return f"; between the {gear.carriers} it has {max(end - start, 0.0):.1f} mm over the track, which {fields}"


# Ballast

def ballast(train: TrainPlan) -> Iterator[Finding]:
    """Hold how much ballast each frame has room for against what is wished."""
    for plan in train.asked:
        if plan.wagon.ballast:
            held = plan.frame.ballast
            yield judge("ballast", plan.who, held.most, held.wished, "min", "g", _less(plan))


def _less(plan: WagonPlan) -> str:
    held = plan.frame.ballast
    return f"its frame has room for {down(held.most, 0)} g of {held.said}, {held.wished:g} g are wished"


# Nameplates

def name_plate(train: TrainPlan) -> Iterator[Finding]:
    """Hold the height of every plate's capitals against what two printed lines a stroke and open letters take.

    Where the wall is too thin to sink letters or a plate into, its spare thickness is held against what they take.
    """
    for plan in train.wagons:
        plate = plan.body.nameplate
        if plate and plate.depth < plate.shallowest - 1e-9:
            yield judge("name-plate", plan.who, plate.depth, plate.shallowest, "min", "mm", _thin(plan.body, plate))
        elif plate:
            yield judge("name-plate", plan.who, plate.letter, plate.least, "min", "mm", _cramped(plate))


def _thin(body: BodyPlan, plate: Nameplate) -> str:
    what = "a plate" if plate.layer else "letters"
    return (f"a wall of {body.wall:.2f} mm leaves {max(plate.depth, 0.0):.2f} mm over two printed lines to sink {what} "
            f"into, which takes {plate.shallowest:.2f} mm")


def _cramped(plate: Nameplate) -> str:
    length, height = (unit * plate.least + 2 * plate.frame for unit in tablet(plate.text))
    free = min((max(((x1 - x0, z1 - z0) for (x0, x1), (z0, z1) in wall), key=prod, default=(0.0, 0.0))
                for wall in plate.rooms), key=prod)
    ways = " and of the ways of screws' heads down the wall" if plate.beside else ""
    return (f"{plate.text} is legible from {up(plate.least, 2)} mm on, and {plate.letter:.2f} mm is what the side "
            f"walls have room for: that takes {length:.0f} x {height:.0f} mm free of openings{ways}, "
            f"and {free[0]:.0f} x {free[1]:.0f} mm are")
