"""What carries the wheels: axle holder and clamp bar, or bogie; both a profile along the axle with the same snap clip.

Arcs about the axle are drawn as rounded corners between tangents of their circle. Corners are (x, z, radius) [mm].
"""

from collections.abc import Iterator, Sequence
from itertools import product
from math import acos, asin, cos, pi, sin, sqrt

from cadquery import Shape, Wire

from partgen.parts.shapes import (
    OVER,
    TINY,
    Corner,
    Point,
    box_corners,
    chamfer,
    crosswise,
    cut,
    drop,
    edges_at,
    fuse,
    joined,
    moved,
    outline,
    prism,
    rounded_box,
    tower,
    turned,
)
from partgen.plan.fits import FOOT
from partgen.plan.running_gear.arm import GROOVE, GROOVE_DEEP
from partgen.plan.running_gear.axle_clip import PAD, AxleClip
from partgen.plan.running_gear.bogie import SPRING, BogiePlan
from partgen.plan.running_gear.holder import END_RADIUS, FILLET, NOTCH_FLANK, BarPlan, HolderPlan, ToothedPlate

BEVEL = 0.3         # round both end faces: the lower one lies on the bed
TIP_RADIUS = 0.4    # of the snap arms' ends, where the axle slides in
BEND = 1.0          # radius where they flare
END_FOOT = 1.3      # radius of the holder's plate at its lower ends
NOTCH = 0.05        # a ridge reaches into the plate
SUNK = 1.0          # teeth reach into the plate, so that no faces coincide
BAR_CLIP = 1.2      # upright corners of the clamp bar
BAR_BEVEL = 0.4     # round its upper face
PLATE_END = 2.5     # radius of the bogie's plate at its upper ends
CROWN = 6.0         # radius where its upper face falls off beside the pad
SOFFIT = 8.0        # radius where the arch meets the plate's flat underside


# The snap clip, its axle in the origin

def clip(plan: AxleClip) -> Shape:
    """Return a clip that stands alone [mm], axle along y, under a block."""
    side, far = [*_clip_side(plan), (plan.half, plan.block)], plan.tip + plan.width
    # As wide as that, the recess has no slopes beside the arms: they would leave edges thinner than a line.
    return _along_axle(outline([*side, *_mirrored(side)]), plan.alone, "clip", (-far, far))


def _clip_side(plan: AxleClip) -> list[Corner]:
    """Return the right half's corners from the stem's end over slot, arm and throat to the arm's outside."""
    bore, stem, gap = plan.bore / 2, plan.stem / 2, (plan.inner - plan.stem / 2) / 2
    edge, throat = acos(plan.saddle / bore), asin(plan.throat / bore)
    ledge = [(plan.inner, 0.0), (bore, 0.0)] if plan.inner > bore + TINY else []
    return [_round(bore, pi / 2, edge), (stem, bore * sin(edge)), (stem, plan.root, gap), (plan.inner, plan.root, gap),
            *ledge, _round(bore, 0.0, -throat), (plan.opening / 2, -plan.throat), (plan.mouth, -plan.depth, TIP_RADIUS),
            (plan.tip, -plan.depth), (plan.half, -plan.throat, BEND)]


def _round(radius: float, start: float, end: float) -> Corner:
    """Return the corner that rounds into the arc of `radius` [mm] about the axle from angle `start` to `end` [rad]."""
    middle, far = (start + end) / 2, radius / cos((start - end) / 2)
    return far * cos(middle), far * sin(middle), radius


def _mirrored(corners: Sequence[Corner]) -> list[Corner]:
    """Return `corners` seen from the other side of the axle, in reverse order."""
    return [(-x, *rest) for x, *rest in reversed(corners)]


def _along_axle(profile: Wire, plan: AxleClip, what: str, *recesses: tuple[float, float]) -> Shape:
    """Return a profile all along the axle, its end faces bevelled; from where to where along x they stand back over the
    pads is `recesses` [mm]."""
    half = plan.width / 2
    body = prism(profile, -half, half)
    bevelled = chamfer(body, edges_at(body, -half) + edges_at(body, half), BEVEL, what)
    return crosswise(cut(bevelled, *(tool for span in recesses for tool in _recess(plan, span))))


def _stops(plan: AxleClip, *places: float) -> tuple[Shape, ...]:
    """Return what stands down between the bearings of axles at `places` along x [mm]: sloped at both ends, so that it
    prints. They are joined with their seams: taking those out beside the bore can spoil the solid."""
    if not plan.stop:
        return ()
    bore, wide, long, deep = plan.bore / 2, plan.stem - 2 * NOTCH, 2 * plan.stop_half, plan.stop
    return tuple(tower((bore - deep, box_corners(wide, long - 2 * deep, x=x)), (bore, box_corners(wide, long, x=x)),
                       (bore + PAD / 2, box_corners(wide, long, x=x))) for x in places)


