"""The frame: plate, sole bars, spine with slots for the clamp bars or with bolsters, coupler seats, screws."""

from collections.abc import Iterator

from cadquery import Shape

from partgen.parts.sensor_holder import lug, way
from partgen.parts.shapes import (
    OVER,
    box_corners,
    core,
    crosswise,
    cut,
    fuse,
    moved,
    prism,
    rounded_box,
    tower,
    turned,
    turned_part,
    yawed,
)
from partgen.plan.coupling import SeatPlan
from partgen.plan.fits import FOOT
from partgen.plan.pivot import PivotPlan
from partgen.plan.running_gear.ballast import CELL_CORNER
from partgen.plan.running_gear.cable_lane import EYE, EYE_HIGH, UNDER, CableLane
from partgen.plan.running_gear.frame import POCKET_CORNER, FramePlan, Pocket
from partgen.plan.running_gear.holder import SlidePlan

TOP_BEVEL = 0.5         # lies on the bed
FOOT_BEVEL = 0.8
GUARD_BEVEL = 0.5
RIM = 0.4               # bevel of the boss where the guard leaves it free
CLEAR = 0.4             # comb under the spine: under half the land between two grooves
COLLAR_CORNER = 0.6     # of what a sensor's lug and lead ask for
SUNK = 1.0              # seats reach into the spine, so that no faces coincide


def frame(plan: FramePlan) -> Shape:
    """Return the frame in wagon axes, heights over rail top [mm]; its upper face is flat."""
    block = rounded_box(plan.length, plan.width, plan.bottom, plan.top, plan.corner, bevel_bottom=FOOT_BEVEL,
                        bevel_top=TOP_BEVEL)
    front, rear = plan.seats
    seats = [] if plan.on_arms else [moved(seat(front, plan.bottom), front.x),
                                     moved(yawed(seat(rear, plan.bottom), 180.0), rear.x)]
    bolsters = [moved(_pivot(bolster, plan.bottom), bolster.x) for bolster in plan.bolsters]
    hollows = [_hollow(plan, pocket) for pocket in plan.pockets] + [*_cells(plan)]
    # All in one cut: one after the other takes twice as long.
    slide, low = plan.slide, plan.bottom
    ways = (*_slots(slide, plan), *_grooves(slide, low), *_marks(slide, plan)) if slide else ()
    cuts = (*ways, *_cores(plan), *_panels(plan), *_eyes(plan))
    if not plan.hung:
        return cut(fuse(block, *seats, *bolsters), *hollows, *cuts)
    collars = [rounded_box(x1 - x0, y1 - y0, plan.bottom, plan.top - plan.plate / 2, COLLAR_CORNER, (x0 + x1) / 2,
                           (y0 + y1) / 2) for x0, x1, y0, y1 in plan.collars]
    lugs = [lug(one.lug, plan.bottom + SUNK) for one in plan.hung]
    whole = fuse(cut(fuse(block, *seats, *bolsters), *hollows), *collars, *lugs)
    return cut(whole, *cuts, *(way(one.way, plan.bottom, plan.top, down=False) for one in plan.hung))


def seat(plan: SeatPlan, bottom: float) -> Shape:
    """Return the coupler seat about the z axis, open towards +x: a pivot with its guard, under a face at `bottom`."""
    outer, inner = plan.boss, plan.guard_inner
    low, top = plan.guard_bottom, plan.boss_bottom + SUNK / 2
    ring = [(inner, top), (inner, low + GUARD_BEVEL), (inner + GUARD_BEVEL, low), (outer - GUARD_BEVEL, low),
            (outer, low + GUARD_BEVEL), (outer, top)]
    return fuse(_pivot(plan, bottom), turned_part(ring, plan.opening, 360.0 - plan.opening))


def _pivot(pivot: PivotPlan, bottom: float) -> Shape:
    """Boss and spigot about the z axis."""
    return turned([(pivot.spigot_bottom, pivot.spigot - 2 * pivot.bevel),
                   (pivot.spigot_bottom + pivot.bevel, pivot.spigot), (pivot.boss_bottom, pivot.spigot),
                   (pivot.boss_bottom, 2 * (pivot.boss - RIM)), (pivot.boss_bottom + RIM, 2 * pivot.boss),
                   (bottom + SUNK, 2 * pivot.boss)])


def _hollow(plan: FramePlan, pocket: Pocket) -> Shape:
    """A hollow with round corners, but for those by a toothed spine, where marks end; where a screw boss stands in it,
    the corner is stepped round the boss."""
    (x0, y0), (x1, y1), corner = pocket.near, pocket.far, POCKET_CORNER
    if pocket.notch:
        xs, ys = (value - (pocket.notch if value > 0 else -pocket.notch) for value in pocket.far)
        far = [(x1, ys, corner), (xs, ys, plan.boss / 2), (xs, y1, corner)]
    else:
        far = [(x1, y1, corner)]
    by_spine = 0.0 if plan.slide else corner
    return prism([(x0, y0, by_spine), (x1, y0, by_spine), *far, (x0, y1, corner)], plan.bottom - OVER,
                 plan.top - plan.plate)


