"""What carries the wheels: axle holder and clamp bar, or bogie; both a profile along the axle with the same snap clip.

Arcs about the axle are drawn as rounded corners between tangents of their circle. Corners are (x, z, radius) [mm].
"""

from collections.abc import Sequence
from math import asin, atan2, cos, sin, sqrt, tan

from cadquery import Shape, Wire

from partgen.parts.shapes import (
    OVER,
    Corner,
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
    rectangle,
    tower,
    turned,
)
from partgen.plan.fits import FOOT
from partgen.plan.running_gear.axle_clip import AxleClip
from partgen.plan.running_gear.bogie import BogiePlan
from partgen.plan.running_gear.holder import END_RADIUS, WAIST_RADIUS, BarPlan, HolderPlan

BEVEL = 0.4         # round both end faces: the lower one lies on the bed
TIP = 0.6           # of the snap arms below the round of the hub
TIP_RADIUS = 0.45
END_FOOT = 1.3      # radius of the holder's plate at its lower ends
NOTCH = 0.05        # a ridge reaches into the plate
SUNK = 1.0          # teeth reach into the plate, so that no faces coincide
BAR_CLIP = 1.2      # upright corners of the clamp bar
BAR_BEVEL = 0.4     # round its upper face
PLATE_END = 2.5     # radius of the bogie's plate at its upper ends
CROWN = 6.0         # radius where its upper face falls off beside the pad
SPRING = 2.5        # radius where its arch springs from a leg
SOFFIT = 8.0        # radius where the arch meets the plate's flat underside


# The snap clip, its axle in the origin

def _clip_side(plan: AxleClip) -> list[Corner]:
    """Return the right half's corners from the bore's top over the throat to the snap arm's tip and the hub's side."""
    bore, hub = plan.bore / 2, plan.hub_radius
    throat = atan2(-plan.throat, plan.opening / 2)
    tip = asin(-(plan.depth - TIP) / hub)
    return [(bore, bore, bore), (bore, bore * tan(throat / 2), bore), (plan.opening / 2, -plan.throat, 0.0),
            (plan.mouth, -plan.depth, TIP_RADIUS), (hub * cos(tip) + TIP * tan(tip), -plan.depth, TIP_RADIUS),
            (hub, hub * tan(tip / 2), hub)]


def _mirrored(corners: Sequence[Corner]) -> list[Corner]:
    """Return `corners` seen from the other side of the axle, in reverse order."""
    return [(-x, z, radius) for x, z, radius in reversed(corners)]


def _window(span: tuple[float, float, float] | None, *middles: float) -> list[Wire]:
    """Return the outlines of a window (width, lowest, highest) [mm] about every middle, its ends round."""
    if not span:
        return []
    width, low, high = span
    return [rectangle(width, high - low, width / 2, x, (low + high) / 2) for x in middles]


def _along_axle(profile: Wire, width: float, holes: list[Wire], what: str) -> Shape:
    """Return a profile as a body `width` [mm] long along y, both its end faces bevelled."""
    half = width / 2
    body = prism(profile, -half, half, holes=holes)
    return crosswise(chamfer(body, edges_at(body, -half) + edges_at(body, half), BEVEL, what))


# Axle holder: the clip under a web under a toothed plate

def holder(plan: HolderPlan) -> Shape:
    """Return the holder [mm], axle along y, teeth upwards."""
    body = _along_axle(_holder_profile(plan), plan.width, _window(plan.window, 0.0), "axle holder, end faces")
    toothed = fuse(body, *(_tooth(plan, x) for x in plan.teeth))
    return cut(toothed, *(tool for x in (plan.screw_x, -plan.screw_x) for tool in _screw_hole(plan, x)))


def _holder_profile(plan: HolderPlan) -> Wire:
    """Return the outline in (x, z): plate, web with its waist, hub and the clip open downwards."""
    plate, half, web, hub = plan.top - plan.plate, plan.half_length, plan.web, plan.clip.hub_radius
    waist = atan2(plan.waist, web + WAIST_RADIUS)
    side = [*_clip_side(plan.clip), (hub, hub * tan(waist / 2), hub),
            (web, (hub - web * cos(waist)) / sin(waist), WAIST_RADIUS), (web, plate, plan.fillet),
            (half, plate, END_FOOT), (half, plan.top, END_RADIUS)]
    return outline([*side, *_mirrored(side)])


