"""Modules in their body as planned: turned by scipy, apart by plain intervals, seen through floor and lid; and what the
train weighs, by sums over its parts."""

import re
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from plans import CUPS, MODULES, lines_of, made, plan_of, train_of, wagons
from scipy.spatial.transform import Rotation
from shapely import Point, box
from trains import random_description

from partgen.checks.fastening import mount_fit
from partgen.checks.modules import module_fit
from partgen.describe.cargo_tables import LooksOut, Module
from partgen.describe.load import loads as read
from partgen.describe.printer_tables import Printer, Slicing
from partgen.errors import DescriptionError
from partgen.plan.body.layout import fences, to_wall
from partgen.plan.body.orientation import orientation_of, turns_of
from partgen.plan.mass import centre, loads
from partgen.plan.printed import printed_mass
from partgen.plan.train import resolve

FACES = {"front": (1, 0, 0), "back": (-1, 0, 0), "left": (0, 1, 0), "right": (0, -1, 0), "top": (0, 0, 1),
         "bottom": (0, 0, -1)}


# ---- turns

@settings(max_examples=80)
@given(st.tuples(*[st.floats(12, 60)] * 3), st.data())
def test_windows_feet_and_rooms_turn_with_their_module(size, data):
    """Corners turned by scipy's rotations; everything counts from the turned box's rear right corner."""
    length, width, height = size
    wide, high = data.draw(st.floats(1, width / 2)), data.draw(st.floats(1, length / 2))
    aside, rise = data.draw(st.floats(-width / 4, width / 4)), data.draw(st.floats(-length / 4, length / 4))
    plugs = data.draw(st.lists(st.sampled_from(["front", "back", "left", "right"]), unique=True, min_size=1))
    rooms = tuple(data.draw(st.lists(st.floats(1, 30), min_size=len(plugs), max_size=len(plugs))))
    holes = ((length / 3, -width / 5), (-length / 4, width / 3))
    module = Module(length=length, width=width, height=height, mass=5, mount="bosses", hole=3.0, holes=holes,
                    plugs=tuple(plugs), plug_rooms=rooms, turns=("round",),
                    looks_out=(LooksOut(side="top", width=wide, height=high, aside=aside, rise=rise),))
    assert len(turns_of(module)) == 4
    for quarter, turn in enumerate(turns_of(module)):
        rotation, found = Rotation.from_euler("z", 90 * quarter, degrees=True), orientation_of(module, turn)
        turned = np.abs(rotation.apply(size))
        assert found.size == pytest.approx(turned)
        level = height / 2
        corners = rotation.apply([(rise + s * high / 2, aside + t * wide / 2, level) for s in (1, -1) for t in (1, -1)])
        seen = np.array([corners.min(axis=0), corners.max(axis=0)])[:, :2] + turned[:2] / 2
        assert np.transpose(found.seen) == pytest.approx(seen) and found.window is None
        for hole, foot in zip(holes, found.feet, strict=True):
            middle = rotation.apply((*hole, 0))[:2] + turned[:2] / 2
            assert np.transpose(foot) == pytest.approx(np.array([middle - 3.5, middle + 3.5]))
        for face, normal in FACES.items():
            own = next(name for name, way in FACES.items() if rotation.apply(way) == pytest.approx(normal, abs=1e-9))
            asked = rooms[plugs.index(own)] if own in plugs else 0.0
            assert found.room[list(FACES).index(face)] == pytest.approx(asked), "each plug has its own room"
        assert found.out == ("top",) and found.lift == pytest.approx(4.5)      # M2.5 x 8 within boss and floor


def test_a_plug_below_lifts_its_module_and_a_strap_keeps_its_slots_free():
    below = Module(length=30, width=20, height=10, mass=5, plugs=("bottom",), plug_room=7.5, turns=())
    assert orientation_of(below, turns_of(below)[0]).lift == 7.5
    for length, width, sides in ((30, 20, ("left", "right")), (20, 30, ("front", "back")), (25, 25, ("left", "right"))):
        held = Module(length=length, width=width, height=10, mass=5, mount="strap", turns=(), plugs=(sides[0],),
                      plug_room=2.5)
        room = dict(zip(FACES, orientation_of(held, turns_of(held)[0]).room, strict=True))
        assert {face for face, asked in room.items() if asked} == set(sides) and set(room.values()) == {0.0, 4.0}
        # Slots 2.2 mm wide, 1 mm off the module, 10.4 mm long; 1.2 mm of floor stay round them, half of it each side
        lies = orientation_of(held, turns_of(held)[0], 2.4)
        assert {face for face, cut in zip(FACES, lies.through, strict=True) if cut == pytest.approx(3.8)} == set(sides)
        along, across = (length, 10.4 - 6.4) if sides[0] == "front" else (10.4 - 6.4, width)
        (foot,), half = lies.feet, (np.array([along, across]) + 6.4) / 2 + 1.2
        assert np.transpose(foot) == pytest.approx(np.array([length, width]) / 2 + np.array([-half, half]))
    assert orientation_of(below, turns_of(below)[0]).from_wall(5.0) == (0.0,) * 6


