"""Long wagons on bogies, from description to parts: plan, room to swing, sound solids that turn under the frame.

Places and angles come from stepping along curves with scipy's root finder, gaps from shapely and manifold3d.
"""

import re
from functools import cache
from itertools import combinations

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from plans import cured
from scipy.optimize import brentq
from shapely import Point, box
from shapely.affinity import rotate
from test_parts_gear import CLASH, HARDWARE, TOUCH, WASHER, overlap, rod, sound, stood, unsupported, wheels
from trimesh.creation import cylinder
from trimesh.transformations import rotation_matrix

from partgen import parts
from partgen.checks import on_plan as paper
from partgen.checks.meshes import interference
from partgen.checks.track import inner_throw, outer_throw
from partgen.checks.wishes import wanting
from partgen.describe.description import Description
from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import ClearanceBand, Track
from partgen.describe.train_tables import Coupler
from partgen.describe.wagon_tables import Wagon
from partgen.dynamics.survey import play_of
from partgen.finding import worst
from partgen.parts.record import POSES
from partgen.pipeline.workshop import make
from partgen.plan.mass import loads
from partgen.plan.running_gear.bogie import KINK, largest_swing
from partgen.plan.train import resolve
from partgen.report.wagon_props import chord_pose, wagon_props, with_bogies_turned
from partgen.solids.mesh import mesh_of
from partgen.solids.overlap import solid

RADIUS = 320.0


def described(wagon, gauge=37.5, wheelset=None, coupler=None, radius=RADIUS, printer=None, **track):
    return Description(title="Long line", track=Track(gauge=gauge, min_radius=radius, **track),
                       coupler=coupler or Coupler(), printer=printer or Printer(), wagon=(wagon,),
                       wheelset={"standard": wheelset or wheels(17, 20.4, 2.6, 31.2, 3, mass=14.0)})


TRAINS = {
    "toy": described(Wagon(name="toy", wheelbase=36, pivot_spacing=140)),
    "small": described(Wagon(name="small", wheelbase=22, pivot_spacing=70, screw="M2"), 16.5,
                       wheels(10, 12, 0.8, 14.3, 1.5), Coupler(height=9, magnet_diameter=3, gap=14), radius=250),
    "large": described(Wagon(name="large", wheelbase=70, pivot_spacing=200, screw="M2.5", width=80, length=340), 45,
                       wheels(28, 32, 1.5, 40, 4, ends="tube", tube_diameter=6),
                       Coupler(height=18, layout="single", magnet_diameter=8), radius=600,
                       printer=Printer(bed_x=300, bed_y=300)),
}


def planned(train, **more):
    description = TRAINS[train]
    wagon = Wagon(**{**description.wagon[0].model_dump(), **more})
    return resolve(description.model_copy(update={"wagon": (wagon,)}))


PLANS = {name: planned(name).wagons[0] for name in TRAINS}


@cache
def drawn(train, name):
    """Return one part of a train as (item, solid, mesh)."""
    item = next(item for item in PLANS[train].items if item.part == name)
    shape = parts.build(item.part, item.plan)
    return item, shape, mesh_of(shape)


def standing(train, name, number=0, yaw=0.0):
    item, _, mesh = drawn(train, name)
    place = item.places[number]
    return stood(mesh, place.x, place.y, place.z, place.yaw + yaw)


def wheelsets(plan, yaw, grown=0.0):
    """Return the front bogie's wheels as solids, flanges all across, turned about the pivot by `yaw` [deg]."""
    wheel, x0 = plan.wheelset, plan.base / 2
    for x in (plan.gear.bogie_wheelbase / 2, -plan.gear.bogie_wheelbase / 2):
        for side in (1, -1):
            disc = cylinder(radius=wheel.flange_diameter / 2 + grown, height=wheel.width + 2 * grown, sections=96)
            disc.apply_transform(rotation_matrix(np.pi / 2, (1, 0, 0)))
            disc.apply_translation((x, side * (wheel.back_to_back + wheel.width) / 2, plan.gear.axle_z))
            yield stood(disc, x0, yaw=yaw)


# ---- the plan --------------------------------------------------------------------------------------

def test_a_wagon_without_pivot_spacing_has_no_bogies():
    plan = resolve(described(Wagon(name="two", wheelbase=70))).wagons[0]
    assert plan.gear.bogie_wheelbase == 0 and plan.base == plan.wagon.wheelbase == 70
    assert plan.gear.axles == (35, -35) and plan.gear.travel > 0
    assert len(plan.frame.slide.slots) == 2 and not plan.frame.bolsters


