"""What is printed for the track: gauges for track, wheels, curves and cups, and marker tiles; all printed as they lie.

Every measuring face of a gauge is drawn by the nozzle's path and not by layers.
"""

from collections.abc import Iterator

from cadquery import Edge, Shape, Vector, Wire

from partgen.parts.shapes import OVER, Corner, chamfer, crosswise, cut, cylinder, edges_at, prism, rounded_box
from partgen.plan import fill_gauge as fill
from partgen.plan.fill_gauge import FillGaugePlan
from partgen.plan.trackside import (
    BACK,
    HANDLE,
    LUG,
    PLATE,
    RAMP,
    TEMPLATE,
    GaugePlan,
    MarkerPlan,
    TemplatePlan,
)

EDGE = 0.4              # bevel on the bed and above
ROUND = 1.5
RELIEF = 0.6            # corner between lug and back
BESIDE_DOT = 1.6        # of plastic, two coarse lines
DOT, DOT_APART = 2.6, 7.0       # one hole marks the side that must go in, two the side that must not
TILE_EDGE = 0.3


def gauge(plan: GaugePlan) -> Shape:
    """Return a gauge [mm], lying: the go lug towards +y, the no-go lug towards -y."""
    half, top = plan.back / 2, BACK / 2
    lower = _edge(plan.no_go / 2, -top - LUG, half, -top)
    upper = [(-x, -y, r) for x, y, r in _edge(plan.go / 2, -top - LUG, half, -top)]
    plate = prism([*lower, *upper], 0.0, PLATE, bevel_bottom=EDGE, bevel_top=EDGE)
    return cut(plate, *(cylinder(DOT, -OVER, PLATE + OVER, x, sign * 0.17 * BACK) for x, sign in _dots(plan.back)))


def _dots(back: float) -> Iterator[tuple[float, int]]:
    """Yield the places of the dots: across, and to which side; on a narrow back only those with plastic all round."""
    if back >= DOT + 2 * BESIDE_DOT:
        yield 0.0, 1
    if back >= 2 * DOT + 3 * BESIDE_DOT:
        apart = min(DOT_APART, back - DOT - 2 * BESIDE_DOT)
        yield from ((side * apart / 2, -1) for side in (1, -1))


def _edge(lug: float, low: float, half: float, back: float) -> list[Corner]:
    """Return one long edge's corners from left to right (x, y, rounding): back, lug, back."""
    left = [(-half, back, ROUND if half > lug else RELIEF), (-lug, back, RELIEF)]
    right = [(-x, y, r) for x, y, r in reversed(left)]
    return [*left, (-lug, low, ROUND), (lug, low, ROUND), *right]


def template(plan: TemplatePlan) -> Shape:
    """Return a radius template [mm], lying: its round edge towards +y, a hole to hold it by."""
    half, foot = plan.chord / 2, TEMPLATE
    ring = Wire.assembleEdges([
        Edge.makeLine(Vector(-half, 0), Vector(half, 0)), Edge.makeLine(Vector(half, 0), Vector(half, foot)),
        Edge.makeThreePointArc(Vector(half, foot), Vector(0, foot + plan.rise), Vector(-half, foot)),
        Edge.makeLine(Vector(-half, foot), Vector(-half, 0))])
    plate = prism(ring, 0.0, PLATE)
    for level in (0.0, PLATE):
        plate = chamfer(plate, edges_at(plate, level), EDGE, "radius template, edges")
    return cut(plate, rounded_box(plan.chord / 2, HANDLE, -OVER, PLATE + OVER, HANDLE / 2, 0.0, TEMPLATE / 2))


def fill_gauge(plan: FillGaugePlan) -> Shape:
    """Return a fill gauge [mm], lying: the bar's lower edge, which hangs on the rim, at y = 0."""
    half, leg, side = plan.size[0] / 2, plan.rim / 2 + fill.PLAY, plan.tongue / 2
    right: list[Corner] = [(side, -plan.freeboard, ROUND), (side, 0.0), (leg, 0.0), (leg, -fill.LEG, ROUND),
                           (half, -fill.LEG, ROUND), (half, fill.BAR, 2 * ROUND)]
    left = [(-x, *rest) for x, *rest in reversed(right)]
    comb = prism([*right, *left], 0.0, fill.PLATE, bevel_bottom=EDGE, bevel_top=EDGE)
    across = ((place - (plan.dots - 1) / 2) * fill.DOT_APART for place in range(plan.dots))
    return cut(comb, *(cylinder(fill.DOT, -OVER, fill.PLATE + OVER, x, fill.BAR / 2) for x in across))


def marker(plan: MarkerPlan) -> Shape:
    """Return the tile [mm], printed as it lies: it is the same either way round."""
    x, y, z = plan.size
    edge = min(TILE_EDGE, z / 4)
    tile = rounded_box(x, y, 0.0, z, 2.0, bevel_bottom=edge, bevel_top=edge)
    return cut(tile, rounded_box(*plan.foil, z - plan.recess, z + OVER, 1.0), *_ramps(plan))


def _ramps(plan: MarkerPlan) -> Iterator[Shape]:
    """Yield what is taken off the tile's ends so that they rise towards the middle."""
    far, near, slope = plan.size[0] / 2, plan.size[0] / 2 - RAMP, (plan.height - plan.tip) / RAMP
    for side in (1, -1):
        section = [(side * (far + OVER), plan.tip - OVER * slope), (side * (near - OVER), plan.height + OVER * slope),
                   (side * (far + OVER), plan.height + 2 * OVER)]
        yield crosswise(prism(section[::side], -plan.width, plan.width))
