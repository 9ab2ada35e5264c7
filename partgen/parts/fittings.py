"""What a body is fitted with for its modules: what stands on the floor, and the tools for what is cut.

A wall's tools are drawn before the front wall seen from outside: along it, up, and outward from its face.
"""

from collections.abc import Iterator, Sequence
from math import dist

from cadquery import Shape, Wire

from partgen.parts.shapes import (
    OVER,
    Point,
    chamfer,
    core,
    cylinder,
    drop,
    edges_at,
    lengthwise,
    moved,
    prism,
    rectangle,
    rounded_box,
    tower,
    yawed,
)
from partgen.plan.body import fittings as plans
from partgen.plan.body.body import BodyPlan
from partgen.plan.body.layout import FENCE

YAW = {"front": 0.0, "left": 90.0, "back": 180.0, "right": 270.0}
FLARE = 0.5             # both edges of an opening are broken: no cable meets a sharp one
BAND = 1.6              # smooth round an opening in planks or panels
ROOTED = 0.3            # what stands on the floor reaches into it
PAST = 1.2              # bands reach beyond the tools that sink the fields


def standing(plan: BodyPlan) -> Iterator[Shape]:
    """Yield what stands on the floor of a body: bosses and the lips of trays."""
    floor = plan.bottom + plan.floor
    for boss in plan.fittings.bosses:
        yield moved(_boss(boss), boss.x, boss.y, floor)
    for lip in plan.fittings.lips:
        yield rounded_box(lip.length, lip.width, floor - ROOTED, floor + plans.LIP_HEIGHT, 0.7, lip.x, lip.y,
                          bevel_top=0.5)


def _boss(boss: plans.Boss) -> Shape:
    round_it = cylinder(boss.diameter, -ROOTED, boss.height)
    return chamfer(round_it, edges_at(round_it, boss.height), 0.3, "body, screw boss")


def hollows(plan: BodyPlan) -> Iterator[Shape]:
    """Yield the tools for cores, strap slots and their ways under the floor, and the lines round tape lands."""
    floor = plan.bottom + plan.floor
    for boss in plan.fittings.bosses:
        top = floor + boss.height
        yield core(boss.core, boss.mouth, boss.depth + OVER, top, boss.x, boss.y)
    for strap in plan.fittings.straps:
        yield from (moved(yawed(tool, 90.0 if strap.turned else 0.0), strap.x, strap.y) for tool in _strap(strap, plan))
    for land in plan.fittings.lands:
        yield _line_round(land, floor)


def _strap(strap: plans.Strap, plan: BodyPlan) -> Iterator[Shape]:
    """Yield the two slots across y, and the way under the floor, its upper edges at 45 degrees."""
    low, floor, half = plan.bottom, plan.bottom + plan.floor, strap.apart / 2
    wide, deep = plans.STRAP_WIDE, plans.STRAP_DEEP
    for side in (1, -1):
        yield rounded_box(wide, plans.STRAP_THICK, low - OVER, floor + OVER, 0.8, 0.0, side * half)
    section = [(-wide / 2, low - OVER), (wide / 2, low - OVER), (wide / 2, low + deep / 2),
               (wide / 2 - deep / 2, low + deep), (deep / 2 - wide / 2, low + deep), (-wide / 2, low + deep / 2)]
    long = half + plans.STRAP_THICK / 2
    yield yawed(lengthwise(prism(section, -long, long)), 90.0)


def _line_round(land: plans.Patch, floor: float) -> Shape:
    def ring(inset: float) -> Wire:
        return rectangle(land.length - 2 * inset, land.width - 2 * inset, 1.2, land.x, land.y)

    return prism(ring(0.0), floor - plans.MARK_DEEP, floor + OVER, holes=[ring(plans.MARK_WIDE)])


# Walls

