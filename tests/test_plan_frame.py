"""The frame and the drawbars under it as planned, against shapely's plane geometry and sums by hand: no CAD kernel."""

from itertools import combinations
from math import atan2, cos, pi, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from plans import made, plan_of, wagons
from shapely import Point, Polygon, box
from shapely.affinity import rotate, scale
from shapely.ops import unary_union

from partgen.plan.coupling import BEVEL, SOFT
from partgen.plan.running_gear.frame import Pocket, _fields
from partgen.plan.running_gear.two_axle import TwoAxleGear

WIDE_LINES = {"line_width": 0.9, "nozzle": 0.8, "layer": 0.3}


def hollow(pocket):
    """A pocket as drawn from above, its corners sharp: the far corner left to the screw's boss."""
    (x0, y0), (x1, y1), notch = pocket.near, pocket.far, pocket.notch
    whole = box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    if not notch:
        return whole
    inward = (x1 - np.sign(x1 - x0) * notch, y1 - np.sign(y1 - y0) * notch)
    return whole - box(min(x1, inward[0]), min(y1, inward[1]), max(x1, inward[0]), max(y1, inward[1]))


@settings(max_examples=60)
@given(wagons(modules=((), ("eye",))))
def test_a_frame_is_hollow_wherever_nothing_stands_and_nowhere_else(drawn):
    plan = made(drawn)
    frame, gear, hollows = plan.frame, plan.gear, [hollow(pocket) for pocket in plan.frame.pockets]
    rib = gear.rib
    bars = box(-frame.length / 2 + 2.4, -frame.width / 2 + 2.4, frame.length / 2 - 2.4, frame.width / 2 - 2.4)
    assert hollows and all(bars.buffer(1e-9).contains(one) for one in hollows)
    assert all(one.distance(other) >= rib - 1e-6 for one, other in combinations(hollows, 2))
    kept = [Point(seat.x, 0).buffer(seat.boss + 0.5) for seat in frame.seats]
    kept += [Point(x, y).buffer(frame.boss / 2) for x, y in frame.screws]
    kept += [Point(bolster.x, 0).buffer(bolster.boss) for bolster in frame.bolsters]
    kept += [box(start, -frame.slide.slot_width / 2, end, frame.slide.slot_width / 2).buffer(3.0 - 1e-6)
             for start, end in (frame.slide.slots if frame.slide else ())]
    assert all(one.intersection(other).area < 1e-3 for one in hollows for other in kept)
    for one in hollows:
        x0, y0, x1, y1 = one.bounds
        assert max(x1 - x0, y1 - y0) <= 32 + 1e-6 and min(x1 - x0, y1 - y0) >= 5 - 1e-6
    every = unary_union(hollows)
    assert every.symmetric_difference(scale(every, 1, -1, origin=(0, 0))).area < 1e-3
    assert every.symmetric_difference(scale(every, -1, 1, origin=(0, 0))).area < 1e-3
    # What is left between bars, spine and all that stands there takes no further bay of 5 mm with its ribs.
    half = min(gear.spine, frame.width - 4.8) / 2
    spine = box(-frame.length, -half, frame.length, half)
    beside = [box(seat.x - seat.boss - 0.5, -seat.boss - 0.5, 2 * seat.x, seat.boss + 0.5) if seat.x > 0 else
              box(2 * seat.x, -seat.boss - 0.5, seat.x + seat.boss + 0.5, seat.boss + 0.5) for seat in frame.seats]
    corners = [box(x - frame.boss, y - frame.boss, x + frame.boss, y + frame.boss) for x, y in frame.screws]
    blocks = [box(start, -half, end, half) for start, end, half in gear.blocks]
    left = bars - unary_union([spine, *beside, *corners, *blocks, every.buffer(rib / 2 + 0.01, join_style="mitre")])
    assert left.buffer(-(5 + 2 * rib) / 2 - 0.5).is_empty


def test_pocket_areas_are_those_of_round_cornered_hollows():
    """Corners of radius 2.5; in the far one a boss 7 mm wide, rounded by 3.7."""
    plain = box(3, 4, 25, 22).buffer(-2.5).buffer(2.5, quad_segs=64)
    assert Pocket((3, 4), (25, 22)).area == pytest.approx(plain.area, abs=0.1)
    assert Pocket((-3, -22), (-25, -4)).area == pytest.approx(plain.area, abs=0.1)
    stepped = (box(3, 4, 25, 22) - box(18, 15, 25, 22)).buffer(-2.5).buffer(2.5 + 3.7, quad_segs=64).buffer(-3.7)
    assert Pocket((3, 4), (25, 22), 7.0).area == pytest.approx(stepped.area, abs=1.0)


