"""The cradle: a tray with a tulip-shaped seat for every cup; and the clip-in insert, a split ring with a bead that
clicks into a seat and two ears to pinch. Both are printed as they stand.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import atan2, cos, degrees, hypot, pi, sin

from cadquery import Edge, Face, Shape, Solid, Vector, Wire, func
from OCP.BRepFill import BRepFill

from partgen.describe.turned import diameter_at
from partgen.parts.shapes import (
    OVER,
    Corner,
    Point,
    crosswise,
    cut,
    joined,
    lathe,
    moved,
    prism,
    rounded_box,
    turned,
    yawed,
)
from partgen.plan.deck.cradle import LEVEL, WINDOW, CradlePlan
from partgen.plan.deck.insert import EAR_REACH, InsertPlan
from partgen.plan.deck.seats import FOOT, Seat
from partgen.plan.fastening import BORDER

Profile = Sequence[Point]       # (height, diameter) [mm] pairs upwards
Station = tuple[Profile, float, float]
Along = tuple[float, float, float, float]

EDGE_BEVEL = 0.5        # of the tray, above and on the bed
LEAD_IN = 0.6           # 45 degree bevel on the seat's inner edge
ROUNDING = 0.8          # of its outer edge
WINDOW_BEVEL = 0.5      # on both sides of the wall
PAST = 0.4              # how far a window's bevels reach beyond the wall's faces
RING_FOOT = 0.4         # bevel of an insert on the bed, where the first layers spread
RING_ROUNDING = 0.5     # of its upper edge
RING_LEAD_IN = 0.5      # 45 degree bevel on its inner edge
EAR_ROUNDING = 1.6
MOST_LEAN = 0.7         # of a wall outwards that a bead's underside makes up for by its height
RISE, CREST = 1.15, 0.88 * pi
"""A window's rise as a share of its half width, and the phase at the seat's edge."""


def cradle(plan: CradlePlan) -> Shape:
    """Return the cradle in wagon axes, heights over rail top [mm]."""
    return cut(joined(_tray(plan), *_seats(plan)), *_screw_holes(plan))


def _seats(plan: CradlePlan) -> Iterator[Shape]:
    """Yield every seat in place; where it reaches into another's hollow it gives way."""
    drawn: dict[tuple[Profile, float], Shape] = {}
    for seat in plan.seats:
        shape = (seat.profile, seat.wall)
        if shape not in drawn:
            drawn[shape] = cut(_outside(seat), _inside(seat), *_windows(seat))
        # A copy each: faces that two places share would be meshed for one of them only.
        own = yawed(drawn[shape].copy(), seat.turn)
        hollows = [moved(_inside(other), other.x - seat.x, other.y - seat.y) for other in plan.seats
                   if other is not seat and _reaches_into(seat, other)]
        yield moved(cut(own, *hollows), seat.x, seat.y, plan.bottom + plan.plate)


def _reaches_into(seat: Seat, other: Seat) -> bool:
    apart = hypot(other.x - seat.x, other.y - seat.y)
    return apart < (seat.outer_diameter + other.profile[-1][1]) / 2 + FOOT + LEAD_IN


def _tray(plan: CradlePlan) -> Shape:
    """Return the plate with its raised border."""
    deck = plan.bottom + plan.plate
    tray = rounded_box(plan.length, plan.width, plan.bottom, deck + plan.border, plan.corner,
                       bevel_bottom=EDGE_BEVEL, bevel_top=EDGE_BEVEL)
    # The floor's corners keep what the bevel at its edge takes from them.
    slope, wide = plan.border + OVER, 2 * (BORDER - OVER)
    return cut(tray, rounded_box(plan.length - wide, plan.width - wide, deck, deck + slope + OVER,
                                 max(plan.corner - BORDER, 0.3) + slope, bevel_bottom=slope))


def _screw_holes(plan: CradlePlan) -> Iterator[Shape]:
    """Yield countersunk holes, free upwards so that a driver reaches them past a seat's wall."""
    deck, top = plan.bottom + plan.plate, plan.bottom + plan.size[2] + OVER
    throat = deck - (plan.cone - plan.screw_hole) / 2
    for x, y in plan.screws:
        yield turned([(plan.bottom - OVER, plan.screw_hole), (throat, plan.screw_hole),
                      (deck, plan.cone), (top, plan.cone)], x, y)


# A seat: drawn about its own axis over the plate's upper face

