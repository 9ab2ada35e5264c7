"""The arm on a bogie: disc and tongue with ribs in the bogie's grooves, and a coupler seat at its end."""

from cadquery import Shape

from partgen.parts.frame import seat
from partgen.parts.shapes import OVER, box_corners, core, cut, cylinder, fuse, moved, prism, rounded_box
from partgen.plan.running_gear.arm import ArmPlan

BEVEL = 0.5             # of the faces' edges
RIB_BEVEL = 0.3


def arm(plan: ArmPlan) -> Shape:
    """Return the arm [mm], heights over rail top: the bogie's pivot on the z axis, the seat open towards +x."""
    pivot, half = plan.seat, plan.seat.boss
    tongue = rounded_box(pivot.x + half, 2 * half, plan.bottom, plan.top, half - OVER, (pivot.x + half) / 2,
                         bevel_bottom=BEVEL, bevel_top=BEVEL)
    disc = rounded_box(2 * plan.disc, 2 * plan.disc, plan.bottom, plan.top, plan.disc - OVER, bevel_bottom=BEVEL,
                       bevel_top=BEVEL)
    ribs = [prism([(x, y, 0.0) for x, y in box_corners(plan.rib_wide, plan.rib_long, RIB_BEVEL, x)],
                  plan.bottom - plan.rib_deep, plan.bottom + 1.0, bevel_bottom=RIB_BEVEL)
            for x in (plan.rib, -plan.rib)]
    held = moved(seat(pivot, plan.bottom), pivot.x)
    whole = fuse(disc, tongue, held, *ribs)
    return cut(whole, cylinder(plan.pin_hole, plan.bottom - OVER, plan.top + OVER),
               core(pivot.core, pivot.mouth, pivot.core_depth, pivot.spigot_bottom, pivot.x, up=True))
