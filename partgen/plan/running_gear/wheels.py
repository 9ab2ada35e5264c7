"""Printed wheels on a wagon's axles: where they stand, and what they are short of."""

from partgen.describe.printer_tables import Printer
from partgen.describe.wagon_tables import Wheelset
from partgen.formulas.plastic import LYING_LAYERS, least_thickness
from partgen.plan.context import Shortfall, short
from partgen.plan.fits import FOOT
from partgen.plan.item import Item, Place
from partgen.plan.wheel import LAND, WheelPlan


def wheels_on(axles: tuple[float, ...], wheel: WheelPlan | None, wheelset: Wheelset) -> tuple[Item, ...]:
    """Return the printed wheels on `axles` [mm], where they are printed."""
    if not wheel:
        return ()
    half, axle_z = wheelset.back_to_back / 2, wheelset.tread_radius
    return (Item("wheel", "wheel", wheel, tuple(
        Place(x, side * half, axle_z, 90.0 - side * 90.0) for x in axles for side in (1, -1))),)


def short_wheel(wheel: WheelPlan | None, printer: Printer) -> tuple[Shortfall, ...]:
    """Return what printed wheels are short of: layers and lines in the flange, plastic round the bore, tread."""
    if not wheel:
        return ()
    flange = float(least_thickness(printer.line_width, printer.layer, wheel.tip, wheel.depth, lying=True))
    round_bore = wheel.radius(wheel.width) - wheel.groove - wheel.bore / 2
    return short(
        Shortfall("layers of flange", wheel.tip, LYING_LAYERS * printer.layer),
        Shortfall("lines of flange", wheel.tip, flange),
        Shortfall("depth of flange", wheel.depth, printer.line_width),
        Shortfall("wall of wheel", round_bore, printer.thinnest_wall),
        Shortfall("tread for ring", wheel.width, wheel.ring_end + LAND + FOOT if wheel.groove else 0.0))
