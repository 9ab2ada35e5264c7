"""The coupon as one closed mesh."""

from collections.abc import Callable, Iterable

import numpy as np
from manifold3d import CrossSection, JoinType, Manifold, OpType
from trimesh import Trimesh

from partgen.formulas.plastic import bore
from partgen.lettering import lettering
from partgen.parts import running_gear
from partgen.plan.fits import FOOT, SIDES
from partgen.plan.running_gear.axle_clip import AxleClip
from partgen.printing.coupon import ENGRAVED, RIB, SINK, STAY, TALL, CouponPlan, Ladder, Rung
from partgen.solids.mesh import mesh_of
from partgen.solids.overlap import solid

OVER = 1.0
CORNER = 3.0
LINE = 1.4              # from one line of a heading to the next, over the type's height
LABEL = 1.2             # from a label to the step behind it


def coupon_mesh(plan: CouponPlan) -> Trimesh:
    """Return the coupon's mesh [mm] as it lies on the bed, z = 0 at its underside."""
    rungs = {ladder.name: ladder.rungs for ladder in plan.ladders}
    solid = _plate(plan)
    for name, grown in GROWN.items():
        solid += _all(grown(plan, rung) for rung in rungs.get(name, ()))
    clips = zip(rungs.get("snap", ()), plan.clips, strict=False)    # as many as fit
    solid += _all(_clip(plan, *pair) for pair in clips)
    solid -= _all(sunk(plan, rung) for name, sunk in SUNK.items() for rung in rungs.get(name, ()))
    solid -= _letters(plan)
    data = solid.to_mesh64()
    return Trimesh(np.array(data.vert_properties[:, :3]), data.tri_verts.astype(int), process=False)


def _all(bodies: Iterable[Manifold]) -> Manifold:
    """Return all bodies as one; an empty one where there are none."""
    return Manifold.batch_boolean([Manifold(), *bodies], OpType.Add)


def _plate(plan: CouponPlan) -> Manifold:
    """A plate with round corners, both its edges bevelled."""
    def level(inward: float, z: float) -> Manifold:
        side = CrossSection.square((plan.length - 2 * CORNER, plan.width - 2 * CORNER), True)
        return side.offset(CORNER - inward, JoinType.Round, circular_segments=48).extrude(1e-3).translate((0, 0, z))

    top = plan.thickness
    return Manifold.batch_hull([level(FOOT, 0.0), level(0.0, FOOT), level(0.0, top - FOOT), level(FOOT, top - 1e-3)])


def _hole(plan: CouponPlan, rung: Rung) -> Manifold:
    """A hole as wide as labelled, both mouths bevelled."""
    return _through(rung, plan.thickness)


def _hub(plan: CouponPlan, rung: Rung) -> Manifold:
    """A printed wheel's hub."""
    diameter, high = plan.hub
    return Manifold.cylinder(max(high, plan.thickness), diameter / 2, -1, SIDES).translate((rung.x, rung.y, 0))


def _press(plan: CouponPlan, rung: Rung) -> Manifold:
    """The bore of a printed wheel, as long as its hub."""
    return _through(rung, max(plan.hub[1], plan.thickness))


def _through(rung: Rung, top: float) -> Manifold:
    diameter = bore(rung.size, 0.0, SIDES)
    wide = diameter + 2 * (FOOT + OVER)
    straight = Manifold.cylinder(top + 2 * OVER, diameter / 2, -1, SIDES).translate((0, 0, -OVER))
    mouth = Manifold.cylinder(FOOT + OVER, wide / 2, diameter / 2, SIDES).translate((0, 0, -OVER))
    above = mouth.mirror((0, 0, 1)).translate((0, 0, top))
    return (straight + mouth + above).translate((rung.x, rung.y, 0))


def _gap(plan: CouponPlan, rung: Rung) -> Manifold:
    """A slot as wide as labelled, its mouth on the bed bevelled."""
    straight = Manifold.cube((rung.size, RIB, plan.thickness + 2 * OVER), True).translate((0, 0, plan.thickness / 2))
    low = Manifold.cube((rung.size + 2 * (FOOT + OVER), RIB + 2 * (FOOT + OVER), 1e-3), True)
    high = Manifold.cube((rung.size, RIB, 1e-3), True)
    mouth = Manifold.batch_hull([low.translate((0, 0, -OVER)), high.translate((0, 0, FOOT))])
    return (straight + mouth).translate((rung.x, rung.y, 0))


