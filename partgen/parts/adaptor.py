"""The locomotive's adaptor: a plate with a wagon's coupler seat under it."""

from cadquery import Shape

from partgen.parts.frame import seat
from partgen.parts.shapes import OVER, core, cut, cylinder, fuse, rounded_box
from partgen.plan.adaptor import CORNER, AdaptorPlan

BEVEL = 0.5             # of both faces' edges


def adaptor(plan: AdaptorPlan) -> Shape:
    """Return the adaptor [mm], heights over rail top: the coupler's pivot on the z axis, open towards +x."""
    pivot = plan.seat
    plate = rounded_box(plan.length, plan.width, plan.bottom, plan.top, CORNER, plan.middle, bevel_bottom=BEVEL,
                        bevel_top=BEVEL)
    holes = [cylinder(plan.hole, plan.bottom - OVER, plan.top + OVER, x, y) for x, y in plan.holes]
    return cut(fuse(plate, seat(pivot, plan.bottom)),
               core(pivot.core, pivot.mouth, pivot.core_depth, pivot.spigot_bottom, up=True), *holes)
