"""The wheel that is pressed on a rod, and the jig that sets how far apart two of them stand."""

from cadquery import Location, Shape

from partgen.parts.shapes import OVER, Corner, cut, lathe, prism, rectangle, rounded_box
from partgen.plan.wheel import JigPlan, WheelPlan

EDGE = 0.4              # bevel of the jig on the bed and above
CORNER = 1.0            # radius at the ends of its faces
INNER = 2.0             # where the rib meets them


def wheel(plan: WheelPlan) -> Shape:
    """Return the wheel [mm], axle along y, the flange's back at y = 0: printed it lies on that."""
    return lathe(plan.section).moved(Location((0, 0, 0), (1, 0, 0), -90))


def jig(plan: JigPlan) -> Shape:
    """Return the jig [mm], standing: both faces are drawn by the nozzle's path and not by layers."""
    half, face, rib = plan.length / 2, plan.apart / 2, plan.rib / 2
    quarter: list[Corner] = [(half, face, CORNER), (half, face - plan.leaf), (rib, face - plan.leaf, INNER)]
    corners = ([(x, -y, *r) for x, y, *r in quarter] + quarter[::-1]
               + [(-x, y, *r) for x, y, *r in quarter] + [(-x, -y, *r) for x, y, *r in quarter[::-1]])
    base = corners if rib < half else rectangle(plan.length, plan.apart, CORNER)
    body = prism(base, 0.0, plan.height, bevel_bottom=EDGE, bevel_top=EDGE)
    return cut(body, rounded_box(plan.slot, plan.apart + 2 * OVER, plan.floor, plan.height + OVER, 0.0))