def test_what_looks_up_keeps_its_opening_from_the_rim_on_every_side():
    """29 x 41 mm; an opening of 19 x 25 mm, 1.5 mm to the left and 2 mm back from its middle; walls 10 mm from it."""
    dial = Module(**MODULES["dial"] | {"turns": (), "looks_out": (LooksOut(**MODULES["dial"]["looks_out"][0]),)})
    asked = orientation_of(dial, turns_of(dial)[0]).from_wall(10.0)
    front, back = 41 / 2 - (-2 + 25 / 2), 41 / 2 + (-2 - 25 / 2)
    left, right = 29 / 2 - (1.5 + 19 / 2), 29 / 2 + (1.5 - 19 / 2)
    assert asked == pytest.approx((max(10 - front, 0), max(10 - back, 0), max(10 - left, 0), max(10 - right, 0), 0, 0))


# ---- room

def test_a_body_is_as_large_as_each_plugs_own_room_makes_it():
    """9 mm before the front, 4 mm before the left: 1 mm elsewhere; walls of 1.9 mm."""
    big = {"big": dict(length=170.0, width=52.0, height=12.0, mass=30, turns=[], plugs=["front", "left"],
                       plug_rooms=[9.0, 4.0], mount="tape")}
    plan = plan_of({"modules": ["big"], "wall": 1.9}, module=big)
    one, = plan.layout.placed
    assert plan.length == pytest.approx(170 + 9 + 1 + 3.8, abs=0.11)
    assert plan.width == pytest.approx(52 + 4 + 1 + 3.8, abs=0.11)
    free = [plan.body.inside[0] / 2 - one.box[0][1], plan.body.inside[0] / 2 + one.box[0][0],
            plan.body.inside[1] / 2 - one.box[1][1], plan.body.inside[1] / 2 + one.box[1][0]]
    assert free == pytest.approx([9, 1, 4, 1], abs=0.11)
    swapped = {"big": big["big"] | {"plug_rooms": [4.0, 9.0]}}
    assert plan_of({"modules": ["big"], "wall": 1.9}, module=swapped).length == pytest.approx(178.8, abs=0.11)
    high = plan_of({"modules": ["big"]}, module={"big": big["big"] | {"plugs": ["top"], "plug_rooms": [13.0]}})
    assert high.body.size[2] == pytest.approx(2.4 + 1 + 12 + 13 + 5.0, abs=0.06), "floor, tape, module, plug, rim"


def spare_of(plan, placed):
    """The tightest distance to walls, lid or another module, less what both faces need; by plain intervals."""
    x, y, z = plan.body.inside
    found = []
    for one in placed:
        free = (x / 2 - one.box[0][1], x / 2 + one.box[0][0], y / 2 - one.box[1][1], y / 2 + one.box[1][0],
                z - 5.0 - one.box[2][1])
        for face, gap in zip(list(FACES)[:5], free, strict=True):
            asked = 0.8 if face in one.orientation.out and face != "top" else max(
                1.0, one.orientation.room[list(FACES).index(face)])
            found.append(gap - asked)
    for k, one in enumerate(placed):
        for other in placed[:k]:
            gaps = []
            for axis, (high, low) in enumerate((("front", "back"), ("left", "right"), ("top", "bottom"))):
                for a, b in ((one, other), (other, one)):
                    near, far = a.orientation.room[list(FACES).index(high)], b.orientation.room[list(FACES).index(low)]
                    gaps.append(b.box[axis][0] - a.box[axis][1] - max(1.0, near, far, 0.6 * (near + far)))
            found.append(max(gaps))
    return min(found)


@settings(max_examples=40)
@given(st.integers(0, 2), st.floats(-9, 9), st.floats(-9, 9))
def test_the_nearest_of_all_gaps_is_judged(which, dx, dy):
    """A module pushed about: the finding has the one distance that is shortest of what it should be."""
    train = train_of({"modules": ["chip", "tray", "port"], "width": 57.0})
    plan, = train.wagons
    placed = list(plan.layout.placed)
    placed[which] = replace(placed[which], x=placed[which].x + dx, y=placed[which].y + dy)
    moved = replace(plan, layout=replace(plan.layout, placed=tuple(placed)))
    finding = next(f for f in module_fit(replace(train, wagons=(moved,))) if str(f.subject) == "one")
    assert finding.value == pytest.approx(spare_of(plan, placed), abs=1e-6)
    assert (finding.verdict == "fail") == (finding.value < -1e-9)
    if finding.verdict == "fail":
        assert f"is {-finding.value:.2f} mm too near the" in finding.reason


