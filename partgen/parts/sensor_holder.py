"""The track sensor's chute: printed standing on its sole, grooves on two faces to click by a millimetre."""

from cadquery import Shape

from partgen.parts.shapes import OVER, crosswise, cut, fuse, moved, prism, rectangle, rounded_box
from partgen.plan.body.sensor_holder import LEDGE, NOTCH, SOLE, SensorPlan, Window
from partgen.plan.fits import FOOT

CORNER = 1.2


def build(plan: SensorPlan) -> Shape:
    """Return the chute [mm], open upwards; the sensor's head lies on its sole and looks through it."""
    x, y, z = plan.size
    block = rounded_box(x, y, 0.0, z, CORNER, bevel_bottom=FOOT, bevel_top=0.3)
    hollow = rounded_box(plan.inner_x, plan.inner_y, SOLE, z + OVER, 0.4)
    lens = rounded_box(plan.inner_x - 2 * LEDGE, plan.inner_y - 2 * LEDGE, -OVER, SOLE + OVER, 0.6)
    wide, deep = 2 * (FOOT + OVER - LEDGE), FOOT + OVER
    mouth = rounded_box(plan.inner_x + wide, plan.inner_y + wide, -2 * OVER, FOOT, 0.6 + deep, bevel_top=deep)
    return cut(block, hollow, lens, mouth, *_grooves(plan))


def _grooves(plan):
    """Yield 45 degree grooves across the faces that look forward and back."""
    half = plan.size[0] / 2
    for height in plan.notches:
        for side in (1, -1):
            yield _vee(side, half, height, NOTCH, plan.size[1] + 2 * OVER)


def _vee(side, face, height, deep, long) -> Shape:
    """Return a bar along y whose edge lies `deep` inward of a face at `face` along x."""
    out = OVER + deep
    section = [(side * (face + OVER), height - out), (side * (face - deep), height), (side * (face + OVER), height + out)]
    return crosswise(prism(section if side > 0 else section[::-1], -long / 2, long / 2))


def window(place: Window, low: float, high: float, ridged: bool) -> Shape:
    """Return the tool for a chute's window from `low` to `high` [mm], in a frame with ridges for its grooves.

    The edge that lies on the bed is bevelled: a frame's upper one, a body's lower one.
    """
    hole = prism(rectangle(place.length, place.width, CORNER), low - OVER, high + OVER)
    wide, deep = 2 * (FOOT + OVER), FOOT + OVER
    size = (place.length + wide, place.width + wide)
    if not ridged:
        mouth = rounded_box(*size, low - 2 * OVER, low + FOOT, CORNER + deep, bevel_top=deep)
        return moved(fuse(hole, mouth), place.x, place.y)
    half, long = place.length / 2, 0.6 * place.width
    mouth = rounded_box(*size, high - FOOT, high + 2 * OVER, CORNER + deep, bevel_bottom=deep)
    return moved(fuse(cut(hole, *(_ridge(side, half, place.ridge, long) for side in (1, -1))), mouth), place.x, place.y)


def _ridge(side, face, height, long) -> Shape:
    section = [(side * (face + OVER), height - NOTCH - OVER), (side * (face - NOTCH), height),
               (side * (face + OVER), height + NOTCH + OVER)]
    return crosswise(prism(section if side > 0 else section[::-1], -long / 2, long / 2))
