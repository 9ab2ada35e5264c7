"""Frame, running gear and coupler as planned, against plane geometry of shapely's and sums by hand: no CAD kernel."""

from itertools import combinations
from math import cos, pi, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from plans import made, plan_of, wagons
from shapely import Point, Polygon, box
from shapely.affinity import rotate, scale
from shapely.ops import unary_union

from partgen.checks.wishes import wanting
from partgen.plan.running_gear.bogie import BogieGear, SwingRoom
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


# ---- running gear

@settings(max_examples=40)
@given(wagons())
def test_wheels_holders_and_bogies_keep_their_distances(drawn):
    """Flanges 1.2 mm under the frame, also where a bogie tips on its pad; the drawbar clears the frame."""
    plan = made(drawn)
    gear, wheels = plan.gear, plan.wheelset
    assert gear.axle_z == wheels.tread_diameter / 2
    assert gear.frame_bottom >= gear.wheel_top + 1.2 - 1e-9
    assert gear.wheel_top >= gear.axle_z + wheels.flange_diameter / 2 - 1e-9
    bar = plan.coupling.front
    assert gear.frame_bottom >= plan.coupling.height + bar.thickness / 2 + 0.3 + 0.6 - 1e-9
    assert gear.carrier_width == pytest.approx(wheels.back_to_back - 0.8)
    if isinstance(gear, BogieGear):
        x, y, r = gear.bogie_wheelbase / 2, wheels.back_to_back / 2, wheels.flange_diameter / 2
        assert gear.room.rectangles == ((x - r, x + r, y, y + wheels.width),
                                        (0.0, x + gear.clip.tip, 0.0, gear.bogie.width / 2))
        assert gear.axles == pytest.approx([s * gear.base / 2 + t * gear.bogie_wheelbase / 2
                                            for s in (1, -1) for t in (1, -1)])
        highest = max(tipped_wheel(gear, bolster, turn) for bolster in gear.bolsters for turn in range(0, 91, 3))
        further = np.hypot(x + 7, y + wheels.width) / np.hypot(x, y + wheels.width)
        assert highest - 0.05 <= gear.wheel_top - gear.axle_z - r <= further * highest
        assert gear.bogie.top + 1.2 == pytest.approx(gear.frame_bottom - gear.axle_z)
        assert [bolster.x for bolster in gear.bolsters] == [gear.base / 2, -gear.base / 2]
        assert not gear.travel and gear.slide is None
    else:
        assert gear.axles == (gear.base / 2, -gear.base / 2) and not gear.bolsters
        assert gear.holder.top == pytest.approx(gear.frame_bottom - gear.axle_z)


def tipped_wheel(gear, bolster, turn):
    """Return how far [mm] a wheel rises as its bogie tips over its pad's edge, `turn` [deg] from straight ahead, until
    it lies on the king pin's washer."""
    run = gear.axle_z + gear.bogie.under - bolster.spigot_bottom
    ahead, aside = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    slope = run / (bolster.boss + gear.bogie.washer / 2)
    _, x, _, y = gear.room.rectangles[0]
    return slope * ((gear.bogie_wheelbase / 2) * ahead + y * aside)


@settings(max_examples=40)
@given(wagons())
def test_the_body_is_as_long_as_gear_and_couplers_take(drawn):
    """No holder at the end of its travel, no swinging bogie stands in a coupler seat's place, and none is farther off
    than it must be where no length is wished."""
    plan = made(drawn)
    gear, coupling, seat = plan.gear, plan.coupling, plan.frame.seats[0]
    ahead = seat.x - gear.base / 2
    assert seat.x == pytest.approx(plan.length / 2 - coupling.inset) and plan.frame.seats[1].x == -seat.x
    assert ahead >= gear.least_seat_distance - 1e-6 and gear.least_seat_distance <= gear.seat_distance
    if isinstance(gear, TwoAxleGear):
        under = gear.holder.half_length
        if coupling.guard_outer > plan.wheelset.back_to_back / 2 - 0.5:
            under = max(under, plan.wheelset.flange_diameter / 2)
        # 0.8 mm from what moves under the frame to the seat's place; the slot above ends where the seat's boss begins
        nearest = max(under + 0.8 + coupling.guard_outer, gear.bar.length / 2 + 0.3 + seat.boss)
        assert gear.least_seat_distance == pytest.approx(nearest)
        assert 0 <= gear.travel <= plan.wagon.travel
        pitch = gear.holder.tooth_pitch     # whole teeth, as many as are wished and go
        assert gear.travel == pytest.approx(pitch * int(min(plan.wagon.travel, ahead - gear.least_seat_distance) / pitch
                                                        + 1e-5), abs=1e-6)
        settings = np.arange(gear.base - 2 * gear.travel, gear.base + 2 * gear.travel + 0.1, 2 * pitch)
        assert [one.base for one in gear.scale] == pytest.approx(settings) and len(settings) % 2
        slots = [slot for slot in gear.slide.slots]
        for axle in gear.axles:         # the clamp bar at either end of the travel, with 0.3 mm to spare
            assert any(start <= axle - gear.bar.length / 2 - gear.travel - 0.29 and
                       axle + gear.bar.length / 2 + gear.travel + 0.29 <= end for start, end in slots)
        for (n0, n1), (s0, s1) in zip(gear.slide.necks, slots, strict=True):
            assert (n0 - s0, s1 - n1) == pytest.approx([(gear.slide.slot_width - gear.slide.neck_width) / 2] * 2)
        assert max(end for _, end in slots) <= seat.x - seat.boss + 1e-6, "no slot over the seat's boss"
    else:
        assert gear.least_seat_distance == pytest.approx(gear.bolsters[0].boss + coupling.guard_outer + 1.0)
        wished = gear.seat_distance     # 1 mm from the swinging bogie to the seat, and to a drawbar at its stop
        free = [gear.room.gap(wished, coupling.guard_outer), wished + coupling.head_back - gear.room.reach]
        assert 1.0 - 1e-6 <= min(free) <= 1.0 + 0.26


