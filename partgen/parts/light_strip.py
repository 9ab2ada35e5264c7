"""What a light strip needs of lid and body: valances, grooves under the eaves, gaps in the rim, notches in walls."""

from cadquery import Shape

from partgen.parts.shapes import OVER, cut, moved, rounded_box, yawed
from partgen.plan.body.light_strip import WAY, WAY_DEEP

ROOTED = 0.4            # a valance reaches into the plate
EDGE = 0.5              # bevel of its lower edge
CORNER = 1.6            # of its ends
SILL = 0.3              # of rim that stays over a gap


def valances(plan):
    """Yield both valances of a lid with their ends, which stop before the body's walls."""
    strip = plan.strip
    if strip is None:
        return
    low, high, wide = plan.bottom - strip.reach, plan.bottom + ROOTED, plan.width - 2 * strip.valance
    outer = rounded_box(strip.span, plan.width, low, high, CORNER, bevel_bottom=EDGE)
    inner = rounded_box(strip.span - 2 * strip.valance, wide, low - OVER, high + OVER, 0.4)
    long, deep = strip.span + 2 * OVER, plan.width / 2 + OVER + strip.inner
    rest = rounded_box(long, deep, low - OVER, high + OVER, 0.0, 0.0, strip.inner - deep / 2)
    left = cut(outer, inner, rest)
    yield from (left, yawed(left, 180))


def grooves(plan):
    """Yield the tools of both grooves in the plate's underside."""
    strip = plan.strip
    for side in (1, -1) if strip else ():
        yield rounded_box(strip.length, strip.groove, plan.bottom - OVER, plan.bottom + strip.depth, 0.4,
                          0.0, side * strip.middle)


def gaps(plan):
    """Yield the tools of the gaps in the rim for the strips' wires."""
    for x, wall in plan.strip.ways if plan.strip else ():
        y = (plan.rim_width - plan.rim_wall) / 2
        gap = _bar(plan.rim_wall + 2 * OVER, plan.bottom - plan.rim - OVER, plan.bottom - SILL)
        yield moved(gap, x, y if wall == "left" else -y)


def notches(plan):
    """Yield the tools of the notches in the upper edge of a body's walls."""
    for x, wall in plan.fittings.ways:
        y = plan.width / 2 - plan.wall / 2
        yield moved(_bar(plan.wall + 2 * OVER, plan.top - WAY_DEEP, plan.top + OVER), x, y if wall == "left" else -y)


def _bar(across: float, low: float, high: float) -> Shape:
    return rounded_box(WAY, across, low, high, 0.2)
