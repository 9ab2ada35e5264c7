"""Bogies as drawn: sound solids that turn under the frame at full swing, hold their axles and print.

Overlaps and gaps come from manifold3d.
"""

from itertools import combinations

import numpy as np
import pytest
from bogies import PLANS, RADIUS, TRAINS, described, drawn, planned, standing, wheel_room, wheelsets
from gear_solids import CLASH, HARDWARE, TOUCH, WASHER, overlap, rod, sound, stood, unsupported, wheels
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from trimesh.creation import cylinder
from trimesh.transformations import rotation_matrix

from partgen import parts
from partgen.checks.meshes import interference
from partgen.describe.printer_tables import Printer
from partgen.describe.train_tables import Coupler
from partgen.describe.wagon_tables import Wagon
from partgen.finding import worst
from partgen.kept import Store
from partgen.parts.record import POSES
from partgen.pipeline.workshop import make
from partgen.plan.train import resolve
from partgen.report.wagon_props import chord_pose, wagon_props, with_bogies_turned
from partgen.solids.mesh import mesh_of


@pytest.mark.slow
@pytest.mark.parametrize("train", TRAINS)
@pytest.mark.parametrize("name", ["bogie", "frame"])
def test_parts_are_sound_and_as_planned(train, name, recwarn):
    item, shape, mesh = drawn(train, name)
    sound(item, shape)
    assert mesh.is_watertight and mesh.volume == pytest.approx(shape.Volume(), rel=0.01)
    assert not [w for w in recwarn if issubclass(w.category, parts.PartWarning)]


@pytest.mark.slow
def test_assembled_wagon_does_not_interfere():
    built, warnings = make(planned("toy"), Store())
    assert worst(interference(built)) == "pass" and not warnings


@pytest.mark.slow
@pytest.mark.parametrize("train", TRAINS)
def test_bogie_bears_the_body_and_cannot_fall_off(train):
    plan, bogie, frame = PLANS[train], standing(train, "bogie"), standing(train, "frame")
    assert overlap(bogie, frame) < TOUCH and overlap(bogie.translate((0, 0, 0.1)), frame) > CLASH
    head, head_height, *_ = HARDWARE[plan.wagon.screw]
    spigot = plan.frame.bolsters[0].spigot_bottom
    washer = rod(WASHER[plan.wagon.screw], spigot - 0.5, spigot, plan.base / 2)
    pin = rod(head, spigot - 0.5 - head_height, spigot - 0.5, plan.base / 2)
    assert overlap(washer, bogie) < TOUCH and overlap(washer, frame) < TOUCH and overlap(pin, bogie) < TOUCH
    assert overlap(washer, bogie.translate((0, 0, -0.8))) > CLASH
    driver = rod(head, -30, spigot, plan.base / 2)
    assert overlap(driver, bogie) < TOUCH, "a driver reaches the screw from below"


@pytest.mark.slow
@pytest.mark.parametrize("train", TRAINS)
def test_bogie_at_full_swing_is_clear_of_all_it_passes(train):
    plan = PLANS[train]
    frame, stop = standing(train, "frame"), plan.coupler.swing
    couplers = [standing(train, "coupler", yaw=yaw) for yaw in (-0.98 * stop, 0.0, 0.98 * stop)]
    for yaw in np.linspace(-plan.gear.room.angle, plan.gear.room.angle, 7):
        assert overlap(standing(train, "bogie", yaw=yaw), frame) < TOUCH
        # The least gap, less what the planned rocking takes of it over the wheels
        for wheel in wheelsets(plan, yaw):
            assert wheel.min_gap(frame, 2.0) > 0.79
            assert min(wheel.min_gap(coupler, 2.0) for coupler in couplers) > 0.79
    other = standing(train, "bogie", 1, yaw=-plan.gear.room.angle)
    both = [*wheelsets(plan, plan.gear.room.angle), standing(train, "bogie", yaw=plan.gear.room.angle)]
    assert all(overlap(one, other) == 0 for one in both)


@pytest.mark.slow
def test_a_bogie_swung_much_too_far_is_noticed():
    plan, frame = PLANS["toy"], standing("toy", "frame")
    assert max(overlap(wheel, frame) for yaw in (40, 55) for wheel in wheelsets(plan, yaw)) > CLASH


@pytest.mark.slow
@pytest.mark.parametrize("train", TRAINS)
def test_axles_turn_freely_and_snap_in(train):
    wheelset = PLANS[train].wheelset
    diameter = wheelset.bearing_diameter + 0.15     # bores print that much too small: the default
    axle = cylinder(radius=diameter / 2, height=200, sections=96)
    axle.apply_transform(rotation_matrix(np.pi / 2, (1, 0, 0)))
    bogie = stood(drawn(train, "bogie")[2])
    for x in (PLANS[train].wagon.wheelbase / 2, -PLANS[train].wagon.wheelbase / 2):
        assert overlap(stood(axle, x), bogie) < TOUCH
        on_the_way = [overlap(stood(axle, x, z=-fall * diameter), bogie) for fall in (0.4, 0.5, 0.6, 3.0)]
        assert max(on_the_way) > CLASH and on_the_way[-1] == 0