def _cells(plan: FramePlan) -> Iterator[Shape]:
    """Yield the cells for ballast, open to the top."""
    for (x0, x1), (y0, y1) in plan.ballast.cells:
        yield rounded_box(x1 - x0, y1 - y0, plan.top - plan.ballast.depth, plan.top + OVER, CELL_CORNER, (x0 + x1) / 2,
                          (y0 + y1) / 2)


def _slots(slide: SlidePlan, plan: FramePlan) -> Iterator[Shape]:
    """Neck below, 45 degree shoulders all round, upright up to the mouth: the bar drops in from above."""
    neck, wide = plan.bottom + slide.neck_height, plan.bottom + slide.neck_height + slide.shoulder
    for (n0, n1), (s0, s1) in zip(slide.necks, slide.slots, strict=True):
        below = box_corners(n1 - n0, slide.neck_width, x=(n0 + n1) / 2)
        above = box_corners(s1 - s0, slide.slot_width, x=(s0 + s1) / 2)
        mouth = box_corners(s1 - s0 + 2 * (FOOT + OVER), slide.slot_width + 2 * (FOOT + OVER), x=(s0 + s1) / 2)
        yield tower((plan.bottom - OVER, below), (neck, below), (wide, above), (plan.top - FOOT, above),
                    (plan.top + OVER, mouth))


def _grooves(slide: SlidePlan, bottom: float) -> Iterator[Shape]:
    """Return one comb a stretch of grooves; between its teeth it keeps clear of the spine."""
    half, deep = slide.groove_width / 2, slide.groove_depth
    for spans in slide.groove_stretches:
        ends = [(spans[0][0] - CLEAR, -2 * CLEAR), (spans[-1][1] + CLEAR, -2 * CLEAR)]
        teeth = [corner for start, end in reversed(spans) for corner in
                 ((end + CLEAR, -CLEAR), (end - deep, deep), (start + deep, deep), (start - CLEAR, -CLEAR))]
        yield moved(crosswise(prism(ends + teeth, -half, half)), z=bottom)


def _marks(slide: SlidePlan, plan: FramePlan) -> Iterator[Shape]:
    """Yield the marks in the spine's underside, open to the hollows at its sides; at a rib they end with the spine, so
    that nothing thin of it is left."""
    inner, outer = slide.mark_y
    hollows = [pocket.spans[0] for pocket in plan.pockets if pocket.near[1] == outer]
    for start, end in slide.marks:
        open_to = sorted((max(start, low), min(end, high)) for low, high in hollows if low < end and start < high)
        edge = [corner for low, high in open_to for corner in
                ((low, outer), (low, outer + OVER), (high, outer + OVER), (high, outer))]
        around = [*dict.fromkeys([(end, inner), (start, inner), (start, outer), *edge, (end, outer)])]
        for side in (1, -1):
            yield prism([(x, side * y) for x, y in around], plan.bottom - OVER, plan.bottom + slide.groove_depth)


def _eyes(plan: FramePlan) -> Iterator[Shape]:
    """Yield the eyes for ties in the ribs over passing cables."""
    low, lane = plan.bottom + UNDER, plan.lane or CableLane(0.0, 0.0, 0.0)
    for x, y in lane.eyes:
        yield rounded_box(lane.rib + 2 * OVER, EYE, low, low + EYE_HIGH, 0.0, x, y)


def _cores(plan: FramePlan) -> Iterator[Shape]:
    """Holes right through for the body's screws, and blind ones from below for the pivot screws."""
    for x, y in plan.screws:
        yield core(plan.core, plan.mouth, plan.core_depth + OVER, plan.top, x, y)
    for pivot in plan.pivots:
        yield core(pivot.core, pivot.mouth, pivot.core_depth, pivot.spigot_bottom, pivot.x, up=True)


def _panels(plan: FramePlan) -> Iterator[Shape]:
    """Panels sunk into the outside of the sole bars, their borders at 45 degrees."""
    if not plan.panels:
        return
    deep, middle = plan.panel, (plan.bottom + plan.top) / 2
    along, across, high = plan.panels
    for size, reach, turn in ((along, plan.width / 2, 0.0), (across, plan.length / 2, 90.0)):
        tool = tower((-deep, box_corners(size - 2 * deep, high - 2 * deep)),
                     (OVER, box_corners(size + 2 * OVER, high + 2 * OVER)))
        for yaw in (0.0, 180.0):
            yield yawed(moved(crosswise(tool), 0.0, -reach, middle), turn + yaw)
