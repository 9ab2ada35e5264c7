"""The body: floor and walls with planked, panelled or plain sides; printed as it stands."""

from collections.abc import Iterator, Sequence

from cadquery import Shape

from partgen.parts.fittings import eyes, hollows, standing
from partgen.parts.lid import beads, wire_way
from partgen.parts.nameplate import covered, lettered, sinks, tablets
from partgen.parts.openings import cuts, frames, vented
from partgen.parts.sensor_holder import way
from partgen.parts.shapes import (
    OVER,
    Point,
    cut,
    fuse,
    intersect,
    lengthwise,
    mouth,
    moved,
    prism,
    rounded_box,
    turned,
    yawed,
)
from partgen.plan.body.body import BodyPlan
from partgen.plan.body.light_strip import WAY_DEEP
from partgen.plan.body.shell import HEAD_ROOM, PANEL_BORDER

BED_BEVEL = 0.6         # the first layers spread; at this much they stay inside the outline
ROOTED = 0.4            # of a rib in the wall
FOOT = 0.6              # 45 degree fillet between floor and walls


def body(plan: BodyPlan) -> Shape:
    """Return the body in wagon axes, heights over rail top [mm]."""
    shell = cut(_block(plan), _inside(plan), _lead_in(plan))
    held = beads(plan.lid_clips, plan.top) if plan.lid_clips else ()
    whole = fuse(shell, *_fences(plan), *held, *standing(plan))
    leads = (way(place, plan.bottom, plan.bottom + plan.floor, down=True) for place in plan.leads)
    whole = cut(whole, *_screw_holes(plan), *_fields(plan), *cuts(plan), *hollows(plan), *eyes(plan), *_notches(plan),
                *leads, *sinks(plan))
    return lettered(whole, plan)


def _notches(plan: BodyPlan) -> Iterator[Shape]:
    """Yield the tools of the notches in the walls' upper edge that light strips' wires lie in."""
    for x, wall in plan.fittings.ways:
        yield wire_way(x, wall, plan.width, plan.wall, plan.top - WAY_DEEP, plan.top + OVER)


def _block(plan: BodyPlan) -> Shape:
    """Return the outside; its top edge is bevelled as far as a thin wall allows."""
    return rounded_box(plan.length, plan.width, plan.bottom, plan.top, plan.corner, bevel_bottom=BED_BEVEL,
                       bevel_top=min(0.6, 0.3 * plan.wall))


def _inside(plan: BodyPlan) -> Shape:
    x, y, _ = plan.inside
    return rounded_box(x, y, plan.bottom + plan.floor, plan.top + OVER, plan.inner_corner, bevel_bottom=FOOT)


def _lead_in(plan: BodyPlan) -> Shape:
    """Return what bevels the inside's upper edge, so that lid and cradle find their way in."""
    return mouth(*plan.inside[:2], plan.top, min(0.4, 0.2 * plan.wall), plan.inner_corner, sunk=0.5)


def _fences(plan: BodyPlan) -> Iterator[Shape]:
    """Yield the ribs between modules, those that reach a wall rooted in it."""
    floor = plan.bottom + plan.floor
    for rib in plan.ribs:
        sense, wall = (1 if rib.y > 0 else -1), plan.inside[1] / 2
        rooted = ROOTED if abs(rib.y) + rib.width / 2 > wall - 1e-6 else 0.0
        yield rounded_box(rib.length, rib.width + rooted, floor - OVER, floor + plan.fence_height, 0.6, rib.x,
                          rib.y + sense * rooted / 2, bevel_top=0.5)


def _screw_holes(plan: BodyPlan) -> Iterator[Shape]:
    """Yield a countersunk hole for every screw; where a thick wall stands in the head's way, a flute too."""
    floor, cone, wide = plan.bottom + plan.floor, plan.cone, plan.cone + 2 * HEAD_ROOM
    shaft = [(floor, wide), (plan.top + OVER, wide)] if plan.flute else [(floor + OVER, cone)]
    for x, y in plan.screws:
        seat = floor - (cone - plan.screw_hole) / 2
        yield turned([(plan.bottom - OVER, plan.screw_hole + 2 * (FOOT + OVER)), (plan.bottom + FOOT, plan.screw_hole),
                      (seat, plan.screw_hole), (floor, cone), *shaft], x, y)


