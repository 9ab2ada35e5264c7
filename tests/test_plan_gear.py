"""Holders, clips, bars and bogies as planned, their distances and what the body takes, by shapely and sums by hand: no
CAD kernel."""

from math import pi, radians, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plans import made, plan_of, wagons
from shapely import Point, Polygon, box
from shapely.affinity import rotate, scale
from shapely.ops import unary_union

from partgen.checks.wishes import wanting
from partgen.plan.running_gear.bogie import BogieGear, SwingRoom
from partgen.plan.running_gear.two_axle import TwoAxleGear

WIDE_LINES = {"line_width": 0.9, "nozzle": 0.8, "layer": 0.3}


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
