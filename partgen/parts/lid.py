"""The lid: a plate with eaves and a rim that goes down inside the body, printed with its deck on the bed; its snap
clips with what holds them, sockets under the plate and beads on the body's walls; ways and valances of light strips.
"""

from collections.abc import Iterable, Iterator

from cadquery import Shape, Wire

from partgen.parts.shapes import (
    OVER,
    core,
    crosswise,
    cut,
    fuse,
    intersect,
    lengthwise,
    mouth,
    moved,
    outline,
    prism,
    rectangle,
    rounded_box,
    turned,
    yawed,
)
from partgen.plan.body.lid import RIM_FOOT, LidPlan
from partgen.plan.body.lid_clip import (
    BEAD,
    BEAD_FLAT,
    BEAD_LONG,
    BLOCK,
    NOSE,
    PLAY,
    RIDGE,
    RISE,
    SINK,
    WINDOW,
    LidClipPlan,
    LidClips,
)
from partgen.plan.body.light_strip import WAY
from partgen.plan.body.pane import CORNER, RECESS_CORNER
from partgen.plan.fastening import DRIP

UNDER_BEVEL = 0.3       # round the eaves' lower edge
RIM_BEVEL = 0.5         # the rim's lower edge finds its way past the wall
FLARE = 0.5             # round a window on the deck, which lies on the bed
INLET = 0.3             # round a pane's recess
BOSS_BEVEL = 0.4
ROOTED = 0.4            # what joins reaches into what it joins
EDGE = 0.5              # bevel of the lower edge of sockets and valances
VALANCE_END = 1.6       # radius
STRIP_SILL = 0.3        # of rim that stays over a strip's way
CLIP_BEVEL = 0.3        # of the clip's edges, also against the bed's bulge
ARM_ROOT = 0.9          # radius where an arm leaves the clip's block
CLIP_SILL = 0.5         # of rim that stays over a nose's window


def lid(plan: LidPlan) -> Shape:
    """Return the lid in wagon axes, heights over rail top [mm]."""
    plate = rounded_box(plan.length, plan.width, plan.bottom, plan.top, plan.corner, bevel_bottom=UNDER_BEVEL,
                        bevel_top=plan.bevel)
    rim = cut(_rim(plan), *_noses_way(plan.clips, plan.bottom, plan.rim.wall), *_strip_ways(plan))
    whole = fuse(cut(plate, _drip_groove(plan)), rim, *_valances(plan), *_bosses(plan),
                 *_sockets(plan.clips, plan.bottom))
    return cut(whole, *_cores(plan), *_windows(plan), *_strip_grooves(plan))


def _drip_groove(plan: LidPlan) -> Shape:
    """Return a ring under the eaves: a drop hangs at the groove's edge instead of running on to the body."""
    def around(inset: float) -> Wire:
        return rectangle(plan.length - 2 * inset, plan.width - 2 * inset, plan.corner - inset)

    return prism(around(plan.drip_inset), plan.bottom - OVER, plan.bottom + DRIP,
                 holes=[around(plan.drip_inset + plan.drip_width)])


def _rim(plan: LidPlan) -> Shape:
    """Return the rim with a ceiling that vanishes in the plate."""
    rim = rounded_box(plan.rim.length, plan.rim.width, plan.bottom - plan.rim.depth, plan.bottom + OVER,
                      plan.rim.rounding, bevel_bottom=RIM_BEVEL)
    return cut(rim, rounded_box(plan.rim.length - 2 * plan.rim.wall, plan.rim.width - 2 * plan.rim.wall,
                                plan.bottom - plan.rim.depth - OVER, plan.bottom + 0.1, plan.rim_inner_corner,
                                bevel_top=RIM_FOOT))


def _bosses(plan: LidPlan) -> Iterator[Shape]:
    """Yield what the cradle's screws cut into, on the rim's inside."""
    low = plan.bottom - plan.boss_reach
    for x, y in plan.screws:
        yield turned([(low, plan.boss - 2 * BOSS_BEVEL), (low + BOSS_BEVEL, plan.boss),
                      (plan.bottom + OVER, plan.boss)], x, y)


