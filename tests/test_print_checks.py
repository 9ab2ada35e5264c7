"""Walls, slots, hollows and the first layer: meshes of known measure that each check must fail or pass."""

import re
from math import cos, pi, radians, tan

import numpy as np
import pytest
from conftest import described
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from plans import cured
from shapely.geometry import Point, box
from solids import as_body, as_mesh, block, posed, prism, rod, upright
from test_print_overhang import MUST_FAIL as OVERHANG_MUST_FAIL
from trimesh import Trimesh
from trimesh.creation import icosphere, torus
from trimesh.transformations import rotation_matrix

from partgen.checks.bed import fit
from partgen.checks.printed import PRINT_CHECKS, bridge, first_layer, slot, void, wall
from partgen.checks.wishes import wanting
from partgen.plan.train import resolve
from partgen.printing.posed import contact, least_contact, smallest_width, voids
from partgen.printing.walls import REACH, EmbreeScene, narrowest_slot, nearest_hit, samples, thinnest_wall

embree_only = pytest.mark.skipif(EmbreeScene is None, reason="no embreex here")
ENGINES = ["manifold", pytest.param("embree", marks=embree_only)]


def cube():
    return block(20, 20, 20)


def tray(thick):
    """A box without a lid, its walls and its floor `thick` [mm]."""
    return block(40, 30, 20) - block(40 - 2 * thick, 30 - 2 * thick, 20, (thick, thick, thick))


def slotted(width):
    """A block with a slot `width` [mm] wide and 6 mm deep."""
    return cube() - block(width, 30, 6, (8, -5, 14))


def stroke(width, height, sunk=False):
    """A plate with a bar on it, or cut into it, as a letter's stroke would be."""
    bar = block(width, 8, height + 1, (9, 6, 4 - height if sunk else 3))
    return block(20, 20, 4) - bar if sunk else block(20, 20, 4) + bar


def hollow_ball(radius=5.0):
    return block(20, 20, 20) - Manifold.sphere(radius, 64).translate((10, 10, 10))


MUST_FAIL = {check: [as_mesh(body) for body in bodies] for check, bodies in {
    "wall": [tray(0.85), block(20, 10, 2) + block(0.6, 10, 12, (10, 0, 0)), stroke(0.3, 0.6),
             stroke(0.7, 3.0), upright(10, 4) + upright(0.7, 8), cube() - block(18, 18, 2, (1, 1, 17.3))],
    "slot": [slotted(0.4), stroke(0.3, 0.6, sunk=True), cube() - rod(0.3, 30, (10, -5, 10))],
    "void": [hollow_ball(), cube() - block(5, 5, 5, (3, 3, 3)) - block(2, 2, 2, (14, 14, 14))],
    "first-layer": [block(5, 5, 60), Manifold.sphere(10, 64), upright(0.5, 10, top=20),
                    block(20, 20, 30, (0, 0, 5)) + block(2, 2, 6) + block(2, 2, 6, (18, 0, 0))
                    + block(2, 2, 6, (9, 18, 0))],
}.items()} | OVERHANG_MUST_FAIL
MAY_NOT_FAIL = {check: [as_mesh(body) for body in bodies] for check, bodies in {
    "wall": [cube(), tray(0.9), stroke(0.5, 0.6), stroke(0.5, 0.75), upright(10, 8, top=0),
             prism([(0, 0), (20, 0), (0, 20)], 20)],
    "slot": [cube(), slotted(0.46), stroke(0.5, 0.6, sunk=True),
             prism([(0, 0), (20, 0), (20, 20), (10, 3), (0, 20)], 9)],
    "void": [cube(), hollow_ball() - rod(1.0, 20, (10, 0, 10)), tray(2)],
    "first-layer": [cube(), block(12, 12, 60), upright(20, 30, top=1)],
}.items()}


@pytest.mark.parametrize("check", PRINT_CHECKS)
def test_check_fails_where_it_must(check):
    for body in MUST_FAIL[check]:
        finding = PRINT_CHECKS[check](posed(body))
        assert finding.verdict == "fail" and finding.check == check
        assert any(sign.isdigit() for sign in finding.reason)