@given(st.floats(-40, 40), st.floats(1, 150), st.floats(1.6, 2.0))
def test_bays_are_alike_none_over_32_mm_and_none_under_5(low, span, rib):
    bays = _fields(low, low + span, rib)
    count = next(n for n in range(1, 9) if span <= 32 * n)
    size = (span - (count - 1) * rib) / count
    assert len(bays) == (count if size >= 5.0 else 0)
    for k, (start, end) in enumerate(bays):
        assert (start, end) == pytest.approx((low + k * (size + rib), low + k * (size + rib) + size))
    assert not bays or bays[-1][1] == low + span, "to the last bit: corners are told by it"


def test_sole_bars_have_panels_where_they_are_high_enough():
    """0.6 mm deep, less where two lines must stay: 6 mm from the ends, 1.8 mm above and below."""
    frame = plan_of({"length": 151.0}).frame
    assert frame.panel == 0.6
    assert frame.panels == pytest.approx((frame.length - 12, frame.width - 12, frame.thickness - 3.6))
    assert plan_of({}, printer={"line_width": 0.98, "nozzle": 0.8}).frame.panel == pytest.approx(2.4 - 2 * 0.98)
    assert replace(frame, top=frame.bottom + 5.9).panels is None and replace(frame, top=frame.bottom + 6.1).panels
    assert replace(frame, width=14.3).panels is None and replace(frame, width=14.5).panels


@settings(max_examples=30)
@given(wagons(modules=((), ("eye",))))
def test_a_frames_volume_is_that_of_its_plan_views(drawn):
    """Plate and bars less hollows, slots, grooves and panels, with all that hangs below: layer by layer in shapely."""
    plan = made(drawn)
    frame, gear = plan.frame, plan.gear
    x, y = frame.length / 2, frame.width / 2
    block = box(-x, -y, x, y).buffer(-3).buffer(3, quad_segs=64)
    def rounding(radius):
        return (1 - pi / 4) * radius**2

    # corners of 2.5 mm: one more round a boss, whose own rounding leaves more hollow
    hollows = sum(hollow(pocket).area - 4 * rounding(2.5) - (rounding(2.5) - rounding(frame.boss / 2) if pocket.notch
                                                             else 0.0) for pocket in frame.pockets)
    volume = block.area * frame.thickness - hollows * (frame.thickness - frame.plate)
    volume -= sum(pi / 4 * frame.core**2 * frame.core_depth for _ in frame.screws)
    if frame.panels:
        along, across, high = frame.panels
        volume -= 2 * (along + across) * high * 0.6 * 0.8
    for seat in frame.seats:
        volume += pi * seat.boss**2 * (frame.bottom - seat.boss_bottom)
        volume += pi / 4 * (seat.spigot**2 - seat.core**2) * (seat.boss_bottom - seat.spigot_bottom)
        ring = Point(0, 0).buffer(seat.boss, quad_segs=64) - Point(0, 0).buffer(seat.guard_inner, quad_segs=64)
        fan = Polygon([(0, 0), *((99 * cos(radians(a)), 99 * sin(radians(a))) for a in
                                 np.linspace(-seat.opening, seat.opening, 99))])
        volume += (ring - fan).area * (seat.boss_bottom - seat.guard_bottom)
    for bolster in frame.bolsters:
        volume += pi * bolster.boss**2 * (frame.bottom - bolster.boss_bottom)
        volume += pi / 4 * (bolster.spigot**2 - bolster.core**2) * (bolster.boss_bottom - bolster.spigot_bottom)
    if isinstance(gear, TwoAxleGear):
        volume -= slide_volume(gear.slide, frame.thickness)
    volume += hanging_volume(frame)
    assert frame.volume == pytest.approx(volume, rel=0.0015)
    assert frame.bottom < frame.centroid_z < frame.top