def _outside(seat: Seat) -> Shape:
    """Return the seat without its hollow, on a foot of 45 degrees that goes down into the plate."""
    base, top = seat.outer_profile[0][1] / 2, seat.outer_profile[-1][1] / 2
    meet = _foot_top(seat)
    section = [(0, -OVER), (base + FOOT + 0.3, -OVER), (base + FOOT + 0.3, -0.3), (base + FOOT - meet, meet)]
    section += [(d / 2, h) for h, d in seat.outer_profile[1:-1] if h > meet + 0.01]
    return lathe([*section, (top, seat.height, ROUNDING), (0, seat.height)])


def _foot_top(seat: Seat) -> float:
    """Return the height [mm] where the foot, shrinking at 45 degrees, meets the wall, which only widens."""
    low, high, base = 0.0, FOOT, seat.outer_profile[0][1] / 2
    for _ in range(40):
        middle = (low + high) / 2
        inside = diameter_at(seat.outer_profile, middle) / 2 < base + FOOT - middle
        low, high = (middle, high) if inside else (low, middle)
    return low


def _inside(seat: Seat) -> Shape:
    """Return the seat's hollow, bevelled outwards at its upper edge."""
    start = seat.height - LEAD_IN
    neck = diameter_at(seat.profile, start)
    wide = max(neck + 2 * LEAD_IN, seat.profile[-1][1])
    wall = [*((h, d) for h, d in seat.profile if h < start), (start, neck)]
    return turned([*_beaded(wall, *seat.groove), (seat.height, wide), (seat.height + OVER, wide + 2 * OVER)])


def _beaded(wall: Profile, middle: float, depth: float) -> Profile:
    """Return a wall's (height, diameter) pairs with a bead, or the groove for one: 45 degrees above it, and below it
    from upright, also where the wall leans outwards itself."""
    if not depth:
        return wall
    lean = (diameter_at(wall, middle) - diameter_at(wall, middle - depth)) / 2 / depth
    under = depth / (1 - min(max(lean, 0.0), MOST_LEAN))
    bead = [(middle - under, diameter_at(wall, middle - under)), (middle, diameter_at(wall, middle) + 2 * depth),
            (middle + depth, diameter_at(wall, middle + depth))]
    return sorted([*(pair for pair in wall if not middle - under <= pair[0] <= middle + depth), *bead])


# A window: rays from the seat's axis through a wave-shaped contour, bevelled on both sides of the wall

def _windows(seat: Seat) -> tuple[Shape, Shape]:
    """Return the tools of the left and right windows that open a share WINDOW of the seat's wall together."""
    rings = [_ring(seat, station, _contour(seat)) for station in _stations(seat)]
    skin = [face for near, far in pairwise(rings) for face in _between(near, far)]
    left = func.solid(func.shell(*skin, *_cap(rings[0]), *_cap(rings[-1])))
    if left.Volume() < 0:       # sewn inside out, as happens with one diameter in some hundred, it would cut nothing
        left = Solid(left.wrapped.Reversed())
    return left, yawed(left, 180)


def _contour(seat: Seat) -> list[Along]:
    """Return points (along the wall, height, normal along, normal up) [mm] of the contour's right half.

    From the middle of its level bottom half a cosine rises to the seat's edge and on straight past it.
    """
    half = WINDOW * pi / 2 * _unrolled(seat)
    scale, points = (seat.height - seat.sill) / (1 - cos(CREST)), [(0.0, seat.sill, 0.0, -1.0)]
    for phase in (0.0, CREST / 3, 2 * CREST / 3, CREST):
        slope = scale * pi / (RISE * half) * sin(phase)
        points.append((half * (LEVEL + RISE * phase / pi), seat.sill + scale * (1 - cos(phase)),
                       slope / hypot(1, slope), -1 / hypot(1, slope)))
    # All stations end at one height, so there the contour widens along the wall only.
    return [*points, (points[-1][0] + OVER / slope, seat.height + OVER, hypot(1, slope) / slope, 0.0)]


def _unrolled(seat: Seat) -> float:
    """Return the radius [mm] on which lengths along the wall are measured."""
    return diameter_at(seat.outer_profile, (seat.sill + seat.height) / 2) / 2


def _stations(seat: Seat) -> tuple[Station, ...]:
    """Return (profile, out from it, contour widened) [mm] from the hollow outwards.

    The last one lies so far out that the flat cap between its ends clears the wall.
    """
    inner, outer, wide = seat.profile, seat.outer_profile, WINDOW_BEVEL + PAST
    return ((inner, -PAST, wide), (inner, WINDOW_BEVEL, 0.0),
            (outer, -WINDOW_BEVEL, 0.0), (outer, PAST, wide),
            (((0.0, 3 * seat.outer_diameter),), 0.0, wide))