def test_less_length_takes_travel_and_then_is_refused():
    free = plan_of({"travel": 6.0})
    short = plan_of({"travel": 6.0, "length": free.length - 5.0})
    assert (free.gear.travel, short.gear.travel) == pytest.approx((6.0, 3.0)), "3.5 mm are one tooth of 3"
    assert (free.gear.settings, short.gear.settings) == ((52, 58, 64, 70, 76), (58, 64, 70))
    none = plan_of({"travel": 6.0, "length": free.length - 12.0})
    assert none.gear.travel == pytest.approx(0.0, abs=1e-6) and not none.wanting
    failed, = wanting(plan_of({"travel": 6.0, "length": free.length - 12.5}))
    assert (failed.check, failed.value) == ("wheel-room", pytest.approx(-0.5))
    assert f"need a body {np.ceil(10 * (free.length - 12.0)) / 10:.1f} mm long" in failed.reason
    assert "64 mm of wheelbase" in failed.reason


@settings(max_examples=60)
@given(st.floats(2, 30), st.floats(8, 40), st.floats(5, 25), st.floats(3, 20), st.floats(15, 70), st.floats(1, 9))
def test_a_swinging_bogie_takes_what_its_turned_outline_takes(angle, half, wide, inner, distance, radius):
    """Its rectangles turned step by step in shapely; the gap is to a disc ahead of the pivot."""
    room = SwingRoom(angle, ((half - 4, half + 4, inner, inner + 3), (0.0, half, 0.0, wide)))
    quarter = [box(x0, y0, x1, y1) for x0, x1, y0, y1 in room.rectangles]
    outline = unary_union([scale(one, sx, sy, origin=(0, 0)) for one in quarter for sx in (1, -1) for sy in (1, -1)])
    turned = [rotate(outline, turn, origin=(0, 0)) for turn in np.linspace(-angle, angle, 241)]
    assert room.reach == pytest.approx(max(one.bounds[2] for one in turned), abs=0.02)
    gap = min(one.distance(Point(distance, 0)) for one in turned) - radius
    assert room.gap(distance, radius) == pytest.approx(gap, abs=0.05)
    clear = room.clear_of(radius, 1.0)
    assert min(one.distance(Point(clear, 0)) for one in turned) - radius >= 1.0 - 0.05
    if clear > 0.3:
        assert min(one.distance(Point(clear - 0.3, 0)) for one in turned) - radius < 1.0 + 0.05


def clip_profile(clip):
    """A clip below its arms' roots as a shapely polygon: stem and arms, less the bore and the flared mouth."""
    r, t, half = clip.bore / 2, sqrt(clip.bore**2 - clip.opening**2) / 2, clip.inner + clip.arm
    mouth = clip.opening / 2 + 1.2 * np.tan(radians(25))
    bore = Point(0, 0).buffer(r, quad_segs=256)
    lip = box(clip.opening / 2, -t, half, 0) - bore
    end = Polygon([(clip.opening / 2, -t), (mouth, -t - 1.2), (max(half, mouth + clip.end), -t - 1.2), (half, -t)])
    arm = unary_union([box(clip.inner, 0, half, clip.root), lip, end])
    return unary_union([arm, scale(arm, -1, 1, origin=(0, 0)), box(-clip.stem / 2, 0, clip.stem / 2, clip.root) - bore])


@pytest.mark.parametrize("printer", [{}, {"line_width": 0.8, "nozzle": 0.7}, {"snap_share": 0.85}])
def test_a_clips_profile_by_its_outline(printer):
    clip = plan_of({}, printer=printer).gear.clip
    assert clip.area == pytest.approx(clip_profile(clip).area, rel=2e-3)
    assert clip.depth == pytest.approx(sqrt(clip.bore**2 - clip.opening**2) / 2 + 1.2)
    lines = 2 * printer.get("line_width", 0.45)
    assert min(clip.arm, clip.stem, clip.end * np.cos(radians(25))) >= lines - 1e-9
    assert clip.inner - clip.stem / 2 >= max(0.6, 0.6 * lines) - 1e-9       # of slot: more than a line
    assert (clip.width, clip.travel) == pytest.approx((31.2 - 0.8, 3 * (1 - clip.share) / 2))


