"""The axle holder: a snap clip under a web under a toothed plate, one profile all along the axle."""

from math import atan2, cos, sin, sqrt, tan

from cadquery import Solid, Wire

from partgen.parts.clip import clip_side, mirrored, window
from partgen.parts.shapes import (
    OVER,
    box_corners,
    chamfer,
    crosswise,
    cut,
    drop,
    edges_at,
    fuse,
    moved,
    outline,
    prism,
    tower,
)
from partgen.plan.running_gear.holder import END_RADIUS, WAIST_RADIUS, HolderPlan

BEVEL = 0.4         # round both end faces: the lower one lies on the bed
END_FOOT = 1.3      # radius of the plate's lower ends
NOTCH = 0.05        # a ridge reaches into the plate
SUNK = 1.0          # teeth reach into the plate, so that no faces coincide


def build(plan: HolderPlan) -> Solid:
    """Return the holder [mm], axle along y, teeth upwards."""
    half = plan.width / 2
    body = prism(_profile(plan), -half, half, holes=window(plan.window))
    body = chamfer(body, edges_at(body, -half) + edges_at(body, half), BEVEL, "axle holder, end faces")
    toothed = fuse(crosswise(body), *(_tooth(plan, x) for x in plan.teeth))
    return cut(toothed, *(tool for x in (plan.screw_x, -plan.screw_x) for tool in _screw_hole(plan, x)))


def _tooth(plan, x):
    """A tooth is hipped at both ends, so that in print it grows out of the plate at 45 degrees."""
    high, long = plan.tooth_height, plan.tooth_length
    foot = box_corners(plan.tooth_crest + 2 * high, long, x=x)
    crest = box_corners(plan.tooth_crest, long - 2 * high, x=x)
    return tower((plan.top - SUNK, foot), (plan.top, foot), (plan.top + high, crest))


def _screw_hole(plan, x):
    """Upright in the wagon, but lying in print: the roof over it bridges little.

    Through a tooth it runs up to a point: a tooth holds on one side only what would have to bridge.
    """
    low, high, r = plan.top - plan.plate - OVER, plan.top + plan.tooth_height + OVER, plan.screw_hole / 2
    ridge = [(0.5 * r, (sqrt(2) - 0.5) * r), (0.0, sqrt(2) * r), (-0.5 * r, (sqrt(2) - 0.5) * r)]
    return moved(drop(plan.screw_hole, low, high), x), moved(prism(ridge, plan.top - NOTCH, high), x)


def _profile(plan) -> Wire:
    """Return the outline in (x, z): plate, web, hub and the clip open downwards."""
    plate, top, half = plan.top - plan.plate, plan.top, plan.half_length
    side = [*clip_side(plan.clip), *_waist(plan), (plan.web, plate, plan.fillet), (half, plate, END_FOOT),
            (half, top, END_RADIUS)]
    return outline([*side, *mirrored(side)])


def _waist(plan):
    """Return the corners from the hub's side into the waist of the web."""
    radius, web = plan.clip.hub_radius, plan.web
    waist = atan2(plan.waist, web + WAIST_RADIUS)
    return [(radius, radius * tan(waist / 2), radius),
            (web, (radius - web * cos(waist)) / sin(waist), WAIST_RADIUS)]
