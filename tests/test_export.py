"""Exported formats: independent readers take them, and what they hold is what was meant.

Readers: lib3mf's strict mode, numpy-stl and pygltflib.
"""

import json
import zipfile
from io import BytesIO
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from conftest import described
from judges import check_plate, needs_lib3mf, signed_volume, stl_judged, strictly_read
from PIL import Image
from stl.mesh import Mesh
from trimesh import Trimesh, creation

from partgen.cli import written
from partgen.dynamics import ride as rides
from partgen.dynamics.search import ridden
from partgen.export import gltf, threemf
from partgen.export.bodies import Body, bodies
from partgen.export.firmware import figures
from partgen.export.manifest import manifest
from partgen.export.reprint import with_changes
from partgen.export.stl import stl_bytes
from partgen.export.thumbnail import thumbnail
from partgen.finding import judge
from partgen.identity import CouponId
from partgen.paper.filaments import FILAMENTS
from partgen.paper.plates import Batch, arrange
from partgen.pipeline import Outcome
from partgen.plan.item import Item, Place
from partgen.plan.train import TrainPlan, resolve


def pieces():
    """Return two kinds of parts to print, neither standing where it will be printed."""
    bushing = creation.annulus(3, 8, 12, sections=48).apply_translation((-40, 3, 11))
    return [Batch("bar", creation.box((60, 20, 8)), 3, "wood"), Batch("bushing", bushing, 2, "wood")]


@pytest.fixture(scope="module")
def plate():
    (only,), _ = arrange(pieces(), (120.0, 100.0))
    return only


@pytest.fixture(scope="module")
def package(plate):
    picture = thumbnail(plate.copies(), (120, 100), FILAMENTS["wood"])
    return threemf.plate_3mf(plate, "Tea & cake: plate 1 of 1", "3 x bar, 2 x bushing", "PLA", picture)


# ---- 3MF ----------------------------------------------------------------------------------------


@needs_lib3mf
def test_a_plate_is_read_strictly(package, plate):
    assert check_plate(package, (120, 100)) == {"bar": 3, "bushing": 2} == plate.counts


@needs_lib3mf
def test_volumes_are_those_of_the_shapes(package):
    """A bar of 60 x 20 x 8 mm; a ring of 48 sides: n/2 sin(2 pi/n) (R2 - r2) h."""
    ring = 24 * np.sin(2 * np.pi / 48) * (8 ** 2 - 3 ** 2) * 12
    for name, corners in strictly_read(package)[1]:
        assert signed_volume(corners) == pytest.approx({"bar": 60 * 20 * 8, "bushing": ring}[name], rel=1e-5)


@needs_lib3mf
def test_the_reader_passes_an_inside_out_solid_but_we_do_not():
    mesh = creation.box((20, 20, 20))
    mesh.invert()
    (wrong,), _ = arrange([Batch("bar", mesh, 1, "wood")], (120.0, 100.0))
    data = threemf.plate_3mf(wrong, "t", "a", "PLA", thumbnail([mesh], (120, 100), (0, 0, 0)))
    strictly_read(data)
    with pytest.raises(AssertionError, match="inside out"):
        check_plate(data, (120, 100))


@needs_lib3mf
def test_title_material_and_colour_are_said(package):
    model, _ = strictly_read(package)
    assert model.GetMetaDataGroup().GetMetaDataByKey("", "Title").GetValue() == "Tea & cake: plate 1 of 1"
    groups = model.GetBaseMaterialGroups()
    groups.MoveNext()
    filament = groups.GetCurrentBaseMaterialGroup()
    first, = filament.GetAllPropertyIDs()
    shade = filament.GetDisplayColor(first)
    assert filament.GetName(first) == "PLA wood"
    assert (shade.Red, shade.Green, shade.Blue) == tuple(round(255 * share) for share in FILAMENTS["wood"])


@needs_lib3mf
def test_another_content_has_other_ids(package, plate):
    def ids(data):
        root = ElementTree.fromstring(zipfile.ZipFile(BytesIO(data)).read("3D/3dmodel.model"))
        return [value for entry in root.iter() for key, value in entry.items() if key.endswith("}UUID")]
    other = threemf.plate_3mf(plate, "Another title", "3 x bar, 2 x bushing", "PLA", b"\x89PNG\r\n\x1a\n")
    assert len(set(ids(package))) == len(ids(package)) == 2 + 5 + 1
    assert ids(package)[-6:] != ids(other)[-6:]


# ---- STL ----------------------------------------------------------------------------------------


