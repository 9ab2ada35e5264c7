"""The clamp bar: slides in the frame's slot and holds two nuts."""

from math import sqrt

from cadquery import Solid

from partgen.parts.shapes import OVER, box_corners, cut, outline, prism, tower, turned
from partgen.plan.fits import FOOT
from partgen.plan.running_gear.holder import BarPlan

CLIP = 1.2      # upright corners
BEVEL = 0.4     # round the upper face


def build(plan: BarPlan) -> Solid:
    """Return the bar [mm]: 45 degree flanks below, upright above, nut pockets open upwards."""
    tools = [tool for x in (plan.screw_x, -plan.screw_x) for tool in _nut(plan, x)]
    return cut(_body(plan), *tools)


def _body(plan):
    """Every level is the one below or above moved in parallel, so the corners' cuts follow the flanks."""
    def level(z, inward):
        clip = max(CLIP, (2 - sqrt(2)) * plan.flank + 0.2) - (2 - sqrt(2)) * inward
        return z, box_corners(plan.length - 2 * inward, plan.width - 2 * inward, clip)

    return tower(level(0.0, plan.flank), level(plan.flank, 0.0), level(plan.height - BEVEL, 0.0),
                 level(plan.height, BEVEL))


def _nut(plan, x):
    """Return the tools for one nut pocket, flats facing +-y, and the screw hole below it, its mouth bevelled."""
    floor, flat = plan.height - plan.nut_depth, plan.nut / 2
    point = plan.nut / sqrt(3)
    hexagon = [(x + point, 0), (x + point / 2, flat), (x - point / 2, flat), (x - point, 0),
               (x - point / 2, -flat), (x + point / 2, -flat)]
    bore = plan.screw_hole
    return (prism(outline(hexagon), floor, plan.height + OVER),
            turned([(-OVER, bore + 2 * (FOOT + OVER)), (FOOT, bore), (floor + OVER, bore)], x))