@pytest.mark.parametrize("train", TRAINS)
def test_plan_of_a_bogie_wagon(train):
    plan, wagon = PLANS[train], TRAINS[train].wagon[0]
    assert not plan.wanting and wheel_room(planned(train)).verdict == "pass"
    assert 2 * plan.gear.bogie.axle_x == plan.gear.bogie_wheelbase == plan.wagon.wheelbase
    assert plan.base == wagon.pivot_spacing and plan.gear.travel == 0 and plan.frame.slide is None
    a, p = wagon.pivot_spacing / 2, wagon.wheelbase / 2
    assert sorted(plan.gear.axles) == [-a - p, -a + p, a - p, a + p]
    assert {item.part: item.count for item in plan.items}["bogie"] == 2
    assert not {"axle-holder", "clamp-bar"} & {item.part for item in plan.items}
    assert [bolster.x for bolster in plan.frame.bolsters] == [a, -a]
    wheelsets = [load for load in loads(plan, Printer()) if load.name == "wheelset"]
    assert [load.mass for load in wheelsets] == 4 * [plan.wheelset.mass]
    assert sorted(load.x for load in wheelsets) == sorted(plan.gear.axles)


REFUSED = {
    "short body": ({"length": 155}, "bogies and coupler seats overlap", None),
    "thick king pin": ({"wheelbase": 12.0, "screw": "M3"}, "king pin's washer does not go between axles", 12.0),
    "narrow wheels": ({"screw": "M3"}, "no bogie with M3 screws goes between wheels 9 mm apart", 9.0),
}
"""What is changed, what the refusal says, and its value where that is a size [mm]; else it is what is missing."""


@pytest.mark.parametrize("name", REFUSED)
def test_plan_refuses_what_cannot_be(name):
    changed, words, value = REFUSED[name]
    train = "toy" if name == "short body" else "small"
    description = TRAINS[train]
    if name == "narrow wheels":
        description = described(description.wagon[0], 11.5, wheels(10, 11, 0.8, 9, 1.5), description.coupler)
    wagon = Wagon(**{**description.wagon[0].model_dump(), **changed})
    refusals = wanting(resolve(description.model_copy(update={"wagon": (wagon,)})).wagons[0])
    found = next(finding for finding in refusals if words in finding.reason)
    assert found.check == "wheel-room" and found.verdict == "fail"
    assert found.value < 0 == found.limit if value is None else found.value == value < found.limit
    if name != "narrow wheels":
        takes = float(re.findall(r"([\d.]+) mm(?: long)?$", found.reason)[0])
        field = "length" if name == "short body" else "wheelbase"
        grown = wagon.model_copy(update={field: takes})
        refusals = wanting(resolve(description.model_copy(update={"wagon": (grown,)})).wagons[0])
        assert not any(words in finding.reason for finding in refusals)


def wheel_room(train):
    return next(finding for finding in paper.run(train, leave_out=()) if finding.check == "wheel-room")


def test_wheel_room_fails_a_short_body_and_its_remedy_helps():
    shortest = PLANS["toy"].length
    assert wheel_room(planned("toy", length=shortest)).verdict == "pass"
    finding = wheel_room(planned("toy", length=shortest - 5))
    assert finding.verdict == "fail" and "coupler seat" in finding.reason
    told = cured(planned("toy", length=shortest - 5), "wheel-room")
    assert told["wagon[1].length"] <= shortest + 0.1 and 134 <= told["wagon[1].pivot_spacing"] < 140


def test_wheel_room_fails_bogies_that_meet_and_its_remedy_helps():
    close = described(Wagon(name="close", wheelbase=36, pivot_spacing=61), radius=120)
    finding = wheel_room(resolve(close))
    assert finding.verdict == "fail" and "other bogie" in finding.reason
    wider = cured(resolve(close), "wheel-room")["wagon[1].pivot_spacing"]
    again = described(Wagon(name="close", wheelbase=36, pivot_spacing=wider), radius=120)
    assert 61 < wider < 80 and wheel_room(resolve(again)).verdict == "pass"