def slide_volume(slide, thickness):
    """Slots by their profile, straight necks, shoulders of 45 degrees, straight to the top; grooves as trapezoids."""
    wide, neck, sill = slide.slot_width / 2, slide.neck_width / 2, slide.neck_height
    assert sill >= max(1.6, slide.holder.tooth_height + 0.1 + slide.land - 0.05) - 1e-9, "two lines over the grooves"
    profile = Polygon([(-neck, 0), (neck, 0), (neck, sill), (wide, sill + wide - neck), (wide, thickness),
                       (-wide, thickness), (-wide, sill + wide - neck), (-neck, sill)])
    slots = profile.area * sum(end - start for start, end in slide.slots)
    deep = slide.holder.tooth_height + 0.1
    grooves = [Polygon([(a, 0), (b, 0), (b - deep, deep), (a + deep, deep)]).area
               for stretch in slide.groove_stretches for a, b in stretch]
    marks = box(0, slide.groove_width / 2 + slide.land, sum(end - start for start, end in slide.marks), slide.spine / 2)
    return slots + sum(grooves) * max(slide.groove_width - slide.neck_width, 0) + 2 * marks.area * deep


def hanging_volume(frame):
    """Half of what is under the plate there is hollow: a collar fills half, the way takes its own; the lug hangs below,
    less the slot for its screw."""
    below, found = frame.thickness - frame.plate, 0.0
    for one in frame.hung:
        lug, edge = one.lug, one.tray.wall
        half = max(6 + edge, lug.half)
        collar = box(-half, one.way.y - 3 - edge, half, max(one.way.y + 3 + edge, lug.y + lug.thick)).area
        slot = lug.slot * (lug.high - lug.low + lug.shank)
        found += (collar / 2 - 12 * 6) * below - 12 * 6 * frame.plate
        found += (2 * lug.half * (frame.bottom - lug.bottom) - slot) * lug.thick
    return found


# ---- pivots and drawbars

@pytest.mark.parametrize("screw, printer, spigot", [
    ("M3", {}, 6.0), ("M2.5", {}, 5.0), ("M2", {}, 4.0), ("M3", {"line_width": 0.9, "nozzle": 0.6}, 
     3.453 + 2 * (1.8 * cos(atan2(0.4, 0.75)) + 0.05))])
def test_spigots_are_as_thick_as_screws_in_plastic_ask_inside_their_washer(screw, printer, spigot):
    """Outside 2 d (SEEN-2: rules for screws in plastic) or two lines round the core, and
    round the mouth of 3.3 mm that tapers off in 0.75 mm, square to its cone;
    large washers of 9, 8 and 6 mm (MEM: ISO 7093-1) lap the bore that turns there, 0.25 mm wider than the spigot and
    bevelled by 0.5 mm."""
    plan = plan_of({"screw": screw}, printer=printer)
    seat = plan.frame.seats[0]
    core, washer = {"M3": (2.5, 9.0), "M2.5": (2.05, 8.0), "M2": (1.6, 6.0)}[screw]
    assert seat.core == pytest.approx(core + 0.153, abs=0.005)
    assert seat.spigot == pytest.approx(spigot, abs=0.01)
    assert seat.bevel == min(0.5, (seat.spigot - seat.core) / 4)
    assert seat.spigot + 0.25 < plan.coupling.front.pivot_hole < washer - 2 * 0.5 - 2 * 0.25


@pytest.mark.parametrize("layer, play", [(0.2, 0.6), (0.3, 0.6), (0.48, 0.96)])
def test_a_tightened_pivot_leaves_the_drawbar_its_play(layer, play):
    """Washer on the spigot's end, tail between washer and boss: the play is what they leave, two layers or more."""
    plan = plan_of({}, printer={"layer": layer, "nozzle": 0.6, "line_width": 0.6})
    for seat in plan.frame.seats:
        free = seat.boss_bottom - seat.spigot_bottom - plan.coupling.front.thickness
        assert free == pytest.approx(play) == seat.play