def _cores(plan: LidPlan) -> Iterator[Shape]:
    for x, y in plan.screws:
        yield core(plan.core, plan.mouth, plan.core_depth, plan.top, x, y)


def _windows(plan: LidPlan) -> Iterator[Shape]:
    """Yield the tools of every window: its openings, bevelled on the deck, and its pane's recess on the inside."""
    for pane in plan.panes:
        for one in pane.openings:
            corner = min(CORNER, 0.4 * min(one.length, one.width))
            yield rounded_box(one.length, one.width, plan.bottom - OVER, plan.top + OVER, corner, one.x, one.y)
            yield mouth(one.length, one.width, plan.top, FLARE, corner, one.x, one.y, sunk=FLARE)
        size, x, y = (pane.recess.length, pane.recess.width), pane.recess.x, pane.recess.y
        yield rounded_box(*size, plan.bottom - OVER, plan.bottom + plan.recess, RECESS_CORNER, x, y)
        yield mouth(*size, plan.bottom, INLET, RECESS_CORNER, x, y, sunk=INLET, down=True)


# The clip, drawn in its own frame: x outward from the lid's rim, y along the wall

def clip(plan: LidClipPlan) -> Shape:
    """Return the clip [mm], as it lies: block, two arms along y, and a nose outward at the end of each."""
    half = plan.height / 2
    body = prism(_clip_outline(plan), -half, half, bevel_bottom=CLIP_BEVEL, bevel_top=CLIP_BEVEL)
    nose = _nose(plan)
    return fuse(body, nose, nose.mirror("XZ"))


def _clip_outline(plan: LidClipPlan) -> Wire:
    """Block and arms seen from above, without the noses."""
    side, tip, inner = BLOCK / 2, plan.end, -plan.face - plan.thickness
    round_end = 0.45 * plan.thickness
    half = [(-SINK, side, 0.6), (-plan.face, side, ARM_ROOT / 2), (-plan.face, tip, round_end),
            (inner, tip, round_end), (inner, side, ARM_ROOT), (-plan.depth, side, 0.8)]
    return outline([*((x, -y, r) for x, y, r in reversed(half)), *half])


def _nose(plan: LidClipPlan) -> Shape:
    """Return the nose on the left: a ridge with 45 degree flanks, from the arm through the rim."""
    half, low = plan.height / 2, -plan.face - ROOTED
    tip, flank, bevel = plan.reach, plan.reach - plan.flank, CLIP_BEVEL
    ridge = [(low, -half), (flank, -half), (tip, -RIDGE / 2), (tip, RIDGE / 2), (flank, half), (low, half)]
    bar = moved(crosswise(prism(ridge, -NOSE / 2, NOSE / 2)), 0.0, plan.nose)
    near, far = plan.nose - NOSE / 2, plan.nose + NOSE / 2
    above = [(near, -half + bevel), (near + bevel, -half), (far - bevel, -half), (far, -half + bevel),
             (far, half - bevel), (far - bevel, half), (near + bevel, half), (near, half - bevel)]
    return intersect(bar, lengthwise(prism(above, low - OVER, tip + OVER)))


def _sockets(plan: LidClips, bottom: float) -> Iterator[Shape]:
    """Yield every socket under a plate at `bottom` [mm]: walls and a roof round a cavity open towards the rim."""
    near, far = plan.socket
    low, high = bottom - plan.middle - plan.clip.height / 2 - PLAY, bottom - RISE + PLAY
    block = rounded_box(far - near, plan.hole + 2 * plan.wall, low - plan.roof, bottom + ROOTED, 0.8,
                        -(near + far) / 2, bevel_bottom=EDGE)
    return _at_sockets(plan, [cut(block, _span(-far + plan.wall, OVER, plan.hole, low, high))])


