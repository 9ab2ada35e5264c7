"""The marker tile between the rails: a recess for foil or tape, a tongue with a pin hole at either end."""

from cadquery import Shape

from partgen.parts.shapes import OVER, cone, cut, cylinder, prism, rounded_box
from partgen.plan.trackside import PIN, PIN_LONG, RIM, TONGUE, MarkerPlan

EDGE = 0.3


def build(plan: MarkerPlan) -> Shape:
    """Return the tile [mm], printed as it lies: it is the same either way round."""
    x, y, z = plan.size
    half, tip, side = x / 2 - PIN_LONG, x / 2, y / 2
    corners = [(half, -side, 2.0), (tip, -TONGUE * side, 3.0), (tip, TONGUE * side, 3.0), (half, side, 2.0),
               (-half, side, 2.0), (-tip, TONGUE * side, 3.0), (-tip, -TONGUE * side, 3.0), (-half, -side, 2.0)]
    tile = prism(corners, 0.0, z, bevel_bottom=min(EDGE, z / 4), bevel_top=min(EDGE, z / 4))
    recess = rounded_box(plan.length, y - 2 * RIM, z - plan.recess, z + OVER, 1.0)
    return cut(tile, recess, *_pins(plan, z))


def _pins(plan, z):
    """Yield the pin holes, countersunk so that a pin's head stays below the flanges."""
    for side in (1, -1):
        at = side * (plan.size[0] / 2 - PIN_LONG / 2)
        yield cylinder(PIN, -OVER, z + OVER, at)
        yield cone(PIN, PIN + 2 * (z / 3 + OVER), z - z / 3, z + OVER, at)