def test_holder_and_bar_by_their_outlines():
    """Profiles in x and z drawn in shapely, times the width; teeth and nut pockets by themselves."""
    gear = plan_of({}).gear
    bar, holder = gear.bar, gear.holder
    hexagon = sqrt(3) / 2 * bar.nut**2 * bar.nut_depth
    bore = pi / 4 * bar.screw_hole**2 * (bar.height - bar.nut_depth)
    # flanks of 45 degrees all round the foot: a frustum instead of a block over their height
    flank, steps = bar.flank, np.linspace(0, bar.flank, 400)
    foot = np.trapezoid((bar.length - 2 * flank + 2 * steps) * (bar.width - 2 * flank + 2 * steps), steps)
    assert bar.volume == pytest.approx(
        foot + bar.length * bar.width * (bar.height - flank) - 2 * (hexagon + bore), rel=1e-3)
    assert bar.size == (bar.length, bar.width, bar.height) and bar.centroid_z == bar.height / 2
    clip = holder.clip
    neck = box(-clip.half, clip.root, clip.half, holder.under)
    plate = box(-holder.half_length, holder.under, holder.half_length, holder.top)
    whole = unary_union([neck, plate, clip_profile(clip)])
    cells = box(-holder.recess, clip.pad, holder.recess, clip.over)         # what stands back, as thin slices
    lost = sum(2 * min(z - clip.pad, clip.over - z) * whole.intersection(
        box(-holder.recess, z - 0.025, holder.recess, z + 0.025)).area for z in np.arange(clip.pad, clip.over, 0.05))
    assert cells.area > 0 and holder.volume == pytest.approx(
        holder.width * whole.area - lost - 4 * 1.1 * 1.6**2 * holder.plate, rel=0.03) and holder.notch == 1.6
    assert len(holder.teeth) % 2 and holder.teeth[1] - holder.teeth[0] == holder.tooth_pitch
    last = holder.teeth[-1] + 0.3 + 0.6
    assert last <= holder.half_length - 1.0 < last + holder.tooth_pitch + 1e-9
    assert holder.half_length - holder.screw_x == pytest.approx(5.5 / 2 + 1.0)      # head of an M3 (ISO 4762)
    coarse = plan_of({"screw": "M2"}, printer=WIDE_LINES).gear.holder     # two lines, a tenth for the rounded end
    assert coarse.half_length - coarse.screw_x - coarse.screw_hole / 2 == pytest.approx(1.8 + 0.1)


def test_grooves_lie_in_step_with_the_axles():
    """Every pitch from each axle's middle as far as the holder's teeth travel, 45 degree flanks and 0.1 mm play."""
    gear = plan_of({"wheelbase": 77.5, "travel": 5.0}).gear
    for axle, stretch in zip(sorted(gear.axles), gear.slide.groove_stretches, strict=True):
        middles = [(start + end) / 2 - axle for start, end in stretch]
        assert middles == pytest.approx([gear.holder.tooth_pitch * round(m / gear.holder.tooth_pitch) for m in middles])
        assert all(end - start == pytest.approx(0.6 + 2 * 0.6 + 0.2) for start, end in stretch)
        far = gear.holder.half_length + 3.0     # of 5 mm wished, one tooth
        assert max(middles) + 1.0 <= far < max(middles) + 1.0 + gear.holder.tooth_pitch
    close = plan_of({"wheelbase": 37.0, "travel": 9.0}).gear.slide.groove_stretches
    assert len(close) == 1
    lands = [b - a for (_, a), (b, _) in zip(close[0], close[0][1:], strict=False)]
    assert min(lands) >= 0.95 - 1e-9
    for axle in (37.0 / 2, -37.0 / 2):          # every tooth of either holder, wherever it slides, has its groove
        for k in range(-5, 6):
            assert any(a <= axle + 3.0 * k - 0.9 and axle + 3.0 * k + 0.9 <= b for a, b in close[0]), (axle, k)


@pytest.mark.parametrize("screw, printer, spigot", [
    ("M3", {}, 6.0), ("M2.5", {}, 5.0), ("M2", {}, 4.0), ("M3", {"line_width": 0.9, "nozzle": 0.6}, 
     2.653 + 3.7 + 0.8 / 3)])
def test_spigots_are_as_thick_as_screws_in_plastic_ask_inside_their_washer(screw, printer, spigot):
    """Outside 2 d (SEEN-2: rules for screws in plastic) or two lines round the core, and
    round the mouth of 3.3 mm that tapers off in 0.75 mm, 0.25 mm of them above the spigot's bevel;
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


# ---- coupler

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
    assert bar.volume == pytest.approx(outline.area * bar.thickness - len(bar.pockets) * pocket - recess, rel=2e-3)
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