@pytest.mark.parametrize("layout", ["pair", "single"])
@pytest.mark.parametrize("printer", [{}, WIDE_LINES])
def test_a_drawbars_volume_is_that_of_its_outline(layout, printer):
    bar = plan_of({}, coupler={"use": "magnet-6x3", "layout": layout}, printer=printer).coupling.front
    tail, neck, head = bar.tail_radius, bar.neck_width / 2, bar.head_width / 2
    outline = unary_union([
        Point(0, 0).buffer(tail, quad_segs=128), box(0, -neck, bar.flare, neck), box(bar.back, -head, bar.reach, head),
        Polygon([(bar.flare, -neck), (bar.flare, neck), (bar.back, head), (bar.back, -head)])])
    outline -= Point(0, 0).buffer(bar.pivot_hole / 2, quad_segs=128)
    r = bar.magnet_hole / 2     # a pocket is round below and straight up to the cover's recess
    pocket = bar.magnet_slot * (pi / 2 * r**2 + 2 * r * (bar.thickness / 2 - bar.cover_depth))
    recess = bar.cover_length * bar.cover_width * bar.cover_depth
    bevels = outline.exterior.length * (BEVEL**2 + SOFT**2) / 2
    whole = outline.area * bar.thickness - len(bar.pockets) * pocket - recess - bevels
    assert bar.volume == pytest.approx(whole, rel=4e-3)
    assert len(bar.pockets) == len(bar.marks) == (2 if layout == "pair" else 1)
    assert bar.size == (bar.reach + tail, max(2 * head, 2 * tail), bar.thickness) and bar.centroid_z == 0.0
    assert bar.joint == pytest.approx(sqrt(tail**2 - neck**2))


@settings(max_examples=40)
@given(st.sampled_from(["magnet-5x2", "magnet-6x3", "magnet-8x3"]), st.sampled_from([8.0, 14.0, 22.0, 37.0]),
       st.sampled_from([11.0, 24.5, 41.0]), st.sampled_from(["pair", "single"]), st.sampled_from([{}, WIDE_LINES]))
def test_a_coupler_keeps_its_walls_and_its_seat_its_swing(use, gap, swing, layout, printer):
    wish = {"use": use, "gap": gap, "swing": swing, "layout": layout, "height": 15.0}
    plan = plan_of({}, coupler=wish, printer=printer)
    coupling, seat, two = plan.coupling, plan.frame.seats[0], 2 * printer.get("line_width", 0.45)
    bar, rear = coupling.front, coupling.rear
    assert (bar == rear) == (layout == "pair") and (layout == "pair" or (bar.marks, rear.marks) == (("N",), ("S",)))
    assert bar.marks == (("N", "S") if layout == "pair" else ("N",))
    # walls: round the magnets, before them, below and above
    for y in bar.pockets:
        assert bar.head_width / 2 - abs(y) - bar.magnet_hole / 2 >= max(1.2, two) - 1e-9
    if layout == "pair":
        assert bar.pockets[0] - bar.pockets[1] - bar.magnet_hole == pytest.approx(max(1.2, two))
    line = two / 2          # behind the magnets a letter of 3 mm, or of three strokes, and a land on either side of it
    mark = max(3.0, 3 * 1.15 * line) + 2 * max(0.95, line)
    assert bar.reach - bar.skin - bar.cover_length - mark == pytest.approx(bar.back)
    assert bar.skin >= max(0.8, two) - 1e-9
    assert (bar.thickness - bar.magnet_hole) / 2 >= max(1.4, two + 0.1) - 1e-9
    # bodies stand `gap` apart when heads meet, and the head clears the guard behind it
    assert 2 * (bar.reach - coupling.inset) == pytest.approx(gap)
    assert bar.flare >= coupling.guard_outer + 0.6 - 1e-9 and bar.back >= bar.flare - 1e-9
    # the guard lets the neck swing as far as asked, seen as a wedge from the pivot
    half_neck = np.degrees(np.arcsin(min(1.0, bar.neck_width / 2 / seat.guard_inner)))
    assert seat.opening - half_neck == pytest.approx(swing)
    assert seat.guard_inner == pytest.approx(bar.tail_radius + 0.6)
    assert seat.boss - seat.guard_inner >= max(1.8, two) - 1e-9
    assert seat.boss_bottom - (coupling.height + bar.thickness / 2) == pytest.approx(0.3)
    assert (coupling.height - bar.thickness / 2) - seat.spigot_bottom == pytest.approx(0.3)
    # of the swung head nothing gets nearer to the pivot's cross line than said
    neck, head = bar.neck_width / 2, bar.head_width / 2
    corners = Polygon([(bar.flare, -neck), (bar.flare, neck), (bar.back, head), (bar.reach, head), (bar.reach, -head),
                       (bar.back, -head)])
    assert coupling.head_back == pytest.approx(rotate(corners, swing, origin=(0, 0)).bounds[0])