@pytest.mark.parametrize("train", TRAINS)
def test_room_of_the_swinging_bogie_against_shapely(train):
    plan = PLANS[train]
    room, wheel = plan.gear.room, plan.wheelset
    ends = [plan.gear.bogie_wheelbase / 2 + s * wheel.flange_diameter / 2 for s in (-1, 1)]
    inner, outer = wheel.back_to_back / 2, wheel.back_to_back / 2 + wheel.width
    half_x, half_y = plan.gear.bogie.size[0] / 2, plan.gear.bogie.width / 2
    shapes = [box(-half_x, -half_y, half_x, half_y),
              *(box(s * ends[0], t * inner, s * ends[1], t * outer) for s in (1, -1) for t in (1, -1))]
    turned = [rotate(shape, yaw, origin=(0, 0)) for shape in shapes
              for yaw in np.linspace(-room.angle, room.angle, 121)]
    assert room.reach == pytest.approx(max(shape.bounds[2] for shape in turned), abs=0.01)
    for distance in (0.8 * room.reach, room.reach, 1.2 * room.reach):
        gap = min(shape.distance(Point(distance, 0)) for shape in turned) - 3.0
        assert room.gap(distance, 3.0) == pytest.approx(gap, abs=0.03)


# ---- swing and throw -------------------------------------------------------------------------------

def track_of(pieces):
    """Return the place of a station on a track of (length, curvature) pieces as a complex number."""
    starts, edges = [(0j, 1 + 0j)], [0.0]
    for length, bend in pieces:
        starts.append(onward(*starts[-1], length, bend))
        edges.append(edges[-1] + length)

    def at(s):
        number = min(max(np.searchsorted(edges, s, side="right") - 1, 0), len(pieces) - 1)
        return onward(*starts[number], s - edges[number], pieces[number][1])[0]

    return at


def onward(place, ahead, length, bend):
    if not bend:
        return place + ahead * length, ahead
    turn = np.exp(1j * bend * length)
    return place + ahead * (turn - 1) / (1j * bend), ahead * turn


def bogie_on(at, s, wheelbase):
    """Return pivot and direction of a bogie whose rear axle is at station `s`."""
    ahead = brentq(lambda t: abs(at(t) - at(s)) - wheelbase, s + 0.5 * wheelbase, s + 1.7 * wheelbase)
    return (at(s) + at(ahead)) / 2, at(ahead) - at(s)


def swings(at, s, wheelbase, spacing):
    rear, rear_ahead = bogie_on(at, s, wheelbase)
    front = brentq(lambda t: abs(bogie_on(at, t, wheelbase)[0] - rear) - spacing, s + 0.5 * spacing, s + 1.8 * spacing)
    pivot, ahead = bogie_on(at, front, wheelbase)
    return [abs(np.degrees(np.angle(turned / (pivot - rear)))) for turned in (rear_ahead, ahead)]


@pytest.mark.parametrize("wheelbase, spacing", [(36, 140), (60, 150), (40, 300)])
@pytest.mark.parametrize("bends", [(700, 1, 1), (700, 1, -1), (250, 1, -1, 1), (90, 1, -1, 1, -1), (400, 1, 0, -1)],
                         ids=["curve", "reverse", "snake", "wiggle", "straight between"])
def test_no_track_swings_a_bogie_further_than_is_planned(wheelbase, spacing, bends):
    length, *signs = bends
    at = track_of([(900, 0), *((length if sign else 60, sign / RADIUS) for sign in signs), (900, 0)])
    end = 900 + length * len(signs)
    most = max(max(swings(at, s, wheelbase, spacing)) for s in np.linspace(500, end, 90))
    toy = TRAINS["toy"]
    planned_for = largest_swing(toy.track, toy.wheelset["standard"], spacing, wheelbase)
    # play 37.5 + 0.2 - 31.2 - 2 * 2.6 = 1.3 mm turns the bogie and the body besides
    loose = np.degrees(np.arcsin(1.3 / wheelbase) + np.arcsin(1.3 / spacing)) + KINK
    assert most <= planned_for - loose + 0.01
    if length == 700:
        assert most == pytest.approx(planned_for - loose, abs=0.05), "no wider than needed"


