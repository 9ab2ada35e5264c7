"""What a printed part weighs, from its plan alone: outlines and skins are solid, what lies within is filled in part."""

from partgen.describe.printer_tables import Printer
from partgen.formulas.plastic import line_spacing
from partgen.plan.hardware import DENSITY
from partgen.plan.item import PartPlan

SMALL = 70.0            # mm2: a hollow that is smaller is filled whole (common practice, no source)
TURNS = 0.85            # of a hollow its lines' turns fill this share of their width over the hollow's breadth


def printed_mass(part: PartPlan, printer: Printer) -> float:
    """Return the mass [g] of a part as the printer is set: outlines and skins are solid, the rest is filled in part."""
    slicing, spacing = printer.slicing, line_spacing(printer.line_width, printer.layer)
    wall = printer.line_width / 2 + (round(slicing.perimeters) - 0.5) * spacing
    skins = 2 * round(slicing.skins) * printer.layer
    air = 0.0
    for area, breadth, height in part.cores(wall):
        share = 1 - slicing.infill / 100 - TURNS * spacing / max(breadth, spacing)
        air += area * max(height - skins, 0.0) * max(share, 0.0) if area >= SMALL else 0.0
    return (part.volume - air) * DENSITY[printer.material]
