"""What a printed part weighs and takes to print, from its plan alone: outlines and skins are solid, what lies within is
filled in part."""

from collections.abc import Iterator
from functools import lru_cache

from partgen.describe.printer_tables import Printer
from partgen.formulas.plastic import layer_count, line_spacing, run_time
from partgen.plan.hardware import DENSITY
from partgen.plan.item import BlockPlan, PartPlan

SMALL = 70.0            # mm2: a hollow that is smaller is filled whole (common practice, no source)
RUN, JUMP = 14.0, 20.0  # mm: a usual run of one strand from corner to corner, and a jump
BETWEEN = 35.0          # mm of strand from one jump to the next (all three as the demo's parts came out)
LINK = 1.2              # way from one line of infill to the next along the outline, over their distance (as counted)
LAPPED = 0.8            # share of a skin's turns that comes on top of the outlines (as counted)
CROSSED = 1 / 8**0.5    # of an edge over the distance of lines at 45 degrees to it: how many end there, in pairs
NEAR = 0.1              # a hollow within so much of SMALL may be filled or not: it is taken as half filled
NUDGE = 0.02            # mm


def set_for(part: PartPlan, printer: Printer) -> Printer:
    """Return the printer as it is set for a part."""
    if not part.SOLID:
        return printer
    return printer.model_copy(update={"slicing": printer.slicing.model_copy(update={"infill": 100.0})})


@lru_cache(maxsize=1024)
def printed_mass(part: PartPlan, printer: Printer) -> float:
    """Return the mass [g] of a part as the printer is set: outlines and skins are solid, the rest is filled in part.

    The outermost strand's side is round, so that it does not fill its edge; a skin's turns lie on the outlines, and
    infill turns along its hollow's edge.
    """
    slicing, spacing = set_for(part, printer).slicing, line_spacing(printer.line_width, printer.layer)
    wall = printer.line_width / 2 + (round(slicing.perimeters) - 0.5) * spacing
    skins, plastic = 2 * round(slicing.skins) * printer.layer, part.volume
    if isinstance(part, BlockPlan):     # printed as it stands, and so thin that a layer counts
        plastic *= layer_count(part.height, printer.layer) * printer.layer / part.height
    for (area, core_edge, height), (_, outline, _) in zip(_cut(part, wall), _cut(part, 0.0), strict=True):
        edge = min(core_edge, 4 * area / spacing)      # no line goes into what is narrower than half of one
        large = min(max((area / SMALL - 1 + NEAR) / (2 * NEAR), 0.0), 1.0)
        hollow = large * max(height - skins, 0.0) if slicing.infill < 100 else 0.0
        plastic -= outline * height * (printer.line_width - spacing) / 2
        plastic += LAPPED * CROSSED * edge * spacing * (height - hollow)
        turns = LINK * CROSSED * edge * spacing if slicing.infill else 0.0
        plastic -= hollow * (area * (1 - slicing.infill / 100) - turns)
    return plastic * printer.grown**2 * DENSITY[printer.material]       # as much larger as it is laid on the bed


def _cut(part: PartPlan, wall: float) -> Iterator[tuple[float, float, float]]:
    """Yield area [mm2], edge [mm] and height [mm] of what lies `wall` [mm] within the outlines of a part's pieces: the
    area that a little more wall takes away lies along its edge."""
    for (area, height), (less, _) in zip(part.cores(wall), part.cores(wall + NUDGE), strict=True):
        yield max(area, 0.0), max(area - max(less, 0.0), 0.0) / NUDGE if area > 0 else 0.0, height


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
