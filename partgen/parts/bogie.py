"""The bogie: two snap clips on legs under an arched plate, one profile all along the axles."""

from cadquery import Solid, Wire

from partgen.parts.clip import clip_side, mirrored, window
from partgen.parts.shapes import OVER, chamfer, crosswise, cut, drop, edges_at, outline, prism
from partgen.plan.running_gear.bogie import BogiePlan

BEVEL = 0.4         # round both side faces: the lower one lies on the bed
END_RADIUS = 2.5    # of the plate's upper ends
CROWN = 6.0         # radius where the upper face falls off beside the pad
SPRING = 2.5        # radius where the arch springs from a leg
SOFFIT = 8.0        # radius where the arch meets the plate's flat underside


def build(plan: BogiePlan) -> Solid:
    """Return the bogie [mm], pivot on the z axis, axles along y at z = 0."""
    half = plan.width / 2
    windows = [wire for x in (plan.axle_x, -plan.axle_x) for wire in window(plan.window, x)]
    body = prism(_profile(plan), -half, half, holes=windows)
    body = chamfer(body, edges_at(body, -half) + edges_at(body, half), BEVEL, "bogie, side faces")
    # The pin's hole lies in print: the roof over it needs no bridge.
    return cut(crosswise(body), drop(plan.pin_hole, plan.under - OVER, plan.top + OVER))


def _profile(plan) -> Wire:
    """Return the outline in (x, z): arch, leg with its clip, end and upper face, then the same mirrored."""
    hub, end = plan.clip.hub_radius, plan.half_length
    side = clip_side(plan.clip)
    leg = [(plan.axle_x + x, z, radius) for x, z, radius in (*mirrored(side), *side)]
    half = [(plan.under_flat, plan.under, SOFFIT), (plan.axle_x - hub, plan.haunch, SPRING), *leg,
            (end, plan.end_top, END_RADIUS), (plan.flat, plan.top, CROWN)]
    return outline([*half, *mirrored(half)])
