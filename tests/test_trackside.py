"""Sensor holder, marker and gauges: gap, readings and sizes measured on the meshes or counted out."""

import re
from functools import cache

import numpy as np
import pytest
import trimesh
from conftest import DEMO, described
from shapely import Polygon
from solids import print_faults
from trimesh.creation import box, cylinder
from trimesh.transformations import rotation_matrix

from partgen import parts
from partgen.checks.meshes import sensor_gap
from partgen.checks.on_plan import run
from partgen.describe.load import load
from partgen.describe.printer_tables import Printer
from partgen.finding import down, worst
from partgen.identity import TRACK, PartId
from partgen.plan.train import resolve
from partgen.printing.posed import Posed
from partgen.solids.built import Built, lay
from partgen.solids.mesh import mesh_of
from partgen.solids.overlap import solid

TOUCH = 0.02            # mm3
BESIDE = ("[module.eye]\nlength = 30\nwidth = 14\nheight = 8\nmass = 4\n"
          "looks_out = [{side = 'bottom', width = 9, height = 7}]")


@cache
def train():
    return resolve(load(DEMO))


@cache
def built(name):
    """Return (item, mesh) of a part of the track, or of the demo's first wagon."""
    item = next(i for plan in train().printed for i in plan.items if i.part == name)
    return item, mesh_of(parts.build(item.part, item.plan))


def section(mesh, height):
    return max((Polygon(ring) for ring in solid(mesh).slice(height).to_polygons()), key=lambda ring: ring.area)


def width_at(mesh, y):
    """Extent along x [mm] of a lying plate's outline at mid height, at one y."""
    outline = section(mesh, 2.0)
    cut = outline.intersection(Polygon([(-500, y - 0.01), (500, y - 0.01), (500, y + 0.01), (-500, y + 0.01)]))
    return cut.bounds[2] - cut.bounds[0]


@pytest.mark.slow
@pytest.mark.parametrize("part", ["sensor-holder", "marker", "track-gauge", "wheel-gauge", "radius-template",
                                  "fill-gauge"])
def test_part_is_as_planned_and_prints_without_supports(part):
    item, mesh = built(part)
    assert mesh.extents == pytest.approx(item.plan.size, abs=0.03) and mesh.is_watertight
    assert mesh.volume == pytest.approx(item.plan.volume, rel=0.06)
    posed = Posed(PartId("one", part), lay(item, mesh, Printer()), train().description.printer)
    assert print_faults(posed) == []


@pytest.mark.slow
def test_a_board_rests_at_its_gap_and_the_tray_is_free_over_its_whole_way():
    """A box of the board's size let down into the tray, and the tray moved up and down beside lug and frame."""
    item, tray = built("sensor-holder")
    _, frame = built("frame")
    plan, place, track = train().wagons[0], item.places[0], train().description.track
    _, marker = built("marker")
    top = marker.bounds[1][2] + 0.2 - track.rail_height            # on tape of 0.2 mm
    one, gap = plan.hung[0], plan.wagon.sensor_gap
    hung = solid(tray.copy().apply_translation((place.x, place.y, place.z)))
    board = box((32, 14, 8)).apply_translation((place.x, 0, top + gap + 4))
    for by, meets in ((0.03, False), (-0.03, True)):
        assert ((solid(board.copy().apply_translation((0, 0, by))) ^ hung).volume() > 1.0) == meets
    for by in np.linspace(-one.down, one.up, 5):
        moved = hung.translate((0, 0, by))
        assert (moved ^ solid(frame)).volume() < TOUCH
        assert moved.bounding_box()[2] - top >= 0.5 - 0.01
        screw = cylinder(1.5, one.screw).apply_transform(rotation_matrix(np.pi / 2, (1, 0, 0)))
        screw.apply_translation((place.x, one.lug.outside + 0.5 - one.screw / 2, place.z + one.tray.screw_z + by))
        assert (solid(screw) ^ (solid(frame) + moved)).volume() < 5 * TOUCH, "the screw does not go through"


@pytest.mark.slow
def test_what_is_built_too_low_or_tight_is_found():
    """The frame, or the tray, moved down by a millimetre: the same as a lug or a sole drawn wrongly."""
    names = ("sensor-holder", "frame", "marker")
    meshes = {(TRACK if name == "marker" else "controls", name): built(name)[1] for name in names}
    assert worst(sensor_gap(Built(train(), meshes, {}))) == "pass"
    for name, low, says in (("sensor-holder", -1.0, "mm over the marker instead of 4"),
                            ("frame", -0.8, "set lowest it is"), ("frame", 1.8, "lower than 4 mm")):
        wrong = {key: mesh.copy().apply_translation((0, 0, low)) if key[1] == name else mesh
                 for key, mesh in meshes.items()}
        found = [f.reason for f in sensor_gap(Built(train(), wrong, {})) if f.verdict == "fail"]
        assert any(says in remedy for remedy in found), found


