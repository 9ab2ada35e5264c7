"""Axle holder, clamp bar, frame, coupler and cover: sound solids that fit each other and bought hardware.

Sizes of bought parts are typed here from their standards, not read from the package; fits are tried with
boolean overlaps of meshes (manifold3d).
"""

from functools import cache
from itertools import combinations, product

import numpy as np
import pytest
from cadquery import Compound, Location, Solid
from gear_solids import CLASH, HARDWARE, TOUCH, WASHER, overlap, rod, sound, stood, unsupported, wheels
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from OCP import Standard, StdFail
from trimesh.creation import cylinder
from trimesh.transformations import rotation_matrix

from partgen import parts
from partgen.describe.description import Description
from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import Track
from partgen.describe.train_tables import Coupler
from partgen.describe.wagon_tables import Wagon
from partgen.errors import KernelError
from partgen.parts import running_gear
from partgen.parts.record import POSES
from partgen.plan.train import resolve
from partgen.solids.mesh import mesh_of
from partgen.solids.overlap import solid

pytestmark = pytest.mark.slow

GEAR = ("axle-holder", "clamp-bar", "frame", "coupler", "coupler-cover")
PLAIN = Printer()


def planned(gauge, wheelset, coupler, wagon, printer=PLAIN):
    description = Description(title="Test line", track=Track(gauge=gauge, min_radius=600), coupler=coupler,
                              printer=printer, wheelset={"standard": wheelset}, wagon=(wagon,))
    return resolve(description).wagons[0]


TRAINS = {
    "toy": planned(37.5, wheels(17, 20.4, 2.6, 31.2, 3), Coupler(), Wagon(name="toy", wheelbase=70)),
    "small": planned(16.5, wheels(10, 12, 0.8, 14.3, 1.5), Coupler(height=9, magnet_diameter=3, gap=14),
                     Wagon(name="small", wheelbase=50, screw="M2")),
    "large": planned(45, wheels(28, 32, 1.5, 40, 4, ends="tube", tube_diameter=6),
                     Coupler(height=18, layout="single", magnet_diameter=8),
                     Wagon(name="large", wheelbase=91.3, screw="M2.5", width=80, length=210)),
}


@cache
def built(train):
    """Return {item name: (item, solid, mesh)} of every running-gear part."""
    shapes = ((item, parts.build(item.part, item.plan)) for item in TRAINS[train].items if item.part in GEAR)
    return {item.name: (item, shape, mesh_of(shape)) for item, shape in shapes}


def part(train, name, along=0.0, swing=0.0, number=0):
    """Return one part as a manifold where it stands in the wagon, slid or swung."""
    item, _, mesh = next(entry for entry in built(train).values() if entry[0].part == name)
    place = item.places[number]
    return stood(mesh, place.x + along, place.y, place.z, place.yaw + swing)


@pytest.mark.parametrize("train", TRAINS)
def test_parts_are_sound_and_as_planned(train):
    for item, shape, mesh in built(train).values():
        sound(item, shape)
        assert mesh.is_watertight and mesh.volume == pytest.approx(shape.Volume(), rel=0.01)


@pytest.mark.parametrize("train", TRAINS)
def test_assembled_parts_do_not_overlap(train):
    standing = [(f"{item.name} at {place.x:.0f}", stood(mesh, place.x, place.y, place.z, place.yaw))
                for item, _, mesh in built(train).values() for place in item.places]
    for (name, one), (other, two) in combinations(standing, 2):
        assert overlap(one, two) < TOUCH, f"{name} in {other}"


@pytest.mark.parametrize("train", TRAINS)
def test_teeth_mesh_at_every_step_and_clash_between(train):
    plan, frame = TRAINS[train], part(train, "frame")
    pitch = plan.gear.holder.tooth_pitch
    steps = range(-int(plan.gear.travel / pitch), int(plan.gear.travel / pitch) + 1)
    assert len(steps) >= 3
    for step, number in product(steps, (0, 1)):
        assert overlap(part(train, "axle-holder", step * pitch, number=number), frame) < TOUCH
        assert overlap(part(train, "axle-holder", (step + 0.5) * pitch, number=number), frame) > 5.0
    for along in (-plan.gear.travel, plan.gear.travel):
        assert overlap(part(train, "clamp-bar", along), frame) < TOUCH, "the bar slides all the way"
    assert overlap(part(train, "clamp-bar", plan.gear.travel + 1.0), frame) > CLASH, "and no further"


