"""The snap clip's outline, shared by everything that an axle turns in.

Arcs about the axle are drawn as rounded corners between tangents of their circle. Corners are
(x, z, radius) [mm] about the axle, of the side where x is positive.
"""

from math import asin, atan2, cos, tan

from partgen.parts.shapes import rectangle
from partgen.plan.running_gear.clip import ClipPlan

TIP = 0.6           # of the snap arms below the round of the hub
TIP_RADIUS = 0.45


def clip_side(plan: ClipPlan):
    """Return the corners from the bore's top over the throat to the tip and up to the hub's side."""
    return [*_bore(plan), (plan.mouth, -plan.depth, TIP_RADIUS), *_tip(plan)]


def _bore(plan):
    """Return the corners from the bore's top over its right side to the throat."""
    radius = plan.bore / 2
    throat = atan2(-plan.throat, plan.opening / 2)
    return [(radius, radius, radius), (radius, radius * tan(throat / 2), radius),
            (plan.opening / 2, -plan.throat, 0.0)]


def _tip(plan):
    """Return the corners from the tip of the right snap arm up to the hub's side."""
    radius = plan.hub_radius
    tip = asin(-(plan.depth - TIP) / radius)
    foot = radius * cos(tip) + TIP * tan(tip)
    return [(foot, -plan.depth, TIP_RADIUS), (radius, radius * tan(tip / 2), radius)]


def mirrored(corners):
    """Return `corners` seen from the other side of the axle, in reverse order."""
    return [(-x, z, radius) for x, z, radius in reversed(corners)]


def window(span, x: float = 0.0):
    """Return the outline of a window (width, lowest, highest) [mm], its ends round; none for None."""
    if not span:
        return ()
    width, low, high = span
    return (rectangle(width, high - low, width / 2, x, (low + high) / 2),)
