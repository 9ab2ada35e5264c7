"""The plate over the coupler's magnets."""

from cadquery import Solid

from partgen.parts.shapes import box_corners, tower
from partgen.plan.coupling import CoverPlan

BEVEL = 0.4
CLIP = 0.3


def build(plan: CoverPlan) -> Solid:
    """Return the plate [mm], its upper edge bevelled."""
    shrink = 2 * BEVEL
    return tower((0.0, box_corners(plan.length, plan.width, CLIP)),
                 (plan.height - BEVEL, box_corners(plan.length, plan.width, CLIP)),
                 (plan.height, box_corners(plan.length - shrink, plan.width - shrink, CLIP - 0.586 * BEVEL)))
