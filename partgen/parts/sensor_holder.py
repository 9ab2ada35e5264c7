"""The track sensor's holder and what it hangs from: a tray with a block for a nut, printed standing on its sole; a lug
under the frame with a slot for the screw and a scale; the way for its lead."""

from collections.abc import Iterator
from math import sqrt

from cadquery import Shape

from partgen.parts.shapes import (
    OVER,
    crosswise,
    cut,
    drop,
    fuse,
    lengthwise,
    mouth,
    moved,
    prism,
    rounded_box,
)
from partgen.plan.body.sensor_holder import MARK, Lug, SensorPlan
from partgen.plan.fits import FOOT
from partgen.plan.outline import Patch

CORNER = 1.0
INNER = 0.15            # a board's corner is square: it goes in beside a snug fit's 0.05 mm
WAY_CORNER = 1.5        # of a lead's way
FLAT = 1.2              # half of the flat roof over the screw's slot, as it is printed


def tray(plan: SensorPlan) -> Shape:
    """Return the tray [mm], open upwards: what looks down lies on its sole and looks through it."""
    length, width = plan.inner_x + 2 * plan.wall, 2 * plan.half_y
    walls = rounded_box(length, width, 0.0, plan.tray, CORNER, bevel_bottom=FOOT, bevel_top=0.3)
    hollow = rounded_box(plan.inner_x, plan.inner_y, plan.sole, max(plan.tray, plan.block_top) + OVER, INNER)
    lens, at = plan.lens, (plan.lens.x, plan.lens.y)
    seen = rounded_box(lens.length, lens.width, -OVER, plan.sole + OVER, 0.4, *at)
    return cut(fuse(walls, _block(plan)), hollow, seen, mouth(lens.length, lens.width, 0.0, FOOT, 0.4, *at, down=True),
               *_nut(plan), *_pointers(plan))


def _block(plan: SensorPlan) -> Shape:
    """Return the block to the left of the tray, its underside at 45 degrees, rooted in the tray's wall."""
    inside, outside, half = plan.half_y - plan.wall, plan.half_y + plan.block, plan.block_half
    section = [(inside, 0.0), (plan.half_y, 0.0), (outside, plan.block_low), (outside, plan.block_top),
               (inside, plan.block_top)]
    return lengthwise(prism(section, -half, half))


def _nut(plan: SensorPlan) -> Iterator[Shape]:
    """Yield the tools of the nut's pocket, open upwards, and of the screw's hole before it."""
    outside, half = plan.half_y + plan.block, plan.nut / 2
    back = outside - plan.plate - plan.nut_deep
    pocket = [(-half, plan.block_top + OVER), (-half, plan.screw_z - half / sqrt(3)),
              (0.0, plan.screw_z - 2 * half / sqrt(3)), (half, plan.screw_z - half / sqrt(3)),
              (half, plan.block_top + OVER)]
    # Drawn in x and z and raised along -y.
    yield crosswise(prism(pocket, plan.plate - outside, -back))
    yield moved(crosswise(drop(plan.screw_hole, -outside - OVER, -back - plan.nut_deep / 2)), z=plan.screw_z)


def _pointers(plan: SensorPlan) -> Iterator[Shape]:
    """Yield a notch across the block's face at the screw's height, seen on either side of the lug."""
    outside = plan.half_y + plan.block
    yield moved(lengthwise(prism([(OVER, OVER + MARK), (-MARK, 0.0), (OVER, -OVER - MARK)], -plan.block_half - OVER,
                                 plan.block_half + OVER)), 0.0, outside, plan.screw_z)


def lug(plan: Lug, root: float) -> Shape:
    """Return the lug [mm], up to a height `root` within the frame."""
    half, outside = plan.half, plan.outside
    plate = prism([(-half, plan.bottom, 1.0), (half, plan.bottom, 1.0), (half, root), (-half, root)], -outside,
                  -plan.y)
    return moved(cut(crosswise(plate), _slot(plan), *_scale(plan)), plan.x)


def _slot(plan: Lug) -> Shape:
    """Return the tool of the screw's slot; the frame is printed on its head, so its lower end is a roof."""
    half, low, high = plan.slot / 2, plan.low - plan.shank / 2, plan.high + plan.shank / 2
    flat = min(FLAT, half)
    section = [(flat, low), (half, low + half - flat), (half, high), (-half, high), (-half, low + half - flat),
               (-flat, low)]
    return crosswise(prism(section, -plan.outside - OVER, OVER - plan.y))


def _scale(plan: Lug) -> Iterator[Shape]:
    """Yield the notches of the scale, through the lug's edges: all in the rear one, in the front one only that of the
    wished gap."""
    for side, heights in ((-1, plan.marks), (1, (plan.middle,))):
        edge = side * plan.half
        for at in heights:
            section = [(edge + side * OVER, at - OVER - MARK), (edge + side * OVER, at + OVER + MARK),
                       (edge - side * MARK, at)]
            yield crosswise(prism(section[::side], -plan.outside - OVER, OVER - plan.y))


def way(place: Patch, low: float, high: float, down: bool) -> Shape:
    """Return the tool of a lead's way from `low` to `high` [mm]; the edge that lies on the bed is bevelled, a body's
    lower one, a frame's upper one."""
    hole = rounded_box(place.length, place.width, low - OVER, high + OVER, WAY_CORNER, place.x, place.y)
    edge = mouth(place.length, place.width, low if down else high, FOOT, WAY_CORNER, place.x, place.y, down=down)
    return fuse(hole, edge)
