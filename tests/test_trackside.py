"""Sensor holder, marker and gauges: gap, readings and sizes measured on the meshes or counted out."""

import re
from functools import cache

import numpy as np
import pytest
from conftest import DEMO, described
from shapely import Polygon
from solids import print_faults

from partgen import parts
from partgen.checks.on_plan import run
from partgen.describe.load import load
from partgen.finding import worst
from partgen.identity import PartId
from partgen.plan.train import resolve
from partgen.printing.posed import Posed
from partgen.solids.built import lay
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
def test_sensor_holder_slides_in_floor_and_frame_and_clicks():
    item, chute = built("sensor-holder")
    place = item.places[0]
    chute = chute.copy().apply_translation((place.x, place.y, place.z))
    _, frame = built("frame")
    _, body = built("body")
    def overlap(by, other):
        return (solid(chute.copy().apply_translation((0, 0, by))) ^ solid(other)).volume()
    for by in (-2, -1, 0, 1, 2):
        assert overlap(by, frame) < TOUCH and overlap(by, body) < TOUCH, "jams where it should rest"
    for by in (-1.5, -0.5, 0.5, 1.5):
        assert 0.3 < overlap(by, frame) < 4.0, "nothing holds it, or it cannot pass"


def test_sensor_stands_at_its_gap_over_a_marker_below_every_flange():
    plan = train()
    one, = plan.wagons[0].hung
    marker = next(item.plan for item in plan.trackside.items if item.part == "marker")
    track, wheels = plan.description.track, plan.description.wheelset["standard"]
    top = marker.height - track.rail_height
    assert one.bottom - top == pytest.approx(plan.wagons[0].wagon.sensor_gap)
    assert top < -(wheels.flange_diameter - wheels.tread_diameter) / 2
    assert marker.width < track.gauge and marker.size[1] <= track.gauge


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


def test_low_sensor_is_told_how_much_higher_it_must_hang():
    low = {"module": BESIDE, "track": "rail_height = 2.6", "wagon": "modules = ['eye']\nsensor_gap = 1"}
    found = [f for f in run(resolve(described(**low))) if f.check == "under-clearance"]
    assert worst(found) == "fail" and re.search(r"[\d.]+ mm", found[0].remedy)
