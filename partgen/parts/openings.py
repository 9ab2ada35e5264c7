"""The tools for what goes through a body's walls: openings and the thinned wall round them, vents, holes for lamps.

They are drawn before the front wall seen from outside: along it, up, and outward from its face.
"""

from collections.abc import Iterator, Sequence
from math import dist

from cadquery import Shape

from partgen.parts.shapes import (
    OVER,
    Point,
    box_corners,
    cut,
    drop,
    lengthwise,
    mouth,
    moved,
    prism,
    rounded_box,
    tower,
    yawed,
)
from partgen.plan.body.body import BodyPlan
from partgen.plan.body.fittings import BOSS_BEVEL, NOTCH_HIGH, VENT
from partgen.plan.body.opening import FRAME, Hole, WallOpening, along
from partgen.plan.body.wall_cut import PAST
from partgen.plan.outline import Span

YAW = {"front": 0.0, "left": 90.0, "back": 180.0, "right": 270.0}
MOST_FLARE = 0.4        # of a wall: something stays straight between both edges
FLARE = 0.5             # both edges of an opening are broken: no cable meets a sharp one
BEYOND = 1.2            # frames reach beyond the tools that sink the fields


def cuts(plan: BodyPlan) -> Iterator[Shape]:
    """Yield the tools of all openings, vents and lamps in the walls."""
    floor, fitted, stand = plan.bottom + plan.floor, plan.fittings, list(_standing(plan))
    for opening in fitted.openings:
        sharp = opening.panel or opening.shape == "grille"
        flare = 0.0 if sharp else min(FLARE, opening.beside(plan), MOST_FLARE * plan.wall)
        tools = [tool for hole in opening.holes for tool in _through(hole, plan.wall, flare)]
        if opening.thinned:
            beside = [_kept(x, y, high, opening, plan) for x, y, high in stand]
            tools.append(cut(_pocket(opening, plan.wall), *filter(None, beside)))
            tools += _corners(opening, plan)
        yield from (_in_wall(plan, opening.wall, moved(tool, 0.0, floor)) for tool in tools)
    for x, wall in fitted.vents:
        vent = Hole(along(wall, x, 0.0), floor + fitted.vent_low, VENT, fitted.vent_top - fitted.vent_low)
        # No further in than a pocket: a boss may stand close behind.
        yield _in_wall(plan, wall, prism(_contour(vent), -plan.wall - PAST, OVER))
    for x, wall in fitted.lamps:
        lamp = _lamp(plan, x, wall)
        bar = drop(lamp.width, -plan.wall - OVER, OVER)
        yield _in_wall(plan, wall, moved(bar, lamp.along, lamp.low + lamp.height / 2))
    for at, wall in fitted.notches:
        half, deep = fitted.notch / 2, NOTCH_HIGH + OVER
        notch = [(at + half, plan.top - NOTCH_HIGH), (at + half + deep, plan.top + OVER),
                 (at - half - deep, plan.top + OVER), (at - half, plan.top - NOTCH_HIGH)]
        yield _in_wall(plan, wall, prism(notch, -plan.wall - PAST, OVER))


def vented(plan: BodyPlan, wall: str, start: float, end: float) -> bool:
    """Has a wall vents from `start` to `end` [mm] along it?"""
    return any(one == wall and start < along(wall, x, 0.0) < end for x, one in plan.fittings.vents)


def frames(plan: BodyPlan) -> Iterator[Shape]:
    """Yield what the fields of planks or panels leave standing round openings and lamps, sloping at 45 degrees."""
    floor, deep = plan.bottom + plan.floor, plan.groove + OVER
    seen = [(one.wall, Hole(one.along, floor + one.low, one.width, one.height, gable=one.gable), one.frame)
            for one in plan.fittings.openings]
    seen += [(wall, Hole(at, plan.top - NOTCH_HIGH, plan.fittings.notch + 2 * NOTCH_HIGH, NOTCH_HIGH), FRAME)
             for at, wall in plan.fittings.notches]
    lit = [(wall, _lamp(plan, x, wall), FRAME) for x, wall in plan.fittings.lamps
           if not any(start < x < end and vented(plan, wall, *sorted((along(wall, start, 0.0), along(wall, end, 0.0))))
                      for start, end in plan.fields(plan.length))]
    for wall, hole, frame in seen + lit:
        whole = _contour(hole)
        yield _in_wall(plan, wall, tower((-deep, _wider(whole, frame + deep)), (BEYOND, _wider(whole, frame - BEYOND))))


def _lamp(plan: BodyPlan, x: float, wall: str) -> Hole:
    lamp, level = plan.fittings.lamp, plan.bottom + plan.floor + plan.fittings.lamp_level
    return Hole(along(wall, x, 0.0), level - lamp / 2, lamp, lamp)


