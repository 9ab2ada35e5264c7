"""The lid: a plate with eaves and a rim that goes down inside the body; printed with its deck on the bed."""

from cadquery import Shape

from partgen.parts.shapes import OVER, cut, fuse, prism, rectangle, rounded_box, turned
from partgen.parts.latch import sockets, windows
from partgen.plan.lid import LidPlan

UNDER_BEVEL = 0.3       # round the eaves' lower edge
RIM_BEVEL = 0.5         # the rim's lower edge finds its way past the wall
RIM_FOOT = 0.6          # 45 degree fillet between rim and plate
MOUTH = 0.4             # the first layers would close a sharp-edged core on the bed


def build(plan: LidPlan) -> Shape:
    """Return the lid in wagon axes, heights over rail top [mm]."""
    plate = rounded_box(plan.length, plan.width, plan.bottom, plan.top, plan.corner, bevel_bottom=UNDER_BEVEL,
                        bevel_top=plan.bevel)
    rim = cut(_rim(plan), *windows(plan.latching, plan.bottom, plan.rim_wall))
    lid = fuse(cut(plate, _drip_groove(plan)), rim, *_bosses(plan), *sockets(plan.latching, plan.bottom))
    return cut(lid, *_cores(plan))


def _drip_groove(plan) -> Shape:
    """Return a ring under the eaves: a drop hangs at the groove's edge instead of running on to the body."""
    def around(inset):
        return rectangle(plan.length - 2 * inset, plan.width - 2 * inset, plan.corner - inset)

    return prism(around(plan.drip_inset), plan.bottom - OVER, plan.bottom + plan.drip,
                 holes=[around(plan.drip_inset + plan.drip_width)])


def _rim(plan) -> Shape:
    """Return the rim with a ceiling that vanishes in the plate."""
    rim = rounded_box(plan.rim_length, plan.rim_width, plan.bottom - plan.rim, plan.bottom + OVER,
                      plan.rim_corner, bevel_bottom=RIM_BEVEL)
    return cut(rim, rounded_box(plan.rim_length - 2 * plan.rim_wall, plan.rim_width - 2 * plan.rim_wall,
                                plan.bottom - plan.rim - OVER, plan.bottom + 0.1, plan.rim_inner_corner,
                                bevel_top=RIM_FOOT))


def _bosses(plan):
    """Yield what the cradle's screws cut into, on the rim's inside."""
    low = plan.bottom - plan.boss_reach
    for x, y in plan.screws:
        yield turned([(low, plan.boss - 2 * MOUTH), (low + MOUTH, plan.boss),
                      (plan.bottom + OVER, plan.boss)], x, y)


def _cores(plan):
    for x, y in plan.screws:
        yield turned([(plan.top - plan.core_depth, plan.core), (plan.top - MOUTH, plan.core),
                      (plan.top + OVER, plan.core + 2 * (MOUTH + OVER))], x, y)
