"""The axle holder for pointed axles: a toothed plate over the wheels and a cheek with a cup outside either of them."""

from cadquery import Location, Shape

from partgen.parts.running_gear import BEVEL, END_FOOT, notches, screw_hole, tooth
from partgen.parts.shapes import (
    OVER,
    Corner,
    cone,
    crosswise,
    cut,
    fuse,
    lengthwise,
    moved,
    outline,
    prism,
    tower,
    yawed,
)
from partgen.plan.running_gear.holder import PinHolderPlan
from partgen.plan.running_gear.pin_cups import GROOVE, PinCups

INNER = 1.2         # radius where a cheek meets the plate
FLANK = 0.95        # half a notch's width over its depth: here they open on the bed
ROUND = 0.9         # of the cheeks' lower ends
BLUNT = 0.05        # of a cup's end


def pin_holder(plan: PinHolderPlan) -> Shape:
    """Return the holder [mm], axle along y, teeth upwards: printed standing on one end of its plate."""
    cups, long = plan.cups, plan.half_length
    body = lengthwise(prism(_profile(plan), -long, long, bevel_bottom=BEVEL, bevel_top=BEVEL))
    narrow = cut(body, *(_beside(plan, side) for side in (1, -1)))
    toothed = fuse(narrow, *(tooth(plan, x) for x in plan.teeth))
    holes = [moved(yawed(tool, -90), x) for x in (plan.screw_x, -plan.screw_x) for tool in screw_hole(plan, 0.0)]
    shown = notches(plan, FLANK)
    return cut(toothed, *holes, *shown, *(yawed(tool, yaw) for tool in (_cup(cups), _groove(cups)) for yaw in (0, 180)))


def _profile(plan: PinHolderPlan) -> list[Corner]:
    """Return the corners (y, z, rounding) of plate and cheeks."""
    face, out, low = plan.cups.face, plan.cups.face + plan.cups.thick, -plan.cups.depth
    half: list[Corner] = [(face, plan.under, INNER), (face, low), (out, low, ROUND), (out, plan.top, END_FOOT)]
    return [*half, *((-y, *rest) for y, *rest in reversed(half))]


def _beside(plan: PinHolderPlan, side: int) -> Shape:
    """Return the tool that narrows both cheeks from one end of the plate at 45 degrees, down to their end's breadth."""
    cups, deep, wide = plan.cups, plan.cups.depth + OVER, plan.width
    high = min(cups.shoulder, plan.under)
    near, far = cups.broad(-deep) / 2, cups.broad(high) / 2 + OVER
    corners = [(near, -deep), (far, -deep), (far, high + OVER), (far - OVER, high)]
    return crosswise(prism(outline((side * x, z) for x, z in corners), -wide, wide))


def _cup(plan: PinCups) -> Shape:
    """Return the tool for the left cup: a cone of 90 degrees along y."""
    along = cone(2 * (plan.cup + OVER), BLUNT, -OVER, plan.cup).moved(Location((0, 0, 0), (1, 0, 0), -90))
    return moved(along, y=plan.face)


def _groove(plan: PinCups) -> Shape:
    """Return the tool for the left groove: a notch of 90 degrees, shallower and shallower up to the cup."""
    def notch(z: float) -> tuple[float, list[tuple[float, float]]]:
        deep = GROOVE - plan.slope * (z + plan.lip)
        return z, [(-deep - OVER, plan.face - OVER), (deep + OVER, plan.face - OVER), (0.0, plan.face + deep)]

    return tower(notch(-plan.depth - OVER), notch(-plan.lip / 2))
