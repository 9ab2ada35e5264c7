"""The lid: a plate with eaves and a rim that goes down inside the body; printed with its deck on the bed."""

from cadquery import Shape

from partgen.parts.lid_clip import sockets, windows
from partgen.parts.light_strip import gaps, grooves, valances
from partgen.parts.shapes import OVER, cut, fuse, prism, rectangle, rounded_box, turned
from partgen.plan.body.lid import LidPlan
from partgen.plan.body.pane import CORNER, RECESS_CORNER

UNDER_BEVEL = 0.3       # round the eaves' lower edge
RIM_BEVEL = 0.5         # the rim's lower edge finds its way past the wall
FLARE = 0.5             # round a window on the deck, which lies on the bed
INLET = 0.3             # round a pane's recess
MOUTH = 0.4             # the first layers would close a sharp-edged core on the bed


def build(plan: LidPlan) -> Shape:
    """Return the lid in wagon axes, heights over rail top [mm]."""
    plate = rounded_box(plan.length, plan.width, plan.bottom, plan.top, plan.corner, bevel_bottom=UNDER_BEVEL,
                        bevel_top=plan.bevel)
    rim = cut(_rim(plan), *windows(plan.latching, plan.bottom, plan.rim_wall), *gaps(plan))
    lid = fuse(cut(plate, _drip_groove(plan)), rim, *valances(plan), *_bosses(plan),
               *sockets(plan.latching, plan.bottom))
    return cut(lid, *_cores(plan), *_windows(plan), *grooves(plan))


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
                                bevel_top=plan.rim_foot))


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


def _windows(plan):
    """Yield the tools of every window: its openings, bevelled on the deck, and its pane's recess on the inside."""
    for pane in plan.panes:
        for one in pane.openings:
            yield rounded_box(one.length, one.width, plan.bottom - OVER, plan.top + OVER, *_rounding(one))
            # As deep again below its bevel, so that no two faces coincide.
            wide, deep = 2 * (FLARE + OVER), 2 * FLARE + OVER
            yield rounded_box(one.length + wide, one.width + wide, plan.top - 2 * FLARE, plan.top + 2 * OVER,
                              _rounding(one)[0] + FLARE + OVER, one.x, one.y, bevel_bottom=deep)
        recess, wide, deep = pane.recess, 2 * (INLET + OVER), 2 * INLET + OVER
        top = plan.bottom + plan.recess
        yield rounded_box(recess.length, recess.width, plan.bottom - OVER, top, RECESS_CORNER, recess.x, recess.y)
        yield rounded_box(recess.length + wide, recess.width + wide, plan.bottom - 2 * OVER, plan.bottom + 2 * INLET,
                          RECESS_CORNER + INLET + OVER, recess.x, recess.y, bevel_top=deep)


def _rounding(one) -> tuple[float, float, float]:
    """Return the radius of an opening's corners [mm] and its middle."""
    return min(CORNER, 0.4 * min(one.length, one.width)), one.x, one.y