@settings(max_examples=40)
@given(wagons(modules=(("tray", "chip"), ("board", "port"), ("cell", "tray", "port"), ("eye", "tray"), ("dial",))))
def test_layouts_keep_every_distance_and_screws_and_axles_free(drawn):
    plan = made(drawn)
    placed, space = plan.layout.placed, plan.layout.space
    assert spare_of(plan, placed) >= -0.06
    for one in placed:
        for hole in one.module.holes if one.module.mount == "bosses" else ():
            x, y, _ = np.array(one.turn.matrix) @ (*hole, 0) + (one.x, one.y, 0)
            for sx, sy in plan.body.screws:
                foot = box(x - 3.35, y - 3.35, x + 3.35, y + 3.35)
                assert foot.distance(Point(sx, sy)) >= plan.body.cone / 2 + 0.5 - 0.3, "a boss on a screw's head"
    for cutout in [one for one in plan.layout.cutouts if one.wall == "bottom"]:
        window = box(cutout.middle[0] - cutout.size[0] / 2, cutout.middle[1] - cutout.size[1] / 2,
                     cutout.middle[0] + cutout.size[0] / 2, cutout.middle[1] + cutout.size[1] / 2)
        for start, end in plan.gear.blind:
            assert window.distance(box(start, -99, end, 99)) >= 3.6 - 0.06
        for seat in plan.frame.seats:
            ends = box(seat.x - plan.coupling.guard_outer, -99, seat.x + plan.coupling.guard_outer, 99)
            assert window.distance(ends) >= 3.6 - 0.06
        assert max(abs(window.bounds[1]), abs(window.bounds[3])) <= plan.wheelset.back_to_back / 2 - 3.0 + 0.06
    assert space.gap == space.layer == 1.0 and space.touch == max(0.8, lines_of(drawn))


@settings(max_examples=40)
@given(wagons(modules=(("tray", "chip"), ("cell", "tray", "chip"), ("tray", "board", "chip"))))
def test_ribs_cross_the_body_where_a_lane_is_free_and_hold_the_module_before(drawn):
    plan = made(drawn)
    placed, ribs = plan.layout.placed, plan.layout.fences
    # the slots of a strap along the body come down within 4 mm of its module
    slots = [3.0 if one.module.mount == "strap" and one.length < one.width else 0.0 for one in placed]
    spans = sorted((one.box[0][0] - off, one.box[0][1] + off) for one, off in zip(placed, slots, strict=True))
    line = drawn[1].get("line_width", 0.45)
    rib = max(1.6, 2 * line)
    lanes, reach = [], spans[0][1]
    for start, stop in spans[1:]:
        if start - reach >= rib + 2.0 - 1e-6:
            lanes.append((reach, start))
        reach = max(reach, stop)
    assert len(ribs) == len(lanes) and list(ribs) == sorted(ribs, reverse=True)
    for x, (low, high) in zip(reversed(ribs), lanes, strict=True):
        assert low + 1.0 <= x - rib / 2 + 1e-9 and x + rib / 2 - 1e-9 <= high - 1.0
    assert fences(tuple(reversed(placed)), rib, line) == ribs


@pytest.mark.parametrize("seeds", [range(0, 25), range(25, 50), range(50, 75)])
def test_straps_slots_keep_off_screws_and_off_each_other(seeds):
    """Random wagons whose modules are all strapped, and as wide as their straps: as much floor as over a way stays
    between slots, and between them and screws."""
    met = 0
    for plan in filter(None, map(strapped, seeds)):
        body, cuts = plan.body, [strap.cut for strap in plan.body.fittings.straps]
        half = body.cone / 2
        holes = [box(*(at - half for at in screw), *(at + half for at in screw)) for screw in body.screws]
        ways = [box(x0, y0, x1, y1) for (x0, x1), (y0, y1) in cuts]
        apart = [one.distance(other) for one, other in combinations(ways, 2)]
        apart += [way.distance(hole) for way in ways for hole in holes]
        assert min(apart) >= body.floor - 1.2 - 1e-6, plan.name
        met += 1
    assert met >= 2


def strapped(seed):
    """Return a random wagon whose modules are all strapped and have room and width for it; None where they have not."""
    text = re.sub("^mount = .*$", 'mount = "strap"', random_description(seed, wagons=1, modules=True), flags=re.M)
    try:
        train = resolve(read(text))
    except DescriptionError:
        return None
    plan, = train.wagons
    fits = all(found.verdict != "fail" for found in mount_fit(train))
    return plan if plan.body.fittings.straps and not plan.layout.misfit and fits else None