def _through(hole: Hole, wall: float, flare: float) -> Iterator[Shape]:
    """Yield the tools of a hole through a wall whose face is at 0, wider by `flare` at both faces."""
    if hole.corner:
        where = hole.along, hole.low + hole.height / 2
        yield rounded_box(hole.width, hole.height, -wall - OVER, OVER, hole.corner, *where)
        for face, down in ((0.0, False), (-wall, True)) if flare else ():
            yield mouth(hole.width, hole.height, face, flare, hole.corner, *where, sunk=flare / 2, down=down)
        return
    contour = _contour(hole)
    if flare:
        # Only just into the body: further in, it would groove the floor below a low one.
        inside, outside = _wider(contour, flare + PAST), _wider(contour, flare + OVER)
        yield tower((-wall - PAST, inside), (-wall + flare, contour), (-flare, contour), (OVER, outside))
    else:
        yield prism(contour, -wall - OVER, OVER)


def _pocket(opening: WallOpening, wall: float) -> Shape:
    """Return what thins a wall from inside, its edges sloping at 45 degrees: the upper one prints without support."""
    (left, right), (low, high) = opening.pocket
    deep = opening.thinned + PAST
    outline = box_corners(right - left, high - low, x=(left + right) / 2, y=(low + high) / 2)
    return tower((-wall - PAST, _wider(outline, deep)), (-wall + opening.thinned, outline))


def _standing(plan: BodyPlan) -> Iterator[tuple[Span, Span, float]]:
    """Yield from where to where along x and y what stands on the floor, joined to a wall, reaches, and how high."""
    yield from ((*rib.spans, plan.fence_height) for rib in plan.ribs)
    yield from ((*web.spans, boss.height - BOSS_BEVEL) for boss in plan.fittings.bosses for web in boss.webs)


def _kept(x: Span, y: Span, high: float, opening: WallOpening, plan: BodyPlan) -> Shape | None:
    """Return what of the wall a pocket leaves whole up to `high` where a rib or web is joined to it, and on to the
    pocket's end: no slit too narrow to print is left before or beside that. None where the pocket is elsewhere."""
    lengthy = opening.wall in ("front", "back")
    far, near = (x, y) if lengthy else (y, x)
    sense = 1 if opening.wall in ("front", "left") else -1
    if max(sense * end for end in far) < plan.inside[0 if lengthy else 1] / 2 - 1e-6:
        return None
    start, end = sorted(along(opening.wall, at, at) for at in near)
    (low, high_end), _ = opening.cut
    if end < low or start > high_end:
        return None
    start, end = (min(start, low), end) if start + end < 2 * opening.along else (start, max(end, high_end))
    kept = box_corners(end - start, high, x=(start + end) / 2, y=high / 2)
    return prism(kept, -plan.wall - PAST - OVER, OVER)


def _corners(opening: WallOpening, plan: BodyPlan) -> Iterator[Shape]:
    """Yield what clears a pocket of the inside's rounded corner, which would leave a skin before it."""
    low, high = opening.pocket[1]
    deep = opening.thinned + PAST
    for (start, end), out in opening.corners(plan):
        corner = box_corners(end - start, high - low + 2 * deep, x=(start + end) / 2, y=(low + high) / 2)
        yield prism(corner, -plan.wall - out - PAST, -plan.wall)


def _contour(hole: Hole) -> list[Point]:
    """Return a square hole's corners (along, up), counter-clockwise, with a gable over a wide one."""
    half, flat, high = hole.width / 2, hole.level / 2, hole.low + hole.height
    top = [(half, high), (-half, high)]
    if hole.gable:
        top[1:1] = [(flat, high + hole.gable), (-flat, high + hole.gable)]
    return [(hole.along + a, up) for a, up in [(half, hole.low), *top, (-half, hole.low)]]


def _wider(corners: Sequence[Point], by: float) -> list[Point]:
    """Return a convex outline with every side moved outward by `by` [mm]."""
    sides = []
    for (a, b), (c, d) in zip(corners, [*corners[1:], corners[0]], strict=True):
        far = dist((a, b), (c, d))
        nx, ny = (d - b) / far, (a - c) / far
        sides.append((nx, ny, nx * a + ny * b + by))
    return [((q * m - p * n) / (k * m - j * n), (k * p - j * q) / (k * m - j * n))
            for (k, n, q), (j, m, p) in zip([sides[-1], *sides[:-1]], sides, strict=True)]


def _in_wall(plan: BodyPlan, wall: str, tool: Shape) -> Shape:
    half = (plan.length if wall in ("front", "back") else plan.width) / 2
    return yawed(moved(lengthwise(tool), half), YAW[wall])