@pytest.mark.parametrize("train", TRAINS)
def test_a_mark_stands_in_every_notch_at_each_setting_and_at_no_other(train):
    """A feeler in the middle of a holder's inner notch finds a mark of the frame; where no tooth mates, none."""
    plan, frame = TRAINS[train], part(train, "frame")
    holder, pitch = plan.gear.holder, plan.gear.holder.tooth_pitch
    assert (holder.notch > 0) == (train != "small"), "between narrow wheels there is room for teeth alone"
    bases = [one.base for one in plan.gear.scale]
    assert bases == pytest.approx([plan.base - 2 * pitch, plan.base, plan.base + 2 * pitch])
    for base, sign, side in product(bases, (1, -1), (1, -1)) if holder.notch else ():
        for off in (0.0, pitch / 2):
            axle, inner = sign * (base / 2 + off), holder.half_length - holder.notch / 2
            place = (axle - sign * inner, side * holder.notch_y)
            feeler = rod(0.3, plan.frame.bottom - 6.0, plan.frame.bottom + 0.5, *place)
            held = part(train, "axle-holder", axle - plan.gear.axles[0 if sign > 0 else 1], number=sign < 0)
            assert overlap(feeler, held) < 1e-6 and (overlap(feeler, frame) > 0.03) == bool(off)
    for wide, base in zip(plan.gear.slide.marks, bases, strict=False):
        assert wide[1] - wide[0] == pytest.approx((1.6 if base == plan.base else 0.8) * pitch / 3)


@pytest.mark.parametrize("train", TRAINS)
def test_bar_cannot_fall_through_the_slot(train):
    bar = part(train, "clamp-bar")
    assert overlap(bar.translate((0, 0, -1.0)), part(train, "frame")) > 5.0


@pytest.mark.parametrize("train", TRAINS)
def test_screws_and_nuts_find_room(train):
    plan = TRAINS[train]
    head, head_height, flats, nut_height, thread = HARDWARE[plan.wagon.screw]
    gear, x = plan.gear, plan.wagon.wheelbase / 2 + plan.gear.holder.screw_x
    seat = gear.axle_z + gear.holder.top - gear.holder.plate
    screw = rod(head, seat - head_height, seat, x) + rod(thread, seat, plan.frame.top - 0.5, x)
    for name in ("axle-holder", "frame", "clamp-bar"):
        assert overlap(screw, part(train, name)) < TOUCH, name
    item, _, mesh = built(train)["clamp-bar"]
    nut = cylinder(radius=flats / np.sqrt(3), height=nut_height, sections=6)
    floor = item.plan.height - item.plan.nut_depth
    nut.apply_translation((item.plan.screw_x, 0, floor + nut_height / 2))
    assert overlap(solid(nut), solid(mesh)) < TOUCH
    turned = nut.copy()
    turned.apply_transform(rotation_matrix(np.radians(30), (0, 0, 1), (item.plan.screw_x, 0, 0)))
    assert overlap(solid(turned), solid(mesh)) > CLASH, "the pocket holds the nut against turning"


@pytest.mark.parametrize("train", TRAINS)
def test_axle_turns_freely_and_snaps_in(train):
    axle = TRAINS[train].wheelset.bearing_diameter + 0.15      # bores print that much too small: the default
    rod_y = cylinder(radius=axle / 2, height=200, sections=96)
    rod_y.apply_transform(rotation_matrix(np.pi / 2, (1, 0, 0)))
    _, _, holder = built(train)["axle-holder"]
    assert overlap(stood(rod_y), solid(holder)) < TOUCH
    on_the_way = [overlap(stood(rod_y, z=-fall * axle), solid(holder)) for fall in (0.4, 0.5, 0.6, 3.0)]
    assert max(on_the_way) > CLASH and on_the_way[-1] == 0


