"""Every printed part is one record: what it says is whole, and whoever needs it loads no CAD kernel."""

import ast
from pathlib import Path

import pytest
from conftest import bare, described
from msgspec.structs import replace

from partgen import parts
from partgen.describe.load import loads
from partgen.paper.assembly import steps
from partgen.paper.bill import bill, bought
from partgen.parts import PARTS, mounted, printed_size, record_of
from partgen.parts.record import POSES, Bought, Part, nothing
from partgen.plan.fasteners import fasteners
from partgen.plan.item import Item, Place
from partgen.plan.train import resolve

ROOM = Path(parts.__file__).parent

EVERYTHING = bare(wheelset="printed = true\nring = 1.2\nends = 'bearing'", ride="""[train.locomotive]
adaptor = { under = 24, length = 20, width = 20 }""", wagon="""modules = ["box", "eye"]
cups = ["tea"]
length = 200
inserts = ["slim"]
lights = "strip"
plate = "TEA"
plate_print = "apart"
wall = 2.4
[[wagon]]
name = "long"
wheelbase = 34
pivot_spacing = 150
coupler_on = "bogie"
[[wagon]]
name = "pointed"
wheelbase = 64
wheelset = "pointed"
[wheelset.pointed]
use = "toy-37.5"
ends = "pin"
over_points = 49""", module="""[module.eye]
length = 20
width = 12
height = 8
mass = 4
looks_out = [{ side = "bottom", width = 6, height = 6 }]""", cup="""[cup.slim]
profile = [[0, 40], [60, 50]]
mass = 90
wall = 2.5
fill = 30""")
"""Three wagons that have every kind of part between them."""


@pytest.fixture(scope="module")
def train():
    return resolve(loads(EVERYTHING))


@pytest.mark.parametrize("part", PARTS)
def test_a_record_is_whole(part):
    """Its drawing is a function of one plan in this room; its colour and pose are such; its needs come before it."""
    record = record_of(part)
    file, function = record.drawn_by.split(".")
    found = {node.name: node for node in ast.parse((ROOM / f"{file}.py").read_text()).body
             if isinstance(node, ast.FunctionDef)}
    assert function in found and len(found[function].args.args) == 1
    assert record.pose in POSES and all(0 <= share <= 1 for share in record.colour)
    assert set(record.needs) <= set(PARTS) - {part} and record.swings in ("", "bogie", "drawbar")


def test_what_is_missing_is_named(monkeypatch):
    with pytest.raises(LookupError, match="sail has no record"):
        record_of("sail")
    with pytest.raises(TypeError, match="colour"):
        Part(drawn_by="body.build", pose="upright", needs=(), steps=nothing)
    whole = {"drawn_by": "body.build", "pose": "upright", "needs": (), "colour": (0, 0, 0), "steps": nothing}
    for field, value, said in (("drawn_by", "sail.build", "no file sail.py"),
                               ("drawn_by", "body", "no file body.py"),
                               ("pose", "askew", "askew is no print pose"),
                               ("needs", ("wing",), "wing, which it needs")):
        monkeypatch.setitem(PARTS, "sail", Part(**whole | {field: value}))
        with pytest.raises(LookupError, match=f"record of sail is wrong: {said}"):
            record_of("sail")


def test_a_part_without_a_record_fails_at_once_by_name(train):
    """The first who asks is the check of the bed, long before anything is drawn."""
    with pytest.raises(LookupError, match="sail"):
        printed_size(Item("sail", "sail", train.wagons[0].body, (Place(),)))


def test_poses_turn_and_do_not_mirror():
    """Rows of a rotation: unit length, square to each other, right-handed."""
    import numpy as np
    for matrix in POSES.values():
        assert np.allclose(np.array(matrix) @ np.transpose(matrix), np.eye(3))
        assert np.linalg.det(matrix) == pytest.approx(1)


def test_printed_size_is_the_extent_of_the_turned_box(train):
    """Corners turned one by one, as a second way to it."""
    from itertools import product

    import numpy as np
    for item in (item for plan in train.printed for item in plan.items):
        corners = np.array(list(product((0, 1), repeat=3))) * item.plan.size
        turned = corners @ np.transpose(POSES[PARTS[item.part].pose])
        assert printed_size(item) == pytest.approx(tuple(np.ptp(turned, axis=0)))


def test_every_part_is_somewhere_and_mounted_by_a_step(train):
    """The train has every kind of part; each of its wagons' parts comes new in a step that names its wagon."""
    assert {item.part for plan in train.printed for item in plan.items} == set(PARTS)
    for plan in train.wagons:
        new = {name for step in steps(train) if plan.name in step.wagons for name in step.new}
        assert {item.name for item in plan.items} - {"frame"} <= new        # all else is mounted on the frame