def _ring(seat: Seat, station: Station, contour: Iterable[Along]) -> tuple[Edge, Edge, Edge]:
    """Return the left window's contour on one station as edges: fall, level, rise."""
    profile, out, widened = station
    rise = []
    for along, height, normal_along, normal_up in contour:
        height += widened * normal_up
        angle = (along + widened * normal_along) / _unrolled(seat)
        radius = diameter_at(profile, height) / 2 + out
        rise.append((radius * sin(angle), radius * cos(angle), height))
    middle, *right = (Vector(*point) for point in rise)
    left = [Vector(-point.x, point.y, point.z) for point in right]
    return _wave(left), Edge.makeThreePointArc(left[0], middle, right[0]), _wave(right)


def _wave(points: list[Vector]) -> Edge:
    """Return a smooth edge through `points` that leaves the first one level, round the seat's axis."""
    start, sense = points[0], 1 if points[0].x > 0 else -1
    return Edge.makeSpline(points, tangents=[Vector(start.y, -start.x, 0) * sense, points[-1] - points[-2]])


def _between(near: Sequence[Edge], far: Sequence[Edge]) -> Iterator[Face]:
    """Yield the faces between two stations: waves, level bottom (part of a cone), top."""
    for k in (0, 2):
        yield Face(BRepFill.Face_s(near[k].wrapped, far[k].wrapped))
    inner, outer = near[2].startPoint(), far[2].startPoint()
    yield from func.revolve(Edge.makeLine(inner, outer), (0, 0, 0), (0, 0, 1),
                            2 * degrees(atan2(inner.x, inner.y))).Faces()
    top = [near[0].endPoint(), near[2].endPoint(), far[2].endPoint(), far[0].endPoint()]
    yield Face.makeFromWires(Wire.makePolygon(top, close=True), [])


def _cap(ring: Sequence[Edge]) -> Iterator[Face]:
    """Yield the faces across a station: level chords from wave to wave, and a flat bottom."""
    left, level, right = ring
    yield Face(BRepFill.Face_s(left.wrapped, right.wrapped))
    chord = Edge.makeLine(right.startPoint(), left.startPoint())
    yield Face.makeFromWires(Wire.assembleEdges([level, chord]), [])


# The insert

def insert(plan: InsertPlan) -> Shape:
    """Return the insert in its own frame [mm]."""
    ring = lathe(_section(plan))
    whole = joined(ring, *_ears(plan)) if plan.ear else ring
    return cut(whole, _room(plan), *([_channel(plan)] if plan.hollow else []), _slit(plan))


def _section(plan: InsertPlan) -> list[Corner]:
    """Return the corners of the ring without its hollow: foot bevel, wall, bead, rounded edge."""
    (_, foot), *wall, (_, top) = ((h, d / 2) for h, d in _beaded(plan.outer, plan.bead_height, plan.bead))
    return [(0, 0), (foot - RING_FOOT, 0), (foot, RING_FOOT), *((r, h) for h, r in wall if h > RING_FOOT + 0.01),
            (top, plan.height, RING_ROUNDING), (0, plan.height)]


def _room(plan: InsertPlan) -> Shape:
    """Return the cup's room, bevelled outwards at its upper edge."""
    start = plan.height - RING_LEAD_IN
    neck = diameter_at(plan.inner, start)
    return turned([(-OVER, plan.inner[0][1]), *((h, d) for h, d in plan.inner if h < start), (start, neck),
                   (plan.height + OVER, neck + 2 * (RING_LEAD_IN + OVER))])


def _channel(plan: InsertPlan) -> Shape:
    """Return the channel between the two shells of a thick ring, open upwards."""
    outside, inside = plan.channel
    return cut(turned([*outside, (plan.height + OVER, outside[-1][1])]),
               turned([(inside[0][0] - OVER, inside[0][1]), *inside, (plan.height + 2 * OVER, inside[-1][1])]))


def _slit(plan: InsertPlan) -> Shape:
    reach = max(diameter for _, diameter in plan.outer)
    return moved(rounded_box(plan.slit, reach, -OVER, plan.height + OVER, 0.0), 0.0, reach / 2)


def _ears(plan: InsertPlan) -> Iterator[Shape]:
    """Yield the ears beside the slit: they leave the ring at 45 degrees, so that they print without supports."""
    root, inside = (diameter_at(profile, plan.ear_foot) / 2 for profile in (plan.outer, plan.inner))
    tip, half = root + EAR_REACH, plan.ear / 2
    corners = [(inside, plan.ear_foot), (root, plan.ear_foot), (tip, plan.ear_foot + EAR_REACH, EAR_ROUNDING),
               (tip, plan.height, EAR_ROUNDING), (inside, plan.height)]
    ear = yawed(crosswise(prism(corners, -half, half)), 90)     # drawn across and turned towards the left
    yield from (moved(ear, side * (plan.slit / 2 + half)) for side in (-1, 1))
