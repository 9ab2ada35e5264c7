"""The coupler: a drawbar with a round tail on the pivot, neck and head with the magnets' pockets, and their cover."""

from math import asin, cos, pi, sin, sqrt, tan

from cadquery import Location, Shape, Wire

from partgen.parts.shapes import (
    OVER,
    Corner,
    Point,
    box_corners,
    chamfer,
    cone,
    cut,
    cylinder,
    edges_at,
    fuse,
    lengthwise,
    moved,
    outline,
    prism,
    rounded_box,
    tower,
)
from partgen.plan.coupling import BEVEL, ENGRAVED, SOFT, CoverPlan, DrawbarPlan

CHEEK = 1.2             # radius of the front face's upright edges
BACK_RADIUS = 3.0
LETTER = 4.2            # height along y, at most
LEAST_LETTER = 5.6      # strokes: what stands within is as wide; smaller ones are dashes
CLIP = 0.3              # upright corners of the cover


def drawbar(plan: DrawbarPlan) -> Shape:
    """Return the drawbar [mm], pockets open downwards: cover and marks do not show."""
    tools = [_pivot(plan), _recess(plan), *(_pocket(plan, y) for y in plan.pockets)]
    for y, pole in zip(plan.pockets, plan.marks, strict=True):
        tools += _mark(plan, -y, pole)
    return cut(_body(plan), *tools).moved(Location((0, 0, 0), (1, 0, 0), 180))


# Drawn as it is printed, on its upper face

def _body(plan: DrawbarPlan) -> Shape:
    """Bevelled all round but where the pockets open, along the front: the wall before the magnets is thin."""
    half = plan.thickness / 2
    body = prism(_outline(plan), -half, half)
    body = chamfer(body, edges_at(body, -half), SOFT, "coupler, upper edge")
    front = plan.reach - 1e-3
    upper = [edge for edge in edges_at(body, half) if edge.Center().x < front]
    return chamfer(body, upper, BEVEL, "coupler, lower edge")


def _outline(plan: DrawbarPlan) -> Wire:
    """Tail, neck and head; the tail's arc is drawn as rounded corners between tangents of its circle."""
    tail, neck, head = plan.tail_radius, plan.neck_width / 2, plan.head_width / 2
    joint = min(asin(neck / tail) + 0.08, 1.3)
    side = [(-tail, tail, tail), (tail * tan((pi / 2 - joint) / 2), tail, tail),
            ((tail - neck * sin(joint)) / cos(joint), neck, 1.0), (plan.flare, neck, BACK_RADIUS),
            (plan.back, head, BACK_RADIUS), (plan.reach, head, CHEEK)]
    return outline([*((x, -y, r) for x, y, r in side), *reversed(side)])


def _pivot(plan: DrawbarPlan) -> Shape:
    """The hole for the spigot, both ends bevelled against the bed's bulge."""
    half, bore = plan.thickness / 2, plan.pivot_hole
    wide = bore + 2 * (BEVEL + OVER)
    return fuse(cylinder(bore, -half - OVER, half + OVER), cone(wide, bore, -half - OVER, -half + BEVEL),
                cone(bore, wide, half - BEVEL, half + OVER))


def _recess(plan: DrawbarPlan) -> Shape:
    """For the cover."""
    middle = plan.reach - plan.skin - plan.cover_length / 2
    top = plan.thickness / 2
    return rounded_box(plan.cover_length, plan.cover_width, top - plan.cover_depth, top + OVER, 0.0, middle)


def _pocket(plan: DrawbarPlan, y: float) -> Shape:
    """A slot with a half-round floor: it follows the disc that stands in it on its edge."""
    radius, front = plan.magnet_hole / 2, plan.reach - plan.skin
    top = plan.thickness / 2 - plan.cover_depth + OVER
    left, right = y - radius, y + radius
    section = [(left, -radius, radius), (right, -radius, radius), (right, top), (left, top)]
    return lengthwise(prism(section, front - plan.magnet_slot, front))


def _mark(plan: DrawbarPlan, y: float, pole: str) -> list[Shape]:
    """Return the tools that engrave the pole behind the pocket: a letter, or one dash for N, two for S."""
    top, pitch = plan.thickness / 2, plan.head_width / len(plan.pockets)
    low, high = plan.mark_span
    middle, height = (low + high) / 2, min(LETTER, pitch - 2.2)
    if height >= LEAST_LETTER * plan.stroke:
        strokes = [_letter(pole, high - low, height, plan.stroke)]
    else:
        strokes = _dashes(pole, min(height, 2.4), plan.dash)
    return [moved(prism(stroke, top - ENGRAVED, top + OVER), middle, y) for stroke in strokes]


def _letter(pole: str, width: float, height: float, stroke: float) -> list[Corner]:
    """Return the letter's corners about the origin, read from the wagon's right: up is +y, along is +x."""
    corners = _LETTERS[pole](2 * stroke / width, 2 * stroke / height)
    return [(u * width / 2, v * height / 2) for u, v in corners]


def _capital_n(s: float, t: float) -> list[Point]:
    """Two stems of width s and a slope between them, in a square from -1 to 1."""
    k = 2.15 * t
    return [(-1, -1), (-1 + s, -1), (-1 + s, 1 - k), (1 - s, -1), (1, -1), (1, 1), (1 - s, 1),
            (1 - s, -1 + k), (-1 + s, 1), (-1, 1)]


def _capital_s(s: float, t: float) -> list[Point]:
    """Three bars of height t joined by one stem of width s on either side."""
    m = t / 2
    return [(-1, -1), (1, -1), (1, m), (-1 + s, m), (-1 + s, 1 - t), (1, 1 - t), (1, 1), (-1, 1), (-1, -m),
            (1 - s, -m), (1 - s, -1 + t), (-1, -1 + t)]


_LETTERS = {"N": _capital_n, "S": _capital_s}


def _dashes(pole: str, height: float, width: float) -> list[list[Corner]]:
    """Return the corners of one dash for N, of two for S a dash apart, across the drawbar."""
    xs = (0.0,) if pole == "N" else (width, -width)
    return [[*box_corners(width, height, x=x)] for x in xs]


def cover(plan: CoverPlan) -> Shape:
    """Return the plate over the magnets [mm], both edges bevelled: either side goes in first."""
    whole = box_corners(plan.length, plan.width, CLIP)
    shrink, clip = 2 * plan.bevel, CLIP - (2 - sqrt(2)) * plan.bevel
    top = box_corners(plan.length - shrink, plan.width - shrink, clip)
    return tower((0.0, top), (plan.bevel, whole), (plan.height - plan.bevel, whole), (plan.height, top))
