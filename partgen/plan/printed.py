"""What a printed part weighs and takes to print, from its plan alone: outlines and skins are solid, what lies within is
filled in part."""

from partgen.describe.printer_tables import Printer
from partgen.formulas.plastic import line_spacing, run_time
from partgen.plan.hardware import DENSITY
from partgen.plan.item import PartPlan

SMALL = 70.0            # mm2: a hollow that is smaller is filled whole (common practice, no source)
RUN, JUMP = 14.0, 20.0  # mm: a usual run of one strand from corner to corner, and a jump
BETWEEN = 35.0          # mm of strand from one jump to the next (all three as the demo's parts came out)
TURNS = 0.85            # of a hollow its lines' turns fill this share of their width over the hollow's breadth


def set_for(part: PartPlan, printer: Printer) -> Printer:
    """Return the printer as it is set for a part."""
    if not part.SOLID:
        return printer
    return printer.model_copy(update={"slicing": printer.slicing.model_copy(update={"infill": 100.0})})


def printed_mass(part: PartPlan, printer: Printer) -> float:
    """Return the mass [g] of a part as the printer is set: outlines and skins are solid, the rest is filled in part."""
    slicing, spacing = set_for(part, printer).slicing, line_spacing(printer.line_width, printer.layer)
    wall = printer.line_width / 2 + (round(slicing.perimeters) - 0.5) * spacing
    skins = 2 * round(slicing.skins) * printer.layer
    air = 0.0
    for area, breadth, height in part.cores(wall):
        share = 1 - slicing.infill / 100 - TURNS * spacing / max(breadth, spacing)
        air += area * max(height - skins, 0.0) * max(share, 0.0) if area >= SMALL else 0.0
    return (part.volume - air) * DENSITY[printer.material]


def print_time(part: PartPlan, printer: Printer) -> float:
    """Return about how long a part takes to print [s] beside others, without heating up: its strand is laid in runs of
    one length, half of them round outlines, and with so many jumps. A whole wagon comes out within a quarter of what
    its layers' paths take."""
    slicing, ends = printer.slicing, (printer.slicing.corner_speed,) * 2
    strand = printed_mass(part, printer) / DENSITY[printer.material] / (
        printer.layer * line_spacing(printer.line_width, printer.layer))
    outline, fill = (run_time(RUN, *ends, speed, slicing.acceleration) for speed in
                     (slicing.outline_speed, slicing.fill_speed))
    jump = slicing.retraction / 2 + run_time(JUMP, *ends, slicing.travel_speed, slicing.acceleration)
    return float(strand * ((outline + fill) / 2 / RUN + jump / BETWEEN))
