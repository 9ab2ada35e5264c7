"""The lid's snap clip, printed as it lies, and what holds it: sockets under the lid, beads on the body's walls.

All is drawn in the clip's own frame, x outward from the lid's rim and y along the wall, and then set in place.
"""

from cadquery import Shape, Solid

from partgen.parts.shapes import (
    OVER,
    crosswise,
    cut,
    fuse,
    intersect,
    lengthwise,
    mirrored_y,
    moved,
    outline,
    prism,
    rounded_box,
    yawed,
)
from partgen.plan.body.lid_clip import BEAD, BEAD_FLAT, NOSE, PLAY, RIDGE, RISE, SINK, LatchPlan

BEVEL = 0.3             # of the clip's edges, also against the bed's bulge
ROOT = 0.9              # radius where an arm leaves the block
ROOTED = 0.4            # what joins reaches into what it joins
EDGE = 0.5              # bevel of the sockets' free edge
SILL = 0.5              # of rim that stays over a window


def build(plan: LatchPlan) -> Shape:
    """Return the clip [mm]: block, two arms along y, and a nose outward at the end of each."""
    half = plan.height / 2
    body = prism(_outline(plan), -half, half, bevel_bottom=BEVEL, bevel_top=BEVEL)
    nose = _nose(plan)
    return fuse(body, nose, mirrored_y(nose))


def _outline(plan):
    """Block and arms seen from above, without the noses."""
    side, tip, inner = plan.block / 2, plan.end, -plan.face - plan.thickness
    round_end = 0.45 * plan.thickness
    half = [(-SINK, side, 0.6), (-plan.face, side, ROOT / 2), (-plan.face, tip, round_end),
            (inner, tip, round_end), (inner, side, ROOT), (-plan.depth, side, 0.8)]
    return outline([*((x, -y, r) for x, y, r in reversed(half)), *half])


def _nose(plan) -> Shape:
    """Return the nose on the left: a ridge with 45 degree flanks, from the arm through the rim."""
    half, low = plan.height / 2, -plan.face - ROOTED
    tip, flank = plan.reach, plan.reach - plan.flank
    ridge = [(low, -half), (flank, -half), (tip, -RIDGE / 2), (tip, RIDGE / 2), (flank, half), (low, half)]
    bar = moved(crosswise(prism(ridge, -NOSE / 2, NOSE / 2)), 0.0, plan.nose)
    near, far = plan.nose - NOSE / 2, plan.nose + NOSE / 2
    above = [(near, -half + BEVEL), (near + BEVEL, -half), (far - BEVEL, -half), (far, -half + BEVEL),
             (far, half - BEVEL), (far - BEVEL, half), (near + BEVEL, half), (near, half - BEVEL)]
    return intersect(bar, lengthwise(prism(above, low - OVER, tip + OVER)))


# Sockets and windows in the lid; `bottom` is its plate's underside

def sockets(plan, bottom: float):
    """Yield every socket: walls and a roof round a cavity that is open towards the rim."""
    near, far = plan.socket
    low, high = bottom - plan.middle - plan.clip.height / 2 - PLAY, bottom - RISE + PLAY
    block = rounded_box(far - near, plan.hole + 2 * plan.wall, low - plan.roof, bottom + ROOTED, 0.8,
                        -(near + far) / 2, bevel_bottom=EDGE)
    cavity = _span(-far + plan.wall, OVER, plan.hole, low, high)
    yield from _set(plan, [cut(block, cavity)])


def windows(plan, bottom: float, rim_wall: float):
    """Yield what opens the rim for every clip: a window for each nose with its bead, a gap for the block."""
    low, high = bottom - 99.0, bottom - RISE + PLAY
    gap = _span(-rim_wall - ROOTED, OVER, plan.hole, low, high)
    window = _span(-rim_wall - ROOTED, OVER, plan.window, low, bottom - SILL)
    noses = [moved(window, 0.0, side * plan.clip.nose) for side in (1, -1)]
    yield from _set(plan, [gap, *noses])


def beads(plan, top: float):
    """Yield the beads on the inside of the body's walls, whose upper edge is at `top`."""
    level, wall = top - plan.bead_middle, plan.gap
    flat, base = BEAD_FLAT / 2, BEAD_FLAT / 2 + BEAD + ROOTED
    ridge = [(wall + ROOTED, -base), (wall - BEAD, -flat), (wall - BEAD, flat), (wall + ROOTED, base)]
    long = plan.bead / 2
    bar = crosswise(prism(ridge, -long - BEAD - OVER, long + BEAD + OVER))
    ends = [(wall - BEAD, -long), (wall + ROOTED, -long - BEAD - ROOTED), (wall + ROOTED, long + BEAD + ROOTED),
            (wall - BEAD, long)]
    bead = intersect(bar, prism(ends, -base - OVER, base + OVER))
    yield from _set(plan, [moved(bead, 0.0, side * plan.clip.nose, level) for side in (1, -1)])


def _span(x0, x1, width, z0, z1) -> Solid:
    return prism([(x0, -width / 2), (x1, -width / 2), (x1, width / 2), (x0, width / 2)], z0, z1)


def _set(plan, shapes):
    """Yield `shapes` at every socket."""
    for socket in plan.sockets:
        for shape in shapes:
            yield moved(yawed(shape, socket.yaw), socket.x, socket.y)