def cuts(plan: BodyPlan) -> Iterator[Shape]:
    """Yield the tools of all openings and vents in the walls."""
    floor = plan.bottom + plan.floor
    for opening in plan.fittings.openings:
        yield _in_wall(plan, opening.wall, _through(plan, _contour(opening, floor), FLARE))
    low, top = floor + plan.fittings.vent_low, floor + plan.fittings.vent_top
    for x, wall in plan.fittings.vents:
        at, half = plans.along(wall, x, 0.0), plans.VENT / 2
        slot = [(at + half, low), (at + half, top - half), (at, top), (at - half, top - half), (at - half, low)]
        yield _in_wall(plan, wall, _through(plan, slot, 0.0))


def lamps(plan: BodyPlan) -> Iterator[Shape]:
    """Yield the tools of the lamps' holes: round, with a 45 degree roof."""
    level = plan.bottom + plan.floor + plan.fittings.lamp_level
    for x, wall in plan.fittings.lamps:
        bar = moved(drop(plan.fittings.lamp, -plan.wall - OVER, OVER), plans.along(wall, x, 0.0), level)
        yield _in_wall(plan, wall, bar)


def bands(plan: BodyPlan) -> Iterator[Shape]:
    """Yield what the fields of planks or panels leave standing round openings, sloping at 45 degrees."""
    floor = plan.bottom + plan.floor
    for opening in plan.fittings.openings:
        contour, deep = _contour(opening, floor), plan.groove + OVER
        yield _in_wall(plan, opening.wall, tower((-deep, _wider(contour, BAND + deep)),
                                                 (PAST, _wider(contour, BAND - PAST))))


def _contour(opening: plans.WallOpening, floor: float) -> list[Point]:
    """Return the opening's corners (along, up), counter-clockwise, with a gable over a wide one."""
    half, low, high = opening.width / 2, floor + opening.low, floor + opening.low + opening.height
    flat, top = plans.FLAT / 2, high + opening.gable
    gable = [(half, high), (flat, top), (-flat, top), (-half, high)] if opening.gable else [(half, high), (-half, high)]
    return [(opening.along + a, up) for a, up in [(half, low), *gable, (-half, low)]]


def _wider(corners: Sequence[Point], by: float) -> list[Point]:
    """Return a convex outline with every side moved outward by `by` [mm]."""
    sides = []
    for (a, b), (c, d) in zip(corners, [*corners[1:], corners[0]], strict=True):
        far = dist((a, b), (c, d))
        nx, ny = (d - b) / far, (a - c) / far
        sides.append((nx, ny, nx * a + ny * b + by))
    return [((q * m - p * n) / (k * m - j * n), (k * p - j * q) / (k * m - j * n))
            for (k, n, q), (j, m, p) in zip([sides[-1], *sides[:-1]], sides, strict=True)]


def _through(plan: BodyPlan, corners: Sequence[Point], flare: float) -> Shape:
    """Return a hole through a wall whose face is at 0, wider by `flare` at both faces."""
    wall = plan.wall
    if not flare:
        return prism(corners, -wall - OVER, OVER)
    wide = _wider(corners, flare + OVER)
    return tower((-wall - OVER, wide), (-wall + flare, corners), (-flare, corners), (OVER, wide))


def _in_wall(plan: BodyPlan, wall: str, tool: Shape) -> Shape:
    half = (plan.length if wall in ("front", "back") else plan.width) / 2
    return yawed(moved(lengthwise(tool), half), YAW[wall])


def eyes(plan: BodyPlan) -> Iterator[Shape]:
    """Yield the holes for cable ties beside the gap of every fence, pointed so that they need no bridge."""
    floor, half = plan.bottom + plan.floor, plans.EYE / 2
    for x in plan.fences if plan.fittings.bosses or plan.fittings.openings else ():
        for side in (1, -1):
            y = side * (plan.cable_gap / 2 + 1.6 + half)
            hole = [(y - half, floor + 0.4), (y + half, floor + 0.4), (y + half, floor + half), (y, floor + 2 * half),
                    (y - half, floor + half)]
            yield moved(lengthwise(prism(hole, -FENCE, FENCE)), x)