def _tooth(plan: HolderPlan, x: float) -> Shape:
    """A tooth is hipped at both ends, so that in print it grows out of the plate at 45 degrees."""
    high, long = plan.tooth_height, plan.tooth_length
    foot = box_corners(plan.tooth_crest + 2 * high, long, x=x)
    crest = box_corners(plan.tooth_crest, long - 2 * high, x=x)
    return tower((plan.top - SUNK, foot), (plan.top, foot), (plan.top + high, crest))


def _screw_hole(plan: HolderPlan, x: float) -> tuple[Shape, Shape]:
    """Upright in the wagon, but lying in print: the roof over it bridges little.

    Through a tooth it runs up to a point: a tooth holds on one side only what would have to bridge.
    """
    low, high, r = plan.top - plan.plate - OVER, plan.top + plan.tooth_height + OVER, plan.screw_hole / 2
    ridge = [(0.5 * r, (sqrt(2) - 0.5) * r), (0.0, sqrt(2) * r), (-0.5 * r, (sqrt(2) - 0.5) * r)]
    return moved(drop(plan.screw_hole, low, high), x), moved(prism(ridge, plan.top - NOTCH, high), x)


# Clamp bar: slides in the frame's slot and holds two nuts

def bar(plan: BarPlan) -> Shape:
    """Return the bar [mm]: 45 degree flanks below, upright above, nut pockets open upwards."""
    return cut(_bar_body(plan), *(tool for x in (plan.screw_x, -plan.screw_x) for tool in _nut(plan, x)))


def _bar_body(plan: BarPlan) -> Shape:
    """Every level is the one below or above moved in parallel, so the corners' cuts follow the flanks."""
    def level(z: float, inward: float) -> tuple[float, list[tuple[float, float]]]:
        clip = max(BAR_CLIP, (2 - sqrt(2)) * plan.flank + 0.2) - (2 - sqrt(2)) * inward
        return z, box_corners(plan.length - 2 * inward, plan.width - 2 * inward, clip)

    return tower(level(0.0, plan.flank), level(plan.flank, 0.0), level(plan.height - BAR_BEVEL, 0.0),
                 level(plan.height, BAR_BEVEL))


def _nut(plan: BarPlan, x: float) -> tuple[Shape, Shape]:
    """Return the tools for one nut pocket, flats facing +-y, and the screw hole below it, its mouth bevelled."""
    floor, flat = plan.height - plan.nut_depth, plan.nut / 2
    point = plan.nut / sqrt(3)
    hexagon = [(x + point, 0), (x + point / 2, flat), (x - point / 2, flat), (x - point, 0),
               (x - point / 2, -flat), (x + point / 2, -flat)]
    bore = plan.screw_hole
    return (prism(hexagon, floor, plan.height + OVER),
            turned([(-OVER, bore + 2 * (FOOT + OVER)), (FOOT, bore), (floor + OVER, bore)], x))


# Bogie: two clips on legs under an arched plate

def bogie(plan: BogiePlan) -> Shape:
    """Return the bogie [mm], pivot on the z axis, axles along y at z = 0."""
    body = _along_axle(_bogie_profile(plan), plan.width, _window(plan.window, plan.axle_x, -plan.axle_x),
                       "bogie, side faces")
    # The pin's hole lies in print: the roof over it needs no bridge.
    return cut(body, drop(plan.pin_hole, plan.under - OVER, plan.top + OVER))


def _bogie_profile(plan: BogiePlan) -> Wire:
    """Return the outline in (x, z): arch, leg with its clip, end and upper face, then the same mirrored."""
    side = _clip_side(plan.clip)
    leg = [(plan.axle_x + x, z, radius) for x, z, radius in (*_mirrored(side), *side)]
    half = [(plan.under_flat, plan.under, SOFFIT), (plan.axle_x - plan.clip.hub_radius, plan.haunch, SPRING), *leg,
            (plan.half_length, plan.end_top, PLATE_END), (plan.flat, plan.top, CROWN)]
    return outline([*half, *_mirrored(half)])