def test_a_second_reader_takes_the_stl():
    mesh = creation.icosphere(3, 15.0)
    count, volume = stl_judged(stl_bytes(mesh, "ball"))
    assert count == len(mesh.faces) and volume == pytest.approx(mesh.volume, rel=1e-6)


def test_normals_in_the_stl_are_those_of_its_corners():
    """numpy-stl reads the normals as written and works them out anew from the corners."""
    mesh = creation.icosphere(subdivisions=1, radius=23).apply_transform([[1, 0.2, 0, 7], [0, 0.8, 0.1, -3],
                                                                          [0.3, 0, 1.4, 90], [0, 0, 0, 1]])
    read = Mesh.from_file("egg.stl", fh=BytesIO(stl_bytes(mesh, "egg")), calculate_normals=False)
    written = read.normals.copy()
    read.update_normals()
    true = read.normals / np.linalg.norm(read.normals, axis=1, keepdims=True)
    assert written == pytest.approx(true, abs=1e-5) and stl_bytes(mesh, "egg")[:80].rstrip().endswith(b" egg [mm]")


def test_a_plate_as_stl_holds_every_copy(plate):
    count, volume = stl_judged(stl_bytes(plate.joined(), "plate"))
    assert count == sum(len(piece.mesh.faces) * piece.count for piece in pieces())
    assert volume == pytest.approx(sum(piece.mesh.volume * piece.count for piece in pieces()), rel=1e-5)


# ---- glTF and the assembly -----------------------------------------------------------------------

GREY = (0.5, 0.5, 0.5)


def nodes(data):
    """Return {node name: (points (n, 3) [m] in the scene, base colour)} as pygltflib reads a .glb."""
    reader = pytest.importorskip("pygltflib")
    scene = reader.GLTF2.load_from_bytes(data)
    found = {}

    def visit(number, above):
        node = scene.nodes[number]
        here = above @ (np.reshape(node.matrix, (4, 4)).T if node.matrix else np.eye(4))
        if node.mesh is not None:
            primitive = scene.meshes[node.mesh].primitives[0]
            entry = scene.accessors[primitive.attributes.POSITION]
            view = scene.bufferViews[entry.bufferView]
            start = (view.byteOffset or 0) + (entry.byteOffset or 0)
            points = np.frombuffer(scene.binary_blob(), "<f4", 3 * entry.count, start).reshape(-1, 3)
            colour = scene.materials[primitive.material].pbrMetallicRoughness.baseColorFactor
            found[node.name] = points @ here[:3, :3].T + here[:3, 3], colour
        for child in node.children or ():
            visit(child, here)
    for root in scene.scenes[scene.scene].nodes:
        visit(root, np.eye(4))
    return found


def test_gltf_is_in_metres_with_y_up():
    """A block 40 x 20 x 10 mm, its low corner in its own origin, turned a quarter at (100, 7, 5) mm of a
    wagon that stands at x = -300 mm: it reaches x -220 to -200, y 7 to 47, z 5 to 15, in glTF (x, z, -y)."""
    block = creation.box((40, 20, 10)).apply_translation((20, 10, 5))
    body = Body("block 1", "block", block, Place(100, 7, 5, 90), GREY)
    (name, (points, colour)), = nodes(gltf.train_glb([("cups", -300.0, [body])])).items()
    assert name == "cups/block 1"
    assert points.min(axis=0) == pytest.approx((-0.220, 0.005, -0.047), abs=1e-7)
    assert points.max(axis=0) == pytest.approx((-0.200, 0.015, -0.007), abs=1e-7)
    # sRGB 0.5 is 0.2140 of full light (IEC 61966-2-1).
    assert colour == pytest.approx([0.2140, 0.2140, 0.2140, 1.0], abs=0.003)


def test_gltf_copies_share_their_mesh():
    pygltflib = pytest.importorskip("pygltflib")
    block, ball = creation.box((40, 20, 10)), creation.icosphere(1, 5.0)
    wagons = [(name, x, [Body("a 1", "a", block, Place(), GREY), Body("a 2", "a", block, Place(90), GREY),
                         Body("b", "b", ball, Place(), GREY)]) for name, x in (("one", 0.0), ("two", -200.0))]
    data = gltf.train_glb(wagons)
    assert len(nodes(data)) == 6 and len(pygltflib.GLTF2.load_from_bytes(data).meshes) == 2