@pytest.mark.parametrize("train", TRAINS)
def test_magnets_stay_in_their_pockets(train):
    plan = TRAINS[train]
    item, _, mesh = next(entry for entry in built(train).values() if entry[0].part == "coupler")
    bar, cover = item.plan, built(train)["coupler-cover"][2]
    magnet = cylinder(radius=plan.coupler.magnet_diameter / 2, height=plan.coupler.magnet_length, sections=96)
    magnet.apply_transform(rotation_matrix(np.pi / 2, (0, 1, 0)))
    middle = bar.reach - bar.skin - bar.cover_length / 2
    lid = stood(cover, middle, 0, bar.cover_depth - bar.thickness / 2 - plan.coupling.cover.height)
    closed = solid(mesh) + lid
    assert overlap(lid, solid(mesh)) < TOUCH, "the cover drops in"
    for y in bar.pockets:
        x = bar.reach - bar.skin - bar.magnet_slot / 2
        assert overlap(stood(magnet, x, y), closed) < TOUCH
        for dx, dy, dz in ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)):
            assert overlap(stood(magnet, x + dx, y + dy, dz), closed) > CLASH, (dx, dy, dz)


@pytest.mark.parametrize("train", TRAINS)
def test_drawbar_swings_as_far_as_its_stop(train):
    frame, swing = part(train, "frame"), TRAINS[train].coupler.swing
    for side in (-1, 1):
        assert overlap(part(train, "coupler", swing=side * 0.98 * swing), frame) < TOUCH
        assert overlap(part(train, "coupler", swing=side * (swing + 4)), frame) > CLASH


@pytest.mark.parametrize("train", TRAINS)
def test_washer_on_the_spigot_holds_the_drawbar_up(train):
    seat, bar = TRAINS[train].frame.seats[0], part(train, "coupler")
    washer = rod(WASHER[TRAINS[train].wagon.screw], seat.spigot_bottom - 0.5, seat.spigot_bottom, seat.x)
    assert overlap(washer, bar) < TOUCH and overlap(washer, part(train, "frame")) < TOUCH
    assert overlap(washer, bar.translate((0, 0, -0.8))) > CLASH


@pytest.mark.parametrize("train", TRAINS)
def test_poles_are_told_apart(train):
    bars = [(item.plan, shape) for item, shape, _ in built(train).values() if item.part == "coupler"]
    for plan, shape in bars:
        other = replace(plan, marks=tuple({"N": "S", "S": "N"}[mark] for mark in plan.marks))
        swapped = parts.build("coupler", other)
        assert swapped.isValid() and shape.cut(swapped).Volume() > 0.2
    poles = {plan.marks for plan, _ in bars}
    assert poles in ({("N", "S")}, {("N",), ("S",)})


@pytest.mark.parametrize("train", TRAINS)
def test_print_pose_needs_no_supports(train):
    """45 degrees from upright and bridges up to 10 mm: common practice (reference 7.7)."""
    for item, _, mesh in built(train).values():
        laid = mesh.copy()
        turn = np.eye(4)
        turn[:3, :3] = POSES[parts.record_of(item.part).pose]
        laid.apply_transform(turn)
        for low, high in unsupported(laid):
            assert min((high - low)[:2]) < 10.0, f"{item.name} at {low[2] - laid.bounds[0][2]:.1f} mm"
        resting = (laid.face_normals[:, 2] < -0.99) & (laid.triangles_center[:, 2] < laid.bounds[0][2] + 0.01)
        assert laid.area_faces[resting].sum() > 0.08 * np.prod(laid.extents[:2]), "stands on more than an edge"