def test_a_rib_stands_behind_the_face_that_needs_less_room():
    """A plug of 9 mm before the tray's front; the chip behind has none at its back."""
    tray = dict(length=31, width=40.0, height=10, mass=10, turns=[], plugs=["front"], plug_room=9)
    block = dict(length=30, width=40.0, height=10, mass=40, turns=[])
    plan = plan_of({"modules": ["tray", "block"], "width": 57.0}, module={"tray": tray, "block": block})
    at = {one.name: one for one in plan.layout.placed}
    rib, = plan.layout.fences
    front, rear = sorted(at.values(), key=lambda one: -one.x)
    gap = front.box[0][0] - rear.box[0][1]
    if rear.name == "tray":
        assert rib == pytest.approx(front.box[0][0] - 1.0 - 0.8) and gap >= 9
    else:
        assert rib == pytest.approx(rear.box[0][1] + 1.0 + 0.8)


def test_to_wall_says_what_each_face_needs():
    dial = Module(**MODULES["dial"] | {"turns": (), "looks_out": (LooksOut(**MODULES["dial"]["looks_out"][0]),)})
    port = Module(length=20, width=14, height=9, mass=5, plugs=("right",), plug_room=5, turns=(),
                  looks_out=(LooksOut(side="left", width=13, height=6),))
    way = orientation_of(port, turns_of(port)[0])
    assert [to_wall(way, face, 0.0) for face in FACES] == [1.0, 1.0, 0.8, 5.0, 1.0, 1.0]
    way = orientation_of(dial, turns_of(dial)[0])
    assert to_wall(way, "top", 10.0) == 1.0 and to_wall(way, "left", 10.0) == pytest.approx(10 - (14.5 - 11))


# ---- what it weighs

@settings(max_examples=20)
@given(wagons(modules=((), ("tray", "port")), cups=((), ("tea", "mug"))), st.sampled_from(["PLA", "ABS"]))
def test_masses_stand_where_their_parts_do(drawn, material):
    """Densities of filament as sold: PLA 1.24, ABS 1.04 g/cm3; strands lap a little where they turn."""
    plan = made(drawn)
    solid = Printer(material=material, slicing=Slicing(infill=100.0))
    found = loads(plan, solid)
    density = {"PLA": 1.24e-3, "ABS": 1.04e-3}[material]
    printed = [load for load in found if load.kind == "printed"]
    assert sum(load.mass for load in printed) == pytest.approx(
        density * sum(item.plan.volume * item.count for item in plan.items if not item.loose), rel=0.04)
    assert printed_mass(plan.frame, Printer(material=material)) < printed_mass(plan.frame, solid)
    assert printed_mass(plan.frame, solid) == pytest.approx(density * plan.frame.volume, rel=0.04)
    frame = next(load for load in printed if load.name == "frame")
    assert (frame.x, frame.y, frame.z) == (0, 0, plan.frame.centroid_z)
    bars = [load for load in printed if load.name.startswith("coupler") and "cover" not in load.name]
    assert sorted(load.x for load in bars) == [plan.frame.seats[1].x, plan.frame.seats[0].x]
    gear = [load for load in found if load.kind == "gear"]
    assert [load.x for load in gear] == list(plan.gear.axles) and {load.z for load in gear} == {plan.gear.axle_z}
    assert {load.mass for load in gear} == {plan.wheelset.mass}
    for load, placed in zip([one for one in found if one.kind == "module"], plan.layout.placed, strict=True):
        middle = plan.floor_z + placed.z + placed.module.height / 2
        assert (load.name, load.mass, load.x, load.y) == (placed.name, placed.module.mass, placed.x, placed.y)
        assert load.z == pytest.approx(middle)
    cups = [load for load in found if load.kind in ("cup", "liquid")]
    assert [load.kind for load in cups] == ["cup", "liquid"] * len(plan.cups)
    for (seat, cup), load in zip(plan.cups, cups[::2], strict=True):
        assert (load.mass, load.x, load.y) == (CUPS[seat.cup]["mass"], seat.x, seat.y)
        assert plan.deck_z < load.z < plan.deck_z + cup.height
    total, at = centre(found)
    rows = np.array([(load.mass, load.x, load.y, load.z) for load in found])
    assert total == pytest.approx(rows[:, 0].sum()) and at == pytest.approx(rows[:, 0] @ rows[:, 1:] / rows[:, 0].sum())
    assert centre([]) == (0.0, (0.0, 0.0, 0.0))
