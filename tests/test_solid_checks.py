"""Every solid check: a mesh that it must fail, a mesh that it passes, figures that are known beforehand."""

from collections import Counter
from functools import cache

import numpy as np
import pytest
import trimesh
from conftest import described
from msgspec import Struct
from msgspec.structs import replace
from shapely.geometry import Point
from solids import as_mesh, block, upright
from trimesh.creation import box, cylinder

from partgen.checks import on_solids as solid
from partgen.checks.meshes import open_edges
from partgen.describe.printer_tables import Printer
from partgen.describe.track_tables import ClearanceBand, Track
from partgen.finding import worst
from partgen.plan.item import Item, Place
from partgen.plan.trackside import Trackside
from partgen.plan.train import resolve
from partgen.solids.built import Built, lay, stand
from partgen.solids.overlap import overlaps
from partgen.solids.sections import halved


class Block(Struct, frozen=True):
    size: tuple


BAND = ClearanceBand(low=0.0, high=100.0, half_width=40.0)


@cache
def plain():
    return resolve(described())


def built(meshes, volumes=None, places=None, bed=180.0, band=BAND):
    """Return a one-wagon train of the given meshes, each standing at the wagon's origin or at its places."""
    train = plain()
    items = tuple(Item("body", name, Block(tuple(m.extents)), (places or {}).get(name, (Place(),)))
                  for name, m in meshes.items())
    description = train.description.model_copy(update={
        "printer": Printer(bed_x=bed, bed_y=bed, bed_z=bed),
        "track": Track(gauge=37.5, min_radius=320.0, clearance=(band,))})
    wagon = replace(train.wagons[0], items=items, outlines=())
    volumes = volumes or {name: m.volume for name, m in meshes.items()}
    return Built(replace(train, description=description, wagons=(wagon,), trackside=Trackside()),
                 {("one", n): m for n, m in meshes.items()}, {("one", n): v for n, v in volumes.items()})


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


def slotted():
    """A slot 0.31 mm wide in a block."""
    return as_mesh(block(20, 20, 20) - block(0.31, 30, 7, (8, -5, 14)))


def mushroom():
    return as_mesh(upright(10, 20) + upright(30, 4, (0, 0, 20)))


def gate():
    """Two posts 62 mm apart under a beam."""
    return as_mesh(block(6, 8, 20) + block(6, 8, 20, (68, 0, 0)) + block(74, 8, 4, (0, 0, 20)))


@cache
def watching():
    """A train whose wagon looks down at the track."""
    return resolve(described(wagon="modules = ['eye']", module="[module.eye]\nlength = 20\nwidth = 12\nheight = 8\n"
                             "mass = 4\nlooks_out = [{side = 'bottom', width = 6, height = 6}]"))


def seeing(sole=0.0, slot=0.0):
    """Return it with a tray and a lug of plain blocks, the sole thicker and the slot shorter than planned."""
    train = watching()
    one, = train.wagons[0].hung
    tray, lug = one.tray, one.lug
    deep, half = tray.sole + sole, lug.shank / 2
    pan = block(2 * tray.half_x, 2 * tray.half_y, 9, (-tray.half_x, -tray.half_y, 0)) - block(
        tray.inner_x, tray.inner_y, 20, (-tray.inner_x / 2, -tray.inner_y / 2, deep))
    plate = block(2 * lug.half, lug.thick, 20, (lug.x - lug.half, lug.y, lug.bottom)) - block(
        lug.slot, 30, lug.high - lug.low + lug.shank - 2 * slot,
        (lug.x - lug.slot / 2, lug.y - 9, lug.low - half + slot))
    return Built(train, {("one", "sensor-holder"): as_mesh(pan), ("one", "frame"): as_mesh(plate)}, {})


MUST_FAIL = {
    "closed-mesh": [built({"a": opened()}), built({"a": inside_out()}), built({"a": SOUND, "b": opened()})],
    "one-body": [built({"a": two_pieces()}), built({"a": hollow()})],
    "volume-match": [built({"a": SOUND}, {"a": 8060.0}), built({"a": SOUND}, {"a": 7940.0})],
    "bed": [built({"a": box((70, 20, 20))}, bed=60.0), built({"a": box((20, 20, 61))}, bed=60.0)],
    "wall": [built({"a": box((30, 0.5, 20))})],
    "slot": [built({"a": slotted()})],
    "void": [built({"a": hollow()})],
    "overhang": [built({"a": mushroom()})],
    "bridge": [built({"a": gate()})],
    "first-layer": [built({"a": box((4, 3, 60))})],
    "inner-throw": [built({"a": box((20, 90, 20))})],
    "outer-throw": [built({"a": box((190, 60, 20))})],
    "sensor-gap": [seeing(sole=0.4), seeing(slot=1.3)],
    "interference": [built({"a": SOUND, "b": box((30, 2, 2))}),
                     built({"a": SOUND}, places={"a": (Place(), Place(19.0))})],
}

@pytest.mark.parametrize("check", solid.SOLID_CHECKS)
def test_check_fails_where_it_must(check):
    for subject in MUST_FAIL[check]:
        failing = [f for f in solid.SOLID_CHECKS[check](subject) if f.verdict == "fail" and f.check == check]
        assert failing and all(any(sign.isdigit() for sign in f.reason) or check == "closed-mesh" for f in failing)


@pytest.mark.parametrize("check", solid.SOLID_CHECKS)
def test_check_passes_a_sound_part(check):
    sound = seeing() if check == "sensor-gap" else built({"a": SOUND.copy().apply_translation((0, 0, 10))})
    found = list(solid.SOLID_CHECKS[check](sound))
    assert worst(found) == "pass" and check in {f.check for f in found}


def test_run_asks_every_check_of_every_part_once():
    two = built({"a": SOUND, "b": SOUND.copy().apply_translation((30, 0, 0))})
    asked = Counter(f.check for f in solid.run(two))
    assert asked == {check: 1 if "throw" in check or check == "interference" else 2 for check in solid.SOLID_CHECKS
                     if check != "sensor-gap"}


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
    assert worst(solid.SOLID_CHECKS["inner-throw"](built({"low": low, "high": high}, band=narrow))) == "pass"
    tall = ClearanceBand(low=0.0, high=45.0, half_width=15.0)
    assert worst(solid.SOLID_CHECKS["inner-throw"](built({"low": low, "high": high}, band=tall))) == "fail"


def test_print_pose_sets_a_part_on_the_bed():
    item = Item("lid", "a", Block((20, 20, 20)), (Place(),))
    cone = trimesh.creation.cone(10, 30)
    posed = lay(item, cone, Printer())
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