def test_a_sensor_that_cannot_be_set_is_told_what_to_change():
    """Applied to the letter, what is said about the gap makes the same finding pass."""
    for gap in (1, 2, 12, 20):
        told = {"module": BESIDE, "wagon": "modules = ['eye']\nsensor_gap = {}"}
        def faults(gap, told=told):
            return [f for f in run(resolve(described(**told | {"wagon": told["wagon"].format(gap)})))
                    if f.check == "sensor-gap" and f.verdict == "fail"]
        said = [re.search(r"set sensor_gap to ([\d.]+) mm", f.reason) for f in faults(gap)]
        assert said and any(said)
        assert not faults(next(found[1] for found in said if found)), gap


def test_a_head_too_small_for_the_ledges_of_a_coarse_line_is_told_so():
    """A head of 4 mm in play of 0.25 mm, on ledges of two lines either side: 1.05 mm are left at lines of 0.8 mm."""
    small = BESIDE + "\nhead = [4, 4, 6]"
    small = small.replace("width = 9, height = 7", "width = 2, height = 2")
    def faults(line):
        return [f for f in run(resolve(described(module=small, wagon="modules = ['eye']\nwall = 2.4",
                                                 printer=f"nozzle = 0.6\nline_width = {line}\nlayer = 0.3")))
                if f.check == "sensor-gap" and "look through" in f.reason]
    fault, = faults(0.8)
    assert fault.value == pytest.approx(4.25 - 4 * 0.8, abs=0.01)
    assert not faults(down((4.25 - fault.limit) / 4, 2))


def test_sensor_looks_past_a_narrow_marker_on_a_sharp_curve():
    wide = BESIDE.replace("width = 9", "width = 13.5").replace("length = 30", "length = 20")
    found = {radius: [f for f in run(resolve(described(module=wide, track=f"min_radius = {radius}",
                                                       wagon="modules = ['eye']\npivot_spacing = 180\nlength = 260")))
                      if f.check == "sensor-gap" and "past the marker" in f.reason] for radius in (320, 3000)}
    assert found[320] and not found[3000]


@pytest.mark.parametrize("speed, sample_time", [(250, 0.02), (900, 0.03), (1500, 0.05)])
def test_marker_is_read_three_times_whenever_the_first_reading_falls(speed, sample_time):
    """Readings counted out on a marker for a thousand moments of the first one."""
    ride = f"[ride]\nspeed = {speed}\nsample_time = {sample_time}"
    plan = resolve(described(module=f"{BESIDE}\n", wagon="modules = ['eye']", ride=ride)).trackside
    marker = next(item.plan for item in plan.items if item.part == "marker")
    for phase in np.linspace(0, 1, 1000, endpoint=False):
        at = speed * sample_time * (phase + np.arange(-2, 500))
        assert np.sum((at >= 0) & (at <= marker.length)) >= 3


@pytest.mark.slow
def test_gauges_are_as_wide_as_they_must_be():
    """The printed plate is wider than drawn by the peg offset: measured plus offset is the true size."""
    description = train().description
    offset, track, wheels = description.printer.peg_offset, description.track, description.wheelset["standard"]
    _, rail = built("track-gauge")
    assert width_at(rail, 8.5) + offset == pytest.approx(track.gauge, abs=0.01)
    assert width_at(rail, -8.5) + offset == pytest.approx(track.gauge + track.gauge_tolerance + 0.1, abs=0.01)
    _, wheel = built("wheel-gauge")
    assert width_at(wheel, 8.5) + offset == pytest.approx(wheels.back_to_back - 0.1, abs=0.01)
    assert width_at(wheel, -8.5) + offset == pytest.approx(wheels.back_to_back + 0.2, abs=0.01)


@pytest.mark.slow
def test_radius_template_lies_against_the_outer_rail():
    """A circle fitted through its edge by least squares has the radius of the outer rail's inner face."""
    _, mesh = built("radius-template")
    x, y = np.array(section(mesh, 2.0).exterior.coords).T
    edge = (y > 18.05) & (np.abs(x) < 58)
    system = np.column_stack([x[edge], y[edge], np.ones(edge.sum())])
    a, b, c = np.linalg.lstsq(system, x[edge]**2 + y[edge]**2, rcond=None)[0]
    track = train().description.track
    assert np.sqrt(c + (a**2 + b**2) / 4) == pytest.approx(track.min_radius + track.gauge / 2, rel=2e-3)


CUPS = {"tea": {"fill": 40.0}, "narrow": {"profile": ((0, 30), (70, 60), (90, 40)), "wall": 2.0, "fill": 75.0},
        "thick": {"profile": ((0, 60), (20, 90), (50, 90)), "wall": 9.0, "fill": 8.0}}


def serving(cup):
    """A wagon with one cup, the tea glass with those changes."""
    line = described(wagon='cups = ["tea"]')
    return line.model_copy(update={"cup": {"tea": line.cup["tea"].model_copy(update=cup)}})