@pytest.mark.slow
@pytest.mark.parametrize("train", TRAINS)
@pytest.mark.parametrize("name", ["bogie", "frame"])
def test_print_pose_needs_no_supports(train, name):
    """45 degrees from upright and bridges up to 10 mm: common practice (reference 7.7)."""
    item, _, mesh = drawn(train, name)
    laid, turn = mesh.copy(), np.eye(4)
    turn[:3, :3] = POSES[parts.record_of(item.part).pose]
    laid.apply_transform(turn)
    for low, high in unsupported(laid):
        assert min((high - low)[:2]) < 10.0, f"{name} at {low[2] - laid.bounds[0][2]:.1f} mm"
    resting = (laid.face_normals[:, 2] < -0.99) & (laid.triangles_center[:, 2] < laid.bounds[0][2] + 0.01)
    assert laid.area_faces[resting].sum() > 0.1 * np.prod(laid.extents[:2]), "stands on more than an edge"


@pytest.mark.slow
def test_pictured_wheelsets_stand_on_the_curve():
    train = planned("toy")
    plan, = train.wagons
    built, _ = make(replace(train, wagons=(replace(plan, items=tuple(i for i in plan.items if i.part == "bogie")),)),
                    Store())
    things = with_bogies_turned(wagon_props(built, built.train.wagons[0]), plan, RADIUS)
    pose = chord_pose(RADIUS, plan.base, 55.0, plan.gear.bogie_wheelbase)
    middles = [(p.moved(pose).placed().min(axis=0) + p.moved(pose).placed().max(axis=0)) / 2
               for p in things if p.name == "axle"]
    assert len(middles) == 4
    for x, y, _ in middles:
        assert np.hypot(x, y - RADIUS) == pytest.approx(RADIUS, abs=0.01)
    assert len({round(float(np.arctan2(x, RADIUS - y)), 4) for x, y, _ in middles}) == 4


@st.composite
def trains(draw):
    """Draw a bogie wagon of gauge 16.5 to 45 on its own sort of curve, screws, couplers and printers of all sorts."""
    gauge, line = draw(st.floats(16.5, 45)), draw(st.sampled_from((0.3, 0.45, 0.6, 0.9)))
    thick, tread = draw(st.floats(0.6, 2.6)), draw(st.floats(0.4, 0.8)) * gauge
    flange = tread + draw(st.floats(0.8, 3.5))
    wheelset = wheels(tread, flange, thick, gauge - 2 * thick - 0.8, draw(st.floats(1.0, 0.25 * tread)))
    coupler = Coupler(height=tread / 2 + draw(st.floats(4, 12)), magnet_diameter=draw(st.floats(2, 8)),
                      layout=draw(st.sampled_from(("pair", "single"))), gap=draw(st.floats(12, 60)),
                      swing=draw(st.floats(10, 42)))
    printer = Printer(nozzle=line / 1.1, layer=0.4 * line, line_width=line, bore_offset=draw(st.floats(-0.1, 0.4)))
    wheelbase = draw(st.floats(max(flange + 1, 12.0), 2.5 * flange))
    spacing = wheelbase + flange + draw(st.floats(5, 200))
    wagon = Wagon(name="any", wheelbase=wheelbase, pivot_spacing=max(spacing, 30.0),
                  coupler_on=draw(st.sampled_from(("body", "bogie"))),
                  screw=draw(st.sampled_from(("M2", "M2.5", "M3"))))
    radius = max(spacing * draw(st.floats(1.0, 4.0)) + gauge, 60.0)
    return described(wagon, gauge, wheelset, coupler, radius, printer)


@settings(max_examples=4, deadline=None, derandomize=True,
          suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(trains())
@pytest.mark.slow
def test_any_bogie_wagon_that_is_not_refused_can_be_built(description):
    train = resolve(description)
    plan, = train.wagons
    assume(not plan.wanting and wheel_room(train).verdict == "pass")
    meshes = {}
    for item in plan.items:
        if item.part in ("bogie", "frame", "coupler", "coupler-arm") and item.part not in meshes:
            shape = parts.build(item.part, item.plan)
            sound(item, shape)
            meshes[item.part] = stood(mesh_of(shape), *(getattr(item.places[0], axis) for axis in "xyz"))
    turning = ("bogie", "coupler-arm", "coupler") if plan.gear.arm else ("bogie",)
    for yaw in (-plan.gear.room.angle, 0.0, plan.gear.room.angle):
        moved = [meshes[name].translate((-plan.base / 2, 0, 0)).rotate((0, 0, yaw)).translate((plan.base / 2, 0, 0))
                 for name in turning]
        under = [*moved, *wheelsets(plan, yaw)]
        for one, other in [*((thing, meshes["frame"]) for thing in under), *combinations(under, 2),
                           *((thing, meshes["coupler"]) for thing in under if not plan.gear.arm)]:
            assert overlap(one, other) < TOUCH
