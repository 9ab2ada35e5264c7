"""What a body is fitted with for its modules: what stands on the floor, and the tools for what is cut into it."""

from collections.abc import Iterator
from math import copysign

from cadquery import Shape, Wire

from partgen.parts.shapes import (
    OVER,
    chamfer,
    core,
    cylinder,
    edges_at,
    lengthwise,
    moved,
    prism,
    rectangle,
    rounded_box,
    yawed,
)
from partgen.plan.body import fittings as plans
from partgen.plan.body.body import BodyPlan
from partgen.plan.fastening import STRAP_DEEP

ROOTED = 0.3            # what stands on the floor reaches into it


def standing(plan: BodyPlan) -> Iterator[Shape]:
    """Yield what stands on the floor of a body: bosses, joined to a close wall, and the lips of trays."""
    floor = plan.bottom + plan.floor
    for boss in plan.fittings.bosses:
        yield moved(_boss(boss), boss.x, boss.y, floor)
        for web in boss.webs:
            yield rounded_box(web.length, web.width, floor - ROOTED, floor + boss.height - plans.BOSS_BEVEL, 0.2,
                              web.x + _into(web.x - boss.x), web.y + _into(web.y - boss.y))
    for lip in plan.fittings.lips:
        yield rounded_box(lip.length, lip.width, floor - ROOTED, floor + plans.LIP_HEIGHT, 0.7, lip.x, lip.y,
                          bevel_top=0.5)


def _into(off: float) -> float:
    """Return how far a web is shifted into the wall that it goes to."""
    return copysign(ROOTED, off) if off else 0.0


def _boss(boss: plans.Boss) -> Shape:
    round_it = cylinder(boss.diameter, -ROOTED, boss.height)
    return chamfer(round_it, edges_at(round_it, boss.height), plans.BOSS_BEVEL, "body, screw boss")


def hollows(plan: BodyPlan) -> Iterator[Shape]:
    """Yield the tools for cores, strap slots and their ways under the floor, and the lines round tape lands."""
    floor = plan.bottom + plan.floor
    for boss in plan.fittings.bosses:
        top = floor + boss.height
        yield core(boss.core, boss.mouth, boss.depth + OVER, top, boss.x, boss.y)
    for strap in plan.fittings.straps:
        yield from (moved(yawed(tool, 90.0 if strap.turned else 0.0), strap.x, strap.y) for tool in _strap(strap, plan))
    for land in plan.fittings.lands:
        yield _line_round(land, floor, *plan.fittings.mark)


def _strap(strap: plans.Strap, plan: BodyPlan) -> Iterator[Shape]:
    """Yield the two slots across y, and the way under the floor, its upper edges at 45 degrees."""
    low, floor, half = plan.bottom, plan.bottom + plan.floor, strap.apart / 2
    wide, deep = plans.STRAP_WIDE, STRAP_DEEP
    for side in (1, -1):
        yield rounded_box(wide, plans.STRAP_THICK, low - OVER, floor + OVER, 0.8, 0.0, side * half)
    section = [(-wide / 2, low - OVER), (wide / 2, low - OVER), (wide / 2, low + deep / 2),
               (wide / 2 - deep / 2, low + deep), (deep / 2 - wide / 2, low + deep), (-wide / 2, low + deep / 2)]
    long = half + plans.STRAP_THICK / 2
    yield yawed(lengthwise(prism(section, -long, long)), 90.0)


def _line_round(land: plans.Patch, floor: float, wide: float, deep: float) -> Shape:
    def ring(inset: float) -> Wire:
        return rectangle(land.length - 2 * inset, land.width - 2 * inset, 1.2, land.x, land.y)

    thin = min(land.length, land.width) < 4 * wide     # no two lines would stand within
    return prism(ring(0.0), floor - deep, floor + OVER, holes=[] if thin else [ring(wide)])


def eyes(plan: BodyPlan) -> Iterator[Shape]:
    """Yield the holes for cable ties beside the gap of every fence, pointed so that they need no bridge."""
    floor, half = plan.bottom + plan.floor, plans.EYE / 2
    for x, y in plan.eyes:
        hole = [(y - half, floor + 0.4), (y + half, floor + 0.4), (y + half, floor + half), (y, floor + 2 * half),
                (y - half, floor + half)]
        yield moved(lengthwise(prism(hole, -plan.rib, plan.rib)), x)
