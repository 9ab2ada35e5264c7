"""Sensor holder, marker and gauges: gap, readings and sizes measured on the meshes or counted out."""

import re
from functools import cache

import numpy as np
import pytest
from conftest import DEMO, described
from shapely import Polygon
from solids import print_faults
from trimesh.creation import box, cylinder
from trimesh.transformations import rotation_matrix

from partgen import parts
from partgen.checks.meshes import sensor_gap
from partgen.checks.on_plan import run
from partgen.describe.load import load
from partgen.finding import worst
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
@pytest.mark.parametrize("part", ["sensor-holder", "marker", "track-gauge", "wheel-gauge", "radius-template"])
def test_part_is_as_planned_and_prints_without_supports(part):
    item, mesh = built(part)
    assert mesh.extents == pytest.approx(item.plan.size, abs=0.03) and mesh.is_watertight
    assert mesh.volume == pytest.approx(item.plan.volume, rel=0.06)
    posed = Posed(PartId("one", part), lay(item, mesh), train().description.printer)
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
        found = [f.remedy for f in sensor_gap(Built(train(), wrong, {})) if f.verdict == "fail"]
        assert any(says in remedy for remedy in found), found


def test_a_sensor_that_cannot_be_set_is_told_what_to_change():
    """Applied to the letter, what is said about the gap makes the same finding pass."""
    for gap in (1, 2, 12, 20):
        told = {"module": BESIDE, "wagon": "modules = ['eye']\nsensor_gap = {}"}
        def faults(gap, told=told):
            return [f for f in run(resolve(described(**told | {"wagon": told["wagon"].format(gap)})))
                    if f.check == "sensor-gap" and f.verdict == "fail"]
        said = [re.search(r"set sensor_gap to ([\d.]+) mm", f.remedy) for f in faults(gap)]
        assert said and any(said)
        assert not faults(next(found[1] for found in said if found)), gap


def test_sensor_looks_past_a_narrow_marker_on_a_sharp_curve():
    wide = BESIDE.replace("width = 9", "width = 13.5").replace("length = 30", "length = 20")
    found = {radius: [f for f in run(resolve(described(module=wide, track=f"min_radius = {radius}",
                                                       wagon="modules = ['eye']\npivot_spacing = 180\nlength = 260")))
                      if f.check == "sensor-gap" and "past the marker" in f.remedy] for radius in (320, 3000)}
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
    assert wheels.axle_diameter < 2 * min(abs(x) for x, y in section(wheel, 2.0).exterior.coords if y < -8.5)


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


def test_no_gauges_and_no_marker_where_none_are_wanted():
    assert resolve(described(ride="[train]\ngauges = false")).trackside.items == ()
    assert {i.part for i in resolve(described()).trackside.items} == {"track-gauge", "wheel-gauge", "radius-template"}
