"""Every solid check: a mesh that it must fail, a mesh that it passes, figures that are known beforehand."""

from types import SimpleNamespace

import numpy as np
import pytest
import trimesh
from msgspec import Struct
from shapely.geometry import Point
from solids import WagonStandIn
from trimesh.creation import box, cylinder

from partgen.checks import meshes as mesh
from partgen.checks import on_solids as solid
from partgen.checks import silhouette
from partgen.checks.meshes import open_edges
from partgen.checks.printable import printable
from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import ClearanceBand, Track
from partgen.finding import worst
from partgen.plan.item import Item, Place
from partgen.plan.outline import Outline
from partgen.solids.built import Built, lay, stand
from partgen.solids.overlap import interference, overlaps
from partgen.solids.sections import halved


class Block(Struct, frozen=True):
    size: tuple


def built(meshes, volumes=None, places=None, bed=180.0, band=ClearanceBand(low=0.0, high=100.0, half_width=40.0)):
    """Return a one-wagon train of the given meshes, each standing at the wagon's origin or at its places."""
    items = tuple(Item("body", name, Block(tuple(m.extents)), (places or {}).get(name, (Place(),)))
                  for name, m in meshes.items())
    outlines = tuple(Outline("cup", 0, 10, ((0, 0), (1, 0), (0, 1))) for _ in range(0))
    plan = WagonStandIn(name="one", items=items, outlines=outlines, base=60.0, bogie_wheelbase=0.0,
                           base_name="wheelbase")
    description = SimpleNamespace(printer=Printer(bed_x=bed, bed_y=bed, bed_z=bed),
                                  track=Track(gauge=37.5, min_radius=320.0, clearance=(band,)))
    train = SimpleNamespace(wagons=(plan,), printed=(plan,), description=description, title="t")
    volumes = volumes or {name: m.volume for name, m in meshes.items()}
    return Built(train, {("one", n): m for n, m in meshes.items()}, {("one", n): v for n, v in volumes.items()})


SOUND = box((20, 20, 20))


def opened():
    return trimesh.Trimesh(SOUND.vertices, SOUND.faces[:-1], process=False)


def two_pieces():
    return trimesh.util.concatenate([SOUND, SOUND.copy().apply_translation((30, 0, 0))])


def hollow():
    shell = box((10, 10, 10))
    shell.invert()
    return trimesh.util.concatenate([SOUND, shell])


def inside_out():
    copy = SOUND.copy()
    copy.invert()
    return copy


MUST_FAIL = {
    "closed-mesh": [(mesh.closed_mesh, built({"a": opened()})), (mesh.closed_mesh, built({"a": inside_out()}))],
    "one-body": [(mesh.one_body, built({"a": two_pieces()})), (mesh.one_body, built({"a": hollow()}))],
    "volume-match": [(mesh.volume_match, built({"a": SOUND}, {"a": 8060.0}))],
    "bed": [(mesh.bed, built({"a": box((70, 20, 20))}, bed=60.0))],
    "wall, slot, void, overhang, bridge, first-layer": [(printable, built({"a": box((30, 0.5, 20))})),
                                                        (printable, built({"a": hollow()}))],
    "inner-throw, outer-throw": [(silhouette.throws, built({"a": box((120, 90, 20))}))],
    "interference": [(interference, built({"a": SOUND, "b": box((30, 2, 2))}))],
}


@pytest.mark.parametrize("check", solid.SOLID_CHECKS)
def test_check_fails_where_it_must(check):
    for function, subject in MUST_FAIL[check]:
        assert worst(function(subject)) == "fail"


@pytest.mark.parametrize("check", solid.SOLID_CHECKS)
def test_check_passes_a_sound_part(check):
    assert worst(solid.SOLID_CHECKS[check](built({"a": SOUND.copy().apply_translation((0, 0, 10))}))) == "pass"


def test_open_edges_counts_the_edges_of_a_hole():
    assert open_edges(SOUND) == 0
    assert open_edges(opened()) == 3 and not opened().is_watertight


def test_a_part_inside_another_is_seen():
    """The trap of collision libraries that only look at surfaces: containment without crossing."""
    (_, _, volume), = overlaps([("outer", SOUND), ("inner", box((4, 5, 6)))])
    assert volume == pytest.approx(120, rel=1e-9)


@pytest.mark.parametrize("gap, expected", [(0.0, 0.0), (-0.5, 0.5 * 400)])
def test_overlap_of_two_boxes_is_their_common_block(gap, expected):
    other = SOUND.copy().apply_translation((20 + gap, 0, 0))
    assert sum(v for *_, v in overlaps([("a", SOUND), ("b", other)])) == pytest.approx(expected, abs=1e-6)


def test_overlap_agrees_with_shapely():
    """Two crossed cylinders' common prism: the area of a lens (shapely) times the height."""
    one, two = cylinder(10, 8, sections=256), cylinder(10, 8, sections=256).apply_translation((12, 0, 0))
    (_, _, volume), = overlaps([("a", one), ("b", two)])
    ring = Point(0, 0).buffer(10, quad_segs=64)
    assert volume == pytest.approx(8 * ring.intersection(Point(12, 0).buffer(10, quad_segs=64)).area, rel=2e-3)


def test_only_what_lies_in_a_band_counts_for_throw():
    """A wide block above the band's top does not reach into it."""
    low, high = box((60, 20, 20)), box((60, 100, 20))
    low.apply_translation((0, 0, 10))
    high.apply_translation((0, 0, 50))
    narrow = ClearanceBand(low=0.0, high=30.0, half_width=15.0)
    assert worst(silhouette.throws(built({"low": low, "high": high}, band=narrow))) == "pass"
    tall = ClearanceBand(low=0.0, high=45.0, half_width=15.0)
    assert worst(silhouette.throws(built({"low": low, "high": high}, band=tall))) == "fail"


def test_print_pose_sets_a_part_on_the_bed():
    item = Item("lid", "a", Block((20, 20, 20)), (Place(),))
    cone = trimesh.creation.cone(10, 30)
    posed = lay(item, cone)
    assert posed.bounds[0][2] == pytest.approx(0)
    assert posed.center_mass[2] == pytest.approx(30 * 3 / 4, rel=1e-6)


def test_place_turns_about_the_vertical():
    point = stand(Place(10, 0, 5, 180)) @ np.array([3, 0, 0, 1])
    assert point[:3] == pytest.approx([7, 0, 5])


@pytest.mark.parametrize("offset", [-7.0, 0.0, 4.0])
def test_half_of_a_mesh_is_closed_and_holds_its_share(offset):
    """A ball's segment by the textbook: pi h^2 (3 r - h) / 3; facets take half a percent."""
    ball = trimesh.creation.icosphere(subdivisions=5, radius=10)
    half = halved(ball, (0.0, 0.6, 0.8), offset)
    high = 10 - offset
    assert open_edges(half) == 0
    assert half.volume == pytest.approx(np.pi * high**2 * (30 - high) / 3, rel=5e-3)
    assert (half.vertices @ (0.0, 0.6, 0.8)).min() == pytest.approx(offset, abs=1e-9)