def test_kernel_error_names_part_feature_and_size():
    bar = replace(TRAINS["toy"].gear.bar, nut=0.0)
    with pytest.raises(KernelError, match=r"clamp-bar: nut .* at 23\.4 x 8\.6 x 4\.3 mm") as caught:
        parts.build("clamp-bar", bar)
    assert caught.value.exit_code == 3


@pytest.mark.parametrize("fault", [Standard.Standard_Failure, Standard.Standard_DomainError, StdFail.StdFail_NotDone,
                                   ValueError, RuntimeError])
def test_whatever_the_kernel_raises_is_a_kernel_error(fault, monkeypatch):
    def given_up(plan):
        raise fault("no such shape")

    monkeypatch.setattr(running_gear, "bar", given_up)
    with pytest.raises(KernelError, match="clamp-bar: whole \\(no such shape\\) at 23.4 x"):
        parts.build("clamp-bar", TRAINS["toy"].gear.bar)


def test_what_is_no_single_sound_solid_is_a_kernel_error(monkeypatch):
    """Two bodies, none, and one that is inside out: cut from a smaller one, its volume is below none."""
    whole, bar = Solid.makeBox(9, 8, 7), TRAINS["toy"].gear.bar
    apart, inside_out = whole.moved(Location((30, 0, 0))), Solid(whole.wrapped.Reversed())
    for shape, said in ((Compound.makeCompound([whole, apart]), "2 solids instead of one"),
                        (Compound.makeCompound([]), "0 solids instead of one"), (inside_out, "an unsound solid")):
        monkeypatch.setattr(running_gear, "bar", lambda plan, shape=shape: shape)
        with pytest.raises(KernelError, match=f"clamp-bar: {said} at 23.4 x 8.6 x 4.3 mm"):
            parts.build("clamp-bar", bar)


def test_a_fault_of_the_program_itself_is_none(monkeypatch):
    monkeypatch.setattr(running_gear, "bar", lambda plan: plan.no_such_size)
    with pytest.raises(AttributeError):
        parts.build("clamp-bar", TRAINS["toy"].gear.bar)


@st.composite
def wagons(draw):
    """Draw a wagon of gauge 16.5 to 45: plausible wheels, any screw, couplers and printers of all sorts."""
    gauge, line = draw(st.floats(16.5, 45)), draw(st.sampled_from((0.3, 0.45, 0.6, 0.9)))
    thick, tread = draw(st.floats(0.6, 2.6)), draw(st.floats(0.4, 0.8)) * gauge
    wheelset = wheels(tread, tread + draw(st.floats(0.8, 3.5)), thick, gauge - 2 * thick - 0.8,
                      draw(st.floats(1.0, 0.25 * tread)))
    coupler = Coupler(height=tread / 2 + draw(st.floats(2, 12)), magnet_diameter=draw(st.floats(2, 10)),
                      magnet_length=draw(st.floats(1, 5)), layout=draw(st.sampled_from(("pair", "single"))),
                      gap=draw(st.floats(12, 60)), swing=draw(st.floats(10, 42)))
    printer = Printer(nozzle=line / 1.1, layer=0.4 * line, line_width=line,
                      bore_offset=draw(st.floats(-0.1, 0.4)))
    wagon = Wagon(name="any", wheelbase=draw(st.floats(30, 160)), travel=draw(st.floats(0, 9)),
                  screw=draw(st.sampled_from(("M2", "M2.5", "M3"))))
    return planned(gauge, wheelset, coupler, wagon, printer)


@settings(max_examples=5, deadline=None, derandomize=True,
          suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(wagons())
def test_any_wagon_that_is_not_refused_can_be_built(plan):
    assume(not plan.wanting)
    meshes = {}
    for item in plan.items:
        if item.part in GEAR:
            shape = parts.build(item.part, item.plan)
            sound(item, shape)
            meshes[item.name] = item, mesh_of(shape)
    frame = solid(meshes.pop("frame")[1])
    for item, mesh in meshes.values():
        place = item.places[-1]
        assert overlap(stood(mesh, place.x, place.y, place.z, place.yaw), frame) < TOUCH, item.name