def _noses_way(plan: LidClips, bottom: float, rim_wall: float) -> Iterator[Shape]:
    """Yield what opens the rim for every clip: a window for each nose with its bead, a gap for the block."""
    start, low = -rim_wall - ROOTED, bottom - 99.0
    gap = _span(start, OVER, plan.hole, low, bottom - RISE + PLAY)
    window = _span(start, OVER, WINDOW, low, bottom - CLIP_SILL)
    return _at_sockets(plan, [gap, *(moved(window, 0.0, side * plan.clip.nose) for side in (1, -1))])


def beads(plan: LidClips, top: float) -> Iterator[Shape]:
    """Yield the beads on the inside of a body's walls, whose upper edge is at `top` [mm]."""
    level, wall = top - plan.bead_middle, plan.gap
    flat, base = BEAD_FLAT / 2, BEAD_FLAT / 2 + BEAD + ROOTED
    ridge = [(wall + ROOTED, -base), (wall - BEAD, -flat), (wall - BEAD, flat), (wall + ROOTED, base)]
    long = BEAD_LONG / 2
    bar = crosswise(prism(ridge, -long - BEAD - OVER, long + BEAD + OVER))
    ends = [(wall - BEAD, -long), (wall + ROOTED, -long - BEAD - ROOTED), (wall + ROOTED, long + BEAD + ROOTED),
            (wall - BEAD, long)]
    bead = intersect(bar, prism(ends, -base - OVER, base + OVER))
    return _at_sockets(plan, [moved(bead, 0.0, side * plan.clip.nose, level) for side in (1, -1)])


def _span(x0: float, x1: float, width: float, z0: float, z1: float) -> Shape:
    return prism([(x0, -width / 2), (x1, -width / 2), (x1, width / 2), (x0, width / 2)], z0, z1)


def _at_sockets(plan: LidClips, shapes: Iterable[Shape]) -> Iterator[Shape]:
    """Yield `shapes` at every socket."""
    return (moved(yawed(shape, socket.yaw), socket.x, socket.y) for socket in plan.sockets for shape in shapes)


# Light strips under the eaves

def _valances(plan: LidPlan) -> Iterator[Shape]:
    """Yield both valances with their ends, which stop before the body's walls."""
    strip = plan.strip
    if strip is None:
        return
    low, high, wide = plan.bottom - strip.hang, plan.bottom + ROOTED, plan.width - 2 * strip.valance
    outer = rounded_box(strip.span, plan.width, low, high, VALANCE_END, bevel_bottom=EDGE)
    inner = rounded_box(strip.span - 2 * strip.valance, wide, low - OVER, high + OVER, 0.4)
    long, deep = strip.span + 2 * OVER, plan.width / 2 + OVER + strip.inner
    rest = rounded_box(long, deep, low - OVER, high + OVER, 0.0, 0.0, strip.inner - deep / 2)
    left = cut(outer, inner, rest)
    yield from (left, yawed(left, 180))


def _strip_grooves(plan: LidPlan) -> Iterator[Shape]:
    """Yield the tools of both grooves in the plate's underside."""
    if strip := plan.strip:
        for side in (1, -1):
            yield rounded_box(strip.length, strip.groove, plan.bottom - OVER, plan.bottom + strip.depth, 0.4, 0.0,
                              side * strip.middle)


def _strip_ways(plan: LidPlan) -> Iterator[Shape]:
    """Yield the tools of the gaps in the rim for the strips' wires."""
    for x, wall in plan.strip.ways if plan.strip else ():
        yield wire_way(x, wall, plan.rim.width, plan.rim.wall, plan.bottom - plan.rim.depth - OVER,
                       plan.bottom - STRIP_SILL)


def wire_way(x: float, wall: str, width: float, thick: float, low: float, high: float) -> Shape:
    """Return the tool for a wire's way at x through the left or right of two walls, `width` [mm] outside to outside."""
    y = (width - thick) / 2
    return rounded_box(WAY, thick + 2 * OVER, low, high, 0.2, x, y if wall == "left" else -y)