@pytest.mark.parametrize("check", MAY_NOT_FAIL)
def test_check_passes_what_prints(check):
    for body in MAY_NOT_FAIL[check]:
        assert PRINT_CHECKS[check](posed(body)).verdict == "pass"


# Walls and slots

@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("thick", [0.45, 0.9, 1.27, 2.4, 4.9])
def test_a_box_shows_its_wall(thick, engine):
    found = thinnest_wall(posed(tray(thick)), engine)
    assert found.thick == pytest.approx(thick, abs=0.005)
    assert found.place[2] < 20 and np.abs(found.place[:2]).max() <= 20


@pytest.mark.parametrize("engine", ENGINES)
def test_a_wall_is_as_thick_however_the_part_lies(engine):
    turned = as_mesh(tray(1.3)).apply_transform(rotation_matrix(0.7, (1, 2, 3)))
    assert thinnest_wall(posed(turned), engine).thick == pytest.approx(1.3, abs=0.005)


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("width", [0.3, 0.45, 1.11, 3.0])
def test_a_slot_shows_its_width(width, engine):
    assert narrowest_slot(posed(slotted(width)), engine)[0] == pytest.approx(width, abs=0.005)


@pytest.mark.parametrize("off", [0.0, 2.0, 3.5])
def test_wall_beside_a_bore_agrees_with_shapely(off):
    ring, outside = Point(10 + off, 10).buffer(5, quad_segs=48), box(0, 0, 20, 20)
    body = cube() - upright(10, 30, (10 + off, 10, -5), facets=192)
    value = thinnest_wall(posed(body)).thick
    assert value == pytest.approx(min(outside.exterior.distance(ring), REACH), abs=0.01)


def test_wall_of_a_torus_is_its_tube():
    """24 flats round a tube 4 mm thick: opposite ones are 4 cos(pi / 24) apart."""
    mesh = torus(12, 2, major_sections=96, minor_sections=24)
    assert thinnest_wall(posed(mesh)).thick == pytest.approx(4 * cos(pi / 24), abs=0.005)


def test_a_notch_counts_to_its_bottom():
    """A groove cut nearly through: no face's own ray sees what is left under it."""
    body = block(40, 20, 3) - prism([(18, 4), (22, 4), (20, 0.6)], 30)
    assert thinnest_wall(posed(body)).thick == pytest.approx(0.6, abs=0.01)
    assert wall(posed(body)).verdict == "fail"


def test_sharp_edges_are_no_walls():
    """Rays at the edge of a wedge cross next to nothing, and yet it prints."""
    assert thinnest_wall(posed(prism([(0, 0), (20, 0), (10, 17.32)], 20))).thick == REACH


def test_the_thinnest_place_is_named():
    finding = wall(posed(block(60, 10, 2) + block(0.5, 10, 12, (15, 0, 0))))
    assert "x -15.0" in finding.reason or "x -14.5" in finding.reason
    assert "0.40 mm less than two lines" in finding.reason


def test_lines_set_the_limits():
    coarse = {"nozzle": 0.8, "line_width": 0.9}
    assert wall(posed(tray(1.2))).verdict == "pass" and wall(posed(tray(1.2), **coarse)).verdict == "fail"
    assert slot(posed(slotted(0.6))).verdict == "pass"
    assert slot(posed(slotted(0.6), **coarse)).verdict == "fail"


@embree_only
@given(turn=st.floats(0, 3), x=st.floats(-1, 1), y=st.floats(-1, 1), thick=st.floats(0.2, 2.0))
@settings(deadline=None, max_examples=8)
def test_both_ray_casters_answer_alike(turn, x, y, thick):
    body = tray(thick) - rod(4, 40, (13, -5, 11)) + upright(6, 9, (25, 12, 0), top=2, facets=32)
    mesh = as_mesh(body).apply_transform(rotation_matrix(turn, (x, y, 0.3)))
    spread = samples(mesh)
    for sense in (1, -1):
        one, two = (nearest_hit(mesh, spread.points, sense * spread.normals, REACH, engine)[0]
                    for engine in ("embree", "manifold"))
        agreed = np.abs(one - two) < 1e-3
        assert spread.area[~agreed].sum() < 1e-3 * spread.area.sum()     # a ray along an edge goes either way
    one, two = (thinnest_wall(posed(mesh), engine).thick for engine in ("embree", "manifold"))
    assert one == pytest.approx(two, abs=1e-3)