def test_a_wagon_taken_apart_reads_from_the_rails_upwards():
    """What stands higher in the wagon is lifted higher; only the clamp bars, which drop in from above, come out so."""
    order = ["sensor-holder", "coupler-cover", "coupler", "frame", "clamp-bar", "body", "lid-clip", "lid", "cradle",
             "insert"]
    assert sorted(order, key=lambda part: PARTS[part].apart) == order
    assert PARTS["wheel"].apart < PARTS["axle-holder"].apart == PARTS["bogie"].apart < PARTS[order[0]].apart


def test_what_a_record_buys_is_on_the_bill(train):
    found = bill(train)
    for plan in train.wagons:
        for record in mounted(plan):
            for thing in record.bought(plan):
                assert any((line.what, line.size) == (thing.what, thing.size) and plan.name in line.wagons
                           for line in found)
        for screw in fasteners(plan):
            assert any(screw.standard == line.standard and f"{screw.screw.name} x {screw.length} mm" in line.size
                       and screw.what in line.use for line in found)


def test_a_thing_from_no_known_shelf_comes_last(monkeypatch):
    plan = resolve(described(wagon='modules = ["box"]')).wagons[0]
    glue = Bought("glue", 1, "tube of glue", "20 g", "everywhere")
    monkeypatch.setitem(PARTS, "frame", replace(PARTS["frame"], bought=lambda plan: [glue]))
    found = list(bought(plan))
    assert found[0].what == "wheelset" and glue in found and found[-1].shelf == "glue"


@pytest.fixture(scope="module")
def built(train):
    """Every part as a plain block of its planned size: what is asked here is where a part goes, not its shape."""
    from trimesh.creation import box

    from partgen.solids.built import Built
    shapes = {(plan.name, item.name): box(item.plan.size).apply_translation((0, 0, item.plan.size[2] / 2))
              for plan in train.printed for item in plan.items}
    return Built(train, shapes, {key: mesh.volume for key, mesh in shapes.items()})


def test_every_part_is_in_the_pictures_in_its_colour(built):
    from partgen.report.album import pose_sheet
    from partgen.report.wagon_props import wagon_props
    for plan in built.train.wagons:
        shown = {prop.name: prop.colour for prop in wagon_props(built, plan)}
        for item in plan.items:
            assert item.loose or shown[item.name] == PARTS[item.part].colour
    posed = {prop.name: prop.colour for prop in pose_sheet(built).props}
    assert posed.items() >= {item.name: PARTS[item.part].colour for plan in built.train.printed
                             for item in plan.items}.items()


def test_every_part_is_judged_as_it_lies_on_the_bed(built):
    from partgen.printing.posed import alike
    assert {item.part for _, item, _ in alike(built)} == set(PARTS)
    for posed, item, _ in alike(built):
        assert posed.mesh.extents == pytest.approx(printed_size(item))


@pytest.mark.slow
def test_every_part_is_in_every_file_of_a_build(tmp_path, monkeypatch):
    """Drawn as blocks, built for good: STL, STEP, plates, scene, print order, steps."""
    import json

    from cadquery import Workplane

    from partgen import pipeline
    monkeypatch.setenv("PARTGEN_CACHE", "")
    monkeypatch.setattr(parts, "build", lambda part, plan: Workplane().box(*plan.size).val())
    file = tmp_path / "line.toml"
    file.write_text(EVERYTHING)
    folder = pipeline.build(file, tmp_path, anyway=True, pictures=False).folder
    manifest = json.loads((folder / "manifest.json").read_text())
    named = {one["part"] for one in manifest["files"] if one["part"]}
    items = [item for plan in resolve(loads(EVERYTHING)).printed for item in plan.items]
    assert named == {item.name for item in items} and {item.part for item in items} == set(PARTS)
    stems = {one["path"].split("/")[-1].removesuffix(".stl") for one in manifest["files"] if one["part"]}
    assert {path.stem for path in (folder / "step" / "parts").iterdir()} == stems
    assert {name for one in manifest["files"] if one.get("plate") for name in one["holds"]} == stems
    assert {row["file"] for row in manifest["printing"]["print_order"]} == stems | {"coupon"}
    scene = (folder / "train.glb").read_bytes()
    assert all(f"/{item.name}".encode() in scene for plan in resolve(loads(EVERYTHING)).wagons for item in plan.items
               if not item.loose)