def _block(plan: CouponPlan, rung: Rung) -> Manifold:
    """What a magnet's pocket is sunk into: two lines or more all round."""
    wall = max(1.2, plan.printer.thinnest_wall)
    across, along = (size + 0.6 + 2 * wall for size in plan.magnet)
    base = CrossSection.square((across - 1.0, along - 1.0), True).offset(0.5, JoinType.Round, circular_segments=24)
    return base.extrude(plan.block).translate((rung.x, rung.y, 0))


def _pocket(plan: CouponPlan, rung: Rung) -> Manifold:
    """The drawbar's pocket: a disc stands in it on its edge, `rung.size` larger each way than the magnet."""
    diameter, thick = (size + rung.size for size in plan.magnet)
    middle = plan.block - SINK
    disc = Manifold.cylinder(thick, bore(diameter, 0.0, SIDES) / 2, -1, SIDES).translate((0, 0, -thick / 2))
    disc = disc.rotate((90, 0, 0)).translate((0, 0, middle))
    above = Manifold.cube((diameter, thick, SINK + OVER), True).translate((0, 0, middle + (SINK + OVER) / 2))
    return (disc + above).translate((rung.x, rung.y, 0))


def _peg(plan: CouponPlan, rung: Rung) -> Manifold:
    radius = rung.size / 2
    straight = Manifold.cylinder(TALL - FOOT + OVER, radius, -1, SIDES).translate((0, 0, -OVER))
    tip = Manifold.cylinder(FOOT, radius, radius - FOOT, SIDES).translate((0, 0, TALL - FOOT))
    return (straight + tip).translate((rung.x, rung.y, plan.thickness))


def _wall(plan: CouponPlan, rung: Rung) -> Manifold:
    rib = Manifold.cube((rung.size, RIB, TALL + OVER), True)
    return rib.translate((rung.x, rung.y, plan.thickness + (TALL - OVER) / 2))


def _clip(plan: CouponPlan, rung: Rung, clip: AxleClip) -> Manifold:
    """An axle holder's clip before the plate's front edge, printed as the holder is, with a stay behind it."""
    mesh = mesh_of(running_gear.clip(clip))
    stood = solid(mesh).rotate((-90, 0, 0))     # its axle upright, open towards the front
    low, high = stood.bounding_box()[2], clip.width - 2 * FOOT
    thick = max(2.0, 2 * plan.printer.thinnest_wall)
    profile = [(0.0, 0.0), (STAY, 0.0), (STAY, plan.thickness), (0.0, high)]
    stay = CrossSection([profile]).extrude(thick).translate((0, 0, -thick / 2)).rotate((90, 0, 90))
    return stood.translate((rung.x, rung.y - clip.block + OVER, -low)) + stay.translate((rung.x, rung.y, 0))


def _letters(plan: CouponPlan) -> Manifold:
    """Every label before its step, and every heading at the left."""
    marks = [(line, ladder.x, ladder.y + number * LINE * plan.letter, 0.0) for ladder in plan.ladders
             for number, line in enumerate(reversed(ladder.heading.split("\n")))]
    for ladder in plan.ladders:
        down = 0.0 if ladder.name == "snap" else _reach(plan, ladder) + (plan.letter / 2 + LABEL)
        marks += [(rung.label, rung.x, ladder.y - down, 0.5) for rung in ladder.rungs]
    cuts = []
    for text, x, y, share in marks:
        flat = lettering(text, plan.letter, plan.printer.line_width)
        letters = flat.extrude(ENGRAVED + OVER)
        cuts.append(letters.translate((x - share * flat.bounds()[2], y, plan.thickness - ENGRAVED)))
    return _all(cuts)


def _reach(plan: CouponPlan, ladder: Ladder) -> float:
    """Return how far [mm] a ladder's largest step reaches before its middle."""
    if ladder.name in ("gap", "wall"):
        return RIB / 2
    if ladder.name == "magnet":
        return plan.magnet[1] / 2 + 1.5
    return max(max(ladder.drawn) / 2 + FOOT, plan.hub[0] / 2 if ladder.name == "press" else 0.0)


GROWN: dict[str, Callable[[CouponPlan, Rung], Manifold]] = {"magnet": _block, "press": _hub, "peg": _peg, "wall": _wall}
SUNK: dict[str, Callable[[CouponPlan, Rung], Manifold]] = {
    "axle": _hole, "tube": _hole, "press": _press, "core": _hole, "gap": _gap, "magnet": _pocket}
"""What stands on the plate and what is sunk into it, by ladder."""
