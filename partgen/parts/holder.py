"""The axle holder: a snap clip under a web under a toothed plate, one profile all along the axle."""

from math import asin, atan2, cos, sin, tan

from cadquery import Solid, Wire

from partgen.parts.shapes import (
    OVER, box_corners, chamfer, crosswise, cut, drop, edges_at, fuse, moved, outline, prism, rectangle,
    tower)
from partgen.plan.gear import END_RADIUS, WAIST_RADIUS, HolderPlan

BEVEL = 0.4         # round both end faces: the lower one lies on the bed
TIP = 0.6           # of the snap arms below the round of the hub
TIP_RADIUS = 0.45
END_FOOT = 1.3      # radius of the plate's lower ends
SUNK = 1.0          # teeth reach into the plate, so that no faces coincide


def build(plan: HolderPlan) -> Solid:
    """Return the holder [mm], axle along y, teeth upwards."""
    half = plan.width / 2
    body = prism(_profile(plan), -half, half, holes=_window(plan))
    body = chamfer(body, edges_at(body, -half) + edges_at(body, half), BEVEL, "axle holder, end faces")
    toothed = fuse(crosswise(body), *(_tooth(plan, x) for x in plan.teeth))
    return cut(toothed, *(_screw_hole(plan, x) for x in (plan.screw_x, -plan.screw_x)))


def _window(plan):
    """Return the window's outline in the web, if there is one."""
    if not plan.window:
        return ()
    width, low, high = plan.window
    return (rectangle(width, high - low, width / 2, 0.0, (low + high) / 2),)


def _tooth(plan, x):
    """A tooth is hipped at both ends, so that in print it grows out of the plate at 45 degrees."""
    high, long = plan.tooth_height, plan.tooth_length
    foot = box_corners(plan.tooth_crest + 2 * high, long, x=x)
    crest = box_corners(plan.tooth_crest, long - 2 * high, x=x)
    return tower((plan.top - SUNK, foot), (plan.top, foot), (plan.top + high, crest))


def _screw_hole(plan, x):
    """Upright in the wagon, but lying in print: the roof over it prints without a bridge."""
    low, high = plan.top - plan.plate - OVER, plan.top + plan.tooth_height + OVER
    return moved(drop(plan.screw_hole, low, high), x)


def _profile(plan) -> Wire:
    """Return the outline in (x, z): plate, web, hub and the clip open downwards.

    Arcs about the axle are drawn as rounded corners between tangents of their circle.
    """
    plate, top, half = plan.top - plan.plate, plan.top, plan.half_length
    right = [*_bore(plan), (plan.mouth, -plan.clip_depth, TIP_RADIUS), *_hub(plan),
             (plan.web, plate, plan.fillet), (half, plate, END_FOOT), (half, top, END_RADIUS)]
    return outline([*right, *((-x, z, radius) for x, z, radius in reversed(right))])


def _bore(plan):
    """Return the corners from the bore's top over its right side to the throat."""
    radius = plan.bore / 2
    throat = atan2(-plan.throat, plan.opening / 2)
    return [(radius, radius, radius), (radius, radius * tan(throat / 2), radius),
            (plan.opening / 2, -plan.throat, 0.0)]


def _hub(plan):
    """Return the corners from the tip of the right snap arm round the hub into the waist of the web."""
    radius, web = plan.hub_radius, plan.web
    tip = asin(-(plan.clip_depth - TIP) / radius)
    waist = atan2(plan.waist, web + WAIST_RADIUS)
    foot = radius * cos(tip) + TIP * tan(tip)
    return [(foot, -plan.clip_depth, TIP_RADIUS), (radius, radius * tan(tip / 2), radius),
            (radius, radius * tan(waist / 2), radius),
            (web, (radius - web * cos(waist)) / sin(waist), WAIST_RADIUS)]