def test_throw_counts_the_bogies_own_wheelbase():
    straight = Wagon(name="bar", wheelbase=60, pivot_spacing=160, length=255, width=60)
    train = resolve(described(straight, clearance=(ClearanceBand(low=50, high=60, half_width=60),)))
    plan, = train.wagons
    plan = replace(plan, outlines=tuple(o for o in plan.outlines if o.part == "body"))
    train = replace(train, wagons=(plan,))
    # plane geometry: pivots on a circle of sqrt(R^2 - p^2/4), middle of the body sqrt(Rp^2 - a^2/4) from its centre
    middle = np.sqrt(RADIUS**2 - 30**2 - 80**2)
    inside, outside = next(inner_throw(train)).value, next(outer_throw(train)).value
    play = play_of(plan, train.description)
    assert play > 0.4 + 0.125, "of axle in bogie and of bogie on its pivot, to either side"
    assert inside == pytest.approx(RADIUS - middle + 30 + play, abs=0.05)
    corner = np.hypot(middle + 30, 255 / 2) - RADIUS + play * 255 / 160
    assert corner - 2.0 < outside < corner + 0.05, "round corners reach a little less"
    assert inside > RADIUS - np.sqrt(RADIUS**2 - 80**2) + 30 + 1.0, "more than the pivots alone would"


def test_rigid_wheelbase_of_a_bogie_is_its_own():
    findings = {f.check: f for f in paper.run(planned("toy")) if f.check in ("wheelbase", "attack-angle")}
    assert findings["wheelbase"].value == 36
    assert findings["attack-angle"].value == pytest.approx(np.degrees(np.arcsin(36 / 640)))


# ---- parts -----------------------------------------------------------------------------------------

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
    built, warnings = make(planned("toy"), {}, lambda what, share: None)
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
def test_rear_bogie_rolls_as_far_as_the_track_asks_and_the_front_one_does_not(train):
    """Turned about the edge of its pad, on the solids: from frame, spigot and washer it stays free."""
    plan, track = PLANS[train], TRAINS[train].track
    asked = (0.004 * plan.base + TRAINS[train].joint_step) / track.gauge
    assert asked <= plan.gear.roll + 1e-9
    frame, angle, hits = standing(train, "frame"), 0.98 * np.degrees(asked), []
    for number, bolster in enumerate(plan.frame.bolsters):
        washer = rod(WASHER[plan.wagon.screw], bolster.spigot_bottom - 0.5, bolster.spigot_bottom, bolster.x)
        for side in (1, -1):
            edge = (-bolster.x, -side * bolster.boss, -bolster.boss_bottom)
            turn = side * angle * (1.0 if number else 1.6)      # the front one touches by a little more at any rate
            bogie = standing(train, "bogie", number).translate(edge).rotate((turn, 0, 0)).translate(
                tuple(-at for at in edge))
            hits.append(overlap(bogie, frame) + overlap(bogie, washer))
    assert min(hits[:2]) > CLASH and max(hits[2:]) < TOUCH


@pytest.mark.slow
@pytest.mark.parametrize("swung", [0.0, 1.0])
def test_a_wide_bogie_rolls_as_far_as_the_twist_takes_it_to(swung):
    """Wide gauge, long wagon: the edge of the bogie's own plate comes up to the frame far beside the pad."""
    plan = resolve(described(
        Wagon(name="wide", wheelbase=45, pivot_spacing=500), 100, wheels(30, 34, 3.4, 92, 6.5), radius=1500,
        printer=Printer(bed_x=700, bed_y=700), twist=9.0, rail_height=6.0)).wagons[0]
    items = {item.part: item for item in plan.items}
    frame, bogie = (solid(mesh_of(parts.build(name, items[name].plan))) for name in ("frame", "bogie"))
    rear, roll = plan.gear.bolsters[1], np.degrees(plan.gear.roll)
    assert roll > 2.0
    for side in (1, -1):
        edge = (-rear.x, -side * rear.boss, -rear.boss_bottom)
        turned = bogie.rotate((0, 0, swung * plan.gear.room.angle)).translate((rear.x, 0, plan.gear.axle_z))
        rolled = turned.translate(edge).rotate((side * 0.98 * roll, 0, 0)).translate(tuple(-at for at in edge))
        assert overlap(rolled, frame) < TOUCH


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
                    {}, lambda what, share: None)
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
        if item.part in ("bogie", "frame", "coupler"):
            shape = parts.build(item.part, item.plan)
            sound(item, shape)
            meshes[item.part] = stood(mesh_of(shape), *(getattr(item.places[0], axis) for axis in "xyz"))
    for yaw in (-plan.gear.room.angle, 0.0, plan.gear.room.angle):
        moved = meshes["bogie"].translate((-plan.base / 2, 0, 0)).rotate((0, 0, yaw)).translate((plan.base / 2, 0, 0))
        under = [moved, *wheelsets(plan, yaw)]
        for one, other in [*((thing, meshes["frame"]) for thing in under), *combinations(under, 2),
                           *((thing, meshes["coupler"]) for thing in under)]:
            assert overlap(one, other) < TOUCH
