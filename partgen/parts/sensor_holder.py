"""The track sensor's chute: printed standing on its sole, grooves on two faces to click by a millimetre."""

from collections.abc import Iterator

from cadquery import Shape

from partgen.parts.shapes import OVER, crosswise, cut, fuse, mouth, moved, prism, rectangle, rounded_box
from partgen.plan.body.sensor_holder import LEDGE, NOTCH, SOLE, SensorPlan, Window
from partgen.plan.fits import FOOT

CORNER = 1.2


def chute(plan: SensorPlan) -> Shape:
    """Return the chute [mm], open upwards; the sensor's head lies on its sole and looks through it."""
    x, y, z = plan.size
    block = rounded_box(x, y, 0.0, z, CORNER, bevel_bottom=FOOT, bevel_top=0.3)
    hollow = rounded_box(plan.inner_x, plan.inner_y, SOLE, z + OVER, 0.4)
    size = plan.inner_x - 2 * LEDGE, plan.inner_y - 2 * LEDGE
    lens = rounded_box(*size, -OVER, SOLE + OVER, 0.6)
    return cut(block, hollow, lens, mouth(*size, 0.0, FOOT, 0.6, down=True), *_grooves(plan))


def _grooves(plan: SensorPlan) -> Iterator[Shape]:
    """Yield 45 degree grooves across the faces that look forward and back."""
    half, long = plan.size[0] / 2, plan.size[1] / 2 + OVER
    return (_vee(side, half, height, long) for height in plan.notches for side in (1, -1))


def _vee(side: int, face: float, height: float, half: float) -> Shape:
    """Return a bar along y whose edge lies NOTCH inward of a face at `face` [mm] along x."""
    out, inner = side * (face + OVER), side * (face - NOTCH)
    section = [(out, height - (OVER + NOTCH)), (inner, height), (out, height + (OVER + NOTCH))]
    return crosswise(prism(section[::side], -half, half))


def window(place: Window, low: float, high: float, ridged: bool) -> Shape:
    """Return the tool for a chute's window from `low` to `high` [mm], in a frame with ridges for its grooves.

    The edge that lies on the bed is bevelled: a frame's upper one, a body's lower one.
    """
    hole: Shape = prism(rectangle(place.length, place.width, CORNER), low - OVER, high + OVER)
    if ridged:
        hole = cut(hole, *(_vee(side, place.length / 2, place.ridge, 0.3 * place.width) for side in (1, -1)))
    edge = mouth(place.length, place.width, high if ridged else low, FOOT, CORNER, down=not ridged)
    return moved(fuse(hole, edge), place.x, place.y)