def test_samples_stand_for_the_whole_surface():
    mesh = as_mesh(tray(2))
    spread = samples(mesh)
    assert spread.area.sum() == pytest.approx(mesh.area) and spread.area.max() <= 1.5
    height = np.sum(spread.area * spread.points[:, 2]) / mesh.area
    middle = np.sum(mesh.area_faces * mesh.triangles_center[:, 2]) / mesh.area
    assert height == pytest.approx(middle, abs=0.05)


# Hollows

def test_a_hollow_shows_its_volume():
    (size, middle), = voids(posed(hollow_ball(5)).mesh)
    assert size == pytest.approx(4 / 3 * pi * 125, rel=0.01) and middle == pytest.approx((0, 0, 10), abs=0.01)
    assert void(posed(hollow_ball(5))).value == pytest.approx(as_body(posed(cube()).mesh).volume()
                                                             - hollow_ball(5).volume(), rel=1e-6)


def test_what_is_inside_out_or_apart_is_no_hollow():
    shell = icosphere(subdivisions=2, radius=5)
    shell.invert()
    assert voids(shell) == [] and voids(posed(cube() + block(3, 3, 3, (40, 0, 0))).mesh) == []


def test_a_body_in_a_hollow_leaves_the_hollow():
    body = posed(cube() - block(10, 10, 10, (5, 5, 5)) + block(2, 2, 2, (9, 9, 9)))
    assert void(body).value == pytest.approx(1000)


# First layer

def test_contact_of_a_foot():
    area, width, height = contact(posed(upright(12, 3) + upright(5, 30)).mesh)
    assert area == pytest.approx(pi * 36, rel=0.01) and height == 30
    assert width == pytest.approx(12, rel=0.01)


def test_what_is_tall_and_thin_fails_at_five_times_its_foot():
    assert first_layer(posed(block(9, 30, 44.9))).verdict == "pass"
    tall = first_layer(posed(block(9, 30, 45.1)))
    assert (tall.verdict, tall.unit) == ("fail", "mm") and "9.0 mm wide" in tall.reason
    small = first_layer(posed(block(4, 4.9, 10)))
    assert (small.verdict, small.unit, small.value) == ("fail", "mm2", pytest.approx(19.6))


@given(st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), min_size=3, max_size=12))
@settings(deadline=None)
def test_smallest_width_agrees_with_turning_a_thousand_times(points):
    points = np.array(points).round(3)
    turns = np.linspace(0, pi, 1000, endpoint=False)
    across = points @ np.stack([np.cos(turns), np.sin(turns)])
    brute, span = np.ptp(across, axis=0).min(), np.ptp(points, axis=0).max()
    assert brute - span * 2 * tan(pi / 1000) - 1e-9 <= smallest_width(points) <= brute + 1e-9


def test_no_check_raises_on_a_broken_mesh():
    whole = posed(tray(1)).mesh
    broken = Trimesh(whole.vertices, whole.faces[:-3], process=False)
    lone = Trimesh([(0, 0, 0), (5, 0, 0), (0, 5, 0)], [(0, 1, 2)], process=False)
    for mesh in (broken, lone):
        for check in PRINT_CHECKS.values():
            assert check(posed(mesh)).verdict in ("pass", "warn", "fail")


def test_a_cone_on_its_tip_hardly_touches():
    tip = 2 * 5 * tan(radians(45))
    assert contact(posed(upright(0.5, 10, top=tip)).mesh)[0] < 0.25


# Beds and lines that are too large or too small

class Bed:
    bed_x, bed_y, bed_z = 220.0, 180.0, 100.0