def test_bodies_are_named_once_and_wagons_follow_each_other():
    item = Item("axle-holder", "axle-holder", None, (Place(30), Place(-30)))
    plans = [SimpleNamespace(name=name, length=length, items=(item,))
             for name, length in (("a", 100.0), ("b", 60.0))]
    found = list(bodies(plans[0], {("a", "axle-holder"): "form"}))
    assert [body.name for body in found] == ["axle-holder 1", "axle-holder 2"]
    assert [body.place.x for body in found] == [30, -30]
    train = TrainPlan(SimpleNamespace(coupler=SimpleNamespace(gap=4.0)), tuple(plans))
    # Fronts and backs: 82, -18 and -22, -82: a gap of 4 mm, the train's middle at 0.
    assert train.stations == pytest.approx([32.0, -52.0])


# ---- a plate's picture, and the manifest -------------------------------------------------------------------


def test_a_triangle_covers_of_each_pixel_the_share_it_holds():
    """Judged by shapely; corners on whole pixels too, so that edges run along rows. The painter's own pixels are a
    quarter as large, and count as covered where an edge touches them."""
    rng = np.random.default_rng(7)
    row, column = np.mgrid[:256, :256] / 2.56
    cells = shapely.box(column, row, column + 1 / 2.56, row + 1 / 2.56)

    def red(flat):
        mesh = Trimesh(np.column_stack([flat, np.full(3, 4.0)]), [[0, 1, 2]], process=False)
        return np.asarray(Image.open(BytesIO(thumbnail([mesh], (100.0, 100.0), (0.0, 0.0, 1.0)))))[::-1, :, 0]

    bare = red(np.array([(-9.0, -9.0), (-5.0, -9.0), (-9.0, -5.0)]))
    for number in range(40):
        flat = rng.uniform(5, 95, (3, 2)) if number % 2 else rng.integers(10, 240, (3, 2)) / 2.56
        if number % 4 == 0:
            flat[1, 1] = flat[0, 1]                             # an edge along a row
        flat = flat if np.cross([*(flat[1] - flat[0]), 0], [*(flat[2] - flat[0]), 0])[2] > 0 else flat[::-1]
        share = shapely.area(shapely.intersection(shapely.Polygon(flat), cells)) * 2.56 ** 2
        off = np.abs(1 - red(flat) / bare - share)
        assert off.max() < 0.6 and off.sum() < 0.24 * 2.56 * shapely.LinearRing(flat).length, flat


@pytest.mark.parametrize("anyway", [False, True])
def test_the_manifest_tells_of_failures(anyway):
    good = judge("wall", CouponId(), 2.0, 1.0, "min", "mm", "")
    bad = judge("bed", CouponId(), 12.5, 10.0, "max", "mm", "turn it")
    for findings, failed in (((good,), []), ((good, bad), [bad.record()])):
        told = json.loads(manifest("Tea", "0" * 64, findings, [{"path": "a"}], {"time": 3}, [], [], {"speed": 250},
                                   despite_failures=anyway))
        assert told["failed"] == json.loads(json.dumps(failed)) and told["verdict"] == ("fail" if failed else "pass")
        assert told["written_despite_failures"] == (anyway and bool(failed))
        assert told["files"] == [{"path": "a"}] and told["printing"] == {"time": 3}


def test_what_a_build_changes_of_the_ride_is_told(capsys):
    """A train run slower: no part is another one, but the controller's figures are, and where the train brakes."""
    train = resolve(described(track="plan = [{go = 'straight', length = 2000}]"))
    def told(speed):
        ride = rides.resolve(ridden(train, speed=speed))
        return manifest("Tea", f"{speed:064.0f}", [], [], {}, [], [], figures(ride), despite_failures=False)
    first = with_changes(told(300), "tea.toml", {})
    second = with_changes(told(270), "tea.toml", json.loads(first))
    changed = json.loads(second)["changed"]
    assert json.loads(first)["changed"] is None and {"speed", "markers"} <= {*changed["ride"]}
    assert not {"sample_time", "stop_time", "train_length"} & {*changed["ride"]}
    written.built(Outcome(train.description, train, (), folder=Path("out"), changed=changed))
    said = capsys.readouterr().out
    assert "brake elsewhere, as the ride card says" in said and "load firmware/ride.h into the controller anew" in said
    assert "speed" in said.split("other in it: ")[1]
    changed |= {"printed": True, "over": {"parts/lid.stl": 2}, "as_printed": {"parts/lid.stl": 1}}
    written.built(Outcome(train.description, train, (), folder=Path("out"), changed=changed))
    assert ("held against the parts that you told as printed:\n  nothing has to be printed\n  left over: 2 x lid\n"
            "  stay as printed: 1 piece\n") in capsys.readouterr().out