def _recess(plan: AxleClip, span: tuple[float, float]) -> tuple[Shape, ...]:
    """Return the tools that let both end faces stand back by 45 degrees from all sides, in the profile's own plane, if
    anywhere."""
    (x0, x1), half = span, plan.width / 2
    high = min(plan.over, plan.pad + 2 * plan.width)
    if high - plan.pad < 4 * TINY:
        return ()
    deep = min(x1 - x0, high - plan.pad, plan.width) / 2 - TINY

    def level(out: float) -> list[Point]:
        return box_corners(x1 - x0 - 2 * out, high - plan.pad - 2 * out, 0.0, (x0 + x1) / 2, (high + plan.pad) / 2)

    tool = tower((half - deep, level(deep)), (half + OVER, level(-OVER)))
    return tool, tool.mirror("XY")


# Axle holder: the clip under a toothed plate

def holder(plan: HolderPlan) -> Shape:
    """Return the holder [mm], axle along y, teeth upwards."""
    body = _along_axle(_holder_profile(plan), plan.clip, "axle holder, end faces", (-plan.recess, plan.recess))
    toothed = joined(fuse(body, *(tooth(plan, x) for x in plan.teeth)), *_stops(plan.clip, 0.0))
    screws = (tool for x in (plan.screw_x, -plan.screw_x) for tool in screw_hole(plan, x))
    return cut(toothed, *screws, *notches(plan))


def notches(plan: ToothedPlate, flank: float = NOTCH_FLANK) -> Iterator[Shape]:
    """Yield the tools of what shows the frame's marks in both ends of the plate, `flank` times as wide as deep."""
    deep = plan.notch + OVER
    for side, end in product((1, -1), (1, -1)) if plan.notch else ():
        tip, y, wide = end * (plan.half_length - plan.notch), side * plan.notch_y, flank * deep
        corners = [(tip, y), (tip + end * deep, y - end * wide), (tip + end * deep, y + end * wide)]
        yield prism(corners, plan.under - OVER, plan.top + OVER)


def _holder_profile(plan: HolderPlan) -> Wire:
    """Return the outline in (x, z): plate and clip."""
    side = [*_clip_side(plan.clip), (plan.clip.half, plan.under, FILLET), (plan.half_length, plan.under, END_FOOT),
            (plan.half_length, plan.top, END_RADIUS)]
    return outline([*side, *_mirrored(side)])


def tooth(plan: ToothedPlate, x: float) -> Shape:
    """A tooth is hipped at both ends, so that in print it grows out of the plate at 45 degrees."""
    high, long = plan.tooth_height, plan.tooth_length
    foot = box_corners(plan.tooth_crest + 2 * high, long, x=x)
    crest = box_corners(plan.tooth_crest, long - 2 * high, x=x)
    return tower((plan.top - SUNK, foot), (plan.top, foot), (plan.top + high, crest))


def screw_hole(plan: ToothedPlate, x: float) -> tuple[Shape, Shape]:
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
    far = plan.half_length + plan.width
    body = _along_axle(_bogie_profile(plan), plan.clip, "bogie, side faces", (plan.recess, far), (-far, -plan.recess))
    body = joined(body, *_stops(plan.clip, plan.axle_x, -plan.axle_x))
    # The pin's hole lies in print: the roof over it needs no bridge.
    grooves = [rounded_box(GROOVE, plan.width + 2 * OVER, plan.top - GROOVE_DEEP, plan.top + OVER, 0.0, x)
               for x in ((plan.groove, -plan.groove) if plan.groove else ())]
    return cut(body, drop(plan.pin_hole, plan.under - OVER, plan.top + OVER), *grooves)


def _bogie_profile(plan: BogiePlan) -> Wire:
    """Return the outline in (x, z): arch, leg with its clip, end and upper face, then the same mirrored."""
    side = _clip_side(plan.clip)
    leg = [(plan.axle_x + x, *rest) for x, *rest in (*_mirrored(side), *side)]
    half = [(plan.under_flat, plan.under, SOFFIT), (plan.axle_x - plan.clip.half, plan.haunch, SPRING), *leg,
            (plan.axle_x + plan.clip.half, plan.end_top, PLATE_END), (plan.flat, plan.top, CROWN)]
    return outline([*half, *_mirrored(half)])