@pytest.mark.parametrize("size, over, way", [
    ((300, 50, 101), 45.9, "longer than the bed"), ((50, 40, 150), 50.0, "taller than the printer"),
    ((221, 181, 20), 1.0, "longer than the bed"), ((300, 300, 300), 200.0, "taller than the printer")])
def test_a_part_too_big_is_told_by_how_much(size, over, way):
    """What stands upright over 100 mm, or lies as large as the bed and 1 mm more either way."""
    finding = fit("part", size, Bed)
    assert finding.value == pytest.approx(over, abs=0.01)
    assert finding.verdict == "fail" and f"{finding.value:.1f} mm {way} at its best turn" in finding.reason


def test_lines_too_coarse_for_the_screws_are_refused_with_a_line_that_is_not():
    """The washer over a pivot's spigot bounds the wall round its screw."""
    def refused(line):
        lines = f"nozzle = 0.8\nlayer = 0.3\nline_width = {line}"
        plan, = resolve(described(printer=lines, wagon="wall = 2\nscrew = 'M2'")).wagons
        return [f for f in wanting(plan) if f.check == "wall"]
    finding, = refused(0.8)
    line = cured(resolve(described(printer="nozzle = 0.8\nlayer = 0.3\nline_width = 0.8",
                                   wagon="wall = 2\nscrew = 'M2'")), "wall")["printer.line_width"]
    assert f"lines are {finding.limit:.2f} mm" in finding.reason
    assert refused(line) == [] and refused(line + 0.02) != []


# What is said, with its figures, worked out by hand

SAID = {
    "wall": (tray(0.71), "0.71 mm of plastic at x .*, 0.19 mm less than two lines of 0.45 mm"),
    "slot": (slotted(0.32), "0.32 mm of air at x .*, 0.13 mm less than one line"),
    "void": (cube() - block(5, 4, 3, (3, 3, 3)) - block(2, 2, 2, (14, 14, 14)),
             "2 closed hollow of 68.0 mm3 in all, around x -4.5, y -5.0 from the middle, 4.5 mm over the bed"),
    # 10 mm wide and 18 long, less the line that the wall carries; atan(half a line / a layer) = 48.4 degrees
    "overhang": (block(10, 12, 8) + block(10, 30, 3, (0, 0, 8)), r"17[45]\.\d mm2 hang free near x .*, 90 deg from "
                 "upright"),
    "bridge": (block(6, 8, 20) + block(6, 8, 20, (59, 0, 0)) + block(65, 8, 4, (0, 0, 20)),
               "a bridge of 53.0 mm at x .*, 10 mm are sure: print it slowly with full cooling"),
    "first-layer": (block(4, 3, 13), "only 12.0 mm2 touch the bed, 8.0 mm2 too few without a brim"),
}


@pytest.mark.parametrize("check", SAID)
def test_reasons_name_the_figures(check):
    body, said = SAID[check]
    finding = PRINT_CHECKS[check](posed(body))
    assert finding.verdict == "fail" and re.fullmatch(f"{said}.*", finding.reason), finding.reason


def test_a_thin_tall_part_is_told_of_its_foot():
    finding = first_layer(posed(block(7, 30, 41)))
    assert finding.reason == "41.0 mm tall on a foot 7.0 mm wide, 8.2 mm would hold it without a brim"
    assert (finding.value, finding.limit, finding.unit) == (pytest.approx(7), pytest.approx(8.2), "mm")


@pytest.mark.parametrize("high, least", [(3.0, 6.0), (9.9, 19.8), (11.0, 20.0), (80.0, 20.0)])
def test_what_must_touch_the_bed_grows_with_the_height_up_to_20_mm2(high, least):
    assert least_contact(high) == pytest.approx(least)


def test_bridges_over_10_mm_are_close_and_over_50_fail():
    """Common practice, no source: every printer spans 10 mm, only some 50."""
    def gate(wide):
        return bridge(posed(block(6, 8, 20) + block(6, 8, 20, (6 + wide, 0, 0)) + block(12 + wide, 8, 4, (0, 0, 20))))
    assert [gate(wide).verdict for wide in (9.6, 10.4, 49.6, 50.4)] == ["pass", "warn", "warn", "fail"]
