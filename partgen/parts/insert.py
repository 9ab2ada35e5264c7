"""The clip-in insert: a split ring with a bead that clicks into the seat, and two ears to pinch; printed as
it stands."""

from cadquery import Shape

from partgen.parts.shapes import (
    OVER,
    crosswise,
    cut,
    joined,
    lathe,
    moved,
    outline,
    prism,
    rounded_box,
    turned,
    yawed,
)
from partgen.plan.deck.cradle import diameter_at
from partgen.plan.deck.insert import BEAD, EAR_REACH, InsertPlan

FOOT = 0.4              # bevel on the bed, where the first layers spread
ROUNDING = 0.5          # of the upper edge
LEAD_IN = 0.5           # 45 degree bevel on the inner edge
EAR_ROUNDING = 1.6


def build(plan: InsertPlan) -> Shape:
    """Return the insert in its own frame [mm]."""
    ring = lathe(_section(plan))
    whole = joined(ring, *_ears(plan)) if plan.ear else ring
    hollows = [_hollow(plan), *([_channel(plan)] if plan.hollow else [])]
    return cut(whole, *hollows, _slit(plan))


def _section(plan):
    """Return the corners of the ring without its hollow: foot bevel, wall, bead, rounded edge."""
    foot, middle = plan.outer[0][1] / 2, plan.bead_height
    bead = diameter_at(plan.outer, middle) / 2
    wall = [(d / 2, h) for h, d in plan.outer[1:-1] if h > FOOT + 0.01]
    wall += [(diameter_at(plan.outer, middle - BEAD) / 2, middle - BEAD), (bead + BEAD, middle),
             (diameter_at(plan.outer, middle + BEAD) / 2, middle + BEAD)]
    wall = [corner for corner in sorted(wall, key=lambda corner: corner[1])
            if not middle - BEAD < corner[1] < middle + BEAD or corner[1] == middle]
    return [(0, 0), (foot - FOOT, 0), (foot, FOOT), *wall, (plan.outer[-1][1] / 2, plan.height, ROUNDING),
            (0, plan.height)]


def _hollow(plan):
    """Return the cup's room, bevelled outwards at its upper edge."""
    start = plan.height - LEAD_IN
    neck = diameter_at(plan.inner, start)
    return turned([(-OVER, plan.inner[0][1]), *((h, d) for h, d in plan.inner if h < start), (start, neck),
                   (plan.height + OVER, neck + 2 * (LEAD_IN + OVER))])


def _channel(plan):
    """Return the channel between the two shells of a thick ring, open upwards."""
    outside, inside = plan.channel
    return cut(turned([*outside, (plan.height + OVER, outside[-1][1])]),
               turned([(inside[0][0] - OVER, inside[0][1]), *inside, (plan.height + 2 * OVER, inside[-1][1])]))


def _slit(plan):
    reach = max(diameter for _, diameter in plan.outer)
    return moved(rounded_box(plan.slit, reach, -OVER, plan.height + OVER, 0.0), 0.0, reach / 2)


def _ears(plan):
    """Yield the ears beside the slit: they leave the ring at 45 degrees, so that they print without
    supports."""
    for side in (-1, 1):
        middle = side * (plan.slit / 2 + plan.ear / 2)
        yield moved(_ear(plan), middle)


def _ear(plan):
    """Return an ear about x = 0, drawn across and turned towards the left."""
    root = diameter_at(plan.outer, plan.ear_foot) / 2
    inside = diameter_at(plan.inner, plan.ear_foot) / 2
    tip = root + EAR_REACH
    corners = [(inside, plan.ear_foot), (root, plan.ear_foot), (tip, plan.ear_foot + EAR_REACH, EAR_ROUNDING),
               (tip, plan.height, EAR_ROUNDING), (inside, plan.height)]
    flat = crosswise(prism(outline(corners), -plan.ear / 2, plan.ear / 2))
    return yawed(flat, 90)