# Sides: a field's tool is drawn before a wall whose face is y = 0, the wagon's inside towards -y

def _fields(plan: BodyPlan) -> Iterator[Shape]:
    """Yield the tools that sink planks or panels into all four walls, round openings and name plates a smooth band;
    behind vents a field is plain."""
    left = (*frames(plan), *tablets(plan)) if plan.groove else ()
    for along, across, yaw, walls in ((plan.length, plan.width, 0, ("left", "right")),
                                      (plan.width, plan.length, 90, ("back", "front"))):
        fields = plan.fields(along)
        if not fields:
            continue
        length = fields[0][1] - fields[0][0]
        tool = _planked(plan, length) if plan.sides == "planked" else _panelled(plan, length)
        plain = _plain(plan, length)
        for start, end in fields:
            for wall, turn in zip(walls, (yaw, yaw + 180), strict=True):
                if covered(plan, wall, -end, -start):
                    continue
                seen = plain if vented(plan, wall, -end, -start) else tool
                sunk = yawed(moved(seen, (start + end) / 2, across / 2), turn)
                yield cut(sunk, *(band for band in left if _meet(band, sunk)))


def _meet(one: Shape, other: Shape) -> bool:
    a, b = one.BoundingBox(), other.BoundingBox()
    return a.xmin < b.xmax and b.xmin < a.xmax and a.ymin < b.ymax and b.ymin < a.ymax


def _planked(plan: BodyPlan, length: float) -> Shape:
    """Return a field whose face stands back by the recess and is grooved between planks."""
    back, vee = plan.recess, plan.groove - plan.recess
    low, high = plan.field_z
    face = [(OVER, low - OVER), (-back, low + back)]
    for z in plan.planks:
        face += [(-back, z - vee), (-back - vee, z), (-back, z + vee)]
    return _hipped(length, face + [(-back, high - back), (OVER, high + OVER)], plan.groove)


def _plain(plan: BodyPlan, length: float) -> Shape:
    """Return a field without planks or raised middle."""
    back, (low, high) = plan.recess, plan.field_z
    face = [(OVER, low - OVER), (-back, low + back), (-back, high - back), (OVER, high + OVER)]
    return _hipped(length, face, back)


def _panelled(plan: BodyPlan, length: float) -> Shape:
    """Return a field with a raised middle where there is room for one."""
    back, (low, high) = plan.recess, plan.field_z
    field = _plain(plan, length)
    proud, edge = plan.panel_rise - back, 2 * back + PANEL_BORDER
    if min(length, high - low) - 2 * edge < 2 * PANEL_BORDER:
        return field
    base, half = -back - OVER, length / 2 - edge
    deep = proud - base
    foot, head = low + edge, high - edge
    upright = [(proud, foot), (proud, head), (base, head + deep), (base, foot - deep)]
    level = [(half, proud), (-half, proud), (-half - deep, base), (half + deep, base)]
    return cut(field, intersect(_along(upright, length + 2 * OVER), _upright(level, low, high)))


def _hipped(length: float, face: Sequence[Point], depth: float) -> Shape:
    """Return the profile `face` in (y, z) swept along a field, its ends cut back at 45 degrees to `depth`."""
    wide, narrow, deep = length / 2 + OVER, length / 2 - depth - OVER, depth + OVER
    ends = _upright([(wide, OVER), (-wide, OVER), (-narrow, -deep), (narrow, -deep)], face[0][1], face[-1][1])
    return intersect(_along(face, length + 4 * OVER), ends)


def _along(face: Sequence[Point], length: float) -> Shape:
    """Return the profile in (y, z) as a bar `length` [mm] long about x = 0."""
    return lengthwise(prism(face, -length / 2, length / 2))


def _upright(base: Sequence[Point], low: float, high: float) -> Shape:
    return prism(base, low - OVER, high + OVER)