@pytest.mark.slow
@pytest.mark.parametrize("cup", CUPS)
def test_a_fill_gauge_hangs_on_the_rim_and_touches_the_drink(cup):
    """Hung on the cup turned by trimesh: it rests on the rim, has play beside it, and its tip meets the drink as
    filled; a tenth of a millimetre less stays dry."""
    plan, one = resolve(serving(CUPS[cup])).trackside.items[-1], serving(CUPS[cup]).cup["tea"]
    assert (plan.part, plan.name, plan.serves) == ("fill-gauge", "fill-gauge", ("one",))
    gauge = mesh_of(parts.build(plan.part, plan.plan)).apply_translation((0, 0, -2))
    gauge.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, (1, 0, 0)))        # on edge, y upwards
    height, radius = np.array(one.profile).T * [[1], [0.5]]
    gauge.apply_translation((0, 0, height[-1]))
    inner = [(max(np.interp(z, height, radius) - one.wall, 0.1), z) for z in [one.wall, *height[height > one.wall]]]
    wall = turned([(0, 0), *zip(radius, height, strict=True), *inner[::-1], (0, one.wall)])
    assert (solid(gauge) ^ solid(wall)).volume() < TOUCH
    rests = solid(gauge.copy().apply_translation((0, 0, -0.1))) ^ solid(wall)
    assert rests.volume() > 0.05
    for way in (0.5, -0.5):
        assert (solid(gauge.copy().apply_translation((way, 0, 0.01))) ^ solid(wall)).volume() < TOUCH
    for depth, wets in ((one.fill - 0.1, False), (one.fill + 0.1, True)):
        level = one.wall + depth
        drink = turned([(0, one.wall), *((r, z) for r, z in inner if z < level),
                        (np.interp(level, height, radius) - one.wall, level), (0, level)])
        assert ((solid(gauge) ^ solid(drink)).volume() > 0.5) is wets, depth


def turned(profile):
    """A solid turned about z from (radius, height) pairs [mm]."""
    mesh = trimesh.creation.revolve(np.array(profile), sections=96)
    return mesh if mesh.volume > 0 else mesh.invert() or mesh


def test_fill_gauges_of_several_cups_are_told_apart():
    """By dots, as their names may not be read in print; each goes with the wagons that carry its cup."""
    more = "label = 'glass'\n[cup.espresso]\nmass = 90\nprofile = [[0, 40], [50, 60]]\nfill = 30"
    plan = resolve(described(cup=more, wagon='cups = ["tea", "espresso"]\n[[wagon]]\nname = "two"\nwheelbase = 64\n'
                                             'cups = ["tea"]\ninserts = []'))
    found = {item.name: (item.plan.dots, item.serves) for item in plan.trackside.items if item.part == "fill-gauge"}
    assert found == {"fill-gauge-tea": (1, ("one", "two")), "fill-gauge-espresso": (2, ("one",))}


@pytest.mark.parametrize("cup", [{"fill": 0.0}, {"fill": 56.5}, {"profile": ((0, 11), (60, 11)), "fill": 20.0},
                                 {"profile": ((0, 28), (60, 28)), "fill": 20.0, "wall": 12.0}])
def test_no_fill_gauge_where_none_would_go_in(cup):
    assert not [item for item in resolve(serving(cup)).trackside.items
                if item.part == "fill-gauge"]


def test_freeboard_is_the_liquids_own():
    from partgen.dynamics.liquids import liquid_of
    cups = load(DEMO).cup
    assert all(cup.freeboard == pytest.approx(liquid_of(name, cup).freeboard) for name, cup in cups.items())


@pytest.mark.slow
def test_pictures_show_each_where_it_is_used():
    """Of the demo's, no part runs into what it is shown on, and a hair further it would: measured on the props."""
    from partgen.report.track_props import track_props
    from partgen.solids.built import Built
    plan = train()
    meshes = {(TRACK, item.name): mesh_of(parts.build(item.part, item.plan)) for item in plan.trackside.items}
    shown = {}
    for prop in track_props(Built(plan, meshes, {})):
        shown.setdefault(prop.name, []).append(trimesh.Trimesh(prop.placed(), prop.faces, process=False))
    for name, hosts, way in (("track-gauge", ["rail"], (0, 0, -0.3)), ("wheel-gauge", ["wheel", "axle"], (0, 0, -0.3)),
                             ("radius-template", ["curve"], (0, -0.3, 0)), ("marker", ["sleeper"], (0, 0, -0.4)),
                             ("fill-gauge-tea", ["cup"], (0, 0, -0.3))):
        part, = shown[name]
        against = [solid(mesh) for host in hosts for mesh in shown[host]]
        for by, meets in (((0, 0, 0), False), (way, True)):
            moved = solid(part.copy().apply_translation(by))
            run_in = sum((moved ^ host).volume() for host in against)       # rails on the curve are drawn in chords
            assert (run_in > (2.0 if name == "radius-template" else 0.3)) is meets, (name, by, run_in)


def test_no_gauges_and_no_marker_where_none_are_wanted():
    assert resolve(described(ride="[train]\ngauges = false")).trackside.items == ()
    assert {i.part for i in resolve(described()).trackside.items} == {"track-gauge", "wheel-gauge", "radius-template"}
