"""The plate over the coupler's magnets."""

from math import sqrt

from cadquery import Solid

from partgen.parts.shapes import box_corners, tower
from partgen.plan.coupling import CoverPlan

CLIP = 0.3      # upright corners


def build(plan: CoverPlan) -> Solid:
    """Return the plate [mm], both edges bevelled: either side goes in first."""
    whole = box_corners(plan.length, plan.width, CLIP)
    shrink, clip = 2 * plan.bevel, CLIP - (2 - sqrt(2)) * plan.bevel
    top = box_corners(plan.length - shrink, plan.width - shrink, clip)
    return tower((0.0, top), (plan.bevel, whole), (plan.height - plan.bevel, whole), (plan.height, top))
